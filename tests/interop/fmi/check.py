"""Holds the exported units against PyPI fmpy (FMI 2.0 and 3.0) and against the native run.

In: a folder with controller2.fmu, controller3.fmu, car2.fmu, car3.fmu, response3.fmu and, per scenario, parameters.csv and
reference.csv of `couplet export reference`. Ends with an error at the first promise that is broken.
"""

import csv
import math
import pathlib
import shutil
import sys

import numpy as np
from fmpy import extract, read_model_description, simulate_fmu
from fmpy.fmi1 import FMICallException
from fmpy.fmi2 import FMU2Slave
from fmpy.fmi3 import FMU3Slave
from fmpy.validation import validate_fmu

WORK = pathlib.Path(sys.argv[1])
PERIOD_S = 0.005
# The requirement; what is reached is printed.
TOLERANCE = 1e-9


class Unit:
    """One instance, the same for both editions."""

    def __init__(self, path, parameters=(), start_s=0.0):
        self.description = read_model_description(str(path))
        self.folder = extract(str(path))
        self.reference = {v.name: v.valueReference for v in self.description.modelVariables}
        self.three = self.description.fmiVersion.startswith("3")
        self.messages = []
        arguments = {
            "guid": self.description.guid,
            "unzipDirectory": self.folder,
            "modelIdentifier": self.description.coSimulation.modelIdentifier,
            "instanceName": "unit",
        }
        if self.three:
            self.slave = FMU3Slave(**arguments)
            self.slave.instantiate(logMessage=lambda environment, status, category, text: self.messages.append(text.decode()))
        else:
            self.slave = FMU2Slave(**arguments)
            self.slave.instantiate()
        for name, value in parameters:
            self.set([name], [value])
        if self.three:
            self.slave.enterInitializationMode(startTime=start_s)
        else:
            self.slave.setupExperiment(startTime=start_s)
            self.slave.enterInitializationMode()
        self.slave.exitInitializationMode()

    def set(self, names, values):
        references = [self.reference[name] for name in names]
        (self.slave.setFloat64 if self.three else self.slave.setReal)(references, values)

    def get(self, names):
        references = [self.reference[name] for name in names]
        return list((self.slave.getFloat64 if self.three else self.slave.getReal)(references))

    def step(self, at_s, step_s=PERIOD_S):
        self.slave.doStep(currentCommunicationPoint=at_s, communicationStepSize=step_s)

    def keep(self):
        return self.slave.getFMUState() if self.three else self.slave.getFMUstate()

    def put_back(self, state):
        (self.slave.setFMUState if self.three else self.slave.setFMUstate)(state)

    def forget(self, state):
        (self.slave.freeFMUState if self.three else self.slave.freeFMUstate)(state)

    def end(self):
        self.slave.terminate()
        self.slave.freeInstance()
        shutil.rmtree(self.folder, ignore_errors=True)


def refused(what, call):
    """The call must be refused by its status."""
    try:
        call()
    except FMICallException:
        return
    sys.exit(f"fmi: {what} was not refused")


def readings(description):
    """Value, age and validity of every signal of the law: outputs of the car, inputs of the controller."""
    return [v.name for v in description.modelVariables if v.causality == "input"]


def valid():
    for name in ["controller2", "controller3", "car2", "car3", "response3"]:
        problems = validate_fmu(str(WORK / f"{name}.fmu"))
        assert problems == [], (name, problems)
        description = read_model_description(str(WORK / f"{name}.fmu"))
        variables = description.modelVariables
        assert "not certified" in description.description
        # Every variable has a description; every unit that is named is defined; tunables are what the catalogue has.
        units = {unit.name for unit in description.unitDefinitions}
        for variable in variables:
            assert variable.description or variable.name == "time", variable.name
            assert variable.unit is None or variable.unit in units, (variable.name, variable.unit)
        without_base = [unit.name for unit in description.unitDefinitions if unit.baseUnit is None]
        tunables = [v for v in variables if v.variability == "tunable"]
        if name.startswith("car"):
            assert not tunables
        else:
            assert len(tunables) > 200 and all(v.min is not None and v.max is not None for v in tunables)
        print(f"fmi: {name}: valid, {len(variables)} variables, {len(tunables)} tunable, units without SI factor: {without_base}")


