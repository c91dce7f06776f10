//! What does this printed direction mean? One reading of a whole phrase, with what each word of it is.

use std::ops::Range;

use crate::analysis::{self, Form, Piece, Sense};
use crate::compose::{self, Link, Unit};
use crate::inflect::Shade;
use crate::kind::{Kind, Language};
use crate::words;

/// What a printed direction means.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// The direction as printed.
    pub text: String,
    /// Its meaning in plain English; none when no word of it is a known term.
    pub meaning: Option<String>,
    /// Its main kind: the tempo of "Allegro con fuoco", the dynamic of "p espr.".
    pub kind: Option<Kind>,
    /// The kinds of its units, in order, each once.
    pub kinds: Vec<Kind>,
    /// Each known word or run of words, in order.
    pub words: Vec<WordReading>,
    /// The clauses of which the meaning is made, in order.
    pub units: Vec<UnitReading>,
    /// Words that are not in the dictionary nor close to a term.
    pub unknown: Vec<String>,
    /// Numbers, rehearsal letters, initials, note values: not words to be defined.
    pub plain: Vec<String>,
}

impl Reading {
    /// What it means for the player: the advice of its terms, each once.
    pub fn advice(&self) -> Vec<&'static str> {
        unique(self.words.iter().filter_map(|word| word.advice))
    }

    /// Where readers go wrong with these words, each once.
    pub fn traps(&self) -> Vec<&'static str> {
        unique(self.words.iter().filter_map(|word| word.trap))
    }
}

fn unique(items: impl Iterator<Item = &'static str>) -> Vec<&'static str> {
    let mut seen: Vec<&'static str> = Vec::new();
    for item in items {
        if !seen.contains(&item) {
            seen.push(item);
        }
    }
    seen
}

/// One word, or several that are one term.
#[derive(Clone, Debug, PartialEq)]
pub struct WordReading {
    /// As printed.
    pub text: String,
    /// Bytes of the direction that it takes.
    pub range: Range<usize>,
    /// The dictionary's spelling.
    pub lemma: String,
    /// The language it is listed under.
    pub language: Language,
    /// Its sort.
    pub kind: Kind,
    /// Its own meaning.
    pub meaning: String,
    /// How the print relates to the listed spelling.
    pub spelling: Spelling,
    /// What it says literally.
    pub literal: Option<&'static str>,
    /// What it means for the player.
    pub advice: Option<&'static str>,
    /// Where readers go wrong.
    pub trap: Option<&'static str>,
    /// Where the meaning comes from.
    pub source: &'static str,
}

/// How a printed word relates to the spelling that the dictionary lists.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Spelling {
    /// A listed spelling or abbreviation, accents and capitals aside.
    Exact,
    /// Another form: gender, number, superlative, diminutive, comparative.
    Variant,
    /// A close misspelling.
    Misspelt {
        /// The spelling that was probably meant.
        of: String,
    },
}

/// One clause of the meaning.
#[derive(Clone, Debug, PartialEq)]
pub struct UnitReading {
    /// Its meaning.
    pub meaning: String,
    /// Its kind.
    pub kind: Kind,
    /// Bytes of the direction that it takes.
    pub range: Range<usize>,
}

/// Reads one printed direction.
///
/// ```
/// let reading = terms::read("un peu plus lent");
/// assert_eq!(reading.meaning.as_deref(), Some("a little slower"));
/// assert_eq!(reading.kind, Some(terms::Kind::ChangeOfTempo));
/// ```
pub fn read(text: &str) -> Reading {
    let (pieces, units) = understood(text);
    let whole = units.len() == 1;
    let meant: Vec<(&Unit, String, Kind)> = units
        .iter()
        .filter_map(|unit| {
            compose::unit_meaning(unit, &pieces, whole).map(|(meaning, kind)| (unit, meaning, kind))
        })
        .collect();
    let parts: Vec<_> = meant
        .iter()
        .enumerate()
        .map(|(i, (unit, meaning, _))| {
            let before = i
                .checked_sub(1)
                .and_then(|i| meant.get(i))
                .map(|(unit, ..)| *unit);
            let noun = compose::is_described_noun(unit, before, &pieces);
            (if noun { Link::Noun } else { unit.link }, meaning.clone())
        })
        .collect();
    let units: Vec<UnitReading> = meant
        .into_iter()
        .map(|(unit, meaning, kind)| UnitReading {
            meaning,
            kind,
            range: unit_range(unit, &pieces),
        })
        .collect();
    let mut kinds: Vec<Kind> = Vec::new();
    for unit in &units {
        if !kinds.contains(&unit.kind) && (unit.kind != Kind::Modifier || units.len() == 1) {
            kinds.push(unit.kind);
        }
    }
    Reading {
        text: text.to_owned(),
        meaning: (!parts.is_empty()).then(|| compose::joined(&parts)),
        kind: main_kind(&kinds),
        words: pieces
            .iter()
            .filter_map(|piece| word_reading(text, piece))
            .collect(),
        unknown: raw(text, &pieces, |sense| matches!(sense, Sense::Unknown)),
        plain: raw(text, &pieces, |sense| matches!(sense, Sense::Plain)),
        kinds,
        units,
    }
}

