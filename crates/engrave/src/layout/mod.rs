//! Which system stands where on which page?
//!
//! Pages are turned after every second one, two sheets lying side by side on the stand, or, printed on both sides with page 1
//! on the right, after the odd ones ([`crate::Look::double_sided`]). Where systems are divided among pages, a turn that falls
//! on a rest counts as much as a well-filled page; where no rest is near, a finding tells how many beats there are and what
//! can be done.

mod back;
mod compose;
mod document;
mod frame;
mod marking;
mod paging;
mod passages;
mod places;
mod sheet;
mod spread;
mod turning;
mod turns;

pub use places::{Places, Spot};

pub(crate) use document::{Content, sized, used_defs};

use document::layers;
pub(crate) use sheet::Sheet;

use crate::boxes;
use crate::look::{Edition, Look};
use crate::pencil::{self, Drawn};
use crate::printable::Printable;
use crate::strip;
use crate::systems;
use frame::Names;
use notation::{BarIndex, Finding, Part, PencilMark, Piece};
use paging::{Gaps, Need, Room, Turning};
use passages::Around;
use std::borrow::Cow;
use std::ops::Range;

/// The part on pages.
#[derive(Clone, PartialEq, Debug)]
pub struct Laid {
    /// The pages, in order.
    pub pages: Vec<Page>,
    /// What the player should know: page turns that can't be made, what the engraver could not draw.
    pub findings: Vec<Finding>,
    /// Where everything stands.
    pub places: Places,
}

/// One page.
#[derive(Clone, PartialEq, Debug)]
pub struct Page {
    /// A complete SVG, its size in millimetres.
    pub svg: String,
    /// Its width, in millimetres.
    pub width_mm: f64,
    /// Its height, in millimetres.
    pub height_mm: f64,
}

/// Puts the engraved systems on pages and draws the marks.
#[must_use]
pub fn lay_out(
    piece: &Piece,
    look: &Look,
    printable: &Printable,
    engraved: &job::Engraved,
    svgs: &[String],
    marks: &[PencilMark],
) -> Laid {
    let mut complete = boxes::complete(engraved, svgs, printable.ask.width);
    if look.edition == Edition::Strip && strip::items(piece, look).is_empty() {
        complete.engraved.systems.clear();
    }
    let engraved = &complete.engraved;
    let layout = Layout::of(piece, look, printable, engraved, svgs, &complete.svgs);
    let turns = layout.turns();
    let (starts, drawn, roomless) = layout.place_marks(marks, &turns);
    let tops = layout.tops(&starts, &drawn);
    let pages = layout.pages(&starts, &tops, &drawn);
    let mut findings = layout.turn_findings(&starts);
    findings.extend(layout.turns_back(&starts));
    findings.extend(roomless);
    findings.extend(crate::missing::findings(piece, printable, engraved, &layout.bars));
    let places = places::places(
        piece,
        printable,
        engraved,
        &layout.sheet,
        &starts,
        &tops,
        &drawn,
        marks.len(),
    );
    Laid {
        pages,
        findings,
        places,
    }
}

/// The bars before which a page had better be turned than where the lines as they are let it be turned.
pub(crate) fn turns_wanted(
    piece: &Piece,
    look: &Look,
    printable: &Printable,
    engraved: &job::Engraved,
) -> Vec<BarIndex> {
    let layout = Layout::of(piece, look, printable, engraved, &[], &[]);
    let none = vec![Vec::new(); engraved.systems.len()];
    let starts = layout.starts(&none, &layout.turns());
    layout.better_turns(&starts)
}

/// The page's music without pencil, and its pencil without music: two complete SVGs of the page's size, for proving that one
/// does not cover the other.
#[must_use]
pub fn page_layers(page: &Page) -> (String, String) {
    layers(&page.svg).unwrap_or_else(|| (page.svg.clone(), String::new()))
}

/// What laying out needs to know.
struct Layout<'a> {
    piece: &'a Piece,
    look: &'a Look,
    engraved: &'a job::Engraved,
    defs: &'a str,
    svgs: &'a [Cow<'a, str>],
    sheet: Sheet,
    names: Names,
    /// The bars of each system.
    bars: Vec<Range<u32>>,
    /// What stands around each system.
    around: Vec<Around>,
    /// What the signs mean, for the foot of the last page.
    legend: Option<Drawn>,
}

/// White above the legend's block, in units.
const LEGEND_WHITE: f64 = 2.0 * job::STAFF_SPACE;

/// The marks drawn in each system; their indices are those of the whole list.
type DrawnBySystem = Vec<Vec<Drawn>>;

impl<'a> Layout<'a> {
    fn of(
        piece: &'a Piece,
        look: &'a Look,
        printable: &Printable,
        engraved: &'a job::Engraved,
        blobs: &'a [String],
        svgs: &'a [Cow<'a, str>],
    ) -> Self {
        let sheet = Sheet::of(look);
        let strip = look.edition == Edition::Strip;
        let bars = if strip {
            systems::own_bars(piece, engraved)
        } else {
            systems::bars(piece, engraved, printable.last_bar)
        };
        let around = if strip {
            passages::around(piece, look, &sheet, &bars)
        } else {
            vec![Around::default(); bars.len()]
        };
        Self {
            piece,
            look,
            engraved,
            defs: blobs.first().map_or("", String::as_str),
            svgs,
            sheet,
            names: Names::of(piece, look),
            bars,
            around,
            legend: pencil::legend_block(look, sheet.music_width()),
        }
    }
}

impl Layout<'_> {
    fn part(&self) -> Option<&Part> {
        self.piece.parts.first()
    }

    fn turning(&self) -> Turning {
        if self.look.double_sided {
            Turning::DoubleSided
        } else {
            Turning::SideBySide
        }
    }

    fn gaps(&self) -> Gaps {
        let space = job::STAFF_SPACE;
        Gaps {
            least: 0.8 * space,
            usual: if self.look.hand { 2.6 * space } else { 2.2 * space },
            most: 6.0 * space,
            between_staves: 6.0 * space,
        }
    }

    fn title(&self) -> frame::Words {
        frame::title_block(&self.names, self.look, &self.sheet)
    }

    fn head(&self, page: usize) -> frame::Words {
        if page == 0 {
            self.title()
        } else {
            frame::running_head(&self.names, page, &self.sheet)
        }
    }

    fn room(&self) -> Room {
        Room {
            first: self.sheet.lowest() - self.head(0).lowest,
            other: self.sheet.lowest() - self.head(1).lowest,
            foot: self
                .legend
                .as_ref()
                .map_or(0.0, |block| block.rect.h + LEGEND_WHITE),
        }
    }

    fn needs(&self, drawn: &DrawnBySystem) -> Vec<Need> {
        let systems = self.engraved.systems.iter().enumerate();
        systems
            .map(|(index, system)| {
                let marks = drawn.get(index).into_iter().flatten().map(|mark| mark.rect);
                let all = marks.fold(system.bounds.around(&system.staff), |all, rect| all.around(&rect));
                let (over, under) = self
                    .around
                    .get(index)
                    .map_or((0.0, 0.0), |around| (around.above(), around.below()));
                Need {
                    above: system.staff.y - all.y + over,
                    staff: system.staff.h,
                    below: all.bottom() - system.staff.bottom() + under,
                }
            })
            .collect()
    }

    fn starts(&self, drawn: &DrawnBySystem, turns: &[f64]) -> Vec<usize> {
        paging::pages(
            &self.needs(drawn),
            &self.gaps(),
            &self.room(),
            self.turning(),
            turns,
        )
    }
}
