//! What is asked of the page? Paper, edition, sizes, and the words that stand on it beside the music.

use notation::{BarIndex, PencilMeaning, Pencils, Place};

/// A sheet of paper.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum Paper {
    /// 210 × 297 mm. Source: ISO 216.
    #[default]
    A4,
    /// 8½ × 11 inches (215.9 × 279.4 mm). Source: ANSI/ASME Y14.1.
    Letter,
}

/// What the copy is for.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum Edition {
    /// With the teacher's pencil marks.
    #[default]
    Practice,
    /// Without marks.
    Clean,
    /// Large staves, thicker lines, small signs enlarged more than the rest.
    LargePrint,
    /// White space between phrases.
    Spaced,
    /// Only the bars of [`Look::strip`], with room to write.
    Strip,
}

/// How the part should look.
#[derive(Clone, PartialEq, Debug)]
pub struct Look {
    /// What the copy is for.
    pub edition: Edition,
    /// The paper.
    pub paper: Paper,
    /// Height of a five-line staff, from the bottom line to the top line, in millimetres.
    pub staff_height_mm: f64,
    /// The long side of the paper lies across.
    pub landscape: bool,
    /// Whether marks are pencilled in, and by hand-like strokes; without it `lay_out` draws none.
    pub hand: bool,
    /// Whether each system says the number of its first bar.
    pub bar_numbers: bool,
    /// How many marks at most on a page, the most valuable first; marks that a person kept always stay. `None`: all.
    pub most_marks_per_page: Option<u32>,
    /// Whether pages are printed on both sides, page 1 on the right: then only odd pages are turned. Otherwise two sheets lie
    /// side by side: nothing is turned between pages 1 and 2, 3 and 4 …
    pub double_sided: bool,
    /// What the signs mean, said at the foot of the last page; empty for no such block.
    pub legend: Vec<PencilMeaning>,
    /// Her coloured pencils, if she has any.
    pub pencils: Pencils,
    /// The order of playing where it isn't straight, as words (`1–8, 1–7, 9–16`); empty for none.
    pub play_order: String,
    /// Words at the foot of every page; may be empty.
    pub footer: String,
    /// The player's name for the part, where the piece's own is not wanted (`Clarinet in B♭, from the concert part`).
    pub part_name: Option<String>,
    /// Where phrases start, in order ([`Edition::Spaced`]).
    pub phrase_starts: Vec<Place>,
    /// The bars to print, in order ([`Edition::Strip`]).
    pub strip: Vec<StripItem>,
    /// Quarter notes a minute, where known: page turns are then told in seconds, too.
    pub quarters_per_minute: Option<f64>,
}

/// A few bars on a strip.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct StripItem {
    /// The first bar.
    pub from: BarIndex,
    /// The last bar.
    pub to: BarIndex,
    /// What stands over it instead of its bars' numbers; such a passage has no empty staff to write on under it.
    pub heading: Option<String>,
    /// Why it is here, a sentence or two; a line break begins a new line.
    pub reason: String,
}

impl Default for Look {
    fn default() -> Look {
        Look::of(Edition::Practice)
    }
}

impl Look {
    /// The usual look of an edition.
    #[must_use]
    pub fn of(edition: Edition) -> Look {
        let large = edition == Edition::LargePrint;
        Look {
            edition,
            paper: Paper::A4,
            staff_height_mm: if large { LARGE_STAFF_MM } else { STAFF_MM },
            landscape: large,
            hand: edition != Edition::Clean,
            bar_numbers: true,
            most_marks_per_page: None,
            double_sided: false,
            legend: Vec::new(),
            pencils: Pencils::default(),
            play_order: String::new(),
            footer: String::new(),
            part_name: None,
            phrase_starts: Vec::new(),
            strip: Vec::new(),
            quarters_per_minute: None,
        }
    }

    /// Width and height of the paper as it lies, in millimetres.
    #[must_use]
    pub fn paper_mm(&self) -> (f64, f64) {
        let (short, long) = match self.paper {
            Paper::A4 => (210.0, 297.0),
            Paper::Letter => (215.9, 279.4),
        };
        if self.landscape {
            (long, short)
        } else {
            (short, long)
        }
    }

    /// Millimetres of one of the engraver's units.
    #[must_use]
    pub fn unit_mm(&self) -> f64 {
        self.staff_height_mm.clamp(MIN_STAFF_MM, MAX_STAFF_MM) / job::STAFF_HEIGHT
    }
}

/// The usual staff of a player's part, in millimetres. Source: common practice (rastral sizes 2 to 4 for parts, 7 to 8 mm).
pub const STAFF_MM: f64 = 7.0;
/// The staff of large print, in millimetres: 14 mm, as published practice for players of low vision.
pub const LARGE_STAFF_MM: f64 = 14.0;
/// The smallest staff that is taken, in millimetres.
pub const MIN_STAFF_MM: f64 = 2.0;
/// The largest staff that is taken, in millimetres.
pub const MAX_STAFF_MM: f64 = 40.0;
