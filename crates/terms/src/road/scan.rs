//! Which runs of words form a road word? A left-to-right scan over tokens.

use std::ops::Range;

use super::vocabulary as v;
use super::{Repeats, RoadKind, RoadWord, Target};
use crate::dictionary::dictionary;
use crate::words::{Shape, Token};

/// Fewest and most times that "play n times" may name.
const TIMES: std::ops::RangeInclusive<u8> = 2..=64;

/// A place (Fine, Coda) stands in a short mark; in a text longer than this it is only a word.
const LONGEST_MARK: usize = 48;
/// Most passes that one mark names.
const MOST_PASSES: usize = 8;

/// Road words with the tokens they take, in order.
pub(crate) fn scan(text: &str, tokens: &[Token]) -> Vec<(Range<usize>, RoadWord)> {
    if !tokens.iter().any(may_open) {
        return Vec::new();
    }
    let mut found: Vec<(Range<usize>, RoadWord)> = Vec::new();
    let mut i = 0;
    while i < tokens.len() {
        let floor = found.last().map_or(0, |(span, _)| span.end);
        match at(text, tokens, i, floor) {
            Some(draft) => {
                i = draft.end.max(i + 1);
                found.push(draft.finish(text, tokens));
            }
            None => i += 1,
        }
    }
    found
}

/// A cheap first look, so that plain tempo words cost nothing.
fn may_open(token: &Token) -> bool {
    if matches!(token.shape, Shape::Sign | Shape::Number)
        || token.fold.starts_with(|c: char| c.is_ascii_digit())
    {
        return true;
    }
    let word = token.fold.as_str();
    let two = word.get(..2).unwrap_or(word);
    matches!(
        two,
        "d" | "dc"
            | "ds"
            | "da"
            | "de"
            | "du"
            | "au"
            | "vo"
            | "no"
            | "fr"
            | "ba"
            | "go"
            | "ab"
            | "al"
            | "a"
            | "fi"
            | "si"
            | "bi"
            | "zu"
            | "ju"
            | "to"
            | "un"
            | "e"
            | "co"
            | "se"
            | "oh"
            | "sa"
            | "wi"
            | "om"
            | "mi"
            | "av"
            | "at"
            | "en"
            | "v"
            | "vs"
            | "tu"
            | "sc"
            | "ta"
            | "re"
            | "va"
            | "ti"
            | "op"
            | "ad"
            | "pl"
            | "il"
            | "la"
            | "th"
            | "pr"
            | "er"
            | "ul"
            | "le"
            | "zw"
            | "dr"
            | "vi"
            | "x"
            | "te"
            | "tw"
            | "m"
            | "x2"
            | "x3"
            | "x4"
            | "x5"
            | "x6"
            | "x7"
            | "x8"
            | "qu"
            | "tr"
            | "i"
            | "jo"
            | "pu"
            | "in"
            | "ri"
            | "fo"
            | "im"
            | "ii"
            | "ei"
            | "ci"
            | "ot"
            | "hu"
            | "ac"
            | "fu"
            | "x1"
            | "x9"
    )
}

/// A road word being built: token range and value.
struct Draft {
    start: usize,
    end: usize,
    kind: RoadKind,
    until: Option<Target>,
    then: Option<Target>,
    repeats: Option<Repeats>,
    section: Option<usize>,
}

impl Draft {
    fn new(start: usize, used: usize, kind: RoadKind) -> Draft {
        Draft {
            start,
            end: start + used,
            kind,
            until: None,
            then: None,
            repeats: None,
            section: None,
        }
    }

    fn finish(self, text: &str, tokens: &[Token]) -> (Range<usize>, RoadWord) {
        let from = tokens.get(self.start).map_or(0, |token| token.range.start);
        let to = tokens.get(self.end - 1).map_or(from, |token| token.range.end);
        let raw = |range: Range<usize>| text.get(range).unwrap_or_default().to_owned();
        let word = RoadWord {
            kind: self.kind,
            until: self.until,
            then: self.then,
            repeats: self.repeats,
            section: self
                .section
                .and_then(|at| tokens.get(at))
                .map(|token| raw(token.range.clone())),
            text: raw(from..to),
            range: from..to,
        };
        (self.start..self.end, word)
    }
}

