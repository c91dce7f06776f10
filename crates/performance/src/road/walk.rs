//! Which bar comes next? Walks the signs from cut to cut, taking repeats, endings and jumps, and always ends.

use super::endings::Volta;
use super::grid::Grid;
use super::jumps::{JumpKind, Route, Until};
use super::listed::Listed;
use super::repeats::Block;
use super::unfolding::{Leap, LeapKind, PlayedBar};
use super::{RepeatsAfterJump, RoadOptions};
use notation::Place;
use std::collections::BTreeMap;

/// No piece of music is this long; a road map that would be is cut off there and said to be endless.
const MOST_PLAYED_BARS: usize = 100_000;

/// The signs to walk by, at the cuts between stretches of bars that are always read through.
pub(super) struct Road<'a> {
    pub grid: &'a Grid,
    pub blocks: &'a [Block],
    pub voltas: &'a [Volta],
    pub route: &'a Route,
    /// The order of sections that the source lists, where it does.
    pub listed: Option<&'a Listed>,
    pub options: RoadOptions,
}

/// What the walk found.
#[derive(Debug, Default)]
pub(super) struct Walked {
    pub played: Vec<PlayedBar>,
    pub leaps: Vec<Leap>,
    pub taken: Vec<u32>,
    pub skipped_repeats: Vec<usize>,
    /// Jumps after whose Fine the page goes on with unplayed music.
    pub went_on: Vec<usize>,
    pub ends_at: Place,
    pub endless: bool,
}

/// What stands at a cut, as indices.
#[derive(Debug, Default)]
struct Cut {
    ends: Vec<usize>,
    starts: Vec<usize>,
    voltas: Vec<usize>,
    fines: Vec<usize>,
    leaves: Vec<usize>,
    jumps: Vec<usize>,
}

struct Walker<'a> {
    road: &'a Road<'a>,
    points: Vec<Place>,
    cuts: Vec<Cut>,
    /// Which time through each block is being played; 0 outside.
    pass: Vec<u32>,
    heard: Vec<bool>,
    /// The jump whose music is being played, until Fine, coda or the end of its section.
    jump: Option<usize>,
    /// A jump has been made: what has been heard is not repeated, unless asked for.
    after_jump: Option<bool>,
    arrivals: BTreeMap<(u8, usize), u32>,
    out: Walked,
}

/// What to do at a cut.
enum Next {
    On,
    Go(usize),
    /// Back to the start of a block, on its next pass.
    Again(usize),
    Stop,
}

pub(super) fn walk(road: &Road) -> Walked {
    let points = points(road);
    let cuts = cuts(road, &points);
    let cells = points.len().saturating_sub(1);
    let mut walker = Walker {
        road,
        points,
        cuts,
        pass: vec![0; road.blocks.len()],
        heard: vec![false; cells],
        jump: None,
        after_jump: None,
        arrivals: BTreeMap::new(),
        out: Walked {
            taken: vec![0; road.route.jumps.len()],
            ..Walked::default()
        },
    };
    match road.listed {
        Some(listed) => walker.run_listed(listed),
        None => walker.run(cells),
    }
    walker.out
}

fn points(road: &Road) -> Vec<Place> {
    let mut points = vec![Place::default(), road.grid.end()];
    for block in road.blocks {
        points.extend(block.ends.iter().copied().chain([block.start, block.end]));
    }
    points.extend(road.voltas.iter().flat_map(|volta| [volta.start, volta.end]));
    points.extend(road.route.fines.iter().map(|fine| fine.at));
    points.extend(
        road.route
            .leaves
            .iter()
            .flat_map(|leave| [leave.at, leave.target]),
    );
    for jump in &road.route.jumps {
        points.extend([jump.at, jump.target]);
        points.extend(jump.coda);
        if let Until::Section(end) = jump.until {
            points.push(end);
        }
    }
    if let Some(listed) = road.listed {
        points.extend(listed.stretches.iter().flat_map(|(start, end)| [*start, *end]));
    }
    points.sort();
    points.dedup();
    points
}

