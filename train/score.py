"""How many signs does it read wrongly, on pages it never saw? One fixed script for every set.

    python score.py make SETS.npz            sets of the held-out font (needs verovio): 210 pages by the first library
    python score.py read MODEL SET.npz [--how clean|tilted|phone|lowres|hard] [--json OUT]

Symbol error rate: insertions, deletions and substitutions of whole events (every answer of the event right)
over the events printed, the three streams together. A bar is right when every event of its three streams is.
"""

import argparse
import collections
import json
import os
import random
import sys

import cv2
import numpy as np
import torch

import data
import labels as L
import net
from degrade import Degrade, level, preset

NF = len(net.SIZES)


def decode(la, lb, lc):
    """Rows of A and symbols of B and C for one system, each with its frame and log-probability."""
    out = []
    n = net.SIZES[0]
    main = la[:, :n].argmax(1)
    t = 0
    T = len(main)
    while t < T:
        m = main[t]
        if m == 0:
            t += 1
            continue
        e = t
        while e + 1 < T and main[e + 1] == m:
            e += 1
        k = t + int(la[t:e + 1, m].argmax())
        r = np.zeros(L.ROW, np.int16)
        r[0] = m
        lp = la[k, m]
        for i in range(1, NF):
            o, s = net.OFFSETS[i], net.SIZES[i]
            r[i] = la[k, o:o + s].argmax()
            lp += la[k, o:o + s].max()
        o = sum(net.SIZES)
        on, off = la[k, o:o + net.N_FLAGS], la[k, o + net.N_FLAGS:]
        r[NF:] = on > off
        lp += np.maximum(on, off).sum()
        out.append((k, r, lp))
        t = e + 1
    res = [out]
    for l in (lb, lc):
        s, q = [], l.argmax(1)
        t = 0
        while t < T:
            if q[t] and (t == 0 or q[t] != q[t - 1]):
                s.append((t, int(q[t]), float(l[t, q[t]])))
            t += 1
        res.append(s)
    return res


def align(ref, hyp, same, near):
    """Edit script: (ref index or None, hyp index or None) pairs; `near` breaks ties toward alike events."""
    n, m = len(ref), len(hyp)
    D = np.zeros((n + 1, m + 1))
    D[:, 0], D[0] = np.arange(n + 1), np.arange(m + 1)
    C = np.ones((n, m))
    for i in range(n):
        for j in range(max(0, i - 40 - abs(n - m)), min(m, i + 41 + abs(n - m))):
            C[i, j] = 0 if same(ref[i], hyp[j]) else near(ref[i], hyp[j])
    for i in range(1, n + 1):
        for j in range(1, m + 1):
            D[i, j] = min(D[i - 1, j - 1] + C[i - 1, j - 1], D[i - 1, j] + 1, D[i, j - 1] + 1)
    i, j, out = n, m, []
    while i or j:
        if i and j and D[i, j] == D[i - 1, j - 1] + C[i - 1, j - 1]:
            i, j = i - 1, j - 1
            out.append((i, j))
        elif i and D[i, j] == D[i - 1, j] + 1:
            i -= 1
            out.append((i, None))
        else:
            j -= 1
            out.append((None, j))
    return out[::-1]


def kind(r):
    n = L.MAIN[r[0]]
    if n.startswith("n"):
        return "grace" if r[L.FLAG_COL["grace"]] else "note"
    return n.split(":")[0]


PITCH = {"main", "acc"}
DURATION = {"dur", "dots", "tup", "tup2"}


