//! What has the reader to say while bars have no labels yet? Findings kept with their place, and what was not read.

use crate::report::Report;
use notation::{BarIndex, Finding, Id, Quarters, Severity};
use std::collections::BTreeMap;

/// So many findings of a kind are kept; further ones are only counted.
const MOST_OF_A_KIND: usize = 400;
/// So many different unread things are told apart.
const MOST_UNREAD: usize = 60;

/// Where something is said: the voice (by its number in the order of reading), its bar and offset.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct At {
    pub voice: usize,
    pub bar: BarIndex,
    pub offset: Quarters,
}

#[derive(Debug)]
struct Said {
    at: Option<At>,
    finding: Finding,
}

/// Why something was not taken into the piece.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Unread {
    /// The standard does not have it, or not there.
    Unknown,
    /// Known, but the piece has no place for it.
    NoPlace,
}

/// Findings of the reading so far.
#[derive(Debug, Default)]
pub(super) struct Says {
    said: Vec<Said>,
    counts: BTreeMap<&'static str, usize>,
    unread: BTreeMap<String, (usize, Unread, Option<At>)>,
    more_unread: usize,
}

impl Says {
    /// A finding at a place, or about the whole tune.
    pub(super) fn push(
        &mut self,
        severity: Severity,
        kind: &'static str,
        at: Option<At>,
        what: impl Into<String>,
        advice: &str,
    ) {
        self.put(at, Finding::new(severity, kind, what, advice));
    }

    /// The same about an element.
    pub(super) fn about(
        &mut self,
        element: Id,
        severity: Severity,
        kind: &'static str,
        at: At,
        what: impl Into<String>,
        advice: &str,
    ) {
        self.put(
            Some(at),
            Finding::new(severity, kind, what, advice).about(element),
        );
    }

    fn put(&mut self, at: Option<At>, finding: Finding) {
        let count = self.counts.entry(finding.kind).or_default();
        *count += 1;
        if *count <= MOST_OF_A_KIND {
            self.said.push(Said { at, finding });
        }
    }

    /// Something met that is not taken into the piece: the first place and a count.
    pub(super) fn unread(&mut self, what: &str, why: Unread, at: Option<At>) {
        if let Some((count, ..)) = self.unread.get_mut(what) {
            *count += 1;
        } else if self.unread.len() < MOST_UNREAD {
            self.unread.insert(what.chars().take(80).collect(), (1, why, at));
        } else {
            self.more_unread += 1;
        }
    }

    /// Hands everything to the report, with the labels of bars and the names of parts.
    pub(super) fn finish(
        self,
        report: &mut Report,
        part_of: impl Fn(usize) -> Option<String>,
        label_of: impl Fn(BarIndex) -> String,
    ) {
        let placed = |at: Option<At>, mut finding: Finding| {
            if let Some(at) = at {
                finding.part = part_of(at.voice);
                finding = finding.at_bar(at.bar, label_of(at.bar));
                if at.offset.is_positive() && !at.offset.is_overflow() {
                    finding = finding.at_offset(at.offset);
                }
            }
            finding
        };
        for said in self.said {
            report.push(placed(said.at, said.finding));
        }
        for (kind, count) in &self.counts {
            if *count > MOST_OF_A_KIND {
                let more = count - MOST_OF_A_KIND;
                let what = format!("{more} more findings like the last ones ({kind}) were only counted");
                report.push(Finding::new(
                    Severity::Caution,
                    "more-findings",
                    what,
                    "the tune may be no ABC, or damaged",
                ));
            }
        }
        for (what, (count, why, at)) in self.unread {
            let times = if count == 1 {
                String::new()
            } else {
                format!(" ({count} times; first here)")
            };
            let finding = match why {
                Unread::Unknown => Finding::new(
                    Severity::Caution,
                    "not-read",
                    format!("{what}{times} is not known to the reader and was left out"),
                    "look at the printed page at this place",
                ),
                Unread::NoPlace => Finding::new(
                    Severity::Note,
                    "not-read",
                    format!("{what}{times} is not kept"),
                    "look at the printed page if it matters to you",
                ),
            };
            report.push(placed(at, finding));
        }
        if self.more_unread > 0 {
            let what = format!(
                "{} other things that are not known were left out",
                self.more_unread
            );
            report.push(Finding::new(
                Severity::Caution,
                "not-read",
                what,
                "the tune may be no ABC, or damaged",
            ));
        }
    }
}
