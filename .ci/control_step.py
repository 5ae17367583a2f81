"""Median instructions of a control step, stage by stage, from callgrind dumps of one step each.

Usage: control_step.py PROGRAM DUMPS [lines]
An instruction belongs to the outermost stage in the chain of functions inlined there; a function that belongs to no stage
(a sine, a copy) counts where it is called from; what is in no stage is the wiring. With `lines`: the dearest source lines.
"""

import collections
import statistics
import sys

from stages import chains, owner

program, dumps = sys.argv[1:3]


def steps(path):
    """One list of (address, function, cost, callee) per dump that counted something."""
    step, function, callee, is_call = [], None, None, False
    with open(path, encoding="utf-8") as lines:
        for line in lines:
            if line.startswith("part:"):
                if step:
                    yield step
                step = []
            elif line.startswith("fn="):
                function = line[3:-1]
            elif line.startswith("cfn="):
                callee = line[4:-1]
            elif line.startswith("calls="):
                is_call = True
            elif line.startswith("0x"):
                address, _, cost = line.split()[:3]
                step.append((address, function, int(cost), callee if is_call else None))
                is_call = False
    if step:
        yield step


all_steps = list(steps(dumps))
addresses = sorted({place for step in all_steps for place, _, _, _ in step})
frames = chains(program, addresses)
owners = {address: owner(frames[int(address, 16)]) for address in addresses}
owned = {function for step in all_steps for place, function, _, callee in step if callee is None and owners[place][0]}
table, lines = [], collections.Counter()
for step in all_steps:
    stages = collections.Counter()
    for place, _, cost, callee in step:
        stage, line = owners[place]
        if stage and (callee is None or callee not in owned):
            stages[stage] += cost
            lines[stage, line.split("/src/")[-1] + (f" -> {callee}" if callee else "")] += cost
    table.append(stages)
names = sorted({name for stages in table for name in stages})
ordered = sorted(names, key=lambda name: -statistics.median(stages[name] for stages in table))
print(f"{'stage':<16}{'median':>8}{'worst':>8}  of {len(table)} steps")
for name in ordered:
    costs = [stages[name] for stages in table]
    print(f"{name:<16}{statistics.median(costs):>8.0f}{max(costs):>8}")
whole = [sum(stages.values()) for stages in table]
print(f"{'whole step':<16}{statistics.median(whole):>8.0f}{max(whole):>8}")
if "lines" in sys.argv[3:]:
    for (stage, line), cost in lines.most_common():
        print(f"{cost / len(table):>8.1f}  {stage:<16}{line}")
