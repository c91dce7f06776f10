//! Takes without sound: tracks made from the notes that were played, so that only the laying against the page is tried.

use super::*;
use crate::expected::expected;
use crate::track::{Candidate, Frame, hertz_of};
use crate::{OnsetBy, Track};
use notation::sketch;
use performance::play::{PlayOptions, perform};

const HOP: f64 = 0.01;

/// A note as it is played: from, to, key number.
pub(crate) type Tone = (f64, f64, f64);

fn line(text: &str) -> Vec<Expected> {
    let piece = sketch(text).unwrap();
    let played = perform(&piece, 0, &PlayOptions::default()).unwrap();
    expected(&played).0
}

/// A track of tones: each with its pitch, silence between them, an onset at each beginning.
pub(crate) fn heard(tones: &[Tone]) -> (Track, Vec<Onset>) {
    let end = tones.last().map_or(0.0, |tone| tone.1) + 0.5;
    let frames = (0..crate::numbers::count(end / HOP))
        .map(|n| {
            let secs = real(n) * HOP;
            let tone = tones.iter().rev().find(|tone| tone.0 <= secs && secs < tone.1);
            let mut frame = Frame {
                secs,
                level_db: if tone.is_some() { -20.0 } else { -70.0 },
                key: tone.map(|tone| tone.2),
                ..Frame::default()
            };
            if let Some(tone) = tone {
                frame.candidates[0] = Candidate {
                    hertz: crate::numbers::narrow(hertz_of(tone.2)),
                    probability: 0.9,
                };
            }
            frame
        })
        .collect();
    let track = Track {
        hop_secs: HOP,
        frames,
        a4: 440.0,
        floor_db: -70.0,
        ..Track::default()
    };
    let mut before: Option<Tone> = None;
    let onsets = tones
        .iter()
        .map(|tone| {
            let slurred = before.is_some_and(|before| tone.0 - before.1 < 0.015);
            let key = before.map(|before| before.2);
            before = Some(*tone);
            Onset {
                secs: tone.0,
                strength: 0.8,
                by: OnsetBy {
                    pitch: key.is_none_or(|key| (key - tone.2).abs() > 0.5),
                    energy: !slurred,
                    flux: !slurred,
                },
                key: Some(tone.2),
            }
        })
        .collect();
    (track, onsets)
}
use crate::numbers::real;

/// The notes as the model has them, at another pace, from another time on.
pub(crate) fn tones(line: &[Expected], pace: f64, from: f64) -> Vec<Tone> {
    line.iter()
        .map(|note| {
            let onset = from + note.secs * pace;
            (onset, onset + note.length_secs * pace * 0.97, note.key)
        })
        .collect()
}

fn laid(line: &[Expected], tones: &[Tone]) -> Alignment {
    let (track, onsets) = heard(tones);
    align(line, &track, &onsets)
}

/// What was made of the notes: `r` right, `w` wrong, `m` missing, `u` not parted, `+` extra.
fn said(alignment: &Alignment) -> String {
    let sign = |note: &Sounded| match note.was {
        Was::Right => 'r',
        Was::Wrong => 'w',
        Was::Missing => 'm',
        Was::Unparted => 'u',
        Was::Extra => '+',
    };
    alignment.sounded.iter().map(sign).collect()
}

const TUNE: &str = "metre:4/4 mm:q=100 C5/q D5/q E5/q F5/q | G5/q G5/q A5/e G5/e F5/q | E5/q E5/q F5/e E5/e D5/q | C5/h G4/h | \
                    A4/q B4/q C5/q A4/q | D5/q D5/q E5/q C5/q | F5/e E5/e D5/e C5/e B4/q G4/q | C5/w |";

#[test]
fn all_as_written_at_any_pace() {
    let line = line(TUNE);
    for pace in [0.6, 0.8, 1.0, 1.3, 1.9] {
        let alignment = laid(&line, &tones(&line, pace, 1.0));
        assert_eq!(said(&alignment), "r".repeat(line.len()), "pace {pace}");
        assert!(alignment.jumps.is_empty(), "pace {pace}");
        assert!(
            (alignment.pace / pace - 1.0).abs() < 0.03,
            "{} for {pace}",
            alignment.pace
        );
    }
}

