"""Do the bars of thousands of folk tunes add up, but for those that don't in the source?

Surveys every tune of the corpus's ABC collections in one run (a folder at a time, as `foreread survey DIR --as jsonl`),
and takes each bar that the reader says is too long or too short. A second witness, the small counter below, which
shares no code with the reader, adds up the note lengths of the tune's text between bar lines. A bar that the
reader reports must be one of those lengths there; what isn't is listed, and at most 1 in 200 may be.
Prints how many bars were reported by kind.

Source: ABC 2.1, sections 4.3 (note lengths), 4.4 (broken rhythm), 4.13 (tuplets), 3.1.7 (default length).
"""

import json
import re
import sys
import time
from collections import Counter
from fractions import Fraction
from pathlib import Path

import foreread
import scores

FOLDERS = ("essenFolksong", "oneills1850", "ryansMammoth", "airdsAirs", "nottingham-dataset")
LEAST_TUNES = 5_000
UNCONFIRMED = 1 / 200
KINDS = ("bar-long", "bar-short")
# What the text of a tune is made of; order matters.
TOKEN = re.compile(
    r'(?P<skip>"[^"]*"|![^!\n]*!|\+[a-z]+\+|\{[^}]*\}|\\)'
    r"|(?P<field>\[[A-Za-z]:[^\]]*\])"
    r"|(?P<tuplet>\((\d)(?::(\d*))?(?::(\d*))?)"
    r"|(?P<bar>\[\||\|\]|:*\|+[:|\]]*|::+)"
    r"|(?P<chord>\[[^\]|]*\])(?P<chord_length>\d*/*\d*)"
    r"|(?P<note>[_^=]*[A-Ga-g][,']*|[xzZX])(?P<length>\d*/*\d*)"
    r"|(?P<broken>[<>]+)"
)
TUPLET_TIME = {2: 3, 3: 2, 4: 3, 6: 2, 8: 3}
FRACTIONS = {"½": (1, 2), "⅓": (1, 3), "⅔": (2, 3), "¼": (1, 4), "¾": (3, 4), "⅙": (1, 6), "⅚": (5, 6),
             "⅛": (1, 8), "⅜": (3, 8), "⅝": (5, 8), "⅞": (7, 8)}


def multiple(text: str) -> Fraction:
    """`3/2`, `/`, `//`, `2` as a factor of the unit length."""
    found = re.match(r"(\d*)(/*)(\d*)", text)
    number = Fraction(int(found[1] or 1))
    if not found[2]:
        return number
    return number / (int(found[3]) if found[3] else 2 ** len(found[2]))


def metre(value: str) -> Fraction | None:
    """The length of a bar in quarter notes; None if free."""
    value = value.split("%")[0].strip()
    if value in ("C", "C|"):
        return Fraction(4)
    found = re.match(r"\(?([\d+ ]+)\)?\s*/\s*(\d+)", value)
    if not found:
        return None
    return Fraction(sum(int(n) for n in re.findall(r"\d+", found[1])) * 4, int(found[2]))


def bar_lengths(lines: list[str]) -> Counter:
    """How many quarter notes stand between neighbouring bar lines of a tune, each length counted."""
    unit, asked, found = None, None, Counter()
    held, length, tuplet, factor, carry = Fraction(0), None, (0, Fraction(1)), Fraction(1), None

    def close() -> None:
        nonlocal held
        if held:
            found[held] += 1
        held = Fraction(0)

    for line in lines:
        if re.match(r"[A-Za-z]:", line) and not line.startswith("|"):
            if line[0] == "M":
                asked = metre(line[2:])
            elif line[0] == "L":
                unit = metre(line[2:])
            continue
        line = line.split("%")[0]
        if unit is None:
            unit = Fraction(1, 4) if asked is not None and asked < 3 else Fraction(1, 2)
        for token in TOKEN.finditer(line):
            if token["field"]:
                value = token["field"][3:-1]
                if token["field"][1] == "L":
                    unit = metre(value)
                continue
            if token["tuplet"]:
                p = int(token[4])
                q = int(token[5]) if token[5] else TUPLET_TIME.get(p, 3 if asked and asked.denominator == 2 else 2)
                tuplet = (int(token[6]) if token[6] else p, Fraction(q, p))
                continue
            if token["bar"]:
                close()
                continue
            if token["broken"]:
                signs = len(token["broken"])
                part = Fraction(1, 2**signs)
                before, carry = (2 - part, part) if token["broken"][0] == ">" else (part, 2 - part)
                if length is not None:
                    held += length * (before - 1)
                continue
            if token["chord"]:
                inner = re.search(r"[A-Ga-g][,']*(\d*/*\d*)", token["chord"])
                length = unit * multiple(inner[1] if inner else "") * multiple(token["chord_length"])
            elif token["note"]:
                length = unit * multiple(token["length"])
            else:
                continue
            left, factor = tuplet
            if left:
                length *= factor
                tuplet = (left - 1, factor)
            if carry is not None:
                length, carry = length * carry, None
            held += length
        # Collections that leave the bar line out at the end of a line: a full bar ends there.
        if asked is not None and held == asked:
            close()
    close()
    return found


