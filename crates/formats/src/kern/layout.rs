//! Which spines make a part, and on which staff does each stand?
//!
//! Spines of one `*part`, of one `*staff`, or side by side for one keyboard instrument are one part; any other spine is a
//! part of its own. The rightmost spine is the top of the score. Source: Humdrum user's guide, chapter 2: "the lowest
//! part in the leftmost spine"; `*part` and `*staff` by common usage.

use super::instruments;
use super::records::Kind;
use super::scan::Scan;

/// What the interpretations before the music say of a spine.
#[derive(Clone, Debug, Default)]
struct Said<'a> {
    part: Option<u32>,
    staff: Option<u32>,
    several_staves: bool,
    name: &'a str,
    abbreviation: &'a str,
    code: &'a str,
}

/// A part and its spines, from top to bottom.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub(super) struct PartPlan<'a> {
    pub name: &'a str,
    pub abbreviation: &'a str,
    /// The instrument's code.
    pub code: &'a str,
    pub spines: Vec<usize>,
    pub staves: u8,
}

/// Where a spine belongs.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Home {
    pub part: usize,
    /// From 1; for a spine beside the notes the staff it speaks of.
    pub staff: u8,
    /// The notes' spine: itself, or the one it stands beside.
    pub notes: usize,
    /// It speaks of all staves of its part.
    pub all_staves: bool,
}

/// Parts in score order and the home of each spine.
#[derive(Clone, Debug, Default)]
pub(super) struct Layout<'a> {
    pub parts: Vec<PartPlan<'a>>,
    pub homes: Vec<Option<Home>>,
}

/// More staves than any part has.
const MOST_STAVES: usize = 20;

/// Lays out the spines of a score.
pub(super) fn layout<'a>(scan: &Scan<'a>) -> Layout<'a> {
    let said = said(scan);
    let groups = groups(scan, &said);
    let mut layout = Layout {
        parts: Vec::new(),
        homes: vec![None; scan.spines.len()],
    };
    for group in groups {
        let part = layout.parts.len();
        let staves = staves(&group, &said);
        for (spine, staff) in group.iter().zip(&staves) {
            layout.homes[*spine] = Some(Home {
                part,
                staff: *staff,
                notes: *spine,
                all_staves: false,
            });
        }
        let first = |field: fn(&Said<'a>) -> &'a str| {
            let texts = group.iter().map(|spine| field(&said[*spine]));
            texts
                .into_iter()
                .find(|text| !text.is_empty())
                .unwrap_or_default()
        };
        layout.parts.push(PartPlan {
            name: first(|s| s.name),
            abbreviation: first(|s| s.abbreviation),
            code: first(|s| s.code),
            staves: staves.iter().copied().max().unwrap_or(1),
            spines: group,
        });
    }
    attach(scan, &said, &mut layout);
    layout
}

fn said<'a>(scan: &Scan<'a>) -> Vec<Said<'a>> {
    let mut said = vec![Said::default(); scan.spines.len()];
    for line in scan.lines.iter().take_while(|line| line.kind != Kind::Data) {
        for cell in scan.cells(line) {
            let Some(spine) = scan
                .slots
                .get(cell.slot)
                .and_then(|(spine, _)| said.get_mut(*spine))
            else {
                continue;
            };
            let token = cell.text;
            if let Some(number) = token.strip_prefix("*part") {
                spine.part = spine.part.or(leading(number));
            } else if let Some(number) = token.strip_prefix("*staff") {
                spine.staff = spine.staff.or(leading(number));
                spine.several_staves |= number.contains(['/', ',']);
            } else if let Some(name) = token.strip_prefix("*I\"").or_else(|| token.strip_prefix("*I:")) {
                spine.name = if spine.name.is_empty() {
                    name.trim()
                } else {
                    spine.name
                };
            } else if let Some(name) = token.strip_prefix("*I'") {
                spine.abbreviation = if spine.abbreviation.is_empty() {
                    name.trim()
                } else {
                    spine.abbreviation
                };
            } else if let Some(code) = instrument_code(token) {
                spine.code = if spine.code.is_empty() { code } else { spine.code };
            }
        }
    }
    said
}

