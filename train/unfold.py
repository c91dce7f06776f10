"""How is training taken up again from the model that was shipped? Batch norm, folded into its convolution on export, is unfolded.

    python unfold.py MODEL.onnx OUT.pt            with MODEL.norms.npz beside it, written by export.py
    python unfold.py MODEL.onnx OUT.pt --measure  without it: the statistics are measured on pages of this moment
    python unfold.py MODEL.onnx OUT.pt --check    and hold what came out against the shipped model

A folded convolution gives y = w' x + b'. Any norm with the mean m and variance v of w' x, gain sqrt(v + eps) and shift b' + m gives
the same y in use, and almost the same while learning, where m and v are each batch's own. A filter's length says nothing to what
comes out behind a norm, but how fast it learns: `scale` gives it back (without the file, the length a fresh filter has).
"""

import argparse
import math
import os

import numpy as np
import onnx
import torch
from onnx import numpy_helper

import net
from train import MODEL


def pairs(model):
    """(convolution, norm) names in the order of the network."""
    out = []
    for n, m in model.named_modules():
        if isinstance(m, torch.nn.BatchNorm2d):
            head, _, last = n.rpartition(".")
            out.append((f"{head}.{ {'bn': 'dw', 'bn2': 'b', '1': '0'}[last] }", n))
    return out


def stored(path):
    """Numbers of the file by the name of the module that uses them: {module: [weight, bias]}, and those with names of their own."""
    g = onnx.load(path).graph
    ini = {t.name.removesuffix("_half"): numpy_helper.to_array(t).astype(np.float32) for t in g.initializer}
    use = {}
    for node in g.node:
        if node.op_type not in ("Conv", "MatMul"):
            continue
        got = [ini[i] for i in node.input if i in ini]
        if got:
            # "/c1/c1.1/dw/Conv" is the module c1.1.dw.
            parts = node.name.strip("/").split("/")[:-1]
            name = ""
            for p in parts:
                name = p if name and p.startswith(name + ".") else (f"{name}.{p}" if name else p)
            use[name] = got if node.op_type == "Conv" else [got[0].T]
    return use, ini


def folded(path):
    """The network with its norms as they are in use: gain and shift only, mean 0 and variance 1."""
    use, ini = stored(path)
    model = net.Reader(**MODEL).eval()
    sd = model.state_dict()
    norm_of = dict(pairs(model))
    left = set(sd)

    def put(k, a):
        if tuple(sd[k].shape) != tuple(a.shape):
            raise SystemExit(f"{k}: the file has {a.shape}, the network {tuple(sd[k].shape)}")
        sd[k] = torch.from_numpy(np.array(a))
        left.discard(k)
    for name, got in use.items():
        put(name + ".weight", got[0])
        if name in norm_of:
            n = norm_of[name]
            put(n + ".bias", got[1])
            put(n + ".weight", np.full(len(got[1]), math.sqrt(1 + 1e-5), np.float32))
            put(n + ".running_mean", np.zeros(len(got[1]), np.float32))
            put(n + ".running_var", np.ones(len(got[1]), np.float32))
            left.discard(n + ".num_batches_tracked")
        elif len(got) > 1:
            put(name + ".bias", got[1])
    for k in list(left):
        if k in ini:
            put(k, ini[k])
    if left:
        raise SystemExit(f"not in the file: {sorted(left)}")
    model.load_state_dict(sd)
    return model


def pictures(n, seed, strong=1.0):
    """Generated systems, ill-treated as for training: [n, 1, 240, 1216] and their labels."""
    import random

    import data
    from degrade import Degrade
    rng, items = random.Random(seed), []
    fns = [f for _, f, _ in data.SOURCES]
    while len(items) < n:
        try:
            got = fns[len(items) % 3](random.Random(rng.getrandbits(60)))
        except Exception:  # as in training: a line that one library can't set is passed over
            continue
        items += [p for p in map(data.pack, got) if p is not None and p[0].shape[1] == 1216][:4]
    im, rows, ax, bc, bx, lens = data.collate(items[:n])
    x, xs = Degrade("cpu", seed)(im.unsqueeze(1).float() / 255, [ax, bx[0], bx[1]], strong)
    return x, rows, xs, bc, lens


