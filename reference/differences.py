"""Which cells may differ from the library's answer, and on whose word?

Reads differences.toml: each entry names unit, part and cell, the line of the
library's source that explains it, and what both sides say. An entry is honoured
only while the bare XML (the second witness) agrees with us, cell by cell.
"""

import tomllib
from pathlib import Path

FILE = Path(__file__).resolve().parent / "differences.toml"


def load() -> dict[tuple[str, int, str], dict]:
    """Entries by (unit, part, cell)."""
    with open(FILE, "rb") as text:
        groups = tomllib.load(text)["difference"]
    listed = {}
    for group in groups:
        for where in group["cells"]:
            unit, part, cell = where["unit"], where["part"], where["cell"]
            if (unit, part, cell) in listed:
                raise SystemExit(f"{FILE.name}: {unit} part {part} {cell} is listed twice")
            listed[unit, part, cell] = {**where, "why": group["why"], "source": group["source"]}
    return listed
