"""Which melodies are real? Lines from music21's open corpus, gathered once into a small file.

`python corpus.py gather` (needs music21) writes .data/corpus.json.gz; every tenth file by the hash
of its name is held out (kept under "held_out", never drawn for training). Source: the corpus that
ships with music21 10.5.1 (Essen folk songs, Ryan's Mammoth Collection, O'Neill, Aird, Bach, Haydn ...).
"""

import functools
import gzip
import hashlib
import json
import os
import sys
from fractions import Fraction as F

from glyphs import DATA
from music import NAMES, SINGLE, Bar, Ev, Gen, Head, Line, groups, metre_len

PATH = os.path.join(DATA, "corpus.json.gz")
CLEF = {"TrebleClef": "G2", "BassClef": "F4", "AltoClef": "C3", "TenorClef": "C4", "Treble8vbClef": "G2v", "SopranoClef": "C1",
        "MezzoSopranoClef": "C2"}
ACC = {"sharp": "s", "flat": "f", "natural": "n", "double-sharp": "x", "double-flat": "ff"}
FOLDERS = [("bach", 60), ("ryansMammoth", 260), ("trecento", 40), ("airdsAirs", 6), ("essenFolksong", 6), ("haydn", 8), ("mozart", 8),
           ("corelli", 6), ("handel", 4), ("josquin", 8), ("palestrina", 30), ("leadSheet", 6), ("miscFolk", 4),
           ("nottingham-dataset", 6), ("schubert", 3), ("schumann_robert", 3), ("weber", 2), ("cpebach", 2), ("oneills1850", 3)]


def bars_of(part):
    """[clef, key, metre, bars]; a bar is a list of [type, dots, tie, [[diatonic, accidental printed]…]]; None if it holds what we don't model."""
    clef, key, metre, bars = None, 0, None, []
    for m in part.getElementsByClass("Measure"):
        if m.hasVoices():
            return None
        for c in m.getElementsByClass("Clef"):
            if clef is None:
                clef = CLEF.get(type(c).__name__)
        for k in m.getElementsByClass("KeySignature"):
            if not bars:
                key = k.sharps
        for t in m.getElementsByClass("TimeSignature"):
            if metre is None:
                metre = [t.numerator, t.denominator]
            elif [t.numerator, t.denominator] != metre:
                return [clef or "G2", key, metre, bars] if len(bars) > 3 else None
        if metre is None:
            return None
        out, total = [], F(0)
        for n in m.notesAndRests:
            q = F(n.quarterLength) / 4
            if q == 0:
                continue
            if q not in SINGLE:
                out = None
                break
            t, d = SINGLE[q]
            heads = []
            if n.isNote:
                a = n.pitch.accidental
                heads = [[n.pitch.octave * 7 + "CDEFGAB".index(n.pitch.step), ACC.get(a.name) if a is not None and a.displayStatus else None]]
            elif n.isChord:
                heads = [[p.octave * 7 + "CDEFGAB".index(p.step), ACC.get(p.accidental.name) if p.accidental and p.accidental.displayStatus else None]
                         for p in n.pitches[:4]]
            out.append([t, d, bool(n.tie and n.tie.type in ("start", "continue")), heads])
            total += q
        if out and total <= F(*metre):
            bars.append(out)
    return [clef or "G2", key, metre, bars] if len(bars) > 3 else None


def gather():
    import music21
    from music21 import corpus as mc
    root = os.path.join(os.path.dirname(music21.__file__), "corpus")
    out = {"train": [], "held_out": []}
    for folder, cap in FOLDERS:
        fs = sorted(f for d, _, fs in os.walk(os.path.join(root, folder)) for f in (os.path.join(d, x) for x in fs)
                    if f.endswith((".abc", ".xml", ".mxl", ".krn", ".musicxml")))
        n = 0
        for f in fs[:cap * 2]:
            if n >= cap:
                break
            name = os.path.relpath(f, root)
            side = "held_out" if int(hashlib.sha256(name.encode()).hexdigest(), 16) % 10 == 0 else "train"
            try:
                s = mc.parse(f)
                scores = list(s.scores) if hasattr(s, "scores") and len(s.scores) else [s]
                for sc in scores[:60]:
                    for p in list(sc.parts)[:4]:
                        if name.endswith(".abc") or name.endswith(".krn"):
                            p.makeNotation(inPlace=True)
                        b = bars_of(p)
                        if b:
                            out[side].append([name, *b])
                n += 1
            except Exception as e:
                print(name, type(e).__name__, str(e)[:60], file=sys.stderr)
        print(folder, n, len(out["train"]), len(out["held_out"]), flush=True)
        with gzip.open(PATH, "wt") as g:
            json.dump(out, g)


@functools.lru_cache(None)
def load(side):
    try:
        with gzip.open(PATH, "rt") as g:
            return json.load(g)[side]
    except FileNotFoundError:
        return []


def line(rng, gen: Gen, side="train", nbars=30):
    """A stretch of a corpus part as a Line, dressed with our own marks; None where there is no corpus."""
    parts = load(side)
    if not parts:
        return None
    _, clef, key, metre, bars = rng.choice(parts)
    start = rng.randrange(max(1, len(bars) - 6))
    m = tuple(metre)
    if m == (4, 4) and rng.random() < .5:
        m = "C"
    if m == (2, 2) and rng.random() < .7:
        m = "cut"
    gen.clef, gen.key, gen.m, gen.two_voices = clef, key, m, False
    out = []
    for raw in bars[start:start + nbars]:
        evs = []
        for t, d, tie, heads in raw:
            dur = next(k for k, v in SINGLE.items() if v == (t, d))
            e = Ev(rest=not heads, type=t, dots=d, dur=dur)
            e.heads = [Head(dp, acc) for dp, acc in heads]
            for h in e.heads:
                h.tie = tie
            evs.append(e)
        if len(evs) == 1 and evs[0].rest and (evs[0].dur == metre_len(m) or evs[0].dur >= 1):
            evs[0].full_bar, evs[0].type, evs[0].dots = True, "1", 0
        gs, acc, k = groups(rng, m), F(0), 0
        edges = [sum(gs[:i + 1]) for i in range(len(gs))]
        gen.beam_id += 1
        for e in evs:
            if e.type != "breve" and int(e.type) >= 8:
                e.beam = (gen.beam_id, next((i for i, x in enumerate(edges) if acc < x), 99))
            acc += e.dur
        gen.clean_beams(evs)
        for e in evs:
            if e.heads:
                gen.pos = max(-8, min(18, e.heads[0].dp - 30))
            gen.marks(e)
        out.append(Bar(voices=[evs]))
    for b in out:
        if rng.random() < .06:
            b.right = rng.choice(["double", "rep_end", "rep_start"])
    ln = Line(clef, key, m, out)
    gen.spans(ln)
    from labels import CLEF_BOTTOM
    for b in out:
        for e in b.voices[0]:
            for x in e.graces + [e] + e.after:
                for h in x.heads:
                    if not -12 <= h.dp - CLEF_BOTTOM[clef] <= 22:
                        return None
    return ln


if __name__ == "__main__":
    if sys.argv[1:] == ["gather"]:
        gather()
