//! Which notes belong to a turn? Its drill engraved, or its bars with what is pencilled at them; to take along as notation or sound.

use crate::drawing;
use crate::error::AppError;
use crate::hers;
use crate::pieces;
use crate::state::App;
use crate::today::act::{Found, Which, found};
use crate::today::sight;
use crate::workshop::Urgency;
use axum::extract::{Path, Query, State};
use axum::http::header;
use axum::response::{Html, IntoResponse, Response};
use desk::{DrillAsked, DrillPick, Drills, Printer, SoundForm, Target};
use maud::{Markup, PreEscaped, html};
use practice::BarSpan;
use practice::plan::{Turn, TurnKind};
use serde::Deserialize;
use std::sync::Arc;

/// The width of a line, in millimetres, and the height of its staff.
pub(super) const WIDTH_MM: f64 = 150.0;
pub(super) const STAFF_MM: f64 = 6.2;
/// Bars that are engraved of a turn on many bars: its beginning, to find it on the part.
const MOST_BARS: u32 = 8;
/// Drills that a warm-up or a passage shows.
const MOST_DRILLS: usize = 2;

/// What an address says of a turn.
#[derive(Clone, Debug, Deserialize)]
pub(crate) struct Wanted {
    #[serde(flatten)]
    which: Which,
    /// Of a drill that is taken along: `musicxml`, `mid`, `wav`.
    form: Option<String>,
}

/// The notes of a turn.
pub(crate) async fn turn_notes(
    State(app): State<Arc<App>>,
    Path(player): Path<i64>,
    Query(wanted): Query<Wanted>,
) -> Result<Html<String>, AppError> {
    let made = app
        .on_press(Urgency::Awaited, move |app, printer| {
            let found = found(app, player, &wanted.which)?;
            let turn = found.turn(&wanted.which.turn)?;
            Ok(drawn(app, &found, turn.turn, &turn.name, printer)?.into_string())
        })
        .await?;
    Ok(Html(made))
}

fn drawn(
    app: &App,
    found: &Found,
    turn: &Turn,
    name: &str,
    printer: &mut Printer,
) -> Result<Markup, AppError> {
    if turn.kind == TurnKind::SightReading {
        return sight::drawn(found, name, printer);
    }
    if let Some(drills) = drills(app, found, turn)? {
        let shown = desk::drill_pictures(&drills, WIDTH_MM, STAFF_MM, printer)?;
        if !shown.is_empty() {
            return Ok(html! {
                @for (at, drill) in shown.iter().enumerate() {
                    (figure((&drill.picture.svg, drill.picture.width_mm), &format!("{name}-{at}"), &drill.offer.title, Some(&drill.words)))
                }
            });
        }
    }
    let Some(work) = turn.work.filter(|_| !turn.bars.is_empty()) else {
        return Ok(html! {});
    };
    let said = found.planned.question.works.get(work);
    let mut figures = Vec::new();
    for (at, bars) in turn.bars.iter().take(MOST_DRILLS).enumerate() {
        let shown = BarSpan::new(
            bars.from,
            notation::BarIndex(bars.to.0.min(bars.from.0 + MOST_BARS - 1)),
        );
        let Some(made) = found.planned.notes(work, shown, WIDTH_MM, STAFF_MM, printer)? else {
            continue;
        };
        let words = said.map_or_else(String::new, |work| {
            let all = crate::screen::capital(&work.say(*bars));
            if shown == *bars {
                all
            } else {
                format!("{all}, the first {MOST_BARS}")
            }
        });
        figures.push(figure(
            (&made.svg, made.width_mm),
            &format!("{name}-{at}"),
            &words,
            None,
        ));
    }
    Ok(html! { @for figure in &figures { (figure) } })
}

pub(crate) fn figure((svg, width_mm): (&str, f64), id: &str, title: &str, words: Option<&str>) -> Markup {
    let drawing = drawing::for_page(svg, &format!("{id}-"), "").unwrap_or_default();
    html! {
        figure class="engraved" {
            figcaption { b { (title) } @if let Some(words) = words { @for line in words.lines() { p { (line) } } } }
            div class={ "foreread-page wide-" (tenths(width_mm)) } role="img" aria-label=(title) { (PreEscaped(drawing)) }
        }
    }
}

