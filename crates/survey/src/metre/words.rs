//! How is a metre said and counted? The sentences of the metre question.

use super::feel::CountIn;
use super::grid::BeatGrid;
use super::grouping::{GroupedBy, say};
use super::lengths::Uneven;
use super::unit::BeatUnit;
use super::{MetreAnswer, MetreKind, MetreStretch};
use crate::{Context, Evidence};
use notation::{Place, Quarters, Rational};

const NUMBERS: [&str; 13] = [
    "no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve",
];

/// A small number in words.
fn number(n: usize) -> String {
    NUMBERS
        .get(n)
        .map_or_else(|| n.to_string(), |word| (*word).to_owned())
}

/// How to count a stretch: what is felt, what is said, and how to read it slowly first.
pub(super) fn how_to_count(stretch: &MetreStretch) -> String {
    if stretch.kind == MetreKind::Free {
        return "Nothing to count: shape it by phrases and note values.".to_owned();
    }
    let mut says = vec![felt_sentence(stretch)];
    if let Some(grouping) = stretch.grouping.as_ref() {
        says.push(grouping_sentence(stretch, grouping));
    }
    if stretch
        .feels
        .iter()
        .any(|(_, feel)| feel.beats != stretch.slow.beats)
    {
        says.push(format!(
            "Read it slowly first in {}: {}.",
            number(stretch.slow.beats.len()),
            counting(&stretch.slow.beats.iter().map(|_| 1).collect::<Vec<u8>>())
        ));
    }
    says.join(" ")
}

fn felt_sentence(stretch: &MetreStretch) -> String {
    let feel = stretch.feel();
    let beats = feel.beats.len();
    let divisions: Vec<u8> = feel.beats.iter().map(|(_, division)| *division).collect();
    let unequal = feel.beats.iter().any(|beat| Some(beat) != feel.beats.first());
    let counted = match feel.count_in {
        CountIn::Written | CountIn::Halved => counting(&vec![1; beats]),
        _ => counting(&divisions),
    };
    let sentence = if unequal {
        format!("{} unequal beats in a bar: {counted}", number(beats))
    } else if beats == 1 {
        format!("One {} beat to the bar: {counted}", feel.unit.name())
    } else {
        format!("{} {} beats in a bar: {counted}", number(beats), feel.unit.name())
    };
    let mut sentence = capital(&sentence);
    if !feel.why.is_empty() {
        sentence.push_str(&format!(" ({})", feel.why));
    }
    sentence.push('.');
    sentence
}

/// Counted aloud: a number on each beat; `la li` after it where the beat is dotted, `&` where it is a pair.
fn counting(divisions: &[u8]) -> String {
    let all_single = divisions.iter().all(|division| *division == 1);
    let said = divisions.iter().enumerate().map(|(at, division)| match division {
        _ if all_single => (at + 1).to_string(),
        3 => format!("{} la li", at + 1),
        _ => format!("{} &", at + 1),
    });
    said.collect::<Vec<_>>().join(" ")
}

