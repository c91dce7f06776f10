//! How do signs become a Piece? Bars cut at their lines, values that add up, pitches by clef, key and accidentals, signs that reach
//! over several notes paired across systems, and for every sign how sure it is.

mod builder;
mod endings;
mod event;
mod head;
mod lengths;
mod lettered;
mod lines;
mod lone;
mod look;
mod metres;
mod ottavas;
mod over;
mod page_numbers;
mod places;
mod texts;
mod told;

pub use look::{ToLookAt, What};
pub use places::{Places, ReadBar, ReadMark, ReadSign};
pub use texts::ReadText;

use crate::decode::decode;
use crate::mend::{Doubt, Mended, SignAt};
use crate::page_bars::page_bars;
use crate::signs::{Change, Seen};
use crate::text::TextLine;
use crate::vocabulary::{Ask, Main};
use job::SeenSystem;
use notation::{Finding, Piece};
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;

/// What was asked about and found right.
pub type Settled = BTreeSet<(Doubt, SignAt)>;

/// One system as it was read.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct System {
    /// The page, from 0.
    pub page: usize,
    /// What the reader saw.
    pub seen: Seen,
    /// x in the file of the picture's left edge.
    pub left: f32,
    /// Pixels of the file for one of the picture.
    pub scale: f32,
    /// y in the file of the middle line, left and right.
    pub middle: (f32, f32),
    /// Pixels of the picture.
    pub width: f32,
    /// Words that belong to it, with their boxes in pixels of its picture.
    #[serde(default)]
    pub words: Vec<TextLine>,
    /// On the first system of a page: words above all systems and below them, with their boxes in pixels of the file.
    #[serde(default)]
    pub beyond: Vec<TextLine>,
}

impl System {
    /// What the scores say of a system that the press cut from a page (counted from 0).
    #[must_use]
    #[expect(
        clippy::cast_precision_loss,
        reason = "a picture is a few thousand pixels wide"
    )]
    pub fn new(page: usize, place: &SeenSystem, scores: &[f32]) -> Self {
        Self {
            page,
            seen: decode(scores),
            left: place.left,
            scale: place.scale,
            middle: place.middle,
            width: place.width as f32,
            words: TextLine::all(&place.words),
            beyond: Vec::new(),
        }
    }

    /// What the scores of a system say whose place on a page is not known.
    #[must_use]
    pub fn of_scores(scores: &[f32]) -> Self {
        let seen = decode(scores);
        let width = seen.signs.last().map_or(0.0, |sign| sign.x);
        Self {
            page: 0,
            seen,
            left: 0.0,
            scale: 1.0,
            middle: (0.0, 0.0),
            width,
            words: Vec::new(),
            beyond: Vec::new(),
        }
    }

    /// Its box on the page in pixels of the file: x, y, width, height; four staff spaces above and below the middle line.
    #[must_use]
    pub fn page_box(&self) -> [f32; 4] {
        places::bar_box(self, 0.0, self.width).1
    }

    /// Whether anything stands on it; what has five lines and no note, rest or bar line, and no clef of which the reader is sure, is no music
    /// (the edge of a page on a table).
    #[must_use]
    pub fn is_music(&self) -> bool {
        self.seen.signs.iter().any(|sign| match sign.main {
            Main::Clef(_) | Main::Key(_) | Main::Metre => sign.sure() > SURE_WITHOUT_NOTES,
            _ => true,
        })
    }
}

/// As sure as this the reader must be of a clef, key or metre on lines with nothing else: judgement; of the edges of photographed pages it
/// was 0.27 to 0.65 sure, of clefs hardly ever less than 0.99.
const SURE_WITHOUT_NOTES: f32 = 0.9;

/// A piece read from pages.
#[derive(Clone, Debug)]
pub struct Read {
    /// The piece; confidence and place on the page of every element are in its provenance.
    pub piece: Piece,
    /// What doesn't add up, what is doubtful, what was not read; what is to be looked at first comes first.
    pub findings: Vec<Finding>,
    /// Signs read.
    pub signs: usize,
    /// Signs of which the reader is less than nine tenths sure.
    pub doubtful: usize,
    /// Printed bars, and those that don't add up.
    pub bars: usize,
    /// Bars that fill neither their metre nor make a pickup or a split bar.
    pub bars_off: usize,
    /// Where on the pages everything stands.
    pub places: Places,
    /// Where to look, what matters most first.
    pub look: Vec<ToLookAt>,
    /// Signs that were taken for another than the reader found likeliest, because what stands around asks for it. Who says that such a sign is
    /// right means this.
    pub instead: Vec<(SignAt, Change)>,
}

/// Makes a piece of what was seen, system by system in the order of the pages.
#[must_use]
pub fn assemble(systems: &[System]) -> Read {
    made(systems, &Settled::default())
}

/// The same of what was put right.
#[must_use]
pub fn assemble_mended(mended: &Mended) -> Read {
    made(&mended.systems, &mended.settled)
}

/// The systems with what each sign was taken for once bars add up: other values, other metres.
#[must_use]
pub fn taken(systems: &[System]) -> Vec<System> {
    let bars = page_bars(systems);
    let mut out = lines::lines(systems, &bars).unwrap_or_else(|| systems.to_vec());
    let bars = page_bars(&out);
    if let Some(changed) = metres::metres(&out, &bars) {
        out = changed;
    }
    let (lengths, _) = lengths::lengths(&out, &bars);
    lengths::take(&mut out, &bars, &lengths);
    out
}

fn made(read: &[System], settled: &Settled) -> Read {
    let changed = lines::lines(read, &page_bars(read));
    let systems = changed.as_deref().unwrap_or(read);
    let bars = page_bars(systems);
    let changed = metres::metres(systems, &bars);
    let systems = changed.as_deref().unwrap_or(systems);
    let (mut lengths, refused) = lengths::lengths(systems, &bars);
    lengths::settle(&mut lengths, systems, &bars, settled);
    Read {
        instead: instead(read, systems),
        ..builder::Builder::new(systems, refused).build(&bars, &lengths, settled)
    }
}

/// Signs that are another than they were read as.
fn instead(read: &[System], taken: &[System]) -> Vec<(SignAt, Change)> {
    let mut out = Vec::new();
    for (system, (read, taken)) in (0..).zip(read.iter().zip(taken)) {
        for (read, taken) in read.seen.signs.iter().zip(&taken.seen.signs) {
            let number = taken.number;
            let mut put = |change| out.push((SignAt { system, number }, change));
            if read.main != taken.main {
                put(Change::Becomes(taken.main));
            }
            for ask in [Ask::Numerator, Ask::Denominator] {
                if read.answer(ask) != taken.answer(ask) {
                    put(Change::Answer(ask, taken.answer(ask)));
                }
            }
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::signs::Sign;

    #[test]
    fn lines_with_nothing_but_a_doubtful_clef_are_no_music() {
        let with = |mains: &[Main], sure: f32| {
            let mut system = System::of_scores(&[]);
            system.seen.signs = mains
                .iter()
                .map(|main| Sign {
                    log: sure.ln(),
                    ..Sign::plain(0, 10.0, *main)
                })
                .collect();
            system.is_music()
        };
        assert!(!with(&[], 1.0));
        assert!(!with(&[Main::Clef(0)], 0.65));
        assert!(with(&[Main::Clef(0)], 0.99));
        assert!(with(&[Main::Clef(0), Main::Note(4)], 0.3));
    }
}
