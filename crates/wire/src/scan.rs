//! What was read from printed pages, as JSON? Pages, systems, bars and signs with their boxes, how sure each sign is and what else it could
//! be, and where to look first.

use crate::say::{self, FindingSaid};
use notation::{Id, Piece};
use pageread::{Doubt, Read, System, What};
use schemars::JsonSchema;
use serde::Serialize;

/// The version of this contract: the first number changes when something is taken away or means something else.
pub const SCAN_VERSION: &str = "1.1";

/// What was read from pages. Boxes are x, y, width and height in pixels of the page as it was given (a PDF's page is drawn at 200 dots
/// an inch).
#[derive(Clone, Debug, Serialize, JsonSchema)]
#[schemars(title = "Foreread scan")]
pub struct ScanJson {
    /// The version of this contract.
    pub version: String,
    /// The pages, in order.
    pub pages: Vec<PageSaid>,
    /// The systems found, in order: each is one staff.
    pub systems: Vec<SystemSaid>,
    /// The printed bars.
    pub bars: Vec<BarSaid>,
    /// The signs on the staves, in order.
    pub signs: Vec<SignSaid>,
    /// Dynamics, ends of hairpins, signs of the road map, breath marks.
    pub beside: Vec<BesideSaid>,
    /// Lines of text, page by page: above and below the music first, then system by system.
    pub words: Vec<WordsSaid>,
    /// Where to look: what everything after hangs on first, then bars that don't add up, then single signs, the most doubtful first.
    pub look: Vec<LookSaid>,
    /// What does not add up, was left out or could not be read.
    pub findings: Vec<FindingSaid>,
    /// Signs read.
    pub signs_read: usize,
    /// Signs of which the reader is less than nine tenths sure.
    pub doubtful: usize,
    /// Printed bars that don't add up.
    pub bars_off: usize,
}

/// A page.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct PageSaid {
    /// Its number among all pages, from 1.
    pub page: usize,
    /// The file it came from.
    pub file: String,
    /// Its number in that file, from 1.
    pub page_of_file: u32,
    /// Width in pixels.
    pub width: u32,
    /// Height in pixels.
    pub height: u32,
    /// Systems found on it.
    pub systems: usize,
}

/// A system.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct SystemSaid {
    /// Its number, from 1.
    pub system: usize,
    /// Its page, from 1.
    pub page: usize,
    /// Four staff spaces above and below the middle line.
    #[serde(rename = "box")]
    pub place: [f32; 4],
    /// Distance of two staff lines in pixels.
    pub staff_space: f32,
}

/// A printed bar.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct BarSaid {
    /// How it is numbered.
    pub bar: String,
    /// Counted from 0; a rest of several bars counts so many.
    pub bar_index: u32,
    /// The last bar of a rest of several bars, else the same.
    pub last_bar_index: u32,
    /// Its system, from 1.
    pub system: u32,
    /// Its page, from 1.
    pub page: u32,
    /// From bar line to bar line.
    #[serde(rename = "box")]
    pub place: [f32; 4],
    /// How long it was read, in quarter notes.
    pub quarters: f64,
    /// What its metre asks for.
    pub quarters_asked: Option<f64>,
    /// It does not add up.
    pub off: bool,
    /// A less likely value was taken because with it the bar adds up.
    pub chosen: bool,
}

/// A sign.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct SignSaid {
    /// Its system, from 1, and its number in it as it was read, from 0.
    pub system: u32,
    /// The number.
    pub number: u32,
    /// Its page, from 1.
    pub page: u32,
    /// Two staff spaces wide around its middle.
    #[serde(rename = "box")]
    pub place: [f32; 4],
    /// The bar that it stands in, counted from 0.
    pub bar_index: Option<u32>,
    /// What it was taken for, in words.
    pub taken_for: String,
    /// The same by its name among the reader's answers: `n4` (a head on the middle line), `clef:C3`, `key:-2`, `bar:double`.
    pub name: String,
    /// How sure, from 0 to 1: that every answer about it is right.
    pub sure: f32,
    /// What else it could be, the likeliest first.
    pub others: Vec<OtherSaid>,
    /// The ids of what it became in the piece.
    pub became: Vec<String>,
}

/// Another reading.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct OtherSaid {
    /// In words.
    pub reading: String,
    /// How likely, from 0 to 1.
    pub sure: f32,
}

