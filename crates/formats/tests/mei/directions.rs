//! Words, dynamics, tempos, jumps, and what is put at notes from beside the staff.

use crate::{clean, kinds, read};
use notation::{ArticulationKind, Direction, DirectionKind, Metronome, MetronomeValue, Part};

fn said(part: &Part) -> Vec<String> {
    part.directions.iter().map(direction).collect()
}

fn direction(direction: &Direction) -> String {
    let what = match &direction.kind {
        DirectionKind::Words(text) => format!("“{text}”"),
        DirectionKind::Dynamic(mark) => format!("[{mark}]"),
        DirectionKind::Metronome(mark) => metronome(mark),
        DirectionKind::Rehearsal(text) => format!("({text})"),
        DirectionKind::Segno => "segno".to_owned(),
        DirectionKind::Coda => "coda".to_owned(),
        DirectionKind::Sign { name, text } => format!("{name}: {text}"),
    };
    let hidden = if direction.printed { "" } else { " hidden" };
    format!(
        "{}@{} {what}{hidden}",
        direction.place.bar, direction.place.offset
    )
}

fn metronome(mark: &Metronome) -> String {
    let dots = ".".repeat(usize::from(mark.dots));
    let value = match &mark.value {
        MetronomeValue::PerMinute(text) => text.clone(),
        MetronomeValue::Equals(value, dots) => format!("{}{}", value.name(), ".".repeat(usize::from(*dots))),
    };
    let said = format!("{}{dots} = {value}", mark.beat.name());
    if mark.parentheses {
        format!("({said})")
    } else {
        said
    }
}

#[test]
fn words_dynamics_and_signs() {
    let piece = clean("directions/words-and-signs");
    assert_eq!(
        said(&piece.parts[0]),
        [
            "0@0 “dolce e legato”",
            "0@0 [p]",
            "0@0 (A)",
            "0@0 harmony: Bb7",
            "0@1 [f]",
            "0@2 “più”",
            "0@2 [f]",
            "0@2 figured-bass: 6 4",
            "0@3 “cresc.”",
            "0@3 “D.S. al”",
            "0@3 coda",
        ]
    );
    assert_eq!(piece.parts[0].directions[0].side, Some(notation::Side::Above));
}

#[test]
fn tempos_in_words_marks_and_attributes() {
    let piece = clean("directions/tempos");
    assert_eq!(
        said(&piece.parts[0]),
        [
            "0@0 “Allegro”",
            "0@0 (quarter. = 96)",
            "1@0 half = c. 60-66",
            "2@0 “Lento”",
            "2@0 eighth = 72 hidden",
            "3@0 quarter = eighth",
            "4@0 half = 50",
        ]
    );
    assert_eq!(piece.sound_hints.len(), 1);
    assert_eq!(piece.sound_hints[0].get("tempo"), Some("120"));
}

#[test]
fn jumps_as_printed_and_as_played() {
    let piece = clean("directions/jumps");
    assert_eq!(
        said(&piece.parts[0]),
        [
            "0@0 segno",
            "1@4 “Fine”",
            "2@0 “To Coda”",
            "3@4 “D.S. al Coda”",
            "4@0 coda",
            "4@4 “D.C.”",
        ]
    );
    let hints: Vec<(u32, &str)> = piece
        .sound_hints
        .iter()
        .flat_map(|hint| {
            hint.attributes
                .iter()
                .map(|(name, _)| (hint.place.bar.0, name.as_str()))
        })
        .collect();
    assert_eq!(hints, [(0, "segno"), (1, "fine"), (3, "dalsegno"), (4, "dacapo")]);
}

#[test]
fn signs_put_at_the_notes_they_belong_to() {
    let (piece, findings) = read("directions/at-notes");
    assert_eq!(kinds(&findings), ["sign-unplaced 1"]);
    let events = &piece.parts[0].events;
    assert_eq!(events[0].fermatas[0].shape, "square");
    assert!(events[0].fermatas[0].inverted);
    assert_eq!(events[1].fermatas.len(), 1);
    assert_eq!(piece.barlines[0].fermatas.len(), 1);
    assert_eq!(
        events[1].articulations[0].kind,
        ArticulationKind::BreathMark("comma".to_owned())
    );
    assert_eq!(
        events[2].articulations[0].kind,
        ArticulationKind::Caesura(String::new())
    );
    assert_eq!(events[2].arpeggio.as_deref(), Some("up"));
    let fingers: Vec<usize> = events[2]
        .heads()
        .iter()
        .map(|head| head.technical.len())
        .collect();
    assert_eq!(fingers, [0, 1]);
    assert_eq!(events[2].heads()[1].technical[0].text, "3");
}

#[test]
fn further_words_lines_and_marks() {
    let (piece, findings) = read("directions/further");
    assert_eq!(kinds(&findings), ["not-read 1"]);
    let part = &piece.parts[0];
    assert_eq!(
        said(part),
        [
            "0@0 harp-pedals: Dflat Cnatural Bnatural Esharp Fnatural Gnatural Anatural"
                .replace("flat", "f")
                .replace("natural", "n")
                .replace("sharp", "s")
                .as_str(),
            "0@0 other-direction: col basso",
            "0@0 other-direction: aside",
            "0@0 other-direction: hark",
            "0@2 other-direction: vide",
            "0@4 “attacca”",
        ]
    );
    assert_eq!(
        crate::spans(part),
        [
            "Bracket 0@0 → 0@1",
            "Dashes 0@1 → 0@2",
            "Other(\"curve\") 0@2 → 0@3"
        ]
    );
    let technical = |at: usize| {
        let mark = &part.events[at].heads()[0].technical[0];
        (mark.name.clone(), mark.text.clone())
    };
    assert_eq!(technical(1), ("fingering".to_owned(), "2 3".to_owned()));
    assert_eq!(technical(3), ("bend".to_owned(), "1".to_owned()));
}
