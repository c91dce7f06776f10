//! How hard is a key struck? Velocities from the dynamic marks.
//!
//! Source: MIDI 1.0 Detailed Specification 4.2, Note On, velocity: a scale from 1 to 127 with the marks ppp pp p mp mf f ff
//! fff spread evenly and 64 between mp and mf, also the value where none is sensed. Each mark gets the middle of its eighth.

use notation::{DirectionKind, Part, Place};

/// The velocity where nothing is marked.
pub(super) const UNMARKED: u8 = 64;
/// What a sforzato or forzato adds: one mark. (Ours; common practice says only: stronger than its surroundings.)
const STRESS: u8 = 16;

/// The velocity of a mark that holds until the next.
fn level(mark: &str) -> Option<u8> {
    Some(match mark {
        "ppp" | "pppp" | "ppppp" | "pppppp" => 8,
        "pp" => 24,
        "p" => 40,
        "mp" => 56,
        "mf" => 72,
        "f" => 88,
        "ff" => 104,
        "fff" | "ffff" | "fffff" | "ffffff" => 120,
        "n" => 1,
        _ => return None,
    })
}

/// What a mark makes of the notes at its place and of those after it; `None` if it changes nothing.
fn meaning(mark: &str) -> Option<(Stroke, Option<u8>)> {
    if let Some(level) = level(mark) {
        return Some((Stroke::Level(level), Some(level)));
    }
    match mark {
        "fp" => Some((Stroke::Level(88), Some(40))),
        "pf" => Some((Stroke::Level(40), Some(88))),
        "sfp" => Some((Stroke::Stress, Some(40))),
        "sfpp" => Some((Stroke::Stress, Some(24))),
        "sf" | "sfz" | "sffz" | "fz" | "rf" | "rfz" => Some((Stroke::Stress, None)),
        _ => None,
    }
}

#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Stroke {
    Level(u8),
    Stress,
}

/// The dynamic marks of a part in order of place.
#[derive(Debug)]
pub(super) struct Dynamics {
    marks: Vec<(Place, Stroke, Option<u8>)>,
}

impl Dynamics {
    pub(super) fn of(part: &Part) -> Self {
        let beside = part
            .directions
            .iter()
            .filter_map(|direction| match &direction.kind {
                DirectionKind::Dynamic(mark) => Some((direction.place, mark)),
                _ => None,
            });
        let at_notes = part
            .events
            .iter()
            .flat_map(|event| event.dynamics.iter().map(|mark| (event.place, mark)));
        let mut marks: Vec<(Place, Stroke, Option<u8>)> = beside
            .chain(at_notes)
            .filter_map(|(place, mark)| meaning(mark.trim()).map(|(stroke, after)| (place, stroke, after)))
            .collect();
        marks.sort_by_key(|(place, ..)| *place);
        Self { marks }
    }

    /// The velocity of a note at a place.
    pub(super) fn at(&self, place: Place) -> u8 {
        let until = self.marks.partition_point(|(at, ..)| *at <= place);
        let before = self.marks.get(..until).unwrap_or_default();
        let mut stressed = false;
        for (at, stroke, after) in before.iter().rev() {
            match (stroke, after) {
                (Stroke::Level(level), _) if *at == place => return lift(*level, stressed),
                (Stroke::Stress, _) if *at == place => stressed = true,
                (_, Some(level)) => return lift(*level, stressed),
                _ => {}
            }
        }
        lift(UNMARKED, stressed)
    }
}

fn lift(level: u8, stressed: bool) -> u8 {
    let level = if stressed { level + STRESS } else { level };
    level.clamp(1, 127)
}

#[cfg(test)]
mod tests {
    use super::*;
    use notation::{BarIndex, Quarters, sketch};

    #[test]
    fn marks_hold_until_the_next() {
        let piece = sketch("C4/q @p C4/q C4/q @sf C4/q | @fp C4/h C4/h |").expect("a sketch");
        let dynamics = Dynamics::of(&piece.parts[0]);
        let at = |bar, offset| {
            dynamics.at(Place {
                bar: BarIndex(bar),
                offset: Quarters::whole(offset),
            })
        };
        assert_eq!([at(0, 0), at(0, 1), at(0, 2), at(0, 3)], [64, 40, 40, 56]);
        assert_eq!([at(1, 0), at(1, 2)], [88, 40]);
    }
}
