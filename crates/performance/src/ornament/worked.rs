//! The worked examples that books print, note for note; each names its page.

use super::{After, Before, Begin, Choice, Period, Setting, Surroundings, realise, sounded};
use notation::{Ornament, OrnamentKind, Pitch, Quarters, Rational};

fn pitch(name: &str) -> Pitch {
    Pitch::parse(name).expect(name)
}

fn q(num: i64, den: i64) -> Quarters {
    Rational::new(num, den)
}

/// A note alone at a speed in quarter notes a minute.
fn alone(length: Quarters, speed: i64) -> Setting {
    Setting {
        length,
        dotted: None,
        speed: Rational::whole(speed),
        before: None,
        after: None,
        printed_end: vec![],
        upper_printed: false,
        fills_its_bar: false,
    }
}

fn leads_to(setting: Setting, name: &str, length: Quarters, accented: bool) -> Setting {
    let after = Some(After {
        pitch: pitch(name),
        length,
        accented,
        two: false,
    });
    Setting { after, ..setting }
}

fn comes_from(setting: Setting, name: &str, length: Quarters, slurred: bool, staccato: bool) -> Setting {
    let before = Some(Before {
        pitch: pitch(name),
        length,
        slurred,
        staccato,
    });
    Setting { before, ..setting }
}

fn play(
    kind: OrnamentKind,
    main: &str,
    setting: &Setting,
    period: Period,
    choice: &Choice,
) -> super::Sounded {
    let sign = Ornament {
        kind,
        side: None,
        accidentals: vec![],
    };
    let around = Surroundings::default();
    let mut notes = realise(&sign, pitch(main), &around);
    if notes.lower.is_none() {
        notes.lower = Some(super::neighbour(pitch(main), false, None, &around));
    }
    let sounded = sounded(&sign.kind, pitch(main), &notes, setting, period, choice);
    let sum = sounded
        .notes
        .iter()
        .fold(Quarters::ZERO, |sum, (_, length)| sum + *length);
    assert_eq!(sum, setting.length, "the notes fill their note");
    sounded
}

/// Runs of equal lengths: `1/4: E5 D5 E5 D5`.
fn said(sounded: &super::Sounded) -> String {
    let runs = sounded.notes.chunk_by(|a, b| a.1 == b.1);
    let run = |run: &[(Pitch, Quarters)]| {
        let names: Vec<String> = run.iter().map(|(pitch, _)| pitch.to_string()).collect();
        format!("{}: {}", run[0].1, names.join(" "))
    };
    runs.map(run).collect::<Vec<_>>().join(" | ")
}

#[track_caller]
fn check(kind: OrnamentKind, main: &str, setting: &Setting, period: Period, expected: &str) {
    assert_eq!(
        said(&play(kind, main, setting, period, &Choice::default())),
        expected
    );
}

/// Source: Grove's Dictionary, vol. 3, p. 481-482, Ex. 19 (wikisource, djvu/494): a half note d, shaken: sixteenths d e d e,
/// a triplet d e d, then the termination c d before c.
#[test]
fn grove_example_19() {
    let setting = leads_to(alone(q(2, 1), 80), "C5", q(2, 1), true);
    let choice = Choice {
        termination: Some(true),
        from: Some(Begin::Main),
        ..Choice::default()
    };
    let played = play(OrnamentKind::Trill, "D5", &setting, Period::Classical, &choice);
    assert_eq!(said(&played), "1/4: D5 E5 D5 E5 | 1/6: D5 E5 D5 | 1/4: C5 D5");
}

/// Source: the same, Ex. 20: an eighth b after c, quick: 64ths b c b c, a triplet b c b, the termination a b.
#[test]
fn grove_example_20() {
    let setting = comes_from(alone(q(1, 2), 60), "C5", q(1, 2), false, false);
    let choice = Choice {
        termination: Some(true),
        notes_a_second: Some(Rational::whole(16)),
        ..Choice::default()
    };
    let played = play(OrnamentKind::Trill, "B4", &setting, Period::Classical, &choice);
    assert_eq!(said(&played), "1/16: B4 C5 B4 C5 | 1/24: B4 C5 B4 | 1/16: A4 B4");
    assert!(played.rule.contains("degree above"), "{}", played.rule);
}

