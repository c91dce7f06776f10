//! How is a line of the tables under `data/` read, and which spellings does it list? Run when the crate is built (by
//! `build.rs`) and by the tests, never by a program.

use super::labels::is_labelled;
use crate::kind::{Kind, Language, Part};
use crate::words;

/// The tables of terms: their sort and their file's name.
pub(crate) const TABLES: [(Kind, &str); 10] = [
    (Kind::Tempo, "tempo.txt"),
    (Kind::ChangeOfTempo, "change_of_tempo.txt"),
    (Kind::Dynamic, "dynamic.txt"),
    (Kind::ChangeOfDynamic, "change_of_dynamic.txt"),
    (Kind::Character, "character.txt"),
    (Kind::Technique, "technique.txt"),
    (Kind::Articulation, "articulation.txt"),
    (Kind::RoadMap, "road_map.txt"),
    (Kind::Instrument, "instrument.txt"),
    (Kind::Form, "form.txt"),
];
/// The table of small words.
pub(crate) const MODIFIERS: &str = "modifiers.txt";
/// The list of words that are never corrected.
pub(crate) const PLAIN: &str = "plain_words.txt";

/// One row of a table of terms.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct TermRow<'a> {
    pub term: &'a str,
    pub language: Language,
    pub kind: Kind,
    pub meaning: &'a str,
    pub aliases: &'a str,
    pub notes: &'a str,
}

/// One row of the table of small words.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct ModifierRow<'a> {
    pub word: &'a str,
    pub language: Language,
    pub part: Part,
    pub before: &'a str,
    pub after: &'a str,
    pub aliases: &'a str,
    pub note: &'a str,
}

/// One spelling, folded, and the row it stands for.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Spelled {
    pub text: String,
    /// Position of the row in its list.
    pub row: usize,
    /// The row's own term or a listed spelling of at least full length, fit as a target for a misspelling.
    pub target: bool,
}

impl Spelled {
    /// How many words it has.
    pub fn words(&self) -> usize {
        self.text.split(' ').count()
    }

    /// Whether a misspelling may be read as this spelling.
    pub fn is_target(&self) -> bool {
        self.target && self.words() == 1 && self.text.len() >= 5
    }
}

/// Reads every row of a file; an error names the file, the line and what to mend.
pub(crate) fn rows<'a, T>(
    file: &str,
    content: &'a str,
    row: impl Fn(&'a str) -> Result<T, String>,
) -> Result<Vec<T>, String> {
    content
        .lines()
        .enumerate()
        .filter(|(_, line)| !line.starts_with('#') && !line.trim().is_empty())
        .map(|(i, line)| row(line).map_err(|what| format!("data/{file}:{}: {what}\n    {line}", i + 1)))
        .collect()
}

/// Reads one row of a table of terms.
pub(crate) fn term_row(kind: Kind, line: &str) -> Result<TermRow<'_>, String> {
    let cells: Vec<&str> = line.split('|').map(str::trim).collect();
    let [term, code, meaning, rest @ ..] = cells.as_slice() else {
        return Err("a row is: term | language | meaning | other spellings | notes".to_owned());
    };
    let (aliases, notes) = match rest {
        [] => ("", ""),
        [aliases] => (*aliases, ""),
        [aliases, notes] => (*aliases, *notes),
        _ => return Err("there are more than five cells; notes are parted by \";\"".to_owned()),
    };
    if term.is_empty() || meaning.len() < 3 || meaning.ends_with(['.', ',', ';']) {
        return Err("give a term, and a meaning without a stop at its end".to_owned());
    }
    if !notes.is_empty() && !is_labelled(notes) {
        return Err("the notes open with noun, lit:, do:, trap:, pace:, source: or change:".to_owned());
    }
    Ok(TermRow {
        term,
        language: language(code)?,
        kind,
        meaning,
        aliases,
        notes,
    })
}

/// Reads one row of the table of small words.
pub(crate) fn modifier_row(line: &str) -> Result<ModifierRow<'_>, String> {
    let cells: Vec<&str> = line.split('|').map(str::trim).collect();
    let [word, code, name, before, after, rest @ ..] = cells.as_slice() else {
        return Err("a row is: word | language | part | before | after | other spellings | trap".to_owned());
    };
    let note = rest.get(1).copied().unwrap_or_default();
    Ok(ModifierRow {
        word,
        language: language(code)?,
        part: part(name)?,
        before,
        after,
        aliases: rest.first().copied().unwrap_or_default(),
        note: note.trim_start_matches("trap:").trim(),
    })
}

