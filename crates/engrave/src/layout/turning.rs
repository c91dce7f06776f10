//! Which pages can't be turned in time, where could they be, and what is the player told?

use super::{Layout, back, turns};
use crate::look::Edition;
use notation::{BarIndex, Finding, Piece, Severity};

/// So many lines before a page's end are broken anew for the sake of its turn; the next page's first line is, too.
const LINES_BEFORE: usize = 3;

impl Layout<'_> {
    pub(super) fn window(&self, system: usize) -> Option<turns::Window> {
        let bar = BarIndex(self.bars.get(system)?.start);
        Some(turns::window(
            self.piece,
            self.part()?,
            bar,
            self.look.quarters_per_minute,
        ))
    }

    /// The badness of a turn before each system.
    pub(super) fn turns(&self) -> Vec<f64> {
        if self.look.edition == Edition::Strip {
            // A strip is read passage by passage.
            return vec![0.0; self.engraved.systems.len()];
        }
        (0..self.engraved.systems.len())
            .map(|system| self.window(system).map_or(0.0, |window| window.badness()))
            .collect()
    }

    /// Repeats and jumps to a page that was turned away.
    pub(super) fn turns_back(&self, starts: &[usize]) -> Vec<Finding> {
        let Some(part) = self.part().filter(|_| self.look.edition != Edition::Strip) else {
            return Vec::new();
        };
        let page_of = |bar: BarIndex| {
            let system = self.bars.iter().position(|bars| bars.contains(&bar.0))?;
            starts
                .windows(2)
                .position(|pair| (pair[0]..pair[1]).contains(&system))
        };
        let ways = back::ways(self.piece, part).into_iter();
        ways.filter_map(|way| {
            let (from, to) = (page_of(way.from)?, page_of(way.to)?);
            let turned = (to..from).any(|page| self.turning().after(page));
            turned.then(|| turned_back(self.piece, &way, from, to))
        })
        .collect()
    }

    /// For each turn without time for it, the nearest bar in the lines around it before which there is time.
    pub(super) fn better_turns(&self, starts: &[usize]) -> Vec<BarIndex> {
        let ends = starts.get(1..starts.len().saturating_sub(1)).unwrap_or(&[]);
        let turned = ends
            .iter()
            .enumerate()
            .filter(|(page, _)| self.turning().after(*page));
        turned
            .filter_map(|(_, system)| self.better_turn(*system))
            .collect()
    }

    fn better_turn(&self, system: usize) -> Option<BarIndex> {
        let bad = self.window(system).is_some_and(|window| !window.is_enough());
        let here = self.bars.get(system).filter(|_| bad)?.start;
        let from = self.bars.get(system.saturating_sub(LINES_BEFORE))?.start;
        let to = self.bars.get(system)?.end;
        let part = self.part()?;
        let steady = self.look.quarters_per_minute;
        (from + 1..to)
            .filter(|bar| turns::window(self.piece, part, BarIndex(*bar), steady).is_enough())
            .min_by_key(|bar| (bar.abs_diff(here), *bar))
            .map(BarIndex)
    }

    /// Turns for which there is no time.
    pub(super) fn turn_findings(&self, starts: &[usize]) -> Vec<Finding> {
        let mut findings = Vec::new();
        if self.look.edition == Edition::Strip {
            return findings;
        }
        let ends = starts.get(1..starts.len().saturating_sub(1)).unwrap_or(&[]);
        for (page, system) in ends.iter().enumerate() {
            if !self.turning().after(page) {
                continue;
            }
            let (Some(window), Some(bars)) = (self.window(*system), self.bars.get(*system)) else {
                continue;
            };
            if !window.is_enough() {
                let bar = BarIndex(bars.start);
                findings.push(bad_turn(page, &window).at_bar(bar, self.piece.label(bar)));
            }
        }
        findings
    }
}

fn bad_turn(page: usize, window: &turns::Window) -> Finding {
    let beats = window.quarters();
    let seconds = window
        .seconds
        .filter(|_| beats.is_positive())
        .map(|seconds| format!(" (about {seconds:.1} s)"))
        .unwrap_or_default();
    let what = if beats.is_positive() {
        format!(
            "page {} is turned here, with rests of only {} quarter notes{seconds} around the turn",
            page + 1,
            said(beats)
        )
    } else {
        format!(
            "page {} is turned here in the middle of the music, without a rest",
            page + 1
        )
    };
    Finding::new(
        Severity::Caution,
        "page-turn",
        what,
        "lay the next page beside it, learn the bars around the turn by heart, or, where the publisher and local law allow it, \
         add a photocopy of the next line",
    )
}

fn turned_back(piece: &Piece, back: &back::Back, from: usize, to: usize) -> Finding {
    let bar = piece.label(back.to);
    let by = match back.by {
        back::By::Repeat => "the repeat",
        back::By::Jump => "the jump",
    };
    Finding::new(
        Severity::Note,
        "page-turn-back",
        format!(
            "{by} leads back from page {} to bar {bar} on page {}",
            from + 1,
            to + 1
        ),
        "mark the page to turn to, or lay both side by side",
    )
    .at_bar(back.from, piece.label(back.from))
}

/// Quarter notes in words: `1½`.
fn said(quarters: notation::Quarters) -> String {
    let whole = quarters.floor();
    let rest = quarters - notation::Rational::whole(whole);
    let fraction = match (rest.num(), rest.den()) {
        (0, _) => return whole.to_string(),
        (1, 2) => "½",
        (1, 4) => "¼",
        (3, 4) => "¾",
        (1, 3) => "⅓",
        (2, 3) => "⅔",
        _ => return format!("{:.1}", quarters.to_f64()),
    };
    if whole == 0 {
        fraction.to_owned()
    } else {
        format!("{whole}{fraction}")
    }
}
