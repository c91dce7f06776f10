//! What does a voice carry with it while it is read? Where it stands, what is in force, what is open.

use super::clef::{StaffWords, with_middle};
use super::decorations::{Family, Mark};
use crate::assemble::PartBar;
use notation::{
    Alter, Anchor, BarIndex, Barline, Clef, Head, Id, KeySignature, Metre, Part, Pitch, Place, Quarters,
    Rational, Step, TupletRatio,
};

/// What is known of a bar besides its notes.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct BarNote {
    pub new_system: bool,
    pub new_page: bool,
    /// Its number, where a directive gives it.
    pub number: Option<i64>,
    /// An ending starts with it.
    pub ending: bool,
    /// It was parted from the bar before it inside that bar.
    pub split: bool,
}

/// A tuplet that is not full yet.
#[derive(Clone, Debug)]
pub(super) struct OpenTuplet {
    pub ratio: TupletRatio,
    pub left: u16,
    pub first: Option<Anchor>,
    pub last: Option<Anchor>,
    pub range: (u32, u32),
}

/// A slur that is open: its span and the event at which it starts.
#[derive(Clone, Copy, Debug)]
pub(super) struct OpenSlur {
    pub span: usize,
    pub start: Id,
}

/// A note that is tied on.
#[derive(Clone, Copy, Debug)]
pub(super) struct OpenTie {
    pub pitch: Pitch,
    pub head: Id,
    pub layer: u16,
    pub place: Place,
    /// A repeat or an ending stands between.
    pub jump: bool,
}

/// The last note, chord or rest in time.
#[derive(Clone, Copy, Debug)]
pub(super) struct Last {
    pub event: usize,
    /// Its printed length without tuplets.
    pub base: Quarters,
    /// How far the bar reached before it.
    pub end_before: Quarters,
}

/// A chord that is being read.
#[derive(Debug)]
pub(super) struct OpenChord {
    pub id: Id,
    pub heads: Vec<Head>,
    pub length: Rational,
    pub start: usize,
    /// Marks of the next head.
    pub marks: Vec<Mark>,
    pub tied: Vec<bool>,
}

/// Grace notes that are being read.
#[derive(Debug)]
pub(super) struct OpenGrace {
    pub slash: bool,
    pub from: usize,
    pub lengths: Vec<Rational>,
    /// What waits for the main note.
    pub marks: Vec<Mark>,
    pub slurs: Vec<usize>,
}

/// Everything of one voice.
#[derive(Debug)]
pub(super) struct Voice {
    pub id: String,
    pub part: Part,
    pub facts: Vec<PartBar>,
    pub bars: Vec<BarNote>,
    pub barlines: Vec<Barline>,
    pub bar: BarIndex,
    /// Quarter notes from the start of the bar.
    pub cursor: Quarters,
    pub end: Quarters,
    pub first_event: usize,
    pub has_content: bool,
    pub whole_rest: Option<u32>,
    /// Bar being read.
    pub note: BarNote,
    /// In force.
    pub signature: [Alter; 7],
    pub metre: Option<Metre>,
    pub bar_length: Option<Quarters>,
    /// The metre's length from the next bar on.
    pub next_length: Option<Option<Quarters>>,
    pub unit: Quarters,
    pub clef: Clef,
    pub middle_octave: i8,
    pub octave: i8,
    pub ottava: i8,
    /// Accidentals of this bar.
    pub accidentals: Vec<(Step, i8, Alter)>,
    /// The overlay being read: 0 is the voice itself.
    pub layer: u16,
    pub last: Option<Last>,
    /// The last note or chord, grace notes included: where slurs end.
    pub last_note: Option<usize>,
    pub broken: Option<Rational>,
    pub tuplets: Vec<OpenTuplet>,
    pub beam: Vec<usize>,
    pub slurs: Vec<OpenSlur>,
    /// Slurs that wait for their first note: where they stand in the text.
    pub slur_starts: Vec<usize>,
    pub ties: Vec<OpenTie>,
    pub open: Vec<(Family, usize)>,
    pub marks: Vec<Mark>,
    pub chord: Option<OpenChord>,
    pub grace: Option<OpenGrace>,
    pub grace_order: u16,
    /// The ending that is open: its numbers and its first bar.
    pub ending: Option<(String, BarIndex)>,
    /// How many bars the first ending of the passage had.
    pub first_ending: Option<u32>,
    /// How often the passage that was opened is played, where more than twice.
    pub times: Option<u32>,
    /// A line of the source ended where the bar was full: what follows is a new bar.
    pub full_at_line_end: bool,
    pub break_before: bool,
    /// Notes that take a syllable, and where the lines of text before began.
    pub sung: Vec<usize>,
    pub text_from: usize,
    pub text_to: usize,
    pub verse: usize,
    pub in_text: bool,
    pub symbols_from: usize,
    pub symbols_to: usize,
    pub in_symbols: bool,
    /// It was read from.
    pub used: bool,
}

