//! Words, tempo marks, dynamics, signs and playback hints.

use crate::{clean, kinds, read};
use notation::{DirectionKind, Metronome, MetronomeValue, NoteValue, Side};

fn said(name: &str) -> Vec<(String, DirectionKind)> {
    let (piece, _) = read(name);
    let at = |d: &notation::Direction| format!("{}@{}", d.place.bar, d.place.offset);
    piece.parts[0]
        .directions
        .iter()
        .map(|d| (at(d), d.kind.clone()))
        .collect()
}

fn words(text: &str) -> DirectionKind {
    DirectionKind::Words(text.to_owned())
}

#[test]
fn words_are_kept_as_they_stand() {
    let piece = clean("directions/words");
    let at = |place: &str, kind| (place.to_owned(), kind);
    assert_eq!(
        said("directions/words"),
        [
            at("0@0", words("Allegro ma non troppo")),
            at("0@0", words("D.C.\nal Fine")),
            at("0@0", words("D.S. al ")),
            at("0@0", DirectionKind::Coda),
            at("0@1", words("dolce")),
            at("0@2", DirectionKind::Rehearsal("A".to_owned())),
            at("0@2", DirectionKind::Segno),
        ]
    );
    let dolce = &piece.parts[0].directions[4];
    assert_eq!(
        (dolce.side, dolce.staff, dolce.voice.as_deref()),
        (Some(Side::Below), Some(1), Some("1"))
    );
}

#[test]
fn metronome_marks() {
    let piece = clean("directions/metronomes");
    let per_minute = |beat, dots, text: &str, parentheses| {
        DirectionKind::Metronome(Metronome {
            beat,
            dots,
            value: MetronomeValue::PerMinute(text.to_owned()),
            parentheses,
        })
    };
    let equals = |beat, dots, other, other_dots| {
        DirectionKind::Metronome(Metronome {
            beat,
            dots,
            value: MetronomeValue::Equals(other, other_dots),
            parentheses: false,
        })
    };
    let kinds: Vec<DirectionKind> = piece.parts[0].directions.iter().map(|d| d.kind.clone()).collect();
    assert_eq!(
        kinds,
        [
            per_minute(NoteValue::Quarter, 0, "120", false),
            per_minute(NoteValue::Half, 1, "c. 52-60", true),
            equals(NoteValue::Quarter, 1, NoteValue::Half, 0),
            equals(NoteValue::Eighth, 0, NoteValue::Quarter, 1),
            DirectionKind::Sign {
                name: "metronome".to_owned(),
                text: "quarter = quarter (3 in the time of 2)".to_owned()
            },
            per_minute(NoteValue::Quarter, 0, "90", false),
        ]
    );
    assert!(piece.parts[0].directions[4].printed && !piece.parts[0].directions[5].printed);
}

/// Source: MusicXML 4.0, `<dynamics>`: marks not in the list are combined from those that are (`sfmp` from sf and mp).
#[test]
fn dynamics_by_their_letters() {
    clean("directions/dynamics");
    let marks: Vec<String> = said("directions/dynamics")
        .into_iter()
        .map(|(_, kind)| match kind {
            DirectionKind::Dynamic(mark) => mark,
            other => format!("{other:?}"),
        })
        .collect();
    assert_eq!(marks, ["pp", "sfz", "sfmp", "più p", "n"]);
}

#[test]
fn playback_hints_keep_their_place_and_attributes() {
    let piece = clean("directions/sounds");
    let hints: Vec<String> = piece
        .sound_hints
        .iter()
        .map(|hint| {
            let said: Vec<String> = hint
                .attributes
                .iter()
                .map(|(name, value)| format!("{name}={value}"))
                .collect();
            format!("{} {}", hint.place.offset, said.join(" "))
        })
        .collect();
    assert_eq!(
        hints,
        [
            "0 fine=yes",
            "2 dacapo=yes time-only=2",
            "2 swing=2:1 eighth",
            "3 tempo=96"
        ]
    );
}

#[test]
fn signs_are_kept_by_name_and_the_unknown_is_reported() {
    let (_, findings) = read("directions/signs");
    assert_eq!(kinds(&findings), ["not-read 1", "not-read 1"]);
    assert!(findings[0].what.contains("<swirl> in <measure> (2 times"));
    assert!(findings[1].what.contains("<sparkle>"));
    let signs: Vec<(String, String)> = said("directions/signs")
        .into_iter()
        .map(|(_, kind)| match kind {
            DirectionKind::Sign { name, text } => (name, text),
            other => (format!("{other:?}"), String::new()),
        })
        .collect();
    let signs: Vec<(&str, &str)> = signs
        .iter()
        .map(|(name, text)| (name.as_str(), text.as_str()))
        .collect();
    assert_eq!(
        signs,
        [
            ("eyeglasses", ""),
            ("string-mute", "on"),
            ("harp-pedals", "Db"),
            ("scordatura", "4: A3"),
            ("other-direction", "hum"),
            ("harmony", "Bbmaj7/D"),
            ("figured-bass", "6 b4"),
        ]
    );
}

#[test]
fn further_signs_by_name() {
    let (piece, _) = read("directions/further-signs");
    let signs: Vec<String> = piece.parts[0]
        .directions
        .iter()
        .map(|d| match &d.kind {
            DirectionKind::Sign { name, text } => format!("{name} {text}").trim().to_owned(),
            other => format!("{other:?}"),
        })
        .collect();
    assert_eq!(
        signs,
        [
            "damp",
            "damp-all",
            "symbol accidentalSharp",
            "percussion triangle",
            "accordion-registration accordion-high 2",
            "staff-divide down",
            "principal-voice H",
        ]
    );
    assert_eq!(
        crate::spans(&piece.parts[0]),
        ["Other(\"principal-voice\") 0@0 → 0@4"]
    );
}

#[test]
fn pictures_and_groupings_are_reported() {
    let (_, findings) = read("directions/further-signs");
    assert_eq!(kinds(&findings), ["not-read 1", "not-read 1"]);
    assert!(findings[0].what.starts_with("<image>") && findings[1].what.starts_with("<grouping>"));
}
