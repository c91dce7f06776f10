"""How does an outline become grey levels? A small rasteriser: even-odd fill at three times
the size, averaged down. Coordinates are staff spaces; y = 0 is the middle line, y grows down."""

import cv2
import numpy as np

PX = 10          # pixels per staff space
HEIGHT = 240     # rows of a crop
CENTRE = 112     # row of the middle line
SS = 3           # supersampling
FRAC = 4         # sub-pixel bits given to the filler


class Canvas:
    """Ink (255) on nothing (0); `width` in staff spaces, `x0` the left edge."""

    def __init__(self, width, x0=0.0):
        self.w = int(np.ceil(width * PX))
        self.x0 = x0
        self.big = np.zeros((HEIGHT * SS, self.w * SS), np.uint8)
        self.k = PX * SS
        self.off = np.array([-x0 * self.k, CENTRE * SS])

    def fill(self, polys):
        """One shape of several contours, even-odd."""
        if len(polys):
            q = [np.round((p * self.k + self.off - .5) * (1 << FRAC)).astype(np.int32) for p in polys]
            cv2.fillPoly(self.big, q, 255, shift=FRAC)

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
