use super::errata::{Change, Erratum, apply};
use super::excerpt::excerpt;
use super::find::{Found, Page, find};
use super::words::Range;
use notation::{ArticulationKind, HeadNote, PencilSign, Piece, Pitch, Quarters, Rational, sketch};
use performance::play::{PlayOptions, PlayTempo, Repeats, perform};
use proptest::prelude::*;
use survey::{Context, Options, Question, survey};

/// Runs something on a piece's page.
fn on<T>(piece: &Piece, run: impl FnOnce(&Page) -> T) -> T {
    let ctx = Context::new(piece, 0).expect("a part");
    let survey = survey(piece, 0, &[Question::Metre], &Options::default()).expect("a survey");
    let grids = survey.metre.map(|metre| metre.grids).unwrap_or_default();
    let phrases = survey::phrases::answer(&ctx, None);
    run(&Page {
        ctx: &ctx,
        grids: &grids,
        phrases: &phrases,
    })
}

fn found(piece: &Piece, said: &str) -> Found {
    let range = Range::read(said).expect(said);
    on(piece, |page| find(page, &range)).unwrap_or_else(|wrong| panic!("{said}: {wrong}"))
}

fn refused(piece: &Piece, said: &str) -> String {
    let range = Range::read(said).expect(said);
    on(piece, |page| find(page, &range)).expect_err(said).to_string()
}

/// Eight bars of 4/4; an upbeat into bar 5 after a rest; letters A at 3 and B at 6.
fn eight() -> Piece {
    sketch(
        "metre:4/4 C4/q D4/q E4/q F4/q | G4/w | reh:A A4/h G4/h | F4/h r/q E4/e F4/e | G4/h. r/q | reh:B A4/q G4/q F4/q E4/q | \
         D4/q E4/q F4/q D4/q | C4/w |.",
    )
    .expect("a sketch")
}

fn place(found: &Found) -> (u32, Quarters, u32, Quarters) {
    (
        found.from.bar.0,
        found.from.offset,
        found.until.bar.0,
        found.until.offset,
    )
}

const fn q(quarters: i64) -> Quarters {
    Quarters::whole(quarters)
}

#[test]
fn ends_are_inclusive_as_lists_mean_them() {
    let piece = eight();
    assert_eq!(place(&found(&piece, "2 through 4")), (1, q(0), 3, q(4)));
    assert_eq!(place(&found(&piece, "A to B")), (2, q(0), 5, q(4)));
    assert_eq!(place(&found(&piece, "A up to B")), (2, q(0), 4, q(4)));
    assert_eq!(
        place(&found(&piece, "3 through downbeat of 5")),
        (2, q(0), 4, q(3))
    );
    assert_eq!(
        place(&found(&piece, "beat 3 of 1 to beat 2 of 6")),
        (0, q(2), 5, q(2))
    );
    assert_eq!(place(&found(&piece, "last 2 bars")), (6, q(0), 7, q(4)));
    assert_eq!(place(&found(&piece, "all")), (0, q(0), 7, q(4)));
    assert_eq!(place(&found(&piece, "7")), (6, q(0), 6, q(4)));
}

#[test]
fn a_pickup_begins_after_the_rest() {
    let piece = eight();
    let cut = found(&piece, "pickup to 5 through 6");
    assert_eq!(place(&cut), (3, q(3), 5, q(4)));
    assert!(
        cut.findings
            .iter()
            .any(|finding| finding.what.contains("pickup to bar 5")),
        "{:?}",
        cut.findings
    );
    assert!(cut.says.starts_with("beat 4 of bar 4"), "{}", cut.says);
    assert!(refused(&piece, "pickup to 1 through 3").contains("nothing leads into"));
}

#[test]
fn after_a_letter_is_counted_from_the_next_bar_and_the_doubt_is_said() {
    let piece = eight();
    let cut = found(&piece, "2 after A through 1 before B");
    assert_eq!(place(&cut), (4, q(0), 4, q(4)));
    assert!(
        cut.findings
            .iter()
            .any(|finding| finding.advice.contains("bar 4")),
        "{:?}",
        cut.findings
    );
    assert_eq!(place(&found(&piece, "second bar of A to B")), (3, q(0), 5, q(4)));
}

#[test]
fn half_a_note_is_never_begun_with() {
    let piece = sketch("metre:4/4 C4/h D4/h | E4/w |").expect("a sketch");
    let cut = found(&piece, "beat 2 of 1 to 2");
    assert_eq!(place(&cut), (0, q(2), 1, q(4)));
    assert!(
        cut.findings[0].what.contains("no note begins on beat 2"),
        "{:?}",
        cut.findings
    );
}

#[test]
fn what_is_not_there_is_said() {
    let piece = eight();
    assert!(refused(&piece, "C to the end").contains("A, B"));
    assert!(refused(&piece, "5 through 99").contains("no bar 99"));
    assert!(refused(&piece, "6 through 3").contains("before it begins"));
    assert!(refused(&piece, "beat 7 of 2 to 3").contains("no beat 7"));
    assert!(refused(&piece, "9 after B to the end").contains("outside"));
}

