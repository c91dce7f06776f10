//! How does it read in a terminal? The summary, what to work on, bar by bar, rubrics.

use super::Taken;
use take::heard::{HeardBar, Reached};

/// Columns before what is set in.
const INDENT: usize = 2;

impl Taken {
    /// For the terminal, in lines of so many columns.
    #[must_use]
    pub fn text(&self, columns: usize) -> String {
        let mut out = self.title.to_string();
        if let Some(part) = &self.part {
            out += &format!(", {part}");
        }
        out += &format!("\n{}, {}\n\n", self.recording, minutes(self.seconds));
        for line in &self.heard.summary {
            paragraph(&mut out, line, 0, columns);
        }
        if !self.heard.work.is_empty() {
            out += "\nWorth working on\n";
            for (number, work) in self.heard.work.iter().enumerate() {
                let what = format!("{}. {}: {}.", number + 1, first_upper(&work.what), work.why);
                paragraph(&mut out, &what, INDENT, columns);
                let drill = work.drill.map_or_else(String::new, |drill| match work.bars {
                    Some((from, to)) => format!(
                        " (foreread drill --kind {drill} --bars {}-{})",
                        self.label(from),
                        self.label(to)
                    ),
                    None => String::new(),
                });
                paragraph(
                    &mut out,
                    &format!("{}{drill}", first_upper(&work.how)),
                    INDENT + 3,
                    columns,
                );
            }
        }
        if self.heard.tells() {
            self.bars(&mut out);
        }
        if self.heard.tells() {
            for judged in self.judged.iter().filter(|judged| !judged.lines.is_empty()) {
                out += "\n";
                paragraph(
                    &mut out,
                    &format!("By “{}” ({})", judged.name, judged.source),
                    0,
                    columns,
                );
                for line in &judged.lines {
                    let words = if line.words.is_empty() {
                        String::new()
                    } else {
                        format!(", {}", line.words)
                    };
                    let said = format!(
                        "{}: {} of {} ({}{words})",
                        line.name,
                        line.points,
                        line.most,
                        plain(line.value)
                    );
                    paragraph(&mut out, &said, INDENT, columns);
                }
            }
        }
        out
    }

    /// Bars that were not clean, one to a line.
    fn bars(&self, out: &mut String) {
        let odd: Vec<&HeardBar> = self
            .heard
            .bars
            .iter()
            .filter(|bar| bar.reached != Reached::Not && !bar.clean() && !said(bar).is_empty())
            .collect();
        if odd.is_empty() {
            return;
        }
        *out += "\nBar by bar (what is not named was clean)\n";
        for bar in odd {
            let pass = if bar.pass > 1 {
                format!(" ({}. time)", bar.pass)
            } else {
                String::new()
            };
            *out += &format!("  {:>4}{pass}  {}\n", self.label(bar.bar), said(bar));
        }
    }
}

pub(super) fn said(bar: &HeardBar) -> String {
    let mut said = Vec::new();
    let mut some = |count: usize, one: &str, many: &str| match count {
        0 => {}
        1 => said.push(one.to_owned()),
        count => said.push(format!("{count} {many}")),
    };
    some(bar.wrong, "a wrong note", "wrong notes");
    some(bar.missing, "a note not heard", "notes not heard");
    some(bar.extra, "a note too many", "notes too many");
    some(bar.restarts, "went back from here", "times went back from here");
    some(bar.hesitations, "a wait", "waits");
    some(bar.out_of_time, "a note out of time", "notes out of time");
    said.join(", ")
}

fn plain(value: f64) -> String {
    format!("{}", (value * 10.0).round() / 10.0)
}

fn minutes(seconds: f64) -> String {
    let whole = seconds.max(0.0).round();
    let (minutes, rest) = ((whole / 60.0).floor(), whole % 60.0);
    if minutes >= 1.0 {
        format!("{minutes:.0} min {rest:.0} s")
    } else {
        format!("{rest:.0} s")
    }
}

fn first_upper(text: &str) -> String {
    let mut chars = text.chars();
    chars
        .next()
        .map_or_else(String::new, |first| first.to_uppercase().chain(chars).collect())
}

fn paragraph(out: &mut String, text: &str, indent: usize, columns: usize) {
    let room = columns.saturating_sub(indent).max(24);
    let mut line = String::new();
    for word in text.split_whitespace() {
        if !line.is_empty() && line.chars().count() + 1 + word.chars().count() > room {
            *out += &format!("{}{line}\n", " ".repeat(indent));
            line.clear();
        }
        if !line.is_empty() {
            line.push(' ');
        }
        line.push_str(word);
    }
    *out += &format!("{}{line}\n", " ".repeat(indent));
}
