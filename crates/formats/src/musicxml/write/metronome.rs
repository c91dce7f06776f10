//! How is a metronome mark written? The plain ones, and those that the reader could only spell out as text.

use super::part::PartWriter;
use notation::{Direction, Metronome, MetronomeValue, NoteValue};

impl PartWriter<'_, '_> {
    pub(super) fn metronome(&mut self, metronome: &Metronome, direction: &Direction) {
        self.open_metronome(direction, metronome.parentheses);
        self.beat(metronome.beat, metronome.dots);
        match &metronome.value {
            MetronomeValue::PerMinute(text) => self.out.leaf("per-minute", text),
            MetronomeValue::Equals(value, dots) => self.beat(*value, *dots),
        }
        self.out.close("metronome");
    }

    fn open_metronome(&mut self, direction: &Direction, parentheses: bool) {
        self.out
            .tag("metronome")
            .yes("parentheses", parentheses)
            .printed(direction.printed)
            .attr("id", direction.id)
            .open();
    }

    fn beat(&mut self, value: NoteValue, dots: u8) {
        self.out.leaf("beat-unit", value.name());
        (0..dots).for_each(|_| self.out.empty("beat-unit-dot"));
    }

    /// A mark by its text; false if the text is none.
    pub(super) fn spelled_metronome(&mut self, direction: &Direction, text: &str) -> bool {
        let Some(spelled) = Spelled::parse(text) else {
            return false;
        };
        self.open_metronome(direction, false);
        if spelled.is_equation() {
            self.equation(&spelled);
        } else {
            for note in &spelled.notes {
                if note.tied {
                    self.out.open("beat-unit-tied");
                    self.beat(note.value, note.dots);
                    self.out.close("beat-unit-tied");
                } else {
                    self.beat(note.value, note.dots);
                }
            }
            if let Some(per_minute) = spelled.per_minute {
                self.out.leaf("per-minute", per_minute);
            }
        }
        self.out.close("metronome");
        true
    }

    /// Notes, an equals sign, notes.
    fn equation(&mut self, spelled: &Spelled<'_>) {
        if spelled.swing {
            self.out.empty("metronome-arrows");
        }
        for (at, note) in spelled.notes.iter().enumerate() {
            if spelled.equals == Some(at) {
                self.out.leaf("metronome-relation", "equals");
            }
            self.out.open("metronome-note");
            self.out.leaf("metronome-type", note.value.name());
            (0..note.dots).for_each(|_| self.out.empty("metronome-dot"));
            if let Some((actual, normal)) = note.tuplet {
                self.out.tag("metronome-tuplet").attr("type", "start").open();
                self.out.leaf("actual-notes", actual);
                self.out.leaf("normal-notes", normal);
                self.out.close("metronome-tuplet");
            }
            self.out.close("metronome-note");
        }
    }
}

/// One note of a spelled-out mark.
#[derive(Clone, PartialEq, Eq, Debug)]
struct Note {
    value: NoteValue,
    dots: u8,
    tied: bool,
    tuplet: Option<(u16, u16)>,
}

/// `quarter dot tied eighth 60`, `quarter = half`, `(swing) eighth eighth = quarter (3 in the time of 2) eighth`.
#[derive(Debug, Default)]
struct Spelled<'t> {
    swing: bool,
    notes: Vec<Note>,
    /// The note before which the equals sign stands.
    equals: Option<usize>,
    per_minute: Option<&'t str>,
}

impl<'t> Spelled<'t> {
    fn parse(text: &'t str) -> Option<Self> {
        let mut spelled = Self::default();
        let mut rest = text.trim_start();
        if let Some(after) = rest.strip_prefix("(swing)") {
            (spelled.swing, rest) = (true, after.trim_start());
        }
        let mut tied = false;
        while !rest.is_empty() {
            let (word, after) = rest.split_once(' ').unwrap_or((rest, ""));
            let next = after.trim_start();
            if let Some(value) = NoteValue::from_name(word) {
                spelled.notes.push(Note {
                    value,
                    dots: 0,
                    tied: std::mem::take(&mut tied),
                    tuplet: None,
                });
            } else if word == "=" && spelled.equals.is_none() {
                spelled.equals = Some(spelled.notes.len());
            } else if word == "tied" {
                tied = true;
            } else if word == "dot" {
                let note = spelled.notes.last_mut()?;
                note.dots = note.dots.checked_add(1)?;
            } else if let Some((tuplet, after)) = tuplet(rest) {
                spelled.notes.last_mut()?.tuplet = Some(tuplet);
                rest = after;
                continue;
            } else {
                // What follows the beats is the number a minute.
                spelled.per_minute = Some(rest);
                break;
            }
            rest = next;
        }
        spelled.holds_together().then_some(spelled)
    }

    fn is_equation(&self) -> bool {
        self.equals.is_some() || self.notes.iter().any(|note| note.tuplet.is_some()) || self.swing
    }

    fn holds_together(&self) -> bool {
        let plain = self.notes.iter().filter(|note| !note.tied).count();
        let ties_follow = self.notes.first().is_some_and(|note| !note.tied);
        if self.is_equation() {
            let sides = self.equals.is_none_or(|at| at > 0 && at < self.notes.len());
            return sides && ties_follow && plain == self.notes.len() && self.per_minute.is_none();
        }
        ties_follow && plain == if self.per_minute.is_some() { 1 } else { 2 }
    }
}

/// `(3 in the time of 2)` and what follows.
fn tuplet(text: &str) -> Option<((u16, u16), &str)> {
    let (inside, after) = text.strip_prefix('(')?.split_once(')')?;
    let (actual, normal) = inside.split_once(" in the time of ")?;
    Some(((actual.parse().ok()?, normal.parse().ok()?), after.trim_start()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn spelled_marks_are_taken_apart() {
        let spelled = Spelled::parse("quarter dot tied eighth 60").expect("beats");
        let said: Vec<_> = spelled.notes.iter().map(|n| (n.value, n.dots, n.tied)).collect();
        assert_eq!(
            said,
            [(NoteValue::Quarter, 1, false), (NoteValue::Eighth, 0, true)]
        );
        assert_eq!(spelled.per_minute, Some("60"));
        let equation =
            Spelled::parse("(swing) eighth eighth = quarter (3 in the time of 2) eighth").expect("notes");
        assert_eq!(
            (equation.notes.len(), equation.equals, equation.swing),
            (4, Some(2), true)
        );
        assert_eq!(equation.notes[2].tuplet, Some((3, 2)));
        for none in ["", "fast", "quarter", "= quarter", "quarter = 60"] {
            assert!(Spelled::parse(none).is_none(), "{none}");
        }
    }
}
