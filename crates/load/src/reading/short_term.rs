//! What has this piece shown so far? Counts that grow as it is read, bounded in memory.

use super::ppm::{Contexts, Counts};

/// Follow-ups kept at most; a piece of five thousand bars stays below. Beyond it, known contexts go on counting.
const MOST_NODES: usize = 600_000;
const NONE: u32 = u32::MAX;

#[derive(Clone, Copy, Debug)]
struct Node {
    symbol: u8,
    count: u16,
    next: u32,
}

/// Counts of one piece. A plain hash table with open addressing, so that it needs no random source.
#[derive(Clone, Debug)]
pub struct ShortTerm {
    /// Context and its first node; a free slot has [`NONE`].
    slots: Vec<(u32, u32)>,
    used: usize,
    nodes: Vec<Node>,
}

impl Default for ShortTerm {
    fn default() -> Self {
        Self {
            slots: vec![(0, NONE); 1 << 12],
            used: 0,
            nodes: Vec::new(),
        }
    }
}

impl ShortTerm {
    /// Counts a symbol after each of its contexts.
    pub fn learn(&mut self, contexts: &Contexts, symbol: u8) {
        for key in contexts.keys() {
            self.count(*key, symbol);
        }
    }

    fn count(&mut self, key: u32, symbol: u8) {
        let at = self.slot(key);
        let first = self.slots.get(at).map_or(NONE, |slot| slot.1);
        let mut node = first;
        while let Some(known) = self.nodes.get_mut(node as usize) {
            if known.symbol == symbol {
                known.count = known.count.saturating_add(1);
                return;
            }
            node = known.next;
        }
        if self.nodes.len() >= MOST_NODES {
            return;
        }
        let index = u32::try_from(self.nodes.len()).unwrap_or(NONE);
        self.nodes.push(Node {
            symbol,
            count: 1,
            next: first,
        });
        if let Some(slot) = self.slots.get_mut(at) {
            *slot = (key, index);
        }
        if first == NONE {
            self.used += 1;
            if self.used * 2 > self.slots.len() {
                self.grow();
            }
        }
    }

    /// Where a context is, or the free slot where it would be.
    fn slot(&self, key: u32) -> usize {
        let mask = self.slots.len() - 1;
        let mut at = key as usize & mask;
        while self
            .slots
            .get(at)
            .is_some_and(|slot| slot.1 != NONE && slot.0 != key)
        {
            at = (at + 1) & mask;
        }
        at
    }

    fn grow(&mut self) {
        let twice = vec![(0, NONE); self.slots.len() * 2];
        let old = std::mem::replace(&mut self.slots, twice);
        for slot in old.into_iter().filter(|slot| slot.1 != NONE) {
            let at = self.slot(slot.0);
            if let Some(free) = self.slots.get_mut(at) {
                *free = slot;
            }
        }
    }
}

impl Counts for ShortTerm {
    fn after(&self, context: u32, mut each: impl FnMut(u8, u32)) -> bool {
        let mut node = self.slots.get(self.slot(context)).map_or(NONE, |slot| slot.1);
        if node == NONE {
            return false;
        }
        while let Some(known) = self.nodes.get(node as usize) {
            each(known.symbol, u32::from(known.count));
            node = known.next;
        }
        true
    }
}
