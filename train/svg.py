"""What did the first foreign engraver draw, and does it say what we asked for?

Reads its SVG system by system into a canvas, and takes the events *from the drawing*:
clefs, keys, metres and barlines are decoded from their glyphs, note places are checked
against our own reckoning, and a tie, slur or hairpin counts only where it was drawn.
"""

import re

import numpy as np
from fontTools.pens.recordingPen import DecomposingRecordingPen, RecordingPen
from fontTools.svgLib.path import parse_path
from lxml import etree

import labels as L
from canvas import Canvas
from glyphs import flatten, font, variation, varied

UNIT = 180.0
NUM = re.compile(r"-?\d+(?:\.\d+)?")
GLYPHS = {}
XL = "{http://www.w3.org/1999/xlink}href"


class Unsure(Exception):
    """The drawing and our reckoning disagree: the system is left out."""


def outline(fontname, code, d):
    k = (fontname, code)
    if k not in GLYPHS:
        pen = RecordingPen()
        parse_path(d, pen)
        GLYPHS[k] = [p * np.array([.004, -.004]) for p in flatten(pen.value)]
    return GLYPHS[k]


class Page:
    def __init__(self, svg, fontname, writer, textfont, other=(), rng=None):
        """`other`: fonts whose outlines stand in for the engraver's own, code point by code point; with `rng` shapes vary too."""
        self.w, self.font, self.text, self.other, self.rng = writer, fontname, textfont, other, rng
        self.vary = rng.uniform(.3, 1.2) if rng and rng.random() < .6 else 0
        root = etree.fromstring(svg.encode())
        ns = "{http://www.w3.org/2000/svg}"
        self.defs = {}
        for g in root.iter(ns + "g"):
            i = g.get("id", "")
            if re.match(r"^[EF][0-9A-F]{3}-", i):
                self.defs[i[:4]] = self.shape(i[:4], self.swapped(i[:4]) or outline(fontname, i[:4], g[0].get("d")))
        self.systems = [g for g in root.iter(ns + "g") if g.get("class", "").split(" ")[0] == "system"]
        for e in root.iter():
            if isinstance(e.tag, str):
                e.tag = e.tag.replace(ns, "")

    def swapped(self, code):
        g = font(self.rng.choice(self.other)).glyph(int(code, 16)) if self.other else None
        return g[0] if g and g[0] else None

    def shape(self, code, polys):
        """The outline as this page has it: heads, flags and clefs change about their origin, all else about its middle."""
        if not self.vary or not polys:
            return polys
        c, a = int(code, 16), np.concatenate(polys)
        lo, hi = a.min(0), a.max(0)
        fixed = 0xE050 <= c <= 0xE07F or 0xE0A0 <= c <= 0xE0FF or 0xE240 <= c <= 0xE25F
        return varied((polys, *lo, *hi, 0.0), variation(self.rng, c, self.vary), None if fixed else tuple((lo + hi) / 2))[0]

    def drawn_ids(self, g):
        return {i for i in map(ident, g.iter("g")) if i}


def ident(e):
    """The id of what is drawn; a part that goes on in the next system names it in its class."""
    i = e.get("id")
    if i is None:
        i = next((c[3:] for c in e.get("class", "").split(" ") if c.startswith("id-")), None)
    return i


