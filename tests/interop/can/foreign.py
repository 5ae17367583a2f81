"""A foreign database, judged by cantools: the same file, the same random frames, the same values to the last bit.

Two databases: one written here with every kind of signal in both byte orders, and invented ones by chance. In: the program that prints
what this project says of frames. At the end the judge is judged: a database with one wrong letter must not pass.
"""

import random
import struct
import subprocess
import sys

import cantools

FRAMES = 100_000


def free_place(rng, taken, length, bits, big):
    """A start bit whose bits are free, in the numbering of the file; none after some tries."""
    for _ in range(30):
        if big:
            # Counted from the highest bit of the first byte.
            first = rng.randrange(8 * length - bits + 1)
            places = {(at // 8, 7 - at % 8) for at in range(first, first + bits)}
            start = first // 8 * 8 + 7 - first % 8
        else:
            start = rng.randrange(8 * length - bits + 1)
            places = {(at // 8, at % 8) for at in range(start, start + bits)}
        if not places & taken:
            return start, places
    return None


def number(rng):
    return rng.choice(["1", "0.1", "0.0078125", "2", "-0.5", "1E-005", "3.6", "0.017453292519943295", "-3", "1000", "0.25"])


def database(rng, messages):
    lines = ['VERSION "invented"', "", "NS_ :", "\tNS_DESC_", "\tCM_", "\tBA_DEF_", "\tVAL_", "", "BS_:", "", "BU_: One Two", ""]
    floats = []
    ends = []
    for index in range(messages):
        extended = rng.random() < 0.3
        ident = 256 + index if not extended else (1 << 31) + rng.randrange(1 << 16) * 8192 + index
        length = rng.choice([8, 8, 8, 8, 3, 12, 24, 64])
        lines.append(f"BO_ {ident} Message{index}: {length} One")
        switched = rng.random() < 0.4
        taken = set()
        if switched:
            start, taken = free_place(rng, taken, length, 4, False)
            lines.append(f' SG_ Switch M : {start}|4@1+ (1,0) [0|15] "" Two')
        behind = {}
        for signal in range(rng.randrange(1, 9)):
            big = rng.random() < 0.5
            kind = rng.choice("uuusssfd")
            bits = {"f": 32, "d": 64}.get(kind) or min(8 * length, rng.choice([1, 2, 3, 5, 7, 8, 11, 12, 16, 17, 23, 24, 32, 40, 48]))
            if 8 * length < bits:
                continue
            value = rng.randrange(16) if switched and rng.random() < 0.6 else None
            busy = taken | behind.get(value, set()) if value is not None else taken.union(*behind.values())
            found = free_place(rng, busy, length, bits, big)
            if found is None:
                continue
            start, places = found
            if value is None:
                taken |= places
            else:
                behind.setdefault(value, set()).update(places)
            mark = f" m{value}" if value is not None else ""
            sign = "-" if kind in "sfd" else "+"
            offset = rng.choice(["0", "0", "-40", "0.5", "-1E+2"])
            lines.append(f' SG_ Signal{signal}{mark} : {start}|{bits}@{0 if big else 1}{sign} ({number(rng)},{offset}) [0|0] "km/h" Two,One')
            if kind in "fd":
                floats.append(f'SIG_VALTYPE_ {ident} Signal{signal} : {1 if kind == "f" else 2};')
            if rng.random() < 0.3:
                ends.append(f'VAL_ {ident} Signal{signal} 0 "no; \\"not\\"" 1 "BO_ yes" ;')
        lines.append("")
    lines += ['CM_ "more than', 'one line; SG_ of it";', 'BA_DEF_ BO_  "Period" INT 0 65535;', 'BA_DEF_DEF_  "Period" 0;']
    return "\n".join(lines + ends + floats) + "\n"


def bits_of(value):
    return struct.pack(">d", float(value)).hex()


def same(ours, theirs):
    """Equal to the bit; a not-a-number may keep another payload, and beyond 2**53 whole numbers are exact there and rounded twice here."""
    if ours == theirs:
        return True
    one, other = (struct.unpack(">d", bytes.fromhex(bits))[0] for bits in (ours, theirs))
    if one != one or other != other:
        return one != one and other != other
    return abs(other) >= 2.0**53 and abs(int(ours, 16) - int(theirs, 16)) == 1


def first_difference(program, text, judged, work, rng, count):
    path = f"{work}/foreign.dbc"
    with open(path, "w", encoding="ascii") as file:
        file.write(text)
    frames = []
    for _ in range(count):
        message = rng.choice(judged.messages)
        data = bytes(rng.randrange(256) for _ in range(message.length))
        if rng.random() < 0.05:
            data = bytes([rng.choice([0, 255])]) * message.length
        frames.append((message, data))
    asked = "".join(f"{message.frame_id:0{8 if message.is_extended_frame else 3}x} {data.hex()}\n" for message, data in frames)
    said = subprocess.run([program, path], input=asked, capture_output=True, text=True, check=True).stdout.splitlines()
    left_out = [line for line in said if line.startswith("#")]
    if left_out:
        return left_out[0], 0
    if len(said) != count:
        return f"{len(said)} answers to {count} frames", 0
    values = 0
    for (message, data), line in zip(frames, said):
        name, *pairs = line.split(" ")
        ours = dict(pair.split("=") for pair in pairs)
        try:
            theirs = message.decode(data, decode_choices=False)
        except cantools.database.DecodeError:
            # A switch whose value no signal has: cantools refuses the frame, here the signals in front of it are still read.
            switch = next(signal for signal in message.signals if signal.is_multiplexer)
            shown = {signal.name for signal in message.signals if signal.multiplexer_ids is None}
            if int(struct.unpack(">d", bytes.fromhex(ours[switch.name]))[0]) in {i for s in message.signals for i in s.multiplexer_ids or []}:
                return f"{name}: cantools refuses {data.hex()}", values
            if set(ours) != shown:
                return f"{name}: {sorted(ours)}, only {sorted(shown)} are there", values
            continue
        if name != message.name or set(ours) != set(theirs):
            return f"{name} {data.hex()}: {sorted(ours)}, cantools {message.name} {sorted(theirs)}", values
        for signal, value in theirs.items():
            if not same(ours[signal], bits_of(value)):
                return f"{name}.{signal} {data.hex()}: {ours[signal]}, cantools {bits_of(value)}", values
            values += 1
    return None, values


def main():
    program, work, ours = sys.argv[1:4]
    rng = random.Random(20261130)
    values = 0
    kinds = set()
    for _ in range(10):
        text = database(rng, 40)
        judged = cantools.database.load_string(text, database_format="dbc", strict=True)
        for message in judged.messages:
            for signal in message.signals:
                kinds.add((signal.byte_order, signal.is_signed, signal.is_float, signal.length if signal.is_float else 0, signal.multiplexer_ids is not None))
        difference, count = first_difference(program, text, judged, work, rng, FRAMES // 10)
        if difference:
            sys.exit(f"can: foreign database: {difference}")
        values += count
    # Both orders, with sign and without, both floats, behind a switch and not.
    if len(kinds) < 16:
        sys.exit(f"can: only {len(kinds)} kinds of signals: {kinds}")
    text = open(ours, encoding="ascii").read()
    judged = cantools.database.load_string(text, database_format="dbc")
    difference, count = first_difference(program, text, judged, work, rng, 10_000)
    if difference:
        sys.exit(f"can: our own database as a foreign one: {difference}")
    print(f"can: foreign databases: {FRAMES} frames, {values} values of {len(kinds)} kinds, and {count} of our own: equal to the bit")
    for right, wrong in [("@1+", "@0+"), ("@0-", "@0+"), (" m1 ", " m2 "), ("(0.1,", "(0.2,")]:
        text = database(random.Random(7), 40)
        if right not in text:
            sys.exit(f"can: `{right}` is not in the database")
        judged = cantools.database.load_string(text, database_format="dbc", strict=False)
        if first_difference(program, text.replace(right, wrong), judged, work, rng, 3_000)[0] is None:
            sys.exit(f"can: `{wrong}` for `{right}` was not noticed")


main()
