//! What do tunes teach? Counts of many melodies made into a table, and the weights of the forecasts fitted on others.

use super::alphabets::Values;
use super::long_term::{LongTerm, Pruning, Tally};
use super::melody::{Kind, Melody};
use super::mix::Weights;
use super::model::{Foresight, Settings};
use super::viewpoints::{LONG_TERM, PITCH, Past};

/// Learns what tunes in general do.
#[derive(Clone, Debug, Default)]
pub struct Trainer {
    tally: Tally,
    /// Tunes read.
    pub tunes: usize,
    /// Notes read.
    pub notes: usize,
}

impl Trainer {
    /// Reads a tune.
    pub fn add(&mut self, melody: &Melody) {
        let values = Values::of(melody);
        let mut past = Past::before(melody);
        self.tunes += 1;
        for item in &melody.items {
            past.enter(item);
            let (value, share) = values.symbols(item);
            if matches!(item.kind, Kind::Bars) {
                past.read_value(item, value, share);
                continue;
            }
            for (viewpoint, contexts) in past.value_contexts(item).iter().enumerate() {
                let by_share = Past::BY_SHARE.get(viewpoint) == Some(&true);
                let symbol = if by_share { share } else { value };
                // Values that only this piece numbers teach nothing about others.
                if symbol < 128 && LONG_TERM.get(PITCH + viewpoint) == Some(&true) {
                    self.tally.learn(contexts.keys(), symbol);
                }
            }
            past.read_value(item, value, share);
            let Some(note) = item.sounding() else { continue };
            self.notes += 1;
            for (contexts, symbol) in past
                .pitch_contexts(item)
                .iter()
                .zip(past.pitch_symbols(note.number))
            {
                if let Some(symbol) = symbol {
                    self.tally.learn(contexts.keys(), symbol);
                }
            }
            past.read_pitch(item, note.number);
        }
    }

    /// The table of what it learnt.
    #[must_use]
    pub fn table(&self, pruning: &Pruning) -> LongTerm {
        self.tally.table(pruning)
    }
}

/// Weights fitted on melodies that a table has not seen, read through in order so many times.
#[must_use]
pub fn fitted<'m>(
    table: &LongTerm,
    melodies: impl Iterator<Item = &'m Melody> + Clone,
    rates: &[f64],
    settings: &Settings,
) -> Weights {
    let mut weights = table.weights();
    for rate in rates {
        let settings = Settings {
            learning: *rate,
            ..*settings
        };
        for melody in melodies.clone() {
            let table = table.clone().weighted(&weights);
            let mut foresight = Foresight::new(melody, &table, &settings);
            for at in 0..melody.items.len() {
                let _ = foresight.read(melody, at);
            }
            weights = foresight.weights().clone();
        }
    }
    weights
}
