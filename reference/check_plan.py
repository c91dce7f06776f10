"""Does a plan keep its word, and does a calendar understand it?

Plans each 60th MusicXML file of the corpus and every demo piece, at 1, 12, 40 and 100 minutes a day, from one day to the date to
more than a year, for the usual player of the part and for a trumpet, and counts again from the JSON alone:

1. No sitting is over its minutes; no more than 25 minutes of work go by without 5 of rest (30 in a sitting up to 30); every hour of
   a longer sitting holds 10 minutes of rest; brass plays half of it at most.
2. Every bar with notes (counted in the bare XML) is read within the first third of the days, or is said to
   be left; no reading is longer than 5 minutes.
3. One of any seven days is free; none of her days off has a sitting; the day before has at most half the minutes.
4. From four weeks on the goal tempo is played two weeks before the date, and nothing is played faster than the ladder's own top.
5. No passage twice in a row; six times at most in a turn; as many mock performances as are announced, none on the day before.
6. The answer fits docs/plan.schema.json.
7. The calendar file reads with the icalendar package without an error, lines end in CRLF and have at most 75 octets, every event has
   one UID, DTSTAMP, SEQUENCE, DTSTART, and ends after it begins; a later plan has the same UIDs with a higher SEQUENCE.

Source: RFC 5545 (read by icalendar 7.3.2); Horvath, Playing (Less) Hurt (ten minutes an hour, a day a week); The Musician's Way,
p. 75 (25 + 5); lib.msu.edu (five minutes of new material, six times); two handbooks (goal tempo two weeks before).
"""

import datetime
import json
import sys
from pathlib import Path

import icalendar
import jsonschema

import foreread
import scores
import witness_xml

EVERY = 60
TODAY = datetime.date(2026, 11, 26)
ASKED = [
    ("2026-11-27", "40", ["--for-what", "audition"]),
    ("2026-12-05", "12", []),
    ("2027-02-13", "1", []),
    ("2027-02-13", "40", ["--off", "tue,2026-12-24..2026-12-26"]),
    ("2027-02-13", "100", ["--instrument", "trumpet"]),
    ("2028-03-01", "12", ["--instrument", "trumpet", "--for-what", "first-lesson"]),
]
PRACTICE = {"spot", "climb", "keep", "look-alikes"}


def plan(path: str, until: str, minutes: str, more: list[str], form: str, today=TODAY) -> foreread.Run:
    """The plan of a piece in a form."""
    return foreread.run(["plan", path, "--until", until, "--minutes", minutes, "--today", str(today), "--as", form, *more], limit=60)


def sounding_bars(path: str) -> set[int] | None:
    """Bars of the first part that sounds in which a note stands, from the bare XML; cues and grace notes don't count."""
    for part in witness_xml.parts(scores.tree(Path(path))):
        bars = set()
        for index, measure in enumerate(part.findall("measure")):
            for note in measure.findall("note"):
                small = any(note.find(name) is not None for name in ("cue", "grace"))
                if note.find("rest") is None and not small:
                    bars.add(index)
        if bars:
            return bars
    return None


def wrong_with(plan: dict, more: list[str]) -> list[str]:
    """What a plan promises and doesn't keep."""
    wrong = []
    begun, until = (datetime.date.fromisoformat(plan[key]) for key in ("begun", "until"))
    third = begun + (until - begun) // 3
    sittings = [day for day in plan["days"] if day["kind"] == "sitting"]
    read = {}
    for number, day in enumerate(sittings):
        wrong += [f"{day['date']}: {text}" for text in wrong_with_sitting(plan, day)]
        for turn in (turn for turn in day["turns"] if turn["kind"] == "read"):
            for bars in turn["bars"]:
                for bar in range(bars["from_bar_index"], bars["to_bar_index"] + 1):
                    read.setdefault((turn["piece"], bar), (datetime.date.fromisoformat(day["date"]), number))
    late = [key for key, (date, number) in read.items() if date > third and number > 0]
    if late:
        wrong.append(f"bars read after the first third: {late[:5]}")
    left = set()
    for one in plan["left"]:
        if one["bars"] and one["why"] in ("returns", "easy"):
            left |= {(one["piece"], bar) for bar in range(one["bars"]["from_bar_index"], one["bars"]["to_bar_index"] + 1)}
    if left & read.keys():
        wrong.append("bars that are both read and left")
    plan["known"] = left | read.keys()
    free = [day["kind"] == "off" for day in plan["days"]]
    if any(not any(free[at:at + 7]) for at in range(len(free) - 6)):
        wrong.append("seven days without a free one")
    if "--off" in more and any(day["weekday"] == "tue" or "2026-12-24" <= day["date"] <= "2026-12-26" for day in sittings):
        wrong.append("a sitting on a day off")
    mocks = [day["date"] for day in sittings if any(turn["kind"] == "mock-performance" for turn in day["turns"])]
    if mocks != plan["milestones"]["mock_performances"] or str(until - datetime.timedelta(days=1)) in mocks:
        wrong.append(f"mock performances {mocks}")
    wrong += wrong_with_goal(plan, sittings, until)
    return wrong


def wrong_with_goal(plan: dict, sittings: list, until: datetime.date) -> list[str]:
    """The goal tempo on its day."""
    by = plan["milestones"]["goal_tempo_by"]
    if by is None or plan["minutes_a_day"] < 12:
        return []
    wrong = []
    early = (until - datetime.date.fromisoformat(plan["begun"])).days >= 28
    if early and (until - datetime.date.fromisoformat(by)).days < 14:
        wrong.append(f"goal tempo only by {by}")
    goal = plan["pieces"][0]["goal_tempo"]
    at_goal = [tempo for day in sittings if day["date"] <= by for turn in day["turns"] for tempo in turn["tempi"]
               if (tempo["beat"], tempo["bpm"]) == (goal["beat"], goal["bpm"])]
    if not at_goal:
        wrong.append(f"{goal['says']} is not played by {by}")
    return wrong