class Drawer:
    """Draws one system; `box` gathers the bounds of whatever is being drawn."""

    def __init__(self, page, g, rng):
        self.p, self.rng = page, rng
        lines = [e for st in g.iter("g") if st.get("class") == "staff" for e in st if e.tag == "path"]
        ys = sorted({NUM.findall(e.get("d"))[1] for e in lines}, key=float)
        if len(ys) != 5:
            raise Unsure("staff lines")
        self.y0 = float(ys[2])
        xs = [float(v) for e in lines for v in (NUM.findall(e.get("d"))[0], NUM.findall(e.get("d"))[2])]
        self.x0, self.x1 = min(xs), max(xs)
        self.margin = rng.uniform(.6, 4)
        self.cv = Canvas((self.x1 - self.x0) / UNIT + self.margin + rng.uniform(.6, 4), x0=-self.margin)
        self.box = [1e9, -1e9]
        self.turn = None

    def pt(self, x, y):
        return (x - self.x0) / UNIT, (y - self.y0) / UNIT

    def grow(self, x0, x1):
        self.box[0], self.box[1] = min(self.box[0], x0), max(self.box[1], x1)

    def draw(self, e):
        """Everything under `e`."""
        t = e.tag
        if t == "g":
            c = e.get("class", "")
            if "placeholder" in c or "mNum" == c and False:
                return
            turn = e.get("transform", "")
            save, self.turn = self.turn, NUM.findall(turn) if turn.startswith("rotate(-90") else self.turn
            for k in e:
                self.draw(k)
            self.turn = save
        elif t == "use":
            self.use(e)
        elif t == "path":
            self.path(e)
        elif t in ("polygon", "polyline"):
            v = [float(x) for x in NUM.findall(e.get("points"))]
            pts = np.array([self.pt(a, b) for a, b in zip(v[::2], v[1::2])])
            self.grow(pts[:, 0].min(), pts[:, 0].max())
            if t == "polygon":
                self.cv.fill([pts])
            else:
                w = float(e.get("stroke-width", 18)) / UNIT
                for a, b in zip(pts, pts[1:]):
                    self.cv.line(*a, *b, w)
        elif t == "rect":
            x, y = self.pt(float(e.get("x")), float(e.get("y")))
            w, h = float(e.get("width")) / UNIT, float(e.get("height")) / UNIT
            self.cv.rect(x, y, x + w, y + h)
            self.grow(x, x + w)
        elif t == "ellipse":
            x, y = self.pt(float(e.get("cx")), float(e.get("cy")))
            a = np.linspace(0, 6.2832, 13)[:-1]
            r = float(e.get("rx")) / UNIT
            self.cv.fill([np.stack([x + r * np.cos(a), y + r * np.sin(a)], 1)])
        elif t == "text":
            self.words(e)

    def use(self, e):
        code = e.get(XL)[1:5]
        v = [float(x) for x in NUM.findall(e.get("transform"))]
        x, y = self.pt(v[0], v[1])
        s = v[2] / .72
        polys = [q * s + (x, y) for q in self.p.defs[code]]
        if self.turn:
            # A quarter turn about a point: the wave of a broken chord stands upright.
            cx, cy = self.pt(float(self.turn[1]), float(self.turn[2]))
            polys = [np.stack([cx + q[:, 1] - cy, cy - q[:, 0] + cx], 1) for q in polys]
        self.cv.fill(polys)
        if polys:
            self.grow(min(q[:, 0].min() for q in polys), max(q[:, 0].max() for q in polys))

    def path(self, e):
        d = e.get("d")
        w = float(e.get("stroke-width", 0)) / UNIT
        if "C" in d or "c" in d:
            pen = RecordingPen()
            parse_path(d, pen)
            polys = [np.array([self.pt(*q) for q in p]) for p in flatten(pen.value, 12)]
            if e.get("fill") == "none":
                for p in polys:
                    for a, b in zip(p, p[1:]):
                        self.cv.line(*a, *b, w)
            else:
                self.cv.fill(polys)
                for p in polys:
                    for a, b in zip(p, p[1:]):
                        self.cv.line(*a, *b, max(w, .04))
            for p in polys:
                self.grow(p[:, 0].min(), p[:, 0].max())
            return
        v = [float(x) for x in NUM.findall(d)]
        pts = [self.pt(a, b) for a, b in zip(v[::2], v[1::2])]
        dash = e.get("stroke-dasharray")
        for a, b in zip(pts, pts[1:]):
            self.grow(min(a[0], b[0]), max(a[0], b[0]))
            if dash:
                on, off = [float(x) / UNIT for x in NUM.findall(dash)][:2]
                a, b = np.array(a), np.array(b)
                n = np.hypot(*(b - a))
                s = 0.0
                while s < n:
                    self.cv.line(*(a + (b - a) * s / n), *(a + (b - a) * min(n, s + on) / n), w)
                    s += on + off
            else:
                self.cv.line(*a, *b, w)

    def words(self, e):
        x, y = float(e.get("x", 0)), float(e.get("y", 0))
        runs = []
        for t in e.iter("tspan"):
            if t.text and t.text.strip():
                size = t.get("font-size") or next((a.get("font-size") for a in t.iterancestors() if a.get("font-size", "0px") != "0px"), "400px")
                runs.append((t.text.strip("\n"), float(size[:-2]), any("Bravura" in (a.get("font-family") or "") or self.p.font in (a.get("font-family") or "") for a in [t, *t.iterancestors()])))
                if t.get("x"):
                    x, y = float(t.get("x")), float(t.get("y", y))
        px, py = self.pt(x, y)
        glyphs = []
        for s, size, mus in runs:
            k = size / 720
            for ch in s:
                f = font(self.p.font.lower() if ord(ch) >= 0xE000 else self.p.text)
                gl = f.glyph(ord(ch))
                if gl:
                    glyphs.append((gl, k))
        w = sum(g[5] * k for g, k in glyphs)
        anchor = e.get("text-anchor", "start")
        px -= {"middle": w / 2, "end": w}.get(anchor, 0)
        self.grow(px, px + w)
        for gl, k in glyphs:
            self.cv.glyph(gl, px, py, k)
            px += gl[5] * k


