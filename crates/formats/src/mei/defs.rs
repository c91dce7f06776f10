//! Who plays? Parts and staves from `scoreDef`, `staffGrp` and `staffDef`, and what these put into force.

use super::force::Force;
use super::music::Music;
use super::text::words;
use super::values::{is_true, note_value, number};
use crate::assemble::{MOST_CELLS, MOST_PARTS};
use crate::report::Why;
use crate::xml::El;
use notation::{BarIndex, Change, ClefSign, Finding, IdKind, Origin, Place, Quarters, Severity, SoundHint};

impl<'a> Music<'a> {
    /// A `scoreDef`, at the start or between measures.
    pub(super) fn score_def(&mut self, el: El<'_, 'a>) {
        self.ppq = number(el, "ppq").filter(|n| n.is_positive()).or(self.ppq);
        let general = Force::of_definition(el);
        self.own_score_def(el);
        self.say_unclear(&general, None);
        let mut named = Vec::new();
        for child in self.content(el) {
            match child.name() {
                "staffGrp" => self.staff_group(child, &general, &mut named),
                "staffDef" => self.staff_def_in(child, None, &general, &mut named),
                "pgHead" | "pgFoot" | "pgHead2" | "pgFoot2" => {
                    let text = words(self.text, child);
                    if !text.is_empty() && self.score.piece.credits.page_words.len() < 1_000 {
                        self.score.piece.credits.page_words.push(text);
                    }
                }
                "clef" | "clefGrp" | "keySig" | "meterSig" | "meterSigGrp" => {}
                // Sounds, symbols and layers of the encoding; chord tables.
                "instrGrp" | "symbolTable" | "chordTable" | "ambitus" | "ambNote" | "layerDef" => {}
                other => self.unread(other, "scoreDef", Why::Unknown),
            }
        }
        if !general.is_empty() {
            for staff in (0..self.staves.len())
                .filter(|staff| !named.contains(staff))
                .collect::<Vec<_>>()
            {
                self.pending.push((staff, general.clone()));
            }
        }
        self.tempo_hint(el);
    }

    fn tempo_hint(&mut self, el: El<'_, 'a>) {
        if let Some(bpm) = el
            .attr("midi.bpm")
            .filter(|_| self.parts.len() > self.active_from)
        {
            self.score.taken += 1;
            self.score.piece.sound_hints.push(SoundHint {
                place: Place::start_of(BarIndex::from_usize(self.bars)),
                part: self.active_from,
                attributes: vec![("tempo".to_owned(), super::values::short(bpm))],
            });
        }
    }

    fn staff_group(&mut self, el: El<'_, 'a>, general: &Force, named: &mut Vec<usize>) {
        let children = self.content(el);
        let one_player = is_brace(el) && (self.own.is_some() || self.is_one_player(el, &children));
        let mut part = None;
        for child in children {
            match child.name() {
                "staffGrp" => self.staff_group(child, general, named),
                "staffDef" => {
                    self.staff_def_in(child, part, general, named);
                    if one_player {
                        part = named
                            .last()
                            .and_then(|staff| self.staves.get(*staff))
                            .map(|staff| staff.part);
                    }
                }
                // Read with its staves, or how the group is drawn.
                "label" | "labelAbbr" | "instrDef" | "grpSym" | "instrGrp" => {}
                other => self.unread(other, "staffGrp", Why::Unknown),
            }
        }
        if let (Some(part), true) = (part, one_player) {
            self.describe(part, el, true);
        } else if let ([_], Some(last)) = (staves_of(el).as_slice(), named.last().copied()) {
            // A group of one staff may carry the staff's name.
            if let Some(part) = self.staves.get(last).map(|staff| staff.part) {
                self.describe(part, el, false);
            }
        }
    }

