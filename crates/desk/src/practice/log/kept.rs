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
    Ok(lines_of(&String::from_utf8_lossy(&bytes), path))
}

/// The lines of a log's text; `path` is what it is called.
fn lines_of(text: &str, path: &Path) -> (Vec<Numbered>, Vec<Finding>) {
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
    (known, findings)
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

/// Whose visits are wanted.
#[derive(Clone, Copy)]
pub(in crate::practice) struct Of<'a> {
    /// The part alone.
    pub opened: &'a Opened,
    /// What the part is called in its file.
    pub part: &'a str,
    /// The beat where a line names none.
    pub felt_beat: Option<BeatUnit>,
    /// No visit lies after this day.
    pub today: Date,
}

/// The visits of a part up to a day, and what is to be said of the log.
pub(in crate::practice) fn visits(path: &Path, of: &Of) -> Result<(Vec<Entry>, Vec<Finding>), DeskError> {
    let (lines, mut findings) = lines(path)?;
    let all = lines.len();
    let own: Vec<Numbered> = lines
        .into_iter()
        .filter(|(_, line)| tells_of(line, of.opened, of.part))
        .collect();
    let others = all - own.len();
    let entries = entries(&own, path, of, &mut findings);
    if entries.is_empty() && others > 0 {
        findings.push(Finding::new(
            Severity::Note,
            "log-of-others",
            format!("the log tells of other pieces or parts ({others} lines), not of this one"),
            "look whether it is the right log, or whether the piece had another name",
        ));
    }
    Ok((entries, findings))
}

/// The visits that a text tells of; whoever gives it knows that it is about this piece, whatever the piece was called then.
pub(in crate::practice) fn visits_in(text: &str, of: &Of) -> (Vec<Entry>, Vec<Finding>) {
    let name = Path::new("the practice log");
    let (mut lines, mut findings) = lines_of(text, name);
    lines.retain(|(_, line)| line.part.as_deref().is_none_or(|own| own == of.part));
    let entries = entries(&lines, name, of, &mut findings);
    (entries, findings)
}

fn entries(lines: &[Numbered], path: &Path, of: &Of, findings: &mut Vec<Finding>) -> Vec<Entry> {
    let mut entries = Vec::new();
    for (number, line) in lines {
        match entry(line, &of.opened.piece, of.felt_beat) {
            Ok(entry) if entry.date > of.today => {
                let why = format!("{} is still to come", entry.date);
                findings.push(damaged(path, *number, &why));
            }
            Ok(entry) => entries.push(entry),
            Err(why) => findings.push(damaged(path, *number, &why)),
        }
    }
    entries.sort_by_key(|entry| entry.date);
    entries
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

#[cfg(test)]
mod tests {
    use super::*;

    fn opened() -> Opened {
        Opened {
            path: std::path::PathBuf::from("air.abc"),
            tune: None,
            piece: notation::sketch("C4/q D4/q E4/h | F4/w | G4/w |").unwrap(),
            findings: Vec::new(),
        }
    }

    #[test]
    fn a_text_tells_of_its_piece_whatever_that_was_called_then() {
        let opened = opened();
        let of = Of {
            opened: &opened,
            part: "Flute",
            felt_beat: None,
            today: "2027-01-10".parse().unwrap(),
        };
        let line = |date: &str, bars: (&str, &str), more: &str| {
            format!(
                "{{\"date\":\"{date}\",\"piece\":\"an older name\",\"from_bar\":\"{}\",\"to_bar\":\"{}\"{more}}}\n",
                bars.0, bars.1
            )
        };
        let text = [
            line("2027-01-09", ("2", "3"), ",\"tempo\":60,\"clean\":3"),
            line("2027-01-08", ("1", "1"), ",\"felt\":\"easy\""),
            line("2027-01-08", ("1", "1"), ",\"part\":\"Oboe\""),
            line("2027-01-11", ("1", "1"), ""),
            line("2027-01-08", ("77", "78"), ""),
            "no line at all\n".to_owned(),
        ]
        .concat();
        let (entries, findings) = visits_in(&text, &of);
        let days: Vec<String> = entries.iter().map(|entry| entry.date.to_string()).collect();
        assert_eq!(
            days,
            ["2027-01-08", "2027-01-09"],
            "by day, the other part's left out"
        );
        assert_eq!(entries[1].span, BarSpan::new(BarIndex(1), BarIndex(2)));
        assert_eq!((entries[1].speed, entries[1].clean), (Some(60.0), Some(3)));
        // What is still to come, of bars that are not there, or no line at all, is said and not counted.
        assert_eq!(findings.len(), 3, "{findings:?}");
        assert!(findings.iter().all(|finding| finding.kind == "log-line"));
    }
}
