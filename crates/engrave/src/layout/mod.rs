//! Which system stands where on which page?
//!
//! Pages are turned after every second one, two sheets lying side by side on the stand, or, printed on both sides with page 1
//! on the right, after the odd ones ([`crate::Look::double_sided`]). Where systems are divided among pages, a turn that falls
//! on a rest counts as much as a well-filled page; where no rest is near, a finding tells how many beats there are and what
//! can be done.

mod document;
mod frame;
mod paging;
mod passages;
mod places;
mod sheet;
mod spread;
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
use crate::style;
use crate::systems;
use crate::text::number;
use frame::Names;
use notation::{BarIndex, Finding, Part, PencilMark, Piece, Severity};
use paging::{Gaps, Need, Room, Turning};
use passages::Around;
use std::borrow::Cow;
use std::fmt::Write;
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

/// How often marks are chosen and placed again because pages moved with the room that they took.
const ROUNDS: usize = 4;

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

/// So many lines before a page's end are broken anew for the sake of its turn; the next page's first line is, too.
const LINES_BEFORE: usize = 3;

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

    fn window(&self, system: usize) -> Option<turns::Window> {
        let bar = BarIndex(self.bars.get(system)?.start);
        Some(turns::window(
            self.piece,
            self.part()?,
            bar,
            self.look.quarters_per_minute,
        ))
    }

    /// The badness of a turn before each system.
    fn turns(&self) -> Vec<f64> {
        if self.look.edition == Edition::Strip {
            // A strip is read passage by passage.
            return vec![0.0; self.engraved.systems.len()];
        }
        (0..self.engraved.systems.len())
            .map(|system| self.window(system).map_or(0.0, |window| window.badness()))
            .collect()
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

    /// Pages, and the marks in their systems: marks are chosen page by page, and pages move with the room they take.
    fn place_marks(&self, marks: &[PencilMark], turns: &[f64]) -> (Vec<usize>, DrawnBySystem, Vec<Finding>) {
        let none = vec![Vec::new(); self.engraved.systems.len()];
        let mut starts = self.starts(&none, turns);
        if !self.look.hand || marks.is_empty() {
            return (starts, none, Vec::new());
        }
        let (mut drawn, mut findings) = (none, Vec::new());
        for _ in 0..ROUNDS {
            (drawn, findings) = self.drawn(marks, &starts);
            let moved = self.starts(&drawn, turns);
            let settled = moved == starts;
            starts = moved;
            if settled {
                break;
            }
        }
        (starts, drawn, findings)
    }

    /// The marks of each page, as many as the look allows, drawn in their systems.
    fn drawn(&self, marks: &[PencilMark], starts: &[usize]) -> (DrawnBySystem, Vec<Finding>) {
        let mut drawn = vec![Vec::new(); self.engraved.systems.len()];
        let mut findings = Vec::new();
        for page in starts.windows(2) {
            let systems = page[0]..page[1];
            let bars = self.bars.get(page[0]).map_or(0, |bars| bars.start)
                ..page[1]
                    .checked_sub(1)
                    .and_then(|last| self.bars.get(last))
                    .map_or(0, |bars| bars.end);
            let here: Vec<usize> = (0..marks.len())
                .filter(|index| {
                    marks
                        .get(*index)
                        .is_some_and(|mark| systems::touches(mark, &bars))
                })
                .collect();
            let chosen = match self.look.most_marks_per_page {
                Some(most) => {
                    let of_page: Vec<&PencilMark> =
                        here.iter().filter_map(|index| marks.get(*index)).collect();
                    let chosen = pencil::choose(&of_page, most);
                    chosen
                        .into_iter()
                        .filter_map(|index| here.get(index).copied())
                        .collect()
                }
                None => here,
            };
            for system in systems {
                if let Some(slot) = drawn.get_mut(system) {
                    *slot = self.drawn_in(system, marks, &chosen, &mut findings);
                }
            }
        }
        (drawn, findings)
    }

    fn drawn_in(
        &self,
        system: usize,
        marks: &[PencilMark],
        chosen: &[usize],
        findings: &mut Vec<Finding>,
    ) -> Vec<Drawn> {
        let (Some(engraved), Some(bars)) = (self.engraved.systems.get(system), self.bars.get(system)) else {
            return Vec::new();
        };
        let here: Vec<usize> = chosen
            .iter()
            .copied()
            .filter(|index| marks.get(*index).is_some_and(|mark| systems::touches(mark, bars)))
            .collect();
        let of_system: Vec<&PencilMark> = here.iter().filter_map(|index| marks.get(*index)).collect();
        let (mut drawn, roomless) = pencil::place_told(engraved, self.piece, &of_system, self.look);
        findings.extend(roomless);
        drawn.retain_mut(|mark| match here.get(mark.mark) {
            Some(index) => {
                mark.mark = *index;
                true
            }
            None => false,
        });
        drawn
    }

    /// The upper staff line of each system on its page, in units from the upper edge.
    fn tops(&self, starts: &[usize], drawn: &DrawnBySystem) -> Vec<f64> {
        let needs = self.needs(drawn);
        let mut tops = Vec::with_capacity(needs.len());
        for (page, pair) in starts.windows(2).enumerate() {
            let begin = self.head(page).lowest;
            let last = pair[1] == needs.len();
            let systems = needs.get(pair[0]..pair[1]).unwrap_or(&[]);
            let foot = if last { self.room().foot } else { 0.0 };
            let available = self.sheet.lowest() - begin - foot;
            let spread = spread::spread(systems, &self.gaps(), available, !last);
            tops.extend(spread.into_iter().map(|top| begin + top));
        }
        tops
    }

    fn pages(&self, starts: &[usize], tops: &[f64], drawn: &DrawnBySystem) -> Vec<Page> {
        let count = starts.len().saturating_sub(1);
        let style = format!("{}{}", style::page(self.look), pencil::style(self.look));
        let mut pages = Vec::with_capacity(count);
        let needs = self.needs(drawn);
        for (page, pair) in starts.windows(2).enumerate() {
            let head = self.head(page);
            let mut music = head.svg;
            let mut pencilled = head.pencilled;
            music.push_str(&frame::foot(&self.names, self.look, page, &self.sheet));
            for system in pair[0]..pair[1] {
                self.put(system, tops, drawn, &mut music, &mut pencilled);
                if let (Some(around), Some(need), Some(top)) =
                    (self.around.get(system), needs.get(system), tops.get(system))
                {
                    let bottom = top + need.staff + need.below - around.below();
                    music.push_str(&around.svg(&self.sheet, top - need.above, bottom));
                }
            }
            if page + 1 == count {
                self.put_legend(&mut pencilled);
            }
            let title = format!("{}, page {} of {count}", self.names.running(), page + 1);
            let content = Content {
                title: &title,
                defs: &used_defs(self.defs, &music),
                style: &style,
                music: &music,
                pencil: &pencilled,
            };
            pages.push(Page {
                svg: document::svg(&content, &self.sheet),
                width_mm: self.sheet.width * self.sheet.unit_mm,
                height_mm: self.sheet.height * self.sheet.unit_mm,
            });
        }
        pages
    }

    /// The legend's block at the foot of the page.
    fn put_legend(&self, pencilled: &mut String) {
        if let Some(block) = &self.legend {
            // Writing to a string can't fail.
            let _ = write!(
                pencilled,
                "<g transform=\"translate({} {})\">{}</g>",
                number(self.sheet.side),
                number(self.sheet.lowest() - block.rect.bottom()),
                block.svg
            );
        }
    }

    /// One system on its page.
    fn put(
        &self,
        system: usize,
        tops: &[f64],
        drawn: &DrawnBySystem,
        music: &mut String,
        pencilled: &mut String,
    ) {
        let (Some(engraved), Some(top), Some(svg)) = (
            self.engraved.systems.get(system),
            tops.get(system),
            self.svgs.get(system),
        ) else {
            return;
        };
        let place = format!(
            "<g transform=\"translate({} {})\">",
            number(self.sheet.side - engraved.staff.x),
            number(top - engraved.staff.y)
        );
        // Writing to a string can't fail.
        let _ = write!(music, "{place}{svg}</g>");
        let marks = drawn.get(system).map_or(&[][..], Vec::as_slice);
        if !marks.is_empty() {
            pencilled.push_str(&place);
            marks.iter().for_each(|mark| pencilled.push_str(&mark.svg));
            pencilled.push_str("</g>");
        }
    }

    /// For each turn without time for it, the nearest bar in the lines around it before which there is time.
    fn better_turns(&self, starts: &[usize]) -> Vec<BarIndex> {
        let ends = starts.get(1..starts.len().saturating_sub(1)).unwrap_or(&[]);
        let turned = ends
            .iter()
            .enumerate()
            .filter(|(page, _)| self.turning().after(*page));
        turned
            .filter_map(|(_, system)| self.better_turn(*system))
            .collect()
    }

    fn better_turn(&self, system: usize) -> Option<BarIndex> {
        let bad = self.window(system).is_some_and(|window| !window.is_enough());
        let here = self.bars.get(system).filter(|_| bad)?.start;
        let from = self.bars.get(system.saturating_sub(LINES_BEFORE))?.start;
        let to = self.bars.get(system)?.end;
        let part = self.part()?;
        let steady = self.look.quarters_per_minute;
        (from + 1..to)
            .filter(|bar| turns::window(self.piece, part, BarIndex(*bar), steady).is_enough())
            .min_by_key(|bar| (bar.abs_diff(here), *bar))
            .map(BarIndex)
    }

    /// Turns for which there is no time.
    fn turn_findings(&self, starts: &[usize]) -> Vec<Finding> {
        let mut findings = Vec::new();
        if self.look.edition == Edition::Strip {
            return findings;
        }
        let ends = starts.get(1..starts.len().saturating_sub(1)).unwrap_or(&[]);
        for (page, system) in ends.iter().enumerate() {
            if !self.turning().after(page) {
                continue;
            }
            let (Some(window), Some(bars)) = (self.window(*system), self.bars.get(*system)) else {
                continue;
            };
            if !window.is_enough() {
                let bar = BarIndex(bars.start);
                findings.push(bad_turn(page, &window).at_bar(bar, self.piece.label(bar)));
            }
        }
        findings
    }
}

