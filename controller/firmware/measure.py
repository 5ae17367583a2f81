"""Replays sequences on the emulated microcontrollers and tells what a step costs there. Called by `measure`.

Out: a table on standard output and `measured.tsv` in the working folder, lines NAME, VALUE, BUDGET (or `-`), UNIT. Status 1
if a digest differs from the host's, an image with overflow checks stops, a decoded frame differs, or, with --check, a
number exceeds its line in the baseline by more than 5 %. The baseline's lines are COMPILER, NAME, VALUE, separated by tabs;
for a compiler it does not know, the last compiler's lines hold with twice the margin, and that is said.
"""

import argparse
import collections
import concurrent.futures
import pathlib
import re
import statistics
import struct
import subprocess
import sys

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent.parent.parent / ".ci"))
from stages import chains, owner  # noqa: E402

M4, M0 = "thumbv7em-none-eabihf", "thumbv6m-none-eabi"
BOARD = {M4: "mps2-an386", M0: "mps2-an385"}
STAGES = 24  # as in counter/src/lib.rs; the last one is what belongs to none
MARGIN = 0.05
HARD = ("fault-", "worst-")  # beginnings of names, as in sim-harness/src/sequence

options = argparse.ArgumentParser()
for name in ("work", "target", "baseline"):
    options.add_argument(f"--{name}", type=pathlib.Path, required=True)
options.add_argument("--compiler", required=True)
options.add_argument("--check", action="store_true")
options = options.parse_args()
failures = []


def said(*command):
    return subprocess.run([str(word) for word in command], capture_output=True, text=True, check=True).stdout


def image(target, profile="release", name="replay"):
    return options.target / "firmware" / target / profile / name


def emulate(target, program, sequence, plugin=()):
    """Standard output (frames), status and console (the image's lines, which the emulator sends to standard error)."""
    command = ["qemu-system-arm", "-M", BOARD[target], "-nographic", "-monitor", "none", "-serial", "none"]
    command += ["-semihosting-config", f"enable=on,target=native,arg={sequence}", *plugin, "-kernel", str(program)]
    done = subprocess.run(command, capture_output=True, timeout=300)
    return done.stdout, done.returncode, done.stderr.decode(errors="replace")


def digests(folder):
    found = collections.defaultdict(list)
    for line in (options.work / folder / "digests.txt").read_text().splitlines():
        name, rest = line.split(" ", 1)
        found[name].append(rest)
    return found


def stage_map(program):
    """File of address ranges with the number of their stage, and the stages' names."""
    code = said("arm-none-eabi-objdump", "-d", "--no-show-raw-insn", program)
    addresses = re.findall(r"^\s*([0-9a-f]+):\t", code, re.M)
    found = chains(program, addresses, "arm-none-eabi-addr2line")
    names, lines, last = [], [], None
    for address in addresses:
        stage = owner(found.get(int(address, 16), []))[0]
        if stage is not None and stage not in names:
            names.append(stage)
        number = None if stage is None else names.index(stage)
        if last is None or last[2] != number:
            last = [address, address, number]
            lines.append(last)
        last[1] = address
    assert len(names) < STAGES - 1, names
    place = options.work / "stages.txt"
    place.write_text("".join(f"{a} {b} {n}\n" for a, b, n in lines if n is not None))
    return place, names


def symbol(program, name):
    return next(line.split()[0] for line in said("arm-none-eabi-nm", program).splitlines() if line.endswith(" " + name))


def counted(target, program, stages, folder, name):
    """Counts of every step of a sequence: [whole, by stage ...], and the image's lines."""
    out = options.work / "counts" / f"{target}-{name}"
    library = options.target / "firmware-host/release/libcouplet_counter.so"
    marks = f"begin={symbol(program, 'couplet_step_begins')},end={symbol(program, 'couplet_step_ends')}"
    plugin = ["-plugin", f"file={library},{marks},stages={stages},out={out}"]
    _, status, text = emulate(target, program, options.work / folder / f"{name}.seq", plugin)
    size = 4 * (STAGES + 1)
    raw = out.read_bytes() if out.exists() else b""
    steps = [struct.unpack_from(f"<{STAGES + 1}I", raw, place) for place in range(0, len(raw) - size + 1, size)]
    return name, steps, text.splitlines(), status


