//! The command line: thin commands over the desk.

#[cfg(feature = "app")]
mod app_command;
#[cfg(feature = "whole")]
mod call_command;
mod convert_command;
#[cfg(feature = "whole")]
mod drill_command;
#[cfg(feature = "app")]
mod keep_command;
#[cfg(feature = "whole")]
mod log_command;
mod many;
#[cfg(feature = "whole")]
mod mark_command;
#[cfg(feature = "whole")]
mod ornaments;
mod output;
#[cfg(feature = "whole")]
mod paper;
mod paperwork_command;
mod piece;
#[cfg(feature = "whole")]
mod plan_command;
#[cfg(feature = "whole")]
mod play_command;
mod player;
#[cfg(feature = "whole")]
mod reading_command;
#[cfg(feature = "whole")]
mod scan_command;
#[cfg(feature = "whole")]
mod sheet_command;
mod study_commands;
mod survey_command;
mod survey_line;
#[cfg(feature = "whole")]
mod take_command;

use clap::{Parser, Subcommand};
use desk::{DeskError, Status};
use std::process::ExitCode;

/// Reads a single-line piece the way a good teacher reads it before the first note.
#[derive(Debug, Parser)]
#[command(
    name = "foreread",
    version,
    about,
    disable_help_subcommand = true,
    args_conflicts_with_subcommands = true
)]
#[cfg_attr(
    feature = "app",
    command(
        long_about = "Reads a single-line piece the way a good teacher reads it before the first note. Without a command it opens the folder and the part in the browser, on this machine alone."
    )
)]
struct Line {
    #[command(subcommand)]
    command: Option<Command>,
    #[cfg(feature = "app")]
    #[command(flatten)]
    app: app_command::AppArgs,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Study a part before the first note: twelve questions, each answered with its evidence
    Survey(survey_command::SurveyArgs),
    /// Where it will go wrong for a player: brackets of one to four bars, why, and what to do about each
    Spots(study_commands::SpotsArgs),
    /// The fingerings that lie best through a piece, and why: woodwind fingerings, valves, slide positions
    Fingers(study_commands::FingersArgs),
    /// The first tempo at which nothing has to be left out, and the climb from there to the marked one
    Ladder(study_commands::LadderArgs),
    #[cfg(feature = "whole")]
    /// The part on paper: with a teacher's pencil marks, clean, in large print, spaced, or only its hard bars
    Mark(mark_command::MarkArgs),
    #[cfg(feature = "whole")]
    /// One or two pages to hand out: the twelve answers with engraved excerpts, trouble spots, first tempo, words, cautions
    Sheet(sheet_command::SheetArgs),
    #[cfg(feature = "whole")]
    /// What to look at in the minute or half minute before sight-reading, in order
    Card(sheet_command::CardArgs),
    #[cfg(feature = "whole")]
    /// The twelve questions to be answered before playing, to ask or to print; and what there is to see
    Look(sheet_command::LookArgs),
    #[cfg(feature = "whole")]
    /// Hear the part, some bars, an ornament or a rhythm, at any tempo, with click and drone: to the sound card or a file
    Play(play_command::PlayArgs),
    #[cfg(feature = "whole")]
    /// Drills made from the piece: scales in its keys, each trouble spot in other rhythms, slower, simpler, look-alikes back to back
    Drill(drill_command::DrillArgs),
    #[cfg(feature = "whole")]
    /// What to do on which day, from today to a lesson, an audition or a recital: words, JSON, a calendar file, a hand-out
    Plan(Box<plan_command::PlanArgs>),
    #[cfg(feature = "whole")]
    /// Write down what was practised (bars, tempo, how often right, how it felt), or see what was; the plan goes by it
    Log(log_command::LogArgs),
    #[cfg(feature = "whole")]
    /// Hear a recording of the piece: what was played, bar by bar, where it broke, tuning and time, what to work on
    Take(Box<take_command::TakeArgs>),
    #[cfg(feature = "whole")]
    /// An audition's requirements: cuts found and timed at both tempi, errata applied, what changed since
    Call(call_command::CallArgs),
    #[cfg(feature = "whole")]
    /// Read printed pages (PNG, JPEG, TIFF, PDF) into a MusicXML file, and say how sure it is and where to look
    Scan(scan_command::ScanArgs),
    #[cfg(feature = "whole")]
    /// Fresh pieces to read at sight: by a published level table or like a given piece, checked feature by feature
    Reading(reading_command::ReadingArgs),
    /// Write a piece, a tune of a book or one part of a score as a file of another standard
    Convert(convert_command::ConvertArgs),
    #[cfg(feature = "app")]
    /// All that is kept (pieces, players, pencil, practice, takes) as one file; the app may be open
    Backup(keep_command::BackupArgs),
    #[cfg(feature = "app")]
    /// Bring a backup back; never over anything unasked
    Restore(keep_command::RestoreArgs),
    #[cfg(feature = "app")]
    /// All that is kept as files that anybody can read: MusicXML, CSV, JSON, the files as they came
    Export(keep_command::ExportArgs),
    /// The manual's pages, for the system's `man`
    Manual(paperwork_command::ManualArgs),
    /// What a shell (bash, zsh, fish, elvish, powershell) completes
    Completions(paperwork_command::CompletionsArgs),
}

