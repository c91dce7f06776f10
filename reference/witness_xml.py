"""What does the bare XML say? A second witness beside music21.

Counts each cell of COUNTS.md straight from the elements of a MusicXML file,
with the standard library alone and no code shared with music21 or with the
program under test. The rules are those of COUNTS.md.

Source: MusicXML 4.0, element reference (note, chord, grace, time-modification,
tie, accidental, ornaments, articulations, technical, dynamics, wedge, slur,
clef, key, time, transpose).
"""

from collections import Counter
from dataclasses import dataclass, field
from xml.etree.ElementTree import Element

SHARPS = "FCGDAEB"
SEMITONES = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
# Quarter tones are written as halves of a semitone: `(-3/2)`.
SIGNS = {0.0: "", 1.0: "#", 2.0: "##", -1.0: "b", -2.0: "bb", 3.0: "###", -3.0: "bbb"}
# Names whose spanner the library puts on the first staff of a part.
PER_PART = ("slurs", "hairpin", "TrillExtension", "TremoloSpanner")

ORNAMENT_NAMES = {
    "trill-mark": "Trill",
    "turn": "Turn",
    "delayed-turn": "Turn",
    "inverted-turn": "InvertedTurn",
    "delayed-inverted-turn": "InvertedTurn",
    "shake": "Shake",
    "mordent": "Mordent",
    "inverted-mordent": "InvertedMordent",
    "schleifer": "Schleifer",
}
ARTICULATION_NAMES = {
    "accent": "Accent",
    "strong-accent": "StrongAccent",
    "staccato": "Staccato",
    "tenuto": "Tenuto",
    "detached-legato": "DetachedLegato",
    "staccatissimo": "Staccatissimo",
    "spiccato": "Spiccato",
    "scoop": "Scoop",
    "plop": "Plop",
    "doit": "Doit",
    "falloff": "Falloff",
    "breath-mark": "BreathMark",
    "caesura": "Caesura",
    "stress": "Stress",
    "unstress": "Unstress",
    "up-bow": "UpBow",
    "down-bow": "DownBow",
    "harmonic": "StringHarmonic",
    "open-string": "OpenString",
    "thumb-position": "StringThumbPosition",
    "fingering": "Fingering",
    "double-tongue": "DoubleTongue",
    "triple-tongue": "TripleTongue",
    "stopped": "Stopped",
    "snap-pizzicato": "SnapPizzicato",
    "string": "StringIndication",
    "fret": "FretIndication",
    "bend": "FretBend",
    "tap": "FretTap",
    "pluck": "FrettedPluck",
    "heel": "OrganHeel",
    "toe": "OrganToe",
    "fingernails": "HarpFingerNails",
}
# In a chord each mark counts once by name, but every one of these.
EVERY_ONE = ("Fingering", "StringIndication", "FretIndication")


@dataclass
class PartStaff:
    """One entry of the tables' `part` index: a part, or one staff of it."""

    part: Element
    number: int  # of the part in the file, from 1, as for --part
    staff: int | None  # None: the part has one staff
    first: bool  # the staff on which the library puts the part's spanners


@dataclass
class Answers:
    """Every cell of one part-staff, in the tables' own vocabulary."""

    counts: Counter = field(default_factory=Counter)
    orn: Counter = field(default_factory=Counter)
    art: Counter = field(default_factory=Counter)
    dyn: Counter = field(default_factory=Counter)
    hairpin: Counter = field(default_factory=Counter)
    barrep: Counter = field(default_factory=Counter)
    clefs: list = field(default_factory=list)
    keysigs: list = field(default_factory=list)
    times: list = field(default_factory=list)
    words: list = field(default_factory=list)
    low: str | None = None
    high: str | None = None
    measures: int = 0
    hidden_heads: int = 0
    forwards: int = 0


def part_staves(root: Element) -> list[PartStaff]:
    """The entries that `part` counts, in order (COUNTS.md, "Which part is meant")."""
    entries = []
    for number, part in enumerate(parts(root), start=1):
        staves = max([int(e.text) for e in part.iter("staves")] or [1])
        if staves < 2:
            entries.append(PartStaff(part, number, None, True))
            continue
        used = {int(e.text) for e in part.iter("staff")}
        for tag in ("clef", "key", "time"):
            used |= {int(e.get("number")) for e in part.iter(tag) if e.get("number")}
        entries += [PartStaff(part, number, staff, staff == min(used)) for staff in sorted(used)]
    return entries


