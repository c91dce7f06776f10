"""What happens to a page before it reaches us? Paper, ink, lens, light and file format, on the GPU.

Pictures are ink (1) on paper (0), [batch, 1, height, width]. `strong` in 0..1 sets how many samples
are ill-treated; each is treated its own way. Warps return the new x of each event.
"""

import math

import torch
import torch.nn.functional as F


def smooth_noise(b, h, w, ch, cw, dev, gen):
    n = torch.randn(b, 1, ch, cw, device=dev, generator=gen)
    return F.interpolate(n, (h, w), mode="bicubic", align_corners=False)


class Degrade:
    def __init__(self, dev, seed=0):
        self.dev = dev
        self.gen = torch.Generator(device=dev)
        self.gen.manual_seed(seed)

    def u(self, b, lo, hi):
        return (torch.rand(b, device=self.dev, generator=self.gen) * (hi - lo) + lo).view(b, 1, 1, 1)

    def on(self, b, p):
        return (torch.rand(b, device=self.dev, generator=self.gen) < p).float().view(b, 1, 1, 1)

    def warp(self, x, xs, p=1.0, scale=.05, tilt=.010, bend=2.5, shift=4.0):
        """Residual scale, shift, tilt, bend and unevenness that straightening leaves. xs: list of [B, L] event places."""
        b, _, h, w = x.shape
        on = self.on(b, p)
        sx = 1 + on * self.u(b, -scale, scale)
        dx = on * self.u(b, -6, 10)
        if xs:
            # The last event stays in the picture: a label for something cut off teaches inventing.
            last = xs[0].max(1).values.view(b, 1, 1, 1)
            sx = torch.minimum(sx, (w - 5 - dx) / last.clamp(min=1))
        sy = sx * (1 + on * self.u(b, -.03, .03))
        dy = on * self.u(b, -shift, shift)
        rot = on * self.u(b, -tilt, tilt)
        amp = on * self.u(b, -bend, bend)
        ph, fr = self.u(b, 0, 6.28), self.u(b, .3, 1.6)
        yy = torch.arange(h, device=self.dev, dtype=torch.float32).view(1, h, 1)
        xx = torch.arange(w, device=self.dev, dtype=torch.float32).view(1, 1, w)
        v = lambda t: t.view(b, 1, 1)
        loc = smooth_noise(b, h, w, 5, 14, self.dev, self.gen)[:, 0] * v(on * self.u(b, 0, .8))
        # Source of each target pixel.
        u = (xx - v(dx)) / v(sx)
        srcx = u + loc.flip(0)
        srcy = 112 + (yy - 112 - v(dy) - v(rot) * (xx - w / 2) - v(amp) * torch.sin(v(fr) * 6.28 * xx / w + v(ph))) / v(sy) + loc
        shear = v(on * self.u(b, -.02, .02))
        srcx = srcx + shear * (yy - 112)
        grid = torch.stack([srcx.expand(b, h, w) / (w - 1) * 2 - 1, srcy.expand(b, h, w) / (h - 1) * 2 - 1], -1)
        y = F.grid_sample(x, grid, mode="bilinear", padding_mode="zeros", align_corners=True)
        out = [t * sx.view(b, 1) + dx.view(b, 1) for t in xs]
        return y, out

    def neighbours(self, x, p=.5):
        """The staves above and below look in."""
        b, _, h, w = x.shape
        out = x
        for sign in (1, -1):
            other = x[torch.randperm(b, device=self.dev, generator=self.gen)]
            dy = torch.randint(135, 235, (b,), device=self.dev, generator=self.gen)
            rows = torch.arange(h, device=self.dev).view(1, h) - sign * dy.view(b, 1)
            ok = (rows >= 0) & (rows < h)
            g = other[:, 0].gather(1, rows.clamp(0, h - 1).unsqueeze(-1).expand(b, h, w))
            g = g * ok.unsqueeze(-1)
            out = torch.maximum(out, g.unsqueeze(1) * self.on(b, p))
        return out

    def blur(self, x, sig):
        """Gaussian blur with one of a few widths per sample (sig [b,1,1,1])."""
        b = x.shape[0]
        r = 4
        k = torch.arange(-r, r + 1, device=self.dev, dtype=torch.float32)
        g = torch.exp(-k * k / (2 * sig.view(b, 1) ** 2 + 1e-6))
        g = g / g.sum(1, keepdim=True)
        y = x.transpose(0, 1)
        y = F.conv2d(F.pad(y, (r, r, 0, 0)), g.view(b, 1, 1, -1), groups=b)
        y = F.conv2d(F.pad(y, (0, 0, r, r)), g.view(b, 1, -1, 1), groups=b)
        return y.transpose(0, 1)

    def ink(self, x, p):
        """Spread or starved ink: blur, then a soft threshold."""
        b = x.shape[0]
        on = self.on(b, p)
        y = self.blur(x, self.u(b, .5, 1.0))
        th = self.u(b, .25, .62)
        y = torch.sigmoid((y - th) * self.u(b, 7, 16))
        return x * (1 - on) + y * on

    def fade(self, x, p):
        b, _, h, w = x.shape
        on = self.on(b, p)
        m = torch.sigmoid(smooth_noise(b, h, w, 4, 16, self.dev, self.gen) * 1.5 + self.u(b, .3, 2.5))
        y = x * (m * self.u(b, .5, 1.0) + (1 - self.u(b, .2, .6)) * .3).clamp(0, 1)
        specks = (torch.rand(x.shape, device=self.dev, generator=self.gen) < self.u(b, 0, .03)).float()
        specks = F.max_pool2d(specks, 2, 1)[:, :, :h, :w]
        specks = F.pad(specks, (0, w - specks.shape[-1], 0, h - specks.shape[-2]))
        y = y * (1 - specks * self.u(b, .3, 1))
        return x * (1 - on) + y * on

    def low(self, x, p, lo=.5):
        """Fewer pixels: the batch is cut into four resolutions."""
        b, _, h, w = x.shape
        on = torch.rand(b, device=self.dev, generator=self.gen) < p
        y = x.clone()
        q = torch.randint(0, 4, (b,), device=self.dev, generator=self.gen)
        for k in range(4):
            i = torch.nonzero(on & (q == k))[:, 0]
            if len(i):
                s = float(torch.rand(1, device=self.dev, generator=self.gen)) * (.95 - lo) + lo
                z = F.interpolate(x[i], scale_factor=s, mode="area" if k < 2 else "bilinear", antialias=False if k < 2 else True)
                y[i] = F.interpolate(z, (h, w), mode="bicubic" if k % 2 else "bilinear", align_corners=False).clamp(0, 1)
        return y

    def light(self, x, p):
        """Uneven light, shadow, contrast, show-through of the other side, noise."""
        b, _, h, w = x.shape
        on = self.on(b, p)
        through = self.blur(x.flip(0).flip(3), self.u(b, 1.0, 1.8)) * self.u(b, 0, .16) * self.on(b, .4)
        y = torch.maximum(x * self.u(b, .55, 1.0), through)
        bg = smooth_noise(b, h, w, 2, 5, self.dev, self.gen) * self.u(b, 0, .05) + self.u(b, -.02, .06)
        edge = self.u(b, 0, 1) * w
        xx = torch.arange(w, device=self.dev).view(1, 1, 1, w)
        shade = torch.sigmoid((xx - edge) / 30 * (self.on(b, .5) * 2 - 1)) * self.u(b, 0, .12) * self.on(b, .3)
        y = y + bg + shade
        y = y + torch.randn(x.shape, device=self.dev, generator=self.gen) * self.u(b, 0, .07)
        return x * (1 - on) + y * on

    def dirt(self, x, p):
        """Pepper, and now and then a stroke of something."""
        b, _, h, w = x.shape
        on = self.on(b, p)
        s = (torch.rand(b, 1, h // 2, w // 2, device=self.dev, generator=self.gen) < self.u(b, 0, .0015)).float()
        s = F.interpolate(s, (h, w), mode="bilinear", align_corners=False)
        return torch.maximum(x, on * s * self.u(b, .4, 1))

    def jpeg(self, x, p):
        """8 × 8 cosine blocks, coarsely quantised."""
        b, _, h, w = x.shape
        on = self.on(b, p)
        n = torch.arange(8, device=self.dev, dtype=torch.float32)
        D = torch.cos((2 * n[None] + 1) * n[:, None] * math.pi / 16) * math.sqrt(2 / 8)
        D[0] /= math.sqrt(2)
        z = x.view(b, h // 8, 8, w // 8, 8).permute(0, 1, 3, 2, 4)
        c = D @ z @ D.T
        q = (1 + n[None] + n[:, None]) * .012
        q = q.view(1, 1, 1, 8, 8) * self.u(b, .5, 5).view(b, 1, 1, 1, 1)
        c = torch.round(c / q) * q
        y = (D.T @ c @ D).permute(0, 1, 3, 2, 4).reshape(b, 1, h, w)
        return x * (1 - on) + y * on

    def bilevel(self, x, p):
        on = self.on(x.shape[0], p)
        y = (x > self.u(x.shape[0], .3, .6)).float()
        return x * (1 - on) + y * on

    def level(self, x):
        """What the reader does with any crop: paper to 0, ink to 1 (as the Rust side does, so that training sees the same)."""
        return level(x)

    @torch.no_grad()
    def __call__(self, x, xs, strong=1.0):
        s = strong
        x = self.neighbours(x, .55 * s)
        x = self.ink(x, .45 * s)
        x, xs = self.warp(x, xs, .9)
        x = self.fade(x, .25 * s)
        x = self.dirt(x, .3 * s)
        x = self.low(x, .45 * s)
        on = self.on(x.shape[0], .4 * s)
        x = x * (1 - on) + self.blur(x, self.u(x.shape[0], .4, 1.25)) * on
        x = self.light(x, .5 * s)
        x = self.jpeg(x, .35 * s)
        x = self.bilevel(x, .15 * s)
        return level(x), xs


def level(x):
    """Subtract a broad estimate of the paper, then scale so that the darkest ink is 1."""
    b = x.shape[0]
    bg = F.avg_pool2d(x, (30, 40))
    bg = -F.max_pool2d(-bg, 3, 1, 1)
    bg = F.interpolate(bg, x.shape[-2:], mode="bilinear", align_corners=False)
    y = (x - bg).clamp(min=0)
    flat = y.flatten(1)[:, ::37]
    k = max(1, flat.shape[1] // 200)
    top = flat.topk(k, 1).values[:, -1].view(b, 1, 1, 1)
    return (y / top.clamp(min=.15)).clamp(0, 1)


PRESETS = {
    "clean": dict(),
    "tilted": dict(warp=dict(scale=.03, tilt=.012, bend=2.5, shift=3), blur=(.4, .6), light=1),
    "phone": dict(warp=dict(scale=.04, tilt=.008, bend=2.5, shift=3), blur=(.6, .9), light=1, jpeg=1, neighbours=.6),
    "lowres": dict(warp=dict(scale=.04, tilt=.008, bend=2, shift=3), low=(.62, .72), light=1, jpeg=1),
    "hard": dict(warp=dict(scale=.05, tilt=.010, bend=2.5, shift=4), blur=(.9, 1.2), low=(.55, .7), light=1, jpeg=1, fade=1, neighbours=.8),
}


@torch.no_grad()
def preset(d, x, name, alone=False):
    """One of the fixed ill-treatments of the scoring sets."""
    p = PRESETS[name]
    b, _, h, w = x.shape
    if "neighbours" in p and b > 1 and not alone:
        x = d.neighbours(x, p["neighbours"])
    if "warp" in p:
        x, _ = d.warp(x, [], 1.0, **p["warp"])
    if "fade" in p:
        x = d.fade(x, .6)
    if "low" in p:
        s = sum(p["low"]) / 2
        z = F.interpolate(x, scale_factor=s, mode="area")
        x = F.interpolate(z, (h, w), mode="bicubic", align_corners=False).clamp(0, 1)
    if "blur" in p:
        x = d.blur(x, d.u(b, *p["blur"]))
    if "light" in p:
        x = d.light(x, 1.0)
    if "jpeg" in p:
        x = d.jpeg(x, 1.0)
    return level(x)
