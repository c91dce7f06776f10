//! Which systems are in one page of the engraver's drawing, and what is where in them? The drawing itself is measured: the
//! engraver's own boxes are missing for words, wrong for hairpins over a line's end, and make its drawing slower.

use super::cells::Cells;
use super::frame::{Extent, Frame, extent};
use super::glyphs::Glyphs;
use super::outline::{Outline, Place};
use super::scan::{Piece, Scan, Tag};
use super::{small, words};
use crate::svg::Drawing;
use job::{Boxed, Rect, Refusal, System};
use std::fmt::Write;

/// One system out of the drawing.
pub struct Taken {
    /// `<g class="system">…</g>`.
    svg: String,
    staff: Option<Rect>,
    slots: Vec<Slot>,
    outlines: Vec<Outline>,
    texts: Vec<Text>,
}

/// The box of an element, once something is drawn for it.
struct Slot {
    boxed: Boxed,
    rect: Option<Rect>,
}

/// Words, and whose boxes they widen.
struct Text {
    svg: String,
    slots: Vec<usize>,
    place: Place,
}

/// The systems of one page, moved down by `top`. `None` if the page is none of the engraver's.
pub fn systems(page: &str, top: f64, small_signs: f64, glyphs: &Glyphs) -> Option<Vec<Taken>> {
    let mut scan = Scan::new(page);
    let mut systems = Vec::new();
    while let Some(piece) = scan.next() {
        match piece {
            Piece::Open(tag) if tag.name == "style" => {
                scan.until("</style>")?;
            }
            Piece::Open(tag) if tag.class() == "system" => {
                systems.push(Taking::new(top, small_signs, glyphs).system(&tag, &mut scan)?);
            }
            _ => {}
        }
    }
    Some(systems)
}

impl Taken {
    /// The lower edge of what is known before words are measured.
    pub fn bottom(&self) -> f64 {
        let boxes = self.slots.iter().filter_map(|slot| slot.rect).chain(self.staff);
        boxes.map(|rect| rect.bottom()).fold(0.0, f64::max)
    }

    /// Whether there is a staff in it.
    pub fn has_staff(&self) -> bool {
        self.staff.is_some()
    }

    /// Measures the words; the system with its drawing.
    ///
    /// # Errors
    /// If the words can't be read.
    pub fn measured(mut self, ink: bool, drawing: &Drawing) -> Result<(System, String), Refusal> {
        let texts: Vec<String> = self.texts.iter().map(|text| text.svg.clone()).collect();
        let outlines = words::outlines(&texts, fonts::TEXT_FAMILY, drawing)?;
        for (text, outlines) in self.texts.iter().zip(outlines) {
            for outline in outlines {
                let outline = outline.placed(&text.place);
                if let Some(rect) = outline.bounds() {
                    for slot in &text.slots {
                        widen(&mut self.slots, *slot, &rect);
                    }
                }
                self.outlines.push(outline);
            }
        }
        let drawn = self.outlines.iter().filter_map(Outline::bounds);
        let bounds = drawn.reduce(|all, rect| all.around(&rect)).unwrap_or_default();
        let ink = ink
            .then(|| Cells::over(&bounds, job::INK_CELL))
            .flatten()
            .map(|mut cells| {
                self.outlines.iter().for_each(|outline| cells.fill(outline));
                cells.ink()
            });
        let boxes = self.slots.into_iter().filter_map(|slot| {
            let rect = slot.rect?;
            Some(Boxed { rect, ..slot.boxed })
        });
        let system = System {
            bounds,
            staff: self.staff.unwrap_or(bounds),
            boxes: boxes.collect(),
            ink,
        };
        Ok((system, self.svg))
    }
}

fn widen(slots: &mut [Slot], slot: usize, rect: &Rect) {
    if let Some(slot) = slots.get_mut(slot) {
        slot.rect = Some(slot.rect.map_or(*rect, |known| known.around(rect)));
    }
}

