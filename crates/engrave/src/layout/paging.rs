//! Which systems stand on which page? The choice with the least badness over all pages: empty space against page turns that
//! can't be made.
//!
//! Badness is counted so that 100 is a page stretched or squeezed as far as it should be (after D. Knuth and M. Plass,
//! “Breaking Paragraphs into Lines”, Software: Practice and Experience 11, 1981, where lines are what pages are here).

/// What a system needs: lengths above its upper staff line and below its lower one, in units.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(crate) struct Need {
    /// From the top of what is drawn to the upper staff line.
    pub above: f64,
    /// From the upper staff line to the lower one.
    pub staff: f64,
    /// From the lower staff line to the bottom of what is drawn.
    pub below: f64,
}

impl Need {
    /// All of it.
    pub fn height(&self) -> f64 {
        self.above + self.staff + self.below
    }
}

/// White space between what is drawn in one system and in the next, in units.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(crate) struct Gaps {
    /// Never less.
    pub least: f64,
    /// As it should be.
    pub usual: f64,
    /// Not more, rather an empty foot.
    pub most: f64,
    /// From one staff's lower line to the next one's upper line, never less.
    pub between_staves: f64,
}

/// Where music may stand, page by page, in units.
#[derive(Clone, PartialEq, Debug)]
pub(crate) struct Room {
    /// Height for music on page one, under its title.
    pub first: f64,
    /// Height for music on other pages.
    pub other: f64,
    /// Height that the last page has to leave for what stands at its foot.
    pub foot: f64,
}

/// How pages are turned.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Turning {
    /// Sheets side by side, two and two: turned after pages 2, 4 …
    SideBySide,
    /// Printed on both sides, page 1 on the right: turned after pages 1, 3 …
    DoubleSided,
}

impl Turning {
    /// Whether the player turns after a page, counted from 0.
    pub fn after(self, page: usize) -> bool {
        match self {
            Turning::SideBySide => page % 2 == 1,
            Turning::DoubleSided => page.is_multiple_of(2),
        }
    }
}

/// What one more page costs.
const A_PAGE: f64 = 120.0;
/// The greatest badness of a page turn: no rest at all.
pub(crate) const BAD_TURN: f64 = 400.0;
/// A single system on the last page.
const LONELY: f64 = 60.0;
/// Beyond any page that is possible.
const OVERFULL: f64 = 1e7;

/// The first system of each page, and the number of systems as the last entry. `turns[i]` is the badness of a turn before
/// system `i`, from 0 to [`BAD_TURN`].
pub(crate) fn pages(needs: &[Need], gaps: &Gaps, room: &Room, turning: Turning, turns: &[f64]) -> Vec<usize> {
    let count = needs.len();
    if count == 0 {
        // One page with its title.
        return vec![0, 0];
    }
    // best[end][parity of the page count]: badness, start of the last page.
    let mut best = vec![[None::<(f64, usize)>; 2]; count + 1];
    best[0][0] = Some((0.0, 0));
    for end in 1..=count {
        for start in (0..end).rev() {
            let systems = &needs[start..end];
            if start + 1 < end && least_height(systems, gaps) > room.first.max(room.other) {
                break;
            }
            for parity in 0..2 {
                let Some((before, _)) = best[start][parity] else {
                    continue;
                };
                // So many pages stand before, even or odd: that is this page's number, counted from 0.
                let turned = end < count && turning.after(parity);
                let turn = if turned {
                    turns.get(end).copied().unwrap_or(0.0)
                } else {
                    0.0
                };
                let all = before + badness(systems, gaps, room, start == 0, end == count) + turn + A_PAGE;
                let slot = &mut best[end][1 - parity];
                if slot.is_none_or(|(known, _)| all < known) {
                    *slot = Some((all, start));
                }
            }
        }
    }
    trace(&best, count)
}

fn trace(best: &[[Option<(f64, usize)>; 2]], count: usize) -> Vec<usize> {
    let worth = |parity: usize| best[count][parity].map_or(f64::INFINITY, |(badness, _)| badness);
    let mut parity = usize::from(worth(1) < worth(0));
    let mut starts = vec![count];
    let mut end = count;
    while end > 0 {
        let Some((_, start)) = best[end][parity] else {
            break;
        };
        starts.push(start);
        (end, parity) = (start, 1 - parity);
    }
    starts.reverse();
    starts
}

/// The height of systems set as closely as can be.
pub(crate) fn least_height(systems: &[Need], gaps: &Gaps) -> f64 {
    height(systems, gaps, gaps.least)
}

/// The height of systems with so much white between them.
pub(crate) fn height(systems: &[Need], gaps: &Gaps, gap: f64) -> f64 {
    let between: f64 = systems
        .windows(2)
        .map(|pair| between(&pair[0], &pair[1], gaps, gap))
        .sum();
    systems.iter().map(Need::height).sum::<f64>() + between
}

/// The white between two systems if it is to be `gap`.
pub(crate) fn between(upper: &Need, lower: &Need, gaps: &Gaps, gap: f64) -> f64 {
    gap.max(gaps.between_staves - upper.below - lower.above)
}

/// How bad a page with these systems is.
fn badness(systems: &[Need], gaps: &Gaps, room: &Room, first: bool, last: bool) -> f64 {
    let all = if first { room.first } else { room.other };
    let available = all - if last { room.foot } else { 0.0 };
    let usual = height(systems, gaps, gaps.usual);
    let least = least_height(systems, gaps);
    if least > available {
        // One system higher than the page has to stand somewhere; nothing else is ever put on a page that it overfills by a hair.
        return OVERFULL * (1.0 + (least - available) / available.max(1.0));
    }
    if usual > available {
        return 100.0 * ((usual - available) / (usual - least).max(1.0)).powi(3);
    }
    if last {
        return if systems.len() == 1 && !first { LONELY } else { 0.0 };
    }
    let most = height(systems, gaps, gaps.most);
    let stretch = (available - usual) / (most - usual).max(1.0);
    if stretch <= 1.0 {
        100.0 * stretch.powi(3)
    } else {
        // Beyond what is stretched, the page's foot stays empty.
        100.0 + 300.0 * (available - most) / available.max(1.0)
    }
}

#[cfg(test)]
mod tests;