/// Who is silent for four notes and comes in again in time left them out, and went nowhere.
#[test]
fn several_notes_left_out_in_a_row_are_no_jump() {
    let line = line(TUNE);
    for (from, count) in [(6, 2), (9, 3), (20, 4)] {
        let mut played = tones(&line, 1.1, 0.5);
        played.drain(from..from + count);
        let alignment = laid(&line, &played);
        let after = line.len() - from - count;
        assert_eq!(
            said(&alignment),
            format!("{}{}{}", "r".repeat(from), "m".repeat(count), "r".repeat(after))
        );
        assert!(alignment.jumps.is_empty(), "{:?}", alignment.jumps);
    }
}

/// Nothing began when the first of two notes of one pitch was due, so that is the one left out.
#[test]
fn of_two_notes_alike_the_one_in_whose_time_nothing_began_is_missing() {
    let line =
        line("metre:4/4 mm:q=132 C5/q D5/q E5/q F5/q | G5/e G5/e A5/q F5/q E5/q | D5/e D5/e E5/q C5/h |");
    let mut played = tones(&line, 1.0, 0.5);
    // The note before is held into the gap.
    played[3].1 = played[5].0 - 0.01;
    played.remove(4);
    let alignment = laid(&line, &played);
    assert_eq!(said(&alignment), format!("rrrrm{}", "r".repeat(line.len() - 5)));
    let places: Vec<usize> = alignment.sounded.iter().map(|note| note.expected).collect();
    assert_eq!(places, (0..line.len()).collect::<Vec<_>>());
}

#[test]
fn a_wrong_note_a_note_left_out_a_note_too_many() {
    let line = line(TUNE);
    let mut played = tones(&line, 1.1, 0.5);
    played[7].2 += 1.0;
    let alignment = laid(&line, &played);
    assert_eq!(
        said(&alignment),
        format!("rrrrrrrw{}", "r".repeat(line.len() - 8))
    );
    let mut played = tones(&line, 1.1, 0.5);
    played.remove(10);
    let alignment = laid(&line, &played);
    assert_eq!(
        said(&alignment),
        format!("{}m{}", "r".repeat(10), "r".repeat(line.len() - 11))
    );
    let mut played = tones(&line, 1.1, 0.5);
    let (from, to, _) = played[3];
    played[3].1 = f64::midpoint(from, to) - 0.05;
    played.insert(4, (f64::midpoint(from, to), to, 75.0));
    let alignment = laid(&line, &played);
    assert_eq!(said(&alignment), format!("rrrr+{}", "r".repeat(line.len() - 4)));
}

#[test]
fn what_rings_on_in_the_room_is_no_note() {
    let line = line(TUNE);
    let mut played = tones(&line, 1.0, 0.5);
    let (from, to, _) = played.remove(3);
    let before = played[2];
    let (mut track, onsets) = heard(&played);
    // The tone before dies away at 40 dB a second where a note was left out.
    for frame in &mut track.frames {
        if frame.secs >= before.1 && frame.secs < to {
            frame.key = Some(before.2);
            frame.level_db = crate::numbers::narrow(-28.0 - 40.0 * (frame.secs - before.1));
        }
    }
    let alignment = align(&line, &track, &onsets);
    assert_eq!(said(&alignment), format!("rrrm{}", "r".repeat(line.len() - 4)));
    assert!(
        alignment.sounded[2].end_secs < from + 0.05,
        "it ends where it was let go"
    );
}

#[test]
fn a_click_where_a_note_was_left_out_is_no_wrong_note() {
    let line = line(TUNE);
    let mut played = tones(&line, 1.0, 0.5);
    let (from, ..) = played[3];
    played[3] = (from + 0.2, from + 0.25, 83.2);
    assert_eq!(
        said(&laid(&line, &played)),
        format!("rrrm{}", "r".repeat(line.len() - 4))
    );
}

