//! `foreread scan`: printed pages into a MusicXML file, with how sure it is and where to look.

use crate::output::{say, say_findings, write_out};
use clap::{Args, ValueEnum};
use desk::{DeskError, Printer, WholeFile};
use notation::Finding;
use std::path::{Path, PathBuf};

/// What `foreread scan` can be told.
#[derive(Debug, Args)]
pub(crate) struct ScanArgs {
    /// The pages of one part, in order: pictures (PNG, JPEG, TIFF) or PDF files of several pages
    #[arg(value_name = "PAGES", required_unless_present = "check")]
    pages: Vec<PathBuf>,
    /// Say how much of your own test pages is read right: a folder of pages, each with its piece as MusicXML beside it by the same name
    /// (`foreread export` writes those of the app into test-pages)
    #[arg(long, value_name = "FOLDER", conflicts_with_all = ["pages", "to", "form", "most"])]
    check: Option<PathBuf>,
    /// The MusicXML file to write; without it, it goes to standard output
    #[arg(long, value_name = "FILE")]
    to: Option<PathBuf>,
    /// What standard output is told: the piece as MusicXML, or the whole reading as JSON
    #[arg(long = "as", value_enum, default_value_t = As::Musicxml, value_name = "FORM")]
    form: As,
    /// List so many places to look at
    #[arg(long, default_value_t = 40, value_name = "NUMBER")]
    most: usize,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum As {
    /// The piece
    Musicxml,
    /// Pages, systems, bars and signs with their places, confidence and other readings, by the schema in docs/
    Json,
}

/// Does it.
///
/// # Errors
/// Whatever the desk says.
pub(crate) fn run(args: &ScanArgs) -> Result<(), DeskError> {
    if let Some(folder) = &args.check {
        return check(folder);
    }
    if let Some(to) = &args.to {
        for page in &args.pages {
            desk::not_over_itself(page, to)?;
        }
    }
    let scanned = desk::scan(&args.pages, &mut Printer::find()?)?;
    let read = &scanned.read;
    let (text, lost) = desk::musicxml(&read.piece);
    if let Some(to) = &args.to {
        WholeFile::write(to, text.as_bytes())?;
    }
    match args.form {
        As::Json => write_out(&scanned.json())?,
        As::Musicxml if args.to.is_none() => write_out(&text)?,
        As::Musicxml => {}
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
    let places = scanned.where_to_look();
    if !places.is_empty() {
        say("Where to look, what matters most first:");
    }
    for place in places.iter().take(args.most) {
        say(&format!("  {place}"));
    }
    if places.len() > args.most {
        say(&format!(
            "  … and {} more (--most {})",
            places.len() - args.most,
            places.len()
        ));
    }
    // What stands among the places already is not said again.
    let rest: Vec<Finding> = read
        .findings
        .iter()
        .filter(|finding| !desk::is_a_place_to_look(finding.kind))
        .cloned()
        .collect();
    say_findings(&rest);
    say_findings(&lost);
    say(
        "Printed music may be copied only as far as the law where you live allows it. The pages stay on this machine.",
    );
    Ok(())
}

/// How much of the pages of a folder is read right.
fn check(folder: &Path) -> Result<(), DeskError> {
    let pages = desk::own_pages(folder, &mut Printer::find()?)?;
    let (mut signs, mut wrong, mut bars, mut right) = (0, 0, 0, 0);
    let (mut words, mut words_right) = (0, 0);
    let mut text = String::new();
    for page in &pages {
        let name = page
            .path
            .file_name()
            .map(|name| name.to_string_lossy().into_owned());
        text.push_str(&format!(
            "{}: {}, {}, {}{}\n",
            name.unwrap_or_default(),
            share("signs", page.signs.saturating_sub(page.signs_wrong), page.signs),
            share("bars", page.bars_right, page.bars),
            share("words", page.words_right, page.words),
            page.failed
                .as_ref()
                .map_or_else(String::new, |why| format!(" ({why})")),
        ));
        signs += page.signs;
        wrong += page.signs_wrong;
        bars += page.bars;
        right += page.bars_right;
        words += page.words;
        words_right += page.words_right;
    }
    text.push_str(&format!(
        "{}: {}, {}, {}\n",
        counted(pages.len(), "test page"),
        share("signs", signs.saturating_sub(wrong), signs),
        share("bars", right, bars),
        share("words", words_right, words),
    ));
    write_out(&text)
}

/// `811 of 820 signs right (98.9 %)`
#[expect(clippy::cast_precision_loss, reason = "a few thousand signs")]
fn share(what: &str, right: usize, all: usize) -> String {
    let part = if all == 0 {
        0.0
    } else {
        right as f64 / all as f64 * 100.0
    };
    format!("{right} of {all} {what} right ({part:.1} %)")
}

fn counted(n: usize, what: &str) -> String {
    if n == 1 {
        format!("1 {what}")
    } else {
        format!("{n} {what}s")
    }
}
