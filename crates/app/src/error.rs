//! What can go wrong in the app, and how is it said to the browser?

use crate::lan::Asker;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use desk::{DeskError, Status};
use store::{StoreError, Trouble};

/// Why the app does not start, or a request is not answered.
#[derive(Debug, thiserror::Error)]
pub enum AppError {
    /// The port is taken or may not be used.
    #[error(
        "port {port} of this machine can't be used: {source} — leave --port out, or choose another number"
    )]
    Port {
        /// The port asked for.
        port: u16,
        /// What the system says.
        source: std::io::Error,
    },
    /// The machine refuses something else.
    #[error("the app can't be started: {0} — try again, or start the machine anew")]
    Machine(#[from] std::io::Error),
    /// This machine has no address in a house.
    #[error(
        "this machine is in no network that other devices could reach it by — join the house's network first, or leave --lan out"
    )]
    NoHouse,
    /// No certificate could be made.
    #[error("no certificate could be made for other devices: {0} — leave --lan out, and please report it")]
    Certificate(String),
    /// No secret could be made.
    #[error(
        "this machine gives no random numbers: {0} — without them nobody's pieces are safe, so the app does not start"
    )]
    Random(String),
    /// What the desk says.
    #[error("{0}")]
    Desk(#[from] DeskError),
    /// What the keeper of the home says.
    #[error("{0}")]
    Kept(#[from] StoreError),
    /// No such page, piece or file.
    #[error("there is no such page — go back to the folder")]
    NotFound,
    /// Something in a request can't be understood.
    #[error("{0}")]
    Asked(String),
    /// Work was given up, because the app stops.
    #[error("the app is being closed — start it again")]
    Closing,
}

impl AppError {
    /// The one place where an error becomes an HTTP status.
    #[must_use]
    pub const fn status(&self) -> StatusCode {
        match self {
            Self::NotFound => StatusCode::NOT_FOUND,
            Self::Asked(_) => StatusCode::BAD_REQUEST,
            Self::Port { .. } | Self::Machine(_) | Self::Random(_) | Self::NoHouse | Self::Certificate(_) => {
                StatusCode::INTERNAL_SERVER_ERROR
            }
            Self::Closing => StatusCode::SERVICE_UNAVAILABLE,
            Self::Kept(StoreError::Gone { .. }) => StatusCode::NOT_FOUND,
            Self::Kept(error) => match error.trouble() {
                Trouble::Request => StatusCode::BAD_REQUEST,
                Trouble::File => StatusCode::UNPROCESSABLE_ENTITY,
                Trouble::Busy => StatusCode::CONFLICT,
                Trouble::Machine => StatusCode::INTERNAL_SERVER_ERROR,
            },
            Self::Desk(error) => match error.status() {
                Status::Request => StatusCode::BAD_REQUEST,
                Status::File => StatusCode::UNPROCESSABLE_ENTITY,
                Status::Machine => StatusCode::INTERNAL_SERVER_ERROR,
            },
        }
    }
}

impl IntoResponse for AppError {
    fn into_response(self) -> Response {
        let said = Said(self.to_string());
        let mut answer = said.page(self.status(), Asker::TEACHER);
        answer.extensions_mut().insert(said);
        answer
    }
}

/// What was said of a mistake, beside the answer: a player's device is told it on a page of its own.
#[derive(Clone)]
pub(crate) struct Said(String);

impl Said {
    /// The page that says it.
    pub fn page(&self, status: StatusCode, asker: Asker) -> Response {
        let page = crate::screen::mistake(asker, &self.0);
        (status, axum::response::Html(page.into_string())).into_response()
    }
}
