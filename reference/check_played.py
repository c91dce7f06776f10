"""Does a part sound when it should? Onsets, lengths and pitches as played, beside other libraries' unfolding.

Our demo pieces and parts of the corpus with grace notes, ornaments or several metronome marks (every MusicXML file no larger than LARGEST) and with
repeats (every tenth; `--all`: all, of any size) are played by the `played` example and unfolded by music21
(`expandRepeats`, sounding pitch) and, where that gives other bars, by partitura (`unfold_part_maximal`).

1. Every note: what ornaments and grace notes fill is put together again (an ornament's notes are one note; a grace note's
   time goes back to the note it was taken from). Then onset, length and pitch must be the library's, up to the rounding of
   the file's own divisions.
2. The bars in the order played must be those of our own survey (`play_order_indices`).
3. Where every tempo on the page is a metronome mark with a number, the seconds of every onset must be music21's within a
   millisecond, up to the first fermata (which it does not hold) or words that may change the tempo.

A part whose unfolding differs from both libraries' is listed with `--misses`, not counted: the order itself is checked by
`order`. So are parts of several staves, which music21 takes apart. A difference that remains must stand in DIFFERENCES with its
reason.

Source: music21 10.5.1, partitura 1.9.0.
"""

import bisect
import os
import re
import subprocess
import sys
import warnings
from collections import defaultdict
from fractions import Fraction
from pathlib import Path

import foreread
import scores

DEMO = foreread.HERE.parent / "demo" / "pieces"
LARGEST = 500_000
EVERY = 10
TELLING = ("grace", "trill-mark", "turn", "delayed-turn", "mordent", "inverted-mordent", "tremolo")
# Files give triplets in whole divisions: 85/256 for a third (quarter notes). Our reader takes the printed value.
ROUNDED = Fraction(1, 100)
# Words after the beginning end the comparison of seconds, but for these, which change no tempo.
HARMLESS = re.compile(r"^(dolce|espr|solo|tutti|cresc|dim|decresc|arco|pizz|stacc|leg|marc|cant|simile|sempre|sul|con sord|senza sord|div|unis|fine|D\.)", re.I)
# Units whose difference is understood: the reason.
DIFFERENCES = {
    "mozart/k155/movement3.mxl":
        "a dynamic mark that the file sets off past the end of the pickup makes music21's pickup a quarter note longer",
    "trecento/PMFC_23_22-Kyrie Summe Clementissime.xml":
        "the file transposes by octave-change -1 alone, which music21's toSoundingPitch leaves out",
}


def exact(value) -> Fraction:
    return Fraction(value).limit_denominator(20_160)


def chosen(every: bool) -> list[str]:
    telling, repeating = [], []
    for unit in scores.corpus_musicxml():
        path = scores.score_path(unit)
        if len(scores.xml_bytes(path)) > LARGEST and not every:
            continue
        tree = scores.tree(path)
        tags = {element.tag for element in tree.iter()}
        if tags & set(TELLING) or sum(1 for _ in tree.iter("per-minute")) > 1:
            telling.append(unit)
        elif "repeat" in tags:
            repeating.append(unit)
    demo = [f"demo/{path.name}" for path in sorted(DEMO.glob("*.musicxml")) if "timewise" not in path.name]
    return demo + telling + (repeating if every else repeating[::EVERY])


def path_of(unit: str) -> Path:
    """A score of the corpus, or one of our own."""
    return DEMO / unit.removeprefix("demo/") if unit.startswith("demo/") else scores.score_path(unit)


