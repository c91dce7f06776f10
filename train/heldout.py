"""How well does it read an engraver it has never seen? Builds the pages of the held-out engraver.

    python heldout.py LIBRARY_DIR OUT.npz [pages] [seed]

Needs node and a headless chromium on this machine. The page is drawn by the library, photographed by the
browser, and its staves are found on the clean picture; nothing of our rasteriser touches it. Labels come from
the line we wrote; what the engraver can't do is not asked of it (listed in `plain`).
"""

import copy
import os
import random
import subprocess
import sys
import tempfile
from fractions import Fraction as F

import cv2
import numpy as np

import labels as L
from canvas import CENTRE, HEIGHT
from music import Gen, after_bar, sound_ties

OFF = {"after_grace", "bare_tuplet", "voice2", "heads", "trill_line", "mrepeat", "arpeggio", "grace_slur"}
CLEF = {"G2": "treble", "F4": "bass", "C3": "alto", "C4": "tenor"}
KEYS = ["Cb", "Gb", "Db", "Ab", "Eb", "Bb", "F", "C", "G", "D", "A", "E", "B", "F#", "C#"]
ACC = {"s": "^", "f": "_", "n": "=", "x": "^^", "ff": "__"}
DECO = {"staccato": ".", "tenuto": "!tenuto!", "accent": "!accent!", "marcato": "!marcato!", "staccatissimo": "!wedge!",
        "fermata": "!fermata!", "upbow": "!upbow!", "downbow": "!downbow!"}
ORN = {"trill": "!trill!", "mordent": "!mordent!", "shorttrill": "!uppermordent!", "turn": "!turn!"}
DYN = {"pppp", "ppp", "pp", "p", "mp", "mf", "f", "ff", "fff", "ffff", "sfz"}


def plain(line):
    """Takes off the line what ABC has no way to ask for."""
    for b in line.bars:
        b.cancel = False
        if b.right == "dashed" or b.bar_fermata:
            b.right, b.bar_fermata = "single" if b.right == "dashed" else b.right, False
        for v in b.voices:
            for e in v:
                e.marks &= set(DECO)
                e.orn = e.orn if e.orn in ORN else None
                e.ornacc = None
                e.dyn = [d if d in DYN else "sfz" for d in e.dyn]
                e.breath = "breath" if e.breath else None
                e.trem = min(e.trem, 3) if e.type in ("2", "4") else 0
                if e.ott_start in ("15ma", "15mb"):
                    e.ott_start = "8va"
                if e.rest:
                    e.dyn, e.graces, e.marks = [], [], e.marks & {"fermata"}
                if e.full_bar:
                    e.marks = set()
                for g in e.graces:
                    g.type = "8" if len(e.graces) == 1 else "16"
                    g.slash = g.slash and len(e.graces) == 1
                    for h in g.heads:
                        h.paren = False
                for h in e.heads:
                    h.paren = False


def suits(line):
    if line.clef not in CLEF or line.start_repeat:
        return False
    for b in line.bars:
        if b.clef and b.clef not in CLEF or b.key == 0:
            return False
        for v in b.voices:
            for e in v:
                if e.clef_before and e.clef_before not in CLEF or e.type in ("breve", "128") or len(e.tups) > 1 or e.dots > 1 and e.type == "64":
                    return False
                if e.tups and e.tup_end:
                    return False
    depth = 0
    for b in line.bars:
        for v in b.voices:
            for e in v:
                depth += len(e.tups)
                if depth > 1:
                    return False
                depth -= e.tup_end
    return True


def pitch(dp):
    n, o = "CDEFGAB"[dp % 7], dp // 7
    return n + "," * (4 - o) if o <= 4 else n.lower() + "'" * (o - 5)


def length(e):
    base = F(2) if e.type == "breve" else F(1, int(e.type))
    v = base * {0: 1, 1: F(3, 2), 2: F(7, 4)}[e.dots] * 4
    return "" if v == 1 else (str(v.numerator) if v.numerator != 1 or v.denominator == 1 else "") + (f"/{v.denominator}" if v.denominator > 1 else "")


