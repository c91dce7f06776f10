//! What do the words and signs beside the notes say? Directions in their order, and the playback hints with them.

use super::notations::text_or_smufl;
use super::part::{PartReader, side, staff_of};
use super::spans::{Family, MarkKind};
use crate::report::Why;
use crate::xml::El;
use notation::{
    Direction, DirectionKind, IdKind, Metronome, MetronomeValue, NoteValue, Place, Quarters, SoundHint,
    SpanKind,
};

/// What all parts of one `<direction>` share.
struct Frame {
    place: Place,
    staff: Option<u8>,
    voice: Option<String>,
    side: Option<notation::Side>,
}

impl PartReader<'_> {
    pub(super) fn direction(&mut self, el: El<'_, '_>) {
        let offset = self.offset_of(el);
        let frame = Frame {
            place: Place {
                bar: self.bar,
                offset,
            },
            staff: staff_of(el),
            voice: el.child_text("voice").map(str::to_owned),
            side: side(el),
        };
        for child in el.children() {
            match child.name() {
                "direction-type" => self.direction_type(child, &frame),
                "sound" => {
                    let moved = el.child("offset").is_some_and(|offset| offset.yes("sound"));
                    self.sound(child, if moved { offset } else { self.cursor });
                }
                "offset" | "voice" | "staff" => {}
                "footnote" => self.footnote(child),
                "level" => self.unread("level", "direction", Why::NoPlace),
                "listening" => {}
                other => self.unread(other, "direction", Why::Unknown),
            }
        }
    }

    fn direction_type(&mut self, el: El<'_, '_>, frame: &Frame) {
        let mut words = String::new();
        let mut first = None;
        for child in el.children() {
            // Words that follow each other in one direction are one text in several styles.
            if child.name() == "words" {
                join_words(&mut words, child.raw_text());
                first.get_or_insert(child);
                continue;
            }
            self.flush_words(&mut words, &mut first, frame);
            self.one_direction(child, frame);
        }
        self.flush_words(&mut words, &mut first, frame);
    }

    fn flush_words<'t, 'a>(&mut self, words: &mut String, first: &mut Option<El<'t, 'a>>, frame: &Frame) {
        let (Some(el), text) = (first.take(), std::mem::take(words)) else {
            return;
        };
        if !text.trim().is_empty() {
            self.push(el, frame, DirectionKind::Words(text.replace("\r\n", "\n")), true);
        }
    }

    fn one_direction(&mut self, el: El<'_, '_>, frame: &Frame) {
        match el.name() {
            "rehearsal" => self.push(el, frame, DirectionKind::Rehearsal(el.text().to_owned()), true),
            "segno" => self.push(el, frame, DirectionKind::Segno, true),
            "coda" => self.push(el, frame, DirectionKind::Coda, true),
            "dynamics" => {
                if let Some(mark) = dynamics(el) {
                    self.push(el, frame, DirectionKind::Dynamic(mark), true);
                }
            }
            "metronome" => self.metronome(el, frame),
            "wedge" => self.wedge(el, frame),
            "octave-shift" => self.octave_shift(el, frame),
            "dashes" => self.line(el, frame, Family::Dashes, SpanKind::Dashes),
            "bracket" => self.line(el, frame, Family::Bracket, SpanKind::Bracket),
            "principal-voice" => {
                self.line(
                    el,
                    frame,
                    Family::Principal,
                    SpanKind::Other("principal-voice".to_owned()),
                );
                if el.attr("type") == Some("start") {
                    let symbol = el.attr("symbol").unwrap_or_default();
                    self.sign(el, frame, if el.text().is_empty() { symbol } else { el.text() });
                }
            }
            "pedal" => self.pedal(el, frame),
            "symbol"
            | "damp"
            | "damp-all"
            | "eyeglasses"
            | "string-mute"
            | "accordion-registration"
            | "percussion"
            | "staff-divide" => {
                let text = sign_text(el);
                self.push(
                    el,
                    frame,
                    DirectionKind::Sign {
                        name: el.name().to_owned(),
                        text,
                    },
                    true,
                );
            }
            "harp-pedals" => self.sign(el, frame, &harp_text(el)),
            "scordatura" => self.sign(el, frame, &scordatura_text(el)),
            "other-direction" => {
                let text = text_or_smufl(el);
                let kind = DirectionKind::Sign {
                    name: "other-direction".to_owned(),
                    text,
                };
                self.push(el, frame, kind, !el.no("print-object"));
            }
            "image" => self.unread("image", "direction-type", Why::NoPlace),
            other => self.unread(other, "direction-type", Why::Unknown),
        }
    }

    fn sign(&mut self, el: El<'_, '_>, frame: &Frame, text: &str) {
        let kind = DirectionKind::Sign {
            name: el.name().to_owned(),
            text: text.to_owned(),
        };
        self.push(el, frame, kind, true);
    }

    fn push(&mut self, el: El<'_, '_>, frame: &Frame, kind: DirectionKind, printed: bool) {
        let id = self.id(IdKind::Direction, el);
        self.add_direction(Direction {
            id,
            place: frame.place,
            staff: frame.staff,
            voice: frame.voice.clone(),
            side: frame.side.or(side(el)),
            printed,
            kind,
        });
    }

    /// A direction that the source writes elsewhere than in a `<direction>`.
    pub(super) fn direction_at(&mut self, el: El<'_, '_>, place: Place, kind: DirectionKind) {
        let frame = Frame {
            place,
            staff: None,
            voice: None,
            side: side(el),
        };
        self.push(el, &frame, kind, true);
    }

    /// Words where the cursor stands.
    pub(super) fn words_at(&mut self, el: El<'_, '_>, text: String) {
        if !text.trim().is_empty() {
            self.direction_at(el, self.place(), DirectionKind::Words(text));
        }
    }

    fn wedge(&mut self, el: El<'_, '_>, frame: &Frame) {
        let niente = el.yes("niente");
        let kind = match el.attr("type") {
            Some("crescendo") => MarkKind::Start(SpanKind::Crescendo { niente }),
            Some("diminuendo") => MarkKind::Start(SpanKind::Diminuendo { niente }),
            Some("stop") => MarkKind::Stop,
            Some("continue") => return,
            _ => return self.unread("@type", "wedge", Why::Unknown),
        };
        self.place_mark(el, Family::Wedge, kind, frame.place, frame.staff, frame.side);
    }

    /// Source: MusicXML 4.0, octave-shift: 8va "is an octave-shift down from the pitch data indicated in the notes".
    fn octave_shift(&mut self, el: El<'_, '_>, frame: &Frame) {
        let size = el.attr("size").unwrap_or("8");
        let octaves: i8 = match size {
            "8" => 1,
            "15" => 2,
            "22" => 3,
            _ => {
                self.caution(
                    "ottava-unclear",
                    format!("an ottava says “{size}”; it was taken for 8"),
                    "look at the sign on the page",
                );
                1
            }
        };
        let kind = match el.attr("type") {
            Some("down") => MarkKind::Start(SpanKind::Ottava { octaves }),
            Some("up") => MarkKind::Start(SpanKind::Ottava { octaves: -octaves }),
            Some("stop") => MarkKind::Stop,
            Some("continue") => return,
            _ => return self.unread("@type", "octave-shift", Why::Unknown),
        };
        self.place_mark(el, Family::Ottava, kind, frame.place, frame.staff, frame.side);
    }

    fn line(&mut self, el: El<'_, '_>, frame: &Frame, family: Family, kind: SpanKind) {
        let kind = match el.attr("type") {
            Some("start") => MarkKind::Start(kind),
            Some("stop") => MarkKind::Stop,
            Some("continue") => return,
            _ => return self.unread("@type", el.name(), Why::Unknown),
        };
        self.place_mark(el, family, kind, frame.place, frame.staff, frame.side);
    }

    fn pedal(&mut self, el: El<'_, '_>, frame: &Frame) {
        let mut mark = |kind| self.place_mark(el, Family::Pedal, kind, frame.place, frame.staff, frame.side);
        match el.attr("type") {
            Some("start" | "sostenuto" | "resume") => mark(MarkKind::Start(SpanKind::Pedal)),
            Some("stop" | "discontinue") => mark(MarkKind::Stop),
            // Up and down again at once.
            Some("change") => {
                mark(MarkKind::Stop);
                mark(MarkKind::Start(SpanKind::Pedal));
            }
            Some("continue") => {}
            _ => self.unread("@type", "pedal", Why::Unknown),
        }
    }

    fn metronome(&mut self, el: El<'_, '_>, frame: &Frame) {
        let printed = !el.no("print-object");
        let kind = plain_metronome(el).map_or_else(
            || DirectionKind::Sign {
                name: "metronome".to_owned(),
                text: metronome_text(el),
            },
            DirectionKind::Metronome,
        );
        self.push(el, frame, kind, printed);
    }

    /// What the source says about playback at an offset of this bar.
    pub(super) fn sound(&mut self, el: El<'_, '_>, offset: Quarters) {
        let mut attributes: Vec<(String, String)> = el
            .attrs()
            .iter()
            .filter(|(name, _)| *name != "id")
            .map(|(name, value)| ((*name).to_owned(), value.trim().to_owned()))
            .collect();
        let mut offset = offset;
        for child in el.children() {
            match child.name() {
                "offset" => {
                    if let Some(moved) = notation::Rational::parse(child.text()) {
                        offset = (offset + self.in_quarters(moved)).max(Quarters::ZERO);
                    }
                }
                "swing" => attributes.push(("swing".to_owned(), swing_text(child))),
                "instrument-change" => {
                    let name = child
                        .attr("id")
                        .and_then(|id| self.instruments.iter().find(|(of, ..)| of == id));
                    let name = name.map(|(_, name, _)| name.clone()).unwrap_or_default();
                    self.add_sign(child, "instrument-change", name, false);
                }
                // Devices and channels.
                "midi-device" | "midi-instrument" | "play" => {}
                other => self.unread(other, "sound", Why::Unknown),
            }
        }
        if !attributes.is_empty() && !offset.is_overflow() {
            self.score.taken += 1;
            let place = Place {
                bar: self.bar,
                offset,
            };
            self.score.piece.sound_hints.push(SoundHint {
                place,
                part: self.number,
                attributes,
            });
        }
    }
}

