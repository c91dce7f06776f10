//! What does our own writer put beside the notes? The inverse of its control events, one for one.

use super::super::marks::{Mark, mark_of};
use super::super::music::{Music, Target};
use super::super::signs;
use super::super::values::{note_value, side};
use super::notes::place_of;
use super::text::{plain, raw};
use super::{List, exact, has};
use crate::xml::El;
use notation::{
    Anchor, Articulation, ArticulationKind, BarGroup, BarGroupKind, BarIndex, BarSide, Direction,
    DirectionKind, Event, EventKind, Fermata, Head, Id, IdKind, Lyric, Metronome, MetronomeValue, NoteValue,
    Ornament, OrnamentKind, Place, Quarters, Rational, Side, SoundHint, Span, SpanKind, Technical,
};

/// A control event, kept until all notes are known.
pub(super) struct OwnControl {
    name: String,
    attrs: Vec<(String, String)>,
    text: String,
    range: (u32, u32),
    measure: usize,
    /// The staves of the score as indices, where it stands on one.
    staff: Option<usize>,
    accidentals: Vec<(String, Side)>,
}

impl OwnControl {
    fn attr(&self, name: &str) -> Option<&str> {
        self.attrs
            .iter()
            .find(|(of, _)| of == name)
            .map(|(_, value)| value.as_str())
    }

    fn words(&self) -> impl Iterator<Item = &str> {
        self.attr("type").unwrap_or_default().split(' ')
    }

    fn has(&self, word: &str) -> bool {
        self.words().any(|one| one == word)
    }

    fn after(&self, prefix: &str) -> Option<&str> {
        self.words().find_map(|word| word.strip_prefix(prefix))
    }

    /// The side, told by an attribute or by a word.
    fn side(&self) -> Option<Side> {
        side(
            self.attr("place")
                .or(self.attr("curvedir"))
                .or(self.attr("bracket.place"))
                .or(self.after("side.")),
        )
    }

    /// The text in a list.
    fn list(&self) -> Vec<String> {
        self.text.split('|').map(plain).collect()
    }
}

/// Where one end stands.
#[derive(Clone, Copy)]
struct Found {
    part: usize,
    event: Option<usize>,
    head: Option<usize>,
    anchor: Anchor,
}

impl<'a> Music<'a> {
    /// Keeps a control event; false if the file is not ours.
    pub(in super::super) fn own_control(&mut self, el: El<'_, 'a>) -> bool {
        if self.own.is_none() {
            return false;
        }
        if matches!(el.name(), "beamSpan") {
            return true;
        }
        self.score.taken += 1;
        let control = OwnControl {
            name: el.name().to_owned(),
            attrs: el
                .attrs()
                .iter()
                .map(|(name, value)| ((*name).to_owned(), value.clone().into_owned()))
                .collect(),
            text: raw(self.text, el),
            range: el.range(),
            measure: self.measures.len().saturating_sub(1),
            staff: el
                .attr("staff")
                .and_then(|number| self.staff_numbers.get(number).copied()),
            accidentals: signs::ornament_accidentals(el),
        };
        let lower_first = has(el, "lower-first");
        if let Some(own) = &mut self.own {
            own.controls.push(control);
            if lower_first && let Some(last) = own.controls.last_mut() {
                last.accidentals.reverse();
            }
        }
        true
    }

    /// The offset of a beat in a bar of a part.
    pub(super) fn own_offset(&self, part: usize, bar: BarIndex, beat: Rational) -> Quarters {
        let units = self
            .parts
            .get(part)
            .map_or(&[][..], |state| state.units.as_slice());
        let until = units.partition_point(|(from, _)| *from <= bar);
        let unit = until
            .checked_sub(1)
            .and_then(|at| units.get(at))
            .map_or(4, |(_, unit)| i64::from(*unit));
        ((beat - Rational::ONE) * Rational::new(4, unit)).max(Quarters::ZERO)
    }