def wrong_with_sitting(plan: dict, day: dict) -> list[str]:
    """Minutes, rests, lips, repetition."""
    wrong = []
    if day["minutes"] > plan["minutes_a_day"] or abs(sum(turn["minutes"] for turn in day["turns"]) - day["minutes"]) > 1e-9:
        wrong.append(f"{day['minutes']} minutes")
    half_minutes = [turn["kind"] == "rest" and turn["minutes"] >= 5 for turn in day["turns"] for _ in range(round(turn["minutes"] * 2))]
    worked, most = 0, 60 if day["minutes"] <= 30 else 50
    for rests in half_minutes:
        worked = 0 if rests else worked + 1
        if worked > most:
            wrong.append("too long without a rest")
            break
    if any(sum(half_minutes[at:at + 120]) < 20 for at in range(len(half_minutes) - 119)):
        wrong.append("an hour with less than ten minutes of rest")
    if plan["lips_rest"] and day["playing_minutes"] * 2 > day["minutes"]:
        wrong.append("lips rest less than they play")
    if day["stage"] == "day-before" and plan["minutes_a_day"] > 1 and day["minutes"] * 2 > plan["minutes_a_day"]:
        wrong.append("the day before is not lighter")
    before = None
    for turn in day["turns"]:
        if sum(tempo["times"] for tempo in turn["tempi"]) > 6:
            wrong.append("more than six times")
        if turn["kind"] == "read" and turn["minutes"] > 5:
            wrong.append("more than five minutes of new material")
        if turn["kind"] == "rest":
            continue
        if before and before["kind"] in PRACTICE and turn["kind"] in PRACTICE and before["bars"] == turn["bars"]:
            wrong.append("a passage twice in a row")
        if before and before["kind"] == turn["kind"] == "read":
            wrong.append("new material after new material")
        before = turn
    return wrong


def calendar_file(path: str, until: str, minutes: str, more: list[str], today: datetime.date) -> bytes:
    """The calendar file, octet for octet."""
    to = foreread.scratch("plan.ics")
    plan(path, until, minutes, [*more, "--to", str(to)], "ics", today)
    return to.read_bytes()


def wrong_with_calendar(raw: bytes, later: bytes) -> list[str]:
    """What a calendar would stumble over."""
    wrong = []
    if b"\n" in raw.replace(b"\r\n", b"") or any(len(line) > 75 for line in raw.split(b"\r\n")):
        wrong.append("lines of the calendar file")

    def events(text: bytes) -> dict:
        calendar = icalendar.Calendar.from_ical(text)
        if calendar.errors or not {"VERSION", "PRODID"} <= calendar.keys():
            wrong.append(f"the calendar: {calendar.errors}")
        found = {}
        for event in calendar.walk("VEVENT"):
            if event.errors or not {"UID", "DTSTAMP", "SEQUENCE", "DTSTART", "SUMMARY"} <= event.keys() or str(event["UID"]) in found:
                wrong.append(f"an event: {event.errors} {event.get('UID')}")
            if "DTEND" in event and event["DTEND"].dt <= event["DTSTART"].dt:
                wrong.append(f"an event that ends before it begins: {event['UID']}")
            found[str(event["UID"])] = event
        return found

    first, second = events(raw), events(later)
    common = first.keys() & second.keys()
    if len(common) != len(second) or any(int(first[uid]["SEQUENCE"]) >= int(second[uid]["SEQUENCE"]) for uid in common):
        wrong.append("a later plan doesn't replace the earlier")
    return wrong


def main() -> int:
    schema = json.loads((foreread.HERE.parent / "docs/plan.schema.json").read_text())
    demo = sorted(str(path) for path in (foreread.HERE.parent / "demo/pieces").glob("*.musicxml"))
    paths = demo + [str(scores.score_path(unit)) for unit in scores.corpus_musicxml()[::EVERY]]
    plans, misses, slowest = 0, [], 0.0
    for path in paths:
        sounds = sounding_bars(path)
        for until, minutes, more in ASKED:
            run = plan(path, until, minutes, more, "json")
            plans, slowest = plans + 1, max(slowest, run.seconds)
            if run.status != 0:
                misses.append((path, until, minutes, f"status {run.status}: {run.err.strip()[-160:]}"))
                continue
            said = run.json()
            wrong = [error.message for error in jsonschema.Draft202012Validator(schema).iter_errors(said)][:2]
            wrong += wrong_with(said, more)
            if sounds is not None:
                unknown = {bar for bar in sounds if (1, bar) not in said["known"]}
                if unknown:
                    wrong.append(f"bars neither read nor left: {sorted(unknown)[:5]}")
            if (until, minutes) == ("2027-02-13", "40"):
                for at in ([], ["--at", "17:30"]):
                    files = [calendar_file(path, until, minutes, more + at, TODAY + datetime.timedelta(days=later)) for later in (0, 3)]
                    wrong += wrong_with_calendar(*files)
            misses += [(path, until, minutes, text) for text in wrong]
    for path, until, minutes, text in misses if "--misses" in sys.argv else misses[:20]:
        print(f"  {path} until {until}, {minutes} min: {text}")
    print(f"plan: {plans} plans of {len(paths)} pieces, slowest {slowest:.2f} s, {len(misses)} misses")
    return 1 if misses else 0


if __name__ == "__main__":
    sys.exit(main())
