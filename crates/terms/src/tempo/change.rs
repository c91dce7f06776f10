//! What does a change of tempo do to the speed?
//!
//! Direction and onset are common practice; the factors are modest defaults from memory, only so that a playing time
//! can be estimated: nobody's ritardando is a number.

use std::ops::Range;

use crate::analysis::{Piece, Sense};
use crate::compose::{self, Unit};
use crate::dictionary::{Entry, Part};
use crate::inflect::Shade;
use crate::kind::Kind;
use crate::reading::understood;

/// Where the speed goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum ChangeDirection {
    /// Slower than before.
    Slower,
    /// Faster than before.
    Faster,
    /// Back to the speed before the change, or to the first speed.
    Back,
    /// The same speed goes on.
    Same,
    /// Free of strict time.
    Free,
    /// Time is held: a fermata, a long pause.
    Held,
}

/// How the change comes in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Onset {
    /// Little by little.
    Gradual,
    /// At once.
    AtOnce,
}

/// One change of tempo found in a text.
#[derive(Clone, Debug, PartialEq)]
pub struct TempoChange {
    /// Bytes of the text that it takes.
    pub range: Range<usize>,
    /// The dictionary's spelling of its main word.
    pub lemma: &'static str,
    /// Its meaning.
    pub meaning: String,
    /// Where the speed goes.
    pub direction: ChangeDirection,
    /// How it comes in.
    pub onset: Onset,
    /// Speed reached over speed before, a default from memory; 1 where the words give none.
    pub factor: f64,
    /// Back to the very first tempo ("Tempo I"), not to the one before the last change.
    pub to_first: bool,
}

/// Factors for "più/meno" before a tempo word, from memory.
const PIU: f64 = 1.15;
const MENO: f64 = 0.87;

/// The changes of tempo in a text, in order.
///
/// ```
/// use terms::tempo::{ChangeDirection, Onset, changes};
/// let found = changes("poco rit.");
/// assert_eq!((found[0].direction, found[0].onset), (ChangeDirection::Slower, Onset::Gradual));
/// ```
pub fn changes(text: &str) -> Vec<TempoChange> {
    let (pieces, units) = understood(text);
    units.iter().filter_map(|unit| change(unit, &pieces)).collect()
}

fn change(unit: &Unit, pieces: &[Piece]) -> Option<TempoChange> {
    let Sense::Term { entry, shade, .. } = pieces.get(unit.head?)?.sense else {
        return None;
    };
    let (meaning, kind) = compose::unit_meaning(unit, pieces, true)?;
    if kind != Kind::ChangeOfTempo {
        return None;
    }
    let denied = unit
        .before
        .iter()
        .any(|small| matches!(small.part, Part::Not | Part::Without));
    let (direction, mut onset, factor) = match listed(&entry) {
        _ if denied => (ChangeDirection::Same, Onset::AtOnce, 1.0),
        Some(known) => known,
        None => compared(&entry, shade, unit)?,
    };
    let mut exponent = 1.0;
    for small in unit.before.iter().chain(&unit.after) {
        match (small.part, small.before) {
            (Part::Degree, "very" | "extremely" | "much") => exponent *= 1.5,
            (Part::Degree, "slightly" | "a little" | "somewhat" | "rather" | "fairly" | "lightly") => {
                exponent *= 0.5
            }
            (Part::NotMuch, _) => exponent *= 0.75,
            (Part::Gradually | Part::Always, _) | (Part::Other, "more and more" | "less and less") => {
                onset = Onset::Gradual
            }
            (Part::Suddenly, _) => onset = Onset::AtOnce,
            _ => {}
        }
    }
    let start = pieces.get(unit.first)?.range.start;
    let end = pieces.get(unit.last)?.range.end;
    Some(TempoChange {
        range: start..end,
        lemma: entry.term,
        meaning,
        direction,
        onset,
        factor: factor.powf(exponent),
        to_first: FIRST.contains(&entry.term),
    })
}

/// Words that name the first tempo of the piece.
const FIRST: [&str; 4] = [
    "tempo primo",
    "premier mouvement",
    "Hauptzeitmass",
    "original tempo",
];

