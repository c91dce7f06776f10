"""What do the library's five key profiles say about every key row?

Writes data/key-library.csv: one line per row of key-truth.csv and key-extra.csv with
the answer of each profile on that part, for the side-by-side in check_key.py.
Slow (minutes); run again only when rows are added.

Source: music21 10.5.1, analysis.discrete.{AardenEssen, KrumhanslKessler,
TemperleyKostkaPayne, BellmanBudge, SimpleWeights}.
"""

import csv
import sys
import warnings

from music21 import analysis, converter

import scores

PROFILES = ("AardenEssen", "KrumhanslKessler", "TemperleyKostkaPayne", "BellmanBudge", "SimpleWeights")


def main() -> int:
    warnings.simplefilter("ignore")
    rows = scores.table("key-truth.csv") + scores.table("key-extra.csv")
    with open(scores.DATA / "key-library.csv", "w", encoding="utf-8", newline="") as out:
        writer = csv.writer(out, lineterminator="\n")
        writer.writerow(["unit", "part", *PROFILES])
        unit, parts = None, []
        for row in rows:
            if row["unit"] != unit:
                unit = row["unit"]
                parts = list(converter.parse(scores.score_path(unit), forceSource=True).parts)
            part = parts[int(row["part"])]
            answers = []
            for profile in PROFILES:
                key = getattr(analysis.discrete, profile)(part).getSolution(part)
                answers.append(f"{key.tonic.name.replace('-', 'b')} {key.mode}")
            writer.writerow([unit, row["part"], *answers])
    return 0


if __name__ == "__main__":
    sys.exit(main())
