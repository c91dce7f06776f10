//! Which marks are drawn in which system? Chosen page by page, and pages move with the room that they take.

use super::{DrawnBySystem, Layout};
use crate::pencil::{self, Drawn};
use crate::systems;
use notation::{Finding, PencilMark};

/// How often marks are chosen and placed again because pages moved with the room that they took.
const ROUNDS: usize = 4;

impl Layout<'_> {
    /// Pages, and the marks in their systems: marks are chosen page by page, and pages move with the room they take.
    pub(super) fn place_marks(
        &self,
        marks: &[PencilMark],
        turns: &[f64],
    ) -> (Vec<usize>, DrawnBySystem, Vec<Finding>) {
        let none = vec![Vec::new(); self.engraved.systems.len()];
        let mut starts = self.starts(&none, turns);
        if !self.look.hand || marks.is_empty() {
            return (starts, none, Vec::new());
        }
        let (mut drawn, mut findings) = (none, Vec::new());
        for _ in 0..ROUNDS {
            (drawn, findings) = self.drawn(marks, &starts);
            let moved = self.starts(&drawn, turns);
            let settled = moved == starts;
            starts = moved;
            if settled {
                break;
            }
        }
        (starts, drawn, findings)
    }

    /// The marks of each page, as many as the look allows, drawn in their systems.
    fn drawn(&self, marks: &[PencilMark], starts: &[usize]) -> (DrawnBySystem, Vec<Finding>) {
        let mut drawn = vec![Vec::new(); self.engraved.systems.len()];
        let mut findings = Vec::new();
        for page in starts.windows(2) {
            let systems = page[0]..page[1];
            let bars = self.bars.get(page[0]).map_or(0, |bars| bars.start)
                ..page[1]
                    .checked_sub(1)
                    .and_then(|last| self.bars.get(last))
                    .map_or(0, |bars| bars.end);
            let here: Vec<usize> = (0..marks.len())
                .filter(|index| {
                    marks
                        .get(*index)
                        .is_some_and(|mark| systems::touches(mark, &bars))
                })
                .collect();
            let chosen = match self.look.most_marks_per_page {
                Some(most) => {
                    let of_page: Vec<&PencilMark> =
                        here.iter().filter_map(|index| marks.get(*index)).collect();
                    let chosen = pencil::choose(&of_page, most);
                    chosen
                        .into_iter()
                        .filter_map(|index| here.get(index).copied())
                        .collect()
                }
                None => here,
            };
            for system in systems {
                if let Some(slot) = drawn.get_mut(system) {
                    *slot = self.drawn_in(system, marks, &chosen, &mut findings);
                }
            }
        }
        (drawn, findings)
    }

    fn drawn_in(
        &self,
        system: usize,
        marks: &[PencilMark],
        chosen: &[usize],
        findings: &mut Vec<Finding>,
    ) -> Vec<Drawn> {
        let (Some(engraved), Some(bars)) = (self.engraved.systems.get(system), self.bars.get(system)) else {
            return Vec::new();
        };
        let here: Vec<usize> = chosen
            .iter()
            .copied()
            .filter(|index| marks.get(*index).is_some_and(|mark| systems::touches(mark, bars)))
            .collect();
        let of_system: Vec<&PencilMark> = here.iter().filter_map(|index| marks.get(*index)).collect();
        let (mut drawn, roomless) = pencil::place_told(engraved, self.piece, &of_system, self.look);
        findings.extend(roomless);
        drawn.retain_mut(|mark| match here.get(mark.mark) {
            Some(index) => {
                mark.mark = *index;
                true
            }
            None => false,
        });
        drawn
    }
}