/// Adds the next words of one direction; a space stands between two that would run together.
fn join_words(words: &mut String, next: &str) {
    let runs_together = match (words.chars().next_back(), next.chars().next()) {
        (Some(before), Some(after)) => {
            (before.is_alphanumeric() || ".,;:!".contains(before)) && after.is_alphanumeric()
        }
        _ => false,
    };
    if runs_together {
        words.push(' ');
    }
    words.push_str(next);
}

/// A dynamic mark by its letters; marks written one after the other are one (`sf` and `mp`: `sfmp`).
pub(super) fn dynamics(el: El<'_, '_>) -> Option<String> {
    let mut mark = String::new();
    let mut word_before = false;
    for child in el.children() {
        let (text, word) = if child.name() == "other-dynamics" {
            let text = text_or_smufl(child);
            let letters = !text.is_empty() && text.chars().all(|c| "pfmszrn".contains(c));
            (text, !letters)
        } else {
            (child.name().to_owned(), false)
        };
        if !mark.is_empty() && (word || word_before) {
            mark.push(' ');
        }
        mark.push_str(&text);
        word_before = word;
    }
    let mark = mark.trim();
    (!mark.is_empty()).then(|| mark.chars().take(200).collect())
}

/// One note value with its dots, from `beat-unit` or `metronome-note`.
fn beat(texts: &[El<'_, '_>], value: &str, dot: &str) -> Option<(NoteValue, u8)> {
    let mut values = texts.iter().filter(|el| el.name() == value);
    let found = NoteValue::from_name(values.next()?.text())?;
    if values.next().is_some() {
        return None;
    }
    let dots = texts.iter().filter(|el| el.name() == dot).count();
    Some((found, u8::try_from(dots).ok()?))
}