    fn own_named(&self, reference: &str) -> Option<Found> {
        let target = *self.ids.get(reference.trim_start_matches('#'))?;
        let Target::Event { part, event, head } = target else {
            return None;
        };
        let (part, at) = (part as usize, event as usize);
        let event = self.parts.get(part)?.part.events.get(at)?;
        let head = head.map(|head| head as usize);
        // A note that is its event's only one is named by the event.
        let named_head = head
            .filter(|_| event.heads().len() > 1)
            .and_then(|head| event.heads().get(head));
        Some(Found {
            part,
            event: Some(at),
            head,
            anchor: Anchor {
                place: event.place,
                element: Some(named_head.map_or(event.id, |head| head.id)),
            },
        })
    }

    fn own_place(&self, part: usize, bar: BarIndex, beat: &str) -> Option<Found> {
        let offset = self.own_offset(part, bar, exact(beat)?);
        Some(Found {
            part,
            event: None,
            head: None,
            anchor: Anchor {
                place: Place { bar, offset },
                element: None,
            },
        })
    }

    fn own_start(&self, control: &OwnControl) -> Option<Found> {
        if let Some(reference) = control.attr("startid") {
            return self.own_named(reference);
        }
        let part = self.staves.get(control.staff?)?.part;
        let bar = *self.measures.get(control.measure)?;
        self.own_place(part, bar, control.attr("tstamp")?)
    }

    fn own_end(&self, control: &OwnControl, part: usize) -> Option<Found> {
        if let Some(reference) = control.attr("endid") {
            return self.own_named(reference);
        }
        let (bars, beat) = control.attr("tstamp2")?.split_once("m+")?;
        let measure = control.measure.checked_add(bars.parse().ok()?)?;
        let bar = *self.measures.get(measure)?;
        self.own_place(part, bar, beat)
    }

    /// Puts one control event in its place.
    pub(super) fn put_own(&mut self, control: &OwnControl) {
        let start = self.own_start(control);
        let of_staff = control
            .staff
            .and_then(|at| self.staves.get(at))
            .map(|staff| staff.part);
        let Some(part) = start.map(|start| start.part).or(of_staff) else {
            return;
        };
        match control.name.as_str() {
            "tie" => {
                for (found, starts) in [(start, true), (self.own_end(control, part), false)] {
                    self.own_heads(found, |head| {
                        if starts {
                            head.tie_start = true;
                        } else {
                            head.tie_stop = true;
                        }
                    });
                }
            }
            "lv" => self.own_heads(start, |head| head.let_ring = true),
            "slur" | "hairpin" | "octave" | "pedal" | "gliss" | "line" | "bracketSpan" => {
                self.own_span(control, part, start);
            }
            "dir" if control.has("dashes") => self.own_span(control, part, start),
            "dir" if control.has("articulation") => {
                let kind = ArticulationKind::Other(control.text.clone());
                self.own_articulation(control, start, kind);
            }
            "dir" if control.has("technical") => self.own_technical(control, start),
            "fing" => self.own_technical(control, start),
            "breath" => {
                let shape = control
                    .after("shape.")
                    .or(control.attr("label"))
                    .unwrap_or_default()
                    .to_owned();
                self.own_articulation(control, start, ArticulationKind::BreathMark(shape));
            }
            "caesura" => {
                let shape = control
                    .after("shape.")
                    .or(control.attr("label"))
                    .unwrap_or_default()
                    .to_owned();
                self.own_articulation(control, start, ArticulationKind::Caesura(shape));
            }
            "trill" | "mordent" | "turn" | "ornam" => self.own_ornament(control, part, start),
            "fermata" => self.own_fermata(control, start),
            "arpeg" => {
                let said = match control.attr("order") {
                    Some("nonarp") => "not",
                    Some(order) => order,
                    None => "",
                };
                if let Some(event) = self.own_event_at(start) {
                    event.arpeggio = Some(said.to_owned());
                }
            }
            "dynam" if control.has("at-note") => {
                if let Some(event) = self.own_event_at(start) {
                    event.dynamics.push(control.text.clone());
                }
            }
            "annot" if control.has("rest-artic") => {
                let kind = match control.attr("label").unwrap_or_default() {
                    "ten stacc" => ArticulationKind::Portato,
                    name => match mark_of(name) {
                        Mark::Articulation(kind) => kind,
                        _ => return,
                    },
                };
                self.own_articulation(control, start, kind);
            }
            "annot" if control.has("rest-verse") => {
                let lyric = Lyric {
                    line: control.attr("label").unwrap_or_default().to_owned(),
                    text: control.text.clone(),
                    syllabic: control.after("syllabic.").unwrap_or_default().to_owned(),
                    extend: control.has("extend"),
                };
                if let Some(event) = self.own_event_at(start) {
                    event.lyrics.push(lyric);
                }
            }
            "annot" if control.has("sound-hint") => self.own_hint(control, start),
            "annot" if control.has("bar-group") => self.own_group(control, part),
            "repeatMark" if control.has("left-barline") || control.has("right-barline") => {
                self.own_line_sign(control, start);
            }
            _ => self.own_direction(control, start),
        }
    }

