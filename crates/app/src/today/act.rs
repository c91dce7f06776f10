//! What does a player do in a sitting? Tick a rung, say how a turn went, strike out what was said by mistake.

use crate::error::AppError;
use crate::state::App;
use crate::today::done::{self, Written};
use crate::today::plans::{Planning, planning};
use crate::today::program::programs;
use crate::today::sight;
use crate::today::turns::{Afterwards, Named, afterwards, named, sitting};
use crate::{days, pieces};
use axum::Json;
use axum::extract::{Path, State};
use desk::{LogAsked, Planned};
use load::ladder::Rung;
use practice::plan::{CLEAN, Date, Felt, TurnKind};
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;
use std::sync::Arc;
use store::{NewVisit, PlayerId};

/// Which turn is meant.
#[derive(Clone, Debug, Deserialize)]
pub(crate) struct Which {
    /// The program, by its key.
    pub program: String,
    /// The turn, by its name.
    pub turn: String,
    /// The day on which the page was made.
    pub on: String,
}

/// A turn that was found, with all around it.
pub(crate) struct Found {
    pub planning: Planning,
    pub planned: Arc<Planned>,
    pub on: Date,
}

/// The most days that a page may have been left open for its sitting still to be written down.
const STILL: i64 = 3;

/// The plan that a page was made from.
///
/// # Errors
/// If there is no such player or program, or the day is too long past.
pub(crate) fn found(app: &App, player: i64, which: &Which) -> Result<Found, AppError> {
    let today = app.today();
    let on = days::read(&which.on).ok_or(AppError::NotFound)?;
    if on > today || (today - on).num_days() > STILL {
        return Err(AppError::Asked(
            "this sitting is of another day — load the page anew".to_owned(),
        ));
    }
    let player = app.store.player(PlayerId(player))?;
    let programs = programs(app, &player, on)?;
    let program = programs
        .iter()
        .find(|program| program.key == which.program)
        .ok_or_else(changed)?;
    let planning = planning(app, &player, program, on)?;
    let planned = planning.made(app)?;
    Ok(Found {
        planning,
        planned,
        on,
    })
}

fn changed() -> AppError {
    AppError::Asked("the plan has changed meanwhile — load the page anew".to_owned())
}

impl Found {
    /// The turn of a name.
    ///
    /// # Errors
    /// If the sitting has none.
    pub fn turn(&self, name: &str) -> Result<Named<'_>, AppError> {
        let turns = sitting(&self.planned, self.on).map(named).unwrap_or_default();
        turns
            .into_iter()
            .find(|turn| turn.name == name)
            .ok_or_else(changed)
    }
}

/// A rung ticked, or not.
#[derive(Debug, Deserialize)]
pub(crate) struct Tick {
    #[serde(flatten)]
    which: Which,
    rung: usize,
    ticked: bool,
}

/// Ticks a rung.
pub(crate) async fn tick(
    State(app): State<Arc<App>>,
    Path(player): Path<i64>,
    Json(tick): Json<Tick>,
) -> Result<Json<bool>, AppError> {
    app.aside(move |app| {
        let found = found(app, player, &tick.which)?;
        let turn = found.turn(&tick.which.turn)?;
        if tick.rung >= turn.turn.tempi.len() {
            return Err(changed());
        }
        let key = done::key(&tick.which.program, &tick.which.turn);
        done::change(app, PlayerId(player), found.on, |done| {
            let ticked = done.ticked.entry(key).or_default();
            if tick.ticked {
                ticked.insert(tick.rung);
            } else {
                ticked.remove(&tick.rung);
            }
            Ok(Json(tick.ticked))
        })
    })
    .await
}

/// How a turn went.
#[derive(Debug, Deserialize)]
pub(crate) struct Went {
    #[serde(flatten)]
    which: Which,
    /// Times in a row that it was right, where somebody counted.
    clean: Option<u32>,
    /// How it felt: `easy`, `steady`, `hard`.
    felt: Option<String>,
    /// How long it took, in minutes, where the timer ran.
    minutes: Option<f64>,
}

