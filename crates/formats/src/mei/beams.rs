//! Which notes are beamed together, and on which levels? From `beam`, `beamSpan` and attributes, told as begin and end.
//!
//! Source: MEI 5.0, beam, att.beamSecondary (`breaksec`: so many beams go on after the note).

use super::layer::Layer;
use super::music::Music;
use super::values::{flags, is_true};
use crate::xml::El;
use notation::{Beam, Event};
use std::collections::BTreeMap;

impl<'a> Music<'a> {
    pub(super) fn beam(&mut self, el: El<'_, 'a>, layer: &mut Layer) {
        let from = self.event_count(layer.part);
        let (outer, outer_grace) = (layer.beamed, layer.grace);
        layer.beamed = true;
        if is_true(el, "slash") && outer_grace.is_none() && only_graces(el) {
            layer.grace = Some(true);
        }
        let cue = layer.cue;
        layer.cue |= is_true(el, "cue");
        for child in self.content(el) {
            self.layer_child(child, layer);
        }
        layer.cue = cue;
        (layer.beamed, layer.grace) = (outer, outer_grace);
        let Some(state) = self.parts.get_mut(layer.part) else {
            return;
        };
        let events = &mut state.part.events;
        let within: Vec<usize> = (from..events.len())
            .filter(|at| events.get(*at).is_some_and(Event::is_note))
            .collect();
        // A beam inside a beam joins grace notes, as a rule.
        let graces = within
            .iter()
            .all(|at| events.get(*at).is_some_and(Event::is_grace));
        if !outer || graces {
            mark(events, &within, &layer.breaks);
        }
        if !outer {
            layer.breaks.clear();
        }
    }

    /// Events of a part so far.
    pub(super) fn event_count(&self, part: usize) -> usize {
        self.parts.get(part).map_or(0, |state| state.part.events.len())
    }

    /// A beam written as attributes of its notes (`i1`, `m1`, `t1`).
    pub(super) fn attr_beam(&mut self, el: El<'_, 'a>, layer: &mut Layer, at: usize) {
        if let Some(beams) = el.attr("breaksec").and_then(|text| text.parse::<u8>().ok()) {
            layer.breaks.insert(at, beams);
        }
        // Inside the element the attribute only says so again.
        let Some(said) = el.attr("beam").filter(|_| !layer.beamed) else {
            return;
        };
        if said.split_whitespace().any(|word| word.starts_with('i')) {
            layer.attr_beam.get_or_insert_with(Vec::new);
        }
        if let Some(beam) = &mut layer.attr_beam {
            beam.push(at);
        }
        if said.split_whitespace().any(|word| word.starts_with('t')) {
            self.close_attr_beam(layer);
        }
    }

    pub(super) fn close_attr_beam(&mut self, layer: &mut Layer) {
        if let (Some(beam), Some(state)) = (layer.attr_beam.take(), self.parts.get_mut(layer.part)) {
            mark(&mut state.part.events, &beam, &layer.breaks);
        }
    }
}

fn only_graces(el: El<'_, '_>) -> bool {
    let mut notes = el
        .children()
        .filter(|child| matches!(child.name(), "note" | "chord"))
        .peekable();
    notes.peek().is_some() && notes.all(|note| note.attr("grace").is_some())
}

/// Beams of events that are joined, level by level. Grace notes among others are joined among themselves.
pub(super) fn mark(events: &mut [Event], within: &[usize], breaks: &BTreeMap<usize, u8>) {
    let is = |at: &usize, grace: bool| {
        events
            .get(*at)
            .is_some_and(|event| event.is_note() && event.is_grace() == grace)
    };
    let plain: Vec<usize> = within.iter().copied().filter(|at| is(at, false)).collect();
    let graces: Vec<usize> = within.iter().copied().filter(|at| is(at, true)).collect();
    let joined = if plain.is_empty() { graces } else { plain };
    if joined.len() < 2 {
        return;
    }
    let levels: Vec<u8> = joined
        .iter()
        .map(|at| {
            events
                .get(*at)
                .and_then(|event| event.written.as_ref())
                .map_or(1, |written| flags(written.value).max(1))
        })
        .collect();
    let open = |left: usize, level: u8| {
        let left_level = levels.get(left).copied().unwrap_or(0);
        let right_level = levels.get(left + 1).copied().unwrap_or(0);
        let broken = joined
            .get(left)
            .and_then(|at| breaks.get(at))
            .is_some_and(|go_on| level > *go_on);
        left_level >= level && right_level >= level && !broken
    };
    for (nth, at) in joined.iter().enumerate() {
        let beams = (1..=levels.get(nth).copied().unwrap_or(1)).map(|level| {
            let before = nth > 0 && open(nth - 1, level);
            let after = nth + 1 < joined.len() && open(nth, level);
            match (before, after) {
                (false, true) => Beam::Begin,
                (true, true) => Beam::Continue,
                (true, false) => Beam::End,
                // A stub: into the beam at its start, back to the note before elsewhere.
                (false, false) if nth == 0 => Beam::ForwardHook,
                (false, false) => Beam::BackwardHook,
            }
        });
        let beams = beams.collect();
        if let Some(event) = events.get_mut(*at) {
            event.beams = beams;
        }
    }
}
