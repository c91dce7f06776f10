"""Is a cut of a call what lies between its ends, and does it last as long as its tempo says?

Of every corpus MusicXML file of a spread with one staff in its first part and measures that are equally full in all parts, two cuts are asked for: whole
bars at two tempi, and from a beat through a downbeat. The cut is written as MusicXML and read by music21, and held against the
same measures of the file as music21 reads them:

1. pitches and onsets of all notes (grace notes left out) are those between the two places, and none is beyond the end;
2. where the passage has no tempo mark, fermata, repeat or words, the seconds told are its quarter notes by the tempo, at both ends.

Source: music21 10.5.1.
"""

import sys
import tempfile
from fractions import Fraction
from pathlib import Path

import music21

import foreread
import scores

EVERY = 11
AT_LEAST = 40


def exact(value) -> Fraction:
    return Fraction(value).limit_denominator(5040)


def notes_of(measures, start: Fraction) -> list[tuple[Fraction, tuple[int, ...]]]:
    """Onset from `start` and sounding keys as written, of every note; measures with their onsets."""
    found = []
    for onset, measure in measures:
        for note in measure.recurse().notes:
            if note.duration.isGrace or isinstance(note, (music21.harmony.ChordSymbol, music21.note.Unpitched)):
                continue
            at = onset + exact(note.getOffsetInHierarchy(measure)) - start
            found.append((at, tuple(sorted(pitch.midi for pitch in note.pitches))))
    return sorted(found)


def even(score, first: int, last: int) -> bool:
    """All parts hold the same in each measure: else whose bar lines count is a question of its own (see `counts`)."""
    parts = [list(part.getElementsByClass(music21.stream.Measure)) for part in score.parts]
    for index in range(first, last + 1):
        if len({exact(part[index].duration.quarterLength) for part in parts if index < len(part)}) > 1:
            return False
    return True


def laid(measures) -> list[tuple[Fraction, music21.stream.Measure]]:
    """Measures one after the other, each as long as what stands in it."""
    at, found = Fraction(0), []
    for measure in measures:
        found.append((at, measure))
        at += exact(measure.duration.quarterLength)
    return found


def plain(measures) -> bool:
    """Nothing in it changes the speed or the order."""
    for measure in measures:
        for element in measure.recurse():
            if isinstance(element, (music21.tempo.TempoIndication, music21.bar.Repeat, music21.expressions.TextExpression)):
                return False
            if any(isinstance(sign, music21.expressions.Fermata) for sign in getattr(element, "expressions", [])):
                return False
            if isinstance(element, music21.note.GeneralNote) and element.articulations and any(
                isinstance(sign, (music21.articulations.BreathMark, music21.articulations.Caesura)) for sign in element.articulations
            ):
                return False
    return True


def check(path: Path, folder: Path) -> tuple[int, int, list[str]]:
    """Cuts compared, durations compared, what is wrong."""
    score = music21.converter.parse(path, format="musicxml", forceSource=True)
    part = score.parts[0]
    measures = list(part.getElementsByClass(music21.stream.Measure))
    numbers = [measure.measureNumberWithSuffix() for measure in measures]
    if len(measures) < 12 or len(set(numbers)) != len(numbers) or len(part.getElementsByClass(music21.stream.PartStaff)):
        return 0, 0, []
    first, last = 3, 8
    if not even(score, first, last):
        return 0, 0, []
    cuts = [(f"bar {numbers[first]} through bar {numbers[last]}", False), (f"beat 2 of bar {numbers[first]} through downbeat of bar {numbers[last]}", True)]
    call = folder / "call.toml"
    lines = ['name = "Check"', "[[pieces]]", f'file = "{path}"', 'part = "1"']
    for said, _ in cuts:
        lines += ["[[pieces.cuts]]", f'bars = "{said}"', 'tempo = "q = 60-90"']
    call.write_text("\n".join(lines), encoding="utf-8")
    told = foreread.run(["call", str(call), "--as", "json"], limit=60)
    if told.status != 0:
        return 0, 0, [f"call ended with {told.status}: {told.err.strip()}"]
    piece = told.json()["pieces"][0]
    compared, timed, wrong = 0, 0, []
    wanted = laid(measures[first : last + 1])
    for index, (cut, (said, inside)) in enumerate(zip(piece["cuts"], cuts)):
        if cut["found"] is None:
            continue  # no second beat there, said in a finding
        to = folder / f"cut-{index}.musicxml"
        ran = foreread.run(["call", str(call), "--cut", str(index + 1), "--to", str(to)], limit=60)
        if ran.status != 0:
            wrong.append(f"{said}: writing ended with {ran.status}: {ran.err.strip().splitlines()[-1:]}")
            continue
        theirs = music21.converter.parse(to, format="musicxml", forceSource=True).parts[0]
        ours = notes_of(laid(theirs.getElementsByClass(music21.stream.Measure)), Fraction(0))
        # A cut that would begin in the middle of a note begins with the next, perhaps in the next bar: said in a finding.
        start = wanted[cut["from_bar_index"] - first][0] + exact(cut["from_offset"])
        end = wanted[cut["to_bar_index"] - first][0] + exact(cut["to_offset"])
        expected = [(at, keys) for at, keys in notes_of(wanted, start) if at >= 0 and at + start < end]
        compared += 1
        if ours != expected:
            wrong.append(f"{said}: {len(ours)} notes, {len(expected)} lie between its ends; {sorted(set(ours) ^ set(expected))[:3]}")
        if plain(measure for _, measure in wanted):
            timed += 1
            quarters = end - start
            for tempo, seconds in ((60, cut["seconds_slowest"]), (90, cut["seconds_fastest"])):
                if abs(float(quarters * 60 / tempo) - seconds) > 0.01:
                    wrong.append(f"{said}: told {seconds} s at {tempo}, {quarters} quarter notes last {float(quarters * 60 / tempo):.3f}")
    return compared, timed, wrong


def main() -> int:
    pieces = compared = timed = 0
    wrong = []
    for unit in scores.corpus_musicxml()[::EVERY]:
        with tempfile.TemporaryDirectory(prefix="foreread-call-") as folder:
            try:
                count, seconds, faults = check(Path(scores.score_path(unit)), Path(folder))
            except (music21.exceptions21.Music21Exception, ValueError) as failure:
                print(f"{unit}: music21 can't read it: {failure}")
                continue
        pieces, compared, timed = pieces + bool(count), compared + count, timed + seconds
        wrong += [f"{unit}: {fault}" for fault in faults]
    for fault in wrong:
        print(fault)
    print(f"{pieces} pieces, {compared} cuts compared note by note, {timed} by their seconds, {len(wrong)} faults")
    return int(bool(wrong) or pieces < AT_LEAST)


if __name__ == "__main__":
    sys.exit(main())
