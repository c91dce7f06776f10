//! What does a log hold? Its lines, as visits to the bars of a piece; what can't be read is said with its line.

use super::{TEMPI, file_name, known_beat};
use crate::{DeskError, Opened};
use notation::{BarIndex, Finding, Piece, Severity};
use practice::BarSpan;
use practice::drill::DrillKind;
use practice::plan::{Date, Entry, Felt};
use std::io::ErrorKind;
use std::path::Path;
use survey::metre::BeatUnit;
use wire::LogLine;

/// More than a log of a lifetime, in bytes.
const MOST_BYTES: u64 = 64_000_000;

/// A line with its number, from 1.
pub(super) type Numbered = (usize, LogLine);

/// The lines of a log with their numbers, and what can't be read. No file is an empty log.
pub(super) fn lines(path: &Path) -> Result<(Vec<Numbered>, Vec<Finding>), DeskError> {
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

pub(super) fn damaged(path: &Path, number: usize, why: &str) -> Finding {
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
pub(in crate::practice) fn visits(
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
pub(super) fn tells_of(line: &LogLine, opened: &Opened, part: &str) -> bool {
    let same_piece = line.piece == crate::print::title(&opened.piece, opened)
        || line.file.is_some() && line.file == file_name(&opened.path);
    let same_part = line.part.as_deref().is_none_or(|own| own == part);
    same_piece && same_part
}

pub(super) fn entry(line: &LogLine, piece: &Piece, felt_beat: Option<BeatUnit>) -> Result<Entry, String> {
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
