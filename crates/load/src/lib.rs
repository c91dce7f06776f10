//! How hard is each bar for this player, why, and where to begin? Load, look-alikes, spots, tempo, ladder, levels.
//!
//! A survey says what is on the page; here it meets a [`Player`]. Every number is a sum of parts that are said in words
//! ([`Share`]), so that a musician can see what it is made of. Reads no file, asks no clock.

mod account;
pub mod alike;
pub mod bowing;
pub mod breath;
pub mod fingers;
pub mod first_tempo;
pub mod hand;
mod intervals;
mod keys;
pub mod ladder;
pub mod levels;
mod player;
pub mod reading;
pub mod spots;
mod study;

pub use account::{Account, Placed, Share, by_bar};
pub use player::{Breath, Player, Tongue};
pub use study::{BarLoad, BeatLoad, Goal, Study, Wishes, study};
