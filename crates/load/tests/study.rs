//! The study as a whole: what is asked of a player on small pages, and laws on random ones.

#![allow(clippy::expect_used, reason = "a test that cannot set itself up has failed")]

use instruments::Experience;
use load::first_tempo::Holds;
use load::{Player, Study, Wishes, study};
use notation::{Piece, sketch};
use survey::{Context, Options, Question};

fn studied(piece: &Piece, instrument: &str, level: Experience, wishes: &Wishes) -> Study {
    let ctx = Context::new(piece, 0).expect("a part");
    let survey = survey::survey(piece, 0, &Question::ALL, &Options::default()).expect("a survey");
    let player = Player::usual(instruments::by_id(instrument), level);
    study(&ctx, &survey, &player, wishes)
}

fn of(text: &str, instrument: &str, level: Experience) -> Study {
    studied(
        &sketch(text).expect("a sketch"),
        instrument,
        level,
        &Wishes::default(),
    )
}

const PLAIN: &str = "clef:F4 key:0 metre:4/4 mm:q=120 C3/q D3/q E3/q F3/q | G3/q F3/q E3/q D3/q | C3/q E3/q G3/q E3/q | D3/h C3/h |.";

/// One bar of running accidentals and leaps in a plain piece.
const ONE_HARD_BAR: &str = "clef:F4 key:0 metre:4/4 mm:q=120 C3/q D3/q E3/q F3/q | G3/q F3/q E3/q D3/q | C3/q E3/q G3/q E3/q | D3/q E3/q F3/q D3/q | \
     C3/s C#4/s Eb3/s F#3/s G#2/s Bb3/s D#3/s A2/s Ab3/s B2/s F#3/s Db3/s E3/s Bb2/s C#4/s G#3/s | \
     C3/q D3/q E3/q F3/q | G3/q F3/q E3/q D3/q | C3/w |.";

/// The tempo is no faster than the mark, no slower for the better reader, and the bar that sets it is the hard one.
#[test]
fn the_hardest_bar_sets_the_first_tempo() {
    let mut last = 0.0;
    for level in Experience::ALL {
        let study = of(ONE_HARD_BAR, "bassoon", level);
        let first = study.first.expect("a first tempo");
        assert_eq!(first.set_by.as_ref().expect("a bar").0.get(), 4);
        let (slow, fast) = first.quarters_a_minute;
        assert!(
            slow <= fast && fast <= 120.0 && fast >= last,
            "{slow} {fast} {last}"
        );
        assert!(f64::from(first.range.low) <= slow + 1e-9 && first.range.high >= first.range.low);
        last = fast;
    }
    let study = of(ONE_HARD_BAR, "bassoon", Experience::Student);
    let spot = study.spots.first().expect("a spot");
    assert!(spot.from.get() <= 4 && spot.to.get() >= 4 && spot.slowly_first);
    assert!(!spot.reasons.is_empty() && !spot.suggestion.is_empty());
}

/// A slow mark is slow enough to read at.
#[test]
fn a_slow_mark_is_the_first_tempo() {
    let slow = PLAIN.replace("mm:q=120", "mm:q=50");
    let first = of(&slow, "bassoon", Experience::Professional)
        .first
        .expect("a first tempo");
    assert_eq!(first.holds, Holds::Marking);
    assert_eq!(first.range.high, 50);
}

/// Where every note is tongued and quick, a slow tongue decides; a faster one lets the tempo rise.
#[test]
fn the_tongue_can_decide() {
    let piece = sketch(
        "metre:4/4 mm:q=144 C5/s C5/s C5/s C5/s C5/s C5/s C5/s C5/s C5/s C5/s C5/s C5/s C5/s C5/s C5/s C5/s | \
         C5/s C5/s C5/s C5/s C5/s C5/s C5/s C5/s C5/s C5/s C5/s C5/s C5/s C5/s C5/s C5/s |.",
    )
    .expect("a sketch");
    let ctx = Context::new(&piece, 0).expect("a part");
    let survey = survey::survey(&piece, 0, &Question::ALL, &Options::default()).expect("a survey");
    let mut player = Player::usual(instruments::by_id("oboe"), Experience::Intermediate);
    player.tongue.burst = 3.0;
    player.tongue.sustained = 2.5;
    let slow = study(&ctx, &survey, &player, &Wishes::default())
        .first
        .expect("a tempo");
    assert_eq!(slow.holds, Holds::Tongue);
    player.tongue.burst = 9.0;
    player.tongue.sustained = 8.0;
    let quick = study(&ctx, &survey, &player, &Wishes::default())
        .first
        .expect("a tempo");
    assert!(quick.quarters_a_minute.1 > slow.quarters_a_minute.1);
}

