"""Where do outlines come from? Fonts flattened to polygons, in staff spaces (y down).

Music fonts follow SMuFL (one em is four staff spaces). Source: SMuFL 1.4, "Font-specific
metadata" and the glyph tables for the code points.
"""

import functools
import os

import numpy as np
from fontTools.pens.recordingPen import DecomposingRecordingPen
from fontTools.ttLib import TTFont

HERE = os.path.dirname(os.path.abspath(__file__))
DATA = os.environ.get("PAGE_DATA", os.path.join(HERE, ".data"))
MUSIC_FONTS = ["bravura", "gonville", "gootville", "leipzig", "petaluma", "finalemaestro", "sebastian",
               "finaleash", "musejazz"]
HELD_OUT_FONT = "leland"
TEXT_FONTS = ["edwin-roman", "edwin-italic", "edwin-bold", "edwin-bold-italic", "academico", "academico-bold",
              "LiberationSerif-Regular", "LiberationSerif-Italic", "LiberationSerif-Bold", "LiberationSans-Regular",
              "DejaVuSerif", "C059-Roman", "C059-Italic", "P052-Roman"]


def flatten(ops, steps=6):
    """Closed polylines from pen operations; cubic and quadratic curves cut into `steps`."""
    out, cur = [], []
    t = np.linspace(0, 1, steps + 1)[1:, None]
    for op, a in ops:
        if op == "moveTo":
            if len(cur) > 2:
                out.append(np.array(cur))
            cur = [a[0]]
        elif op == "lineTo":
            cur.append(a[0])
        elif op == "curveTo":
            p0, (p1, p2, p3) = np.array(cur[-1], float), [np.array(p, float) for p in a]
            cur += [tuple(p) for p in (1 - t) ** 3 * p0 + 3 * (1 - t) ** 2 * t * p1 + 3 * (1 - t) * t * t * p2 + t ** 3 * p3]
        elif op == "qCurveTo":
            pts = list(a)
            if pts[-1] is None:
                # A contour without a point on it begins midway between its last and first (TrueType).
                pts[-1] = tuple((np.array(pts[0], float) + np.array(pts[-2], float)) / 2)
                cur = [pts[-1]]
            p0 = np.array(cur[-1], float)
            for i, c in enumerate(pts[:-1]):
                c = np.array(c, float)
                e = np.array(pts[-1], float) if i == len(pts) - 2 else (c + np.array(pts[i + 1], float)) / 2
                cur += [tuple(p) for p in (1 - t) ** 2 * p0 + 2 * (1 - t) * t * c + t * t * e]
                p0 = e
    if len(cur) > 2:
        out.append(np.array(cur))
    return out


class Font:
    def __init__(self, path):
        f = TTFont(path, lazy=True)
        self.set, self.cmap = f.getGlyphSet(), f.getBestCmap()
        self.k = 4.0 / f["head"].unitsPerEm
        self.cache = {}

    def glyph(self, code):
        """(polygons, x0, y0, x1, y1, advance) or None where the font lacks it."""
        if code in self.cache:
            return self.cache[code]
        name = self.cmap.get(code)
        g = None
        if name is not None:
            pen = DecomposingRecordingPen(self.set)
            self.set[name].draw(pen)
            polys = [p * np.array([self.k, -self.k]) for p in flatten(pen.value)]
            adv = self.set[name].width * self.k
            if polys:
                a = np.concatenate(polys)
                g = (polys, *a.min(0), *a.max(0), adv)
            else:
                g = ([], 0.0, 0.0, adv, 0.0, adv)
        self.cache[code] = g
        return g


@functools.lru_cache(None)
def font(name):
    for ext in (".otf", ".ttf"):
        p = os.path.join(DATA, "fonts", name + ext)
        if os.path.exists(p):
            return Font(p)
    raise FileNotFoundError(f"font {name}: run `python prepare.py` first (it gathers the fonts)")


