//! How does the sheet read as a page? One self-contained HTML file: warm paper, black type, pencil; no script, no request.

mod map;
mod rows;

#[cfg(feature = "whole")]
pub(crate) use rows::capital;

use crate::model::{BarCell, Row, Section, Sheet};
use crate::words::{BarWord, held};
use std::fmt::Write as _;

/// The style of the page, kept apart so that it can be read.
const STYLE: &str = include_str!("../sheet.css");
/// What is only there where a player has been studied.
const STUDY_STYLE: &str = include_str!("../study.css");

/// The sheet as one HTML document. Every word from a file is escaped.
#[must_use]
pub fn html(sheet: &Sheet, bar_word: BarWord) -> String {
    let mut page = Page {
        out: String::with_capacity(32 * 1024),
        bar_word,
        held: false,
    };
    page.document(sheet);
    page.out
}

/// A page being written.
pub(crate) struct Page {
    /// What is written so far.
    pub(crate) out: String,
    /// The player's word for a bar.
    pub(crate) bar_word: BarWord,
    /// Whether numbers are kept on a line with what they count.
    pub(crate) held: bool,
}

impl Page {
    fn document(&mut self, sheet: &Sheet) {
        let study = if sheet.study.is_empty() { "" } else { STUDY_STYLE };
        self.head(&sheet.title, &[STYLE, study]);
        self.out.push_str("<header>\n");
        self.put("h1", "", &sheet.title);
        self.put("p", "facts", &sheet.facts.join(" · "));
        self.out.push_str("</header>\n<main>\n");
        if let Some(first) = &sheet.look_first {
            self.section(first, None);
        }
        if !sheet.study.is_empty() {
            self.study(sheet);
        } else if sheet.bars.len() > 1 {
            self.map(&sheet.bars);
        }
        self.out.push_str("<div class=\"answers\">\n");
        for (index, section) in sheet.sections.iter().enumerate() {
            self.section(section, Some(index + 1));
        }
        if let Some(reading) = &sheet.reading {
            self.section(reading, None);
        }
        self.out.push_str("</div>\n</main>\n<footer>\n");
        for line in &sheet.foot {
            self.put("p", "", line);
        }
        self.out.push_str("</footer>\n</body>\n</html>\n");
    }

    /// The head of a self-contained page, with its one style, up to the opened body.
    pub(crate) fn head(&mut self, title: &str, styles: &[&str]) {
        self.out
            .push_str("<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n");
        self.out
            .push_str("<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n");
        self.out.push_str("<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'; font-src data:\">\n");
        self.put("title", "", title);
        let _ = write!(
            self.out,
            "<style>\n{}</style>\n</head>\n<body>\n",
            styles.concat()
        );
    }

    /// The study: what has pictures, brackets or the map as wide as the page, the rest in columns.
    fn study(&mut self, sheet: &Sheet) {
        let in_columns = |section: &Section| matches!(section.id, "comes-back" | "breathe" | "bowing");
        self.out.push_str("<div class=\"study\">\n");
        for run in sheet.study.chunk_by(|a, b| in_columns(a) == in_columns(b)) {
            let columns = run.first().is_some_and(in_columns) && run.len() > 1;
            if columns {
                self.out.push_str("<div class=\"answers\">\n");
            }
            for section in run {
                let bars = (section.id == "bars" && sheet.bars.len() > 1).then_some(&*sheet.bars);
                self.section_with(section, None, bars);
            }
            if columns {
                self.out.push_str("</div>\n");
            }
        }
        self.out.push_str("</div>\n");
    }

    fn section(&mut self, section: &Section, number: Option<usize>) {
        self.section_with(section, number, None);
    }

    /// A section, with the map of the bars under its answer if it is given.
    fn section_with(&mut self, section: &Section, number: Option<usize>, map: Option<&[BarCell]>) {
        let _ = writeln!(
            self.out,
            "<section id=\"{id}\" aria-labelledby=\"{id}-heading\">",
            id = section.id
        );
        let _ = write!(self.out, "<h2 id=\"{}-heading\">", section.id);
        if let Some(number) = number {
            let _ = write!(self.out, "<span class=\"number\">{number}</span> ");
        }
        self.text(&section.name);
        self.out.push_str("</h2>\n");
        if !section.answer.is_empty() {
            self.put("p", "answer", &section.answer);
        }
        match map {
            Some(bars) => {
                self.cells(bars);
                let in_words = |row: &&Row| matches!(row, Row::InWords(_));
                let rows: Vec<Row> = section
                    .rows
                    .iter()
                    .filter(|row| !in_words(row))
                    .cloned()
                    .collect();
                self.rows(&rows);
            }
            None => self.rows(&section.rows),
        }
        self.out.push_str("</section>\n");
    }

    pub(crate) fn put(&mut self, tag: &str, class: &str, text: &str) {
        self.put_inline(tag, class, text);
        self.out.push('\n');
    }

    pub(crate) fn put_inline(&mut self, tag: &str, class: &str, text: &str) {
        let _ = if class.is_empty() {
            write!(self.out, "<{tag}>")
        } else {
            write!(self.out, "<{tag} class=\"{class}\">")
        };
        self.text(text);
        let _ = write!(self.out, "</{tag}>");
    }

    pub(crate) fn text(&mut self, text: &str) {
        let mut text = self.bar_word.say(text);
        if self.held {
            text = held(&text);
        }
        for c in text.chars() {
            match c {
                '&' => self.out.push_str("&amp;"),
                '<' => self.out.push_str("&lt;"),
                '>' => self.out.push_str("&gt;"),
                '"' => self.out.push_str("&quot;"),
                '\n' => self.out.push_str("<br>"),
                // What steers in hostile files has no place on a page.
                c if c.is_control() || notation::steers(c) => {}
                c => self.out.push(c),
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_from_a_file_are_never_markup() {
        let sheet = Sheet {
            title: "<script>alert(1)</script>\u{0}".into(),
            ..Sheet::default()
        };
        let page = html(&sheet, BarWord::Bar);
        assert!(!page.contains("<script"));
        assert!(page.contains("&lt;script&gt;alert(1)&lt;/script&gt;"));
        assert!(!page.contains('\u{0}'));
    }
}
