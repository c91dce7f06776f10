//! How do printed pages become a piece? Files read in order, page by page by the press, the piece written as MusicXML.

use crate::DeskError;
use crate::open::{name_of, read_bytes};
use job::{AskSee, Refusal, RefusalKind, SeenSystem, SmallStaff};
use notation::{Finding, Severity};
use pageread::{Doubt, Read, System, TextLine, ToLookAt, assemble};
use printer::{PrintError, Printer};
use std::path::{Path, PathBuf};
use wire::PageWritten;

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
    /// What was seen of each system: what is kept, so that it can be mended.
    pub seen: Vec<System>,
    /// Each system straightened, as a PNG; none unless they were asked for.
    pub strips: Vec<Vec<u8>>,
    /// The pages.
    pub sheets: Vec<PageWritten>,
}

impl Scanned {
    /// The whole as JSON, by the schema in docs/.
    #[must_use]
    pub fn json(&self) -> String {
        wire::scan_text(&wire::scan_json(&self.sheets, &self.seen, &self.read))
    }

    /// Where to look, a line each: page, system, bar, what it was taken for, what else it could be.
    #[must_use]
    pub fn where_to_look(&self) -> Vec<String> {
        let places = self.read.look.iter();
        places.map(|place| line(place, &self.seen, &self.read)).collect()
    }
}

/// `page 1, system 2, bar 7: taken for a …, 61 % sure; could be …`
fn line(place: &ToLookAt, seen: &[System], read: &Read) -> String {
    let page = seen.get(place.system as usize).map_or(0, |system| system.page) + 1;
    let bar = place.bar.and_then(|bar| read.piece.bars.get(bar.get()));
    let bar = bar.map_or_else(String::new, |bar| format!(", bar {}", bar.label));
    let mut said = format!(
        "page {page}, system {}{bar}: {}",
        system_of_page(place.system, seen),
        place.taken_for
    );
    if !matches!(place.about, Doubt::Bar | Doubt::Open | Doubt::Chosen) {
        said.push_str(&format!(", {} % sure", percent(place.sure)));
    }
    let others: Vec<String> = place
        .others
        .iter()
        .take(3)
        .map(|(_, reading, sure)| format!("{reading} ({} %)", percent(*sure)))
        .collect();
    if !others.is_empty() {
        said.push_str(&format!("; could be: {}", others.join(", ")));
    }
    said
}

/// Which system of its page, from 1.
fn system_of_page(system: u32, seen: &[System]) -> usize {
    let at = system as usize;
    let page = seen.get(at).map(|system| system.page);
    let before = seen.iter().take(at).filter(|system| Some(system.page) == page);
    before.count() + 1
}

/// Whole hundredths; what is not certain is never said to be.
fn percent(sure: f32) -> String {
    format!("{:.0}", f64::from(sure.clamp(0.0, 0.99)) * 100.0)
}

/// Reads the pages of the files, in the order given, as one part.
///
/// # Errors
/// If a file can't be read as pages, no staff is found on any of them, or the press that looks at them can't be run.
pub fn scan(paths: &[PathBuf], printer: &mut Printer) -> Result<Scanned, DeskError> {
    let mut pages = Pages::default();
    for path in paths {
        pages.look(path, &read_bytes(path)?, MOST_PAGES, printer)?;
    }
    pages.read(paths.first().map_or(Path::new(""), PathBuf::as_path))
}

/// Reads pages whose bytes are at hand (dropped into the app): so many of them at most.
///
/// # Errors
/// As [`scan`].
pub fn scan_bytes(
    path: &Path,
    bytes: &[u8],
    most_pages: u32,
    printer: &mut Printer,
) -> Result<Scanned, DeskError> {
    let mut pages = Pages {
        strips_wanted: true,
        ..Pages::default()
    };
    pages.look(path, bytes, most_pages, printer)?;
    pages.read(path)
}

/// Whether bytes begin as pages do: PDF, PNG, JPEG, TIFF.
/// Sources: ISO 32000-1, section 7.5.2; PNG (third edition), section 5.2; ITU-T T.81, annex B; TIFF 6.0, section 2.
#[must_use]
pub fn are_pages(bytes: &[u8]) -> bool {
    let starts: [&[u8]; 5] = [b"%PDF-", b"\x89PNG", b"\xff\xd8\xff", b"II*\0", b"MM\0*"];
    starts.iter().any(|start| bytes.starts_with(start))
}

