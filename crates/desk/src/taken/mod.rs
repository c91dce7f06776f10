//! What happened when she played it? A recording read, laid against the part, judged, told.

mod bars;
mod compare;
mod drills;
mod rubric;
mod signs;
mod told;
mod visits;

pub use bars::PlayedBar;
pub use compare::{Beside, earlier_take};

use crate::listen::{ListenAsked, options, survey_for};
use crate::ornaments::OrnamentsAsked;
use crate::print::{For, alone_for};
use crate::survey_piece::part_name;
use crate::{Asked, DeskError, Opened};
use notation::{BarIndex, Finding, Severity};
use performance::play::{BarBeats, Performance, PlayOptions, perform};
use std::fs::File;
use std::io::BufReader;
use std::path::{Path, PathBuf};
use survey::Context;
use take::heard::{Heard, HeardOptions, heard};
use take::judge::{Judged, Rubric, judge, published};
use take::{Alignment, Ear, Expected, Recording, align, compass, decode_from, expected, listen, onsets};

/// How a take is to be heard.
#[derive(Clone, Debug, Default)]
pub struct TakeAsked {
    /// The part.
    pub asked: Asked,
    /// Played from the part at concert pitch, or by another instrument than it is written for.
    pub written_for: For,
    /// The player takes the repeats again after a D.C. or D.S.
    pub repeats_after_jump: bool,
    /// How ornaments are played.
    pub ornaments: OrnamentsAsked,
    /// Hertz of the player's A4; else it is taken from the recording.
    pub a4: Option<f64>,
    /// Cents against pure intervals over the key's tonic, not equal ones.
    pub just: bool,
    /// The teacher's own rubric.
    pub rubric: Option<PathBuf>,
}

/// What was to be played.
#[derive(Debug)]
pub struct ToPlay {
    /// The part alone, as it was read by the player.
    pub opened: Opened,
    /// As the model plays it.
    pub performance: Performance,
    /// Its notes as one line.
    pub line: Vec<Expected>,
    /// Its beats as they are felt.
    pub beats: Vec<BarBeats>,
    /// What was assumed.
    pub findings: Vec<Finding>,
}

/// A take as it was heard.
#[derive(Debug)]
pub struct Taken {
    /// What was to be played.
    pub to_play: ToPlay,
    /// The piece's name.
    pub title: String,
    /// The part, where the file holds several.
    pub part: Option<String>,
    /// The recording's file name.
    pub recording: String,
    /// How long it is, in seconds.
    pub seconds: f64,
    /// Cents are against pure intervals.
    pub just: bool,
    /// The recording laid against the notes.
    pub alignment: Alignment,
    /// What was heard.
    pub heard: Heard,
    /// Rubrics filled in: the teacher's own, or those published.
    pub judged: Vec<Judged>,
    /// What was found on the way.
    pub findings: Vec<Finding>,
}

/// The notes of a part, ready to be laid against a take.
///
/// # Errors
/// If there is no such part or instrument, or nothing of it is ever played.
pub fn to_play(opened: &Opened, asked: &TakeAsked) -> Result<ToPlay, DeskError> {
    let alone = alone_for(opened, asked.asked.part.as_deref(), &asked.written_for)?;
    let piece = &alone.piece;
    let none = || DeskError::NoParts {
        path: opened.path.clone(),
    };
    let listening = ListenAsked {
        asked: asked.asked.clone(),
        repeats_after_jump: asked.repeats_after_jump,
        ..ListenAsked::default()
    };
    let survey = survey_for(piece, &listening).ok_or_else(none)?;
    let settled = asked.ornaments.settled()?;
    let ctx = Context::new(piece, 0).ok_or_else(none)?;
    let options = PlayOptions {
        period: settled.period,
        choices: crate::listen::words::choices(piece, &ctx, &survey, &settled.choices)?,
        ..options(piece, &survey, &listening)?
    };
    let performance = perform(piece, 0, &options).ok_or_else(none)?;
    let (line, left_out) = expected(&performance);
    let mut findings = alone.findings.clone();
    if left_out > 0 {
        findings.push(Finding::new(
            Severity::Caution,
            "take-line",
            format!("{left_out} notes that sound together with a higher one, or without definite pitch, are not listened for"),
            "a take is followed along one line; choose a part of single notes",
        ));
    }
    Ok(ToPlay {
        beats: options.beats,
        performance,
        line,
        findings,
        opened: alone,
    })
}

