//! Drills of short fixtures, told as a musician would read them.

#![allow(
    clippy::indexing_slicing,
    reason = "a test that reads past the end has failed"
)]

use super::*;
use crate::BarSpan;
use load::{Player, Study, Wishes};
use notation::{BarIndex, Piece, sketch};
use survey::{Context, Options, Question, Survey};

pub(super) fn studied(piece: &Piece, instrument: &str) -> (Survey, Study) {
    let survey = survey::survey(piece, 0, &Question::ALL, &Options::default()).expect("a survey");
    let ctx = Context::new(piece, 0).expect("a part");
    let player = Player::usual(
        instruments::by_id(instrument),
        instruments::Experience::Intermediate,
    );
    let study = load::study(&ctx, &survey, &player, &Wishes::default());
    (survey, study)
}

/// The notes of a piece, bar by bar, as `C4/q` with `~` for ties; rests as `r/q`.
pub(super) fn told(piece: &Piece) -> Vec<String> {
    let part = &piece.parts[0];
    (0..piece.bars.len())
        .map(|bar| {
            let events = part.bar_events(BarIndex::from_usize(bar));
            let said: Vec<String> = events.iter().map(event_said).collect();
            said.join(" ")
        })
        .collect()
}

fn event_said(event: &notation::Event) -> String {
    let pitches: Vec<String> = event.pitches().map(|pitch| pitch.to_string()).collect();
    let name = if pitches.is_empty() {
        "r".to_owned()
    } else {
        pitches.join("+")
    };
    let tie = if event.heads().iter().any(|head| head.tie_start) {
        "~"
    } else {
        ""
    };
    let grace = if event.is_grace() { "g:" } else { "" };
    match &event.written {
        None => format!("{grace}{name}/all"),
        Some(written) => {
            let value = match written.value {
                notation::NoteValue::Whole => "w",
                notation::NoteValue::Half => "h",
                notation::NoteValue::Quarter => "q",
                notation::NoteValue::Eighth => "e",
                notation::NoteValue::N16th => "s",
                notation::NoteValue::N32nd => "t",
                _ => "?",
            };
            let tuplet = written
                .tuplets
                .first()
                .map_or(String::new(), |ratio| format!(":{}", ratio.actual));
            format!(
                "{grace}{name}/{value}{}{tuplet}{tie}",
                ".".repeat(usize::from(written.dots))
            )
        }
    }
}

pub(super) fn drill(text: &str, instrument: &str, kind: DrillKind, bars: (u32, u32)) -> Option<Drill> {
    let piece = sketch(text).expect("a sketch");
    let (survey, study) = studied(&piece, instrument);
    let ctx = Context::new(&piece, 0).expect("a part");
    let source = Source {
        ctx: &ctx,
        survey: &survey,
        study: &study,
    };
    let span = BarSpan::new(BarIndex(bars.0), BarIndex(bars.1));
    let offer = for_bars(&source, span, None)
        .into_iter()
        .find(|offer| offer.kind == kind)?;
    Some(make(&source, &offer).expect("what is offered can be made"))
}

fn bars(text: &str, kind: DrillKind, span: (u32, u32)) -> Vec<String> {
    drill(text, "flute", kind, span).map_or_else(Vec::new, |drill| told(&drill.piece))
}

const RUN: &str = "key:1 metre:4/4 G4/e A4/e B4/e C5/e D5/e E5/e F#5/e G5/e | D5/h D5/h | C5/h B4/h |";

#[test]
fn eighths_become_dotted_pairs_and_lead_into_the_next_downbeat() {
    assert_eq!(
        bars(RUN, DrillKind::Dotted, (0, 0)),
        ["G4/e. A4/s B4/e. C5/s D5/e. E5/s F#5/e. G5/s", "D5/q r/q r/h"]
    );
    assert_eq!(
        bars(RUN, DrillKind::ReverseDotted, (0, 0))[0],
        "G4/s A4/e. B4/s C5/e. D5/s E5/e. F#5/s G5/e."
    );
}

#[test]
fn sixteenths_are_dotted_at_twice_the_length() {
    let text = "metre:2/4 C5/s D5/s E5/s F5/s G5/s F5/s E5/s D5/s | C5/h |";
    assert_eq!(
        bars(text, DrillKind::Dotted, (0, 0)),
        ["C5/e. D5/s E5/e. F5/s", "G5/e. F5/s E5/e. D5/s", "C5/h"]
    );
}

