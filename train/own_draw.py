"""How is a laid-out system of our own engraver put on paper, and what does it say?"""

import math

import numpy as np

import labels as L
from canvas import BOTTOM, EDGE, TOP, Canvas
from glyphs import ACC, ARTIC, DYN_LETTER, RESTS, TEXT_FONTS, font
from own import WORDS, beam_groups


def y_of(pos):
    return -(pos - 4) / 2


def draw_system(sy):
    """Picture (ink 255), streams A, B, C as lists of (x in staff spaces from the picture's left edge, label)."""
    s, rng = sy.s, sy.rng
    width = sy.justify()
    margin = rng.uniform(.6, 4)
    right = rng.uniform(.6, 4)
    sy.cv = cv = Canvas(width + margin + right, x0=-margin)
    sy.sky_init(width + 20)
    sy.width_total = width
    for y in range(-2, 3):
        cv.rect(0, y - s.staff_t / 2, width, y + s.staff_t / 2)
    if s.first_bar:
        cv.rect(0, -2, s.bar_t, 2)
    for it in sy.items:
        it.draw(it.x)
    evs = sy.order
    for e in evs:
        e.hidden = set()
    main = [e for e in evs if not e.grace]
    voices = [[e for b in sy.bars for v in b.voices[k:k + 1] for e in v] for k in (0, 1)]
    for b in sy.bars:
        for v in b.voices:
            draw_beams(sy, v, 1.0)
    for e in main:
        for gs in (e.graces, e.after):
            if gs:
                draw_beams(sy, gs, s.grace)
    for e in evs:
        draw_event(sy, e)
    for e in evs:
        if e.marks:
            articulations(sy, e)
    ties_and_slurs(sy, voices)
    tuplets(sy)
    above_marks(sy, evs)
    stream_c(sy, main)
    stream_b(sy, main)
    furniture(sy)
    for e in evs:
        for k, r in enumerate(L.event_rows(e, e.clef)):
            # What did not fit into the picture is not said.
            for name in e.hidden:
                r[L.ATTR_COL[name] if name in L.ATTR_COL else L.FLAG_COL[name]] = 0
            sy.emit(e.x + e.hw * .5, r, e.x - (.3 if e.voice2 else 0))
    return finish(sy, cv, margin)


def finish(sy, cv, margin):
    """Streams in order. A keeps the drawing order of columns where x is equal."""
    a = sorted(sy.A, key=lambda t: t[2])
    return (cv.image(), [(x + margin, r) for x, r, _ in a], [(x + margin, r) for x, r in sorted(sy.B, key=lambda t: t[0])],
            [(x + margin, r) for x, r in sorted(sy.C, key=lambda t: t[0])], margin)


# -- notes --------------------------------------------------------------------

def stem_x(sy, e):
    t = sy.s.stem_t
    return e.x + e.hw - t / 2 if e.up else e.x + t / 2


def draw_event(sy, e):
    s, cv = sy.s, sy.cv
    k = e.k
    if e.rest:
        y = 0
        if e.voice2:
            y = 3
        elif getattr(e, "force_up", None):
            y = -3
        if e.type == "1":
            y -= 1
        e.y0 = e.y1 = y
        sy.put(RESTS[e.type], e.x, y)
        if e.type in ("1", "2", "breve") and abs(y) > 2:
            cv.rect(e.x - .3, y - .06, e.x + e.hw + .3, y + .06)
        for d in range(e.dots):
            sy.dot(e.x + e.hw + .4 + .55 * d, (y if e.type != "1" else y + 1) - .5)
        return
    e.y0, e.y1 = y_of(e.pos[-1]), y_of(e.pos[0])
    used = set()
    # Ledger lines.
    lw = s.staff_t * s.ledger_t
    for p in range(-2, e.pos[0] - 1, -2):
        cv.rect(e.x - s.ledger * k, y_of(p) - lw / 2, e.x + e.hw + s.ledger * k, y_of(p) + lw / 2)
    for p in range(10, e.pos[-1] + 1, 2):
        cv.rect(e.x - s.ledger * k, y_of(p) - lw / 2, e.x + e.hw + s.ledger * k, y_of(p) + lw / 2)
    for h, p, sh in zip(e.hs, e.pos, e.shift):
        y = y_of(p)
        sy.put(sy.head_code(e, h), e.x + sh, y, k)
        if h.acc:
            x = e.x - e.acc_off[id(h)] * k
            if h.paren:
                sy.put("parl", x, y, k)
                x += .5 * k
            gl = sy.put(ACC[h.acc], x, y, k)
            if h.paren:
                sy.put("parr", x + gl[3] * k + .05, y, k)
        for d in range(e.dots):
            q = p if p % 2 else p + (1 if not e.voice2 else -1)
            while q in used and d == 0:
                q -= 2
            if d == 0:
                used.add(q)
            dx = max(e.shift) if max(e.shift) > 0 else 0
            flag = .75 if (e.beam is None and e.up and e.type.isdigit() and int(e.type) >= 8 and p > 99) else 0
            sy.dot(e.x + e.hw + dx + (.4 + .55 * d) * k + flag, y_of(q), .2 * k + .02)
    if e.type not in ("1", "breve"):
        x = stem_x(sy, e)
        if getattr(e, "stem_end", None) is None:
            ln = s.stem_len * k
            n = int(e.type)
            if e.grace:
                ln *= s.grace_stem
            if n >= 32:
                ln += .75 * (math.log2(n) - 4) * k
            e.stem_end = e.y0 - ln if e.up else e.y1 + ln
            if not e.grace and not getattr(e, "force_up", None):
                e.stem_end = min(e.stem_end, 0) if e.up else max(e.stem_end, 0)
            if n >= 8:
                code = 0xE240 + 2 * int(math.log2(n) - 3) + (0 if e.up else 1)
                if e.grace and s.grace_flag == "stroke":
                    sg = 1 if e.up else -1
                    for q in range(int(math.log2(n)) - 2):
                        y = e.stem_end + sg * q * .7 * k
                        r, h, t = s.flag_reach * k, s.flag_len * k, s.flag_t * k + .04
                        cv.line(x, y, x + r, y + sg * h, t)
                        cv.line(x + r, y + sg * h, x + r * .8, y + sg * h * 1.7, t * .65)
                else:
                    sy.put(code, x - s.stem_t / 2, e.stem_end, k)
        start = e.y1 if e.up else e.y0
        cv.rect(x - s.stem_t / 2 * (k + .3) / 1.3, min(start, e.stem_end), x + s.stem_t / 2, max(start, e.stem_end))
        sy.mark(x - .1, min(start, e.stem_end), x + .1, max(start, e.stem_end))
        if e.slash:
            at, a, lft, rgt = rng_slash(sy)
            y = e.stem_end + (at if e.up else -at) * k
            cv.line(x - lft * k, y + a * k, x + rgt * k, y - a * k, s.slash_t)
    if e.trem:
        x = stem_x(sy, e) if e.type not in ("1", "breve") else e.x + e.hw / 2
        if e.type in ("1", "breve"):
            y = e.y0 - 1.3 - .4 * e.trem if e.y0 > -1 else e.y1 + 1.5
        else:
            y = (e.y0 + e.stem_end) / 2 - .2 if e.up else (e.y1 + e.stem_end) / 2 + .2
        if e.beam is not None or e.type == "8":
            y = e.y0 - 1.5 if e.up else e.y1 + 1.5
        for i in range(e.trem):
            yy = y + (i - (e.trem - 1) / 2) * s.trem_gap
            w, t = s.trem_w, s.trem_t
            cv.fill([np.array([(x - w, yy + .2 + t / 2), (x + w, yy - .2 + t / 2), (x + w, yy - .2 - t / 2), (x - w, yy + .2 - t / 2)])])
            sy.mark(x - .7, yy - .5, x + .7, yy + .4)
    if e.arpeggio:
        top, bot = e.y0 - .6, e.y1 + .6
        gl = sy.g("arp")
        x = e.x - e.left + .5
        y = bot
        n = 0
        while y > top and n < 40:
            sy.cv.fill([np.stack([x + (p[:, 1]), y - p[:, 0]], 1) for p in gl[0]])
            y -= max(.4, gl[5])
            n += 1


