"""From the page to the piece: how much of it is the same as in the file it was engraved from?

    FOREREAD_PRESS=... python3 page_check.py FOREREAD PIECE... [--dpi 150] [--pdf] [--how phone] [--part 1] [--json OUT]

Each piece is engraved by our own press (clean edition), read by `foreread scan`, and held against itself: key, metre, range,
clefs, repeats and endings, and bar by bar every note (pitch, length, tie), rest and grace note. A bar counts only if all of
it is the same. `--how tilted|phone` treats the picture first (needs opencv). Signs other than notes are not compared here: score.py does.
"""

import argparse
import difflib
import json
import os
import re
import resource
import subprocess
import sys
import tempfile
import time
import xml.etree.ElementTree as ET
from fractions import Fraction as F

STEPS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}


def read(path, part=0):
    """(facts, bars) of a part of a MusicXML file; a bar is a tuple of what sounds in its first voice."""
    root = ET.parse(path).getroot()
    p = root.findall("part")[part]
    div, first_voice, bars, facts = F(1), None, [], {"key": [], "metre": [], "clef": [], "road": [], "words": []}
    full = F(4)
    for m in p.findall("measure"):
        bar, road = [], []
        for e in m:
            if e.tag == "attributes":
                if e.find("divisions") is not None:
                    div = F(e.find("divisions").text)
                for k in e.findall("key"):
                    v = int(k.findtext("fifths", "0"))
                    if (facts["key"] or [0])[-1] != v:
                        facts["key"].append(v)
                for t in e.findall("time"):
                    if t.find("beats") is not None:
                        n = f"{t.find('beats').text}/{t.find('beat-type').text}"
                        full = F(int(eval(t.find("beats").text)) * 4, int(t.find("beat-type").text))
                        if facts["metre"][-1:] != [n]:
                            facts["metre"].append(n)
                for c in e.findall("clef"):
                    v = c.findtext("sign") + c.findtext("line", "") + c.findtext("clef-octave-change", "")
                    if facts["clef"][-1:] != [v]:
                        facts["clef"].append(v)
            elif e.tag == "note":
                voice = e.findtext("voice", "1")
                first_voice = first_voice or voice
                if voice != first_voice:
                    continue
                d = F(e.findtext("duration", "0")) / div
                grace = e.find("grace") is not None
                if e.find("cue") is not None:
                    continue
                if e.find("rest") is not None:
                    whole = e.find("rest").get("measure") == "yes" or d == full
                    bar.append(("rest", full if whole else d))
                    continue
                q = e.find("pitch")
                if q is None:
                    bar.append(("unpitched", d))
                    continue
                midi = STEPS[q.findtext("step")] + int(round(float(q.findtext("alter", "0")))) + 12 * int(q.findtext("octave"))
                name = (q.findtext("step"), midi)
                tie = any(t.get("type") == "start" for t in e.findall("tie"))
                if e.find("chord") is not None and bar:
                    last = bar[-1]
                    bar[-1] = (last[0], last[1], tuple(sorted([*last[2], name + (tie,)])))
                else:
                    bar.append(("grace" if grace else "note", d, (name + (tie,),)))
            elif e.tag == "barline":
                for r in e.findall("repeat"):
                    road.append(r.get("direction"))
                for r in e.findall("ending"):
                    road.append(("ending", r.get("number").replace(" ", ""), "stop" if r.get("type") == "discontinue" else r.get("type")))
            elif e.tag == "direction":
                for w in [*e.iterfind("direction-type/words"), *e.iterfind("direction-type/rehearsal")]:
                    # Figures alone are fingerings in tunes: the reader of signs has those.
                    if (w.text or "").strip() and w.get("print-object") != "no" and not (w.tag == "words" and plain(w.text).isdigit()):
                        facts["words"].append((len(bars) + 1, plain(w.text)))
                for w in e.iterfind("direction-type/metronome"):
                    if w.find("per-minute") is not None:
                        facts["words"].append((len(bars) + 1, f"{w.findtext('beat-unit')}{'.' * len(w.findall('beat-unit-dot'))}={plain(w.findtext('per-minute'))}"))
                for s in ("segno", "coda"):
                    if e.find(f"direction-type/{s}") is not None:
                        road.append(s)
        # A bar holding nothing but one rest, or nothing, is a bar of rest.
        if not bar or all(x[0] == "rest" for x in bar) and sum(x[1] for x in bar) >= full:
            bar = [("rest", full)]
        bars.append(tuple(bar))
        facts["road"] += [(len(bars), r) for r in road]
    pitches = [n[1] for b in bars for x in b if x[0] in ("note", "grace") for n in x[2]]
    facts["range"] = [min(pitches), max(pitches)] if pitches else []
    facts["road"] = [str(r) for r in facts["road"]]
    return facts, bars


