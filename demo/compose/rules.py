"""Which accidentals are printed, which notes are beamed, and does the page add up? The trade's rules, on the model.

An accidental holds for its own octave to the end of its bar; a tie carries it over the barline for the tied note alone
(common practice; MusicXML 4.0, `accidental`).
"""

from fractions import Fraction

from notation import Direction, Note, ScoreError

SHARPS = "FCGDAEB"
SIGNS = {0: "natural", 1: "sharp", 2: "double-sharp", -1: "flat", -2: "flat-flat"}
SHORT = {"eighth": 1, "16th": 2, "32nd": 3}


def signature(key):
    """The alteration that a key signature gives to each letter."""
    if key[0] == "free":
        return {step: alter for step, alter in key[1]}
    fifths = key[0]
    letters = SHARPS[:fifths] if fifths >= 0 else SHARPS[::-1][:-fifths]
    return {step: (1 if fifths > 0 else -1) for step in letters}


def notes_of(bar):
    """Every note of the bar, voice after voice."""
    return [n for voice in bar.voices for n in voice if isinstance(n, Note)]


def apply(score):
    """Checks the score and fills in ties, accidentals, beams and slur numbers."""
    for part in score.parts:
        where = f"{score.name}, {part.instrument},"
        check_bars(where, part)
        pair_ties(where, part)
        pair_slurs(where, part)
        pair_directions(where, part)
        pair_endings(where, part)
        print_accidentals(part)
        for bar in part.bars:
            for voice in bar.voices:
                mark_tuplet_types(voice)
                beam(bar, [n for n in voice if isinstance(n, Note)])
    lengths = {tuple(b.length for b in p.bars) for p in score.parts}
    if len(lengths) > 1:
        raise ScoreError(f"{score.name}: the parts have different bars")
    check_range(score)


def check_bars(where, part):
    for bar in part.bars:
        for number, voice in enumerate(bar.voices, 1):
            total = sum((n.length for n in voice if isinstance(n, Note)), Fraction(0))
            if total != bar.length:
                raise ScoreError(f"{where} bar {bar.label} voice {number}: holds {total} quarter notes, needs {bar.length}")


def sounding(part, number):
    """The voice's notes and rests in order, with their bars, grace notes left out."""
    for bar in part.bars:
        if number < len(bar.voices):
            for note in bar.voices[number]:
                if isinstance(note, Note) and not note.grace:
                    yield bar, note


def pair_ties(where, part):
    for number in range(max(len(b.voices) for b in part.bars)):
        held = {}
        for bar, note in sounding(part, number):
            here = {h.pitch(): h for h in note.heads}
            for pitch in held:
                if pitch not in here:
                    raise ScoreError(f"{where} bar {bar.label}: the tie on {pitch} has no second note")
                here[pitch].tied_from = True
            held = {h.pitch(): h for h in note.heads if h.tie}
        if held:
            raise ScoreError(f"{where} ends with an open tie")


def pair_slurs(where, part):
    for number in range(max(len(b.voices) for b in part.bars)):
        open_slurs = []
        for bar in part.bars:
            if number >= len(bar.voices):
                continue
            for note in bar.voices[number]:
                if not isinstance(note, Note):
                    continue
                for _ in range(note.slur_close):
                    if not open_slurs:
                        raise ScoreError(f"{where} bar {bar.label}: a slur ends that never began")
                    note.slur_numbers.append((open_slurs.pop(), "stop"))
                for _ in range(note.slur_open):
                    free = next(i for i in range(1, 7) if i not in open_slurs)
                    open_slurs.append(free)
                    note.slur_numbers.append((free, "start"))
                if open_slurs and note.kind != "note":
                    raise ScoreError(f"{where} bar {bar.label}: a slur runs over a rest")
        if open_slurs:
            raise ScoreError(f"{where} ends with an open slur")


def pair_directions(where, part):
    wedge = ottava = False
    for bar in part.bars:
        for voice in bar.voices:
            for item in voice:
                if not isinstance(item, Direction):
                    continue
                if item.kind == "wedge":
                    if (item.text == "stop") != wedge:
                        raise ScoreError(f"{where} bar {bar.label}: a hairpin without its other end")
                    wedge = item.text != "stop"
                if item.kind in ("8va", "8va/"):
                    if (item.kind == "8va/") != ottava:
                        raise ScoreError(f"{where} bar {bar.label}: an 8va without its other end")
                    ottava = item.kind == "8va"
    if wedge or ottava:
        raise ScoreError(f"{where} ends with an open hairpin or 8va")


def pair_endings(where, part):
    open_ending = None
    for bar in part.bars:
        for token in bar.left:
            if token.startswith("vol"):
                if open_ending:
                    raise ScoreError(f"{where} bar {bar.label}: an ending inside another")
                open_ending = token
        for token in bar.right:
            if token.startswith("vol"):
                if token[:-1] != open_ending:
                    raise ScoreError(f"{where} bar {bar.label}: an ending stops that never began")
                open_ending = None
    if open_ending:
        raise ScoreError(f"{where}: an ending is not closed")


