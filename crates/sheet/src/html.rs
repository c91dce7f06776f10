//! How does the sheet read as a page? One self-contained HTML file: warm paper, black type, pencil; no script, no request.

use crate::model::{BarCell, Row, Section, Sheet};
use crate::terminal::said;
use crate::words::BarWord;
use std::fmt::Write as _;

/// The style of the page, kept apart so that it can be read.
const STYLE: &str = include_str!("sheet.css");

/// The sheet as one HTML document. Every word from a file is escaped.
#[must_use]
pub fn html(sheet: &Sheet, bar_word: BarWord) -> String {
    let mut page = Page {
        out: String::with_capacity(32 * 1024),
        bar_word,
    };
    page.document(sheet);
    page.out
}

struct Page {
    out: String,
    bar_word: BarWord,
}

impl Page {
    fn document(&mut self, sheet: &Sheet) {
        self.out
            .push_str("<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n");
        self.out
            .push_str("<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n");
        self.out.push_str("<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">\n");
        self.put("title", "", &sheet.title);
        let _ = writeln!(self.out, "<style>\n{STYLE}</style>\n</head>\n<body>\n<header>");
        self.put("h1", "", &sheet.title);
        self.put("p", "facts", &sheet.facts.join(" · "));
        self.out.push_str("</header>\n<main>\n");
        if let Some(first) = &sheet.look_first {
            self.section(first, None);
        }
        if sheet.bars.len() > 1 {
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

    fn section(&mut self, section: &Section, number: Option<usize>) {
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
        let mut open = false;
        for row in &section.rows {
            match row {
                Row::Line { label, text, bars } => {
                    if !open {
                        self.out.push_str("<dl>\n");
                        open = true;
                    }
                    self.put("dt", "", label);
                    self.out.push_str("<dd>");
                    self.text(text);
                    if !bars.is_empty() {
                        self.out.push(' ');
                        self.put_inline("span", "bars", &said(bars));
                    }
                    self.out.push_str("</dd>\n");
                }
                Row::Table { label, head, rows } => {
                    if std::mem::take(&mut open) {
                        self.out.push_str("</dl>\n");
                    }
                    self.table(label, head, rows);
                }
            }
        }
        if open {
            self.out.push_str("</dl>\n");
        }
        self.out.push_str("</section>\n");
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

    /// The piece at a glance: a cell for each bar, in lines of eight or by the printed systems.
    fn map(&mut self, bars: &[BarCell]) {
        self.out
            .push_str("<section id=\"map\" aria-labelledby=\"map-heading\">\n<h2 id=\"map-heading\">");
        self.text("The bars at a glance");
        self.out.push_str("</h2>\n<p class=\"key\">");
        self.text(
            "Bracketed and numbered: where to look first. Strokes: notes that the signature does not give. \
             Dots: repeats.",
        );
        self.out.push_str("</p>\n<ol class=\"map\">\n");
        for bar in bars {
            let mut class = String::from("bar");
            for (set, name) in [
                (bar.look_first.is_some(), " first"),
                (bar.repeat_start, " from"),
                (bar.repeat_end, " to"),
                (bar.double_bar, " double"),
            ] {
                if set {
                    class.push_str(name);
                }
            }
            let _ = write!(self.out, "<li class=\"{class}\"><span class=\"above\">");
            self.text(&bar.above.join(" "));
            self.out.push_str("</span><span class=\"label\">");
            self.text(&bar.label);
            self.out.push_str("</span><span class=\"strokes\">");
            let strokes = "ı".repeat(bar.altered.min(8));
            self.text(&strokes);
            self.out.push_str("</span>");
            if let Some(rank) = bar.look_first {
                let _ = write!(self.out, "<span class=\"rank\">{rank}</span>");
            }
            self.out.push_str("</li>\n");
        }
        self.out.push_str("</ol>\n</section>\n");
    }

    fn put(&mut self, tag: &str, class: &str, text: &str) {
        self.put_inline(tag, class, text);
        self.out.push('\n');
    }

    fn put_inline(&mut self, tag: &str, class: &str, text: &str) {
        let _ = if class.is_empty() {
            write!(self.out, "<{tag}>")
        } else {
            write!(self.out, "<{tag} class=\"{class}\">")
        };
        self.text(text);
        let _ = write!(self.out, "</{tag}>");
    }

    fn text(&mut self, text: &str) {
        for c in self.bar_word.say(text).chars() {
            match c {
                '&' => self.out.push_str("&amp;"),
                '<' => self.out.push_str("&lt;"),
                '>' => self.out.push_str("&gt;"),
                '"' => self.out.push_str("&quot;"),
                '\n' => self.out.push_str("<br>"),
                // Control characters from hostile files have no place on a page.
                c if c.is_control() => {}
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
