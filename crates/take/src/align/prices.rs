//! How unlikely is each thing that a player may do? Prices as negative logarithms, added up along a way through the notes.
//!
//! They were set on takes made by the program itself (`reference/check_take.py`, other pieces and seeds than those scored) and are
//! held fixed since; a few tenths more or less change little.

use crate::expected::{Expected, Opening};
use performance::play::Role;

/// A tone of another pitch than the note it is held for, if it is long.
pub(super) const MISFIT: f64 = 4.6;
/// A wrong note in a note's place.
pub(super) const WRONG: f64 = 3.8;
/// A wrong note that goes on into another pitch.
pub(super) const WRONG_AGAIN: f64 = 3.0;
/// A note too many.
pub(super) const EXTRA: f64 = 4.2;
/// A note left out.
pub(super) const MISSING: f64 = 3.6;
/// Each more in a row: who breathes, loses the place or can't reach a note leaves out several. Set after the draw of seed 82035753 had
/// shown the want of it; scored on draws made later.
pub(super) const MISSING_AGAIN: f64 = 1.6;
/// A note of the pitch before it that was not begun anew: heard as one long tone.
pub(super) const UNPARTED: f64 = 1.6;
/// Each more after two.
pub(super) const UNPARTED_AGAIN: f64 = 0.3;
/// A new attack inside one note.
pub(super) const REATTACK: f64 = 3.4;
/// So much more if its tone was over before it was due, and for a note left out whose time the tone before it took.
pub(super) const TOO_SHORT: f64 = 4.0;
pub(super) const TOO_LONG: f64 = 2.6;
/// An attack counts in full so many seconds after a beginning, and so much of it at once.
pub(super) const SETTLES: f64 = 0.15;
pub(super) const UNSETTLED: f64 = 0.3;
/// What dies away counts so much of what another pitch costs; beginning with it costs so much.
pub(super) const FADING: f64 = 0.4;
pub(super) const BEGINS_FADING: f64 = 1.0;
/// So much more for a wrong note that is a short noise in silence.
pub(super) const ALONE: f64 = 2.5;
/// A pitch between two notes, gliding to the second, counts against it so much of what it would.
pub(super) const BLENDED: f64 = 0.35;
/// A note of the same pitch as the one before, begun without an attack.
pub(super) const NO_ATTACK: f64 = 2.2;
/// A tone that lapses for a moment and goes on.
pub(super) const LAPSE: f64 = 0.5;
/// The longest such lapse, in seconds.
pub(super) const LONGEST_LAPSE: f64 = 0.12;
/// Most that a wrong time costs: so much stays free for stops.
pub(super) const LATEST: f64 = 2.6;
/// So much more if it is the time of whole notes of the same pitch: rather they were left out.
pub(super) const COUNT_SLIPS: f64 = 1.3;
/// Standard deviation of the natural logarithm of a note's length against the pulse, and seconds that add to it.
pub(super) const SPREAD: f64 = 0.20;
pub(super) const SPREAD_SECS: f64 = 0.025;
/// Something other than the piece begins to sound.
pub(super) const OUTSIDE: f64 = 6.5;
/// Each tone of that.
pub(super) const OUTSIDE_TONE: f64 = 1.7;
/// Going on with the note that comes next after something other.
pub(super) const INSIDE_AGAIN: f64 = 1.0;
/// Tones shorter than this count in proportion, in seconds.
pub(super) const FULL_TONE: f64 = 0.06;
/// Tones of nobody's notes count by the square of their length up to this, in seconds: clicks and key noise are short.
pub(super) const FULL_FOREIGN: f64 = 0.09;

/// So much less for a jump after a stop.
pub(super) const STOPPED: f64 = 1.5;
/// Most notes left out one by one.
pub(super) const MOST_SKIPPED: usize = 4;
/// Most notes of one pitch that sounded on as one.
pub(super) const MOST_ALIKE: usize = 12;

/// Beginning the take at a note.
pub(super) fn begins(note: &Expected) -> f64 {
    match note.opening {
        Opening::Piece => 0.0,
        Opening::Bar => 3.0,
        Opening::AfterRest => 3.5,
        Opening::Inside => 5.5,
    }
}

/// Beginning on a later time round than the first: the first is meant unless what follows says otherwise.
pub(super) const LATER_ROUND: f64 = 3.0;

/// Going back to a note.
pub(super) fn back_to(note: &Expected) -> f64 {
    match note.opening {
        Opening::Piece | Opening::Bar => 5.2,
        Opening::AfterRest => 5.7,
        Opening::Inside => 6.9,
    }
}

/// Leaping forward to a note.
pub(super) fn on_to(note: &Expected) -> f64 {
    match note.opening {
        Opening::Piece | Opening::Bar => 7.5,
        Opening::AfterRest => 8.0,
        Opening::Inside => 9.5,
    }
}

/// The note is the one that follows on the page, though not in the order of the repeats: a repeat left out or taken once more.
pub(super) const PAGE_ORDER: f64 = 4.5;

/// Ending the take with another note than the last of the piece.
pub(super) const ENDS_EARLY: f64 = 1.5;

/// Leaving a note out: small notes are left out more easily.
pub(super) fn missing(note: &Expected) -> f64 {
    match note.role {
        Role::Written => MISSING,
        Role::Grace => 1.5,
        Role::Ornament => 1.0,
    }
}

/// Playing another pitch in a note's place.
pub(super) fn wrong(note: &Expected) -> f64 {
    match note.role {
        Role::Written => WRONG,
        Role::Grace | Role::Ornament => 2.2,
    }
}

/// A time that the player took against the time due at the pulse, both in seconds.
pub(super) fn time(took: f64, due: f64) -> f64 {
    if took <= 0.0 || due <= 0.0 {
        return LATEST;
    }
    let spread = SPREAD + SPREAD_SECS / due;
    let away = (took / due).ln() / spread;
    (away * away / 2.0).min(LATEST)
}
