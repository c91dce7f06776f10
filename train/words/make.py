"""Where is text on this picture, and what does it say? Training systems with every line of text written down.

The pictures are our own engraver's (`own.py`), with more words than it draws for the reader of signs; figures that belong to signs
(tuplets, fingerings, endings, rests of bars, ottavas) are drawn as ever and are no text here. A third are heads and feet of pages:
lines of text without a staff, or the staff at the edge.
"""

import os
import random
import sys

import numpy as np

HERE = os.path.dirname(os.path.abspath(__file__))
sys.path[:0] = [HERE, os.path.dirname(HERE)]

import own  # noqa: E402
import own_draw  # noqa: E402
from canvas import BOTTOM, CENTRE, HEIGHT, PX, TOP, Canvas  # noqa: E402
from glyphs import DATA, font  # noqa: E402
from vocabulary import EIGHTH, HALF, QUARTER, SIXTEENTH, Lines, encode  # noqa: E402

# Text faces of training. EB Garamond, Lato and Libertinus Serif (with which our own press prints) are held out.
FACES = ["edwin-roman", "edwin-italic", "edwin-bold", "edwin-bold-italic", "academico", "academico-bold",
         "LiberationSerif-Regular", "LiberationSerif-Italic", "LiberationSerif-Bold", "LiberationSerif-BoldItalic", "LiberationSans-Regular",
         "LiberationSans-Bold", "LiberationSans-Italic", "DejaVuSerif", "DejaVuSerif-Italic", "C059-Roman", "C059-Italic", "C059-Bold", "C059-BdIta",
         "P052-Roman", "P052-Italic", "P052-Bold", "P052-BoldItalic", "URWBookman-Light", "URWBookman-LightItalic", "URWBookman-Demi",
         "Caladea-Regular", "Caladea-Italic", "Caladea-Bold", "Carlito-Regular", "Carlito-Italic", "Carlito-Bold", "FreeSerif", "FreeSerifItalic",
         "FreeSerifBold", "FreeSerifBoldItalic", "lmroman10-regular", "lmroman10-italic", "lmroman10-bold", "Gentium-R", "Gentium-I",
         "NimbusSansNarrow-Regular", "URWGothic-Book", "Z003-MediumItalic"]
HELD_OUT_FACES = ["EBGaramond12-Regular", "EBGaramond12-Italic", "EBGaramond12-Bold", "Lato-Regular", "Lato-Bold", "LibertinusSerif-Regular",
                  "LibertinusSerif-Italic", "LibertinusSerif-Bold", "LibertinusSerif-BoldItalic"]
MOST = 24       # lines of one picture
LONGEST = 64    # characters of one line
# A note as a sign of its own, the same made for metronome marks, its head and flags. Source: SMuFL 1.4, Individual notes, Metronome marks.
NOTES = {QUARTER: (0xE1D5, 0xECA5, "black", 0), HALF: (0xE1D3, 0xECA3, "half", 0), EIGHTH: (0xE1D7, 0xECA7, "black", 1),
         SIXTEENTH: (0xE1D9, 0xECA9, "black", 2)}
ACCIDENTALS = {"♭": 0xE260, "♯": 0xE262, "♮": 0xE261}
LINES = Lines()
faces = FACES


