"""Every link of the book and every include leads to a file; every chapter is in the summary."""

import pathlib
import re
import sys

source = pathlib.Path("docs/src")
faults = []
for page in sorted(source.glob("*.md")):
    text = page.read_text(encoding="utf-8")
    links = re.findall(r"\]\(([^)#:]+)\)", text) + re.findall(r"\{\{#include ([^}]+)\}\}", text)
    faults += [f"{page}: {link} leads nowhere" for link in links if not (page.parent / link).exists()]
listed = set(re.findall(r"\(([^)]+\.md)\)", (source / "SUMMARY.md").read_text(encoding="utf-8")))
chapters = {page.name for page in source.glob("*.md")} - {"SUMMARY.md"}
faults += [f"docs/src/{name} is not in the summary" for name in sorted(chapters - listed)]
decisions = (source / "decisions.md").read_text(encoding="utf-8")
faults += [
    f"{page} is not in docs/src/decisions.md"
    for page in sorted(pathlib.Path("docs/decisions").glob("*.md"))
    if page.name not in decisions
]
print("\n".join(faults) or f"book: {len(chapters)} chapters, all links lead somewhere")
sys.exit(1 if faults else 0)
