//! How does a part become engraved systems, each with its boxes and its ink?
//!
//! The engraver draws once, with its boxes in the drawing; they are taken out of the text, which costs a pass over it. It draws
//! few systems a page, because what it looks up in its own drawing takes time that grows with the page squared; the pages are
//! then stacked into one tall coordinate system.

mod cells;
mod frame;
mod glyphs;
mod options;
mod outline;
mod scan;
mod shapes;
mod small;
mod take;
mod words;

use crate::chest::Chest;
use crate::quiet::Quiet;
use crate::refusal;
use crate::svg::Drawing;
use cxx::UniquePtr;
use glyphs::Glyphs;
use job::{AskEngrave, Engraved, Refusal, RefusalKind};
use take::Taken;
use verovio_sys::ffi;

/// How far apart the engraver's pages are stacked, in units.
const BETWEEN_PAGES: f64 = 720.0;

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
        whole(mei)?;
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
        let (glyphs, systems) = stack(&pages, ask)?;
        complaints.extend(
            glyphs
                .missing
                .iter()
                .map(|code| format!("the sign {code} is in no font")),
        );
        let mut engraved = Engraved {
            systems: Vec::new(),
            complaints,
        };
        let mut blobs = vec![glyphs.svg().into_bytes()];
        for taken in systems {
            let (system, svg) = taken.measured(ask.ink, drawing)?;
            engraved.systems.push(system);
            blobs.push(svg.into_bytes());
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

/// Whether the music is a whole document. The engraver takes one that was cut in the middle, and says nothing.
fn whole(mei: &str) -> Result<(), Refusal> {
    match usvg::roxmltree::Document::parse(mei) {
        Ok(_) => Ok(()),
        Err(error) => Err(refusal(
            RefusalKind::Music,
            format!("it is no whole MEI document ({error})"),
        )),
    }
}

/// All systems of all pages, one below the other.
fn stack(pages: &[String], ask: &AskEngrave) -> Result<(Glyphs, Vec<Taken>), Refusal> {
    let mut glyphs = Glyphs::default();
    let mut systems = Vec::new();
    let mut top = 0.0;
    for page in pages {
        glyphs.learn(page);
        let taken = take::systems(page, top, ask.weights.small_signs, &glyphs)
            .ok_or_else(|| refusal(RefusalKind::Machine, "the engraver's drawing can't be read"))?;
        top = taken.iter().map(Taken::bottom).fold(top, f64::max).ceil() + BETWEEN_PAGES;
        systems.extend(taken);
    }
    if !systems.iter().any(Taken::has_staff) {
        return Err(refusal(RefusalKind::Music, "there is no music in the part"));
    }
    Ok((glyphs, systems))
}

fn no_room(error: &std::io::Error) -> Refusal {
    refusal(
        RefusalKind::Machine,
        format!(
            "there is no room for the engraver's temporary data ({error}); free some disk space, or point TMPDIR at a folder that can be written"
        ),
    )
}
