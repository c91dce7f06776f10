//! What stands in a layer, one after the other? Notes, rests and what holds them, the cursor moving on.

use super::bars::rest_bars;
use super::force::Force;
use super::music::Music;
use super::values::{is_false, is_true, number};
use crate::assemble::LONGEST_BAR;
use crate::report::Why;
use crate::xml::El;
use notation::{BarGroupKind, BarSide, EventKind, Quarters, Severity, TupletRatio};
use std::collections::BTreeMap;

/// Where we are in a layer.
pub(super) struct Layer {
    pub part: usize,
    /// Index into the staves of the score.
    pub staff_at: usize,
    /// Number of the staff in its part.
    pub staff: u8,
    pub voice: u16,
    pub cursor: Quarters,
    pub cue: bool,
    /// Tuplets that stand around, outermost first.
    pub ratios: Vec<TupletRatio>,
    /// Grace notes since the last other note.
    pub graces: u16,
    /// In a group of grace notes: with a stroke or not.
    pub grace: Option<bool>,
    /// Strokes of a tremolo around the notes.
    pub tremolo: Option<u8>,
    /// Beams are open around.
    pub beamed: bool,
    /// After this event only so many beams go on.
    pub breaks: BTreeMap<usize, u8>,
    /// Events of a beam written as attributes.
    pub attr_beam: Option<Vec<usize>>,
    /// Start of a tuplet written as attributes.
    pub attr_tuplet: Option<(usize, TupletRatio)>,
}

impl<'a> Music<'a> {
    /// Reads a `<staff>` of the measure.
    pub(super) fn staff(&mut self, el: El<'_, 'a>, nth: usize) {
        let usual = nth.to_string();
        let said = el
            .attr("n")
            .filter(|n| !n.is_empty())
            .unwrap_or(&usual)
            .to_owned();
        let Some(staff) = self.staff_numbered(&said) else {
            return self.unread("staff", "measure", Why::NoPlace);
        };
        if let Some(copied) = el.attr("copyof") {
            self.not_copied("staff", copied);
        }
        let mut layers = 0_usize;
        for child in self.content(el) {
            match child.name() {
                "layer" => {
                    layers += 1;
                    self.layer(child, staff, layers);
                }
                "ossia" => {
                    for inner in self.content(child) {
                        if inner.name() == "layer" {
                            layers += 1;
                            self.layer(inner, staff, layers);
                        } else {
                            self.unread(inner.name(), "ossia", Why::NoPlace);
                        }
                    }
                }
                "staffDef" | "clef" | "keySig" | "meterSig" | "meterSigGrp" => {
                    let mut force = Force::of_definition(child);
                    force.element(child);
                    let part = self.staves.get(staff).map(|staff| staff.part);
                    self.say_unclear(&force, part);
                    self.put_in_force(staff, &force, Quarters::ZERO, false, true);
                }
                "annot" => self.unread("annot", "staff", Why::NoPlace),
                "sb" | "pb" | "cb" | "gap" => self.unread(child.name(), "staff", Why::NoPlace),
                // Control events of older files.
                _ => self.control(child),
            }
        }
    }

    fn layer(&mut self, el: El<'_, 'a>, staff_at: usize, nth: usize) {
        let Some((part, staff)) = self.staves.get(staff_at).map(|staff| (staff.part, staff.index)) else {
            return;
        };
        let usual = nth.to_string();
        let number: String = el
            .attr("n")
            .filter(|n| !n.is_empty())
            .unwrap_or(&usual)
            .chars()
            .take(20)
            .collect();
        let own = self.own_voice(el, part, staff, &number);
        let voice = own.unwrap_or_else(|| self.free_voice(part, staff, &number));
        if let Some(copied) = el.attr("copyof") {
            self.not_copied("layer", copied);
        }
        let mut layer = Layer {
            part,
            staff_at,
            staff,
            voice,
            cursor: Quarters::ZERO,
            cue: is_true(el, "cue"),
            ratios: Vec::new(),
            graces: 0,
            grace: None,
            tremolo: None,
            beamed: false,
            breaks: BTreeMap::new(),
            attr_beam: None,
            attr_tuplet: None,
        };
        for child in self.content(el) {
            self.layer_child(child, &mut layer);
        }
        self.close_attr_beam(&mut layer);
        self.close_attr_tuplet(&mut layer, None);
        if let Some(state) = self.parts.get_mut(part) {
            state.end = state.end.max(layer.cursor);
            if let Some(voice) = state.voices.get_mut(usize::from(voice)) {
                voice.reach = voice.reach.max(layer.cursor);
            }
        }
    }

