"""What does the JSON promise where a player or an instrument was given, and do its numbers add up?

Source: issue 4's JSON (`load`, `trouble_spots`, `look_alikes`, `breaths`, `fingering`, `ladder`, `levels`); the metronome's
series of marks (40 to 60 by twos, to 72 by threes, to 120 by fours, to 144 by sixes, to 208 by eights: common practice).
Counts of notes are taken from the bare XML, not from the survey.
"""

import math

NUMBER, TEXT, FLAG = (int, float), str, bool
MAYBE_TEXT, MAYBE_NUMBER, MAYBE_FLAG = (str, type(None)), (int, float, type(None)), (bool, type(None))
BAR = {"bar": TEXT, "bar_index": int}
SPAN = {"from_bar": TEXT, "from_bar_index": int, "to_bar": TEXT, "to_bar_index": int}
PART = {"kind": TEXT, "why": TEXT, "amount": NUMBER}
CONTRACT = {
    "player": {
        "instrument": MAYBE_TEXT, "instrument_name": MAYBE_TEXT, "level": TEXT, "range": (dict, type(None)), "breath_seconds": NUMBER,
        "tongue": {"burst": NUMBER, "sustained": NUMBER, "multiple": FLAG},
    },
    "load": [{
        **BAR, "reading_bits": NUMBER, "hand": NUMBER, "breath": NUMBER, "breath_secs": MAYBE_NUMBER, "fullness": NUMBER, "in_words": TEXT, "why": [TEXT],
        "beats": [{"beat": int, "offset": NUMBER, "reading_bits": NUMBER, "hand": NUMBER, "why": [TEXT]}],
        "parts": {"reading": [{**PART, "beat_index": int}], "hand": [{**PART, "beat_index": int}], "breath": [PART]},
    }],
    "trouble_spots": [{
        **SPAN, "reasons": [TEXT], "suggestion": TEXT, "slowly_first": FLAG, "also_bars": [BAR], "into": (dict, type(None)),
    }],
    "look_alikes": [{**BAR, "like_bar": TEXT, "like_bar_index": int, "how": TEXT, "says": TEXT, "differences": [TEXT]}],
    "look_alikes_more": {
        "new_bars": int, "bars_with_notes": int, "form": {"letters": TEXT, "sections": [SPAN]}, "passages": [SPAN],
        "figures": [{"notes": int, "quarters": NUMBER, "times": int, "places": [BAR]}], "summary": TEXT,
    },
    "breaths": [{
        **BAR, "beat": NUMBER, "tempo": TEXT, "kind": TEXT, "optional": FLAG, "why": TEXT, "shortened": (dict, type(None)), "printed": FLAG,
    }],
    "breaths_more": {"summary": TEXT, "caution": TEXT, "findings": [dict]},
    "fingering": [{
        **BAR, "beat": NUMBER, "written": TEXT, "fingering": TEXT, "pressed": TEXT, "basic": FLAG, "alternate": FLAG, "own": FLAG,
        "reason": MAYBE_TEXT, "grade": TEXT,
    }],
    "fingering_more": {
        "chart": (dict, type(None)), "means": TEXT, "gaps": [{**BAR, "written": TEXT, "times": int, "why": TEXT}],
        "trills": [{**BAR, "main": TEXT, "upper": TEXT, "known": FLAG, "says": TEXT}],
        "used": [{"written": TEXT, "fingering": TEXT, "in_words": TEXT, "times": int, "grade": TEXT, "sources": [TEXT]}],
    },
    "levels": [{
        "table": TEXT, "source": TEXT, "level": TEXT, "fits": FLAG, "says": TEXT,
        "criteria": [{"name": TEXT, "fits": MAYBE_FLAG, "why": TEXT}],
    }],
    "phrases": [{**SPAN, "from_beat": NUMBER, "to_beat": NUMBER, "notes": int}],
}
# There only sometimes: a ladder where there is a tempo to climb to, bowings for strings.
SOMETIMES = {
    "ladder": {
        "scheme": TEXT, "source": TEXT, "words": TEXT, "advice": TEXT, "goal": {"beat": TEXT, "bpm": NUMBER},
        "rungs": [{"beat": TEXT, "bpm": int, "times": int, "click": {"beat": TEXT, "bpm": int}, "says": TEXT}],
    },
    "bowings": [{**BAR, "beat": NUMBER, "stroke": TEXT, "hooked": FLAG, "why": TEXT}],
}
HERS = {"basis": TEXT, "beat": TEXT, "low": int, "high": int, "reason": TEXT, "limits": [{"what": TEXT, "beat_bpm": NUMBER, "why": TEXT}]}
ALL = [*CONTRACT, *SOMETIMES, "bowings_more"]
MARKS = {*range(40, 60, 2), *range(60, 72, 3), *range(72, 120, 4), *range(120, 144, 6), *range(144, 209, 8)}