class Ours:
    """One part as we play it."""

    def __init__(self):
        self.bars: list[int] = []
        self.rows: list[tuple] = []

    def notes(self) -> list[tuple[Fraction, Fraction, str, frozenset, Fraction]]:
        """Onset, length, role and pitches with small notes put back where their time came from."""
        spans = []
        for onset, held, pitch, role, event, _ in self.rows:
            last = next((s for s in reversed(spans[-8:]) if s["event"] == event and s["role"] == role == "Ornament" and s["to"] == onset), None)
            if last:
                last["to"] = onset + held
                last["pitches"].add(pitch)
                continue
            # A trill that begins late in a tie, or whose first note was tied over: one note all the same.
            plain = next((s for s in reversed(spans[-8:]) if role == "Ornament" and s["event"] == event and s["to"] == onset), None)
            if plain:
                plain["to"] = onset + held
                plain["pitches"].add(pitch)
                plain["role"] = "Ornament"
                continue
            spans.append({"from": onset, "to": onset + held, "role": role, "event": event, "pitches": {pitch}})
        mains = [s for s in spans if s["role"] != "Grace"]
        graces = sorted((s for s in spans if s["role"] == "Grace"), key=lambda s: s["from"])
        # Small notes at a note's end, earliest first, lengthen it again; others, latest first, begin it earlier.
        left = []
        ends = defaultdict(list)
        for main in mains:
            ends[main["to"]].append(main)
        for grace in graces:
            owners = ends.get(grace["from"])
            if owners:
                for main in list(owners):
                    if not main.get("closed"):
                        main["to"] = grace["to"]
                        ends[grace["to"]].append(main)
                ends.pop(grace["from"], None)
            else:
                left.append(grace)
        starts = defaultdict(list)
        for main in mains:
            starts[main["from"]].append(main)
        for main in mains:
            main["own"] = main["from"]
        for grace in reversed(left):
            for main in starts.pop(grace["to"], []):
                main["from"] = grace["from"]
                starts[grace["from"]].append(main)
        # In a rest before the note a grace note takes nobody's time: then the note's own beginning is right.
        return [(s["from"], s["to"] - s["from"], s["role"], frozenset(s["pitches"]), s["own"]) for s in mains]


def played(units: list[str]) -> dict[str, list[Ours]]:
    program = os.environ["PLAYED"]
    found: dict[str, list[Ours]] = {}
    for start in range(0, len(units), 50):
        some = units[start:start + 50]
        paths = {str(path_of(unit)): unit for unit in some}
        done = subprocess.run([program, *paths], capture_output=True, text=True, check=True)
        for line in done.stdout.splitlines():
            path, part, *rest = line.split("\t")
            parts = found.setdefault(paths[path], [])
            if part == "FAILED":
                continue
            while len(parts) <= int(part):
                parts.append(Ours())
            if rest[0] == "BARS":
                parts[int(part)].bars = [int(bar) for bar in rest[1].split()]
                continue
            onset, held, pitch, role, event, seconds = rest
            pitch = None if pitch == "x" else Fraction(pitch)
            parts[int(part)].rows.append((Fraction(onset), Fraction(held), pitch, role, event, float(seconds)))
    return found


def joined(notes: list[tuple]) -> list[tuple]:
    """Ties joined: (onset, length, pitch) from (onset, length, pitch, starts a tie)."""
    out, open_ = [], {}
    for onset, length, pitch, begins in sorted(notes, key=lambda n: (n[0], n[2] is None, n[2] or 0)):
        # A tie that only says where it starts joins all the same.
        at = open_.pop((pitch, onset), None)
        if at is None:
            out.append([onset, length, pitch])
            at = len(out) - 1
        else:
            out[at][1] += length
        if begins:
            open_[(pitch, onset + length)] = at
    return [tuple(note) for note in out]


