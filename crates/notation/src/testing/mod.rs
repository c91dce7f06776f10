//! How do we get rich valid pieces for tests of laws? A piece composed at random from a string of bytes, for readers' and
//! writers' round trips. Only with the feature `testing`; no part of any program.
//!
//! Bytes in, piece out: a property test shrinks the bytes (no bytes make one plain bar), a fuzzer mutates them. What the
//! pieces hold is what the readers make of real files: bars that fill, ties that meet, spans whose ends stand in order.
//!
//! ```
//! use notation::testing::{Palette, piece};
//! let bytes: Vec<u8> = (0..200).map(|n| (n * 37 % 251) as u8).collect();
//! let music = piece(&bytes, &Palette::default());
//! assert!(!music.bars.is_empty() && !music.parts[0].events.is_empty());
//! assert_eq!(music, piece(&bytes, &Palette::default()));
//! ```

mod bars;
mod choices;
mod lines;
mod marks;
mod rhythm;
mod signs;
mod spans;

use crate::{BarGroup, BarGroupKind, BarIndex, IdKind, Part, Piece, Quarters};
use choices::Choices;

/// What may stand in the pieces; a writer of a poorer standard turns off what it can't say.
#[derive(Clone, Debug)]
#[expect(missing_docs, reason = "each is named for what it lets in")]
pub struct Palette {
    /// At most so many parts.
    pub parts: usize,
    /// At most so many bars.
    pub bars: usize,
    /// At most so many voices in a part.
    pub voices: usize,
    pub two_staves: bool,
    pub chords: bool,
    pub graces: bool,
    pub tuplets: bool,
    pub nested_tuplets: bool,
    pub ties: bool,
    pub beams: bool,
    pub pickups: bool,
    /// Metres of more than one number above or fraction, and none.
    pub odd_metres: bool,
    /// Metres, keys and clefs that change within the piece.
    pub changes: bool,
    pub listed_keys: bool,
    pub transposition: bool,
    /// Quarter-tones.
    pub microtones: bool,
    pub unpitched: bool,
    pub articulations: bool,
    pub ornaments: bool,
    pub technical: bool,
    pub fermatas: bool,
    pub lyrics: bool,
    pub cues: bool,
    /// Notes and signs that the source says are not printed.
    pub hidden: bool,
    /// Slurs.
    pub slurs: bool,
    /// Hairpins.
    pub hairpins: bool,
    /// Ottavas, pedals, lines, trills, glissandos and the rest.
    pub other_spans: bool,
    /// Spans without an end.
    pub open_ends: bool,
    /// Words, dynamics, metronome and rehearsal marks, segno and coda.
    pub directions: bool,
    /// Rarer signs by the standard's name.
    pub signs: bool,
    pub repeats: bool,
    pub bar_groups: bool,
    pub sound_hints: bool,
    pub breaks: bool,
    pub credits: bool,
}

impl Default for Palette {
    /// All of it.
    fn default() -> Self {
        Self {
            parts: 3,
            bars: 6,
            voices: 3,
            ..Self::all(true)
        }
    }
}

impl Palette {
    /// One part, one voice, plain notes and rests; switch on what is wanted.
    #[must_use]
    pub fn plain() -> Self {
        Self {
            parts: 1,
            bars: 6,
            voices: 1,
            ..Self::all(false)
        }
    }

    const fn all(on: bool) -> Self {
        Self {
            parts: 1,
            bars: 1,
            voices: 1,
            two_staves: on,
            chords: on,
            graces: on,
            tuplets: on,
            nested_tuplets: on,
            ties: on,
            beams: on,
            pickups: on,
            odd_metres: on,
            changes: on,
            listed_keys: on,
            transposition: on,
            microtones: on,
            unpitched: on,
            articulations: on,
            ornaments: on,
            technical: on,
            fermatas: on,
            lyrics: on,
            cues: on,
            hidden: on,
            slurs: on,
            hairpins: on,
            other_spans: on,
            open_ends: on,
            directions: on,
            signs: on,
            repeats: on,
            bar_groups: on,
            sound_hints: on,
            breaks: on,
            credits: on,
        }
    }
}

/// What the makers of a piece share.
struct Maker<'b> {
    choices: Choices<'b>,
    palette: Palette,
    piece: Piece,
    /// For each bar the length that the metre in force at its start asks for.
    metres: Vec<Option<Quarters>>,
}

