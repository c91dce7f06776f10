"""Do our counts equal the library's, cell by cell?

Surveys every part of library-answers.jsonl (MusicXML units) and compares each
cell of COUNTS.md. A cell may differ only if differences.toml lists it and the
bare XML (a second witness) counts what we count; at most 2 % of the cells may.
Then the same for library-extra.jsonl, all other MusicXML files of the package (first and last
part), where a cell may depart from the library only where the bare XML sides with us.
Cells of the second table in COUNTS.md marked "reported only" are shown, not judged.

Source: library-answers.jsonl and library-extra.jsonl, music21 10.5.1; second witness: witness_xml.py.
"""

import json
import sys
from collections import Counter

import cells
import differences
import foreread
import scores
import witness_xml

ALLOWED_SHARE = 0.02


def ours(answer: dict, entry: witness_xml.PartStaff) -> dict:
    """Our JSON as cells. Missing keys become None, which equals nothing recorded."""
    whole = answer.get("counts") or {}
    counts = whole
    if entry.staff is not None:
        staves = {s.get("staff"): s for s in whole.get("staves") or []}
        counts = staves.get(entry.staff) or {}
    found = {}
    for key in cells.COUNTS:
        per_part = f"counts.{key}" in cells.PER_PART_CELLS
        found[f"counts.{key}"] = (whole if per_part else counts).get(key)
    for group, keys in (("orn", ("ornaments",)), ("art", ("articulations", "technical")),
                        ("dyn", ("dynamics",)), ("hairpin", ("hairpins",))):
        for key in keys:
            # Wedges and the ends of trill lines belong to the part, as the library has them.
            for name, count in ((whole if group == "hairpin" else counts).get(key) or {}).items():
                if (known := _library_name(group, name)) and count:
                    cell = f"{group}.{known}"
                    found[cell] = found.get(cell, 0) + count
    for key, cell in (("fermatas", "orn.Fermata"), ("arpeggios", "orn.ArpeggioMark")):
        if counts.get(key):
            found[cell] = counts[key]
    if entry.staff is not None and entry.first:
        for name, count in (whole.get("ornaments") or {}).items():
            if f"orn.{_library_name('orn', name)}" in cells.PER_PART_CELLS:
                found[f"orn.{_library_name('orn', name)}"] = count
    return found | _facts(answer, counts, entry)


def _library_name(group: str, name: str) -> str | None:
    if group == "dyn":
        return name
    return cells.OURS_TO_LIBRARY[group].get(cells.plain(name), name)


def _facts(answer: dict, counts: dict, entry: witness_xml.PartStaff) -> dict:
    """Range, length, clefs, signatures, metres.

    The library's range and clefs are those of all that the file holds, hidden and cue
    notes too; ours are those of the page. So they are taken from the questions
    where these mean the same, and from the counts where hidden or cue notes or staves make a difference.
    """
    apart = entry.staff is not None or counts.get("hidden_heads") or counts.get("cue_heads")
    range_ = answer.get("range") or {}
    ends = {}
    for cell, key in (("low", "lowest"), ("high", "highest")):
        value = counts.get(key) if apart else range_.get(key)
        ends[cell] = value.get("written") if isinstance(value, dict) else value
    clefs = counts.get("clefs") if entry.staff is not None else answer.get("clefs")
    key = answer.get("key") or {}
    return ends | {
        "measures": (answer.get("piece") or {}).get("bars"),
        "clefs": [c.get("clef") if isinstance(c, dict) else c for c in clefs or []],
        "keysigs": [[str(k.get("bar")), k.get("fifths")] for k in key.get("signatures") or []
                    if entry.staff is None or k.get("staff") in (None, entry.staff)],
        "times": [[str(m.get("bar")), m.get("fraction"), _symbol(m)] for m in answer.get("metre") or []
                  if m.get("symbol") != "none"],
    }


def _symbol(metre: dict) -> str:
    """The `symbol` attribute; the library gives an empty text where the file has none."""
    symbol = str(metre.get("symbol") or "")
    return "" if symbol == "normal" else symbol


