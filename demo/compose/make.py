#!/usr/bin/env python3
"""Do `demo/pieces` and `demo/README.md` hold what `demo/compose/scores` say? Writes it, or with `--check` only compares (exit 1 on drift)."""

import io
import sys
import zipfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

import musicxml
import readme
import rules
from notation import ScoreError, read_score

HERE = Path(__file__).parent
PIECES = HERE.parent / "pieces"


def load():
    """Every score, read and checked."""
    scores = []
    for path in sorted((HERE / "scores").glob("*.txt")):
        score = read_score(path.stem, path.read_text(encoding="utf-8"))
        rules.apply(score)
        scores.append(score)
    return scores


def outputs(scores):
    """File name to bytes for everything generated."""
    files = {}
    for score in scores:
        writer = musicxml.Writer(score)
        xml = writer.partwise()
        kinds = score.header.get("containers", "partwise").split()
        files[f"pieces/{score.name}.musicxml"] = xml.encode("utf-8")
        if "mxl" in kinds:
            files[f"pieces/{score.name}.mxl"] = musicxml.compressed(xml)
        if "timewise" in kinds:
            files[f"pieces/{score.name}.timewise.musicxml"] = musicxml.Writer(score).timewise().encode("utf-8")
    for score in scores:
        unknown = set(readme.play_order(score.header["plays"])) - {b.label for b in score.parts[0].bars}
        if unknown:
            raise ScoreError(f"{score.name}: the order of play names bars that are not there: {sorted(unknown)}")
    files["README.md"] = readme.text(scores).encode("utf-8")
    return files


def same(name, ours, theirs):
    """Zips compare by what they hold: compressors differ between machines."""
    if not name.endswith(".mxl"):
        return ours == theirs
    def entries(data):
        with zipfile.ZipFile(io.BytesIO(data)) as z:
            return [(n, z.read(n)) for n in z.namelist()]
    return entries(ours) == entries(theirs)


def main():
    try:
        files = outputs(load())
    except ScoreError as error:
        print(error, file=sys.stderr)
        return 2
    check = "--check" in sys.argv[1:]
    drift = []
    for name, data in files.items():
        path = HERE.parent / name
        if not (path.exists() and same(name, data, path.read_bytes())):
            drift.append(name)
            if not check:
                path.parent.mkdir(exist_ok=True)
                path.write_bytes(data)
    known = set(files)
    for path in sorted(PIECES.glob("*")):
        if f"pieces/{path.name}" not in known:
            drift.append(f"pieces/{path.name} (no source)")
    for name in drift:
        print(("differs: " if check else "wrote: ") + name)
    return 1 if check and drift else 0


if __name__ == "__main__":
    sys.exit(main())
