#!/usr/bin/env python3
"""Does the generator refuse what a musician would refuse, and print the accidentals a copyist would? `python3 demo/compose/test_make.py`"""

import re
import sys
import unittest
from pathlib import Path
from xml.etree import ElementTree

sys.path.insert(0, str(Path(__file__).parent))

import make
import musicxml
import rules
from notation import ScoreError, read_score

HEAD = "title: Test\nrange: C1-C8\ninstrument: Flute\n"


def score(bars, key="0:major", metre="4/4"):
    first, *rest = bars
    text = HEAD + f"1: @key:{key} @time:{metre} @clef:treble {first}\n"
    text += "".join(f"{i}: {b}\n" for i, b in enumerate(rest, 2))
    read = read_score("test", text)
    rules.apply(read)
    return read


def printed(*bars, key="0:major"):
    """The printed accidentals, note by note, `.` where there is none."""
    notes = [n for b in score(bars, key).parts[0].bars for n in rules.notes_of(b)]
    return " ".join(h.accidental or "." for n in notes for h in n.heads)


class Refusals(unittest.TestCase):
    def refused(self, message, *bars):
        with self.assertRaisesRegex(ScoreError, message):
            score(bars)

    def test_bar_that_does_not_add_up(self):
        self.refused("bar 2.*holds 3 quarter notes, needs 4", "w C4", "h. C4")

    def test_open_tie(self):
        self.refused("bar 2.*tie", "w C4~", "w D4")
        self.refused("open tie", "w C4~")

    def test_open_slur_hairpin_ottava_ending_and_tuplet(self):
        self.refused("open slur", "w (C4")
        self.refused("slur ends that never began", "w C4)")
        self.refused("slur runs over a rest", "h (C4 r", "w C4)")
        self.refused("open hairpin", "@< w C4")
        self.refused("hairpin", "@/ w C4")
        self.refused("8va", "@8va w C4")
        self.refused("ending is not closed", "vol1 w C4 :|")
        self.refused("tuplet is not closed", "[3:2 q C4 D4 E4 h C4")

    def test_unreadable_token(self):
        self.refused("cannot read 'H4'", "w H4")
        self.refused("unknown mark 'wobble'", "w C4{wobble}")

    def test_out_of_range(self):
        with self.assertRaisesRegex(ScoreError, "outside the declared range"):
            rules.apply(read_score("t", HEAD.replace("C1-C8", "C4-C5") + "1: @key:0:major @time:4/4 @clef:treble w D5\n"))


class Accidentals(unittest.TestCase):
    """Source: MusicXML 4.0, `accidental` and common practice: own octave, own bar, a tie carries for the tied note alone."""

    def test_holds_in_its_bar_and_octave_only(self):
        self.assertEqual(printed("q F#4 F#4 F#5 F5", "w F#4"), "sharp . sharp natural sharp")

    def test_signature(self):
        self.assertEqual(printed("q F#4 F4 F#4 C#5", key="2:major"), ". natural sharp .")

    def test_tie_carries_for_the_tied_note_alone(self):
        self.assertEqual(printed("h C4 F#4~", "q F#4 G4 F#4 F4"), ". sharp . . sharp natural")
        self.assertEqual(printed("h C4 F#4~", "q F#4 G4 h F4"), ". sharp . . .")

    def test_cautionary_only_where_not_needed(self):
        bars = score(("w F#4", "h F4? F#4?")).parts[0].bars
        heads = [h for n in rules.notes_of(bars[1]) for h in n.heads]
        self.assertEqual([(h.accidental, h.caution) for h in heads], [("natural", True), ("sharp", False)])

    def test_doubles(self):
        self.assertEqual(printed("q F##4 F#4 Bbb4 Bb4"), "double-sharp sharp flat-flat flat")


class Pages(unittest.TestCase):
    def test_timewise_holds_the_same_bars_as_partwise(self):
        for piece in make.load():
            def bars(text, wise):
                root, out = ElementTree.fromstring(text), {}
                for outer in root.findall("part" if wise == "part" else "measure"):
                    for inner in outer.findall("measure" if wise == "part" else "part"):
                        part, bar = (outer, inner) if wise == "part" else (inner, outer)
                        out.setdefault(part.get("id"), []).append(
                            (bar.get("number"), [re.sub(r"\s+", "", ElementTree.tostring(e, "unicode")) for e in inner]))
                return out
            self.assertEqual(bars(musicxml.Writer(piece).partwise(), "part"), bars(musicxml.Writer(piece).timewise(), "measure"))

    def test_durations_fill_the_bars(self):
        """Counted again from the written XML, not from the model."""
        for piece in make.load():
            root = ElementTree.fromstring(musicxml.Writer(piece).partwise())
            for part, model in zip(root.findall("part"), piece.parts):
                divisions = int(part.find("measure/attributes/divisions").text)
                for measure, bar in zip(part.findall("measure"), model.bars):
                    at = reached = 0
                    for element in measure:
                        ticks = int(element.findtext("duration", "0"))
                        if element.tag == "backup":
                            at -= ticks
                        elif element.tag == "forward" or element.tag == "note" and element.find("chord") is None:
                            at += ticks
                        reached = max(reached, at)
                    self.assertEqual(reached, bar.length * divisions, f"{piece.name} bar {bar.label}")

    def test_no_drift(self):
        for name, data in make.outputs(make.load()).items():
            path = make.HERE.parent / name
            self.assertTrue(path.exists() and make.same(name, data, path.read_bytes()), name)


if __name__ == "__main__":
    unittest.main()