    /// The voice of a layer; of two layers with one number in a measure the second takes the next that is free.
    fn free_voice(&mut self, part: usize, staff: u8, number: &str) -> u16 {
        let measure = self.measures.len();
        let further = (1..=20_u8).map(|n| n.to_string());
        for number in std::iter::once(number.to_owned()).chain(further) {
            let voice = self.voice(part, staff, &number);
            let state = self
                .parts
                .get_mut(part)
                .and_then(|state| state.voices.get_mut(usize::from(voice)));
            if let Some(state) = state
                && std::mem::replace(&mut state.measure, measure) != measure
            {
                return voice;
            }
        }
        self.voice(part, staff, number)
    }

    pub(super) fn layer_child(&mut self, el: El<'_, 'a>, layer: &mut Layer) {
        match el.name() {
            "space" if self.is_own_gap(el) => self.own_gap(el, layer),
            "note" | "chord" | "rest" | "space" => self.timed(el, layer),
            "beam" => self.beam(el, layer),
            "tuplet" => self.tuplet(el, layer),
            "graceGrp" => self.grace_group(el, layer),
            "bTrem" => self.one_note_tremolo(el, layer),
            "fTrem" => self.two_note_tremolo(el, layer),
            "mRest" | "multiRest" => self.whole_rest(el, layer),
            "mSpace" => self.whole_space(el, layer),
            "mRpt" | "mRpt2" | "multiRpt" => self.bar_repeat(el, layer),
            "halfmRpt" | "beatRpt" => self.beat_repeat(el, layer),
            "clef" | "keySig" | "meterSig" | "meterSigGrp" | "clefGrp" | "staffDef" | "layerDef" => {
                self.inline_force(el, layer)
            }
            "barLine" if self.own_middle(el, layer.part, layer.cursor) => {}
            "barLine" => {
                let form = el.attr("form").or(el.attr("rend")).unwrap_or("single");
                let end = self.parts.get(layer.part).and_then(|state| state.metre);
                let side = if layer.cursor.is_zero() {
                    BarSide::Left
                } else if Some(layer.cursor) == end {
                    BarSide::Right
                } else {
                    BarSide::Middle
                };
                self.bar_line(form, side, layer.cursor, Some(layer.part));
            }
            // Groups that change nothing in the reading.
            "ligature" | "neume" | "syllable" => {
                for child in self.content(el) {
                    self.layer_child(child, layer);
                }
            }
            // Blanks on the page, and marks that belong to no note.
            "pad" | "space.pad" => {}
            // Read before the notes.
            "tupletSpan" => {}
            // Older files write among the notes what belongs beside them.
            "beamSpan" | "slur" | "tie" | "phrase" | "hairpin" | "dynam" | "dir" | "tempo" | "fermata"
            | "trill" | "breath" | "caesura" | "octave" | "pedal" => self.control(el),
            "accid" | "artic" | "dot" | "custos" | "divLine" | "annot" | "sb" | "pb" | "cb" | "gap"
            | "handShift" | "mensur" | "proport" | "oLayer" | "ossia" => {
                self.unread(el.name(), "layer", Why::NoPlace);
            }
            other => self.unread(other, "layer", Why::Unknown),
        }
    }

    /// The cursor moved on by what was read.
    pub(super) fn advance(&mut self, layer: &mut Layer, duration: Quarters) {
        let after = layer.cursor + duration;
        if after.is_overflow() || after > LONGEST_BAR {
            self.find(
                Severity::Problem,
                "duration-unusable",
                Some(layer.part),
                layer.cursor,
                "the durations in this bar add up to more than any bar holds; what follows stands at one place",
                "check the rhythm of this bar against the page",
            );
            return;
        }
        layer.cursor = after;
    }

