//! What do the signs mean? A block in the teacher's own hand: each sign as it is drawn on the part, her words beside it.

use super::Drawn;
use super::glyphs;
use super::hand::Hand;
use super::letters;
use super::sample::{self, class};
use super::sketch::Sketch;
use crate::look::Look;
use job::{Rect, STAFF_SPACE as SPACE};
use notation::PencilMeaning;

/// The letters' size, and from line to line, in staff spaces.
const SIZE: f64 = 1.5;
const LINE: f64 = 1.9;
/// Room for a sign, in staff spaces.
const SIGN: f64 = 5.0;
/// The narrowest column of signs and words, in staff spaces.
const COLUMN: f64 = 30.0;
/// Between entries and columns, in staff spaces.
const BETWEEN: f64 = 1.0;

/// What the signs mean, as a block whose upper left corner is at 0, 0 and that is at most so many units wide; `None` if the
/// look asks for none. (`mark` of the answer means nothing.)
#[must_use]
pub fn legend_block(look: &Look, width: f64) -> Option<Drawn> {
    if look.legend.is_empty() {
        return None;
    }
    let mut columns = 1.0;
    while columns < 3.0 && width >= (columns + 1.0) * COLUMN * SPACE {
        columns += 1.0;
    }
    let column = width / columns - BETWEEN * SPACE;
    let mut hand = Hand::new(5);
    let (mut svg, mut bottom, mut right) = (String::new(), 0.0_f64, 0.0_f64);
    let mut row = Row::default();
    for line in &look.legend {
        let heading = is_heading(line);
        if heading || row.at >= columns {
            row = row.below();
        }
        let corner = (row.at * width / columns, row.top);
        let sketches = entry(line, corner, if heading { width } else { column }, &mut hand);
        for (class, sketch) in sketches {
            if let Some(ink) = sketch.bounds() {
                row.bottom = row.bottom.max(ink.bottom());
                bottom = bottom.max(ink.bottom());
                right = right.max(ink.right());
            }
            svg.push_str(&format!("<g class=\"{class}\">{}</g>", sketch.svg()));
        }
        row.at = if heading { columns } else { row.at + 1.0 };
    }
    Some(Drawn {
        mark: 0,
        svg: format!("<g class=\"legend\">{svg}</g>"),
        rect: Rect {
            x: 0.0,
            y: 0.0,
            w: right.min(width),
            h: bottom,
        },
    })
}

/// Where the next entry stands.
#[derive(Clone, Copy, Default)]
struct Row {
    /// Its column.
    at: f64,
    top: f64,
    bottom: f64,
}

impl Row {
    fn below(self) -> Self {
        let started = self.bottom > 0.0;
        let top = if started {
            self.bottom + BETWEEN * SPACE
        } else {
            0.0
        };
        Self {
            at: 0.0,
            top,
            bottom: top,
        }
    }
}

/// A line of no sign and no colour is the block's heading.
fn is_heading(line: &PencilMeaning) -> bool {
    line.sign.is_none() && line.pencil == notation::Pencil::Graphite
}

/// The sign and its words, each with its class; the upper left corner is given.
fn entry(line: &PencilMeaning, (x, y): (f64, f64), width: f64, hand: &mut Hand) -> Vec<(String, Sketch)> {
    let mut done = Vec::new();
    let heading = is_heading(line);
    let size = if heading { 1.25 * SIZE } else { SIZE } * SPACE;
    let words_from = if heading { x } else { x + SIGN * SPACE };
    let first = y + 1.5 * SPACE;
    if !heading {
        let sign = sample::drawn(line.sign);
        if let Some(ink) = sign.bounds() {
            // Its middle on the middle of the letters; never above the block.
            let over = (first - 0.4 * size - ink.h / 2.0).max(y);
            let aside = x + ((SIGN - 1.0) * SPACE - ink.w).max(0.0) / 2.0;
            done.push((
                class(line.sign, line.pencil),
                sign.moved(aside - ink.x, over - ink.y),
            ));
        }
    }
    let mut words = Sketch::default();
    let room = width - (words_from - x);
    let mut lines = 0;
    for (text, at) in wrapped(&line.words, room, size).into_iter().zip(0..) {
        let down = first + f64::from(at) * LINE * SPACE;
        words.add(letters::written(&text, words_from, down, size, hand));
        lines = at;
    }
    if heading {
        let down = first + f64::from(lines) * LINE * SPACE + 0.5 * SPACE;
        let long = letters::width(&line.words, size).min(room);
        words.line(hand, &[(x, down), (x + long, down)], glyphs::LINE * SPACE, 0.3);
    }
    done.push(("mark mark-meaning pencil-graphite".to_owned(), words));
    done
}

/// Words in lines no wider than the room; a word wider than that has a line of its own.
fn wrapped(text: &str, room: f64, size: f64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match lines.last_mut() {
            Some(line) if letters::width(&format!("{line} {word}"), size) <= room => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;
    use notation::{Pencil, PencilSign};

    fn meaning(sign: Option<PencilSign>, pencil: Pencil, words: &str) -> PencilMeaning {
        PencilMeaning {
            sign,
            pencil,
            words: words.to_owned(),
        }
    }

    #[test]
    fn a_block_says_every_sign_and_stays_within_its_width() {
        let mut look = Look {
            legend: vec![meaning(None, Pencil::Graphite, "What the pencil says")],
            ..Look::default()
        };
        assert!(look.legend.len() == 1);
        for sign in PencilSign::ALL {
            let words =
                "what it means, in so many words that they go on to a second line, and to a third perhaps";
            look.legend.push(meaning(Some(sign), Pencil::First, words));
        }
        look.legend.push(meaning(None, Pencil::Second, "blue: air"));
        for width in [6000.0, 12_000.0, 20_000.0] {
            let block = legend_block(&look, width).expect("a block");
            assert!(block.rect.w <= width && block.rect.h > 1000.0, "{:?}", block.rect);
            for sign in PencilSign::ALL {
                assert!(block.svg.contains(&sign.class()), "{sign:?}");
            }
        }
        look.legend.clear();
        assert_eq!(legend_block(&look, 9000.0), None);
    }
}
