//! In what rhythm and with what articulation does the piece move? Its most common figure of a beat, as scales are played with it.

use super::super::Source;
use super::super::draft::{DraftBar, Tone, whole_voice};
use crate::BarSpan;
use notation::{ArticulationKind, Metre, Quarters, Rational, SpanKind, TupletRatio};

/// A figure of one beat.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(crate) struct Figure {
    /// Its notes: lengths, tuplets, articulation, slurred to the next one of the figure.
    pub notes: Vec<FigureNote>,
}

/// A note of a figure.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(crate) struct FigureNote {
    pub length: Quarters,
    pub chain: Vec<TupletRatio>,
    pub marks: Vec<ArticulationKind>,
    /// Slurred to the next note.
    pub slurred: bool,
}

/// The most common figures in some bars, and a bar that shows metre and clef there.
pub(crate) fn figure(source: &Source, span: BarSpan) -> Option<(Figure, DraftBar)> {
    let bars = whole_voice(source);
    let inside = |bar: &&DraftBar| bar.from.is_some_and(|from| span.holds(from));
    let metre = commonest_metre(bars.iter().filter(inside)).or_else(|| commonest_metre(bars.iter()))?;
    let of_metre: Vec<&DraftBar> = bars.iter().filter(|bar| bar.metre == metre).collect();
    let like = of_metre
        .iter()
        .copied()
        .find(inside)
        .or(of_metre.first().copied())
        .cloned()?;
    let here: Vec<&DraftBar> = of_metre.iter().copied().filter(inside).collect();
    let pulse = like.pulse();
    let beats: Vec<Quarters> = pulse
        .beats
        .windows(2)
        .filter_map(|pair| Some(*pair.get(1)? - *pair.first()?))
        .collect();
    if beats.iter().any(|beat| Some(beat) != beats.first()) {
        // Beats of unequal length have no one figure.
        return Some((even(&like), like));
    }
    let slurs = slurs(source);
    // A few bars don't show a habit: then the whole piece is asked.
    let found = commonest(&here, &slurs).or_else(|| commonest(&of_metre, &slurs));
    let figure = found.unwrap_or_else(|| even(&like));
    Some((figure, like))
}

/// The metre that most bars have.
fn commonest_metre<'a>(bars: impl Iterator<Item = &'a DraftBar>) -> Option<Option<Metre>> {
    let mut counts: Vec<(Option<Metre>, usize)> = Vec::new();
    for bar in bars {
        match counts.iter_mut().find(|(metre, _)| *metre == bar.metre) {
            Some((_, count)) => *count += 1,
            None => counts.push((bar.metre.clone(), 1)),
        }
    }
    let mut best: Option<(Option<Metre>, usize)> = None;
    for (metre, count) in counts {
        if best.as_ref().is_none_or(|(_, most)| count > *most) {
            best = Some((metre, count));
        }
    }
    best.map(|(metre, _)| metre)
}

/// Where slurs begin and end.
struct Slur {
    from: notation::Place,
    to: notation::Place,
}

fn slurs(source: &Source) -> Vec<Slur> {
    let spans = source
        .ctx
        .part
        .spans
        .iter()
        .filter(|span| span.kind == SpanKind::Slur);
    let mut all: Vec<Slur> = spans
        .filter_map(|span| {
            Some(Slur {
                from: span.start?.place,
                to: span.end?.place,
            })
        })
        .collect();
    all.sort_by_key(|slur| slur.from);
    all
}

/// Fewest times that make a figure a habit.
const HABIT: usize = 3;

/// The figure of a beat with two notes or more that comes most, counted with its articulation.
fn commonest(bars: &[&DraftBar], slurs: &[Slur]) -> Option<Figure> {
    let mut counts: std::collections::BTreeMap<Figure, usize> = std::collections::BTreeMap::new();
    for bar in bars {
        let pulse = bar.pulse();
        let mut figure: Vec<FigureNote> = Vec::new();
        let mut whole = true;
        let mut held = false;
        for (at, tone) in bar.placed() {
            let position = at + bar.lead;
            let (start, end) = pulse.beat_at(position);
            if position == start {
                figure.clear();
                whole = true;
            }
            whole &= tone.is_note()
                && !tone.tied
                && !held
                && tone.graces.is_empty()
                && position + tone.length <= end;
            held = tone.tied;
            let slurred = bar.from.is_some_and(|from| {
                let place = notation::Place {
                    bar: from,
                    offset: at,
                };
                let until = slurs.partition_point(|slur| slur.from <= place);
                // Slurs are short: the last few that began are the only ones that can still lie here.
                slurs[until.saturating_sub(4)..until]
                    .iter()
                    .any(|slur| slur.to > place)
            });
            figure.push(FigureNote {
                length: tone.length,
                chain: tone.chain.clone(),
                marks: marks(tone),
                slurred,
            });
            if position + tone.length == end && whole && figure.len() >= 2 {
                let mut one = Figure {
                    notes: figure.clone(),
                };
                // Whether it is slurred on into the next beat is not the figure's own matter.
                if let Some(last) = one.notes.last_mut() {
                    last.slurred = false;
                }
                *counts.entry(one).or_default() += 1;
            }
        }
    }
    let best = counts
        .into_iter()
        .filter(|(_, count)| *count >= HABIT)
        .max_by(|a, b| a.1.cmp(&b.1).then(b.0.cmp(&a.0)));
    best.map(|(figure, _)| figure)
        .filter(|figure| figure.notes.len() <= 8)
}

/// Articulation that goes with a figure; what belongs to single notes doesn't.
fn marks(tone: &Tone) -> Vec<ArticulationKind> {
    let of_figure = |kind: &&ArticulationKind| {
        matches!(
            kind,
            ArticulationKind::Staccato
                | ArticulationKind::Tenuto
                | ArticulationKind::Portato
                | ArticulationKind::Staccatissimo
                | ArticulationKind::Accent
        )
    };
    tone.articulations
        .iter()
        .map(|mark| &mark.kind)
        .filter(of_figure)
        .cloned()
        .collect()
}

/// The beat divided evenly, as is usual where the piece has no figure of its own.
fn even(like: &DraftBar) -> Figure {
    let pulse = like.pulse();
    let parts: i64 = if pulse.compound || (pulse.beat().num() == 3 && pulse.count() <= 2) {
        3
    } else {
        2
    };
    let note = FigureNote {
        length: pulse.beat() / Rational::whole(parts),
        chain: Vec::new(),
        marks: Vec::new(),
        slurred: false,
    };
    Figure {
        notes: std::iter::repeat_n(note, usize::try_from(parts).unwrap_or(2)).collect(),
    }
}
