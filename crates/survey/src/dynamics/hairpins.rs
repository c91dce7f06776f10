//! Where does the loudness change over time, how far does it reach, and does it lead to a mark?

use super::marks::DynamicMark;
use crate::Context;
use ::terms::Kind;
use notation::{Anchor, BarIndex, DirectionKind, Id, Place, Quarters, Rational, Span, SpanKind};

/// A hairpin.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Hairpin {
    /// True for a crescendo.
    pub opens: bool,
    /// From or to nothing.
    pub niente: bool,
    /// The span.
    pub element: Id,
    /// Where it starts; `None` if the source never says.
    pub start: Option<Anchor>,
    /// Where it ends; `None` if the source never says.
    pub end: Option<Anchor>,
    /// How long it is, in quarter notes.
    pub length: Option<Quarters>,
    /// The level it starts from, as an index into the marks.
    pub from: Option<usize>,
    /// The mark it leads to: the first after its start, at its end or within a quarter note of it.
    pub leads_to: Option<usize>,
    /// The mark it leads to lies the other way.
    pub contradicts: bool,
}

/// A word that changes the loudness over time.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct GradualWord {
    /// As printed.
    pub text: String,
    /// What it means.
    pub meaning: String,
    /// Louder or softer; `None` if the word does not say.
    pub louder: Option<bool>,
    /// Where.
    pub place: Place,
    /// The direction.
    pub element: Id,
    /// Where the dashes behind it end, if there are any.
    pub until: Option<Place>,
}

pub(super) fn hairpins(ctx: &Context, marks: &[DynamicMark], words: &[GradualWord]) -> Vec<Hairpin> {
    let mut found: Vec<Hairpin> = ctx
        .part
        .spans
        .iter()
        .filter_map(|span| hairpin(ctx, span, marks))
        .collect();
    found.sort_by_key(|hairpin| hairpin.start.or(hairpin.end).map(|anchor| anchor.place));
    // A level is out of date once another hairpin or word has moved it.
    let mut moved: Vec<Quarters> = words.iter().map(|word| ctx.onset(word.place)).collect();
    moved.extend(
        found
            .iter()
            .filter_map(|h| h.start)
            .map(|anchor| ctx.onset(anchor.place)),
    );
    moved.sort_unstable();
    for hairpin in found.iter_mut().filter(|hairpin| hairpin.contradicts) {
        let level = hairpin
            .from
            .and_then(|index| marks.get(index))
            .map(|mark| ctx.onset(mark.place));
        if let Some((level, start)) = level.zip(hairpin.start.map(|anchor| ctx.onset(anchor.place))) {
            let since = moved.partition_point(|onset| *onset < level);
            hairpin.contradicts = moved.get(since).is_none_or(|onset| *onset >= start);
        }
    }
    found
}

fn hairpin(ctx: &Context, span: &Span, marks: &[DynamicMark]) -> Option<Hairpin> {
    let (opens, niente) = match span.kind {
        SpanKind::Crescendo { niente } => (true, niente),
        SpanKind::Diminuendo { niente } => (false, niente),
        _ => return None,
    };
    let start = span.start.map(|anchor| ctx.onset(anchor.place));
    let end = span.end.map(|anchor| ctx.onset(anchor.place));
    let length = start
        .zip(end)
        .map(|(start, end)| end - start)
        .filter(|length| !length.is_negative());
    // Marks are in order of place, so both ends are found by halving.
    let first_after = |onset: Quarters| marks.partition_point(|mark| ctx.onset(mark.place) <= onset);
    let from = start.and_then(|start| {
        (0..first_after(start))
            .rev()
            .take(8)
            .find(|i| marks.get(*i).is_some_and(|m| m.level_after().is_some()))
    });
    let leads_to = start.zip(end).and_then(|(start, end)| {
        let index = first_after(start);
        let mark = marks.get(index)?;
        (ctx.onset(mark.place) <= end + Rational::ONE).then_some(index)
    });
    let contradicts = from
        .zip(leads_to)
        .and_then(|(from, to)| {
            let (from, to) = (marks.get(from)?.level_after()?, marks.get(to)?.loudness?);
            Some(if opens { to < from } else { to > from })
        })
        .unwrap_or(false);
    // An accent in the middle of a diminuendo is no goal.
    let contradicts = contradicts
        && leads_to
            .and_then(|i| marks.get(i))
            .is_some_and(DynamicMark::is_level);
    Some(Hairpin {
        opens,
        niente,
        element: span.id,
        start: span.start,
        end: span.end,
        length,
        from,
        leads_to,
        contradicts,
    })
}

/// The bars that carry a hairpin: a hairpin that ends at a bar's very start is not in that bar.
pub(super) fn bars(ctx: &Context, hairpins: &[Hairpin]) -> Vec<BarIndex> {
    let count = ctx.piece.bars.len();
    let mut changes = vec![0i64; count + 1];
    for hairpin in hairpins {
        let Some(start) = hairpin.start else { continue };
        let first = start.place.bar.get();
        let end = hairpin.end.map_or(start.place, |end| end.place);
        let last = end.bar.get();
        let last = if end.offset.is_zero() && last > first {
            last - 1
        } else {
            last.max(first)
        };
        if let Some(open) = changes.get_mut(first) {
            *open += 1;
        }
        if let Some(close) = changes.get_mut((last + 1).min(count)) {
            *close -= 1;
        }
    }
    let mut open = 0;
    (0..count)
        .filter(|bar| {
            open += changes.get(*bar).copied().unwrap_or(0);
            open > 0
        })
        .map(BarIndex::from_usize)
        .collect()
}

pub(super) fn gradual_words(ctx: &Context) -> Vec<GradualWord> {
    let mut dashes: Vec<&Span> = ctx
        .part
        .spans
        .iter()
        .filter(|span| span.kind == SpanKind::Dashes)
        .collect();
    dashes.sort_by_key(|span| span.start.map(|anchor| anchor.place));
    let mut words = Vec::new();
    for direction in &ctx.part.directions {
        let DirectionKind::Words(text) = &direction.kind else {
            continue;
        };
        let reading = ::terms::read(text);
        let Some(unit) = reading
            .units
            .iter()
            .find(|unit| unit.kind == Kind::ChangeOfDynamic)
        else {
            continue;
        };
        let louder = if unit.meaning.contains("louder") {
            Some(true)
        } else if unit.meaning.contains("softer")
            || unit.meaning.contains("quieter")
            || unit.meaning.contains("dying")
        {
            Some(false)
        } else {
            None
        };
        words.push(GradualWord {
            text: text.split_whitespace().collect::<Vec<_>>().join(" "),
            meaning: reading.meaning.clone().unwrap_or_default(),
            louder,
            place: direction.place,
            element: direction.id,
            until: dashes_behind(&dashes, direction.place),
        });
    }
    words
}

/// Dashes that start with the word or within a half note behind it in its bar.
fn dashes_behind(dashes: &[&Span], place: Place) -> Option<Place> {
    let from = dashes.partition_point(|span| span.start.is_none_or(|start| start.place < place));
    dashes
        .get(from)
        .filter(|span| {
            span.start.is_some_and(|start| {
                start.place.bar == place.bar && start.place.offset <= place.offset + Rational::whole(2)
            })
        })
        .and_then(|span| span.end)
        .map(|end| end.place)
}
