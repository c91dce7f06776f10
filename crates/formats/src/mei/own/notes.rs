//! What does our own writer say of a note, rest or space? Times that the print does not tell, heads, beams.

use super::super::layer::Layer;
use super::super::marks::{Mark, mark_of};
use super::super::music::Music;
use super::super::values::note_value;
use super::{List, after, has};
use crate::xml::El;
use notation::{
    Articulation, ArticulationKind, Beam, Event, EventKind, HeadNote, OrnamentKind, Quarters, Rational,
    Technical, Written,
};

impl<'a> Music<'a> {
    /// True for the space of a voice that says nothing.
    pub(in super::super) fn is_own_gap(&self, el: El<'_, 'a>) -> bool {
        self.own.is_some() && el.name() == "space" && has(el, "gap")
    }

    /// Lets the time of such a space pass.
    pub(in super::super) fn own_gap(&mut self, el: El<'_, 'a>, layer: &mut Layer) {
        let value = el.attr("dur").and_then(note_value);
        let printed = value.map(|value| Written {
            value,
            dots: 0,
            tuplets: layer.ratios.clone(),
        });
        let length = self.own_length(el, printed.map_or(Quarters::ZERO, |written| written.quarters()));
        self.advance(layer, length);
    }

    fn own_ticks(&self, el: El<'_, 'a>) -> Option<Quarters> {
        let ticks = el.attr("dur.ppq").and_then(Rational::parse)?;
        Some(ticks / self.ppq?).filter(|length| !length.is_overflow() && !length.is_negative())
    }

    /// The length of an element where the print does not tell it.
    pub(in super::super) fn own_length(&self, el: El<'_, 'a>, printed: Quarters) -> Quarters {
        if self.own.is_none() {
            return printed;
        }
        self.own_ticks(el).unwrap_or(printed)
    }

    /// What our words say of an event that is about to be added.
    pub(in super::super) fn own_event(&mut self, el: El<'_, 'a>, heads: &[El<'_, 'a>], event: &mut Event) {
        if self.own.is_none() {
            return;
        }
        if el.name() == "space" {
            if has(el, "rest") {
                event.kind = EventKind::Rest { whole_bar: false };
                event.printed = false;
            } else {
                event.written = None;
                event.printed = !has(el, "unprinted");
            }
        }
        if has(el, "whole-bar") && event.is_rest() {
            event.kind = EventKind::Rest { whole_bar: true };
        }
        event.cue |= has(el, "cue");
        if event.is_grace()
            && let Some(written) = &mut event.written
        {
            // Grace notes among the notes of a tuplet are none of it.
            let ratio = |text: &str| {
                let (actual, normal) = text.split_once('_')?;
                Some(notation::TupletRatio {
                    actual: actual.parse().ok()?,
                    normal: normal.parse().ok()?,
                })
            };
            let said = after(el, "tuplets.").unwrap_or_default();
            written.tuplets = said.split('.').filter_map(ratio).take(16).collect();
        }
        if has(el, "value-unsaid") {
            event.written = None;
        }
        if has(el, "maxima")
            && let Some(written) = &mut event.written
        {
            written.value = notation::NoteValue::Maxima;
        }
        let elements: Vec<El<'_, 'a>> = if el.name() == "note" {
            vec![el]
        } else {
            heads.to_vec()
        };
        if let EventKind::Chord(heads) = &mut event.kind {
            for (head, el) in heads.iter_mut().zip(elements) {
                if has(el, "no-place") {
                    head.note = HeadNote::Unpitched(None);
                }
                if let Some(shape) = after(el, "head.") {
                    head.shape = Some(shape.replace('_', " "));
                }
                if let (Some(accid), Some(printed)) = (el.child("accid"), &mut head.accidental) {
                    if let Some(sign) = accid.attr("label") {
                        sign.clone_into(&mut printed.sign);
                    }
                    if has(accid, "effect-unsaid") {
                        printed.alter = None;
                    }
                    printed.cautionary |= has(accid, "caution");
                } else if let Some(accid) = el.child("accid") {
                    // A sign that MEI has no name for.
                    head.accidental = Some(notation::PrintedAccidental {
                        sign: accid.attr("label").unwrap_or_default().to_owned(),
                        alter: None,
                        cautionary: accid.attr("func") == Some("caution") || has(accid, "caution"),
                        editorial: accid.attr("func") == Some("edit"),
                        parentheses: accid.attr("enclose").is_some(),
                    });
                }
            }
        }
    }

