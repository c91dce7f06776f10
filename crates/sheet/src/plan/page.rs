//! What goes on the hand-out? Some days with boxes to tick, how each kind of turn goes, the hard spots, cautions.

use super::{PlanShown, said};
use crate::compose::Say;
use crate::prep::{Slot, alt};
use notation::Piece;
use practice::BarSpan;
use practice::plan::{DayIs, Days, OffBy, PassageKind, Sitting, Turn, TurnKind, cautions};
use std::collections::BTreeSet;

/// Most spots with their notes.
const SPOTS: usize = 6;
/// The room of a spot's notes, in millimetres.
const ROOM_MM: f64 = 85.0;
/// The staff of a spot's notes: it is a reminder, not what is played from.
const STAFF_MM: f64 = 4.6;
/// Bars shown of a longer passage: its beginning is enough to find it.
const INCIPIT: u32 = 3;

/// The hand-out as a value.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct PlanPage {
    /// The works' names.
    pub title: String,
    /// What it is for, how long it is to that, minutes a day.
    pub facts: Vec<String>,
    /// For whom, and the date as it was given.
    pub handed: Vec<String>,
    /// Which days: `Mon 4 Jan – Sun 10 Jan`.
    pub span: String,
    /// What stands when: name and day.
    pub milestones: Vec<(String, String)>,
    /// The days.
    pub days: Vec<DayCard>,
    /// How each kind of turn goes.
    pub how: Vec<How>,
    /// The hard spots of these days.
    pub spots: Vec<SpotCard>,
    /// What there is no time for, sentences.
    pub left: Vec<String>,
    /// Cautions: in full once a term, a line in between.
    pub cautions: Vec<String>,
    /// The notes wanted.
    pub slots: Vec<PlanSlot>,
}

/// A day.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct DayCard {
    /// `Mon 4 Jan`.
    pub name: String,
    /// `40 min`; empty on a day off.
    pub minutes: String,
    /// The stretch of the plan, or why there is no sitting.
    pub about: String,
    /// The turns, rests among them.
    pub turns: Vec<TurnLine>,
}

/// A turn in a line.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct TurnLine {
    /// `3`, without the word.
    pub minutes: String,
    /// `Hard spot`.
    pub name: String,
    /// `bars 12–14`; may be empty.
    pub bars: String,
    /// `3 at ♩ = 63, 1 at ♩ = 72`; may be empty.
    pub tempo: String,
    /// By which drill, on which scale; may be empty.
    pub how: String,
    /// Why it comes today, from the log; may be empty.
    pub why: String,
    /// What to do, a sentence.
    pub what: String,
    /// When to stop; may be empty.
    pub stop: String,
    /// The instrument is put down.
    pub rest: bool,
    /// There is a tempo to write down afterwards.
    pub reached: bool,
}

/// How a kind of turn goes.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct How {
    /// `Hard spot`.
    pub name: String,
    /// What to do.
    pub what: String,
    /// When to stop; may be empty.
    pub stop: String,
}

/// A hard spot.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct SpotCard {
    /// Its bars.
    pub bars: String,
    /// Why it is hard; may be empty.
    pub why: String,
    /// What to do about it.
    pub doing: String,
    /// The slot of its notes.
    pub slot: String,
}

/// Notes wanted, and of which work.
#[derive(Clone, PartialEq, Debug)]
pub struct PlanSlot {
    /// The work, by its number.
    pub work: usize,
    /// The bars.
    pub slot: Slot,
}

/// The hand-out of some days. `pieces` are the parts of the works, in their order.
#[must_use]
pub fn plan_page(shown: &PlanShown, pieces: &[&Piece]) -> PlanPage {
    let asked = shown.asked;
    let last = shown
        .from
        .checked_add_days(Days::new(u64::from(shown.days.saturating_sub(1))))
        .unwrap_or(shown.from);
    let within = |date: &practice::plan::Date| (shown.from..=last).contains(date);
    let sittings: Vec<&Sitting> = shown
        .plan
        .sittings
        .iter()
        .filter(|sitting| within(&sitting.date))
        .collect();
    let days = shown
        .plan
        .calendar
        .days
        .iter()
        .filter(|(date, _)| within(date) && *date >= asked.today)
        .filter_map(|(date, is)| day_card(shown, *date, *is, &sittings))
        .collect();
    let (spots, slots) = spots(shown, &sittings, pieces);
    PlanPage {
        title: said::title(asked),
        facts: said::facts(asked),
        handed: crate::prep::handed_words(shown.handed),
        span: if shown.days == 1 {
            said::day(shown.from)
        } else {
            format!("{} – {}", said::day(shown.from), said::day(last.min(asked.until)))
        },
        milestones: said::milestones(asked, shown.plan),
        days,
        how: how(&sittings),
        spots,
        left: left(shown),
        cautions: cautions::on_page(asked.family, asked.begun, shown.from)
            .into_iter()
            .map(str::to_owned)
            .collect(),
        slots,
    }
}

