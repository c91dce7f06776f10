//! `foreread scan`: printed pages into a MusicXML file, with how sure it is and where to look.

use crate::output::{say, say_findings, write_out};
use clap::Args;
use desk::{DeskError, Printer, WholeFile};
use std::path::PathBuf;

/// What `foreread scan` can be told.
#[derive(Debug, Args)]
pub(crate) struct ScanArgs {
    /// The pages of one part, in order: pictures (PNG, JPEG, TIFF) or PDF files of several pages
    #[arg(value_name = "PAGES", required = true)]
    pages: Vec<PathBuf>,
    /// The MusicXML file to write; without it, it goes to standard output
    #[arg(long, value_name = "FILE")]
    to: Option<PathBuf>,
}

/// Does it.
///
/// # Errors
/// Whatever the desk says.
pub(crate) fn run(args: &ScanArgs) -> Result<(), DeskError> {
    if let Some(to) = &args.to {
        for page in &args.pages {
            desk::not_over_itself(page, to)?;
        }
    }
    let scanned = desk::scan(&args.pages, &mut Printer::find()?)?;
    let read = &scanned.read;
    let (text, lost) = desk::musicxml(&read.piece);
    match &args.to {
        Some(to) => WholeFile::write(to, text.as_bytes())?,
        None => write_out(&text)?,
    }
    say(&format!(
        "{} on {}: {} signs, {} of them doubtful; {} printed bars, {}",
        counted(scanned.systems, "system"),
        counted(scanned.pages, "page"),
        read.signs,
        read.doubtful,
        read.bars,
        match read.bars_off {
            0 => "all of which add up".to_owned(),
            1 => "1 of which does not add up".to_owned(),
            n => format!("{n} of which do not add up"),
        }
    ));
    say_findings(&read.findings);
    say_findings(&lost);
    say(
        "Printed music may be copied only as far as the law where you live allows it. The pages stay on this machine.",
    );
    Ok(())
}

fn counted(n: usize, what: &str) -> String {
    if n == 1 {
        format!("1 {what}")
    } else {
        format!("{n} {what}s")
    }
}
