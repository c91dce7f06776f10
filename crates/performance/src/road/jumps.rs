//! Where do D.C., D.S., Fine and coda signs send the player? Words, signs and playback hints made one, with targets.

use super::grid::Grid;
use super::jump_ends::{
    beginning, guessed_fine, missing_coda, missing_fine, missing_leave, section_end, section_end_found, tell,
};
use super::placing;
use super::report::Report;
use super::signs::{From, Mark, Signs, What};
use super::words::Tail;
use notation::{Id, Piece, Place, Severity};
use std::collections::BTreeSet;

/// More jumps or landing signs than this no piece has; what is past them would only cost time.
const MOST_SIGNS: usize = 1000;

/// Where a jump goes back to.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub enum JumpKind {
    /// D.C., da capo: back to the beginning.
    DaCapo,
    /// D.S., dal segno: back to the sign.
    DalSegno,
}

impl JumpKind {
    /// As it is printed.
    #[must_use]
    pub const fn abbreviation(self) -> &'static str {
        match self {
            Self::DaCapo => "D.C.",
            Self::DalSegno => "D.S.",
        }
    }
}

/// How far the music is played after a jump.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Until {
    /// To the word Fine.
    Fine,
    /// To the sign that leads to the coda.
    Coda,
    /// To the end of a section, named in the words (`Menuetto da capo`) or guessed.
    Section(Place),
    /// On through the jump to the end.
    End,
}

/// A D.C. or D.S. with everything known of it.
#[derive(Clone, Debug)]
pub(super) struct Jump {
    pub at: Place,
    pub kind: JumpKind,
    pub target: Place,
    pub until: Until,
    /// The coda that follows the section, where words say so.
    pub coda: Option<Place>,
    pub times: u32,
    pub time_only: Vec<u32>,
    pub tail: Tail,
    pub words: Option<String>,
    pub sound: bool,
    pub element: Option<Id>,
    pub parts: Vec<usize>,
    pub token: String,
    pub section: Option<String>,
    pub printed: Place,
}

/// Where the player leaves for the coda.
#[derive(Clone, Debug)]
pub(super) struct Leave {
    pub at: Place,
    pub target: Place,
    pub time_only: Vec<u32>,
    token: String,
}

/// Where the music ends after a jump.
#[derive(Clone, Debug)]
pub(super) struct FineAt {
    pub at: Place,
    pub time_only: Vec<u32>,
}

/// All of them, in order of place.
#[derive(Debug, Default)]
pub(super) struct Route {
    pub jumps: Vec<Jump>,
    pub leaves: Vec<Leave>,
    pub fines: Vec<FineAt>,
    /// Coda sections begin here.
    pub codas: Vec<Place>,
    /// No repeat reaches back over these.
    pub walls: BTreeSet<Place>,
}

/// A sign to be reached, with its name in the playback hints.
#[derive(Clone, Debug)]
struct Landing {
    printed: Place,
    token: String,
    /// A playback hint, a bar line or a heading says that this is the place to arrive at.
    certain: bool,
}

impl Route {
    /// Jumps, Fine and walls; targets are set by [`Route::resolve`] when the repeats are known.
    pub(super) fn placed(signs: &Signs, grid: &Grid, report: &mut Report) -> Self {
        let mut route = Self {
            jumps: merged_jumps(signs, grid, report),
            ..Self::default()
        };
        for mark in signs.marks.iter().filter(|mark| mark.what == What::Fine) {
            let at = placing::fine(mark.place, signs, grid);
            match route.fines.iter_mut().rev().take(2).find(|fine| fine.at == at) {
                Some(fine) => fine.time_only.extend(&mark.time_only),
                None => route.fines.push(FineAt {
                    at,
                    time_only: mark.time_only.clone(),
                }),
            }
        }
        route.fines.sort_by_key(|fine| fine.at);
        route.walls = signs
            .lines
            .iter()
            .filter(|line| line.is_final)
            .map(|line| line.at)
            .collect();
        route.walls.extend(
            route
                .fines
                .iter()
                .map(|fine| fine.at)
                .filter(|at| signs.section_ends_at(*at)),
        );
        route.walls.extend(route.jumps.iter().map(|jump| jump.at));
        route
    }

