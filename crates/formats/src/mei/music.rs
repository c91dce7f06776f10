//! Where are we in the score? All parts at once, since MEI writes bar after bar: staves, voices, names of elements.

use super::control::Control;
use super::force::Force;
use super::order::Order;
use super::tuplets::{ActiveSpan, MeasureSpans};
use super::values::id_of;
use crate::assemble::{MOST_PARTS, PartBar, Score};
use crate::report::{Here, Why};
use crate::xml::El;
use notation::{
    BarIndex, Barline, Event, EventKind, Finding, Id, IdKind, KeySignature, NoteValue, Origin, Part, Place,
    Quarters, Rational, Severity, Written,
};
use std::borrow::Cow;
use std::collections::{BTreeMap, HashMap};

/// More voices than any part has.
const MOST_VOICES: usize = 200;

/// The score as far as it is read.
pub(super) struct Music<'a> {
    /// The decoded text of the file.
    pub text: &'a str,
    pub score: Score,
    pub parts: Vec<PartState<'a>>,
    pub staves: Vec<Staff>,
    /// Staves by their number in the file.
    pub staff_numbers: BTreeMap<String, usize>,
    /// The bar being read.
    pub bar: BarIndex,
    /// Bars begun so far (of the part being read, where a file goes part by part).
    pub bars: usize,
    /// For each `<measure>` the bar at which it starts.
    pub measures: Vec<BarIndex>,
    pub controls: Vec<Control<'a>>,
    /// What the file's names stand for.
    pub ids: HashMap<Cow<'a, str>, Target>,
    /// What takes effect at the next bar.
    pub pending: Vec<(usize, Force)>,
    /// Ticks of a quarter note.
    pub ppq: Option<Rational>,
    /// The file says nowhere how a note sounds apart from its printed accidental.
    pub accidentals_from_page: bool,
    /// A printed accidental or signature was applied to a note without one.
    pub applied: bool,
    /// Tuplets of this measure that are written beside the notes.
    pub tuplet_spans: MeasureSpans<'a>,
    pub new_system: bool,
    pub new_page: bool,
    /// In a file that goes part by part: the part being read is the first that is active.
    pub active_from: usize,
    pub order: Order<'a>,
    /// The number of the bar last read.
    pub number: u64,
    /// Bars just before that have no number: how many, and the number that the first was given for the time being.
    pub unnumbered: usize,
    pub first_unnumbered: Option<u64>,
    /// Bars inside the piece that are not counted.
    pub uncounted: u64,
    /// What our own writer says beyond MEI, in a file of ours.
    pub own: Option<super::own::Own>,
}

/// What a name of the file stands for.
#[derive(Clone, Copy, Debug)]
pub(super) enum Target {
    /// A note, rest or chord; the head where one head is meant.
    Event {
        part: u32,
        event: u32,
        head: Option<u32>,
    },
    /// A measure.
    Bar(BarIndex),
}

/// One staff of the score.
#[derive(Debug)]
pub(super) struct Staff {
    pub part: usize,
    /// Its number in the part, from 1.
    pub index: u8,
    pub key: KeySignature,
    pub force: Force,
    /// The duration and octave of notes that state none.
    pub default_dur: Option<NoteValue>,
    pub default_oct: Option<i8>,
    /// Alterations in force in this bar where the file leaves them to the page: by letter and octave.
    pub altered: BTreeMap<(notation::Step, i8), notation::Alter>,
    /// The last alteration of each, for ties over the bar line.
    pub sounded: BTreeMap<(notation::Step, i8), notation::Alter>,
}

/// One part while it is read.
pub(super) struct PartState<'a> {
    pub part: Part,
    /// How it is called in messages.
    pub name: String,
    pub facts: Vec<PartBar>,
    pub lines: Vec<Barline>,
    /// The length of a bar by the metre in force.
    pub metre: Option<Quarters>,
    pub next_metre: Option<Option<Quarters>>,
    /// The number below the metre, from each bar where it changes.
    pub units: Vec<(BarIndex, u16)>,
    /// Index of the first event of this bar.
    pub first_event: usize,
    pub whole_rest: Option<u32>,
    /// The furthest that anything in the bar reaches.
    pub end: Quarters,
    pub voices: Vec<VoiceState<'a>>,
    /// Octaves at which notes sound by the file where they differ from those written: event, head.
    pub sounding_octaves: BTreeMap<(u32, u32), i8>,
    /// Slurs written as attributes that are open: their number and where they start.
    pub open_slurs: Vec<(String, u32)>,
}

