//! Metre, in words.

use super::say::Say;
use crate::model::Section;
use survey::metre::MetreAnswer;

pub(crate) fn section(answer: &MetreAnswer, say: Say) -> Section {
    let mut section = Section::new("metre", "Metre", answer.summary.clone());
    for (index, stretch) in answer.metres.iter().enumerate() {
        let from = if answer.metres.len() > 1 {
            format!("{}: ", say.said(bars(stretch.from, stretch.to)))
        } else {
            String::new()
        };
        let label = if index == 0 { "count" } else { "" };
        section.line(label, format!("{from}{}", stretch.how_to_count), vec![]);
        for (bar, feel) in stretch.feels.iter().skip(1) {
            section.line("", format!("from {}: {}", say.bar(*bar), feel.why), vec![]);
        }
    }
    if let Some(pickup) = &answer.anacrusis {
        let text = format!("{} of the beat, entering on {}", pickup.beats, pickup.enters_on);
        let text = if pickup.beats >= notation::Rational::ONE {
            format!("{} beats, entering on {}", pickup.beats, pickup.enters_on)
        } else {
            text
        };
        section.line("pickup", text, vec![say.label(pickup.bar)]);
    }
    section.line("count in", answer.count_in.clone(), vec![]);
    for split in &answer.splits {
        section.line(
            "split bar",
            "these short bars together make one",
            say.bars(bars(split.first, split.last)),
        );
    }
    for uneven in &answer.uneven {
        let text = if uneven.cadenza {
            format!(
                "{} quarter notes in the bar: a cadenza, free in time",
                uneven.written
            )
        } else {
            format!(
                "doesn't add up: {} quarter notes written, {} asked for",
                uneven.written, uneven.asked
            )
        };
        section.line("look", text, vec![say.label(uneven.bar)]);
    }
    section
}

fn bars(from: notation::BarIndex, to: notation::BarIndex) -> impl Iterator<Item = notation::BarIndex> {
    (from.0..=to.0).map(notation::BarIndex)
}
