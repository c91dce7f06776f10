//! `foreread call`: an audition's requirements: cuts found and timed, errata applied, what changed.

use crate::output::{say, say_findings, write_out};
use crate::paper::PaperName;
use clap::{Args, ValueEnum};
use desk::{CallTo, DeskError};
use std::path::PathBuf;

/// Which call, and what of it.
#[derive(Debug, Args)]
pub(crate) struct CallArgs {
    /// The call: a small file that says pieces, cuts, tempi, scales, date and errata (demo/calls shows one)
    #[arg(value_name = "CALL")]
    call: PathBuf,
    /// Write this cut to --to, errata in it and nothing after its end: its name, or 2.1 for the first of the second piece
    #[arg(long, value_name = "CUT", requires = "to")]
    cut: Option<String>,
    /// Write the part of this piece to --to, its errata and cuts pencilled: a number from 1
    #[arg(long, value_name = "NUMBER", requires = "to", conflicts_with = "cut")]
    piece: Option<usize>,
    /// The file to write: .musicxml, .mxl, .mei, .pdf, .svg or .png; a cut also .mid, .wav or .flac
    #[arg(long, value_name = "FILE")]
    to: Option<PathBuf>,
    /// The tempo to hear a cut at (60 or 80%) instead of the slowest asked for
    #[arg(long, value_name = "BPM|%", requires = "cut")]
    tempo: Option<String>,
    /// List what was changed on or after this day
    #[arg(long, value_name = "DAY")]
    since: Option<String>,
    /// How to tell it: words for the terminal, or JSON
    #[arg(long = "as", value_enum, default_value_t = As::Text, value_name = "FORM")]
    form: As,
    /// The day that counts as today
    #[arg(long, value_name = "DAY")]
    today: Option<String>,
    /// The paper
    #[arg(long, value_enum, default_value_t = PaperName::A4, value_name = "PAPER")]
    paper: PaperName,
    /// Dots an inch of a .png
    #[arg(long, default_value_t = 150.0, value_name = "NUMBER")]
    dpi: f64,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum As {
    /// Words for the terminal
    Text,
    /// JSON by the schema in docs/
    Json,
}

/// Tells the call, or writes something of it.
///
/// # Errors
/// Whatever the desk says.
pub(crate) fn run(args: &CallArgs) -> Result<(), DeskError> {
    let today = args
        .today
        .as_deref()
        .map_or_else(|| Ok(desk::today()), |day| desk::day("--today", day))?;
    let since = args
        .since
        .as_deref()
        .map(|day| desk::day("--since", day))
        .transpose()?;
    let opened = desk::open_call(&args.call)?;
    let Some(to) = &args.to else {
        return match args.form {
            As::Text => write_out(&opened.text(today, since)),
            As::Json => write_out(&opened.json(today, since)),
        };
    };
    for piece in opened.pieces.iter().filter_map(|piece| piece.corrected.as_ref()) {
        desk::not_over_itself(&piece.path, to)?;
    }
    let how = CallTo {
        paper: args.paper.paper(),
        dots_per_inch: args.dpi,
        tempo: args.tempo.clone(),
    };
    let (files, findings) = match (&args.cut, args.piece) {
        (Some(cut), _) => opened.write_cut(cut, to, &how)?,
        (None, Some(number)) => opened.write_part(number, to, &how)?,
        (None, None) => {
            return Err(DeskError::Player {
                what: "it is not said what to write".to_owned(),
                advice: "choose a cut with --cut, or a piece with --piece".to_owned(),
            });
        }
    };
    say_findings(&findings);
    for file in files {
        say(&format!("written: {}", file.display()));
    }
    Ok(())
}
