//! What do the elements beside the staves say? Slurs, hairpins, words and signs, kept until all notes are known.
//!
//! Source: MEI 5.0, model.controlEventLike, att.timestamp.log, att.timestamp2.log, att.startId, att.plist.

use super::music::{Music, Target};
use super::signs;
use super::tempo;
use super::text::{letters, words};
use super::values::{id_of, is_false, is_true, number, reference, references, short, side};
use crate::report::Why;
use crate::xml::El;
use notation::{ArticulationKind, DirectionKind, Fermata, OrnamentKind, Rational, Side, SpanKind};
use std::borrow::Cow;

/// More elements than one list of them names.
const MOST_LISTED: usize = 10_000;

/// A control event, with all that says where it stands.
pub(super) struct Control<'a> {
    pub kind: Kind,
    /// Index into the measures.
    pub measure: usize,
    /// The part that it is for if nothing else says.
    pub part: usize,
    /// The element it stands in, where it stands in one.
    pub within: Option<Target>,
    pub start: Option<Cow<'a, str>>,
    pub end: Option<Cow<'a, str>>,
    pub beat: Option<Rational>,
    /// So many measures on, and the beat there.
    pub end_beat: Option<(usize, Rational)>,
    pub listed: Vec<Cow<'a, str>>,
    /// Indices into the score's staves.
    pub staves: Vec<usize>,
    pub layer: Option<Cow<'a, str>>,
    pub side: Option<Side>,
    pub printed: bool,
    pub id: Option<Cow<'a, str>>,
    pub range: (u32, u32),
}

/// What a control event is.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) enum Kind {
    Tie,
    LetRing,
    /// From note to note.
    Curve(SpanKind),
    /// From place to place.
    Line(SpanKind),
    /// Words and signs, one after the other; a line may follow them.
    Directions {
        said: Vec<(DirectionKind, bool)>,
        line: bool,
        bpm: Option<String>,
    },
    Fermata(Fermata),
    Ornament {
        kind: OrnamentKind,
        accidentals: Vec<(String, Side)>,
    },
    Break(ArticulationKind),
    Arpeggio(String),
    Pedal {
        down: bool,
        up: bool,
    },
    Technical {
        name: &'static str,
        text: String,
    },
    Beam,
    /// A printed jump or target: what it is and what it says to playback.
    Jump {
        said: DirectionKind,
        hint: Option<(&'static str, &'static str)>,
    },
}

impl<'a> Music<'a> {
    /// Keeps a control event of the measure; anything else is reported.
    pub(super) fn control(&mut self, el: El<'_, 'a>) {
        if self.own_control(el) {
            return;
        }
        self.add_control(el, None);
    }

    /// A control event that stands inside a note.
    pub(super) fn control_at(&mut self, el: El<'_, 'a>, part: usize, event: usize, head: usize) {
        let within = Target::Event {
            part: u32::try_from(part).unwrap_or(u32::MAX),
            event: u32::try_from(event).unwrap_or(u32::MAX),
            head: u32::try_from(head).ok(),
        };
        self.add_control(el, Some(within));
    }

    fn add_control(&mut self, el: El<'_, 'a>, within: Option<Target>) {
        let Some(kind) = self.kind_of(el) else { return };
        self.score.taken += 1;
        let mut listed = references(el, "plist");
        listed.truncate(MOST_LISTED);
        let staves = el.attr("staff").unwrap_or_default().split_whitespace();
        let staves = staves
            .filter_map(|number| self.staff_numbers.get(number).copied())
            .take(100)
            .collect();
        let layer = el
            .attrs()
            .iter()
            .find(|(name, _)| *name == "layer")
            .map(|(_, value)| value.clone());
        self.controls.push(Control {
            kind,
            measure: self.measures.len().saturating_sub(1),
            part: self.active_from,
            within,
            start: reference(el, "startid"),
            end: reference(el, "endid"),
            beat: number(el, "tstamp"),
            end_beat: el.attr("tstamp2").and_then(end_beat),
            listed,
            staves,
            layer,
            side: side(
                el.attr("place")
                    .or(el.attr("curvedir"))
                    .or(el.attr("dis.place").filter(|_| el.name() == "octave")),
            ),
            printed: !is_false(el, "visible"),
            id: id_of(el),
            range: el.range(),
        });
    }

