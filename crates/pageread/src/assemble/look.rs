//! Where should the eye go first? What everything after hangs on, then bars that don't add up, then single signs by their doubt.

use super::Settled;
use super::places::{Places, ReadBar, ReadSign};
use crate::mend::{Doubt, Line, SignAt};
use crate::signs::Change;
use crate::text::TextAt;
use crate::vocabulary::{CLEFS, Main};
use notation::{BarIndex, Id, Place, Quarters};
use std::collections::BTreeMap;

/// A clef less sure than this is asked about …
const DOUBTFUL_CLEF: f32 = 0.97;
/// … one that changes the clef in force, or a C clef, less than this …
const DOUBTFUL_CHANGE: f32 = 0.99;
/// … and one that only says again what is in force, less than this.
const DOUBTFUL_AGAIN: f32 = 0.75;
/// Key and metre.
const DOUBTFUL_SIGNATURE: f32 = 0.95;
/// Any other sign. All of these are judgement.
const DOUBTFUL: f32 = 0.75;

/// A place to look at.
#[derive(Clone, PartialEq, Debug)]
pub struct ToLookAt {
    /// Why.
    pub about: Doubt,
    /// What.
    pub what: What,
    /// The system, and where in its picture.
    pub system: u32,
    /// In pixels of the system's picture.
    pub x: f32,
    /// The bar.
    pub bar: Option<BarIndex>,
    /// What it was taken for, in words.
    pub taken_for: String,
    /// How sure, from 0 to 1.
    pub sure: f32,
    /// What else it could be: what to change, in words, how likely.
    pub others: Vec<(Change, String, f32)>,
    /// The sign beside the staff, of the same system, that was left out of the piece: said to be right, it is in it.
    pub left_out: Option<(Line, u32)>,
}

/// What a place is.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum What {
    /// A sign, or a bar by its first sign.
    Sign(SignAt),
    /// One of those beside the staff.
    Beside(Line, u32),
    /// A line of text.
    Text(TextAt),
}

/// Something that has one end only: its place in the piece, the note, what it is.
#[derive(Clone, Debug)]
pub(super) struct OneEnd {
    pub place: Place,
    pub element: Option<Id>,
    pub what: String,
    /// The mark above the staff that was left out for it: its system, its number.
    pub left_out: Option<(usize, u32)>,
}

/// Marks above the staff with which nothing goes.
#[derive(Clone, Debug, Default)]
pub(super) struct OfMarks {
    /// System, number, what is asked.
    pub lone: Vec<(usize, u32, String)>,
    /// Those of which their doubt is not asked: they were left out.
    pub silent: Vec<(usize, u32)>,
}

/// The places in order.
pub(super) fn look(places: &Places, ends: &[OneEnd], of_marks: &OfMarks, settled: &Settled) -> Vec<ToLookAt> {
    let mut out = Vec::new();
    let mut clef: Option<usize> = None;
    for read in &places.signs {
        let least = match read.main {
            Main::Clef(now) => {
                let least = match clef {
                    Some(before) if before == now => DOUBTFUL_AGAIN,
                    _ if clef.is_some() || CLEFS.get(now).is_some_and(|name| name.starts_with('C')) => {
                        DOUBTFUL_CHANGE
                    }
                    _ => DOUBTFUL_CLEF,
                };
                clef = Some(now);
                least
            }
            Main::Key(_) | Main::Metre => DOUBTFUL_SIGNATURE,
            _ => DOUBTFUL,
        };
        let about = match read.main {
            Main::Clef(_) => Doubt::Clef,
            Main::Key(_) => Doubt::Key,
            Main::Metre => Doubt::Metre,
            _ => Doubt::Sign,
        };
        if read.sure < least && !settled.contains(&(about, read.at)) {
            out.push(at_sign(read, about));
        }
    }
    for bar in &places.bars {
        for (there, about) in [(bar.off, Doubt::Bar), (bar.chosen, Doubt::Chosen)] {
            if let Some(at) = bar.at.filter(|at| there && !settled.contains(&(about, *at))) {
                out.push(at_bar(bar, at, about));
            }
        }
    }
    open_ends(&mut out, places, ends, settled);
    for mark in &places.marks {
        let road = |system: usize, number: u32| {
            (mark.line, mark.number, mark.system as usize) == (Line::Road, number, system)
        };
        let lone = of_marks
            .lone
            .iter()
            .find(|(system, number, _)| road(*system, *number));
        let silent = of_marks
            .silent
            .iter()
            .any(|(system, number)| road(*system, *number));
        if silent || (mark.sure >= DOUBTFUL && lone.is_none()) {
            continue;
        }
        out.push(ToLookAt {
            about: Doubt::Beside,
            what: What::Beside(mark.line, mark.number),
            system: mark.system,
            x: mark.x,
            bar: mark.bar,
            taken_for: lone.map_or_else(|| mark.taken_for.clone(), |(.., said)| said.clone()),
            sure: mark.sure,
            others: Vec::new(),
            left_out: None,
        });
    }
    for text in places.texts.iter().filter(|text| !text.doubt.is_empty()) {
        out.push(ToLookAt {
            about: Doubt::Words,
            what: What::Text(text.at),
            system: text.at.system,
            x: text.line_box.map_or(0.0, |[x, ..]| x),
            bar: text.bar,
            taken_for: format!("{} ({})", text.taken_for, text.doubt),
            sure: text.sure,
            others: Vec::new(),
            left_out: None,
        });
    }
    // Single signs by their doubt, wherever they stand; all else in the order of the page.
    out.sort_by(|a, b| {
        let turn = rank(a.about).cmp(&rank(b.about));
        let doubt = if rank(a.about) == SINGLE {
            a.sure.total_cmp(&b.sure)
        } else {
            std::cmp::Ordering::Equal
        };
        turn.then(doubt)
            .then(a.system.cmp(&b.system))
            .then(a.x.total_cmp(&b.x))
    });
    out
}

