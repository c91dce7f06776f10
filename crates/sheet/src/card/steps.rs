//! What is found in this piece at each look of the study minute? One short line.

use super::{Look, Step};
use crate::compose::{Composed, Say};
use crate::prep::{STAFF_MM, Slot, alike, alt, proves_key};
use crate::terminal::said;
use crate::words::clip;
use instruments::Family;
use notation::{Alter, BarIndex, PencilSign, Rational, alter_sign};

/// What is found, and labels of the bars to look at.
pub(super) type Found = (String, Vec<String>);

/// Letters of a line.
const LINE: usize = 120;
/// Letters of one reason.
const REASON: usize = 70;

/// The finding with the bars to look at; nothing where the piece has nothing to look at.
pub(super) fn finding(what: &Composed, look: Look) -> Option<Found> {
    let say = Say { piece: what.piece };
    let (says, bars) = match look {
        Look::Key => key(what, say),
        Look::Metre => metre(what, say),
        Look::Tempo => tempo(what),
        Look::Trap => trap(what, say),
        Look::Hardest => hardest(what, say),
        Look::RoadMap => road_map(what, say),
        Look::Dynamics => dynamics(what, say),
        Look::Last => Some(last(what)),
    }?;
    Some((clip(&says, LINE), bars))
}

/// Whether the part is sung.
pub(super) fn sung(what: &Composed) -> bool {
    let part = what.survey.instrument.as_ref().map(|found| found.instrument);
    let own = what.study.and_then(|study| study.player.instrument);
    own.or(part)
        .is_some_and(|instrument| instrument.family == Family::Voice)
}

fn name((step, alter): (notation::Step, i8), mode: &str) -> String {
    let alter: Alter = Rational::whole(i64::from(alter));
    format!("{}{} {mode}", step.letter(), alter_sign(alter))
}

fn key(what: &Composed, say: Say) -> Option<Found> {
    let answer = what.survey.key.as_ref().filter(|answer| answer.certainty > 0.0)?;
    let mut says = name(answer.tonic, answer.scale);
    if answer.certainty < 0.8 {
        says = match &answer.runner_up {
            Some(rival) => format!("perhaps {says}, or {}", name(rival.tonic, rival.mode)),
            None => format!("perhaps {says}"),
        };
    }
    if let Some(first) = answer.signatures.first() {
        says = format!("{says}, {}", first.signature.name());
    }
    if let Some(second) = answer.signatures.get(1) {
        says = format!(
            "{says}; {} from {}",
            second.signature.name(),
            say.bar(second.place.bar)
        );
    }
    // The proof that is seen quickest.
    const SEEN: [&str; 3] = ["the close is", "the last note played", "the leading note"];
    let told = |start: &&str| {
        answer
            .evidence
            .iter()
            .find(|e| e.says.starts_with(*start) && proves_key(&e.says))
    };
    let proof = SEEN.iter().find_map(told);
    let Some(proof) = proof else {
        return Some((says, Vec::new()));
    };
    let bars = proof.place.map_or_else(Vec::new, |place| say.at(place));
    let told = proof.says.split(" in bar").next().unwrap_or(&proof.says);
    Some((format!("{says}; {told}"), bars))
}

fn metre(what: &Composed, say: Say) -> Option<Found> {
    let answer = what.survey.metre.as_ref()?;
    let first = answer.metres.first()?;
    let mut says = if answer.count_in.is_empty() {
        first.metre.name()
    } else {
        format!("{}: count {}", first.metre.name(), answer.count_in)
    };
    if let Some(pickup) = &answer.anacrusis {
        says = format!("{says}, enter on {}", pickup.enters_on);
    }
    let mut bars = Vec::new();
    let changes = answer.metres.len() - 1;
    if let Some(second) = answer.metres.get(1) {
        let more = if changes > 1 {
            format!(", and {} more", changes - 1)
        } else {
            String::new()
        };
        says = format!("{says}; changes to {}{more}", second.metre.name());
        bars = vec![say.label(second.from)];
    }
    Some((says, bars))
}

fn tempo(what: &Composed) -> Option<Found> {
    let answer = what.survey.tempo.as_ref();
    let marked = answer.and_then(|answer| {
        let number = answer
            .metronome
            .as_ref()
            .map(|m| format!("{} = {}", m.printed.unit.sign(), m.printed.text));
        number.or_else(|| answer.marking.as_ref().map(|text| text.replace('\n', " ")))
    });
    let marked = marked.map_or_else(String::new, |marked| format!("; marked {}", clip(&marked, 40)));
    let start = match what.study.and_then(|study| study.first.as_ref()) {
        Some(first) => Some(crate::compose::player_first(first)),
        None => answer
            .and_then(|answer| answer.first_reading.as_ref())
            .map(|first| {
                let span = if first.low == first.high {
                    first.low.to_string()
                } else {
                    format!("{}–{}", first.low, first.high)
                };
                format!("{} = {span}", first.beat.sign())
            }),
    }?;
    let start = start.split(" (").next().unwrap_or(&start).to_owned();
    Some((
        format!("start at {start}, by the hardest place{marked}"),
        Vec::new(),
    ))
}

