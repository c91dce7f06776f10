//! What is struck, and how long is it held? The events of the played bars by voice, ties joined, grace notes attached.

use super::timeline::Slot;
use notation::{BarGroup, BarGroupKind, BarIndex, Event, Id, Part, Pitch, Quarters};
use std::collections::BTreeMap;

/// One head of a unit.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Sung {
    pub head: Id,
    /// As written; `None` for an unpitched head.
    pub pitch: Option<Pitch>,
    /// It is held past the unit's end up to here, by a tie of its own.
    pub held_to: Option<Quarters>,
}

/// A note or chord with what is tied to it, as it is played once.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct Unit {
    /// Its events: when each starts (performance time), the event's index, the slot.
    pub parts: Vec<(Quarters, usize, usize)>,
    pub onset: Quarters,
    /// When the written time is up.
    pub end: Quarters,
    pub heads: Vec<Sung>,
    /// Grace notes before it and after it, as event indices.
    pub before: Vec<usize>,
    pub after: Vec<usize>,
}

impl Unit {
    pub fn event(&self) -> usize {
        self.parts.first().map_or(0, |part| part.1)
    }

    pub fn last_event(&self) -> usize {
        self.parts.last().map_or(0, |part| part.1)
    }

    pub fn slot(&self) -> usize {
        self.parts.first().map_or(0, |part| part.2)
    }

    pub fn top(&self) -> Option<Pitch> {
        self.heads.iter().filter_map(|head| head.pitch).max()
    }
}

/// One voice's units in order of time.
pub(super) type Voices = BTreeMap<u16, Vec<Unit>>;

/// Where a tied head can be found: voice, unit, head, and when it ends.
type Open = BTreeMap<Pitch, (u16, usize, usize, Quarters)>;

/// The most notes of one performance.
const MOST_UNITS: usize = 1_000_000;

/// The units of every voice. Rests, spaces and cues are silent.
pub(super) fn units(part: &Part, slots: &[Slot]) -> Voices {
    let mut voices: Voices = BTreeMap::new();
    let mut open: Open = BTreeMap::new();
    let mut graces: BTreeMap<u16, Vec<usize>> = BTreeMap::new();
    let repeats: Vec<&BarGroup> = part
        .bar_groups
        .iter()
        .filter(|group| matches!(group.kind, BarGroupKind::MeasureRepeat { .. }))
        .collect();
    let mut count = 0;
    for (slot_index, slot) in slots.iter().enumerate().filter(|(_, slot)| !slot.count_in) {
        graces.clear();
        for (index, event) in bar_events(part, &repeats, slot.played.bar) {
            count += 1;
            if event.cue || !inside(event, slot) || count > MOST_UNITS {
                continue;
            }
            let when = slot.start + event.place.offset - slot.played.from;
            let voice = voices.entry(event.voice).or_default();
            match event.grace {
                Some(grace) if grace.after => {
                    if let Some(last) = voice
                        .last_mut()
                        .filter(|last| last.end >= when && event.is_note())
                    {
                        last.after.push(index);
                    }
                }
                Some(_) if event.is_note() => graces.entry(event.voice).or_default().push(index),
                _ if event.is_note() && event.duration.is_positive() => {
                    let end = (when + event.duration).min(slot.end());
                    let before = graces.remove(&event.voice).unwrap_or_default();
                    add(
                        &mut voices,
                        &mut open,
                        event,
                        (when, index, slot_index),
                        end,
                        before,
                    );
                }
                _ => {}
            }
        }
    }
    voices
}

fn inside(event: &Event, slot: &Slot) -> bool {
    let offset = event.place.offset;
    let after = event.grace.is_some_and(|grace| grace.after);
    slot.played.from <= offset && (offset < slot.played.to || after && offset == slot.played.to)
}

