//! What do many notes say together? Keys that stay down through a stretch, notes that tend to be out of tune.

use super::{Chosen, FingeringAnswer, Gap};
use instruments::fingering::{Digit, Keys, Prepared};
use notation::{Id, Pitch, Place};
use std::collections::BTreeMap;

/// For so many notes the digits may come up without ending a stretch.
const LIFTED: usize = 2;

/// Keys that stay down, or go down early, through a stretch of notes.
#[derive(Clone, PartialEq, Debug)]
pub struct Stay {
    /// The first note under which they are held.
    pub from: Place,
    /// The last one.
    pub to: Place,
    /// How many notes it is for.
    pub notes: usize,
    /// In words: `the thumb stays on the B♭ key`.
    pub says: &'static str,
    /// Where it was read.
    pub source: &'static str,
}

/// A note that tends to be out of tune, or otherwise different, with the fingering chosen.
#[derive(Clone, PartialEq, Debug)]
pub struct Tending {
    /// Where it first comes.
    pub place: Place,
    /// The note.
    pub event: Id,
    /// Its pitch as written.
    pub written: Pitch,
    /// The fingering's name; empty where none is known.
    pub fingering: String,
    /// How often it comes with that fingering.
    pub times: usize,
    /// How it tends: `sharp`.
    pub says: &'static str,
    /// Where it was read.
    pub source: &'static str,
}

impl FingeringAnswer {
    /// The stretches through which keys stay down: a stretch goes on while the digits that hold them press them, or come up
    /// for a note or two.
    #[must_use]
    pub fn stays(&self) -> Vec<Stay> {
        let mut stays: Vec<Stay> = Vec::new();
        let mut lifted = 0;
        let mut holding: Option<(&'static str, Vec<(Digit, Keys)>)> = None;
        for note in &self.notes {
            let now = |digit: &Digit| note.state.of(*digit);
            let held = holding.as_ref().map_or(&[][..], |(_, held)| held);
            let elsewhere = held
                .iter()
                .any(|(digit, keys)| !now(digit).is_empty() && !now(digit).contains(*keys));
            let up = held.iter().any(|(digit, _)| now(digit).is_empty());
            lifted = if up { lifted + 1 } else { 0 };
            if elsewhere || lifted > LIFTED {
                holding = None;
            }
            let Some(prepared) = &note.held else { continue };
            match (&holding, stays.last_mut()) {
                (Some((says, _)), Some(stay)) if *says == prepared.says => {
                    stay.to = note.place;
                    stay.notes += 1;
                }
                _ => {
                    stays.push(stay(note, prepared));
                    holding = Some((prepared.says, holders(note, prepared)));
                }
            }
        }
        stays
    }

    /// Notes that tend to be out of tune, by pitch and fingering, in the order in which they first come; those without a
    /// fingering among them.
    #[must_use]
    pub fn tendencies(&self) -> Vec<Tending> {
        let mut found: Vec<Tending> = Vec::new();
        let mut numbers: BTreeMap<(Pitch, &str), usize> = BTreeMap::new();
        for note in &self.notes {
            let Some(tendency) = note.tendency else { continue };
            let slot = (note.written, note.fingering.name.as_ref());
            let number = *numbers.entry(slot).or_insert_with(|| {
                found.push(Tending {
                    place: note.place,
                    event: note.event,
                    written: note.written,
                    fingering: note.fingering.name.to_string(),
                    times: 0,
                    says: tendency.says,
                    source: tendency.source,
                });
                found.len() - 1
            });
            if let Some(tending) = found.get_mut(number) {
                tending.times += 1;
            }
        }
        found.extend(self.gaps.iter().filter_map(of_gap));
        found.sort_by_key(|tending| tending.place);
        found
    }
}

fn of_gap(gap: &Gap) -> Option<Tending> {
    let tendency = gap.tendency?;
    Some(Tending {
        place: gap.place,
        event: gap.event,
        written: gap.written,
        fingering: String::new(),
        times: gap.times,
        says: tendency.says,
        source: tendency.source,
    })
}

fn stay(note: &Chosen, prepared: &Prepared) -> Stay {
    Stay {
        from: note.place,
        to: note.place,
        notes: 1,
        says: prepared.says,
        source: prepared.source,
    }
}

/// The digits that hold something which the fingering itself does not ask for.
fn holders(note: &Chosen, prepared: &Prepared) -> Vec<(Digit, Keys)> {
    prepared
        .state
        .pressed()
        .filter(|(digit, keys)| note.fingering.state.of(*digit) != *keys)
        .collect()
}