    fn own_event_at(&mut self, found: Option<Found>) -> Option<&mut Event> {
        let found = found?;
        self.event_mut(found.part, found.event?)
    }

    fn own_heads(&mut self, found: Option<Found>, change: impl Fn(&mut Head)) {
        let head = found.and_then(|found| found.head);
        if let Some(event) = self.own_event_at(found)
            && let EventKind::Chord(heads) = &mut event.kind
        {
            match head {
                Some(at) => heads.get_mut(at).into_iter().for_each(change),
                None => heads.iter_mut().for_each(change),
            }
        }
    }

    fn own_articulation(&mut self, control: &OwnControl, found: Option<Found>, kind: ArticulationKind) {
        let side = control.side();
        if let Some(event) = self.own_event_at(found) {
            event.articulations.push(Articulation { kind, side });
            self.own_ordered(control, found, List::Articulations);
        }
    }

    /// The mark that was added last has the place that its id tells.
    fn own_ordered(&mut self, control: &OwnControl, found: Option<Found>, list: List) {
        if let Some(Found {
            part,
            event: Some(event),
            ..
        }) = found
        {
            let id = control.attr("xml:id").unwrap_or_default();
            let place = control.after("order.").and_then(|place| place.parse().ok());
            self.own_order(part, event, list, place.unwrap_or_else(|| place_of(id)));
        }
    }

    fn own_technical(&mut self, control: &OwnControl, found: Option<Found>) {
        let name = if control.name == "fing" {
            "fingering"
        } else {
            control
                .words()
                .find(|word| !matches!(*word, "technical" | "of-event" | "of-head"))
                .unwrap_or_default()
        };
        let of_head = super::super::write::is_of_head(name);
        let mark = Technical {
            name: name.to_owned(),
            text: control.text.clone(),
            side: control.side(),
        };
        let to_head = (of_head || control.has("of-head")) && !control.has("of-event");
        let head = found.and_then(|found| found.head).unwrap_or(0);
        let Some(event) = self.own_event_at(found) else {
            return;
        };
        let list = match &mut event.kind {
            EventKind::Chord(heads) if to_head => {
                heads
                    .get_mut(head)
                    .into_iter()
                    .for_each(|head| head.technical.push(mark.clone()));
                List::OfHead(head)
            }
            _ => {
                event.technical.push(mark);
                List::Technical
            }
        };
        self.own_ordered(control, found, list);
    }

