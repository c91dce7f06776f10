"""What does a line of our terse score notation say? Text in, a plain model out; nothing is laid out or written here.

A score file is: comment lines (`#`, the plan of the piece), header lines (`name: value`), then bars, one a line:

    12: @p (q. F4 e G4) q Ab4~ | 

LABEL, a colon, tokens. A header `part: NAME` after the first bars begins another part.

Lengths are sticky: `w h q e s t` (whole, half, quarter, eighth, sixteenth, thirty-second), each with dots.

Notes are spelled in full, octave 4 begins at middle C: `Bb3 F##4`. `G3&D4` is a double stop. Before a note: `(` begins a
slur, `/` a slashed grace note, `+` a plain one (several in a row are beamed sixteenths). After a pitch: `?` a cautionary
accidental in parentheses, `~` a tie. After the note: `.` staccato, `!` staccatissimo, `-` tenuto, `>` accent, `^`
marcato, `.-` portato, `%` spiccato, `)` ends a slur, and `{trill, flat}` anything else by name (see MARKS).

`r` is a rest of the sticky length, `R` a whole bar of rest, `x` an invisible gap. `[3:2 ... ]` is a tuplet and may hold
another. `//` begins the bar's second voice (or second staff). `R*4` makes the bar the first of four empty ones. `%` alone
repeats the bar before.

Directions stand before the note they belong to: `@mf` dynamics, `@<` `@>` hairpins and `@/` their end, `@poco_f` a word
and a dynamic, `"rit."` words above, `_"dolce"` words below, `T"Andante":q=72` a tempo, `@reh:A`, `@segno @coda @tocoda
@fine @dc:"D.C. al Fine" @ds:"D.S. al Coda"` with their `sound` element (the same words as plain text have none; `@segno!`
and `@coda!` are the bare signs), `@second:"2nd time p"` words whose `sound` holds for the second time only, `@8va` and `@8va/`. `@key:-4:minor` or `@key:free:Bb,F#`, `@time:7/8:2+2+3`,
`@clef:tenor`, `@len:1` (a bar shorter than its metre), `@line` (a new system).

Barlines: `|:` first, then `:|`, `||`, `|.` last; `vol1` first and `vol1.` or `vol2-` last bound an ending.
"""

import re
from dataclasses import dataclass, field
from fractions import Fraction

TYPES = {"w": ("whole", 4), "h": ("half", 2), "q": ("quarter", 1), "e": ("eighth", Fraction(1, 2)),
         "s": ("16th", Fraction(1, 4)), "t": ("32nd", Fraction(1, 8))}
DYNAMICS = {"pp", "p", "mp", "mf", "f", "ff", "fp", "sf", "sfz", "rfz", "fz", "ppp", "fff"}
ARTICULATIONS = {".-": "detached-legato", ".": "staccato", "!": "staccatissimo", "-": "tenuto", ">": "accent",
                 "^": "strong-accent", "%": "spiccato"}
MARKS = {"trill", "mordent", "imordent", "turn", "iturn", "dturn", "diturn", "trem3", "trem2", "wavy(", "wavy)", "fermata",
         "breath", "caesura", "stopped", "open", "down", "up", "harmonic", "cue", "thumb", "snap"}
ACCIDENTAL_WORDS = {"sharp", "flat", "natural", "double-sharp"}

TOKEN = re.compile(r'(?:T|_|@(?:d[cs]|reh|second):)?"[^"]*"(?::\S+)?|\[\d+:\d+|\]|\S+')
NOTE = re.compile(r"^(?P<grace>[/+]?)(?P<open>\(*)(?P<pitches>[A-G](?:##|#|bb|b)?\d\??~?(?:&[A-G](?:##|#|bb|b)?\d\??~?)*|r|x)"
                  r"(?P<arts>[.!\-^>%]*)(?P<close>\)*)(?:\{(?P<marks>[^}]*)\})?$")
PITCH = re.compile(r"([A-G])(##|#|bb|b)?(\d)(\??)(~?)")
ALTER = {None: 0, "#": 1, "##": 2, "b": -1, "bb": -2}


class ScoreError(Exception):
    """Something a musician must put right in the score text, with its bar."""


@dataclass
class Head:
    step: str
    alter: int
    octave: int
    caution: bool = False
    tie: bool = False
    tied_from: bool = False
    accidental: str = ""

    def pitch(self):
        return (self.step, self.alter, self.octave)

    def key_number(self):
        return 12 * (self.octave + 1) + {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}[self.step] + self.alter


@dataclass
class Note:
    heads: list
    type: str
    dots: int
    length: Fraction              # sounding quarter notes, tuplets applied; 0 for a grace note
    base: Fraction                # written quarter notes, dots applied, tuplets not
    onset: Fraction = Fraction(0)
    grace: str = ""
    kind: str = "note"            # note, rest, full (a whole bar of rest), gap
    articulations: list = field(default_factory=list)
    marks: list = field(default_factory=list)
    slur_open: int = 0
    slur_close: int = 0
    tuplets: list = field(default_factory=list)      # the chain in force: (actual, normal, type)
    tuplet_open: list = field(default_factory=list)  # depths that begin here
    tuplet_close: list = field(default_factory=list)
    beams: list = field(default_factory=list)
    slur_numbers: list = field(default_factory=list)  # (number, start or stop), filled by rules
    cue: bool = False