    /// Finds the target of every jump. `units` are the ends of the sections, in order, as the repeats make them.
    pub(super) fn resolve(
        &mut self,
        piece: &Piece,
        signs: &Signs,
        grid: &Grid,
        units: &[Place],
        report: &mut Report,
    ) {
        let mut jumps = std::mem::take(&mut self.jumps);
        self.codas_and_leaves(&jumps, signs, grid, report);
        let segnos = landings(signs, &What::Segno);
        for jump in &mut jumps {
            self.until(jump, signs, grid, units, report);
            jump.target = match jump.kind {
                JumpKind::DaCapo => {
                    let fine = self
                        .fines
                        .iter()
                        .rev()
                        .map(|fine| fine.at)
                        .find(|fine| *fine < jump.at);
                    beginning(jump, fine, signs, report)
                }
                JumpKind::DalSegno => segno(jump, &segnos, signs, grid, report),
            };
            if matches!(jump.until, Until::Fine) && !self.fines.iter().any(|fine| fine.at > jump.target) {
                jump.until = Until::End;
            }
            tell(jump, piece, grid, report);
        }
        self.unused(&jumps, &segnos, signs, grid, report);
        self.jumps = jumps;
    }

    fn until(&self, jump: &mut Jump, signs: &Signs, grid: &Grid, units: &[Place], report: &mut Report) {
        let coda_after = self.codas.iter().copied().find(|coda| *coda >= jump.at);
        let leaves = self.leaves.iter().any(|leave| leave.at < jump.at);
        let fine = self.fines.iter().any(|fine| fine.at <= jump.at);
        let Tail {
            to_fine,
            to_coda,
            to_sign,
            then_coda,
            ..
        } = jump.tail;
        let sign = if to_sign && jump.kind == JumpKind::DaCapo {
            segno_before(signs, jump, grid)
        } else {
            None
        };
        if let Some(at) = sign {
            jump.until = Until::Section(at);
            jump.coda = coda_after;
            return;
        }
        jump.until = if to_fine && fine {
            Until::Fine
        } else if (to_coda || !to_fine) && leaves {
            Until::Coda
        } else if to_fine {
            let end = guessed_fine(jump, signs, grid, units);
            missing_fine(jump, end, grid, report);
            end.map_or(Until::End, Until::Section)
        } else if fine && !to_coda {
            Until::Fine
        } else {
            let guess = jump.section.is_some() || then_coda || !to_coda && coda_after.is_some();
            let end = section_end(jump, signs, units, guess).filter(|_| !to_coda);
            if let Some((end, guessed)) = end {
                section_end_found(jump, end, guessed, grid, report);
            }
            end.map_or(Until::End, |(end, _)| Until::Section(end))
        };
        jump.coda = coda_after.or_else(|| (then_coda && jump.at < grid.end()).then_some(jump.at));
        if to_coda && !leaves {
            missing_leave(jump, coda_after, grid, report);
        }
    }

    /// Sorts the coda signs into those left from and those arrived at.
    fn codas_and_leaves(&mut self, jumps: &[Jump], signs: &Signs, grid: &Grid, report: &mut Report) {
        let explicit: Vec<&Mark> = signs
            .marks
            .iter()
            .filter(|mark| mark.what == What::ToCoda)
            .collect();
        let last_jump = jumps
            .iter()
            .filter(|jump| jump.tail.to_coda)
            .map(|jump| jump.at)
            .next_back();
        let last_jump = last_jump.or_else(|| jumps.last().map(|jump| jump.at));
        let mut leaves: Vec<(Place, String, Vec<u32>)> = explicit
            .iter()
            .map(|mark| (mark.place, mark.token.clone(), mark.time_only.clone()))
            .collect();
        let left_bars: BTreeSet<_> = explicit.iter().map(|mark| mark.place.bar).collect();
        let mut arrivals = Vec::new();
        for sign in landings(signs, &What::Coda) {
            let before = last_jump.is_some_and(|at| sign.printed < at);
            if sign.certain {
                arrivals.push(sign);
            } else if left_bars.contains(&sign.printed.bar) && before {
                // The sign of a `To Coda` that has been counted.
            } else if before && explicit.is_empty() {
                leaves.push((sign.printed, sign.token, vec![]));
            } else {
                arrivals.push(sign);
            }
        }
        let mut placed: Vec<Leave> = Vec::new();
        for (place, token, time_only) in leaves {
            let at = placing::closing(place, signs, grid);
            match placed.iter_mut().rev().take(2).find(|leave| leave.at == at) {
                Some(leave) => {
                    leave.time_only.extend(time_only);
                    if leave.token.is_empty() {
                        leave.token = token;
                    }
                }
                None => placed.push(Leave {
                    at,
                    target: at,
                    time_only,
                    token,
                }),
            }
        }
        placed.sort_by_key(|leave| leave.at);
        placed.truncate(MOST_SIGNS);
        for leave in &mut placed {
            leave.time_only.sort_unstable();
            leave.time_only.dedup();
        }
        let partner = last_jump;
        self.codas = arrivals
            .iter()
            .map(|sign| placing::opening(sign.printed, partner, signs, grid))
            .collect();
        for leave in placed {
            let named = arrivals
                .iter()
                .position(|a| !leave.token.is_empty() && a.token == leave.token);
            let after_jump = self
                .codas
                .iter()
                .position(|coda| last_jump.is_none_or(|at| *coda >= at) && *coda >= leave.at);
            let any = self.codas.iter().position(|coda| *coda >= leave.at);
            let target = named
                .or(after_jump)
                .or(any)
                .and_then(|index| self.codas.get(index))
                .copied();
            let target = target.or_else(|| missing_coda(&leave, last_jump, grid, report));
            if let Some(target) = target {
                self.leaves.push(Leave { target, ..leave });
            }
        }
        self.codas.sort();
        self.codas.dedup();
        for leave in &self.leaves {
            if !self.codas.contains(&leave.target) {
                self.codas.push(leave.target);
            }
        }
        self.codas.sort();
    }

