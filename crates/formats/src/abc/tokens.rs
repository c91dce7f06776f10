//! Which signs stand in a line of music? One token after the other; what each means is asked elsewhere.
//!
//! Source: ABC 2.1, section 4 (the tune body).

use super::key::accidental;
use notation::{Alter, Rational, Step};
use std::ops::Range;

/// A sign in a line of music.
#[derive(Clone, PartialEq, Debug)]
pub(super) enum Token<'a> {
    Note(Note),
    /// `z` and the invisible `x`.
    Rest {
        printed: bool,
        length: Rational,
    },
    /// `Z4` and the invisible `X4`: rests of whole bars.
    BarRest {
        printed: bool,
        bars: u32,
    },
    ChordOpen,
    ChordClose(Rational),
    GraceOpen {
        slash: bool,
    },
    GraceClose,
    Bar(Bar<'a>),
    /// The numbers or the text of an ending.
    Ending(&'a str),
    Tuplet {
        p: u16,
        q: Option<u16>,
        r: Option<u16>,
    },
    SlurOpen,
    SlurClose,
    Tie,
    /// `>` is 1, `>>` 2, `<` −1.
    Broken(i8),
    /// `!trill!`: its name.
    Decoration(&'a str),
    /// A letter or sign that stands for a decoration.
    Shorthand(char),
    /// `"Am"`, `"^text"`.
    Quoted(&'a str),
    /// `[K:G]`.
    Field(u8, &'a str),
    Overlay,
    Space,
    /// `y`: room on the page.
    Spacer,
    /// `$`, or `!` where it breaks the line.
    LineBreak,
    /// `+CEG+`: a chord of the oldest kind opens or closes.
    OldChord,
    /// Something that is none of this.
    Unknown(&'a str),
}

/// A note as written.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Note {
    pub accidental: Option<Alter>,
    pub step: Step,
    /// As in `C` = 4, `c` = 5, with commas and apostrophes.
    pub octave: i32,
    /// Times the unit; zero if it is none.
    pub length: Rational,
}

/// A bar line as written.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Bar<'a> {
    /// Its signs.
    pub text: &'a str,
    /// Dots before its first line: an end-repeat.
    pub ends: u8,
    /// Dots after its last line: a start-repeat.
    pub starts: u8,
    /// An ending starts right after it.
    pub then_ending: bool,
}

/// Which dialect the line is written in.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Dialect {
    /// `!` breaks the line and never starts a decoration.
    pub bang_breaks: bool,
    /// `+` instead of `!` stands round decorations.
    pub plus: bool,
}

/// Reads tokens from a line.
pub(super) struct Lexer<'a> {
    text: &'a str,
    at: usize,
    dialect: Dialect,
    in_chord: bool,
    old_chord: bool,
    /// Where the last bar line ended: digits there are an ending.
    after_bar: usize,
}

impl<'a> Lexer<'a> {
    pub(super) fn new(text: &'a str, dialect: Dialect) -> Self {
        Self {
            text,
            at: 0,
            dialect,
            in_chord: false,
            old_chord: false,
            after_bar: usize::MAX,
        }
    }

    fn byte(&self, ahead: usize) -> u8 {
        self.text.as_bytes().get(self.at + ahead).copied().unwrap_or(0)
    }

    fn slice(&self, from: usize, to: usize) -> &'a str {
        self.text.get(from..to).unwrap_or_default()
    }

    fn rest(&self) -> &'a str {
        self.text.get(self.at..).unwrap_or_default()
    }

    /// The next token with the bytes it takes.
    pub(super) fn next(&mut self) -> Option<(Token<'a>, Range<usize>)> {
        let start = self.at;
        let first = self.rest().chars().next()?;
        let token = self.token(first);
        if self.at <= start {
            // Whatever a sign was taken for, reading goes on behind it.
            self.at = start + first.len_utf8();
        }
        Some((token, start..self.at))
    }

    fn token(&mut self, first: char) -> Token<'a> {
        if self.at == self.after_bar
            && first.is_ascii_digit()
            && let Some(token) = self.ending(0)
        {
            return token;
        }
        match first {
            ' ' | '\t' => {
                while matches!(self.byte(0), b' ' | b'\t') {
                    self.at += 1;
                }
                Token::Space
            }
            'A'..='G' | 'a'..='g' => self.note(),
            '^' | '_' | '=' => self.altered(),
            'z' | 'x' => {
                self.at += 1;
                let length = self.length();
                Token::Rest {
                    printed: first == 'z',
                    length,
                }
            }
            'Z' | 'X' => {
                self.at += 1;
                let bars = self.number().unwrap_or(1);
                Token::BarRest {
                    printed: first == 'Z',
                    bars,
                }
            }
            'y' => {
                self.at += 1;
                self.length();
                Token::Spacer
            }
            '|' | ':' => self.bar(),
            '[' => self.bracket(),
            ']' => self.close_bracket(),
            '(' => self.parenthesis(),
            ')' => self.one(Token::SlurClose),
            '-' => self.one(Token::Tie),
            '>' | '<' => self.broken(first),
            '{' => {
                self.at += 1;
                let slash = self.byte(0) == b'/';
                self.at += usize::from(slash);
                Token::GraceOpen { slash }
            }
            '}' => self.one(Token::GraceClose),
            '!' => self.decoration('!'),
            '+' => self.plus(),
            '"' => self.quoted(),
            '&' => {
                // `(&` and `&)` bracket an overlay over several bars.
                while self.byte(0) == b'&' {
                    self.at += 1;
                }
                Token::Overlay
            }
            '$' => self.one(Token::LineBreak),
            '`' => {
                // Back quotes mean nothing and do not part a beam.
                while self.byte(0) == b'`' {
                    self.at += 1;
                }
                match self.rest().chars().next() {
                    Some(next) => self.token(next),
                    None => Token::Space,
                }
            }
            '.' => match self.byte(1) {
                b'|' => self.bar(),
                // Dotted slurs and ties.
                b'(' | b')' | b'-' => {
                    self.at += 1;
                    match self.byte(0) {
                        b'(' if !self.byte(1).is_ascii_digit() => self.one(Token::SlurOpen),
                        b'(' => {
                            // `.(3abc`: a staccato dot before a triplet.
                            Token::Shorthand('.')
                        }
                        b')' => self.one(Token::SlurClose),
                        _ => self.one(Token::Tie),
                    }
                }
                _ => self.one(Token::Shorthand('.')),
            },
            '~' | 'H'..='W' | 'h'..='w' => self.one(Token::Shorthand(first)),
            _ => {
                let taken = first.len_utf8();
                let text = self.slice(self.at, self.at + taken);
                self.at += taken;
                Token::Unknown(text)
            }
        }
    }

    fn one(&mut self, token: Token<'a>) -> Token<'a> {
        self.at += 1;
        token
    }

    fn number(&mut self) -> Option<u32> {
        let start = self.at;
        while self.byte(0).is_ascii_digit() {
            self.at += 1;
        }
        let digits = self.slice(start, self.at);
        if digits.is_empty() {
            None
        } else {
            Some(digits.parse().unwrap_or(u32::MAX))
        }
    }

    /// A length after a note: `3`, `/`, `//`, `3/2`. Times the unit; zero if it can't be.
    fn length(&mut self) -> Rational {
        let num = self.number().map_or(1, i64::from);
        let mut den: i64 = 1;
        while self.byte(0) == b'/' {
            self.at += 1;
            let by = self.number().map_or(2, i64::from);
            den = den.saturating_mul(by).min(i64::from(u32::MAX));
        }
        if num > 100_000 || den > 65_536 || den == 0 {
            return Rational::ZERO;
        }
        Rational::new(num, den)
    }

    fn note(&mut self) -> Token<'a> {
        let letter = char::from(self.byte(0));
        let Some(step) = Step::from_letter(letter) else {
            return self.one(Token::Space);
        };
        self.at += 1;
        let mut octave = if letter.is_ascii_lowercase() { 5 } else { 4 };
        loop {
            match self.byte(0) {
                b',' => octave -= 1,
                b'\'' => octave += 1,
                _ => break,
            }
            self.at += 1;
        }
        let length = self.length();
        Token::Note(Note {
            accidental: None,
            step,
            octave,
            length,
        })
    }

    fn altered(&mut self) -> Token<'a> {
        let start = self.at;
        let Some((alter, taken)) = accidental(self.rest()) else {
            return self.one(Token::Space);
        };
        self.at += taken;
        if !matches!(self.byte(0), b'A'..=b'G' | b'a'..=b'g') {
            return Token::Unknown(self.slice(start, self.at));
        }
        match self.note() {
            Token::Note(note) => Token::Note(Note {
                accidental: Some(alter),
                ..note
            }),
            other => other,
        }
    }

    /// A bar line of any shape: dots, lines, brackets.
    /// Source: ABC 2.1, 4.8: parsers should be liberal in recognising bar lines.
    fn bar(&mut self) -> Token<'a> {
        let start = self.at;
        (self.in_chord, self.old_chord) = (false, false);
        if self.byte(0) == b'.' {
            self.at += 1;
        }
        loop {
            match self.byte(0) {
                b'|' | b':' => self.at += 1,
                b'[' if matches!(self.byte(1), b'|' | b']') => self.at += 1,
                b']' => self.at += 1,
                _ => break,
            }
        }
        let text = self.slice(start, self.at);
        let rest = self.rest();
        let bracket = rest.trim_start().strip_prefix('[');
        let then_ending = rest.starts_with(|c: char| c.is_ascii_digit())
            || bracket.is_some_and(|inside| inside.starts_with(|c: char| c.is_ascii_digit()));
        let dots = |count: usize| u8::try_from(count).unwrap_or(u8::MAX);
        let colons = text.bytes().filter(|b| *b == b':').count();
        let bar = if colons == text.len() {
            if colons == 1 {
                return Token::Unknown(text);
            }
            // `::` is an end and a start.
            Bar {
                text,
                ends: dots(colons / 2),
                starts: dots(colons - colons / 2),
                then_ending,
            }
        } else {
            let core = text.trim_start_matches('.');
            Bar {
                text,
                ends: dots(core.len() - core.trim_start_matches(':').len()),
                starts: dots(core.len() - core.trim_end_matches(':').len()),
                then_ending,
            }
        };
        self.after_bar = self.at;
        Token::Bar(bar)
    }

    /// An ending's list of numbers, `ahead` bytes on: `1`, `1,3`, `1-3`.
    fn ending(&mut self, ahead: usize) -> Option<Token<'a>> {
        let start = self.at + ahead;
        let list = self.text.get(start..)?;
        let end = list
            .bytes()
            .position(|b| !(b.is_ascii_digit() || matches!(b, b',' | b'-' | b'.')))
            .unwrap_or(list.len());
        let list = list.get(..end)?.trim_end_matches([',', '-', '.']);
        if list.is_empty() || list.len() > 60 {
            return None;
        }
        self.at = start + list.len();
        Some(Token::Ending(list))
    }

    fn bracket(&mut self) -> Token<'a> {
        let next = self.byte(1);
        if next == b'|' || next == b']' {
            return self.bar();
        }
        if next.is_ascii_alphabetic() && self.byte(2) == b':' && !matches!(self.byte(3), b'|' | b':') {
            // Up to the bracket that closes it, quotation marks minded.
            let value = self.text.get(self.at + 3..).unwrap_or_default();
            let mut quoted = false;
            let end = value.bytes().take(2_000).position(|b| {
                quoted ^= b == b'"';
                b == b']' && !quoted
            });
            let end = end.or_else(|| value.find(']'));
            let (value, after) = match end {
                Some(end) => (value.get(..end).unwrap_or_default(), 3 + end + 1),
                None => (value, 3 + value.len()),
            };
            self.at += after;
            return Token::Field(next, value);
        }
        if next.is_ascii_digit()
            && let Some(token) = self.ending(1)
        {
            return token;
        }
        if next == b'"'
            && let Some(token) = self.text_ending()
        {
            return token;
        }
        if self.in_chord {
            return self.one(Token::Unknown("["));
        }
        self.in_chord = true;
        self.one(Token::ChordOpen)
    }

    /// `["last time" …`: an ending with a text, unless a chord follows in the bracket.
    fn text_ending(&mut self) -> Option<Token<'a>> {
        let text = self.text.get(self.at + 2..)?;
        let close = text.find('"')?;
        let after = text.get(close + 1..)?;
        let stop = after
            .find([']', '|', ' ', '"'])
            .map(|at| after.as_bytes().get(at));
        if stop == Some(Some(&b']')) {
            return None;
        }
        self.at += 2 + close + 1;
        Some(Token::Ending(self.slice(self.at - close - 2, self.at)))
    }

    fn close_bracket(&mut self) -> Token<'a> {
        self.at += 1;
        if !self.in_chord {
            return Token::Unknown("]");
        }
        self.in_chord = false;
        Token::ChordClose(self.length())
    }

    fn parenthesis(&mut self) -> Token<'a> {
        if self.byte(1) == b'&' {
            self.at += 1;
            return self.one(Token::Unknown("(&"));
        }
        if !self.byte(1).is_ascii_digit() {
            return self.one(Token::SlurOpen);
        }
        self.at += 1;
        let small = |n: Option<u32>| {
            n.map(|n| {
                u16::try_from(n)
                    .ok()
                    .filter(|n| (1..=999).contains(n))
                    .unwrap_or(0)
            })
        };
        let p = small(self.number()).unwrap_or(0);
        let (mut q, mut r) = (None, None);
        if self.byte(0) == b':' && !matches!(self.byte(1), b'|') {
            self.at += 1;
            q = small(self.number());
            if self.byte(0) == b':' && !matches!(self.byte(1), b'|') {
                self.at += 1;
                r = small(self.number());
            }
        }
        Token::Tuplet { p, q, r }
    }

    fn broken(&mut self, sign: char) -> Token<'a> {
        let byte = if sign == '>' { b'>' } else { b'<' };
        let mut count: i8 = 0;
        while self.byte(0) == byte {
            self.at += 1;
            count = count.saturating_add(1);
        }
        Token::Broken(if sign == '>' { count } else { -count })
    }

    /// A decoration between two signs; a sign without its partner breaks the line, as in the oldest files.
    fn decoration(&mut self, sign: char) -> Token<'a> {
        let rest = self.text.get(self.at + 1..).unwrap_or_default();
        let end = rest.bytes().take(64).position(|b| {
            b == b'!' || b == b'+' && sign == '+' || matches!(b, b' ' | b'\t' | b'|' | b'[' | b']' | b'"')
        });
        let name =
            end.filter(|end| *end > 0 && rest.as_bytes().get(*end) == u8::try_from(sign).ok().as_ref());
        match name {
            Some(end) if !(self.dialect.bang_breaks && sign == '!') => {
                self.at += end + 2;
                Token::Decoration(rest.get(..end).unwrap_or_default())
            }
            _ => self.one(if sign == '!' {
                Token::LineBreak
            } else {
                Token::Unknown("+")
            }),
        }
    }

    fn plus(&mut self) -> Token<'a> {
        if self.dialect.plus {
            return self.decoration('+');
        }
        if self.old_chord {
            self.old_chord = false;
            self.at += 1;
            return Token::ChordClose(self.length());
        }
        let rest = self.text.get(self.at + 1..).unwrap_or_default();
        let end = rest.find('+').unwrap_or(0);
        let inside = rest.get(..end).unwrap_or_default();
        let notes = inside
            .bytes()
            .all(|b| matches!(b, b'A'..=b'G' | b'a'..=b'g' | b'0'..=b'9' | b'/' | b',' | b'\'' | b'^' | b'_' | b'='));
        if end > 0 && notes && !super::decorations::is_known(inside) {
            self.old_chord = true;
            return self.one(Token::OldChord);
        }
        self.decoration('+')
    }

    fn quoted(&mut self) -> Token<'a> {
        let rest = self.text.get(self.at + 1..).unwrap_or_default();
        let bytes = rest.as_bytes();
        let end = (0..bytes.len())
            .find(|at| bytes.get(*at) == Some(&b'"') && (*at == 0 || bytes.get(*at - 1) != Some(&b'\\')));
        let (text, after) = match end {
            Some(end) => (rest.get(..end).unwrap_or_default(), end + 2),
            None => (rest, rest.len() + 1),
        };
        self.at += after;
        Token::Quoted(text)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn all(text: &str) -> Vec<String> {
        let dialect = Dialect {
            bang_breaks: false,
            plus: false,
        };
        let mut lexer = Lexer::new(text, dialect);
        let mut said = Vec::new();
        while let Some((token, range)) = lexer.next() {
            said.push(match token {
                Token::Bar(bar) => format!("bar {} {}{}", bar.text, bar.ends, bar.starts),
                Token::Space => continue,
                Token::Note(note) => format!("{}{}*{}", note.step.letter(), note.octave, note.length),
                Token::Ending(text) => format!("ending {text}"),
                _ => text[range].to_owned(),
            });
        }
        said
    }

    #[test]
    fn bar_lines_of_every_shape() {
        assert_eq!(
            all("A|B|]C||D[|E|:F:|G::a:|:b:||:c::|d|::e.|f[|]g|[|a[]b"),
            [
                "A4*1",
                "bar | 00",
                "B4*1",
                "bar |] 00",
                "C4*1",
                "bar || 00",
                "D4*1",
                "bar [| 00",
                "E4*1",
                "bar |: 01",
                "F4*1",
                "bar :| 10",
                "G4*1",
                "bar :: 11",
                "A5*1",
                "bar :|: 11",
                "B5*1",
                "bar :||: 11",
                "C5*1",
                "bar ::| 20",
                "D5*1",
                "bar |:: 02",
                "E5*1",
                "bar .| 00",
                "F5*1",
                "bar [|] 00",
                "G5*1",
                "bar |[| 00",
                "A5*1",
                "bar [] 00",
                "B5*1"
            ]
        );
    }

    #[test]
    fn endings_chords_and_fields() {
        assert_eq!(
            all("|1A:|2B|[1,3C [2-4D | [5E"),
            [
                "bar | 00",
                "ending 1",
                "A4*1",
                "bar :| 10",
                "ending 2",
                "B4*1",
                "bar | 00",
                "ending 1,3",
                "C4*1",
                "ending 2-4",
                "D4*1",
                "bar | 00",
                "ending 5",
                "E4*1"
            ]
        );
        assert_eq!(
            all("[CE]2|[K:Am][\"last time\" A|[\"C\"CE]"),
            [
                "[",
                "C4*1",
                "E4*1",
                "]2",
                "bar | 00",
                "[K:Am]",
                "ending \"last time\"",
                "A4*1",
                "bar | 00",
                "[",
                "\"C\"",
                "C4*1",
                "E4*1",
                "]"
            ]
        );
    }

    #[test]
    fn lengths_octaves_and_tuplets() {
        assert_eq!(
            all("C2c/d//e3/2f3/g/4A,,B'"),
            [
                "C4*2", "C5*1/2", "D5*1/4", "E5*3/2", "F5*3/2", "G5*1/4", "A2*1", "B5*1"
            ]
        );
        assert_eq!(
            all("(3abc(5:4:6a(b)(3::2c"),
            [
                "(3", "A5*1", "B5*1", "C5*1", "(5:4:6", "A5*1", "(", "B5*1", ")", "(3::2", "C5*1"
            ]
        );
        assert_eq!(
            all("^a_b=c^^d__e^/f_3/2g"),
            ["A5*1", "B5*1", "C5*1", "D5*1", "E5*1", "F5*1", "G5*1"]
        );
    }

    #[test]
    fn signs_and_what_is_none() {
        assert_eq!(
            all("!trill!A !fine! ~B.c{/g}d{ef}g A>B C<<D \"^a b\"E y3 & $ +trill+A +CE+ #"),
            [
                "!trill!", "A4*1", "!fine!", "~", "B4*1", ".", "C5*1", "{/", "G5*1", "}", "D5*1", "{",
                "E5*1", "F5*1", "}", "G5*1", "A4*1", ">", "B4*1", "C4*1", "<<", "D4*1", "\"^a b\"", "E4*1",
                "y3", "&", "$", "+trill+", "A4*1", "+", "C4*1", "E4*1", "+", "#"
            ]
        );
        assert_eq!(all("A!B C|"), ["A4*1", "!", "B4*1", "C4*1", "bar | 00"]);
        assert_eq!(all("\"open"), ["\"open"]);
        assert_eq!(
            all("A-`B.(C.)"),
            ["A4*1", "-", "`B", "(", "C4*1", ".)"].map(|s| if s == "`B" {
                "B4*1"
            } else if s == "(" {
                ".("
            } else {
                s
            })
        );
    }
}
