//! What stands on a page that is being written? Bars of tones, before they have ids, accidentals and beams.
//!
//! Drills change tones; [`page`] makes a piece of them. Nothing here knows what a drill is for.

mod beams;
mod excerpt;
mod page;
mod pulse;
mod spell;
mod tuplets;

pub(crate) use excerpt::{excerpt, whole_voice};
pub(crate) use page::{Chapter, write};
pub(crate) use pulse::Pulse;
pub(crate) use spell::{bar_up, fill_bar, silence};

use notation::{
    Articulation, BarIndex, Beam, Clef, Fermata, HeadNote, Id, KeySignature, Metre, Ornament, Pitch,
    Quarters, SpanKind, Technical, TupletRatio,
};

/// A note, chord or rest.
#[derive(Clone, PartialEq, Debug, Default)]
pub(crate) struct Tone {
    /// How long, in quarter notes.
    pub length: Quarters,
    /// What sounds; empty for a rest.
    pub heads: Vec<Sounded>,
    /// How the source writes it; `None` where it is to be spelled.
    pub written: Option<notation::Written>,
    /// The tuplets it stands in, outermost first.
    pub chain: Vec<TupletRatio>,
    /// Held into the next tone.
    pub tied: bool,
    /// Small notes before it.
    pub graces: Vec<Small>,
    /// A slur leads from its small notes to it.
    pub graces_slurred: bool,
    pub articulations: Vec<Articulation>,
    pub ornaments: Vec<Ornament>,
    pub fermatas: Vec<Fermata>,
    pub technical: Vec<Technical>,
    pub arpeggio: Option<String>,
    /// Beams as the source has them.
    pub beams: Vec<Beam>,
    /// Words over it.
    pub words: Option<String>,
    /// Its number in the passage, rising; what [`Reach`] holds on to.
    pub mark: u32,
    /// The event of the source that it was made from.
    pub from: Option<Id>,
}

/// One head of a tone.
#[derive(Clone, PartialEq, Debug)]
pub(crate) struct Sounded {
    pub note: HeadNote,
    /// The source prints a courtesy accidental.
    pub courtesy: bool,
    pub technical: Vec<Technical>,
    pub shape: Option<String>,
}

/// A grace note.
#[derive(Clone, PartialEq, Debug)]
pub(crate) struct Small {
    pub heads: Vec<Sounded>,
    pub written: Option<notation::Written>,
    pub slash: bool,
    pub from: Option<Id>,
}

/// A bar.
#[derive(Clone, PartialEq, Debug)]
pub(crate) struct DraftBar {
    /// Its length in quarter notes.
    pub length: Quarters,
    /// Where its first moment stands in the full bar: 0 but for pickups and second halves of split bars.
    pub lead: Quarters,
    pub metre: Option<Metre>,
    /// Written beats of each group that an uneven bar falls into, where the page shows it; else empty.
    pub groups: Vec<u16>,
    pub key: KeySignature,
    pub clef: Clef,
    /// Clefs that change inside it, by offset.
    pub clefs: Vec<(Quarters, Clef)>,
    /// Signatures that change inside it, by offset.
    pub keys: Vec<(Quarters, KeySignature)>,
    pub tones: Vec<Tone>,
    /// The bar of the source.
    pub from: Option<BarIndex>,
    /// Words over its beginning.
    pub words: Option<String>,
    /// Loudness as printed, by offset.
    pub dynamics: Vec<(Quarters, String)>,
}

/// What reaches over several tones.
#[derive(Clone, PartialEq, Debug)]
pub(crate) struct Reach {
    pub from: u32,
    pub to: u32,
    pub kind: SpanKind,
}

/// Some bars that belong together: one statement of a drill.
#[derive(Clone, PartialEq, Debug, Default)]
pub(crate) struct Passage {
    pub bars: Vec<DraftBar>,
    pub reaches: Vec<Reach>,
    /// A repeat sign stands before it.
    pub opens: bool,
    /// A repeat sign stands after it.
    pub closes: bool,
}

impl Tone {
    /// A rest.
    pub fn rest(length: Quarters) -> Self {
        Self {
            length,
            ..Self::default()
        }
    }

    /// A note of one pitch.
    pub fn note(pitch: Pitch, length: Quarters) -> Self {
        Self {
            length,
            heads: vec![Sounded::of(pitch)],
            ..Self::default()
        }
    }

    pub fn is_note(&self) -> bool {
        !self.heads.is_empty()
    }

    pub fn is_rest(&self) -> bool {
        self.heads.is_empty()
    }

    /// The highest pitch.
    pub fn top(&self) -> Option<Pitch> {
        self.heads.iter().filter_map(Sounded::pitch).max()
    }

    /// The same tone at another length, to be spelled anew.
    pub fn lasting(&self, length: Quarters) -> Self {
        Self {
            length,
            written: None,
            beams: Vec::new(),
            ..self.clone()
        }
    }

    /// Without anything that stands at it.
    pub fn bare(&self) -> Self {
        Self {
            length: self.length,
            heads: self
                .heads
                .iter()
                .map(|head| Sounded {
                    technical: Vec::new(),
                    ..head.clone()
                })
                .collect(),
            written: self.written.clone(),
            chain: self.chain.clone(),
            tied: self.tied,
            mark: self.mark,
            from: self.from,
            ..Self::default()
        }
    }