def note(e, ln=None):
    ln = length(e) if ln is None else ln
    hs = sorted(e.heads, key=lambda h: h.dp)
    one = [ACC.get(h.acc, "") + pitch(h.dp) for h in hs]
    if len(hs) == 1:
        return one[0] + ln + ("-" if hs[0].tie else "")
    return "[" + "".join(o + ("-" if h.tie else "") for o, h in zip(one, hs)) + "]" + ln


def event(e, v, k, road):
    s = ""
    if e.clef_before:
        s += f" [K:clef={CLEF[e.clef_before]}]"
    for t in e.tups:
        n, depth = 0, 0
        for x in v[k:]:
            n += 1
            depth += len(x.tups) - x.tup_end
            if depth == 0:
                break
        s += f"({t.num}:{t.base}:{n}"
    if e.graces:
        s += "{" + ("/" if e.graces[0].slash else "") + "".join(note(g, "") for g in e.graces) + "}"
    if road:
        s += f"!{road}!"
    if e.ott_start:
        s += f"!{e.ott_start[:3]}(!"
    if e.hair_end:
        s += "!crescendo)!" if e.open_hair == "cresc" else "!diminuendo)!"
    s += "".join(f"!{d}!" for d in e.dyn)
    if e.hair_start:
        s += "!crescendo(!" if e.hair_start == "cresc" else "!diminuendo(!"
    if e.ott_end:
        s += f"!{e.open_ott[:3]})!"
    if e.slur_start:
        s += "("
    s += "".join(DECO[m] for m in sorted(e.marks))
    if e.orn:
        s += ORN[e.orn]
    if e.trem:
        s += "!" + "/" * e.trem + "!"
    for h in e.heads:
        if h.finger is not None:
            s += f"!{h.finger}!"
    if e.breath:
        s += "!breath!"
    s += ("Z" if e.full_bar else "z" + length(e)) if e.rest else note(e)
    if e.slur_end:
        s += ")"
    joined = k + 1 < len(v) and e.beam is not None and v[k + 1].beam == e.beam
    return s + ("" if joined else " ")


def breaks(line, rng):
    """Bars that may begin a system, spaced so that a system is comfortably full."""
    # This library can't carry a slur over a system's end in our build: no system ends inside a slur, tie, hairpin or volta.
    spans, volta, tied = 0, False, 0
    per, out, n, k0 = rng.uniform(17, 30), [0], 0, 0
    for k, b in enumerate(line.bars):
        evs = b.voices[0] if b.voices else []
        size = max(3, len(evs) + sum(len(e.graces) for e in evs) * .6 + sum(bool(h.acc) for e in evs for h in e.heads) * .4)
        if k and n + size > per and not (b.clef or b.key is not None or b.metre) and spans == 0 and not volta:
            out.append(k)
            n = 0
        n += size
        if b.volta:
            volta = True
        if b.volta_end:
            volta = False
        for e in evs:
            spans += bool(e.hair_start) - bool(e.hair_end) + bool(e.ott_start) - bool(e.ott_end) + e.slur_start - e.slur_end
            spans += sum(h.tie for h in e.heads) - tied
            tied = sum(h.tie for h in e.heads)
    return out


