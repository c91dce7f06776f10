//! Which reading pieces does she want, and where do they go? Words become bounds; verified pieces become words, JSON or files.

use crate::player;
use crate::study::{StudyAsked, study_part};
use crate::{
    Asked, ConvertAsked, CopyAsked, DeskError, Edition, Form, ListenAsked, Opened, Paper, PlayerAsked,
    Printer, SoundForm, Target, WholeFile, choose_part, convert, copy, listen, to_file, write_copy,
};
use load::Player;
use load::reading::amount_words;
use notation::{Finding, Severity};
use practice::reading::{
    Bounds, DYNAMICS, Figure, Figures, Key, Measure, Reading, Refusal, Sign, Source, Wished, find, of_level,
    of_piece, of_player, reading, set, usual_player,
};
use std::fmt::Write;
use std::path::{Path, PathBuf};
use survey::Options;

/// What is wished for. Nothing said leaves it to level, model or player.
#[derive(Debug, Default)]
pub struct ReadingsAsked {
    /// A level of a published table: `TABLE:LEVEL`.
    pub level: Option<String>,
    /// The model piece.
    pub like: Option<Opened>,
    /// Its part, by name or number.
    pub part: Option<String>,
    /// The player.
    pub player: PlayerAsked,
    /// The seed.
    pub seed: u64,
    /// How many pieces.
    pub count: usize,
    /// One piece for each seed from the first on, each by itself, instead of a set that rises.
    pub apart: bool,
    /// The key: `Bb`, `f# minor`.
    pub key: Option<String>,
    /// The metre: `6/8`.
    pub metre: Option<String>,
    /// Bars.
    pub bars: Option<usize>,
    /// Rhythms by their names.
    pub rhythms: Option<Vec<String>>,
    /// Lowest written note.
    pub lowest: Option<String>,
    /// Highest written note.
    pub highest: Option<String>,
    /// Felt beats a minute.
    pub tempo: Option<u16>,
    /// Widest leap in semitones.
    pub leap: Option<i32>,
    /// Dynamic levels.
    pub dynamics: Option<Vec<String>>,
    /// Slurs and marks.
    pub articulation: Option<Vec<String>>,
    /// With or without a pickup.
    pub pickup: Option<bool>,
}

/// The pieces, and what they follow.
#[derive(Debug)]
pub struct Readings {
    /// What was asked, all of it.
    pub bounds: Bounds,
    /// For whom.
    pub player: Player,
    /// The pieces, all verified.
    pub pieces: Vec<Reading>,
    /// What is to be said beside.
    pub findings: Vec<Finding>,
}

/// The most pieces that are made apart in one go.
const MOST_APART: usize = 10_000;

/// Makes them.
///
/// # Errors
/// If the wishes contradict each other, the level, or the player; if nothing is found that keeps them all.
pub fn readings(asked: &ReadingsAsked) -> Result<Readings, DeskError> {
    let mut findings = Vec::new();
    let (bounds, player) = bounds(asked, &mut findings)?;
    let bounds = bounds.with(&wished(asked)?).map_err(refused)?;
    for remark in &bounds.remarks {
        findings.push(Finding::new(
            Severity::Note,
            "not-taken-over",
            remark.clone(),
            "practise that from the piece itself",
        ));
    }
    let count = asked.count.max(1);
    let pieces = if asked.apart {
        if count > MOST_APART {
            return Err(wrong(
                format!("{count} pieces are too many"),
                "ask for at most 10000",
            ));
        }
        let seeds = (0..count).map(|number| asked.seed.wrapping_add(u64::try_from(number).unwrap_or(0)));
        seeds
            .map(|seed| reading(&bounds, &player, seed))
            .collect::<Result<_, _>>()
            .map_err(refused)?
    } else if count == 1 {
        vec![reading(&bounds, &player, asked.seed).map_err(refused)?]
    } else {
        set(&bounds, &player, asked.seed, count).map_err(refused)?
    };
    Ok(Readings {
        bounds,
        player,
        pieces,
        findings,
    })
}

fn wrong(what: impl Into<String>, advice: impl Into<String>) -> DeskError {
    DeskError::Player {
        what: what.into(),
        advice: advice.into(),
    }
}

fn refused(refusal: Refusal) -> DeskError {
    wrong(refusal.what, refusal.advice)
}

