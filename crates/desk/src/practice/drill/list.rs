//! How is what is offered told? As words for the terminal, as JSON.

use super::{Drills, FOOTER};
use practice::drill;

/// Writes what is offered as JSON.
///
/// # Errors
/// What the writer says.
pub fn write_drills_json(drills: &Drills, out: impl std::io::Write) -> std::io::Result<()> {
    wire::write_drills(&drills.written(), out)
}

impl Drills {
    /// What the JSON is made of.
    #[must_use]
    pub fn written(&self) -> wire::DrillsWritten<'_> {
        wire::DrillsWritten {
            survey: self.shown.written(&self.alone),
            offers: &self.offers,
        }
    }

    /// The list of offers as text for the terminal, in so many columns.
    #[must_use]
    pub fn text(&self, columns: usize) -> String {
        if self.offers.is_empty() {
            return "Nothing here gives a drill.\n".to_owned();
        }
        let mut out = String::new();
        for (index, offer) in self.offers.iter().enumerate() {
            let spot = offer
                .spot
                .map_or(String::new(), |spot| format!(", spot {}", spot + 1));
            out.push_str(&format!(
                "{:3}  {}  [{}{spot}]\n",
                index + 1,
                offer.title,
                offer.kind.id()
            ));
            let tempo = offer.tempo.said();
            let words = format!(
                "{} Start at {tempo}, at most {} times a sitting. {}",
                offer.what_for, offer.at_most, offer.when_to_stop
            );
            for line in wrapped(&words, columns.saturating_sub(INDENT)) {
                out.push_str(&format!("{:INDENT$}{line}\n", ""));
            }
        }
        let source = format!("Caps on repetitions and rests: {}.", drill::CAPS_SOURCE);
        out.push('\n');
        for line in wrapped(FOOTER, columns).iter().chain(&wrapped(&source, columns)) {
            out.push_str(&format!("{line}\n"));
        }
        out
    }
}

/// By how much words are set in under their title.
const INDENT: usize = 5;

/// Words in lines of so many columns, at least twenty.
fn wrapped(words: &str, columns: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in words.split_whitespace() {
        match lines.last_mut() {
            Some(line) if line.chars().count() + 1 + word.chars().count() <= columns.max(20) => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}