def page(rng, nsystems=9):
    """ABC text of one page and, for every system, its three streams as (bar, label) lists."""
    while True:
        line = Gen(rng, rng.random() ** 1.3, OFF).line(44)
        if suits(line):
            break
    plain(line)
    line.bars[-1].right = "final"
    seq = [e for b in line.bars for v in b.voices for e in v]
    hair = ott = None
    for e in seq:
        e.open_hair = e.open_ott = None
        if e.hair_end:
            e.open_hair, hair = hair, None
            if not e.open_hair:
                e.hair_end = False
        if e.ott_start:
            ott = e.ott_start
        if e.ott_end:
            e.open_ott, ott = ott, None
            if not e.open_ott:
                e.ott_end = False
        hair = e.hair_start or hair
    sound_ties(line)
    over = None
    for b in line.bars:
        # No slur over a rest of several bars.
        if b.mrest and over is not None:
            over.slur_start, over = False, None
        for e in (b.voices[0] if b.voices else []):
            if e.slur_end and over is None:
                e.slur_end = False
            if e.slur_end:
                over = None
            if e.slur_start:
                over = e
    for k, b in enumerate(line.bars):
        # Every volta is closed where its last bar ends, and a volta's end needs a sign that closes it.
        if b.volta_end and b.right in ("single", "rep_start"):
            b.right = "double"
    starts = breaks(line, rng)[:nsystems + 1]
    ends = starts[1:] + ([len(line.bars)] if len(starts) <= nsystems else [])
    starts = starts[:len(ends)]
    stretch = rng.choice([1, 1, 0])
    m = line.metre
    text = ["%%measurenb -1", f"%%stretchlast {stretch}", "%%cancelkey 0", f"%%slurheight {rng.uniform(.7, 1.3):.2f}",
            f"%%graceslurs 0", "X:1", "M:" + ("C" if m == "C" else "C|" if m == "cut" else f"{m[0]}/{m[1]}"), "L:1/4",
            f"K:{KEYS[line.key + 7]} clef={CLEF[line.clef]}"]
    clef, key, metre = line.clef, line.key, line.metre
    moved = 0
    systems = []
    invol = False
    for si, (a, z) in enumerate(zip(starts, ends)):
        A, B, C = [(a, L.row("clef:" + clef))], [], []
        if key:
            A.append((a, L.key_row(key)))
        if a == 0:
            A.append((a, L.metre_row(metre)))
        s = ""
        if a and line.bars[a - 1].right in ("rep_start", "rep_both"):
            s += "|:"
            A.append((a, L.row("bar:rep_start")))
        for k in range(a, z):
            b = line.bars[k]
            if k > a:
                if b.clef:
                    s += f"[K:clef={CLEF[b.clef]}] "
                    clef = b.clef
                    bl = A.pop()
                    A += [(bl[0], L.row("clef:" + clef)), bl]
                if b.key is not None:
                    key = b.key
                    s += f"[K:{KEYS[key + 7]}] "
                    A.append((k, L.key_row(key)))
                if b.metre:
                    metre = b.metre
                    s += "[M:" + ("C" if metre == "C" else "C|" if metre == "cut" else f"{metre[0]}/{metre[1]}") + "] "
                    A.append((k, L.metre_row(metre)))
            if b.volta:
                num = {"v1": "1", "v2": "2", "v3": "3", "v4": "4", "v12": "1,2", "v123": "1,2,3", "v34": "3,4"}[b.volta]
                s += f"[{num} "
                B.append((k, L.ROAD_ID[b.volta]))
                invol = True
            if b.mrest:
                s += f"Z{b.mrest} "
                A.append((k, L.mrest_row(b.mrest)))
            v = b.voices[0] if b.voices else []
            for q, e in enumerate(v):
                road = b.road if q == 0 and not e.full_bar else None
                if e.full_bar:
                    e.breath = e.orn = None
                s += event(e, v, q, road)
                clef = e.clef_before or clef
                if e.clef_before:
                    A.append((k, L.row("clef:" + clef)))
                # The engraver prints what stands under an ottava an octave off by itself: from the note that begins it (not
                # that note's grace notes) to the one before the note that ends it. Seen in its drawing's numbers.
                for x in e.graces + [e]:
                    if x is e:
                        moved = {"8va": -7, "8vb": 7}.get(e.ott_start, 0 if e.ott_end else moved)
                    A += [(k, r) for r in L.event_rows(at(x, moved), clef)]
                if road:
                    B.append((k, L.ROAD_ID[road]))
                if e.ott_start:
                    B.append((k, L.ROAD_ID[e.ott_start]))
                if e.ott_end:
                    B.append((k, L.ROAD_ID["ott_end"]))
                if e.breath:
                    B.append((k, L.ROAD_ID["breath"]))
                if e.hair_end:
                    C.append((k, L.DYN_ID[e.open_hair + "_end"]))
                C += [(k, L.DYN_ID[d]) for d in e.dyn]
                if e.hair_start:
                    C.append((k, L.DYN_ID[e.hair_start]))
            kind = b.right
            if k == z - 1:
                kind = {"rep_start": "single", "rep_both": "rep_end"}.get(kind, kind)
            s += {"single": "|", "double": "||", "final": "|]", "rep_start": "|:", "rep_end": ":|", "rep_both": "::"}[kind] + " "
            A.append((k, L.row("bar:" + kind)))
            if b.volta_end and invol:
                B.append((k, L.ROAD_ID["vend"]))
                invol = False
        text.append(s)
        systems.append((A, B, C))
    return "\n".join(text) + "\n", as_drawn(systems)


