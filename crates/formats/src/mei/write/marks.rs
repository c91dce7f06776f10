//! What stands at a note and is an element of its own in MEI? Ornaments, fermatas, arpeggios, fingerings, breaths, ties.

use super::note::place;
use super::xml::{Node, is_token};
use super::{Writer, engraving, names};
use notation::{ArticulationKind, Event, Fermata, Head, Id, Ornament, OrnamentKind, Side, Span, Technical};

/// Strokes through the stem; 0 for a tremolo that is not counted.
pub(super) fn tremolo(event: &Event) -> Option<u8> {
    event.ornaments.iter().find_map(|ornament| match ornament.kind {
        OrnamentKind::Tremolo {
            strokes,
            between: false,
        } => Some(strokes),
        _ => None,
    })
}

/// Strokes of a tremolo between this note and the next.
pub(super) fn tremolo_between(event: &Event) -> Option<u8> {
    event.ornaments.iter().find_map(|ornament| match ornament.kind {
        OrnamentKind::Tremolo {
            strokes,
            between: true,
        } => Some(strokes),
        _ => None,
    })
}

/// The place of a tremolo among the ornaments of its note, and its side, as words.
pub(super) fn tremolo_words(event: &Event, between: bool, node: &mut Node) {
    let of = |ornament: &Ornament| matches!(ornament.kind, OrnamentKind::Tremolo { between: b, .. } if b == between);
    let Some(at) = event.ornaments.iter().position(of) else {
        return;
    };
    if at > 0 {
        node.tag(format!("order.{}", at + 1));
    }
    if let Some(side) = event.ornaments.get(at).and_then(|ornament| ornament.side) {
        node.tag(format!("side.{}", place(side)));
    }
}

impl<'p> Writer<'p> {
    /// All that stands at an event.
    pub(super) fn event_marks(&mut self, part: usize, event: &'p Event, out: &mut Vec<Node>) {
        let at = format!("#{}", event.id);
        for head in event.heads() {
            self.ties(part, head, out);
        }
        let mut strokes = 0;
        for (nth, ornament) in event.ornaments.iter().enumerate() {
            if matches!(ornament.kind, OrnamentKind::Tremolo { between: false, .. }) && event.is_note() {
                strokes += 1;
                if strokes == 1 {
                    continue;
                }
            }
            if matches!(ornament.kind, OrnamentKind::Tremolo { between: true, .. })
                && self.used.contains(&event.id)
            {
                continue;
            }
            let id = format!("{}-ornament{}", event.id, nth + 1);
            let node = self.ornament(part, event, ornament, id);
            out.push(node);
        }
        for (nth, fermata) in event.fermatas.iter().enumerate() {
            let id = format!("{}-fermata{}", event.id, nth + 1);
            out.push(fermata_node(fermata).id(id).attr("startid", &at));
        }
        if let Some(arpeggio) = &event.arpeggio {
            let mut node = Node::new("arpeg")
                .id(format!("{}-arpeg", event.id))
                .attr("startid", &at);
            match arpeggio.as_str() {
                "up" | "down" => {
                    node.set("order", arpeggio);
                    node.set("arrow", "true");
                }
                "not" => node.set("order", "nonarp"),
                "" => {}
                other => self.lost(part, event.place, format!("an arpeggio says “{other}”")),
            }
            out.push(node);
        }
        for (nth, mark) in event.dynamics.iter().enumerate() {
            let id = format!("{}-dynam{}", event.id, nth + 1);
            out.push(
                Node::new("dynam")
                    .id(id)
                    .attr("startid", &at)
                    .tagged("at-note")
                    .lines(mark),
            );
        }
        self.breaths(part, event, &at, out);
        if !event.is_note() {
            self.on_rest(part, event, &at, out);
        }
        for (nth, mark) in event.technical.iter().enumerate() {
            let id = format!("{}-technical{}", event.id, nth + 1);
            if names::technical(&mark.name).is_none() || !event.is_note() {
                let of_event = super::note::is_of_head(&mark.name) && event.is_note();
                let node = technical(id, &at, mark, of_event.then_some("of-event"));
                out.push(self.fit_technical(node, mark));
            }
        }
        for head in event.heads() {
            for (nth, mark) in head.technical.iter().enumerate() {
                let id = format!("{}-technical{}", head.id, nth + 1);
                if names::technical(&mark.name).is_none()
                    && let Some(at) = self.pointer(head.id)
                {
                    let of_head = !super::note::is_of_head(&mark.name);
                    let node = technical(id, &at, mark, of_head.then_some("of-head"));
                    out.push(self.fit_technical(node, mark));
                }
            }
        }
    }