/// What was written down.
#[derive(Debug, Serialize)]
pub(crate) struct WrittenDown {
    said: String,
}

/// Writes down how a turn went.
pub(crate) async fn log(
    State(app): State<Arc<App>>,
    Path(player): Path<i64>,
    Json(went): Json<Went>,
) -> Result<Json<WrittenDown>, AppError> {
    app.aside(move |app| {
        let found = found(app, player, &went.which)?;
        let key = done::key(&went.which.program, &went.which.turn);
        let said = done::write_down(app, PlayerId(player), found.on, &key, |ticked| {
            let turn = found.turn(&went.which.turn)?;
            written(app, &found, &turn, ticked, &went)
        })?;
        Ok(Json(WrittenDown { said }))
    })
    .await
}

/// What is said of a turn, and the visits that it was.
fn written(
    app: &App,
    found: &Found,
    turn: &Named,
    ticked: &BTreeSet<usize>,
    went: &Went,
) -> Result<Written, AppError> {
    if let Some(felt) = went.felt.as_deref()
        && Felt::from_id(felt).is_none()
    {
        return Err(AppError::Asked(format!(
            "it can't have felt “{felt}” — say easy, steady or hard"
        )));
    }
    if turn.turn.kind == TurnKind::SightReading {
        return Ok(sight::written(found, &turn.name, went.felt.as_deref()));
    }
    let after = afterwards(turn.turn);
    let Some(work) = turn.turn.work.filter(|_| after != Afterwards::Done) else {
        return Ok(Written {
            said: "done".to_owned(),
            ..Written::default()
        });
    };
    let row = found
        .planning
        .piece_of(&found.planned, work)
        .ok_or_else(changed)?;
    let opened = pieces::open(app, &row)?;
    let clean = went.clean.filter(|_| after == Afterwards::Passage);
    let (rung, also) = reached(&turn.turn.tempi, ticked, clean);
    let mut visits = Vec::new();
    let works = &found.planned.question.works;
    let labels = works.get(work).map_or(&[][..], |work| &work.labels);
    let label = |bar: notation::BarIndex| labels.get(bar.get()).cloned().unwrap_or_default();
    for span in &turn.turn.bars {
        // Two that look alike took their minutes together.
        let minutes = went
            .minutes
            .filter(|minutes| *minutes >= SHORTEST && visits.is_empty());
        let line = desk::log_line(
            &opened,
            &LogAsked {
                part: row.part.clone(),
                bars: Some(format!("{}-{}", label(span.from), label(span.to))),
                tempo: rung.map(|rung| f64::from(rung.bpm)),
                beat: rung.map(|rung| rung.beat.code()),
                clean,
                felt: went.felt.clone(),
                minutes: minutes.map(round),
                drill: turn.turn.drill.map(|drill| drill.id().to_owned()),
                note: also.map(|also| format!("and once at {} = {}", also.beat.sign(), also.bpm)),
                date: Some(found.on.to_string()),
                ..LogAsked::default()
            },
        )?;
        visits.push(NewVisit {
            piece: row.id,
            player: Some(found.planning.player.id),
            line,
        });
    }
    Ok(Written {
        said: said(rung, clean, went.felt.as_deref()),
        visits,
        read: None,
    })
}

/// The shortest turn whose minutes are worth keeping.
const SHORTEST: f64 = 0.5;

fn round(minutes: f64) -> f64 {
    (minutes.min(MOST_MINUTES) * 10.0).round() / 10.0
}

/// The most that the timer may have run for one turn: longer it was forgotten.
const MOST_MINUTES: f64 = 120.0;