def words_to_length(text: str) -> Fraction | None:
    """`3½ quarter notes`, `7/12 quarter note` in a finding."""
    found = re.search(r"holds (\d+/\d+|\d*[½⅓⅔¼¾⅙⅚⅛⅜⅝⅞]?) quarter note", text)
    if not found or not found[1]:
        return None
    said = found[1]
    if "/" in said:
        return Fraction(said)
    part = FRACTIONS.get(said[-1])
    whole = said[:-1] if part else said
    return Fraction(int(whole or 0)) + (Fraction(*part) if part else 0)


def tunes_of(path: Path) -> list[list[str]]:
    """The tunes of a book as lines, in order."""
    raw = path.read_bytes()
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = raw.decode("latin-1")
    tunes: list[list[str]] = []
    for line in text.splitlines():
        if line.startswith("X:"):
            tunes.append([])
        elif tunes:
            tunes[-1].append(line)
    return tunes


def main() -> int:
    root = scores.package_folder() / "corpus"
    start, tunes, reported, open_, failed = time.time(), 0, Counter(), [], []
    for folder in FOLDERS:
        to = foreread.scratch("sweep.jsonl")
        done = foreread.run(["survey", str(root / folder), "--as", "jsonl", "--questions", "metre", "--to", str(to)], limit=300)
        if done.status != 0 or done.panicked:
            failed.append(f"{folder}: exit status {done.status}: {done.err[-300:]}")
            continue
        books: dict[str, list[list[str]]] = {}
        seen: Counter = Counter()
        for line in to.read_text(encoding="utf-8").splitlines():
            row = json.loads(line)
            name = row.get("file", "")
            if not name.endswith(".abc") or row.get("part", 1) not in (1, None):
                continue
            if row.get("error"):
                failed.append(f"{folder}/{name} tune {row.get('tune')}: {row['error']}")
                continue
            if name not in books:
                books[name] = tunes_of(root / folder / name)
            index, seen[name] = seen[name], seen[name] + 1
            tunes += 1
            bars = [f for f in row.get("reader_findings") or [] if f.get("kind") in KINDS]
            if not bars:
                continue
            there = bar_lengths(books[name][index]) if index < len(books[name]) else Counter()
            for finding in bars:
                reported[finding["kind"]] += 1
                length = words_to_length(finding.get("text", ""))
                if length is None or not there[length]:
                    open_.append(f"{folder}/{name} tune {row.get('tune')} bar {finding.get('bar')}: {finding.get('text', '')[:90]}")
    total = sum(reported.values())
    for line in failed:
        print(f"  NO SURVEY {line}")
    for line in open_[:40]:
        print(f"  NOT IN THE SOURCE'S OWN SUMS {line}")
    print(f"{tunes} tunes surveyed in {time.time() - start:.0f} s; bars reported: "
          + (", ".join(f"{n} {kind}" for kind, n in sorted(reported.items())) or "none")
          + f"; {total - len(open_)} of {total} have that length in the source's text by another count, {len(open_)} don't")
    enough = tunes >= LEAST_TUNES and not failed and len(open_) <= UNCONFIRMED * max(1, total)
    return 0 if enough else 1


if __name__ == "__main__":
    sys.exit(main())