    fn fit_technical(&self, node: Node, mark: &Technical) -> Node {
        if self.options.engraving.is_some() {
            engraving::technical(node, mark)
        } else {
            node
        }
    }

    /// What only a note can have in MEI.
    fn on_rest(&mut self, part: usize, event: &Event, at: &str, out: &mut Vec<Node>) {
        let annotation = |id: String, word: &str| Node::new("annot").id(id).tagged(word).attr("startid", at);
        for (nth, mark) in event.articulations.iter().enumerate() {
            if let Some(name) = names::articulation(&mark.kind) {
                let id = format!("{}-artic{}", event.id, nth + 1);
                out.push(
                    annotation(id, "rest-artic")
                        .attr("label", name)
                        .maybe("place", mark.side.map(place)),
                );
            }
        }
        for (nth, lyric) in event.lyrics.iter().enumerate() {
            let mut node =
                annotation(format!("{}-verse{}", event.id, nth + 1), "rest-verse").attr("label", &lyric.line);
            if lyric.extend {
                node.tag("extend");
            }
            node.tag(format!("syllabic.{}", lyric.syllabic));
            out.push(node.lines(&lyric.text));
        }
        let alone = event
            .articulations
            .iter()
            .any(|mark| names::articulation(&mark.kind).is_some());
        if alone || !event.lyrics.is_empty() {
            self.lost(part, event.place, "a rest has an articulation or a syllable, which only a note can have in MEI; it is not drawn");
        }
    }

    fn ties(&self, part: usize, head: &Head, out: &mut Vec<Node>) {
        let Some(plan) = self.parts.get(part) else { return };
        if let Some(to) = plan.ties.to.get(&head.id).filter(|_| head.tie_start) {
            out.push(
                Node::new("tie")
                    .id(format!("{}-tie", head.id))
                    .maybe("startid", self.pointer(head.id))
                    .maybe("endid", self.pointer(*to)),
            );
        }
        if head.let_ring {
            out.push(
                Node::new("lv")
                    .id(format!("{}-lv", head.id))
                    .maybe("startid", self.pointer(head.id)),
            );
        }
    }

    fn breaths(&self, part: usize, event: &Event, at: &str, out: &mut Vec<Node>) {
        for (nth, mark) in event.articulations.iter().enumerate() {
            let id = format!("{}-artic{}", event.id, nth + 1);
            let (mut node, shape) = match &mark.kind {
                ArticulationKind::BreathMark(shape) => (Node::new("breath"), shape),
                ArticulationKind::Caesura(shape) => (Node::new("caesura"), shape),
                ArticulationKind::Other(name) => (
                    Node::new("dir").tagged("articulation").lines(name),
                    &String::new(),
                ),
                _ => continue,
            };
            if is_token(shape) {
                node.tag(format!("shape.{shape}"));
            } else if !shape.is_empty() {
                node.set("label", shape);
            }
            node = node
                .id(id)
                .attr("startid", at)
                .maybe("place", mark.side.map(place));
            if self.options.engraving.is_some() && mark.kind.is_break() {
                self.engraved_breath(part, event, &mut node);
            }
            out.push(node);
        }
    }

