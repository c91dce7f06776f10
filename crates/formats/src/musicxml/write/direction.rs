//! How are words and signs beside the notes written? Directions, ends of hairpins and lines, playback hints.

use super::marks::Mark;
use super::notations::{placement, side_at};
use super::part::PartWriter;
use super::values::{DYNAMICS, PRINCIPAL_VOICES, sound_allows};
use notation::{DirectionKind, Event, Id, Side, SoundHint, Span, SpanKind};

impl PartWriter<'_, '_> {
    pub(super) fn direction(&mut self, index: usize) {
        let Some(direction) = self.part.directions.get(index) else {
            return;
        };
        let can_hide = matches!(&direction.kind, DirectionKind::Metronome(_))
            || matches!(&direction.kind, DirectionKind::Sign { name, .. }
                if matches!(name.as_str(), "metronome" | "harmony" | "figured-bass" | "other-direction" | "instrument-change" | "staff-tuning"));
        if !direction.printed && !can_hide {
            self.lost_direction(index, "a sign that is not printed was written as if it were");
        }
        if let DirectionKind::Sign { name, text } = &direction.kind
            && self.beside(index, direction, name, text)
        {
            return;
        }
        self.open_direction(direction.side);
        let id = direction.id;
        match &direction.kind {
            DirectionKind::Words(text) => {
                let blank = |c: Option<char>| c.is_some_and(char::is_whitespace);
                let keep =
                    blank(text.chars().next()) || blank(text.chars().next_back()) || text.contains('\n');
                let space = keep.then_some("preserve");
                self.out
                    .tag("words")
                    .maybe("xml:space", space)
                    .attr("id", id)
                    .text(text);
            }
            DirectionKind::Dynamic(mark) => self.dynamics(mark, Some(id)),
            DirectionKind::Metronome(metronome) => self.metronome(metronome, direction),
            DirectionKind::Rehearsal(text) => self.out.tag("rehearsal").attr("id", id).text(text),
            DirectionKind::Segno => self.out.tag("segno").attr("id", id).empty(),
            DirectionKind::Coda => self.out.tag("coda").attr("id", id).empty(),
            DirectionKind::Sign { name, text } => self.direction_sign(index, direction, name, text),
        }
        self.close_direction(direction.voice.as_deref(), direction.staff);
    }

    fn open_direction(&mut self, side: Option<Side>) {
        self.out
            .tag("direction")
            .maybe("placement", placement(side))
            .open();
        self.out.open("direction-type");
    }

    fn close_direction(&mut self, voice: Option<&str>, staff: Option<u8>) {
        self.out.close("direction-type");
        if let Some(voice) = voice {
            self.out.leaf("voice", voice);
        }
        if let Some(staff) = staff {
            self.out.leaf("staff", staff);
        }
        self.out.close("direction");
    }

    /// A dynamic mark by its letters.
    pub(super) fn dynamics(&mut self, mark: &str, id: Option<Id>) {
        self.out.tag("dynamics").maybe("id", id).open();
        if DYNAMICS.contains(&mark) {
            self.out.empty(mark);
        } else {
            self.out.leaf("other-dynamics", mark);
        }
        self.out.close("dynamics");
    }

    /// One end of what reaches from place to place.
    pub(super) fn place_mark(&mut self, mark: Mark) {
        let Some(span) = self.part.spans.get(mark.span) else {
            return;
        };
        if span.kind == SpanKind::TrillLine {
            self.line_at_bar_line(span, mark);
            return;
        }
        self.open_direction(side_at(span, mark));
        self.place_mark_type(span, mark);
        self.close_direction(None, span.staff);
    }

    fn line_at_bar_line(&mut self, span: &Span, mark: Mark) {
        let location = if self.cursor.is_zero() { "left" } else { "middle" };
        self.out.tag("barline").attr("location", location).open();
        self.line(span, mark);
        self.out.close("barline");
    }

    fn place_mark_type(&mut self, span: &Span, mark: Mark) {
        let start = mark.start;
        match &span.kind {
            SpanKind::Crescendo { niente } | SpanKind::Diminuendo { niente } => {
                let opens = matches!(span.kind, SpanKind::Crescendo { .. });
                let kind = match (start, opens) {
                    (false, _) => "stop",
                    (true, true) => "crescendo",
                    (true, false) => "diminuendo",
                };
                // The circle stands where the hairpin is closed; one without that end has it at the other.
                let closed = start == opens || span.end.is_none() || span.start.is_none();
                self.typed("wedge", kind, span, mark)
                    .yes("niente", *niente && closed)
                    .empty();
            }
            SpanKind::Ottava { octaves } => {
                let kind = match (start, *octaves > 0) {
                    (false, _) => "stop",
                    (true, true) => "down",
                    (true, false) => "up",
                };
                let size = match octaves.unsigned_abs() {
                    1 => 8,
                    2 => 15,
                    3 => 22,
                    _ => {
                        if start && let Some(anchor) = span.start {
                            let what = format!("an ottava over {octaves} octaves; it was written as one");
                            self.losses.lost(self.of, anchor.place, Some(span.id), what);
                        }
                        8
                    }
                };
                self.typed("octave-shift", kind, span, mark)
                    .attr("size", size)
                    .empty();
            }
            SpanKind::Pedal => self.end("pedal", span, mark).empty(),
            SpanKind::Dashes => self.end("dashes", span, mark).empty(),
            SpanKind::Bracket => {
                let hook = if span.side == Some(Side::Below) {
                    "up"
                } else {
                    "down"
                };
                self.end("bracket", span, mark).attr("line-end", hook).empty();
            }
            SpanKind::Other(_) => self.principal_voice(span, start),
            _ => {}
        }
    }

