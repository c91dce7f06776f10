//! How do the rows of a section stand on the page? Lists of statements, tables, brackets, tempi to tick, pictures.

use super::Page;
use crate::model::{Picture, Row, Tick};
use crate::terminal::said;
use std::fmt::Write as _;

/// What has to be closed before rows of another kind begin.
fn list_of(row: &Row) -> Option<(&'static str, &'static str)> {
    match row {
        Row::Line { .. } => Some(("<dl>\n", "</dl>\n")),
        Row::Spot { .. } => Some(("<ol class=\"spots\">\n", "</ol>\n")),
        Row::Pictured { .. } => Some(("<ul class=\"pictured\">\n", "</ul>\n")),
        Row::Table { .. } | Row::Details { .. } | Row::Rungs(_) | Row::InWords(_) => None,
    }
}

impl Page {
    pub(super) fn rows(&mut self, rows: &[Row]) {
        let mut open: Option<(&'static str, &'static str)> = None;
        for row in rows {
            let list = list_of(row);
            if list != open {
                self.out.push_str(open.map_or("", |(_, close)| close));
                self.out.push_str(list.map_or("", |(open, _)| open));
                open = list;
            }
            self.row(row);
        }
        self.out.push_str(open.map_or("", |(_, close)| close));
    }

    fn row(&mut self, row: &Row) {
        match row {
            Row::Line { label, text, bars } => {
                self.put("dt", "", label);
                self.out.push_str("<dd>");
                self.text(text);
                self.bars(bars);
                self.out.push_str("</dd>\n");
            }
            Row::Table { label, head, rows } => self.table(label, head, rows),
            Row::Details { summary, head, rows } => {
                self.out.push_str("<details>\n");
                self.put("summary", "", summary);
                self.table("", head, rows);
                self.out.push_str("</details>\n");
            }
            Row::Spot {
                rank,
                bars,
                reasons,
                doing,
                also,
            } => self.spot(*rank, bars, reasons, doing, also),
            Row::Rungs(rungs) => self.rungs(rungs),
            Row::InWords(rows) => self.rows(rows),
            Row::Pictured {
                note,
                text,
                bars,
                pictures,
            } => self.pictured(note, text, bars, pictures),
        }
    }

    pub(crate) fn bars(&mut self, bars: &[String]) {
        if !bars.is_empty() {
            self.out.push(' ');
            self.put_inline("span", "bars", &said(bars));
        }
    }

    fn spot(
        &mut self,
        rank: usize,
        (bars, into): &(String, String),
        reasons: &[String],
        doing: &str,
        also: &str,
    ) {
        let _ = write!(
            self.out,
            "<li class=\"spot\" value=\"{rank}\"><h3><span class=\"rank\">{rank}</span> "
        );
        self.text(&capital(bars));
        if !into.is_empty() {
            self.out.push(' ');
            self.put_inline("span", "into", into);
        }
        self.out.push_str("</h3>\n");
        self.out.push_str("<ul class=\"why\">\n");
        for reason in reasons {
            self.put("li", "", &capital(reason));
        }
        self.out.push_str("</ul>\n");
        self.put("p", "doing", &capital(doing));
        if !also.is_empty() {
            self.put("p", "also", &capital(also));
        }
        self.out.push_str("</li>\n");
    }

    pub(crate) fn rungs(&mut self, rungs: &[Tick]) {
        self.out.push_str("<ol class=\"rungs\">\n");
        for rung in rungs {
            let (fewest, most) = rung.times;
            self.out.push_str("<li><span class=\"tempo\">");
            self.text(&rung.tempo);
            self.out
                .push_str("</span> <span class=\"boxes\" aria-hidden=\"true\">");
            self.out.push_str(&"<i></i>".repeat(usize::from(fewest)));
            self.out
                .push_str(&"<i class=\"more\"></i>".repeat(usize::from(most.saturating_sub(fewest))));
            self.out.push_str("</span>");
            self.put_inline("span", "unseen", &times(fewest, most));
            if !rung.click.is_empty() {
                self.put_inline("span", "click", &rung.click);
            }
            self.out.push_str("</li>\n");
        }
        self.out.push_str("</ol>\n");
    }

    fn pictured(&mut self, note: &str, text: &str, bars: &[String], pictures: &[Picture]) {
        self.out.push_str("<li><div class=\"figures\">\n");
        for picture in pictures {
            self.out.push_str("<figure>");
            // Drawn by us, words in it escaped there.
            self.out.push_str(&picture.svg);
            self.put_inline("figcaption", "", &picture.caption);
            self.out.push_str("</figure>\n");
        }
        self.out.push_str("</div><div><h3>");
        self.text(note);
        self.bars(bars);
        self.out.push_str("</h3>");
        self.put("p", "", text);
        self.out.push_str("</div></li>\n");
    }

    fn table(&mut self, label: &str, head: &[String], rows: &[Vec<String>]) {
        self.out.push_str("<table>\n");
        if !label.is_empty() {
            self.put("caption", "", label);
        }
        if head.iter().any(|cell| !cell.is_empty()) {
            self.out.push_str("<thead><tr>");
            for cell in head {
                self.put_inline("th", "", cell);
            }
            self.out.push_str("</tr></thead>\n");
        }
        self.out.push_str("<tbody>\n");
        for row in rows {
            self.out.push_str("<tr>");
            for cell in row {
                // Short cells stay on one line, so that the long ones get the room.
                let short = cell.chars().count() <= 12;
                self.put_inline("td", if short { "short" } else { "" }, cell);
            }
            self.out.push_str("</tr>\n");
        }
        self.out.push_str("</tbody></table>\n");
    }
}

/// `3 times`, `4 to 7 times`.
fn times(fewest: u8, most: u8) -> String {
    match (fewest, most) {
        (1, 1) => "once".to_owned(),
        (a, b) if a == b => format!("{a} times"),
        (a, b) => format!("{a} to {b} times"),
    }
}

pub(crate) fn capital(text: &str) -> String {
    let mut chars = text.chars();
    let first = chars
        .next()
        .map(|first| first.to_uppercase().chain(chars).collect());
    first.unwrap_or_default()
}