    fn kind_of(&mut self, el: El<'_, 'a>) -> Option<Kind> {
        let line = is_true(el, "extender") && (el.attr("tstamp2").is_some() || el.attr("endid").is_some());
        Some(match el.name() {
            "tie" => Kind::Tie,
            "lv" => Kind::LetRing,
            "slur" => Kind::Curve(SpanKind::Slur),
            "phrase" => Kind::Curve(SpanKind::Other("phrase".to_owned())),
            "curve" => Kind::Curve(SpanKind::Other("curve".to_owned())),
            "gliss" => Kind::Curve(SpanKind::Glissando),
            "hairpin" => {
                let niente = is_true(el, "niente");
                match el.attr("form") {
                    Some("cres") => Kind::Line(SpanKind::Crescendo { niente }),
                    Some("dim") => Kind::Line(SpanKind::Diminuendo { niente }),
                    _ => {
                        self.unread("@form", "hairpin", Why::Unknown);
                        return None;
                    }
                }
            }
            "octave" => Kind::Line(SpanKind::Ottava {
                octaves: signs::octaves(el),
            }),
            "bracketSpan" => Kind::Line(SpanKind::Bracket),
            "line" => Kind::Line(if el.attr("form") == Some("dashed") {
                SpanKind::Dashes
            } else {
                SpanKind::Bracket
            }),
            "dynam" => Kind::Directions {
                said: signs::dynamics(&letters(&words(self.text, el))),
                line,
                bpm: None,
            },
            "dir" => self.words_kind(el, line)?,
            "attacca" => {
                let text = letters(&words(self.text, el));
                let text = if text.is_empty() {
                    "attacca".to_owned()
                } else {
                    text
                };
                Kind::Directions {
                    said: vec![(DirectionKind::Words(text), true)],
                    line: false,
                    bpm: None,
                }
            }
            "tempo" => {
                let said = tempo::read(el, &words(self.text, el));
                Kind::Directions {
                    said,
                    line,
                    bpm: el.attr("midi.bpm").map(short),
                }
            }
            "reh" => {
                let said = vec![(DirectionKind::Rehearsal(letters(&words(self.text, el))), true)];
                Kind::Directions {
                    said,
                    line: false,
                    bpm: None,
                }
            }
            "repeatMark" => signs::repeat_mark(el, &letters(&words(self.text, el))),
            "fermata" => Kind::Fermata(signs::fermata(el)),
            "trill" | "mordent" | "turn" | "ornam" => self.ornament_kind(el)?,
            "breath" => Kind::Break(ArticulationKind::BreathMark(signs::break_shape(el, "breathMark"))),
            "caesura" => Kind::Break(ArticulationKind::Caesura(signs::break_shape(el, "caesura"))),
            "arpeg" => Kind::Arpeggio(match el.attr("order") {
                Some("nonarp") => "not".to_owned(),
                Some(order @ ("up" | "down")) => order.to_owned(),
                _ => String::new(),
            }),
            "pedal" => match el.attr("dir") {
                Some("up") => Kind::Pedal {
                    down: false,
                    up: true,
                },
                Some("bounce") => Kind::Pedal { down: true, up: true },
                _ => Kind::Pedal {
                    down: true,
                    up: false,
                },
            },
            "fing" => Kind::Technical {
                name: "fingering",
                text: letters(&words(self.text, el)),
            },
            "fingGrp" => {
                let fingers: Vec<String> = el.children().map(|fing| words(self.text, fing)).collect();
                Kind::Technical {
                    name: "fingering",
                    text: fingers.join(" "),
                }
            }
            "bend" => Kind::Technical {
                name: "bend",
                text: el.attr("amount").map(short).unwrap_or_default(),
            },
            "harm" => self.sign_kind(el, "harmony"),
            "fb" => self.sign_kind(el, "figured-bass"),
            "harpPedal" => self.sign_kind(el, "harp-pedals"),
            "metaMark" | "cpMark" | "stageDir" | "sp" => self.sign_kind(el, "other-direction"),
            "beamSpan" => Kind::Beam,
            // Read before the notes.
            "tupletSpan" => return None,
            "midi" | "anchoredText" | "multiRpt" | "div" | "figure" | "graphic" | "relation"
            | "relationList" => {
                self.unread(el.name(), "measure", Why::NoPlace);
                return None;
            }
            other => {
                self.unread(other, "measure", Why::Unknown);
                return None;
            }
        })
    }