/// One layer of one staff.
#[derive(Debug, Default)]
pub(super) struct VoiceState<'a> {
    pub staff: u8,
    pub layer: String,
    /// Tuplet spans that reach into the next measure.
    pub spans: Vec<ActiveSpan<'a>>,
    /// How far it reaches in this bar.
    pub reach: Quarters,
    /// Bars that it stands in but does not fill: how many, and the first.
    pub incomplete: u32,
    pub first_incomplete: Option<BarIndex>,
    /// Spaces that take the whole bar, to be fitted at its end.
    pub bar_space: Option<usize>,
    /// The measure in which it stood last, counted from 1.
    pub measure: usize,
    /// Lines of text whose last syllable is followed by a hyphen, where only hyphens tell how words go on.
    pub hyphens: Vec<String>,
}

impl<'a> Music<'a> {
    pub(super) fn new(text: &'a str) -> Self {
        Self {
            text,
            score: Score::default(),
            parts: Vec::new(),
            staves: Vec::new(),
            staff_numbers: BTreeMap::new(),
            bar: BarIndex(0),
            bars: 0,
            measures: Vec::new(),
            controls: Vec::new(),
            ids: HashMap::new(),
            pending: Vec::new(),
            ppq: None,
            accidentals_from_page: memchr::memmem::find(text.as_bytes(), b"accid.ges").is_none()
                && memchr::memmem::find(text.as_bytes(), b"pnum").is_none(),
            applied: false,
            tuplet_spans: MeasureSpans::default(),
            new_system: false,
            new_page: false,
            active_from: 0,
            order: Order::default(),
            number: 0,
            unnumbered: 0,
            first_unnumbered: None,
            uncounted: 0,
            own: None,
        }
    }

    /// A new part.
    pub(super) fn add_part(&mut self, name: String) -> usize {
        let number = self.parts.len();
        let id = self.score.piece.ids.give(IdKind::Part);
        let shown = if name.trim().is_empty() {
            format!("part {}", number + 1)
        } else {
            name.clone()
        };
        self.parts.push(PartState {
            part: Part::new(id, name),
            name: shown,
            facts: Vec::new(),
            lines: Vec::new(),
            metre: None,
            next_metre: None,
            units: Vec::new(),
            first_event: 0,
            whole_rest: None,
            end: Quarters::ZERO,
            voices: Vec::new(),
            sounding_octaves: BTreeMap::new(),
            open_slurs: Vec::new(),
        });
        number
    }

    /// The staff with a number in the file; made, with a finding, if no definition names it.
    pub(super) fn staff_numbered(&mut self, number: &str) -> Option<usize> {
        if let Some(known) = self.staff_numbers.get(number) {
            return Some(*known);
        }
        if self.parts.len() >= MOST_PARTS {
            return None;
        }
        let part = self.add_part(String::new());
        self.find(
            Severity::Caution,
            "part-not-listed",
            None,
            Quarters::ZERO,
            format!(
                "staff {} is missing from the score's list of staves",
                super::values::short(number)
            ),
            "give it a name if you know its instrument",
        );
        Some(self.add_staff(number, part))
    }

    /// A new staff of a part.
    pub(super) fn add_staff(&mut self, number: &str, part: usize) -> usize {
        let at = self.staves.len();
        let before = self.staves.iter().filter(|staff| staff.part == part).count();
        let index = u8::try_from(before + 1).unwrap_or(u8::MAX);
        if let Some(state) = self.parts.get_mut(part) {
            state.part.staves = state.part.staves.max(index);
        }
        self.staves.push(Staff {
            part,
            index,
            key: KeySignature::of_fifths(0),
            force: Force::default(),
            default_dur: None,
            default_oct: None,
            altered: BTreeMap::new(),
            sounded: BTreeMap::new(),
        });
        self.staff_numbers.insert(number.chars().take(40).collect(), at);
        at
    }

