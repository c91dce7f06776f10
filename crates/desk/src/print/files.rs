//! Where do the pages go? One PDF, or one SVG or PNG a page.

use super::copy::Copy;
use super::embed::with_fonts;
use super::pages::{pdf, picture};
use crate::{DeskError, WholeFile};
use engrave::Laid;
use printer::Printer;
use std::path::{Path, PathBuf};

/// What kind of file.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Form {
    /// One file of all pages.
    Pdf,
    /// Vectors, a file a page.
    Svg,
    /// Pixels, a file a page.
    Png,
}

/// The files written.
#[derive(Debug)]
pub struct Written {
    /// In the order of the pages.
    pub files: Vec<PathBuf>,
}

const FORMS: [(&str, Form); 3] = [("pdf", Form::Pdf), ("svg", Form::Svg), ("png", Form::Png)];

impl Form {
    /// The kind that a file's ending asks for.
    ///
    /// # Errors
    /// If it asks for none of ours; the message names those.
    pub fn of(path: &Path) -> Result<Form, DeskError> {
        let ending = path
            .extension()
            .map(|ending| ending.to_string_lossy().to_ascii_lowercase());
        let known = FORMS.iter().find(|(name, _)| ending.as_deref() == Some(*name));
        known.map(|(_, form)| *form).ok_or_else(|| DeskError::NotWritten {
            path: path.to_path_buf(),
            ending: ending.map_or_else(
                || "a file without an ending".to_owned(),
                |ending| format!(".{ending}"),
            ),
            known: FORMS.map(|(name, _)| format!(".{name}")).join(", "),
        })
    }
}

/// Writes a copy to a file, or to `name-1`, `name-2` … where the kind holds one page and there are more.
///
/// # Errors
/// If the press fails or a file can't be written.
pub fn write_copy(
    copy: &Copy,
    to: &Path,
    dots_per_inch: f64,
    printer: &mut Printer,
) -> Result<Written, DeskError> {
    write_pages(&copy.laid, &copy.title, &copy.author, to, dots_per_inch, printer)
}

/// Writes pages to a file, or to `name-1`, `name-2` … where the kind holds one page and there are more.
///
/// # Errors
/// As [`write_copy`].
pub(crate) fn write_pages(
    laid: &Laid,
    title: &str,
    author: &str,
    to: &Path,
    dots_per_inch: f64,
    printer: &mut Printer,
) -> Result<Written, DeskError> {
    let form = Form::of(to)?;
    if form == Form::Pdf {
        WholeFile::write(to, &pdf(laid, title, author, printer)?)?;
        return Ok(Written {
            files: vec![to.to_path_buf()],
        });
    }
    let mut files = Vec::new();
    for (index, page) in laid.pages.iter().enumerate() {
        let path = if laid.pages.len() == 1 {
            to.to_path_buf()
        } else {
            numbered(to, index + 1)
        };
        match form {
            Form::Png => WholeFile::write(&path, &picture(page, dots_per_inch, printer)?)?,
            _ => WholeFile::write(&path, with_fonts(&page.svg).as_bytes())?,
        }
        files.push(path);
    }
    Ok(Written { files })
}

/// `part.svg` becomes `part-2.svg`.
fn numbered(path: &Path, number: usize) -> PathBuf {
    let stem = path
        .file_stem()
        .map(|stem| stem.to_string_lossy().into_owned())
        .unwrap_or_default();
    let ending = path
        .extension()
        .map(|ending| ending.to_string_lossy().into_owned())
        .unwrap_or_default();
    path.with_file_name(format!("{stem}-{number}.{ending}"))
}

#[cfg(test)]
mod tests {
    use super::{Form, numbered};
    use std::path::Path;

    #[test]
    fn the_ending_says_what_is_written() {
        assert_eq!(Form::of(Path::new("a/part.PDF")).unwrap(), Form::Pdf);
        assert!(
            Form::of(Path::new("part.docx"))
                .unwrap_err()
                .to_string()
                .contains(".pdf, .svg, .png")
        );
        assert!(Form::of(Path::new("part")).is_err());
    }

    #[test]
    fn pages_are_numbered_before_the_ending() {
        assert_eq!(numbered(Path::new("x/part.svg"), 2), Path::new("x/part-2.svg"));
    }
}
