//! What speaks for each key? The evidence of a part as numbers, one row for each of the 24 candidates.
//!
//! Every number is relative to the candidate's tonic, so that a piece and its transposition get the same answer.

use super::local::{self, Posterior};
use super::material::{Fifths, Material, Sung};
use super::profiles::{ALBRECHT_SHANAHAN, ALL};
use super::role::Role;
use super::score::Score;
use super::signature::Witness;
use super::tonality::Tonality;

/// Degrees of a scale as the evidence tells them apart.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
#[expect(missing_docs, reason = "the degrees are their own names")]
pub enum Degree {
    First,
    Second,
    /// The third of the mode.
    Third,
    Fourth,
    Fifth,
    /// The sixth or the seventh of the signature's scale.
    SixthSeventh,
    /// The seventh a semitone under the tonic.
    Leading,
    /// The third of the other mode (a major third in minor).
    OtherThird,
    Foreign,
}

/// How many degrees there are.
const DEGREES: usize = 9;

/// The degree of a note in a key.
#[must_use]
pub fn degree(fifths: i32, key: Tonality) -> Degree {
    match (fifths - key.fifths, key.minor) {
        (0, _) => Degree::First,
        (2, _) => Degree::Second,
        (4, false) | (-3, true) => Degree::Third,
        (-1, _) => Degree::Fourth,
        (1, _) => Degree::Fifth,
        (5, _) => Degree::Leading,
        (3, false) | (-4 | -2 | 3, true) => Degree::SixthSeventh,
        (-3, false) | (4, true) => Degree::OtherThird,
        _ => Degree::Foreign,
    }
}

/// Where each kind of evidence stands in a row.
macro_rules! layout {
    ($($name:ident: $size:expr, $doc:literal;)*) => {
        layout!(@go 0; $($name: $size, $doc;)*);
        /// The kinds of evidence in a row: name, first column, columns.
        pub const LAYOUT: &[(&str, usize, usize)] = &[$((stringify!($name), $name, $size)),*];
    };
    (@go $at:expr; $name:ident: $size:expr, $doc:literal; $($rest:tt)*) => {
        #[doc = $doc]
        pub const $name: usize = $at;
        layout!(@go $at + $size; $($rest)*);
    };
    (@go $at:expr;) => {
        /// Columns in a row.
        pub const WIDTH: usize = $at;
    };
}

layout! {
    MODE: 1, "Minor rather than major.";
    SIGNATURE_FIRST: 9, "The first signature: home, a sharp or flat away, elsewhere; by mode; and the distance.";
    SIGNATURE_LONGEST: 9, "The same of the signature that holds longest.";
    SHARES: 28, "The share of the part's time on each place of the line of fifths, from five below to eight above; by mode.";
    FIT: 5, "Correlation with each published profile.";
    FIT_OPENING: 1, "Correlation of the opening with a profile.";
    FIT_CLOSING: 1, "Correlation of the close.";
    LOCAL: 3, "Mean probability as a local key: over all bars, the first, the last.";
    LAST: 18, "Degree of the last note played, by mode.";
    LAST_LEAPING: 9, "The same, times how much the part leaps as a bass does.";
    LAST_UPPER: 9, "The same, for a top voice.";
    LAST_INNER: 9, "The same, for an inner voice.";
    LAST_BASS: 9, "The same, for a bottom voice.";
    LAST_PLAYER: 9, "The same, for a part whose place is unknown.";
    OFF_BY_ROLE: 10, "A signature one sharp or flat off, or further, by role.";
    OFF_ONE: 5, "A signature one off: times the last note's being the tonic, phrase ends on it, leading and natural sevenths, and local keys.";
    LAST_LOW: 3, "Degree of the lowest note under the last: first, fifth, another.";
    APPROACH: 14, "The last two different notes as degrees.";
    FIRST: 6, "Degree of the first note: first, third, fifth, by mode.";
    FIRST_DOWN: 3, "Degree of the first note on a downbeat.";
    PHRASES: 9, "Share of phrase ends on each degree.";
    PHRASE_APPROACH: 4, "Share of phrase ends reached as fifth to first, second to first, leading note to first, another way.";
    SECTIONS: 3, "Share of section ends on first, third, fifth.";
    MOTIONS: 4, "How often the leading note rises, the fifth leaps to the first, the second falls to it, the fourth falls to the third.";
    DOWNBEATS: 3, "Share of downbeats on first, third, fifth.";
    SCORE_LAST: 8, "Whole score: degree of the last bass note (first, fourth, fifth, another), by mode.";
    SCORE_THIRD: 4, "Whole score: the last chord holds the mode's third, or the other, by mode.";
    SCORE_FIT: 1, "Whole score: correlation with a profile.";
    SCORE_SECTIONS: 2, "Whole score: share of section ends with first or fifth in the bass.";
    SCORE_FIRST: 2, "Whole score: the first bass note is the first or the fifth degree.";
    SCORE_HOME: 2, "Whole score: the last bass note is the first degree and the signature is the key's own, or one off.";
}

