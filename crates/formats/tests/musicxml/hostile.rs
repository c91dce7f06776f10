//! Cut off, flipped, bombed, bloated: one clear message or a piece, never a panic, never long, never large.

use crate::{bytes, path};
use formats::FormatError;
use proptest::prelude::*;
use std::io::{Cursor, Write};
use std::time::{Duration, Instant};
use zip::ZipWriter;
use zip::write::SimpleFileOptions;

/// The fixtures that hold most kinds of elements.
const RICH: [&str; 6] = [
    "basics/two-parts",
    "basics/two-parts-timewise",
    "rhythm/tuplets-nested",
    "bars/repeats-and-endings",
    "spans/hairpins-and-lines",
    "directions/signs",
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
        for cut in 0..=end {
            let error = read(&whole[..cut]).expect_err("a cut file is no piece");
            assert!(!error.to_string().is_empty());
        }
        assert!(read(&whole[..=end]).is_ok());
    }
}

/// The line on which a byte stands, counted apart from the reader.
fn line_of(text: &str, at: usize) -> String {
    format!("line {}", text[..at].split('\n').count())
}

#[test]
fn a_cut_names_the_bar_and_the_part() {
    let whole = String::from_utf8(bytes("basics/two-parts")).expect("UTF-8");
    let cut = whole.rfind("<step>D").expect("a note");
    let error = read(&whole.as_bytes()[..cut]).expect_err("cut").to_string();
    assert!(
        error.contains("in the middle of bar 2 of Bassoon") && error.contains(&line_of(&whole, cut)),
        "{error}"
    );
    let cut = whole.find("<part-name>").expect("a part");
    let error = read(&whole.as_bytes()[..cut]).expect_err("cut").to_string();
    assert!(error.contains("the heading"), "{error}");
}

#[test]
fn broken_tags_name_line_column_and_bar() {
    let whole = String::from_utf8(bytes("basics/two-parts")).expect("UTF-8");
    let broken = whole.replacen("<step>E</step>", "<step>E</stop>", 1);
    let Err(FormatError::Broken { line, place, .. }) = read(broken.as_bytes()) else {
        panic!("broken")
    };
    let at = whole.find("<step>E").expect("a note");
    assert_eq!(
        (format!("line {line}"), place.as_str()),
        (line_of(&whole, at), "bar 1 of Oboe")
    );
}

#[test]
fn entity_bombs_are_refused() {
    let laughs: String = (1..30)
        .map(|n| format!("<!ENTITY l{n} \"&l{0};&l{0};\">", n - 1))
        .collect();
    let bomb = format!(
        "<!DOCTYPE x [<!ENTITY l0 \"ha\">{laughs}]><score-partwise><movement-title>&l29;</movement-title></score-partwise>"
    );
    assert!(matches!(read(bomb.as_bytes()), Err(FormatError::Entities { .. })));
    let long = "a".repeat(50_000);
    let flat = format!(
        "<!DOCTYPE x [<!ENTITY l \"{long}\">]><score-partwise><movement-title>{}</movement-title></score-partwise>",
        "&l;".repeat(10_000)
    );
    assert!(matches!(read(flat.as_bytes()), Err(FormatError::Entities { .. })));
    let fetch = "<!DOCTYPE x [<!ENTITY e SYSTEM \"file:///etc/hostname\">]><score-partwise><movement-title>&e;</movement-title></score-partwise>";
    assert!(matches!(
        read(fetch.as_bytes()),
        Err(FormatError::Entities { .. })
    ));
}

fn packed(entries: &[(&str, &[u8])]) -> Vec<u8> {
    let mut writer = ZipWriter::new(Cursor::new(Vec::new()));
    for (name, data) in entries {
        writer
            .start_file(*name, SimpleFileOptions::default())
            .expect("an entry");
        writer.write_all(data).expect("its bytes");
    }
    writer.finish().expect("an archive").into_inner()
}

/// The archive with one size, wherever it is written, replaced by another.
fn resized(mut archive: Vec<u8>, from: u32, to: u32) -> Vec<u8> {
    for at in 0..archive.len().saturating_sub(4) {
        if archive[at..at + 4] == from.to_le_bytes() {
            archive[at..at + 4].copy_from_slice(&to.to_le_bytes());
        }
    }
    archive
}

