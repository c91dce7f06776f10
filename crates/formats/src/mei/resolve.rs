//! Which notes do the elements beside the staves belong to? Each control event put where it stands, when all is read.

use super::control::{Control, Kind};
use super::music::Music;
use super::places::{Onsets, Spot};
use crate::report::Here;
use notation::{
    Anchor, Articulation, BarIndex, BarSide, Direction, DirectionKind, EventKind, Fermata, Finding, IdKind,
    Ornament, OrnamentKind, Place, Severity, SoundHint, Span, SpanKind, Technical,
};
use std::borrow::Cow;
use std::collections::BTreeMap;

impl<'a> Music<'a> {
    /// Puts all control events in their places.
    pub(super) fn resolve_controls(&mut self) {
        let controls = std::mem::take(&mut self.controls);
        let onsets = Onsets::of(self);
        let mut pedals: BTreeMap<usize, usize> = BTreeMap::new();
        for control in &controls {
            self.resolve_control(control, &onsets, &mut pedals);
        }
        self.octave_lines(&onsets);
    }

    fn resolve_control(
        &mut self,
        control: &Control<'a>,
        onsets: &Onsets,
        pedals: &mut BTreeMap<usize, usize>,
    ) {
        let by_element = control.within.is_some()
            || control
                .start
                .as_deref()
                .is_some_and(|name| self.ids.contains_key(name));
        let mut meant = self.staves_of(control);
        if meant.is_empty() || by_element {
            let spot = self.start_spot(control, control.part, onsets);
            let part = spot.map_or(control.part, |spot| spot.part);
            if by_element || meant.is_empty() {
                let staff = spot
                    .and_then(|spot| self.parts.get(part)?.part.events.get(spot.event?))
                    .map_or(1, |event| event.staff);
                meant = vec![(part, staff)];
            }
        }
        // What is played by one hand stands in one part, though it may be drawn for several.
        let in_all = matches!(
            control.kind,
            Kind::Directions { .. } | Kind::Jump { .. } | Kind::Line(_) | Kind::Fermata(_)
        );
        if !in_all {
            meant.truncate(1);
        }
        for (part, staff) in meant {
            if part >= self.parts.len() {
                continue;
            }
            let Some(spot) = self.start_spot(control, part, onsets) else {
                self.unplaced(control, part);
                continue;
            };
            let spot = Spot { part, ..spot };
            let end = self.end_spot(control, part, onsets);
            self.put(control, spot, end, staff, onsets, pedals);
        }
    }

    fn put(
        &mut self,
        control: &Control<'a>,
        spot: Spot,
        end: Option<Spot>,
        staff: u8,
        onsets: &Onsets,
        pedals: &mut BTreeMap<usize, usize>,
    ) {
        let layer = control.layer.as_deref();
        let event = self.event_of(spot, Some(staff), layer, onsets);
        match &control.kind {
            Kind::Tie => self.put_tie(control, spot, end, (event, staff), onsets),
            Kind::LetRing => self.let_ring(spot, event),
            Kind::Curve(kind) => self.curve(control, kind, spot, end, staff, onsets),
            Kind::Line(kind) => self.line_span(control, kind, spot, end, staff),
            Kind::Directions { said, line, bpm } => {
                for (kind, printed) in said {
                    self.direction(control, kind.clone(), *printed, spot, staff);
                }
                if let Some(bpm) = bpm {
                    self.hint(spot, "tempo", bpm);
                }
                if *line {
                    self.line_span(control, &SpanKind::Dashes, spot, end, staff);
                }
            }
            Kind::Jump { said, hint } => {
                self.direction(control, said.clone(), true, spot, staff);
                if let Some((name, value)) = hint {
                    self.hint(spot, name, value);
                }
            }
            Kind::Fermata(fermata) => self.put_fermata(control, fermata, spot, staff, onsets),
            Kind::Ornament { kind, accidentals } => {
                let Some(event) = event else {
                    return self.unplaced(control, spot.part);
                };
                let ornament = Ornament {
                    kind: kind.clone(),
                    side: control.side,
                    accidentals: accidentals.clone(),
                };
                self.ornament_at(spot.part, event, ornament);
                if *kind == OrnamentKind::Trill && end.is_some() {
                    self.curve(
                        control,
                        &SpanKind::TrillLine,
                        Spot {
                            event: Some(event),
                            ..spot
                        },
                        end,
                        staff,
                        onsets,
                    );
                }
            }
            Kind::Break(kind) => {
                // The note after which one breathes: named, or the last that starts before the sign.
                let after = spot.event.or_else(|| {
                    self.best(
                        spot.part,
                        onsets.before(spot.part, spot.place),
                        Some(staff),
                        layer,
                    )
                });
                let found = after
                    .and_then(|at| self.event_mut(spot.part, at))
                    .filter(|event| event.articulations.len() < 200);
                match found {
                    Some(event) => event.articulations.push(Articulation {
                        kind: kind.clone(),
                        side: control.side,
                    }),
                    None => self.unplaced(control, spot.part),
                }
            }
            Kind::Arpeggio(direction) => self.arpeggio(control, direction, event, spot.part),
            Kind::Pedal { down, up } => self.pedal(control, spot, end, staff, (*down, *up), pedals),
            Kind::Technical { name, text } => {
                let Some(at) = event else {
                    return self.unplaced(control, spot.part);
                };
                let technical = Technical {
                    name: (*name).to_owned(),
                    text: text.chars().take(200).collect(),
                    side: control.side,
                };
                let Some(event) = self.event_mut(spot.part, at) else {
                    return;
                };
                match &mut event.kind {
                    EventKind::Chord(heads) => {
                        let head = spot.head.unwrap_or(0).min(heads.len().saturating_sub(1));
                        heads
                            .get_mut(head)
                            .into_iter()
                            .for_each(|head| head.technical.push(technical.clone()));
                    }
                    _ => event.technical.push(technical),
                }
            }
            Kind::Beam => self.beam_span(control, spot, end),
        }
    }