impl Voice {
    pub(super) fn new(id: String, part: Part) -> Self {
        Self {
            id,
            part,
            facts: Vec::new(),
            bars: Vec::new(),
            barlines: Vec::new(),
            bar: BarIndex(0),
            cursor: Quarters::ZERO,
            end: Quarters::ZERO,
            first_event: 0,
            has_content: false,
            whole_rest: None,
            note: BarNote::default(),
            signature: [Rational::ZERO; 7],
            metre: None,
            bar_length: None,
            next_length: None,
            unit: Rational::new(1, 2),
            clef: Clef::TREBLE,
            middle_octave: 0,
            octave: 0,
            ottava: 0,
            accidentals: Vec::new(),
            layer: 0,
            last: None,
            last_note: None,
            broken: None,
            tuplets: Vec::new(),
            beam: Vec::new(),
            slurs: Vec::new(),
            slur_starts: Vec::new(),
            ties: Vec::new(),
            open: Vec::new(),
            marks: Vec::new(),
            chord: None,
            grace: None,
            grace_order: 0,
            ending: None,
            first_ending: None,
            times: None,
            full_at_line_end: false,
            break_before: false,
            sung: Vec::new(),
            text_from: 0,
            text_to: 0,
            verse: 0,
            in_text: false,
            symbols_from: 0,
            symbols_to: 0,
            in_symbols: false,
            used: false,
        }
    }

    pub(super) fn place(&self) -> Place {
        Place {
            bar: self.bar,
            offset: self.cursor,
        }
    }

    /// Takes a key signature into force.
    pub(super) fn set_signature(&mut self, key: &KeySignature) {
        for step in Step::ALL {
            if let Some(slot) = usize::try_from(step.index())
                .ok()
                .and_then(|at| self.signature.get_mut(at))
            {
                *slot = key.alter_of(step);
            }
        }
    }

    /// What the signature does to a letter.
    pub(super) fn signature_of(&self, step: Step) -> Alter {
        usize::try_from(step.index())
            .ok()
            .and_then(|at| self.signature.get(at))
            .copied()
            .unwrap_or_default()
    }

    /// Takes a metre into force, at once at the start of a bar, else from the next one on.
    pub(super) fn set_metre(&mut self, metre: Option<Metre>) {
        let length = metre.as_ref().and_then(Metre::length);
        self.metre = metre;
        if self.has_content {
            self.next_length = Some(length);
        } else {
            self.bar_length = length;
            self.next_length = None;
        }
    }

    /// Takes the staff's words into force; true if the clef changed.
    pub(super) fn set_staff(&mut self, words: &StaffWords) -> bool {
        let before = self.clef;
        if let Some(octave) = words.octave {
            self.octave = octave;
        }
        if let Some(clef) = words.clef {
            self.clef = clef;
            self.middle_octave = 0;
        }
        if let Some(middle) = words.middle {
            (self.clef, self.middle_octave) = with_middle(self.clef, middle);
        }
        self.clef != before
    }

    /// Octaves by which a letter is read higher than it says.
    pub(super) fn octaves(&self) -> i32 {
        i32::from(self.octave)
            + i32::from(self.middle_octave)
            + i32::from(self.clef.octave_change)
            + i32::from(self.ottava)
    }
}
