//! What is to be done about it? Trouble spots, the climb, fingers, breaths and what comes back, from the study's sections.

use super::{Bracket, Breathing, Climb, Detail, Fingered, Fingers, Returns};
use crate::compose::{Composed, Say, once};
use crate::model::{Row, Section};
use notation::BarIndex;

/// Where to look first: what most likely goes wrong, for anybody.
pub(super) fn look_first(what: &Composed) -> Vec<Bracket> {
    let say = Say { piece: what.piece };
    let places = what.survey.look_first.iter().zip(1..);
    places
        .map(|(place, rank)| Bracket {
            rank,
            bars: say.run(place.from, place.to),
            reasons: place.reasons.iter().map(|reason| reason.says.clone()).collect(),
            doing: place.suggestion.to_owned(),
            ..Bracket::default()
        })
        .collect()
}

/// The trouble spots of the study.
pub(super) fn spots(what: &Composed) -> Vec<Bracket> {
    let say = Say { piece: what.piece };
    let spots = what.study.map_or(&[][..], |study| &study.spots);
    spots
        .iter()
        .zip(1..)
        .map(|(spot, rank)| {
            let next = BarIndex(spot.to.0.saturating_add(1));
            let into = if next.get() < what.piece.bars.len() {
                format!("into {}", say.bar(next))
            } else {
                String::new()
            };
            let also = if spot.also.is_empty() {
                String::new()
            } else {
                format!("also {}", say.said(spot.also.iter().copied()))
            };
            Bracket {
                rank,
                bars: say.run(spot.from, spot.to),
                into,
                reasons: various(once(&spot.reasons)),
                doing: spot.suggestion.to_owned(),
                also,
                slot: None,
            }
        })
        .collect()
}

/// Reasons of different sorts before more of the same: only a few are shown.
fn various(reasons: Vec<String>) -> Vec<String> {
    let (mut first, mut again): (Vec<String>, Vec<String>) = (Vec::new(), Vec::new());
    for reason in reasons {
        if first.iter().any(|known| alike(known, &reason)) {
            again.push(reason);
        } else {
            first.push(reason);
        }
    }
    first.append(&mut again);
    first
}

/// Whether two reasons begin alike: `6 fingers move …`, `7 fingers move …`.
pub(crate) fn alike(one: &str, other: &str) -> bool {
    let start = |text: &str| -> String { text.chars().filter(|c| !c.is_ascii_digit()).take(13).collect() };
    start(one) == start(other)
}

fn section<'a>(study: &'a [Section], id: &str) -> Option<&'a Section> {
    study.iter().find(|section| section.id == id)
}

fn lines<'a>(section: &'a Section, label: &'a str) -> impl Iterator<Item = Detail> + 'a {
    section.rows.iter().filter_map(move |row| match row {
        Row::Line {
            label: own,
            text,
            bars,
        } if own == label => Some(Detail {
            label: own.clone(),
            text: text.clone(),
            bars: bars.clone(),
        }),
        _ => None,
    })
}

/// The first tempo and the climb.
pub(super) fn climb(study: &[Section]) -> Option<Climb> {
    let section = section(study, "first-tempo")?;
    let mut climb = Climb {
        says: section.answer.clone(),
        ..Climb::default()
    };
    for label in ["slow end", "climb", "before it"] {
        climb.details.extend(lines(section, label));
    }
    for row in &section.rows {
        if let Row::Rungs(rungs) = row {
            climb.rungs.items.extend(rungs.iter().cloned());
        }
    }
    let advice = lines(section, "on the way").next();
    climb.advice = advice.map_or_else(String::new, |line| line.text);
    Some(climb)
}

/// Fingerings that differ from the usual; nothing where the usual ones do.
pub(super) fn fingers(what: &Composed, study: &[Section]) -> Option<Fingers> {
    let section = section(study, "fingers")?;
    let mut fingers = Fingers {
        says: section.answer.clone(),
        ..Fingers::default()
    };
    for row in &section.rows {
        if let Row::Pictured {
            note,
            text,
            bars,
            pictures,
        } = row
        {
            fingers.notes.items.push(Fingered {
                note: note.clone(),
                text: without_keys(text),
                bars: bars.clone(),
                pictures: pictures.clone(),
            });
        }
    }
    for label in ["stays down", "spelling", "trill", "listen"] {
        fingers.details.extend(lines(section, label).take(1));
    }
    let unknown = what.study.map_or(0, |study| study.fingering.gaps.len());
    (!fingers.notes.is_empty() || !fingers.details.is_empty() || unknown > 0).then_some(fingers)
}

/// `left (left hand: …); avoids …` without the keys in parentheses: the drawing beside it shows them.
fn without_keys(text: &str) -> String {
    match text.split_once(" (").zip(text.split_once("); ")) {
        Some(((name, _), (_, why))) if !name.contains(';') => format!("{name}: {why}"),
        _ => text.to_owned(),
    }
}

/// Breaths and bows that are always taken.
pub(super) fn breath(study: &[Section]) -> Option<Breathing> {
    let section = section(study, "breathe").or_else(|| section(study, "bowing"))?;
    let mut breathing = Breathing {
        name: section.name.clone(),
        says: section.answer.clone(),
        ..Breathing::default()
    };
    let slowly = |label: &str| label.starts_with("besides");
    for row in &section.rows {
        let Row::Table { label, rows, .. } = row else {
            continue;
        };
        for cells in rows.iter().filter(|_| !slowly(label)) {
            if let [sign, place, why] = cells.as_slice() {
                // What is printed needs no pencil.
                if !why.contains("is printed") {
                    breathing.signs.items.push(Detail {
                        label: sign.split(' ').next().unwrap_or(sign).to_owned(),
                        text: place.clone(),
                        bars: Vec::new(),
                    });
                }
            }
        }
    }
    Some(breathing)
}

/// What comes back: first what is nearly the same, since there it is easy to play the wrong one.
pub(super) fn returns(study: &[Section]) -> Option<Returns> {
    let section = section(study, "comes-back")?;
    let form = lines(section, "form").next();
    let mut returns = Returns {
        says: section.answer.clone(),
        form: form.map_or_else(String::new, |line| line.text),
        ..Returns::default()
    };
    let mut others = Vec::new();
    for row in &section.rows {
        let Row::Line { label, text, bars } = row else {
            continue;
        };
        if label == "form" || label.is_empty() {
            continue;
        }
        let line = Detail {
            label: label.clone(),
            text: text.clone(),
            bars: bars.clone(),
        };
        if text.contains("nearly") || text.contains(';') {
            returns.bars.items.push(line);
        } else {
            others.push(line);
        }
    }
    returns.bars.items.extend(others);
    Some(returns)
}
