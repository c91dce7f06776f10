"""How does a checked score become MusicXML 4.0? Element order is the standard's (MusicXML 4.0, note, attributes, measure)."""

import io
import zipfile
from fractions import Fraction
from math import lcm
from xml.sax.saxutils import escape

from instruments import CLEFS, INSTRUMENTS
from notation import Direction, Note
from rules import SIGNS, notes_of

PARTWISE = '<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" "http://www.musicxml.org/dtds/partwise.dtd">'
TIMEWISE = PARTWISE.replace("partwise", "timewise").replace("Partwise", "Timewise")
TYPE_OF = {"w": "whole", "h": "half", "q": "quarter", "e": "eighth", "s": "16th"}
QUARTERS = {"w": Fraction(4), "h": Fraction(2), "q": Fraction(1), "e": Fraction(1, 2), "s": Fraction(1, 4)}
ORNAMENTS = {"trill": "trill-mark", "mordent": "mordent", "imordent": "inverted-mordent", "turn": "turn",
             "iturn": "inverted-turn", "dturn": "delayed-turn", "diturn": "delayed-inverted-turn"}
TECHNICAL = {"down": "down-bow", "up": "up-bow", "harmonic": "harmonic", "open": "open-string", "stopped": "stopped",
             "snap": "snap-pizzicato", "thumb": "thumb-position"}
ITALIC = 'font-style="italic"'
BOLD = 'font-weight="bold"'


