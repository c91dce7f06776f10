//! `foreread spots`, `fingers`, `ladder`: one answer of the study at a time.

use crate::output::{stream_out, write_out};
use crate::piece::PieceArgs;
use crate::player::PlayerArgs;
use clap::{Args, ValueEnum};
use desk::{Asked, DeskError, Section, StudyAsked, WholeFile};
use std::io::IsTerminal;
use std::path::PathBuf;

/// What every one of these commands can be told.
#[derive(Debug, Args)]
pub(crate) struct Common {
    #[command(flatten)]
    piece: PieceArgs,
    #[command(flatten)]
    player: PlayerArgs,
    /// How to answer: words for the terminal, JSON or a page that prints
    #[arg(long = "as", value_enum, default_value_t = As::Text, value_name = "FORM")]
    form: As,
    /// Write to this file instead of the terminal
    #[arg(long, value_name = "FILE")]
    to: Option<PathBuf>,
    /// The word for a bar
    #[arg(long, value_enum, default_value_t = crate::survey_command::Word::Bar, value_name = "WORD")]
    bar_word: crate::survey_command::Word,
    /// Columns of the text, instead of the terminal's own
    #[arg(long, value_name = "COLUMNS")]
    width: Option<usize>,
}

/// Where it will go wrong, and what to do about it.
#[derive(Debug, Args)]
pub(crate) struct SpotsArgs {
    #[command(flatten)]
    common: Common,
}

/// Fingerings, positions or valves through the piece.
#[derive(Debug, Args)]
pub(crate) struct FingersArgs {
    #[command(flatten)]
    common: Common,
    /// The teacher's own choice at a note, kept whatever is proposed: bar, beat and the fingering's name (12:3=side)
    #[arg(long = "finger", value_name = "BAR:BEAT=FINGERING")]
    fingers: Vec<String>,
}

/// From the first reading to the marked tempo.
#[derive(Debug, Args)]
pub(crate) struct LadderArgs {
    #[command(flatten)]
    common: Common,
    /// How to climb: straight, up-three-down-two, up-two-down-one, slow-and-full or every-second-mark
    #[arg(long, value_name = "SCHEME")]
    scheme: Option<String>,
    /// Climb from this tempo, in felt beats a minute, instead of the proposed first one
    #[arg(long, value_name = "BPM")]
    from_tempo: Option<f64>,
    /// Climb to this tempo, in felt beats a minute, instead of the marked one
    #[arg(long, value_name = "BPM")]
    to_tempo: Option<f64>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum As {
    /// Words for the terminal
    Text,
    /// JSON by the schema in docs/
    Json,
    /// One self-contained page
    Html,
}

/// Shows the trouble spots.
///
/// # Errors
/// Whatever the desk says.
pub(crate) fn spots(args: &SpotsArgs) -> Result<(), DeskError> {
    show(&args.common, Section::Spots, StudyAsked::default())
}

/// Shows the fingerings.
///
/// # Errors
/// Whatever the desk says.
pub(crate) fn fingers(args: &FingersArgs) -> Result<(), DeskError> {
    let asked = StudyAsked {
        fingerings: args.fingers.clone(),
        ..StudyAsked::default()
    };
    show(&args.common, Section::Fingers, asked)
}

/// Shows the ladder.
///
/// # Errors
/// Whatever the desk says.
pub(crate) fn ladder(args: &LadderArgs) -> Result<(), DeskError> {
    let asked = StudyAsked {
        scheme: args.scheme.clone(),
        from: args.from_tempo,
        to: args.to_tempo,
        ..StudyAsked::default()
    };
    show(&args.common, Section::Ladder, asked)
}

fn show(common: &Common, section: Section, study: StudyAsked) -> Result<(), DeskError> {
    if let Some(to) = &common.to {
        desk::not_over_itself(&common.piece.piece, to)?;
    }
    let opened = common.piece.open()?;
    let asked = Asked {
        part: common.piece.part.clone(),
        player: common.player.asked(),
        study: StudyAsked {
            for_anybody: true,
            ..study
        },
        ..Asked::default()
    };
    let shown = desk::survey_piece(&opened, &asked)?;
    if common.form == As::Json {
        return match &common.to {
            Some(path) => {
                let mut file = WholeFile::create(path)?;
                desk::write_section_json(&opened, &shown, section, &mut file).map_err(|source| {
                    DeskError::Unwritable {
                        path: path.clone(),
                        source,
                    }
                })?;
                file.finish()
            }
            None => stream_out(|out| desk::write_section_json(&opened, &shown, section, out)),
        };
    }
    let bar_word = common.bar_word.said();
    let sheet = desk::section_sheet(&opened, &shown, section);
    let text = if common.form == As::Html {
        sheet::html(&sheet, bar_word)
    } else {
        let person = common.to.is_none() && std::io::stdout().is_terminal();
        let window = terminal_size::terminal_size().map(|(width, _)| usize::from(width.0));
        let terminal = sheet::Terminal {
            width: common.width.or(window.filter(|_| person)).unwrap_or(80),
            styled: person && std::env::var_os("NO_COLOR").is_none(),
            bar_word,
        };
        sheet::terminal(&sheet, terminal)
    };
    match &common.to {
        Some(path) => WholeFile::write(path, text.as_bytes()),
        None => write_out(&text),
    }
}
