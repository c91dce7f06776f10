//! Which tunes does a book hold, and how does one of them become a piece? The book is opened once, however many are taken.

use crate::DeskError;
use crate::open::{Opened, name_of};
use crate::texts::{made_readable, readable};
use formats::Source;
use std::path::{Path, PathBuf};
use survey::{Options, Question};

/// A book that is open.
#[derive(Debug)]
pub struct Book {
    path: PathBuf,
    source: Source<'static>,
    names: Vec<String>,
}

/// A tune of a book, as it is offered.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct TuneOffered {
    /// How it is asked for ([`crate::open_bytes_tune`]).
    pub name: String,
    /// Its title; where it has none, its number.
    pub title: String,
    /// Its key as the survey finds it, its first metre, and how many bars it has; empty where it can't be read, or is far down a
    /// long book.
    pub facts: String,
}

/// Tunes of a book that are read for what is told of them; the others are told by their titles.
const MOST_READ: usize = 400;

impl Book {
    /// Opens a book; `None` for a file of one piece.
    ///
    /// # Errors
    /// If the bytes are no notation we know.
    pub fn open(path: &Path, bytes: &[u8]) -> Result<Option<Self>, DeskError> {
        let source = Source::open(bytes, &name_of(path)).map_err(|source| DeskError::Format {
            path: path.to_path_buf(),
            source,
        })?;
        if source.tunes().len() < 2 {
            return Ok(None);
        }
        Ok(Some(Self {
            path: path.to_path_buf(),
            names: source.names(),
            source: source.into_owned(),
        }))
    }

    /// How each tune is asked for, in the book's order.
    #[must_use]
    pub fn names(&self) -> &[String] {
        &self.names
    }

    /// The title of a tune; where it has none, its number.
    #[must_use]
    pub fn title(&self, index: usize) -> String {
        let Some(tune) = self.source.tunes().get(index) else {
            return String::new();
        };
        let title = readable(tune.title.trim());
        if title.is_empty() {
            format!("tune {}", readable(&tune.number))
        } else {
            title
        }
    }

    /// Its tunes as they are offered.
    #[must_use]
    pub fn offered(&self) -> Vec<TuneOffered> {
        let each = self.names.iter().enumerate();
        each.map(|(index, name)| TuneOffered {
            name: name.clone(),
            title: self.title(index),
            facts: if index < MOST_READ {
                self.facts(index).unwrap_or_default()
            } else {
                String::new()
            },
        })
        .collect()
    }

    /// A tune as a piece.
    ///
    /// # Errors
    /// If there is no such tune, or it holds no usable music.
    pub fn read(&self, index: usize) -> Result<Opened, DeskError> {
        let read = if index < self.names.len() {
            self.source.read_nth(index)
        } else {
            self.source.read(Some(&format!("#{}", index + 1)))
        };
        let (mut piece, mut findings) = read.map_err(|source| DeskError::Format {
            path: self.path.clone(),
            source,
        })?;
        findings.extend(made_readable(&mut piece));
        Ok(Opened {
            path: self.path.clone(),
            tune: self.source.tunes().get(index).cloned(),
            piece,
            findings,
        })
    }

    /// `D major, 6/8, 16 bars`.
    fn facts(&self, index: usize) -> Option<String> {
        let (piece, _) = self.source.read_nth(index).ok()?;
        let asked = [Question::Key, Question::Metre];
        let survey = survey::survey(&piece, 0, &asked, &Options::default())?;
        let key = survey.key.filter(|key| key.certainty > 0.0);
        let key = key.map(|key| {
            let tonic = notation::Pitch::new(key.tonic.0, key.tonic.1, 4).class_sign();
            format!("{tonic} {}", key.scale)
        });
        let metre = survey.metre.and_then(|metre| {
            let first = metre.metres.into_iter().next()?;
            (!first.symbol.is_empty()).then_some(first.symbol)
        });
        let bars = format!("{} bars", piece.bars.len());
        Some(
            [key, metre, Some(bars)]
                .into_iter()
                .flatten()
                .collect::<Vec<_>>()
                .join(", "),
        )
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test that cannot set itself up has failed")]
mod tests {
    use super::Book;
    use std::path::Path;

    #[test]
    fn a_book_is_opened_once_and_each_tune_read_as_itself() {
        let tune =
            |number: usize, title: &str| format!("X:{number}\nT:{title}\nM:4/4\nL:1/4\nK:G\nGABc|d4|]\n\n");
        let text = [tune(1, "\u{202e}One"), tune(7, "Two"), tune(7, "")].concat();
        let book = Book::open(Path::new("book.abc"), text.as_bytes())
            .unwrap()
            .unwrap();
        assert_eq!(book.names(), ["1", "#2", "#3"]);
        let offered = book.offered();
        let titles: Vec<&str> = offered.iter().map(|tune| tune.title.as_str()).collect();
        assert_eq!(titles, ["One", "Two", "tune 7"]);
        assert_eq!(offered[1].facts, "G major, 4/4, 2 bars");
        assert_eq!(book.read(1).unwrap().piece.credits.name(), Some("Two".to_owned()));
        assert!(book.read(3).is_err());
        assert!(
            Book::open(Path::new("one.abc"), tune(1, "One").as_bytes())
                .unwrap()
                .is_none()
        );
    }

    /// Ours: a book of 30,000 tunes is listed in the time of reading it, not in that of comparing each with each.
    #[test]
    fn a_very_long_book_is_listed_at_once() {
        let text: String = (0..30_000)
            .map(|number| format!("X:{}\nT:Tune\nK:G\nG|]\n\n", number / 2))
            .collect();
        let began = std::time::Instant::now();
        let book = Book::open(Path::new("book.abc"), text.as_bytes())
            .unwrap()
            .unwrap();
        assert_eq!(book.names().len(), 30_000);
        assert_eq!(book.names()[29_999], "#30000");
        assert!(began.elapsed().as_secs() < 10, "{:?}", began.elapsed());
    }
}
