//! What do the file's own signifiers mean? `!!!RDF**kern: i = editorial accidental`.
//!
//! Source: Humdrum user's guide, appendix I, RDF: "user-defined signifiers".

use std::collections::BTreeMap;

/// What a signifier of the file's own means, as far as the piece has a place for it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) enum Meaning {
    /// The mark before it stands above.
    Above,
    /// The mark before it stands below.
    Below,
    /// The accidental is an editor's; in parentheses or brackets if true.
    EditorialAccidental(bool),
    /// The accidental is a courtesy; in parentheses or brackets if true.
    Cautionary(bool),
    /// Anything else, in the file's words.
    Words(String),
}

/// Signifiers by their character.
pub(super) type Meanings = BTreeMap<char, Meaning>;

/// Takes in the text of an RDF record for `**kern`.
pub(super) fn define(meanings: &mut Meanings, text: &str) {
    let Some((sign, words)) = text.split_once('=') else {
        return;
    };
    let mut signs = sign.trim().chars();
    let (Some(sign), None) = (signs.next(), signs.next()) else {
        return;
    };
    let words = words.trim();
    let lower = words.to_lowercase();
    let enclosed = lower.contains("paren") || lower.contains("bracket");
    let meaning = if lower == "above" {
        Meaning::Above
    } else if lower == "below" {
        Meaning::Below
    } else if lower.contains("accidental") && lower.contains("editorial") {
        Meaning::EditorialAccidental(enclosed)
    } else if lower.contains("accidental") && (lower.contains("caution") || lower.contains("courtesy")) {
        Meaning::Cautionary(enclosed)
    } else {
        Meaning::Words(words.chars().take(120).collect())
    };
    if meanings.len() < 200 {
        meanings.insert(sign, meaning);
    }
}
