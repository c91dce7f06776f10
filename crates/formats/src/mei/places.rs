//! Where does a control event stand? Beats and names of elements turned into places, events and heads.

use super::control::Control;
use super::music::{Music, Target};
use notation::{Anchor, BarIndex, Event, Place, Quarters, Rational};

/// Beats are written in decimals: within this fraction of a quarter note from a note they mean that note.
const NEAR: i64 = 64;
/// So many events at one place are looked at, at most.
const MOST_AT: usize = 64;

/// A place of a part, with the event that stands there if one is meant.
#[derive(Clone, Copy, Debug)]
pub(super) struct Spot {
    pub part: usize,
    pub place: Place,
    pub event: Option<usize>,
    pub head: Option<usize>,
}

/// The events of each part in order of time.
pub(super) struct Onsets(Vec<Vec<(Place, u32)>>);

impl Onsets {
    pub(super) fn of(music: &Music<'_>) -> Self {
        let of_part = |events: &[Event]| {
            let mut onsets: Vec<(Place, u32)> = events
                .iter()
                .zip(0_u32..)
                .map(|(event, at)| (event.place, at))
                .collect();
            onsets.sort();
            onsets
        };
        Self(
            music
                .parts
                .iter()
                .map(|state| of_part(&state.part.events))
                .collect(),
        )
    }

    fn part(&self, part: usize) -> &[(Place, u32)] {
        self.0.get(part).map_or(&[], Vec::as_slice)
    }

    /// Events at a place.
    pub(super) fn at(&self, part: usize, place: Place) -> impl Iterator<Item = usize> + '_ {
        let onsets = self.part(part);
        let from = onsets.partition_point(|(at, _)| *at < place);
        let rest = onsets.get(from..).unwrap_or_default();
        rest.iter()
            .take(MOST_AT)
            .take_while(move |(at, _)| *at == place)
            .map(|(_, event)| *event as usize)
    }

    /// Events before a place, the nearest first.
    pub(super) fn before(&self, part: usize, place: Place) -> impl Iterator<Item = usize> + '_ {
        let onsets = self.part(part);
        let until = onsets.partition_point(|(at, _)| *at < place);
        onsets
            .get(..until)
            .unwrap_or_default()
            .iter()
            .rev()
            .take(MOST_AT)
            .map(|(_, event)| *event as usize)
    }

    /// Events from a place on and before another (or at it, too).
    pub(super) fn between(
        &self,
        part: usize,
        from: Place,
        to: Place,
        inclusive: bool,
    ) -> impl Iterator<Item = usize> + '_ {
        let onsets = self.part(part);
        let first = onsets.partition_point(|(at, _)| *at < from);
        let end = onsets.partition_point(|(at, _)| *at < to || inclusive && *at == to);
        onsets
            .get(first..end)
            .unwrap_or_default()
            .iter()
            .map(|(_, event)| *event as usize)
    }

    /// The place of a note very near, if there is one.
    fn snapped(&self, part: usize, place: Place) -> Place {
        let near = Rational::new(1, NEAR);
        let onsets = self.part(part);
        let from = onsets.partition_point(|(at, _)| {
            *at < Place {
                bar: place.bar,
                offset: place.offset - near,
            }
        });
        onsets
            .get(from)
            .map(|(at, _)| *at)
            .filter(|at| at.bar == place.bar && (at.offset - place.offset).abs() <= near)
            .unwrap_or(place)
    }
}

impl<'a> Music<'a> {
    /// The event and head that a target names.
    fn spot(&self, target: Target) -> Option<Spot> {
        match target {
            Target::Event { part, event, head } => {
                let (part, event) = (part as usize, event as usize);
                let place = self.parts.get(part)?.part.events.get(event)?.place;
                Some(Spot {
                    part,
                    place,
                    event: Some(event),
                    head: head.map(|head| head as usize),
                })
            }
            Target::Bar(bar) => Some(Spot {
                part: 0,
                place: Place::start_of(bar),
                event: None,
                head: None,
            }),
        }
    }

    pub(super) fn named(&self, name: &str) -> Option<Spot> {
        self.ids.get(name).and_then(|target| self.spot(*target))
    }

