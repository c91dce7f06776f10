//! Takes: a recording is brought or made, heard bar by bar, shown on the part in pencil, compared, written down, deleted.

mod held;
mod list;
mod shown;
mod sound;
mod work;

use crate::state::App;
use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::routing::{get, post};
use std::sync::Arc;

pub(crate) use held::Held;

/// All addresses of takes.
pub(crate) fn routes() -> Router<Arc<App>> {
    Router::new()
        .route("/takes/{piece}", get(list::screen))
        .route(
            "/takes/{piece}/sound",
            post(list::bring).layer(DefaultBodyLimit::max(crate::folder::MOST_BYTES)),
        )
        .route("/take/{id}", get(shown::screen))
        .route("/take/{id}/page/{number}", get(shown::page))
        .route("/take/{id}/drill/{number}", get(work::notes))
        .route("/take/{id}/sound", get(sound::recorded))
        .route("/take/{id}/note", post(list::note))
        .route("/take/{id}/log", post(list::log))
        .route("/take/{id}/away", post(list::away))
}
