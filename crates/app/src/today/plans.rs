//! Which plan leads there? A program's pieces opened, her log read, the plan made once and kept while nothing of it changes.

use crate::error::AppError;
use crate::hers;
use crate::state::App;
use crate::today::program::{Of, Practice, Program};
use crate::{days, pieces};
use desk::{
    Asked, CallOpened, CopyAsked, Decided, DeskError, Opened, PlanAsked, PlanPiece, Planned, PlayerAsked,
};
use notation::BarIndex;
use practice::BarSpan;
use practice::plan::{Date, Days};
use sheet::{BarWord, Handed};
use std::collections::VecDeque;
use std::sync::{Arc, Mutex, PoisonError};
use store::{ChoiceRow, PieceRow, PlayerRow};

/// What a plan is made from, beside its program.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) struct Planning {
    /// Who.
    pub player: PlayerRow,
    /// What she is getting ready.
    pub program: Program,
    /// The day for which it is made; what was done on it does not count yet.
    pub on: Date,
    /// Her days off and her time of day.
    pub practice: Practice,
    /// For each piece what was done before that day.
    logs: Vec<String>,
    /// And what the teacher decided in it.
    choices: Vec<Vec<ChoiceRow>>,
    bar_word: bool,
}

/// The last plans that were made.
#[derive(Default)]
pub(crate) struct Plans {
    made: Mutex<VecDeque<(Planning, Arc<Planned>)>>,
}

/// Plans kept.
const MOST: usize = 24;

/// All that a plan of a day is made from.
///
/// # Errors
/// If the store refuses.
pub(crate) fn planning(
    app: &App,
    player: &PlayerRow,
    program: &Program,
    on: Date,
) -> Result<Planning, AppError> {
    let logs = program
        .pieces()
        .into_iter()
        .map(|piece| log_before(app, piece, player, on))
        .collect::<Result<_, _>>()?;
    let choices = program
        .pieces()
        .into_iter()
        .map(|piece| app.store.choices(piece.id, Some(player.id)))
        .collect::<Result<_, _>>()?;
    Ok(Planning {
        choices,
        practice: Practice::of(app, player.id)?,
        bar_word: app.store.setting("studio.bar_word")?.as_deref() == Some("\"measure\""),
        player: player.clone(),
        program: program.clone(),
        on,
        logs,
    })
}

fn log_before(app: &App, piece: &PieceRow, player: &PlayerRow, on: Date) -> Result<String, AppError> {
    let visits = app.store.visits(piece.id, Some(player.id))?;
    let before = visits
        .iter()
        .filter(|visit| visit.placed && days::read(&visit.date).is_some_and(|day| day < on));
    Ok(before.map(|visit| format!("{}\n", visit.line)).collect())
}

impl Planning {
    /// The plan, from what is kept or made now.
    ///
    /// # Errors
    /// If a piece can't be read, or nothing can be planned.
    pub fn made(&self, app: &App) -> Result<Arc<Planned>, AppError> {
        if let Some(found) = app.plans.get(self) {
            return Ok(found);
        }
        let planned = Arc::new(self.make(app)?);
        app.plans.put(self.clone(), &planned);
        Ok(planned)
    }

    fn make(&self, app: &App) -> Result<Planned, AppError> {
        match &self.program.of {
            Of::Pieces(all) => {
                let opened: Vec<Opened> = all
                    .iter()
                    .map(|one| pieces::open(app, &one.piece))
                    .collect::<Result<_, _>>()?;
                let decided = all
                    .iter()
                    .zip(&opened)
                    .map(|(one, opened)| hers::in_piece(app, &one.piece, Some(self.player.id), opened))
                    .collect::<Result<Vec<_>, _>>()?;
                let own = all
                    .iter()
                    .zip(&self.logs)
                    .zip(decided)
                    .map(|((one, log), decided)| PlanPiece {
                        part: one.piece.part.clone(),
                        bars: one
                            .cuts
                            .iter()
                            .filter(|cut| cut.placed)
                            .map(|cut| BarSpan::new(BarIndex(cut.from.bar), BarIndex(cut.to.bar)))
                            .collect(),
                        from_memory: from_memory(&one.assignment.sittings),
                        log: log.clone(),
                        decided,
                    });
                Ok(desk::plan(&opened, &self.asked(own.collect()))?)
            }
            Of::Call(call, named) => {
                let mut opened = desk::open_call_text(&call.text, &mut |file| open_named(app, named, file))?;
                only(&mut opened, named);
                let own = self.of_call(app, &opened, named)?;
                Ok(desk::plan_call(&opened, &self.asked(own))?)
            }
        }
    }

