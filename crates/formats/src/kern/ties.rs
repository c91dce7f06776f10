//! Which note is tied to which? Every start needs the same sound where it ends; what has none is a finding.

use super::part::Reader;
use notation::{EventKind, Finding, Id, Place, Quarters, Rational, Severity};
use std::collections::{BTreeMap, BTreeSet};

/// One end of a tie that waits for the other.
#[derive(Clone, Copy)]
struct End {
    place: Place,
    id: Id,
    /// The bar ends here with a repeat or a section: the other end may stand elsewhere.
    jump: bool,
}

impl Reader<'_, '_> {
    /// Checks the ties of all parts, when everything is read.
    pub(super) fn check_ties(&mut self) {
        let mut onsets = Vec::with_capacity(self.scan.lengths.len() + 1);
        let mut onset = Quarters::ZERO;
        for length in &self.scan.lengths {
            onsets.push(onset);
            onset += *length;
        }
        if onset.is_overflow() {
            return;
        }
        for part in 0..self.parts.len() {
            for (end, start) in self.unmet(part, &onsets) {
                self.report_tie(part, end, start);
            }
        }
    }

    /// The ends that meet no other; true for starts.
    fn unmet(&self, part: usize, onsets: &[Quarters]) -> Vec<(End, bool)> {
        let state = &self.parts[part];
        let mut waiting: BTreeMap<(Rational, Quarters), Vec<End>> = BTreeMap::new();
        let mut alone = Vec::new();
        let sections = &self.score.piece.section_orders.sections;
        let labelled: BTreeSet<usize> = sections.iter().map(|section| section.start.bar.get()).collect();
        let section_end = |bar: usize| state.facts.get(bar).is_some_and(|facts| facts.section_end);
        for event in state.part.events.iter().filter(|event| event.grace.is_none()) {
            let EventKind::Chord(heads) = &event.kind else {
                continue;
            };
            let bar = event.place.bar.get();
            let at = onsets.get(bar).copied().unwrap_or_default() + event.place.offset;
            for head in heads {
                let Some(pitch) = head.pitch() else { continue };
                let end = |jump| End {
                    place: event.place,
                    id: head.id,
                    jump,
                };
                if head.tie_stop {
                    let starts = waiting.get_mut(&(pitch.semitones(), at));
                    if starts.and_then(Vec::pop).is_none() {
                        let first = event.place.offset.is_zero();
                        let jump = first && bar > 0 && (section_end(bar - 1) || labelled.contains(&bar));
                        alone.push((end(jump), false));
                    }
                }
                if head.tie_start {
                    let length = self.scan.lengths.get(bar).copied().unwrap_or_default();
                    let last = event.end_offset() >= length;
                    let jump = last && section_end(bar);
                    waiting
                        .entry((pitch.semitones(), at + event.duration))
                        .or_default()
                        .push(end(jump));
                }
            }
        }
        alone.extend(waiting.into_values().flatten().map(|end| (end, true)));
        alone.sort_by_key(|(end, start)| (end.place, *start, end.id));
        alone
    }

    fn report_tie(&mut self, part: usize, end: End, start: bool) {
        let (severity, what) = match (start, end.jump) {
            (true, false) => (
                Severity::Caution,
                "a tie starts here that meets no note of its pitch",
            ),
            (false, false) => (
                Severity::Caution,
                "this note is tied to a note before it that is not there",
            ),
            (true, true) => (
                Severity::Note,
                "this note is tied over the repeat or into another ending",
            ),
            (false, true) => (
                Severity::Note,
                "this note is tied from before the repeat or ending",
            ),
        };
        let advice = if end.jump {
            ""
        } else {
            "look whether it is a slur, or a tie to another pitch, on the page"
        };
        (self.bar, self.offset) = (end.place.bar, end.place.offset);
        let finding = Finding::new(severity, "unpaired-tie", what, advice).about(end.id);
        let finding = self.here(Some(part)).put(finding);
        self.score.report.push(finding);
    }
}