/// Bars that come back unchanged are named with their first, not listed again.
#[test]
fn a_returning_bar_is_no_second_spot() {
    let piece = ONE_HARD_BAR.replace(" C3/w |.", " C3/w | C3/s C#4/s Eb3/s F#3/s G#2/s Bb3/s D#3/s A2/s Ab3/s B2/s F#3/s Db3/s E3/s Bb2/s C#4/s G#3/s | C3/w |.");
    let study = of(&piece, "bassoon", Experience::Intermediate);
    let with: Vec<usize> = study
        .spots
        .iter()
        .filter(|s| (s.from.get()..=s.to.get()).contains(&8))
        .map(|s| s.from.get())
        .collect();
    assert!(with.is_empty(), "{with:?}");
    let first = study
        .spots
        .iter()
        .find(|s| (s.from.get()..=s.to.get()).contains(&4))
        .expect("the hard bar");
    assert!(first.also.iter().any(|bar| bar.get() == 8));
}

/// The climb starts at the slow end and ends at the mark; a wish replaces the mark.
#[test]
fn the_climb_reaches_the_mark_or_the_wish() {
    let study = of(PLAIN, "bassoon", Experience::Student);
    let ladder = study.ladder.expect("a ladder");
    assert!(ladder.rungs.iter().any(|rung| rung.bpm == 120));
    let wishes = Wishes {
        to: Some(96.0),
        ..Wishes::default()
    };
    let piece = sketch(PLAIN).expect("a sketch");
    let wished = studied(&piece, "bassoon", Experience::Student, &wishes);
    let ladder = wished.ladder.expect("a ladder");
    assert!(ladder.rungs.iter().all(|rung| rung.bpm <= 96) && ladder.rungs.iter().any(|rung| rung.bpm == 96));
}

/// What is outside her range is said.
#[test]
fn notes_outside_the_range_are_told() {
    let study = of("metre:4/4 C7/w | C5/w |.", "oboe", Experience::Student);
    assert!(
        study
            .findings
            .iter()
            .any(|finding| finding.kind == "outside-players-range")
    );
}

proptest::proptest! {
    #![proptest_config(proptest::prelude::ProptestConfig::with_cases(60))]

    /// On any page: beats add up to bars, brackets are short and ranked, tempi are possible, nothing is not a number.
    #[test]
    fn any_page_can_be_studied(bytes in proptest::collection::vec(proptest::prelude::any::<u8>(), 0..600), which in 0..8_usize) {
        let piece = notation::testing::piece(&bytes, &notation::testing::Palette::default());
        let id = ["flute", "oboe", "clarinet-bb", "bassoon", "horn-f", "trombone-tenor", "violin", "saxophone-alto"][which];
        let (Some(ctx), Some(survey)) = (
            Context::new(&piece, 0),
            survey::survey(&piece, 0, &Question::ALL, &Options::default()),
        ) else {
            return Ok(());
        };
        let player = Player::usual(instruments::by_id(id), Experience::ALL[which % 3]);
        let study = study(&ctx, &survey, &player, &Wishes::default());
        proptest::prop_assert_eq!(study.bars.len(), piece.bars.len());
        for bar in &study.bars {
            for (whole, beats) in [
                (bar.reading.total(), bar.beats.iter().map(|beat| beat.reading.total()).sum::<f64>()),
                (bar.hand.total(), bar.beats.iter().map(|beat| beat.hand.total()).sum::<f64>()),
            ] {
                proptest::prop_assert!(whole.is_finite() && whole >= 0.0);
                proptest::prop_assert!((whole - beats).abs() < 1e-6, "{} {}", whole, beats);
            }
        }
        for pair in study.spots.windows(2) {
            proptest::prop_assert!(pair[0].weight >= pair[1].weight);
        }
        for spot in &study.spots {
            proptest::prop_assert!(spot.to >= spot.from && spot.to.get() - spot.from.get() < 4 && !spot.reasons.is_empty());
        }
        proptest::prop_assert!(study.spots.iter().filter(|spot| spot.slowly_first).count() <= 3);
        if let Some(first) = &study.first {
            let (slow, fast) = first.quarters_a_minute;
            proptest::prop_assert!(slow.is_finite() && fast.is_finite() && slow > 0.0 && slow <= fast);
            proptest::prop_assert!(first.range.low <= first.range.high);
        }
    }
}
