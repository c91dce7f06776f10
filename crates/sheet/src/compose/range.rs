//! Range, in words.

use super::say::Say;
use crate::model::Section;
use crate::words::count;
use survey::range::RangeAnswer;

pub(crate) fn section(answer: &RangeAnswer, say: Say) -> Section {
    let (Some(low), Some(high)) = (&answer.lowest, &answer.highest) else {
        return Section::new("range", "Range", "No pitched notes.");
    };
    let mut section = Section::new(
        "range",
        "Range",
        format!("{} to {}", low.written.sign(), high.written.sign()),
    );
    let sounding = |extreme: &survey::range::Extreme| {
        if extreme.written == extreme.sounding {
            String::new()
        } else {
            format!(", sounding {}", extreme.sounding.sign())
        }
    };
    for (label, end) in [("lowest", low), ("highest", high)] {
        let grace = if end.grace { ", a grace note" } else { "" };
        let times = if end.times > 1 {
            format!(", {} times, first", end.times)
        } else {
            String::new()
        };
        section.line(
            label,
            format!("{}{}{grace}{times}", end.written.sign(), sounding(end)),
            say.at(end.place),
        );
    }
    if let Some(t) = &answer.tessitura {
        section.line(
            "lives",
            format!(
                "80 % of the time between {} and {}, around {}",
                t.low.sign(),
                t.high.sign(),
                t.middle.sign()
            ),
            vec![],
        );
    }
    if let Some(most) = &answer.ledger.most {
        let text = format!(
            "at most {} ({}); {} with any",
            count(
                usize::try_from(most.lines).unwrap_or(0),
                "ledger line",
                "ledger lines"
            ),
            most.pitch.sign(),
            count(answer.ledger.notes, "note", "notes")
        );
        section.line("ledger lines", text, say.at(most.place));
    }
    for leap in answer.leaps.iter().take(3) {
        let way = if leap.up { "up" } else { "down" };
        let rest = if leap.over_rest { ", over a rest" } else { "" };
        let text = format!(
            "{} {way}, {} to {}{rest}",
            leap.name,
            leap.from.sign(),
            leap.to.sign()
        );
        section.line("leap", text, say.at(leap.from_place));
    }
    if let Some(stops) = &answer.double_stops {
        let text = format!(
            "{}, the widest {}",
            count(stops.count, "double stop", "double stops"),
            stops.widest
        );
        section.line(
            "double stops",
            text,
            say.places(stops.at.iter().map(|(place, _)| *place)),
        );
    }
    if let Some(fit) = &answer.fit {
        for beyond in &fit.beyond {
            let side = if beyond.above { "above" } else { "below" };
            let text = format!(
                "{} lies {side} the usual range of the {} ({})",
                beyond.written.sign(),
                fit.instrument.name.to_lowercase(),
                beyond.limit.sign()
            );
            section.line("ask", text, say.places(beyond.at.iter().map(|(place, _)| *place)));
        }
    }
    section.means(&answer.means);
    section
}