/// Where the whole score's evidence begins.
pub const ALONE: usize = SCORE_LAST;

/// A candidate with its evidence.
#[derive(Clone, Debug)]
pub struct Candidate {
    /// The key.
    pub key: Tonality,
    /// Its row of evidence.
    pub row: [f64; WIDTH],
    /// True for the tonic on which a tune that is alone in its file ends.
    pub closes_alone: bool,
}

/// The candidates of a part, each made when it is asked for, spelled near its signature and its notes: 12 major, 12 minor.
pub fn candidates(
    material: &Material,
    witness: &Witness,
    posterior: &Posterior,
    score: Option<&Score>,
) -> impl Iterator<Item = Candidate> {
    let home = if witness.believed {
        f64::from(witness.first)
    } else {
        (material.all.mean() - 2.0).round()
    };
    let shared = Shared::of(material, posterior);
    (0..local::STATES).map(move |state| {
        let key = local::key_near(state, home);
        let mut row = [0.0; WIDTH];
        part_evidence(&mut row, key, material, witness, &shared);
        if let Some(score) = score {
            score_evidence(&mut row, key, score, witness);
        }
        let last = material.line.get(material.last).map(|note| note.fifths);
        Candidate {
            key,
            row,
            closes_alone: matches!(material.role, Role::Alone) && last == Some(key.fifths),
        }
    })
}

/// What is the same for all candidates, computed once.
struct Shared {
    all: [f64; 12],
    opening: [f64; 12],
    closing: [f64; 12],
    total: f64,
    notes: f64,
    mean_local: [f64; local::STATES],
    first_local: [f64; local::STATES],
    last_local: [f64; local::STATES],
}

impl Shared {
    fn of(material: &Material, posterior: &Posterior) -> Self {
        let sounding: Vec<&[f64; local::STATES]> = posterior
            .iter()
            .zip(&material.bars)
            .filter(|(_, bar)| bar.iter().sum::<f64>() > 0.0)
            .map(|(row, _)| row)
            .collect();
        let bars = count(sounding.len()).max(1.0);
        let mean_local = std::array::from_fn(|s| sounding.iter().map(|row| row[s]).sum::<f64>() / bars);
        Self {
            all: material.all.folded(),
            opening: material.opening.folded(),
            closing: material.closing.folded(),
            total: material.all.total().max(1e-9),
            notes: count(material.line.len()).max(1.0),
            mean_local,
            first_local: sounding.first().map_or([0.0; local::STATES], |row| **row),
            last_local: sounding.last().map_or([0.0; local::STATES], |row| **row),
        }
    }
}

/// A count as a number.
pub(crate) fn count(n: usize) -> f64 {
    f64::from(u32::try_from(n).unwrap_or(u32::MAX))
}

fn part_evidence(
    row: &mut [f64; WIDTH],
    key: Tonality,
    material: &Material,
    witness: &Witness,
    shared: &Shared,
) {
    row[MODE] = f64::from(u8::from(key.minor));
    if witness.believed {
        signature(&mut row[SIGNATURE_FIRST..SIGNATURE_FIRST + 9], key, witness.first);
        signature(
            &mut row[SIGNATURE_LONGEST..SIGNATURE_LONGEST + 9],
            key,
            witness.longest,
        );
    }
    shares(&mut row[SHARES..SHARES + 28], key, &material.all, shared.total);
    for (slot, profile) in row[FIT..FIT + 5].iter_mut().zip(ALL) {
        *slot = profile.correlation(&shared.all, key);
    }
    row[FIT_OPENING] = ALBRECHT_SHANAHAN.correlation(&shared.opening, key);
    row[FIT_CLOSING] = ALBRECHT_SHANAHAN.correlation(&shared.closing, key);
    let state = local::state(key);
    row[LOCAL] = shared.mean_local[state];
    row[LOCAL + 1] = shared.first_local[state];
    row[LOCAL + 2] = shared.last_local[state];
    ends(row, key, material);
    phrases(row, key, material);
    motions(row, key, material, shared.notes);
    if witness.believed {
        off_signature(row, key, material, witness);
    }
}

