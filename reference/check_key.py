"""Is the key right when only the notes, signatures and marks may speak?

Surveys stripped copies (see blank.py) of every row of key-truth.csv (MusicXML, ABC and kern) and every row of
key-extra.csv and compares tonic and mode. Reports per tier, the kind of every
miss (fifth, relative, parallel, same pitch spelled otherwise, other), whether the
certainty is calibrated (by decile), and the library's five profiles on the same
parts (data/key-library.csv). The floor is 97 % on the MusicXML rows of key-truth.csv; on all its
rows 96 % of plain major and minor in the main tiers (all but `abc-only` and `palestrina`), and 92 % of the main tiers
where a modal tune is right if its tonic and its mode proper are (`key.scale`). key-extra.csv is
reported with a floor of its own: it was drawn up before the method was, by other witnesses, but the weights have since
been fitted on most of its works (crates/survey/src/key/FIT.md), so for unseen parts the cross-validated figures
there are the ones to quote, not these.

Each row is measured twice: in the whole score, and with its part alone in the file, as it
lies on a player's stand. The two differ where the method reads the other parts (the last bass
note, say), and the chorale rows of both tables were chosen because their bass ends on the tonic: in the whole score that
witness is the program's too, so the part alone is the honest comparison with the library's profiles, which see one part.

With `--misses` prints each miss with our evidence; with `--leaks` also surveys
the unstripped files and lists the parts whose answer changes.

Source: key-truth.csv, key-extra.csv (a witness in each row). Profiles: music21 10.5.1.
"""

import csv
import sys
from collections import Counter, defaultdict

import blank
import foreread
import scores
import witness_xml

FLOOR = 0.97
# Plain major-and-minor tiers of the second set; the rest is reported without a floor.
EXTRA_FLOOR = 0.90
EXTRA_JUDGED = ("chorale-soprano", "chorale-alto", "chorale-tenor", "chorale-bass",
                "quartet", "quartet-inner", "other")
# All rows: the hard tiers are reported; plain major and minor, and all with modal tunes by their mode proper.
HARD = ("abc-only", "palestrina")
PLAIN_FLOOR, MODAL_FLOOR = 0.96, 0.92
PLAIN = {"maj": "major", "ion": "major", "min": "minor", "aeo": "minor"}
MODAL = {"dor": "dorian", "mix": "mixolydian", "phr": "phrygian", "lyd": "lydian"}
PROFILES = ("AardenEssen", "KrumhanslKessler", "TemperleyKostkaPayne", "BellmanBudge", "SimpleWeights")
LETTERS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}


def pitch_class(tonic: str) -> int:
    """Semitones above C of `Bb`, `B-`, `F#`."""
    signs = tonic[1:].replace("-", "b")
    return (LETTERS[tonic[0].upper()] + signs.count("#") - signs.count("b")) % 12


def kind_of_miss(truth: tuple[str, str], answer: tuple[str, str]) -> str:
    """How the wrong key is related to the right one."""
    (tonic, mode), (other, other_mode) = truth, answer
    step = (pitch_class(other) - pitch_class(tonic)) % 12
    if mode == other_mode:
        return {0: "spelling", 5: "fifth", 7: "fifth"}.get(step, "other")
    if step == 0:
        return "parallel"
    return "relative" if step == (9 if mode == "major" else 3) else "other"


def spelled(tonic: str) -> str:
    """One spelling for `B-`, `Bb`, `B♭`."""
    return (tonic or "").replace("-", "b").replace("♭", "b").replace("♯", "#")


class Tally:
    """Right and wrong answers of one set."""

    def __init__(self) -> None:
        self.tiers: dict[str, Counter] = defaultdict(Counter)
        self.misses: list = []
        self.answers: list[tuple[dict, dict]] = []
        self.deciles: dict[int, Counter] = defaultdict(Counter)

    def add(self, row: dict, answer: dict | None, why: str = "") -> None:
        truth = (spelled(row["tonic"]), row["mode"])
        key = (answer or {}).get("key") or {}
        self.answers.append((row, key))
        given = (spelled(key.get("tonic") or ""), key.get("mode") or "")
        tier = self.tiers[row["tier"]]
        tier["n"] += 1
        right = given == truth
        certainty = key.get("certainty")
        if isinstance(certainty, (int, float)):
            decile = min(9, max(0, int(certainty * 10)))
            self.deciles[decile]["n"] += 1
            self.deciles[decile]["right"] += right
            self.deciles[decile]["certainty"] += certainty
        if right:
            tier["right"] += 1
            return
        miss = kind_of_miss(truth, given) if given[0] and given[1] in ("major", "minor") else "no answer"
        tier[miss] += 1
        self.misses.append((row, truth, given, miss, key, why))

    def share(self, tiers: tuple[str, ...] | None = None) -> float:
        chosen = [c for t, c in self.tiers.items() if tiers is None or t in tiers]
        return sum(c["right"] for c in chosen) / max(1, sum(c["n"] for c in chosen))


