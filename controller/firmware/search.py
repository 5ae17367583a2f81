"""Searches for inputs and a calibration whose step costs most on the emulated microcontroller.

    python3 controller/firmware/search.py --seconds 600 --out /tmp/worst.seq [--steps N] [--seed N] [--from FILE ...]

Run `measure` first: its image, its counter and its sequences are used. Begins with the dearest of its sequences (or of those named),
cut to some steps before their dearest one, changes a number of the page or some steps of a signal, or takes a stretch from another
sequence, and keeps what costs no less. Cost is the exact count of instructions of one step, so nothing is guessed. At the end the steps before are left
out as far as the cost stands. `couplet export text FILE` writes what was found as text for `sim-harness/sequences`. Chance comes
from the seed; how far a search gets in a time depends on the machine.
"""

import argparse
import concurrent.futures
import pathlib
import random
import struct
import subprocess
import sys
import tempfile
import time

HERE = pathlib.Path(__file__).resolve().parent
TARGET = "thumbv7em-none-eabihf"
RECORD = 4 * 25  # of the counter: all instructions and 24 stages
HEAD = 36  # bytes before the page

options = argparse.ArgumentParser()
options.add_argument("--target", type=pathlib.Path, default=HERE.parent.parent / "target")
options.add_argument("--seconds", type=float, default=600)
options.add_argument("--seed", type=int, default=1)
options.add_argument("--steps", type=int, default=100, help="steps at most, so that what is found stays small")
options.add_argument("--out", type=pathlib.Path, required=True)
options.add_argument("--from", dest="begin", type=pathlib.Path, nargs="*")
options = options.parse_args()
chance = random.Random(options.seed)
image = options.target / "firmware" / TARGET / "release" / "replay"
counter = options.target / "firmware-host/release/libcouplet_counter.so"
symbols = subprocess.run(["arm-none-eabi-nm", image], capture_output=True, text=True, check=True).stdout.splitlines()
marks = [next(line.split()[0] for line in symbols if line.endswith(f" couplet_step_{mark}")) for mark in ("begins", "ends")]
work = pathlib.Path(tempfile.mkdtemp(prefix="worst-step-"))
(work / "stages").write_text("")


class Drive:
    """Head, numbers of the page, and per step and signal the eight bytes of a reading."""

    def __init__(self, raw):
        entries, signals = struct.unpack_from("<II", raw, 16)
        self.head, self.signals = raw[:HEAD], signals
        self.page = [raw[HEAD + 4 * i : HEAD + 4 * i + 4] for i in range(entries)]
        rest = raw[HEAD + 4 * entries :]
        size = 8 * signals
        self.steps = [[rest[at + 8 * s : at + 8 * s + 8] for s in range(signals)] for at in range(0, len(rest), size)]
        self.cost, self.at = 0, 0

    def raw(self):
        head = self.head[:32] + struct.pack("<I", len(self.steps))
        return head + b"".join(self.page) + b"".join(b"".join(step) for step in self.steps)

    def copy(self):
        other = object.__new__(Drive)
        other.head, other.signals, other.page = self.head, self.signals, list(self.page)
        other.steps, other.cost, other.at = [list(step) for step in self.steps], 0, 0
        return other


def judge(drive, place):
    """Cost of the dearest step and which it is; nothing for a page that the law refuses."""
    file, out = work / f"{place}.seq", work / f"{place}.out"
    file.write_bytes(drive.raw())
    out.unlink(missing_ok=True)
    command = ["qemu-system-arm", "-M", "mps2-an386", "-nographic", "-monitor", "none", "-serial", "none"]
    command += ["-semihosting-config", f"enable=on,target=native,arg={file}"]
    command += ["-plugin", f"file={counter},begin={marks[0]},end={marks[1]},stages={work}/stages,out={out}", "-kernel", str(image)]
    done = subprocess.run(command, capture_output=True, timeout=120)
    counts = out.read_bytes() if done.returncode == 0 and out.exists() else b""
    whole = [struct.unpack_from("<I", counts, at)[0] for at in range(0, len(counts) - RECORD + 1, RECORD)]
    drive.cost = max(whole, default=0)
    drive.at = whole.index(drive.cost) if whole else 0
    del drive.steps[drive.at + 2 :]
    return drive


