//! What of the study is wanted alone? The trouble spots, the fingerings, the climb.

use crate::{Opened, Shown};

/// One answer of the study.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Section {
    /// Where it will go wrong, and how hard each bar is.
    Spots,
    /// Fingerings, valves, positions.
    Fingers,
    /// The first tempo and the climb.
    Ladder,
}

impl Section {
    /// The fields of the survey's JSON that tell it; the rest is left out.
    const fn fields(self) -> &'static [&'static str] {
        match self {
            Self::Spots => &["trouble_spots", "load", "look_alikes", "look_alikes_more"],
            Self::Fingers => &["fingering", "fingering_more"],
            Self::Ladder => &["ladder", "tempo"],
        }
    }
}

/// Fields that every answer has.
const ALWAYS: [&str; 4] = ["version", "piece", "player", "reader_findings"];

/// Writes one answer as JSON: the same fields as in the survey's JSON, and no others.
///
/// # Errors
/// What the writer says.
pub fn write_section_json(
    opened: &Opened,
    shown: &Shown,
    section: Section,
    out: impl std::io::Write,
) -> std::io::Result<()> {
    let wanted = |name: &str| ALWAYS.contains(&name) || section.fields().contains(&name);
    wire::write_survey_fields(&shown.written(opened), wanted, out)
}
