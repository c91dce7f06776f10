//! How is a tune read from its first line to its last? Header, body line by line, then everything put together.

use super::key::key;
use super::lines::{Line, split};
use super::says::{At, Says, Unread};
use super::setup::{Setup, metre_unclear, outdated, short, unit_unclear};
use super::voice::Voice;
use super::voices::voice;
use super::{metre, tempo, text};
use crate::assemble::{MOST_BARS, MOST_CELLS, MOST_EVENTS, Score};
use crate::{FormatError, Tune};
use notation::{
    Change, Clef, Direction, DirectionKind, Finding, Id, IdKind, Origin, Part, Piece, Place, Severity, Side,
};

/// A label in the tune's body: where a section begins.
#[derive(Clone, Debug)]
pub(super) struct Label {
    pub name: String,
    pub place: Place,
}

/// What is being read.
#[derive(Debug)]
pub(super) struct Reader {
    pub score: Score,
    pub says: Says,
    pub setup: Setup,
    pub voices: Vec<Voice>,
    /// The voice being read.
    pub now: usize,
    pub labels: Vec<Label>,
    /// Where in the decoded text the thing being read stands.
    pub at: (usize, usize),
    /// Reading stops here: more than a tune holds.
    pub too_much: Option<&'static str>,
    /// Bars that rests of several bars have made.
    pub rest_bars: usize,
    /// So many notes and signs are read.
    most: usize,
    /// How many events the tune is likely to have.
    likely: usize,
}

/// A note can take a single byte of text but some 1,100 of memory, read and surveyed: so many, and one more for so many bytes
/// of text, stay under twenty times the text and 64 MB. No tune comes near.
const MOST_IN_A_SHORT_TUNE: usize = 50_000;
const TEXT_OF_A_NOTE: usize = 60;
/// Bytes of text that a usual event takes, with the bars and blanks between.
const TEXT_OF_AN_EVENT: usize = 2;

/// Reads one tune of the decoded text, with the file header that stands before the first.
pub(super) fn read(text: &str, tune: Option<&Tune>) -> Result<(Piece, Vec<Finding>), FormatError> {
    if u32::try_from(text.len()).is_err() {
        return Err(FormatError::Unfolds {
            megabytes: text.len() as u64 / 1_000_000,
            limit: 4_000,
        });
    }
    let (from, to) = tune.map_or((0, text.len()), |tune| tune.range);
    let body = text.get(from..to).unwrap_or_default();
    let mut reader = Reader {
        score: Score::default(),
        says: Says::default(),
        setup: Setup::default(),
        voices: Vec::new(),
        now: 0,
        labels: Vec::new(),
        at: (from, from),
        too_much: None,
        rest_bars: 0,
        likely: (body.len() / TEXT_OF_AN_EVENT).min(MOST_EVENTS),
        most: MOST_EVENTS.min(MOST_IN_A_SHORT_TUNE + body.len() / TEXT_OF_A_NOTE),
    };
    reader.score.piece.provenance.origins.reserve(reader.likely);
    if let Some(header) = text.get(super::tunebook::file_header(text)) {
        reader.file_header(header);
    }
    reader.tune(body, from);
    let line = 1 + text
        .get(..reader.at.0)
        .unwrap_or_default()
        .bytes()
        .filter(|b| *b == b'\n')
        .count();
    if let Some(what) = reader.too_much {
        return Err(FormatError::TooMuch {
            line,
            place: tune.map_or_else(|| "the tune".to_owned(), |tune| format!("tune {}", tune.number)),
            what: what.to_owned(),
        });
    }
    reader.finish().ok_or_else(|| FormatError::NoMusic {
        line: 1 + text
            .get(..from)
            .unwrap_or_default()
            .bytes()
            .filter(|b| *b == b'\n')
            .count(),
        what: "the tune that starts here has no notes".to_owned(),
        advice: "choose another tune of the book, or look whether its music stands after the K: line",
    })
}

impl Reader {
    fn file_header(&mut self, header: &str) {
        for (_, line) in split(header) {
            match line {
                Line::Field(letter, value) => self.setup.field(letter, &value, &mut self.says),
                Line::Directive(text) => self.setup.directive(text, &mut self.says),
                _ => {}
            }
        }
        // A title of the book is not the tune's.
        self.setup.titles.clear();
        self.setup.key = None;
    }