def simulated():
    for edition in [2, 3]:
        told = [v.name for v in read_model_description(str(WORK / f"controller{edition}.fmu")).modelVariables]
        result = simulate_fmu(
            str(WORK / f"controller{edition}.fmu"),
            fmi_type="CoSimulation",
            start_time=0,
            stop_time=1,
            step_size=PERIOD_S,
            output_interval=PERIOD_S,
            start_values={name: 1.0 for name in told if name.endswith("_valid") and not name.startswith("clutch")},
            output=["capacity_left", "capacity_right", "health", "faults_low"],
        )
        assert len(result) == 201 and np.all(result["capacity_left"] == 0.0)
        pedal = np.array([(0.0, 0.0), (1.0, 1.0), (5.0, 1.0)], dtype=[("time", float), ("accelerator", float)])
        result = simulate_fmu(
            str(WORK / f"car{edition}.fmu"),
            fmi_type="CoSimulation",
            start_time=0,
            stop_time=5,
            step_size=PERIOD_S,
            output_interval=PERIOD_S,
            input=pedal,
            start_values={"road.ambient_degc": 10.0},
            output=["truth.speed", "truth.x", "wheel_speed_front_left", "wheel_speed_front_left_valid"],
        )
        speed = result["truth.speed"]
        assert 5.0 < speed[-1] < 40.0 and speed[0] == 0.0 and np.all(np.isfinite(speed)), speed[-1]
        print(f"fmi: FMI {edition}: both simulated; the car alone reaches {speed[-1]:.2f} m/s in 5 s")


def table(path):
    with open(path, encoding="utf-8") as lines:
        return list(csv.reader(lines))


def closed_loop(edition, scenario):
    parameters = {"controller": [], "car": []}
    for unit, name, value in table(WORK / scenario / "parameters.csv")[1:]:
        parameters[unit].append((name, float(value)))
    rows = table(WORK / scenario / "reference.csv")
    names, rows = rows[0], [[float(number) for number in row] for row in rows[1:]]
    controls = names[:4]
    truth = [name for name in names if name.startswith("truth.")]
    told = [name for name in names if name.startswith("told.")]
    given = [name for name in names if name.startswith("given.")]
    column = {name: index for index, name in enumerate(names)}
    law = Unit(WORK / f"controller{edition}.fmu", parameters["controller"])
    car = Unit(WORK / f"car{edition}.fmu", parameters["car"])
    signals = readings(law.description)
    worst = 0.0
    moved = 0.0
    for step, row in enumerate(rows):
        at_s = step * PERIOD_S
        car.set(controls, row[:4])
        known = car.get(truth + signals)
        law.set(signals, known[len(truth):])
        law.step(at_s)
        answers = law.get([name.removeprefix("given.") for name in given])
        currents = law.get(["current_left", "current_right", "front_spin_request"])
        car.set(["current_left", "current_right", "front_spin_request"], currents)
        car.step(at_s)
        heard = dict(zip(signals, known[len(truth):]))
        pairs = list(zip(truth, known)) + [(name, heard[name.removeprefix("told.")]) for name in told] + list(zip(given, answers))
        for name, found in pairs:
            expected = row[column[name]]
            off = 0.0 if found == expected else abs(found - expected) / max(1.0, abs(expected))
            if not off <= TOLERANCE:
                sys.exit(f"fmi: {scenario}, FMI {edition}, step {step}: {name} is {found!r}, natively {expected!r}")
            worst = max(worst, off)
        moved = max(moved, currents[0], currents[1])
    assert moved > 0.1, "the clutches were never commanded: the comparison says nothing"
    assert len(rows) > 300
    law.end()
    car.end()
    print(f"fmi: {scenario}, FMI {edition}: {len(rows)} steps, {len(names)} numbers each, largest difference {worst:g}")


