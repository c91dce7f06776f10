//! How is the bar played? What to practise, fingerings and breaths to choose, ornaments to hear.

use super::{Here, Said, list, said};
use crate::hers;
use crate::part::rows::figure;
use crate::screen::capital;
use instruments::fingering::{Fingering, diagram, fingering_words};
use load::Study;
use load::fingers::Chosen;
use maud::{Markup, PreEscaped, html};
use notation::Place;

/// Fingerings shown.
const MOST_FINGERINGS: usize = 8;

pub(super) fn how_to_play(here: &Here) -> Markup {
    let mut all: Vec<Said> = Vec::new();
    if let Some(study) = here.study {
        for spot in study
            .spots
            .iter()
            .filter(|spot| spot.from <= here.bar && here.bar <= spot.to)
        {
            all.push(said("practise", spot.suggestion));
        }
        all.extend(fingers_said(here, study));
    }
    let ornaments = ornaments(here);
    let pictures = pictures(here);
    let choices = fingerings_to_choose(here);
    let breaths = hers::breaths_here(here.part, here.bar, &|place| here.beat(place.offset)).into_string();
    if all.is_empty() && ornaments.is_empty() && pictures.is_empty() && breaths.is_empty() {
        return html! {};
    }
    html! {
        section {
            h3 { "How to play it" }
            (list(&all))
            (PreEscaped(&breaths))
            @for (text, at) in &ornaments {
                p class="ornament" {
                    (capital(text)) " "
                    button type="button" class="hear-ornament" data-at=(at) { "Hear it plain, then played" }
                }
            }
            @if !pictures.is_empty() {
                div class="figures" {
                    @for (name, drawn, words) in &pictures { (figure(drawn, name)) span class="unseen" { (words) } }
                }
            }
            @if !choices.is_empty() {
                details class="choose-fingerings" {
                    summary { "Choose other fingerings" }
                    @for choice in &choices {
                        label { (choice.said) " " select class="finger" data-bar=(here.bar.0) data-note=(choice.note) {
                            option value="" selected[!choice.own] { "as proposed" }
                            @for (name, now) in &choice.names { option value=(name) selected[choice.own && *now] { (name) } }
                        } }
                    }
                }
            }
        }
    }
}

/// A note for which there is more than one fingering.
struct ToChoose {
    said: String,
    note: String,
    /// Names, and which is taken now.
    names: Vec<(String, bool)>,
    /// Whether the teacher chose it.
    own: bool,
}

fn fingerings_to_choose(here: &Here) -> Vec<ToChoose> {
    let Some(study) = here.study else {
        return Vec::new();
    };
    let Some(chart) = study.fingering.chart else {
        return Vec::new();
    };
    let notes = study.fingering.notes.iter().filter(|note| here.has(note.place));
    notes
        .filter_map(|note| {
            let known = chart.fingerings(note.as_pitch.unwrap_or(note.written));
            let names: Vec<(String, bool)> = known
                .iter()
                .map(|one| (one.name.to_string(), one.name == note.fingering.name))
                .collect();
            (names.len() > 1).then(|| ToChoose {
                said: format!("{}, {}", note.written.sign(), here.beat(note.place.offset)),
                note: note.event.to_string(),
                names,
                own: note.own,
            })
        })
        .collect()
}

fn fingers_said(here: &Here, study: &Study) -> Vec<Said> {
    let answer = &study.fingering;
    let mut all = Vec::new();
    for note in answer.notes.iter().filter(|note| here.has(note.place)) {
        let mut words: Vec<String> = Vec::new();
        words.extend(note.said.clone());
        if note.alternate || note.own && !note.basic {
            words.push(format!(
                "{}: {}",
                note.fingering.name,
                fingering_words(&note.fingering)
            ));
            words.extend(note.reason.clone());
        }
        if !words.is_empty() {
            all.push(said(
                "fingering",
                format!("{}: {}", note.written.sign(), words.join("; ")),
            ));
        }
    }
    for trill in answer.trills.iter().filter(|trill| here.has(trill.place)) {
        all.push(said(
            "trill",
            format!("{}–{}: {}", trill.main.sign(), trill.upper.sign(), trill.says),
        ));
    }
    let mut tunings: Vec<String> = Vec::new();
    for note in answer.notes.iter().filter(|note| here.has(note.place)) {
        if let Some(tendency) = &note.tendency {
            let text = format!("{}: {}", note.written.sign(), tendency.says);
            if !tunings.contains(&text) {
                tunings.push(text);
            }
        }
    }
    all.extend(tunings.into_iter().map(|text| said("listen", text)));
    all.dedup_by(|next, kept| next.text == kept.text);
    all
}

/// Ornaments and grace notes written out in words, with their place for hearing them.
fn ornaments(here: &Here) -> Vec<(String, String)> {
    let Some(answer) = &here.survey.ornaments else {
        return Vec::new();
    };
    let at = |place: Place| {
        format!(
            "{}:{}",
            here.part.copy.piece.label(place.bar),
            here.said_beat(place.offset)
        )
    };
    let signs = answer.ornaments.iter().filter(|found| here.has(found.place));
    let mut all: Vec<(String, String)> = signs.map(|found| (found.says(), at(found.place))).collect();
    let graces = answer.graces.iter().filter(|group| here.has(group.place));
    all.extend(graces.map(|group| (group.says.clone(), at(group.place))));
    all
}

/// The fingerings of the bar's notes, each once, those that are not the usual ones first.
fn pictures(here: &Here) -> Vec<(String, String, String)> {
    let Some(study) = here.study else {
        return Vec::new();
    };
    let mut seen: Vec<&Chosen> = Vec::new();
    let notes = study.fingering.notes.iter().filter(|note| here.has(note.place));
    for note in notes {
        let known = |other: &&Chosen| other.written == note.written && other.state == note.state;
        if !seen.iter().any(known) {
            seen.push(note);
        }
    }
    seen.sort_by_key(|note| !note.alternate);
    seen.truncate(MOST_FINGERINGS);
    seen.sort_by_key(|note| note.written.semitones());
    seen.into_iter()
        .map(|note| {
            let mut drawn: Fingering = (*note.fingering).clone();
            drawn.state = note.state;
            (note.written.sign(), diagram(&drawn), fingering_words(&drawn))
        })
        .collect()
}
