//! Can the page be turned here? How long nothing is played around a bar line, in quarter notes and, where a tempo is known, in
//! seconds.

use super::paging::BAD_TURN;
use notation::{BarIndex, DirectionKind, NoteValue, Part, Piece, Quarters, Rational};

/// Seconds that a turn takes. Source: common practice (two to three seconds).
const SECONDS: f64 = 2.5;
/// Quarter notes of rest that do where no tempo is known.
const QUARTERS: f64 = 4.0;

/// The silence around a bar line.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(crate) struct Window {
    /// Quarter notes of rest before it.
    pub before: Quarters,
    /// Quarter notes of rest after it.
    pub after: Quarters,
    /// Both in seconds, if a tempo is known.
    pub seconds: Option<f64>,
}

impl Window {
    /// How many quarter notes in all.
    pub fn quarters(&self) -> Quarters {
        self.before + self.after
    }

    /// Whether the page can be turned in it.
    pub fn is_enough(&self) -> bool {
        self.share() >= 1.0
    }

    /// From 0 (time enough) to [`BAD_TURN`] (none).
    pub fn badness(&self) -> f64 {
        let missing = (1.0 - self.share()).max(0.0);
        BAD_TURN * missing.powi(2)
    }

    fn share(&self) -> f64 {
        match self.seconds {
            Some(seconds) => seconds / SECONDS,
            None => self.quarters().to_f64() / QUARTERS,
        }
    }
}

/// The silence around the start of a bar. `steady` is a tempo in quarter notes a minute that holds throughout.
pub(crate) fn window(piece: &Piece, part: &Part, bar: BarIndex, steady: Option<f64>) -> Window {
    let before = silence_before(piece, part, bar);
    let after = silence_after(piece, part, bar);
    let tempo = steady
        .or_else(|| tempo_at(part, bar))
        .filter(|tempo| *tempo > 0.0);
    Window {
        before,
        after,
        seconds: tempo.map(|tempo| (before + after).to_f64() * 60.0 / tempo),
    }
}

fn silence_before(piece: &Piece, part: &Part, bar: BarIndex) -> Quarters {
    let mut silence = Quarters::ZERO;
    for index in (0..bar.0).rev().map(BarIndex) {
        let length = piece
            .bars
            .get(index.get())
            .map_or(Quarters::ZERO, |bar| bar.length);
        let sounding = part.bar_events(index).iter().filter(|event| event.is_note());
        match sounding.map(notation::Event::end_offset).max() {
            Some(end) => return silence + (length - end).max(Quarters::ZERO),
            None => silence += length,
        }
    }
    silence
}

fn silence_after(piece: &Piece, part: &Part, bar: BarIndex) -> Quarters {
    let mut silence = Quarters::ZERO;
    for index in (bar.get()..piece.bars.len()).map(BarIndex::from_usize) {
        let length = piece
            .bars
            .get(index.get())
            .map_or(Quarters::ZERO, |bar| bar.length);
        let sounding = part.bar_events(index).iter().find(|event| event.is_note());
        match sounding {
            Some(event) => return silence + event.place.offset,
            None => silence += length,
        }
    }
    silence
}

/// Quarter notes a minute by the last metronome mark up to a bar.
fn tempo_at(part: &Part, bar: BarIndex) -> Option<f64> {
    part.directions
        .iter()
        .take_while(|direction| direction.place.bar <= bar)
        .filter_map(|direction| match &direction.kind {
            DirectionKind::Metronome(mark) => {
                let (low, high) = mark.value.range()?;
                let middle = (low + high) * Rational::new(1, 2);
                Some((middle * dotted(mark.beat, mark.dots)).to_f64())
            }
            _ => None,
        })
        .last()
}

fn dotted(value: NoteValue, dots: u8) -> Quarters {
    value.quarters() * (Rational::whole(2) - Rational::new(1, 1_i64 << dots.min(10)))
}