/// The piece that some bytes make.
#[must_use]
pub fn piece(bytes: &[u8], palette: &Palette) -> Piece {
    let mut maker = Maker {
        choices: Choices::new(bytes),
        palette: palette.clone(),
        piece: Piece::default(),
        metres: Vec::new(),
    };
    maker.credits();
    let metres = maker.grid();
    let parts = 1 + maker.choices.below(palette.parts.max(1));
    for number in 0..parts {
        let mut part = maker.new_part(number);
        maker.part_changes(&mut part, &metres);
        let rests = maker.bar_groups(&mut part);
        maker.music(&mut part, &rests);
        maker.marks(&mut part);
        maker.spans(&mut part);
        maker.directions(&mut part, number);
        part.spans
            .sort_by_key(|span| span.start.or(span.end).map(|anchor| anchor.place));
        part.index_bars(maker.piece.bars.len());
        let bars = |group: &BarGroup| (group.start.0..group.start.0 + group.bars).map(BarIndex);
        let groups = std::mem::take(&mut part.bar_groups);
        // Readers write out what a repeat sign stands for: no bar under one is empty.
        let kept = |group: &BarGroup| {
            !matches!(group.kind, BarGroupKind::MeasureRepeat { .. })
                || bars(group).all(|bar| !part.bar_events(bar).is_empty())
        };
        part.bar_groups = groups.into_iter().filter(kept).collect();
        maker.piece.parts.push(part);
    }
    maker.bar_lines();
    let mut piece = maker.piece;
    piece.barlines.sort_by_key(|line| (line.place, line.side));
    piece.sound_hints.sort_by_key(|hint| hint.place);
    piece
}

impl Maker<'_> {
    fn chance(&mut self, allowed: bool, of_256: u8) -> bool {
        allowed && self.choices.chance(of_256)
    }

    fn credits(&mut self) {
        if !self.chance(self.palette.credits, 128) {
            return;
        }
        let credits = &mut self.piece.credits;
        credits.title = Some("Sonata & “Ländler” <in D>".to_owned());
        credits.movement = self.choices.chance(128).then(|| "II. Andante".to_owned());
        credits.numbers = vec!["op. 3".to_owned()];
        credits.people = vec![
            ("composer".to_owned(), "A. Nonym".to_owned()),
            (String::new(), "somebody".to_owned()),
        ];
        credits.rights = vec!["© 2026".to_owned()];
        credits.page_words = vec!["for the\nschool concert".to_owned()];
    }

    fn new_part(&mut self, number: usize) -> Part {
        const NAMES: [(&str, &str); 4] = [
            ("Flute", "Fl."),
            ("Clarinet in B♭", "Cl."),
            ("Cello", ""),
            ("", ""),
        ];
        let (name, abbreviation) = NAMES[(number + self.choices.below(4)) % NAMES.len()];
        let id = self.piece.ids.give(IdKind::Part);
        let mut part = Part::new(id, name);
        part.abbreviation = abbreviation.to_owned();
        if self.chance(self.palette.credits, 60) {
            part.instrument_name = Some(format!("{name} solo").trim().to_owned());
            part.instrument_sound = Some("wind.flutes.flute".to_owned());
            part.midi_program = Some(74);
        }
        if self.chance(self.palette.two_staves, 50) {
            part.staves = 2;
        } else if self.chance(self.palette.unpitched, 30) {
            part.staff_lines.push((1, 1));
        }
        part
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{EventKind, SpanKind};
    use proptest::prelude::*;

    proptest! {
        /// Every first voice fills its bars, every span ends after it starts, ids are unique.
        #[test]
        fn the_pieces_hang_together(bytes in proptest::collection::vec(any::<u8>(), 0..1500)) {
            let piece = piece(&bytes, &Palette::default());
            let mut ids = std::collections::BTreeSet::new();
            for part in &piece.parts {
                for event in &part.events {
                    prop_assert!(ids.insert(event.id));
                    prop_assert!(event.end_offset() <= piece.bars[event.place.bar.get()].length);
                    if let Some(written) = &event.written
                        && event.grace.is_none()
                        && !matches!(event.kind, EventKind::Rest { whole_bar: true })
                    {
                        prop_assert_eq!(written.quarters(), event.duration);
                    }
                    for head in event.heads() {
                        prop_assert!(ids.insert(head.id));
                    }
                }
                for span in &part.spans {
                    if let (Some(start), Some(end)) = (span.start, span.end) {
                        prop_assert!(start.place <= end.place, "{:?}", span);
                        prop_assert!(start != end || matches!(span.kind, SpanKind::TrillLine));
                    }
                }
                for (index, bar) in piece.bars.iter().enumerate() {
                    let filled = part
                        .bar_events(crate::BarIndex::from_usize(index))
                        .iter()
                        .filter(|event| event.voice == 0)
                        .fold(Quarters::ZERO, |sum, event| sum + event.duration);
                    prop_assert_eq!(filled, bar.length);
                }
            }
            prop_assert!(piece.same_page(&piece.clone()).is_ok());
        }
    }
}
