//! How does a call read? Words for the terminal, and JSON.

use super::call::{CallOpened, CallPieceOpened};
use chrono::NaiveDate;
use practice::call::CallPiece;
use practice::call::tempo::Asked as TempoAsked;

/// Minutes and seconds.
fn time(seconds: f64) -> String {
    let whole = seconds.round().clamp(0.0, 86_400.0);
    format!("{:.0}:{:02.0}", (whole / 60.0).floor(), whole % 60.0)
}

impl CallOpened {
    /// The call for the terminal, as of a day; with what was changed since another.
    #[must_use]
    pub fn text(&self, today: NaiveDate, since: Option<NaiveDate>) -> String {
        let mut out = format!("{}\n", self.call.name);
        if let (Some(date), Some(left)) = (self.call.date, self.call.days_left(today)) {
            let when = match left {
                0 => "today".to_owned(),
                1 => "tomorrow".to_owned(),
                left if left > 0 => format!("in {left} days"),
                left => format!("{} days ago", -left),
            };
            out.push_str(&format!("  {date}, {when}\n"));
        }
        if !self.call.notes.is_empty() {
            out.push_str(&format!("  {}\n", self.call.notes.trim()));
        }
        for (at, (listed, piece)) in self.call.pieces.iter().zip(&self.pieces).enumerate() {
            out.push_str(&self.piece_text(at, listed, piece));
        }
        if !self.call.scales.is_empty() {
            out.push_str("\nScales\n");
            for scale in &self.call.scales {
                let tempo = scale
                    .tempo
                    .as_ref()
                    .map_or(String::new(), |tempo| format!(", {}", tempo.in_words()));
                let memory = if scale.memorised { ", from memory" } else { "" };
                out.push_str(&format!("  {}{tempo}{memory}\n", scale.says));
            }
        }
        if let Some(said) = &self.call.sight_reading {
            out.push_str(&format!("\nSight-reading\n  {said}\n"));
        }
        if let Some(since) = since {
            out.push_str(&format!("\nChanged since {since}\n"));
            let changed = self.call.changed_since(since);
            for (date, piece, says) in &changed {
                let piece = piece
                    .and_then(|at| self.pieces.get(at))
                    .map_or(String::new(), |piece| format!("{}: ", piece.title));
                out.push_str(&format!("  {date}  {piece}{says}\n"));
            }
            if changed.is_empty() {
                out.push_str("  nothing\n");
            }
        }
        out
    }

    fn piece_text(&self, at: usize, listed: &CallPiece, piece: &CallPieceOpened) -> String {
        let memory = if listed.memorised { ", from memory" } else { "" };
        let mut out = format!("\n{}. {}{memory}\n", at + 1, piece.title);
        if !listed.edition.is_empty() {
            out.push_str(&format!("   Edition: {}\n", listed.edition));
        }
        for cut in &piece.cuts {
            let says = cut
                .found
                .as_ref()
                .map_or_else(|| cut.cut.range.said.clone(), |found| found.says.clone());
            out.push_str(&format!("   Cut {}: {says}\n", cut.cut.name));
            let tempo = cut
                .cut
                .tempo
                .as_ref()
                .map_or_else(|| "at the marked tempo".to_owned(), TempoAsked::in_words);
            match cut.seconds {
                Some((slow, fast)) if (slow - fast).abs() < 0.5 => {
                    out.push_str(&format!("      {tempo}: {}\n", time(slow)))
                }
                Some((slow, fast)) => {
                    out.push_str(&format!("      {tempo}: {} to {}\n", time(slow), time(fast)))
                }
                None => out.push_str(&format!("      {tempo}\n")),
            }
            if cut.found.as_ref().is_some_and(|found| found.repeats) {
                out.push_str("      with repeats\n");
            }
            if !cut.cut.notes.is_empty() {
                out.push_str(&format!("      {}\n", cut.cut.notes.trim()));
            }
            for finding in &cut.findings {
                out.push_str(&format!("      {}: {finding}\n", finding.severity.word()));
            }
        }
        for erratum in &listed.errata {
            let date = erratum.date.map_or(String::new(), |date| format!("{date}  "));
            out.push_str(&format!("   Erratum: {date}{}\n", erratum.in_words()));
        }
        for finding in &piece.findings {
            out.push_str(&format!("   {}: {finding}\n", finding.severity.word()));
        }
        out
    }

    /// The call as JSON, as of a day.
    #[must_use]
    pub fn json(&self, today: NaiveDate, since: Option<NaiveDate>) -> String {
        let pieces: Vec<wire::CallPieceWritten<'_>> = self
            .pieces
            .iter()
            .map(|piece| wire::CallPieceWritten {
                title: &piece.title,
                piece: piece.corrected.as_ref().map(|opened| &opened.piece),
                cuts: piece
                    .cuts
                    .iter()
                    .map(|cut| wire::CutWritten {
                        cut: &cut.cut,
                        found: cut.found.as_ref(),
                        seconds: cut.seconds,
                        findings: &cut.findings,
                    })
                    .collect(),
                findings: &piece.findings,
            })
            .collect();
        wire::call_json(&self.call, &pieces, today, since)
    }
}
