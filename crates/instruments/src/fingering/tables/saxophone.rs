//! How is the saxophone fingered? All sizes, B♭3–F♯6 as written.

use crate::facts::Grade::{A, B, C};
use crate::fingering::chart::Sheet;
use crate::fingering::row::{Held, Row, row};
use crate::sources::*;

pub(crate) const SHEET: Sheet = Sheet {
    id: "saxophone",
    title: "Saxophone",
    rows: ROWS,
    held: &[
        Held::replace(
            "L1 L2",
            "L1:o+bis",
            &[],
            "the index finger stays on bis",
            B,
            WFG_SAX,
        ),
        Held::under_right_hand("L4:G#", "the left little finger stays on the G♯ key", C, MEMORY),
    ],
    // Bis and B lie under one finger: bis is for passages without B natural (Woodwind Fingering Guide).
    // The low keys, G♯ included, have rollers between them; so have low C and E♭ (from memory).
    rollers: &[("L4", "G#+C#+B+Bb"), ("R4", "C+Eb")],
    pivots: &[],
    straddled: &[("L1", "o+bis")],
    unsettled: &[(
        "G6",
        "C8",
        "the notes above F♯6 are fingered differently from one instrument to the next",
    )],
    notes: &[
        ("Plain F♯ next to D or E♭, fork F♯ next to F.", BAND_DIRECTORS),
        ("Side C when C is next to B.", SAX_COURSE),
    ],
    tendencies: &[],
};