fn bounds(asked: &ReadingsAsked, findings: &mut Vec<Finding>) -> Result<(Bounds, Player), DeskError> {
    match (&asked.level, &asked.like) {
        (Some(_), Some(_)) => Err(wrong(
            "a level and a model piece can't both be followed",
            "give either --level or --like",
        )),
        (Some(level), None) => by_level(asked, level, findings),
        (None, Some(model)) => by_model(asked, model),
        (None, None) => {
            if !asked.player.names_a_player() {
                return Err(wrong(
                    "nothing says how hard the piece is to be",
                    "give --level TABLE:LEVEL (see --list), --like PIECE, --player FILE or --for INSTRUMENT",
                ));
            }
            let player = asked.player.player(None)?;
            Ok((of_player(&player).map_err(refused)?, player))
        }
    }
}

fn by_level(
    asked: &ReadingsAsked,
    level: &str,
    findings: &mut Vec<Finding>,
) -> Result<(Bounds, Player), DeskError> {
    let mut player = asked.player.player(None)?;
    if player.instrument.is_none() {
        player = asked.player.player(some_instrument(level))?;
        if let Some(instrument) = player.instrument {
            findings.push(Finding::new(
                Severity::Note,
                "instrument-chosen",
                format!("written for {}", instrument.name.to_lowercase()),
                "name another with --for",
            ));
        }
    }
    let (table, level) = find(level, player.instrument).map_err(refused)?;
    let unsaid = asked.player.file.is_none() && asked.player.level.is_none();
    if unsaid {
        // Of whom nothing is known plays as the level expects; what was said of her stays.
        let usual = usual_player(table, level, player.instrument);
        player = Player {
            breath: if asked.player.breath.is_some() {
                player.breath
            } else {
                usual.breath
            },
            tongue: if asked.player.tongue.is_some() {
                player.tongue
            } else {
                usual.tongue
            },
            ..usual
        };
    }
    Ok((of_level(table, level, &player).map_err(refused)?, player))
}

/// The instrument of a table that is for one alone; flute, violin or clarinet where it is for a family or for all.
fn some_instrument(level: &str) -> Option<&'static instruments::Instrument> {
    ["flute", "violin", "clarinet-bb"]
        .into_iter()
        .filter_map(instruments::by_id)
        .find(|instrument| find(level, Some(instrument)).is_ok())
}

fn by_model(asked: &ReadingsAsked, model: &Opened) -> Result<(Bounds, Player), DeskError> {
    let choice = choose_part(model, asked.part.as_deref())?;
    let studied = study_part(
        model,
        choice.index,
        &asked.player,
        &StudyAsked {
            for_anybody: true,
            ..StudyAsked::default()
        },
        &Options::default(),
    )?;
    let player = studied.study.player.clone();
    let mut bounds = of_piece(&model.piece, &studied.survey, &studied.study).map_err(refused)?;
    if let Some(name) = model.piece.credits.name() {
        bounds.named = format!("“{name}”");
    }
    Ok((bounds, player))
}

fn wished(asked: &ReadingsAsked) -> Result<Wished, DeskError> {
    let pitch = |text: &Option<String>| match text {
        None => Ok(None),
        Some(text) => player::pitch(text).map(Some).ok_or_else(|| {
            wrong(
                format!("“{text}” is no note"),
                "write a letter, # or b, and the octave, middle C being C4: Bb3, F#5",
            )
        }),
    };
    Ok(Wished {
        key: named(&asked.key, "key", "write Bb, f# minor, E major", Key::parse)?,
        metre: named(
            &asked.metre,
            "metre composed in",
            &format!("there are {}", Measure::known().join(", ")),
            Measure::parse,
        )?,
        bars: asked.bars,
        figures: listed(
            asked.rhythms.as_deref(),
            "rhythm",
            &names(Figure::ALL.map(Figure::id)),
            |name| plain_values(name).or_else(|| Figure::from_name(name).map(Some)),
        )?
        .map(|figures| figures.into_iter().flatten().collect::<Figures>()),
        lowest: pitch(&asked.lowest)?,
        highest: pitch(&asked.highest)?,
        tempo: asked.tempo,
        leap: asked.leap,
        dynamics: listed(
            asked.dynamics.as_deref(),
            "dynamic level",
            &names(DYNAMICS),
            |name| DYNAMICS.into_iter().find(|level| *level == name),
        )?,
        signs: listed(
            asked.articulation.as_deref(),
            "articulation",
            &names(Sign::ALL.map(Sign::word)),
            Sign::from_name,
        )?,
        pickup: asked.pickup,
    })
}