fn cuts(road: &Road, points: &[Place]) -> Vec<Cut> {
    let mut cuts: Vec<Cut> = points.iter().map(|_| Cut::default()).collect();
    let mut note = |at: Place, add: &dyn Fn(&mut Cut)| {
        if let Some(cut) = points
            .binary_search(&at)
            .ok()
            .and_then(|index| cuts.get_mut(index))
        {
            add(cut);
        }
    };
    for (index, block) in road.blocks.iter().enumerate() {
        note(block.start, &|cut| cut.starts.push(index));
        for end in &block.ends {
            note(*end, &|cut| cut.ends.push(index));
        }
    }
    for (index, volta) in road.voltas.iter().enumerate() {
        note(volta.start, &|cut| cut.voltas.push(index));
    }
    for (index, fine) in road.route.fines.iter().enumerate() {
        note(fine.at, &|cut| cut.fines.push(index));
    }
    for (index, leave) in road.route.leaves.iter().enumerate() {
        note(leave.at, &|cut| cut.leaves.push(index));
    }
    for (index, jump) in road.route.jumps.iter().enumerate() {
        note(jump.at, &|cut| cut.jumps.push(index));
    }
    cuts
}

impl Walker<'_> {
    fn run(&mut self, last: usize) {
        let mut at = self.depart(0, None);
        while at < last {
            self.play(at);
            if self.out.played.len() > MOST_PLAYED_BARS {
                self.out.endless = true;
                break;
            }
            at = match self.arrive(at + 1) {
                Next::On => self.depart(at + 1, None),
                Next::Go(to) => self.depart(to, None),
                Next::Again(block) => {
                    let start = self
                        .road
                        .blocks
                        .get(block)
                        .map_or(last, |block| self.index(block.start));
                    self.depart(start, Some(block))
                }
                Next::Stop => {
                    at += 1;
                    break;
                }
            };
        }
        self.out.ends_at = self
            .points
            .get(at)
            .copied()
            .unwrap_or_else(|| self.road.grid.end());
    }

    /// Plays section by section as the source lists them; inside, what the signs say unless the list writes it out.
    fn run_listed(&mut self, listed: &Listed) {
        let mut left: Option<Place> = None;
        for (start, end) in &listed.stretches {
            let (from, last) = (self.index(*start), self.index(*end));
            if let Some(before) = left
                && before != *start
            {
                self.leap(self.listed_leap(before, *start), self.index(before), from);
            }
            let mut at = if listed.written_out {
                from
            } else {
                self.depart(from, None)
            };
            while at < last {
                self.play(at);
                if self.out.played.len() > MOST_PLAYED_BARS {
                    self.out.endless = true;
                    self.out.ends_at = self.place(at + 1);
                    return;
                }
                at = if listed.written_out {
                    at + 1
                } else {
                    self.within(at + 1, from)
                };
            }
            left = Some(*end);
        }
        self.out.ends_at = left.unwrap_or_default();
    }

    /// A leap of the list as the eye makes it: a printed repeat or ending where there is one, else from section to section.
    fn listed_leap(&self, from: Place, to: Place) -> LeapKind {
        let repeats = |block: &Block| block.start == to && block.ends.contains(&from);
        let ending_at = |at: Place| self.road.voltas.iter().filter(move |volta| volta.start == at);
        if self.road.blocks.iter().any(repeats) {
            LeapKind::Repeat
        } else if ending_at(from).any(|skipped| ending_at(to).any(|next| next.block == skipped.block)) {
            LeapKind::Ending
        } else {
            LeapKind::Section
        }
    }

    /// Goes on at a cut inside a listed section: only its repeats and endings count, and none leads out of it.
    fn within(&mut self, at: usize, first: usize) -> usize {
        let Some(block) = self.repeat(at) else {
            return self.depart(at, None);
        };
        let start = self
            .road
            .blocks
            .get(block)
            .map_or(at, |block| self.index(block.start));
        let start = start.max(first);
        self.leap(LeapKind::Repeat, at, start);
        self.depart(start, Some(block))
    }

    fn index(&self, at: Place) -> usize {
        self.points.binary_search(&at).unwrap_or_else(|index| index)
    }

    fn place(&self, index: usize) -> Place {
        self.points
            .get(index)
            .copied()
            .unwrap_or_else(|| self.road.grid.end())
    }

    /// Starts reading at a cut: repeats that begin there begin anew, endings for another time are skipped.
    fn depart(&mut self, mut at: usize, mut returning: Option<usize>) -> usize {
        loop {
            let starts = self
                .cuts
                .get(at)
                .map(|cut| cut.starts.clone())
                .unwrap_or_default();
            for block in starts {
                if returning != Some(block) {
                    self.enter(block, at);
                }
            }
            returning = None;
            let voltas = self
                .cuts
                .get(at)
                .map(|cut| cut.voltas.clone())
                .unwrap_or_default();
            let skip = voltas
                .iter()
                .filter_map(|index| self.road.voltas.get(*index))
                .find(|volta| {
                    let pass = volta
                        .block
                        .and_then(|block| self.pass.get(block))
                        .copied()
                        .unwrap_or(1)
                        .max(1);
                    !volta.passes.contains(&pass)
                });
            let Some(volta) = skip else { return at };
            let to = self.index(volta.end).max(at + 1);
            self.leap(LeapKind::Ending, at, to);
            at = to;
        }
    }

    /// Sets the time through of a block that is entered from outside.
    fn enter(&mut self, index: usize, at: usize) {
        let Some(block) = self.road.blocks.get(index) else {
            return;
        };
        let heard = self.heard.get(at).copied().unwrap_or(false);
        let again = block.after_jump.or(self.after_jump).unwrap_or(true);
        let straight = self.after_jump.is_some() && heard && !again;
        let pass = if straight && !block.ends.is_empty() {
            if block.total > 1 {
                self.out.skipped_repeats.push(index);
            }
            block.total
        } else if block.ends.is_empty() {
            // Endings without a repeat: a further one each time they are reached.
            let count = self.arrivals.entry((0, index)).or_default();
            *count += 1;
            (*count).min(block.total)
        } else {
            1
        };
        if let Some(slot) = self.pass.get_mut(index) {
            *slot = pass;
        }
    }

    /// Reads the stretch from a cut to the next.
    fn play(&mut self, at: usize) {
        if let Some(heard) = self.heard.get_mut(at) {
            *heard = true;
        }
        for (bar, from, to) in self.road.grid.stretch(self.place(at), self.place(at + 1)) {
            let joined = self
                .out
                .leaps
                .last()
                .is_none_or(|leap| leap.after < self.out.played.len());
            match self.out.played.last_mut() {
                Some(last) if joined && last.bar == bar && last.to == from && from.is_positive() => {
                    last.to = to
                }
                _ => self.out.played.push(PlayedBar {
                    bar,
                    from,
                    to,
                    pass: 1,
                }),
            }
        }
    }

    /// What happens at a cut when the music before it has been played: repeats, then Fine, coda, jumps.
    fn arrive(&mut self, at: usize) -> Next {
        let here = self.place(at);
        if let Some(block) = self.repeat(at) {
            let start = self
                .road
                .blocks
                .get(block)
                .map_or(at, |block| self.index(block.start));
            self.leap(LeapKind::Repeat, at, start);
            return Next::Again(block);
        }
        if self.jump_until() == Some(Until::Section(here)) && self.last_round() {
            return self.finish(at);
        }
        if self.fine_here(at) {
            return self.finish(at);
        }
        if let Some(target) = self.leave_here(at) {
            self.jump = None;
            return self.go(LeapKind::ToCoda, at, target);
        }
        match self.jump_here(at) {
            Some(index) => self.take(index, at),
            None => Next::On,
        }
    }

    /// The block whose end-repeat here sends back once more.
    fn repeat(&mut self, at: usize) -> Option<usize> {
        let ends = self.cuts.get(at).map(|cut| cut.ends.clone())?;
        for index in ends {
            let block = self.road.blocks.get(index)?;
            let pass = self.pass.get_mut(index)?;
            // Entered in its middle, from a jump that has not set its pass.
            *pass = (*pass).max(1);
            if *pass < block.total {
                *pass += 1;
                return Some(index);
            }
        }
        None
    }

    fn jump_until(&self) -> Option<Until> {
        self.jump
            .and_then(|index| self.road.route.jumps.get(index))
            .map(|jump| jump.until)
    }

    /// The jump in force will not be taken again.
    fn last_round(&self) -> bool {
        self.jump.is_none_or(|index| {
            let taken = self.out.taken.get(index).copied().unwrap_or(0);
            self.road
                .route
                .jumps
                .get(index)
                .is_none_or(|jump| taken >= jump.times)
        })
    }

    fn fine_here(&mut self, at: usize) -> bool {
        let fines = self.cuts.get(at).map(|cut| cut.fines.clone()).unwrap_or_default();
        let mut ends = false;
        for index in fines {
            let count = self.count(1, index);
            let Some(fine) = self.road.route.fines.get(index) else {
                continue;
            };
            let by_jump = self.jump_until() == Some(Until::Fine) && self.last_round();
            let by_repeat = self.road.route.jumps.is_empty() && count > 1 && self.inside_last_repeat(fine.at);
            let said = fine.time_only.contains(&count)
                && (self.after_jump.is_some() || self.road.route.jumps.is_empty());
            ends |= if fine.time_only.is_empty() {
                by_jump || by_repeat
            } else {
                said
            };
        }
        ends
    }

    /// Fine inside a repeat that closes the piece: there is no other way to end there.
    fn inside_last_repeat(&self, fine: Place) -> bool {
        let end = self.road.grid.end();
        self.road
            .blocks
            .iter()
            .any(|block| block.start < fine && block.ends.last() == Some(&end) && fine < end)
    }

    fn leave_here(&mut self, at: usize) -> Option<usize> {
        let leaves = self.cuts.get(at).map(|cut| cut.leaves.clone())?;
        for index in leaves {
            let count = self.count(2, index);
            let leave = self.road.route.leaves.get(index)?;
            let by_jump = self.jump_until() == Some(Until::Coda);
            let by_repeat = self.road.route.jumps.is_empty() && count == 2;
            let goes = if leave.time_only.is_empty() {
                by_jump || by_repeat
            } else {
                leave.time_only.contains(&count)
            };
            if goes {
                return Some(self.index(leave.target));
            }
        }
        None
    }

    fn jump_here(&mut self, at: usize) -> Option<usize> {
        let jumps = self.cuts.get(at).map(|cut| cut.jumps.clone())?;
        for index in jumps {
            let count = self.count(3, index);
            let jump = self.road.route.jumps.get(index)?;
            let taken = self.out.taken.get(index).copied().unwrap_or(0);
            let goes = if jump.time_only.is_empty() {
                taken < jump.times
            } else {
                jump.time_only.contains(&count)
            };
            if goes && jump.target < jump.at {
                return Some(index);
            }
        }
        None
    }

    fn count(&mut self, kind: u8, index: usize) -> u32 {
        let count = self.arrivals.entry((kind, index)).or_default();
        *count = count.saturating_add(1);
        *count
    }

    fn take(&mut self, index: usize, at: usize) -> Next {
        let Some(jump) = self.road.route.jumps.get(index) else {
            return Next::On;
        };
        if let Some(taken) = self.out.taken.get_mut(index) {
            *taken += 1;
        }
        self.jump = Some(index);
        let custom = self.road.options.repeats_after_jump == RepeatsAfterJump::Yes;
        self.after_jump = Some(jump.tail.repeats.unwrap_or(custom));
        let target = self.index(jump.target);
        // The repeats round the landing place: as if entered at their start.
        for block in 0..self.road.blocks.len() {
            let Some(found) = self.road.blocks.get(block) else {
                continue;
            };
            if found.start < jump.target && jump.target < found.end && !found.ends.is_empty() {
                self.enter(block, target);
            }
        }
        let kind = if jump.kind == JumpKind::DaCapo {
            LeapKind::DaCapo
        } else {
            LeapKind::DalSegno
        };
        self.go(kind, at, target)
    }

    /// The end of the music after a jump: Fine, or the end of the section. On to the coda or to unplayed music, if any.
    fn finish(&mut self, at: usize) -> Next {
        let Some(index) = self.jump.take() else {
            return Next::Stop;
        };
        let Some(jump) = self.road.route.jumps.get(index) else {
            return Next::Stop;
        };
        if let (Until::Section(_), Some(coda)) = (jump.until, jump.coda) {
            let to = self.index(coda);
            return self.go(LeapKind::ToCoda, at, to);
        }
        let after = self.index(jump.at);
        let unplayed = self.heard.get(after).is_some_and(|heard| !heard);
        let coda = self.road.route.codas.contains(&jump.at);
        if unplayed && !(coda && jump.until == Until::Fine) {
            self.out.went_on.push(index);
            return self.go(LeapKind::GoOn, at, after);
        }
        Next::Stop
    }

    fn go(&mut self, kind: LeapKind, from: usize, to: usize) -> Next {
        self.leap(kind, from, to);
        Next::Go(to)
    }

    fn leap(&mut self, kind: LeapKind, from: usize, to: usize) {
        let (from, to) = (self.place(from), self.place(to));
        self.out.leaps.push(Leap {
            kind,
            from,
            to,
            after: self.out.played.len(),
        });
    }
}
