//! Which signs are written at a note? Ties, brackets, slurs, articulation, ornaments with their accidentals, fermatas.

use super::marks::Mark;
use super::part::PartWriter;
use super::values::{ACCIDENTALS, BREATH_MARKS, CAESURAS, FERMATAS};
use notation::{
    Articulation, ArticulationKind, Event, Fermata, Head, Ornament, OrnamentKind, Side, Span, SpanKind,
};

/// The word for a side.
pub(super) const fn placement(side: Option<Side>) -> Option<&'static str> {
    match side {
        Some(Side::Above) => Some("above"),
        Some(Side::Below) => Some("below"),
        None => None,
    }
}

/// The side of a span, at its start, or at its end where it has no other.
pub(super) fn side_at(span: &Span, mark: Mark) -> Option<Side> {
    span.side.filter(|_| mark.start || span.start.is_none())
}

impl PartWriter<'_, '_> {
    /// The notations of one head (of a rest for none).
    pub(super) fn notations(&mut self, event: &Event, nth: Option<usize>) {
        let head = nth.and_then(|nth| event.heads().get(nth));
        let first = nth.is_none_or(|nth| nth == 0);
        let mut marks: Vec<Mark> = if first {
            self.marks.at(event.id).to_vec()
        } else {
            Vec::new()
        };
        if let Some(head) = head {
            marks.extend_from_slice(self.marks.at(head.id));
        }
        self.outermost_first(event, &mut marks);
        let at = self.out.position();
        self.out.open("notations");
        let empty = self.out.position();
        if let Some(head) = head {
            self.ties("tied", head);
            if head.let_ring {
                self.out.tag("tied").attr("type", "let-ring").empty();
            }
        }
        marks.iter().for_each(|mark| self.mark(event, *mark));
        if first {
            self.articulations(event);
            self.ornaments(event, &marks);
        }
        self.technical_marks(event, head, first, &marks);
        self.arpeggio(event, nth);
        if first {
            event
                .fermatas
                .iter()
                .for_each(|fermata| self.fermata(event.place, fermata));
            for dynamic in &event.dynamics {
                self.dynamics(dynamic, None);
            }
            self.other_notations(event);
        }
        if self.out.position() == empty {
            self.out.back_to(at);
        } else {
            self.out.close("notations");
        }
    }

    /// Tuplets that start together are told in the order of the note's own chain.
    fn outermost_first(&self, event: &Event, marks: &mut [Mark]) {
        let Some(written) = event.written.as_ref().filter(|written| written.tuplets.len() > 1) else {
            return;
        };
        let level = |mark: &Mark| match self.part.spans.get(mark.span).map(|span| &span.kind) {
            Some(SpanKind::Tuplet { actual, normal, .. }) if mark.start => written
                .tuplets
                .iter()
                .position(|ratio| (ratio.actual, ratio.normal) == (*actual, *normal)),
            _ => None,
        };
        marks.sort_by_key(level);
    }

    /// One end of a curve, line or bracket; what stands in ornaments and technical marks is written there.
    fn mark(&mut self, event: &Event, mark: Mark) {
        let Some(span) = self.part.spans.get(mark.span) else {
            return;
        };
        match &span.kind {
            SpanKind::Slur => {
                let side = placement(side_at(span, mark));
                self.end("slur", span, mark).maybe("placement", side).empty();
            }
            SpanKind::Glissando | SpanKind::Slide => {
                let name = if span.kind == SpanKind::Slide {
                    "slide"
                } else {
                    "glissando"
                };
                self.end(name, span, mark).empty();
                if span.side.is_some() && mark.start {
                    self.lost(event, "on which side a glissando or slide is drawn");
                }
            }
            SpanKind::Tuplet {
                actual,
                normal,
                bracket,
            } => self.tuplet(span, mark, (*actual, *normal), *bracket),
            _ => {}
        }
    }