class Tally:
    def __init__(self):
        self.n = collections.Counter()
        self.err = collections.Counter()
        self.conf = collections.Counter()
        self.bars = self.bars_ok = self.systems = self.systems_ok = 0
        self.events = self.errors = 0
        self.count = collections.Counter()

    def system(self, ref, hyp, rbars, total):
        """ref/hyp: [rows of A], [B], [C]; rbars: bar of each reference event, per stream."""
        wrong = set()
        errs = 0
        pairs = align(ref[0], hyp[0], lambda a, b: (a == b).all(), lambda a, b: .55 + .02 * min(20, (a != b).sum()) if a[0] == b[0] else .9 + .004 * min(20, (a != b).sum()))
        last = rbars[0][0] if len(rbars[0]) else 0
        for i, j in pairs:
            if i is not None:
                last = rbars[0][i]
                a = ref[0][i]
                k = kind(a)
                self.count[k] += 1
                for name, c in L.ATTR_COL.items():
                    if a[c]:
                        self.n[name] += 1
                for name, c in L.FLAG_COL.items():
                    if a[c]:
                        self.n[name] += 1
                self.n["main"] += 1
            if i is not None and j is not None:
                b = hyp[0][j]
                d = [name for name, c in [("main", 0), *L.ATTR_COL.items(), *L.FLAG_COL.items()] if a[c] != b[c]]
                if not d:
                    continue
                for name in d:
                    self.err[name] += 1
                    if name == "main":
                        self.conf[f"{L.MAIN[a[0]]} read as {L.MAIN[b[0]]}"] += 1
                    elif name in L.ATTR_ID:
                        v = dict(L.ATTRS)[name]
                        self.conf[f"{name} {v[a[L.ATTR_COL[name]]]} read as {v[b[L.ATTR_COL[name]]]} ({k})"] += 1
                    else:
                        self.conf[f"{name} {'missed' if a[L.FLAG_COL[name]] else 'seen where none is'} ({k})"] += 1
                if k in ("note", "grace") and PITCH & set(d):
                    self.err["pitch"] += 1
                if k in ("note", "grace", "rest") and DURATION & set(d):
                    self.err["duration"] += 1
            elif i is not None:
                self.err["missed " + k] += 1
                self.conf[f"{k} missed"] += 1
                if k in ("note", "grace"):
                    self.err["pitch"] += 1
                if k in ("note", "grace", "rest"):
                    self.err["duration"] += 1
            else:
                k = kind(hyp[0][j])
                self.err["added " + k] += 1
                self.conf[f"{k} added"] += 1
                if k in ("note", "grace"):
                    self.err["pitch"] += 1
                if k in ("note", "grace", "rest"):
                    self.err["duration"] += 1
            errs += 1
            wrong.add(last)
        self.events += len(ref[0])
        for s, voc in ((1, L.ROADS), (2, L.DYNAMICS)):
            last = rbars[s][0] if len(rbars[s]) else (rbars[0][0] if len(rbars[0]) else 0)
            for i, j in align(ref[s], hyp[s], lambda a, b: a == b, lambda a, b: .9):
                if i is not None:
                    last = rbars[s][i]
                    self.n[voc[ref[s][i]]] += 1
                if i is not None and j is not None and ref[s][i] == hyp[s][j]:
                    continue
                a = voc[ref[s][i]] if i is not None else None
                b = voc[hyp[s][j]] if j is not None else None
                self.err[a or b] += 1
                self.conf[f"{a} read as {b}" if a and b else f"{a} missed" if a else f"{b} added"] += 1
                errs += 1
                wrong.add(last)
            self.events += len(ref[s])
        self.errors += errs
        self.bars += total
        self.bars_ok += total - len(wrong)
        self.systems += 1
        self.systems_ok += errs == 0

    def report(self):
        notes = self.count["note"] + self.count["grace"]
        timed = notes + self.count["rest"]
        return {"events": self.events, "symbol_error": self.errors / max(1, self.events), "pitch_error": self.err["pitch"] / max(1, notes),
                "duration_error": self.err["duration"] / max(1, timed), "bars": self.bars, "bars_right": self.bars_ok / max(1, self.bars), "systems": self.systems,
                "systems_right": self.systems_ok / max(1, self.systems),
                "by_sign": {k: [int(self.err[k]), int(self.n.get(k, 0))] for k in sorted(self.err)}, "confusion": dict(self.conf.most_common(60))}


def load(path):
    z = np.load(path)
    png, out, p, a, b, c = z["png"].tobytes(), [], 0, 0, 0, 0
    for k in range(len(z["plen"])):
        im = cv2.imdecode(np.frombuffer(png[p:p + z["plen"][k]], np.uint8), 0)
        p += z["plen"][k]
        la, lb, lc = z["alen"][k], z["blen"][k], z["clen"][k]
        out.append((im, [z["a"][a:a + la], z["b"][b:b + lb], z["c"][c:c + lc]], [z["abar"][a:a + la], z["bbar"][b:b + lb], z["cbar"][c:c + lc]], int(z["page"][k])))
        a, b, c = a + la, b + lb, c + lc
    return out


