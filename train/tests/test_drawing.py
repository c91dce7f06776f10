"""Do the engravers' drawings and the labels agree?"""

import os
import random
import sys

import numpy as np
import pytest

sys.path.insert(0, os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
import labels as L  # noqa: E402

for _need in ("cv2", "fontTools", "lxml"):
    pytest.importorskip(_need)
from glyphs import DATA  # noqa: E402

pytestmark = pytest.mark.skipif(not os.path.isdir(os.path.join(DATA, "fonts")), reason="run prepare.py first: it gathers the fonts")


def lines(n, feats=None):
    from music import Gen
    for seed in range(n):
        rng = random.Random(seed)
        yield rng, Gen(rng, rng.random(), feats).line(10)


def check(system):
    im, A, B, C, margin = system
    assert im.shape[0] == 240 and im.max() > 200
    assert L.MAIN[A[0][1][0]].startswith("clef:")
    xs = [x for x, _ in A]
    assert 0 < min(xs) and max(xs) * 10 < im.shape[1]
    for x, r in A:
        name = L.MAIN[r[0]]
        if name.startswith("n") and r[L.FLAG_COL["grace"]] == 0:
            # Ink where the head is said to be (a head, or its outline, spans two spaces of width).
            y = int(112 - (int(name[1:]) - 4) * 5)
            patch = im[y - 5:y + 6, max(0, int(x * 10) - 8):int(x * 10) + 9]
            assert patch.max() > 150, L.show(r)


def test_our_own_engraver_says_what_it_draws():
    import own
    n = 0
    for rng, line in lines(12):
        for s in own.systems(rng, line):
            check(s)
            n += 1
    assert n > 12


def test_notes_of_every_bar_are_told_once():
    """All heads of the line are in the labels of its systems, none twice."""
    import own
    for rng, line in lines(8):
        want = sum(len(x.heads) for b in line.bars for v in b.voices for e in v for x in e.graces + [e] + e.after)
        got = sum(L.MAIN[r[0]][0] == "n" for s in own.systems(rng, line) for _, r in s[1])
        assert got == want


def test_first_library_agrees_with_our_reckoning():
    pytest.importorskip("verovio")
    import mei
    import svg
    good = bad = 0
    for rng, line in lines(6, mei.OFF_FEATURES):
        for s in svg.generate(rng, line, "Leipzig"):
            if s is None:
                bad += 1
            else:
                check(s)
                good += 1
    assert good > 10 and bad <= good // 10


def test_second_library_draws_every_event():
    pytest.importorskip("py_mini_racer")
    import vex
    if not os.path.exists(os.path.join(DATA, "js", "vexflow.js")):
        pytest.skip("run prepare.py first")
    for rng, line in lines(5, vex.OFF_FEATURES):
        for s in vex.generate(rng, line, "Bravura"):
            check(s)


def test_packing_keeps_order_and_pads():
    import data
    import own
    rng, line = next(lines(1))
    p = data.pack(own.systems(rng, line)[0])
    assert p[0].shape[1] in data.BUCKETS
    assert np.all(np.diff(p[2]) >= -12)


def test_a_slur_hairpin_and_ottava_over_a_system_end_are_told_where_they_end():
    pytest.importorskip("verovio")
    from fractions import Fraction as F

    import mei
    import svg
    from music import Bar, Ev, Head, Line
    evs = [Ev(heads=[Head(37)], type="1", dur=F(1)) for _ in range(60)]
    evs[1].slur_start, evs[58].slur_end = True, True
    evs[1].hair_start, evs[58].hair_end = "cresc", True
    line = Line("G2", 0, "C", [Bar(voices=[[e]]) for e in evs])
    got = [s for s in svg.generate(random.Random(3), line, "Leipzig")]
    assert len(got) > 2 and None not in got
    starts = [sum(r[L.FLAG_COL["slur_start"]] for _, r in s[1]) for s in got]
    ends = [sum(r[L.FLAG_COL["slur_end"]] for _, r in s[1]) for s in got]
    hair = [[L.DYNAMICS[k] for _, k in s[3]] for s in got]
    assert starts[0] == 1 and sum(starts) == 1 and sum(ends) == 1 and ends[0] == 0
    assert hair[0] == ["cresc"] and sum(hair, []) == ["cresc", "cresc_end"]