    /// What was done of a call's pieces, and decided in them; the call lists them in an order of its own.
    fn of_call(
        &self,
        app: &App,
        opened: &CallOpened,
        named: &[(String, PieceRow)],
    ) -> Result<Vec<PlanPiece>, AppError> {
        let mut own = Vec::new();
        for (listed, found) in opened.call.pieces.iter().zip(&opened.pieces) {
            let at = named.iter().position(|(name, _)| *name == listed.file);
            let row = at.and_then(|at| named.get(at)).map(|(_, row)| row);
            let decided = match row.zip(found.corrected.as_ref()) {
                Some((row, corrected)) => hers::in_piece(app, row, Some(self.player.id), corrected)?,
                None => Decided::default(),
            };
            own.push(PlanPiece {
                log: at.and_then(|at| self.logs.get(at)).cloned().unwrap_or_default(),
                decided,
                ..PlanPiece::default()
            });
        }
        Ok(own)
    }

    fn asked(&self, pieces: Vec<PlanPiece>) -> PlanAsked {
        PlanAsked {
            copy: CopyAsked {
                asked: self.of_player(None),
                ..CopyAsked::default()
            },
            until: self.program.until.to_string(),
            today: Some(self.on.to_string()),
            for_what: Some(self.program.occasion.to_owned()),
            minutes: self.program.minutes,
            off: vec![self.practice.off.clone()],
            at: Some(self.practice.at.clone()).filter(|at| !at.trim().is_empty()),
            handed: Handed {
                player: self.player.name.clone(),
                date: days::said(self.on),
            },
            bar_word: if self.bar_word {
                BarWord::Measure
            } else {
                BarWord::Bar
            },
            pieces,
            ..PlanAsked::default()
        }
    }

    /// What the desk is asked of a piece for this player.
    pub fn of_player(&self, part: Option<String>) -> Asked {
        Asked {
            part,
            player: PlayerAsked {
                text: Some(self.player.file.clone()),
                ..PlayerAsked::default()
            },
            ..Asked::default()
        }
    }

    /// The row of the piece that a work is of.
    pub fn piece_of(&self, planned: &Planned, work: usize) -> Option<PieceRow> {
        let number = *planned.pieces.get(work)?;
        match &self.program.of {
            Of::Pieces(all) => all.get(number).map(|one| one.piece.clone()),
            Of::Call(call, named) => {
                let files = listed(&call.text);
                let file = files.iter().filter(|file| is_named(named, file)).nth(number)?;
                named
                    .iter()
                    .find(|(name, _)| name == file)
                    .map(|(_, piece)| piece.clone())
            }
        }
    }

    /// The next day's plan, from all that was done up to the evening of this one.
    ///
    /// # Errors
    /// If the store refuses.
    pub fn tomorrow(&self, app: &App) -> Result<Self, AppError> {
        let next = self.on.checked_add_days(Days::new(1)).unwrap_or(self.on);
        planning(app, &self.player, &self.program, next)
    }
}

/// Leaves of a call the pieces that are hers.
fn only(call: &mut CallOpened, named: &[(String, PieceRow)]) {
    let hers: Vec<bool> = call
        .call
        .pieces
        .iter()
        .map(|piece| is_named(named, &piece.file))
        .collect();
    let mut keep = hers.iter().copied();
    call.call.pieces.retain(|_| keep.next().unwrap_or(false));
    let mut keep = hers.iter().copied();
    call.pieces.retain(|_| keep.next().unwrap_or(false));
}

fn is_named(named: &[(String, PieceRow)], file: &str) -> bool {
    named.iter().any(|(name, _)| name == file)
}

/// Where a call is wanted without its pieces.
pub(crate) fn open_nothing(file: &str) -> Result<Opened, DeskError> {
    Err(DeskError::NotFound {
        path: std::path::PathBuf::from(file),
    })
}

