"""Where are the outside scores, and how is one opened?

Scores are read from the installed `music21` package at test time, never copied
into the checkout (their licences are mixed). Opening one here needs only the
standard library, so that this module can serve as a second witness that shares
no code with music21's own reader.

Source: MusicXML 4.0, "Compressed .MXL files" (META-INF/container.xml names the
root file); XML 1.0 appendix F (byte-order marks).
"""

import csv
import functools
import importlib.util
import json
import os
import zipfile
from pathlib import Path
from xml.etree import ElementTree

DATA = Path(__file__).resolve().parent / "data"
MUSICXML = (".xml", ".mxl", ".musicxml")


@functools.cache
def package_folder() -> Path:
    """The folder of the installed music21 (found without importing it)."""
    spec = importlib.util.find_spec("music21")
    if spec is None or not spec.submodule_search_locations:
        raise SystemExit("music21 is not installed: run reference/run, which makes its own environment")
    return Path(list(spec.submodule_search_locations)[0])


def kern_samples() -> Path:
    """The folder of kern scores in the source archive of kernpy 1.9.3, which reference/run fetches."""
    return Path(os.environ["FOREREAD_KERN_SAMPLES"])


def score_path(unit: str) -> Path:
    """The file of a unit; paths are relative to corpus/, `../x` to the package, `extra/x` to kernpy's samples."""
    if unit.startswith("extra/"):
        return kern_samples() / unit.removeprefix("extra/")
    return (package_folder() / "corpus" / unit.split("#")[0]).resolve()


def is_musicxml(unit: str) -> bool:
    """Is this unit one of the MusicXML files (the others are ABC and kern)?"""
    return unit.lower().endswith(MUSICXML)


def corpus_musicxml() -> list[str]:
    """Every MusicXML file of the corpus as a unit, sorted."""
    root = package_folder() / "corpus"
    return sorted(
        str(p.relative_to(root))
        for p in root.rglob("*")
        if p.suffix.lower() in MUSICXML and p.is_file()
    )


def conformance_files() -> list[Path]:
    """Every file of the unofficial MusicXML conformance suite in the package."""
    folder = package_folder() / "musicxml" / "lilypondTestSuite"
    return sorted(p for p in folder.iterdir() if p.suffix.lower() in MUSICXML)


def xml_bytes(path: Path) -> bytes:
    """The bytes of the score document itself, taken out of the .mxl if need be."""
    if path.suffix.lower() != ".mxl":
        return path.read_bytes()
    with zipfile.ZipFile(path) as archive:
        container = ElementTree.fromstring(archive.read("META-INF/container.xml"))
        for element in container.iter():
            if element.tag.split("}")[-1] == "rootfile":
                return archive.read(element.get("full-path"))
    raise ValueError(f"{path}: the container names no root file")


def tree(path: Path) -> ElementTree.Element:
    """The parsed score document."""
    return ElementTree.fromstring(xml_bytes(path))


def library_answers() -> list[dict]:
    """Rows of library-answers.jsonl for MusicXML units, in file order."""
    with open(DATA / "library-answers.jsonl", encoding="utf-8") as lines:
        rows = [json.loads(line) for line in lines]
    return [row for row in rows if is_musicxml(row["unit"])]


def table(name: str, every: bool = False) -> list[dict]:
    """Rows of a CSV table in data/ for MusicXML units (or `every` unit), in file order."""
    with open(DATA / name, encoding="utf-8", newline="") as lines:
        return [row for row in csv.DictReader(lines) if every or is_musicxml(row["unit"])]
