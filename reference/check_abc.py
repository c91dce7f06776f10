"""Do our counts of ABC tunes and kern parts equal the library's, cell by cell?

Surveys the ABC and kern units of library-answers.jsonl (`file#number` is a tune of a book) and compares each cell of
COUNTS.md. A cell may differ only if abc-differences.toml lists it with what stands in the source and what the
standard says of it; what is listed must differ exactly as listed.

Source: library-answers.jsonl, music21 10.5.1; The ABC music standard 2.1.
"""

import json
import sys
import tomllib
from pathlib import Path

import cells
import check_counts
import foreread
import scores
import witness_xml

LISTED = Path(__file__).resolve().parent / "abc-differences.toml"


def rows() -> list[dict]:
    """The ABC and kern rows, in file order."""
    with open(scores.DATA / "library-answers.jsonl", encoding="utf-8") as lines:
        return [row for row in map(json.loads, lines) if not scores.is_musicxml(row["unit"])]


def known() -> dict[tuple[str, int, str], dict]:
    """What may differ, by unit, part and cell."""
    if not LISTED.exists():
        return {}
    with open(LISTED, "rb") as text:
        groups = tomllib.load(text).get("difference", [])
    return {(where["unit"], where.get("part", 0), where["cell"]): {**where, "why": group["why"]} for group in groups for where in group["cells"]}


def _said(mine: object, theirs: object) -> str:
    return f"ours {mine}, library {theirs}".replace('"', "'")


def main() -> int:
    listed, used = known(), set()
    total = equal = failures = 0
    whole = witness_xml.PartStaff(part=None, number=1, staff=None, first=True)
    for row in rows():
        unit = row["unit"]
        tune = ("--tune", unit.split("#")[1].lstrip("0") or "0") if "#" in unit else ()
        try:
            answer = foreread.survey(scores.score_path(unit), row["part"] + 1, tune)
        except foreread.SurveyFailed:
            # Some books write their numbers with zeros.
            tune = ("--tune", unit.split("#")[1]) if "#" in unit else ()
            answer = foreread.survey(scores.score_path(unit), row["part"] + 1, tune)
        for name, mine, theirs in cells.side_by_side(check_counts.ours(answer, whole), cells.recorded(row)):
            total += 1
            if mine == theirs:
                equal += 1
            elif listed.get((unit, row["part"], name), {}).get("page") == _said(mine, theirs):
                used.add((unit, row["part"], name))
                print(f"  DIFFERENCE: {unit} {name}: {listed[unit, row['part'], name]['page']}; {listed[unit, row['part'], name]['why']}")
            else:
                failures += 1
                print(f"  UNEQUAL {unit} {name}: ours {mine}, library {theirs}")
    for unit, _part, name in sorted(set(listed) - used):
        failures += 1
        print(f"  LISTED, BUT NOT SO {unit} {name}")
    print(f"{equal} of {total} cells equal, {len(used)} listed differences, {failures} unequal")
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())
