"""Is every piece played in the right order?

Compares `road_map.play_order` and `bars_played` of the first and of the last part
of every MusicXML row of play-order.csv with the order there, which is a plain
reading of the notation (repeats after D.C. and D.S. are not taken). Words that send
the player back may stand in one part only; every part must still know them.
A row whose notation is malformed must also carry a warning about it.

Bars are compared by printed label; the table's `4` also stands for the split bar
`4a` of the file, so a letter behind a number is dropped on our side.

Then the first part of every row of order-extra.csv: further files in which music21 and partitura
(two general-purpose libraries) agree, or which were read by eye. Rows whose `sure`
is `no` have no certain reading; they are shown and not judged.

Then every row of order-hand.csv: tunes in ABC and pieces in kern whose order was read by hand, before any reader of ours
had answered. Their bars are counted from 1 in written order: what stands between two bar lines is a bar, a pickup and
the rest of a bar after a repeat inside it too. A tune is cut out of its book and read alone.

Then every row of play-order.csv again as MEI that another program wrote (converted_mei.py): the same bars in the same
order, but for the counts that MEI can't hold.

Source: play-order.csv (column `why` says what is unusual in each); order-extra.csv (a witness in each row);
order-hand.csv (the reading in words in each row).
"""

import re
import sys
from pathlib import Path

import converted_mei
import foreread
import scores
import witness_xml

# Rows whose marks are faulty or incomplete, and what a warning must speak of.
MALFORMED = {
    "../musicxml/lilypondTestSuite/45c-RepeatMultipleTimes.xml": "repeat",
    "mozart/k156/movement2.mxl": "repeat",
    "mozart/k458/movement2.mxl": "ending",
    "mozart/k80/movement3.mxl": "capo|d\\. ?c\\.",
    "trecento/PMFC_06_Giovanni-04_De_Come_Dolce_Mente.xml": "repeat",
    "joplin/maple_leaf_rag.mxl": "ending",
}


def spelled_out(order: str) -> list[str]:
    """`1-3 2-3` as [`1`, `2`, `3`, `2`, `3`]."""
    bars = []
    for run in order.split():
        first, _dash, last = run.partition("-")
        bars += [str(n) for n in range(int(first), int(last or first) + 1)]
    return bars


def played(road_map: dict) -> list[str]:
    """Our play order as labels; an entry is a label or an object with `bar`."""
    labels = [str(e.get("bar")) if isinstance(e, dict) else str(e) for e in road_map.get("play_order") or []]
    return [re.sub(r"^(\d+)[a-z]$", r"\1", label) for label in labels]


def spelled_by_file(order: str, labels: list[str]) -> list[str]:
    """Runs of printed labels (`0-4 4a 5-10`) spelled out in the order of the file's bars."""
    place = {label: index for index, label in enumerate(labels)}
    bars = []
    for run in order.split():
        first, _dash, last = run.partition("-")
        bars += labels[place[first] : place[last or first] + 1]
    return bars


def compact(labels: list[str]) -> str:
    """[`1`, `2`, `3`, `2`] as `1-3 2`."""
    runs: list[list[str]] = []
    for label in labels:
        if runs and label.isdigit() and runs[-1][1].isdigit() and int(label) == int(runs[-1][1]) + 1:
            runs[-1][1] = label
        else:
            runs.append([label, label])
    return " ".join(a if a == b else f"{a}-{b}" for a, b in runs)


def warnings(answer: dict) -> str:
    """Everything our answer says about the road map's faults, as one text."""
    road_map = answer.get("road_map") or {}
    said = [answer.get("reader_findings"), road_map.get("traps"), road_map.get("findings"), road_map.get("notes")]
    return " ".join(str(s) for s in said if s)


def main() -> int:
    good = [known_rows(), further_rows(), hand_rows(), mei_rows()]
    return 0 if all(good) else 1


def known_rows() -> bool:
    """The rows of play-order.csv; True when all is right."""
    right, wrong, unwarned, total = 0, [], [], 0
    for row in scores.table("play-order.csv"):
        path = scores.score_path(row["unit"])
        count = len(witness_xml.parts(scores.tree(path)))
        for part in sorted({1, count}):
            total += 1
            try:
                answer = foreread.survey(path, part)
            except foreread.SurveyFailed as failed:
                wrong.append((row, part, str(failed)))
                continue
            road_map = answer.get("road_map") or {}
            order, expected = played(road_map), spelled_out(row["order"])
            if order == expected and road_map.get("bars_played") == int(row["plays"]):
                right += 1
            else:
                wrong.append((row, part, f"{compact(order)} ({road_map.get('bars_played')} bars)"))
            needed = MALFORMED.get(row["unit"])
            if needed and not re.search(needed, warnings(answer), re.I):
                unwarned.append((row, part, needed))
    for row, part, ours in wrong:
        print(f"  WRONG {row['unit']} --part {part}: right is {row['order']} ({row['plays']} bars), ours {ours}; {row['why']}")
    for row, part, needed in unwarned:
        print(f"  NO WARNING {row['unit']} --part {part}: nothing about {needed!r}; {row['why']}")
    print(f"{right} of {total} parts ({len(scores.table('play-order.csv'))} files) in the right order; "
          f"{len(unwarned)} malformed without a warning")
    return not wrong and not unwarned


