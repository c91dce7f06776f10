//! The plan as JSON: every day to the date, what is left and why, how each passage stands.

use crate::say::{self, FindingSaid};
use load::ladder::Rung;
use notation::Finding;
use practice::BarSpan;
use practice::plan::{
    Asked, DayIs, Left, OffBy, PassageKind, Plan, Sitting, Standing, Turn, Work, beats_a_minute, cautions,
};
use schemars::JsonSchema;
use serde::Serialize;

/// The version of this contract: the first number changes when something is taken away or means something else.
pub const PLAN_VERSION: &str = "1.0";

/// A plan from a day to the date.
#[derive(Clone, Debug, Serialize, JsonSchema)]
#[schemars(title = "Foreread practice plan")]
pub struct PlanJson {
    /// The version of this contract.
    pub version: String,
    /// What is to be ready, numbered from 1 in this order.
    pub pieces: Vec<PlannedPiece>,
    /// The first day that is planned, `2027-01-05`.
    pub today: String,
    /// The day on which the work was begun: today, or the first day of the log.
    pub begun: String,
    /// The date.
    pub until: String,
    /// What it is for: `first-lesson`, `audition`, `recital`.
    pub for_what: String,
    /// Minutes a day, rests included.
    pub minutes_a_day: u32,
    /// The instrument's lips need as much rest as playing.
    pub lips_rest: bool,
    /// Days without a sitting.
    pub days_off: DaysOffSaid,
    /// What stands when.
    pub milestones: Milestones,
    /// Every day from today to the date.
    pub days: Vec<PlannedDay>,
    /// What there is no time for, the reasons with it.
    pub left: Vec<LeftSaid>,
    /// How each passage stands by the log, and when it comes next.
    pub passages: Vec<PassageSaid>,
    /// What must be said so that practising does no harm.
    pub cautions: CautionsSaid,
    /// What was found wrong, guessed or odd.
    pub findings: Vec<FindingSaid>,
}

/// A piece of the plan.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct PlannedPiece {
    /// Its name.
    pub title: String,
    /// The bars to be learnt.
    pub bars: Vec<BarsSaid>,
    /// The tempo of the first reading; null without notes.
    pub first_tempo: Option<TempoSaid>,
    /// The tempo to climb to; null if there is none.
    pub goal_tempo: Option<TempoSaid>,
    /// The way to climb by its fixed name; null if there is no goal.
    pub scheme: Option<String>,
    /// Whether it is to be played from memory.
    pub from_memory: bool,
}

/// Some bars.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct BarsSaid {
    /// Label of the first bar.
    pub from_bar: String,
    /// Label of the last bar.
    pub to_bar: String,
    /// The first bar counted from 0.
    pub from_bar_index: u32,
    /// The last bar counted from 0.
    pub to_bar_index: u32,
}

/// A tempo, and how often to play it there.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct TempoSaid {
    /// The note that is counted: `quarter`, `dotted quarter`.
    pub beat: String,
    /// Such notes a minute.
    pub bpm: u16,
    /// What the metronome clicks.
    pub click_beat: String,
    /// Clicks a minute.
    pub click_bpm: u16,
    /// How often; null for a goal.
    pub times: Option<u8>,
    /// As it is pencilled.
    pub says: String,
}

/// Days without a sitting.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct DaysOffSaid {
    /// Days of the week that she keeps free: `mon` to `sun`.
    pub weekdays: Vec<String>,
    /// From one day to another, both included.
    pub ranges: Vec<FromTo>,
    /// The day of the week that is kept free where she named none; null otherwise.
    pub kept_free: Option<String>,
}

/// From one day to another, both included.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct FromTo {
    /// First day.
    pub from: String,
    /// Last day.
    pub to: String,
}

/// What stands when.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Milestones {
    /// The last day on which new bars are read; null if all were met before.
    pub every_bar_met_by: Option<String>,
    /// The day of the goal tempo; null if there is none or no time to climb to it.
    pub goal_tempo_by: Option<String>,
    /// Whether that is two weeks or more before the date.
    pub goal_tempo_two_weeks_early: bool,
    /// The days of mock performances.
    pub mock_performances: Vec<String>,
}

/// A day.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct PlannedDay {
    /// `2027-01-05`.
    pub date: String,
    /// `mon` to `sun`.
    pub weekday: String,
    /// `sitting`, `off` or `date`.
    pub kind: String,
    /// Why there is no sitting: `asked`, or `week` for the day off of the week.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub off_by: Option<String>,
    /// The stretch of the plan: `meet`, `climb`, `settle`, `day-before`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub stage: Option<String>,
    /// How long the sitting is, rests included; 0 without one.
    pub minutes: f64,
    /// How much of it is played.
    pub playing_minutes: f64,
    /// Its turns in order.
    pub turns: Vec<TurnSaid>,
}