/// What a plain survey was asked; `None` for every other line, help and mistakes too.
fn plain_survey() -> Option<survey_command::SurveyArgs> {
    let mut words = std::env::args_os().skip(1);
    words.next().filter(|command| command == "survey")?;
    survey_line::read(&words.collect::<Vec<_>>())
}

fn main() -> ExitCode {
    match plain_survey() {
        Some(args) => ended(survey_command::run(&args)),
        None => any_line(),
    }
}

/// Does what any line asks. Apart from [`main`], for what all the commands need lies on the stack before the first of them begins.
#[inline(never)]
fn any_line() -> ExitCode {
    let line = Line::parse();
    let Some(command) = &line.command else {
        return alone(&line);
    };
    let outcome = match command {
        Command::Survey(args) => survey_command::run(args),
        Command::Spots(args) => study_commands::spots(args),
        Command::Fingers(args) => study_commands::fingers(args),
        Command::Ladder(args) => study_commands::ladder(args),
        #[cfg(feature = "whole")]
        Command::Mark(args) => mark_command::run(args),
        #[cfg(feature = "whole")]
        Command::Sheet(args) => sheet_command::sheet(args),
        #[cfg(feature = "whole")]
        Command::Card(args) => sheet_command::card(args),
        #[cfg(feature = "whole")]
        Command::Look(args) => sheet_command::look(args),
        #[cfg(feature = "whole")]
        Command::Play(args) => play_command::run(args),
        #[cfg(feature = "whole")]
        Command::Drill(args) => drill_command::run(args),
        #[cfg(feature = "whole")]
        Command::Plan(args) => plan_command::run(args),
        #[cfg(feature = "whole")]
        Command::Log(args) => log_command::run(args),
        #[cfg(feature = "whole")]
        Command::Take(args) => take_command::run(args),
        #[cfg(feature = "whole")]
        Command::Call(args) => call_command::run(args),
        #[cfg(feature = "whole")]
        Command::Scan(args) => scan_command::run(args),
        #[cfg(feature = "whole")]
        Command::Reading(args) => reading_command::run(args),
        Command::Convert(args) => convert_command::run(args),
        #[cfg(feature = "app")]
        Command::Backup(args) => return keep_command::ended(keep_command::backup(args)),
        #[cfg(feature = "app")]
        Command::Restore(args) => return keep_command::ended(keep_command::restore(args)),
        #[cfg(feature = "app")]
        Command::Export(args) => return keep_command::ended(keep_command::export(args)),
        Command::Manual(args) => paperwork_command::manual(args),
        Command::Completions(args) => paperwork_command::completions(args),
    };
    ended(outcome)
}

fn ended(outcome: Result<(), DeskError>) -> ExitCode {
    match outcome {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            output::say(&format!("foreread: {error}"));
            exit_code(&error)
        }
    }
}

/// Without a command: the app, if it was built in.
#[cfg(feature = "app")]
fn alone(line: &Line) -> ExitCode {
    app_command::run(&line.app)
}

/// Without a command: what the commands are.
#[cfg(not(feature = "app"))]
fn alone(_: &Line) -> ExitCode {
    use clap::CommandFactory;
    // Nothing can be done if even the help can't be written.
    let _ = Line::command().print_help();
    ExitCode::from(2)
}

fn exit_code(error: &DeskError) -> ExitCode {
    ExitCode::from(match error.status() {
        Status::Request => 2,
        Status::File => 3,
        Status::Machine => 4,
    })
}
