//! How does the sheet read in a terminal? Plain lines, as wide as the window; bold only where asked.

use crate::model::{Row, Section, Sheet, Tick};
use crate::words::BarWord;
use unicode_width::UnicodeWidthStr;

/// How the terminal wants it.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Terminal {
    /// Columns; what is narrower than 40 is taken as 40.
    pub width: usize,
    /// Bold and faint by escape codes: for a person's terminal, never for a pipe.
    pub styled: bool,
    /// The player's word for a bar.
    pub bar_word: BarWord,
}

/// Width of the column of labels.
const LABEL: usize = 13;

/// The sheet as lines of text.
#[must_use]
pub fn terminal(sheet: &Sheet, how: Terminal) -> String {
    let mut out = Out {
        text: String::new(),
        width: how.width.clamp(40, 100),
        how,
    };
    out.bold(&sheet.title);
    out.plain(0, &sheet.facts.join(" · "));
    if let Some(first) = &sheet.look_first {
        out.section(first, None);
    }
    for section in &sheet.study {
        out.section(section, None);
    }
    for (index, section) in sheet.sections.iter().enumerate() {
        out.section(section, Some(index + 1));
    }
    if let Some(reading) = &sheet.reading {
        out.section(reading, None);
    }
    if !sheet.foot.is_empty() {
        out.text.push('\n');
        for line in &sheet.foot {
            out.plain(0, line);
        }
    }
    out.text
}

#[cfg(feature = "whole")]
/// A heading, a line under it, and labelled lines: what is small enough for one screen.
pub(crate) fn lines_of(heading: &str, facts: &str, rows: &[(String, String)], how: Terminal) -> String {
    let mut out = Out {
        text: String::new(),
        width: how.width.clamp(40, 100),
        how,
    };
    out.bold(heading);
    out.plain(0, facts);
    out.text.push('\n');
    for (label, text) in rows {
        out.labelled(label, text);
    }
    out.text
}

struct Out {
    text: String,
    width: usize,
    how: Terminal,
}

impl Out {
    /// In the player's words; signs from a file that would steer the terminal are left out.
    fn say(&self, text: &str) -> String {
        let said = self.how.bar_word.say(text);
        let shown = |c: char| match c {
            '\n' | '\r' | '\t' => Some(' '),
            c => (!notation::steers(c)).then_some(c),
        };
        said.chars().filter_map(shown).collect()
    }

    fn bold(&mut self, text: &str) {
        let text = self.say(text);
        if self.how.styled {
            self.text.push_str("\x1b[1m");
            self.text.push_str(&text);
            self.text.push_str("\x1b[0m\n");
        } else {
            self.text.push_str(&text);
            self.text.push('\n');
        }
    }

    fn section(&mut self, section: &Section, number: Option<usize>) {
        self.text.push('\n');
        let number = number.map_or_else(String::new, |n| format!("{n:>2}. "));
        self.bold(&format!("{number}{}", section.name.to_uppercase()));
        if !section.answer.is_empty() {
            self.plain(2, &section.answer);
        }
        self.rows(&section.rows);
    }

    fn rows(&mut self, rows: &[Row]) {
        for row in rows {
            match row {
                Row::Line { label, text, bars } => {
                    let text = match bars.as_slice() {
                        [] => text.clone(),
                        _ => format!("{text} [{}]", said(bars)),
                    };
                    self.labelled(label, &text);
                }
                Row::Table { label, head, rows } => self.table(label, head, rows),
                // Nothing can be opened here.
                Row::Details { .. } => {}
                Row::Spot {
                    rank,
                    bars: (bars, into),
                    reasons,
                    doing,
                    also,
                } => {
                    let into = if into.is_empty() {
                        String::new()
                    } else {
                        format!(", {into}")
                    };
                    let also = if also.is_empty() {
                        String::new()
                    } else {
                        format!(" ({also})")
                    };
                    let text = format!("{bars}{into}: {} — {doing}{also}", reasons.join("; "));
                    self.labelled(&rank.to_string(), &text);
                }
                Row::InWords(rows) => self.rows(rows),
                Row::Rungs(rungs) => self.rungs(rungs),
                Row::Pictured { note, text, bars, .. } => {
                    self.labelled(note, &format!("{text} [{}]", said(bars)));
                }
            }
        }
    }

    /// Text without a label, wrapped.
    fn plain(&mut self, indent: usize, text: &str) {
        self.hanging("", indent, indent, text);
    }

    /// A label in its column and the text wrapped beside it.
    fn labelled(&mut self, label: &str, text: &str) {
        self.hanging(label, 2, 2 + LABEL, text);
    }

    /// Tempi with boxes to tick, side by side as far as they go; the metronome's own setting behind them.
    fn rungs(&mut self, rungs: &[Tick]) {
        let said: Vec<String> = rungs.iter().map(rung).collect();
        let column = said.iter().map(|said| said.width()).max().unwrap_or(0) + 3;
        let columns = (self.width.saturating_sub(4) / column.max(1)).max(1);
        for line in said.chunks(columns) {
            let mut text = " ".repeat(4);
            for said in line {
                text.push_str(said);
                text.push_str(&" ".repeat(column.saturating_sub(said.width())));
            }
            self.text.push_str(text.trim_end());
            self.text.push('\n');
        }
    }