def uses(g):
    """(code, x, y, scale) of each glyph under g."""
    out = []
    for u in g.iter("use"):
        v = [float(x) for x in NUM.findall(u.get("transform"))]
        out.append((u.get(XL)[1:5], v[0], v[1], v[2]))
    return out


SHAPE = {"E050": "G", "E052": "Gv", "E053": "G^", "E05C": "C", "E062": "F", "E064": "Fv", "E07A": "G", "E07B": "C", "E07C": "F",
         "E069": "perc", "E055": "G"}


def clef_of(g, y0):
    u = uses(g)
    if not u:
        return None
    code, _, y, _ = u[0]
    s = SHAPE[code]
    if s == "perc":
        return "perc"
    return f"{s[0]}{round((y0 - y) / UNIT) + 3}{s[1:]}"


def key_of(g):
    codes = [c for c, *_ in uses(g)]
    n, f, s = (codes.count(c) for c in ("E261", "E260", "E262"))
    if not codes:
        return None
    return L.key_row(s - f, n > 0)


def metre_of(g, y0):
    u = uses(g)
    if not u:
        return None
    if u[0][0] in ("E08A", "E08B"):
        return L.metre_row("C" if u[0][0] == "E08A" else "cut")
    top = "".join(str(int(c, 16) - 0xE080) for c, x, y, _ in sorted(u, key=lambda t: t[1]) if y < y0)
    bot = "".join(str(int(c, 16) - 0xE080) for c, x, y, _ in sorted(u, key=lambda t: t[1]) if y > y0)
    return L.metre_row((int(top), int(bot)))


BARPAT = {"|": "single", "||": "double", "|#": "final", "#|:": "rep_start", ":|#": "rep_end", ":|#|:": "rep_both", ":##:": "rep_both",
          ":#:": "rep_both", ":||:": "rep_both", "!": "dashed", ":#|#:": "rep_both"}


def bar_of(g):
    parts = {}
    for p in g.iter("path"):
        x = float(NUM.findall(p.get("d"))[0])
        parts[x] = "!" if p.get("stroke-dasharray") else ("#" if float(p.get("stroke-width")) > 45 else "|")
    for c, x, y, _ in uses(g):
        parts[x] = ":"
    for q in g.iter("ellipse"):
        parts[float(q.get("cx"))] = ":"
    s = "".join(parts[x] for x in sorted(parts))
    if not s:
        return None
    if s not in BARPAT:
        raise Unsure(f"barline {s}")
    return BARPAT[s]


def systems(page, rng):
    """(picture, A, B, C, margin) for each system of the page; a system in doubt is skipped."""
    seen = {}
    for g in page.systems:
        for i in page.drawn_ids(g):
            if i in page.w.controls:
                seen.setdefault(i, []).append(g)
    out = []
    clef = page.clef
    for g in page.systems:
        try:
            r, clef = one(page, g, rng, clef, seen)
            out.append(r)
        except Unsure as u:
            out.append(None)
            page.unsure.append(str(u))
            clef = next((c for c in reversed([clef_of(x, clef_y(g)) for x in g.iter("g") if x.get("class") == "clef"]) if c), clef)
    page.clef = clef
    return out