    /// Signs that nothing sends the player to.
    fn unused(&self, jumps: &[Jump], segnos: &[Landing], signs: &Signs, grid: &Grid, report: &mut Report) {
        let early = self.fines.iter().find(|fine| fine.at < grid.end());
        if let (Some(fine), true) = (early, jumps.is_empty()) {
            let what = "Fine stands here, but nothing sends the player back";
            let advice = "passed over; look whether a D.C. or D.S. is missing at the end";
            report.closes(grid, Severity::Note, "fine-without-jump", fine.at, what, advice);
        }
        let dal_segno = jumps.iter().any(|jump| jump.kind == JumpKind::DalSegno);
        if let (Some(segno), false) = (segnos.first(), dal_segno) {
            let what = "a segno stands here, but no D.S. goes back to it";
            report.opens(
                Severity::Note,
                "segno-without-jump",
                segno.printed,
                what,
                "passed over",
            );
        }
        let coda = signs.codas.first().copied();
        if let (Some(coda), true, true) = (coda, jumps.is_empty(), self.leaves.is_empty()) {
            let what = "a coda sign stands here, but nothing leads to it";
            report.opens(
                Severity::Note,
                "coda-without-jump",
                coda,
                what,
                "played in its place",
            );
        }
    }
}

/// Jump marks that act at the same place (or at most a bar apart, words beside a playback hint) are one jump.
fn merged_jumps(signs: &Signs, grid: &Grid, report: &mut Report) -> Vec<Jump> {
    let mut found: Vec<Jump> = Vec::new();
    for mark in &signs.marks {
        let What::Jump(words) = &mark.what else { continue };
        let text = match &mark.from {
            From::Words(text) => Some(text.split_whitespace().collect::<Vec<_>>().join(" ")),
            _ => None,
        };
        found.push(Jump {
            at: match mark.from {
                From::Sound => placing::closing(mark.place, signs, grid),
                _ => placing::jump(mark.place, signs, grid),
            },
            kind: words.kind,
            target: Place::default(),
            until: Until::End,
            coda: None,
            times: words.times.max(1),
            time_only: mark.time_only.clone(),
            tail: words.tail,
            sound: text.is_none(),
            words: text,
            element: mark.element,
            parts: vec![mark.part],
            token: mark.token.clone(),
            section: words.section.clone(),
            printed: mark.place,
        });
    }
    // Words first: they are what the player reads.
    found.sort_by_key(|jump| (jump.at, jump.words.is_none()));
    let mut jumps: Vec<Jump> = Vec::new();
    for jump in found {
        match jumps.last_mut() {
            Some(last) if same_jump(last, &jump, grid) => join(last, jump, grid, report),
            _ => jumps.push(jump),
        }
    }
    if jumps.len() > MOST_SIGNS {
        let what = format!("{} jumps stand in the piece", jumps.len());
        let advice = "only the first thousand are followed; the file looks damaged";
        report.whole(Severity::Problem, "too-many-jumps", &what, advice);
        jumps.truncate(MOST_SIGNS);
    }
    complete(&mut jumps, signs);
    jumps
}

