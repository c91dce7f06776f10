"""Does the library still answer what was recorded?

Recomputes every cell of library-answers.jsonl (MusicXML units) with music21 itself,
by the rules of COUNTS.md. Proves that the rules are the library's own, and would show
a changed answer after a new release. Takes a few minutes; not part of the
default run (`reference/run library`).

Source: library-answers.jsonl; music21 10.5.1.
"""

import sys
import warnings
from collections import Counter

from music21 import chord, clef, converter, dynamics, expressions, harmony, key, meter, note, spanner, stream

import cells
import scores

# The only cells a fresh reading changes; why stands in differences.toml.
MOVED = "times"


def recount(part: stream.Part) -> dict:
    """The cells of one part."""
    counts, orn, art, dyn, hairpin = Counter(), Counter(), Counter(), Counter(), Counter()
    found: dict = {"clefs": [], "keysigs": [], "times": []}
    low = high = None
    for element in part.recurse():
        match element:
            case key.KeySignature():
                found["keysigs"].append([element.measureNumber, element.sharps, getattr(element, "mode", None)])
            case clef.Clef():
                octaves = f"{element.octaveChange:+d}" if element.octaveChange else ""
                found["clefs"].append(f"{element.sign or ''}{element.line}{octaves}")
            case meter.TimeSignature():
                found["times"].append([element.measureNumber, element.ratioString, element.symbol])
            case dynamics.DynamicWedge():
                hairpin[type(element).__name__] += 1
            case dynamics.Dynamic():
                dyn[element.value] += 1
            case spanner.Slur():
                counts["slurs"] += 1
            case expressions.TrillExtension() | expressions.TremoloSpanner():
                orn[type(element).__name__] += 1
            case harmony.Harmony():
                pass
            case note.GeneralNote():
                counts["tuplet_members"] += bool(element.duration.tuplets)
                if element.isRest:
                    counts["rests"] += 1
                    continue
                orn.update(type(x).__name__ for x in element.expressions)
                art.update(type(x).__name__ for x in element.articulations)
                _event(element, counts)
                for pitch in [] if isinstance(element, note.Unpitched) else element.pitches:
                    low = pitch if low is None or pitch.ps < low.ps else low
                    high = pitch if high is None or pitch.ps > high.ps else high
    found |= {"counts": counts, "orn": orn, "art": art, "dyn": dyn, "hairpin": hairpin}
    found |= {"low": low and low.nameWithOctave, "high": high and high.nameWithOctave}
    found["measures"] = len(part.getElementsByClass(stream.Measure))
    return cells.recorded(found)


def _event(element: note.NotRest, counts: Counter) -> None:
    counts["events"] += 1
    counts["chords"] += isinstance(element, chord.Chord)
    counts["grace"] += element.duration.isGrace
    counts["ties"] += element.tie is not None and element.tie.type in ("start", "continue")
    signature = element.getContextByClass(key.KeySignature)
    for pitch in [] if isinstance(element, note.Unpitched) else element.pitches:
        alter = pitch.accidental.alter if pitch.accidental else 0
        given = signature.accidentalByStep(pitch.step) if signature else None
        counts["heads"] += 1
        counts["shown_acc"] += bool(pitch.accidental and pitch.accidental.displayStatus)
        counts["double_acc"] += abs(alter) >= 2
        counts["altered"] += alter != (given.alter if given else 0)


def main() -> int:
    warnings.simplefilter("ignore")
    total = wrong = moved = 0
    unit, parts = None, []
    for row in scores.library_answers():
        if row["unit"] != unit:
            unit = row["unit"]
            parts = list(converter.parse(scores.score_path(unit), forceSource=True).parts)
        for name, now, then in cells.side_by_side(recount(parts[row["part"]]), cells.recorded(row)):
            total += 1
            if now != then:
                moved += name == MOVED
                wrong += name != MOVED
                print(f"  CHANGED {unit} part {row['part']} {name}: now {now}, recorded {then}")
    print(f"{total - wrong - moved} of {total} cells as recorded; {moved} bar numbers of metres moved back, {wrong} changed")
    return 1 if wrong or moved > 4 else 0


if __name__ == "__main__":
    sys.exit(main())
