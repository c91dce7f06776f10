//! How is what comes into force written? Divisions, keys, metres, staves, clefs, transpositions, signs over whole bars.

use super::decimal;
use super::note::alter_text;
use super::part::PartWriter;
use notation::{
    BarGroupKind, Change, Clef, ClefSign, KeySignature, Metre, MetreSymbol, Place, Quarters, Transposition,
};

/// What is written in one `attributes` element, as indices into the part's lists.
#[derive(Debug, Default)]
pub(super) struct Attributes {
    /// The first of the part: divisions and staves.
    pub first: bool,
    pub keys: Vec<usize>,
    pub metres: Vec<usize>,
    pub clefs: Vec<usize>,
    pub transpositions: Vec<usize>,
    /// Signs that stand in attributes, as directions.
    pub signs: Vec<usize>,
    /// Groups of bars that end, then those that start.
    pub ends: Vec<usize>,
    pub starts: Vec<usize>,
}

impl PartWriter<'_, '_> {
    pub(super) fn attributes(&mut self, attributes: &Attributes) {
        let part = self.part;
        let signs: Vec<(usize, &str, &str)> =
            attributes.signs.iter().filter_map(|at| self.sign(*at)).collect();
        let named = |name: &str| -> Vec<(usize, &str, &str)> {
            signs.iter().filter(|(_, of, _)| *of == name).copied().collect()
        };
        // A footnote is the first thing in its element.
        for (_, _, text) in named("footnote") {
            self.out.open("attributes");
            self.out.leaf("footnote", text);
            self.out.close("attributes");
        }
        let at = self.out.position();
        self.out.open("attributes");
        let empty = self.out.position();
        if attributes.first {
            self.out.leaf("divisions", self.divisions.per_quarter);
        }
        for key in attributes.keys.iter().filter_map(|at| part.keys.get(*at)) {
            self.key(key);
        }
        let mut interchangeable = named("interchangeable").into_iter();
        for metre in attributes.metres.iter().filter_map(|at| part.metres.get(*at)) {
            let second = interchangeable.next().map(|(_, _, text)| text);
            self.metre(metre, second);
        }
        for (index, ..) in interchangeable {
            self.lost_direction(index, "a second metre stands where no metre starts");
        }
        if attributes.first && part.staves != 1 {
            self.out.leaf("staves", part.staves);
        }
        for clef in attributes.clefs.iter().filter_map(|at| part.clefs.get(*at)) {
            self.clef(clef);
        }
        if attributes.first {
            self.staff_lines();
        }
        for (index, _, text) in named("staff-tuning") {
            self.staff_tuning(index, text);
        }
        for (index, _, text) in named("capo") {
            self.capo(index, text);
        }
        for change in attributes
            .transpositions
            .iter()
            .filter_map(|at| part.transpositions.get(*at))
        {
            self.transposition(change);
        }
        if attributes.first {
            self.for_player(attributes.transpositions.is_empty());
        }
        for (at, start) in attributes
            .ends
            .iter()
            .map(|at| (*at, false))
            .chain(attributes.starts.iter().map(|at| (*at, true)))
        {
            self.bar_group(at, start);
        }
        if self.out.position() == empty {
            self.out.back_to(at);
        } else {
            self.out.close("attributes");
        }
    }

    fn key(&mut self, change: &Change<KeySignature>) {
        let key = &change.value;
        self.out
            .tag("key")
            .maybe("number", change.staff)
            .printed(change.printed)
            .attr("id", change.id)
            .open();
        if let Some(fifths) = key.fifths {
            self.out.leaf("fifths", fifths);
            if let Some(mode) = &key.declared_mode {
                self.out.leaf("mode", mode);
            }
            if !key.listed.is_empty() {
                self.lost_change(
                    change,
                    "a key signature has sharps or flats of its own besides the usual ones",
                );
            }
        } else {
            for (step, alter) in &key.listed {
                self.out.leaf("key-step", step.letter());
                let (alter, exact) = decimal(*alter);
                self.out.leaf("key-alter", alter);
                if !exact {
                    self.lost_change(
                        change,
                        "an alteration in a key signature was rounded to a decimal number",
                    );
                }
            }
            if key.declared_mode.is_some() {
                self.lost_change(
                    change,
                    "the mode of a key signature that is listed letter by letter",
                );
            }
        }
        self.out.close("key");
    }