#[test]
fn of_two_notes_of_a_pitch_one_long_tone_leaves_the_second_open_and_silence_has_it_missing() {
    let line = line(TUNE);
    // The two G of bar 2.
    let mut played = tones(&line, 1.0, 0.5);
    let (_, to, _) = played.remove(5);
    let silent = said(&laid(&line, &played));
    assert_eq!(silent, format!("rrrrrm{}", "r".repeat(line.len() - 6)));
    played[4].1 = to;
    let held = said(&laid(&line, &played));
    assert_eq!(held, format!("rrrrru{}", "r".repeat(line.len() - 6)));
}

#[test]
fn another_pitch_that_is_over_before_its_note_is_due_is_a_note_too_many() {
    let line = line(TUNE);
    let mut played = tones(&line, 1.0, 0.5);
    let (from, to, _) = played[2];
    let half = f64::midpoint(from, to);
    played[2].1 = half;
    played[3] = (half + 0.02, to, 74.0);
    assert_eq!(
        said(&laid(&line, &played)),
        format!("rrr+m{}", "r".repeat(line.len() - 4))
    );
}

#[test]
fn a_wrong_note_that_goes_on_into_another_pitch_is_one_too_many_besides() {
    let line = line(TUNE);
    let mut played = tones(&line, 1.2, 0.5);
    let (from, to, key) = played[9];
    let middle = f64::midpoint(from, to);
    played[9] = (from, middle - 0.01, key - 1.0);
    played.insert(10, (middle, to, key + 1.0));
    let alignment = laid(&line, &played);
    assert_eq!(
        said(&alignment),
        format!("{}w+{}", "r".repeat(9), "r".repeat(line.len() - 10))
    );
}

/// Where a tone rings on into the next a pitch of none of the two is heard for a moment; a tracker takes a tone for its octave.
#[test]
fn a_wrong_note_that_is_made_out_late_is_one_note() {
    let line = line(TUNE);
    let all = tones(&line, 1.2, 0.5);
    let (from, to, key) = all[9];
    for (secs, first, then) in [(0.09, key - 1.0, key + 1.0), (0.3, key + 1.0, key + 13.0)] {
        let mut played = all.clone();
        played[9] = (from, from + secs, first);
        played.insert(10, (from + secs, to, then));
        let (track, mut onsets) = heard(&played);
        onsets.remove(10);
        assert_eq!(
            said(&align(&line, &track, &onsets)),
            format!("{}w{}", "r".repeat(9), "r".repeat(line.len() - 10)),
            "{first} then {then}"
        );
    }
}

/// Many notes of one pitch in a row whose attacks aren't heard are one long tone, not a leap over them.
#[test]
fn a_row_of_one_pitch_without_attacks_is_counted_by_its_length() {
    let line = line(
        "metre:4/4 mm:q=100 C5/q D5/q E5/q F5/q | G5/e G5/e G5/e G5/e G5/e G5/e G5/e G5/e | E5/q D5/q E5/q F5/q | C5/w |",
    );
    let mut played = tones(&line, 1.1, 0.5);
    played[4].1 = played[11].1;
    played.drain(5..=11);
    let alignment = laid(&line, &played);
    assert_eq!(said(&alignment), format!("rrrrr{}rrrrr", "u".repeat(7)));
    assert!(alignment.jumps.is_empty());
}

/// Who stops before a note that is then left out stops for that note.
#[test]
fn a_note_left_out_after_a_stop_is_missing_where_it_went_on() {
    let line = line(TUNE);
    let mut played = tones(&line, 1.0, 0.5);
    for tone in played.iter_mut().skip(14) {
        tone.0 += 1.0;
        tone.1 += 1.0;
    }
    let due = played[14].0;
    played.remove(14);
    let alignment = laid(&line, &played);
    let missing: Vec<f64> = alignment
        .sounded
        .iter()
        .filter(|note| note.was == Was::Missing)
        .map(|note| note.onset_secs)
        .collect();
    assert!(
        matches!(missing.as_slice(), [secs] if (secs - due).abs() < 0.15),
        "{missing:?}, due at {due}"
    );
}

