"""Our own small engraver: how may one system of this line look?

It is no fine engraver but a varied one: spacing, stem lengths, beam slopes, slur shapes,
where marks sit and in which font numbers are set are all drawn at random, so that the
network cannot learn one engraver's habits. It returns the picture and, by construction,
the three streams of events with the x of each.
"""

import math
import random
from fractions import Fraction as F

import numpy as np

import labels as L
from canvas import Canvas
from glyphs import ACC, ARTIC, DYN_LETTER, G, MUSIC_FONTS, RESTS, TEXT_FONTS, font, variation, varied
from music import after_bar, chunk, metre_len

WORDS = ["dolce", "espress.", "cresc.", "dim.", "rit.", "a tempo", "Allegro", "Andante con moto", "legato", "poco a poco",
         "pizz.", "arco", "cantabile", "D.C. al Fine", "Fine", "sempre", "con fuoco", "Tempo I", "solo", "tutti", "simile",
         "marc.", "leggiero", "D.S. al Coda", "molto", "rall.", "più mosso", "tr", "accel.", "ten.", "II", "sul G", "espressivo",
         "Vivace", "Presto", "Lento", "Moderato", "largamente", "con sord.", "senza sord.", "Trio", "Coda", "A", "B", "C", "D"]


class Style:
    def __init__(self, rng, fonts=None):
        u, c = rng.uniform, rng.choice
        fonts = fonts or MUSIC_FONTS
        w = [.35 if f in ("finaleash", "musejazz", "petaluma") else 1 for f in fonts]
        self.font = rng.choices(fonts, w)[0]
        self.text = c(TEXT_FONTS)
        self.numfont = c(["music", "music", "text", "italic"])
        self.width = min(150, max(60, rng.gauss(102, 18)))
        self.staff_t = u(.07, .17)
        self.stem_t = u(.08, .17)
        self.bar_t = u(.11, .24)
        self.thick_t = u(.35, .6)
        self.beam_t = u(.4, .56)
        self.beam_gap = u(.2, .36)
        self.stem_len = u(2.9, 3.7)
        self.slope = c([0, .5, .7, 1, 1])
        self.max_slope = u(.1, .35)
        self.density = u(.6, 1.35)
        self.expo = u(.45, .75)
        self.acc_gap = u(.12, .35)
        self.ledger = u(.25, .5)
        self.ledger_t = u(1, 1.7)
        self.art_gap = u(.25, .55)
        self.art_stem_side = rng.random() < .12
        self.stacc_style = c(["staccatissimo", "staccatissimo", "wedge", "stroke"])
        self.slur_t = u(.12, .28)
        self.slur_end_t = u(.02, .1)
        self.slur_gap = u(.2, .8) if rng.random() < .8 else u(.8, 1.4)
        self.slur_h = u(.6, 1.6)
        self.slur_dx = u(-.5, .5) if rng.random() < .4 else 0
        self.slur_dash = rng.random() < .02
        self.slur_stem = rng.random() < .12
        self.bracket_t = u(.07, .18)
        self.bracket_hook = u(.5, 1.0)
        self.tup_paren = rng.random() < .04
        self.tup_bracket = c(["auto", "auto", "always", "slur", "never"])
        self.road_on_note = rng.random() < .35
        self.dyn_far = u(0, 5) if rng.random() < .3 else 0
        self.dot_r = u(.14, .3) if rng.random() < .45 else 0
        self.dot_gap = u(0, 1.0) if rng.random() < .3 else 0
        self.wiggle = rng.random() < .5
        self.wig_t, self.wig_thin = u(.16, .42), u(.07, .16)
        self.wig_w, self.wig_h = u(.42, .8), u(.28, .6)
        self.wig_bar = u(.9, 1.6)
        self.wig_round = rng.random() < .3
        self.digits = c(["own", "own", "other", "text"])
        self.digit_font = c(MUSIC_FONTS)
        self.digit_text = c(["LiberationSerif-Bold", "academico-bold", "edwin-bold", "C059-Roman", "P052-Roman", "DejaVuSerif"])
        self.digit_sx = u(.75, 1.2)
        self.bare_beamed = rng.random() < .35
        self.comma = c(["music", "music", "text", "tick"])
        self.comma_font = c(TEXT_FONTS)
        self.comma_size = u(.7, 1.7)
        self.grace_stem = u(.75, 1.15)
        self.grace_flag = c(["own", "stroke"])
        self.marks = u(0, .12) if rng.random() < .4 else 0
        self.tup_head_side = rng.random() < .1
        self.grace = u(.45, .78)
        self.slash_t = u(.07, .16)
        self.dyn_scale = u(.8, 1.15)
        self.dyn_above = rng.random() < .04
        self.dyn_shift = u(-.8, .6)
        self.hair_t = u(.06, .2)
        self.hair_h = u(.6, 1.4) if rng.random() < .75 else u(1.4, 2.6)
        self.clef_scale = u(.66, .85)
        self.volta_h = u(1.4, 2.2)
        self.volta_hook_open = rng.random() < .5
        self.volta_text = c(["{}.", "{}.", "{}", "{}a"])
        self.mrest_style = c(["h", "h", "old", "thin"])
        self.rest_style_drop = 0
        self.repeat_wings = rng.random() < .12
        self.dash_gap = u(.3, .9)
        self.first_bar = rng.random() < .12
        self.words = 0 if rng.random() < .35 else u(.02, .14)
        self.finger_scale = u(.7, 1.1)
        self.finger_above = rng.random() < .9
        self.ott = c(["8va", "8", "8va_text"])
        self.ott_dash = u(.3, 1.0)
        self.cautionary = True
        self.whole_rest_centre = rng.random() < .9
        self.metre_scale = u(.92, 1.1)
        self.key_gap = u(-.08, .12)
        self.beam_mid = rng.random() < .25
        self.lyrics = rng.random() < .03
        self.bar_numbers = rng.random() < .4
        self.chop = u(.3, .8)
        self.shapes, self.shape_rng = {}, random.Random(rng.getrandbits(50))
        self.vary = 0 if rng.random() < .3 else u(.3, 1.2)
        # Habits of engravers at large: small signs far from their notes, all on one side; thin close beams; slurs as flat as ties
        # and ties as tall as slurs; dynamics and hairpins at a fixed height, over whatever is there; "1" over a bar's rest.
        if rng.random() < .25:
            self.art_gap = u(.5, 2.2)
        self.art_side = c(["above", "above", "below"]) if rng.random() < .14 else None
        if rng.random() < .3:
            self.beam_t, self.beam_gap = u(.22, .42), u(.13, .26)
        self.slur_flat = u(.15, .6) if rng.random() < .25 else 0
        self.slur_side = u(.1, .5) if rng.random() < .2 else None
        self.tie_tall = u(1.2, 2.4) if rng.random() < .25 else 1
        self.tie_over = rng.random() < .2
        self.tie_gap = u(.5, 1.3) if rng.random() < .25 else 0
        self.dyn_fixed = u(3.2, 7.5) if rng.random() < .25 else None
        self.hair_fixed = u(3.2, 7.5) if rng.random() < .5 else self.dyn_fixed
        self.hair_over = rng.random() < .25
        self.one_over = rng.random() < .12
        self.flag_len, self.flag_reach, self.flag_t = u(.6, 1.3), u(.45, .95), u(.1, .26)
        self.trem_gap, self.trem_t, self.trem_w = u(.5, .85), u(.22, .42), u(.45, .8)
        self.orn_scale = u(.7, 1.15) if rng.random() < .5 else 1
        self.trill_text = rng.random() < .15
        # Hairpins: some engravers let none be shorter than so much and widen it to both sides; some leave the tip open,
        # or begin and end them beside their notes.
        self.hair_min = u(2, 4.8) if rng.random() < .35 else u(1.2, 1.8)
        self.hair_both = rng.random() < .6
        self.hair_slit = u(.08, .4) if rng.random() < .2 else 0
        self.hair_from, self.hair_to = (u(-1, 1), u(-1.4, 1.2)) if rng.random() < .35 else (0, 0)
        self.breath_at = c(["between", "between", "note", "next"])