class Writer:
    """Writes one score; `lines` collects indented XML."""

    def __init__(self, score):
        self.score = score
        lengths = [n.length for p in score.parts for b in p.bars for n in notes_of(b)]
        lengths += [b.length for p in score.parts for b in p.bars]
        self.divisions = lcm(*(x.denominator for x in lengths))
        self.lines = []

    def ticks(self, quarters):
        value = quarters * self.divisions
        assert value.denominator == 1
        return int(value)

    def put(self, depth, text):
        self.lines.append("  " * depth + text)

    # ---- the whole file -------------------------------------------------------------------------------------------

    def partwise(self):
        self.lines = ['<?xml version="1.0" encoding="UTF-8"?>', PARTWISE, '<score-partwise version="4.0">']
        self.head()
        for number, part in enumerate(self.score.parts, 1):
            self.put(1, f'<part id="P{number}">')
            for index in range(len(part.bars)):
                self.measure(2, part, index)
            self.put(1, "</part>")
        self.put(0, "</score-partwise>")
        return "\n".join(self.lines) + "\n"

    def timewise(self):
        self.lines = ['<?xml version="1.0" encoding="UTF-8"?>', TIMEWISE, '<score-timewise version="4.0">']
        self.head()
        for index, bar in enumerate(self.score.parts[0].bars):
            self.put(1, f"<measure {measure_name(bar)}>")
            for number, part in enumerate(self.score.parts, 1):
                self.put(2, f'<part id="P{number}">')
                self.contents(3, part, index)
                self.put(2, "</part>")
            self.put(1, "</measure>")
        self.put(0, "</score-timewise>")
        return "\n".join(self.lines) + "\n"

    def head(self):
        head = self.score.header
        self.put(1, f"<work><work-title>{escape(head['title'])}</work-title></work>")
        self.put(1, "<identification>")
        self.put(2, f'<creator type="composer">{escape(head.get("composer", "Foreread demo"))}</creator>')
        self.put(2, "<rights>Newly composed for Foreread. MIT OR Apache-2.0</rights>")
        self.put(2, "<encoding><software>Foreread demo/compose</software></encoding>")
        self.put(1, "</identification>")
        for kind, text, place in (("title", head["title"], 'justify="center" font-size="20"'),
                                  ("subtitle", head.get("subtitle", ""), 'justify="center" font-size="12"'),
                                  ("composer", head.get("composer", "Foreread demo"), 'justify="right" font-size="10"')):
            if text:
                self.put(1, f'<credit page="1"><credit-type>{kind}</credit-type><credit-words {place}>{escape(text)}</credit-words></credit>')
        self.put(1, "<part-list>")
        for number, part in enumerate(self.score.parts, 1):
            short, sound, _, program = INSTRUMENTS[part.instrument]
            self.put(2, f'<score-part id="P{number}">')
            self.put(3, f"<part-name>{part.instrument}</part-name>")
            self.put(3, f"<part-abbreviation>{short}</part-abbreviation>")
            self.put(3, f'<score-instrument id="P{number}-I1"><instrument-name>{part.instrument}</instrument-name>'
                        f"<instrument-sound>{sound}</instrument-sound></score-instrument>")
            self.put(3, f'<midi-instrument id="P{number}-I1"><midi-channel>{number}</midi-channel>'
                        f"<midi-program>{program}</midi-program></midi-instrument>")
            self.put(2, "</score-part>")
        self.put(1, "</part-list>")

    # ---- one bar --------------------------------------------------------------------------------------------------

    def measure(self, depth, part, index):
        self.put(depth, f"<measure {measure_name(part.bars[index])}>")
        self.contents(depth + 1, part, index)
        self.put(depth, "</measure>")

    def contents(self, depth, part, index):
        bar = part.bars[index]
        if bar.new_line and part is self.score.parts[0]:
            self.put(depth, '<print new-system="yes"/>')
        self.attributes(depth, part, index)
        self.left_barline(depth, bar)
        for number, voice in enumerate(bar.voices, 1):
            if number > 1:
                self.put(depth, f"<backup><duration>{self.ticks(bar.length)}</duration></backup>")
            staff = number if part.staves > 1 else 0
            for item in voice:
                if isinstance(item, Direction):
                    self.direction(depth, item, number, staff)
                else:
                    self.note(depth, item, number, staff, bar, len(bar.voices) > 1)
        self.right_barline(depth, bar)

    def attributes(self, depth, part, index):
        bar, out = part.bars[index], []
        if index == 0:
            out.append(f"<divisions>{self.divisions}</divisions>")
        if bar.key:
            out.append(key_element(bar.key))
        if bar.time:
            beats, beat_type, _, symbol = bar.time
            mark = f' symbol="{symbol}"' if symbol else ""
            out.append(f"<time{mark}><beats>{beats}</beats><beat-type>{beat_type}</beat-type></time>")
        if index == 0 and part.staves > 1:
            out.append(f"<staves>{part.staves}</staves>")
        if bar.clef:
            out.append(clef_element(bar.clef, 1 if part.staves > 1 else 0))
        if bar.clef2:
            out.append(clef_element(bar.clef2, 2))
        transpose = INSTRUMENTS[part.instrument][2]
        if index == 0 and transpose:
            diatonic, chromatic, octave = transpose
            change = f"<octave-change>{octave}</octave-change>" if octave else ""
            out.append(f"<transpose><diatonic>{diatonic}</diatonic><chromatic>{chromatic}</chromatic>{change}</transpose>")
        if bar.multirest:
            out.append(f"<measure-style><multiple-rest>{bar.multirest}</multiple-rest></measure-style>")
        if index and part.bars[index - 1].repeat_of_previous and not bar.repeat_of_previous:
            out.append('<measure-style><measure-repeat type="stop"/></measure-style>')
        if bar.repeat_of_previous and not part.bars[index - 1].repeat_of_previous:
            out.append('<measure-style><measure-repeat type="start">1</measure-repeat></measure-style>')
        if out:
            self.put(depth, "<attributes>")
            for line in out:
                self.put(depth + 1, line)
            self.put(depth, "</attributes>")

    def left_barline(self, depth, bar):
        if not bar.left:
            return
        inner = ""
        if "|:" in bar.left:
            inner += "<bar-style>heavy-light</bar-style>"
        for token in bar.left:
            if token.startswith("vol"):
                inner += f'<ending number="{token[3]}" type="start">{token[3]}.</ending>'
        if "|:" in bar.left:
            inner += '<repeat direction="forward"/>'
        self.put(depth, f'<barline location="left">{inner}</barline>')

    def right_barline(self, depth, bar):
        if not bar.right:
            return
        inner = ""
        if ":|" in bar.right or "|." in bar.right:
            inner += "<bar-style>light-heavy</bar-style>"
        elif "||" in bar.right:
            inner += "<bar-style>light-light</bar-style>"
        for token in bar.right:
            if token.startswith("vol"):
                kind = "stop" if token.endswith(".") else "discontinue"
                inner += f'<ending number="{token[3]}" type="{kind}"/>'
        if ":|" in bar.right:
            inner += '<repeat direction="backward"/>'
        self.put(depth, f'<barline location="right">{inner}</barline>')

    # ---- one direction --------------------------------------------------------------------------------------------

    def direction(self, depth, item, voice, staff):
        if item.kind == "clef":
            self.put(depth, f"<attributes>{clef_element(item.text, staff)}</attributes>")
            return
        types, place, sound = direction_types(item)
        where = f"<staff>{staff}</staff>" if staff else ""
        body = "".join(f"<direction-type>{t}</direction-type>" for t in types)
        self.put(depth, f'<direction placement="{place}">{body}<voice>{voice}</voice>{where}{sound}</direction>')

    # ---- one note -------------------------------------------------------------------------------------------------

    def note(self, depth, note, voice, staff, bar, shared):
        if note.kind == "gap":
            self.put(depth, f"<forward><duration>{self.ticks(note.length)}</duration><voice>{voice}</voice></forward>")
            return
        for number, head in enumerate(note.heads or [None]):
            out = []
            if note.grace:
                out.append('<grace slash="yes"/>' if note.grace == "slash" else '<grace/>')
            if note.cue:
                out.append("<cue/>")
            if number:
                out.append("<chord/>")
            if head is None:
                out.append('<rest measure="yes"/>' if note.kind == "full" else "<rest/>")
            else:
                alter = f"<alter>{head.alter}</alter>" if head.alter else ""
                out.append(f"<pitch><step>{head.step}</step>{alter}<octave>{head.octave}</octave></pitch>")
            if not note.grace:
                length = bar.length if note.kind == "full" else note.length
                out.append(f"<duration>{self.ticks(length)}</duration>")
            if head and not note.cue:
                out += ['<tie type="stop"/>'] * head.tied_from + ['<tie type="start"/>'] * head.tie
            out.append(f"<voice>{voice}</voice>")
            if note.kind != "full":
                out.append(f"<type>{note.type}</type>" + "<dot/>" * note.dots)
            if head and head.accidental:
                mark = ' cautionary="yes" parentheses="yes"' if head.caution else ""
                out.append(f"<accidental{mark}>{head.accidental}</accidental>")
            if note.tuplets:
                out.append(time_modification(note.tuplets))
            if shared and not staff and note.heads:
                out.append(f"<stem>{'up' if voice == 1 else 'down'}</stem>")
            if staff:
                out.append(f"<staff>{staff}</staff>")
            if number == 0:
                out += [f'<beam number="{level}">{word}</beam>' for level, word in note.beams]
            notations = self.notations(note, head, number == 0)
            if notations:
                out.append(f"<notations>{notations}</notations>")
            self.put(depth, f"<note>{''.join(out)}</note>")

    def notations(self, note, head, first):
        out = ""
        if head:
            out += '<tied type="stop"/>' * head.tied_from + '<tied type="start"/>' * head.tie
        if not first:
            return out
        for slur, kind in sorted(note.slur_numbers, key=lambda s: s[1] != "stop"):
            out += f'<slur number="{slur}" type="{kind}"/>'
        out += tuplet_marks(note)
        out += group("ornaments", ornaments(note.marks))
        out += group("technical", technical(note.marks))
        out += group("articulations", self.articulations(note))
        if "fermata" in note.marks:
            out += '<fermata type="upright"/>'
        return out

    def articulations(self, note):
        inner = "".join(f'<{a} type="up"/>' if a == "strong-accent" else f"<{a}/>" for a in note.articulations)
        if "breath" in note.marks:
            inner += "<breath-mark>comma</breath-mark>"
        if "caesura" in note.marks:
            inner += "<caesura>normal</caesura>"
        return inner


