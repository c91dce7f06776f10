//! Signs at notes: articulation, ornaments, technique, fermatas, accidentals.

use crate::{clean, events, kinds, read, spans};
use notation::{ArticulationKind, OrnamentKind, Rational, Side};

#[test]
fn every_articulation() {
    let piece = clean("marks/articulations");
    let part = &piece.parts[0];
    let marks: Vec<&str> = part
        .events
        .iter()
        .flat_map(|event| &event.articulations)
        .map(|mark| mark.kind.mark())
        .collect();
    assert_eq!(
        marks,
        [
            "accent",
            "marcato",
            "staccato",
            "tenuto",
            "portato",
            "staccatissimo",
            "spiccato",
            "scoop",
            "plop",
            "doit",
            "falloff",
            "breath mark",
            "caesura",
            "stress",
            "unstress",
            "soft accent",
            "wiggle",
            "staccato"
        ]
    );
    assert_eq!(part.events[0].articulations[0].side, Some(Side::Above));
    assert_eq!(
        part.events[11].articulations[0].kind,
        ArticulationKind::BreathMark("comma".to_owned())
    );
    assert_eq!(
        part.events[12].articulations[0].kind,
        ArticulationKind::Caesura("thick".to_owned())
    );
}

#[test]
fn every_ornament() {
    let piece = clean("marks/ornaments");
    let part = &piece.parts[0];
    let kinds: Vec<&OrnamentKind> = part.events[..15]
        .iter()
        .flat_map(|event| &event.ornaments)
        .map(|ornament| &ornament.kind)
        .collect();
    use OrnamentKind as O;
    assert_eq!(
        kinds,
        [
            &O::Trill,
            &O::Turn,
            &O::DelayedTurn,
            &O::InvertedTurn,
            &O::DelayedInvertedTurn,
            &O::VerticalTurn,
            &O::InvertedVerticalTurn,
            &O::Shake,
            &O::Mordent { long: true },
            &O::InvertedMordent { long: false },
            &O::Schleifer,
            &O::Haydn,
            &O::Tremolo {
                strokes: 3,
                between: false
            },
            &O::Tremolo {
                strokes: 0,
                between: false
            },
            &O::Other("curl".to_owned())
        ]
    );
}

#[test]
fn accidentals_stand_at_their_ornament() {
    let piece = clean("marks/ornaments");
    let part = &piece.parts[0];
    let at = |index: usize| &part.events[index].ornaments;
    let flat_above = ("flat".to_owned(), Side::Above);
    let sharp_below = ("sharp".to_owned(), Side::Below);
    assert_eq!(at(15)[0].accidentals, [flat_above, sharp_below]);
    assert_eq!(
        at(16).len(),
        1,
        "the wavy line of a trill is no ornament of its own"
    );
    assert_eq!(at(16)[0].accidentals, [("natural".to_owned(), Side::Above)]);
    assert_eq!(at(18)[0].kind, OrnamentKind::Other("accidental-mark".to_owned()));
    assert_eq!(
        at(19)[0].kind,
        OrnamentKind::Tremolo {
            strokes: 2,
            between: true
        }
    );
    assert_eq!(
        spans(part),
        ["TrillLine 1@1 → 1@2", "TremoloPair { strokes: 2 } 2@0 → 2@2"]
    );
}

#[test]
fn fingerings_belong_to_their_head_and_bowings_to_the_chord() {
    let piece = clean("marks/technical");
    let part = &piece.parts[0];
    let say = |list: &[notation::Technical]| {
        list.iter()
            .map(|t| format!("{} {}", t.name, t.text).trim().to_owned())
            .collect::<Vec<_>>()
    };
    let chord = &part.events[0];
    assert_eq!(say(&chord.technical), ["up-bow"]);
    assert_eq!(say(&chord.heads()[0].technical), ["fingering 1"]);
    assert_eq!(say(&chord.heads()[1].technical), ["fingering 2", "string 4"]);
    assert_eq!(
        say(&part.events[1].heads()[0].technical),
        ["fingering 4", "fingering -3", "harmonic natural, touching-pitch"]
    );
    assert_eq!(say(&part.events[2].technical), ["double-tongue"]);
    assert_eq!(
        say(&part.events[3].heads()[0].technical),
        ["hole half (left)", "open-string"]
    );
    assert_eq!(spans(part), ["Other(\"hammer-on\") 0@2 → 0@3"]);
}

