//! Who plays in this studio, and what are they getting ready? Players, assignments, days ahead, sheets, calls, rubrics.

mod ahead;
mod assign;
mod call_begun;
mod calls;
mod form;
mod judge;
mod player;
mod player_form;
mod record;
mod rubric;
mod sheets;
mod view;

use crate::state::App;
use axum::Router;
use axum::routing::{get, post};
use std::sync::Arc;

/// The studio's addresses.
pub(crate) fn routes() -> Router<Arc<App>> {
    Router::new()
        .route("/studio", get(view::screen))
        .route("/studio/players", post(player_form::add))
        .route("/studio/weeks.pdf", get(sheets::weeks))
        .route(
            "/studio/player/{player}",
            get(player::screen).post(player_form::change),
        )
        .route("/studio/player/{player}/away", post(player_form::away))
        .route("/studio/player/{player}/practice", post(player_form::practice))
        .route("/studio/player/{player}/assign", post(assign::assign))
        .route(
            "/studio/player/{player}/assignment/{assignment}",
            post(assign::change),
        )
        .route(
            "/studio/player/{player}/assignment/{assignment}/back",
            post(assign::back),
        )
        .route(
            "/studio/player/{player}/assignment/{assignment}/cuts",
            post(assign::add_cut),
        )
        .route("/studio/player/{player}/cut/{cut}/back", post(assign::cut_back))
        .route("/studio/player/{player}/week/{form}", get(sheets::week))
        .route("/studio/player/{player}/sheet/{piece}/{form}", get(sheets::prep))
        .route("/studio/days", post(ahead::add))
        .route("/studio/day/{day}", post(ahead::change))
        .route("/studio/day/{day}/back", post(ahead::back))
        .route("/studio/calls", post(calls::add))
        .route("/studio/calls/begun", post(call_begun::begin))
        .route("/studio/call/{call}", get(calls::screen).post(calls::change))
        .route("/studio/call/{call}/back", post(calls::back))
        .route("/studio/rubrics", get(rubric::screen).post(rubric::add))
        .route("/studio/rubric/{rubric}", post(rubric::change))
        .route("/studio/rubric/{rubric}/back", post(rubric::back))
        .route("/studio/judge", get(judge::screen).post(judge::judge))
        .route("/studio/judgement/{judgement}/back", post(judge::back))
}