    fn own_ornament(&mut self, control: &OwnControl, part: usize, start: Option<Found>) {
        let kind = match control.name.as_str() {
            "trill" => OrnamentKind::Trill,
            "mordent" => {
                let long = control.attr("long") == Some("true");
                if control.attr("form") == Some("upper") {
                    OrnamentKind::InvertedMordent { long }
                } else {
                    OrnamentKind::Mordent { long }
                }
            }
            "turn" => {
                let (lower, delayed) = (
                    control.attr("form") == Some("lower"),
                    control.attr("delayed").is_some(),
                );
                match (lower, delayed, control.has("vertical")) {
                    (false, _, true) => OrnamentKind::VerticalTurn,
                    (true, _, true) => OrnamentKind::InvertedVerticalTurn,
                    (false, false, _) => OrnamentKind::Turn,
                    (true, false, _) => OrnamentKind::InvertedTurn,
                    (false, true, _) => OrnamentKind::DelayedTurn,
                    (true, true, _) => OrnamentKind::DelayedInvertedTurn,
                }
            }
            _ => match control.words().next().unwrap_or_default() {
                "shake" => OrnamentKind::Shake,
                "schleifer" => OrnamentKind::Schleifer,
                "haydn" => OrnamentKind::Haydn,
                "wavy-line" => OrnamentKind::WavyLine,
                kind @ ("tremolo" | "tremolo-between") => OrnamentKind::Tremolo {
                    strokes: control
                        .after("strokes.")
                        .and_then(|text| text.parse().ok())
                        .unwrap_or(3),
                    between: kind == "tremolo-between",
                },
                _ => OrnamentKind::Other(control.attr("label").unwrap_or_default().to_owned()),
            },
        };
        let side = control.side();
        let accidentals = control.accidentals.clone();
        if control.attr("extender").is_some()
            && let Some(start) = start
        {
            let end = self.own_end(control, part).map(|end| end.anchor);
            let line = match control.after("line-side.") {
                Some(word) => super::super::values::side(Some(word)),
                None => side,
            };
            let staff = control.attr("partstaff").and_then(|staff| staff.parse().ok());
            self.own_add_span(
                part,
                SpanKind::TrillLine,
                Some(start.anchor),
                end,
                staff,
                line,
                control.range,
            );
        }
        if let Some(event) = self.own_event_at(start) {
            event.ornaments.push(Ornament {
                kind,
                side,
                accidentals,
            });
            self.own_ordered(control, start, List::Ornaments);
        }
    }

    fn own_fermata(&mut self, control: &OwnControl, start: Option<Found>) {
        let shape = match control.attr("shape") {
            Some("angular") => "angled",
            Some(shape) => shape,
            None => control.after("shape.").unwrap_or_default(),
        };
        let fermata = Fermata {
            shape: shape.to_owned(),
            inverted: control.attr("form") == Some("inv"),
        };
        if control.attr("startid").is_some() {
            if let Some(event) = self.own_event_at(start) {
                event.fermatas.push(fermata);
            }
            return;
        }
        self.own_on_line(control, start, |line| line.fermatas.push(fermata.clone()));
    }

    fn own_line_sign(&mut self, control: &OwnControl, start: Option<Found>) {
        let name = control.attr("label").unwrap_or_default().to_owned();
        let coda = control.attr("func") == Some("coda");
        self.own_on_line(control, start, |line| {
            let sign = if coda { &mut line.coda } else { &mut line.segno };
            *sign = Some(name.clone());
        });
    }

    /// Changes the bar line at one edge of a bar in the parts that have it.
    fn own_on_line(
        &mut self,
        control: &OwnControl,
        start: Option<Found>,
        change: impl Fn(&mut notation::Barline),
    ) {
        let Some(start) = start else { return };
        let side = if control.has("left-barline") {
            BarSide::Left
        } else {
            BarSide::Right
        };
        let whose: Option<Vec<usize>> = control
            .after("parts.")
            .map(|list| list.split('.').filter_map(|part| part.parse().ok()).collect());
        let before = std::mem::replace(&mut self.bar, start.anchor.place.bar);
        for part in 0..self.parts.len() {
            if whose.as_ref().is_none_or(|whose| whose.contains(&part))
                && let Some(line) = self.line_of(part, side, Quarters::ZERO)
            {
                change(line);
            }
        }
        self.bar = before;
    }

    fn own_hint(&mut self, control: &OwnControl, start: Option<Found>) {
        let Some(start) = start else { return };
        let attributes = control.text.split('|').filter_map(|pair| {
            let (name, value) = pair.split_once('=')?;
            Some((plain(name), plain(value)))
        });
        let hint = SoundHint {
            place: start.anchor.place,
            part: start.part,
            attributes: attributes.collect(),
        };
        self.score.piece.sound_hints.push(hint);
    }

    fn own_group(&mut self, control: &OwnControl, part: usize) {
        let Some(start) = self.measures.get(control.measure).copied() else {
            return;
        };
        let kind = if control.has("multi-rest") {
            BarGroupKind::MultiRest
        } else if let Some(pattern) = control.after("measure-repeat.") {
            BarGroupKind::MeasureRepeat {
                pattern: pattern.parse().unwrap_or(1),
            }
        } else {
            BarGroupKind::Other(control.after("named.").unwrap_or_default().to_owned())
        };
        let bars = control
            .after("bars.")
            .and_then(|bars| bars.parse().ok())
            .unwrap_or(1);
        let id = self.score.piece.ids.give(IdKind::Span);
        if let Some(state) = self.parts.get_mut(part) {
            state.part.bar_groups.push(BarGroup {
                id,
                start,
                bars,
                kind,
            });
        }
    }

