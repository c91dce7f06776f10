//! Are pages kept with the piece that was read from them: found again, undone, in a backup, exported, gone with it?

#![allow(clippy::unwrap_used, reason = "tests")]

mod common;

use common::{Folder, add};
use store::{NewPaper, Over, PieceId, Store, restore};

fn with_pages(store: &Store) -> PieceId {
    let piece = add(store, "Read air").id;
    let new = NewPaper {
        piece,
        file_name: "phone/IMG_1.jpg".to_owned(),
        bytes: b"the page".to_vec(),
        document: "{\"systems\":[]}".to_owned(),
        strips: vec![b"first line".to_vec(), b"second line".to_vec()],
    };
    store.add_paper(&new).unwrap();
    piece
}

#[test]
fn pages_are_kept_and_what_was_put_right_is_undone_one_by_one() {
    let home = Folder::new("paper");
    let store = Store::open_empty(home.path()).unwrap();
    let piece = with_pages(&store);
    let paper = store.paper(piece).unwrap().unwrap();
    assert_eq!((paper.file_name.as_str(), paper.test_page), ("IMG_1.jpg", false));
    assert_eq!(store.file(&paper.file).unwrap(), b"the page");
    assert_eq!(store.paper_strip(piece, 1).unwrap(), b"second line");
    assert!(store.paper_strip(piece, 2).is_err());
    assert!(store.add_paper_edit(piece, "no JSON").is_err());
    for edits in ["[1]", "[2]", "[3]"] {
        store.add_paper_edit(piece, edits).unwrap();
    }
    assert_eq!(store.undo_paper_edit(piece).unwrap().unwrap().edits, "[3]");
    assert_eq!(store.undo_paper_edit(piece).unwrap().unwrap().edits, "[2]");
    store.add_paper_edit(piece, "[4]").unwrap();
    let count = |row: &store::PaperEditRow| row.undone.is_none();
    let all = store.paper_edits(piece).unwrap();
    let now: Vec<&str> = all
        .iter()
        .filter(|row| count(row))
        .map(|row| row.edits.as_str())
        .collect();
    assert_eq!((now, all.len()), (vec!["[1]", "[4]"], 4));
    assert_eq!(
        store.piece_with_paper(b"the page").unwrap().map(|row| row.id),
        Some(piece)
    );
    assert_eq!(store.piece_with_paper(b"another page").unwrap(), None);
    // What came as notation has no pages.
    let other = add(&store, "Plain air").id;
    assert_eq!(store.paper(other).unwrap(), None);
    assert!(store.add_paper_edit(other, "[]").is_err());
}

#[test]
fn pages_come_back_from_a_backup_leave_in_an_export_and_go_with_the_piece() {
    let (home, back, files) = (
        Folder::new("paper-a"),
        Folder::new("paper-b"),
        Folder::new("paper-c"),
    );
    let store = Store::open_empty(home.path()).unwrap();
    let piece = with_pages(&store);
    store.add_paper_edit(piece, "[1]").unwrap();
    store.set_test_page(piece, true).unwrap();
    std::fs::create_dir_all(files.path()).unwrap();
    let zip = files.path().join("studio.zip");
    store.backup(&zip).unwrap();
    restore(&zip, back.path(), Over::Nothing).unwrap();
    let again = Store::open_empty(back.path()).unwrap();
    assert_eq!(again.paper_strip(piece, 0).unwrap(), b"first line");
    assert_eq!(
        again.paper_edits(piece).unwrap(),
        store.paper_edits(piece).unwrap()
    );
    let out = files.path().join("everything");
    again.export(&out).unwrap();
    let pages = out.join("test-pages");
    let mut names: Vec<String> = std::fs::read_dir(pages)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned())
        .collect();
    names.sort();
    assert_eq!(names, ["1-read-air.jpg", "1-read-air.musicxml"]);
    again.put_piece_away(piece, true).unwrap();
    again.remove_piece(piece).unwrap();
    assert_eq!(again.papers().unwrap(), []);
    assert_eq!(
        std::fs::read_dir(back.path().join("files")).unwrap().count(),
        0,
        "the pages are gone"
    );
    again.check().unwrap();
}
