//! `foreread plan`: what to do on which day, from today to the date.

use crate::output::{say, say_findings, write_out};
use crate::paper::PaperName;
use crate::player::PlayerArgs;
use clap::{Args, ValueEnum};
use desk::{Asked, CopyAsked, DeskError, PlanAsked, Planned, Printer, Stretch, StudyAsked, WholeFile};
use std::io::IsTerminal;
use std::path::{Path, PathBuf};

/// From the first reading to the date.
#[derive(Debug, Args)]
pub(crate) struct PlanArgs {
    /// The piece, or several: files in MusicXML, MEI, ABC, Humdrum kern or MIDI
    #[arg(required_unless_present = "call", value_name = "PIECE")]
    pieces: Vec<PathBuf>,
    /// Instead of pieces what a call asks for (the file of foreread call): its cuts with their errata, each at its tempo, to its date
    #[arg(long, value_name = "FILE", conflicts_with_all = ["pieces", "tune", "part", "bars", "to_tempo"])]
    call: Option<PathBuf>,
    /// The tune of a tunebook, by its number (the X: line in ABC)
    #[arg(long, value_name = "NUMBER")]
    tune: Option<String>,
    /// The part, by its name or its number from 1
    #[arg(long, value_name = "NAME|NUMBER")]
    part: Option<String>,
    #[command(flatten)]
    player: PlayerArgs,
    /// The date: year, month, day (2027-02-13); a call's own if it is left out
    #[arg(long, value_name = "DATE", required_unless_present = "call")]
    until: Option<String>,
    /// What the date is for: a recital if nothing is said, an audition for a call
    #[arg(long, value_enum, value_name = "WHAT")]
    for_what: Option<ForWhat>,
    /// Minutes a day, rests included
    #[arg(long, default_value_t = 30, value_name = "MINUTES")]
    minutes: u32,
    /// Days off: days of the week, days, stretches of days (sun,2026-12-24..2026-12-26); without any, one day a week is kept free
    #[arg(long, value_name = "DAYS", allow_hyphen_values = true)]
    off: Vec<String>,
    /// Only these bars, by their printed numbers (5-24); can be said again for further cuts
    #[arg(long, value_name = "FROM-TO", allow_hyphen_values = true)]
    bars: Vec<String>,
    /// It is to be played from memory
    #[arg(long)]
    from_memory: bool,
    /// How to climb: straight, up-three-down-two, up-two-down-one, slow-and-full or every-second-mark
    #[arg(long, value_name = "SCHEME")]
    scheme: Option<String>,
    /// Climb from this tempo, in felt beats a minute, instead of the proposed first one
    #[arg(long, value_name = "BPM")]
    from_tempo: Option<f64>,
    /// Climb to this tempo, in felt beats a minute, instead of the marked one
    #[arg(long, value_name = "BPM")]
    to_tempo: Option<f64>,
    /// The practice log that foreread log writes, instead of the one beside each piece
    #[arg(long, value_name = "FILE")]
    log: Option<PathBuf>,
    /// Plan as if it were this day, instead of today
    #[arg(long, value_name = "DATE")]
    today: Option<String>,
    /// How to answer: words, JSON (all days), a calendar file (all days), or a hand-out for a week; else as the file's ending says
    #[arg(long = "as", value_enum, value_name = "FORM")]
    form: Option<As>,
    /// Show this one day, with what to do and when to stop
    #[arg(long, value_name = "DATE", conflicts_with = "week")]
    day: Option<String>,
    /// Show seven days from this one
    #[arg(long, value_name = "DATE")]
    week: Option<String>,
    /// When in the day the sittings are, for the calendar (17:30); whole days without it
    #[arg(long, value_name = "TIME")]
    at: Option<String>,
    /// Write to this file instead of the terminal: .txt, .json, .ics, .pdf, .html
    #[arg(long, value_name = "FILE")]
    to: Option<PathBuf>,
    /// The paper
    #[arg(long, value_enum, default_value_t = PaperName::A4, value_name = "PAPER")]
    paper: PaperName,
    /// The word for a bar
    #[arg(long, value_enum, default_value_t = crate::survey_command::Word::Bar, value_name = "WORD")]
    bar_word: crate::survey_command::Word,
    /// For whom it is, as it is to be printed
    #[arg(long, value_name = "NAME")]
    name: Option<String>,
    /// Columns of the text, instead of the terminal's own
    #[arg(long, value_name = "COLUMNS")]
    width: Option<usize>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum ForWhat {
    /// The first lesson on it
    FirstLesson,
    /// An audition
    Audition,
    /// A recital or concert
    Recital,
}

impl ForWhat {
    const fn id(self) -> &'static str {
        match self {
            Self::FirstLesson => "first-lesson",
            Self::Audition => "audition",
            Self::Recital => "recital",
        }
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum As {
    /// Words for the terminal
    Text,
    /// JSON by the schema in docs/
    Json,
    /// A calendar file (iCalendar)
    Ics,
    /// A page to print
    Pdf,
    /// One self-contained page
    Html,
}

/// Makes and shows the plan.
///
/// # Errors
/// Whatever the desk says.
pub(crate) fn run(args: &PlanArgs) -> Result<(), DeskError> {
    let form = form(args)?;
    if let Some(to) = &args.to {
        for read in args.pieces.iter().chain(&args.log).chain(&args.call) {
            desk::not_over_itself(read, to)?;
        }
    } else if form == As::Pdf {
        return Err(DeskError::NotForTheEyes);
    }
    let planned = planned(args)?;
    let bytes = written(args, form, &planned)?;
    match &args.to {
        Some(path) => {
            WholeFile::write(path, &bytes)?;
            say_findings(&planned.findings);
            say(&format!("written: {}", path.display()));
        }
        None => {
            write_out(&String::from_utf8_lossy(&bytes))?;
            // JSON carries them itself.
            if form != As::Json {
                say_findings(&planned.findings);
            }
        }
    }
    Ok(())
}

fn planned(args: &PlanArgs) -> Result<Planned, DeskError> {
    let Some(call) = &args.call else {
        let opened = args
            .pieces
            .iter()
            .map(|piece| crate::piece::open(piece, args.tune.as_deref()))
            .collect::<Result<Vec<_>, _>>()?;
        return desk::plan(&opened, &asked(args, ForWhat::Recital));
    };
    let call = desk::open_call(call)?;
    for piece in call.pieces.iter().filter_map(|piece| piece.corrected.as_ref()) {
        if let Some(to) = &args.to {
            desk::not_over_itself(&piece.path, to)?;
        }
    }
    desk::plan_call(&call, &asked(args, ForWhat::Audition))
}

fn written(args: &PlanArgs, form: As, planned: &Planned) -> Result<Vec<u8>, DeskError> {
    Ok(match form {
        As::Text => planned.text(terminal(args)).into_bytes(),
        As::Json => planned.json().into_bytes(),
        As::Ics => planned.calendar().into_bytes(),
        As::Pdf => planned.pdf(&mut Printer::find()?)?,
        As::Html => planned.html(&mut Printer::find()?)?.into_bytes(),
    })
}

fn form(args: &PlanArgs) -> Result<As, DeskError> {
    let Some(to) = args.to.as_deref().filter(|_| args.form.is_none()) else {
        return Ok(args.form.unwrap_or(As::Text));
    };
    let ending = to
        .extension()
        .map(|ending| ending.to_string_lossy().to_ascii_lowercase())
        .unwrap_or_default();
    match ending.as_str() {
        "txt" => Ok(As::Text),
        "json" => Ok(As::Json),
        "ics" => Ok(As::Ics),
        "pdf" => Ok(As::Pdf),
        "html" | "htm" => Ok(As::Html),
        _ => Err(not_written(to, &ending)),
    }
}

fn not_written(path: &Path, ending: &str) -> DeskError {
    DeskError::NotWritten {
        path: path.to_path_buf(),
        ending: if ending.is_empty() {
            "a file without an ending".to_owned()
        } else {
            format!(".{ending}")
        },
        known: ".txt, .json, .ics, .pdf, .html".to_owned(),
    }
}

fn asked(args: &PlanArgs, usual: ForWhat) -> PlanAsked {
    let stretch = match (&args.day, &args.week) {
        (Some(day), _) => Stretch::Day(day.clone()),
        (None, Some(week)) => Stretch::Week(week.clone()),
        (None, None) => Stretch::Usual,
    };
    PlanAsked {
        copy: CopyAsked {
            asked: Asked {
                part: args.part.clone(),
                player: args.player.asked(),
                study: StudyAsked {
                    scheme: args.scheme.clone(),
                    from: args.from_tempo,
                    to: args.to_tempo,
                    ..StudyAsked::default()
                },
                ..Asked::default()
            },
            paper: args.paper.paper(),
            ..CopyAsked::default()
        },
        until: args.until.clone().unwrap_or_default(),
        today: args.today.clone(),
        for_what: Some(args.for_what.unwrap_or(usual).id().to_owned()),
        minutes: args.minutes,
        off: args.off.clone(),
        bars: args.bars.clone(),
        log: args.log.clone(),
        pieces: Vec::new(),
        from_memory: args.from_memory,
        stretch,
        at: args.at.clone(),
        handed: sheet::Handed {
            player: args.name.clone().unwrap_or_default(),
            date: String::new(),
        },
        bar_word: args.bar_word.said(),
    }
}

fn terminal(args: &PlanArgs) -> sheet::Terminal {
    let person = args.to.is_none() && std::io::stdout().is_terminal();
    let window = terminal_size::terminal_size().map(|(width, _)| usize::from(width.0));
    sheet::Terminal {
        width: args.width.or(window.filter(|_| person)).unwrap_or(80),
        styled: person && std::env::var_os("NO_COLOR").is_none(),
        bar_word: args.bar_word.said(),
    }
}