fn at(text: &str, tokens: &[Token], i: usize, floor: usize) -> Option<Draft> {
    jump(text, tokens, i, floor)
        .or_else(|| pass(tokens, i))
        .or_else(|| count(tokens, i))
        .or_else(|| plain_words(text, tokens, i))
        .or_else(|| repeats_rule(tokens, i))
        .or_else(|| place(text, tokens, i))
}

/// The longest of the spellings that stands at token `i`: number of tokens.
fn one_of(tokens: &[Token], i: usize, spellings: &[&str]) -> Option<usize> {
    let first = tokens.get(i)?.fold.as_bytes();
    // Hundreds of spellings are asked of every word, and nearly all begin otherwise.
    let begins = |spelling: &&&str| {
        let spelling = spelling.as_bytes();
        spelling.first() == first.first()
            && spelling
                .strip_prefix(first)
                .is_some_and(|rest| matches!(rest.first(), None | Some(b' ')))
    };
    spellings
        .iter()
        .filter(begins)
        .filter_map(|spelling| spelt_at(tokens, i, spelling))
        .max()
}

fn spelt_at(tokens: &[Token], i: usize, spelling: &str) -> Option<usize> {
    let mut used = 0;
    for word in spelling.split(' ') {
        let token = tokens.get(i + used).filter(|token| token.fold == word)?;
        if used > 0 && token.gap.comma {
            return None;
        }
        used += 1;
    }
    Some(used)
}

fn word(tokens: &[Token], i: usize) -> &str {
    tokens.get(i).map_or("", |token| token.fold.as_str())
}

/// D.C. or D.S. with all that belongs to it.
fn jump(text: &str, tokens: &[Token], i: usize, floor: usize) -> Option<Draft> {
    let (kind, used) = match one_of(tokens, i, v::DA_CAPO).filter(|_| is_jump(text, tokens, i)) {
        // "Da capo dal segno" is a loose way to say from the sign.
        Some(used) => match one_of(tokens, i + used, v::DAL_SEGNO) {
            Some(more) => (RoadKind::DalSegno, used + more),
            None => (RoadKind::DaCapo, used),
        },
        None => (
            RoadKind::DalSegno,
            one_of(tokens, i, v::DAL_SEGNO).filter(|_| is_jump(text, tokens, i))?,
        ),
    };
    let mut draft = Draft::new(i, used, kind);
    if matches!(draft.kind, RoadKind::DalSegno)
        && tokens.get(draft.end).is_some_and(|t| t.shape == Shape::Sign)
    {
        draft.end += 1;
    }
    section_before(tokens, &mut draft, floor);
    tail(tokens, &mut draft);
    Some(draft)
}

/// "d c" from initials or a chord list: written small without dots it is no jump.
fn is_jump(text: &str, tokens: &[Token], i: usize) -> bool {
    let Some(token) = tokens.get(i) else { return false };
    let raw = text.get(token.range.clone()).unwrap_or_default();
    if raw.chars().count() > 2 || token.shape == Shape::Sign || token.fold == "da" || token.fold == "du" {
        return true;
    }
    let dotted = tokens.get(i + 1).is_some_and(|next| next.gap.dot);
    dotted || raw.chars().all(char::is_uppercase) || raw.chars().count() == 2 && tokens.len() <= 4
}

/// "Menuetto D.C.", "Si replica il minuetto da capo".
fn section_before(tokens: &[Token], draft: &mut Draft, floor: usize) {
    let mut start = draft.start;
    while start > floor {
        let before = start - 1;
        if tokens.get(start).is_some_and(|token| token.gap.comma) {
            break;
        }
        if v::SECTIONS.contains(&word(tokens, before)) {
            draft.section = draft.section.or(Some(before));
        } else if !matches!(
            word(tokens, before),
            "il" | "la" | "das" | "the" | "le" | "replica" | "si" | "di" | "nuovo"
        ) {
            break;
        }
        start = before;
    }
    if draft.section.is_some() {
        draft.start = start;
    }
}

