"""Is a part taken out of a score the same music for its player?

Scores of the corpus with several parts: all that transpose, hold cues or rests of several bars, and each 25th other. Every part of
each is written by `convert --part` and checked:

1. music21 reads the same sounding notes, bar by bar, from the file as from the score's part; the same notes are cues.
2. Our survey says the same of it alone as in its score: range, metre, rhythm, accidentals, clefs, articulation,
   ornaments, play order. (Key and tempo may lean on the other parts, and so may the notes that an ornament is filled with.)
3. In the file's own XML every rest of several bars covers bars without notes, no bar inside it brings anything new, and no two
   plain bars of rest stand side by side without one.

Source: music21 10.5.1 (toSoundingPitch); MusicXML 4.0, multiple-rest.
"""

import sys
import warnings
from xml.etree import ElementTree

from music21 import chord, converter, harmony, note

import foreread
import scores
import witness_xml

EVERY = 40
# Sources give triplets in thousandths of a quarter note: 0.332 for a third (quarter notes).
ROUNDED = 0.01
TELLING = ("transpose", "cue", "multiple-rest")
SAME = ("range", "metre", "rhythm", "accidentals", "clefs", "articulation", "ornaments")
LEFT = ("element", "id", "elements", "notes", "alternatives", "why", "says", "execution", "text")
NEWS = ("direction", "barline", "sound", "harmony", "figured-bass")


def sampled() -> list[str]:
    """The units to check."""
    telling, others = [], []
    for unit in scores.corpus_musicxml() + ["../musicxml/lilypondTestSuite/72a-TransposingInstruments.xml",
                                            "../musicxml/lilypondTestSuite/72b-TransposingInstruments-Full.xml"]:
        tree = scores.tree(scores.score_path(unit))
        if len(witness_xml.parts(tree)) < 2:
            continue
        marked = any(next(tree.iter(tag), None) is not None for tag in TELLING) or any(
            kind.get("size") == "cue" for kind in tree.iter("type"))
        (telling if marked else others).append(unit)
    return telling + others[::EVERY]


def sounding(part) -> dict[int, list]:
    """The notes of each bar as they sound: offset, length, keys."""
    bars = {}
    for index, measure in enumerate(part.toSoundingPitch().getElementsByClass("Measure")):
        notes = []
        for event in measure.recurse().notes:
            if not isinstance(event, (note.Note, chord.Chord)) or isinstance(event, harmony.Harmony):
                continue
            offset = event.getOffsetInHierarchy(measure)
            notes.append((round(float(offset), 4), round(float(event.duration.quarterLength), 4), tuple(sorted(p.ps for p in event.pitches)),
                          event.duration.isGrace))
        bars[index] = sorted(notes)
    return bars


def alike(one: list | None, other: list | None) -> bool:
    """The same notes; a source may round its tuplets, which we write exactly."""
    if one is None or other is None or len(one) != len(other):
        return False
    return all(a[2:] == b[2:] and abs(a[0] - b[0]) < ROUNDED and abs(a[1] - b[1]) < ROUNDED for a, b in zip(one, other))


def without_names(value):
    """An answer without what names elements."""
    if isinstance(value, dict):
        return {key: without_names(v) for key, v in value.items() if key not in LEFT}
    if isinstance(value, list):
        return [without_names(v) for v in value]
    return value


def bars_of_rest(root: ElementTree.Element) -> list[str]:
    """What is wrong with the rests of several bars; empty if nothing."""
    wrong, left, previous = [], 0, False
    ended = True
    for measure in root.find("part").findall("measure"):
        starts = [int(rest.text) for rest in measure.iter("multiple-rest")]
        notes = [n for n in measure.findall("note") if n.find("rest") is None]
        # What a player has to see: marks, a change of clef, key, metre; a bar line other than a plain one.
        news = [child.tag for child in measure if child.tag in NEWS]
        news += [child.tag for attributes in measure.findall("attributes") for child in attributes
                 if child.tag in ("key", "time", "clef", "transpose")]
        rests = [n for n in measure.findall("note") if n.find("rest") is not None]
        plain = not notes and bool(rests) and not news and not any(n.find("notations") is not None for n in rests)
        if starts:
            if left:
                wrong.append(f"bar {measure.get('number')}: a rest of several bars in another")
            left = starts[0]
            first = True
        else:
            first = False
        if left:
            if notes:
                wrong.append(f"bar {measure.get('number')}: notes in a rest of several bars")
            inner = [tag for tag in news if tag != "barline"] if left > 1 else []
            if inner and not first:
                wrong.append(f"bar {measure.get('number')}: {inner} in a rest of several bars")
            left -= 1
            ended = left == 0
            previous = False
        else:
            if plain and previous:
                wrong.append(f"bar {measure.get('number')}: a second plain bar of rest that is not drawn together with the first")
            previous = plain
    if not ended:
        wrong.append("a rest of several bars runs over the end")
    return wrong


def check(unit: str) -> tuple[int, int, list[str]]:
    """Parts checked, rests of several bars in them, and what is wrong."""
    path = scores.score_path(unit)
    library = list(converter.parse(str(path), forceSource=True).parts)
    count, wrong, groups = len(witness_xml.parts(scores.tree(path))), [], 0
    by_part = library if len(library) == count else None
    for part in range(1, count + 1):
        alone = foreread.scratch("part.musicxml")
        done = foreread.run(["convert", str(path), str(alone), "--part", str(part)])
        if done.status != 0:
            wrong.append(f"{unit} part {part}: {done.err.strip()[:160]}")
            continue
        root = ElementTree.parse(alone).getroot()
        groups += len(list(root.iter("multiple-rest")))
        wrong += [f"{unit} part {part}: {what}" for what in bars_of_rest(root)]
        # A cue that is tied is written as a note of cue size, which the reader takes for a cue: the standard's cue has no tie.
        cues = [sum(n.find("cue") is not None or n.find("grace") is None and n.find("type[@size='cue']") is not None for n in tree.iter("note"))
                for tree in (root, witness_xml.parts(scores.tree(path))[part - 1])]
        if cues[0] != cues[1]:
            wrong.append(f"{unit} part {part}: {cues[1]} cue notes in the score, {cues[0]} alone")
        if by_part:
            mine, theirs = sounding(converter.parse(str(alone), forceSource=True).parts[0]), sounding(by_part[part - 1])
            odd = [bar for bar in sorted(set(mine) | set(theirs)) if not alike(mine.get(bar), theirs.get(bar))]
            if odd:
                wrong.append(f"{unit} part {part}: the library hears bar {odd[0]} otherwise ({len(odd)} bars): "
                             f"{theirs.get(odd[0])} in the score, {mine.get(odd[0])} alone")
        here, there = foreread.survey(alone, 1), foreread.survey(path, part)
        differ = [name for name in SAME if without_names(here.get(name)) != without_names(there.get(name))]
        if (here.get("road_map") or {}).get("play_order_indices") != (there.get("road_map") or {}).get("play_order_indices"):
            differ.append("play order")
        if differ:
            wrong.append(f"{unit} part {part}: the survey differs in {', '.join(differ)}")
    return count, groups, wrong


def main() -> int:
    warnings.filterwarnings("ignore")
    units, parts, groups, wrong = sampled(), 0, 0, []
    for unit in units:
        count, rests, faults = check(unit)
        parts, groups, wrong = parts + count, groups + rests, wrong + faults
    print("\n".join(f"  {fault}" for fault in wrong))
    print(f"{parts} parts of {len(units)} scores taken out, {groups} rests of several bars; {len(wrong)} faults")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