class Pen:
    """Sets lines of text on a canvas and keeps where they stand."""

    def __init__(self, cv, rng, music):
        self.cv, self.rng, self.music = cv, rng, font(music)
        self.fallback = font("bravura")
        self.lines = []

    def sign(self, code):
        return self.music.glyph(code) or self.fallback.glyph(code)

    def run(self, text, size, face, track, slim):
        """[(glyph, x, scale x, scale y, dy)], advance; None where the face lacks a letter."""
        f, x, out = font(face), 0.0, []
        for c in text:
            if c in NOTES or c in ACCIDENTALS:
                if c in NOTES:
                    code, small, head, flags = NOTES[c]
                    k = size * self.note_size
                    g = (self.sign(small) if self.small_note else self.sign(code)) if self.whole_note else None
                    if g:
                        out.append((g, x - g[1] * k, k, k, self.note_drop * size))
                        x += (g[3] - g[1]) * k + .25 * size
                    else:
                        x = self.built(out, x, head, flags, k) + .25 * size
                else:
                    g, k = self.sign(ACCIDENTALS[c]), size * .72
                    out.append((g, x - g[1] * k, k, k, -.55 * size))
                    x += (g[3] - g[1]) * k + .15 * size
                continue
            g = f.glyph(ord(c))
            if g is None:
                return None, 0
            out.append((g, x, size * slim, size, 0))
            x += g[5] * size * slim + track
        return out, x

    def built(self, out, x, head, flags, k):
        """A note of head, stem and flags where the font has no whole one."""
        g = self.sign({"black": 0xE0A4, "half": 0xE0A3}[head])
        out.append((g, x - g[1] * k, k, k, -.5 * k))
        sx = x + (g[3] - g[1]) * k
        h = self.stem * k
        out.append((([np.array([(-.07, -h), (.07, -h), (.07, 0), (-.07, 0)])], -.07, -h, .07, 0, .14), sx - .07, 1, 1, -.6 * k))
        if flags:
            fl = self.sign(0xE240 if flags == 1 else 0xE242)
            if fl:
                out.append((fl, sx - .07, k, k, -.6 * k - h))
                sx += fl[3] * k * .8
        return sx

    def line(self, text, x, y, size, face, framed=False, anchor=0.0, track=0.0, slim=1.0, label=True):
        """Baseline at y; `size` in ems of four spaces; `anchor` 0 left, .5 middle, 1 right. Returns the box or None."""
        rng = self.rng
        self.whole_note, self.note_size, self.note_drop = rng.random() < .5, rng.uniform(.62, 1.0), rng.uniform(-.3, .1)
        self.small_note = rng.random() < .5
        self.stem = rng.uniform(2.4, 3.6)
        run, w = self.run(text, size, face, track, slim)
        if run is None:
            return None
        x -= anchor * w
        x0 = y0 = np.inf
        x1 = y1 = -np.inf
        for g, gx, kx, ky, dy in run:
            if not g[0]:
                continue
            x0, x1 = min(x0, x + gx + g[1] * kx), max(x1, x + gx + g[3] * kx)
            y0, y1 = min(y0, y + dy + g[2] * ky), max(y1, y + dy + g[4] * ky)
        if not np.isfinite(x0):
            return None
        for g, gx, kx, ky, dy in run:
            self.cv.glyph(g, x + gx, y + dy, ky, kx)
        box = (x0, y0, x1, y1)
        if framed:
            box = self.frame(box)
        if label:
            said = f"⟦{text}⟧" if framed else text
            self.lines.append((box, said, framed))
        return box

    def frame(self, b):
        rng, t = self.rng, self.rng.uniform(.08, .22)
        px, py = rng.uniform(.25, .8), rng.uniform(.2, .6)
        x0, y0, x1, y1 = b[0] - px, b[1] - py, b[2] + px, b[3] + py
        if rng.random() < .25:
            cx, cy, rx, ry = (x0 + x1) / 2, (y0 + y1) / 2, (x1 - x0) / 2 * 1.25, (y1 - y0) / 2 * 1.25
            r = max(rx, ry) if rng.random() < .7 else None
            rx, ry = (r, r) if r else (rx, ry)
            a = np.linspace(0, 2 * np.pi, 48)
            ring = lambda d: np.stack([cx + (rx + d) * np.cos(a), cy + (ry + d) * np.sin(a)], 1)
            self.cv.fill([ring(0), ring(t)[::-1]])
            return cx - rx - t, cy - ry - t, cx + rx + t, cy + ry + t
        for p, q, r, s in ((x0, y0, x1, y0), (x0, y1, x1, y1), (x0, y0, x0, y1), (x1, y0, x1, y1)):
            self.cv.line(p - (t / 2 if q == s else 0), q, r + (t / 2 if q == s else 0), s, t)
        return x0 - t / 2, y0 - t / 2, x1 + t / 2, y1 + t / 2


