//! Which notes belong to a thing worth working on? Its drill, engraved.

use super::held::shown;
use crate::error::AppError;
use crate::state::App;
use crate::today::figure;
use crate::workshop::Urgency;
use axum::extract::{Path, State};
use axum::response::Html;
use desk::{DrillAsked, DrillPick};
use maud::html;
use std::sync::Arc;

/// The width of a line, in millimetres, and the height of its staff.
const WIDTH_MM: f64 = 150.0;
const STAFF_MM: f64 = 6.2;

/// The drill of one of the things to work on.
pub(crate) async fn notes(
    State(app): State<Arc<App>>,
    Path((id, number)): Path<(i64, usize)>,
) -> Result<Html<String>, AppError> {
    let (shown, _) = shown(&app, id).await?;
    let made = app
        .on_press(Urgency::Awaited, move |_, printer| {
            let work = shown.taken.heard.work.get(number).ok_or(AppError::NotFound)?;
            let (Some((from, to)), Some(kind)) = (work.bars, work.drill) else {
                return Err(AppError::NotFound);
            };
            let label = |bar| shown.taken.bar_label(bar);
            let asked = DrillAsked {
                asked: shown.asked.clone(),
                pick: DrillPick::Bars(format!("{}-{}", label(from), label(to))),
                kinds: vec![kind.to_owned()],
                ..DrillAsked::default()
            };
            // That no drill of the kind fits these bars is no mistake: the words say what to do.
            let Ok(mut drills) = desk::drills(&shown.opened, &asked) else {
                return Ok(html! { p { "These bars give no notes for that; do it as the words say." } });
            };
            drills.offers.truncate(1);
            let pictures = desk::drill_pictures(&drills, WIDTH_MM, STAFF_MM, printer)?;
            Ok(html! {
                @for drill in &pictures {
                    (figure((&drill.picture.svg, drill.picture.width_mm), &format!("work-{number}"), &drill.offer.title, Some(&drill.words)))
                }
            })
        })
        .await?;
    Ok(Html(made.into_string()))
}