    fn tune(&mut self, body: &str, base: usize) {
        let lines = split(body);
        let mut music_seen = false;
        let mut header = true;
        for (index, (at, line)) in lines.iter().enumerate() {
            self.at = (base + at, base + at);
            if self.too_much.is_some() {
                return;
            }
            match line {
                Line::Field(letter, value) if header => {
                    self.setup.field(*letter, value, &mut self.says);
                    header = *letter != b'K';
                    if !header {
                        self.begin();
                    }
                }
                Line::Field(letter, value) => self.body_field(*letter, value, false),
                Line::Directive(text) if header => self.setup.directive(text, &mut self.says),
                Line::Directive(text) => self.body_directive(text),
                Line::Music(text, _) if header && !is_tune_body(text, &self.setup) => {
                    self.setup.loose_line(text, &mut self.says)
                }
                Line::Music(text, joined) => {
                    if std::mem::take(&mut header) {
                        self.says.push(
                            Severity::Caution,
                            "key-missing",
                            None,
                            "the tune has no K: line; it was read without sharps and flats",
                            "look at the key signature on the page",
                        );
                        self.begin();
                    }
                    music_seen = true;
                    self.music_line(text, base + at, *joined);
                }
                Line::Empty if music_seen => {
                    self.after_the_end(lines.get(index..).unwrap_or_default());
                    break;
                }
                Line::Empty | Line::Comment => {}
            }
        }
        if header {
            self.begin();
        }
        self.end_of_tune();
    }

