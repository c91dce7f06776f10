//! Which metre was meant where its figures are doubtful? The one that its bars fill.
//!
//! In some music fonts a 2 looks like a 3. Where hardly a bar fills the metre that was read, and most fill another that the reader found
//! possible, the other one is taken; where the reader hardly thought of the other, many bars must fill it and none the one that was read.
//! What a teacher said stays.

use super::{System, lengths};
use crate::page_bars::{At, Item, PageBar};
use crate::signs::{Change, LIKELY, Other};
use crate::vocabulary::Ask;
use notation::Quarters;

/// So many bars after a metre are asked at most.
const ASKED: usize = 16;
/// So many must fill the other metre at least …
const LEAST: usize = 2;
/// … and so many times those that fill the one that was read: judgement.
const TIMES: usize = 4;
/// Against a reader that hardly thought of the other metre, so many bars must fill it and none the one that was read: judgement.
const LEAST_AGAINST: usize = 4;

/// The systems with other metres where bars ask for them; `None` where every metre stays.
pub(super) fn metres(systems: &[System], bars: &[PageBar]) -> Option<Vec<System>> {
    let plain: Vec<Quarters> = bars.iter().map(|bar| lengths::plain(systems, bar)).collect();
    let metres: Vec<(usize, At)> = bars
        .iter()
        .enumerate()
        .flat_map(|(n, bar)| {
            bar.items.iter().filter_map(move |item| match item {
                Item::Metre(at) => Some((n, *at)),
                _ => None,
            })
        })
        .collect();
    let mut out: Option<Vec<System>> = None;
    for (k, (n, at)) in metres.iter().enumerate() {
        // A metre at the end of a line is announced there and said again at the next: its bars come after both.
        let music_before = |next: usize| {
            plain
                .get(*n..next)
                .is_some_and(|bars| bars.iter().any(|bar| bar.is_positive()))
        };
        let until = metres
            .iter()
            .skip(k + 1)
            .map(|next| next.0)
            .find(|next| music_before(*next))
            .unwrap_or(bars.len())
            .min(n + ASKED);
        let Some(other) = other_metre(systems, *at, plain.get(*n..until).unwrap_or(&[])) else {
            continue;
        };
        let changed = out.get_or_insert_with(|| systems.to_vec());
        if let Some(sign) = changed
            .get_mut(at.system)
            .and_then(|system| system.seen.signs.get_mut(at.sign))
            && let Change::Answer(ask, answer) = other.change
        {
            let read = std::mem::replace(&mut sign.answers[ask as usize], answer);
            let sure = 1.0 - other.sure;
            sign.others.retain(|known| known.change != other.change);
            sign.others.insert(
                0,
                Other {
                    change: Change::Answer(ask, read),
                    sure,
                },
            );
        }
    }
    out
}

