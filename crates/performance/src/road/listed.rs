//! Does the source itself list the sections in the order in which they are played? Then the list is followed.
//!
//! Source: ABC 2.1, section 3.1.9 (`P:` in the header gives the order of the parts); Humdrum reference, expansion lists;
//! MEI 5, `expansion`.

use super::grid::Grid;
use super::report::Report;
use notation::{Piece, Place, Severity};
use std::collections::BTreeSet;

/// More sections than this no order has; what is past them would only cost time.
const MOST_SECTIONS: usize = 10_000;

/// The stretches of the page in the order in which the source says they are played.
#[derive(Debug)]
pub(super) struct Listed {
    /// From and to of each.
    pub stretches: Vec<(Place, Place)>,
    /// Repeats and endings inside are written out in the list.
    pub written_out: bool,
}

impl Listed {
    /// The list that is followed; `None` if there is none or nothing in it can be played.
    pub(super) fn of(piece: &Piece, grid: &Grid) -> Option<Self> {
        let orders = &piece.section_orders;
        let list = orders.followed()?;
        let stretches: Vec<(Place, Place)> = orders
            .sections_of(list)
            .take(MOST_SECTIONS)
            .map(|section| (grid.place(section.start), grid.place(section.end)))
            .filter(|(start, end)| start < end)
            .collect();
        (!stretches.is_empty()).then_some(Self {
            stretches,
            written_out: list.written_out,
        })
    }

    /// No repeat reaches back out of a section.
    pub(super) fn wall(&self, walls: &mut BTreeSet<Place>, grid: &Grid) {
        if self.written_out {
            return;
        }
        let edges = self.stretches.iter().flat_map(|(start, end)| [*start, *end]);
        walls.extend(edges.filter(|at| *at > Place::default() && *at < grid.end()));
    }

    /// Says which order is followed, and that jumps on the page are then not taken.
    pub(super) fn tell(piece: &Piece, jumps: usize, report: &mut Report) {
        let Some(list) = piece.section_orders.followed() else {
            return;
        };
        let names: Vec<&str> = piece
            .section_orders
            .sections_of(list)
            .take(60)
            .map(|section| section.name.as_str())
            .collect();
        let more = if list.order.len() > names.len() {
            " …"
        } else {
            ""
        };
        let what = format!(
            "the source lists the sections in the order {}{more}; that order is followed",
            names.join(" ")
        );
        let advice = "pencil the order on the part if it is not printed";
        report.whole(Severity::Note, "section-order", &what, advice);
        if jumps > 0 {
            let what = "the source lists the order of its sections and also has a D.C. or D.S.; the list was followed";
            report.whole(
                Severity::Caution,
                "section-order-and-jump",
                what,
                "check which of the two is meant",
            );
        }
    }
}
