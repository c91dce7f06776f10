//! Which addresses are there, and who answers at each?

use crate::state::App;
use crate::{assets, folder, guard, hers, lan, look, mending, part, studio, takes, today};
use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::http::header;
use axum::middleware::from_fn_with_state;
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use std::sync::Arc;

/// The most that a request without a file of its own may hold, in bytes.
const SMALL: usize = 64 * 1024;

/// All routes for this machine itself, behind its guard.
pub(crate) fn router(app: Arc<App>) -> Router {
    everywhere()
        .route("/devices", get(lan::devices))
        .route("/devices/offer", post(lan::offer))
        .route("/devices/{id}/out", post(lan::shut_out))
        .layer(from_fn_with_state(Arc::clone(&app), guard::guard))
        .with_state(app)
}

/// All routes for other devices of the house, behind theirs.
pub(crate) fn router_for_devices(app: Arc<App>) -> Router {
    everywhere()
        .route("/pair", get(lan::pair_page).post(lan::pair))
        .layer(from_fn_with_state(Arc::clone(&app), lan::guard))
        .with_state(app)
}

/// What is there at both doors.
fn everywhere() -> Router<Arc<App>> {
    Router::new()
        .route("/", get(folder::screen))
        .route("/piece/{id}/opening", get(folder::opening))
        .route("/piece/{id}/purpose", post(folder::purpose))
        .route("/piece/{id}/away", post(folder::away))
        .route("/compare", get(folder::compare))
        .route(
            "/piece/{id}/file",
            post(folder::correct).layer(DefaultBodyLimit::max(folder::MOST_BYTES)),
        )
        .route(
            "/folder/files",
            post(folder::add).layer(DefaultBodyLimit::max(folder::MOST_BYTES)),
        )
        .route("/today", get(today::choose))
        .route("/today/{player}", get(today::screen))
        .route("/today/{player}/notes", get(today::turn_notes))
        .route("/today/{player}/drill", get(today::drill_file))
        .route("/today/{player}/read", get(today::read))
        .route("/today/{player}/tick", post(today::tick))
        .route("/today/{player}/log", post(today::log))
        .route("/today/{player}/strike", post(today::strike))
        .merge(studio::routes())
        .merge(takes::routes())
        .merge(mending::routes())
        .route("/icon.svg", get(icon))
        .route("/fonts.css", get(assets::font_rules))
        .route("/fonts/{name}", get(assets::font))
        .route("/assets/{name}", get(assets::asset))
        .route("/part/{id}", get(part::screen))
        .route("/part/{id}/page/{number}", get(part::page))
        .route("/part/{id}/bar/{bar}", get(part::bar))
        .route("/part/{id}/margin", get(part::margin))
        .route("/part/{id}/pencil", post(hers::gesture))
        .route("/part/{id}/sound", post(part::sound))
        .route("/look", get(look::index))
        .route("/look/{id}", get(look::begin))
        .route("/look/{id}/now", get(look::now))
        .route("/look/{id}/page/{number}", get(look::page))
        .route("/look/{id}/answers", post(look::answers))
        .route("/look/{id}/seen/{look}", get(look::seen))
        .route("/look/player/{id}", get(look::weeks))
        .route("/sound/{key}", get(part::sound_file))
        .fallback(nothing)
        .layer(DefaultBodyLimit::max(SMALL))
}

async fn nothing() -> crate::AppError {
    crate::AppError::NotFound
}

/// A bracket round a note: our sign.
async fn icon() -> Response {
    const ICON: &str = "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 32 32\"><rect width=\"32\" height=\"32\" rx=\"5\" fill=\"#faf6ec\"/><path d=\"M9 5.5 5 6v20l4.2.4M23 5.8l4.1-.3-.3 20.6-3.9.2\" fill=\"none\" stroke=\"#55524c\" stroke-width=\"2\" stroke-linecap=\"round\"/><ellipse cx=\"14\" cy=\"21.5\" rx=\"4.2\" ry=\"3\" transform=\"rotate(-20 14 21.5)\" fill=\"#14120f\"/><path d=\"M17.8 20.5V7\" stroke=\"#14120f\" stroke-width=\"1.6\"/></svg>";
    ([(header::CONTENT_TYPE, "image/svg+xml")], ICON).into_response()
}
