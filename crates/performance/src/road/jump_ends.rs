//! Where does the music after a jump begin and end, when the page does not say? Guesses by the customs of the trade,
//! each with its finding.

use super::grid::Grid;
use super::jumps::{Jump, Leave, Until};
use super::report::Report;
use super::signs::Signs;
use super::words;
use notation::{Piece, Place, Severity};

/// Bars before which an introduction is not this long, so that a new movement must have begun.
const LONG_INTRODUCTION: u32 = 150;

/// Where D.C. goes back to: the beginning of the piece, or of the movement where one file holds several.
pub(super) fn beginning(jump: &Jump, fine: Option<Place>, signs: &Signs, report: &mut Report) -> Place {
    let end = match jump.until {
        Until::Section(end) => end,
        Until::Fine => fine.unwrap_or(jump.at),
        _ => jump.at,
    };
    let heading = |at: Place| {
        signs
            .headings
            .get(signs.headings.partition_point(|(place, _)| *place < at))
            .filter(|(place, _)| *place == at)
    };
    let named = jump.section.as_deref().and_then(|section| {
        // `Men.`, `Menuetto` and `Menuett` agree in their first three letters.
        let opening: String = section.chars().take(3).collect::<String>().to_lowercase();
        let called = |text: &str| text.to_lowercase().starts_with(&opening);
        signs
            .headings
            .iter()
            .rev()
            .find(|(place, text)| *place < end && called(text))
            .map(|(place, _)| *place)
    });
    let new_movement = signs
        .changes
        .iter()
        .rev()
        .map(|(place, metre)| (*place, *metre))
        .find(|(place, metre)| {
            *metre
                && *place < end
                && heading(*place).is_some()
                && (jump.section.is_some() || place.bar.0 > LONG_INTRODUCTION)
        });
    let Some(at) = named
        .or(new_movement.map(|(place, _)| place))
        .filter(|at| *at > Place::default())
    else {
        return Place::default();
    };
    let what = format!(
        "da capo taken to bar {}, where this movement begins",
        report.label(at)
    );
    report.opens(
        Severity::Note,
        "da-capo-to-movement",
        at,
        &what,
        "the file seems to hold several movements",
    );
    at
}

/// Where the section that a D.C. repeats comes to its end, and whether that is a guess.
pub(super) fn section_end(jump: &Jump, signs: &Signs, units: &[Place], guess: bool) -> Option<(Place, bool)> {
    let heading = signs
        .headings
        .iter()
        .rev()
        .find(|(place, text)| *place < jump.at && place.bar.0 > 0 && words::is_section_name(text));
    if let Some((at, _)) = heading {
        return Some((*at, false));
    }
    if !guess {
        // A fermata over a double bar stands for Fine. Source: common practice of older prints.
        let held = signs
            .bar_fermatas
            .iter()
            .copied()
            .filter(|at| signs.section_ends_at(*at));
        let end = held.filter(|at| *at > Place::default() && *at < jump.at).max();
        return end.map(|end| (end, true));
    }
    let boundary = |at: &&Place| **at < jump.at && signs.section_ends_at(**at);
    let change = signs.changes.iter().map(|(place, _)| place).find(boundary);
    change
        .copied()
        .or_else(|| half_way(jump.at, units))
        .map(|end| (end, true))
}

/// Two sections of two strains each, the usual minuet and trio: the end of the first.
pub(super) fn half_way(jump: Place, units: &[Place]) -> Option<Place> {
    let before = units.iter().filter(|end| **end < jump).count() + 1;
    if before % 2 == 0 {
        units.get(before / 2 - 1).copied()
    } else {
        None
    }
}

/// Where Fine was probably meant: under a fermata at a double bar or repeat, else at the end of the first section.
pub(super) fn guessed_fine(jump: &Jump, signs: &Signs, grid: &Grid, units: &[Place]) -> Option<Place> {
    let closing = |at: &&Place| **at < jump.at && **at > Place::default() && signs.section_ends_at(**at);
    let fermata = signs.fermatas.iter().rev().find(closing).copied();
    let last = signs.lines.iter().map(|line| (line.at, line.is_final));
    let line = last
        .rev()
        .find(|(at, is_final)| *is_final && *at < jump.at && *at < grid.end())
        .map(|(at, _)| at);
    fermata
        .or(line)
        .or_else(|| section_end(jump, signs, units, true).map(|(end, _)| end))
}

