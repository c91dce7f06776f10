//! Is every bar and beat that is named on the page?

use super::{index, list, number};
use crate::case::Case;
use serde_json::Value;
use std::collections::BTreeMap;

/// Wherever a bar stands, its index stands beside it and names the same bar.
pub(super) fn bars_exist(case: &Case, faults: &mut Vec<String>) {
    bars_in(&case.json, "", case, faults);
}

fn bars_in(value: &Value, at: &str, case: &Case, faults: &mut Vec<String>) {
    match value {
        Value::Array(items) => items.iter().for_each(|item| bars_in(item, at, case, faults)),
        Value::Object(members) => {
            for (name, member) in members {
                let here = format!("{at}.{name}");
                let is_bar = name == "bar" || name.ends_with("_bar");
                if let (true, Some(label)) = (is_bar, member.as_str()) {
                    let bar = index(value, &format!("{name}_index"));
                    let named = case.piece.bars.get(bar);
                    let same =
                        named.is_some() && case.piece.label(notation::BarIndex::from_usize(bar)) == label;
                    faults.extend((!same).then(|| format!("{here} is {label:?}, index {bar}")));
                }
                bars_in(member, &here, case, faults);
            }
        }
        _ => {}
    }
}

/// Later in the bar is later in beats; the first moment of a full bar is beat 1.
pub(super) fn beats_rise_in_a_bar(case: &Case, faults: &mut Vec<String>) {
    let mut said: BTreeMap<(usize, u64), f64> = BTreeMap::new();
    for key in ["fingering", "breaths", "bowings"] {
        for place in list(&case.json, key) {
            let (bar, offset, beat) = (
                index(place, "bar_index"),
                number(place, "offset"),
                number(place, "beat"),
            );
            let known = *said.entry((bar, offset.to_bits())).or_insert(beat);
            let odd = known != beat || beat < 1.0 || !beat.is_finite();
            faults.extend(odd.then(|| format!("{key}: bar index {bar}, offset {offset} is beat {beat}")));
        }
    }
    let places: Vec<_> = said.iter().collect();
    for pair in places.windows(2) {
        let (((bar, _), beat), ((next_bar, _), next)) = (pair[0], pair[1]);
        faults.extend(
            (bar == next_bar && beat >= next).then(|| format!("bar index {bar}: {beat} before {next}")),
        );
    }
    let full = |bar: usize| {
        case.survey
            .metre
            .as_ref()
            .is_some_and(|m| m.grids[bar].lead.is_zero())
    };
    for ((bar, offset), beat) in &said {
        faults.extend(
            (*offset == 0 && full(*bar) && *beat != 1.0).then(|| format!("bar index {bar} begins on {beat}")),
        );
    }
}
