//! What the information fields set: heading, metre, unit, tempo, key, clef, transposition, symbols, macros, instructions.

use crate::{bars, clean, directions, kinds, labels, marks, read};

/// Source: ABC 2.1, 3.1 and 3.3 (`+:`).
#[test]
fn the_heading() {
    let piece = clean("fields/credits");
    let credits = &piece.credits;
    assert_eq!(credits.title.as_deref(), Some("The Long Walk"));
    let people: Vec<(&str, &str)> = credits
        .people
        .iter()
        .map(|(role, name)| (role.as_str(), name.as_str()))
        .collect();
    assert_eq!(people, [("composer", "A. Composer"), ("transcriber", "J. Smith")]);
    assert_eq!(credits.rights, ["© 2026 J. Smith"]);
    assert_eq!(
        credits.page_words,
        [
            "Der lange Weg",
            "England; Yorkshire",
            "jig",
            "Words under the tune,",
            "naïve ones."
        ]
    );
    assert_eq!(
        piece.provenance.encoding,
        [
            "B: A book of ours",
            "S: a manuscript",
            "N: a note",
            "H: This is a story that goes on."
        ]
    );
}

/// Source: ABC 2.1, 8.2 (text strings).
#[test]
fn accents_in_words() {
    let piece = clean("fields/text");
    assert_eq!(
        piece.credits.title.as_deref(),
        Some("Frühling à la française, café ♭")
    );
    assert_eq!(piece.credits.people[0].1, "Bartók & Dvořák");
    assert_eq!(directions(&piece.parts[0]), ["0@0 ^“café”"]);
}

/// Source: ABC 2.1, 3.1.6.
#[test]
fn metres_of_every_kind() {
    let piece = clean("fields/metres");
    let said: Vec<(u32, String)> = piece.parts[0]
        .metres
        .iter()
        .map(|m| (m.place.bar.0, m.value.name()))
        .collect();
    let expected = [
        (0, "C"),
        (1, "¢"),
        (2, "2+3/8"),
        (3, "2/4+3/8"),
        (4, "senza misura"),
        (5, "3/4"),
    ];
    assert_eq!(said, expected.map(|(bar, name)| (bar, name.to_owned())));
}

/// Source: ABC 2.1, 3.1.7: 2/4 makes a letter a sixteenth; a new metre leaves it alone.
#[test]
fn the_unit_follows_the_first_metre() {
    let piece = clean("fields/unit-by-metre");
    assert_eq!(
        bars(&piece.parts[0]),
        ["C5/quarter C5/quarter", "C5/half", "C5/half."]
    );
}

/// Source: ABC 2.1, 3.1.8 and 10.1.
#[test]
fn tempos_in_the_heading_and_among_the_notes() {
    let (piece, findings) = read("fields/tempo");
    assert_eq!(
        directions(&piece.parts[0]),
        [
            "0@0 ^“Allegro”",
            "0@0 ^quarter.=120",
            "1@0 ^half=60",
            "2@0 ^“slower”",
            "3@0 ^eighth=90"
        ]
    );
    assert_eq!(kinds(&findings), ["outdated-syntax"]);
}

/// Source: ABC 2.1, 3.1.14.
#[test]
fn keys_change_and_are_printed_or_not() {
    let piece = clean("fields/keys");
    let part = &piece.parts[0];
    let said: Vec<(u32, String, bool)> = part
        .keys
        .iter()
        .map(|k| (k.place.bar.0, k.value.name(), k.printed))
        .collect();
    let expected = [
        (0, "2 sharps", true),
        (1, "B♭ E♭ F♯ (non-traditional)", true),
        (2, "2 flats", true),
        (3, "2 sharps", false),
        (4, "no sharps or flats", true),
        (5, "2 flats", true),
    ];
    assert_eq!(
        said,
        expected.map(|(bar, name, printed)| (bar, name.to_owned(), printed))
    );
    assert_eq!(
        bars(part),
        [
            "F#4/quarter G4/quarter A4/quarter B4/quarter",
            "F#4/quarter G4/quarter A4/quarter Bb4/quarter",
            "F4/quarter G4/quarter A4/quarter Bb4/quarter",
            "F#4/quarter C#4/quarter G4/quarter A4/quarter",
            "F4/quarter C4/quarter G4/quarter A4/quarter",
            "Bb4/whole"
        ]
    );
    assert_eq!(part.keys[0].value.declared_mode.as_deref(), Some("dorian"));
}

