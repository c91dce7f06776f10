"""The tunes of music21's corpus as plain notes, for asking whether a new piece is a copy of one.

The tunebooks in ABC (essenFolksong, oneills1850, ryansMammoth, airdsAirs, miscFolk …: some 12,900 tunes) and the top parts of
scores (Bach chorales, Haydn, Mozart …). music21's own ABC reader takes hours over the large books, so they are read through
`foreread convert`, which `check_abc.py` holds to music21 tune by tune. Read once and kept beside the reference environment.
"""

import json
import os
import re
import subprocess
import sys
import tempfile
from concurrent.futures import ThreadPoolExecutor
from fractions import Fraction
from pathlib import Path
from xml.etree import ElementTree

import foreread
import music21
from music21 import corpus

KEPT = (
    Path(os.environ.get("XDG_CACHE_HOME", Path.home() / ".cache"))
    / "foreread"
    / f"reading-corpus-music21-{music21.__version__}.jsonl"
)
ROOT = Path(corpus.__file__).parent
COMPOSERS = ["bach", "haydn", "mozart", "beethoven", "handel", "schubert", "corelli", "trecento", "palestrina"]
#: Scores of a composer.
SCORES = 60
STEPS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}


def line_of(musicxml: str) -> list[list]:
    """Pitch (MIDI) and length in quarter notes of the first part's notes, ties joined, the first voice, chord tops left out."""
    root = ElementTree.fromstring(musicxml)
    part = root.find("part")
    line: list[list] = []
    divisions = 1
    for measure in part.findall("measure") if part is not None else []:
        for item in measure:
            if item.tag == "attributes" and item.findtext("divisions"):
                divisions = int(item.findtext("divisions"))
            if item.tag != "note" or item.find("chord") is not None or item.find("grace") is not None:
                continue
            if item.findtext("voice", "1") != "1" or item.find("pitch") is None:
                continue
            pitch = item.find("pitch")
            number = (
                12 * (int(pitch.findtext("octave")) + 1)
                + STEPS[pitch.findtext("step")]
                + round(float(pitch.findtext("alter", "0")))
            )
            length = Fraction(int(item.findtext("duration", "0")), divisions)
            tied = any(tie.get("type") == "stop" for tie in item.findall("tie"))
            if tied and line and line[-1][0] == number:
                line[-1][1] += length
            else:
                line.append([number, length])
    return [[pitch, str(length)] for pitch, length in line]


def one(job: tuple[str, Path, str | None, str]) -> tuple[str, list] | None:
    """One tune or score's top part; None if it can't be read."""
    name, path, tune, folder = job
    out = Path(folder) / (re.sub(r"\W+", "_", name) + ".musicxml")
    command = [foreread.binary(), "convert", str(path), str(out), "--part", "1"]
    if tune is not None:
        command += ["--tune", tune]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    if done.returncode != 0:
        return None
    line = line_of(out.read_text())
    out.unlink()
    return (name, line) if len(line) >= 8 else None


def build() -> None:
    KEPT.parent.mkdir(parents=True, exist_ok=True)
    jobs = []
    with tempfile.TemporaryDirectory(prefix="foreread-corpus-") as folder:
        for path in sorted(ROOT.rglob("*.abc")):
            text = path.read_text(encoding="utf-8", errors="replace")
            numbers = re.findall(r"^X:\s*(\S+)", text, re.MULTILINE)
            for number in numbers:
                jobs.append((f"{path.parent.name}/{path.name}#{number}", path, number, folder))
        for composer in COMPOSERS:
            files = [p for p in corpus.getComposer(composer) if p.suffix in (".mxl", ".xml", ".musicxml", ".krn")]
            jobs += [(f"{composer}/{p.name}", p, None, folder) for p in sorted(files)[:SCORES]]
        part_file = KEPT.with_suffix(".part")
        read = 0
        with part_file.open("w") as out, ThreadPoolExecutor(os.cpu_count()) as pool:
            for found in pool.map(one, jobs):
                if found:
                    out.write(json.dumps(found) + "\n")
                    read += 1
        part_file.rename(KEPT)
    print(f"corpus for copies: {read} of {len(jobs)} tunes read", file=sys.stderr)


def tunes() -> list[tuple[str, list[tuple[int, Fraction]]]]:
    """Every tune: where it stands, its notes."""
    if not KEPT.exists():
        build()
    found = []
    with KEPT.open() as lines:
        for text in lines:
            name, line = json.loads(text)
            found.append((name, [(pitch, Fraction(length)) for pitch, length in line]))
    return found


if __name__ == "__main__":
    print(len(tunes()))
