//! What is the piece, and whose? Reference records: titles, people, numbers, rights; the rest goes to provenance.
//!
//! Source: Humdrum user's guide, appendix I (reference records).

use notation::Piece;

/// More lines about the file than are kept.
pub(super) const MOST_LINES: usize = 2_000;

/// A reference record: its key and text.
pub(super) fn split(text: &str) -> Option<(&str, &str)> {
    let (key, value) = text.strip_prefix("!!!")?.split_once(':')?;
    let value = value.trim();
    (!value.is_empty()).then_some((key.trim(), value))
}

/// Titles wait till all are known.
#[derive(Debug, Default)]
pub(super) struct Titles {
    title: Option<String>,
    parent: Option<String>,
    /// `OMD`: the movement's designation, printed over its first bar.
    pub designation: Option<String>,
}

impl Titles {
    /// Takes in a record.
    pub(super) fn take(&mut self, key: &str, value: &str, piece: &mut Piece) {
        let value: String = value.chars().take(2_000).collect();
        let (code, original) = code(key);
        let credits = &mut piece.credits;
        let person = |role: &str| Some((role.to_owned(), value.clone()));
        let mut people = None;
        match code {
            "OTL" if self.title.is_none() || original => {
                if let Some(other) = self.title.replace(value) {
                    credits.page_words.push(other);
                }
            }
            "OPR" if self.parent.is_none() => self.parent = Some(value),
            "OMD" if self.designation.is_none() => self.designation = Some(value),
            "OTL" | "OTP" | "OTA" | "OPR" | "ODE" => push(&mut credits.page_words, value),
            "OPS" | "ONM" | "OMV" | "OAC" | "OSC" | "SCT" | "SCA" => push(&mut credits.numbers, value),
            "COM" => people = person("composer"),
            "COA" => people = person("attributed composer"),
            "COS" => people = person("suspected composer"),
            "LYR" => people = person("lyricist"),
            "LIB" => people = person("librettist"),
            "LAR" => people = person("arranger"),
            "LOR" => people = person("orchestrator"),
            "TRN" => people = person("translator"),
            "YEC" | "YEM" => push(&mut credits.rights, value),
            _ => push(&mut piece.provenance.encoding, format!("{key}: {value}")),
        }
        if piece.credits.people.len() < MOST_LINES {
            piece.credits.people.extend(people);
        }
    }

    /// Puts the titles where they belong: a parent work's above the movement's.
    pub(super) fn settle(&mut self, piece: &mut Piece) {
        let credits = &mut piece.credits;
        // A metronome mark is no part of the movement's name.
        let words = self.designation.as_deref().map(super::words::words_and_mark);
        let named = words
            .map(|(words, _)| words.to_owned())
            .filter(|name| !name.is_empty());
        (credits.title, credits.movement) = match (self.parent.take(), self.title.take()) {
            (Some(parent), title) => (Some(parent), title.or(named)),
            (None, Some(title)) => (Some(title), named),
            (None, None) => (None, named),
        };
    }
}

fn push(list: &mut Vec<String>, text: String) {
    if list.len() < MOST_LINES {
        list.push(text);
    }
}

/// The code of a key without number, sub-key and language; true if it is marked as the original language (`@@`).
fn code(key: &str) -> (&str, bool) {
    let original = key.contains("@@");
    let base = key.split(['@', '-']).next().unwrap_or(key);
    (base.trim_end_matches(|c: char| c.is_ascii_digit()), original)
}