/// Direction, onset and factor as the dictionary lists them.
fn listed(entry: &Entry) -> Option<(ChangeDirection, Onset, f64)> {
    let mut words = entry.change()?.split(' ');
    let direction = match words.next()? {
        "slower" => ChangeDirection::Slower,
        "faster" => ChangeDirection::Faster,
        "back" => ChangeDirection::Back,
        "same" => ChangeDirection::Same,
        "free" => ChangeDirection::Free,
        "held" => ChangeDirection::Held,
        _ => return None,
    };
    let onset = match words.next() {
        Some("gradually") => Onset::Gradual,
        _ => Onset::AtOnce,
    };
    let factor = words.next().and_then(|number| number.parse().ok()).unwrap_or(1.0);
    Some((direction, onset, factor))
}

/// "più lento", "meno allegro", "bewegter": which way depends on the word compared.
fn compared(entry: &Entry, shade: Shade, unit: &Unit) -> Option<(ChangeDirection, Onset, f64)> {
    let less = unit
        .before
        .iter()
        .chain(&unit.after)
        .any(|small| small.part == Part::Less || small.before == "less and less");
    let slow_word = is_slow(entry)?;
    let more = !less || shade == Shade::More;
    Some(if more == slow_word {
        (ChangeDirection::Slower, Onset::AtOnce, MENO)
    } else {
        (ChangeDirection::Faster, Onset::AtOnce, PIU)
    })
}

/// Whether more of this word is slower. Andante is a walking word: more of it moves on (common practice).
fn is_slow(entry: &Entry) -> Option<bool> {
    let pace = entry.pace()?;
    Some(matches!(
        pace,
        "larghissimo"
            | "grave"
            | "largo"
            | "lentissimo"
            | "lento"
            | "larghetto"
            | "adagio"
            | "adagietto"
            | "tranquillo"
            | "maestoso"
            | "moderato"
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(text: &str, direction: ChangeDirection, onset: Onset) -> f64 {
        let found = changes(text);
        assert_eq!(found.len(), 1, "{text}: {found:?}");
        assert_eq!((found[0].direction, found[0].onset), (direction, onset), "{text}");
        found[0].factor
    }

    #[test]
    fn slower_and_faster() {
        use ChangeDirection::{Faster, Slower};
        use Onset::{AtOnce, Gradual};
        let rit = check("rit.", Slower, Gradual);
        let poco = check("poco rit.", Slower, Gradual);
        let molto = check("molto rit.", Slower, Gradual);
        assert!(molto < rit && rit < poco && poco < 1.0);
        check("ritenuto", Slower, AtOnce);
        check("accel.", Faster, Gradual);
        check("più mosso", Faster, AtOnce);
        check("poco a poco più mosso", Faster, Gradual);
        check("meno mosso", Slower, AtOnce);
        check("più lento", Slower, AtOnce);
        check("meno allegro", Slower, AtOnce);
        check("Etwas bewegter", Faster, AtOnce);
        check("immer langsamer", Slower, Gradual);
        check("un peu plus lent", Slower, AtOnce);
        check("Piu presto", Faster, AtOnce);
        check("sempre più allegro", Faster, Gradual);
        check("cédez", Slower, Gradual);
        check("Doppio movimento", Faster, AtOnce);
    }

    #[test]
    fn back_same_free_held() {
        check("a tempo", ChangeDirection::Back, Onset::AtOnce);
        check("Tempo I", ChangeDirection::Back, Onset::AtOnce);
        check("L'istesso tempo", ChangeDirection::Same, Onset::AtOnce);
        check("ad lib.", ChangeDirection::Free, Onset::AtOnce);
        check("senza rit.", ChangeDirection::Same, Onset::AtOnce);
        check("lunga", ChangeDirection::Held, Onset::AtOnce);
        assert!(changes("Tempo primo")[0].to_first);
        assert!(!changes("a tempo")[0].to_first);
    }

    #[test]
    fn several_changes_in_one_text() {
        let found: Vec<_> = changes("rit. - - - a tempo")
            .into_iter()
            .map(|change| change.lemma)
            .collect();
        assert_eq!(found, ["ritardando", "a tempo"]);
        assert_eq!(changes("Allegro con fuoco"), Vec::new());
    }

    #[test]
    fn every_listed_change_is_well_formed() {
        for entry in crate::entries() {
            if let Some(text) = entry.change() {
                let (direction, _, factor) =
                    listed(entry).unwrap_or_else(|| panic!("{}: {text}", entry.term));
                let sane = match direction {
                    ChangeDirection::Slower => (0.4..1.0).contains(&factor),
                    ChangeDirection::Faster => factor > 1.0 && factor <= 2.0,
                    _ => factor == 1.0,
                };
                assert!(sane, "{}: {text}", entry.term);
            }
        }
    }
}
