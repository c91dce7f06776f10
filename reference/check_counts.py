"""Do our counts equal the library's, cell by cell?

Surveys every part of library-answers.jsonl (MusicXML units) and compares each
cell of COUNTS.md. A cell may differ only if differences.toml lists it and the
bare XML (a second witness) counts what we count; at most 2 % of the cells may.
Cells of the second table in COUNTS.md marked "reported only" are shown, not judged.

Source: library-answers.jsonl, music21 10.5.1; second witness: witness_xml.py.
"""

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
        "keysigs": [[str(k.get("bar")), k.get("fifths")] for k in key.get("signatures") or []],
        "times": [[str(m.get("bar")), m.get("fraction"), _symbol(m)] for m in answer.get("metre") or []],
    }


def _symbol(metre: dict) -> str:
    """The `symbol` attribute; the library gives an empty text where the file has none."""
    symbol = str(metre.get("symbol") or "")
    return "" if symbol == "normal" else symbol


def main() -> int:
    listed = differences.load()
    total, equal = 0, 0
    accepted, failures, used = [], [], set()
    by_cell, failed_units = Counter(), []
    tree_of: dict = {}
    for row in scores.library_answers():
        unit = row["unit"]
        path = scores.score_path(unit)
        if unit not in tree_of:
            tree_of = {unit: scores.tree(path)}
        entry = witness_xml.part_staves(tree_of[unit])[row["part"]]
        counted = cells.from_xml(witness_xml.answers(entry))
        library = cells.recorded(row)
        try:
            answer = foreread.survey(path, entry.number)
        except foreread.SurveyFailed as failed:
            failed_units.append((unit, row["part"], str(failed)))
            total += len([n for n in library if cells.comparable(n, entry)])
            continue
        for name, mine, theirs in cells.side_by_side(ours(answer, entry), library):
            if not cells.comparable(name, entry):
                continue
            total += 1
            if mine == theirs:
                equal += 1
                continue
            witness = counted.get(name, 0 if "." in name else None)
            where = (unit, row["part"], name)
            if where in listed and mine == witness:
                accepted.append((*where, mine, theirs))
                used.add(where)
                continue
            by_cell[name] += 1
            failures.append((*where, mine, theirs, witness))
    for unit, part, why in failed_units:
        print(f"  NO SURVEY {unit} part {part}: {why}")
    for unit, part, name, mine, theirs, witness in failures:
        agree = "bare XML says as the library" if witness == theirs else f"bare XML {_short(witness)}"
        print(f"  UNEQUAL {unit} part {part} {name}: ours {_short(mine)}, library {_short(theirs)}; {agree}")
    for unit, part, name, mine, theirs in accepted:
        print(f"  DIFFERENCE: {unit} part {part} {name}: ours {_short(mine)}, library {_short(theirs)}; "
              f"{listed[unit, part, name]['page']}")
    if by_cell:
        print("  unequal by cell: " + ", ".join(f"{n} {c}" for n, c in by_cell.most_common()))
    share = len(accepted) / max(total, 1)
    print(f"{equal} of {total} cells equal, {len(accepted)} listed differences ({share:.1%}, allowed "
          f"{ALLOWED_SHARE:.0%}), {len(failures)} unequal, {len(failed_units)} parts without a survey")
    return 1 if failures or failed_units or share > ALLOWED_SHARE else 0


def _short(value: object) -> str:
    text = str(value)
    return text if len(text) < 160 else text[:160] + "…"


if __name__ == "__main__":
    sys.exit(main())
