#!/usr/bin/env python3
"""Does an outside reader (music21, a general-purpose library) see in the pieces what we meant? Not part of the build.

For each piece: it parses; every bar fills its metre or says so; nothing is lost; the key it guesses. Needs music21 10.5.1.
"""

import sys
from pathlib import Path

import music21

PIECES = Path(__file__).parent.parent / "pieces"


def report(path):
    score = music21.converter.parse(path)
    bad = []
    for part in score.parts:
        for bar in part.getElementsByClass("Measure"):
            held = max([v.duration.quarterLength for v in bar.voices] or [bar.duration.quarterLength])
            if held != bar.barDuration.quarterLength and not bar.paddingLeft and not bar.paddingRight:
                bad.append(f"{bar.number}{bar.numberSuffix or ''}:{held}")
    part = score.parts[0]
    low, high = music21.analysis.discrete.Ambitus().getPitchSpan(part)
    guesses = [(m, score.parts[0].analyze(m)) for m in ("key.krumhanslschmuckler", "key.aarden", "key.bellman")]
    try:
        played = len(music21.repeat.Expander(part).process().getElementsByClass("Measure"))
    except music21.exceptions21.Music21Exception as error:
        played = f"not expandable ({error})"
    except music21.repeat.ExpanderException as error:
        played = f"not expandable ({error})"
    print(f"{path.name}: {len(part.getElementsByClass('Measure'))} bars, {len(part.flatten().notes)} notes, {low}-{high}, played {played}")
    print("   " + "; ".join(f"{m[4:]} {k.tonic.name} {k.mode} r={k.correlationCoefficient:.2f}" for m, k in guesses))
    if bad:
        print("   bars that do not fill their metre: " + " ".join(bad))


if __name__ == "__main__":
    for name in sys.argv[1:] or sorted(p.name for p in PIECES.iterdir() if p.suffix in (".musicxml", ".mxl") and ".timewise" not in p.name):
        report(PIECES / name)