    fn words_kind(&mut self, el: El<'_, 'a>, line: bool) -> Option<Kind> {
        let text = words(self.text, el);
        let said = signs::with_signs(&text);
        if said.is_empty() && !line {
            if el.children().next().is_some() {
                self.unread(el.name(), "measure", Why::NoPlace);
            }
            return None;
        }
        Some(Kind::Directions {
            said,
            line,
            bpm: None,
        })
    }

    fn sign_kind(&mut self, el: El<'_, 'a>, name: &str) -> Kind {
        let text = if el.child("fb").is_some() || el.name() == "fb" {
            let fb = el.child("fb").unwrap_or(el);
            let figures: Vec<String> = fb
                .children()
                .filter(|f| f.name() == "f")
                .map(|f| words(self.text, f))
                .collect();
            figures.join(" ")
        } else if el.name() == "harpPedal" {
            ["d", "c", "b", "e", "f", "g", "a"]
                .iter()
                .filter_map(|pedal| Some(format!("{}{}", pedal.to_uppercase(), el.attr(pedal)?)))
                .collect::<Vec<_>>()
                .join(" ")
        } else {
            letters(&words(self.text, el))
        };
        let name = if el.child("fb").is_some() {
            "figured-bass"
        } else {
            name
        };
        let kind = DirectionKind::Sign {
            name: name.to_owned(),
            text,
        };
        Kind::Directions {
            said: vec![(kind, true)],
            line: false,
            bpm: None,
        }
    }

    fn ornament_kind(&mut self, el: El<'_, 'a>) -> Option<Kind> {
        let text = letters(&words(self.text, el));
        let kind = signs::ornament(el, &text);
        if kind.is_none() {
            self.unread(el.name(), "measure", Why::Unknown);
        }
        let unsaid = el.name() == "mordent" && el.attr("form").is_none();
        if unsaid {
            self.find(
                notation::Severity::Note,
                "ornament-unclear",
                None,
                notation::Quarters::ZERO,
                "a mordent does not say whether it goes up or down; it was read as the sign with the stroke, down",
                "look at the sign on the page",
            );
        }
        Some(Kind::Ornament {
            kind: kind?,
            accidentals: signs::ornament_accidentals(el),
        })
    }
}

/// `2m+3.5`: measures on and the beat there; a bare beat is in the same measure.
fn end_beat(said: &str) -> Option<(usize, Rational)> {
    let (measures, beat) = match said.split_once("m+") {
        Some((measures, beat)) => (measures.trim().parse().ok()?, beat),
        None => (0, said),
    };
    let most = Rational::whole(100_000);
    Rational::parse(beat)
        .filter(|beat| beat.abs() <= most)
        .map(|beat| (measures, beat))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ends_some_measures_on() {
        assert_eq!(end_beat("1m+3"), Some((1, Rational::whole(3))));
        assert_eq!(end_beat("0m+2.5"), Some((0, Rational::new(5, 2))));
        assert_eq!(end_beat("4"), Some((0, Rational::whole(4))));
        assert_eq!(end_beat("xm+3"), None);
    }
}
