"""What does a second general-purpose reader need to load a score, unfold its repeats and count its notes?

Reads each file given after a warm-up, and prints one JSON line per file that it loads with the CPU seconds.

Source: partitura 1.9.0 (load_score, unfold_part_maximal, notes of the first part).
"""

import json
import sys
import time
import warnings

warnings.simplefilter("ignore")
import partitura  # noqa: E402
from partitura import score as model  # noqa: E402


def measure(path: str) -> float:
    """CPU seconds of one file."""
    started = time.process_time()
    part = partitura.load_score(path)[0]
    unfolded = model.unfold_part_maximal(part)
    len(unfolded.notes_tied), len(list(part.iter_all(model.Slur))), len(list(part.iter_all(model.GraceNote)))
    return time.process_time() - started


def main() -> int:
    for index, path in enumerate([sys.argv[1], *sys.argv[1:]]):
        try:
            cpu = measure(path)
        except Exception:  # what it can't load is not compared
            continue
        if index:
            print(json.dumps({"path": path, "cpu": cpu}), flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
