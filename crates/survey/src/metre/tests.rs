//! Metre questions on sketches that a musician can read.

use super::*;
use notation::sketch;
use proptest::prelude::*;

fn of(text: &str) -> MetreAnswer {
    let piece = sketch(text).unwrap();
    let ctx = Context::new(&piece, 0).unwrap();
    answer(&ctx, &crate::tempo::marked(&ctx))
}

/// Beats felt and their note.
fn felt(text: &str) -> (usize, String) {
    let found = of(text);
    (found.metres[0].beats_felt(), found.metres[0].feel().unit.name())
}

/// Source: common practice (6/8 in six slow, in two fast; waltz in one; slow ¢ in four).
#[test]
fn the_tempo_decides_what_is_felt() {
    let sixth = "C5/e C5/e C5/e C5/e C5/e C5/e |";
    let check = |head: &str, bar: &str, beats: usize, unit: &str| {
        assert_eq!(felt(&format!("{head} {bar}")), (beats, unit.to_owned()), "{head}");
    };
    check("metre:6/8", sixth, 2, "dotted quarter");
    check("metre:6/8 \"Allegro\"", sixth, 2, "dotted quarter");
    check("metre:6/8 \"Adagio\"", sixth, 6, "eighth");
    check("metre:6/8 mm:q.=104", sixth, 2, "dotted quarter");
    check("metre:6/8 mm:e=104", sixth, 6, "eighth");
    check("metre:6/8 mm:q=80", sixth, 2, "dotted quarter");
    check("metre:6/8 mm:q=50", sixth, 6, "eighth");
    check("metre:6/8 \"Adagio\" mm:q.=72", sixth, 2, "dotted quarter");
    check("metre:3/4 \"Presto\"", "C5/h. |", 1, "dotted half");
    check("metre:3/4 mm:q=180", "C5/h. |", 1, "dotted half");
    check("metre:3/4 mm:h.=60", "C5/h. |", 1, "dotted half");
    check("metre:3/4 \"Allegro\"", "C5/h. |", 3, "quarter");
    check("metre:3/4 \"Allegro\" \"in_1\"", "C5/h. |", 1, "dotted half");
    check("metre:3/8 \"Allegro\"", "C5/q. |", 1, "dotted quarter");
    check("metre:3/8", "C5/q. |", 3, "eighth");
    check("metre:¢", "C5/w |", 2, "half");
    check("metre:¢ \"Largo\"", "C5/w |", 4, "quarter");
    check("metre:¢ mm:h=96", "C5/w |", 2, "half");
    check("metre:¢ mm:q=72", "C5/w |", 4, "quarter");
    check("metre:C \"Alla_breve\"", "C5/w |", 2, "half");
    check("metre:4/4 \"Presto\" mm:h=132", "C5/w |", 2, "half");
    check("metre:4/4 \"Presto\"", "C5/w |", 4, "quarter");
    check("metre:9/8", "C5/w C5/e |", 3, "dotted quarter");
    check("metre:12/8", "C5/w. |", 4, "dotted quarter");
    check("metre:5/4 \"Allegro\"", "C5/h. C5/h |", 5, "quarter");
    check("metre:7/8", "C5/q C5/q C5/q. |", 3, "quarter");
    check("metre:7/8 mm:e=120", "C5/q C5/q C5/q. |", 7, "eighth");
}

#[test]
fn seven_eight_is_counted_by_its_beams() {
    let found = of("metre:7/8 [ C5/e C5/e C5/e ] [ C5/e C5/e ] [ C5/e C5/e ] | C5/q. C5/q C5/q |");
    let beats: Vec<(String, u8)> = found.grids[0]
        .felt
        .iter()
        .map(|beat| (beat.start.to_string(), beat.division))
        .collect();
    assert_eq!(
        beats,
        [("0".to_owned(), 3), ("3/2".to_owned(), 2), ("5/2".to_owned(), 2)]
    );
    assert!(
        found.metres[0].how_to_count.contains("1 la li 2 & 3 &"),
        "{}",
        found.metres[0].how_to_count
    );
    assert!(found.findings.is_empty());
}

#[test]
fn a_bar_with_its_own_grouping_gets_its_own_beats() {
    let twos = "[ C5/e C5/e ] [ C5/e C5/e ] [ C5/e C5/e C5/e ] |";
    let found = of(&format!(
        "metre:7/8 {twos} {twos} [ C5/e C5/e C5/e ] [ C5/e C5/e ] [ C5/e C5/e ] |"
    ));
    assert_eq!(found.grids[0].felt[0].length, Rational::ONE);
    assert_eq!(found.grids[2].felt[0].length, Rational::new(3, 2));
    assert!(
        found.metres[0].how_to_count.contains("one bar is shown as 3+2+2"),
        "{}",
        found.metres[0].how_to_count
    );
}

