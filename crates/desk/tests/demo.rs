//! The demo pieces, surveyed: what their composer wrote down about them is what the survey finds.

#![allow(clippy::unwrap_used, reason = "a test that cannot set itself up has failed")]

use desk::{Asked, Opened, Shown};
use std::path::{Path, PathBuf};

fn demo() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../demo")
}

fn survey(file: &str, part: Option<&str>) -> (Opened, Shown) {
    let opened = desk::open(&demo().join("pieces").join(file)).unwrap();
    let asked = Asked {
        part: part.map(str::to_owned),
        ..Asked::default()
    };
    let shown = desk::survey_piece(&opened, &asked).unwrap();
    (opened, shown)
}

/// Labels of a header such as `1-8 1-8 9-16 7a`, one by one.
fn bars(header: &str) -> Vec<String> {
    let spread = |run: &str| -> Vec<String> {
        let ends = run
            .split_once('-')
            .and_then(|(a, b)| Some((a.parse::<u32>().ok()?, b.parse::<u32>().ok()?)));
        ends.map_or_else(
            || vec![run.to_owned()],
            |(from, to)| (from..=to).map(|n| n.to_string()).collect(),
        )
    };
    header.split_whitespace().flat_map(spread).collect()
}

/// Source: the `plays:` line that the composer wrote at the head of each score in demo/compose/scores.
#[test]
fn every_demo_piece_is_played_in_its_composers_order() {
    let mut read = 0;
    for entry in std::fs::read_dir(demo().join("compose/scores")).unwrap() {
        let path = entry.unwrap().path();
        let text = std::fs::read_to_string(&path).unwrap();
        let header = text.lines().find_map(|line| line.strip_prefix("plays:")).unwrap();
        let name = path.file_stem().unwrap().to_string_lossy().into_owned();
        let (_, shown) = survey(&format!("{name}.musicxml"), Some("1"));
        let order: Vec<String> = shown
            .survey
            .road_map
            .play_order
            .iter()
            .map(|bar| bar.label.clone())
            .collect();
        assert_eq!(order, bars(header), "{name}");
        read += 1;
    }
    assert!(read >= 10);
}

/// Source: the `in:` line at the head of each score: what the composer meant.
#[test]
fn every_demo_piece_is_in_the_key_it_was_written_in() {
    for (file, tonic, mode) in [
        ("am_waldrand", "D", "major"),
        ("causeway_at_dusk", "F", "minor"),
        ("kite_weather", "D", "major"),
        ("lantern_barge", "G", "major"),
        ("low_water", "C#", "minor"),
        ("seven_lamps", "A", "minor"),
        ("signal_box_march", "Bb", "minor"),
        ("town_hall_minuet", "C", "major"),
        ("winding_road", "D", "minor"),
    ] {
        let (opened, shown) = survey(&format!("{file}.musicxml"), Some("1"));
        let json: serde_json::Value = serde_json::from_str(&desk::survey_json(&opened, &shown)).unwrap();
        assert_eq!(
            (&json["key"]["tonic"], &json["key"]["mode"]),
            (&tonic.into(), &mode.into()),
            "{file}"
        );
    }
}

#[test]
fn every_container_holds_the_same_piece() {
    for (one, other) in [
        ("winding_road.musicxml", "winding_road.mxl"),
        ("town_hall_minuet.musicxml", "town_hall_minuet.timewise.musicxml"),
    ] {
        let (mut one, mut other) = (survey(one, Some("1")).0.piece, survey(other, Some("1")).0.piece);
        // Ids are given in reading order, which differs; everything a musician sees is the same.
        assert_eq!(one.bars.len(), other.bars.len());
        for piece in [&mut one, &mut other] {
            piece
                .bars
                .iter_mut()
                .for_each(|bar| bar.label = bar.label.trim().to_owned());
        }
        let notes = |piece: &notation::Piece| -> Vec<_> {
            piece
                .parts
                .iter()
                .flat_map(|part| &part.events)
                .map(|e| {
                    (
                        e.place,
                        e.duration,
                        e.pitches().collect::<Vec<_>>(),
                        e.articulations.clone(),
                        e.ornaments.clone(),
                    )
                })
                .collect()
        };
        assert_eq!(notes(&one), notes(&other));
    }
}

/// The sheet as a musician reads it. `FOREREAD_BLESS=1` writes it anew; read the diff.
#[test]
fn the_sheets_read_as_they_did() {
    for (file, part) in [
        ("causeway_at_dusk", "1"),
        ("town_hall_minuet", "Trumpet in B♭"),
        ("winding_road", "1"),
    ] {
        let (opened, shown) = survey(&format!("{file}.musicxml"), Some(part));
        let how = sheet::Terminal {
            width: 88,
            styled: false,
            bar_word: sheet::BarWord::Bar,
        };
        let text = sheet::terminal(&desk::survey_sheet(&opened, &shown), how);
        let kept = Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("tests/sheets/{file}.txt"));
        if std::env::var_os("FOREREAD_BLESS").is_some() {
            std::fs::create_dir_all(kept.parent().unwrap()).unwrap();
            std::fs::write(&kept, &text).unwrap();
        }
        let expected = std::fs::read_to_string(&kept).unwrap_or_default();
        assert!(
            text == expected,
            "{file}: the sheet changed; run with FOREREAD_BLESS=1 and read the diff"
        );
    }
}
