//! Runs the press: pipe, time limit, restart.
//!
//! The press (engraver, typesetter, PDF writer, page reader) is a program of its own that may die at any time; here it is found, started,
//! kept warm, stopped when it takes too long and started again when it has died. Whatever happens to it, the caller gets an
//! answer or an error in a musician's words, in time.

mod error;
mod find;
mod folder;
mod kept;
mod recorded;
mod remembered;
mod runner;
mod worker;

pub use error::PrintError;
pub use runner::USUAL_LIMIT;

use job::{
    Answer, AskEngrave, AskInk, AskPdf, AskPicture, AskSee, AskTypeset, Engraved, Ink, Letter, NamedFile,
    Request, SeenPage, Typeset,
};
use kept::Kept;
use recorded::Recorded;
use remembered::Remembered;
use runner::Runner;
use std::path::{Path, PathBuf};
use std::time::Duration;

/// What engraves, typesets and prints: a press, or answers that a press gave once.
pub struct Printer {
    from: From,
    remembered: Remembered,
    kept: Option<Kept>,
}

enum From {
    Press(Runner),
    /// No press is asked: what is not kept is not there.
    Kept,
    Record {
        runner: Runner,
        recorded: Recorded,
    },
    Recorded(Recorded),
}

/// A picture and its size in pixels.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Picture {
    /// The PNG.
    pub png: Vec<u8>,
    /// Its width.
    pub width: u32,
    /// Its height.
    pub height: u32,
}

/// A printed page as the press sees it.
#[derive(Clone, PartialEq, Debug)]
pub struct SeenByPress {
    /// Its size and its systems.
    pub page: SeenPage,
    /// For each system the reader's scores, frame by frame.
    pub scores: Vec<Vec<f32>>,
    /// For each system its straightened picture as a PNG, if they were asked for: 24 staff spaces high, the middle line 11.2 from the
    /// top.
    pub strips: Vec<Vec<u8>>,
    /// The page itself, if it was asked for.
    pub png: Option<Vec<u8>>,
}

impl Printer {
    /// The press beside this program, else the one that the variable `FOREREAD_PRESS` names, else one on the search path.
    ///
    /// # Errors
    /// [`PrintError::NotFound`] if there is none.
    pub fn find() -> Result<Printer, PrintError> {
        find::press().map(Printer::at)
    }

    /// The press at this path. It is started when something is asked for the first time.
    pub fn at(path: impl Into<PathBuf>) -> Printer {
        Printer {
            from: From::Press(Runner::new(path.into())),
            remembered: Remembered::default(),
            kept: None,
        }
    }

    /// Answers that a press gave once, from files in a folder: for tests that must run without a press.
    ///
    /// With the variable `FOREREAD_RECORD` set, a press is asked instead and its answers are written there.
    ///
    /// # Errors
    /// [`PrintError::NotFound`] if a recording is wanted and there is no press.
    pub fn recorded(folder: impl Into<PathBuf>) -> Result<Printer, PrintError> {
        if std::env::var_os("FOREREAD_RECORD").is_some() {
            return Printer::find().map(|printer| printer.recording(folder));
        }
        Ok(Printer {
            from: From::Recorded(Recorded::new(folder.into())),
            remembered: Remembered::default(),
            kept: None,
        })
    }

    /// The same press, whose answers are also written to files in a folder, for [`Printer::recorded`].
    #[must_use]
    pub fn recording(self, folder: impl Into<PathBuf>) -> Printer {
        let recorded = Recorded::new(folder.into());
        match self.from {
            From::Press(runner) | From::Record { runner, .. } => Printer {
                from: From::Record { runner, recorded },
                remembered: Remembered::default(),
                kept: None,
            },
            From::Recorded(_) | From::Kept => Printer {
                from: From::Recorded(recorded),
                remembered: Remembered::default(),
                kept: None,
            },
        }
    }

    /// How long one request may take before the press is stopped; [`USUAL_LIMIT`] if nothing is said.
    #[must_use]
    pub fn with_limit(mut self, limit: Duration) -> Printer {
        if let From::Press(runner) | From::Record { runner, .. } = &mut self.from {
            runner.limit = limit;
        }
        self
    }

    /// Remembers the last so many engravings, so that the same music is not engraved again where only marks change.
    #[must_use]
    pub fn remembering(mut self, most: usize) -> Printer {
        self.remembered = Remembered::of(most);
        self
    }