/// Source: W. Palmer, notes to his 1968 edition (J.S. Bach 1720, C.P.E. Bach 1753): from the upper note, at least two
/// repercussions (four notes), more on longer notes, usually coming to rest on the main note.
#[test]
fn the_trill_before_1828() {
    let short = play(
        OrnamentKind::Trill,
        "B4",
        &alone(q(1, 2), 90),
        Period::Baroque,
        &Choice::default(),
    );
    assert_eq!(said(&short), "1/8: C5 B4 C5 B4");
    check(
        OrnamentKind::Trill,
        "B4",
        &alone(q(1, 1), 60),
        Period::Baroque,
        "1/8: C5 B4 C5 B4 C5 | 3/8: B4",
    );
    let long = play(
        OrnamentKind::Trill,
        "B4",
        &alone(q(4, 1), 60),
        Period::Baroque,
        &Choice::default(),
    );
    assert!(long.notes.len() > 20, "{}", long.notes.len());
    assert_eq!(long.notes.last().map(|(pitch, _)| *pitch), Some(pitch("B4")));
}

/// Source: Palmer: a long trill often takes a termination; Grove, vol. 3, p. 482: before an accented note.
#[test]
fn terminations_by_rule() {
    let accented = leads_to(alone(q(2, 1), 90), "C5", q(2, 1), true);
    check(
        OrnamentKind::Trill,
        "B4",
        &accented,
        Period::Baroque,
        "1/4: C5 B4 C5 B4 C5 B4 A4 B4",
    );
    let unaccented = leads_to(alone(q(2, 1), 90), "C5", q(2, 1), false);
    let played = play(
        OrnamentKind::Trill,
        "B4",
        &unaccented,
        Period::Classical,
        &Choice::default(),
    );
    assert!(
        played.notes.iter().all(|(note, _)| *note != pitch("A4")),
        "{}",
        said(&played)
    );
    // Before a rest usually added.
    let rest = play(
        OrnamentKind::Trill,
        "B4",
        &alone(q(2, 1), 90),
        Period::Classical,
        &Choice::default(),
    );
    assert!(said(&rest).ends_with("A4 B4"), "{}", said(&rest));
}

/// Source: Grove, vol. 3: later music begins on the main note (Hummel 1828), unless a small note before it shows the
/// upper one.
#[test]
fn the_trill_since_1828() {
    let setting = alone(q(2, 1), 90);
    check(
        OrnamentKind::Trill,
        "D5",
        &setting,
        Period::Modern,
        "1/4: D5 E5 D5 E5 D5 E5 | 1/2: D5",
    );
    let shown = Setting {
        upper_printed: true,
        ..setting.clone()
    };
    check(
        OrnamentKind::Trill,
        "D5",
        &shown,
        Period::Modern,
        "1/4: E5 D5 E5 D5 E5 | 3/4: D5",
    );
    let printed = Setting {
        printed_end: vec![pitch("C5"), pitch("D5")],
        ..setting
    };
    check(
        OrnamentKind::Trill,
        "D5",
        &printed,
        Period::Modern,
        "1/4: D5 E5 D5 E5 | 1/6: D5 E5 D5 | 1/4: C5 D5",
    );
}

/// Source: Grove, vol. 3, p. 481: the bound trill ties the slurred upper note over; the same note before, staccato: from
/// the main note.
#[test]
fn what_stands_before_a_trill() {
    let bound = comes_from(alone(q(1, 1), 60), "C5", q(1, 1), true, false);
    let played = play(
        OrnamentKind::Trill,
        "B4",
        &bound,
        Period::Baroque,
        &Choice::default(),
    );
    assert!(
        played.tied_over && played.notes[0].0 == pitch("C5"),
        "{}",
        said(&played)
    );
    let same = comes_from(alone(q(1, 1), 60), "B4", q(1, 2), false, true);
    let played = play(
        OrnamentKind::Trill,
        "B4",
        &same,
        Period::Classical,
        &Choice::default(),
    );
    assert_eq!(played.notes[0].0, pitch("B4"));
}

/// Source: J.S. Bach's table of 1720 (from memory, in keeping with Palmer): main, lower, main, quick, on the beat, the rest
/// of the value on the main note.
#[test]
fn the_mordent() {
    let kind = || OrnamentKind::Mordent { long: false };
    check(
        kind(),
        "C5",
        &alone(q(1, 1), 60),
        Period::Baroque,
        "1/16: C5 B4 | 7/8: C5",
    );
    let long = OrnamentKind::Mordent { long: true };
    check(
        long,
        "C5",
        &alone(q(2, 1), 60),
        Period::Baroque,
        "1/16: C5 B4 C5 B4 | 7/4: C5",
    );
}

