"""How are finder and speller trained? Together, on one stream of pictures: generators feed a pool, the GPU ill-treats pages as for the
reader of signs, the finder learns hearts of lines, the speller learns the lines cut out where they stand.

    python words/train.py --minutes 9 --out OUT [--workers 14] [--seed 20261126] [--resume OUT/words.pt]
"""

import argparse
import json
import math
import multiprocessing as mp
import os
import queue
import random
import sys
import threading
import time
import traceback

import numpy as np
import torch
import torch.nn.functional as F

sys.path[:0] = [os.path.dirname(os.path.abspath(__file__)), os.path.dirname(os.path.dirname(os.path.abspath(__file__)))]

import make  # noqa: E402
import nets  # noqa: E402
from degrade import Degrade, level  # noqa: E402

WIDTH = 1024


def shared(shape, dtype):
    import mmap
    n = int(np.prod(shape)) * np.dtype(dtype).itemsize
    return np.frombuffer(mmap.mmap(-1, n), dtype).reshape(shape)


class Pool:
    def __init__(self, cap):
        self.cap, self.lock, self.count, self.made = cap, mp.Lock(), mp.Value("l", 0), mp.Value("l", 0)
        self.arr = [shared((cap, 240, WIDTH), np.uint8), shared((cap, make.MOST, 4), np.float32), shared((cap, make.MOST, make.LONGEST), np.uint8),
                    shared((cap, make.MOST), np.int16), shared((cap,), np.uint8)]

    def put(self, item, rng):
        with self.lock:
            i = self.count.value
            if i < self.cap:
                self.count.value = i + 1
            else:
                i = rng.randrange(self.cap)
            self.made.value += 1
        self.arr[4][i] = 0
        for a, v in zip(self.arr, item):
            a[i] = v
        self.arr[4][i] = 1

    def batch(self, rng, n):
        c = self.count.value
        if c < min(2000, self.cap // 2):
            return None
        idx = []
        while len(idx) < n:
            i = rng.randrange(c)
            if self.arr[4][i]:
                idx.append(i)
        idx = sorted(idx)
        return [torch.from_numpy(a[idx]) for a in self.arr[:4]]


def windows(rng, picture):
    """Cuts wide pictures to the width; what is cut is not judged."""
    im, lines = picture
    if im.shape[1] <= WIDTH:
        return [picture]
    x = rng.randrange(0, im.shape[1] - WIDTH + 1)
    moved = [((b[0] - x, b[1], b[2] - x, b[3]), t) for b, t in lines if b[2] > x and b[0] < x + WIDTH]
    return [(im[:, x:x + WIDTH], moved)]


def worker(seed, pool, errq):
    os.nice(10)
    import cv2
    cv2.setNumThreads(1)
    rng = random.Random(seed)
    said = set()
    while True:
        try:
            for p in make.pictures(random.Random(rng.getrandbits(60))):
                for q in windows(rng, p):
                    got = make.pack(q, WIDTH)
                    if got is not None and (max(got[3]) >= 0 or rng.random() < .3):
                        pool.put(got, rng)
        except Exception as e:  # a generator's bug must not stop the run
            what = f"{type(e).__name__}: {str(e)[-80:]}"
            if what not in said:
                said.add(what)
                errq.put(what + "\n" + traceback.format_exc()[-600:])


class Treat:
    """Ill-treatment of pictures and their boxes."""

    def __init__(self, dev, seed):
        self.d, self.dev = Degrade(dev, seed), dev

    def neighbours(self, x, boxes, lens, p):
        d, b = self.d, len(x)
        out, more, mlens = x, [boxes], [lens]
        for sign in (1, -1):
            perm = torch.randperm(b, device=self.dev, generator=d.gen)
            dy = sign * torch.randint(135, 235, (b,), device=self.dev, generator=d.gen)
            on = d.on(b, p)
            rows = torch.arange(240, device=self.dev).view(1, 240) - dy.view(b, 1)
            ok = (rows >= 0) & (rows < 240)
            g = x[perm][:, 0].gather(1, rows.clamp(0, 239).unsqueeze(-1).expand(b, 240, WIDTH)) * ok.unsqueeze(-1)
            out = torch.maximum(out, g.unsqueeze(1) * on)
            nb = boxes[perm] + torch.stack([dy * 0, dy, dy * 0, dy], -1).unsqueeze(1)
            whole = (nb[..., 1] > 2) & (nb[..., 3] < 237)
            nl = torch.where(lens[perm] > 0, torch.where(whole, 1, 0), lens[perm])
            nl = torch.where((on.view(b, 1) > 0) & (nb[..., 3] > 0) & (nb[..., 1] < 240), nl, torch.full_like(nl, -1))
            more.append(nb)
            mlens.append(nl)
        return out, torch.cat(more, 1), torch.cat(mlens, 1)

    def warp(self, x, boxes):
        d, b = self.d, len(x)
        on = d.on(b, .9)
        sx = 1 + on * d.u(b, -.09, .09)
        sy = sx * (1 + on * d.u(b, -.04, .04))
        dx, dy, rot = on * d.u(b, -8, 12), on * d.u(b, -4, 4), on * d.u(b, -.011, .011)
        amp, ph, fr = on * d.u(b, -2, 2), d.u(b, 0, 6.28), d.u(b, .3, 1.4)
        yy = torch.arange(240, device=self.dev, dtype=torch.float32).view(1, 240, 1)
        xx = torch.arange(WIDTH, device=self.dev, dtype=torch.float32).view(1, 1, WIDTH)
        v = lambda t: t.view(b, 1, 1)
        lift = lambda at: v(rot) * (at - WIDTH / 2) + v(amp) * torch.sin(v(fr) * 6.28 * at / WIDTH + v(ph))
        srcx = (xx - v(dx)) / v(sx)
        srcy = 112 + (yy - 112 - v(dy) - lift(xx)) / v(sy)
        grid = torch.stack([srcx.expand(b, 240, WIDTH) / (WIDTH - 1) * 2 - 1, srcy / 239 * 2 - 1], -1)
        y = F.grid_sample(x, grid, mode="bilinear", padding_mode="zeros", align_corners=True)
        v1 = lambda t: t.view(b, 1)
        x0, x1 = boxes[..., 0] * v1(sx) + v1(dx), boxes[..., 2] * v1(sx) + v1(dx)
        mid = ((x0 + x1) / 2).unsqueeze(1)
        up = lift(mid)[:, 0]
        y0, y1 = (112 + (boxes[..., k] - 112) * v1(sy) + v1(dy) + up for k in (1, 3))
        return y, torch.stack([x0, y0, x1, y1], -1)

    @torch.no_grad()
    def __call__(self, x, boxes, lens, strong):
        d, s, own = self.d, strong, boxes.shape[1]
        x, boxes, lens = self.neighbours(x, boxes, lens, .55 * s)
        x = d.ink(x, .45 * s)
        x, boxes = self.warp(x, boxes)
        x = d.dirt(d.fade(x, .2 * s), .3 * s)
        x = d.low(x, .4 * s, lo=.6)
        on = d.on(len(x), .4 * s)
        x = x * (1 - on) + d.blur(x, d.u(len(x), .4, 1.1)) * on
        x = d.bilevel(d.jpeg(d.light(x, .5 * s), .35 * s), .15 * s)
        # A line that has left the picture by the warp is not judged.
        out = (boxes[..., 1] < 0) | (boxes[..., 3] > 239) | (boxes[..., 0] < 0) | (boxes[..., 2] > WIDTH - 1)
        lens = torch.where((lens > 0) & out, torch.zeros_like(lens), lens)
        return level(x), boxes, lens, own


def targets(boxes, lens):
    """Heart, distances to top and bottom, and what isn't judged, on cells of four pixels."""
    b, k, _ = boxes.shape
    dev = boxes.device
    cy = torch.arange(60, device=dev).view(1, 1, 60, 1) * 4 + 1.5
    cx = torch.arange(WIDTH // 4, device=dev).view(1, 1, 1, -1) * 4 + 1.5
    x0, y0, x1, y1 = (boxes[..., i].view(b, k, 1, 1) for i in range(4))
    h, w = y1 - y0, x1 - x0
    m = torch.minimum(.15 * h, w / 4)
    yc = (y0 + y1) / 2
    within_y = (cy - yc).abs() <= torch.maximum(nets.HEART * h, torch.full_like(h, 2.0))
    core = within_y & (cx >= x0 + m) & (cx <= x1 - m) & (lens > 0).view(b, k, 1, 1)
    skip = (cy >= y0 - 2) & (cy <= y1 + 2) & (cx >= x0 - 2) & (cx <= x1 + 2) & (lens == 0).view(b, k, 1, 1)
    heart = core.any(1)
    which = core.float().argmax(1)
    pick = lambda t: torch.gather(t[:, :, 0, 0].expand(b, k), 1, which.view(b, -1)).view_as(which)
    up, down = (cy[0, :, :, :] - pick(y0)) / 8, (pick(y1) - cy[0, :, :, :]) / 8
    # Around a heart nothing is judged: where exactly it ends doesn't matter.
    near = F.max_pool2d(heart.float().unsqueeze(1), (1, 3), 1, (0, 1))[:, 0] > 0
    return heart, up, down, (skip.any(1) | near) & ~heart


def cut(x, boxes, owner, rng=None):
    """Lines at their boxes, brought to 32 rows: [n, 1, 32, 640]. With `rng` the boxes are as inexact as a finder's."""
    n, dev = len(boxes), x.device
    x0, y0, x1, y1 = boxes.unbind(-1)
    h = y1 - y0
    u = (lambda a, b: torch.rand(n, device=dev) * (b - a) + a) if rng else (lambda a, b: torch.full((n,), (a + b) / 2, device=dev))
    y0, y1 = y0 - u(nets.OVER - .16, nets.OVER + .16) * h, y1 + u(nets.OVER - .16, nets.OVER + .16) * h
    x0, x1 = x0 - u(nets.BESIDE - .2, nets.BESIDE + .2) * h, x1 + u(nets.BESIDE - .2, nets.BESIDE + .2) * h
    mid, tall = (y0 + y1) / 2, torch.clamp(y1 - y0, min=nets.ROWS / nets.MOST_ZOOM)
    zoom = nets.ROWS / tall
    wide = (x1 - x0) * zoom
    squeeze = torch.clamp(wide / nets.WIDEST, min=1)
    r = (torch.arange(nets.ROWS, device=dev) + .5).view(1, -1, 1)
    c = (torch.arange(nets.WIDEST, device=dev) + .5).view(1, 1, -1)
    v = lambda t: t.view(n, 1, 1)
    sy = v(mid) + (r - nets.ROWS / 2) / v(zoom) - .5
    sx = v(x0) + c / v(zoom) * v(squeeze) - .5
    grid = torch.stack([(sx / (x.shape[3] - 1) * 2 - 1).expand(n, nets.ROWS, nets.WIDEST), (sy / (x.shape[2] - 1) * 2 - 1).expand(n, nets.ROWS, nets.WIDEST)], -1)
    out = F.grid_sample(x[owner], grid, mode="bilinear", padding_mode="zeros", align_corners=True)
    return out * (c <= v(wide / squeeze)).unsqueeze(1)


def main():
    p = argparse.ArgumentParser()
    p.add_argument("--minutes", type=float, default=9)
    p.add_argument("--out", default="out")
    p.add_argument("--workers", type=int, default=13)
    p.add_argument("--seed", type=int, default=20261126)
    p.add_argument("--batch", type=int, default=64)
    p.add_argument("--lines", type=int, default=224)
    p.add_argument("--lr", type=float, default=1.6e-3)
    p.add_argument("--pool", type=int, default=160000)
    p.add_argument("--resume")
    p.add_argument("--cpu", action="store_true")
    a = p.parse_args()
    os.makedirs(a.out, exist_ok=True)
    lf = open(os.path.join(a.out, "words.log"), "a")

    def log(*s):
        line = time.strftime("%H:%M:%S ") + " ".join(str(x) for x in s)
        print(line, flush=True)
        print(line, file=lf, flush=True)
    pool, errq = Pool(a.pool), mp.Queue()
    procs = [mp.Process(target=worker, args=(a.seed + 1000 * k, pool, errq), daemon=True) for k in range(a.workers)]
    for q in procs:
        q.start()
    threading.Thread(target=lambda: [log("generator", errq.get()) for _ in iter(int, 1)], daemon=True).start()
    dev = "cpu" if a.cpu else "cuda"
    torch.manual_seed(a.seed)
    torch.set_num_threads(3)
    torch.backends.cudnn.benchmark = True
    torch.backends.cuda.matmul.allow_tf32 = torch.backends.cudnn.allow_tf32 = True
    finder, speller = nets.Finder().to(dev), nets.Speller().to(dev)
    if a.resume:
        old = torch.load(a.resume, map_location=dev)
        for m, name in ((finder, "finder"), (speller, "speller")):
            if name in old:
                m.load_state_dict({k: v.float() if v.dtype.is_floating_point else v for k, v in old[name].items()})
    log("parameters", sum(q.numel() for q in finder.parameters()), sum(q.numel() for q in speller.parameters()))
    params = list(finder.parameters()) + list(speller.parameters())
    opt = torch.optim.AdamW([{"params": [q for q in params if q.dim() > 1], "weight_decay": .03}, {"params": [q for q in params if q.dim() < 2], "weight_decay": 0}], lr=a.lr, betas=(.9, .98))
    mean = [{k: v.detach().clone() for k, v in m.state_dict().items()} for m in (finder, speller)]
    treat, bq = Treat(dev, a.seed), queue.Queue(maxsize=6)

    def feed(seed):
        rng = random.Random(seed)
        while True:
            b = pool.batch(rng, a.batch)
            if b is None:
                time.sleep(.2)
            else:
                bq.put([t if a.cpu else t.pin_memory() for t in b])
    for k in range(2):
        threading.Thread(target=feed, args=(a.seed + k,), daemon=True).start()
    first = bq.get()
    if not a.cpu:
        finder, speller = finder.to(memory_format=torch.channels_last), speller.to(memory_format=torch.channels_last)
    start, step, seen, sums = time.time(), 0, 0, [0.0] * 4
    while True:
        t = (time.time() - start) / (a.minutes * 60)
        if t >= 1:
            break
        lr = a.lr * min(1, (step + 1) / 300) * (.02 + .98 * .5 * (1 + math.cos(math.pi * t)))
        for g in opt.param_groups:
            g["lr"] = lr
        im, boxes, chars, lens = (z.to(dev, non_blocking=True) for z in (first or bq.get()))
        first = None
        lens = lens.long()
        x, bx, ln, own = treat(im.unsqueeze(1).float() / 255, boxes, lens, 1.0 if step % 4 else .3)
        with torch.no_grad():
            heart, up, down, skip = targets(bx, ln)
        fit = (ln[:, :own] > 0) & (lens > 0)
        owner, which = fit.nonzero(as_tuple=True)
        # Always as many lines: a batch of a new size would be measured anew (cudnn.benchmark).
        sel = torch.randperm(max(len(owner), a.lines), device=dev)[:a.lines] % max(len(owner), 1)
        owner, which = owner[sel], which[sel]
        with torch.no_grad():
            crops = cut(x, bx[owner, which], owner, True)
        with torch.autocast(dev, dtype=torch.bfloat16, enabled=not a.cpu):
            f = finder(x)
            s = speller(crops)
        f, s = f.float(), s.float()
        w = (~skip).float()
        bce = F.binary_cross_entropy_with_logits(f[:, 0], heart.float(), reduction="none") * w
        pr = torch.sigmoid(f[:, 0]) * w
        dice = 1 - (2 * (pr * heart).sum() + 1) / (pr.sum() + heart.sum() + 1)
        n = heart.sum().clamp(min=1)
        reg = ((F.smooth_l1_loss(f[:, 1], up, reduction="none", beta=.1) + F.smooth_l1_loss(f[:, 2], down, reduction="none", beta=.1)) * heart).sum() / n
        ctc = F.ctc_loss(F.log_softmax(s, -1).transpose(0, 1), chars[owner, which].long(), torch.full((len(owner),), s.shape[1], device=dev), lens[owner, which],
                         zero_infinity=True, reduction="mean")
        loss = bce.mean() * 8 + dice * .5 + reg * .5 + ctc
        opt.zero_grad(set_to_none=True)
        loss.backward()
        gn = torch.nn.utils.clip_grad_norm_(params, 2.0)
        if torch.isfinite(gn):
            opt.step()
        step += 1
        seen += len(im)
        k = min(.9993, (1 + step) / (20 + step))
        with torch.no_grad():
            for m, src in zip(mean, (finder.state_dict(), speller.state_dict())):
                names = [q for q, v in m.items() if v.dtype.is_floating_point]
                torch._foreach_lerp_([m[q] for q in names], [src[q] for q in names], 1 - k)
                for q, v in m.items():
                    if not v.dtype.is_floating_point:
                        v.copy_(src[q])
        if step % 25 == 0:
            sums = [p_ + float(q.detach()) for p_, q in zip(sums, (bce.mean(), dice, reg, ctc))]
        if step in (20, 60, 120):
            log("step", step, f"{time.time() - start:.1f} s")
        if step % 250 == 0 or (a.cpu and step % 5 == 0):
            log(f"step {step} t {t:.3f} heart {sums[0] / 10:.4f} dice {sums[1] / 10:.3f} reach {sums[2] / 10:.4f} spell {sums[3] / 10:.4f} pictures {seen} {seen / (time.time() - start):.0f}/s made {pool.made.value} lr {lr:.2e} queue {bq.qsize()}")
            sums = [0.0] * 4
    half = lambda m: {k: v.cpu().half() if v.dtype.is_floating_point else v.cpu() for k, v in m.items()}
    torch.save({"finder": half(mean[0]), "speller": half(mean[1]), "steps": step, "pictures": seen, "seed": a.seed}, os.path.join(a.out, "words.pt"))
    json.dump({"minutes": a.minutes, "seed": a.seed, "lr": a.lr, "steps": step, "pictures": seen, "made": pool.made.value, "date": time.strftime("%Y-%m-%d")},
              open(os.path.join(a.out, "words.json"), "w"), indent=1)
    log("done", step, seen)
    for q in procs:
        q.terminate()


if __name__ == "__main__":
    main()
