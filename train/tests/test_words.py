"""Is every line of text written down where it stands, and can its letters be told again?"""

import os
import random
import sys

import numpy as np
import pytest

sys.path[:0] = [os.path.join(os.path.dirname(os.path.dirname(os.path.abspath(__file__))), "words")]

vocabulary = pytest.importorskip("vocabulary")


def test_letters_come_back():
    text = "Più mosso (♩. = 96) ⟦A⟧"
    ids = vocabulary.encode(text)
    frames = [x for i in ids for x in (i, i, 0)]
    assert vocabulary.decode(frames) == text
    assert vocabulary.encode("漢") is None
    assert len(set(vocabulary.CHARS)) == len(vocabulary.CHARS)


def test_every_box_holds_ink_and_nothing_is_said_of_a_cut_line():
    make = pytest.importorskip("make")
    rng = random.Random(4)
    seen = 0
    try:
        for _ in range(6):
            for picture in make.pictures(rng):
                packed = make.pack(picture, 4096)
                if packed is None:
                    continue
                im, boxes, _, lens = packed
                for (x0, y0, x1, y1), n in zip(boxes, lens):
                    if n > 0:
                        part = im[int(y0):int(y1) + 1, int(x0):int(x1) + 1]
                        assert part.max() > 120
                        seen += 1
    except FileNotFoundError:
        pytest.skip("fonts are not gathered")
    assert seen > 5


def test_every_face_has_the_letters_of_a_term():
    make = pytest.importorskip("make")
    from glyphs import font
    for face in make.FACES + make.HELD_OUT_FACES:
        try:
            f = font(face)
        except FileNotFoundError:
            pytest.skip("fonts are not gathered")
        for c in "Allegro con brio, f: 96":
            assert f.glyph(ord(c)) is not None, (face, c)


def test_the_letters_of_the_press_are_those_of_the_training():
    model = os.path.join(os.path.dirname(os.path.dirname(os.path.abspath(__file__))), "model", "words.letters.txt")
    assert open(model, encoding="utf-8").read().rstrip("\n") == vocabulary.CHARS
    assert np.all([vocabulary.ID[c] == i + 1 for i, c in enumerate(vocabulary.CHARS)])
