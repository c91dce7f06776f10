//! What was done, bar by bar? An open file of lines beside the piece; a line is added whole or not at all, and what can't be read
//! is said and kept.

use super::when::{self, wrong};
use crate::survey_piece::{choose_part, part_name};
use crate::{DeskError, Opened, not_over_itself};
use notation::{BarIndex, Finding, Piece, Severity};
use practice::BarSpan;
use practice::drill::DrillKind;
use practice::plan::{Date, Entry, Felt};
use std::fs::{File, OpenOptions};
use std::io::{ErrorKind, Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};
use survey::metre::BeatUnit;
use wire::{LogBars, LogLine, LogSummary};

/// More than a log of a lifetime, in bytes.
const MOST_BYTES: u64 = 64_000_000;
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

/// What a log holds of a piece.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct LogShown {
    /// By bars.
    pub summary: LogSummary,
    /// What can't be read, or tells of something else.
    pub findings: Vec<Finding>,
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

/// A line with its number, from 1.
type Numbered = (usize, LogLine);

/// The lines of a log with their numbers, and what can't be read. No file is an empty log.
fn lines(path: &Path) -> Result<(Vec<Numbered>, Vec<Finding>), DeskError> {
    let unreadable = |source| DeskError::Unreadable {
        path: path.to_path_buf(),
        source,
    };
    let about = match std::fs::metadata(path) {
        Err(error) if error.kind() == ErrorKind::NotFound => return Ok((Vec::new(), Vec::new())),
        about => about.map_err(unreadable)?,
    };
    if !about.is_file() || about.len() > MOST_BYTES {
        return Err(DeskError::NotAFile {
            path: path.to_path_buf(),
        });
    }
    let bytes = std::fs::read(path).map_err(unreadable)?;
    let text = String::from_utf8_lossy(&bytes);
    let mut known = Vec::new();
    let mut findings = Vec::new();
    for (number, line) in text
        .lines()
        .enumerate()
        .filter(|(_, line)| !line.trim().is_empty())
    {
        match wire::read_log_line(line) {
            Ok(line) => known.push((number + 1, line)),
            Err(why) => findings.push(damaged(path, number + 1, &why)),
        }
    }
    Ok((known, findings))
}

fn damaged(path: &Path, number: usize, why: &str) -> Finding {
    let name = path.file_name().map(|name| name.to_string_lossy().into_owned());
    Finding::new(
        Severity::Caution,
        "log-line",
        format!(
            "line {number} of {} can't be read: {why}",
            name.unwrap_or_default()
        ),
        "it is kept as it stands and not counted; mend it with any text editor, or leave it",
    )
}

/// The visits of a part up to a day, and what is to be said of the log.
pub(super) fn visits(
    path: &Path,
    opened: &Opened,
    part: &str,
    felt_beat: Option<BeatUnit>,
    today: Date,
) -> Result<(Vec<Entry>, Vec<Finding>), DeskError> {
    let (lines, mut findings) = lines(path)?;
    let mut entries = Vec::new();
    let mut others = 0;
    for (number, line) in &lines {
        if !tells_of(line, opened, part) {
            others += 1;
            continue;
        }
        match entry(line, &opened.piece, felt_beat) {
            Ok(entry) if entry.date > today => findings.push(damaged(
                path,
                *number,
                &format!("{} is still to come", entry.date),
            )),
            Ok(entry) => entries.push(entry),
            Err(why) => findings.push(damaged(path, *number, &why)),
        }
    }
    if entries.is_empty() && others > 0 {
        findings.push(Finding::new(
            Severity::Note,
            "log-of-others",
            format!("the log tells of other pieces or parts ({others} lines), not of this one"),
            "look whether it is the right log, or whether the piece had another name",
        ));
    }
    entries.sort_by_key(|entry| entry.date);
    Ok((entries, findings))
}

/// Whether a line is about this piece and part: by the piece's name or its file's.
fn tells_of(line: &LogLine, opened: &Opened, part: &str) -> bool {
    let same_piece = line.piece == crate::print::title(&opened.piece, opened)
        || line.file.is_some() && line.file == file_name(&opened.path);
    let same_part = line.part.as_deref().is_none_or(|own| own == part);
    same_piece && same_part
}

fn entry(line: &LogLine, piece: &Piece, felt_beat: Option<BeatUnit>) -> Result<Entry, String> {
    let date: Date = line
        .date
        .parse()
        .map_err(|_| format!("“{}” is no day", line.date))?;
    let bar = |label: &str| {
        (0..piece.bars.len())
            .map(BarIndex::from_usize)
            .find(|bar| piece.label(*bar) == label)
            .ok_or_else(|| format!("there is no bar {label}"))
    };
    let span = BarSpan::new(bar(&line.from_bar)?, bar(&line.to_bar)?);
    let beat = match &line.beat {
        Some(code) => Some(known_beat(code).ok_or_else(|| format!("“{code}” is no note value"))?),
        None => felt_beat,
    };
    let quarters = beat.map_or(1.0, |beat| beat.quarters().to_f64());
    if let Some(tempo) = line.tempo.filter(|tempo| !TEMPI.contains(tempo)) {
        return Err(format!("{tempo} is no tempo"));
    }
    let felt = match line.felt.as_deref() {
        Some(felt) => Some(Felt::from_id(felt).ok_or_else(|| format!("it can't have felt “{felt}”"))?),
        None => None,
    };
    Ok(Entry {
        date,
        span,
        speed: line.tempo.map(|tempo| tempo * quarters),
        clean: line.clean,
        felt,
        drill: line.drill.as_deref().and_then(DrillKind::from_id),
    })
}

