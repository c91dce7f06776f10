//! Any bytes: one clear message or a piece, never a panic, never long, never large.

use crate::bytes;
use formats::FormatError;
use proptest::prelude::*;
use std::time::{Duration, Instant};

fn read(text: &[u8]) -> Result<(notation::Piece, Vec<notation::Finding>), FormatError> {
    let start = Instant::now();
    let result = formats::read(text, "hostile");
    assert!(start.elapsed() < Duration::from_secs(20), "reading must not hang");
    if let Ok((piece, _)) = &result {
        lawful(piece);
    }
    result
}

/// The laws of the page model.
fn lawful(piece: &notation::Piece) {
    assert!(!piece.bars.is_empty() && !piece.parts.is_empty());
    for bar in &piece.bars {
        assert!(!bar.length.is_negative() && !bar.length.is_overflow());
    }
    for part in &piece.parts {
        assert_eq!(part.bar_ranges.len(), piece.bars.len());
        assert!(part.events.is_sorted_by_key(|event| event.place));
        for event in &part.events {
            assert!(!event.duration.is_negative() && !event.duration.is_overflow());
            assert!(event.place.bar.get() < piece.bars.len() && !event.place.offset.is_negative());
            assert!(event.staff > 0 && event.staff <= part.staves);
            assert!(usize::from(event.voice) < part.voices.len());
        }
        let _ = notation::line(piece, part);
    }
}

/// The fixtures that hold most kinds of things.
const RICH: [&str; 6] = [
    "basics/two-spines",
    "spines/nested-splits",
    "tandem/transposing",
    "notes/user-signifiers",
    "sections/endings",
    "beside/dynamics",
];

#[test]
fn cut_at_every_byte_it_is_a_piece_or_a_message() {
    for name in RICH {
        let whole = bytes(name);
        for cut in 0..=whole.len() {
            if let Err(error) = read(&whole[..cut]) {
                assert!(!error.to_string().is_empty());
            }
        }
    }
}

#[test]
fn a_cut_file_is_told() {
    let whole = bytes("basics/two-spines");
    let (_, findings) = read(&whole[..whole.len() - 12]).expect("a piece");
    assert!(findings.iter().any(|finding| finding.kind == "not-ended"));
}

/// How long reading takes.
fn time(text: &str) -> Duration {
    let mut best = Duration::MAX;
    for _ in 0..3 {
        let start = Instant::now();
        let _ = read(text.as_bytes());
        best = best.min(start.elapsed());
    }
    best
}

#[test]
fn time_grows_with_length_only() {
    let shapes: [fn(usize) -> String; 9] = [
        |n| format!("**kern\n*M4/4\n{}*-\n", "4c\n4d\n4e\n4f\n=\n".repeat(n)),
        |n| format!("**kern\n{}*-\n", "[4c(\n".repeat(n)),
        |n| format!("**kern\n{}{}*-\n", "4c\t4d\t4e\n=\n".repeat(n), "="),
        |n| format!("**kern\n4c\n{}4d\n*-\n", "=\n".repeat(n)),
        |n| {
            format!(
                "**kern\n{}4d\n*-\n",
                "*>A\n*>[A,A]\n*MM90\n*k[f#]\n*k[]\n".repeat(n)
            )
        },
        |n| format!("**kern\n*^\n{}*-\n", "4c\t8d\n=\t=\n*v\t*v\n*^\n".repeat(n)),
        |n| format!("**kern\t**dynam\n{}*-\t*-\n", "4c\t<\n.\t[\n".repeat(n)),
        |n| format!("**kern\n{}*-\n", format!("4{}\n", "c".repeat(40)).repeat(n)),
        |n| format!("{}**kern\n4c\n*-\n", "!! x\n!!!COM: y\n".repeat(n)),
    ];
    for (nth, shape) in shapes.iter().enumerate() {
        let (small, large) = (time(&shape(1_000)), time(&shape(8_000)));
        let bound = small.max(Duration::from_millis(4)) * 40;
        assert!(
            large < bound,
            "shape {nth}: {small:?}, then {large:?} for eight times as much"
        );
    }
}