def group(name, inner):
    return f"<{name}>{inner}</{name}>" if inner else ""


def measure_name(bar):
    return f'number="{bar.label}"' + (' implicit="yes"' if bar.implicit else "")


def key_element(key):
    if key[0] == "free":
        inner = "".join(f"<key-step>{s}</key-step><key-alter>{a}</key-alter>" for s, a in key[1])
        return f"<key>{inner}</key>"
    return f"<key><fifths>{key[0]}</fifths><mode>{key[1]}</mode></key>"


def clef_element(name, staff):
    sign, line = CLEFS[name]
    number = f' number="{staff}"' if staff else ""
    return f"<clef{number}><sign>{sign}</sign><line>{line}</line></clef>"


def time_modification(chain):
    actual = normal = 1
    for a, n, _ in chain:
        actual, normal = actual * a, normal * n
    return (f"<time-modification><actual-notes>{actual}</actual-notes><normal-notes>{normal}</normal-notes>"
            "</time-modification>")


def tuplet_marks(note):
    out = ""
    for depth in sorted(note.tuplet_close, reverse=True):
        out += f'<tuplet number="{depth}" type="stop"/>'
    for depth in sorted(note.tuplet_open):
        actual, normal, kind = note.tuplets[depth - 1]
        sides = "".join(f"<tuplet-{side}><tuplet-number>{n}</tuplet-number><tuplet-type>{kind}</tuplet-type></tuplet-{side}>"
                        for side, n in (("actual", actual), ("normal", normal)))
        out += f'<tuplet number="{depth}" type="start" bracket="yes">{sides}</tuplet>'
    return out