#[test]
fn going_back_and_playing_a_bar_again() {
    let line = line(TUNE);
    let model = tones(&line, 1.0, 0.5);
    // Up to the sixth note of bar 3 on, then from bar 3 again after a stop.
    let again = line.iter().position(|note| note.place.bar.0 == 2).unwrap();
    let stop = again + 4;
    let mut played: Vec<Tone> = model[..stop].to_vec();
    let shift = played.last().unwrap().1 + 0.9 - model[again].0;
    played.extend(
        model[again..]
            .iter()
            .map(|(from, to, key)| (from + shift, to + shift, *key)),
    );
    let alignment = laid(&line, &played);
    assert_eq!(alignment.jumps.len(), 1, "{:?}", alignment.jumps);
    let jump = alignment.jumps[0];
    assert_eq!((jump.kind, jump.from, jump.to), (JumpKind::Back, stop - 1, again));
    assert_eq!(said(&alignment), "r".repeat(played.len()));
}

#[test]
fn beginning_in_the_middle_and_stopping_early() {
    let line = line(TUNE);
    let from = line.iter().position(|note| note.place.bar.0 == 4).unwrap();
    let model = tones(&line, 1.2, 0.0);
    let alignment = laid(&line, &model[from..from + 9]);
    assert_eq!(said(&alignment), "rrrrrrrrr");
    assert_eq!(alignment.sounded[0].expected, from);
}

#[test]
fn a_repeat_left_out() {
    let line = line(
        "metre:2/4 mm:q=90 |: C5/q E5/q | G5/q E5/q | F5/q D5/q | C5/h :| A4/q C5/q | F5/q A5/q | G5/h |",
    );
    assert_eq!(line.len(), 7 + 7 + 5);
    let model = tones(&line, 1.0, 0.2);
    let mut played: Vec<Tone> = model[..7].to_vec();
    let shift = model[14].0 - model[7].0;
    played.extend(
        model[14..]
            .iter()
            .map(|(from, to, key)| (from - shift, to - shift, *key)),
    );
    let alignment = laid(&line, &played);
    assert_eq!(said(&alignment), "r".repeat(12));
    assert_eq!(
        alignment.jumps.iter().map(|jump| jump.kind).collect::<Vec<_>>(),
        [JumpKind::Page]
    );
}

#[test]
fn an_instrument_out_of_tune_is_no_wrong_note() {
    let line = line(TUNE);
    for cents in [-40.0, 40.0] {
        let mut played = tones(&line, 1.0, 0.5);
        played.iter_mut().for_each(|tone| tone.2 += cents / 100.0);
        let alignment = laid(&line, &played);
        assert_eq!(said(&alignment), "r".repeat(line.len()));
        assert!(
            (alignment.tuning - cents / 100.0).abs() < 0.02,
            "{}",
            alignment.tuning
        );
    }
}

/// Half a semitone too flat may pass for half a semitone too sharp: what is on the page tells them apart.
#[test]
fn an_instrument_half_a_semitone_flat_is_not_taken_for_a_sharp_one() {
    let line = line(TUNE);
    let mut played = tones(&line, 1.0, 0.5);
    played.iter_mut().for_each(|tone| tone.2 -= 0.51);
    let (mut track, onsets) = heard(&played);
    track.a4 = 440.0 * (0.49_f64 / 12.0).exp2();
    let alignment = align(&line, &track, &onsets);
    assert_eq!(said(&alignment), "r".repeat(line.len()));
    assert!((alignment.tuning + 0.51).abs() < 0.02, "{}", alignment.tuning);
}

/// One long last note: bars were left out, rather than another pitch held four times too long and the piece given up.
#[test]
fn the_last_note_after_bars_left_out_is_the_last_note() {
    let line = line(TUNE);
    let model = tones(&line, 1.0, 0.5);
    let stop = line.iter().position(|note| note.place.bar.0 == 5).unwrap();
    let mut played: Vec<Tone> = model[..stop].to_vec();
    let (from, to, key) = *model.last().unwrap();
    let shift = model[stop].0 - from;
    played.push((from + shift, to + shift, key));
    let alignment = laid(&line, &played);
    assert_eq!(said(&alignment), "r".repeat(stop + 1));
    assert_eq!(alignment.sounded[stop].expected, line.len() - 1);
    assert_eq!(alignment.jumps.len(), 1);
}

