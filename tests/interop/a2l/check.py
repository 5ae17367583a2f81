"""The description of the memory, read by pya2l.

Every tunable of the setting files' schema must be a characteristic with the same limits, default and unit, without gaps in the segment of
the page; every measurement must lie in its segment without gaps; every reference must lead somewhere. At
the end the judge is judged: descriptions with one wrong limit, address or reference must not pass.
"""

import json
import logging
import pathlib
import sys
import warnings

import pya2l
from pya2l import model

FLOAT_MAX = 3.4028234663852886e38


def near(one, other):
    """Equal in single precision: the files hold shortest decimals of it."""
    return abs(one - other) <= 1e-6 * max(abs(one), abs(other))


def first_difference(path, schema):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        database = pya2l.DB()
        session = database.import_a2l(str(path), in_memory=True, loglevel="ERROR")
    try:
        return difference(session, schema)
    finally:
        session.close()


def difference(session, schema):
    all_of = lambda kind: session.query(kind).all()
    methods = {method.name: method for method in all_of(model.CompuMethod)}
    layouts = {layout.name for layout in all_of(model.RecordLayout)}
    tables = {table.name for table in all_of(model.CompuVtab)}
    segments = {segment.name: (segment.address, segment.size) for segment in all_of(model.MemorySegment)}
    if sorted(segments) != ["outputs", "page", "trace"]:
        return f"segments {sorted(segments)}"
    for method in methods.values():
        reference = method.compu_tab_ref
        if reference is not None and reference.conversionTable not in tables:
            return f"{method.name} refers to {reference.conversionTable}"
    tunables = {
        f"{group}.{name}": entry
        for group, inside in schema["properties"].items()
        if "properties" in inside
        for name, entry in inside["properties"].items()
        if "minimum" in entry
    }
    found = {one.name: one for one in all_of(model.Characteristic)}
    if set(found) - {"page.layout", "page.entries"} != set(tunables):
        return f"other tunables: {sorted(set(found) ^ set(tunables))}"
    for name, entry in tunables.items():
        one = found[name]
        if not (near(one.lowerLimit, entry["minimum"]) and near(one.upperLimit, entry["maximum"])):
            return f"{name}: {one.lowerLimit} to {one.upperLimit}, {entry['minimum']} to {entry['maximum']} in the schema"
        default = one.longIdentifier.rsplit("Default ", 1)[1].split(" ")[0]
        if not near(float(default), entry["default"]):
            return f"{name}: default {default}, {entry['default']} in the schema"
        unit = entry["description"].rsplit("Unit: ", 1)[1].rstrip(".")
        if methods[one.conversion].unit != ("" if unit == "-" else unit):
            return f"{name}: unit {methods[one.conversion].unit}, {unit} in the schema"
    for name, one in found.items():
        if one.deposit not in layouts or one.conversion not in methods or one.type != "VALUE":
            return f"{name}: {one.deposit}, {one.conversion}, {one.type}"
    measured = all_of(model.Measurement)
    places = {"page": [one.address for one in found.values()], "outputs": [], "trace": []}
    for one in measured:
        if one.conversion not in methods or one.datatype not in ("FLOAT32_IEEE", "ULONG"):
            return f"{one.name}: {one.conversion}, {one.datatype}"
        segment = {"output": "outputs", "trace": "trace"}[one.name.split(".")[0]]
        places[segment].append(one.ecu_address.address)
        if not -FLOAT_MAX * 1.0001 <= one.lowerLimit < one.upperLimit <= FLOAT_MAX * 1.0001:
            return f"{one.name}: {one.lowerLimit} to {one.upperLimit}"
    for segment, addresses in places.items():
        begin, size = segments[segment]
        if sorted(addresses) != list(range(begin, begin + size, 4)):
            return f"segment {segment} has gaps or more than its size"
    names = set(found) | {one.name for one in measured}
    members = set()
    for group in all_of(model.Group):
        for reference in (group.ref_characteristic, group.ref_measurement):
            if reference is not None:
                members.update(reference.identifier)
    if members != names:
        return f"groups: {sorted(members ^ names)[:5]}"
    return None


def main():
    logging.disable(logging.CRITICAL)
    path, schema = pathlib.Path(sys.argv[1]), json.load(open(sys.argv[2], encoding="utf-8"))
    wrong = first_difference(path, schema)
    if wrong:
        sys.exit(f"a2l: {wrong}")
    text = path.read_text(encoding="ascii")
    for right, other in [
        ("unit_kg 600 4000", "unit_kg 601 4000"),
        ("VALUE 0x10000014 ", "VALUE 0x10000018 "),
        ("COMPU_TAB_REF table_phase", "COMPU_TAB_REF table_moon"),
        ("        output.phase\n", ""),
        ('"%12.6" "kg"', '"%12.6" "lb"'),
    ]:
        if right not in text:
            sys.exit(f"a2l: {right!r} is not in the description")
        spoiled = path.with_name("spoiled.a2l")
        spoiled.write_text(text.replace(right, other, 1), encoding="ascii")
        if first_difference(spoiled, schema) is None:
            sys.exit(f"a2l: {other!r} was not noticed")
    print("a2l: every tunable, output and finding as the schema and the standard say")


main()
