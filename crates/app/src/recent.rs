//! What was made lately? A few things by what they were made from, the one looked at longest ago first to go.

use std::borrow::Borrow;
use std::collections::VecDeque;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

/// The last `MOST` things that were made.
pub(crate) struct Recent<K, V: ?Sized, const MOST: usize> {
    made: Mutex<VecDeque<(K, Arc<V>)>>,
}

impl<K, V: ?Sized, const MOST: usize> Default for Recent<K, V, MOST> {
    fn default() -> Self {
        Self {
            made: Mutex::default(),
        }
    }
}

impl<K, V: ?Sized, const MOST: usize> Recent<K, V, MOST> {
    /// What was made from this, if it is still there.
    pub fn get<Q: PartialEq + ?Sized>(&self, key: &Q) -> Option<Arc<V>>
    where
        K: Borrow<Q>,
    {
        let mut made = self.made();
        let at = made.iter().position(|(known, _)| known.borrow() == key)?;
        let found = made.remove(at)?;
        let value = Arc::clone(&found.1);
        made.push_back(found);
        Some(value)
    }

    /// Keeps what was made.
    pub fn put(&self, key: K, value: Arc<V>)
    where
        K: PartialEq,
    {
        let mut made = self.made();
        made.retain(|(known, _)| *known != key);
        made.push_back((key, value));
        while made.len() > MOST {
            made.pop_front();
        }
    }

    /// Lets go what was made from any of these.
    pub fn forget(&self, is_gone: impl Fn(&K) -> bool) {
        self.made().retain(|(known, _)| !is_gone(known));
    }

    /// Whoever fell ill while holding it left it whole.
    fn made(&self) -> MutexGuard<'_, VecDeque<(K, Arc<V>)>> {
        self.made.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

#[cfg(test)]
mod tests {
    use super::Recent;
    use std::sync::Arc;

    #[test]
    fn what_was_looked_at_longest_ago_goes_first() {
        let recent: Recent<String, str, 2> = Recent::default();
        for name in ["a", "b"] {
            recent.put(name.to_owned(), Arc::from(name));
        }
        assert_eq!(recent.get("a").as_deref(), Some("a"));
        recent.put("c".to_owned(), Arc::from("c"));
        assert!(recent.get("b").is_none() && recent.get("a").is_some());
        recent.forget(|key| key == "a");
        assert!(recent.get("a").is_none() && recent.get("c").is_some());
    }
}
