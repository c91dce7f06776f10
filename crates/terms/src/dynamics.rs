//! How loud does this mark say? Dynamics letters and words as ranked, structured values.
//!
//! Ranks only order marks (softest to loudest); they are no decibels. Source of the order n < ppp … fff and of the
//! usual letters: MusicXML 4.0, `<dynamics>`; relative places of "poco f" and "mezza voce": common practice.

use std::ops::Range;

use crate::dictionary::dictionary;
use crate::kind::Kind;
use crate::words::{self, Shape, Token};

/// A place in the order of loudness: 0 is silence, mp 14, mf 16, each p or f two steps; odd places lie between.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Loudness(pub u8);

/// What a mark asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum DynamicKind {
    /// A level that holds until the next mark (p, mf, poco f).
    Level,
    /// An accent on one note, perhaps with the level after it (sfz, fp).
    Accent,
    /// A level reached at once (subito p).
    Sudden,
    /// Louder or softer than before (più p, meno f).
    Relative,
}

/// Which way a relative mark goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Direction {
    /// Louder than before.
    Louder,
    /// Softer than before.
    Softer,
}

/// One dynamics mark found in a text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DynamicWord {
    /// As printed, with its small words.
    pub text: String,
    /// Bytes of the text that it takes.
    pub range: Range<usize>,
    /// The usual spelling: "mp", "sfz", "poco f", "p subito", "più p".
    pub mark: String,
    /// What it asks for.
    pub kind: DynamicKind,
    /// Its loudness, or that of the accented note; none when relative.
    pub loudness: Option<Loudness>,
    /// The loudness right after the accent (the p of fp).
    pub then: Option<Loudness>,
    /// Which way a relative mark goes.
    pub direction: Option<Direction>,
    /// "sempre": the level is to be kept.
    pub always: bool,
}

/// A mark read letter by letter.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Mark {
    letters: String,
    kind: DynamicKind,
    loudness: Loudness,
    then: Option<Loudness>,
}

impl Mark {
    /// The mark in plain English.
    pub fn meaning(&self) -> String {
        let after = self
            .then
            .map(|level| format!(", then at once {}", level_name(level)));
        let after = after.unwrap_or_default();
        match self.kind {
            DynamicKind::Accent if self.letters.starts_with('r') => format!("reinforced for a moment{after}"),
            DynamicKind::Accent if self.letters.starts_with('s') || self.letters.contains('z') => {
                let force = if self.letters.contains("ff") {
                    "very strong"
                } else {
                    "strong"
                };
                format!("a sudden {force} accent on this note{after}")
            }
            DynamicKind::Sudden => format!("suddenly {}", level_name(self.loudness)),
            _ => format!("{}{after}", level_name(self.loudness)),
        }
    }
}

/// The plain English of a level.
pub fn level_name(level: Loudness) -> &'static str {
    match level.0 {
        0 => "silent",
        1..=6 => "as soft as can be",
        7..=8 => "extremely soft",
        9..=10 => "very soft",
        11..=13 => "soft",
        14..=15 => "moderately soft",
        16 => "moderately loud",
        17 => "somewhat loud",
        18..=19 => "loud",
        20..=21 => "very loud",
        22..=23 => "extremely loud",
        _ => "as loud as can be",
    }
}

/// The loudness of a mark spelt in letters ("mf", "ppp", "sfz" on its accented note), if it is one.
pub fn loudness(mark: &str) -> Option<Loudness> {
    spelt(mark).map(|mark| mark.loudness)
}

/// The mark that a token spells. A lone capital is a rehearsal letter, never a mark.
pub(crate) fn mark(text: &str, token: &Token) -> Option<Mark> {
    if token.shape != Shape::Word || token.is_lone_capital(text) {
        return None;
    }
    spelt(&token.fold)
}

const MEZZA_VOCE: Loudness = Loudness(15);
const SOTTO_VOCE: Loudness = Loudness(11);
const BARELY: Loudness = Loudness(1);
const UTMOST: Loudness = Loudness(29);