G = dict(
    breve=0xE0A0, whole=0xE0A2, half=0xE0A3, black=0xE0A4, xwhole=0xE0A7, xhalf=0xE0A8, x=0xE0A9,
    dwhole=0xE0D8, dhalf=0xE0D9, dblack=0xE0DB, sharp=0xE262, flat=0xE260, nat=0xE261, dsharp=0xE263, dflat=0xE264,
    parl=0xE26A, parr=0xE26B, gclef=0xE050, gclef8vb=0xE052, gclef8va=0xE053, cclef=0xE05C, fclef=0xE062,
    fclef8vb=0xE064, perc=0xE069, gchange=0xE07A, cchange=0xE07B, fchange=0xE07C, common=0xE08A, cut=0xE08B,
    fermata=0xE4C0, fermatab=0xE4C1, trill=0xE566, turn=0xE567, invturn=0xE568, shorttrill=0xE56C, mordent=0xE56D,
    wiggle=0xEAA4, comma=0xE4CE, caesura=0xE4D1, segno=0xE047, coda=0xE048, upbow=0xE612, downbow=0xE610,
    harmonic=0xE614, stopped=0xE5E5, repeat1=0xE500, arp=0xEAA9, restbreve=0xE4E2)
ACC = {"s": "sharp", "f": "flat", "n": "nat", "x": "dsharp", "ff": "dflat"}
RESTS = {"breve": 0xE4E2, "1": 0xE4E3, "2": 0xE4E4, "4": 0xE4E5, "8": 0xE4E6, "16": 0xE4E7, "32": 0xE4E8, "64": 0xE4E9,
         "128": 0xE4EA}
DYN_LETTER = {"p": 0xE520, "m": 0xE521, "f": 0xE522, "r": 0xE523, "s": 0xE524, "z": 0xE525}
ARTIC = {"accent": (0xE4A0, 0xE4A1), "staccato": (0xE4A2, 0xE4A3), "tenuto": (0xE4A4, 0xE4A5),
         "staccatissimo": (0xE4A6, 0xE4A7), "wedge": (0xE4A8, 0xE4A9), "stroke": (0xE4AA, 0xE4AB), "marcato": (0xE4AC, 0xE4AD)}


# How far a sign may differ from its font's: (size, width against height, slant), each a spread about 1, 1 and 0.
# No engraver's shapes are learnt by heart if each page has its own. Code ranges of SMuFL 1.4.
SPREAD = [(0xE050, 0xE07F, .06, .06, .03), (0xE080, 0xE08F, .06, .18, .06), (0xE0A0, 0xE0FF, .04, .06, .04), (0xE240, 0xE25F, .0, .22, .0),
          (0xE260, 0xE26F, .1, .1, .03), (0xE4A0, 0xE4BF, .22, .15, .1), (0xE4C0, 0xE4DF, .18, .12, .05), (0xE4E0, 0xE4FF, .06, .08, .04),
          (0xE510, 0xE51F, .15, .1, .08), (0xE520, 0xE54F, .14, .12, .12), (0xE560, 0xE5EF, .3, .18, .12), (0xE610, 0xE61F, .2, .15, .06),
          (0xE880, 0xE88F, .12, .15, .1), (0xED10, 0xED1F, .12, .15, .08), (0xE040, 0xE04F, .15, .1, .05), (0xEAA0, 0xEAFF, .2, .15, .0)]


def variation(rng, code, much=1.0):
    """(x scale, y scale, slant) for a sign on one page; nothing for letters and what isn't listed."""
    for a, b, size, aspect, slant in SPREAD:
        if a <= code <= b:
            k = 1 + rng.uniform(-size * 1.3, size) * much
            w = 1 + rng.uniform(-aspect, aspect) * much
            return k * w, k, rng.uniform(-slant, slant) * much
    return 1.0, 1.0, 0.0


def varied(g, v, about=None):
    """A glyph (polygons, bounds, advance) changed by `variation`, about its origin or the point `about`."""
    sx, sy, sh = v
    if not g or not g[0] or v == (1.0, 1.0, 0.0):
        return g
    ax, ay = about or (0.0, 0.0)
    polys = [np.stack([(p[:, 0] - ax) * sx - (p[:, 1] - ay) * sh + ax, (p[:, 1] - ay) * sy + ay], 1) for p in g[0]]
    a = np.concatenate(polys)
    return (polys, *a.min(0), *a.max(0), g[5] * sx)
