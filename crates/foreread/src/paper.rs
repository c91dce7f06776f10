//! On which paper? What every command that prints can be told.

use clap::ValueEnum;

/// A sheet of paper.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
pub(crate) enum PaperName {
    /// 210 × 297 mm
    #[default]
    A4,
    /// 8½ × 11 inches
    Letter,
}

impl PaperName {
    pub(crate) const fn paper(self) -> desk::Paper {
        match self {
            Self::A4 => desk::Paper::A4,
            Self::Letter => desk::Paper::Letter,
        }
    }
}
