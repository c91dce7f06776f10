//! In what order do the turns of a sitting come? Interleaved, nothing twice in a row, rests where they belong.
//!
//! Source: Carter & Grahn 2016, Front. Psychol. 7:1251: three minutes four times, other things between, instead of twelve in a
//! block. Source of the rests: The Musician's Way, p. 75 (25 + 5 alone); Horvath, Playing (Less) Hurt (ten minutes an hour).

use super::turn::{Turn, TurnKind};
use crate::BarSpan;

/// A rest, in seconds.
pub const REST_SECS: u32 = 300;
/// The longest stretch of work without a rest, in seconds.
pub const WORK_SECS: u32 = 1500;
/// A sitting up to this long, in seconds, needs no rest within.
pub const SHORT_SITTING: u32 = 1800;

/// Seconds of rest that a sitting needs: five minutes after each twenty-five.
#[must_use]
pub fn rests(total: u32) -> u32 {
    if total <= SHORT_SITTING {
        0
    } else {
        (total - WORK_SECS).div_ceil(WORK_SECS + REST_SECS) * REST_SECS
    }
}

/// A turn that is still to be placed, and what it must not stand beside.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct Draft {
    pub turn: Turn,
    /// The passage that it is about.
    pub passage: Option<usize>,
}

impl Draft {
    fn is_new(&self) -> bool {
        self.turn.kind == TurnKind::Read
    }

    /// Whether another's bars are among its own: they are read first.
    fn needs(&self, new: &Self) -> bool {
        let touches = |own: &BarSpan| {
            new.turn
                .bars
                .iter()
                .any(|bars| bars.from <= own.to && own.from <= bars.to)
        };
        self.turn.work == new.turn.work && self.turn.bars.iter().any(touches)
    }

    /// Whether two may not follow each other: the same passage, or new material after new.
    fn clashes(&self, other: &Self) -> bool {
        let same = self.passage.is_some() && self.passage == other.passage;
        let bars = self.turn.work == other.turn.work
            && self
                .turn
                .bars
                .iter()
                .any(|a| other.turn.bars.iter().any(|b| a.from >= b.from && a.to <= b.to))
            && self.turn.kind != TurnKind::Read;
        self.is_new() && other.is_new() || same || bars && self.turn.kind == other.turn.kind
    }
}

/// Puts turns in order: `main` as far as it goes, a filler wherever two would clash; what can't be placed is left out, but for new
/// readings: between those stands `between`.
pub(super) fn interleaved(main: Vec<Draft>, mut fillers: Vec<Draft>, between: &Draft) -> Vec<Draft> {
    let mut out: Vec<Draft> = Vec::new();
    let mut left = main;
    while !left.is_empty() {
        let fits = |draft: &Draft| {
            out.last().is_none_or(|last| !draft.clashes(last))
                && (draft.is_new() || !left.iter().any(|new| new.is_new() && draft.needs(new)))
        };
        // What clashes most is spread: new readings go before others when both fit.
        let news = left.iter().filter(|draft| draft.is_new()).count();
        let urgent = news * 2 > left.len();
        let at = left
            .iter()
            .position(|draft| fits(draft) && (!urgent || draft.is_new()))
            .or_else(|| left.iter().position(fits));
        match at {
            Some(at) => out.push(left.remove(at)),
            None if fillers.is_empty() && news == 0 => break,
            None if fillers.is_empty() => out.push(between.clone()),
            None => out.push(fillers.remove(0)),
        }
    }
    // Fillers that were not needed come between what is left to do, spread evenly.
    let count = fillers.len();
    let length = out.len();
    for (index, filler) in fillers.into_iter().enumerate().rev() {
        let at = (length * (index + 1)).div_ceil(count + 1).min(out.len());
        out.insert(at, filler);
    }
    out
}

/// The rest itself.
pub(super) fn rest() -> Turn {
    Turn {
        kind: TurnKind::Rest,
        work: None,
        about: String::new(),
        bars: Vec::new(),
        tempi: Vec::new(),
        secs: REST_SECS,
        what: "put the instrument down, stand up, loosen shoulders and hands, drink something".to_owned(),
        stop: String::new(),
        drill: None,
        why: String::new(),
    }
}

/// Puts rests in: no more than twenty-five minutes of work go by without one, and the stretches between them are as even as the
/// turns allow. `total` is how long the sitting may be.
pub(super) fn with_rests(turns: Vec<Turn>, total: u32) -> Vec<Turn> {
    let whole: u32 = turns.iter().map(|turn| turn.secs).sum();
    if whole <= SHORT_SITTING {
        return turns;
    }
    let wanted = (rests(total) / REST_SECS).max(1);
    let even = whole.div_ceil(wanted + 1);
    let mut out = Vec::with_capacity(turns.len() + 4);
    let (mut worked, mut rested) = (0, 0);
    for turn in turns {
        let enough = worked + turn.secs / 2 > even && rested < wanted;
        if worked > 0 && (enough || worked + turn.secs > WORK_SECS) {
            out.push(rest());
            rested += 1;
            worked = 0;
        }
        worked += turn.secs;
        out.push(turn);
    }
    out
}

/// Whether a sitting keeps the rests: no stretch of work longer than allowed, and none at either end.
#[must_use]
pub fn keeps_rests(turns: &[Turn]) -> bool {
    let whole: u32 = turns.iter().map(|turn| turn.secs).sum();
    let longest = turns
        .split(|turn| turn.kind == TurnKind::Rest)
        .map(|stretch| stretch.iter().map(|turn| turn.secs).sum::<u32>())
        .max()
        .unwrap_or(0);
    longest
        <= if whole <= SHORT_SITTING {
            SHORT_SITTING
        } else {
            WORK_SECS
        }
}