def parts(root: Element) -> list[Element]:
    """The parts of a partwise score; a timewise one is turned round first."""
    if root.tag != "score-timewise":
        return root.findall("part")
    turned: dict[str, Element] = {}
    for measure in root.findall("measure"):
        for part in measure.findall("part"):
            whole = turned.setdefault(part.get("id"), Element("part", {"id": part.get("id")}))
            bar = Element("measure", measure.attrib)
            bar.extend(list(part))
            whole.append(bar)
    return list(turned.values())


def signature(key: Element) -> dict[str, float]:
    """Letter to alteration; past seven the accidentals double, F or B first again."""
    fifths = key.findtext("fifths")
    if fifths is None:
        steps = [e.text.strip() for e in key.findall("key-step")]
        return dict(zip(steps, (float(e.text) for e in key.findall("key-alter"))))
    count = int(fifths)
    order = SHARPS if count > 0 else SHARPS[::-1]
    altered: dict[str, float] = {}
    for i in range(abs(count)):
        letter = order[i % 7]
        altered[letter] = altered.get(letter, 0) + (1 if count > 0 else -1)
    return altered


def pitch(element: Element) -> tuple[str, float, float]:
    """Name as our JSON writes it (`Bb1`), key number, alteration."""
    step = element.findtext("step").strip()
    alter = float(element.findtext("alter") or 0)
    octave = int(element.findtext("octave"))
    name = f"{step}{SIGNS.get(alter, f'({round(alter * 2)}/2)')}{octave}"
    return name, 12 * (octave + 1) + SEMITONES[step] + alter, alter


def answers(entry: PartStaff) -> Answers:
    """Count one part-staff."""
    found = Answers()
    state = {"signature": {}, "low": None, "high": None}
    measures = entry.part.findall("measure")
    found.measures = len(measures)
    for measure in measures:
        bar = measure.get("number")
        children = list(measure)
        index = 0
        while index < len(children):
            child = children[index]
            index += 1
            if child.tag == "note":
                if _joins(child) and "joined" in state:
                    continue
                _event(_event_from(children, index - 1, state), entry, found, state)
            elif child.tag == "attributes":
                _attributes(child, bar, entry, found, state)
            elif child.tag == "direction":
                _direction(child, bar, entry, found)
            elif child.tag == "barline":
                for repeat in child.findall("repeat"):
                    found.barrep["start" if repeat.get("direction") == "forward" else "end"] += 1
            elif child.tag == "forward" and _here(child, entry):
                found.forwards += 1
    found.low = state["low"] and state["low"][0]
    found.high = state["high"] and state["high"][0]
    return found


def _joins(element: Element) -> bool:
    return element.tag == "note" and element.find("chord") is not None


def _event_from(children: list[Element], first: int, state: dict) -> list[Element]:
    """A note and the chord notes after it; directions and the like may stand between, a change of position not."""
    event = [children[first]]
    state["joined"] = True
    for child in children[first + 1 :]:
        if _joins(child):
            event.append(child)
        elif child.tag in ("note", "backup", "forward"):
            break
    return event


def _here(element: Element, entry: PartStaff) -> bool:
    """On this staff? A note without a staff is on the first; a direction without one belongs to all."""
    staff = element.findtext("staff")
    if staff is None:
        return entry.staff is None or entry.first or element.tag != "note"
    return entry.staff is None or int(staff) == entry.staff


def _event(event: list[Element], entry: PartStaff, found: Answers, state: dict) -> None:
    spanner_ends = [e for note in event for e in note.iterfind("notations/slur[@type='stop']")]
    if entry.first:
        found.counts["slurs"] += len(spanner_ends)
        for note in event:
            found.orn["TrillExtension"] += len(note.findall("notations/ornaments/wavy-line[@type='stop']"))
            found.orn["TremoloSpanner"] += len(note.findall("notations/ornaments/tremolo[@type='stop']"))
    first = event[0]
    for note in event:
        if note.find("pitch") is not None and _here(note, entry):
            _head(note, found, state)
    if not _here(first, entry):
        return
    if first.find("time-modification") is not None:
        found.counts["tuplet_members"] += 1
    if first.find("rest") is not None:
        found.counts["rests"] += 1
        return
    found.counts["events"] += 1
    found.counts["chords"] += len(event) > 1
    found.counts["grace"] += first.find("grace") is not None
    found.counts["ties"] += any(_tie_starts(note) for note in event)
    _marks(event, found)


