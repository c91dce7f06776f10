"""Are the staves of a page found? Pages engraved by our own press in many layouts, straight, tilted and as by a phone: staves found against staves drawn.

Source of truth: the drawing itself, whose lines of music the press tells apart (`class="system"` in its SVG).
Pieces: music21's corpus (Ryan's Mammoth Collection and others), drawn by their names' hash, and the demo's own parts. Layouts, sizes and treatments
are drawn by the seed, none picked by its result. A page counts only if exactly as many staves are found as are drawn.

    reference/run staves [--pages=N] [--seed=S]

Of 186 pages of this kind (62 at 100, 150 or 200 dots, each straight, tilted and as by a phone; the staves alone looked for, 2026-11-26) 170 were found at first, all misses but one for
want of black in thin grey lines, and 186 after that was mended: those pages guided the mending.
On 177 other pages (seed 2, 300 dots as well, each three ways): 519 of 531, 97.7 %; five of the misses were a title in thick letters taken for a staff, one a last line of one bar, six a part on two
staves whose systems were counted here. Those pages guided the mending after which 531 of 531 (staves counted) and the 186 were right.
On 150 pages not looked at before (seed 3, 100 to 300 dots, each three ways, the staves alone looked for, 2026-11-27): 450 of 450; by this command, `--seed=4 --pages=120`: 120 of 120.
Limit: that of the goal, staves found on 99 of 100 pages. Hand-engraved plates and handwriting are not among them: none is to be had here.
"""

import json
import random
import re
import subprocess
import sys
import tempfile
from collections import Counter
from pathlib import Path

import foreread
from check_paper import HERE, drawn, option

sys.path.insert(0, str(HERE.parent / "train"))
from page_check import treat  # noqa: E402

WANTED = 0.99
EDITIONS = ["clean", "clean", "clean", "practice", "large", "spaced"]
TREATED = ["clean", "tilted", "phone", "phone"]


def lines_drawn(svg: str) -> int:
    """Staves on a page: systems, and as many staves to each as a bar has (a part may stand on two)."""
    count = lambda what: len(re.findall(rf'class="{what}[" ]', svg))
    return count("system") * max(1, round(count("staff") / max(1, count("measure"))))


def main() -> None:
    """Engraves, treats, scans, counts."""
    wanted, seed = int(option("pages", "210")), option("seed", "1")
    dice = random.Random(f"staves {seed}")
    demo = sorted((HERE.parent / "demo/pieces").glob("*.musicxml"))
    pieces = demo + drawn(wanted, seed)
    right, seen, misses, by = 0, 0, [], Counter()
    with tempfile.TemporaryDirectory() as folder:
        for number, piece in enumerate(pieces * 3):
            if seen >= wanted:
                break
            stem = Path(folder) / f"p{number}"
            layout = ["--edition", dice.choice(EDITIONS), "--paper", dice.choice(["a4", "letter"])]
            staff = dice.choice([None, "5.5", "6.5", "7", "8"])
            layout += ["--staff", staff] if staff else []
            layout += ["--landscape"] if dice.random() < 0.2 else []
            dots, how = dice.choice(["100", "150", "200", "300"]), dice.choice(TREATED)
            said = []
            for ending in ("svg", "png"):
                words = [foreread.binary(), "mark", str(piece), "--part", "1", *layout, "--to", f"{stem}.{ending}", "--dpi", dots]
                done = subprocess.run(words, capture_output=True, text=True)
                said.append(re.findall(r"^written: (.*)$", done.stderr, re.M))
            for page, (drawing, picture) in enumerate(zip(*said)):
                truth = lines_drawn(Path(drawing).read_text(encoding="utf-8"))
                if seen >= wanted or not truth:
                    continue
                file = picture if how == "clean" else treat(picture, how)
                done = subprocess.run([foreread.binary(), "scan", file, "--as", "json"], capture_output=True, text=True)
                found = json.loads(done.stdout)["pages"][0]["systems"] if done.returncode == 0 else 0
                seen += 1
                by[how] += 1
                if found == truth:
                    right += 1
                    by[f"{how} right"] += 1
                else:
                    misses.append(f"{piece.name} page {page + 1}: {' '.join(layout)}, {dots} dots, {how}: {found} of {truth} staves {done.stderr[-80:] if done.returncode else ''}")
            for file in Path(folder).glob(f"p{number}*"):
                file.unlink()
    for miss in misses:
        print(miss)
    for how in dict.fromkeys(TREATED):
        print(f"{how}: {by[f'{how} right']} of {by[how]} pages")
    share = right / max(1, seen)
    print(f"staves found on {right} of {seen} pages ({share:.1%}), wanted {WANTED:.0%} of at least 200")
    if seen < min(wanted, 200) or share < WANTED:
        raise SystemExit("below its limit")


if __name__ == "__main__":
    main()
