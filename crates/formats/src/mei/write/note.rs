//! How is an event written? Notes with their accidentals, chords, rests and spaces, with what stands on them.

use super::xml::{Node, is_word};
use super::{Writer, names, time};
use notation::{Event, EventKind, Head, HeadNote, Lyric, NoteValue, Pitch, Rational, Side, Step, Technical};

/// Technical marks that belong to one head, wherever the source put them.
const OF_HEAD: [&str; 11] = [
    "fingering",
    "string",
    "fret",
    "pluck",
    "harmonic",
    "open-string",
    "thumb-position",
    "bend",
    "hole",
    "arrow",
    "fingernails",
];

/// True if a technical mark is one of the head's rather than of the whole event's.
pub(in super::super) fn is_of_head(name: &str) -> bool {
    OF_HEAD.contains(&name)
}

/// `place`.
pub(super) const fn place(side: Side) -> &'static str {
    match side {
        Side::Above => "above",
        Side::Below => "below",
    }
}

impl<'p> Writer<'p> {
    /// An event in a layer whose home is `home`; `scale` turns its length into the printed one.
    pub(super) fn event(
        &mut self,
        part: usize,
        event: &'p Event,
        home: u8,
        scale: Rational,
        in_tremolo: bool,
    ) -> Node {
        let mut node = match &event.kind {
            EventKind::Chord(heads) => match heads.as_slice() {
                [head] => {
                    let mut node = self.head(part, event, head, true);
                    self.on_chord(part, event, &mut node);
                    node
                }
                heads => {
                    let mut node = Node::new("chord").id(event.id);
                    for head in heads {
                        let head = self.head(part, event, head, false);
                        node.push(head);
                    }
                    self.on_chord(part, event, &mut node);
                    node
                }
            },
            EventKind::Rest { .. } | EventKind::Space => self.silence(event),
        };
        self.length(part, event, scale, &mut node);
        if event.cue {
            if node.is("space") || node.is("mSpace") {
                node.tag("cue");
            } else {
                node.set("cue", "true");
            }
        }
        if let Some(plan) = self.parts.get(part)
            && event.staff != home
        {
            node.set("staff", plan.staff(event.staff));
        }
        if let Some(grace) = event.grace {
            if event.is_note() {
                node.set("grace", if grace.slash { "unacc" } else { "acc" });
                if grace.slash {
                    node.set("stem.mod", "1slash");
                }
            } else {
                self.lost(part, event.place, "a rest among grace notes takes time in MEI");
            }
        }
        if in_tremolo {
            return node;
        }
        self.repeated(event, node)
    }

    /// A note with strokes through its stem stands in a `bTrem`.
    fn repeated(&self, event: &Event, mut node: Node) -> Node {
        let Some(strokes) = super::marks::tremolo(event).filter(|_| event.is_note()) else {
            return node;
        };
        let mut tremolo = Node::new("bTrem").id(format!("{}-tremolo", event.id));
        super::marks::tremolo_words(event, false, &mut tremolo);
        match strokes {
            // As fast as possible, not in counted strokes.
            0 => {
                tremolo.set("form", "unmeas");
                node.set("stem.mod", "3slash");
            }
            1..=6 => {
                let flags = event.written.as_ref().map_or(0, |written| {
                    [
                        NoteValue::Eighth,
                        NoteValue::N16th,
                        NoteValue::N32nd,
                        NoteValue::N64th,
                    ]
                    .iter()
                    .filter(|value| written.value <= **value)
                    .count()
                });
                let unit = 4_u32 << (usize::from(strokes) + flags).min(8);
                tremolo.set("unitdur", unit);
                node.set("stem.mod", format!("{strokes}slash"));
            }
            more => tremolo.tag(format!("strokes.{more}")),
        }
        tremolo.child(node)
    }

    /// What is printed for the length, and the length itself where the print does not tell it.
    fn length(&mut self, part: usize, event: &Event, scale: Rational, node: &mut Node) {
        if node.is("mRest") || node.is("mSpace") {
            self.whole_bar(part, event, node);
            return;
        }
        let said = event
            .written
            .as_ref()
            .filter(|_| !matches!(event.kind, EventKind::Space));
        let (value, dots) = match said {
            Some(written) => (written.value, written.dots),
            None => {
                if !matches!(event.kind, EventKind::Space) {
                    node.tag("value-unsaid");
                }
                let printed = event.duration * scale;
                let usual = (NoteValue::Eighth, 0);
                let nearest = || (time::nearest_value(printed), 0);
                if event.is_grace() {
                    usual
                } else {
                    time::plain_value(printed).unwrap_or_else(nearest)
                }
            }
        };
        match names::duration(value) {
            Some(name) => node.set("dur", name),
            None => {
                self.lost(part, event.place, "a maxima was written as a long");
                node.set("dur", "long");
                node.tag("maxima");
            }
        }
        if dots > 0 {
            node.set("dots", dots.min(4));
            if dots > 4 {
                self.lost(part, event.place, "a note has more than four dots");
            }
        }
        if event.is_grace() {
            let chain = event.written.as_ref().map_or(&[][..], |written| &written.tuplets);
            if !chain.is_empty() {
                let ratios: Vec<String> = chain
                    .iter()
                    .map(|r| format!("{}_{}", r.actual, r.normal))
                    .collect();
                node.tag(format!("tuplets.{}", ratios.join(".")));
            }
            return;
        }
        // What MEI makes of it: value and dots in the tuplets around it.
        let plain = notation::Written {
            value,
            dots,
            tuplets: Vec::new(),
        };
        if plain.quarters() / scale != event.duration {
            match self.ticks(event.duration) {
                Some(ticks) => node.set("dur.ppq", ticks),
                None => self.lost(
                    part,
                    event.place,
                    "a note lasts longer or shorter than it is printed, in parts too small to say",
                ),
            }
        }
    }

