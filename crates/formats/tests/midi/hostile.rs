//! Can a damaged or malicious file make the reader panic, hang or eat memory? It may not; it says what is wrong.

use crate::file::{File, file, number, one, track};
use crate::{kinds, page, read, said};
use formats::FormatError;
use proptest::prelude::*;
use std::time::{Duration, Instant};

fn error(bytes: &[u8]) -> String {
    match formats::read(bytes, "bad.mid") {
        Ok(_) => panic!("it was read"),
        Err(error @ FormatError::Midi { .. }) => error.to_string(),
        Err(error) => panic!("{error}"),
    }
}

fn small() -> Vec<u8> {
    let tracks = vec![
        track()
            .text(0, 3, "Title")
            .metre(0, 3, 2)
            .key(0, -2, true)
            .tempo(0, 100),
        track()
            .text(0, 3, "Horn")
            .program(0, 61)
            .line(0, &[(480, 62), (480, 65), (480, 70), (1440, 62)]),
    ];
    file(tracks).bytes()
}

#[test]
fn what_is_no_piece_is_said() {
    assert!(error(b"MThd").contains("header is missing or damaged"));
    assert!(error(b"MThd\0\0\0\x06\0\x01\0\x01\0\0").contains("holds no notes"));
    assert!(error(b"RIFF\0\0\0\0RMIDdata").contains("header is missing"));
    assert!(error(&one(track())).contains("holds no notes"));
    let no_ticks = File {
        division: [0, 0],
        ..file(vec![track().note(0, 1, 60)])
    };
    assert!(error(&no_ticks.bytes()).contains("no ticks"));
}

/// `midly` 0.5.3 negates −128 here, which panics in a debug build.
#[test]
fn a_division_of_minus_128_frames_is_read() {
    let odd = File {
        division: [0x80, 4],
        ..file(vec![track().metre(0, 4, 2).note(0, 256, 60)])
    };
    assert_eq!(page(&read(&odd.bytes()).0, 0), "C4/quarter r/quarter r/half");
}

/// `midly` 0.5.3 ends the track here without a word.
#[test]
fn a_key_signature_cut_short_loses_nothing_else() {
    let (piece, findings) = read(&one(track().metre(0, 4, 2).meta(0, 0x59, &[]).note(0, 1920, 60)));
    assert_eq!(page(&piece, 0), "C4/whole");
    assert!(said(&findings, "midi-sign-unusable").contains("cut short"));
}

#[test]
fn a_damaged_track_is_read_up_to_the_damage() {
    let notes = track()
        .metre(0, 4, 2)
        .note(0, 480, 60)
        .raw(960, &[0xF4])
        .note(960, 480, 62);
    let (piece, findings) = read(&one(notes));
    assert_eq!(page(&piece, 0), "C4/quarter r/quarter r/half");
    assert!(
        said(&findings, "midi-track-damaged")
            .starts_with("track 1 breaks off at byte 39: an event stands there"),
        "{findings:?}"
    );
}

#[test]
fn metres_and_keys_that_are_none_are_left_out() {
    let notes = track()
        .meta(0, 0x58, &[0, 2, 24, 8])
        .meta(0, 0x58, &[4, 40, 24, 8])
        .key(0, 99, false)
        .meta(0, 0x51, &[0, 0, 0])
        .note(0, 480, 60);
    let (_, findings) = read(&one(notes));
    assert_eq!(
        kinds(&findings)
            .iter()
            .filter(|kind| **kind == "midi-sign-unusable")
            .count(),
        4
    );
}

#[test]
fn a_file_cut_off_anywhere_is_read_or_refused() {
    let whole = small();
    for length in 0..whole.len() {
        let _ = formats::read(&whole[..length], "cut.mid");
    }
}

#[test]
fn one_byte_changed_anywhere_does_no_harm() {
    let whole = small();
    for at in 0..whole.len() {
        for value in [0x00, 0x7F, 0x80, 0x90, 0xFF] {
            let mut bytes = whole.clone();
            bytes[at] = value;
            let _ = formats::read(&bytes, "changed.mid");
        }
    }
}

fn quickly(bytes: &[u8]) -> Result<(), String> {
    let start = Instant::now();
    let result = formats::read(bytes, "long.mid")
        .map(|_| ())
        .map_err(|error| error.to_string());
    let spent = start.elapsed();
    assert!(spent < Duration::from_secs(20), "{spent:?}");
    result
}

#[test]
fn silence_for_ages_is_refused() {
    let mut notes = track();
    for n in 0..100 {
        notes = notes.note(0x0FFF_FFFF / 100 * n, 10, 60);
    }
    assert!(quickly(&one(notes)).unwrap_err().contains("more than 20000 bars"));
    // Bars and parts by the thousand out of a few bytes.
    let tracks = (0..200).map(|n| track().note(0, 1_000_000, n % 128)).collect();
    assert!(
        quickly(&file(tracks).bytes())
            .unwrap_err()
            .contains("200 parts of 521 bars")
    );
    // Keys held down for thousands of bars.
    let mut held = track();
    for key in 0..100 {
        held = held.note(0, 10_000_000, key);
    }
    assert!(quickly(&one(held)).is_ok(), "one chord of a hundred notes");
    let mut staggered = track();
    for key in 0..100 {
        staggered = staggered.note(u32::from(key) * 7, 10_000_000, key);
    }
    let _ = quickly(&one(staggered));
}

#[test]
fn a_claimed_length_past_the_end_asks_for_no_memory() {
    let mut bytes = small();
    let at = bytes.windows(4).position(|four| four == b"MTrk").unwrap() + 4;
    bytes[at..at + 4].copy_from_slice(&[0xFF; 4]);
    assert!(error(&bytes).contains("no notes"));
    let long_text = track()
        .raw(0, &[&[0xFF, 1][..], &number(0x0FFF_FFFF)].concat())
        .note(0, 480, 60);
    let _ = formats::read(&one(long_text), "text.mid");
}

#[test]
fn a_dense_file_is_read_in_linear_time() {
    let dense = |notes: u32| {
        let mut all = track().metre(0, 4, 2);
        for n in 0..notes {
            all = all.note(n * 37, 30, 40 + u8::try_from(n % 60).unwrap());
        }
        one(all)
    };
    let _ = quickly(&dense(20_000));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn any_track_is_read_or_refused(body in proptest::collection::vec(any::<u8>(), 0..300), division in any::<[u8; 2]>()) {
        let length = u32::try_from(body.len()).unwrap().to_be_bytes();
        let bytes = [b"MThd\0\0\0\x06\0\x01\0\x01", &division[..], b"MTrk", &length, &body].concat();
        let _ = formats::read(&bytes, "any.mid");
    }
}
