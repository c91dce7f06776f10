"""Is what is heard in a take what was played?

Takes with a known truth: `make_takes` plays pieces of the corpus by chance from a seed (other tempi and drift, wrong notes, notes left
out and too many, going back, waits, beginning in the middle, bars left out, every note out of tune by a little) and writes what sounds.
Our own tone, a SoundFont, or the synthesiser of this file (reed, bowed, plucked, FM, voice; with vibrato) plays it; then room, noise or
a click are laid over it. `foreread take` hears the file, and its answer is held against the truth:

- onsets: of the notes of the page that sound, how many were found at their place within 50 ms;
- slips: wrong and missing notes at their place, extra ones at their time (within 150 ms): precision, recall, F. A missing note among
  notes of the same pitch counts wherever among them. One left out after the last tone of a take is not counted (the take ends
  there, whatever was meant); the F with it is told, too;
- restarts: places left and taken up again within one beat, within a second of the time;
- tuning: cents of right notes of 0.12 s and more, the middle of the differences.

`--takes=N` (60; 240 for the full table), `--seed=N`, `--dev` for the pieces on which the aligner was made, `--keep=FOLDER`,
`--only=PLAYING[/SOUND]`, `--worst` names the takes that fare worst. Results by condition.

Found on 2026-11-27 by the ear of 8840123, `--takes=240`, two draws made after it was frozen, seeds the numbers of that commit and of the next (15240c4): seed 142868771 (228 takes) onsets 98.8, restarts 98.1
in 100, F 0.966 (wrong 0.980, missing 0.956, extra 0.940); seed 22167748 (232 takes) onsets 97.7, restarts 98.8, F 0.958 (0.961, 0.953, 0.962). Tuning 0.04 cents. Each draw meets all limits. Weakest:
a SoundFont (onsets 96.8 and 89.0, F 0.86 and 0.84), our own tone in a room (F 0.95 and 0.88).
Draws before it, each after a freezing: 7077ff4 (seeds 117932020 and 164184451, 457 takes) onsets 98.6, restarts 98.7, F 0.963 and 0.947;
4e3c429 (seed 82035753, 232 takes) onsets 98.7, restarts 98.6, F 0.946, twelve of its misses notes in a row for which the SoundFont has no sample: that
led to the change after it; b568c77 (seeds 190221431 and 106866694, 468 takes) onsets 97.8, restarts 95.4, F 0.956. From 4e3c429 on some of the notes left out are left out because the one before is
held into their time. A draw of this size is uncertain by about a hundredth.

Source: the limits are those of the issue; onset tolerance 50 ms as in MIREX note tracking (mir_eval).
"""

import hashlib
import json
import os
import subprocess
import sys
import tempfile
import time
import wave
from collections import defaultdict
from pathlib import Path

import numpy as np

import foreread

CORPUS = next(Path(sys.prefix).glob("lib/python3*/site-packages/music21/corpus"))
FONT = next(Path(sys.prefix).glob("lib/python3*/site-packages/pretty_midi/*.sf2"), None)
RATE = 44_100
PLAYINGS = ("clean", "tempo", "errors", "restarts", "middle", "all")
SOUNDS = ("own", "own+room", "own+noise20", "own+noise10", "own+click", "own+detuned", "other", "other+vibrato",
          "other+room+noise15", "font")
# The first seven hexadecimal digits of the commit that froze how takes are heard, the limits of crates/take/src/align/ (8840123): nobody chose it.
SEED = 142868771


def option(name: str, default: str = "") -> str:
    return next((a.split("=", 1)[1] for a in sys.argv if a.startswith(f"--{name}=")), default)