class Tally:
    """Cells compared, and those that differ."""

    def __init__(self) -> None:
        self.total, self.equal = 0, 0
        self.accepted: list[tuple] = []
        self.failures: list[tuple] = []
        self.without: list[tuple] = []

    def compare(self, unit: str, part: int, library: dict, entry: witness_xml.PartStaff, listed: dict) -> None:
        """One part-staff: our survey against the library's cells, with the bare XML as second witness."""
        try:
            answer = foreread.survey(scores.score_path(unit), entry.number)
        except foreread.SurveyFailed as failed:
            self.without.append((unit, part, str(failed)))
            self.total += len([n for n in library if cells.comparable(n, entry)])
            return
        counted = cells.from_xml(witness_xml.answers(entry))
        for name, mine, theirs in cells.side_by_side(ours(answer, entry), library):
            if not cells.comparable(name, entry):
                continue
            self.total += 1
            witness = counted.get(name, 0 if "." in name else None)
            if mine == theirs:
                self.equal += 1
            elif mine == witness and (listed is None or (unit, part, name) in listed):
                self.accepted.append((unit, part, name, mine, theirs))
            else:
                self.failures.append((unit, part, name, mine, theirs, witness))

    def show(self, pages: dict | None) -> None:
        for unit, part, why in self.without:
            print(f"  NO SURVEY {unit} part {part}: {why}")
        for unit, part, name, mine, theirs, witness in self.failures:
            agree = "bare XML says as the library" if witness == theirs else f"bare XML {_short(witness)}"
            print(f"  UNEQUAL {unit} part {part} {name}: ours {_short(mine)}, library {_short(theirs)}; {agree}")
        for unit, part, name, mine, theirs in self.accepted if pages else []:
            print(f"  DIFFERENCE: {unit} part {part} {name}: ours {_short(mine)}, library {_short(theirs)}; "
                  f"{pages[unit, part, name]['page']}")
        if self.failures:
            by_cell = Counter(f[2] for f in self.failures)
            print("  unequal by cell: " + ", ".join(f"{n} {c}" for n, c in by_cell.most_common()))


def known_rows() -> bool:
    """library-answers.jsonl; True when all is equal but the listed differences."""
    listed, tally, tree = differences.load(), Tally(), {}
    for row in scores.library_answers():
        if row["unit"] not in tree:
            tree = {row["unit"]: witness_xml.part_staves(scores.tree(scores.score_path(row["unit"])))}
        tally.compare(row["unit"], row["part"], cells.recorded(row), tree[row["unit"]][row["part"]], listed)
    tally.show(listed)
    share = len(tally.accepted) / max(tally.total, 1)
    print(f"{tally.equal} of {tally.total} cells equal, {len(tally.accepted)} listed differences ({share:.1%}, allowed "
          f"{ALLOWED_SHARE:.0%}), {len(tally.failures)} unequal, {len(tally.without)} parts without a survey")
    return not tally.failures and not tally.without and share <= ALLOWED_SHARE


def further_rows() -> bool:
    """library-extra.jsonl: a cell may depart from the library only where the bare XML sides with us."""
    tally, tree, refused, units = Tally(), {}, 0, set()
    with open(scores.DATA / "library-extra.jsonl", encoding="utf-8") as lines:
        rows = [json.loads(line) for line in lines]
    for row in rows:
        unit = row["unit"]
        if "error" in row:  # the library can't read it; check_conformance and check_all_corpus still do
            refused += 1
            continue
        if unit not in tree:
            tree = {unit: witness_xml.part_staves(scores.tree(scores.score_path(unit)))}
        units.add(unit)
        if len(tree[unit]) != row["nparts"]:
            print(f"  PARTS {unit}: {len(tree[unit])} part-staves, the library has {row['nparts']}")
            continue
        library = {k: cells.flat(v) if k in ("low", "high") else v for k, v in row["cells"].items()}
        tally.compare(unit, row["part"], library, tree[unit][row["part"]], None)
    tally.show(None)
    share = len(tally.accepted) / max(tally.total, 1)
    print(f"further files ({len(units)}, the library refuses {refused}): {tally.equal} of {tally.total} cells equal; in "
          f"{len(tally.accepted)} ({share:.2%}) the bare XML sides with us, {len(tally.failures)} unequal, "
          f"{len(tally.without)} parts without a survey")
    return not tally.failures and not tally.without and share <= ALLOWED_SHARE


def _short(value: object) -> str:
    text = str(value)
    return text if len(text) < 160 else text[:160] + "…"


def main() -> int:
    good = known_rows()
    return 0 if further_rows() and good else 1


if __name__ == "__main__":
    sys.exit(main())
