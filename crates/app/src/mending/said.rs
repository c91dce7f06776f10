//! What does the screen know of a reading? Lines, bars, signs and doubtful places, as it asks for them.

use super::Stand;
use pageread::{Change, Doubt, Flag, Line, Main, MetronomeSaid, ReadSign, SignAt, TextAt, TextKind, What};
use serde::Serialize;
use std::collections::BTreeMap;

/// Other readings that are shown of a sign.
const MOST_OTHERS: usize = 6;

/// Everything.
#[derive(Debug, Serialize)]
pub(super) struct Said {
    signs: usize,
    doubtful: usize,
    bars: usize,
    pub off: usize,
    /// Gestures that count.
    pub gestures: usize,
    test_page: bool,
    lines: Vec<LineSaid>,
    pub places: Vec<PlaceSaid>,
    /// What the survey says differently now, each a sentence.
    pub changed: Vec<String>,
}

#[derive(Debug, Serialize)]
struct LineSaid {
    page: usize,
    line: usize,
    width: f32,
    bars: Vec<BarSaid>,
    signs: Vec<SignSaid>,
    marks: Vec<MarkSaid>,
    texts: Vec<TextSaid>,
}

#[derive(Debug, Serialize)]
struct BarSaid {
    from: f32,
    to: f32,
    first: u32,
    last: u32,
    label: String,
    off: bool,
}

#[derive(Debug, Serialize)]
struct SignSaid {
    number: u32,
    x: f32,
    main: Main,
    taken: String,
    sure: f32,
    bar: Option<u32>,
    /// Of a note or rest: its value and dots as they stand in the piece, by their numbers in the vocabulary.
    value: usize,
    dots: usize,
    accidental: usize,
    tie: bool,
    fermata: bool,
    others: Vec<OtherSaid>,
}

#[derive(Debug, Serialize)]
struct MarkSaid {
    line: Line,
    number: u32,
    x: f32,
    taken: String,
    name: &'static str,
    sure: f32,
    bar: Option<u32>,
}

/// A line of text. Its box is in pixels of the line's picture, or of its page if it stands beyond all lines.
#[derive(Debug, Serialize)]
struct TextSaid {
    beyond: bool,
    number: u32,
    page: u32,
    #[serde(rename = "box")]
    place: [f32; 4],
    read: String,
    text: String,
    kind: Option<TextKind>,
    mark: Option<MetronomeSaid>,
    taken: String,
    sure: f32,
    doubt: String,
    bar: Option<u32>,
}

#[derive(Debug, Serialize)]
struct OtherSaid {
    change: Change,
    said: String,
    sure: f32,
}

