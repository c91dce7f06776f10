//! When was each bar played, how fast beside the page, and what was heard in it?

use super::Taken;
use super::told::said;
use notation::BarIndex;
use take::Was;
use take::heard::{HeardNote, Reached};

/// A bar as it was played.
#[derive(Clone, PartialEq, Debug)]
pub struct PlayedBar {
    /// Which.
    pub bar: BarIndex,
    /// For the how-manieth time, from 1.
    pub pass: u32,
    /// When it began, the last time it was played, in seconds of the recording.
    pub from_secs: f64,
    /// When what follows began.
    pub to_secs: f64,
    /// How fast it was beside the model, in hundredths: 50 is half as fast. `None` where too little was heard.
    pub hundredths: Option<f64>,
    /// What went wrong in it; empty where it was clean.
    pub says: String,
}

impl Taken {
    /// The bars that were reached, in the order played.
    #[must_use]
    pub fn played_bars(&self) -> Vec<PlayedBar> {
        let line = &self.to_play.line;
        let mut spans: Vec<Option<(f64, f64)>> = vec![None; self.heard.bars.len()];
        let sounding = |note: &&HeardNote| note.was != Was::Extra && note.was != Was::Missing && !note.again;
        for note in self.heard.notes.iter().filter(sounding) {
            let slot = line.get(note.expected).map(|expected| expected.slot);
            if let Some(span) = slot.and_then(|slot| spans.get_mut(slot)) {
                let (from, to) = span.unwrap_or((note.onset_secs, note.end_secs));
                *span = Some((from.min(note.onset_secs), to.max(note.end_secs)));
            }
        }
        let next = |at: usize| spans.get(at + 1).copied().flatten().map(|(from, _)| from);
        self.heard
            .bars
            .iter()
            .enumerate()
            .filter(|(_, bar)| bar.reached != Reached::Not)
            .filter_map(|(at, bar)| {
                let (from, end) = spans.get(at).copied().flatten()?;
                // What follows may have begun far away, where it went back.
                let to = next(at)
                    .filter(|next| *next > from && *next < end + 2.0)
                    .unwrap_or(end);
                Some(PlayedBar {
                    bar: bar.bar,
                    pass: bar.pass,
                    from_secs: from,
                    to_secs: to,
                    hundredths: self.hundredths(at, bar.tempo, bar.beat.to_f64()),
                    says: said(bar),
                })
            })
            .collect()
    }

    /// How fast a bar was beside the model.
    fn hundredths(&self, slot: usize, tempo: Option<f64>, beat: f64) -> Option<f64> {
        let performance = &self.to_play.performance;
        let model = performance
            .clock
            .speed(performance.slots.get(slot)?.start)
            .to_f64();
        let heard = tempo? * beat;
        (model > 0.0).then(|| (100.0 * heard / model).clamp(10.0, 400.0))
    }

    /// The printed label of a bar.
    #[must_use]
    pub fn bar_label(&self, bar: BarIndex) -> String {
        self.label(bar)
    }
}
