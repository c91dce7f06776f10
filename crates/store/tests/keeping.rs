//! Is what is kept there again, for every kind of thing, and is what is removed gone?

#![allow(clippy::unwrap_used, reason = "tests")]
#![allow(
    clippy::cloned_ref_to_slice_refs,
    reason = "a list of one reads better as one"
)]

mod common;

use common::{Folder, add, bars, hold};
use store::{
    Level, MarkAct, Miss, NewAssignment, NewCall, NewChoice, NewCut, NewLookFirst, NewMark, NewOccasion,
    NewPiece, NewPlan, NewTake, NewVisit, Ours, PieceSearch, PlayerProfile, PlayerRange, Store, StoreError,
    Summary,
};

const MUSIC: &str = "C4/q D4/q E4/q F4/q | G4/h A4/h | B4/w |";

fn player(store: &Store, name: &str) -> store::PlayerRow {
    let profile = PlayerProfile {
        name: Some(name.to_owned()),
        instrument: Some("bassoon".to_owned()),
        range: Some(PlayerRange {
            low: "Bb1".to_owned(),
            high: "A4".to_owned(),
        }),
        breath_seconds: Some(16.0),
        ..PlayerProfile::default()
    };
    store.add_player(&profile.to_toml().unwrap()).unwrap()
}

