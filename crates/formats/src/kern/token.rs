//! What does one note say? The signifiers of a `**kern` token, each with what stands after it about itself.
//!
//! Source: Humdrum reference, `**kern`, "Summary of Signifiers" and "Context dependencies".

use super::duration;
use super::signs::{self, Sign};
use super::user::{Meaning, Meanings};
use notation::{Pitch, Side, Step};

/// One note or rest of a token.
#[derive(Clone, PartialEq, Debug, Default)]
pub(super) struct Note<'a> {
    /// The duration's digits and dots; empty if not stated.
    pub number: &'a str,
    pub pitch: Option<Pitch>,
    pub accidental: Accidental,
    /// `r` once or more.
    pub rest: u8,
    pub tie_start: bool,
    pub tie_middle: bool,
    pub tie_stop: bool,
    /// Slurs and phrases in the order of the token.
    pub curves: Vec<Curve>,
    pub signs: Vec<Marked>,
    /// Beams begun, ended, hooks to the right, hooks to the left.
    pub beams: [u8; 4],
    /// `q` without or with a slash meant, or `Q`.
    pub grace: Option<GraceSign>,
    /// `P`: an appoggiatura; `p`: the note after one.
    pub appoggiatura: bool,
    pub after_appoggiatura: bool,
    /// Not printed at all.
    pub hidden: bool,
    /// The octave does not exist.
    pub bad_pitch: bool,
    /// An editor's note or mark, a doubtful one, one with a footnote.
    pub editorial: bool,
    pub sic: bool,
    pub footnote: bool,
    /// Signifiers with a meaning that has no place, and those with none.
    pub others: Vec<char>,
}

/// How a grace note is marked.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum GraceSign {
    /// `q`: "acciaccatura", with the stroke.
    Slashed,
    /// `qq` by common usage, or `Q`, a groupetto: without.
    Plain,
}

/// What is said about the accidental.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub(super) struct Accidental {
    /// A natural sign is written.
    pub natural: bool,
    pub hidden: bool,
    /// `x` or `X` after it.
    pub marked: bool,
    pub editorial: bool,
    pub cautionary: bool,
    pub enclosed: bool,
}

/// One end of a slur or phrase.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Curve {
    pub phrase: bool,
    pub open: bool,
    /// Ampersands before it.
    pub elision: u8,
    pub side: Option<Side>,
}

/// A sign with its side.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Marked {
    pub sign: Sign,
    pub side: Option<Side>,
}

/// What a following editorial mark is about.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Last {
    Whole,
    Accidental,
    Sign,
    Curve,
    Else,
}

/// More signs than any note has.
const MOST_SIGNS: usize = 60;

/// Reads one note of a token.
pub(super) fn read<'a>(text: &'a str, meanings: &Meanings) -> Note<'a> {
    let mut note = Note::default();
    let mut last = Last::Whole;
    let mut elision = 0_u8;
    let mut rest = text;
    while let Some(c) = rest.chars().next() {
        let run = rest.chars().take_while(|other| *other == c).count();
        let count = u8::try_from(run).unwrap_or(u8::MAX);
        let mut taken = run * c.len_utf8();
        let mut next = Last::Else;
        match c {
            '0'..='9' => {
                taken = duration::span(rest).max(1);
                if note.number.is_empty() {
                    note.number = &rest[..taken];
                } else {
                    note.others.push(c);
                }
                next = Last::Whole;
            }
            'a'..='g' | 'A'..='G' => {
                if note.pitch.is_some() || note.bad_pitch {
                    note.others.push(c);
                } else {
                    taken += pitch(&mut note, c, run, &rest[taken..]);
                }
                next = if rest[..taken].ends_with(c) {
                    Last::Whole
                } else {
                    Last::Accidental
                };
            }
            'r' => {
                note.rest = count;
                next = Last::Whole;
            }
            '[' => note.tie_start = true,
            '_' => note.tie_middle = true,
            ']' => note.tie_stop = true,
            '&' => elision = count,
            '(' | ')' | '{' | '}' => {
                for _ in 0..run.min(20) {
                    note.curves.push(Curve {
                        phrase: matches!(c, '{' | '}'),
                        open: matches!(c, '(' | '{'),
                        elision: std::mem::take(&mut elision),
                        side: None,
                    });
                }
                next = Last::Curve;
            }
            'L' => note.beams[0] = count,
            'J' => note.beams[1] = count,
            'K' => note.beams[2] = count,
            'k' => note.beams[3] = count,
            // The stem's direction: drawing.
            '/' | '\\' => {}
            'q' => {
                note.grace = Some(if run == 1 {
                    GraceSign::Slashed
                } else {
                    GraceSign::Plain
                });
            }
            'Q' => note.grace = Some(GraceSign::Plain),
            'P' => note.appoggiatura = true,
            'p' => note.after_appoggiatura = true,
            'x' | 'X' | 'y' | 'Y' | '?' => {
                editorial(&mut note, c, run, last);
                next = last;
            }
            '@' => taken = tremolo(&mut note, rest, run),
            _ => next = other(&mut note, c, run, last, meanings),
        }
        last = next;
        rest = &rest[taken..];
    }
    note
}

