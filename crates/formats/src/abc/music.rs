//! What does a line of music put down? Its tokens one by one, handed to what each of them is about.

use super::decorations::{self, Mark, Meaning, Quoted, quoted};
use super::reader::Reader;
use super::says::Unread;
use super::setup::outdated;
use super::tokens::{Lexer, Token};
use super::voice::{OpenChord, OpenGrace};
use notation::{DirectionKind, IdKind, Rational};

impl Reader {
    /// Reads a line of music that starts at a byte of the decoded text; `joined` if the next line goes on with it.
    pub(super) fn music_line(&mut self, text: &str, start: usize, joined: bool) {
        self.ensure_voice();
        let voice = self.voice();
        voice.used = true;
        (voice.in_text, voice.in_symbols) = (false, false);
        let expanded = if self.setup.macros.is_empty() {
            None
        } else {
            self.setup.macros.expand(text)
        };
        let whole = (start, start + text.len());
        let mut lexer = Lexer::new(expanded.as_deref().unwrap_or(text), self.setup.dialect);
        while let Some((token, range)) = lexer.next() {
            // A macro's notes stand where the macro does: somewhere in this line.
            self.at = if expanded.is_some() {
                whole
            } else {
                (start + range.start, start + range.end)
            };
            self.token(token);
            if self.too_much.is_some() {
                return;
            }
        }
        self.at = whole;
        self.close_groups("a line");
        if !joined {
            self.line_end();
        }
    }

    fn token(&mut self, token: Token<'_>) {
        match token {
            Token::Note(note) => self.note(&note),
            Token::Rest { printed, length } => self.rest(length, printed),
            Token::BarRest { printed, bars } => self.bar_rest(bars, printed),
            Token::ChordOpen => self.open_chord(),
            Token::ChordClose(length) => self.close_chord(length),
            Token::OldChord => {
                outdated("chords in plus signs", &mut self.says);
                self.open_chord();
            }
            Token::GraceOpen { slash } => self.open_grace(slash),
            Token::GraceClose => self.close_grace(),
            Token::Bar(bar) => self.bar_line(&bar),
            Token::Ending(text) => self.ending(text),
            Token::Tuplet { p, q, r } => self.tuplet(p, q, r),
            Token::SlurOpen => {
                let at = self.at.0;
                let voice = self.voice();
                if voice.slur_starts.len() < 50 {
                    voice.slur_starts.push(at);
                }
            }
            Token::SlurClose => self.close_slur(),
            Token::Tie => self.tie(),
            Token::Broken(signs) => self.broken(signs),
            Token::Decoration(name) => self.decoration(name),
            Token::Shorthand(sign) => self.shorthand(sign),
            Token::Quoted(text) => self.quoted(text),
            Token::Field(letter, value) => {
                self.close_groups("a field");
                self.body_field(letter, value, true);
                if letter == b'V' {
                    let voice = self.voice();
                    (voice.in_text, voice.in_symbols) = (false, false);
                }
            }
            Token::Overlay => self.overlay(),
            Token::Space => self.flush_beam(),
            Token::Spacer => {
                self.marks_at_place();
                self.flush_beam();
            }
            Token::LineBreak => self.line_break(),
            Token::Unknown(text) => self.unknown(text),
        }
    }

    fn unknown(&mut self, text: &str) {
        match text {
            // Old justification signs, and marks that the standard keeps for later.
            "*" | "\\" | ";" | "?" | "@" | "#" => self.unread(&format!("the sign “{text}”"), Unread::NoPlace),
            // The end of a bracket over bars, as some programs write it.
            "]" if self.voice().ending.is_some() => self.discontinue_ending(),
            _ => self.unread(&format!("“{text}” among the notes"), Unread::Unknown),
        }
    }

    /// The end of a line of the source: a new system, unless told otherwise; and a bar line where one was left out.
    fn line_end(&mut self) {
        self.flush_beam();
        let breaks = self.setup.breaks.eol;
        let voice = self.voice();
        voice.break_before |= breaks;
        // Older collections leave out the bar line at the end of a line: the bar is full, and music goes on.
        voice.full_at_line_end = voice.has_content
            && voice.layer == 0
            && voice
                .bar_length
                .is_some_and(|length| length == voice.cursor && length == voice.end)
            && voice.tuplets.is_empty()
            && voice.broken.is_none();
    }

