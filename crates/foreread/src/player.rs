//! Who plays? What every command that answers for a player can be told.

use clap::Args;
use desk::PlayerAsked;
use std::path::PathBuf;

/// The player: her own file, or an instrument and a level.
#[derive(Debug, Args)]
pub(crate) struct PlayerArgs {
    /// The player's own file (player.toml: instrument, level, range, breath, tongue, fingerings)
    #[arg(long, value_name = "FILE")]
    player: Option<PathBuf>,
    /// The instrument, by its fixed name (clarinet-bb) or as a musician says it; the player is one of the usual sort
    #[arg(long, value_name = "INSTRUMENT")]
    instrument: Option<String>,
    /// The player's level: student, intermediate or professional
    #[arg(long, value_name = "LEVEL")]
    level: Option<String>,
    /// The player's comfortable breath, in seconds
    #[arg(long, value_name = "SECONDS")]
    breath: Option<f64>,
    /// The player's fastest comfortable single tongue, in notes a second
    #[arg(long, value_name = "NOTES")]
    pub(crate) tongue: Option<f64>,
}

impl PlayerArgs {
    /// A player of the usual sort.
    pub(crate) const fn of(instrument: Option<String>, level: Option<String>) -> Self {
        Self {
            player: None,
            instrument,
            level,
            breath: None,
            tongue: None,
        }
    }

    pub(crate) fn asked(&self) -> PlayerAsked {
        PlayerAsked {
            file: self.player.clone(),
            text: None,
            instrument: self.instrument.clone(),
            level: self.level.clone(),
            breath: self.breath,
            tongue: self.tongue,
        }
    }
}