/// All that may follow a jump, in any order.
fn tail(tokens: &[Token], draft: &mut Draft) {
    let mut j = draft.end;
    let mut fillers = 0;
    while let Some(token) = tokens.get(j) {
        if let Some(used) = one_of(tokens, j, v::THEN_CODA) {
            draft.then = Some(Target::Coda);
            j += used;
        } else if let Some((target, used)) = goal(tokens, j) {
            if draft.until.is_none() {
                draft.until = Some(target);
            } else if target == Target::Coda {
                draft.then = Some(Target::Coda);
            }
            j += used;
        } else if let Some((repeats, used)) = repeats_at(tokens, j) {
            draft.repeats = Some(repeats);
            j += used;
        } else if v::SECTIONS.contains(&token.fold.as_str()) && draft.section.is_none() && j - draft.end <= 1
        {
            draft.section = Some(j);
            j += 1;
        } else if v::SECTIONS.contains(&word(tokens, j + 1)) && draft.section.is_none() && j == draft.end {
            // One unreadable article before the section's name.
            draft.section = Some(j + 1);
            j += 2;
        } else if draft.until.is_some() && (token.shape == Shape::Sign || spelt_again(tokens, j)) {
            j += 1;
        } else if v::FILLERS.contains(&token.fold.as_str()) && fillers < 3 {
            fillers += 1;
            j += 1;
            continue;
        } else {
            break;
        }
        draft.end = j;
        fillers = 0;
    }
}

/// "al 𝄌 Coda": the word repeats the sign.
fn spelt_again(tokens: &[Token], i: usize) -> bool {
    i > 0
        && word(tokens, i) == word(tokens, i - 1)
        && tokens.get(i - 1).is_some_and(|token| token.shape == Shape::Sign)
}

fn goal(tokens: &[Token], i: usize) -> Option<(Target, usize)> {
    let each = [
        (Target::Fine, v::TO_FINE),
        (Target::Coda, v::TO_CODA),
        (Target::Sign, v::TO_SIGN),
    ];
    each.iter()
        .filter_map(|(target, spellings)| one_of(tokens, i, spellings).map(|used| (*target, used)))
        .max_by_key(|(_, used)| *used)
}

/// "senza replica", "con le ripetizioni", "without repeats".
fn repeats_at(tokens: &[Token], i: usize) -> Option<(Repeats, usize)> {
    let repeats = match word(tokens, i) {
        without if v::WITHOUT.contains(&without) => Repeats::Without,
        with if v::WITH.contains(&with) => Repeats::With,
        _ => return None,
    };
    let mut used = 1;
    while matches!(
        word(tokens, i + used),
        "le" | "la" | "les" | "l" | "the" | "all" | "die" | "der" | "any" | "il"
    ) {
        used += 1;
    }
    v::REPEAT_NOUNS
        .contains(&word(tokens, i + used))
        .then_some((repeats, used + 1))
}

fn repeats_rule(tokens: &[Token], i: usize) -> Option<Draft> {
    let (repeats, used) = repeats_at(tokens, i)?;
    Some(Draft {
        repeats: Some(repeats),
        ..Draft::new(i, used, RoadKind::RepeatsRule)
    })
}

