//! Who asks? The teacher, at this machine or at a device of hers; or one player, at that player's device, who sees that player alone.

use crate::error::AppError;
use crate::state::App;
use axum::extract::FromRequestParts;
use axum::http::request::Parts;
use store::{PieceId, PieceRow, PieceSearch, PlayerId, PlayerRow};

/// Who asks; each door's guard says it of each request that it lets through.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) struct Asker(Option<PlayerId>);

impl Asker {
    /// The teacher.
    pub const TEACHER: Self = Self(None);

    /// At a device of a player, or of the teacher.
    pub const fn at_device_of(player: Option<PlayerId>) -> Self {
        Self(player)
    }

    /// The player at whose device it is asked.
    pub const fn player(self) -> Option<PlayerId> {
        self.0
    }

    /// For whom something is read: for whoever is wished, and at a player's device for that player.
    pub fn reads_for(self, wished: Option<i64>) -> Option<i64> {
        self.0.map(|player| player.0).or(wished)
    }

    /// Whether the asker sees what is this player's, or nobody's in particular.
    pub fn sees(self, whose: Option<PlayerId>) -> bool {
        self.0.is_none_or(|player| whose == Some(player))
    }

    /// The players whose names the asker sees.
    ///
    /// # Errors
    /// If the home can't be read.
    pub fn players(self, app: &App) -> Result<Vec<PlayerRow>, AppError> {
        let mut all = app.store.players(false)?;
        all.retain(|player| self.sees(Some(player.id)));
        Ok(all)
    }

    /// The pieces that the asker sees.
    ///
    /// # Errors
    /// If the home can't be read.
    pub fn pieces(self, app: &App) -> Result<Vec<PieceRow>, AppError> {
        let mut all = app.store.pieces(&PieceSearch::default())?;
        if let Some(player) = self.0 {
            let given = given(app, player)?;
            all.retain(|piece| given.contains(&piece.id));
        }
        Ok(all)
    }
}

/// The pieces that a player was given, and those of a call that the player gets ready.
///
/// # Errors
/// If the home can't be read.
pub(super) fn given(app: &App, player: PlayerId) -> Result<Vec<PieceId>, AppError> {
    let assigned = app.store.assignments_of_player(player)?;
    let mut given: Vec<PieceId> = assigned.iter().map(|row| row.piece).collect();
    let row = app.store.player(player)?;
    for program in crate::today::programs(app, &row, app.today())? {
        given.extend(program.pieces().iter().map(|piece| piece.id));
    }
    Ok(given)
}

impl<S: Sync> FromRequestParts<S> for Asker {
    type Rejection = AppError;

    /// A request of which no guard said who asks is not answered.
    async fn from_request_parts(parts: &mut Parts, _: &S) -> Result<Self, AppError> {
        parts.extensions.get().copied().ok_or(AppError::NotFound)
    }
}
