//! What did the teacher put right? A log of edits over what was read; the same reading with the same edits always gives the same piece.
//!
//! What was read never changes: each edit names a sign by its system and number, and the edits are put over a copy, in order.

use crate::assemble::{Settled, System};
use crate::signs::{Beside, Change, Sign, beside_name};
use crate::vocabulary::{ASKS, ATTRIBUTES, Ask, DYNAMICS, FLAG_OF, Main};
use serde::{Deserialize, Serialize};

/// Which sign: its system and its number in it.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Serialize, Deserialize)]
pub struct SignAt {
    /// The system, from 0, over all pages.
    pub system: u32,
    /// The number that the sign was read with, or got when it was added.
    pub number: u32,
}

/// Why a place is worth looking at; what is settled is settled for one of these.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Doubt {
    /// A clef: everything after it hangs on it.
    Clef,
    /// A key signature.
    Key,
    /// A time signature.
    Metre,
    /// A bar that does not add up.
    Bar,
    /// A tie, slur, hairpin or ending without its other end.
    Open,
    /// A bar in which a less likely value was taken because it adds up.
    Chosen,
    /// A single sign.
    Sign,
    /// A dynamic, a hairpin's end, a sign of the road map.
    Beside,
}

/// One of the two lines of signs beside the staff.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Line {
    /// Above: segno, coda, endings, ottavas, breath marks.
    Road,
    /// Dynamics and hairpins.
    Dynamic,
}

/// One thing put right.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", tag = "do")]
pub enum Edit {
    /// A sign is another, or has something else.
    Change {
        /// Which.
        at: SignAt,
        /// What is different.
        change: Change,
    },
    /// It is right as it was read, or the bar that begins with this sign is.
    Right {
        /// Which.
        at: SignAt,
        /// For what it was asked about.
        about: Doubt,
    },
    /// A sign that was not seen.
    Add {
        /// The system.
        system: u32,
        /// Where, in pixels of its picture.
        x: f32,
        /// What.
        main: Main,
        /// Its value, by its number in the vocabulary; of notes and rests.
        value: usize,
    },
    /// A sign beside the staff is another one; without a name it is none.
    Beside {
        /// The system.
        system: u32,
        /// Above or below.
        line: Line,
        /// Which of those that were read.
        number: u32,
        /// Its name in the vocabulary.
        name: Option<String>,
    },
}

/// The reading with the edits put over it.
#[derive(Clone, PartialEq, Debug)]
pub struct Mended {
    /// The systems as they are now.
    pub systems: Vec<System>,
    /// What was found right as it is.
    pub settled: Settled,
    /// Edits, by their place in the log, that meant nothing that is there.
    pub idle: Vec<usize>,
}

/// A value that is sure, as the search for bars that add up knows it.
const SURELY: f32 = 0.0;
const SURELY_NOT: f32 = -60.0;

/// Puts edits over what was read.
#[must_use]
pub fn mend(read: &[System], edits: &[Edit]) -> Mended {
    let mut mended = Mended {
        systems: read.to_vec(),
        settled: Settled::default(),
        idle: Vec::new(),
    };
    let mut removed: Vec<(u32, Line, u32)> = Vec::new();
    for (n, edit) in edits.iter().enumerate() {
        if put(&mut mended, read, edit, &mut removed).is_none() {
            mended.idle.push(n);
        }
    }
    // Those beside the staff are named by their number, so they go last.
    removed.sort_unstable();
    removed.dedup();
    for (system, line, number) in removed.into_iter().rev() {
        if let Some(system) = mended.systems.get_mut(system as usize) {
            let list = beside(system, line);
            if (number as usize) < list.len() {
                list.remove(number as usize);
            }
        }
    }
    mended
}

const fn beside(system: &mut System, line: Line) -> &mut Vec<Beside> {
    match line {
        Line::Road => &mut system.seen.roads,
        Line::Dynamic => &mut system.seen.dynamics,
    }
}

