//! Which note is tied to which? Every start needs the same pitch where it ends; what has none is a finding.

use super::note::Fields;
use super::part::PartReader;
use crate::report::Here;
use crate::xml::El;
use notation::{BarIndex, Event, EventKind, Finding, Head, HeadNote, How, Id, Pitch, Quarters, Severity};

/// Ties of the part that wait for their other end.
#[derive(Debug, Default)]
pub(super) struct Ties {
    /// Starts that wait: they must be met at `at`.
    pending: Vec<End>,
    starts: Vec<End>,
    stops: Vec<End>,
    /// Ties completed from one end: how many, and where the first is.
    implied: Option<(u32, BarIndex, Quarters)>,
}

/// One end of a tie.
#[derive(Clone, Debug)]
struct End {
    pitch: Pitch,
    /// For a start where the note ends, for a stop where it begins: quarter notes from the start of the part.
    at: Quarters,
    bar: BarIndex,
    offset: Quarters,
    element: Id,
    /// A repeat or ending stands between.
    jump: bool,
}

fn same_sound(head: &Head, pitch: Pitch) -> bool {
    head.pitch()
        .is_some_and(|other| other.semitones() == pitch.semitones())
}

/// More ties than ever wait at once.
const MOST_PENDING: usize = 500;
/// More ties than stand in one bar.
const MOST_IN_BAR: usize = 2_000;

