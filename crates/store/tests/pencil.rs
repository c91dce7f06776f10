//! Is the teacher's pencil never lost: undone, done again, carried over a corrected file?

#![allow(clippy::unwrap_used, reason = "tests")]

mod common;

use common::{Folder, add, bars, hold};
use store::{Fate, NewChoice, NewFile, NewMark, NewVisit, PlayerProfile, Store, StoreError};

const MUSIC: &str = "C4/q D4/q E4/q F4/q | G4/h A4/h | B4/w | C5/q C5/q G4/h |";

fn corrected() -> NewFile {
    NewFile {
        file_name: "air-2.abc".to_owned(),
        bytes: b"corrected".to_vec(),
    }
}

#[test]
fn gestures_are_undone_and_done_again_in_order() {
    let home = Folder::new("undo");
    let store = Store::open_empty(home.path()).unwrap();
    let (piece, music) = (add(&store, "Air"), bars(MUSIC));
    let signs = || -> Vec<String> {
        store
            .marks(piece.id, None)
            .unwrap()
            .into_iter()
            .map(|mark| mark.sign)
            .collect()
    };
    let mark = store
        .add_mark(piece.id, &NewMark::at("circle", hold(&music, 0, 0, "C4")))
        .unwrap();
    store
        .edit(piece.id, "two at once", |edit| {
            edit.change_mark(&store::MarkRow {
                sign: "comma".to_owned(),
                ..mark.clone()
            })?;
            edit.add_mark(&NewMark::at("words", hold(&music, 2, 0, "B4")))
        })
        .unwrap();
    assert_eq!(signs(), ["comma", "words"]);
    assert_eq!(store.undo(piece.id).unwrap().unwrap().what, "two at once");
    assert_eq!(signs(), ["circle"]);
    store.undo(piece.id).unwrap();
    assert_eq!(signs(), [""; 0]);
    assert!(store.undo(piece.id).unwrap().is_none());
    store.redo(piece.id).unwrap();
    store.redo(piece.id).unwrap();
    assert_eq!(signs(), ["comma", "words"]);
    assert!(store.redo(piece.id).unwrap().is_none());
    store.undo(piece.id).unwrap();
    // Something new leaves what was undone behind; its numbers are not used again.
    let new = store
        .add_mark(piece.id, &NewMark::at("arrow", hold(&music, 1, 0, "G4")))
        .unwrap();
    assert!(new.id.0 > mark.id.0 + 1);
    assert!(store.redo(piece.id).unwrap().is_none());
    let states: Vec<String> = store
        .steps(piece.id)
        .unwrap()
        .into_iter()
        .map(|step| step.state)
        .collect();
    assert_eq!(states, ["done", "left", "done"]);
}

#[test]
fn a_gesture_that_fails_leaves_nothing() {
    let home = Folder::new("fails");
    let store = Store::open_empty(home.path()).unwrap();
    let (piece, music) = (add(&store, "Air"), bars(MUSIC));
    let failed = store.edit(piece.id, "half", |edit| {
        edit.add_mark(&NewMark::at("circle", hold(&music, 0, 0, "C4")))?;
        edit.erase_mark(store::MarkId(77))
    });
    assert!(matches!(failed, Err(StoreError::Gone { .. })));
    assert!(store.marks(piece.id, None).unwrap().is_empty());
    assert!(store.steps(piece.id).unwrap().is_empty());
    // A mark of one piece can't be erased under the name of another.
    let other = add(&store, "Jig");
    let mark = store
        .add_mark(piece.id, &NewMark::at("circle", hold(&music, 0, 0, "C4")))
        .unwrap();
    assert!(
        store
            .edit(other.id, "not mine", |edit| edit.erase_mark(mark.id))
            .is_err()
    );
}

#[test]
fn a_choice_at_the_same_place_is_changed_not_doubled() {
    let home = Folder::new("choice");
    let store = Store::open_empty(home.path()).unwrap();
    let (piece, music) = (add(&store, "Air"), bars(MUSIC));
    let new = |value: &str| NewChoice {
        player: None,
        about: "fingering".to_owned(),
        from: hold(&music, 0, 3, "F4"),
        to: None,
        value: value.to_owned(),
    };
    let first = store.choose(piece.id, &new("\"thumb\"")).unwrap();
    let second = store.choose(piece.id, &new("\"fork\"")).unwrap();
    assert_eq!(first.id, second.id);
    assert_eq!(store.choices(piece.id, None).unwrap()[0].value, "\"fork\"");
    store.undo(piece.id).unwrap();
    assert_eq!(store.choices(piece.id, None).unwrap()[0].value, "\"thumb\"");
    store.take_back_choice(first.id).unwrap();
    assert!(store.choices(piece.id, None).unwrap().is_empty());
}