def rng_slash(sy):
    if not hasattr(sy, "_slash"):
        # Where along the stem, how steep, how far to each side.
        u = sy.rng.uniform
        sy._slash = u(.7, 1.9), u(.3, .95), u(.45, .95), u(.5, 1.2)
    return sy._slash


def draw_beams(sy, v, k):
    s, cv = sy.s, sy.cv
    for group in beam_groups(v):
        notes = [e for e in group if not e.rest]
        if len(notes) < 2:
            continue
        for e in notes:
            e.y0, e.y1 = y_of(e.pos[-1]), y_of(e.pos[0])
        up = notes[0].up
        for e in notes:
            e.up = up
        xs = [stem_x(sy, e) for e in notes]
        ys = [e.y0 if up else e.y1 for e in notes]
        dx = xs[-1] - xs[0]
        slope = (ys[-1] - ys[0]) / max(dx, .1) * .5 * s.slope
        if up and min(ys[1:-1] or [9]) < min(ys[0], ys[-1]) or not up and max(ys[1:-1] or [-9]) > max(ys[0], ys[-1]):
            slope = 0
        slope = max(-s.max_slope, min(s.max_slope, slope))
        levels = max(int(math.log2(int(e.type))) - 2 for e in notes)
        step = (s.beam_t + s.beam_gap) * k
        need = (s.stem_len * .92 + max(0, levels - 2) * (s.beam_t + s.beam_gap) * .9) * k
        if up:
            c = min(y - need - slope * (x - xs[0]) for x, y in zip(xs, ys))
            if k == 1 and not getattr(notes[0], "force_up", None):
                c = min(c, 0 - min(0, slope * dx) * 0)
        else:
            c = max(y + need - slope * (x - xs[0]) for x, y in zip(xs, ys))
            if k == 1 and not getattr(notes[0], "force_up", None):
                c = max(c, 0)
        sgn = 1 if up else -1

        def at(x):
            return c + slope * (x - xs[0])
        n = [int(math.log2(int(e.type))) - 2 for e in notes]
        for lev in range(levels):
            i = 0
            while i < len(notes):
                if n[i] <= lev:
                    i += 1
                    continue
                j = i
                while j + 1 < len(notes) and n[j + 1] > lev:
                    j += 1
                if j > i:
                    a, b = xs[i], xs[j]
                elif i == 0:
                    a, b = xs[i], xs[i] + 1.1 * k
                elif i == len(notes) - 1 or n[i - 1] >= n[i + 1]:
                    a, b = xs[i] - 1.1 * k, xs[i]
                else:
                    a, b = xs[i], xs[i] + 1.1 * k
                a, b = a - s.stem_t / 2, b + s.stem_t / 2
                off = sgn * step * lev
                th = sgn * s.beam_t * k
                cv.fill([np.array([(a, at(a) + off), (b, at(b) + off), (b, at(b) + off + th), (a, at(a) + off + th)])])
                i = j + 1
        for e, x in zip(notes, xs):
            e.stem_end = at(x) + sgn * .05
        for x in np.arange(xs[0], xs[-1], .5):
            y = at(x)
            sy.mark(x, y - .1, x + .5, y + .1)


