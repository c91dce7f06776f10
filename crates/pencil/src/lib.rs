//! Which marks, by this teacher's legend? Findings in, pencil marks out.
//!
//! [`marks`] turns what the survey found (and, for a player, what the study found) into [`notation::PencilMark`]s: the sign, its
//! place, a sentence that says why it is there, and how much it is worth beside the others. How many of them a page bears, and
//! where on the paper they stand, is asked where pages are laid out. A teacher's [`Legend`] says which signs she wants, with
//! which pencil; [`Legend::entries`] says what the signs on a page mean.

mod gather;
mod legend;
mod matter;
mod worth;

pub use gather::{marks, play_order, written_out};
pub use legend::{Legend, LegendError, Most, Rule};
pub use matter::Matter;
