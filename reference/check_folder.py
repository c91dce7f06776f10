"""Do the tables of a folder say what the JSON says?

Surveys a folder made of every demo piece, the feature-rich corpus files, two broken files and a picture, as lines of
JSON, CSV and Parquet. The CSV is read with Python's csv module, the Parquet file with DuckDB; every cell must be the
value that this script derives from the JSON line. The lines themselves must fit the published schema and equal the
survey of the file alone, and the order must not depend on the number of threads.

Source: RFC 4180 (csv module); Apache Parquet as DuckDB reads it; docs/survey-table.md for the columns.
"""

import csv
import json
import re
import shutil
import sys
from pathlib import Path

import duckdb
import jsonschema

import foreread
import scores

HERE = foreread.HERE
ALONE = 12  # lines held against the survey of the file alone


def put_together() -> Path:
    """A folder of good files, bad ones and others."""
    folder = foreread.scratch("folder")
    (folder / "corpus").mkdir(parents=True)
    for path in sorted((HERE.parent / "demo/pieces").iterdir()):
        shutil.copy(path, folder)
    for number, unit in enumerate((scores.DATA / "corpus-files.txt").read_text(encoding="utf-8").splitlines()):
        path = scores.score_path(unit)
        if path.is_file():
            shutil.copy(path, folder / "corpus" / f"{number:03} {path.name}")
    good = (folder / "kite_weather.musicxml").read_bytes()
    (folder / "cut.musicxml").write_bytes(good[: len(good) // 2])
    (folder / "noise.mxl").write_bytes(b"PK\x03\x04 and then noise")
    (folder / "picture.png").write_bytes(b"\x89PNG\r\n\x1a\n")
    return folder


def dig(value, *names):
    """value[name][name]…, None where one is missing."""
    for name in names:
        value = value.get(name) if isinstance(value, dict) else None
    return value


def listed(words: list[str]) -> str | None:
    return ", ".join(dict.fromkeys(words)) or None


def expected(line: dict) -> dict:
    """The row of the table, derived from a line of JSON."""
    piece, range_, tempo, rhythm, road = (line.get(k) or {} for k in ("piece", "range", "tempo", "rhythm", "road_map"))
    metres, findings, bars = line.get("metre"), line.get("reader_findings"), rhythm.get("syncopation")
    fractions = [m["fraction"] for m in metres or []]
    low, high = dig(range_, "lowest_sounding") or dig(range_, "lowest"), dig(range_, "highest_sounding") or dig(range_, "highest")
    return {
        "file": line["file"], "tune": line["tune"], "format": piece.get("format"), "title": piece.get("title"),
        "composer": piece.get("composer"), "part_number": line["part"], "part": piece.get("part"),
        "instrument": piece.get("instrument"), "key_tonic": dig(line, "key", "tonic"), "key_mode": dig(line, "key", "mode"),
        "key_scale": dig(line, "key", "scale"), "key_certainty": dig(line, "key", "certainty"),
        "signature": dig(line, "key", "signature"), "lowest_written": dig(range_, "lowest", "written"),
        "highest_written": dig(range_, "highest", "written"), "lowest_sounding": dig(low, "sounding"),
        "highest_sounding": dig(high, "sounding"), "metre": fractions[0] if fractions else None,
        "metre_changes": None if metres is None else sum(a != b for a, b in zip(fractions, fractions[1:])),
        "pickup": dig(line, "metre_more", "anacrusis", "quarters"), "bars": piece.get("bars"), "notes": piece.get("notes"),
        "tempo_marking": tempo.get("marking"), "marked_tempo": tempo.get("marked_bpm"),
        "first_reading_beat": dig(tempo, "first_reading", "beat"), "first_reading_low": dig(tempo, "first_reading", "low"),
        "first_reading_high": dig(tempo, "first_reading", "high"), "bars_played": road.get("bars_played"),
        "quarters_played": road.get("quarters_played"), "shortest_value": rhythm.get("shortest"),
        "shortest_quarters": rhythm.get("shortest_quarters"), "altered_notes": dig(line, "accidentals", "altered_notes"),
        "syncopation_mean": sum(b["score"] or 0 for b in bars) / len(bars) if bars else None,
        "ornaments": None if line.get("ornaments") is None else len(line["ornaments"]),
        "clefs": listed([c["name"] for c in line.get("clefs") or []]),
        "dynamics": listed([d["mark"] for d in dig(line, "dynamics_more", "levels") or []]),
        "findings": None if findings is None else len(findings),
        "problems": None if findings is None else sum(f["severity"] == "problem" for f in findings),
        "player_instrument": dig(line, "player", "instrument"), "player_level": dig(line, "player", "level"),
        "slowly_first": "; ".join(
            spot["from_bar"] if spot["from_bar_index"] == spot["to_bar_index"] else f"{spot['from_bar']}–{spot['to_bar']}"
            for spot in line.get("trouble_spots") or [] if spot["slowly_first"]),
        "new_bars": dig(line, "look_alikes_more", "new_bars"),
        "levels": "; ".join(f"{level['table']}: {level['level']}" for level in line.get("levels") or [] if level["fits"]),
        "error": line.get("error"),
    }


def differs(told, wanted) -> bool:
    """Empty words are nothing; the CSV's numbers are text."""
    wanted = None if wanted == "" else wanted
    if isinstance(told, str) and not isinstance(wanted, str):
        told = None if told == "" else float(told)
    return told != wanted


def columns() -> list[str]:
    page = (HERE.parent / "docs/survey-table.md").read_text(encoding="utf-8")
    return re.findall(r"^\| `(\w+)` \|", page, re.M)


def table(folder: Path, form: str, *extra: str) -> tuple[Path, foreread.Run]:
    to = foreread.scratch(f"table.{form}")
    done = foreread.run(["survey", str(folder), "--as", form, "--to", str(to), *extra])
    return to, done


def compare(folder: Path, lines: list[dict], *extra: str) -> list[str]:
    """What is wrong with the CSV and the Parquet table of the folder beside the lines of JSON."""
    faults = []
    with open(table(folder, "csv", *extra)[0], encoding="utf-8", newline="") as file:
        csv_rows = list(csv.DictReader(file, strict=True))
    parquet = str(table(folder, "parquet", *extra)[0])
    answer = duckdb.sql(f"select * from read_parquet('{parquet}')")
    parquet_rows = [dict(zip(answer.columns, row)) for row in answer.fetchall()]
    names = columns()
    for form, rows, head in (("csv", csv_rows, list(csv_rows[0])), ("parquet", parquet_rows, answer.columns)):
        if head != names:
            faults.append(f"{form}: its columns are not those of docs/survey-table.md")
        if len(rows) != len(lines):
            faults.append(f"{form}: {len(rows)} rows, {len(lines)} lines of JSON")
        for line, row in zip(lines, rows):
            wanted = expected(line)
            faults += [
                f"{form}: {line['file']}, part {line['part']}: {name} is {row.get(name)!r}, not {wanted[name]!r}"
                for name in names if differs(row.get(name), wanted[name])
            ]
    return faults


def main() -> int:
    folder = put_together()
    # For a player first: her columns hold something, and the first tempo is hers.
    asked = ("--instrument", "flute", "--level", "student")
    hers = [json.loads(line) for line in table(folder, "jsonl", *asked)[0].read_text(encoding="utf-8").splitlines()]
    faults = compare(folder, hers, *asked)
    if not any(line.get("trouble_spots") for line in hers):
        faults.append("with a player no line has trouble spots")
    jsonl, done = table(folder, "jsonl")
    print("  " + done.err.strip().splitlines()[-1])
    if done.status != 0:
        print(f"  exit status {done.status}: {done.err[:400]}")
        return 1
    lines = [json.loads(line) for line in jsonl.read_text(encoding="utf-8").splitlines()]
    faults += compare(folder, lines)
    names = columns()

    bad = [line["file"] for line in lines if "error" in line]
    if not {"cut.musicxml", "noise.mxl"} <= set(bad):
        faults.append(f"the broken files have no row: {bad}")
    if [line["file"] for line in lines] != sorted((line["file"] for line in lines), key=lambda f: f.split("/")):
        faults.append("the rows are not in the order of the files' names")
    first = jsonl.read_bytes()
    for threads in ("1", "5"):
        if table(folder, "jsonl", "--threads", threads)[0].read_bytes() != first:
            faults.append(f"{threads} threads give another table")

    schema = json.loads((HERE.parent / "docs/survey.schema.json").read_text(encoding="utf-8"))
    validator = jsonschema.validators.validator_for(schema)(schema)
    good = [line for line in lines if "error" not in line]
    for line in good[:: max(1, len(good) // ALONE)]:
        faults += [f"schema: {line['file']}: {e.message[:100]}" for e in list(validator.iter_errors(line))[:3]]
        extra = ("--tune", line["tune"]) if line["tune"] is not None else ()
        alone = foreread.survey(folder / line["file"], line["part"], extra)
        rest = {k: v for k, v in line.items() if k not in ("file", "tune", "part")}
        if alone != rest:
            faults.append(f"{line['file']}, part {line['part']}: another survey alone than in the folder")
    for fault in faults[:20]:
        print("  " + fault)
    print(f"{len(lines)} rows of {len(names)} columns, as JSON, CSV and Parquet; {len(bad)} could not be surveyed; {len(faults)} faults")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