def articulations(sy, e):
    s, rng = sy.s, sy.rng
    x = e.x + e.hw / 2
    names = [m for m in ("staccatissimo", "staccato", "tenuto", "accent", "marcato") if m in e.marks]
    if names:
        if e.rest:
            above = True
        elif e.voice2 or getattr(e, "force_up", None):
            above = not e.voice2
        else:
            above = (not e.up) ^ s.art_stem_side
        if s.art_side and not e.voice2 and not getattr(e, "force_up", None):
            above = s.art_side == "above"
        for m in names:
            with sy.cv.watch() as ink:
                articulation(sy, e, m, x, above)
            if not ink.seen():
                e.hidden.add(m)


def articulation(sy, e, m, x, above):
    s, rng = sy.s, sy.rng
    side = above or (m == "marcato" and rng.random() < .8)
    code = ARTIC[s.stacc_style if m == "staccatissimo" else m][0 if side else 1]
    xx = x
    if not e.rest and side == e.up and e.type not in ("1", "breve") and rng.random() < .5:
        xx = stem_x(sy, e)
    if m in ("staccato", "tenuto") and not e.rest and side != e.up and rng.random() < (.8 if s.art_gap < .6 else .3):
        # Small signs sit in the space next to the head, inside the staff too.
        p = e.pos[-1] + 2 if side else e.pos[0] - 2
        if 0 <= p <= 8 and p % 2 == 0:
            p += 1 if side else -1
        y = y_of(p) + (-s.dot_gap if side else s.dot_gap) * (abs(y_of(p)) > 2)
        gl = dot_glyph(s.dot_r) if m == "staccato" and s.dot_r else sy.g(code)
        if not (sy_overlap(sy, e, y, side)):
            sy.cv.glyph(gl, xx - (gl[1] + gl[3]) / 2, y - (gl[2] + gl[4]) / 2)
            e.art_y = y
            sy.mark(xx - .3, y - .25, xx + .3, y + .25)
            return
    sy.stack(dot_glyph(s.dot_r) if m == "staccato" and s.dot_r else code, xx, side, s.art_gap)


def dot_glyph(r):
    a = np.linspace(0, 2 * math.pi, 13)[:-1]
    return ([np.stack([r * np.cos(a), r * np.sin(a)], 1)], -r, -r, r, r, 2 * r)


def wave_glyph(s, n, bar):
    """A drawn zigzag of n waves, thick falling and thin rising strokes, with or without the stroke through it."""
    w, h = s.wig_w, s.wig_h / 2
    polys = []

    def stroke(x0, y0, x1, y1, t):
        d = np.array([x1 - x0, y1 - y0])
        q = np.array([-d[1], d[0]]) / np.hypot(*d) * t / 2
        a, b = np.array([x0, y0]), np.array([x1, y1])
        polys.append(np.array([a + q, b + q, b - q, a - q]))
    x = -n * w / 2
    stroke(x - .25 * w, h * .2, x, -h, s.wig_thin)
    for i in range(n):
        if s.wig_round:
            t = np.linspace(0, math.pi, 7)
            p = np.stack([x + w * .5 * t / math.pi, -h * np.cos(t)], 1)
            q = np.stack([x + w * .5 + w * .5 * t / math.pi, h * np.cos(t)], 1)
            for a, b in list(zip(p, p[1:])) + (list(zip(q, q[1:])) if i + 1 < n else []):
                stroke(*a, *b, (s.wig_t + s.wig_thin) / 2)
        else:
            stroke(x, -h, x + w * .5, h, s.wig_t)
            if i + 1 < n:
                stroke(x + w * .5, h, x + w, -h, s.wig_thin)
        x += w
    stroke(x - w * .5, h, x - .2 * w, -h * .4, s.wig_thin)
    if bar:
        stroke(0, -s.wig_bar * .75, 0.001, s.wig_bar * .75, s.wig_thin)
    a = np.concatenate(polys)
    return (polys, *a.min(0), *a.max(0), a[:, 0].max() - a[:, 0].min())


def sy_overlap(sy, e, y, side):
    last = getattr(e, "art_y", None)
    return last is not None and abs(last - y) < .6


def curve(sy, x0, y0, x1, y1, h, dash=False):
    """A slur's two edges; h < 0 bows upward."""
    s = sy.s
    t = np.linspace(0, 1, 25)[:, None]
    dx = x1 - x0
    a = min(.35, 1.5 / max(dx, .1) + .12)
    p0, p3 = np.array([x0, y0]), np.array([x1, y1])
    th = s.slur_t / .75 / 2

    def edge(o):
        p1 = np.array([x0 + a * dx, y0 + (y1 - y0) * a + h / .75 + o])
        p2 = np.array([x1 - a * dx, y1 - (y1 - y0) * a + h / .75 + o])
        e = s.slur_end_t / 2 * np.sign(o)
        return ((1 - t) ** 3 * (p0 + (0, e)) + 3 * (1 - t) ** 2 * t * p1 + 3 * (1 - t) * t * t * p2 + t ** 3 * (p3 + (0, e)))
    up, lo = edge(-th), edge(th)
    if dash:
        for i in range(0, 24, 3):
            sy.cv.fill([np.concatenate([up[i:i + 3], lo[i:i + 3][::-1]])])
    else:
        sy.cv.fill([np.concatenate([up, lo[::-1]])])
    return (up + lo) / 2


