//! What is said of takes whose notes are known, without sound.

use super::*;
use crate::align::tests::{Tone, heard as track_of, tones};
use crate::expected::expected;
use notation::sketch;
use performance::play::{PlayOptions, perform};

struct Lesson {
    piece: Piece,
    performance: Performance,
    line: Vec<Expected>,
}

impl Lesson {
    fn of(text: &str) -> Self {
        let piece = sketch(text).unwrap();
        let performance = perform(&piece, 0, &PlayOptions::default()).unwrap();
        let line = expected(&performance).0;
        Self {
            piece,
            performance,
            line,
        }
    }

    fn heard(&self, tones: &[Tone]) -> Heard {
        let (track, onsets) = track_of(tones);
        let alignment = crate::align(&self.line, &track, &onsets);
        heard(
            &self.piece,
            0,
            &self.performance,
            &self.line,
            &alignment,
            &HeardOptions::default(),
        )
    }

    fn first_of(&self, bar: u32) -> usize {
        self.line.iter().position(|note| note.place.bar.0 == bar).unwrap()
    }
}

const TUNE: &str = "key:1 metre:4/4 mm:q=100 G4/q A4/q B4/q D5/q | G5/q F#5/q E5/e D5/e B4/q | C5/q E5/q D5/e C5/e A4/q | G4/h D5/h | \
                    B4/q D5/q C5/q A4/q | D5/q D5/q E5/q C5/q | B4/e A4/e G4/e F#4/e E4/q D4/q | G4/w |";

#[test]
fn a_clean_take_is_said_to_be_clean() {
    let lesson = Lesson::of(TUNE);
    let heard = lesson.heard(&tones(&lesson.line, 1.25, 1.0));
    assert_eq!(heard.counts.right, lesson.line.len());
    assert_eq!(heard.counts.clean_bars, 8, "{:?}", heard.bars);
    assert!((heard.tempo.bpm.unwrap() - 80.0).abs() < 1.5, "{:?}", heard.tempo);
    assert!(heard.work.is_empty(), "{:?}", heard.work);
    assert!(
        heard.summary[0].starts_with("Bars 1–8 heard: 31 of 31 notes at their pitch"),
        "{:?}",
        heard.summary
    );
    assert!(
        heard
            .notes
            .iter()
            .all(|note| note.late_secs.unwrap().abs() < 0.02)
    );
}

#[test]
fn the_same_wrong_note_twice_is_learned() {
    let lesson = Lesson::of(TUNE);
    // F instead of F sharp in bar 2, the bar taken twice.
    let model = tones(&lesson.line, 1.0, 0.5);
    let (second, third) = (lesson.first_of(1), lesson.first_of(2));
    let mut played: Vec<Tone> = model[..third].to_vec();
    played[second + 1].2 -= 1.0;
    let shift = played.last().unwrap().1 + 1.0 - model[second].0;
    let mut again: Vec<Tone> = model[second..]
        .iter()
        .map(|(from, to, key)| (from + shift, to + shift, *key))
        .collect();
    again[1].2 -= 1.0;
    played.extend(again);
    let heard = lesson.heard(&played);
    assert_eq!(heard.learned.len(), 1, "{:?}", heard.learned);
    assert_eq!(heard.learned[0].heard.sign(), "F5");
    assert_eq!(heard.counts.restarts, 1);
    assert_eq!(heard.counts.wrong, 1, "one place, though twice");
    assert!(
        heard
            .summary
            .iter()
            .any(|line| line == "Bar 2: F♮5 for F♯5 2 times: learned, not slipped."),
        "{:#?}",
        heard.summary
    );
    assert!(
        heard.work.iter().any(|work| work.drill == Some("half-speed")),
        "{:#?}",
        heard.work
    );
}

