//! Which systems, boxes and staff lines are in one page of the engraver's drawing?

use super::scan::{Piece, Scan, Tag};
use super::small;
use job::{Boxed, Rect};
use std::collections::BTreeSet;
use std::fmt::Write;

/// The definitions (glyphs) that systems refer to, each once, in the order of first use.
#[derive(Default)]
pub struct Defs {
    known: BTreeSet<String>,
    symbols: String,
}

/// One system out of the drawing.
pub struct Taken {
    /// `<g class="system">…</g>`, without boxes.
    pub svg: String,
    /// Around all boxes.
    pub bounds: Rect,
    /// Around its staff lines.
    pub staff: Rect,
    /// Its boxes.
    pub boxes: Vec<Boxed>,
}

impl Defs {
    /// As one element.
    pub fn svg(&self) -> String {
        format!("<defs>{}</defs>", self.symbols)
    }

    fn take(&mut self, inside: &str) {
        for symbol in inside.split_inclusive("</g>") {
            let id = Scan::new(symbol).find_map(|piece| match piece {
                Piece::Open(tag) => tag.get("id"),
                _ => None,
            });
            if id.is_some_and(|id| self.known.insert(id.to_owned())) {
                self.symbols.push_str(symbol);
            }
        }
    }
}

/// The systems of one page, moved down by `top`. `None` if the page is none of the engraver's.
pub fn systems(page: &str, top: f64, small_signs: f64, defs: &mut Defs) -> Option<Vec<Taken>> {
    let mut scan = Scan::new(page);
    let mut systems = Vec::new();
    while let Some(piece) = scan.next() {
        match piece {
            Piece::Open(tag) if tag.name == "defs" => defs.take(scan.until("</defs>")?),
            Piece::Open(tag) if tag.name == "style" => {
                scan.until("</style>")?;
            }
            Piece::Open(tag) if tag.class() == "system" => {
                systems.push(Taking::new(top, small_signs).system(&tag, &mut scan)?);
            }
            _ => {}
        }
    }
    Some(systems)
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

/// An element that is open.
struct Frame<'a> {
    class: &'a str,
    id: &'a str,
    rect: Option<Rect>,
}

/// A system being taken.
struct Taking<'a> {
    top: f64,
    small_signs: f64,
    svg: String,
    boxes: Vec<Boxed>,
    staff: Option<Rect>,
    measure_staff: Option<Rect>,
    frames: Vec<Frame<'a>>,
}

