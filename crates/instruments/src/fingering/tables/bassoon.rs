//! How is the bassoon fingered? Heckel system, B♭1–D4: above, nothing is established here.

use crate::facts::Grade::{A, B, C};
use crate::fingering::chart::Sheet;
use crate::fingering::row::{Row, row};
use crate::sources::*;

pub(crate) const SHEET: Sheet = Sheet {
    id: "bassoon",
    title: "Bassoon (Heckel)",
    rows: ROWS,
    held: &[],
    rollers: &[],
    pivots: &[],
    straddled: &[],
    unsettled: &[(
        "Eb4",
        "F5",
        "no established fingering is known here: many are in use, ask a teacher",
    )],
    notes: &[
        ("The whisper key is held from F2 to G♯3.", WIKI_BASSOON),
        ("Half-hole on F♯3, G3 and G♯3.", WIKI_BASSOON),
        (
            "A3–D4 are flicked (a touch of the thumb key at the start) or vented (the key held).",
            EWELL,
        ),
    ],
    tendencies: &[],
};

const ROWS: &[Row] = &[
    row("Bb1", "plain", "LT:lBb+lB+lC+lD L1 L2 L3 | RT:E R1 R2 R3 R4:F", B, &[WIKI_BASSOON, WFG_BASSOON, MEMORY]).remark("the thumb covers the lower row; some touches carry their neighbour"),
    row("B1", "plain", "LT:lB+lC+lD L1 L2 L3 | RT:E R1 R2 R3 R4:F", B, &[WIKI_BASSOON, WFG_BASSOON, MEMORY]),
    row("C2", "plain", "LT:lC+lD L1 L2 L3 | RT:E R1 R2 R3 R4:F", B, &[LOWE, WIKI_BASSOON]),
    row("C#2", "plain", "LT:lC+lD L1 L2 L3 L4:C# | RT:E R1 R2 R3 R4:F", A, &[LOWE, WIKI_BASSOON]),
    row("D2", "plain", "LT:lD L1 L2 L3 | RT:E R1 R2 R3 R4:F", B, &[WIKI_BASSOON, WFG_BASSOON]),
    row("Eb2", "plain", "LT:lD L1 L2 L3 L4:Eb | RT:E R1 R2 R3 R4:F", B, &[WFG_BASSOON, WIKI_BASSOON, MEMORY]).remark("the E♭ touch opens a closed hole (it serves as resonance key higher up), hence low D stays down"),
    row("E2", "plain", "LT:W L1 L2 L3 | RT:E R1 R2 R3 R4:F", B, &[WIKI_BASSOON]).remark("the E key usually closes the whisper vent itself"),
    row("F2", "plain", "LT:W L1 L2 L3 | R1 R2 R3 R4:F", B, &[WIKI_BASSOON]),
    row("F#2", "thumb", "LT:W L1 L2 L3 | RT:F# R1 R2 R3", A, &[LOWE, EWELL, WIKI_BASSOON]),
    row("F#2", "little finger", "LT:W L1 L2 L3 | R1 R2 R3 R4:F#", A, &[LOWE, EWELL]),
    row("G2", "plain", "LT:W L1 L2 L3 | R1 R2 R3", B, &[WIKI_BASSOON, LOWE]),
    row("G#2", "little finger", "LT:W L1 L2 L3 | R1 R2 R3 R4:Ab", A, &[LOWE, WIKI_BASSOON]),
    row("G#2", "thumb", "LT:W L1 L2 L3 | RT:Ab R1 R2 R3", A, &[LOWE, WIKI_BASSOON]).needs("a rear A♭ key"),
    row("A2", "plain", "LT:W L1 L2 L3 | R1 R2", B, &[WIKI_BASSOON, LOWE]),
    row("Bb2", "thumb", "LT:W L1 L2 L3 | RT:Bb R1 R2", A, &[LOWE, WIKI_BASSOON]),
    row("Bb2", "ring finger", "LT:W L1 L2 L3 | R1 R2 R3:Bb", B, &[WIKI_BASSOON, LOWE]),
    row("B2", "plain", "LT:W L1 L2 L3 | R1", B, &[WIKI_BASSOON, MEMORY]),
    row("C3", "plain", "LT:W L1 L2 L3 |", C, &[MEMORY]),
    row("C#3", "plain", "LT:C#+lD L1 L2 L3 |", B, &[WIKI_BASSOON, MILLARD]).remark("short fingering: low D key plus C♯ thumb key together (Wikipedia gives the same pair for both octaves); longer fingerings exist"),
    row("D3", "plain", "LT:W L1 L2 |", C, &[MEMORY]),
    row("Eb3", "full", "LT:W L1 L3 | RT:Bb R2", B, &[COELHO]),
    row("Eb3", "forked", "LT:W L1 L3 |", A, &[COELHO, BURNS]).lesser("sharp and unsteady: for fast passages", COELHO),
    row("E3", "plain", "LT:W L1 |", B, &[WIKI_BASSOON, MEMORY]),
    row("F3", "plain", "LT:W |", B, &[WIKI_BASSOON, MEMORY]),
    row("F#3", "thumb", "LT:W L1:h L2 L3 | RT:F# R1 R2 R3", B, &[LOWE, EWELL, WIKI_BASSOON]).tends("sharp", EWELL),
    row("F#3", "little finger", "LT:W L1:h L2 L3 | R1 R2 R3 R4:F#", B, &[LOWE, EWELL]).tends("a little lower than the thumb F♯", EWELL),
    row("G3", "plain", "LT:W L1:h L2 L3 L4:Eb | R1 R2 R3", B, &[WIKI_BASSOON, BURNS]).remark("the left little finger on the E♭ key now counted as standard, without it the note is sharp (Wikipedia)"),
    row("G#3", "little finger", "LT:W L1:h L2 L3 | R1 R2 R3 R4:Ab", A, &[LOWE, WIKI_BASSOON]),
    row("G#3", "thumb", "LT:W L1:h L2 L3 | RT:Ab R1 R2 R3", A, &[LOWE, WIKI_BASSOON]).needs("a rear A♭ key"),
    row("A3", "plain", "L1 L2 L3 | R1 R2", B, &[WFG_BASSOON, INSTRUMENTALIST_BASSOON, EWELL]).flick("A"),
    row("Bb3", "thumb", "L1 L2 L3 | RT:Bb R1 R2", A, &[LOWE, WIKI_BASSOON]).flick("A or C"),
    row("Bb3", "ring finger", "L1 L2 L3 | R1 R2 R3:Bb", B, &[WIKI_BASSOON, LOWE]).flick("A or C"),
    row("B3", "plain", "L1 L2 L3 | R1", B, &[INSTRUMENTALIST_BASSOON, BASSOON_OPERATOR]).flick("C"),
    row("C4", "plain", "L1 L2 L3 |", B, &[INSTRUMENTALIST_BASSOON, BASSOON_OPERATOR]).flick("C"),
    row("C#4", "plain", "LT:C#+lD L1 L2 L3 |", B, &[WIKI_BASSOON, MILLARD]).remark("short fingering: low D key plus C♯ thumb key together (Wikipedia gives the same pair for both octaves); longer fingerings exist"),
    row("D4", "plain", "L1 L2 |", B, &[INSTRUMENTALIST_BASSOON, EWELL]).flick("D").remark("the high D key is not on every bassoon"),
];
