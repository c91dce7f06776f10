//! `foreread survey PIECE`: read, survey, show; a folder or a book of tunes as a table.

use crate::many;
use crate::output::{stream_out, write_out};
use crate::piece::PieceArgs;
use crate::player::PlayerArgs;
use clap::{Args, ValueEnum};
use desk::{Asked, DeskError, ManyAsked, Opened, Shown, TableForm, WholeFile};
use sheet::{BarWord, Terminal};
use std::io::IsTerminal;
use std::mem::ManuallyDrop;
use std::path::PathBuf;

/// What `foreread survey` can be told.
#[derive(Debug, Args)]
pub(crate) struct SurveyArgs {
    #[command(flatten)]
    piece: PieceArgs,
    /// How to answer: words for the terminal, JSON or one page that prints; or, for a whole folder or tunebook, every
    /// tune and part as lines of JSON or rows of a table (docs/survey-table.md)
    #[arg(long = "as", value_enum, default_value_t = As::Text, value_name = "FORM")]
    form: As,
    /// Write to this file instead of the terminal
    #[arg(long, value_name = "FILE")]
    to: Option<PathBuf>,
    /// Only these questions, separated by commas (key,range,metre,rhythm,terms,tempo,road-map,dynamics,accidentals,clefs,articulation,ornaments)
    #[arg(long, value_delimiter = ',', value_name = "LIST")]
    questions: Vec<String>,
    /// How to count aloud
    #[arg(long, value_enum, default_value_t = Counting::Numbers, value_name = "SYSTEM")]
    counting: Counting,
    /// The word for a bar
    #[arg(long, value_enum, default_value_t = Word::Bar, value_name = "WORD")]
    bar_word: Word,
    /// Take the repeats again after a D.C. or D.S. (the modern custom, and the default, is not to)
    #[arg(long)]
    repeats_after_jump: bool,
    #[command(flatten)]
    player: PlayerArgs,
    /// Columns of the text, instead of the terminal's own
    #[arg(long, value_name = "COLUMNS")]
    width: Option<usize>,
    /// How many threads survey a folder or a tunebook, instead of one for each core
    #[arg(long, value_name = "NUMBER")]
    threads: Option<std::num::NonZeroUsize>,
}

impl SurveyArgs {
    /// A survey that is told these, and all else as usual.
    pub(crate) const fn of(piece: PieceArgs, form: As, questions: Vec<String>, player: PlayerArgs) -> Self {
        Self {
            piece,
            form,
            to: None,
            questions,
            counting: Counting::Numbers,
            bar_word: Word::Bar,
            repeats_after_jump: false,
            player,
            width: None,
            threads: None,
        }
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum As {
    /// Words for the terminal
    Text,
    /// JSON by the schema in docs/
    Json,
    /// One self-contained page
    Html,
    /// A line of JSON for each tune and part
    Jsonl,
    /// A table for spreadsheets: a row for each tune and part
    Csv,
    /// The same table for statistics programs (Apache Parquet)
    #[cfg(feature = "tables")]
    Parquet,
}

impl As {
    /// The form of a table; `None` for what shows one piece.
    const fn table(self) -> Option<TableForm> {
        match self {
            Self::Text | Self::Json | Self::Html => None,
            Self::Jsonl => Some(TableForm::Jsonl),
            Self::Csv => Some(TableForm::Csv),
            #[cfg(feature = "tables")]
            Self::Parquet => Some(TableForm::Parquet),
        }
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Counting {
    /// 1 & 2 &, 1 e & a
    Numbers,
    /// ta, ti-ti
    Kodaly,
    /// ta di, ta ka di mi
    Takadimi,
    /// du de, du ta de ta
    Gordon,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Word {
    /// bar
    Bar,
    /// measure
    Measure,
}

impl Word {
    pub(crate) const fn said(self) -> BarWord {
        match self {
            Self::Bar => BarWord::Bar,
            Self::Measure => BarWord::Measure,
        }
    }
}

/// Does it.
///
/// # Errors
/// Whatever the desk says.
pub(crate) fn run(args: &SurveyArgs) -> Result<(), DeskError> {
    if let Some(to) = &args.to {
        desk::not_over_itself(&args.piece.piece, to)?;
    }
    if let Some(form) = args.form.table() {
        let asked = ManyAsked {
            asked: asked(args),
            tune: args.piece.tune.clone(),
            form,
            threads: args
                .threads
                .or_else(|| std::thread::available_parallelism().ok())
                .map_or(1, std::num::NonZeroUsize::get),
        };
        return many::run(&args.piece, &asked, args.to.as_deref());
    }
    // The process ends with them: taking a score apart, note by note, would be for nobody.
    let opened = ManuallyDrop::new(args.piece.open()?);
    let shown = ManuallyDrop::new(desk::survey_piece(&opened, &asked(args))?);
    if args.form == As::Json {
        return match &args.to {
            Some(path) => {
                let mut file = WholeFile::create(path)?;
                desk::write_survey_json(&opened, &shown, &mut file).map_err(|source| {
                    DeskError::Unwritable {
                        path: path.clone(),
                        source,
                    }
                })?;
                file.finish()
            }
            None => stream_out(|out| desk::write_survey_json(&opened, &shown, out)),
        };
    }
    let text = show(args, &opened, &shown);
    match &args.to {
        Some(path) => WholeFile::write(path, text.as_bytes()),
        None => write_out(&text),
    }
}

fn asked(args: &SurveyArgs) -> Asked {
    let mut options = survey::Options {
        repeats_after_jump: args.repeats_after_jump,
        ..survey::Options::default()
    };
    options.tongue = args
        .player
        .tongue
        .filter(|notes| notes.is_finite() && *notes > 0.0);
    options.counting = match args.counting {
        Counting::Numbers => survey::CountingSystem::Numbers,
        Counting::Kodaly => survey::CountingSystem::Kodaly,
        Counting::Takadimi => survey::CountingSystem::Takadimi,
        Counting::Gordon => survey::CountingSystem::Gordon,
    };
    Asked {
        part: args.piece.part.clone(),
        questions: args.questions.clone(),
        options,
        player: args.player.asked(),
        ..Asked::default()
    }
}

fn show(args: &SurveyArgs, opened: &Opened, shown: &Shown) -> String {
    let bar_word = args.bar_word.said();
    match args.form {
        As::Html => sheet::html(&desk::survey_sheet(opened, shown), bar_word),
        As::Text => {
            let person = args.to.is_none() && std::io::stdout().is_terminal();
            let window = terminal_size::terminal_size().map(|(width, _)| usize::from(width.0));
            let width = args.width.or(window.filter(|_| person)).unwrap_or(80);
            let styled = person && std::env::var_os("NO_COLOR").is_none();
            sheet::terminal(
                &desk::survey_sheet(opened, shown),
                Terminal {
                    width,
                    styled,
                    bar_word,
                },
            )
        }
        _ => desk::survey_json(opened, shown),
    }
}