/// A bar's events with their indices; under a repeat sign that nobody has written out, those of the bar it repeats.
fn bar_events<'a>(
    part: &'a Part,
    repeats: &[&BarGroup],
    bar: BarIndex,
) -> impl Iterator<Item = (usize, &'a Event)> + use<'a> {
    let range = |bar: BarIndex| {
        let range = part.bar_ranges.get(bar.get());
        range.map_or(0..0, |range| range.start as usize..range.end as usize)
    };
    let mut events = range(bar);
    if events.is_empty()
        && let Some(source) = repeated(repeats, bar)
    {
        events = range(source);
    }
    events.filter_map(|index| part.events.get(index).map(|event| (index, event)))
}

fn repeated(repeats: &[&BarGroup], bar: BarIndex) -> Option<BarIndex> {
    repeats.iter().find_map(|group| {
        let BarGroupKind::MeasureRepeat { pattern } = group.kind else {
            return None;
        };
        let pattern = pattern.max(1);
        let within = bar
            .0
            .checked_sub(group.start.0)
            .filter(|within| *within < group.bars)?;
        let source = group.start.0.checked_sub(pattern)?;
        Some(BarIndex(source + within % pattern))
    })
}

fn add(
    voices: &mut Voices,
    open: &mut Open,
    event: &Event,
    part: (Quarters, usize, usize),
    end: Quarters,
    before: Vec<usize>,
) {
    let (onset, ..) = part;
    let mut heads: Vec<Sung> = Vec::new();
    let mut tied: Vec<(usize, (u16, usize, usize))> = Vec::new();
    for (at, head) in event.heads().iter().enumerate() {
        let from = head
            .pitch()
            .filter(|_| head.tie_stop && before.is_empty())
            .and_then(|pitch| open.get(&pitch))
            .filter(|(.., until)| *until == onset);
        match from {
            Some((voice, unit, sung, _)) => tied.push((at, (*voice, *unit, *sung))),
            None => heads.push(Sung {
                head: head.id,
                pitch: head.pitch(),
                held_to: None,
            }),
        }
    }
    // Where each head of the event sounds from now on.
    let mut now_in: Vec<(usize, (u16, usize, usize))> = tied.clone();
    let whole = heads.is_empty().then(|| one_unit(&tied, voices, onset)).flatten();
    if let Some((voice, unit)) = whole {
        if let Some(unit) = voices.get_mut(&voice).and_then(|list| list.get_mut(unit)) {
            unit.end = end;
            unit.parts.push(part);
        }
    } else {
        for (_, (voice, unit, sung)) in &tied {
            let unit = voices.get_mut(voice).and_then(|list| list.get_mut(*unit));
            if let Some(sung) = unit.and_then(|unit| unit.heads.get_mut(*sung)) {
                sung.held_to = Some(end);
            }
        }
    }
    if !heads.is_empty() {
        let list = voices.entry(event.voice).or_default();
        let unit = list.len();
        for (sung, new) in heads.iter().enumerate() {
            let at = event
                .heads()
                .iter()
                .position(|head| head.id == new.head)
                .unwrap_or(0);
            now_in.push((at, (event.voice, unit, sung)));
        }
        list.push(Unit {
            parts: vec![part],
            onset,
            end,
            heads,
            before,
            after: Vec::new(),
        });
    }
    for (at, (voice, unit, sung)) in now_in {
        if let Some(head) = event.heads().get(at)
            && let Some(pitch) = head.pitch()
        {
            if head.tie_start {
                open.insert(pitch, (voice, unit, sung, end));
            } else {
                open.remove(&pitch);
            }
        }
    }
}

/// The one unit that all heads of an event are tied from, if it is one, holds no others and ends where they begin.
fn one_unit(tied: &[(usize, (u16, usize, usize))], voices: &Voices, onset: Quarters) -> Option<(u16, usize)> {
    let (_, (voice, unit, _)) = *tied.first()?;
    let same = tied.iter().all(|(_, (v, u, _))| (*v, *u) == (voice, unit));
    let target = voices.get(&voice)?.get(unit)?;
    let fits = same && target.end == onset && target.heads.len() == tied.len();
    fits.then_some((voice, unit))
}
