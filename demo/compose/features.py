"""Where does each thing that a reader must understand stand in the demo? Scans the model, so the list can't be wrong.

Gives, for each feature, the pieces and printed bar labels that hold it.
"""

from fractions import Fraction

from notation import Direction, Note
from rules import SIGNS, signature

MARK_NAMES = {"trill": "trill", "mordent": "mordent", "imordent": "inverted mordent", "turn": "turn", "iturn": "inverted turn",
              "dturn": "delayed turn", "trem3": "tremolo", "wavy(": "trill with wavy line", "fermata": "fermata",
              "breath": "breath mark", "caesura": "caesura", "stopped": "stopped (horn)", "thumb": "thumb position"}
MAJOR_OR_MINOR = ("major", "minor")


def scan(score):
    """(feature, bar label) pairs of a piece, in page order."""
    found = []
    for number, part in enumerate(score.parts):
        if number == 0:
            for index, bar in enumerate(part.bars):
                found += [(f, bar.label) for f in bar_features(part, index)]
        if part.staves > 1:
            found.append(("a second part with two staves", part.bars[0].label))
    found += [("score-timewise copy", "all")] * ("timewise" in score.header.get("containers", ""))
    found += [("compressed .mxl copy", "all")] * ("mxl" in score.header.get("containers", ""))
    return found


def bar_features(part, index):
    bar = part.bars[index]
    yield from page_features(part, bar, index)
    for voice in bar.voices:
        for item in voice:
            yield from direction_features(item) if isinstance(item, Direction) else note_features(item, bar)
    marks = {a for v in bar.voices for n in v if isinstance(n, Note) for a in n.articulations}
    if len(marks) > 1:
        yield "contrasting articulations in one bar"
    yield from accidental_features(bar)
    if len(bar.voices) > 1 and not any(n.cue for n in notes(bar)):
        yield "two voices"
    yield from pattern_features(bar)


def notes(bar):
    return [n for v in bar.voices for n in v if isinstance(n, Note)]


def page_features(part, bar, index):
    if bar.implicit and index == 0:
        yield "pickup"
    if not bar.implicit and bar.length < bar.full:
        yield "short or split bar"
    if not bar.label.isdigit():
        yield "printed bar label that is not a plain number"
    if index and bar.key:
        yield "key change"
    if bar.key and bar.key[0] == "free":
        yield "non-traditional key signature"
    if bar.key and bar.key[0] == 0:
        yield "no key signature"
    if index and bar.time:
        yield "metre change"
    if bar.time:
        yield f"metre {bar.time[0]}/{bar.time[1]}" + (" (cut)" if bar.time[3] == "cut" else "")
        if bar.time[1] == 8 and bar.time[0] % 3 or bar.time[0] == 5:
            yield "irregular metre, its grouping shown by the beams"
    for clef in (bar.clef, *(i.text for v in bar.voices for i in v if isinstance(i, Direction) and i.kind == "clef")):
        if clef:
            yield f"{clef} clef"
            if index:
                yield "clef change"
    if bar.multirest:
        yield "multi-bar rest"
    if bar.repeat_of_previous:
        yield "measure repeat"
    names = {"|:": "start repeat", ":|": "end repeat", "||": "double barline"}
    for token in bar.left + bar.right:
        if token in names:
            yield names[token]
        elif token.startswith("vol") and token[-1].isdigit():
            yield f"ending {token[3]}"


def direction_features(item):
    kind, text = item.kind, item.text
    names = {"reh": "rehearsal mark", "8va": "ottava (8va)", "segno": "segno with sound", "segno!": "segno without sound",
             "coda": "coda with sound", "coda!": "coda without sound", "tocoda": "To Coda with sound",
             "tocoda!": "To Coda without sound", "fine": "Fine with sound", "dc": "D.C. al Fine with sound",
             "ds": "D.S. al Coda with sound", "second": "sound for one time only (time-only)"}
    if kind in names:
        yield names[kind]
    elif kind == "dynamic":
        yield f"dynamic {text}"
    elif kind == "word_dynamic":
        yield f"dynamic {text} {item.extra}"
    elif kind == "wedge" and text != "stop":
        yield f"hairpin, {text}"
    elif kind == "tempo":
        yield "tempo words with a metronome mark"
    elif kind in ("above", "below"):
        jumps = {"Fine": "Fine in words alone", "D.C. al Fine": "D.C. al Fine in words alone",
                 "D.S. al Coda": "D.S. al Coda in words alone", "subito": "sudden change (subito)"}
        yield jumps.get(text, "words above (changes of tempo, technique)" if kind == "above" else "words below (character, dynamics)")


