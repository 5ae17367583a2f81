"""Packs a folder of kept inputs into one file and back: each input as its length (four bytes, little endian) and its bytes.

usage: pack.py pack FOLDER FILE | pack.py unpack FILE FOLDER
Largest kept inputs are left out beyond 256 KiB, so that the file stays small; which ones is told.
"""

import hashlib
import os
import sys

MOST = 1 << 18


def pack(folder, file):
    inputs = sorted((open(os.path.join(folder, name), "rb").read() for name in os.listdir(folder)), key=lambda data: (len(data), data))
    packed = b""
    kept = 0
    for data in inputs:
        if len(packed) + 4 + len(data) > MOST:
            break
        packed += len(data).to_bytes(4, "little") + data
        kept += 1
    with open(file + ".new", "wb") as out:
        out.write(packed)
    os.replace(file + ".new", file)
    print(f"{file}: {kept} of {len(inputs)} inputs, {len(packed)} bytes")


def unpack(file, folder):
    data = open(file, "rb").read()
    at = 0
    while at < len(data):
        length = int.from_bytes(data[at : at + 4], "little")
        one = data[at + 4 : at + 4 + length]
        if len(one) != length:
            sys.exit(f"{file}: cut short at byte {at}")
        with open(os.path.join(folder, hashlib.sha1(one).hexdigest()), "wb") as out:
            out.write(one)
        at += 4 + length


{"pack": pack, "unpack": unpack}[sys.argv[1]](*sys.argv[2:])
