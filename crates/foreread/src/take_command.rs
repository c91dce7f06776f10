//! `foreread take`: a recording laid against the piece: what was played, where it broke, what to work on.

use crate::ornaments::OrnamentArgs;
use crate::output::{say_findings, write_out};
use clap::{Args, ValueEnum};
use desk::{Asked, DeskError, For, TakeAsked};
use std::io::IsTerminal;
use std::path::PathBuf;

/// Which recording, of which piece.
#[derive(Debug, Args)]
pub(crate) struct TakeArgs {
    /// The recording: WAV, FLAC, MP3, Ogg Vorbis or M4A
    recording: PathBuf,
    /// The piece: a file in MusicXML, MEI, ABC, Humdrum kern or MIDI
    piece: PathBuf,
    /// The tune of a tunebook, by its number (the X: line in ABC)
    #[arg(long, value_name = "NUMBER")]
    tune: Option<String>,
    /// The part, by its name or its number from 1
    #[arg(long, value_name = "NAME|NUMBER")]
    part: Option<String>,
    /// It was played by this instrument, from the part as it would be written for it; or concert, as it sounds
    #[arg(long = "for", value_name = "INSTRUMENT")]
    written_for: Option<String>,
    /// The player's A4 in hertz; left out, it is taken from the recording
    #[arg(long, value_name = "HERTZ")]
    a4: Option<f64>,
    /// Cents against pure intervals over the key's tonic instead of equal ones
    #[arg(long)]
    just: bool,
    /// The repeats are taken again after a D.C. or D.S.
    #[arg(long)]
    repeats_after_jump: bool,
    #[command(flatten)]
    ornaments: OrnamentArgs,
    /// The teacher's own rubric (README.md shows one) instead of the published ones
    #[arg(long, value_name = "FILE")]
    rubric: Option<PathBuf>,
    /// How to tell it: words for the terminal, or JSON
    #[arg(long = "as", value_enum, default_value_t = As::Text, value_name = "FORM")]
    form: As,
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

/// Hears a take and tells it.
///
/// # Errors
/// Whatever the desk says.
pub(crate) fn run(args: &TakeArgs) -> Result<(), DeskError> {
    let opened = crate::piece::open(&args.piece, args.tune.as_deref())?;
    let asked = TakeAsked {
        asked: Asked {
            part: args.part.clone(),
            ..Asked::default()
        },
        written_for: written_for(args.written_for.as_deref()),
        repeats_after_jump: args.repeats_after_jump,
        ornaments: args.ornaments.asked(),
        a4: args.a4,
        just: args.just,
        rubric: args.rubric.clone(),
    };
    let taken = desk::take(&opened, &args.recording, &asked)?;
    match args.form {
        As::Json => write_out(&taken.json()),
        As::Text => {
            write_out(&taken.text(columns(args)))?;
            say_findings(&taken.findings);
            Ok(())
        }
    }
}

fn written_for(name: Option<&str>) -> For {
    match name {
        None => For::Itself,
        Some(name) if name.eq_ignore_ascii_case("concert") => For::Concert,
        Some(name) => For::Instrument(name.to_owned()),
    }
}

fn columns(args: &TakeArgs) -> usize {
    let window = terminal_size::terminal_size().map(|(width, _)| usize::from(width.0));
    args.width
        .or(window.filter(|_| std::io::stdout().is_terminal()))
        .unwrap_or(80)
        .max(40)
}
