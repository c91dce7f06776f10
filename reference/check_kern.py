"""Are the notes of kern files those that another library reads?

Every note of the kern files that music21 carries: part by part its spelled pitch, onset
and duration, against music21's own reading. Each 25th file is compared; `--every 1` compares all (a quarter
of an hour, most of it the library's).
Also surveys every kern score in the source archive of kernpy 1.9.3: none may fail but those without notes.

Source: music21 10.5.1, converter.parse.
DIFFERENCE: two staves of one keyboard are one part here; the files with such parts are
compared with all their notes together.
"""

import json
import os
import subprocess
import sys
from collections import defaultdict
from fractions import Fraction
from pathlib import Path

import music21

import foreread
import scores

CORPUS = Path(music21.__file__).parent


def built() -> str:
    """The example program `notes` of the crate `formats`, built now."""
    command = ["cargo", "build", "--quiet", "--release", "--message-format=json", "-p", "foreread-formats", "--example", "notes"]
    done = subprocess.run(command, capture_output=True, text=True, check=True, cwd=Path(__file__).resolve().parent.parent)
    artefacts = [json.loads(line) for line in done.stdout.splitlines()]
    return next(a["executable"] for a in reversed(artefacts) if a.get("executable") and a["target"]["name"] == "notes")


def ours(binary: str, files: list[str]) -> dict:
    """Notes by file and part, from the example program `notes`."""
    found: dict = defaultdict(lambda: defaultdict(list))
    out = subprocess.run([binary, *files], capture_output=True, text=True, check=True).stdout
    for line in out.splitlines():
        file, part, onset, length, pitch, grace, *_ = [*line.split("\t"), "", "", "", "", ""]
        if part != "FAILED" and pitch != "rest":
            found[file][int(part)].append((Fraction(onset), Fraction(length), pitch, bool(grace)))
    return found


def theirs(file: str) -> list[list]:
    """Notes by part, from music21."""
    score = music21.converter.parse(file, forceSource=True)
    exact = lambda number: Fraction(number).limit_denominator(10_000)
    parts = []
    for part in score.parts if score.hasPartLikeStreams() else [score]:
        parts.append([(exact(note.getOffsetInHierarchy(part)), exact(note.duration.quarterLength),
                       pitch.nameWithOctave.replace("-", "b"), note.duration.isGrace)
                      for note in part.recurse().notes for pitch in note.pitches])
    return parts


def main() -> int:
    binary = os.environ.get("NOTES") or built()
    every = int(sys.argv[sys.argv.index("--every") + 1]) if "--every" in sys.argv else 25
    files = [str(file) for file in sorted(CORPUS.rglob("*.krn"))][::every]
    read, differ, notes = ours(binary, files), [], 0
    for file in files:
        here = [sorted(read[file][part]) for part in sorted(read[file])]
        there = [sorted(part) for part in theirs(file)]
        notes += sum(map(len, there))
        if len(here) < len(there):
            here, there = [sorted(sum(here, []))], [sorted(sum(there, []))]
        if here != there:
            differ.append(file)
    print(f"{len(files)} files, {notes} notes, {len(differ)} files differ")
    for file in differ:
        print("  ", Path(file).relative_to(CORPUS))
    return 1 if differ or samples_fail() else 0


def samples_fail() -> bool:
    """Do the kern scores of another package's own tests read, or say in one line why they can't?"""
    read, refused, bad = 0, 0, []
    for file in sorted(scores.kern_samples().parent.rglob("*.krn")):
        done = foreread.survey_run(file)
        if done.status == 0:
            read += 1
        elif done.status == 3 and not done.panicked and done.err.strip():
            refused += 1
        else:
            bad.append(f"{file.name}: exit status {done.status}, {done.err.strip()[:200]}")
    for line in bad:
        print("  FAILED", line)
    print(f"kernpy's samples: {read} read, {refused} refused with a reason, {len(bad)} failed")
    return bool(bad)


if __name__ == "__main__":
    sys.exit(main())
