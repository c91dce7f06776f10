"""Do COUNTS.md's rules reproduce the recorded answers from the bare XML?

Recounts every cell of library-answers.jsonl with the standard library alone and
lists where the two differ. Every difference must be one of the library's own
departures from the page, listed in differences.toml; an unlisted one means that
our reading of the rules is wrong, a listed one that no longer occurs is stale.

Source: library-answers.jsonl (music21 10.5.1) against the files themselves.
"""

import sys

import cells
import differences
import scores
import witness_xml


def main() -> int:
    listed = differences.load()
    total, apart, unlisted = 0, [], []
    trees: dict = {}
    for row in scores.library_answers():
        unit = row["unit"]
        if unit not in trees:
            trees = {unit: scores.tree(scores.score_path(unit))}
        entries = witness_xml.part_staves(trees[unit])
        if len(entries) != row["nparts"]:
            unlisted.append((unit, row["part"], "nparts", len(entries), row["nparts"]))
            continue
        entry = entries[row["part"]]
        counted = cells.from_xml(witness_xml.answers(entry))
        for name, xml, library in cells.side_by_side(counted, cells.recorded(row)):
            if not cells.comparable(name, entry):
                continue
            total += 1
            if xml != library:
                key = (unit, row["part"], name)
                (apart if key in listed else unlisted).append((*key, xml, library))
    for unit, part, name, xml, library in unlisted:
        print(f"  NOT LISTED {unit} part {part} {name}: bare XML {xml}, library {library}")
    stale = set(listed) - {(u, p, n) for u, p, n, _x, _l in apart}
    for unit, part, name in sorted(stale):
        print(f"  STALE {unit} part {part} {name}: listed, but the two agree")
    print(f"bare XML = library in {total - len(apart) - len(unlisted)} of {total} cells; "
          f"{len(apart)} listed departures of the library, {len(unlisted)} not listed, {len(stale)} stale")
    return 1 if unlisted or stale else 0


if __name__ == "__main__":
    sys.exit(main())
