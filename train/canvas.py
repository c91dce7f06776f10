"""How does an outline become grey levels? A small rasteriser: even-odd fill at three times
the size, averaged down. Coordinates are staff spaces; y = 0 is the middle line, y grows down."""

from contextlib import contextmanager

import cv2
import numpy as np

PX = 10          # pixels per staff space
HEIGHT = 240     # rows of a crop
CENTRE = 112     # row of the middle line
SS = 3           # supersampling
FRAC = 4         # sub-pixel bits given to the filler


# What straightening may still shift a page by: a sign nearer to the edge than this may leave the picture.
EDGE = .7
TOP, BOTTOM = -CENTRE / PX, (HEIGHT - CENTRE) / PX


class Watch:
    """Bounds of some ink, in staff spaces."""

    def __init__(self):
        self.x0 = self.y0 = np.inf
        self.x1 = self.y1 = -np.inf

    def grow(self, polys):
        for p in polys:
            (a, b), (c, d) = p.min(0), p.max(0)
            self.x0, self.y0, self.x1, self.y1 = min(self.x0, a), min(self.y0, b), max(self.x1, c), max(self.y1, d)

    def seen(self, share=.75):
        """Is so much of its height in the picture? Nothing drawn is nothing seen."""
        if self.y1 < self.y0:
            return False
        a, b = max(self.y0, TOP + EDGE), min(self.y1, BOTTOM - EDGE)
        return b - a >= share * (self.y1 - self.y0) and b >= a


class Canvas:
    """Ink (255) on nothing (0); `width` in staff spaces, `x0` the left edge."""

    def __init__(self, width, x0=0.0):
        self.w = int(np.ceil(width * PX))
        self.x0 = x0
        self.big = np.zeros((HEIGHT * SS, self.w * SS), np.uint8)
        self.k = PX * SS
        self.off = np.array([-x0 * self.k, CENTRE * SS])
        self.watches = []

    def fill(self, polys):
        """One shape of several contours, even-odd."""
        if len(polys):
            for w in self.watches:
                w.grow(polys)
            q = [np.round((p * self.k + self.off - .5) * (1 << FRAC)).astype(np.int32) for p in polys]
            cv2.fillPoly(self.big, q, 255, shift=FRAC)

    @contextmanager
    def watch(self):
        """The bounds of all that is drawn meanwhile."""
        w = Watch()
        self.watches.append(w)
        try:
            yield w
        finally:
            self.watches.remove(w)

    def glyph(self, g, x, y, s=1.0, sx=None):
        if g:
            m = np.array([s if sx is None else sx, s])
            self.fill([p * m + (x, y) for p in g[0]])

    def rect(self, x0, y0, x1, y1):
        self.fill([np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])])

    def line(self, x0, y0, x1, y1, t):
        d = np.array([x1 - x0, y1 - y0], float)
        n = np.array([-d[1], d[0]]) / (np.hypot(*d) + 1e-9) * t / 2
        a, b = np.array([x0, y0]), np.array([x1, y1])
        self.fill([np.array([a + n, b + n, b - n, a - n])])

    def image(self):
        return cv2.resize(self.big, (self.w, HEIGHT), interpolation=cv2.INTER_AREA)