    fn line_break(&mut self) {
        self.flush_beam();
        if !self.setup.breaks.bang && !self.setup.breaks.dollar {
            return;
        }
        self.voice().break_before = true;
    }

    /// `!name!`
    fn decoration(&mut self, name: &str) {
        match decorations::mark(name) {
            Some(mark) => self.mark(mark),
            None => self.unread(&format!("the decoration !{name}!"), Unread::Unknown),
        }
    }

    /// A letter that stands for a decoration, by the tune's own definitions first.
    fn shorthand(&mut self, sign: char) {
        match self.setup.symbols.get(&sign).cloned() {
            Some(Some(Meaning::Decoration(name))) => self.decoration(&name),
            Some(Some(Meaning::Quoted(text))) => self.quoted(&text),
            Some(None) => {}
            None => match decorations::usual(sign) {
                Some(name) => self.decoration(name),
                None => self.unread(
                    &format!("the letter {sign}, for which no symbol is defined,"),
                    Unread::Unknown,
                ),
            },
        }
    }

    /// A mark for the next note, or at this place.
    pub(super) fn mark(&mut self, mark: Mark) {
        if let Mark::Start(decorations::Family::Ottava, notation::SpanKind::Ottava { octaves }) = &mark {
            self.voice().ottava = *octaves;
        }
        let voice = self.voice();
        let list = match &mut voice.chord {
            Some(chord)
                if matches!(
                    mark,
                    Mark::Technical("fingering", _) | Mark::Editorial | Mark::Courtesy
                ) =>
            {
                &mut chord.marks
            }
            _ => &mut voice.marks,
        };
        if list.len() < 100 {
            list.push(mark);
        }
    }

    /// A text in quotation marks.
    pub(super) fn quoted(&mut self, text: &str) {
        match quoted(text) {
            Quoted::Annotation(side, words) => {
                if !words.trim().is_empty() {
                    self.direction(DirectionKind::Words(words), side);
                }
            }
            Quoted::Chord(text) => self.direction(
                DirectionKind::Sign {
                    name: "harmony".to_owned(),
                    text,
                },
                None,
            ),
        }
    }

    fn open_chord(&mut self) {
        self.imply_bar_line();
        let id = self.id(IdKind::Event);
        let start = self.at.0;
        self.voice().chord = Some(OpenChord {
            id,
            heads: Vec::new(),
            length: Rational::ONE,
            start,
            marks: Vec::new(),
            tied: Vec::new(),
        });
    }

    fn open_grace(&mut self, slash: bool) {
        if self.voice().grace.is_some() {
            self.close_grace();
        }
        self.imply_bar_line();
        let voice = self.voice();
        voice.grace = Some(OpenGrace {
            slash,
            from: voice.part.events.len(),
            lengths: Vec::new(),
            marks: std::mem::take(&mut voice.marks),
            slurs: std::mem::take(&mut voice.slur_starts),
        });
    }

    /// Closes chords and grace notes that were left open before something that ends them.
    pub(super) fn close_groups(&mut self, what: &str) {
        if self.voice().chord.is_some() {
            self.caution(
                "chord-open",
                format!("a chord is not closed before {what}; it was closed there"),
                "check the notes of this bar against the page",
            );
            self.close_chord(Rational::ONE);
        }
        if self.voice().grace.is_some() {
            self.caution(
                "grace-open",
                format!("grace notes are not closed before {what}; they were closed there"),
                "check the notes of this bar against the page",
            );
            self.close_grace();
        }
    }

    /// Further notes of the bar from its start: another voice on the same staff.
    /// Source: ABC 2.1, 7.4 (voice overlay).
    fn overlay(&mut self) {
        self.close_groups("an overlay");
        self.flush_beam();
        self.close_tuplets();
        let voice = self.voice();
        if !voice.has_content {
            return;
        }
        voice.broken = None;
        voice.last = None;
        voice.cursor = notation::Quarters::ZERO;
        voice.accidentals.clear();
        voice.layer = voice.layer.saturating_add(1).min(30);
        while voice.part.voices.len() <= usize::from(voice.layer) {
            let first = voice.part.voices.first().cloned().unwrap_or_default();
            let name = format!("{first} overlay {}", voice.part.voices.len());
            voice.part.voices.push(name);
        }
    }
}