#[test]
fn a_step_whose_player_is_gone_is_passed_over() {
    let home = Folder::new("orphan");
    let store = Store::open_empty(home.path()).unwrap();
    let (piece, music) = (add(&store, "Air"), bars(MUSIC));
    let profile = PlayerProfile {
        name: Some("Ivo".to_owned()),
        ..PlayerProfile::default()
    };
    let mut ivo = store.add_player(&profile.to_toml().unwrap()).unwrap();
    store.set_purpose(piece.id, "for Tuesdays").unwrap();
    let hers = NewMark {
        player: Some(ivo.id),
        ..NewMark::at("circle", hold(&music, 0, 0, "C4"))
    };
    let mark = store.add_mark(piece.id, &hers).unwrap();
    store.erase_mark(mark.id).unwrap();
    assert!(store.remove_player(ivo.id).is_err());
    ivo.put_away = Some("2026-11-26T10:00:00.000Z".to_owned());
    store.change_player(&ivo).unwrap();
    store.remove_player(ivo.id).unwrap();
    assert!(
        store
            .undo(piece.id)
            .unwrap_err()
            .to_string()
            .contains("was removed")
    );
    store.undo(piece.id).unwrap();
    store.undo(piece.id).unwrap();
    assert_eq!(store.piece(piece.id).unwrap().purpose, "");
}

#[test]
fn a_corrected_file_takes_everything_along_and_says_what_it_could_not() {
    let home = Folder::new("replace");
    let store = Store::open_empty(home.path()).unwrap();
    let (piece, music) = (add(&store, "Air"), bars(MUSIC));
    // A bar before, the third bar gone, a pitch corrected in the fourth.
    let new = bars("B3/w | C4/q D4/q E4/q F4/q | G4/h A4/h | C5/q Db5/q G4/h |");
    let sign = |sign: &str, bar, offset, pitch| NewMark::at(sign, hold(&music, bar, offset, pitch));
    let stays = store.add_mark(piece.id, &sign("circle", 0, 1, "D4")).unwrap();
    let lost = store.add_mark(piece.id, &sign("comma", 2, 0, "B4")).unwrap();
    let doubtful = store.add_mark(piece.id, &sign("words", 3, 1, "C5")).unwrap();
    let reaching = NewMark {
        to: Some(hold(&music, 2, 0, "B4")),
        ..sign("brackets", 1, 0, "G4")
    };
    let bracket = store.add_mark(piece.id, &reaching).unwrap();
    let line = r#"{"date":"2026-11-20","piece":"Air","from_bar":"2","to_bar":"2","note":"slow","extra":1}"#;
    store
        .log_visit(&NewVisit {
            piece: piece.id,
            player: None,
            line: line.to_owned(),
        })
        .unwrap();
    let before = store.marks(piece.id, None).unwrap();
    let preview = store.preview_replace(piece.id, &music, &new).unwrap();
    assert_eq!(
        store.marks(piece.id, None).unwrap(),
        before,
        "a preview changes nothing"
    );
    let replaced = store.replace_file(piece.id, &corrected(), &music, &new).unwrap();
    assert_eq!(preview.rows, replaced.rows);
    let fate = |id| {
        replaced.rows.iter().find_map(|row| match row {
            store::ReplacedRow::Mark { id: of, now, .. } if *of == id => Some((now.fate, now.hold.bar)),
            _ => None,
        })
    };
    assert_eq!(fate(stays.id), Some((Fate::Moved, 1)));
    assert_eq!(fate(lost.id), Some((Fate::Unplaced, 2)));
    assert_eq!(fate(doubtful.id), Some((Fate::Doubtful, 3)));
    assert_eq!(fate(bracket.id), Some((Fate::Doubtful, 2)));
    assert_eq!(replaced.rows.len(), 5);
    let now = store.marks(piece.id, None).unwrap();
    let find = |id| now.iter().find(|mark| mark.id == id).unwrap();
    assert!(!find(lost.id).placed && find(lost.id).from == lost.from);
    assert_eq!(find(doubtful.id).from.pitch.as_deref(), Some("Db5"));
    assert_eq!(find(bracket.id).to.as_ref().unwrap().bar, 2);
    let visit = &store.visits(piece.id, None).unwrap()[0];
    assert_eq!(visit.written, line);
    let line: serde_json::Value = serde_json::from_str(&visit.line).unwrap();
    assert_eq!((&line["from_bar"], &line["extra"]), (&"3".into(), &1.into()));
    // The file is the new one, the old one stays; the summary is of the old one and no longer told.
    assert_eq!(store.piece_file(piece.id).unwrap(), b"corrected");
    assert_eq!(store.versions(piece.id).unwrap().len(), 2);
    // One undo brings everything back, one redo forth.
    store.undo(piece.id).unwrap();
    assert_eq!(store.marks(piece.id, None).unwrap(), before);
    assert_eq!(store.piece(piece.id).unwrap(), piece);
    assert_eq!(store.visits(piece.id, None).unwrap()[0].line, visit.written);
    store.redo(piece.id).unwrap();
    assert_eq!(store.marks(piece.id, None).unwrap(), now);
    assert_eq!(store.piece_file(piece.id).unwrap(), b"corrected");
    // The bar comes back with a third file: the mark finds its place again.
    let third = NewFile {
        file_name: "air-3.abc".to_owned(),
        bytes: b"third".to_vec(),
    };
    store.replace_file(piece.id, &third, &new, &music).unwrap();
    let again = store.marks(piece.id, None).unwrap();
    let mark = again.iter().find(|mark| mark.id == lost.id).unwrap();
    assert!(mark.placed && mark.from.bar == 2);
}