#[test]
fn zip_bombs_are_refused_before_they_unfold() {
    let nine = vec![b' '; 9_000_001];
    let dense = packed(&[("score.xml", &nine)]);
    assert!(dense.len() < 100_000);
    let start = Instant::now();
    let declares = resized(dense.clone(), 9_000_001, 80_000_000);
    assert!(matches!(
        read(&declares),
        Err(FormatError::Unfolds { megabytes: 80, .. })
    ));
    assert!(matches!(
        read(&dense),
        Err(FormatError::Unfolds { megabytes: 9, .. })
    ));
    assert!(
        start.elapsed() < Duration::from_millis(500),
        "refused by what they declare"
    );
    // An archive that lies about its size is caught while it unfolds.
    assert!(read(&resized(dense, 9_000_001, 1_000)).is_err());
}

#[test]
fn names_of_entries_reach_nowhere() {
    let plain = bytes("basics/two-parts");
    let evil = packed(&[("../../outside.xml", &plain)]);
    // Nothing is ever written to disk: a name is a name.
    assert!(read(&evil).is_ok());
}

fn score(inside: &str) -> String {
    format!(
        "<score-partwise><part-list><score-part id='P'><part-name>P</part-name></score-part></part-list><part id='P'>{inside}</part></score-partwise>"
    )
}

#[test]
fn too_deep_too_many_too_long_end_early() {
    let deep = score(&format!("<measure number='1'>{}", "<a>".repeat(100_000)));
    assert!(matches!(read(deep.as_bytes()), Err(FormatError::TooMuch { .. })));
    let wide = score(&format!(
        "<measure number='1'>{}</measure>",
        "<a/>".repeat(500_000)
    ));
    assert!(matches!(read(wide.as_bytes()), Err(FormatError::TooMuch { .. })));
    let many = score(&"<measure/>".repeat(150_000));
    assert!(matches!(read(many.as_bytes()), Err(FormatError::TooMuch { .. })));
    let attributes: String = (0..2_000).map(|n| format!(" a{n}='1'")).collect();
    let attributes = score(&format!("<measure number='1'><note{attributes}/></measure>"));
    assert!(matches!(
        read(attributes.as_bytes()),
        Err(FormatError::TooMuch { .. })
    ));
    let text = format!(
        "<measure number='1'><direction><direction-type><words>{}</words></direction-type></direction></measure>",
        "x".repeat(300_000)
    );
    assert!(matches!(
        read(score(&text).as_bytes()),
        Err(FormatError::TooMuch { .. })
    ));
}

#[test]
fn floods_of_one_thing_stay_linear() {
    let bar = |inside: String| {
        score(&format!(
            "<measure number='1'><attributes><divisions>1</divisions><time><beats>4</beats><beat-type>4</beat-type></time></attributes>{inside}</measure>"
        ))
    };
    let note = |inside: &str| {
        format!("<note><pitch><step>C</step><octave>4</octave></pitch><duration>1</duration>{inside}</note>")
    };
    let floods = [
        "<note><grace/><pitch><step>C</step><octave>4</octave></pitch></note>".repeat(40_000),
        format!("{}<backup><duration>4</duration></backup>", "<note><rest/><duration>4</duration></note>").repeat(30_000),
        note("<tie type='start'/>").repeat(20_000),
        note("<tie type='stop'/>").repeat(20_000),
        note("<notations><slur type='stop' number='2'/><slur type='start' number='1'/></notations>").repeat(20_000),
        (0..20_000).map(|n| note(&format!("<voice>{n}</voice>"))).collect(),
        (0..20_000).map(|n| format!("<x{n}/>")).collect(),
        note("<chord/>").repeat(30_000),
        note(&"<notations><ornaments><turn/></ornaments></notations>".repeat(30_000)),
        "<attributes><measure-style><slash type='start'/></measure-style></attributes>".repeat(30_000),
        format!("{}<backup><duration>1</duration></backup>", note("<type>eighth</type><time-modification><actual-notes>3</actual-notes><normal-notes>2</normal-notes></time-modification>")).repeat(20_000),
    ];
    for (index, flood) in floods.into_iter().enumerate() {
        let text = bar(flood);
        let start = Instant::now();
        let _ = read(text.as_bytes());
        // Generous for an unoptimised build on a busy machine: these take a second or so, anything quadratic minutes.
        assert!(
            start.elapsed() < Duration::from_secs(15),
            "flood {index} took {:?}",
            start.elapsed()
        );
    }
}