def measure_plain(rows: list[dict], leaks: bool) -> tuple[Tally, list, list]:
    """Survey the ABC and kern rows. Also the parts whose answer changes when the key's name is not blanked."""
    tally, changed = Tally(), []
    for row in rows:
        unit = row["unit"]
        kern = unit.endswith(".krn")
        copy = foreread.scratch("score.krn" if kern else "tune.abc")
        blank.write_plain(unit, copy)
        try:
            answer = foreread.survey(copy, int(row["part"]) + 1)
        except foreread.SurveyFailed as failed:
            tally.add(row, None, str(failed))
            continue
        tally.add(row, answer)
        if leaks:
            tune = ("--tune", unit.partition("#")[2]) if "#" in unit else ()
            full = foreread.survey(scores.score_path(unit), int(row["part"]) + 1, tune)
            plain = [(a.get("key") or {}).get(k) for a in (answer, full) for k in ("tonic", "mode")]
            if plain[:2] != plain[2:]:
                changed.append((unit, row["part"], plain))
    return tally, changed, tally.answers


def in_mode(row: dict, key: dict) -> bool:
    """Is the tonic right, and the mode: major or minor where the tune is plain, the mode proper where it isn't?"""
    if spelled(key.get("tonic") or "") != spelled(row["tonic"]):
        return False
    if row["scale"] in MODAL:
        return key.get("scale") == MODAL[row["scale"]]
    return key.get("mode") == PLAIN.get(row["scale"], row["mode"])


def all_rows(answers: list[tuple[dict, dict]]) -> list[tuple[str, float, float]]:
    """Shares over the main tiers of all rows, with their floors."""
    main_tiers = [(row, key) for row, key in answers if row["tier"] not in HARD]
    plain = [(row, key) for row, key in main_tiers if row["scale"] in PLAIN]
    hard = [(row, key) for row, key in answers if row["tier"] in HARD]
    share = lambda rows: sum(in_mode(*pair) for pair in rows) / max(1, len(rows))  # noqa: E731
    coarse = sum((spelled(key.get("tonic") or ""), key.get("mode")) == (spelled(row["tonic"]), row["mode"])
                 for row, key in main_tiers) / max(1, len(main_tiers))
    print(f"all rows: {len(answers)}; main tiers {len(main_tiers)}: tonic and major or minor {coarse:.1%}; "
          f"hard tiers {len(hard)}: with the mode proper {share(hard):.1%}")
    for row, key in answers:
        if row["scale"] in MODAL and not in_mode(row, key):
            print(f"  MODE {row['unit']} part {row['part']} ({row['tier']}): true {row['tonic']} {row['scale']}, "
                  f"ours {key.get('tonic')} {key.get('mode')}, {key.get('scale')}")
    return [(f"main tiers, plain major and minor ({len(plain)} rows)", share(plain), PLAIN_FLOOR),
            (f"main tiers, modal tunes by their mode proper ({len(main_tiers)} rows)", share(main_tiers), MODAL_FLOOR)]


def measure(rows: list[dict], leaks: bool, alone: bool = False) -> tuple[Tally, list]:
    """Survey every row's part in a stripped copy of its score, or of the part alone."""
    tally, changed = Tally(), []
    copy, single = foreread.scratch("score.musicxml"), foreread.scratch("part.musicxml")
    current, entries = None, []
    for row in rows:
        if row["unit"] != current:
            current = row["unit"]
            path = scores.score_path(current)
            entries = witness_xml.part_staves(scores.tree(path))
            blank.write_blank(current, copy)
        number = entries[int(row["part"])].number
        try:
            if alone:
                blank.write_alone(copy, number, single)
            answer = foreread.survey(single, 1) if alone else foreread.survey(copy, number)
        except foreread.SurveyFailed as failed:
            tally.add(row, None, str(failed))
            continue
        tally.add(row, answer)
        if leaks:
            full = foreread.survey(path, number)
            plain = [(a.get("key") or {}).get(k) for a in (answer, full) for k in ("tonic", "mode")]
            if plain[:2] != plain[2:]:
                changed.append((row["unit"], row["part"], plain))
    return tally, changed