def at(ev, steps):
    """The event with its heads so many places higher."""
    if steps and not ev.rest:
        ev = copy.deepcopy(ev)
        for h in ev.heads:
            h.dp += steps
    return ev


def as_drawn(systems):
    """Two habits of this engraver, told as it prints them: a bar that holds one rest shows the whole rest, and a
    system before one that opens with a repeat ends in a double bar."""
    whole, dur, dots = L.ATTR_ID["dur"]["1"], L.ATTR_COL["dur"], L.ATTR_COL["dots"]
    for si, (A, _, _) in enumerate(systems):
        for k in {k for k, _ in A}:
            timed = [r for q, r in A if q == k and (L.MAIN[r[0]].startswith("n") or L.MAIN[r[0]] in ("rest", "mrest"))]
            if len(timed) == 1 and L.MAIN[timed[0][0]] == "rest":
                timed[0][dur], timed[0][dots] = whole, 0
        if si + 1 < len(systems) and L.MAIN[A[-1][1][0]] == "bar:single":
            nxt = [L.MAIN[r[0]] for _, r in systems[si + 1][0][:4]]
            if "bar:rep_start" in nxt:
                A[-1][1][0] = L.MAIN_ID["bar:double"]
    return systems


def crops(png, expect):
    """The straight systems of a clean screenshot, ten pixels per staff space."""
    g = cv2.imread(png, 0)
    if g is None:
        return None
    g = 255 - g
    rows = np.nonzero((g > 45).sum(1) > .3 * g.shape[1])[0]
    lines = []
    for r in rows:
        if lines and r - lines[-1][-1] <= 2:
            lines[-1].append(r)
        else:
            lines.append([r])
    ys = [float(np.mean(x)) for x in lines]
    staves, i = [], 0
    while i + 4 < len(ys):
        d = np.diff(ys[i:i + 5])
        if d.max() - d.min() < 2.5 and 4 < d.mean() < 30:
            staves.append((ys[i], ys[i + 4]))
            i += 5
        else:
            i += 1
    if len(staves) != expect:
        return None
    out = []
    for a, b in staves:
        sp = (b - a) / 4
        k = 10 / sp
        mid = (a + b) / 2
        r = int(round(a))
        xs = np.nonzero(g[r - 1:r + 2].max(0) > 60)[0]
        x0, x1 = max(0, xs[0] - int(1.5 * sp)), min(g.shape[1], xs[-1] + int(1.5 * sp))
        M = np.array([[k, 0, -x0 * k], [0, k, CENTRE - mid * k]], np.float32)
        big = cv2.warpAffine(cv2.GaussianBlur(g, (0, 0), max(.01, .45 / k)) if k < 1 else g, M, (int((x1 - x0) * k), HEIGHT), flags=cv2.INTER_LINEAR)
        out.append(big)
    return out


def whole(im):
    """Has the crop its left part? A whole one begins with empty paper, one and a half spaces of it; staff lines at its edge say that our cutting lost some."""
    edge = [int(im[r - 1:r + 2, :3].max()) for r in range(CENTRE - 20, CENTRE + 21, 10)]
    return sorted(edge)[2] <= 60


