"""How many tunes and quartet parts a second does a folder's survey take?

Surveys, on two threads and as CSV and as lines of JSON: every tune of the corpus's books and single tunes in ABC, and
every string quartet movement of it. Prints the rate on two cores and its ratio to the limit, and fails below the limit.

The rate on two cores is what two threads' CPU time allows (rows / CPU seconds × 2), so that other work on the machine
doesn't count; the rate by the clock stands beside it, and is the same on a quiet machine.

Source: the issue's limits: 1,500 tunes or 150 quartet parts a second on two cores; measured by the kernel (see
launcher.py), the median of five runs.
"""

import os
import re
import sys
from pathlib import Path
from statistics import median

import foreread
import scores

RUNS, THREADS = 5, 2
TUNES, PARTS = 1500.0, 150.0
COMPOSERS = ("haydn", "mozart", "beethoven", "schumann_robert")


def folder(name: str, paths: list[Path]) -> Path:
    """A folder of links to these files."""
    made = foreread.scratch(name)
    made.mkdir()
    for number, path in enumerate(paths):
        os.symlink(path, made / f"{number:05} {path.name}")
    return made


def quartets() -> list[Path]:
    """Movements in MusicXML with four parts."""
    corpus = scores.package_folder() / "corpus"
    found = [p for c in COMPOSERS for p in sorted((corpus / c).rglob("*")) if p.suffix in scores.MUSICXML]
    return [p for p in found if len(scores.tree(p).findall("part")) == 4]


def tunes() -> list[Path]:
    return sorted((scores.package_folder() / "corpus").rglob("*.abc"))


def measure(name: str, paths: list[Path], limit: float, what: str) -> bool:
    """Survey them; False below the limit."""
    made = folder(name, paths)
    good = True
    for form in ("csv", "jsonl"):
        to = str(foreread.scratch(f"{name}.{form}"))
        runs = [foreread.run(["survey", str(made), "--as", form, "--to", to, "--threads", str(THREADS)], limit=300) for _ in range(RUNS)]
        said = runs[0].err.strip().splitlines()[-1]
        counted = re.search(r"(\d+) pieces?, (\d+) parts?", said)
        if runs[0].status != 0 or counted is None:
            print(f"  {name}: no table: {said}")
            return False
        rows = int(counted[2])
        cpu, wall = median(r.cpu for r in runs), median(r.seconds for r in runs)
        rate = rows * THREADS / cpu
        good &= rate >= limit
        print(f"  {rows} {what} of {len(paths)} files as {form}: {rate:7.0f} a second on two cores ({rate / limit:.1f}× the limit of {limit:.0f}), "
              f"{rows / wall:.0f} by the clock, {cpu / rows * 1e3:.2f} ms CPU each, {max(r.rss_kib for r in runs) / 1024:.0f} MB")
    return good


def main() -> int:
    good = measure("quartets", quartets(), PARTS, "quartet parts")
    good &= measure("tunes", tunes(), TUNES, "tunes")
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main())