/// A sign above or below a staff.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct BesideSaid {
    /// Its system, from 1.
    pub system: u32,
    /// Its page, from 1.
    pub page: u32,
    /// Two staff spaces wide around its middle, as high as its staff.
    #[serde(rename = "box")]
    pub place: [f32; 4],
    /// The bar, counted from 0.
    pub bar_index: Option<u32>,
    /// What it was taken for, in words.
    pub taken_for: String,
    /// By its name among the reader's answers.
    pub name: String,
    /// How sure, from 0 to 1.
    pub sure: f32,
}

/// A line of text.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct WordsSaid {
    /// Its page, from 1.
    pub page: u32,
    /// The system that it belongs to, from 1; none above the first and below the last of a page.
    pub system: Option<u32>,
    /// Its number in its system, or among those of its page that belong to none, from 0.
    pub number: u32,
    /// Around its letters.
    #[serde(rename = "box")]
    pub place: [f32; 4],
    /// What it says as it was read: the note of a metronome mark is `♩`, `♪`, `♫` (a sixteenth) or `♬` (a half), text in a frame
    /// stands between `⟦` and `⟧`.
    pub text: String,
    /// What it was taken for: `tempo`, `expression`, `dynamic`, `rehearsal mark`, `words of the road map`, `bar number`, `title`,
    /// `composer`, `part`, `other words`; nothing if it was left out.
    pub kind: Option<String>,
    /// The same with its words, a metronome mark's note named; or why it was left out.
    pub taken_for: String,
    /// How sure, from 0 to 1.
    pub sure: f32,
    /// Why it is worth looking at.
    pub doubt: Option<String>,
    /// The bar in which it begins, counted from 0.
    pub bar_index: Option<u32>,
    /// The ids of what it became in the piece; none if it is a title, a name, a number, or was left out.
    pub became: Vec<String>,
}

/// A place to look at.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct LookSaid {
    /// `clef`, `key`, `metre`, `bar`, `open`, `chosen`, `sign`, `beside` or `words`.
    pub about: DoubtSaid,
    /// Its page, from 1.
    pub page: usize,
    /// Its system, from 1.
    pub system: u32,
    /// The bar's number as printed.
    pub bar: Option<String>,
    /// The bar, counted from 0.
    pub bar_index: Option<u32>,
    /// The sign, by its number in its system; a bar's is its first note or rest.
    pub sign: Option<u32>,
    /// The line of text, by its place in `words`, from 0.
    pub words: Option<usize>,
    /// What it was taken for, in words.
    pub taken_for: String,
    /// How sure, from 0 to 1; 0 for what does not add up.
    pub sure: f32,
    /// What else it could be.
    pub others: Vec<OtherSaid>,
}

/// Why a place is worth looking at.
#[derive(Clone, Copy, Debug, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
#[schemars(rename = "Doubt")]
pub enum DoubtSaid {
    /// A clef: everything after it hangs on it.
    Clef,
    /// A key signature.
    Key,
    /// A time signature.
    Metre,
    /// A bar that does not add up.
    Bar,
    /// Something that has one end only.
    Open,
    /// A less likely value was taken because the bar adds up with it.
    Chosen,
    /// A single sign.
    Sign,
    /// A sign above or below the staff.
    Beside,
    /// A line of text.
    Words,
}

/// A page as it was seen, for [`scan_json`].
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct PageWritten {
    /// The file's name.
    pub file: String,
    /// Its number in that file, from 0.
    pub page_of_file: u32,
    /// Width in pixels.
    pub width: u32,
    /// Height in pixels.
    pub height: u32,
}

/// The whole, from what was seen and what was made of it.
#[must_use]
pub fn scan_json(pages: &[PageWritten], systems: &[System], read: &Read) -> ScanJson {
    let page_of = |system: u32| systems.get(system as usize).map_or(0, |system| system.page) + 1;
    let label = |bar: u32| label(&read.piece, bar);
    ScanJson {
        version: SCAN_VERSION.to_owned(),
        pages: pages
            .iter()
            .enumerate()
            .map(|(n, page)| PageSaid {
                page: n + 1,
                file: page.file.clone(),
                page_of_file: page.page_of_file + 1,
                width: page.width,
                height: page.height,
                systems: systems.iter().filter(|system| system.page == n).count(),
            })
            .collect(),
        systems: systems
            .iter()
            .enumerate()
            .map(|(n, system)| SystemSaid {
                system: n + 1,
                page: system.page + 1,
                place: system.page_box(),
                staff_space: system.scale * 10.0,
            })
            .collect(),
        bars: read.places.bars.iter().map(bar).collect(),
        signs: read.places.signs.iter().map(sign).collect(),
        beside: read.places.marks.iter().map(beside).collect(),
        words: read.places.texts.iter().map(text).collect(),
        look: read
            .look
            .iter()
            .map(|place| LookSaid {
                about: doubt(place.about),
                page: page_of(place.system),
                system: place.system + 1,
                bar: place.bar.and_then(|bar| label(bar.0)),
                bar_index: place.bar.map(|bar| bar.0),
                sign: match place.what {
                    What::Sign(at) => Some(at.number),
                    What::Beside(..) | What::Text(_) => None,
                },
                words: match place.what {
                    What::Text(at) => read.places.texts.iter().position(|text| text.at == at),
                    What::Sign(_) | What::Beside(..) => None,
                },
                taken_for: place.taken_for.clone(),
                sure: rounded(place.sure),
                others: place
                    .others
                    .iter()
                    .map(|(_, reading, sure)| OtherSaid {
                        reading: reading.clone(),
                        sure: rounded(*sure),
                    })
                    .collect(),
            })
            .collect(),
        findings: say::findings(&read.findings),
        signs_read: read.signs,
        doubtful: read.doubtful,
        bars_off: read.bars_off,
    }
}

