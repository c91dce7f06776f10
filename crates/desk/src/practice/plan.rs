//! What to do on which day? Pieces studied for the player, the log read, the plan made.

use super::log::{Of, log_path, span, visits, visits_in};
use super::when::{self, wrong};
use crate::print::{CopyAsked, Studied, study_alone, title};
use crate::survey_piece::part_name;
use crate::{DeskError, Opened};
use chrono::NaiveTime;
use notation::{Finding, Severity};
use practice::BarSpan;
use practice::plan::{Asked, Date, Occasion, Plan, Work};
use sheet::{BarWord, Handed, PlanShown};
use std::path::PathBuf;
use survey::Context;

/// Days of the hand-out.
const WEEK: u32 = 7;

/// Which days are wanted.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub enum Stretch {
    /// As is usual for the form: all days as data and for a calendar, a week on paper and on screen.
    #[default]
    Usual,
    /// Seven days from this one.
    Week(String),
    /// One day.
    Day(String),
}

/// What is wanted, as it is typed.
#[derive(Clone, Debug, Default)]
pub struct PlanAsked {
    /// The part, the player, her wishes for the climb, the paper, the legend.
    pub copy: CopyAsked,
    /// The date.
    pub until: String,
    /// Today, instead of the clock's.
    pub today: Option<String>,
    /// What it is for, by its name.
    pub for_what: Option<String>,
    /// Minutes a day.
    pub minutes: u32,
    /// Days off.
    pub off: Vec<String>,
    /// Cuts, by printed bar numbers; none for the whole piece.
    pub bars: Vec<String>,
    /// The log, instead of the one beside each piece.
    pub log: Option<PathBuf>,
    /// What is said of each piece, in their order; whatever piece it is said of has no log in a file.
    pub pieces: Vec<PlanPiece>,
    /// Whether it is to be played from memory.
    pub from_memory: bool,
    /// Which days are shown.
    pub stretch: Stretch,
    /// When in the day the sittings are, for the calendar.
    pub at: Option<String>,
    /// The player's name and the date, as they are to be printed.
    pub handed: Handed,
    /// Her word for a bar.
    pub bar_word: BarWord,
}

/// What is said of one piece, where what is practised is kept elsewhere than in files.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct PlanPiece {
    /// Its part, instead of the one asked for.
    pub part: Option<String>,
    /// What is to be learnt; none for what is asked for.
    pub bars: Vec<BarSpan>,
    /// Whether it is to be played from memory.
    pub from_memory: bool,
    /// What was done, as the text of a log.
    pub log: String,
    /// What the teacher decided in it.
    pub decided: crate::Decided,
}

/// A plan, ready to be shown.
pub struct Planned {
    pub(super) studied: Vec<Studied>,
    pub(super) asked: PlanAsked,
    /// For each work the number of the piece that it is of.
    pub pieces: Vec<usize>,
    /// What the plan was made from.
    pub question: Asked,
    /// The plan.
    pub plan: Plan,
    /// What was found on the way.
    pub findings: Vec<Finding>,
    pub(super) clock: Option<NaiveTime>,
    /// The first day that was asked for, and how many; `None` as is usual for the form.
    stretch: Option<(Date, u32)>,
}

/// One thing to be ready: a piece, or a cut of one.
pub(super) struct Wanted<'a> {
    /// The piece.
    pub opened: &'a Opened,
    /// Its place among the pieces.
    pub number: usize,
    /// Its part, instead of the one asked for.
    pub part: Option<String>,
    /// What is to be learnt; none for all of it.
    pub bars: Bars,
    /// A name for it beside the piece's.
    pub name: Option<String>,
    /// The tempo asked for: the note that is counted in quarter notes (`None` for the felt beat), and how many a minute.
    pub tempo: Option<(Option<f64>, f64)>,
    /// Whether it is to be played from memory.
    pub from_memory: bool,
    /// Scales that are asked for beside it.
    pub scales: Vec<String>,
}

/// Which bars.
pub(super) enum Bars {
    /// As they are typed, by printed numbers.
    Typed(Vec<String>),
    /// As they were found.
    Found(Vec<BarSpan>),
}

