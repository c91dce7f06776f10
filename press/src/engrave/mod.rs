//! How does a part become engraved systems, each with its boxes and its ink?
//!
//! The engraver draws once, with its boxes in the drawing; they are taken out of the text, which costs a pass over it. It draws
//! few systems a page, because what it looks up in its own drawing takes time that grows with the page squared; the pages are
//! then stacked into one tall coordinate system.

mod options;
mod scan;
mod small;
mod take;

use crate::chest::Chest;
use crate::quiet::Quiet;
use crate::refusal;
use crate::svg::Drawing;
use crate::ink;
use cxx::UniquePtr;
use job::{AskEngrave, Engraved, Ink, Rect, Refusal, RefusalKind, System};
use take::{Defs, Taken};
use verovio_sys::ffi;

/// How far beyond all boxes ink is looked for, in units. What has no box (a long slur's belly) reaches less far.
const MARGIN: f64 = 720.0;

/// The engraver, warm.
pub struct Engraver {
    // Dropped before the tables that it reads.
    toolkit: UniquePtr<ffi::Toolkit>,
    chest: Chest,
}

impl Engraver {
    /// Unpacks the engraver's tables and starts it.
    ///
    /// # Errors
    /// If there is no room for temporary data.
    pub fn open() -> Result<Engraver, Refusal> {
        let chest = Chest::unpack().map_err(|error| no_room(&error))?;
        let quiet = Quiet::begin(chest.path()).map_err(|error| no_room(&error))?;
        let mut toolkit = ffi::new_toolkit(false);
        let path = chest.path().to_string_lossy().into_owned();
        let ready = ffi::set_resource_path(toolkit.pin_mut(), &path);
        let complaints = quiet.end();
        if ready {
            Ok(Engraver { toolkit, chest })
        } else {
            let what = format!("the engraver could not read its fonts: {}", complaints.join("; "));
            Err(refusal(RefusalKind::Machine, what))
        }
    }

    /// Engraves one part: the systems, and the blobs that go with them (the shared definitions, then one fragment a system).
    ///
    /// # Errors
    /// If the music can't be read, or holds none.
    pub fn engrave(
        &mut self,
        mei: &str,
        ask: &AskEngrave,
        drawing: &Drawing,
    ) -> Result<(Engraved, Vec<Vec<u8>>), Refusal> {
        let (options, mut complaints) = options::options(ask)?;
        let mei = options::breaks(mei, ask.breaks);
        let quiet = Quiet::begin(self.chest.path()).map_err(|error| no_room(&error))?;
        let pages = self.pages(&mei, &options);
        complaints.extend(quiet.end());
        let pages = pages.map_err(|what| {
            let said = complaints.join("; ");
            refusal(
                RefusalKind::Music,
                if said.is_empty() {
                    what.to_owned()
                } else {
                    format!("{what}: {said}")
                },
            )
        })?;
        let (defs, systems) = stack(&pages, ask)?;
        let defs = defs.svg();
        let mut engraved = Engraved {
            systems: Vec::new(),
            complaints,
        };
        let mut blobs = vec![defs.clone().into_bytes()];
        for taken in systems {
            let ink = ask.ink.then(|| ink_of(&taken, &defs, drawing)).transpose()?;
            let bounds = ink.as_ref().and_then(extent).unwrap_or(taken.bounds);
            engraved.systems.push(System {
                bounds,
                staff: taken.staff,
                boxes: taken.boxes,
                ink,
            });
            blobs.push(taken.svg.into_bytes());
        }
        Ok((engraved, blobs))
    }

    fn pages(&mut self, mei: &str, options: &str) -> Result<Vec<String>, &'static str> {
        let mut toolkit = self.toolkit.pin_mut();
        ffi::reset_options(toolkit.as_mut());
        if !ffi::set_options(toolkit.as_mut(), options) {
            return Err("the engraver refused its options");
        }
        ffi::set_input_from(toolkit.as_mut(), "mei");
        if !ffi::load_data(toolkit.as_mut(), mei) {
            return Err("the engraver could not read the music");
        }
        let count = ffi::page_count(toolkit.as_mut());
        if count <= 0 {
            return Err("there is no music in the part");
        }
        Ok((1..=count)
            .map(|page| ffi::render_to_svg(toolkit.as_mut(), page, false))
            .collect())
    }
}