/// How many tenths of the whole line it takes: all notes are the same size, as no style may be set on one alone.
fn tenths(width_mm: f64) -> u8 {
    let wide = (width_mm / WIDTH_MM * 10.0).ceil();
    (1..=10).find(|tenths| f64::from(*tenths) >= wide).unwrap_or(10)
}

/// The drills of a turn; none where it is by no drill, or these bars give none.
fn drills(app: &App, found: &Found, turn: &Turn) -> Result<Option<Drills>, AppError> {
    let first = (turn.kind == TurnKind::WarmUp).then_some(0);
    let Some(work) = turn.work.or(first) else {
        return Ok(None);
    };
    let (pick, kinds) = match (turn.kind, turn.drill, turn.bars.first()) {
        (TurnKind::WarmUp, ..) => (DrillPick::Scales, Vec::new()),
        (TurnKind::LookAlikes, ..) => return Ok(None),
        (_, Some(kind), Some(bars)) => {
            let works = &found.planned.question.works;
            let label =
                |bar: notation::BarIndex| works.get(work).map_or("", |work| work.label(bar)).to_owned();
            let bars = format!("{}-{}", label(bars.from), label(bars.to));
            (DrillPick::Bars(bars), vec![kind.id().to_owned()])
        }
        _ => return Ok(None),
    };
    let Some(row) = found.planning.piece_of(&found.planned, work) else {
        return Ok(None);
    };
    let opened = pieces::open(app, &row)?;
    let mut asked = DrillAsked {
        asked: found.planning.of_player(row.part.clone()),
        pick,
        kinds,
        ..DrillAsked::default()
    };
    hers::in_piece(app, &row, Some(found.planning.player.id), &opened)?.put(&mut asked.asked);
    // That no drill of the kind fits these bars is no mistake: then they are shown as they are.
    let Ok(mut drills) = desk::drills(&opened, &asked) else {
        return Ok(None);
    };
    if turn.kind == TurnKind::WarmUp {
        let about = turn.about.to_lowercase();
        let of_today = |title: &str| !about.is_empty() && title.to_lowercase().contains(&about);
        if drills.offers.iter().any(|offer| of_today(&offer.title)) {
            drills.offers.retain(|offer| of_today(&offer.title));
        } else {
            return Ok(None);
        }
    }
    drills.offers.truncate(MOST_DRILLS);
    Ok((!drills.offers.is_empty()).then_some(drills))
}

/// A turn's drills as a file.
pub(crate) async fn drill_file(
    State(app): State<Arc<App>>,
    Path(player): Path<i64>,
    Query(wanted): Query<Wanted>,
) -> Result<Response, AppError> {
    app.aside(move |app| {
        let found = found(app, player, &wanted.which)?;
        let turn = found.turn(&wanted.which.turn)?;
        if turn.turn.kind == TurnKind::SightReading {
            return sight::file(&found, &turn.name, wanted.form.as_deref());
        }
        let drills = drills(app, &found, turn.turn)?.ok_or(AppError::NotFound)?;
        let name = |ending: &str| format!("attachment; filename=\"{}.{ending}\"", turn.name);
        Ok(match wanted.form.as_deref() {
            Some("wav") => {
                let bytes = desk::to_bytes(&desk::drill_heard(&drills)?, SoundForm::Wav)?;
                ([(header::CONTENT_TYPE, "audio/wav")], bytes).into_response()
            }
            Some("mid") => {
                let bytes = desk::to_bytes(&desk::drill_heard(&drills)?, SoundForm::Midi)?;
                let kind = "audio/midi".to_owned();
                (
                    [
                        (header::CONTENT_TYPE, kind),
                        (header::CONTENT_DISPOSITION, name("mid")),
                    ],
                    bytes,
                )
                    .into_response()
            }
            _ => {
                let bytes = desk::drill_notation(&drills, Target::MusicXml)?.bytes;
                let kind = "application/vnd.recordare.musicxml+xml".to_owned();
                let headers = [
                    (header::CONTENT_TYPE, kind),
                    (header::CONTENT_DISPOSITION, name("musicxml")),
                ];
                (headers, bytes).into_response()
            }
        })
    })
    .await
}

#[cfg(test)]
mod tests {
    use super::tenths;

    #[test]
    fn short_passages_are_not_blown_up() {
        assert_eq!(tenths(150.0), 10);
        assert_eq!(tenths(151.0), 10);
        assert_eq!(tenths(40.0), 3);
        assert_eq!(tenths(0.0), 1);
    }
}
