//! How is a bar written? Its `measure` with label and bar lines, the staves with their layers, then what stands beside them.

use super::layer::Lane;
use super::marks::fermata_node;
use super::sections::Layout;
use super::xml::{Node, is_word};
use super::{Writer, names, time};
use notation::{Bar, BarGroup, BarGroupKind, BarIndex, BarSide, Barline, EndingKind, Metre, Place, Severity};

impl<'p> Writer<'p> {
    /// The measure of a bar.
    pub(super) fn measure(&mut self, index: usize, bar: &'p Bar, layout: &Layout<'p>) -> Node {
        let at = BarIndex::from_usize(index);
        let mut node = Node::new("measure").id(bar.id);
        if is_word(&bar.label) {
            node.set("n", &bar.label);
        } else {
            node.set("label", &bar.label);
        }
        self.metrical(index, bar, &mut node);
        let mut beside: Vec<Node> = Vec::new();
        for (side, name) in [(BarSide::Left, "left"), (BarSide::Right, "right")] {
            self.edge(index, side, name, layout, &mut node, &mut beside);
        }
        for part in 0..self.parts.len() {
            self.staves(part, at, bar, layout, &mut node, &mut beside);
        }
        for part in 0..self.parts.len() {
            self.beside(part, index, layout, &mut beside);
        }
        beside.into_iter().for_each(|one| node.push(one));
        node
    }

    /// A bar that does not fill its metre, or is not counted.
    fn metrical(&self, index: usize, bar: &Bar, node: &mut Node) {
        // The length where neither what stands in the bar nor its metre tells it.
        let at = BarIndex::from_usize(index);
        let ends = self
            .parts
            .iter()
            .flat_map(|plan| plan.part.bar_events(at))
            .map(super::plan::end_of);
        let content = ends.max().unwrap_or_default();
        let asked = self
            .parts
            .iter()
            .find_map(|plan| plan.part.metre_at(Place::start_of(at)).and_then(Metre::length));
        let told = if content.is_positive() {
            Some(content)
        } else {
            asked
        };
        if told != Some(bar.length) && !bar.length.is_overflow() {
            node.tag(format!("length.{}_{}", bar.length.num(), bar.length.den()));
        }
        let place = Place::start_of(BarIndex::from_usize(index));
        let metre = self
            .parts
            .first()
            .and_then(|plan| plan.part.metre_at(place))
            .and_then(Metre::length);
        let irregular = metre.is_some_and(|length| length != bar.length);
        if irregular || bar.implicit {
            node.set("metcon", "false");
            if !bar.implicit {
                node.tag("counted");
            }
        }
    }

