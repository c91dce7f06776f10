//! In which tuplets does a note stand? From `tuplet` around it, `tupletSpan` beside it, or attributes of its own.
//!
//! Source: MEI 5.0, tuplet, tupletSpan, att.duration.ratio, att.tupletPresent.

use super::event::own_ratio;
use super::layer::Layer;
use super::music::Music;
use super::values::{id_of, is_false, note_value, number, reference, references};
use crate::xml::El;
use notation::{Anchor, IdKind, Quarters, Rational, Severity, Span, SpanKind, TupletRatio};
use std::borrow::Cow;
use std::collections::HashMap;

/// More tuplets written beside the notes than one measure has.
const MOST_SPANS: usize = 5_000;
/// More of them than are open at once in a layer.
const MOST_OPEN: usize = 16;

/// Tuplet spans of a measure, found by the note at which they start.
#[derive(Default)]
pub(super) struct MeasureSpans<'a> {
    by_start: HashMap<Cow<'a, str>, Vec<TupletSpan<'a>>>,
    /// Those placed by beats: staff, layer if said, from and (excluded) to.
    by_beat: Vec<ByBeat<'a>>,
}

#[derive(Clone, Debug)]
struct TupletSpan<'a> {
    ratio: TupletRatio,
    end: Option<Cow<'a, str>>,
    bracket: bool,
    range: (u32, u32),
}

#[derive(Clone, Debug)]
struct ByBeat<'a> {
    span: TupletSpan<'a>,
    staff: Option<String>,
    from: Rational,
    to: Option<Rational>,
    length: Option<Quarters>,
    taken: bool,
}

/// A tuplet span that is open in a layer.
#[derive(Clone, Debug)]
pub(super) struct ActiveSpan<'a> {
    span: TupletSpan<'a>,
    first: Option<usize>,
    last: Option<usize>,
    /// Ends at this offset of the bar, where it is placed by beats.
    until: Option<(Quarters, bool)>,
}

impl<'a> Music<'a> {
    /// A `<tuplet>` around its notes.
    pub(super) fn tuplet(&mut self, el: El<'_, 'a>, layer: &mut Layer) {
        let ratio = self.ratio(el, layer.part, layer.cursor);
        let from = self.event_count(layer.part);
        let nested = layer.ratios.len() < MOST_OPEN;
        if let (Some(ratio), true) = (ratio, nested) {
            layer.ratios.push(ratio);
        }
        for child in self.content(el) {
            self.layer_child(child, layer);
        }
        if let (Some(ratio), true) = (ratio, nested) {
            layer.ratios.pop();
            let to = self.event_count(layer.part);
            let spans = self
                .parts
                .get(layer.part)
                .map_or(0, |state| state.part.spans.len());
            self.tuplet_mark(
                layer.part,
                ratio,
                !is_false(el, "bracket.visible"),
                el.range(),
                from,
                to.checked_sub(1),
            );
            self.own_tuplet(el, layer.part, spans);
        }
    }

    /// The numbers of a tuplet. Of one that says only how many notes it has, these take the time of the next lower
    /// power of two. Source: common practice.
    fn ratio(&mut self, el: El<'_, 'a>, part: usize, offset: Quarters) -> Option<TupletRatio> {
        let whole = |name: &str| {
            number(el, name)
                .filter(|n| n.is_whole())
                .and_then(|n| u16::try_from(n.num()).ok())
                .filter(|n| *n > 0)
        };
        let (actual, normal) = (whole("num"), whole("numbase"));
        let ratio = match (actual, normal) {
            (Some(actual), Some(normal)) => TupletRatio { actual, normal },
            (actual, normal) => {
                let actual = actual.unwrap_or(3);
                let normal = normal.unwrap_or_else(|| usual_normal(actual));
                self.find(
                    Severity::Caution,
                    "tuplet-unclear",
                    Some(part),
                    offset,
                    format!(
                        "a tuplet does not say its two numbers; {actual} in the time of {normal} was taken"
                    ),
                    "check the rhythm of this bar against the page",
                );
                TupletRatio { actual, normal }
            }
        };
        (ratio.actual != ratio.normal).then_some(ratio)
    }

    fn tuplet_mark(
        &mut self,
        part: usize,
        ratio: TupletRatio,
        bracket: bool,
        range: (u32, u32),
        first: usize,
        last: Option<usize>,
    ) {
        let Some(state) = self.parts.get(part) else { return };
        let anchor = |at: usize| {
            state.part.events.get(at).map(|event| Anchor {
                place: event.place,
                element: Some(event.id),
            })
        };
        let (Some(start), Some(end)) = (anchor(first), last.filter(|last| *last >= first).and_then(anchor))
        else {
            return;
        };
        let staff = state.part.events.get(first).map(|event| event.staff);
        self.score.taken += 1;
        let id = self.id_from(IdKind::Span, range, None);
        if let Some(state) = self.parts.get_mut(part) {
            state.part.spans.push(Span {
                id,
                kind: SpanKind::Tuplet {
                    actual: ratio.actual,
                    normal: ratio.normal,
                    bracket,
                },
                start: Some(start),
                end: Some(end),
                staff,
                side: None,
            });
        }
    }

