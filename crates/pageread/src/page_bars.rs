//! Where does each bar begin and end, and what stands in it? Signs of all systems, in order, cut at the bar lines.

use crate::assemble::System;
use crate::signs::Sign;
use crate::vocabulary::{BARS, Flag, Main};

/// Which sign: system and index in its signs.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(crate) struct At {
    pub system: usize,
    pub sign: usize,
}

/// One thing in a bar.
#[derive(Clone, PartialEq, Debug)]
pub(crate) enum Item {
    /// A note or chord (its heads), or a rest.
    Event(Vec<At>),
    /// A clef, key or time signature.
    Clef(At),
    Key(At),
    Metre(At),
}

/// A bar line of a kind in [`BARS`].
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) struct Line {
    pub kind: &'static str,
    pub at: At,
}

/// One printed bar.
#[derive(Clone, PartialEq, Debug, Default)]
pub(crate) struct PageBar {
    pub items: Vec<Item>,
    /// A repeat that opens it.
    pub left: Option<Line>,
    /// What closes it; `None` if its system ends without a bar line.
    pub right: Option<Line>,
    /// A rest of so many bars.
    pub rest_bars: Option<At>,
    /// The bar before, again.
    pub repeat: Option<At>,
    /// So many of its items stand before its rest of bars or its repeat.
    pub before_rest: usize,
    /// The system it begins in, and the system and page that begin with it.
    pub system: usize,
    pub new_system: bool,
    pub new_page: bool,
    /// From where to where it reaches in its system's picture.
    pub from: f32,
    pub to: f32,
}

impl PageBar {
    fn holds_music(&self) -> bool {
        self.rest_bars.is_some()
            || self.repeat.is_some()
            || self.items.iter().any(|item| matches!(item, Item::Event(_)))
    }

    /// Its notes and rests.
    pub(crate) fn events(&self) -> impl Iterator<Item = &Vec<At>> {
        self.items.iter().filter_map(|item| match item {
            Item::Event(heads) => Some(heads),
            _ => None,
        })
    }
}

/// All bars, in order.
pub(crate) fn page_bars(systems: &[System]) -> Vec<PageBar> {
    let mut bars = Vec::new();
    let mut open = PageBar::default();
    for (number, system) in systems.iter().enumerate() {
        open.system = number;
        open.from = 0.0;
        open.new_system = number > 0;
        open.new_page = number > 0
            && systems
                .get(number - 1)
                .is_some_and(|before| before.page != system.page);
        for (index, sign) in system.seen.signs.iter().enumerate() {
            let at = At {
                system: number,
                sign: index,
            };
            take(&mut bars, &mut open, at, sign);
        }
        // A line that ends without its bar line ends its bar all the same.
        if open.holds_music() {
            open.to = f32::MAX;
            bars.push(std::mem::take(&mut open));
        }
    }
    bars
}

fn take(bars: &mut Vec<PageBar>, open: &mut PageBar, at: At, sign: &Sign) {
    match sign.main {
        Main::Clef(_) => open.items.push(Item::Clef(at)),
        Main::Key(_) => open.items.push(Item::Key(at)),
        Main::Metre => open.items.push(Item::Metre(at)),
        Main::BarsRest => {
            open.rest_bars = Some(at);
            open.before_rest = open.items.len();
        }
        Main::BarRepeat => {
            open.repeat = Some(at);
            open.before_rest = open.items.len();
        }
        Main::Rest => open.items.push(Item::Event(vec![at])),
        Main::Note(_) => match open.items.last_mut() {
            Some(Item::Event(heads))
                if sign.is(Flag::Chord) && heads.first().is_some_and(|h| h.system == at.system) =>
            {
                heads.push(at);
            }
            _ => open.items.push(Item::Event(vec![at])),
        },
        Main::Bar(kind) => {
            let line = Line {
                kind: BARS.get(kind).copied().unwrap_or("single"),
                at,
            };
            bar_line(bars, open, line, sign.x);
        }
    }
}

fn bar_line(bars: &mut Vec<PageBar>, open: &mut PageBar, line: Line, x: f32) {
    if !open.holds_music() {
        match line.kind {
            "rep_start" => open.left = Some(line),
            // A line after courtesy signs, or before the first note of a system, closes nothing new; a stronger one says more
            // of the bar before.
            "single" => {}
            _ => {
                if line.kind == "rep_both" {
                    open.left = Some(line);
                }
                if let Some(last) = bars.last_mut()
                    && last.right.is_none_or(|right| right.kind == "single")
                {
                    last.right = Some(line);
                }
            }
        }
        open.from = x;
        return;
    }
    open.to = x;
    let mut next = PageBar {
        system: open.system,
        from: x,
        ..PageBar::default()
    };
    // A clef printed before the bar line is for the bar after it; one before a rest of bars is for the rest.
    while let Some(Item::Clef(_) | Item::Key(_) | Item::Metre(_)) =
        open.items.get(open.before_rest..).and_then(<[Item]>::last)
    {
        if let Some(item) = open.items.pop() {
            next.items.insert(0, item);
        }
    }
    if line.kind != "rep_start" {
        open.right = Some(line);
    }
    if matches!(line.kind, "rep_start" | "rep_both") {
        next.left = Some(line);
    }
    bars.push(std::mem::replace(open, next));
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::signs::Seen;

    fn sign(x: f32, main: Main) -> Sign {
        Sign::plain(0, x, main)
    }

    #[test]
    fn clef_and_metre_before_a_rest_of_bars_belong_to_it_and_a_clef_after_it_to_what_follows() {
        let bar = |x| sign(x, Main::Bar(0));
        let signs = vec![
            sign(10.0, Main::Clef(0)),
            sign(20.0, Main::Metre),
            sign(60.0, Main::BarsRest),
            sign(90.0, Main::Clef(4)),
            bar(100.0),
            sign(120.0, Main::Note(4)),
            bar(150.0),
        ];
        let seen = Seen {
            signs,
            ..Seen::default()
        };
        let bars = page_bars(&[System {
            page: 0,
            seen,
            left: 0.0,
            scale: 1.0,
            middle: (112.0, 112.0),
            width: 200.0,
            words: Vec::new(),
            beyond: Vec::new(),
        }]);
        let at = |sign| At { system: 0, sign };
        assert_eq!(bars.len(), 2);
        assert_eq!(bars[0].items, [Item::Clef(at(0)), Item::Metre(at(1))]);
        assert_eq!(bars[1].items, [Item::Clef(at(3)), Item::Event(vec![at(5)])]);
    }
}
