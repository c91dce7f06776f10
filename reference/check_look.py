"""Do the printed pages still look as they did when somebody last looked at them?

Small pictures (50 dots an inch, 16 greys) of the marked demo pieces, of every edition of one of them, of a prep sheet and a card are
kept in `data/look/`. Each is drawn again and compared: a page may differ by a hair (another machine's rounding), not by a sign. Where one
does, a picture with the old page, the new one and the difference side by side is written and named.

`FOREREAD_BLESS=1 reference/run look` keeps the new pages: look at every one of them first.

Source: nothing from outside; PDFium (pypdfium2) draws the PDFs, so that a picture is not checked by the program that made it.
"""

import os
import sys
import tempfile
from pathlib import Path

import numpy
import pypdfium2
from PIL import Image

import foreread

KEPT = Path(__file__).resolve().parent / "data" / "look"
DEMO = foreread.HERE.parent / "demo"
DOTS_PER_INCH = 50
GREYS = 16
# Squares of so many dots are compared by their mean grey: a sign that moved by a dot changes little, one that went changes much.
SQUARE = 6
# Of 255: what a square may change, and what the page may change on average.
MOST_OF_SQUARE = 60.0
MOST_OF_PAGE = 1.0

EDITIONS = ("clean", "large", "spaced", "strip")


def wanted() -> dict[str, list[str]]:
    """Name of the picture (without page): what to ask for."""
    pieces = sorted(path for path in (DEMO / "pieces").glob("*.musicxml") if "." not in path.stem)
    asked = {path.stem: ["mark", str(path), "--legend-block"] for path in pieces}
    one = str(DEMO / "pieces" / "lantern_barge.musicxml")
    asked |= {f"lantern_barge-{edition}": ["mark", one, "--edition", edition] for edition in EDITIONS}
    asked["lantern_barge-viola"] = ["mark", one, "--for", "viola", "--paper", "letter"]
    bassoon = str(DEMO / "pieces" / "causeway_at_dusk.musicxml")
    asked["causeway_at_dusk-sheet"] = ["sheet", bassoon, "--player", str(DEMO / "players" / "ivo.toml")]
    asked["causeway_at_dusk-card"] = ["card", bassoon]
    return asked


def pages(asked: list[str]) -> list[Image.Image]:
    """The pages of what was asked for."""
    with tempfile.TemporaryDirectory(prefix="foreread-look-") as folder:
        to = Path(folder) / "out.pdf"
        ran = foreread.run([*asked, "--to", str(to)], limit=120)
        if ran.status != 0:
            raise RuntimeError(f"ended with {ran.status}: {ran.err.strip()[-300:]}")
        document = pypdfium2.PdfDocument(to.read_bytes())
        return [document[index].render(scale=DOTS_PER_INCH / 72, grayscale=True).to_pil().convert("L") for index in range(len(document))]


def reduced(page: Image.Image) -> Image.Image:
    return page.quantize(GREYS, dither=Image.Dither.NONE)


def difference(old: Image.Image, new: Image.Image) -> tuple[float, float]:
    """The greatest change of a square, and the mean change of the page."""
    if old.size != new.size:
        return 255.0, 255.0
    change = numpy.asarray(new, dtype=float) - numpy.asarray(old, dtype=float)
    rows, columns = (size // SQUARE * SQUARE for size in change.shape)
    squares = change[:rows, :columns].reshape(rows // SQUARE, SQUARE, columns // SQUARE, SQUARE).mean(axis=(1, 3))
    return float(abs(squares).max()), float(abs(squares).mean())


def side_by_side(name: str, old: Image.Image, new: Image.Image) -> Path:
    """The old page, the new one, and what changed (what went is light, what came is dark)."""
    width, height = (max(a, b) for a, b in zip(old.size, new.size))
    sheet = Image.new("L", (3 * width + 20, height), 255)
    sheet.paste(old, (0, 0))
    sheet.paste(new, (width + 10, 0))
    if old.size == new.size:
        change = 128 + (numpy.asarray(new, dtype=int) - numpy.asarray(old, dtype=int)) // 2
        sheet.paste(Image.fromarray(change.astype("uint8")), (2 * width + 20, 0))
    path = Path(tempfile.gettempdir()) / f"foreread-look-{name}.png"
    sheet.save(path)
    return path


def main() -> int:
    bless = bool(os.environ.get("FOREREAD_BLESS"))
    KEPT.mkdir(exist_ok=True)
    wrong, seen = [], set()
    for name, asked in wanted().items():
        for number, page in enumerate(pages(asked), start=1):
            key = f"{name}-{number}"
            seen.add(key)
            path = KEPT / f"{key}.png"
            if bless:
                reduced(page).save(path, optimize=True)
                continue
            if not path.exists():
                wrong.append(f"{key}: no such page was kept")
                continue
            old, new = Image.open(path).convert("L"), reduced(page).convert("L")
            square, whole = difference(old, new)
            if square > MOST_OF_SQUARE or whole > MOST_OF_PAGE:
                wrong.append(f"{key}: differs ({square:.0f} in a square, {whole:.2f} on average), see {side_by_side(key, old, new)}")
    for path in sorted(KEPT.glob("*.png")):
        if path.stem not in seen:
            wrong.append(f"{path.stem}: kept, but not printed any more")
            if bless:
                path.unlink()
    for fault in wrong if not bless else []:
        print(fault)
    print(f"{len(seen)} pages {'kept' if bless else f'compared, {len(wrong)} differ'}")
    return int(bool(wrong) and not bless)


if __name__ == "__main__":
    sys.exit(main())
