//! Which endings are there? Brackets opened and closed, numbered once, and held against the repeats and endings around them.

use super::builder::Builder;
use super::told::BRACKET;
use crate::signs::Beside;
use notation::{BarIndex, BarSide, Ending, EndingKind, Place, Quarters};

/// An ending bracket less sure than this must fit what stands around it.
const SURE_ENDING: f32 = 0.9;
/// A bracket whose end was not seen stands over so many bars at most: judgement.
const MOST_BARS: usize = 8;

/// One end of a bracket as it was read.
#[derive(Clone, Debug)]
pub(super) struct EndingMark {
    bar: BarIndex,
    side: BarSide,
    system: usize,
    mark: Beside,
}

/// A bracket: its number, its first bar, its last if that was seen.
struct Bracket {
    number: String,
    from: BarIndex,
    to: Option<BarIndex>,
}

impl Bracket {
    /// The first time ends here: what follows it is played after a repeat.
    fn is_first(&self) -> bool {
        self.number.starts_with('1')
    }
}

impl Builder<'_> {
    pub(super) fn ending(&mut self, bar: BarIndex, side: BarSide, number: &str, road: (usize, &Beside)) {
        let (system, road) = road;
        let offset = if side == BarSide::Left {
            Quarters::ZERO
        } else {
            self.length(bar)
        };
        let place = Place { bar, offset };
        self.told.beside(place, road);
        self.ending_marks.push(EndingMark {
            bar,
            side,
            system,
            mark: road.clone(),
        });
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

    fn length(&self, bar: BarIndex) -> Quarters {
        self.piece
            .bars
            .get(bar.get())
            .map_or(Quarters::ZERO, |bar| bar.length)
    }

    /// Each bracket's end gets its number; one never opened is left out, and one never closed ends where its kind does ([`Self::end_unseen`]).
    pub(super) fn close_endings(&mut self) {
        self.piece
            .barlines
            .sort_by_key(|line| (line.place.bar, line.side));
        let mut brackets: Vec<Bracket> = Vec::new();
        for line in &mut self.piece.barlines {
            let bar = line.place.bar;
            let Some(ending) = &mut line.ending else { continue };
            let open = brackets.last_mut().filter(|bracket| bracket.to.is_none());
            let new_system = || self.piece.bars.get(bar.get()).is_some_and(|bar| bar.new_system);
            match (ending.kind, open) {
                // The bracket goes on in the next system and is numbered again.
                (EndingKind::Start, Some(open))
                    if open.number == ending.number && open.from < bar && new_system() =>
                {
                    line.ending = None;
                }
                (EndingKind::Start, _) => brackets.push(Bracket {
                    number: ending.number.clone(),
                    from: bar,
                    to: None,
                }),
                (_, Some(open)) => {
                    open.to = Some(bar);
                    ending.number.clone_from(&open.number);
                }
                (_, None) => {
                    line.ending = None;
                    self.told.open(Place::start_of(bar), BRACKET, true);
                }
            }
        }
        for at in 0..brackets.len() {
            let Some(bracket) = brackets.get(at).filter(|bracket| bracket.to.is_none()) else {
                continue;
            };
            let (from, number) = (bracket.from, bracket.number.clone());
            let bar = self.end_unseen(&brackets, at);
            self.told.open(Place::start_of(from), BRACKET, false);
            let place = Place {
                bar,
                offset: self.length(bar),
            };
            self.barline(place, BarSide::Right).ending = Some(Ending {
                number,
                text: String::new(),
                kind: EndingKind::Discontinue,
            });
            if let Some(bracket) = brackets.get_mut(at) {
                bracket.to = Some(bar);
            }
        }
    }

    /// Where a bracket ends whose end was not seen, or is not printed: a first one at the repeat after which the next one begins, a later one
    /// after as many bars as the one before it, and no later than what divides the page (a repeat, a double bar, the next ending). Source:
    /// common practice. One of which nothing of that is known ends with its bar.
    fn end_unseen(&self, brackets: &[Bracket], at: usize) -> BarIndex {
        let Some(bracket) = brackets.get(at) else {
            return BarIndex::default();
        };
        let from = bracket.from.get();
        let next = brackets
            .get(at + 1)
            .map_or(self.piece.bars.len(), |next| next.from.get());
        let before = at.checked_sub(1).and_then(|before| brackets.get(before));
        let before = before.and_then(|before| Some((before, before.to?.get())));
        let until = next.min(from + MOST_BARS);
        let repeat = || (from..until).find(|bar| bar + 1 == next && self.leads_back(*bar));
        let as_long = || {
            let (before, _) = before.filter(|(_, to)| to + 1 == from)?;
            let long = before.to?.get() - before.from.get();
            (from..until)
                .take(long + 1)
                .find(|bar| *bar == from + long || self.divides(*bar))
        };
        let last = if bracket.is_first() { repeat() } else { as_long() };
        last.map_or(bracket.from, BarIndex::from_usize)
    }

    /// Whether a bar ends in a repeat.
    fn leads_back(&self, bar: usize) -> bool {
        let mut lines = self.piece.barlines.iter();
        lines.any(|line| {
            line.place.bar.get() == bar
                && line.side == BarSide::Right
                && line.repeat.as_ref().is_some_and(|repeat| !repeat.forward)
        })
    }

    /// Whether a bar ends in more than one stroke, or a repeat begins after it.
    fn divides(&self, bar: usize) -> bool {
        self.piece.barlines.iter().any(|line| {
            let here = match line.side {
                BarSide::Left => line.place.bar.get() == bar + 1,
                _ => line.place.bar.get() == bar,
            };
            here && (line.repeat.is_some() || line.style.is_some())
        })
    }

    fn ending_mark(&self, bar: BarIndex, side: BarSide) -> Option<&EndingMark> {
        let mut marks = self.ending_marks.iter().rev();
        marks.find(|mark| mark.bar == bar && mark.side == side)
    }

    /// A bracket with which nothing goes is something else that was seen there: it stands beside no other ending, and no repeat ends it or
    /// (of a later one) stands before it. A doubtful one needs another ending, or as a later one a repeat at its end. What somebody
    /// looked at stays.
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
            let before = n.checked_sub(1).and_then(|n| brackets.get(n));
            let after = brackets.get(n + 1);
            let beside = before.is_some_and(|(_, end)| bar_of(*end) + 1 == bar_of(*from))
                || after.is_some_and(|(start, _)| bar_of(*start) == bar_of(*to) + 1);
            // A first ending wants a second one; a later one may have lost what stood before it.
            let first = lines[*from]
                .ending
                .as_ref()
                .is_some_and(|ending| ending.number.starts_with('1'));
            let ends_in_repeat = self.leads_back(bar_of(*to));
            let after_repeat = bar_of(*from)
                .checked_sub(1)
                .is_some_and(|bar| self.leads_back(bar));
            let Some(mark) = self.ending_mark(lines[*from].place.bar, BarSide::Left) else {
                continue;
            };
            let fits = beside
                || !first && ends_in_repeat
                || mark.mark.sure >= SURE_ENDING && (ends_in_repeat || !first && after_repeat);
            if !fits && !mark.mark.right {
                let end = self.ending_mark(lines[*to].place.bar, BarSide::Right);
                let end = end.map(|end| (end.system, end.mark.number));
                unfit.push((*from, *to, mark.clone(), end));
            }
        }
        for (from, to, mark, end) in unfit {
            let ends = [from, to].map(|at| self.piece.barlines[at].place);
            self.told
                .bracket_left_out([Place::start_of(mark.bar), ends[1]], end);
            self.told.left_out(ends[0], mark.system, &mark.mark);
            for at in [from, to] {
                self.piece.barlines[at].ending = None;
            }
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

    fn beside(number: u32, x: f32, name: &'static str, sure: f32) -> Beside {
        Beside {
            number,
            x,
            name,
            sure,
            right: false,
        }
    }

    /// Bars of a whole note each, the nth from 0 with its left edge at 180 + 100 (n - 1) and ending in the nth of these lines; brackets above.
    fn system(lines: &[&str], roads: Vec<Beside>) -> System {
        let mut signs = vec![sign(10.0, Main::Clef(0), 0)];
        for (bar, line) in (0_u8..).zip(lines) {
            let x = 100.0 * (f32::from(bar) + 1.0);
            signs.push(sign(x, Main::Note(4), 2));
            let kind = BARS.iter().position(|known| known == line).unwrap();
            signs.push(sign(x + 80.0, Main::Bar(kind), 0));
        }
        System {
            page: 0,
            seen: Seen {
                signs,
                roads,
                dynamics: Vec::new(),
            },
            left: 0.0,
            scale: 1.0,
            middle: (112.0, 112.0),
            width: 100.0 * f32::from(u8::try_from(lines.len()).unwrap()) + 100.0,
            words: Vec::new(),
            beyond: Vec::new(),
        }
    }

    /// Ends of endings that are in the piece, and whether one was told to be left out.
    fn found(system: System) -> (usize, bool) {
        let read = assemble(&[system]);
        let lines = &read.piece.barlines;
        let endings = lines.iter().filter(|line| line.ending.is_some()).count();
        let told = read.findings.iter().any(|f| f.kind == "ending-left-out");
        // It is asked about once, and comes in again by its mark.
        let asked = read.look.iter().filter(|place| place.left_out.is_some()).count();
        assert_eq!(asked, usize::from(told));
        (endings, told)
    }

    /// One bracket over the second of four bars, which ends in the bar line of this kind.
    fn one_bracket(name: &'static str, sure: f32, line: &str) -> (usize, bool) {
        let roads = vec![beside(0, 185.0, name, sure), beside(1, 280.0, "vend", 0.99)];
        found(system(&["single", line, "single", "single"], roads))
    }

    #[test]
    fn a_doubtful_bracket_with_no_repeat_and_no_neighbour_is_left_out_and_told() {
        assert_eq!(one_bracket("v2", 0.5, "single"), (0, true));
        assert_eq!(one_bracket("v2", 0.5, "rep_end"), (2, false));
        assert_eq!(one_bracket("v1", 0.5, "rep_end"), (0, true));
    }

    #[test]
    fn a_bracket_with_which_nothing_goes_is_left_out_even_if_the_reader_is_sure() {
        assert_eq!(one_bracket("v1", 0.98, "single"), (0, true));
        assert_eq!(one_bracket("v2", 0.98, "single"), (0, true));
        assert_eq!(one_bracket("v1", 0.98, "rep_end"), (2, false));
        // A first ending was missed, and its repeat was not.
        let roads = vec![beside(0, 185.0, "v2", 0.98), beside(1, 280.0, "vend", 0.99)];
        let after_repeat = system(&["rep_end", "single", "single", "single"], roads);
        assert_eq!(found(after_repeat), (2, false));
        // The end was seen nowhere, as under a figure over a note that was taken for a bracket.
        let no_end = system(
            &["single", "single", "rep_end", "single"],
            vec![beside(0, 185.0, "v1", 0.98)],
        );
        assert_eq!(found(no_end), (0, true));
    }

    #[test]
    fn a_bracket_that_somebody_looked_at_stays() {
        let mut mark = beside(0, 185.0, "v1", 1.0);
        mark.right = true;
        let roads = vec![mark, beside(1, 280.0, "vend", 0.99)];
        assert_eq!(found(system(&["single", "single", "single"], roads)), (2, false));
    }

    #[test]
    fn a_bracket_left_out_is_asked_about_once_though_both_its_ends_are_doubtful() {
        let roads = vec![beside(0, 185.0, "v1", 0.5), beside(1, 280.0, "vend", 0.4)];
        let read = assemble(&[system(&["single", "single", "single"], roads)]);
        let asked = read
            .look
            .iter()
            .filter(|place| place.taken_for.contains("bracket"));
        assert_eq!(asked.count(), 1);
        let told = read.findings.iter().filter(|f| f.what.contains("bracket"));
        assert_eq!(told.count(), 1);
    }

    /// First and last bar of each ending, from 0.
    fn reaches(system: System) -> Vec<(usize, usize)> {
        let read = assemble(&[system]);
        let mut out: Vec<(usize, usize)> = Vec::new();
        for line in read.piece.barlines.iter().filter(|line| line.ending.is_some()) {
            let bar = line.place.bar.get();
            match line.ending.as_ref().map(|ending| ending.kind) {
                Some(notation::EndingKind::Start) => out.push((bar, bar)),
                _ => out.last_mut().unwrap().1 = bar,
            }
        }
        out
    }

    #[test]
    fn a_second_ending_that_is_not_closed_is_as_long_as_the_first() {
        let first = || vec![beside(0, 185.0, "v1", 0.99), beside(1, 380.0, "vend", 0.99)];
        let open = || {
            let mut roads = first();
            roads.push(beside(2, 385.0, "v2", 0.99));
            roads
        };
        let lines = ["single", "single", "rep_end", "single", "single", "single"];
        assert_eq!(reaches(system(&lines, open())), [(1, 2), (3, 4)]);
        // What divides the page ends it sooner.
        let lines = ["single", "single", "rep_end", "double", "single", "single"];
        assert_eq!(reaches(system(&lines, open())), [(1, 2), (3, 3)]);
    }

    #[test]
    fn a_first_ending_whose_end_was_not_seen_leads_to_its_repeat() {
        let roads = vec![
            beside(0, 185.0, "v1", 0.99),
            beside(1, 385.0, "v2", 0.99),
            beside(2, 480.0, "vend", 0.99),
        ];
        let lines = ["single", "single", "rep_end", "double", "single"];
        assert_eq!(reaches(system(&lines, roads)), [(1, 2), (3, 3)]);
    }
}
