//! How are ornaments to be played? A period's rules, the teacher's choices at single ones, and the file that keeps them.

use crate::listen::words;
use crate::{DeskError, WholeFile, small_file};
use notation::Piece;
use performance::ornament::Period;
use performance::play::{OrnamentPlayed, PlayOptions, perform};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use survey::{Context, Survey};

/// What was said about ornaments.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct OrnamentsAsked {
    /// Whose rules they follow; `None` takes what is kept, else [`Period::default`].
    pub period: Option<Period>,
    /// What the teacher has chosen at single ornaments and grace notes: `BAR:BEAT=WORDS` (`12:3=long`, `14:1=upper,ending`).
    pub choices: Vec<String>,
    /// The file in which her choices for this piece are kept: read first; what is chosen now is added to it.
    pub kept: Option<PathBuf>,
}

/// The file.
#[derive(Clone, PartialEq, Eq, Debug, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Kept {
    #[serde(default)]
    period: Option<String>,
    #[serde(default)]
    choices: BTreeMap<String, String>,
}

const FILE: small_file::Kind = small_file::Kind {
    missing: |path| DeskError::Profile {
        path,
        line: 1,
        what: "there is no such file of choices".to_owned(),
        advice: "choose something first: --choose 12:3=long --choices FILE begins it".to_owned(),
    },
    name: "file of choices",
    example: "choices.toml",
    most_bytes: 1_000_000,
};

/// What holds for a performance.
pub(crate) struct Settled {
    pub period: Period,
    pub choices: Vec<String>,
    keep: Option<(PathBuf, Kept)>,
}

impl OrnamentsAsked {
    /// What is kept and what is said now, together.
    ///
    /// # Errors
    /// If the file can't be read or understood.
    pub(crate) fn settled(&self) -> Result<Settled, DeskError> {
        let new = self.period.is_some() || !self.choices.is_empty();
        let mut kept = match &self.kept {
            Some(path) if path.exists() || !new => read(path)?,
            _ => Kept::default(),
        };
        if let Some(period) = self.period {
            kept.period = Some(period.word().to_owned());
        }
        for choice in &self.choices {
            let (at, said) = choice.split_once('=').ok_or_else(|| words::no_choice(choice))?;
            kept.choices.insert(at.trim().to_owned(), said.trim().to_owned());
        }
        let period = match &kept.period {
            None => Period::default(),
            Some(word) => Period::from_word(word).ok_or_else(|| {
                words::wrong(
                    &format!("“{word}” is no period whose rules are known"),
                    "there are baroque, classical and modern",
                )
            })?,
        };
        Ok(Settled {
            period,
            choices: kept
                .choices
                .iter()
                .map(|(at, said)| format!("{at}={said}"))
                .collect(),
            keep: self.kept.clone().filter(|_| new).map(|path| (path, kept)),
        })
    }
}

impl Settled {
    /// Writes down what was newly chosen, once it is understood.
    ///
    /// # Errors
    /// If it can't be written.
    pub(crate) fn keep(&self) -> Result<(), DeskError> {
        let Some((path, kept)) = &self.keep else {
            return Ok(());
        };
        let mut text = "# How ornaments and grace notes are played in this piece, as the teacher chose: BAR:BEAT and what holds there.\n"
            .to_owned();
        if let Some(period) = &kept.period {
            text.push_str(&format!("period = \"{period}\"\n"));
        }
        text.push_str("\n[choices]\n");
        for (at, said) in &kept.choices {
            text.push_str(&format!("\"{}\" = \"{}\"\n", clean(at), clean(said)));
        }
        WholeFile::write(path, text.as_bytes())
    }
}

fn clean(text: &str) -> String {
    text.chars()
        .filter(|c| !c.is_control() && !matches!(c, '"' | '\\'))
        .collect()
}

fn read(path: &Path) -> Result<Kept, DeskError> {
    let text = small_file::read(path, &FILE)?;
    toml::from_str(&text).map_err(|error| {
        let before = error.span().map_or(0, |span| span.start.min(text.len()));
        DeskError::Profile {
            path: path.to_path_buf(),
            line: 1 + text.bytes().take(before).filter(|byte| *byte == b'\n').count(),
            what: "this line of the file of choices is not understood".to_owned(),
            advice:
                "write period = \"baroque\" at the top, and below [choices] lines such as \"12:3\" = \"long\""
                    .to_owned(),
        }
    })
}

/// Every ornament of the part as it is played by these rules, for writing out.
///
/// # Errors
/// If a choice is not understood or names no note.
pub(crate) fn played(
    piece: &Piece,
    ctx: &Context,
    survey: &Survey,
    asked: &OrnamentsAsked,
) -> Result<Vec<OrnamentPlayed>, DeskError> {
    let settled = asked.settled()?;
    let options = PlayOptions {
        period: settled.period,
        keys: survey
            .key
            .as_ref()
            .map(|key| key.regions.clone())
            .unwrap_or_default(),
        beats: crate::listen::beats(survey),
        choices: words::choices(piece, ctx, survey, &settled.choices)?,
        ..PlayOptions::default()
    };
    settled.keep()?;
    Ok(perform(piece, 0, &options)
        .map(|played| played.ornaments)
        .unwrap_or_default())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn asked(choices: &[&str], kept: &Path) -> OrnamentsAsked {
        OrnamentsAsked {
            period: None,
            choices: choices.iter().map(|&one| one.to_owned()).collect(),
            kept: Some(kept.to_path_buf()),
        }
    }

    #[test]
    fn what_is_chosen_once_holds_the_next_time_and_can_be_chosen_anew() {
        let folder = std::env::temp_dir().join(format!("foreread-choices-{}", std::process::id()));
        std::fs::create_dir_all(&folder).expect("a folder");
        let path = folder.join("choices.toml");
        let first = OrnamentsAsked {
            period: Some(Period::Baroque),
            ..asked(&["12:3=long"], &path)
        };
        first.settled().expect("understood").keep().expect("written");
        asked(&["14:1=upper,ending"], &path)
            .settled()
            .expect("understood")
            .keep()
            .expect("written");
        asked(&["12:3=short"], &path)
            .settled()
            .expect("understood")
            .keep()
            .expect("written");
        let later = asked(&[], &path).settled().expect("understood");
        assert_eq!(later.period, Period::Baroque);
        assert_eq!(later.choices, ["12:3=short", "14:1=upper,ending"]);
        assert!(later.keep.is_none(), "nothing new: nothing is written");
        std::fs::remove_dir_all(&folder).expect("removed");
    }

    #[test]
    fn a_file_that_is_not_there_or_not_understood_is_said() {
        let nowhere = asked(&[], Path::new("nowhere/choices.toml"));
        assert!(nowhere.settled().is_err());
        let folder = std::env::temp_dir().join(format!("foreread-no-choices-{}", std::process::id()));
        std::fs::create_dir_all(&folder).expect("a folder");
        let path = folder.join("choices.toml");
        std::fs::write(&path, "[choices]\n\"12:3\" = long\n").expect("written");
        let error = asked(&["1:1=long"], &path)
            .settled()
            .err()
            .expect("an error")
            .to_string();
        assert!(error.contains("2"), "{error}");
        std::fs::write(&path, "period = \"romantic\"\n").expect("written");
        assert!(asked(&[], &path).settled().is_err());
        std::fs::remove_dir_all(&folder).expect("removed");
    }
}