/// The pitch and its accidental; how many bytes the accidental takes.
fn pitch(note: &mut Note<'_>, letter: char, run: usize, after: &str) -> usize {
    let sign = after.chars().next().filter(|c| matches!(c, '#' | '-' | 'n'));
    let signs = sign.map_or(0, |sign| after.chars().take_while(|c| *c == sign).count());
    let size = i8::try_from(signs.min(9)).unwrap_or(9);
    let alter = match sign {
        Some('#') => size,
        Some('-') => -size,
        Some(_) => {
            note.accidental.natural = true;
            0
        }
        None => 0,
    };
    let octaves = i8::try_from(run).unwrap_or(i8::MAX);
    let octave = if letter.is_ascii_lowercase() {
        octaves.saturating_add(3)
    } else {
        4_i8.saturating_sub(octaves)
    };
    match Step::from_letter(letter) {
        Some(step) if (-1..=10).contains(&octave) => note.pitch = Some(Pitch::new(step, alter, octave)),
        _ => note.bad_pitch = true,
    }
    signs
}

/// `x X y Y ?`: about the signifier before, or doubled about the whole token.
fn editorial(note: &mut Note<'_>, c: char, run: usize, last: Last) {
    let whole = run > 1 || last == Last::Whole;
    match (c, last) {
        ('y', _) if whole => note.hidden = true,
        ('y', Last::Accidental) => note.accidental.hidden = true,
        ('y', Last::Sign) => {
            note.signs.pop();
        }
        ('y', Last::Curve) => {
            note.curves.pop();
        }
        ('y', _) => {}
        ('Y', _) => note.sic = true,
        ('?', _) => note.footnote = true,
        (_, Last::Accidental) if run == 1 => note.accidental.marked = true,
        _ => note.editorial = true,
    }
}

/// `@16@`: the value of the strokes; doubled signs stand for a tremolo between two notes.
fn tremolo(note: &mut Note<'_>, rest: &str, run: usize) -> usize {
    let after = &rest[run..];
    let digits = after.bytes().take_while(u8::is_ascii_digit).count();
    let value: Option<u32> = after[..digits].parse().ok();
    let close = after[digits..].bytes().take_while(|b| *b == b'@').count();
    match value.filter(|v| v.is_power_of_two() && (8..=1_024).contains(v)) {
        Some(value) => {
            let strokes = u8::try_from(value.ilog2() - 2).unwrap_or(3);
            let between = run > 1;
            push(note, Sign::Tremolo { strokes, between });
        }
        None => note.others.push('@'),
    }
    run + digits + close
}

fn push(note: &mut Note<'_>, sign: Sign) {
    if note.signs.len() < MOST_SIGNS {
        note.signs.push(Marked { sign, side: None });
    }
}

