"""Learns the weights of the phrase model: python3 phrases.py FOLDER WEIGHTS.rs BOOK ...

FOLDER holds for each BOOK what `reference/check_phrases.py --keep FOLDER` and `examples/phrases.rs` wrote there:
BOOK.json (notes in each line of the source, tune by tune), BOOK.tsv and BOOK.bin (rows and cells). A semi-Markov model
by maximum likelihood with a quadratic penalty; the threshold is the one with the best F1 on the same books.
"""

import json
import sys
from pathlib import Path

import numpy as np
from scipy.optimize import minimize

WIDTH, LONGEST, CELLS = 40, 48, [16, 14, 4, 7]
STARTS = np.cumsum([0, *CELLS])
PENALTY = 2.0


def tunes(folder, book):
    """Rows, cells and true beginnings of each tune of a book whose notes could be counted."""
    lines = json.loads((folder / f"{book}.json").read_text())
    data = (folder / f"{book}.bin").read_bytes()
    at = 0
    for line in (folder / f"{book}.tsv").read_text().splitlines():
        number, count, *rest = line.split("\t")
        if count == "unread":
            continue
        n = int.from_bytes(data[at : at + 4], "little")
        at += 4
        rows = np.frombuffer(data, "<f4", n * WIDTH, at).reshape(n, WIDTH)
        at += n * WIDTH * 4
        cells = np.frombuffer(data, "u1", n * LONGEST * 4, at).reshape(n, LONGEST, 4)
        at += n * LONGEST * 4
        assert n == int(count)
        ends = np.cumsum(lines[number])
        if n < 2 or ends[-1] != n or rest[0] != "1":
            continue
        begins = sorted({int(end) for end in ends[:-1] if 0 < end < n})
        if max(np.diff([0, *begins, n])) <= LONGEST:
            yield rows, cells, begins


def batches(all_tunes, size=300):
    """Tunes of like length, padded together."""
    ordered = sorted(all_tunes, key=lambda tune: len(tune[0]))
    for at in range(0, len(ordered), size):
        part = ordered[at : at + size]
        longest = max(len(rows) for rows, _, _ in part)
        b = len(part)
        x = np.zeros((b, longest + 1, WIDTH))
        cells = np.zeros((b, longest + 1, LONGEST, 4), dtype=np.int64)
        valid = np.zeros((b, longest + 1, LONGEST), dtype=bool)
        n = np.array([len(rows) for rows, _, _ in part])
        truth, taken = np.zeros((b, longest + 1)), np.zeros((b, longest + 1, LONGEST))
        for k, (rows, cell, begins) in enumerate(part):
            x[k, : len(rows)] = rows
            real = cell[:, :, 0] != 255
            valid[k, 1 : len(rows) + 1] = real
            cells[k, 1 : len(rows) + 1] = np.where(real[..., None], cell, 0)
            truth[k, begins] = 1
            for start, end in zip([0, *begins], [*begins, len(rows)]):
                taken[k, end, end - start - 1] = 1
        yield x, cells + STARTS[:-1], valid, n, truth, taken


def log_sum(a):
    most = a.max(axis=1)
    safe = np.where(np.isfinite(most), most, 0)
    with np.errstate(divide="ignore"):
        return safe + np.log(np.exp(a - safe[:, None]).sum(axis=1))


def marginals(batch, w):
    """Log-likelihood, marginals of beginnings and of stretches."""
    x, cells, valid, n, truth, taken = batch
    b, size, _ = x.shape
    unary = x @ w[:WIDTH]
    unary[np.arange(b), n] = 0
    table = w[WIDTH:]
    worth = np.where(valid, table[cells].sum(axis=-1), -np.inf)
    forward = np.full((b, size), -np.inf)
    forward[:, 0] = 0
    for end in range(1, size):
        back = min(end, LONGEST)
        forward[:, end] = log_sum(forward[:, end - back : end][:, ::-1] + worth[:, end, :back]) + unary[:, end]
    backward = np.full((b, size), -np.inf)
    backward[np.arange(b), n] = 0
    for start in range(size - 2, -1, -1):
        ends = np.arange(start + 1, min(size, start + LONGEST + 1))
        ways = worth[:, ends, ends - start - 1] + backward[:, ends] + unary[:, ends]
        sums = log_sum(ways)
        backward[:, start] = np.where(n == start, 0, sums)
    whole = forward[np.arange(b), n]
    likely = (truth * unary).sum() + np.where(taken > 0, worth, 0).sum() - whole.sum()
    with np.errstate(invalid="ignore"):
        begins = np.exp(forward + backward - whole[:, None])
    begins = np.where(np.arange(size)[None] < n[:, None], begins, 0)
    begins[:, 0] = 0
    stretches = np.zeros_like(worth)
    for end in range(1, size):
        back = min(end, LONGEST)
        ways = forward[:, end - back : end][:, ::-1] + worth[:, end, :back]
        stretches[:, end, :back] = np.exp(ways + (unary[:, end] + backward[:, end] - whole)[:, None])
    return likely, begins, stretches


