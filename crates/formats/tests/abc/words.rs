//! Words under the notes and lines of symbols.

use crate::{clean, directions, marks, read};
use notation::Part;

fn lyrics(part: &Part) -> Vec<String> {
    let say = |lyric: &notation::Lyric| {
        format!(
            "{}:{} {}{}",
            lyric.line,
            lyric.text,
            lyric.syllabic,
            if lyric.extend { "_" } else { "" }
        )
    };
    part.events
        .iter()
        .filter(|e| e.is_note() && !e.is_grace())
        .map(|e| e.lyrics.iter().map(say).collect::<Vec<_>>().join("; "))
        .collect()
}

/// Source: ABC 2.1, 5.1 to 5.3.
#[test]
fn syllables_are_aligned() {
    let (piece, findings) = read("words/lyrics");
    assert_eq!(
        lyrics(&piece.parts[0]),
        [
            "1:syll begin; 2:2. sec begin",
            "1:a middle; 2:ond end",
            "1:ble end",
            "1:time single",
            "1:of the day single; 2:x-ray single",
            "",
            "",
            "",
            "",
            "",
            "",
            "1:la single_",
            "",
            "1:la single",
            "1:la single"
        ]
    );
    assert_eq!(crate::kinds(&findings), ["words-too-long 4"]);
}

/// Source: ABC 2.1, 5.1: words may wait to the end of the tune, and go on with `+:`.
#[test]
fn words_may_come_at_the_end() {
    let piece = clean("words/lyrics-at-the-end");
    let all = lyrics(&piece.parts[0]);
    assert_eq!(all.len(), 8);
    assert_eq!(all[7], "1:doh single");
}

/// Source: ABC 2.1, 4.15.
#[test]
fn a_line_of_symbols() {
    let piece = clean("words/symbol-line");
    assert_eq!(
        directions(&piece.parts[0]),
        ["0@0 ^“slow”", "0@2 f", "1@3 harmony:Gm"]
    );
    assert_eq!(
        marks(&piece.parts[0]),
        ["", "", "", "", "accent", "", "trill", ""]
    );
}
