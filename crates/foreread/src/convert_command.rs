//! `foreread convert PIECE FILE`: the same piece in another standard.

use crate::output::say_findings;
use crate::piece::PieceArgs;
use clap::Args;
use desk::{ConvertAsked, DeskError, Target, WholeFile};
use std::path::PathBuf;

/// What `foreread convert` can be told.
#[derive(Debug, Args)]
pub(crate) struct ConvertArgs {
    #[command(flatten)]
    piece: PieceArgs,
    /// The file to write; its ending says in which standard: .musicxml, .xml, .mxl, .mei, .mid or .midi
    #[arg(value_name = "FILE")]
    to: PathBuf,
    /// For MIDI: every bar once as it is written, instead of in the order in which the bars are played
    #[arg(long)]
    as_written: bool,
    /// For MIDI: take the repeats again after a D.C. or D.S.
    #[arg(long)]
    repeats_after_jump: bool,
}

/// Does it.
///
/// # Errors
/// Whatever the desk says.
pub(crate) fn run(args: &ConvertArgs) -> Result<(), DeskError> {
    let target = Target::of(&args.to)?;
    desk::not_over_itself(&args.piece.piece, &args.to)?;
    let opened = args.piece.open()?;
    let asked = ConvertAsked {
        part: args.piece.part.clone(),
        as_written: args.as_written,
        repeats_after_jump: args.repeats_after_jump,
    };
    let converted = desk::convert(&opened, target, &asked)?;
    WholeFile::write(&args.to, &converted.bytes)?;
    say_findings(&converted.findings);
    Ok(())
}