def refusals(edition):
    law = Unit(WORK / f"controller{edition}.fmu")
    step = law.get(["calibration.setting.agility"])[0]
    for value in [math.nan, math.inf, -math.inf]:
        refused(f"yaw_rate = {value}", lambda: law.set(["yaw_rate"], [value]))
    refused("agility above 1", lambda: law.set(["calibration.setting.agility"], [1.5]))
    refused("a negative age", lambda: law.set(["yaw_rate_age"], [-1.0]))
    refused("a fixed parameter while running", lambda: law.set(["axle_temperature"], [20.0]))
    refused("an output", lambda: law.set(["capacity_left"], [20.0]))
    refused("a list with one wrong number", lambda: law.set(["yaw_rate", "steering_wheel_angle"], [0.1, math.nan]))
    assert law.get(["yaw_rate", "calibration.setting.agility"]) == [0.0, step], "a refused value was taken"
    for wrong in [0.0, 0.0075, -0.005, math.nan, math.inf, 1e9]:
        refused(f"a step of {wrong} s", lambda: law.step(0.0, wrong))
    refused("a step from another time", lambda: law.step(0.005))
    law.step(0.0)
    refused("a step from the past", lambda: law.step(0.0))
    # Numbers that contradict each other: the centre of gravity ahead of ... behind the rear axle.
    law.set(["calibration.vehicle.front_axle_to_cg_m"], [2.9])
    refused("a calibration that contradicts itself", lambda: law.step(0.005))
    law.step(0.005)
    assert abs(law.get(["calibration.vehicle.front_axle_to_cg_m"])[0] - 1.142) < 1e-12
    law.set(["calibration.setting.agility"], [0.9])
    law.step(0.01, 3 * PERIOD_S)
    assert law.get(["calibration.setting.agility"]) == [0.9]
    if law.three:
        said = "\n".join(law.messages)
        for word in ["yaw_rate = NaN", "from 0 to 1", "whole multiple", "stands at", "centre of gravity", "fixed", "is an output"]:
            assert word in said, (word, said)
        refused("a number of another type", lambda: law.slave.getFloat32([0]))
    law.end()
    print(f"fmi: FMI {edition}: wrong values, steps and calls are refused, with their reason through the logger")


def states(edition):
    drive = {"accelerator": 0.8, "steering_wheel": 0.3}
    car = Unit(WORK / f"car{edition}.fmu", [("start.speed_m_s", 15.0)])
    seen = ["truth.x", "truth.y", "truth.yaw_rate", "yaw_rate", "wheel_speed_rear_left", "truth.surface_left"]
    car.set(list(drive), list(drive.values()))
    car.set(["current_left", "current_right"], [0.5, 0.7])

    def go(first, steps):
        found = []
        for step in range(first, first + steps):
            car.step(step * PERIOD_S)
            found.append(car.get(seen))
        return found

    go(0, 100)
    kept = car.keep()
    once = go(100, 200)
    car.put_back(kept)
    again = go(100, 200)
    assert once == again and once[0] != once[-1]
    car.put_back(kept)
    car.forget(kept)
    assert go(100, 200) == once, "a freed state must not take the unit with it"
    # Outputs that are asked twice answer the same: nothing is drawn twice.
    assert car.get(seen) == car.get(seen)
    car.end()
    print(f"fmi: FMI {edition}: a state put back is gone on from to the last bit")


def start_values_of_a_setting():
    own = Unit(WORK / "response3.fmu")
    plain = Unit(WORK / "controller3.fmu")
    differing = 0
    for variable in own.description.modelVariables:
        if variable.variability == "tunable":
            assert own.get([variable.name])[0] == float(variable.start), variable.name
            differing += own.get([variable.name]) != plain.get([variable.name])
    assert differing >= 1
    own.end()
    plain.end()
    print(f"fmi: a unit packed with a setting starts with its {differing} numbers, and its description says so")


valid()
simulated()
for edition in [2, 3]:
    refusals(edition)
    states(edition)
start_values_of_a_setting()
for scenario in sorted(path.parent.name for path in WORK.glob("*/reference.csv")):
    for edition in [2, 3]:
        closed_loop(edition, scenario)