#[test]
fn a_run_in_threes_ends_on_a_held_note() {
    assert_eq!(
        bars(RUN, DrillKind::Triplets, (0, 0)),
        ["G4/e:3 A4/e:3 B4/e:3 C5/e:3 D5/e:3 E5/e:3 F#5/e:3 G5/e:3 D5/e:3 r/q"]
    );
}

#[test]
fn groups_are_played_on_to_the_next_beat_and_held() {
    assert_eq!(
        bars(RUN, DrillKind::GroupsWithStops, (0, 0)),
        ["G4/e A4/e B4/q r/e C5/e D5/q", "r/e E5/e F#5/q r/e G5/e D5/q"]
    );
}

#[test]
fn a_passage_grows_from_either_end() {
    let text = "metre:2/4 C5/e D5/e E5/e F5/e | G5/h |";
    assert_eq!(
        bars(text, DrillKind::AddFromStart, (0, 0)),
        [
            "C5/e D5/e r/q",
            "C5/e D5/e E5/e r/e",
            "C5/e D5/e E5/e F5/e",
            "C5/e D5/e E5/e F5/e",
            "G5/q r/q"
        ]
    );
    assert_eq!(
        bars(text, DrillKind::AddFromEnd, (0, 0))[..4],
        ["r/q r/e F5/e", "G5/q r/q", "r/q E5/e F5/e", "G5/q r/q"]
    );
}

#[test]
fn half_speed_stays_in_the_written_metre() {
    let text = "metre:3/4 C5/q D5/e E5/e F5/q | G5/h. |";
    assert_eq!(
        bars(text, DrillKind::HalfSpeed, (0, 0)),
        ["C5/h D5/q", "E5/q F5/h", "G5/h r/q"]
    );
    let over = "metre:3/4 C5/q D5/q E5/q | G5/h. |";
    assert_eq!(
        bars(over, DrillKind::HalfSpeed, (0, 0))[..2],
        ["C5/h D5/q~", "D5/q E5/h"]
    );
    let pickup = "metre:4/4 C5/q | D5/h E5/h | C5/w |";
    assert_eq!(bars(pickup, DrillKind::HalfSpeed, (0, 0)), ["C5/h", "D5/h r/h"]);
}

#[test]
fn what_is_slurred_is_held_where_only_attacks_are_played() {
    let text = "metre:2/4 ( C5/e D5/e ) E5/e F5/e | G5/e E5/e F5/e D5/e | C5/h |";
    let told = bars(text, DrillKind::TongueOnly, (0, 1));
    assert_eq!(told[0], "C5/e~ C5/e C5/e C5/e");
    let slurred = "metre:2/4 ( C5/e D5/e E5/e F5/e | G5/e E5/e F5/e D5/e ) | C5/h |";
    assert!(
        bars(slurred, DrillKind::TongueOnly, (0, 1)).is_empty(),
        "nothing is tongued"
    );
}

fn kinds(text: &str, instrument: &str, span: (u32, u32)) -> Vec<&'static str> {
    let piece = sketch(text).expect("a sketch");
    let (survey, study) = studied(&piece, instrument);
    let ctx = Context::new(&piece, 0).expect("a part");
    let source = Source {
        ctx: &ctx,
        survey: &survey,
        study: &study,
    };
    let span = BarSpan::new(BarIndex(span.0), BarIndex(span.1));
    let mut kinds: Vec<&str> = for_bars(&source, span, None)
        .iter()
        .map(|offer| offer.kind.id())
        .collect();
    kinds.sort_unstable();
    kinds
}

