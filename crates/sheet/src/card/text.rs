//! How does the card read in a terminal? A line or two for each look, the seconds before it.

use super::Card;
use super::steps::with_bars;
use crate::terminal::{Terminal, lines_of};

/// The card as lines of text.
#[must_use]
pub fn card_text(card: &Card, how: Terminal) -> String {
    let mut rows = Vec::new();
    for (from, to, step) in card.timed() {
        let says = with_bars(step);
        let text = format!("{}: {says} — {}", step.look.name(), step.doing);
        rows.push((format!("{from}–{to} s"), text));
    }
    let heading = format!("{} seconds: {}", card.seconds, card.title);
    lines_of(&heading, &card.facts.join(" · "), &rows, how)
}
