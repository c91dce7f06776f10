//! Every fixture and demo piece, read and written and read again, is the same page.

use std::path::{Path, PathBuf};

fn files(folder: &Path, into: &mut Vec<PathBuf>) {
    let entries = std::fs::read_dir(folder).expect("a folder of the repository");
    for entry in entries {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            files(&path, into);
        } else if path
            .extension()
            .is_some_and(|end| ["musicxml", "xml", "mxl"].iter().any(|known| end == *known))
        {
            into.push(path);
        }
    }
    into.sort();
}

/// Pages that differ, the word that the difference must have in it, and why.
const DIFFERENCES: [(&str, &str, &str); 2] = [
    // The clef of a part whose staves nobody counted is for all of them; it is written for each.
    (
        "staves-missing.musicxml",
        "clef: staff is None here, Some(1) there",
        "told-otherwise-in-musicxml",
    ),
    // A printed note of no length at all: the standard wants some.
    (
        "durations-wrong.musicxml",
        "event: duration is 0 here, 1/2 there",
        "not-in-musicxml",
    ),
];

fn check(folder: &str, least: usize) {
    let mut paths = Vec::new();
    files(&Path::new(env!("CARGO_MANIFEST_DIR")).join(folder), &mut paths);
    assert!(paths.len() >= least, "only {} files in {folder}", paths.len());
    let mut differ = Vec::new();
    for path in paths {
        let bytes = std::fs::read(&path).expect("a file of the repository");
        let Ok((piece, _)) = formats::read(&bytes, "first") else {
            continue;
        };
        let (text, findings) = formats::write_musicxml(&piece);
        let name = path
            .file_name()
            .unwrap_or_default()
            .to_string_lossy()
            .into_owned();
        match formats::read(text.as_bytes(), "again") {
            Ok((back, _)) => {
                let Err(difference) = piece.same_page(&back).map_err(|d| d.to_string()) else {
                    // What is the same page lost nothing.
                    let lost: Vec<_> = findings.iter().filter(|f| f.kind == "not-in-musicxml").collect();
                    assert!(lost.is_empty(), "{name}: {lost:?}");
                    continue;
                };
                let allowed = DIFFERENCES.iter().any(|(of, what, kind)| {
                    *of == name && difference.contains(what) && findings.iter().any(|f| f.kind == *kind)
                });
                if !allowed {
                    differ.push(format!("{name}: {difference}"));
                }
            }
            Err(error) => differ.push(format!("{name}: {error}")),
        }
    }
    assert!(differ.is_empty(), "{}", differ.join("\n"));
}

#[test]
fn every_fixture_comes_back_as_the_same_page() {
    check("fixtures/musicxml", 50);
}

#[test]
fn every_demo_piece_comes_back_as_the_same_page() {
    check("../../demo/pieces", 10);
}