/// What was seen so far.
#[derive(Default)]
struct Pages {
    count: usize,
    told: Vec<System>,
    /// Whether the systems' pictures are asked for.
    strips_wanted: bool,
    strips: Vec<Vec<u8>>,
    sheets: Vec<PageWritten>,
    findings: Vec<Finding>,
}

impl Pages {
    /// Looks at the pages of a file.
    fn look(&mut self, path: &Path, bytes: &[u8], most: u32, printer: &mut Printer) -> Result<(), DeskError> {
        let (mut number, mut of) = (0, 1);
        while number < of {
            let ask = AskSee {
                page: number,
                picture: false,
                strips: self.strips_wanted,
            };
            let seen = printer
                .see(bytes, ask)
                .map_err(|error| unread(path, number, error))?;
            if seen.page.systems.is_empty() {
                self.findings.push(without_staff(self.count + 1));
            }
            self.sheets.push(PageWritten {
                file: name_of(path),
                page_of_file: number,
                width: seen.page.width,
                height: seen.page.height,
            });
            let small = seen.page.small.iter();
            self.findings
                .extend(small.map(|staff| small_staff(self.count + 1, staff, &seen.page.systems)));
            let before = self.told.len();
            let mut strips = seen.strips.into_iter();
            for (place, scores) in seen.page.systems.iter().zip(&seen.scores) {
                let (system, strip) = (System::new(self.count, place, scores), strips.next());
                if system.is_music() {
                    self.told.push(system);
                    self.strips.extend(strip);
                }
            }
            if let Some(first) = self.told.get_mut(before) {
                first.beyond = TextLine::all(&seen.page.words);
            }
            if number == 0 && seen.page.pages > most {
                self.findings.push(Finding::new(
                    Severity::Caution,
                    "pages-left-out",
                    format!("the file has {} pages; {most} of them were read", seen.page.pages),
                    "divide it into several files",
                ));
            }
            of = seen.page.pages.min(most);
            number += 1;
            self.count += 1;
        }
        Ok(())
    }

    /// What they say together.
    fn read(self, first: &Path) -> Result<Scanned, DeskError> {
        if self.told.is_empty() {
            return Err(DeskError::NoStaff {
                path: first.to_path_buf(),
            });
        }
        let mut read = assemble(&self.told);
        read.piece.provenance.source = name_of(first);
        let mut findings = self.findings;
        findings.append(&mut read.findings);
        read.findings = findings;
        Ok(Scanned {
            read,
            pages: self.count,
            systems: self.told.len(),
            seen: self.told,
            strips: self.strips,
            sheets: self.sheets,
        })
    }
}

/// A smaller staff is told, and left alone.
fn small_staff(page: usize, staff: &SmallStaff, systems: &[SeenSystem]) -> Finding {
    let above = systems
        .iter()
        .filter(|system| system.middle.0 < staff.middle)
        .count();
    let place = if above < systems.len() {
        format!("above line {}", above + 1)
    } else {
        format!("under line {above}")
    };
    Finding::new(
        Severity::Note,
        "small-staff",
        format!("a smaller staff (cue notes, an ossia) stands {place} of page {page}; it was left alone"),
        "write in what is needed of it",
    )
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

/// Whether findings of a kind are among the places to look at, too.
#[must_use]
pub fn is_a_place_to_look(kind: &str) -> bool {
    matches!(
        kind,
        "doubtful-clef"
            | "doubtful-key"
            | "doubtful-metre"
            | "bar-does-not-add-up"
            | "values-chosen-to-add-up"
            | "lone-tie"
            | "ending-left-out"
            | "sign-left-out"
            | "lone-sign"
            | "open-end"
            | "doubtful-sign"
            | "more-doubtful-signs"
            | "doubtful-words"
            | "words-put-right"
            | "bar-number-differs"
    )
}

/// A piece as MusicXML, and what MusicXML can't say of it.
#[must_use]
pub fn musicxml(piece: &notation::Piece) -> (String, Vec<Finding>) {
    formats::write_musicxml(piece)
}
