"""How is a score stripped of everything that tells its key outright?

MusicXML: a copy in which every `<mode>` is empty, titles, credits, identification
and part of the header are gone, and words that name a key are blank.
ABC: the one tune, its `K:` fields (inline ones too) turned into the major key of the same signature, whatever
the mode was, and every field but those of the music gone (titles, composers, origins, notes, history).
kern: key designations (`*G:`, `*d:dor`) turned into null interpretations, all comments and reference records gone.
The notes, signatures and marks stay, byte for byte. The copy's name says nothing either.

Source: ABC 2.1 section 3.1.14 (K: field, modes and their signatures); Humdrum reference, tandem interpretations.
"""

import re
import sys
from pathlib import Path
from xml.etree import ElementTree

import scores
import witness_xml

HEADER = ("work", "movement-title", "movement-number", "credit", "identification")
# `in F major`, `Es-Dur`, `mi mineur`, `do maggiore`; the clarinet's own `in B flat` names no key.
KEY_WORDS = re.compile(
    r"\b[A-H](?:[ -]?(?:flat|sharp)|is|es|s|b|#|♭|♯)?[ -]?(?:major|minor|dur|moll|majeur|mineur|maggiore|minore)\b",
    re.I,
)


def text_of(raw: bytes) -> str:
    """Decode by byte-order mark, else by the declared encoding, else UTF-8."""
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        return raw.decode("utf-16")
    declared = re.match(rb"""<\?xml[^>]*encoding=["']([A-Za-z0-9._-]+)""", raw)
    return raw.decode(declared.group(1).decode("ascii") if declared else "utf-8-sig", errors="replace")


def blank(text: str) -> str:
    """The same score without its key's name."""
    text = re.sub(r"<\?xml.*?\?>", '<?xml version="1.0" encoding="UTF-8"?>', text, count=1, flags=re.S)
    text = re.sub(r"<mode\b[^>]*>.*?</mode\s*>", "<mode></mode>", text, flags=re.S)
    for tag in HEADER:
        text = re.sub(rf"<{tag}(?:\s[^>]*)?(?:/>|>.*?</{tag}\s*>)", "", text, flags=re.S)
    return KEY_WORDS.sub("", text)


# Semitone-free: places on the line of fifths of the tonics, and how far each mode's signature lies below its major's.
FIFTHS = {"F": -1, "C": 0, "G": 1, "D": 2, "A": 3, "E": 4, "B": 5}
MODES = {"maj": 0, "ion": 0, "mix": 1, "dor": 2, "min": 3, "aeo": 3, "m": 3, "phr": 4, "loc": 5, "lyd": -1, "": 0}
K_VALUE = re.compile(r"^\s*([A-G])([#b]?)\s*([A-Za-z]*)")


def bare_key(value: str) -> str:
    """The value of a `K:` field as the major key of the same signature; explicit accidentals and clefs stay."""
    found = K_VALUE.match(value)
    if not found or value.strip().lower().startswith(("none", "clef", "hp")):
        return value
    letter, sign, mode = found.groups()
    word = mode.lower()[:3] if mode.lower() not in ("m",) else "m"
    if word not in MODES:  # `K:D clef=bass` and the like: no mode word
        word, end = "", found.start(3)
    else:
        end = found.end(3)
    fifths = FIFTHS[letter] + 7 * ((sign == "#") - (sign == "b")) - MODES[word]
    if not -7 <= fifths <= 7:
        return value
    index = (fifths + 1) % 7
    tonic = "FCGDAEB"[index] + {-1: "b", 0: "", 1: "#"}[(fifths + 1) // 7]
    return tonic + value[end:]


def blank_abc(text: str, number: str | None) -> str:
    """One tune of a book (the only one if no number is given) without its key's name."""
    lines = text.splitlines()
    starts = [i for i, line in enumerate(lines) if line.startswith("X:")]
    if number is not None:
        first = next(i for i in starts if lines[i][2:].split("%")[0].strip().lstrip("0") == number.lstrip("0"))
    else:
        first = starts[0] if starts else 0
    kept = ["X:1"]
    for line in lines[first + bool(starts):]:
        if line.startswith("X:") or not line.strip():
            break
        if re.match(r"[A-JN-ORSTWZ-]:", line) or line.startswith("%"):
            continue
        if line.startswith("K:"):
            line = "K:" + bare_key(line[2:].split("%")[0])
        kept.append(re.sub(r"\[K:([^\]]*)\]", lambda m: f"[K:{bare_key(m[1])}]", line))
    return "\n".join(kept) + "\n"


def blank_kern(text: str) -> str:
    """A kern score without its key's name."""
    kept = []
    for line in text.splitlines():
        if line.startswith("!"):
            continue
        if line.startswith("*"):
            tokens = ["*" if re.match(r"\*[A-Ga-g][#n-]*:", token) else token for token in line.split("\t")]
            line = "\t".join(tokens)
        kept.append(line)
    return "\n".join(kept) + "\n"


def write_plain(unit: str, to: Path) -> None:
    """Write the stripped copy of an ABC or kern unit."""
    raw = scores.score_path(unit).read_bytes()
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = raw.decode("latin-1")
    _path, _hash, number = unit.partition("#")
    to.write_text(blank_kern(text) if unit.endswith(".krn") else blank_abc(text, number or None), encoding="utf-8")


def write_blank(unit: str, to: Path) -> None:
    """Write the stripped copy of a unit as plain UTF-8 MusicXML."""
    to.write_text(blank(text_of(scores.xml_bytes(scores.score_path(unit)))), encoding="utf-8")


def write_alone(blanked: Path, number: int, to: Path) -> None:
    """Write a copy of a stripped score in which only one part (from 1) is left, as on a player's stand."""
    root = ElementTree.parse(blanked).getroot()
    kept = witness_xml.parts(root)[number - 1].get("id")
    for parent in [root, *root.iter("measure"), *root.iter("part-list")]:
        for child in list(parent):
            if child.tag in ("part", "score-part") and child.get("id") != kept:
                parent.remove(child)
            elif child.tag == "part-group":
                parent.remove(child)
    ElementTree.ElementTree(root).write(to, encoding="UTF-8", xml_declaration=True)


if __name__ == "__main__":
    write_blank(sys.argv[1], Path(sys.argv[2]))
