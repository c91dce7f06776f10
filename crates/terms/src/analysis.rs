//! Which pieces does a direction fall into? Terms, modifiers, marks, road words, plain signs and unknown words.

use std::borrow::Cow;
use std::ops::Range;

use crate::dictionary::{Dictionary, Entry, Modifier, dictionary};
use crate::dynamics;
use crate::inflect::{self, Shade};
use crate::road::{self, RoadWord};
use crate::spelling;
use crate::words::{Gap, Shape, Token};

/// What a piece is.
#[derive(Clone, Debug)]
pub(crate) enum Sense {
    /// A term of the dictionary, with what its ending adds, and whether it is inflected or misspelt.
    Term { entry: Entry, shade: Shade, form: Form },
    /// A dynamics mark built from letters, not listed as a term.
    Mark { meaning: String },
    /// A small word that shades another.
    Modifier(Modifier),
    /// A jump, an end, a repeat.
    Road(Box<RoadWord>),
    /// A number, a rehearsal letter or an initial, a note value, a sign.
    Plain,
    /// A word we do not know.
    Unknown,
}

/// How a printed word relates to the listed spelling.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Form {
    Listed,
    Inflected,
    Misspelt,
}

/// One piece of a direction.
#[derive(Clone, Debug)]
pub(crate) struct Piece {
    pub sense: Sense,
    pub range: Range<usize>,
    pub gap: Gap,
    /// A small word in it was printed with a slip ("non tropo") and is read as it was meant.
    pub mended: bool,
}

/// Splits tokens into pieces, longest match first.
pub(crate) fn pieces(text: &str, tokens: &[Token]) -> Vec<Piece> {
    let dictionary = dictionary();
    let (tokens, mended) = mended(dictionary, tokens);
    let tokens = tokens.as_ref();
    let roads = road::scan(text, tokens);
    let mut roads = roads.into_iter().peekable();
    let capitals = all_capitals(text);
    let mut found = Vec::with_capacity(tokens.len());
    let mut i = 0;
    while let Some(token) = tokens.get(i) {
        let (sense, used) = match roads.next_if(|(span, _)| span.start == i) {
            Some((span, word)) => (Sense::Road(Box::new(word)), span.len()),
            None => sense_at(dictionary, text, capitals, tokens, i),
        };
        let end = tokens.get(i + used.max(1) - 1).unwrap_or(token).range.end;
        found.push(Piece {
            sense,
            mended: (i..i + used.max(1)).any(|index| mended.contains(&index)),
            range: token.range.start..end,
            gap: token.gap,
        });
        i += used.max(1);
    }
    found
}

/// The tokens with slips in small words mended ("non tropo", "molto assia"), and which ones those are. Only beside
/// another word that is known: alone, such a word proves nothing.
fn mended<'a>(dictionary: &'static Dictionary, tokens: &'a [Token]) -> (Cow<'a, [Token]>, Vec<usize>) {
    let known = |token: &Token| token.shape == Shape::Word && dictionary.has_word(&token.fold);
    let mut changed = Vec::new();
    let mut mended = Cow::Borrowed(tokens);
    for (index, token) in tokens.iter().enumerate() {
        if token.shape != Shape::Word || known(token) {
            continue;
        }
        let beside = [index.checked_sub(1), index.checked_add(1)];
        if !beside
            .into_iter()
            .flatten()
            .filter_map(|i| tokens.get(i))
            .any(known)
            || inflect::inflected(dictionary, &token.fold).is_some()
            || spelling::misspelt(dictionary, &token.fold).is_some()
        {
            continue;
        }
        if let Some(word) = spelling::small_word(dictionary, &token.fold) {
            if let Some(token) = mended.to_mut().get_mut(index) {
                token.fold = word.to_owned();
            }
            changed.push(index);
        }
    }
    (mended, changed)
}

