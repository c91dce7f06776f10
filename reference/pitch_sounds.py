"""Sounds of known pitch, of kinds that our own synthesiser does not make: plucked, frequency-modulated, sung, reedy; notes and phrases.

Every sound comes with its truth: the fundamental in hertz at each sample, 0 where nothing is played. All numbers are chosen here;
the ways of making sound are published: frequency modulation (Chowning 1973), formants of vowels (Peterson & Barney 1952, means of
men's voices, from memory), a stiff string's partials (Fletcher 1964, from memory).
"""

import numpy

RATE = 44_100
#: Seconds that notes of a phrase last: sixteenths at a quarter = 144 to quarters.
LENGTHS = (0.104, 0.104, 0.15, 0.208, 0.312, 0.416)


def hertz(key):
    """Equal temperament, A4 = 440 Hz = 69."""
    return 440.0 * 2.0 ** ((numpy.asarray(key, dtype=float) - 69.0) / 12.0)


class Phrase:
    """A melody: for each sample its fundamental (0 in rests) and its loudness."""

    def __init__(self, low: float, high: float, seconds: float, random, vibrato: float = 0.0, cents: float = 0.0):
        count = int(seconds * RATE)
        self.truth, self.gain = numpy.zeros(count), numpy.zeros(count)
        at, key = int(0.25 * RATE), round((low + high) / 2)
        joined = False
        while at < count - int(0.7 * RATE):
            length = int(random.choice(LENGTHS) * RATE)
            if random.random() < 0.12:
                at, joined = at + length, False
                continue
            key = int(numpy.clip(key + random.choice((-12, -7, -5, -4, -3, -2, -2, -1, 1, 2, 2, 3, 4, 5, 7, 12)), low, high))
            slurred = random.random() < 0.5
            end = at + length - (0 if slurred else int(0.02 * RATE))
            self._note(at, end, key + cents / 100, vibrato, 10 ** (random.uniform(-9, 0) / 20), joined, slurred)
            at, joined = at + length, slurred
        self.count = count

    def _note(self, start, end, key, vibrato, level, joined, slurred):
        t = numpy.arange(end - start) / RATE
        wave = vibrato / 1200 * numpy.sin(2 * numpy.pi * 5.5 * t) * numpy.minimum(1, t / 0.1)
        self.truth[start:end] = hertz(key) * 2.0 ** wave
        fade = numpy.ones(end - start)
        if not joined:
            fade *= numpy.clip(t / 0.015, 0, 1)
        if not slurred:
            fade *= numpy.clip((t[-1] - t) / 0.015, 0, 1)
        self.gain[start:end] = level * fade

    def phase(self):
        """The fundamental's phase; through rests it runs on as before."""
        steady = self.truth.copy()
        held = numpy.maximum.accumulate(numpy.where(steady > 0, numpy.arange(len(steady)), 0))
        return 2 * numpy.pi * numpy.cumsum(steady[held]) / RATE

    def since(self):
        """Seconds since the fundamental last leapt by more than a fifth of a semitone: how long a tone has rung."""
        steps = numpy.abs(numpy.diff(numpy.log2(numpy.maximum(self.truth, 1e-3)), prepend=0)) > 0.2 / 12
        last = numpy.maximum.accumulate(numpy.where(steps, numpy.arange(len(steps)), 0))
        return (numpy.arange(len(steps)) - last) / RATE


def added(phrase, weight):
    """Partials with weights (number, fundamental in hertz, seconds since the tone began) under 18 kHz."""
    phase, since, sound = phrase.phase(), phrase.since(), numpy.zeros(phrase.count)
    for n in range(1, 41):
        sounding = (phrase.truth > 0) & (n * phrase.truth < 18_000)
        if not sounding.any():
            break
        sound += numpy.where(sounding, weight(n, phrase.truth, since) * numpy.sin(n * phase), 0)
    return sound * phrase.gain


def plucked(phrase):
    """Struck at a seventh of its length; high partials die first."""
    return added(phrase, lambda n, f, t: numpy.sin(numpy.pi * n / 7) / n * numpy.exp(-t * (2.5 + 0.8 * n)))


def reed(phrase):
    """Odd partials, even ones weak, as in a cylinder; a breath of noise."""
    sound = added(phrase, lambda n, f, t: (1.0 if n % 2 else 0.08) / n ** 1.2)
    noise = numpy.random.default_rng(5).standard_normal(phrase.count)
    return sound + 0.01 * noise * phrase.gain


def sung(phrase):
    """A glottal slope through the formants of "ah": the fundamental is weaker than the partials above it."""
    def weight(n, f, t):
        at = n * numpy.maximum(f, 1.0)
        formants = sum(g / (1 + ((at - c) / w) ** 2) for c, w, g in ((730, 80, 1.0), (1090, 90, 0.6), (2440, 120, 0.3)))
        return (0.05 + formants) / n
    return added(phrase, weight)


def modulated(phrase):
    """Two oscillators at the same frequency; brighter at the beginning."""
    phase, since = phrase.phase(), phrase.since()
    room = numpy.clip(9_000 / numpy.maximum(phrase.truth, 1.0) - 1, 0, 3)
    index = numpy.minimum(room, 1.0 + 2.0 * numpy.exp(-since * 6))
    return numpy.sin(phase + index * numpy.sin(phase)) * phrase.gain * (phrase.truth > 0)


TIMBRES = {"plucked": plucked, "reed": reed, "sung": sung, "modulated": modulated}


def with_noise(sound, truth, decibels: float, random):
    """White noise so many decibels under the mean level of what is played."""
    level = numpy.sqrt(numpy.mean(sound[truth > 0] ** 2)) * 10 ** (-decibels / 20)
    return sound + level * random.standard_normal(len(sound))
