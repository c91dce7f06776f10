"""Are drills the scales that they say they are, and the music that they were made from?

1. Scales: for a tune in each of the twelve major and twelve minor keys, whose sixths and sevenths ask for one form of minor or
   another, and in each of four modes: the notes of every scale that is offered are those of music21's scale object, spelled
   alike, from the lowest tonic of the player's range to the highest and back, then on to the ends of the range. Broken chords
   likewise are thirds stacked in music21's scale.
2. Made from the music: for the demo pieces and a spread of the corpus, the drills of one sitting and of the worst spot are
   written as MusicXML and read back by music21: every bar is as long as its metre (or as the source's own bar), every note in
   the player's range, none of the notes is spelled with three signs; the list of them fits its published schema. Half speed has the source's notes (as music21 reads
   them from the source) at twice their length; figures through the keys are music21's transpositions of the first.

Source: music21 10.5.1, scale.MajorScale, MinorScale, HarmonicMinorScale, MelodicMinorScale, DorianScale …,
interval.Interval, meter.TimeSignature.barDuration.
"""

import json
import sys
import warnings
from fractions import Fraction
from pathlib import Path

import jsonschema

import foreread
import scores

ROOT = Path(__file__).resolve().parent.parent
DEMO = ROOT / "demo" / "pieces"
SCHEMA = json.loads((ROOT / "docs" / "drills.schema.json").read_text(encoding="utf-8"))

# A spread of the corpus: strings, winds, voices, old and new, with tuplets, pickups, changes of metre and clef.
CORPUS = [
    "bach/bwv66.6.mxl", "beethoven/opus18no1/movement1.mxl", "beethoven/opus132.mxl", "corelli/opus3no1/1grave.xml",
    "cpebach/h186.mxl", "handel/rinaldo", "haydn/opus74no1/movement3.mxl", "joplin/maple_leaf_rag.mxl",
    "mozart/k155/movement1.mxl", "mozart/k458/movement1.mxl", "schoenberg/opus19/movement2.mxl",
    "schumann_robert/dichterliebe_no2.xml", "monteverdi/madrigal.3.1.mxl", "verdi/laDonnaEMobile.mxl",
    "beach/prayer_of_a_tired_child.musicxml", "liliuokalani", "leadSheet/berlinAlexandersRagtime.mxl",
    "leadSheet/fosterBrownHair.mxl", "luca/gloria.xml", "ciconia/quod_jactatur.xml", "johnson_j_r", "webern",
    "lusitano/allor_che_ignuda.mxl", "schubert", "weber", "demos", "schumann_clara", "trecento", "palestrina",
]

# Major tonics by signature, and what their tunes need: degrees as (letter above the tonic, eighths), `+` raised.
MAJORS = ["C", "G", "D", "A", "E", "B", "F#", "D-", "A-", "E-", "B-", "F"]
MINORS = ["A", "E", "B", "F#", "C#", "G#", "E-", "B-", "F", "C", "G", "D"]
LETTERS = "CDEFGAB"


def tune(tonic: str, form: str) -> str:
    """A tune that shows its key: the scale up and down, the chord, the cadence, four times over."""
    degrees = {
        "major": "1 2 3 4 5 6 7 8 5 3 1 3 5 8 7 8 6 4 2 7- 1 3 5 4 3 2 1 5- 1 2 7- 1 5 7 9 11 9 7 8 1",
        "harmonic-minor": "1 2 3 4 5 6 5 4 5 #7 8 5 3 1 5- 1 8 5 6 5 4 3 2 #7- 1 3 5 4 3 2 #7- 1 #7- 2 4 6 4 2 #7- 1",
        "melodic-minor": "1 2 3 4 5 #6 #7 8 5 3 1 3 5 #6 #7 8 8 5 3 1 4 3 2 #7- 1 3 5 #6 #7 8 5 1",
        "natural-minor": "1 2 3 4 5 6 7 8 7 6 5 3 1 7- 1 1 8 7 5 4 3 4 5 7 8 5 3 4 3 7- 7- 1",
    }[form]
    return degrees