class Item:
    """One column: extents left and right of its origin, a spring to the next, and how to draw it."""

    def __init__(self, left, right, spring, draw, onset=None):
        self.left, self.right, self.spring, self.draw = left, right, spring, draw
        self.x = 0.0


class System:
    def __init__(self, rng, style, line, start, hooks=None):
        self.rng, self.s, self.line, self.start = rng, style, line, start
        self.f, self.fb = font(style.font), font("bravura")
        self.A, self.B, self.C = [], [], []
        self.items = []

    # -- small helpers ------------------------------------------------
    def g(self, code):
        if isinstance(code, tuple):
            return code
        code = G[code] if isinstance(code, str) else code
        got = self.s.shapes.get(code)
        if got is None:
            r = self.f.glyph(code)
            r = r if r is not None else self.fb.glyph(code)
            got = self.s.shapes[code] = varied(r, variation(self.s.shape_rng, code, self.s.vary)) if self.s.vary else r
        return got

    def width(self, code, s=1.0):
        return self.g(code)[3] * s

    def emit(self, x, r, key=None):
        """An event at x; `key` (its left edge) orders it."""
        self.A.append((x, r, x if key is None else key))

    # -- skyline --------------------------------------------------------
    def sky_init(self, width):
        n = int(width * 4) + 40
        self.top = np.full(n, -2.1)
        self.bot = np.full(n, 2.1)

    def span(self, x0, x1):
        a = max(0, int((x0) * 4))
        return a, max(a + 1, min(len(self.top), int(math.ceil(x1 * 4))))

    def mark(self, x0, y0, x1, y1):
        a, b = self.span(x0, x1)
        if y0 < 0:
            np.minimum(self.top[a:b], y0, out=self.top[a:b])
        if y1 > 0:
            np.maximum(self.bot[a:b], y1, out=self.bot[a:b])

    def above(self, x0, x1, h, gap, keep=None):
        """Lower edge free above [x0, x1]; returns the top y of a box of height h."""
        a, b = self.span(x0, x1)
        y = self.top[a:b].min() - gap - h
        self.top[a:b] = y
        return y

    def below(self, x0, x1, h, gap):
        a, b = self.span(x0, x1)
        y = self.bot[a:b].max() + gap
        self.bot[a:b] = y + h
        return y

    def put(self, code, x, y, s=1.0):
        gl = self.g(code) if not isinstance(code, tuple) else code
        self.cv.glyph(gl, x, y, s)
        self.mark(x + gl[1] * s, y + gl[2] * s, x + gl[3] * s, y + gl[4] * s)
        return gl

    def stack(self, code, x, above, gap, s=1.0):
        """Centre a glyph at x outside the skyline; returns its middle y."""
        gl = self.g(code)
        w, h = (gl[3] - gl[1]) * s, (gl[4] - gl[2]) * s
        if above:
            y = self.above(x - w / 2, x + w / 2, h, gap)
        else:
            y = self.below(x - w / 2, x + w / 2, h, gap)
        self.cv.glyph(gl, x - (gl[1] + gl[3]) / 2 * s, y - gl[2] * s, s)
        return y + h / 2

    def text_width(self, t, size, fnt):
        f = font(fnt)
        return sum((f.glyph(ord(c)) or (0, 0, 0, 0, 0, 2.0))[5] for c in t) * size

    def text(self, t, x, y, size, fnt=None):
        """Baseline at y; size in ems of four spaces."""
        f = font(fnt or self.s.text)
        for c in t:
            gl = f.glyph(ord(c))
            if gl:
                self.cv.glyph(gl, x, y, size)
                x += gl[5] * size
        return x

    def number(self, t, x, y, h, italic=False):
        """Digits of height about h centred on x; y is their middle."""
        s = self.s
        if s.numfont == "music" and t.isdigit() and self.f.glyph(0xE880 + 3):
            gls = [self.f.glyph(0xE880 + int(c)) for c in t]
            k = h / max(.5, max(g[4] - g[2] for g in gls))
            w = sum(g[5] for g in gls) * k
            cx = x - w / 2
            for gl in gls:
                self.cv.glyph(gl, cx, y + h / 2 - gl[4] * k, k)
                cx += gl[5] * k
            return w
        fnt = s.text if s.numfont != "italic" else "edwin-bold-italic"
        size = h / 2.7
        w = self.text_width(t, size, fnt)
        self.text(t, x - w / 2, y + h / 2, size, fnt)
        return w

    # -- building columns -----------------------------------------------
    def clef_item(self, c, change=False):
        k = self.s.clef_scale if change else 1.0
        kind = c[0]
        code = {"G": "gclef", "F": "fclef", "C": "cclef", "p": "perc"}[kind]
        if c == "G2v":
            code = "gclef8vb"
        elif c == "G2^":
            code = "gclef8va"
        elif c == "F4v":
            code = "fclef8vb"
        if change and c in ("G2", "F4", "C3", "C4") and self.rng.random() < .4 and self.f.glyph(G[code.replace("clef", "change")]):
            code, k = code.replace("clef", "change"), 1.0
        y = 2 - (int(c[1]) - 1) if c != "perc" else 0
        gl = self.g(code)
        w = (gl[3] - gl[1]) * k

        def draw(x):
            self.cv.glyph(gl, x - gl[1] * k, y, k)
            self.mark(x, y + gl[2] * k, x + w, y + gl[4] * k)
            self.emit(x + w / 2, L.row(f"clef:{c}"), x)
        self.items.append(Item(.1, w + (.5 if not change else .35), 0.1, draw))

    def key_item(self, clef, key, cancel=False, old=0):
        off = (L.CLEF_BOTTOM["G2"] - L.CLEF_BOTTOM[clef]) % 7
        glyphs = []

        def places(k):
            base = [8, 5, 9, 6, 3, 7, 4] if k > 0 else [4, 7, 3, 6, 2, 5, 1]
            o = off if off < 4 else off - 7
            ps = [b + o for b in base]
            if clef == "C4" and k > 0:
                ps = [2, 6, 3, 7, 4, 8, 5]
            elif max(ps) > 9:
                ps = [p - 7 if p > 8 else p for p in ps]
            elif min(ps) < -1:
                ps = [p + 7 if p < 0 else p for p in ps]
            return ps[:abs(k)]
        if cancel and old:
            ps = places(old)
            if key * old > 0:
                ps = ps[abs(key):]
            glyphs += [("nat", p) for p in ps]
        gap2 = len(glyphs)
        glyphs += [("sharp" if key > 0 else "flat", p) for p in places(key)]
        if not glyphs:
            return
        kg = self.s.key_gap
        w = sum(self.width(c) + kg for c, _ in glyphs) + (.4 if gap2 and gap2 < len(glyphs) else 0)

        def draw(x):
            cx = x
            for i, (c, p) in enumerate(glyphs):
                if i == gap2 and i:
                    cx += .4
                self.put(c, cx, -(p - 4) / 2)
                cx += self.width(c) + kg
            self.emit(x + w / 2, L.key_row(key, gap2 > 0), x)
        self.items.append(Item(.3, w + .7, 0.1, draw))

    def metre_item(self, m):
        k = self.s.metre_scale

        sx = self.s.digit_sx if self.s.digits == "other" else 1.0

        def digits(n):
            if self.s.digits == "text":
                # Figures of a text font, two spaces high.
                f = font(self.s.digit_text)
                out = []
                for c in str(n):
                    polys, x0, y0, x1, y1, adv = f.glyph(ord(c))
                    q = 1.95 / (y1 - y0)
                    mid = (y0 + y1) / 2
                    m = np.array([q * self.s.digit_sx, q])
                    out.append(([(p - (0, mid)) * m for p in polys], x0 * m[0], -.98, x1 * m[0], .98, adv * m[0]))
                return out
            f = font(self.s.digit_font) if self.s.digits == "other" else self.f
            gls = [f.glyph(0xE080 + int(c)) or self.g(0xE080 + int(c)) for c in str(n)]
            return [([p * (sx, 1) for p in g[0]], g[1] * sx, g[2], g[3] * sx, g[4], g[5] * sx) for g in gls]
        if isinstance(m, str):
            gl = self.g("common" if m == "C" else "cut")
            w = gl[3] * k
        else:
            rows = digits(m[0]), digits(m[1])
            ws = [sum(g[5] for g in r) * k for r in rows]
            w = max(ws)

        def draw(x):
            if isinstance(m, str):
                self.cv.glyph(gl, x, 0, k)
            else:
                for r, rw, y in zip(rows, ws, (-1, 1)):
                    cx = x + (w - rw) / 2
                    for d in r:
                        self.cv.glyph(d, cx, y, k)
                        cx += d[5] * k
            self.emit(x + w / 2, L.metre_row(m), x)
        self.items.append(Item(.3, w + .8, 0.3, draw))

    def dots_at(self, x):
        r = .2
        for y in (-.5, .5):
            self.dot(x, y, r)

    def dot(self, x, y, r=.2):
        a = np.linspace(0, 2 * math.pi, 13)[:-1]
        self.cv.fill([np.stack([x + r * np.cos(a), y + r * np.sin(a)], 1)])

    def bar_item(self, kind, fermata=False, road=None):
        s = self.s
        t, T = s.bar_t, s.thick_t
        gap = .4
        layout = {"single": "|", "double": "||", "final": "|#", "rep_start": "#|:", "rep_end": ":|#", "rep_both": ":|#|:",
                  "dashed": "!"}[kind]
        if kind == "rep_both" and self.rng.random() < .4:
            layout = self.rng.choice([":##:", ":||:", ":|#:"])
        ws = {"|": t, "#": T, ":": .4, "!": t}
        w = sum(ws[c] for c in layout) + gap * (len(layout) - 1)

        def draw(x):
            cx = x
            for c in layout:
                if c in "|#":
                    self.cv.rect(cx, -2 - s.staff_t / 2, cx + ws[c], 2 + s.staff_t / 2)
                elif c == ":":
                    self.dots_at(cx + .2)
                else:
                    y = -2
                    d = s.dash_gap
                    while y < 2:
                        self.cv.rect(cx, y, cx + t, min(2, y + d))
                        y += 1.7 * d
                cx += ws[c] + gap
            if s.repeat_wings and ":" in layout:
                for e, dx in ((x, -.8) if layout[0] == ":" else (x + w, .8),):
                    self.cv.line(e, -2, e + dx, -2.9, .2)
                    self.cv.line(e, 2, e + dx, 2.9, .2)
            shown = False
            if fermata:
                with self.cv.watch() as ink:
                    self.stack("fermata", x + w / 2, True, .5)
                shown = ink.seen()
            self.emit(x + w / 2, L.row(f"bar:{kind}", fermata=shown), x)
        self.items.append(Item(.35, w + .5, .35, draw))
        return w

    def acc_layout(self, heads):
        """x offsets (left of the head column) for the accidentals of a chord."""
        placed, out, width = [], {}, 0.0
        for h in sorted((h for h in heads if h.acc), key=lambda h: -h.dp):
            w = self.width(ACC[h.acc]) + (1.0 if h.paren else 0)
            off = self.s.acc_gap
            for dp, o, pw in placed:
                if abs(dp - h.dp) < 6:
                    off = max(off, o + pw + .1)
            placed.append((h.dp, off, w))
            out[id(h)] = off + w
            width = max(width, off + w)
        return out, width

    def head_code(self, e, h):
        if h.shape == "x":
            return {"1": "xwhole", "2": "xhalf"}.get(e.type, "x")
        if h.shape == "diamond":
            return {"1": "dwhole", "2": "dhalf"}.get(e.type, "dblack")
        return {"breve": "breve", "1": "whole", "2": "half"}.get(e.type, "black")

    def plan(self, e, clef):
        """Measures of one event: head places, seconds shifted, accidentals, dots, width."""
        k = self.s.grace if e.grace else 1.0
        e.k = k
        if e.rest:
            w = self.g(RESTS[e.type])[3]
            e.hw = w
            e.left, e.right = 0.1, w + (.25 + .5 * e.dots if e.dots else 0) + .1
            return
        base = L.CLEF_BOTTOM[clef]
        e.hs = sorted(e.heads, key=lambda h: h.dp)
        e.pos = [h.dp - base for h in e.hs]
        e.hw = max(self.width(self.head_code(e, h)) for h in e.hs) * k
        if getattr(e, "force_up", None) is None:
            m = (e.pos[0] + e.pos[-1]) / 2
            e.up = m < 4 or (m == 4 and self.s.beam_mid)
        e.shift = [0.0] * len(e.pos)
        e.acc_off, aw = self.acc_layout(e.hs)
        e.left = aw * k + (.15 if aw else 0) + (.9 if e.arpeggio else 0) + .1
        flag = (.9 * k if e.beam is None and e.type.isdigit() and int(e.type) >= 8 and e.up else 0)
        dots = (.35 + .55 * e.dots) if e.dots else 0
        e.right = e.hw + max(flag, dots) + .12
        if any(b - a == 1 for a, b in zip(e.pos, e.pos[1:])):
            e.right += e.hw

    def seconds(self, e):
        """Heads a second apart stand on both sides of the stem."""
        n = len(e.pos)
        order = range(n) if e.up else range(n - 1, -1, -1)
        prev = None
        for i in order:
            if prev is not None and abs(e.pos[i] - e.pos[prev]) == 1 and e.shift[prev] == 0:
                e.shift[i] = (e.hw - self.s.stem_t) * (1 if e.up else -1)
            prev = i
        if not e.up and any(e.shift):
            e.left += e.hw

    def columns(self, bar, clef):
        """Note columns of a bar, both voices merged by onset."""
        s = self.s
        cols = {}
        for vi, v in enumerate(bar.voices):
            t = F(0)
            c = clef
            for e in v:
                if e.clef_before:
                    c = e.clef_before
                e.clef = c
                for x in e.graces + [e] + e.after:
                    x.clef = c
                    if len(bar.voices) > 1:
                        x.force_up = True
                        x.up = vi == 0 or x.grace
                    elif x.grace:
                        x.force_up = True
                        x.up = True
                    self.plan(x, c)
                cols.setdefault(t, []).append((vi, e))
                t += e.dur
            self.beams_direction(v)
            for e in v:
                for x in e.graces + [e] + e.after:
                    if not x.rest:
                        self.seconds(x)
        times = sorted(cols)
        end = metre_len(self.metre) if times else F(0)
        prev_graces_after = 0.0
        for i, t in enumerate(times):
            nxt = times[i + 1] if i + 1 < len(times) else max(end, t + max(e.dur for _, e in cols[t]))
            group = cols[t]
            gap = float(nxt - t)
            spring = s.density * 2.9 * (max(gap, 1 / 128) * 8) ** s.expo
            left = max(e.left for _, e in group)
            right = max(e.right for _, e in group)
            gw = max((self.grace_width(e.graces) for _, e in group), default=0)
            aw = max((self.grace_width(e.after) for _, e in group), default=0)
            for _, e in group:
                if e.clef_before:
                    self.clef_item(e.clef_before, True)
            # Two voices a second or unison apart: the lower voice moves aside.
            shift2 = 0.0
            if len(group) == 2 and not any(e.rest for _, e in group):
                a = next(e for vi, e in group if vi == 0)
                b = next(e for vi, e in group if vi == 1)
                d = a.pos[0] - b.pos[-1]
                if d == 1 or d <= 0 and not (d == 0 and a.type == b.type and not a.dots and not b.dots and a.type not in ("1", "breve")):
                    shift2 = max(a.hw, b.hw) + .1 + (.3 + .5 * a.dots if a.dots else 0)
                    right += shift2

            def draw(x, group=group, shift2=shift2, left=left):
                for vi, e in sorted(group, key=lambda ve: -ve[0]):
                    e.x = x + (shift2 if vi == 1 else 0)
                    e.gx = x - left
                    if e.graces:
                        self.place_graces(e.graces, x - left - self.grace_width(e.graces))
                for vi, e in sorted(group, key=lambda ve: -ve[0]):
                    if e.after:
                        self.place_graces(e.after, x + e.right + .2)
                self.order.extend(g for _, e in group for g in e.graces)
                self.order.extend(e for vi, e in sorted(group, key=lambda ve: -ve[0]))
                self.order.extend(g for _, e in group for g in e.after)
            full = len(times) == 1 and group[0][1].rest and group[0][1].full_bar
            it = Item(left + gw, right + aw + (.3 if aw else 0), spring, draw)
            if full and s.whole_rest_centre:
                it.centre = True
                it.spring = max(spring, 6)
            self.items.append(it)

    def grace_width(self, gs):
        return sum(g.left + g.right + .35 for g in gs) + (.2 if gs else 0)

    def place_graces(self, gs, x):
        for g in gs:
            x += g.left
            g.x = x
            x += g.right + .35

    def beams_direction(self, v):
        for group in beam_groups(v):
            notes = [e for e in group if not e.rest]
            if getattr(notes[0], "force_up", None) is None:
                m = sum(sum(e.pos) / len(e.pos) for e in notes) / len(notes)
                up = m < 4
                for e in notes:
                    e.up = up

    # -- the system -------------------------------------------------------
    def build(self):
        """Take bars while they fit; returns the index of the first bar not taken."""
        line, s, rng = self.line, self.s, self.rng
        self.order = []
        clef, key, metre = chunk(line, self.start)
        first = self.start == 0
        b0 = line.bars[self.start]
        old = key
        new_key = b0.key is not None and not first
        clef, key, metre = b0.clef or clef, b0.key if b0.key is not None else key, b0.metre or metre
        self.clef_item(clef)
        if new_key and (key == 0 or b0.cancel and rng.random() < .3):
            self.key_item(clef, key, True, old)
        elif key:
            self.key_item(clef, key)
        self.metre = metre
        if first or b0.metre:
            self.metre_item(metre)
        if first and line.start_repeat or (not first and line.bars[self.start - 1].right in ("rep_start", "rep_both")):
            self.bar_item("rep_start")
        i = self.start
        self.bar_marks = []
        self.bars = []
        while i < len(line.bars):
            b = line.bars[i]
            saved, metre_saved = list(self.items), self.metre
            if i > self.start:
                if b.clef:
                    # The change stands before the barline just drawn.
                    bl = self.items.pop()
                    self.clef_item(b.clef, True)
                    self.items.append(bl)
                if b.key is not None:
                    self.key_item(b.clef or clef, b.key, b.cancel, key)
                if b.metre:
                    self.metre_item(b.metre)
            if b.metre:
                self.metre = b.metre
            clef_in = b.clef or clef
            if s.one_over and bare_rest(b):
                b.mrest, b.voices = 1, []
            start_item = len(self.items)
            if b.mrest:
                self.mrest_item(b.mrest)
            elif b.mrepeat:
                self.mrepeat_item()
            else:
                self.columns(b, clef_in)
            self.bar_item(b.right, b.bar_fermata)
            nat = self.natural()
            if nat > s.width and i > self.start:
                # Too full: this bar goes to the next system; undo its columns.
                self.items, self.metre = saved, metre_saved
                break
            self.bar_marks.append((b, start_item, len(self.items) - 1))
            self.bars.append(b)
            clef, key, metre = after_bar(b, clef, key, metre)
            i += 1
        self.end_of_system(i, clef, key)
        return i

    def natural(self):
        x = 0.0
        for a, b in zip(self.items, self.items[1:]):
            x += max(a.right + b.left, a.spring)
        return x + self.items[-1].right

    def end_of_system(self, i, clef, key):
        """Courtesy clef, key and metre of what follows; a repeat sign that opens the next line is not drawn here."""
        line = self.line
        if i < len(line.bars) and self.bars:
            b = line.bars[i]
            last = self.items.pop()
            if self.bars[-1].right in ("rep_start", "rep_both"):
                if self.bars[-1].right == "rep_start":
                    self.bar_item("single", self.bars[-1].bar_fermata)
                else:
                    self.bar_item("rep_end", self.bars[-1].bar_fermata)
                last = self.items.pop()
            if b.clef:
                self.clef_item(b.clef, True)
            self.items.append(last)
            n = len(self.items)
            if b.key is not None and self.rng.random() < .85:
                self.key_item(b.clef or clef, b.key, b.cancel, key)
            if b.metre and self.rng.random() < .85:
                self.metre_item(b.metre)
            self.tail = len(self.items) - n
        elif self.bars and self.bars[-1].right == "rep_start":
            self.items.pop()
            self.bar_item("single", self.bars[-1].bar_fermata)

    def first_note_x(self):
        return min((e.x - e.left for e in self.order if not e.grace), default=self.items[0].x + 4)

    def mrest_item(self, n):
        s = self.s
        w = self.rng.uniform(6, 16)

        def draw(x):
            y = 0
            if s.mrest_style == "old" and n < 9:
                parts = []
                k = n
                for v in (4, 2, 1):
                    parts += [v] * (k // v)
                    k %= v
                cx = x + w / 2 - len(parts)
                for v in parts:
                    gl = self.g({4: 0xE4E1, 2: 0xE4E2, 1: 0xE4E3}[v])
                    self.cv.glyph(gl, cx, -1 if v == 1 else 0)
                    cx += 1.9
            else:
                t = .5 if s.mrest_style != "thin" else .3
                self.cv.rect(x + .5, -t, x + w - .5, t)
                h = 1.0 if s.mrest_style != "thin" else .8
                self.cv.rect(x + .4, -h, x + .55, h)
                self.cv.rect(x + w - .55, -h, x + w - .4, h)
            ds = [self.g(0xE080 + int(c)) for c in str(n)]
            k = self.rng.uniform(.8, 1.05)
            dw = sum(d[5] for d in ds) * k
            y = -2 - self.rng.uniform(.3, .8) - 1 * k
            if s.numfont == "music" or self.rng.random() < .5:
                cx = x + w / 2 - dw / 2
                for d in ds:
                    self.cv.glyph(d, cx, y, k)
                    cx += d[5] * k
            else:
                self.number(str(n), x + w / 2, y, 1.7)
            self.mark(x + w / 2 - 2, y - 1.2, x + w / 2 + 2, 0)
            self.emit(x + w / 2, L.mrest_row(n), x)
        self.items.append(Item(.6, w + .6, w + 1, draw))

    def mrepeat_item(self):
        gl = self.g("repeat1")

        def draw(x):
            self.cv.glyph(gl, x + 2.5, 0)
            self.emit(x + 2.5 + gl[3] / 2, L.row("mrepeat"))
        self.items.append(Item(.5, 7.5, 8, draw))

    def justify(self):
        """Set x of every column so that the system ends at the style's width."""
        target = self.s.width
        its = self.items

        def total(k):
            x = 0.0
            for a, b in zip(its, its[1:]):
                x += max(a.right + b.left, a.spring * k)
            return x + its[-1].right
        full = self.start + len(self.bars) < len(self.line.bars)
        k = 1.0
        if full or self.rng.random() < .5 and total(1) > target * .6:
            lo, hi = 0.0, 30.0
            for _ in range(24):
                k = (lo + hi) / 2
                lo, hi = (k, hi) if total(k) < target else (lo, k)
            if total(0) > target:
                k = 0.0
        x = its[0].left
        its[0].x = x
        for a, b in zip(its, its[1:]):
            x += max(a.right + b.left, a.spring * k)
            b.x = x
        for i, it in enumerate(its):
            if getattr(it, "centre", False) and 0 < i < len(its) - 1:
                it.x = (its[i - 1].x + its[i - 1].right + its[i + 1].x - its[i + 1].left) / 2 - .6
        return its[-1].x + its[-1].right



def bare_rest(b):
    """Is this bar nothing but a rest that carries nothing?"""
    if len(b.voices) != 1 or len(b.voices[0]) != 1 or not b.voices[0][0].full_bar:
        return False
    e = b.voices[0][0]
    return not (e.marks or e.clef_before or e.slur_end or e.hair_start or e.hair_end or e.ott_start or e.ott_end or e.dyn or e.breath)


def beam_groups(v):
    out, cur = [], []
    for e in v:
        if e.beam is not None and cur and cur[-1].beam == e.beam:
            cur.append(e)
        else:
            if len(cur) > 1:
                out.append(cur)
            cur = [e] if e.beam is not None else []
    if len(cur) > 1:
        out.append(cur)
    return out


def systems(rng, line, fonts=None, style=None):
    """Every system of a line: (picture, A, B, C) with one style throughout."""
    from own_draw import draw_system
    style = style or Style(rng, fonts)
    i, out = 0, []
    slur_open = False
    hair = ott = None
    volta = False
    while i < len(line.bars):
        sy = System(rng, style, line, i)
        nxt = sy.build()
        sy.slur_open, sy.hair_open, sy.ott_open, sy.volta_open = slur_open, hair, ott, volta
        out.append(draw_system(sy))
        for b in sy.bars:
            if b.volta:
                volta = True
            if b.volta_end:
                volta = False
            for e in (b.voices[0] if b.voices else []):
                for x in e.graces + [e] + e.after:
                    if x.slur_end:
                        slur_open = False
                    if x.slur_start:
                        slur_open = True
                if e.hair_end:
                    hair = None
                hair = e.hair_start or hair
                ott = e.ott_start or ott
                if e.ott_end:
                    ott = None
        i = nxt
    return out