/// "2nd time only", "la seconda volta", "tacet 1st time", "beim 2. Mal".
fn pass(tokens: &[Token], i: usize) -> Option<Draft> {
    let mut j = i;
    let mut silent = false;
    while v::PASS_FILLERS.contains(&word(tokens, j)) || v::TACET.contains(&word(tokens, j)) {
        silent |= v::TACET.contains(&word(tokens, j));
        j += 1;
        if j - i > 3 {
            return None;
        }
    }
    let mut numbers = Vec::new();
    let mut last = false;
    loop {
        match ordinal_at(tokens, j)? {
            0 => last = true,
            _ if numbers.len() >= MOST_PASSES => return None,
            number => numbers.push(number),
        }
        j += 1;
        match word(tokens, j) {
            "and" | "e" | "et" | "und" | "ed" => j += 1,
            _ if ordinal_at(tokens, j).is_some() => {}
            _ => break,
        }
    }
    if !v::TIME_WORDS.contains(&word(tokens, j)) {
        return None;
    }
    j += 1;
    while matches!(word(tokens, j), "only" | "solo" | "seulement" | "x")
        || v::TACET.contains(&word(tokens, j))
    {
        silent |= v::TACET.contains(&word(tokens, j));
        j += 1;
    }
    // A bare article before it is not part of the mark unless it leads to the ordinal at once.
    Some(Draft::new(
        i,
        j - i,
        RoadKind::Passes {
            numbers,
            last,
            play: !silent,
        },
    ))
}

fn ordinal_at(tokens: &[Token], i: usize) -> Option<u8> {
    let token = tokens.get(i)?;
    if let Some(number) = v::ordinal(&token.fold) {
        return Some(number);
    }
    let next = tokens.get(i + 1)?;
    let dotted = next.gap.dot && next.fold == "mal" || next.fold == "volta";
    match token.fold.as_str() {
        _ if !dotted => None,
        "1" | "i" => Some(1),
        "2" | "ii" => Some(2),
        "3" | "iii" => Some(3),
        "4" => Some(4),
        _ => None,
    }
}

/// "x4", "4x", "play 3 times", "tre volte", "dreimal", "bis".
fn count(tokens: &[Token], i: usize) -> Option<Draft> {
    let mut j = i;
    while matches!(word(tokens, j), "play" | "repeat" | "spielen") && j - i < 2 {
        j += 1;
    }
    let first = word(tokens, j);
    let (times, used) = if let Some(times) = v::times_word(first) {
        (times, 1)
    } else if let Some(digits) = first
        .strip_prefix('x')
        .or_else(|| first.strip_suffix('x'))
        .filter(|d| !d.is_empty())
    {
        (digits.parse().ok()?, 1)
    } else {
        let number = first.parse().ok().or_else(|| v::number_word(first));
        match (number, first) {
            (Some(times), _) if is_times(tokens, j + 1) => (times, 2),
            (_, "x") => (word(tokens, j + 1).parse().ok()?, 2),
            _ => return None,
        }
    };
    TIMES
        .contains(&times)
        .then(|| Draft::new(i, j - i + used, RoadKind::PlayTimes(times)))
}

fn is_times(tokens: &[Token], i: usize) -> bool {
    let Some(token) = tokens.get(i) else { return false };
    matches!(token.fold.as_str(), "times" | "volte" | "fois" | "x") || token.fold == "mal" && !token.gap.dot
}

/// Words that mean the same wherever they stand.
fn plain_words(text: &str, tokens: &[Token], i: usize) -> Option<Draft> {
    if let Some(used) = one_of(tokens, i, v::FREELY) {
        return Some(Draft::new(i, used, RoadKind::RepeatFreely));
    }
    if let Some(used) = one_of(tokens, i, v::SEGUE) {
        let more = one_of(tokens, i + used, &["coda", "la coda", "il coda"]);
        let then = more.map(|_| Target::Coda);
        return Some(Draft {
            then,
            ..Draft::new(i, used + more.unwrap_or(0), RoadKind::Segue)
        });
    }
    for (spellings, kind) in [
        (v::ATTACCA, RoadKind::Attacca),
        (v::TURN, RoadKind::TurnQuickly),
        (v::TACET, RoadKind::Tacet),
    ] {
        let Some(used) = one_of(tokens, i, spellings) else {
            continue;
        };
        let is_word = used > 1 || word(tokens, i).len() > 2 || all_capitals(text, tokens, i);
        return is_word.then(|| Draft::new(i, used, kind));
    }
    let alone = i == 0;
    if alone && tokens.len() == 1 && matches!(word(tokens, 0), "bis" | "ter") {
        let kind = if word(tokens, 0) == "bis" {
            RoadKind::Bis
        } else {
            RoadKind::PlayTimes(3)
        };
        return Some(Draft::new(0, 1, kind));
    }
    let used = one_of(tokens, i, v::REPEAT_ALONE).filter(|used| alone && *used == tokens.len())?;
    Some(Draft::new(i, used, RoadKind::RepeatSection))
}

