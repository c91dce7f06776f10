"""Which other parts have a key that somebody else vouches for?

Writes data/key-extra.csv: parts of the corpus's MusicXML files that are not in
key-truth.csv, so that the key method can be measured on parts it was never
looked at with. Every row names its witness; none is an answer of the library's
key finder or of ours. Run it again only to add rows, and read the difference.

Tiers and witnesses:
- `chorale-soprano|alto|tenor|bass`: the rule behind key-truth.csv's chorale rows,
  on all other chorales: the signature with the file's `<mode>` names a tonic and
  the bass ends on that tonic. (Chorales whose bass ends elsewhere stay out.)
- `chorale-analyst`: the key in which the Roman-numeral analysis in the corpus
  (bach/choraleAnalyses, "Analyst: Andrew Jones" and others) opens and closes,
  where the rule above doesn't reach: phrygian and half-close endings. Only where the bass ends on
  the root of the analysis's last chord: the corpus has some chorales in another key than the analyst's.
- `chorale-disputed`: `<mode>` and bass say one key, an analyst another; reported, without a floor.
- `quartet`, `quartet-inner`: key of the movement from the published work lists
  (Köchel, Hoboken, opus lists), from memory, checked here against signature and
  the cello's last note; a row where these disagree says so in `witness`.
- `whole-work`: several movements in one file; the key is the work's.
- `other`: songs and piano works, the key from title, work list or last bass note.
- `madrigal`: Monteverdi's madrigals whose Roman-numeral analysis in the corpus
  opens and closes in one key. Hard: the music is not yet major and minor.
"""

import csv
import re
import sys

import scores
import witness_xml

FIFTHS = "Fb Cb Gb Db Ab Eb Bb F C G D A E B F# C# G# D# A# E# B#".split()
VOICES = ("soprano", "alto", "tenor", "bass")