/// A turn of a sitting.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct TurnSaid {
    /// `warm-up`, `look`, `read`, `spot`, `climb`, `keep`, `chain`, `look-alikes`, `run-through`, `mock-performance`, `sight-reading`,
    /// `mental`, `sing`, `silent`, `rest`.
    pub kind: String,
    /// The heading.
    pub name: String,
    /// The number of the piece, from 1; null if it is about none.
    pub piece: Option<usize>,
    /// What it is about where that is no bars: the scale of a warm-up.
    pub about: Option<String>,
    /// Its bars; of look-alikes both stretches.
    pub bars: Vec<BarsSaid>,
    /// Its tempi in order.
    pub tempi: Vec<TempoSaid>,
    /// How long.
    pub minutes: f64,
    /// Whether it is played, not fingered, sung, thought or rested.
    pub plays: bool,
    /// What to do.
    pub what: String,
    /// When to stop; null if nothing is to be said.
    pub stop: Option<String>,
    /// By which drill, by its fixed name.
    pub drill: Option<String>,
    /// Why it comes today.
    pub why: Option<String>,
}

/// What is left or comes too short.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct LeftSaid {
    /// The number of the piece, from 1.
    pub piece: usize,
    /// Its bars; null if it is about the piece.
    pub bars: Option<BarsSaid>,
    /// `returns`, `easy`, `few-turns`, `tempo`.
    pub why: String,
    /// The same as a sentence.
    pub says: String,
}

/// A passage.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct PassageSaid {
    /// The number of the piece, from 1.
    pub piece: usize,
    /// Its bars.
    pub bars: BarsSaid,
    /// `spot`, `section` or `look-alikes`.
    pub kind: String,
    /// Visits in the log.
    pub visits: usize,
    /// The day of the last one.
    pub last: Option<String>,
    /// Beats a minute at which it last was right often enough.
    pub reached: Option<f64>,
    /// Whether the last visits brought no faster tempo.
    pub stuck: bool,
    /// Its next day; null if it has no turn of its own.
    pub next: Option<String>,
    /// On how many days it comes.
    pub days: usize,
}

/// Cautions.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct CautionsSaid {
    /// In full, for the first page of a term.
    pub full: Vec<String>,
    /// The line in between.
    pub line: String,
}

/// What to write.
#[derive(Clone, Copy, Debug)]
pub struct PlanWritten<'a> {
    /// What was asked.
    pub asked: &'a Asked,
    /// The plan.
    pub plan: &'a Plan,
    /// What was found on the way.
    pub findings: &'a [Finding],
}

/// The plan as plain types.
#[must_use]
pub fn plan_json(what: &PlanWritten) -> PlanJson {
    let (asked, plan) = (what.asked, what.plan);
    let date = |day: &practice::plan::Date| day.to_string();
    PlanJson {
        version: PLAN_VERSION.to_owned(),
        pieces: asked.works.iter().map(piece).collect(),
        today: date(&asked.today),
        begun: date(&asked.begun.min(asked.today)),
        until: date(&asked.until),
        for_what: asked.occasion.id().to_owned(),
        minutes_a_day: asked.minutes,
        lips_rest: asked.brass(),
        days_off: days_off(what),
        milestones: Milestones {
            every_bar_met_by: plan.met_by.as_ref().map(date),
            goal_tempo_by: plan.goal_by.as_ref().map(date),
            goal_tempo_two_weeks_early: plan.goal_by.is_some() && plan.calendar.goal_is_early,
            mock_performances: plan.mocks.iter().map(date).collect(),
        },
        days: days(asked, plan),
        left: plan
            .left
            .iter()
            .filter_map(|left| left_said(asked, left))
            .collect(),
        passages: plan
            .passages
            .iter()
            .filter_map(|standing| passage(asked, standing))
            .collect(),
        cautions: CautionsSaid {
            full: cautions::full(asked.family)
                .into_iter()
                .map(str::to_owned)
                .collect(),
            line: cautions::LINE.to_owned(),
        },
        findings: say::findings(what.findings),
    }
}

/// The plan as JSON text.
#[must_use]
pub fn plan_text(what: &PlanWritten) -> String {
    let mut text = serde_json::to_string_pretty(&plan_json(what)).unwrap_or_default();
    text.push('\n');
    text
}

/// The JSON Schema of a plan, as kept in `docs/plan.schema.json`.
#[must_use]
pub fn plan_schema() -> String {
    let mut text = serde_json::to_string_pretty(&schemars::schema_for!(PlanJson)).unwrap_or_default();
    text.push('\n');
    text
}

fn bars(work: &Work, span: BarSpan) -> BarsSaid {
    BarsSaid {
        from_bar: work.label(span.from).to_owned(),
        to_bar: work.label(span.to).to_owned(),
        from_bar_index: span.from.0,
        to_bar_index: span.to.0,
    }
}

