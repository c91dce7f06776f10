//! What does the folder show of a piece? How it begins, what it is, and what it is for.

use crate::folder::features;
use maud::{Markup, html};
use store::{PieceRow, Summary};

/// A piece with what is known of it; `Err` says why nothing is.
pub(super) struct Card {
    pub row: PieceRow,
    pub summary: Result<Summary, String>,
}

impl Card {
    /// The facts in a teacher's order.
    pub fn facts(&self) -> Vec<(&'static str, String)> {
        let Ok(summary) = &self.summary else {
            return Vec::new();
        };
        let mut facts: Vec<(&'static str, String)> = Vec::new();
        let mut add = |name: &'static str, words: Option<String>| {
            facts.extend(words.filter(|words| !words.is_empty()).map(|words| (name, words)));
        };
        add("instrument", summary.instrument_name.clone());
        add(
            "key",
            summary
                .key_name
                .clone()
                .map(|key| format!("{key}, {}", signature(summary))),
        );
        add("metre", Some(summary.metres.join(", ")));
        add("range", range(summary));
        add("length", length(summary));
        add("to read", summary.load.map(to_read));
        facts
    }

    /// Its level by each table that says one.
    pub fn levels(&self) -> Vec<(String, String)> {
        let levels = self.summary.as_ref().map_or(&[][..], |summary| &summary.levels);
        levels
            .iter()
            .map(|level| (level.table.clone(), level.level.clone()))
            .collect()
    }

    /// What is in it.
    pub fn features(&self) -> Vec<&'static str> {
        let held = self.summary.as_ref().map_or(&[][..], |summary| &summary.features);
        held.iter().filter_map(|id| features::name(id)).collect()
    }
}

/// `2 sharps`, `up to 3 flats` where it changes, `no signature`.
fn signature(summary: &Summary) -> String {
    let said =
        |number: i64, one: &str, many: &str| format!("{number} {}", if number == 1 { one } else { many });
    let changes = summary.features.iter().any(|id| id == features::KEY_CHANGES);
    let most = if changes { "up to " } else { "" };
    match (summary.most_flats.unwrap_or(0), summary.most_sharps.unwrap_or(0)) {
        (0, 0) => "no signature".to_owned(),
        (flats, 0) => format!("{most}{}", said(flats, "flat", "flats")),
        (0, sharps) => format!("{most}{}", said(sharps, "sharp", "sharps")),
        (flats, sharps) => format!(
            "up to {} and {}",
            said(flats, "flat", "flats"),
            said(sharps, "sharp", "sharps")
        ),
    }
}

fn range(summary: &Summary) -> Option<String> {
    let sign =
        |text: &String| notation::Pitch::parse(text).map_or_else(|| text.clone(), notation::Pitch::sign);
    Some(format!(
        "{} to {}",
        sign(summary.lowest.as_ref()?),
        sign(summary.highest.as_ref()?)
    ))
}

fn length(summary: &Summary) -> Option<String> {
    let bars = summary.bars?;
    let bars = format!("{bars} {}", if bars == 1 { "bar" } else { "bars" });
    Some(match summary.seconds {
        Some(seconds) => format!("{bars}, {}", minutes(seconds)),
        None => bars,
    })
}

/// `1:42`.
fn minutes(seconds: f64) -> String {
    let whole = seconds.round().clamp(0.0, 1e6);
    format!("{:.0}:{:02.0}", (whole / 60.0).floor(), whole % 60.0)
}

/// How much there is to read for a usual player of its instrument, in words: by the share of bars with much in them. Judgement.
fn to_read(share: f64) -> String {
    if share < 0.02 {
        "little".to_owned()
    } else if share < 0.1 {
        "much in a few bars".to_owned()
    } else if share < 0.3 {
        format!("much in {:.0} % of the bars", share * 100.0)
    } else {
        format!("very much: {:.0} % of the bars", share * 100.0)
    }
}

/// The card.
pub(super) fn card(card: &Card) -> Markup {
    let row = &card.row;
    let composer = card
        .summary
        .as_ref()
        .ok()
        .and_then(|summary| summary.composer.clone());
    html! {
        li class="piece" data-piece=(row.id) {
            div class="opening" data-from={ "/piece/" (row.id) "/opening" } aria-hidden="true" {}
            div class="told" {
                h2 { a class="piece-title" href={ "/part/" (row.id) } { (row.title) } }
                @if let Some(composer) = composer { p class="composer" { (composer) } }
                @match &card.summary {
                    Ok(_) => dl { @for (name, words) in card.facts() { div { dt { (name) } dd { (words) } } } }
                    Err(why) => p class="slip-said" { (why) }
                }
                (purpose(row))
                @if card.summary.is_ok() { p class="look-at-it" { a href={ "/look/" (row.id) } { "Look at it first, without pencil" } } }
                @let levels = card.levels();
                @let features = card.features();
                @if !levels.is_empty() || !features.is_empty() {
                    details class="more" {
                        summary { "What is in it, and its level" }
                        @if !features.is_empty() { p { (features.join(", ")) } }
                        @if !levels.is_empty() {
                            table {
                                thead { tr { th scope="col" { "table" } th scope="col" { "level" } } }
                                tbody { @for (table, level) in levels { tr { td { (table) } td { (level) } } } }
                            }
                        }
                        p class="hands-on" { label class="choose correct" { "Take a corrected file of it" input type="file" class="unseen corrected"; } " "
                            button type="button" class="away" { "Put away or bring out" } }
                    }
                }
            }
            label class="beside" { input type="checkbox" name="piece" value=(row.id) form="beside"; " side by side" }
        }
    }
}

fn purpose(row: &PieceRow) -> Markup {
    html! {
        div class="purpose" {
            span class="purpose-said" { (row.purpose) }
            button type="button" class="write" { @if row.purpose.is_empty() { "Say what it is for" } @else { "Change" } }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{minutes, signature, to_read};
    use store::Summary;

    #[test]
    fn facts_are_said_as_a_teacher_says_them() {
        use super::features;
        let keys = |flats, sharps| {
            signature(&Summary {
                most_flats: Some(flats),
                most_sharps: Some(sharps),
                ..Summary::default()
            })
        };
        assert_eq!(keys(0, 0), "no signature");
        let changing = Summary {
            most_flats: Some(3),
            features: vec![features::KEY_CHANGES.to_owned()],
            ..Summary::default()
        };
        assert_eq!(signature(&changing), "up to 3 flats");
        assert!(features::name(features::KEY_CHANGES).is_some());
        assert_eq!(keys(1, 0), "1 flat");
        assert_eq!(keys(0, 4), "4 sharps");
        assert_eq!(keys(2, 1), "up to 2 flats and 1 sharp");
        assert_eq!(minutes(102.3), "1:42");
        assert_eq!(minutes(5.0), "0:05");
        assert_eq!(to_read(0.0), "little");
        assert_eq!(to_read(0.2), "much in 20 % of the bars");
    }
}
