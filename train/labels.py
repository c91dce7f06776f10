"""What is an event, and which numbers stand for it?

A system of one staff is told as three parallel streams, each in order of x:

* A, the notes and what stands on the staff: clefs, key and time signatures,
  barlines, rests and every note head. A head's main symbol is its *staff
  position* (bottom line 0); pitch is worked out later from clef and key. What
  belongs to the same thing (length, dots, accidental, dot above, slur that
  starts here ...) are further answers on the same event.
* B, the road and the line above: segno, coda, voltas, ottavas, breath marks.
* C, dynamics and the ends of hairpins.

A row is one event of A: main symbol, one value for each of ATTRS, one 0/1 for
each of FLAGS. Heads of a chord are rows of their own, bottom to top, all but the
first flagged `chord`; marks of the whole chord stand on its first row.
"""

import numpy as np

POS_MIN, POS_MAX = -12, 22
CLEFS = ["G2", "G2v", "G2^", "G1", "F4", "F4v", "F3", "F5", "C1", "C2", "C3", "C4", "C5", "perc"]
# Diatonic number (7 * octave + step, C = 0) of the bottom line under each clef.
CLEF_BOTTOM = {"G2": 30, "G2v": 23, "G2^": 37, "G1": 32, "F4": 18, "F4v": 11, "F3": 20, "F5": 16,
               "C1": 28, "C2": 26, "C3": 24, "C4": 22, "C5": 20, "perc": 30}
BARS = ["single", "double", "final", "rep_start", "rep_end", "rep_both", "dashed"]

MAIN = (["blank"] + [f"n{p}" for p in range(POS_MIN, POS_MAX + 1)] + ["rest", "mrest", "mrepeat"]
        + [f"clef:{c}" for c in CLEFS] + [f"key:{k}" for k in range(-7, 8)] + ["metre"]
        + [f"bar:{b}" for b in BARS])
MAIN_ID = {s: i for i, s in enumerate(MAIN)}

NUMERATORS = ["-", "C", "cut"] + [str(n) for n in list(range(1, 17)) + [18, 21, 24]]
TUPLETS = ["-", "?"] + [str(n) for n in range(2, 17)]
ATTRS = [
    ("dur", ["-", "breve", "1", "2", "4", "8", "16", "32", "64", "128"]),
    ("dots", ["0", "1", "2"]),
    ("acc", ["-", "s", "f", "n", "x", "ff"]),
    ("orn", ["-", "trill", "mordent", "shorttrill", "turn", "invturn"]),
    ("ornacc", ["-", "s", "f", "n"]),
    ("tup", TUPLETS),
    ("tup2", TUPLETS),
    ("num", NUMERATORS),
    ("den", ["-", "1", "2", "4", "8", "16", "32"]),
    ("tens", ["-"] + [str(d) for d in range(10)]),
    ("ones", ["-"] + [str(d) for d in range(10)]),
    ("finger", ["-"] + [str(d) for d in range(6)]),
    ("trem", ["0", "1", "2", "3", "4"]),
    ("head", ["normal", "x", "diamond"]),
]
ATTR_ID = {name: {v: i for i, v in enumerate(vals)} for name, vals in ATTRS}
ATTR_COL = {name: 1 + i for i, (name, _) in enumerate(ATTRS)}
FLAGS = ["staccato", "tenuto", "accent", "marcato", "staccatissimo", "fermata", "tie", "slur_start",
         "slur_end", "grace", "slash", "tup_start", "tup_end", "chord", "voice2", "paren", "upbow",
         "downbow", "harmonic", "stopped", "trill_line", "cancel", "arpeggio"]
FLAG_COL = {name: 1 + len(ATTRS) + i for i, name in enumerate(FLAGS)}
ROW = 1 + len(ATTRS) + len(FLAGS)

ROADS = ["blank", "segno", "coda", "8va", "8vb", "15ma", "15mb", "ott_end", "breath", "caesura",
         "v1", "v2", "v3", "v4", "v12", "v123", "v34", "vend"]
DYNAMICS = ["blank", "pppp", "ppp", "pp", "p", "mp", "mf", "f", "ff", "fff", "ffff", "sf", "sfz", "sffz",
            "sfp", "fp", "rf", "rfz", "fz", "cresc", "cresc_end", "dim", "dim_end"]
ROAD_ID = {s: i for i, s in enumerate(ROADS)}
DYN_ID = {s: i for i, s in enumerate(DYNAMICS)}


def row(main, **kw):
    """One event of stream A; keywords are attribute names (their value) or flags."""
    r = np.zeros(ROW, np.int16)
    r[0] = MAIN_ID[main]
    for k, v in kw.items():
        if k in ATTR_ID:
            r[ATTR_COL[k]] = ATTR_ID[k][str(v)]
        elif v:
            r[FLAG_COL[k]] = 1
    return r


def show(r):
    """A row in words, for tables and tests."""
    out = [MAIN[r[0]]]
    for name, vals in ATTRS:
        v = r[ATTR_COL[name]]
        if v:
            out.append(f"{name}={vals[v]}")
    out += [f for f in FLAGS if r[FLAG_COL[f]]]
    return " ".join(out)


def metre_row(metre):
    """`metre` is "C", "cut" or (numerator, denominator)."""
    if metre in ("C", "cut"):
        return row("metre", num=metre)
    return row("metre", num=metre[0], den=metre[1])


def key_row(key, cancel=False):
    return row(f"key:{key}", cancel=cancel)


def mrest_row(n):
    kw = {"ones": n % 10}
    if n >= 10:
        kw["tens"] = n // 10
    return row("mrest", **kw)


def event_rows(ev, clef):
    """Rows of one note, chord or rest (its grace notes not included)."""
    common = {"dur": ev.type, "dots": ev.dots}
    first = {f: True for f in ev.marks}
    first.update(orn=ev.orn or "-", ornacc=ev.ornacc or "-", trem=ev.trem, grace=ev.grace,
                 slash=ev.slash, slur_start=ev.slur_start, slur_end=ev.slur_end,
                 tup_end=ev.tup_end_shown, voice2=ev.voice2, trill_line=ev.trill_line, arpeggio=ev.arpeggio)
    shown = [t for t in ev.tups if t.shown]
    if shown:
        first["tup_start"] = True
        first["tup"] = shown[0].label
        if len(shown) > 1:
            first["tup2"] = shown[1].label
    if ev.rest:
        return [row("rest", **common, **first)]
    rows = []
    for i, h in enumerate(sorted(ev.heads, key=lambda h: h.dp)):
        kw = dict(common)
        kw.update(acc=h.acc or "-", paren=h.paren, tie=h.tie, finger="-" if h.finger is None else h.finger,
                  head=h.shape, voice2=ev.voice2, grace=ev.grace)
        if i == 0:
            kw.update(first)
        else:
            kw["chord"] = True
        rows.append(row(f"n{h.dp - CLEF_BOTTOM[clef]}", **kw))
    return rows