/// All systems of all pages, one below the other.
fn stack(pages: &[String], ask: &AskEngrave) -> Result<(Defs, Vec<Taken>), Refusal> {
    let mut defs = Defs::default();
    let mut systems = Vec::new();
    let mut top = 0.0;
    for page in pages {
        let taken = take::systems(page, top, ask.weights.small_signs, &mut defs)
            .ok_or_else(|| refusal(RefusalKind::Machine, "the engraver's drawing can't be read"))?;
        top = taken
            .iter()
            .map(|system| system.bounds.bottom())
            .fold(top, f64::max)
            .ceil()
            + MARGIN;
        systems.extend(taken);
    }
    if systems.is_empty() {
        return Err(refusal(RefusalKind::Music, "there is no music in the part"));
    }
    Ok((defs, systems))
}

/// The system's ink; looked for in a wider region again if it reaches the edge of the first.
fn ink_of(taken: &Taken, defs: &str, drawing: &Drawing) -> Result<Ink, Refusal> {
    let mut margin = MARGIN;
    loop {
        let region = region(&taken.bounds, margin);
        let [x, y, w, h] = region;
        let picture = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}\" height=\"{h}\" viewBox=\"{x} {y} {w} {h}\">{defs}{}</svg>",
            taken.svg
        );
        let map = ink::map(&drawing.read(&picture)?, region, job::INK_CELL)?;
        if !touches_edge(&map) || margin > 8.0 * MARGIN {
            return Ok(map);
        }
        margin *= 2.0;
    }
}

/// The bounds with a margin, on the grid of the cells.
fn region(bounds: &Rect, margin: f64) -> [f64; 4] {
    let cell = job::INK_CELL;
    let left = ((bounds.x - margin) / cell).floor();
    let top = ((bounds.y - margin) / cell).floor();
    let right = ((bounds.right() + margin) / cell).ceil();
    let bottom = ((bounds.bottom() + margin) / cell).ceil();
    [
        left * cell,
        top * cell,
        (right - left) * cell,
        (bottom - top) * cell,
    ]
}

fn touches_edge(ink: &Ink) -> bool {
    let columns = usize::try_from(ink.columns).unwrap_or(0);
    let cells = ink.cells();
    let rows = || cells.chunks_exact(columns.max(1));
    rows().any(|row| row.first() == Some(&true) || row.last() == Some(&true))
        || rows().next().is_some_and(|row| row.contains(&true))
        || rows().next_back().is_some_and(|row| row.contains(&true))
}

/// The smallest rectangle around all inked cells.
fn extent(ink: &Ink) -> Option<Rect> {
    let columns = usize::try_from(ink.columns).unwrap_or(0);
    let cells = ink.cells();
    let (mut left, mut right, mut top, mut bottom) = (columns, 0, None, 0);
    for (index, row) in cells.chunks_exact(columns.max(1)).enumerate() {
        if let Some(first) = row.iter().position(|inked| *inked) {
            left = left.min(first);
            right = right.max(row.iter().rposition(|inked| *inked).map_or(0, |last| last + 1));
            top = top.or(Some(index));
            bottom = index + 1;
        }
    }
    let at = |cells: usize| f64::from(u32::try_from(cells).unwrap_or(u32::MAX)) * ink.cell;
    top.map(|top| Rect {
        x: ink.x + at(left),
        y: ink.y + at(top),
        w: at(right.saturating_sub(left)),
        h: at(bottom - top),
    })
}

fn no_room(error: &std::io::Error) -> Refusal {
    refusal(
        RefusalKind::Machine,
        format!(
            "there is no room for the engraver's temporary data ({error}); free some disk space, or point TMPDIR at a folder that can be written"
        ),
    )
}
