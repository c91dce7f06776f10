"""Which characters can be read, and what stands on a page of music? Lines of text as editions print them.

The terms come from the dictionary of the program (`crates/terms/data`); titles, names and notes are put together from syllables,
so that no real one is learnt.
"""

import os
import re

HERE = os.path.dirname(os.path.abspath(__file__))
TERMS = os.environ.get("TERMS_DATA", os.path.join(HERE, "..", "..", "crates", "terms", "data"))

# A note of a metronome mark is one character: half, quarter, eighth, sixteenth (Unicode 15, Miscellaneous Symbols; the half and the
# sixteenth have no plain one there: ♫ stands for the sixteenth, ♮ to the accidental that it is, 𝅗 is written ♬).
QUARTER, EIGHTH, SIXTEENTH, HALF = "♩", "♪", "♫", "♬"
# A line in a frame or a ring: ⟦A⟧.
OPEN, CLOSE = "⟦", "⟧"
CHARS = ("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789"
         " .,;:!?'’\"“”„-–—()[]/&*+=%°#†©§_<>"
         "àáâäãåæçèéêëìíîïñòóôöõøœùúûüýßÀÁÂÄÅÆÇÈÉÊËÌÍÎÏÑÒÓÔÖØŒÙÚÛÜčěřšžłńśźżőű"
         "♭♯♮" + QUARTER + EIGHTH + SIXTEENTH + HALF + OPEN + CLOSE)
CLASSES = len(CHARS) + 1   # 0 is blank
ID = {c: i + 1 for i, c in enumerate(CHARS)}


def encode(text):
    """Numbers of the characters; None if one is not among them."""
    out = [ID.get(c) for c in text]
    return None if None in out or not out else out


def decode(ids):
    """Best path: repeats joined, blanks dropped."""
    out, last = [], 0
    for i in ids:
        if i and i != last:
            out.append(CHARS[i - 1])
        last = i
    return "".join(out)


def terms():
    """Every word and spelling of the dictionary, and its modifiers."""
    words, mods = [], []
    for name in sorted(os.listdir(TERMS)):
        for row in open(os.path.join(TERMS, name), encoding="utf-8"):
            row = row.strip()
            if not row or row.startswith("#"):
                continue
            fields = [f.strip() for f in row.split("|")]
            here = mods if name.startswith("modifiers") else words
            here.append(fields[0])
            if name.startswith("modifiers"):
                continue
            if len(fields) > 3:
                here += [w.strip() for w in fields[3].split(",") if re.fullmatch(r"[^\W\d][\w .'-]{1,24}", w.strip())]
    return [w for w in words if encode(w)], [w for w in mods if encode(w)]


SYLLABLES = ("al be cor da el fa gri ho in jo ka lu mer no or pel quin ro sa ten um vi wal xa yor zen bra cle dro flo gre hin stra "
             "tro mont berg ville ton ner lin chen ski sen ette elle ous ier mann dor fel gar len mo nes pra rit sol tav").split()
TITLES = ("Etude|Study|Exercise|Prelude|Sonata|Sonatina|Romance|Fantasy|Fantaisie|Caprice|Concerto|Solo|Minuet|Menuett|Waltz|Valse|March|Air|"
          "Aria|Gavotte|Gigue|Sarabande|Allemande|Courante|Bourrée|Rondo|Scherzo|Nocturne|Elegy|Élégie|Ballade|Suite|Duet|Variations|Theme|"
          "Lied|Tanz|Stück|Übung|Studie|Pièce|Morceau|Chanson|Danse|Hornpipe|Reel|Jig|Song|Part|Book|Heft|Cahier|Movement|Introduction").split("|")
PARTS = ("Flute|Flöte|Flûte|Oboe|Hautbois|Clarinet in B♭|Clarinet in A|Klarinette in B|Bass Clarinet|Bassoon|Fagott|Basson|Horn in F|Horn|Cor|"
         "Trumpet in C|Trumpet in B♭|Trombone|Posaune|Tuba|Violin|Violine I|Violino II|Viola|Bratsche|Cello|Violoncello|Alto Saxophone|"
         "Tenor Saxophone|Euphonium|Piccolo|English Horn|Recorder|Contrabass|Flauto I|Corno in Es").split("|")
TEMPI = ("Allegro|Andante|Adagio|Presto|Moderato|Lento|Vivace|Largo|Allegretto|Andantino|Larghetto|Grave|Tempo I|Tempo di Marcia|Vif|Lent|Modéré|"
         "Animé|Schnell|Langsam|Mäßig|Lebhaft|Ruhig|Bewegt|Fast|Slowly|Lively|With spirit|Allegro moderato|Allegro ma non troppo|Andante con moto|"
         "Allegro assai|Molto vivace|Poco adagio|Tempo di Valse|Maestoso|Alla breve").split("|")
ROADS = ("D.C. al Fine|D.S. al Fine|D.C. al Coda|D.S. al Coda|D.C.|D.S.|Fine|FINE|Coda|CODA|To Coda|To Coda ⊕|al Coda|Da Capo|Dal Segno|"
         "D. C. al Fine|D.C. senza rep.|attacca|Segue|V.S.|Volti subito|G.P.|tacet|Solo|Tutti|Trio|Ossia|play|div.|unis.|a 2|1.|2.|"
         "ad lib.|simile|sim.|rit.|rall.|accel.|cresc.|dim.|decresc.|a tempo|poco rit.|molto rit.|poco a poco cresc.|sempre|dolce|espress.|"
         "cantabile|marcato|marc.|legato|stacc.|ten.|sost.|pizz.|arco|con sord.|senza sord.|open|mute|più mosso|meno mosso|morendo|smorz.").split("|")
