//! Laws of writing: any rich piece comes back as the same page, any piece at all is written without a crash.

use notation::testing::{Palette, piece};
use notation::{BarIndex, DirectionKind, EventKind, Piece, Quarters, Rational};
use proptest::prelude::*;

fn again(piece: &Piece) -> Piece {
    let (text, _) = formats::write_musicxml(piece);
    match formats::read(text.as_bytes(), "again") {
        Ok((piece, _)) => piece,
        Err(error) => panic!("{error}\n{text}"),
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1_200))]

    /// read(write(p)) is the page p, and nothing of p was left out on the way.
    #[test]
    fn a_rich_piece_comes_back_as_the_same_page(bytes in proptest::collection::vec(any::<u8>(), 0..1500)) {
        let piece = piece(&bytes, &Palette::default());
        let (text, findings) = formats::write_musicxml(&piece);
        prop_assert!(findings.is_empty(), "{findings:?}");
        let (back, _) = formats::read(text.as_bytes(), "again").expect("our own file");
        if let Err(difference) = piece.same_page(&back) {
            return Err(TestCaseError::fail(format!("{difference}\n{text}")));
        }
    }
}

#[test]
fn an_empty_piece_is_written_with_a_finding() {
    let (text, findings) = formats::write_musicxml(&Piece::default());
    assert!(text.contains("<score-partwise"));
    assert_eq!(findings.len(), 1);
}

#[test]
fn the_plainest_piece_comes_back() {
    let piece = piece(&[], &Palette::plain());
    piece.same_page(&again(&piece)).expect("the same page");
}

/// Spoils a piece: things that no reader makes, each in one place.
fn spoil(piece: &mut Piece, spoils: &[(u8, u8)]) {
    for (what, at) in spoils {
        let at = usize::from(*at);
        let bars = piece.bars.len();
        let parts = piece.parts.len();
        let part = &mut piece.parts[at % parts];
        let count = part.events.len().max(1);
        let Some(event) = part.events.get_mut(at % count) else {
            continue;
        };
        match what % 16 {
            0 => event.duration = Quarters::ZERO,
            1 => event.duration = Quarters::OVERFLOW,
            2 => event.place.offset = Rational::whole(-3),
            3 => event.place.bar = BarIndex::from_usize(bars + 5),
            4 => event.voice = 900,
            5 => event.staff = 0,
            6 => event.kind = EventKind::Chord(Vec::new()),
            7 => event.duration = Rational::new(1, 1_000_003),
            8 => part.bar_ranges.clear(),
            9 => piece.bars[at % bars].label.clear(),
            10 => piece.bars[at % bars].length = Quarters::ZERO,
            11 => part
                .spans
                .iter_mut()
                .for_each(|span| std::mem::swap(&mut span.start, &mut span.end)),
            12 => part
                .spans
                .iter_mut()
                .for_each(|span| (span.start, span.end) = (None, None)),
            13 => piece.barlines.iter_mut().for_each(|line| line.part = 77),
            14 => part.directions.iter_mut().for_each(|direction| {
                direction.kind = DirectionKind::Sign {
                    name: "\u{1}no < such & sign".to_owned(),
                    text: "?".to_owned(),
                };
            }),
            _ => part.voices.clear(),
        }
    }
}

proptest! {
    /// Whatever a piece holds, writing it does not crash, and what is written can be read.
    #[test]
    fn any_piece_is_written(
        bytes in proptest::collection::vec(any::<u8>(), 0..700),
        spoils in proptest::collection::vec(any::<(u8, u8)>(), 1..12),
    ) {
        let mut piece = piece(&bytes, &Palette::default());
        spoil(&mut piece, &spoils);
        let (text, _) = formats::write_musicxml(&piece);
        prop_assert!(formats::read(text.as_bytes(), "spoiled").is_ok(), "{text}");
    }

    /// Packed is the same page, and always the same bytes.
    #[test]
    fn a_packed_score_comes_back(bytes in proptest::collection::vec(any::<u8>(), 0..300)) {
        let piece = piece(&bytes, &Palette::default());
        let (packed, findings) = formats::write_mxl(&piece).expect("a small archive");
        prop_assert!(findings.is_empty());
        prop_assert_eq!(&packed, &formats::write_mxl(&piece).expect("a small archive").0);
        let (back, findings) = formats::read(&packed, "again.mxl").expect("our own archive");
        prop_assert!(piece.same_page(&back).is_ok());
        // The archive itself gives no findings.
        let (text, _) = formats::write_musicxml(&piece);
        prop_assert_eq!(findings, formats::read(text.as_bytes(), "plain").expect("our own file").1);
    }
}

/// A note's id in the file is that of its event, of a chord's further notes that of their head.
#[test]
fn ids_lead_back_to_the_piece() {
    let piece = notation::sketch("metre:2/4 C4+E4/q D4/q | E4/h |").expect("a sketch");
    let back = again(&piece);
    let part = &piece.parts[0];
    for (event, read) in part.events.iter().zip(&back.parts[0].events) {
        let origin = back.provenance.origins.get(&read.id).expect("an origin");
        assert_eq!(origin.foreign_id, Some(event.id.to_string()));
        for (head, read) in event.heads().iter().zip(read.heads()).skip(1) {
            let origin = back.provenance.origins.get(&read.id).expect("an origin");
            assert_eq!(origin.foreign_id, Some(head.id.to_string()));
        }
    }
}

/// Of all that the palette has there is some in a few hundred pieces: the law above is no empty one.
#[test]
fn the_random_pieces_are_rich() {
    let mut said = String::new();
    let mut state = 1_u32;
    for _ in 0..400 {
        let bytes: Vec<u8> = (0..1_200)
            .map(|_| {
                state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                state.to_be_bytes()[0]
            })
            .collect();
        said.push_str(&formats::write_musicxml(&piece(&bytes, &Palette::default())).0);
    }
    let elements = [
        "chord",
        "grace",
        "cue",
        "unpitched",
        "rest measure=",
        "forward",
        "backup",
        "time-modification",
        "tuplet-actual",
        "tie",
        "tied type=\"let-ring\"",
        "slur",
        "wedge",
        "octave-shift",
        "pedal",
        "dashes",
        "bracket",
        "glissando",
        "slide",
        "hammer-on",
        "pull-off",
        "principal-voice",
        "wavy-line",
        "tremolo",
        "trill-mark",
        "accidental-mark",
        "mordent",
        "fermata",
        "arpeggiate",
        "non-arpeggiate",
        "lyric",
        "elision",
        "extend",
        "beam",
        "fingering",
        "harmonic",
        "bend",
        "hole",
        "arrow",
        "handbell",
        "harmon-mute",
        "key-step",
        "senza-misura",
        "clef-octave-change",
        "transpose",
        "staff-lines",
        "staves",
        "multiple-rest",
        "measure-repeat",
        "slash type",
        "words",
        "dynamics",
        "other-dynamics",
        "metronome",
        "rehearsal",
        "segno",
        "coda",
        "eyeglasses",
        "string-mute",
        "harp-pedals",
        "scordatura",
        "accordion-registration",
        "percussion",
        "other-direction",
        "sound tempo",
        "swing",
        "repeat",
        "ending",
        "bar-style",
        "credit",
        "creator",
        "midi-instrument",
        "notehead",
        "breath-mark",
        "caesura",
        "print new-system",
    ];
    for element in elements {
        assert!(
            said.contains(&format!("<{element}")),
            "no <{element}> in all pieces"
        );
    }
    assert!(said.contains("<beats>3+2+3</beats>") && said.contains("implicit=\"yes\""));
}