    /// Keeps engravings in a folder beyond this program's end, the last ones that `most_bytes` hold.
    #[must_use]
    pub fn keeping(mut self, folder: impl Into<PathBuf>, most_bytes: u64) -> Printer {
        if let From::Press(runner) = &self.from {
            self.kept = Some(Kept::new(folder.into(), most_bytes, &runner.path));
        }
        self
    }

    /// Engravings that a press made before and that are kept in a folder; for anything else there is an error, and no press
    /// is started.
    ///
    /// # Errors
    /// [`PrintError::NotFound`] if there is no press: it is not known then whose engravings to look for.
    pub fn kept_alone(folder: impl Into<PathBuf>) -> Result<Printer, PrintError> {
        let press = find::press()?;
        Ok(Printer {
            from: From::Kept,
            remembered: Remembered::default(),
            kept: Some(Kept::new(folder.into(), u64::MAX, &press)),
        })
    }

    /// Whether a press is asked for what is not known.
    #[must_use]
    pub const fn asks(&self) -> bool {
        !matches!(self.from, From::Kept)
    }

    /// Where the press is, if there is one behind this.
    #[must_use]
    pub fn path(&self) -> Option<&Path> {
        match &self.from {
            From::Press(runner) | From::Record { runner, .. } => Some(&runner.path),
            From::Recorded(_) | From::Kept => None,
        }
    }

    /// What the press says of itself and of what it contains, for notices.
    ///
    /// # Errors
    /// If the press can't be run.
    pub fn about(&mut self) -> Result<String, PrintError> {
        match self.ask(Letter::bare(Request::Hello))?.head {
            Answer::Hello { about, .. } => Ok(about),
            other => Err(PrintError::unexpected(&other)),
        }
    }

    /// Engraves one part: the systems, and the SVGs that go with them: the definitions that all share, then one fragment a
    /// system.
    ///
    /// # Errors
    /// If the music can't be engraved, or the press can't be run.
    pub fn engrave(&mut self, mei: &str, ask: AskEngrave) -> Result<(Engraved, Vec<String>), PrintError> {
        if let Some(known) = self.remembered.get(mei, &ask) {
            return Ok(known);
        }
        let letter = Letter {
            head: Request::Engrave(ask.clone()),
            blobs: vec![mei.as_bytes().to_vec()],
        };
        let answer = self.kept_or_asked(letter)?;
        let engraved = match answer.head {
            Answer::Engraved(engraved) => engraved,
            other => return Err(PrintError::unexpected(&other)),
        };
        let svgs: Vec<String> = answer
            .blobs
            .into_iter()
            .map(|blob| {
                String::from_utf8(blob)
                    .map_err(|_| PrintError::Unexpected("a drawing that is no text".to_owned()))
            })
            .collect::<Result<_, _>>()?;
        if svgs.len() != engraved.systems.len() + 1 {
            return Err(PrintError::Unexpected(
                "not one drawing for each system".to_owned(),
            ));
        }
        self.remembered.put(mei, ask, &engraved, &svgs);
        Ok((engraved, svgs))
    }

    /// A PDF of complete SVGs, one a page.
    ///
    /// # Errors
    /// If a page can't be read, or the press can't be run.
    pub fn pdf(&mut self, pages: &[String], ask: AskPdf) -> Result<Vec<u8>, PrintError> {
        let answer = self.ask(Letter {
            head: Request::Pdf(ask),
            blobs: pages.iter().map(|page| page.as_bytes().to_vec()).collect(),
        })?;
        match answer.head {
            Answer::Pdf { .. } => blob(answer.blobs),
            other => Err(PrintError::unexpected(&other)),
        }
    }

    /// A complete SVG as pixels.
    ///
    /// # Errors
    /// If the SVG can't be read, or the press can't be run.
    pub fn picture(&mut self, svg: &str, ask: AskPicture) -> Result<Picture, PrintError> {
        let answer = self.ask(Letter {
            head: Request::Picture(ask),
            blobs: vec![svg.as_bytes().to_vec()],
        })?;
        match answer.head {
            Answer::Picture { width, height } => Ok(Picture {
                png: blob(answer.blobs)?,
                width,
                height,
            }),
            other => Err(PrintError::unexpected(&other)),
        }
    }