    /// Clef, key or metre between the notes.
    fn inline_force(&mut self, el: El<'_, 'a>, layer: &Layer) {
        // A copy of what another layer says.
        if el.attr("sameas").is_some() || self.own_inline(el, layer.staff_at, layer.cursor) {
            return;
        }
        let mut force = if matches!(el.name(), "staffDef" | "layerDef") {
            Force::of_definition(el)
        } else {
            Force {
                range: el.range(),
                ..Force::default()
            }
        };
        force.element(el);
        self.say_unclear(&force, Some(layer.part));
        self.put_in_force(layer.staff_at, &force, layer.cursor, false, true);
    }

    fn whole_rest(&mut self, el: El<'_, 'a>, layer: &mut Layer) {
        let metre = self.parts.get(layer.part).and_then(|state| state.metre);
        let whole_bar = layer.cursor.is_zero();
        let kind = EventKind::Rest { whole_bar };
        let event = self.blank_event(el, kind, layer.cursor, metre.unwrap_or_default(), None);
        let at = self.push_event(el, event, layer);
        if el.name() == "multiRest" {
            let bars = rest_bars(el);
            if bars.is_none() {
                self.find(
                    Severity::Caution,
                    "multi-rest-unclear",
                    Some(layer.part),
                    layer.cursor,
                    format!(
                        "a rest of several bars says “{}” instead of a number",
                        super::values::short(el.attr("num").unwrap_or(""))
                    ),
                    "count the bars on the page",
                );
            }
            self.bar_group(layer.part, BarGroupKind::MultiRest, bars.unwrap_or(1));
        }
        if let Some(state) = self.parts.get_mut(layer.part)
            && whole_bar
        {
            state.whole_rest = u32::try_from(at).ok();
        }
        self.own_whole_rest(el, at, layer);
        self.note_marks(el, at, 0, layer);
    }

    fn whole_space(&mut self, el: El<'_, 'a>, layer: &mut Layer) {
        if self.own.is_some() && super::own::has(el, "rest") {
            return self.whole_rest(el, layer);
        }
        let event = self.blank_event(el, EventKind::Space, layer.cursor, Quarters::ZERO, None);
        let at = self.push_event(el, event, layer);
        if let Some(voice) = self
            .parts
            .get_mut(layer.part)
            .and_then(|state| state.voices.get_mut(usize::from(layer.voice)))
            && layer.cursor.is_zero()
        {
            voice.bar_space = Some(at);
        }
    }

    /// The signs that repeat one bar or several: drawn over real bars.
    fn bar_repeat(&mut self, el: El<'_, 'a>, layer: &Layer) {
        let pattern = match el.name() {
            "mRpt2" => 2,
            "multiRpt" => rest_bars(el).unwrap_or(2),
            _ => 1,
        };
        self.bar_group(layer.part, BarGroupKind::MeasureRepeat { pattern }, pattern);
    }

    /// Half a bar or a beat played again: time that passes, drawn as a sign.
    fn beat_repeat(&mut self, el: El<'_, 'a>, layer: &mut Layer) {
        let state = self.parts.get(layer.part);
        let metre = state.and_then(|state| state.metre).unwrap_or(Quarters::whole(4));
        let unit = state
            .and_then(|state| state.units.last())
            .map_or(4, |(_, unit)| *unit);
        let beat = Quarters::new(4, i64::from(unit));
        let length = if el.name() == "halfmRpt" {
            metre / Quarters::whole(2)
        } else {
            number(el, "beatdef")
                .or(number(el, "beatDef"))
                .map_or(beat, |beats| beats * beat)
        };
        let length = if length.is_positive() && length <= LONGEST_BAR {
            length
        } else {
            beat
        };
        let event = self.blank_event(el, EventKind::Space, layer.cursor, length, None);
        self.push_event(el, event, layer);
        self.bar_group(layer.part, BarGroupKind::Other("beat-repeat".to_owned()), 1);
        self.advance(layer, length);
    }

    fn grace_group(&mut self, el: El<'_, 'a>, layer: &mut Layer) {
        let outer = layer.grace;
        layer.grace = Some(is_true(el, "slash") || el.attr("grace") == Some("unacc"));
        for child in self.content(el) {
            self.layer_child(child, layer);
        }
        layer.grace = outer;
    }

    /// True unless an element says that it is not printed.
    pub(super) fn is_printed(el: El<'_, 'a>) -> bool {
        !is_false(el, "visible")
    }
}
