//! Which other instruments do we know by name? No range is given for these: none was read anywhere.
//! Transpositions are common practice.

use super::{TREBLE_8VB, usual};
use crate::Instrument;
use crate::facts::{Family, Ranges};
use crate::sources::{Cited, PRACTICE, by};
use notation::Clef;

const CUSTOM: &[Cited] = &[by(PRACTICE, "")];

const fn plain(id: &'static str, name: &'static str, family: Family) -> Instrument {
    Instrument {
        id,
        name,
        family,
        names: &[],
        short: &[],
        pitched_in: None,
        sounds: &[],
        midi: &[],
        steps: 0,
        semitones: 0,
        transposition_sources: CUSTOM,
        clefs: &[],
        ranges: Ranges::UNKNOWN,
        breaks: &[],
        strings: &[],
    }
}

/// Instruments known by name, family and transposition only.
pub(crate) const TABLE: &[Instrument] = &[
    Instrument {
        names: &[
            "alto flute",
            "altflote",
            "flute en sol",
            "flauto contralto",
            "flauto in sol",
        ],
        short: &["a fl", "afl", "alt fl"],
        pitched_in: Some("G"),
        sounds: &["wind.flutes.flute.alto"],
        steps: -3,
        semitones: -5,
        clefs: &[usual(Clef::TREBLE)],
        ..plain("alto-flute", "Alto flute", Family::Flute)
    },
    Instrument {
        names: &["oboe d amore", "oboe damore", "hautbois d amour"],
        short: &["ob d am", "ob d a"],
        pitched_in: Some("A"),
        sounds: &["wind.reed.oboe-damore"],
        steps: -2,
        semitones: -3,
        clefs: &[usual(Clef::TREBLE)],
        ..plain("oboe-damore", "Oboe d'amore", Family::Reed)
    },
    Instrument {
        names: &["oboe da caccia"],
        short: &["ob da c", "ob d c"],
        pitched_in: Some("F"),
        steps: -4,
        semitones: -7,
        clefs: &[usual(Clef::TREBLE)],
        ..plain("oboe-da-caccia", "Oboe da caccia", Family::Reed)
    },
    Instrument {
        names: &["basset horn", "bassetthorn", "corno di bassetto", "cor de basset"],
        short: &["b hn", "bthn", "bshn"],
        pitched_in: Some("F"),
        sounds: &["wind.reed.clarinet.basset"],
        steps: -4,
        semitones: -7,
        clefs: &[usual(Clef::TREBLE)],
        ..plain("basset-horn", "Basset horn", Family::Reed)
    },
    Instrument {
        names: &[
            "alto clarinet",
            "altklarinette",
            "clarinette alto",
            "clarinetto contralto",
        ],
        short: &["a cl", "acl", "alt cl"],
        pitched_in: Some("Eb"),
        sounds: &["wind.reed.clarinet.alto"],
        steps: -5,
        semitones: -9,
        clefs: &[usual(Clef::TREBLE)],
        ..plain("alto-clarinet", "Alto clarinet", Family::Reed)
    },
    Instrument {
        names: &[
            "cornet",
            "cornets",
            "cornetta",
            "kornett",
            "cornet a pistons",
            "cornet a piston",
            "pistons",
        ],
        short: &["crt", "cnt", "corn"],
        pitched_in: Some("Bb"),
        sounds: &["brass.cornet", "brass.cornet.soprano"],
        steps: -1,
        semitones: -2,
        clefs: &[usual(Clef::TREBLE)],
        ..plain("cornet", "Cornet", Family::Brass)
    },
    Instrument {
        names: &["flugelhorn", "fluegelhorn", "flicorno", "bugle"],
        short: &["flhn", "flgh", "flug", "flghn"],
        pitched_in: Some("Bb"),
        sounds: &["brass.flugelhorn"],
        steps: -1,
        semitones: -2,
        clefs: &[usual(Clef::TREBLE)],
        ..plain("flugelhorn", "Flugelhorn", Family::Brass)
    },
    Instrument {
        names: &["tenor horn", "alto horn", "althorn", "saxhorn alto"],
        short: &["t hn", "a hn"],
        pitched_in: Some("Eb"),
        sounds: &["brass.alto-horn"],
        steps: -5,
        semitones: -9,
        clefs: &[usual(Clef::TREBLE)],
        ..plain("tenor-horn", "Tenor horn (E-flat alto horn)", Family::Brass)
    },
    Instrument {
        names: &["timpani", "timpano", "pauken", "kettledrums", "timbales"],
        short: &["timp", "pk"],
        sounds: &["drum.timpani"],
        midi: &[48],
        clefs: &[usual(Clef::BASS)],
        ..plain("timpani", "Timpani", Family::Percussion)
    },
    Instrument {
        names: &[
            "percussion",
            "drums",
            "drum set",
            "snare drum",
            "bass drum",
            "triangle",
            "cymbals",
            "schlagzeug",
        ],
        short: &["perc", "dr"],
        sounds: &["drum", "metal", "wood", "rattle"],
        ..plain("percussion", "Percussion", Family::Percussion)
    },
    Instrument {
        names: &["guitar", "gitarre", "guitare", "chitarra", "classical guitar"],
        short: &["gtr", "git", "guit", "chit"],
        sounds: &[
            "pluck.guitar",
            "pluck.guitar.nylon-string",
            "pluck.guitar.acoustic",
        ],
        midi: &[25, 26],
        steps: -7,
        semitones: -12,
        clefs: &[usual(Clef::TREBLE), usual(TREBLE_8VB)],
        ..plain("guitar", "Guitar", Family::Plucked)
    },
    Instrument {
        names: &["harp", "harfe", "harpe", "arpa"],
        short: &["hp", "hrf"],
        sounds: &["pluck.harp"],
        midi: &[47],
        clefs: &[usual(Clef::TREBLE), usual(Clef::BASS)],
        ..plain("harp", "Harp", Family::Plucked)
    },
    Instrument {
        names: &[
            "piano",
            "pianoforte",
            "klavier",
            "piano forte",
            "fortepiano",
            "pf",
            "clavier",
        ],
        short: &["pno", "pfte", "kl", "klav"],
        sounds: &["keyboard.piano", "keyboard.piano.grand"],
        midi: &[],
        clefs: &[usual(Clef::TREBLE), usual(Clef::BASS)],
        ..plain("piano", "Piano", Family::Keyboard)
    },
    Instrument {
        names: &["harpsichord", "cembalo", "clavecin", "clavicembalo"],
        short: &["hpschd", "cemb", "clav"],
        sounds: &["keyboard.harpsichord"],
        midi: &[7],
        clefs: &[usual(Clef::TREBLE), usual(Clef::BASS)],
        ..plain("harpsichord", "Harpsichord", Family::Keyboard)
    },
    Instrument {
        names: &["organ", "orgel", "orgue", "organo"],
        short: &["org"],
        sounds: &["keyboard.organ", "keyboard.organ.pipe"],
        midi: &[20],
        clefs: &[usual(Clef::TREBLE), usual(Clef::BASS)],
        ..plain("organ", "Organ", Family::Keyboard)
    },
    Instrument {
        names: &[
            "voice",
            "vocal",
            "vocals",
            "gesang",
            "singstimme",
            "chant",
            "stimme",
            "voix",
            "voce",
            "contratenor",
        ],
        short: &["vo", "vox"],
        sounds: &["voice", "voice.vocals"],
        midi: &[53],
        ..plain("voice", "Voice", Family::Voice)
    },
];
