"""Which networks find and read lines of text? Two small ones, on the picture that the reader of signs gets (ten pixels a staff space).

Finder. In: [batch, 1, 240, width]. Out: [batch, 3, 60, width / 4]: the heart of a line of text (raw score), and how far the line's top
and bottom are from there, in units of eight pixels.
Speller. In: [batch, 1, 32, width] one line brought to 32 rows. Out: [batch, width / 4, classes] raw scores for CTC.
"""

import os
import sys

import torch
import torch.nn as nn

sys.path[:0] = [os.path.dirname(os.path.abspath(__file__)), os.path.dirname(os.path.dirname(os.path.abspath(__file__)))]

from net import Layer, Mix, conv  # noqa: E402
from vocabulary import CLASSES  # noqa: E402

ROWS = 32           # rows of one line
WIDEST = 640        # its widest, in pixels
MOST_ZOOM = 2.6     # small print is brought up by no more than this
BESIDE, OVER = .2, .12   # what is shown around a line, in its heights
HEART = .3          # half the height of a line's heart, in its heights


class Wide(nn.Module):
    """A depthwise look far around, then two pointwise layers, added."""

    def __init__(self, c, k, dil):
        super().__init__()
        self.dw = nn.Conv2d(c, c, k, 1, tuple((n // 2) * d for n, d in zip(k, dil)), dil, groups=c, bias=False)
        self.bn = nn.BatchNorm2d(c)
        self.a, self.b = nn.Conv2d(c, 2 * c, 1), nn.Conv2d(2 * c, c, 1, bias=False)
        self.bn2 = nn.BatchNorm2d(c)
        nn.init.zeros_(self.bn2.weight)

    def forward(self, x):
        return x + self.bn2(self.b(torch.relu(self.a(self.bn(self.dw(x))))))


class Finder(nn.Module):
    def __init__(self, c=48):
        super().__init__()
        self.stem = nn.Sequential(conv(1, 16, 5, 2, 2), conv(16, c, 3, 2, 1))
        self.body = nn.Sequential(*[Wide(c, k, d) for k, d in (((5, 5), (1, 1)), ((5, 5), (1, 2)), ((5, 7), (2, 2)), ((5, 7), (2, 4)), ((5, 7), (1, 8)), ((5, 5), (1, 1)))])
        self.head = nn.Conv2d(c, 3, 1)
        nn.init.constant_(self.head.bias, 0)

    def forward(self, x):
        return self.head(self.body(self.stem(x)))


class Speller(nn.Module):
    def __init__(self, d=192, layers=3):
        super().__init__()
        self.front = nn.Sequential(conv(1, 40, 5, 2, 2), Mix(40), conv(40, 88, 3, 2, 1), Mix(88), Mix(88), conv(88, 128, 3, (2, 1), 1), Mix(128), Mix(128))
        self.flat = nn.Linear(128 * 4, d)
        self.n0 = nn.LayerNorm(d)
        self.layers = nn.ModuleList([Layer(d) for _ in range(layers)])
        self.n1 = nn.LayerNorm(d)
        self.out = nn.Linear(d, CLASSES)

    def forward(self, x):
        x = self.front(x)
        b, c, h, w = x.shape
        x = self.n0(self.flat(x.permute(0, 3, 1, 2).reshape(b, w, c * h)))
        for l in self.layers:
            x = l(x)
        return self.out(self.n1(x))