# Movement keys. Source: Köchel-Verzeichnis, Hoboken III:1 and III:72, and the opus lists of
# Beethoven and Schumann, from memory.
QUARTETS = {
    "mozart/k80/movement1.mxl": "G major", "mozart/k80/movement2.mxl": "G major",
    "mozart/k80/movement3.mxl": "G major", "mozart/k80/movement4.mxl": "G major",
    "mozart/k155/movement1.mxl": "D major", "mozart/k155/movement2.mxl": "A major",
    "mozart/k155/movement3.mxl": "D major", "mozart/k156/movement1.mxl": "G major",
    "mozart/k156/movement2.mxl": "E minor", "mozart/k156/movement3.mxl": "G major",
    "mozart/k156/movement4.mxl": "E minor", "mozart/k458/movement1.mxl": "Bb major",
    "mozart/k458/movement2.mxl": "Bb major", "mozart/k458/movement3.mxl": "Eb major",
    "mozart/k458/movement4.mxl": "Bb major", "haydn/opus1no1/movement1.mxl": "Bb major",
    "haydn/opus1no1/movement2.mxl": "Bb major", "haydn/opus1no1/movement3.mxl": "Eb major",
    "haydn/opus1no1/movement4.mxl": "Bb major", "haydn/opus1no1/movement5.mxl": "Bb major",
    "haydn/opus74no1/movement1.mxl": "C major", "haydn/opus74no1/movement2.mxl": "G major",
    "haydn/opus74no1/movement3.mxl": "C major", "haydn/opus74no1/movement4.mxl": "C major",
    "beethoven/opus18no1/movement1.mxl": "F major", "beethoven/opus18no1/movement2.mxl": "D minor",
    "beethoven/opus18no1/movement3.mxl": "F major", "beethoven/opus18no1/movement4.mxl": "F major",
    "beethoven/opus59no1/movement1.mxl": "F major", "beethoven/opus59no1/movement2.mxl": "Bb major",
    "beethoven/opus59no1/movement3.mxl": "F minor", "beethoven/opus59no1/movement4.mxl": "F major",
    "beethoven/opus59no2/movement1.mxl": "E minor", "beethoven/opus59no2/movement2.mxl": "E major",
    "beethoven/opus59no2/movement3.mxl": "E minor", "beethoven/opus59no2/movement4.mxl": "E minor",
    "beethoven/opus59no3/movement1.mxl": "C major", "beethoven/opus59no3/movement2.mxl": "A minor",
    "beethoven/opus59no3/movement3.mxl": "C major", "beethoven/opus59no3/movement4.mxl": "C major",
    "schumann_robert/opus41no1/movement1.mxl": "F major", "schumann_robert/opus41no1/movement2.mxl": "A minor",
    "schumann_robert/opus41no1/movement4.mxl": "F major", "schumann_robert/opus41no1/movement5.mxl": "A minor",
}
WHOLE_WORKS = {
    "beethoven/opus18no3.mxl": "D major", "beethoven/opus18no4.mxl": "C minor",
    "beethoven/opus18no5.mxl": "A major", "beethoven/opus74.mxl": "Eb major",
    "beethoven/opus132.mxl": "A minor", "beethoven/opus133.mxl": "Bb major",
}
# unit -> key, part-staff indices, witness
OTHERS = {
    "beach/prayer_of_a_tired_child.musicxml": ("Eb major", (0, 1, 2, 3, 4), "signature and last bass note"),
    "corelli/opus3no1/1grave.xml": ("F major", (0, 1, 2), "sonata in F major (work lists); bass ends on F"),
    "handel/rinaldo/Lascia_chio_pianga.mxl": ("A major", (0,), "first bass note; sung da capo in A here"),
    "johnson_j_r/lift_every_voice.mxl": ("Ab major", (0, 1, 2, 3), "signature and last bass note"),
    "liliuokalani/aloha_oe.mxl": ("G major", (0, 1, 2, 3, 4, 5), "signature and last bass note"),
    "leadSheet/fosterBrownHair.mxl": ("F major", (0,), "song in F major, ends on F; no signature is printed here"),
    "schubert/Lindenbaum.xml": ("E major", (0, 1), "Winterreise 5 in E major (work lists); ends on E"),
    "schumann_clara/opus17/movement3.xml": ("G major", (0, 1, 2), "andante of op. 17 in G major (work lists)"),
    "schumann_clara/polonaise_op1n1.mxl": ("Eb major", (0,), "polonaise in E flat (work lists)"),
    "schumann_clara/polonaise_op1n2.mxl": ("C major", (0,), "polonaise in C (work lists)"),
    "schumann_clara/polonaise_op1n3.mxl": ("D major", (0,), "polonaise in D (work lists)"),
    "schumann_clara/polonaise_op1n4.mxl": ("C major", (0,), "polonaise in C (work lists)"),
    "schumann_robert/opus48no2.mxl": ("A major", (0, 1), "Dichterliebe 2 in A major (work lists)"),
    "verdi/laDonnaEMobile.mxl": ("Bb major", (0,), "signature; B major in the opera, transposed here"),
    "weber/concertino_clarinet.mxl": ("Eb major", (1,), "title: concertino in E flat"),
    "cpebach/h186.mxl": ("F# minor", (0,), "Wq 55/4 second movement in F sharp minor (work lists); ends on F sharp"),
}


def tonic(fifths: int, mode: str) -> str:
    """The tonic that a signature has in a mode; C is at index 8 of FIFTHS."""
    return FIFTHS[8 + fifths + (3 if mode == "minor" else 0)]


def last_note(part) -> str:
    """Letter and accidental of a part's last written note."""
    heads = [n for n in part.iter("note") if n.find("pitch") is not None]
    return witness_xml.pitch(heads[-1].find("pitch"))[0].rstrip("-0123456789")


def first_key(part) -> tuple[int, str | None]:
    key = next(part.iter("key"))
    return int(key.findtext("fifths")), key.findtext("mode")


def analysed_key(text: str) -> str | None:
    """`A minor` when an analysis opens and closes in that key, else None."""
    keys = re.findall(r"(?:^|\s)([A-Ga-g][#b]?):", "\n".join(l for l in text.splitlines() if l.startswith("m")))
    if not keys or keys[0] != keys[-1]:
        return None
    return f"{keys[0][0].upper()}{keys[0][1:]} {'major' if keys[0][0].isupper() else 'minor'}"


