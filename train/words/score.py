"""How much of the text is found and read right, in faces and a music font that no training picture was set in?

    python words/score.py OUT/words.pt [--pictures 400] [--seed 77] [--json FILE]

Found: a line whose box overlaps the true one by half (intersection over union). Error of characters: insertions, deletions and
substitutions over the characters printed, lines that were not found counted whole. `clean`, and `treated` as in training.
"""

import argparse
import collections
import json
import os
import random
import sys

import numpy as np
import torch
from scipy import ndimage

sys.path[:0] = [os.path.dirname(os.path.abspath(__file__)), os.path.dirname(os.path.dirname(os.path.abspath(__file__)))]

import make  # noqa: E402
import nets  # noqa: E402
import own  # noqa: E402
import train as T  # noqa: E402
from degrade import level  # noqa: E402
from vocabulary import CHARS, decode  # noqa: E402

SURE = .5


def lines_of(map3):
    """Boxes (x0, y0, x1, y1) and how sure, from the finder's answer for one picture [3, 60, width / 4]. The press does the same."""
    p = 1 / (1 + np.exp(-map3[0]))
    lab, n = ndimage.label(p > SURE, np.ones((3, 3)))
    out = []
    for k in range(1, n + 1):
        ys, xs = np.nonzero(lab == k)
        if len(ys) < 2:
            continue
        w = p[ys, xs]
        cy = ys * 4 + 1.5
        y0 = (w * (cy - 8 * map3[1, ys, xs])).sum() / w.sum()
        y1 = (w * (cy + 8 * map3[2, ys, xs])).sum() / w.sum()
        h = y1 - y0
        if h < 4:
            continue
        m = .15 * h
        out.append(((xs.min() * 4 - .5 - m, y0, xs.max() * 4 + 3.5 + m, y1), float(w.mean())))
    return out


def overlap(a, b):
    w, h = min(a[2], b[2]) - max(a[0], b[0]), min(a[3], b[3]) - max(a[1], b[1])
    if w <= 0 or h <= 0:
        return 0.0
    return w * h / ((a[2] - a[0]) * (a[3] - a[1]) + (b[2] - b[0]) * (b[3] - b[1]) - w * h)


def distance(a, b):
    d = list(range(len(b) + 1))
    for i, x in enumerate(a, 1):
        prev, d[0] = d[0], i
        for j, y in enumerate(b, 1):
            prev, d[j] = d[j], min(d[j] + 1, d[j - 1] + 1, prev + (x != y))
    return d[-1]


@torch.no_grad()
def spell(speller, x, boxes, owner, dev):
    out = []
    for k in range(0, len(boxes), 128):
        s = speller(T.cut(x, boxes[k:k + 128], owner[k:k + 128])).float().softmax(-1)
        best, ids = s.max(-1)
        for b, i in zip(best.cpu().numpy(), ids.cpu().numpy()):
            sure = float(np.exp(np.mean(np.log(b[i > 0])))) if (i > 0).any() else 0.0
            out.append((decode(i), sure))
    return out


def main():
    p = argparse.ArgumentParser()
    p.add_argument("model")
    p.add_argument("--pictures", type=int, default=400)
    p.add_argument("--seed", type=int, default=77)
    p.add_argument("--json")
    p.add_argument("--show", type=int, default=12)
    a = p.parse_args()
    dev = "cuda" if torch.cuda.is_available() else "cpu"
    got = torch.load(a.model, map_location=dev)
    finder, speller = nets.Finder().to(dev).eval(), nets.Speller().to(dev).eval()
    for m, k in ((finder, "finder"), (speller, "speller")):
        m.load_state_dict({n: v.float() if v.dtype.is_floating_point else v for n, v in got[k].items()})
    make.faces = make.HELD_OUT_FACES
    own.MUSIC_FONTS = ["leland"]
    rng = random.Random(a.seed)
    items = []
    while len(items) < a.pictures:
        for pic in make.pictures(rng):
            for w in T.windows(rng, pic):
                packed = make.pack(w, T.WIDTH)
                if packed is not None:
                    items.append((packed, [t for _, t in w[1]]))
    items = items[:a.pictures]
    table, wrong = {}, []
    for how in ("clean", "treated"):
        torch.manual_seed(5)
        treat = T.Treat(dev, 5)
        c = collections.Counter()
        for k in range(0, len(items), 32):
            part = items[k:k + 32]
            x = torch.from_numpy(np.stack([i[0][0] for i in part])).to(dev).unsqueeze(1).float() / 255
            boxes = torch.from_numpy(np.stack([i[0][1] for i in part])).to(dev)
            lens = torch.from_numpy(np.stack([i[0][3] for i in part])).to(dev).long()
            if how == "clean":
                x = level(x)
            else:
                treat.neighbours = lambda x, b, l, _: (x, b, l)
                x, boxes, lens, _ = treat(x, boxes, lens, 1.0)
            with torch.no_grad():
                maps = finder(x).float().cpu().numpy()
            found = [lines_of(m) for m in maps]
            owner = torch.tensor([n for n, f in enumerate(found) for _ in f], device=dev, dtype=torch.long)
            bx = torch.tensor([b for f in found for b, _ in f], device=dev, dtype=torch.float32).view(-1, 4)
            said = spell(speller, x, bx, owner, dev) if len(bx) else []
            at = 0
            for n, (f, (packed, texts)) in enumerate(zip(found, part)):
                mine = said[at:at + len(f)]
                at += len(f)
                used = set()
                true = [(boxes[n, q].cpu().numpy(), texts[q]) for q in range(len(texts)) if lens[n, q] > 0]
                loose = [boxes[n, q].cpu().numpy() for q in range(len(texts)) if lens[n, q] == 0]
                for box, text in true:
                    c["lines"] += 1
                    c["characters"] += len(text)
                    best = max(((overlap(box, b), q) for q, (b, _) in enumerate(f) if q not in used), default=(0, None))
                    if best[0] < .5:
                        c["character errors"] += len(text)
                        wrong.append((how, text, None))
                        continue
                    used.add(best[1])
                    c["found"] += 1
                    read, sure = mine[best[1]]
                    d = distance(text, read)
                    c["character errors"] += d
                    c["exact"] += read == text
                    c["sure"] += sure > .9
                    c["sure and wrong"] += sure > .9 and read != text
                    if d:
                        wrong.append((how, text, read))
                c["too many"] += sum(q not in used and not any(overlap(b, z) > .1 for z in loose) for q, (b, _) in enumerate(f))
        c["pictures"] = len(items)
        table[how] = dict(c)
        print(f"{how}: {c['found']} of {c['lines']} lines found ({100 * c['found'] / c['lines']:.1f} %), {c['too many']} too many on {len(items)} pictures; "
              f"characters wrong {100 * c['character errors'] / c['characters']:.2f} %, lines exact {100 * c['exact'] / c['lines']:.1f} %; "
              f"sure {c['sure']}, of them wrong {c['sure and wrong']}", flush=True)
    for w in random.Random(1).sample(wrong, min(a.show, len(wrong))):
        print("  ", w)
    if a.json:
        json.dump({"table": table, "wrong": wrong}, open(a.json, "w"), indent=1, ensure_ascii=False)


if __name__ == "__main__":
    main()
