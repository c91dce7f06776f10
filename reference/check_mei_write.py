"""Is our MEI valid, and do two other readers find the same notes in it?

Writes every demo piece, every fixture and every score of the corpus that the program reads as MEI (with the example
`write_mei` of crates/formats), and checks

- that each is valid against MEI's grammar for Common Western notation (`data/mei-cmn.rng.gz`, see
  `build_mei_schema.py`), that no `xml:id` stands twice, and that no pointer leads nowhere;
- that seven spoiled copies are not valid (the grammar does bite);
- that music21 and partitura read the same notes from it (pitch, onset, duration, staff by staff) as they read from the
  MusicXML itself: the demo pieces and every `--step`th score (13 unless said).

Both libraries read only a part of MEI. What they can't read is taken out of, or spelled another way in, the copy that
they are given; `FITTED` lists it, cause by cause, and counts it. Pieces that still differ are listed, with the cause.

Source: MEI 5 Guidelines; music21 10.5.1 `mei.base`, partitura 1.9.0 `io.importmei` (the elements that each knows).
"""

import collections
import copy
import gzip
import os
import subprocess
import sys
import tempfile
import warnings
from fractions import Fraction
from pathlib import Path

from lxml import etree

import scores

HERE = Path(__file__).resolve().parent
MEI = "{http://www.music-encoding.org/ns/mei}"
ID = "{http://www.w3.org/XML/1998/namespace}id"
POINTERS = ("startid", "endid", "plist", "corresp", "prev")

# Pieces that a library reads otherwise, and why.
KNOWN = {}


def writer() -> str:
    """The example program that writes MEI, built here."""
    if given := os.environ.get("WRITE_MEI"):
        return given
    build = ["cargo", "build", "--quiet", "--release", "-p", "foreread-formats", "--example", "write_mei"]
    subprocess.run(build, cwd=HERE.parent, check=True)
    target = Path(os.environ.get("CARGO_TARGET_DIR") or HERE.parent / "target")
    return str(target / "release" / "examples" / "write_mei")


def grammar() -> etree.RelaxNG:
    with gzip.open(HERE / "data" / "mei-cmn.rng.gz") as packed:
        return etree.RelaxNG(etree.parse(packed))


def inputs() -> list[Path]:
    """Demo pieces, fixtures, and the whole corpus with the conformance suite."""
    root = HERE.parent
    ours = sorted((root / "demo" / "pieces").glob("*.musicxml"))
    fixtures = sorted(
        p for p in (root / "crates" / "formats" / "fixtures").rglob("*") if p.is_file() and p.suffix not in (".txt", ".md")
    )
    corpus = scores.package_folder() / "corpus"
    kinds = (*scores.MUSICXML, ".krn", ".abc")
    outside = sorted(p for p in corpus.rglob("*") if p.is_file() and p.suffix.lower() in kinds)
    return ours + fixtures + scores.conformance_files() + outside


def broken_ids(tree: etree._ElementTree) -> list[str]:
    """Ids that stand twice, and pointers that lead nowhere."""
    ids = collections.Counter(tree.xpath("//@xml:id"))
    wrong = [f"id {name} stands {count} times" for name, count in ids.items() if count > 1]
    for attribute in POINTERS:
        for value in tree.xpath(f"//@{attribute}"):
            wrong += [f"{attribute} {one} leads nowhere" for one in value.split() if one[1:] not in ids]
    return wrong


def spoiled(text: str) -> list[str]:
    """Copies with one mistake each."""
    changes = [
        (' dur="4"', ' dur="5"'),
        (' pname="c"', ' pname="h"'),
        ("<layer ", "<layer colour='red' "),
        (' tstamp="1"', ' tstamp="one"'),
        (' oct="4"', ' oct="four"'),
        ("<staff ", "<staff><note/></staff><staff "),
        ("<meterSig ", "<metersig/><meterSig "),
    ]
    return [text.replace(a, b) for a, b in changes]


# ---- The copies for the two libraries ----


def unwrap(element):
    """Puts the children of an element in its place."""
    parent = element.getparent()
    at = parent.index(element)
    for child in list(element):
        parent.insert(at, child)
        at += 1
    parent.remove(element)


FITTED = collections.Counter()


def fitted(tree, library: str):
    """A copy that the library can read: each change is a gap of its reader, counted in FITTED."""
    tree = copy.deepcopy(tree)

    def each(name, cause, change):
        found = list(tree.iter(MEI + name))
        for element in found:
            change(element)
        FITTED[f"{library}: {cause}"] += len(found)

    each("graceGrp", "graceGrp, whose notes are dropped", unwrap)
    each("bTrem", "bTrem, whose notes are dropped", unwrap)
    for element in list(tree.iter(MEI + "note")):
        if "oct.ges" in element.attrib:
            element.set("oct", element.get("oct.ges"))
            FITTED[f"{library}: oct.ges under an ottava"] += 1
    for element in list(tree.iter(MEI + "space")):
        if element.get("type") and "rest" in element.get("type"):
            element.attrib.pop("type")
    if library == "music21":
        for element in tree.iter(MEI + "measure"):
            if not element.get("n", "0").isdigit():
                element.set("n", "0")
                FITTED["music21: a bar label that is no number"] += 1
        for element in tree.iter(MEI + "syl"):
            if element.get("wordpos") == "s":
                element.attrib.pop("wordpos")
                FITTED["music21: wordpos=s"] += 1
        for element in list(tree.iter(MEI + "artic", MEI + "ending")):
            if element.tag == MEI + "artic":
                element.getparent().remove(element)
            else:
                unwrap(element)
                FITTED["music21: endings, whose bars it sorts to the end"] += 1
        for element in tree.iter(MEI + "accid"):
            if element.get("accid") in ("1qf", "1qs", "3qf", "3qs", "su", "sd", "fu", "fd", "nu", "nd"):
                element.attrib.pop("accid")
    else:
        for name in ("mSpace", "barLine", "keySig", "meterSig", "meterSigGrp"):
            for element in list(tree.iter(MEI + name)):
                if any(a.tag == MEI + "layer" for a in element.iterancestors()):
                    element.getparent().remove(element)
                    FITTED[f"partitura: {name} in a layer, which it refuses"] += 1
    return tree