    /// Reports a control event of which nothing says where it belongs.
    fn unplaced(&mut self, control: &Control<'a>, part: usize) {
        let bar = self.measures.get(control.measure).copied();
        let here = Here {
            part: self.parts.get(part).map(|state| state.name.clone()),
            bar: bar.map(|bar| (bar, self.score.piece.label(bar).to_owned())),
            ..Here::default()
        };
        let what = format!(
            "{} stands in this bar that belongs to no note or beat that could be found; it was left out",
            control.kind.word()
        );
        self.score.report.push(here.put(Finding::new(
            Severity::Caution,
            "sign-unplaced",
            what,
            "look for it on the page",
        )));
    }

    fn foreign(control: &Control<'a>) -> Option<String> {
        control.id.clone().map(Cow::into_owned)
    }

    fn direction(
        &mut self,
        control: &Control<'a>,
        kind: DirectionKind,
        printed: bool,
        spot: Spot,
        staff: u8,
    ) {
        let id = self.id_from(IdKind::Direction, control.range, Self::foreign(control));
        let Some(state) = self.parts.get_mut(spot.part) else {
            return;
        };
        let several = state.part.staves > 1;
        self.score.taken += 1;
        state.part.directions.push(Direction {
            id,
            place: spot.place,
            staff: several.then_some(staff),
            voice: None,
            side: control.side,
            printed: printed && control.printed,
            kind,
        });
    }

    fn hint(&mut self, spot: Spot, name: &str, value: &str) {
        self.score.taken += 1;
        self.score.piece.sound_hints.push(SoundHint {
            place: spot.place,
            part: spot.part,
            attributes: vec![(name.to_owned(), value.to_owned())],
        });
    }

    fn let_ring(&mut self, spot: Spot, event: Option<usize>) {
        let Some(event) = event.and_then(|at| self.event_mut(spot.part, at)) else {
            return;
        };
        if let EventKind::Chord(heads) = &mut event.kind {
            match spot.head.and_then(|head| heads.get_mut(head)) {
                Some(head) => head.let_ring = true,
                None => heads.iter_mut().for_each(|head| head.let_ring = true),
            }
        }
    }

    /// A tie: both heads are tied; without an end that could be found only the start is.
    fn put_tie(
        &mut self,
        control: &Control<'a>,
        spot: Spot,
        end: Option<Spot>,
        (event, staff): (Option<usize>, u8),
        onsets: &Onsets,
    ) {
        let end_event = end.and_then(|end| {
            Some((
                end,
                self.event_of(end, Some(staff), control.layer.as_deref(), onsets)?,
            ))
        });
        if event.is_none() && end_event.is_none() {
            return self.unplaced(control, spot.part);
        }
        if let Some(at) = event {
            self.tie_heads(spot.part, at, spot.head, true);
        }
        if let Some((end, at)) = end_event {
            self.tie_heads(end.part, at, end.head, false);
        }
    }

