//! A fingering that was kept for one instrument, and the part read for another: it is left out and said, never a refusal.

#![allow(clippy::unwrap_used, reason = "a test that cannot set itself up has failed")]

use desk::{Asked, PlayerAsked, StudyAsked};
use std::path::Path;

#[test]
fn one_that_does_not_fit_is_left_out_and_said() {
    let text = "X:1\nT:Four\nM:4/4\nL:1/4\nK:D\nD F A d | c A B2 |]\n";
    let opened = desk::open_bytes(Path::new("four.abc"), text.as_bytes()).unwrap();
    let asked = |fingerings: &[&str], kept: &[&str]| Asked {
        player: PlayerAsked {
            instrument: Some("clarinet-bb".to_owned()),
            ..PlayerAsked::default()
        },
        study: StudyAsked {
            fingerings: fingerings.iter().map(|text| (*text).to_owned()).collect(),
            kept_fingerings: kept.iter().map(|text| (*text).to_owned()).collect(),
            ..StudyAsked::default()
        },
        ..Asked::default()
    };
    let of_another = ["1:2=middle-finger F♯"];
    assert!(
        desk::survey_piece(&opened, &asked(&of_another, &[])).is_err(),
        "asked for now, it is a mistake"
    );
    let shown = desk::survey_piece(&opened, &asked(&[], &of_another)).unwrap();
    let said: Vec<String> = shown.findings.iter().map(ToString::to_string).collect();
    assert!(
        said.iter().any(|said| said.contains("the teacher's fingering")),
        "{said:?}"
    );
}
