"""Do the labels of the held-out engraver say what it prints?"""

import os
import random
import sys

import pytest

sys.path.insert(0, os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
import labels as L  # noqa: E402

pytest.importorskip("cv2")
import heldout  # noqa: E402
from music import Ev, Head  # noqa: E402


def test_a_head_under_an_ottava_is_said_where_it_is_printed():
    ev = Ev(type="4", heads=[Head(dp=40)])
    below = heldout.at(ev, -7)
    name = lambda e: L.MAIN[L.event_rows(e, "G2")[0][0]]
    assert name(ev) == f"n{40 - L.CLEF_BOTTOM['G2']}"
    assert name(below) == f"n{33 - L.CLEF_BOTTOM['G2']}"
    assert ev.heads[0].dp == 40, "the line itself keeps its pitch"


def test_the_ottava_of_this_engraver_ends_before_the_note_that_ends_it(monkeypatch):
    """Its drawing of `c !8va(!c c !8va)!c`: y 66, 87, 87, 66 (a step is 3)."""
    class One:
        def line(self, n):
            from music import Bar, Line
            evs = [Ev(type="4", heads=[Head(dp=35)]) for _ in range(4)]
            evs[1].ott_start, evs[3].ott_end = "8va", True
            bars = [Bar(voices=[evs], right="single"), Bar(voices=[[Ev(type="1", heads=[Head(dp=35)])]], right="single")]
            return Line(clef="G2", key=0, metre=(4, 4), bars=bars)
    monkeypatch.setattr(heldout, "Gen", lambda *_: One())
    _, systems = heldout.page(random.Random(1))
    heads = [L.MAIN[r[0]] for A, _, _ in systems for _, r in A if L.MAIN[r[0]].startswith("n")]
    at = 35 - L.CLEF_BOTTOM["G2"]
    assert heads == [f"n{at}", f"n{at - 7}", f"n{at - 7}", f"n{at}", f"n{at}"]
