"""Frames of the bus, judged by cantools (packing) and autosar-e2e (protection).

In: the database and lines of frames with what this project says of them. Both directions at once: its decoding of our bytes must be
ours, and its encoding of our numbers must be our bytes. Every verdict of the protection must be the same, for sound,
spoiled and random bytes; every single wrong bit must be found by both. At the end the judge is judged: a database with
one wrong step must not pass.
"""

import collections
import json
import sys

import cantools
import e2e.p01
import e2e.p05


def profile_of(message):
    attributes = message.dbc.attributes
    return str(attributes["E2eProfile"].value), int(attributes["E2eDataId"].value)


def check(profile, data, data_id):
    if profile == "P01":
        # The counter 15 is invalid by the profile; the library checks the sum only.
        return data[1] & 0x0F != 15 and e2e.p01.e2e_p01_check(bytearray(data), data_id)
    return e2e.p05.e2e_p05_check(bytes(data), data_id)


def protect(profile, data, data_id):
    copy = bytearray(data)
    if profile == "P01":
        e2e.p01.e2e_p01_protect(copy, data_id, increment_counter=False)
    else:
        e2e.p05.e2e_p05_protect(copy, data_id, increment_counter=False)
    return bytes(copy)


def first_difference(database, lines):
    """What is first judged differently, and how much was judged."""
    counted = collections.Counter()
    profiles = {
        message.frame_id: ("P01" if "P01" in profile_of(message)[0] or profile_of(message)[0] == "0" else "P05", profile_of(message)[1])
        for message in database.messages
    }
    for line in lines:
        told = json.loads(line)
        data = bytes.fromhex(told["data"])
        message = database.get_message_by_frame_id(told["id"])
        profile, data_id = profiles[told["id"]]
        if message.length != len(data):
            return f"{message.name}: {len(data)} bytes, {message.length} in the database", counted
        raws = message.decode(data, decode_choices=False, scaling=False)
        numbers = message.decode(data, decode_choices=False)
        if len(told["signals"]) + 2 != len(raws):
            return f"{message.name}: other signals", counted
        for name, (raw, number) in told["signals"].items():
            if raws[name] != raw:
                return f"{message.name} {name}: raw {raw}, cantools {raws[name]}", counted
            if number is not None and numbers[name] != number:
                return f"{message.name} {name}: {number}, cantools {numbers[name]}", counted
            counted["numbers" if number is not None else "no numbers"] += 1
        if told["made"] == "packed":
            values = dict(numbers)
            for name, (_, number) in told["signals"].items():
                if number is not None:
                    values[name] = number
            encoded = message.encode(values, strict=False)
            if encoded != data:
                return f"{message.name}: packed {data.hex()}, cantools {encoded.hex()}", counted
            counted["encoded"] += 1
        holds = check(profile, data, data_id)
        if holds != (told["counter"] is not None):
            return f"{message.name}: {data.hex()} holds {told['counter']}, autosar-e2e {holds}", counted
        if holds:
            counter = data[1] & 0x0F if profile == "P01" else data[2]
            if counter != told["counter"]:
                return f"{message.name}: counter {told['counter']}, {counter} in the bytes", counted
            if protect(profile, data, data_id) != data:
                return f"{message.name}: protected otherwise", counted
            counted[f"{profile} sound"] += 1
        else:
            counted[f"{profile} {told['made']} and refused"] += 1
        if told["made"] == "packed" and not holds:
            return f"{message.name}: our protection does not hold", counted
        counted["frames"] += 1
        if told["made"] == "packed" and counted[message.name] < 20:
            counted[message.name] += 1
            for bit in range(8 * len(data)):
                wrong = bytearray(data)
                wrong[bit // 8] ^= 1 << bit % 8
                if check(profile, wrong, data_id):
                    return f"{message.name}: wrong bit {bit} not found by autosar-e2e", counted
                counted["single wrong bits"] += 1
    return None, counted


def main():
    text = open(sys.argv[1], encoding="ascii").read()
    database = cantools.database.load_string(text, database_format="dbc")
    lines = open(sys.argv[2], encoding="ascii").read().splitlines()
    difference, counted = first_difference(database, lines)
    if difference:
        sys.exit(f"can: {difference}")
    for message in database.messages:
        cycle = message.cycle_time
        if not cycle or message.is_fd != (message.length > 8):
            sys.exit(f"can: {message.name}: period {cycle}, FD {message.is_fd}")
        for signal in message.signals[2:]:
            if not signal.comment or not signal.choices:
                sys.exit(f"can: {message.name} {signal.name} has no comment or no words")
    least = {"frames": 100_000, "encoded": 40_000, "numbers": 400_000, "no numbers": 20_000,
             "P01 sound": 20_000, "P05 sound": 10_000, "P01 spoiled and refused": 8_000,
             "P05 spoiled and refused": 5_000, "P01 random and refused": 10_000,
             "P05 random and refused": 7_000, "single wrong bits": 20_000}
    for what, wanted in least.items():
        if counted[what] < wanted:
            sys.exit(f"can: only {counted[what]} {what}, {wanted} wanted")
    print("can: " + ", ".join(f"{counted[what]} {what}" for what in least) + ": all alike")
    # A judge that finds nothing because it is blind is found out.
    for right, wrong in [("(0.0078125,-60)", "(0.00390625,-60)"), ("49|12@1+", "50|12@1+"),
                         ('"E2eDataId" BO_ 272 272', '"E2eDataId" BO_ 272 273')]:
        if right not in text:
            sys.exit(f"can: {right} is not in the database")
        spoiled = cantools.database.load_string(text.replace(right, wrong), database_format="dbc")
        if first_difference(spoiled, lines[:2_000])[0] is None:
            sys.exit(f"can: {wrong} was not noticed")


main()