    /// A rest in its place, written as it was.
    pub fn silenced(&self) -> Self {
        Self {
            length: self.length,
            written: self.written.clone(),
            chain: self.chain.clone(),
            ..Self::default()
        }
    }

    /// Every pitch changed, small notes included.
    pub fn moved(mut self, change: &dyn Fn(Pitch) -> Pitch) -> Self {
        let small = self.graces.iter_mut().flat_map(|small| small.heads.iter_mut());
        for head in self.heads.iter_mut().chain(small) {
            if let HeadNote::Pitch(pitch) = head.note {
                head.note = HeadNote::Pitch(change(pitch));
            }
        }
        self
    }
}

impl Sounded {
    pub fn of(pitch: Pitch) -> Self {
        Self {
            note: HeadNote::Pitch(pitch),
            courtesy: false,
            technical: Vec::new(),
            shape: None,
        }
    }

    pub fn pitch(&self) -> Option<Pitch> {
        match self.note {
            HeadNote::Pitch(pitch) => Some(pitch),
            HeadNote::Unpitched(_) => None,
        }
    }
}

impl DraftBar {
    /// An empty bar like another one.
    pub fn like(other: &Self) -> Self {
        Self {
            length: other.full(),
            lead: Quarters::ZERO,
            metre: other.metre.clone(),
            groups: other.groups.clone(),
            key: other.key.clone(),
            clef: other.clef,
            clefs: Vec::new(),
            keys: Vec::new(),
            tones: Vec::new(),
            from: None,
            words: None,
            dynamics: Vec::new(),
        }
    }

    /// What its metre asks for; its own length without metre.
    pub fn full(&self) -> Quarters {
        self.metre.as_ref().and_then(Metre::length).unwrap_or(self.length)
    }

    /// True if it is as long as its metre asks.
    pub fn is_full(&self) -> bool {
        self.length == self.full()
    }

    /// Each tone with its offset.
    pub fn placed(&self) -> impl Iterator<Item = (Quarters, &Tone)> {
        let mut at = Quarters::ZERO;
        self.tones.iter().map(move |tone| {
            let start = at;
            at += tone.length;
            (start, tone)
        })
    }

    /// The clef and signature in force when it ends.
    pub fn after(&self) -> (Clef, &KeySignature) {
        (
            self.clefs.last().map_or(self.clef, |(_, clef)| *clef),
            self.keys.last().map_or(&self.key, |(_, key)| key),
        )
    }

    pub fn pulse(&self) -> Pulse {
        Pulse::grouped(self.metre.as_ref(), &self.groups, self.full())
    }
}

impl Passage {
    /// All tones in order.
    pub fn tones(&self) -> impl Iterator<Item = &Tone> {
        self.bars.iter().flat_map(|bar| bar.tones.iter())
    }

    /// All tones in order, to be changed.
    pub fn tones_mut(&mut self) -> impl Iterator<Item = &mut Tone> {
        self.bars.iter_mut().flat_map(|bar| bar.tones.iter_mut())
    }

    /// Notes that are struck: a note held over by a tie is no new one.
    pub fn struck(&self) -> Vec<&Tone> {
        let mut held = false;
        let mut struck = Vec::new();
        for tone in self.tones() {
            if tone.is_note() && !held {
                struck.push(tone);
            }
            held = tone.tied && tone.is_note();
        }
        struck
    }

    /// Lowest and highest pitch, small notes included.
    pub fn compass(&self) -> Option<(Pitch, Pitch)> {
        let small = |tone: &Tone| -> Vec<Pitch> {
            let graces = tone.graces.iter().flat_map(|small| small.heads.iter());
            tone.heads
                .iter()
                .chain(graces)
                .filter_map(Sounded::pitch)
                .collect()
        };
        let mut all = self.tones().flat_map(small);
        let first = all.next()?;
        Some(all.fold((first, first), |(low, high), pitch| {
            (low.min(pitch), high.max(pitch))
        }))
    }

    /// The same with every pitch changed.
    pub fn moved(mut self, change: &dyn Fn(Pitch) -> Pitch) -> Self {
        for tone in self.tones_mut() {
            *tone = std::mem::take(tone).moved(change);
        }
        self
    }

    /// The same without slurs.
    pub fn without_slurs(mut self) -> Self {
        self.reaches.retain(|reach| reach.kind != SpanKind::Slur);
        for tone in self.tones_mut() {
            tone.graces_slurred = false;
        }
        self
    }

    /// Unties what is tied to a rest or to other pitches.
    pub fn loosen(&mut self) {
        let all: Vec<Vec<Sounded>> = self.tones().map(|tone| tone.heads.clone()).collect();
        let mut next = all.iter().skip(1);
        for tone in self.tones_mut() {
            let after = next.next();
            let held =
                |head: &Sounded| after.is_some_and(|heads| heads.iter().any(|other| other.note == head.note));
            if tone.tied && !tone.heads.iter().any(held) {
                tone.tied = false;
            }
        }
    }

    /// True if all of it is silent.
    pub fn is_silent(&self) -> bool {
        !self.tones().any(Tone::is_note)
    }
}