fn other(note: &mut Note<'_>, c: char, run: usize, last: Last, meanings: &Meanings) -> Last {
    if let Some(meaning) = meanings.get(&c) {
        match meaning {
            Meaning::Above => set_side(note, last, Side::Above),
            Meaning::Below => set_side(note, last, Side::Below),
            Meaning::EditorialAccidental(enclosed) => {
                note.accidental.editorial = true;
                note.accidental.enclosed |= *enclosed;
            }
            Meaning::Cautionary(enclosed) => {
                note.accidental.cautionary = true;
                note.accidental.enclosed |= *enclosed;
            }
            Meaning::Words(_) => note.others.push(c),
        }
        return last;
    }
    let Some(sign) = signs::of(c, run) else {
        if note.others.len() < MOST_SIGNS {
            note.others.push(c);
        }
        return Last::Else;
    };
    push(note, sign);
    Last::Sign
}

fn set_side(note: &mut Note<'_>, last: Last, side: Side) {
    match last {
        Last::Sign => note
            .signs
            .iter_mut()
            .rev()
            .take(1)
            .for_each(|sign| sign.side = Some(side)),
        Last::Curve => note
            .curves
            .iter_mut()
            .rev()
            .take(1)
            .for_each(|curve| curve.side = Some(side)),
        _ => {}
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn plain(text: &str) -> Note<'_> {
        read(text, &Meanings::new())
    }

    /// Source: Humdrum reference, `**kern`: middle C is `c`, `cc` the octave above, `C` the octave below, `CC` the next.
    #[test]
    fn pitches_and_accidentals() {
        for (text, pitch) in [
            ("4c", "C4"),
            ("cc#4", "C#5"),
            ("8BB--", "Bb2"),
            ("16ffn", "F5"),
            ("1CCCC##", "C##0"),
            ("ggggggg", "G10"),
        ] {
            let note = plain(text);
            let said = note.pitch.map(|p| p.to_string());
            let expected = if pitch == "Bb2" { "Bbb2" } else { pitch };
            assert_eq!(said.as_deref(), Some(expected), "{text}");
        }
        assert!(plain("16ffn").accidental.natural);
        assert!(plain("cccccccc").bad_pitch && plain("CCCCCCC").bad_pitch);
    }

    /// Source: Humdrum reference, `**kern`: `{(16ff#/'` and `/ff#16'({` are equivalent.
    #[test]
    fn the_order_of_signifiers_does_not_matter() {
        let (a, b) = (plain("{(16ff#/'"), plain("/ff#16'({"));
        assert_eq!((a.number, a.pitch, &a.signs), (b.number, b.pitch, &b.signs));
        assert_eq!(a.curves.len(), 2);
        assert_eq!(b.curves.len(), 2);
    }

    #[test]
    fn editorial_marks_are_about_what_stands_before_them() {
        assert!(plain("4f#y").accidental.hidden && !plain("4f#y").hidden);
        assert!(plain("4f#X").accidental.marked);
        assert!(plain("4ryy").hidden && plain("4ry").hidden && plain("4fy").hidden);
        assert!(plain("4f;y").signs.is_empty());
        assert!(plain("4f(y").curves.is_empty());
        assert!(plain("4fXX").editorial && plain("4f?").footnote && plain("4fY").sic);
    }

    #[test]
    fn elided_slurs_keep_their_level() {
        let note = plain("&&(4c&)");
        let said: Vec<(bool, u8)> = note.curves.iter().map(|c| (c.open, c.elision)).collect();
        assert_eq!(said, [(true, 2), (false, 1)]);
    }

    #[test]
    fn tremolo_strokes_are_no_duration() {
        let note = plain("4c@32@");
        assert_eq!(note.number, "4");
        let strokes = Sign::Tremolo {
            strokes: 3,
            between: false,
        };
        assert_eq!(note.signs[0].sign, strokes);
    }
}