#[test]
fn only_what_the_bars_hold_is_offered() {
    // One long note: nothing but slow practice of it and the next.
    assert_eq!(kinds("metre:4/4 G4/w | A4/w |", "flute", (0, 0)), ["half-speed"]);
    // All slurred, no leap, no ornament, one value.
    let slurred = kinds("metre:2/4 ( F5/e E5/e D5/e C5/e ) | B4/h |", "oboe", (0, 0));
    for missing in ["tongue-only", "without-ornaments", "leaps-filled", "rhythm-only"] {
        assert!(!slurred.contains(&missing), "{missing}");
    }
    assert!(slurred.contains(&"without-slurs"));
    // A break is crossed on the clarinet, not on the oboe's same notes.
    let over = "metre:2/4 A4/e B4/e A4/e B4/e | C5/h |";
    assert!(kinds(over, "clarinet-bb", (0, 0)).contains(&"register-slurs"));
    assert!(
        !kinds("metre:2/4 G4/e A4/e G4/e A4/e | G4/h |", "clarinet-bb", (0, 0)).contains(&"register-slurs")
    );
    // Strings have no break and no tongue, but a bow.
    let bowed = kinds(over, "violin", (0, 0));
    assert!(bowed.contains(&"tongue-only") && !bowed.contains(&"register-slurs"));
}

#[test]
fn ornaments_and_grace_notes_are_left_out() {
    let text = "metre:2/4 g:D5/e C5/q!trill E5/q | F5/h |";
    assert_eq!(bars(text, DrillKind::WithoutOrnaments, (0, 0))[0], "C5/q E5/q");
    let kept = drill(text, "flute", DrillKind::HalfSpeed, (0, 0)).expect("half speed");
    assert_eq!(
        told(&kept.piece)[0],
        "g:D5/e C5/h",
        "grace notes stay small at half speed"
    );
    assert_eq!(kept.piece.parts[0].events[1].ornaments.len(), 1);
}

#[test]
fn without_slurs_ties_stay() {
    let text = "metre:2/4 ( C5/q D5/q~ ) | D5/q E5/q |";
    let plain = drill(text, "flute", DrillKind::WithoutSlurs, (0, 0)).expect("a slur");
    assert_eq!(told(&plain.piece), ["C5/q D5/q~", "D5/q r/q"]);
    assert!(plain.piece.parts[0].spans.is_empty());
}

#[test]
fn a_tie_into_the_bars_is_cut_and_its_note_struck() {
    let text = "metre:2/4 C5/q D5/q~ | D5/e E5/e F5/e G5/e | A5/h |";
    let drill = drill(text, "flute", DrillKind::HalfSpeed, (1, 1)).expect("half speed");
    assert_eq!(told(&drill.piece), ["D5/q E5/q", "F5/q G5/q", "A5/h"]);
    assert!(!drill.piece.parts[0].events[0].heads()[0].tie_stop);
    assert_eq!(
        drill.bars,
        [Some(BarIndex(1)), Some(BarIndex(1)), Some(BarIndex(2))]
    );
    let source = sketch(text).expect("a sketch");
    let first = drill.piece.parts[0].events[0].id;
    assert_eq!(drill.from.get(&first), Some(&source.parts[0].events[2].id));
}

#[test]
fn changes_inside_the_bars_come_with_them() {
    let text = "metre:4/4 clef:F4 C3/q D3/q clef:C4 E4/q F4/q | metre:3/4 key:2 D4/q E4/q F#4/q | C4/h. |";
    let drill = drill(text, "bassoon", DrillKind::HalfSpeed, (0, 1)).expect("half speed");
    let part = &drill.piece.parts[0];
    assert_eq!(
        told(&drill.piece)[..4],
        ["C3/h D3/h", "E4/h F4/h", "D4/h E4/q~", "E4/q F#4/h"]
    );
    let clefs: Vec<(u32, String)> = part
        .clefs
        .iter()
        .map(|change| (change.place.bar.0, change.value.code()))
        .collect();
    assert_eq!(clefs, [(0, "F4".to_owned()), (1, "C4".to_owned())]);
    let metres: Vec<(u32, String)> = part
        .metres
        .iter()
        .map(|change| (change.place.bar.0, change.value.name()))
        .collect();
    assert_eq!(metres, [(0, "4/4".to_owned()), (2, "3/4".to_owned())]);
    assert_eq!(
        part.keys
            .iter()
            .map(|change| (change.place.bar.0, change.value.fifths))
            .collect::<Vec<_>>(),
        [(0, Some(0)), (2, Some(2))]
    );
}

