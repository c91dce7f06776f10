//! `foreread take`: a recording laid against the piece: what was played, where it broke, what to work on.

use crate::ornaments::OrnamentArgs;
use crate::output::{say, say_findings, write_out};
use clap::{Args, ValueEnum};
use desk::{Asked, DeskError, For, LogAsked, Opened, Printer, TakeAsked, Taken};
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
    /// Say, too, how it stands beside an earlier take: what `--as json` wrote for that
    #[arg(long, value_name = "FILE")]
    earlier: Option<PathBuf>,
    /// Print the part with what was heard pencilled in (.pdf, .svg, .png); needs the press
    #[arg(long, value_name = "FILE")]
    to: Option<PathBuf>,
    /// Write the bars down in the log of practice beside the piece: clean at their tempo, or not yet; the plan goes by it
    #[arg(long)]
    log: bool,
    /// The log, instead of the one beside the piece
    #[arg(long, value_name = "FILE", requires = "log")]
    log_file: Option<PathBuf>,
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
    for to in args.to.iter().chain(&args.log_file) {
        desk::not_over_itself(&args.piece, to)?;
        desk::not_over_itself(&args.recording, to)?;
    }
    if let Some(to) = &args.to {
        desk::Form::of(to)?;
    }
    let earlier = args.earlier.as_deref().map(desk::earlier_take).transpose()?;
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
        As::Json => write_out(&taken.json())?,
        As::Text => {
            write_out(&taken.text(columns(args)))?;
            if let Some(earlier) = &earlier {
                let beside = taken.beside(earlier);
                write_out(&format!(
                    "\nBeside {}\n  {}\n",
                    beside.earlier,
                    beside.says.join("\n  ")
                ))?;
            }
            say_findings(&taken.findings);
        }
    }
    if let Some(to) = &args.to {
        let mut printer = Printer::find()?;
        let copy = desk::copy(&opened, &taken.copy_asked(&asked), &mut printer)?;
        for file in desk::write_copy(&copy, to, 150.0, &mut printer)?.files {
            say(&format!("written: {}", file.display()));
        }
    }
    if args.log {
        log(args, &opened, &taken)?;
    }
    Ok(())
}

/// Writes the take's bars down.
fn log(args: &TakeArgs, opened: &Opened, taken: &Taken) -> Result<(), DeskError> {
    let visits = taken.visits(None);
    for visit in &visits {
        let asked = LogAsked {
            part: args.part.clone(),
            log: args.log_file.clone(),
            ..visit.clone()
        };
        desk::log_visit(opened, &asked)?;
    }
    say(&match visits.len() {
        0 => "nothing was written into the log: too little was heard".to_owned(),
        1 => "one visit was written into the log".to_owned(),
        many => format!("{many} visits were written into the log"),
    });
    Ok(())
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
