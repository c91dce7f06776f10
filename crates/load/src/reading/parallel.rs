//! Does this bar go like the one before, or the one two, four or eight bars back? Phrases answer each other at these distances.

use super::melody::Item;
use notation::Quarters;

/// Bars back, the nearest first. Source: common practice (two-, four- and eight-bar phrases).
const BACK: [u32; 4] = [1, 2, 4, 8];
/// Longer agreements are not told apart.
const LONGEST: usize = 7;

/// The bars read so far, compared place by place.
#[derive(Clone, Debug, Default)]
pub struct Parallel {
    bars: Vec<(u32, usize)>,
    read: Vec<There>,
    now: [Follower; BACK.len()],
}

/// What stood at a place of a bar.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct There {
    position: Quarters,
    /// The symbol of its value, and of its share of the bar.
    pub value: (u8, u8),
    /// Its key on a keyboard; `None` for a rest.
    pub number: Option<i32>,
}

/// Follows a bar so far back; `agreed` counts the things that were the same, over bar lines too.
#[derive(Clone, Copy, Debug, Default)]
struct Follower {
    next: usize,
    end: usize,
    agreed: usize,
}

impl Parallel {
    /// Goes on to an item, before it is foreseen.
    pub fn enter(&mut self, item: &Item) {
        let bar = item.place.bar.0;
        if self.bars.last().is_none_or(|last| last.0 != bar) {
            self.bars.push((bar, self.read.len()));
            for (follower, back) in self.now.iter_mut().zip(BACK) {
                let found = bar
                    .checked_sub(back)
                    .and_then(|earlier| self.bars.binary_search_by_key(&earlier, |bar| bar.0).ok());
                let start = |at: usize| self.bars.get(at).map_or(self.read.len(), |bar| bar.1);
                (follower.next, follower.end) = found.map_or((0, 0), |at| (start(at), start(at + 1)));
                if found.is_none() {
                    follower.agreed = 0;
                }
            }
        }
        for follower in &mut self.now {
            while follower.next < follower.end
                && self
                    .read
                    .get(follower.next)
                    .is_some_and(|there| there.position < item.position)
            {
                follower.next += 1;
            }
        }
    }

    /// What stood at the place of an item in the bar that this one has agreed with longest, and for how long (0 to 7).
    #[must_use]
    pub fn expected(&self, item: &Item) -> Option<(There, usize)> {
        let there = |follower: &Follower| self.there(follower, item).map(|there| (there, follower.agreed));
        let candidates = self.now.iter().filter_map(there);
        candidates.reduce(|best, other| if other.1 > best.1 { other } else { best })
    }

    /// What stood at the place of an item in the bar before.
    #[must_use]
    pub fn bar_before(&self, item: &Item) -> Option<There> {
        self.now.first().and_then(|follower| self.there(follower, item))
    }

    fn there(&self, follower: &Follower, item: &Item) -> Option<There> {
        let there = self
            .read
            .get(follower.next)
            .filter(|_| follower.next < follower.end)?;
        (there.position == item.position).then_some(*there)
    }

    /// Reads an item.
    pub fn read(&mut self, item: &Item, value: (u8, u8)) {
        let this = There {
            position: item.position,
            value,
            number: item.sounding().map(|note| note.number),
        };
        for at in 0..self.now.len() {
            let same = self
                .now
                .get(at)
                .is_some_and(|follower| self.there(follower, item) == Some(this));
            if let Some(follower) = self.now.get_mut(at) {
                follower.agreed = if same {
                    (follower.agreed + 1).min(LONGEST)
                } else {
                    0
                };
            }
        }
        self.read.push(this);
    }
}
