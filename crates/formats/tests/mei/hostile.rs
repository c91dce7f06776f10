//! Cut off, flipped, bloated: one clear message or a piece, never a panic, never long.

use crate::bytes;
use formats::FormatError;
use proptest::prelude::*;
use std::time::{Duration, Instant};

/// The fixtures that hold most kinds of elements.
const RICH: [&str; 8] = [
    "basics/two-parts",
    "basics/voices-and-staves",
    "bars/expansion",
    "changes/changes",
    "directions/at-notes",
    "marks/editorial",
    "rhythm/tuplets",
    "spans/hairpins-and-lines",
];

fn read(text: &[u8]) -> Result<(notation::Piece, Vec<notation::Finding>), FormatError> {
    let start = Instant::now();
    let result = formats::read(text, "hostile");
    assert!(start.elapsed() < Duration::from_secs(20), "reading must not hang");
    result
}

#[test]
fn cut_at_every_byte_it_is_an_error_that_says_where() {
    for name in RICH {
        let whole = bytes(name);
        let end = whole.iter().rposition(|b| *b == b'>').expect("a tag");
        for cut in (0..=end).step_by(3) {
            let error = read(&whole[..cut]).expect_err("a cut file is no piece");
            assert!(!error.to_string().is_empty());
        }
        assert!(read(&whole[..=end]).is_ok());
    }
}

#[test]
fn a_file_without_music_says_so() {
    let said = |text: &str| read(text.as_bytes()).expect_err("no piece").to_string();
    assert!(said("<mei xmlns='x'/>").contains("no measures"));
    assert!(
        said("<music><body><mdiv><score><section><measure/></section></score></mdiv></body></music>")
            .contains("no staves")
    );
    assert!(
        said("<mei><music><body>&nobody;").contains("cut off")
            || said("<mei><music><body>&nobody;").contains("broken")
    );
}

/// One score of a single measure whose layer repeats something many times.
fn many(what: &str, times: usize) -> String {
    format!(
        "<music><body><mdiv><score><scoreDef><staffGrp><staffDef n='1'/></staffGrp></scoreDef><section><measure n='1'><staff n='1'><layer n='1'>{}</layer></staff></measure></section></score></mdiv></body></music>",
        what.repeat(times)
    )
}

#[test]
fn reading_takes_time_in_proportion() {
    for what in [
        "<note pname='c' oct='4' dur='8' tie='i' slur='i1' beam='m1' artic='stacc'/>",
        "<chord dur='4'><note pname='c' oct='4'/><note pname='e' oct='4' tie='m'/></chord>",
        "<note pname='c' oct='4' dur='16' grace='acc'/>",
        "<clef shape='G' line='2'/><keySig sig='1s'/>",
        "<mRpt/><beatRpt/><barLine form='dbl'/>",
    ] {
        let time = |times: usize| {
            let text = many(what, times);
            let best = |_| {
                let start = Instant::now();
                let _ = formats::read(text.as_bytes(), "many");
                start.elapsed()
            };
            (0..3).map(best).min().unwrap_or_default()
        };
        let (few, lots) = (time(1_500), time(12_000));
        // Eight times as much; allowance for a busy machine, far from the sixty-four times of a square.
        assert!(
            lots < few * 28 + Duration::from_millis(40),
            "{what}: {few:?} → {lots:?}"
        );
    }
}

#[test]
fn more_than_music_needs_is_refused() {
    let deep = format!(
        "{}{}",
        "<tuplet num='3' numbase='2'>".repeat(300),
        "</tuplet>".repeat(300)
    );
    assert!(matches!(
        read(many(&deep, 1).as_bytes()),
        Err(FormatError::TooMuch { .. })
    ));
    let sections = format!("<mei>{}", "<section>".repeat(2_000_000 / 10));
    assert!(read(sections.as_bytes()).is_err());
    let rest = many("<multiRest num='2000'/>", 1);
    assert_eq!(
        read(rest.as_bytes()).map(|(piece, _)| piece.bars.len()),
        Ok(2_000)
    );
    assert!(read(many("<multiRest num='4000000000'/>", 1).as_bytes()).is_ok());
    let numbers = many(
        "<note pname='c' oct='4' dur='4' num='60000' numbase='59999' dots='200'/>",
        400,
    );
    assert!(read(numbers.as_bytes()).is_ok());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn any_bytes_never_panic(noise in proptest::collection::vec(any::<u8>(), 0..200)) {
        let mut text = b"<mei><music>".to_vec();
        text.extend(noise);
        let _ = read(&text);
    }

    #[test]
    fn a_fixture_with_bytes_changed_never_panics(
        which in 0..RICH.len(),
        changes in proptest::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..12),
    ) {
        let mut text = bytes(RICH[which]);
        for (at, byte) in changes {
            let at = at.index(text.len());
            text[at] = byte;
        }
        let _ = read(&text);
    }

    #[test]
    fn a_fixture_with_pieces_moved_never_panics(
        which in 0..RICH.len(),
        from in any::<prop::sample::Index>(),
        to in any::<prop::sample::Index>(),
    ) {
        let text = String::from_utf8(bytes(RICH[which])).expect("UTF-8");
        // Whole lines: the markup stays well formed more often.
        let mut lines: Vec<&str> = text.lines().collect();
        let line = lines.remove(from.index(lines.len()));
        lines.insert(to.index(lines.len()), line);
        let _ = read(lines.join("\n").as_bytes());
    }
}