def cost(w, data):
    total, gradient = 0.0, np.zeros_like(w)
    for batch in data:
        x, cells, valid, n, truth, taken = batch
        likely, begins, stretches = marginals(batch, w)
        total += likely
        gradient[:WIDTH] += ((truth - begins)[..., None] * x).sum(axis=(0, 1))
        weight = np.where(valid, taken - stretches, 0)
        for kind in range(4):
            gradient[WIDTH:] += np.bincount(cells[..., kind].ravel(), weight.ravel(), minlength=STARTS[-1])
    return -total + PENALTY * (w**2).sum(), -gradient + 2 * PENALTY * w


def f1(truth, chosen):
    hit = (truth & chosen).sum()
    return 2 * hit / max(truth.sum() + chosen.sum(), 1)


def tail(values, counts):
    """Cells too rare to learn from (fewer than 20 stretches) fall off from the last that is not."""
    known = [i for i, count in enumerate(counts) if count >= 20]
    for i in range(known[-1] + 1, len(values)):
        values[i] = min(values[i], values[i - 1] - 0.5)
    return values


def numbers(values):
    return "[" + ", ".join(f"{value:.4f}" for value in values) + "]"


def main():
    folder, out, books = Path(sys.argv[1]), Path(sys.argv[2]), sys.argv[3:]
    data = list(batches([tune for book in books for tune in tunes(folder, book)]))
    print(sum(len(batch[0]) for batch in data), "tunes")
    fit = minimize(cost, np.zeros(WIDTH + STARTS[-1]), args=(data,), jac=True, method="L-BFGS-B", options={"maxiter": 120})
    w = fit.x
    counts = np.zeros(STARTS[-1])
    truth, certain = [], []
    for batch in data:
        x, cells, valid, n, true, taken = batch
        for kind in range(4):
            counts += np.bincount(cells[..., kind].ravel(), taken.ravel(), minlength=STARTS[-1])
        _, begins, _ = marginals(batch, w)
        inside = (np.arange(x.shape[1])[None] < n[:, None]) & (np.arange(x.shape[1])[None] > 0)
        truth.append(true[inside] > 0)
        certain.append(begins[inside])
    truth, certain = np.concatenate(truth), np.concatenate(certain)
    best = max((f1(truth, certain >= t), t) for t in np.arange(0.2, 0.7, 0.01))
    print("log-likelihood", -fit.fun, "F1 on the same books %.4f at threshold %.2f" % best, fit.message)
    tables = [w[WIDTH + a : WIDTH + b].copy() for a, b in zip(STARTS, STARTS[1:])]
    for kind in (0, 1):
        tables[kind] = tail(tables[kind], counts[STARTS[kind] : STARTS[kind + 1]])
    text = "//! How much does each piece of evidence weigh? Numbers written by `fit/phrases.py`; see `FIT.md` beside this file.\n\n"
    text += "use super::features::{CELLS, WIDTH};\n\n"
    text += "/// A beginning at least this certain is told.\n"
    text += f"pub(super) const THRESHOLD: f64 = {best[1]:.2f};\n"
    text += f"/// By number of the row.\npub(super) const ROW: [f64; WIDTH] = {numbers(w[:WIDTH])};\n"
    names = ["BY_BARS", "BY_NOTES", "BY_PHASE", "BY_RHYTHM"]
    for kind, name in enumerate(names):
        text += f"/// By cell.\npub(super) const {name}: [f64; CELLS[{kind}]] = {numbers(tables[kind])};\n"
    out.write_text(text)


if __name__ == "__main__":
    main()