def pieces(dev: bool) -> list[list[tuple[str, int]]]:
    """Single lines of the corpus by kind (tunes, parts of chorales, quartets, motets, demo); half of each for making, half for scoring."""
    tunes = [(str(p), 1) for who in ("ryansMammoth", "oneills1850") for p in sorted((CORPUS / who).glob("*.abc"))]
    airs = [(f"{CORPUS / 'airdsAirs' / f'book{b}.abc'}#{n}", 1) for b in range(1, 4) for n in range(1, 60)]
    chorales = [(str(p), part) for p in sorted((CORPUS / "bach").glob("*.mxl"))[::4] for part in (1, 2, 3, 4)]
    quartets = [(str(p), part) for who in ("mozart", "haydn", "beethoven") for p in sorted((CORPUS / who).rglob("*"))
                if p.suffix in (".mxl", ".krn", ".xml") for part in (1, 2, 3, 4)]
    motets = [(str(p), part) for p in sorted((CORPUS / "palestrina").glob("*.krn"))[::30] for part in (1, 2, 3)]
    demo = foreread.HERE.parent / "demo" / "pieces"
    ours = [(str(p), 1) for p in sorted(demo.glob("*.musicxml")) if "timewise" not in p.name]

    def half(unit) -> bool:
        name = unit[0].removeprefix(str(CORPUS))
        return hashlib.sha256(name.encode()).digest()[0] % 2 == (0 if dev else 1)

    return [[unit for unit in kind if half(unit)] for kind in (tunes, airs, chorales, quartets, motets, ours)]


# The other synthesiser: sums of sines and FM, nothing of ours.
def tone(kind: str, hertz: np.ndarray, rng) -> np.ndarray:
    phase = 2 * np.pi * np.cumsum(hertz) / RATE
    t = np.arange(len(hertz)) / RATE
    most = max(1, min(24, int(9_000 / max(hertz.max(), 1))))
    if kind == "fm":
        index = 1.2 + 2.0 * np.exp(-t / 0.15)
        return np.sin(phase + index * np.sin(phase)) * 0.8
    out = np.zeros_like(t)
    for k in range(1, most + 1):
        if kind == "reed":
            level = (1.0 if k % 2 else 0.25) / k ** 0.8
        elif kind == "voice":
            level = sum(np.exp(-((k * hertz.mean() - f) / w) ** 2) * g for f, w, g in ((600, 250, 1), (1100, 300, .6), (2700, 400, .25))) + 0.15 / k
        elif kind == "plucked":
            level = 1 / k
        else:
            level = 1 / k
        sine = np.sin(k * phase + rng.uniform(0, 6.28))
        if kind == "plucked":
            sine = sine * np.exp(-t * (1.2 + 0.8 * k))
        out += level * sine
    if kind == "reed":
        out += 0.01 * rng.standard_normal(len(t))
    return out / np.sqrt(np.mean(out ** 2) + 1e-9) * 0.5


ATTACK = {"reed": .02, "voice": .05, "bowed": .06, "plucked": .003, "fm": .03}


def render(truth: dict, kind: str, vibrato: float, rng) -> np.ndarray:
    tones = truth["tones"]
    out = np.zeros(int((tones[-1]["end"] + 1.2) * RATE))
    for tone_ in tones:
        joined_from = tone_["attack"] == "joined"
        release = 0.012 if tone_["joined"] else {"plucked": .08}.get(kind, .04)
        count = int((tone_["end"] - tone_["onset"] + release) * RATE)
        t = np.arange(count) / RATE
        key = np.full(count, tone_["key"])
        if vibrato:
            rate, deep = rng.uniform(4.8, 6.5), vibrato * np.clip((t - 0.12) / 0.2, 0, 1)
            key = key + deep / 100 * np.sin(2 * np.pi * rate * t + rng.uniform(0, 6.28))
        sound = tone(kind, 440.0 * 2 ** ((key - 69) / 12), rng)
        attack = 0.010 if joined_from and kind != "plucked" else ATTACK[kind] * {"crisp": .6, "strong": .6, "soft": 1.6}.get(tone_["attack"], 1)
        attack = min(attack, (tone_["end"] - tone_["onset"]) / 2)
        shape = np.clip(t / max(attack, 1e-4), 0, 1)
        shape = np.sin(np.pi / 2 * shape) ** 2 * np.clip((count / RATE - t) / release, 0, 1)
        at = int(tone_["onset"] * RATE)
        sound = sound * shape * 10 ** (tone_["level"] / 20) * 0.2
        out[at:at + count] += sound[: max(0, len(out) - at)]
    return out


