//! What is in force where? Clef, key, transposition and ottava followed along a part in one pass.

use notation::{Clef, KeySignature, Part, Place, Span, SpanKind, Transposition};

/// The state of a part at a place, moved forward only: one pass over the changes whatever the length.
pub(crate) struct InForce<'a> {
    part: &'a Part,
    clef_next: usize,
    key_next: usize,
    transposition_next: usize,
    ottava_next: usize,
    clefs: Vec<Option<Clef>>,
    keys: Vec<Option<&'a KeySignature>>,
    transposition: Transposition,
    ottavas: Vec<&'a Span>,
    sounding: Vec<&'a Span>,
}

impl<'a> InForce<'a> {
    /// Before anything.
    pub(crate) fn new(part: &'a Part) -> Self {
        let staves = usize::from(part.staves).max(1);
        let mut ottavas: Vec<&Span> = part
            .spans
            .iter()
            .filter(|span| matches!(span.kind, SpanKind::Ottava { .. }) && span.start.is_some())
            .collect();
        ottavas.sort_by_key(|span| span.start.map(|anchor| anchor.place));
        Self {
            part,
            clef_next: 0,
            key_next: 0,
            transposition_next: 0,
            ottava_next: 0,
            clefs: vec![None; staves],
            keys: vec![None; staves],
            transposition: Transposition::default(),
            ottavas,
            sounding: Vec::new(),
        }
    }

    /// Moves to a place at or after the last one.
    pub(crate) fn advance(&mut self, place: Place) {
        while let Some(change) = self.part.clefs.get(self.clef_next).filter(|c| c.place <= place) {
            set(&mut self.clefs, change.staff, Some(change.value));
            self.clef_next += 1;
        }
        while let Some(change) = self.part.keys.get(self.key_next).filter(|c| c.place <= place) {
            set(&mut self.keys, change.staff, Some(&change.value));
            self.key_next += 1;
        }
        while let Some(change) = self
            .part
            .transpositions
            .get(self.transposition_next)
            .filter(|c| c.place <= place)
        {
            self.transposition = change.value;
            self.transposition_next += 1;
        }
        while let Some(span) = self
            .ottavas
            .get(self.ottava_next)
            .filter(|span| span.start.is_some_and(|anchor| anchor.place <= place))
        {
            self.sounding.push(span);
            self.ottava_next += 1;
        }
        self.sounding.retain(|span| {
            span.end
                .is_none_or(|end| place < end.place || end.place == place && end.element.is_some())
        });
    }

    /// The clef of a staff (from 1).
    pub(crate) fn clef(&self, staff: u8) -> Option<Clef> {
        self.clefs.get(index(staff)).copied().flatten()
    }

    /// The key signature of a staff (from 1); `None` before any.
    pub(crate) fn key(&self, staff: u8) -> Option<&'a KeySignature> {
        self.keys.get(index(staff)).copied().flatten()
    }

    /// The transposition.
    pub(crate) const fn transposition(&self) -> Transposition {
        self.transposition
    }

    /// Octaves by which an ottava draws a staff's notes away from their sound (1 under 8va).
    pub(crate) fn ottava(&self, staff: u8) -> i8 {
        self.sounding
            .iter()
            .find(|span| span.staff.is_none_or(|s| s == staff))
            .map_or(0, |span| match span.kind {
                SpanKind::Ottava { octaves } => octaves,
                _ => 0,
            })
    }
}

fn index(staff: u8) -> usize {
    usize::from(staff).saturating_sub(1)
}

fn set<T: Copy>(of_staves: &mut [T], staff: Option<u8>, value: T) {
    match staff {
        Some(staff) => {
            if let Some(slot) = of_staves.get_mut(index(staff)) {
                *slot = value;
            }
        }
        None => of_staves.fill(value),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        /// Slow twin: the walk agrees with the piece model's own look-ups at every note.
        #[test]
        fn the_walk_agrees_with_looking_up(tokens in prop::collection::vec(0usize..9, 1..40)) {
            let words = ["C5/q", "clef:F4 E3/e", "clef:C3 A4/e", "key:-3 B4/q", "trans:-1,-2 D5/q", "|", "8va C6/q 8va.", "clef:G2", "key:2"];
            let mut text = String::from("C4/q ");
            for token in tokens {
                text.push_str(words[token]);
                text.push(' ');
            }
            let piece = notation::sketch(&text).expect("a sketch");
            let part = &piece.parts[0];
            let mut walk = InForce::new(part);
            for event in &part.events {
                walk.advance(event.place);
                prop_assert_eq!(walk.clef(1), part.clef_at(1, event.place));
                prop_assert_eq!(walk.key(1), part.key_at(1, event.place));
                prop_assert_eq!(walk.transposition(), part.transposition_at(event.place));
                prop_assert_eq!(walk.ottava(1), part.ottava_at(1, event.place));
            }
        }
    }
}
