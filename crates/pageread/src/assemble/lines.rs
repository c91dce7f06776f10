//! Which bar lines repeat, where the reader is not sure? Those at the end of a first ending do, those at the end of the last one do not.
//!
//! A final bar line in the middle of a page looks like a repeat whose dots are faint, and the reverse. The endings say which of the two it is:
//! a first ending leads back, the last one leads on. Source: common practice. What the reader is sure of stays (some prints repeat a second
//! ending, too), and so does what somebody said.

use super::System;
use super::over::NEAR;
use crate::page_bars::{At, PageBar};
use crate::signs::{Beside, Change, Other, Sign};
use crate::vocabulary::{BARS, Main};

/// Brackets less sure than this say nothing.
const SURE_ENDING: f32 = 0.9;
/// Bar lines surer than this stay: judgement. None of the second endings on 302 pages of development was repeated.
const DOUBTFUL: f32 = 0.75;
/// What the endings ask for is taken where it is at least so likely.
const LIKELY: f32 = 0.1;

/// An ending bracket with both ends: its name, and the first and last of the bars that it stands over.
struct Bracket {
    name: &'static str,
    from: usize,
    to: usize,
}

/// The systems with other bar lines where endings ask for them; `None` where every bar line stays.
pub(super) fn lines(systems: &[System], bars: &[PageBar]) -> Option<Vec<System>> {
    let brackets = brackets(systems, bars);
    let mut out: Option<Vec<System>> = None;
    for (n, bracket) in brackets.iter().enumerate() {
        let follows = brackets
            .get(n + 1)
            .is_some_and(|next| next.from == bracket.to + 1);
        let before = n.checked_sub(1).and_then(|n| brackets.get(n));
        let is_later = before.is_some_and(|before| before.to + 1 == bracket.from);
        let first = bracket.name.starts_with("v1");
        let repeats = match (first, follows) {
            (true, true) => true,
            (false, false) if is_later => false,
            _ => continue,
        };
        let Some(line) = bars.get(bracket.to).and_then(|bar| bar.right) else {
            continue;
        };
        let Some(other) = sign(systems, line.at).and_then(|sign| other_line(sign, repeats)) else {
            continue;
        };
        let changed = out.get_or_insert_with(|| systems.to_vec());
        if let Some(sign) = changed
            .get_mut(line.at.system)
            .and_then(|system| system.seen.signs.get_mut(line.at.sign))
            && let Change::Becomes(main) = other.change
        {
            let read = std::mem::replace(&mut sign.main, main);
            let sure = sign.sure();
            sign.log = other.sure.ln();
            sign.others.retain(|known| known.change != other.change);
            sign.others.insert(
                0,
                Other {
                    change: Change::Becomes(read),
                    sure,
                },
            );
        }
    }
    out
}

fn sign(systems: &[System], at: At) -> Option<&Sign> {
    systems.get(at.system)?.seen.signs.get(at.sign)
}

fn kind(main: Main) -> Option<&'static str> {
    match main {
        Main::Bar(kind) => BARS.get(kind).copied(),
        _ => None,
    }
}

fn leads_back(kind: &str) -> bool {
    matches!(kind, "rep_end" | "rep_both")
}

/// The likeliest other bar line that leads back, or that does not, if this one is doubtful and does the reverse. What ends in no repeat ends
/// in more than one stroke where that is possible.
fn other_line(sign: &Sign, repeats: bool) -> Option<Other> {
    if sign.log >= 0.0 || sign.sure() >= DOUBTFUL || leads_back(kind(sign.main)?) == repeats {
        return None;
    }
    let strokes = |kind: &str| matches!(kind, "double" | "final" | "rep_start");
    let others = sign.others.iter().filter_map(|other| match other.change {
        Change::Becomes(main) => Some((kind(main)?, *other)),
        _ => None,
    });
    let others: Vec<(&str, Other)> = others.filter(|(kind, _)| leads_back(kind) == repeats).collect();
    if others.iter().map(|(_, other)| other.sure).sum::<f32>() < LIKELY {
        return None;
    }
    let best = others.into_iter().max_by(|a, b| {
        let turn = strokes(a.0).cmp(&strokes(b.0));
        turn.then(a.1.sure.total_cmp(&b.1.sure))
    });
    best.map(|(_, other)| other)
}