def library_share(rows: list[dict], tiers: tuple[str, ...] | None) -> dict[str, float]:
    """The five profiles' share of right answers on the same rows, as recorded."""
    with open(scores.DATA / "key-library.csv", encoding="utf-8", newline="") as lines:
        recorded = {(r["unit"], r["part"]): r for r in csv.DictReader(lines)}
    rows = [r for r in rows if (tiers is None or r["tier"] in tiers) and (r["unit"], r["part"]) in recorded]
    return {
        profile: sum(
            recorded[r["unit"], r["part"]][profile] == f"{spelled(r['tonic'])} {r['mode']}" for r in rows
        ) / max(1, len(rows))
        for profile in PROFILES
    }


def report(name: str, rows: list[dict], tally: Tally, misses: bool) -> None:
    kinds = ("fifth", "relative", "parallel", "spelling", "other", "no answer")
    print(f"{name}: exact tonic and mode, {tally.share():.1%} of {len(rows)}")
    for tier, counts in sorted(tally.tiers.items()):
        wrong = ", ".join(f"{k} {counts[k]}" for k in kinds if counts[k])
        profiles = library_share(rows, (tier,))
        best = max(profiles, key=profiles.get)
        print(f"  {tier:16} {counts['right']:4} of {counts['n']:4} {counts['right'] / counts['n']:6.1%}"
              f"   library's best {profiles[best]:6.1%} ({best})   {wrong}")
    profiles = library_share(rows, None)
    print("  library's profiles on the same rows: " + ", ".join(f"{k} {v:.1%}" for k, v in profiles.items()))
    print("  certainty by decile: " + ("; ".join(
        f"{d / 10:.1f}–{d / 10 + 0.1:.1f}: said {c['certainty'] / c['n']:.2f}, right {c['right'] / c['n']:.2f} of {c['n']}"
        for d, c in sorted(tally.deciles.items())) or "none given"))
    if misses:
        for row, truth, given, miss, key, why in tally.misses:
            print(f"  MISS {row['unit']} part {row['part']} ({row['tier']}): true {' '.join(truth)}, "
                  f"ours {' '.join(given) or why}; {miss}; witness: {row.get('source') or row.get('witness')}")
            print(f"       certainty {key.get('certainty')}, runner-up {key.get('runner_up')}")
            for line in (key.get("evidence") or [])[:6]:
                print(f"       {line if isinstance(line, str) else line.get('text', line)}")


def main() -> int:
    misses, leaks = "--misses" in sys.argv, "--leaks" in sys.argv
    truth, extra = scores.table("key-truth.csv"), scores.table("key-extra.csv")
    if "--quick" in sys.argv:
        extra = extra[::8]
    shares, alone_answers = [], []
    for alone in (False, True):
        where = "the part alone" if alone else "in the whole score"
        first, changed = measure(truth, leaks and not alone, alone)
        if alone:
            alone_answers = first.answers
        report(f"key-truth.csv, {where}", truth, first, True)
        second, changed_too = measure(extra, leaks and not alone, alone)
        report(f"key-extra.csv, {where}", extra, second, misses)
        for unit, part, answers in changed + changed_too:
            print(f"  LEAK {unit} part {part}: stripped {answers[:2]}, whole file {answers[2:]}")
        shares += [(where, first.share(), FLOOR), (where + ", tiers with a floor", second.share(EXTRA_JUDGED), EXTRA_FLOOR)]
    plain_rows = [r for r in scores.table("key-truth.csv", every=True) if not scores.is_musicxml(r["unit"])]
    third, changed, answers = measure_plain(plain_rows, leaks)
    report("key-truth.csv, ABC and kern", plain_rows, third, True)
    for unit, part, pair in changed:
        print(f"  LEAK {unit} part {part}: stripped {pair[:2]}, whole file {pair[2:]}")
    shares += all_rows(alone_answers + answers)
    for where, share, floor in shares:
        print(f"{'' if share >= floor else 'BELOW THE FLOOR: '}{where}: {share:.1%} (floor {floor:.0%})")
    print(f"(tiers with a floor in key-extra.csv: {', '.join(EXTRA_JUDGED)})")
    return 0 if all(share >= floor for _where, share, floor in shares) else 1


if __name__ == "__main__":
    sys.exit(main())
