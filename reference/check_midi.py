"""Does MIDI come in and go out as music21 hears it?

1. Reading: every MIDI file that music21 carries (and those of FOREREAD_MIDI, a folder, if set) is read without a crash.
   The same keys start, and none is further from where music21's MIDI reader hears it than the largest error that
   our finding admits. Notes of no length and percussion are left out.
2. Writing: music21 hears in the file that we write of each demo piece the notes of its own reading of the MusicXML: same
   keys, onsets and lengths, grace notes aside. Chords, ties and transposition are music21's own business on both sides.

Source: music21 10.5.1, midi.MidiFile with midi.translate.getNotesFromEvents; converter.parse.
"""

import os
import re
import subprocess
import sys
from collections import Counter
from fractions import Fraction
from pathlib import Path

import foreread
import scores

ROOT = Path(__file__).resolve().parent.parent


def tool() -> str:
    """The example program `midi` of the formats crate, built here."""
    subprocess.run(["cargo", "build", "--quiet", "--release", "-p", "foreread-formats", "--example", "midi"],
                   cwd=ROOT, check=True)
    target = os.environ.get("CARGO_TARGET_DIR") or ROOT / "target"
    return str(Path(target) / "release" / "examples" / "midi")


def ours(program: str, command: str, path: Path) -> tuple[list[tuple[Fraction, int, Fraction]], str, str]:
    """Our notes (onset, key, length), what was said of quantising, and the error if there is one."""
    done = foreread.run([command, str(path)], program=program)
    if done.panicked or done.timed_out:
        return [], "", f"crashed: {done.err[:200]}"
    notes, said, error = [], "", ""
    for line in done.out.splitlines():
        if line.startswith("said "):
            said = line
        elif line.startswith("error "):
            error = line
        elif not line.startswith("file "):
            _part, key, onset, length, _name = line.split(" ")
            notes.append((Fraction(onset), int(key), Fraction(length)))
    return notes, said, error


def heard(path: Path) -> list[tuple[Fraction, int, Fraction]]:
    """The notes that music21's MIDI reader hears (pairs of events), percussion and notes of no length left out."""
    from music21 import midi
    from music21.midi import translate

    file = midi.MidiFile()
    file.open(str(path))
    file.read()
    file.close()
    notes = []
    for track in file.tracks:
        # A key pressed twice at one tick is one note, and lasts as long as the longer.
        struck: dict[tuple[int, int, int], int] = {}
        for on, off, event in translate.getNotesFromEvents(translate.getTimeForEvents(track)):
            if event.channel != 10 and off > on:
                key = (on, event.channel, event.pitch)
                struck[key] = max(off, struck.get(key, 0))
        for (on, _channel, pitch), off in struck.items():
            notes.append((Fraction(on, file.ticksPerQuarterNote), pitch, Fraction(off - on, file.ticksPerQuarterNote)))
    return notes


def printed(path: Path) -> list[tuple[Fraction, int, Fraction]]:
    """music21's notes of a score at sounding pitch, ties joined."""
    import warnings

    from music21 import converter

    warnings.simplefilter("ignore")
    score = converter.parse(path, forceSource=True)
    notes = []
    for part in score.parts:
        flat = part.toSoundingPitch().stripTies().flatten()
        for element in flat.notes:
            if element.duration.isGrace or "Percussion" in type(element).__name__ or "Unpitched" in type(element).__name__:
                continue
            for pitch in element.pitches:
                onset = Fraction(element.offset).limit_denominator(100_000)
                length = Fraction(element.quarterLength).limit_denominator(100_000)
                notes.append((onset, int(pitch.ps), length))
    return notes


def largest(said: str, path: Path) -> Fraction:
    """The largest error that our finding admits, in quarter notes."""
    found = re.search(r"at most by (\d+) ticks", said)
    division = int.from_bytes(path.read_bytes()[12:14])
    return Fraction(int(found.group(1)) + 1 if found else 1, division)


def compare_onsets(mine: list, other: list, allowed: Fraction) -> str:
    """What differs between the starts of keys, each key by itself in order; empty if nothing."""
    by_key: dict[int, tuple[list, list]] = {}
    for side, notes in enumerate((mine, other)):
        for onset, key, _length in notes:
            by_key.setdefault(key, ([], []))[side].append(onset)
    for key, (a, b) in sorted(by_key.items()):
        if len(a) != len(b):
            return f"key {key} starts {len(a)} times, {len(b)} by the library"
        for x, y in zip(sorted(a), sorted(b)):
            if abs(x - y) > allowed:
                return f"key {key} starts at {float(x):.4f}, {float(y):.4f} by the library (at most {float(allowed):.4f})"
    return ""


def read_files(program: str) -> bool:
    folders = [scores.package_folder() / "midi" / "testPrimitive"]
    if extra := os.environ.get("FOREREAD_MIDI"):
        folders.append(Path(extra))
    files = sorted(path for folder in folders for path in folder.rglob("*.mid"))
    same, wrong, refused = 0, [], []
    for path in files:
        mine, said, error = ours(program, "notes", path)
        if error:
            (wrong if "crashed" in error else refused).append((path.name, error))
            continue
        try:
            other = heard(path)
        except Exception as problem:  # the library can't read it: nothing to compare
            refused.append((path.name, f"the library: {type(problem).__name__}"))
            continue
        difference = compare_onsets(mine, other, largest(said, path))
        if difference:
            wrong.append((path.name, difference))
        else:
            same += 1
    for name, why in refused:
        print(f"  not compared {name}: {why}")
    for name, why in wrong:
        print(f"  WRONG {name}: {why}")
    print(f"{same} of {len(files)} MIDI files: the same keys start where the library hears them, within the error we admit")
    # What the library can't read is no witness; but it reads its own files.
    return not wrong and same >= 21


def written_files(program: str) -> bool:
    # The library doesn't read bar-by-bar MusicXML.
    pieces = sorted(p for p in (ROOT / "demo" / "pieces").glob("*.musicxml") if "timewise" not in p.name)
    same, wrong = 0, []
    for path in pieces:
        out = foreread.scratch(f"{path.stem}.mid")
        foreread.run(["write", str(path), str(out)], program=program)
        graces = "<grace" in path.read_text(encoding="utf-8")
        sounds, expected = Counter(heard(out)), Counter(printed(path))
        if graces:
            # A main note gives up some of its time: only notes without graces near them are compared.
            common = sum((sounds & expected).values())
            good = common >= 0.9 * sum(expected.values())
            difference = f"{common} of {sum(expected.values())} notes the same"
        else:
            # A key is down once, though two voices write it.
            good = set(sounds) == set(expected)
            difference = f"missing {list((expected - sounds).items())[:3]}, more {list((sounds - expected).items())[:3]}"
        if good:
            same += 1
        else:
            wrong.append((path.name, difference))
    for name, why in wrong:
        print(f"  WRONG {name}: {why}")
    print(f"{same} of {len(pieces)} demo pieces: the library hears the same notes in our MIDI file as in the MusicXML")
    return not wrong


def main() -> int:
    program = tool()
    good = read_files(program)
    return 0 if written_files(program) and good else 1


if __name__ == "__main__":
    sys.exit(main())