    /// The bar line at one edge.
    fn edge(
        &mut self,
        index: usize,
        side: BarSide,
        name: &'static str,
        layout: &Layout<'p>,
        node: &mut Node,
        beside: &mut Vec<Node>,
    ) {
        let lines = layout.lines(index, side);
        let Some(line) = lines.first().copied() else {
            return;
        };
        let alike = |other: &&&Barline| {
            other.style == line.style
                && other.repeat == line.repeat
                && other.ending == line.ending
                && other.fermatas == line.fermatas
                && other.segno == line.segno
                && other.coda == line.coda
        };
        let same = lines.iter().filter(alike).count();
        let all = same == self.parts.len();
        let plan_of = |line: &Barline| self.parts.iter().position(|plan| plan.index == line.part);
        let part = plan_of(line).unwrap_or(0);
        if !all {
            // A bar line of MEI is one for all staves.
            let whose: Vec<String> = lines
                .iter()
                .filter(alike)
                .filter_map(|line| plan_of(line))
                .map(|n| n.to_string())
                .collect();
            node.tag(format!("{name}.parts.{}", whose.join(".")));
            if same != lines.len() {
                self.lost(
                    part,
                    line.place,
                    "the parts have different bar lines here; the first part's was written",
                );
            }
        }
        self.rendition(part, line, name, node);
        if let Some(repeat) = &line.repeat {
            if let Some(times) = repeat.times {
                node.tag(format!("{name}.times.{times}"));
            }
            if let Some(after) = repeat.after_jump {
                node.tag(format!("{name}.after-jump.{}", if after { "yes" } else { "no" }));
            }
        }
        let Some(plan) = self.parts.get(part) else { return };
        let tstamp = time::tstamp(plan.part, line.place);
        let placed = |node: Node| {
            node.attr("tstamp", &tstamp)
                .attr("staff", plan.first_staff)
                .tagged(format!("{name}-barline"))
        };
        for (nth, fermata) in line.fermatas.iter().enumerate() {
            beside.push(placed(fermata_node(fermata)).id(format!("{}-fermata{}", line.id, nth + 1)));
        }
        for (sign, said) in [("segno", &line.segno), ("coda", &line.coda)] {
            if let Some(said) = said {
                let mark = Node::new("repeatMark").attr("func", sign);
                let mark = if said.is_empty() {
                    mark
                } else {
                    mark.attr("label", said)
                };
                beside.push(placed(mark).id(format!("{}-{sign}", line.id)));
            }
        }
        if layout.ending_alone(line)
            && let Some(ending) = &line.ending
        {
            let kind = match ending.kind {
                EndingKind::Start => "start",
                EndingKind::Stop => "stop",
                EndingKind::Discontinue => "discontinue",
            };
            node.tag(format!(
                "{name}.ending.{kind}.{}",
                ending.number.replace(',', ".")
            ));
            self.lost(
                part,
                line.place,
                "a bracket over bars starts or ends here without its other end; it is not drawn",
            );
        }
    }

    fn rendition(&mut self, part: usize, line: &Barline, name: &'static str, node: &mut Node) {
        let (usual, shown) = match line.repeat.as_ref().map(|repeat| repeat.forward) {
            Some(true) => (Some("heavy-light"), Some("rptstart")),
            Some(false) => (Some("light-heavy"), Some("rptend")),
            None => (None, None),
        };
        if let Some(shown) = shown {
            node.set(name, shown);
            match &line.style {
                Some(style) if Some(style.as_str()) == usual => {}
                Some(style) => node.tag(format!("{name}.style.{style}")),
                None => node.tag(format!("{name}.style-unsaid")),
            }
            return;
        }
        let Some(style) = &line.style else { return };
        match names::bar_style(style) {
            Some(shown) => node.set(name, shown),
            None => {
                node.set(name, if style == "heavy-light" { "heavy" } else { "single" });
                node.tag(format!("{name}.style.{style}"));
                self.find(
                    Severity::Note,
                    "not-in-mei",
                    part,
                    line.place,
                    format!("a bar line of the style “{style}” is drawn as the nearest that MEI has"),
                    "",
                );
            }
        }
    }

