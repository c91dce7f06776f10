"""Which network reads a system? A small convolutional front, then four layers that look along the line.

In: [batch, 1, 240, width], ink 1, paper 0, ten pixels per staff space, middle line at row 112.
Out: three sets of log-probabilities, one frame for every four pixels of width.
"""

import torch
import torch.nn as nn
import torch.nn.functional as F

import labels as L

SIZES = [len(L.MAIN)] + [len(v) for _, v in L.ATTRS]
N_FLAGS = len(L.FLAGS)
A_OUT = sum(SIZES) + N_FLAGS
STRIDE = 4


def conv(i, o, k, s, p):
    return nn.Sequential(nn.Conv2d(i, o, k, s, p, bias=False), nn.BatchNorm2d(o), nn.ReLU(inplace=True))


class Mix(nn.Module):
    """Depthwise look-around, then two pointwise layers, added to what was there."""

    def __init__(self, c, k=5, e=2):
        super().__init__()
        self.dw = nn.Conv2d(c, c, k, 1, k // 2, groups=c, bias=False)
        self.bn = nn.BatchNorm2d(c)
        self.a = nn.Conv2d(c, e * c, 1)
        self.b = nn.Conv2d(e * c, c, 1, bias=False)
        self.bn2 = nn.BatchNorm2d(c)
        nn.init.zeros_(self.bn2.weight)

    def forward(self, x):
        return x + self.bn2(self.b(F.relu(self.a(self.bn(self.dw(x))))))


class Res(nn.Module):
    def __init__(self, c):
        super().__init__()
        self.a = conv(c, c, 3, 1, 1)
        self.b = nn.Conv2d(c, c, 3, 1, 1, bias=False)
        self.bn2 = nn.BatchNorm2d(c)
        nn.init.zeros_(self.bn2.weight)

    def forward(self, x):
        return F.relu(x + self.bn2(self.b(self.a(x))))


class Layer(nn.Module):
    """Attention along the line, a wide depthwise convolution, a feed-forward pair."""

    def __init__(self, d, heads=4, ff=4, k=15, drop=0.05):
        super().__init__()
        self.h = heads
        self.n1, self.n2, self.n3 = nn.LayerNorm(d), nn.LayerNorm(d), nn.LayerNorm(d)
        self.qkv, self.o = nn.Linear(d, 3 * d), nn.Linear(d, d)
        self.p1 = nn.Linear(d, 2 * d)
        self.dw = nn.Conv1d(d, d, k, 1, k // 2, groups=d)
        self.p2 = nn.Linear(d, d)
        self.f1, self.f2 = nn.Linear(d, ff * d), nn.Linear(ff * d, d)
        self.drop = nn.Dropout(drop)

    def forward(self, x):
        b, t, d = x.shape
        q, k, v = self.qkv(self.n1(x)).view(b, t, 3, self.h, d // self.h).permute(2, 0, 3, 1, 4).unbind(0)
        if torch.onnx.is_in_onnx_export():
            a = torch.softmax(q @ k.transpose(-1, -2) * (d // self.h) ** -.5, -1) @ v
        else:
            a = F.scaled_dot_product_attention(q, k, v)
        x = x + self.drop(self.o(a.transpose(1, 2).reshape(b, t, d)))
        u, g = self.p1(self.n2(x)).chunk(2, -1)
        u = (u * torch.sigmoid(g)).transpose(1, 2)
        u = F.relu(self.dw(u)).transpose(1, 2)
        x = x + self.drop(self.p2(u))
        return x + self.drop(self.f2(F.relu(self.f1(self.n3(x)))))


class Reader(nn.Module):
    def __init__(self, widths=(24, 40, 80, 144), blocks=(1, 2, 2), d=256, layers=4, block="mix"):
        super().__init__()
        w0, w1, w2, w3 = widths
        mk = Mix if block == "mix" else Res
        self.stem = conv(1, w0, 5, 2, 2)
        self.c1 = nn.Sequential(conv(w0, w1, 3, 2, 1), *[mk(w1) for _ in range(blocks[0])])
        self.c2 = nn.Sequential(conv(w1, w2, 3, (2, 1), 1), *[mk(w2) for _ in range(blocks[1])])
        self.c3 = nn.Sequential(conv(w2, w3, 3, (2, 1), 1), *[mk(w3) for _ in range(blocks[2])])
        self.flat = nn.Linear(w3 * 15, d)
        self.n0 = nn.LayerNorm(d)
        self.layers = nn.ModuleList([Layer(d) for _ in range(layers)])
        self.n1 = nn.LayerNorm(d)
        self.heads = nn.Linear(d, A_OUT + len(L.ROADS) + len(L.DYNAMICS))

    def trunk(self, x):
        x = self.c3(self.c2(self.c1(self.stem(x))))
        b, c, h, w = x.shape
        x = self.n0(self.flat(x.permute(0, 3, 1, 2).reshape(b, w, c * h)))
        for l in self.layers:
            x = l(x)
        return self.heads(self.n1(x))

    def forward(self, x):
        """[batch, frames, A_OUT + roads + dynamics] raw scores; `split` turns them into log-probabilities."""
        return self.trunk(x)


def split(y):
    """Log-probabilities: columns of stream A (every head's classes, then each flag on, then each flag off), B, C."""
    y = y.float()
    a, b, c = y.split([A_OUT, len(L.ROADS), len(L.DYNAMICS)], -1)
    parts = [F.log_softmax(p, -1) for p in a[..., :sum(SIZES)].split(SIZES, -1)]
    f = a[..., sum(SIZES):]
    parts += [F.logsigmoid(f), F.logsigmoid(-f)]
    return torch.cat(parts, -1), F.log_softmax(b, -1), F.log_softmax(c, -1)


OFFSETS = [sum(SIZES[:i]) for i in range(len(SIZES))]
A_COLS = sum(SIZES) + 2 * N_FLAGS


def columns(rows):
    """[n, ROW] label rows → [n, A_COLS] 0/1 rows that pick out each event's joint log-probability."""
    rows = torch.as_tensor(rows).long()
    m = torch.zeros(rows.shape[:-1] + (A_COLS,))
    for i, o in enumerate(OFFSETS):
        m.scatter_(-1, rows[..., i:i + 1] + o, 1.0)
    f = rows[..., len(SIZES):].float()
    m[..., sum(SIZES):sum(SIZES) + N_FLAGS] = f
    m[..., sum(SIZES) + N_FLAGS:] = 1 - f
    return m