/// Source: ABC 2.1, 4.6.
#[test]
fn clefs_octaves_and_transpositions() {
    let piece = clean("fields/clefs-and-transposition");
    let part = &piece.parts[0];
    let clefs: Vec<(u32, String)> = part
        .clefs
        .iter()
        .map(|c| (c.place.bar.0, c.value.name()))
        .collect();
    let expected = [(0, "treble (8 below)"), (1, "bass"), (3, "alto"), (4, "tenor")];
    assert_eq!(clefs, expected.map(|(bar, name)| (bar, name.to_owned())));
    let low = "C3/quarter D3/quarter E3/quarter F3/quarter";
    assert_eq!(
        bars(part),
        [low, low, low, "C4/quarter D4/quarter E4/quarter F4/quarter", low]
    );
    let sounding: Vec<(u32, i64, i32)> = part
        .transpositions
        .iter()
        .map(|t| (t.place.bar.0, t.value.chromatic.num(), t.value.octaves))
        .collect();
    assert_eq!(sounding, [(0, -2, 0), (4, -2, -1)]);
    assert_eq!(part.staff_lines, [(1, 4)]);
}

/// Source: ABC 2.1, 4.16.
#[test]
fn symbols_are_redefined() {
    let piece = clean("fields/symbols");
    assert_eq!(
        marks(&piece.parts[0]),
        ["turn", "", "", "mordent", "trill", "", "", ""]
    );
    assert_eq!(directions(&piece.parts[0]), ["0@1 ^“pluck”"]);
}

/// Source: ABC 2.1, 9.
#[test]
fn macros_are_written_out() {
    let piece = clean("fields/macros");
    assert_eq!(
        bars(&piece.parts[0]),
        [
            "gA4/eighth G4/eighth gF4/eighth G4/eighth C5/quarter C5/16th D5/16th C5/16th B4/16th B4/16th C5/16th B4/16th A4/16th"
        ]
    );
}

/// Source: ABC 2.1, 6.1.1 (line breaks), 11 (directives).
#[test]
fn instructions_number_bars_and_break_lines() {
    let (piece, findings) = read("fields/instructions");
    assert_eq!(labels(&piece), ["17", "18", "19", "20", "40"]);
    let breaks: Vec<(bool, bool)> = piece
        .bars
        .iter()
        .map(|bar| (bar.new_system, bar.new_page))
        .collect();
    assert_eq!(
        breaks,
        [
            (false, false),
            (false, false),
            (false, false),
            (true, false),
            (false, true)
        ]
    );
    assert_eq!(bars(&piece.parts[0])[0], "(sharp)C#5/quarter C#4/quarter");
    assert_eq!(
        kinds(&findings),
        ["not-read"],
        "only the directive that nobody knows"
    );
}

/// Source: ABC 2.1, 10 (outdated syntax).
#[test]
fn outdated_forms_are_read_and_said() {
    let (piece, findings) = read("fields/outdated");
    assert_eq!(
        bars(&piece.parts[0]),
        ["C4+E4+G4/quarter C5/quarter C5/quarter C5/quarter", "C5/whole"]
    );
    assert_eq!(marks(&piece.parts[0])[1], "trill");
    let said = kinds(&findings);
    assert_eq!(
        said.iter().filter(|kind| *kind == "outdated-syntax").count(),
        3,
        "{said:?}"
    );
}

/// Source: ABC 2.1, 6.1.1 and 4.14 (dialects): `I:linebreak !` goes with decorations in plus signs.
#[test]
fn dialects_of_line_breaks_and_decorations() {
    let (piece, findings) =
        crate::read_text("X:1\nI:linebreak !\nM:2/4\nL:1/4\nK:C\n+trill+C D|!E F|\nG A|\n");
    assert_eq!(marks(&piece.parts[0])[0], "trill");
    let systems: Vec<bool> = piece.bars.iter().map(|bar| bar.new_system).collect();
    assert_eq!(systems, [false, true, false]);
    assert_eq!(kinds(&findings), Vec::<String>::new());
    let (piece, _) = crate::read_text("X:1\nI:decoration +\nM:2/4\nL:1/4\nK:C\n+accent+C D|\n");
    assert_eq!(marks(&piece.parts[0])[0], "accent");
}