/// A signature that is not the key's own needs more proof: a folk tune has it, a string quartet hardly.
fn off_signature(row: &mut [f64; WIDTH], key: Tonality, material: &Material, witness: &Witness) {
    let off = (witness.first - key.signature()).abs();
    if off == 0 {
        return;
    }
    row[OFF_BY_ROLE + material.role as usize + if off == 1 { 0 } else { 5 }] = 1.0;
    if off == 1 {
        let base = if key.minor { SHARES + 14 } else { SHARES };
        row[OFF_ONE] = row[LAST] + row[LAST + DEGREES];
        row[OFF_ONE + 1] = row[PHRASES];
        row[OFF_ONE + 2] = row[base + 10];
        row[OFF_ONE + 3] = row[base + 3];
        row[OFF_ONE + 4] = row[LOCAL];
    }
}

/// Home, one off on either side, elsewhere; the four of major, the four of minor; then the distance.
fn signature(slots: &mut [f64], key: Tonality, signature: i32) {
    let off = signature - key.signature();
    let kind = match off {
        0 => 0,
        // A flat fewer than major has: mixolydian; a sharp more than minor has: dorian.
        -1 => 1,
        1 => 2,
        _ => 3,
    };
    slots[if key.minor { 4 + kind } else { kind }] = 1.0;
    slots[8] = f64::from(off.abs().min(8));
}

fn shares(slots: &mut [f64], key: Tonality, all: &Fifths, total: f64) {
    let base = if key.minor { 14 } else { 0 };
    for (fifths, weight) in all.iter() {
        let place = (fifths - key.fifths).clamp(-5, 8) + 5;
        if let Some(slot) = usize::try_from(place)
            .ok()
            .and_then(|place| slots.get_mut(base + place))
        {
            *slot += weight / total;
        }
    }
}

fn ends(row: &mut [f64; WIDTH], key: Tonality, material: &Material) {
    let line = &material.line;
    let (Some(first), Some(last)) = (line.get(material.first), line.get(material.last)) else {
        return;
    };
    let degree_last = degree(last.fifths, key);
    let index = degree_last as usize;
    row[LAST + index + if key.minor { DEGREES } else { 0 }] = 1.0;
    row[LAST_LEAPING + index] = material.leaps;
    match material.role {
        Role::Alone => {}
        Role::Upper => row[LAST_UPPER + index] = 1.0,
        Role::Inner => row[LAST_INNER + index] = 1.0,
        Role::Bass => row[LAST_BASS + index] = 1.0,
        Role::Player => row[LAST_PLAYER + index] = 1.0,
    }
    if let Some(low) = material.last_low {
        let slot = match degree(low, key) {
            Degree::First => 0,
            Degree::Fifth => 1,
            _ => 2,
        };
        row[LAST_LOW + slot] = 1.0;
    }
    let before = line[..material.last]
        .iter()
        .rev()
        .find(|note| note.fifths != last.fifths);
    if let Some(before) = before {
        row[APPROACH + approach(degree(before.fifths, key), degree_last)] = 1.0;
    }
    let triad = |fifths| match degree(fifths, key) {
        Degree::First => Some(0),
        Degree::Third => Some(1),
        Degree::Fifth => Some(2),
        _ => None,
    };
    if let Some(slot) = triad(first.fifths) {
        row[FIRST + slot + if key.minor { 3 } else { 0 }] = 1.0;
    }
    let down = line[material.first..].iter().find(|note| note.downbeat);
    if let Some(slot) = down.and_then(|note| triad(note.fifths)) {
        row[FIRST_DOWN + slot] = 1.0;
    }
}

fn approach(from: Degree, to: Degree) -> usize {
    match (to, from) {
        (Degree::First, Degree::Fifth) => 0,
        (Degree::First, Degree::Second) => 1,
        (Degree::First, Degree::Leading) => 2,
        (Degree::First, Degree::Third) => 3,
        (Degree::First, _) => 4,
        (Degree::Third, Degree::Second) => 5,
        (Degree::Third, Degree::Fourth) => 6,
        (Degree::Third, Degree::First | Degree::Fifth) => 7,
        (Degree::Third, _) => 8,
        (Degree::Fifth, Degree::First) => 9,
        (Degree::Fifth, Degree::Fourth) => 10,
        (Degree::Fifth, Degree::SixthSeventh) => 11,
        (Degree::Fifth, _) => 12,
        _ => 13,
    }
}

