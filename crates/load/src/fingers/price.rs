//! What does it take to go from one fingering to the next? A price for every pair of ways.

use super::Weights;
use instruments::fingering::{Chart, DigitKind, Ease, Fingering, Movement, Prepared, State, movement};

/// What is left of a lesser fingering's price on a quick note.
const QUICK: f64 = 0.25;
/// From sixth position on the arm is stretched.
const FAR: u8 = 60;

/// One way to finger a note: a fingering, or the same with keys held.
#[derive(Clone, Debug)]
pub(super) struct Way<'a> {
    pub(super) fingering: &'a Fingering,
    pub(super) held: Option<&'a Prepared>,
    /// What it adds by being other than the first.
    pub(super) other: Other,
    /// True on a note so short that a lesser sound matters less.
    pub(super) quick: bool,
}

/// In what a way differs from the first one of its note.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Other {
    First,
    Held,
    Alternate,
    HeldAlternate,
}

impl Way<'_> {
    pub(super) fn state(&self) -> &State {
        self.held.map_or(&self.fingering.state, |held| &held.state)
    }

    pub(super) fn price(&self, weights: &Weights) -> f64 {
        let alternate = match (self.fingering.position, self.fingering.harmonic) {
            (Some(position), _) if position.tenths >= FAR => weights.other_position + weights.far_position,
            (Some(_), _) => weights.other_position,
            (None, Some(_)) => weights.other_valves,
            (None, None) => weights.non_basic_fingering,
        };
        let alternate = match self.fingering.lesser {
            Some(_) if self.quick => alternate + weights.lesser_fingering * QUICK,
            Some(_) => alternate + weights.lesser_fingering,
            None => alternate,
        };
        match self.other {
            Other::First => 0.0,
            Other::Held => weights.held_key_variant,
            Other::Alternate => alternate,
            Other::HeldAlternate => alternate + weights.held_key_variant,
        }
    }
}

/// What moves from one way to the next.
pub(super) fn moved(chart: &Chart, from: &Way, to: &Way) -> Movement {
    movement(from.state(), to.state(), chart.touch())
}

/// Tenths of a position by which the slide moves, outwards positive; zero without a slide.
pub(super) fn slide_travel(from: &Way, to: &Way) -> i32 {
    match (from.fingering.position, to.fingering.position) {
        (Some(from), Some(to)) => i32::from(to.tenths) - i32::from(from.tenths),
        _ => 0,
    }
}

/// Harmonics between two ways of a brass instrument; zero for others.
fn harmonics(from: &Way, to: &Way) -> u8 {
    match (from.fingering.harmonic, to.fingering.harmonic) {
        (Some(from), Some(to)) => from.abs_diff(to),
        _ => 0,
    }
}

/// The price of going from a way of one note to a way of the next, in movements of one finger. `rises` by semitones.
pub(super) fn step(chart: &Chart, weights: &Weights, from: &Way, to: &Way, rises: i32) -> f64 {
    hands(chart, weights, from, to, rises) + weights.harmonic * f64::from(harmonics(from, to))
}

/// The same without the lips: what the hands do.
pub(super) fn hands(chart: &Chart, weights: &Weights, from: &Way, to: &Way, rises: i32) -> f64 {
    let moved = moved(chart, from, to);
    let travel = slide_travel(from, to);
    let against = travel.signum() != 0 && travel.signum() == rises.signum();
    fingers(&moved, weights)
        + weights.position * f64::from(travel.abs()) / 10.0
        + if against { weights.against_melody } else { 0.0 }
}

fn fingers(moved: &Movement, weights: &Weights) -> f64 {
    let digit = |kind: DigitKind| match kind {
        DigitKind::Finger => weights.finger,
        DigitKind::Little => weights.little,
        DigitKind::Thumb => weights.thumb,
        DigitKind::Palm => weights.palm_or_side,
    };
    let lifted: f64 = (moved.down.iter().chain(&moved.up))
        .map(|d| digit(d.kind()))
        .sum();
    let rolled = weights.half_hole_roll * count(moved.rolled.len());
    let slid: f64 = moved
        .slides
        .iter()
        .map(|slide| {
            let way = match slide.ease {
                Ease::Slid => weights.slide,
                Ease::Rollers | Ease::Pivot => weights.slide_on_rollers,
            };
            digit(slide.digit.kind()) + way
        })
        .sum();
    let against = weights.contrary_same_hand * count(moved.against(true) + moved.against(false));
    let between = if moved.hands_against() {
        weights.contrary_between_hands
    } else {
        0.0
    };
    let many = weights.each_finger_beyond_two * count(moved.count().saturating_sub(2));
    lifted + rolled + slid + against + between + many
}

fn count(number: usize) -> f64 {
    f64::from(u32::try_from(number).unwrap_or(u32::MAX))
}