pub(super) fn missing_fine(jump: &Jump, end: Option<Place>, grid: &Grid, report: &mut Report) {
    let what = format!(
        "{} al Fine, but no Fine stands in the piece",
        jump.kind.abbreviation()
    );
    let advice = match end {
        Some(end) => {
            format!(
                "taken to end after bar {}; ask your teacher or look in a score",
                label_before(report, grid, end)
            )
        }
        None => "played to the end; look in a score for the place of Fine".to_owned(),
    };
    report.closes(
        grid,
        Severity::Problem,
        "jump-missing-fine",
        jump.at,
        &what,
        &advice,
    );
}

pub(super) fn section_end_found(jump: &Jump, end: Place, guessed: bool, grid: &Grid, report: &mut Report) {
    let label = label_before(report, grid, end);
    let what = if guessed {
        format!(
            "the words do not say where the da capo ends: taken to end after bar {label}, where the first section seems to close"
        )
    } else {
        format!("the da capo ends after bar {label}, before the next section's heading")
    };
    let severity = if guessed {
        Severity::Caution
    } else {
        Severity::Note
    };
    report.closes(
        grid,
        severity,
        "da-capo-end",
        jump.at,
        &what,
        "pencil Fine in there once you are sure",
    );
}

pub(super) fn label_before<'a>(report: &Report<'a>, grid: &Grid, at: Place) -> &'a str {
    report.label(grid.start_before(at))
}

pub(super) fn missing_leave(jump: &Jump, coda: Option<Place>, grid: &Grid, report: &mut Report) {
    let what = format!(
        "{} al Coda, but nothing before it says where to leave for the coda",
        jump.kind.abbreviation()
    );
    let advice = if coda.is_some() {
        "played through to the jump again and then on to the coda; find where To Coda belongs"
    } else {
        "played through to the end; find the two coda signs in a score"
    };
    report.closes(
        grid,
        Severity::Problem,
        "jump-missing-to-coda",
        jump.at,
        &what,
        advice,
    );
}

/// To Coda without a coda: what follows the jump is taken for it.
pub(super) fn missing_coda(
    leave: &Leave,
    jump: Option<Place>,
    grid: &Grid,
    report: &mut Report,
) -> Option<Place> {
    let target = jump.filter(|at| *at < grid.end() && *at > leave.at);
    let advice = match target {
        Some(at) => format!(
            "what follows the jump, from bar {}, is taken for the coda",
            report.label(at)
        ),
        None => "passed over; look in a score for the coda".to_owned(),
    };
    let what = "To Coda here, but no coda follows";
    report.closes(
        grid,
        Severity::Problem,
        "to-coda-without-coda",
        leave.at,
        what,
        &advice,
    );
    target
}

pub(super) fn tell(jump: &Jump, piece: &Piece, grid: &Grid, report: &mut Report) {
    if !jump.sound {
        let what = format!(
            "{} from the words alone",
            jump.words.as_deref().unwrap_or(jump.kind.abbreviation())
        );
        report.closes(grid, Severity::Note, "jump-from-words", jump.at, &what, "");
    } else if jump.words.is_none() {
        let what = format!(
            "{} from the file's playback hint alone, nothing is printed",
            jump.kind.abbreviation()
        );
        report.closes(
            grid,
            Severity::Note,
            "jump-from-hint",
            jump.at,
            &what,
            "pencil it in",
        );
    }
    if piece.parts.len() > 1 && jump.parts.len() < piece.parts.len() && !jump.parts.contains(&0) {
        let names: Vec<&str> = jump
            .parts
            .iter()
            .filter_map(|part| piece.parts.get(*part))
            .map(|part| part.name.as_str())
            .collect();
        let what = format!(
            "{} stands only in the part of {}",
            jump.kind.abbreviation(),
            names.join(", ")
        );
        report.closes(
            grid,
            Severity::Note,
            "jump-in-one-part",
            jump.at,
            &what,
            "it holds for everybody",
        );
    }
}
