//! `foreread play`: the part, or some bars, an ornament, a rhythm, heard at any tempo.

use crate::ornaments::OrnamentArgs;
use crate::output::{say, say_findings};
use crate::piece::PieceArgs;
use clap::Args;
use desk::{Asked, ClickAsked, DeskError, For, ListenAsked, Only, Voice};
use std::path::PathBuf;

/// What to hear, how fast, with what beside it.
#[derive(Debug, Args)]
pub(crate) struct PlayArgs {
    #[command(flatten)]
    piece: PieceArgs,
    /// The file to write: .wav, .flac or .mid; without one it goes to the sound card
    #[arg(long, value_name = "FILE")]
    to: Option<PathBuf>,
    /// How fast: felt beats a minute (60) or hundredths of what is marked (80%)
    #[arg(long, value_name = "BPM|%")]
    tempo: Option<String>,
    /// These bars only, by their printed numbers: 5-12
    #[arg(long, value_name = "BARS")]
    bars: Option<String>,
    /// How often they are played
    #[arg(long, default_value_t = 1, value_name = "TIMES")]
    times: u32,
    /// Bars counted in before each time, clicked even where nothing else is; before a pickup the missing beats come on top
    #[arg(long, default_value_t = 0, value_name = "BARS")]
    count_in: u32,
    /// Each bar once, last endings only
    #[arg(long)]
    straight: bool,
    /// Take the repeats again after a D.C. or D.S.
    #[arg(long)]
    repeats_after_jump: bool,
    /// So many semitones higher, or lower (-2)
    #[arg(
        long,
        default_value_t = 0,
        allow_negative_numbers = true,
        value_name = "SEMITONES"
    )]
    transpose: i32,
    #[command(flatten)]
    ornaments: OrnamentArgs,
    /// A click on the beats, the downbeats accented
    #[arg(long)]
    click: bool,
    /// The click alone
    #[arg(long)]
    click_only: bool,
    /// Each beat divided into so many clicks (2 to 8)
    #[arg(long, value_name = "NUMBER")]
    subdivide: Option<u8>,
    /// The click sounds for some bars and falls silent for some, in turn: 2,2
    #[arg(long, value_name = "BARS,BARS")]
    drop_out: Option<String>,
    /// A drone on the tonic; `follow` goes with the keys, a note (Bb) stays on that one
    #[arg(long, value_name = "TONIC", num_args = 0..=1, default_missing_value = "tonic")]
    drone: Option<String>,
    /// The drone with its fifth
    #[arg(long)]
    fifth: bool,
    /// The pitch of A, in hertz
    #[arg(long = "a", default_value_t = 440.0, value_name = "HERTZ")]
    a4: f64,
    /// Pure intervals over the tonic instead of equal ones
    #[arg(long)]
    just: bool,
    /// Play it with this SoundFont (.sf2); without one the SoundFont that is installed, if one is, else the program's own tone
    #[arg(long, value_name = "FILE")]
    soundfont: Option<PathBuf>,
    /// The program's own tone, whatever is installed
    #[arg(long, conflicts_with = "soundfont")]
    own_tone: bool,
    /// Only the note at this bar and beat, plain and then with its ornament: 12:3
    #[arg(long, value_name = "BAR:BEAT", conflicts_with_all = ["bars", "rhythm", "beside"])]
    ornament: Option<String>,
    /// Only the rhythm of the bars, on one note
    #[arg(long, requires = "bars", conflicts_with = "beside")]
    rhythm: bool,
    /// The bars, and then these, which resemble them: 41-42
    #[arg(long, requires = "bars", value_name = "BARS")]
    beside: Option<String>,
}

/// Plays, or writes the sound.
///
/// # Errors
/// Whatever the desk says.
pub(crate) fn run(args: &PlayArgs) -> Result<(), DeskError> {
    if let Some(to) = &args.to {
        desk::not_over_itself(&args.piece.piece, to)?;
        desk::SoundForm::of(to)?;
    }
    let opened = args.piece.open()?;
    let heard = desk::listen(&opened, &asked(args)?)?;
    say_findings(&heard.findings);
    if let Some(reminder) = desk::reminder(heard.seconds(), false) {
        say(reminder.words);
        for (level, longest) in reminder.table {
            say(&format!("  {level} dBA: at most {longest} a day"));
        }
        say(&format!("  ({})", reminder.source));
    }
    match &args.to {
        Some(path) => {
            desk::to_file(&heard, path)?;
            say(&format!("written: {} ({:.1} s)", path.display(), heard.seconds()));
            Ok(())
        }
        None => desk::to_card(&heard),
    }
}

fn asked(args: &PlayArgs) -> Result<ListenAsked, DeskError> {
    let wanted = args.click || args.click_only || args.subdivide.is_some() || args.drop_out.is_some();
    let drop_out = args.drop_out.as_deref().map(drop_out).transpose()?;
    Ok(ListenAsked {
        asked: Asked {
            part: args.piece.part.clone(),
            ..Asked::default()
        },
        written_for: For::Itself,
        tempo: args.tempo.clone(),
        bars: args.bars.clone(),
        bars_at: None,
        times: args.times,
        count_in: args.count_in,
        straight: args.straight,
        repeats_after_jump: args.repeats_after_jump,
        transpose: args.transpose,
        ornaments: args.ornaments.asked(),
        only: match (&args.ornament, args.rhythm, &args.beside) {
            (Some(at), ..) => Only::Ornament(at.clone()),
            (None, true, _) => Only::Rhythm,
            (None, false, Some(bars)) => Only::Beside(bars.clone()),
            _ => Only::Music,
        },
        click: wanted.then(|| ClickAsked {
            subdivision: args.subdivide.unwrap_or(0),
            drop_out,
        }),
        click_only: args.click_only,
        drone: args.drone.clone(),
        drone_fifth: args.fifth,
        a4: args.a4,
        just: args.just,
        voice: match (&args.soundfont, args.own_tone) {
            (Some(path), _) => Voice::Font(path.clone()),
            (None, true) => Voice::Own,
            (None, false) => Voice::Installed,
        },
    })
}

/// `2,2`: bars with click, bars without.
fn drop_out(text: &str) -> Result<(u32, u32), DeskError> {
    let number = |text: &str| {
        text.trim()
            .parse::<u32>()
            .ok()
            .filter(|bars| (1..=64).contains(bars))
    };
    text.split_once(',')
        .and_then(|(with, without)| Some((number(with)?, number(without)?)))
        .ok_or_else(|| DeskError::Player {
            what: format!("“{text}” says no bars with and without the click"),
            advice: "give two numbers, for example --drop-out 2,2".to_owned(),
        })
}