/// What was done, by bars.
///
/// # Errors
/// If there is no such part, or the log can't be read.
pub fn show_log(opened: &Opened, asked: &LogAsked) -> Result<LogShown, DeskError> {
    let choice = choose_part(opened, asked.part.as_deref())?;
    let Some(path) = log_path(opened, asked.log.as_ref())? else {
        return Ok(LogShown::default());
    };
    let part = part_name(&opened.piece, choice.index);
    let (lines, mut findings) = lines(&path)?;
    let piece = &opened.piece;
    let mut rows: Vec<(BarSpan, LogBars)> = Vec::new();
    let mut visits = 0;
    for (number, line) in lines.iter().filter(|(_, line)| tells_of(line, opened, &part)) {
        match entry(line, piece, None) {
            Ok(entry) => {
                visits += 1;
                count(&mut rows, entry.span, line);
            }
            Err(why) => findings.push(damaged(&path, *number, &why)),
        }
    }
    rows.sort_by_key(|(span, _)| *span);
    Ok(LogShown {
        summary: LogSummary {
            piece: crate::print::title(piece, opened),
            log: path
                .file_name()
                .map(|name| name.to_string_lossy().into_owned())
                .unwrap_or_default(),
            visits,
            bars: rows.into_iter().map(|(_, row)| row).collect(),
            untouched: untouched(piece, choice.index, &lines, opened, &part),
        },
        findings,
    })
}

/// Adds a visit to the row of its bars.
fn count(rows: &mut Vec<(BarSpan, LogBars)>, span: BarSpan, line: &LogLine) {
    let row = match rows.iter_mut().position(|(own, _)| *own == span) {
        Some(at) => rows.get_mut(at),
        None => {
            rows.push((span, LogBars::of(line)));
            rows.last_mut()
        }
    };
    let Some((_, row)) = row else { return };
    row.visits += 1;
    row.minutes += line.minutes.unwrap_or(0.0);
    if line.date >= row.last {
        row.last.clone_from(&line.date);
        if line.tempo.is_some() {
            (row.last_tempo, row.beat) = (line.tempo, line.beat.clone());
        }
        row.clean = line.clean.or(row.clean);
        row.felt = line.felt.clone().or(row.felt.take());
    }
    let clean = line.clean.is_some_and(|times| times >= practice::plan::CLEAN);
    if clean && line.tempo > row.best_tempo {
        row.best_tempo = line.tempo;
    }
    if let Some(drill) = &line.drill
        && !row.drills.contains(drill)
    {
        row.drills.push(drill.clone());
    }
}

impl LogShown {
    /// As JSON text.
    #[must_use]
    pub fn json(&self) -> String {
        wire::log_summary_text(&self.summary)
    }

    /// As words for the terminal.
    #[must_use]
    pub fn text(&self, terminal: sheet::Terminal) -> String {
        let rows = self.summary.bars.iter().map(row).collect();
        let facts = vec![format!(
            "{} visit{} in {}",
            self.summary.visits,
            if self.summary.visits == 1 { "" } else { "s" },
            self.summary.log
        )];
        let mut done = sheet::Section::new("log", "What was done", String::new());
        done.table(
            "",
            &[
                "bars", "visits", "last", "at", "in a row", "felt", "clean at", "drills",
            ],
            rows,
        );
        if !self.summary.untouched.is_empty() {
            done.line(
                "not yet",
                "no visit is written down",
                self.summary.untouched.clone(),
            );
        }
        let shown = sheet::Sheet {
            title: self.summary.piece.clone(),
            facts,
            study: vec![done],
            ..sheet::Sheet::default()
        };
        sheet::terminal(&shown, terminal)
    }
}

fn row(bars: &LogBars) -> Vec<String> {
    let tempo = |tempo: Option<f64>| match (tempo, bars.beat.as_deref().and_then(known_beat)) {
        (None, _) => "–".to_owned(),
        (Some(bpm), Some(beat)) => format!("{} = {bpm}", beat.sign()),
        (Some(bpm), None) => bpm.to_string(),
    };
    let label = if bars.from_bar == bars.to_bar {
        bars.from_bar.clone()
    } else {
        format!("{}–{}", bars.from_bar, bars.to_bar)
    };
    vec![
        label,
        bars.visits.to_string(),
        bars.last.clone(),
        tempo(bars.last_tempo),
        bars.clean
            .map_or_else(|| "–".to_owned(), |times| times.to_string()),
        bars.felt.clone().unwrap_or_else(|| "–".to_owned()),
        tempo(bars.best_tempo),
        bars.drills.join(", "),
    ]
}

/// Runs of bars with notes that no line tells of.
fn untouched(piece: &Piece, part: usize, lines: &[Numbered], opened: &Opened, name: &str) -> Vec<String> {
    let mut touched = vec![false; piece.bars.len()];
    for entry in lines
        .iter()
        .filter(|(_, line)| tells_of(line, opened, name))
        .filter_map(|(_, line)| entry(line, piece, None).ok())
    {
        for bar in touched
            .iter_mut()
            .take(entry.span.to.get() + 1)
            .skip(entry.span.from.get())
        {
            *bar = true;
        }
    }
    let mut sounds = vec![false; piece.bars.len()];
    let events = piece.parts.get(part).map_or(&[][..], |part| &part.events);
    for event in events
        .iter()
        .filter(|event| !event.cue && event.pitches().next().is_some())
    {
        if let Some(bar) = sounds.get_mut(event.place.bar.get()) {
            *bar = true;
        }
    }
    let free: Vec<(usize, String)> = touched
        .iter()
        .zip(&sounds)
        .enumerate()
        .filter(|(_, (touched, sounds))| !**touched && **sounds)
        .map(|(bar, _)| (bar, piece.label(BarIndex::from_usize(bar)).to_owned()))
        .collect();
    sheet::bar_runs(&free, 12)
}