/// What there is no time for, bars with the same reason together.
fn left(shown: &PlanShown) -> Vec<String> {
    let mut lines: Vec<(usize, &str, Vec<String>)> = Vec::new();
    for left in &shown.plan.left {
        let Some((work, span)) = shown.asked.works.get(left.work).zip(left.span) else {
            lines.push((left.work, &left.says, Vec::new()));
            continue;
        };
        let bars = work.say(span);
        match lines
            .iter_mut()
            .find(|line| line.0 == left.work && line.1 == left.reason && !line.2.is_empty())
        {
            Some(line) => line.2.push(
                bars.trim_start_matches("bars ")
                    .trim_start_matches("bar ")
                    .to_owned(),
            ),
            None => lines.push((left.work, &left.reason, vec![bars])),
        }
    }
    lines
        .into_iter()
        .map(|(work, reason, bars)| {
            let bars = match bars.split_first() {
                None => return said::upper(reason),
                Some((first, [])) => first.clone(),
                Some((first, more)) => {
                    let first = first.trim_start_matches("bars ").trim_start_matches("bar ");
                    format!("bars {first}, {}", more.join(", "))
                }
            };
            let title = shown
                .asked
                .works
                .get(work)
                .filter(|_| shown.asked.works.len() > 1);
            let title = title.map_or_else(String::new, |work| format!("{}, ", work.title));
            said::upper(&format!("{title}{bars}: {reason}"))
        })
        .collect()
}

fn day_card(
    shown: &PlanShown,
    date: practice::plan::Date,
    is: DayIs,
    sittings: &[&Sitting],
) -> Option<DayCard> {
    let name = said::day(date);
    let about = |about: &str| DayCard {
        name: name.clone(),
        about: about.to_owned(),
        ..DayCard::default()
    };
    Some(match is {
        DayIs::Off(OffBy::Asked) => about("no sitting"),
        DayIs::Off(OffBy::Week) => about("the week's day off"),
        DayIs::TheDate => about(&format!(
            "{}: warm up, play the first lines slowly, hear the rest in your head; eat, breathe, go",
            shown.asked.occasion.words()
        )),
        DayIs::Sitting(_) => {
            let sitting = sittings.iter().find(|sitting| sitting.date == date)?;
            DayCard {
                minutes: format!("{} min", said::minutes(sitting.secs())),
                about: sitting.stage.words().to_owned(),
                turns: sitting.turns.iter().map(|turn| line(shown, turn)).collect(),
                name,
            }
        }
    })
}

/// A turn in a line.
pub(super) fn line(shown: &PlanShown, turn: &Turn) -> TurnLine {
    TurnLine {
        minutes: said::minutes(turn.secs),
        name: turn.kind.words().to_owned(),
        bars: said::bars(shown.asked, turn),
        tempo: said::tempi(&turn.tempi),
        how: said::how(turn),
        why: if turn.kind == TurnKind::LookAlikes || turn.kind == TurnKind::WarmUp {
            String::new()
        } else {
            turn.why.clone()
        },
        what: turn.what.clone(),
        stop: turn.stop.clone(),
        rest: turn.kind == TurnKind::Rest,
        reached: turn.kind.of_passage() && turn.kind != TurnKind::LookAlikes,
    }
}

/// Each kind of these days once, in the order in which they first come.
fn how(sittings: &[&Sitting]) -> Vec<How> {
    let mut seen: Vec<TurnKind> = Vec::new();
    let mut said = Vec::new();
    for turn in sittings.iter().flat_map(|sitting| &sitting.turns) {
        if seen.contains(&turn.kind) {
            continue;
        }
        seen.push(turn.kind);
        let (what, stop) = turn.kind.how();
        said.push(How {
            name: turn.kind.words().to_owned(),
            what: what.to_owned(),
            stop: stop.to_owned(),
        });
    }
    let tempi = sittings
        .iter()
        .flat_map(|sitting| &sitting.turns)
        .flat_map(|turn| &turn.tempi);
    let clicks = said::clicks(tempi);
    if !clicks.is_empty() {
        said.push(How {
            name: "Metronome".to_owned(),
            what: format!("set it to the smaller note: {clicks}"),
            stop: String::new(),
        });
    }
    said
}

/// The spots that these days work at, the worst first.
fn spots(shown: &PlanShown, sittings: &[&Sitting], pieces: &[&Piece]) -> (Vec<SpotCard>, Vec<PlanSlot>) {
    let worked: BTreeSet<(usize, BarSpan)> = sittings
        .iter()
        .flat_map(|sitting| &sitting.turns)
        .filter(|turn| turn.kind.of_passage())
        .filter_map(|turn| Some((turn.work?, *turn.bars.last()?)))
        .collect();
    let mut cards = Vec::new();
    let mut slots = Vec::new();
    for standing in &shown.plan.passages {
        let passage = &standing.passage;
        let PassageKind::Spot(rank) = passage.kind else {
            continue;
        };
        let known = worked.contains(&(passage.work, passage.span));
        let Some((work, piece)) = shown.asked.works.get(passage.work).zip(pieces.get(passage.work)) else {
            continue;
        };
        let Some(spot) = work.spots.get(rank).filter(|_| known && cards.len() < SPOTS) else {
            continue;
        };
        let to = notation::BarIndex(spot.span.to.0.min(spot.span.from.0 + INCIPIT - 1));
        let id = format!("spot-{}-{}", passage.work + 1, rank + 1);
        let bars = if shown.asked.works.len() > 1 {
            format!("{}, {}", work.title, work.say(spot.span))
        } else {
            work.say(spot.span)
        };
        slots.push(PlanSlot {
            work: passage.work,
            slot: Slot {
                id: id.clone(),
                from: spot.span.from,
                to,
                marks: vec![
                    notation::PencilSign::Circle,
                    notation::PencilSign::Courtesy,
                    notation::PencilSign::Fingering,
                ],
                purpose: spot.why.clone(),
                alt: alt(Say { piece }, spot.span.from, to, &spot.why),
                room_mm: ROOM_MM,
                staff_mm: STAFF_MM,
            },
        });
        cards.push(SpotCard {
            bars,
            why: spot.why.clone(),
            doing: spot.doing.clone(),
            slot: id,
        });
    }
    (cards, slots)
}