    fn metre(&mut self, change: &Change<Metre>, second: Option<&str>) {
        let metre = &change.value;
        let symbol = match metre.symbol {
            MetreSymbol::Numbers | MetreSymbol::Senza => None,
            MetreSymbol::Common => Some("common"),
            MetreSymbol::Cut => Some("cut"),
            MetreSymbol::SingleNumber => Some("single-number"),
            MetreSymbol::Note => Some("note"),
        };
        self.out
            .tag("time")
            .maybe("number", change.staff)
            .maybe("symbol", symbol)
            .printed(change.printed)
            .attr("id", change.id)
            .open();
        let senza = metre.symbol == MetreSymbol::Senza;
        if senza || metre.parts.is_empty() {
            self.out.empty("senza-misura");
            if senza != metre.parts.is_empty() {
                self.lost_change(
                    change,
                    "a metre that is in force without being measured, or the reverse",
                );
            }
        } else {
            for part in &metre.parts {
                let groups: Vec<String> = part.groups.iter().map(u16::to_string).collect();
                self.out.leaf("beats", groups.join("+"));
                self.out.leaf("beat-type", part.beat_type);
            }
            if let Some(second) = second {
                self.interchangeable(second);
            }
        }
        self.out.close("time");
    }

    fn interchangeable(&mut self, fractions: &str) {
        self.out.open("interchangeable");
        // `3+2/8+3/4`: the numbers above run up to the stroke, the number below to the next plus.
        let mut rest = fractions;
        while let Some((beats, after)) = rest.split_once('/') {
            let (beat_type, next) = after.split_once('+').unwrap_or((after, ""));
            self.out.leaf("beats", beats);
            self.out.leaf("beat-type", beat_type);
            rest = next;
        }
        self.out.close("interchangeable");
    }

    fn clef(&mut self, change: &Change<Clef>) {
        // For all staves of a part that has several: one clef each.
        let staves: Vec<Option<u8>> = match change.staff {
            None if self.part.staves > 1 => (1..=self.part.staves).map(Some).collect(),
            staff => vec![staff],
        };
        if staves.len() > 1 {
            let what = "one clef for all staves is written once for each";
            self.losses
                .told_otherwise(self.of, change.place, Some(change.id), what);
        }
        let clef = change.value;
        let (sign, usual) = match clef.sign {
            ClefSign::G => ("G", None),
            ClefSign::F => ("F", None),
            ClefSign::C => ("C", None),
            ClefSign::Percussion => ("percussion", Some(0)),
            ClefSign::Tab => ("TAB", None),
            ClefSign::Jianpu => ("jianpu", Some(0)),
            ClefSign::None => ("none", Some(0)),
        };
        for (nth, staff) in staves.into_iter().enumerate() {
            self.out
                .tag("clef")
                .maybe("number", staff)
                .printed(change.printed)
                .maybe("id", (nth == 0).then_some(change.id))
                .open();
            self.out.leaf("sign", sign);
            if usual != Some(clef.line) {
                self.out.leaf("line", clef.line);
            }
            if clef.octave_change != 0 {
                self.out.leaf("clef-octave-change", clef.octave_change);
            }
            self.out.close("clef");
        }
    }

    fn staff_lines(&mut self) {
        for (staff, lines) in &self.part.staff_lines {
            self.out.tag("staff-details").attr("number", staff).open();
            self.out.leaf("staff-lines", lines);
            self.out.close("staff-details");
        }
    }

