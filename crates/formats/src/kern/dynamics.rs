//! How loud? The spines `**dynam` and `**dyn`: marks by their letters, hairpins by their signs, words.
//!
//! Source: Humdrum user's guide, chapter 28: `<` starts a crescendo, `(` goes on with it, `[` ends it; `> ) ]` likewise.

use super::layout::Home;
use super::part::Reader;
use super::scan::Cell;
use notation::{Anchor, DirectionKind, Place, SpanKind};

/// Letters of dynamic marks.
const LETTERS: &str = "pfmszrn";

impl<'a> Reader<'a, '_> {
    /// Reads a token of dynamics.
    pub(super) fn dynamics(&mut self, cell: &Cell<'a>, home: Home) {
        let spine = self.spine_of(cell);
        let side = self.spines[spine].side;
        for word in cell.text.split(' ').filter(|word| !word.is_empty()).take(50) {
            let hidden = word.ends_with("yy");
            let mut rest = word;
            while let Some(c) = rest.chars().next() {
                let letters = rest.trim_start_matches(|c| LETTERS.contains(c));
                let mark = &rest[..rest.len() - letters.len()];
                let word_end = rest.find(|c| "<>()[]".contains(c)).unwrap_or(rest.len());
                match c {
                    '<' | '>' => self.hairpin(cell, home, c == '<', hidden),
                    '[' | ']' => self.end_hairpin(home, cell),
                    // It goes on; or said by an editor, in a footnote, hidden.
                    '(' | ')' | 'X' | 'x' | 'y' | 'Y' | '?' | '.' | ';' | 'v' => {}
                    _ if !mark.is_empty()
                        && !letters.starts_with(|c: char| c.is_alphabetic() && !"Xxy".contains(c)) =>
                    {
                        let kind = DirectionKind::Dynamic(mark.to_owned());
                        self.direct(cell, home, side, !hidden, kind);
                        rest = letters;
                        continue;
                    }
                    _ => {
                        let text: String = rest[..word_end].chars().take(200).collect();
                        self.direct(cell, home, side, !hidden, DirectionKind::Words(text));
                        rest = &rest[word_end..];
                        continue;
                    }
                }
                rest = &rest[c.len_utf8()..];
            }
        }
    }

    fn hairpin(&mut self, cell: &Cell<'a>, home: Home, opens: bool, hidden: bool) {
        let spine = self.spine_of(cell);
        if self.spines[spine].hairpin.is_some() {
            self.end_hairpin_at(spine, home, self.place());
        }
        if hidden {
            return;
        }
        let kind = if opens {
            SpanKind::Crescendo { niente: false }
        } else {
            SpanKind::Diminuendo { niente: false }
        };
        let start = Anchor {
            place: self.place(),
            element: None,
        };
        let (staff, side) = (self.staff(home), self.spines[spine].side);
        let span = self.span(cell, home.part, kind, Some(start), staff, side);
        self.spines[spine].hairpin = Some(span);
    }

    /// The end sign stands at the last note under the hairpin: the line reaches that note, or its end if it starts there.
    fn end_hairpin(&mut self, home: Home, cell: &Cell<'a>) {
        let spine = self.spine_of(cell);
        let here = self.place();
        let Some(span) = self.spines[spine].hairpin else {
            self.find(
                home.part,
                notation::Severity::Caution,
                "unpaired-hairpin",
                "a hairpin ends here that never started",
                "look on the page where it starts and ends",
            );
            return;
        };
        let start = self.parts[home.part].part.spans[span]
            .start
            .map(|anchor| anchor.place);
        let end = if start == Some(here) {
            self.end_of_note(home).unwrap_or(here)
        } else {
            here
        };
        self.end_hairpin_at(spine, home, end);
    }

    fn end_hairpin_at(&mut self, spine: usize, home: Home, place: Place) {
        if let Some(span) = self.spines[spine].hairpin.take() {
            self.parts[home.part].part.spans[span].end = Some(Anchor { place, element: None });
        }
    }

    /// Where the note that sounds beside this spine ends.
    fn end_of_note(&self, home: Home) -> Option<Place> {
        let event = self.spines.get(home.notes)?.event?;
        let event = self.parts.get(home.part)?.part.events.get(event)?;
        Some(Place {
            bar: event.place.bar,
            offset: event.end_offset(),
        })
    }

    /// Reports hairpins that never end.
    pub(super) fn finish_hairpins(&mut self) {
        for spine in 0..self.spines.len() {
            let (Some(span), Some(home)) = (self.spines[spine].hairpin.take(), self.layout.homes[spine])
            else {
                continue;
            };
            let start = self.parts[home.part].part.spans[span].start;
            let Some(anchor) = start else { continue };
            (self.bar, self.offset) = (anchor.place.bar, anchor.place.offset);
            self.find(
                home.part,
                notation::Severity::Caution,
                "unpaired-hairpin",
                "the hairpin that starts here never ends",
                "look on the page where it starts and ends",
            );
        }
    }
}
