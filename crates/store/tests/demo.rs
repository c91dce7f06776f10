//! Is the demo studio there at first start, once, whole, and readable by every other part of the house?

#![allow(clippy::unwrap_used, reason = "tests")]

mod common;

use common::Folder;
use store::{PieceSearch, Store};

#[test]
fn the_studio_is_laid_in_once() {
    let home = Folder::new("demo");
    let store = Store::open(home.path()).unwrap();
    let pieces = store.pieces(&PieceSearch::default()).unwrap();
    assert_eq!(pieces.len(), 10);
    assert!(pieces.iter().any(|piece| piece.title == "The Causeway at Dusk"));
    for piece in &pieces {
        let bytes = store.piece_file(piece.id).unwrap();
        let (music, _) = formats::read(&bytes, &piece.file_name).unwrap();
        assert!(piece.demo && !piece.purpose.is_empty() && !music.bars.is_empty());
        assert_eq!(
            store.assignments_of_piece(piece.id).unwrap().len(),
            1,
            "{}",
            piece.title
        );
    }
    let players = store.players(false).unwrap();
    assert_eq!(players.len(), 10);
    for player in &players {
        assert_eq!(player.profile().unwrap().name.as_ref(), Some(&player.name));
    }
    let ivo = players
        .iter()
        .find(|player| player.name == "Ivo Tarrant")
        .unwrap();
    assert_eq!(ivo.profile().unwrap().prefers[0].fingering, "thumb");
    let days = store.occasions(None).unwrap();
    assert_eq!(days.len(), 4);
    let harbour = days.iter().find(|day| day.call.is_some()).unwrap();
    assert_eq!(harbour.players.len(), 2);
    assert_eq!(store.call_pieces(harbour.call.unwrap()).unwrap().len(), 2);
    assert_eq!(
        store.setting("studio.teacher").unwrap().as_deref(),
        Some("\"Marit Endersby\"")
    );
    // What was put away or removed does not come back.
    store.put_piece_away(pieces[0].id, true).unwrap();
    store.remove_piece(pieces[0].id).unwrap();
    drop(store);
    let store = Store::open(home.path()).unwrap();
    assert_eq!(store.pieces(&PieceSearch::default()).unwrap().len(), 9);
}

#[test]
fn an_empty_home_stays_empty() {
    let home = Folder::new("empty");
    drop(Store::open_empty(home.path()).unwrap());
    let store = Store::open(home.path()).unwrap();
    assert!(store.pieces(&PieceSearch::default()).unwrap().is_empty());
}
