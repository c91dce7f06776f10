//! Is this word in the list? Sorted words, end to end in one text.

use super::index::slice;

/// A sorted list of words.
#[derive(Debug)]
pub(crate) struct WordList {
    pub(super) text: &'static str,
    /// Where each word begins, and the end of the last.
    pub(super) starts: &'static [u32],
}

impl WordList {
    /// Whether the word is listed.
    pub fn contains(&self, word: &str) -> bool {
        self.get(self.place(word)) == Some(word)
    }

    /// The words that begin with this letter.
    pub fn under(&self, letter: u8) -> impl Iterator<Item = &'static str> {
        let from = self.place_by(|word| word.as_bytes().first() < Some(&letter));
        (from..)
            .map_while(|place| self.get(place))
            .take_while(move |word| word.as_bytes().first() == Some(&letter))
    }

    /// All words, in order.
    #[cfg(test)]
    pub fn iter(&self) -> impl Iterator<Item = &'static str> {
        (0..).map_while(|place| self.get(place))
    }

    fn get(&self, place: usize) -> Option<&'static str> {
        let start = *self.starts.get(place)?;
        let end = *self.starts.get(place.checked_add(1)?)?;
        let length = usize::try_from(end.checked_sub(start)?).ok()?;
        Some(slice(self.text, start, length))
    }

    fn place(&self, word: &str) -> usize {
        self.place_by(|listed| listed < word)
    }

    fn place_by(&self, before: impl Fn(&str) -> bool) -> usize {
        let (mut low, mut high) = (0, self.starts.len().saturating_sub(1));
        while low < high {
            let middle = low.midpoint(high);
            if self.get(middle).is_some_and(&before) {
                low = middle + 1;
            } else {
                high = middle;
            }
        }
        low
    }
}