    fn staff_tuning(&mut self, index: usize, text: &str) {
        let tuning = text.split_once(": ").and_then(|(line, tuning)| {
            let line: u32 = line.parse().ok()?;
            Some((line, notation::Pitch::parse(tuning)?))
        });
        let Some((line, pitch)) = tuning else {
            self.lost_direction(index, format!("the tuning “{text}” of a string"));
            return;
        };
        self.out.open("staff-details");
        self.out.tag("staff-tuning").attr("line", line).open();
        self.tuning(pitch);
        self.out.close("staff-tuning");
        self.out.close("staff-details");
    }

    /// The pitch of a string.
    pub(super) fn tuning(&mut self, pitch: notation::Pitch) {
        self.out.leaf("tuning-step", pitch.step.letter());
        if let Some(alter) = alter_text(pitch.alter) {
            self.out.leaf("tuning-alter", alter);
        }
        self.out.leaf("tuning-octave", pitch.octave);
    }

    fn capo(&mut self, index: usize, text: &str) {
        if text.parse::<u32>().is_err() {
            self.lost_direction(index, format!("the capo “{text}”"));
            return;
        }
        self.out.open("staff-details");
        self.out.leaf("capo", text);
        self.out.close("staff-details");
    }

    /// What the player's own part of a concert score will be. Source: MusicXML 4.0, `for-part`.
    fn for_player(&mut self, alone: bool) {
        let Some(value) = self.part.for_player else {
            return;
        };
        if alone {
            self.out.open("for-part");
            self.out.open("part-transpose");
            if !self.distance(value) {
                let what = "the transposition of the player's part by parts of a semitone was rounded to a decimal number";
                self.losses.lost(self.of, Place::default(), None, what);
            }
            self.out.close("part-transpose");
            self.out.close("for-part");
        } else {
            let what =
                "a part that is transposed in the score can't also say how its player's own part will be";
            self.losses.lost(self.of, Place::default(), None, what);
        }
    }

    /// The distance from written to sounding; false if it was rounded.
    fn distance(&mut self, value: Transposition) -> bool {
        self.out.leaf("diatonic", value.diatonic);
        let (chromatic, exact) = decimal(value.chromatic);
        self.out.leaf("chromatic", chromatic);
        if value.octaves != 0 {
            self.out.leaf("octave-change", value.octaves);
        }
        if value.doubled {
            self.out.empty("double");
        }
        exact
    }

    fn transposition(&mut self, change: &Change<Transposition>) {
        self.out
            .tag("transpose")
            .maybe("number", change.staff)
            .attr("id", change.id)
            .open();
        let exact = self.distance(change.value);
        self.out.close("transpose");
        if !exact {
            self.lost_change(
                change,
                "a transposition by parts of a semitone was rounded to a decimal number",
            );
        }
    }

    fn bar_group(&mut self, at: usize, start: bool) {
        let Some(group) = self.part.bar_groups.get(at) else {
            return;
        };
        let kind = if start { "start" } else { "stop" };
        self.out.open("measure-style");
        match &group.kind {
            BarGroupKind::MultiRest => self.out.leaf("multiple-rest", group.bars),
            BarGroupKind::MeasureRepeat { pattern } => {
                let tag = self.out.tag("measure-repeat").attr("type", kind);
                if start { tag.text(pattern) } else { tag.empty() }
            }
            BarGroupKind::Other(name) => self.out.tag(name).attr("type", kind).empty(),
        }
        self.out.close("measure-style");
    }

    fn lost_change<T>(&mut self, change: &Change<T>, what: impl Into<String>) {
        self.losses.lost(self.of, change.place, Some(change.id), what);
    }

    pub(super) fn lost_direction(&mut self, index: usize, what: impl Into<String>) {
        if let Some(direction) = self.part.directions.get(index) {
            self.losses
                .lost(self.of, direction.place, Some(direction.id), what);
        }
    }
}

/// Where a group of bars ends: the start of the bar after it, or the end of the last bar.
pub(super) fn end_of_group(start: u32, bars: u32, last: u32, last_length: Quarters) -> Place {
    let end = start.saturating_add(bars);
    if end <= last {
        Place::start_of(notation::BarIndex(end))
    } else {
        Place {
            bar: notation::BarIndex(last),
            offset: last_length,
        }
    }
}
