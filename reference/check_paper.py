"""From the printed page back to the piece: are key, metre, range, road map and every bar what the file says?

Source of truth: the file that each page was engraved from (music21's corpus, Ryan's Mammoth Collection and others; the demo's own pieces).
`train/page_check.py` engraves each by our own press, scans it, and holds every bar's pitches, lengths, ties, rests and grace notes against the file.

    reference/run paper [--pages=N] [--how=clean|tilted|phone] [--seed=S] [--misses]

The pages are drawn by their names' hash, the same for every run of a seed; none is picked by its result.
Our press engraves with the first library of the training, in a font of the training: these are unseen pages, not an unseen engraver.
Limits: those of the goal for pages from file to survey, key, metre, range and road map the same on 98 of 100, bars exactly right 98 of 100.
"""

import hashlib
import json
import subprocess
import sys
import tempfile
from pathlib import Path

import foreread
import music21

HERE = Path(__file__).resolve().parent
CORPUS = Path(music21.__file__).parent / "corpus"
# Folders of single-line pieces or of parts that stand alone, and how many of 30 pages come from each.
FOLDERS = {"ryansMammoth": 20, "bach": 6, "trecento": 2, "airdsAirs": 1, "essenFolksong": 1}
WANTED = {"key": 0.98, "metre": 0.98, "range": 0.98, "road": 0.98, "bars": 0.98}


def option(name: str, default: str) -> str:
    """The value of --name=value."""
    return next((a.split("=", 1)[1] for a in sys.argv[1:] if a.startswith(f"--{name}=")), default)


def drawn(pages: int, seed: str) -> list[Path]:
    """Pieces in a fixed order that depends on nothing but their names."""
    out = []
    for folder, share in FOLDERS.items():
        files = sorted(f for f in (CORPUS / folder).rglob("*") if f.suffix in (".abc", ".xml", ".mxl", ".krn", ".musicxml"))
        files.sort(key=lambda f: hashlib.sha256(f"{seed} {f.name}".encode()).hexdigest())
        out += files[: max(1, round(share * pages / 30))]
    return out


def main() -> None:
    """Engraves, scans, compares; fails below a limit."""
    pieces = drawn(int(option("pages", "45")), option("seed", "1"))
    with tempfile.TemporaryDirectory() as folder:
        kept = Path(folder) / "rows.json"
        how = option("how", "clean")
        picture = ["--pdf"] if how == "clean" else ["--dpi", "200", "--how", how]
        command = [sys.executable, str(HERE.parent / "train" / "page_check.py"), foreread.binary(), *map(str, pieces), *picture, "--json", str(kept)]
        said = subprocess.run([*command, *(["--verbose", "1"] if "--misses" in sys.argv else [])], text=True, stdout=subprocess.PIPE)
        print(said.stdout)
        rows = json.loads(kept.read_text()) if kept.exists() else []
    read = [row for row in rows if "error" not in row]
    if not read or len(rows) < 0.9 * len(pieces):
        raise SystemExit(f"only {len(rows)} of {len(pieces)} pieces came to a page")
    shares = {name: sum(row[name] for row in read) / len(rows) for name in WANTED if name != "bars"}
    shares["bars"] = sum(row["right"] for row in rows) / sum(row["bars"] for row in rows)
    below = [name for name, share in shares.items() if share < WANTED[name]]
    for name, share in shares.items():
        print(f"{name}: {share:.2%}, wanted {WANTED[name]:.0%}{' BELOW' if name in below else ''}")
    slow = [row["seconds"] / max(1, row["pages"]) for row in read]
    print(f"{len(rows)} pieces, {sum(row['pages'] for row in read)} pages, seconds a page: mean {sum(slow) / len(slow):.1f}, most {max(slow):.1f}")
    if below:
        raise SystemExit(f"below its limit: {', '.join(below)}")


if __name__ == "__main__":
    main()