/// The words of the list of plain words, which must be sorted.
pub(crate) fn plain_words(content: &str) -> Result<Vec<&str>, String> {
    let mut words: Vec<&str> = Vec::new();
    for line in rows(PLAIN, content, Ok)? {
        for word in line.split_whitespace() {
            if words.last().is_some_and(|last| *last >= word) {
                return Err(format!(
                    "data/{PLAIN}: \"{word}\" is listed twice or out of the alphabet's order"
                ));
            }
            words.push(word);
        }
    }
    Ok(words)
}

fn language(code: &str) -> Result<Language, String> {
    Ok(match code {
        "it" => Language::Italian,
        "fr" => Language::French,
        "de" => Language::German,
        "en" => Language::English,
        "la" => Language::Latin,
        _ => return Err(format!("\"{code}\" is no language; write it, fr, de, en or la")),
    })
}

fn part(name: &str) -> Result<Part, String> {
    Ok(match name {
        "degree" => Part::Degree,
        "more" => Part::More,
        "less" => Part::Less,
        "notmuch" => Part::NotMuch,
        "always" => Part::Always,
        "suddenly" => Part::Suddenly,
        "gradually" => Part::Gradually,
        "almost" => Part::Almost,
        "possible" => Part::Possible,
        "and" => Part::And,
        "but" => Part::But,
        "or" => Part::Or,
        "with" => Part::With,
        "without" => Part::Without,
        "like" => Part::Like,
        "not" => Part::Not,
        "until" => Part::Until,
        "thing" => Part::Thing,
        "other" => Part::Other,
        _ => return Err(format!("\"{name}\" is no part; see the head of the file")),
    })
}

/// Every spelling of the terms, sorted.
pub(crate) fn term_spellings(rows: &[TermRow]) -> Result<Vec<Spelled>, String> {
    let mut found = Vec::new();
    for (position, row) in rows.iter().enumerate() {
        add(&mut found, row.term, position, true);
        for alias in row.aliases.split(',').map(str::trim) {
            add(&mut found, alias, position, is_full_word(alias, row.term));
        }
        add_digraphs(&mut found, row.term, row.language, position);
    }
    sorted(found, |row| rows.get(row).map_or("", |row| row.term))
}

/// Every spelling of the small words, sorted.
pub(crate) fn modifier_spellings(rows: &[ModifierRow]) -> Result<Vec<Spelled>, String> {
    let mut found = Vec::new();
    for (position, row) in rows.iter().enumerate() {
        add(&mut found, row.word, position, false);
        for alias in row.aliases.split(',') {
            add(&mut found, alias, position, false);
        }
        add_digraphs(&mut found, row.word, row.language, position);
    }
    sorted(found, |row| rows.get(row).map_or("", |row| row.word))
}

fn add(found: &mut Vec<Spelled>, spelling: &str, row: usize, target: bool) {
    let folds: Vec<String> = words::tokens(spelling)
        .into_iter()
        .map(|token| token.fold)
        .collect();
    let text = folds.join(" ");
    if !text.is_empty() {
        found.push(Spelled { text, row, target });
    }
}

/// German umlauts also as ae, oe, ue.
fn add_digraphs(found: &mut Vec<Spelled>, spelling: &str, language: Language, row: usize) {
    if language == Language::German && spelling.contains(['ä', 'ö', 'ü']) {
        let written = spelling.replace('ä', "ae").replace('ö', "oe").replace('ü', "ue");
        add(found, &written, row, false);
    }
}

/// Sorts the spellings. One row may list a spelling twice (an alias that folds like its term); two rows may not.
fn sorted<'a>(mut found: Vec<Spelled>, name: impl Fn(usize) -> &'a str) -> Result<Vec<Spelled>, String> {
    found.sort_by(|a, b| a.text.cmp(&b.text).then(a.row.cmp(&b.row)));
    for pair in found.windows(2) {
        if let [a, b] = pair
            && a.text == b.text
            && a.row != b.row
        {
            let (first, second) = (name(a.row), name(b.row));
            return Err(format!(
                "data: the spelling \"{}\" is listed under two terms, \"{first}\" and \"{second}\"",
                a.text
            ));
        }
    }
    Ok(found)
}

/// An abbreviation ("espress") is no target for a misspelling; another full spelling ("leggiero") is.
fn is_full_word(alias: &str, term: &str) -> bool {
    alias.chars().count() + 2 >= term.chars().count()
        && alias.chars().next_back().is_some_and(|c| "aeiour".contains(c))
}