def ties_and_slurs(sy, voices):
    s, rng = sy.s, sy.rng
    x_in = sy.items[0].x + sy.items[0].right + 1.0
    for it in sy.items:
        pass
    first = next((e for v in voices for e in v), None)
    for vi, v in enumerate(voices):
        for i, e in enumerate(v):
            if e.rest:
                continue
            for h, p, sh in zip(e.hs, e.pos, e.shift):
                if not h.tie:
                    continue
                nxt = v[i + 1] if i + 1 < len(v) else None
                x0 = e.x + e.hw + .15 + max(0, sh) + (.5 * e.dots if e.dots and p % 2 else 0)
                tie(sy, e, p, x0, nxt.x - .15 if nxt and nxt.hw else sy.width_total - .2)
    # A tie that comes in from the system before.
    if sy.bars and sy.start and voices[0]:
        prev = [e for b in sy.line.bars[:sy.start] for w in b.voices[:1] for e in w]
        e = voices[0][0]
        prev_bar = sy.line.bars[sy.start - 1]
        if prev and prev_bar.voices and not e.rest and not e.graces and not prev[-1].rest:
            tied = {h.dp for h in prev[-1].heads if h.tie}
            for h, p in zip(e.hs, e.pos):
                if h.dp in tied:
                    tie(sy, e, p, e.x - rng.uniform(1.6, 2.6), e.x - .15)
    seq = [e for e in sy.order if not (e.voice2)]
    open_s = None
    pend = sy.slur_open
    for e in seq:
        if e.slur_end:
            if open_s is not None:
                slur(sy, open_s, e, seq)
                open_s = None
            elif pend:
                slur(sy, None, e, seq)
                pend = False
        if e.slur_start:
            open_s = e
    if open_s is not None:
        slur(sy, open_s, None, seq)
    elif pend:
        slur(sy, None, None, seq)


def tie(sy, e, p, x0, x1):
    two = getattr(e, "force_up", None)
    up = (not e.up) if not two else e.up
    if len(e.pos) > 1:
        up = p >= (e.pos[0] + e.pos[-1]) / 2
    s = sy.s
    y = y_of(p) + (-.45 if up else .45) * sy.rng.uniform(.6, 1.2) + (-s.tie_gap if up else s.tie_gap)
    if s.tie_over and len(e.pos) == 1:
        x0, x1 = x0 - e.hw / 2 - .1, x1 + .6
        y += -.35 if up else .35
    if x1 - x0 < .6:
        x0, x1 = (x0 + x1) / 2 - .5, (x0 + x1) / 2 + .5
        y += -.35 if up else .35
    h = min(1.0, .35 + .06 * (x1 - x0)) * (-1 if up else 1) * s.tie_tall
    curve(sy, x0, y, x1, y, h)
    sy.mark(x0, y + min(h, 0), x1, y + max(h, 0))


def slur(sy, a, b, seq):
    s, rng = sy.s, sy.rng
    i = seq.index(a) if a is not None else 0
    j = seq.index(b) if b is not None else len(seq) - 1
    inner = [e for e in seq[i:j + 1] if not e.rest]
    if a is not None and a.grace and b is not None:
        up = False if sy.rng.random() < .7 or not b.up else True
        if b.up is False and a.up and rng.random() < .3:
            up = True
    else:
        ups = sum(e.up for e in inner if not e.grace) if inner else 0
        up = ups * 2 < len(inner) or (0 < ups < len(inner) and rng.random() < .85)
        if inner and getattr(inner[-1], "force_up", None):
            up = True
        if rng.random() < s.slur_stem * .5:
            up = not up

    def end(e, left):
        x = e.x + e.hw / 2
        if s.slur_side and not e.rest and not e.grace and e.up != up and not e.marks:
            # From the side of the head, as ties are.
            return (e.x + e.hw + s.slur_side if left else e.x - s.slur_side), (e.y0 - .5 * s.slur_gap if up else e.y1 + .5 * s.slur_gap)
        if not e.rest and up == e.up and e.type not in ("1", "breve") and not e.grace and rng.random() < .5:
            x = stem_x(sy, e) + (.3 if left else -.3) * (1 if up else 1)
            y = e.stem_end + (-s.slur_gap if up else s.slur_gap) * .6
            if e.beam is None or not left:
                pass
        else:
            lo, hi = sy.span(x - .4, x + .4)
            y = sy.top[lo:hi].min() - s.slur_gap if up else sy.bot[lo:hi].max() + s.slur_gap
            if up and e.y0 > -2 or not up and e.y1 < 2:
                # Inside the staff the slur starts at the head itself unless a sign is between.
                near = (e.y0 - .5 - s.slur_gap) if up else (e.y1 + .5 + s.slur_gap)
                if not e.rest and e.up != up and not (e.marks & {"staccato", "tenuto", "accent", "marcato", "staccatissimo"}):
                    y = near
        return x + rng.uniform(-.15, .15) + (s.slur_dx if left else -s.slur_dx), y
    if a is not None:
        x0, y0 = end(a, True)
    if b is not None:
        x1, y1 = end(b, False)
    if a is None:
        x0 = min((e.x for e in seq if not e.grace), default=5) - rng.uniform(1.5, 2.5)
        y0 = (y1 if b is not None else (-3 if up else 3)) + (-.8 if up else .8)
    if b is None:
        x1 = sy.width_total + rng.uniform(-.5, .5)
        y1 = (y0 if a is not None else (-3 if up else 3)) + (-.8 if up else .8)
    if x1 < x0 + .5:
        x1 = x0 + .8
    dx = x1 - x0
    h = min(4.5, (.5 + .16 * dx ** .8) * s.slur_h)
    if s.slur_flat:
        h = min(h, .3 + .5 * s.slur_flat * dx ** .5)
    # Rise until the curve clears what is under it, within reason.
    xs = np.linspace(x0 + .12 * dx, x1 - .12 * dx, 9)
    for _ in range(8):
        t = (xs - x0) / dx
        ys = y0 + (y1 - y0) * t + (-h if up else h) * (1 - (2 * t - 1) ** 4 * .9) * .95
        idx = np.clip((xs * 4).astype(int), 0, len(sy.top) - 1)
        bad = (ys > sy.top[idx] - .25) if up else (ys < sy.bot[idx] + .25)
        if not bad.any() or h > 6 or s.slur_flat and bad.mean() < .4:
            break
        h += .5
        if h > 3.5:
            y0 += -.3 if up else .3
            y1 += -.3 if up else .3
    for e, y, name in ((a, y0, "slur_start"), (b, y1, "slur_end")):
        if e is not None and not TOP + EDGE <= y <= BOTTOM - EDGE:
            e.hidden.add(name)
    mid = curve(sy, x0, y0, x1, y1, -h if up else h, s.slur_dash)
    for p, q in zip(mid, mid[1:]):
        y = min(p[1], q[1]) if up else max(p[1], q[1])
        sy.mark(p[0], y - .1, q[0], y + .1)


