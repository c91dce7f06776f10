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
    for (text, bars) in uneven(answer) {
        section.line("look", text, say.bars(bars));
    }
    section
}

/// What is said of bars that don't add up, each sentence once with its bars, in order of the first.
fn uneven(answer: &MetreAnswer) -> Vec<(String, Vec<notation::BarIndex>)> {
    // More bars than this that hold the same are no cadenzas: the metre or the note values are wrong.
    const CADENZAS: usize = 4;
    let mut said: Vec<(String, bool, Vec<notation::BarIndex>)> = Vec::new();
    for uneven in &answer.uneven {
        let text = format!("{} quarter notes", uneven.written);
        match said
            .iter_mut()
            .find(|(of, cadenza, _)| *of == text && *cadenza == uneven.cadenza)
        {
            Some((_, _, bars)) => bars.push(uneven.bar),
            None => said.push((text, uneven.cadenza, vec![uneven.bar])),
        }
    }
    let asked = |bar: &notation::BarIndex| {
        answer
            .uneven
            .iter()
            .find(|uneven| uneven.bar == *bar)
            .map(|u| u.asked)
    };
    said.into_iter()
        .map(|(written, cadenza, bars)| {
            let asked = bars.first().and_then(asked).map_or_else(String::new, |asked| asked.to_string());
            let text = match (cadenza, bars.len()) {
                (true, ..=CADENZAS) => format!("{written} in the bar: a cadenza, free in time"),
                (true, _) => format!(
                    "{written} in each of these bars where the metre asks for {asked}: the metre or the note values are \
                     wrong in the file; count by the notes"
                ),
                _ => format!("doesn't add up: {written} written, {asked} asked for"),
            };
            (text, bars)
        })
        .collect()
}

fn bars(from: notation::BarIndex, to: notation::BarIndex) -> impl Iterator<Item = notation::BarIndex> {
    (from.0..=to.0).map(notation::BarIndex)
}
