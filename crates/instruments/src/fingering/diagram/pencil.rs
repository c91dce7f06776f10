//! What are diagrams drawn with? A few thin strokes: holes, key marks, lines, letters.
//!
//! Monochrome in the text's own colour, so that they print and follow a dark screen; no styles, so that a strict page
//! may hold them.

use std::fmt::Write;

/// How much of a hole is covered.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Cover {
    Open,
    Half,
    Closed,
}

/// On which side of its point a frame stands.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Stands {
    Before,
    On,
    After,
}

/// An SVG in the making; lengths in its own units, 10 to a staff space at the usual size.
pub(super) struct Drawing {
    width: i32,
    height: i32,
    body: String,
}

impl Drawing {
    pub(super) fn new(width: i32, height: i32) -> Self {
        Self {
            width,
            height,
            body: String::new(),
        }
    }

    /// A hole: an open, half filled (its left half) or filled circle.
    pub(super) fn hole(&mut self, x: i32, y: i32, radius: i32, cover: Cover) {
        let fill = if cover == Cover::Closed {
            "currentColor"
        } else {
            "none"
        };
        self.put(format_args!(
            r#"<circle cx="{x}" cy="{y}" r="{radius}" fill="{fill}"/>"#
        ));
        if cover == Cover::Half {
            let (top, bottom) = (y - radius, y + radius);
            self.put(format_args!(
                r#"<path d="M{x} {top}A{radius} {radius} 0 0 0 {x} {bottom}Z" fill="currentColor"/>"#
            ));
        }
    }

    /// A key pressed: its name in a rounded frame that stands by `x`; dashed where it may be left out.
    pub(super) fn key(&mut self, x: i32, y: i32, name: &str, stands: Stands, optional: bool) {
        let letters = i32::try_from(name.chars().count()).unwrap_or(0);
        let width = 52 * letters + 56;
        let left = match stands {
            Stands::Before => x - width,
            Stands::On => x - width / 2,
            Stands::After => x,
        };
        let top = y - 70;
        let dashes = if optional {
            r#" stroke-dasharray="22 18""#
        } else {
            ""
        };
        self.put(format_args!(
            r#"<rect x="{left}" y="{top}" width="{width}" height="140" rx="55"{dashes} fill="none"/>"#
        ));
        self.text(left + width / 2, y + 38, 108, name);
    }

    pub(super) fn line(&mut self, from: (i32, i32), to: (i32, i32)) {
        let ((x, y), (u, v)) = (from, to);
        self.put(format_args!(r#"<path d="M{x} {y}L{u} {v}" fill="none"/>"#));
    }

    /// Letters with their middle at `x` and their foot at `y`.
    pub(super) fn text(&mut self, x: i32, y: i32, size: i32, text: &str) {
        self.put(format_args!(
            r#"<text x="{x}" y="{y}" font-size="{size}" text-anchor="middle" fill="currentColor" stroke="none">{}</text>"#,
            escaped(text)
        ));
    }

    fn put(&mut self, arguments: std::fmt::Arguments<'_>) {
        // Writing into a string can't fail.
        let _ = self.body.write_fmt(arguments);
    }

    /// The whole, with what it shows in words.
    pub(super) fn finish(self, title: &str) -> String {
        let Self { width, height, body } = self;
        let (w, h) = (width / 10, height / 10);
        format!(
            concat!(
                r#"<svg xmlns="http://www.w3.org/2000/svg" class="fingering" role="img" width="{}" height="{}" "#,
                r#"viewBox="0 0 {} {}" stroke="currentColor" stroke-width="12" stroke-linecap="round" "#,
                r#"font-family="Georgia, 'Times New Roman', serif"><title>{}</title>{}</svg>"#
            ),
            w,
            h,
            width,
            height,
            escaped(title),
            body
        )
    }
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;")
}