    /// A brace joins the staves of one player if it carries their name or instrument and they have none of their own,
    /// or if they are the two staves of a keyboard; else it joins several players (trumpets, two violins).
    fn is_one_player(&self, el: El<'_, 'a>, children: &[El<'_, 'a>]) -> bool {
        let staves: Vec<El<'_, 'a>> = children
            .iter()
            .copied()
            .filter(|child| child.name() == "staffDef")
            .collect();
        let grouped = children.iter().any(|child| child.name() == "staffGrp");
        if grouped || !(2..=4).contains(&staves.len()) || staves.iter().any(|staff| has_label(*staff)) {
            return false;
        }
        let clef = |staff: El<'_, 'a>| Force::of_definition(staff).clef.map(|(clef, _)| clef.sign);
        let keyboard = matches!(staves.as_slice(), [upper, lower]
            if clef(*upper) == Some(ClefSign::G) && clef(*lower) == Some(ClefSign::F));
        has_label(el) || el.child("instrDef").is_some() || keyboard
    }

    /// A `staffDef` between measures.
    pub(super) fn staff_def(&mut self, el: El<'_, 'a>) {
        self.staff_def_in(el, None, &Force::default(), &mut Vec::new());
    }

    /// A `staffDef`; `shared` is the part of the player whose further staff it is.
    fn staff_def_in(
        &mut self,
        el: El<'_, 'a>,
        shared: Option<usize>,
        general: &Force,
        named: &mut Vec<usize>,
    ) {
        let usual = (named.len() + 1).to_string();
        let number = el
            .attr("n")
            .filter(|n| !n.is_empty())
            .unwrap_or(&usual)
            .to_owned();
        let staff = match self.staff_numbers.get(&number) {
            Some(known) => *known,
            None => {
                if self.parts.len() >= MOST_PARTS || (self.parts.len() + 1) * self.bars > MOST_CELLS {
                    return self.unread("staffDef", "staffGrp", Why::NoPlace);
                }
                let part = shared.unwrap_or_else(|| self.add_part(String::new()));
                if let Some(state) = self.parts.get(part)
                    && let Some(id) = super::values::id_of(el)
                {
                    let origin = Origin {
                        foreign_id: Some(id.into_owned()),
                        range: Some(el.range()),
                        ..Origin::default()
                    };
                    self.score.piece.provenance.origins.insert(state.part.id, origin);
                }
                self.add_staff(&number, part)
            }
        };
        named.push(staff);
        let part = self.staves.get(staff).map_or(0, |staff| staff.part);
        if shared.is_none() {
            self.describe(part, el, false);
        }
        let mut own = Force::of_definition(el);
        for child in self.content(el) {
            match child.name() {
                "label" | "labelAbbr" | "instrDef" | "clef" | "clefGrp" | "keySig" | "meterSig"
                | "meterSigGrp" => {}
                // A definition for one layer of the staff.
                "layerDef" => {
                    for inner in child.children() {
                        if !own.element(inner) && !matches!(inner.name(), "instrDef" | "label" | "labelAbbr")
                        {
                            self.unread(inner.name(), "layerDef", Why::NoPlace);
                        }
                    }
                }
                // Range of a voice in chant, tuning of strings.
                "ambitus" | "tuning" | "mensur" | "proport" => {
                    self.unread(child.name(), "staffDef", Why::NoPlace)
                }
                other => self.unread(other, "staffDef", Why::Unknown),
            }
        }
        self.say_unclear(&own, Some(part));
        if let Some(state) = self.staves.get_mut(staff) {
            state.default_dur = el.attr("dur.default").and_then(note_value).or(state.default_dur);
            state.default_oct = el
                .attr("oct.default")
                .or(el.attr("octave.default"))
                .and_then(|text| text.parse().ok())
                .or(state.default_oct);
        }
        self.lines(el, staff);
        let force = own.or(general);
        if !self.own_staff_def(el, staff) && !force.is_empty() {
            self.pending.push((staff, force));
        }
    }

    fn lines(&mut self, el: El<'_, 'a>, staff: usize) {
        let Some(lines) = el.attr("lines") else { return };
        let Some((part, index)) = self.staves.get(staff).map(|staff| (staff.part, staff.index)) else {
            return;
        };
        let count = lines.parse::<u8>().unwrap_or(5);
        if let Some(state) = self.parts.get_mut(part) {
            state.part.staff_lines.retain(|(of, _)| *of != index);
            if count != 5 {
                state.part.staff_lines.push((index, count));
            }
        }
    }

