"""Does the JSON keep the contract that outside readers rely on?

Surveys the feature-rich units of corpus-files.txt and every demo piece, and checks that
each member the contract names is there with the right kind of value; that pitches are
written like `Bb1`, `E#2`, `F##4`; that wherever a bar stands, its index stands beside it and
both name the same `<measure>` of the file; and that the answer fits the published schema.
Then the same with a player: her instrument (the part's own, or another by turns) and level, and once with a file of hers;
there every load must be the sum of its parts and every note have its fingering or its gap (study_contract.py).

Source: the issue's "JSON contract"; docs/*.schema.json (JSON Schema, checked with
the jsonschema package); the bare XML for bars.
"""

import json
import re
import sys
from pathlib import Path

import jsonschema

import foreread
import scores
import study_contract
import witness_xml

NUMBER, TEXT, FLAG = (int, float), str, bool
# A tuple is "one of these kinds", a list of one is "a list of these", a dict "an object with these".
BAR = {"bar": TEXT, "bar_index": int}
MAYBE_TEXT, MAYBE_NUMBER = (str, type(None)), (int, float, str, type(None))
PITCH_END = {"written": TEXT, "sounding": TEXT, **BAR}
CONTRACT = {
    "piece": {"title": MAYBE_TEXT, "part": MAYBE_TEXT, "instrument": (str, dict, type(None)), "bars": int, "notes": int},
    "key": {
        "tonic": TEXT, "mode": TEXT, "signature": (int, str, dict, type(None)), "certainty": NUMBER, "evidence": [object],
        "regions": [{"from_bar": TEXT, "to_bar": TEXT, "tonic": TEXT, "mode": TEXT}],
        "concert": {"tonic": TEXT, "mode": TEXT},
    },
    "range": {"lowest": PITCH_END, "highest": PITCH_END},
    "metre": [{**BAR, "beats": (int, str), "beat_type": (int, str, type(None)), "symbol": MAYBE_TEXT, "kind": TEXT}],
    "rhythm": {
        "patterns": [{"pattern": (str, list), "count": int, "first_bar": TEXT, "counting": TEXT}],
        "shortest": (str, dict, type(None)), "tuplets": (int, list, dict), "syncopation": [{**BAR, "score": MAYBE_NUMBER}],
    },
    "terms": [{"text": TEXT, "meaning": MAYBE_TEXT, "kind": MAYBE_TEXT, **BAR}],
    "tempo": {
        "marking": MAYBE_TEXT, "marked_bpm": MAYBE_NUMBER,
        "table_ranges": [{"table": TEXT, "low": MAYBE_NUMBER, "high": MAYBE_NUMBER}],
        "first_reading": {"beat": TEXT, "low": NUMBER, "high": NUMBER, "reason": TEXT, "basis": TEXT},
    },
    "road_map": {"play_order": [object], "bars_played": int, "quarters_played": MAYBE_NUMBER, "jumps": [object]},
    "dynamics": [{"mark": TEXT, **BAR}],
    "accidentals": {
        "ledger": [{**BAR, "written": TEXT, "printed": (bool, str, type(None)), "carried": (bool, str, type(None))}],
        "altered_notes": int, "enharmonic": [object], "courtesy_suggested": [object],
    },
    "clefs": [{**BAR, "clef": TEXT}],
    "articulation": [{"mark": TEXT, "count": int, "bars": [object]}],
    "ornaments": [{"mark": TEXT, **BAR, "notes": [object]}],
    "look_first": [object],
    "reader_findings": [object],
    "counts": {k: int for k in "events heads chords grace tuplet_members ties altered shown_acc double_acc rests slurs".split()},
}
PITCH = re.compile(r"^[A-G](bb|b|##|#)?-?\d+$")


def misfits(value, wanted, path: str) -> list[str]:
    """Where a value departs from the contract (an optional object may be null)."""
    if isinstance(wanted, dict):
        if value is None and path in ("range.lowest", "range.highest", "key.concert", "tempo.first_reading"):
            return []
        if not isinstance(value, dict):
            return [f"{path} is {type(value).__name__}, not an object"]
        return [m for k, w in wanted.items() for m in (
            misfits(value[k], w, f"{path}.{k}".lstrip(".")) if k in value else [f"{path}.{k} is missing".lstrip(".")])]
    if isinstance(wanted, list):
        if not isinstance(value, list):
            return [f"{path} is {type(value).__name__}, not a list"]
        return [m for element in value for m in misfits(element, wanted[0], path + "[]")]
    if isinstance(value, bool) and wanted is not object and bool not in (wanted if isinstance(wanted, tuple) else (wanted,)):
        return [f"{path} is a yes or no"]
    return [] if isinstance(value, wanted) else [f"{path} is {type(value).__name__}: {str(value)[:40]!r}"]


def bars_named(value, path: str = ""):
    """Every (path, label, index) in the answer, and every label without its index."""
    if isinstance(value, dict):
        for key, child in value.items():
            if key == "bar" or key.endswith("_bar"):
                if isinstance(child, str):
                    yield path + "." + key, child, value.get(key + "_index")
            yield from bars_named(child, f"{path}.{key}".lstrip("."))
    elif isinstance(value, list):
        for child in value:
            yield from bars_named(child, path + "[]")