/// Source: Palmer: in Bach the short wavy line is a trill from above, at least four notes; Gehrkens §68-69: since about
/// 1800 main, upper, main.
#[test]
fn the_short_wavy_line() {
    let kind = || OrnamentKind::InvertedMordent { long: false };
    let setting = alone(q(1, 1), 60);
    check(
        kind(),
        "C5",
        &setting,
        Period::Baroque,
        "1/16: D5 C5 D5 | 13/16: C5",
    );
    check(kind(), "C5", &setting, Period::Modern, "1/16: C5 D5 | 7/8: C5");
}

/// Source: Gehrkens, Music Notation and Terminology, §69-70: over a short note four equal notes, over a longer one quick
/// and the fourth held; after the note, the main note nearly to its end, then four equal notes.
#[test]
fn the_turn() {
    check(
        OrnamentKind::Turn,
        "C5",
        &alone(q(1, 2), 90),
        Period::Modern,
        "1/8: D5 C5 B4 C5",
    );
    check(
        OrnamentKind::Turn,
        "C5",
        &alone(q(2, 1), 60),
        Period::Modern,
        "1/16: D5 C5 B4 | 29/16: C5",
    );
    check(
        OrnamentKind::DelayedTurn,
        "C5",
        &alone(q(2, 1), 60),
        Period::Modern,
        "3/2: C5 | 1/8: D5 C5 B4 C5",
    );
    check(
        OrnamentKind::InvertedTurn,
        "C5",
        &alone(q(1, 2), 90),
        Period::Modern,
        "1/8: B4 C5 D5 C5",
    );
}

/// Source: Grove, vol. 4, "Turn" (djvu/209): on a dotted note followed by half its length the last note of the turn takes
/// the place of the dot; on a double-dotted one it falls on the first dot; not before two short notes, nor where the
/// note is a whole bar of 3/4.
#[test]
fn the_turn_after_a_dotted_note() {
    let dotted = Setting {
        dotted: Some((q(1, 1), 1)),
        ..leads_to(alone(q(3, 2), 80), "D5", q(1, 2), false)
    };
    let taken = "1/2: C5 | 1/6: D5 C5 B4 | 1/2: C5";
    check(OrnamentKind::DelayedTurn, "C5", &dotted, Period::Classical, taken);
    let double = Setting {
        dotted: Some((q(1, 1), 2)),
        ..leads_to(alone(q(7, 4), 80), "D5", q(1, 4), false)
    };
    check(
        OrnamentKind::DelayedTurn,
        "C5",
        &double,
        Period::Classical,
        "1/2: C5 | 1/6: D5 C5 B4 | 3/4: C5",
    );
    let mut two = dotted.clone();
    two.after = two.after.map(|after| After { two: true, ..after });
    let played = play(
        OrnamentKind::DelayedTurn,
        "C5",
        &two,
        Period::Classical,
        &Choice::default(),
    );
    assert_ne!(said(&played), taken);
    let fills = Setting {
        fills_its_bar: true,
        ..dotted
    };
    let played = play(
        OrnamentKind::DelayedTurn,
        "C5",
        &fills,
        Period::Classical,
        &Choice::default(),
    );
    assert_ne!(said(&played), taken);
}

/// Source: Grove, vol. 4, "Turn": the geschnellter Doppelschlag, the main note added in front, after a staccato note or one
/// a step lower.
#[test]
fn the_turn_of_five_notes() {
    let setting = comes_from(alone(q(2, 1), 60), "B4", q(1, 1), false, false);
    check(
        OrnamentKind::Turn,
        "C5",
        &setting,
        Period::Classical,
        "1/16: C5 D5 C5 B4 | 7/4: C5",
    );
}

#[test]
fn a_choice_goes_before_the_period() {
    let setting = alone(q(1, 1), 60);
    let plain = Choice {
        plain: true,
        ..Choice::default()
    };
    let played = play(OrnamentKind::Trill, "B4", &setting, Period::Baroque, &plain);
    assert_eq!(said(&played), "1: B4");
    let flat = Choice {
        upper: Some(pitch("Cb5")),
        ..Choice::default()
    };
    let played = play(OrnamentKind::Trill, "B4", &setting, Period::Baroque, &flat);
    assert_eq!(played.notes[0].0, pitch("Cb5"));
    let old = Choice {
        period: Some(Period::Baroque),
        ..Choice::default()
    };
    let played = play(OrnamentKind::Trill, "B4", &setting, Period::Modern, &old);
    assert_eq!(played.notes[0].0, pitch("C5"));
}

#[test]
fn a_tremolo_is_measured() {
    let kind = OrnamentKind::Tremolo {
        strokes: 2,
        between: false,
    };
    check(
        kind,
        "C5",
        &alone(q(1, 1), 60),
        Period::Modern,
        "1/4: C5 C5 C5 C5",
    );
}
