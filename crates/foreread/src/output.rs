//! Where does the answer go? To the terminal, a pipe or a file.

use desk::DeskError;
use notation::Finding;
use std::io::{ErrorKind, Write};

/// Writes to standard output.
///
/// # Errors
/// If it can't be written, unless whoever reads us has seen enough (`| head`).
pub(crate) fn write_out(text: &str) -> Result<(), DeskError> {
    let mut out = std::io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(error) if error.kind() == ErrorKind::BrokenPipe => Ok(()),
        Err(source) => Err(DeskError::Unwritable {
            path: "standard output".into(),
            source,
        }),
        Ok(()) => Ok(()),
    }
}

/// A line beside the answer, on standard error. Nothing can be done if even that can't be written.
pub(crate) fn say(line: &str) {
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