    fn own_span(&mut self, control: &OwnControl, part: usize, start: Option<Found>) {
        if control.name == "pedal" && control.attr("prev").is_some() {
            return;
        }
        let number = |prefix: &str| {
            control
                .after(prefix)
                .and_then(|text| text.parse::<u16>().ok())
                .unwrap_or(0)
        };
        let lone_up = control.name == "pedal" && control.attr("dir") == Some("up");
        let kind = match control.name.as_str() {
            "slur" if control.has("hammer-on") => SpanKind::Other("hammer-on".to_owned()),
            "slur" if control.has("pull-off") => SpanKind::Other("pull-off".to_owned()),
            "slur" => SpanKind::Slur,
            "hairpin" => {
                let niente = control.attr("niente") == Some("true");
                if control.attr("form") == Some("dim") {
                    SpanKind::Diminuendo { niente }
                } else {
                    SpanKind::Crescendo { niente }
                }
            }
            "octave" => {
                let octaves = match control.attr("dis") {
                    Some("15") => 2,
                    Some("22") => 3,
                    _ => 1,
                };
                let below = control.attr("dis.place") == Some("below");
                SpanKind::Ottava {
                    octaves: if below { -octaves } else { octaves },
                }
            }
            "pedal" => SpanKind::Pedal,
            "gliss" if control.has("slide") => SpanKind::Slide,
            "gliss" => SpanKind::Glissando,
            "line" => SpanKind::TrillLine,
            "dir" => SpanKind::Dashes,
            _ if control.has("tuplet") => SpanKind::Tuplet {
                actual: number("num."),
                normal: number("numbase."),
                bracket: !control.has("no-bracket"),
            },
            _ if control.has("tremolo-pair") => SpanKind::TremoloPair {
                strokes: u8::try_from(number("strokes.")).unwrap_or(0),
            },
            _ if control.has("other") => SpanKind::Other(
                control
                    .after("named.")
                    .or(control.attr("label"))
                    .unwrap_or_default()
                    .to_owned(),
            ),
            _ => SpanKind::Bracket,
        };
        let side = match &kind {
            SpanKind::Ottava { octaves } => match control.after("side.") {
                Some(word) => super::super::values::side(Some(word)),
                None if *octaves < 0 => Some(Side::Below),
                None => Some(Side::Above),
            },
            _ => control.side(),
        };
        let start = start.map(|start| start.anchor);
        let end = self.own_end(control, part).map(|end| end.anchor);
        let (start, end) = if lone_up { (None, start) } else { (start, end) };
        let staff = control.attr("partstaff").and_then(|staff| staff.parse().ok());
        self.own_add_span(part, kind, start, end, staff, side, control.range);
    }

    #[expect(clippy::too_many_arguments, reason = "a span has so many sides")]
    fn own_add_span(
        &mut self,
        part: usize,
        kind: SpanKind,
        start: Option<Anchor>,
        end: Option<Anchor>,
        staff: Option<u8>,
        side: Option<Side>,
        range: (u32, u32),
    ) {
        let id = self.id_from(IdKind::Span, range, None);
        if let Some(state) = self.parts.get_mut(part) {
            state.part.spans.push(Span {
                id,
                kind,
                start,
                end,
                staff,
                side,
            });
        }
    }

    fn own_direction(&mut self, control: &OwnControl, start: Option<Found>) {
        let Some(start) = start else { return };
        let Some(kind) = direction_kind(control) else {
            return;
        };
        let number = control.attr("layer").or(control.after("voice."));
        let voice = number.and_then(|number| {
            let state = self.parts.get(start.part)?;
            let known = state.voices.iter().position(|voice| voice.layer == number);
            Some(
                known
                    .and_then(|at| state.part.voices.get(at))
                    .map_or(number, String::as_str)
                    .to_owned(),
            )
        });
        let id: Id = self.id_from(
            IdKind::Direction,
            control.range,
            control.attr("xml:id").map(str::to_owned),
        );
        if let Some(state) = self.parts.get_mut(start.part) {
            state.part.directions.push(Direction {
                id,
                place: start.anchor.place,
                staff: control.attr("partstaff").and_then(|staff| staff.parse().ok()),
                voice,
                side: control.side(),
                printed: control.name != "annot",
                kind,
            });
        }
    }

