//! What is a player getting ready, and for when? Assignments with the same day together, or a call; her minutes and days off.

use crate::error::AppError;
use crate::state::App;
use crate::{days, pieces};
use practice::plan::{Date, Days, Occasion};
use serde::{Deserialize, Serialize};
use store::{AssignmentRow, CallId, CallRow, CutRow, OccasionRow, PieceRow, PlayerId, PlayerRow};

/// When a player practises: for all that she works on.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(default)]
pub(crate) struct Practice {
    /// Minutes a day, rests included.
    pub minutes: u32,
    /// Days off, as they are typed: `sun, 2026-12-24..2026-12-26`.
    pub off: String,
    /// When in the day, for the calendar; empty for no time.
    pub at: String,
}

impl Default for Practice {
    fn default() -> Self {
        Self {
            minutes: USUAL_MINUTES,
            off: String::new(),
            at: String::new(),
        }
    }
}

/// Minutes a day where nobody said any: half an hour. Common practice.
const USUAL_MINUTES: u32 = 30;
/// Days that are planned where no day is named: four weeks, and again four weeks. Ours.
const OPEN_DAYS: i64 = 28;
/// So near the end of such a stretch the next one is begun.
const NEAR_END: i64 = 7;

impl Practice {
    /// As it is kept for a player.
    ///
    /// # Errors
    /// If the store refuses.
    pub fn of(app: &App, player: PlayerId) -> Result<Self, AppError> {
        let kept = app.store.setting(&Self::name(player))?;
        Ok(kept
            .and_then(|text| serde_json::from_str(&text).ok())
            .unwrap_or_default())
    }

    /// Keeps it.
    ///
    /// # Errors
    /// If the store refuses.
    pub fn keep(&self, app: &App, player: PlayerId) -> Result<(), AppError> {
        let text = serde_json::to_string(self).map_err(|error| AppError::Asked(error.to_string()))?;
        Ok(app.store.set_setting(&Self::name(player), &text)?)
    }

    fn name(player: PlayerId) -> String {
        format!("practice.{player}")
    }
}

/// One thing to be ready.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) struct Working {
    /// What was assigned.
    pub assignment: AssignmentRow,
    /// Its piece.
    pub piece: PieceRow,
    /// Its cuts; none for all of it.
    pub cuts: Vec<CutRow>,
}

/// What a program is made of.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) enum Of {
    /// Pieces.
    Pieces(Vec<Working>),
    /// What a call asks for, with the pieces of the folder by the names it calls them.
    Call(CallRow, Vec<(String, PieceRow)>),
}

/// What is to be ready on one day.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) struct Program {
    /// How it is named in an address: `2027-02-20`, `open`, `call-1`.
    pub key: String,
    /// What it is made of.
    pub of: Of,
    /// The day.
    pub until: Date,
    /// What the day is, where it is one of the studio's.
    pub day_name: Option<String>,
    /// False where no day is named, and four weeks are planned at a time.
    pub has_day: bool,
    /// What it is for.
    pub occasion: &'static str,
    /// Minutes of the day that are its own, where several programs share them.
    pub minutes: u32,
}

impl Program {
    /// What it is called.
    pub fn title(&self) -> String {
        let titles: Vec<&str> = self
            .pieces()
            .into_iter()
            .map(|piece| piece.title.as_str())
            .collect();
        titles.join(" · ")
    }

    /// Its pieces, in the order of the plan.
    pub fn pieces(&self) -> Vec<&PieceRow> {
        match &self.of {
            Of::Pieces(all) => all.iter().map(|one| &one.piece).collect(),
            Of::Call(_, pieces) => pieces.iter().map(|(_, piece)| piece).collect(),
        }
    }
}

/// What a player is getting ready, the next day first. What is past is left out.
///
/// # Errors
/// If the store refuses.
pub(crate) fn programs(app: &App, player: &PlayerRow, today: Date) -> Result<Vec<Program>, AppError> {
    let ahead: Vec<OccasionRow> = app
        .store
        .occasions(Some(&today.to_string()))?
        .into_iter()
        .filter(|day| day.players.contains(&player.id))
        .collect();
    let open: Vec<AssignmentRow> = app
        .store
        .assignments_of_player(player.id)?
        .into_iter()
        .filter(|assignment| assignment.done.is_none())
        .collect();
    let mut programs = calls(app, &ahead, &open)?;
    for assignment in open {
        let piece = pieces::row(app, assignment.piece.0)?;
        let day = day_of(&assignment, &ahead);
        let called = |program: &Program| {
            let same_day = day.as_ref().is_some_and(|(until, _)| *until == program.until);
            matches!(program.of, Of::Call(..)) && same_day && program.pieces().contains(&&piece)
        };
        if piece.put_away.is_some() || programs.iter().any(called) {
            continue;
        }
        let cuts = app.store.cuts(assignment.id)?;
        add(
            &mut programs,
            Working {
                assignment,
                piece,
                cuts,
            },
            day,
            today,
        );
    }
    programs.retain(|program| program.until > today);
    programs.sort_by(|a, b| a.until.cmp(&b.until).then(a.key.cmp(&b.key)));
    let minutes = Practice::of(app, player.id)?.minutes;
    let own = own_minutes(minutes, programs.len());
    for program in &mut programs {
        program.minutes = own;
    }
    Ok(programs)
}

