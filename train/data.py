"""Where do training systems come from? Worker processes, each with its own seed, one source after another."""

import mmap
import multiprocessing as mp
import os
import random
import traceback

import numpy as np

import labels as L
from canvas import HEIGHT

# A short last stage may ask for fewer widths: each costs the GPU a while to prepare for.
BUCKETS = [int(w) for w in os.environ.get("PAGE_WIDTHS", "768,1024,1216,1536").split(",")]
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
    # Harder than the held-out pages are: dense chords full of accidentals, many small signs.
    if rng.random() < .08:
        g.p_chord, g.p_chrom = rng.choice([.3, .7]), max(g.p_chrom, .3)
    if rng.random() < .1:
        g.p_orn = .25
    if rng.random() < .06:
        g.p_grace = .35
    if rng.random() < .3:
        g.p_hair, g.p_dyn = rng.choice([.12, .2, .3]), max(g.p_dyn, rng.choice([0, .08, .2]))
    g.hair_long = rng.random() < .2
    if rng.random() < .2:
        import corpus
        line = corpus.line(rng, g)
        if line is not None:
            return ends_within(rng, plain_slurs(line))
    return ends_within(rng, plain_slurs(g.line(nbars or rng.randrange(6, 30))))


def ends_within(rng, line):
    """A thin and a thick bar line stand at ends inside a piece too, without dots."""
    for b in line.bars:
        if b.right in ("double", "rep_end") and not b.volta_end and rng.random() < .3:
            b.right = "final"
    return line


def plain_slurs(line):
    """No slur over two notes of one pitch: on paper it is a tie, and which one was meant can't be learnt."""
    seq = [e for b in line.bars for v in b.voices[:1] for e in v]
    for a, b in zip(seq, seq[1:]):
        if a.slur_start and b.slur_end and not b.graces and not a.rest and not b.rest:
            if {h.dp for h in a.heads} & {h.dp for h in b.heads}:
                a.slur_start = b.slur_end = False
    return line


def own_systems(rng, fonts=None):
    import own
    line = line_for(rng, {"none"})
    return own.systems(rng, line, fonts)


def verovio_systems(rng, fonts=VEROVIO_FONTS):
    import mei
    import svg
    return svg.generate(rng, line_for(rng, mei.OFF_FEATURES, rng.randrange(16, 44)), rng.choices(fonts, [1 if f != "Petaluma" else .4 for f in fonts])[0],
                        swap=True)


def vexflow_systems(rng, fonts=("Bravura", "Gonville", "Petaluma")):
    import vex
    return vex.generate(rng, line_for(rng, vex.OFF_FEATURES, rng.randrange(10, 30)), rng.choices(fonts, [1, 1, .4])[0])


SOURCES = [("own", own_systems, .50), ("verovio", verovio_systems, .28), ("vexflow", vexflow_systems, .22)]


def worker(seed, pool, errq, mix=None):
    """Endless systems into the shared pool; a line that fails is reported once and counted, not fatal."""
    os.nice(10)
    import cv2
    cv2.setNumThreads(1)
    rng = random.Random(seed)
    names = mix or [(n, w) for n, _, w in SOURCES]
    fns = {n: f for n, f, _ in SOURCES}
    order = [n for n, _, _ in SOURCES]
    errs = set()
    while True:
        name = rng.choices([n for n, _ in names], [w for _, w in names])[0]
        k = order.index(name)
        try:
            got = fns[name](random.Random(rng.getrandbits(60)))
        except Exception as e:  # a generator's bug must not stop the run; the log shows how many
            pool.tally[3 * k + 2] += 1
            what = f"{name}: {type(e).__name__}: {str(e).strip()[-60:]}"
            if what not in errs:
                errs.add(what)
                errq.put(what + "\n" + traceback.format_exc()[-500:])
            continue
        items = [p for p in map(pack, got) if p is not None]
        pool.tally[3 * k] += len(items)
        pool.tally[3 * k + 1] += sum(s is None for s in got)
        for it in items:
            pool.put(it, rng)


SHARE = {768: .2, 1024: .32, 1216: .3, 1536: .18} if len(BUCKETS) == 4 else {b: 1 / len(BUCKETS) for b in BUCKETS}


class Pool:
    """Everything generated so far, by width, in memory shared with the workers; batches are drawn at random.

    When a width is full, new systems overwrite old ones at random."""

    def __init__(self, cap):
        self.cap = {b: max(16, int(cap * SHARE[b])) for b in BUCKETS}
        self.tally = mp.Array("l", 3 * len(SOURCES), lock=False)
        self.lock = mp.Lock()
        self.count = mp.Array("l", len(BUCKETS), lock=False)
        self.arr = {}
        for b in BUCKETS:
            n = self.cap[b]
            self.arr[b] = [shared((n, HEIGHT, b), np.uint8), shared((n, MAX_A, L.ROW), np.int16), shared((n, MAX_A), np.float32),
                           shared((n, 2, MAX_BC), np.int16), shared((n, 2, MAX_BC), np.float32), shared((n, 3), np.int64),
                           shared((n,), np.uint8)]

    def put(self, item, rng):
        im, r, x, b, xb, c, xc = item
        k = BUCKETS.index(im.shape[1])
        w = BUCKETS[k]
        with self.lock:
            i = self.count[k]
            if i < self.cap[w]:
                self.count[k] = i + 1
            else:
                i = rng.randrange(self.cap[w])
        a = self.arr[w]
        a[6][i] = 0
        a[0][i] = im
        a[1][i, :len(r)], a[1][i, len(r):], a[2][i, :len(r)] = r, 0, x
        for q, (ids, xs) in enumerate(((b, xb), (c, xc))):
            a[3][i, q, :len(ids)], a[3][i, q, len(ids):], a[4][i, q, :len(ids)] = ids, 0, xs
        a[5][i] = len(r), len(b), len(c)
        a[6][i] = 1

    def n(self):
        return sum(self.count)

    def counts(self):
        return {n: tuple(self.tally[3 * k:3 * k + 3]) for k, (n, _, _) in enumerate(SOURCES)}

    def batch(self, rng, size):
        import torch
        total = sum(self.cap.values())
        sizes = [c if c > min(300, total // 60) else 0 for c in self.count]
        if sum(self.count) < min(3000, total // 4) or not any(sizes):
            return None
        k = rng.choices(range(len(BUCKETS)), sizes)[0]
        w = BUCKETS[k]
        a = self.arr[w]
        n = max(8, int(size * 1024 / w) // 8 * 8)
        idx = []
        while len(idx) < n:
            i = rng.randrange(self.count[k])
            if a[6][i]:
                idx.append(i)
        idx = torch.tensor(sorted(idx))
        take = lambda j: torch.from_numpy(a[j]).index_select(0, idx)
        lens = take(5).T.contiguous()
        la = max(64, -(-int(lens[0].max()) // 64) * 64)
        return [take(0), take(1)[:, :la].contiguous(), take(2)[:, :la].contiguous(), take(3).transpose(0, 1).contiguous(),
                take(4).transpose(0, 1).contiguous(), lens]


def shared(shape, dtype):
    n = int(np.prod(shape)) * np.dtype(dtype).itemsize
    return np.frombuffer(mmap.mmap(-1, n), dtype).reshape(shape)


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
    import torch
    return [torch.from_numpy(a) for a in (im, rows, ax, bc, bx, lens)]


assert HEIGHT % 8 == 0