fn rich() -> impl Strategy<Value = Vec<u8>> {
    (0..RICH.len()).prop_map(|index| bytes(RICH[index]))
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn flipped_bytes_never_panic(mut text in rich(), flips in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..12)) {
        for (at, value) in flips {
            let at = at.index(text.len());
            text[at] = value;
        }
        let _ = read(&text);
    }

    /// Pieces of valid XML put where they don't belong: a reader for fragments must take them in any order.
    #[test]
    fn shuffled_elements_never_panic(text in rich(), moves in prop::collection::vec((any::<prop::sample::Index>(), any::<prop::sample::Index>()), 1..8)) {
        let text = String::from_utf8(text).expect("UTF-8");
        let mut lines: Vec<&str> = text.lines().collect();
        for (from, to) in moves {
            let line = lines[from.index(lines.len())];
            // Only lines that hold whole elements keep the document well formed.
            if line.trim_start().starts_with("<note") || line.trim_start().starts_with("<direction") || line.trim_start().starts_with("<attributes") {
                let to = to.index(lines.len());
                lines.insert(to, line);
            }
        }
        if let Ok((piece, _)) = read(lines.join("\n").as_bytes()) {
            check(&piece);
        }
    }

    #[test]
    fn any_bytes_never_panic(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        let _ = read(&bytes);
        let mut text = b"<score-partwise>".to_vec();
        text.extend(&bytes);
        let _ = read(&text);
    }

    #[test]
    fn odd_values_never_panic(number in "[-+]?[0-9]{0,20}([.][0-9]{0,12})?|[a-z/&;]{0,6}", slot in 0usize..12) {
        let fields = ["<divisions>1<", "<duration>2<", "<octave>5<", "<fifths>1<", "<beats>3<", "<beat-type>4<", "<line>2<", "number=\"1\"", "<duration>1<", "<step>G<", "number=\"2\"", "version=\"4.0\""];
        let text = String::from_utf8(bytes("basics/two-parts")).expect("UTF-8");
        let field = fields[slot];
        let value = if field.starts_with('<') {
            let (open, _) = field.split_once('>').expect("a tag");
            format!("{open}>{number}<")
        } else {
            let (open, _) = field.split_once('"').expect("an attribute");
            format!("{open}\"{number}\"")
        };
        if let Ok((piece, _)) = read(text.replace(field, &value).as_bytes()) {
            check(&piece);
        }
    }
}

/// What must hold of any piece that was read, however damaged its source.
fn check(piece: &notation::Piece) {
    for bar in &piece.bars {
        assert!(
            !bar.length.is_negative() && !bar.length.is_overflow(),
            "{:?}",
            bar.length
        );
    }
    for part in &piece.parts {
        assert_eq!(part.bar_ranges.len(), piece.bars.len());
        assert!(
            part.events
                .iter()
                .all(|e| !e.duration.is_negative() && !e.duration.is_overflow())
        );
        assert!(
            part.events
                .iter()
                .all(|e| e.place.bar.get() < piece.bars.len() && !e.place.offset.is_negative())
        );
        assert!(
            part.events
                .iter()
                .all(|e| e.staff > 0 && usize::from(e.voice) < part.voices.len())
        );
        assert!(part.events.is_sorted_by_key(|event| event.place));
    }
    let _ = piece.bar_onsets();
}

#[test]
fn every_fixture_keeps_the_laws() {
    let mut count = 0;
    let root = path("x").parent().expect("a folder").to_path_buf();
    for topic in std::fs::read_dir(root).expect("fixtures") {
        let topic = topic.expect("a topic").path();
        for file in std::fs::read_dir(topic).expect("files") {
            let data = std::fs::read(file.expect("a file").path()).expect("bytes");
            let (piece, _) = formats::read(&data, "fixture").expect("a piece");
            check(&piece);
            count += 1;
        }
    }
    assert!(count >= 40);
}
