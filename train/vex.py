"""What does the second foreign engraver make of our line? Its library runs in an embedded script engine;
we replay its strokes on our canvas and build the events from the things it placed."""

import json
import os

import numpy as np

import labels as L
from canvas import BOTTOM, EDGE, TOP, Canvas
from glyphs import DATA, HERE, font

OFF_FEATURES = {"after_grace", "bare_tuplet", "voice2", "heads", "trill_line", "arpeggio", "grace_slur_free"}
_JS = None


def engine():
    global _JS
    if _JS is None:
        from py_mini_racer import MiniRacer
        _JS = MiniRacer()
        _JS.eval("var self=globalThis, module={exports:{}}, exports=module.exports;")
        _JS.eval(open(os.path.join(DATA, "js", "vexflow.js")).read())
        _JS.eval(open(os.path.join(HERE, "vex.js")).read())
    return _JS


def simple(line):
    """What this engraver can't do is taken off the line."""
    for b in line.bars:
        if b.right == "dashed":
            b.right = "single"
        b.bar_fermata = False
        for v in b.voices:
            for e in v:
                if e.orn == "invturn":
                    e.orn = "turn"
                if e.rest:
                    e.marks &= {"fermata"}
                    e.graces = []
                if e.type == "breve":
                    e.trem = 0
                if e.trem and e.type == "1":
                    e.trem = 0
                e.breath = e.breath
                for g in e.graces:
                    if g.type == "4":
                        g.type = "8"
                    g.slash = bool(g.slash and g.type in ("8", "16"))
                if e.graces:
                    # The grace group's slash stands on single notes only.
                    if len(e.graces) > 1:
                        e.graces[0].slash = False
    seq = [e for b in line.bars for v in b.voices for e in v]
    for e in seq:
        e.ott_start = e.ott_start if e.ott_start else None
    return line


def encode(rng, line, fontname):
    from music import F  # noqa: F401  (exact durations stay on this side)
    u = rng.uniform
    ids, bars, in_v = {}, [], False

    def head(h):
        return dict(dp=h.dp, acc=h.acc, paren=h.paren, tie=h.tie, finger=h.finger)

    def ev(e):
        i = len(ids)
        ids[i] = e
        return dict(id=i, rest=e.rest, type=e.type, dots=e.dots, heads=[head(h) for h in sorted(e.heads, key=lambda h: h.dp)], marks=sorted(e.marks),
                    orn=e.orn, ornacc=e.ornacc, trem=e.trem, grace=e.grace, slash=e.slash, full=e.full_bar, clef=e.clef_before,
                    graces=[dict(ev(g), slur=g.slur_start) for g in e.graces], slurStart=e.slur_start, slurEnd=e.slur_end and not getattr(e, "grace_slur", False),
                    dyn=e.dyn, hairStart=e.hair_start, hairEnd=e.hair_end, breath=e.breath, ottStart=e.ott_start, ottEnd=e.ott_end)
    for b in line.bars:
        v = b.voices[0] if b.voices else []
        beams, tups, stack = [], [], []
        k = 0
        while k < len(v):
            j = k
            while v[k].beam is not None and j + 1 < len(v) and v[j + 1].beam == v[k].beam:
                j += 1
            g = [q for q in range(k, j + 1) if not v[q].rest]
            if j > k and len(g) > 1:
                beams.append(g)
            k = j + 1
        for k, e in enumerate(v):
            for t in e.tups:
                stack.append((t, k))
            for _ in range(e.tup_end):
                t, a = stack.pop()
                beamed = all(x.beam is not None and x.beam == v[a].beam for x in v[a:k + 1])
                tups.append(dict(a=a, z=k, num=t.num, base=t.base, bracket=not beamed or rng.random() < .15, ratio=False))
        if b.volta:
            in_v = True
        text = {"v1": "1.", "v2": "2.", "v3": "3.", "v4": "4.", "v12": "1. 2.", "v123": "1. 2. 3.", "v34": "3. 4.", None: ""}[b.volta]
        bars.append(dict(clef=b.clef, key=b.key, cancel=b.cancel, metre=b.metre, right=b.right, volta=b.volta, voltaEnd=b.volta_end and in_v, inVolta=in_v,
                         voltaText=text, road=b.road, mrest=b.mrest, mrepeat=b.mrepeat, evs=[ev(e) for e in v], beams=beams, tups=tups))
        if b.volta_end:
            in_v = False
    style = dict(font=fontname, width=min(148, max(60, rng.gauss(104, 18))), density=u(1.0, 1.9), softmax=rng.choice([5, 10, 15, 30]), firstBar=rng.random() < .4,
                 centreRest=True, marcUp=rng.random() < .7, artFlip=rng.random() < .08, beamW=u(4.2, 5.8), slope=u(.05, .35), flat=rng.random() < .15, tupLoc=0,
                 justifyLast=rng.random() < .5, voltaY=u(-25, 0), roadY=u(-25, 0), barNumbers=rng.random() < .3, mrestSymbols=rng.random() < .4, mrestLine=-u(.2, 1.2),
                 mrestThick=u(5, 12), mrestNum=u(30, 40), slurH=u(.6, 1.5), slurT=u(1.2, 3), slurGap=u(5, 13), dynY=u(22, 45), dynX=u(-4, 4), dynLine=rng.random() < .5,
                 dynSize=u(34, 46), hairH=u(7, 13), hairW=u(.8, 1.8), hairEnd=u(-6, 8), hairStart=u(-2, 8), hairMin=u(12, 38), ottLine=u(1, 3.5))
    return dict(clef=line.clef, key=line.key, metre=line.metre, startRepeat=line.start_repeat, bars=bars, style=style), ids