def music21_part(part):
    """Notes unfolded, the number of bars, and the seconds of each onset where every tempo is a number."""
    from music21 import chord, expressions, harmony, note, tempo, stream

    if part.atSoundingPitch is False or part.atSoundingPitch == "unknown":
        part = part.toSoundingPitch()
    unfolded = part.expandRepeats() if any(True for _ in part.recurse().getElementsByClass("Repeat")) or any(
        m.rightBarline is not None or m.leftBarline is not None for m in part.getElementsByClass(stream.Measure)) else part
    notes = []
    for event in unfolded.flatten().notes:
        if isinstance(event, harmony.Harmony) or event.duration.isGrace or not isinstance(event, (note.Note, chord.Chord, note.Unpitched)):
            continue
        if event.style.noteSize == "cue":
            continue
        members = event.notes if isinstance(event, chord.Chord) else [event]
        for member in members:
            tie = member.tie.type if member.tie else (event.tie.type if event.tie else "")
            pitch = exact(member.pitch.ps) if isinstance(member, note.Note) else None
            notes.append((exact(event.offset), exact(event.duration.quarterLength), pitch, tie in ("start", "continue")))
    bars = [measure.number for measure in unfolded.getElementsByClass(stream.Measure)]
    written = [measure.number for measure in part.getElementsByClass(stream.Measure)]
    seconds = None
    flat = unfolded.flatten()
    marks = list(flat.getElementsByClass(tempo.TempoIndication))
    numbered = marks and all(isinstance(mark, tempo.MetronomeMark) and mark.number and not mark.numberImplicit for mark in marks)
    if numbered and marks[0].offset == 0:
        words = flat.getElementsByClass((tempo.TempoText, expressions.TextExpression))
        stops = [text.offset for text in words
                 if text.offset > 0 and not HARMLESS.search(str(text.content if hasattr(text, "content") else text.text))]
        stops += [event.offset for event in flat.notesAndRests if any(isinstance(x, expressions.Fermata) for x in event.expressions)]
        until = min(stops, default=1e9)
        seconds = until, [(start, stop, mark.durationToSeconds(1.0)) for start, stop, mark in flat.metronomeMarkBoundaries()]
    return joined(notes), bars, written, seconds


def unequal(parts, index: int) -> bool:
    """Has a bar of the part another length than in the longest part?"""
    from music21 import stream

    lengths = [[exact(m.duration.quarterLength) for m in part.getElementsByClass(stream.Measure)] for part in parts]
    return any(len(set_) != len(lengths[index]) for set_ in lengths) or any(
        max(column) - min(column) > ROUNDED for column in zip(*lengths))


def partitura_part(path: str, index: int):
    """Notes unfolded by the other library, and the number of bars."""
    import partitura
    from partitura import score

    whole = partitura.load_score(path)
    part = whole.parts[index]
    unfolded = score.unfold_part_maximal(part)
    notes = []
    for event in unfolded.iter_all(score.Note, include_subclasses=False):
        if isinstance(event, score.GraceNote):
            continue
        start = exact(unfolded.quarter_map(event.start.t).item()) - exact(unfolded.quarter_map(unfolded.first_point.t).item())
        length = exact(unfolded.quarter_map(event.end.t).item()) - exact(unfolded.quarter_map(event.start.t).item())
        transposition = [t for t in unfolded.iter_all(score.Transposition, start=0, end=event.start.t + 1)]
        shift = transposition[-1].chromatic if transposition else 0
        notes.append((start, length, Fraction(event.midi_pitch + shift), event.tie_next is not None))
    return joined(notes), [measure.name for measure in unfolded.iter_all(score.Measure)], [measure.name for measure in part.iter_all(score.Measure)]


def near_to(onsets: list[Fraction], at: Fraction) -> list[Fraction]:
    return onsets[bisect.bisect_left(onsets, at - ROUNDED):bisect.bisect_right(onsets, at + ROUNDED)]


def compare(ours: list[tuple], theirs: list[tuple]) -> list[str]:
    """What differs, a line each."""
    wanted = defaultdict(list)
    for onset, length, pitch in theirs:
        wanted[onset].append((length, pitch))
    at_all = sorted(wanted)
    wrong = []
    for onset, length, role, pitches, own in sorted(ours, key=lambda n: (n[0], n[1], n[2], sorted(p or 0 for p in n[3]))):
        near = [n for at in near_to(at_all, onset) for n in wanted[at]]
        if not near and own > onset:
            onset, length = own, length - (own - onset)
            near = [n for at in near_to(at_all, onset) for n in wanted[at]]
        match = next((n for n in near if abs(n[0] - length) <= ROUNDED and n[1] in pitches), None)
        if match is None:
            wrong.append(f"ours at {onset}: {length} {role} {[str(p) for p in pitches]}, theirs {[(str(a), str(b)) for a, b in near]}")
        else:
            next(wanted[at] for at in near_to(at_all, onset) if match in wanted[at]).remove(match)
    for onset, rest in wanted.items():
        wrong += [f"only theirs at {onset}: {length} {pitch}" for length, pitch in rest]
    return wrong