#[test]
fn tuplets_keep_their_brackets_when_slowed_and_when_cut() {
    let text = "metre:2/4 C5/e:3 D5/e:3 E5/e:3 F5/q | G5/h |";
    let slow = drill(text, "flute", DrillKind::HalfSpeed, (0, 0)).expect("half speed");
    assert_eq!(told(&slow.piece)[0], "C5/q:3 D5/q:3 E5/q:3");
    let brackets = |piece: &Piece| {
        piece.parts[0]
            .spans
            .iter()
            .filter(|span| matches!(span.kind, notation::SpanKind::Tuplet { .. }))
            .count()
    };
    assert_eq!(brackets(&slow.piece), 1);
    let steps = drill(text, "flute", DrillKind::AddFromEnd, (0, 0)).expect("steps");
    // The triplet is kept whole where one of its notes sounds.
    assert_eq!(told(&steps.piece)[2], "r/e:3 r/e:3 E5/e:3 F5/q");
}

#[test]
fn compound_runs_lilt_in_threes() {
    let text = "metre:6/8 C5/e D5/e E5/e F5/e G5/e A5/e | B5/h. |";
    assert_eq!(
        bars(text, DrillKind::Dotted, (0, 0)),
        Vec::<String>::new(),
        "two groups are too few"
    );
    let text = "metre:6/8 C5/e D5/e E5/e F5/e G5/e A5/e | G5/e F5/e E5/e D5/e C5/e B4/e | C5/h. |";
    assert_eq!(
        bars(text, DrillKind::Dotted, (0, 1))[0],
        "C5/e. D5/s E5/e F5/e. G5/s A5/e"
    );
    assert_eq!(
        bars(text, DrillKind::ReverseDotted, (0, 1))[0],
        "C5/s D5/e. E5/e F5/s G5/e. A5/e"
    );
}

#[test]
fn leaps_are_walked_in_the_key_and_land_on_a_beat() {
    let text = "key:1 metre:4/4 G4/q A4/q B4/q C5/q | D5/q E5/q F#5/q G5/q | G4/h D5/h | G4/w | G4/w |";
    assert_eq!(
        bars(text, DrillKind::LeapsFilled, (2, 2)),
        [
            "G4/e A4/e B4/e C5/e D5/h",
            "G4/h D5/h",
            "D5/e C5/e B4/e A4/e G4/h",
            "D5/h G4/h"
        ]
    );
    // In minor up by the raised sixth and seventh, down by the natural ones.
    let minor = "key:0 metre:4/4 A4/q B4/q C5/q D5/q | E5/q F#5/q G#5/q A5/q | E5/h A5/h | A5/h E5/h | A4/w | G#4/h B4/h | A4/w |";
    assert_eq!(
        bars(minor, DrillKind::LeapsFilled, (2, 2))[0],
        "E5/q F#5/e G#5/e A5/h"
    );
}

#[test]
fn to_and_fro_gets_quicker_and_stops() {
    let text = "metre:2/4 C5/e D5/e C5/e D5/e | E5/h |";
    let drill = drill(text, "flute", DrillKind::FingeringTrill, (0, 0))
        .expect("C to D on the flute moves many fingers");
    let bars = told(&drill.piece);
    assert_eq!(bars[0], "C5/q D5/q");
    assert_eq!(bars[1], "C5/e D5/e C5/e D5/e");
    assert_eq!(bars[2], "C5/s D5/s C5/s D5/s C5/s D5/s C5/s D5/s");
    assert_eq!(bars[3], "C5/h");
}

#[test]
fn slurs_over_the_break_begin_with_the_note_that_is_overblown() {
    let text = "metre:2/4 A4/e B4/e A4/e B4/e | C5/h |";
    let clarinet =
        drill(text, "clarinet-bb", DrillKind::RegisterSlurs, (0, 0)).expect("the clarinet's break");
    let bars = told(&clarinet.piece);
    assert_eq!(bars[0], "E3/q B4/q", "a twelfth");
    assert!(bars.contains(&"A4/q B4/q".to_owned()));
    let flute = drill(
        "metre:2/4 C5/e E5/e C5/e E5/e | D5/h |",
        "flute",
        DrillKind::RegisterSlurs,
        (0, 0),
    );
    assert_eq!(
        told(&flute.expect("the flute's break").piece)[0],
        "E4/q E5/q",
        "an octave"
    );
}