    /// The staves of a part in a bar.
    fn staves(
        &mut self,
        part: usize,
        at: BarIndex,
        bar: &'p Bar,
        layout: &Layout<'p>,
        node: &mut Node,
        beside: &mut Vec<Node>,
    ) {
        let Some((staves, first)) = self.parts.get(part).map(|plan| (plan.staves, plan.first_staff)) else {
            return;
        };
        let sign = layout.bar_sign(part, at.get());
        let mut lanes = if sign.is_some() {
            Vec::new()
        } else {
            self.lanes(part, at)
        };
        for staff in 1..=staves {
            self.signs_inside(part, at, staff, &mut lanes, layout);
        }
        // Voices keep their numbers; what overlaps gets numbers of its own.
        let numbers: Vec<usize> = lanes
            .iter()
            .map(|lane| self.parts.get(part).map_or(1, |plan| plan.voice(lane.voice).0))
            .collect();
        let mut next = self
            .parts
            .get(part)
            .map_or(1, |plan| plan.voices.values().max().map_or(1, |most| most + 1));
        for staff in 1..=staves {
            let number = first + usize::from(staff) - 1;
            let mut element = Node::new("staff")
                .id(format!("{}-s{number}", bar.id))
                .attr("n", number);
            let mut own: Vec<(usize, &Lane<'p>)> = lanes
                .iter()
                .zip(&numbers)
                .filter(|(lane, _)| lane.staff == staff)
                .map(|(lane, n)| (*n, lane))
                .collect();
            own.sort_by_key(|(number, lane)| (lane.further, *number));
            for (voice, lane) in own {
                let label = self
                    .parts
                    .get(part)
                    .and_then(|plan| plan.voice(lane.voice).1)
                    .map(str::to_owned);
                let layer_number = if lane.further { next } else { voice };
                let mut layer = Node::new("layer")
                    .id(format!("{}-s{number}-v{layer_number}", bar.id))
                    .attr("n", layer_number);
                if lane.further {
                    next += 1;
                    layer.set("label", label.unwrap_or_else(|| voice.to_string()));
                } else if let Some(label) = label {
                    layer.set("label", label);
                }
                for child in self.layer(part, lane, layout.tuplets(part), beside) {
                    layer.push(child);
                }
                element.push(layer);
            }
            if element.is_empty() {
                let mut layer = Node::new("layer")
                    .id(format!("{}-s{number}-v0", bar.id))
                    .attr("n", 1);
                if let Some(sign) = &sign {
                    layer.push(if staff == 1 {
                        sign.clone()
                    } else {
                        sign.clone().id(format!("{}-sign{number}", bar.id))
                    });
                } else {
                    layer.tag("empty");
                }
                element.push(layer);
            }
            node.push(element);
        }
    }

    /// Clefs, keys, metres and bar lines inside the bar, put into a layer of their staff.
    fn signs_inside(
        &mut self,
        part: usize,
        at: BarIndex,
        staff: u8,
        lanes: &mut Vec<Lane<'p>>,
        layout: &Layout<'p>,
    ) {
        let Some(plan) = self.parts.get(part) else { return };
        let (staves, index) = (plan.staves, plan.index);
        let Some(things) = plan.bars.get(at.get()) else {
            return;
        };
        let for_staff = |of: Option<u8>| of.is_none_or(|of| of == staff);
        let copy = |of: Option<u8>| of.is_none().then_some(staff).filter(|staff| *staff > 1);
        let inside = |place: Place| !place.offset.is_zero();
        let clefs: Vec<_> = things
            .clefs
            .iter()
            .copied()
            .filter(|c| for_staff(c.staff) && inside(c.place))
            .collect();
        let keys: Vec<_> = things
            .keys
            .iter()
            .copied()
            .filter(|c| for_staff(c.staff) && inside(c.place))
            .collect();
        let metres: Vec<_> = things
            .metres
            .iter()
            .copied()
            .filter(|c| for_staff(c.staff) && inside(c.place))
            .collect();
        let late: Vec<_> = things
            .transpositions
            .iter()
            .filter(|c| for_staff(c.staff) && inside(c.place))
            .map(|c| c.place)
            .collect();
        let mut signs: Vec<(Place, Node)> = Vec::new();
        for line in layout.inside(at.get()).iter().filter(|line| line.part == index) {
            signs.push((line.place, self.middle_line(part, line, staff)));
        }
        for clef in clefs {
            signs.push((clef.place, self.clef(part, clef, copy(clef.staff), staves)));
        }
        for key in keys {
            signs.push((key.place, self.key(part, key, copy(key.staff), staves)));
        }
        for metre in metres {
            signs.push((metre.place, self.metre(metre, copy(metre.staff), staves)));
        }
        for place in late {
            self.lost(part, place, "a change of transposition inside a bar was left out");
        }
        let spaces = self.white_spaces(part, at, staff);
        if !spaces.is_empty() {
            signs.extend(spaces);
            signs.sort_by_key(|(place, _)| *place);
        }
        if signs.is_empty() {
            return;
        }
        if !lanes.iter().any(|lane| lane.staff == staff) {
            lanes.push(Lane::of_staff(staff));
        }
        let fits = |lane: &Lane<'_>| {
            lane.staff == staff && signs.iter().all(|(place, _)| lane.has_boundary(place.offset))
        };
        let chosen = lanes
            .iter()
            .position(fits)
            .or_else(|| lanes.iter().position(|lane| lane.staff == staff));
        for (place, mut sign) in signs {
            let Some(lane) = chosen.and_then(|at| lanes.get_mut(at)) else {
                continue;
            };
            if !lane.has_boundary(place.offset) {
                sign.tag(format!("at.{}_{}", place.offset.num(), place.offset.den()));
                if sign.is("clef")
                    && let Some(plan) = self.parts.get(part)
                {
                    sign.set("tstamp", time::tstamp(plan.part, place));
                } else {
                    self.lost(
                        part,
                        place,
                        "a change inside a bar stands in the middle of a note; it was written after it",
                    );
                }
            }
            if let Some(lane) = chosen.and_then(|at| lanes.get_mut(at)) {
                lane.insert(place.offset, sign);
            }
        }
    }