def generate(rng, line, fontname):
    simple(line)
    data, ids = encode(rng, line, fontname)
    js = engine()
    out = json.loads(js.eval(f"layout({json.dumps(data)})"))
    res = []
    text = rng.choice(["LiberationSerif-Regular", "edwin-roman", "academico", "LiberationSans-Regular"])
    weight = rng.uniform(.7, 1.6)
    clef = line.clef
    for s in out:
        r, clef = system(rng, s, ids, text, weight, clef)
        res.append(r)
    return res


def inside(q, y0):
    """Is a sign of the streams B and C, whose bounds are told, in the picture?"""
    if len(q) < 4:
        return True
    a, b = (q[2] - y0) / 10, (q[3] - y0) / 10
    return min(b, BOTTOM - EDGE) - max(a, TOP + EDGE) >= .75 * (b - a)


def outside(op, y0):
    """Did a stroke of something else leave the picture by more than half?"""
    if op[0] == "t":
        return not TOP + EDGE <= (op[3] - y0) / 10 <= BOTTOM - EDGE + 1
    ys = [y for p in (op[1] if op[0] == "f" else [op[2]]) for y in p[1::2]]
    a, b = (min(ys) - y0) / 10, (max(ys) - y0) / 10
    return min(b, BOTTOM - EDGE) - max(a, TOP + EDGE) < .6 * (b - a)


def system(rng, s, ids, text, weight, clef):
    margin = rng.uniform(0, 2.5)
    y0 = s["y0"]
    cv = Canvas(s["x1"] / 10 + margin + rng.uniform(.5, 3), x0=-margin)
    for op in s["ops"]:
        if op[0] == "f":
            cv.fill([(np.array(p).reshape(-1, 2) - (0, y0)) / 10 for p in op[1]])
        elif op[0] == "s":
            pts = (np.array(op[2]).reshape(-1, 2) - (0, y0)) / 10
            w = op[1] * weight / 10
            for a, b in zip(pts, pts[1:]):
                if op[3]:
                    n = np.hypot(*(b - a))
                    q = 0.0
                    on = op[3][0] / 10
                    while q < n:
                        cv.line(*(a + (b - a) * q / n), *(a + (b - a) * min(n, q + on) / n), max(w, .08))
                        q += on * 2
                else:
                    cv.line(*a, *b, max(w, .06))
        else:
            _, t, x, y, size, italic, bold = op
            f = font("edwin-italic" if italic else text)
            px = x / 10
            for ch in t:
                gl = f.glyph(ord(ch))
                if gl:
                    cv.glyph(gl, px, (y - y0) / 10, size / 40)
                    px += gl[5] * size / 40
    A = []
    for kind, v, z, x in s["tokens"]:
        x = x / 10 + margin
        if kind == "clef":
            clef = v
            A.append((x, L.row("clef:" + v)))
        elif kind == "key":
            A.append((x, L.key_row(v, z)))
        elif kind == "metre":
            A.append((x, L.metre_row(v if isinstance(v, str) else tuple(v))))
        elif kind == "bar":
            A.append((x, L.row("bar:" + v)))
        elif kind == "mrest":
            A.append((x, L.mrest_row(v)))
        elif kind == "mrepeat":
            A.append((x, L.row("mrepeat")))
        else:
            e = ids[v] if kind == "ev" else ids[v].graces[z]
            A += [(x, r) for r in L.event_rows(e, clef)]
    f = lambda t, ids: [(q[1] / 10 + margin, ids[q[0]]) for q in sorted(t, key=lambda q: q[1]) if inside(q, y0)]
    if any(outside(op, y0) for op in s["ops"]):
        return None, clef
    return (cv.image(), A, f(s["B"], L.ROAD_ID), f(s["C"], L.DYN_ID), margin), clef