def musicxml(tonic: str, form: str) -> str:
    """The tune as a file, spelled by music21's own scale."""
    from music21 import note, scale

    minor = form != "major"
    natural = scale.MinorScale(tonic) if minor else scale.MajorScale(tonic)
    first = natural.tonic
    first.octave = 4
    sharps = key_sharps(tonic, minor)
    notes = []
    for degree in tune(tonic, form).split() * 4:
        raised = degree.startswith("#")
        low = degree.endswith("-")
        number = int(degree.strip("#-"))
        octave = (number - 1) // 7
        pitch = natural.pitchFromDegree((number - 1) % 7 + 1)
        letters = LETTERS.index(pitch.step) - LETTERS.index(first.step)
        pitch.octave = 4 + octave - (1 if low else 0) + (1 if letters < 0 else 0)
        if raised:
            pitch = pitch.transpose("A1")
        notes.append(note.Note(pitch))
    bars = []
    for start in range(0, len(notes), 8):
        inside = "".join(
            f"<note><pitch><step>{n.pitch.step}</step><alter>{int(n.pitch.alter)}</alter><octave>{n.pitch.octave}</octave></pitch>"
            "<duration>1</duration><voice>1</voice><type>eighth</type></note>"
            for n in notes[start:start + 8]
        )
        head = ""
        if start == 0:
            head = (f"<attributes><divisions>2</divisions><key><fifths>{sharps}</fifths></key><time><beats>4</beats>"
                    "<beat-type>4</beat-type></time><clef><sign>G</sign><line>2</line></clef></attributes>")
        bars.append(f'<measure number="{start // 8 + 1}">{head}{inside}</measure>')
    return ('<?xml version="1.0" encoding="UTF-8"?><score-partwise version="4.0"><part-list><score-part id="P1">'
            "<part-name>Flute</part-name></score-part></part-list>"
            f'<part id="P1">{"".join(bars)}</part></score-partwise>')


def key_sharps(tonic: str, minor: bool) -> int:
    from music21 import key

    return key.Key(tonic.lower() if minor else tonic).sharps


def scale_of(form: str, tonic: str):
    """music21's scale of a form."""
    from music21 import scale

    kinds = {
        "major": scale.MajorScale, "natural-minor": scale.MinorScale, "harmonic-minor": scale.HarmonicMinorScale,
        "melodic-minor": scale.MelodicMinorScale, "dorian": scale.DorianScale, "phrygian": scale.PhrygianScale,
        "lydian": scale.LydianScale, "mixolydian": scale.MixolydianScale,
    }
    return kinds[form](tonic)


def ladder(form: str, tonic: str, low: str, high: str, direction: str) -> list:
    """The pitches of a scale within a range, from the lowest up."""
    from music21 import pitch, scale

    way = scale.Direction.ASCENDING if direction == "ascending" else scale.Direction.DESCENDING
    # The library takes a range's end by its letter (B#3 is lower than C4 to it): an octave more, then by sound.
    ends = pitch.Pitch(low), pitch.Pitch(high)
    found = scale_of(form, tonic).getPitches(ends[0].transpose("-P8"), ends[1].transpose("P8"), direction=way)
    inside = {p.nameWithOctave: p for p in found if ends[0].ps <= p.ps <= ends[1].ps}
    return sorted(inside.values(), key=lambda p: (p.ps, p.diatonicNoteNum))


