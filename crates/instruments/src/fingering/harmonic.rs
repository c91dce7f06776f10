//! Which valves or slide positions give a note? By rule: every harmonic of every length of tube.
//!
//! A tube gives its harmonics; valves and slide make it longer by semitones. The basic way to a note is the one that
//! makes it least longer, among harmonics that are in tune or nearly so.

use super::chart::{Chart, Fingering, Layout, Position, Tendency, Use};
use super::hand::{Digit, Keys, State};
use super::movement::Touch;
use crate::facts::Grade;
use crate::sources::{
    HARMONICS, HORN_CHART, MEMORY, TRUMPET_LIST, VALVES, WIKI_TROMBONE, WIKIBOOKS_TROMBONE,
};
use std::collections::BTreeMap;

/// Semitones of the harmonics above the first, rounded: 12 · log₂ h. Source: physics.
const HARMONIC_SEMITONES: [(u8, i32); 15] = [
    (2, 12),
    (3, 19),
    (4, 24),
    (5, 28),
    (6, 31),
    (7, 34),
    (8, 36),
    (9, 38),
    (10, 40),
    (11, 42),
    (12, 43),
    (13, 44),
    (14, 46),
    (15, 47),
    (16, 48),
];
/// Too far from any semitone of ours to be given (31 to 51 cents).
const OUT_OF_TUNE: [u8; 4] = [7, 11, 13, 14];
/// The 15th is not among those from which a basic fingering is chosen.
const NOT_BASIC: u8 = 15;

const FIFTH_FLAT: Tendency = Tendency {
    says: "about 14 cents flat, as the fifth harmonic",
    source: HARMONICS,
};
const TENTH_FLAT: Tendency = Tendency {
    says: "about 14 cents flat, as the tenth harmonic",
    source: HARMONICS,
};
const SEVENTH_FLAT: Tendency = Tendency {
    says: "about 31 cents flat, as the seventh harmonic: shorten the slide a lot",
    source: HARMONICS,
};
const LONG_SHARP: Tendency = Tendency {
    says: "sharp: valves 1 and 3 together add too little tube",
    source: "valve compensation (4 replaces 1-3)",
};

/// Three valves and how far they lower, in semitones. Source: the valve rule.
const THREE: &[(&str, i32)] = &[
    ("", 0),
    ("2", 1),
    ("1", 2),
    ("12", 3),
    ("3", 3),
    ("23", 4),
    ("13", 5),
    ("123", 6),
];
/// Four valves, with the fourth before the combinations it replaces.
const FOUR: &[(&str, i32)] = &[
    ("", 0),
    ("2", 1),
    ("1", 2),
    ("12", 3),
    ("3", 3),
    ("23", 4),
    ("4", 5),
    ("13", 5),
    ("24", 6),
    ("123", 6),
    ("14", 7),
    ("124", 8),
    ("34", 8),
    ("234", 9),
    ("134", 10),
    ("1234", 11),
];

/// A brass instrument with valves.
struct Valved {
    id: &'static str,
    title: &'static str,
    /// Key number of the first harmonic of the open tube, as written.
    first: i32,
    valves: &'static [(&'static str, i32)],
    low: i32,
    high: i32,
    grade: Grade,
    sources: &'static [&'static str],
}

/// The charts of the brass.
pub(crate) fn charts() -> Vec<Chart> {
    let valved = [
        Valved {
            id: "trumpet",
            title: "Trumpet",
            first: 48,
            valves: THREE,
            low: 54,
            high: 84,
            grade: Grade::A,
            sources: &[VALVES, TRUMPET_LIST],
        },
        Valved {
            id: "euphonium",
            title: "Euphonium, three valves",
            first: 34,
            valves: THREE,
            low: 40,
            high: 70,
            grade: Grade::B,
            sources: &[VALVES],
        },
        Valved {
            id: "euphonium-4",
            title: "Euphonium, four valves",
            first: 34,
            valves: FOUR,
            low: 40,
            high: 70,
            grade: Grade::B,
            sources: &[VALVES],
        },
        Valved {
            id: "tuba-bb",
            title: "Tuba in B♭, three valves",
            first: 22,
            valves: THREE,
            low: 28,
            high: 65,
            grade: Grade::B,
            sources: &[VALVES],
        },
        Valved {
            id: "tuba-c-4",
            title: "Tuba in C, four valves",
            first: 24,
            valves: FOUR,
            low: 30,
            high: 65,
            grade: Grade::B,
            sources: &[VALVES],
        },
    ];
    let mut charts: Vec<Chart> = valved.iter().map(Valved::chart).collect();
    charts.push(horn());
    charts.push(trombone("trombone", "Trombone", false));
    charts.push(trombone("trombone-f", "Trombone with F attachment", true));
    charts
}