/// The files that a call lists, in its order.
fn listed(text: &str) -> Vec<String> {
    desk::open_call_text(text, &mut open_nothing).map_or_else(
        |_| Vec::new(),
        |call| call.call.pieces.into_iter().map(|piece| piece.file).collect(),
    )
}

/// The piece of the folder that a call means by a name.
///
/// # Errors
/// If nobody has said which piece it is, or it can't be read.
pub(crate) fn open_named(app: &App, named: &[(String, PieceRow)], file: &str) -> Result<Opened, DeskError> {
    let wrong = |what: String, advice: &str| DeskError::Player {
        what,
        advice: advice.to_owned(),
    };
    let row = named.iter().find(|(name, _)| name == file).map(|(_, row)| row);
    let row = row.ok_or_else(|| {
        wrong(
            format!("“{file}” is no piece of the folder yet"),
            "say below which piece it is",
        )
    })?;
    pieces::open(app, row).map_err(|error| match error {
        AppError::Desk(error) => error,
        other => wrong(other.to_string(), "look at the piece in the folder"),
    })
}

/// Whether a piece is to be played from memory, by what is said of its sittings.
pub(crate) fn from_memory(sittings: &str) -> bool {
    serde_json::from_str::<serde_json::Value>(sittings)
        .ok()
        .and_then(|said| said.get("from_memory")?.as_bool())
        .unwrap_or(false)
}

impl Plans {
    fn get(&self, key: &Planning) -> Option<Arc<Planned>> {
        let mut made = self.made.lock().unwrap_or_else(PoisonError::into_inner);
        let at = made.iter().position(|(known, _)| known == key)?;
        let found = made.remove(at)?;
        let planned = Arc::clone(&found.1);
        made.push_back(found);
        Some(planned)
    }

    fn put(&self, key: Planning, planned: &Arc<Planned>) {
        let mut made = self.made.lock().unwrap_or_else(PoisonError::into_inner);
        made.retain(|(known, _)| *known != key);
        made.push_back((key, Arc::clone(planned)));
        while made.len() > MOST {
            made.pop_front();
        }
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test that cannot set itself up has failed")]
mod tests {
    use super::{Of, planning};
    use crate::serve::AppAsked;
    use crate::state::App;
    use crate::today::programs;
    use store::{Bars, NewChoice};

    #[test]
    fn the_plan_of_a_call_goes_by_the_key_that_the_teacher_named() {
        let home = std::env::temp_dir().join(format!("foreread-call-decided-{}", std::process::id()));
        let _ = std::fs::remove_dir_all(&home);
        let asked = AppAsked {
            home: Some(home.clone()),
            no_open: true,
            today: "2026-11-26".parse().ok(),
            ..AppAsked::default()
        };
        let app = App::open(&asked, 1).unwrap().0;
        let players = app.store.players(false).unwrap();
        let player = players
            .iter()
            .find(|player| player.name == "Sunniva Rooke")
            .unwrap();
        let scales = || {
            let all = programs(&app, player, app.today()).unwrap();
            let call = all
                .iter()
                .find(|program| matches!(program.of, Of::Call(..)))
                .unwrap();
            let planned = planning(&app, player, call, app.today())
                .unwrap()
                .made(&app)
                .unwrap();
            let works = planned.question.works.iter();
            let said = works.flat_map(|work| work.scales.iter().map(|(scale, _)| scale.to_lowercase()));
            said.collect::<Vec<String>>().join("; ")
        };
        assert!(
            scales().contains("seven major scales") && !scales().contains("phrygian"),
            "{}",
            scales()
        );
        let pieces = app.store.pieces(&store::PieceSearch::default()).unwrap();
        let kite = pieces.iter().find(|piece| piece.title == "Kite Weather").unwrap();
        let opened = crate::pieces::open(&app, kite).unwrap();
        let from = Bars::of(&opened.piece, 0)
            .hold(0, notation::Quarters::ZERO, None)
            .unwrap();
        let named = NewChoice {
            player: None,
            about: "key".to_owned(),
            from,
            to: None,
            value: "{\"tonic\":\"E\",\"scale\":\"phrygian\"}".to_owned(),
        };
        app.store.choose(kite.id, &named).unwrap();
        assert!(scales().contains("e phrygian"), "{}", scales());
        drop(app);
        std::fs::remove_dir_all(home).unwrap();
    }
}
