//! What work does a studied part make? Its spots, look-alikes, first tempo, ladder and scales as plain values.

use super::asked::{Offered, Work, WorkPair, WorkSpot};
use crate::BarSpan;
use crate::drill::{self, Source};
use load::Study;
use load::alike::How;
use notation::{BarIndex, Event, Piece};
use survey::{Context, Survey};

/// Most pairs of look-alikes that get turns of their own. Ours.
const PAIRS: usize = 6;

impl Work {
    /// The work of a part for the player of its study. `spans` are the bars to be learnt; none for the whole piece.
    #[must_use]
    pub fn of(ctx: &Context, survey: &Survey, study: &Study, title: &str, spans: &[BarSpan]) -> Self {
        let piece = ctx.piece;
        let bars = piece.bars.len();
        let whole = spans.is_empty();
        let spans = joined(spans, bars);
        // What is held over from the bar before is counted and listened to as well.
        let mut notes = vec![0; bars];
        let sounding = |event: &&Event| !event.cue && !event.is_grace() && event.pitches().next().is_some();
        for event in ctx.part.events.iter().filter(sounding) {
            if let Some(count) = notes.get_mut(event.place.bar.get()) {
                *count += 1;
            }
        }
        let mut plays = vec![1; bars];
        if whole {
            plays = vec![0; bars];
            for bar in survey.road_map.unfolding.order() {
                if let Some(count) = plays.get_mut(bar.get()) {
                    *count += 1;
                }
            }
        }
        Self {
            title: title.to_owned(),
            labels: labels(piece),
            lengths: piece.bars.iter().map(|bar| bar.length).collect(),
            notes,
            plays,
            asks: asks(study, bars),
            phrase_starts: study
                .phrases
                .phrases
                .iter()
                .map(|phrase| phrase.from.bar)
                .collect(),
            spots: spots(study, &spans),
            same: same(study),
            pairs: pairs(study, &spans),
            scales: scales(survey),
            first: study.first.as_ref().map(|first| (first.beat, first.range.low)),
            ladder: study.ladder.clone().filter(|ladder| !ladder.rungs.is_empty()),
            offers: offers(ctx, survey, study),
            from_memory: false,
            spans,
        }
    }
}

fn labels(piece: &Piece) -> Vec<String> {
    (0..piece.bars.len())
        .map(|bar| piece.label(BarIndex::from_usize(bar)).to_owned())
        .collect()
}

/// Spans in order, cut to the piece, joined where they overlap or touch; the whole piece if there are none.
fn joined(spans: &[BarSpan], bars: usize) -> Vec<BarSpan> {
    let Some(last) = bars.checked_sub(1).map(BarIndex::from_usize) else {
        return Vec::new();
    };
    let mut spans: Vec<BarSpan> = spans
        .iter()
        .filter(|span| span.from <= last)
        .map(|span| BarSpan::new(span.from, span.to.min(last)))
        .collect();
    if spans.is_empty() {
        return vec![BarSpan::new(BarIndex(0), last)];
    }
    spans.sort();
    let mut out: Vec<BarSpan> = Vec::new();
    for span in spans {
        match out.last_mut() {
            Some(before) if span.from.0 <= before.to.0.saturating_add(1) => {
                before.to = before.to.max(span.to)
            }
            _ => out.push(span),
        }
    }
    out
}

/// How much each bar asks: what there is to read against what she takes in, and what the hands do, against the middle bar.
fn asks(study: &Study, bars: usize) -> Vec<f64> {
    let mut hands: Vec<f64> = study.bars.iter().map(|bar| bar.hand.total()).collect();
    hands.sort_by(f64::total_cmp);
    let middle = hands.get(hands.len() / 2).copied().unwrap_or(1.0).max(0.1);
    let mut asks: Vec<f64> = study
        .bars
        .iter()
        .map(|bar| bar.fullness + bar.hand.total() / middle)
        .map(|asks| if asks.is_finite() { asks } else { 0.0 })
        .collect();
    asks.resize(bars, 0.0);
    asks
}

fn within(spans: &[BarSpan], span: BarSpan) -> bool {
    spans
        .iter()
        .any(|whole| whole.from <= span.from && span.to <= whole.to)
}

fn spots(study: &Study, spans: &[BarSpan]) -> Vec<WorkSpot> {
    let own = study.spots.iter().filter_map(|spot| {
        let span = BarSpan::new(spot.from, spot.to);
        within(spans, span).then(|| WorkSpot {
            span,
            why: spot.reasons.first().cloned().unwrap_or_default(),
            doing: spot.suggestion.to_owned(),
        })
    });
    own.collect()
}

fn same(study: &Study) -> Vec<(BarIndex, BarIndex)> {
    study
        .alike
        .look_alikes
        .iter()
        .filter(|alike| alike.how == How::Same && alike.differences.is_empty())
        .map(|alike| (alike.bar, alike.like))
        .collect()
}

fn pairs(study: &Study, spans: &[BarSpan]) -> Vec<WorkPair> {
    let one = |bar: BarIndex| BarSpan::new(bar, bar);
    study
        .alike
        .look_alikes
        .iter()
        .filter(|alike| matches!(alike.how, How::Nearly(_)) && !alike.differences.is_empty())
        .filter(|alike| within(spans, one(alike.bar)) && within(spans, one(alike.like)))
        .take(PAIRS)
        .map(|alike| WorkPair {
            one: one(alike.like),
            other: one(alike.bar),
            differs: alike.differences.join("; "),
        })
        .collect()
}

fn offers(ctx: &Context, survey: &Survey, study: &Study) -> Vec<Offered> {
    let source = Source { ctx, survey, study };
    drill::offers(&source)
        .into_iter()
        .map(|offer| Offered {
            kind: offer.kind,
            span: offer.span,
        })
        .collect()
}

fn scales(survey: &Survey) -> Vec<(String, String)> {
    let list = survey.key.as_ref().map_or(&[][..], |key| &key.scales_first);
    list.iter()
        .map(|scale| (scale.name.clone(), scale.why.clone()))
        .collect()
}