fn all_capitals(text: &str, tokens: &[Token], i: usize) -> bool {
    let raw = tokens
        .get(i)
        .and_then(|token| text.get(token.range.clone()))
        .unwrap_or_default();
    raw.chars().all(char::is_uppercase)
}

/// To Coda, al Fine, Coda, Fine, the sign: a place or a road to it.
fn place(text: &str, tokens: &[Token], i: usize) -> Option<Draft> {
    if let Some((target, used)) =
        goal(tokens, i).filter(|_| !matches!(word(tokens, i), "a" | "e" | "and" | "und" | "et"))
    {
        let english_end = matches!(word(tokens, i), "to" | "until") && target != Target::Coda;
        if english_end && (tokens.len() > LONGEST_MARK || !others_known(tokens, i..i + used)) {
            return None;
        }
        if target == Target::Coda {
            return Some(Draft::new(i, used, RoadKind::ToCoda));
        }
        // "rit. al fine" only says how long to slow down.
        if i > 0 {
            return None;
        }
        return Some(Draft {
            until: Some(target),
            ..Draft::new(i, used, RoadKind::Continuation)
        });
    }
    if tokens.len() > LONGEST_MARK {
        return None;
    }
    if let Some(used) = one_of(tokens, i, v::FINE) {
        let whole = used == tokens.len();
        let last = word(tokens, i + used - 1);
        let titled =
            || last == "fine" && capital(text, tokens, i + used - 1) && others_known(tokens, i..i + used);
        return (whole || titled()).then(|| Draft::new(i, used, RoadKind::FineHere));
    }
    let token = tokens.get(i)?;
    let sign = token.shape == Shape::Sign;
    let whole = tokens.iter().all(|other| other.fold == token.fold);
    let kind = match token.fold.as_str() {
        "coda" => RoadKind::CodaHere,
        "segno" => RoadKind::SegnoHere,
        _ => return None,
    };
    let titled =
        || matches!(kind, RoadKind::CodaHere) && capital(text, tokens, i) && others_known(tokens, i..i + 1);
    let used = tokens
        .iter()
        .skip(i)
        .take_while(|other| other.fold == token.fold)
        .count();
    (sign || whole || titled()).then(|| Draft::new(i, used, kind))
}

fn capital(text: &str, tokens: &[Token], i: usize) -> bool {
    let raw = tokens
        .get(i)
        .and_then(|token| text.get(token.range.clone()))
        .unwrap_or_default();
    raw.starts_with(char::is_uppercase)
}

/// Whether every word outside the span is a term, a small word or a number: no running sentence.
fn others_known(tokens: &[Token], span: Range<usize>) -> bool {
    let dictionary = dictionary();
    tokens
        .iter()
        .enumerate()
        .filter(|(i, _)| !span.contains(i))
        .all(|(_, token)| {
            token.shape != Shape::Word || token.fold.len() == 1 || dictionary.has_word(&token.fold)
        })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::words::tokens;

    /// The cheap first look must let every listed spelling through.
    #[test]
    fn the_first_look_misses_no_spelling() {
        let lists = [
            v::DA_CAPO,
            v::DAL_SEGNO,
            v::TO_FINE,
            v::TO_CODA,
            v::TO_SIGN,
            v::ATTACCA,
            v::SEGUE,
            v::TURN,
            v::TACET,
            v::FREELY,
            v::REPEAT_ALONE,
            v::FINE,
            v::WITHOUT,
            v::WITH,
        ];
        let passes = [
            "fourth time",
            "ima volta",
            "iida volta",
            "eight times",
            "cinq fois",
            "otto volte",
            "acht mal",
            "x12",
        ];
        for spelling in lists.into_iter().flatten().chain(&passes) {
            assert!(tokens(spelling).iter().any(may_open), "{spelling}");
        }
    }
}
