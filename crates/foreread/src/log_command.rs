//! `foreread log`: write down what was practised, or see what was.

use crate::output::{say, say_findings, write_out};
use crate::piece::PieceArgs;
use clap::{Args, ValueEnum};
use desk::{DeskError, LogAsked};
use std::io::IsTerminal;
use std::path::PathBuf;

/// What was done, bar by bar.
#[derive(Debug, Args)]
pub(crate) struct LogArgs {
    #[command(flatten)]
    piece: PieceArgs,
    /// Write down a visit to these bars, by their printed numbers (5-8); without it, what was done is shown
    #[arg(long, value_name = "FROM-TO", allow_hyphen_values = true)]
    bars: Option<String>,
    /// How fast, in beats a minute
    #[arg(long, value_name = "BPM", requires = "bars")]
    tempo: Option<f64>,
    /// The beat that was counted (quarter, quarter., eighth); the felt beat if it is left out
    #[arg(long, value_name = "NOTE", requires = "tempo")]
    beat: Option<String>,
    /// How often in a row it was right at that tempo
    #[arg(long, value_name = "TIMES", requires = "bars")]
    clean: Option<u32>,
    /// How it felt: easy, steady or hard
    #[arg(long, value_name = "HOW", requires = "bars")]
    felt: Option<String>,
    /// How long it took, in minutes
    #[arg(long, value_name = "MINUTES", requires = "bars")]
    minutes: Option<f64>,
    /// By which drill (half-speed, rhythm-only …; foreread drill PIECE --list names them)
    #[arg(long, value_name = "KIND", requires = "bars")]
    drill: Option<String>,
    /// Whatever is to be remembered
    #[arg(long, value_name = "WORDS", requires = "bars")]
    note: Option<String>,
    /// The day it was done, instead of today
    #[arg(long, value_name = "DATE", requires = "bars")]
    date: Option<String>,
    /// The log, instead of the file beside the piece (PIECE.practice.jsonl)
    #[arg(long, value_name = "FILE")]
    log: Option<PathBuf>,
    /// Take this day for today
    #[arg(long, value_name = "DATE")]
    today: Option<String>,
    /// How to show it
    #[arg(long = "as", value_enum, default_value_t = As::Text, value_name = "FORM")]
    form: As,
    /// The word for a bar
    #[arg(long, value_enum, default_value_t = crate::survey_command::Word::Bar, value_name = "WORD")]
    bar_word: crate::survey_command::Word,
    /// Columns of the text, instead of the terminal's own
    #[arg(long, value_name = "COLUMNS")]
    width: Option<usize>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum As {
    /// Words for the terminal
    Text,
    /// JSON by the schema in docs/
    Json,
}

/// Writes a visit down, or shows the log.
///
/// # Errors
/// Whatever the desk says.
pub(crate) fn run(args: &LogArgs) -> Result<(), DeskError> {
    let opened = args.piece.open()?;
    let asked = LogAsked {
        part: args.piece.part.clone(),
        log: args.log.clone(),
        bars: args.bars.clone(),
        tempo: args.tempo,
        beat: args.beat.clone(),
        clean: args.clean,
        felt: args.felt.clone(),
        minutes: args.minutes,
        drill: args.drill.clone(),
        note: args.note.clone(),
        date: args.date.clone(),
        today: args.today.clone(),
    };
    if args.bars.is_some() {
        let logged = desk::log_visit(&opened, &asked)?;
        say(&format!("written down in {}", logged.path.display()));
        return Ok(());
    }
    let shown = desk::show_log(&opened, &asked)?;
    let text = match args.form {
        As::Json => shown.json(),
        As::Text => shown.text(terminal(args)),
    };
    write_out(&text)?;
    say_findings(&shown.findings);
    Ok(())
}

fn terminal(args: &LogArgs) -> sheet::Terminal {
    let person = std::io::stdout().is_terminal();
    let window = terminal_size::terminal_size().map(|(width, _)| usize::from(width.0));
    sheet::Terminal {
        width: args.width.or(window.filter(|_| person)).unwrap_or(80),
        styled: person && std::env::var_os("NO_COLOR").is_none(),
        bar_word: args.bar_word.said(),
    }
}