/// What the engraver's own style sheet says, as attributes: a strict content-security policy allows no style sheet here.
fn look(tag: &Tag<'_>) -> &'static str {
    if tag.name == "text" {
        return " stroke=\"none\"";
    }
    if tag.get("font-weight").or_else(|| tag.get("font-style")).is_some() {
        return "";
    }
    match tag.class() {
        "ending" | "fing" | "reh" | "tempo" => " font-weight=\"bold\"",
        "dir" | "dynam" | "mNum" => " font-style=\"italic\"",
        "label" => " font-weight=\"normal\"",
        _ => "",
    }
}

/// A system being taken.
struct Taking<'g, 'a> {
    top: f64,
    small_signs: f64,
    glyphs: &'g Glyphs,
    frames: Vec<Frame<'a>>,
    taken: Taken,
}

impl<'g, 'a> Taking<'g, 'a> {
    fn new(top: f64, small_signs: f64, glyphs: &'g Glyphs) -> Taking<'g, 'a> {
        Taking {
            top,
            small_signs,
            glyphs,
            frames: Vec::new(),
            taken: Taken {
                svg: String::new(),
                staff: None,
                slots: Vec::new(),
                outlines: Vec::new(),
                texts: Vec::new(),
            },
        }
    }

    fn system(mut self, tag: &Tag<'a>, scan: &mut Scan<'a>) -> Option<Taken> {
        let id = tag.get("id").unwrap_or("");
        // Writing to a string can't fail.
        let _ = write!(
            self.taken.svg,
            "<g class=\"system\" id=\"{id}\" color=\"black\" fill=\"currentColor\" stroke=\"currentColor\" \
             font-family=\"{}, serif\">",
            fonts::TEXT_FAMILY
        );
        if self.top > 0.0 {
            let _ = write!(self.taken.svg, "<g transform=\"translate(0 {})\">", self.top);
        }
        let page = Place([1.0, 0.0, 0.0, 1.0, 0.0, self.top]);
        self.frames.push(Frame::system(page));
        while !self.frames.is_empty() {
            match scan.next()? {
                Piece::Words(words) => self.taken.svg.push_str(words),
                // What is only there to be heard.
                Piece::Open(tag) if tag.class() == "annot" => skip(scan)?,
                Piece::Open(tag) if tag.name == "text" => self.text(&tag, scan)?,
                Piece::Open(tag) => self.open(&tag),
                Piece::Empty(tag) => self.draw(&tag),
                Piece::Close(name) => {
                    let _ = write!(self.taken.svg, "</{name}>");
                    self.frames.pop();
                }
            }
        }
        if self.top > 0.0 {
            self.taken.svg.push_str("</g>");
        }
        Some(self.taken)
    }

    fn open(&mut self, tag: &Tag<'a>) {
        let look = look(tag);
        let _ = write!(self.taken.svg, "<{}{}{look}>", tag.name, tag.attributes);
        let Some(around) = self.frames.last() else { return };
        let mut frame = Frame::inside(around, tag, look);
        if extent(frame.class) != Extent::Nothing && !frame.id.is_empty() {
            frame.slot = Some(self.taken.slots.len());
            self.taken.slots.push(Slot {
                boxed: Boxed {
                    id: frame.id.to_owned(),
                    class: frame.class.to_owned(),
                    measure: frame.measure.to_owned(),
                    rect: Rect::default(),
                },
                rect: None,
            });
        }
        self.frames.push(frame);
    }

    /// Lines and glyphs; not what was put there only to be clicked.
    fn draw(&mut self, tag: &Tag<'a>) {
        if tag.name == "g" || tag.class() == "sylTextRect" {
            return;
        }
        let Some(frame) = self.frames.last() else { return };
        let Some(outline) = self.glyphs.outline(tag) else {
            let _ = write!(self.taken.svg, "<{}{}/>", tag.name, tag.attributes);
            return;
        };
        let class = frame.class;
        let larger = (class == "artic" && (self.small_signs - 1.0).abs() > 1e-9)
            .then(|| small::larger(tag, &outline, self.small_signs))
            .flatten();
        let (outline, attributes) = match &larger {
            Some((outline, attributes)) => (outline, attributes.as_str()),
            None => (&outline, tag.attributes),
        };
        let _ = write!(self.taken.svg, "<{}{attributes}/>", tag.name);
        let outline = outline.placed(&frame.place);
        if let Some(rect) = outline.bounds() {
            if class == "staff" && tag.name == "path" {
                self.staff_line(tag);
            }
            for slot in self.slots() {
                widen(&mut self.taken.slots, slot, &rect);
            }
        }
        self.taken.outlines.push(outline);
    }

    /// The boxes that what is drawn now belongs to: that of the element itself, and those around it that take in all.
    fn slots(&self) -> Vec<usize> {
        let mut slots = Vec::new();
        let mut inner = "";
        for (depth, frame) in self.frames.iter().rev().enumerate() {
            let counts = match extent(frame.class) {
                Extent::All => true,
                Extent::Own => depth == 0,
                Extent::Heads => matches!(inner, "notehead" | "note") && self.in_head(),
                Extent::Staff | Extent::Nothing => false,
            };
            if let (true, Some(slot)) = (counts, frame.slot) {
                slots.push(slot);
            }
            inner = frame.class;
        }
        slots
    }

    fn in_head(&self) -> bool {
        self.frames.iter().any(|frame| frame.class == "notehead")
    }

    /// A line of the staff widens the boxes of its staff, its measure and the system's staff.
    fn staff_line(&mut self, tag: &Tag<'a>) {
        let line = tag.get("d").map(|path| Outline::of_path(path, 1.0));
        let Some(frame) = self.frames.last() else { return };
        let Some(rect) = line.and_then(|line| line.placed(&frame.place).bounds()) else {
            return;
        };
        self.taken.staff = Some(self.taken.staff.map_or(rect, |known| known.around(&rect)));
        for frame in &self.frames {
            if let (Extent::Staff, Some(slot)) = (extent(frame.class), frame.slot) {
                widen(&mut self.taken.slots, slot, &rect);
            }
        }
    }

    /// `<text>…</text>`, with the looks that what is around it gives it.
    fn text(&mut self, tag: &Tag<'a>, scan: &mut Scan<'a>) -> Option<()> {
        let inside = scan.until("</text>")?;
        let text = format!("<text{}{}>{inside}</text>", tag.attributes, look(tag));
        self.taken.svg.push_str(&text);
        let looks = self
            .frames
            .iter()
            .map(|frame| frame.looks.as_str())
            .filter(|looks| !looks.is_empty());
        let svg = looks
            .collect::<Vec<_>>()
            .iter()
            .rev()
            .fold(text, |inner, looks| format!("<g{looks}>{inner}</g>"));
        let place = self.frames.last().map_or(Place::HERE, |frame| frame.place);
        let slots = self.slots();
        self.taken.texts.push(Text { svg, slots, place });
        Some(())
    }
}

/// Leaves out an element that has just been opened.
fn skip(scan: &mut Scan<'_>) -> Option<()> {
    let mut depth = 1;
    while depth > 0 {
        match scan.next()? {
            Piece::Open(_) => depth += 1,
            Piece::Close(_) => depth -= 1,
            Piece::Empty(_) | Piece::Words(_) => {}
        }
    }
    Some(())
}