#[test]
fn everything_is_there_again_after_opening() {
    let home = Folder::new("again");
    let music = bars(MUSIC);
    let kept = {
        let store = Store::open_empty(home.path()).unwrap();
        let piece = add(&store, "Air");
        let ivo = player(&store, "Ivo Tarrant");
        let assigned = store
            .assign(&NewAssignment {
                piece: piece.id,
                player: ivo.id,
                since: "2026-11-03".to_owned(),
                until: Some("2027-02-20".to_owned()),
                goal: "audition".to_owned(),
                note: String::new(),
            })
            .unwrap();
        let cut = store
            .add_cut(&NewCut {
                assignment: assigned.id,
                name: "A".to_owned(),
                from: hold(&music, 0, 2, "E4"),
                to: hold(&music, 1, 2, "A4"),
                tempo: "q = 66-72".to_owned(),
                note: String::new(),
            })
            .unwrap();
        let mark = store
            .add_mark(
                piece.id,
                &NewMark {
                    player: Some(ivo.id),
                    act: MarkAct::Changed,
                    text: "2+4".to_owned(),
                    to: Some(hold(&music, 2, 0, "B4")),
                    ours: Some(Ours {
                        matter: "hard-spots".to_owned(),
                        from: hold(&music, 1, 0, "G4"),
                        to: None,
                    }),
                    ..NewMark::at("brackets", hold(&music, 0, 1, "D4"))
                },
            )
            .unwrap();
        let choice = store
            .choose(
                piece.id,
                &NewChoice {
                    player: None,
                    about: "fingering".to_owned(),
                    from: hold(&music, 0, 3, "F4"),
                    to: None,
                    value: "\"thumb\"".to_owned(),
                },
            )
            .unwrap();
        let visit = store
            .log_visit(&NewVisit {
                piece: piece.id,
                player: Some(ivo.id),
                line: r#"{"date":"2026-11-20","piece":"Air","from_bar":"1","to_bar":"2","tempo":60.0}"#
                    .to_owned(),
            })
            .unwrap();
        let take = store
            .add_take(&NewTake {
                piece: piece.id,
                player: Some(ivo.id),
                file_name: "C:\\sound\\take.wav".to_owned(),
                bytes: b"RIFF....".to_vec(),
                seconds: Some(12.5),
            })
            .unwrap();
        let call = store
            .add_call(&NewCall {
                name: "Harbour".to_owned(),
                date: Some("2027-02-20".to_owned()),
                text: "name = \"Harbour\"".to_owned(),
                pieces: vec![("air.abc".to_owned(), piece.id)],
            })
            .unwrap();
        let day = store
            .add_occasion(&NewOccasion {
                date: "2027-02-20".to_owned(),
                name: "Audition".to_owned(),
                call: Some(call.id),
                players: vec![ivo.id],
                ..NewOccasion::default()
            })
            .unwrap();
        let plan = store
            .add_plan(&NewPlan {
                piece: Some(piece.id),
                player: Some(ivo.id),
                until: Some("2027-02-20".to_owned()),
                asked: "{}".to_owned(),
                document: r#"{"sittings":[]}"#.to_owned(),
                call: None,
            })
            .unwrap();
        let look = store
            .add_look_first(&NewLookFirst {
                piece: piece.id,
                player: Some(ivo.id),
                seconds: Some(30.0),
                document: "{}".to_owned(),
                missed: vec![Miss {
                    question: "key".to_owned(),
                    bar: "2".to_owned(),
                    what: "a key change".to_owned(),
                }],
            })
            .unwrap();
        let rubric = store.add_rubric("Mine", "", r#"{"lines":["tone"]}"#).unwrap();
        let judged = store
            .judge(rubric.id, piece.id, Some(ivo.id), Some(take.id), r#"{"tone":3}"#)
            .unwrap();
        let device = store.add_device("Ivo's tablet", Some(ivo.id)).unwrap();
        store
            .begin_session(
                device.id,
                b"a secret of thirty-two good bytes",
                "2099-01-01T00:00:00Z",
            )
            .unwrap();
        store.set_setting("legend", r#""title = 'x'""#).unwrap();
        (
            piece, ivo, assigned, cut, mark, choice, visit, take, call, day, plan, look, rubric, judged,
            device,
        )
    };
    let (piece, ivo, assigned, cut, mark, choice, visit, take, call, day, plan, look, rubric, judged, device) =
        kept;
    let store = Store::open_empty(home.path()).unwrap();
    assert_eq!(store.pieces(&PieceSearch::default()).unwrap(), [piece.clone()]);
    assert_eq!(store.players(false).unwrap(), [ivo.clone()]);
    assert_eq!(ivo.profile().unwrap().range.unwrap().low, "Bb1");
    assert_eq!(store.assignments_of_player(ivo.id).unwrap(), [assigned.clone()]);
    assert_eq!(store.assignments_of_piece(piece.id).unwrap(), [assigned.clone()]);
    assert_eq!(store.cuts(assigned.id).unwrap(), [cut]);
    assert_eq!(store.marks(piece.id, Some(ivo.id)).unwrap(), [mark]);
    assert_eq!(store.choices(piece.id, None).unwrap(), [choice]);
    assert_eq!(store.visits(piece.id, Some(ivo.id)).unwrap(), [visit.clone()]);
    assert_eq!(
        store.log_text(piece.id, None).unwrap(),
        format!("{}\n", visit.line)
    );
    assert_eq!(
        take.file_name, "take.wav",
        "folders of somebody's machine are no part of the name"
    );
    assert_eq!(store.file(&take.file).unwrap(), b"RIFF....");
    assert_eq!(store.takes(None, Some(ivo.id)).unwrap(), [take]);
    assert_eq!(store.calls().unwrap(), [call.clone()]);
    assert_eq!(
        store.call_pieces(call.id).unwrap(),
        [("air.abc".to_owned(), piece.id)]
    );
    assert_eq!(store.occasions(Some("2027-01-01")).unwrap(), [day]);
    assert!(store.occasions(Some("2027-03-01")).unwrap().is_empty());
    assert_eq!(store.plans(Some(piece.id), None).unwrap(), [plan]);
    assert_eq!(store.misses(look.id).unwrap().len(), 1);
    let missed = store.keeps_missing(ivo.id, None).unwrap();
    assert_eq!((missed[0].question.as_str(), missed[0].times), ("key", 1));
    assert_eq!(store.rubrics().unwrap(), [rubric]);
    assert_eq!(store.judgements(None, Some(ivo.id)).unwrap(), [judged]);
    assert_eq!(
        store.session(b"a secret of thirty-two good bytes").unwrap(),
        Some(device.clone())
    );
    assert_eq!(store.session(b"another").unwrap(), None);
    store.end_device(device.id).unwrap();
    assert_eq!(store.session(b"a secret of thirty-two good bytes").unwrap(), None);
    assert_eq!(
        store.setting("legend").unwrap().as_deref(),
        Some(r#""title = 'x'""#)
    );
}

#[test]
fn a_second_start_is_refused_and_says_where_the_first_one_is() {
    let home = Folder::new("second");
    let store = Store::open_empty(home.path()).unwrap();
    let said = |store: Result<Store, StoreError>| store.unwrap_err().to_string();
    assert!(said(Store::open_empty(home.path())).contains("close it first"));
    store.say_address("http://127.0.0.1:4711/").unwrap();
    assert!(said(Store::open_empty(home.path())).contains("at http://127.0.0.1:4711/"));
    // Reading beside it is no start: a backup may be made while the app is open.
    let piece = add(&store, "Air");
    let beside = Store::open_to_read(home.path()).unwrap();
    assert_eq!(beside.piece(piece.id).unwrap(), piece);
    assert!(beside.set_purpose(piece.id, "x").is_err());
    drop((store, beside));
    Store::open_empty(home.path()).unwrap();
}

#[test]
fn a_take_that_is_deleted_takes_its_sound_along_unless_another_has_the_same() {
    let home = Folder::new("take");
    let store = Store::open_empty(home.path()).unwrap();
    let piece = add(&store, "Air");
    let new = NewTake {
        piece: piece.id,
        player: None,
        file_name: "take.wav".to_owned(),
        bytes: vec![7; 1000],
        seconds: None,
    };
    let (one, other) = (store.add_take(&new).unwrap(), store.add_take(&new).unwrap());
    store.remove_take(one.id).unwrap();
    assert_eq!(store.file(&other.file).unwrap(), vec![7; 1000]);
    store.remove_take(other.id).unwrap();
    assert!(store.file_path(&other.file).is_none());
    assert!(matches!(store.take(other.id), Err(StoreError::Gone { .. })));
    // The same sound may come again.
    let again = store.add_take(&new).unwrap();
    assert_eq!(store.file(&again.file).unwrap(), vec![7; 1000]);
}

#[test]
fn a_piece_is_removed_only_after_it_was_put_away() {
    let home = Folder::new("remove");
    let store = Store::open_empty(home.path()).unwrap();
    let piece = add(&store, "Air");
    assert!(matches!(
        store.remove_piece(piece.id),
        Err(StoreError::Refused { .. })
    ));
    store.put_piece_away(piece.id, true).unwrap();
    assert!(store.pieces(&PieceSearch::default()).unwrap().is_empty());
    let away = PieceSearch {
        put_away: true,
        ..PieceSearch::default()
    };
    assert_eq!(store.pieces(&away).unwrap().len(), 1);
    store.remove_piece(piece.id).unwrap();
    assert!(store.file_path(&piece.file).is_none());
    assert!(store.piece(piece.id).is_err());
}

#[test]
fn a_folder_is_searched_in_a_teachers_terms() {
    let home = Folder::new("search");
    let store = Store::open_empty(home.path()).unwrap();
    let summary = |flats, low, high, metre: &str, feature: &str, rank| Summary {
        made_by: "1".to_owned(),
        instrument: Some("clarinet-bb".to_owned()),
        instrument_name: Some("Clarinet in B♭".to_owned()),
        composer: Some("Ida Möller".to_owned()),
        most_flats: Some(flats),
        most_sharps: Some(0),
        metres: vec![metre.to_owned()],
        lowest_key: Some(low),
        highest_key: Some(high),
        features: vec![feature.to_owned()],
        levels: vec![Level {
            table: "ours".to_owned(),
            level: format!("level {rank}"),
            rank,
        }],
        document: "{}".to_owned(),
        ..Summary::default()
    };
    let (air, jig, reel) = (add(&store, "Air"), add(&store, "Jig"), add(&store, "Reel"));
    assert_eq!(store.pieces_to_survey("1").unwrap().len(), 3);
    assert!(
        store
            .set_summary(air.id, 1, &summary(2, 52, 81, "3/4", "crosses-break", 1.0))
            .unwrap()
    );
    assert!(
        store
            .set_summary(jig.id, 1, &summary(5, 58, 75, "6/8", "dotted-rhythms", 4.0))
            .unwrap()
    );
    assert!(
        !store
            .set_summary(reel.id, 2, &summary(0, 0, 0, "2/2", "", 0.0))
            .unwrap()
    );
    assert_eq!(store.pieces_to_survey("1").unwrap(), [reel.clone()]);
    assert_eq!(store.pieces_to_survey("2").unwrap().len(), 3);
    let titles = |search: &PieceSearch| -> Vec<String> {
        store
            .pieces(search)
            .unwrap()
            .into_iter()
            .map(|row| row.title)
            .collect()
    };
    let any = PieceSearch::default;
    assert_eq!(titles(&any()), ["Air", "Jig", "Reel"]);
    assert_eq!(titles(&PieceSearch::words("CLARINET möller")), ["Air", "Jig"]);
    assert_eq!(
        titles(&PieceSearch {
            most_flats: Some(3),
            ..any()
        }),
        ["Air"]
    );
    assert_eq!(
        titles(&PieceSearch {
            not_below: Some(55),
            not_above: Some(80),
            ..any()
        }),
        ["Jig"]
    );
    assert_eq!(
        titles(&PieceSearch {
            metres: vec!["6/8".to_owned(), "9/8".to_owned()],
            ..any()
        }),
        ["Jig"]
    );
    assert_eq!(
        titles(&PieceSearch {
            features: vec!["crosses-break".to_owned()],
            ..any()
        }),
        ["Air"]
    );
    assert_eq!(
        titles(&PieceSearch {
            without: vec!["crosses-break".to_owned()],
            ..any()
        }),
        ["Jig"]
    );
    assert_eq!(
        titles(&PieceSearch {
            level: Some(("ours".to_owned(), 2.0, 9.0)),
            ..any()
        }),
        ["Jig"]
    );
    assert_eq!(
        titles(&PieceSearch {
            instruments: vec!["flute".to_owned()],
            ..any()
        }),
        [""; 0]
    );
    // Typed words are words, never part of the question to the database.
    assert_eq!(titles(&PieceSearch::words("'; DROP TABLE piece; --")), [""; 0]);
    assert_eq!(titles(&any()).len(), 3);
}

#[test]
fn what_is_wrong_is_refused_and_nothing_of_it_kept() {
    let home = Folder::new("wrong");
    let store = Store::open_empty(home.path()).unwrap();
    let piece = add(&store, "Air");
    assert!(
        store
            .add_player("instrument = \"oboe\"")
            .unwrap_err()
            .to_string()
            .contains("no name")
    );
    assert!(
        store
            .add_player("name = \"X\"\nshoes = 43")
            .unwrap_err()
            .to_string()
            .contains("line 2")
    );
    assert!(store.players(true).unwrap().is_empty());
    let visit = |line: &str| NewVisit {
        piece: piece.id,
        player: None,
        line: line.to_owned(),
    };
    assert!(store.log_visit(&visit("{}")).is_err());
    assert!(
        store
            .log_visit(&visit(
                r#"{"date":"2026-13-01","piece":"a","from_bar":"1","to_bar":"1"}"#
            ))
            .is_err()
    );
    assert!(store.visits(piece.id, None).unwrap().is_empty());
    // A file whose row is refused does not stay.
    let nowhere = NewTake {
        piece: store::PieceId(999),
        player: None,
        file_name: "x.wav".to_owned(),
        bytes: b"lost".to_vec(),
        seconds: None,
    };
    assert!(store.add_take(&nowhere).is_err());
    drop(store);
    let _store = Store::open_empty(home.path()).unwrap();
    assert_eq!(
        std::fs::read_dir(home.path().join("arriving")).unwrap().count(),
        0
    );
}

#[test]
fn a_file_changed_or_missing_behind_our_back_is_said() {
    let home = Folder::new("behind");
    let store = Store::open_empty(home.path()).unwrap();
    let piece = add(&store, "Air");
    let path = store.file_path(&piece.file).unwrap();
    std::fs::write(&path, "something else").unwrap();
    assert!(matches!(
        store.piece_file(piece.id),
        Err(StoreError::FileChanged { .. })
    ));
    // Bringing the same file again mends it.
    let bytes = b"X:1\nT:Air\nK:C\nCDEF|\n";
    store
        .add_piece(&NewPiece {
            title: "Air".to_owned(),
            file_name: "Air.abc".to_owned(),
            bytes: bytes.to_vec(),
            ..NewPiece::default()
        })
        .unwrap();
    assert_eq!(store.piece_file(piece.id).unwrap(), bytes);
    assert_eq!(store.pieces_with_file(bytes).unwrap().len(), 2);
    std::fs::remove_file(store.file_path(&piece.file).unwrap()).unwrap();
    assert!(matches!(
        store.piece_file(piece.id),
        Err(StoreError::FileMissing { .. })
    ));
    assert!(store.file("../../lock").is_err());
}

#[test]
fn many_at_once_are_all_kept_in_order() {
    let home = Folder::new("threads");
    let store = std::sync::Arc::new(Store::open_empty(home.path()).unwrap());
    let (piece, music) = (add(&store, "Air"), bars(MUSIC));
    let threads: Vec<_> = (0..4)
        .map(|thread| {
            let (store, from) = (
                std::sync::Arc::clone(&store),
                hold(
                    &music,
                    0,
                    thread,
                    ["C4", "D4", "E4", "F4"][usize::try_from(thread).unwrap()],
                ),
            );
            std::thread::spawn(move || {
                for _ in 0..15 {
                    store
                        .add_mark(piece.id, &NewMark::at("circle", from.clone()))
                        .unwrap();
                }
            })
        })
        .collect();
    threads.into_iter().for_each(|thread| thread.join().unwrap());
    let marks = store.marks(piece.id, None).unwrap();
    assert_eq!(marks.len(), 60);
    while store.undo(piece.id).unwrap().is_some() {}
    assert!(store.marks(piece.id, None).unwrap().is_empty());
    while store.redo(piece.id).unwrap().is_some() {}
    assert_eq!(store.marks(piece.id, None).unwrap(), marks);
}
