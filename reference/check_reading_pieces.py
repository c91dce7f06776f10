"""Are the reading pieces what their level's table says, read independently? And is none a copy of a known tune?

For every level of every published table, for each instrument that its levels name (one of each family or list), the program
makes a piece for each of N seeds (1,000; `--seeds=N` for fewer). Their MusicXML is read here from its bare XML, and every twentieth
(`EVERY=1`: each) by music21 too, which must find the same notes; neither knows anything of ours:

- range, span, key signature at concert pitch (music21's own transposition of the instrument), mode, time signature, full bars,
  changes of key and metre, note values, dots, triplets, syncopation, metronome mark, bars, leaps, accidentals, dynamics, slurs and
  marks against the table's row as `foreread reading --list --as json` gives it, whose values are those of the published page;
- what makes it a melody: the last note is the tonic and is approached by step, no tritone or seventh, no augmented second, the
  highest note comes once, beams stay in their beats;
- the same seed gives the same bytes;
- mean load rises strictly from level to level in each table.

Copies: the longest run of notes that a piece shares with a tune of music21's corpus (some 12,900 tunes, `reading_corpus.py`), as
intervals with rhythm (lengths in proportion) and as intervals alone, is measured and printed. The limits held (`RHYTHM_LIMIT`,
`INTERVAL_LIMIT`) are explained there.

Source: the tables' pages as named in `crates/load/src/levels/tables.rs`; music21 for reading.
"""

import json
import os
import random
import subprocess
import sys
import time
from array import array
from bisect import bisect_left
from collections import Counter
from dataclasses import dataclass
from functools import cache
from concurrent.futures import ProcessPoolExecutor
from fractions import Fraction
from multiprocessing import get_context
from xml.etree import ElementTree

import foreread
import reading_corpus
from music21 import converter, instrument, pitch

#: A tune's first phrase has some eight to ten notes. Scales and turns of up to that length in even notes are everybody's; what
#: makes a tune known is contour and rhythm together over more than a phrase. A piece that shares more than a phrase and a half
#: with one tune, rhythm included, would be recognised: it counts as a copy.
RHYTHM_LIMIT = 16
#: Intervals alone, whatever the rhythm, are shared by chance far longer: between tunes of different books of the corpus itself too.
INTERVAL_LIMIT = 24

#: Every so-manyth page is read by music21 too (thirty times slower): it must find what the bare XML says, and no violation.
EVERY = int(os.environ.get("EVERY", "20"))

FAMILIES = {"string": "violin", "reed": "clarinet-bb", "brass": "trumpet-bb"}
#: music21's instrument for ours: its transposition is not taken from our table.
ORACLE = {
    "flute": instrument.Flute,
    "piccolo": instrument.Piccolo,
    "clarinet-bb": instrument.Clarinet,
    "trumpet-bb": instrument.Trumpet,
    "violin": instrument.Violin,
    "bassoon": instrument.Bassoon,
    "soprano-sax": instrument.SopranoSaxophone,
    "alto-sax": instrument.AltoSaxophone,
    "horn": instrument.Horn,
    "tuba": instrument.Tuba,
}
SHARPS = "FCGDAEB"
MAJOR_TONIC = {n: p for n, p in zip(range(-7, 8), "Cb Gb Db Ab Eb Bb F C G D A E B F# C#".split())}
MINOR_TONIC = {n: p for n, p in zip(range(-7, 8), "Ab Eb Bb F C G D A E B F# C# G# D# A#".split())}


def tables() -> list[dict]:
    """The program's list of tables."""
    done = subprocess.run([foreread.binary(), "reading", "--list", "--as", "json"], capture_output=True, text=True, check=True)
    return json.loads(done.stdout)["tables"]


def rows() -> list[tuple[dict, str, list[dict]]]:
    """Each table with an instrument and the levels for it, in order."""
    found = []
    for table in tables():
        instruments: list[str] = []
        for level in table["levels"]:
            names = level["instruments"]
            if not names:
                chosen = ["flute"]
            elif any(name in FAMILIES for name in names):
                chosen = [FAMILIES[name] for name in names if name in FAMILIES]
            else:
                chosen = [name for name in names if name in ORACLE][:1]
            instruments += [name for name in chosen if name not in instruments]
        for name in instruments:
            levels = [level for level in table["levels"] if is_for(level, name)]
            found.append((table, name, levels))
    return found


