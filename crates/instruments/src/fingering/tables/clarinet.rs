//! How is the clarinet fingered? Boehm system, 17 keys, all soprano sizes, E3–C6 as written.

use crate::facts::Grade::{A, B, C};
use crate::fingering::chart::Sheet;
use crate::fingering::row::{Held, Row, row};
use crate::sources::*;

pub(crate) const SHEET: Sheet = Sheet {
    id: "clarinet",
    title: "Clarinet (Boehm, 17 keys)",
    rows: ROWS,
    held: &[
        Held::add(
            "| R1 R2 R3",
            &["G4", "G#4", "A4", "Bb4"],
            "the right hand goes down early, ready for the break",
            B,
            MEMORY,
        ),
        Held::beside(
            "L4:E",
            "| R4:F",
            "the right little finger rests on the F/C key",
            A,
            PIMENTEL,
        ),
        Held::beside(
            "R4:E",
            "L4:F |",
            "the left little finger rests on the F/C key",
            A,
            PIMENTEL,
        ),
    ],
    rollers: &[],
    // The left index finger rolls up to the throat keys, it is not lifted: common practice.
    pivots: &[("L1", "o+A+G#")],
    straddled: &[],
    unsettled: &[
        (
            "C#6",
            "G6",
            "known to us mostly from memory, so not given as fact: ask a teacher or a printed chart",
        ),
        ("G#6", "C7", "no established fingering is known here"),
    ],
    notes: &[
        (
            "With the register key every fingering E3–F4 sounds a twelfth higher.",
            WFG_CLARINET,
        ),
        (
            "C♯4 and G♯5 are for the left little finger only, G♯3 and E♭5 for the right; E, F and F♯ for either.",
            PAGLIALONGA,
        ),
    ],
    tendencies: &[],
};

