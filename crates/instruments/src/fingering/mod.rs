//! How is a note fingered on this instrument? Charts with their sources, what moves between two fingerings, diagrams.
//!
//! Woodwind charts are given as far as published sources reach; brass fingerings follow from the harmonic series by rule.
//! A note without an established fingering says so ([`Chart::gap`]); nothing is guessed. Which fingering to choose in a
//! passage is not asked here.
//!
//! ```
//! let flute = instruments::fingering::chart("flute").unwrap();
//! let b_flat = notation::Pitch::parse("Bb4").unwrap();
//! let names: Vec<&str> = flute.fingerings(b_flat).iter().map(|f| f.name.as_ref()).collect();
//! assert_eq!(names, ["one-and-one", "thumb", "lever"]);
//! ```

mod chart;
mod diagram;
mod hand;
mod harmonic;
mod movement;
mod row;
mod tables;
mod words;

#[cfg(test)]
mod tests;

pub use chart::{Chart, Fingering, Layout, Position, Prepared, Tendency, Use, fingered_as};
pub use diagram::diagram;
pub use hand::{Digit, DigitKind, Keys, State};
pub use movement::{Ease, Movement, Slide, Touch, movement};
pub use words::{digits_words, fingering_words, key_words, keys_words};

use std::sync::LazyLock;

static CHARTS: LazyLock<Vec<Chart>> = LazyLock::new(|| {
    let mut charts = tables::charts();
    charts.extend(harmonic::charts());
    charts
});

/// Every chart, woodwinds first.
pub fn all_charts() -> impl Iterator<Item = &'static Chart> {
    CHARTS.iter()
}

/// The charts for an instrument by its id, the usual one first; empty where none is good enough to give.
#[must_use]
pub fn charts(instrument: &str) -> Vec<&'static Chart> {
    let ids: &[&str] = match instrument {
        "flute" => &["flute"],
        "oboe" => &["oboe"],
        "english-horn" => &["english-horn"],
        "clarinet-eb" | "clarinet-bb" | "clarinet-a" => &["clarinet"],
        "soprano-sax" | "alto-sax" | "tenor-sax" | "baritone-sax" => &["saxophone"],
        "bassoon" => &["bassoon"],
        "recorder-soprano" | "recorder-tenor" => &["recorder"],
        "recorder-alto" => &["recorder-f"],
        "recorder-bass" => &["recorder-f-bass"],
        "horn" => &["horn"],
        "trumpet-bb" | "trumpet-c" => &["trumpet"],
        "trombone-tenor" => &["trombone", "trombone-f"],
        "trombone-bass" => &["trombone-f"],
        "euphonium" => &["euphonium", "euphonium-4"],
        "tuba" => &["tuba-bb", "tuba-c-4"],
        _ => &[],
    };
    ids.iter()
        .filter_map(|id| CHARTS.iter().find(|chart| chart.id == *id))
        .collect()
}

/// The usual chart for an instrument by its id; `None` where none is good enough to give.
#[must_use]
pub fn chart(instrument: &str) -> Option<&'static Chart> {
    charts(instrument).first().copied()
}
