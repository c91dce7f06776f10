//! How is the play order said? Labels bar by bar, runs of bars, and the last note that is played.

use crate::Context;
use notation::{BarIndex, LineNote, Part, Piece};
use performance::road::Unfolding;

/// One played bar with its names.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct PlayedLabel {
    /// The written bar.
    pub bar: BarIndex,
    /// Its printed label.
    pub label: String,
    /// For the how-manieth time, from 1.
    pub pass: u32,
    /// Only a part of the bar is played.
    pub partial: bool,
}

/// Bars read straight on.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Run {
    /// The first bar.
    pub from: BarIndex,
    /// The last bar.
    pub to: BarIndex,
}

pub(super) fn labels(piece: &Piece, unfolding: &Unfolding) -> Vec<PlayedLabel> {
    let played = unfolding.played.iter().map(|played| PlayedLabel {
        bar: played.bar,
        label: piece.label(played.bar).to_owned(),
        pass: played.pass,
        partial: piece
            .bars
            .get(played.bar.get())
            .is_some_and(|bar| played.length() != bar.length),
    });
    played.collect()
}

pub(super) fn runs(unfolding: &Unfolding) -> Vec<Run> {
    let mut runs: Vec<Run> = Vec::new();
    let mut leaps = unfolding.leaps.iter().map(|leap| leap.after).peekable();
    for (index, played) in unfolding.played.iter().enumerate() {
        let mut leapt = false;
        while leaps.next_if(|after| *after <= index).is_some() {
            leapt = true;
        }
        match runs.last_mut() {
            Some(run) if !leapt && (played.bar == run.to.next() || played.bar == run.to) => {
                run.to = played.bar
            }
            _ => runs.push(Run {
                from: played.bar,
                to: played.bar,
            }),
        }
    }
    runs
}

/// What a musician calls a bar: its label, or for the second half of a split bar (unnumbered on the page, `X1` in the
/// file) the number of the bar it completes.
/// Source: MusicXML 4.0, `measure`: implicit bars "should not show a number".
#[must_use]
pub fn counted_label(piece: &Piece, bar: BarIndex) -> String {
    let numbered = |label: &str| label.starts_with(|c: char| c.is_ascii_digit());
    let own = piece.label(bar);
    let implicit = piece.bars.get(bar.get()).is_some_and(|bar| bar.implicit);
    if !implicit || numbered(own) {
        return own.to_owned();
    }
    let earlier = piece
        .bars
        .iter()
        .take(bar.get())
        .rev()
        .map(|bar| bar.label.as_str());
    earlier
        .into_iter()
        .find(|label| numbered(label))
        .unwrap_or(own)
        .to_owned()
}

/// The order as a musician writes it down: `1–8, 1–16, 9–24`.
#[must_use]
pub fn order_in_words(piece: &Piece, runs: &[Run]) -> String {
    let said: Vec<String> = runs
        .iter()
        .map(|run| {
            let (from, to) = (counted_label(piece, run.from), counted_label(piece, run.to));
            if from == to {
                from
            } else {
                format!("{from}–{to}")
            }
        })
        .collect();
    said.join(", ")
}

/// The last note that is played, Fine and coda followed, as an index into the part's events: of several sounding
/// together the highest; grace notes and cues are passed over. `None` if the part plays nothing.
#[must_use]
pub fn last_note_played(part: &Part, unfolding: &Unfolding) -> Option<usize> {
    unfolding.played.iter().rev().find_map(|played| {
        let range = part.bar_ranges.get(played.bar.get())?;
        let indices = range.start as usize..range.end as usize;
        let heard = indices.filter(|index| {
            part.events.get(*index).is_some_and(|event| {
                event.top_pitch().is_some()
                    && !event.is_grace()
                    && !event.cue
                    && event.place.offset >= played.from
                    && event.place.offset < played.to
            })
        });
        heard.max_by_key(|index| {
            part.events
                .get(*index)
                .map(|event| (event.place.offset, event.top_pitch()))
        })
    })
}

/// The note of the line that sounds last when the road map is followed: the one to ask for the key.
#[must_use]
pub fn last_of_line<'a>(ctx: &'a Context, unfolding: &Unfolding) -> Option<&'a LineNote> {
    let event = ctx.part.events.get(last_note_played(ctx.part, unfolding)?)?;
    let onset = ctx.onset(event.place);
    let until = ctx.line.partition_point(|note| note.onset <= onset);
    ctx.line.get(until.checked_sub(1)?)
}
