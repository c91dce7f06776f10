//! What does the JSON say of reading pieces and of the level tables they can follow?

use crate::VERSION;
use crate::say::pitch_name;
use load::Player;
use load::levels::{Keys, Level, Modes, Table};
use practice::reading::{Bounds, Feature, Figure, Reading, Source};
use schemars::JsonSchema;
use serde::Serialize;

/// Reading pieces: one, or a set that rises in what there is to read. Every piece was verified by the survey; none is given
/// otherwise.
#[derive(Clone, Debug, Serialize, JsonSchema)]
#[schemars(title = "Foreread reading pieces")]
pub struct ReadingsJson {
    /// The version of this contract.
    pub version: String,
    /// What they follow.
    pub after: After,
    /// For whom.
    pub player: ForPlayer,
    /// What could not be taken over from the model, clauses.
    pub remarks: Vec<String>,
    /// The pieces.
    pub pieces: Vec<ReadingSaid>,
}

/// What reading pieces follow.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct After {
    /// `level`, `model` or `player`.
    pub kind: &'static str,
    /// In words.
    pub named: String,
    /// The table, where it is a level.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub table: Option<String>,
    /// The level.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub level: Option<String>,
    /// Where the table was read.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub source: Option<String>,
}

/// For whom reading pieces are.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct ForPlayer {
    /// The instrument by its fixed name.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub instrument: Option<String>,
    /// `student`, `intermediate` or `professional`.
    pub experience: String,
    /// Lowest and highest written note that may stand in the pieces.
    pub range: [String; 2],
}

/// A reading piece.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct ReadingSaid {
    /// An invented title.
    pub title: String,
    /// The seed that gives it again, with the same wishes.
    pub seed: u64,
    /// Its number in a set, from 1; absent for a piece by itself.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub number: Option<usize>,
    /// The written key, like `B♭ major`.
    pub key: String,
    /// The time signature.
    pub metre: String,
    /// Bars, a pickup not counted.
    pub bars: usize,
    /// The tempo word.
    pub tempo: String,
    /// Felt beats a minute.
    pub beats_a_minute: u16,
    /// What was asked and what the survey found; all fit.
    pub features: Vec<FeatureSaid>,
    /// How much there is to read in a bar, in words.
    pub to_read: String,
    /// What there is to read in a quarter note's time, in bits.
    pub load_a_quarter: f64,
    /// The page as MusicXML.
    pub musicxml: String,
}

/// One feature, asked and found.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct FeatureSaid {
    /// Which.
    pub name: String,
    /// What was asked.
    pub asked: String,
    /// What the survey found.
    pub found: String,
    /// Whether it is as asked.
    pub fits: bool,
}

/// What the JSON of reading pieces is made of.
#[derive(Clone, Copy, Debug)]
pub struct ReadingsWritten<'a> {
    /// What was asked.
    pub bounds: &'a Bounds,
    /// For whom.
    pub player: &'a Player,
    /// The pieces, each with its page as MusicXML and how much there is to read in a bar, in words.
    pub pieces: &'a [(&'a Reading, String, &'static str)],
}

/// Reading pieces as JSON text.
#[must_use]
pub fn readings_text(what: &ReadingsWritten) -> String {
    text(&readings(what))
}

fn readings(what: &ReadingsWritten) -> ReadingsJson {
    let (kind, level) = match what.bounds.source {
        Source::Level(table, level) => ("level", Some((table, level))),
        Source::Model => ("model", None),
        Source::Player => ("player", None),
    };
    ReadingsJson {
        version: VERSION.to_owned(),
        after: After {
            kind,
            named: what.bounds.named.clone(),
            table: level.map(|(table, _)| table.name.to_owned()),
            level: level.map(|(_, level)| level.name.to_owned()),
            source: level.map(|(table, _)| table.source.to_owned()),
        },
        player: ForPlayer {
            instrument: what.player.instrument.map(|instrument| instrument.id.to_owned()),
            experience: what.player.experience.word().to_owned(),
            range: [pitch_name(what.bounds.low), pitch_name(what.bounds.high)],
        },
        remarks: what.bounds.remarks.clone(),
        pieces: what
            .pieces
            .iter()
            .map(|(piece, musicxml, to_read)| said(piece, musicxml, to_read))
            .collect(),
    }
}

fn said(piece: &Reading, musicxml: &str, to_read: &str) -> ReadingSaid {
    ReadingSaid {
        title: piece.title.clone(),
        seed: piece.seed,
        number: piece.in_set.map(|(number, _)| number),
        key: piece.key.name(),
        metre: piece.measure.name(),
        bars: piece.bars,
        tempo: piece.words.to_owned(),
        beats_a_minute: piece.bpm,
        features: piece.features.iter().map(feature).collect(),
        to_read: to_read.to_owned(),
        load_a_quarter: piece.load,
        musicxml: musicxml.to_owned(),
    }
}

fn feature(feature: &Feature) -> FeatureSaid {
    FeatureSaid {
        name: feature.name.to_owned(),
        asked: feature.asked.clone(),
        found: feature.found.clone(),
        fits: feature.fits,
    }
}

/// The published level tables.
#[derive(Clone, Debug, Serialize, JsonSchema)]
#[schemars(title = "Foreread level tables")]
pub struct LevelsJson {
    /// The version of this contract.
    pub version: String,
    /// The tables.
    pub tables: Vec<TableSaid>,
    /// Names of the rhythms that can be wished for.
    pub rhythms: Vec<&'static str>,
}

