"""Is a sign said only where its ink is in the picture?

Each kind of sign is drawn alone on one note, low, middle and high, near and far, and the same bar without it: what differs
is the sign's ink. Where the label stands there must be ink, and where hardly any ink is left no label may stand.
"""

import os
import random
import sys
from fractions import Fraction as F

import numpy as np
import pytest

sys.path.insert(0, os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
import labels as L  # noqa: E402

for _need in ("cv2", "fontTools"):
    pytest.importorskip(_need)
from glyphs import DATA  # noqa: E402
from music import Bar, Ev, Head, Line, Tup  # noqa: E402

pytestmark = pytest.mark.skipif(not os.path.isdir(os.path.join(DATA, "fonts")), reason="run prepare.py first: it gathers the fonts")


def two(what):
    """Sets `what` on the first of three notes, or on the first and the last."""
    def put(a, b, c):
        for k, v in what.items():
            setattr(a, k, v)
    return put


def pair(first, last, value=True):
    def put(a, b, c):
        setattr(a, first, value)
        setattr(c, last, True)
    return put


def triplet(a, b, c):
    a.tups, c.tup_end, c.tup_end_shown = [Tup(3, 2, label="3")], 1, True


def finger(a, b, c):
    a.heads[0].finger = 3


# Name of the sign, what puts it there, and the labels (stream, name) that say it.
SIGNS = [
    ("dynamic", two({"dyn": ["ff"]}), [("C", "ff")]),
    ("crescendo", pair("hair_start", "hair_end", "cresc"), [("C", "cresc"), ("C", "cresc_end")]),
    ("diminuendo", pair("hair_start", "hair_end", "dim"), [("C", "dim"), ("C", "dim_end")]),
    ("ottava above", pair("ott_start", "ott_end", "8va"), [("B", "8va")]),
    ("ottava below", pair("ott_start", "ott_end", "8vb"), [("B", "8vb")]),
    ("breath", two({"breath": "breath"}), [("B", "breath")]),
    ("slur", pair("slur_start", "slur_end"), [("A", "slur_start"), ("A", "slur_end")]),
    ("trill", two({"orn": "trill"}), [("A", "orn")]),
    ("mordent", two({"orn": "mordent"}), [("A", "orn")]),
    ("turn with a sharp", two({"orn": "turn", "ornacc": "s"}), [("A", "orn")]),
    ("fingering", finger, [("A", "finger")]),
    ("triplet", triplet, [("A", "tup")]),
    *[(m, two({"marks": {m}}), [("A", m)]) for m in
      ("staccato", "tenuto", "accent", "marcato", "staccatissimo", "fermata", "upbow", "downbow", "harmonic", "stopped")],
]


def drawn(seed, pos, put, far):
    """(picture, labels said) of a bar of three halves; with put=None the same bar without the sign."""
    import own
    rng = random.Random(seed)
    style = own.Style(rng)
    style.words = style.marks = 0
    style.lyrics = style.bar_numbers = style.tup_paren = False
    style.dyn_far = far
    if far:
        style.dyn_fixed = style.hair_fixed = None
        style.art_gap = far / 2
    evs = [Ev(heads=[Head(L.CLEF_BOTTOM["G2"] + pos + d)], type="2", dur=F(1, 2)) for d in (0, 1, 0)]
    if put:
        put(*evs)
    line = Line("G2", 0, (3, 2), [Bar(voices=[evs])])
    im, A, B, C, _ = own.systems(random.Random(seed), line, style=style)[0]
    said = {("C", L.DYNAMICS[k]) for _, k in C} | {("B", L.ROADS[k]) for _, k in B}
    for _, r in A:
        said |= {("A", f) for f, c in L.FLAG_COL.items() if r[c]} | {("A", n) for n, c in L.ATTR_COL.items() if r[c]}
    return im.astype(int), said


@pytest.mark.parametrize("name,put,wanted", SIGNS, ids=[s[0] for s in SIGNS])
def test_a_sign_is_said_only_where_its_ink_is(name, put, wanted):
    told = kept = 0
    for pos in (-12, 4, 21):
        for far in (0, 4):
            for seed in range(6):
                bare, _ = drawn(seed, pos, None, far)
                im, said = drawn(seed, pos, put, far)
                ink = (np.abs(im - bare) > 90).sum() if im.shape == bare.shape else 999
                there = [w in said for w in wanted]
                told += any(there)
                kept += not any(there)
                assert not any(there) or ink >= 6, f"{name} said without ink: place {pos}, far {far}, seed {seed}"
                if ink == 0:
                    assert not any(there)
    assert told >= 12, f"{name} is hardly ever said"


def test_what_is_far_below_is_left_unsaid_sometimes():
    """Dynamics under the lowest notes do leave the picture: else the test above would have nothing to find."""
    lost = sum(("C", "ff") not in drawn(seed, -12, two({"dyn": ["ff"]}), 4)[1] for seed in range(8))
    assert lost > 0


def test_a_far_sign_of_the_first_library_is_left_unsaid_or_its_system_left_out():
    pytest.importorskip("verovio")
    import svg
    whole = 0
    for seed in range(4):
        evs = [Ev(heads=[Head(L.CLEF_BOTTOM["G2"] - 12)], type="1", dur=F(1)) for _ in range(12)]
        for e in evs:
            e.dyn = ["ff"]
        for s in svg.generate(random.Random(seed), Line("G2", 0, "C", [Bar(voices=[[e]]) for e in evs]), "Leipzig"):
            if s is None:
                continue
            whole += 1
            for x, _ in s[3]:
                # Ink below the lowest head, whose middle is eight spaces under the middle line.
                assert s[0][200:, int(x * 10) - 15:int(x * 10) + 15].max() > 120
    assert whole