#[test]
fn brass_slurs_from_slot_to_slot_on_one_fingering() {
    let text = "metre:4/4 C5/h G4/h | C5/h E5/h | G5/w |";
    let drill = drill(text, "trumpet-bb", DrillKind::RegisterSlurs, (0, 1)).expect("slots");
    assert_eq!(told(&drill.piece)[..2], ["G4/h C5/h", "C5/h G4/h"]);
    assert!(
        drill
            .offer
            .cautions
            .iter()
            .any(|caution| caution.contains("Rest as long"))
    );
}

#[test]
fn a_figure_goes_through_twelve_keys_by_fourths() {
    let text = "key:0 metre:2/4 C5/e D5/e E5/e G5/e | C5/h | G4/q B4/q | C5/h |";
    let drill = drill(text, "flute", DrillKind::ThroughKeys, (0, 0)).expect("a figure");
    let bars = told(&drill.piece);
    assert_eq!(bars.len(), 12);
    assert_eq!(bars[0], "C5/e D5/e E5/e G5/e");
    assert_eq!(bars[1], "F5/e G5/e A5/e C6/e");
    assert_eq!(bars[2], "Bb4/e C5/e D5/e F5/e");
    assert_eq!(bars[6], "Gb5/e Ab5/e Bb5/e Db6/e");
    assert_eq!(bars[7], "B4/e C#5/e D#5/e F#5/e");
    let fifths: Vec<i8> = drill.piece.parts[0]
        .keys
        .iter()
        .filter_map(|change| change.value.fifths)
        .collect();
    assert_eq!(fifths, [0, -1, -2, -3, -4, -5, -6, 5, 4, 3, 2, 1]);
}

fn source_of<T>(text: &str, instrument: &str, ask: impl Fn(&Source) -> T) -> T {
    let piece = sketch(text).expect("a sketch");
    let (survey, study) = studied(&piece, instrument);
    let ctx = Context::new(&piece, 0).expect("a part");
    ask(&Source {
        ctx: &ctx,
        survey: &survey,
        study: &study,
    })
}

#[test]
fn look_alikes_stand_back_to_back_between_repeat_signs() {
    let text =
        "metre:4/4 C5/q D5/q E5/q F5/q | G5/q E5/q C5/h | C5/q D5/q E5/q F#5/q | G5/q A5/q B5/h | C5/w |";
    let (drill, offers) = source_of(text, "flute", |source| {
        let offers = look_alikes(source);
        (make(source, &offers[0]).expect("a pair"), offers)
    });
    assert_eq!(offers.len(), 1);
    assert_eq!(
        told(&drill.piece),
        ["C5/q D5/q E5/q F5/q", "C5/q D5/q E5/q F#5/q"]
    );
    assert!(drill.offer.what_for.contains("F♯5"), "{}", drill.offer.what_for);
    let repeats = drill
        .piece
        .barlines
        .iter()
        .filter(|line| line.repeat.is_some())
        .count();
    assert_eq!(repeats, 2);
}

/// Two voices on one staff: what differs in the lower one is no pair of the upper one, which is drilled.
#[test]
fn bars_that_differ_only_in_another_voice_are_no_pair() {
    let text = "X:1\nM:2/4\nL:1/8\nK:D\nd2 e2 & z4 | a4 & GFGE | a4 & FEFD | d2 f2 & A4 | efga & z4 | e2 c2 & z4 | d4 & z4 |]\n";
    let piece = formats::read(text.as_bytes(), "two.abc").expect("a tune").0;
    let (survey, study) = studied(&piece, "violin");
    let ctx = Context::new(&piece, 0).expect("a part");
    let source = Source {
        ctx: &ctx,
        survey: &survey,
        study: &study,
    };
    assert!(!study.alike.look_alikes.is_empty());
    let titles: Vec<String> = look_alikes(&source)
        .into_iter()
        .map(|offer| offer.title)
        .collect();
    assert_eq!(titles, [""; 0]);
}