/// Plans one piece or several.
///
/// # Errors
/// If a piece, a day, a bar or the player can't be understood, or nothing can be planned.
pub fn plan(opened: &[Opened], asked: &PlanAsked) -> Result<Planned, DeskError> {
    if opened.len() > 1 && !asked.bars.is_empty() {
        return Err(wrong(
            "--bars can't say of which piece, where there are several".to_owned(),
            "plan the cuts of one piece, or several pieces whole",
        ));
    }
    let wanted: Vec<Wanted> = opened
        .iter()
        .enumerate()
        .map(|(number, opened)| of_piece(number, opened, asked))
        .collect();
    plan_of(&wanted, when::date("--until", &asked.until)?, asked, Vec::new())
}

fn of_piece<'a>(number: usize, opened: &'a Opened, asked: &PlanAsked) -> Wanted<'a> {
    let own = asked.pieces.get(number);
    let part = own.and_then(|own| own.part.clone());
    Wanted {
        opened,
        number,
        part: part.or_else(|| asked.copy.asked.part.clone()),
        bars: own.filter(|own| !own.bars.is_empty()).map_or_else(
            || Bars::Typed(asked.bars.clone()),
            |own| Bars::Found(own.bars.clone()),
        ),
        name: None,
        tempo: None,
        from_memory: asked.from_memory || own.is_some_and(|own| own.from_memory),
        scales: Vec::new(),
    }
}

/// Plans what is wanted until a day.
pub(super) fn plan_of(
    wanted: &[Wanted],
    until: Date,
    asked: &PlanAsked,
    mut findings: Vec<Finding>,
) -> Result<Planned, DeskError> {
    let today = match &asked.today {
        Some(text) => when::date("--today", text)?,
        None => when::today(),
    };
    let occasion = occasion(asked.for_what.as_deref())?;
    let off = when::days_off(&asked.off)?;
    let clock = asked.at.as_deref().map(when::clock).transpose()?;
    let stretch = stretch(&asked.stretch, today, until)?;
    let mut works = Vec::new();
    let mut log = Vec::new();
    let mut studied_all = Vec::new();
    for (number, one) in wanted.iter().enumerate() {
        let studied = studied(one, asked)?;
        for finding in studied.findings() {
            if !findings.contains(&finding) {
                findings.push(finding);
            }
        }
        let work = work(&studied, one)?;
        let (entries, found) = logged(&studied, one, asked, &work, today)?;
        findings.extend(found);
        log.extend(entries.into_iter().map(|entry| (number, entry)));
        works.push(work);
        studied_all.push(studied);
    }
    let begun = log.iter().map(|(_, entry)| entry.date).min().unwrap_or(today);
    let family = studied_all.iter().find_map(|studied| {
        let study = studied.shown.study.as_ref()?;
        study.player.instrument.map(|instrument| instrument.family)
    });
    let question = Asked {
        today,
        begun: begun.min(today),
        until,
        occasion,
        minutes: asked.minutes,
        off,
        family,
        works,
        log,
    };
    let plan = practice::plan::plan(&question).map_err(|why| wrong(why.what(), why.advice()))?;
    findings.extend(plan.findings.iter().cloned());
    Ok(Planned {
        studied: studied_all,
        asked: asked.clone(),
        pieces: wanted.iter().map(|one| one.number).collect(),
        question,
        plan,
        findings,
        clock,
        stretch,
    })
}

/// The part alone with its study; with the tempo asked for as the one to climb to.
fn studied(wanted: &Wanted, asked: &PlanAsked) -> Result<Studied, DeskError> {
    let mut copy = asked.copy.clone();
    copy.asked.part.clone_from(&wanted.part);
    if let Some(own) = asked.pieces.get(wanted.number) {
        own.decided.put(&mut copy.asked);
    }
    let studied = study_alone(wanted.opened, &copy)?;
    let felt = studied.shown.study.as_ref().and_then(|study| {
        let goal = study.goal.as_ref().map(|goal| goal.beat);
        goal.or_else(|| study.first.as_ref().map(|first| first.beat))
    });
    let Some(((note, bpm), beat)) = wanted.tempo.zip(felt) else {
        return Ok(studied);
    };
    let quarters = beat.quarters().to_f64();
    copy.asked.study.to = Some(note.map_or(bpm, |note| bpm * note / quarters));
    study_alone(wanted.opened, &copy)
}

fn occasion(name: Option<&str>) -> Result<Occasion, DeskError> {
    let Some(name) = name else {
        return Ok(Occasion::default());
    };
    Occasion::ALL
        .into_iter()
        .find(|one| one.id() == name)
        .ok_or_else(|| {
            let known: Vec<&str> = Occasion::ALL.iter().map(|one| one.id()).collect();
            wrong(
                format!("--for-what: nothing is called “{name}”"),
                &format!("there are {}", known.join(", ")),
            )
        })
}

