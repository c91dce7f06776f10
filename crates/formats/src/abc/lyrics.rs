//! Which syllable belongs to which note? `w:` lines, and the symbols of `s:` lines, aligned by the same rules.
//!
//! Source: ABC 2.1, sections 5.1 (alignment), 5.2 (verses), 5.3 (numbering) and 4.15 (symbol lines).

use super::decorations::{self, Mark};
use super::reader::Reader;
use super::says::Unread;
use notation::{BarIndex, Lyric};

/// One sign of a line of words.
#[derive(Clone, PartialEq, Eq, Debug)]
enum Sign {
    /// A syllable; true if its word goes on.
    Syllable(String, bool),
    /// The syllable before is held: over a note of its own.
    Hold,
    /// The syllable before goes on after a hyphen, over a note of its own.
    Hyphen,
    /// A note without a syllable.
    Skip,
    /// On to the next bar.
    Bar,
}

impl Reader {
    /// Aligns a line of words with the notes since the last one; lines that follow each other are verses.
    pub(super) fn words_line(&mut self, text: &str) {
        let voice = self.voice();
        if std::mem::replace(&mut voice.in_text, true) {
            voice.verse += 1;
        } else {
            (voice.text_from, voice.text_to) = (voice.text_to, voice.sung.len());
            voice.verse = 1;
        }
        let (from, to, verse) = (voice.text_from, voice.text_to, voice.verse);
        let mut walk = Walk::new(from, to);
        let mut last: Option<usize> = None;
        let mut inside_word = false;
        for sign in signs(text) {
            match sign {
                Sign::Bar => {
                    walk.next_bar(self);
                    continue;
                }
                Sign::Skip => {
                    walk.note(self);
                    inside_word = false;
                    continue;
                }
                Sign::Hold => {
                    walk.note(self);
                    if let Some(lyric) = last
                        .and_then(|event| self.voice().part.events.get_mut(event))
                        .and_then(|e| e.lyrics.last_mut())
                    {
                        lyric.extend = true;
                    }
                    continue;
                }
                Sign::Hyphen => {
                    walk.note(self);
                    continue;
                }
                Sign::Syllable(said, goes_on) => {
                    let Some(event) = walk.note(self) else {
                        walk.over += 1;
                        continue;
                    };
                    let syllabic = match (inside_word, goes_on) {
                        (false, false) => "single",
                        (false, true) => "begin",
                        (true, true) => "middle",
                        (true, false) => "end",
                    };
                    inside_word = goes_on;
                    last = Some(event);
                    if !self.take() {
                        return;
                    }
                    if let Some(event) = self.voice().part.events.get_mut(event) {
                        event.lyrics.push(Lyric {
                            line: verse.to_string(),
                            text: super::text::plain(&said),
                            syllabic: syllabic.to_owned(),
                            extend: false,
                        });
                    }
                }
            }
        }
        if walk.over > 0 {
            let what = format!(
                "a line of words has {} syllables more than notes; they were left out",
                walk.over
            );
            self.caution(
                "words-too-long",
                what,
                "check the words under the notes before this place",
            );
        }
    }

    /// Aligns a line of symbols.
    pub(super) fn symbol_line(&mut self, text: &str) {
        let voice = self.voice();
        if !std::mem::replace(&mut voice.in_symbols, true) {
            (voice.symbols_from, voice.symbols_to) = (voice.symbols_to, voice.sung.len());
        }
        let mut walk = Walk::new(voice.symbols_from, voice.symbols_to);
        let mut rest = text;
        while let Some(first) = rest.chars().next() {
            let mut taken = first.len_utf8();
            match first {
                '|' => walk.next_bar(self),
                '*' => {
                    walk.note(self);
                }
                '!' | '"' => {
                    let end = rest.get(1..).and_then(|inside| inside.find(first));
                    let inside = rest.get(1..1 + end.unwrap_or(rest.len() - 1)).unwrap_or_default();
                    taken = (inside.len() + 2).min(rest.len());
                    let event = walk.note(self);
                    self.symbol_on(first, inside, event);
                }
                _ if first.is_whitespace() => {}
                _ => {
                    let event = walk.note(self);
                    match decorations::usual(first) {
                        Some(name) => self.symbol_on('!', name, event),
                        None => self.unread(&format!("“{first}” in a line of symbols"), Unread::Unknown),
                    }
                }
            }
            rest = rest.get(taken..).unwrap_or_default();
        }
    }

    fn symbol_on(&mut self, sign: char, inside: &str, event: Option<usize>) {
        let Some(event) = event else {
            return self.unread("a symbol that stands over no note", Unread::Unknown);
        };
        let Some(place) = self.voice().part.events.get(event).map(|event| event.place) else {
            return;
        };
        // As if it had been written before its note.
        let voice = self.voice();
        let here = (voice.bar, voice.cursor);
        (voice.bar, voice.cursor) = (place.bar, place.offset);
        let waiting = std::mem::take(&mut voice.marks);
        if sign == '"' {
            self.quoted(inside);
        } else {
            match decorations::mark(inside) {
                Some(mark) => self.voice().marks = vec![mark],
                None => self.unread(&format!("the decoration !{inside}!"), Unread::Unknown),
            }
            let marks: Vec<Mark> = std::mem::take(&mut self.voice().marks);
            self.voice().marks = marks;
            self.finish_symbols(event);
        }
        let voice = self.voice();
        voice.marks = waiting;
        (voice.bar, voice.cursor) = here;
    }

