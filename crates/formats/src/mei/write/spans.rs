//! How is what reaches from place to place written? Slurs, hairpins, ottavas, pedals, lines: a control event with both ends.

use super::note::place;
use super::xml::{Node, is_token};
use super::{Writer, engraving, time};
use notation::{Anchor, BarIndex, Event, Id, Side, Span, SpanKind};

impl<'p> Writer<'p> {
    /// A tuplet's bracket by its id.
    pub(super) fn span(&self, part: usize, id: Id) -> Option<&'p Span> {
        self.parts.get(part)?.groups.get(&id).copied()
    }

    /// The span of a tremolo between two notes, taken up by its element.
    pub(super) fn tremolo_span(&mut self, part: usize, first: Option<&Event>) -> Option<Id> {
        let first = first?.id;
        self.used.insert(first);
        let span = self.span(part, first)?;
        matches!(span.kind, SpanKind::TremoloPair { .. }).then(|| {
            self.used.insert(span.id);
            span.id
        })
    }

    /// Numbers and looks of a tuplet.
    pub(super) fn tuplet_attributes(span: &Span, mut node: Node) -> Node {
        if let SpanKind::Tuplet {
            actual,
            normal,
            bracket,
        } = span.kind
        {
            node.set("num", actual);
            node.set("numbase", normal);
            node.set("bracket.visible", bracket);
        }
        if let Some(side) = span.side {
            node.set("bracket.place", place(side));
            node.set("num.place", place(side));
        }
        if span.staff.is_none() {
            node.tag("staff.unsaid");
        }
        node
    }

    /// The elements of a span.
    pub(super) fn span_nodes(&mut self, part: usize, span: &'p Span, out: &mut Vec<Node>) {
        let kind = &span.kind;
        let mut node = match kind {
            SpanKind::Slur => Node::new("slur").maybe("curvedir", span.side.map(place)),
            SpanKind::Crescendo { niente } | SpanKind::Diminuendo { niente } => {
                let form = if matches!(kind, SpanKind::Crescendo { .. }) {
                    "cres"
                } else {
                    "dim"
                };
                let mut node = Node::new("hairpin")
                    .attr("form", form)
                    .maybe("place", span.side.map(place));
                if *niente {
                    node.set("niente", "true");
                }
                node
            }
            SpanKind::Ottava { octaves } => self.ottava(part, span, *octaves),
            SpanKind::Tuplet {
                actual,
                normal,
                bracket,
            } => {
                // The notes have their tuplets already: a `tupletSpan` would count them twice.
                let node = Node::new("bracketSpan")
                    .attr("func", "unspecified")
                    .tagged("tuplet")
                    .tagged(format!("num.{actual}"))
                    .tagged(format!("numbase.{normal}"));
                sided(if *bracket { node } else { node.tagged("no-bracket") }, span.side)
            }
            SpanKind::TrillLine => sided(
                Node::new("line").attr("form", "wavy").tagged("trill-line"),
                span.side,
            ),
            SpanKind::Glissando => sided(Node::new("gliss").attr("lform", "wavy"), span.side),
            SpanKind::Slide => sided(
                Node::new("gliss").attr("lform", "solid").tagged("slide"),
                span.side,
            ),
            SpanKind::Pedal => return self.pedal(part, span, out),
            SpanKind::Dashes => Node::new("dir")
                .tagged("dashes")
                .attr("extender", "true")
                .attr("lform", "dashed")
                .maybe("place", span.side.map(place)),
            SpanKind::Bracket => sided(
                Node::new("bracketSpan")
                    .attr("func", "unspecified")
                    .attr("lform", "solid"),
                span.side,
            ),
            SpanKind::TremoloPair { strokes } => {
                let place = span
                    .start
                    .or(span.end)
                    .map(|anchor| anchor.place)
                    .unwrap_or_default();
                self.lost(part, place, "a tremolo between two notes is written as a bracket");
                let node = Node::new("bracketSpan")
                    .attr("func", "unspecified")
                    .tagged("tremolo-pair");
                sided(node.tagged(format!("strokes.{strokes}")), span.side)
            }
            SpanKind::Other(name) if matches!(name.as_str(), "hammer-on" | "pull-off") => Node::new("slur")
                .maybe("curvedir", span.side.map(place))
                .tagged(name),
            SpanKind::Other(name) => {
                let node = Node::new("bracketSpan")
                    .attr("func", "unspecified")
                    .tagged("other");
                sided(
                    if is_token(name) {
                        node.tagged(format!("named.{name}"))
                    } else {
                        node.attr("label", name)
                    },
                    span.side,
                )
            }
        };
        node = node.id(span.id);
        self.ends(part, span, &mut node);
        out.push(node);
    }

    fn ottava(&mut self, part: usize, span: &Span, octaves: i8) -> Node {
        let mut node = Node::new("octave");
        let dis = match octaves.unsigned_abs() {
            1 => "8",
            2 => "15",
            3 => "22",
            _ => {
                let place = span.start.map(|start| start.place).unwrap_or_default();
                self.lost(
                    part,
                    place,
                    format!("an ottava by {octaves} octaves was written as one of one octave"),
                );
                "8"
            }
        };
        let usual = if octaves < 0 { Side::Below } else { Side::Above };
        node.set("dis", dis);
        node.set("dis.place", place(usual));
        match span.side {
            Some(side) if side == usual => {}
            Some(Side::Above) => node.tag("side.above"),
            Some(Side::Below) => node.tag("side.below"),
            None => node.tag("side.unsaid"),
        }
        node
    }

    /// A pedal is two signs in MEI: down, and up again.
    fn pedal(&self, part: usize, span: &Span, out: &mut Vec<Node>) {
        let side = span.side.map(place);
        if let Some(start) = span.start {
            let mut down = Node::new("pedal")
                .id(span.id)
                .attr("dir", "down")
                .maybe("place", side);
            self.start(part, start, &mut down);
            self.span_staff(part, span, &mut down);
            if let (Some(end), Some(_)) = (span.end, self.pedal_up_bar(span)) {
                // Both ends are told here; the sign that ends it stands in its own bar.
                self.end_at(part, end, start.place.bar, &mut down);
            }
            out.push(down);
        } else {
            out.push(self.pedal_up(part, span));
        }
    }

    /// The bar in which the sign for the end of a pedal stands.
    pub(super) fn pedal_up_bar(&self, span: &Span) -> Option<BarIndex> {
        let last = BarIndex::from_usize(self.piece.bars.len().saturating_sub(1));
        span.end.map(|end| end.place.bar.min(last))
    }

    /// The sign that ends a pedal.
    pub(super) fn pedal_up(&self, part: usize, span: &Span) -> Node {
        let mut up = Node::new("pedal")
            .attr("dir", "up")
            .maybe("place", span.side.map(place));
        if span.start.is_some() {
            up = up
                .id(format!("{}-up", span.id))
                .attr("prev", format!("#{}", span.id));
        } else {
            up = up.id(span.id);
        }
        if let Some(end) = span.end {
            self.start(part, end, &mut up);
        }
        self.span_staff(part, span, &mut up);
        up
    }

    /// Both ends of a span, and its staff.
    fn ends(&self, part: usize, span: &Span, node: &mut Node) {
        match (span.start, span.end) {
            (Some(start), _) => {
                self.start(part, start, node);
                self.end(part, span, start.place.bar, node);
            }
            (None, Some(end)) => {
                self.end(part, span, end.place.bar, node);
                node.tag("no-start");
            }
            (None, None) => {}
        }
        self.span_staff(part, span, node);
    }

    fn start(&self, part: usize, anchor: Anchor, node: &mut Node) {
        match anchor.element.and_then(|id| self.pointer(id)) {
            Some(pointer) => node.set("startid", pointer),
            None => {
                if let Some(plan) = self.parts.get(part) {
                    node.set("tstamp", time::tstamp(plan.part, anchor.place));
                }
            }
        }
    }

    /// The end of a span that starts in a bar.
    pub(super) fn end(&self, part: usize, span: &Span, from: BarIndex, node: &mut Node) {
        let ended = match self.parts.get(part) {
            Some(plan) if self.options.engraving.is_some() => {
                engraving::ended_in_bar(self.piece, plan.part, span)
            }
            _ => None,
        };
        if let Some(end) = ended.map_or(span.end, Some) {
            self.end_at(part, end, from, node);
        }
    }

    fn end_at(&self, part: usize, end: Anchor, from: BarIndex, node: &mut Node) {
        match end.element.and_then(|id| self.pointer(id)) {
            Some(pointer) => node.set("endid", pointer),
            None => {
                if let Some(plan) = self.parts.get(part)
                    && let Some(tstamp2) = time::tstamp2(plan.part, from, end.place)
                {
                    node.set("tstamp2", tstamp2);
                }
            }
        }
    }

    /// The staff of a span: where it is drawn, and (`partstaff`) what the page says.
    pub(super) fn span_staff(&self, part: usize, span: &Span, node: &mut Node) {
        self.staff_of(part, span.staff, node);
    }

    /// `staff` by the number in the score; `partstaff` by that in the part, only where the page says which.
    pub(super) fn staff_of(&self, part: usize, staff: Option<u8>, node: &mut Node) {
        if let Some(plan) = self.parts.get(part) {
            node.set("staff", plan.staff(staff.unwrap_or(1)));
            if let Some(staff) = staff {
                node.set("partstaff", staff.max(1));
            }
        }
    }
}

/// A side where MEI's element has no place for it.
fn sided(mut node: Node, side: Option<Side>) -> Node {
    match side {
        Some(Side::Above) => node.tag("side.above"),
        Some(Side::Below) => node.tag("side.below"),
        None => {}
    }
    node
}