/// Nobody hears from which note of a repeated bar a player went on in the second round: he did at the repeat sign.
#[test]
fn a_repeat_is_left_out_at_its_sign_wherever_the_take_begins() {
    let line = line(
        "metre:2/4 mm:q=90 |: C5/q E5/q | G5/q E5/q | F5/q D5/q | C5/h :| A4/q C5/q | F5/q A5/q | G5/h |",
    );
    let model = tones(&line, 1.0, 0.2);
    for begins in [0, 2, 5] {
        let mut played: Vec<Tone> = model[begins..7].to_vec();
        let shift = model[14].0 - model[7].0;
        played.extend(
            model[14..]
                .iter()
                .map(|(from, to, key)| (from - shift, to - shift, *key)),
        );
        for jump in laid(&line, &played).jumps {
            assert_eq!(
                (jump.from, jump.to, jump.kind),
                (6, 14, JumpKind::Page),
                "from {begins}"
            );
        }
    }
}

/// In its time it sounds as loud as before and after, but no pitch is made out: nothing is said of it. What is held over says more.
#[test]
fn a_note_in_whose_time_something_sounds_is_not_called_missing() {
    let line = line(TUNE);
    let mut played = tones(&line, 1.0, 0.5);
    let (_, to, _) = played.remove(3);
    let before = played[2];
    let (mut track, onsets) = heard(&played);
    for frame in &mut track.frames {
        if frame.secs >= before.1 && frame.secs < to {
            frame.level_db = -21.0;
        }
    }
    assert_eq!(
        said(&align(&line, &track, &onsets)),
        format!("rrru{}", "r".repeat(line.len() - 4))
    );
    // The room is as loud.
    track.floor_db = -22.0;
    assert_eq!(
        said(&align(&line, &track, &onsets)),
        format!("rrrm{}", "r".repeat(line.len() - 4))
    );
    track.floor_db = -70.0;
    // The note before goes on sounding.
    for frame in &mut track.frames {
        if frame.secs >= before.1 && frame.secs < to {
            frame.key = Some(before.2);
        }
    }
    assert_eq!(
        said(&align(&line, &track, &onsets)),
        format!("rrrm{}", "r".repeat(line.len() - 4))
    );
}

#[test]
fn silence_and_nothing() {
    let line = line(TUNE);
    assert!(laid(&line, &[]).sounded.is_empty());
    assert!(laid(&[], &tones(&line, 1.0, 0.0)).sounded.is_empty());
    let mut played = tones(&line, 1.0, 30.0);
    played.iter_mut().skip(12).for_each(|tone| {
        tone.0 += 20.0;
        tone.1 += 20.0;
    });
    assert_eq!(said(&laid(&line, &played)), "r".repeat(line.len()));
}

proptest::proptest! {
    /// Whatever sounds: what is said comes in order of time, of notes that there are, each jump between them.
    #[test]
    fn any_sound_is_laid_in_order(
        sounds in proptest::collection::vec((0.02_f64..0.9, 0.0_f64..0.6, 40.0_f64..90.0), 0..60),
        repeats in proptest::prelude::any::<bool>(),
    ) {
        let text = if repeats { "metre:2/4 mm:q=90 |: C5/q E5/q | G5/q E5/q :| A4/q C5/q | F5/h |" } else { TUNE };
        let line = line(text);
        let mut now = 0.3;
        let tones: Vec<Tone> = sounds
            .into_iter()
            .map(|(length, gap, key)| {
                let from = now + gap;
                now = from + length;
                (from, now, key)
            })
            .collect();
        let alignment = laid(&line, &tones);
        for pair in alignment.sounded.windows(2) {
            proptest::prop_assert!(pair[0].onset_secs <= pair[1].onset_secs + 1e-9, "{pair:?}");
        }
        for note in &alignment.sounded {
            proptest::prop_assert!(note.expected < line.len());
            proptest::prop_assert!(note.end_secs >= note.onset_secs);
            proptest::prop_assert!((0.0..=1.0 + 1e-9).contains(&note.sure));
        }
        for jump in &alignment.jumps {
            proptest::prop_assert!(jump.from < line.len() && jump.to < line.len() && jump.sounded <= alignment.sounded.len());
        }
        proptest::prop_assert!(alignment.pace > 0.0 && alignment.tuning.abs() < 2.0);
    }
}