    /// Where a complete SVG leaves ink; a cell is in the units of its outermost viewBox.
    ///
    /// # Errors
    /// If the SVG can't be read, or the press can't be run.
    pub fn ink(&mut self, svg: &str, cell: f64) -> Result<Ink, PrintError> {
        let answer = self.ask(Letter {
            head: Request::Ink(AskInk { cell }),
            blobs: vec![svg.as_bytes().to_vec()],
        })?;
        match answer.head {
            Answer::Ink(ink) => Ok(ink),
            other => Err(PrintError::unexpected(&other)),
        }
    }

    /// A typeset document: its PDF, how many pages it has, what the typesetter warned of. The files are those that the source
    /// names, with their names.
    ///
    /// # Errors
    /// If the source is wrong, or the press can't be run.
    pub fn typeset(
        &mut self,
        source: &str,
        files: &[(String, Vec<u8>)],
    ) -> Result<(Vec<u8>, Typeset), PrintError> {
        let names = files.iter().map(|(name, _)| NamedFile { name: name.clone() });
        let contents = files.iter().map(|(_, content)| content.clone());
        let answer = self.ask(Letter {
            head: Request::Typeset(AskTypeset {
                files: names.collect(),
            }),
            blobs: std::iter::once(source.as_bytes().to_vec())
                .chain(contents)
                .collect(),
        })?;
        match answer.head {
            Answer::Typeset(typeset) => Ok((blob(answer.blobs)?, typeset)),
            other => Err(PrintError::unexpected(&other)),
        }
    }

    /// What stands on a printed page (PNG, JPEG, TIFF, a page of a PDF): where its systems are, the reader's scores of each (frame by
    /// frame), and each system and the page as a PNG if they were asked for.
    ///
    /// # Errors
    /// If the file can't be read as a page, or the press can't be run.
    pub fn see(&mut self, file: &[u8], ask: AskSee) -> Result<SeenByPress, PrintError> {
        let answer = self.ask(Letter {
            head: Request::See(ask),
            blobs: vec![file.to_vec()],
        })?;
        let page = match answer.head {
            Answer::Seen(page) => page,
            other => return Err(PrintError::unexpected(&other)),
        };
        let mut blobs = answer.blobs.into_iter();
        let scores: Vec<Vec<f32>> = blobs.by_ref().take(page.systems.len()).map(floats).collect();
        if scores.len() != page.systems.len() {
            return Err(PrintError::Unexpected("not the scores of each system".to_owned()));
        }
        let pictures = if ask.strips { page.systems.len() } else { 0 };
        let strips: Vec<Vec<u8>> = blobs.by_ref().take(pictures).collect();
        if strips.len() != pictures {
            return Err(PrintError::Unexpected(
                "not the picture of each system".to_owned(),
            ));
        }
        Ok(SeenByPress {
            page,
            scores,
            strips,
            png: blobs.next(),
        })
    }

    fn kept_or_asked(&mut self, letter: Letter<Request>) -> Result<Letter<Answer>, PrintError> {
        if self.kept.is_none() {
            return self.ask(letter);
        }
        if let Some(known) = self.kept.as_ref().and_then(|kept| kept.get(&letter)) {
            return Ok(known);
        }
        let answer = self.ask(letter.clone())?;
        if let Some(kept) = &self.kept {
            kept.put(&letter, &answer);
        }
        Ok(answer)
    }

    fn ask(&mut self, letter: Letter<Request>) -> Result<Letter<Answer>, PrintError> {
        let answer = match &mut self.from {
            From::Press(runner) => runner.ask(letter)?,
            From::Record { runner, recorded } => {
                let key = recorded::key(&letter)?;
                let answer = runner.ask(letter)?;
                recorded.write(&key, &answer)?;
                answer
            }
            From::Recorded(recorded) => recorded.read(&recorded::key(&letter)?)?,
            From::Kept => return Err(PrintError::NotFound),
        };
        match answer.head {
            Answer::Refused(refusal) => Err(PrintError::Refused(refusal)),
            _ => Ok(answer),
        }
    }
}

fn floats(bytes: Vec<u8>) -> Vec<f32> {
    let (fours, _) = bytes.as_chunks::<4>();
    fours.iter().map(|four| f32::from_le_bytes(*four)).collect()
}

fn blob(blobs: Vec<Vec<u8>>) -> Result<Vec<u8>, PrintError> {
    blobs
        .into_iter()
        .next()
        .ok_or_else(|| PrintError::Unexpected("nothing with its answer".to_owned()))
}
