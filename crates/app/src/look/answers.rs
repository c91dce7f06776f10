//! What did she answer? Held against the survey, kept, and its number said.

use crate::error::AppError;
use crate::lan::Asker;
use crate::look::clean::clean;
use crate::look::words;
use crate::state::App;
use crate::workshop::Urgency;
use axum::Json;
use axum::extract::{Path, State};
use desk::LookAnswers;
use notation::BarIndex;
use practice::look_first::{Answer, Compared, Look, Time, Verdict};
use serde::{Deserialize, Serialize};
use std::sync::Arc;
use store::{Miss, NewLookFirst, PieceId, PlayerId};
use wire::LookFirstJson;

/// Everything that was answered.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Given {
    player: Option<i64>,
    clock: String,
    seed: u32,
    used: f64,
    answers: Vec<One>,
}

/// The answer to one question.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct One {
    look: String,
    chosen: Option<Vec<usize>>,
    pointed: Option<Vec<u32>>,
}

/// Where to see what there was.
#[derive(Debug, Serialize)]
pub(crate) struct Kept {
    seen: String,
}

/// The longest look that is believed, in seconds: a day.
const LONGEST: f64 = 86_400.0;
/// More answers than there are questions are not read.
const MOST: usize = 64;

/// Takes the answers.
pub(crate) async fn answers(
    State(app): State<Arc<App>>,
    asker: Asker,
    Path(id): Path<i64>,
    Json(given): Json<Given>,
) -> Result<Json<Kept>, AppError> {
    let asked = understood(&given)?;
    let player = asker.reads_for(given.player);
    let part = clean(&app, id, player, Urgency::Awaited).await?;
    app.aside(move |app| {
        let (compared, document) = desk::look_kept(&part.opened, &part.copy, &asked)?;
        let row = app.store.add_look_first(&NewLookFirst {
            piece: PieceId(id),
            player: player.map(PlayerId),
            seconds: asked.time.seconds().map(f64::from),
            document: wire::look_first_text(&document),
            missed: missed(&compared, &document),
        })?;
        Ok(Json(Kept {
            seen: format!("/look/{id}/seen/{}", row.id),
        }))
    })
    .await
}

fn understood(given: &Given) -> Result<LookAnswers, AppError> {
    let wrong = |what: &str| AppError::Asked(format!("{what} — load the page anew"));
    let time = Time::from_id(&given.clock).ok_or_else(|| wrong("that clock is not known"))?;
    if given.answers.len() > MOST {
        return Err(wrong("there are more answers than questions"));
    }
    let mut answers = Vec::new();
    for one in &given.answers {
        let look = Look::from_id(&one.look).ok_or_else(|| wrong("a question is not known"))?;
        answers.push(Answer {
            look,
            chosen: one.chosen.clone(),
            pointed: one
                .pointed
                .as_ref()
                .map(|bars| bars.iter().copied().map(BarIndex).collect()),
        });
    }
    let used = if given.used.is_finite() {
        given.used.clamp(0.0, LONGEST)
    } else {
        0.0
    };
    Ok(LookAnswers {
        time,
        seed: u64::from(given.seed),
        used_seconds: used,
        answers,
    })
}

/// What escaped her, place by place; what she did not come to is no miss.
fn missed(compared: &[Compared], document: &LookFirstJson) -> Vec<Miss> {
    let mut all = Vec::new();
    for (compared, told) in compared.iter().zip(&document.questions) {
        if compared.verdict == Verdict::NotLooked {
            continue;
        }
        all.extend(words::missed(told).map(|said| Miss {
            question: told.question.clone(),
            bar: said.bars.first().cloned().unwrap_or_default(),
            what: said.says.clone(),
        }));
    }
    all
}