    fn tie_heads(&mut self, part: usize, event: usize, head: Option<usize>, starts: bool) {
        let Some(event) = self.event_mut(part, event) else {
            return;
        };
        let EventKind::Chord(heads) = &mut event.kind else {
            return;
        };
        let one = |head: &mut notation::Head| {
            if starts {
                head.tie_start = true
            } else {
                head.tie_stop = true
            }
        };
        match head {
            Some(head) => heads.get_mut(head).into_iter().for_each(one),
            None => heads.iter_mut().for_each(one),
        }
    }

    /// Something from note to note.
    fn curve(
        &mut self,
        control: &Control<'a>,
        kind: &SpanKind,
        spot: Spot,
        end: Option<Spot>,
        staff: u8,
        onsets: &Onsets,
    ) {
        let layer = control.layer.as_deref();
        let anchor = |spot: Spot| {
            let event = self.event_of(spot, Some(staff), layer, onsets);
            event
                .and_then(|event| self.event_anchor(spot.part, event))
                .or(Some(Anchor {
                    place: spot.place,
                    element: None,
                }))
        };
        let (start, stop) = (anchor(spot), end.and_then(anchor));
        let of_staff = start
            .and_then(|_| {
                self.parts
                    .get(spot.part)?
                    .part
                    .events
                    .get(self.event_of(spot, Some(staff), layer, onsets)?)
            })
            .map(|event| event.staff);
        self.add_span(
            control,
            kind.clone(),
            spot.part,
            start,
            stop,
            of_staff.or(Some(staff)),
        );
    }

    /// Something from place to place.
    fn line_span(
        &mut self,
        control: &Control<'a>,
        kind: &SpanKind,
        spot: Spot,
        end: Option<Spot>,
        staff: u8,
    ) {
        let several = self
            .parts
            .get(spot.part)
            .is_some_and(|state| state.part.staves > 1);
        let start = Anchor {
            place: spot.place,
            element: None,
        };
        let stop = end.map(|end| {
            // An octave line covers the note at which it ends.
            let named = end
                .event
                .filter(|_| matches!(kind, SpanKind::Ottava { .. }) && end.part == spot.part);
            let element = named
                .and_then(|event| self.event_anchor(end.part, event))
                .and_then(|anchor| anchor.element);
            Anchor {
                place: end.place,
                element,
            }
        });
        self.add_span(
            control,
            kind.clone(),
            spot.part,
            Some(start),
            stop,
            several.then_some(staff),
        );
    }

    pub(super) fn add_span(
        &mut self,
        control: &Control<'a>,
        kind: SpanKind,
        part: usize,
        start: Option<Anchor>,
        end: Option<Anchor>,
        staff: Option<u8>,
    ) {
        if end.is_none() {
            self.open_end(&kind, part, start.or(end));
        }
        let id = self.id_from(IdKind::Span, control.range, Self::foreign(control));
        self.score.taken += 1;
        if let Some(state) = self.parts.get_mut(part) {
            state.part.spans.push(Span {
                id,
                kind,
                start,
                end,
                staff,
                side: control.side,
            });
        }
    }

    fn open_end(&mut self, kind: &SpanKind, part: usize, start: Option<Anchor>) {
        let (name, word) = words_of(kind);
        let place = start.map_or(Place::default(), |anchor| anchor.place);
        let here = Here {
            part: self.parts.get(part).map(|state| state.name.clone()),
            bar: Some((place.bar, self.score.piece.label(place.bar).to_owned())),
            offset: place.offset,
        };
        let what = format!("the {word} that starts here never ends");
        let mut finding = Finding::new(
            Severity::Caution,
            name,
            what,
            "look on the page where it starts and ends",
        );
        if let Some(element) = start.and_then(|anchor| anchor.element) {
            finding = finding.about(element);
        }
        self.score.report.push(here.put(finding));
    }

    /// One end of a slur written as an attribute.
    pub(super) fn half_slur(&mut self, part: usize, event: usize, starts: bool) {
        let Some(anchor) = self.event_anchor(part, event) else {
            return;
        };
        let what = if starts {
            "the slur that starts here never ends"
        } else {
            "a slur ends here that never started"
        };
        let here = Here {
            part: self.parts.get(part).map(|state| state.name.clone()),
            bar: Some((
                anchor.place.bar,
                self.score.piece.label(anchor.place.bar).to_owned(),
            )),
            offset: anchor.place.offset,
        };
        let finding = Finding::new(
            Severity::Caution,
            "unpaired-slur",
            what,
            "look on the page where it starts and ends",
        );
        self.score.report.push(here.put(finding));
        let id = self.score.piece.ids.give(IdKind::Span);
        if let Some(state) = self.parts.get_mut(part) {
            let (start, end) = if starts {
                (Some(anchor), None)
            } else {
                (None, Some(anchor))
            };
            state.part.spans.push(Span {
                id,
                kind: SpanKind::Slur,
                start,
                end,
                staff: None,
                side: None,
            });
        }
    }

