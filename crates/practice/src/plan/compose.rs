//! How do the turns of a day become a sitting? In order, with silent turns for the lips and rests for all, never over its time.

use super::make::{free, plain};
use super::order::{Draft, interleaved, with_rests};
use super::turn::{Turn, TurnKind};

/// Puts a sitting together: `head` first, `main` interleaved with `fillers`, `tail` last.
pub(super) fn composed(
    head: Vec<Draft>,
    main: Vec<Draft>,
    fillers: Vec<Draft>,
    tail: Vec<Draft>,
    brass: bool,
    total: u32,
    unit: u32,
) -> Vec<Turn> {
    let mut parts = Parts {
        head,
        main,
        fillers,
        tail,
    };
    // Each round takes something away, so that it ends.
    loop {
        let turns = parts.in_order(brass, total, unit);
        let over = turns.iter().map(|turn| turn.secs).sum::<u32>() > total;
        if !over || !parts.give_up(unit) {
            return turns;
        }
    }
}

/// The largest multiple that is not more.
pub(super) const fn floor_to(secs: u32, unit: u32) -> u32 {
    secs / unit * unit
}

#[derive(Clone)]
struct Parts {
    head: Vec<Draft>,
    main: Vec<Draft>,
    fillers: Vec<Draft>,
    tail: Vec<Draft>,
}

impl Parts {
    fn in_order(&self, brass: bool, total: u32, unit: u32) -> Vec<Turn> {
        // Between two readings, where there is nothing else, what was read is fingered in silence.
        let between = free(plain(TurnKind::Silent, unit, 0));
        let mut drafts = self.head.clone();
        drafts.extend(interleaved(self.main.clone(), self.fillers.clone(), &between));
        drafts.extend(self.tail.iter().cloned());
        let mut turns: Vec<Turn> = drafts.into_iter().map(|draft| draft.turn).collect();
        name_silent_bars(&mut turns);
        if brass {
            turns = with_lips_rested(turns);
        }
        with_rests(turns, total)
    }

    /// Makes it shorter: a minute off the longest turn, then fillers, then the last turn that is not new. False if there is nothing
    /// more to give up.
    fn give_up(&mut self, unit: u32) -> bool {
        let long = self
            .main
            .iter_mut()
            .chain(&mut self.head)
            .filter(|draft| draft.turn.secs > 120.max(unit) && draft.turn.kind != TurnKind::Mock)
            .max_by_key(|draft| draft.turn.secs);
        if let Some(draft) = long {
            draft.turn.secs -= unit;
            return true;
        }
        if self.fillers.pop().is_some() {
            return true;
        }
        let last = self
            .main
            .iter()
            .rposition(|draft| draft.turn.kind != TurnKind::Read);
        if let Some(at) = last {
            self.main.remove(at);
            return true;
        }
        if let Some(draft) = self
            .head
            .iter_mut()
            .chain(&mut self.tail)
            .chain(&mut self.main)
            .filter(|draft| draft.turn.secs > unit)
            .max_by_key(|draft| draft.turn.secs)
        {
            draft.turn.secs -= unit;
            return true;
        }
        self.tail.pop().is_some() || self.head.len() > 1 && self.head.pop().is_some()
    }
}

/// A silent turn is about what comes next, or else about what was.
fn name_silent_bars(turns: &mut [Turn]) {
    for at in 0..turns.len() {
        let unnamed = turns
            .get(at)
            .is_some_and(|turn| turn.kind == TurnKind::Silent && turn.bars.is_empty());
        if !unnamed {
            continue;
        }
        let before = at.checked_sub(1).and_then(|before| turns.get(before));
        let about = before.filter(|turn| !turn.bars.is_empty());
        let Some((work, bars)) = about.map(|turn| (turn.work, turn.bars.clone())) else {
            continue;
        };
        if let Some(turn) = turns.get_mut(at) {
            (turn.work, turn.bars) = (work, bars);
            "without a sound: finger in rhythm what you have just read, and hear it"
                .clone_into(&mut turn.what);
        }
    }
}

/// After each turn of playing as long without: what comes next is fingered, what was is sung, or the lips just rest.
fn with_lips_rested(turns: Vec<Turn>) -> Vec<Turn> {
    let mut out = Vec::with_capacity(turns.len() * 2);
    // Silence that came without being owed counts toward what is played later.
    let mut owed: u32 = 0;
    for at in 0..turns.len() {
        let Some(turn) = turns.get(at) else { break };
        let (kind, secs) = (turn.kind, turn.secs);
        if kind.plays() {
            owed += secs;
        } else {
            owed = owed.saturating_sub(secs);
        }
        out.push(turn.clone());
        let next = turns.get(at + 1);
        // A silent turn that comes next anyway pays for its part.
        let comes = next.filter(|next| !next.kind.plays()).map_or(0, |next| next.secs);
        if kind.plays() && owed > comes {
            out.push(companion(turn, next, owed - comes, at));
            owed = comes;
        }
    }
    out
}

fn companion(turn: &Turn, next: Option<&Turn>, secs: u32, at: usize) -> Turn {
    let next = next.filter(|next| !next.bars.is_empty());
    let (kind, about) = match next {
        Some(next) if at % 2 == 1 || turn.bars.is_empty() => (TurnKind::Silent, next),
        _ if !turn.bars.is_empty() => (TurnKind::Sing, turn),
        _ => (TurnKind::Rest, turn),
    };
    let mut silent = plain(kind, secs, 0);
    if kind == TurnKind::Rest {
        "lips off: breathe, loosen the shoulders, listen to how it should sound".clone_into(&mut silent.what);
        return silent;
    }
    (silent.work, silent.bars) = (about.work, about.bars.clone());
    silent
}