    fn whole_bar(&mut self, part: usize, event: &Event, node: &mut Node) {
        if let Some(written) = &event.written {
            if let Some(name) = names::duration(written.value) {
                node.set("dur", name);
            }
            if written.dots > 0 || !written.tuplets.is_empty() {
                node.tag(format!("dots.{}", written.dots));
            }
        }
        let bar = self.piece.bars.get(event.place.bar.get()).map(|bar| bar.length);
        let plan = self.parts.get(part).map(|plan| plan.part);
        let metre = plan
            .and_then(|part| part.metre_at(notation::Place::start_of(event.place.bar)))
            .and_then(notation::Metre::length);
        if (bar != Some(event.duration) || metre != bar)
            && let Some(ticks) = self.ticks(event.duration)
        {
            node.set("dur.ppq", ticks);
        }
    }

    fn silence(&self, event: &Event) -> Node {
        let bar = self.piece.bars.get(event.place.bar.get()).map(|bar| bar.length);
        let whole = matches!(event.kind, EventKind::Rest { whole_bar: true })
            && event.place.offset.is_zero()
            && bar == Some(event.duration)
            && !event.is_grace();
        let node = match (event.is_rest(), event.printed) {
            (true, true) if whole => Node::new("mRest"),
            (true, false) if whole => Node::new("mSpace").tagged("rest"),
            (true, true) => Node::new("rest"),
            // MEI's rests can't be hidden: a space takes their time.
            (true, false) => Node::new("space").tagged("rest"),
            (false, _) => Node::new("space"),
        };
        let mut node = node.id(event.id);
        if matches!(event.kind, EventKind::Rest { whole_bar: true }) && !whole {
            node.tag("whole-bar");
        }
        if !event.is_rest() && !event.printed {
            node.tag("unprinted");
        }
        node
    }

    /// A head: a note of its own, or one of a chord.
    fn head(&mut self, part: usize, event: &'p Event, head: &'p Head, alone: bool) -> Node {
        let mut node = Node::new("note");
        if alone {
            node = node.id(event.id).tagged(head.id.to_string());
        } else {
            node = node.id(head.id);
        }
        match head.note {
            HeadNote::Pitch(pitch) => self.pitch(part, event, head, pitch, &mut node),
            HeadNote::Unpitched(place) => {
                node.tag("unpitched");
                match place {
                    // As if in the treble clef, whose lowest line is E4.
                    Some(pitch) => node.set("loc", pitch.diatonic() - (4 * 7 + Step::E.index())),
                    None => {
                        node.set("loc", 4);
                        node.tag("no-place");
                    }
                }
            }
        }
        if let Some(plan) = self.parts.get(part)
            && !alone
            && head.staff != event.staff
        {
            node.set("staff", plan.staff(head.staff));
        }
        self.shape(head, &mut node);
        if !event.printed {
            node.set("visible", "false");
        }
        self.tie_words(part, head, &mut node);
        self.accidental(part, event, head, &mut node);
        for (nth, mark) in head.technical.iter().enumerate() {
            self.technical_child(format!("{}-technical{}", head.id, nth + 1), mark, &mut node);
        }
        node
    }

    fn pitch(&mut self, part: usize, event: &Event, head: &Head, pitch: Pitch, node: &mut Node) {
        node.set("pname", pitch.step.letter().to_ascii_lowercase());
        let ottava = self
            .parts
            .get(part)
            .map_or(0, |plan| plan.ottava(head.staff, event.place));
        let drawn = i16::from(pitch.octave) - i16::from(ottava);
        if !(0..=9).contains(&drawn) || !(0..=9).contains(&pitch.octave) {
            self.lost(
                part,
                event.place,
                "a note is drawn or sounds in an octave that MEI has no number for",
            );
        }
        node.set("oct", drawn.clamp(0, 9));
        if ottava != 0 {
            node.set("oct.ges", pitch.octave.clamp(0, 9));
        }
    }