#[test]
fn columns_without_end_are_refused_or_bounded() {
    let mut text = "**kern\n".to_owned();
    let mut columns = 1;
    while columns < 20_000 {
        text += &(vec!["*^"; columns].join("\t") + "\n");
        columns *= 2;
    }
    text += &(vec!["4c"; columns].join("\t") + "\n");
    let _ = read(text.as_bytes());
    let wide = vec!["**kern"; 5_000].join("\t") + "\n" + &vec!["4c"; 5_000].join("\t") + "\n";
    assert!(matches!(read(wide.as_bytes()), Err(FormatError::TooMuch { .. })));
    let many = "4c\n".repeat(400_000);
    assert!(matches!(
        read(format!("**kern\n{many}").as_bytes()),
        Err(FormatError::TooMuch { .. })
    ));
}

/// Lines that look like kern.
fn lines() -> impl Strategy<Value = String> {
    let token = prop_oneof![
        "[0-9]{1,3}[.%]{0,2}[a-gA-G]{1,4}[#n-]{0,2}[\\[\\]_(){}&;:,'~^`\"LJKkqQpPTtMmWwSRO$xXyY?@/uvoHhsz<>ij ]{0,5}",
        "=[0-9]{0,3}[a-c]?[|!:;'`\"=-]{0,5}",
        "\\*(\\^|v|x|\\+|-|)",
        "\\*(clef[GFCX][v^]?[1-5]|k\\[[a-g#-]{0,6}\\]|M[0-9+]{1,3}/[0-9]{1,2}|met\\(c\\|?\\)|[a-gA-G][#-]?:(dor|phr)?|8va|X8va|ped|Xped|cue|ITrd-?[0-9]c-?[0-9]|>[A-C][12]?|>\\[[A-C12,]{1,9}\\]|MM[0-9]{1,4}|I\"[a-z]{0,4}|staff[12]|part[12])",
        Just("**kern".to_owned()),
        Just("**dynam".to_owned()),
        Just("**text".to_owned()),
        Just(".".to_owned()),
        "[<>()\\[\\]pmfsz]{1,4}",
        "!{1,3}[a-zA-Z:= *]{0,12}",
    ];
    let line = prop::collection::vec(token, 1..4).prop_map(|tokens| tokens.join("\t"));
    prop::collection::vec(line, 0..40).prop_map(|lines| lines.join("\n"))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, ..ProptestConfig::default() })]

    #[test]
    fn any_bytes_after_the_first_line_are_read_or_refused(rest in prop::collection::vec(any::<u8>(), 0..300)) {
        let _ = read(&[b"**kern\n".as_slice(), &rest].concat());
    }

    #[test]
    fn any_lines_of_tokens_are_read_or_refused(text in lines()) {
        let _ = read(format!("**kern\t**kern\n{text}\n").as_bytes());
    }

    #[test]
    fn a_flipped_byte_is_no_panic(which in 0..RICH.len(), at in 0..400_usize, byte in any::<u8>()) {
        let mut whole = bytes(RICH[which]);
        let at = at % whole.len();
        whole[at] = byte;
        let _ = read(&whole);
    }

    /// Whatever stands in other spines beside it, a line of quarter notes keeps its times.
    #[test]
    fn notes_follow_each_other(letters in prop::collection::vec("[a-g]{1}", 1..30)) {
        let text: String = letters.iter().map(|letter| format!("4{letter}\t.\n")).collect();
        let (piece, _) = read(format!("**kern\t**dynam\n{text}*-\t*-\n").as_bytes()).expect("a piece");
        let onsets: Vec<String> = piece.parts[0].events.iter().map(|e| e.place.offset.to_string()).collect();
        let expected: Vec<String> = (0..letters.len()).map(|n| n.to_string()).collect();
        prop_assert_eq!(onsets, expected);
    }
}
