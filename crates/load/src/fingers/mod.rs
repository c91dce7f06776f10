//! Which fingerings suit this passage and this player? The cheapest way through all alternates, beside the usual ones.
//!
//! Every note starts from its basic fingering. Another is proposed only where, over the notes it is used for, it spares a
//! slide or saves at least the movement of one finger against the usual fingerings, and the reason is said. A rest or a
//! breath gives the fingers time, so passages are weighed apart. What her teacher chose at a note is kept whatever it
//! costs, then what the player prefers, then what is printed on the page. Proposals all: the teacher confirms or changes
//! them.

mod answer;
mod gathered;
mod menu;
mod notes;
mod path;
mod price;
mod trills;
mod weights;
mod words;
mod work;

#[cfg(test)]
mod rules;
#[cfg(test)]
mod tests;

pub use answer::{Chosen, FingeringAnswer, Gap, Move};
pub use gathered::{Stay, Tending};
pub use trills::TrillFingering;
pub use weights::Weights;

use crate::Player;
use instruments::Instrument;
use instruments::fingering::Chart;
use menu::{Asked, Menus};
use notation::{Id, Pitch, Quarters};
use notes::Note;
use std::collections::{BTreeMap, BTreeSet};
use survey::Context;
use survey::ornaments::OrnamentFound;
use work::Work;

/// How to go about it.
#[derive(Clone, Debug, Default)]
pub struct Options {
    /// What movements are worth beside each other.
    pub weights: Weights,
    /// Which of the instrument's charts ([`instruments::fingering::charts`]); `None` for the usual one.
    pub chart: Option<&'static Chart>,
    /// Notes no longer than this are quick: there a fingering that sounds less good matters less. `None` for none; a
    /// quarter of a second at the tempo of the performance is a fair limit (`common practice`).
    /// Source: Springer 978-3-319-20916-6, ch. 45 (violin: short notes give ease the priority); B. Coelho, bassoon E♭
    /// (forked where it is fast); woodwind.org oboe board, 19 September 2007 (forked F in fast work, left F where it stands).
    pub quick: Option<Quarters>,
    /// What the teacher chose at single notes: the event and the fingering's name.
    pub own: Vec<(Id, String)>,
}

/// The fingerings of a part for a player, on the usual chart of her instrument. `ornaments` come from
/// [`survey::ornaments::answer`]; without them trills are left out.
#[must_use]
pub fn answer(ctx: &Context, player: &Player, ornaments: &[OrnamentFound]) -> FingeringAnswer {
    answer_with(ctx, player, ornaments, &Options::default())
}

/// The same with other prices, another chart, or a teacher's own choice at single notes.
#[must_use]
pub fn answer_with(
    ctx: &Context,
    player: &Player,
    ornaments: &[OrnamentFound],
    options: &Options,
) -> FingeringAnswer {
    let Some(instrument) = player.instrument else {
        return without_chart("No fingerings: the instrument is not known.".to_owned());
    };
    let Some(chart) = options
        .chart
        .or_else(|| instruments::fingering::chart(instrument.id))
    else {
        return without_chart(no_chart(instrument));
    };
    let notes = notes::notes(ctx, instrument);
    let names = (player.prefers.iter().map(|(_, name)| name)).chain(options.own.iter().map(|(_, name)| name));
    let own = menu::written_out(names.map(String::as_str));
    let here: BTreeMap<Id, &str> = (options.own.iter())
        .map(|(event, name)| (*event, name.as_str()))
        .collect();
    let mut menus = Menus::new(chart, player, &own);
    let numbers: Vec<usize> = notes
        .iter()
        .map(|note| {
            menus.number(&Asked {
                written: note.written,
                read: note.read,
                here: here.get(&note.event).copied(),
                printed: note.printed,
                quick: options.quick.is_some_and(|limit| note.lasts <= limit),
            })
        })
        .collect();
    let mut work = Work::new(chart, instrument, &options.weights);
    work.passages(&notes, &numbers, &menus);
    let mut answer = work.done();
    answer.trills = trills::trills(chart, ornaments, reader(&notes, ornaments));
    answer.means = answer::means(&answer);
    answer
}

/// How the chart reads a written pitch at an ornament.
fn reader(notes: &[Note], ornaments: &[OrnamentFound]) -> impl Fn(Id, Pitch) -> Pitch {
    let wanted: BTreeSet<Id> = ornaments.iter().map(|found| found.element).collect();
    let shifts: BTreeMap<Id, _> = notes
        .iter()
        .filter(|note| wanted.contains(&note.event))
        .map(|note| (note.event, note.read.semitones() - note.written.semitones()))
        .collect();
    move |event, pitch| shifts.get(&event).map_or(pitch, |by| pitch.transposed(0, *by))
}

fn without_chart(means: String) -> FingeringAnswer {
    FingeringAnswer {
        means,
        ..FingeringAnswer::default()
    }
}

fn no_chart(instrument: &Instrument) -> String {
    let name = instrument.name;
    if instrument.family.is_wind() {
        format!(
            "{name}: no fingering chart good enough to give is at hand. Ask a teacher or a printed chart."
        )
    } else {
        format!("{name}: fingerings are charted for winds only.")
    }
}
