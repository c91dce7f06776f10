"""What music is on the page? Plain values, and a seeded generator of plausible and hard lines.

Everything here is as *printed*: an accidental is there or not, a clef stands
before this note. Durations are exact fractions of a whole note.
"""

from dataclasses import dataclass, field
from fractions import Fraction as F

from labels import CLEF_BOTTOM

NAMES = {F(2): "breve", F(1): "1", F(1, 2): "2", F(1, 4): "4", F(1, 8): "8", F(1, 16): "16",
         F(1, 32): "32", F(1, 64): "64", F(1, 128): "128"}
SINGLE = {}
for _v, _n in NAMES.items():
    for _d, _m in ((0, F(1)), (1, F(3, 2)), (2, F(7, 4))):
        SINGLE[_v * _m] = (_n, _d)
ALTER_SIGN = {-2: "ff", -1: "f", 0: "n", 1: "s", 2: "x"}
SHARP_STEPS = [3, 0, 4, 1, 5, 2, 6]


@dataclass(eq=False)
class Head:
    dp: int
    acc: str | None = None
    paren: bool = False
    tie: bool = False
    finger: int | None = None
    shape: str = "normal"


@dataclass(eq=False)
class Tup:
    num: int
    base: int
    shown: bool = True
    label: str = ""
    bracket: bool = True


@dataclass(eq=False)
class Ev:
    rest: bool = False
    heads: list = field(default_factory=list)
    type: str = "4"
    dots: int = 0
    dur: F = F(1, 4)
    marks: set = field(default_factory=set)
    orn: str | None = None
    ornacc: str | None = None
    trill_line: bool = False
    arpeggio: bool = False
    trem: int = 0
    grace: bool = False
    slash: bool = False
    tups: list = field(default_factory=list)
    tup_end: int = 0
    tup_end_shown: bool = False
    slur_start: bool = False
    slur_end: bool = False
    beam: int | None = None
    graces: list = field(default_factory=list)
    after: list = field(default_factory=list)
    voice2: bool = False
    clef_before: str | None = None
    dyn: list = field(default_factory=list)
    hair_start: str | None = None
    hair_end: bool = False
    breath: str | None = None
    ott_start: str | None = None
    ott_end: bool = False
    full_bar: bool = False
    id: str = ""
    x: float = 0.0


@dataclass(eq=False)
class Bar:
    voices: list = field(default_factory=list)
    clef: str | None = None
    key: int | None = None
    cancel: bool = False
    metre: object = None
    right: str = "single"
    volta: str | None = None
    volta_end: bool = False
    mrest: int = 0
    mrepeat: bool = False
    bar_fermata: bool = False
    road: str | None = None
    id: str = ""


@dataclass(eq=False)
class Line:
    clef: str
    key: int
    metre: object
    bars: list
    start_repeat: bool = False


def metre_len(m):
    return {"C": F(1), "cut": F(1)}.get(m) if isinstance(m, str) else F(m[0], m[1])