    /// The voice of a layer. A part of one staff calls it by the layer's number; further staves count on from 5, 9 …
    /// as is usual in MusicXML.
    pub(super) fn voice(&mut self, part: usize, staff: u8, layer: &str) -> u16 {
        let Some(state) = self.parts.get_mut(part) else {
            return 0;
        };
        let known = state
            .voices
            .iter()
            .position(|v| v.staff == staff && v.layer == layer);
        if let Some(known) = known {
            return u16::try_from(known).unwrap_or(0);
        }
        if state.voices.len() >= MOST_VOICES {
            return 0;
        }
        let usual = layer.parse::<u16>().ok().filter(|n| (1..=4).contains(n));
        let mut name = match usual {
            Some(n) => (n + 4 * u16::from(staff.saturating_sub(1))).to_string(),
            None => layer.chars().take(20).collect(),
        };
        if state.part.voices.contains(&name) {
            name = format!("{staff}.{name}");
        }
        state.part.voices.push(name);
        state.voices.push(VoiceState {
            staff,
            layer: layer.to_owned(),
            ..VoiceState::default()
        });
        u16::try_from(state.voices.len() - 1).unwrap_or(0)
    }

    pub(super) fn here(&self, part: Option<usize>, offset: Quarters) -> Here {
        let bar = (self.bars > 0).then(|| (self.bar, self.score.piece.label(self.bar).to_owned()));
        Here {
            part: part
                .and_then(|part| self.parts.get(part))
                .map(|state| state.name.clone()),
            bar,
            offset,
        }
    }

    pub(super) fn find(
        &mut self,
        severity: Severity,
        kind: &'static str,
        part: Option<usize>,
        offset: Quarters,
        what: impl Into<String>,
        advice: &str,
    ) {
        let finding = self
            .here(part, offset)
            .put(Finding::new(severity, kind, what, advice));
        self.score.report.push(finding);
    }

    /// Reports something that is not taken into the piece.
    pub(super) fn unread(&mut self, name: &str, inside: &str, why: Why) {
        let bar = (self.bars > 0).then_some(self.bar);
        let bars = &self.score.piece.bars;
        self.score.report.unread(name, inside, why, || Here {
            part: None,
            bar: bar.map(|bar| {
                (
                    bar,
                    bars.get(bar.get()).map(|b| b.label.clone()).unwrap_or_default(),
                )
            }),
            offset: Quarters::ZERO,
        });
    }

    /// A new id, with where the element came from.
    pub(super) fn id(&mut self, kind: IdKind, el: El<'_, 'a>) -> Id {
        self.id_from(kind, el.range(), id_of(el).map(Cow::into_owned))
    }

    pub(super) fn id_from(&mut self, kind: IdKind, range: (u32, u32), foreign_id: Option<String>) -> Id {
        let id = self.score.piece.ids.give(kind);
        let origin = Origin {
            range: Some(range),
            foreign_id,
            ..Origin::default()
        };
        self.score.piece.provenance.origins.insert(id, origin);
        id
    }

    pub(super) fn place(&self, offset: Quarters) -> Place {
        Place {
            bar: self.bar,
            offset,
        }
    }

    /// Remembers what a name of the file stands for; the first with a name has it.
    pub(super) fn name(&mut self, el: El<'_, 'a>, target: Target) {
        if let Some(id) = id_of(el) {
            self.ids.entry(id).or_insert(target);
        }
    }

    /// An event with nothing attached to it yet.
    pub(super) fn blank_event(
        &mut self,
        el: El<'_, 'a>,
        kind: EventKind,
        offset: Quarters,
        duration: Quarters,
        written: Option<Written>,
    ) -> Event {
        Event {
            id: self.id(IdKind::Event, el),
            place: self.place(offset),
            kind,
            duration,
            written,
            grace: None,
            cue: false,
            voice: 0,
            staff: 1,
            printed: true,
            beams: Vec::new(),
            articulations: Vec::new(),
            ornaments: Vec::new(),
            technical: Vec::new(),
            fermatas: Vec::new(),
            dynamics: Vec::new(),
            arpeggio: None,
            lyrics: Vec::new(),
        }
    }
}
