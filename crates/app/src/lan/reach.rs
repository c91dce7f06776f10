//! What does a player's device reach? That player's own day, the parts that the teacher gave that player, and nothing else.

use super::asker::given;
use crate::error::AppError;
use crate::state::App;
use axum::extract::Query;
use axum::http::{Method, Uri};
use store::{PieceId, PlayerId, TakeId};

/// Whether a player's device may ask this. What is not opened here is closed.
///
/// # Errors
/// If the home can't be read.
pub(crate) fn may(app: &App, player: PlayerId, method: &Method, uri: &Uri) -> Result<bool, AppError> {
    if !is_for(player, uri) {
        return Ok(false);
    }
    let looks = *method == Method::GET || *method == Method::HEAD;
    let steps: Vec<&str> = uri.path().split('/').skip(1).collect();
    Ok(match steps.as_slice() {
        // The file name of a sound holds a hash of what it sounds: it can't be guessed, only asked for at a part.
        ["icon.svg" | "fonts.css"] | ["assets" | "fonts" | "sound", _] => looks,
        ["today", whose, ..] => number(whose) == Some(player.0),
        ["look"] => looks,
        ["look", "player", whose] => looks && number(whose) == Some(player.0),
        // Whose look was seen, the screen asks itself.
        ["look", piece] | ["look", piece, "now"] | ["look", piece, "page" | "seen", _] => {
            looks && is_given(app, player, piece)?
        }
        ["part", piece] | ["part", piece, "page" | "bar" | "margin", ..] | ["piece", piece, "opening"] => {
            looks && is_given(app, player, piece)?
        }
        ["takes", piece] => looks && is_given(app, player, piece)?,
        ["take", take] | ["take", take, "sound"] | ["take", take, "page" | "drill", _] => {
            looks && is_taken(app, player, take)?
        }
        ["take", take, "note" | "log" | "away"] => is_taken(app, player, take)?,
        ["part" | "takes", piece, "sound"] | ["look", piece, "answers"] => is_given(app, player, piece)?,
        _ => false,
    })
}

/// An address that names a player names this one, however its letters are written.
fn is_for(player: PlayerId, uri: &Uri) -> bool {
    Query::<Vec<(String, String)>>::try_from_uri(uri).is_ok_and(|Query(pairs)| {
        pairs
            .iter()
            .filter(|(name, _)| name == "player")
            .all(|(_, whose)| number(whose) == Some(player.0))
    })
}

/// Where a player's device begins.
pub(crate) fn beginning(player: PlayerId) -> String {
    format!("/today/{}", player.0)
}

fn is_given(app: &App, player: PlayerId, piece: &str) -> Result<bool, AppError> {
    match number(piece).map(PieceId) {
        Some(piece) => Ok(given(app, player)?.contains(&piece)),
        None => Ok(false),
    }
}

/// Whether it is a take of this player, of a piece that this player has.
fn is_taken(app: &App, player: PlayerId, take: &str) -> Result<bool, AppError> {
    let Some(take) = number(take) else {
        return Ok(false);
    };
    match app.store.take(TakeId(take)) {
        Ok(take) => Ok(take.player == Some(player) && given(app, player)?.contains(&take.piece)),
        // One that is gone is nobody's.
        Err(_) => Ok(false),
    }
}

/// Digits and nothing else: what is read here must be what the route reads.
fn number(text: &str) -> Option<i64> {
    let plain = !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
    plain.then(|| text.parse().ok()).flatten()
}