#[test]
fn late_notes_and_waits() {
    let lesson = Lesson::of(TUNE);
    let mut played = tones(&lesson.line, 1.0, 0.5);
    let at = lesson.first_of(4) + 1;
    played[at].0 += 0.15;
    let wait = lesson.first_of(6);
    played[wait..].iter_mut().for_each(|tone| {
        tone.0 += 0.8;
        tone.1 += 0.8;
    });
    let heard = lesson.heard(&played);
    let late = heard.notes[at].late_secs.unwrap();
    assert!((late - 0.15).abs() < 0.025, "{late}");
    assert!(heard.notes[at + 1].late_secs.unwrap().abs() < 0.03);
    assert_eq!(heard.hesitations.len(), 1, "{:?}", heard.hesitations);
    assert_eq!(heard.hesitations[0].before, wait);
    assert!((heard.hesitations[0].secs - 0.8).abs() < 0.05);
    assert_eq!(
        heard
            .bars
            .iter()
            .filter(|bar| !bar.clean())
            .map(|bar| bar.bar.0)
            .collect::<Vec<_>>(),
        [4, 6]
    );
}

#[test]
fn tuning_by_written_note() {
    let lesson = Lesson::of(TUNE);
    let mut played = tones(&lesson.line, 1.0, 0.5);
    for (tone, note) in played.iter_mut().zip(&lesson.line) {
        if note.written.is_some_and(|pitch| pitch.sign() == "D5") {
            tone.2 += 0.18;
        }
    }
    let heard = lesson.heard(&played);
    let matters: Vec<String> = heard
        .intonation
        .iter()
        .filter(|one| one.matters)
        .map(|one| one.written.sign())
        .collect();
    assert_eq!(matters, ["D5"]);
    let one = heard.intonation.iter().find(|one| one.matters).unwrap();
    assert!((one.cents - 18.0).abs() < 1.0, "{one:?}");
    assert!(
        heard
            .summary
            .iter()
            .any(|line| line.contains("D5 runs 18 cents sharp (7 times)")),
        "{:#?}",
        heard.summary
    );
}

#[test]
fn nothing_of_the_piece() {
    let lesson = Lesson::of(TUNE);
    let heard = lesson.heard(&[]);
    assert!(heard.notes.is_empty());
    assert!(
        heard.summary[0].starts_with("Nothing of this piece"),
        "{:?}",
        heard.summary
    );
    for rubric in crate::judge::published() {
        assert!(
            crate::judge::judge(&heard, &rubric).lines.is_empty(),
            "no points for nothing"
        );
    }
}

#[test]
fn another_piece_is_not_judged() {
    let lesson = Lesson::of(TUNE);
    let foreign: Vec<Tone> = (0..40_u32)
        .map(|n| {
            (
                f64::from(n) * 0.4,
                f64::from(n) * 0.4 + 0.35,
                61.0 + f64::from(n * 7 % 5) * 4.4,
            )
        })
        .collect();
    let heard = lesson.heard(&foreign);
    assert!(!heard.tells(), "{}", heard.sure);
    assert!(
        heard.summary[0].starts_with("Nothing of this piece"),
        "{:?}",
        heard.summary
    );
    assert!(heard.work.is_empty());
    for rubric in crate::judge::published() {
        assert!(crate::judge::judge(&heard, &rubric).lines.is_empty());
    }
}

#[test]
fn rubrics_by_their_own_rows() {
    let mut heard = Heard {
        sure: 0.9,
        ..Heard::default()
    };
    heard.counts.bars = 16;
    let points = |heard: &Heard| -> Vec<f64> {
        crate::judge::published()
            .iter()
            .flat_map(|rubric| crate::judge::judge(heard, rubric).lines)
            .map(|line| line.points)
            .collect()
    };
    assert_eq!(points(&heard), [4.0, 4.0, 4.0, 5.0, 5.0]);
    heard.counts.hesitations = 2;
    heard.counts.restarts = 1;
    heard.counts.rhythm_bars = 7;
    heard.counts.wrong = 4;
    heard.counts.missing = 2;
    assert_eq!(points(&heard), [2.0, 1.0, 1.0, 2.0, 3.0]);
}

#[test]
fn pitches_are_spelled_as_the_signature_has_it() {
    let name = |number, fifths| spelled(number, fifths).unwrap().sign();
    assert_eq!(name(70, -3), "B♭4");
    assert_eq!(name(70, 4), "A♯4");
    assert_eq!(name(60, 0), "C4");
    assert_eq!(name(61, 0), "C♯4");
    assert_eq!(name(63, 0), "E♭4");
    assert_eq!(name(71, 0), "B4");
    for number in 20..110 {
        for fifths in -7..=7 {
            assert_eq!(
                spelled(number, fifths).unwrap().semitones().floor(),
                number,
                "{fifths}"
            );
        }
    }
}