def tuplets(sy):
    s, rng = sy.s, sy.rng
    for b in sy.bars:
        for v in b.voices:
            stack = []
            spans = []
            for i, e in enumerate(v):
                for t in e.tups:
                    stack.append((t, i))
                for _ in range(e.tup_end):
                    t, st = stack.pop()
                    spans.append((t, st, i))
            for t, i, j in spans:
                if not t.shown:
                    continue
                with sy.cv.watch() as ink:
                    tuplet(sy, v, t, i, j)
                t.shown = ink.seen()
            for k, e in enumerate(v):
                if e.tup_end:
                    e.tup_end_shown = any(t.shown for t, _, j in spans if j == k)


def tuplet(sy, v, t, i, j):
    s, rng = sy.s, sy.rng
    notes = [e for e in v[i:j + 1] if not e.rest] or v[i:j + 1]
    ups = sum(getattr(e, "up", True) for e in notes)
    up = ups * 2 >= len(notes)
    if getattr(notes[0], "force_up", None):
        up = notes[0].up if not notes[0].rest else True
    elif s.tup_head_side:
        up = not up
    beamed = v[i].beam is not None and all(e.beam == v[i].beam for e in v[i:j + 1]) and not (
        i and v[i - 1].beam == v[i].beam) and not (j + 1 < len(v) and v[j + 1].beam == v[i].beam)
    one_beam = v[i].beam is not None and all(e.beam == v[i].beam for e in v[i:j + 1])
    bracket = s.tup_bracket == "always" or not beamed and s.tup_bracket != "never" and not (one_beam and s.bare_beamed) or t.label == "?"
    if not beamed and s.tup_bracket == "never" and rng.random() < .4:
        bracket = True
    x0 = v[i].x - .2
    x1 = v[j].x + v[j].hw + .2
    text = t.label if t.label != "?" else ""
    if rng.random() < .03 and text:
        text = f"{t.num}:{t.base}"
    h = 1.35
    if bracket:
        y = (sy.above if up else sy.below)(x0, x1, h, .35) + h / 2
        tw = .62 * len(text) + .4 if text else 0
        m = (x0 + x1) / 2
        hook = s.bracket_hook * (1 if up else -1)
        if s.tup_bracket == "slur":
            curve(sy, x0, y + (.5 if up else -.5), x1, y + (.5 if up else -.5), -.7 if up else .7)
        else:
            t_ = s.bracket_t
            cv = sy.cv
            if x1 - x0 > tw + .8:
                cv.line(x0, y, m - tw, y, t_)
                cv.line(m + tw, y, x1, y, t_)
            cv.line(x0, y, x0, y + hook, t_)
            cv.line(x1, y, x1, y + hook, t_)
        if text:
            if s.tup_bracket == "slur":
                y += -.9 if up else .9
                sy.mark((x0 + x1) / 2 - .5, y - .6, (x0 + x1) / 2 + .5, y + .6)
            sy.number(text, m, y, 1.25)
    else:
        m = (x0 + x1) / 2
        y = (sy.above if up else sy.below)(m - .5, m + .5, h, .25) + h / 2
        if s.tup_paren:
            text = f"({text})"
        sy.number(text, m, y, 1.25)


# -- signs around the notes -----------------------------------------------------

def above_marks(sy, evs):
    s, rng = sy.s, sy.rng
    for e in evs:
        x = e.x + e.hw / 2
        hasf = not e.rest and any(h.finger is not None for h in e.hs)
        order = ["finger", "orn", "bow", "fermata"]
        if rng.random() < .3:
            rng.shuffle(order)
        up = not e.voice2
        for o in order:
            with sy.cv.watch() as ink:
                drawn = above_mark(sy, evs, e, o, x, hasf, up)
            if drawn and not ink.seen():
                e.hidden |= drawn


def above_mark(sy, evs, e, o, x, hasf, up):
    """Draws one kind of sign; the names of what it says."""
    s, rng = sy.s, sy.rng
    if o == "finger" and hasf:
        h = next(h for h in e.hs if h.finger is not None)
        ab = s.finger_above
        hh = 1.3 * s.finger_scale
        y = (sy.above if ab else sy.below)(x - .5, x + .5, hh, .25) + hh / 2
        gl = sy.f.glyph(0xED10 + h.finger)
        if gl and s.numfont == "music":
            k = hh / max(.5, gl[4] - gl[2])
            sy.cv.glyph(gl, x - gl[5] * k / 2, y + hh / 2 - gl[4] * k, k)
        else:
            size = hh / 2.7
            w = sy.text_width(str(h.finger), size, s.text)
            sy.text(str(h.finger), x - w / 2, y + hh / 2, size)
        return {"finger"}
    elif o == "orn" and e.orn:
        gl = sy.g(e.orn)
        if s.wiggle and e.orn in ("mordent", "shorttrill"):
            gl = wave_glyph(s, 2 if rng.random() < .8 else 3, e.orn == "mordent")
        k = rng.choice([1, 1, .85, 1.15]) * s.orn_scale
        if s.trill_text and e.orn == "trill":
            gl = word_glyph(rng.choice(["edwin-italic", "LiberationSerif-Italic", "C059-Italic", "edwin-bold-italic"]), "tr", .62)
        y = sy.stack(gl, x, up, .35, k)
        if e.ornacc:
            k = rng.uniform(.55, .8)
            a = sy.g(ACC[e.ornacc])
            if e.orn == "trill" and rng.random() < .4:
                sy.cv.glyph(a, x + (gl[3] - gl[1]) / 2 + .15, y - .2, k)
                sy.mark(x, y - 1, x + 2, y)
            else:
                hh = (a[4] - a[2]) * k
                yy = sy.above(x - .4, x + .4, hh, .15) if up else y - (gl[4] - gl[2]) / 2 - hh - .1
                sy.cv.glyph(a, x - (a[1] + a[3]) / 2 * k, yy - a[2] * k, k)
        if e.trill_line:
            w = sy.g("wiggle")
            nx = [q.x for q in evs if q.x > e.x + .5 and not q.grace]
            end = min(nx + [sy.width_total]) - .3
            cx = x + (gl[3] - gl[1]) / 2 + .2 + (.9 if e.ornacc else 0)
            n = 0
            while (cx + w[5] < end or n < 1) and n < 60:
                sy.cv.glyph(w, cx, y)
                cx += w[5] or 1
                n += 1
            sy.mark(x, y - .6, cx, y + .3)
        return {"orn", "ornacc", "trill_line"}
    elif o == "bow":
        said = {m for m in ("upbow", "downbow", "harmonic", "stopped") if m in e.marks}
        for m in sorted(said):
            sy.stack(m, x, up, .3)
        return said
    elif o == "fermata" and "fermata" in e.marks:
        if e.voice2 or (rng.random() < .06 and up):
            sy.stack("fermatab", x, False, .35)
        else:
            sy.stack("fermata", x, True, .35)
        return {"fermata"}
    return set()


