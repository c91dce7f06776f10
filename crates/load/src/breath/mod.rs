//! Where does she breathe, at the first tempo and at the final one? Seconds between breathing places against her breath.
//!
//! A breath is so many seconds in the middle register at mezzo forte; low and loud notes empty it faster ([`air`]).
//! Places are judged one by one ([`places`]): printed marks and rests, ends of phrases, then what teachers do when
//! nothing else is left; never inside a slur or a tie, between a leading note and its resolution, or before a phrase's
//! last note. Stretches that are too long are divided at their best place ([`divide`]); parallel passages get the same
//! marks ([`parallel`]). It is the note *before* that is shortened. A proposal: the teacher decides. Strings get bowings.

pub mod air;
mod divide;
mod own;
mod parallel;
mod places;
mod played;
mod report;
#[cfg(test)]
mod tests;

pub use own::{Own, OwnBreath};
pub use played::Pace;

use crate::alike::AlikeAnswer;
use crate::bowing::{self, BowingAnswer};
use crate::{Placed, Player};
use divide::Division;
use instruments::Family;
use notation::{Finding, Place, Quarters};
use parallel::Marks;
use performance::road::Unfolding;
use places::{Candidate, Judge, Quality};
use played::Blown;
use std::collections::{BTreeMap, BTreeSet};
use survey::Context;
use survey::dynamics::DynamicsAnswer;
use survey::key::KeyAnswer;
use survey::phrases::PhrasesAnswer;

/// The two tempi for which breaths are proposed.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Tempi {
    /// The tempo of the first reading.
    pub first: Pace,
    /// The final one.
    pub last: Pace,
}

/// What the survey and the look-alikes found, on which the breaths rest.
#[derive(Clone, Copy, Debug)]
pub struct Material<'a> {
    /// Phrases of the line.
    pub phrases: &'a PhrasesAnswer,
    /// What returns.
    pub alike: &'a AlikeAnswer,
    /// The play order.
    pub unfolding: &'a Unfolding,
    /// How loud it is, where that was asked.
    pub dynamics: Option<&'a DynamicsAnswer>,
    /// The key, where that was asked: leading notes.
    pub key: Option<&'a KeyAnswer>,
    /// What the teacher decided at single places.
    pub own: &'a [OwnBreath],
}

/// What is done at a breathing place.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Kind {
    /// Breathe in; the note before is shortened.
    Breathe,
    /// Breathe out only: an oboe is left with used air. The note before is shortened.
    BreatheOut,
    /// The rest gives the time; nothing is shortened.
    OnRest,
}

impl Kind {
    /// The name in JSON.
    #[must_use]
    pub const fn id(self) -> &'static str {
        match self {
            Self::Breathe => "breathe",
            Self::BreatheOut => "breathe-out",
            Self::OnRest => "on-rest",
        }
    }
}

/// One breath.
#[derive(Clone, PartialEq, Debug)]
pub struct Breath {
    /// The note before which it is taken, as an index into the line of the context.
    pub note: usize,
    /// Where that note stands.
    pub place: Place,
    /// What is done.
    pub kind: Kind,
    /// The note that is shortened, as an index into the line; `None` on a rest.
    pub shortened: Option<usize>,
    /// Why here, a clause (`a phrase ends; the D5 before it is cut short`).
    pub why: String,
    /// True if it is only for the slow tempo and falls away at the final one.
    pub optional: bool,
    /// True if the page itself has a breath mark or caesura here.
    pub printed: bool,
    /// True if the teacher decided it.
    pub own: bool,
}

/// The breaths of a part for a player.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct BreathAnswer {
    /// Breaths for the tempo of the first reading: those of the final tempo and, as `optional`, the extra ones.
    pub at_first: Vec<Breath>,
    /// Breaths for the final tempo.
    pub at_final: Vec<Breath>,
    /// For each bar the seconds, at the final tempo, of the longest stretch between breathing places that it lies in;
    /// `None` for a bar without notes or never played.
    pub bars: Vec<Option<f64>>,
    /// What it costs, in seconds at the final tempo: air beyond the comfortable breath, and time taken from notes for breaths.
    pub shares: Vec<Placed>,
    /// Where there is no place to breathe, with what to do.
    pub findings: Vec<Finding>,
    /// The answer in a sentence; empty for instruments that don't breathe.
    pub summary: String,
    /// When to stop and whom to ask; empty for instruments that don't breathe.
    pub caution: &'static str,
    /// Bowings, for strings.
    pub bowing: Option<BowingAnswer>,
}

/// Said with every proposal of breaths.
const CAUTION: &str = "If you get dizzy or short of breath, stop and rest; let the teacher set the places, and ask a physician before you \
     stretch your breath with an illness of heart or lungs.";

/// Answers for a part. `phrases` and the rest of the material must be of the same context.
#[must_use]
pub fn breath_answer(ctx: &Context, player: &Player, tempi: &Tempi, material: &Material) -> BreathAnswer {
    match player.instrument.map(|instrument| instrument.family) {
        Some(Family::String) => BreathAnswer {
            bars: vec![None; ctx.piece.bars.len()],
            bowing: Some(bowing::bowing_answer(ctx, material.phrases)),
            ..BreathAnswer::default()
        },
        Some(family) if !family.breathes() => BreathAnswer {
            bars: vec![None; ctx.piece.bars.len()],
            ..BreathAnswer::default()
        },
        _ => blown_answer(ctx, player, tempi, material),
    }
}