    /// Finds the tuplets of a measure that are written beside its notes.
    pub(super) fn gather_tuplet_spans(&mut self, children: &[El<'_, 'a>]) {
        self.tuplet_spans = MeasureSpans::default();
        // In a layer, too, in older files.
        let inner = children
            .iter()
            .filter(|child| child.name() == "staff")
            .flat_map(|staff| staff.children())
            .flat_map(|layer| layer.children());
        let spans = children
            .iter()
            .copied()
            .chain(inner)
            .filter(|child| child.name() == "tupletSpan")
            .take(MOST_SPANS);
        for el in spans {
            let listed = references(el, "plist");
            let start = reference(el, "startid").or_else(|| listed.first().cloned());
            let end = reference(el, "endid").or_else(|| listed.last().cloned());
            let Some(ratio) = self.ratio(el, 0, Quarters::ZERO) else {
                continue;
            };
            let span = TupletSpan {
                ratio,
                end,
                bracket: !is_false(el, "bracket.visible"),
                range: el.range(),
            };
            if let Some(start) = start {
                self.tuplet_spans.by_start.entry(start).or_default().push(span);
            } else if let Some(from) = number(el, "tstamp")
                && self.tuplet_spans.by_beat.len() < 200
            {
                let to = el.attr("tstamp2").and_then(|said| {
                    let (bars, beat) = said.split_once("m+").unwrap_or(("0", said));
                    Rational::parse(beat).filter(|_| bars.trim() == "0")
                });
                self.tuplet_spans.by_beat.push(ByBeat {
                    span,
                    staff: el.attr("staff").map(str::to_owned),
                    from,
                    to,
                    length: el
                        .attr("dur")
                        .and_then(note_value)
                        .map(notation::NoteValue::quarters),
                    taken: false,
                });
            } else {
                self.find(
                    Severity::Caution,
                    "tuplet-unclear",
                    None,
                    Quarters::ZERO,
                    "a tuplet does not say at which notes it stands; it was left out",
                    "check the rhythm of this bar against the page",
                );
            }
        }
    }

    /// Opens the spans that start at an element; gives the ratios of those open, outermost first.
    pub(super) fn begin_tuplet_spans(
        &mut self,
        el: El<'_, 'a>,
        heads: &[El<'_, 'a>],
        layer: &Layer,
    ) -> Vec<TupletRatio> {
        let mut found = Vec::new();
        if !self.tuplet_spans.by_start.is_empty() {
            let ids = std::iter::once(el).chain(heads.iter().copied()).filter_map(id_of);
            for id in ids {
                found.extend(self.tuplet_spans.by_start.remove(&id).unwrap_or_default());
            }
        }
        let unit = self
            .parts
            .get(layer.part)
            .and_then(|state| state.units.last())
            .map_or(4, |(_, unit)| *unit);
        let beat = Rational::new(4, i64::from(unit));
        let number = self.staff_number(layer.staff_at);
        let mut starting: Vec<ActiveSpan<'a>> = found
            .into_iter()
            .map(|span| ActiveSpan {
                span,
                first: None,
                last: None,
                until: None,
            })
            .collect();
        for by_beat in &mut self.tuplet_spans.by_beat {
            let from = (by_beat.from - Rational::ONE) * beat;
            let on_staff = by_beat.staff.is_none() || by_beat.staff.as_deref() == number.as_deref();
            if by_beat.taken || !on_staff || (from - layer.cursor).abs() > Rational::new(1, 96) {
                continue;
            }
            by_beat.taken = true;
            let until = match (by_beat.length, by_beat.to) {
                (Some(length), _) => Some((layer.cursor + length, false)),
                (None, Some(to)) => Some(((to - Rational::ONE) * beat, true)),
                (None, None) => None,
            };
            starting.push(ActiveSpan {
                span: by_beat.span.clone(),
                first: None,
                last: None,
                until,
            });
        }
        let Some(voice) = self
            .parts
            .get_mut(layer.part)
            .and_then(|state| state.voices.get_mut(usize::from(layer.voice)))
        else {
            return Vec::new();
        };
        voice.spans.extend(starting);
        voice.spans.truncate(MOST_OPEN);
        voice.spans.iter().map(|open| open.span.ratio).collect()
    }

    fn staff_number(&self, at: usize) -> Option<String> {
        if self.tuplet_spans.by_beat.is_empty() {
            return None;
        }
        self.staff_numbers
            .iter()
            .find(|(_, staff)| **staff == at)
            .map(|(number, _)| number.clone())
    }

