//! Which words stand where in a system's drawing? The engraver gives words no box of their own.
//!
//! A scanner, no XML reader: it knows what the press writes.

use crate::text::width;
use job::Rect;

/// Words of one element.
#[derive(Clone, PartialEq, Debug)]
pub(crate) struct Words {
    /// The element's id.
    pub id: String,
    /// The element's class.
    pub class: String,
    /// The id of the measure it stands in; may be empty.
    pub measure: String,
    /// Around all its lines.
    pub rect: Rect,
    /// They end at their place instead of beginning there.
    pub ends_at_place: bool,
}

/// The height of letters above their line and below it, in units of their size.
const ASCENT: f64 = 0.72;
const DESCENT: f64 = 0.24;
/// A music glyph among words (a note of a metronome mark), in units of its size.
const GLYPH: f64 = 0.42;

struct Open<'a> {
    tag: Tag<'a>,
    x: f64,
    y: f64,
}

/// All words in a drawing, in its order.
pub(crate) fn texts(svg: &str) -> Vec<Words> {
    let mut found: Vec<Words> = Vec::new();
    let mut open: Vec<Open<'_>> = Vec::new();
    let mut rest = svg;
    while let Some((tag, after)) = next(rest) {
        rest = after;
        if tag.closes {
            open.pop();
            continue;
        }
        if tag.name == "text" {
            let inside = rest.split("</text>").next().unwrap_or("");
            rest = rest.get(inside.len() + "</text>".len()..).unwrap_or("");
            if let Some(words) = words(&tag, inside, &open) {
                match found.iter_mut().find(|known| known.id == words.id) {
                    Some(known) => known.rect = known.rect.around(&words.rect),
                    None => found.push(words),
                }
            }
            continue;
        }
        if !tag.empty {
            let (x, y) = tag.moved();
            let base = open.last().map_or((0.0, 0.0), |outer| (outer.x, outer.y));
            open.push(Open {
                tag,
                x: base.0 + x,
                y: base.1 + y,
            });
        }
    }
    found
}

fn words(tag: &Tag<'_>, inside: &str, open: &[Open<'_>]) -> Option<Words> {
    let owner = open.iter().rev().find(|outer| outer.tag.get("id").is_some())?;
    let measure = open.iter().rev().find(|outer| outer.tag.class() == "measure");
    let base = open.last().map_or((0.0, 0.0), |outer| (outer.x, outer.y));
    let rect = lines(tag, inside)?;
    Some(Words {
        id: owner.tag.get("id").unwrap_or("").to_owned(),
        class: owner.tag.class().to_owned(),
        measure: measure
            .and_then(|outer| outer.tag.get("id"))
            .unwrap_or("")
            .to_owned(),
        rect: Rect {
            x: rect.x + base.0,
            y: rect.y + base.1,
            ..rect
        },
        ends_at_place: tag.get("text-anchor") == Some("end"),
    })
}

/// The box of a text element's lines; `None` if it says nothing.
fn lines(text: &Tag<'_>, inside: &str) -> Option<Rect> {
    let anchor = text.get("text-anchor").unwrap_or("start").to_owned();
    let (mut x, mut y) = (text.number("x").unwrap_or(0.0), text.number("y").unwrap_or(0.0));
    let mut sizes: Vec<(f64, bool)> = vec![(text.number("font-size").unwrap_or(0.0), false)];
    let (mut across, mut size) = (0.0_f64, 0.0_f64);
    let mut all: Option<Rect> = None;
    let mut close = |x: f64, y: f64, across: f64, size: f64| {
        if across <= 0.0 {
            return;
        }
        let left = match anchor.as_str() {
            "middle" => x - across / 2.0,
            "end" => x - across,
            _ => x,
        };
        let rect = Rect {
            x: left,
            y: y - ASCENT * size,
            w: across,
            h: (ASCENT + DESCENT) * size,
        };
        all = Some(all.map_or(rect, |known| known.around(&rect)));
    };
    let mut rest = inside;
    loop {
        let said = rest.split('<').next().unwrap_or("");
        let (now, music) = sizes.last().copied().unwrap_or_default();
        let said_plain = plain(said);
        if !said_plain.is_empty() {
            let letters = if music {
                GLYPH * f64::from(u32::try_from(said_plain.chars().count()).unwrap_or(u32::MAX))
            } else {
                width(&said_plain)
            };
            across += letters * now;
            // A note among words is as high as they are.
            size = size.max(if music { 0.7 * now } else { now });
        }
        let Some((tag, after)) = next(rest) else { break };
        rest = after;
        if tag.closes {
            sizes.pop();
        } else if !tag.empty {
            if tag.number("x").is_some() || tag.number("y").is_some() {
                close(x, y, across, size);
                (across, size) = (0.0, 0.0);
                x = tag.number("x").unwrap_or(x);
                y = tag.number("y").unwrap_or(y);
            }
            if let Some(down) = tag.number("dy") {
                close(x, y, across, size);
                (across, size) = (0.0, 0.0);
                y += down;
            }
            let (outer, music) = sizes.last().copied().unwrap_or_default();
            let music = tag
                .get("font-family")
                .map_or(music, |family| family == fonts::MUSIC_FAMILY);
            sizes.push((tag.number("font-size").unwrap_or(outer), music));
        }
    }
    close(x, y, across, size);
    all
}

fn plain(text: &str) -> String {
    text.replace("&amp;", "&")
        .replace("&lt;", "<")
        .replace("&gt;", ">")
        .replace("&quot;", "\"")
}

/// One tag.
#[derive(Clone, Copy)]
pub(super) struct Tag<'a> {
    pub name: &'a str,
    attributes: &'a str,
    pub closes: bool,
    pub empty: bool,
}

/// The next tag, and what follows it.
pub(super) fn next(text: &str) -> Option<(Tag<'_>, &str)> {
    let start = text.find('<')?;
    let inside = text.get(start + 1..)?;
    let end = inside.find('>')?;
    let whole = inside.get(..end)?;
    let after = inside.get(end + 1..)?;
    let closes = whole.starts_with('/');
    let empty = whole.ends_with('/');
    let body = whole.trim_matches('/');
    let name_end = body.find(char::is_whitespace).unwrap_or(body.len());
    let (name, attributes) = body.split_at_checked(name_end)?;
    Some((
        Tag {
            name,
            attributes,
            closes,
            empty,
        },
        after,
    ))
}

impl<'a> Tag<'a> {
    /// The value of an attribute.
    pub fn get(&self, name: &str) -> Option<&'a str> {
        let mut rest = self.attributes;
        loop {
            let at = rest.find('=')?;
            let (key, after) = rest.split_at_checked(at)?;
            let value = after.get(2..)?;
            let end = value.find('"')?;
            if key.trim() == name {
                return value.get(..end);
            }
            rest = value.get(end + 1..)?;
        }
    }

    /// The first word of its class.
    pub fn class(&self) -> &'a str {
        self.get("class").unwrap_or("").split(' ').next().unwrap_or("")
    }

    fn number(&self, name: &str) -> Option<f64> {
        self.get(name)?.trim_end_matches("px").parse().ok()
    }

    /// How far a `translate` moves what is in it.
    fn moved(&self) -> (f64, f64) {
        let read = || {
            let inside = self.get("transform")?.strip_prefix("translate(")?;
            let inside = inside.split(')').next()?;
            let mut numbers = inside.split([',', ' ']).filter(|word| !word.is_empty());
            Some((
                numbers.next()?.parse().ok()?,
                numbers.next().map_or(Some(0.0), |y| y.parse().ok())?,
            ))
        };
        read().unwrap_or((0.0, 0.0))
    }
}
