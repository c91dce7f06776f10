//! What the teacher puts right is put over what was read: two systems of a demo piece, as in `tests/page.rs`.

#![allow(clippy::unwrap_used, clippy::panic)]

mod two_systems;

use notation::{BarIndex, EventKind, Piece};
use pageread::{
    Change, Doubt, Edit, Main, Read, ReadSign, SignAt, System, What, assemble, assemble_mended, mend,
};
use two_systems::systems;

fn with(edits: &[Edit]) -> Read {
    let mended = mend(&systems(), edits);
    assert_eq!(mended.idle, Vec::<usize>::new());
    assemble_mended(&mended)
}

fn pitches(piece: &Piece) -> Vec<String> {
    let notes = piece.parts[0].events.iter();
    notes
        .flat_map(|event| event.pitches().map(|pitch| pitch.to_string()).collect::<Vec<_>>())
        .collect()
}

fn first(read: &Read, is: impl Fn(&ReadSign) -> bool) -> ReadSign {
    read.places.signs.iter().find(|sign| is(sign)).unwrap().clone()
}

fn is_note(sign: &ReadSign) -> bool {
    matches!(sign.main, Main::Note(_))
}

fn change(at: SignAt, change: Change) -> Edit {
    Edit::Change { at, change }
}

#[test]
fn every_element_of_the_piece_is_reached_from_a_sign_with_its_place() {
    let read = assemble(&systems());
    for event in &read.piece.parts[0].events {
        let sign = first(&read, |sign| sign.became.contains(&event.id));
        assert_eq!(sign.bar, Some(event.place.bar));
        let (page, [x, y, w, h]) = sign.page_box;
        assert!(page == 0 && x > 0.0 && y > 0.0 && w > 5.0 && h > w, "{sign:?}");
        if let EventKind::Chord(heads) = &event.kind {
            assert_eq!(sign.pitch, heads[0].pitch());
        }
    }
    assert_eq!(read.places.bars.len(), 8);
    assert!(read.places.bars.iter().all(|bar| bar.to > bar.from && !bar.off));
    assert!(
        read.look
            .windows(2)
            .all(|two| two[0].about <= two[1].about || two[0].about >= Doubt::Sign)
    );
}

#[test]
fn when_the_clef_is_settled_every_pitch_after_it_moves() {
    let plain = with(&[]);
    let clefs: Vec<SignAt> = plain
        .places
        .signs
        .iter()
        .filter(|sign| matches!(sign.main, Main::Clef(_)))
        .map(|sign| sign.at)
        .collect();
    assert_eq!(clefs.len(), 2, "one for each system");
    let tenor = Main::try_from("clef:C4".to_owned()).unwrap();
    let read = with(
        &clefs
            .iter()
            .map(|at| change(*at, Change::Becomes(tenor)))
            .collect::<Vec<_>>(),
    );
    // Just under the lowest line: D4 in the treble clef; in the tenor clef, whose fourth line is C4, seven steps lower than that.
    assert_eq!(pitches(&plain.piece)[0], "D4");
    assert_eq!(pitches(&read.piece)[0], "C3");
    assert_eq!(pitches(&plain.piece).len(), pitches(&read.piece).len());
    assert_eq!(read.piece.parts[0].clefs.len(), 1);
    assert!(read.look.iter().all(|place| place.about != Doubt::Clef));
}