impl PartReader<'_> {
    /// Takes the ties of a head: the sounding ones were read with it, the drawn ones stand in its notations.
    pub(super) fn note_ties(&mut self, el: El<'_, '_>, fields: &Fields<'_, '_>, event: usize) {
        let (mut start, mut stop, mut ring) = (fields.tie_start, fields.tie_stop, fields.let_ring);
        if fields.notations {
            let tied = el
                .children()
                .filter(|child| child.name() == "notations")
                .flat_map(El::children)
                .filter(|child| child.name() == "tied");
            for mark in tied {
                match mark.attr("type") {
                    Some("start") => start = true,
                    Some("stop") => stop = true,
                    Some("continue") => (start, stop) = (true, true),
                    Some("let-ring") => ring = true,
                    _ => self.unread("tied", "notations", crate::report::Why::Unknown),
                }
            }
        }
        if !(start || stop || ring) {
            return;
        }
        let Some(event) = self.part.events.get_mut(event) else {
            return;
        };
        let (place, length) = (event.place, event.duration);
        let notation::EventKind::Chord(heads) = &mut event.kind else {
            return;
        };
        let Some(head) = heads.last_mut() else { return };
        (head.tie_start, head.tie_stop, head.let_ring) = (start, stop, ring);
        let HeadNote::Pitch(pitch) = head.note else { return };
        let element = head.id;
        let onset = self.elapsed + place.offset;
        let end = |at| End {
            pitch,
            at,
            bar: place.bar,
            offset: place.offset,
            element,
            jump: false,
        };
        if start {
            self.ties.starts.push(end(onset + length));
        }
        if stop {
            self.ties.stops.push(end(onset));
        }
    }

    /// Pairs the ties of the bar just read, which ends at `bar_end`.
    pub(super) fn pair_ties(&mut self, bar_end: Quarters) {
        if self.ties.starts.len() + self.ties.stops.len() > MOST_IN_BAR {
            self.ties.starts.clear();
            self.ties.stops.clear();
            self.caution(
                "ties-unchecked",
                "this bar has too many ties to check whether each meets its other end",
                "",
            );
        }
        let jump = self.before_jump;
        let starts = self.ties.starts.drain(..).map(|start| End {
            jump: jump && start.at >= bar_end,
            ..start
        });
        self.ties.pending.extend(starts);
        let stops = std::mem::take(&mut self.ties.stops);
        for stop in stops {
            let matches = |start: &End| {
                start.at == stop.at
                    && start.pitch.semitones() == stop.pitch.semitones()
                    && start.element != stop.element
            };
            if let Some(found) = self.ties.pending.iter().position(matches) {
                self.ties.pending.swap_remove(found);
                continue;
            }
            if self.start_unmarked(&stop) {
                continue;
            }
            let after_jump = self.after_jump && stop.offset.is_zero();
            self.unpaired(&stop, false, after_jump);
        }
        self.flush_ties(Some(bar_end));
    }

    /// Reports the starts that can't be met any more: those whose notes ended before `until`, or all.
    pub(super) fn flush_ties(&mut self, until: Option<Quarters>) {
        if self.ties.pending.is_empty() {
            return;
        }
        let crowded = self.ties.pending.len() > MOST_PENDING;
        let (mut over, wait): (Vec<End>, Vec<End>) = std::mem::take(&mut self.ties.pending)
            .into_iter()
            .partition(|start| crowded || until.is_none_or(|until| start.at < until));
        self.ties.pending = wait;
        over.sort_by_key(|end| (end.bar, end.offset));
        for start in over {
            if !crowded && self.imply_stop(&start) {
                continue;
            }
            self.unpaired(&start, true, start.jump);
        }
    }

    /// Some programs mark only where a tie starts: the same pitch where it ends is then tied on.
    fn imply_stop(&mut self, start: &End) -> bool {
        let offset = start.at - self.elapsed;
        let events = self.part.events.get_mut(self.first_event..).unwrap_or_default();
        let here = events.iter_mut().filter(|event| event.place.offset == offset);
        let heads = here.filter_map(|event| match &mut event.kind {
            EventKind::Chord(heads) => Some(heads),
            _ => None,
        });
        let found = heads
            .flatten()
            .find(|head| head.id != start.element && same_sound(head, start.pitch));
        let Some(head) = found else { return false };
        head.tie_stop = true;
        let id = head.id;
        self.score.piece.provenance.origins.entry(id).how = How::Implied;
        self.count_implied(start);
        true
    }

    /// Some mark only where a tie ends. The note before is left as the file has it: its end says enough.
    fn start_unmarked(&mut self, stop: &End) -> bool {
        let (bar, elapsed, before) = (self.bar, self.elapsed, self.elapsed_before);
        let ends_there = |event: &Event| {
            let start = if event.place.bar == bar { elapsed } else { before };
            start + event.end_offset() == stop.at && event.duration.is_positive()
        };
        let recent = self
            .part
            .events
            .iter()
            .rev()
            .take_while(|event| event.place.bar.0 + 1 >= bar.0);
        let mut heads = recent.filter(|event| ends_there(event)).flat_map(Event::heads);
        let found = heads.any(|head| same_sound(head, stop.pitch));
        if found {
            self.count_implied(stop);
        }
        found
    }

    fn count_implied(&mut self, end: &End) {
        let implied = self.ties.implied.get_or_insert((0, end.bar, end.offset));
        implied.0 += 1;
    }

    /// Says once how many ties were completed.
    pub(super) fn report_implied_ties(&mut self) {
        let Some((count, bar, offset)) = self.ties.implied else {
            return;
        };
        let finding = Finding::new(
            Severity::Note,
            "tie-end-implied",
            format!(
                "ties marked at one end only ({count}, first here): the same pitch at the other end was taken as tied"
            ),
            "",
        );
        let label = self.score.piece.label(bar).to_owned();
        let here = Here {
            part: Some(self.name.clone()),
            bar: Some((bar, label)),
            offset,
        };
        self.score.report.push(here.put(finding));
    }

    fn unpaired(&mut self, end: &End, is_start: bool, jump: bool) {
        let pitch = end.pitch;
        let (severity, what) = match (is_start, jump) {
            (true, false) => (
                Severity::Caution,
                format!("the tie that starts at {pitch} meets no note of that pitch"),
            ),
            (false, false) => (
                Severity::Caution,
                format!("{pitch} is tied to a note before it that is not there"),
            ),
            (true, true) => (
                Severity::Note,
                format!("{pitch} is tied over the repeat or into another ending"),
            ),
            (false, true) => (
                Severity::Note,
                format!("{pitch} is tied from before the repeat or ending"),
            ),
        };
        let advice = if jump {
            ""
        } else {
            "look whether it is a slur, or a tie to another pitch, on the page"
        };
        let finding = Finding::new(severity, "unpaired-tie", what, advice).about(end.element);
        let label = self.score.piece.label(end.bar).to_owned();
        let here = Here {
            part: Some(self.name.clone()),
            bar: Some((end.bar, label)),
            offset: end.offset,
        };
        self.score.report.push(here.put(finding));
    }
}
