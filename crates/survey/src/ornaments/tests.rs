//! Ornaments and grace notes sketched in a line: what the survey says of them.

use super::{GraceSort, OrnamentsAnswer, answer};
use crate::Context;
use notation::{Anchor, BarIndex, IdKind, KeyRegion, Piece, Place, Quarters, Span, SpanKind, Step, sketch};
use proptest::prelude::*;

fn of(piece: &Piece, regions: &[KeyRegion]) -> OrnamentsAnswer {
    answer(&Context::new(piece, 0).expect("a part"), regions)
}

fn asked(text: &str) -> OrnamentsAnswer {
    of(&sketch(text).expect("a sketch"), &[])
}

fn names(answer: &OrnamentsAnswer) -> Vec<String> {
    let name = |found: &super::OrnamentFound| {
        let notes: Vec<String> = found.realised.notes.iter().map(ToString::to_string).collect();
        format!("{} {}", found.realised.mark, notes.join(" "))
    };
    answer.ornaments.iter().map(name).collect()
}

#[test]
fn plainly_none() {
    let found = asked("metre:2/4 C5/q D5/q |.");
    assert!(found.is_none());
    assert_eq!(found.means, "None: no ornament signs, no grace notes.");
}

#[test]
fn signs_with_their_notes_and_accidentals() {
    let found = asked("key:-3 metre:2/4 D5/q!trill G4/q!turn | C5/h!trill^natural |.");
    assert_eq!(
        names(&found),
        ["trill D5 Eb5", "turn Ab4 G4 F4 G4", "trill C5 D5"]
    );
    assert_eq!(found.ornaments[2].above, ["natural"]);
    assert!(found.means.starts_with("2 trills, 1 turn"), "{}", found.means);
    assert_eq!(found.evidence.len(), 3);
}

/// Source: Grove's Dictionary (1900), vol. 4, p. 437: the key in force, after a modulation too.
#[test]
fn a_local_key_that_disagrees_with_the_signature_is_shown_with_it() {
    let piece = sketch("key:0 metre:2/4 E5/h!trill | E5/h!trill |.").expect("a sketch");
    let region = KeyRegion {
        from: BarIndex(1),
        to: BarIndex(1),
        tonic: (Step::G, 0),
        mode: "major".to_owned(),
        certainty: 0.9,
    };
    let found = of(&piece, &[region]);
    assert_eq!(names(&found), ["trill E5 F5", "trill E5 F#5"]);
    assert!(!found.ornaments[0].doubtful() && found.ornaments[1].doubtful());
    assert_eq!(found.findings.len(), 1);
    assert!(
        found.findings[0].what.contains("F5 by the key signature"),
        "{}",
        found.findings[0].what
    );
}

#[test]
fn a_trill_over_tied_notes_is_one_trill() {
    let found = asked("metre:2/4 D5/h~!trill | D5/h!trill | E5/h!trill |.");
    assert_eq!(names(&found), ["trill D5 E5", "trill E5 F5"]);
}

#[test]
fn a_wavy_line_is_a_trill_and_belongs_to_its_sign() {
    let line = |sign: &str| {
        let mut piece = sketch(&format!("metre:2/4 D5/h~{sign} | D5/h | E5/h |.")).expect("a sketch");
        let id = piece.ids.give(IdKind::Span);
        let anchor = |event: usize, piece: &Piece| {
            let event = &piece.parts[0].events[event];
            Some(Anchor {
                place: event.place,
                element: Some(event.id),
            })
        };
        let (start, end) = (anchor(0, &piece), anchor(1, &piece));
        piece.parts[0].spans.push(Span {
            id,
            kind: SpanKind::TrillLine,
            start,
            end,
            staff: None,
            side: None,
        });
        of(&piece, &[])
    };
    let alone = line("");
    assert_eq!(names(&alone), ["wavy line D5 E5"]);
    assert_eq!(alone.ornaments[0].until, Some(Place::start_of(BarIndex(1))));
    assert_eq!(names(&line("!trill")), ["trill D5 E5"]);
}