def laid_over(sound: np.ndarray, what: str, truth: dict, rng) -> np.ndarray:
    loud = np.sqrt(np.mean(sound[np.abs(sound) > 1e-4] ** 2)) if np.any(np.abs(sound) > 1e-4) else 0.1
    for part in what.split("+")[1:]:
        if part == "room":
            length = int(1.1 * RATE)
            t = np.arange(length) / RATE
            echo = rng.standard_normal(length) * 10 ** (-3 * t / rng.uniform(0.7, 1.3))
            echo[: int(0.004 * RATE)] = 0
            echo *= rng.uniform(0.35, 0.6) / np.sqrt(np.sum(echo ** 2))
            size = 1 << (len(sound) + length).bit_length()
            wet = np.fft.irfft(np.fft.rfft(sound, size) * np.fft.rfft(echo, size), size)[: len(sound)]
            sound = sound + wet
        elif part.startswith("noise"):
            white = rng.standard_normal(len(sound))
            pink = np.fft.irfft(np.fft.rfft(white) / np.sqrt(np.arange(len(sound) // 2 + 1) + 20), len(sound))
            noise = white / white.std() * 0.5 + pink / pink.std() * 0.87
            sound = sound + noise / noise.std() * loud * 10 ** (-int(part[5:]) / 20)
        elif part == "click":
            step = truth["beats"][0] * truth["pace"]
            t = np.arange(int(0.03 * RATE)) / RATE
            for n, at in enumerate(np.arange(0.2, len(sound) / RATE - 0.1, step)):
                click = np.sin(2 * np.pi * (1500 if n % 4 == 0 else 1000) * t) * np.exp(-t / 0.006) * loud * 0.8
                sound[int(at * RATE): int(at * RATE) + len(t)] += click
    return sound


def read_wav(path: Path) -> np.ndarray:
    with wave.open(str(path)) as file:
        return np.frombuffer(file.readframes(file.getnframes()), np.int16) / 32768.0


def silent(truth: dict, sound: np.ndarray) -> None:
    """Notes for which the SoundFont has no sample are missing in truth, too: nothing is heard, or only the release of the note before,
    which falls by 15 dB and more before the note is over (the instruments asked for are sustained ones)."""
    loud = np.sqrt(np.mean(sound ** 2))
    level = lambda part: np.sqrt(np.mean(part ** 2)) if len(part) else 0.0
    kept = []
    for t in truth["tones"]:
        inside = sound[int((t["onset"] + 0.02) * RATE):int(max(t["end"], t["onset"] + 0.04) * RATE)]
        quarter = len(inside) // 4
        dies = level(inside[len(inside) - quarter:]) < level(inside[:quarter]) * 10 ** (-15 / 20)
        if len(inside) and level(inside[len(inside) // 2:]) > 0.02 * loud and not dies:
            kept.append(t)
        elif t["index"] is not None:
            truth["missing"].append({"at": t["onset"], "index": t["index"]})
    truth["tones"] = kept


def write_wav(path: Path, sound: np.ndarray) -> None:
    sound = sound / max(1.0, np.abs(sound).max() * 1.02)
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(RATE)
        file.writeframes((sound * 32767).astype("<i2").tobytes())


def same_music(truth: dict) -> list[list[int]]:
    """For each tone the indices that no listener could tell from its own: the whole stretch that it was played in (from one jump to the
    next) stands at another place of the order with the same pitches and lengths."""
    keys, secs = truth["keys"], truth["secs"]
    tones = truth["tones"]
    cuts = [jump["at"] for jump in truth["jumps"]] + [float("inf")]
    stretches, now = [[]], 0
    for n, t in enumerate(tones):
        while t["onset"] > cuts[now] - 0.03:
            now += 1
            stretches.append([])
        stretches[-1].append(n)
    same = [[] for _ in tones]
    for stretch in stretches:
        used = [tones[n]["after"] for n in stretch]
        if not used:
            continue
        first, last = min(used), max(used)
        shifts = [0]
        for shift in range(-first, len(keys) - last):
            if shift and all(abs(keys[i] - keys[i + shift]) < 0.01 for i in range(first, last + 1)) and all(
                    abs((secs[i + 1] - secs[i]) - (secs[i + shift + 1] - secs[i + shift])) < 0.02 for i in range(first, last)):
                shifts.append(shift)
        for n in stretch:
            same[n] = [tones[n]["after"] + shift for shift in shifts]
    return same


class Score:
    def __init__(self) -> None:
        self.notes = self.onsets = self.small = self.small_onsets = 0
        self.hit = self.false = self.lost = 0
        self.kinds = defaultdict(lambda: [0, 0, 0])
        self.restarts = self.restarts_found = self.restarts_false = 0
        self.cents: list[float] = []
        self.late: list[float] = []
        self.takes = self.after_the_end = 0
        self.misses: list[str] = []

    def add(self, other: "Score") -> None:
        for name in ("notes", "onsets", "small", "small_onsets", "hit", "false", "lost", "restarts", "restarts_found", "restarts_false", "takes", "after_the_end"):
            setattr(self, name, getattr(self, name) + getattr(other, name))
        for kind, three in other.kinds.items():
            self.kinds[kind] = [a + b for a, b in zip(self.kinds[kind], three)]
        self.cents += other.cents
        self.late += other.late

    def line(self) -> str:
        share = lambda a, b: f"{100 * a / b:6.2f}" if b else "     –"
        f = lambda h, w, l: f"{2 * h / (2 * h + w + l):5.3f}" if h + w + l else "    –"
        cents = f"{np.median(np.abs(self.cents)):5.2f}" if self.cents else "    –"
        kinds = " ".join(f"{k[0]}:{f(*self.kinds[k])}" for k in ("wrong", "missing", "extra"))
        false = f"{self.false / max(self.notes, 1) * 1000:5.1f}"
        return (f"{self.takes:5} {self.notes:6} {share(self.onsets, self.notes)} %  F {f(self.hit, self.false, self.lost)} ({kinds}) "
                f"false {false}/1000  restarts {share(self.restarts_found, self.restarts)} % of {self.restarts} (+{self.restarts_false})  {cents} cents")


def score(truth: dict, said: dict) -> Score:
    s = Score()
    s.takes = 1
    places, keys, roles, secs, beats = truth["places"], truth["keys"], truth["roles"], truth["secs"], truth["beats"]
    written = lambda index: roles[index] == "Written"
    place_of = lambda note: (note["bar_index"], round(note["offset"], 4))
    at_place = defaultdict(list)
    for note in said["notes"]:
        if note["played"] in ("right", "wrong"):
            at_place[place_of(note)].append(note)
    tuning = 1200 * np.log2(said["a4"] / 440)
    same = same_music(truth)
    for t, alike in zip(truth["tones"], same):
        if t["index"] is None:
            continue
        there = {(places[n][0], round(places[n][1], 4)) for n in alike}
        near = min((note for place in there for note in at_place[place]), key=lambda note: abs(note["onset_secs"] - t["onset"]), default=None)
        found = near is not None and abs(near["onset_secs"] - t["onset"]) <= 0.05
        if not written(t["index"]):
            s.small += 1
            s.small_onsets += found
            continue
        s.notes += 1
        s.onsets += found
        if not found:
            off = f"{near['onset_secs'] - t['onset']:+.3f}" if near is not None else "none"
            s.misses.append(f"onset {t['onset']:.2f} index {t['index']} {off}")
        if found:
            s.late.append(near["onset_secs"] - t["onset"])
        if found and t["was"] == "right" and near["played"] == "right" and near["cents"] is not None and t["end"] - t["onset"] >= 0.12:
            s.cents.append(near["cents"] + tuning - 100 * (t["key"] - t["expected_key"]))
    # Slips.
    said_slips = [note for note in said["notes"] if note["played"] in ("wrong", "missing", "extra")
                  and (note["played"] == "extra" or written(note["index"]))]
    taken = set()

    def match(kind: str, fits) -> None:
        for n, note in enumerate(said_slips):
            if n not in taken and note["played"] == kind and fits(note):
                taken.add(n)
                s.hit += 1
                s.kinds[kind][0] += 1
                return
        s.lost += 1
        s.kinds[kind][2] += 1
        s.misses.append(f"lost {kind} {fits.__doc__ or ''} {described}")

    def same_run(index: int) -> set:
        run = {index}
        for step in (-1, 1):
            n = index + step
            while 0 <= n < len(keys) and abs(keys[n] - keys[index]) < 0.1:
                run.add(n)
                n += step
        return {(places[n][0], round(places[n][1], 4)) for n in run}

    for t, alike in zip(truth["tones"], same):
        if t["was"] == "wrong":
            described = f"at {t['onset']:.2f} index {t['index']}"
            there = {(places[n][0], round(places[n][1], 4)) for n in alike}
            match("wrong", lambda note: place_of(note) in there and abs(note["onset_secs"] - t["onset"]) < 0.15)
        elif t["was"] == "extra":
            described = f"at {t['onset']:.2f} after {t['after']}"
            match("extra", lambda note: abs(note["onset_secs"] - t["onset"]) < 0.15)
    for missing in truth["missing"]:
        described = f"at {missing['at']:.2f} index {missing['index']}"
        if not written(missing["index"]):
            continue
        if missing["at"] > truth["tones"][-1]["onset"]:
            s.after_the_end += 1
            continue
        run = same_run(missing["index"])
        match("missing", lambda note: place_of(note) in run and abs(note["onset_secs"] - missing["at"]) < 1.5)
    for n, note in enumerate(said_slips):
        if n not in taken:
            s.false += 1
            s.kinds[note["played"]][1] += 1
            s.misses.append(f"false {note['played']} at {note['onset_secs']:.2f} index {note['index']}")
    # Restarts.
    index_of = defaultdict(list)
    for n, place in enumerate(places):
        index_of[(place[0], round(place[1], 4))].append(n)
    used = set()
    for jump in truth["jumps"]:
        after = next((n for n, t in enumerate(truth["tones"]) if t["onset"] > jump["at"] - 0.03), None)
        before = next((n for n in range(len(truth["tones"]) - 1, -1, -1) if truth["tones"][n]["onset"] < jump["at"] - 0.03), None)
        if after is None:
            continue  # the take ends before anything follows
        s.restarts += 1
        shifts = lambda n: [0] if n is None else [other - truth["tones"][n]["after"] for other in same[n]]
        tos = [jump["to"] + shift for shift in shifts(after)]
        froms = [jump["from"] + shift for shift in shifts(before)]
        def fits(r):
            near = lambda bar, offset, ones: any(abs(secs[n] - secs[one]) <= beats[one] + 1e-6 for n in index_of[(bar, round(offset, 4))]
                                                 for one in ones if 0 <= one < len(secs))
            return (abs(r["at_secs"] - jump["at"]) < 1.0 + beats[jump["to"]] and near(r["to_bar_index"], r["to_offset"], tos)
                    and near(r["from_bar_index"], r["from_offset"], froms))
        found = next((n for n, r in enumerate(said["restarts"]) if n not in used and fits(r)), None)
        if found is None:
            s.misses.append(f"restart {jump}")
        else:
            used.add(found)
            s.restarts_found += 1
    s.restarts_false += len(said["restarts"]) - len(used)
    for n, r in enumerate(said["restarts"]):
        if n not in used:
            s.misses.append(f"false restart {r['at_secs']:.2f} {r['from_bar']}→{r['to_bar']} {r['kind']}")
    return s


def main() -> int:
    dev = "--dev" in sys.argv
    count, base = int(option("takes", "60")), int(option("seed", str(1 if dev else SEED)))
    folder = Path(option("keep") or tempfile.mkdtemp(prefix="foreread-takes-"))
    folder.mkdir(parents=True, exist_ok=True)
    rng = np.random.default_rng(base)
    pool = pieces(dev)
    grid = [(p, s) for s in SOUNDS for p in PLAYINGS if s != "font" or FONT]
    if only := option("only"):
        want = only.split("/")
        grid = [(p, s) for p, s in grid if want[0] in ("", p) and (len(want) < 2 or want[1] == s)]
    takes, lines = [], []
    for n in range(count):
        playing, sound = grid[n % len(grid)]
        cents = (40, -40)[n // len(grid) % 2] if "detuned" in sound else 0
        # Some pieces have fewer than 24 notes in this part: a second and third is drawn beforehand.
        of_kind = pool[int(rng.integers(len(pool)))]
        options = [of_kind[int(rng.integers(len(of_kind)))] for _ in range(3)]
        kind = ("reed", "bowed", "plucked", "fm", "voice")[int(rng.integers(5))]
        own = "own" if sound.startswith("own") else f"{FONT}:{int(rng.choice([41, 57, 61, 66, 69, 72, 74]))}" if sound == "font" else "none"
        takes.append((n, playing, sound, kind, int(rng.integers(2 ** 31))))
        for k, (piece, part) in enumerate(options):
            lines.append(f"{n}-{k}\t{piece}\t{part}\t{base * 1_000_003 + n}\t{playing}\t{cents}\t{own}")
    made = os.environ["MAKE_TAKES"]
    started = time.time()
    done = {}
    wanted = set()
    for k in range(3):
        ask = [line for line in lines if line.split("\t")[0].endswith(f"-{k}") and line.split("-")[0] not in wanted]
        out = subprocess.run([made, str(folder)], input="\n".join(ask) + "\n", capture_output=True, text=True, check=True).stdout
        for row in out.splitlines():
            name, verdict = row.split("\t", 1)
            if verdict == "ok":
                wanted.add(name.split("-")[0])
                done[int(name.split("-")[0])] = name
    by_playing, by_sound, whole = defaultdict(Score), defaultdict(Score), Score()
    heard_secs = cpu = 0.0
    worst = []
    for n, playing, sound, kind, seed in takes:
        if n not in done:
            print(f"take {n}: no piece")
            continue
        truth = json.loads((folder / f"{done[n]}.json").read_text())
        chance = np.random.default_rng(seed)
        if sound.startswith("other"):
            samples = render(truth, kind, 30.0 if "vibrato" in sound else 0.0, chance)
        else:
            samples = read_wav(folder / f"{done[n]}.wav").copy()
            if sound == "font":
                silent(truth, samples)
                (folder / f"{done[n]}.json").write_text(json.dumps(truth))
        wav = folder / f"{done[n]}.take.wav"
        write_wav(wav, laid_over(samples, sound, truth, chance))
        piece = truth["piece"].split("#")
        tune = ["--tune", piece[1]] if len(piece) > 1 else []
        ran = foreread.run(["take", str(wav), piece[0], "--part", truth["part"], "--as", "json", *tune], limit=120)
        if ran.status != 0:
            print(f"take {n} ({truth['piece']}): {ran.err.strip()[:200]}")
            return 1
        said = ran.json()
        heard_secs += said["seconds"]
        cpu += ran.cpu
        s = score(truth, said)
        for target in (by_playing[playing], by_sound[sound], whole):
            target.add(s)
        bad = (s.notes - s.onsets) + s.false + s.lost + 3 * (s.restarts - s.restarts_found)
        worst.append((bad, n, playing, sound, kind, truth["piece"].replace(str(CORPUS), ""), truth["part"], s))
        if not option("keep"):
            wav.unlink()
    print(f"{whole.takes} takes, {heard_secs / 60:.1f} minutes of sound, {heard_secs / max(cpu, 1e-9):.0f} times real time in CPU, {time.time() - started:.0f} s in all")
    print(f"{'':22} takes  notes  onsets")
    for title, table in (("playing", by_playing), ("sound", by_sound)):
        for name, s in table.items():
            print(f"{title[:7]:8}{name:20} {s.line()}")
    print(f"{'all':28} {whole.line()}")
    print(f"{whole.after_the_end} notes left out after the last tone of a take are not counted (the take ends there, whatever was meant): "
          f"with them F {2 * whole.hit / max(1, 2 * whole.hit + whole.false + whole.lost + whole.after_the_end):.4f}")
    if whole.late:
        print(f"onsets found lie {1000 * np.median(whole.late):+.1f} ms in the middle; small notes (grace, ornaments) found {whole.small_onsets} of {whole.small}")
    if "--worst" in sys.argv:
        for bad, n, playing, sound, kind, piece, part, s in sorted(worst, key=lambda w: -w[0])[:12]:
            print(f"take {n} {playing} {sound} {kind if sound.startswith('other') else ''} {piece} part {part}: {bad}")
            for miss in s.misses[:8]:
                print("     ", miss)
    f = 2 * whole.hit / max(1, 2 * whole.hit + whole.false + whole.lost)
    limits = [
        ("onsets within 50 ms", whole.onsets / max(whole.notes, 1), 0.97),
        ("F of wrong, missing, extra", f, 0.95),
        ("restarts within a beat", whole.restarts_found / max(whole.restarts, 1), 0.95),
    ]
    ok = True
    for name, value, limit in limits:
        good = value >= limit
        ok &= good
        print(f"{'ok  ' if good else 'MISS'} {name}: {value:.4f} (limit {limit})")
    middle = float(np.median(np.abs(whole.cents))) if whole.cents else 99.0
    good = middle <= 3.0
    ok &= good
    print(f"{'ok  ' if good else 'MISS'} tuning, middle of the differences: {middle:.2f} cents (limit 3)")
    return 0 if ok else 1


if __name__ == "__main__":
    sys.exit(main())