def groups(rng, m):
    """Beat groups a beam may span."""
    if m == "C":
        m = (4, 4)
    if m == "cut":
        m = (2, 2)
    n, d = m
    if d == 8 and n % 3 == 0 and n > 3:
        return [F(3, 8)] * (n // 3)
    if d == 16 and n % 3 == 0:
        return [F(3, 16)] * (n // 3)
    if d >= 8 and n > 4 or (d == 8 and n == 5):
        out, left = [], n
        while left > 0:
            k = left if left in (2, 3) else (2 if left == 4 else rng.choice([2, 3]))
            out.append(F(k, d))
            left -= k
        return out
    if d == 8 and n <= 4:
        return [F(n, 8)]
    if d == 2:
        return [F(1, 2)] * n if rng.random() < .5 else [F(1, 4)] * (2 * n)
    if d == 4 and n % 2 == 0 and rng.random() < .4:
        return [F(1, 2)] * (n // 2)
    return [F(1, d)] * n


class Gen:
    """One seeded line. `hard` in 0..1 moves from folk song to the nastiest page."""

    def __init__(self, rng, hard, feats=None):
        self.rng, self.hard = rng, hard
        self.off = feats or set()
        self.beam_id = 0
        r = rng.random
        self.minv = rng.choices([F(1, 8), F(1, 16), F(1, 32), F(1, 64), F(1, 128)],
                                [3, 6, 1 + 3 * hard, .2 + 2 * hard, .1 * hard])[0]
        self.p_rest = rng.choice([.05, .1, .2])
        self.p_tup = 0 if r() < .45 else rng.choice([.05, .12, .25])
        self.p_chrom = rng.choice([.02, .08, .25]) * (1 + hard)
        self.p_art = 0 if r() < .3 else rng.choice([.05, .15, .35])
        self.p_orn = 0 if r() < .6 else rng.choice([.03, .1])
        self.p_grace = 0 if r() < .55 else rng.choice([.03, .12])
        self.p_slur = 0 if r() < .25 else rng.choice([.08, .2, .3])
        self.p_tie = rng.choice([.02, .06])
        self.p_dyn = 0 if r() < .2 else rng.choice([.04, .1, .18])
        self.p_hair = 0 if r() < .3 else rng.choice([.03, .08, .15])
        self.hair_long = False
        self.p_finger = 0 if r() < .75 else rng.choice([.15, .5])
        self.p_chord = 0 if r() < .78 else rng.choice([.05, .3])
        self.p_clef = 0 if r() < .7 else .12
        self.p_trem = 0 if r() < .85 else .08
        self.p_road = .06
        self.p_bow = 0 if r() < .8 else .1
        self.two_voices = r() < .05
        self.span = rng.choice([5, 7, 9]) + 4 * hard
        self.centre = rng.gauss(4.5, 2 + 1.5 * hard)
        self.leap = rng.choice([.15, .3, .5])
        self.number_style = rng.choices(["all", "first", "bare"], [8, 1.5, .5])[0]

    def has(self, f):
        return f not in self.off

    def fill(self, length, depth=0, in_tup=0, beat=False):
        """Events that fill `length` (written length, inside its tuplet)."""
        rng = self.rng
        single = SINGLE.get(length)
        if single and single[1] == 2 and rng.random() < .6 and length / 7 >= max(self.minv, F(1, 128)):
            single = None
        p_one = {F(1): .3, F(3, 4): .35, F(1, 2): .35, F(3, 8): .35, F(1, 4): .5, F(3, 16): .5,
                 F(1, 8): .72, F(3, 32): .7, F(1, 16): .85, F(1, 32): .88}.get(length, .5)
        small = length <= self.minv or length / max(1, length.numerator) <= F(1, 128)
        if single and (small or rng.random() < p_one):
            ev = Ev(type=single[0], dots=single[1], dur=length)
            ev.rest = rng.random() < self.p_rest * (.6 if in_tup else 1)
            return [ev]
        can_tup = self.has("tuplet") and in_tup < 2 and length >= 2 * self.minv and length >= F(1, 16)
        if can_tup and rng.random() < self.p_tup * (.25 if in_tup else 1) * (1 if length <= F(1, 4) else .5):
            t = self.tuplet(length, in_tup)
            if t:
                return t
        big = max(v for v in NAMES if v < length)
        if length.numerator == 3:
            cut = rng.choice([length / 3, length / 3, 2 * length / 3])
        elif length.numerator > 1:
            cut = rng.choice([big, length - big])
        else:
            cut = rng.choices([length / 2, length * F(3, 4), length / 4, length * F(7, 8)],
                              [6, 2.2, .6, .25 * self.hard])[0]
            if min(cut, length - cut) < self.minv:
                cut = length / 2
        if max(cut.denominator, (length - cut).denominator) > 128:
            # No shorter note than a 128th: keep it whole, or halve it into plain ones.
            whole = SINGLE.get(length)
            if whole:
                return [Ev(type=whole[0], dots=whole[1], dur=length)]
            cut = big
        return self.fill(cut, depth + 1, in_tup) + self.fill(length - cut, depth + 1, in_tup)

    def tuplet(self, length, in_tup):
        rng = self.rng
        if length.numerator % 3 == 0:
            num, base = rng.choice([(2, 3), (4, 3), (4, 6), (5, 6), (7, 6), (8, 6), (2, 3)])
        else:
            num, base = rng.choices([(3, 2), (5, 4), (6, 4), (7, 4), (9, 8), (10, 8), (11, 8), (13, 8), (15, 8), (12, 8)],
                                    [10, 3, 4, 2, .8, .6, .4, .3, .2, .3])[0]
        unit = length / base
        if unit not in NAMES or unit < F(1, 128) or (num > 8 and in_tup):
            return None
        evs, left = [], num
        plain = rng.random() < .6
        while left:
            k = 1 if plain or left == 1 else rng.choices([1, 2, F(3, 2)], [5, 2, 1])[0]
            if k == F(3, 2) and left >= 2 and unit > F(1, 64):
                evs += self.fill_note(unit * F(3, 2)) + self.fill_note(unit / 2)
                left -= 2
                continue
            k = min(int(k), left)
            if in_tup == 0 and not plain and rng.random() < .1:
                evs += self.fill(unit * k, 3, 1)
            elif unit * k in SINGLE:
                evs += self.fill_note(unit * k)
            else:
                evs += [e for _ in range(k) for e in self.fill_note(unit)]
            left -= k
        if all(e.rest for e in evs) or len(evs) < 2:
            return None
        for e in evs:
            e.dur = e.dur * F(base, num)
        evs[0].tups.insert(0, Tup(num, base, label=str(num)))
        evs[-1].tup_end += 1
        return evs

    def fill_note(self, length):
        t, d = SINGLE[length]
        return [Ev(type=t, dots=d, dur=length, rest=self.rng.random() < self.p_rest * .5)]

    def voice(self, m):
        rng = self.rng
        out = []
        gs = groups(rng, m)
        i = 0
        while i < len(gs):
            span = 1
            if rng.random() < .28:
                span = rng.choice([2, len(gs)])
            span = min(span, len(gs) - i)
            length = sum(gs[i:i + span])
            evs = self.fill(length)
            i += span
            self.beam_id += 1
            acc = F(0)
            for e in evs:
                if e.dur * 1 and int(e.type if e.type != "breve" else 0) >= 8:
                    # Long spans still break their beams at the beats.
                    e.beam = (self.beam_id, int(acc / gs[0])) if span > 1 else (self.beam_id, 0)
                acc += e.dur
            out += evs
        self.clean_beams(out)
        return out

    def clean_beams(self, evs):
        """A beam needs two notes; long rests end it; sometimes flags are written singly."""
        single_flags = self.rng.random() < .03
        run = []

        def close():
            notes = [e for e in run if not e.rest]
            keep = len(notes) >= 2 and not single_flags
            if keep:
                while run[0].rest:
                    run.pop(0).beam = None
                while run[-1].rest:
                    run.pop().beam = None
            if not keep:
                for e in run:
                    e.beam = None
            run.clear()

        over_rests = self.rng.random() < .3
        for e in evs:
            if e.beam is None or (run and e.beam != run[-1].beam) or (e.rest and not over_rests):
                if run:
                    close()
                if e.rest and not over_rests:
                    e.beam = None
            if e.beam is not None:
                run.append(e)
        if run:
            close()

    def line(self, nbars):
        """A whole line of `nbars` printed bars."""
        rng = self.rng
        clef = rng.choices(["G2", "F4", "C3", "C4", "G2v", "C1", "G2^", "F4v", "C2", "C5", "F3", "G1", "F5"],
                           [46, 20, 10, 9, 4, 2, 1.5, 1, 1.2, 1, .8, .8, .5])[0]
        key = rng.choices(range(-7, 8), [1.5, 2, 2.5, 3, 3, 4, 5, 6, 5, 4, 3, 3, 2.5, 2, 1.5])[0]
        metre = self.metre()
        self.clef, self.key, self.m = clef, key, metre
        self.pos = round(self.centre)
        bars = []
        for i in range(nbars):
            bars.append(self.bar(i, i + 1 == nbars))
        line = Line(clef, key, metre, bars, start_repeat=rng.random() < .04)
        self.spans(line)
        return line

    def metre(self):
        return self.rng.choices(
            ["C", "cut", (4, 4), (3, 4), (2, 4), (6, 8), (2, 2), (3, 8), (9, 8), (12, 8), (5, 4), (5, 8), (7, 8), (3, 2),
             (6, 4), (4, 2), (7, 4), (4, 8), (2, 8), (1, 4), (8, 8), (10, 8), (11, 8), (15, 8), (6, 16), (9, 16), (3, 16),
             (5, 16), (7, 16), (12, 16), (1, 8), (4, 16), (13, 8), (18, 8), (9, 4), (12, 4), (21, 16), (24, 16)],
            [8, 6, 12, 13, 12, 12, 4, 5, 4, 4, 3, 3, 3, 3, 2, 1, 1, 1, .5, .4, .4, .4, .3, .2, .5, .5, .4, .4, .4, .3, .2, .2,
             .1, .15, .2, .15, .08, .08])[0]

    def bar(self, i, last):
        rng = self.rng
        b = Bar()
        if i and rng.random() < self.p_clef and self.has("clef_change"):
            b.clef = rng.choice([c for c in ("G2", "F4", "C4", "C3") if c != self.clef])
            self.set_clef(b.clef)
        if i and rng.random() < .04:
            new = max(-7, min(7, self.key + rng.choice([-5, -3, -2, -1, 1, 2, 3, 5, -self.key])))
            if new != self.key:
                shrinks = new * self.key <= 0 or abs(new) < abs(self.key)
                b.cancel = bool(self.key) and (new == 0 or shrinks and rng.random() < .5)
                b.key = new
                self.key = new
        if i and rng.random() < .05:
            new = self.metre()
            if new != self.m:
                b.metre = self.m = new
        r = rng.random()
        if r < .03 and self.has("mrest"):
            b.mrest = rng.choices([2, 3, 4, 5, 8, rng.randrange(6, 30), rng.randrange(10, 99)], [4, 3, 3, 1, 2, 4, 2])[0]
        elif r < .045 and i and self.has("mrepeat"):
            b.mrepeat = True
        elif r < .075:
            b.voices = [[Ev(rest=True, type="1", dur=metre_len(self.m), full_bar=True)]]
        else:
            v = self.voice(self.m)
            self.pitches(v, 1)
            b.voices = [v]
            if self.two_voices and rng.random() < .6 and self.has("voice2"):
                save = self.hard, self.p_art, self.p_orn, self.p_grace, self.p_tup
                self.p_art = self.p_orn = self.p_grace = self.p_tup = 0
                w = self.voice(self.m)
                self.p_art, self.p_orn, self.p_grace, self.p_tup = save[1:]
                for e in w:
                    e.voice2 = True
                self.pitches(w, 2, v)
                b.voices.append(w)
            for e in v:
                self.marks(e)
            if rng.random() < self.p_clef * .6 and len(v) > 2 and self.has("clef_change") and len(b.voices) == 1:
                self.mid_clef(v)
        if rng.random() < .10:
            b.right = rng.choices(["double", "rep_end", "rep_start", "rep_both", "dashed"], [5, 4, 3, 1.5, .6])[0]
        if last and rng.random() < .3:
            b.right = rng.choice(["final", "final", "rep_end", "double"])
        if rng.random() < .015 and b.right in ("double", "final", "single"):
            b.bar_fermata = True
        if rng.random() < self.p_road * .5 and self.has("road"):
            b.road = rng.choice(["segno", "coda"])
        return b

    def set_clef(self, c):
        self.clef = c

    def mid_clef(self, v):
        """A clef change before a note inside the bar: later heads keep their place on the staff."""
        rng = self.rng
        k = rng.randrange(1, len(v))
        new = rng.choice([c for c in ("G2", "F4", "C4", "C3") if c != self.clef])
        if v[k].beam is not None and v[k - 1].beam == v[k].beam and rng.random() < .7:
            return
        if self.inside_tuplet(v, k):
            return
        v[k].clef_before = new
        shift = CLEF_BOTTOM[new] - CLEF_BOTTOM[self.clef]
        for e in v[k:]:
            for h in [h for x in e.graces + [e] + e.after for h in x.heads]:
                h.dp += shift
        for h in v[k - 1].heads:
            h.tie = False
        self.clef = new

    @staticmethod
    def inside_tuplet(v, k):
        depth = 0
        for e in v[:k]:
            depth += len(e.tups) - e.tup_end
        return depth > 0

    def step(self):
        rng = self.rng
        if rng.random() < self.leap:
            d = rng.choice([-7, -5, -4, -3, -2, 2, 3, 4, 5, 7, rng.randrange(-12, 13)])
        else:
            d = rng.choice([-1, -1, 1, 1, 0, -2, 2])
        p = self.pos + d
        lo, hi = self.centre - self.span, self.centre + self.span
        if p < lo or p > hi:
            p = self.pos - d
        self.pos = int(max(-11, min(21, max(lo - 2, min(hi + 2, p)))))
        return self.pos

    def alter_of_key(self, dp):
        s = dp % 7
        if self.key > 0:
            return 1 if s in SHARP_STEPS[:self.key] else 0
        return -1 if s in SHARP_STEPS[::-1][:-self.key] else 0

    def accidental(self, h, state):
        """What a writer would print, with some courtesy signs."""
        rng = self.rng
        cur = state.get(h.dp, self.alter_of_key(h.dp))
        want = cur if rng.random() < .5 else self.alter_of_key(h.dp)
        if rng.random() < self.p_chrom:
            want = rng.choices([-2, -1, 0, 1, 2], [.25 + self.hard * .5, 3, 2.5, 3, .25 + self.hard * .5])[0]
        if want != cur:
            h.acc = ALTER_SIGN[want]
        elif rng.random() < .012:
            h.acc = ALTER_SIGN[want]
            h.paren = rng.random() < .5
        state[h.dp] = want

    def pitches(self, v, which, other=None):
        rng = self.rng
        state = {}
        tied = None
        base = CLEF_BOTTOM[self.clef]
        two = other is not None
        for k, e in enumerate(v):
            if e.rest:
                tied = None
                continue
            if tied is not None:
                e.heads = [Head(dp, shape="normal") for dp in tied]
                self.pos = tied[0] - base
            else:
                p = self.step()
                if other is not None:
                    p = max(-11, min(p - 5, 3))
                e.heads = [Head(p + base)]
                if rng.random() < self.p_chord and not two and self.has("chord"):
                    q = p
                    for _ in range(rng.choice([1, 1, 2, 3])):
                        q += rng.choice([1, 2, 2, 3, 4, 5, 7])
                        if q > 21:
                            break
                        e.heads.append(Head(q + base))
                if e.type in ("4", "2", "8") and rng.random() < .004 and self.has("heads"):
                    for h in e.heads:
                        h.shape = rng.choice(["x", "diamond"])
                for h in e.heads:
                    self.accidental(h, state)
            tied = None
            if rng.random() < self.p_tie and k + 1 < len(v) and not v[k + 1].rest:
                for h in e.heads:
                    h.tie = True
                tied = [h.dp for h in e.heads]
        if which == 1 and not v[-1].rest and rng.random() < self.p_tie * 2:
            # A tie into the next bar: the next bar's first note is drawn free, so mark only where it fits.
            v[-1].want_tie = True

    def marks(self, e):
        rng = self.rng
        r = rng.random
        if e.rest:
            if r() < .02:
                e.marks.add("fermata")
            return
        if r() < self.p_art:
            e.marks.add(rng.choices(["staccato", "tenuto", "accent", "marcato", "staccatissimo"], [6, 3, 4, 2, 1.5])[0])
            if r() < .12:
                a = rng.choice([("staccato", "tenuto"), ("staccato", "accent"), ("tenuto", "accent")])
                e.marks = set(a)
        if r() < .012:
            e.marks.add("fermata")
        if r() < self.p_bow and self.has("bow"):
            e.marks.add(rng.choice(["upbow", "downbow", "harmonic", "stopped"]))
        if r() < self.p_orn:
            e.orn = rng.choices(["trill", "mordent", "shorttrill", "turn", "invturn"], [5, 2, 2.5, 3, .7])[0]
            if r() < .25 and self.has("ornacc"):
                e.ornacc = rng.choice(["s", "f", "n"])
            if e.orn == "trill" and r() < .3 and self.has("trill_line"):
                e.trill_line = True
        if r() < self.p_grace:
            e.graces = self.grace_group()
        elif r() < self.p_grace * .15 and self.has("after_grace"):
            e.after = self.grace_group(slash_ok=False)
        if self.p_finger and r() < self.p_finger and len(e.heads) == 1 and self.has("finger"):
            e.heads[0].finger = rng.choices(range(6), [1, 5, 5, 5, 5, 2])[0]
        if r() < self.p_trem and e.type in ("1", "2", "4", "8") and e.dots < 2 and self.has("trem"):
            e.trem = rng.choice([1, 2, 3, 3, 4] if e.type != "8" else [1, 2, 3])
        if len(e.heads) > 1 and r() < .06 and self.has("arpeggio"):
            e.arpeggio = True
        if r() < .012 and self.has("breath"):
            e.breath = rng.choice(["breath", "breath", "caesura"])

    def grace_group(self, slash_ok=True):
        rng = self.rng
        n = rng.choices([1, 2, 3, 4, 5], [7, 3, 1.5, .7, .3])[0]
        t = rng.choice(["8", "8", "8", "16", "4"]) if n == 1 else rng.choice(["16", "16", "8", "32"])
        slash = slash_ok and t in ("8", "16") and rng.random() < (.6 if n == 1 else .15) and self.has("slash")
        pos, out = self.pos, []
        for i in range(n):
            pos = max(-10, min(20, pos + rng.choice([-2, -1, 1, 2, 3])))
            h = Head(pos + CLEF_BOTTOM[self.clef])
            if rng.random() < self.p_chrom * .6:
                h.acc = rng.choice(["s", "f", "n"])
            out.append(Ev(heads=[h], type=t, grace=True, slash=slash and i == 0, beam=0 if n > 1 else None, dur=F(0)))
        if rng.random() < .4 and self.has("grace_slur") and slash_ok:
            out[0].slur_start = True
        return out

    def spans(self, line):
        """Slurs, ties over barlines, dynamics, hairpins, ottavas, voltas, tuplet numbering."""
        rng = self.rng
        seq = [e for b in line.bars for v in b.voices[:1] for e in v]
        self.number_tuplets(line)
        i = 0
        while i < len(seq):
            e = seq[i]
            if not e.rest and rng.random() < self.p_slur and self.has("slur"):
                k = i + rng.choice([1, 1, 1, 2, 2, 3, 3, 4, 5, 6, 8, 12])
                k = min(k, len(seq) - 1)
                while k > i and seq[k].rest:
                    k -= 1
                if k > i and not (k == i + 1 and any(h.tie for h in e.heads)):
                    e.slur_start = seq[k].slur_end = True
                    if rng.random() < .75:
                        i = k if rng.random() < .25 else k + 1
                        continue
                    i = k + 1
                    continue
            i += 1
        self.fix_grace_slurs(seq)
        where = {id(e): k for k, bar in enumerate(line.bars) for v in bar.voices[:1] for e in v}
        for a, b in zip(seq, seq[1:]):
            if getattr(a, "want_tie", False) and where[id(b)] == where[id(a)] + 1 and not b.rest and not b.clef_before and not a.slur_start:
                dps = [h.dp for h in a.heads]
                if not b.graces and len(b.heads) == len(a.heads) and self.same_clef(line, a, b):
                    for h, dp in zip(b.heads, dps):
                        if not h.tie:
                            h.dp, h.acc, h.paren = dp, None, False
                    if [h.dp for h in b.heads] == dps:
                        for h in a.heads:
                            h.tie = True
        sound_ties(line)
        self.dynamics(seq)
        self.ottavas(seq)
        self.voltas(line)

    def same_clef(self, line, a, b):
        for bar in line.bars:
            if bar.voices and any(e is b for e in bar.voices[0]):
                return bar.clef is None
        return True

    def fix_grace_slurs(self, seq):
        """A slur from a grace note ends on its main note; not where another slur starts or ends."""
        inside = False
        for e in seq:
            if e.graces and e.graces[0].slur_start:
                if e.slur_end or e.slur_start or inside:
                    e.graces[0].slur_start = False
                else:
                    e.slur_end = True
                    e.grace_slur = True
            if e.slur_end and not getattr(e, "grace_slur", False):
                inside = False
            if e.slur_start:
                inside = True

    def number_tuplets(self, line):
        seen = {}
        for b in line.bars:
            for v in b.voices:
                open_t = []
                for e in v:
                    for t in e.tups:
                        n = seen.get(t.num, 0)
                        seen[t.num] = n + 1
                        t.shown = True
                        if self.number_style == "first" and n >= 2 and t.num == 3 and self.has("bare_tuplet"):
                            t.shown = False
                        elif self.number_style == "bare" and self.has("bare_tuplet") and n > 0:
                            t.label = "?"
                        open_t.append(t)
                    for _ in range(e.tup_end):
                        t = open_t.pop()
                        e.tup_end_shown = e.tup_end_shown or t.shown

    def dynamics(self, seq):
        rng = self.rng
        notes = [e for e in seq]
        i = 0
        while i < len(notes):
            e = notes[i]
            if not e.rest and rng.random() < self.p_dyn:
                e.dyn.append(rng.choices(["p", "f", "mf", "mp", "pp", "ff", "ppp", "fff", "sf", "sfz", "fp", "fz", "rfz", "rf",
                                          "pppp", "ffff", "sffz", "sfp"],
                                         [8, 8, 6, 5, 5, 5, 1.5, 1.5, 2, 2.5, 1.5, 1, .7, .5, .3, .3, .3, .5])[0])
            if self.has("hairpin") and rng.random() < self.p_hair and not e.rest:
                k = min(len(notes) - 1, i + rng.choice([4, 6, 8, 10, 12, 14, 18, 24] if self.hair_long else [1, 2, 2, 3, 4, 5, 6, 8]))
                if k > i:
                    e.hair_start = rng.choice(["cresc", "dim"])
                    notes[k].hair_end = True
                    i = k
                    continue
            i += 1

    def ottavas(self, seq):
        rng = self.rng
        if rng.random() < .12 and self.has("ottava") and len(seq) > 3:
            i = rng.randrange(len(seq) - 1)
            k = min(len(seq) - 1, i + rng.randrange(1, 12))
            if seq[i].rest or seq[k].rest:
                return
            seq[i].ott_start = rng.choices(["8va", "8vb", "15ma", "15mb"], [6, 3, .6, .4])[0]
            seq[k].ott_end = True

    def voltas(self, line):
        rng = self.rng
        n = len(line.bars)
        if rng.random() > .16 or n < 3 or not self.has("volta"):
            return
        i = rng.randrange(n - 1)
        labels = rng.choice([["v1", "v2"], ["v1", "v2"], ["v1", "v2"], ["v12", "v3"], ["v1", "v2", "v3"], ["v12", "v34"],
                             ["v123", "v4"]])
        for lab in labels:
            k = i + rng.choice([1, 1, 2])
            if k > n:
                break
            line.bars[i].volta = lab
            line.bars[k - 1].volta_end = True
            line.bars[k - 1].right = "rep_end" if lab != labels[-1] else line.bars[k - 1].right
            i = k
            if i >= n:
                break


def sound_ties(line):
    """A tie stands only where the next thing in its voice, in this bar or the next one, has the same head."""
    for k, bar in enumerate(line.bars):
        nxt = line.bars[k + 1] if k + 1 < len(line.bars) else None
        for vi, v in enumerate(bar.voices):
            follow = v[1:] + (nxt.voices[vi][:1] if nxt is not None and len(nxt.voices) > vi and not nxt.clef else [])
            for i, e in enumerate(v):
                same = {h.dp for h in follow[i].heads} if i < len(follow) and not follow[i].clef_before else set()
                for h in e.heads:
                    h.tie = h.tie and h.dp in same


def chunk(line, start):
    """Clef, key and metre in force before bar `start`."""
    clef, key, metre = line.clef, line.key, line.metre
    for b in line.bars[:start]:
        clef, key, metre = after_bar(b, clef, key, metre)
    return clef, key, metre


def after_bar(b, clef, key, metre):
    if b.clef:
        clef = b.clef
    if b.key is not None:
        key = b.key
    if b.metre:
        metre = b.metre
    for v in b.voices[:1]:
        for e in v:
            if e.clef_before:
                clef = e.clef_before
    return clef, key, metre
