//! What words stand around the music? Title block on page one, running title and page number on the others, foot lines.

use super::sheet::Sheet;
use crate::look::{Edition, Look};
use crate::text::{lines, number, width, with_accidentals};
use notation::Piece;
use std::fmt::Write;

/// Sizes of words, in millimetres. Source: common practice of printed parts (title about 18 points, names about 11).
const TITLE_MM: f64 = 6.6;
const SUBTITLE_MM: f64 = 4.6;
const NAME_MM: f64 = 4.0;
const SMALL_MM: f64 = 3.3;

/// What programs call a part that has no name.
const NO_NAMES: [&str; 2] = ["MusicXML Part", "Part 1"];

/// Words on a page, and how much room they take.
#[derive(Clone, PartialEq, Debug, Default)]
pub(crate) struct Words {
    /// SVG text elements.
    pub svg: String,
    /// The pencilled ones (the order of playing).
    pub pencilled: String,
    /// Where music may begin, from the upper edge, in units.
    pub lowest: f64,
}

/// Where a line of words holds on.
#[derive(Clone, Copy)]
pub(super) enum Hold {
    Left,
    Middle,
    Right,
}

/// What the words of a part are.
pub(crate) struct Names {
    pub title: String,
    pub subtitle: Option<String>,
    pub part: String,
    /// Right of the title block, one line each: composer, arranger …
    pub people: Vec<String>,
    pub rights: Vec<String>,
}

impl Names {
    /// The names of a piece and its part.
    pub fn of(piece: &Piece, look: &Look) -> Names {
        let credits = &piece.credits;
        let title = credits
            .title
            .clone()
            .or_else(|| credits.movement.clone())
            .unwrap_or_default();
        let subtitle = credits.movement.clone().filter(|movement| *movement != title);
        let part = piece
            .parts
            .first()
            .map(|part| part.name.trim().to_owned())
            .filter(|name| !NO_NAMES.contains(&name.as_str()))
            .unwrap_or_default();
        let people = credits
            .people
            .iter()
            .filter(|(_, name)| !name.trim().is_empty())
            .filter_map(|(role, name)| match role.as_str() {
                "" | "composer" => Some(name.clone()),
                "arranger" => Some(format!("arr. {name}")),
                "lyricist" | "poet" => Some(format!("words: {name}")),
                // Who typed it in doesn't stand on the page.
                _ => None,
            })
            .collect();
        Names {
            title,
            subtitle,
            part: look.part_name.clone().unwrap_or(part),
            people,
            rights: credits.rights.clone(),
        }
    }

    /// Title and part in one line.
    pub fn running(&self) -> String {
        let both = [self.title.as_str(), self.part.as_str()];
        let both: Vec<&str> = both.into_iter().filter(|name| !name.is_empty()).collect();
        both.join(" · ")
    }
}

