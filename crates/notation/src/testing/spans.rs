//! What reaches from place to place in the pieces? Slurs, hairpins and the rest, ends in order, never from a place to itself.

use super::Maker;
use crate::{
    Anchor, Direction, DirectionKind, Event, IdKind, Ornament, OrnamentKind, Part, Place, Rational, Span,
    SpanKind,
};

impl Maker<'_> {
    pub(super) fn spans(&mut self, part: &mut Part) {
        part.index_bars(self.piece.bars.len());
        if self.palette.slurs {
            for _ in 0..self.choices.below(4) {
                self.note_span(part, SpanKind::Slur);
            }
        }
        if self.palette.hairpins {
            for _ in 0..self.choices.below(3) {
                let niente = self.choices.chance(40);
                let kind = self
                    .choices
                    .pick(&[SpanKind::Crescendo { niente }, SpanKind::Diminuendo { niente }]);
                self.place_span(part, kind);
            }
        }
        if self.palette.other_spans {
            for _ in 0..self.choices.below(4) {
                self.other_span(part);
            }
        }
    }

    fn other_span(&mut self, part: &mut Part) {
        match self.choices.below(4) {
            0 => {
                let kind = self.choices.pick(&[
                    SpanKind::Ottava { octaves: 1 },
                    SpanKind::Ottava { octaves: -2 },
                    SpanKind::Pedal,
                    SpanKind::Dashes,
                    SpanKind::Bracket,
                ]);
                self.place_span(part, kind);
            }
            1 => {
                let kind = self.choices.pick(&[
                    SpanKind::Glissando,
                    SpanKind::Slide,
                    SpanKind::Other("hammer-on".to_owned()),
                    SpanKind::Other("pull-off".to_owned()),
                ]);
                self.note_span(part, kind);
            }
            2 => {
                let (strokes, between) = (3, true);
                let (ornament, kind) = self.choices.pick(&[
                    (OrnamentKind::Trill, SpanKind::TrillLine),
                    (OrnamentKind::WavyLine, SpanKind::TrillLine),
                    (
                        OrnamentKind::Tremolo { strokes, between },
                        SpanKind::TremoloPair { strokes },
                    ),
                ]);
                self.ornamented(part, ornament, kind);
            }
            _ => self.principal(part),
        }
    }

    /// From one note to a later one, of any voice.
    fn note_span(&mut self, part: &mut Part, kind: SpanKind) -> Option<usize> {
        let notes: Vec<usize> = (0..part.events.len())
            .filter(|at| part.events[*at].is_note())
            .collect();
        if notes.len() < 2 {
            return None;
        }
        let first = self.choices.below(notes.len() - 1);
        let last = first + 1 + self.choices.below((notes.len() - 1 - first).min(8));
        let (a, b) = (&part.events[notes[first]], &part.events[notes[last]]);
        if key(a) >= key(b) {
            return None;
        }
        let anchor = |event: &Event| Anchor {
            place: event.place,
            element: Some(event.id),
        };
        let along = matches!(kind, SpanKind::Glissando | SpanKind::Slide);
        let open = kind == SpanKind::Slur && self.chance(self.palette.open_ends, 20);
        let span = Span {
            id: self.piece.ids.give(IdKind::Span),
            kind,
            start: Some(anchor(a)),
            end: (!open).then(|| anchor(b)),
            staff: Some(a.staff),
            side: self.side().filter(|_| !along),
        };
        part.spans.push(span);
        Some(notes[first])
    }

    /// A span whose first note has an ornament of its own, which no other has begun there.
    fn ornamented(&mut self, part: &mut Part, ornament: OrnamentKind, kind: SpanKind) {
        let taken = |part: &Part, at: usize| {
            part.events[at].is_grace()
                || part.events[at].ornaments.iter().any(|o| {
                    matches!(
                        o.kind,
                        OrnamentKind::Trill | OrnamentKind::WavyLine | OrnamentKind::Tremolo { .. }
                    )
                })
        };
        if part.spans.iter().any(|span| span.kind == kind) {
            return;
        }
        let before = part.spans.len();
        let Some(first) = self.note_span(part, kind) else {
            return;
        };
        if taken(part, first) {
            part.spans.truncate(before);
            return;
        }
        part.events[first].ornaments.push(Ornament {
            kind: ornament,
            side: part.spans.last().and_then(|span| span.side),
            accidentals: Vec::new(),
        });
    }

    /// Any place of the grid: the start of a bar, the end, or on the beats.
    pub(super) fn place(&mut self, bar: usize) -> Place {
        let length = self.piece.bars[bar].length;
        let quarter = self.choices.below(5);
        let offset = match i64::try_from(quarter) {
            Ok(4) => length,
            Ok(n) => (Rational::whole(n) * Rational::new(1, 2)).min(length),
            Err(_) => Rational::ZERO,
        };
        Place {
            bar: crate::BarIndex::from_usize(bar),
            offset,
        }
    }

    fn place_span(&mut self, part: &mut Part, kind: SpanKind) -> Option<Place> {
        let bars = self.piece.bars.len();
        let first = self.choices.below(bars);
        let last = first + self.choices.below(bars - first);
        let (start, end) = (self.place(first), self.place(last));
        // Two ottavas on one staff at once would be none.
        let overlaps = matches!(kind, SpanKind::Ottava { .. })
            && part
                .spans
                .iter()
                .any(|span| matches!(span.kind, SpanKind::Ottava { .. }));
        if start >= end || overlaps {
            return None;
        }
        let free = |place| Some(Anchor { place, element: None });
        let staff = if part.staves > 1 { Some(1) } else { None };
        let span = Span {
            id: self.piece.ids.give(IdKind::Span),
            kind,
            start: free(start),
            end: free(end),
            staff,
            side: self.side(),
        };
        part.spans.push(span);
        Some(start)
    }

    /// The bracket of the principal voice, with the sign that starts it.
    fn principal(&mut self, part: &mut Part) {
        let kind = SpanKind::Other("principal-voice".to_owned());
        if part.spans.iter().any(|span| span.kind == kind) {
            return;
        }
        let Some(place) = self.place_span(part, kind) else {
            return;
        };
        let Some((staff, side)) = part.spans.last().map(|span| (span.staff, span.side)) else {
            return;
        };
        part.directions.push(Direction {
            id: self.piece.ids.give(IdKind::Direction),
            place,
            staff,
            voice: None,
            side,
            printed: true,
            kind: DirectionKind::Sign {
                name: "principal-voice".to_owned(),
                text: "Hauptstimme".to_owned(),
            },
        });
    }
}

/// Order of events in time: grace notes before and after their main note told apart by their place.
fn key(event: &Event) -> (Place, u8, u16) {
    match event.grace {
        Some(grace) => (event.place, 0, grace.order),
        None => (event.place, 1, 0),
    }
}