#[test]
fn nothing_after_the_end_sounds_or_counts() {
    let piece = eight();
    let cut = excerpt(&piece, &found(&piece, "pickup to 5 through downbeat of 6"));
    let labels: Vec<&str> = cut.bars.iter().map(|bar| bar.label.as_str()).collect();
    assert_eq!(labels, ["4", "5", "6"]);
    let lengths: Vec<Quarters> = cut.bars.iter().map(|bar| bar.length).collect();
    assert_eq!(lengths, [q(1), q(4), q(1)]);
    let notes: Vec<String> = cut.parts[0]
        .events
        .iter()
        .filter_map(|event| Some(event.top_pitch()?.sign()))
        .collect();
    assert_eq!(notes.len(), 4, "{notes:?}");
    let options = PlayOptions {
        tempo: PlayTempo::Starts {
            note: Rational::ONE,
            per_minute: Rational::whole(60),
        },
        ..PlayOptions::default()
    };
    let played = perform(&cut, 0, &options).expect("played");
    assert!((played.seconds() - 6.0).abs() < 1e-9, "{}", played.seconds());
}

#[test]
fn the_second_ending_alone_is_played() {
    let piece = sketch("metre:2/4 |: C4/h | D4/h | [1 E4/h ]1 :| [2 F4/h ]2 | G4/h |").expect("a sketch");
    let cut = found(&piece, "1 through 5, second ending only");
    assert!(!cut.repeats);
    let played = |repeats| {
        let options = PlayOptions {
            repeats,
            ..PlayOptions::default()
        };
        let performance = perform(&excerpt(&piece, &cut), 0, &options).expect("played");
        performance
            .notes
            .iter()
            .filter_map(|note| Some(note.written?.sign()))
            .collect::<Vec<_>>()
            .join(" ")
    };
    assert_eq!(played(Repeats::StraightThrough), "C4 D4 F4 G4");
    assert_eq!(played(Repeats::Taken), "C4 D4 E4 C4 D4 F4 G4");
    let open = found(&piece, "1 through 5");
    assert!(
        open.findings
            .iter()
            .any(|finding| finding.what.contains("repeats"))
    );
    assert!(found(&piece, "1 through 5, with repeats").repeats);
}

#[test]
fn beats_of_a_compound_bar_are_felt_or_counted() {
    let piece = sketch("metre:6/8 C4/e D4/e E4/e F4/e G4/e A4/e | B4/q. C5/q. |").expect("a sketch");
    let felt = found(&piece, "beat 2 of 1 to 2");
    assert_eq!(felt.from.offset, Quarters::new(3, 2));
    assert!(
        felt.findings
            .iter()
            .any(|finding| finding.what.contains("counted in 2")),
        "{:?}",
        felt.findings
    );
    assert_eq!(found(&piece, "beat 4 of 1 to 2").from.offset, Quarters::new(3, 2));
}

fn erratum(at: &str, change: Change) -> Erratum {
    Erratum {
        date: chrono::NaiveDate::from_ymd_opt(2026, 12, 1),
        at: Range::read(at).expect(at),
        change,
        says: String::new(),
    }
}

fn pitch(name: &str) -> Pitch {
    Pitch::parse(name).expect(name)
}

#[test]
fn a_wrong_note_is_put_right_and_the_rest_of_its_bar_keeps_what_it_was() {
    let piece = sketch("metre:4/4 C5/q D5/q C5/q E5/q |").expect("a sketch");
    let change = Change::Note {
        was: Some(pitch("C5")),
        now: pitch("C#5"),
    };
    let corrected = on(&piece, |page| apply(page, &[erratum("beat 1 of 1", change)]));
    assert!(corrected.findings.is_empty(), "{:?}", corrected.findings);
    let heads: Vec<_> = corrected.piece.parts[0]
        .events
        .iter()
        .map(|event| event.heads()[0].clone())
        .collect();
    assert_eq!(heads[0].note, HeadNote::Pitch(pitch("C#5")));
    assert_eq!(
        heads[0].accidental.as_ref().map(|sign| sign.sign.as_str()),
        Some("sharp")
    );
    assert_eq!(heads[2].note, HeadNote::Pitch(pitch("C5")));
    assert_eq!(
        heads[2].accidental.as_ref().map(|sign| sign.sign.as_str()),
        Some("natural")
    );
    let [mark] = &corrected.marks[..] else {
        panic!("one mark")
    };
    assert_eq!(mark.sign, PencilSign::Circle);
    assert!(
        mark.kept && mark.reason.contains("2026-12-01") && mark.reason.contains("C♯5"),
        "{}",
        mark.reason
    );
    // What was imported stays as it was.
    assert_eq!(piece.parts[0].events[0].top_pitch(), Some(pitch("C5")));
}

