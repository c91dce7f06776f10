//! Where are the words in a printed direction, and what stands between them?

use std::ops::Range;

use crate::fold::{is_skipped, music_letters, push_folded, sign_word};

/// What stands between a word and the one before it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct Gap {
    pub comma: bool,
    pub line: bool,
    pub dot: bool,
    pub hyphen: bool,
    pub apostrophe: bool,
    pub other: bool,
}

impl Gap {
    /// A gap that a term of several words may not cross.
    pub fn is_hard(self) -> bool {
        self.comma || self.other
    }

    fn note(&mut self, c: char) {
        match c {
            ',' | ';' => self.comma = true,
            '\n' | '\r' | '\u{2028}' => self.line = true,
            '.' => self.dot = true,
            '-' | '‐' | '‑' | '–' | '—' | '_' => self.hyphen = true,
            '\'' | '’' | '‘' | '`' | '´' | 'ʼ' => self.apostrophe = true,
            ':' => self.dot = true,
            c if c.is_whitespace() => {}
            _ => self.other = true,
        }
    }
}

/// What a token is made of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Shape {
    /// Letters, perhaps with digits (8va, a2).
    Word,
    /// Digits alone.
    Number,
    /// A segno, coda, D.C. or D.S. glyph, folded to its word.
    Sign,
    /// Any other symbol (a note value, an equals sign).
    Symbol,
}

/// One word, number or sign, with its place in the text (bytes).
#[derive(Clone, Debug)]
pub(crate) struct Token {
    pub range: Range<usize>,
    pub shape: Shape,
    pub fold: String,
    pub gap: Gap,
}

impl Token {
    /// A lone capital letter: by custom a rehearsal letter or an initial, not a word.
    pub fn is_lone_capital(&self, text: &str) -> bool {
        let raw = &text[self.range.clone()];
        let mut chars = raw.chars();
        matches!((chars.next(), chars.next()), (Some(c), None) if c.is_uppercase())
    }
}

/// Splits a direction into tokens, in order, with what stands between them.
pub(crate) fn tokens(text: &str) -> Vec<Token> {
    let mut found: Vec<Token> = Vec::with_capacity(8);
    let mut gap = Gap::default();
    let mut open: Option<Token> = None;
    for (at, c) in text.char_indices() {
        let end = at + c.len_utf8();
        if is_letter(c) || (open.is_some() && is_skipped(c)) {
            let token = open.get_or_insert_with(|| Token {
                range: at..end,
                shape: Shape::Word,
                fold: String::new(),
                gap: std::mem::take(&mut gap),
            });
            token.range.end = end;
            push_folded(c, &mut token.fold);
            continue;
        }
        close(&mut open, &mut found);
        if let Some(word) = sign_word(c) {
            found.push(single(at..end, Shape::Sign, word, std::mem::take(&mut gap)));
        } else if is_symbol(c) {
            found.push(single(at..end, Shape::Symbol, "", std::mem::take(&mut gap)));
        } else {
            gap.note(c);
        }
    }
    close(&mut open, &mut found);
    found
}

fn single(range: Range<usize>, shape: Shape, word: &str, gap: Gap) -> Token {
    Token {
        range,
        shape,
        fold: word.to_owned(),
        gap,
    }
}

fn close(open: &mut Option<Token>, found: &mut Vec<Token>) {
    if let Some(mut token) = open.take() {
        if token.fold.bytes().all(|b| b.is_ascii_digit()) && !token.fold.is_empty() {
            token.shape = Shape::Number;
        }
        found.push(token);
    }
}

fn is_letter(c: char) -> bool {
    c.is_alphanumeric() && !is_skipped(c) || c == '×' || music_letters(c).is_some()
}

fn is_symbol(c: char) -> bool {
    c == '='
        || c == '+'
        || c == '#'
        || (!c.is_ascii() && !c.is_whitespace() && !is_skipped(c) && !is_punctuation(c))
}

fn is_punctuation(c: char) -> bool {
    matches!(
        c,
        '‐' | '‑'
            | '–'
            | '—'
            | '’'
            | '‘'
            | '´'
            | 'ʼ'
            | '“'
            | '”'
            | '„'
            | '«'
            | '»'
            | '…'
            | '·'
            | '•'
            | '¡'
            | '¿'
            | '\u{2028}'
            | '\u{2029}'
            | '¨'
            | '‚'
    ) || c.is_control()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn folds(text: &str) -> Vec<String> {
        tokens(text).into_iter().map(|t| t.fold).collect()
    }

    #[test]
    fn words_split_at_dots_apostrophes_and_hyphens() {
        assert_eq!(folds("D.C. al Fine"), ["d", "c", "al", "fine"]);
        assert_eq!(folds("L'istesso tempo"), ["l", "istesso", "tempo"]);
        assert_eq!(folds("cre - scen-do"), ["cre", "scen", "do"]);
        assert_eq!(folds("Tempo 1º"), ["tempo", "1"]);
        assert_eq!(folds("D.S. 𝄋 al 𝄌"), ["d", "s", "segno", "al", "coda"]);
    }

    #[test]
    fn commas_and_brackets_are_hard_but_lines_are_not() {
        let found = tokens("dolce, p\nrit (poco)");
        assert!(
            found[1].gap.is_hard() && !found[2].gap.is_hard() && found[2].gap.line && found[3].gap.is_hard()
        );
    }
}
