"""Which part name, sound id, transposition and program does a demo instrument carry?

Sound ids: MusicXML 4.0, `sounds.xml` (from memory). Transpositions: common practice. Programs: General MIDI Level 1,
numbered from 1 as in MusicXML `midi-program`.
"""

# name: (abbreviation, sound id, (diatonic, chromatic, octave change) or None, program)
INSTRUMENTS = {
    "Bassoon": ("Bsn.", "wind.reed.bassoon", None, 71),
    "Clarinet in B♭": ("Cl.", "wind.reed.clarinet.bflat", (-1, -2, 0), 72),
    "Flute": ("Fl.", "wind.flutes.flute", None, 74),
    "Oboe": ("Ob.", "wind.reed.oboe", None, 69),
    "Alto Saxophone": ("A. Sax.", "wind.reed.saxophone.alto", (-5, -9, 0), 66),
    "Horn in F": ("Hn.", "brass.french-horn", (-4, -7, 0), 61),
    "Trombone": ("Tbn.", "brass.trombone", None, 58),
    "Viola": ("Vla.", "strings.viola", None, 42),
    "Violoncello": ("Vc.", "strings.cello", None, 43),
    "Trumpet in B♭": ("Tpt.", "brass.trumpet.bflat", (-1, -2, 0), 57),
    "Organ": ("Org.", "keyboard.organ", None, 20),
}
CLEFS = {"treble": ("G", 2), "bass": ("F", 4), "alto": ("C", 3), "tenor": ("C", 4)}
