//! What must hold in every answer? Each law gives the faults that it finds.

mod loads;
mod places;
mod playing;
mod practice;

use crate::case::Case;
use crate::schema;
use serde_json::Value;

/// Members that are there only with a player.
pub const OF_A_STUDY: [&str; 14] = [
    "player",
    "load",
    "trouble_spots",
    "look_alikes",
    "look_alikes_more",
    "breaths",
    "breaths_more",
    "bowings",
    "bowings_more",
    "fingering",
    "fingering_more",
    "ladder",
    "levels",
    "phrases",
];

pub type Law = fn(&Case, &mut Vec<String>);

/// All laws by name.
pub const LAWS: [(&str, Law); 11] = [
    ("schema", fits_the_schema),
    ("numbers", is_all_numbers),
    ("loads", loads::loads_add_up),
    ("bars", places::bars_exist),
    ("beats", places::beats_rise_in_a_bar),
    ("breaths", playing::breaths_are_where_notes_are),
    ("spots", practice::spots_are_short_and_ranked),
    ("ladder", practice::rungs_are_on_the_metronome),
    ("fingering", playing::every_note_is_fingered_or_a_gap),
    ("first tempo", practice::the_first_tempo_is_hers),
    ("rest", practice::levels_phrases_and_look_alikes),
];

pub fn faults(case: &Case) -> Vec<String> {
    let mut found = Vec::new();
    for (name, law) in LAWS {
        let mut faults = Vec::new();
        law(case, &mut faults);
        found.extend(faults.into_iter().map(|fault| format!("{name}: {fault}")));
    }
    found
}

fn list<'a>(value: &'a Value, key: &str) -> &'a [Value] {
    value[key].as_array().map_or(&[], Vec::as_slice)
}

fn number(value: &Value, key: &str) -> f64 {
    value[key].as_f64().unwrap_or(f64::NAN)
}

fn index(value: &Value, key: &str) -> usize {
    value[key]
        .as_u64()
        .map_or(usize::MAX, |n| usize::try_from(n).unwrap_or(usize::MAX))
}

fn text<'a>(value: &'a Value, key: &str) -> &'a str {
    value[key].as_str().unwrap_or_default()
}

fn fits_the_schema(case: &Case, faults: &mut Vec<String>) {
    faults.extend(schema::misfits(&case.json));
    faults.extend((case.json["version"] != "1.2").then(|| "version".to_owned()));
}

/// JSON writes what is not a number as null: so it is asked of the plain types, where numbers stand before `,`, `)`, `}` or `]`.
fn is_all_numbers(case: &Case, faults: &mut Vec<String>) {
    for bad in ["NaN", "inf", "-inf", "-0.0"] {
        for end in [",", ")", " }", "]"] {
            for start in [": ", "(", "["] {
                let wrong = format!("{start}{bad}{end}");
                faults.extend(case.debug.contains(&wrong).then_some(wrong));
            }
        }
    }
    minus_zero(&case.json, "", faults);
}

fn minus_zero(value: &Value, at: &str, faults: &mut Vec<String>) {
    match value {
        Value::Number(n) if n.as_f64().is_some_and(|n| n == 0.0 && n.is_sign_negative()) => {
            faults.push(format!("{at} is -0"));
        }
        Value::Array(items) => items.iter().for_each(|item| minus_zero(item, at, faults)),
        Value::Object(members) => {
            for (name, member) in members {
                minus_zero(member, &format!("{at}.{name}"), faults);
            }
        }
        _ => {}
    }
}