    /// Slurs written as attributes whose end never came.
    pub(super) fn finish_slurs(&mut self) {
        for part in 0..self.parts.len() {
            let open = self
                .parts
                .get_mut(part)
                .map(|state| std::mem::take(&mut state.open_slurs))
                .unwrap_or_default();
            for (_, event) in open {
                self.half_slur(part, event as usize, true);
            }
        }
    }

    fn put_fermata(
        &mut self,
        control: &Control<'a>,
        fermata: &Fermata,
        spot: Spot,
        staff: u8,
        onsets: &Onsets,
    ) {
        let layer = control.layer.as_deref();
        if let Some(event) = self.event_of(spot, Some(staff), layer, onsets) {
            return self.fermata_at(spot.part, event, fermata.clone());
        }
        // Past the last note of the bar: over the bar line. Between two notes: the one that sounds.
        let place = spot.place;
        let reached = self
            .parts
            .get(spot.part)
            .and_then(|state| state.facts.get(place.bar.get()))
            .map(|facts| facts.content);
        if control.beat.is_some() && reached.is_none_or(|reached| place.offset >= reached) {
            let before = std::mem::replace(&mut self.bar, place.bar);
            if let Some(line) = self.line_of(spot.part, BarSide::Right, place.offset) {
                line.fermatas.push(fermata.clone());
            }
            self.bar = before;
            return;
        }
        let sounding = self.best(spot.part, onsets.before(spot.part, place), Some(staff), layer);
        match sounding {
            Some(event) => self.fermata_at(spot.part, event, fermata.clone()),
            None => self.unplaced(control, spot.part),
        }
    }

    fn arpeggio(&mut self, control: &Control<'a>, direction: &str, event: Option<usize>, part: usize) {
        let mut meant: Vec<(usize, usize)> = event.map(|event| (part, event)).into_iter().collect();
        meant.extend(
            control
                .listed
                .iter()
                .filter_map(|name| self.named(name))
                .filter_map(|spot| Some((spot.part, spot.event?))),
        );
        if meant.is_empty() {
            return self.unplaced(control, part);
        }
        for (part, event) in meant {
            if let Some(event) = self.event_mut(part, event) {
                event.arpeggio.get_or_insert_with(|| direction.to_owned());
            }
        }
    }

    fn pedal(
        &mut self,
        control: &Control<'a>,
        spot: Spot,
        end: Option<Spot>,
        staff: u8,
        (down, up): (bool, bool),
        open: &mut BTreeMap<usize, usize>,
    ) {
        let anchor = Anchor {
            place: spot.place,
            element: None,
        };
        if up {
            let closed = open.remove(&spot.part);
            let span = closed.and_then(|at| self.parts.get_mut(spot.part)?.part.spans.get_mut(at));
            match span {
                Some(span) => span.end = Some(anchor),
                None if !down => self.unplaced(control, spot.part),
                None => {}
            }
        }
        if !down {
            return;
        }
        let several = self
            .parts
            .get(spot.part)
            .is_some_and(|state| state.part.staves > 1);
        let id = self.id_from(IdKind::Span, control.range, Self::foreign(control));
        let Some(state) = self.parts.get_mut(spot.part) else {
            return;
        };
        state.part.spans.push(Span {
            id,
            kind: SpanKind::Pedal,
            start: Some(anchor),
            end: end.map(|end| Anchor {
                place: end.place,
                element: None,
            }),
            staff: several.then_some(staff),
            side: control.side,
        });
        if end.is_none() {
            open.insert(spot.part, state.part.spans.len() - 1);
        }
    }

    fn beam_span(&mut self, control: &Control<'a>, spot: Spot, end: Option<Spot>) {
        let part = spot.part;
        let listed: Vec<usize> = control
            .listed
            .iter()
            .filter_map(|name| self.named(name))
            .filter(|s| s.part == part)
            .filter_map(|s| s.event)
            .collect();
        let within = match (spot.event, end.and_then(|end| end.event)) {
            _ if listed.len() > 1 => listed,
            (Some(from), Some(to)) if to > from && to - from <= 500 => {
                let Some(state) = self.parts.get(part) else { return };
                let voice = state.part.events.get(from).map(|event| event.voice);
                (from..=to)
                    .filter(|at| state.part.events.get(*at).map(|event| event.voice) == voice)
                    .collect()
            }
            _ => return self.unplaced(control, part),
        };
        if let Some(state) = self.parts.get_mut(part) {
            super::beams::mark(&mut state.part.events, &within, &BTreeMap::new());
        }
    }