def ornaments(marks):
    """Ornaments in order, each followed by its accidental marks."""
    out = ""
    for mark in marks:
        if mark in ORNAMENTS:
            out += f'<{ORNAMENTS[mark]}/>'
        elif mark in ("wavy(", "wavy)"):
            out += f'<wavy-line number="1" type="{"start" if mark == "wavy(" else "stop"}"/>'
        elif mark.startswith("trem"):
            out += f'<tremolo type="single">{mark[4]}</tremolo>'
        elif mark in SIGNS.values():
            out += f'<accidental-mark placement="above">{mark}</accidental-mark>'
        elif mark.startswith("below-"):
            out += f'<accidental-mark placement="below">{mark[6:]}</accidental-mark>'
    return out


def technical(marks):
    out = ""
    for mark in marks:
        if mark in TECHNICAL:
            out += f"<{TECHNICAL[mark]}/>"
        elif mark.startswith("f:"):
            out += f"<fingering>{mark[2:]}</fingering>"
        elif mark.startswith("str:"):
            out += f"<string>{mark[4:]}</string>"
    return out


def words(text, style=""):
    return f"<words {style}>{escape(text)}</words>" if style else f"<words>{escape(text)}</words>"


def direction_types(item):
    """(direction types, placement, sound element)."""
    kind, text = item.kind, item.text
    if kind == "tempo":
        types = [words(text, BOLD)] if text else []
        sound = ""
        if item.extra:
            unit, value = item.extra.split("=")
            types.append(metronome(unit, value))
            if value.isdigit():
                sound = f'<sound tempo="{plain(quarters(unit) * int(value))}"/>'
        return types, "above", sound
    if kind == "dynamic":
        return [f"<dynamics><{text}/></dynamics>"], "below", ""
    if kind == "word_dynamic":
        return [words(text, ITALIC), f"<dynamics><{item.extra}/></dynamics>"], "below", ""
    if kind == "wedge":
        return [f'<wedge number="1" type="{text}"/>'], "below", ""
    if kind == "below":
        return [words(text, ITALIC)], "below", ""
    if kind == "above":
        return [words(text)], "above", ""
    if kind == "second":
        return [words(text, ITALIC)], "above", '<sound dynamics="54" time-only="2"/>'
    if kind == "reh":
        return [f"<rehearsal>{escape(text)}</rehearsal>"], "above", ""
    if kind == "8va":
        return ['<octave-shift number="1" type="down" size="8"/>'], "above", ""
    if kind == "8va/":
        return ['<octave-shift number="1" type="stop" size="8"/>'], "above", ""
    return jump(kind, text)


def jump(kind, text):
    """Signs and words of the road map; a `!` after the name leaves out the `sound` element."""
    silent, kind = kind.endswith("!"), kind.rstrip("!")
    types, sound = {
        "segno": (["<segno/>"], 'segno="segno"'),
        "coda": (["<coda/>"], 'coda="coda"'),
        "tocoda": ([words("To Coda")] + ["<coda/>"] * silent, 'tocoda="coda"'),  # with the sign where no sound helps
        "fine": ([words("Fine")], 'fine="yes"'),
        "dc": ([words(text)], 'dacapo="yes"'),
        "ds": ([words(text)], 'dalsegno="segno"'),
    }[kind]
    return types, "above", "" if silent else f"<sound {sound}/>"


def quarters(unit):
    base = QUARTERS[unit[0]]
    return base * (2 - Fraction(1, 2 ** (len(unit) - 1)))


def plain(value):
    return str(int(value)) if value == int(value) else str(float(value))


def metronome(unit, value):
    def beat(u):
        return f"<beat-unit>{TYPE_OF[u[0]]}</beat-unit>" + "<beat-unit-dot/>" * (len(u) - 1)
    right = beat(value) if value[0] in TYPE_OF else f"<per-minute>{value}</per-minute>"
    return f'<metronome parentheses="no">{beat(unit)}{right}</metronome>'


CONTAINER = """<?xml version="1.0" encoding="UTF-8"?>
<container>
  <rootfiles>
    <rootfile full-path="score.musicxml" media-type="application/vnd.recordare.musicxml+xml"/>
  </rootfiles>
</container>
"""


def compressed(xml):
    """An `.mxl`: the score in a zip with its container (MusicXML 4.0, compressed files), dates fixed so that it is steady."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as z:
        for name, text, how in (("mimetype", "application/vnd.recordare.musicxml", zipfile.ZIP_STORED),
                                ("META-INF/container.xml", CONTAINER, zipfile.ZIP_DEFLATED),
                                ("score.musicxml", xml, zipfile.ZIP_DEFLATED)):
            info = zipfile.ZipInfo(name, (2020, 1, 1, 0, 0, 0))
            info.compress_type = how
            z.writestr(info, text.encode("utf-8"))
    return out.getvalue()