def is_for(level: dict, name: str) -> bool:
    """Is the level for the instrument? By name, or by family where families are listed."""
    names = level["instruments"]
    families = [family for family in FAMILIES if family in names]
    of_family = {"violin": "string", "clarinet-bb": "reed", "trumpet-bb": "brass", "flute": "flute"}.get(name)
    return not names or name in names or (bool(families) and of_family in names)


def made(table: str, level: str, name: str, first: int, count: int) -> dict:
    """The program's answer for some seeds."""
    command = [foreread.binary(), "reading", "--level", f"{table}:{level}", "--for", name, "--seed", str(first)]
    command += ["--count", str(count), "--apart", "--as", "json"]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    if done.returncode != 0:
        raise SystemExit(f"{' '.join(command)}: {done.stderr}")
    return json.loads(done.stdout)


@dataclass(frozen=True)
class Note:
    """A note as printed."""

    step: str
    alter: int
    octave: int
    length: Fraction
    value: str  # quarter, eighth …
    dots: int
    tuplet: bool
    tied: bool
    measure: int  # from 0
    offset: Fraction

    @property
    def midi(self) -> int:
        return 12 * (self.octave + 1) + reading_corpus.STEPS[self.step] + self.alter

    @property
    def line(self) -> int:
        """Its place on the staff, whatever the signs."""
        return 7 * self.octave + "CDEFGAB".index(self.step)

    @property
    def name(self) -> str:
        return self.step + {-2: "bb", -1: "b", 0: "", 1: "#", 2: "##"}[self.alter]


@dataclass(frozen=True)
class Page:
    """What stands on a page, by whichever reader."""

    signatures: tuple[int, ...]
    metres: tuple[str, ...]
    lengths: tuple[Fraction, ...]
    notes: tuple[Note, ...]
    tempi: tuple[float, ...]
    dynamics: frozenset[str]
    articulation: frozenset[str]


def bare(musicxml: str) -> Page:
    """The page by its bare XML."""
    root = ElementTree.fromstring(musicxml)
    part = root.find("part")
    divisions = 1
    signatures, metres, lengths, notes, tempi = [], [], [], [], []
    dynamics, articulation = set(), set()
    for index, measure in enumerate(part.findall("measure")):
        at = Fraction(0)
        for item in measure:
            if item.tag == "attributes":
                divisions = int(item.findtext("divisions") or divisions)
                signatures += [int(key.findtext("fifths")) for key in item.findall("key")]
                metres += [f"{time.findtext('beats')}/{time.findtext('beat-type')}" for time in item.findall("time")]
            for mark in item.iter("dynamics") if item.tag == "direction" else []:
                dynamics |= {child.tag for child in mark}
            tempi += [float(mark.findtext("per-minute")) for mark in item.iter("metronome")] if item.tag == "direction" else []
            if item.tag != "note":
                continue
            length = Fraction(int(item.findtext("duration")), divisions)
            spelled = item.find("pitch")
            if spelled is not None:
                notes.append(
                    Note(
                        spelled.findtext("step"),
                        int(float(spelled.findtext("alter") or 0)),
                        int(spelled.findtext("octave")),
                        length,
                        item.findtext("type"),
                        len(item.findall("dot")),
                        item.find("time-modification") is not None,
                        item.find("tie") is not None,
                        index,
                        at,
                    )
                )
                for marks in item.iter("articulations"):
                    articulation |= {child.tag for child in marks} - {"breath-mark"}
                articulation |= {"slur" for _ in item.iter("slur")}
            at += length
        lengths.append(at)
    return Page(*map(tuple, (signatures, metres, lengths, notes, tempi)), frozenset(dynamics), frozenset(articulation))


