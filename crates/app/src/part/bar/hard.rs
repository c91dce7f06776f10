//! What does the bar ask of this player? The largest reasons, and the bar that it is like.

use super::Here;
use crate::part::point::pointing;
use crate::screen::capital;
use load::Account;
use maud::{Markup, html};

/// Reasons said: to read, for the hands.
const SAID: (usize, usize) = (6, 3);

pub(super) fn why_hard(here: &Here) -> Markup {
    let Some(load) = here.study.and_then(|study| study.bars.get(here.bar.get())) else {
        return html! {};
    };
    let reading = largest(&load.reading, SAID.0);
    let hands = largest(&load.hand, SAID.1);
    let alike = here.study.and_then(|study| study.alike.of(here.bar));
    if reading.is_empty() && hands.is_empty() && alike.is_none() {
        return html! {};
    }
    html! {
        section {
            h3 { "What it asks" }
            @if let Some(alike) = alike {
                p {
                    "It " (pointing(&alike.how.words(&here.labels.label(alike.like), "bar"), &[alike.like]))
                    @for (at, difference) in alike.differences.iter().enumerate() { @if at == 0 { ": " } @else { "; " } (difference) }
                    "."
                }
            }
            dl {
                @if !reading.is_empty() { dt { "to read" } dd { (capital(&reading.join("; "))) } }
                @if !hands.is_empty() { dt { "hands" } dd { (capital(&hands.join("; "))) } }
            }
        }
    }
}

/// The largest reasons, no words twice.
fn largest(account: &Account, most: usize) -> Vec<String> {
    let mut said: Vec<String> = Vec::new();
    for share in account
        .largest_first()
        .into_iter()
        .filter(|share| share.is_reason())
    {
        if said.len() < most && !said.contains(&share.why) {
            said.push(share.why.clone());
        }
    }
    said
}
