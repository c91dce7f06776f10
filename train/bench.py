"""Where does a training step's time go? Times each piece on the GPU with made-up input."""

import time

import torch

import net
import train
from degrade import Degrade

torch.backends.cuda.matmul.allow_tf32 = True
torch.backends.cudnn.allow_tf32 = True
torch.backends.cudnn.benchmark = True


def clock(name, f, n=8):
    f()
    f()
    torch.cuda.synchronize()
    t = time.time()
    for _ in range(n):
        f()
    torch.cuda.synchronize()
    print(f"{name:28s} {(time.time() - t) / n * 1000:8.1f} ms", flush=True)


B, W, Lm = 128, 1024, 128
x = (torch.rand(B, 1, 240, W, device="cuda") < .1).float()
d = Degrade("cuda")
xs = [torch.rand(B, Lm, device="cuda") * W]
clock("neighbours", lambda: d.neighbours(x))
clock("ink", lambda: d.ink(x, 1))
clock("blur", lambda: d.blur(x, d.u(B, .5, 1)))
clock("warp", lambda: d.warp(x, xs))
clock("fade", lambda: d.fade(x, 1))
clock("low", lambda: d.low(x, .5))
clock("light", lambda: d.light(x, 1))
clock("jpeg", lambda: d.jpeg(x, 1))
clock("level", lambda: d.level(x))
clock("all degradations", lambda: d(x, xs))
rows = torch.zeros(B, Lm, net.L.ROW, dtype=torch.int16, device="cuda")
rows[..., 0] = torch.randint(1, 60, (B, Lm), device="cuda")
bc = torch.randint(1, 10, (2, B, 32), device="cuda").short()
lens = torch.stack([torch.full((B,), 90), torch.full((B,), 5), torch.full((B,), 9)]).cuda()
xa = torch.sort(torch.rand(B, Lm, device="cuda") * W).values
xbc = torch.sort(torch.rand(2, B, 32, device="cuda") * W).values
for name, kw in {"mix": dict(widths=(32, 48, 96, 160), blocks=(1, 2, 2), layers=5), "res": dict(widths=(24, 32, 64, 128), blocks=(1, 1, 1), layers=5, block="res"),
                 "res+": dict(widths=(24, 40, 72, 144), blocks=(1, 1, 1), layers=5, block="res")}.items():
    for cl in (True, False):
        m = net.Reader(**kw).cuda()
        if cl:
            m = m.to(memory_format=torch.channels_last)
        xi = x.contiguous(memory_format=torch.channels_last) if cl else x

        def fwd():
            with torch.autocast("cuda", dtype=torch.bfloat16):
                return m(xi)

        def fb():
            m.zero_grad(set_to_none=True)
            fwd().float().square().mean().backward()
        clock(f"{name} channels_last={cl} fwd", fwd, 4)
        clock(f"{name} channels_last={cl} f+b", fb, 4)
y = torch.randn(B, W // 4, net.A_OUT + 40 + 1, device="cuda", requires_grad=True)
y = torch.randn(B, W // 4, net.A_OUT + len(net.L.ROADS) + len(net.L.DYNAMICS), device="cuda", requires_grad=True)


def ls():
    A, BC = train.losses(y, rows, xa, bc, xbc, lens)
    (A + BC).backward()


clock("losses", ls)