def measure(model, x, batch=16):
    """Mean and variance of what each folded convolution gives, over all places of all pictures."""
    sums, hooks = {}, []
    for c, n in pairs(model):
        def hook(_, __, y, n=n):
            y = y.double()
            s = torch.stack([y.sum((0, 2, 3)), y.square().sum((0, 2, 3))])
            k = y.numel() / y.shape[1]
            old = sums.get(n, (0, 0))
            sums[n] = (old[0] + s, old[1] + k)
        hooks.append(model.get_submodule(c).register_forward_hook(hook))
    with torch.no_grad():
        for i in range(0, len(x), batch):
            model(x[i:i + batch])
    for h in hooks:
        h.remove()
    out = {}
    for n, (s, k) in sums.items():
        mean = s[0] / k
        out[n + ".mean"], out[n + ".var"] = mean.float().numpy(), (s[1] / k - mean ** 2).clamp(min=0).float().numpy()
    return out


def norms_of(model):
    """What unfolding will need, from a network that still has its norms: mean and variance of the folded convolution, and each filter's scale."""
    out = {}
    for _, n in pairs(model):
        b = model.get_submodule(n)
        g = (b.weight / torch.sqrt(b.running_var + b.eps)).detach()
        out[n + ".mean"], out[n + ".var"] = (b.running_mean * g).numpy(), (b.running_var * g * g).numpy()
        # A filter that its norm has all but silenced comes back no longer than it is stored.
        out[n + ".scale"] = torch.where(g.abs() > 1e-3, 1 / g, torch.ones_like(g)).numpy()
    return {k: v.astype(np.float32) for k, v in out.items()}


def unfold(model, norms):
    """Norms with these statistics; what the network gives stays the same."""
    sd = model.state_dict()
    for c, n in pairs(model):
        w = sd[c + ".weight"]
        mean, var = torch.from_numpy(norms[n + ".mean"]), torch.from_numpy(norms[n + ".var"])
        if n + ".scale" in norms:
            s = torch.from_numpy(norms[n + ".scale"])
        else:
            # As long as torch draws a fresh filter: uniform within 1 / sqrt(fan in).
            fan = w[0].numel()
            rms = w.square().mean((1, 2, 3)).sqrt()
            s = (1 / math.sqrt(3 * fan)) / rms.clamp(min=1e-4 / math.sqrt(fan))
        sd[c + ".weight"] = w * s.view(-1, 1, 1, 1)
        sd[n + ".running_mean"], sd[n + ".running_var"] = mean * s, var * s * s
        sd[n + ".weight"] = torch.sqrt(var * s * s + 1e-5) / s
        sd[n + ".bias"] = sd[n + ".bias"] + mean
    model.load_state_dict(sd)
    return model


def check(model, path, n=20):
    """Greatest difference to the shipped file on n pictures, and the loss in use and while learning."""
    import onnxruntime

    from train import losses
    x, rows, (xa, xb, xc), bc, lens = pictures(n, 4242)
    run = onnxruntime.InferenceSession(path, providers=["CPUExecutionProvider"])
    with torch.no_grad():
        y = model.eval()(x)
    ref = torch.from_numpy(np.concatenate([run.run(None, {"ink": x[i:i + 1].numpy()})[0] for i in range(n)]))
    print("greatest difference", float((y - ref).abs().max()), "of scores up to", float(ref.abs().max()),
          "; another best answer on", int((y.argmax(-1) != ref.argmax(-1)).sum()), "of", y.shape[0] * y.shape[1], "frames")
    for mode in (False, True):
        model.train(mode)
        with torch.no_grad():
            A, BC = losses(model(x), rows, xa, bc, torch.stack([xb, xc]), lens)
        print("loss", "while learning" if mode else "in use", f"A {float(A):.4f} BC {float(BC):.4f}")
    model.eval()


def main():
    p = argparse.ArgumentParser()
    p.add_argument("onnx")
    p.add_argument("out")
    p.add_argument("--measure", action="store_true")
    p.add_argument("--pictures", type=int, default=192)
    p.add_argument("--check", action="store_true")
    a = p.parse_args()
    beside = a.onnx.replace(".onnx", ".norms.npz")
    model = folded(a.onnx)
    if a.measure:
        norms = measure(model, pictures(a.pictures, 77)[0])
        np.savez_compressed(a.out.replace(".pt", "") + ".norms.npz", **norms)
    elif os.path.exists(beside):
        norms = dict(np.load(beside))
    else:
        raise SystemExit(f"{beside} is not there: --measure makes its like from pages of this moment")
    model = unfold(model, norms)
    torch.save({"model": model.state_dict(), "config": MODEL}, a.out)
    if a.check:
        check(model, a.onnx)


if __name__ == "__main__":
    main()
