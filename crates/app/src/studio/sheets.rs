//! What is handed out? The week of one player or of all, printed, as a page or for a calendar; what to know of a piece.

use crate::errata;
use crate::error::AppError;
use crate::hers;
use crate::pieces;
use crate::state::App;
use crate::today::{planning, programs};
use crate::workshop::Urgency;
use axum::extract::{Path, Query, State};
use axum::http::header;
use axum::response::{IntoResponse, Response};
use desk::{Asked, CopyAsked, Planned, PlayerAsked, PrepAsked};
use serde::Deserialize;
use sheet::{BarWord, Handed};
use std::sync::Arc;
use store::{PlayerId, PlayerRow};

/// Which program, by its key; the next one if nothing is said.
#[derive(Debug, Default, Deserialize)]
pub(crate) struct Which {
    program: Option<String>,
}

/// The most players of one print.
const MOST_PLAYERS: usize = 60;

/// The plans of a player from today on.
fn plans(app: &App, player: &PlayerRow, key: Option<&str>) -> Result<Vec<Arc<Planned>>, AppError> {
    let today = app.today();
    let programs = programs(app, player, today)?;
    let wanted = programs
        .iter()
        .filter(|program| key.is_none_or(|key| program.key == key));
    wanted
        .map(|program| planning(app, player, program, today)?.made(app))
        .collect()
}

/// A player's week.
pub(crate) async fn week(
    State(app): State<Arc<App>>,
    Path((player, form)): Path<(i64, String)>,
    Query(which): Query<Which>,
) -> Result<Response, AppError> {
    let made = app.aside(move |app| {
        let row = app.store.player(PlayerId(player))?;
        let plans = plans(app, &row, which.program.as_deref())?;
        let planned = plans.into_iter().next().ok_or_else(|| nothing(&row.name))?;
        Ok((planned, format!("week {}", row.name)))
    });
    let (planned, name) = made.await?;
    app.on_press(Urgency::Awaited, move |_, printer| match form.as_str() {
        "pdf" => Ok(file(planned.pdf(printer)?, &name, "pdf")),
        "html" => Ok(file(planned.html(printer)?.into_bytes(), &name, "html")),
        "ics" => Ok(file(planned.calendar().into_bytes(), &name, "ics")),
        _ => Err(AppError::NotFound),
    })
    .await
}

fn nothing(name: &str) -> AppError {
    AppError::Asked(format!("{name} has nothing to get ready — give a piece first"))
}

/// The weeks of several players as one print.
pub(crate) async fn weeks(
    State(app): State<Arc<App>>,
    Query(pairs): Query<Vec<(String, String)>>,
) -> Result<Response, AppError> {
    let both = pairs
        .iter()
        .any(|(name, value)| name == "both" && value == "true");
    let wanted: Vec<i64> = pairs
        .iter()
        .filter(|(name, _)| name == "player")
        .filter_map(|(_, id)| id.parse().ok())
        .take(MOST_PLAYERS)
        .collect();
    // Others may engrave while the plans are made.
    let made = app.aside(move |app| {
        let mut all: Vec<Arc<Planned>> = Vec::new();
        for player in app.store.players(false)? {
            if wanted.is_empty() || wanted.contains(&player.id.0) {
                let named = |error: AppError| AppError::Asked(format!("{}: {error}", player.name));
                all.extend(plans(app, &player, None).map_err(named)?);
            }
        }
        if all.is_empty() {
            return Err(AppError::Asked(
                "nobody who is ticked has anything to get ready — give out pieces first".to_owned(),
            ));
        }
        Ok(all)
    });
    let all = made.await?;
    app.on_press(Urgency::Awaited, move |_, printer| {
        let all: Vec<&Planned> = all.iter().map(AsRef::as_ref).collect();
        Ok(file(desk::weeks_pdf(&all, both, printer)?, "weeks", "pdf"))
    })
    .await
}

/// What to know of a piece before it is played.
pub(crate) async fn prep(
    State(app): State<Arc<App>>,
    Path((player, piece, form)): Path<(i64, i64, String)>,
) -> Result<Response, AppError> {
    app.on_press(Urgency::Awaited, move |app, printer| {
        let row = app.store.player(PlayerId(player))?;
        let piece = pieces::row(app, piece)?;
        let (opened, part) = errata::open_corrected(app, &piece)?;
        let mut asked = PrepAsked {
            copy: CopyAsked {
                asked: Asked {
                    part,
                    player: PlayerAsked {
                        text: Some(row.file.clone()),
                        ..PlayerAsked::default()
                    },
                    ..Asked::default()
                },
                ..CopyAsked::default()
            },
            handed: Handed {
                player: row.name.clone(),
                date: crate::days::said(app.today()),
            },
            bar_word: BarWord::default(),
        };
        let decided = hers::in_piece(app, &piece, Some(row.id), &opened)?;
        decided.put(&mut asked.copy.asked);
        let name = format!("{} {}", piece.title, row.name);
        match form.as_str() {
            "pdf" => Ok(file(
                desk::prep_pdf(&opened, &asked, printer)?.document,
                &name,
                "pdf",
            )),
            "html" => Ok(file(
                desk::prep_html(&opened, &asked, printer)?.document.into_bytes(),
                &name,
                "html",
            )),
            _ => Err(AppError::NotFound),
        }
    })
    .await
}

/// A file to be kept: never shown by the browser as one of our pages.
pub(crate) fn file(bytes: Vec<u8>, name: &str, ending: &str) -> Response {
    let kind = match ending {
        "pdf" => "application/pdf",
        "html" => "text/html; charset=utf-8",
        "ics" => "text/calendar; charset=utf-8",
        _ => "application/octet-stream",
    };
    let disposition = format!("attachment; filename=\"{}.{ending}\"", file_name(name));
    (
        [
            (header::CONTENT_TYPE, kind.to_owned()),
            (header::CONTENT_DISPOSITION, disposition),
        ],
        bytes,
    )
        .into_response()
}

/// A name that every system takes as a file's: letters without accents, digits, strokes.
fn file_name(name: &str) -> String {
    let mut out = String::new();
    for c in name.chars() {
        if c.is_ascii_alphanumeric() {
            out.push(c);
        } else if !out.ends_with('-') && !out.is_empty() {
            out.push('-');
        }
    }
    let out = out.trim_end_matches('-');
    let out: String = out.chars().take(80).collect();
    if out.is_empty() {
        "foreread".to_owned()
    } else {
        out
    }
}

#[cfg(test)]
mod tests {
    use super::file_name;

    #[test]
    fn a_file_s_name_is_plain_whatever_somebody_is_called() {
        assert_eq!(file_name("week Ivo Tarrant"), "week-Ivo-Tarrant");
        assert_eq!(
            file_name("week \"; filename=evil.exe\r\nX: y"),
            "week-filename-evil-exe-X-y"
        );
        assert_eq!(file_name("../../etc/passwd"), "etc-passwd");
        assert_eq!(file_name("音楽"), "foreread");
        assert!(file_name(&"x".repeat(500)).len() <= 80);
    }
}
