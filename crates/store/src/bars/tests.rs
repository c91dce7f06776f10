//! Does every hold go where a reader would put it, and is what could not be placed always said?

#![allow(clippy::unwrap_used, reason = "tests")]

use super::{Bars, Fate, Hold, OneBar, carry};
use notation::testing::{Palette, piece};
use notation::{Piece, Pitch, Quarters, Rational, Step};
use proptest::prelude::*;

fn bars(sketch: &str) -> Bars {
    Bars::of(&notation::sketch(sketch).unwrap(), 0)
}

fn whole(offset: i64) -> Quarters {
    Quarters::whole(offset)
}

fn on(bars: &Bars, bar: u32, offset: i64, pitch: &str) -> Hold {
    bars.hold(bar, whole(offset), Pitch::parse(pitch)).unwrap()
}

/// Where the holds go: bar, offset, note, and what became of it.
fn go(old: &str, new: &str, hold: (u32, i64, &str)) -> (u32, String, Option<String>, Fate) {
    let (old, new) = (bars(old), bars(new));
    let carried = carry(&old, &new, &[on(&old, hold.0, hold.1, hold.2)]).remove(0);
    (
        carried.hold.bar,
        carried.hold.offset.to_string(),
        carried.hold.pitch,
        carried.fate,
    )
}

fn at(bar: u32, offset: &str, pitch: &str, fate: Fate) -> (u32, String, Option<String>, Fate) {
    (bar, offset.to_owned(), Some(pitch.to_owned()), fate)
}

const AIR: &str = "C4/q D4/q E4/q F4/q | G4/h A4/h | B4/w |";

#[test]
fn an_unchanged_page_keeps_everything_where_it_is() {
    assert_eq!(go(AIR, AIR, (1, 2, "A4")), at(1, "2", "A4", Fate::Stays));
}

#[test]
fn a_note_goes_with_its_bar() {
    let new = "r/w | r/w | C4/q D4/q E4/q F4/q | G4/h A4/h | B4/w |";
    assert_eq!(go(AIR, new, (1, 2, "A4")), at(3, "2", "A4", Fate::Moved));
}

#[test]
fn a_note_goes_with_its_pitch_inside_a_changed_bar() {
    // A rest was missing: everything after it stands later.
    let new = "C4/q D4/q r/q E4/q | G4/h A4/h | B4/w |";
    assert_eq!(go(AIR, new, (0, 2, "E4")), at(0, "3", "E4", Fate::Moved));
    assert_eq!(
        go(AIR, new, (0, 3, "F4")),
        (0, "3".to_owned(), Some("F4".to_owned()), Fate::Unplaced)
    );
}

#[test]
fn a_corrected_pitch_keeps_its_mark_to_be_looked_at() {
    let new = "C4/q Db4/q E4/q F4/q | G4/h A4/h | B4/w |";
    assert_eq!(go(AIR, new, (0, 1, "D4")), at(0, "1", "Db4", Fate::Doubtful));
    assert_eq!(go(AIR, new, (0, 2, "E4")), at(0, "2", "E4", Fate::Stays));
}

#[test]
fn a_mark_never_goes_to_another_bar_that_only_looks_as_busy() {
    // The middle bar is gone; none of the others is it.
    let new = "C4/q D4/q E4/q F4/q | B4/w |";
    assert_eq!(
        go(AIR, new, (1, 0, "G4")),
        (1, "0".to_owned(), Some("G4".to_owned()), Fate::Unplaced)
    );
}

#[test]
fn a_bar_moved_to_another_place_takes_its_marks_along() {
    let old = "C4/q D4/q E4/q F4/q | G4/h A4/h | B4/w | C5/h D5/h | E5/w |";
    let new = "G4/h A4/h | B4/w | C5/h D5/h | E5/w | C4/q D4/q E4/q F4/q |";
    assert_eq!(go(old, new, (0, 2, "E4")), at(4, "2", "E4", Fate::Moved));
}

