"""Reads Couplet's measurement files with asammdf and pyarrow, and asammdf's with Couplet."""

import csv
import logging
import pathlib
import subprocess
import sys

import numpy as np
import pyarrow.parquet as parquet
from asammdf import MDF, Signal

logging.disable(logging.WARNING)
work = pathlib.Path(sys.argv[1])
values = sys.argv[2]
stem = "power-on-exit-wet-paired"


def ours():
    """MDF read by asammdf: names, units, comments, rates, values against the CSV of the same run."""
    groups = {"law": 0.005, "car": None}
    with MDF(work / "ours" / f"{stem}.mf4") as file:
        assert file.version == "4.10", file.version
        assert len(file.groups) == 2, len(file.groups)
        count = 0
        for index, name in enumerate(groups):
            assert file.groups[index].channel_group.acq_name == name
            with open(work / "ours" / f"{stem}-{name}.csv", newline="") as text:
                rows = csv.reader(text)
                header = next(rows)
                table = np.array([[float(cell) if cell else np.nan for cell in row] for row in rows])
            step = np.diff(table[:, 0])
            assert np.allclose(step, step[0], atol=1e-9), name
            if groups[name]:
                assert abs(step[0] - groups[name]) < 1e-12, step[0]
            for column, cell in enumerate(header[1:], 1):
                label, _, unit = cell.rstrip("]").partition(" [")
                signal = file.get(label, group=index)
                assert signal.unit == unit, (label, signal.unit, unit)
                assert signal.samples.dtype == np.float32, signal.samples.dtype
                assert np.array_equal(signal.timestamps, table[:, 0]), label
                assert np.array_equal(signal.samples, table[:, column].astype(np.float32), equal_nan=True), label
                count += signal.samples.size
        yaw = file.get("input.yaw_rate", group=0)
        assert yaw.comment == "Yaw rate, positive to the left.", yaw.comment
        assert "Not certified" in file.header.comment, file.header.comment
        print(f"  asammdf reads {count} samples of ours with units, comments and rates")
    for name in groups:
        table = parquet.read_table(work / "ours" / f"{stem}-{name}.parquet")
        with open(work / "ours" / f"{stem}-{name}.csv", newline="") as text:
            rows = csv.reader(text)
            header = next(rows)
            wanted = np.array([[float(cell) if cell else np.nan for cell in row] for row in rows])
        assert table.num_rows == len(wanted) and table.num_columns == len(header)
        for column, cell in enumerate(header):
            label, _, unit = cell.rstrip("]").partition(" [")
            found = table.column(label).to_numpy()
            assert np.array_equal(found, wanted[:, column].astype(found.dtype), equal_nan=True), label
            assert table.schema.metadata[f"unit:{label}".encode()].decode() == unit, label
        meta = parquet.ParquetFile(work / "ours" / f"{stem}-{name}.parquet").metadata
        chunk = meta.row_group(0).column(1)
        assert "BYTE_STREAM_SPLIT" in chunk.encodings, chunk.encodings
        print(f"  pyarrow reads {table.num_rows * table.num_columns} values of ours with units, {chunk.compression}")


def theirs(compression):
    """asammdf's files read by us: 300,000 samples of floats and integers, two rates, a linear conversion, equal to the bit."""
    count = 50_000
    chance = np.random.default_rng(7)
    quick = np.arange(count) * 0.001
    made = {
        "double": (quick, chance.normal(size=count), "m/s"),
        "single": (quick, chance.normal(size=count).astype(np.float32), "rad/s"),
        "byte": (quick, chance.integers(0, 255, count, dtype=np.uint8), "-"),
        "word": (quick, chance.integers(-32768, 32767, count, dtype=np.int16), "N m"),
        "long": (quick, chance.integers(-(2**53), 2**53, count, dtype=np.int64), ""),
        "slow": (np.arange(count) * 0.01, chance.normal(size=count), "°C"),
    }
    path = work / f"theirs-{compression}.mf4"
    with MDF(version="4.10") as file:
        fast = [Signal(v, t, name=n, unit=u, comment=f"about {n}") for n, (t, v, u) in made.items() if n != "slow"]
        file.append(fast)
        t, v, u = made["slow"]
        file.append([Signal(v, t, name="slow", unit=u)])
        scaled = chance.integers(0, 4000, 1000, dtype=np.uint16)
        linear = {"a": 0.25, "b": -40.0}
        file.append([Signal(scaled, np.arange(1000) * 0.1, name="scaled", unit="bar", conversion=linear)])
        table = {"val_0": 0, "text_0": b"off", "val_1": 1, "text_1": b"on"}
        file.append([Signal(scaled % 2, np.arange(1000) * 0.1, name="texts", conversion=table)])
        file.save(path, overwrite=True, compression=compression)
    made["scaled"] = (np.arange(1000) * 0.1, scaled * 0.25 - 40.0, "bar")
    total = 0
    for name, (times, samples, unit) in made.items():
        for asked, wanted in [(name, samples.astype(np.float64)), (f"time:{name}", times)]:
            done = subprocess.run([values, path, asked], capture_output=True)
            assert done.returncode == 0, done.stderr
            found = np.frombuffer(done.stdout, dtype="<f8")
            assert np.array_equal(found, wanted), (name, found[:5], wanted[:5])
        assert done.stderr.decode().strip() == unit, done.stderr
        total += samples.size
    done = subprocess.run([values, path, "texts"], capture_output=True)
    assert done.returncode == 1 and b"a conversion by a table" in done.stderr, done.stderr
    blocks = path.read_bytes().count(b"##DZ")
    assert (blocks > 0) == (compression > 0), blocks
    print(f"  we read {total} samples of asammdf's, compression={compression}, {blocks} compressed blocks")
    return path


def broken(path):
    """A compressed file cut or spoiled in its data is refused with a place."""
    whole = path.read_bytes()
    spoiled = bytearray(whole)
    place = whole.index(b"##DZ") + 48 + 200
    spoiled[place : place + 64] = bytes(64)
    for name, content in [("cut", whole[: len(whole) // 2]), ("spoiled", bytes(spoiled))]:
        target = work / f"{name}.mf4"
        target.write_bytes(content)
        done = subprocess.run([values, target, "double"], capture_output=True)
        assert done.returncode == 2 and b": byte " in done.stderr, (name, done.stderr)


ours()
for compression in (0, 1, 2):
    last = theirs(compression)
broken(last)