fn other_metre(systems: &[System], at: At, next: &[Quarters]) -> Option<Other> {
    let sign = systems.get(at.system)?.seen.signs.get(at.sign)?;
    // What was said to be right, or put right, is.
    if sign.log >= 0.0 {
        return None;
    }
    let fill =
        |full: Option<Quarters>| full.map_or(0, |full| next.iter().filter(|actual| **actual == full).count());
    let length = |num: usize, den: usize| lengths::metre_said(num, den).and_then(|metre| metre.length());
    let (num, den) = (sign.answer(Ask::Numerator), sign.answer(Ask::Denominator));
    let read = fill(length(num, den));
    let others = sign.others.iter().filter_map(|other| {
        let full = match other.change {
            Change::Answer(Ask::Numerator, other) => length(other, den),
            Change::Answer(Ask::Denominator, other) => length(num, other),
            _ => None,
        };
        full.map(|full| (fill(Some(full)), *other))
    });
    let (most, other) = others.max_by(|a, b| a.0.cmp(&b.0).then(a.1.sure.total_cmp(&b.1.sure)))?;
    let music = next.iter().filter(|actual| actual.is_positive()).count();
    let filled = most >= LEAST && most > TIMES * read && most * 2 > music;
    let plainly = most >= LEAST_AGAINST && read == 0 && most * 5 >= music * 4;
    (if other.sure > LIKELY { filled } else { plainly }).then_some(other)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::signs::Sign;
    use crate::vocabulary::{DENOMINATORS, Main, NUMERATORS};

    const QUARTER: usize = 4;

    fn sign(x: f32, main: Main) -> Sign {
        Sign {
            log: -0.01,
            ..Sign::plain(0, x, main)
        }
    }

    /// A metre of two figures, then bars of so many quarters.
    fn line(figure: &str, or: &str, bars: &[usize]) -> System {
        line_with(figure, or, 0.1, bars)
    }

    /// The same, the other figure thought so likely by the reader.
    fn line_with(figure: &str, or: &str, sure: f32, bars: &[usize]) -> System {
        let at = |figure: &str| NUMERATORS.iter().position(|known| *known == figure).unwrap_or(0);
        let mut metre = sign(1.0, Main::Metre);
        metre.answers[Ask::Numerator as usize] = at(figure);
        metre.answers[Ask::Denominator as usize] =
            DENOMINATORS.iter().position(|known| *known == "4").unwrap_or(0);
        metre.others.push(Other {
            change: Change::Answer(Ask::Numerator, at(or)),
            sure,
        });
        let mut signs = vec![metre];
        let mut x = 10.0;
        for quarters in bars {
            for _ in 0..*quarters {
                let mut note = sign(x, Main::Note(3));
                (note.answers[0], note.values, note.dots) = (QUARTER, [-20.0; 10], [-20.0; 3]);
                (note.values[QUARTER], note.dots[0]) = (-0.01, -0.01);
                signs.push(note);
                x += 10.0;
            }
            signs.push(sign(x, Main::Bar(0)));
            x += 10.0;
        }
        let mut system = System::of_scores(&[]);
        system.seen.signs = signs;
        system
    }

    fn taken(system: System) -> &'static str {
        let systems = [system];
        let bars = crate::page_bars::page_bars(&systems);
        let changed = metres(&systems, &bars);
        let systems = changed.as_deref().unwrap_or(&systems);
        NUMERATORS[systems[0].seen.signs[0].answer(Ask::Numerator)]
    }

    #[test]
    fn the_metre_is_the_one_that_its_bars_fill() {
        assert_eq!(taken(line("3", "2", &[2, 2, 2, 2])), "2");
        assert_eq!(taken(line("3", "2", &[3, 3, 2, 3])), "3");
        // A bar alone says too little, and bars of all lengths say nothing.
        assert_eq!(taken(line("3", "2", &[2])), "3");
        assert_eq!(taken(line("3", "2", &[2, 5, 1, 4, 2, 4])), "3");
    }

    #[test]
    fn a_reader_that_is_sure_gives_way_to_many_bars_only() {
        assert_eq!(taken(line_with("3", "2", 0.001, &[2, 2, 2])), "3");
        assert_eq!(taken(line_with("3", "2", 0.001, &[2, 2, 2, 2])), "2");
        assert_eq!(taken(line_with("3", "2", 0.001, &[2, 2, 2, 2, 3])), "3");
        assert_eq!(taken(line_with("3", "2", 0.001, &[2, 2, 4, 2, 2, 1])), "3");
    }

    #[test]
    fn a_metre_announced_at_the_end_of_a_line_is_the_one_of_the_next() {
        let next = line("3", "2", &[2, 2, 2, 2]);
        let mut first = line("4", "4", &[4, 4]);
        let mut announced = next.seen.signs[0].clone();
        announced.x = 1000.0;
        first.seen.signs.push(announced);
        let systems = [first, next];
        let bars = crate::page_bars::page_bars(&systems);
        let changed = metres(&systems, &bars).unwrap_or_default();
        let figure =
            |system: &System, sign: usize| NUMERATORS[system.seen.signs[sign].answer(Ask::Numerator)];
        let last = changed[0].seen.signs.len() - 1;
        assert_eq!(
            [
                figure(&changed[0], 0),
                figure(&changed[0], last),
                figure(&changed[1], 0)
            ],
            ["4", "2", "2"]
        );
    }

    #[test]
    fn what_somebody_said_stays() {
        let mut system = line("3", "2", &[2, 2, 2, 2]);
        system.seen.signs[0].log = 0.0;
        assert_eq!(taken(system), "3");
    }
}
