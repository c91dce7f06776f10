"""How much faster are we than the library, side by side in one run?

On the MusicXML files of speed-set.txt, first part of each:

- after start-up: CPU time of one file. The library reads all files in one warmed-up
  process and times each; ours is the CPU time of `foreread survey` on the file (median of
  several runs), less the CPU time of a run that reads nothing (`foreread --help`).
  The claim is judged on that. Shown beside it: the same less a survey of one bar with one word, which has
  built every table that a longer-lived process would build once (the library's are built in its import).
- single cold file: a fresh process each, wall time and CPU time from start to end.

Ours answers all twelve questions meanwhile; the library parses, finds the key and the
range and counts. Prints each file's ratio, the median and the total, and fails below 100× (after
start-up) or 300× (cold), judged by the median and by the total CPU time.
Files too small to time are shown, and count in the totals.

Source: speed-set.txt; music21 10.5.1 measured here and now, never recorded figures.
"""

import json
import os
import subprocess
import sys
from statistics import median

import foreread
import scores
from check_growth import score

AFTER_START, COLD = 100.0, 300.0
RUNS = 7
# Below this our CPU time per file is lost in the clock (seconds).
CLOCK = 0.0002
WORD = "<direction><direction-type><words>Allegro</words></direction-type></direction>"


def environment() -> dict:
    """One thread each, and no cache of earlier parses."""
    return {**os.environ, "PYTHONHASHSEED": "0"}


def ours(arguments: list[str], runs: int) -> tuple[float, float]:
    """Median CPU and wall seconds of several runs."""
    done = [foreread.run(arguments) for _ in range(runs)]
    return median(d.cpu for d in done), median(d.seconds for d in done)


def library_warm(paths: list[str]) -> dict[str, float]:
    """CPU seconds per file in one warmed-up process."""
    script = str(foreread.HERE / "bench_library.py")
    done = subprocess.run(
        [sys.executable, script, "--warm-up", *paths], capture_output=True, text=True, check=True, env=environment()
    )
    return {r["path"]: r["cpu"] for r in map(json.loads, done.stdout.splitlines())}


def main() -> int:
    units = [u for u in (scores.DATA / "speed-set.txt").read_text(encoding="utf-8").splitlines() if scores.is_musicxml(u)]
    paths = {u: str(scores.score_path(u)) for u in units}
    base_cpu, base_wall = ours(["--help"], 3 * RUNS)
    one_bar = foreread.scratch("one_bar.musicxml")
    one_bar.write_text(score(1).replace("<note>", WORD + "<note>", 1), encoding="utf-8")
    table_cpu, _wall = ours(["survey", str(one_bar), "--part", "1", "--as", "json"], 3 * RUNS)
    library = library_warm(list(paths.values()))
    script = str(foreread.HERE / "bench_library.py")
    rows = []
    for unit, path in paths.items():
        cpu, wall = ours(["survey", path, "--part", "1", "--as", "json"], RUNS)
        cold = foreread.run([script, path], limit=120, program=sys.executable)
        rows.append((unit, library[path], max(cpu - base_cpu, 0.0), cold.seconds, wall, cold.cpu, cpu))
    print(f"{'file':62} {'library':>9} {'ours':>8} {'ratio':>7} | {'cold':>8} {'ours':>7} {'ratio':>6}")
    warm_ratios, cold_ratios = [], []
    for unit, lib, mine, lib_cold, mine_cold, _lc, _mc in rows:
        if mine >= CLOCK:
            warm_ratios.append(lib / mine)
        cold_ratios.append(lib_cold / mine_cold)
        shown = f"{lib / mine:6.0f}×" if mine >= CLOCK else "     –"
        print(f"{unit[-62:]:62} {lib * 1e3:6.1f} ms {mine * 1e3:5.2f} ms {shown:>7} | "
              f"{lib_cold * 1e3:5.0f} ms {mine_cold * 1e3:4.1f} ms {lib_cold / mine_cold:5.0f}×")
    warm_total = sum(r[1] for r in rows) / max(sum(r[2] for r in rows), CLOCK)
    cold_total = sum(r[3] for r in rows) / sum(r[4] for r in rows)
    cold_cpu = sum(r[5] for r in rows) / sum(r[6] for r in rows)
    warm_ratios, cold_ratios = warm_ratios or [float("inf")], cold_ratios
    print(f"an empty run of ours: {base_cpu * 1e3:.2f} ms CPU, {base_wall * 1e3:.2f} ms in all")
    print(f"after start-up: median {median(warm_ratios):.0f}×, smallest {min(warm_ratios):.0f}×, total {warm_total:.0f}× "
          f"(claim: ≥ {AFTER_START:.0f}×)")
    tabled = [max(mine + base_cpu - table_cpu, CLOCK) for _u, _lib, mine, *_rest in rows]
    print(f"  less a survey of one bar ({table_cpu * 1e3:.2f} ms) instead: median "
          f"{median(r[1] / t for r, t in zip(rows, tabled)):.0f}×, total {sum(r[1] for r in rows) / sum(tabled):.0f}×")
    print(f"single cold file: median {median(cold_ratios):.0f}×, smallest {min(cold_ratios):.0f}×, total {cold_total:.0f}× by the clock, "
          f"{cold_cpu:.0f}× in CPU time (claim: ≥ {COLD:.0f}×)")
    below = [u for u, lib, mine, *_rest in rows if mine >= CLOCK and lib / mine < AFTER_START]
    if below:
        print("below 100× after start-up: " + ", ".join(below))
    good = median(warm_ratios) >= AFTER_START and warm_total >= AFTER_START and median(cold_ratios) >= COLD
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main())
