"""How much faster are we than the library, side by side in one run?

On the 60 files of speed-set.txt (MusicXML, ABC, kern), first part of each:

- after start-up: CPU time of one file. Both sides read all files in one warmed-up process (ours: the example `timing`
  of the crate `desk`) and time each. The claim is judged on the same work: parse, key, range, counts.
  Shown beside it: ours for all twelve questions and their JSON, which the library has no counterpart for.
- single cold file: a fresh process each, wall time and CPU time from start to end. Ours is
  `foreread survey FILE --questions key,range --as json` (its JSON carries the counts); beside it, all twelve questions.

Beside it, partitura's load, unfold and count, and the engraving library's load and times, each on the files that it
loads, against our reading and all twelve questions.

Prints each file's ratio, the median and the total, and fails below 100× (after start-up) or 300× (cold), judged by
the median and by the total CPU time. Files too small to time are shown, and count in the totals.

Source: speed-set.txt; music21 10.5.1 measured here and now, never recorded figures.
"""

import json
import os
import subprocess
import sys
from statistics import median

import foreread
import scores

AFTER_START, COLD = 100.0, 300.0
RUNS = 7
# Below this our CPU time per file is lost in the clock (seconds).
CLOCK = 0.0002


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


def other_reader(name: str, paths: list[str]) -> dict[str, float]:
    """CPU seconds per file of another reader in one warmed-up process, for the files that it loads."""
    script = str(foreread.HERE / f"bench_{name}.py")
    done = subprocess.run([sys.executable, script, *paths], capture_output=True, text=True, env=environment())
    return {r["path"]: r["cpu"] for r in map(json.loads, done.stdout.splitlines()) if isinstance(r, dict)}


def ours_warm(paths: list[str]) -> dict[str, dict]:
    """Seconds per file in one warmed-up process of ours."""
    build = ["cargo", "build", "--release", "--quiet", "--message-format=json", "-p", "foreread-desk", "--example", "timing"]
    lines = subprocess.run(build, capture_output=True, text=True, check=True, cwd=foreread.HERE.parent).stdout.splitlines()
    built = [json.loads(line) for line in lines]
    program = next(b["executable"] for b in reversed(built) if b.get("executable") and b["target"]["name"] == "timing")
    done = subprocess.run([program, "--json", *paths], capture_output=True, text=True, check=True)
    return {r["path"]: r for r in map(json.loads, done.stdout.splitlines())}


def main() -> int:
    units = [u for u in (scores.DATA / "speed-set.txt").read_text(encoding="utf-8").splitlines() if u.strip()]
    paths = {u: str(scores.score_path(u)) for u in units}
    base_cpu, base_wall = ours(["--help"], 3 * RUNS)
    warm = ours_warm(list(paths.values()))
    library = library_warm(list(paths.values()))
    others = {
        "partitura (load, unfold and count)": other_reader("partitura", [p for p in paths.values() if not p.endswith(".abc")]),
        "verovio (load and times)": other_reader("engraver", list(paths.values())),
    }
    script = str(foreread.HERE / "bench_library.py")
    rows = []
    for unit, path in paths.items():
        asked = ["survey", path, "--part", "1", "--as", "json"]
        cpu, wall = ours([*asked, "--questions", "key,range"], RUNS)
        _cpu, whole = ours(asked, RUNS)
        cold = foreread.run([script, path], limit=120, program=sys.executable)
        rows.append((unit, library[path], warm[path]["same_work"], warm[path]["everything"],
                     cold.seconds, wall, whole, cold.cpu, cpu))
    print(f"{'file':44} {'library':>10} {'ours':>9} {'ratio':>6} {'(all 12)':>9} | {'cold':>8} {'ours':>7} {'ratio':>6} {'(all 12)':>9}")
    for unit, lib, same, every, lib_cold, wall, whole, _lc, _mc in rows:
        print(f"{unit[-44:]:44} {lib * 1e3:7.1f} ms {same * 1e3:6.2f} ms {lib / same:5.0f}× {lib / every:8.0f}× | "
              f"{lib_cold * 1e3:5.0f} ms {wall * 1e3:4.1f} ms {lib_cold / wall:5.0f}× {lib_cold / whole:8.0f}×")
    warm_ratios = [r[1] / r[2] for r in rows if r[2] >= CLOCK]
    every_ratios = [r[1] / r[3] for r in rows if r[3] >= CLOCK]
    cold_ratios = [r[4] / r[5] for r in rows]
    total = sum(r[1] for r in rows)
    warm_total, every_total = total / sum(r[2] for r in rows), total / sum(r[3] for r in rows)
    print(f"our help, made from all commands: {base_cpu * 1e3:.2f} ms CPU, {base_wall * 1e3:.2f} ms in all")
    print(f"after start-up: median {median(warm_ratios):.0f}×, smallest {min(warm_ratios):.0f}×, total {warm_total:.0f}× "
          f"(claim: ≥ {AFTER_START:.0f}×); all twelve questions and JSON: median {median(every_ratios):.0f}×, total {every_total:.0f}×")
    for name, took in others.items():
        pairs = [(took[paths[u]], warm[paths[u]]["everything"]) for u in units if paths[u] in took]
        if not pairs:
            print(f"{name} loads no file")
            continue
        print(f"{name} loads {len(pairs)} of {len(units)} files; against all twelve questions and JSON: "
              f"median {median(a / b for a, b in pairs if b >= CLOCK):.0f}×, total {sum(a for a, _ in pairs) / sum(b for _, b in pairs):.0f}×")
    reached = sum(ratio >= COLD for ratio in cold_ratios)
    print(f"single cold file: {reached} of {len(rows)} at {COLD:.0f}× or more, median {median(cold_ratios):.0f}×, smallest {min(cold_ratios):.0f}×, "
          f"total {sum(r[4] for r in rows) / sum(r[5] for r in rows):.0f}× by the clock, "
          f"{sum(r[7] for r in rows) / sum(r[8] for r in rows):.0f}× in CPU time (claim: ≥ {COLD:.0f}×); "
          f"all twelve questions: median {median(r[4] / r[6] for r in rows):.0f}×")
    good = median(warm_ratios) >= AFTER_START and warm_total >= AFTER_START and median(cold_ratios) >= COLD
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main())