impl Valved {
    fn chart(&self) -> Chart {
        let notes = (self.low..=self.high)
            .map(|key| (key, self.fingerings(key, false, &[])))
            .collect();
        let count = if self.valves.len() > THREE.len() { 4 } else { 3 };
        chart(self.id, self.title, Layout::Valves(count), notes)
    }

    /// The fingerings of a key, the basic one first; `never_basic` harmonics stand behind the others.
    fn fingerings(&self, key: i32, thumb: bool, never_basic: &[u8]) -> Vec<Fingering> {
        let mut found: Vec<(bool, i32, usize, Fingering)> = Vec::new();
        for (harmonic, semitones) in HARMONIC_SEMITONES {
            if OUT_OF_TUNE.contains(&harmonic) {
                continue;
            }
            let lowering = self.first + semitones - key;
            for (order, (valves, by)) in self.valves.iter().enumerate() {
                if *by == lowering {
                    let behind = harmonic == NOT_BASIC || never_basic.contains(&harmonic);
                    found.push((behind, *by, order, self.fingering(valves, harmonic, thumb)));
                }
            }
        }
        found.sort_by_key(|(behind, by, order, _)| (*behind, *by, *order));
        found.into_iter().map(|(_, _, _, fingering)| fingering).collect()
    }

    fn fingering(&self, valves: &str, harmonic: u8, thumb: bool) -> Fingering {
        let mut state = State::default();
        if thumb {
            state.set(Digit::LT, Keys::HOME);
        }
        for (valve, digit) in [
            ('1', Digit::R1),
            ('2', Digit::R2),
            ('3', Digit::R3),
            ('4', Digit::R4),
        ] {
            if valves.contains(valve) {
                state.set(digit, Keys::HOME);
            }
        }
        let mut fingering = Fingering::new(valve_name(valves, thumb), state, self.grade, self.sources);
        fingering.chart = self.id;
        fingering.layout = Layout::Valves(if self.valves.len() > THREE.len() { 4 } else { 3 });
        fingering.harmonic = Some(harmonic);
        fingering.tendency = match (harmonic, valves) {
            (_, "13" | "123") => Some(LONG_SHARP),
            (5, _) => Some(FIFTH_FLAT),
            (10, _) => Some(TENTH_FLAT),
            _ => None,
        };
        // Where another fingering is basic, one so far out of tune is taken only in need.
        fingering.lesser = fingering.tendency;
        fingering
    }
}

/// `1-2`, `open`, with `T` for the horn's thumb.
fn valve_name(valves: &str, thumb: bool) -> String {
    let numbers: Vec<String> = valves.chars().map(String::from).collect();
    match (thumb, numbers.is_empty()) {
        (false, true) => "open".to_owned(),
        (false, false) => numbers.join("-"),
        (true, true) => "T".to_owned(),
        (true, false) => format!("T {}", numbers.join("-")),
    }
}

/// The double horn as written: F side below A♭4, B♭ side with the thumb from there on; both sides are given.
///
/// On the B♭ side the flat fifth and tenth harmonics are never basic.
fn horn() -> Chart {
    let side = |first| Valved {
        id: "horn",
        title: "Double horn in F and B♭",
        first,
        valves: THREE,
        low: 48,
        high: 84,
        grade: Grade::B,
        sources: &[VALVES, HORN_CHART],
    };
    let (f, b_flat) = (side(36), side(41));
    let changes_at = 68;
    let notes = (f.low..=f.high)
        .map(|key| {
            let (mut on_f, mut on_b) = (
                f.fingerings(key, false, &[]),
                b_flat.fingerings(key, true, &[5, 10]),
            );
            let both = if key < changes_at {
                on_f.append(&mut on_b);
                on_f
            } else {
                on_b.append(&mut on_f);
                on_b
            };
            (key, both)
        })
        .collect();
    let mut chart = chart(f.id, f.title, Layout::Valves(3), notes);
    chart.unsettled = vec![(0, 47, "below C3 horns differ too much for a chart: ask a teacher")];
    chart.notes = &[(
        "Written G3–G4 on the F side, from A♭4 on the B♭ side (thumb), from C5 down to A♭4 with the same valves on either.",
        HORN_CHART,
    )];
    chart
}