#[test]
fn an_erratum_that_does_not_fit_is_said_and_changes_nothing() {
    let piece = sketch("metre:4/4 D5/q r/q C5/h |").expect("a sketch");
    let note = |was: &str| Change::Note {
        was: Some(pitch(was)),
        now: pitch("C#5"),
    };
    for (at, change) in [
        ("beat 1 of 1", note("C5")),
        ("beat 2 of 1", note("C5")),
        ("beat 1 of 9", note("C5")),
        ("beat 3 of 1", Change::Remove(ArticulationKind::Staccato)),
    ] {
        let corrected = on(&piece, |page| apply(page, &[erratum(at, change)]));
        assert_eq!(corrected.findings.len(), 1, "{at}");
        assert!(
            corrected.findings[0].what.contains("not applied"),
            "{}",
            corrected.findings[0]
        );
        assert!(corrected.marks.is_empty());
        assert_eq!(corrected.piece.parts[0].events, piece.parts[0].events, "{at}");
    }
}

#[test]
fn dynamics_tempi_and_articulations_are_put_in() {
    let piece = sketch("metre:4/4 @f D5/q!staccato C5/q B4/h |").expect("a sketch");
    let errata = [
        erratum("beat 1 of 1", Change::Dynamic("p".to_owned())),
        erratum("beat 1 of 1", Change::Remove(ArticulationKind::Staccato)),
        erratum("beat 2 of 1", Change::Add(ArticulationKind::Accent)),
        erratum(
            "beat 1 of 1",
            Change::Tempo(super::tempo::Asked::read("q = 72-76").expect("a tempo")),
        ),
        erratum("beat 3 of 1", Change::Words),
    ];
    let corrected = on(&piece, |page| apply(page, &errata));
    assert!(corrected.findings.is_empty(), "{:?}", corrected.findings);
    let part = &corrected.piece.parts[0];
    let dynamics: Vec<&str> = part
        .directions
        .iter()
        .filter_map(|direction| match &direction.kind {
            notation::DirectionKind::Dynamic(mark) => Some(mark.as_str()),
            _ => None,
        })
        .collect();
    assert_eq!(dynamics, ["p"]);
    assert!(part.events[0].articulations.is_empty());
    assert_eq!(part.events[1].articulations[0].kind, ArticulationKind::Accent);
    assert_eq!(corrected.marks.len(), 5);
}

#[test]
fn what_changed_since_a_day_is_told_in_order() {
    let day = |day| chrono::NaiveDate::from_ymd_opt(2026, 12, day).expect("a day");
    let late = Erratum {
        date: Some(day(9)),
        ..erratum("beat 1 of 1", Change::Words)
    };
    let call = super::Call {
        pieces: vec![super::CallPiece {
            errata: vec![late, erratum("beat 2 of 1", Change::Words)],
            ..super::CallPiece::default()
        }],
        changes: vec![super::CallChange {
            date: day(5),
            says: "The date is a week later.".to_owned(),
        }],
        date: Some(day(20)),
        ..super::Call::default()
    };
    let days: Vec<_> = call
        .changed_since(day(2))
        .into_iter()
        .map(|(date, ..)| date)
        .collect();
    assert_eq!(days, [day(5), day(9)]);
    assert_eq!(call.days_left(day(18)), Some(2));
    assert_eq!(call.days_left(day(21)), Some(-1));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// A cut lasts as long as its places say, and every note in it is one of the piece between them.
    #[test]
    fn a_cut_is_what_lies_between_its_places(
        bytes in proptest::collection::vec(any::<u8>(), 0..400),
        from in 0usize..12,
        more in 0usize..6,
        beat in 1i64..5,
        late in any::<bool>(),
    ) {
        let piece = notation::testing::piece(&bytes, &notation::testing::Palette::default());
        let Some(label) = piece.bars.get(from).map(|bar| bar.label.clone()) else { return Ok(()) };
        let Some(end) = piece.bars.get(from + more).map(|bar| bar.label.clone()) else { return Ok(()) };
        let said = if late { format!("beat {beat} of bar {label} through bar {end}") } else { format!("bar {label} through downbeat of bar {end}") };
        let Ok(range) = Range::read(&said) else { return Ok(()) };
        if piece.parts.is_empty() { return Ok(()) }
        let Ok(found) = on(&piece, |page| find(page, &range)) else { return Ok(()) };
        let cut = excerpt(&piece, &found);
        let onsets = piece.bar_onsets();
        let at = |place: notation::Place| onsets[place.bar.get()] + place.offset;
        let length: Quarters = cut.bars.iter().map(|bar| bar.length).fold(Quarters::ZERO, |all, one| all + one);
        prop_assert_eq!(length, at(found.until) - at(found.from));
        for event in &cut.parts[0].events {
            let source = piece.parts[0].events.iter().find(|known| known.id == event.id);
            let source = source.expect("an event of the piece");
            prop_assert!(at(source.place) >= at(found.from));
            prop_assert!(at(source.place) < at(found.until) || source.duration.is_zero());
        }
    }
}
