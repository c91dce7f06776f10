//! What do single signs become in MEI? Each by the element that the standard has for it.

use formats::MeiOptions;
use notation::sketch;

/// The MEI of a sketch; nothing if that is none, which then holds nothing that is looked for.
fn mei(line: &str) -> String {
    let written = sketch(line).map(|piece| formats::write_mei(&piece, &MeiOptions::default()).0);
    written.unwrap_or_default()
}

/// Source: MEI 5 Guidelines, chapter 4 (`note`, `staffDef`, `keySig`, `meterSig`, `measure`).
#[test]
fn notes_in_their_measure_with_key_and_metre() {
    let text = mei("key:-1 metre:3/4 C5/q D5/q. E5/e | F5/h. |.");
    for part in [
        "<keySig xml:id=\"c",
        "sig=\"1f\"",
        "count=\"3\" unit=\"4\"",
        "pname=\"d\" oct=\"5\" dur=\"4\" dots=\"1\"",
        "right=\"end\"",
    ] {
        assert!(text.contains(part), "{part} in\n{text}");
    }
}

/// Source: MEI 5 Guidelines, `slur` and `hairpin` (control events with both ends).
#[test]
fn slurs_and_hairpins_name_both_ends() {
    let text = mei("metre:4/4 ( C5/q < D5/q ) . E5/h |");
    assert!(text.contains("<slur"), "{text}");
    assert!(
        text.contains("startid=\"#e") && text.contains("endid=\"#e"),
        "{text}"
    );
    assert!(text.contains("<hairpin form=\"cres\""), "{text}");
}

/// Nothing of the machine or the hour stands in the file.
#[test]
fn the_heading_names_the_program_alone() {
    let text = mei("C5/q |");
    assert!(
        text.contains("<name>Foreread</name>") && !text.contains("isodate"),
        "{text}"
    );
}