    /// A tune ends with an empty line; music after it is not the tune's, but may be meant for it.
    fn after_the_end(&mut self, rest: &[(usize, Line<'_>)]) {
        let music = rest
            .iter()
            .filter(|(_, line)| matches!(line, Line::Music(text, _) if looks_like_music(text)));
        let count = music.count();
        if count > 0 {
            self.says.push(
                Severity::Caution,
                "music-after-empty-line",
                None,
                format!("{count} lines that look like music stand after an empty line, with which a tune ends; they were left out"),
                "take the empty line out if they belong to the tune",
            );
        }
    }

    /// The header has ended: the voices that it names are there.
    fn begin(&mut self) {
        let named: Vec<String> = self.setup.voices.iter().map(|voice| voice.id.clone()).collect();
        if let Some(key) = &self.setup.key {
            for word in key.unknown.clone() {
                self.says.unread(
                    &format!("“{}” in the K: field", short(&word)),
                    Unread::Unknown,
                    None,
                );
            }
            for word in key.staff.unclear.clone() {
                self.says.unread(
                    &format!("“{}” in the K: field", short(&word)),
                    Unread::Unknown,
                    None,
                );
            }
        }
        for id in named {
            self.voice_by_id(&id);
        }
        self.now = 0;
    }

    /// Makes sure that there is a voice to read into.
    pub(super) fn ensure_voice(&mut self) {
        if self.voices.is_empty() {
            self.voice_by_id("1");
            self.now = 0;
        }
    }

    /// The voice being read. There is one: see [`Reader::ensure_voice`].
    pub(super) fn voice(&mut self) -> &mut Voice {
        self.ensure_voice();
        let now = self.now.min(self.voices.len() - 1);
        &mut self.voices[now]
    }

    /// The voice with an id, made if there is none.
    pub(super) fn voice_by_id(&mut self, id: &str) -> usize {
        if let Some(found) = self.voices.iter().position(|voice| voice.id == id) {
            return found;
        }
        if self.voices.len() >= 200
            || (self.voices.len() + 1) * self.voices.iter().map(|v| v.bars.len()).max().unwrap_or(0)
                > MOST_CELLS
        {
            self.too_much = Some("more voices");
            return 0;
        }
        let part_id = self.score.piece.ids.give(IdKind::Part);
        let mut part = Part::new(part_id, "");
        part.voices.push(if id.is_empty() {
            "1".to_owned()
        } else {
            id.to_owned()
        });
        part.midi_program = self.setup.midi_program;
        let origin = Origin {
            foreign_id: Some(id.to_owned()),
            ..Origin::default()
        };
        self.score.piece.provenance.origins.insert(part_id, origin);
        // Most tunes have one voice; an event that grows its list is copied with all before it.
        if self.voices.is_empty() {
            part.events.reserve(self.likely);
        }
        let mut voice = Voice::new(id.to_owned(), part);
        voice.unit = self
            .setup
            .unit
            .unwrap_or_else(|| metre::usual_unit(self.setup.metre.as_ref()));
        voice.set_metre(self.setup.metre.clone());
        self.voices.push(voice);
        let index = self.voices.len() - 1;
        let before = std::mem::replace(&mut self.now, index);
        self.open_voice(index == 0);
        self.now = before;
        index
    }

    /// What stands at the start of a voice: clef, key, metre, transposition; the tempo over the first.
    fn open_voice(&mut self, first: bool) {
        let place = Place::default();
        let voice_id = self.voice().id.clone();
        let words: Vec<super::voices::VoiceWords> = self
            .setup
            .voices
            .iter()
            .filter(|words| words.id == voice_id)
            .cloned()
            .collect();
        let staff = self.setup.staff.clone();
        self.voice().set_staff(&staff);
        let mut transpose = staff.transpose;
        let mut lines = staff.lines;
        for words in &words {
            self.voice().set_staff(&words.staff);
            transpose = words.staff.transpose.or(transpose);
            lines = words.staff.lines.or(lines);
            self.voice_names(words);
        }
        let clef = self.voice().clef;
        self.clef_change(clef, place);
        if let Some(key) = self.setup.key.clone() {
            let signature = key
                .signature
                .unwrap_or_else(|| notation::KeySignature::of_fifths(0));
            self.voice().set_signature(&signature);
            self.key_change(signature, !key.hidden, place);
        }
        if let Some(metre) = self.setup.metre.clone() {
            self.metre_change(Some(metre), place);
        } else if self.setup.metre_said {
            self.metre_change(None, place);
        }
        self.transpose(transpose, lines, place);
        if first && let Some(said) = self.setup.tempo.clone() {
            self.tempo(&said);
        }
    }

    pub(super) fn transpose(&mut self, semitones: Option<i32>, lines: Option<u8>, place: Place) {
        if let Some(semitones) = semitones {
            let id = self.id(IdKind::Change);
            let value = super::clef::transposition(semitones);
            let known = self.voice().part.transpositions.last().map(|change| change.value);
            if known != Some(value) && !(known.is_none() && value.is_none()) {
                self.voice().part.transpositions.push(Change {
                    id,
                    place,
                    staff: None,
                    value,
                    printed: true,
                });
            }
        }
        if let Some(lines) = lines {
            let voice = self.voice();
            voice.part.staff_lines.clear();
            if lines != 5 {
                voice.part.staff_lines.push((1, lines));
            }
        }
    }

    fn voice_names(&mut self, words: &super::voices::VoiceWords) {
        for word in words.unknown.iter().chain(&words.staff.unclear) {
            self.says.unread(
                &format!("“{}” in the V: field", short(word)),
                Unread::Unknown,
                None,
            );
        }
        let (name, subname) = (words.name.clone(), words.subname.clone());
        let part = &mut self.voice().part;
        if let Some(name) = name {
            part.name = name;
        }
        if let Some(subname) = subname {
            part.abbreviation = subname;
        }
    }

    /// A new id, with where the element stands in the text.
    pub(super) fn id(&mut self, kind: IdKind) -> Id {
        let id = self.score.piece.ids.give(kind);
        let small = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
        let origin = Origin {
            range: Some((small(self.at.0), small(self.at.1))),
            ..Origin::default()
        };
        self.score.piece.provenance.origins.insert(id, origin);
        id
    }

    /// Where reading stands, for a finding.
    pub(super) fn here(&mut self) -> At {
        let now = self.now;
        let voice = self.voice();
        At {
            voice: now,
            bar: voice.bar,
            offset: voice.cursor,
        }
    }

    pub(super) fn caution(&mut self, kind: &'static str, what: impl Into<String>, advice: &str) {
        let at = self.here();
        self.says.push(Severity::Caution, kind, Some(at), what, advice);
    }

    pub(super) fn remark(&mut self, kind: &'static str, what: impl Into<String>) {
        let at = self.here();
        self.says.push(Severity::Note, kind, Some(at), what, "");
    }

    pub(super) fn unread(&mut self, what: &str, why: Unread) {
        let at = self.here();
        self.says.unread(what, why, Some(at));
    }

    /// Counts an element against the limits; false when there are too many.
    pub(super) fn take(&mut self) -> bool {
        self.score.taken += 1;
        if self.score.taken > self.most {
            self.too_much = Some("more notes");
        } else if self.voice().bar.get() >= MOST_BARS {
            self.too_much = Some("more bars");
        }
        self.too_much.is_none()
    }

    pub(super) fn clef_change(&mut self, clef: Clef, place: Place) {
        let id = self.id(IdKind::Change);
        self.voice().part.clefs.push(Change {
            id,
            place,
            staff: None,
            value: clef,
            printed: true,
        });
    }

    pub(super) fn key_change(&mut self, key: notation::KeySignature, printed: bool, place: Place) {
        let id = self.id(IdKind::Change);
        self.voice().part.keys.push(Change {
            id,
            place,
            staff: None,
            value: key,
            printed,
        });
    }

    fn metre_change(&mut self, metre: Option<notation::Metre>, place: Place) {
        let id = self.id(IdKind::Change);
        let value = metre.unwrap_or(notation::Metre {
            parts: Vec::new(),
            symbol: notation::MetreSymbol::Senza,
        });
        self.voice().part.metres.push(Change {
            id,
            place,
            staff: None,
            value,
            printed: true,
        });
    }

    /// Adds a word or sign where the voice stands.
    pub(super) fn direction(&mut self, kind: DirectionKind, side: Option<Side>) {
        if !self.take() {
            return;
        }
        let id = self.id(IdKind::Direction);
        let voice = self.voice();
        let place = voice.place();
        voice.part.directions.push(Direction {
            id,
            place,
            staff: None,
            voice: None,
            side,
            printed: true,
            kind,
        });
    }

    fn tempo(&mut self, value: &str) {
        let unit = self.voice().unit;
        let tempo = tempo::tempo(value, unit);
        if tempo.outdated {
            outdated("a tempo without its note", &mut self.says);
        }
        if let Some(text) = tempo.unclear {
            self.caution(
                "tempo-unclear",
                format!("the tempo “{text}” is not understood"),
                "read the tempo on the page",
            );
        }
        for kind in tempo.said {
            self.direction(kind, Some(Side::Above));
        }
    }

    /// A field in the tune's body, on a line of its own or in brackets.
    pub(super) fn body_field(&mut self, letter: u8, value: &str, inline: bool) {
        let value = value.trim();
        if !matches!(letter, b'w' | b's' | b'r' | b'N' | b'W') {
            self.flush_beam();
        }
        match letter {
            b'w' => self.words_line(value),
            b's' => self.symbol_line(value),
            b'K' => self.body_key(value),
            b'M' => match metre::metre(value) {
                Some(metre) => {
                    let place = self.voice().place();
                    self.voice().set_metre(metre.clone());
                    self.metre_change(metre, place);
                }
                None => metre_unclear(value, &mut self.says),
            },
            b'L' => match metre::unit(value) {
                Some(unit) => self.voice().unit = unit,
                None => unit_unclear(value, &mut self.says),
            },
            b'Q' => self.tempo(value),
            b'V' => self.body_voice(value),
            b'P' => self.label(value),
            b'T' => {
                let words = text::plain(value);
                if !words.is_empty() {
                    self.direction(DirectionKind::Words(words), Some(Side::Above));
                }
            }
            b'U' => self.setup.symbol(value, &mut self.says),
            b'm' => self.setup.macro_field(value, &mut self.says),
            b'I' => self.body_directive(value),
            b'r' => {}
            b'W' | b'N' | b'R' | b'C' | b'O' | b'A' | b'B' | b'D' | b'F' | b'G' | b'H' | b'S' | b'Z' => {
                self.setup.field(letter, value, &mut self.says);
            }
            b'E' => outdated("E:", &mut self.says),
            b'+' => self.unread("a continuation (+:) of no field", Unread::Unknown),
            _ => {
                let shape = if inline {
                    format!("[{}:]", char::from(letter))
                } else {
                    format!("the field {}:", char::from(letter))
                };
                self.unread(&shape, Unread::Unknown);
            }
        }
    }

    fn body_key(&mut self, value: &str) {
        let said = key(value);
        for word in said.unknown.iter().chain(&said.staff.unclear) {
            self.unread(&format!("“{}” in a K: field", short(word)), Unread::Unknown);
        }
        let place = self.voice().place();
        if let Some(signature) = said.signature {
            self.voice().set_signature(&signature);
            let same = self
                .voice()
                .part
                .keys
                .last()
                .is_some_and(|change| change.value == signature);
            let empty = place == Place::default();
            if empty {
                // Before the first note: in place of the header's.
                self.voice().part.keys.clear();
            }
            if !same || empty {
                self.key_change(signature, !said.hidden, place);
            }
        }
        self.staff_words(&said.staff, place);
    }

    fn staff_words(&mut self, staff: &super::clef::StaffWords, place: Place) {
        if self.voice().set_staff(staff) {
            let clef = self.voice().clef;
            if place == Place::default() {
                self.voice().part.clefs.clear();
            }
            self.clef_change(clef, place);
        }
        self.transpose(staff.transpose, staff.lines, place);
    }

    fn body_voice(&mut self, value: &str) {
        let words = voice(value);
        if words.id.is_empty() {
            return;
        }
        // The first voice named takes the place of the one that was there without a name.
        if let [only] = self.voices.as_mut_slice()
            && self.setup.voices.is_empty()
            && !only.used
            && only.id != words.id
        {
            only.id.clone_from(&words.id);
            only.part.voices = vec![words.id.clone()];
        }
        self.now = self.voice_by_id(&words.id);
        self.voice().used = true;
        if words.name.is_some() || words.subname.is_some() || !words.unknown.is_empty() {
            self.voice_names(&words);
        }
        let place = self.voice().place();
        self.staff_words(&words.staff, place);
    }

    /// `P:` in the body: a section begins.
    fn label(&mut self, value: &str) {
        let name = text::plain(value);
        if name.is_empty() {
            return;
        }
        if self.labels.len() >= 1_000 {
            return self.unread("a label of a part, too many being there,", Unread::NoPlace);
        }
        self.ensure_voice();
        let place = self.voice().place();
        let known = self
            .labels
            .iter()
            .any(|label| label.name == name && label.place == place);
        if known && self.now > 0 {
            return;
        }
        self.labels.push(Label {
            name: name.clone(),
            place,
        });
        self.direction(DirectionKind::Rehearsal(name), Some(Side::Above));
    }

    fn body_directive(&mut self, text: &str) {
        let text = text.trim();
        let (name, value) = text.split_once([' ', '\t', '=']).unwrap_or((text, ""));
        match name.to_ascii_lowercase().as_str() {
            "setbarnb" | "measurefirst" => {
                let number = value.trim().parse().ok();
                let voice = self.voice();
                if voice.bar.0 == 0 && !voice.has_content {
                    self.setup.first_number = number;
                } else {
                    voice.note.number = number;
                }
            }
            "newpage" => self.voice().note.new_page = true,
            _ => self.setup.directive(text, &mut self.says),
        }
    }
}

/// A line of music where the header should still go on: a tune without a `K:` line.
fn is_tune_body(text: &str, setup: &Setup) -> bool {
    looks_like_music(text) || setup.titles.is_empty() && setup.notes.is_empty() && !has_words(text)
}

/// Notes and bar lines rather than words.
fn looks_like_music(text: &str) -> bool {
    let notes = text
        .bytes()
        .filter(|b| matches!(b, b'A'..=b'G' | b'a'..=b'g'))
        .count();
    text.contains('|') && notes > 2 && !has_words(text)
}

fn has_words(text: &str) -> bool {
    let no_note = |c: char| !matches!(c.to_ascii_lowercase(), 'a'..='g' | 'z');
    text.split(|c: char| !c.is_ascii_alphabetic())
        .any(|word| word.len() > 4 && word.contains(no_note))
}
