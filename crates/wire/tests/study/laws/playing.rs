//! Do breaths and fingerings meet the notes on the page?

use super::{index, list, number, text};
use crate::case::Case;
use crate::notes;
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};

pub(super) fn breaths_are_where_notes_are(case: &Case, faults: &mut Vec<String>) {
    let place = |breath: &Value| (index(breath, "bar_index"), number(breath, "offset").to_bits());
    let of = |tempo: &str| -> BTreeMap<(usize, u64), bool> {
        let all = list(&case.json, "breaths").iter();
        all.filter(|breath| breath["tempo"] == tempo)
            .map(|breath| (place(breath), breath["optional"] == true))
            .collect()
    };
    let (first, last) = (of("first"), of("final"));
    if first.len() + last.len() != list(&case.json, "breaths").len() {
        faults.push("a breath for another tempo, or twice in one place".to_owned());
    }
    let kept: BTreeSet<_> = first
        .iter()
        .filter(|(_, optional)| !**optional)
        .map(|(at, _)| *at)
        .collect();
    if kept != last.keys().copied().collect() || last.values().any(|optional| *optional) {
        faults.push("the final breaths are not those of the first tempo that are not optional".to_owned());
    }
    for breath in list(&case.json, "breaths") {
        let bar = index(breath, "bar_index");
        let mut ask = |holds: bool, what: &str| {
            faults.extend((!holds).then(|| format!("bar index {bar}: {what}")));
        };
        ask(
            notes::has_notes(&case.piece, bar),
            "a breath in a bar without notes",
        );
        ask(!text(breath, "why").is_empty(), "no reason");
        ask(
            breath["shortened"].is_null() == (breath["kind"] == "on-rest"),
            "what is shortened?",
        );
        let shortened = &breath["shortened"];
        let before = (index(shortened, "bar_index"), number(shortened, "offset"));
        ask(
            shortened.is_null() || before < (bar, number(breath, "offset")),
            "the note shortened comes later",
        );
    }
    let cautioned = text(&case.json["breaths_more"], "caution").contains("physician");
    faults.extend((!first.is_empty() && !cautioned).then(|| "no caution".to_owned()));
}

pub(super) fn every_note_is_fingered_or_a_gap(case: &Case, faults: &mut Vec<String>) {
    let (entries, more) = (list(&case.json, "fingering"), &case.json["fingering_more"]);
    if more["chart"].is_null() {
        faults.extend(
            (!entries.is_empty() || text(more, "means").is_empty()).then(|| "no chart, no word".to_owned()),
        );
        return;
    }
    let gaps: BTreeMap<&str, usize> = list(more, "gaps")
        .iter()
        .map(|gap| (text(gap, "written"), index(gap, "times")))
        .collect();
    let by_element: BTreeMap<&str, &Value> = entries
        .iter()
        .map(|entry| (text(entry, "element"), entry))
        .collect();
    let mut missing: BTreeMap<String, usize> = BTreeMap::new();
    let wanted = notes::to_finger(&case.piece);
    for (element, pitch) in &wanted {
        match by_element.get(element.as_str()) {
            Some(entry) if text(entry, "written") == pitch.to_string() => {}
            Some(entry) => faults.push(format!("{element} is {pitch}, not {}", entry["written"])),
            None => *missing.entry(pitch.to_string()).or_default() += 1,
        }
    }
    let told = missing
        .iter()
        .all(|(pitch, times)| gaps.get(pitch.as_str()) == Some(times));
    faults.extend(
        (!told || missing.len() != gaps.len()).then(|| format!("{missing:?} missing, gaps {gaps:?}")),
    );
    faults.extend((by_element.len() != entries.len()).then(|| "a note fingered twice".to_owned()));
    let in_gaps: usize = gaps.values().sum();
    faults.extend((entries.len() + in_gaps != wanted.len()).then(|| "more fingerings than notes".to_owned()));
    let key = |value: &Value| {
        (
            text(value, "written").to_owned(),
            text(value, "fingering").to_owned(),
        )
    };
    let mut used: BTreeMap<_, usize> = list(more, "used")
        .iter()
        .map(|used| (key(used), index(used, "times")))
        .collect();
    for entry in entries {
        match used.get_mut(&key(entry)) {
            Some(times) if *times > 0 => *times -= 1,
            _ => faults.push(format!("{} is not among those used", entry["fingering"])),
        }
        let reasoned = entry["reason"].is_string();
        let plain = entry["basic"] == true && entry["own"] == false;
        faults.extend(
            (plain == reasoned).then(|| format!("{} {}: a reason?", entry["written"], entry["fingering"])),
        );
    }
    faults.extend(
        used.values()
            .any(|left| *left > 0)
            .then(|| "used, but nowhere".to_owned()),
    );
    let all_basic = number(more, "movements_all_basic");
    faults.extend(
        (number(more, "movements") > all_basic + 1e-9).then(|| "costs more than the basic ones".to_owned()),
    );
}
