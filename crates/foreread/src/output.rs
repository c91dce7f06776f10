//! Where does the answer go? To the terminal, a pipe or a file.

use desk::DeskError;
use notation::Finding;
use std::io::{BufWriter, ErrorKind, StdoutLock, Write};

/// Writes to standard output.
///
/// # Errors
/// If it can't be written, unless whoever reads us has seen enough (`| head`).
pub(crate) fn write_out(text: &str) -> Result<(), DeskError> {
    stream_out(|out| out.write_all(text.as_bytes()))
}

/// Has something written to standard output as it is made.
///
/// # Errors
/// As [`write_out`].
pub(crate) fn stream_out(
    write: impl FnOnce(&mut BufWriter<StdoutLock>) -> std::io::Result<()>,
) -> Result<(), DeskError> {
    let mut out = BufWriter::with_capacity(1 << 16, std::io::stdout().lock());
    match write(&mut out).and_then(|()| out.flush()) {
        Err(error) if error.kind() == ErrorKind::BrokenPipe => Ok(()),
        Err(source) => Err(DeskError::Unwritable {
            path: "standard output".into(),
            source,
        }),
        Ok(()) => Ok(()),
    }
}

/// A line beside the answer, on standard error, without signs from a file or its name that would steer the terminal. Nothing can be done if
/// even that can't be written.
pub(crate) fn say(line: &str) {
    let shown = |sign: char| match sign {
        '\n' | '\r' | '\t' => Some(' '),
        sign => (!notation::steers(sign)).then_some(sign),
    };
    let line: String = line.chars().filter_map(shown).collect();
    let _ = writeln!(std::io::stderr().lock(), "{line}");
}

/// What was found on the way, one to a line, on standard error.
pub(crate) fn say_findings(findings: &[Finding]) {
    for finding in findings {
        let part = finding.part.as_deref().filter(|part| !part.is_empty());
        let part = part.map_or_else(String::new, |part| format!("{part}, "));
        say(&format!("{}: {part}{finding}", finding.severity.word()));
    }
}
