//! What is chosen next? Bytes spent one by one; when they are used up, the first and plainest of everything.

/// The bytes and how far they are spent.
pub(super) struct Choices<'b> {
    bytes: &'b [u8],
}

impl<'b> Choices<'b> {
    pub(super) const fn new(bytes: &'b [u8]) -> Self {
        Self { bytes }
    }

    fn next(&mut self) -> u8 {
        match self.bytes.split_first() {
            Some((first, rest)) => {
                self.bytes = rest;
                *first
            }
            None => 0,
        }
    }

    /// A number from 0 to below `n` (which is at most 256; 0 for `n` zero).
    pub(super) fn below(&mut self, n: usize) -> usize {
        if n <= 1 {
            return 0;
        }
        usize::from(self.next()) % n
    }

    /// True so often in 256; false when the bytes are used up.
    pub(super) fn chance(&mut self, of_256: u8) -> bool {
        let byte = self.next();
        byte >= u8::MAX - of_256.saturating_sub(1)
    }

    /// One of a list that is not empty.
    pub(super) fn pick<T: Clone>(&mut self, of: &[T]) -> T {
        of[self.below(of.len())].clone()
    }
}
