//! Who plays? A player's own file, or an instrument and a level; the one or the other becomes a plain [`Player`].

use crate::{DeskError, small_file};
use instruments::{Experience, Instrument};
use load::Player;
use notation::Pitch;
use serde::Deserialize;
use std::path::{Path, PathBuf};

/// What was said about the player. Nothing said means no player: the survey is for anybody.
#[derive(Clone, Debug, Default)]
pub struct PlayerAsked {
    /// Her own file (`player.toml`).
    pub file: Option<PathBuf>,
    /// What stands in such a file, where it is kept elsewhere; goes before the file.
    pub text: Option<String>,
    /// The instrument, by its fixed name (`clarinet-bb`) or as a musician says it; goes before the file's.
    pub instrument: Option<String>,
    /// The level, in words; goes before the file's.
    pub level: Option<String>,
    /// Seconds of breath; goes before the file's.
    pub breath: Option<f64>,
    /// Single-tongued notes a second; goes before the file's.
    pub tongue: Option<f64>,
}

impl PlayerAsked {
    /// True if anything was said that makes the answer one player's.
    #[must_use]
    pub const fn names_a_player(&self) -> bool {
        self.file.is_some()
            || self.text.is_some()
            || self.instrument.is_some()
            || self.level.is_some()
            || self.breath.is_some()
    }

    /// The player; `part_instrument` is what the part says it is for.
    ///
    /// # Errors
    /// If the file can't be read or understood, or an instrument, level or number is none.
    pub fn player(&self, part_instrument: Option<&'static Instrument>) -> Result<Player, DeskError> {
        let profile = match (&self.text, &self.file) {
            (Some(text), _) => Profile::read(text, Path::new("player.toml"))?,
            (None, Some(path)) => Profile::read(&small_file::read(path, &FILE)?, path)?,
            (None, None) => Profile::default(),
        };
        profile.player(self, part_instrument)
    }
}

/// Words for levels that teachers use, and which of the three each is nearest to. Common practice.
const LEVELS: [(&str, Experience); 9] = [
    ("student", Experience::Student),
    ("beginner", Experience::Student),
    ("elementary", Experience::Student),
    ("intermediate", Experience::Intermediate),
    ("lower intermediate", Experience::Intermediate),
    ("upper intermediate", Experience::Intermediate),
    ("advanced", Experience::Professional),
    ("semi-professional", Experience::Professional),
    ("professional", Experience::Professional),
];