    fn ornament(&mut self, part: usize, event: &'p Event, ornament: &Ornament, id: String) -> Node {
        let mut node = match &ornament.kind {
            OrnamentKind::Trill => Node::new("trill"),
            OrnamentKind::Mordent { long } => mordent("lower", *long),
            OrnamentKind::InvertedMordent { long } => mordent("upper", *long),
            OrnamentKind::Turn => turn("upper", false),
            OrnamentKind::InvertedTurn => turn("lower", false),
            OrnamentKind::DelayedTurn => turn("upper", true),
            OrnamentKind::DelayedInvertedTurn => turn("lower", true),
            OrnamentKind::VerticalTurn => turn("upper", false).tagged("vertical"),
            OrnamentKind::InvertedVerticalTurn => turn("lower", false).tagged("vertical"),
            OrnamentKind::Shake => sign("shake", "ornamentShake3", '\u{e582}'),
            OrnamentKind::Schleifer => sign("schleifer", "ornamentSchleifer", '\u{e587}'),
            OrnamentKind::Haydn => sign("haydn", "ornamentHaydn", '\u{e56f}'),
            OrnamentKind::WavyLine => Node::new("ornam").tagged("wavy-line"),
            OrnamentKind::Tremolo { strokes, between } => {
                self.lost(
                    part,
                    event.place,
                    "a tremolo stands where MEI has no room for it; it is kept as a word",
                );
                let kind = if *between { "tremolo-between" } else { "tremolo" };
                Node::new("ornam")
                    .tagged(kind)
                    .tagged(format!("strokes.{strokes}"))
            }
            OrnamentKind::Other(name) => Node::new("ornam").tagged("other").attr("label", name),
        };
        let id_place = event
            .ornaments
            .iter()
            .position(|one| std::ptr::eq(one, ornament))
            .map(|at| at + 1);
        node = node
            .id(id)
            .attr("startid", format!("#{}", event.id))
            .maybe("place", ornament.side.map(place));
        if ornament.kind == OrnamentKind::Trill
            && let Some(line) = self.trill_line(part, event.id)
        {
            if let Some(place) = id_place.filter(|place| *place > 1) {
                node.tag(format!("order.{place}"));
            }
            self.trill_with_line(part, ornament, line, &mut node);
        }
        let mut sides = Vec::new();
        for (name, side) in &ornament.accidentals {
            let attribute = if *side == Side::Above {
                "accidupper"
            } else {
                "accidlower"
            };
            match names::accidental(name) {
                Some(accid) if !sides.contains(side) => node.set(attribute, accid),
                _ => self.lost(
                    part,
                    event.place,
                    format!("an accidental at an ornament (“{name}”) was left out"),
                ),
            }
            sides.push(*side);
        }
        if sides.first() == Some(&Side::Below) && sides.len() > 1 {
            node.tag("lower-first");
        }
        node
    }

    fn trill_line(&self, part: usize, event: Id) -> Option<&'p Span> {
        let line = self.parts.get(part)?.trill_lines.get(&event).copied()?;
        (!self.used.contains(&line.id)).then_some(line)
    }

    /// The wavy line after a trill is an attribute of it: one element with the line's id.
    fn trill_with_line(&mut self, part: usize, ornament: &Ornament, line: &'p Span, node: &mut Node) {
        self.used.insert(line.id);
        node.set("xml:id", line.id);
        node.set("extender", "true");
        if let Some(start) = line.start {
            self.end(part, line, start.place.bar, node);
        }
        self.span_staff(part, line, node);
        if line.side != ornament.side {
            node.tag(match line.side {
                None => "line-side.unsaid",
                Some(Side::Above) => "line-side.above",
                Some(Side::Below) => "line-side.below",
            });
        }
    }
}

fn mordent(form: &str, long: bool) -> Node {
    let node = Node::new("mordent").attr("form", form);
    if long { node.attr("long", "true") } else { node }
}

fn turn(form: &str, delayed: bool) -> Node {
    let node = Node::new("turn").attr("form", form);
    if delayed {
        node.attr("delayed", "true")
    } else {
        node
    }
}

/// An ornament that MEI has no element for: the sign of the SMuFL standard.
fn sign(name: &str, glyph: &str, code: char) -> Node {
    let symbol = Node::new("symbol")
        .attr("glyph.auth", "smufl")
        .attr("glyph.name", glyph)
        .attr("glyph.num", format!("U+{:X}", u32::from(code)));
    Node::new("ornam").tagged(name).child(symbol)
}

/// A fermata without its place in time.
pub(super) fn fermata_node(fermata: &Fermata) -> Node {
    let mut node = Node::new("fermata").attr("place", if fermata.inverted { "below" } else { "above" });
    if fermata.inverted {
        node.set("form", "inv");
    }
    match names::fermata_shape(&fermata.shape) {
        Some("curved") => {}
        Some(shape) => node.set("shape", shape),
        None => node.tag(format!("shape.{}", fermata.shape)),
    }
    node
}

fn technical(id: String, at: &str, mark: &Technical, word: Option<&str>) -> Node {
    let mut node = if mark.name == "fingering" {
        Node::new("fing").lines(&mark.text)
    } else {
        Node::new("dir")
            .tagged("technical")
            .tagged(&mark.name)
            .lines(&mark.text)
    };
    if let Some(word) = word {
        node.tag(word);
    }
    node.id(id)
        .attr("startid", at)
        .maybe("place", mark.side.map(place))
}
