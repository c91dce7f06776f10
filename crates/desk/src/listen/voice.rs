//! By what does it sound? A SoundFont that she names, one that is installed, or our own tone.

use super::words;
use crate::DeskError;
use notation::{Finding, Severity};
use sound::{Font, Sounder, Timbre};
use std::path::{Path, PathBuf};

/// By what it sounds.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub enum Voice {
    /// A SoundFont that is installed where programs look for one, else our own tone.
    #[default]
    Installed,
    /// Our own tone, whatever is installed.
    Own,
    /// This SoundFont.
    Font(PathBuf),
}

/// Where SoundFonts are installed, the likeliest first: the folders of Debian's and other distributions' packages, and those of one user.
/// Source: Debian packages fluid-soundfont-gm, timgm6mb-soundfont (`/usr/share/sounds/sf2`); the others from memory.
const FOLDERS: [&str; 4] = [
    "/usr/share/sounds/sf2",
    "/usr/share/soundfonts",
    "/usr/local/share/sounds/sf2",
    "/usr/local/share/soundfonts",
];
const OF_A_USER: [&str; 2] = [".local/share/sounds/sf2", ".local/share/soundfonts"];

pub(super) fn sounder(
    voice: &Voice,
    own: Timbre,
    program: u8,
    findings: &mut Vec<Finding>,
) -> Result<Sounder, DeskError> {
    match voice {
        Voice::Own => Ok(Sounder::Own(own)),
        Voice::Font(path) => Ok(Sounder::Font(font(path)?, program.saturating_add(1))),
        Voice::Installed => {
            let Some(path) = installed(&folders()) else {
                return Ok(Sounder::Own(own));
            };
            let mut say = |what: String, advice: &str| {
                findings.push(Finding::new(Severity::Note, "sound", what, advice));
            };
            match font(&path) {
                Ok(font) => {
                    say(
                        format!(
                            "it sounds by the SoundFont {}, which is installed here",
                            path.display()
                        ),
                        "ask for --own-tone to hear the program's own tone, or name another with --soundfont",
                    );
                    Ok(Sounder::Font(font, program.saturating_add(1)))
                }
                Err(error) => {
                    say(
                        format!(
                            "the installed SoundFont {} can't be used ({error})",
                            path.display()
                        ),
                        "it sounds by the program's own tone; name another with --soundfont",
                    );
                    Ok(Sounder::Own(own))
                }
            }
        }
    }
}

fn folders() -> Vec<PathBuf> {
    let home = std::env::var_os("HOME").map(PathBuf::from);
    let of_a_user = home
        .iter()
        .flat_map(|home| OF_A_USER.iter().map(move |folder| home.join(folder)));
    of_a_user.chain(FOLDERS.iter().map(PathBuf::from)).collect()
}

/// The first SoundFont by name in the first folder that holds one; `default…` goes before others, as distributions link it.
fn installed(folders: &[PathBuf]) -> Option<PathBuf> {
    folders.iter().find_map(|folder| {
        let entries = std::fs::read_dir(folder).ok()?;
        let mut fonts: Vec<PathBuf> = entries
            .filter_map(|entry| Some(entry.ok()?.path()))
            .filter(|path| {
                path.extension()
                    .is_some_and(|end| end.eq_ignore_ascii_case("sf2"))
                    && path.is_file()
            })
            .collect();
        let rank = |path: &Path| {
            let name = path
                .file_name()
                .map(|name| name.to_string_lossy().to_lowercase())
                .unwrap_or_default();
            (!name.starts_with("default"), name)
        };
        fonts.sort_by_key(|path| rank(path));
        fonts.into_iter().next()
    })
}

/// The largest SoundFont that is read, in bytes.
const MOST_FONT_BYTES: u64 = 1 << 30;

fn font(path: &PathBuf) -> Result<Font, DeskError> {
    let about = std::fs::metadata(path).map_err(|source| crate::open::unreadable(path, source))?;
    if !about.is_file() || about.len() > MOST_FONT_BYTES {
        return Err(words::wrong(
            &format!("{} is no SoundFont", path.display()),
            "name a file that ends in .sf2",
        ));
    }
    let bytes = std::fs::read(path).map_err(|source| crate::open::unreadable(path, source))?;
    Ok(Font::read(&bytes)?)
}

#[cfg(test)]
mod tests {
    use super::installed;

    #[test]
    fn the_default_goes_before_the_first_by_name_and_other_files_are_passed_over() {
        let folder = std::env::temp_dir().join(format!("foreread-fonts-{}", std::process::id()));
        std::fs::create_dir_all(&folder).expect("a folder");
        for name in ["b.sf2", "A.SF2", "readme.txt"] {
            std::fs::write(folder.join(name), b"").expect("written");
        }
        let found = |folders: &[std::path::PathBuf]| {
            installed(folders).map(|path| path.file_name().expect("a name").to_string_lossy().into_owned())
        };
        let both = [folder.join("nowhere"), folder.clone()];
        assert_eq!(found(&both).as_deref(), Some("A.SF2"));
        std::fs::write(folder.join("default-GM.sf2"), b"").expect("written");
        assert_eq!(found(&both).as_deref(), Some("default-GM.sf2"));
        assert_eq!(found(&both[..1]), None);
        std::fs::remove_dir_all(&folder).expect("removed");
    }
}