    fn typed<'t>(
        &'t mut self,
        name: &'t str,
        kind: &str,
        span: &Span,
        mark: Mark,
    ) -> super::out::Tag<'t, 't> {
        self.out
            .tag(name)
            .attr("type", kind)
            .attr("number", mark.number)
            .maybe("id", mark.start.then_some(span.id))
    }

    fn principal_voice(&mut self, span: &Span, start: bool) {
        let tag = self
            .out
            .tag("principal-voice")
            .attr("type", if start { "start" } else { "stop" });
        let text = self.principal.get(&span.id).map(String::as_str);
        match text.filter(|_| start) {
            Some(text) if PRINCIPAL_VOICES.contains(&text) => {
                tag.attr("symbol", text).attr("id", span.id).empty()
            }
            Some(text) => tag.attr("symbol", "none").attr("id", span.id).text(text),
            None => tag.attr("symbol", "none").empty(),
        }
    }

    /// What stands at a note rather than in a direction.
    pub(super) fn other_notations(&mut self, event: &Event) {
        let Some(indices) = self.at_notes.get(&event.id) else {
            return;
        };
        for direction in indices
            .iter()
            .filter_map(|index| self.part.directions.get(*index))
        {
            if let DirectionKind::Sign { text, .. } = &direction.kind {
                self.out
                    .tag("other-notation")
                    .attr("type", "single")
                    .maybe("placement", placement(direction.side))
                    .attr("id", direction.id)
                    .text(text);
            }
        }
    }

    pub(super) fn sound(&mut self, hint: &SoundHint) {
        let mut allowed: Vec<(&str, &str)> = Vec::with_capacity(hint.attributes.len());
        let mut swing = None;
        for (name, value) in &hint.attributes {
            match sound_allows(name, value) {
                Some(true) if allowed.iter().all(|(known, _)| known != name) => allowed.push((name, value)),
                None if name == "swing" => swing = Some(value.as_str()),
                _ => {
                    let what = format!("the playback hint {name}=“{value}”");
                    self.losses.lost(self.of, hint.place, None, what);
                }
            }
        }
        let swing = swing.map(|text| (text, Swing::parse(text)));
        if let Some((text, None)) = &swing {
            self.losses.lost(
                self.of,
                hint.place,
                None,
                format!("the playback hint swing=“{text}”"),
            );
        }
        let swing = swing.and_then(|(_, swing)| swing);
        if allowed.is_empty() && swing.is_none() {
            return;
        }
        let tag = allowed
            .iter()
            .fold(self.out.tag("sound"), |tag, (name, value)| tag.attr(name, value));
        let Some(swing) = swing else {
            tag.empty();
            return;
        };
        tag.open();
        self.out.open("swing");
        match swing {
            Swing::Straight => self.out.empty("straight"),
            Swing::Ratio {
                first,
                second,
                value,
                style,
            } => {
                self.out.leaf("first", first);
                self.out.leaf("second", second);
                self.out.leaf("swing-type", value);
                if !style.is_empty() {
                    self.out.leaf("swing-style", style);
                }
            }
        }
        self.out.close("swing");
        self.out.close("sound");
    }
}

/// How eighths swing.
enum Swing<'t> {
    Straight,
    Ratio {
        first: u32,
        second: u32,
        value: &'t str,
        style: &'t str,
    },
}

impl<'t> Swing<'t> {
    /// `straight`, or `2:1 eighth`, with a style's name after it.
    fn parse(text: &'t str) -> Option<Self> {
        if text == "straight" {
            return Some(Self::Straight);
        }
        let (ratio, rest) = text.split_once(' ')?;
        let (first, second) = ratio.split_once(':')?;
        let (value, style) = rest.split_once(' ').unwrap_or((rest, ""));
        let number = |text: &str| text.parse().ok().filter(|n: &u32| *n > 0);
        matches!(value, "eighth" | "16th").then_some(Self::Ratio {
            first: number(first)?,
            second: number(second)?,
            value,
            style,
        })
    }
}
