"""Which notes does the library read from a score, part by part?

A note as the library says it: bar by its index, offset in it, length, pitches, ties,
grace or not. Rests and spaces are left out: a forward that names no voice is silence to
some and nothing to others. Where a bar starts is not asked: the library lets a sign that
is placed past the end of its bar make the bar longer.
"""

import warnings
from fractions import Fraction
from pathlib import Path

# A place or length may be rounded to the divisions of the first file: 1/100 of a quarter note at the most.
CLOSE = Fraction(1, 100)


def notes(path: Path) -> list[list[tuple]] | str:
    """The notes of each part in order of onset; the error's text if the library can't read the file."""
    from music21 import converter  # slow to import: only the processes that need it

    warnings.simplefilter("ignore")
    try:
        score = converter.parse(path, format="musicxml", forceSource=True)
        return [
            sorted(
                said(number, element)
                for number, bar in enumerate(part.getElementsByClass("Measure"))
                for element in bar.flatten().notes
                if pitched(element)
            )
            for part in score.parts
        ]
    except Exception as error:  # noqa: BLE001 - whatever it says, both readings must say the same
        return f"{type(error).__name__}: {error}"


def pitched(element) -> bool:
    """Chord symbols are no notes."""
    return "Harmony" not in element.classes


def said(bar: int, element) -> tuple:
    """One note or chord: grace notes before others at a place, then by pitch."""
    members = element.notes if element.isChord or hasattr(element, "notes") else (element,)
    heads = sorted(
        (
            one.pitch.nameWithOctave if hasattr(one, "pitch") else f"x{one.displayStep}{one.displayOctave}",
            one.tie.type if one.tie is not None else "",
        )
        for one in members
    )
    grace = bool(element.duration.isGrace)
    length = Fraction(0) if grace else Fraction(element.quarterLength)
    return (bar, Fraction(element.offset), not grace, tuple(heads), length)


def close(read: tuple, written: tuple) -> bool:
    """Is it the same note, but for the rounding of the file, and for ends of ties that it left to be understood?"""
    return (
        (read[0], read[2]) == (written[0], written[2])
        and len(read[3]) == len(written[3])
        and all(same_head(a, b) for a, b in zip(read[3], written[3]))
        and abs(read[1] - written[1]) <= CLOSE
        and abs(read[4] - written[4]) <= CLOSE
    )


def same_head(read: tuple, written: tuple) -> bool:
    """The same pitch and ties. DIFFERENCE: where a file marks only the start of a tie, we write its end, too."""
    completed = {"": "stop", "start": "continue"}
    return read[0] == written[0] and written[1] in (read[1], completed.get(read[1], read[1]))


def difference(here: list[list[tuple]] | str, there: list[list[tuple]] | str) -> str | None:
    """The first difference in words; None if the notes are the same."""
    if isinstance(here, str) or isinstance(there, str):
        return None if here == there else f"library: {here if isinstance(here, str) else 'read'} / " \
            f"{there if isinstance(there, str) else 'read'}"
    if len(here) != len(there):
        return f"{len(here)} parts, {len(there)} when written"
    for number, (a, b) in enumerate(zip(here, there), 1):
        if len(a) == len(b) and all(close(x, y) for x, y in zip(a, b)):
            continue
        # Rounding may exchange neighbours: what is left when equal notes are taken out.
        left, right = list(a), list(b)
        for note in a:
            match = next((other for other in right if close(note, other)), None)
            if match is not None:
                left.remove(note)
                right.remove(match)
        if left or right:
            return f"part {number}: only read {show(left)}, only written {show(right)}"
    return None


def show(notes_left: list[tuple]) -> str:
    """The first few notes of a list."""
    first = [f"{bar}+{float(o):g}:{'+'.join(n + ('~' + t if t else '') for n, t in heads)}={length}{'' if plain else 'g'}"
             for bar, o, plain, heads, length in notes_left[:3]]
    return f"{len(notes_left)} ({', '.join(first)})"