def word_glyph(name, word, size):
    """Letters of a text font as one sign, standing on its line."""
    polys, x = [], 0.0
    for c in word:
        g = font(name).glyph(ord(c))
        polys += [p * size + (x, 0) for p in g[0]]
        x += g[5] * size
    a = np.concatenate(polys)
    return (polys, *a.min(0), *a.max(0), x)


def dyn_glyph(sy, name, x, y, k):
    cx = x
    for c in name:
        gl = sy.g(DYN_LETTER[c])
        sy.cv.glyph(gl, cx, y, k)
        cx += gl[5] * k * .95
    return cx


def stream_c(sy, main):
    """Dynamics and hairpins on one line, or each at its own height."""
    s, rng = sy.s, sy.rng
    seq = [e for e in main if not e.voice2]
    above = s.dyn_above
    place = sy.above if above else sy.below
    k = s.dyn_scale
    open_h = sy.hair_open
    x_open = None
    stop_x = {}
    for idx, e in enumerate(seq):
        wdyn = 0
        if e.dyn:
            name = e.dyn[0]
            wdyn = sum(sy.g(DYN_LETTER[c])[5] for c in name) * k * .95
            x = e.x + e.hw / 2 - wdyn / 2 + s.dyn_shift * rng.random()
            if e.hair_end and not e.hair_start and rng.random() < .5:
                x = e.x
            h = 2.3 * k if "f" in name else 1.7 * k
            y = fixed_height(sy, x, x + wdyn, h, s.dyn_fixed)
            if y is None:
                y = place(x - .2, x + wdyn + .2, h, .1 + rng.random() * .5 + s.dyn_far)
            with sy.cv.watch() as ink:
                dyn_glyph(sy, name, x, y + h - .62 * k, k)
            stop_x[idx] = (x, x + wdyn)
            if ink.seen():
                sy.C.append((x + wdyn / 2, L.DYN_ID[name]))
    if s.hair_over:
        # Some engravers draw hairpins through the dynamics at their ends.
        stop_x = {}
    for idx, e in enumerate(seq):
        if e.hair_end and open_h is not None:
            if idx in stop_x and not rng.random() < .2:
                x1 = stop_x[idx][0] - .5
            elif not e.dyn and rng.random() < .5:
                x1 = e.x + e.hw + rng.uniform(-.5, .3)
            else:
                x1 = e.x - rng.uniform(.2, .6)
            hairpin(sy, open_h, x_open, x1, place, True)
            open_h, x_open = None, None
        if e.hair_start:
            open_h = e.hair_start
            x_open = stop_x[idx][1] + .4 if idx in stop_x else e.x + rng.uniform(-.3, .5)
    if open_h is not None:
        hairpin(sy, open_h, x_open, None, place, True)


ENDS = (L.DYN_ID["cresc_end"], L.DYN_ID["dim_end"])


def fixed_height(sy, x0, x1, h, at):
    """Top of a sign that stands at its engraver's own height over whatever is there; None where that would be in the thick of the notes."""
    if at is None:
        return None
    a, b = sy.span(x0, x1)
    if sy.s.dyn_above:
        return -at - h if -at - h < sy.top[a:b].min() + 1.5 else None
    return at if at + h > sy.bot[a:b].max() - 1.5 else None