def clef_y(g):
    lines = [e for st in g.iter("g") if st.get("class") == "staff" for e in st if e.tag == "path"]
    ys = sorted({NUM.findall(e.get("d"))[1] for e in lines}, key=float)
    return float(ys[len(ys) // 2])


def one(page, g, rng, clef, seen):
    d = Drawer(page, g, rng)
    w = page.w
    here = page.drawn_ids(g)
    A, B, C = [], [], []
    state = {"clef": clef}

    def emit(x, r, key=None):
        A.append((x if key is None else key, x, r))

    def boxed(e):
        """Draws; the bounds from left to right. What was drawn is in `state["ink"]`."""
        save, d.box = d.box, [1e9, -1e9]
        with d.cv.watch() as state["ink"]:
            d.draw(e)
        b, d.box = d.box, save
        return b

    def walk(e):
        cls, i = e.get("class", "").split(" ")[0], ident(e)
        if e.tag != "g":
            d.draw(e)
            return
        if "placeholder" in e.get("class", ""):
            return
        if cls in ("tempo", "dir", "reh"):
            boxed(e)
        elif cls == "clef":
            c = clef_of(e, d.y0)
            b = boxed(e)
            if c:
                if c not in L.CLEF_BOTTOM:
                    raise Unsure("clef " + c)
                state["clef"] = c
                emit(sum(b) / 2, L.row("clef:" + c), b[0])
        elif cls == "keySig":
            r = key_of(e)
            b = boxed(e)
            if r is not None:
                emit(sum(b) / 2, r, b[0])
        elif cls == "meterSig":
            r = metre_of(e, d.y0)
            b = boxed(e)
            if r is not None:
                emit(sum(b) / 2, r, b[0])
        elif cls == "barLine":
            k = bar_of(e)
            b = boxed(e)
            if k:
                emit(sum(b) / 2, L.row("bar:" + k), b[0])
        elif cls == "multiRest":
            b = boxed(e)
            emit(sum(b) / 2, L.mrest_row(w.events[i].mrest), b[0])
        elif cls == "mRpt":
            b = boxed(e)
            emit(sum(b) / 2, L.row("mrepeat"), b[0])
        elif i in w.events:
            event(e, w.events[i], i)
        elif cls == "ending":
            volta(e, i)
        elif i in w.controls:
            control(e, i)
        elif cls in ("tupletNum", "tupletBracket"):
            b = boxed(e)
            if b[1] >= b[0] and not state["ink"].seen():
                raise Unsure("outside the picture: " + cls)
        else:
            for k in e:
                walk(k)

    def event(e, ev, i):
        heads = [u for n in e.iter("g") if n.get("class", "").startswith("notehead") for u in uses(n)]
        if ev.rest:
            b = boxed(e)
            if b[1] < b[0]:
                raise Unsure("no rest")
            x, key = sum(b) / 2, b[0]
        else:
            draw_note(e)
            if len(heads) != len(ev.heads):
                raise Unsure("heads")
            xs = sorted(d.pt(h[1], 0)[0] for h in heads)
            k = heads[0][3] / .72
            x, key = xs[0] + .6 * k, xs[0]
            got = sorted(round((d.y0 - h[2]) / UNIT * 2) + 4 for h in heads)
            want = sorted(h.dp - L.CLEF_BOTTOM[state["clef"]] for h in ev.heads)
            if got != want:
                raise Unsure(f"place {got} {want} {state['clef']}")
        save = ev.slur_start, ev.slur_end, [h.tie for h in ev.heads]
        ev.slur_start = getattr(ev, "slur_id", None) in here
        ev.slur_end = getattr(ev, "slur_end_id", None) in here or getattr(ev, "grace_slur_id", None) in here
        for h in ev.heads:
            h.tie = getattr(h, "tie_id", None) in here
        rows = L.event_rows(ev, state["clef"])
        ev.slur_start, ev.slur_end = save[:2]
        for h, t in zip(ev.heads, save[2]):
            h.tie = t
        for r in rows:
            emit(x, r, key - (.3 if ev.voice2 else 0))

    def draw_note(e):
        """A note with its signs; a sign that leaves the picture leaves the system out."""
        with d.cv.watch() as ink:
            d.draw(e)
        if ink.seen(.999):
            return
        for x in e.iter("g"):
            if x.get("class", "").split(" ")[0] in ("artic", "accid", "notehead") and len(x):
                # Drawn once more in its place, to see where it is.
                with d.cv.watch() as ink:
                    d.draw(x)
                if ink.y1 >= ink.y0 and not ink.seen():
                    raise Unsure("outside the picture: " + x.get("class"))

    def volta(e, i):
        b = boxed(e)
        info = w.controls.get(i)
        if b[1] < b[0] or info is None:
            return
        if not state["ink"].seen(.6):
            return
        if any(t.tag == "text" for t in e.iter()):
            B.append((b[0] + .2, L.ROAD_ID[info["name"]]))
        if info.get("last") in here:
            B.append((b[1], L.ROAD_ID["vend"]))

    def control(e, i):
        info = w.controls[i]
        b = boxed(e)
        if b[1] < b[0]:
            raise Unsure("nothing drawn for " + info["kind"])
        k = info["kind"]
        segs = seen.get(i, [g])
        first, last = segs[0] is g, segs[-1] is g
        if not state["ink"].seen(.75 if k != "slur" else .5):
            if k in ("dyn", "hair", "ott", "breath", "caesura", "road"):
                return
            raise Unsure("outside the picture: " + k)
        if k == "dyn":
            C.append((sum(b) / 2, L.DYN_ID[info["name"]]))
        elif k == "hair":
            if first:
                C.append((b[0], L.DYN_ID[info["name"]]))
            if last:
                C.append((b[1], L.DYN_ID[info["name"] + "_end"]))
        elif k == "ott":
            u = uses(e)
            if u:
                B.append((b[0] + .7, L.ROAD_ID[info["name"]]))
            if last:
                B.append((b[1], L.ROAD_ID["ott_end"]))
        elif k in ("breath", "caesura"):
            B.append((sum(b) / 2, L.ROAD_ID[k]))
        elif k == "road":
            B.append((sum(b) / 2, L.ROAD_ID[info["name"]]))
    for e in g.iter("g"):
        # A trill's line is left out by the engraver where the next note is near.
        info = w.controls.get(e.get("id"))
        if info and info["kind"] == "orn" and info["line"]:
            info["ev"].trill_line = sum(u[0] not in ("E260", "E261", "E262") for u in uses(e)) > 1
    walk(g)
    A.sort(key=lambda t: t[0])
    m = d.margin
    return ((d.cv.image(), [(x + m, r) for _, x, r in A], [(x + m, r) for x, r in sorted(B)], [(x + m, r) for x, r in sorted(C)], m),
            state["clef"])


_TK = None
# Held-out fonts never stand in.
SWAP = ["gonville", "finalemaestro", "sebastian", "finaleash", "bravura", "leipzig", "gootville"]


def options(rng, fontname):
    u = rng.uniform
    o = dict(font=fontname, pageWidth=int(min(2700, max(1150, rng.gauss(1900, 320)))), pageHeight=40000, adjustPageHeight=True, footer="none", header="none",
             pageMarginLeft=50, pageMarginRight=50, breaks="auto", spacingLinear=u(.12, .32), spacingNonLinear=u(.45, .72),
             staffLineWidth=u(.1, .25), stemWidth=u(.12, .32), barLineWidth=u(.16, .5), thickBarlineThickness=u(.7, 1.3),
             beamMaxSlope=rng.choice([1, 5, 10, 15, 20]), slurCurveFactor=u(.3, 2.5), slurMidpointThickness=u(.4, 1.0), slurEndpointThickness=u(.05, .3),
             slurMargin=u(.5, 2), tieMidpointThickness=u(.3, .8), graceFactor=u(.6, .85), dynamDist=u(.5, 2.5), hairpinSize=u(1.5, 4), hairpinThickness=u(.12, .35),
             repeatBarLineDotSeparation=u(.25, .5), tupletBracketThickness=u(.12, .35), tupletNumHead=rng.random() < .3, ledgerLineExtension=u(.3, .8),
             ledgerLineThickness=u(.15, .4), octaveLineThickness=u(.12, .3), octaveAlternativeSymbols=rng.random() < .4,
             multiRestStyle=rng.choice(["auto", "block", "symbols", "default"]), mnumInterval=rng.choice([0, 0, 1, 5]),
             bracketThickness=1.0, measureMinWidth=10, multiRestThickness=u(1, 3), xmlIdChecksum=False)
    return o


def generate(rng, line, fontname, swap=False):
    """All systems of a line; None where drawing and reckoning disagree."""
    global _TK
    import verovio
    from mei import Writer
    if _TK is None:
        verovio.enableLog(verovio.LOG_OFF)
        _TK = verovio.toolkit()
    w = Writer(rng)
    w.words = swap
    other = ()
    if swap and rng.random() < .6:
        # One font throughout, or each sign from another.
        other = (rng.choice(SWAP),) if rng.random() < .6 else tuple(SWAP)
    xml = w.document(line)
    _TK.setOptions(options(rng, fontname))
    _TK.loadData(xml)
    out = []
    for p in range(1, _TK.getPageCount() + 1):
        page = Page(_TK.renderToSVG(p), fontname, w, rng.choice(["LiberationSerif-Regular", "edwin-roman", "academico", "C059-Roman", "edwin-bold"]), other, rng if swap else None)
        page.clef, page.unsure = line.clef, []
        out += systems(page, rng)
        generate.unsure = page.unsure
    return out
