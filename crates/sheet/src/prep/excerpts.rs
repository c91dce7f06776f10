//! Which bars are worth engraving on the sheet? The spots, and the places that the answers speak of.

use super::answers::{hardest_rhythm, proves_key};
use super::slot::{COLUMN_MM, PAGE_MM, SPOT_STAFF_MM, STAFF_MM};
use super::{PrepSheet, Slot};
use crate::compose::{Composed, Say};
use notation::{BarIndex, PencilSign, Place};

/// Most bars of an excerpt beside an answer.
const LONGEST: u32 = 2;

/// Brackets engraved, at most.
const SPOTS: usize = 3;

/// Makes the slots, and tells each bracket and answer its own.
pub(super) fn place(prep: &mut PrepSheet, what: &Composed) {
    let bars = what.piece.bars.len();
    let within = |slot: &Slot| slot.from <= slot.to && slot.to.get() < bars;
    let mut slots: Vec<Slot> = brackets(what).into_iter().filter(within).collect();
    let studied = !prep.spots.is_empty();
    let list = if studied {
        &mut prep.spots
    } else {
        &mut prep.look_first
    };
    for (bracket, slot) in list.items.iter_mut().zip(&slots) {
        bracket.slot = Some(slot.id.clone());
    }
    for slot in answers(what).into_iter().filter(within) {
        // What is engraved already need not be engraved again.
        let shown = slots
            .iter()
            .any(|other| other.from <= slot.from && slot.to <= other.to);
        let answer = prep
            .answers
            .iter_mut()
            .find(|answer| answer.id == slot.id.replace('-', "_"));
        if let Some(answer) = answer.filter(|_| !shown) {
            answer.slot = Some(slot.id.clone());
            slots.push(slot);
        }
    }
    prep.slots = slots;
}

/// The spots of the study, or without one the places to look at first.
fn brackets(what: &Composed) -> Vec<Slot> {
    let say = Say { piece: what.piece };
    let slot = |rank: usize, from: BarIndex, to: BarIndex, why: &str, doing: &str| Slot {
        id: format!("spot-{rank}"),
        from,
        to,
        marks: spot_marks(doing),
        purpose: why.to_owned(),
        alt: alt(say, from, to, why),
        room_mm: PAGE_MM,
        staff_mm: SPOT_STAFF_MM,
    };
    let spots = what.study.map_or(&[][..], |study| &study.spots);
    if spots.is_empty() {
        let places = what.survey.look_first.iter().zip(1..).take(SPOTS);
        let why = |place: &survey::look_first::LookFirst| {
            place
                .reasons
                .first()
                .map_or_else(String::new, |reason| reason.says.clone())
        };
        return places
            .map(|(place, rank)| slot(rank, place.from, place.to, &why(place), place.suggestion))
            .collect();
    }
    let spots = spots.iter().zip(1..).take(SPOTS);
    let why = |reasons: &[String]| reasons.first().cloned().unwrap_or_default();
    spots
        .map(|(spot, rank)| slot(rank, spot.from, spot.to, &why(&spot.reasons), spot.suggestion))
        .collect()
}

/// The marks of a spot: counts and strokes only where it is the rhythm that trips, since they need room.
fn spot_marks(doing: &str) -> Vec<PencilSign> {
    use PencilSign::{BeatStrokes, Circle, Counts, Courtesy, Eyeglasses, Fingering};
    let mut marks = vec![Circle, Courtesy, Fingering, Eyeglasses];
    if doing.starts_with("count") {
        marks.extend([BeatStrokes, Counts]);
    }
    marks
}

/// What an excerpt is, in words.
pub(crate) fn alt(say: Say, from: BarIndex, to: BarIndex, why: &str) -> String {
    let mut run = say.run(from, to);
    if let Some(first) = run.get_mut(..1) {
        first.make_ascii_uppercase();
    }
    format!("{run} engraved: {why}")
}

