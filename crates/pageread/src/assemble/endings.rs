//! Which endings are there? Brackets opened and closed, numbered once, and held against the repeats and endings around them.

use super::builder::Builder;
use crate::signs::Beside;
use notation::{BarIndex, BarSide, Ending, EndingKind, Place, Quarters};

/// An ending bracket less sure than this must fit what stands around it.
const SURE_ENDING: f32 = 0.9;

impl Builder<'_> {
    pub(super) fn ending(&mut self, bar: BarIndex, side: BarSide, number: &str, road: &Beside) {
        let length = self
            .piece
            .bars
            .get(bar.get())
            .map_or(Quarters::ZERO, |bar| bar.length);
        let place = Place {
            bar,
            offset: if side == BarSide::Left {
                Quarters::ZERO
            } else {
                length
            },
        };
        self.told.beside(place, road);
        if side == BarSide::Left {
            self.ending_sure.push((bar, road.sure));
        }
        let line = self.barline(place, side);
        let closed = line.repeat.is_some() || line.style.is_some();
        line.ending = Some(Ending {
            number: number.to_owned(),
            text: String::new(),
            kind: match side {
                BarSide::Left => EndingKind::Start,
                _ if closed => EndingKind::Stop,
                _ => EndingKind::Discontinue,
            },
        });
    }

    /// Each bracket's end gets its number; a bracket never closed ends with its bar, one never opened is left out.
    pub(super) fn close_endings(&mut self) {
        self.piece
            .barlines
            .sort_by_key(|line| (line.place.bar, line.side));
        let mut open: Option<(String, BarIndex)> = None;
        let mut missing: Vec<(BarIndex, String)> = Vec::new();
        for at in 0..self.piece.barlines.len() {
            let line = &mut self.piece.barlines[at];
            let bar = line.place.bar;
            let Some(ending) = &mut line.ending else { continue };
            let goes_on = open.as_ref().is_some_and(|(number, from)| {
                *number == ending.number
                    && *from < bar
                    && self.piece.bars.get(bar.get()).is_some_and(|bar| bar.new_system)
            });
            if ending.kind == EndingKind::Start && goes_on {
                // The bracket goes on in the next system and is numbered again.
                line.ending = None;
            } else if ending.kind == EndingKind::Start {
                if let Some((number, from)) = open.take() {
                    missing.push((from, number));
                }
                open = Some((ending.number.clone(), bar));
            } else if let Some((number, _)) = open.take() {
                ending.number = number;
            } else {
                line.ending = None;
                self.told.open(Place::start_of(bar), "ending bracket", true);
            }
        }
        missing.extend(open.map(|(number, from)| (from, number)));
        for (bar, number) in missing {
            self.told.open(Place::start_of(bar), "ending bracket", false);
            let length = self
                .piece
                .bars
                .get(bar.get())
                .map_or(Quarters::ZERO, |bar| bar.length);
            let line = self.barline(Place { bar, offset: length }, BarSide::Right);
            line.ending = Some(Ending {
                number,
                text: String::new(),
                kind: EndingKind::Discontinue,
            });
        }
    }

    /// A doubtful bracket that stands beside no other ending (and, if it is no first one, ends in no repeat) is something else that was
    /// seen there.
    pub(super) fn fitting_endings(&mut self) {
        self.piece
            .barlines
            .sort_by_key(|line| (line.place.bar, line.side));
        let lines = &self.piece.barlines;
        let mut brackets: Vec<(usize, usize)> = Vec::new();
        let mut open = None;
        for (at, line) in lines.iter().enumerate() {
            match line.ending.as_ref().map(|ending| ending.kind) {
                Some(EndingKind::Start) => open = Some(at),
                Some(_) => brackets.extend(open.take().map(|from| (from, at))),
                None => {}
            }
        }
        let bar_of = |at: usize| lines[at].place.bar.get();
        let mut unfit = Vec::new();
        for (n, (from, to)) in brackets.iter().enumerate() {
            let beside = |other: Option<&(usize, usize)>, follows: bool| {
                other.is_some_and(|(start, end)| {
                    if follows {
                        bar_of(*start) == bar_of(*to) + 1
                    } else {
                        bar_of(*end) + 1 == bar_of(*from)
                    }
                })
            };
            let before = n.checked_sub(1).and_then(|n| brackets.get(n));
            // A first ending wants a second one; a later one may have lost what stood before it.
            let first = lines[*from]
                .ending
                .as_ref()
                .is_some_and(|ending| ending.number.starts_with('1'));
            let fits = beside(before, false)
                || beside(brackets.get(n + 1), true)
                || !first && lines[*to].repeat.is_some();
            let bar = lines[*from].place.bar;
            let sure = self.ending_sure.iter().find(|(at, _)| *at == bar);
            if !fits && sure.is_some_and(|(_, sure)| *sure < SURE_ENDING) {
                unfit.push((*from, *to));
            }
        }
        for (from, to) in unfit {
            let place = self.piece.barlines[from].place;
            self.told.unfit_ending(place);
            self.piece.barlines[from].ending = None;
            self.piece.barlines[to].ending = None;
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::assemble::{System, assemble};
    use crate::signs::{Beside, Seen, Sign};
    use crate::vocabulary::{BARS, Main};

    fn sign(x: f32, main: Main, value: usize) -> Sign {
        let mut answers = [0; 14];
        answers[0] = value;
        let mut values = [-12.0; 10];
        values[value] = 0.0;
        Sign {
            answers,
            log: -0.01,
            values,
            dots: [0.0, -12.0, -12.0],
            ..Sign::plain(0, x, main)
        }
    }

    /// Four bars of a whole note each under one bracket over the second, which ends in the bar line of this kind.
    fn one_bracket(name: &'static str, sure: f32, line: &str) -> (usize, bool) {
        let mut signs = vec![sign(10.0, Main::Clef(0), 0)];
        for bar in 0_u8..4 {
            let x = 100.0 * (f32::from(bar) + 1.0);
            signs.push(sign(x, Main::Note(4), 2));
            let kind = if bar == 1 { line } else { "single" };
            let kind = BARS.iter().position(|known| *known == kind).unwrap();
            signs.push(sign(x + 80.0, Main::Bar(kind), 0));
        }
        let beside = |x, name, sure| Beside {
            number: 0,
            x,
            name,
            sure,
        };
        let seen = Seen {
            signs,
            roads: vec![beside(185.0, name, sure), beside(280.0, "vend", 0.99)],
            dynamics: Vec::new(),
        };
        let read = assemble(&[System {
            page: 0,
            seen,
            left: 0.0,
            scale: 1.0,
            middle: (112.0, 112.0),
            width: 500.0,
            words: Vec::new(),
            beyond: Vec::new(),
        }]);
        let lines = &read.piece.barlines;
        let endings = lines.iter().filter(|line| line.ending.is_some()).count();
        let told = read.findings.iter().any(|f| f.kind == "ending-left-out");
        (endings, told)
    }

    #[test]
    fn a_doubtful_bracket_with_no_repeat_and_no_neighbour_is_left_out_and_told() {
        assert_eq!(one_bracket("v2", 0.5, "single"), (0, true));
        assert_eq!(one_bracket("v2", 0.5, "rep_end"), (2, false));
        assert_eq!(one_bracket("v1", 0.5, "rep_end"), (0, true));
        assert_eq!(one_bracket("v1", 0.98, "single"), (2, false));
    }
}