/// Reads letters as a mark: `[s|r] level [z] [level]`.
fn spelt(letters: &str) -> Option<Mark> {
    if letters.is_empty() || letters.len() > 8 || !letters.bytes().all(|b| b"pfmsrzn".contains(&b)) {
        return None;
    }
    if letters == "n" {
        return Some(Mark {
            letters: "n".to_owned(),
            kind: DynamicKind::Level,
            loudness: Loudness(0),
            then: None,
        });
    }
    let (lead, rest) = match letters.strip_prefix(['s', 'r']) {
        Some(rest) => (letters.chars().next(), rest),
        None => (None, letters),
    };
    let (first, rest) = level(rest)?;
    let (forced, rest) = rest.strip_prefix('z').map_or((false, rest), |rest| (true, rest));
    let then = match rest {
        "" => None,
        rest => Some(level(rest).filter(|(_, left)| left.is_empty())?.0),
    };
    let loud = first > Loudness(16);
    let kind = match (lead, forced, loud, then) {
        (Some('s'), false, false, None) if first < Loudness(14) => DynamicKind::Sudden,
        (Some(_), _, true, _) | (None, true, true, _) => DynamicKind::Accent,
        (None, false, _, Some(after)) if after < first => DynamicKind::Accent,
        (None, false, _, _) => DynamicKind::Level,
        _ => return None,
    };
    Some(Mark {
        letters: letters.to_owned(),
        kind,
        loudness: first,
        then,
    })
}

/// A level at the head of the letters, with what is left.
fn level(letters: &str) -> Option<(Loudness, &str)> {
    for (half, place) in [("mp", 14), ("mf", 16)] {
        if let Some(rest) = letters.strip_prefix(half) {
            return Some((Loudness(place), rest));
        }
    }
    let letter = letters.chars().next().filter(|c| matches!(c, 'p' | 'f'))?;
    let rest = letters.trim_start_matches(letter);
    let count = u8::try_from(letters.len() - rest.len())
        .ok()
        .filter(|count| *count <= 6)?;
    let place = if letter == 'p' {
        14 - 2 * count
    } else {
        16 + 2 * count
    };
    Some((Loudness(place), rest))
}

/// Small words around a mark.
#[derive(Default)]
struct Around {
    start: Option<usize>,
    poco: bool,
    more: bool,
    less: bool,
    sudden: bool,
    always: bool,
}

impl Around {
    fn note(&mut self, word: &str, at: usize) -> bool {
        match word {
            "poco" | "etwas" => self.poco = true,
            "piu" | "plus" | "mehr" => self.more = true,
            "meno" | "moins" | "weniger" => self.less = true,
            "subito" | "sub" | "subitamente" | "suddenly" | "plotzlich" | "subit" => self.sudden = true,
            "sempre" | "immer" | "toujours" | "always" => self.always = true,
            "un" | "ma" | "e" | "molto" | "sehr" | "tres" | "ben" | "quasi" => {}
            _ => return false,
        }
        self.start.get_or_insert(at);
        true
    }
}

/// Every dynamics mark in a text, in order.
///
/// ```
/// let found = terms::dynamics::dynamic_words("sub. p e dolce, poi mf");
/// let marks: Vec<&str> = found.iter().map(|word| word.mark.as_str()).collect();
/// assert_eq!(marks, ["p subito", "mf"]);
/// ```
pub fn dynamic_words(text: &str) -> Vec<DynamicWord> {
    let tokens = words::tokens(text);
    let mut found = Vec::new();
    let mut around = Around::default();
    let mut i = 0;
    while let Some(token) = tokens.get(i) {
        if token.gap.is_hard() {
            around = Around::default();
        }
        if around.note(&token.fold, i) {
            i += 1;
            continue;
        }
        let first = around.start.unwrap_or(i);
        let words = std::mem::take(&mut around);
        let Some((mark, used)) = mark_at(text, &tokens, i) else {
            i += 1;
            continue;
        };
        i += used;
        let (after, possible, taken) = behind(&tokens, i);
        i += taken;
        let words = Around {
            sudden: words.sudden || after.sudden,
            always: words.always || after.always,
            ..words
        };
        let start = tokens.get(first).map_or(0, |token| token.range.start);
        let end = tokens.get(i - 1).map_or(start, |token| token.range.end);
        found.push(finished(text, start..end, mark, &words, possible));
    }
    found
}