#[test]
fn what_else_stands_at_a_note() {
    let piece = clean("marks/at-notes");
    let events = &piece.parts[0].events;
    assert_eq!(
        (
            events[0].fermatas[0].shape.as_str(),
            events[0].fermatas[0].inverted
        ),
        ("angled", true)
    );
    assert_eq!(events[0].dynamics, ["sfmp"]);
    let lyric = &events[0].lyrics[0];
    assert_eq!(
        (lyric.text.as_str(), lyric.syllabic.as_str(), lyric.extend),
        ("glo‿ri", "begin", true)
    );
    assert_eq!(events[1].arpeggio.as_deref(), Some("down"));
    assert_eq!(events[2].arpeggio.as_deref(), Some("not"));
    assert_eq!(
        (
            events[2].heads()[0].shape.as_deref(),
            events[2].heads()[0].parentheses
        ),
        (Some("x"), true)
    );
    assert!(events[2].printed && !events[3].printed);
}

#[test]
fn unpitched_notes_keep_the_place_where_they_are_drawn() {
    let piece = clean("marks/unpitched");
    assert_eq!(
        events(&piece.parts[0]),
        ["0@0 x(C5) quarter =1", "0@1 x quarter =1"]
    );
}

#[test]
fn printed_accidentals_are_separate_from_the_pitch() {
    let (piece, findings) = read("marks/accidentals");
    assert_eq!(kinds(&findings), ["accidental-contradicts 1", "pitch-unclear 1"]);
    let heads: Vec<_> = piece.parts[0]
        .events
        .iter()
        .map(|event| &event.heads()[0])
        .collect();
    let accidental = |index: usize| heads[index].accidental.as_ref().expect("an accidental");
    assert!(accidental(0).cautionary && accidental(1).editorial && accidental(2).parentheses);
    assert_eq!(accidental(2).alter, Some(Rational::whole(2)));
    assert_eq!(
        heads[3].pitch().map(|pitch| pitch.alter),
        Some(Rational::new(-1, 2))
    );
    assert_eq!(accidental(3).alter, Some(Rational::new(-1, 2)));
    assert_eq!(heads[5].pitch(), None);
    assert_eq!(
        (accidental(6).sign.as_str(), accidental(6).alter),
        ("slash-flat", None)
    );
}

#[test]
fn every_technical_mark_is_kept_by_name() {
    let piece = clean("marks/technical-all");
    let events = &piece.parts[0].events;
    let say = |t: &notation::Technical| format!("{} {}", t.name, t.text).trim().to_owned();
    let all: Vec<String> = events
        .iter()
        .flat_map(|event| event.technical.iter().chain(&event.heads()[0].technical))
        .map(say)
        .collect();
    assert_eq!(
        all,
        [
            "down-bow",
            "thumb-position",
            "triple-tongue",
            "stopped",
            "snap-pizzicato",
            "tap",
            "heel",
            "toe",
            "fingernails",
            "brass-bend",
            "flip",
            "smear",
            "open",
            "half-muted",
            "golpe",
            "fret 3",
            "pluck p",
            "bend 1, release, with-bar dip",
            "arrow up double",
            "handbell damp",
            "harmon-mute half",
            "other-technical thumb"
        ]
    );
    assert_eq!(spans(&piece.parts[0]), ["Other(\"pull-off\") 1@6 → 1@7"]);
}

#[test]
fn footnotes_are_text_and_levels_are_reported() {
    let (piece, findings) = read("marks/editorial");
    assert_eq!(kinds(&findings), ["not-read 1", "not-read 1"]);
    assert!(findings[0].what.starts_with("<level> in <note>"));
    assert!(findings[1].what.starts_with("<notehead-text> in <note>"));
    let footnote = format!("{:?}", piece.parts[0].directions[0].kind);
    assert_eq!(footnote, r#"Sign { name: "footnote", text: "ossia" }"#);
}

#[test]
fn other_notations_are_signs() {
    let (piece, _) = read("marks/editorial");
    let sign = format!("{:?}", piece.parts[0].directions[1].kind);
    assert_eq!(sign, r#"Sign { name: "other-notation", text: "swell" }"#);
}
