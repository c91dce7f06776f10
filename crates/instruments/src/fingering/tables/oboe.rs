//! How is the oboe fingered? Conservatoire system, B♭3–C6: above, sources are weak or silent.

use crate::facts::Grade::{A, B, C};
use crate::fingering::chart::Sheet;
use crate::fingering::row::{Row, row};
use crate::sources::*;

pub(crate) const SHEET: Sheet = Sheet {
    id: "oboe",
    title: "Oboe (conservatoire)",
    rows: ROWS,
    // The E♭ key of forked F stands in parentheses in its rows.
    held: &[],
    rollers: &[],
    pivots: &[],
    straddled: &[],
    unsettled: &[
        (
            "C#6",
            "Eb6",
            "the sources at hand are too weak to give it as fact: ask a teacher or a printed chart",
        ),
        (
            "E6",
            "G6",
            "no established fingering is known here: left- and right-hand versions exist",
        ),
    ],
    notes: &[
        (
            "Half-hole without octave key for C♯5, D5, E♭5; first octave key E5–G♯5; second A5–C6.",
            OBOE_ALLI,
        ),
        (
            "Regular F unless the right ring finger is used just before or after; then left F; forked F where the left little finger is needed too.",
            OBOE_INSIGHT,
        ),
    ],
    tendencies: &[],
};

const ROWS: &[Row] = &[
    row(
        "Bb3",
        "plain",
        "L1 L2 L3 L4:Bb | R1 R2 R3 R4:C",
        B,
        &[OBOE_LITTLE_FINGERS, MEMORY],
    ),
    row(
        "B3",
        "plain",
        "L1 L2 L3 L4:B | R1 R2 R3 R4:C",
        B,
        &[OBOE_LITTLE_FINGERS, MEMORY],
    ),
    row(
        "C4",
        "plain",
        "L1 L2 L3 | R1 R2 R3 R4:C",
        B,
        &[OBOE_LITTLE_FINGERS, MEMORY],
    ),
    row(
        "C#4",
        "plain",
        "L1 L2 L3 | R1 R2 R3 R4:C#",
        B,
        &[OBOE_LITTLE_FINGERS, MEMORY],
    ),
    row("D4", "plain", "L1 L2 L3 | R1 R2 R3", B, &[OBOE_ALLI, MEMORY]),
    row(
        "Eb4",
        "right",
        "L1 L2 L3 | R1 R2 R3 R4:Eb",
        B,
        &[OBOE_LITTLE_FINGERS, MEMORY],
    ),
    row(
        "Eb4",
        "left",
        "L1 L2 L3 L4:Eb | R1 R2 R3",
        B,
        &[OBOE_LITTLE_FINGERS, MEMORY],
    ),
    row("E4", "plain", "L1 L2 L3 | R1 R2", C, &[MEMORY]),
    row(
        "F4",
        "regular",
        "L1 L2 L3 | R1 R2 R3:F",
        A,
        &[OBOE_INSIGHT, OBOE_ALLI, MEMORY],
    ),
    row(
        "F4",
        "left",
        "L1 L2 L3 L4:F | R1 R2",
        A,
        &[OBOE_INSIGHT, OBOE_ALLI, MEMORY],
    )
    .remark("not every oboe has a left F key: many students\' have none"),
    row(
        "F4",
        "forked",
        "L1 L2 L3 | R1 R3 (R4:Eb)",
        A,
        &[OBOE_INSIGHT, OBOE_ALLI, MEMORY],
    )
    .lesser("sounds less good and is harder to tune", OBOE_ALLI),
    row("F#4", "plain", "L1 L2 L3 | R1", C, &[MEMORY]),
    row("G4", "plain", "L1 L2 L3 |", C, &[MEMORY]),
    row(
        "G#4",
        "plain",
        "L1 L2 L3 L4:G# |",
        B,
        &[MEMORY, OBOE_LITTLE_FINGERS],
    ),
    row("A4", "plain", "L1 L2 |", C, &[MEMORY]),
    row("Bb4", "plain", "L1 L2 | R1", C, &[MEMORY]),
    row("B4", "plain", "L1 |", C, &[MEMORY]),
    row("C5", "plain", "L1 | R1", C, &[MEMORY]),
    row("C#5", "half-hole", "L1:h L2 L3 | R1 R2 R3 R4:C#", B, &[OBOE_ALLI]),
    row(
        "D5",
        "half-hole",
        "L1:h L2 L3 | R1 R2 R3",
        A,
        &[OBOE_ALLI, BARRET],
    ),
    row("Eb5", "half-hole", "L1:h L2 L3 | R1 R2 R3 R4:Eb", B, &[OBOE_ALLI]),
    row(
        "Eb5",
        "half-hole left",
        "L1:h L2 L3 L4:Eb | R1 R2 R3",
        B,
        &[OBOE_ALLI],
    ),
    row("E5", "plain", "LT:O1 L1 L2 L3 | R1 R2", B, &[SMOKE, BARRET]),
    row(
        "F5",
        "regular",
        "LT:O1 L1 L2 L3 | R1 R2 R3:F",
        B,
        &[OBOE_INSIGHT, OBOE_ALLI, SMOKE, BARRET],
    ),
    row(
        "F5",
        "left",
        "LT:O1 L1 L2 L3 L4:F | R1 R2",
        B,
        &[OBOE_INSIGHT, OBOE_ALLI, SMOKE, BARRET],
    )
    .remark("not every oboe has a left F key: many students\' have none"),
    row(
        "F5",
        "forked",
        "LT:O1 L1 L2 L3 | R1 R3 (R4:Eb)",
        B,
        &[OBOE_INSIGHT, OBOE_ALLI, SMOKE, BARRET],
    )
    .lesser("sounds less good and is harder to tune", OBOE_ALLI),
    row("F#5", "plain", "LT:O1 L1 L2 L3 | R1", B, &[SMOKE, BARRET]),
    row("G5", "plain", "LT:O1 L1 L2 L3 |", B, &[SMOKE, BARRET]),
    row(
        "G#5",
        "plain",
        "LT:O1 L1 L2 L3 L4:G# |",
        B,
        &[SMOKE, BARRET, OBOE_LITTLE_FINGERS],
    ),
    row("A5", "plain", "LP:O2 L1 L2 |", B, &[SMOKE]),
    row("Bb5", "plain", "LP:O2 L1 L2 | R1", B, &[SMOKE]),
    row("B5", "plain", "LP:O2 L1 |", B, &[SMOKE]),
    row("C6", "plain", "LP:O2 L1 | R1", B, &[SMOKE]),
];
