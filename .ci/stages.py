"""To which stage of the law an instruction belongs, from the debugging information of a program."""

import re
import subprocess

STAGE = re.compile(r"/controller/src/stage/([a-z_]+)(?:\.rs|/)")
WIRING = re.compile(r"/controller/src/(?!numerics|quantity)")


def chains(program, addresses, tool="addr2line"):
    """Frames (file:line) of every hexadecimal address, innermost first."""
    ask = "\n".join(addresses) + "\n"
    command = [tool, "-a", "-i", "-e", program]
    told = subprocess.run(command, input=ask, capture_output=True, text=True, check=True).stdout
    found, frames = {}, []
    for line in told.splitlines():
        if line.startswith("0x"):
            frames = found.setdefault(int(line, 16), [])
        else:
            frames.append(line)
    return found


def owner(frames):
    """The outermost stage among the frames and its innermost line; the innermost wiring where there is none; else nothing."""
    for frame in reversed(frames):
        stage = STAGE.search(frame)
        if stage:
            return stage.group(1), next(inner for inner in frames if STAGE.search(inner))
    for frame in frames:
        if WIRING.search(frame):
            return "wiring", frame
    return None, None
