"""How is one row of library-answers.jsonl split into cells that can be compared?

A cell is one number or one list of a part, named as in COUNTS.md: `counts.ties`,
`orn.Trill`, `clefs` ... The same names are made from the recorded row, from the
bare XML and from our JSON, so that two dictionaries can be laid side by side.
"""

from witness_xml import ARTICULATION_NAMES, ORNAMENT_NAMES, Answers, PartStaff

COUNTS = (
    "events heads chords grace tuplet_members ties altered shown_acc double_acc rests slurs".split()
)
PER_PART_CELLS = ("counts.slurs", "orn.TrillExtension", "orn.TremoloSpanner")


# The library's quarter tones: a half-flat and a half-sharp, alone or after a sign.
QUARTER_TONES = {"#~": "(3/2)", "~": "(1/2)", "b`": "(-3/2)", "`": "(-1/2)"}


def flat(name: str | None) -> str | None:
    """The library writes flats as `-` and quarter tones by signs; we write `b` and halves."""
    if name is None:
        return None
    name = name.replace("-", "b")
    for sign, halves in QUARTER_TONES.items():
        if sign in name:
            return name.replace(sign, halves)
    return name


def clef(text: str) -> str:
    """`percussionNone` and the like: the library's word for a missing line."""
    return text.replace("None", "")


def recorded(row: dict) -> dict:
    """The cells of a recorded row."""
    cells = {f"counts.{k}": row["counts"].get(k, 0) for k in COUNTS}
    for group in ("orn", "art", "dyn", "hairpin"):
        cells |= {f"{group}.{k}": v for k, v in row[group].items()}
    cells |= {"low": flat(row["low"]), "high": flat(row["high"]), "measures": row["measures"]}
    cells["clefs"] = [clef(c) for c in row["clefs"]]
    cells["keysigs"] = [[str(bar), fifths] for bar, fifths, _mode in row["keysigs"]]
    cells["times"] = [[str(bar), ratio, symbol] for bar, ratio, symbol in row["times"]]
    return cells


def from_xml(found: Answers) -> dict:
    """The cells as counted from the bare XML."""
    cells = {f"counts.{k}": found.counts[k] for k in COUNTS}
    for group in ("orn", "art", "dyn", "hairpin"):
        cells |= {f"{group}.{k}": v for k, v in getattr(found, group).items() if v}
    cells |= {"low": found.low, "high": found.high, "measures": found.measures}
    cells |= {"clefs": found.clefs, "keysigs": found.keysigs, "times": found.times}
    return cells


def comparable(cell: str, entry: PartStaff) -> bool:
    """Spanners of a several-staff part are all recorded on its first staff, 0 elsewhere."""
    return entry.first or not (cell in PER_PART_CELLS or cell.startswith("hairpin."))


def side_by_side(left: dict, right: dict) -> list[tuple[str, object, object]]:
    """Every cell of either side in a steady order; an absent mark counts 0."""
    names = list(left) + [name for name in right if name not in left]
    return [(n, left.get(n, _absent(n)), right.get(n, _absent(n))) for n in names]


def _absent(name: str) -> object:
    return 0 if "." in name else None


def plain(name: str) -> str:
    """A mark's name without case, hyphens, spaces and a final `mark`."""
    bare = "".join(c for c in name.lower() if c.isalnum())
    return bare.removesuffix("mark") if bare not in ("mark",) else bare


# Our keys (MusicXML element names in any spelling) to the library's names.
OURS_TO_LIBRARY = {
    "orn": {plain(k): v for k, v in ORNAMENT_NAMES.items()}
    | {plain(v): v for v in ORNAMENT_NAMES.values()}
    | {"tremolo": "Tremolo", "tremolosingle": "Tremolo", "tremolospanner": "TremoloSpanner",
       "tremolodouble": "TremoloSpanner", "wavyline": "TrillExtension", "trillextension": "TrillExtension",
       "fermata": "Fermata", "arpeggio": "ArpeggioMark", "arpeggiate": "ArpeggioMark"},
    "art": {plain(k): v for k, v in ARTICULATION_NAMES.items()}
    | {plain(v): v for v in ARTICULATION_NAMES.values()},
    "dyn": {},
    "hairpin": {"crescendo": "Crescendo", "cresc": "Crescendo", "diminuendo": "Diminuendo",
                "dim": "Diminuendo", "decrescendo": "Diminuendo"},
}
