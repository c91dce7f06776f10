//! How is a call written down? A small file, as the list was sent out; each line that is not understood is named.

use crate::{DeskError, small_file};
use chrono::NaiveDate;
use notation::{ArticulationKind, Pitch};
use practice::call::errata::{Change, Erratum};
use practice::call::tempo::Asked;
use practice::call::words::Range;
use practice::call::{Call, CallChange, CallPiece, CallScale, Cut};
use serde::Deserialize;
use std::path::{Path, PathBuf};

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    name: String,
    date: Option<toml::value::Datetime>,
    #[serde(default)]
    notes: String,
    sight_reading: Option<String>,
    #[serde(default)]
    pieces: Vec<PieceLines>,
    #[serde(default)]
    scales: Vec<ScaleLines>,
    #[serde(default)]
    changes: Vec<ChangeLines>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct PieceLines {
    file: String,
    part: Option<String>,
    #[serde(default)]
    edition: String,
    #[serde(default)]
    memorised: bool,
    #[serde(default)]
    cuts: Vec<CutLines>,
    #[serde(default)]
    errata: Vec<ErratumLines>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct CutLines {
    name: Option<String>,
    bars: String,
    tempo: Option<String>,
    #[serde(default)]
    notes: String,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct ErratumLines {
    date: Option<toml::value::Datetime>,
    at: String,
    was: Option<String>,
    note: Option<String>,
    dynamic: Option<String>,
    tempo: Option<String>,
    add: Option<String>,
    remove: Option<String>,
    #[serde(default)]
    says: String,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct ScaleLines {
    says: String,
    tempo: Option<String>,
    #[serde(default)]
    memorised: bool,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct ChangeLines {
    date: toml::value::Datetime,
    says: String,
}

const KIND: small_file::Kind = small_file::Kind {
    missing: |path| DeskError::Profile {
        path,
        line: 1,
        what: "there is no such call".to_owned(),
        advice: "look at the spelling of its name; demo/calls shows how one is written".to_owned(),
    },
    name: "call",
    example: "call.toml",
    most_bytes: 1_000_000,
};

struct Reader<'a> {
    path: &'a Path,
    text: &'a str,
}

/// Reads a call.
///
/// # Errors
/// If there is none, or a line of it is not understood: which, and what to write instead.
pub(super) fn read(path: &Path) -> Result<Call, DeskError> {
    understood(&small_file::read(path, &KIND)?, path)
}

/// Understands a call's text; `path` is what it is called.
///
/// # Errors
/// If a line of it is not understood: which, and what to write instead.
pub(super) fn understood(text: &str, path: &Path) -> Result<Call, DeskError> {
    let reader = Reader { path, text };
    let file: File = toml::from_str(text).map_err(|error| {
        let at = error.span().map_or(0, |span| span.start.min(text.len()));
        reader.wrong_at(
            1 + text.bytes().take(at).filter(|byte| *byte == b'\n').count(),
            error.message().replace('`', "").replace('\n', " "),
            "demo/calls shows all that a call can say",
        )
    })?;
    Ok(Call {
        date: file.date.map(|date| reader.day(&date)).transpose()?,
        name: file.name,
        notes: file.notes,
        sight_reading: file.sight_reading,
        pieces: file
            .pieces
            .into_iter()
            .map(|piece| reader.piece(piece))
            .collect::<Result<_, _>>()?,
        scales: file
            .scales
            .into_iter()
            .map(|scale| {
                Ok(CallScale {
                    tempo: scale
                        .tempo
                        .as_deref()
                        .map(|tempo| reader.tempo(tempo))
                        .transpose()?,
                    says: scale.says,
                    memorised: scale.memorised,
                })
            })
            .collect::<Result<_, DeskError>>()?,
        changes: file
            .changes
            .into_iter()
            .map(|change| {
                Ok(CallChange {
                    date: reader.day(&change.date)?,
                    says: change.says,
                })
            })
            .collect::<Result<_, DeskError>>()?,
    })
}

impl Reader<'_> {
    fn wrong_at(&self, line: usize, what: impl Into<String>, advice: &str) -> DeskError {
        DeskError::Profile {
            path: PathBuf::from(self.path),
            line,
            what: what.into(),
            advice: advice.to_owned(),
        }
    }

    /// At the line that holds these words.
    fn wrong(&self, words: &str, what: impl Into<String>, advice: &str) -> DeskError {
        let line = self
            .text
            .lines()
            .position(|line| line.contains(words))
            .map_or(1, |line| line + 1);
        self.wrong_at(line, what, advice)
    }

    fn day(&self, date: &toml::value::Datetime) -> Result<NaiveDate, DeskError> {
        let said = date.to_string();
        let day = date.date.as_ref().and_then(|day| {
            NaiveDate::from_ymd_opt(i32::from(day.year), u32::from(day.month), u32::from(day.day))
        });
        day.ok_or_else(|| self.wrong(&said, format!("{said} is no day"), "write it like 2027-02-13"))
    }

    fn tempo(&self, said: &str) -> Result<Asked, DeskError> {
        Asked::read(said).ok_or_else(|| {
            self.wrong(
                said,
                format!("“{said}” is no tempo"),
                "write it like q = 96-104, dotted quarter = 60, or ♩ = 72",
            )
        })
    }

    fn range(&self, said: &str) -> Result<Range, DeskError> {
        Range::read(said)
            .map_err(|wrong| self.wrong(said, format!("“{}” is not understood", wrong.words), wrong.advice))
    }

    fn pitch(&self, said: &str) -> Result<Pitch, DeskError> {
        Pitch::parse(&said.replace('♯', "#").replace('♭', "b")).ok_or_else(|| {
            self.wrong(
                said,
                format!("“{said}” is no note"),
                "write it like C#5 or Bb3, as written in the part",
            )
        })
    }

    fn piece(&self, piece: PieceLines) -> Result<CallPiece, DeskError> {
        let cut = |(at, cut): (usize, CutLines)| {
            Ok(Cut {
                name: cut.name.unwrap_or_else(|| (at + 1).to_string()),
                range: self.range(&cut.bars)?,
                tempo: cut.tempo.as_deref().map(|tempo| self.tempo(tempo)).transpose()?,
                notes: cut.notes,
            })
        };
        Ok(CallPiece {
            file: piece.file,
            part: piece.part,
            edition: piece.edition,
            memorised: piece.memorised,
            cuts: piece
                .cuts
                .into_iter()
                .enumerate()
                .map(cut)
                .collect::<Result<_, DeskError>>()?,
            errata: piece
                .errata
                .into_iter()
                .map(|erratum| self.erratum(erratum))
                .collect::<Result<_, _>>()?,
        })
    }

    fn erratum(&self, lines: ErratumLines) -> Result<Erratum, DeskError> {
        let mut changes: Vec<Change> = Vec::new();
        if let Some(note) = &lines.note {
            changes.push(Change::Note {
                was: lines.was.as_deref().map(|was| self.pitch(was)).transpose()?,
                now: self.pitch(note)?,
            });
        }
        if let Some(mark) = &lines.dynamic {
            let mark = mark.trim().to_lowercase();
            if mark.is_empty() || mark.chars().count() > 6 || !mark.chars().all(|c| "pmfszrn".contains(c)) {
                return Err(self.wrong(
                    &mark,
                    format!("“{mark}” is no dynamic mark"),
                    "write it like mp or sfz",
                ));
            }
            changes.push(Change::Dynamic(mark));
        }
        if let Some(tempo) = &lines.tempo {
            changes.push(Change::Tempo(self.tempo(tempo)?));
        }
        if let Some(sign) = &lines.add {
            changes.push(Change::Add(self.articulation(sign)?));
        }
        if let Some(sign) = &lines.remove {
            changes.push(Change::Remove(self.articulation(sign)?));
        }
        let change = match changes.len() {
            0 if lines.says.is_empty() => {
                return Err(self.wrong(
                    &lines.at,
                    "this erratum corrects nothing",
                    "say what: note = \"C#5\" (was = \"C5\"), dynamic, tempo, add, remove, or says = \"…\"",
                ));
            }
            0 => Change::Words,
            1 => changes.remove(0),
            _ => {
                return Err(self.wrong(
                    &lines.at,
                    "this erratum corrects several things at once",
                    "write one [[pieces.errata]] for each",
                ));
            }
        };
        if lines.was.is_some() && lines.note.is_none() {
            return Err(self.wrong(
                &lines.at,
                "this erratum says what was printed, but not what it should be",
                "add note = \"C#5\"",
            ));
        }
        Ok(Erratum {
            date: lines.date.map(|date| self.day(&date)).transpose()?,
            at: self.range(&lines.at)?,
            change,
            says: lines.says,
        })
    }

    fn articulation(&self, said: &str) -> Result<ArticulationKind, DeskError> {
        const KNOWN: [ArticulationKind; 6] = [
            ArticulationKind::Accent,
            ArticulationKind::Marcato,
            ArticulationKind::Staccato,
            ArticulationKind::Staccatissimo,
            ArticulationKind::Tenuto,
            ArticulationKind::Portato,
        ];
        let found = KNOWN
            .iter()
            .find(|kind| kind.mark().eq_ignore_ascii_case(said.trim()));
        found.cloned().ok_or_else(|| {
            self.wrong(
                said,
                format!("“{said}” is no articulation that can be corrected"),
                "there are accent, marcato, staccato, staccatissimo, tenuto and portato; anything else in words: says = \"…\"",
            )
        })
    }
}