fn bad_turn(page: usize, window: &turns::Window) -> Finding {
    let beats = window.quarters();
    let seconds = window
        .seconds
        .filter(|_| beats.is_positive())
        .map(|seconds| format!(" (about {seconds:.1} s)"))
        .unwrap_or_default();
    let what = if beats.is_positive() {
        format!(
            "page {} is turned here, with rests of only {} quarter notes{seconds} around the turn",
            page + 1,
            said(beats)
        )
    } else {
        format!(
            "page {} is turned here in the middle of the music, without a rest",
            page + 1
        )
    };
    Finding::new(
        Severity::Caution,
        "page-turn",
        what,
        "lay the next page beside it, learn the bars around the turn by heart, or, where the publisher and local law allow it, \
         add a photocopy of the next line",
    )
}

/// Quarter notes in words: `1½`.
fn said(quarters: notation::Quarters) -> String {
    let whole = quarters.floor();
    let rest = quarters - notation::Rational::whole(whole);
    let fraction = match (rest.num(), rest.den()) {
        (0, _) => return whole.to_string(),
        (1, 2) => "½",
        (1, 4) => "¼",
        (3, 4) => "¾",
        (1, 3) => "⅓",
        (2, 3) => "⅔",
        _ => return format!("{:.1}", quarters.to_f64()),
    };
    if whole == 0 {
        fraction.to_owned()
    } else {
        format!("{whole}{fraction}")
    }
}
