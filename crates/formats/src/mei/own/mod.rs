//! What does our own writer say beyond MEI? In files that we wrote, the words in `type` and the ids tell the page again
//! exactly; files of other programs are read by MEI's meaning alone.
//!
//! What each word means stands at the module of [`super::write`] that writes it.

mod beside;
mod force;
mod lines;
mod notes;
mod sections;
mod text;

pub(super) use lines::ending;
pub(super) use text::raw;

use super::music::Music;
use crate::xml::El;
use beside::OwnControl;
use force::OwnForce;
use notation::{BarIndex, BarSide, Beam, Rational, SectionList};
use std::collections::BTreeMap;

/// What is remembered while a file of our own is read.
#[derive(Default)]
pub(super) struct Own {
    controls: Vec<OwnControl>,
    /// Beams told note by note: part, event, beams.
    beams: Vec<(usize, usize, Vec<Beam>)>,
    /// What changes with the next bar, by staff of the score.
    pending: Vec<(usize, OwnForce)>,
    /// The places that marks have in their lists, where their ids tell them: part, event, list, place now, place meant.
    orders: BTreeMap<(usize, usize, List), Vec<(usize, u32)>>,
    concert_pitch: bool,
    /// Names of sections by their ids, and the lists of them.
    sections: BTreeMap<String, String>,
    lists: Vec<(SectionList, Vec<String>)>,
    /// Endings that are open: whether they have no stop, and whether it has no number.
    endings: Vec<(bool, bool)>,
    /// What the words of measures say of their bar lines.
    lines: BTreeMap<(BarIndex, BarSide), Vec<String>>,
}

/// A list of marks of an event.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
enum List {
    Articulations,
    Ornaments,
    Technical,
    OfHead(usize),
}

/// The words of `type`.
pub(super) fn words<'t>(el: El<'t, '_>) -> impl Iterator<Item = &'t str> {
    el.attr("type")
        .unwrap_or_default()
        .split(' ')
        .filter(|word| !word.is_empty())
}

/// True if `type` has a word.
pub(super) fn has(el: El<'_, '_>, word: &str) -> bool {
    words(el).any(|one| one == word)
}

/// What follows a prefix in one of the words.
pub(super) fn after<'t>(el: El<'t, '_>, prefix: &str) -> Option<&'t str> {
    words(el).find_map(|word| word.strip_prefix(prefix))
}

/// An amount written as a decimal number of at most nine places: the simplest fraction that is written so.
pub(super) fn exact(text: &str) -> Option<Rational> {
    let near = Rational::parse(text.trim())?;
    let places = text.split_once('.').map_or(0, |(_, places)| places.trim().len());
    if places < 9 {
        return Some(near);
    }
    let off = Rational::new(1, 1_000_000_000);
    // Continued fractions: the first convergent that is near enough.
    let (mut a, mut b) = ((0_i64, 1_i64), (1_i64, 0_i64));
    let mut rest = near;
    for _ in 0..24 {
        let whole = rest.floor();
        let next = (
            whole.checked_mul(b.0)?.checked_add(a.0)?,
            whole.checked_mul(b.1)?.checked_add(a.1)?,
        );
        (a, b) = (b, next);
        let candidate = Rational::new(b.0, b.1);
        if (candidate - near).abs() < off {
            return Some(candidate);
        }
        let left = rest - Rational::whole(whole);
        if left.is_zero() {
            break;
        }
        rest = Rational::ONE / left;
    }
    Some(near)
}

impl<'a> Music<'a> {
    /// Notes whether the file is one of ours, by the program that it names.
    pub(super) fn know_own(&mut self, head: El<'_, 'a>) {
        let application = head
            .child("encodingDesc")
            .and_then(|encoding| encoding.child("appInfo"))
            .and_then(|info| info.child("application"));
        let name = application.and_then(|application| application.child("name"));
        if name.is_some_and(|name| name.text() == "Foreread") {
            self.own = Some(Own::default());
            self.accidentals_from_page = false;
            self.own_credits(head);
        }
    }

    /// Puts in place what could only be known when all is read.
    pub(super) fn finish_own(&mut self) {
        let Some(mut own) = self.own.take() else { return };
        self.score.piece.concert_pitch |= own.concert_pitch;
        self.finish_sections(&own.sections, std::mem::take(&mut own.lists));
        let controls = std::mem::take(&mut own.controls);
        self.own = Some(own);
        for control in controls {
            self.put_own(&control);
        }
        let Some(own) = self.own.take() else { return };
        self.finish_octaves();
        self.finish_lines(&own.lines);
        for ((part, event, list), places) in own.orders {
            if let Some(event) = self.event_mut(part, event) {
                notes::reorder(event, list, &places);
            }
        }
        for (part, event, beams) in own.beams {
            if let Some(event) = self.event_mut(part, event) {
                event.beams = beams;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn decimals_are_the_fractions_that_were_meant() {
        assert_eq!(exact("1.333333333"), Some(Rational::new(4, 3)));
        assert_eq!(exact("2.142857143"), Some(Rational::new(15, 7)));
        assert_eq!(exact("0.000976563"), Some(Rational::new(1, 1024)));
        assert_eq!(exact("3.5"), Some(Rational::new(7, 2)));
        assert_eq!(exact("x"), None);
    }
}