/// The pieces of a direction and the units that they form.
pub(crate) fn understood(text: &str) -> (Vec<Piece>, Vec<Unit>) {
    let tokens = words::tokens(text);
    let mut pieces = analysis::pieces(text, &tokens);
    demote_plain_english(&mut pieces);
    demote_bare_modifiers(&mut pieces);
    let units = compose::units(&pieces);
    (pieces, units)
}

/// "It was a fine day": a road-map word inside a sentence of unknown words is only a word.
fn demote_plain_english(pieces: &mut [Piece]) {
    const AMBIGUOUS: [&str; 4] = ["fine", "fin", "Ende", "to the end"];
    if !pieces.iter().any(|piece| matches!(piece.sense, Sense::Unknown)) {
        return;
    }
    for piece in pieces {
        match &piece.sense {
            Sense::Term { entry, .. } if AMBIGUOUS.contains(&entry.term) => piece.sense = Sense::Unknown,
            Sense::Term { entry, .. } if entry.term == "niente" && piece.range.len() == 1 => {
                piece.sense = Sense::Plain
            }
            _ => {}
        }
    }
}

/// Where no term stands, small words mean something only when they are alone ("sempre", "poco a poco").
fn demote_bare_modifiers(pieces: &mut [Piece]) {
    let has_head = pieces.iter().any(|piece| {
        matches!(
            piece.sense,
            Sense::Term { .. } | Sense::Mark { .. } | Sense::Road(_)
        )
    });
    let has_unknown = pieces.iter().any(|piece| matches!(piece.sense, Sense::Unknown));
    let says_something = pieces
        .iter()
        .any(|piece| matches!(piece.sense, Sense::Modifier(small) if !small.only_joins()));
    if has_head || (!has_unknown && says_something) {
        return;
    }
    for piece in pieces {
        if matches!(piece.sense, Sense::Modifier(_)) {
            piece.sense = Sense::Unknown;
        }
    }
}

/// A tempo outweighs what colours it; else the first kind that is not mood or form decides.
fn main_kind(kinds: &[Kind]) -> Option<Kind> {
    let weak = [Kind::Character, Kind::Form, Kind::Instrument, Kind::Modifier];
    let tempo = kinds.iter().find(|kind| **kind == Kind::Tempo);
    tempo
        .or_else(|| kinds.iter().find(|kind| !weak.contains(kind)))
        .or_else(|| kinds.first())
        .copied()
}

fn unit_range(unit: &Unit, pieces: &[Piece]) -> Range<usize> {
    let start = pieces.get(unit.first).map_or(0, |piece| piece.range.start);
    let end = pieces
        .get(unit.last.max(unit.first))
        .map_or(start, |piece| piece.range.end);
    start..end
}

fn raw(text: &str, pieces: &[Piece], wanted: impl Fn(&Sense) -> bool) -> Vec<String> {
    pieces
        .iter()
        .filter(|piece| wanted(&piece.sense))
        .map(|piece| printed(text, piece))
        .collect()
}

fn printed(text: &str, piece: &Piece) -> String {
    text.get(piece.range.clone()).unwrap_or_default().to_owned()
}

fn word_reading(text: &str, piece: &Piece) -> Option<WordReading> {
    let base = |lemma: &str, language, kind, meaning: String| WordReading {
        text: printed(text, piece),
        range: piece.range.clone(),
        lemma: lemma.to_owned(),
        language,
        kind,
        meaning,
        spelling: Spelling::Exact,
        literal: None,
        advice: None,
        trap: None,
        source: "from memory",
    };
    let mut reading = match &piece.sense {
        Sense::Term { entry, form, shade } => WordReading {
            spelling: match form {
                Form::Listed => Spelling::Exact,
                Form::Inflected => Spelling::Variant,
                Form::Misspelt => Spelling::Misspelt {
                    of: entry.term.to_owned(),
                },
            },
            literal: entry.literal(),
            advice: entry.advice(),
            trap: entry.trap(),
            source: entry.source(),
            meaning: shade_name(*shade, entry.meaning),
            ..base(entry.term, entry.language, entry.kind, String::new())
        },
        Sense::Mark { meaning } => base(
            &printed(text, piece),
            Language::Italian,
            Kind::Dynamic,
            meaning.clone(),
        ),
        Sense::Modifier(small) => WordReading {
            trap: (!small.note.is_empty()).then_some(small.note),
            ..base(
                small.word,
                small.language,
                Kind::Modifier,
                small.before.to_owned(),
            )
        },
        Sense::Road(word) => base(word.lemma(), word.language(), Kind::RoadMap, word.meaning()),
        Sense::Plain | Sense::Unknown => return None,
    };
    if piece.mended {
        reading.spelling = Spelling::Misspelt {
            of: reading.lemma.clone(),
        };
    }
    Some(reading)
}

fn shade_name(shade: Shade, meaning: &str) -> String {
    match shade {
        Shade::Plain => meaning.to_owned(),
        Shade::Extremely => format!("extremely {meaning}"),
        Shade::Slightly => format!("somewhat {meaning}"),
        Shade::More => format!("more {meaning}"),
        Shade::Most => format!("most {meaning}"),
    }
}
