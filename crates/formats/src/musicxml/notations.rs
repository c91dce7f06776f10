//! What signs stand at a note? Slurs, articulation, ornaments with their accidentals, fermatas, dynamics.

use super::bars::fermata;
use super::note::mark_side;
use super::part::PartReader;
use super::spans::{Family, MarkKind, number};
use crate::report::Why;
use crate::xml::El;
use notation::{
    Articulation, ArticulationKind, DirectionKind, Ornament, OrnamentKind, Place, Side, SpanKind,
};

/// More marks of one kind than any note has.
pub(super) const MOST_MARKS: usize = 200;

impl PartReader<'_> {
    /// Reads the notations of a note: `event` and `head` say where they belong.
    pub(super) fn notations(&mut self, el: El<'_, '_>, event: usize, head: usize) {
        for notations in el.children().filter(|child| child.name() == "notations") {
            for mark in notations.children() {
                self.notation(mark, event, head);
            }
        }
    }

    fn notation(&mut self, mark: El<'_, '_>, event: usize, head: usize) {
        match mark.name() {
            // Read with the note: see `ties` and `tuplets`.
            "tied" | "tuplet" => {}
            "slur" => self.start_stop(mark, Family::Slur, SpanKind::Slur, event),
            "glissando" => {
                self.line_words(mark, event);
                self.start_stop(mark, Family::Glissando, SpanKind::Glissando, event);
            }
            "slide" => {
                self.line_words(mark, event);
                self.start_stop(mark, Family::Slide, SpanKind::Slide, event);
            }
            "articulations" => {
                for child in mark.children() {
                    self.articulation(child, event, head);
                }
            }
            "ornaments" => self.ornaments(mark, event, head),
            "technical" => {
                for child in mark.children() {
                    self.technical(child, event, head);
                }
            }
            "fermata" => {
                let fermata = fermata(mark);
                if let Some(event) = self.part.events.get_mut(event)
                    && (head == 0 || !event.fermatas.contains(&fermata))
                {
                    event.fermatas.push(fermata);
                }
            }
            "dynamics" => {
                let said = super::direction::dynamics(mark);
                if let (Some(event), Some(said)) = (self.part.events.get_mut(event), said) {
                    event.dynamics.push(said);
                }
            }
            "arpeggiate" => self.arpeggio(event, mark.attr("direction").unwrap_or_default()),
            "non-arpeggiate" => self.arpeggio(event, "not"),
            // An accidental over the note that belongs to no ornament: an editor's proposal, as a rule.
            "accidental-mark" => {
                let side = mark_side(mark);
                let accidentals = vec![(mark.text().to_owned(), side.unwrap_or(Side::Above))];
                let kind = OrnamentKind::Other("accidental-mark".to_owned());
                self.add_ornament(
                    event,
                    0,
                    Ornament {
                        kind,
                        side,
                        accidentals,
                    },
                );
            }
            "other-notation" => {
                let text = text_or_smufl(mark);
                self.sign_at(mark, event, "other-notation", text);
            }
            "footnote" => self.footnote(mark),
            "level" => self.unread("level", "notations", Why::NoPlace),
            other => self.unread(other, "notations", Why::Unknown),
        }
    }

    fn arpeggio(&mut self, event: usize, direction: &str) {
        if let Some(event) = self.part.events.get_mut(event) {
            event.arpeggio.get_or_insert_with(|| direction.to_owned());
        }
    }

    /// One end of something that reaches from note to note.
    pub(super) fn start_stop(&mut self, mark: El<'_, '_>, family: Family, kind: SpanKind, event: usize) {
        match mark.attr("type") {
            Some("start") => self.event_mark(mark, family, number(mark), MarkKind::Start(kind), event),
            Some("stop") => self.event_mark(mark, family, number(mark), MarkKind::Stop, event),
            // In the middle of a curve that a system break cuts.
            Some("continue") => {}
            _ => self.unread("@type", mark.name(), Why::Unknown),
        }
    }

    /// The words printed along a glissando or slide.
    fn line_words(&mut self, mark: El<'_, '_>, event: usize) {
        let text = mark.text();
        if text.is_empty() || mark.attr("type") != Some("start") {
            return;
        }
        let Some(place) = self.part.events.get(event).map(|event| event.place) else {
            return;
        };
        self.direction_at(mark, place, DirectionKind::Words(text.to_owned()));
    }

    fn sign_at(&mut self, mark: El<'_, '_>, event: usize, name: &str, text: String) {
        let Some(place) = self.part.events.get(event).map(|event| event.place) else {
            return;
        };
        self.direction_at(
            mark,
            place,
            DirectionKind::Sign {
                name: name.to_owned(),
                text,
            },
        );
    }

    fn articulation(&mut self, mark: El<'_, '_>, event: usize, head: usize) {
        let kind = match mark.name() {
            "accent" => ArticulationKind::Accent,
            "strong-accent" => ArticulationKind::Marcato,
            "staccato" => ArticulationKind::Staccato,
            "tenuto" => ArticulationKind::Tenuto,
            "detached-legato" => ArticulationKind::Portato,
            "staccatissimo" => ArticulationKind::Staccatissimo,
            "spiccato" => ArticulationKind::Spiccato,
            "scoop" => ArticulationKind::Scoop,
            "plop" => ArticulationKind::Plop,
            "doit" => ArticulationKind::Doit,
            "falloff" => ArticulationKind::Falloff,
            "breath-mark" => ArticulationKind::BreathMark(mark.text().to_owned()),
            "caesura" => ArticulationKind::Caesura(mark.text().to_owned()),
            "stress" => ArticulationKind::Stress,
            "unstress" => ArticulationKind::Unstress,
            "soft-accent" => ArticulationKind::SoftAccent,
            "other-articulation" => ArticulationKind::Other(text_or_smufl(mark)),
            other => {
                return self.unread(other, "articulations", Why::Unknown);
            }
        };
        let Some(event) = self.part.events.get_mut(event) else {
            return;
        };
        // The notes of a chord repeat what stands once at the chord.
        if head > 0 && event.articulations.iter().any(|known| known.kind == kind) {
            return;
        }
        if event.articulations.len() >= MOST_MARKS {
            return self.unread(mark.name(), "articulations", Why::NoPlace);
        }
        event.articulations.push(Articulation {
            kind,
            side: mark_side(mark),
        });
    }

    fn ornaments(&mut self, el: El<'_, '_>, event: usize, head: usize) {
        let is_trill = |ornament: &Ornament| ornament.kind == OrnamentKind::Trill;
        let has_trill = el.child("trill-mark").is_some()
            || self
                .part
                .events
                .get(event)
                .is_some_and(|event| event.ornaments.iter().any(is_trill));
        // Accidentals follow the ornament at which they stand.
        let mut current: Option<Ornament> = None;
        for mark in el.children() {
            if mark.name() == "accidental-mark" {
                // Of two without a place, the first is the upper one.
                let above = current
                    .as_ref()
                    .is_some_and(|o| o.accidentals.iter().any(|(_, s)| *s == Side::Above));
                let side = mark_side(mark).unwrap_or(if above { Side::Below } else { Side::Above });
                let accidental = (mark.text().to_owned(), side);
                match &mut current {
                    Some(ornament) => ornament.accidentals.push(accidental),
                    None => {
                        let kind = OrnamentKind::Other("accidental-mark".to_owned());
                        current = Some(Ornament {
                            kind,
                            side: Some(side),
                            accidentals: vec![accidental],
                        });
                    }
                }
                continue;
            }
            let Some(kind) = self.ornament_kind(mark, event, has_trill) else {
                continue;
            };
            if let Some(done) = current.replace(Ornament {
                kind,
                side: mark_side(mark),
                accidentals: Vec::new(),
            }) {
                self.add_ornament(event, head, done);
            }
        }
        if let Some(done) = current {
            self.add_ornament(event, head, done);
        }
    }

    fn add_ornament(&mut self, event: usize, head: usize, ornament: Ornament) {
        let Some(event) = self.part.events.get_mut(event) else {
            return;
        };
        if event.ornaments.len() >= MOST_MARKS {
            return self.unread("ornament", "ornaments", Why::NoPlace);
        }
        let known = event
            .ornaments
            .iter_mut()
            .find(|known| known.kind == ornament.kind);
        match known {
            // The notes of a chord repeat what stands once at the chord.
            Some(known) if head > 0 => {
                if known.accidentals.is_empty() {
                    known.accidentals = ornament.accidentals;
                }
            }
            _ => event.ornaments.push(ornament),
        }
    }

    /// The sign; `None` for one that is only a span or the far end of one.
    fn ornament_kind(&mut self, mark: El<'_, '_>, event: usize, has_trill: bool) -> Option<OrnamentKind> {
        Some(match mark.name() {
            "trill-mark" => OrnamentKind::Trill,
            "turn" => OrnamentKind::Turn,
            "delayed-turn" => OrnamentKind::DelayedTurn,
            "inverted-turn" => OrnamentKind::InvertedTurn,
            "delayed-inverted-turn" => OrnamentKind::DelayedInvertedTurn,
            "vertical-turn" => OrnamentKind::VerticalTurn,
            "inverted-vertical-turn" => OrnamentKind::InvertedVerticalTurn,
            "shake" => OrnamentKind::Shake,
            "mordent" => OrnamentKind::Mordent {
                long: mark.yes("long"),
            },
            "inverted-mordent" => OrnamentKind::InvertedMordent {
                long: mark.yes("long"),
            },
            "schleifer" => OrnamentKind::Schleifer,
            "haydn" => OrnamentKind::Haydn,
            "wavy-line" => {
                let place = self.part.events.get(event).map(|event| event.place)?;
                self.wavy_line(mark, place, Some(event));
                if has_trill || mark.attr("type") != Some("start") {
                    return None;
                }
                OrnamentKind::WavyLine
            }
            "tremolo" => return self.tremolo(mark, event),
            "other-ornament" => OrnamentKind::Other(text_or_smufl(mark)),
            other => {
                self.unread(other, "ornaments", Why::Unknown);
                return None;
            }
        })
    }

    fn tremolo(&mut self, mark: El<'_, '_>, event: usize) -> Option<OrnamentKind> {
        let strokes = mark.text().parse().ok().filter(|n| *n <= 8).unwrap_or(3);
        match mark.attr("type") {
            Some("start") => {
                let kind = SpanKind::TremoloPair { strokes };
                self.event_mark(mark, Family::Tremolo, 1, MarkKind::Start(kind), event);
                Some(OrnamentKind::Tremolo {
                    strokes,
                    between: true,
                })
            }
            Some("stop") => {
                self.event_mark(mark, Family::Tremolo, 1, MarkKind::Stop, event);
                None
            }
            // As fast as possible, not in counted strokes.
            Some("unmeasured") => Some(OrnamentKind::Tremolo {
                strokes: 0,
                between: false,
            }),
            _ => Some(OrnamentKind::Tremolo {
                strokes,
                between: false,
            }),
        }
    }

    /// A wavy line, at a note or at a bar line.
    pub(super) fn wavy_line(&mut self, mark: El<'_, '_>, place: Place, event: Option<usize>) {
        let kind = match mark.attr("type") {
            Some("start") => MarkKind::Start(SpanKind::TrillLine),
            Some("stop") => MarkKind::Stop,
            Some("continue") => return,
            _ => {
                self.unread("@type", "wavy-line", Why::Unknown);
                return;
            }
        };
        match event {
            Some(event) => self.event_mark(mark, Family::TrillLine, number(mark), kind, event),
            None => self.place_mark(mark, Family::TrillLine, kind, place, None, mark_side(mark)),
        }
    }
}

/// What an `other-…` element says: its text, else the name of its glyph in the SMuFL font standard.
pub(super) fn text_or_smufl(el: El<'_, '_>) -> String {
    let text = el.text();
    let text = if text.is_empty() {
        el.attr("smufl").unwrap_or("other")
    } else {
        text
    };
    text.chars().take(200).collect()
}
