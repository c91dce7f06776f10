"""How well does it read a second engraver it has never seen? Builds the pages of the one named before the second training.

    python second.py LIBRARY_DIR OUT.npz [pages] [seed]

The library (abcjs, npm, MIT) draws ABC in the browser; needs node and a headless chromium. Lines and labels are
those of heldout.py, less what this library can't set without complaint (ottavas); its own parser must accept a page without
a warning, or the page is not asked of it.
"""

import json
import os
import random
import subprocess
import sys
import tempfile

import heldout
import labels as L
from heldout import crops, page, save, suits as plain_enough

HTML = """<!DOCTYPE html><html><body style="background:#fff;margin:0"><div id="p"></div>
<script src="file://{lib}/dist/abcjs-basic-min.js"></script>
<script>ABCJS.renderAbc("p", {text}, {{staffwidth: {width}, paddingtop: 40, paddingbottom: 60, add_classes: true, format: {{}}}});</script></body></html>"""
CHECK = """const A = require(process.argv[1] + "/index.js"); const fs = require("fs");
const t = A.parseOnly(fs.readFileSync(process.argv[2], "utf8"));
console.log(JSON.stringify((t[0].warnings || []).concat(t.length === 1 ? [] : ["tunes"])));"""


def suits(line):
    """No key that takes signs away: this library prints the naturals again on the next system."""
    key = line.key
    for b in line.bars:
        if b.key is not None:
            if b.key * key < 0 or abs(b.key) < abs(key):
                return False
            key = b.key
        for v in b.voices:
            if len(v) == 1 and v[0].rest:
                v[0].full_bar, v[0].type, v[0].dots, v[0].marks = True, "1", 0, set()
    return plain_enough(line)


def as_drawn(systems):
    """What this library prints: a clef change after the barline, a bar's rest as a block with a 1 above it."""
    for A, _, _ in systems:
        for i in range(len(A) - 1):
            a, b = L.MAIN[A[i][1][0]], L.MAIN[A[i + 1][1][0]]
            if i and a.startswith("clef:") and b.startswith("bar:") and A[i][0] == A[i + 1][0]:
                A[i], A[i + 1] = A[i + 1], A[i]
        for k in {k for k, _ in A}:
            timed = [n for n, (q, r) in enumerate(A) if q == k and (L.MAIN[r[0]].startswith("n") or L.MAIN[r[0]] in ("rest", "mrest"))]
            if len(timed) == 1 and L.MAIN[A[timed[0]][1][0]] == "rest":
                A[timed[0]] = (k, L.mrest_row(1))
    return systems


def texts(rng):
    """(ABC, labels of its systems) of one page that suits this library."""
    heldout.OFF = heldout.OFF | {"ottava"}
    heldout.suits, heldout.as_drawn = suits, lambda s: s
    text, systems = page(rng)
    lines = [x for x in text.split("\n") if not x.startswith("%%")]
    return "\n".join(["%%graceslurs 0", "%%staffsep 110", f"%%stretchlast {rng.choice(['true', 'true', 'false'])}", *lines]), as_drawn(systems)


def build(lib, out, pages=210, seed=2026):
    ims, labs, page_of, refused, lost, why = [], [], [], 0, 0, {}
    rng = random.Random(seed)
    with tempfile.TemporaryDirectory() as d:
        n = 0
        while n < pages:
            text, want = texts(random.Random(rng.getrandbits(50)))
            open(f"{d}/p.abc", "w").write(text)
            r = subprocess.run(["node", "-e", CHECK, lib, f"{d}/p.abc"], capture_output=True, text=True)
            bad = json.loads(r.stdout or '["no answer"]')
            if bad:
                refused += 1
                k = bad[0].split(":")[-1][:50]
                why[k] = why.get(k, 0) + 1
                continue
            html = HTML.format(lib=lib, text=json.dumps(text), width=rng.choice([1000, 1080, 1150]))
            open(f"{d}/p.html", "w").write(html)
            subprocess.run(["chromium", "--headless", "--no-sandbox", "--hide-scrollbars", "--allow-file-access-from-files", "--force-device-scale-factor=1.5",
                            f"--window-size=1500,{500 + 260 * len(want)}", f"--screenshot={d}/p.png", f"file://{d}/p.html"], capture_output=True, timeout=120)
            got = crops(f"{d}/p.png", len(want))
            if os.environ.get("KEEP"):
                os.system(f"cp {d}/p.* {os.environ['KEEP']}")
            if got is None or max(g.shape[1] for g in got) > 1536:
                lost += 1
                print("page", n, "staves not found or too long:", len(want), flush=True)
                continue
            ims += got
            labs += want
            page_of += [n] * len(want)
            n += 1
            if n % 10 == 0:
                print(n, len(ims), "refused", refused, flush=True)
    save(out, ims, labs, page_of)
    print("systems", len(ims), "pages", n, "refused by the library", refused, why, "lost", lost)


if __name__ == "__main__":
    build(sys.argv[1], sys.argv[2], int(sys.argv[3]) if len(sys.argv) > 3 else 210, int(sys.argv[4]) if len(sys.argv) > 4 else 2026)
