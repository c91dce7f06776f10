//! Which syllables stand under a note?
//!
//! Source: MEI 5.0, verse, syl, att.syl.log (`con`, `wordpos`).

use super::music::Music;
use super::text::words;
use super::values::short;
use crate::report::Why;
use crate::xml::El;
use notation::Lyric;

/// More lines of text than stand under one note.
const MOST_LYRICS: usize = 100;

impl<'a> Music<'a> {
    /// A `verse` (or `refrain`) with its syllables, or a syllable alone.
    pub(super) fn lyric(&mut self, el: El<'_, 'a>, part: usize, event: usize) {
        let line = match el.name() {
            "verse" if self.own.is_some() => el.attr("n").or(el.attr("label")).unwrap_or_default().to_owned(),
            "syl" => "1".to_owned(),
            "refrain" => el.attr("n").map_or_else(|| "refrain".to_owned(), short),
            _ => el.attr("n").map_or_else(|| "1".to_owned(), short),
        };
        let mut lyric = Lyric {
            line,
            text: String::new(),
            syllabic: String::new(),
            extend: false,
        };
        let syllables = if el.name() == "syl" {
            vec![el]
        } else {
            self.content(el)
        };
        let mut first = true;
        for syllable in syllables {
            match syllable.name() {
                "syl" => self.add_syllable(syllable, &mut lyric, &mut first),
                "volta" => {
                    for inner in self.content(syllable) {
                        if inner.name() == "syl" {
                            self.add_syllable(inner, &mut lyric, &mut first);
                        }
                    }
                }
                // The verse's number or name, and its layout.
                "label" | "labelAbbr" | "lb" | "space" | "dynam" | "tempo" | "dir" | "annot" => {
                    if !matches!(syllable.name(), "lb" | "space") {
                        self.unread(syllable.name(), "verse", Why::NoPlace);
                    }
                }
                other => self.unread(other, "verse", Why::Unknown),
            }
        }
        if self.own.is_none() {
            self.hyphenate(el, &mut lyric, part, event);
        }
        if lyric.text.is_empty() && !lyric.extend && self.own.is_none() {
            return;
        }
        self.score.taken += 1;
        if let Some(event) = self.event_mut(part, event)
            && event.lyrics.len() < MOST_LYRICS
        {
            event.lyrics.push(lyric);
        }
    }

    /// Where no syllable says its place in the word, the hyphens after them do (`con`).
    fn hyphenate(&mut self, el: El<'_, 'a>, lyric: &mut Lyric, part: usize, event: usize) {
        let Some(state) = self.parts.get_mut(part) else {
            return;
        };
        let voice = state
            .part
            .events
            .get(event)
            .map_or(0, |event| usize::from(event.voice));
        let Some(voice) = state.voices.get_mut(voice) else {
            return;
        };
        let open = voice.hyphens.iter().position(|line| *line == lyric.line);
        let last = if el.name() == "syl" {
            Some(el)
        } else {
            el.children().filter(|child| child.name() == "syl").last()
        };
        let hyphen = last.and_then(|syllable| syllable.attr("con")) == Some("d");
        if !lyric.syllabic.is_empty() {
            open.map(|at| voice.hyphens.remove(at));
            return;
        }
        lyric.syllabic = match (open.is_some(), hyphen) {
            (false, true) => "begin",
            (true, true) => "middle",
            (true, false) => "end",
            (false, false) => "",
        }
        .to_owned();
        match open {
            Some(at) if !hyphen => {
                voice.hyphens.remove(at);
            }
            None if hyphen && voice.hyphens.len() < MOST_LYRICS => voice.hyphens.push(lyric.line.clone()),
            _ => {}
        }
    }

    fn add_syllable(&mut self, el: El<'_, 'a>, lyric: &mut Lyric, first: &mut bool) {
        let text = match &self.own {
            Some(_) => super::own::raw(self.text, el),
            None => words(self.text, el),
        };
        // Two syllables on one note.
        if !std::mem::take(first) && !text.is_empty() {
            lyric.text.push('‿');
        }
        lyric.text.push_str(&text);
        let con = el.attr("con");
        lyric.extend |= con == Some("u") || self.own.is_some() && super::own::has(el, "extend");
        let said = match el.attr("wordpos") {
            Some("i") => "begin",
            Some("m") => "middle",
            Some("t") => "end",
            Some("s") => "single",
            _ => "",
        };
        // Of several syllables the first and the last say where the word goes on.
        lyric.syllabic = match (lyric.syllabic.as_str(), said) {
            ("", said) => said,
            ("begin" | "single", "end") => "single",
            ("begin" | "single", "begin" | "middle") => "begin",
            ("middle" | "end", "begin" | "middle") => "middle",
            ("middle", "end") => "end",
            (before, _) => before,
        }
        .to_owned();
    }

    /// Syllables in an attribute, lines parted by `//`.
    pub(super) fn syllable_attribute(&mut self, said: &str, part: usize, event: usize) {
        for (nth, text) in said.split("//").enumerate().take(MOST_LYRICS) {
            let text = text.trim();
            if text.is_empty() {
                continue;
            }
            self.score.taken += 1;
            if let Some(event) = self.event_mut(part, event) {
                event.lyrics.push(Lyric {
                    line: (nth + 1).to_string(),
                    text: text.chars().take(200).collect(),
                    syllabic: String::new(),
                    extend: false,
                });
            }
        }
    }
}