/// Hears a recording file.
///
/// # Errors
/// If the recording can't be read, or as [`to_play`].
pub fn take(opened: &Opened, recording: &Path, asked: &TakeAsked) -> Result<Taken, DeskError> {
    let about = std::fs::metadata(recording).map_err(|source| crate::open::unreadable(recording, source))?;
    if !about.is_file() {
        return Err(DeskError::NotAFile {
            path: recording.to_path_buf(),
        });
    }
    let (sound, findings) = decode_from(|| File::open(recording).map(BufReader::new), &name(recording))?;
    take_of(opened, &sound, &name(recording), findings, asked)
}

/// Hears a recording in memory, as the app has it.
///
/// # Errors
/// As [`take`].
pub fn take_bytes(opened: &Opened, file: &str, bytes: &[u8], asked: &TakeAsked) -> Result<Taken, DeskError> {
    let (sound, findings) = take::decode(bytes, file)?;
    take_of(opened, &sound, file, findings, asked)
}

fn name(path: &Path) -> String {
    path.file_name()
        .map(|name| name.to_string_lossy().into_owned())
        .unwrap_or_default()
}

/// Semitones around the part that are listened to: wrong notes lie near.
const AROUND: f64 = 4.0;

fn take_of(
    opened: &Opened,
    sound: &Recording,
    file: &str,
    found: Vec<Finding>,
    asked: &TakeAsked,
) -> Result<Taken, DeskError> {
    let rubrics = match &asked.rubric {
        Some(path) => vec![rubric::read(path)?],
        None => published(),
    };
    let a4 = asked.a4.map(known_a4).transpose()?;
    let to_play = to_play(opened, asked)?;
    let (low, high) = compass(&to_play.line).unwrap_or((45.0, 84.0));
    let ear = Ear {
        a4,
        ..Ear::between(low - AROUND, high + AROUND)
    };
    let track = listen(sound, &ear);
    let alignment = align(&to_play.line, &track, &onsets(&track));
    let looked = HeardOptions {
        beats: &to_play.beats,
        just: asked.just,
    };
    let mut heard = heard(
        &to_play.opened.piece,
        0,
        &to_play.performance,
        &to_play.line,
        &alignment,
        &looked,
    );
    drills::fit(&mut heard, opened, &to_play, asked);
    let judged = rubrics
        .iter()
        .map(|rubric: &Rubric| judge(&heard, rubric))
        .collect();
    let mut findings = to_play.findings.clone();
    findings.extend(found);
    let several = opened.piece.parts.len() > 1;
    let choice = crate::choose_part(opened, asked.asked.part.as_deref())?;
    Ok(Taken {
        title: crate::print::title(&opened.piece, opened),
        part: several.then(|| part_name(&opened.piece, choice.index)),
        recording: file.to_owned(),
        seconds: sound.seconds(),
        just: asked.just,
        alignment,
        heard,
        judged,
        findings,
        to_play,
    })
}

fn known_a4(a4: f64) -> Result<f64, DeskError> {
    if (400.0..=480.0).contains(&a4) {
        Ok(a4)
    } else {
        Err(DeskError::Player {
            what: format!("A = {a4} is no pitch that is played at"),
            advice: "give hertz from 400 to 480, or leave it out: it is taken from the recording".to_owned(),
        })
    }
}

impl Taken {
    /// The label of a bar.
    pub(crate) fn label(&self, bar: BarIndex) -> String {
        self.to_play.opened.piece.label(bar).to_owned()
    }

    /// As JSON by `docs/take.schema.json`.
    #[must_use]
    pub fn json(&self) -> String {
        wire::take_text(&wire::TakeWritten {
            piece: &self.to_play.opened.piece,
            title: &self.title,
            part: self.part.as_deref(),
            recording: &self.recording,
            seconds: self.seconds,
            just: self.just,
            heard: &self.heard,
            judged: &self.judged,
            findings: &self.findings,
        })
    }
}