def seconds_at(clock, at: float) -> float:
    total = 0.0
    for start, stop, each in clock:
        total += (min(at, stop) - start) * each if at > start else 0.0
    return total


def main() -> int:
    warnings.simplefilter("ignore")
    from music21 import converter

    named = [word for word in sys.argv[1:] if not word.startswith("--")]
    units = named or chosen("--all" in sys.argv)
    answers = played(units)
    right = notes = timed = onsets = 0
    graced = ornamented = repeated = 0
    wrong, elsewhere, misordered = [], [], []
    for unit in units:
        path = path_of(unit)
        try:
            parts = list(converter.parse(path).parts)
        except Exception as problem:  # the library can't read it
            elsewhere.append((unit, 0, f"music21: {type(problem).__name__}"))
            continue
        for index, mine in enumerate(answers.get(unit, [])):
            if index >= len(parts) or not mine.rows:
                continue
            if len(parts) != len(answers[unit]):
                elsewhere.append((unit, index, "parts of several staves"))
                continue
            if unequal(parts, index):
                elsewhere.append((unit, index, "bars of unequal length in its parts: we keep one grid of bars for all"))
                continue
            rows = mine.notes()
            try:
                theirs, bars, written, clock = music21_part(parts[index])
                same = bars == [written[bar] for bar in mine.bars]
                reason = f"music21 plays {len(bars)} bars, we {len(mine.bars)}"
            except Exception as problem:
                same, clock = False, None
                reason = f"music21: {type(problem).__name__}"
            if not same:
                clock = None
                try:
                    theirs, bars, written = partitura_part(str(path), index)
                    same = bars == [written[bar] for bar in mine.bars]
                except Exception as problem:
                    elsewhere.append((unit, index, f"{reason}; partitura: {type(problem).__name__}"))
                    continue
                if not same:
                    elsewhere.append((unit, index, f"{reason}; partitura {len(bars)}"))
                    continue
            differences = compare(rows, theirs)
            if differences:
                wrong.append((unit, index, differences))
                continue
            right += 1
            notes += len(rows)
            graced += any(row[3] == "Grace" for row in mine.rows)
            ornamented += any(row[3] == "Ornament" for row in mine.rows)
            repeated += len(set(mine.bars)) < len(mine.bars)
            if clock:
                until, boundaries = clock
                far = [(row[0], row[5], seconds_at(boundaries, float(row[0]))) for row in mine.rows if row[3] != "Grace" and row[0] <= until]
                late = [(str(at), ours, theirs) for at, ours, theirs in far if abs(ours - theirs) > 0.001]
                if late:
                    wrong.append((unit, index, [f"at {at}: {ours:.4f} s, theirs {theirs:.4f} s" for at, ours, theirs in late]))
                timed += 1
                onsets += len(far)
    for unit in sorted({unit for unit, *_ in wrong} | set(units[::10])):
        answer = foreread.survey(path_of(unit), 1).get("road_map") or {}
        mine = answers.get(unit) or [Ours()]
        if answer.get("play_order_indices") != mine[0].bars and mine[0].bars:
            misordered.append(unit)
    for unit, index, differences in wrong:
        mark = "DIFFERENCE" if unit in DIFFERENCES else "WRONG"
        print(f"  {mark} {unit} part {index}: {len(differences)} differ, first: {differences[0]}" + (f"; {DIFFERENCES[unit]}" if unit in DIFFERENCES else ""))
    if "--misses" in sys.argv:
        for unit, index, why in elsewhere:
            print(f"  ELSEWHERE {unit} part {index}: {why}")
    for unit in misordered:
        print(f"  ORDER {unit}: not the survey's")
    unexplained = [row for row in wrong if row[0] not in DIFFERENCES]
    print(f"{right} parts of {len(units)} files, {notes} notes, with the library's onsets, lengths and pitches "
          f"({repeated} with repeats, {graced} with grace notes, {ornamented} with ornaments); {len(unexplained)} wrong; "
          f"{len(elsewhere)} unfolded otherwise by both libraries; seconds of {onsets} onsets in {timed} parts compared; "
          f"{len(misordered)} not in the survey's order")
    return 1 if unexplained or misordered or right < 40 and not named else 0


if __name__ == "__main__":
    sys.exit(main())