    fn hanging(&mut self, label: &str, indent: usize, hang: usize, text: &str) {
        let label = &self.say(label);
        let text = self.say(text);
        let lines = wrap(&text, self.width.saturating_sub(hang).max(20));
        for (number, line) in lines.iter().enumerate() {
            if number == 0 && hang > indent {
                self.text.push_str(&" ".repeat(indent));
                self.text.push_str(label);
                let used = indent + label.width();
                self.text.push_str(&" ".repeat(hang.saturating_sub(used).max(1)));
            } else {
                self.text.push_str(&" ".repeat(hang));
            }
            self.text.push_str(line);
            self.text.push('\n');
        }
    }

    /// Columns as wide as they need; the last one wraps.
    fn table(&mut self, label: &str, head: &[String], rows: &[Vec<String>]) {
        if !label.is_empty() {
            self.plain(2, &format!("{label}:"));
        }
        let columns = head.len();
        let widths: Vec<usize> = (0..columns)
            .map(|c| {
                let cells = std::iter::once(head.get(c)).chain(rows.iter().map(|row| row.get(c)));
                cells
                    .flatten()
                    .map(|cell| self.say(cell).width())
                    .max()
                    .unwrap_or(0)
            })
            .collect();
        let lead: usize = 4 + widths
            .iter()
            .take(columns.saturating_sub(1))
            .map(|w| w + 2)
            .sum::<usize>();
        let last = self.width.saturating_sub(lead).max(16);
        for row in std::iter::once(head).chain(rows.iter().map(Vec::as_slice)) {
            if row.iter().all(String::is_empty) {
                continue;
            }
            let mut line = " ".repeat(4);
            for (cell, width) in row.iter().zip(&widths).take(columns.saturating_sub(1)) {
                let cell = self.say(cell);
                line.push_str(&cell);
                line.push_str(&" ".repeat(width.saturating_sub(cell.width()) + 2));
            }
            let tail = self.say(row.get(columns.saturating_sub(1)).map_or("", String::as_str));
            for (number, piece) in wrap(&tail, last).iter().enumerate() {
                let start = if number == 0 {
                    line.clone()
                } else {
                    " ".repeat(lead)
                };
                self.text.push_str(format!("{start}{piece}").trim_end());
                self.text.push('\n');
            }
        }
    }
}

/// `♩ = 56 □□□`; boxes that need not be filled in parentheses.
fn rung(rung: &Tick) -> String {
    let (fewest, most) = rung.times;
    let boxes = "□".repeat(usize::from(fewest));
    let more = match most.saturating_sub(fewest) {
        0 => String::new(),
        more => format!("({})", "□".repeat(usize::from(more))),
    };
    let click = if rung.click.is_empty() {
        String::new()
    } else {
        format!(" ({})", rung.click)
    };
    format!("{}{click} {boxes}{more}", rung.tempo)
}

/// Labels of bars with their word in front.
pub(crate) fn said(bars: &[String]) -> String {
    let one = bars.len() == 1 && bars.first().is_some_and(|bar| !bar.contains([',', '–']));
    let word = if one { "bar" } else { "bars" };
    format!("{word} {}", bars.join(", ").replace(", and ", " and "))
}

/// Breaks at spaces so that no line is wider than asked unless one word is.
fn wrap(text: &str, width: usize) -> Vec<String> {
    let mut lines = Vec::new();
    for paragraph in text.split('\n') {
        let mut line = String::new();
        let mut used = 0;
        for word in paragraph.split(' ').filter(|word| !word.is_empty()) {
            let wide = word.width();
            if used > 0 && used + 1 + wide > width {
                lines.push(std::mem::take(&mut line));
                used = 0;
            }
            if used > 0 {
                line.push(' ');
                used += 1;
            }
            line.push_str(word);
            used += wide;
        }
        lines.push(line);
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    fn example() -> Sheet {
        let mut key = Section::new("key", "Key", "F minor, sure");
        key.line(
            "proof",
            "the last note is F, the tonic, and the raised seventh leads to it",
            vec!["16".into()],
        );
        key.table(
            "letters",
            &["letter", "times", "first"],
            vec![vec!["B♭".into(), "4".into(), "bar 2".into()]],
        );
        Sheet {
            title: "Slow Air".into(),
            facts: vec!["Bassoon".into()],
            sections: vec![key],
            ..Sheet::default()
        }
    }

    #[test]
    fn plain_and_no_wider_than_asked() {
        let how = Terminal {
            width: 44,
            styled: false,
            bar_word: BarWord::Measure,
        };
        let text = terminal(&example(), how);
        let expected = "Slow Air
Bassoon

 1. KEY
  F minor, sure
  proof        the last note is F, the
               tonic, and the raised seventh
               leads to it [measure 16]
  letters:
    letter  times  first
    B♭      4      measure 2
";
        assert_eq!(text, expected);
        assert!(text.lines().all(|line| line.width() <= 44));
    }

    #[test]
    fn styled_only_where_asked() {
        let how = Terminal {
            width: 80,
            styled: true,
            bar_word: BarWord::Bar,
        };
        assert!(terminal(&example(), how).contains("\x1b[1m"));
    }
}
