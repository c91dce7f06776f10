//! How does she decide in the margin? Our proposal with yes or another; what she decided, and the way back.

use crate::hers::choose::{is, known, note_of};
use crate::hers::decided::{BREATH, BreathIs, FINGERING, KEY, KEY_OF_BARS, KeyChosen, SCALES, value};
use crate::part::{Labels, pointing};
use crate::prepared::Prepared;
use crate::screen::capital;
use load::breath::Breath;
use maud::{Markup, html};
use notation::{BarIndex, KeyRegion, Place};
use store::{ChoiceRow, MarkAct, MarkRow};
use survey::key::KeyAnswer;
use survey::{Context, Options, Question};

/// Tonics that are offered, in the order of the circle of fifths.
const TONICS: [&str; 18] = [
    "C", "G", "D", "A", "E", "B", "F#", "C#", "G#", "D#", "A#", "F", "Bb", "Eb", "Ab", "Db", "Gb", "Cb",
];

/// The key of the whole: ours to say yes to, or another.
pub(crate) fn key_of_all(part: &Prepared) -> Markup {
    let Some(key) = &part.copy.shown.survey.key else {
        return html! {};
    };
    if key.certainty <= 0.0 {
        return html! {};
    }
    let now = KeyChosen::of(key.tonic, key.scale);
    let told = key.told_of_the_whole().is_some();
    html! {
        div class="choose-key" role="group" aria-label="The key, as you name it" {
            @if told {
                p class="decide" {
                    span class="whose" { "The teacher names " (now.says()) ". " }
                    button type="button" class="key-back" { "Take it back" }
                }
                (ours(part))
            } @else {
                p class="decide" {
                    span class="whose" { "Proposed from the notes. " }
                    button type="button" class="key-yes" data-tonic=(now.tonic) data-scale=(now.scale) { "Yes, " (now.says()) }
                }
            }
            (another("another key: ", &now))
        }
    }
}

/// What the notes alone would say, with its proof.
fn ours(part: &Prepared) -> Markup {
    let asked = survey::survey(&part.copy.piece, 0, &[Question::Key], &Options::default());
    let Some(key) = asked.and_then(|survey| survey.key) else {
        return html! {};
    };
    html! {
        details class="ours" {
            summary { "From the notes alone: " (KeyChosen::of(key.tonic, key.scale).says()) (sure(&key)) }
            ul { @for proof in &key.evidence { li { (capital(&proof.says)) } } }
        }
    }
}

fn sure(key: &KeyAnswer) -> String {
    format!(" ({:.0} %)", key.certainty * 100.0)
}

fn another(label: &str, now: &KeyChosen) -> Markup {
    html! {
        div class="another-key" {
            label { (label)
                select class="key-tonic" {
                    @for tonic in TONICS {
                        option value=(tonic) selected[tonic == now.tonic] { (tonic.replace('b', "♭").replace('#', "♯")) }
                    }
                }
            } " "
            select class="key-scale" aria-label="major, minor or mode" {
                @for scale in SCALES { option value=(scale.word()) selected[scale.word() == now.scale] { (scale.word()) } }
            } " "
            button type="button" class="key-named" { "Name it" }
        }
    }
}

/// The key about a bar: where it is another than that of the whole, and how to name one for some bars.
pub(crate) fn key_here(part: &Prepared, bar: BarIndex, labels: &Labels) -> Markup {
    let Some(key) = &part.copy.shown.survey.key else {
        return html! {};
    };
    let region = key
        .regions
        .iter()
        .find(|region| region.from <= bar && bar <= region.to);
    let Some(region) = region else {
        return html! {};
    };
    let told = key.told_at(bar);
    let now = told.map_or_else(
        || KeyChosen::of(region.tonic, &region.mode),
        |told| KeyChosen::of(told.tonic, told.scale.word()),
    );
    // Up to the end of the piece; so many bars that the list stays a list.
    let last = BarIndex::from_usize(part.copy.piece.bars.len().saturating_sub(1));
    let until = |region: &KeyRegion| if told.is_some() { region.to } else { bar };
    html! {
        details class="choose-key" data-from=(bar.0) {
            summary { "Name the key from here" }
            @if let Some((from, to)) = told.and_then(|told| told.bars) {
                p class="decide" {
                    span class="whose" { "The teacher names " (now.says()) ", " (labels.run(from, to).to_lowercase()) ". " }
                    button type="button" class="key-back" data-from=(from.0) { "Take it back" }
                }
            }
            label { "from bar " (labels.label(bar)) " to "
                select class="key-to" {
                    @for to in (bar.0..=last.0).map(BarIndex) {
                        option value=(to.0) selected[to == until(region)] { (labels.label(to)) }
                    }
                }
            }
            (another("in ", &now))
        }
    }
}

