"""What does the engraving library need to load a score and lay out its times?

Reads each file given after a warm-up, and prints one JSON line per file that it loads with the CPU seconds.

Source: verovio 6.4.1 (loadFile, renderToTimemap).
"""

import json
import sys
import time

import verovio


def measure(path: str) -> float | None:
    """CPU seconds of one file; None if it can't be loaded."""
    toolkit = verovio.toolkit()
    started = time.process_time()
    loaded = toolkit.loadFile(path)
    times = toolkit.renderToTimemap() if loaded else None
    return time.process_time() - started if times else None


def main() -> int:
    verovio.enableLog(verovio.LOG_OFF)
    for index, path in enumerate([sys.argv[1], *sys.argv[1:]]):
        cpu = measure(path)
        if index and cpu is not None:
            print(json.dumps({"path": path, "cpu": cpu}), flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
