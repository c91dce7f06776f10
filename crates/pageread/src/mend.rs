//! What did the teacher put right? A log of edits over what was read; the same reading with the same edits always gives the same piece.
//!
//! What was read never changes: each edit names a sign by its system and number, and the edits are put over a copy, in order.

use crate::assemble::{Settled, System};
use crate::signs::{Beside, Change, Sign, beside_name};
use crate::text::{MetronomeSaid, TextAt, TextKind, TextLine, worded};
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
    /// A line of text.
    Words,
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
    /// A sign beside the staff that was not seen.
    AddBeside {
        /// The system.
        system: u32,
        /// Above or below.
        line: Line,
        /// Where, in pixels of its picture.
        x: f32,
        /// Its name in the vocabulary.
        name: String,
    },
    /// A line of text says something else, or is something else; without a text it is none.
    Text {
        /// Which.
        at: TextAt,
        /// What it says; of a metronome mark, the words before it.
        text: Option<String>,
        /// What it is; what it was, if nothing is said.
        #[serde(default)]
        is: Option<TextKind>,
        /// The metronome mark that follows its words.
        #[serde(default)]
        mark: Option<MetronomeSaid>,
    },
    /// A line of text that was not seen.
    AddText {
        /// The system.
        system: u32,
        /// Where it begins, in pixels of the system's picture; words of the road map end there.
        x: f32,
        /// What it says.
        text: String,
        /// What it is.
        is: TextKind,
        /// The metronome mark that follows its words.
        #[serde(default)]
        mark: Option<MetronomeSaid>,
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
    number(&mut mended.systems);
    for (n, edit) in edits.iter().enumerate() {
        if put(&mut mended, read, edit).is_none() {
            mended.idle.push(n);
        }
    }
    mended
}

/// What was kept before marks and words had numbers is numbered as it was read.
fn number(systems: &mut [System]) {
    for system in systems {
        for marks in [&mut system.seen.roads, &mut system.seen.dynamics] {
            for (number, mark) in (0..).zip(marks) {
                mark.number = number;
            }
        }
        for lines in [&mut system.words, &mut system.beyond] {
            for (number, line) in (0..).zip(lines) {
                line.number = number;
            }
        }
    }
}

const fn beside(system: &mut System, line: Line) -> &mut Vec<Beside> {
    match line {
        Line::Road => &mut system.seen.roads,
        Line::Dynamic => &mut system.seen.dynamics,
    }
}

fn put(mended: &mut Mended, read: &[System], edit: &Edit) -> Option<()> {
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
            stands_in(system, *x)?;
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
            let marks = beside(mended.systems.get_mut(*system as usize)?, *line);
            let place = marks.iter().position(|mark| mark.number == *number)?;
            match name {
                None => {
                    marks.remove(place);
                }
                Some(name) => {
                    let mark = marks.get_mut(place)?;
                    (mark.name, mark.sure, mark.right) = (of_line(name, *line)?, 1.0, true);
                }
            }
            Some(())
        }
        Edit::AddBeside {
            system,
            line,
            x,
            name,
        } => {
            let name = of_line(name, *line)?;
            let count = |system: &System| match line {
                Line::Road => system.seen.roads.len(),
                Line::Dynamic => system.seen.dynamics.len(),
            };
            let read = u32::try_from(count(read.get(*system as usize)?)).ok()?;
            let system = mended.systems.get_mut(*system as usize)?;
            stands_in(system, *x)?;
            let marks = beside(system, *line);
            let number = marks
                .iter()
                .map(|mark| mark.number + 1)
                .max()
                .unwrap_or(0)
                .max(read);
            let place = marks.partition_point(|other| other.x <= *x);
            let mark = Beside {
                number,
                x: *x,
                name,
                sure: 1.0,
                right: true,
            };
            marks.insert(place, mark);
            Some(())
        }
        Edit::Text { at, text, is, mark } => {
            let system = mended.systems.get_mut(at.system as usize)?;
            let lines = if at.beyond {
                &mut system.beyond
            } else {
                &mut system.words
            };
            let place = lines.iter().position(|line| line.number == at.number)?;
            let Some(text) = text else {
                lines.remove(place);
                return Some(());
            };
            let line = lines.get_mut(place)?;
            line.text = said_line(text, mark.as_ref())?;
            line.is = is.or(line.is);
            line.mark.clone_from(mark);
            (line.sure, line.right) = (1.0, true);
            Some(())
        }
        Edit::AddText {
            system,
            x,
            text,
            is,
            mark,
        } => {
            let read = u32::try_from(read.get(*system as usize)?.words.len()).ok()?;
            let system = mended.systems.get_mut(*system as usize)?;
            stands_in(system, *x)?;
            let text = said_line(text, mark.as_ref())?;
            let number = system.words.iter().map(|line| line.number + 1).max();
            let line = added(number.unwrap_or(0).max(read), *x, text, *is, mark.clone());
            system.words.push(line);
            Some(())
        }
    }
}

/// The name of a sign that stands on this line.
fn of_line(name: &str, line: Line) -> Option<&'static str> {
    let name = beside_name(name)?;
    (DYNAMICS.contains(&name) == (line == Line::Dynamic)).then_some(name)
}

fn stands_in(system: &System, x: f32) -> Option<()> {
    (x.is_finite() && (0.0..=system.width).contains(&x)).then_some(())
}

/// A line that says something; with a metronome mark that is one, it needs no words.
fn said_line(text: &str, mark: Option<&MetronomeSaid>) -> Option<String> {
    if let Some(mark) = mark {
        mark.mark()?;
    }
    worded(text, mark.is_some())
}

/// Rows of a system's picture in which what was added is taken to stand: over the staff, under it, and above all; half its height;
/// pixels of a letter.
const OVER: f32 = 60.0;
const UNDER: f32 = 164.0;
const HIGH_ABOVE: f32 = 14.0;
const HALF: f32 = 8.0;
const LETTER: f32 = 7.0;

fn added(number: u32, x: f32, text: String, is: TextKind, mark: Option<MetronomeSaid>) -> TextLine {
    let row = match is {
        is if is.of_the_head() => HIGH_ABOVE,
        is if is.stands_above() => OVER,
        _ => UNDER,
    };
    let letters = text.chars().count() + if mark.is_some() { 6 } else { 0 };
    let wide = LETTER * f32::from(u16::try_from(letters).unwrap_or(u16::MAX));
    // Words of the road map end where what they are about ends.
    let (left, right) = if is == TextKind::Jump {
        ((x - wide).max(0.0), x)
    } else {
        (x, x + wide)
    };
    TextLine {
        number,
        bounds: (left, row - HALF, right, row + HALF),
        text,
        sure: 1.0,
        right: true,
        is: Some(is),
        mark,
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
