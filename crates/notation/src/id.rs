//! Which element is meant? Names given once, kept, never reused, and legal as XML names.

use std::fmt;

/// The name of one element of a piece, such as `e12` (an event) or `b3` (a bar).
///
/// The letter says what kind of element it is; the number is unique within the piece whatever the kind.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub struct Id {
    kind: IdKind,
    number: u32,
}

/// What kind of element an [`Id`] names.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
#[expect(missing_docs, reason = "each kind is named for the type it identifies")]
pub enum IdKind {
    Bar,
    Barline,
    Change,
    Direction,
    Event,
    Head,
    Part,
    Span,
}

impl Id {
    /// For comparing pieces: an id that was never given out.
    pub(crate) const fn numbered(kind: IdKind, number: u32) -> Self {
        Self { kind, number }
    }

    /// What kind of element this names.
    #[must_use]
    pub const fn kind(self) -> IdKind {
        self.kind
    }

    /// The number, unique within the piece.
    #[must_use]
    pub const fn number(self) -> u32 {
        self.number
    }
}

impl fmt::Display for Id {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let letter = match self.kind {
            IdKind::Bar => 'b',
            IdKind::Barline => 'l',
            IdKind::Change => 'c',
            IdKind::Direction => 'd',
            IdKind::Event => 'e',
            IdKind::Head => 'h',
            IdKind::Part => 'p',
            IdKind::Span => 's',
        };
        write!(f, "{letter}{}", self.number)
    }
}

/// Gives out ids, each once.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct IdSource {
    next: u32,
}

impl IdSource {
    /// The next unused id of a kind. (Four thousand million elements fill the memory long before the numbers end.)
    pub fn give(&mut self, kind: IdKind) -> Id {
        self.next = self.next.saturating_add(1);
        Id {
            kind,
            number: self.next,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ids_are_legal_xml_names_and_never_repeat() {
        let mut source = IdSource::default();
        assert_eq!(source.give(IdKind::Event).to_string(), "e1");
        assert_eq!(source.give(IdKind::Head).to_string(), "h2");
        assert_eq!(source.give(IdKind::Event).to_string(), "e3");
    }
}
