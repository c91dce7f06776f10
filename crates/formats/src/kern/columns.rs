//! Which spine does each column of a record belong to? Splits, joins, exchanges, new and ended spines.
//!
//! Source: Humdrum user's guide, chapter 5: spine paths `*^ *v *x *+ *-`.

use std::collections::{BTreeMap, BTreeSet};

/// More columns than any score has at once.
pub(super) const MOST_COLUMNS: usize = 4_000;

/// One voice of one spine: what keeps its identity while columns come and go.
pub(super) type Slot = usize;

/// A spine from its exclusive interpretation on.
#[derive(Clone, Debug)]
pub(super) struct Spine<'a> {
    /// What it holds: `kern`, `dynam`, `text` … without its asterisks; empty till said.
    pub kind: &'a str,
}

impl Spine<'_> {
    pub(super) fn is_kern(&self) -> bool {
        self.kind == "kern"
    }
}

/// Where a slot's time comes from when columns change.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Step {
    /// The second begins in the middle of the first.
    Split(Slot, Slot),
    /// The second ends, the first goes on.
    Join(Slot, Slot),
}

/// The columns at one record, and all spines and slots so far.
#[derive(Debug, Default)]
pub(super) struct Columns<'a> {
    pub spines: Vec<Spine<'a>>,
    /// For each slot its spine and the number of its voice there, from 0.
    pub slots: Vec<(usize, u16)>,
    /// The slot of each column now.
    pub now: Vec<Slot>,
    /// Slots of each spine by voice, to be used again.
    by_voice: BTreeMap<(usize, u16), Slot>,
}

/// What was wrong with a record of spine paths.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Wrong {
    /// A join of one column alone.
    JoinAlone,
    /// An exchange that is not of two columns.
    Exchange,
    /// More columns than any score has.
    TooMany,
}

impl<'a> Columns<'a> {
    /// A new spine, with its first slot.
    pub(super) fn open(&mut self, kind: &'a str) -> Slot {
        self.spines.push(Spine { kind });
        self.slot(self.spines.len() - 1, 0)
    }

    fn slot(&mut self, spine: usize, voice: u16) -> Slot {
        let slots = &mut self.slots;
        *self.by_voice.entry((spine, voice)).or_insert_with(|| {
            slots.push((spine, voice));
            slots.len() - 1
        })
    }

    /// The spine of a slot.
    pub(super) fn spine_of(&self, slot: Slot) -> usize {
        self.slots.get(slot).map_or(0, |(spine, _)| *spine)
    }

    /// Applies one record of interpretations, one token for each column.
    pub(super) fn apply(&mut self, tokens: &[&'a str], steps: &mut Vec<Step>) -> Option<Wrong> {
        let mut wrong = None;
        let before = std::mem::take(&mut self.now);
        let mut taken: BTreeSet<(usize, u16)> = BTreeSet::new();
        let mut free: BTreeMap<usize, u16> = BTreeMap::new();
        if tokens.contains(&"*^") {
            taken.extend(before.iter().filter_map(|slot| self.slots.get(*slot)));
        }
        let mut swap: Option<usize> = None;
        let mut column = 0;
        while let (Some(token), Some(slot)) = (tokens.get(column), before.get(column).copied()) {
            column += 1;
            match *token {
                "*^" if self.now.len() + 1 < MOST_COLUMNS => {
                    let (spine, _) = self.slots[slot];
                    let voice = free.entry(spine).or_default();
                    while taken.contains(&(spine, *voice)) {
                        *voice = voice.saturating_add(1);
                    }
                    let voice = *voice;
                    taken.insert((spine, voice));
                    let new = self.slot(spine, voice);
                    steps.push(Step::Split(slot, new));
                    self.now.extend([slot, new]);
                }
                "*+" if self.now.len() + 1 < MOST_COLUMNS => {
                    let new = self.open("");
                    self.now.extend([slot, new]);
                }
                "*^" | "*+" => {
                    wrong = Some(Wrong::TooMany);
                    self.now.push(slot);
                }
                "*-" => {}
                "*x" => {
                    self.now.push(slot);
                    match swap.take() {
                        None => swap = Some(self.now.len() - 1),
                        Some(first) => {
                            let second = self.now.len() - 1;
                            self.now.swap(first, second);
                        }
                    }
                }
                "*v" => {
                    let run = tokens[column..]
                        .iter()
                        .zip(&before[column..])
                        .take_while(|(token, _)| **token == "*v")
                        .count();
                    let joined = &before[column - 1..column + run];
                    column += run;
                    if run == 0 {
                        wrong = Some(Wrong::JoinAlone);
                    }
                    self.join(joined, steps);
                }
                _ => self.now.push(slot),
            }
        }
        if swap.is_some() {
            wrong = Some(Wrong::Exchange);
        }
        // A record shorter than its columns leaves the others as they are.
        self.now
            .extend_from_slice(before.get(column..).unwrap_or_default());
        wrong
    }

    /// Columns side by side become one; spine by spine, unless each spine comes with a single one.
    fn join(&mut self, slots: &[Slot], steps: &mut Vec<Step>) {
        let across = slots
            .chunk_by(|a, b| self.spine_of(*a) == self.spine_of(*b))
            .all(|group| group.len() == 1);
        let all = [slots];
        let groups: Vec<&[Slot]> = if across {
            all.to_vec()
        } else {
            slots
                .chunk_by(|a, b| self.spine_of(*a) == self.spine_of(*b))
                .collect()
        };
        for group in groups {
            let first = group.iter().copied().min_by_key(|slot| self.slots[*slot]);
            let Some(first) = first else { continue };
            steps.extend(
                group
                    .iter()
                    .filter(|slot| **slot != first)
                    .map(|slot| Step::Join(first, *slot)),
            );
            self.now.push(first);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn voices(columns: &Columns<'_>) -> Vec<(usize, u16)> {
        columns.now.iter().map(|slot| columns.slots[*slot]).collect()
    }

    /// Source: Humdrum user's guide, chapter 5, the examples of spine paths.
    #[test]
    fn voices_keep_their_identity_through_nested_splits() {
        let mut columns = Columns::default();
        columns.now = vec![columns.open("kern"), columns.open("kern")];
        let mut steps = Vec::new();
        assert_eq!(columns.apply(&["*^", "*"], &mut steps), None);
        assert_eq!(voices(&columns), [(0, 0), (0, 1), (1, 0)]);
        assert_eq!(columns.apply(&["*^", "*", "*"], &mut steps), None);
        assert_eq!(voices(&columns), [(0, 0), (0, 2), (0, 1), (1, 0)]);
        assert_eq!(columns.apply(&["*v", "*v", "*", "*"], &mut steps), None);
        assert_eq!(voices(&columns), [(0, 0), (0, 1), (1, 0)]);
        assert_eq!(columns.apply(&["*", "*x", "*x"], &mut steps), None);
        assert_eq!(voices(&columns), [(0, 0), (1, 0), (0, 1)]);
        assert_eq!(columns.apply(&["*-", "*+", "*"], &mut steps), None);
        assert_eq!(voices(&columns), [(1, 0), (2, 0), (0, 1)]);
        assert_eq!(
            columns.apply(&["*v", "*", "*x"], &mut steps),
            Some(Wrong::Exchange)
        );
        assert_eq!(voices(&columns), [(1, 0), (2, 0), (0, 1)]);
        assert_eq!(steps, [Step::Split(0, 2), Step::Split(0, 3), Step::Join(0, 3)]);
    }
}
