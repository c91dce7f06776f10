//! What has the reader to say about what it read? Findings with their place, repeats folded into one.

use notation::{BarIndex, Finding, Quarters, Severity};

/// So many findings of one kind in one part are listed one by one; the rest are counted in a last one.
const MOST_OF_A_KIND: usize = 25;
/// So many different unknown things are told apart.
const MOST_UNKNOWN: usize = 200;

/// A place to report: part, bar, offset.
#[derive(Clone, Debug, Default)]
pub(super) struct Here {
    pub part: Option<String>,
    pub bar: Option<(BarIndex, String)>,
    pub offset: Quarters,
}

impl Here {
    /// A finding at this place.
    pub(super) fn put(&self, mut finding: Finding) -> Finding {
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

#[derive(Debug)]
struct Kind {
    kind: &'static str,
    part: Option<String>,
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
pub(super) enum Why {
    /// The standard does not have it there, or we don't know it.
    Unknown,
    /// Known, but the piece has no place for it.
    NoPlace,
}

/// All findings of a reading.
#[derive(Debug, Default)]
pub(super) struct Report {
    findings: Vec<Finding>,
    kinds: Vec<Kind>,
    unread: Vec<Unread>,
}

impl Report {
    /// Adds a finding; past many of a kind in one part they are folded into one.
    pub(super) fn push(&mut self, finding: Finding) {
        let known = self
            .kinds
            .iter_mut()
            .find(|k| k.kind == finding.kind && k.part == finding.part);
        let kind = match known {
            Some(kind) => kind,
            None => {
                self.kinds.push(Kind {
                    kind: finding.kind,
                    part: finding.part.clone(),
                    count: 0,
                    folded: Vec::new(),
                    more: None,
                });
                let Some(last) = self.kinds.last_mut() else { return };
                last
            }
        };
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
    pub(super) fn unread(&mut self, name: &str, inside: &str, why: Why, place: impl FnOnce() -> Here) {
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
    pub(super) fn finish(mut self) -> Vec<Finding> {
        for kind in self.kinds {
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
