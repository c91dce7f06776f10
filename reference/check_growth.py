"""Does the work grow with the length of the piece and no faster?

Makes one part of 64, 500, 1,000, 2,500 and 5,000 bars (invented, varied bars), surveys
each several times, and checks: the 64-bar part in under 40 ms from cold, CPU time per
bar at 5,000 bars no more than 1.5 times that at 1,000.

Source: the issue's limits; measured by the kernel (see launcher.py).
"""

import sys
from statistics import median

import foreread

LENGTHS = (64, 500, 1000, 2500, 5000)
COLD_SECONDS, GROWTH, RUNS = 0.040, 1.5, 7
STEPS = "CDEFGAB"


def note(step: int, octave: int, length: int, extra: str = "") -> str:
    """One note; lengths in sixteenths."""
    kind = {1: "16th", 2: "eighth", 4: "quarter", 8: "half", 16: "whole"}[length]
    alter = "<alter>1</alter>" if STEPS[step] == "F" else ""
    return (f"<note><pitch><step>{STEPS[step]}</step>{alter}<octave>{octave}</octave></pitch>"
            f"<duration>{length}</duration><voice>1</voice><type>{kind}</type>{extra}</note>")


def bar(number: int) -> str:
    """A bar in G major, different from its neighbours; every eighth carries marks."""
    start = (number * 5 + number // 7) % 7
    lengths = ((4, 4, 4, 4), (2, 2, 2, 2, 4, 4), (8, 2, 2, 4), (4, 2, 1, 1, 4, 4))[number % 4]
    marks = ""
    if number % 8 == 1:
        marks = '<direction placement="below"><direction-type><dynamics><p/></dynamics></direction-type></direction>'
    if number % 16 == 9:
        marks += "<direction><direction-type><words>poco ritenuto</words></direction-type></direction>"
    notes = "".join(
        note((start + i * (1 + number % 3)) % 7, 4 + (number + i) % 2, length,
             "<notations><articulations><staccato/></articulations></notations>" if length == 2 else "")
        for i, length in enumerate(lengths)
    )
    return f'<measure number="{number}">{marks}{notes}</measure>'


def score(bars: int) -> str:
    """A whole part of this many bars."""
    first = ("<attributes><divisions>4</divisions><key><fifths>1</fifths></key><time><beats>4</beats>"
             "<beat-type>4</beat-type></time><clef><sign>G</sign><line>2</line></clef></attributes>")
    body = "".join(bar(n) for n in range(1, bars + 1)).replace('<measure number="1">', '<measure number="1">' + first, 1)
    return ('<?xml version="1.0" encoding="UTF-8"?><score-partwise version="4.0"><part-list><score-part id="P1">'
            f'<part-name>Flute</part-name></score-part></part-list><part id="P1">{body}</part></score-partwise>')


def main() -> int:
    path = foreread.scratch("long.musicxml")
    empty = median(foreread.run(["--help"]).cpu for _ in range(RUNS))
    per_bar, cold, worst = {}, 0.0, []
    for bars in LENGTHS:
        path.write_text(score(bars), encoding="utf-8")
        runs = [foreread.survey_run(path, 1) for _ in range(RUNS)]
        if any(r.status != 0 for r in runs):
            print(f"  NO SURVEY at {bars} bars: {runs[0].err.strip()[:300]}")
            return 1
        cpu, wall = median(r.cpu for r in runs) - empty, median(r.seconds for r in runs)
        per_bar[bars] = cpu / bars
        cold = wall if bars == LENGTHS[0] else cold
        print(f"  {bars:5} bars: {wall * 1e3:7.1f} ms from cold, {cpu * 1e6 / bars:6.1f} µs CPU per bar, "
              f"{max(r.rss_kib for r in runs) / 1024:.0f} MB, {len(runs[0].out) / 1024:.0f} kB of JSON")
    growth = per_bar[5000] / max(per_bar[1000], 1e-9)
    if cold > COLD_SECONDS:
        worst.append(f"64 bars take {cold * 1e3:.0f} ms (limit {COLD_SECONDS * 1e3:.0f})")
    if growth > GROWTH:
        worst.append(f"a bar of 5,000 costs {growth:.2f} times a bar of 1,000 (limit {GROWTH})")
    print(f"64 bars in {cold * 1e3:.1f} ms from cold; cost per bar grows {growth:.2f}× from 1,000 to 5,000 bars"
          + "".join(f"; FAILED: {w}" for w in worst))
    return 1 if worst else 0


if __name__ == "__main__":
    sys.exit(main())
