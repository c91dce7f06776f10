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
