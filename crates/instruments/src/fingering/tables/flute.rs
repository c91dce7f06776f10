//! How is the flute fingered? Boehm flute with closed G♯, C4–D6: above and below only memory is at hand.

use crate::facts::Grade::{A, B, C};
use crate::fingering::chart::Sheet;
use crate::fingering::row::{Held, Row, row};
use crate::sources::*;

pub(crate) const SHEET: Sheet = Sheet {
    id: "flute",
    title: "Flute (Boehm, closed G♯)",
    rows: ROWS,
    held: &[Held::replace(
        "LT",
        "LT:Bb",
        &["B4", "B5"],
        "the thumb stays on the B♭ key",
        A,
        FLUTE_B_FLATS,
    )],
    rollers: &[],
    pivots: &[],
    straddled: &[],
    unsettled: &[
        (
            "B3",
            "B3",
            "needs a B foot; its fingering is known to us from memory only",
        ),
        (
            "Eb6",
            "C7",
            "known to us mostly from memory, so not given as fact: ask a teacher or a printed chart",
        ),
    ],
    notes: &[
        (
            "The right little finger stays on the E♭ key for nearly every note except D4 and D5.",
            CATES,
        ),
        ("The left index finger comes up for D5 and E♭5.", CATES),
    ],
    tendencies: &[
        ("E6", "E6", "sharp, more than its neighbours", CATES),
        ("F#6", "F#6", "sharp, more than its neighbours", CATES),
        ("G#6", "G#6", "sharp, more than its neighbours", CATES),
        ("C7", "C7", "very sharp", CATES),
        ("D6", "B6", "sharp, as the third octave is", CATES),
    ],
};

const ROWS: &[Row] = &[
    row("C4", "plain", "LT L1 L2 L3 | R1 R2 R3 R4:C", C, &[MEMORY]),
    row("C#4", "plain", "LT L1 L2 L3 | R1 R2 R3 R4:C#", C, &[MEMORY]),
    row("D4", "plain", "LT L1 L2 L3 | R1 R2 R3", B, &[CATES]),
    row("Eb4", "plain", "LT L1 L2 L3 | R1 R2 R3 R4:Eb", C, &[MEMORY]),
    row("E4", "plain", "LT L1 L2 L3 | R1 R2 R4:Eb", B, &[CATES, MEMORY]),
    row("F4", "plain", "LT L1 L2 L3 | R1 R4:Eb", C, &[MEMORY]),
    row("F#4", "plain", "LT L1 L2 L3 | R3 R4:Eb", B, &[CATES]),
    row("F#4", "middle-finger F♯", "LT L1 L2 L3 | R2 R4:Eb", B, &[CATES]).trill(),
    row("G4", "plain", "LT L1 L2 L3 | R4:Eb", C, &[MEMORY]),
    row("G#4", "plain", "LT L1 L2 L3 L4:G# | R4:Eb", B, &[UNSW, MEMORY]),
    row("A4", "plain", "LT L1 L2 | R4:Eb", C, &[MEMORY]),
    row(
        "Bb4",
        "one-and-one",
        "LT L1 | R1 R4:Eb",
        A,
        &[FLUTE_B_FLATS, PIMENTEL],
    ),
    row("Bb4", "thumb", "LT:Bb L1 | R4:Eb", A, &[FLUTE_B_FLATS]),
    row("Bb4", "lever", "LT L1 | R1:lev R4:Eb", A, &[FLUTE_B_FLATS]),
    row("B4", "plain", "LT L1 | R4:Eb", A, &[UNSW, CATES, FLUTE_B_FLATS]),
    row("C5", "plain", "L1 | R4:Eb", C, &[MEMORY]),
    row("C#5", "plain", "| R4:Eb", C, &[MEMORY]).tends("dull and unsteady", INSTRUMENTALIST_FLUTE),
    row("D5", "plain", "LT L2 L3 | R1 R2 R3", B, &[CATES]),
    row("Eb5", "plain", "LT L2 L3 | R1 R2 R3 R4:Eb", B, &[CATES]),
    row("E5", "plain", "LT L1 L2 L3 | R1 R2 R4:Eb", B, &[CATES, MEMORY]),
    row("F5", "plain", "LT L1 L2 L3 | R1 R4:Eb", C, &[MEMORY]),
    row("F#5", "plain", "LT L1 L2 L3 | R3 R4:Eb", B, &[CATES]),
    row("F#5", "middle-finger F♯", "LT L1 L2 L3 | R2 R4:Eb", B, &[CATES]).trill(),
    row("G5", "plain", "LT L1 L2 L3 | R4:Eb", C, &[MEMORY]),
    row("G#5", "plain", "LT L1 L2 L3 L4:G# | R4:Eb", B, &[UNSW, MEMORY]),
    row("A5", "plain", "LT L1 L2 | R4:Eb", C, &[MEMORY]),
    row(
        "Bb5",
        "one-and-one",
        "LT L1 | R1 R4:Eb",
        A,
        &[FLUTE_B_FLATS, PIMENTEL],
    ),
    row("Bb5", "thumb", "LT:Bb L1 | R4:Eb", A, &[FLUTE_B_FLATS]),
    row("Bb5", "lever", "LT L1 | R1:lev R4:Eb", A, &[FLUTE_B_FLATS]),
    row("B5", "plain", "LT L1 | R4:Eb", A, &[UNSW, CATES, FLUTE_B_FLATS]),
    row("C6", "plain", "L1 | R4:Eb", C, &[MEMORY]),
    row("C#6", "plain", "| R4:Eb", C, &[MEMORY]),
    row("D6", "plain", "LT L2 L3 | R4:Eb", B, &[CATES]),
];
