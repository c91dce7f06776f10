//! Bar by bar: which bars ask how much, and what each of them asks.

use super::{Asks, Told};
use crate::model::{Row, Section};
use load::{Account, BarLoad};
use notation::BarIndex;

/// A longer piece has no table of every bar: it would fill pages.
const MOST_BARS: usize = 200;
/// Bars named as those that ask most.
const MOST_NAMED: usize = 3;
/// Reasons said for a bar: to read, and for the hands.
const SAID: (usize, usize) = (3, 1);

pub(super) fn section(told: Told) -> Option<Section> {
    let bars: Vec<(&BarLoad, Asks)> = told
        .study
        .bars
        .iter()
        .map(|bar| (bar, Asks::of(bar, &told.study.player)))
        .collect();
    let asked = |asks: &Asks| asks.to_read > 0 || asks.hands > 0;
    if !bars.iter().any(|(_, asks)| asked(asks)) {
        return None;
    }
    let mut section = Section::new("bars", "Bar by bar", answer(told, &bars));
    let with = |pick: &dyn Fn(&Asks) -> bool| {
        bars.iter()
            .filter(|(_, asks)| pick(asks))
            .map(|(bar, _)| bar.bar)
            .collect()
    };
    let mut shown = Section::default();
    for level in (1..=4).rev() {
        let these: Vec<BarIndex> = with(&|asks| asks.to_read == level);
        levelled(&mut shown, told, "to read", these, level);
    }
    for level in (2..=4).rev() {
        let these: Vec<BarIndex> = with(&|asks| asks.hands == level);
        levelled(&mut shown, told, "hands", these, level);
    }
    section.rows.push(Row::InWords(shown.rows));
    let breath = &told.study.breath.findings;
    let others = told.study.findings.iter().filter(|f| !breath.contains(f));
    super::findings(&mut section, told, others);
    if bars.len() <= MOST_BARS {
        let rows = bars.iter().filter(|(_, asks)| asked(asks));
        section.rows.push(Row::Details {
            summary: "What each bar asks, in words".to_owned(),
            head: ["bar", "how much", "what"].map(str::to_owned).to_vec(),
            rows: rows.map(|(bar, asks)| row(told, bar, *asks)).collect(),
        });
    }
    Some(section)
}

/// Where there is most of each: at most three bars, if it is much at all.
fn answer(told: Told, bars: &[(&BarLoad, Asks)]) -> String {
    let most = |level: &dyn Fn(&Asks) -> u8, amount: &dyn Fn(&BarLoad) -> f64| {
        let mut much: Vec<&(&BarLoad, Asks)> = bars.iter().filter(|(_, asks)| level(asks) >= 3).collect();
        much.sort_by(|a, b| amount(b.0).total_cmp(&amount(a.0)));
        much.truncate(MOST_NAMED);
        (!much.is_empty()).then(|| told.say.said(much.iter().map(|(bar, _)| bar.bar)))
    };
    let reading = most(&|asks| asks.to_read, &|bar| bar.reading.total());
    let hands = most(&|asks| asks.hands, &|bar| bar.hand.total());
    match (reading, hands) {
        (None, None) => "No bar asks much.".to_owned(),
        (Some(reading), None) => format!("Most to read in {reading}; nothing much for the hands."),
        (None, Some(hands)) => format!("Most for the hands in {hands}; nothing much to read."),
        (Some(reading), Some(hands)) => format!("Most to read in {reading}; most for the hands in {hands}."),
    }
}

fn levelled(section: &mut Section, told: Told, label: &str, bars: Vec<BarIndex>, level: u8) {
    if bars.is_empty() {
        return;
    }
    let words = ["nothing", "little", "some", "much", "very much"];
    let words = words.get(usize::from(level)).copied().unwrap_or_default();
    section.line(label, words, told.say.bars(bars));
}

fn row(told: Told, bar: &BarLoad, asks: Asks) -> Vec<String> {
    let mut what: Vec<String> = Vec::new();
    if let Some(alike) = told.study.alike.of(bar.bar).filter(|a| a.differences.is_empty()) {
        what.push(alike.how.words(&told.say.label(alike.like), "bar"));
    }
    what.extend(largest(&bar.reading, SAID.0));
    what.extend(largest(&bar.hand, SAID.1));
    vec![told.say.label(bar.bar), asks.says(), what.join("; ")]
}

/// The largest reasons, no words twice.
fn largest(account: &Account, most: usize) -> Vec<String> {
    let mut said: Vec<String> = Vec::new();
    for share in account.largest_first() {
        if said.len() < most && !said.contains(&share.why) {
            said.push(share.why.clone());
        }
    }
    said
}