    /// The number below the metre of a part in a bar.
    fn unit(&self, part: usize, bar: BarIndex) -> i64 {
        let units = self
            .parts
            .get(part)
            .map_or(&[][..], |state| state.units.as_slice());
        let until = units.partition_point(|(from, _)| *from <= bar);
        until
            .checked_sub(1)
            .and_then(|at| units.get(at))
            .map_or(4, |(_, unit)| i64::from(*unit))
    }

    /// The place of a beat (counted from 1) in a measure.
    fn beat_place(&self, part: usize, measure: usize, beat: Rational, onsets: &Onsets) -> Option<Place> {
        let bar = *self.measures.get(measure).or(self.measures.last())?;
        let offset = (beat - Rational::ONE) * Rational::new(4, self.unit(part, bar));
        if offset.is_overflow() || offset > crate::assemble::LONGEST_BAR {
            return None;
        }
        Some(onsets.snapped(
            part,
            Place {
                bar,
                offset: offset.max(Quarters::ZERO),
            },
        ))
    }

    /// The parts and staves for which a control event is meant: the first staff of each part.
    pub(super) fn staves_of(&self, control: &Control<'a>) -> Vec<(usize, u8)> {
        let mut found: Vec<(usize, u8)> = Vec::new();
        for staff in control.staves.iter().filter_map(|at| self.staves.get(*at)) {
            if !found.iter().any(|(part, _)| *part == staff.part) {
                found.push((staff.part, staff.index));
            }
        }
        found
    }

    /// Where a control event starts, in a part.
    pub(super) fn start_spot(&self, control: &Control<'a>, part: usize, onsets: &Onsets) -> Option<Spot> {
        if let Some(spot) = control.within.and_then(|target| self.spot(target)) {
            return Some(spot);
        }
        if let Some(spot) = control.start.as_deref().and_then(|name| self.named(name)) {
            return Some(spot);
        }
        if let Some(place) = control
            .beat
            .and_then(|beat| self.beat_place(part, control.measure, beat, onsets))
        {
            return Some(Spot {
                part,
                place,
                event: None,
                head: None,
            });
        }
        control.listed.iter().find_map(|name| self.named(name))
    }

    /// Where it ends.
    pub(super) fn end_spot(&self, control: &Control<'a>, part: usize, onsets: &Onsets) -> Option<Spot> {
        if let Some(spot) = control.end.as_deref().and_then(|name| self.named(name)) {
            return Some(spot);
        }
        if let Some((measures, beat)) = control.end_beat {
            let measure = control.measure.saturating_add(measures);
            let place = self.beat_place(part, measure, beat, onsets)?;
            return Some(Spot {
                part,
                place,
                event: None,
                head: None,
            });
        }
        if control.listed.len() > 1 {
            return control.listed.iter().rev().find_map(|name| self.named(name));
        }
        None
    }

    /// The note that a spot means: its own, or the one at its place (in the staff and layer that are said).
    pub(super) fn event_of(
        &self,
        spot: Spot,
        staff: Option<u8>,
        layer: Option<&str>,
        onsets: &Onsets,
    ) -> Option<usize> {
        spot.event
            .or_else(|| self.best(spot.part, onsets.at(spot.part, spot.place), staff, layer))
    }

    /// The best of some events: a note of the staff and layer before others, no grace note if there is another.
    pub(super) fn best(
        &self,
        part: usize,
        events: impl Iterator<Item = usize>,
        staff: Option<u8>,
        layer: Option<&str>,
    ) -> Option<usize> {
        let state = self.parts.get(part)?;
        let fits = |event: &Event| {
            let voice = state.voices.get(usize::from(event.voice));
            let of_staff = staff.is_none_or(|staff| event.staff == staff);
            let of_layer = layer.is_none_or(|layer| voice.is_some_and(|voice| voice.layer == layer));
            (of_staff, of_layer, event.is_note(), !event.is_grace())
        };
        let mut best: Option<(usize, (bool, bool, bool, bool))> = None;
        for at in events {
            let Some(event) = state.part.events.get(at) else {
                continue;
            };
            let fit = fits(event);
            if best.is_none_or(|(_, known)| fit > known) {
                best = Some((at, fit));
            }
        }
        best.map(|(at, _)| at)
    }

    /// An anchor at an event.
    pub(super) fn event_anchor(&self, part: usize, event: usize) -> Option<Anchor> {
        let event = self.parts.get(part)?.part.events.get(event)?;
        Some(Anchor {
            place: event.place,
            element: Some(event.id),
        })
    }
}