    fn middle_line(&mut self, part: usize, line: &Barline, staff: u8) -> Node {
        let mut node = Node::new("barLine");
        node = if staff == 1 {
            node.id(line.id)
        } else {
            node.id(format!("{}-{staff}", line.id))
        };
        self.rendition(part, line, "form", &mut node);
        if line.ending.is_some() || !line.fermatas.is_empty() || line.segno.is_some() || line.coda.is_some() {
            self.lost(
                part,
                line.place,
                "what stands over a bar line inside the bar was left out",
            );
        }
        if let Some(repeat) = &line.repeat {
            if let Some(times) = repeat.times {
                node.tag(format!("form.times.{times}"));
            }
            if let Some(after) = repeat.after_jump {
                node.tag(format!("form.after-jump.{}", if after { "yes" } else { "no" }));
            }
        }
        node
    }

    /// What stands beside the notes of a part in a bar.
    fn beside(&mut self, part: usize, index: usize, layout: &Layout<'p>, out: &mut Vec<Node>) {
        let Some(plan) = self.parts.get(part) else { return };
        let source = plan.part;
        let Some(things) = plan.bars.get(index) else {
            return;
        };
        let (directions, spans) = (things.directions.clone(), things.spans.clone());
        if layout.bar_sign(part, index).is_none() {
            for event in source.bar_events(BarIndex::from_usize(index)) {
                self.event_marks(part, event, out);
            }
        }
        let options = self.options;
        if let Some(engraving) = &options.engraving {
            self.engraved_directions(part, &directions, engraving, out);
        } else {
            for direction in directions {
                let node = self.direction(part, direction);
                out.push(node);
            }
        }
        for span in spans {
            if !self.used.contains(&span.id) {
                self.span_nodes(part, span, out);
            }
        }
        for span in layout.pedals_up(part, index) {
            out.push(self.pedal_up(part, span));
        }
        for (nth, hint) in layout.hints(part, index) {
            out.extend(self.sound_hint(part, nth, hint));
        }
        for group in layout.groups(part, index) {
            if let Some(node) = self.group(part, group) {
                out.push(node);
            }
        }
    }

    /// Bars drawn as one sign that are written out here.
    fn group(&mut self, part: usize, group: &BarGroup) -> Option<Node> {
        let place = Place::start_of(group.start);
        let kind = match &group.kind {
            BarGroupKind::MultiRest => "multi-rest".to_owned(),
            BarGroupKind::MeasureRepeat { pattern } => format!("measure-repeat.{pattern}"),
            BarGroupKind::Other(name) => {
                self.find(
                    Severity::Note,
                    "not-in-mei",
                    part,
                    place,
                    format!(
                        "bars drawn as “{name}” are written out; MEI keeps their sign as an annotation only"
                    ),
                    "",
                );
                format!("named.{name}")
            }
        };
        let plan = self.parts.get(part)?;
        Some(
            Node::new("annot")
                .id(group.id)
                .tagged("bar-group")
                .tagged(kind)
                .tagged(format!("bars.{}", group.bars))
                .attr("tstamp", "1")
                .attr("staff", plan.first_staff),
        )
    }
}