/// "subito", "sempre", "possibile" behind a mark: (words, possible, tokens used).
fn behind(tokens: &[Token], from: usize) -> (Around, bool, usize) {
    let mut around = Around::default();
    let mut possible = false;
    let mut used = 0;
    for token in tokens
        .iter()
        .skip(from)
        .take(2)
        .take_while(|token| !token.gap.is_hard())
    {
        // "p subito f": the word belongs to the mark that follows only when nothing else claims it.
        let takes = match token.fold.as_str() {
            "possibile" | "poss" | "possible" => {
                possible = true;
                true
            }
            "subito" | "sub" | "sempre" => around.note(&token.fold, 0),
            _ => false,
        };
        if !takes {
            break;
        }
        used += 1;
    }
    (around, possible, used)
}

/// A mark spelt in letters or in words at token `i`, with the number of tokens it takes.
fn mark_at(text: &str, tokens: &[Token], i: usize) -> Option<(Mark, usize)> {
    let token = tokens.get(i)?;
    if token.is_lone_capital(text) {
        return None;
    }
    if let Some(mark) = mark(text, token) {
        return Some((mark, 1));
    }
    let (entry, used) = dictionary()
        .term_at(tokens.get(i..)?)
        .filter(|(entry, _)| entry.kind == Kind::Dynamic)?;
    by_term(entry.term).map(|mark| (mark, used))
}

/// The mark that a dynamic written in words stands for.
fn by_term(term: &str) -> Option<Mark> {
    let letters = match term {
        "pianississimo" => "ppp",
        "pianissimo" | "très doux" => "pp",
        "piano" | "soft" | "leise" | "doux" => "p",
        "mezzo piano" => "mp",
        "mezzo forte" => "mf",
        "forte" | "loud" | "laut" | "fort" | "stark" => "f",
        "fortissimo" | "très fort" => "ff",
        "fortississimo" => "fff",
        "niente" => "n",
        "forte piano" => "fp",
        "mezzo forte piano" => "mfp",
        "piano forte" => "pf",
        "sforzando" => "sfz",
        "sforzando piano" => "sfp",
        "forzando" => "fz",
        "rinforzando" => "rfz",
        _ => {
            let loudness = match term {
                "mezza voce" | "demi-voix" | "halblaut" => MEZZA_VOCE,
                "sotto voce" => SOTTO_VOCE,
                "quasi niente" | "presque rien" | "piano possibile" | "barely audible" => BARELY,
                "forte possibile" | "as loud as possible" | "con tutta la forza" => UTMOST,
                _ => return None,
            };
            return Some(Mark {
                letters: term.to_owned(),
                kind: DynamicKind::Level,
                loudness,
                then: None,
            });
        }
    };
    spelt(letters)
}