@dataclass
class Direction:
    kind: str
    text: str = ""
    extra: str = ""


@dataclass
class Bar:
    label: str
    voices: list                  # each a list of Note and Direction
    full: Fraction                # the metre's length in quarter notes
    length: Fraction              # what this bar holds
    implicit: bool = False
    key: tuple = None             # (fifths, mode) or ("free", [(step, alter)])
    time: tuple = None            # (text beats, beat type, groups, symbol)
    clef: str = None
    clef2: str = None
    metre: tuple = None           # in force
    key_in_force: tuple = None
    left: list = field(default_factory=list)
    right: list = field(default_factory=list)
    multirest: int = 0
    repeat_of_previous: bool = False
    new_line: bool = False


@dataclass
class Part:
    instrument: str
    bars: list = field(default_factory=list)
    staves: int = 1


@dataclass
class Score:
    name: str
    header: dict
    plan: list
    parts: list


def parse_metre(text):
    """`6/8`, `7/8:2+2+3`, `C`, `cut`: (beats, beat type, groups in quarter notes, symbol)."""
    symbol = {"C": "common", "cut": "cut"}.get(text.split(":")[0], "")
    body, _, groups = text.partition(":")
    body = {"C": "4/4", "cut": "2/2"}.get(body, body)
    beats, beat_type = (int(x) for x in body.split("/"))
    unit = Fraction(4, beat_type)
    if groups:
        spans = [int(g) * unit for g in groups.split("+")]
    elif beat_type == 8 and beats % 3 == 0:
        spans = [3 * unit] * (beats // 3)
    else:
        spans = [unit] * beats
    return (beats, beat_type, spans, symbol)


def parse_key(text):
    """`-4:minor` or `free:Bb,Eb,F#`."""
    if text.startswith("free:"):
        return ("free", [(p[0], ALTER[p[1:] or None]) for p in text[5:].split(",")])
    fifths, _, mode = text.partition(":")
    return (int(fifths), mode or "major")


class Reader:
    """Reads the bars of one part, keeping what is in force from line to line."""

    def __init__(self, where):
        self.where, self.metre, self.key = where, None, None

    def bar(self, label, text):
        tokens = TOKEN.findall(text)
        bar = Bar(label, [[]], Fraction(0), Fraction(0), implicit=label == "0" or label.startswith("X"))
        self.state = {"length": None, "chain": [], "pending": [], "onset": Fraction(0)}
        given = None
        for token in tokens:
            if token == "//":
                bar.voices.append([])
                self.state.update(length=None, onset=Fraction(0))
            elif token in ("|:", ":|", "||", "|.", "|") or re.match(r"^vol\d[.\-]?$", token):
                self.barline(bar, token)
            elif token.startswith("@len:"):
                given = Fraction(token[5:])
            elif not self.attribute(bar, token):
                self.voice_token(bar, label, token)
        if self.state["chain"]:
            raise ScoreError(f"{self.where} bar {label}: a tuplet is not closed")
        bar.metre, bar.key_in_force = self.metre, self.key
        beats, beat_type, _, _ = self.metre
        bar.full = Fraction(4 * beats, beat_type)
        bar.length = given if given is not None else bar.full
        return bar

    def barline(self, bar, token):
        if token == "|":
            return
        if token == "|:" or re.match(r"^vol\d$", token):
            bar.left.append(token)
        else:
            bar.right.append(token)

    def attribute(self, bar, token):
        """Changes that stand in a bar's attributes: at its start only, except clefs."""
        if token.startswith("@key:"):
            bar.key = self.key = parse_key(token[5:])
        elif token.startswith("@time:"):
            bar.time = self.metre = parse_metre(token[6:])
        elif token.startswith("@clef2:"):
            bar.clef2 = token[7:]
        elif token.startswith("@clef:") and not bar.voices[0]:
            bar.clef = token[6:]
        elif token == "@line":
            bar.new_line = True
        elif re.match(r"^R\*\d+$", token):
            bar.multirest = int(token[2:])
            bar.voices[-1].append(self.full_rest())
        elif token == "R":
            bar.voices[-1].append(self.full_rest())
        elif token == "%":
            bar.repeat_of_previous = True
        else:
            return False
        return True

    def full_rest(self):
        beats, beat_type, _, _ = self.metre
        full = Fraction(4 * beats, beat_type)
        return Note([], "", 0, full, full, kind="full")

    def voice_token(self, bar, label, token):
        voice, state = bar.voices[-1], self.state
        where = f"{self.where} bar {label}"
        if re.match(r"^[whqest]\.{0,2}$", token):
            state["length"] = token
        elif token.startswith("["):
            actual, normal = (int(x) for x in token[1:].split(":"))
            state["chain"].append([actual, normal, None])
            state["pending"].append(len(state["chain"]))
        elif token == "]":
            last = [n for n in voice if isinstance(n, Note)][-1]
            last.tuplet_close.append(len(state["chain"]))
            state["chain"].pop()
        elif token.startswith("@") or '"' in token:
            voice.append(direction(where, token))
        else:
            voice.append(self.note(where, token))

    def note(self, where, token):
        match, state = NOTE.match(token), self.state
        if not match:
            raise ScoreError(f"{where}: I cannot read {token!r}")
        marks = [m.strip() for m in (match["marks"] or "").split(",") if m.strip()]
        for mark in marks:
            if mark not in MARKS and mark not in ACCIDENTAL_WORDS and not re.match(r"^(below-)?(sharp|flat|natural)$|^f:\S+$|^str:\d$", mark):
                raise ScoreError(f"{where}: unknown mark {mark!r}")
        if match["grace"]:
            note = Note([], "eighth", 0, Fraction(0), Fraction(0), grace="slash" if match["grace"] == "/" else "plain")
        else:
            if state["length"] is None:
                raise ScoreError(f"{where}: {token!r} has no length")
            letter, dots = state["length"][0], len(state["length"]) - 1
            name, base = TYPES[letter]
            base = Fraction(base) * (2 - Fraction(1, 2 ** dots))
            length = base
            for actual, normal, _ in state["chain"]:
                length = length * normal / actual
            note = Note([], name, dots, length, base)
            note.tuplets = [tuple(c) for c in state["chain"]]
            note.tuplet_open, state["pending"] = state["pending"], []
        note.onset = state["onset"]
        state["onset"] += note.length
        if match["pitches"] in ("r", "x"):
            note.kind = {"r": "rest", "x": "gap"}[match["pitches"]]
        else:
            for step, acc, octave, caution, tie in PITCH.findall(match["pitches"]):
                note.heads.append(Head(step, ALTER[acc or None], int(octave), bool(caution), bool(tie)))
        note.articulations = articulations(match["arts"])
        note.marks, note.cue = [m for m in marks if m != "cue"], "cue" in marks
        note.slur_open, note.slur_close = len(match["open"]), len(match["close"])
        return note


def articulations(text):
    found = []
    if ".-" in text:
        found.append("detached-legato")
        text = text.replace(".-", "")
    return found + [ARTICULATIONS[c] for c in text]


def direction(where, token):
    if token.startswith("T"):
        words, _, mark = token[1:].rpartition('"')
        return Direction("tempo", words[1:], mark.lstrip(":"))
    if token.startswith("_"):
        return Direction("below", token[2:-1])
    if token.startswith('"'):
        return Direction("above", token[1:-1])
    name, _, value = token[1:].partition(":")
    value = value.strip('"')
    if name in DYNAMICS:
        return Direction("dynamic", name)
    if name in ("poco_f", "poco_p", "meno_f"):
        word, mark = name.split("_")
        return Direction("word_dynamic", word, mark)
    if name in ("<", ">", "/"):
        return Direction("wedge", {"<": "crescendo", ">": "diminuendo", "/": "stop"}[name])
    if name in ("reh", "segno", "segno!", "coda", "coda!", "tocoda", "tocoda!", "fine", "dc", "ds", "8va", "8va/", "clef",
                "second"):
        return Direction(name, value)
    raise ScoreError(f"{where}: unknown direction {token!r}")


def read_score(name, text):
    """A whole score file. Errors name the piece and bar."""
    header, plan, parts = {}, [], []
    reader = None
    for line in text.splitlines():
        line = line.rstrip()
        if line.startswith("#"):
            plan.append(line.lstrip("# ").rstrip())
            continue
        if not line.strip():
            continue
        label, _, rest = (x.strip() for x in line.partition(":"))
        if not re.match(r"^(\d+[a-z]?|X\d+)$", label):
            if label in ("instrument", "part"):
                parts.append(Part(rest))
                reader = Reader(f"{name}, {rest},")
            elif label == "staves":
                parts[-1].staves = int(rest)
            else:
                header[label] = rest
            continue
        part = parts[-1]
        bar = reader.bar(label, rest)
        if bar.repeat_of_previous:
            copy = part.bars[-1]
            added = bar.voices[0]  # directions only: they stand at the end
            bar.voices = [[clone(n) for n in v if isinstance(n, Note)] for v in copy.voices]
            bar.voices[0] += added
        part.bars.append(bar)
        for extra in range(1, bar.multirest):
            more = Bar(str(int(label) + extra), [[reader.full_rest()]], bar.full, bar.full, metre=bar.metre,
                       key_in_force=bar.key_in_force)
            part.bars.append(more)
        if bar.multirest > 1:  # the barline belongs to the last of them
            part.bars[-1].right, bar.right = bar.right, []
    return Score(name, header, plan, parts)


def clone(note):
    heads = [Head(*h.pitch(), tie=h.tie) for h in note.heads]
    return Note(heads, note.type, note.dots, note.length, note.base, note.onset, note.grace, note.kind,
                list(note.articulations), list(note.marks), note.slur_open, note.slur_close, list(note.tuplets),
                list(note.tuplet_open), list(note.tuplet_close), cue=note.cue)
