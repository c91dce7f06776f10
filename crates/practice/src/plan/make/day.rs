//! How much time has a sitting, and for what?

use crate::plan::asked::Date;
use crate::plan::calendar::Stage;
use crate::plan::compose::floor_to;
use crate::plan::order::{Draft, rests};
use crate::plan::turn::TurnKind;

/// A sitting in the making.
pub(super) struct Today {
    pub(super) number: usize,
    pub(super) date: Date,
    pub(super) stage: Stage,
    /// All its seconds.
    pub(super) total: u32,
    pub(super) unit: u32,
    pub(super) brass: bool,
    /// Seconds of playing that are still free.
    pub(super) left: u32,
    pub(super) head: Vec<Draft>,
    pub(super) main: Vec<Draft>,
    pub(super) fillers: Vec<Draft>,
    pub(super) tail: Vec<Draft>,
}

impl Today {
    /// What a turn takes of the seconds of playing: on brass each has its rest beside it, and what is silent is half of that.
    pub(super) const fn takes(&self, kind: TurnKind, secs: u32) -> u32 {
        if self.brass && !kind.plays() {
            secs.div_ceil(2)
        } else {
            secs
        }
    }

    pub(super) fn take(&mut self, kind: TurnKind, secs: u32) {
        self.left = self.left.saturating_sub(self.takes(kind, secs));
    }
}

/// The smallest step of time: a minute; half of it where brass has to share a minute or two.
pub(super) const fn unit(total: u32, brass: bool) -> u32 {
    if brass && total < 240 { 30 } else { 60 }
}

/// Seconds of playing in a sitting: all but the rests, on brass half of that.
pub(super) fn playing(total: u32, brass: bool) -> u32 {
    let free = total.saturating_sub(rests(total));
    if brass {
        floor_to(free / 2, unit(total, brass))
    } else {
        free
    }
}

/// An eighth of the sitting, from one minute to ten; none in a very short one.
pub(super) fn warm_up_secs(total: u32, brass: bool) -> u32 {
    if total < 480 {
        return 0;
    }
    floor_to(playing(total, brass) / 8 + 30, 60).clamp(60, 600)
}

/// Looking the page through takes two minutes.
pub(super) const fn look_secs(total: u32) -> u32 {
    if total >= 900 { 120 } else { 0 }
}

/// Seconds that new material may take in one sitting, with what lies between.
pub(super) fn reading_room(total: u32, brass: bool) -> u32 {
    let unit = unit(total, brass);
    let room = playing(total, brass)
        .saturating_sub(warm_up_secs(total, brass))
        .saturating_sub(look_secs(total));
    floor_to(room, unit).max(unit)
}

pub(super) fn ceil_to(secs: f64, unit: u32) -> u32 {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "clamped just before"
    )]
    let whole = (secs / f64::from(unit)).ceil().clamp(1.0, 1e6) as u32;
    whole * unit
}