    /// Notes under octave lines are written where they are drawn: the octaves of the line are added, or those that the
    /// file states as sounding.
    fn octave_lines(&mut self, onsets: &Onsets) {
        for part in 0..self.parts.len() {
            let Some(state) = self.parts.get(part) else {
                continue;
            };
            let mut shifts: BTreeMap<usize, i8> = BTreeMap::new();
            let mut left = 4 * state.part.events.len() + 1_000;
            for span in &state.part.spans {
                let (SpanKind::Ottava { octaves }, Some(start)) = (&span.kind, span.start) else {
                    continue;
                };
                let last = Place {
                    bar: BarIndex(u32::MAX),
                    offset: notation::Quarters::ZERO,
                };
                let end = span.end.map_or(last, |end| end.place);
                let inclusive = span.end.is_some_and(|end| end.element.is_some());
                for at in onsets.between(part, start.place, end, inclusive) {
                    // Lines over the same notes again and again are no music.
                    if left == 0 {
                        break;
                    }
                    left -= 1;
                    let on_staff = state
                        .part
                        .events
                        .get(at)
                        .is_some_and(|event| span.staff.is_none_or(|staff| staff == event.staff));
                    if on_staff {
                        shifts.entry(at).or_insert(*octaves);
                    }
                }
            }
            if left == 0 {
                let what = "octave lines stand over the same notes again and again; not all were followed";
                let finding = Finding::new(
                    Severity::Caution,
                    "ottava-unclear",
                    what,
                    "look at the lines on the page",
                );
                let here = Here {
                    part: Some(state.name.clone()),
                    ..Here::default()
                };
                self.score.report.push(here.put(finding));
            }
            let Some(state) = self.parts.get_mut(part) else {
                continue;
            };
            for (at, shift) in shifts {
                let Some(event) = state.part.events.get_mut(at) else {
                    continue;
                };
                let EventKind::Chord(heads) = &mut event.kind else {
                    continue;
                };
                for (nth, head) in heads.iter_mut().enumerate() {
                    let key = (
                        u32::try_from(at).unwrap_or(u32::MAX),
                        u32::try_from(nth).unwrap_or(u32::MAX),
                    );
                    let sounding = state.sounding_octaves.remove(&key);
                    if let notation::HeadNote::Pitch(pitch) = &mut head.note {
                        pitch.octave = sounding.unwrap_or_else(|| pitch.octave.saturating_add(shift));
                    }
                }
            }
        }
    }
}

impl Kind {
    /// How it is called in messages.
    fn word(&self) -> &'static str {
        match self {
            Self::Tie => "a tie",
            Self::LetRing => "a tie into nothing",
            Self::Curve(kind) | Self::Line(kind) => match kind {
                SpanKind::Slur => "a slur",
                SpanKind::Crescendo { .. } | SpanKind::Diminuendo { .. } => "a hairpin",
                SpanKind::Ottava { .. } => "an ottava",
                _ => "a line",
            },
            Self::Directions { .. } => "a word or sign",
            Self::Fermata(_) => "a fermata",
            Self::Ornament { .. } => "an ornament",
            Self::Break(_) => "a breath mark",
            Self::Arpeggio(_) => "an arpeggio",
            Self::Pedal { .. } => "a pedal mark",
            Self::Technical { .. } => "a fingering",
            Self::Beam => "a beam",
            Self::Jump { .. } => "a repeat mark",
        }
    }
}

/// The kind of finding for a missing end, and the trade's word.
const fn words_of(kind: &SpanKind) -> (&'static str, &'static str) {
    match kind {
        SpanKind::Slur => ("unpaired-slur", "slur"),
        SpanKind::Crescendo { .. } | SpanKind::Diminuendo { .. } => ("unpaired-hairpin", "hairpin"),
        SpanKind::Ottava { .. } => ("unpaired-ottava", "ottava"),
        SpanKind::Pedal => ("unpaired-pedal", "pedal mark"),
        SpanKind::Dashes => ("unpaired-dashes", "dashed line"),
        SpanKind::Bracket => ("unpaired-bracket", "bracket"),
        SpanKind::TrillLine => ("unpaired-trill-line", "wavy line"),
        SpanKind::Glissando => ("unpaired-glissando", "glissando"),
        _ => ("unpaired-line", "line"),
    }
}