    /// An articulation or technical mark of ours on a note or chord; false if the file is not ours.
    pub(in super::super) fn own_artic(
        &mut self,
        el: El<'_, 'a>,
        part: usize,
        event: usize,
        head: usize,
    ) -> bool {
        if self.own.is_none() {
            return false;
        }
        let id = el.attr("xml:id").unwrap_or_default();
        let side = super::super::values::side(el.attr("place"));
        let said = el.attr("artic").unwrap_or_default();
        let mark = match said {
            "ten stacc" => Mark::Articulation(ArticulationKind::Portato),
            name => mark_of(name),
        };
        let Some(of) = self.event_mut(part, event) else {
            return true;
        };
        let list = match mark {
            Mark::Articulation(kind) => {
                of.articulations.push(Articulation { kind, side });
                List::Articulations
            }
            Mark::OfEvent(name) | Mark::OfHead(name) => {
                let mark = Technical {
                    name: name.to_owned(),
                    text: el.attr("label").unwrap_or_default().to_owned(),
                    side,
                };
                match &mut of.kind {
                    EventKind::Chord(heads) if id.starts_with('h') => {
                        heads
                            .get_mut(head)
                            .into_iter()
                            .for_each(|head| head.technical.push(mark.clone()));
                        List::OfHead(head)
                    }
                    _ => {
                        of.technical.push(mark);
                        List::Technical
                    }
                }
            }
            Mark::Ornament(_) | Mark::Unknown => return false,
        };
        self.own_order(part, event, list, place_of(id));
        true
    }

    /// What the words of a tremolo say of its ornament, which was added last.
    pub(in super::super) fn own_tremolo(&mut self, el: El<'_, 'a>, part: usize, event: usize) {
        if self.own.is_none() {
            return;
        }
        let order = after(el, "order.")
            .and_then(|place| place.parse().ok())
            .unwrap_or(1);
        let unmeasured = (el.attr("form") == Some("unmeas")).then_some(0);
        let said = after(el, "strokes.")
            .and_then(|strokes| strokes.parse().ok())
            .or(unmeasured);
        let side = super::super::values::side(after(el, "side."));
        if let Some(ornament) = self
            .event_mut(part, event)
            .and_then(|event| event.ornaments.last_mut())
        {
            ornament.side = side;
            if let (OrnamentKind::Tremolo { strokes, .. }, Some(said)) = (&mut ornament.kind, said) {
                *strokes = said;
            }
        }
        self.own_order(part, event, List::Ornaments, order);
    }

    /// Remembers which place the mark that was added last is to have in its list.
    pub(super) fn own_order(&mut self, part: usize, event: usize, list: List, place: u32) {
        let Some(now) = self
            .event_mut(part, event)
            .and_then(|event| length(event, list).checked_sub(1))
        else {
            return;
        };
        if let Some(own) = &mut self.own {
            own.orders
                .entry((part, event, list))
                .or_default()
                .push((now, place));
        }
    }

    /// Beams that are not the usual ones.
    pub(in super::super) fn own_beams(&mut self, el: El<'_, 'a>, part: usize, event: usize) {
        let Some(own) = &mut self.own else { return };
        if let Some(code) = after(el, "beams.") {
            let beams = code.chars().filter_map(|letter| {
                Some(match letter {
                    'b' => Beam::Begin,
                    'c' => Beam::Continue,
                    'e' => Beam::End,
                    'f' => Beam::ForwardHook,
                    'k' => Beam::BackwardHook,
                    _ => return None,
                })
            });
            own.beams.push((part, event, beams.collect()));
        }
    }

