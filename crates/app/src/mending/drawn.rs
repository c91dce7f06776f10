//! What is seen of page and reading? A line of the page as a picture, and the same bars as they were read, engraved.

use crate::drawing;
use crate::error::AppError;
use crate::state::App;
use crate::workshop::Urgency;
use axum::extract::{Path, State};
use axum::http::header;
use axum::response::{Html, IntoResponse, Response};
use notation::BarIndex;
use std::sync::Arc;
use store::PieceId;

/// So many bars are engraved at once: more than a printed line holds.
const MOST_BARS: u32 = 40;

/// A picture that stays as it is.
fn picture(png: Vec<u8>) -> Response {
    let kept = "private, max-age=86400";
    let headers = [(header::CONTENT_TYPE, "image/png"), (header::CACHE_CONTROL, kept)];
    (headers, png).into_response()
}

/// A line of the page, straightened.
pub(super) async fn line(
    State(app): State<Arc<App>>,
    Path((id, number)): Path<(i64, u32)>,
) -> Result<Response, AppError> {
    let png = app
        .aside(move |app| Ok(app.store.paper_strip(PieceId(id), number)?))
        .await?;
    Ok(picture(png))
}

/// A whole page: for what stands above its first line and below its last.
pub(super) async fn page(
    State(app): State<Arc<App>>,
    Path((id, number)): Path<(i64, u32)>,
) -> Result<Response, AppError> {
    let png = app
        .on_press(Urgency::Awaited, move |app, printer| {
            let paper = app.store.paper(PieceId(id))?.ok_or_else(super::not_from_paper)?;
            let bytes = app.store.file(&paper.file)?;
            Ok(desk::page_picture(&bytes, number, printer)?)
        })
        .await?;
    Ok(picture(png))
}

/// Bars as they are read now.
pub(super) async fn bars(
    State(app): State<Arc<App>>,
    Path((id, first, last)): Path<(i64, u32, u32)>,
) -> Result<Html<String>, AppError> {
    let svg = app
        .on_press(Urgency::Awaited, move |app, printer| {
            let stand = super::stand(app, id)?;
            let last = last.min(first.saturating_add(MOST_BARS));
            let piece = &stand.now.read.piece;
            let picture = desk::bars_picture(piece, BarIndex(first), BarIndex(last), printer)?;
            Ok(drawing::for_page(&picture.svg, &format!("b{first}-{last}-"), "").unwrap_or_default())
        })
        .await?;
    Ok(Html(svg))
}