/// A place to look at.
#[derive(Debug, Serialize)]
pub(super) struct PlaceSaid {
    pub about: Doubt,
    why: &'static str,
    pub system: u32,
    x: f32,
    pub bar: Option<u32>,
    label: String,
    taken: String,
    sure: f32,
    pub sign: Option<u32>,
    pub mark: Option<(Line, u32)>,
    pub text: Option<TextAt>,
    /// The sign beside the staff that was left out here: above or below, its number, its name.
    pub left_out: Option<(Line, u32, &'static str)>,
    others: Vec<OtherSaid>,
}

pub(super) fn said(stand: &Stand) -> Said {
    let read = &stand.now.read;
    Said {
        signs: read.signs,
        doubtful: read.doubtful,
        bars: read.bars,
        off: read.bars_off,
        gestures: stand.gestures.len(),
        test_page: stand.paper.test_page,
        lines: lines(stand),
        places: places(stand),
        changed: Vec::new(),
    }
}

fn lines(stand: &Stand) -> Vec<LineSaid> {
    let (read, systems) = (&stand.now.read, &stand.now.mended.systems);
    let mut by_name: BTreeMap<SignAt, &pageread::Sign> = BTreeMap::new();
    for (system, seen) in (0_u32..).zip(systems) {
        by_name.extend(seen.seen.signs.iter().map(|sign| {
            let number = sign.number;
            (SignAt { system, number }, sign)
        }));
    }
    let mut out: Vec<LineSaid> = Vec::new();
    for system in systems {
        let line = 1 + out.iter().filter(|line| line.page == system.page + 1).count();
        out.push(LineSaid {
            page: system.page + 1,
            line,
            width: system.width,
            bars: Vec::new(),
            signs: Vec::new(),
            marks: Vec::new(),
            texts: Vec::new(),
        });
    }
    for bar in &read.places.bars {
        if let Some(line) = out.get_mut(bar.system as usize) {
            line.bars.push(BarSaid {
                from: bar.from,
                to: bar.to,
                first: bar.first.0,
                last: bar.last.0,
                label: bar.label.clone(),
                off: bar.off,
            });
        }
    }
    for sign in &read.places.signs {
        if let (Some(line), Some(seen)) = (out.get_mut(sign.at.system as usize), by_name.get(&sign.at)) {
            line.signs.push(sign_said(sign, seen));
        }
    }
    for mark in &read.places.marks {
        if let Some(line) = out.get_mut(mark.system as usize) {
            line.marks.push(MarkSaid {
                line: mark.line,
                number: mark.number,
                x: mark.x,
                taken: mark.taken_for.clone(),
                name: mark.name,
                sure: mark.sure,
                bar: mark.bar.map(|bar| bar.0),
            });
        }
    }
    for text in &read.places.texts {
        if let Some(line) = out.get_mut(text.at.system as usize) {
            line.texts.push(TextSaid {
                beyond: text.at.beyond,
                number: text.at.number,
                page: text.page_box.0,
                place: text.line_box.unwrap_or(text.page_box.1),
                read: text.read.clone(),
                text: text.text.clone(),
                kind: text.kind,
                mark: text.mark.clone(),
                taken: text.taken_for.clone(),
                sure: text.sure,
                doubt: text.doubt.clone(),
                bar: text.bar.map(|bar| bar.0),
            });
        }
    }
    out
}

fn sign_said(sign: &ReadSign, seen: &pageread::Sign) -> SignSaid {
    let others = sign.others.iter().zip(&sign.others_said);
    SignSaid {
        number: sign.at.number,
        x: sign.x,
        main: sign.main,
        taken: sign.taken_for.clone(),
        sure: sign.sure,
        bar: sign.bar.map(|bar| bar.0),
        value: seen.answer(pageread::Ask::Value),
        dots: seen.answer(pageread::Ask::Dots),
        accidental: seen.answer(pageread::Ask::Accidental),
        tie: seen.is(Flag::Tie),
        fermata: seen.is(Flag::Fermata),
        others: others
            .take(MOST_OTHERS)
            .map(|(other, said)| OtherSaid {
                change: other.change,
                said: said.clone(),
                sure: other.sure,
            })
            .collect(),
    }
}

fn places(stand: &Stand) -> Vec<PlaceSaid> {
    let read = &stand.now.read;
    let label = |bar: Option<notation::BarIndex>| {
        bar.and_then(|bar| read.piece.bars.get(bar.get()))
            .map_or_else(String::new, |bar| bar.label.clone())
    };
    let places = read.look.iter();
    places
        .map(|place| PlaceSaid {
            about: place.about,
            why: desk::doubt_said(place.about),
            system: place.system,
            x: place.x,
            bar: place.bar.map(|bar| bar.0),
            label: label(place.bar),
            taken: place.taken_for.clone(),
            sure: place.sure,
            sign: match place.what {
                What::Sign(at) => Some(at.number),
                What::Beside(..) | What::Text(_) => None,
            },
            mark: match place.what {
                What::Beside(line, number) => Some((line, number)),
                What::Sign(_) | What::Text(_) => None,
            },
            text: match place.what {
                What::Text(at) => Some(at),
                What::Sign(_) | What::Beside(..) => None,
            },
            left_out: place.left_out.and_then(|(line, number)| {
                let of = |mark: &&pageread::ReadMark| {
                    (mark.system, mark.line, mark.number) == (place.system, line, number)
                };
                let mark = read.places.marks.iter().find(of)?;
                Some((line, number, mark.name))
            }),
            others: place
                .others
                .iter()
                .take(MOST_OTHERS)
                .map(|(change, said, sure)| OtherSaid {
                    change: *change,
                    said: said.clone(),
                    sure: *sure,
                })
                .collect(),
        })
        .collect()
}
