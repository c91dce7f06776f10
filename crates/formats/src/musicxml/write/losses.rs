//! What can MusicXML not say? Findings about what a piece holds that is written otherwise or left out.

use crate::report::{Here, Report};
use notation::{Finding, Id, Piece, Place, Severity};

/// The findings of writing.
#[derive(Debug, Default)]
pub(super) struct Losses {
    report: Report,
}

/// A part and how it is called.
#[derive(Clone, Copy)]
pub(super) struct Of<'p> {
    pub piece: &'p Piece,
    pub part: &'p str,
}

impl Of<'_> {
    fn put(self, finding: Finding, place: Place, element: Option<Id>) -> Finding {
        let here = Here {
            part: Some(self.part.to_owned()),
            bar: Some((place.bar, self.piece.label(place.bar).to_owned())),
            offset: place.offset,
        };
        let finding = here.put(finding);
        match element {
            Some(element) => finding.about(element),
            None => finding,
        }
    }
}

const LOST: &str = "not-in-musicxml";
const ADVICE: &str = "write it on the part by hand if it matters";

impl Losses {
    /// Something of the whole piece that is lost or changed.
    pub(super) fn piece(&mut self, what: impl Into<String>) {
        self.report
            .push(Finding::new(Severity::Caution, LOST, what, ADVICE));
    }

    /// Something at a place of a part that is lost or changed.
    pub(super) fn lost(&mut self, of: Of<'_>, place: Place, element: Option<Id>, what: impl Into<String>) {
        let finding = Finding::new(Severity::Caution, LOST, what, ADVICE);
        self.report.push(of.put(finding, place, element));
    }

    /// Something that is written in another way, with the same meaning for a player.
    pub(super) fn told_otherwise(
        &mut self,
        of: Of<'_>,
        place: Place,
        element: Option<Id>,
        what: impl Into<String>,
    ) {
        let finding = Finding::new(Severity::Note, "told-otherwise-in-musicxml", what, "");
        self.report.push(of.put(finding, place, element));
    }

    /// All findings.
    pub(super) fn finish(self) -> Vec<Finding> {
        self.report.finish()
    }
}