def print_accidentals(part):
    """Sets each head's printed accidental."""
    ottava = 0
    for bar in part.bars:
        given = signature(bar.key_in_force)
        states = [{} for _ in range(2)]
        moments = []
        for number, voice in enumerate(bar.voices):
            for order, item in enumerate(voice):
                if isinstance(item, Direction):
                    if item.kind in ("8va", "8va/"):
                        moments.append((None, item, number, order))
                    continue
                moments.append((item.onset, item, number, order))
        at, placed = Fraction(0), []
        for onset, item, number, order in moments:
            at = onset if onset is not None else at_end(placed)
            placed.append((at, number, order, item))
        for _, number, _, item in sorted(placed, key=lambda m: m[:3]):
            if isinstance(item, Direction):
                ottava = 1 if item.kind == "8va" else 0
                continue
            state = states[number if part.staves > 1 else 0]
            for head in item.heads:
                place = (head.step, head.octave - ottava)
                now = state.get(place, given.get(head.step, 0))
                if head.tied_from:
                    if head.caution:
                        head.accidental = SIGNS[head.alter]
                    continue
                if now != head.alter:
                    head.caution = False  # needed: no parentheses
                if now != head.alter or head.caution:
                    head.accidental = SIGNS[head.alter]
                state[place] = head.alter


def at_end(placed):
    if not placed:
        return Fraction(0)
    last = placed[-1]
    return last[0] + (last[3].length if isinstance(last[3], Note) else 0)


def mark_tuplet_types(voice):
    """A tuplet's normal type is its shortest note's type (common practice)."""
    notes = [n for n in voice if isinstance(n, Note)]
    order = ["whole", "half", "quarter", "eighth", "16th", "32nd"]
    for depth in range(1, 4):
        group = []
        for note in notes:
            if len(note.tuplets) >= depth:
                group.append(note)
                if depth in note.tuplet_close:
                    own = [n for n in group if len(n.tuplets) == depth] or group
                    kind = max((n.type for n in own), key=order.index)
                    for n in group:
                        chain = list(n.tuplets)
                        chain[depth - 1] = (chain[depth - 1][0], chain[depth - 1][1], kind)
                        n.tuplets = chain
                    group = []


def beam_groups(bar, notes):
    """Where beams may not cross: the ends of the metre's groups, in quarter notes from the bar's start."""
    beats, beat_type, spans, _ = bar.metre
    edges, at = [], Fraction(0)
    for span in spans:
        edges.append(at)
        at += span
    edges.append(at)
    if (beats, beat_type) in ((4, 4), (2, 2), (2, 4)):
        spans_to_join = [(0, 2), (2, 4)] if beats != 2 or beat_type == 2 else [(0, 2)]
        for low, high in spans_to_join:
            inside = [n for n in notes if low <= n.onset < high and not n.grace]
            plain = len(inside) == 4 and all(n.type == "eighth" and not n.dots and not n.tuplets for n in inside)
            if plain:
                edges = [e for e in edges if not low < e < high]
            elif low + 1 not in edges:
                edges.append(Fraction(low + 1))
    return sorted(set(edges))


def beam(bar, notes):
    shift = bar.full - bar.length if bar.implicit else Fraction(0)
    for note in notes:
        note.onset += shift
    edges = beam_groups(bar, notes)
    run, last_group = [], None
    graces = []
    for note in notes:
        if note.grace:
            graces.append(note)
            continue
        finish_graces(graces)
        graces = []
        group = sum(1 for e in edges if e <= note.onset)
        beamable = note.type in SHORT and note.kind == "note"
        if not beamable or group != last_group:
            finish(run)
            run = []
        if beamable:
            run.append(note)
        last_group = group
    finish(run)
    finish_graces(graces)
    for note in notes:
        note.onset -= shift


def finish_graces(graces):
    if len(graces) > 1:
        for note in graces:
            note.type = "16th"
        finish(graces)


def finish(run):
    """Writes the beams of one group, secondary beams with hooks."""
    if len(run) < 2:
        return
    for level in (1, 2, 3):
        deep = [SHORT[n.type] >= level for n in run]
        for i, note in enumerate(run):
            if not deep[i]:
                continue
            before, after = i > 0 and deep[i - 1], i + 1 < len(run) and deep[i + 1]
            if before and after:
                word = "continue"
            elif after:
                word = "begin"
            elif before:
                word = "end"
            else:
                word = "backward hook" if i > 0 else "forward hook"
            note.beams.append((level, word))


def check_range(score):
    """The header's `range: LOW-HIGH` (written) holds every note of the first part."""
    from notation import PITCH, ALTER, Head
    low, high = (Head(s, ALTER[a or None], int(o)) for s, a, o, _, _ in PITCH.findall(score.header["range"]))
    for bar in score.parts[0].bars:
        for note in notes_of(bar):
            for head in note.heads:
                if not low.key_number() <= head.key_number() <= high.key_number():
                    raise ScoreError(f"{score.name} bar {bar.label}: {head.pitch()} is outside the declared range")