fn put(mended: &mut Mended, read: &[System], edit: &Edit, removed: &mut Vec<(u32, Line, u32)>) -> Option<()> {
    match edit {
        Edit::Change { at, change } => {
            let signs = &mut mended.systems.get_mut(at.system as usize)?.seen.signs;
            let place = signs.iter().position(|sign| sign.number == at.number)?;
            if *change == Change::Nothing {
                signs.remove(place);
                return Some(());
            }
            changed(signs.get_mut(place)?, *change)
        }
        Edit::Right { at, about } => {
            let signs = &mut mended.systems.get_mut(at.system as usize)?.seen.signs;
            let sign = signs.iter_mut().find(|sign| sign.number == at.number)?;
            if matches!(about, Doubt::Clef | Doubt::Key | Doubt::Metre | Doubt::Sign) {
                sign.log = SURELY;
            }
            mended.settled.insert((*about, *at));
            Some(())
        }
        Edit::Add {
            system,
            x,
            main,
            value,
        } => {
            let number = next_number(mended, read, *system)?;
            let system = mended.systems.get_mut(*system as usize)?;
            if !x.is_finite() || *x < 0.0 || *x > system.width {
                return None;
            }
            let mut sign = Sign::plain(number, *x, *main);
            if matches!(main, Main::Note(_) | Main::Rest) {
                changed(&mut sign, Change::Value(*value, 0))?;
            }
            let signs = &mut system.seen.signs;
            let place = signs.partition_point(|other| other.x <= *x);
            signs.insert(place, sign);
            Some(())
        }
        Edit::Beside {
            system,
            line,
            number,
            name,
        } => {
            let mark = beside(mended.systems.get_mut(*system as usize)?, *line).get_mut(*number as usize)?;
            mark.sure = 1.0;
            match name {
                None => removed.push((*system, *line, *number)),
                Some(name) => {
                    let name = beside_name(name)?;
                    if DYNAMICS.contains(&name) != (*line == Line::Dynamic) {
                        return None;
                    }
                    mark.name = name;
                }
            }
            Some(())
        }
    }
}

/// The number of the next sign that is added to a system: after all that were read and all that were added.
fn next_number(mended: &Mended, read: &[System], system: u32) -> Option<u32> {
    let read = read.get(system as usize)?.seen.signs.iter();
    let now = mended.systems.get(system as usize)?.seen.signs.iter();
    let last = read.chain(now).map(|sign| sign.number).max();
    Some(last.map_or(0, |last| last.saturating_add(1)))
}

/// What the teacher said is sure.
fn changed(sign: &mut Sign, change: Change) -> Option<()> {
    match change {
        Change::Becomes(main) => sign.main = main,
        Change::Nothing => return None,
        Change::Answer(Ask::Value, value) => {
            let dots = sign.answer(Ask::Dots);
            return changed(sign, Change::Value(value, dots));
        }
        Change::Answer(Ask::Dots, dots) => {
            let value = sign.answer(Ask::Value);
            return changed(sign, Change::Value(value, dots));
        }
        Change::Answer(ask, answer) => {
            let at = ASKS.iter().position(|known| *known == ask)?;
            if answer >= *ATTRIBUTES.get(at)? {
                return None;
            }
            *sign.answers.get_mut(at)? = answer;
        }
        Change::Flag(flag, on) => {
            let at = FLAG_OF.iter().position(|known| *known == flag)?;
            *sign.flags.get_mut(at)? = on;
        }
        Change::Value(value, dots) => {
            if value == 0 || value >= sign.values.len() || dots >= sign.dots.len() {
                return None;
            }
            sign.values = [SURELY_NOT; 10];
            sign.dots = [SURELY_NOT; 3];
            (sign.values[value], sign.dots[dots]) = (SURELY, SURELY);
            (sign.answers[0], sign.answers[1]) = (value, dots);
        }
    }
    sign.log = SURELY;
    Some(())
}