    fn shape(&self, head: &Head, node: &mut Node) {
        if let Some(shape) = &head.shape {
            match names::head_shape(shape) {
                Some(name) => node.set("head.shape", name),
                None => node.tag(format!("head.{}", shape.replace(' ', "_"))),
            }
        }
        if head.parentheses {
            node.set("head.mod", "paren");
        }
    }

    /// Ties that lead nowhere: those that lead somewhere are elements of their own.
    fn tie_words(&self, part: usize, head: &Head, node: &mut Node) {
        let Some(plan) = self.parts.get(part) else { return };
        let open = head.tie_start && !plan.ties.to.contains_key(&head.id);
        let late = plan.ties.without_start.contains(&head.id);
        match (open, late) {
            (true, true) => node.set("tie", "m"),
            (true, false) => node.set("tie", "i"),
            (false, true) => node.set("tie", "t"),
            (false, false) => {}
        }
    }

    fn accidental(&mut self, part: usize, event: &Event, head: &Head, node: &mut Node) {
        let alter = head.pitch().map_or(Rational::ZERO, |pitch| pitch.alter);
        let ges = names::gestural(alter);
        if ges.is_none() {
            self.lost(
                part,
                event.place,
                "a note is altered by an amount that MEI has no name for; it is written unaltered",
            );
        }
        let Some(printed) = &head.accidental else {
            if let Some(ges) = ges.filter(|_| !alter.is_zero()) {
                node.set("accid.ges", ges);
            }
            return;
        };
        let mut accid = Node::new("accid").id(format!("{}-accid", head.id));
        match names::accidental(&printed.sign) {
            Some(sign) => {
                accid.set("accid", sign);
                if printed.sign == "double-flat" {
                    accid.set("label", &printed.sign);
                }
            }
            None => {
                accid.set("label", &printed.sign);
                self.lost(
                    part,
                    event.place,
                    format!("the accidental “{}” has no name in MEI", printed.sign),
                );
            }
        }
        if printed.alter != Some(alter)
            && let Some(ges) = ges
        {
            accid.set("accid.ges", ges);
        }
        if printed.alter.is_none() && names::has_fixed_effect(&printed.sign) {
            accid.tag("effect-unsaid");
        }
        match (printed.cautionary, printed.editorial) {
            (true, false) => accid.set("func", "caution"),
            (false, true) => accid.set("func", "edit"),
            (true, true) => {
                accid.set("func", "edit");
                accid.tag("caution");
            }
            (false, false) => {}
        }
        if printed.parentheses {
            accid.set("enclose", "paren");
        }
        node.push(accid);
    }

    /// What stands on a note or chord as a whole.
    fn on_chord(&mut self, part: usize, event: &Event, node: &mut Node) {
        if !event.printed {
            node.set("visible", "false");
        }
        for (nth, mark) in event.articulations.iter().enumerate() {
            let id = format!("{}-artic{}", event.id, nth + 1);
            if let Some(name) = names::articulation(&mark.kind) {
                node.push(
                    Node::new("artic")
                        .id(id)
                        .attr("artic", name)
                        .maybe("place", mark.side.map(place)),
                );
            }
        }
        for (nth, mark) in event.technical.iter().enumerate() {
            self.technical_child(format!("{}-technical{}", event.id, nth + 1), mark, node);
        }
        for (nth, lyric) in event.lyrics.iter().enumerate() {
            let verse = self.verse(part, event, nth, lyric);
            node.push(verse);
        }
    }

    /// A technical mark that is an articulation in MEI.
    fn technical_child(&self, id: String, mark: &Technical, node: &mut Node) {
        if let Some(name) = names::technical(&mark.name) {
            let mut artic = Node::new("artic").id(id).attr("artic", name);
            if !mark.text.is_empty() {
                artic.set("label", &mark.text);
            }
            node.push(artic.maybe("place", mark.side.map(place)));
        }
    }

    fn verse(&mut self, part: usize, event: &Event, nth: usize, lyric: &Lyric) -> Node {
        let mut verse = Node::new("verse").id(format!("{}-verse{}", event.id, nth + 1));
        if is_word(&lyric.line) {
            verse.set("n", &lyric.line);
        } else {
            verse.set("label", &lyric.line);
        }
        let mut syllable = Node::new("syl");
        match lyric.syllabic.as_str() {
            "single" => syllable.set("wordpos", "s"),
            "begin" => syllable.set("wordpos", "i"),
            "middle" => syllable.set("wordpos", "m"),
            "end" => syllable.set("wordpos", "t"),
            "" => {}
            other => self.lost(part, event.place, format!("a syllable says that it is “{other}”")),
        }
        let goes_on = matches!(lyric.syllabic.as_str(), "begin" | "middle");
        match (goes_on, lyric.extend) {
            (true, false) => syllable.set("con", "d"),
            (true, true) => {
                syllable.set("con", "d");
                syllable.tag("extend");
            }
            (false, true) => syllable.set("con", "u"),
            (false, false) => {}
        }
        verse.child(syllable.lines(&lyric.text))
    }
}