def changed(parent, pool):
    """A copy with something else in it."""
    drive = parent.copy()
    other = chance.choice(pool)
    for _ in range(chance.choice((1, 1, 2, 4))):
        kind = chance.random()
        if kind < 0.2:
            place = chance.randrange(len(drive.page))
            drive.page[place] = other.page[place]
            if chance.random() < 0.5:
                value = struct.unpack("<f", drive.page[place])[0] * chance.choice((0.5, 0.9, 1.1, 2.0))
                drive.page[place] = struct.pack("<f", value)
            continue
        last = min(parent.at, len(drive.steps) - 1)
        end = max(1, last + 1 - chance.choice((0, 0, 0, 1, 3, 20)))
        begin = max(0, end - chance.choice((1, 2, 4, 12, 60, 200)))
        signal = chance.randrange(drive.signals)
        shift = chance.randrange(len(other.steps))
        if kind < 0.45:
            reading = chance.choice(other.steps)[signal]
            for step in drive.steps[begin:end]:
                step[signal] = reading
        elif kind < 0.6:
            for number, step in enumerate(drive.steps[begin:end]):
                step[signal] = other.steps[(shift + number) % len(other.steps)][signal]
        elif kind < 0.7:
            for number in range(begin, end):
                drive.steps[number] = list(other.steps[(shift + number) % len(other.steps)])
        elif kind < 0.85:
            factor = chance.choice((-1.0, 0.0, 0.5, 0.97, 1.03, 1.5, float("nan")))
            for step in drive.steps[begin:end]:
                value = struct.unpack("<f", step[signal][:4])[0] * factor
                step[signal] = struct.pack("<f", value if abs(value) < 3e38 or value != value else 0.0) + step[signal][4:]
        else:
            # Not heard, or old.
            for step in drive.steps[begin:end]:
                step[signal] = step[signal][:4] + chance.choice((b"\0\0\0\0", struct.pack("<HH", 500, 1), struct.pack("<HH", 0, 1)))
    return drive


def main():
    measured = options.target / "firmware-measured"
    files = options.begin or sorted([*measured.glob("wild/*.seq"), *measured.glob("driven/*.seq")])
    drives = [Drive(file.read_bytes()) for file in files]
    with concurrent.futures.ThreadPoolExecutor(2) as workers:
        pool = list(workers.map(judge, drives, range(len(drives))))
        for drive in pool:
            del drive.steps[: -options.steps]
        pool = [drive for drive in workers.map(judge, pool, range(len(pool))) if drive.cost]
        best = sorted(pool, key=lambda drive: -drive.cost)[:12]
        print(f"begins with {best[0].cost} instructions, {len(pool)} sequences", flush=True)
        until, tried = time.monotonic() + options.seconds, 0
        while time.monotonic() < until:
            parents = [chance.choice(best[:4] if chance.random() < 0.7 else best) for _ in range(8)]
            for child in workers.map(judge, [changed(parent, pool) for parent in parents], range(8)):
                tried += 1
                if child.cost >= best[-1].cost and all(child.cost != one.cost or child.at != one.at for one in best):
                    if child.cost > best[0].cost:
                        print(f"{child.cost} instructions at step {child.at + 1}, after {tried} tries", flush=True)
                        options.out.write_bytes(child.raw())
                    best = sorted([*best, child], key=lambda drive: -drive.cost)[:12]
    found = best[0]
    for part in (2, 3, 5, 9, 17, 33):
        while len(found.steps) > part:
            shorter = found.copy()
            del shorter.steps[: len(found.steps) // part]
            if judge(shorter, 0).cost < found.cost:
                break
            found = shorter
    options.out.write_bytes(found.raw())
    print(f"found {found.cost} instructions at step {found.at + 1} of {len(found.steps)}, {tried} tries: {options.out}")


sys.exit(main())