/// Whole, half and quarter notes are always there: named, they ask for nothing more.
fn plain_values(name: &str) -> Option<Option<Figure>> {
    let plain = name.trim().to_lowercase();
    [
        "wholes", "halves", "quarters", "whole", "half", "quarter", "plain",
    ]
    .contains(&plain.as_str())
    .then_some(None)
}

fn names<const N: usize>(names: [&str; N]) -> String {
    names.join(", ")
}

fn named<T>(
    text: &Option<String>,
    what: &str,
    advice: &str,
    read: impl Fn(&str) -> Option<T>,
) -> Result<Option<T>, DeskError> {
    match text {
        None => Ok(None),
        Some(text) => read(text)
            .map(Some)
            .ok_or_else(|| wrong(format!("“{}” is no {what}", text.trim()), advice)),
    }
}

/// Names in a list; `none` alone is the empty list.
fn listed<T>(
    list: Option<&[String]>,
    what: &str,
    known: &str,
    read: impl Fn(&str) -> Option<T>,
) -> Result<Option<Vec<T>>, DeskError> {
    let Some(list) = list else { return Ok(None) };
    if let [one] = list
        && one.trim().eq_ignore_ascii_case("none")
    {
        return Ok(Some(Vec::new()));
    }
    let read_one = |name: &String| {
        read(name.trim()).ok_or_else(|| {
            wrong(
                format!("no {what} is called “{}”", name.trim()),
                format!("there are {known}, or none"),
            )
        })
    };
    list.iter().map(read_one).collect::<Result<_, _>>().map(Some)
}

/// How much there is to read in a bar of it, in words.
fn to_read(piece: &Reading) -> &'static str {
    let total: f64 = piece.study.bars.iter().map(|bar| bar.reading.total()).sum();
    let bars = u32::try_from(piece.bars.max(1)).unwrap_or(1);
    amount_words(total / f64::from(bars))
}

/// The pieces in words: title, what is in them, what was checked.
#[must_use]
pub fn readings_text(readings: &Readings) -> String {
    let mut text = String::new();
    let instrument = readings.player.instrument.map_or_else(String::new, |instrument| {
        format!(" for {}", instrument.name.to_lowercase())
    });
    // Writing to a String does not fail.
    for piece in &readings.pieces {
        let _ = writeln!(
            text,
            "{}\n  {} bars in {}, {}, {} ({} beats a minute){instrument}; {} in a bar; seed {}{}",
            piece.title,
            piece.bars,
            piece.key.name(),
            piece.measure.name(),
            piece.words,
            piece.bpm,
            to_read(piece),
            piece.seed,
            piece
                .in_set
                .map_or_else(String::new, |(number, of)| format!(", number {number} of {of}"))
        );
        match readings.bounds.source {
            Source::Level(table, level) => {
                let _ = writeln!(text, "  after {}, {} ({})", table.name, level.name, table.source);
            }
            _ => {
                let _ = writeln!(text, "  after {}", readings.bounds.named);
            }
        }
        let _ = writeln!(text, "  checked by our own survey and study of the written page:");
        for feature in &piece.features {
            let _ = writeln!(
                text,
                "    {:12} asked: {}\n    {:12} found: {}",
                feature.name, feature.asked, "", feature.found
            );
        }
        let _ = writeln!(text);
    }
    text
}

