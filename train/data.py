"""Where do training systems come from? Worker processes, each with its own seed, one source after another."""

import os
import random
import traceback

import numpy as np

import labels as L
from canvas import HEIGHT

BUCKETS = [640, 832, 1024, 1216, 1408, 1600]
MAX_A, MAX_BC = 192, 32
VEROVIO_FONTS = ["Bravura", "Leipzig", "Gootville", "Petaluma"]


def pack(s):
    """(picture, A, B, C, margin) → arrays, or None where it fits no bucket or says nothing."""
    if s is None:
        return None
    im, A, B, C, _ = s
    if im.shape[1] > BUCKETS[-1] or not 2 <= len(A) <= MAX_A or len(B) > MAX_BC or len(C) > MAX_BC:
        return None
    w = next(b for b in BUCKETS if b >= im.shape[1])
    im = np.pad(im, ((0, 0), (0, w - im.shape[1])))
    rows = np.stack([r for _, r in A])
    ax = np.array([x for x, _ in A], np.float32) * 10
    f = lambda t: (np.array([r for _, r in t], np.int16), np.array([x for x, _ in t], np.float32) * 10)
    return (im, rows, ax, *f(B), *f(C))


def line_for(rng, feats=None, nbars=None):
    """A random or a corpus line."""
    from music import Gen
    g = Gen(rng, rng.random() ** 1.3, feats)
    if rng.random() < .2:
        import corpus
        line = corpus.line(rng, g)
        if line is not None:
            return line
    return g.line(nbars or rng.randrange(6, 30))


def own_systems(rng, fonts=None):
    import own
    line = line_for(rng, {"none"})
    return own.systems(rng, line, fonts)


def verovio_systems(rng, fonts=VEROVIO_FONTS):
    import mei
    import svg
    return svg.generate(rng, line_for(rng, mei.OFF_FEATURES, rng.randrange(16, 44)), rng.choices(fonts, [1 if f != "Petaluma" else .4 for f in fonts])[0])


def vexflow_systems(rng, fonts=("Bravura", "Gonville", "Petaluma")):
    import vex
    return vex.generate(rng, line_for(rng, vex.OFF_FEATURES, rng.randrange(10, 30)), rng.choices(fonts, [1, 1, .4])[0])


SOURCES = [("own", own_systems, .50), ("verovio", verovio_systems, .28), ("vexflow", vexflow_systems, .22)]


def worker(seed, out, mix=None):
    """Endless batches of packed systems into the queue `out`; a line that fails is counted, not fatal."""
    os.nice(5)
    import cv2
    cv2.setNumThreads(1)
    rng = random.Random(seed)
    names = mix or [(n, w) for n, _, w in SOURCES]
    fns = {n: f for n, f, _ in SOURCES}
    errs = {}
    while True:
        name = rng.choices([n for n, _ in names], [w for _, w in names])[0]
        try:
            got = fns[name](random.Random(rng.getrandbits(60)))
        except Exception as e:  # a generator's bug must not stop the run; the log shows how many
            k = f"{name}: {type(e).__name__}: {str(e)[:60]}"
            errs[k] = errs.get(k, 0) + 1
            if errs[k] == 1:
                out.put(("error", k + "\n" + traceback.format_exc()[-700:], 0))
            continue
        none = sum(s is None for s in got)
        items = [p for p in map(pack, got) if p is not None]
        out.put((name, items, none))


class Pool:
    """Everything generated so far, by width; batches are drawn at random."""

    def __init__(self, cap):
        self.cap = cap
        self.im = {b: [] for b in BUCKETS}
        self.n = 0
        self.seen = {}
        self.rejected = {}

    def add(self, name, items, none, rng):
        self.seen[name] = self.seen.get(name, 0) + len(items)
        self.rejected[name] = self.rejected.get(name, 0) + none
        for it in items:
            b = it[0].shape[1]
            if self.n < self.cap:
                self.im[b].append(it)
                self.n += 1
            elif self.im[b]:
                self.im[b][rng.randrange(len(self.im[b]))] = it

    def batch(self, rng, size):
        sizes = [len(self.im[b]) for b in BUCKETS]
        b = rng.choices(BUCKETS, sizes)[0]
        k = max(8, int(size * 1024 / b) // 8 * 8)
        return collate([self.im[b][rng.randrange(len(self.im[b]))] for _ in range(k)])


def collate(items):
    """Arrays of one width; lengths padded to multiples of 32 so that shapes repeat."""
    n = len(items)
    im = np.stack([i[0] for i in items])
    la = max(32, -(-max(len(i[1]) for i in items) // 32) * 32)
    rows = np.zeros((n, la, L.ROW), np.int16)
    ax = np.zeros((n, la), np.float32)
    bc = np.zeros((2, n, MAX_BC), np.int16)
    bx = np.zeros((2, n, MAX_BC), np.float32)
    lens = np.zeros((3, n), np.int64)
    for k, (_, r, x, b, xb, c, xc) in enumerate(items):
        rows[k, :len(r)], ax[k, :len(r)] = r, x
        bc[0, k, :len(b)], bx[0, k, :len(b)] = b, xb
        bc[1, k, :len(c)], bx[1, k, :len(c)] = c, xc
        lens[:, k] = len(r), len(b), len(c)
    return im, rows, ax, bc, bx, lens


assert HEIGHT % 8 == 0