fn stretch(stretch: &Stretch, today: Date, until: Date) -> Result<Option<(Date, u32)>, DeskError> {
    let (option, text, days) = match stretch {
        Stretch::Usual => return Ok(None),
        Stretch::Week(text) => ("--week", text, WEEK),
        Stretch::Day(text) => ("--day", text, 1),
    };
    let from = when::date(option, text)?;
    let last = from
        .checked_add_days(practice::plan::Days::new(u64::from(days - 1)))
        .unwrap_or(from);
    if last < today || from > until {
        return Err(wrong(
            format!("{option}: {from} lies outside the plan, which goes from {today} to {until}"),
            "choose a day between them",
        ));
    }
    Ok(Some((from, days)))
}

fn spans(studied: &Studied, bars: &Bars) -> Result<Vec<BarSpan>, DeskError> {
    match bars {
        Bars::Found(spans) => Ok(spans.clone()),
        Bars::Typed(texts) => texts
            .iter()
            .flat_map(|text| text.split(','))
            .filter(|text| !text.trim().is_empty())
            .map(|text| span(&studied.alone.piece, text))
            .collect(),
    }
}

fn work(studied: &Studied, wanted: &Wanted) -> Result<Work, DeskError> {
    let none = || DeskError::NoParts {
        path: wanted.opened.path.clone(),
    };
    let ctx = Context::new(&studied.alone.piece, 0).ok_or_else(none)?;
    let study = studied.shown.study.as_ref().ok_or_else(none)?;
    let mut title = title(&studied.alone.piece, &studied.alone);
    if let Some(name) = &wanted.name {
        title = format!("{title}, {name}");
    }
    let spans = spans(studied, &wanted.bars)?;
    let mut work = Work::of(&ctx, &studied.shown.survey, study, &title, &spans);
    work.from_memory = wanted.from_memory;
    let asked_for = |scale: &String| (scale.clone(), practice::plan::ASKED_FOR.to_owned());
    work.scales.splice(..0, wanted.scales.iter().map(asked_for));
    Ok(work)
}

fn logged(
    studied: &Studied,
    wanted: &Wanted,
    asked: &PlanAsked,
    work: &Work,
    today: Date,
) -> Result<(Vec<practice::plan::Entry>, Vec<Finding>), DeskError> {
    let rungs = work.rungs().last().map(|rung| rung.beat);
    let of = Of {
        opened: &studied.alone,
        part: &part_name(&studied.alone.piece, 0),
        felt_beat: rungs.or(work.first.map(|(beat, _)| beat)),
        today,
    };
    if let Some(own) = asked.pieces.get(wanted.number) {
        return Ok(visits_in(&own.log, &of));
    }
    let Some(path) = log_path(wanted.opened, asked.log.as_ref())? else {
        return Ok((Vec::new(), Vec::new()));
    };
    if asked.log.is_some() && !path.exists() {
        let finding = Finding::new(
            Severity::Note,
            "no-log",
            format!("there is no log {} yet", path.display()),
            "the plan is made as if nothing had been done; foreread log writes it",
        );
        return Ok((Vec::new(), vec![finding]));
    }
    visits(&path, &of)
}

impl Planned {
    /// The plan as JSON text: all of it, whatever days are shown.
    #[must_use]
    pub fn json(&self) -> String {
        wire::plan_text(&wire::PlanWritten {
            asked: &self.question,
            plan: &self.plan,
            findings: &self.findings,
        })
    }

    /// The plan as words for the terminal.
    #[must_use]
    pub fn text(&self, terminal: sheet::Terminal) -> String {
        sheet::terminal(&sheet::plan_sheet(&self.shown(WEEK)), terminal)
    }

    /// The plan for a calendar.
    #[must_use]
    pub fn calendar(&self) -> String {
        sheet::calendar(&self.shown(u32::MAX), self.clock)
    }

    /// The plan of the days asked for, else of so many from today on.
    pub(super) fn shown(&self, usual: u32) -> PlanShown<'_> {
        let (from, days) = self.stretch.unwrap_or((self.question.today, usual));
        PlanShown {
            asked: &self.question,
            plan: &self.plan,
            findings: &self.findings,
            handed: &self.asked.handed,
            from,
            days,
        }
    }

    /// The hand-out's usual days.
    pub(super) fn week(&self) -> PlanShown<'_> {
        self.shown(WEEK)
    }
}