def size_of(text, size, face):
    f = font(face)
    return sum((f.glyph(ord(c)) or (0, 0, 0, 0, 0, 2.0))[5] for c in text) * size


def furniture(sy):
    """In place of `own_draw.furniture`: more words, each remembered."""
    rng, s = sy.rng, sy.s
    pen = sy.pen = Pen(sy.cv, rng, s.font)
    look = look_of(rng)
    if rng.random() < .5:
        put(sy, pen, LINES.number(rng), rng.uniform(-.5, 1), look["number"], rng.uniform(.3, .5), True, framed=rng.random() < .05)
    dense = rng.choice([.02, .05, .1, .18, .3])
    if rng.random() < .55:
        size = look["size"] * rng.uniform(1.0, 1.35)
        put(sy, pen, LINES.tempo(rng), rng.uniform(-1, 4), look["tempo"], size, True)
    for it in sy.items:
        if rng.random() < dense:
            k = rng.random()
            if k < .12:
                put(sy, pen, LINES.rehearsal(rng), it.x, look["mark"], rng.uniform(.45, .8), True, framed=rng.random() < .75)
            elif k < .2:
                put(sy, pen, LINES.number(rng), it.x, look["number"], rng.uniform(.3, .45), rng.random() < .8)
            elif k < .4:
                put(sy, pen, LINES.tempo(rng), it.x, look["tempo"], look["size"] * 1.15, True)
            else:
                put(sy, pen, LINES.beside(rng), it.x + rng.uniform(-1, 1), look["word"] if rng.random() < .85 else rng.choice(faces), look["size"] * rng.uniform(.85, 1.1),
                    rng.random() < .5)
    if rng.random() < .05:
        y = max(4.5, min(9, sy.bot.max() + 2))
        face = rng.choice(faces)
        for e in sy.order:
            if not e.grace and not e.rest and not e.voice2:
                pen.line(rng.choice(["la", "do", "the", "and", "light", "ri", "ver", "A", "men", "sing", "tu", "so", "ve"]), e.x, y, .45, face)


def look_of(rng):
    """The faces and size of one edition."""
    pick = lambda *ends: rng.choice([f for f in faces if any(e in f for e in ends)] or faces)
    return {"word": pick("Italic", "italic", "-I", "BdIta") if rng.random() < .8 else rng.choice(faces), "tempo": pick("Bold", "bold", "Demi") if rng.random() < .7 else rng.choice(faces),
            "number": rng.choice(faces), "mark": pick("Bold", "bold", "Sans", "Demi"), "size": rng.uniform(.4, .66)}


def put(sy, pen, text, x, face, size, over, framed=False):
    if not encode(text) or len(text) > LONGEST - 4:
        return
    rng = sy.rng
    w, h = size_of(text, size, face), size * (4.4 if framed else 3)
    if x + w > sy.width_total + 3:
        x = sy.width_total + 2 - w - rng.uniform(0, 2)
        if x < -2:
            return
    far = rng.uniform(.1, .8) if rng.random() < .8 else rng.uniform(.8, 4)
    y = sy.above(x - .6, x + w + .6, h, far) if over else sy.below(x - .6, x + w + .6, h, far)
    pen.line(text, x, y + (size * 3 if framed else size * 2.4), size, face, framed, track=rng.uniform(-.02, .06) if rng.random() < .4 else 0,
             slim=rng.uniform(.88, 1.12) if rng.random() < .3 else 1)