fn plain_metronome(el: El<'_, '_>) -> Option<Metronome> {
    let children: Vec<El<'_, '_>> = el.children().collect();
    let parentheses = el.yes("parentheses");
    let is = |name: &str| children.iter().any(|child| child.name() == name);
    if is("beat-unit-tied") || is("metronome-tied") {
        return None;
    }
    if is("metronome-note") {
        let notes: Vec<Vec<El<'_, '_>>> = children
            .iter()
            .filter(|child| child.name() == "metronome-note")
            .map(|note| note.children().collect())
            .collect();
        let [left, right] = notes.as_slice() else {
            return None;
        };
        let plain = |note: &[El<'_, '_>]| !note.iter().any(|el| el.name() == "metronome-tuplet");
        let (value, dots) = beat(left, "metronome-type", "metronome-dot").filter(|_| plain(left))?;
        let (other, other_dots) = beat(right, "metronome-type", "metronome-dot").filter(|_| plain(right))?;
        return Some(Metronome {
            beat: value,
            dots,
            value: MetronomeValue::Equals(other, other_dots),
            parentheses,
        });
    }
    // A second beat unit stands after the first with its dots.
    let units: Vec<usize> = children
        .iter()
        .enumerate()
        .filter(|(_, child)| child.name() == "beat-unit")
        .map(|(at, _)| at)
        .collect();
    let first = *units.first()?;
    let second = units.get(1).copied();
    let (value, dots) = beat(
        children.get(first..second.unwrap_or(children.len()))?,
        "beat-unit",
        "beat-unit-dot",
    )?;
    let said = match second {
        Some(second) => {
            let (other, other_dots) = beat(children.get(second..)?, "beat-unit", "beat-unit-dot")?;
            MetronomeValue::Equals(other, other_dots)
        }
        None => MetronomeValue::PerMinute(el.child_text("per-minute")?.to_owned()),
    };
    Some(Metronome {
        beat: value,
        dots,
        value: said,
        parentheses,
    })
}

