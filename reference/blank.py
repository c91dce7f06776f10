"""How is a score stripped of everything that tells its key outright?

Writes a copy in which every `<mode>` is empty, titles, credits, identification
and part of the header are gone, and words that name a key are blank. The notes,
signatures and marks stay, byte for byte. The copy's name says nothing either.
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