#[test]
fn a_pickup_is_counted_in_and_made_up_at_the_end() {
    let found = of("metre:3/4 G4/q | C5/h. | C5/h. | C5/h |.");
    let anacrusis = found.anacrusis.unwrap();
    assert_eq!(
        (anacrusis.enters_on.as_str(), anacrusis.beats),
        ("3", Rational::ONE)
    );
    assert_eq!(anacrusis.complements, [BarIndex(3)]);
    assert_eq!(found.count_in, "1 2 3 | 1 2");
    assert!(found.uneven.is_empty());
    assert_eq!(found.grids[0].beats().len(), 1);
    assert_eq!(found.grids[0].beats()[0].number, 3);
}

#[test]
fn a_pickup_off_the_beat() {
    let found = of("metre:4/4 G4/e | C5/w | C5/w |.");
    assert_eq!(found.anacrusis.as_ref().unwrap().enters_on, "& of 4");
    assert_eq!(found.count_in, "1 2 3 4 | 1 2 3 4");
    let found = of("metre:6/8 \"Allegro\" G4/e | C5/h. | C5/h. |.");
    assert_eq!(found.anacrusis.as_ref().unwrap().enters_on, "li of 2");
    assert_eq!(found.count_in, "1 2 3 4 5 6 | 1 2 3 4 5");
}

#[test]
fn a_bar_split_at_a_repeat_is_one_bar() {
    let found = of("metre:4/4 C5/w | C5/h. :| C5/q | C5/w | C5/w |.");
    assert_eq!(
        found.splits,
        [Split {
            first: BarIndex(1),
            last: BarIndex(2)
        }]
    );
    assert_eq!(found.grids[2].lead, Rational::whole(3));
    assert!(found.uneven.is_empty() && found.anacrusis.is_none());
    assert_eq!(found.grids[2].beats()[0].number, 4);
}

#[test]
fn an_end_repeat_makes_up_the_pickup() {
    let found = of("metre:4/4 G4/q | C5/w | C5/h. :| C5/w | C5/w |.");
    assert_eq!(found.anacrusis.unwrap().complements, [BarIndex(2)]);
    assert!(found.uneven.is_empty());
}

#[test]
fn bars_that_do_not_add_up_say_what_is_missing() {
    let found = of("metre:4/4 C5/w | C5/h C5/e | C5/w | C5/w C5/q | C5/w |.");
    assert_eq!(
        found.uneven.iter().map(|uneven| uneven.bar.0).collect::<Vec<_>>(),
        [1, 3]
    );
    assert!(
        found.findings[0].what.contains("1 1/2 quarters missing"),
        "{}",
        found.findings[0].what
    );
    assert!(
        found.findings[1].what.contains("1 quarter too many"),
        "{}",
        found.findings[1].what
    );
    assert_eq!(found.grids[3].beats().len(), 5);
}

#[test]
fn pickups_at_a_change_of_metre_and_rounded_bars() {
    let found = of("metre:4/4 G4/q | C5/w | C5/h. :| C5/w | C5/h. || metre:3/4 C5/q | C5/h. | C5/h |.");
    assert_eq!(
        found
            .pickups
            .iter()
            .map(|pickup| pickup.bar.0)
            .collect::<Vec<_>>(),
        [0, 5]
    );
    assert_eq!(found.pickups[1].complements, [BarIndex(7)]);
    assert_eq!(found.grids[5].lead, Rational::whole(2));
    assert!(found.uneven.is_empty());
    // A source that counts in coarse divisions: triplets a little short.
    let mut piece = sketch("metre:2/4 C5/e:3 C5/e:3 C5/e:3 C5/q | C5/h |").unwrap();
    let mut offset = Rational::ZERO;
    for event in piece.parts[0].events.iter_mut().take(4) {
        event.place.offset = offset;
        event.duration = if offset < Rational::new(9, 10) {
            Rational::new(33, 100)
        } else {
            Rational::ONE
        };
        offset += event.duration;
    }
    piece.bars[0].length = offset;
    let ctx = Context::new(&piece, 0).unwrap();
    let found = answer(&ctx, &crate::tempo::marked(&ctx));
    assert!(found.uneven.is_empty());
    assert_eq!(found.voice.bars[0].items[3].offset, Rational::ONE);
}