/// A player's file as it is written.
#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields)]
struct Profile {
    #[serde(skip)]
    path: PathBuf,
    /// Her name; only for whoever reads the file.
    #[serde(default, rename = "name")]
    _name: Option<String>,
    instrument: Option<String>,
    level: Option<String>,
    range: Option<Span>,
    breath_seconds: Option<f64>,
    tongue_per_second: Option<f64>,
    tongue_sustained_per_second: Option<f64>,
    #[serde(default)]
    multiple_tongue: bool,
    #[serde(default)]
    prefers: Vec<Choice>,
    #[serde(default)]
    out_of_reach: Vec<Choice>,
    /// Whatever the teacher wants to keep.
    #[serde(default, rename = "notes")]
    _notes: Option<String>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Span {
    low: String,
    high: String,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Choice {
    note: String,
    fingering: String,
}

/// More than a player's file ever holds, in bytes.
const FILE: small_file::Kind = small_file::Kind {
    missing: |path| DeskError::NoPlayer { path },
    name: "player's file",
    example: "player.toml",
    most_bytes: 1_000_000,
};

impl Profile {
    fn read(text: &str, path: &Path) -> Result<Self, DeskError> {
        let mut profile: Self = toml::from_str(text).map_err(|error| {
            let at = error.span().map_or(0, |span| span.start.min(text.len()));
            DeskError::Profile {
                path: path.to_path_buf(),
                line: 1 + text.bytes().take(at).filter(|byte| *byte == b'\n').count(),
                what: error.message().replace('`', "").replace('\n', " "),
                advice: "see README.md for what a player's file can say".to_owned(),
            }
        })?;
        profile.path = path.to_path_buf();
        Ok(profile)
    }

    fn player(
        &self,
        asked: &PlayerAsked,
        part_instrument: Option<&'static Instrument>,
    ) -> Result<Player, DeskError> {
        let instrument = match asked.instrument.as_ref().or(self.instrument.as_ref()) {
            Some(name) => Some(instrument(name)?),
            None => part_instrument,
        };
        let experience = match asked.level.as_ref().or(self.level.as_ref()) {
            Some(words) => level(words)?,
            None => Experience::Intermediate,
        };
        let mut player = Player::usual(instrument, experience);
        if let Some(range) = &self.range {
            let ends = (self.pitch(&range.low)?, self.pitch(&range.high)?);
            if ends.0.semitones() > ends.1.semitones() {
                return Err(self.wrong(
                    format!("the range goes from {} down to {}", range.low, range.high),
                    "give its lowest note as low and its highest as high",
                ));
            }
            player.range = Some(ends);
        }
        if let Some(seconds) = asked.breath.or(self.breath_seconds) {
            player.breath.seconds = self.number("a breath", seconds, "seconds", 120.0)?;
        }
        if let Some(notes) = asked.tongue.or(self.tongue_per_second) {
            let usual = player.tongue.sustained / player.tongue.burst;
            player.tongue.burst = self.number("a tongue", notes, "notes a second", 40.0)?;
            player.tongue.sustained = player.tongue.burst * usual;
        }
        if let Some(notes) = self.tongue_sustained_per_second {
            let notes = self.number("a tongue kept up", notes, "notes a second", 40.0)?;
            player.tongue.sustained = notes.min(player.tongue.burst);
        }
        player.tongue.multiple = self.multiple_tongue;
        player.prefers = self.choices(&self.prefers, player.instrument)?;
        player.out_of_reach = self.choices(&self.out_of_reach, player.instrument)?;
        Ok(player)
    }

    fn choices(
        &self,
        choices: &[Choice],
        instrument: Option<&Instrument>,
    ) -> Result<Vec<(Pitch, String)>, DeskError> {
        choices
            .iter()
            .map(|choice| {
                let pitch = self.pitch(&choice.note)?;
                known_fingering(instrument, pitch, &choice.fingering)
                    .map_err(|(what, advice)| self.wrong(what, advice))?;
                Ok((pitch, choice.fingering.clone()))
            })
            .collect()
    }

    fn pitch(&self, text: &str) -> Result<Pitch, DeskError> {
        pitch(text).ok_or_else(|| {
            self.wrong(
                format!("“{text}” is no note"),
                "write a letter, # or b, and the octave, middle C being C4: Bb3, F#5",
            )
        })
    }

    fn number(&self, of: &str, value: f64, unit: &str, most: f64) -> Result<f64, DeskError> {
        if value.is_finite() && value > 0.0 && value <= most {
            Ok(value)
        } else {
            Err(self.wrong(
                format!("{of} of {value} {unit} can't be"),
                &format!("give a number from 1 to {most}"),
            ))
        }
    }

    fn wrong(&self, what: String, advice: &str) -> DeskError {
        if self.path.as_os_str().is_empty() {
            DeskError::Player {
                what,
                advice: advice.to_owned(),
            }
        } else {
            DeskError::Profile {
                path: self.path.clone(),
                line: 1,
                what,
                advice: advice.to_owned(),
            }
        }
    }
}

/// A written pitch as a musician types it: `Bb3`, `F#5`, `B♭3`.
pub(crate) fn pitch(text: &str) -> Option<Pitch> {
    let plain = text.trim().replace('♭', "b").replace('♯', "#").replace('♮', "");
    Pitch::parse(&plain)
}

/// That a chart knows a fingering by this name; else what is wrong and what to do.
pub(crate) fn known_fingering(
    instrument: Option<&Instrument>,
    written: Pitch,
    name: &str,
) -> Result<(), (String, &'static str)> {
    let Some(chart) = instrument.and_then(|instrument| instruments::fingering::chart(instrument.id)) else {
        return Ok(());
    };
    let known = chart.fingerings(written);
    // A fingering written out in keys is the player's own, whether the chart has it or not.
    if known.is_empty() || name.contains('|') || known.iter().any(|fingering| fingering.is_called(name)) {
        return Ok(());
    }
    let names: Vec<&str> = known.iter().map(|fingering| fingering.name.as_ref()).collect();
    Err((
        format!(
            "no fingering of {} is called “{name}”: there are {}",
            written.sign(),
            names.join(", ")
        ),
        "take one of these names",
    ))
}

pub(crate) fn instrument(name: &str) -> Result<&'static Instrument, DeskError> {
    let wanted = name.trim();
    instruments::by_id(wanted)
        .or_else(|| instruments::identify_name(wanted).map(|found| found.instrument))
        .ok_or_else(|| {
            let known: Vec<&str> = instruments::all().map(|instrument| instrument.id).collect();
            DeskError::Player {
                what: format!("no instrument is called “{wanted}”"),
                advice: format!("there are {}", known.join(", ")),
            }
        })
}

fn level(words: &str) -> Result<Experience, DeskError> {
    let wanted = words.trim().to_lowercase();
    let found = LEVELS.iter().find(|(name, _)| *name == wanted);
    found.map(|(_, level)| *level).ok_or_else(|| {
        let known: Vec<&str> = LEVELS.iter().map(|(name, _)| *name).collect();
        DeskError::Player {
            what: format!("no level is called “{}”", words.trim()),
            advice: format!("there are {}", known.join(", ")),
        }
    })
}