const ROWS: &[Row] = &[
    row(
        "Bb3",
        "plain",
        "L1 L2 L3 L4:Bb | R1 R2 R3 R4:C",
        A,
        &[SAX_LIST, SAX_CHART],
    ),
    row(
        "B3",
        "plain",
        "L1 L2 L3 L4:B | R1 R2 R3 R4:C",
        A,
        &[SAX_LIST, SAX_CHART],
    ),
    row(
        "C4",
        "plain",
        "L1 L2 L3 | R1 R2 R3 R4:C",
        A,
        &[SAX_LIST, SAX_CHART],
    ),
    row(
        "C#4",
        "plain",
        "L1 L2 L3 L4:C# | R1 R2 R3 R4:C",
        B,
        &[SAX_LIST, MEMORY],
    )
    .remark("one draft chart omits the low C key; acoustically C♯ is low C plus the opened C♯ hole"),
    row(
        "D4",
        "plain",
        "L1 L2 L3 | R1 R2 R3",
        A,
        &[SAX_LIST, SAX_CHART, SAX_DIAGRAMS],
    ),
    row(
        "Eb4",
        "plain",
        "L1 L2 L3 | R1 R2 R3 R4:Eb",
        A,
        &[SAX_LIST, SAX_CHART],
    ),
    row(
        "E4",
        "plain",
        "L1 L2 L3 | R1 R2",
        A,
        &[SAX_LIST, SAX_CHART, SAX_DIAGRAMS],
    ),
    row("F4", "plain", "L1 L2 L3 | R1", A, &[SAX_LIST, SAX_CHART]),
    row(
        "F#4",
        "plain",
        "L1 L2 L3 | R2",
        A,
        &[SAX_LIST, SAX_CHART, SAX_DIAGRAMS, BAND_DIRECTORS],
    ),
    row("F#4", "fork", "L1 L2 L3 | R1 R3:f#", B, &[BAND_DIRECTORS]),
    row(
        "G4",
        "plain",
        "L1 L2 L3 |",
        A,
        &[SAX_LIST, SAX_CHART, SAX_DIAGRAMS],
    ),
    row("G#4", "plain", "L1 L2 L3 L4:G# |", A, &[SAX_LIST, SAX_CHART]),
    row("A4", "plain", "L1 L2 |", A, &[SAX_LIST, SAX_CHART, SAX_DIAGRAMS]),
    row("Bb4", "side", "L1 L2 | RP:Bb", B, &[SAX_LIST, PIMENTEL]),
    row("Bb4", "bis", "L1:o+bis |", A, &[SAX_LIST, WFG_SAX])
        .remark("one draft chart writes 1+2+bis, which would sound A; the other list has finger 1 + bis"),
    row("Bb4", "one-and-four", "L1 | R1", B, &[SAX_LIST]).lesser("a little flat and muffled", PALM_KEYS),
    row("Bb4", "one-and-five", "L1 | R2", B, &[SAX_LIST]).lesser("a little flat and muffled", PALM_KEYS),
    row("B4", "plain", "L1 |", A, &[SAX_LIST, SAX_CHART, SAX_DIAGRAMS]),
    row("C5", "plain", "L2 |", A, &[SAX_LIST, SAX_CHART, SAX_DIAGRAMS]),
    row(
        "C5",
        "side",
        "L1 | RP:C",
        A,
        &[SAX_LIST, BAND_DIRECTORS, SAX_COURSE],
    ),
    row("C#5", "plain", "|", A, &[SAX_LIST, SAX_CHART]).tends("flat", INSTRUMENTALIST_SAX),
    row("C#5", "long", "LT:O L3 |", A, &[SAX_LIST, INSTRUMENTALIST_SAX])
        .tends("sharper than the open one", INSTRUMENTALIST_SAX),
    row("C#5", "side", "| RP:C", B, &[INSTRUMENTALIST_SAX])
        .tends("sharper than the open one", INSTRUMENTALIST_SAX),
    row(
        "D5",
        "plain",
        "LT:O L1 L2 L3 | R1 R2 R3",
        A,
        &[SAX_LIST, SAX_CHART, SAX_DIAGRAMS],
    )
    .tends("sharp", INSTRUMENTALIST_SAX),
    row(
        "Eb5",
        "plain",
        "LT:O L1 L2 L3 | R1 R2 R3 R4:Eb",
        A,
        &[SAX_LIST, SAX_CHART],
    ),
    row("E5", "plain", "LT:O L1 L2 L3 | R1 R2", B, &[SAX_LIST]),
    row("F5", "plain", "LT:O L1 L2 L3 | R1", B, &[SAX_LIST]),
    row("F#5", "plain", "LT:O L1 L2 L3 | R2", B, &[SAX_LIST]),
    row("F#5", "fork", "LT:O L1 L2 L3 | R1 R3:f#", B, &[BAND_DIRECTORS]),
    row("G5", "plain", "LT:O L1 L2 L3 |", B, &[SAX_LIST]),
    row("G#5", "plain", "LT:O L1 L2 L3 L4:G# |", B, &[SAX_LIST]),
    row("A5", "plain", "LT:O L1 L2 |", B, &[SAX_LIST]),
    row("Bb5", "side", "LT:O L1 L2 | RP:Bb", B, &[SAX_LIST, PIMENTEL]),
    row("Bb5", "bis", "LT:O L1:o+bis |", A, &[SAX_LIST, WFG_SAX])
        .remark("one draft chart writes 1+2+bis, which would sound A; the other list has finger 1 + bis"),
    row("Bb5", "one-and-four", "LT:O L1 | R1", B, &[SAX_LIST]).lesser("a little flat and muffled", PALM_KEYS),
    row("Bb5", "one-and-five", "LT:O L1 | R2", B, &[SAX_LIST]).lesser("a little flat and muffled", PALM_KEYS),
    row("B5", "plain", "LT:O L1 |", B, &[SAX_LIST]),
    row("C6", "plain", "LT:O L2 |", B, &[SAX_LIST]),
    row(
        "C6",
        "side",
        "LT:O L1 | RP:C",
        A,
        &[SAX_LIST, BAND_DIRECTORS, SAX_COURSE],
    ),
    row("C#6", "plain", "LT:O |", B, &[SAX_LIST]).tends("sharp", INSTRUMENTALIST_SAX),
    row("D6", "palm", "LT:O LP:D |", A, &[SAX_LIST, WFG_SAX]),
    row("Eb6", "palm", "LT:O LP:D+Eb |", A, &[SAX_LIST, WFG_SAX]),
    row("E6", "palm", "LT:O LP:D+Eb | RP:E", A, &[SAX_LIST, WFG_SAX]),
    row("E6", "front", "LT:O L1:fF L2 L3 |", B, &[COATS])
        .remark("baritone and some tenors add the right middle finger"),
    row(
        "F6",
        "palm",
        "LT:O LP:D+Eb+F | RP:E",
        B,
        &[SAX_LIST, WFG_SAX, COATS],
    )
    .remark("the other list leaves out the right-hand high E key; another page (for F♯6) includes it"),
    row("F6", "front", "LT:O L1:fF L2 |", B, &[COATS, WFG_SAX]),
    row(
        "F#6",
        "palm",
        "LT:O LP:D+Eb+F | RP:E R2:hF#",
        B,
        &[COATS, WFG_SAX],
    )
    .remark("one page presses the high F♯ key with the right middle finger; many use the right ring finger"),
    row("F#6", "front", "LT:O L1:fF L2 | RP:Bb", C, &[MEMORY]),
];
