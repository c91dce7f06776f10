//! Plain values that cross floors: pencil marks and key regions.

use crate::place::{Anchor, BarIndex};

/// A pencil mark on the part: which sign, where, and why it is there.
#[derive(Clone, PartialEq, Debug)]
pub struct PencilMark {
    /// The sign.
    pub sign: PencilSign,
    /// From where: the event (and head) it belongs to, or a place in a bar.
    pub from: Anchor,
    /// To where, for signs that reach; inclusive.
    pub to: Option<Anchor>,
    /// Words, counts or numbers written with it.
    pub text: String,
    /// A drawing that goes with it (a fingering's diagram).
    pub picture: Option<PencilPicture>,
    /// Why it is there, a sentence: shown when pointed at, read aloud by a screen reader.
    pub reason: String,
    /// The question of the survey, or of the study, that it comes from (`key`, `accidentals`, `spots` …).
    pub question: String,
    /// Which pencil.
    pub pencil: Pencil,
    /// How much it is worth beside other marks, from 0 to 1; where there is no room for all, the greater stays.
    pub worth: f64,
    /// Whether a person set or confirmed it; such a mark is never left out.
    pub kept: bool,
}

/// A small drawing as part of a mark.
#[derive(Clone, PartialEq, Debug)]
pub struct PencilPicture {
    /// An SVG fragment without a size of its own; its upper left corner is at 0, 0.
    pub svg: String,
    /// Width, in the fragment's own units.
    pub width: f64,
    /// Height, in the fragment's own units.
    pub height: f64,
}

/// The signs a teacher pencils.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum PencilSign {
    /// Square brackets before and after a hard spot.
    SpotBracket,
    /// A hook at the start or end of a repeat, so that it is seen from afar.
    RepeatHook,
    /// A circle around one head or sign that surprises.
    Circle,
    /// Eyeglasses: look up here, something changes.
    Eyeglasses,
    /// Strokes over the beats.
    BeatStrokes,
    /// Counts under a rhythm, one word a note or rest.
    Counts,
    /// An accidental in parentheses before a note.
    Courtesy,
    /// A breath comma that is always taken.
    Breath,
    /// A breath comma for slow practice only.
    SlowBreath,
    /// A fingering above a note, in words or numbers.
    Fingering,
    /// A fingering's diagram above a note.
    FingeringDiagram,
    /// An arrow for a jump, with the bar it goes to.
    JumpArrow,
    /// A small letter for bars that look alike.
    LookAlike,
    /// Words.
    Words,
}

/// Which pencil a mark is drawn with.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Default)]
pub enum Pencil {
    /// Graphite.
    #[default]
    Graphite,
    /// The first coloured pencil of the teacher's legend.
    First,
    /// The second coloured pencil of the teacher's legend.
    Second,
}

/// A stretch of bars in one key.
#[derive(Clone, PartialEq, Debug)]
pub struct KeyRegion {
    /// First bar.
    pub from: BarIndex,
    /// Last bar.
    pub to: BarIndex,
    /// The tonic as written.
    pub tonic: (crate::pitch::Step, i8),
    /// Major, minor or a mode by its name.
    pub mode: String,
    /// Probability from 0 to 1.
    pub certainty: f64,
}
