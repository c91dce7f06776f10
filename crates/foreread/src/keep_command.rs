//! `foreread backup`, `restore`, `export`: all that the app keeps, as one file, back again, and as files that anybody can read.

use crate::output::say;
use clap::Args;
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use store::{Over, Store, StoreError, Trouble};

/// Where the app keeps everything.
#[derive(Debug, Args)]
pub(crate) struct HomeArgs {
    /// Where everything is kept, instead of the folder that this system has for it
    #[arg(long, value_name = "FOLDER")]
    home: Option<PathBuf>,
}

impl HomeArgs {
    fn folder(&self) -> Result<PathBuf, StoreError> {
        self.home.clone().map_or_else(store::default_home, Ok)
    }
}

/// A backup to be made.
#[derive(Debug, Args)]
pub(crate) struct BackupArgs {
    /// The file to write, for example studio.zip; it must not be there yet
    #[arg(long, value_name = "FILE")]
    to: PathBuf,
    #[command(flatten)]
    home: HomeArgs,
}

/// A backup to be brought back.
#[derive(Debug, Args)]
pub(crate) struct RestoreArgs {
    /// The backup
    #[arg(value_name = "FILE")]
    backup: PathBuf,
    /// Where something is kept already: put that into a backup beside it first
    #[arg(long)]
    set_aside: bool,
    #[command(flatten)]
    home: HomeArgs,
}

/// An export to be made.
#[derive(Debug, Args)]
pub(crate) struct ExportArgs {
    /// The folder to write; it must be new or empty
    #[arg(long, value_name = "FOLDER")]
    to: PathBuf,
    #[command(flatten)]
    home: HomeArgs,
}

/// Writes a backup; the app may be open.
///
/// # Errors
/// Whatever the store says.
pub(crate) fn backup(args: &BackupArgs) -> Result<(), StoreError> {
    let made = Store::open_to_read(&args.home.folder()?)?.backup(&args.to)?;
    say(&format!(
        "{} kept in {} ({} MB); keep a copy away from this machine",
        counted(&made.counts),
        made.path.display(),
        made.bytes.div_ceil(1_000_000)
    ));
    Ok(())
}

/// Brings a backup back; the app must be closed.
///
/// # Errors
/// Whatever the store says.
pub(crate) fn restore(args: &RestoreArgs) -> Result<(), StoreError> {
    let home = args.home.folder()?;
    let over = if args.set_aside {
        Over::SetAside
    } else {
        Over::Nothing
    };
    let restored = store::restore(&args.backup, &home, over)?;
    let day = restored.made.get(..10).unwrap_or(&restored.made);
    say(&format!(
        "{} of {day} are back in {}",
        counted(&restored.counts),
        home.display()
    ));
    if let Some(aside) = &restored.set_aside {
        say(&format!("what was there before is in {}", aside.display()));
    }
    Ok(())
}

/// Writes everything as open formats; the app may be open.
///
/// # Errors
/// Whatever the store says.
pub(crate) fn export(args: &ExportArgs) -> Result<(), StoreError> {
    let exported = Store::open_to_read(&args.home.folder()?)?.export(&args.to)?;
    exported.notes.iter().for_each(|note| say(note));
    let readme = Path::new(&exported.folder).join("README.txt");
    say(&format!(
        "{} files written; {} says what is where",
        exported.files,
        readme.display()
    ));
    Ok(())
}

/// `11 pieces, 10 players, 1 mark`.
fn counted(counts: &[(&str, i64)]) -> String {
    let counts = counts
        .iter()
        .filter(|(_, count)| *count > 0)
        .map(|(name, count)| {
            let name = if *count == 1 {
                name.trim_end_matches('s')
            } else {
                name
            };
            format!("{count} {name}")
        });
    let said = counts.collect::<Vec<_>>().join(", ");
    if said.is_empty() {
        "nothing but settings".to_owned()
    } else {
        said
    }
}

/// What becomes of a command about what is kept.
pub(crate) fn ended(outcome: Result<(), StoreError>) -> ExitCode {
    let Err(error) = outcome else {
        return ExitCode::SUCCESS;
    };
    say(&format!("foreread: {error}"));
    ExitCode::from(match error.trouble() {
        Trouble::Request => 2,
        Trouble::File => 3,
        Trouble::Busy | Trouble::Machine => 4,
    })
}