def build(lib, out, pages=210, seed=77, per=2):
    here = os.path.dirname(os.path.abspath(__file__))
    ims, labs, page_of, lost, cut = [], [], [], 0, 0
    with tempfile.TemporaryDirectory() as d:
        rng = random.Random(seed)
        todo = []
        while len(todo) < pages:
            try:
                p = page(random.Random(rng.getrandbits(50)))
            except KeyError:  # an ottava moved a head farther than the reader has names for
                lost += 1
                continue
            open(f"{d}/p.abc", "w").write("%abc-2.2\n" + p[0])
            r = subprocess.run(["node", f"{here}/abc_pages.js", lib, f"{d}/p.abc", f"{d}/p.html"], capture_output=True, text=True)
            if r.returncode or "rror" in r.stderr or open(f"{d}/p.html").read().count("<svg") != len(p[1]):
                lost += 1           # the library itself could not set this page, or complained
                why = [x for x in r.stderr.split("\n") if "rror" in x]
                print("not set:", why[:2], flush=True)
                continue
            todo.append(p)
        for i in range(0, pages, per):
            text = "\n".join(t for t, _ in todo[i:i + per])
            want = [s for _, ss in todo[i:i + per] for s in ss]
            pg = [i + q for q, (_, ss) in enumerate(todo[i:i + per]) for _ in ss]
            open(f"{d}/p.abc", "w").write("%abc-2.2\n" + text)
            r = subprocess.run(["node", f"{here}/abc_pages.js", lib, f"{d}/p.abc", f"{d}/p.html"], capture_output=True, text=True)
            subprocess.run(["chromium", "--headless", "--no-sandbox", "--hide-scrollbars", "--force-device-scale-factor=1.8", f"--window-size=820,{330 + 155 * len(want)}",
                            f"--screenshot={d}/p.png", f"file://{d}/p.html"], capture_output=True, timeout=120)
            got = crops(f"{d}/p.png", len(want))
            if got is None:
                lost += per
                print("page group", i, "staves do not match", len(want), r.stderr[:200], flush=True)
                if os.environ.get("KEEP"):
                    os.system(f"cp {d}/p.* {os.environ['KEEP']}")
                continue
            keep = [q for q, im in enumerate(got) if whole(im)]
            cut += len(got) - len(keep)
            ims += [got[q] for q in keep]
            labs += [want[q] for q in keep]
            page_of += [pg[q] for q in keep]
            print(i, len(ims), r.stderr[:100].replace("\n", " "), flush=True)
    save(out, ims, labs, page_of)
    print("systems", len(ims), "pages", len(set(page_of)), "lost", lost, "cut off at the left", cut)


def save(path, ims, labs, page_of):
    """Ragged arrays in one file: pictures as PNG bytes, labels as rows with their bar."""
    png = [cv2.imencode(".png", i)[1].tobytes() for i in ims]
    np.savez(path, png=np.frombuffer(b"".join(png), np.uint8), plen=np.array([len(p) for p in png]), page=np.array(page_of),
             a=np.concatenate([np.stack([r for _, r in A]) for A, _, _ in labs]), abar=np.concatenate([[b for b, _ in A] for A, _, _ in labs]),
             alen=np.array([len(A) for A, _, _ in labs]),
             b=np.array([r for _, B, _ in labs for _, r in B], int), bbar=np.array([k for _, B, _ in labs for k, _ in B], int), blen=np.array([len(B) for _, B, _ in labs]),
             c=np.array([r for _, _, C in labs for _, r in C], int), cbar=np.array([k for _, _, C in labs for k, _ in C], int), clen=np.array([len(C) for _, _, C in labs]))


if __name__ == "__main__":
    build(sys.argv[1], sys.argv[2], int(sys.argv[3]) if len(sys.argv) > 3 else 210, int(sys.argv[4]) if len(sys.argv) > 4 else 77)
