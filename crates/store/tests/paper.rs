//! Are pages kept with the piece that was read from them: found again, undone, in a backup, exported, gone with it?

#![allow(clippy::unwrap_used, reason = "tests")]

mod common;

use common::{Folder, add};
use store::{Bars, NewFile, NewMark, NewPaper, NewTake, Over, PieceId, Store, restore};

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
fn mendings_of_one_sitting_are_one_kept_file_and_one_step_and_all_hers_goes_along() {
    let home = Folder::new("sitting");
    let store = Store::open_empty(home.path()).unwrap();
    let piece = with_pages(&store);
    let first = store.piece(piece).unwrap();
    let pages = [
        "C4/q D4/q E4/q F4/q | G4/h A4/h |",
        "C4/q D4/q E4/q F4/q | B3/w | G4/h A4/h |",
        "C4/q D4/q E4/q F4/q | B3/w | C4/w | G4/h A4/h |",
    ];
    let music: Vec<Bars> = pages.iter().map(|page| common::bars(page)).collect();
    let mend = |from: usize, to: usize| {
        let file = NewFile {
            file_name: "read.musicxml".to_owned(),
            bytes: format!("page {to}").into_bytes(),
        };
        store.mend_file(piece, &file, &music[from], &music[to]).unwrap()
    };
    let kept = || -> Vec<i64> {
        store
            .versions(piece)
            .unwrap()
            .iter()
            .map(|row| row.version)
            .collect()
    };
    let hold = common::hold(&music[0], 1, 0, "G4");
    let mark = store.add_mark(piece, &NewMark::at("circle", hold)).unwrap();
    let bar = || {
        let marks = store.marks(piece, None).unwrap();
        marks.iter().find(|other| other.id == mark.id).unwrap().from.bar
    };
    let steps = store.steps(piece).unwrap().len();
    mend(0, 1);
    assert_eq!((kept(), bar()), (vec![1, 2], 2));
    mend(1, 2);
    mend(2, 1);
    mend(1, 2);
    assert_eq!(
        (kept(), bar()),
        (vec![1, 5], 3),
        "one kept file for four mendings"
    );
    assert_eq!(store.piece_file(piece).unwrap(), b"page 2");
    assert_eq!(store.steps(piece).unwrap().len(), steps + 1);
    // One undo takes the sitting back, one redo brings it again.
    store.undo(piece).unwrap();
    assert_eq!((store.piece(piece).unwrap(), bar()), (first, 1));
    store.redo(piece).unwrap();
    assert_eq!((store.piece_file(piece).unwrap(), bar()), (b"page 2".to_vec(), 3));
    // What a take was recorded on stays, and so does what she wrote between.
    let take = NewTake {
        piece,
        player: None,
        file_name: "take.wav".to_owned(),
        bytes: b"heard".to_vec(),
        seconds: None,
    };
    let take = store.add_take(&take).unwrap();
    mend(2, 1);
    assert_eq!(kept(), [1, 5, 6]);
    assert_eq!(store.take(take.id).unwrap().version, 5);
    store.set_purpose(piece, "for June").unwrap();
    mend(1, 2);
    assert_eq!(kept(), [1, 5, 6, 7]);
    for _ in 0..3 {
        store.undo(piece).unwrap();
    }
    assert_eq!((store.piece(piece).unwrap().version, bar()), (5, 3));
    // After something was undone, another file is another one; every file that is spoken of is there.
    mend(2, 0);
    assert_eq!((kept(), bar()), (vec![1, 5, 6, 7, 8], 1));
    for version in store.versions(piece).unwrap() {
        store.file(&version.file).unwrap();
    }
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
