"""What does the library count in all the other files?

Writes data/library-extra.jsonl: first and last part-staff of every MusicXML file of the
corpus and of the conformance suite that library-answers.jsonl leaves out, with the cells
of COUNTS.md as music21 answers them (witness_library.py). For check_counts.py, so that
the counts are held against files they were not developed on. Slow (many minutes).

Source: music21 10.5.1.
"""

import json
import sys
import warnings

from music21 import converter

import scores
import witness_library


def main() -> int:
    warnings.simplefilter("ignore")
    known = {row["unit"] for row in scores.library_answers()}
    suite = [f"../musicxml/lilypondTestSuite/{p.name}" for p in scores.conformance_files()]
    with open(scores.DATA / "library-extra.jsonl", "w", encoding="utf-8") as out:
        for unit in [u for u in suite + scores.corpus_musicxml() if u not in known]:
            try:
                parts = list(converter.parse(scores.score_path(unit), forceSource=True).parts)
                indices = sorted({0, len(parts) - 1}) if parts else []
                rows = [(i, witness_library.recount(parts[i])) for i in indices]
            except Exception as problem:  # the library's own failures are its answer
                out.write(json.dumps({"unit": unit, "error": f"{type(problem).__name__}: {problem}"[:160]}) + "\n")
                continue
            for index, found in rows:
                out.write(json.dumps({"unit": unit, "part": index, "nparts": len(parts), "cells": found}) + "\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
