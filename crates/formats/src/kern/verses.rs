//! Which syllable belongs to which note? The spines `**text` and `**silbe`, one for each verse; fingerings and other
//! spines that stand beside the notes.
//!
//! Source: Humdrum reference, `**text` and `**silbe`: a hyphen at the end or start of a token joins syllables.

use super::layout::Home;
use super::part::Reader;
use super::scan::Cell;
use notation::{DirectionKind, EventKind, Lyric, Technical};

/// Spines of sung words.
pub(super) fn is_verse(kind: &str) -> bool {
    matches!(kind, "text" | "silbe" | "lyrics") || kind.starts_with("text-")
}

impl<'a> Reader<'a, '_> {
    /// Reads a syllable.
    pub(super) fn syllable(&mut self, cell: &Cell<'a>, home: Home) {
        let spine = self.spine_of(cell);
        let text = cell.text.trim();
        let extends = text.ends_with('_') || text.ends_with('|');
        let text = text.trim_end_matches(['_', '|']);
        let goes_on = text.len() > 1 && text.ends_with('-');
        let joined = text.len() > 1 && text.starts_with('-') || self.spines[spine].inside_word;
        let bare = text.trim_matches('-');
        let syllabic = match (joined, goes_on) {
            (false, false) => "single",
            (false, true) => "begin",
            (true, true) => "middle",
            (true, false) => "end",
        };
        self.spines[spine].inside_word = goes_on;
        let bare: String = bare.chars().take(200).collect();
        if bare.is_empty() {
            // The syllable before is held.
            let last = self.spines[spine].last_syllable;
            let lyrics = last.and_then(|at| self.parts[home.part].part.events.get_mut(at));
            let line = self.spines[spine].verse.to_string();
            let lyrics = lyrics.into_iter().flat_map(|event| &mut event.lyrics);
            lyrics
                .filter(|lyric| lyric.line == line)
                .for_each(|lyric| lyric.extend = true);
            return;
        }
        let verse = self.spines[spine].verse;
        let event = self.spines[home.notes].event;
        self.spines[spine].last_syllable = event.or(self.spines[spine].last_syllable);
        let Some(event) = event.and_then(|event| self.parts[home.part].part.events.get_mut(event)) else {
            self.left_out(Some(home.part), true, "a syllable without a note of its own");
            return;
        };
        if event.lyrics.len() < 100 {
            event.lyrics.push(Lyric {
                line: verse.to_string(),
                text: bare,
                syllabic: syllabic.to_owned(),
                extend: extends,
            });
            self.score.taken += 1;
        }
    }

    /// Reads the fingerings of a chord, from the lowest head up.
    pub(super) fn fingering(&mut self, cell: &Cell<'a>, home: Home) {
        let side = self.spines[self.spine_of(cell)].side;
        let fingers: Vec<&str> = cell
            .text
            .split(' ')
            .filter(|finger| !finger.is_empty())
            .take(50)
            .collect();
        let event = self.spines[home.notes].event;
        let event = event.and_then(|event| self.parts[home.part].part.events.get_mut(event));
        let Some(EventKind::Chord(heads)) = event.map(|event| &mut event.kind) else {
            self.left_out(Some(home.part), true, "a fingering without a note of its own");
            return;
        };
        let mut by_pitch: Vec<usize> = (0..heads.len()).collect();
        by_pitch.sort_by_key(|head| heads[*head].pitch());
        // More fingers than heads: changes of finger on the last.
        for (nth, finger) in fingers.iter().enumerate() {
            let Some(head) = by_pitch.get(nth).or(by_pitch.last()) else {
                break;
            };
            heads[*head].technical.push(Technical {
                name: "fingering".to_owned(),
                text: finger.chars().take(20).collect(),
                side,
            });
            self.score.taken += 1;
        }
    }

    /// Keeps what another spine says as a sign with its text.
    pub(super) fn beside(&mut self, cell: &Cell<'a>, home: Home, kind: &str) {
        let (name, printed) = match kind {
            "mxhm" | "harte" | "chord" | "cdata" => ("harmony", true),
            "fb" | "Bnum" | "fba" => ("figured-bass", true),
            "harm" | "root" | "rhrm" | "deg" | "degree" | "function" => ("analysis", false),
            _ => {
                self.left_out(None, true, &format!("the spine **{kind}"));
                return;
            }
        };
        let kind = DirectionKind::Sign {
            name: name.to_owned(),
            text: cell.text.chars().take(200).collect(),
        };
        self.direct(cell, home, None, printed, kind);
    }
}
