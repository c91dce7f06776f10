//! How do a few bars become a piece of their own? With what is in force where they begin, and what reaches in from outside cut
//! at their edges. Ids stay those of the piece.

use crate::{
    Anchor, Bar, BarGroup, BarIndex, Barline, Change, Part, Piece, Place, Provenance, SectionOrders, Span,
    SpanKind,
};

/// The bars from..=to of the piece's first part; the first of them is bar 0 of the answer.
#[must_use]
pub fn excerpt(piece: &Piece, from: BarIndex, to: BarIndex) -> Piece {
    let range = Range {
        from: from.0,
        to: to
            .0
            .max(from.0)
            .min(u32::try_from(piece.bars.len().saturating_sub(1)).unwrap_or(u32::MAX)),
    };
    let mut bars: Vec<Bar> = (range.from..=range.to)
        .filter_map(|bar| piece.bars.get(BarIndex(bar).get()).cloned())
        .collect();
    for bar in &mut bars {
        (bar.new_system, bar.new_page) = (false, false);
    }
    let mut parts: Vec<Part> = piece
        .parts
        .iter()
        .take(1)
        .map(|part| range.part(piece, part))
        .collect();
    for part in &mut parts {
        part.index_bars(bars.len());
    }
    Piece {
        credits: piece.credits.clone(),
        bars,
        parts,
        barlines: piece
            .barlines
            .iter()
            .filter(|line| line.part == 0)
            .filter_map(|line| range.barline(line))
            .collect(),
        sound_hints: Vec::new(),
        section_orders: SectionOrders::default(),
        concert_pitch: piece.concert_pitch,
        provenance: Provenance::default(),
        ids: piece.ids.clone(),
    }
}

/// Bars kept, both inclusive.
struct Range {
    from: u32,
    to: u32,
}

impl Range {
    fn place(&self, place: Place) -> Option<Place> {
        (self.from..=self.to).contains(&place.bar.0).then(|| Place {
            bar: BarIndex(place.bar.0 - self.from),
            ..place
        })
    }

    fn part(&self, piece: &Piece, part: &Part) -> Part {
        let mut cut = part.clone();
        cut.events.retain_mut(|event| self.keep(&mut event.place));
        cut.directions
            .retain_mut(|direction| self.keep(&mut direction.place));
        cut.clefs = self.changes(&part.clefs);
        cut.keys = self.changes(&part.keys);
        cut.metres = self.changes(&part.metres);
        cut.transpositions = self.changes(&part.transpositions);
        cut.spans = part
            .spans
            .iter()
            .filter_map(|span| self.span(piece, span))
            .collect();
        cut.bar_groups = part
            .bar_groups
            .iter()
            .filter_map(|group| self.group(group))
            .collect();
        cut
    }

    fn keep(&self, place: &mut Place) -> bool {
        match self.place(*place) {
            Some(moved) => {
                *place = moved;
                true
            }
            None => false,
        }
    }

    /// Changes inside, and before them the last one of each staff from before, unless another stands where the bars begin.
    fn changes<T: Clone>(&self, changes: &[Change<T>]) -> Vec<Change<T>> {
        let start = Place::start_of(BarIndex(self.from));
        let mut kept: Vec<Change<T>> = Vec::new();
        for change in changes.iter().filter(|change| change.place <= start) {
            // One for all staves ends what was said for each.
            kept.retain(|known| change.staff.is_some() && known.staff != change.staff);
            let mut change = change.clone();
            change.place = Place::start_of(BarIndex(0));
            kept.push(change);
        }
        let inside = changes.iter().filter(|change| change.place > start);
        kept.extend(inside.filter_map(|change| {
            let mut change = change.clone();
            self.keep(&mut change.place).then_some(change)
        }));
        kept
    }

    /// A span that lies inside, or the part of it that does.
    fn span(&self, piece: &Piece, span: &Span) -> Option<Span> {
        let (start, end) = (span.start?, span.end?);
        if end.place.bar.0 < self.from || start.place.bar.0 > self.to {
            return None;
        }
        // A hairpin or line that ends where the bars begin doesn't reach into them.
        if end.element.is_none()
            && end.place == Place::start_of(BarIndex(self.from))
            && start.place < end.place
        {
            return None;
        }
        let mut kept = span.clone();
        kept.start = Some(match self.place(start.place) {
            Some(place) => Anchor { place, ..start },
            None => Anchor {
                place: Place::start_of(BarIndex(0)),
                element: None,
            },
        });
        kept.end = Some(match self.place(end.place) {
            Some(place) => Anchor { place, ..end },
            None => Anchor {
                place: Place {
                    bar: BarIndex(self.to - self.from),
                    offset: piece.bars.get(BarIndex(self.to).get())?.length,
                },
                element: None,
            },
        });
        let whole = kept.start.map(|anchor| anchor.element) == Some(start.element)
            && kept.end.map(|anchor| anchor.element) == Some(end.element);
        // A tuplet or a tremolo never reaches over a bar line; pieces of them would be none.
        let divisible = !matches!(
            span.kind,
            SpanKind::Tuplet { .. } | SpanKind::TremoloPair { .. } | SpanKind::Glissando | SpanKind::Slide
        );
        (whole || divisible).then_some(kept)
    }

    /// A sign for several bars, if all of them are kept.
    fn group(&self, group: &BarGroup) -> Option<BarGroup> {
        let last = group.start.0.checked_add(group.bars)?.checked_sub(1)?;
        let inside = group.start.0 >= self.from && last <= self.to;
        inside.then(|| {
            let mut group = group.clone();
            group.start = BarIndex(group.start.0 - self.from);
            group
        })
    }

    fn barline(&self, line: &Barline) -> Option<Barline> {
        let mut line = line.clone();
        self.keep(&mut line.place).then_some(line)
    }
}

#[cfg(test)]
mod tests {
    use super::excerpt;
    use crate::{BarIndex, Place, sketch};

    #[test]
    fn bars_take_along_what_is_in_force() {
        let piece = sketch("key:-2 Bb4/q C5/q D5/q Eb5/q | F5/w | D5/h C5/h | Bb4/w |").unwrap();
        let few = excerpt(&piece, BarIndex(1), BarIndex(2));
        assert_eq!(few.bars.len(), 2);
        assert_eq!(few.bars[0].id, piece.bars[1].id);
        let part = &few.parts[0];
        assert_eq!(part.events.len(), 3);
        assert_eq!(part.bar_events(BarIndex(1)).len(), 2);
        let start = Place::start_of(BarIndex(0));
        assert_eq!(part.key_at(1, start).and_then(|key| key.fifths), Some(-2));
        assert_eq!(part.clef_at(1, start), piece.parts[0].clef_at(1, start));
        assert_eq!(part.metre_at(start), piece.parts[0].metre_at(start));
    }

    #[test]
    fn bars_that_are_not_there_make_nothing_of_nothing() {
        let piece = sketch("C4/w | D4/w |").unwrap();
        assert_eq!(excerpt(&piece, BarIndex(7), BarIndex(9)).bars.len(), 0);
        assert_eq!(excerpt(&piece, BarIndex(1), BarIndex(0)).bars.len(), 1);
    }
}
