//! The press as a program: letters in on standard input, letters out on standard output, until the input ends.

use std::process::ExitCode;

/// Deep nesting in foreign SVG or in a typeset document must not end the program: room for it.
const STACK_BYTES: usize = 256 << 20;

fn main() -> ExitCode {
    let worker = std::thread::Builder::new()
        .name("press".to_owned())
        .stack_size(STACK_BYTES)
        .spawn(|| {
            let mut to = press::take_the_pipe()?;
            let mut from = std::io::BufReader::new(std::io::stdin());
            press::serve(&mut from, &mut to)
        });
    let done = worker.map(std::thread::JoinHandle::join);
    press::leave();
    match done {
        Ok(Ok(Ok(()))) => ExitCode::SUCCESS,
        Ok(Ok(Err(error))) => {
            press::complain(&error.to_string());
            ExitCode::FAILURE
        }
        Ok(Err(_)) | Err(_) => ExitCode::FAILURE,
    }
}