const SINGLE: u8 = 6;

const fn rank(about: Doubt) -> u8 {
    match about {
        Doubt::Clef => 0,
        Doubt::Key => 1,
        Doubt::Metre => 2,
        Doubt::Bar => 3,
        Doubt::Open => 4,
        Doubt::Chosen => 5,
        Doubt::Sign | Doubt::Beside | Doubt::Words => SINGLE,
    }
}

fn at_sign(read: &ReadSign, about: Doubt) -> ToLookAt {
    let others = read.others.iter().zip(&read.others_said);
    ToLookAt {
        about,
        what: What::Sign(read.at),
        system: read.at.system,
        x: read.x,
        bar: read.bar,
        taken_for: read.taken_for.clone(),
        sure: read.sure,
        others: others
            .map(|(other, said)| (other.change, said.clone(), other.sure))
            .collect(),
        left_out: None,
    }
}

fn at_bar(bar: &ReadBar, at: SignAt, about: Doubt) -> ToLookAt {
    let asked = bar.full.map_or_else(String::new, |full| {
        format!(", its metre asks for {}", in_quarters(full))
    });
    let long = in_quarters(bar.actual);
    let taken_for = match about {
        Doubt::Bar => format!("bar of {long} quarter notes{asked}"),
        _ => format!("bar of {long} quarter notes, with a less likely value so that it adds up"),
    };
    ToLookAt {
        about,
        what: What::Sign(at),
        system: bar.system,
        x: (bar.from + bar.to) / 2.0,
        bar: Some(bar.first),
        taken_for,
        sure: 0.0,
        others: Vec::new(),
        left_out: None,
    }
}

/// `5.5`: at most three places, as a musician counts.
fn in_quarters(length: Quarters) -> String {
    let rounded = (length.to_f64() * 1000.0).round() / 1000.0;
    rounded.to_string()
}

fn open_ends(out: &mut Vec<ToLookAt>, places: &Places, ends: &[OneEnd], settled: &Settled) {
    let mut by_element: BTreeMap<Id, &ReadSign> = BTreeMap::new();
    for sign in &places.signs {
        by_element.extend(sign.became.iter().map(|id| (*id, sign)));
    }
    for end in ends {
        let sign = end.element.and_then(|id| by_element.get(&id).copied());
        let in_bar = || places.signs.iter().find(|sign| sign.bar == Some(end.place.bar));
        let Some(sign) = sign.or_else(in_bar) else {
            continue;
        };
        if settled.contains(&(Doubt::Open, sign.at)) {
            continue;
        }
        out.push(ToLookAt {
            about: Doubt::Open,
            what: What::Sign(sign.at),
            system: sign.at.system,
            x: sign.x,
            bar: Some(end.place.bar),
            taken_for: end.what.clone(),
            sure: 0.0,
            others: Vec::new(),
            left_out: end
                .left_out
                .filter(|(system, _)| *system == sign.at.system as usize)
                .map(|(_, number)| (Line::Road, number)),
        });
    }
}