def closes_as_analysed(text: str, key: str, bass: str) -> bool:
    """Does the bass end on the root of the analysis's last chord, I or V?"""
    last = [line for line in text.splitlines() if re.match(r"m\d+ ", line)][-1].split()
    chord = [word for word in last[1:] if re.match(r"^[iIvV]+", word)][-1]
    root = 7 if re.match(r"^[vV]$", chord) else 0 if re.match(r"^[iI](\[|$)", chord) else None
    return root is not None and (pitch_class(bass) - pitch_class(key.split()[0])) % 12 == root


def pitch_class(name: str) -> int:
    """Semitones above C of a letter with its accidentals."""
    return (witness_xml.SEMITONES[name[0]] + name.count("#") - name[1:].count("b")) % 12


def chorales(skip: set[str]):
    analyses = {}
    for path in sorted((scores.package_folder() / "corpus/bach/choraleAnalyses").glob("*.rntxt")):
        text = path.read_text(encoding="utf-8")
        number = re.search(r"^BWV: *(\S+)", text, re.M).group(1)
        analyses["bach/bwv" + number] = (path.name, analysed_key(text), text)
    for unit in scores.corpus_musicxml():
        if not unit.startswith("bach/") or unit in skip:
            continue
        root = scores.tree(scores.score_path(unit))
        parts = root.findall("part")
        if any(e.text != "1" for e in root.iter("staves")):
            continue
        fifths, mode = first_key(parts[0])
        name, key, text = analyses.get(unit.rsplit(".", 1)[0], (None, None, ""))
        if key and not closes_as_analysed(text, key, last_note(parts[-1])):
            key = None
        declared = f"{tonic(fifths, mode)} {mode}" if mode in ("major", "minor") else None
        if declared and last_note(parts[-1]) == declared.split()[0]:
            witness = "<mode> in the file, bass ends on the tonic"
            disputed = key is not None and key != declared
            if disputed:
                witness += f"; analysis {name} says {key}"
            key, tier = declared, "chorale-disputed" if disputed else None
        elif key:
            witness, tier = f"analysis {name} opens and closes in it", "chorale-analyst"
        else:
            continue
        for index, element in enumerate(root.iter("score-part")):
            voice = (element.findtext("part-name") or "").strip().lower()
            if voice in VOICES:
                yield unit, index, key, tier or f"chorale-{voice}", witness


def quartets(known: set[tuple[str, int]]):
    for table, several in ((QUARTETS, False), (WHOLE_WORKS, True)):
        for unit, key in table.items():
            root = scores.tree(scores.score_path(unit))
            parts = root.findall("part")
            witness = f"key of the {'work' if several else 'movement'} (work lists)"
            if last_note(parts[-1]) != key.split()[0]:
                witness += f"; the cello's last note is {last_note(parts[-1])}"
            for index in range(4):
                if (unit, index) not in known:
                    inner = "quartet-inner" if index in (1, 2) else "quartet"
                    yield unit, index, key, "whole-work" if several else inner, witness


def madrigals():
    folder = scores.package_folder() / "corpus/monteverdi"
    for path in sorted(folder.glob("*.rntxt")):
        score = path.with_suffix(".mxl")
        key = analysed_key(path.read_text(encoding="utf-8"))
        if key is None or not score.exists():
            continue
        unit = f"monteverdi/{score.name}"
        for index in range(len(scores.tree(score).findall("part"))):
            yield unit, index, key, "madrigal", f"analysis {path.name} opens and closes in it"


def main() -> int:
    known = {(r["unit"], int(r["part"])) for r in scores.table("key-truth.csv")}
    rows = list(chorales({unit for unit, _part in known})) + list(quartets(known))
    for unit, (key, indices, witness) in OTHERS.items():
        rows += [(unit, index, key, "other", witness) for index in indices]
    rows += list(madrigals())
    with open(scores.DATA / "key-extra.csv", "w", encoding="utf-8", newline="") as out:
        writer = csv.writer(out, lineterminator="\n")
        writer.writerow(["unit", "part", "tonic", "mode", "tier", "witness"])
        for unit, part, key, tier, witness in rows:
            writer.writerow([unit, part, *key.split(), tier, witness])
    return 0


if __name__ == "__main__":
    sys.exit(main())
