//! Articulation, ornaments, technical marks, tremolos, glissandos; signifiers of the file's own.

use crate::{accidentals, clean, kinds, read, spans};
use notation::{ArticulationKind as A, OrnamentKind as O, Part, Side};

/// Source: Humdrum reference, `**kern`, "Summary of Signifiers".
#[test]
fn articulation_and_technical_marks() {
    let piece = clean("notes/marks");
    let events = &piece.parts[0].events;
    let articulations: Vec<A> = events
        .iter()
        .flat_map(|e| &e.articulations)
        .map(|a| a.kind.clone())
        .collect();
    assert_eq!(
        articulations,
        [
            A::Staccato,
            A::Tenuto,
            A::Accent,
            A::Marcato,
            A::Staccatissimo,
            A::Spiccato,
            A::Other("articulation".to_owned()),
            A::BreathMark(String::new())
        ]
    );
    let technical: Vec<(&str, &str)> = events
        .iter()
        .flat_map(|e| &e.technical)
        .map(|t| (t.name.as_str(), t.text.as_str()))
        .collect();
    assert_eq!(
        technical,
        [
            ("other-technical", "pizzicato"),
            ("other-technical", "con sordino"),
            ("down-bow", ""),
            ("up-bow", "")
        ]
    );
    assert_eq!(events[12].heads()[0].technical[0].name, "harmonic");
    assert_eq!(events[13].dynamics, ["sfz"]);
    assert_eq!(events[14].fermatas.len(), 1);
    assert_eq!(events[15].arpeggio.as_deref(), Some(""));
}

fn ornaments(part: &Part) -> Vec<String> {
    let say = |o: &notation::Ornament| {
        let signs: Vec<String> = o
            .accidentals
            .iter()
            .map(|(sign, side)| format!(" {sign} {side:?}"))
            .collect();
        format!("{}{}", o.kind.mark(), signs.join(""))
    };
    part.events
        .iter()
        .flat_map(|event| &event.ornaments)
        .map(say)
        .collect()
}

/// Source: Humdrum reference, `**kern`: upper case for a whole tone, lower case for a semitone. In one sharp, G's upper
/// neighbour is a whole tone away, its lower one a semitone.
#[test]
fn ornaments_with_the_accidentals_that_their_intervals_imply() {
    let piece = clean("notes/ornaments");
    let part = &piece.parts[0];
    assert_eq!(
        ornaments(part),
        [
            "trill",
            "mordent natural Below",
            "inverted mordent",
            "turn",
            "inverted turn",
            "trill flat Above",
            "turn at the end",
            "ornament",
            "trill",
            "mordent natural Below",
            "inverted mordent flat Above",
            "trill"
        ]
    );
    assert_eq!(part.events[8].ornaments[0].kind, O::Mordent { long: true });
    assert_eq!(spans(part), ["TrillLine 2@2 → 3@0"]);
}

#[test]
fn glissandos_and_tremolos() {
    let (piece, findings) = read("notes/glissando-and-tremolo");
    let part = &piece.parts[0];
    assert_eq!(
        spans(part),
        ["Glissando 0@0 → 0@1", "TremoloPair { strokes: 2 } 2@0 → 2@1"]
    );
    let strokes: Vec<&O> = part
        .events
        .iter()
        .flat_map(|e| &e.ornaments)
        .map(|o| &o.kind)
        .collect();
    let tremolo = |strokes, between| O::Tremolo { strokes, between };
    assert_eq!(
        strokes,
        [&tremolo(3, false), &tremolo(2, false), &tremolo(2, true)]
    );
    assert_eq!(kinds(&findings), ["editorial 2", "not-read 2"]);
}

/// Source: Humdrum user's guide, appendix I, RDF.
#[test]
fn signifiers_of_the_files_own() {
    let (piece, findings) = read("notes/user-signifiers");
    let part = &piece.parts[0];
    assert_eq!(part.events[0].articulations[0].side, Some(Side::Above));
    assert_eq!(part.spans[0].side, Some(Side::Below));
    assert!(part.events[3].fermatas[0].inverted);
    assert_eq!(accidentals(part)[1..5], ["sharp!", "(sharp!)", "-", "natural?"]);
    assert_eq!(
        kinds(&findings),
        ["sic 2", "editorial 3", "footnote 3", "not-read 2", "not-read 2"]
    );
    assert!(findings[4].what.contains("terminal long"), "{}", findings[4].what);
}
