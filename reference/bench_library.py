"""What does the library need for parse + key + range + counts of one part?

Reads each file given, and prints one JSON line per file with the CPU seconds of
each stage. Started afresh with one file it is the "single cold file" of bench_speed.py.

Source: music21 10.5.1; the work timed is the issue's: parse, key (the library's
default profile), range, and the counts of library-answers.jsonl.
"""

import json
import sys
import time
import warnings

warnings.simplefilter("ignore")
started = time.process_time()
from music21 import analysis, chord, converter, dynamics, harmony, note, spanner  # noqa: E402

STARTED = time.process_time() - started


def counts(part) -> dict:
    """The counts of one part, in one pass."""
    found = dict.fromkeys("events heads chords grace tuplets ties rests ornaments articulations dynamics slurs".split(), 0)
    for element in part.recurse():
        if isinstance(element, dynamics.Dynamic):
            found["dynamics"] += 1
        elif isinstance(element, spanner.Slur):
            found["slurs"] += 1
        if not isinstance(element, note.GeneralNote) or isinstance(element, harmony.Harmony):
            continue
        found["tuplets"] += bool(element.duration.tuplets)
        if element.isRest:
            found["rests"] += 1
            continue
        found["events"] += 1
        found["chords"] += isinstance(element, chord.Chord)
        found["heads"] += len(element.pitches)
        found["grace"] += element.duration.isGrace
        found["ties"] += element.tie is not None and element.tie.type in ("start", "continue")
        found["ornaments"] += len(element.expressions)
        found["articulations"] += len(element.articulations)
    return found


def measure(path: str) -> dict:
    """CPU seconds of each stage for the first part of one file."""
    marks = [time.process_time()]
    part = converter.parse(path, forceSource=True).parts[0]
    marks.append(time.process_time())
    try:
        part.analyze("key")
    except analysis.discrete.DiscreteAnalysisException:
        pass  # no pitches
    marks.append(time.process_time())
    analysis.discrete.Ambitus().getPitchSpan(part)
    marks.append(time.process_time())
    counts(part)
    marks.append(time.process_time())
    stages = dict(zip(("parse", "key", "range", "counts"), (b - a for a, b in zip(marks, marks[1:]))))
    return {"path": path, "cpu": marks[-1] - marks[0], **stages}


if __name__ == "__main__":
    if "--warm-up" in sys.argv:
        measure(sys.argv[-1])
    for file in [a for a in sys.argv[1:] if a != "--warm-up"]:
        print(json.dumps(measure(file)), flush=True)
    print(json.dumps({"start": STARTED}), file=sys.stderr)