def numbers(value, path=""):
    """Every number in an answer with its path."""
    if isinstance(value, dict):
        for key, child in value.items():
            yield from numbers(child, f"{path}.{key}")
    elif isinstance(value, list):
        for child in value:
            yield from numbers(child, path + "[]")
    elif isinstance(value, float):
        yield path, value


def sums(answer: dict) -> set[str]:
    """Loads that are not the sum of their parts, or of their beats."""
    wrong = set()
    for bar in answer["load"]:
        for load, parts in (("reading_bits", "reading"), ("hand", "hand"), ("breath", "breath")):
            made_of = bar["parts"][parts]
            if not math.isclose(sum(p["amount"] for p in made_of), bar[load], abs_tol=1e-9):
                wrong.add(f"load: {load} of a bar is not the sum of its parts")
            if load == "breath":
                continue
            if not math.isclose(sum(b[load] for b in bar["beats"]), bar[load], abs_tol=1e-9):
                wrong.add(f"load: {load} of a bar is not the sum of its beats")
            for at, beat in enumerate(bar["beats"]):
                if not math.isclose(sum(p["amount"] for p in made_of if p["beat_index"] == at), beat[load], abs_tol=1e-9):
                    wrong.add(f"load: {load} of a beat is not the sum of its parts")
    return wrong


def sounding(measure) -> bool:
    """Does a <measure> hold a note to play?"""
    return any(n.find("rest") is None and n.find("cue") is None for n in measure.findall("note"))


def promises(answer: dict, measures: list) -> set[str]:
    """What else is promised: finite numbers, breaths where notes are, short ranked spots, rungs on the metronome, a fingering for each note."""
    wrong = sums(answer)
    wrong |= {f"{path} is {n}" for path, n in numbers(answer) if not math.isfinite(n) or (n == 0 and math.copysign(1, n) < 0)}
    if len(answer["load"]) != len(measures):
        wrong.add("load: not one for each bar")
    for breath in answer["breaths"]:
        if not sounding(measures[breath["bar_index"]]):
            wrong.add("breaths: one in a bar without notes")
    for rank, spot in enumerate(answer["trouble_spots"]):
        if not 0 <= spot["to_bar_index"] - spot["from_bar_index"] < 4:
            wrong.add("trouble_spots: not one to four bars")
        if spot["slowly_first"] != (rank < 3):
            wrong.add("trouble_spots: the first three are to be read slowly first")
    for rung in (answer.get("ladder") or {}).get("rungs", []):
        if rung["bpm"] not in MARKS:
            wrong.add(f"ladder: {rung['bpm']} is not on the metronome")
    if answer["fingering_more"]["chart"] is not None:
        fingered, wanted = len(answer["fingering"]), notes_to_finger(measures)
        known = fingered + sum(gap["times"] for gap in answer["fingering_more"]["gaps"])
        # Several voices are one line to the survey: there the witness can't tell how many notes it has.
        if wanted is not None and known != wanted:
            wrong.add(f"fingering: {known} entries and gaps for {wanted} notes")
    return wrong


def notes_to_finger(measures: list) -> int | None:
    """Notes that are struck: chords once, tied ones once, cues left out; None for several voices."""
    notes = [n for m in measures for n in m.findall("note") if n.find("cue") is None]
    if len({n.findtext("voice") or "1" for n in notes if n.find("rest") is None}) > 1:
        return None
    struck = [n for n in notes if all(n.find(t) is None for t in ("rest", "chord", "unpitched"))]
    return sum(not any(t.get("type") == "stop" for t in n.findall("tie")) for n in struck)
