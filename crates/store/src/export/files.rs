//! How are files named and written so that no name from outside leads anywhere, on any system?

use super::Exported;
use super::table::csv;
use crate::StoreError;
use serde::Serialize;
use serde_json::Value;
use std::path::{Path, PathBuf};

/// A folder that is being filled.
pub(super) struct Out {
    folder: PathBuf,
    files: usize,
    notes: Vec<String>,
}

impl Out {
    pub(super) fn begin(folder: &Path) -> Result<Self, StoreError> {
        std::fs::create_dir_all(folder).map_err(StoreError::unwritable(folder))?;
        let mut there = std::fs::read_dir(folder).map_err(StoreError::unreadable(folder))?;
        if there.next().is_some() {
            return Err(StoreError::refused(
                format!("{} is not empty", folder.display()),
                "name a new folder; an export never goes over anything",
            ));
        }
        Ok(Self {
            folder: folder.to_path_buf(),
            files: 0,
            notes: Vec::new(),
        })
    }

    pub(super) fn end(self) -> Exported {
        Exported {
            folder: self.folder,
            files: self.files,
            notes: self.notes,
        }
    }

    pub(super) fn note(&mut self, note: String) {
        self.notes.push(note);
    }

    /// Writes a file; its name is made of [`slug`]s and [`plain_name`]s.
    pub(super) fn bytes(&mut self, name: &str, bytes: &[u8]) -> Result<(), StoreError> {
        let path = self.folder.join(name);
        if let Some(parent) = path.parent() {
            std::fs::create_dir_all(parent).map_err(StoreError::unwritable(parent))?;
        }
        std::fs::write(&path, bytes).map_err(StoreError::unwritable(&path))?;
        self.files += 1;
        Ok(())
    }

    pub(super) fn text(&mut self, name: &str, text: &str) -> Result<(), StoreError> {
        self.bytes(name, text.as_bytes())
    }

    pub(super) fn json(&mut self, name: &str, value: &Value) -> Result<(), StoreError> {
        let mut text = serde_json::to_string_pretty(value)?;
        text.push('\n');
        self.text(name, &text)
    }

    /// Writes rows as JSON and as CSV; no rows, no files.
    pub(super) fn table<T: Serialize>(&mut self, name: &str, rows: &[T]) -> Result<(), StoreError> {
        if rows.is_empty() {
            return Ok(());
        }
        let rows = serde_json::to_value(rows)?;
        self.text(&format!("{name}.csv"), &csv(&rows))?;
        self.json(&format!("{name}.json"), &rows)
    }
}

/// A title as a name: small letters and figures, all else a hyphen; never empty.
pub(super) fn slug(title: &str) -> String {
    let mut name = String::new();
    for letter in title.chars().flat_map(char::to_lowercase) {
        if letter.is_alphanumeric() {
            name.push(letter);
        } else if !name.is_empty() && !name.ends_with('-') {
            name.push('-');
        }
        if name.chars().count() >= 60 {
            break;
        }
    }
    let name = name.trim_end_matches('-');
    if name.is_empty() {
        "untitled".to_owned()
    } else {
        name.to_owned()
    }
}

/// A file's own name, less what some system can't have or would take for something else.
pub(super) fn plain_name(name: &str) -> String {
    let bare = name.rsplit(['/', '\\']).next().unwrap_or(name);
    let plain: String = bare
        .chars()
        .map(|letter| match letter {
            ':' | '*' | '?' | '"' | '<' | '>' | '|' => '_',
            letter if letter.is_control() => '_',
            letter => letter,
        })
        .collect();
    let plain = plain.trim_matches(['.', ' ']);
    // The end says what kind of file it is.
    let long = plain.chars().count().saturating_sub(100);
    let plain: String = plain.chars().skip(long).collect();
    if plain.is_empty() {
        "file".to_owned()
    } else {
        plain
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_from_outside_lead_nowhere() {
        assert_eq!(slug("The Causeway at Dusk!"), "the-causeway-at-dusk");
        assert_eq!(slug("Für Élise / №1"), "für-élise-1");
        assert_eq!(slug("../.."), "untitled");
        assert_eq!(plain_name("../../etc/passwd"), "passwd");
        assert_eq!(plain_name("C:\\music\\a:b?.mxl"), "a_b_.mxl");
        assert_eq!(plain_name(".."), "file");
        assert_eq!(plain_name(&format!("{}.musicxml", "a".repeat(300))).len(), 100);
        assert!(plain_name(&format!("{}.musicxml", "a".repeat(300))).ends_with(".musicxml"));
    }
}
