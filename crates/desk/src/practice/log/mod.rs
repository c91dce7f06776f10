//! What was done, bar by bar? An open file of lines beside the piece; a line is added whole or not at all, and what can't be read
//! is said and kept.

mod kept;
mod shown;

pub(super) use kept::{Of, visits, visits_in};
pub use shown::{LogShown, show_log};

use super::when::{self, wrong};
use crate::survey_piece::{choose_part, part_name};
use crate::{DeskError, Opened, not_over_itself};
use notation::{BarIndex, Piece};
use practice::BarSpan;
use practice::drill::DrillKind;
use practice::plan::Felt;
use std::fs::{File, OpenOptions};
use std::io::{Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};
use survey::metre::BeatUnit;
use wire::LogLine;

/// What is no practice tempo in beats a minute, as for the ladder.
const TEMPI: std::ops::RangeInclusive<f64> = 10.0..=500.0;
/// Most minutes of one visit.
const MOST_MINUTES: f64 = 600.0;
/// Most times in a row that anybody counts.
const MOST_CLEAN: u32 = 999;

/// A visit as it is typed.
#[derive(Clone, Debug, Default)]
pub struct LogAsked {
    /// The part, by its number or name.
    pub part: Option<String>,
    /// The log, instead of the one beside the piece.
    pub log: Option<PathBuf>,
    /// The bars: `5-8`, `5`.
    pub bars: Option<String>,
    /// Beats a minute.
    pub tempo: Option<f64>,
    /// The beat that was counted: `quarter`, `quarter.`, `eighth`; the felt beat if nothing is said.
    pub beat: Option<String>,
    /// How often in a row it was right.
    pub clean: Option<u32>,
    /// `easy`, `steady` or `hard`.
    pub felt: Option<String>,
    /// How long.
    pub minutes: Option<f64>,
    /// By which drill.
    pub drill: Option<String>,
    /// Whatever she wants to remember.
    pub note: Option<String>,
    /// The day, instead of today.
    pub date: Option<String>,
    /// Today, instead of the clock's.
    pub today: Option<String>,
}

/// A visit that was written down.
#[derive(Clone, PartialEq, Debug)]
pub struct Logged {
    /// Where.
    pub path: PathBuf,
    /// The line.
    pub line: LogLine,
}

/// The log beside a piece: `vale.practice.jsonl` beside `vale.musicxml`. `None` where the piece lies in no file.
#[must_use]
pub fn default_log(piece: &Path) -> Option<PathBuf> {
    let stem = piece.file_stem()?.to_str()?;
    piece
        .is_file()
        .then(|| piece.with_file_name(format!("{stem}.practice.jsonl")))
}

/// The log that is meant.
pub(super) fn log_path(opened: &Opened, asked: Option<&PathBuf>) -> Result<Option<PathBuf>, DeskError> {
    let path = asked.cloned().or_else(|| default_log(&opened.path));
    if let Some(path) = &path {
        not_over_itself(&opened.path, path)?;
    }
    Ok(path)
}

/// Writes a visit down.
///
/// # Errors
/// If something typed can't be understood, or the log can't be written.
pub fn log_visit(opened: &Opened, asked: &LogAsked) -> Result<Logged, DeskError> {
    let choice = choose_part(opened, asked.part.as_deref())?;
    let path = log_path(opened, asked.log.as_ref())?.ok_or_else(|| {
        wrong(
            "a piece from standard input has no log beside it".to_owned(),
            "say with --log where the log is to be",
        )
    })?;
    let line = line(opened, choice.index, asked)?;
    append(&path, &wire::log_line(&line))?;
    Ok(Logged { path, line })
}

/// A visit as the line of a log that is kept elsewhere, with its end; it is written nowhere.
///
/// # Errors
/// If something typed can't be understood.
pub fn log_line(opened: &Opened, asked: &LogAsked) -> Result<String, DeskError> {
    let choice = choose_part(opened, asked.part.as_deref())?;
    Ok(wire::log_line(&line(opened, choice.index, asked)?))
}