/// The hardest place: the player's worst spot, else what is to be looked at first.
fn hardest_place(what: &Composed) -> Option<(BarIndex, BarIndex, Vec<String>)> {
    let spot = what.study.and_then(|study| study.spots.first());
    if let Some(spot) = spot {
        return Some((spot.from, spot.to, spot.reasons.clone()));
    }
    let place = what.survey.look_first.first()?;
    let reasons = place.reasons.iter().map(|reason| reason.says.clone()).collect();
    Some((place.from, place.to, reasons))
}

fn hardest(what: &Composed, say: Say) -> Option<Found> {
    let (from, to, reasons) = hardest_place(what)?;
    // Two reasons of one sort say no more than one.
    let first = reasons.first();
    let second = reasons
        .iter()
        .find(|reason| first.is_some_and(|first| !alike(first, reason)));
    let told: Vec<String> = first
        .into_iter()
        .chain(second)
        .map(|reason| clip(reason, REASON))
        .collect();
    Some((told.join("; "), say.bars((from.0..=to.0).map(BarIndex))))
}

/// The first of the other places to look at, in the order of the page.
fn trap(what: &Composed, say: Say) -> Option<Found> {
    let worst = hardest_place(what);
    let other = |from: BarIndex, to: BarIndex| worst.as_ref().is_none_or(|(a, b, _)| to < *a || *b < from);
    let places = what
        .survey
        .look_first
        .iter()
        .filter(|place| other(place.from, place.to));
    let first = places.min_by_key(|place| place.from)?;
    let reason = first.reasons.first()?;
    Some((clip(&reason.says, REASON * 3 / 2), vec![say.label(reason.bar)]))
}

/// Where the way is straight, there is nothing to look at.
fn road_map(what: &Composed, say: Say) -> Option<Found> {
    let map = &what.survey.road_map;
    let straight = map.unfolding.leaps.is_empty() && map.unfolding.never_played.is_empty();
    if !straight {
        let order = survey::road_map::order_in_words(what.piece, &map.runs);
        return Some((format!("play {}", clip(&order, LINE - 5)), Vec::new()));
    }
    let trap = map.traps.first()?;
    Some((trap.says.clone(), say.at(trap.place)))
}

fn dynamics(what: &Composed, say: Say) -> Option<Found> {
    let answer = what.survey.dynamics.as_ref()?;
    let mark = |index: Option<usize>| index.and_then(|index| answer.marks.get(index));
    let first = answer.marks.first()?;
    let mut says = format!("begin {}", first.mark);
    if let Some((soft, loud)) = mark(answer.softest).zip(mark(answer.loudest))
        && soft.mark != loud.mark
    {
        says = format!(
            "{says}; softest {} ({}), loudest {} ({})",
            soft.mark,
            say.bar(soft.place.bar),
            loud.mark,
            say.bar(loud.place.bar)
        );
    }
    let sudden = answer.sudden.first();
    let at = sudden.and_then(|sudden| mark(Some(sudden.to)));
    match sudden.zip(at) {
        Some((sudden, at)) => Some((
            format!("{says}; {}", sudden.says(&answer.marks)),
            say.at(at.place),
        )),
        None => Some((says, Vec::new())),
    }
}

fn last(what: &Composed) -> Found {
    let say = Say { piece: what.piece };
    let part = what.piece.parts.get(what.part);
    let first = part.and_then(|part| {
        let note = notation::line(what.piece, part).into_iter().next()?;
        Some((note.pitch, part.events.get(note.event)?.place))
    });
    match first {
        Some((pitch, place)) => (format!("first note {}", pitch.sign()), say.at(place)),
        None => ("back to the beginning".to_owned(), Vec::new()),
    }
}

/// The hardest place as an excerpt: two bars at most, as wide as the card leaves.
pub(super) fn slot(what: &Composed) -> Option<Slot> {
    let (from, to, reasons) = hardest_place(what)?;
    let to = BarIndex(to.0.min(from.0.saturating_add(1)));
    let why = reasons.into_iter().next().unwrap_or_default();
    let say = Say { piece: what.piece };
    (to.get() < what.piece.bars.len()).then(|| Slot {
        id: "card-hardest".to_owned(),
        from,
        to,
        marks: vec![PencilSign::Circle, PencilSign::Courtesy, PencilSign::BeatStrokes],
        alt: alt(say, from, to, &why),
        purpose: why,
        room_mm: 70.0,
        staff_mm: STAFF_MM,
    })
}

/// A line with its bars in words: before it where the bars are the point, else behind it.
pub(super) fn with_bars(step: &Step) -> String {
    match (step.says.as_str(), step.bars.as_slice()) {
        (says, []) => says.to_owned(),
        ("", bars) => said(bars),
        (says, bars) if matches!(step.look, Look::Trap | Look::Hardest) => format!("{}: {says}", said(bars)),
        (says, bars) => format!("{says} ({})", said(bars)),
    }
}