#[test]
fn a_page_written_a_tone_higher_keeps_the_bars() {
    let new = "D4/q E4/q F#4/q G4/q | A4/h B4/h | C#5/w |";
    assert_eq!(go(AIR, new, (1, 2, "A4")), at(1, "2", "B4", Fate::Doubtful));
}

#[test]
fn grace_notes_and_main_notes_are_told_apart() {
    let old = bars("g:D5/e C5/q D5/q E5/h |");
    let main = on(&old, 0, 1, "D5");
    let grace = on(&old, 0, 0, "D5");
    assert_eq!((main.grace, grace.grace), (None, Some(0)));
    let new = bars("r/w | a:C5/s a:D5/s C5/q D5/q E5/h |");
    let carried = carry(&old, &new, &[main, grace]);
    assert_eq!(carried[0].hold.pitch.as_deref(), Some("D5"));
    assert_eq!((carried[0].hold.bar, carried[0].hold.grace), (1, None));
    assert_eq!(
        (carried[1].hold.pitch.as_deref(), carried[1].hold.grace),
        (Some("D5"), Some(1))
    );
}

#[test]
fn a_hold_is_kept_as_json_and_read_again() {
    let old = bars("C4/e:3 D4/e:3 E4/e:3 F4/h. |");
    let hold = old.hold(0, Rational::new(1, 3), Pitch::parse("D4")).unwrap();
    let text = serde_json::to_string(&hold).unwrap();
    assert!(
        text.starts_with(r#"{"bar":0,"label":"1","offset":"1/3","pitch":"D4","#),
        "{text}"
    );
    assert_eq!(serde_json::from_str::<Hold>(&text).unwrap(), hold);
    assert!(serde_json::from_str::<Hold>(&text.replace("1/3", "soon")).is_err());
}

#[test]
fn long_pieces_are_laid_side_by_side_in_time() {
    // Four hundred bars, all different, one in ten changed, twenty put before them.
    let page = |from: i32, changed: bool| -> Bars {
        let mut page = Bars::default();
        for bar in 0..400 {
            let mut notes: Vec<i32> = (0..8).map(|nth| bar * 31 + nth * (bar % 7 + 1)).collect();
            if changed && bar % 10 == 0 {
                notes[3] += 1;
            }
            if bar == 0 {
                (0..from).for_each(|extra| page.bars.push(made(&[-extra - 1; 4])));
            }
            page.bars.push(made(&notes));
        }
        page
    };
    let (old, new) = (page(0, false), page(20, true));
    let started = std::time::Instant::now();
    let map = super::align::align(&old, &new);
    assert!(map.iter().enumerate().all(|(bar, to)| *to == Some(bar + 20)));
    // Half a second without optimisation; a limit that only a wrong order of growth breaks.
    assert!(started.elapsed().as_secs() < 10, "{:?}", started.elapsed());
}

/// A bar of eighths by numbers: equal numbers, equal notes.
fn made(notes: &[i32]) -> OneBar {
    let mut text = String::from("|");
    for step in notes {
        let octave = i8::try_from(step.div_euclid(7).rem_euclid(9)).unwrap();
        let pitch = Pitch::new(Step::from_index(*step), 0, octave);
        text.push_str(&format!(" {}/e", super::pitch_name(pitch)));
    }
    let sketch = notation::sketch(text.trim_start_matches('|')).unwrap();
    let mut bar = Bars::of(&sketch, 0).bars.remove(0);
    bar.label = "1".to_owned();
    bar
}

/// What was done to a page.
#[derive(Clone, Debug)]
enum Done {
    Insert(usize, i32),
    Delete(usize),
    Modify(usize, usize),
    /// Everything a step up in one bar.
    Shift(usize),
}

fn done() -> impl Strategy<Value = Done> {
    prop_oneof![
        (0..40_usize, 1000..2000_i32).prop_map(|(at, seed)| Done::Insert(at, seed)),
        (0..40_usize).prop_map(Done::Delete),
        (0..40_usize, 0..8_usize).prop_map(|(at, note)| Done::Modify(at, note)),
        (0..40_usize).prop_map(Done::Shift),
    ]
}

/// The notes of a bar that no other bar has: its number in the first notes.
fn notes_of(number: i32) -> Vec<i32> {
    (0..8)
        .map(|nth| (number * 17 + nth * nth * 5 + (number >> nth) % 4) % 61)
        .collect()
}

/// Every page a little film: which old bar each new bar is, and whether it is just what it was.
fn film(numbers: &[i32], steps: &[Done]) -> Vec<(Option<usize>, bool, Vec<i32>)> {
    let mut page: Vec<(Option<usize>, bool, Vec<i32>)> = numbers
        .iter()
        .enumerate()
        .map(|(bar, number)| (Some(bar), true, notes_of(*number)))
        .collect();
    for step in steps {
        match step {
            Done::Insert(at, seed) => {
                let at = (*at).min(page.len());
                page.insert(at, (None, false, notes_of(*seed)));
            }
            Done::Delete(at) if *at < page.len() => drop(page.remove(*at)),
            Done::Modify(at, note) if *at < page.len() => {
                page[*at].1 = false;
                page[*at].2[*note] = (page[*at].2[*note] + 2) % 61;
            }
            Done::Shift(at) if *at < page.len() => {
                page[*at].1 = false;
                page[*at].2.iter_mut().for_each(|note| *note = (*note + 1) % 61);
            }
            _ => {}
        }
    }
    page
}

fn page(bars: &[Vec<i32>]) -> Bars {
    let mut page = Bars::default();
    for (at, notes) in bars.iter().enumerate() {
        let mut bar = made(notes);
        bar.label = (at + 1).to_string();
        page.bars.push(bar);
    }
    page
}

/// A hold on every note, and on a free place of every bar.
fn all_holds(bars: &Bars) -> Vec<Hold> {
    let mut holds = Vec::new();
    for (bar, of) in (0_u32..).zip(bars.all()) {
        holds.push(bars.hold_on(bar, Quarters::ZERO, None));
        holds.extend(
            of.notes
                .iter()
                .map(|note| bars.hold_on(bar, note.offset, Some(note))),
        );
    }
    holds
}

fn random(bytes: &[u8]) -> Piece {
    piece(bytes, &Palette::default())
}

proptest! {
    /// Bars inserted, deleted, changed: what is certain about a mark is true.
    #[test]
    fn marks_follow_their_bars(
        numbers in prop::collection::btree_set(0..900_i32, 1..24).prop_shuffle_vec(),
        steps in prop::collection::vec(done(), 0..6),
    ) {
        let film = film(&numbers, &steps);
        let old_notes: Vec<Vec<i32>> = numbers.iter().map(|number| notes_of(*number)).collect();
        let new_notes: Vec<Vec<i32>> = film.iter().map(|(_, _, notes)| notes.clone()).collect();
        let (old, new) = (page(&old_notes), page(&new_notes));
        let alone = |bar: usize, of: &[Vec<i32>]| of.iter().filter(|notes| **notes == old_notes[bar]).count() == 1;
        let holds = all_holds(&old);
        let carried = carry(&old, &new, &holds);
        prop_assert_eq!(carried.len(), holds.len());
        for (hold, now) in holds.iter().zip(&carried) {
            let bar = hold.bar as usize;
            let truth = film.iter().position(|(of, _, _)| *of == Some(bar));
            match truth {
                // An untouched bar that is like no other takes all its marks to where it is now.
                Some(to) if film[to].1 && alone(bar, &old_notes) && alone(bar, &new_notes) => {
                    prop_assert_eq!(now.hold.bar as usize, to);
                    prop_assert_eq!(&now.hold.pitch, &hold.pitch);
                    prop_assert_eq!(now.hold.offset, hold.offset);
                    prop_assert_eq!(now.fate, if to == bar { Fate::Stays } else { Fate::Moved });
                }
                _ => {}
            }
            // A placed mark is never in a bar that is, untouched and like no other, another old one.
            if now.fate != Fate::Unplaced
                && let (Some(other), true, _) = film[now.hold.bar as usize]
                && alone(other, &old_notes)
                && alone(other, &new_notes)
            {
                prop_assert_eq!(other, bar, "{:?} {:?}", hold, now);
            }
            // What is said to be the same note is one: on the new page, of the same name.
            if matches!(now.fate, Fate::Stays | Fate::Moved) {
                let found = new.find(&now.hold);
                prop_assert!(found.is_some_and(|found| found.sure), "{:?}", now);
                prop_assert_eq!(&now.hold.pitch, &hold.pitch);
            }
            if now.fate == Fate::Unplaced {
                prop_assert_eq!(&now.hold, hold);
            }
        }
    }

    /// One bar deleted, nothing else: its marks are unplaced, all others are certain.
    #[test]
    fn only_the_marks_of_a_deleted_bar_are_unplaced(
        numbers in prop::collection::btree_set(0..900_i32, 3..20).prop_shuffle_vec(),
        gone in 0..20_usize,
    ) {
        let gone = gone % numbers.len();
        let old_notes: Vec<Vec<i32>> = numbers.iter().map(|number| notes_of(*number)).collect();
        prop_assume!((1..old_notes.len()).all(|bar| !old_notes[..bar].contains(&old_notes[bar])));
        let mut new_notes = old_notes.clone();
        new_notes.remove(gone);
        let (old, new) = (page(&old_notes), page(&new_notes));
        let holds = all_holds(&old);
        for (hold, now) in holds.iter().zip(carry(&old, &new, &holds)) {
            prop_assert_eq!(now.fate == Fate::Unplaced, hold.bar as usize == gone, "{:?} {:?}", hold, now);
        }
    }

    /// Pieces of every kind: nothing moves when nothing changed.
    #[test]
    fn the_same_page_keeps_every_hold(bytes in prop::collection::vec(any::<u8>(), 0..300)) {
        let music = random(&bytes);
        for part in 0..music.parts.len() {
            let bars = Bars::of(&music, part);
            for (hold, now) in all_holds(&bars).iter().zip(carry(&bars, &bars, &all_holds(&bars))) {
                prop_assert_eq!(now.fate, Fate::Stays);
                prop_assert_eq!(&now.hold, hold);
                prop_assert!(bars.find(hold).is_some());
            }
        }
    }

    /// From any piece to any other: no panic, every hold accounted for, every placed one on the new page.
    #[test]
    fn from_any_piece_to_any_other_nothing_is_lost(
        one in prop::collection::vec(any::<u8>(), 0..200), other in prop::collection::vec(any::<u8>(), 0..200),
    ) {
        let (old, new) = (Bars::of(&random(&one), 0), Bars::of(&random(&other), 0));
        let holds = all_holds(&old);
        let carried = carry(&old, &new, &holds);
        prop_assert_eq!(carried.len(), holds.len());
        for (hold, now) in holds.iter().zip(carried) {
            if now.fate == Fate::Unplaced {
                prop_assert_eq!(&now.hold, hold);
            } else {
                prop_assert!(new.find(&now.hold).is_some());
            }
        }
    }
}

/// A set as a list in some order.
trait ShuffleVec {
    fn prop_shuffle_vec(self) -> BoxedStrategy<Vec<i32>>;
}

impl<S: Strategy<Value = std::collections::BTreeSet<i32>> + 'static> ShuffleVec for S {
    fn prop_shuffle_vec(self) -> BoxedStrategy<Vec<i32>> {
        self.prop_map(|set| set.into_iter().collect::<Vec<i32>>())
            .prop_shuffle()
            .boxed()
    }
}