def replay_all(target, program, stages):
    """All sequences with the counter: {folder: {name: steps}}, deepest stack in a step and at the start, sizes."""
    found, deepest, start, sizes = {"driven": {}, "wild": {}}, 0, 0, None
    with concurrent.futures.ThreadPoolExecutor(2) as pool:
        for folder in found:
            expected = digests(folder)
            for done in pool.map(lambda name: counted(target, program, stages, folder, name), sorted(expected)):
                name, steps, lines, status = done
                if status != 0 or lines[: len(expected[name])] != expected[name]:
                    wrong = next((a for a, b in zip(expected[name], lines) if a != b), f"status {status}")
                    failures.append(f"{target}: {name}: first different at `{wrong}`, console {lines[:2]}")
                    continue
                found[folder][name] = steps
                told = dict(line.split(" ", 1) for line in lines[len(expected[name]) :])
                deepest = max(deepest, int(told["stack"]))
                start = max(start, int(told["start"]))
                sizes = [int(word) for word in told["sizes"].split()]
    return found, deepest, start, sizes


def stack_bound(program):
    """Static bound of the stack below `step`: deepest chain of calls, each with the frame its code opens."""
    calls, frames, function = collections.defaultdict(set), collections.Counter(), None
    for line in said("arm-none-eabi-objdump", "-d", "--no-show-raw-insn", program).splitlines():
        head = re.match(r"^[0-9a-f]+ <(.*)>:$", line)
        if head:
            function = head.group(1)
            continue
        part = line.split("\t")
        if len(part) < 3:
            continue
        kind, rest = part[1].strip(), part[2]
        if kind.startswith(("push", "stmdb")) and ("{" in rest) and (kind.startswith("push") or rest.startswith("sp!")):
            registers = rest[rest.index("{") + 1 : rest.index("}")].split(",")
            for one in registers:
                span = re.match(r"\s*r(\d+)-r(\d+)", one)
                frames[function] += 4 * (int(span.group(2)) - int(span.group(1)) + 1 if span else 1)
        elif kind.startswith("vpush"):
            span = re.search(r"\{([sd])(\d+)(?:-[sd](\d+))?", rest)
            count = int(span.group(3) or span.group(2)) - int(span.group(2)) + 1
            frames[function] += count * (8 if span.group(1) == "d" else 4)
        elif kind.startswith("sub") and re.match(r"sp(, sp)?, #", rest):
            frames[function] += int(re.search(r"#(\d+)", rest).group(1))
        # A call goes to a function's start; constants among the code, read as instructions, may look like a jump into the middle of one.
        callee = re.search(r"<([^<>+]+)>$", rest)
        if callee and kind.startswith("b") and callee.group(1) != function:
            calls[function].add(callee.group(1))
    deepest = {}

    def below(name, above=()):
        if name in above:
            raise SystemExit(f"stack bound: {name} calls itself")
        if name not in deepest:
            deepest[name] = frames[name] + max((below(one, (*above, name)) for one in calls[name]), default=0)
        return deepest[name]

    return below(next(name for name in list(frames) if "16couplet_firmware4step" in name))


def flash_of_law(program):
    """Bytes of code and constants of the image, and of these the bench's around the law. Accepting a page and building the
    controller are the law's, though the compiler puts them into a function of the bench."""
    text = {name: int(size) for name, size in re.findall(r"^\.(\w+)\s+(\d+)", said("arm-none-eabi-size", "-A", program), re.M)}
    bench = 0
    for line in said("arm-none-eabi-nm", "-S", "-C", program).splitlines():
        part = line.split(None, 3)
        named = len(part) == 4 and part[2] in "tTrR" and re.search(r"couplet_firmware|cortex_m|replay|output_table", part[3])
        if named and "Sequence>::controller" not in part[3]:
            bench += int(part[1], 16)
    return text.get("text", 0) + text.get("rodata", 0), bench


rows = []


def tell(name, value, budget=None, unit=""):
    rows.append((name, value, budget, unit))


