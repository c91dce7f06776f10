//! `foreread sheet` and `foreread card`: what to hand out, and what to look at in an audition's study minute.

use crate::output::{say, say_findings, write_out};
use crate::paper::PaperName;
use crate::piece::PieceArgs;
use crate::player::PlayerArgs;
use clap::{Args, ValueEnum};
use desk::{Asked, CopyAsked, DeskError, LookAsked, LookTime, PrepAsked, Printer, WholeFile};
use sheet::StudyTime;
use std::io::IsTerminal;
use std::path::{Path, PathBuf};

/// What both are told.
#[derive(Debug, Args)]
pub(crate) struct Common {
    #[command(flatten)]
    piece: PieceArgs,
    #[command(flatten)]
    player: PlayerArgs,
    /// The teacher's own legend for the marks on the excerpts
    #[arg(long, value_name = "FILE")]
    legend: Option<PathBuf>,
    /// The paper
    #[arg(long, value_enum, default_value_t = PaperName::A4, value_name = "PAPER")]
    paper: PaperName,
    /// The word for a bar
    #[arg(long, value_enum, default_value_t = crate::survey_command::Word::Bar, value_name = "WORD")]
    bar_word: crate::survey_command::Word,
    /// For whom it is, as it is to be printed
    #[arg(long, value_name = "NAME")]
    name: Option<String>,
    /// The date, as it is to be printed
    #[arg(long, value_name = "DATE")]
    date: Option<String>,
}

/// One or two pages to hand out.
#[derive(Debug, Args)]
pub(crate) struct SheetArgs {
    #[command(flatten)]
    common: Common,
    /// What to write, where the file's ending doesn't say: a PDF or one self-contained page
    #[arg(long = "as", value_enum, value_name = "FORM")]
    form: Option<SheetAs>,
    /// The file to write: .pdf or .html
    #[arg(long, value_name = "FILE")]
    to: PathBuf,
}

/// The study minute.
#[derive(Debug, Args)]
pub(crate) struct CardArgs {
    #[command(flatten)]
    common: Common,
    /// How many seconds there are; both if it is left out of a printed card
    #[arg(long, value_enum, value_name = "SECONDS")]
    seconds: Option<Seconds>,
    /// How to answer: words for the terminal, a PDF or one self-contained page; else as the file's ending says
    #[arg(long = "as", value_enum, value_name = "FORM")]
    form: Option<CardAs>,
    /// Write to this file instead of the terminal
    #[arg(long, value_name = "FILE")]
    to: Option<PathBuf>,
    /// Columns of the text, instead of the terminal's own
    #[arg(long, value_name = "COLUMNS")]
    width: Option<usize>,
}