/// The breaths of a bar: each with its reason, to be kept, taken only while it is slow, or struck out; and one more.
pub(crate) fn breaths_here(part: &Prepared, bar: BarIndex, said_at: &impl Fn(Place) -> String) -> Markup {
    let Some(study) = part.copy.shown.study.as_ref() else {
        return html! {};
    };
    if study.breath.caution.is_empty() {
        return html! {};
    }
    let mut here: Vec<&Breath> = study
        .breath
        .at_first
        .iter()
        .filter(|breath| breath.place.bar == bar)
        .collect();
    here.sort_by_key(|breath| breath.place);
    let struck: Vec<&ChoiceRow> = part
        .hers
        .choices
        .iter()
        .filter(|row| row.placed && row.about == BREATH && row.from.bar == bar.0)
        .filter(|row| value::<super::decided::BreathChosen>(row).is_some_and(|it| it.breath == BreathIs::Not))
        .collect();
    let free = free_notes(part, bar, &here);
    html! {
        @if !here.is_empty() || !struck.is_empty() || !free.is_empty() {
            div class="breaths" role="group" aria-label="Breaths" {
                ul class="rows" {
                    @for breath in &here { (breath_row(part, breath, said_at)) }
                    @for row in &struck {
                        li {
                            "Before " (said_at(row.from.place())) ": struck out by the teacher. "
                            button type="button" class="take-back" data-choice=(row.id) { "Take it back" }
                        }
                    }
                }
                @if !free.is_empty() {
                    details class="more-breath" {
                        summary { "Breathe at another note" }
                        label { "before "
                            select class="breath-note" { @for (id, said) in &free { option value=(id) { (said) } } }
                        } " "
                        select class="breath-how" aria-label="when" {
                            option value="at-tempo" { "at any tempo" }
                            option value="while-slow" { "only while it is slow" }
                        } " "
                        button type="button" class="breathe" data-bar=(bar.0) { "Breathe here" }
                    }
                }
            }
        }
    }
}

fn breath_row(part: &Prepared, breath: &Breath, said_at: &impl Fn(Place) -> String) -> Markup {
    let slow = if breath.optional {
        ", only while it is slow"
    } else {
        ""
    };
    let why = breath.why.trim_end_matches("; only while it is slow");
    let note = note_of(part, breath);
    let event = note.as_ref().and_then(|note| super::place::event(part, note));
    let hers = note.as_ref().and_then(|note| known(part, note.place));
    let turned = match is(breath) {
        BreathIs::WhileSlow => BreathIs::AtTempo,
        _ => BreathIs::WhileSlow,
    };
    let button = |how: Option<BreathIs>, class: &str, words: &str| {
        let how = match how {
            Some(BreathIs::AtTempo) => "at-tempo",
            Some(BreathIs::WhileSlow) => "while-slow",
            Some(BreathIs::Not) => "not",
            None => "",
        };
        let place = note.as_ref().map_or(0, |note| note.place.bar.0);
        html! {
            @if let Some(event) = event {
                button type="button" class={ "breathe " (class) } data-bar=(place) data-note=(event) data-how=(how) { (words) } " "
            }
        }
    };
    html! {
        li {
            "Breathe before " (said_at(breath.place)) (slow) ": " (why) ". "
            span class="decide" {
                @if hers.is_some() { (button(None, "as-proposed", "As proposed")) } @else { (button(Some(is(breath)), "keep", "Keep it")) }
                (button(Some(turned), "turn", if turned == BreathIs::AtTempo { "At any tempo" } else { "Only while slow" }))
                (button(Some(BreathIs::Not), "strike", "Strike it out"))
            }
        }
    }
}

