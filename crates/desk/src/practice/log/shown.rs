//! How is a log seen? By bars: how often, when last, at what tempo, by which drills, and what was not touched yet.

use super::kept::{Numbered, damaged, entry, lines, tells_of};
use super::{LogAsked, known_beat, log_path};
use crate::survey_piece::{choose_part, part_name};
use crate::{DeskError, Opened};
use notation::{BarIndex, Finding, Piece};
use practice::BarSpan;
use wire::{LogBars, LogLine, LogSummary};

/// What a log holds of a piece.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct LogShown {
    /// By bars.
    pub summary: LogSummary,
    /// What can't be read, or tells of something else.
    pub findings: Vec<Finding>,
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
