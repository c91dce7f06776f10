//! What stands at the notes: accidentals, articulation, ornaments, beams, syllables, shapes; and which reading is taken.

use crate::{clean, events, kinds, read, spans};
use notation::{Beam, Event, OrnamentKind, Part, Side};

fn heads(part: &Part) -> impl Iterator<Item = &notation::Head> {
    part.events.iter().flat_map(Event::heads)
}

#[test]
fn printed_and_sounding_accidentals() {
    let (piece, findings) = read("marks/accidentals");
    assert_eq!(kinds(&findings), ["accidental-contradicts 2"]);
    let said: Vec<String> = heads(&piece.parts[0])
        .map(|head| {
            let pitch = head.pitch().expect("a pitch");
            let sign = head.accidental.as_ref().map_or(String::new(), |sign| {
                let mark = |on: bool, name: &str| if on { format!(" {name}") } else { String::new() };
                format!(
                    " {}{}{}{}",
                    sign.sign,
                    mark(sign.cautionary, "cautionary"),
                    mark(sign.editorial, "editorial"),
                    mark(sign.parentheses, "()")
                )
            });
            format!("{pitch}{sign}")
        })
        .collect();
    assert_eq!(
        said,
        [
            "F#5 sharp",
            "B4 flat cautionary ()".replace("B4", "Bb4").as_str(),
            "C#5 sharp editorial",
            "G##4 double-sharp",
            "F#5",
            "E(-1/2)5 quarter-flat",
            "Db5",
            "A#4 natural",
        ]
    );
}

#[test]
fn a_file_that_leaves_the_sound_to_the_page_is_read_as_a_player_reads() {
    let (piece, findings) = read("marks/from-page");
    assert_eq!(kinds(&findings), ["accidentals-from-page"]);
    let pitches: Vec<String> = piece.parts[0]
        .events
        .iter()
        .flat_map(Event::pitches)
        .map(|p| p.to_string())
        .collect();
    // The natural holds for its octave only; the tie carries the sharp over the bar line, the next note is plain again.
    assert_eq!(pitches, ["F#5", "C#5", "C#5", "C#5", "C#5", "C5", "F5", "F#4"]);
}

#[test]
fn articulation_bowing_and_fermatas() {
    let (piece, findings) = read("marks/articulations");
    assert_eq!(kinds(&findings), ["not-read 2"]);
    let said: Vec<String> = piece.parts[0]
        .events
        .iter()
        .map(|event| {
            let marks = event.articulations.iter().map(|mark| mark.kind.mark().to_owned());
            let technical = event.technical.iter().map(|mark| mark.name.clone());
            let of_heads = event
                .heads()
                .iter()
                .flat_map(|head| &head.technical)
                .map(|mark| format!("head {}", mark.name));
            marks
                .chain(technical)
                .chain(of_heads)
                .collect::<Vec<_>>()
                .join(", ")
        })
        .collect();
    assert_eq!(
        said,
        [
            "staccato, tenuto",
            "accent",
            "marcato, head harmonic",
            "up-bow",
            "portato",
            "staccatissimo, spiccato",
            "double-tongue, snap-pizzicato",
            "",
        ]
    );
    assert_eq!(piece.parts[0].events[1].articulations[0].side, Some(Side::Below));
    assert_eq!(piece.parts[0].events[3].fermatas.len(), 1);
}

#[test]
fn ornaments_and_tremolos() {
    let piece = clean("marks/ornaments");
    let part = &piece.parts[0];
    let of = |at: usize| {
        part.events[at]
            .ornaments
            .iter()
            .map(|o| o.kind.clone())
            .collect::<Vec<_>>()
    };
    assert_eq!(of(0), [OrnamentKind::Trill]);
    assert_eq!(
        part.events[0].ornaments[0].accidentals,
        [("flat".to_owned(), Side::Above)]
    );
    assert_eq!(of(1), [OrnamentKind::Mordent { long: false }]);
    assert_eq!(of(2), [OrnamentKind::InvertedMordent { long: true }]);
    assert_eq!(of(3), [OrnamentKind::DelayedInvertedTurn]);
    assert_eq!(
        part.events[3].ornaments[0].accidentals,
        [("sharp".to_owned(), Side::Below)]
    );
    assert_eq!(
        of(4),
        [OrnamentKind::Tremolo {
            strokes: 3,
            between: false
        }]
    );
    assert_eq!(
        of(5),
        [OrnamentKind::Tremolo {
            strokes: 2,
            between: false
        }]
    );
    assert_eq!(
        of(7),
        [OrnamentKind::Tremolo {
            strokes: 3,
            between: true
        }]
    );
    assert_eq!(
        of(9),
        [OrnamentKind::Trill, OrnamentKind::Schleifer, OrnamentKind::Turn]
    );
    assert_eq!(
        &events(part)[7..9],
        ["1@2 E5 half 2:1 =1", "1@3 G5 half 2:1 =1"],
        "each of two notes is written with the length of both"
    );
    assert_eq!(
        spans(part),
        ["TrillLine 0@0 → 0@1", "TremoloPair { strokes: 3 } 1@2 → 1@3"]
    );
}

