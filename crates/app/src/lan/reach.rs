//! What does a player's device reach? That player's own day, the parts that the teacher gave that player, and nothing else.

use crate::error::AppError;
use axum::http::Method;
use store::{PieceId, PlayerId, Store};

/// Whether a player's device may ask this.
///
/// # Errors
/// If the home can't be read.
pub(crate) fn may(store: &Store, player: PlayerId, method: &Method, path: &str) -> Result<bool, AppError> {
    let looks = *method == Method::GET || *method == Method::HEAD;
    let steps: Vec<&str> = path.split('/').skip(1).collect();
    Ok(match steps.as_slice() {
        // The file name of a sound holds a hash of what it sounds: it can't be guessed, only asked for at a part.
        ["icon.svg" | "fonts.css"] | ["assets" | "fonts" | "sound", _] => looks,
        ["today", whose, ..] => number(whose) == Some(player.0),
        // Looking first goes by pieces (`/look/{piece}`) and shows everybody's names: not yet for a player's device.
        ["part", piece] | ["part", piece, "page" | "bar" | "margin", ..] | ["piece", piece, "opening"] => {
            looks && is_given(store, player, piece)?
        }
        ["part", piece, "sound"] => is_given(store, player, piece)?,
        _ => false,
    })
}

/// Where a player's device begins.
pub(crate) fn beginning(player: PlayerId) -> String {
    format!("/today/{}", player.0)
}

fn is_given(store: &Store, player: PlayerId, piece: &str) -> Result<bool, AppError> {
    let Some(piece) = number(piece).map(PieceId) else {
        return Ok(false);
    };
    let given = store.assignments_of_player(player)?;
    Ok(given.iter().any(|row| row.piece == piece))
}

/// Digits and nothing else: what is read here must be what the route reads.
fn number(text: &str) -> Option<i64> {
    let plain = !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
    plain.then(|| text.parse().ok()).flatten()
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test that cannot set itself up has failed")]
mod tests {
    use super::may;
    use axum::http::Method;
    use store::{NewAssignment, NewPiece, Store};

    #[test]
    fn a_players_device_reaches_that_players_things() {
        let home = std::env::temp_dir().join(format!("foreread-reach-{}", std::process::id()));
        let store = Store::open_empty(&home).unwrap();
        let file = |name: &str| format!("name = \"{name}\"\ninstrument = \"clarinet-bb\"\n");
        let ivo = store.add_player(&file("Ivo")).unwrap().id;
        let una = store.add_player(&file("Una")).unwrap().id;
        let piece = |title: &str| {
            let new = NewPiece {
                title: title.to_owned(),
                file_name: format!("{title}.abc"),
                bytes: format!("X:1\nT:{title}\nK:C\nCDEF|\n").into_bytes(),
                ..NewPiece::default()
            };
            store.add_piece(&new).unwrap().id
        };
        let (given, other) = (piece("Given"), piece("Other"));
        store
            .assign(&NewAssignment {
                piece: given,
                player: ivo,
                since: "2026-11-26".to_owned(),
                until: None,
                goal: String::new(),
                note: String::new(),
            })
            .unwrap();
        let look = |path: &str| may(&store, ivo, &Method::GET, path).unwrap();
        let write = |path: &str| may(&store, ivo, &Method::POST, path).unwrap();
        assert!(look(&format!("/part/{}", given.0)));
        assert!(look(&format!("/part/{}/page/2", given.0)));
        assert!(look(&format!("/part/{}/bar/3", given.0)));
        assert!(write(&format!("/part/{}/sound", given.0)));
        assert!(look(&format!("/today/{}", ivo.0)) && write(&format!("/today/{}/log", ivo.0)));
        assert!(look("/assets/house.css") && look("/fonts/0.woff2") && look("/sound/ab12"));
        for path in [
            format!("/look/{}", given.0),
            format!("/look/{}/now", ivo.0),
            "/look".to_owned(),
            format!("/look/player/{}", ivo.0),
            format!("/part/{}", other.0),
            format!("/part/0{}/../{}", given.0, other.0),
            format!("/part/{}%2f", given.0),
            format!("/today/{}", una.0),
            format!("/look/{}", una.0),
            "/".to_owned(),
            "/studio".to_owned(),
            "/compare".to_owned(),
            "/devices".to_owned(),
            "/part/".to_owned(),
            "/part/-1".to_owned(),
            "/part/99999999999999999999".to_owned(),
        ] {
            assert!(!look(&path), "{path}");
        }
        assert!(
            !write(&format!("/part/{}", given.0)) && !write("/assets/house.css") && !write("/folder/files")
        );
        assert!(!write(&format!("/piece/{}/away", given.0)));
        std::fs::remove_dir_all(home).unwrap();
    }
}