def read_all(model, dev, ims, how, seed=5, batch=32, alone=False):
    """Scores for every picture, in the order given; pictures of like width go together."""
    d = Degrade(dev, seed)
    order = sorted(range(len(ims)), key=lambda i: ims[i].shape[1])
    res = [None] * len(ims)
    for s in range(0, len(order), batch):
        ids = order[s:s + batch]
        # Room on the right for what the treatments stretch and shift: nothing may leave the picture.
        w = -(-int(max(ims[i].shape[1] for i in ids) * 1.06 + 16) // 64) * 64
        x = np.zeros((len(ids), 1, 240, w), np.float32)
        for k, i in enumerate(ids):
            x[k, 0, :, :ims[i].shape[1]] = ims[i] / 255
        x = preset(d, torch.from_numpy(x).to(dev), how, alone)
        with torch.no_grad():
            la, lb, lc = net.split(model(x))
        for k, i in enumerate(ids):
            f = la.shape[1]
            res[i] = decode(la[k, :f].cpu().numpy(), lb[k, :f].cpu().numpy(), lc[k, :f].cpu().numpy())
    return res


def reader(path, dev):
    ck = torch.load(path, map_location="cpu")
    cfg = dict(ck["config"])
    m = net.Reader(**cfg)
    m.load_state_dict({k: v.float() if v.dtype.is_floating_point else v for k, v in ck["model"].items()})
    return m.eval().to(dev)


def read(model, path, how, dev, limit=None, verbose=0, alone=False):
    per = []
    items = load(path)[:limit]
    t = Tally()
    for (im, ref, bars, page), hyp in zip(items, read_all(model, dev, [i[0] for i in items], how, alone=alone)):
        e0 = t.errors
        h = [[r for _, r, _ in hyp[0]], [k for _, k, _ in hyp[1]], [k for _, k, _ in hyp[2]]]
        nb = sum(L.MAIN[r[0]].startswith("bar:") for r in ref[0])
        t.system(ref, h, bars, max(nb, 1))
        per.append([page, int(t.errors - e0), sum(map(len, ref))])
        if verbose and t.errors - e0:
            print(page, [L.show(a) for a in ref[0]], "\n  ", [L.show(a) for a in h[0]])
    return dict(t.report(), set=os.path.basename(path), how=how, pages=len({p for *_, p in items}), per_system=per)


def with_bars(s):
    """A packed engraver's system with the bar of each event instead of its x."""
    im, A, B, C, _ = s
    edges = [x for x, r in A if L.MAIN[r[0]].startswith("bar:")]
    bar = lambda x: int(np.searchsorted(edges, x - .3))
    last = max(0, len(edges) - 1)
    f = lambda t: [(min(last, bar(x)), r) for x, r in t]
    return im, (f(A), f(B), f(C))


def make_page(seed):
    """One page of one long line by the first library in the held-out font; every fourth from a held-out melody."""
    import corpus
    import mei
    import svg
    from music import Gen
    rng = random.Random(seed)
    g = Gen(rng, rng.random() ** 1.3, mei.OFF_FEATURES)
    line = corpus.line(rng, g, "held_out", 60) if rng.random() < .25 else None
    line = data.plain_slurs(line or g.line(rng.randrange(30, 60)))  # on paper a slur over two notes of one pitch is a tie
    return [s for s in svg.generate(rng, line, "Leland")]


def make(path, pages=210, seed=9001):
    from multiprocessing import Pool

    from heldout import save
    ims, labs, page, left = [], [], [], 0
    with Pool(int(os.environ.get("PROCS", os.cpu_count()))) as p:
        for k, ss in enumerate(p.imap(make_page, range(seed, seed + pages))):
            for s in ss:
                if s is None or s[0].shape[1] > data.BUCKETS[-1]:
                    left += 1
                    continue
                im, lab = with_bars(s)
                ims.append(im)
                labs.append(lab)
                page.append(k)
    save(path, ims, labs, page)
    print("systems", len(ims), "left out", left)


def main():
    p = argparse.ArgumentParser()
    p.add_argument("what", choices=["make", "read"])
    p.add_argument("paths", nargs="+")
    p.add_argument("--how", default="clean")
    p.add_argument("--json")
    p.add_argument("--limit", type=int)
    p.add_argument("--alone", action="store_true", help="the crops already show their neighbours: add none")
    p.add_argument("--pages", type=int, default=210)
    p.add_argument("--seed", type=int, default=9001, help="of the pages that are made")
    p.add_argument("--verbose", type=int, default=0)
    a = p.parse_args()
    if a.what == "make":
        return make(a.paths[0], a.pages, a.seed)
    dev = "cuda" if torch.cuda.is_available() else "cpu"
    model = reader(a.paths[0], dev)
    out = []
    for path in a.paths[1:]:
        for how in a.how.split(","):
            r = read(model, path, how, dev, a.limit, a.verbose, a.alone)
            out.append(r)
            print(f"{r['set']} {how}: pages {r['pages']} systems {r['systems']} events {r['events']} symbol error {r['symbol_error']:.4%} pitch {r['pitch_error']:.3%} "
                  f"duration {r['duration_error']:.3%} bars right {r['bars_right']:.2%} of {r['bars']}", flush=True)
            print("   ", list(r["confusion"].items())[:25], flush=True)
    if a.json:
        json.dump(out, open(a.json, "w"), indent=1)


if __name__ == "__main__":
    main()
