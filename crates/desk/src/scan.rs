//! How do printed pages become a piece? Files read in order, systems read two at a time, the piece written as MusicXML.

use crate::DeskError;
use crate::open::{name_of, read_bytes};
use notation::{Finding, Severity};
use pageread::{Crop, Grey, Read, Reader, ScanError, Seen, System, assemble, pages, systems};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;

/// Systems are read so many at a time: the two cores that every machine has.
const AT_A_TIME: usize = 2;

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
/// If a file can't be read as pages, or no staff is found on any of them.
pub fn scan(paths: &[PathBuf]) -> Result<Scanned, DeskError> {
    let mut count = 0;
    let mut crops: Vec<(usize, Crop)> = Vec::new();
    let mut findings = Vec::new();
    for path in paths {
        for page in file_pages(path)? {
            let found = systems(&page);
            if found.is_empty() {
                findings.push(Finding::new(
                    Severity::Caution,
                    "page-without-staff",
                    format!("no staff was found on page {}", count + 1),
                    "leave the page out if it holds no music; else scan it upright, flat and with even light",
                ));
            }
            crops.extend(found.into_iter().map(|crop| (count, crop)));
            count += 1;
        }
    }
    let failed = |source| DeskError::Scan {
        path: paths.first().cloned().unwrap_or_default(),
        source,
    };
    if crops.is_empty() {
        return Err(failed(ScanError::NoStaff));
    }
    let seen = read_all(&crops).map_err(failed)?;
    let told: Vec<System> = crops
        .iter()
        .zip(seen)
        .filter_map(|((page, crop), seen)| {
            // What has five lines and no clef, note or bar line is no music.
            (!seen.signs.is_empty()).then(|| System::new(*page, crop, seen))
        })
        .collect();
    let systems = told.len();
    if told.is_empty() {
        return Err(failed(ScanError::NoStaff));
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
        systems,
    })
}

fn file_pages(path: &Path) -> Result<Vec<Grey>, DeskError> {
    let bytes = read_bytes(path)?;
    pages(&bytes).map_err(|source| DeskError::Scan {
        path: path.to_path_buf(),
        source,
    })
}

/// What the reader sees of every system, in their order.
fn read_all(crops: &[(usize, Crop)]) -> Result<Vec<Seen>, ScanError> {
    let widest = crops.iter().map(|(_, crop)| crop.grey.width).max().unwrap_or(0);
    let reader = Reader::for_width(widest)?;
    let next = AtomicUsize::new(0);
    let work = || {
        let mut out = Vec::new();
        loop {
            let at = next.fetch_add(1, Ordering::Relaxed);
            let Some((_, crop)) = crops.get(at) else {
                return out;
            };
            out.push((at, reader.read(crop)));
        }
    };
    let mut all = thread::scope(|scope| {
        let hands: Vec<_> = (0..AT_A_TIME.min(crops.len()))
            .map(|_| scope.spawn(work))
            .collect();
        let mut all = Vec::with_capacity(crops.len());
        for hand in hands {
            all.extend(hand.join().unwrap_or_default());
        }
        all
    });
    all.sort_by_key(|(at, _)| *at);
    if all.len() < crops.len() {
        return Err(ScanError::Reader("it stopped on the way".to_owned()));
    }
    all.into_iter().map(|(_, seen)| seen).collect()
}

/// A piece as MusicXML, and what MusicXML can't say of it.
#[must_use]
pub fn musicxml(piece: &notation::Piece) -> (String, Vec<Finding>) {
    formats::write_musicxml(piece)
}