def plain(text):
    """A text without what no reader could know: spaces of any width are one, quotation marks alike."""
    return re.sub(r"\s+", " ", (text or "").replace("\u2019", "'").replace("\u2018", "'")).strip()


def words_alike(a, b):
    """How many texts of a page were read letter by letter and in the right bar, in the wrong bar, with a letter or two wrong in the
    right bar; and how many were read that are not there."""
    left, right = list(a), list(b)
    out = {"words": len(a), "words_right": 0, "words_moved": 0, "words_alike": 0}
    for name, same in (("words_right", lambda x, y: x == y), ("words_moved", lambda x, y: x[1] == y[1] and abs(x[0] - y[0]) < 3),
                       ("words_alike", lambda x, y: abs(x[0] - y[0]) < 3 and difflib.SequenceMatcher(None, x[1], y[1]).ratio() > .75)):
        for x in list(left):
            y = next((y for y in right if same(x, y)), None)
            if y is not None:
                left.remove(x)
                right.remove(y)
                out[name] += 1
    out["words_missed"], out["words_invented"] = left, right
    return out


def treat(path, how):
    """A phone's or a tilted scanner's picture of a page."""
    import cv2
    import numpy as np
    im = cv2.imread(path, cv2.IMREAD_UNCHANGED)
    if im.ndim == 3 and im.shape[2] == 4:
        a = im[..., 3:] / 255.0
        im = (im[..., :3] * a + 255 * (1 - a)).astype(np.uint8)
    g = cv2.cvtColor(im, cv2.COLOR_BGR2GRAY) if im.ndim == 3 else im
    h, w = g.shape
    rng = np.random.default_rng(len(path) + h)
    if how == "tilted":
        M = cv2.getRotationMatrix2D((w / 2, h / 2), float(rng.uniform(-1.6, 1.6)), 1)
        g = cv2.warpAffine(g, M, (w, h), borderValue=255, flags=cv2.INTER_LINEAR)
        g = cv2.GaussianBlur(g, (0, 0), .6)
    else:
        o = lambda: rng.uniform(-.018, .018, 2) * (w, h)
        src = np.float32([[0, 0], [w, 0], [w, h], [0, h]])
        dst = np.float32([s + o() for s in src])
        g = cv2.warpPerspective(g, cv2.getPerspectiveTransform(src, dst), (w, h), borderValue=255)
        yy, xx = np.mgrid[0:h, 0:w].astype(np.float32)
        bend = 5 * np.sin(xx / w * 3.1)
        g = cv2.remap(g, xx, yy + bend, cv2.INTER_LINEAR, borderValue=255)
        shade = (1 - .28 * xx / w - .12 * yy / h)
        g = np.clip(cv2.GaussianBlur(g, (0, 0), .8) * shade + rng.normal(0, 5, g.shape), 0, 255).astype(np.uint8)
    out = path.rsplit(".", 1)[0] + ".jpg"
    cv2.imwrite(out, g, [cv2.IMWRITE_JPEG_QUALITY, 78])
    return out


