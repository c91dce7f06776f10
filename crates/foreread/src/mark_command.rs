//! `foreread mark`: the part on paper, with a teacher's pencil marks or without.

use crate::ornaments::OrnamentArgs;
use crate::output::{say, say_findings};
use crate::paper::PaperName;
use crate::piece::PieceArgs;
use crate::player::PlayerArgs;
use clap::{Args, ValueEnum};
use desk::{Asked, CopyAsked, DeskError, Edition, For, Printer};
use std::path::PathBuf;

/// Which copy, for whom, on which paper.
#[derive(Debug, Args)]
pub(crate) struct MarkArgs {
    #[command(flatten)]
    piece: PieceArgs,
    #[command(flatten)]
    player: PlayerArgs,
    /// The file to write: .pdf holds all pages; .svg and .png hold one page each
    #[arg(long, value_name = "FILE")]
    to: PathBuf,
    /// What the copy is for
    #[arg(long, value_enum, default_value_t = EditionName::Practice, value_name = "EDITION")]
    edition: EditionName,
    /// The teacher's own legend (legend.toml: which marks, which pencil and sign, how many a page)
    #[arg(long, value_name = "FILE")]
    legend: Option<PathBuf>,
    /// Print what the signs mean at the end of the part
    #[arg(long)]
    legend_block: bool,
    /// At most this many marks on a page, the most valuable first, instead of the legend's number
    #[arg(long, value_name = "NUMBER")]
    most: Option<u32>,
    /// Write the part for another instrument (sounding the same), by its name: clarinet-bb, "alto saxophone"
    #[arg(long = "for", value_name = "INSTRUMENT", conflicts_with = "concert")]
    written_for: Option<String>,
    /// Write the part as it sounds
    #[arg(long)]
    concert: bool,
    /// Write every ornament out in small notes over its place (so does --period, --choose or --choices)
    #[arg(long)]
    ornaments: bool,
    #[command(flatten)]
    ornament_rules: OrnamentArgs,
    /// The paper
    #[arg(long, value_enum, default_value_t = PaperName::A4, value_name = "PAPER")]
    paper: PaperName,
    /// The long side across (usual for large print)
    #[arg(long, overrides_with = "portrait")]
    landscape: bool,
    /// The long side upright
    #[arg(long)]
    portrait: bool,
    /// The height of a staff, in millimetres, instead of the edition's own (7; large print 14)
    #[arg(long, value_name = "MM")]
    staff: Option<f64>,
    /// The pages are printed on both sides, the first on the right: only every second turn has to be turned
    #[arg(long)]
    double_sided: bool,
    /// Dots an inch of a .png
    #[arg(long, default_value_t = 150.0, value_name = "NUMBER")]
    dpi: f64,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum EditionName {
    /// With pencil marks
    Practice,
    /// Without marks
    Clean,
    /// Large staves, thicker lines, small signs enlarged more
    Large,
    /// White space between phrases, for a first reading
    Spaced,
    /// Only the trouble spots, with room to write
    Strip,
}

impl EditionName {
    const fn edition(self) -> Edition {
        match self {
            Self::Practice => Edition::Practice,
            Self::Clean => Edition::Clean,
            Self::Large => Edition::LargePrint,
            Self::Spaced => Edition::Spaced,
            Self::Strip => Edition::Strip,
        }
    }
}

/// Prints the part.
///
/// # Errors
/// Whatever the desk says.
pub(crate) fn run(args: &MarkArgs) -> Result<(), DeskError> {
    desk::not_over_itself(&args.piece.piece, &args.to)?;
    desk::Form::of(&args.to)?;
    let opened = args.piece.open()?;
    let mut printer = Printer::find()?;
    let copy = desk::copy(&opened, &asked(args), &mut printer)?;
    let written = desk::write_copy(&copy, &args.to, args.dpi, &mut printer)?;
    say_findings(&copy.findings);
    for file in &written.files {
        say(&format!("written: {}", file.display()));
    }
    Ok(())
}

fn asked(args: &MarkArgs) -> CopyAsked {
    CopyAsked {
        foot: Vec::new(),
        asked: Asked {
            part: args.piece.part.clone(),
            player: args.player.asked(),
            ..Asked::default()
        },
        edition: args.edition.edition(),
        paper: args.paper.paper(),
        landscape: match (args.landscape, args.portrait) {
            (true, _) => Some(true),
            (_, true) => Some(false),
            _ => None,
        },
        staff_mm: args.staff,
        legend: args.legend.clone(),
        legend_block: args.legend_block,
        most_marks: args.most,
        added: Vec::new(),
        erased: Vec::new(),
        confirmed: Vec::new(),
        ornaments: (args.ornaments || args.ornament_rules.any()).then(|| args.ornament_rules.asked()),
        double_sided: args.double_sided,
        written_for: match &args.written_for {
            Some(instrument) => For::Instrument(instrument.clone()),
            None if args.concert => For::Concert,
            None => For::Itself,
        },
    }
}
