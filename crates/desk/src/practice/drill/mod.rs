//! What does a person want to drill? Her words become offers.

mod list;
mod shown;
mod write;

pub use list::write_drills_json;
pub use shown::{DrillShown, drill_heard, drill_notation, drill_pictures};
pub use write::{DrillPages, drill_form, write_drills};

use crate::print::{For, alone_for};
use crate::survey_piece::survey_part;
use crate::{Asked, DeskError, Opened, Shown};
use load::Study;
use practice::BarSpan;
use practice::drill::{self, DrillKind, Matter, Offer, Order, Source};
use survey::{Context, Question};

/// What was asked.
#[derive(Clone, Debug, Default)]
pub struct DrillAsked {
    /// The part, the player and her wishes.
    pub asked: Asked,
    /// For whom the part is written, instead of its own player.
    pub written_for: For,
    /// Made from what.
    pub pick: DrillPick,
    /// Kinds by their names; empty for all that fit.
    pub kinds: Vec<String>,
    /// Through the keys by semitones instead of fourths.
    pub by_semitones: bool,
}

/// What drills are made from.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub enum DrillPick {
    /// Everything that the piece offers.
    #[default]
    Everything,
    /// What fits in one sitting: the piece's own scale, the spots to read slowly first, two look-alikes.
    Sitting,
    /// The trouble spot with a number from 1.
    Spot(usize),
    /// Bars by their printed numbers: `5-8`.
    Bars(String),
    /// Scales and broken chords.
    Scales,
    /// Bars that look alike.
    LookAlikes,
}

/// The drills of a part for a player.
#[derive(Debug)]
pub struct Drills {
    /// The part alone.
    pub alone: Opened,
    /// Its survey and study.
    pub shown: Shown,
    /// What is offered, the most useful first.
    pub offers: Vec<Offer>,
}

/// Drills per spot in one sitting. Source: common practice of short turns; at most six repetitions each.
const PER_SPOT: usize = 3;
/// Scales and broken chords in one sitting.
const SCALES: usize = 3;
/// Look-alikes in one sitting.
const LOOK_ALIKES: usize = 2;

/// Finds the drills that were asked for.
///
/// # Errors
/// If there is no such part, bar, spot or kind, or the player's file can't be understood.
pub fn drills(opened: &Opened, asked: &DrillAsked) -> Result<Drills, DeskError> {
    let kinds = kinds(&asked.kinds)?;
    let alone = alone_for(opened, asked.asked.part.as_deref(), &asked.written_for)?;
    let mut for_anybody = asked.asked.clone();
    for_anybody.study.for_anybody = true;
    let shown = survey_part(&alone, 0, None, &Question::ALL, &for_anybody)?;
    let mut offers = with_source(&alone, &shown, |source| picked(source, asked))??;
    if !kinds.is_empty() {
        let before = offers.len();
        offers.retain(|offer| kinds.contains(&offer.kind));
        if offers.is_empty() {
            return Err(none_of_kind(&kinds, before));
        }
    }
    if asked.by_semitones {
        for offer in offers
            .iter_mut()
            .filter(|offer| offer.kind == DrillKind::ThroughKeys)
        {
            offer.matter = Matter::Through(Order::Semitones);
        }
    }
    Ok(Drills { alone, shown, offers })
}

fn none_of_kind(kinds: &[DrillKind], others: usize) -> DeskError {
    let names: Vec<&str> = kinds.iter().map(|kind| kind.id()).collect();
    DeskError::Player {
        what: format!("no drill of the kind {} fits here", names.join(", ")),
        advice: if others == 0 {
            "nothing here gives a drill; choose other bars".to_owned()
        } else {
            "leave out --kind to see which do".to_owned()
        },
    }
}

fn kinds(names: &[String]) -> Result<Vec<DrillKind>, DeskError> {
    names
        .iter()
        .flat_map(|names| names.split(','))
        .map(|name| {
            DrillKind::from_id(name.trim()).ok_or_else(|| DeskError::Player {
                what: format!("no kind of drill is called “{}”", name.trim()),
                advice: format!("there are {}", DrillKind::ALL.map(DrillKind::id).join(", ")),
            })
        })
        .collect()
}

/// Runs something on the part with its survey and study.
fn with_source<T>(alone: &Opened, shown: &Shown, run: impl FnOnce(&Source) -> T) -> Result<T, DeskError> {
    let none = || DeskError::NoParts {
        path: alone.path.clone(),
    };
    let ctx = Context::new(&alone.piece, 0).ok_or_else(none)?;
    let study: &Study = shown.study.as_ref().ok_or_else(none)?;
    Ok(run(&Source {
        ctx: &ctx,
        survey: &shown.survey,
        study,
    }))
}

fn picked(source: &Source, asked: &DrillAsked) -> Result<Vec<Offer>, DeskError> {
    Ok(match &asked.pick {
        DrillPick::Everything => drill::offers(source),
        DrillPick::Sitting => sitting(source),
        DrillPick::Scales => drill::scales(source),
        DrillPick::LookAlikes => drill::look_alikes(source),
        DrillPick::Spot(number) => {
            let spots = &source.study.spots;
            let spot = number.checked_sub(1).and_then(|at| spots.get(at));
            let spot = spot.ok_or_else(|| DeskError::Player {
                what: format!("there is no trouble spot {number}"),
                advice: match spots.len() {
                    0 => "this piece has none; name bars with --bars instead".to_owned(),
                    count => format!("there are {count}, the worst is 1; `foreread spots` shows them"),
                },
            })?;
            drill::for_bars(source, BarSpan::new(spot.from, spot.to), number.checked_sub(1))
        }
        DrillPick::Bars(bars) => {
            let (from, to) = crate::listen::bars(source.ctx.piece, bars)?;
            drill::for_bars(source, BarSpan::new(from, to), None)
        }
    })
}

/// What fits in one sitting, in the order in which it is practised.
fn sitting(source: &Source) -> Vec<Offer> {
    let mut all: Vec<Offer> = drill::scales(source).into_iter().take(SCALES).collect();
    let slowly = source
        .study
        .spots
        .iter()
        .enumerate()
        .filter(|(_, spot)| spot.slowly_first);
    for (index, spot) in slowly {
        let fitting = drill::for_bars(source, BarSpan::new(spot.from, spot.to), Some(index));
        let mut taken: Vec<DrillKind> = Vec::new();
        for offer in fitting {
            if taken.len() < PER_SPOT && !taken.iter().any(|kind| kin(*kind) == kin(offer.kind)) {
                taken.push(offer.kind);
                all.push(offer);
            }
        }
    }
    all.extend(drill::look_alikes(source).into_iter().take(LOOK_ALIKES));
    all
}

/// Kinds that are too much alike for one sitting stand under one of them.
const fn kin(kind: DrillKind) -> DrillKind {
    match kind {
        DrillKind::AddFromStart => DrillKind::AddFromEnd,
        DrillKind::ReverseDotted | DrillKind::Triplets => DrillKind::Dotted,
        other => other,
    }
}

/// Said with every list and on every page. Source: common practice of performing-arts medicine.
const FOOTER: &str = "Stop at once if anything hurts. If it comes back, ask your teacher and a physician.";
