//! How do printed pages become a piece? Files read in order, page by page by the press, the piece written as MusicXML.

use crate::DeskError;
use crate::open::{name_of, read_bytes};
use job::{AskSee, Refusal, RefusalKind};
use notation::{Finding, Severity};
use pageread::{Read, System, assemble};
use printer::{PrintError, Printer};
use std::path::{Path, PathBuf};

/// The most pages that are read of one file.
const MOST_PAGES: u32 = 200;

/// What was read from pages.
#[derive(Debug)]
pub struct Scanned {
    /// The piece, with what to look at, and how many signs and bars are doubtful.
    pub read: Read,
    /// Pages and systems found on them.
    pub pages: usize,
    /// Systems of all pages.
    pub systems: usize,
}

/// Reads the pages of the files, in the order given, as one part.
///
/// # Errors
/// If a file can't be read as pages, no staff is found on any of them, or the press that looks at them can't be run.
pub fn scan(paths: &[PathBuf], printer: &mut Printer) -> Result<Scanned, DeskError> {
    let mut count = 0;
    let mut told: Vec<System> = Vec::new();
    let mut findings = Vec::new();
    for path in paths {
        let bytes = read_bytes(path)?;
        let (mut number, mut of) = (0, 1);
        while number < of {
            let ask = AskSee {
                page: number,
                picture: false,
            };
            let seen = printer
                .see(&bytes, ask)
                .map_err(|error| unread(path, number, error))?;
            if seen.page.systems.is_empty() {
                findings.push(without_staff(count + 1));
            }
            let systems = seen.page.systems.iter().zip(&seen.scores);
            told.extend(
                systems
                    .map(|(place, scores)| System::new(count, place, scores))
                    .filter(System::is_music),
            );
            if number == 0 && seen.page.pages > MOST_PAGES {
                findings.push(Finding::new(
                    Severity::Caution,
                    "pages-left-out",
                    format!(
                        "the file has {} pages; {MOST_PAGES} of them were read",
                        seen.page.pages
                    ),
                    "divide it into several files",
                ));
            }
            of = seen.page.pages.min(MOST_PAGES);
            number += 1;
            count += 1;
        }
    }
    if told.is_empty() {
        return Err(DeskError::NoStaff {
            path: paths.first().cloned().unwrap_or_default(),
        });
    }
    let mut read = assemble(&told);
    if let Some(path) = paths.first() {
        read.piece.provenance.source = name_of(path);
    }
    findings.append(&mut read.findings);
    read.findings = findings;
    Ok(Scanned {
        read,
        pages: count,
        systems: told.len(),
    })
}

fn without_staff(page: usize) -> Finding {
    Finding::new(
        Severity::Caution,
        "page-without-staff",
        format!("no staff was found on page {page}"),
        "leave the page out if it holds no music; else scan it upright, flat and with even light",
    )
}

/// What the press says of a file is said of that file; all else is the press's own trouble.
fn unread(path: &Path, page: u32, error: PrintError) -> DeskError {
    match error {
        PrintError::Refused(Refusal {
            kind: RefusalKind::Page,
            what,
        }) => DeskError::Scan {
            path: path.to_path_buf(),
            page: page.saturating_add(1),
            what,
        },
        other => other.into(),
    }
}

/// A piece as MusicXML, and what MusicXML can't say of it.
#[must_use]
pub fn musicxml(piece: &notation::Piece) -> (String, Vec<Finding>) {
    formats::write_musicxml(piece)
}