/// The title block of page one.
pub(crate) fn title_block(names: &Names, look: &Look, sheet: &Sheet) -> Words {
    let mut words = Words {
        lowest: sheet.top,
        ..Words::default()
    };
    let middle = sheet.width / 2.0;
    let size = sheet.words_mm(TITLE_MM);
    for line in lines(&names.title, sheet.music_width() / size) {
        words.lowest += size * 1.05;
        words.line("title", Hold::Middle, (middle, words.lowest), size, &line);
    }
    if let Some(subtitle) = &names.subtitle {
        let size = sheet.words_mm(SUBTITLE_MM);
        for line in lines(subtitle, sheet.music_width() / size) {
            words.lowest += size * 1.3;
            words.line("subtitle", Hold::Middle, (middle, words.lowest), size, &line);
        }
    }
    let size = sheet.words_mm(NAME_MM);
    let half = sheet.music_width() / 2.0 / size - 1.0;
    let left: Vec<String> = lines(&names.part, half);
    let right: Vec<String> = names
        .people
        .iter()
        .flat_map(|person| lines(person, half))
        .collect();
    // Both columns end on one line.
    let rows = left.len().max(right.len());
    for row in 0..rows {
        words.lowest += size * 1.35;
        let of = |column: &Vec<String>| {
            (row + column.len())
                .checked_sub(rows)
                .and_then(|at| column.get(at).cloned())
        };
        if let Some(text) = of(&left) {
            words.line("part-name", Hold::Left, (sheet.side, words.lowest), size, &text);
        }
        if let Some(text) = of(&right) {
            let right_edge = sheet.width - sheet.side;
            words.line("person", Hold::Right, (right_edge, words.lowest), size, &text);
        }
    }
    if look.hand && !look.play_order.is_empty() && look.edition != Edition::Strip {
        let size = sheet.words_mm(NAME_MM);
        for line in lines(
            &format!("Play: {}", look.play_order),
            sheet.music_width() / size / 1.1,
        ) {
            words.lowest += size * 1.4;
            let svg = text_element(
                "hand play-order",
                Hold::Left,
                (sheet.side, words.lowest),
                size,
                &line,
            );
            words.pencilled.push_str(&svg);
        }
    }
    words.lowest += sheet.words_mm(if rows == 0 { 5.0 } else { 3.5 });
    words
}

/// The running title and the number of a page, counted from 0.
pub(crate) fn running_head(names: &Names, page: usize, sheet: &Sheet) -> Words {
    let size = sheet.words_mm(SMALL_MM);
    let mut words = Words {
        lowest: sheet.top + size,
        ..Words::default()
    };
    let number = (page + 1).to_string();
    let room = sheet.music_width() / size - width(&number) - 2.0;
    let title = lines(&names.running(), room)
        .into_iter()
        .next()
        .unwrap_or_default();
    // Numbers stand at the outer edge of an opening.
    let (outer, inner) = if page % 2 == 1 {
        ((sheet.side, Hold::Left), (sheet.width - sheet.side, Hold::Right))
    } else {
        ((sheet.width - sheet.side, Hold::Right), (sheet.side, Hold::Left))
    };
    words.line("page-number", outer.1, (outer.0, words.lowest), size, &number);
    words.line("running-title", inner.1, (inner.0, words.lowest), size, &title);
    words.lowest += sheet.words_mm(3.0);
    words
}

/// Words at the foot: the footer on every page, rights on the first.
pub(crate) fn foot(names: &Names, look: &Look, page: usize, sheet: &Sheet) -> String {
    let size = sheet.words_mm(SMALL_MM * 0.85);
    let mut words = Words::default();
    let mut all: Vec<String> = Vec::new();
    let room = sheet.music_width() / size;
    if page == 0 {
        all.extend(names.rights.iter().flat_map(|right| lines(right, room)));
    }
    all.extend(lines(&look.footer, room));
    // The lower margin holds three lines.
    all.truncate(3);
    for (row, line) in (0_u8..).zip(&all) {
        let y = sheet.lowest() + sheet.mm(6.0) + f64::from(row) * size * 1.25;
        words.line("footer", Hold::Middle, (sheet.width / 2.0, y), size, line);
    }
    words.svg
}

impl Words {
    fn line(&mut self, class: &str, hold: Hold, at: (f64, f64), size: f64, text: &str) {
        self.svg.push_str(&text_element(class, hold, at, size, text));
    }
}

/// One line of words.
pub(super) fn text_element(class: &str, hold: Hold, (x, y): (f64, f64), size: f64, text: &str) -> String {
    let anchor = match hold {
        Hold::Left => "start",
        Hold::Middle => "middle",
        Hold::Right => "end",
    };
    let mut out = String::new();
    // Writing to a string can't fail.
    let _ = write!(
        out,
        "<text class=\"{class}\" x=\"{}\" y=\"{}\" font-size=\"{}\" text-anchor=\"{anchor}\">{}</text>",
        number(x),
        number(y),
        number(size),
        with_accidentals(text, size)
    );
    out
}