/// The day's minutes, shared evenly; no share is less than one.
fn own_minutes(minutes: u32, programs: usize) -> u32 {
    let among = u32::try_from(programs).unwrap_or(u32::MAX).max(1);
    (minutes / among).max(1)
}

/// The day an assignment is for: its own, else the one that its goal names.
fn day_of(assignment: &AssignmentRow, ahead: &[OccasionRow]) -> Option<(Date, Option<OccasionRow>)> {
    let named = |day: &&OccasionRow| {
        let goal = assignment.goal.trim();
        !goal.is_empty() && day.name.trim().eq_ignore_ascii_case(goal)
    };
    if let Some(until) = assignment.until.as_deref().and_then(days::read) {
        let same = ahead.iter().find(|day| days::read(&day.date) == Some(until));
        return Some((until, same.cloned()));
    }
    let day = ahead.iter().find(named)?;
    Some((days::read(&day.date)?, Some(day.clone())))
}

fn add(programs: &mut Vec<Program>, working: Working, day: Option<(Date, Option<OccasionRow>)>, today: Date) {
    let has_day = day.is_some();
    let (until, occasion) = day.unwrap_or_else(|| (open_end(&working.assignment, today), None));
    let key = if has_day {
        until.to_string()
    } else {
        format!("open-{until}")
    };
    if let Some(known) = programs.iter_mut().find(|program| program.key == key)
        && let Of::Pieces(all) = &mut known.of
    {
        all.push(working);
        return;
    }
    programs.push(Program {
        key,
        of: Of::Pieces(vec![working]),
        until,
        occasion: occasion
            .as_ref()
            .map_or(Occasion::Recital, |day| kind(&day.kind))
            .id(),
        day_name: occasion.map(|day| day.name),
        has_day,
        minutes: 0,
    });
}

/// The end of the stretch of four weeks in which today lies, counted from when the piece was begun.
fn open_end(assignment: &AssignmentRow, today: Date) -> Date {
    let since = days::read(&assignment.since).unwrap_or(today).min(today);
    let gone = (today - since).num_days();
    let stretches = (gone + NEAR_END) / OPEN_DAYS + 1;
    let days = u64::try_from(stretches * OPEN_DAYS).unwrap_or(0);
    since.checked_add_days(Days::new(days)).unwrap_or(today)
}

/// What a day is for, by the word that the teacher has for it.
pub(crate) fn kind(word: &str) -> Occasion {
    match word.trim().to_lowercase().as_str() {
        "audition" | "competition" | "exam" | "examination" => Occasion::Audition,
        "lesson" | "first lesson" | "rehearsal" => Occasion::FirstLesson,
        _ => Occasion::Recital,
    }
}

/// Calls of her days, with the pieces of each that she works on; all of them where none is assigned.
fn calls(app: &App, ahead: &[OccasionRow], open: &[AssignmentRow]) -> Result<Vec<Program>, AppError> {
    let mut programs = Vec::new();
    for day in ahead {
        let (Some(id), Some(until)) = (day.call, days::read(&day.date)) else {
            continue;
        };
        let call = app.store.call(id)?;
        let all = call_pieces(app, &call)?;
        let is_hers = |piece: &PieceRow| open.iter().any(|assignment| assignment.piece == piece.id);
        let hers: Vec<(String, PieceRow)> = all.iter().filter(|(_, piece)| is_hers(piece)).cloned().collect();
        let pieces = if hers.is_empty() { all } else { hers };
        if pieces.is_empty() {
            continue;
        }
        programs.push(Program {
            key: call_key(call.id),
            until,
            day_name: Some(day.name.clone()),
            has_day: true,
            occasion: Occasion::Audition.id(),
            minutes: 0,
            of: Of::Call(call, pieces),
        });
    }
    Ok(programs)
}

fn call_key(id: CallId) -> String {
    format!("call-{id}")
}

/// The pieces that a call names, with the names it has for them.
///
/// # Errors
/// If the store refuses.
pub(crate) fn call_pieces(app: &App, call: &CallRow) -> Result<Vec<(String, PieceRow)>, AppError> {
    let named = app.store.call_pieces(call.id)?;
    named
        .into_iter()
        .map(|(name, piece)| Ok((name, pieces::row(app, piece.0)?)))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn minutes_are_shared_evenly() {
        assert_eq!(own_minutes(40, 1), 40);
        assert_eq!(own_minutes(40, 3), 13);
        assert_eq!(own_minutes(1, 3), 1);
        assert_eq!(own_minutes(40, 0), 40);
    }

    #[test]
    fn words_for_days_are_understood() {
        assert_eq!(kind(" Audition "), Occasion::Audition);
        assert_eq!(kind("lesson"), Occasion::FirstLesson);
        assert_eq!(kind("garden party"), Occasion::Recital);
    }
}
