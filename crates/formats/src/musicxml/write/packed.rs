//! How is a score packed? A `.mxl` archive: its type, the list that names the score, the score.
//!
//! Source: MusicXML 4.0, "Compressed .MXL files". The same text always makes the same bytes: no date, no order of chance.

use std::io::{Cursor, Write};
use zip::result::ZipResult;
use zip::write::{SimpleFileOptions, ZipWriter};
use zip::{CompressionMethod, DateTime};

const TYPE: &str = "application/vnd.recordare.musicxml";
const SCORE: &str = "score.musicxml";

/// The archive of a score's text.
pub(super) fn pack(text: &str) -> ZipResult<Vec<u8>> {
    let mut archive = ZipWriter::new(Cursor::new(Vec::with_capacity(text.len() / 8)));
    let plain = SimpleFileOptions::default()
        .compression_method(CompressionMethod::Stored)
        .last_modified_time(DateTime::default());
    let packed = plain.compression_method(CompressionMethod::Deflated);
    let list = format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<container>\n  <rootfiles>\n    \
         <rootfile full-path=\"{SCORE}\" media-type=\"{TYPE}+xml\"/>\n  </rootfiles>\n</container>\n"
    );
    // The type stands first and unpacked, so that a program can tell it from the first bytes.
    for (name, options, content) in [
        ("mimetype", plain, TYPE),
        ("META-INF/container.xml", packed, list.as_str()),
        (SCORE, packed, text),
    ] {
        archive.start_file(name, options)?;
        archive.write_all(content.as_bytes())?;
    }
    Ok(archive.finish()?.into_inner())
}