fn text(text: &pageread::ReadText) -> WordsSaid {
    WordsSaid {
        page: text.page_box.0 + 1,
        system: text.line_box.map(|_| text.at.system + 1),
        number: text.at.number,
        place: text.page_box.1,
        text: text.read.clone(),
        kind: text.kind.map(|kind| kind.name().to_owned()),
        taken_for: text.taken_for.clone(),
        sure: rounded(text.sure),
        doubt: (!text.doubt.is_empty()).then(|| text.doubt.clone()),
        bar_index: text.bar.map(|bar| bar.0),
        became: text.became.iter().map(Id::to_string).collect(),
    }
}

/// As text.
#[must_use]
pub fn scan_text(scan: &ScanJson) -> String {
    let mut text = serde_json::to_string_pretty(scan).unwrap_or_default();
    text.push('\n');
    text
}

/// The JSON Schema of a scan, as kept in `docs/scan.schema.json`.
#[must_use]
pub fn scan_schema() -> String {
    let mut text = serde_json::to_string_pretty(&schemars::schema_for!(ScanJson)).unwrap_or_default();
    text.push('\n');
    text
}

fn label(piece: &Piece, bar: u32) -> Option<String> {
    piece.bars.get(bar as usize).map(|bar| bar.label.clone())
}

/// To three places: more is not known.
fn rounded(sure: f32) -> f32 {
    (sure * 1000.0).round() / 1000.0
}

fn bar(bar: &pageread::ReadBar) -> BarSaid {
    BarSaid {
        bar: bar.label.clone(),
        bar_index: bar.first.0,
        last_bar_index: bar.last.0,
        system: bar.system + 1,
        page: bar.page_box.0 + 1,
        place: bar.page_box.1,
        quarters: bar.actual.to_f64(),
        quarters_asked: bar.full.map(notation::Rational::to_f64),
        off: bar.off,
        chosen: bar.chosen,
    }
}

fn sign(sign: &pageread::ReadSign) -> SignSaid {
    SignSaid {
        system: sign.at.system + 1,
        number: sign.at.number,
        page: sign.page_box.0 + 1,
        place: sign.page_box.1,
        bar_index: sign.bar.map(|bar| bar.0),
        taken_for: sign.taken_for.clone(),
        name: sign.main.into(),
        sure: rounded(sign.sure),
        others: sign
            .others_said
            .iter()
            .zip(&sign.others)
            .map(|(reading, other)| OtherSaid {
                reading: reading.clone(),
                sure: rounded(other.sure),
            })
            .collect(),
        became: sign.became.iter().map(Id::to_string).collect(),
    }
}

fn beside(mark: &pageread::ReadMark) -> BesideSaid {
    BesideSaid {
        system: mark.system + 1,
        page: mark.page_box.0 + 1,
        place: mark.page_box.1,
        bar_index: mark.bar.map(|bar| bar.0),
        taken_for: mark.taken_for.clone(),
        name: mark.name.to_owned(),
        sure: rounded(mark.sure),
    }
}

const fn doubt(about: Doubt) -> DoubtSaid {
    match about {
        Doubt::Clef => DoubtSaid::Clef,
        Doubt::Key => DoubtSaid::Key,
        Doubt::Metre => DoubtSaid::Metre,
        Doubt::Bar => DoubtSaid::Bar,
        Doubt::Open => DoubtSaid::Open,
        Doubt::Chosen => DoubtSaid::Chosen,
        Doubt::Sign => DoubtSaid::Sign,
        Doubt::Beside => DoubtSaid::Beside,
        Doubt::Words => DoubtSaid::Words,
    }
}