/// A published level table.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct TableSaid {
    /// A short name.
    pub name: String,
    /// Where it was read.
    pub source: String,
    /// What to know before relying on it; may be empty.
    pub about: String,
    /// Its levels, easiest first.
    pub levels: Vec<LevelOf>,
}

/// A level; what is absent the table doesn't say.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct LevelOf {
    /// The table's own word.
    pub name: String,
    /// Instruments or families it is for; empty for all.
    pub instruments: Vec<String>,
    /// Lowest and highest written note.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub range: Option<[String; 2]>,
    /// Most semitones from the lowest to the highest note.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub span: Option<i32>,
    /// Signatures in sharps (flats negative).
    #[serde(skip_serializing_if = "Option::is_none")]
    pub signatures: Option<Vec<i8>>,
    /// Whether the signatures are those of the sounding key.
    pub at_concert_pitch: bool,
    /// `both`, `major` or `listed`.
    pub modes: &'static str,
    /// Time signatures; empty if not said.
    pub metres: Vec<String>,
    /// Most changes of metre and of key.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub changes: Option<[usize; 2]>,
    /// What rhythms may hold.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub rhythms: Option<RhythmsOf>,
    /// Slowest and fastest, in beats a minute.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub tempo: Option<[f64; 2]>,
    /// Fewest and most bars.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bars: Option<[usize; 2]>,
    /// Largest leap in semitones.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub leap: Option<i32>,
    /// Whether single notes may be altered from the signature.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub accidentals: Option<bool>,
    /// Dynamic levels; empty for none at all.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub dynamics: Option<Vec<String>>,
    /// Slurs and marks; empty for none at all.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub articulation: Option<Vec<String>>,
}

/// What rhythms a level allows.
#[derive(Clone, Debug, Serialize, JsonSchema)]
#[expect(
    clippy::struct_excessive_bools,
    reason = "each is a row of the table by itself"
)]
pub struct RhythmsOf {
    /// Most notes to a quarter note, tuplets aside.
    pub to_a_quarter: i64,
    /// Dotted quarter and eighth.
    pub dotted_quarter: bool,
    /// Dotted eighth and sixteenth.
    pub dotted_eighth: bool,
    /// Triplets.
    pub triplets: bool,
    /// Syncopation.
    pub syncopation: bool,
}

/// The level tables as JSON text.
#[must_use]
pub fn levels_text(tables: &[Table]) -> String {
    text(&LevelsJson {
        version: VERSION.to_owned(),
        tables: tables.iter().map(table).collect(),
        rhythms: Figure::ALL.map(Figure::id).to_vec(),
    })
}

fn table(table: &Table) -> TableSaid {
    TableSaid {
        name: table.name.to_owned(),
        source: table.source.to_owned(),
        about: table.about.to_owned(),
        levels: table.levels.iter().map(level).collect(),
    }
}

fn level(level: &Level) -> LevelOf {
    LevelOf {
        name: level.name.to_owned(),
        instruments: level.instruments.iter().map(|name| (*name).to_owned()).collect(),
        range: level.range.map(|(low, high)| [low.to_owned(), high.to_owned()]),
        span: level.span,
        signatures: match level.keys {
            Keys::Unsaid => None,
            Keys::Any => Some((-7..=7).collect()),
            Keys::Upto { flats, sharps } => Some((-flats..=sharps).collect()),
            Keys::Concert(list) => Some(list.to_vec()),
        },
        at_concert_pitch: matches!(level.keys, Keys::Concert(_)),
        modes: match level.modes {
            Modes::Both => "both",
            Modes::Major => "major",
            Modes::Listed { .. } => "listed",
        },
        metres: level.metres.iter().map(|metre| (*metre).to_owned()).collect(),
        changes: level.changes.map(|(metres, keys)| [metres, keys]),
        rhythms: level.rhythms.map(|rhythms| RhythmsOf {
            to_a_quarter: rhythms.to_a_quarter,
            dotted_quarter: rhythms.dotted_quarter,
            dotted_eighth: rhythms.dotted_eighth,
            triplets: rhythms.triplets,
            syncopation: rhythms.syncopation,
        }),
        tempo: level.tempo.map(|(slow, fast)| [slow, fast]),
        bars: level.bars.map(|(fewest, most)| [fewest, most]),
        leap: level.leap,
        accidentals: level.accidentals,
        dynamics: level.dynamics.map(words),
        articulation: level.articulation.map(words),
    }
}

fn words(words: &[&str]) -> Vec<String> {
    words.iter().map(|word| (*word).to_owned()).collect()
}

fn text<T: Serialize>(value: &T) -> String {
    let mut text = serde_json::to_string_pretty(value).unwrap_or_default();
    text.push('\n');
    text
}

/// The JSON Schema of reading pieces, as kept in `docs/reading.schema.json`.
#[must_use]
pub fn readings_schema() -> String {
    text(&schemars::schema_for!(ReadingsJson))
}

/// The JSON Schema of the level tables, as kept in `docs/levels.schema.json`.
#[must_use]
pub fn levels_schema() -> String {
    text(&schemars::schema_for!(LevelsJson))
}
