//! How is the recorder fingered? Baroque fingering, C4–B5 on an instrument in C; a fourth higher in F.

use crate::facts::Grade::{A, B, C};
use crate::fingering::chart::Sheet;
use crate::fingering::row::{Row, row};
use crate::sources::*;

pub(crate) const SHEET: Sheet = Sheet {
    id: "recorder",
    title: "Recorder (baroque fingering)",
    rows: ROWS,
    held: &[],
    rollers: &[],
    pivots: &[],
    straddled: &[],
    unsettled: &[("C6", "D6", "known to us from memory only, so not given as fact")],
    notes: &[(
        "German fingering differs on several notes: do not mix the two.",
        RECORDER_CHART,
    )],
    tendencies: &[],
};

const ROWS: &[Row] = &[
    row("C4", "plain", "LT L1 L2 L3 | R1 R2 R3 R4", B, &[RECORDER_CHART, DOLMETSCH]),
    row("C#4", "plain", "LT L1 L2 L3 | R1 R2 R3 R4:h", B, &[RECORDER_CHART]),
    row("D4", "plain", "LT L1 L2 L3 | R1 R2 R3", B, &[RECORDER_CHART]),
    row("Eb4", "plain", "LT L1 L2 L3 | R1 R2 R3:h", B, &[RECORDER_CHART]),
    row("E4", "plain", "LT L1 L2 L3 | R1 R2", B, &[RECORDER_CHART]),
    row("F4", "plain", "LT L1 L2 L3 | R1 R3 R4", B, &[RECORDER_CHART]),
    row("F#4", "plain", "LT L1 L2 L3 | R2 R3", B, &[RECORDER_CHART]),
    row("G4", "plain", "LT L1 L2 L3 |", B, &[RECORDER_CHART]),
    row("G#4", "plain", "LT L1 L2 | R1 R2 R3:h", B, &[RECORDER_CHART]),
    row("A4", "plain", "LT L1 L2 |", B, &[RECORDER_CHART]),
    row("Bb4", "plain", "LT L1 L3 | R1", A, &[RECORDER_CHART, RECORDER_PAGE]),
    row("B4", "plain", "LT L1 |", A, &[RECORDER_CHART, RECORDER_PAGE]),
    row("B4", "alternate", "LT L2 L3 |", A, &[RECORDER_PAGE]),
    row("C5", "plain", "LT L2 |", A, &[RECORDER_CHART, RECORDER_PAGE]),
    row("C5", "alternate", "L1 L2 L3 |", A, &[RECORDER_PAGE]),
    row("C#5", "plain", "L1 L2 |", B, &[RECORDER_CHART]),
    row("D5", "plain", "L2 |", B, &[RECORDER_CHART]),
    row("Eb5", "plain", "L2 L3 | R1 R2 R3", B, &[RECORDER_CHART]),
    row("E5", "plain", "LT:h L1 L2 L3 | R1 R2", B, &[RECORDER_CHART]),
    row("F5", "plain", "LT:h L1 L2 L3 | R1 R3", B, &[RECORDER_CHART]),
    row("F#5", "plain", "LT:h L1 L2 L3 | R2", A, &[RECORDER_CHART, DOLMETSCH]),
    row("G5", "plain", "LT:h L1 L2 L3 |", B, &[RECORDER_CHART]),
    row("G#5", "plain", "LT:h L1 L2 | R1", B, &[RECORDER_CHART]),
    row("A5", "plain", "LT:h L1 L2 |", B, &[RECORDER_CHART]),
    row("Bb5", "plain", "LT:h L1 L2 | R1 R2 R3", C, &[RECORDER_CHART]).remark("stored copy of the chart prints the thumb as open for this note (likely a glyph slip); pinched thumb is used for its neighbours"),
    row("B5", "plain", "LT:h L1 L2 | R1 R2", B, &[RECORDER_CHART]),
];
