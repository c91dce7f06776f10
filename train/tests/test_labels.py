"""What an event says, and what a line of ours becomes."""

import os
import random
import sys
from fractions import Fraction as F

sys.path.insert(0, os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
import labels as L  # noqa: E402
from music import Bar, Ev, Gen, Head, Line, Tup, metre_len, sound_ties  # noqa: E402


def words(ev, clef="G2"):
    return [L.show(r) for r in L.event_rows(ev, clef)]


def test_a_plain_note_is_its_place_on_the_staff_under_any_clef():
    e = Ev(heads=[Head(30)])                       # E4
    assert words(e) == ["n0 dur=4"]
    assert words(e, "F4") == ["n12 dur=4"]
    assert words(e, "G2v") == ["n7 dur=4"]         # an octave clef writes it higher


def test_a_chord_reads_upward_and_keeps_its_marks_on_the_lowest_head():
    e = Ev(heads=[Head(37), Head(32, acc="s", finger=3)], marks={"accent"}, slur_start=True)
    assert words(e) == ["n2 dur=4 acc=s finger=3 accent slur_start", "n7 dur=4 chord"]


def test_nested_tuplets_give_both_numbers():
    e = Ev(heads=[Head(30)], tups=[Tup(3, 2, label="3"), Tup(5, 4, label="5")])
    assert words(e) == ["n0 dur=4 tup=3 tup2=5 tup_start"]


def test_a_tuplet_that_is_not_printed_says_nothing():
    e = Ev(heads=[Head(30)], tups=[Tup(3, 2, shown=False, label="3")])
    assert words(e) == ["n0 dur=4"]


def test_metres_keys_and_rests_of_many_bars():
    assert L.show(L.metre_row("C")) == "metre num=C"
    assert L.show(L.metre_row((12, 8))) == "metre num=12 den=8"
    assert L.show(L.key_row(-3, True)) == "key:-3 cancel"
    assert L.show(L.mrest_row(7)) == "mrest ones=7"
    assert L.show(L.mrest_row(40)) == "mrest tens=4 ones=0"


def test_every_generated_bar_fills_its_metre():
    for seed in range(60):
        line = Gen(random.Random(seed), seed / 60).line(12)
        metre = line.metre
        for b in line.bars:
            metre = b.metre or metre
            for v in b.voices:
                assert sum((e.dur for e in v), F(0)) == metre_len(metre), seed


def test_every_head_has_a_place_and_every_tuplet_ends():
    from music import after_bar
    for seed in range(60):
        line = Gen(random.Random(seed), 1.0).line(12)
        clef, key, metre = line.clef, line.key, line.metre
        for b in line.bars:
            c = b.clef or clef
            for v in b.voices:
                assert sum(len(e.tups) for e in v) == sum(e.tup_end for e in v)
                here = c
                for e in v:
                    here = e.clef_before or here
                    for x in e.graces + [e]:
                        L.event_rows(x, here)      # a KeyError is a head off the scale
            clef, key, metre = after_bar(b, clef, key, metre)


def test_a_tie_to_another_note_is_taken_away():
    a, b = Ev(heads=[Head(30, tie=True)]), Ev(heads=[Head(31)])
    line = Line("G2", 0, (2, 4), [Bar(voices=[[a, b]])])
    sound_ties(line)
    assert not a.heads[0].tie


def test_slurs_come_in_pairs():
    for seed in range(60):
        line = Gen(random.Random(seed), .7).line(16)
        depth = 0
        for b in line.bars:
            for e in (b.voices[0] if b.voices else []):
                for x in e.graces + [e]:
                    depth += (-x.slur_end) + x.slur_start
                    assert depth in (0, 1), seed
        assert depth == 0, seed