#[test]
fn many_bars_off_alike_are_said_once() {
    let found = of(&format!("metre:C {}", "C5/b | ".repeat(12)));
    assert_eq!(found.uneven.len(), 12);
    assert_eq!(found.findings.len(), 1);
    assert!(
        found.findings[0].what.starts_with("12 bars"),
        "{}",
        found.findings[0].what
    );
}

#[test]
fn changes_restatements_and_mixed_metres() {
    let found = of("metre:3/4 C5/h. | metre:3/4 C5/h. | metre:2/4 C5/h | metre:3/4 C5/h. |.");
    let symbols: Vec<&str> = found
        .metres
        .iter()
        .map(|stretch| stretch.symbol.as_str())
        .collect();
    assert_eq!(symbols, ["3/4", "2/4", "3/4"]);
    assert!(found.summary.contains("changes 2 times"), "{}", found.summary);
    let mut piece = sketch("metre:3/4 C5/h. C5/q. |").unwrap();
    piece.parts[0].metres[0].value.parts.push(notation::MetrePart {
        groups: vec![3],
        beat_type: 8,
    });
    let ctx = Context::new(&piece, 0).unwrap();
    let found = answer(&ctx, &crate::tempo::marked(&ctx));
    assert_eq!(found.metres[0].kind, MetreKind::Asymmetric);
    let lengths: Vec<String> = found.grids[0]
        .felt
        .iter()
        .map(|beat| beat.length.to_string())
        .collect();
    assert_eq!(lengths, ["1", "1", "1", "3/2"]);
}

#[test]
fn without_metre_nothing_is_counted() {
    let mut piece = sketch("C5/w C5/q | C5/h |").unwrap();
    piece.parts[0].metres.clear();
    let ctx = Context::new(&piece, 0).unwrap();
    let found = answer(&ctx, &crate::tempo::marked(&ctx));
    assert_eq!(found.metres[0].kind, MetreKind::Free);
    assert!(!found.grids[0].counted && found.count_in.is_empty() && found.uneven.is_empty());
}

#[test]
fn a_tempo_change_changes_the_feel() {
    let bar = "C5/q. C5/q. |";
    let found = of(&format!(
        "metre:6/8 \"Adagio\" {bar} {bar} \"Allegro\" {bar} {bar}"
    ));
    assert_eq!(found.metres.len(), 1);
    assert_eq!(
        found.grids.iter().map(|grid| grid.felt.len()).collect::<Vec<_>>(),
        [6, 6, 2, 2]
    );
    assert!(
        found
            .evidence
            .iter()
            .any(|evidence| evidence.says.starts_with("felt in two from here"))
    );
}

/// Nothing comes after the last bar that a tempo set in it could be counted in.
#[test]
fn a_tempo_late_in_the_last_bar_changes_no_feel() {
    let found = of("metre:6/8 \"Adagio\" C5/q. C5/q. | C5/q. \"Allegro\" C5/q. |");
    assert!(
        found.metres[0].feels.len() == 1 && found.evidence.len() == 1,
        "{:?}",
        found.evidence
    );
}

proptest! {
    /// Beats fill the full bar exactly, whatever the metre and the tempo; so do the slow beats and the groups.
    #[test]
    fn beats_fill_the_bar(beats in 1u16..=17, power in 0u32..=4, speed in 20u32..300, dotted: bool) {
        let beat_type = 2u16.pow(power);
        let unit = if dotted { "q." } else { "q" };
        let piece = sketch(&format!("metre:{beats}/{beat_type} mm:{unit}={speed} R | R |")).unwrap();
        let ctx = Context::new(&piece, 0).unwrap();
        let found = answer(&ctx, &crate::tempo::marked(&ctx));
        for grid in &found.grids {
            let sum = |beats: &[Beat]| beats.iter().fold(Quarters::ZERO, |sum, beat| sum + beat.length);
            prop_assert_eq!(sum(&grid.felt), grid.full);
            prop_assert_eq!(sum(&grid.slow), grid.full);
            prop_assert_eq!(grid.groups.iter().fold(Quarters::ZERO, |sum, group| sum + group.length()), grid.full);
            prop_assert_eq!(grid.written_beats().len(), usize::from(beats));
            for (at, beat) in grid.felt.iter().enumerate() {
                prop_assert_eq!(usize::from(beat.number), at + 1);
            }
        }
    }
}
