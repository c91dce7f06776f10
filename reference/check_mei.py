"""Does the MEI reader find the notes that other readers find?

1. The MEI files that music21 carries are read without a crash and hold the notes (staff, bar, offset, pitch, length)
   that music21's own MEI reader finds, but for the differences listed below.
2. With FOREREAD_MEI set to a folder of MEI files that a converter made from scores of music21's corpus (named by their
   path in the corpus, `/` as `__`, with `.mei` after it), each holds the notes of our reading of the MusicXML original.
   Made so with converter21 4.0.1: 159 scores, of which 157 the same; the other two the converter had changed (a nested
   tuplet whose normal notes have another value, a rest put into a bar).

Source: music21 10.5.1, music21.mei.
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

import foreread

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


def converted(program: str, folder: Path) -> list[str]:
    wrong, same = [], 0
    for path in sorted(folder.glob("*.mei")):
        original = LIBRARY / "corpus" / path.name.removesuffix(".mei").replace("__", "/")
        mine, other = ours(program, path), ours(program, original)
        if mine == other:
            same += 1
        else:
            wrong.append(f"{path.name}: not the notes of its original")
    print(f"{same} converted scores hold the notes of their originals")
    return wrong


def main() -> int:
    warnings.filterwarnings("ignore")
    program = os.environ.get("PAGES") or tool()
    wrong = library_files(program)
    if folder := os.environ.get("FOREREAD_MEI"):
        wrong += converted(program, Path(folder))
    print("\n".join(wrong) or "all as expected")
    return bool(wrong)


if __name__ == "__main__":
    sys.exit(main())