impl<'a> Taking<'a> {
    fn new(top: f64, small_signs: f64) -> Taking<'a> {
        Taking {
            top,
            small_signs,
            svg: String::new(),
            boxes: Vec::new(),
            staff: None,
            measure_staff: None,
            frames: Vec::new(),
        }
    }

    fn system(mut self, tag: &Tag<'a>, scan: &mut Scan<'a>) -> Option<Taken> {
        let id = tag.get("id").unwrap_or("");
        // Writing to a string can't fail.
        let _ = write!(
            self.svg,
            "<g class=\"system\" id=\"{id}\" color=\"black\" fill=\"currentColor\" stroke=\"currentColor\" \
             font-family=\"{}, serif\">",
            fonts::TEXT_FAMILY
        );
        if self.top > 0.0 {
            let _ = write!(self.svg, "<g transform=\"translate(0 {})\">", self.top);
        }
        self.open(tag);
        while !self.frames.is_empty() {
            match scan.next()? {
                Piece::Words(words) => self.svg.push_str(words),
                Piece::Open(tag) if tag.get("id").is_some_and(|id| id.starts_with("bbox-")) => {
                    self.take_box(&tag, scan)?;
                }
                Piece::Open(tag) => {
                    let look = look(&tag);
                    let _ = write!(self.svg, "<{}{}{look}>", tag.name, tag.attributes);
                    self.open(&tag);
                }
                Piece::Empty(tag) => self.draw(&tag),
                Piece::Close(name) => self.close(name),
            }
        }
        if self.top > 0.0 {
            self.svg.push_str("</g>");
        }
        let bounds = self.boxes.iter().map(|boxed| boxed.rect).chain(self.staff);
        let bounds = bounds.reduce(|all, rect| all.around(&rect)).unwrap_or_default();
        Some(Taken {
            svg: self.svg,
            bounds,
            staff: self.staff.unwrap_or(bounds),
            boxes: self.boxes,
        })
    }

    fn open(&mut self, tag: &Tag<'a>) {
        if tag.class() == "measure" {
            self.measure_staff = None;
        }
        self.frames.push(Frame {
            class: tag.class(),
            id: tag.get("id").unwrap_or(""),
            rect: None,
        });
    }

    fn close(&mut self, name: &str) {
        let _ = write!(self.svg, "</{name}>");
        let Some(frame) = self.frames.pop() else { return };
        if let (true, Some(rect)) = (frame.class == "measure", self.measure_staff) {
            self.boxes.push(boxed(frame.id, "measure", frame.id, rect));
        }
    }

    /// What is drawn: lines, glyphs, and what was put there only to be clicked.
    fn draw(&mut self, tag: &Tag<'a>) {
        let class = self.frames.last().map_or("", |frame| frame.class);
        match tag.name {
            // Nothing is drawn.
            "g" => return,
            "rect" if tag.class() == "sylTextRect" => return,
            "path" if class == "staff" => self.staff_line(tag),
            "use" if class == "artic" && (self.small_signs - 1.0).abs() > 1e-9 => {
                if let Some(attributes) = self.larger(tag) {
                    let _ = write!(self.svg, "<use{attributes}/>");
                    return;
                }
            }
            _ => {}
        }
        let _ = write!(self.svg, "<{}{}/>", tag.name, tag.attributes);
    }

    fn staff_line(&mut self, tag: &Tag<'a>) {
        let Some([x1, y1, x2, y2]) = tag.get("d").and_then(line) else {
            return;
        };
        let rect = Rect {
            x: x1.min(x2),
            y: y1.min(y2) + self.top,
            w: (x2 - x1).abs(),
            h: (y2 - y1).abs(),
        };
        for staff in [&mut self.staff, &mut self.measure_staff] {
            *staff = Some(staff.map_or(rect, |known| known.around(&rect)));
        }
    }

    /// The engraver's box of the element that is open now: `<g id="bbox-…"><rect …/></g>`.
    fn take_box(&mut self, tag: &Tag<'a>, scan: &mut Scan<'a>) -> Option<()> {
        let mut rect = None;
        loop {
            match scan.next()? {
                Piece::Empty(inner) if inner.name == "rect" => {
                    rect = Some(Rect {
                        x: inner.number("x")?,
                        y: inner.number("y")? + self.top,
                        w: inner.number("width")?,
                        h: inner.number("height")?,
                    });
                }
                Piece::Close("g") => break,
                _ => {}
            }
        }
        let Some(rect) = rect else { return Some(()) };
        if let Some(frame) = self.frames.last_mut() {
            frame.rect = Some(rect);
        }
        let class = tag.class();
        if !UNTOLD.contains(&class) {
            let id = tag
                .get("id")
                .and_then(|id| id.strip_prefix("bbox-"))
                .unwrap_or("");
            let measure = self.frames.iter().rev().find(|frame| frame.class == "measure");
            self.boxes
                .push(boxed(id, class, measure.map_or("", |frame| frame.id), rect));
        }
        Some(())
    }

    /// The attributes of an articulation's glyph, larger than the engraver can draw it; its box grows with it.
    fn larger(&mut self, tag: &Tag<'a>) -> Option<String> {
        let sign = self.frames.last()?.rect?;
        let note = self.frames.iter().rev().skip(1).find_map(|frame| frame.rect)?;
        let (rect, attributes) = small::larger(tag, &sign, &note, self.small_signs, self.top)?;
        let id = self.frames.last()?.id;
        if let Some(boxed) = self.boxes.iter_mut().rev().find(|boxed| boxed.id == id) {
            boxed.rect = rect;
        }
        Some(attributes)
    }
}

/// Parts of a line of text, told by the box around it.
const UNTOLD: [&str; 4] = ["text", "rend", "lb", "measure"];

fn boxed(id: &str, class: &str, measure: &str, rect: Rect) -> Boxed {
    Boxed {
        id: id.to_owned(),
        class: class.to_owned(),
        measure: measure.to_owned(),
        rect,
    }
}

/// `M1 2 L3 4`
fn line(path: &str) -> Option<[f64; 4]> {
    let numbers: Vec<f64> = path
        .split(['M', 'L', ' ', ','])
        .filter(|word| !word.is_empty())
        .map_while(|word| word.parse().ok())
        .collect();
    numbers.try_into().ok()
}