    /// Notes under ottavas say how they sound.
    pub(super) fn finish_octaves(&mut self) {
        for state in &mut self.parts {
            for ((event, head), octave) in std::mem::take(&mut state.sounding_octaves) {
                let event = state.part.events.get_mut(event as usize);
                if let Some(Event {
                    kind: EventKind::Chord(heads),
                    ..
                }) = event
                    && let Some(Head {
                        note: notation::HeadNote::Pitch(pitch),
                        ..
                    }) = heads.get_mut(head as usize)
                {
                    pitch.octave = octave;
                }
            }
        }
    }
}

fn direction_kind(control: &OwnControl) -> Option<DirectionKind> {
    let text = || control.text.clone();
    let sign = || {
        let name = control
            .words()
            .find(|word| !matches!(*word, "sign" | "unprinted") && !word.starts_with("voice."));
        DirectionKind::Sign {
            name: name
                .filter(|name| !name.is_empty())
                .or(control.attr("label"))
                .unwrap_or_default()
                .to_owned(),
            text: text(),
        }
    };
    let named = |name: &str| DirectionKind::Sign {
        name: name.to_owned(),
        text: text(),
    };
    Some(match control.name.as_str() {
        "dir" if control.has("sign") => sign(),
        "dir" => DirectionKind::Words(text()),
        "dynam" => DirectionKind::Dynamic(text()),
        "reh" => DirectionKind::Rehearsal(text()),
        "harm" if control.has("figured-bass") => named("figured-bass"),
        "harm" => named("harmony"),
        "repeatMark" if control.attr("func") == Some("coda") => DirectionKind::Coda,
        "repeatMark" => DirectionKind::Segno,
        "tempo" => DirectionKind::Metronome(metronome(control)?),
        "annot" if control.has("sign") => sign(),
        "annot" if control.has("words") => DirectionKind::Words(text()),
        "annot" if control.has("dynamic") => DirectionKind::Dynamic(text()),
        "annot" if control.has("rehearsal") => DirectionKind::Rehearsal(text()),
        "annot" if control.has("segno") => DirectionKind::Segno,
        "annot" if control.has("coda") => DirectionKind::Coda,
        "annot" if control.has("metronome") => DirectionKind::Metronome(hidden_metronome(control)?),
        _ => return None,
    })
}

fn metronome(control: &OwnControl) -> Option<Metronome> {
    let parentheses = control.has("parentheses");
    let value = match control.after("equals.").and_then(|said| said.split_once('.')) {
        Some((name, dots)) => MetronomeValue::Equals(NoteValue::from_name(name)?, dots.parse().ok()?),
        None => {
            let (_, text) = control.text.split_once(" = ")?;
            let text = if parentheses {
                text.strip_suffix(')').unwrap_or(text)
            } else {
                text
            };
            MetronomeValue::PerMinute(text.to_owned())
        }
    };
    Some(Metronome {
        beat: note_value(control.attr("mm.unit")?)?,
        dots: control
            .attr("mm.dots")
            .and_then(|dots| dots.parse().ok())
            .unwrap_or(0),
        value,
        parentheses,
    })
}

fn hidden_metronome(control: &OwnControl) -> Option<Metronome> {
    let list = control.list();
    let value = match list.as_slice() {
        [_, _, text] => MetronomeValue::PerMinute(text.clone()),
        [_, _, value, dots] => MetronomeValue::Equals(NoteValue::from_name(value)?, dots.parse().ok()?),
        _ => return None,
    };
    Some(Metronome {
        beat: NoteValue::from_name(list.first()?)?,
        dots: list.get(1)?.parse().ok()?,
        value,
        parentheses: control.has("parentheses"),
    })
}
