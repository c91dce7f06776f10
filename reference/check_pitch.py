"""Is the pitch followed as surely as by others? Raw pitch accuracy at 50, 25 and 10 cents beside librosa's pYIN on the same files.

Material, each with its truth sample by sample:

1. our own tone (`hear --notes`): instruments from contrabassoon to piccolo, five or six notes over their professional range;
2. phrases with sixteenths at 144, slurs, leaps and rests, in timbres that our synthesiser does not make (`pitch_sounds.py`), in three
   registers: from B flat 1 (58 Hz), in the middle, and up to C8;
3. demo pieces as we play them, and as the SoundFont in pretty_midi plays them on a recorder (samples of a real one; its own tuning
   is not ours).

Conditions: clean, noise at 20 and 10 dB under what is played, vibrato of 30 cents, detuned by 40 cents up and down.

Both are given the same range and the same hop (20 ms); frames are judged where the truth has a pitch, by mir_eval's raw pitch
accuracy, which also judges the pitch guessed where a tracker says there is none. librosa hears each file at 22,050 samples a
second (its default) and, in the high register, also at 44,100 with a window as long; the better of the two counts. Beside them the
crate `pitch-detection` (YIN without a path). Also: how often pitch is said where there is one, and where there is none.

Fails where ours is worse than librosa's in any register and condition at any of the three widths, by more than a thousandth.

Source: mir_eval 0.8, `melody.raw_pitch_accuracy`, `voicing_measures`; librosa 0.11, `pyin` (Mauch & Dixon 2014).
"""

import os
import subprocess
import sys
import tempfile
from collections import defaultdict
from pathlib import Path

import librosa
import mir_eval
import numpy
import pretty_midi
import soundfile
import soxr

import foreread
import pitch_sounds
from pitch_sounds import RATE, TIMBRES, Phrase, with_noise

EAR, PEER, HEAR, PLAYED = (os.environ[name] for name in ("EAR", "PEER", "HEAR", "PLAYED"))
DEMO = foreread.HERE.parent / "demo" / "pieces"
#: Samples at 22,050 a second from judged frame to judged frame: four of ours.
HOP = 440
SLACK = 0.001
WIDTHS = (50, 25, 10)
#: Sounding range (key numbers) of each register's phrases, and of what is listened for.
REGISTERS = {"low": (34, 55), "middle": (55, 79), "high": (79, 108)}
OWN = {"tuba": "low", "contrabassoon": "low", "cello": "low", "horn": "middle", "clarinet-bb": "middle", "violin": "high",
       "flute": "high", "piccolo": "high"}
PIECES = ("am_waldrand", "lantern_barge", "kite_weather")
SECONDS = 5.0


class File:
    """A sound on disk with its truth at 22,050 / HOP frames a second."""

    def __init__(self, folder, name, register, condition, sound, truth, ears):
        self.name, self.register, self.condition, self.ears = name, register, condition, ears
        self.path = f"{folder}/{name}-{condition}.wav"
        soundfile.write(self.path, sound / max(1.0, numpy.max(numpy.abs(sound)) / 0.9) * 0.5, RATE, subtype="PCM_16")
        frames = int(len(sound) / RATE * 22_050) // HOP
        self.secs = numpy.arange(frames) * HOP / 22_050
        self.truth = truth[numpy.minimum((self.secs * RATE).astype(int), len(truth) - 1)]


def bent(sound, truth, cents):
    """The same played a little faster, so that it sounds higher."""
    ratio = 2 ** (cents / 1200)
    faster = soxr.resample(sound, RATE, RATE / ratio, "VHQ")
    at = numpy.minimum((numpy.arange(len(faster)) * ratio).astype(int), len(truth) - 1)
    return faster, truth[at] * ratio


def conditions(folder, name, register, sound, truth, ears, random):
    """The noisy and the detuned of a sound."""
    yield File(folder, name, register, "clean", sound, truth, ears)
    for decibels in (20, 10):
        yield File(folder, name, register, f"noise {decibels} dB", with_noise(sound, truth, decibels, random), truth, ears)
    for cents in (-40, 40):
        yield File(folder, name, register, f"{cents:+d} cents", *bent(sound, truth, cents), ears)


