//! Who plays, and what is in force? The first `scoreDef`, and those between bars where clef, key, metre or transposition change.

use super::Writer;
use super::xml::{Node, is_token};
use notation::{Change, Id, KeySignature};

/// A change at the start of a bar, on one of its staves: `copy` is that staff, unless it is the first.
fn on_staff<'c, T>(changes: &[&'c Change<T>], staff: u8) -> Vec<(&'c Change<T>, Option<u8>)> {
    changes
        .iter()
        .filter(|change| change.place.offset.is_zero())
        .filter_map(|change| match change.staff {
            None => Some((*change, Some(staff).filter(|staff| *staff > 1))),
            Some(of) => (of == staff).then_some((*change, None)),
        })
        .collect()
}

impl Writer<'_> {
    /// The first `scoreDef`: all staves, with what is in force from the first bar.
    pub(super) fn first_score_def(&mut self) -> Node {
        let mut group = Node::new("staffGrp");
        for part in 0..self.parts.len() {
            let node = self.part_def(part);
            group.push(node);
        }
        let mut def = Node::new("scoreDef");
        if self.ppq > 0 {
            def.set("ppq", self.ppq);
        }
        if self.piece.concert_pitch {
            def.tag("concert-pitch");
        }
        if self.parts.is_empty() {
            return def;
        }
        def.child(group)
    }

    fn part_def(&mut self, index: usize) -> Node {
        let Some(plan) = self.parts.get(index) else {
            return Node::new("staffGrp");
        };
        let (part, staves, first) = (plan.part, plan.staves, plan.first_staff);
        if part.for_player.is_some() {
            let what = "MEI has no place for what the player's own part of a score at concert pitch will be";
            self.lost(index, notation::Place::default(), what);
        }
        let mut names = Vec::new();
        for (name, text) in [("label", &part.name), ("labelAbbr", &part.abbreviation)] {
            // A part of one player says its name once, at the top of its first page.
            if !text.is_empty() && self.options.engraving.is_none() {
                names.push(Node::new(name).lines(text));
            }
        }
        let mut instrument = Node::new("instrDef");
        if let Some(program) = part.midi_program.filter(|program| (1..=128).contains(program)) {
            instrument.set("midi.instrnum", program - 1);
        }
        if let Some(name) = &part.instrument_name {
            instrument.set("label", name);
        }
        if let Some(sound) = &part.instrument_sound {
            if is_token(sound) {
                instrument.tag(sound);
            } else {
                instrument.set("n", sound.replace(char::is_whitespace, "_"));
            }
        }
        let says = ["midi.instrnum", "label", "type", "n"]
            .iter()
            .any(|name| instrument.has(name));
        let names = names.into_iter().chain(says.then_some(instrument));
        let lines = |staff: u8| {
            let known = part.staff_lines.iter().find(|(of, _)| *of == staff);
            known.map_or(5, |(_, lines)| *lines)
        };
        let mut defs: Vec<Node> = Vec::new();
        for staff in 1..=staves {
            let mut def = Node::new("staffDef")
                .id(if staves == 1 {
                    part.id.to_string()
                } else {
                    format!("{}-s{staff}", part.id)
                })
                .attr("n", first + usize::from(staff) - 1)
                .attr("lines", lines(staff).max(1));
            if lines(staff) == 0 {
                def.set("lines.visible", "false");
                def.tag("lines-0");
            }
            defs.push(def);
        }
        if staves == 1 {
            let mut def = defs.pop().unwrap_or_else(|| Node::new("staffDef"));
            for name in names {
                def.push(name);
            }
            self.in_force(index, 0, 1, &mut def);
            return def;
        }
        let mut group = Node::new("staffGrp")
            .id(part.id)
            .attr("symbol", "brace")
            .attr("bar.thru", "true");
        for name in names {
            group.push(name);
        }
        for (staff, mut def) in (1..).zip(defs) {
            self.in_force(index, 0, staff, &mut def);
            group.push(def);
        }
        group
    }

    /// Puts what changes at the start of a bar on a staff into its `staffDef`; true if anything does.
    fn in_force(&mut self, part: usize, bar: usize, staff: u8, def: &mut Node) -> bool {
        let Some(plan) = self.parts.get(part) else {
            return false;
        };
        let (staves, Some(things)) = (plan.staves, plan.bars.get(bar)) else {
            return false;
        };
        let clefs = on_staff(&things.clefs, staff);
        let keys = on_staff(&things.keys, staff);
        let metres = on_staff(&things.metres, staff);
        let transpositions = on_staff(&things.transpositions, staff);
        let any = !(clefs.is_empty() && keys.is_empty() && metres.is_empty() && transpositions.is_empty());
        // Of several at one place the last one holds, but all stand there.
        for (change, copy) in clefs {
            let node = self.clef(part, change, copy, staves);
            def.push(node);
        }
        if !self.key_on_score(part, bar) {
            for (change, copy) in keys {
                let node = self.key(part, change, copy, staves);
                def.push(node);
            }
        }
        for (change, copy) in metres {
            let node = self.metre(change, copy, staves);
            def.push(node);
        }
        for (nth, (change, copy)) in transpositions.into_iter().enumerate() {
            if nth > 0 {
                self.lost(
                    part,
                    change.place,
                    "two transpositions start at one place; the last one was written",
                );
            }
            self.transposition(part, change, copy, staves, def);
        }
        any
    }

    /// A `scoreDef` before a bar, if anything changes with it; the first bar's is the score's own.
    pub(super) fn changes_before(&mut self, bar: usize, id: Id) -> Option<Node> {
        let mut group = Node::new("staffGrp");
        for part in 0..self.parts.len() {
            let Some((staves, first)) = self.parts.get(part).map(|plan| (plan.staves, plan.first_staff))
            else {
                continue;
            };
            for staff in 1..=staves {
                let number = first + usize::from(staff) - 1;
                let mut def = Node::new("staffDef")
                    .id(format!("{id}-def{number}"))
                    .attr("n", number);
                if self.in_force(part, bar, staff, &mut def) {
                    group.push(def);
                }
            }
        }
        if group.is_empty() {
            return None;
        }
        let mut def = Node::new("scoreDef");
        if self.key_on_score(0, bar) {
            let keys = self
                .parts
                .first()
                .and_then(|plan| plan.bars.get(bar))
                .map(|things| on_staff(&things.keys, 1));
            for (change, copy) in keys.unwrap_or_default() {
                let node = self.key(0, change, copy, 1);
                def.push(node);
            }
        }
        Some(def.child(group))
    }

    /// Whether a key signature of nothing is said of the whole score: what an engraver is given for a player's single staff. Version 6.2 of the
    /// press's engraver prints the naturals that take the old signature back only there (found by trying both), and without them
    /// nothing on the page says that it is gone.
    fn key_on_score(&self, part: usize, bar: usize) -> bool {
        let [plan] = self.parts.as_slice() else {
            return false;
        };
        let none = |key: &KeySignature| key.listed.is_empty() && key.fifths == Some(0);
        self.options.engraving.is_some()
            && (part, plan.staves) == (0, 1)
            && bar > 0
            && plan
                .bars
                .get(bar)
                .is_some_and(|things| on_staff(&things.keys, 1).iter().any(|(key, _)| none(&key.value)))
    }
}
