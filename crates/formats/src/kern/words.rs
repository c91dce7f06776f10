//! What do comments say? Words on the page where they say so (`!LO:TX`), breaks, and remarks of the encoder.
//!
//! Source: Humdrum user's guide, chapter 5 (comments); layout comments `LO:` by common usage.

use super::part::Reader;
use super::scan::{Cell, Line};
use notation::{DirectionKind, Metronome, MetronomeValue, NoteValue, Side};

impl<'a> Reader<'a, '_> {
    /// Reads the local comments of a record.
    pub(super) fn local(&mut self, cell: &Cell<'a>) {
        let Some(home) = self.home(cell) else { return };
        let text = cell.text.trim_start_matches('!').trim();
        if text.is_empty() {
            return;
        }
        if let Some(layout) = text.strip_prefix("LO:") {
            let Some((side, words)) = page_text(layout) else {
                // How something is drawn.
                return;
            };
            for kind in printed(&words) {
                self.direct(cell, home, side, true, kind);
            }
            return;
        }
        self.comments = self.comments.saturating_add(1);
        let kind = DirectionKind::Sign {
            name: "comment".to_owned(),
            text: text.chars().take(500).collect(),
        };
        self.direct(cell, home, None, false, kind);
    }

    /// Reads a global comment among the music: breaks, and words over the system.
    pub(super) fn global(&mut self, line: &Line<'a>) {
        let text = line.text.trim_start_matches('!').trim();
        let lower = text.to_ascii_lowercase();
        if lower.starts_with("linebreak") || text.starts_with("LO:LB") {
            self.score.bar_mut(self.bar.get()).new_system = self.started;
        } else if lower.starts_with("pagebreak") || text.starts_with("LO:PB") {
            let bar = self.score.bar_mut(self.bar.get());
            bar.new_page |= self.started;
            bar.new_system |= self.started;
        } else if let Some(layout) = text.strip_prefix("LO:") {
            if let (Some((side, words)), Some(home)) = (page_text(layout), self.top()) {
                let cell = Cell {
                    slot: 0,
                    at: line.at,
                    text: line.text,
                };
                for kind in printed(&words) {
                    self.direct(&cell, home, side, true, kind);
                }
            }
        } else if !text.is_empty() {
            let remarks = &mut self.score.piece.provenance.encoding;
            if remarks.len() < super::credits::MOST_LINES {
                remarks.push(format!("comment: {}", text.chars().take(500).collect::<String>()));
            }
        }
    }

    /// The staff at the top of the score.
    pub(super) fn top(&self) -> Option<super::layout::Home> {
        let homes = self.layout.homes.iter().flatten();
        homes.min_by_key(|home| (home.part, home.staff)).copied()
    }
}

/// The words of a text layout comment `TX:a:t=Allegro`, and their side.
fn page_text(layout: &str) -> Option<(Option<Side>, String)> {
    let parameters = layout.strip_prefix("TX")?;
    let (mut side, mut text) = (None, None);
    for parameter in parameters.split(':') {
        match parameter.split_once('=') {
            None if parameter == "a" => side = Some(Side::Above),
            None if parameter == "b" => side = Some(Side::Below),
            Some(("t", words)) => text = Some(words),
            _ => {}
        }
    }
    let text = text?.replace("&colon;", ":").replace("\\n", "\n");
    let text: String = text.chars().take(1_000).collect();
    (!text.trim().is_empty()).then_some((side, text))
}

/// What a text prints: words, and a metronome mark where it ends in one (`Andante [quarter]=76`).
pub(super) fn printed(text: &str) -> Vec<DirectionKind> {
    let (words, mark) = words_and_mark(text);
    let words = (!words.trim().is_empty()).then(|| DirectionKind::Words(words.to_owned()));
    words
        .into_iter()
        .chain(mark.map(DirectionKind::Metronome))
        .collect()
}

/// The words of a text, and the metronome mark that it ends in.
pub(super) fn words_and_mark(text: &str) -> (&str, Option<Metronome>) {
    let at = text.rfind('[').unwrap_or(text.len());
    match metronome(text.get(at..).unwrap_or_default()) {
        Some(mark) => (text.get(..at).unwrap_or_default().trim_end(), Some(mark)),
        None => (text, None),
    }
}

/// `[quarter]=120` is a metronome mark.
fn metronome(words: &str) -> Option<Metronome> {
    let (note, number) = words.trim().strip_prefix('[')?.split_once(']')?;
    let number = number.trim_start().strip_prefix('=')?.trim();
    let (value, dots) = match note.strip_suffix("-dot").or_else(|| note.strip_suffix("dot")) {
        Some(value) => (value.trim_end_matches(['-', '.']), 1),
        None => (note, 0),
    };
    number
        .starts_with(|c: char| c.is_ascii_digit() || c == 'c')
        .then_some(Metronome {
            beat: NoteValue::from_name(value)?,
            dots,
            value: MetronomeValue::PerMinute(number.to_owned()),
            parentheses: false,
        })
}
