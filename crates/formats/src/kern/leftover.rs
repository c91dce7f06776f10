//! What was met but has no place in the piece? Each thing once, with how often it comes and where first.

use crate::report::{Here, Report};
use notation::{Finding, Severity};
use std::collections::BTreeMap;

/// More different things than are told apart.
const MOST: usize = 60;

/// Things not taken into the piece.
#[derive(Debug, Default)]
pub(super) struct Leftover {
    things: BTreeMap<(bool, String), (u32, Here)>,
    more: u32,
}

impl Leftover {
    /// Counts a thing by its name; `known` ones are named by the standard. `place` is asked only for the first of each.
    pub(super) fn add(&mut self, known: bool, name: &str, place: impl FnOnce() -> Here) {
        let name: String = name.chars().take(60).collect();
        if let Some((count, _)) = self.things.get_mut(&(known, name.clone())) {
            *count = count.saturating_add(1);
        } else if self.things.len() < MOST {
            self.things.insert((known, name), (1, place()));
        } else {
            self.more = self.more.saturating_add(1);
        }
    }

    /// Tells of all of them.
    pub(super) fn report(self, report: &mut Report) {
        for ((known, name), (count, here)) in self.things {
            let times = if count == 1 {
                String::new()
            } else {
                format!(" ({count} times; first here)")
            };
            let finding = if known {
                Finding::new(
                    Severity::Note,
                    "not-read",
                    format!("{name}{times} is not kept"),
                    "look at the printed page if it matters to you",
                )
            } else {
                Finding::new(
                    Severity::Caution,
                    "not-read",
                    format!("{name}{times} is not known to the reader and was left out"),
                    "look at the printed page at this place",
                )
            };
            report.push(here.put(finding));
        }
        if self.more > 0 {
            report.push(Finding::new(
                Severity::Caution,
                "not-read",
                format!(
                    "other things that are not known ({} times) were left out",
                    self.more
                ),
                "look at the printed page",
            ));
        }
    }
}