    /// Names and instrument of a part; `over` those it has already.
    fn describe(&mut self, part: usize, el: El<'_, 'a>, over: bool) {
        let one_line = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
        let label = |name: &str, attribute: &str| {
            let text = el.child(name).map(|child| words(self.text, child));
            let text = text.or_else(|| el.attr(attribute).map(str::to_owned));
            text.map(|text| one_line(&super::text::letters(&text)))
                .filter(|text| !text.is_empty())
        };
        let (name, abbreviation) = (label("label", "label"), label("labelAbbr", "label.abbr"));
        let instrument = el.child("instrDef");
        let sound = instrument.and_then(|def| def.attr("label").or(def.attr("midi.instrname")));
        let program = instrument
            .and_then(|def| def.attr("midi.instrnum"))
            .and_then(|text| text.parse::<u8>().ok())
            .filter(|n| *n < 128);
        let Some(state) = self.parts.get_mut(part) else {
            return;
        };
        if let Some(name) = name.filter(|_| over || state.part.name.is_empty()) {
            state.name.clone_from(&name);
            state.part.name = name;
        }
        if let Some(abbreviation) = abbreviation.filter(|_| over || state.part.abbreviation.is_empty()) {
            state.part.abbreviation = abbreviation;
        }
        if let Some(sound) = sound.filter(|sound| !sound.is_empty()) {
            state
                .part
                .instrument_name
                .get_or_insert_with(|| sound.replace('_', " "));
        }
        state.part.midi_program = state.part.midi_program.or(program.map(|n| n + 1));
        self.own_names(el, part);
    }

    /// Reports what a definition says that could not be understood.
    pub(super) fn say_unclear(&mut self, force: &Force, part: Option<usize>) {
        for (kind, what) in &force.unclear {
            let severity = match *kind {
                "metre-alternates" | "transposition-guessed" => Severity::Note,
                _ => Severity::Caution,
            };
            let finding = Finding::new(
                severity,
                kind,
                what.clone(),
                "look at the start of the staff on the page",
            );
            let finding = self.here(part, Quarters::ZERO).put(finding);
            self.score.report.push(finding);
        }
    }

    /// Puts into force at the start of the bar what was defined before it. What is in force already is not said again.
    pub(super) fn apply_pending(&mut self) {
        self.own_pending();
        let pending = std::mem::take(&mut self.pending);
        // One player's staves that agree have one key, and always one metre.
        let mut by_part: Vec<(usize, Vec<(usize, Force)>)> = Vec::new();
        for (staff, force) in pending {
            let Some(part) = self.staves.get(staff).map(|staff| staff.part) else {
                continue;
            };
            match by_part.last_mut() {
                Some((last, of)) if *last == part => of.push((staff, force)),
                _ => by_part.push((part, vec![(staff, force)])),
            }
        }
        for (part, forces) in by_part {
            let staves = self.parts.get(part).map_or(1, |state| state.part.staves);
            let agree = staves > 1
                && forces.len() >= usize::from(staves)
                && forces.windows(2).all(|pair| pair[0].1.key == pair[1].1.key);
            for (nth, (staff, mut force)) in forces.into_iter().enumerate() {
                if agree && nth > 0 {
                    let key = force.key.take();
                    if let (Some(state), Some((key, _))) = (self.staves.get_mut(staff), key) {
                        state.key = key;
                    }
                }
                self.put_in_force(staff, &force, Quarters::ZERO, agree, false);
            }
        }
    }