def expected(rising: list, falling: list, tonic: str) -> list[list[str]]:
    """The paths that scale books give: tonic to tonic, then to the ends of the range."""
    name = lambda pitches: [p.nameWithOctave for p in pitches]
    tonics = [i for i, p in enumerate(rising) if p.name == tonic]
    if not tonics:
        return []
    first, last = rising[tonics[0]], rising[tonics[-1]]
    up = lambda a, b: [p for p in rising if a.ps <= p.ps <= b.ps]
    down = lambda a, b: [p for p in reversed(falling) if b.ps <= p.ps <= a.ps]
    paths = []
    if last.ps > first.ps:
        paths.append(name(up(first, last)) + name(down(last, first))[1:])
    # Both turns belong to the way up; melodic minor doesn't turn on its raised seventh, which would lead down to the natural sixth.
    place = lambda p: p.diatonicNoteNum
    below = [p for p in falling if place(p) == place(rising[-1]) - 1]
    melodic = [p.name for p in rising[:7]] != [p.name for p in falling[:7]]
    if melodic and below and rising[-1].ps - below[0].ps > 2:
        rising = rising[:-1]
    top, bottom = rising[-1], rising[0]
    if place(top) > place(last) or place(bottom) < place(first):
        notes = name(up(first, top))
        notes += name([p for p in reversed(falling) if place(bottom) < place(p) < place(top)])
        if place(bottom) < place(first):
            notes += name([p for p in rising if place(p) <= place(first)])
        else:
            notes += name([first])
        paths.append(notes)
    return paths


CHORDS = {
    "major": ["M3", "P5"], "minor": ["m3", "P5"], "dominant-seventh": ["M3", "P5", "m7"],
    "diminished-seventh": ["m3", "d5", "d7"],
}


def broken(chord: str, root: str, low: str, high: str) -> list[list[str]]:
    """The paths of a broken chord whose intervals are music21's."""
    from music21 import pitch

    ends = pitch.Pitch(low).ps, pitch.Pitch(high).ps
    notes = []
    for octave in range(0, 9):
        base = pitch.Pitch(f"{root}{octave}")
        notes += [base, *(base.transpose(above) for above in CHORDS[chord])]
    inside = [p for p in notes if ends[0] <= p.ps <= ends[1]]
    return expected(inside, inside, root)


def written(arguments: list[str], name: str):
    """What the program writes, read by music21, and what it said."""
    from music21 import converter

    path = foreread.scratch(name)
    done = foreread.run(["drill", *arguments, "--to", str(path)], limit=120)
    if done.status != 0 or done.panicked:
        return None, done
    warnings.simplefilter("ignore")
    return converter.parse(path, forceSource=True), done


def offered(arguments: list[str]) -> dict:
    """The drills that are offered, as JSON."""
    done = foreread.run(["drill", *arguments, "--as", "json"], limit=120)
    if done.status != 0:
        raise SystemExit(f"no list of drills for {arguments}: {done.err[:300]}")
    answer = done.json()
    jsonschema.validate(answer, SCHEMA)
    return answer


def split_at_double_bars(score) -> list[list[str]]:
    """The struck notes of a drill by its passages."""
    passages: list[list[str]] = [[]]
    for measure in score.parts[0].getElementsByClass("Measure"):
        for element in measure.notes:
            if element.tie is None or element.tie.type == "start":
                passages[-1].append(element.pitches[-1].nameWithOctave)
        if measure.rightBarline is not None and measure.rightBarline.type in ("double", "final"):
            passages.append([])
    return [passage for passage in passages if passage]