/// The code of an instrument interpretation; classes and groups (`*IC…`, `*IG…`) are none.
pub(super) fn instrument_code(token: &str) -> Option<&str> {
    let code = token.strip_prefix("*I")?;
    let plain = code.starts_with(|c: char| c.is_ascii_lowercase());
    plain.then(|| code.trim())
}

fn leading(text: &str) -> Option<u32> {
    let digits = text.len() - text.trim_start_matches(|c: char| c.is_ascii_digit()).len();
    text[..digits].parse().ok()
}

/// Spines of notes that are one part, top first.
fn groups(scan: &Scan<'_>, said: &[Said<'_>]) -> Vec<Vec<usize>> {
    let notes = (0..scan.spines.len())
        .rev()
        .filter(|spine| scan.spines[*spine].is_kern());
    let mut groups: Vec<Vec<usize>> = Vec::new();
    let mut by_part = std::collections::BTreeMap::new();
    let mut by_staff = std::collections::BTreeMap::new();
    for spine in notes {
        let this = &said[spine];
        let beside = groups.last().filter(|group| {
            let other = &said[group[0]];
            this.part.is_none()
                && other.part.is_none()
                && instruments::is_keyboard(this.code)
                && other.code == this.code
                && group.len() < 3
        });
        let known = match (this.part, this.staff) {
            (Some(part), _) => by_part.get(&part).copied(),
            (None, Some(staff)) => by_staff.get(&staff).copied(),
            (None, None) => None,
        };
        let at = known
            .or_else(|| beside.map(|_| groups.len() - 1))
            .unwrap_or_else(|| {
                groups.push(Vec::new());
                groups.len() - 1
            });
        groups[at].push(spine);
        match (this.part, this.staff) {
            (Some(part), _) => drop(by_part.insert(part, at)),
            (None, Some(staff)) => drop(by_staff.insert(staff, at)),
            (None, None) => {}
        }
    }
    groups
}

/// The staff of each spine of a part, counted from the top.
fn staves(group: &[usize], said: &[Said<'_>]) -> Vec<u8> {
    let numbers: Option<Vec<u32>> = group.iter().map(|spine| said[*spine].staff).collect();
    let small = |n: usize| u8::try_from(n.min(MOST_STAVES - 1) + 1).unwrap_or(1);
    match numbers {
        Some(numbers) => {
            let distinct: std::collections::BTreeSet<u32> = numbers.iter().copied().collect();
            let rank = |number: &u32| distinct.range(..number).count();
            numbers.iter().map(|number| small(rank(number))).collect()
        }
        None => (0..group.len()).map(small).collect(),
    }
}

/// Spines beside the notes belong to the notes on their staff, else to those on their left.
fn attach(scan: &Scan<'_>, said: &[Said<'_>], layout: &mut Layout<'_>) {
    for spine in 0..scan.spines.len() {
        if scan.spines[spine].is_kern() {
            continue;
        }
        let notes = |range: std::ops::Range<usize>| range.filter(|other| scan.spines[*other].is_kern());
        let left = notes(0..spine).next_back();
        let near = left.or_else(|| notes(spine..scan.spines.len()).next());
        let same_staff = |other: &usize| said[*other].staff == said[spine].staff;
        let by_staff = said[spine].staff.and_then(|_| {
            let mut same = notes(0..spine).rev().take(1_000).filter(same_staff);
            same.next()
        });
        let Some(notes) = by_staff.or(near) else { continue };
        layout.homes[spine] = layout.homes[notes].map(|home| Home {
            all_staves: said[spine].several_staves,
            ..home
        });
    }
}