def note_features(note, bar):
    if note.grace:
        yield "slashed grace note" if note.grace == "slash" else "unslashed grace notes"
    if note.cue:
        yield "cue notes"
    for depth in note.tuplet_open:
        actual, normal, _ = note.tuplets[depth - 1]
        yield "nested tuplet" if depth > 1 else f"tuplet {actual}:{normal}"
    for name in note.articulations:
        yield {"strong-accent": "marcato", "detached-legato": "portato"}.get(name, name)
    for mark in note.marks:
        if mark in MARK_NAMES:
            yield MARK_NAMES[mark]
        elif mark.startswith("f:"):
            yield "fingering"
        elif mark in SIGNS.values():
            yield "ornament with an accidental above"
        elif mark.startswith("below-"):
            yield "ornament with an accidental below"
    if len(note.heads) > 1:
        yield "double stop" if len(note.heads) == 2 else "chord of three or four notes"
    if any(h.tied_from for h in note.heads) and note.onset == 0:
        yield "tie over the barline"
    if note.slur_open:
        yield "slur"


def accidental_features(bar):
    given, seen = signature(bar.key_in_force), {}
    for note in notes(bar):
        for head in note.heads:
            if abs(head.alter) == 2:
                yield "double sharp" if head.alter > 0 else "double flat"
            if (head.step, head.alter) in (("E", 1), ("B", 1), ("C", -1), ("F", -1)):
                yield "enharmonic spelling " + head.step + ("♯" if head.alter > 0 else "♭")
            if head.caution:
                yield "cautionary accidental"
            if head.alter != given.get(head.step, 0) and not head.accidental and not head.tied_from:
                yield "altered note carried silently"
            if head.tied_from and note.onset == 0 and head.alter != given.get(head.step, 0):
                yield "altered note tied over the barline"
                later = [h for n in notes(bar) for h in n.heads if h is not head and h.step == head.step]
                if later:
                    yield "… and its letter returns in that bar"
            place = (head.step, head.octave)
            if place in seen and seen[place] != head.alter:
                yield "double inflection (one note in two forms in a bar)"
            seen[place] = head.alter


def pattern_features(bar):
    line = [n for n in bar.voices[0] if isinstance(n, Note) and not n.grace]
    runs = chromatic = 0
    for left, right in zip(line, line[1:]):
        step = abs(right.heads[0].key_number() - left.heads[0].key_number()) if left.heads and right.heads else 0
        chromatic = chromatic + 1 if step == 1 else 0
        if chromatic == 4:
            yield "chromatic run"
        if step > 12:
            yield "leap wider than an octave"
    for note in line:
        runs = runs + 1 if note.type == "16th" and note.kind == "note" else 0
        if runs == 7:
            yield "sixteenth run"
        if note.dots and note.type in ("quarter", "eighth") and bar.metre[1] == 4:
            yield "dotted rhythm"
    for a, b in zip(line, line[1:]):
        offbeat = a.onset % 1 == Fraction(1, 2) and b.length > Fraction(1, 2) and b.onset % 1 == Fraction(1, 2)
        if bar.metre[1] in (2, 4) and b.kind == "note" and (offbeat or a.onset == 0 and a.length == Fraction(1, 2) and b.length == 1):
            yield "syncopation"
            break


# Patterns that a scan of one bar can't tell: named by the composer.
BY_HAND = {
    "hemiola": [("town_hall_minuet", "14"), ("town_hall_minuet", "15"), ("lantern_barge", "15")],
    "slur two, tongue two": [("kite_weather", b) for b in ("1", "2", "3", "5", "6", "7")],
    "pedal point": [("causeway_at_dusk", "35"), ("winding_road", "17"), ("winding_road", "37")],
    "raised 6th and 7th going up": [("causeway_at_dusk", "18"), ("causeway_at_dusk", "39"), ("signal_box_march", "13"),
                                    ("winding_road", "45")],
    "crossing the clarinet's break": [("lantern_barge", b) for b in ("5", "7b", "17", "18", "19")],
    "major final chord in a minor piece": [("low_water", "42")],
}


def table(scores):
    """Feature → list of (piece title, labels), both in a steady order."""
    out = {}
    for score in scores:
        for feature, label in scan(score):
            labels = out.setdefault(feature, {}).setdefault(score.name, [])
            if label not in labels:
                labels.append(label)
    for feature, places in BY_HAND.items():
        for name, label in places:
            out.setdefault(feature, {}).setdefault(name, []).append(label)
    return dict(sorted(out.items(), key=lambda kv: kv[0].lstrip("… ").lower()))