/// The pieces as JSON, each with its page as MusicXML.
#[must_use]
pub fn readings_json(readings: &Readings) -> String {
    let pieces: Vec<(&Reading, String, &'static str)> = readings
        .pieces
        .iter()
        .map(|piece| (piece, formats::write_musicxml(&piece.piece).0, to_read(piece)))
        .collect();
    wire::readings_text(&wire::ReadingsWritten {
        bounds: &readings.bounds,
        player: &readings.player,
        pieces: &pieces,
    })
}

/// The published level tables in words: names, levels, sources.
#[must_use]
pub fn level_tables_text() -> String {
    let mut text = String::from(
        "Published level tables. Ask for a level by its table and name, parts of them are enough: --level \"missouri band:class 1\".\n\
         What a table leaves open is filled in by our own judgement, rising from level to level.\n\n",
    );
    for table in load::levels::tables() {
        let _ = writeln!(text, "{}\n  read at: {}", table.name, table.source);
        if !table.about.is_empty() {
            let _ = writeln!(text, "  {}", table.about);
        }
        for level in table.levels {
            let whom = if level.instruments.is_empty() {
                "all instruments".to_owned()
            } else {
                level.instruments.join(", ")
            };
            let _ = writeln!(text, "    {} — {whom}", level.name);
        }
        let _ = writeln!(text);
    }
    let _ = writeln!(
        text,
        "Rhythms that can be wished for: {}. Whole, half and quarter notes are always there.",
        names(Figure::ALL.map(Figure::id))
    );
    text
}

/// The published level tables as JSON.
#[must_use]
pub fn level_tables_json() -> String {
    wire::levels_text(load::levels::tables())
}

/// How the files are to be.
#[derive(Clone, Copy, Debug, Default)]
pub struct ReadingsTo {
    /// The paper.
    pub paper: Paper,
    /// Large print.
    pub large: bool,
    /// Dots an inch of a picture.
    pub dots_per_inch: f64,
}

/// Writes the pieces to files: notation, pages or sound by the ending; several as `name-1`, `name-2` …
///
/// # Errors
/// If the ending is none we write, the press fails, or a file can't be written.
pub fn write_readings(readings: &Readings, to: &Path, how: &ReadingsTo) -> Result<Vec<PathBuf>, DeskError> {
    let kind = Kind::of(to)?;
    let mut printer = match kind {
        Kind::Page => Some(Printer::find()?),
        _ => None,
    };
    let mut files = Vec::new();
    for (index, piece) in readings.pieces.iter().enumerate() {
        let path = if readings.pieces.len() == 1 {
            to.to_path_buf()
        } else {
            numbered(to, index + 1)
        };
        let opened = Opened {
            path: PathBuf::from(&piece.title),
            tune: None,
            piece: piece.piece.clone(),
            findings: Vec::new(),
        };
        match (kind, &mut printer) {
            (Kind::Page, Some(printer)) => {
                let asked = CopyAsked {
                    asked: Asked::default(),
                    edition: if how.large {
                        Edition::LargePrint
                    } else {
                        Edition::Clean
                    },
                    paper: how.paper,
                    ..CopyAsked::default()
                };
                let copy = copy(&opened, &asked, printer)?;
                files.extend(write_copy(&copy, &path, how.dots_per_inch, printer)?.files);
                continue;
            }
            (Kind::Notation(target), _) => {
                let converted = convert(&opened, target, &ConvertAsked::default())?;
                WholeFile::write(&path, &converted.bytes)?;
            }
            _ => to_file(&listen(&opened, &ListenAsked::default())?, &path)?,
        }
        files.push(path);
    }
    Ok(files)
}

/// What kind of file an ending asks for.
#[derive(Clone, Copy)]
enum Kind {
    Notation(Target),
    Page,
    Sound,
}

impl Kind {
    fn of(to: &Path) -> Result<Self, DeskError> {
        if let Ok(target) = Target::of(to) {
            return Ok(Self::Notation(target));
        }
        if Form::of(to).is_ok() {
            return Ok(Self::Page);
        }
        match SoundForm::of(to) {
            Ok(_) => Ok(Self::Sound),
            Err(DeskError::NotWritten { path, ending, .. }) => Err(DeskError::NotWritten {
                path,
                ending,
                known: ".musicxml, .mxl, .mei, .mid, .pdf, .svg, .png, .wav, .flac".to_owned(),
            }),
            Err(other) => Err(other),
        }
    }
}

/// `week.pdf` becomes `week-2.pdf`.
fn numbered(path: &Path, number: usize) -> PathBuf {
    let part = |part: Option<&std::ffi::OsStr>| {
        part.map(|name| name.to_string_lossy().into_owned())
            .unwrap_or_default()
    };
    let name = format!("{}-{number}.{}", part(path.file_stem()), part(path.extension()));
    path.with_file_name(name)
}