def by_library(musicxml: str) -> Page:
    """The page by music21."""
    score = converter.parse(musicxml, format="musicxml")
    part = score.parts[0]
    exact = lambda number: Fraction(number).limit_denominator(48)  # noqa: E731
    lengths, notes = [], []
    articulation = set()
    for index, measure in enumerate(part.getElementsByClass("Measure")):
        lengths.append(sum((exact(e.quarterLength) for e in measure.notesAndRests), Fraction(0)))
        first = exact(measure.notesAndRests[0].offset) if len(measure.notesAndRests) else Fraction(0)
        for n in measure.notes:
            notes.append(
                Note(
                    n.pitch.step,
                    int(n.pitch.alter),
                    n.pitch.octave,
                    exact(n.quarterLength),
                    n.duration.type,
                    n.duration.dots,
                    bool(n.duration.tuplets),
                    n.tie is not None,
                    index,
                    exact(n.offset) - first,
                )
            )
            articulation |= {a.name.replace(" ", "-") for a in n.articulations} - {"breath-mark"}
    if list(part.recurse().getElementsByClass("Slur")):
        articulation.add("slur")
    flat = part.flatten()
    return Page(
        tuple(key.sharps for key in flat.getElementsByClass("KeySignature")),
        tuple(metre.ratioString for metre in flat.getElementsByClass("TimeSignature")),
        tuple(lengths),
        tuple(notes),
        tuple(float(mark.number) for mark in flat.getElementsByClass("MetronomeMark") if mark.number),
        frozenset(d.value for d in flat.getElementsByClass("Dynamic")),
        frozenset(articulation),
    )


