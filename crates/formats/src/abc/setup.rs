//! What is set before the music starts? The fields of the file header and of the tune's own.
//!
//! Source: ABC 2.1, sections 2.2.2 (file header) and 3.1 (information fields).

use super::clef::StaffWords;
use super::decorations::{Meaning, definition};
use super::key::{Key, key};
use super::macros::Macros;
use super::metre;
use super::says::{Says, Unread};
use super::text::plain;
use super::tokens::Dialect;
use super::voices::{Group, VoiceWords, score, voice};
use notation::{Metre, Quarters, Severity};
use std::collections::BTreeMap;

/// How far an accidental reaches.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub(super) enum Propagate {
    /// Only its own note.
    Not,
    /// Its octave, to the end of the bar: staff notation, and what is taken where nothing is said.
    #[default]
    Octave,
    /// Every octave, to the end of the bar.
    Pitch,
}

/// What breaks a line of the printed music. Source: ABC 2.1, 6.1.1: the end of a line and `$` where nothing is said.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Breaks {
    pub eol: bool,
    pub dollar: bool,
    pub bang: bool,
}

/// The header's fields.
#[derive(Debug)]
pub(super) struct Setup {
    pub titles: Vec<String>,
    pub composers: Vec<String>,
    /// Printed words of the heading: origin, rhythm, words under the tune.
    pub words: Vec<String>,
    /// Notes about source and transcription, each with its letter.
    pub notes: Vec<String>,
    pub rights: Vec<String>,
    pub transcribers: Vec<String>,
    pub metre: Option<Metre>,
    pub metre_said: bool,
    pub unit: Option<Quarters>,
    pub tempo: Option<String>,
    pub key: Option<Key>,
    pub staff: StaffWords,
    pub order: Option<String>,
    pub voices: Vec<VoiceWords>,
    pub groups: Vec<Group>,
    pub symbols: BTreeMap<char, Option<Meaning>>,
    pub macros: Macros,
    pub dialect: Dialect,
    pub propagate: Propagate,
    pub breaks: Breaks,
    /// The number of the first bar, where a directive gives it.
    pub first_number: Option<i64>,
    pub midi_program: Option<u8>,
    /// Words that start a system of the page anew.
    pub new_page: bool,
    /// The field that lines without a letter belong to, as old files have them.
    last: u8,
}

impl Default for Setup {
    fn default() -> Self {
        Self {
            titles: Vec::new(),
            composers: Vec::new(),
            words: Vec::new(),
            notes: Vec::new(),
            rights: Vec::new(),
            transcribers: Vec::new(),
            metre: None,
            metre_said: false,
            unit: None,
            tempo: None,
            key: None,
            staff: StaffWords::default(),
            order: None,
            voices: Vec::new(),
            groups: Vec::new(),
            symbols: BTreeMap::new(),
            macros: Macros::default(),
            dialect: Dialect {
                bang_breaks: false,
                plus: false,
            },
            propagate: Propagate::default(),
            breaks: Breaks {
                eol: true,
                dollar: true,
                bang: false,
            },
            first_number: None,
            midi_program: None,
            new_page: false,
            last: 0,
        }
    }
}

/// More lines of text of one kind than any heading has.
const MOST_LINES: usize = 500;