    /// What takes effect at an offset of this bar. `inline` values stand between the notes and are always kept.
    pub(super) fn put_in_force(
        &mut self,
        staff: usize,
        force: &Force,
        offset: Quarters,
        key_for_all: bool,
        inline: bool,
    ) {
        let Some((part, index)) = self.staves.get(staff).map(|staff| (staff.part, staff.index)) else {
            return;
        };
        let several = self.parts.get(part).is_some_and(|state| state.part.staves > 1);
        let before = self
            .staves
            .get(staff)
            .map(|state| state.force.clone())
            .unwrap_or_default();
        let fresh = |same: bool| inline || !same;
        let of_staff = several.then_some(index);
        if let Some((clef, printed)) = force.clef
            && fresh(before.clef.map(|(clef, _)| clef) == Some(clef))
        {
            let change = self.change(clef, of_staff, offset, printed, force.range);
            if let Some(state) = self.parts.get_mut(part) {
                // Layers of one staff repeat a clef that stands once.
                let known = state.part.clefs.iter().rev().take(8).any(|known| {
                    known.place == change.place && known.staff == change.staff && known.value == change.value
                });
                if !known {
                    state.part.clefs.push(change);
                }
            }
        }
        if let Some((key, printed)) = &force.key {
            if fresh(before.key.as_ref().map(|(key, _)| key) == Some(key)) {
                let of = of_staff.filter(|_| !key_for_all);
                let change = self.change(key.clone(), of, offset, *printed, force.range);
                if let Some(state) = self.parts.get_mut(part) {
                    let known = state.part.keys.iter().rev().take(8).any(|known| {
                        known.place == change.place
                            && known.staff == change.staff
                            && known.value == change.value
                    });
                    if !known {
                        state.part.keys.push(change);
                    }
                }
            }
            if let Some(state) = self.staves.get_mut(staff) {
                state.key = key.clone();
            }
        }
        if let Some((metre, printed)) = &force.metre
            && index == 1
        {
            if fresh(before.metre.as_ref().map(|(metre, _)| metre) == Some(metre)) {
                let change = self.change(metre.clone(), None, offset, *printed, force.range);
                if let Some(state) = self.parts.get_mut(part) {
                    let known = state
                        .part
                        .metres
                        .iter()
                        .rev()
                        .take(8)
                        .any(|known| known.place == change.place && known.value == change.value);
                    if !known {
                        state.part.metres.push(change);
                    }
                }
            }
            let (bar, length) = (self.bar, metre.length());
            let unit = metre.parts.first().map_or(4, |part| part.beat_type);
            if let Some(state) = self.parts.get_mut(part) {
                if offset.is_zero() {
                    state.metre = length;
                    state.next_metre = None;
                    state.units.push((bar, unit));
                } else {
                    state.next_metre = Some(length);
                    state.units.push((bar.next(), unit));
                }
            }
        }
        if let Some(transposition) = force.transposition
            && before.transposition.unwrap_or_default() != transposition
        {
            let change = self.change(transposition, of_staff, offset, true, force.range);
            if let Some(state) = self.parts.get_mut(part) {
                state.part.transpositions.push(change);
            }
        }
        if let Some(state) = self.staves.get_mut(staff) {
            let mut now = force.or(&before);
            now.unclear.clear();
            state.force = now;
        }
    }

    fn change<T>(
        &mut self,
        value: T,
        staff: Option<u8>,
        offset: Quarters,
        printed: bool,
        range: (u32, u32),
    ) -> Change<T> {
        self.score.taken += 1;
        let id = self.id_from(IdKind::Change, range, None);
        Change {
            id,
            place: self.place(offset),
            staff,
            value,
            printed,
        }
    }
}

/// The staves that stand directly in a group.
fn staves_of<'t, 'a>(el: El<'t, 'a>) -> Vec<El<'t, 'a>> {
    el.children().filter(|child| child.name() == "staffDef").collect()
}

fn is_brace(el: El<'_, '_>) -> bool {
    el.attr("symbol") == Some("brace")
        || el
            .child("grpSym")
            .is_some_and(|symbol| symbol.attr("symbol") == Some("brace"))
        || is_true(el, "brace")
}

fn has_label(el: El<'_, '_>) -> bool {
    el.child("label").is_some() || el.attr("label").is_some_and(|label| !label.is_empty())
}
