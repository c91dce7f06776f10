//! How does the study for a player read? Spots, tempo, bar by bar, what returns, breaths, fingers, levels: in her words.

use super::{Composed, facts, foot};
use crate::model::{Section, Sheet};
use load::Study;

/// The sections of a study, in the order in which they help.
pub(super) fn sections(_study: &Study, _what: &Composed) -> Vec<Section> {
    Vec::new()
}

/// A sheet of the trouble spots alone. Without a study it has no sections.
#[must_use]
pub fn spots(what: &Composed) -> Sheet {
    small(what, |_| Vec::new())
}

/// A sheet of the fingerings alone. Without a study it has no sections.
#[must_use]
pub fn fingers(what: &Composed) -> Sheet {
    small(what, |_| Vec::new())
}

/// A sheet of the first tempo and the ladder alone. Without a study it has no sections.
#[must_use]
pub fn ladder(what: &Composed) -> Sheet {
    small(what, |_| Vec::new())
}

/// A sheet of a few sections of the study.
fn small(what: &Composed, sections: impl Fn(&Study) -> Vec<Section>) -> Sheet {
    Sheet {
        title: what.title(),
        facts: facts(what),
        study: what.study.map(sections).unwrap_or_default(),
        foot: foot(),
        ..Sheet::default()
    }
}
