"""How is the reader trained? One run: generators feed a pool, the GPU degrades and learns, and the
model's running average is written out from time to time.

    python train.py --minutes 22 --out OUT [--workers 14] [--seed 20261126] [--resume model.pt] [--gpus 2]

With several GPUs each has generators and a pool of its own, and gradients are averaged at every step.
A checkpoint of a smaller network may be resumed: what is new starts as a layer that changes nothing.
"""

import argparse
import json
import math
import multiprocessing as mp
import os
import queue
import random
import threading
import time

import torch
import torch.distributed as dist

import ctc
import data
import net
from degrade import Degrade

MODEL = dict(widths=(32, 48, 96, 160), blocks=(2, 3, 3), d=256, layers=6, block="mix")


def to_device(batch, dev):
    return [x.to(dev, non_blocking=True) for x in batch]


def guide_of(x, frames, sigma=2.2, floor=-10.0):
    """How far each frame is from where the event stands, as a log-weight. x in pixels, [.., L] → [.., T, L]."""
    t = torch.arange(frames, device=x.device, dtype=torch.float32).view(*([1] * (x.dim() - 1)), frames, 1)
    d = (t + .5 - x.unsqueeze(-2) / net.STRIDE) / sigma
    return (-.5 * d * d).clamp(min=floor)


def losses(y, rows, xa, bc, xbc, lens):
    """Losses of the three streams for raw scores y."""
    la, lb, lc = net.split(y)
    cols = torch.zeros(*rows.shape[:2], net.A_COLS, device=y.device)
    r = rows.long()
    for i, o in enumerate(net.OFFSETS):
        cols.scatter_(-1, r[..., i:i + 1] + o, 1.0)
    n = sum(net.SIZES)
    f = r[..., len(net.SIZES):].float()
    cols[..., n:n + net.N_FLAGS] = f
    cols[..., n + net.N_FLAGS:] = 1 - f
    emit = torch.bmm(la, cols.transpose(1, 2))
    main = r[..., 0]
    same = torch.zeros_like(main, dtype=torch.bool)
    same[:, 1:] = main[:, 1:] == main[:, :-1]
    T = y.shape[1]
    A, lla = ctc.loss(emit, la[..., 0], same, lens[0], guide_of(xa, T))
    b = bc.long()
    eb = torch.cat([lb.gather(2, b[0][:, None].expand(-1, T, -1)), lc.gather(2, b[1][:, None].expand(-1, T, -1))])
    blank = torch.cat([lb[..., 0], lc[..., 0]])
    ids = torch.cat([b[0], b[1]])
    sm = torch.zeros_like(ids, dtype=torch.bool)
    sm[:, 1:] = ids[:, 1:] == ids[:, :-1]
    BC, llb = ctc.loss(eb, blank, sm, torch.cat([lens[1], lens[2]]), guide_of(torch.cat([xbc[0], xbc[1]]), T, 3.0))
    return A, BC


class Ema:
    def __init__(self, model):
        self.m = {k: v.detach().clone() for k, v in model.state_dict().items()}

    @torch.no_grad()
    def step(self, model, k):
        src = model.state_dict()
        f = [n for n, v in self.m.items() if v.dtype.is_floating_point]
        torch._foreach_lerp_([self.m[n] for n in f], [src[n] for n in f], 1 - k)
        for n, v in self.m.items():
            if not v.dtype.is_floating_point:
                v.copy_(src[n])


def feeder(pool, q, seed, size, pin):
    rng = random.Random(seed)
    while True:
        b = pool.batch(rng, size)
        if b is None:
            time.sleep(.2)
            continue
        q.put([x.pin_memory() for x in b] if pin else b)


def listen(errq, log):
    while True:
        log("generator", errq.get())


def grow(model, old):
    """Loads a checkpoint; blocks that it lacks are silenced, so that the larger network begins as the smaller one."""
    own = model.state_dict()
    fresh = [k for k in own if k not in old]
    model.load_state_dict({k: (old[k].float() if old[k].dtype.is_floating_point else old[k]) for k in own if k in old}, strict=False)
    for k, v in model.named_parameters():
        if k in fresh and (k.endswith(("o.weight", "o.bias", "p2.weight", "p2.bias", "f2.weight", "f2.bias", "bn2.weight", "bn2.bias"))):
            v.data.zero_()
    return fresh


def average(params, world):
    """Gradients of all GPUs, averaged in one message."""
    gs = [q.grad for q in params if q.grad is not None]
    flat = torch._utils._flatten_dense_tensors(gs)
    dist.all_reduce(flat)
    flat.div_(world)
    torch._foreach_copy_(gs, torch._utils._unflatten_dense_tensors(flat, gs))


def profile(prof, log):
    """Where does the time of six steps go? Begun at the first call, told at the second."""
    if prof is None:
        prof = torch.profiler.profile(activities=[torch.profiler.ProfilerActivity.CUDA, torch.profiler.ProfilerActivity.CPU])
        prof.start()
        return prof
    torch.cuda.synchronize()
    prof.stop()
    log("six steps", prof.key_averages().table(sort_by="self_cuda_time_total", row_limit=24, max_name_column_width=60))
    return None


