//! What is in one bar, why is it hard, and how is it played? The survey's and the study's answers, gathered for one bar.

mod hard;
mod in_it;
mod play;

use crate::part::margin;
use crate::part::notes::{Line, Note};
use crate::part::point::Labels;
use crate::prepared::Prepared;
use crate::screen::capital;
use load::Study;
use maud::{Markup, html};
use notation::{BarIndex, Event, Place, Quarters};
use survey::Survey;
use survey::metre::MetreAnswer;
use survey::rhythm::CountingSystem;

/// One bar, explained; `None` if there is no such bar.
pub(crate) fn bar(part: &Prepared, lines: &[Line], bar: BarIndex) -> Option<Markup> {
    part.copy.piece.bars.get(bar.get())?;
    let here = Here::of(part, bar);
    let labels = &here.labels;
    let notes: Vec<&Note> = lines
        .iter()
        .flat_map(|line| &line.notes)
        .filter(|note| note.bars.0 <= bar && bar <= note.bars.1)
        .collect();
    let asks = part
        .sheet
        .bars
        .get(bar.get())
        .map_or("", |cell| cell.asks.as_str());
    Some(html! {
        div class="bar-head" {
            button type="button" class="back" { "Back to the margin" }
            h2 tabindex="-1" { (labels.run(bar, bar)) }
            @if !asks.is_empty() { p class="asks" { (capital(asks)) "." } }
            p class="hear" {
                button type="button" class="hear-bar" data-bar=(bar.0) { "Hear this bar" }
                button type="button" class="hear-slowly" data-bar=(bar.0) { "Hear it slowly" }
            }
        }
        (in_it::in_it(&here))
        (hard::why_hard(&here))
        (play::how_to_play(&here))
        @if !notes.is_empty() {
            section class="pencilled" {
                h3 { "Pencilled and found here" }
                ol class="notes" { @for note in notes { (margin::item(note, labels)) } }
            }
        }
    })
}

/// What is known of the bar.
struct Here<'a> {
    part: &'a Prepared,
    labels: Labels<'a>,
    survey: &'a Survey,
    study: Option<&'a Study>,
    bar: BarIndex,
    events: &'a [Event],
}

impl<'a> Here<'a> {
    fn of(part: &'a Prepared, bar: BarIndex) -> Self {
        let piece = &part.copy.piece;
        Self {
            part,
            labels: Labels::of(piece),
            survey: &part.copy.shown.survey,
            study: part.copy.shown.study.as_ref(),
            bar,
            events: piece.parts.first().map_or(&[][..], |part| part.bar_events(bar)),
        }
    }

    fn has(&self, place: Place) -> bool {
        place.bar == self.bar
    }

    /// `beat 2`, `after beat 2`.
    fn beat(&self, offset: Quarters) -> String {
        let beat = self.said_beat(offset);
        let after = if beat.fract() > 1e-6 { "after " } else { "" };
        format!("{after}beat {:.0}", beat.floor())
    }

    fn said_beat(&self, offset: Quarters) -> f64 {
        let grid = self.metre().and_then(|metre| metre.grid(self.bar));
        grid.map_or_else(|| offset.to_f64() + 1.0, |grid| grid.said_beat(offset))
    }

    fn metre(&self) -> Option<&'a MetreAnswer> {
        self.survey.metre.as_ref()
    }

    /// How the page is counted by whoever asks.
    fn system(&self) -> CountingSystem {
        self.survey
            .rhythm
            .as_ref()
            .map_or_else(CountingSystem::default, |rhythm| rhythm.system)
    }
}

/// A statement with a word before it.
struct Said {
    label: &'static str,
    text: String,
}

fn said(label: &'static str, text: impl Into<String>) -> Said {
    Said {
        label,
        text: text.into(),
    }
}

fn list(all: &[Said]) -> Markup {
    html! { dl { @for one in all { dt { (one.label) } dd { (one.text) } } } }
}