    /// Closes the spans that end at an element.
    pub(super) fn end_tuplet_spans(
        &mut self,
        el: El<'_, 'a>,
        heads: &[El<'_, 'a>],
        layer: &Layer,
        at: usize,
    ) {
        let Some(state) = self.parts.get_mut(layer.part) else {
            return;
        };
        let end_offset = state
            .part
            .events
            .get(at)
            .map_or(layer.cursor, notation::Event::end_offset);
        let Some(voice) = state.voices.get_mut(usize::from(layer.voice)) else {
            return;
        };
        if voice.spans.is_empty() {
            return;
        }
        let ids: Vec<Cow<'a, str>> = std::iter::once(el)
            .chain(heads.iter().copied())
            .filter_map(id_of)
            .collect();
        let mut over = Vec::new();
        voice.spans.retain_mut(|open| {
            open.first.get_or_insert(at);
            open.last = Some(at);
            let named = open.span.end.as_ref().is_some_and(|end| ids.contains(end));
            let late = match open.until {
                // The last note starts where the span ends, or the span's length is filled.
                Some((until, true)) => layer.cursor + Rational::new(1, 96) >= until,
                Some((until, false)) => end_offset >= until,
                None => open.span.end.is_none(),
            };
            let ends = named || late;
            if ends {
                over.push(open.clone());
            }
            !ends
        });
        for open in over {
            if let Some(first) = open.first {
                self.tuplet_mark(
                    layer.part,
                    open.span.ratio,
                    open.span.bracket,
                    open.span.range,
                    first,
                    open.last,
                );
            }
        }
    }

    /// Reports the spans whose end was never met.
    pub(super) fn finish_tuplet_spans(&mut self) {
        for part in 0..self.parts.len() {
            let open: Vec<ActiveSpan<'a>> = self
                .parts
                .get_mut(part)
                .into_iter()
                .flat_map(|state| state.voices.iter_mut())
                .flat_map(|voice| std::mem::take(&mut voice.spans))
                .collect();
            for span in open {
                self.find(
                    Severity::Caution,
                    "unpaired-tuplet",
                    Some(part),
                    Quarters::ZERO,
                    "a tuplet written beside the notes never ends; the notes after it were all taken into it",
                    "check the rhythm at the tuplets against the page",
                );
                if let Some(first) = span.first {
                    self.tuplet_mark(
                        part,
                        span.span.ratio,
                        span.span.bracket,
                        span.span.range,
                        first,
                        span.last,
                    );
                }
            }
        }
    }

    /// A tuplet written as attributes of its notes (`i1` … `t1`): the numbers are each note's own, or the usual ones.
    pub(super) fn begin_attr_tuplet(&mut self, el: El<'_, 'a>, layer: &mut Layer) -> Option<TupletRatio> {
        let said = el.attr("tuplet")?;
        // Inside the element the attribute only says so again.
        if !layer.ratios.is_empty() && layer.attr_tuplet.is_none() {
            return None;
        }
        let own = own_ratio(el);
        if said.split_whitespace().any(|word| word.starts_with('i')) {
            self.close_attr_tuplet(layer, None);
            let ratio = own.or_else(|| self.ratio(el, layer.part, layer.cursor))?;
            layer.attr_tuplet = Some((self.event_count(layer.part), ratio));
        }
        own.or(layer.attr_tuplet.map(|(_, ratio)| ratio))
    }

    pub(super) fn end_attr_tuplet(&mut self, el: El<'_, 'a>, layer: &mut Layer, at: usize) {
        let ends = el
            .attr("tuplet")
            .is_some_and(|said| said.split_whitespace().any(|word| word.starts_with('t')));
        if ends {
            self.close_attr_tuplet(layer, Some((at, el.range())));
        }
    }

    pub(super) fn close_attr_tuplet(&mut self, layer: &mut Layer, end: Option<(usize, (u32, u32))>) {
        let Some((first, ratio)) = layer.attr_tuplet.take() else {
            return;
        };
        match end {
            Some((last, range)) => self.tuplet_mark(layer.part, ratio, true, range, first, Some(last)),
            None => self.find(
                Severity::Caution,
                "unpaired-tuplet",
                Some(layer.part),
                layer.cursor,
                "a tuplet that starts in this bar never ends",
                "check the rhythm of this bar against the page",
            ),
        }
    }
}

/// The usual number of notes whose time so many take: the next lower power of two; two take the time of three.
fn usual_normal(actual: u16) -> u16 {
    if actual == 2 {
        return 3;
    }
    let mut normal = 1_u16;
    while normal.saturating_mul(2) < actual {
        normal *= 2;
    }
    normal
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn usual_tuplets() {
        let of = [2, 3, 4, 5, 6, 7, 9].map(usual_normal);
        assert_eq!(of, [3, 2, 2, 4, 4, 4, 8]);
    }
}