/// `al Fine`, `senza replica` standing apart belong to the jump in the same bar or the next.
fn complete(jumps: &mut [Jump], signs: &Signs) {
    for mark in &signs.marks {
        let What::Tail(tail) = mark.what else { continue };
        let apart = |jump: &&mut Jump| jump.printed.bar.0.abs_diff(mark.place.bar.0);
        if let Some(jump) = jumps.iter_mut().filter(|jump| apart(jump) <= 1).min_by_key(apart) {
            jump.tail = jump.tail.and(tail);
            if let From::Words(text) = &mark.from {
                let words = jump.words.get_or_insert_default();
                let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
                if !words.contains(&text) {
                    *words = format!("{words} {text}").trim().to_owned();
                }
            }
        }
    }
}

fn same_jump(last: &Jump, next: &Jump, grid: &Grid) -> bool {
    let apart = grid
        .bar_before(next.at)
        .0
        .saturating_sub(grid.bar_before(last.at).0);
    last.at == next.at || apart <= 1 && last.kind == next.kind && last.words.is_some() != next.words.is_some()
}

fn join(jump: &mut Jump, other: Jump, grid: &Grid, report: &mut Report) {
    if jump.kind != other.kind {
        let what = format!(
            "the words say {}, the file's playback hint says {}",
            jump.kind.abbreviation(),
            other.kind.abbreviation()
        );
        report.closes(
            grid,
            Severity::Caution,
            "jump-words-and-sound-differ",
            jump.at,
            &what,
            "the words on the page are followed",
        );
    }
    if jump.words.is_none() && other.words.is_some() {
        jump.kind = other.kind;
        jump.words = other.words;
        jump.element = other.element;
        jump.printed = other.printed;
    }
    jump.at = jump.at.max(other.at);
    jump.sound |= other.sound;
    jump.tail = jump.tail.and(other.tail);
    jump.section = jump.section.take().or(other.section);
    jump.times = jump.times.max(other.times);
    jump.time_only.extend(other.time_only);
    jump.time_only.sort_unstable();
    jump.time_only.dedup();
    if jump.token.is_empty() {
        jump.token = other.token;
    }
    jump.parts.extend(other.parts);
    jump.parts.sort_unstable();
    jump.parts.dedup();
}

/// Segno or coda signs, one for each bar, the hint's name taken over.
fn landings(signs: &Signs, what: &What) -> Vec<Landing> {
    let mut found: Vec<Landing> = Vec::new();
    for mark in signs.marks.iter().filter(|mark| mark.what == *what) {
        let certain = !matches!(mark.from, From::Sign);
        match found.last_mut() {
            Some(last) if last.printed.bar == mark.place.bar => {
                last.certain |= certain;
                if last.token.is_empty() {
                    last.token.clone_from(&mark.token);
                }
            }
            _ => found.push(Landing {
                printed: mark.place,
                token: mark.token.clone(),
                certain,
            }),
        }
    }
    found.truncate(MOST_SIGNS);
    found
}

/// The segno up to which `da capo al segno` is played.
fn segno_before(signs: &Signs, jump: &Jump, grid: &Grid) -> Option<Place> {
    let sign = landings(signs, &What::Segno)
        .into_iter()
        .rev()
        .find(|sign| sign.printed < jump.at)?;
    Some(placing::opening(sign.printed, Some(jump.at), signs, grid)).filter(|at| *at > Place::default())
}

fn segno(jump: &Jump, segnos: &[Landing], signs: &Signs, grid: &Grid, report: &mut Report) -> Place {
    let named = segnos
        .iter()
        .rev()
        .find(|sign| !jump.token.is_empty() && sign.token == jump.token && sign.printed < jump.at);
    let before = segnos
        .iter()
        .rev()
        .find(|sign| sign.printed < jump.at && sign.printed.bar <= jump.printed.bar);
    if let Some(sign) = named.or(before) {
        let at = placing::opening(sign.printed, Some(jump.at), signs, grid);
        if at < jump.at {
            return at;
        }
    }
    report.closes(
        grid,
        Severity::Problem,
        "jump-missing-segno",
        jump.at,
        "D.S. here, but no segno stands before it",
        "played from the beginning; find where the sign belongs",
    );
    Place::default()
}