def hairpin(sy, kind, x0, x1, place, _):
    s, rng = sy.s, sy.rng
    cont_in, cont_out = x0 is None, x1 is None
    if cont_in:
        x0 = sy.first_note_x() - 1.2
    if cont_out:
        x1 = sy.width_total - rng.uniform(0, .6)
    x0 += 0 if cont_in else s.hair_from
    x1 += 0 if cont_out else s.hair_to
    short = s.hair_min - (x1 - x0)
    if short > 0:
        both = s.hair_both and not cont_in and not cont_out
        x0, x1 = (x0 - short / 2, x1 + short / 2) if both else (x0, x1 + short)
    h = s.hair_h
    y = fixed_height(sy, x0, x1, h, s.hair_fixed)
    y = (place(x0, x1, h, .45 + s.dyn_far) if y is None else y) + h / 2
    a, b = (0, h / 2) if kind == "cresc" else (h / 2, 0)
    if cont_in:
        a = max(a, h / 6) if kind == "cresc" else a * .8
    if cont_out:
        b = max(b, h / 6) if kind == "dim" else b * .8
    a, b = max(a, s.hair_slit / 2), max(b, s.hair_slit / 2)
    with sy.cv.watch() as ink:
        sy.cv.line(x0, y - a, x1, y - b, s.hair_t)
        sy.cv.line(x0, y + a, x1, y + b, s.hair_t)
    if not ink.seen():
        return
    if not cont_in:
        # Where two run into each other, the first still ends before the second begins.
        last = next((i for i in range(len(sy.C) - 1, -1, -1) if sy.C[i][1] in ENDS), None)
        if last is not None and x0 - .2 < sy.C[last][0] < x1:
            m = (x0 + sy.C[last][0]) / 2
            sy.C[last] = (m - .2, sy.C[last][1])
            sy.C.append((m + .2, L.DYN_ID[kind]))
        else:
            sy.C.append((x0, L.DYN_ID[kind]))
    if not cont_out:
        sy.C.append((x1, L.DYN_ID[kind + "_end"]))


def stream_b(sy, main):
    s, rng = sy.s, sy.rng
    seq = [e for e in main if not e.voice2]
    for i, e in enumerate(seq):
        if e.breath:
            nx = next((q.x - q.left for q in seq[i + 1:]), sy.width_total)
            bars = [it.x for it in sy.items if it.x > e.x + e.hw]
            nx = min([nx] + bars)
            gl = sy.g("comma" if e.breath == "breath" else "caesura")
            if e.breath == "breath" and s.comma == "text":
                g = font(s.comma_font).glyph(ord(rng.choice(",\u2019")))
                if g:
                    q = s.comma_size
                    gl = ([(p - (0, g[4])) * q for p in g[0]], g[1] * q, (g[2] - g[4]) * q, g[3] * q, 0.0, g[5] * q)
            elif e.breath == "breath" and s.comma == "tick":
                h = s.comma_size
                gl = ([np.array([(-.3 * h, -h), (0, -.1), (.45 * h, -1.3 * h), (.1, .1), (-.1, .1)])], -.3 * h, -1.3 * h, .45 * h, .1, h)
            x = max(e.x + e.hw + .3, (e.x + e.hw + nx) / 2) if nx - e.x > 2.5 else nx - .5
            if s.breath_at == "note":
                x = e.x + e.hw * rng.uniform(.6, 1.1)
            elif s.breath_at == "next":
                x = max(e.x + e.hw + .2, nx - rng.uniform(.2, .9))
            y = -2 - (rng.uniform(-.5, 2.2) if e.breath == "breath" else 0)
            if s.breath_at == "note":
                y = min(y, sy.top[slice(*sy.span(x - .3, x + 1))].min() - .5)
            if e.breath == "breath" and rng.random() < .3:
                y = min(y, sy.top[slice(*sy.span(x - .3, x + 1))].min() - .7)
            with sy.cv.watch() as ink:
                sy.put(gl, x, y)
            if ink.seen():
                sy.B.append((x + gl[3] / 2, L.ROAD_ID[e.breath]))
    ottava(sy, seq)
    n = len(sy.bars)
    lefts = [sy.items[st - 1].x if k else None for k, (_, st, _) in enumerate(sy.bar_marks)]
    for k, (b, st, en) in enumerate(sy.bar_marks):
        xl = lefts[k] if k else sy.first_note_x() - 1.5
        xr = sy.items[en].x if en < len(sy.items) else sy.width_total
        if b.volta or (sy.volta_open and k == 0):
            m = k
            while m < n - 1 and not sy.bars[m].volta_end:
                m += 1
            ends = sy.bars[m].volta_end
            x1 = sy.items[sy.bar_marks[m][2]].x + .3
            volta(sy, b.volta, xl, x1, ends, closed=sy.bars[m].right in ("rep_end", "final", "double", "rep_both"))
    for k, (b, st, en) in enumerate(sy.bar_marks):
        xl = (lefts[k] if k else sy.first_note_x() - 1)
        if b.road:
            at_end = rng.random() < .25
            x = xl + .3 if not at_end else sy.items[min(en, len(sy.items) - 1)].x - .2
            if s.road_on_note and not at_end and b.voices:
                e = b.voices[0][0]
                x = e.x + e.hw / 2
            kk = rng.uniform(.7, 1.05)
            with sy.cv.watch() as ink:
                sy.stack(b.road, x, True, .5, kk)
            if ink.seen():
                sy.B.append((x, L.ROAD_ID[b.road]))


def ottava(sy, seq):
    s, rng = sy.s, sy.rng
    cur, x0 = sy.ott_open, None
    for e in seq:
        if e.ott_start:
            cur, x0 = e.ott_start, e.x - .3
        if e.ott_end and cur:
            ott_line(sy, cur, x0, e.x + e.hw + rng.uniform(0, .6))
            cur = None
    if cur:
        ott_line(sy, cur, x0, None)


def ott_line(sy, kind, x0, x1):
    s, rng, cv = sy.s, sy.rng, sy.cv
    up = kind in ("8va", "15ma")
    cont_in, cont_out = x0 is None, x1 is None
    x0 = sy.first_note_x() - 1 if cont_in else x0
    x1 = sy.width_total if cont_out else x1
    x1 = max(x1, x0 + 3.5)
    y = (sy.above if up else sy.below)(x0, x1, 1.9, .5)
    with cv.watch() as ink:
        w = ott_sign(sy, kind, x0, y)
    ly = y + (.35 if up else 1.45)
    cx = x0 + w + .3
    while cx < x1 - .2:
        cv.line(cx, ly, min(cx + s.ott_dash, x1), ly, .12)
        cx += s.ott_dash * 1.8
    if not cont_out:
        with cv.watch() as hook:
            cv.line(x1, ly, x1, ly + (1 if up else -1), .12)
        if hook.seen():
            sy.B.append((x1, L.ROAD_ID["ott_end"]))
    # A continuation on the next system is printed again, so it is read again.
    if ink.seen():
        sy.B.append((x0 + w / 2, L.ROAD_ID[kind]))