#[test]
fn scales_have_the_pieces_own_figure_and_come_out_on_a_beat() {
    let figure = "C5/e. D5/s";
    let text = format!(
        "key:0 metre:2/4 {figure} {figure} | {figure} {figure} | E5/q D5/q | C5/h | G4/q B4/q | C5/h |"
    );
    let drill = source_of(&text, "flute", |source| {
        let offers = scales(source);
        assert_eq!(offers[0].title, "C major scale");
        make(source, &offers[0]).expect("a scale")
    });
    let bars = told(&drill.piece);
    assert_eq!(bars[0], "C4/e. D4/s E4/e. F4/s");
    assert!(bars.last().is_some_and(|bar| bar.starts_with("C4/")), "{bars:?}");
    let key = drill.piece.parts[0].keys[0].value.fifths;
    assert_eq!(key, Some(0));
}

#[test]
fn a_mode_is_practised_as_its_own_scale() {
    let tune = "D4/q A4/q G4/q F4/q | E4/q F4/q G4/q A4/q | B4/q A4/q G4/q E4/q | F4/q E4/q D4/h |";
    let text = format!(
        "key:0 metre:4/4 {tune} D5/q C5/q B4/q A4/q | G4/q B4/q A4/h | {tune} D4/q E4/q C4/q E4/q | D4/w |"
    );
    let titles: Vec<String> = source_of(&text, "flute", |source| {
        scales(source).into_iter().map(|offer| offer.title).collect()
    });
    assert_eq!(titles[0], "D dorian scale", "{titles:?}");
}

#[test]
fn what_leaves_the_range_is_brought_nearer_and_said() {
    let text = "metre:4/4 C4/q D4/q E4/q F4/q | G4/w |";
    // A bassoon's part written far too high for it.
    let high = "metre:4/4 C6/q D6/q E6/q F6/q | G6/w |";
    let drill = drill(high, "bassoon", DrillKind::HalfSpeed, (0, 0)).expect("half speed");
    assert!(
        drill
            .findings
            .iter()
            .any(|finding| finding.kind == "out-of-range")
    );
    assert_eq!(told(&drill.piece)[0], "C4/h D4/h");
    let fits = super::tests::drill(text, "flute", DrillKind::HalfSpeed, (0, 0)).expect("half speed");
    assert!(fits.findings.is_empty());
}

#[test]
fn rests_of_a_bar_and_bars_of_one_note_are_no_trouble() {
    let text = "metre:4/4 R | C5/w | R | D5/q R_ |".replace(" R_ |", " r/h. |");
    for span in [(0, 0), (1, 1), (0, 3), (2, 3)] {
        for kind in kinds(&text, "flute", span) {
            let kind = DrillKind::from_id(kind).expect("a kind");
            assert!(drill(&text, "flute", kind, span).is_some());
        }
    }
    assert!(
        kinds(&text, "flute", (0, 0)).is_empty(),
        "a bar of rest has nothing to drill"
    );
}

#[test]
fn a_bar_of_one_note_is_practised_out_of_the_bar_before() {
    let text = "metre:4/4 C5/q D5/q E5/q F5/q | G5/w~ | G5/w |";
    let slow = drill(text, "flute", DrillKind::HalfSpeed, (1, 1)).expect("half speed");
    assert_eq!(
        (slow.offer.span.from, slow.offer.span.to),
        (BarIndex(0), BarIndex(1))
    );
    assert_eq!(
        told(&slow.piece),
        ["C5/h D5/h", "E5/h F5/h", "G5/w~", "G5/w~", "G5/h r/h"]
    );
}

#[test]
fn a_booklet_holds_all_drills_each_on_a_new_line_with_its_tempo() {
    let booklet = source_of(RUN, "flute", |source| {
        let offers = for_bars(source, BarSpan::new(BarIndex(0), BarIndex(0)), None);
        let drills: Vec<Drill> = offers
            .iter()
            .take(3)
            .map(|offer| make(source, offer).expect("a drill"))
            .collect();
        booklet(source, &drills, "Drills", true)
    });
    assert_eq!(booklet.drills.len(), 3);
    let metronomes = booklet.piece.parts[0]
        .directions
        .iter()
        .filter(|direction| matches!(direction.kind, notation::DirectionKind::Metronome(_)))
        .count();
    assert_eq!(metronomes, 3);
    for (span, ..) in booklet.drills.iter().skip(1) {
        assert!(booklet.piece.bars[span.from.get()].new_system);
    }
}