fn grouping_sentence(stretch: &MetreStretch, grouping: &super::Grouping) -> String {
    let groups = grouping.says();
    let how = match grouping.by {
        GroupedBy::Printed => format!("Grouped {groups}, as printed"),
        GroupedBy::Notation => format!("Grouped {groups}, as the beams, long notes and accents show"),
        GroupedBy::Custom => format!("Probably grouped {groups}; nothing on the page shows it"),
    };
    let mut kinds: Vec<String> = grouping.other.values().map(|groups| say(groups)).collect();
    kinds.sort();
    kinds.dedup();
    if kinds.is_empty() || stretch.from == stretch.to {
        return format!("{how}.");
    }
    let bars = grouping.other.len();
    format!(
        "{how}; {} {} shown as {}.",
        number(bars),
        if bars == 1 { "bar is" } else { "bars are" },
        kinds.join(" or ")
    )
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters
        .next()
        .map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// The count at a position of the full bar: `4`, `& of 4`, `after 3`.
pub(super) fn count_at(grid: &BeatGrid, position: Quarters) -> String {
    let Some(beat) = grid.beat_at(position).or(grid.felt.last()) else {
        return String::new();
    };
    let inside = (position - beat.start) / beat.length;
    if inside.is_zero() {
        return beat.number.to_string();
    }
    let syllable = match (beat.division, inside) {
        (2, half) if half == Rational::new(1, 2) => "&",
        (2, half) if half == Rational::new(1, 4) => "e",
        (2, half) if half == Rational::new(3, 4) => "a",
        (3, third) if third == Rational::new(1, 3) => "la",
        (3, third) if third == Rational::new(2, 3) => "li",
        _ => return format!("after {}", beat.number),
    };
    format!("{syllable} of {}", beat.number)
}

/// What a bar that doesn't add up holds, and what to do; `alike` bars are off in the same way.
pub(super) fn uneven(uneven: &Uneven, alike: usize) -> (String, String) {
    let (written, asked) = (quarters(uneven.written), quarters(uneven.asked));
    if alike > super::ALIKE {
        let what = format!("{alike} bars, this the first, hold {written} where the metre asks for {asked}");
        let advice =
            "the metre sign is probably meant in another way: count the written beats on through the bar";
        return (what, advice.to_owned());
    }
    if uneven.cadenza {
        let what = format!("holds {written} where the metre asks for {asked}: free in time, or a mistake");
        return (
            what,
            "play it freely if it is a cadenza; else compare with another edition".to_owned(),
        );
    }
    let difference = uneven.written - uneven.asked;
    let off = if difference.is_negative() {
        "missing"
    } else {
        "too many"
    };
    let what = format!(
        "holds {written} where the metre asks for {asked}: {} {off}",
        quarters(difference.abs())
    );
    (
        what,
        "compare with another edition, or ask your teacher, before learning it".to_owned(),
    )
}

/// A length in words: `3 quarters`, `half a quarter`, `3 1/2 quarters`.
pub(crate) fn quarters(length: Quarters) -> String {
    if let Some(unit) = BeatUnit::of_quarters(length).filter(|unit| unit.quarters() < Rational::whole(1)) {
        return format!("1 {}", unit.name());
    }
    let whole = length.floor();
    let rest = length - Rational::whole(whole);
    let plural = if length == Rational::ONE { "" } else { "s" };
    if rest.is_zero() {
        return format!("{whole} quarter{plural}");
    }
    if whole == 0 {
        format!("{rest} of a quarter")
    } else {
        format!("{whole} {rest} quarters")
    }
}

/// The answer in one line.
pub(super) fn summary(ctx: &Context, answer: &MetreAnswer) -> String {
    let Some(first) = answer.metres.first() else {
        return "No bars.".to_owned();
    };
    let mut says = vec![one_metre(first)];
    let changes = answer.metres.len() - 1;
    if changes > 0 {
        let mut others: Vec<&str> = Vec::new();
        for stretch in answer.metres.iter().skip(1) {
            if stretch.symbol != first.symbol && !others.contains(&stretch.symbol.as_str()) {
                others.push(&stretch.symbol);
            }
        }
        let bar = answer.metres.get(1).map_or("", |stretch| ctx.label(stretch.from));
        let times = if changes == 1 {
            "changes once".to_owned()
        } else {
            format!("changes {changes} times")
        };
        says.push(format!("{times}, first in bar {bar} ({})", others.join(", ")));
    }
    if let Some(anacrusis) = &answer.anacrusis {
        says.push(format!(
            "starts on {}, after a count of {}",
            anacrusis.enters_on, answer.count_in
        ));
    }
    if !answer.uneven.is_empty() {
        let bars = answer.uneven.len();
        says.push(format!(
            "{bars} {} up",
            if bars == 1 {
                "bar doesn't add"
            } else {
                "bars don't add"
            }
        ));
    }
    format!("{}.", says.join("; "))
}

fn one_metre(stretch: &MetreStretch) -> String {
    if stretch.kind == MetreKind::Free {
        return "no metre".to_owned();
    }
    let kind = if stretch.kind == MetreKind::Asymmetric {
        "asymmetric".to_owned()
    } else {
        format!("{} {}", stretch.kind.word(), stretch.size)
    };
    // A sign that stands for another metre than its own is spelt out.
    let usual = stretch.metre.simple() == Some((stretch.beats, stretch.beat_type))
        && matches!((stretch.beats, stretch.beat_type), (4, 4) | (2, 2));
    let symbol = if stretch.has_sign() && !usual {
        format!("{} ({})", stretch.symbol, stretch.metre.fraction())
    } else {
        stretch.symbol.clone()
    };
    format!("{symbol}, {kind}, felt in {}", number(stretch.beats_felt()))
}

/// What can be checked by eye: each metre where it starts, what its beat is, and where bars are split.
pub(super) fn evidence(ctx: &Context, answer: &MetreAnswer) -> Vec<Evidence> {
    let mut evidence = Vec::new();
    for stretch in &answer.metres {
        evidence.push(Evidence::at(Place::start_of(stretch.from), one_metre(stretch)));
        for (bar, feel) in stretch.feels.iter().skip(1) {
            evidence.push(Evidence::at(
                Place::start_of(*bar),
                format!("felt in {} from here, {}", number(feel.beats.len()), feel.why),
            ));
        }
    }
    if let Some(anacrusis) = &answer.anacrusis {
        let complete: Vec<&str> = anacrusis.complements.iter().map(|bar| ctx.label(*bar)).collect();
        let mut says = format!(
            "a pickup of {}: enters on {}",
            quarters(anacrusis.length),
            anacrusis.enters_on
        );
        if !complete.is_empty() {
            says.push_str(&format!("; made up by the short bar {}", complete.join(", ")));
        }
        evidence.push(Evidence::at(Place::start_of(anacrusis.bar), says));
    }
    for split in &answer.splits {
        let says = format!(
            "bars {} and {} together make one",
            ctx.label(split.first),
            ctx.label(split.last)
        );
        evidence.push(Evidence::at(Place::start_of(split.first), says));
    }
    evidence
}