def judge(page: Page, level: dict, name: str, player_range: list[str]) -> list[str]:
    """What is against the level in a page."""
    wrong: list[str] = []

    def hold(truth: bool, what: str) -> None:
        if not truth:
            wrong.append(what)

    notes = page.notes
    if not notes or not page.metres or not page.signatures:
        return ["no notes, metre or key"]
    keys, metres = len(page.signatures) - 1, len(page.metres) - 1
    allowed = level.get("changes") or [0, 0]
    hold(metres <= allowed[0] and keys <= allowed[1], f"{metres} changes of metre, {keys} of key")
    metre = page.metres[0]
    beats, kind = (int(number) for number in metre.split("/"))
    # Full bars; a pickup and the last bar together are one.
    full = Fraction(4 * beats, kind)
    pickup = page.lengths[0] < full
    middle = page.lengths[1:-1] if pickup else page.lengths[:-1]
    hold(all(length == full for length in middle), f"bars of {set(middle)} in {metre}")
    hold(page.lengths[-1] + (page.lengths[0] if pickup else 0) == full, "the last bar and the pickup")
    bars = len(page.lengths) - (1 if pickup else 0)
    if level["metres"]:
        hold(metre in level["metres"], f"metre {metre}")
    if level.get("bars"):
        hold(not pickup and level["bars"][0] <= bars <= level["bars"][1], f"{bars} bars")
    # Range.
    midi = [n.midi for n in notes]
    low, high = min(midi), max(midi)
    for ends in [player_range, level.get("range")]:
        if ends:
            numbers = [pitch.Pitch(end.replace("b", "-")).midi for end in ends]
            hold(numbers[0] <= low and high <= numbers[1], f"range {low}–{high} outside {ends}")
    if level.get("span") is not None:
        hold(high - low <= level["span"], f"span {high - low}")
    # Key: the last note is the tonic; which mode, it tells.
    sharps = page.signatures[0]
    tonic = notes[-1].name
    minor = tonic == MINOR_TONIC[sharps]
    hold(minor or tonic == MAJOR_TONIC[sharps], f"the last note {tonic} is no tonic of {sharps}")
    if level.get("signatures") is not None:
        concert = at_concert_pitch(sharps, name) if level["at_concert_pitch"] else sharps
        hold(concert in level["signatures"], f"signature {sharps} written, {concert} as it sounds")
    if level["modes"] == "major":
        hold(not minor, "minor")
    # Accidentals: raised sixth and seventh of minor, a raised fourth.
    altered = 0
    for n in notes:
        plain = (1 if n.step in SHARPS[: max(sharps, 0)] else 0) - (1 if n.step in SHARPS[::-1][: max(-sharps, 0)] else 0)
        if n.alter != plain:
            altered += 1
            at = ("CDEFGAB".index(n.step) - "CDEFGAB".index(tonic[0])) % 7
            hold(n.alter == plain + 1 and (at == 3 or (minor and at in (5, 6))), f"{n.name} in {tonic}")
    if level.get("accidentals") is False:
        hold(altered == 0, f"{altered} altered notes")
    # Rhythm.
    compound = kind == 8 and beats % 3 == 0
    plain_notes = [n for n in notes if not n.tuplet]
    rhythm = level.get("rhythms")
    if rhythm:
        shortest = min(PRINTED[n.value] for n in plain_notes)
        hold(1 / shortest <= rhythm["to_a_quarter"] or shortest >= 1, f"shortest {shortest}")
        hold(rhythm["triplets"] or len(plain_notes) == len(notes), "triplets")
        hold(rhythm["dotted_eighth"] or not any(n.dots and n.value in ("eighth", "16th") for n in notes), "dotted eighths")
        hold(rhythm["dotted_quarter"] or compound or not any(n.dots and n.value == "quarter" for n in notes), "dotted quarters")
        if not rhythm["syncopation"]:
            lead = full - page.lengths[0] if pickup else Fraction(0)
            crossing = [n for n in notes if syncopated(n, beats, kind, lead if n.measure == 0 else Fraction(0))]
            hold(not crossing, f"syncopation in bar {[n.measure for n in crossing]}")
    hold(not any(n.tied for n in notes), "ties")
    hold(len(page.tempi) == 1, f"{len(page.tempi)} metronome marks")
    if level.get("tempo") and page.tempi:
        hold(level["tempo"][0] <= page.tempi[0] <= level["tempo"][1], f"tempo {page.tempi[0]}")
    # Melody.
    steps = [(b.line - a.line, b.midi - a.midi) for a, b in zip(notes, notes[1:])]
    largest = max((abs(semitones) for _, semitones in steps), default=0)
    hold(largest <= (level.get("leap") or 12), f"leap of {largest}")
    hold(all(abs(s) not in (6, 10, 11) for _, s in steps), "a tritone or seventh")
    hold(all(not (abs(d) == 1 and abs(s) > 2) for d, s in steps), "an augmented second")
    hold(bool(steps) and abs(steps[-1][0]) == 1, "the tonic is not reached by step")
    hold(midi.count(high) == 1, "the high point comes more than once")
    # Marks.
    if level.get("dynamics") is not None:
        hold(page.dynamics <= set(level["dynamics"]), f"dynamics {set(page.dynamics)}")
    if level.get("articulation") is not None:
        hold(page.articulation <= set(level["articulation"]), f"articulation {set(page.articulation)}")
    return wrong


PRINTED = {"16th": Fraction(1, 4), "eighth": Fraction(1, 2), "quarter": Fraction(1), "half": Fraction(2), "whole": Fraction(4), "breve": Fraction(8)}


@cache
def at_concert_pitch(sharps: int, name: str) -> int:
    """The signature as it sounds: music21 knows the instrument's transposition."""
    transposition = ORACLE[name]().transposition
    if transposition is None:
        return sharps
    sounding = pitch.Pitch(MAJOR_TONIC[sharps].replace("b", "-")).transpose(transposition).name
    return next(number for number, tonic in MAJOR_TONIC.items() if tonic == sounding.replace("-", "b"))