    /// A tag with type, number, and at its start the span's id.
    pub(super) fn end<'t>(&'t mut self, name: &'t str, span: &Span, mark: Mark) -> super::out::Tag<'t, 't> {
        self.out
            .tag(name)
            .attr("type", if mark.start { "start" } else { "stop" })
            .attr("number", mark.number)
            .maybe("id", mark.start.then_some(span.id))
    }

    fn tuplet(&mut self, span: &Span, mark: Mark, (actual, normal): (u16, u16), bracket: bool) {
        if !mark.start {
            self.end("tuplet", span, mark).empty();
            return;
        }
        let side = placement(span.side);
        self.end("tuplet", span, mark)
            .maybe("bracket", (!bracket).then_some("no"))
            .maybe("placement", side)
            .open();
        for (name, number) in [("tuplet-actual", actual), ("tuplet-normal", normal)] {
            self.out.open(name);
            self.out.leaf("tuplet-number", number);
            self.out.close(name);
        }
        self.out.close("tuplet");
    }

    fn articulations(&mut self, event: &Event) {
        if event.articulations.is_empty() {
            return;
        }
        self.out.open("articulations");
        for articulation in &event.articulations {
            self.articulation(event, articulation);
        }
        self.out.close("articulations");
    }

    fn articulation(&mut self, event: &Event, articulation: &Articulation) {
        let (name, text) = match &articulation.kind {
            ArticulationKind::Accent => ("accent", None),
            ArticulationKind::Marcato => ("strong-accent", None),
            ArticulationKind::Staccato => ("staccato", None),
            ArticulationKind::Staccatissimo => ("staccatissimo", None),
            ArticulationKind::Spiccato => ("spiccato", None),
            ArticulationKind::Tenuto => ("tenuto", None),
            ArticulationKind::Portato => ("detached-legato", None),
            ArticulationKind::Scoop => ("scoop", None),
            ArticulationKind::Plop => ("plop", None),
            ArticulationKind::Doit => ("doit", None),
            ArticulationKind::Falloff => ("falloff", None),
            ArticulationKind::BreathMark(sign) => ("breath-mark", Some((sign, BREATH_MARKS))),
            ArticulationKind::Caesura(sign) => ("caesura", Some((sign, CAESURAS))),
            ArticulationKind::Stress => ("stress", None),
            ArticulationKind::Unstress => ("unstress", None),
            ArticulationKind::SoftAccent => ("soft-accent", None),
            ArticulationKind::Other(text) => ("other-articulation", Some((text, [].as_slice()))),
        };
        let tag = self
            .out
            .tag(name)
            .maybe("placement", placement(articulation.side));
        match text {
            None => tag.empty(),
            Some((text, allowed)) if allowed.is_empty() || allowed.contains(&text.as_str()) => tag.text(text),
            Some((text, _)) => {
                tag.empty();
                self.lost(
                    event,
                    format!("the shape “{text}” of a {name} has no name in MusicXML"),
                );
            }
        }
    }

    fn ornaments(&mut self, event: &Event, marks: &[Mark]) {
        let mut lines: Vec<(Mark, &Span)> = marks
            .iter()
            .filter_map(|mark| Some((*mark, self.part.spans.get(mark.span)?)))
            .filter(|(_, span)| matches!(span.kind, SpanKind::TrillLine | SpanKind::TremoloPair { .. }))
            .collect();
        let mut open = false;
        for ornament in &event.ornaments {
            // An accidental without an ornament stands beside the ornaments.
            if ornament.kind == OrnamentKind::Other("accidental-mark".to_owned()) {
                if std::mem::take(&mut open) {
                    self.out.close("ornaments");
                }
                self.lone_accidentals(event, ornament);
                continue;
            }
            if !std::mem::replace(&mut open, true) {
                self.out.open("ornaments");
            }
            self.ornament(event, ornament, &mut lines);
            for (sign, side) in &ornament.accidentals {
                self.accidental_mark(event, sign, Some(*side));
            }
        }
        for (mark, span) in lines {
            if !std::mem::replace(&mut open, true) {
                self.out.open("ornaments");
            }
            self.line(span, mark);
        }
        if open {
            self.out.close("ornaments");
        }
    }

    /// An end of a wavy line or of a tremolo between two notes.
    pub(super) fn line(&mut self, span: &Span, mark: Mark) {
        let side = placement(side_at(span, mark));
        if let SpanKind::TremoloPair { strokes } = span.kind {
            let kind = if mark.start { "start" } else { "stop" };
            self.out
                .tag("tremolo")
                .attr("type", kind)
                .maybe("placement", side)
                .text(strokes.min(8));
        } else {
            let kind = if mark.start { "start" } else { "stop" };
            self.out
                .tag("wavy-line")
                .attr("type", kind)
                .attr("number", mark.number)
                .maybe("placement", side)
                .empty();
        }
    }

    fn ornament(&mut self, event: &Event, ornament: &Ornament, lines: &mut Vec<(Mark, &Span)>) {
        let side = placement(ornament.side);
        let mut starts = |tremolo: bool| {
            let at = lines.iter().position(|(mark, span)| {
                mark.start && matches!(span.kind, SpanKind::TremoloPair { .. }) == tremolo
            });
            at.map(|at| lines.remove(at))
        };
        let (name, long) = match &ornament.kind {
            OrnamentKind::Trill => ("trill-mark", false),
            OrnamentKind::Turn => ("turn", false),
            OrnamentKind::DelayedTurn => ("delayed-turn", false),
            OrnamentKind::InvertedTurn => ("inverted-turn", false),
            OrnamentKind::DelayedInvertedTurn => ("delayed-inverted-turn", false),
            OrnamentKind::VerticalTurn => ("vertical-turn", false),
            OrnamentKind::InvertedVerticalTurn => ("inverted-vertical-turn", false),
            OrnamentKind::Shake => ("shake", false),
            OrnamentKind::Mordent { long } => ("mordent", *long),
            OrnamentKind::InvertedMordent { long } => ("inverted-mordent", *long),
            OrnamentKind::Schleifer => ("schleifer", false),
            OrnamentKind::Haydn => ("haydn", false),
            OrnamentKind::WavyLine => {
                if let Some((mark, span)) = starts(false) {
                    self.line(span, mark);
                } else {
                    // A line over this note alone.
                    for kind in ["start", "stop"] {
                        let tag = self.out.tag("wavy-line").attr("type", kind).attr("number", 16);
                        tag.maybe("placement", side).empty();
                    }
                }
                return;
            }
            OrnamentKind::Tremolo { strokes, between } => {
                let kind = match (between, strokes) {
                    (true, _) => "start",
                    (false, 0) => "unmeasured",
                    (false, _) => "single",
                };
                if *between && starts(true).is_none() {
                    self.lost(event, "a tremolo between two notes has no second note");
                }
                if *strokes > 8 {
                    self.lost(
                        event,
                        format!("a tremolo of {strokes} strokes; eight were written"),
                    );
                }
                let tag = self
                    .out
                    .tag("tremolo")
                    .attr("type", kind)
                    .maybe("placement", side);
                tag.text(strokes.min(&8));
                return;
            }
            OrnamentKind::Other(text) => {
                self.out.tag("other-ornament").maybe("placement", side).text(text);
                return;
            }
        };
        self.out
            .tag(name)
            .yes("long", long)
            .maybe("placement", side)
            .empty();
    }

    fn lone_accidentals(&mut self, event: &Event, ornament: &Ornament) {
        for (sign, side) in &ornament.accidentals {
            self.accidental_mark(event, sign, ornament.side.and(Some(*side)));
        }
        if ornament.accidentals.len() != 1 {
            self.losses.told_otherwise(
                self.of,
                event.place,
                Some(event.id),
                "accidentals over a note that belong to no ornament are written one by one",
            );
        }
    }

    fn accidental_mark(&mut self, event: &Event, sign: &str, side: Option<Side>) {
        let known = ACCIDENTALS.contains(&sign);
        self.out
            .tag("accidental-mark")
            .maybe("placement", placement(side))
            .text(if known { sign } else { "other" });
        if !known {
            self.lost(event, format!("the accidental “{sign}” has no name in MusicXML"));
        }
    }

    fn arpeggio(&mut self, event: &Event, nth: Option<usize>) {
        let (Some(direction), Some(nth)) = (event.arpeggio.as_deref(), nth) else {
            return;
        };
        match direction {
            "not" => {
                let last = event.heads().len().saturating_sub(1);
                let kind = match nth {
                    0 => Some("bottom"),
                    nth if nth == last => Some("top"),
                    _ => None,
                };
                if let Some(kind) = kind {
                    self.out.tag("non-arpeggiate").attr("type", kind).empty();
                }
            }
            "" => self.out.empty("arpeggiate"),
            "up" | "down" => self.out.tag("arpeggiate").attr("direction", direction).empty(),
            other => {
                self.out.empty("arpeggiate");
                if nth == 0 {
                    self.lost(event, format!("the direction “{other}” of an arpeggio"));
                }
            }
        }
    }

    pub(super) fn fermata(&mut self, place: notation::Place, fermata: &Fermata) {
        let known = FERMATAS.contains(&fermata.shape.as_str());
        let kind = if fermata.inverted { "inverted" } else { "upright" };
        self.out
            .tag("fermata")
            .attr("type", kind)
            .text(if known { fermata.shape.as_str() } else { "" });
        if !known {
            let what = format!(
                "the shape “{}” of a fermata has no name in MusicXML",
                fermata.shape
            );
            self.losses.lost(self.of, place, None, what);
        }
    }

    /// Heads and rests have technical marks; spans of hammering on and pulling off are written among them.
    fn technical_marks(&mut self, event: &Event, head: Option<&Head>, first: bool, marks: &[Mark]) {
        let of_event = if first { event.technical.as_slice() } else { &[] };
        let of_head = head.map_or(&[][..], |head| head.technical.as_slice());
        let hammered: Vec<(Mark, &Span, &str)> = marks
            .iter()
            .filter_map(|mark| {
                let span = self.part.spans.get(mark.span)?;
                match &span.kind {
                    SpanKind::Other(name) if name != "principal-voice" => Some((*mark, span, name.as_str())),
                    _ => None,
                }
            })
            .collect();
        if of_event.is_empty() && of_head.is_empty() && hammered.is_empty() {
            return;
        }
        self.out.open("technical");
        of_event
            .iter()
            .chain(of_head)
            .for_each(|technical| self.technical(event, technical));
        for (mark, span, name) in hammered {
            let side = placement(side_at(span, mark));
            self.out
                .tag(name)
                .attr("type", if mark.start { "start" } else { "stop" })
                .attr("number", mark.number)
                .maybe("placement", side)
                .text(if name == "hammer-on" { "H" } else { "P" });
        }
        self.out.close("technical");
    }
}
