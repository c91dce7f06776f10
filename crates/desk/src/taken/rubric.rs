//! What is the teacher's own rubric? A small file of lines, each with what is counted and what it gives.
//!
//! ```toml
//! name = "My lesson sheet"
//! [[line]]
//! name = "goes on without stopping"
//! counts = "hesitations"
//! levels = [
//!   { at_most = 0, points = 4, words = "never stops" },
//!   { at_most = 2, points = 3, words = "once or twice" },
//!   { points = 1, words = "more often" },
//! ]
//! ```

use crate::{DeskError, small_file};
use serde::Deserialize;
use std::path::{Path, PathBuf};
use take::judge::{Level, Measure, Rubric, RubricLine};

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Written {
    name: String,
    #[serde(default)]
    source: Option<String>,
    #[serde(default)]
    line: Vec<WrittenLine>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct WrittenLine {
    name: String,
    counts: String,
    levels: Vec<WrittenLevel>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct WrittenLevel {
    at_most: Option<f64>,
    at_least: Option<f64>,
    points: f64,
    #[serde(default)]
    words: String,
}

const FILE: small_file::Kind = small_file::Kind {
    missing: |path| DeskError::NotFound { path },
    name: "rubric",
    example: "rubric.toml",
    most_bytes: 1_000_000,
};

/// Reads a rubric.
///
/// # Errors
/// If there is no such file, or it can't be understood.
pub(super) fn read(path: &Path) -> Result<Rubric, DeskError> {
    let text = small_file::read(path, &FILE)?;
    let line_at = |byte: usize| 1 + text.bytes().take(byte).filter(|byte| *byte == b'\n').count();
    let written: Written = toml::from_str(&text).map_err(|error| {
        let at = error.span().map_or(0, |span| span.start.min(text.len()));
        wrong(
            path,
            line_at(at),
            error.message().replace('`', "").replace('\n', " "),
        )
    })?;
    let lines = written
        .line
        .into_iter()
        .map(|line| line_of(path, line))
        .collect::<Result<Vec<_>, _>>()?;
    if lines.is_empty() {
        return Err(wrong(path, 1, "the rubric has no lines".to_owned()));
    }
    Ok(Rubric {
        name: written.name,
        source: written.source.unwrap_or_else(|| "the teacher's own".to_owned()),
        lines,
    })
}

fn line_of(path: &Path, line: WrittenLine) -> Result<RubricLine, DeskError> {
    let measure = Measure::from_id(&line.counts).ok_or_else(|| {
        let known: Vec<&str> = Measure::ALL.iter().map(|measure| measure.id()).collect();
        wrong(
            path,
            1,
            format!(
                "“{}” can't be counted; there are {}",
                line.counts,
                known.join(", ")
            ),
        )
    })?;
    let more_is_better = line.levels.iter().any(|level| level.at_least.is_some());
    let mixed = more_is_better && line.levels.iter().any(|level| level.at_most.is_some());
    if mixed || line.levels.is_empty() {
        return Err(wrong(
            path,
            1,
            format!(
                "“{}” needs rows with at_most alone, or with at_least alone",
                line.name
            ),
        ));
    }
    if line.levels.iter().any(|level| !level.points.is_finite()) {
        return Err(wrong(
            path,
            1,
            format!("the points of “{}” are no numbers", line.name),
        ));
    }
    let levels = line.levels.into_iter().map(|level| Level {
        limit: level.at_most.or(level.at_least),
        points: level.points,
        words: level.words,
    });
    Ok(RubricLine {
        name: line.name,
        measure,
        more_is_better,
        levels: levels.collect(),
    })
}

fn wrong(path: &Path, line: usize, what: String) -> DeskError {
    DeskError::Profile {
        path: PathBuf::from(path),
        line,
        what,
        advice: "see README.md for what a rubric's file can say".to_owned(),
    }
}
