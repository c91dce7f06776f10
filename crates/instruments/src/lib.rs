//! What can this instrument do? Range, transposition, clefs, fingerings: facts with their sources, no opinion about a piece.
//!
//! [`identify`] says which instrument a part is for; [`by_id`] and [`all`] give the facts. Ranges are guidance for a
//! warning, never a limit; the teacher and the player know better.
//!
//! ```
//! let bassoon = instruments::by_id("bassoon").unwrap();
//! let (low, high) = bassoon.ranges.of(instruments::Experience::Professional).unwrap();
//! assert_eq!((low.to_string(), high.to_string()), ("Bb1".to_owned(), "D5".to_owned()));
//! ```

mod facts;
pub mod fingering;
mod identify;
mod name;
mod readings;
mod sources;
mod table;

pub use facts::{Experience, Family, Grade, Habit, Instrument, Ranges, UsualClef};
pub use identify::{By, Identified, PitchedIn, identify, identify_name};
pub use readings::{Reading, readings};
pub use sources::Cited;
pub use table::{all, by_id};
