//! What tests of the command line have in common: running it on the demo.

#![allow(clippy::unwrap_used, reason = "a test that cannot set itself up has failed")]

use std::path::Path;
use std::process::Command;

/// The path of a file of the demo.
pub fn demo(name: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../../demo")
        .join(name);
    path.to_str().unwrap().to_owned()
}

/// Exit status, standard output and standard error.
pub fn foreread(arguments: &[&str]) -> (Option<i32>, String, String) {
    let output = Command::new(env!("CARGO_BIN_EXE_foreread"))
        .args(arguments)
        .output()
        .unwrap();
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (output.status.code(), text(output.stdout), text(output.stderr))
}
