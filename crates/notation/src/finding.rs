//! What is wrong or remarkable, where, and what to do? Said to a musician.

use crate::id::Id;
use crate::place::BarIndex;
use crate::rational::Quarters;
use std::fmt;

/// How much a finding matters.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub enum Severity {
    /// Kept or understood, worth knowing.
    Note,
    /// Repaired, guessed, or to be looked at before relying on it.
    Caution,
    /// Something on the page was lost or contradicts itself.
    Problem,
}

impl Severity {
    /// The word used in JSON and on screen.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Note => "note",
            Self::Caution => "caution",
            Self::Problem => "problem",
        }
    }
}

/// One thing found while reading or surveying a piece, with its place and what to do about it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Finding {
    /// How much it matters.
    pub severity: Severity,
    /// A short fixed name for the kind of finding, lower case with hyphens (`unpaired-slur`).
    pub kind: &'static str,
    /// The part it concerns, by its printed name; `None` for the whole piece.
    pub part: Option<String>,
    /// The bar, if it has one.
    pub bar: Option<BarIndex>,
    /// The printed label of that bar.
    pub bar_label: Option<String>,
    /// Offset in the bar in quarter notes, if it has one.
    pub offset: Option<Quarters>,
    /// The element concerned.
    pub element: Option<Id>,
    /// What is wrong or remarkable, a sentence.
    pub what: String,
    /// What the reader of this message can do, a sentence; empty if nothing.
    pub advice: String,
}

impl Finding {
    /// A finding about the whole piece; add the place with the `at_` methods.
    #[must_use]
    pub fn new(
        severity: Severity,
        kind: &'static str,
        what: impl Into<String>,
        advice: impl Into<String>,
    ) -> Self {
        Self {
            severity,
            kind,
            part: None,
            bar: None,
            bar_label: None,
            offset: None,
            element: None,
            what: what.into(),
            advice: advice.into(),
        }
    }

    /// The same finding, of a part.
    #[must_use]
    pub fn in_part(mut self, name: impl Into<String>) -> Self {
        self.part = Some(name.into());
        self
    }

    /// The same finding, at a bar with its printed label.
    #[must_use]
    pub fn at_bar(mut self, bar: BarIndex, label: impl Into<String>) -> Self {
        self.bar = Some(bar);
        self.bar_label = Some(label.into());
        self
    }

    /// The same finding, at an offset in its bar (quarter notes).
    #[must_use]
    pub const fn at_offset(mut self, offset: Quarters) -> Self {
        self.offset = Some(offset);
        self
    }

    /// The same finding, about an element.
    #[must_use]
    pub const fn about(mut self, element: Id) -> Self {
        self.element = Some(element);
        self
    }
}

/// `bar 12, Oboe: the slur that starts here never ends (look whether …)`.
impl fmt::Display for Finding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(label) = &self.bar_label {
            write!(f, "bar {label}")?;
            if let Some(offset) = self.offset.filter(|o| !o.is_zero()) {
                write!(f, ", {offset} quarter notes in")?;
            }
            f.write_str(": ")?;
        }
        f.write_str(&self.what)?;
        if !self.advice.is_empty() {
            write!(f, " — {}", self.advice)?;
        }
        Ok(())
    }
}