def check_scales() -> int:
    wrong = 0
    right: dict[str, int] = {}
    cases = [(tonic, "major") for tonic in MAJORS]
    cases += [(tonic, form) for tonic in MINORS for form in ("harmonic-minor", "melodic-minor", "natural-minor")]
    for tonic, form in cases:
        path = foreread.scratch(f"tune-{tonic}-{form}.musicxml")
        path.write_text(musicxml(tonic, form))
        arguments = [str(path), "--level", "professional", "--scales"]
        said = offered(arguments)
        low, high = said["player"]["range"]["low"], said["player"]["range"]["high"]
        low, high = low.replace("b", "-"), high.replace("b", "-")
        asked = [d for d in said["drills"] if d["kind"] == "scale" and d.get("scale", {}).get("form") == form
                 and d["scale"]["tonic"].replace("b", "-") == tonic]
        if not asked:
            names = [d["title"] for d in said["drills"]]
            print(f"  {tonic} {form}: not offered, but {names[:4]}")
            wrong += 1
            continue
        score, done = written(arguments, "scale.musicxml")
        if score is None:
            print(f"  {tonic} {form}: not written: {done.err[:200]}")
            wrong += 1
            continue
        passages = split_at_double_bars(score)
        at = 0
        for drill in said["drills"]:
            if drill["kind"] == "scale":
                own, its_form = drill["scale"]["tonic"].replace("b", "-"), drill["scale"]["form"]
                if its_form == "chromatic":
                    continue
                rising = ladder(its_form, own, low, high, "ascending")
                falling = ladder(its_form, own, low, high, "descending")
                wanted = expected(rising, falling, own)
            else:
                own, its_form = drill["chord"]["root"].replace("b", "-"), drill["chord"]["chord"]
                wanted = broken(its_form, own, low, high)
                its_form += " chord"
            for want in wanted:
                got = passages[at] if at < len(passages) else []
                at += 1
                if got != want:
                    print(f"  {own} {its_form}: {' '.join(got)}\n    by the library {' '.join(want)}")
                    wrong += 1
                else:
                    right[its_form] = right.get(its_form, 0) + 1
    total = sum(right.values())
    print(f"scales: {total} ways through {len(cases)} tunes' scales as the library has them; {wrong} not")
    print("  " + ", ".join(f"{form} {count}" for form, count in sorted(right.items())))
    for form in ("major", "harmonic-minor", "melodic-minor", "natural-minor"):
        if right.get(form, 0) < 12:
            print(f"  only {right.get(form, 0)} ways of {form}: twelve keys are wanted")
            wrong += 1
    return wrong


def exact(number) -> Fraction:
    return Fraction(number).limit_denominator(100_000)


def bars_fill(score, name: str, uneven: bool) -> list[str]:
    """What is wrong with the bars' lengths by the library's reading."""
    wrong = []
    signature = None
    for measure in score.parts[0].getElementsByClass("Measure"):
        signature = measure.timeSignature or signature
        if signature is None:
            continue
        length = sum((exact(e.quarterLength) for e in measure.notesAndRests if not e.duration.isGrace), Fraction(0))
        full = exact(signature.barDuration.quarterLength)
        if length <= 0 or length > full and not uneven:
            wrong.append(f"{name}: measure {measure.number} holds {length} of {full}")
    return wrong


def notes_of(part, bars: range) -> list[tuple[Fraction, tuple[str, ...]]]:
    """Struck notes of bars by index: length with ties joined, and pitches."""
    found: list[list] = []
    measures = list(part.getElementsByClass("Measure"))
    for index in bars:
        if index >= len(measures):
            continue
        measure = measures[index]
        voices = list(measure.voices)
        for element in (voices[0] if voices else measure).notes:
            if element.duration.isGrace or "ChordSymbol" in element.classes:
                continue
            tie = element.tie.type if element.tie else None
            pitches = tuple(sorted(p.nameWithOctave for p in element.pitches))
            if tie in ("stop", "continue") and found and found[-1][1] == pitches:
                found[-1][0] += exact(element.quarterLength)
            else:
                found.append([exact(element.quarterLength), pitches])
    return [(length, pitches) for length, pitches in found]