def ott_sign(sy, kind, x0, y):
    """The figure that begins an ottava; its width."""
    s, cv = sy.s, sy.cv
    if s.ott == "8va_text":
        return sy.text(kind, x0, y + 1.5, .5, "edwin-italic") - x0
    else:
        code = {"8va": 0xE511 if s.ott == "8va" else 0xE510, "8vb": 0xE51C if s.ott == "8va" else 0xE510,
                "15ma": 0xE515 if s.ott == "8va" else 0xE514, "15mb": 0xE51D if s.ott == "8va" else 0xE514}[kind]
        gl = sy.g(code)
        cv.glyph(gl, x0, y + 1.5, .9)
        return gl[3] * .9


def volta(sy, label, x0, x1, ends, closed):
    s, cv, rng = sy.s, sy.cv, sy.rng
    h = s.volta_h
    y = sy.above(x0, x1, h, .4)
    t = s.bracket_t
    cv.line(x0 + .2, y, x1, y, t)
    if label:
        with cv.watch() as ink:
            cv.line(x0 + .2, y, x0 + .2, y + h, t)
        txt = {"v1": "1.", "v2": "2.", "v3": "3.", "v4": "4.", "v12": rng.choice(["1.2.", "1., 2.", "1.–2.", "1, 2."]),
               "v123": rng.choice(["1.2.3.", "1.–3.", "1.-3."]), "v34": rng.choice(["3.4.", "3., 4.", "3.–4."])}[label]
        if rng.random() < .2 and len(txt) == 2:
            txt = txt[0]
        sy.text(txt, x0 + .7, y + min(h, 1.7) * .85, .42)
        if ink.seen():
            sy.B.append((x0 + .2, L.ROAD_ID[label]))
    if ends:
        with cv.watch() as ink:
            cv.line(x1 - t, y, x1, y, t)
            if closed or s.volta_hook_open:
                cv.line(x1, y, x1, y + h * rng.uniform(.6, 1), t)
        if ink.seen():
            sy.B.append((x1, L.ROAD_ID["vend"]))


def furniture(sy):
    """Words, bar numbers, rehearsal letters, lyrics: there to be passed over."""
    s, rng = sy.s, sy.rng
    if s.bar_numbers:
        y = sy.above(0, 2, 1.2, .2)
        sy.text(str(rng.randrange(2, 200)), 0, y + 1.2, rng.uniform(.3, .42))
    if s.words:
        for it in sy.items:
            if rng.random() < s.words:
                w = rng.choice(WORDS)
                size = rng.uniform(.4, .6)
                f = rng.choice(TEXT_FONTS)
                wd = sy.text_width(w, size, f)
                x = it.x
                if x + wd > sy.width_total + 2:
                    continue
                if rng.random() < .55:
                    y = sy.above(x, x + wd, size * 3, .4)
                else:
                    y = sy.below(x, x + wd, size * 3, .4)
                sy.text(w, x, y + size * 2.6, size, f)
                if len(w) == 1 and rng.random() < .6:
                    for a, b, c, d in ((-.3, -.2, -.3, 1), (1, -.2, 1, 1)):
                        pass
                    sy.cv.line(x - .4, y - .2, x + wd + .4, y - .2, .12)
                    sy.cv.line(x - .4, y + size * 3.2, x + wd + .4, y + size * 3.2, .12)
                    sy.cv.line(x - .4, y - .2, x - .4, y + size * 3.2, .12)
                    sy.cv.line(x + wd + .4, y - .2, x + wd + .4, y + size * 3.2, .12)
    if s.marks:
        for it in sy.items:
            if rng.random() < s.marks:
                metronome(sy, it.x)
    if s.lyrics:
        y = max(3.5, sy.bot.max() + .5 if rng.random() < .5 else 4)
        for e in sy.order:
            if not e.grace and not e.rest and not e.voice2:
                w = rng.choice(["la", "do", "the", "and", "-", "light", "ri", "ver", "A", "men", "sing"])
                sy.text(w, e.x, min(y + 2, 9), .45)


def metronome(sy, x):
    """A tempo's note and figure above the staff: no note of the line."""
    s, rng = sy.s, sy.rng
    k = rng.uniform(.5, .85)
    size = rng.uniform(.4, .6)
    t = rng.choice(["= {}", "={}", "= c. {}", "= {}\u2013{}"]).format(rng.randrange(40, 200), rng.randrange(60, 200))
    w = 2.6 * k + sy.text_width(t, size, s.text)
    lead = ""
    if rng.random() < .6:
        lead = rng.choice(["Allegro", "Andante", "Adagio", "Presto", "Moderato", "Lento", "Vivace"]) + " "
    lw = sy.text_width(lead, size, s.text)
    if x + lw + w > sy.width_total:
        return
    y = sy.above(x, x + lw + w, 3.4 * k, .4) + 3.2 * k
    x = sy.text(lead, x, y, size) if lead else x
    half, eighth = rng.random() < .25, rng.random() < .2
    gl = sy.g("half" if half else "black")
    sy.cv.glyph(gl, x, y - .4 * k, k)
    sx = x + gl[3] * k - .06
    sy.cv.rect(sx - .06, y - 3.2 * k, sx + .06, y - .5 * k)
    if eighth and not half:
        sy.cv.glyph(sy.g(0xE240), sx, y - 3.2 * k, k)
    if rng.random() < .3:
        sy.dot(x + gl[3] * k + .5 * k, y - .5 * k, .2 * k)
        x += .5 * k
    sy.text(t, x + 2.3 * k, y, size)


def render(sy):
    return draw_system(sy)
