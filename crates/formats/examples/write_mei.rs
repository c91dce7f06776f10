//! Which MEI comes of a file? `write_mei IN [OUT]`, or `write_mei --list LIST DIR`: a line of LIST is a file, and DIR gets
//! `000.mei`, `001.mei` … in its order (nothing for what can't be read). `--signs` writes rests of several bars as one sign.

use std::io::Write as _;
use std::path::Path;

fn main() -> std::io::Result<()> {
    let mut arguments: Vec<String> = std::env::args().skip(1).collect();
    let signs = arguments.iter().any(|argument| argument == "--signs");
    arguments.retain(|argument| argument != "--signs");
    let options = formats::MeiOptions {
        bar_signs: signs,
        engraving: None,
        ..formats::MeiOptions::default()
    };
    let mei = |path: &str| {
        let bytes = std::fs::read(path).ok()?;
        let (piece, _) = formats::read(&bytes, path).ok()?;
        Some(formats::write_mei(&piece, &options))
    };
    match arguments
        .iter()
        .map(String::as_str)
        .collect::<Vec<_>>()
        .as_slice()
    {
        ["--list", list, folder] => {
            for (nth, path) in std::fs::read_to_string(list)?.lines().enumerate() {
                if let Some((text, findings)) = mei(path) {
                    std::fs::write(Path::new(folder).join(format!("{nth:03}.mei")), text)?;
                    let said: String = findings.iter().map(|finding| format!("{finding}\n")).collect();
                    std::fs::write(Path::new(folder).join(format!("{nth:03}.txt")), said)?;
                }
            }
        }
        [path, rest @ ..] => {
            let Some((text, findings)) = mei(path) else {
                return Err(std::io::Error::other("no piece that can be read"));
            };
            let mut errors = std::io::stderr();
            for finding in findings {
                writeln!(errors, "{finding}")?;
            }
            match rest {
                [out] => std::fs::write(out, text)?,
                _ => std::io::stdout().write_all(text.as_bytes())?,
            }
        }
        [] => {}
    }
    Ok(())
}