ROADS = [r for r in ROADS if encode(r)]
TEXT = ("the and of to play these notes with a light tongue slowly at first then in tempo if breath is needed take it here small may be left out "
        "see page for fingering use alternate cue from originally written an octave higher second time only edited by arranged for copyright all "
        "rights reserved printed in after before bar repeat omit quasi wie mit dem und die der nicht zu wenn avec le la les sans pour sur").split()


class Lines:
    """Draws lines of text by chance."""

    def __init__(self):
        self.terms, self.mods = terms()

    def name(self, rng, n=None):
        return "".join(rng.choice(SYLLABLES) for _ in range(n or rng.choice([1, 2, 2, 3]))).capitalize()

    def case(self, rng, t):
        r = rng.random()
        return t.upper() if r < .05 else t.title() if r < .1 else t[:1].upper() + t[1:] if r < .45 else t

    def term(self, rng):
        w = rng.choice(self.terms)
        if rng.random() < .3:
            w = f"{rng.choice(self.mods)} {w}" if rng.random() < .7 else f"{w} {rng.choice(self.mods)}"
        elif rng.random() < .12:
            w = f"{w} {rng.choice(['e', 'ed', 'ma', 'und', 'et', 'and', 'con', 'a tempo,'])} {rng.choice(self.terms)}"
        if rng.random() < .15 and len(w) > 5:
            w = w[:rng.randrange(3, len(w))].rstrip(" .'-") + "."
        if rng.random() < .04:
            w = f"({w})"
        return self.case(rng, w)

    def beat(self, rng):
        return rng.choices([QUARTER, HALF, EIGHTH, SIXTEENTH], [5, 3.5, 2.5, .6])[0] + ("." if rng.random() < .25 else "")

    def metronome(self, rng):
        n = rng.randrange(36, 220)
        b, eq = self.beat(rng), rng.choice([" = ", "=", " = ", " ="])
        k = rng.random()
        if k < .6:
            t = f"{b}{eq}{n}"
        elif k < .7:
            t = f"{b}{eq}{rng.choice(['c. ', 'ca. ', 'c.', 'circa '])}{n}"
        elif k < .85:
            t = f"{b}{eq}{n}{rng.choice(['–', '-', ' – '])}{n + rng.randrange(2, 30)}"
        else:
            t = f"{b}{eq}{self.beat(rng)}"
        return f"({t})" if rng.random() < .25 else t

    def tempo(self, rng):
        t = rng.choice(TEMPI) if rng.random() < .6 else self.term(rng)
        t = t[:1].upper() + t[1:]
        k = rng.random()
        if k < .45:
            return t
        return f"{t} {self.metronome(rng)}" if k < .85 else self.metronome(rng)

    def title(self, rng):
        k, n = rng.random(), rng.randrange(1, 120)
        if k < .2:
            t = f"{rng.choice(TITLES)} {rng.choice(['No. ', 'Nr. ', 'no ', ''])}{n}"
        elif k < .3:
            t = f"{rng.choice(TITLES)} in {rng.choice('ABCDEFGH')}{rng.choice(['', '', '♭', '♯'])} {rng.choice(['major', 'minor', 'dur', 'moll', 'Major', 'Minor'])}"
        elif k < .45:
            t = f"{self.name(rng)} {self.name(rng)}" + rng.choice(["", f" ({1600 + n * 3}–{1660 + n * 3})", f", op. {n}", f", Op. {n} No. {n % 7 + 1}"])
        elif k < .6:
            t = rng.choice(PARTS)
        elif k < .75:
            t = f"{rng.choice(['The', 'A', 'La', 'Le', 'Der', 'Die', 'Il', 'Old', 'Two'])} {self.name(rng)} {rng.choice(TITLES + [self.name(rng)])}"
        elif k < .85:
            t = f"{n}. {rng.choice(TITLES)}"
        elif k < .93:
            t = " ".join(self.name(rng) for _ in range(rng.randrange(1, 4)))
        else:
            t = f"{rng.choice(['arr.', 'ed.', 'Arr. by', 'Edited by', 'comp.', 'Op.', 'op.', 'from', 'for'])} {self.name(rng)} {rng.choice(['', self.name(rng)])}".strip()
        return t.upper() if rng.random() < .15 else t

    def sentence(self, rng):
        t = " ".join(rng.choice(TEXT) if rng.random() < .8 else self.name(rng).lower() for _ in range(rng.randrange(3, 9)))
        return rng.choice(["", "*) ", "* ", "1) ", "© ", "(", ""]) + t[:1].upper() + t[1:] + rng.choice([".", "", ")", ","])

    def number(self, rng):
        return str(rng.randrange(1, 10 if rng.random() < .2 else 400)) if rng.random() < .9 else f"[{rng.randrange(1, 200)}]"

    def rehearsal(self, rng):
        """In a frame more often than not (the caller draws it)."""
        k = rng.random()
        return rng.choice("ABCDEFGHIJKLMNOPQRSTUVWXYZ") + ("" if rng.random() < .9 else rng.choice("123")) if k < .7 else str(rng.randrange(1, 240))

    def noise(self, rng):
        plain = CHARS[:CHARS.index("♭")]
        return "".join(rng.choice(plain) for _ in range(rng.randrange(1, 14))).strip() or "x"

    def beside(self, rng):
        """Something printed above or below the staff inside a piece."""
        k = rng.random()
        return rng.choice(ROADS) if k < .35 else self.term(rng) if k < .75 else self.tempo(rng) if k < .9 else self.noise(rng)
