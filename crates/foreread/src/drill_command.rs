//! `foreread drill`: what to practise, made from the piece: listed, or written as notation, sound or pages.

use crate::output::{say, say_findings, stream_out, write_out};
use crate::paper::PaperName;
use crate::piece::PieceArgs;
use crate::player::PlayerArgs;
use clap::{Args, ValueEnum};
use desk::{Asked, DeskError, DrillAsked, DrillPages, DrillPick, For};
use std::io::IsTerminal;
use std::path::PathBuf;

/// Which drills, for whom, where to.
#[derive(Debug, Args)]
pub(crate) struct DrillArgs {
    #[command(flatten)]
    piece: PieceArgs,
    #[command(flatten)]
    player: PlayerArgs,
    /// Drills for this trouble spot, by its rank: 1 is the worst
    #[arg(long, value_name = "NUMBER", conflicts_with_all = ["bars", "scales", "alike"])]
    spot: Option<usize>,
    /// Drills for these bars, by their printed numbers: 5-8
    #[arg(long, value_name = "BARS", conflicts_with_all = ["scales", "alike"])]
    bars: Option<String>,
    /// Scales and broken chords in the piece's keys, over the player's range
    #[arg(long, conflicts_with = "alike")]
    scales: bool,
    /// Bars that look alike, back to back
    #[arg(long)]
    alike: bool,
    /// Only this kind of drill; several with commas (dotted,half-speed)
    #[arg(long, value_name = "KIND")]
    kind: Vec<String>,
    /// In what order a figure goes through the keys
    #[arg(long, value_enum, default_value_t = ThroughName::Fourths, value_name = "ORDER")]
    through: ThroughName,
    /// The drills of one sitting: the piece's own scale, the worst spots, two look-alikes
    #[arg(long, conflicts_with_all = ["spot", "bars", "scales", "alike", "list"])]
    all: bool,
    /// List what is offered, whatever else is asked (as without --to)
    #[arg(long, conflicts_with = "to")]
    list: bool,
    /// Write the drills to this file: .musicxml, .mxl, .mei, .mid, .wav, .flac, .pdf, .svg or .png
    #[arg(long, value_name = "FILE")]
    to: Option<PathBuf>,
    /// How to list them: words for the terminal, or JSON
    #[arg(long = "as", value_enum, default_value_t = As::Text, value_name = "FORM")]
    form: As,
    /// Columns of the list, instead of the terminal's own
    #[arg(long, value_name = "COLUMNS")]
    width: Option<usize>,
    /// Write them for another instrument (sounding the same), by its name: clarinet-bb, "alto saxophone"
    #[arg(long = "for", value_name = "INSTRUMENT")]
    written_for: Option<String>,
    /// The paper
    #[arg(long, value_enum, default_value_t = PaperName::A4, value_name = "PAPER")]
    paper: PaperName,
    /// The height of a staff, in millimetres
    #[arg(long, value_name = "MM")]
    staff: Option<f64>,
    /// Dots an inch of a .png
    #[arg(long, default_value_t = 150.0, value_name = "NUMBER")]
    dpi: f64,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum ThroughName {
    /// A fourth up each time
    Fourths,
    /// A semitone up each time
    Semitones,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum As {
    /// Words for the terminal
    Text,
    /// JSON by the schema in docs/
    Json,
}

/// Lists the drills, or writes them.
///
/// # Errors
/// Whatever the desk says.
pub(crate) fn run(args: &DrillArgs) -> Result<(), DeskError> {
    if let Some(to) = &args.to {
        desk::not_over_itself(&args.piece.piece, to)?;
        desk::drill_form(to)?;
        if pick(args) == DrillPick::Everything {
            return Err(DeskError::Player {
                what: "it is not said which drills to write".to_owned(),
                advice: "choose with --spot, --bars, --scales or --alike, or take --all for one sitting's"
                    .to_owned(),
            });
        }
    }
    let opened = args.piece.open()?;
    let drills = desk::drills(&opened, &asked(args))?;
    let Some(to) = &args.to else {
        say_findings(&drills.alone.findings);
        return match args.form {
            As::Text => write_out(&drills.text(columns(args))),
            As::Json => stream_out(|out| desk::write_drills_json(&drills, out)),
        };
    };
    let pages = DrillPages {
        paper: args.paper.paper(),
        staff_mm: args.staff,
        dots_per_inch: args.dpi,
    };
    let (files, findings) = desk::write_drills(&drills, to, &pages)?;
    say_findings(&drills.alone.findings);
    say_findings(&findings);
    for file in files {
        say(&format!("written: {}", file.display()));
    }
    Ok(())
}

/// The terminal's own columns; eighty in a pipe.
fn columns(args: &DrillArgs) -> usize {
    let person = std::io::stdout().is_terminal();
    let window = terminal_size::terminal_size().map(|(width, _)| usize::from(width.0));
    args.width.or(window.filter(|_| person)).unwrap_or(80)
}

fn pick(args: &DrillArgs) -> DrillPick {
    match (args.spot, &args.bars) {
        (Some(number), _) => DrillPick::Spot(number),
        (None, Some(bars)) => DrillPick::Bars(bars.clone()),
        _ if args.scales => DrillPick::Scales,
        _ if args.alike => DrillPick::LookAlikes,
        _ if args.all => DrillPick::Sitting,
        _ => DrillPick::Everything,
    }
}

fn asked(args: &DrillArgs) -> DrillAsked {
    DrillAsked {
        asked: Asked {
            part: args.piece.part.clone(),
            player: args.player.asked(),
            ..Asked::default()
        },
        written_for: args.written_for.clone().map_or(For::Itself, For::Instrument),
        pick: pick(args),
        kinds: args.kind.clone(),
        by_semitones: args.through == ThroughName::Semitones,
    }
}
