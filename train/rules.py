"""What is read in the end? The shipped network's scores, then the rules of the light program (which curve is a slur, where a hairpin ends,
which values fill a bar), held against the truth.

    python rules.py SIGNS SET.npz... [--how clean,tilted,phone,lowres,hard] [--alone] [--every N] [--json OUT]

SIGNS is the example `signs` of the crate `pageread` (`cargo build --release -p foreread-pageread --example signs`). The model is
model/reader.onnx, run by onnxruntime on one core (some fifteen systems a second). Each set is told twice: the network alone, as score.py
decodes it, and after the rules. Sets are those of score.py and heldout.py; systems of one page are one line of music.
"""

import argparse
import json
import os
import subprocess

import numpy as np
import onnxruntime
import torch

import labels as L
import score
from degrade import Degrade, preset

MODEL = os.path.join(os.path.dirname(os.path.abspath(__file__)), "model", "reader.onnx")
ANSWERS = len(L.MAIN) + sum(len(v) for _, v in L.ATTRS)
FLAGS = len(L.FLAGS)


def scores_of(items, how, alone):
    """Scores of every system, one after another."""
    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = 1
    # Every picture is of another width: what is kept for the next grows without end.
    options.enable_cpu_mem_arena = options.enable_mem_pattern = False
    session = onnxruntime.InferenceSession(MODEL, options)
    treat = Degrade("cpu", 5)
    torch.set_num_threads(1)
    for ink, *_ in items:
        width = -(-int(ink.shape[1] * 1.06 + 16) // 64) * 64
        x = np.zeros((1, 1, 240, width), np.float32)
        x[0, 0, :, :ink.shape[1]] = ink / 255
        yield session.run(None, {"ink": preset(treat, torch.from_numpy(x), how, alone).numpy()})[0][0]


def alone_says(scores):
    """The network's own answers."""
    flags = scores[:, ANSWERS:ANSWERS + FLAGS]
    roads = ANSWERS + FLAGS + len(L.ROADS)
    a, b, c = score.decode(np.concatenate([scores[:, :ANSWERS], flags, np.zeros_like(flags)], 1), scores[:, ANSWERS + FLAGS:roads], scores[:, roads:])
    return [r for _, r, _ in a], [k for _, k, _ in b], [k for _, k, _ in c]


def rules_say(signs, page):
    """What the rules make of a page's systems."""
    given = np.uint32(len(page)).tobytes() + b"".join(np.uint32(len(s)).tobytes() + s.astype("<f4").tobytes() for s in page)
    said = json.loads(subprocess.run([signs], input=given, stdout=subprocess.PIPE, check=True).stdout)
    return [([row(s) for s in system["signs"]], [L.ROAD_ID[b["name"]] for b in system["roads"]], [L.DYN_ID[b["name"]] for b in system["dynamics"]])
            for system in said]


def row(sign):
    r = np.zeros(L.ROW, np.int16)
    r[0] = L.MAIN_ID[sign["main"]]
    r[1:1 + len(L.ATTRS)] = sign["answers"]
    r[1 + len(L.ATTRS):] = sign["flags"]
    return r


def read(signs, path, how, alone, every):
    items = [item for item in score.load(path) if item[3] % every == 0]
    tallies = {"network alone": score.Tally(), "after the rules": score.Tally()}
    page = []

    def told():
        for name, said in (("network alone", [alone_says(s) for _, s in page]), ("after the rules", rules_say(signs, [s for _, s in page]))):
            for ((_, ref, bars, _), _), hyp in zip(page, said):
                tallies[name].system(ref, hyp, bars, max(1, sum(L.MAIN[r[0]].startswith("bar:") for r in ref[0])))

    for item, scores in zip(items, scores_of(items, how, alone)):
        if page and page[-1][0][3] != item[3]:
            told()
            page = []
        page.append((item, scores))
    told()
    pages = len({item[3] for item in items})
    return [dict(tally.report(), set=os.path.basename(path), how=how, pages=pages, errors=int(tally.errors), said=name) for name, tally in tallies.items()]


def main():
    p = argparse.ArgumentParser()
    p.add_argument("signs")
    p.add_argument("sets", nargs="+")
    p.add_argument("--how", default="clean")
    p.add_argument("--alone", action="store_true", help="the crops already show their neighbours: add none")
    p.add_argument("--every", type=int, default=1, help="read every so many pages only")
    p.add_argument("--json")
    a = p.parse_args()
    out = []
    for path in a.sets:
        for how in a.how.split(","):
            for r in read(a.signs, path, how, a.alone, a.every):
                out.append(r)
                print(f"{r['set']} {how}, {r['said']}: pages {r['pages']} systems {r['systems']} events {r['events']} symbol error {r['symbol_error']:.3%} ({r['errors']}) "
                      f"pitch {r['pitch_error']:.3%} duration {r['duration_error']:.3%} bars right {r['bars_right']:.2%} of {r['bars']}", flush=True)
    if a.json:
        with open(a.json, "w") as f:
            json.dump(out, f, indent=1)


if __name__ == "__main__":
    main()