/// What the answers would show, the most useful first.
fn answers(what: &Composed) -> Vec<Slot> {
    let say = Say { piece: what.piece };
    let slot = |id: &str, from: BarIndex, to: BarIndex, marks: &[PencilSign], why: &str| {
        let to = BarIndex(to.0.min(from.0.saturating_add(LONGEST - 1)));
        Slot {
            id: id.to_owned(),
            from,
            to,
            marks: marks.to_vec(),
            purpose: why.to_owned(),
            alt: alt(say, from, to, why),
            room_mm: COLUMN_MM,
            staff_mm: STAFF_MM,
        }
    };
    let mut slots = Vec::new();
    if let Some((bar, why)) = accidental(what) {
        let from = before(what, bar);
        slots.push(slot(
            "accidentals",
            from,
            bar,
            &[PencilSign::Circle, PencilSign::Courtesy],
            &why,
        ));
    }
    if let Some(bar) = hardest_rhythm(what) {
        let why = "the rhythm that is hardest to count";
        slots.push(slot(
            "rhythm",
            bar,
            bar,
            &[PencilSign::BeatStrokes, PencilSign::Counts],
            why,
        ));
    }
    if let Some((bar, why)) = key(what) {
        slots.push(slot("key", before(what, bar), bar, &[PencilSign::Circle], &why));
    }
    if let Some((place, why)) = change(what) {
        let bar = place.bar;
        slots.push(slot(
            "clefs",
            before(what, bar),
            bar,
            &[PencilSign::Eyeglasses],
            &why,
        ));
    }
    if let Some(bar) = metre(what) {
        let why = "the metre changes";
        slots.push(slot(
            "metre",
            before(what, bar),
            bar,
            &[PencilSign::Eyeglasses, PencilSign::BeatStrokes],
            why,
        ));
    }
    let jump = what.survey.road_map.unfolding.jumps.first();
    if let Some(jump) = jump {
        let bar = say.closing(jump.at);
        let why = format!("the jump back to {}", say.bar(jump.target.bar));
        slots.push(slot(
            "road-map",
            bar,
            bar,
            &[PencilSign::JumpArrow, PencilSign::RepeatHook],
            &why,
        ));
    }
    if let Some((bar, why)) = ornament(what) {
        slots.push(slot("ornaments", bar, bar, &[PencilSign::Words], &why));
    }
    if let Some((bar, why)) = high(what) {
        slots.push(slot(
            "range",
            bar,
            bar,
            &[PencilSign::Words, PencilSign::FingeringDiagram],
            &why,
        ));
    }
    slots
}

/// The bar before, where that was read on: what surprises does so after it.
fn before(what: &Composed, bar: BarIndex) -> BarIndex {
    let played = what.survey.road_map.unfolding.order();
    let earlier = BarIndex(bar.0.saturating_sub(1));
    let follows = played
        .windows(2)
        .any(|pair| matches!(pair, [a, b] if (*a, *b) == (earlier, bar)));
    if follows && earlier < bar { earlier } else { bar }
}

fn accidental(what: &Composed) -> Option<(BarIndex, String)> {
    let answer = what.survey.accidentals.as_ref()?;
    let courtesy = answer.courtesy_suggested.first().map(|c| (c.place.bar, c.says()));
    let dense = || answer.densest.first().map(|dense| (dense.bar, dense.says()));
    courtesy.or_else(dense)
}

/// Where the key is proved: the close if it is told, else where the leading note rises.
fn key(what: &Composed) -> Option<(BarIndex, String)> {
    let answer = what.survey.key.as_ref()?;
    let told = |start: &str| {
        let mut evidence = answer
            .evidence
            .iter()
            .filter(|e| e.says.starts_with(start) && proves_key(&e.says));
        evidence.find_map(|e| e.place.map(|place| (place.bar, e.says.clone())))
    };
    told("the close is")
        .or_else(|| told("the leading note"))
        .or_else(|| told("the last note played"))
}

fn change(what: &Composed) -> Option<(Place, String)> {
    let clefs = what.survey.clefs.as_ref()?;
    let change = clefs.staves.iter().flat_map(|staff| &staff.changes).next()?;
    Some((
        change.place,
        format!("the clef changes to {}", change.clef.name()),
    ))
}

fn metre(what: &Composed) -> Option<BarIndex> {
    let metre = what.survey.metre.as_ref()?;
    metre.metres.get(1).map(|stretch| stretch.from)
}

fn ornament(what: &Composed) -> Option<(BarIndex, String)> {
    let answer = what.survey.ornaments.as_ref()?;
    let doubtful = answer.ornaments.iter().find(|ornament| ornament.doubtful());
    let ornament = doubtful.or_else(|| answer.ornaments.first())?;
    Some((ornament.place.bar, ornament.says()))
}

/// The note with the most ledger lines, where there are three and more.
fn high(what: &Composed) -> Option<(BarIndex, String)> {
    let most = what.survey.range.as_ref()?.ledger.most.as_ref()?;
    (most.lines >= 3).then(|| {
        (
            most.place.bar,
            format!("{} on {} ledger lines", most.pitch.sign(), most.lines),
        )
    })
}
