//! What has the reader to say about what it read? Findings with their place, repeats folded into one.

use notation::{BarIndex, Finding, Quarters, Severity};
use std::collections::BTreeMap;

/// So many findings of one kind in one part are listed one by one; the rest are counted in a last one.
const MOST_OF_A_KIND: usize = 25;
/// So many different unknown things are told apart.
const MOST_UNKNOWN: usize = 50;

/// A length in words: `1 quarter note`, `½ quarter note`, `3¼ quarter notes`.
pub(crate) fn in_words(length: Quarters) -> String {
    let plural = if length.is_positive() && length <= Quarters::ONE {
        ""
    } else {
        "s"
    };
    format!("{} quarter note{plural}", number(length))
}

/// A number as a musician writes it: `3`, `½`, `3¼`, `7/12`.
pub(crate) fn number(length: Quarters) -> String {
    let whole = length.floor();
    let rest = length - Quarters::whole(whole);
    let sign = match (rest.num(), rest.den()) {
        (0, _) => return length.to_string(),
        (1, 2) => "½",
        (1, 3) => "⅓",
        (2, 3) => "⅔",
        (1, 4) => "¼",
        (3, 4) => "¾",
        (1, 6) => "⅙",
        (5, 6) => "⅚",
        (1, 8) => "⅛",
        (3, 8) => "⅜",
        (5, 8) => "⅝",
        (7, 8) => "⅞",
        _ => return length.to_string(),
    };
    if whole == 0 {
        sign.to_owned()
    } else {
        format!("{whole}{sign}")
    }
}

/// A place to report: part, bar, offset.
#[derive(Clone, Debug, Default)]
pub(crate) struct Here {
    pub part: Option<String>,
    pub bar: Option<(BarIndex, String)>,
    pub offset: Quarters,
}

impl Here {
    /// A finding at this place.
    pub(crate) fn put(&self, mut finding: Finding) -> Finding {
        finding.part.clone_from(&self.part);
        if let Some((bar, label)) = &self.bar {
            finding = finding.at_bar(*bar, label.clone());
            if !self.offset.is_zero() {
                finding = finding.at_offset(self.offset);
            }
        }
        finding
    }
}

/// Findings of one kind in one part.
#[derive(Debug, Default)]
struct Kind {
    count: usize,
    folded: Vec<String>,
    more: Option<Finding>,
}

#[derive(Debug)]
struct Unread {
    name: String,
    inside: String,
    why: Why,
    count: usize,
    first: Here,
}

/// Why something was not taken into the piece.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Why {
    /// The standard does not have it there, or we don't know it.
    Unknown,
    /// Known, but the piece has no place for it.
    NoPlace,
}

/// All findings of a reading.
#[derive(Debug, Default)]
pub(crate) struct Report {
    findings: Vec<Finding>,
    kinds: BTreeMap<&'static str, BTreeMap<String, Kind>>,
    unread: Vec<Unread>,
}

impl Report {
    /// Adds a finding; past many of a kind in one part they are folded into one.
    pub(crate) fn push(&mut self, finding: Finding) {
        let parts = self.kinds.entry(finding.kind).or_default();
        let part = finding.part.as_deref().unwrap_or_default();
        if !parts.contains_key(part) {
            parts.insert(part.to_owned(), Kind::default());
        }
        let Some(kind) = parts.get_mut(part) else { return };
        kind.count += 1;
        if kind.count <= MOST_OF_A_KIND {
            self.findings.push(finding);
            return;
        }
        if let Some(label) = &finding.bar_label
            && kind.folded.last() != Some(label)
            && kind.folded.len() < 1_000
        {
            kind.folded.push(label.clone());
        }
        kind.more.get_or_insert(finding);
    }

    /// Notes something that was met but not taken into the piece. `place` is asked only for the first of each.
    pub(crate) fn unread(&mut self, name: &str, inside: &str, why: Why, place: impl FnOnce() -> Here) {
        if let Some(known) = self
            .unread
            .iter_mut()
            .find(|u| u.name == name && u.inside == inside)
        {
            known.count += 1;
            return;
        }
        let (name, inside) = if self.unread.len() < MOST_UNKNOWN {
            (name, inside)
        } else if let Some(rest) = self.unread.iter_mut().find(|u| u.name.is_empty()) {
            rest.count += 1;
            return;
        } else {
            ("", "")
        };
        let (name, inside) = (name.chars().take(80).collect(), inside.chars().take(80).collect());
        self.unread.push(Unread {
            name,
            inside,
            why,
            count: 1,
            first: place(),
        });
    }

    /// The findings, what was folded and what was not read at the end.
    pub(crate) fn finish(mut self) -> Vec<Finding> {
        for kind in self.kinds.into_values().flat_map(BTreeMap::into_values) {
            let Some(mut more) = kind.more else { continue };
            let count = kind.count - MOST_OF_A_KIND;
            let bars = if kind.folded.is_empty() {
                String::new()
            } else {
                let shown: Vec<&str> = kind.folded.iter().map(String::as_str).take(60).collect();
                let rest = if kind.folded.len() > 60 { " …" } else { "" };
                format!(" (bars {}{rest})", shown.join(", "))
            };
            more.what = format!("{count} more like this{bars}; the first: {}", more.what);
            self.findings.push(more);
        }
        for unread in self.unread {
            self.findings.push(unread.finding());
        }
        self.findings
    }
}

impl Unread {
    fn finding(self) -> Finding {
        let times = match self.count {
            1 => String::new(),
            n => format!(" ({n} times; first here)"),
        };
        let what = match (self.name.as_str(), self.name.strip_prefix('@')) {
            ("", _) => format!("other things that are not known{times}"),
            (_, Some(name)) => format!("“{name}” of <{}>{times}", self.inside),
            (name, None) => format!("<{name}> in <{}>{times}", self.inside),
        };
        let finding = match self.why {
            Why::Unknown => Finding::new(
                Severity::Caution,
                "not-read",
                format!("{what} is not known to the reader and was left out"),
                "look at the printed page at this place",
            ),
            Why::NoPlace => Finding::new(
                Severity::Note,
                "not-read",
                format!("{what} is not kept"),
                "look at the printed page if it matters to you",
            ),
        };
        self.first.put(finding)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_in_words() {
        assert_eq!(in_words(Quarters::ONE), "1 quarter note");
        assert_eq!(in_words(Quarters::new(1, 2)), "½ quarter note");
        assert_eq!(in_words(Quarters::new(13, 4)), "3¼ quarter notes");
        assert_eq!(in_words(Quarters::new(7, 12)), "7/12 quarter note");
        assert_eq!(in_words(Quarters::ZERO), "0 quarter notes");
    }

    #[test]
    fn repeats_are_folded_but_counted() {
        let mut report = Report::default();
        for bar in 0..40_u32 {
            let finding = Finding::new(Severity::Caution, "bar-long", "too long", "count it");
            report.push(finding.at_bar(BarIndex(bar), bar.to_string()));
        }
        report.unread("swirl", "note", Why::Unknown, Here::default);
        report.unread("swirl", "note", Why::Unknown, Here::default);
        let findings = report.finish();
        assert_eq!(findings.len(), MOST_OF_A_KIND + 2);
        assert!(
            findings[MOST_OF_A_KIND]
                .what
                .starts_with("15 more like this (bars 25, 26")
        );
        assert!(
            findings[MOST_OF_A_KIND + 1]
                .what
                .starts_with("<swirl> in <note> (2 times")
        );
    }
}
