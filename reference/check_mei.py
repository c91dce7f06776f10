"""Does the MEI reader find the notes that other readers find?

1. The MEI files that music21 carries are read without a crash and hold the notes (staff, bar, offset, pitch, length)
   that music21's own MEI reader finds, but for the differences listed below.
2. The scores that another program wrote as MEI (converted_mei.py) hold the notes of our reading of their MusicXML
   originals, but for those that the converter changed, listed below.
3. The example that partitura carries in four standards is the same music in all four to us.
4. With FOREREAD_MEI set to a folder of more such files (named by their path in the corpus, `/` as `__`, with `.mei`
   after it), those too. Made so with converter21 4.0.1: 159 scores, of which 157 the same; the other two the converter
   had changed (a nested tuplet whose normal notes have another value, a rest put into a bar).

Source: music21 10.5.1, music21.mei; converter21 4.0.1; partitura 1.9.0 (its source archive was searched: these four are
all the music it holds).
"""

import os
import subprocess
import sys
import warnings
from collections import Counter
from fractions import Fraction
from pathlib import Path

import music21
from music21 import chord, converter

import converted_mei
import foreread
import scores

ROOT = Path(__file__).resolve().parent.parent
LIBRARY = Path(music21.__file__).parent

# DIFFERENCE: file: notes only in our reading, notes only in the library's, and why.
DIFFERENT: dict[str, tuple[int, int, str]] = {}


def tool() -> str:
    """The example program `pages` of the formats crate, built here."""
    subprocess.run(["cargo", "build", "--quiet", "--release", "-p", "foreread-formats", "--example", "pages"],
                   cwd=ROOT, check=True)
    target = os.environ.get("CARGO_TARGET_DIR") or ROOT / "target"
    return str(Path(target) / "release" / "examples" / "pages")


def ours(program: str, path: Path) -> Counter | str:
    """Our notes, or what went wrong."""
    done = foreread.run([str(path)], program=program)
    if done.panicked or done.timed_out or done.out.startswith("ERROR"):
        return f"{done.out[:200]} {done.err[:200]}"
    notes = Counter()
    for line in done.out.splitlines():
        part, bar, offset, length, pitch, _ = line.split("\t")
        if pitch != "x":
            notes[int(part), int(bar), Fraction(offset), pitch, Fraction(length)] += 1
    return notes


def theirs(path: Path) -> Counter:
    """The library's notes of an MEI file."""
    notes = Counter()
    for part, staff in enumerate(converter.parse(path, format="mei").parts):
        for bar, measure in enumerate(staff.getElementsByClass("Measure")):
            for event in measure.recurse().notes:
                offset = Fraction(event.getOffsetInHierarchy(measure)).limit_denominator(10_000)
                length = Fraction(event.duration.quarterLength).limit_denominator(10_000)
                for one in event.notes if isinstance(event, chord.Chord) else [event]:
                    alter = one.pitch.alter
                    sign = "#" * int(alter) if alter > 0 else "b" * int(-alter)
                    notes[part, bar, offset, f"{one.pitch.step}{sign}{one.pitch.octave}", length] += 1
    return notes


def library_files(program: str) -> list[str]:
    wrong = []
    for path in sorted((LIBRARY / "mei" / "test").glob("*.mei")):
        mine = ours(program, path)
        if isinstance(mine, str):
            wrong.append(f"{path.name}: {mine}")
            continue
        other = theirs(path)
        found = (sum((mine - other).values()), sum((other - mine).values()))
        expected = DIFFERENT.get(path.name, (0, 0, ""))[:2]
        print(f"{path.name}: {sum(mine.values())} notes, {found[0]} only ours, {found[1]} only theirs")
        if found != expected:
            wrong.append(f"{path.name}: {found} notes differ, {expected} are explained")
            wrong.extend(f"  ours   {note}" for note in sorted((mine - other).elements())[:5])
            wrong.extend(f"  theirs {note}" for note in sorted((other - mine).elements())[:5])
    return wrong


# Scores that the converter changed on its way (it says so as it writes), and what it changed.
CHANGED: dict[str, str] = {
    "musicxml__lilypondTestSuite__31a-Directions.xml.mei": "an octave line without an end, over notes already an octave too high",
    "haydn__opus1no1__movement2.mxl.mei": "a rest of the viola put before the note of its bar 53",
    "haydn__opus1no1__movement5.mxl.mei": "a tuplet in a tuplet in bar 26, whose normal notes have another value",
    "beethoven__opus59no2__movement1.mxl.mei": "five unprinted notes of a written-out trill in bar 30, left without a length",
}


def converted(program: str, pairs: list[tuple[Path, Path]]) -> list[str]:
    wrong, same = [], 0
    for path, original in pairs:
        mine, other = ours(program, path), ours(program, original)
        if mine == other:
            same += 1
        elif (why := CHANGED.get(path.name)) is None:
            wrong.append(f"{path.name}: not the notes of its original")
            if isinstance(mine, Counter) and isinstance(other, Counter):
                wrong.extend(f"  MEI only      {note}" for note in sorted((mine - other).elements())[:3])
                wrong.extend(f"  original only {note}" for note in sorted((other - mine).elements())[:3])
        else:
            print(f"  {path.name}: {why}")
    print(f"{same} of {len(pairs)} converted scores hold the notes of their originals")
    return wrong


def four_standards(program: str) -> list[str]:
    """partitura's example as MusicXML, MEI, kern and MIDI."""
    import partitura

    example = Path(partitura.__file__).parent / "assets" / "score_example.musicxml"
    # Two voices of one part in MusicXML and MEI are two spines in kern and two tracks in MIDI: the part's number is left out.
    read = {ending: ours(program, example.with_suffix("." + ending)) for ending in ("musicxml", "mei", "krn", "mid")}
    notes = {
        ending: Counter(key[1:] for key in found.elements()) if isinstance(found, Counter) else found
        for ending, found in read.items()
    }
    wrong = [f"score_example.{e}: {found}, not the notes of score_example.musicxml" for e, found in notes.items() if found != notes["musicxml"]]
    print(f"partitura's example: {len(list(read['musicxml'].elements()))} notes, {4 - len(wrong)} of 4 standards agree")
    return wrong


def main() -> int:
    warnings.filterwarnings("ignore")
    program = os.environ.get("PAGES") or tool()
    wrong = library_files(program) + four_standards(program)
    rows = scores.table("play-order.csv")
    wrong += converted(program, [(converted_mei.converted(row["unit"]), scores.score_path(row["unit"])) for row in rows])
    if folder := os.environ.get("FOREREAD_MEI"):
        more = sorted(Path(folder).glob("*.mei"))
        wrong += converted(program, [(path, LIBRARY / "corpus" / path.name.removesuffix(".mei").replace("__", "/")) for path in more])
    print("\n".join(wrong) or "all as expected")
    return bool(wrong)


if __name__ == "__main__":
    sys.exit(main())
