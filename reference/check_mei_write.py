"""Is our MEI valid, and do two other readers find the same notes in it?

Writes every demo piece, every fixture and every score of the corpus that the program reads as MEI (with the example
`write_mei` of crates/formats), and checks

- that each is valid against MEI's grammar for Common Western notation (`data/mei-cmn.rng.gz`, see
  `build_mei_schema.py`), that no `xml:id` stands twice, and that no pointer leads nowhere;
- that seven spoiled copies are not valid (the grammar does bite);
- that music21 and partitura read the same notes from it (pitch, onset, duration, staff by staff) as they read from the
  MusicXML itself: the demo pieces and every `--step`th score (29 unless said).

Of the ABC and kern files every twentieth is taken, with `--all` every one (3,470 files, three minutes of the grammar's
time); `--valid-only` leaves the two libraries out.

Both libraries read only a part of MEI. What they can't read is taken out of, or spelled another way in, the copy that
they are given; `FITTED` lists it, cause by cause, and counts it. Pieces that still differ are listed, with the cause.

Source: MEI 5 Guidelines; music21 10.5.1 `mei.base`, partitura 1.9.0 `io.importmei` (the elements that each knows).
"""

import collections
import copy
import gzip
import os
import re
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

# Corpus pieces that a library reads otherwise, and why.
KNOWN = {
    "schumann_robert/opus41no1/movement1.mxl": "the file counts 17 divisions to a quarter: the library keeps the rounded "
    "durations of the MusicXML, we the printed values",
}


def known(library: str, path: Path, tree, said: str) -> str:
    """Why a library may differ here, if that is known."""
    if cause := KNOWN.get("/".join(path.parts[-3:])):
        return cause
    if re.search(r"\d/\d{3,}", said.split(" more (")[0].split("missing")[-1]):
        return (
            "the MusicXML rounds the durations of tuplets: the library keeps the rounded ones, we the printed values"
        )
    if uneven_bars(path):
        return (
            "bars of the MusicXML's parts differ in length, as they stand or by rounded durations: the library lets each "
            "part run on by itself, MEI has one bar for all"
        )
    if library == "partitura" and "Nested tuplets" in said:
        return "it says that it can't read tuplets in tuplets"
    if library == "partitura" and any(
        int(el.get("dots", 0)) > 1 for el in tree.iter(MEI + "note", MEI + "chord", MEI + "rest")
    ):
        return "it reads two dots as two and a quarter"
    return ""


def uneven_bars(path: Path) -> bool:
    """Whether two parts of a score have a bar of different length, by the bare XML."""
    lengths = collections.defaultdict(set)
    for part in scores.tree(path).iter("part"):
        divisions = Fraction(1)
        for number, measure in enumerate(part.iter("measure")):
            now = most = Fraction(0)
            for element in measure:
                if (text := element.findtext("divisions")) is not None:
                    divisions = Fraction(text)
                length = Fraction(element.findtext("duration") or 0) / divisions
                if element.tag == "backup":
                    now -= length
                elif element.tag == "forward" or element.tag == "note" and element.find("chord") is None:
                    now += length
                most = max(most, now)
            lengths[number].add(most)
    return any(max(found) - min(found) >= Fraction(1, 8) for found in lengths.values())


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
        p
        for p in (root / "crates" / "formats" / "fixtures").rglob("*")
        if p.is_file() and p.suffix not in (".txt", ".md")
    )
    corpus = scores.package_folder() / "corpus"
    kinds = (*scores.MUSICXML, ".krn", ".abc")
    outside = sorted(p for p in corpus.rglob("*") if p.is_file() and p.suffix.lower() in kinds)
    if "--all" not in sys.argv:
        tunes = [p for p in outside if p.suffix.lower() in (".abc", ".krn")]
        outside = [p for p in outside if p.suffix.lower() in scores.MUSICXML] + tunes[::20]
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
PLAIN = {
    Fraction(length): (value, dots)
    for value, base in (("breve", 8), ("1", 4), ("2", 2), ("4", 1), ("8", Fraction(1, 2)), ("16", Fraction(1, 4)))
    for dots, length in (("", base), ("1", base * Fraction(3, 2)), ("2", base * Fraction(7, 4)))
}


def bar_length(rest):
    """Quarter notes in the bar of a whole-bar rest: told by itself, or by the metre in force on its staff."""
    root = rest.getroottree().getroot()
    if ticks := rest.get("dur.ppq"):
        return Fraction(int(ticks), int(root.find(f".//{MEI}scoreDef").get("ppq")))
    staff = next(a for a in rest.iterancestors() if a.tag == MEI + "staff").get("n")
    found = None
    measure = next(a for a in rest.iterancestors() if a.tag == MEI + "measure")
    for element in root.iter(MEI + "staffDef", MEI + "measure"):
        if element is measure:
            break
        signature = (
            element.find(MEI + "meterSig") if element.tag == MEI + "staffDef" and element.get("n") == staff else None
        )
        if signature is not None and signature.get("count"):
            found = sum(Fraction(n) for n in signature.get("count").split("+")) * Fraction(
                4, int(signature.get("unit"))
            )
    return found


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
        # A bar in which every staff rests has no length for it: its metre is an attribute or none.
        for element in list(tree.iter(MEI + "mRest")):
            length = bar_length(element)
            plain = PLAIN.get(length)
            if plain:
                element.tag = MEI + "rest"
                element.attrib.pop("dur.ppq", None)
                element.set("dur", plain[0])
                if plain[1]:
                    element.set("dots", plain[1])
                FITTED["music21: a rest that fills the bar, where every staff has one"] += 1
        for element in tree.iter(MEI + "measure"):
            if not element.get("n", "0").isdigit():
                element.set("n", "0")
                FITTED["music21: a bar label that is no number"] += 1
        for element in tree.iter(MEI + "syl"):
            element.text = element.text or " "
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
        for element in tree.iter(MEI + "keySig"):
            if not element.get("sig"):
                element.set("sig", "0")
                FITTED["partitura: a signature that lists its signs"] += 1
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
    step = int(sys.argv[sys.argv.index("--step") + 1]) if "--step" in sys.argv else 29
    failures = []
    with tempfile.TemporaryDirectory(prefix="foreread-mei-") as name:
        folder = Path(name)
        paths = inputs()
        if "--notes-only" in sys.argv:
            ours = [path for path in paths if path.parent.name == "pieces"]
            corpus = [path for path in paths if "corpus" in path.parts and path.suffix.lower() in scores.MUSICXML]
            paths = ours + corpus[::step]
            step = 1
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
        print(
            f"{len(paths) - unread} files written as MEI ({unread} hold nothing to read), {len(failures)} not valid"
        )
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
                elif cause := known(library, path, trees[path], said):
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
