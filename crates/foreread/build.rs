//! When must the program be linked anew, though none of its sources changed?

use std::io::Write as _;

fn main() -> std::io::Result<()> {
    // The order of its functions: see `tools/build`.
    writeln!(
        std::io::stdout(),
        "cargo::rerun-if-changed=../../tools/first_code.txt"
    )
}
