//! What is a drill made from? The part, what is on its page, and what it asks of the player.

use crate::BarSpan;
use load::{Account, Study};
use notation::{BarIndex, Pitch};
use survey::{Context, Survey};

/// What a share of the load that is no reason for trouble counts beside one that is.
const FORESEEN: f64 = 0.15;

/// The piece that is practised. Survey and study must be whole and of the same part.
#[derive(Clone, Copy, Debug)]
pub struct Source<'a> {
    /// The part.
    pub ctx: &'a Context<'a>,
    /// What is on its page.
    pub survey: &'a Survey,
    /// What it asks of the player.
    pub study: &'a Study,
}

impl Source<'_> {
    /// The part's last bar; `None` without bars.
    pub(crate) fn last_bar(&self) -> Option<BarIndex> {
        self.ctx.piece.bars.len().checked_sub(1).map(BarIndex::from_usize)
    }

    /// Whether notes are found with a slide.
    pub(crate) fn has_slide(&self) -> bool {
        use instruments::fingering::Layout;
        self.study
            .fingering
            .chart
            .is_some_and(|chart| matches!(chart.layout, Layout::Slide))
    }

    /// A span cut to the bars that exist.
    pub(crate) fn within(&self, span: BarSpan) -> Option<BarSpan> {
        let last = self.last_bar()?;
        (span.from <= last).then(|| BarSpan::new(span.from, span.to.min(last)))
    }

    /// What bars are called: `bar 5`, `bars 5–8`.
    pub(crate) fn bars_said(&self, span: BarSpan) -> String {
        let (from, to) = (self.ctx.label(span.from), self.ctx.label(span.to));
        if span.from == span.to {
            format!("bar {from}")
        } else {
            format!("bars {from}–{to}")
        }
    }

    /// The player's written range; without one, what the part itself reaches.
    pub(crate) fn range(&self) -> Option<(Pitch, Pitch)> {
        self.study.player.written_range().or_else(|| self.compass())
    }

    /// Lowest and highest note of the part.
    pub(crate) fn compass(&self) -> Option<(Pitch, Pitch)> {
        let mut pitches = self.ctx.part.events.iter().flat_map(notation::Event::pitches);
        let first = pitches.next()?;
        Some(pitches.fold((first, first), |(low, high), pitch| {
            (low.min(pitch), high.max(pitch))
        }))
    }

    /// What in some bars gives most trouble of the kinds that `helps` says, in words.
    pub(crate) fn reason(&self, span: BarSpan, helps: &dyn Fn(&str) -> bool) -> Option<String> {
        let movements = 2.0 * load::first_tempo::movements(self.study.player.experience);
        let breath = self.study.player.breath.seconds.max(1.0);
        let mut best: Option<(f64, &str)> = None;
        for bar in self.study.bars.iter().filter(|bar| span.holds(bar.bar)) {
            let reading = bar.reading.total();
            let by_reading = if reading > 0.0 {
                bar.fullness / reading
            } else {
                0.0
            };
            for (account, by) in [
                (&bar.reading, by_reading),
                (&bar.hand, 1.0 / movements),
                (&bar.breath, 1.0 / breath),
            ] {
                let told = account
                    .shares()
                    .iter()
                    .filter(|share| share.is_reason() && helps(share.kind));
                for share in told {
                    let amount = share.amount * by;
                    if best.is_none_or(|(most, _)| amount > most) {
                        best = Some((amount, &share.why));
                    }
                }
            }
        }
        best.map(|(_, why)| why.to_owned())
    }

    /// How much of each kind of trouble stands in some bars: reading against what she takes in, hands and breath against
    /// what is comfortable, as the spots weigh them. What could be foreseen counts little: it is in every bar.
    pub(crate) fn troubles(&self, span: BarSpan) -> Vec<(&'static str, f64)> {
        let movements = 2.0 * load::first_tempo::movements(self.study.player.experience);
        let breath = self.study.player.breath.seconds.max(1.0);
        let mut all: Vec<(&'static str, f64)> = Vec::new();
        let mut add = |account: &Account, by: f64| {
            for share in account.shares() {
                let amount = share.amount * by * if share.is_reason() { 1.0 } else { FORESEEN };
                match all.iter_mut().find(|(kind, _)| *kind == share.kind) {
                    Some((_, sum)) => *sum += amount,
                    None => all.push((share.kind, amount)),
                }
            }
        };
        for bar in self.study.bars.iter().filter(|bar| span.holds(bar.bar)) {
            let reading = bar.reading.total();
            if reading > 0.0 {
                add(&bar.reading, bar.fullness / reading);
            }
            add(&bar.hand, 1.0 / movements);
            add(&bar.breath, 1.0 / breath);
        }
        all
    }
}
