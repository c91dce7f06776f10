//! How are words and signs beside the notes written? By their time on a staff; what is not printed becomes an annotation.

use super::note::place;
use super::xml::{Node, is_token};
use super::{Writer, names, time};
use notation::{Direction, DirectionKind, Metronome, MetronomeValue, SoundHint};

impl Writer<'_> {
    /// A direction in its bar.
    pub(super) fn direction(&mut self, part: usize, direction: &Direction) -> Node {
        let mut node = if direction.printed {
            self.printed(part, direction)
        } else {
            unprinted(&direction.kind)
        };
        node = node.id(direction.id);
        if let Some(plan) = self.parts.get(part) {
            node.set("tstamp", time::tstamp(plan.part, direction.place));
        }
        self.staff_of(part, direction.staff, &mut node);
        if let Some(plan) = self.parts.get(part)
            && let Some(voice) = direction.voice.as_ref().and_then(|voice| plan.voices.get(voice))
        {
            if node.is("reh") {
                node.tag(format!("voice.{voice}"));
            } else {
                node.set("layer", voice);
            }
        }
        if let Some(side) = direction.side {
            node.set("place", place(side));
        }
        node
    }

    fn printed(&mut self, part: usize, direction: &Direction) -> Node {
        match &direction.kind {
            DirectionKind::Words(text) => Node::new("dir").lines(text),
            DirectionKind::Dynamic(letters) => Node::new("dynam").lines(letters),
            DirectionKind::Metronome(mark) => self.metronome(part, direction, mark),
            DirectionKind::Rehearsal(text) => Node::new("reh").lines(text),
            DirectionKind::Segno => Node::new("repeatMark").attr("func", "segno"),
            DirectionKind::Coda => Node::new("repeatMark").attr("func", "coda"),
            DirectionKind::Sign { name, text } => match name.as_str() {
                "harmony" => Node::new("harm").lines(text),
                "figured-bass" => Node::new("harm").tagged("figured-bass").lines(text),
                _ => sign(Node::new("dir"), name).lines(text),
            },
        }
    }

    fn metronome(&mut self, part: usize, direction: &Direction, mark: &Metronome) -> Node {
        let mut node = Node::new("tempo");
        match names::duration(mark.beat) {
            Some(unit) => node.set("mm.unit", unit),
            None => self.lost(part, direction.place, "a metronome mark counts in maximas"),
        }
        if mark.dots > 0 {
            node.set("mm.dots", mark.dots.min(4));
        }
        if let Some(number) = names::plain_number(&mark.value) {
            node.set("mm", number);
        }
        if mark.parentheses {
            node.push_text("(");
        }
        glyphs(&mut node, mark.beat, mark.dots);
        node.push_text(" = ");
        match &mark.value {
            MetronomeValue::PerMinute(text) => node.push_text(text),
            MetronomeValue::Equals(value, dots) => {
                node.tag(format!("equals.{}.{dots}", value.name()));
                glyphs(&mut node, *value, *dots);
            }
        }
        if mark.parentheses {
            node.push_text(")");
            node.tag("parentheses");
        }
        node
    }

    /// What the source says about playback, which MEI has no single place for, as an annotation.
    pub(super) fn sound_hint(&self, part: usize, nth: usize, hint: &SoundHint) -> Option<Node> {
        let plan = self.parts.get(part)?;
        let said: Vec<String> = hint
            .attributes
            .iter()
            .map(|(name, value)| format!("{}={}", plain(name), plain(value)))
            .collect();
        Some(
            Node::new("annot")
                .id(format!("{}-sound{}", plan.part.id, nth + 1))
                .tagged("sound-hint")
                .attr("tstamp", time::tstamp(plan.part, hint.place))
                .attr("staff", plan.first_staff)
                .lines(&said.join("|")),
        )
    }
}

/// The glyphs of a note value in text.
fn glyphs(node: &mut Node, value: notation::NoteValue, dots: u8) {
    match names::metronome_glyphs(value, dots) {
        Some(text) => node.push(Node::new("rend").attr("fontfam", "smufl").lines(&text)),
        None => node.push_text(value.name()),
    }
}

/// A sign by the standard's name.
fn sign(node: Node, name: &str) -> Node {
    if is_token(name) {
        node.tagged("sign").tagged(name)
    } else {
        node.tagged("sign").attr("label", name)
    }
}

fn unprinted(kind: &DirectionKind) -> Node {
    let node = Node::new("annot").tagged("unprinted");
    match kind {
        DirectionKind::Words(text) => node.tagged("words").lines(text),
        DirectionKind::Dynamic(letters) => node.tagged("dynamic").lines(letters),
        DirectionKind::Metronome(mark) => {
            let (beat, dots) = (mark.beat.name(), mark.dots);
            let value = match &mark.value {
                MetronomeValue::PerMinute(text) => format!("|{}", plain(text)),
                MetronomeValue::Equals(value, dots) => format!("|{}|{dots}", value.name()),
            };
            let node = if mark.parentheses {
                node.tagged("parentheses")
            } else {
                node
            };
            node.tagged("metronome").lines(&format!("{beat}|{dots}{value}"))
        }
        DirectionKind::Rehearsal(text) => node.tagged("rehearsal").lines(text),
        DirectionKind::Segno => node.tagged("segno"),
        DirectionKind::Coda => node.tagged("coda"),
        DirectionKind::Sign { name, text } => sign(node, name).lines(text),
    }
}

/// Text in a list: the signs that divide the list, and the sign that says so, as their numbers.
fn plain(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        if matches!(c, '%' | '|' | '=' | '\n' | '\r' | '\t') {
            out.push_str(&format!("%{:02X}", u32::from(c)));
        } else {
            out.push(c);
        }
    }
    out
}