def own_notes(folder, random):
    """Notes of our own tone: the middle nine tenths of each second are judged as its pitch."""
    notes = defaultdict(list)
    for line in subprocess.run([HEAR, "--notes", folder], capture_output=True, text=True, check=True).stdout.splitlines():
        path, second, hertz = line.split("\t")
        notes[Path(path).stem].append((int(second), float(hertz), path))
    for name, register in OWN.items():
        chosen = notes[name][:: max(1, len(notes[name]) // 5)]
        samples, rate = soundfile.read(chosen[0][2])
        assert rate == RATE
        pieces, truth = [], []
        for second, hertz, _ in chosen:
            pieces.append(samples[second * RATE:(second + 1) * RATE])
            one = numpy.zeros(RATE)
            one[int(0.05 * RATE):int(0.9 * RATE)] = hertz
            truth.append(one)
        keys = 69 + 12 * numpy.log2(numpy.array([hertz for _, hertz, _ in chosen]) / 440)
        yield from conditions(folder, name, register, numpy.concatenate(pieces), numpy.concatenate(truth),
                              (keys.min(), keys.max()), random)


def phrases(folder, random):
    for name, timbre in TIMBRES.items():
        for register, ears in REGISTERS.items():
            phrase = Phrase(*ears, SECONDS, random)
            yield from conditions(folder, f"{name}-{register}", register, timbre(phrase) * 0.3, phrase.truth, ears, random)
            phrase = Phrase(*ears, SECONDS, random, vibrato=30)
            yield File(folder, f"{name}-{register}", register, "vibrato", timbre(phrase) * 0.3, phrase.truth, ears)


def pieces(folder, random, font):
    """Demo pieces, their notes judged from 20 ms after their onset for half their time."""
    for name in PIECES:
        path, out = DEMO / f"{name}.musicxml", f"{folder}/{name}.wav"
        extra = ["--font", font, "74"] if font else []
        subprocess.run([HEAR, str(path), out, *extra], check=True, capture_output=True)
        sound, rate = soundfile.read(out)
        sound = sound[: int(10 * rate)]
        truth, keys = numpy.zeros(len(sound)), []
        rows = [line.split("\t") for line in subprocess.run([PLAYED, str(path)], capture_output=True, text=True, check=True).stdout.splitlines()]
        rows = [row for row in rows if row[1] == "0" and row[2] != "BARS" and row[4] != "x"]
        onsets = sorted({float(row[7]) for row in rows})
        for row in rows:
            onset, key = float(row[7]), float(eval(row[4]) if "/" in row[4] else row[4])
            later = [other for other in onsets if other > onset]
            until = onset + 0.5 * (later[0] - onset) if later else onset
            keys.append(key)
            truth[int((onset + 0.02) * rate):int(until * rate)] = pitch_sounds.hertz(key)
        kind = "sampled" if font else "played"
        mean = numpy.mean(keys)
        register = "low" if mean < 55 else "middle" if mean < 76 else "high"
        for condition, noisy in (("clean", sound), ("noise 10 dB", with_noise(sound, truth, 10, random))):
            yield File(folder, f"{kind}-{name}", f"{kind} pieces" if font else register, condition, noisy, truth, (min(keys), max(keys)))


def ours(files):
    """Hertz (negative: guessed where no pitch is said) and seconds, by file."""
    for file in files:
        low, high = file.ears
        out = subprocess.run([EAR, file.path, "--range", str(low), str(high)], capture_output=True, text=True, check=True).stdout
        rows = [line.split() for line in out.splitlines() if line[0].isdigit()]
        secs = numpy.array([float(row[0]) for row in rows])
        key = [row[1] if row[1] != "-" else row[2] for row in rows]
        hertz = numpy.array([0.0 if k == "-" else float(pitch_sounds.hertz(float(k))) for k in key])
        sign = numpy.array([1.0 if row[1] != "-" else -1.0 for row in rows])
        yield at(file, secs, hertz * sign)


def at(file, secs, hertz):
    """The values at the frames that are judged: those nearest in time."""
    near = numpy.clip(numpy.searchsorted(secs, file.secs - 1e-4), 0, len(secs) - 1)
    assert numpy.max(numpy.abs(secs[near] - file.secs)) < 0.0051
    return hertz[near]


def pyin(file, rate):
    samples = librosa.load(file.path, sr=rate)[0]
    low, high = (float(pitch_sounds.hertz(k)) for k in (max(file.ears[0] - 3, 20.5), min(file.ears[1] + 3, 108.7)))
    scale = rate // 22_050
    hertz, voiced, _ = librosa.pyin(samples, fmin=low, fmax=high, sr=rate, frame_length=2048 * scale, hop_length=HOP * scale, fill_na=None)
    secs = librosa.times_like(hertz, sr=rate, hop_length=HOP * scale)
    return at(file, secs, numpy.where(voiced, hertz, -hertz))


def peer(files):
    out = subprocess.run([PEER, "--hop", str(HOP / 22_050), *(file.path for file in files)], capture_output=True, text=True, check=True).stdout
    for file, text in zip(files, out.split("FILE ")[1:]):
        rows = [line.split() for line in text.splitlines()[1:]]
        yield at(file, numpy.array([float(row[0]) for row in rows]), numpy.array([float(row[1]) for row in rows]))


def judged(file, hertz):
    """Raw pitch accuracy at each width, voicing recall and false alarm, as numbers of frames."""
    truth, cents = file.truth, mir_eval.melody.hz2cents(file.truth)
    said = mir_eval.melody.hz2cents(numpy.abs(hertz))
    voiced = truth > 0
    hits = [mir_eval.melody.raw_pitch_accuracy(voiced, cents, hertz > 0, said, cent_tolerance=width) for width in WIDTHS]
    recall, alarm = mir_eval.melody.voicing_measures(voiced, hertz > 0)
    return numpy.array([*hits, recall, alarm]), voiced.sum()


def main() -> int:
    only = [word for word in sys.argv[1:] if not word.startswith("--")]
    random = numpy.random.default_rng(20261126)
    sums, weights = defaultdict(lambda: numpy.zeros(5)), defaultdict(float)
    font = str(next(Path(pretty_midi.__file__).parent.glob("*.sf2"), ""))
    with tempfile.TemporaryDirectory(prefix="foreread-pitch-") as folder:
        files = [*own_notes(folder, random), *phrases(folder, random), *pieces(folder, random, "")]
        if font:
            files += pieces(folder, random, font)
        if only:
            files = [file for file in files if all(word in f"{file.name} {file.register} {file.condition}" for word in only)]
        for file, own, crate in zip(files, ours(files), peer(files)):
            heard = {"ours": own, "crate": crate, "pYIN": pyin(file, 22_050)}
            if file.register == "high":
                heard["pYIN 44k"] = pyin(file, 44_100)
            for name, hertz in heard.items():
                result, count = judged(file, hertz)
                for group in ((file.register, file.condition), ("all", "all")):
                    sums[name, group] += result * count
                    weights[name, group] += count
                if "--files" in sys.argv:
                    print(f"{name:9} {file.name:24} {file.condition:12} " + " ".join(f"{value:.3f}" for value in result), flush=True)
    return report(sums, weights)


def report(sums, weights) -> int:
    def mean(name, group):
        return sums[name, group] / weights[name, group] if weights[name, group] else None

    wrong = 0
    print(f"{'':28}{'ours':>24}{'pYIN':>24}{'pYIN 44k':>24}{'crate YIN':>24}   voicing ours / pYIN (recall, false alarm)")
    groups = sorted({group for _, group in weights})
    for group in groups:
        ours_, peers = mean("ours", group), [mean(name, group) for name in ("pYIN", "pYIN 44k", "crate")]
        show = ["".join(f"{value:8.4f}" for value in row[:3]) if row is not None else " " * 24 for row in (ours_, *peers)]
        voicing = f"{ours_[3]:.3f} {ours_[4]:.3f} / {peers[0][3]:.3f} {peers[0][4]:.3f}"
        worse = [width for n, width in enumerate(WIDTHS) if any(row is not None and ours_[n] < row[n] - SLACK for row in peers[:2])]
        note = f"   WORSE at {worse} cents" if worse and group[0] != "all" else ""
        wrong += bool(note)
        print(f"{group[0]:14}{group[1]:14}{''.join(show)}   {voicing}{note}")
    print(f"{wrong} of {len(groups) - 1} groups in which ours is worse than librosa's pYIN")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