impl Setup {
    /// Takes in a field of a header.
    pub(super) fn field(&mut self, letter: u8, value: &str, says: &mut Says) {
        let value = value.trim();
        self.last = letter;
        let text = || plain(value);
        let push = |list: &mut Vec<String>, text: String| {
            if !text.is_empty() && list.len() < MOST_LINES {
                list.push(text);
            }
        };
        match letter {
            b'X' => {}
            b'T' => push(&mut self.titles, text()),
            b'C' => push(&mut self.composers, text()),
            b'O' | b'A' | b'R' | b'W' => push(&mut self.words, text()),
            b'Z' => {
                let said = text();
                let lower = said.to_lowercase();
                if said.contains('©') || lower.contains("copyright") {
                    push(
                        &mut self.rights,
                        said.strip_prefix("abc-copyright")
                            .unwrap_or(&said)
                            .trim()
                            .to_owned(),
                    );
                } else {
                    let name = said
                        .strip_prefix("abc-transcription")
                        .unwrap_or(&said)
                        .trim()
                        .to_owned();
                    push(&mut self.transcribers, name);
                }
            }
            b'B' | b'D' | b'F' | b'G' | b'H' | b'N' | b'S' => {
                push(&mut self.notes, format!("{}: {}", char::from(letter), text()));
            }
            b'M' => match metre::metre(value) {
                Some(metre) => (self.metre, self.metre_said) = (metre, true),
                None => metre_unclear(value, says),
            },
            b'L' => match metre::unit(value) {
                Some(unit) => self.unit = Some(unit),
                None => unit_unclear(value, says),
            },
            b'Q' => self.tempo = Some(value.to_owned()),
            b'P' => self.order = Some(value.to_owned()),
            b'K' => {
                let key = key(value);
                self.staff = key.staff.clone();
                self.key = Some(key);
            }
            b'V' => {
                let voice = voice(value);
                if self.voices.len() < 1_000 {
                    self.voices.push(voice);
                }
            }
            b'U' => self.symbol(value, says),
            b'm' => self.macro_field(value, says),
            b'I' => self.instruction(value, says),
            b'r' | b'+' => {}
            b'E' => outdated("E:", says),
            // Lyrics and symbols need notes above them.
            b'w' | b's' => says.unread(
                &format!("{}: in the header", char::from(letter)),
                Unread::Unknown,
                None,
            ),
            _ => says.unread(
                &format!("the field {}:", char::from(letter)),
                Unread::Unknown,
                None,
            ),
        }
    }

    /// A line without a letter in the header: old files go on with their history so.
    /// Source: ABC 2.1, section 10.1 (outdated: `H:` over several lines).
    pub(super) fn loose_line(&mut self, line: &str, says: &mut Says) {
        if self.last == b'H' {
            if let Some(note) = self.notes.last_mut()
                && note.len() < 20_000
            {
                note.push(' ');
                note.push_str(&plain(line.trim()));
            }
            return;
        }
        let shown: String = line.trim().chars().take(40).collect();
        says.push(
            Severity::Caution,
            "header-line-unclear",
            None,
            format!("“{shown}” stands in the heading but is no field; it was left out"),
            "a line of music must stand after the K: line",
        );
    }

    /// A symbol's definition.
    pub(super) fn symbol(&mut self, value: &str, says: &mut Says) {
        match definition(value) {
            Some((sign, meaning)) if self.symbols.len() < 200 => {
                self.symbols.insert(sign, meaning);
            }
            _ => says.unread(
                &format!("the definition U:{}", short(value)),
                Unread::Unknown,
                None,
            ),
        }
    }

    /// A macro's definition.
    pub(super) fn macro_field(&mut self, value: &str, says: &mut Says) {
        if !self.macros.define(value) {
            says.unread(&format!("the macro m:{}", short(value)), Unread::Unknown, None);
        }
    }

    /// An `I:` field: the same as a directive.
    pub(super) fn instruction(&mut self, value: &str, says: &mut Says) {
        self.directive(value, says);
    }

    /// A stylesheet directive or instruction that holds for the whole tune.
    pub(super) fn directive(&mut self, text: &str, says: &mut Says) {
        let text = text.trim();
        let (name, value) = text.split_once([' ', '\t', '=']).unwrap_or((text, ""));
        let value = value.trim();
        match name.to_ascii_lowercase().as_str() {
            "propagate-accidentals" => match value {
                "not" => self.propagate = Propagate::Not,
                "octave" => self.propagate = Propagate::Octave,
                "pitch" => self.propagate = Propagate::Pitch,
                _ => says.unread(
                    &format!("propagate-accidentals {}", short(value)),
                    Unread::Unknown,
                    None,
                ),
            },
            "linebreak" | "continueall" => {
                let has = |word: &str| value.split_whitespace().any(|w| w == word);
                self.breaks = Breaks {
                    eol: has("<EOL>"),
                    dollar: has("$"),
                    bang: has("!"),
                };
                self.dialect.bang_breaks = self.breaks.bang;
                // With `!` at the end of lines decorations are written in plus signs.
                self.dialect.plus |= self.breaks.bang;
            }
            "decoration" => {
                self.dialect.plus = value.starts_with('+');
                self.dialect.bang_breaks &= self.dialect.plus;
            }
            "setbarnb" | "measurefirst" => self.first_number = value.parse().ok().or(self.first_number),
            "score" | "staves" => self.groups = score(value),
            "newpage" => self.new_page = true,
            "midi" => self.midi(value, says),
            "abc-charset" => charset(value, says),
            "text" | "center" | "right" => {
                let words = plain(value);
                if !words.is_empty() && self.words.len() < MOST_LINES {
                    self.words.push(words);
                }
            }
            "abc-include" => says.unread("an included file (abc-include)", Unread::NoPlace, None),
            _ if is_layout(name) => {}
            _ => says.unread(
                &format!("the instruction “{}”", short(name)),
                Unread::NoPlace,
                None,
            ),
        }
    }

