"""Does the pencil ever cover the music? Proved by ink, not by the boxes that the marks were placed by.

Every demo piece and at least 30 pieces of the corpus are marked (`mark --to part.svg`), with all marks and not only the most
valuable. Of each page two are made, one with the music alone and one with the pencil alone; our press writes both as PDF and
PDFium, a rasteriser that has no part in placing them, draws them at 8 pixels a millimetre. A pixel counts as ink of the music below
half white, and of the pencil likewise. No mark may share a pixel with the music but those meant to enclose what stands there
(brackets and circles), and no two marks may share one.

Source: PDFium (pypdfium2 5.15.2).
"""

import copy
import re
import sys
import tempfile
from pathlib import Path
from xml.etree import ElementTree

import numpy
import pypdfium2

import foreread
import press
import scores

PIXELS_PER_MM = 8
# Signs that are drawn around what stands on the page: their strokes cross lines that leave no way round.
ENCLOSING = {"brackets", "circle"}
SVG = "{http://www.w3.org/2000/svg}"
EVERY = 17
AT_LEAST = 30
ElementTree.register_namespace("", "http://www.w3.org/2000/svg")


def corpus() -> list[str]:
    """Pieces of every kind, spread over the corpus."""
    return scores.corpus_musicxml()[::EVERY]


def marked(piece: Path, part: str | None) -> list[str]:
    """The pages of the marked part."""
    with tempfile.TemporaryDirectory(prefix="foreread-ink-") as folder:
        to = Path(folder) / "part.svg"
        argv = ["mark", str(piece), "--to", str(to), "--most", "1000", "--legend-block", "--ornaments"] + (["--part", part] if part else [])
        ran = foreread.run(argv, limit=120)
        if ran.status != 0:
            raise RuntimeError(f"mark ended with {ran.status}: {ran.err.strip().splitlines()[-1:]}")
        pages = sorted(Path(folder).glob("*.svg"), key=lambda path: [int(n) for n in re.findall(r"\d+", path.stem)])
        return [page.read_text(encoding="utf-8") for page in pages]


def size(root) -> tuple[float, float]:
    """Width and height in millimetres."""
    return tuple(float(root.get(name).removesuffix("mm")) for name in ("width", "height"))


def is_pencil(element) -> bool:
    return "pencil" in (element.get("class") or "").split()


def layers(page: str) -> tuple[str, list[tuple[str, str]]]:
    """The page without pencil, and each mark alone on the page, by its sign."""
    root = ElementTree.fromstring(page)
    music = copy.deepcopy(root)
    for parent in music.iter():
        for child in [child for child in parent if is_pencil(child)]:
            parent.remove(child)
    kept = [child for child in root if child.tag in (SVG + "style", SVG + "defs", SVG + "title")]
    marks = []
    for group in (element for element in root.iter() if is_pencil(element)):
        for moved in group:
            for mark in moved if "mark" not in (moved.get("class") or "").split() else [moved]:
                alone = ElementTree.Element(root.tag, root.attrib)
                alone.extend(copy.deepcopy(kept))
                inner = ElementTree.SubElement(alone, group.tag, group.attrib)
                if mark is not moved:
                    inner = ElementTree.SubElement(inner, moved.tag, moved.attrib)
                inner.append(copy.deepcopy(mark))
                sign = re.search(r"\bmark-([a-z-]+)", mark.get("class") or "")
                marks.append((sign.group(1) if sign else "legend", ElementTree.tostring(alone, encoding="unicode")))
    return ElementTree.tostring(music, encoding="unicode"), marks


def inks(pdf: bytes):
    """Of each page of a PDF, where it has ink."""
    document = pypdfium2.PdfDocument(pdf)
    for index in range(len(document)):
        bitmap = document[index].render(scale=PIXELS_PER_MM * 25.4 / 72, grayscale=True)
        yield bitmap.to_numpy().squeeze() < 128


def check(name: str, pages: list[str], tool: press.Press) -> tuple[int, list[str]]:
    """How many marks, and what is wrong."""
    count, wrong = 0, []
    for number, page in enumerate(pages, start=1):
        music, marks = layers(page)
        count += len(marks)
        width, height = size(ElementTree.fromstring(page))
        drawn = inks(tool.pdf([(text, width, height) for text in [music] + [mark for _, mark in marks]]))
        notes = next(drawn)
        if not notes.any():
            wrong.append(f"{name}, page {number}: the music left no ink")
        taken = numpy.zeros_like(notes)
        for (sign, _), ink in zip(marks, drawn, strict=True):
            if not ink.any():
                wrong.append(f"{name}, page {number}: {sign} left no ink")
            if sign not in ENCLOSING and (shared := int((ink & notes).sum())):
                wrong.append(f"{name}, page {number}: {sign} shares {shared} pixels with the music{at(ink & notes)}")
            if shared := int((ink & taken).sum()):
                wrong.append(f"{name}, page {number}: {sign} shares {shared} pixels with another mark{at(ink & taken)}")
            taken |= ink
    return count, wrong


def at(shared) -> str:
    rows, columns = shared.nonzero()
    return f" at {columns[0] / PIXELS_PER_MM:.0f}, {rows[0] / PIXELS_PER_MM:.0f} mm"


def main() -> int:
    demo = sorted((foreread.HERE.parent / "demo" / "pieces").glob("*.musicxml"))
    tool = press.Press()
    marks, wrong, seen = 0, [], 0
    for name, piece, part in [(p.stem, p, None) for p in demo] + [(unit, scores.score_path(unit), "1") for unit in corpus()]:
        try:
            pages = marked(piece, part)
        except RuntimeError as failure:
            wrong.append(f"{name}: {failure}")
            continue
        count, faults = check(name, pages, tool)
        marks, seen = marks + count, seen + 1
        wrong += faults
    tool.close()
    for fault in wrong:
        print(fault)
    print(f"{seen} pieces, {marks} marks alone on the page, {len(wrong)} faults")
    return int(bool(wrong) or seen < len(demo) + AT_LEAST or marks < 5 * seen)


if __name__ == "__main__":
    sys.exit(main())
