//! `foreread manual` and `foreread completions`: what a system keeps beside a program, made from the commands themselves.

use crate::Line;
use crate::output::{say, write_out};
use clap::{Args, CommandFactory};
use clap_complete::Shell;
use desk::{DeskError, WholeFile};
use std::path::PathBuf;

/// What `foreread manual` can be told.
#[derive(Debug, Args)]
pub(crate) struct ManualArgs {
    /// A folder for the pages of all commands (`foreread.1`, `foreread-survey.1` …); without it the first page is printed
    #[arg(long, value_name = "FOLDER")]
    to: Option<PathBuf>,
}

/// What `foreread completions` can be told.
#[derive(Debug, Args)]
pub(crate) struct CompletionsArgs {
    /// The shell
    shell: Shell,
}

/// Writes the manual pages.
///
/// # Errors
/// If a page can't be written.
pub(crate) fn manual(args: &ManualArgs) -> Result<(), DeskError> {
    let mut line = Line::command();
    line.build();
    let Some(folder) = &args.to else {
        return write_out(&page(line, "foreread"));
    };
    std::fs::create_dir_all(folder).map_err(|source| DeskError::Unwritable {
        path: folder.clone(),
        source,
    })?;
    let mut count = 0;
    let commands: Vec<_> = line.get_subcommands().cloned().collect();
    let mut write = |name: &str, text: &str| {
        count += 1;
        WholeFile::write(&folder.join(format!("{name}.1")), text.as_bytes())
    };
    for command in commands {
        let name = format!("foreread-{}", command.get_name());
        // The page's own name is one word, what is typed is two.
        let typed = name.replacen('-', " ", 1);
        write(
            &name,
            &page(command.display_name(name.clone()).bin_name(typed), &name),
        )?;
    }
    write("foreread", &page(line, "foreread"))?;
    say(&format!("{count} pages written to {}", folder.display()));
    Ok(())
}

/// One page in the language of the system's manual.
///
/// Source: man(7); section 1 is for programs.
fn page(command: clap::Command, title: &str) -> String {
    let man = clap_mangen::Man::new(command)
        .title(title.to_uppercase())
        .source(concat!("Foreread ", env!("CARGO_PKG_VERSION")))
        .manual("Foreread");
    let mut bytes = Vec::new();
    // Memory takes whatever is written to it.
    let _ = man.render(&mut bytes);
    String::from_utf8_lossy(&bytes).into_owned()
}

/// Writes what a shell completes, to standard output.
///
/// # Errors
/// If it can't be written.
pub(crate) fn completions(args: &CompletionsArgs) -> Result<(), DeskError> {
    let mut bytes = Vec::new();
    clap_complete::generate(args.shell, &mut Line::command(), "foreread", &mut bytes);
    write_out(&String::from_utf8_lossy(&bytes))
}
