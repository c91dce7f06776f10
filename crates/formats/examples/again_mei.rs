//! Does a piece come back as the same page when it is written as MEI and read again? One line for each file named.

use std::io::Write as _;

fn main() -> std::io::Result<()> {
    let mut out = std::io::stdout();
    for path in std::env::args().skip(1) {
        let Ok(bytes) = std::fs::read(&path) else { continue };
        let Ok((piece, _)) = formats::read(&bytes, &path) else {
            continue;
        };
        let (text, _) = formats::write_mei(&piece, &formats::MeiOptions::default());
        let said = match formats::read(text.as_bytes(), &path) {
            Ok((again, _)) => piece
                .same_page(&again)
                .map_or_else(|difference| difference.to_string(), |()| "same".to_owned()),
            Err(error) => format!("not read: {error}"),
        };
        writeln!(out, "{path}: {said}")?;
    }
    Ok(())
}