    fn midi(&mut self, value: &str, says: &mut Says) {
        let mut words = value.split_whitespace();
        match (words.next(), words.next(), words.next()) {
            // Numbered from 0 in `program`, with a channel before it or not.
            (Some("program"), Some(first), second) => {
                let program = second.unwrap_or(first).parse::<u8>().ok().filter(|n| *n < 128);
                self.midi_program = program.map(|n| n + 1).or(self.midi_program);
            }
            (Some("transpose"), ..) => says.unread(
                "MIDI transpose, a playback's transposition,",
                Unread::NoPlace,
                None,
            ),
            // What a computer plays.
            _ => {}
        }
    }
}

pub(super) fn metre_unclear(value: &str, says: &mut Says) {
    says.push(
        Severity::Caution,
        "metre-unclear",
        None,
        format!("the metre “{}” is not a fraction; it was left out", short(value)),
        "read the metre on the page",
    );
}

pub(super) fn unit_unclear(value: &str, says: &mut Says) {
    says.push(
        Severity::Caution,
        "unit-unclear",
        None,
        format!(
            "the length of a letter, L:{}, is no fraction; it was left out",
            short(value)
        ),
        "check the rhythm against the page",
    );
}

/// A form that the standard gave up.
pub(super) fn outdated(what: &str, says: &mut Says) {
    says.push(
        Severity::Note,
        "outdated-syntax",
        None,
        format!(
            "the tune uses a form that ABC 2.1 calls outdated ({what}); it was read as it was once meant"
        ),
        "",
    );
}

fn charset(value: &str, says: &mut Says) {
    let known = ["utf-8", "utf8", "us-ascii", "iso-8859-1", "latin1", ""];
    if !known.contains(&value.to_ascii_lowercase().as_str()) {
        says.push(
            Severity::Caution,
            "encoding-guessed",
            None,
            format!("the text says it is in {}, which is not read", short(value)),
            "check accented letters in names and words",
        );
    }
}

pub(super) fn short(text: &str) -> String {
    text.chars().take(40).collect()
}

/// Directives that say how the page looks or what a program does with the file.
/// Source: ABC 2.1, section 11.4 (formatting directives), by their beginnings.
fn is_layout(name: &str) -> bool {
    const STARTS: [&str; 74] = [
        "page",
        "top",
        "bot",
        "left",
        "right",
        "staff",
        "sys",
        "vocal",
        "text",
        "title",
        "subtitle",
        "music",
        "parts",
        "compose",
        "words",
        "info",
        "measure",
        "bar",
        "vskip",
        "sep",
        "scale",
        "header",
        "footer",
        "font",
        "gchord",
        "annotation",
        "tempo",
        "voice",
        "repeat",
        "history",
        "landscape",
        "indent",
        "maxstaff",
        "maxshrink",
        "stretch",
        "note",
        "slur",
        "flat",
        "grace",
        "straight",
        "write",
        "papersize",
        "oneperpage",
        "splittune",
        "print",
        "encoding",
        "postscript",
        "ps",
        "deco",
        "begin",
        "end",
        "line",
        "multicol",
        "leftmargin",
        "stem",
        "dynalign",
        "withxrefs",
        "exprabove",
        "exprbelow",
        "shifthnote",
        "shiftunison",
        "squarebreve",
        "timewarn",
        "contbarnb",
        "setfont",
        "format",
        "abc",
        "auto",
        "align",
        "break",
        "clef",
        "combine",
        "transpose",
        "key",
    ];
    let lower = name.to_ascii_lowercase();
    STARTS.iter().any(|start| lower.starts_with(start))
        || matches!(
            lower.as_str(),
            "linewarn"
                | "micronewps"
                | "custos"
                | "straightflags"
                | "pos"
                | "ornament"
                | "tune"
                | "hyphencont"
                | "nobeam"
                | "autoclef"
        )
}