def wrong_bars(answer: dict, labels: list[str]) -> set[str]:
    """Bars without an index, or whose index is another measure's; the index counts from 0."""
    wrong = set()
    for path, label, index in bars_named(answer):
        if not isinstance(index, int):
            wrong.add(f"{path} has no index beside it")
        elif not 0 <= index < len(labels):
            wrong.add(f"{path} has index {index} of {len(labels)} bars")
        elif labels[index] != label:
            wrong.add(f"{path} says {label!r}, measure {index} is {labels[index]!r}")
    return wrong


def pitches(answer: dict) -> list[str]:
    """Pitch names that aren't written as agreed."""
    range_ = answer.get("range") or {}
    ends = [e.get(k) for e in (range_.get("lowest"), range_.get("highest")) if e for k in ("written", "sounding")]
    ledger = [e.get("written") for e in (answer.get("accidentals") or {}).get("ledger") or []]
    return [p for p in ends + ledger if not isinstance(p, str) or not PITCH.match(p)]


def schema() -> dict | None:
    files = sorted((foreread.HERE.parent / "docs").glob("survey.schema.json"))
    return json.loads(files[-1].read_text(encoding="utf-8")) if files else None


# By turns, where a part names no instrument of its own: a chart of keys, valves, a slide, none, strings.
OTHERS = ["clarinet-bb", "trumpet-bb", "trombone-tenor", "voice-alto", "violin"]
LEVELS = ["student", "intermediate", "professional"]
PLAYER = """
name = "Ida"
instrument = "flute"
level = "intermediate"
breath_seconds = 9.5
tongue_per_second = 6.0
multiple_tongue = true
range = { low = "D4", high = "G6" }
out_of_reach = [{ note = "Bb4", fingering = "thumb" }]
"""


def players(answer: dict, turn: int) -> list[tuple[str, ...]]:
    """Options for two players of a part: one of its own instrument at one level, one of another at the next."""
    own, other = (answer.get("piece") or {}).get("instrument_id"), OTHERS[turn % len(OTHERS)]
    return [
        ("--instrument", own or other, "--level", LEVELS[turn % 3]),
        ("--instrument", other, "--level", LEVELS[(turn + 1) % 3]),
    ]


def contract_faults(answer: dict, wanted: dict, measures: list, validator) -> list[str]:
    labels = [m.get("number") or "" for m in measures]
    found = misfits(answer, wanted, "") + sorted(wrong_bars(answer, labels)) + [f"pitch written {p!r}" for p in pitches(answer)]
    if validator is not None:
        found += [f"schema: {'/'.join(map(str, e.absolute_path))}: {e.message[:120]}" for e in list(validator.iter_errors(answer))[:5]]
    return found


def player_faults(answer: dict, measures: list, validator) -> list[str]:
    """Where an answer for a player departs from what is promised."""
    wanted = {**CONTRACT, **study_contract.CONTRACT, **{k: w for k, w in study_contract.SOMETIMES.items() if k in answer}}
    found = contract_faults(answer, wanted, measures, validator)
    if first := (answer.get("tempo") or {}).get("first_reading"):
        found += misfits(first, study_contract.HERS, "tempo.first_reading")
        found += [] if first.get("basis") == "player" else ["tempo.first_reading is not the player's"]
    return found if found else sorted(study_contract.promises(answer, measures))


def main() -> int:
    units = (scores.DATA / "corpus-files.txt").read_text(encoding="utf-8").splitlines()
    paths = [scores.score_path(u) for u in units if scores.is_musicxml(u)]
    demo = foreread.HERE.parent / "demo"
    paths += [p for p in sorted(demo.rglob("*")) if p.suffix in scores.MUSICXML] if demo.exists() else []
    published = schema()
    validator = jsonschema.validators.validator_for(published)(published) if published else None
    faults: dict[str, list[str]] = {} if published else {"docs/ has no *.schema.json": ["docs"]}
    profile = foreread.scratch("player.toml")
    profile.write_text(PLAYER, encoding="utf-8")
    surveys = 0

    def held(path, extra, check) -> dict:
        """The survey of a file, held against a check."""
        nonlocal surveys
        surveys += 1
        answer, name = {}, " ".join([path.name, *(e for e in extra if not e.startswith("--") and "/" not in e)])
        try:
            answer = foreread.survey(path, 1, extra)
            found = check(answer)
        except foreread.SurveyFailed as failed:
            found = [f"no survey: {failed}"]
        for fault in dict.fromkeys(found):
            faults.setdefault(fault, []).append(name)
        return answer

    for turn, path in enumerate(paths):
        measures = witness_xml.parts(scores.tree(path))[0].findall("measure")

        def without(answer, measures=measures):
            found = contract_faults(answer, CONTRACT, measures, validator)
            found += [f"{key} without a player" for key in study_contract.ALL if key in answer]
            basis = ((answer.get("tempo") or {}).get("first_reading") or {}).get("basis", "page")
            return found + ([] if basis == "page" else ["tempo.first_reading is of a player that was not given"])

        plain = held(path, (), without)
        options = players(plain, turn) + ([("--player", str(profile))] if turn % 5 == 0 else [])
        for extra in options:
            held(path, extra, lambda answer, measures=measures: player_faults(answer, measures, validator))
    for fault, where in faults.items():
        print(f"  {fault} (in {len(where)}: {', '.join(where[:3])})")
    print(f"{surveys} surveys of {len(paths)} files held against the contract, {len(faults)} kinds of fault")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