/// The rung that is written down, and a faster one that was played once beyond it.
///
/// Right often enough: the fastest ticked rung that is played more than once, else the one that the turn begins on. Not yet: the
/// first rung that was not ticked, since there it stopped.
fn reached(rungs: &[Rung], ticked: &BTreeSet<usize>, clean: Option<u32>) -> (Option<Rung>, Option<Rung>) {
    let is_single = |at: &usize| *at > 0 && rungs.get(*at).is_some_and(|rung| rung.times.0 <= 1);
    let fastest = ticked.iter().rev().find(|at| !is_single(at)).copied();
    match clean {
        Some(times) if times < CLEAN => {
            let stopped = (0..rungs.len()).find(|at| !ticked.contains(at));
            (rungs.get(stopped.unwrap_or(0)).copied(), None)
        }
        _ => {
            let at = fastest.unwrap_or(0);
            let once = ticked.iter().rev().find(|once| **once > at && is_single(once));
            (
                rungs.get(at).copied(),
                once.and_then(|once| rungs.get(*once)).copied(),
            )
        }
    }
}

/// What was written down, in words: `three in a row at ♩ = 63, felt steady`.
fn said(rung: Option<Rung>, clean: Option<u32>, felt: Option<&str>) -> String {
    let mut words: Vec<String> = Vec::new();
    let at = rung.map_or_else(String::new, |rung| {
        format!(" at {} = {}", rung.beat.sign(), rung.bpm)
    });
    match clean {
        Some(times) if times >= CLEAN => words.push(format!("three in a row{at}")),
        Some(0) => words.push(format!("not yet{at}")),
        Some(_) => words.push(format!("nearly{at}")),
        None => words.push(format!("played{at}")),
    }
    words.extend(felt.map(|felt| format!("felt {felt}")));
    words.join(", ")
}

/// Strikes out what was said of a turn.
pub(crate) async fn strike(
    State(app): State<Arc<App>>,
    Path(player): Path<i64>,
    Json(which): Json<Which>,
) -> Result<Json<bool>, AppError> {
    app.aside(move |app| {
        let found = found(app, player, &which)?;
        let key = done::key(&which.program, &which.turn);
        Ok(Json(done::strike(app, PlayerId(player), found.on, &key)?))
    })
    .await
}

#[cfg(test)]
mod tests {
    use super::*;
    use load::ladder::{Climb, Scheme, ladder};
    use survey::metre::BeatUnit;

    fn rungs(times: &[(u16, u8)]) -> Vec<Rung> {
        let any = ladder(&Climb::on(BeatUnit::QUARTER, 60.0, 60.0), Scheme::Straight).rungs[0];
        times
            .iter()
            .map(|(bpm, times)| Rung {
                bpm: *bpm,
                times: (*times, *times),
                ..any
            })
            .collect()
    }

    fn check(ticked: &[usize], clean: Option<u32>, expected: (Option<u16>, Option<u16>)) {
        let rungs = rungs(&[(63, 3), (72, 1)]);
        let (rung, also) = reached(&rungs, &ticked.iter().copied().collect(), clean);
        assert_eq!((rung.map(|r| r.bpm), also.map(|r| r.bpm)), expected);
    }

    #[test]
    fn three_in_a_row_is_written_at_the_tempo_that_was_played_three_times() {
        check(&[], Some(3), (Some(63), None));
        check(&[0], Some(3), (Some(63), None));
        check(&[0, 1], Some(3), (Some(63), Some(72)));
    }

    #[test]
    fn not_yet_is_written_at_the_tempo_where_it_stopped() {
        check(&[], Some(0), (Some(63), None));
        check(&[0], Some(0), (Some(72), None));
        check(&[0, 1], Some(1), (Some(63), None));
    }

    #[test]
    fn without_a_tempo_nothing_is_made_up() {
        assert_eq!(reached(&[], &BTreeSet::new(), Some(3)), (None, None));
        assert_eq!(said(None, Some(3), Some("easy")), "three in a row, felt easy");
        assert_eq!(said(None, None, None), "played");
    }
}