/// Notes of the line in a bar before which no breath is taken: their ids, and how they are called.
fn free_notes(part: &Prepared, bar: BarIndex, taken: &[&Breath]) -> Vec<(String, String)> {
    let Some(ctx) = Context::new(&part.copy.piece, 0) else {
        return Vec::new();
    };
    let notes = ctx.line.iter().enumerate().skip(1);
    notes
        .filter(|(at, _)| !taken.iter().any(|breath| breath.note == *at))
        .filter_map(|(_, note)| Some((ctx.event(note)?, note)))
        .filter(|(event, _)| event.place.bar == bar)
        .map(|(event, note)| {
            let grid = part.copy.shown.survey.metre.as_ref();
            let beat = grid.and_then(|metre| metre.grid(bar));
            let beat = beat.map_or_else(
                || event.place.offset.to_f64() + 1.0,
                |grid| grid.said_beat(event.place.offset),
            );
            let beat = (beat * 100.0).round() / 100.0;
            (
                event.id.to_string(),
                format!("{}, beat {beat}", note.pitch.sign()),
            )
        })
        .collect()
}

/// What she decided: marks kept, moved and rubbed out, keys, breaths and fingerings; and what has no place in the file of now.
pub(crate) fn decisions(part: &Prepared, labels: &Labels) -> Markup {
    let marks: Vec<&MarkRow> = part
        .hers
        .marks
        .iter()
        .filter(|row| !row.placed || row.act != MarkAct::Added)
        .collect();
    let choices = &part.hers.choices;
    html! {
        @if !marks.is_empty() || !choices.is_empty() {
            details class="taken" {
                summary { "The teacher’s decisions: " (marks.len() + choices.len()) }
                ul class="rows" {
                    @for row in choices {
                        li {
                            (placed(row.placed)) (what(row, labels)) " "
                            button type="button" class="take-back" data-choice=(row.id) { "Take it back" }
                        }
                    }
                    @for row in marks {
                        li {
                            (placed(row.placed)) (row.sign) ", " (at_bar(row.from.bar, labels))
                            @match row.act {
                                MarkAct::Erased => ": rubbed out",
                                MarkAct::Confirmed => ": kept",
                                MarkAct::Changed => ": moved here",
                                MarkAct::Added => ": the teacher’s own",
                            }
                            " " button type="button" class="take-back" data-row=(row.id) { "Take it back" }
                        }
                    }
                }
            }
        }
    }
}

const fn placed(placed: bool) -> &'static str {
    if placed { "" } else { "Has no place in this file: " }
}

fn at_bar(bar: u32, labels: &Labels) -> Markup {
    let bar = BarIndex(bar);
    pointing(&format!("bar {}", labels.label(bar)), &[bar])
}

/// A choice in words.
fn what(row: &ChoiceRow, labels: &Labels) -> Markup {
    let key = || value::<KeyChosen>(row).map_or_else(String::new, |key| key.says());
    match row.about.as_str() {
        KEY => html! { "key: " (key()) },
        KEY_OF_BARS => html! {
            "key: " (key()) ", " (at_bar(row.from.bar, labels))
            @if let Some(to) = row.to.as_ref().filter(|to| to.bar != row.from.bar) { " to " (at_bar(to.bar, labels)) }
        },
        BREATH => {
            let said = value::<super::decided::BreathChosen>(row).map_or("", |it| match it.breath {
                BreathIs::Not => "rubbed out",
                other => other.says(),
            });
            html! { "breath, " (at_bar(row.from.bar, labels)) ": " (said) }
        }
        FINGERING => html! {
            "fingering, " (at_bar(row.from.bar, labels)) ": " (value::<String>(row).unwrap_or_default())
        },
        other => html! { (other) ", " (at_bar(row.from.bar, labels)) },
    }
}