#[test]
fn a_bar_that_is_broken_is_listed_and_mends_by_what_is_put_back() {
    let plain = with(&[]);
    let note = first(&plain, |sign| is_note(sign) && sign.bar == Some(BarIndex(2)));
    let gone = change(note.at, Change::Nothing);
    let broken = with(std::slice::from_ref(&gone));
    assert_eq!(broken.bars_off, 1);
    let place = broken
        .look
        .iter()
        .find(|place| place.about == Doubt::Bar)
        .unwrap();
    assert_eq!(broken.places.bars[2].at.map(What::Sign), Some(place.what));
    let Main::Note(position) = note.main else { panic!() };
    let add = Edit::Add {
        system: 0,
        x: note.x,
        main: Main::Note(position),
        value: 4,
    };
    let dotted = |number| change(SignAt { system: 0, number }, Change::Value(4, 1));
    let number = 1 + systems()[0]
        .seen
        .signs
        .iter()
        .map(|sign| sign.number)
        .max()
        .unwrap();
    let mended = with(&[gone.clone(), add.clone(), dotted(number)]);
    assert_eq!(mended.bars_off, 0);
    assert_eq!(pitches(&mended.piece), pitches(&plain.piece));
    // Or it is right as it stands.
    let right = Edit::Right {
        at: broken.places.bars[2].at.unwrap(),
        about: Doubt::Bar,
    };
    let settled = with(&[gone, right]);
    assert_eq!(settled.bars_off, 0);
    assert!(settled.look.iter().all(|place| place.about != Doubt::Bar));
    assert!(
        settled
            .findings
            .iter()
            .all(|finding| finding.kind != "bar-does-not-add-up")
    );
}

#[test]
fn a_step_up_and_an_accidental_change_that_note_and_what_hangs_on_it() {
    let plain = with(&[]);
    let note = first(&plain, is_note);
    let Main::Note(position) = note.main else { panic!() };
    let read = with(&[
        change(note.at, Change::Becomes(Main::Note(position + 1))),
        change(note.at, Change::Answer(pageread::Ask::Accidental, 2)),
    ]);
    assert_eq!(pitches(&read.piece)[0], "Eb4");
    assert_eq!(pitches(&read.piece)[1..], pitches(&plain.piece)[1..]);
}

#[test]
fn what_was_read_and_mended_is_kept_as_text_and_comes_back_the_same() {
    let systems = systems();
    let text = serde_json::to_string(&systems).unwrap();
    let back: Vec<System> = serde_json::from_str(&text).unwrap();
    assert_eq!(back, systems);
    let plain = assemble(&systems);
    let note = first(&plain, is_note);
    let edits = [
        change(note.at, Change::Value(5, 2)),
        change(note.at, Change::Flag(pageread::Flag::Tie, true)),
        Edit::Add {
            system: 1,
            x: 300.0,
            main: Main::Rest,
            value: 4,
        },
        Edit::Right {
            at: note.at,
            about: Doubt::Sign,
        },
        Edit::Beside {
            system: 0,
            line: pageread::Line::Dynamic,
            number: 0,
            name: Some("ff".to_owned()),
        },
    ];
    let text = serde_json::to_string(&edits).unwrap();
    let again: Vec<Edit> = serde_json::from_str(&text).unwrap();
    assert_eq!(again, edits);
    let (one, two) = (mend(&systems, &edits), mend(&back, &again));
    assert_eq!(one, two);
    assert_eq!(assemble_mended(&one).piece, assemble_mended(&two).piece);
}

#[test]
fn edits_of_what_is_not_there_do_nothing_and_are_told() {
    let nobody = SignAt { system: 9, number: 4 };
    let note = first(&assemble(&systems()), is_note);
    let edits = [
        change(nobody, Change::Nothing),
        change(
            SignAt {
                system: 0,
                number: 9_999,
            },
            Change::Value(4, 0),
        ),
        change(note.at, Change::Value(99, 0)),
        change(note.at, Change::Answer(pageread::Ask::Accidental, 77)),
        Edit::Add {
            system: 0,
            x: f32::NAN,
            main: Main::Rest,
            value: 4,
        },
        Edit::Add {
            system: 0,
            x: 1e9,
            main: Main::Rest,
            value: 4,
        },
        Edit::Beside {
            system: 0,
            line: pageread::Line::Dynamic,
            number: 0,
            name: Some("segno".to_owned()),
        },
        Edit::Beside {
            system: 0,
            line: pageread::Line::Road,
            number: 999,
            name: None,
        },
    ];
    let mended = mend(&systems(), &edits);
    assert_eq!(mended.idle, (0..edits.len()).collect::<Vec<_>>());
    assert_eq!(assemble_mended(&mended).piece, assemble(&systems()).piece);
}