fn sense_at(
    dictionary: &'static Dictionary,
    text: &str,
    capitals: bool,
    tokens: &[Token],
    i: usize,
) -> (Sense, usize) {
    let Some(rest) = tokens.get(i..) else {
        return (Sense::Plain, 1);
    };
    let Some(token) = rest.first() else {
        return (Sense::Plain, 1);
    };
    if token.shape == Shape::Symbol {
        return (Sense::Plain, 1);
    }
    if let Some(joined) = hyphenated(dictionary, rest) {
        return joined;
    }
    let term = dictionary.term_at(rest);
    let modifier = dictionary.modifier_at(rest);
    let alone = term.is_none_or(|(_, used)| used == 1) && modifier.is_none_or(|(_, used)| used == 1);
    if alone && token.is_lone_capital(text) && !capitals {
        return (Sense::Plain, 1);
    }
    match (term, modifier) {
        (Some((entry, used)), Some((small, length))) => {
            if length > used || (length == used && shades_next(dictionary, &small, rest, used)) {
                (Sense::Modifier(small), length)
            } else {
                (listed(entry), used)
            }
        }
        (Some((entry, used)), None) => (listed(entry), used),
        (None, Some((small, used))) => (Sense::Modifier(small), used),
        (None, None) => (single(dictionary, text, token), 1),
    }
}

fn listed(entry: Entry) -> Sense {
    Sense::Term {
        entry,
        shade: Shade::Plain,
        form: Form::Listed,
    }
}

/// A word that is both a term and a modifier shades when a term of its own language follows at once.
fn shades_next(dictionary: &Dictionary, small: &Modifier, tokens: &[Token], used: usize) -> bool {
    let Some(rest) = tokens
        .get(used..)
        .filter(|rest| rest.first().is_some_and(|next| !next.gap.is_hard()))
    else {
        return false;
    };
    let next = dictionary.term_at(rest).map(|(entry, _)| entry.language);
    let next = next.or_else(|| {
        let word = &rest.first()?.fold;
        inflect::inflected(dictionary, word).map(|(entry, _)| entry.language)
    });
    next == Some(small.language)
}

/// Syllables parted by hyphens under the notes: "cre - scen - do".
fn hyphenated(dictionary: &'static Dictionary, rest: &[Token]) -> Option<(Sense, usize)> {
    let run = 1 + rest
        .iter()
        .skip(1)
        .take(5)
        .take_while(|token| token.gap.hyphen && !token.gap.is_hard())
        .count();
    for used in (2..=run).rev() {
        let joined: String = rest
            .get(..used)?
            .iter()
            .map(|token| token.fold.as_str())
            .collect();
        // "mf-p" is two marks (first and second time), not one.
        if let Some(entry) = dictionary.exact(&joined).filter(|_| joined.len() >= 5) {
            return Some((listed(entry), used));
        }
    }
    None
}

fn single(dictionary: &'static Dictionary, text: &str, token: &Token) -> Sense {
    if token.shape != Shape::Word || is_plain(text, token) {
        return Sense::Plain;
    }
    if let Some(mark) = dynamics::mark(text, token) {
        return Sense::Mark {
            meaning: mark.meaning(),
        };
    }
    if let Some((entry, shade)) = inflect::inflected(dictionary, &token.fold) {
        return Sense::Term {
            entry,
            shade,
            form: Form::Inflected,
        };
    }
    if let Some(entry) = spelling::misspelt(dictionary, &token.fold) {
        return Sense::Term {
            entry,
            shade: Shade::Plain,
            form: Form::Misspelt,
        };
    }
    Sense::Unknown
}

/// Numbers with a letter (24b, 1st), Roman numerals, single letters, note names (Bb).
fn is_plain(text: &str, token: &Token) -> bool {
    let raw = &text[token.range.clone()];
    raw.chars().count() == 1
        || raw.starts_with(|c: char| c.is_ascii_digit())
        || raw.len() == 2 && raw.starts_with(|c: char| matches!(c, 'A'..='G')) && raw.ends_with('b')
        || raw.bytes().all(|b| matches!(b, b'I' | b'V' | b'X' | b'L'))
}

fn all_capitals(text: &str) -> bool {
    let mut letters = text.chars().filter(|c| c.is_alphabetic());
    text.chars().filter(|c| c.is_alphabetic()).nth(3).is_some() && letters.all(char::is_uppercase)
}