def head(rng):
    """A stretch of page without a staff, or with one at its edge."""
    width = rng.uniform(62, 118)
    cv = Canvas(width)
    pen = Pen(cv, rng, rng.choice(own.MUSIC_FONTS))
    if rng.random() < .4:
        # The staff looks in from below or above.
        top = rng.choice([rng.uniform(8, 13), rng.uniform(-16, -9)])
        for n in range(5):
            cv.rect(1.4, top + n - .06, width - 1.4, top + n + .06)
    y = TOP + rng.uniform(.5, 4)
    small = rng.random() < .3
    while y < BOTTOM - 1:
        size = rng.uniform(.34, .55) if small else rng.choice([rng.uniform(.35, .6), rng.uniform(.6, 1.3), rng.uniform(.4, .7)])
        h = size * 3.2
        for _ in range(rng.choice([1, 1, 1, 2, 3])):
            text = rng.choice([LINES.title, LINES.title, LINES.sentence, LINES.tempo, LINES.term, LINES.beside])(rng)
            face = rng.choice(faces)
            if not encode(text) or len(text) > LONGEST - 4:
                continue
            w = size_of(text, size, face)
            if w > width - 4:
                continue
            anchor = rng.choice([0, .5, 1])
            x = {0: rng.uniform(1, 6), .5: width / 2 + rng.uniform(-2, 2), 1: width - rng.uniform(1, 6)}[anchor]
            box = (x - anchor * w - 1.5, x + (1 - anchor) * w + 1.5)
            if any(b[1] < y + h + .3 and b[3] > y - .3 and b[0] < box[1] and b[2] > box[0] for b, _, _ in pen.lines):
                continue
            pen.line(text, x, y + size * 2.4, size, face, anchor=anchor, framed=rng.random() < .02)
        y += h + rng.uniform(.15, 3)
    return cv.image(), pen.lines, 0.0


CATCH = []


def draw_caught(sy):
    out = PLAIN_DRAW(sy)
    CATCH.append((out[0], sy.pen.lines, out[4]))
    return out


own_draw.furniture = furniture
PLAIN_DRAW = own_draw.draw_system
own_draw.draw_system = draw_caught


def pictures(rng):
    """Some pictures with their lines: (picture, [(box in pixels, text)])."""
    import data
    CATCH.clear()
    if rng.random() < .25:
        got = [head(rng)]
    else:
        line = data.line_for(rng, {"none"}, rng.randrange(5, 22))
        style = own.Style(rng)
        style.words = style.marks = 0
        style.lyrics = style.bar_numbers = False
        own.systems(rng, line, style=style)
        got = list(CATCH)
    out = []
    for im, lines, margin in got:
        kept = []
        for (x0, y0, x1, y1), text, _ in lines:
            b = ((x0 + margin) * PX, y0 * PX + CENTRE, (x1 + margin) * PX, y1 * PX + CENTRE)
            kept.append((b, text))
        out.append((im, kept))
    return out


def pack(picture, width):
    """Arrays of one picture: ink, boxes, characters, lengths; a line cut by the picture's edge has length 0 (not to be judged)."""
    im, lines = picture
    if im.shape[1] > width:
        return None
    im = np.pad(im, ((0, 0), (0, width - im.shape[1])))
    boxes = np.zeros((MOST, 4), np.float32)
    chars = np.zeros((MOST, LONGEST), np.uint8)
    lens = np.full(MOST, -1, np.int16)
    for k, (b, text) in enumerate(lines[:MOST]):
        ids = encode(text)
        inside = b[1] >= 2 and b[3] <= HEIGHT - 3 and b[0] >= 0 and b[2] < width
        boxes[k] = b
        lens[k] = len(ids) if inside and ids and len(ids) <= LONGEST else 0
        if lens[k] > 0:
            chars[k, :lens[k]] = ids
    if len(lines) > MOST:
        return None
    return im, boxes, chars, lens


if __name__ == "__main__":
    import cv2
    rng = random.Random(int(sys.argv[1]))
    for n in range(int(sys.argv[2])):
        for k, (im, lines) in enumerate(pictures(rng)):
            im = cv2.cvtColor(255 - im, cv2.COLOR_GRAY2BGR)
            for (x0, y0, x1, y1), text in lines:
                cv2.rectangle(im, (int(x0), int(y0)), (int(x1), int(y1)), (0, 0, 255), 1)
            cv2.imwrite(f"{sys.argv[3]}/w{n}-{k}.png", im)
            print(n, k, im.shape, [t for _, t in lines])