def further_rows() -> bool:
    """The rows of order-extra.csv; True when every sure one is right."""
    rows, right, wrong, unsure = scores.table("order-extra.csv"), 0, [], []
    for row in rows:
        path = scores.score_path(row["unit"])
        labels = [m.get("number") or "" for m in witness_xml.parts(scores.tree(path))[0].findall("measure")]
        try:
            road_map = foreread.survey(path, 1).get("road_map") or {}
        except foreread.SurveyFailed as failed:
            wrong.append((row, str(failed)))
            continue
        indices = road_map.get("play_order_indices") or []
        names = [labels[i] for i in indices if i < len(labels)]
        if names == spelled_by_file(row["order"], labels) and road_map.get("bars_played") == int(row["plays"]):
            right += 1
        else:
            (wrong if row["sure"] == "yes" else unsure).append((row, f"{compact(names)} ({road_map.get('bars_played')} bars)"))
    for row, ours in wrong:
        print(f"  WRONG {row['unit']}: right is {row['order']} ({row['plays']} bars), ours {ours}; {row['witness']}")
    for row, ours in unsure:
        print(f"  UNSURE {row['unit']}: one reading is {row['order']}, ours {ours}; {row['witness']}")
    print(f"{right} of {len(rows)} further files in the right order; {len(wrong)} wrong, {len(unsure)} without a certain reading read otherwise")
    return not wrong


def tune_alone(path: Path, number: str) -> Path:
    """The tune with a number, cut out of its book into a file of its own."""
    text = path.read_text(encoding="utf-8", errors="replace").replace("\r\n", "\n")
    tunes = re.split(r"^(?=X:)", text, flags=re.M)
    found = [tune for tune in tunes if re.match(rf"X:\s*{re.escape(number)}\s*$", tune, re.M)]
    alone = foreread.scratch(f"{path.stem}-{number}.abc")
    alone.write_text(found[0], encoding="utf-8")
    return alone


def runs(bars: list[int]) -> str:
    """[1, 2, 3, 2] as `1-3 2`."""
    return compact([str(bar) for bar in bars])


def hand_rows() -> bool:
    """The rows of order-hand.csv; True when every sure one is right."""
    rows, right, wrong, unsure = scores.table("order-hand.csv", every=True), 0, [], []
    for row in rows:
        path = scores.score_path(row["unit"])
        try:
            road_map = foreread.survey(tune_alone(path, row["tune"]) if row["tune"] else path, 1).get("road_map") or {}
        except foreread.SurveyFailed as failed:
            wrong.append((row, str(failed)))
            continue
        ours = [index + 1 for index in road_map.get("play_order_indices") or []]
        expected = [int(bar) for bar in spelled_out(row["bars"])]
        assert len(expected) == int(row["plays"]), row
        if ours == expected and road_map.get("bars_played") == int(row["plays"]):
            right += 1
        else:
            (wrong if row["sure"] == "yes" else unsure).append((row, f"{runs(ours)} ({road_map.get('bars_played')} bars)"))
    for row, ours in wrong:
        print(f"  WRONG {row['unit']} {row['tune']}: by hand {row['bars']} ({row['plays']} bars), ours {ours}; {row['reading']}")
    for row, ours in unsure:
        print(f"  UNSURE {row['unit']} {row['tune']}: one reading is {row['bars']}, ours {ours}; {row['reading']}")
    print(f"{right} of {len(rows)} tunes read by hand in the same order; {len(wrong)} wrong, {len(unsure)} without a certain reading read otherwise")
    return not wrong


def mei_rows() -> bool:
    """The rows of play-order.csv as MEI; True when all is right."""
    rows, right, wrong = scores.table("play-order.csv"), 0, []
    for row in rows:
        expected, why = converted_mei.LOST.get(row["unit"], (row["order"], row["why"]))
        original = [m.get("number") or "" for m in witness_xml.parts(scores.tree(scores.score_path(row["unit"])))[0].findall("measure")]
        try:
            road_map = foreread.survey(converted_mei.converted(row["unit"]), 1).get("road_map") or {}
        except foreread.SurveyFailed as failed:
            wrong.append((row, expected, str(failed), why))
            continue
        # The converter may number bars afresh; a bar is named by its number in the original, from which it was made one to one.
        labels = [original[index] for index in road_map.get("play_order_indices") or [] if index < len(original)]
        names = [re.sub(r"^(\d+)[a-z]$", r"\1", label) for label in labels]
        if names == spelled_out(expected):
            right += 1
        else:
            wrong.append((row, expected, compact(names), why))
    for row, expected, ours, why in wrong:
        print(f"  WRONG {row['unit']} as MEI: right is {expected}, ours {ours}; {why}")
    print(f"{right} of {len(rows)} files as MEI of another program's writing in the right order "
          f"({len(converted_mei.LOST)} of them without their repeat counts, which MEI can't hold)")
    return not wrong


if __name__ == "__main__":
    sys.exit(main())