fn blown_answer(ctx: &Context, player: &Player, tempi: &Tempi, material: &Material) -> BreathAnswer {
    let blown = played::blown(ctx, player, tempi, material);
    let judge = Judge::new(ctx, material);
    let mut places = places_of(&judge, &blown);
    own::put(ctx, material.own, &blown, &mut places);
    let mut fixed = fixed(&blown, &places, material.phrases);
    own::fix(ctx, material.own, &blown, &places, &mut fixed);
    let division = divide::divide(&blown, &places, &fixed, player.breath.seconds);
    let marks = marks(ctx, material, &blown, &places, &fixed, &division);
    let page = Page::of(&blown, &places);
    let out = air::appetite(player.instrument).breathes_out;
    let at_final = report::breaths(ctx, material, &page, &marks, false, out);
    let at_first = report::breaths(ctx, material, &page, &marks, true, out);
    let mut answer = BreathAnswer {
        bars: report::bars(ctx, &blown, &division),
        shares: report::shares(ctx, &blown, &division, player.breath.seconds, &page, &at_final),
        findings: report::findings(ctx, &blown, &division, player),
        at_first,
        at_final,
        caution: CAUTION,
        ..BreathAnswer::default()
    };
    answer.summary = report::summary(&answer, player);
    answer
}

fn places_of(judge: &Judge, blown: &[Blown]) -> Vec<Option<Candidate>> {
    let between = blown.windows(2).map(|pair| match pair {
        [before, here] => judge.between(before.note, here.note, before.rest_quarters),
        _ => None,
    });
    let mut places: Vec<Option<Candidate>> = [None].into_iter().chain(between).take(blown.len()).collect();
    // A mark stands on the page for every time through: where one of them forbids it, there is none.
    let forbidden: BTreeSet<usize> = places
        .iter()
        .zip(blown)
        .skip(1)
        .filter(|(place, _)| place.is_none())
        .map(|(_, blown)| blown.note)
        .collect();
    for (place, blown) in places.iter_mut().zip(blown) {
        if forbidden.contains(&blown.note) {
            *place = None;
        }
    }
    places
}

/// Where she breathes anyhow: printed marks, rests of a half note or more, and rests at the end of a phrase.
fn fixed(blown: &[Blown], places: &[Option<Candidate>], phrases: &PhrasesAnswer) -> Vec<bool> {
    let mut fixed = vec![false; blown.len()];
    for (at, pair) in blown.windows(2).enumerate() {
        let [before, here] = pair else { continue };
        let free = places
            .get(at + 1)
            .and_then(Option::as_ref)
            .is_some_and(|place| place.quality == Quality::Free);
        let long = before.rest_quarters >= Quarters::whole(2);
        let marked = phrases
            .signs
            .get(here.note)
            .is_some_and(|signs| signs.breath_mark);
        if let Some(slot) = fixed.get_mut(at + 1) {
            *slot = free && (long || marked || phrases.begins(here.note));
        }
    }
    fixed
}

/// The marks on the page: what any time through needs, and the same in parallel passages.
fn marks(
    ctx: &Context,
    material: &Material,
    blown: &[Blown],
    places: &[Option<Candidate>],
    fixed: &[bool],
    division: &Division,
) -> Marks {
    let mut marks = Marks::new();
    let note = |at: usize| blown.get(at).map(|blown| blown.note);
    let free = fixed.iter().enumerate().filter(|(_, fixed)| **fixed);
    for (note, kept) in free.filter_map(|(at, _)| Some((note(at)?, true))).chain(
        division
            .breaths
            .iter()
            .filter_map(|(at, kept)| Some((note(*at)?, *kept))),
    ) {
        *marks.entry(note).or_insert(kept) |= kept;
    }
    let page = Page::of(blown, places);
    parallel::carry(
        ctx,
        material.alike,
        &|note| page.of_note(note).is_some(),
        &mut marks,
    );
    own::mark(ctx, material.own, &mut marks);
    marks
}

/// The places on the page: for each note of the line before which one may breathe each time it is played, how, and
/// after which note with how much rest.
struct Page(BTreeMap<usize, OnPage>);

#[derive(Clone, Debug)]
struct OnPage {
    place: Candidate,
    before: usize,
    /// Seconds of rest at the faster tempo, the shortest of all times through.
    rest: f64,
}

impl Page {
    fn of(blown: &[Blown], places: &[Option<Candidate>]) -> Self {
        let mut page: BTreeMap<usize, OnPage> = BTreeMap::new();
        for (pair, place) in blown.windows(2).zip(places.iter().skip(1)) {
            let ([before, here], Some(place)) = (pair, place) else {
                continue;
            };
            let now = OnPage {
                place: place.clone(),
                before: before.note,
                rest: before.rest,
            };
            let read_on = before.note + 1 == here.note;
            match page.get_mut(&here.note) {
                // What is read on from the note before is what the page shows.
                Some(known) if read_on || now.rest < known.rest => *known = now,
                Some(_) => {}
                None => {
                    page.insert(here.note, now);
                }
            }
        }
        Self(page)
    }

    fn of_note(&self, note: usize) -> Option<&OnPage> {
        self.0.get(&note)
    }
}
