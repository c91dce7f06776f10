//! What does this word mean, how fast is it?
//!
//! Words and abbreviations printed on a part, read one direction at a time: [`read`] gives one meaning for the
//! whole phrase and what each word is; [`tempo`] gives speeds by named tables; [`dynamics`] ranks loudness marks;
//! [`road`] understands jump and repeat words. Nothing here knows a bar, a note or a file: text in, values out.
//!
//! What it does *not* do: metronome equations ("♩ = 96", "♩ = ♪"), guesses at lyrics, names or unknown words.
//!
//! ```
//! let reading = terms::read("Allegro ma non troppo e con fuoco");
//! assert_eq!(reading.meaning.as_deref(), Some("fast, but not too much, and with fire"));
//! assert_eq!(reading.kind, Some(terms::Kind::Tempo));
//! ```

mod analysis;
mod compose;
mod dictionary;
pub mod dynamics;
mod fold;
mod inflect;
mod kind;
mod reading;
pub mod road;
mod spelling;
pub mod tempo;
mod words;

pub use dictionary::{Entry, entries, lookup};
pub use kind::{Kind, Language};
pub use reading::{Reading, Spelling, UnitReading, WordReading, read};
