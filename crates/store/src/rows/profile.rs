//! What does a player's file say? The same file that `foreread survey --player` reads, as a value that a form can change.

use crate::StoreError;
use serde::{Deserialize, Serialize};

/// A player's file. Everything may be left out; names of notes are written ones (`Bb3`), middle C being C4.
#[derive(Clone, PartialEq, Debug, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct PlayerProfile {
    /// Her name.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// As a musician says it, or a fixed name (`clarinet-bb`).
    #[serde(skip_serializing_if = "Option::is_none")]
    pub instrument: Option<String>,
    /// In a teacher's words (`upper intermediate`).
    #[serde(skip_serializing_if = "Option::is_none")]
    pub level: Option<String>,
    /// What is comfortable.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub range: Option<PlayerRange>,
    /// A long tone at mezzo-forte, in seconds.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub breath_seconds: Option<f64>,
    /// Single-tongued notes a second, for a beat or so.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub tongue_per_second: Option<f64>,
    /// The same, kept up through several bars.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub tongue_sustained_per_second: Option<f64>,
    /// Whether she double or triple tongues.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub multiple_tongue: bool,
    /// Whatever the teacher wants to keep.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub notes: Option<String>,
    /// Fingerings she takes whatever is proposed.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub prefers: Vec<PlayerFingering>,
    /// Fingerings she can't reach.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub out_of_reach: Vec<PlayerFingering>,
}

/// From the lowest to the highest comfortable note.
#[derive(Clone, PartialEq, Eq, Debug, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PlayerRange {
    /// The lowest.
    pub low: String,
    /// The highest.
    pub high: String,
}

/// A fingering of a note, by the name that `foreread fingers` gives it.
#[derive(Clone, PartialEq, Eq, Debug, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PlayerFingering {
    /// The note.
    pub note: String,
    /// The fingering.
    pub fingering: String,
}

impl PlayerProfile {
    /// Reads a player's file.
    ///
    /// # Errors
    /// If it is none, with the line.
    pub fn parse(text: &str) -> Result<Self, StoreError> {
        toml::from_str(text).map_err(|error| {
            let at = error.span().map_or(0, |span| span.start.min(text.len()));
            let line = 1 + text.bytes().take(at).filter(|byte| *byte == b'\n').count();
            let what = error.message().replace('`', "").replace('\n', " ");
            StoreError::refused(
                format!("the player's file, line {line}: {what}"),
                "demo/players/ivo.toml shows what it can say",
            )
        })
    }

    /// Writes it as a player's file.
    ///
    /// # Errors
    /// If it can't be written as one; it always can.
    pub fn to_toml(&self) -> Result<String, StoreError> {
        toml::to_string(self).map_err(|error| {
            StoreError::refused(
                format!("the player's file can't be written: {error}"),
                "look at its numbers",
            )
        })
    }
}