def _tie_starts(note: Element) -> bool:
    """A tie by its sound, or by its drawing where a note has no sounding tie (cue notes)."""
    if note.find("tie") is not None:
        return note.find("tie[@type='start']") is not None
    return note.find("notations/tied[@type='start']") is not None


def _head(note: Element, found: Answers, state: dict) -> None:
    element = note.find("pitch")
    name, key, alter = pitch(element)
    found.counts["heads"] += 1
    found.counts["shown_acc"] += note.find("accidental") is not None
    found.counts["double_acc"] += abs(alter) >= 2
    found.counts["altered"] += alter != state["signature"].get(element.findtext("step").strip(), 0)
    found.hidden_heads += note.get("print-object") == "no"
    if state["low"] is None or key < state["low"][1]:
        state["low"] = (name, key)
    if state["high"] is None or key > state["high"][1]:
        state["high"] = (name, key)


def _marks(event: list[Element], found: Answers) -> None:
    ornaments: list[str] = []
    articulations: list[str] = []
    for note in event:
        for notations in note.findall("notations"):
            ornaments += ["Fermata"] * len(notations.findall("fermata"))
            for tag in ("arpeggiate", "non-arpeggiate"):
                ornaments += ["ArpeggioMark"] * len(notations.findall(tag))
            for e in notations.iterfind("ornaments/*"):
                if e.tag == "tremolo" and e.get("type") not in ("start", "stop"):
                    ornaments.append("Tremolo")
                elif e.tag in ORNAMENT_NAMES:
                    ornaments.append(ORNAMENT_NAMES[e.tag])
            for group in ("articulations", "technical"):
                for e in notations.iterfind(f"{group}/*"):
                    if e.tag in ARTICULATION_NAMES:
                        articulations.append(ARTICULATION_NAMES[e.tag])
    if len(event) > 1:
        ornaments = sorted(set(ornaments))
        articulations = sorted({a for a in articulations if a not in EVERY_ONE}) + [
            a for a in articulations if a in EVERY_ONE
        ]
    found.orn.update(ornaments)
    found.art.update(articulations)


def _attributes(element: Element, bar: str, entry: PartStaff, found: Answers, state: dict) -> None:
    def mine(child: Element, default: int | None) -> bool:
        number = child.get("number")
        staff = int(number) if number else default
        return entry.staff is None or staff in (None, entry.staff)

    for key in element.findall("key"):
        if mine(key, None):
            state["signature"] = signature(key)
            fifths = key.findtext("fifths")
            found.keysigs.append([bar, None if fifths is None else int(fifths)])
    for time in element.findall("time"):
        if mine(time, None):
            pairs = zip(time.findall("beats"), time.findall("beat-type"))
            ratio = "+".join(f"{a.text.strip()}/{b.text.strip()}" for a, b in pairs)
            if ratio:  # senza misura is no fraction
                found.times.append([bar, ratio, time.get("symbol") or ""])
    for clef in element.findall("clef"):
        if mine(clef, 1):
            octaves = int(clef.findtext("clef-octave-change") or 0)
            sign = clef.findtext("sign").strip()
            found.clefs.append(sign + (clef.findtext("line") or "").strip() + (f"{octaves:+d}" if octaves else ""))


def _direction(element: Element, bar: str, entry: PartStaff, found: Answers) -> None:
    if entry.first:
        for wedge in element.iterfind("direction-type/wedge"):
            if wedge.get("type") in ("crescendo", "diminuendo"):
                found.hairpin[wedge.get("type").capitalize()] += 1
    if not _here(element, entry):
        return
    for mark in element.iterfind("direction-type/dynamics/*"):
        found.dyn[mark.tag] += 1
    for words in element.iterfind("direction-type/words"):
        found.words.append([bar, (words.text or "").strip()])
