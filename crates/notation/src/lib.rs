//! What is written? Exact time, spelled pitch, bars, spans, places, findings. No I/O, no opinion.
//!
//! A [`Piece`] is the written page as a plain value: nothing inferred, nothing unfolded, nothing dropped.
//! Repeats, jumps, fermatas and ornaments stand here once, as printed.
//!
//! ```
//! use notation::{Pitch, Clef};
//! let note = Pitch::parse("Bb4").unwrap();
//! assert_eq!(note.key_number(), 70);
//! assert_eq!(Clef::TREBLE.staff_position(note), Some(4)); // the middle line
//! ```

mod bar;
mod changes;
mod direction;
mod event;
mod excerpt;
mod finding;
mod id;
mod line;
mod marks;
mod pencil;
mod piece;
mod pitch;
mod place;
mod provenance;
mod rational;
mod same;
mod section;
mod sketch;
mod span;
mod steering;
#[cfg(any(test, feature = "testing"))]
#[doc(hidden)]
pub mod testing;
mod transpose;

pub use bar::{Bar, BarGroup, BarGroupKind, BarSide, Barline, Ending, EndingKind, Repeat};
pub use changes::{Change, Clef, ClefSign, KeySignature, Metre, MetrePart, MetreSymbol, Transposition};
pub use direction::{Direction, DirectionKind, Metronome, MetronomeValue, SoundHint};
pub use event::{
    Beam, Event, EventKind, Grace, Head, HeadNote, Lyric, NoteValue, PrintedAccidental, TupletRatio, Written,
};
pub use excerpt::excerpt;
pub use finding::{Finding, Severity};
pub use id::{Id, IdKind, IdSource};
pub use line::{LineNote, line};
pub use marks::{Articulation, ArticulationKind, Fermata, Ornament, OrnamentKind, Side, Technical};
pub use pencil::{
    ColouredPencil, KeyRegion, Pencil, PencilColour, PencilMark, PencilMeaning, PencilPicture, PencilSign,
    Pencils, SmallNote,
};
pub use piece::{Credits, Part, Piece};
pub use pitch::{Alter, Pitch, Step, accidental_name, alter_ascii, alter_sign};
pub use place::{Anchor, BarIndex, Place};
pub use provenance::{How, Origin, Origins, Provenance};
pub use rational::{Quarters, Rational};
pub use same::Difference;
pub use section::{NamedSection, SectionList, SectionOrders};
pub use sketch::sketch;
pub use span::{Span, SpanKind};
pub use steering::steers;
pub use transpose::{Interval, transpose};
