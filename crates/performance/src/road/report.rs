//! How is a finding about the road map worded and placed?

use super::grid::Grid;
use notation::{Finding, Piece, Place, Severity};

/// Collects findings, each with the printed label of its bar.
#[derive(Debug)]
pub(super) struct Report<'a> {
    piece: &'a Piece,
    pub findings: Vec<Finding>,
}

impl<'a> Report<'a> {
    pub(super) const fn new(piece: &'a Piece) -> Self {
        Self {
            piece,
            findings: Vec::new(),
        }
    }

    /// A finding at a sign that opens something: the bar that starts or is cut there.
    pub(super) fn opens(
        &mut self,
        severity: Severity,
        kind: &'static str,
        at: Place,
        what: &str,
        advice: &str,
    ) {
        let finding = Finding::new(severity, kind, what, advice);
        self.findings.push(self.placed(finding, at));
    }

    /// A finding at a sign that closes something: the bar that ends or is cut there.
    pub(super) fn closes(
        &mut self,
        grid: &Grid,
        severity: Severity,
        kind: &'static str,
        at: Place,
        what: &str,
        advice: &str,
    ) {
        let bar = grid.bar_before(at);
        let finding = Finding::new(severity, kind, what, advice).at_bar(bar, self.piece.label(bar));
        let inside = at.offset.is_positive();
        self.findings.push(if inside {
            finding.at_offset(at.offset)
        } else {
            finding
        });
    }

    /// A finding about the whole piece.
    pub(super) fn whole(&mut self, severity: Severity, kind: &'static str, what: &str, advice: &str) {
        self.findings.push(Finding::new(severity, kind, what, advice));
    }

    /// The printed label of the bar that a place opens.
    pub(super) fn label(&self, at: Place) -> &'a str {
        self.piece.label(at.bar)
    }

    fn placed(&self, finding: Finding, at: Place) -> Finding {
        let finding = finding.at_bar(at.bar, self.piece.label(at.bar));
        if at.offset.is_positive() {
            finding.at_offset(at.offset)
        } else {
            finding
        }
    }
}
