//! Is every load the sum of what it is said to be made of?

use super::{index, list, number, text};
use crate::case::Case;

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-9
}

pub(super) fn loads_add_up(case: &Case, faults: &mut Vec<String>) {
    let bars = list(&case.json, "load");
    if bars.len() != case.piece.bars.len() {
        faults.push(format!("{} loads of {} bars", bars.len(), case.piece.bars.len()));
    }
    for (at, bar) in bars.iter().enumerate() {
        let mut ask = |holds: bool, what: &str| {
            faults.extend((!holds).then(|| format!("bar index {at}: {what}")));
        };
        ask(index(bar, "bar_index") == at, "out of order");
        let beats = list(bar, "beats");
        ask(!beats.is_empty(), "no beats");
        for (load, parts) in [
            ("reading_bits", "reading"),
            ("hand", "hand"),
            ("breath", "breath"),
        ] {
            let parts = list(&bar["parts"], parts);
            let sum: f64 = parts.iter().map(|part| number(part, "amount")).sum();
            ask(near(sum, number(bar, load)), &format!("{load} is not its parts"));
            ask(
                parts
                    .iter()
                    .all(|part| number(part, "amount") > 0.0 && !text(part, "why").is_empty()),
                &format!("{load} has an empty part"),
            );
            if load == "breath" {
                continue;
            }
            let of_beats: f64 = beats.iter().map(|beat| number(beat, load)).sum();
            ask(
                near(of_beats, number(bar, load)),
                &format!("{load} is not its beats"),
            );
            for (number_of_beat, beat) in beats.iter().enumerate() {
                let inside = parts
                    .iter()
                    .filter(|part| index(part, "beat_index") == number_of_beat);
                let sum: f64 = inside.map(|part| number(part, "amount")).sum();
                ask(
                    near(sum, number(beat, load)),
                    &format!("{load} of a beat is not its parts"),
                );
            }
        }
        ask(
            text(bar, "in_words")
                == match number(bar, "fullness") {
                    nothing if nothing < 0.005 => "nothing to read",
                    little if little <= 0.4 => "little to read",
                    some if some <= 0.75 => "some to read",
                    much if much <= 1.1 => "much to read",
                    _ => "very much to read",
                },
            "in other words",
        );
        ask(
            list(bar, "why").is_empty()
                == (number(bar, "reading_bits") + number(bar, "hand") + number(bar, "breath") == 0.0),
            "no reason for a load, or a reason without",
        );
        let sung = bar["breath_secs"].as_f64();
        let of_study = case.study.bars.get(at).and_then(|bar| bar.breath_secs);
        ask(sung.is_none_or(|secs| secs > 0.0), "a stretch of no time");
        ask(
            sung.zip(of_study).is_none_or(|(a, b)| near(a, b)) && sung.is_some() == of_study.is_some(),
            "another stretch than the study's",
        );
    }
}
