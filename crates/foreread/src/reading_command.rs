//! `foreread reading`: fresh pieces to read at sight, by a level table or like a given piece.

use crate::output::{say, say_findings, write_out};
use crate::paper::PaperName;
use clap::{Args, ValueEnum};
use desk::{DeskError, PlayerAsked, ReadingsAsked, ReadingsTo, WholeFile};
use std::path::PathBuf;
use std::time::{SystemTime, UNIX_EPOCH};

/// Which pieces, for whom, how many.
#[derive(Debug, Args)]
pub(crate) struct ReadingArgs {
    /// The tables, their levels and where they were read
    #[arg(long, conflicts_with_all = ["level", "like", "to"])]
    list: bool,
    /// A level of a published table, parts of the names are enough: "missouri band:class 1"
    #[arg(long, value_name = "TABLE:LEVEL", conflicts_with = "like")]
    level: Option<String>,
    /// A piece like this one: its key, metre, rhythms, range, articulation, dynamics, length
    #[arg(long, value_name = "PIECE")]
    like: Option<PathBuf>,
    /// The part of that piece, by its name or its number from 1
    #[arg(long, value_name = "NAME|NUMBER", requires = "like")]
    part: Option<String>,
    /// The tune of a tunebook, by its number
    #[arg(long, value_name = "NUMBER", requires = "like")]
    tune: Option<String>,
    /// The instrument, by its fixed name (clarinet-bb) or as a musician says it
    #[arg(long = "for", value_name = "INSTRUMENT")]
    instrument: Option<String>,
    /// The player's own file (player.toml): nothing is written that she can't play
    #[arg(long, value_name = "FILE")]
    player: Option<PathBuf>,
    /// The player's experience: student, intermediate or professional; without it, what the level expects
    #[arg(long, value_name = "WORD")]
    experience: Option<String>,
    /// The player's comfortable breath, in seconds
    #[arg(long, value_name = "SECONDS")]
    breath: Option<f64>,
    /// The player's fastest comfortable single tongue, in notes a second
    #[arg(long, value_name = "NOTES")]
    tongue: Option<f64>,
    /// The number that gives the same piece again; without one, a new piece each time
    #[arg(long, value_name = "NUMBER")]
    seed: Option<u64>,
    /// A set of so many different pieces, the later ones with more to read (at most 30)
    #[arg(long, default_value_t = 1, value_name = "NUMBER")]
    count: usize,
    /// With --count: one piece for each seed from --seed on, each by itself
    #[arg(long)]
    apart: bool,
    /// The key as written: Bb, "f# minor"
    #[arg(long, value_name = "KEY")]
    key: Option<String>,
    /// The time signature: 6/8
    #[arg(long, value_name = "METRE")]
    metre: Option<String>,
    /// How many bars, a pickup not counted
    #[arg(long, value_name = "NUMBER")]
    bars: Option<usize>,
    /// These rhythms, all of them and no others beside whole, half and quarter notes: eighths,dotted-quarters (see --list)
    #[arg(long, value_name = "NAMES", value_delimiter = ',')]
    rhythms: Option<Vec<String>>,
    /// No written note below this one (Bb3)
    #[arg(long, value_name = "NOTE")]
    lowest: Option<String>,
    /// No written note above this one
    #[arg(long, value_name = "NOTE")]
    highest: Option<String>,
    /// Felt beats a minute
    #[arg(long, value_name = "BPM")]
    tempo: Option<u16>,
    /// The widest leap, in semitones (2: steps alone)
    #[arg(long, value_name = "SEMITONES")]
    leap: Option<i32>,
    /// These dynamic levels and no others: p,mf,f, or none
    #[arg(long, value_name = "LEVELS", value_delimiter = ',')]
    dynamics: Option<Vec<String>>,
    /// These, all of them and no others: slurs,staccato,accents,tenuto, or none
    #[arg(long, value_name = "NAMES", value_delimiter = ',')]
    articulation: Option<Vec<String>>,
    /// Begin with a pickup
    #[arg(long, conflicts_with = "no_pickup")]
    pickup: bool,
    /// Begin on the downbeat
    #[arg(long)]
    no_pickup: bool,
    /// How to answer: words for the terminal, or JSON
    #[arg(long = "as", value_enum, default_value_t = As::Text, value_name = "FORM")]
    form: As,
    /// The file to write: .musicxml, .mxl, .mei, .mid, .pdf, .svg, .png, .wav or .flac (.json for the answer itself);
    /// a set becomes name-1, name-2 …
    #[arg(long, value_name = "FILE")]
    to: Option<PathBuf>,
    /// The paper of a printed page
    #[arg(long, value_enum, default_value_t = PaperName::A4, value_name = "PAPER")]
    paper: PaperName,
    /// Large print
    #[arg(long)]
    large: bool,
    /// Dots an inch of a .png
    #[arg(long, default_value_t = 150.0, value_name = "NUMBER")]
    dpi: f64,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum As {
    /// Words for the terminal
    Text,
    /// JSON by the schema in docs/
    Json,
}

/// Makes the pieces.
///
/// # Errors
/// Whatever the desk says.
pub(crate) fn run(args: &ReadingArgs) -> Result<(), DeskError> {
    if args.list {
        return write_out(&match args.form {
            As::Text => desk::level_tables_text(),
            As::Json => desk::level_tables_json(),
        });
    }
    let readings = desk::readings(&asked(args)?)?;
    say_findings(&readings.findings);
    let answer = match args.form {
        As::Text => desk::readings_text(&readings),
        As::Json => desk::readings_json(&readings),
    };
    let Some(to) = &args.to else {
        write_out(&answer)?;
        if args.form == As::Text {
            say("write it with --to, for example --to piece.pdf (the same --seed gives the same piece)");
        }
        return Ok(());
    };
    if to
        .extension()
        .is_some_and(|ending| ending.eq_ignore_ascii_case("json"))
    {
        WholeFile::write(to, desk::readings_json(&readings).as_bytes())?;
        say(&format!("written: {}", to.display()));
        return Ok(());
    }
    let how = ReadingsTo {
        paper: args.paper.paper(),
        large: args.large,
        dots_per_inch: args.dpi,
    };
    let files = desk::write_readings(&readings, to, &how)?;
    write_out(&answer)?;
    for file in files {
        say(&format!("written: {}", file.display()));
    }
    Ok(())
}

fn asked(args: &ReadingArgs) -> Result<ReadingsAsked, DeskError> {
    let like = match &args.like {
        Some(path) => Some(desk::open_tune(path, args.tune.as_deref())?),
        None => None,
    };
    if let (Some(path), Some(to)) = (&args.like, &args.to) {
        desk::not_over_itself(path, to)?;
    }
    Ok(ReadingsAsked {
        level: args.level.clone(),
        like,
        part: args.part.clone(),
        player: PlayerAsked {
            text: None,
            file: args.player.clone(),
            instrument: args.instrument.clone(),
            level: args.experience.clone(),
            breath: args.breath,
            tongue: args.tongue,
        },
        seed: args.seed.unwrap_or_else(now),
        count: args.count,
        apart: args.apart,
        key: args.key.clone(),
        metre: args.metre.clone(),
        bars: args.bars,
        rhythms: args.rhythms.clone(),
        lowest: args.lowest.clone(),
        highest: args.highest.clone(),
        tempo: args.tempo,
        leap: args.leap,
        dynamics: args.dynamics.clone(),
        articulation: args.articulation.clone(),
        pickup: match (args.pickup, args.no_pickup) {
            (true, _) => Some(true),
            (_, true) => Some(false),
            _ => None,
        },
    })
}

/// The seconds of the clock: a number that was not there before, short enough to write down.
fn now() -> u64 {
    let since = SystemTime::now().duration_since(UNIX_EPOCH);
    since.map_or(1, |since| since.as_secs() % 10_000_000)
}