def measure(target, label, budgets):
    program = image(target)
    stages, names = stage_map(program)
    found, deepest, start, sizes = replay_all(target, program, stages)
    # What a fault or a search made dear counts for the worst, not for the median.
    driven = [step for name, steps in found["driven"].items() if not name.startswith(HARD) for step in steps]
    hard = [step for name, steps in found["driven"].items() if name.startswith(HARD) for step in steps]
    wild = [step for steps in found["wild"].values() for step in steps]
    if not driven or not wild or not hard:
        return
    whole = [step[0] for step in driven]
    worst = max((step[0], folder, name, number) for folder in found for name, steps in found[folder].items() for number, step in enumerate(steps))
    tell(f"{label} step least", min(whole), None, "instructions")
    tell(f"{label} step median", int(statistics.median(whole)), budgets.get("median"), "instructions")
    tell(f"{label} step worst of drives", max(whole), None, "instructions")
    tell(f"{label} step worst with a fault", max((step[0] for name, steps in found["driven"].items() if name.startswith(HARD[0]) for step in steps), default=0), None, "instructions")
    tell(f"{label} step worst found", worst[0], budgets.get("worst"), "instructions")
    for place in sorted(range(len(names)), key=lambda place: -statistics.median(step[1 + place] for step in driven)):
        budget = budgets.get(names[place])
        tell(f"{label} {names[place]} median", int(statistics.median(step[1 + place] for step in driven)), budget, "instructions")
    flash, bench = flash_of_law(program)
    tell(f"{label} flash", flash, None, "bytes")
    tell(f"{label} flash without the bench", flash - bench, budgets.get("flash"), "bytes")
    tell(f"{label} static memory", sizes[0], budgets.get("static"), "bytes")
    # The outputs come back by value: their place is the caller's, and counts here.
    tell(f"{label} stack deepest", deepest + sizes[1], budgets.get("stack"), "bytes")
    tell(f"{label} stack of the start", start, None, "bytes")
    tell(f"{label} stack bound", stack_bound(program) + sizes[1], budgets.get("stack"), "bytes")
    tell(f"{label} steps replayed", len(driven) + len(hard) + len(wild), None, "steps")
    print(f"{label}: worst step {worst[0]} instructions, {worst[1]}/{worst[2]}.seq step {worst[3] + 1}")


measure(M4, "M4F", {"median": 4000, "worst": 6500, "arbiter": 300, "flash": 48 * 1024, "static": 4096, "stack": 2048})
measure(M0, "M0", {})

for folder in ("driven", "wild"):
    expected = digests(folder)
    for name in sorted(expected):
        _, status, text = emulate(M4, image(M4, "checked"), options.work / folder / f"{name}.seq")
        lines = text.splitlines()
        if status != 0 or lines[: len(expected[name])] != expected[name]:
            failures.append(f"overflow checks: {name}: status {status} {lines[-1:]}")



def numbers(line):
    """Words of a line, its numbers as the bits of single precision: how a number is written does not matter."""
    words = re.findall(r"-?\d[\d.]*(?:e-?\d+)?|[A-Za-z_]+", line)
    return [struct.pack("<f", float(word)) if word[-1].isdigit() else word for word in words]


# Deferred formatting: frames of the second image against the digits of the host.
decode = options.target / "firmware-host/release/couplet-decode"
compared = 0
for name in sorted(digests("driven"))[:3]:
    sequence = options.work / "driven" / f"{name}.seq"
    frames, status, error = emulate(M4, image(M4, name="logged"), sequence)
    told = subprocess.run([decode, image(M4, name="logged")], input=frames, capture_output=True, check=True).stdout
    host = said(options.target / "release/couplet", "export", "outputs", sequence, "--every", "100")
    if status != 0 or [numbers(line) for line in told.decode().splitlines()] != [numbers(line) for line in host.splitlines()]:
        failures.append(f"deferred formatting: {name}: decoded frames differ from the host's: status {status} {error}")
    compared += len(host.splitlines())
plain = said("arm-none-eabi-nm", image(M4)) + said("arm-none-eabi-objdump", "-h", image(M4))
if "defmt" in plain:
    failures.append("deferred formatting leaves something in the image that does not use it")
tell("frames decoded and equal", compared, None, "frames")

(options.work / "measured.tsv").write_text("".join(f"{n}\t{v}\t{'-' if b is None else b}\t{u}\n" for n, v, b, u in rows))
wide = max(len(row[0]) for row in rows)
for name, value, budget, unit in rows:
    verdict = "" if budget is None else f"  of {budget}: {'met' if value <= budget else 'MISSED by ' + str(value - budget)}"
    print(f"{name:<{wide}}  {value:>8} {unit}{verdict}")
if options.check:
    lines = [line.split("\t") for line in options.baseline.read_text().splitlines() if line and not line.startswith("#")]
    margin, known = MARGIN, options.compiler
    if not any(line[0] == known for line in lines):
        margin, known = 2 * MARGIN, lines[-1][0]
        print(f"no baseline for compiler {options.compiler}: that of {known} with {margin:.0%}")
    measured = {name: value for name, value, _, _ in rows}
    held = {name: int(value) for compiler, name, value in lines if compiler == known}
    for name, value in held.items():
        if measured.get(name, 1 << 60) > value * (1 + margin):
            failures.append(f"{name}: {measured.get(name)} is more than {margin:.0%} above the baseline's {value}")
    print(f"baseline of compiler {known}: {len(held)} numbers compared")
for failure in failures:
    print(f"measure: {failure}", file=sys.stderr)
sys.exit(bool(failures))
