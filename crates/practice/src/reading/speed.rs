//! How fast, and in which word? A metronome mark that the player's tongue and the table allow, and a word that fits it.

use super::bounds::{Bounds, Refusal};
use super::chance::Chance;
use super::figure::{Figure, Figures};
use super::measure::{BeatKind, Measure, Ticks};
use instruments::Family;
use load::Player;
use terms::tempo::METRONOME_MARKS;

/// Words from slow to fast.
const WORDS: [&str; 9] = [
    "Largo",
    "Larghetto",
    "Adagio",
    "Andante",
    "Andantino",
    "Moderato",
    "Allegretto",
    "Allegro",
    "Vivace",
];

/// How near to her fastest tongue a reading piece comes: nothing is to be tongued at the limit at first sight. Judgement.
const OF_TONGUE: f64 = 0.8;

/// A tempo in felt beats a minute.
///
/// # Errors
/// If the fastest notes that must be there are too fast for her at the slowest tempo allowed.
pub(super) fn tempo(
    bounds: &Bounds,
    measure: &Measure,
    figures: Figures,
    player: &Player,
    chance: &mut Chance,
) -> Result<u16, Refusal> {
    let fastest = fastest(measure, figures, player);
    // What is usual is said for quarter notes; half notes and dotted quarters are felt slower.
    let (low, high) = if bounds.tempo_said || measure.kinds().first() == Some(&BeatKind::Quarter) {
        bounds.tempo
    } else {
        (slower(bounds.tempo.0), slower(bounds.tempo.1))
    };
    let marks: Vec<u16> = METRONOME_MARKS
        .into_iter()
        .filter(|mark| (low..=high).contains(mark) && f64::from(*mark) <= fastest)
        .collect();
    let one = (low == high && f64::from(low) <= fastest).then_some(low);
    chance.pick(&marks).or(one).ok_or_else(|| {
        Refusal::new(
            format!(
                "{} at {low} beats a minute are too fast for a tongue of {:.1} notes a second",
                figures.words(),
                player.tongue.burst
            ),
            "ask for a slower tempo, or without the fastest notes",
        )
    })
}

/// Half notes and dotted quarters at what is usual for quarter notes: three quarters as fast. Judgement.
pub(super) const fn slower(bpm: u16) -> u16 {
    bpm * 3 / 4
}

/// The fastest tempo at which her tongue is not at its limit.
pub(super) fn fastest(measure: &Measure, figures: Figures, player: &Player) -> f64 {
    let tongues = player
        .instrument
        .is_none_or(|instrument| instrument.family.is_wind());
    let strings = player
        .instrument
        .is_some_and(|instrument| instrument.family == Family::String);
    if !tongues && !strings {
        return 400.0;
    }
    let limit = OF_TONGUE * player.tongue.burst;
    60.0 * limit / notes_a_beat(measure, figures)
}

/// So much of her breath a reading piece uses at most: at first sight one breathes early. Judgement.
const OF_BREATH: f64 = 0.8;

/// How long she goes on one breath at a tempo.
pub(super) fn ticks_of_breath(player: &Player, measure: &Measure, bpm: u16) -> Ticks {
    let beat = measure.kinds().first().map_or(24, |kind| kind.length());
    let most = OF_BREATH * player.breath.seconds * f64::from(bpm) / 60.0 * f64::from(beat);
    // Found by counting: there is no exact way from floating point to whole numbers that says when it fails.
    let mut ticks: Ticks = 0;
    while f64::from(ticks + beat) <= most && ticks < 100_000 {
        ticks += beat;
    }
    ticks
}

/// The most notes that may be struck in a beat.
fn notes_a_beat(measure: &Measure, figures: Figures) -> f64 {
    let sixteenths = figures.has(Figure::Sixteenths);
    match measure.kinds().first() {
        Some(BeatKind::Half) if figures.has(Figure::Eighths) => 4.0,
        Some(BeatKind::Half) => 2.0,
        Some(BeatKind::Dotted) if sixteenths => 6.0,
        Some(BeatKind::Dotted) => 3.0,
        _ if sixteenths => 4.0,
        _ if figures.has(Figure::Triplets) => 3.0,
        _ if figures.has(Figure::Eighths) => 2.0,
        _ => 1.0,
    }
}

/// The word that most tables give to the tempo.
pub(super) fn word(bpm: u16) -> &'static str {
    let bpm = f64::from(bpm);
    let mut best = (0, f64::MAX, "Moderato");
    for word in WORDS {
        let ranges = terms::tempo::ranges(word);
        let inside = |low: Option<f64>, high: Option<f64>| {
            low.is_none_or(|low| bpm >= low) && high.is_none_or(|high| bpm <= high)
        };
        let tables = ranges
            .iter()
            .filter(|range| inside(range.low, range.high))
            .count();
        let middles: Vec<f64> = ranges
            .iter()
            .filter_map(|range| Some(f64::midpoint(range.low?, range.high?)))
            .collect();
        let off = middles
            .iter()
            .map(|middle| (middle - bpm).abs())
            .fold(f64::MAX, f64::min);
        if tables > best.0 || tables == best.0 && off < best.1 {
            best = (tables, off, word);
        }
    }
    best.2
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_follow_the_tables() {
        assert_eq!(word(132), "Allegro");
        assert_eq!(word(84), "Andante");
        let order: Vec<usize> = [44, 60, 72, 88, 112, 138]
            .into_iter()
            .map(|bpm| WORDS.iter().position(|known| *known == word(bpm)).expect("known"))
            .collect();
        assert!(order.is_sorted(), "{order:?}");
    }
}