def same_notes_music21(path: Path, tree, folder: Path) -> str:
    """Empty if music21 finds the same notes in both; else the first difference."""
    import music21

    def notes(score):
        found = []
        for part in score.parts:
            counted = collections.Counter()
            for note in part.recurse().notes:
                if isinstance(note, music21.harmony.Harmony) or note.duration.isGrace:
                    continue
                onset = Fraction(note.getOffsetInHierarchy(part)).limit_denominator(1000)
                length = Fraction(note.duration.quarterLength).limit_denominator(1000)
                pitched = not isinstance(note, (music21.note.Unpitched, music21.percussion.PercussionChord))
                for pitch in note.pitches if pitched else ():
                    counted[(onset, length, pitch.step, pitch.octave, float(pitch.alter))] += 1
            found.append(counted)
        return found

    copy_path = folder / "copy.mei"
    fitted(tree, "music21").write(copy_path, encoding="utf-8")
    here = notes(music21.converter.parse(path, format="musicxml", forceSource=True))
    there = notes(music21.converter.parse(copy_path, format="mei", forceSource=True))
    return first_difference(here, there)


def same_notes_partitura(path: Path, tree, folder: Path) -> str:
    """Empty if partitura finds the same notes in both; else the first difference."""
    import partitura

    def notes(score):
        counted = collections.Counter()
        for part in score.parts:
            quarters = part.quarter_map
            for note in part.notes:
                if isinstance(note, partitura.score.GraceNote) or not hasattr(note, "octave"):
                    continue
                start, end = (Fraction(float(quarters(t.t))).limit_denominator(1000) for t in (note.start, note.end))
                counted[(start, end - start, note.step, note.octave, note.alter or 0)] += 1
        return [counted]

    copy_path = folder / "copy.mei"
    fitted(tree, "partitura").write(copy_path, encoding="utf-8")
    here = notes(partitura.load_musicxml(str(path)))
    there = notes(partitura.load_mei(str(copy_path)))
    return first_difference(here, there)


def first_difference(here, there) -> str:
    if len(here) != len(there):
        return f"{len(here)} staves, {len(there)} in the MEI"
    for number, (a, b) in enumerate(zip(here, there), 1):
        if a != b:
            missing, extra = sorted((a - b).elements()), sorted((b - a).elements())
            show = lambda notes: ", ".join(f"{s}{o} {alter:+g} at {on} for {d}" for on, d, s, o, alter in notes[:2])
            return f"staff {number}: {len(missing)} missing ({show(missing)}), {len(extra)} more ({show(extra)})"
    return ""


def main() -> int:
    warnings.simplefilter("ignore")
    step = int(sys.argv[sys.argv.index("--step") + 1]) if "--step" in sys.argv else 13
    failures = []
    with tempfile.TemporaryDirectory(prefix="foreread-mei-") as name:
        folder = Path(name)
        paths = inputs()
        (folder / "list").write_text("".join(f"{path}\n" for path in paths), encoding="utf-8")
        subprocess.run([writer(), "--list", str(folder / "list"), name], check=True)
        schema = grammar()
        trees, unread = {}, 0
        for number, path in enumerate(paths):
            mei = folder / f"{number:03d}.mei"
            if not mei.exists():
                unread += 1
                continue
            tree = etree.parse(mei)
            if not schema.validate(tree):
                error = schema.error_log[0]
                failures.append(f"NOT VALID {path.name}: line {error.line}: {error.message}")
            failures += [f"IDS {path.name}: {wrong}" for wrong in broken_ids(tree)[:3]]
            if path.suffix.lower() in scores.MUSICXML:
                trees[path] = tree
        print(f"{len(paths) - unread} files written as MEI ({unread} hold nothing to read), {len(failures)} not valid")
        text = etree.tostring(next(iter(trees.values())), encoding="unicode")
        for number, bad in enumerate(spoiled(text)):
            if bad == text or schema.validate(etree.fromstring(bad)):
                failures.append(f"GRAMMAR: spoiled copy {number} counts as valid")
        if "--valid-only" in sys.argv:
            witnesses = []
        else:
            witnesses = [("music21", same_notes_music21), ("partitura", same_notes_partitura)]
        demo = [path for path in trees if path.parent.name == "pieces"]
        corpus = [path for path in trees if "corpus" in path.parts]
        chosen = demo + corpus[::step]
        for library, same in witnesses:
            agree = 0
            for path in chosen:
                if "timewise" in path.name:
                    continue
                try:
                    said = same(path, trees[path], folder)
                except Exception as error:  # a gap of the library's reader: said, not hidden
                    said = f"{type(error).__name__}: {error}"
                if not said:
                    agree += 1
                elif cause := KNOWN.get((library, path.name)):
                    print(f"  {library} {path.name}: {cause}")
                else:
                    failures.append(f"NOTES {library} {path.name}: {said[:300]}")
            print(f"{library}: the same notes in {agree} of {len(chosen)} pieces")
        for cause, count in sorted(FITTED.items()):
            if count:
                print(f"  spelled otherwise for {cause} ({count})")
    for failure in failures:
        print("  " + failure)
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())