/// The twelve questions to be answered before playing, and what there is to see.
#[derive(Debug, Args)]
pub(crate) struct LookArgs {
    #[command(flatten)]
    common: Common,
    /// How long there is: the order is that of the time
    #[arg(long, value_enum, default_value_t = Clock::Sixty, value_name = "SECONDS")]
    seconds: Clock,
    /// Another number draws other choices
    #[arg(long, default_value_t = 1, value_name = "NUMBER")]
    draw: u32,
    /// Write a page to print to this file (.pdf) instead of words to the terminal
    #[arg(long, value_name = "FILE")]
    to: Option<PathBuf>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Clock {
    /// Half a minute
    #[value(name = "30")]
    Thirty,
    /// A minute
    #[value(name = "60")]
    Sixty,
    /// No clock
    Free,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum SheetAs {
    /// One or two pages
    Pdf,
    /// One self-contained page
    Html,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum CardAs {
    /// Words for the terminal
    Text,
    /// A page to print
    Pdf,
    /// One self-contained page
    Html,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Seconds {
    /// Half a minute
    #[value(name = "30")]
    Thirty,
    /// A minute
    #[value(name = "60")]
    Sixty,
}

/// Writes the sheet.
///
/// # Errors
/// Whatever the desk says.
pub(crate) fn sheet(args: &SheetArgs) -> Result<(), DeskError> {
    desk::not_over_itself(&args.common.piece.piece, &args.to)?;
    let form = match (args.form, ending(&args.to).as_str()) {
        (Some(form), _) => form,
        (None, "pdf") => SheetAs::Pdf,
        (None, "html" | "htm") => SheetAs::Html,
        _ => return Err(not_written(&args.to, ".pdf, .html")),
    };
    let opened = args.common.piece.open()?;
    let asked = asked(&args.common);
    let mut printer = Printer::find()?;
    let findings = match form {
        SheetAs::Pdf => {
            let made = desk::prep_pdf(&opened, &asked, &mut printer)?;
            WholeFile::write(&args.to, &made.document)?;
            made.findings
        }
        SheetAs::Html => {
            let made = desk::prep_html(&opened, &asked, &mut printer)?;
            WholeFile::write(&args.to, made.document.as_bytes())?;
            made.findings
        }
    };
    say_findings(&findings);
    say(&format!("written: {}", args.to.display()));
    Ok(())
}

/// Shows or writes the card.
///
/// # Errors
/// Whatever the desk says.
pub(crate) fn card(args: &CardArgs) -> Result<(), DeskError> {
    let form = match (args.form, args.to.as_deref().map(ending).as_deref()) {
        (Some(form), _) => form,
        (None, None | Some("txt")) => CardAs::Text,
        (None, Some("pdf")) => CardAs::Pdf,
        (None, Some("html" | "htm")) => CardAs::Html,
        (None, Some(_)) => {
            return Err(not_written(
                args.to.as_deref().unwrap_or(Path::new("")),
                ".txt, .pdf, .html",
            ));
        }
    };
    if let Some(to) = &args.to {
        desk::not_over_itself(&args.common.piece.piece, to)?;
    } else if form == CardAs::Pdf {
        return Err(DeskError::NotForTheEyes);
    }
    let opened = args.common.piece.open()?;
    let asked = asked(&args.common);
    let times: &[StudyTime] = match args.seconds {
        Some(Seconds::Thirty) => &[StudyTime::Thirty],
        Some(Seconds::Sixty) => &[StudyTime::Sixty],
        None => &[StudyTime::Sixty, StudyTime::Thirty],
    };
    let (bytes, findings) = match form {
        CardAs::Text => {
            let made = desk::card_text(&opened, &asked, times, terminal(args))?;
            (made.document.into_bytes(), made.findings)
        }
        CardAs::Html => {
            let made = desk::card_html(&opened, &asked, times, &mut Printer::find()?)?;
            (made.document.into_bytes(), made.findings)
        }
        CardAs::Pdf => {
            let made = desk::card_pdf(&opened, &asked, times, &mut Printer::find()?)?;
            (made.document, made.findings)
        }
    };
    match &args.to {
        Some(path) => WholeFile::write(path, &bytes)?,
        None => write_out(&String::from_utf8_lossy(&bytes))?,
    }
    say_findings(&findings);
    Ok(())
}

/// Shows or writes the questions of looking first.
///
/// # Errors
/// Whatever the desk says.
pub(crate) fn look(args: &LookArgs) -> Result<(), DeskError> {
    if let Some(to) = &args.to {
        if ending(to) != "pdf" {
            return Err(not_written(to, ".pdf"));
        }
        desk::not_over_itself(&args.common.piece.piece, to)?;
    }
    let opened = args.common.piece.open()?;
    let asked = LookAsked {
        prep: asked(&args.common),
        time: match args.seconds {
            Clock::Thirty => LookTime::Thirty,
            Clock::Sixty => LookTime::Sixty,
            Clock::Free => LookTime::Free,
        },
        seed: u64::from(args.draw),
    };
    let findings = match &args.to {
        Some(to) => {
            let made = desk::look_pdf(&opened, &asked, &mut Printer::find()?)?;
            WholeFile::write(to, &made.document)?;
            say(&format!("written: {}", to.display()));
            made.findings
        }
        None => {
            let made = desk::look_text(&opened, &asked)?;
            write_out(&made.document)?;
            made.findings
        }
    };
    say_findings(&findings);
    Ok(())
}

fn asked(common: &Common) -> PrepAsked {
    PrepAsked {
        copy: CopyAsked {
            asked: Asked {
                part: common.piece.part.clone(),
                player: common.player.asked(),
                ..Asked::default()
            },
            paper: common.paper.paper(),
            legend: common.legend.clone(),
            ..CopyAsked::default()
        },
        handed: sheet::Handed {
            player: common.name.clone().unwrap_or_default(),
            date: common.date.clone().unwrap_or_default(),
        },
        bar_word: common.bar_word.said(),
    }
}

fn terminal(args: &CardArgs) -> sheet::Terminal {
    let person = args.to.is_none() && std::io::stdout().is_terminal();
    let window = terminal_size::terminal_size().map(|(width, _)| usize::from(width.0));
    sheet::Terminal {
        width: args.width.or(window.filter(|_| person)).unwrap_or(80),
        styled: person && std::env::var_os("NO_COLOR").is_none(),
        bar_word: args.common.bar_word.said(),
    }
}

fn ending(path: &Path) -> String {
    path.extension()
        .map(|ending| ending.to_string_lossy().to_ascii_lowercase())
        .unwrap_or_default()
}

fn not_written(path: &Path, known: &str) -> DeskError {
    let ending = ending(path);
    DeskError::NotWritten {
        path: path.to_path_buf(),
        ending: if ending.is_empty() {
            "a file without an ending".to_owned()
        } else {
            format!(".{ending}")
        },
        known: known.to_owned(),
    }
}