/// The brackets whose two ends were seen, in order.
fn brackets(systems: &[System], bars: &[PageBar]) -> Vec<Bracket> {
    let mut out = Vec::new();
    let mut open: Option<(&'static str, usize)> = None;
    for (number, system) in systems.iter().enumerate() {
        for road in &system.seen.roads {
            if road.name == "vend" {
                let to = bar_ending(bars, system, number, road);
                if let (Some((name, from)), Some(to)) = (open.take(), to)
                    && from <= to
                {
                    out.push(Bracket { name, from, to });
                }
            } else if road.name.starts_with('v') && road.sure >= SURE_ENDING {
                // A bracket that goes on in the next system is numbered again there.
                if open.is_none_or(|(name, _)| name != road.name) {
                    open = bar_beginning(bars, number, road).map(|from| (road.name, from));
                }
            }
        }
    }
    out
}

fn bar_beginning(bars: &[PageBar], system: usize, road: &Beside) -> Option<usize> {
    let here = bars.iter().enumerate().filter(|(_, bar)| bar.system == system);
    let inside = here.clone().rfind(|(_, bar)| bar.from <= road.x + NEAR);
    inside.or_else(|| here.clone().next()).map(|(n, _)| n)
}

fn bar_ending(bars: &[PageBar], system: &System, number: usize, road: &Beside) -> Option<usize> {
    let here = bars.iter().enumerate().filter(|(_, bar)| bar.system == number);
    let off = |bar: &PageBar| (bar.to.min(system.width) - road.x).abs();
    here.min_by(|a, b| off(a.1).total_cmp(&off(b.1))).map(|(n, _)| n)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::assemble::assemble;

    /// Four bars of a whole note each under a first and a second ending, over the second and third bar. Their ends are bar lines of these kinds,
    /// so sure, which could be others.
    fn endings(first: (&str, f32, &str), second: (&str, f32, &str)) -> Vec<System> {
        let bar = |name: &str| Main::Bar(BARS.iter().position(|known| *known == name).unwrap_or(0));
        let mut system = System::of_scores(&[]);
        let plain = ("single", 0.99, "double");
        for (n, (name, sure, or)) in (0_u8..).zip([plain, first, second, plain]) {
            let x = 100.0 * (f32::from(n) + 1.0);
            let mut note = Sign::plain(u32::from(n) * 2, x, Main::Note(4));
            (note.log, note.values) = (-0.01, [-12.0; 10]);
            (note.values[2], note.answers[0]) = (0.0, 2);
            let mut line = Sign::plain(u32::from(n) * 2 + 1, x + 80.0, bar(name));
            line.log = sure.ln();
            line.others.push(Other {
                change: Change::Becomes(bar(or)),
                sure: 1.0 - sure,
            });
            system.seen.signs.extend([note, line]);
        }
        let marks = [(185.0, "v1"), (280.0, "vend"), (285.0, "v2"), (380.0, "vend")];
        let marks = (0..).zip(marks).map(|(number, (x, name))| Beside {
            number,
            x,
            name,
            sure: 0.99,
            right: false,
        });
        system.seen.roads = marks.collect();
        system.width = 500.0;
        vec![system]
    }

    /// Bars that end in a repeat, from 0, and how many lines are another than they were read as.
    fn repeats(systems: &[System]) -> (Vec<usize>, usize) {
        let read = assemble(systems);
        let lines = read.piece.barlines.iter();
        let back = lines.filter(|line| line.repeat.as_ref().is_some_and(|repeat| !repeat.forward));
        (
            back.map(|line| line.place.bar.get()).collect(),
            read.instead.len(),
        )
    }

    #[test]
    fn the_last_ending_leads_on_where_the_reader_doubts_its_repeat() {
        let repeat = ("rep_end", 0.99, "final");
        assert_eq!(repeats(&endings(repeat, ("rep_end", 0.6, "final"))), (vec![1], 1));
        // A sure repeat stays; so does what can be nothing else.
        assert_eq!(
            repeats(&endings(repeat, ("rep_end", 0.9, "final"))),
            (vec![1, 2], 0)
        );
        assert_eq!(
            repeats(&endings(repeat, ("rep_end", 0.6, "rep_both"))),
            (vec![1, 2], 0)
        );
    }

    #[test]
    fn a_first_ending_leads_back() {
        let last = ("final", 0.99, "double");
        assert_eq!(repeats(&endings(("final", 0.6, "rep_end"), last)), (vec![1], 1));
        assert_eq!(repeats(&endings(("final", 0.9, "rep_end"), last)), (vec![], 0));
    }

    #[test]
    fn the_other_reading_is_offered_and_what_somebody_said_stays() {
        let mut systems = endings(("rep_end", 0.99, "final"), ("rep_end", 0.6, "final"));
        let read = assemble(&systems);
        let place = read
            .look
            .iter()
            .find(|place| place.taken_for == "final bar line")
            .unwrap();
        assert!(place.others.iter().any(|(_, said, _)| said == "repeat ends"));
        systems[0].seen.signs[5].log = 0.0;
        assert_eq!(repeats(&systems).0, [1, 2]);
    }
}