    /// A rest that fills the bar, printed or not.
    pub(in super::super) fn own_whole_rest(&mut self, el: El<'_, 'a>, at: usize, layer: &mut Layer) {
        if self.own.is_none() {
            return;
        }
        let length = self.own_ticks(el);
        let value = el.attr("dur").and_then(note_value);
        let dots = after(el, "dots.").and_then(|dots| dots.parse().ok()).unwrap_or(0);
        let printed = el.name() != "mSpace";
        let Some(event) = self.event_mut(layer.part, at) else {
            return;
        };
        event.kind = EventKind::Rest { whole_bar: true };
        event.printed = printed;
        event.cue = el.attr("cue") == Some("true") || has(el, "cue");
        if let Some(length) = length {
            event.duration = length;
        }
        event.written = value.map(|value| Written {
            value,
            dots,
            tuplets: Vec::new(),
        });
        // It lasts as long as it says, and so does the bar; what follows it stands at the end.
        layer.cursor = event.duration;
        if let Some(state) = self.parts.get_mut(layer.part) {
            state.whole_rest = None;
        }
    }

    /// A tuplet that has no bracket of its own on the page, or whose bracket says more.
    pub(in super::super) fn own_tuplet(&mut self, el: El<'_, 'a>, part: usize, spans: usize) {
        if self.own.is_none() {
            return;
        }
        let side = super::super::values::side(el.attr("bracket.place"));
        let Some(state) = self.parts.get_mut(part) else {
            return;
        };
        if state.part.spans.len() <= spans {
            return;
        }
        if has(el, "no-bracket") || has(el, "no-span") {
            state.part.spans.pop();
            return;
        }
        if let Some(span) = state.part.spans.last_mut() {
            span.side = side;
            if has(el, "staff.unsaid") {
                span.staff = None;
            }
        }
    }

    /// The voice of a layer, by its own name.
    pub(in super::super) fn own_voice(
        &mut self,
        el: El<'_, 'a>,
        part: usize,
        staff: u8,
        number: &str,
    ) -> Option<u16> {
        self.own.as_ref()?;
        let name = el.attr("label").unwrap_or(number);
        let state = self.parts.get_mut(part)?;
        let known = state.part.voices.iter().position(|voice| voice == name);
        let index = known.unwrap_or_else(|| {
            state.part.voices.push(name.chars().take(200).collect());
            state.voices.push(super::super::music::VoiceState {
                staff,
                layer: number.to_owned(),
                ..Default::default()
            });
            state.part.voices.len() - 1
        });
        u16::try_from(index).ok()
    }
}

/// The number at the end of an id made for a mark: `e12-artic3` is the third.
pub(super) fn place_of(id: &str) -> u32 {
    let digits = id.len() - id.trim_end_matches(|c: char| c.is_ascii_digit()).len();
    id.get(id.len() - digits..)
        .and_then(|number| number.parse().ok())
        .unwrap_or(0)
}

fn length(event: &Event, list: List) -> usize {
    match list {
        List::Articulations => event.articulations.len(),
        List::Ornaments => event.ornaments.len(),
        List::Technical => event.technical.len(),
        List::OfHead(head) => event.heads().get(head).map_or(0, |head| head.technical.len()),
    }
}

/// Puts the marks of a list in the order that their ids tell.
pub(super) fn reorder(event: &mut Event, list: List, places: &[(usize, u32)]) {
    fn sorted<T: Clone>(marks: &mut Vec<T>, places: &[(usize, u32)]) {
        if places.len() != marks.len() || marks.len() < 2 {
            return;
        }
        let mut order = places.to_vec();
        order.sort_by_key(|(_, place)| *place);
        *marks = order
            .iter()
            .filter_map(|(now, _)| marks.get(*now).cloned())
            .collect();
    }
    match list {
        List::Articulations => sorted(&mut event.articulations, places),
        List::Ornaments => sorted(&mut event.ornaments, places),
        List::Technical => sorted(&mut event.technical, places),
        List::OfHead(head) => {
            if let EventKind::Chord(heads) = &mut event.kind
                && let Some(head) = heads.get_mut(head)
            {
                sorted(&mut head.technical, places);
            }
        }
    }
}