def syncopated(n: Note, beats: int, kind: int, lead: Fraction) -> bool:
    """Does a note begin at a weak place and last over a stronger one? Half the beat, the beat, half the bar of four beats."""
    if n.tuplet:
        return False
    start = n.offset + lead
    end = start + n.length
    beat = Fraction(3, 2) if kind == 8 and beats % 3 == 0 else Fraction(4, kind)
    grids = [beat / 3 if beat == Fraction(3, 2) else beat / 2, beat]
    if (beats, kind) in ((4, 4), (4, 2), (12, 8)):
        grids.append(2 * beat)
    return any(start % grid != 0 and (start // grid + 1) * grid < end for grid in grids)


def grams(line: list[tuple[int, Fraction]], rhythm: bool) -> list:
    """The line as steps: semitones, and the proportion of lengths if asked."""
    steps = []
    for (a, length), (b, after) in zip(line, line[1:]):
        steps.append((b - a, after / length if length else None) if rhythm else b - a)
    return steps


class Copies:
    """Every run of some tunes, for each length, as sorted hashes."""

    def __init__(self, tunes: list) -> None:
        self.lines = {rhythm: [grams(line, rhythm) for _, line in tunes] for rhythm in (True, False)}
        self.sizes: dict[tuple[bool, int], array] = {}

    def runs(self, rhythm: bool, size: int) -> array:
        if (rhythm, size) not in self.sizes:
            known = {hash(tuple(line[at : at + size])) for line in self.lines[rhythm] for at in range(len(line) - size + 1)}
            self.sizes[(rhythm, size)] = array("q", sorted(known))
        return self.sizes[(rhythm, size)]

    def prepare(self) -> "Copies":
        for rhythm, limit in ((True, RHYTHM_LIMIT), (False, INTERVAL_LIMIT)):
            for size in range(1, limit + 3):
                self.runs(rhythm, size)
        return self

    def longest(self, line: list[tuple[int, Fraction]], rhythm: bool) -> tuple[int, list]:
        """Notes of the longest run shared, and the run."""
        steps = grams(line, rhythm)
        size, found = 0, []
        while size + 1 <= len(steps):
            known = self.runs(rhythm, size + 1)
            at = next((at for at in range(len(steps) - size) if holds(known, hash(tuple(steps[at : at + size + 1])))), None)
            if at is None:
                break
            size += 1
            found = steps[at : at + size]
        return size + 1, found


def holds(known: array, value: int) -> bool:
    """Is the value in the sorted array?"""
    at = bisect_left(known, value)
    return at < len(known) and known[at] == value


def differing(one: Page, other: Page) -> list[str]:
    """Fields in which two readings differ."""
    return [field for field in Page.__dataclass_fields__ if getattr(one, field) != getattr(other, field)]


def level_work(job: tuple[str, dict, str, int]) -> dict:
    """One level: all its seeds read."""
    table, level, name, seeds = job
    violations: list[str] = []
    lines, loads, metres, keys = [], [], Counter(), Counter()
    for first in range(1, seeds + 1, 100):
        answer = made(table, level["name"], name, first, min(100, seeds + 1 - first))
        for piece in answer["pieces"]:
            page = bare(piece["musicxml"])
            wrong = judge(page, level, name, answer["player"]["range"])
            if piece["seed"] % EVERY == 1:
                library = by_library(piece["musicxml"])
                wrong += [f"music21 reads other {field}" for field in differing(page, library)]
                wrong += [f"by music21: {what}" for what in judge(library, level, name, answer["player"]["range"])]
            line = [(n.midi, n.length) for n in page.notes]
            if not all(feature["fits"] for feature in piece["features"]):
                wrong.append("a feature that does not fit was given out")
            violations += [f"seed {piece['seed']}: {what}" for what in wrong]
            lines.append(line)
            loads.append(piece["load_a_quarter"])
            metres[piece["metre"]] += 1
            keys[piece["key"]] += 1
    again = made(table, level["name"], name, 1, 1)["pieces"][0]["musicxml"]
    if again != made(table, level["name"], name, 1, 1)["pieces"][0]["musicxml"]:
        violations.append("seed 1 is not the same twice")
    return {
        "table": table,
        "level": level["name"],
        "name": name,
        "violations": violations,
        "lines": lines,
        "load": sum(loads) / len(loads),
        "metres": metres,
        "keys": keys,
    }


def main() -> int:
    seeds = next((int(o.split("=")[1]) for o in sys.argv[1:] if o.startswith("--seeds=")), 1000)
    only = next((o.split("=")[1] for o in sys.argv[1:] if o.startswith("--table=")), "")
    start = time.monotonic()
    jobs = [
        (table["name"], level, name, seeds)
        for table, name, levels in rows()
        if only in table["name"]
        for level in levels
    ]
    with ProcessPoolExecutor(os.cpu_count()) as pool:
        answers = list(pool.map(level_work, jobs))
    bad = 0
    before: dict[tuple[str, str], float] = {}
    for answer in answers:
        key = (answer["table"], answer["name"])
        rising = answer["load"] > before.get(key, 0.0)
        before[key] = answer["load"]
        bad += len(answer["violations"]) + (not rising)
        print(
            f"{answer['table']:40} {answer['level']:36} {answer['name']:12} {len(answer['lines'])} pieces, "
            f"{len(answer['violations'])} violations, mean load {answer['load']:.2f}{'' if rising else ' NOT RISING'}; "
            f"{len(answer['keys'])} keys, {len(answer['metres'])} metres"
        )
        for what in answer["violations"][:5]:
            print(f"    {what}")
    pieces = [line for answer in answers for line in answer["lines"]]
    print(f"{len(pieces)} pieces made and read in {time.monotonic() - start:.0f} s, {bad} violations")
    bad += copies(answers)
    print("ok" if not bad else f"{bad} failures")
    return 1 if bad else 0


#: The corpus, ready to be asked; workers get it by fork.
CORPUS: Copies | None = None


def of_line(line: list) -> tuple:
    """The longest runs of a line, with rhythm and without."""
    assert CORPUS is not None
    return CORPUS.longest(line, True), CORPUS.longest(line, False)


def compared(tunes: list, lines: list) -> list[tuple]:
    """Each line's longest runs shared with the tunes."""
    global CORPUS  # noqa: PLW0603 forked workers read it
    CORPUS = Copies(tunes).prepare()
    with ProcessPoolExecutor(os.cpu_count(), mp_context=get_context("fork")) as pool:
        return list(pool.map(of_line, lines, chunksize=200))


def told(word: str, sizes: list[int]) -> None:
    """Mean and longest of the runs."""
    over = sum(size > 12 for size in sizes) / len(sizes)
    print(f"  {word}: mean {sum(sizes) / len(sizes):.1f} notes, longest {max(sizes)}, over 12 notes {over:.2%}")


def copies(answers: list[dict]) -> int:
    """The longest runs shared with the corpus; how many are over the limits."""
    named = [
        (f"{answer['table']}:{answer['level']} {answer['name']} seed {seed}", line)
        for answer in answers
        for seed, line in enumerate(answer["lines"], 1)
    ]
    tunes = reading_corpus.tunes()
    found = compared(tunes, [line for _, line in named])
    print(f"longest run shared with any of {len(tunes)} tunes of music21's corpus:")
    bad = 0
    for at, (word, limit) in enumerate((("intervals and rhythm", RHYTHM_LIMIT), ("intervals alone", INTERVAL_LIMIT))):
        told(word, [runs[at][0] for runs in found])
        worst = max(range(len(found)), key=lambda index: found[index][at][0])
        size, run = found[worst][at]
        print(f"    the longest, {size} notes: {named[worst][0]}: {' '.join(str(s[0] if at == 0 else s) for s in run)}")
        over = [index for index in range(len(found)) if found[index][at][0] > limit]
        print(f"    over the limit of {limit}: {len(over)} of {len(found)}")
        for index in over[:10]:
            shared = " ".join(str(step[0] if at == 0 else step) for step in found[index][at][1])
            print(f"      {named[index][0]}: {found[index][at][0]} notes: {shared}")
        bad += len(over)
    # A yardstick: what songs of one tradition share with the books of another, where nobody copied.
    songs = [line for name, line in tunes if name.startswith("essenFolksong")]
    books = [tune for tune in tunes if not tune[0].startswith("essenFolksong")]
    sample = random.Random(1).sample(songs, min(400, len(songs)))
    yard = compared(books, sample)
    print(f"for comparison, {len(sample)} German songs of the corpus against its {len(books)} other tunes:")
    told("intervals and rhythm", [runs[0][0] for runs in yard])
    told("intervals alone", [runs[1][0] for runs in yard])
    return bad


if __name__ == "__main__":
    raise SystemExit(main())