fn tempo(rung: &Rung, times: Option<u8>) -> TempoSaid {
    TempoSaid {
        beat: rung.beat.name(),
        bpm: rung.bpm,
        click_beat: rung.click.name(),
        click_bpm: rung.click_bpm,
        times,
        says: rung.says(),
    }
}

fn piece(work: &Work) -> PlannedPiece {
    PlannedPiece {
        title: work.title.clone(),
        bars: work.spans.iter().map(|span| bars(work, *span)).collect(),
        first_tempo: work.first_rung().map(|rung| tempo(&rung, None)),
        goal_tempo: work.rungs().last().map(|rung| tempo(rung, None)),
        scheme: work.ladder.as_ref().map(|ladder| ladder.scheme.id().to_owned()),
        from_memory: work.from_memory,
    }
}

fn weekday(day: practice::plan::Weekday) -> String {
    day.to_string().to_lowercase()
}

fn days_off(what: &PlanWritten) -> DaysOffSaid {
    let off = &what.asked.off;
    DaysOffSaid {
        weekdays: off.weekdays.iter().copied().map(weekday).collect(),
        ranges: off
            .ranges
            .iter()
            .map(|(from, to)| FromTo {
                from: from.to_string(),
                to: to.to_string(),
            })
            .collect(),
        kept_free: what.plan.calendar.rest_day.map(weekday),
    }
}

fn days(asked: &Asked, plan: &Plan) -> Vec<PlannedDay> {
    use practice::plan::Datelike as _;
    let mut sittings = plan.sittings.iter().peekable();
    plan.calendar
        .days
        .iter()
        .filter(|(date, _)| *date >= asked.today)
        .map(|(date, is)| {
            let sitting = sittings.next_if(|sitting| sitting.date == *date);
            let kind = match is {
                DayIs::Sitting(_) => "sitting",
                DayIs::Off(_) => "off",
                DayIs::TheDate => "date",
            };
            let off_by = match is {
                DayIs::Off(OffBy::Asked) => Some("asked".to_owned()),
                DayIs::Off(OffBy::Week) => Some("week".to_owned()),
                _ => None,
            };
            PlannedDay {
                date: date.to_string(),
                weekday: weekday(date.weekday()),
                kind: kind.to_owned(),
                off_by,
                stage: sitting.map(|sitting| sitting.stage.id().to_owned()),
                minutes: minutes(sitting.map_or(0, Sitting::secs)),
                playing_minutes: minutes(sitting.map_or(0, Sitting::playing_secs)),
                turns: sitting
                    .map(|sitting| sitting.turns.iter().map(|one| turn(asked, one)).collect())
                    .unwrap_or_default(),
            }
        })
        .collect()
}

fn minutes(secs: u32) -> f64 {
    f64::from(secs) / 60.0
}

fn said(text: &str) -> Option<String> {
    (!text.is_empty()).then(|| text.to_owned())
}

fn turn(asked: &Asked, turn: &Turn) -> TurnSaid {
    let work = turn.work.and_then(|work| asked.works.get(work));
    TurnSaid {
        kind: turn.kind.id().to_owned(),
        name: turn.kind.words().to_owned(),
        piece: turn.work.map(|work| work + 1),
        about: said(&turn.about),
        bars: work.map_or_else(Vec::new, |work| {
            turn.bars.iter().map(|span| bars(work, *span)).collect()
        }),
        tempi: turn
            .tempi
            .iter()
            .map(|rung| tempo(rung, Some(rung.times.0)))
            .collect(),
        minutes: minutes(turn.secs),
        plays: turn.kind.plays(),
        what: turn.what.clone(),
        stop: said(&turn.stop),
        drill: turn.drill.map(|kind| kind.id().to_owned()),
        why: said(&turn.why),
    }
}

fn left_said(asked: &Asked, left: &Left) -> Option<LeftSaid> {
    let work = asked.works.get(left.work)?;
    Some(LeftSaid {
        piece: left.work + 1,
        bars: left.span.map(|span| bars(work, span)),
        why: left.why.id().to_owned(),
        says: left.says.clone(),
    })
}

fn passage(asked: &Asked, standing: &Standing) -> Option<PassageSaid> {
    let passage = &standing.passage;
    let work = asked.works.get(passage.work)?;
    let kind = match passage.kind {
        PassageKind::Spot(_) => "spot",
        PassageKind::Section => "section",
        PassageKind::Pair(_) => "look-alikes",
    };
    let progress = &standing.progress;
    Some(PassageSaid {
        piece: passage.work + 1,
        bars: bars(work, passage.span),
        kind: kind.to_owned(),
        visits: progress.visits.len(),
        last: progress.last().map(|day| day.to_string()),
        reached: progress.reached.map(|speed| beats_a_minute(work, speed)),
        stuck: progress.stuck,
        next: standing.next.map(|day| day.to_string()),
        days: standing.days,
    })
}