fn finished(text: &str, range: Range<usize>, mark: Mark, words: &Around, possible: bool) -> DynamicWord {
    let loud = mark.loudness >= Loudness(16);
    let direction = match (words.more, words.less) {
        (true, false) if loud => Some(Direction::Louder),
        (true, false) => Some(Direction::Softer),
        (false, true) if loud => Some(Direction::Softer),
        (false, true) => Some(Direction::Louder),
        _ => None,
    };
    let (mut loudness, mut name, mut kind) = (Some(mark.loudness), mark.letters, mark.kind);
    if direction.is_some() {
        loudness = None;
        kind = DynamicKind::Relative;
        name = format!("{} {name}", if words.more { "più" } else { "meno" });
    } else if words.poco && kind == DynamicKind::Level {
        // Common practice: poco f is less than f, poco p less soft than p.
        loudness = Some(Loudness(if loud {
            mark.loudness.0 - 1
        } else {
            mark.loudness.0 + 1
        }));
        name = format!("poco {name}");
    } else if possible {
        loudness = Some(if loud { UTMOST } else { BARELY });
        name = format!("{name} possibile");
    }
    if words.sudden && kind == DynamicKind::Level {
        kind = DynamicKind::Sudden;
        name = format!("{name} subito");
    }
    DynamicWord {
        text: text.get(range.clone()).unwrap_or_default().to_owned(),
        range,
        mark: name,
        kind,
        loudness,
        then: mark.then,
        direction,
        always: words.always,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn marks(text: &str) -> Vec<String> {
        dynamic_words(text).into_iter().map(|word| word.mark).collect()
    }

    #[test]
    fn levels_are_in_order() {
        let order = [
            "n", "pppppp", "pppp", "ppp", "pp", "p", "mp", "mf", "f", "ff", "fff", "ffff", "ffffff",
        ];
        let ranks: Vec<_> = order.iter().map(|mark| loudness(mark).unwrap()).collect();
        assert!(ranks.is_sorted_by(|a, b| a < b));
    }

    /// Source: music21 10.5.1, `dynamics.dynamicStrToScalar` (n 0.0 … ffff 0.95): our ranks keep its order of levels.
    #[test]
    fn order_agrees_with_a_library() {
        let theirs = [
            "n", "pppp", "ppp", "pp", "p", "mp", "mf", "f", "ff", "fff", "ffff",
        ];
        assert!(
            theirs
                .windows(2)
                .all(|pair| loudness(pair[0]) < loudness(pair[1]))
        );
    }

    /// Source: MusicXML 4.0, the elements of `<dynamics>`.
    #[test]
    fn every_mark_of_musicxml_is_read() {
        for mark in [
            "p", "pp", "ppp", "pppp", "ppppp", "pppppp", "f", "ff", "fff", "ffff", "fffff", "ffffff", "mp",
            "mf", "sf", "sfp", "sfpp", "fp", "rf", "rfz", "sfz", "sffz", "fz", "n", "pf", "sfzp",
        ] {
            assert!(spelt(mark).is_some(), "{mark}");
        }
        for other in ["m", "s", "r", "z", "mr", "sz", "ms", "pm", "rp", "fm", "mz", "pz"] {
            assert!(spelt(other).is_none(), "{other}");
        }
    }

    #[test]
    fn accents_and_what_follows() {
        let fp = &dynamic_words("fp")[0];
        assert_eq!((fp.kind, fp.then), (DynamicKind::Accent, loudness("p")));
        let sfpp = &dynamic_words("sfpp")[0];
        assert_eq!((sfpp.kind, sfpp.then), (DynamicKind::Accent, loudness("pp")));
        assert_eq!(dynamic_words("sffz")[0].kind, DynamicKind::Accent);
        assert_eq!(dynamic_words("pf")[0].kind, DynamicKind::Level);
    }

    #[test]
    fn small_words_shade_a_mark() {
        assert_eq!(marks("poco f"), ["poco f"]);
        assert_eq!(marks("più p"), ["più p"]);
        assert_eq!(marks("p piu p"), ["p", "più p"]);
        assert_eq!(marks("meno f"), ["meno f"]);
        assert_eq!(marks("f possibile"), ["f possibile"]);
        assert_eq!(marks("sub. p"), ["p subito"]);
        assert_eq!(marks("p subito"), ["p subito"]);
        assert_eq!(marks("sempre pp"), ["pp"]);
        assert!(dynamic_words("sempre pp")[0].always);
        assert_eq!(dynamic_words("più p")[0].direction, Some(Direction::Softer));
        assert_eq!(dynamic_words("meno p")[0].direction, Some(Direction::Louder));
        assert_eq!(dynamic_words("meno f")[0].direction, Some(Direction::Softer));
        assert!(dynamic_words("poco f")[0].loudness < loudness("f"));
        assert!(dynamic_words("poco f")[0].loudness > loudness("mf"));
    }

    #[test]
    fn words_and_glyphs_are_marks_too() {
        assert_eq!(marks("mezza voce"), ["mezza voce"]);
        assert_eq!(marks("fortissimo"), ["ff"]);
        assert_eq!(marks("mp espr."), ["mp"]);
        assert_eq!(marks("𝆐𝆑 dolce"), ["mf"]);
        assert_eq!(marks("PP"), ["pp"]);
        assert_eq!(marks("sempre p e dolce"), ["p"]);
    }

    #[test]
    fn letters_and_names_are_not_marks() {
        for text in ["P", "F", "Mr. Smith", "dolce", "cresc.", "Fine", "A", "24", "M"] {
            assert_eq!(marks(text), Vec::<String>::new(), "{text}");
        }
    }
}
