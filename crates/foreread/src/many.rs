//! `foreread survey FOLDER --as csv`: many pieces, one table, with a bar that shows how far it is.

use crate::output::say;
use crate::piece::{PieceArgs, STANDARD_INPUT, standard_input};
use desk::{DeskError, Many, ManyAsked, Tally, Watch, WholeFile};
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use std::io::{BufWriter, IsTerminal, Write};
use std::path::Path;
use std::time::Instant;

/// Does it.
///
/// # Errors
/// Whatever the desk says.
pub(crate) fn run(piece: &PieceArgs, asked: &ManyAsked, to: Option<&Path>) -> Result<(), DeskError> {
    let started = Instant::now();
    let on_screen = to.is_none() && std::io::stdout().is_terminal();
    if on_screen && !asked.form.is_text() {
        return Err(DeskError::NotForTheEyes);
    }
    let (many, path) = if piece.is_standard_input() {
        let path = Path::new(STANDARD_INPUT);
        (Many::Bytes(STANDARD_INPUT, standard_input()?), path)
    } else {
        (Many::Path(&piece.piece), piece.piece.as_path())
    };
    // Rows on the screen and a bar would run into each other.
    let mut watch = Bar::new(!on_screen && std::io::stderr().is_terminal());
    let tally = match to {
        Some(to) => {
            let mut file = WholeFile::create(to)?;
            let tally = desk::survey_many(many, asked, &mut file, to, &mut watch)?;
            // A table without a single row helps nobody.
            if tally.pieces + tally.bad > 0 {
                file.finish()?;
            }
            tally
        }
        None => {
            let mut out = BufWriter::with_capacity(1 << 16, std::io::stdout());
            let name = Path::new("standard output");
            let tally = desk::survey_many(many, asked, &mut out, name, &mut watch)?;
            // What can't be flushed was reported by the last write, or nobody reads any more.
            let _ = out.flush();
            tally
        }
    };
    watch.bar.finish_and_clear();
    if !tally.cut_short && tally.pieces + tally.bad > 0 {
        say(&summary(&tally, started.elapsed().as_secs_f64()));
    }
    tally.verdict(path)
}

/// `312 files, 1204 pieces, 1530 parts; 2 could not be surveyed; 3 other files passed over; 1.8 seconds`
fn summary(tally: &Tally, seconds: f64) -> String {
    let counted = |count: usize, thing: &str| format!("{count} {thing}{}", if count == 1 { "" } else { "s" });
    let mut says = vec![format!(
        "{}, {}, {}",
        counted(tally.files, "file"),
        counted(tally.pieces, "piece"),
        counted(tally.parts, "part")
    )];
    if tally.bad > 0 {
        says.push(format!("{} could not be surveyed", tally.bad));
    }
    if tally.without > 0 {
        says.push(format!("{} without the part or tune asked for", tally.without));
    }
    if tally.passed_over > 0 {
        says.push(format!(
            "{} passed over",
            counted(tally.passed_over, "other file")
        ));
    }
    says.push(format!("{seconds:.1} seconds"));
    says.join("; ")
}

/// How far it is, on a terminal; nothing where nobody looks.
struct Bar {
    bar: ProgressBar,
}

impl Bar {
    fn new(shown: bool) -> Self {
        let target = if shown {
            ProgressDrawTarget::stderr()
        } else {
            ProgressDrawTarget::hidden()
        };
        let bar = ProgressBar::with_draw_target(Some(0), target);
        if let Ok(style) = ProgressStyle::with_template("{wide_bar} {pos} of {len} files, {eta} to go") {
            bar.set_style(style);
        }
        Self { bar }
    }
}

impl Watch for Bar {
    fn progress(&mut self, done: usize, of: usize) {
        let long = |count: usize| u64::try_from(count).unwrap_or(u64::MAX);
        self.bar.set_length(long(of));
        self.bar.set_position(long(done));
    }

    fn complain(&mut self, what: &str) {
        self.bar.suspend(|| say(&format!("foreread: {what}")));
    }
}