def quicker(model, dev, size, log):
    """The network as it is or compiled, whichever takes less time for a step of each width; its numbers stay as they were."""
    kept = {k: v.clone() for k, v in model.state_dict().items()}
    shapes = [(max(8, int(size * 1024 / w) // 8 * 8), 1, 240, w) for w in data.BUCKETS]

    def times(f):
        out = []
        for s in shapes:
            x = (torch.rand(s, device=dev) < .1).float().contiguous(memory_format=torch.channels_last)
            for n in (4, 6):
                torch.cuda.synchronize()
                t = time.time()
                for _ in range(n):
                    with torch.autocast(dev, dtype=torch.bfloat16):
                        y = f(x)
                    y.float().square().mean().backward()
                    model.zero_grad(set_to_none=True)
                torch.cuda.synchronize()
                t = (time.time() - t) / n
            out.append(round(t * 1000, 1))
        return out
    try:
        plain = times(model)
        log("milliseconds of a step's network, as it is", plain)
        t = time.time()
        made = torch.compile(model, dynamic=False)
        got = times(made)
        log("compiled", got, "in", round(time.time() - t), "s")
        best = made if sum(got) < .95 * sum(plain) else model
    except Exception as e:  # no compiler, or one that fails: the network as it is does the same
        log("not compiled:", type(e).__name__, str(e)[:300])
        best = model
    model.load_state_dict(kept)
    return best


def main():
    p = argparse.ArgumentParser()
    p.add_argument("--minutes", type=float, default=20)
    p.add_argument("--out", default="out")
    p.add_argument("--workers", type=int, default=12)
    p.add_argument("--seed", type=int, default=20261126)
    p.add_argument("--batch", type=int, default=128)
    p.add_argument("--lr", type=float, default=1.2e-3)
    p.add_argument("--pool", type=int, default=330000)
    p.add_argument("--cpu", action="store_true")
    p.add_argument("--resume")
    p.add_argument("--sources", default="")
    p.add_argument("--profile", action="store_true", help="say once where the time goes")
    p.add_argument("--beside", type=float, default=.5, help="weight of the streams beside the staff")
    p.add_argument("--gpus", type=int, default=1)
    p.add_argument("--compile", action="store_true", help="fuse the network's small steps, where that is faster")
    p.add_argument("--warm", type=int, default=400, help="steps until the rate is reached")
    p.add_argument("--gentle", type=int, default=4, help="one step in so many sees gently treated pages")
    a = p.parse_args()
    if a.gpus == 1:
        return run(a, 0)
    kids = [mp.Process(target=run, args=(a, k)) for k in range(a.gpus)]
    for k in kids:
        k.start()
    for k in kids:
        k.join()


def run(a, rank):
    os.makedirs(a.out, exist_ok=True)
    lf = open(os.path.join(a.out, f"train{rank or ''}.log"), "a")
    world = a.gpus
    if world > 1:
        os.environ.update(MASTER_ADDR="127.0.0.1", MASTER_PORT="29511", RANK=str(rank), WORLD_SIZE=str(world))

    def log(*s):
        if rank and not str(s[0]).startswith("generator"):
            return
        line = time.strftime("%H:%M:%S ") + " ".join(str(x) for x in s)
        print(line, flush=True)
        print(line, file=lf, flush=True)
    errq = mp.Queue()
    pool = data.Pool(a.pool)
    mix = [(n, w) for n, _, w in data.SOURCES if not a.sources or n in a.sources.split(",")]
    procs = [mp.Process(target=data.worker, args=(a.seed + 1000 * k + 500 * rank, pool, errq, mix), daemon=True)
             for k in range(a.workers)]
    for q in procs:
        q.start()
    dev = "cpu" if a.cpu else f"cuda:{rank}"
    if not a.cpu:
        torch.cuda.set_device(rank)
    if world > 1:
        dist.init_process_group("gloo" if a.cpu else "nccl")
    torch.manual_seed(a.seed)
    torch.set_num_threads(3)
    torch.backends.cuda.matmul.allow_tf32 = True
    torch.backends.cudnn.allow_tf32 = True
    torch.backends.cudnn.benchmark = True
    threading.Thread(target=listen, args=(errq, log), daemon=True).start()
    bq = queue.Queue(maxsize=6)
    for k in range(1 if a.cpu else 2):
        threading.Thread(target=feeder, args=(pool, bq, a.seed + k + 70 * rank, a.batch, not a.cpu), daemon=True).start()
    model = net.Reader(**MODEL).to(dev)
    if not a.cpu:
        model = model.to(memory_format=torch.channels_last)
    if a.resume:
        log("new in the network", len(grow(model, torch.load(a.resume, map_location=dev)["model"])))
    log("parameters", sum(q.numel() for q in model.parameters()))
    decay, plain = [], []
    for n, q in model.named_parameters():
        (decay if q.dim() > 1 else plain).append(q)
    opt = torch.optim.AdamW([{"params": decay, "weight_decay": .03}, {"params": plain, "weight_decay": 0}], lr=a.lr, betas=(.9, .98), fused=not a.cpu)
    ema = Ema(model)
    deg = Degrade(dev, a.seed + 7 * rank)
    params = list(model.parameters())
    if not a.cpu:
        torch.manual_seed(a.seed + rank)
    fast = quicker(model, dev, a.batch, log) if a.compile else model
    first = bq.get()
    if world > 1:
        dist.barrier()
    start, step, seen, prof, since = time.time(), 0, 0, None, 0
    total = a.minutes * 60
    last, lsum, bsum, k = time.time(), 0.0, 0.0, 0
    good, calm = {n: v.clone() for n, v in ema.m.items()}, 1.0
    while True:
        t = (time.time() - start) / total
        if world > 1 and step % 10 == 0:
            # All stop at the same step: the first one's clock counts.
            clock = torch.tensor([t], device=dev)
            dist.broadcast(clock, 0)
            t = float(clock)
        if (t >= 1) if world == 1 else (step % 10 == 0 and t >= 1):
            break
        lr = calm * a.lr * min(1, (step - since + 1) / a.warm) * (.02 + .98 * .5 * (1 + math.cos(math.pi * min(1, t))))
        for g in opt.param_groups:
            g["lr"] = lr
        im, rows, ax, bc, bx, lens = to_device(first if first is not None else bq.get(), dev)
        first = None
        with torch.no_grad():
            x = im.unsqueeze(1).float() / 255
            # Clean print is read too, and is what most pages are.
            x, (xa, xb, xc) = deg(x, [ax, bx[0], bx[1]], 1.0 if step % a.gentle else .3)
        with torch.autocast(dev, dtype=torch.bfloat16, enabled=not a.cpu):
            y = fast(x.contiguous(memory_format=torch.channels_last) if not a.cpu else x)
        A, BC = losses(y, rows, xa, bc, torch.stack([xb, xc]), lens)
        loss = A + a.beside * BC
        opt.zero_grad(set_to_none=True)
        loss.backward()
        if world > 1:
            average(params, world)
        gn = torch.nn.utils.clip_grad_norm_(model.parameters(), 2.0)
        if not a.cpu:
            # The fused step skips itself where a gradient is not finite, without waiting for the GPU.
            opt.found_inf = (~torch.isfinite(gn)).float()
        opt.step()
        step += 1
        if a.profile and rank == 0 and step in (300, 306):
            prof = profile(prof, log)
        seen += len(im) * world
        ema.step(model, min(.9995, (1 + step) / (20 + step)))
        if step % 50 == 0:
            now = A.detach().float().nan_to_num(1e9)
            if world > 1:
                # All go back together: the worst of them decides.
                dist.all_reduce(now, dist.ReduceOp.MAX)
            now = float(now)
            lsum, bsum, k = lsum + now, bsum + float(BC.detach()), k + 1
            if now > 3 and a.resume:
                # It ran away: back to the last good average, more slowly, and plain from then on.
                log("ran away at step", step, "A", now)
                model.load_state_dict(good)
                ema = Ema(model)
                opt.state.clear()
                calm, since, fast = calm * .6, step, model
            elif now < 1 and step % 250 == 0:
                good = {n: v.clone() for n, v in ema.m.items()}
        if step % 100 == 0 or (a.cpu and step % 5 == 0):
            log(f"step {step} t {t:.3f} A {lsum / max(k, 1):.4f} BC {bsum / max(k, 1):.4f} samples {seen} {seen / (time.time() - start):.0f}/s pool {pool.n()} {pool.counts()} lr {lr:.2e} queue {bq.qsize()}")
            lsum = bsum = 0.0
            k = 0
        if rank == 0 and time.time() - last > 60:
            last = time.time()
            save(a, ema, step, seen, pool)
    if rank == 0:
        save(a, ema, step, seen, pool)
    log("done", step, seen)
    for q in procs:
        q.terminate()


def save(a, ema, step, seen, pool):
    t = os.path.join(a.out, "model.pt.part")
    torch.save({"model": {k: v.cpu().half() if v.dtype.is_floating_point else v.cpu() for k, v in ema.m.items()}, "config": MODEL, "step": step, "samples": seen, "seed": a.seed}, t)
    os.replace(t, os.path.join(a.out, "model.pt"))
    with open(os.path.join(a.out, "train.json"), "w") as f:
        json.dump({"seed": a.seed, "steps": step, "samples": seen, "unique_systems": pool.n(), "by_source": pool.counts(),
                   "minutes": a.minutes, "config": MODEL, "date": time.strftime("%Y-%m-%d")}, f, indent=1)


if __name__ == "__main__":
    main()