    fn finish_symbols(&mut self, event: usize) {
        let starts = std::mem::take(&mut self.voice().slur_starts);
        self.finish_event(event);
        self.voice().slur_starts = starts;
    }
}

/// Walks over the notes that take syllables.
struct Walk {
    next: usize,
    to: usize,
    bar: Option<BarIndex>,
    over: usize,
}

impl Walk {
    const fn new(from: usize, to: usize) -> Self {
        Self {
            next: from,
            to,
            bar: None,
            over: 0,
        }
    }

    fn bar_of(&self, reader: &mut Reader, at: usize) -> Option<BarIndex> {
        if at >= self.to {
            return None;
        }
        let voice = reader.voice();
        let event = voice
            .sung
            .get(at)
            .and_then(|event| voice.part.events.get(*event))?;
        Some(event.place.bar)
    }

    /// The next note.
    fn note(&mut self, reader: &mut Reader) -> Option<usize> {
        self.bar = self.bar_of(reader, self.next);
        let event = if self.next < self.to {
            reader.voice().sung.get(self.next).copied()
        } else {
            None
        };
        self.next += usize::from(event.is_some());
        event
    }

    /// On to the first note of the next bar; nothing to do where the bar's notes are used up.
    fn next_bar(&mut self, reader: &mut Reader) {
        let current = self.bar.or_else(|| self.bar_of(reader, self.next));
        while let Some(bar) = self.bar_of(reader, self.next)
            && Some(bar) == current
        {
            self.next += 1;
        }
        // A further bar line skips a further bar.
        self.bar = None;
    }
}

/// The signs of a line of words.
fn signs(text: &str) -> Vec<Sign> {
    let mut signs = Vec::new();
    let mut syllable = String::new();
    let mut chars = text.trim().chars().peekable();
    let mut spaced = true;
    // `1.` before the first word numbers the verse and belongs to it.
    let flush = |syllable: &mut String, signs: &mut Vec<Sign>, goes_on: bool| {
        if !syllable.is_empty() {
            signs.push(Sign::Syllable(std::mem::take(syllable), goes_on));
            return true;
        }
        false
    };
    while let Some(c) = chars.next() {
        match c {
            '\\' => match chars.peek() {
                Some('-') => {
                    syllable.push('-');
                    chars.next();
                }
                Some(next) => {
                    syllable.push('\\');
                    syllable.push(*next);
                    chars.next();
                }
                None => {}
            },
            '-' => {
                let ended = flush(&mut syllable, &mut signs, true);
                if !ended {
                    // After a space or another hyphen it stands for a note of its own, and the word goes on.
                    signs.push(Sign::Hyphen);
                    if spaced
                        && let Some(Sign::Syllable(_, goes_on)) = signs
                            .iter_mut()
                            .rev()
                            .find(|sign| matches!(sign, Sign::Syllable(..)))
                    {
                        *goes_on = true;
                    }
                }
            }
            '_' => {
                flush(&mut syllable, &mut signs, false);
                signs.push(Sign::Hold);
            }
            '*' => {
                flush(&mut syllable, &mut signs, false);
                signs.push(Sign::Skip);
            }
            '|' => {
                flush(&mut syllable, &mut signs, false);
                signs.push(Sign::Bar);
            }
            '~' => syllable.push(' '),
            _ if c.is_whitespace() => {
                flush(&mut syllable, &mut signs, false);
            }
            _ => syllable.push(c),
        }
        spaced = c.is_whitespace();
    }
    flush(&mut syllable, &mut signs, false);
    number_of_verse(&mut signs);
    signs
}

/// A word that is only a number at the start is the verse's, and stands with the first syllable.
/// Source: ABC 2.1, 5.3.
fn number_of_verse(signs: &mut Vec<Sign>) {
    let [Sign::Syllable(number, false), Sign::Syllable(first, _), ..] = signs.as_slice() else {
        return;
    };
    let is_number = number
        .trim_end_matches(['.', ')', ':'])
        .bytes()
        .all(|b| b.is_ascii_digit())
        && number.starts_with(|c: char| c.is_ascii_digit());
    if is_number {
        let joined = format!("{number} {first}");
        signs.remove(0);
        if let Some(Sign::Syllable(first, _)) = signs.first_mut() {
            *first = joined;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(text: &str) -> String {
        let say = |sign: Sign| match sign {
            Sign::Syllable(text, goes_on) => format!("{text}{}", if goes_on { "-" } else { "" }),
            Sign::Hold => "_".to_owned(),
            Sign::Hyphen => "=".to_owned(),
            Sign::Skip => "*".to_owned(),
            Sign::Bar => "|".to_owned(),
        };
        signs(text).into_iter().map(say).collect::<Vec<_>>().join(" ")
    }

    /// Source: ABC 2.1, 5.1, the examples.
    #[test]
    fn syllables_and_their_signs() {
        assert_eq!(said("syll-a-ble"), "syll- a- ble");
        assert_eq!(said("syll-a--ble"), "syll- a- = ble");
        assert_eq!(said("syll-a -ble"), "syll- a- = ble");
        assert_eq!(said("time__"), "time _ _");
        assert_eq!(said("of~the~day"), "of the day");
        assert_eq!(said("x\\-ray"), "x-ray");
        assert_eq!(said("*see ** see|yes"), "* see * * see | yes");
        assert_eq!(said("ban-_ner yet_ wave"), "ban- _ ner yet _ wave");
        assert_eq!(said("1. Three blind mice"), "1. Three blind mice");
        assert_eq!(signs("1. Three blind").len(), 2);
    }
}
