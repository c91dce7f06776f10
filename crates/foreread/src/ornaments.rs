//! Which words on the command line say how ornaments are played?

use clap::{Args, ValueEnum};
use desk::{OrnamentsAsked, Period};
use std::path::PathBuf;

/// Whose rules, and the teacher's choices.
#[derive(Debug, Args)]
pub(crate) struct OrnamentArgs {
    /// Whose rules ornaments and grace notes follow (else what --choices keeps, else modern)
    #[arg(long, value_enum, value_name = "PERIOD")]
    period: Option<PeriodName>,
    /// The teacher's own choice at an ornament or grace note, in words: 12:3=long, 14:1=upper,ending (long, short, before,
    /// on; upper, main, ending, no-ending; plain; baroque, classical, modern)
    #[arg(long = "choose", value_name = "BAR:BEAT=WORDS")]
    choices: Vec<String>,
    /// The file that keeps her choices for this piece: it is read, and what is chosen now is added to it
    #[arg(long = "choices", value_name = "FILE")]
    kept: Option<PathBuf>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum PeriodName {
    /// Trills from above on the beat, long appoggiaturas
    Baroque,
    /// From about 1750 to 1828
    Classical,
    /// Trills from the main note, grace notes short
    Modern,
}

impl OrnamentArgs {
    /// True if anything is said.
    pub(crate) fn any(&self) -> bool {
        self.period.is_some() || !self.choices.is_empty() || self.kept.is_some()
    }

    /// The same for the desk.
    pub(crate) fn asked(&self) -> OrnamentsAsked {
        OrnamentsAsked {
            period: self.period.map(|period| match period {
                PeriodName::Baroque => Period::Baroque,
                PeriodName::Classical => Period::Classical,
                PeriodName::Modern => Period::Modern,
            }),
            choices: self.choices.clone(),
            kept: self.kept.clone(),
        }
    }
}