// Of the little fingers' notes the usual hand stands first: left for E/B and F♯/C♯, right for F/C.
// Source: bandencyclopedia.com, clarinet pinkies; planzmusic.com, left/right fingering choices.
const ROWS: &[Row] = &[
    row(
        "E3",
        "left",
        "LT L1 L2 L3 L4:E | R1 R2 R3",
        A,
        &[WFG_CLARINET, PAGLIALONGA, SBO, PIMENTEL],
    ),
    row(
        "E3",
        "right",
        "LT L1 L2 L3 | R1 R2 R3 R4:E",
        A,
        &[WFG_CLARINET, PAGLIALONGA, SBO, PIMENTEL],
    ),
    row(
        "F3",
        "right",
        "LT L1 L2 L3 | R1 R2 R3 R4:F",
        A,
        &[WFG_CLARINET, PAGLIALONGA, SBO, PIMENTEL],
    ),
    row(
        "F3",
        "left",
        "LT L1 L2 L3 L4:F | R1 R2 R3",
        A,
        &[WFG_CLARINET, PAGLIALONGA, SBO, PIMENTEL],
    ),
    row(
        "F#3",
        "left",
        "LT L1 L2 L3 L4:F# | R1 R2 R3",
        A,
        &[WFG_CLARINET, PAGLIALONGA, SBO, PIMENTEL],
    ),
    row(
        "F#3",
        "right",
        "LT L1 L2 L3 | R1 R2 R3 R4:F#",
        A,
        &[WFG_CLARINET, PAGLIALONGA, SBO, PIMENTEL],
    ),
    row("G3", "plain", "LT L1 L2 L3 | R1 R2 R3", B, &[WFG_CLARINET]),
    row(
        "G#3",
        "plain",
        "LT L1 L2 L3 | R1 R2 R3 R4:G#",
        A,
        &[WFG_CLARINET, CLARINET_BOARD],
    )
    .remark("right hand only on the standard instrument (left lever is an extra)"),
    row("A3", "plain", "LT L1 L2 L3 | R1 R2", B, &[WFG_CLARINET]),
    row("Bb3", "plain", "LT L1 L2 L3 | R1", B, &[WFG_CLARINET]),
    row("B3", "plain", "LT L1 L2 L3 | R2", B, &[PIMENTEL, MEMORY]),
    row(
        "B3",
        "fork",
        "LT L1 L2 L3 | R1 R3:slBF#",
        B,
        &[WFG_CLARINET, MEMORY],
    ),
    row("C4", "plain", "LT L1 L2 L3 |", B, &[WFG_CLARINET]),
    row(
        "C#4",
        "plain",
        "LT L1 L2 L3 L4:C# |",
        A,
        &[WFG_CLARINET, PAGLIALONGA],
    ),
    row("D4", "plain", "LT L1 L2 |", B, &[WFG_CLARINET]),
    row("Eb4", "side", "LT L1 L2 | RP:s1", A, &[PIMENTEL, KLARINET]),
    row(
        "Eb4",
        "sliver",
        "LT L1 L2 L3:slEb |",
        A,
        &[PIMENTEL, KLARINET, WFG_CLARINET],
    ),
    row("Eb4", "one-and-one", "LT L1 | R1", A, &[PIMENTEL, KLARINET]),
    row("E4", "plain", "LT L1 |", B, &[WFG_CLARINET]),
    row("F4", "plain", "LT |", B, &[WFG_CLARINET]),
    row("F#4", "plain", "L1 |", B, &[WFG_CLARINET, MEMORY]),
    row("F#4", "side", "LT | RP:s1+s2", C, &[MEMORY]),
    row("G4", "plain", "|", B, &[WFG_CLARINET]),
    row("G#4", "plain", "L1:G# |", B, &[WFG_CLARINET]),
    row("A4", "plain", "L1:A |", B, &[WFG_CLARINET]),
    row("Bb4", "plain", "LT:R L1:A |", B, &[WFG_CLARINET]),
    row("Bb4", "side trill", "L1:A | RP:s3", C, &[MEMORY]).trill(),
    row(
        "B4",
        "left",
        "LT:o+R L1 L2 L3 L4:E | R1 R2 R3",
        A,
        &[WFG_CLARINET, PAGLIALONGA, SBO, PIMENTEL],
    ),
    row(
        "B4",
        "right",
        "LT:o+R L1 L2 L3 | R1 R2 R3 R4:E",
        A,
        &[WFG_CLARINET, PAGLIALONGA, SBO, PIMENTEL],
    ),
    row(
        "C5",
        "right",
        "LT:o+R L1 L2 L3 | R1 R2 R3 R4:F",
        A,
        &[WFG_CLARINET, PAGLIALONGA, SBO, PIMENTEL],
    ),
    row(
        "C5",
        "left",
        "LT:o+R L1 L2 L3 L4:F | R1 R2 R3",
        A,
        &[WFG_CLARINET, PAGLIALONGA, SBO, PIMENTEL],
    ),
    row(
        "C#5",
        "left",
        "LT:o+R L1 L2 L3 L4:F# | R1 R2 R3",
        A,
        &[WFG_CLARINET, PAGLIALONGA, SBO, PIMENTEL],
    ),
    row(
        "C#5",
        "right",
        "LT:o+R L1 L2 L3 | R1 R2 R3 R4:F#",
        A,
        &[WFG_CLARINET, PAGLIALONGA, SBO, PIMENTEL],
    ),
    row("D5", "plain", "LT:o+R L1 L2 L3 | R1 R2 R3", B, &[WFG_CLARINET]),
    row(
        "Eb5",
        "plain",
        "LT:o+R L1 L2 L3 | R1 R2 R3 R4:G#",
        A,
        &[WFG_CLARINET, CLARINET_BOARD],
    )
    .remark("right hand only on the standard instrument (left lever is an extra)"),
    row("E5", "plain", "LT:o+R L1 L2 L3 | R1 R2", B, &[WFG_CLARINET]),
    row("F5", "plain", "LT:o+R L1 L2 L3 | R1", B, &[WFG_CLARINET]),
    row("F#5", "plain", "LT:o+R L1 L2 L3 | R2", B, &[PIMENTEL, MEMORY]),
    row(
        "F#5",
        "fork",
        "LT:o+R L1 L2 L3 | R1 R3:slBF#",
        B,
        &[WFG_CLARINET, MEMORY],
    ),
    row("G5", "plain", "LT:o+R L1 L2 L3 |", B, &[WFG_CLARINET]),
    row(
        "G#5",
        "plain",
        "LT:o+R L1 L2 L3 L4:C# |",
        A,
        &[WFG_CLARINET, PAGLIALONGA],
    ),
    row("A5", "plain", "LT:o+R L1 L2 |", B, &[WFG_CLARINET]),
    row("Bb5", "side", "LT:o+R L1 L2 | RP:s1", A, &[PIMENTEL, KLARINET]),
    row(
        "Bb5",
        "sliver",
        "LT:o+R L1 L2 L3:slEb |",
        A,
        &[PIMENTEL, KLARINET, WFG_CLARINET],
    ),
    row("Bb5", "one-and-one", "LT:o+R L1 | R1", A, &[PIMENTEL, KLARINET]),
    row("B5", "plain", "LT:o+R L1 |", B, &[WFG_CLARINET]),
    row("C6", "plain", "LT:o+R |", B, &[WFG_CLARINET]),
];
