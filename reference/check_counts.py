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
    """Range, length, clefs, signatures, metres."""
    range_ = answer.get("range") or {}
    several = entry.staff is not None
    ends = {}
    for cell, key in (("low", "lowest"), ("high", "highest")):
        source = counts if several else range_
        value = source.get(key)
        ends[cell] = value.get("written") if isinstance(value, dict) else value
    clefs = counts.get("clefs") if several else answer.get("clefs")
    metres = answer.get("metre") or []
    key = answer.get("key") or {}
    return ends | {
        "measures": (answer.get("piece") or {}).get("bars"),
        "clefs": [c.get("clef") if isinstance(c, dict) else c for c in clefs or []],
        "keysigs": [[str(k.get("bar")), k.get("fifths")] for k in key.get("signatures") or []],
        "times": [[str(m.get("bar")), _ratio(m), _symbol(m)] for m in metres],
    }


def _ratio(metre: dict) -> str:
    beats, kind = str(metre.get("beats")), str(metre.get("beat_type"))
    if "/" in beats:  # several pairs: already `3/8+2/4`
        return beats
    return f"{beats}/{kind}"


def _symbol(metre: dict) -> str:
    """The printed symbol: `common` and `cut` are the only two that the rows carry."""
    symbol = str(metre.get("symbol") or "")
    names = {"c": "common", "C": "common", "𝄴": "common", "¢": "cut", "𝄵": "cut"}
    return names.get(symbol, symbol if symbol in ("common", "cut", "single-number", "normal") else "")


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