fn phrases(row: &mut [f64; WIDTH], key: Tonality, material: &Material) {
    let line = &material.line;
    let (mut weights, mut sections) = (0.0, 0.0);
    for (i, note) in line.iter().enumerate() {
        if i == material.last || note.ending <= 0.0 {
            continue;
        }
        let here = degree(note.fifths, key);
        weights += note.ending;
        row[PHRASES + here as usize] += note.ending;
        if here == Degree::First {
            let before = line[..i]
                .iter()
                .rev()
                .take(8)
                .find(|other| other.fifths != note.fifths);
            let slot = match before.map(|other| degree(other.fifths, key)) {
                Some(Degree::Fifth) => 0,
                Some(Degree::Second) => 1,
                Some(Degree::Leading) => 2,
                _ => 3,
            };
            row[PHRASE_APPROACH + slot] += note.ending;
        }
        if note.section {
            sections += 1.0;
            match here {
                Degree::First => row[SECTIONS] += 1.0,
                Degree::Third => row[SECTIONS + 1] += 1.0,
                Degree::Fifth => row[SECTIONS + 2] += 1.0,
                _ => {}
            }
        }
    }
    scale(&mut row[PHRASES..PHRASE_APPROACH + 4], weights);
    scale(&mut row[SECTIONS..SECTIONS + 3], sections);
}

fn scale(slots: &mut [f64], total: f64) {
    if total > 0.0 {
        for slot in slots {
            *slot /= total;
        }
    }
}

fn motions(row: &mut [f64; WIDTH], key: Tonality, material: &Material, notes: f64) {
    for pair in material.line.windows(2) {
        let [from, to]: [&Sung; 2] = [&pair[0], &pair[1]];
        let slot = match (from.fifths - key.fifths, to.fifths - key.fifths) {
            (5, 0) if to.key > from.key => 0,
            (1, 0) => 1,
            (2, 0) if to.key < from.key => 2,
            (-1, third) if third == key.third() - key.fifths && to.key < from.key => 3,
            _ => continue,
        };
        row[MOTIONS + slot] += 10.0 / notes;
    }
    let beats = material.downbeats.total();
    if beats > 0.0 {
        row[DOWNBEATS] = material.downbeats.at(key.fifths) / beats;
        row[DOWNBEATS + 1] = material.downbeats.at(key.third()) / beats;
        row[DOWNBEATS + 2] = material.downbeats.at(key.fifths + 1) / beats;
    }
}

fn score_evidence(row: &mut [f64; WIDTH], key: Tonality, score: &Score, witness: &Witness) {
    let mode = usize::from(key.minor);
    if let Some(bass) = score.last_bass {
        let slot = match degree(bass, key) {
            Degree::First => 0,
            Degree::Fourth => 1,
            Degree::Fifth => 2,
            _ => 3,
        };
        row[SCORE_LAST + 4 * mode + slot] = 1.0;
    }
    let holds = |third: i32| score.last_chord.contains(&third);
    row[SCORE_THIRD + 2 * mode] = f64::from(u8::from(holds(key.third())));
    row[SCORE_THIRD + 2 * mode + 1] = f64::from(u8::from(holds(key.parallel().third())));
    let folded = score.all.folded();
    row[SCORE_FIT] = ALBRECHT_SHANAHAN.correlation(&folded, key);
    let sections = count(score.section_basses.len());
    if sections > 0.0 {
        let on = |d: Degree| {
            count(
                score
                    .section_basses
                    .iter()
                    .filter(|bass| degree(**bass, key) == d)
                    .count(),
            )
        };
        row[SCORE_SECTIONS] = on(Degree::First) / sections;
        row[SCORE_SECTIONS + 1] = on(Degree::Fifth) / sections;
    }
    if let Some(first) = score.first_bass {
        row[SCORE_FIRST] = f64::from(u8::from(degree(first, key) == Degree::First));
        row[SCORE_FIRST + 1] = f64::from(u8::from(degree(first, key) == Degree::Fifth));
    }
    if witness.believed && score.last_bass == Some(key.fifths) {
        match (witness.first - key.signature()).abs() {
            0 => row[SCORE_HOME] = 1.0,
            1 => row[SCORE_HOME + 1] = 1.0,
            _ => {}
        }
    }
}
