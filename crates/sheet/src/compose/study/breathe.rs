//! Where to breathe, or how to bow, in signs to pencil and words.

use super::Told;
use crate::model::Section;
use load::bowing::{BowingAnswer, Stroke};
use load::breath::{Breath, Kind};

/// Most rows of a table.
const MOST: usize = 60;

pub(super) fn section(told: Told) -> Option<Section> {
    let breath = &told.study.breath;
    if let Some(bowing) = &breath.bowing {
        return Some(bow(told, bowing));
    }
    if breath.summary.is_empty() {
        return None;
    }
    let mut section = Section::new("breathe", "Breathe here", capital(&breath.summary));
    let out = breath.at_first.iter().any(|b| b.kind == Kind::BreatheOut);
    section.line("signs", signs_mean(out), vec![]);
    table(&mut section, told, "at the final tempo", &breath.at_final, out);
    let extra: Vec<Breath> = breath.at_first.iter().filter(|b| b.optional).cloned().collect();
    table(&mut section, told, "besides, only while it is slow", &extra, out);
    super::findings(&mut section, told, &breath.findings);
    section.line("care", breath.caution, vec![]);
    Some(section)
}

fn signs_mean(out: bool) -> &'static str {
    if out {
        "“out” let the used air out, “in” breathe in; the note before is cut short. In parentheses: only while it is slow."
    } else {
        "“,” breathe, the note before is cut short; “(,)” only while it is slow."
    }
}

fn table(section: &mut Section, told: Told, label: &str, breaths: &[Breath], out: bool) {
    // In a rest of which the teacher said nothing there is nothing to write.
    let is_marked = |breath: &&Breath| breath.kind != Kind::OnRest || breath.own;
    let marked = breaths.iter().filter(is_marked);
    let more = marked.clone().count().saturating_sub(MOST);
    let rows = marked
        .take(MOST)
        .map(|breath| {
            let before = format!("before {}", told.place(breath.place));
            // The heading says it of all of them.
            let why = breath.why.trim_end_matches("; only while it is slow");
            vec![sign(breath, out), before, why.to_owned()]
        })
        .collect();
    section.table(label, &["", "", ""], rows);
    if more > 0 {
        section.line("", format!("and {more} more"), vec![]);
    }
    let rests = breaths
        .iter()
        .filter(|breath| !is_marked(breath))
        .map(|b| b.place);
    let rests = told.say.places(rests.map(|place| notation::Place {
        bar: told.say.closing(place),
        ..place
    }));
    if !rests.is_empty() {
        section.line("in the rests", "nothing is cut short", rests);
    }
}

fn sign(breath: &Breath, out: bool) -> String {
    let sign = match breath.kind {
        Kind::BreatheOut => "out",
        Kind::Breathe if out => "in",
        Kind::Breathe | Kind::OnRest => ",",
    };
    if breath.optional {
        format!("({sign})")
    } else {
        sign.to_owned()
    }
}

fn bow(told: Told, bowing: &BowingAnswer) -> Section {
    let answer = match bowing.signs.len() {
        0 => "No sign is needed: the bow comes out right by itself.".to_owned(),
        1 => "One sign to pencil; between, the bow changes with every note or slur.".to_owned(),
        more => format!("{more} signs to pencil; between them the bow changes with every note or slur."),
    };
    let mut section = Section::new("bowing", "Bow it like this", answer);
    section.line("signs", "⊓ down bow, ∨ up bow", vec![]);
    let rows = bowing
        .signs
        .iter()
        .take(MOST)
        .map(|sign| {
            let (mark, word) = match sign.stroke {
                Stroke::Down => ("⊓", "down"),
                Stroke::Up => ("∨", "up"),
            };
            vec![
                format!("{mark} {word}"),
                told.place(sign.place),
                sign.why.to_owned(),
            ]
        })
        .collect();
    section.table("", &["", "", ""], rows);
    let more = bowing.signs.len().saturating_sub(MOST);
    if more > 0 {
        section.line("", format!("and {more} more"), vec![]);
    }
    if !bowing.source.is_empty() {
        section.line("from", bowing.source, vec![]);
    }
    section
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    let first = chars
        .next()
        .map(|first| first.to_uppercase().chain(chars).collect());
    first.unwrap_or_default()
}
