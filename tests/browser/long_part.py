"""A part of four pages, composed by rule: an Allegro for clarinet, so that there is something to be read, engraved and turned."""

import random

STEPS = ["D", "E", "F", "G", "A", "B", "C"]
FLAT = {"B"}
TURNS = [
    # (divisions of 4 a quarter, steps from where the line is)
    [(4, 1), (4, -1), (4, 2), (4, -1)],
    [(2, 1), (2, 1), (2, -1), (2, -1), (4, 3), (4, -2)],
    [(1, 1), (1, 1), (1, 1), (1, -1), (2, 2), (2, -1), (1, -1), (1, -1), (1, 2), (1, -1), (4, -2)],
    [(6, 2), (2, -1), (3, 1), (1, 1), (4, -3)],
    [(2, 1), (1, 1), (1, -1), (2, -2), (1, 1), (1, 1), (4, 1), (2, -1), (2, -1)],
]
TYPES = {1: ("16th", False), 2: ("eighth", False), 3: ("eighth", True), 4: ("quarter", False), 6: ("quarter", True), 16: ("whole", False)}


def pitch(height: int) -> str:
    """A height in steps above the D under the staff, in D minor."""
    step = STEPS[height % 7]
    # D to B lie in the octave that the C after them begins anew.
    octave = 4 + (height + 1) // 7
    alter = "<alter>-1</alter>" if step in FLAT else ""
    return f"<pitch><step>{step}</step>{alter}<octave>{octave}</octave></pitch>"


def note(height: int, length: int, more: str = "") -> str:
    name, dotted = TYPES[length]
    dot = "<dot/>" if dotted else ""
    notations = f"<notations>{more}</notations>" if more else ""
    return f"<note>{pitch(height)}<duration>{length}</duration><voice>1</voice><type>{name}</type>{dot}{notations}</note>"


def direction(inside: str) -> str:
    return f'<direction placement="below"><direction-type>{inside}</direction-type></direction>'


def bar(number: int, dice: random.Random, height: int) -> tuple[str, int]:
    if number % 16 == 15:
        return '<note><rest measure="yes"/><duration>16</duration><voice>1</voice></note>', height
    turn = dice.choice(TURNS)
    out = ""
    if number % 8 == 0:
        out += direction(f"<dynamics><{dice.choice(['p', 'mf', 'f'])}/></dynamics>")
    slurred = number % 3 != 2
    for place, (length, step) in enumerate(turn):
        height = max(-3, min(15, height + step + dice.choice([-1, 0, 0, 1])))
        last = place == len(turn) - 1
        more = ""
        if slurred and place in (0, len(turn) - 1):
            more = f'<slur type="{"stop" if last else "start"}" number="1"/>'
        elif not slurred and length <= 2:
            more = "<articulations><staccato/></articulations>"
        out += note(height, length, more)
    return out, height


def long_part(seed: int = 4, bars: int = 204, title: str = "Four Pages by Rule") -> str:
    """MusicXML 4.0."""
    dice, height, measures = random.Random(seed), 4, []
    for number in range(bars):
        inside, height = bar(number, dice, height)
        if number == 0:
            inside = (
                "<attributes><divisions>4</divisions><key><fifths>-1</fifths><mode>minor</mode></key><time><beats>4</beats><beat-type>4</beat-type></time>"
                "<clef><sign>G</sign><line>2</line></clef><transpose><diatonic>-1</diatonic><chromatic>-2</chromatic></transpose></attributes>"
                '<direction placement="above"><direction-type><words>Allegro</words></direction-type><sound tempo="116"/></direction>' + inside
            )
        if number == bars - 1:
            inside += '<barline location="right"><bar-style>light-heavy</bar-style></barline>'
        measures.append(f'<measure number="{number + 1}">{inside}</measure>')
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n<score-partwise version="4.0">'
        f"<work><work-title>{title}</work-title></work>"
        '<part-list><score-part id="P1"><part-name>Clarinet in B♭</part-name></score-part></part-list>'
        f'<part id="P1">{"".join(measures)}</part></score-partwise>\n'
    )


if __name__ == "__main__":
    print(long_part())