/// Beams of an event as letters, level after level.
fn beams(event: &Event) -> String {
    let letter = |beam: &Beam| match beam {
        Beam::Begin => 'b',
        Beam::Continue => 'c',
        Beam::End => 'e',
        Beam::ForwardHook => 'f',
        Beam::BackwardHook => 'k',
    };
    event.beams.iter().map(letter).collect()
}

#[test]
fn beams_in_elements_spans_and_attributes() {
    let piece = clean("marks/beams");
    let said: Vec<String> = piece.parts[0].events.iter().map(beams).collect();
    assert_eq!(
        said,
        [
            "bb", "ce", "cb", "ee", "b", "ek", "b", "", "", "e", "b", "e", "b", "c", "e", "", ""
        ]
    );
}

#[test]
fn syllables_by_line() {
    let piece = clean("marks/lyrics");
    let said: Vec<String> = piece.parts[0]
        .events
        .iter()
        .map(|event| {
            let lines = event.lyrics.iter().map(|lyric| {
                let held = if lyric.extend { "_" } else { "" };
                format!("{} {}{held} {}", lyric.line, lyric.text, lyric.syllabic)
                    .trim_end()
                    .to_owned()
            });
            lines.collect::<Vec<_>>().join(" | ")
        })
        .collect();
    assert_eq!(
        said,
        [
            "1 Mor begin | 2 Sun",
            "1 ning end | 2 light_",
            "1 so‿I",
            "1 rise | 2 sleep"
        ]
    );
}

#[test]
fn heads_of_other_shapes_and_without_pitch() {
    let (piece, findings) = read("marks/heads");
    assert_eq!(kinds(&findings), ["pitch-unclear 1"]);
    let said: Vec<(String, Option<&str>, bool)> = heads(&piece.parts[0])
        .map(|head| {
            (
                format!("{:?}", head.pitch().map(|p| p.to_string())),
                head.shape.as_deref(),
                head.parentheses,
            )
        })
        .collect();
    assert_eq!(said[0].1, Some("x"));
    assert_eq!((said[1].1, said[1].2), (Some("diamond"), true));
    assert_eq!(said[2].0, "None");
    assert_eq!(events(&piece.parts[0])[2], "0@2 x(B4) quarter =1");
    assert_eq!(events(&piece.parts[0])[3], "0@3 x quarter =1");
}

#[test]
fn of_several_readings_one_is_taken_and_the_rest_reported() {
    let (piece, findings) = read("marks/editorial");
    assert_eq!(
        events(&piece.parts[0]),
        [
            "0@0 C5 quarter =1",
            "0@1 E5 quarter =1",
            "0@2 F5 quarter =1",
            "0@3 G5 quarter =1",
            "1@0 A4 whole =4",
            "2@0 B4 whole =4"
        ]
    );
    let said: Vec<String> = findings.iter().map(|finding| finding.what.clone()).collect();
    for left_out in [
        "<rdg> in <app>",
        "<sic> in <choice>",
        "<del> in <subst>",
        "<oStaff> in <ossia>",
    ] {
        assert!(
            said.iter().any(|what| what.starts_with(left_out)),
            "{left_out}: {said:#?}"
        );
    }
    assert_eq!(findings.len(), 4, "{said:#?}");
}

#[test]
fn syllables_whose_hyphens_tell_the_word() {
    let piece = clean("marks/lyrics-by-hyphens");
    let said: Vec<String> = piece.parts[0]
        .events
        .iter()
        .flat_map(|event| &event.lyrics)
        .map(|lyric| {
            format!("{} {} {}", lyric.line, lyric.text, lyric.syllabic)
                .trim_end()
                .to_owned()
        })
        .collect();
    assert_eq!(
        said,
        [
            "1 La begin",
            "2 Hey",
            "1 la middle",
            "1 la end",
            "1 so",
            "1 one‿two"
        ]
    );
    assert_eq!(
        piece.parts[0].events[0].ornaments[0].kind,
        OrnamentKind::Tremolo {
            strokes: 2,
            between: false
        }
    );
}

#[test]
fn the_regular_and_full_forms_are_taken() {
    let (piece, findings) = read("marks/further-readings");
    assert_eq!(
        events(&piece.parts[0]),
        [
            "0@0 C5 quarter =1",
            "0@1 D5 eighth =1/2",
            "0@3/2 D5 eighth =1/2",
            "0@2 E5 quarter =1",
            "0@3 F5 quarter =1"
        ]
    );
    assert_eq!(findings.len(), 2);
}