/// Source: C.P.E. Bach 1753, after E. Fowles, Studies in Musical Graces: half of a plain note, two thirds of a dotted one,
/// the whole of a note tied to a shorter one.
#[test]
fn long_appoggiaturas() {
    let long = |text: &str| asked(text).graces[0].long;
    assert_eq!(long("metre:4/4 a:D5/e C5/h B4/h |."), Some(Quarters::ONE));
    assert_eq!(long("metre:4/4 a:D5/e C5/h. B4/q |."), Some(Quarters::whole(2)));
    assert_eq!(
        long("metre:4/4 a:D5/e C5/h~ C5/q B4/q |."),
        Some(Quarters::whole(2))
    );
}

/// Source: Grove's Dictionary (1879), vol. 1, "Appoggiatura", Ex. 17-22; Türk 1789 after C. Brown, p. 462.
#[test]
fn short_appoggiaturas() {
    for text in [
        "metre:2/4 a:D5/e C5/q C5/q |.",
        "metre:2/4 a:D5/e C5/q!staccato B4/q |.",
        "metre:2/4 a:F5/e C5/q B4/q |.",
        "metre:1/4 a:D5/e C5/e:3 B4/e:3 A4/e:3 |.",
    ] {
        let found = asked(text);
        assert_eq!(found.graces[0].sort, GraceSort::Appoggiatura);
        assert_eq!(found.graces[0].long, None, "{text}");
        assert!(found.graces[0].says.contains("short"), "{}", found.graces[0].says);
    }
}

#[test]
fn a_tremolo_between_two_notes_is_one() {
    let mut piece = sketch("metre:4/4 C5/h E5/h | G4/h!tremolo r/h |.").expect("a sketch");
    let sign = || notation::Ornament {
        kind: notation::OrnamentKind::Tremolo {
            strokes: 3,
            between: true,
        },
        side: None,
        accidentals: vec![],
    };
    for event in piece.parts[0].events.iter_mut().take(2) {
        event.ornaments.push(sign());
    }
    assert_eq!(names(&of(&piece, &[])), ["tremolo C5 E5", "tremolo G4"]);
}

#[test]
fn groups_and_slashes() {
    let found = asked("metre:2/4 g:D5/e C5/q a:B4/s a:C5/s D5/q |.");
    let sorts: Vec<(GraceSort, usize, bool)> = found
        .graces
        .iter()
        .map(|group| (group.sort, group.notes.len(), group.slashed))
        .collect();
    assert_eq!(
        sorts,
        [(GraceSort::Acciaccatura, 1, true), (GraceSort::Several, 2, false)]
    );
    assert!(found.means.contains("No ornament signs."), "{}", found.means);
}

const TOKENS: [&str; 20] = [
    "C5/q!trill",
    "Eb5/q~!trill",
    "Eb5/q!trill",
    "F#4/e!turn",
    "G##4/e!mordent",
    "Abb4/q!inverted-mordent^sharp",
    "B4/h!tremolo",
    "r/q",
    "g:D5/e",
    "a:F5/s",
    "a:G5/s",
    "C5/e:3",
    "|",
    "|",
    "||",
    "key:-3",
    "key:5",
    "D5/q!staccato",
    "E5/h.~",
    "E5/q",
];

proptest! {
    /// Whatever stands on the page: an answer, never a panic, and every sign that is no tied continuation is in it.
    #[test]
    fn any_page_gets_an_answer(tokens in proptest::collection::vec(0..TOKENS.len(), 0..60), certainty in 0.0f64..1.0) {
        let text: Vec<&str> = tokens.iter().map(|index| TOKENS[*index]).collect();
        let piece = sketch(&text.join(" ")).expect("a sketch");
        let region = KeyRegion {
            from: BarIndex(0),
            to: BarIndex(99),
            tonic: (Step::E, -1),
            mode: "minor".to_owned(),
            certainty,
        };
        let found = of(&piece, &[region]);
        let part = &piece.parts[0];
        let signs: usize = part.events.iter().map(|event| event.ornaments.len()).sum();
        let tied = part.events.iter().filter(|event| event.heads().iter().any(|head| head.tie_stop));
        prop_assert!(found.ornaments.len() <= signs && found.ornaments.len() + tied.count() >= signs);
        let graces = part.events.iter().filter(|event| event.is_grace()).count();
        prop_assert_eq!(found.graces.iter().map(|group| group.elements.len()).sum::<usize>(), graces);
    }
}