def main():
    a = argparse.ArgumentParser()
    a.add_argument("foreread")
    a.add_argument("pieces", nargs="+")
    a.add_argument("--dpi", default="150")
    a.add_argument("--how", default="clean")
    a.add_argument("--pdf", action="store_true")
    a.add_argument("--json")
    a.add_argument("--engraver", default=None, help="the program that engraves, where it is another build")
    a.add_argument("--verbose", type=int, default=0)
    a = a.parse_args()
    out, tot, right, facts_ok, most = [], 0, 0, {k: 0 for k in ("key", "metre", "clef", "range", "road")}, 0
    staves_off = pages_all = 0
    for piece in a.pieces:
        with tempfile.TemporaryDirectory() as d:
            src, page = f"{d}/src.musicxml", f"{d}/p.{'pdf' if a.pdf else 'png'}"
            e = a.engraver or a.foreread
            r = subprocess.run([e, "convert", piece, src, "--part", "1"], capture_output=True, text=True)
            r2 = subprocess.run([e, "mark", piece, "--edition", "clean", "--part", "1", "--to", page, "--dpi", a.dpi], capture_output=True, text=True)
            files = re.findall(r"^written: (.*)$", r2.stderr, re.M)
            if r.returncode or r2.returncode or not files:
                print(os.path.basename(piece), "not engraved:", (r.stderr + r2.stderr)[-160:])
                continue
            if a.how != "clean":
                files = [treat(f, a.how) for f in files]
            t = time.time()
            r = subprocess.run([a.foreread, "scan", *files, "--to", f"{d}/out.musicxml"], capture_output=True, text=True)
            t = time.time() - t
            most = max(most, resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss)
            if r.returncode:
                print(os.path.basename(piece), "not read:", r.stderr[-200:])
                lost = len(read(src)[1])
                tot += lost
                out.append({"piece": os.path.basename(piece), "bars": lost, "right": 0, "error": r.stderr[-200:]})
                continue
            (f0, b0), (f1, b1) = read(src), read(f"{d}/out.musicxml")
        n = sum(x == y for x, y in zip(b0, b1)) if len(b0) == len(b1) else sum(
            m.size for m in difflib.SequenceMatcher(None, b0, b1, autojunk=False).get_matching_blocks())
        pages = int(re.search(r" on (\d+) page", r.stderr).group(1))
        pages_all += pages
        same = {k: f0[k] == f1[k] for k in facts_ok}
        for k, v in same.items():
            facts_ok[k] += v
        tot, right = tot + len(b0), right + n
        out.append(dict(piece=os.path.basename(piece), bars=len(b0), read=len(b1), right=n, seconds=round(t, 2), pages=pages, **same, **words_alike(f0["words"], f1["words"])))
        print(f"{os.path.basename(piece):34} bars {n}/{len(b0)} (read {len(b1)}) {t:.1f} s, {pages} pages;", "; ".join(f"{k}: {f0[k]} read {f1[k]}" for k, v in same.items() if not v)[:300], flush=True)
        if a.verbose and (out[-1]["words_missed"] or out[-1]["words_invented"]):
            print("    words missed", out[-1]["words_missed"], "invented", out[-1]["words_invented"])
        if a.verbose:
            for k, (x, y) in enumerate(zip(b0, b1)):
                if x != y:
                    print("   ", k + 1, x, "\n      ", y)
    n = sum("error" not in x for x in out)
    print(f"pieces {n}, pages {pages_all}, bars right {right}/{tot} = {right / max(1, tot):.2%};", ", ".join(f"{k} {v}/{n}" for k, v in facts_ok.items()), f"; most memory {most // 1024} MB")
    texts = {k: sum(x.get(k, 0) for x in out) for k in ("words", "words_right", "words_moved", "words_alike")}
    print(f"texts {texts['words']}: letter by letter and at their bar {texts['words_right']}, at a bar beside it {texts['words_moved']}, nearly {texts['words_alike']}, "
          f"missed {sum(len(x.get('words_missed', [])) for x in out)}, invented {sum(len(x.get('words_invented', [])) for x in out)}")
    if a.json:
        json.dump(out, open(a.json, "w"), indent=1)


if __name__ == "__main__":
    main()
