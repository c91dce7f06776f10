//! Fingerings, in words and pictures: what lies better than the usual one, what stays down, what is not known.

use super::Told;
use crate::model::{Picture, Row, Section};
use instruments::fingering::{Fingering, diagram, fingering_words};
use load::fingers::{Chosen, FingeringAnswer};
use notation::Place;
use std::collections::BTreeSet;

/// Most proposals shown.
const MOST: usize = 16;

pub(super) fn section(told: Told) -> Option<Section> {
    let answer = &told.study.fingering;
    if answer.means.is_empty() {
        return None;
    }
    let mut section = Section::new("fingers", "Fingers", answer.means.clone());
    proposals(&mut section, told, answer);
    for stay in answer.stays().iter().filter(|stay| stay.notes > 1) {
        let bars = (stay.from.bar.0..=stay.to.bar.0).map(notation::BarIndex);
        section.line("stays down", stay.says, told.say.bars(bars));
    }
    spellings(&mut section, told, answer);
    for trill in &answer.trills {
        let notes = format!("{}–{}", trill.main.sign(), trill.upper.sign());
        let text = format!("{notes}: {}", trill.says);
        section.line("trill", text, told.say.at(trill.place));
    }
    tuning(&mut section, told, answer);
    for gap in &answer.gaps {
        let times = if gap.times > 1 {
            format!(" ({} times)", gap.times)
        } else {
            String::new()
        };
        section.line(
            "not known",
            format!("{}{times}: {}", gap.written.sign(), gap.why),
            told.say.at(gap.place),
        );
    }
    sources(&mut section, answer);
    Some(section)
}

/// The notes of one proposal, with every bar and reason.
struct Proposal<'a> {
    note: &'a Chosen,
    places: Vec<Place>,
    reasons: Vec<&'a str>,
}

fn proposals(section: &mut Section, told: Told, answer: &FingeringAnswer) {
    let mut all: Vec<Proposal> = Vec::new();
    let worth = |note: &&Chosen| note.alternate || note.own && !note.basic;
    for note in answer.notes.iter().filter(worth) {
        let same = |p: &&mut Proposal| p.note.written == note.written && alike(p.note, note);
        let place = match all.iter_mut().find(same) {
            Some(proposal) => proposal,
            None => {
                let (places, reasons) = (Vec::new(), Vec::new());
                all.push(Proposal {
                    note,
                    places,
                    reasons,
                });
                let Some(last) = all.last_mut() else { continue };
                last
            }
        };
        place.places.push(note.place);
        if let Some(reason) = note.reason.as_deref()
            && !place.reasons.contains(&reason)
        {
            place.reasons.push(reason);
        }
    }
    let more = all.len().saturating_sub(MOST);
    for proposal in all.iter().take(MOST) {
        section.rows.push(shown(told, answer, proposal));
    }
    if more > 0 {
        section.line("", format!("and {more} more"), vec![]);
    }
}

/// The same keys, valves and place of the slide.
fn alike(one: &Chosen, other: &Chosen) -> bool {
    one.state == other.state && one.fingering.position == other.fingering.position
}

fn shown(told: Told, answer: &FingeringAnswer, proposal: &Proposal) -> Row {
    let note = proposal.note;
    let mut drawn: Fingering = (*note.fingering).clone();
    drawn.state = note.state;
    let mut text = fingering_words(&drawn);
    if named(&note.fingering) {
        text = format!("{} ({text})", note.fingering.name);
    }
    for reason in proposal.reasons.iter().take(2) {
        text.push_str("; ");
        text.push_str(reason);
    }
    if note.own {
        text.push_str("; chosen by you or your teacher, or printed");
    } else {
        text.push_str("; ");
        text.push_str(note.fingering.grade.words());
    }
    let basic = answer
        .chart
        .and_then(|chart| chart.fingerings(note.as_pitch.unwrap_or(note.written)).first())
        .filter(|basic| basic.state != note.state || basic.position != note.fingering.position);
    let mut pictures: Vec<Picture> = basic.map(|basic| picture("usual", basic)).into_iter().collect();
    let name = if named(&note.fingering) {
        note.fingering.name.as_ref()
    } else {
        "here"
    };
    pictures.push(picture(name, &drawn));
    Row::Pictured {
        note: note.written.sign(),
        text,
        bars: told.say.places(proposal.places.iter().copied()),
        pictures,
    }
}

fn named(fingering: &Fingering) -> bool {
    fingering.harmonic.is_none() && !matches!(fingering.name.as_ref(), "" | "plain")
}

fn picture(caption: &str, fingering: &Fingering) -> Picture {
    Picture {
        caption: caption.to_owned(),
        svg: diagram(fingering),
    }
}

/// `E♯ is fingered as F`, once for each spelling.
fn spellings(section: &mut Section, told: Told, answer: &FingeringAnswer) {
    let mut said: Vec<(&str, Vec<Place>)> = Vec::new();
    for note in &answer.notes {
        let Some(text) = note.said.as_deref() else {
            continue;
        };
        match said.iter_mut().find(|(known, _)| *known == text) {
            Some((_, places)) => places.push(note.place),
            None => said.push((text, vec![note.place])),
        }
    }
    for (text, places) in said {
        section.line("spelling", text, told.say.places(places));
    }
}

fn tuning(section: &mut Section, told: Told, answer: &FingeringAnswer) {
    for tending in answer.tendencies() {
        let times = if tending.times > 1 {
            format!(" ({} times)", tending.times)
        } else {
            String::new()
        };
        section.line(
            "listen",
            format!("{}{times}: {}", tending.written.sign(), tending.says),
            told.say.at(tending.place),
        );
    }
}

fn sources(section: &mut Section, answer: &FingeringAnswer) {
    let Some(chart) = answer.chart else { return };
    let used: BTreeSet<&str> = answer
        .notes
        .iter()
        .filter(|note| note.alternate)
        .flat_map(|note| note.fingering.sources.iter().copied())
        .collect();
    let mut text = chart.title.to_owned();
    if !used.is_empty() {
        let used: Vec<&str> = used.into_iter().collect();
        text.push_str(": ");
        text.push_str(&used.join("; "));
    }
    section.line("chart", text, vec![]);
}