/// A metronome mark that the plain form cannot hold, spelled out.
fn metronome_text(el: El<'_, '_>) -> String {
    let mut text = String::new();
    let mut say = |word: &str| {
        if !text.is_empty() && !word.is_empty() {
            text.push(' ');
        }
        text.push_str(word);
    };
    for child in el.children() {
        match child.name() {
            "beat-unit" | "per-minute" => say(child.text()),
            "beat-unit-dot" => say("dot"),
            "beat-unit-tied" => say(&format!(
                "tied {}",
                child.child_text("beat-unit").unwrap_or_default()
            )),
            "metronome-note" => {
                say(child.child_text("metronome-type").unwrap_or_default());
                child
                    .children()
                    .filter(|part| part.name() == "metronome-dot")
                    .for_each(|_| say("dot"));
                if let Some(tuplet) = child.child("metronome-tuplet") {
                    let number = |name: &str| tuplet.child_text(name).unwrap_or_default();
                    say(&format!(
                        "({} in the time of {})",
                        number("actual-notes"),
                        number("normal-notes")
                    ));
                }
            }
            "metronome-relation" => say("="),
            "metronome-arrows" => say("(swing)"),
            _ => {}
        }
    }
    text
}

/// The text of a sign: its own, or that of its parts (`percussion`, `accordion-registration`).
fn sign_text(el: El<'_, '_>) -> String {
    let parts: Vec<&str> = el
        .children()
        .map(|part| {
            if part.text().is_empty() {
                part.name()
            } else {
                part.text()
            }
        })
        .collect();
    let text = if parts.is_empty() {
        el.text().to_owned()
    } else {
        parts.join(" ")
    };
    let kind = el.attr("type").unwrap_or_default();
    if text.is_empty() { kind.to_owned() } else { text }
}

fn harp_text(el: El<'_, '_>) -> String {
    let pedals = el.children().map(|pedal| {
        let alter = pedal
            .child_text("pedal-alter")
            .and_then(notation::Rational::parse)
            .unwrap_or_default();
        format!(
            "{}{}",
            pedal.child_text("pedal-step").unwrap_or_default(),
            notation::alter_ascii(alter)
        )
    });
    pedals.collect::<Vec<_>>().join(" ")
}

fn scordatura_text(el: El<'_, '_>) -> String {
    let strings = el.children().map(|accord| {
        format!(
            "{}: {}",
            accord.attr("string").unwrap_or_default(),
            super::technical::tuning_text(accord)
        )
    });
    strings.collect::<Vec<_>>().join(", ")
}

/// How eighths swing: `straight`, or the ratio and the value (`2:1 eighth`), with the style's name.
fn swing_text(el: El<'_, '_>) -> String {
    if el.child("straight").is_some() {
        return "straight".to_owned();
    }
    let text = |name: &str| el.child_text(name).unwrap_or_default();
    let value = el.child_text("swing-type").unwrap_or("eighth");
    format!(
        "{}:{} {value} {}",
        text("first"),
        text("second"),
        text("swing-style")
    )
    .trim_end()
    .to_owned()
}
