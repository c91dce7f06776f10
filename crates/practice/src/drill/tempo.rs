//! At what tempo does a drill begin? The slow end of the first reading, on the metronome's own marks.

use super::{DrillKind, Source, StartTempo};
use notation::{Metre, NoteValue, Quarters, Rational};
use survey::metre::BeatUnit;

/// Quarter notes a minute where nothing else is known: common practice for slow work.
const UNKNOWN: f64 = 60.0;
/// The slowest mark of the metronome; below it a shorter note is counted.
const SLOWEST_MARK: f64 = 40.0;

/// The tempo to start at, counted in the beat of a metre.
pub(crate) fn start(source: &Source, kind: DrillKind, metre: Option<&Metre>) -> StartTempo {
    let first = source
        .study
        .first
        .as_ref()
        .map_or(UNKNOWN, |first| first.quarters_a_minute.0);
    let first = if first.is_finite() {
        first.clamp(15.0, 400.0)
    } else {
        UNKNOWN
    };
    on(first * share(kind), &beat_of(metre))
}

/// How much of the first reading's tempo a drill begins at. Judgement: what is only a rhythm, one note or known notes may go
/// at reading tempo; what puts a new rhythm or new keys on the notes begins slower, as a scale that is not read does not.
const fn share(kind: DrillKind) -> f64 {
    match kind {
        DrillKind::Dotted
        | DrillKind::ReverseDotted
        | DrillKind::Triplets
        | DrillKind::GroupsWithStops
        | DrillKind::ThroughKeys
        | DrillKind::LeapsFilled => 0.8,
        DrillKind::RegisterSlurs | DrillKind::FingeringTrill => 0.9,
        _ => 1.0,
    }
}

/// The beat of a metre, longest first the notes that may be counted instead.
fn beat_of(metre: Option<&Metre>) -> Vec<Quarters> {
    let pulse = super::draft::Pulse::of(metre, Rational::whole(4));
    let beat = pulse.beat();
    let short = if pulse.compound {
        beat / Rational::whole(3)
    } else {
        beat / Rational::whole(2)
    };
    vec![beat, short]
}

/// A speed on the first of some notes that the metronome can click.
fn on(quarters_a_minute: f64, beats: &[Quarters]) -> StartTempo {
    let fits = |beat: &&Quarters| quarters_a_minute / beat.to_f64() >= SLOWEST_MARK;
    let beat = beats
        .iter()
        .find(fits)
        .or(beats.last())
        .copied()
        .unwrap_or(Rational::ONE);
    let unit = BeatUnit::of_quarters(beat).unwrap_or(BeatUnit::plain(NoteValue::Quarter));
    StartTempo {
        beat: unit,
        bpm: terms::tempo::floor(quarters_a_minute / unit.quarters().to_f64()),
    }
}
