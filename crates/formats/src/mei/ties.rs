//! Does every tie meet its other end? Checked over each part when all is read; a missing end at the same pitch is implied.

use super::music::Music;
use crate::report::Here;
use notation::{BarIndex, BarSide, EventKind, Finding, How, Id, Place, Quarters, Rational, Severity};
use std::collections::{BTreeMap, BTreeSet};

/// One end of a tie: where it must be met, and what stands there.
#[derive(Clone, Debug)]
struct End {
    event: usize,
    head: usize,
    element: Id,
    place: Place,
    pitch: String,
}

type Key = (BarIndex, Quarters, Rational);

impl<'a> Music<'a> {
    pub(super) fn check_ties(&mut self) {
        for part in 0..self.parts.len() {
            self.check_part(part);
        }
    }

    fn check_part(&mut self, part: usize) {
        let Some(state) = self.parts.get(part) else { return };
        let content = |bar: BarIndex| {
            state
                .facts
                .get(bar.get())
                .map_or(Quarters::ZERO, |facts| facts.content)
        };
        let mut starts: Vec<(Key, End)> = Vec::new();
        let mut heads: BTreeMap<Key, Vec<(usize, usize)>> = BTreeMap::new();
        let mut ends: BTreeMap<Key, Vec<(usize, usize)>> = BTreeMap::new();
        let mut stops: Vec<(Key, End)> = Vec::new();
        if !state
            .part
            .events
            .iter()
            .flat_map(notation::Event::heads)
            .any(|head| head.tie_start || head.tie_stop)
        {
            return;
        }
        for (at, event) in state.part.events.iter().enumerate() {
            let end = event.end_offset();
            let after = if end >= content(event.place.bar) {
                (event.place.bar.next(), Quarters::ZERO)
            } else {
                (event.place.bar, end)
            };
            for (nth, head) in event.heads().iter().enumerate() {
                let Some(pitch) = head.pitch() else { continue };
                let onset = (event.place.bar, event.place.offset, pitch.semitones());
                let meets = (after.0, after.1, pitch.semitones());
                let this = || End {
                    event: at,
                    head: nth,
                    element: head.id,
                    place: event.place,
                    pitch: pitch.to_string(),
                };
                heads.entry(onset).or_default().push((at, nth));
                ends.entry(meets).or_default().push((at, nth));
                if head.tie_start {
                    starts.push((meets, this()));
                }
                if head.tie_stop {
                    stops.push((onset, this()));
                }
            }
        }
        let (jump_after, jump_before) = self.jumps(part);
        let mut met: BTreeMap<Key, usize> = BTreeMap::new();
        for (key, _) in &stops {
            *met.entry(*key).or_default() += 1;
        }
        let mut implied: Vec<(usize, usize)> = Vec::new();
        let mut unpaired: Vec<(End, bool, bool)> = Vec::new();
        let mut first_implied: Option<Place> = None;
        let mut taken: BTreeMap<Key, usize> = BTreeMap::new();
        for (key, end) in &starts {
            let left = met.get_mut(key).filter(|left| **left > 0);
            if let Some(left) = left {
                *left -= 1;
                *taken.entry(*key).or_default() += 1;
                continue;
            }
            let other = heads
                .get(key)
                .and_then(|heads| heads.iter().find(|(event, _)| *event != end.event));
            match other {
                Some(found) => {
                    implied.push(*found);
                    first_implied.get_or_insert(end.place);
                }
                None => unpaired.push((end.clone(), true, jump_after.contains(&key.0) && key.1.is_zero())),
            }
        }
        for (key, end) in &stops {
            let started = taken.get_mut(key).filter(|left| **left > 0);
            if let Some(left) = started {
                *left -= 1;
                continue;
            }
            let other = ends.get(key).is_some_and(|ends| {
                ends.iter()
                    .any(|(event, head)| (*event, *head) != (end.event, end.head))
            });
            if other {
                first_implied.get_or_insert(end.place);
                implied.push((usize::MAX, 0));
            } else {
                unpaired.push((
                    end.clone(),
                    false,
                    jump_before.contains(&key.0) && key.1.is_zero(),
                ));
            }
        }
        self.settle_ties(part, &implied, first_implied, unpaired);
    }

    fn settle_ties(
        &mut self,
        part: usize,
        implied: &[(usize, usize)],
        first: Option<Place>,
        mut unpaired: Vec<(End, bool, bool)>,
    ) {
        for (event, head) in implied {
            let Some(event) = self.event_mut(part, *event) else {
                continue;
            };
            let EventKind::Chord(heads) = &mut event.kind else {
                continue;
            };
            if let Some(head) = heads.get_mut(*head) {
                head.tie_stop = true;
                let id = head.id;
                self.score.piece.provenance.origins.entry(id).how = How::Implied;
            }
        }
        let here = |music: &Self, place: Place| Here {
            part: music.parts.get(part).map(|state| state.name.clone()),
            bar: Some((place.bar, music.score.piece.label(place.bar).to_owned())),
            offset: place.offset,
        };
        if let Some(place) = first {
            let what = format!(
                "ties marked at one end only ({}, first here): the same pitch at the other end was taken as tied",
                implied.len()
            );
            let finding = here(self, place).put(Finding::new(Severity::Note, "tie-end-implied", what, ""));
            self.score.report.push(finding);
        }
        unpaired.sort_by_key(|(end, starts, _)| (end.place, *starts));
        for (end, starts, jump) in unpaired {
            let pitch = &end.pitch;
            let what = match (starts, jump) {
                (true, false) => format!("the tie that starts at {pitch} meets no note of that pitch"),
                (false, false) => format!("{pitch} is tied to a note before it that is not there"),
                (true, true) => format!("{pitch} is tied over the repeat or into another ending"),
                (false, true) => format!("{pitch} is tied from before the repeat or ending"),
            };
            let (severity, advice) = if jump {
                (Severity::Note, "")
            } else {
                (
                    Severity::Caution,
                    "look whether it is a slur, or a tie to another pitch, on the page",
                )
            };
            let finding = Finding::new(severity, "unpaired-tie", what, advice).about(end.element);
            let finding = here(self, end.place).put(finding);
            self.score.report.push(finding);
        }
    }

    /// Bars before which, and bars at which, a repeat or ending lets the music come from elsewhere.
    fn jumps(&self, part: usize) -> (BTreeSet<BarIndex>, BTreeSet<BarIndex>) {
        let (mut after, mut before) = (BTreeSet::new(), BTreeSet::new());
        let lines = self
            .parts
            .get(part)
            .map_or(&[][..], |state| state.lines.as_slice());
        for line in lines {
            let forward = line.repeat.as_ref().map(|repeat| repeat.forward);
            match line.side {
                BarSide::Right if forward == Some(false) || line.ending.is_some() => {
                    after.insert(line.place.bar.next());
                }
                BarSide::Left if forward == Some(true) || line.ending.is_some() => {
                    before.insert(line.place.bar);
                }
                _ => {}
            }
        }
        (after, before)
    }
}