fn line(opened: &Opened, part: usize, asked: &LogAsked) -> Result<LogLine, DeskError> {
    let piece = &opened.piece;
    let bars = asked.bars.as_deref().unwrap_or_default();
    let span = span(piece, bars)?;
    let today = match &asked.today {
        Some(text) => when::date("--today", text)?,
        None => when::today(),
    };
    let date = match &asked.date {
        Some(text) => when::date("--date", text)?,
        None => today,
    };
    if date > today {
        return Err(wrong(
            format!("--date: {date} is still to come"),
            "write down what was done, on its day",
        ));
    }
    let out_of = |what: String, advice: &str| Err(wrong(what, advice));
    if let Some(tempo) = asked.tempo.filter(|tempo| !TEMPI.contains(tempo)) {
        return out_of(
            format!("--tempo {tempo} is no tempo"),
            "give beats a minute, from 10 to 500",
        );
    }
    if let Some(clean) = asked.clean.filter(|clean| *clean > MOST_CLEAN) {
        return out_of(
            format!("--clean {clean} times in a row are too many to count"),
            "give the times in a row, 0 to 999",
        );
    }
    if let Some(minutes) = asked.minutes.filter(|m| !(*m > 0.0 && *m <= MOST_MINUTES)) {
        return out_of(
            format!("--minutes {minutes} can't be"),
            "give the minutes of this visit, up to 600",
        );
    }
    if let Some(felt) = asked.felt.as_deref().filter(|felt| Felt::from_id(felt).is_none()) {
        return out_of(
            format!("--felt: it can't have felt “{felt}”"),
            "say easy, steady or hard",
        );
    }
    if let Some(drill) = asked
        .drill
        .as_deref()
        .filter(|drill| DrillKind::from_id(drill).is_none())
    {
        let known: Vec<&str> = DrillKind::ALL.iter().map(|kind| kind.id()).collect();
        return out_of(
            format!("no drill is called “{drill}”"),
            &format!("there are {}", known.join(", ")),
        );
    }
    let beat = match &asked.beat {
        Some(text) => Some(beat(text)?.code()),
        None => None,
    };
    Ok(LogLine {
        date: date.to_string(),
        piece: crate::print::title(piece, opened),
        file: file_name(&opened.path),
        part: (piece.parts.len() > 1).then(|| part_name(piece, part)),
        from_bar: piece.label(span.from).to_owned(),
        to_bar: piece.label(span.to).to_owned(),
        tempo: asked.tempo,
        beat,
        clean: asked.clean,
        felt: asked.felt.clone(),
        minutes: asked.minutes,
        drill: asked.drill.clone(),
        note: asked.note.clone(),
    })
}

fn file_name(path: &Path) -> Option<String> {
    path.is_file()
        .then(|| path.file_name().map(|name| name.to_string_lossy().into_owned()))
        .flatten()
}

/// A note value as it is typed: `quarter`, `quarter.`, `dotted quarter`.
fn beat(text: &str) -> Result<BeatUnit, DeskError> {
    known_beat(text).ok_or_else(|| {
        wrong(
            format!("--beat: “{}” is no note value", text.trim()),
            "say half, quarter, eighth, 16th, with a point for a dot (quarter.)",
        )
    })
}

fn known_beat(text: &str) -> Option<BeatUnit> {
    let wanted = text.trim().to_lowercase();
    notation::NoteValue::ALL
        .into_iter()
        .flat_map(|value| (0..=3).map(move |dots| BeatUnit { value, dots }))
        .find(|unit| unit.code() == wanted || unit.name() == wanted)
}

/// Bars as they are typed, by their printed numbers: `5-8`, `5`, `4a`.
///
/// # Errors
/// If there are no such bars.
pub fn bar_span(piece: &Piece, text: &str) -> Result<BarSpan, DeskError> {
    span(piece, text)
}

pub(super) fn span(piece: &Piece, text: &str) -> Result<BarSpan, DeskError> {
    let text = text.trim();
    let find = |label: &str| {
        (0..piece.bars.len())
            .map(BarIndex::from_usize)
            .find(|bar| piece.label(*bar) == label.trim())
    };
    if let Some(bar) = find(text) {
        return Ok(BarSpan::new(bar, bar));
    }
    let form = "write the first and the last bar as they are numbered on the page, for example 5-8";
    let (from, to) = text
        .split_once(['-', '–'])
        .ok_or_else(|| wrong(format!("--bars: there is no bar {text}"), form))?;
    let bar = |label: &str| {
        find(label).ok_or_else(|| {
            let last = piece.bars.len().checked_sub(1).map(BarIndex::from_usize);
            let last = last.map_or_else(String::new, |last| {
                format!("; the last one is {}", piece.label(last))
            });
            wrong(format!("--bars: there is no bar {}{last}", label.trim()), form)
        })
    };
    let (from, to) = (bar(from)?, bar(to)?);
    if to < from {
        return Err(wrong(
            format!("--bars: {text} goes backwards"),
            "write the earlier bar first",
        ));
    }
    Ok(BarSpan::new(from, to))
}

/// Adds a line at the end: whole, after whatever an interrupted writer may have left, one writer at a time.
fn append(path: &Path, line: &str) -> Result<(), DeskError> {
    let unwritable = |source| DeskError::Unwritable {
        path: path.to_path_buf(),
        source,
    };
    let mut file = OpenOptions::new()
        .read(true)
        .append(true)
        .create(true)
        .open(path)
        .map_err(unwritable)?;
    if !file.metadata().map_err(unwritable)?.is_file() {
        return Err(DeskError::NotAFile {
            path: path.to_path_buf(),
        });
    }
    file.lock().map_err(unwritable)?;
    let mut text = String::new();
    if !ends_well(&mut file).map_err(unwritable)? {
        // The torn line stays a line of its own.
        text.push('\n');
    }
    text.push_str(line);
    // One call: a reader never sees half of it.
    file.write_all(text.as_bytes()).map_err(unwritable)?;
    file.sync_data().map_err(unwritable)
}

/// Whether the file is empty or ends with the end of a line.
fn ends_well(file: &mut File) -> std::io::Result<bool> {
    if file.seek(SeekFrom::End(0))? == 0 {
        return Ok(true);
    }
    file.seek(SeekFrom::End(-1))?;
    let mut last = [0];
    file.read_exact(&mut last)?;
    Ok(last == *b"\n")
}
