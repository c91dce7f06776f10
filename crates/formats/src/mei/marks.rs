//! What signs stand at a note itself? Articulation, fermata, ornament and slur attributes, tremolo strokes.
//!
//! Source: MEI 5.0, data.ARTICULATION, att.fermataPresent, data.STEMMODIFIER, bTrem, fTrem.

use super::layer::Layer;
use super::music::Music;
use super::values::{flags, note_value, short, side};
use crate::report::Why;
use crate::xml::El;
use notation::{
    Anchor, Articulation, ArticulationKind, Event, EventKind, Fermata, IdKind, Ornament, OrnamentKind, Side,
    Span, SpanKind, Technical, TupletRatio,
};

/// More marks of one kind than any note has.
const MOST_MARKS: usize = 200;

/// What an articulation's name stands for.
pub(super) enum Mark {
    Articulation(ArticulationKind),
    /// A technical mark of the whole event, by MusicXML's name.
    OfEvent(&'static str),
    /// One that belongs to a head.
    OfHead(&'static str),
    Ornament(OrnamentKind),
    Unknown,
}

pub(super) fn mark_of(name: &str) -> Mark {
    use ArticulationKind as A;
    match name {
        "acc" => Mark::Articulation(A::Accent),
        "marc" => Mark::Articulation(A::Marcato),
        "stacc" => Mark::Articulation(A::Staccato),
        "stacciss" => Mark::Articulation(A::Staccatissimo),
        "spicc" => Mark::Articulation(A::Spiccato),
        "ten" => Mark::Articulation(A::Tenuto),
        "ten-stacc" => Mark::Articulation(A::Portato),
        "scoop" => Mark::Articulation(A::Scoop),
        "plop" => Mark::Articulation(A::Plop),
        "doit" => Mark::Articulation(A::Doit),
        "fall" => Mark::Articulation(A::Falloff),
        "stress" => Mark::Articulation(A::Stress),
        "unstress" => Mark::Articulation(A::Unstress),
        "acc-soft" => Mark::Articulation(A::SoftAccent),
        "acc-inv" | "acc-long" | "rip" | "longfall" | "dot" | "stroke" | "lhpizz" | "damp" | "dampall" => {
            Mark::Articulation(A::Other(name.to_owned()))
        }
        "upbow" => Mark::OfEvent("up-bow"),
        "dnbow" => Mark::OfEvent("down-bow"),
        "dbltongue" => Mark::OfEvent("double-tongue"),
        "trpltongue" => Mark::OfEvent("triple-tongue"),
        "stop" => Mark::OfEvent("stopped"),
        "open" => Mark::OfEvent("open"),
        "snap" => Mark::OfEvent("snap-pizzicato"),
        "tap" => Mark::OfEvent("tap"),
        "heel" => Mark::OfEvent("heel"),
        "toe" => Mark::OfEvent("toe"),
        "bend" => Mark::OfEvent("brass-bend"),
        "flip" => Mark::OfEvent("flip"),
        "smear" => Mark::OfEvent("smear"),
        "harm" => Mark::OfHead("harmonic"),
        "fingernail" => Mark::OfHead("fingernails"),
        "shake" => Mark::Ornament(OrnamentKind::Shake),
        _ => Mark::Unknown,
    }
}

impl<'a> Music<'a> {
    /// Reads what stands at an element of an event: `head` tells which head of a chord it is.
    pub(super) fn note_marks(&mut self, el: El<'_, 'a>, event: usize, head: usize, layer: &Layer) {
        let part = layer.part;
        if let Some(said) = el.attr("artic") {
            let place = side(el.attr("artic.place"));
            said.split_whitespace()
                .for_each(|name| self.artic(name, place, part, event, head));
        }
        if let Some(said) = el.attr("fermata") {
            let inverted = said == "below";
            self.fermata_at(
                part,
                event,
                Fermata {
                    shape: String::new(),
                    inverted,
                },
            );
        }
        if let Some(said) = el.attr("ornam") {
            said.split_whitespace()
                .for_each(|name| self.ornament_letter(name, part, event));
        }
        if let Some(said) = el.attr("slur") {
            self.attr_slurs(said, el, part, event);
        }
        if let Some(said) = el.attr("syl") {
            self.syllable_attribute(said, part, event);
        }
        let is_grace = self.event_mut(part, event).is_some_and(|event| event.is_grace());
        if let Some(said) = el.attr("stem.mod")
            && !is_grace
            && el.name() != "rest"
        {
            self.stem_strokes(said, part, event, layer);
        }
        for child in self.content(el) {
            self.note_child(child, el, event, head, layer);
        }
    }

    fn note_child(&mut self, child: El<'_, 'a>, el: El<'_, 'a>, event: usize, head: usize, layer: &Layer) {
        match child.name() {
            "artic" if self.own_artic(child, layer.part, event, head) => {}
            "artic" => {
                let place = side(child.attr("place"));
                let said = child.attr("artic").unwrap_or_default();
                said.split_whitespace()
                    .for_each(|name| self.artic(name, place, layer.part, event, head));
            }
            // Read with the note, the chord and the duration.
            "note" | "accid" | "dot" => {}
            "verse" | "refrain" | "syl" | "volta" => self.lyric(child, layer.part, event),
            "stem" => {
                if let Some(said) = child.attr("mod") {
                    self.stem_strokes(said, layer.part, event, layer);
                }
            }
            "ornam" | "trill" | "mordent" | "turn" | "fermata" | "dynam" | "fing" | "breath" | "arpeg"
            | "slur" | "tie" => {
                self.control_at(child, layer.part, event, head);
            }
            "annot" => self.unread("annot", el.name(), Why::NoPlace),
            "plica" | "signifLet" | "episema" | "hispanTick" | "liquescent" | "oriscus" | "quilisma"
            | "strophicus" | "nc" => {
                self.unread(child.name(), el.name(), Why::NoPlace);
            }
            other => self.unread(other, el.name(), Why::Unknown),
        }
    }

    pub(super) fn event_mut(&mut self, part: usize, event: usize) -> Option<&mut Event> {
        self.parts.get_mut(part)?.part.events.get_mut(event)
    }

    fn artic(&mut self, name: &str, side: Option<Side>, part: usize, event: usize, head: usize) {
        let mark = mark_of(name);
        if matches!(mark, Mark::Unknown) {
            return self.unread(&format!("@artic {}", short(name)), "note", Why::Unknown);
        }
        let Some(event) = self.event_mut(part, event) else {
            return;
        };
        if event.articulations.len() + event.technical.len() + event.ornaments.len() >= MOST_MARKS {
            return self.unread("artic", "note", Why::NoPlace);
        }
        let technical = |name: &str| Technical {
            name: name.to_owned(),
            text: String::new(),
            side,
        };
        match mark {
            Mark::Articulation(kind) => {
                // The notes of a chord repeat what stands once at the chord.
                if !event.articulations.iter().any(|known| known.kind == kind) {
                    event.articulations.push(Articulation { kind, side });
                }
            }
            Mark::OfEvent(name) => {
                if !event.technical.iter().any(|known| known.name == name) {
                    event.technical.push(technical(name));
                }
            }
            Mark::OfHead(name) => {
                if let EventKind::Chord(heads) = &mut event.kind
                    && let Some(head) = heads.get_mut(head)
                {
                    head.technical.push(technical(name));
                }
            }
            Mark::Ornament(kind) => event.ornaments.push(Ornament {
                kind,
                side,
                accidentals: Vec::new(),
            }),
            Mark::Unknown => {}
        }
    }

    pub(super) fn fermata_at(&mut self, part: usize, event: usize, fermata: Fermata) {
        if let Some(event) = self.event_mut(part, event)
            && !event.fermatas.contains(&fermata)
        {
            event.fermatas.push(fermata);
        }
    }

    /// Source: MEI 5.0, data.ORNAM.cmn: letters, capitals for the upper neighbour (from memory).
    fn ornament_letter(&mut self, letter: &str, part: usize, event: usize) {
        let kind = match letter.trim_matches(|c: char| c.is_ascii_digit()) {
            "T" | "t" => OrnamentKind::Trill,
            "S" => OrnamentKind::Turn,
            "s" => OrnamentKind::InvertedTurn,
            "M" => OrnamentKind::InvertedMordent { long: false },
            "m" => OrnamentKind::Mordent { long: false },
            other => OrnamentKind::Other(short(other)),
        };
        self.ornament_at(
            part,
            event,
            Ornament {
                kind,
                side: None,
                accidentals: Vec::new(),
            },
        );
    }

    pub(super) fn ornament_at(&mut self, part: usize, event: usize, ornament: Ornament) {
        if let Some(event) = self.event_mut(part, event)
            && event.ornaments.len() < MOST_MARKS
        {
            event.ornaments.push(ornament);
        }
    }

    /// Slurs as attributes: `i1` starts, `m1` goes on, `t1` ends the slur with this number.
    fn attr_slurs(&mut self, said: &str, el: El<'_, 'a>, part: usize, event: usize) {
        for word in said.split_whitespace().take(20) {
            // `i1`; some write `1i`.
            let number: String = word.chars().filter(char::is_ascii_digit).take(9).collect();
            match word.chars().find(char::is_ascii_alphabetic) {
                Some('t') => {
                    let Some(state) = self.parts.get_mut(part) else {
                        return;
                    };
                    match state.open_slurs.iter().rposition(|(of, _)| *of == number) {
                        Some(at) => {
                            let (_, start) = state.open_slurs.remove(at);
                            self.slur_between(part, start as usize, event, el.range());
                        }
                        None => self.half_slur(part, event, false),
                    }
                }
                Some('i') => {
                    let start = u32::try_from(event).unwrap_or(u32::MAX);
                    let Some(state) = self.parts.get_mut(part) else {
                        return;
                    };
                    if state.open_slurs.len() < 100 {
                        state.open_slurs.push((number, start));
                    }
                }
                Some('m') => {}
                _ => self.unread("@slur", el.name(), Why::Unknown),
            }
        }
    }

    fn slur_between(&mut self, part: usize, start: usize, end: usize, range: (u32, u32)) {
        let id = self.id_from(IdKind::Span, range, None);
        let Some(state) = self.parts.get_mut(part) else {
            return;
        };
        let anchor = |at: usize| {
            state.part.events.get(at).map(|event| Anchor {
                place: event.place,
                element: Some(event.id),
            })
        };
        let staff = state.part.events.get(start).map(|event| event.staff);
        let (start, end) = (anchor(start), anchor(end));
        state.part.spans.push(Span {
            id,
            kind: SpanKind::Slur,
            start,
            end,
            staff,
            side: None,
        });
    }

    /// Strokes through the stem: a tremolo on one note.
    fn stem_strokes(&mut self, said: &str, part: usize, event: usize, layer: &Layer) {
        if layer.tremolo.is_some() {
            return;
        }
        let strokes = match said {
            "none" => return,
            // A buzz roll: as fast as possible.
            "z" => 0,
            _ => match said.strip_suffix("slash").and_then(|n| n.parse::<u8>().ok()) {
                Some(strokes) => strokes.min(8),
                None => return self.unread("@stem.mod", "note", Why::NoPlace),
            },
        };
        let kind = OrnamentKind::Tremolo {
            strokes,
            between: false,
        };
        self.ornament_at(
            part,
            event,
            Ornament {
                kind,
                side: None,
                accidentals: Vec::new(),
            },
        );
    }

    /// A tremolo on one note or chord.
    pub(super) fn one_note_tremolo(&mut self, el: El<'_, 'a>, layer: &mut Layer) {
        let from = self.event_count(layer.part);
        layer.tremolo = Some(0);
        let children = self.content(el);
        for child in &children {
            self.layer_child(*child, layer);
        }
        layer.tremolo = None;
        let inner = children.iter().find_map(|child| child.attr("stem.mod"));
        let drawn = el
            .attr("stem.mod")
            .or(inner)
            .and_then(|said| said.strip_suffix("slash")?.parse::<u8>().ok());
        for at in from..self.event_count(layer.part) {
            let value = self
                .event_mut(layer.part, at)
                .and_then(|event| event.written.as_ref().map(|w| w.value));
            let unit = el.attr("unitdur").and_then(note_value).map(flags);
            let strokes = drawn.or_else(|| Some(unit?.saturating_sub(value.map_or(0, flags))));
            let strokes = strokes
                .unwrap_or(if el.attr("form") == Some("unmeas") { 0 } else { 3 })
                .min(8);
            let is_note = self
                .event_mut(layer.part, at)
                .is_some_and(|event| event.is_note());
            if is_note {
                let kind = OrnamentKind::Tremolo {
                    strokes,
                    between: false,
                };
                self.ornament_at(
                    layer.part,
                    at,
                    Ornament {
                        kind,
                        side: None,
                        accidentals: Vec::new(),
                    },
                );
                self.own_tremolo(el, layer.part, at);
            }
        }
    }

    /// A tremolo between two notes or chords: each is written with the length of both together.
    pub(super) fn two_note_tremolo(&mut self, el: El<'_, 'a>, layer: &mut Layer) {
        let from = self.event_count(layer.part);
        let outer = layer.tremolo.replace(0);
        layer.ratios.push(TupletRatio { actual: 2, normal: 1 });
        let beamed = std::mem::replace(&mut layer.beamed, true);
        for child in self.content(el) {
            self.layer_child(child, layer);
        }
        layer.beamed = beamed;
        layer.ratios.pop();
        layer.tremolo = outer;
        let last = self.event_count(layer.part).checked_sub(1);
        let Some(last) = last.filter(|last| *last > from) else {
            return;
        };
        let value = self
            .event_mut(layer.part, from)
            .and_then(|event| event.written.as_ref().map(|w| w.value));
        let unit = el.attr("unitdur").and_then(note_value).map(flags);
        let strokes = el.attr("beams").and_then(|text| text.parse::<u8>().ok());
        let strokes = strokes
            .or_else(|| Some(unit?.saturating_sub(value.map_or(0, flags))))
            .unwrap_or(3)
            .min(8);
        let kind = OrnamentKind::Tremolo {
            strokes,
            between: true,
        };
        self.ornament_at(
            layer.part,
            from,
            Ornament {
                kind,
                side: None,
                accidentals: Vec::new(),
            },
        );
        self.own_tremolo(el, layer.part, from);
        if self.own.is_some() && super::own::has(el, "no-span") {
            return;
        }
        let id = self.id_from(IdKind::Span, el.range(), None);
        let Some(state) = self.parts.get_mut(layer.part) else {
            return;
        };
        let anchor = |at: usize| {
            state.part.events.get(at).map(|event| Anchor {
                place: event.place,
                element: Some(event.id),
            })
        };
        let span = Span {
            id,
            kind: SpanKind::TremoloPair { strokes },
            start: anchor(from),
            end: anchor(last),
            staff: Some(layer.staff),
            side: None,
        };
        state.part.spans.push(span);
    }
}
