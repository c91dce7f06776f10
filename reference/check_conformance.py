"""Does the whole conformance suite read, and is each file's subject seen?

Surveys every file of the unofficial MusicXML conformance suite in the package:
no panic, a survey, under 1 s. Then checks the assertions of conformance.toml,
at least one for every file, which were written by reading the files.

Source: music21's musicxml/lilypondTestSuite (the unofficial MusicXML test suite,
MIT licence), each file's `description` field.
"""

import json
import re
import sys
import tomllib
from fractions import Fraction

import foreread
import scores
from check_order import compact, played, spelled_out

SECONDS = 1.0


def look_up(answer: dict, path: str):
    """Follow `a.b.c`; `.` is the whole answer, `a|b` both as a list; None where a step is missing."""
    if "|" in path:
        return [look_up(answer, one) for one in path.split("|")]
    value = answer
    for step in [] if path == "." else path.split("."):
        if not isinstance(value, dict):
            return None
        value = value.get(step)
    return value


def number(value) -> Fraction | None:
    """A number, or a text that is one (`139/2`); a fraction may also come as a pair."""
    if isinstance(value, bool) or value is None:
        return None
    if isinstance(value, (list, tuple)) and len(value) == 2:
        return Fraction(value[0], value[1])
    try:
        return Fraction(str(value))
    except (ValueError, ZeroDivisionError):
        return None


def same(left, right) -> bool:
    """Equal as text or as numbers."""
    if number(left) is not None and number(right) is not None:
        return number(left) == number(right)
    return left == right


def member(element, wanted) -> bool:
    """Is this list element the wanted one, in those members that are given?"""
    if isinstance(wanted, dict):
        return isinstance(element, dict) and all(same(element.get(k), v) for k, v in wanted.items())
    return same(element, wanted)


def holds(answer: dict, path: str, operator: str, wanted) -> bool:
    """One assertion."""
    value = look_up(answer, path)
    match operator:
        case "is":
            return same(value, wanted)
        case "length":
            return isinstance(value, list) and len(value) == wanted
        case "at least":
            return number(value) is not None and number(value) >= wanted
        case "has":
            return isinstance(value, list) and any(member(e, wanted) for e in value)
        case "says":
            text = json.dumps(value, ensure_ascii=False)
            return value is not None and re.search(wanted, text, re.I) is not None
        case "order":
            return played(value or {}) == spelled_out(wanted)
    raise SystemExit(f"conformance.toml: unknown operator {operator!r}")


def shown(answer: dict, path: str, operator: str) -> str:
    value = look_up(answer, path)
    text = compact(played(value or {})) if operator == "order" else json.dumps(value, ensure_ascii=False)
    return text if len(text) < 240 else text[:240] + "…"


def main() -> int:
    with open(scores.DATA / "conformance.toml", "rb") as text:
        entries = tomllib.load(text)["file"]
    files = {p.name: p for p in scores.conformance_files()}
    listed = {e["name"] for e in entries}
    failures = [f"NOT IN THE TABLE {name}" for name in files if name not in listed]
    failures += [f"NO SUCH FILE {name}" for name in sorted(listed - set(files))]
    checked = 0
    for entry in entries:
        name, part = entry["name"], entry.get("part", 1)
        if name not in files:
            continue
        done = foreread.survey_run(files[name], part)
        if done.panicked:
            failures.append(f"PANIC {name}: {done.err.strip()[:300]}")
            continue
        if done.seconds > SECONDS:
            failures.append(f"SLOW {name}: {done.seconds:.2f} s")
        try:
            answer = done.json()
        except ValueError:
            failures.append(f"NO SURVEY {name} --part {part}: exit status {done.status}, {done.err.strip()[:300]}")
            continue
        for path, operator, wanted in entry["holds"]:
            checked += 1
            if not holds(answer, path, operator, wanted):
                failures.append(f"{name} --part {part}: {path} {operator} {wanted!r}, but it is {shown(answer, path, operator)}")
    for failure in failures:
        print("  " + failure)
    print(f"{len(files)} files read, {checked} assertions, {len(failures)} failures")
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())