def check_piece(path: Path) -> tuple[list[str], dict[str, int]]:
    """What is wrong with the drills of a piece, and how many of each kind were looked at."""
    from music21 import converter, interval, pitch

    counts: dict[str, int] = {}
    wrong: list[str] = []
    said = offered([str(path)])
    player = said.get("player") or {}
    span = player.get("range")
    # Bars of the source that don't add up stay as they are.
    uneven = any("the bar holds" in finding["text"] for finding in said["reader_findings"])
    for arguments in (["--all"], ["--spot", "1"]):
        if arguments[0] == "--spot" and not any(d["spot"] == 1 for d in said["drills"]):
            continue
        if not said["drills"]:
            continue
        score, done = written([str(path), *arguments], "drills.musicxml")
        if done.panicked:
            return [f"{path.name} {arguments}: crashed: {done.err[-300:]}"], counts
        if score is None:
            wrong.append(f"{path.name} {arguments}: {done.err[:200]}")
            continue
        counts["files"] = counts.get("files", 0) + 1
        wrong += bars_fill(score, f"{path.name} {arguments}", uneven)
        for element in score.parts[0].recurse().notes:
            for p in element.pitches:
                if abs(p.alter) > 2:
                    wrong.append(f"{path.name}: {p} can't be read")
                if span and "can't be brought" not in done.err:
                    low, high = (pitch.Pitch(span[end].replace("b", "-")).ps for end in ("low", "high"))
                    if not low <= p.ps <= high:
                        wrong.append(f"{path.name} {arguments}: {p} outside {span['low']}-{span['high']}")
            counts["notes"] = counts.get("notes", 0) + 1
    # Half speed against the source as the library reads it.
    half = [d for d in said["drills"] if d["kind"] == "half-speed"][:3]
    source = converter.parse(path, forceSource=True) if half else None
    for drill in half:
        bars = f"{drill['from_bar']}-{drill['to_bar']}" if drill["from_bar"] != drill["to_bar"] else drill["from_bar"]
        score, done = written([str(path), "--bars", bars, "--kind", "half-speed"], "half.musicxml")
        if score is None or "octave" in done.err or "range" in done.err:
            continue
        number = said["piece"]["part_number"] - 1
        # The library makes two parts of one with two staves; of several voices it is not known which is the line.
        several = any(list(m.voices)[1:] for m in source.parts[number].getElementsByClass("Measure"))
        if len(source.parts) != len(said["piece"]["parts"]) or several:
            continue
        want = notes_of(source.parts[number], range(drill["from_bar_index"], drill["to_bar_index"] + 1))
        got = notes_of(score.parts[0], range(10_000))
        # The last note is the next downbeat; a tie into the first bar or over the end is cut.
        doubled = [(2 * length, pitches) for length, pitches in want]
        inside = got[:len(doubled)]
        if inside[:-1] == doubled[:-1] and inside and inside[-1][1] == doubled[-1][1]:
            counts["half speed"] = counts.get("half speed", 0) + 1
        else:
            wrong.append(f"{path.name} bars {bars} at half speed: {inside[:6]} for {doubled[:6]}")
    through = [d for d in said["drills"] if d["kind"] == "through-keys"][:2]
    for drill in through:
        bars = f"{drill['from_bar']}-{drill['to_bar']}" if drill["from_bar"] != drill["to_bar"] else drill["from_bar"]
        for order in ("fourths", "semitones"):
            score, done = written([str(path), "--bars", bars, "--kind", "through-keys", "--through", order], "keys.musicxml")
            if score is None:
                wrong.append(f"{path.name} through the keys: {done.err[:200]}")
                continue
            passages = split_at_double_bars(score)
            first = [pitch.Pitch(name) for name in passages[0]]
            for passage in passages[1:]:
                moved = interval.Interval(first[0], pitch.Pitch(passage[0]))
                if [moved.transposePitch(p).nameWithOctave for p in first] != passage:
                    wrong.append(f"{path.name} bars {bars}: {passage} is not {passages[0]} moved by {moved.name}")
            counts["keys"] = counts.get("keys", 0) + len(passages)
    return wrong, counts


def corpus_files() -> list[Path]:
    root = scores.package_folder() / "corpus"
    files: list[Path] = []
    for unit in CORPUS:
        path = root / unit
        if path.is_dir():
            files += sorted(p for p in path.rglob("*") if p.suffix in scores.MUSICXML)[:1]
        elif path.exists():
            files.append(path)
        else:
            print(f"  (not in this library: {unit})")
    return files


def main() -> int:
    wrong = check_scales()
    total: dict[str, int] = {}
    pieces = sorted(p for p in DEMO.glob("*.musicxml") if "timewise" not in p.name) + corpus_files()
    for path in pieces:
        found, counts = check_piece(path)
        for line in found[:6]:
            print("  " + line)
        wrong += len(found)
        for name, count in counts.items():
            total[name] = total.get(name, 0) + count
    print(f"drills of {len(pieces)} pieces: " + ", ".join(f"{name} {count}" for name, count in sorted(total.items())) + f"; {wrong} wrong")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
