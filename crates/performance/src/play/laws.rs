//! Laws that hold for any page: times scale, maps come back, notes neither overlap nor run backwards.

use super::{Performance, PlayOptions, PlayTempo, Repeats, perform};
use crate::ornament::{Begin, Choice, Period};
use notation::testing::{Palette, piece};
use notation::{BarIndex, Place, Quarters, Rational};
use proptest::prelude::*;

fn options(which: u8) -> PlayOptions {
    PlayOptions {
        period: Period::ALL[usize::from(which) % 3],
        count_in: u32::from(which / 3 % 3),
        times: 1 + u32::from(which / 9 % 2),
        count_in_again: which.is_multiple_of(2),
        repeats: if which.is_multiple_of(7) {
            Repeats::StraightThrough
        } else {
            Repeats::Taken
        },
        bars: which.is_multiple_of(5).then_some((BarIndex(1), BarIndex(3))),
        ..PlayOptions::default()
    }
}

/// One voice, no ties of single heads, so that nothing may overlap.
fn single() -> Palette {
    Palette {
        voices: 1,
        parts: 1,
        chords: false,
        two_staves: false,
        ..Palette::default()
    }
}

fn check_notes(played: &Performance) -> Result<(), TestCaseError> {
    let end = played.quarters();
    for note in &played.notes {
        prop_assert!(!note.onset.is_negative() && note.length.is_positive(), "{note:?}");
        prop_assert!(note.length <= note.held, "{note:?}");
        prop_assert!(note.onset + note.held <= end, "{note:?}");
        prop_assert!(!note.loudness.is_empty() && note.loudness.iter().all(|(_, l)| l.is_finite()));
        let (from, to) = played.seconds_of(note);
        prop_assert!(from.is_finite() && to > from, "{note:?} {from} {to}");
    }
    Ok(())
}

proptest! {
    /// Whatever stands on the page: no panic, no note backwards or past the end, slots without gaps.
    #[test]
    fn any_page_is_played(bytes in proptest::collection::vec(any::<u8>(), 0..1500), which: u8) {
        let piece = piece(&bytes, &Palette::default());
        for part in 0..piece.parts.len() {
            let Some(played) = perform(&piece, part, &options(which)) else { continue };
            check_notes(&played)?;
            let mut now = Quarters::ZERO;
            for slot in &played.slots {
                prop_assert_eq!(slot.start, now);
                now = slot.end();
            }
            prop_assert!(played.beats.iter().all(|beat| beat.at < now));
        }
    }

    /// In a single line no note begins before the one before it has ended.
    #[test]
    fn a_line_never_overlaps(bytes in proptest::collection::vec(any::<u8>(), 0..1500), which: u8) {
        let piece = piece(&bytes, &single());
        if let Some(played) = perform(&piece, 0, &options(which)) {
            for pair in played.notes.windows(2) {
                prop_assert!(pair[0].end() <= pair[1].onset, "{:?}\n{:?}", pair[0], pair[1]);
            }
        }
    }

    /// Half the tempo, twice the time, for every note; the sum of the bars is the whole.
    #[test]
    fn tempo_scales_every_time(bytes in proptest::collection::vec(any::<u8>(), 0..800), percent in 20i64..300) {
        // How many notes a trill or tremolo has depends on the speed.
        let palette = Palette { ornaments: false, graces: false, other_spans: false, ..Palette::default() };
        let piece = piece(&bytes, &palette);
        let scaled = PlayOptions { tempo: PlayTempo::Percent(Rational::whole(percent)), ..PlayOptions::default() };
        let (Some(one), Some(other)) = (perform(&piece, 0, &PlayOptions::default()), perform(&piece, 0, &scaled)) else {
            return Ok(());
        };
        let factor = 100.0 / f64::from(i32::try_from(percent).expect("small"));
        prop_assert_eq!(one.notes.len(), other.notes.len());
        for (a, b) in one.notes.iter().zip(&other.notes) {
            let (from, _) = one.seconds_of(a);
            let (scaled, _) = other.seconds_of(b);
            prop_assert!((from * factor - scaled).abs() < 1e-6 * scaled.max(1.0), "{} {}", from * factor, scaled);
        }
        let sum: f64 = one.slots.iter().map(|slot| one.clock.begins(slot.end()) - one.clock.begins(slot.start)).sum();
        let last = one.clock.begins(one.quarters());
        prop_assert!((sum - last).abs() < 1e-6);
    }

    /// Quarters to seconds and back; page to time and back.
    #[test]
    fn the_maps_come_back(bytes in proptest::collection::vec(any::<u8>(), 0..800), which: u8) {
        let piece = piece(&bytes, &Palette::default());
        let Some(played) = perform(&piece, 0, &options(which)) else { return Ok(()) };
        let mut before = -1.0;
        for slot in &played.slots {
            for n in 0..3 {
                let at = slot.start + slot.length * Rational::new(n, 3);
                let seconds = played.clock.begins(at);
                prop_assert!(seconds >= before);
                before = seconds;
                prop_assert!((played.clock.quarters_at(seconds) - at.to_f64()).abs() < 1e-6);
                if slot.length.is_positive() {
                    let (index, place) = played.written_at(at).expect("in the performance");
                    prop_assert_eq!(played.slots[index].start, slot.start);
                    if !slot.count_in {
                        prop_assert!(played.times_of(place).contains(&at));
                    }
                }
            }
        }
        prop_assert!(played.times_of(Place::start_of(BarIndex(900))).is_empty());
    }

    /// Whatever a teacher chooses for every note at once: the notes still fill their time.
    #[test]
    fn any_choice_is_played(bytes in proptest::collection::vec(any::<u8>(), 0..1200), which: u8, rate in 1i64..400) {
        let piece = piece(&bytes, &single());
        let flag = |bit: u8| (which >> bit & 1 == 1).then_some(which >> (7 - bit) & 1 == 1);
        let choice = Choice {
            period: Some(Period::ALL[usize::from(which) % 3]),
            from: flag(0).map(|upper| if upper { Begin::Upper } else { Begin::Main }),
            termination: flag(1),
            notes_a_second: flag(2).map(|_| Rational::new(rate, 4)),
            upper: flag(3).and_then(|_| notation::Pitch::parse("C6")),
            lower: None,
            long: flag(4),
            before_the_beat: flag(5),
            plain: which.is_multiple_of(11),
        };
        let choices = piece.parts[0].events.iter().map(|event| (event.id, choice.clone())).collect();
        let options = PlayOptions { choices, ..PlayOptions::default() };
        let plain = PlayOptions::default();
        if let (Some(played), Some(plain)) = (perform(&piece, 0, &options), perform(&piece, 0, &plain)) {
            check_notes(&played)?;
            for pair in played.notes.windows(2) {
                prop_assert!(pair[0].end() <= pair[1].onset, "{:?}\n{:?}", pair[0], pair[1]);
            }
            prop_assert_eq!(played.quarters(), plain.quarters());
        }
    }

    /// Loops repeat the same notes.
    #[test]
    fn a_loop_repeats_itself(bytes in proptest::collection::vec(any::<u8>(), 0..800)) {
        let piece = piece(&bytes, &Palette { ties: false, ..single() });
        let twice = PlayOptions { times: 2, ..PlayOptions::default() };
        let (Some(one), Some(two)) = (perform(&piece, 0, &PlayOptions::default()), perform(&piece, 0, &twice)) else {
            return Ok(());
        };
        prop_assert_eq!(one.notes.iter().filter(|n| n.role == super::Role::Written).count() * 2,
            two.notes.iter().filter(|n| n.role == super::Role::Written).count());
    }
}