/// Seven positions, each a semitone lower; B♭ in first. With the F attachment as computed, six positions further apart.
fn trombone(id: &'static str, title: &'static str, attachment: bool) -> Chart {
    const FIRST: i32 = 34;
    let (low, high) = (if attachment { 36 } else { 40 }, 77);
    let notes = (low..=high)
        .map(|key| {
            let mut all = slide_fingerings(FIRST, key);
            if attachment {
                all.extend(attached(FIRST, key));
                all.sort_by_key(|fingering| fingering.use_for);
            }
            (key, all)
        })
        .filter(|(_, all)| !all.is_empty())
        .collect();
    chart(id, title, Layout::Slide, notes)
}

fn slide_fingerings(first: i32, key: i32) -> Vec<Fingering> {
    let mut found: Vec<(bool, i32, Fingering)> = Vec::new();
    for (harmonic, semitones) in HARMONIC_SEMITONES {
        let lowering = first + semitones - key;
        let seventh = harmonic == 7 && lowering > 0;
        if !(0..=6).contains(&lowering) || (OUT_OF_TUNE.contains(&harmonic) && !seventh) {
            continue;
        }
        let tenths = u8::try_from(10 * (lowering + 1)).unwrap_or(10);
        let mut fingering = on_slide(
            tenths,
            false,
            harmonic,
            Grade::A,
            &[HARMONICS, WIKIBOOKS_TROMBONE],
        );
        fingering.tendency = match harmonic {
            5 => Some(FIFTH_FLAT),
            7 => Some(SEVENTH_FLAT),
            10 => Some(TENTH_FLAT),
            _ => None,
        };
        if seventh {
            fingering.use_for = Use::Seldom;
        }
        found.push((seventh || harmonic == NOT_BASIC, lowering, fingering));
    }
    found.sort_by_key(|(behind, lowering, _)| (*behind, *lowering));
    found.into_iter().map(|(_, _, fingering)| fingering).collect()
}

/// With the F attachment a position is longer: where the slide stands for each semitone below F, in tenths.
/// Source: computed, position = 1 + (2^(n/12) − 1) · 2^(5/12) / (2^(1/12) − 1) of the open slide's own scale of positions.
const ATTACHED: [u8; 6] = [10, 23, 36, 49, 62, 74];

fn attached(first: i32, key: i32) -> Vec<Fingering> {
    let mut found = Vec::new();
    // Harmonics 2 and 3: where the attachment saves the long positions and gives the notes below E2.
    for (harmonic, semitones) in HARMONIC_SEMITONES.into_iter().take(2) {
        let lowering = first - 5 + semitones - key;
        let Some(tenths) = usize::try_from(lowering)
            .ok()
            .and_then(|n| ATTACHED.get(n).copied())
        else {
            continue;
        };
        let mut fingering = on_slide(tenths, true, harmonic, Grade::B, &[HARMONICS, WIKI_TROMBONE]);
        fingering.needs = "an F attachment";
        fingering.remark = if tenths > 70 {
            "computed; at the very end of the slide"
        } else {
            "computed"
        };
        found.push(fingering);
    }
    found
}

fn on_slide(
    tenths: u8,
    trigger: bool,
    harmonic: u8,
    grade: Grade,
    sources: &'static [&'static str],
) -> Fingering {
    let mut state = State::default();
    if trigger {
        state.set(Digit::LT, Keys::HOME);
    }
    let whole = tenths / 10;
    let number = if tenths.is_multiple_of(10) {
        whole.to_string()
    } else {
        format!("{whole}.{}", tenths % 10)
    };
    let name = if trigger { format!("T {number}") } else { number };
    let mut fingering = Fingering::new(name, state, grade, sources);
    fingering.chart = "trombone";
    fingering.layout = Layout::Slide;
    fingering.harmonic = Some(harmonic);
    fingering.position = Some(Position { tenths, trigger });
    fingering
}

fn chart(
    id: &'static str,
    title: &'static str,
    layout: Layout,
    notes_by_key: BTreeMap<i32, Vec<Fingering>>,
) -> Chart {
    Chart {
        id,
        title,
        notes: &[(
            "Fingerings are derived from the harmonic series; alternates differ in tuning.",
            MEMORY,
        )],
        layout,
        notes_by_key,
        touch: Touch::default(),
        unsettled: Vec::new(),
        tendencies: Vec::new(),
    }
}
