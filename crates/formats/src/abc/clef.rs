//! What stands on the staff? Clef, octave, middle line, transposition, staff lines: the words that `K:` and `V:` share.
//!
//! Source: ABC 2.1, section 4.6 (clefs and transposition).

use notation::{Clef, ClefSign, Rational, Step, Transposition};

/// The staff's words in one field; what a field does not say stays as it was.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub(super) struct StaffWords {
    /// The clef.
    pub clef: Option<Clef>,
    /// The pitch shown on the middle line: steps above C0.
    pub middle: Option<i32>,
    /// Octaves by which the notes are to be read higher.
    pub octave: Option<i8>,
    /// Semitones from written to sounding.
    pub transpose: Option<i32>,
    /// Lines of the staff.
    pub lines: Option<u8>,
    /// A value that could not be read, as it stands.
    pub unclear: Vec<String>,
}

impl StaffWords {
    /// Takes a word in; false if it is none of the staff's.
    pub(super) fn take(&mut self, word: &str) -> bool {
        let Some((name, value)) = word.split_once('=') else {
            let found = clef(word);
            self.clef = found.or(self.clef);
            return found.is_some();
        };
        let (name, value) = (name.trim().to_ascii_lowercase(), value.trim().trim_matches('"'));
        let known = match name.as_str() {
            "clef" => {
                let found = clef(value);
                self.clef = found.or(self.clef);
                found.is_some()
            }
            "middle" | "m" => {
                let found = pitch(value);
                self.middle = found.or(self.middle);
                found.is_some()
            }
            "octave" => {
                let found = number(value)
                    .and_then(|n| i8::try_from(n).ok())
                    .filter(|n| n.abs() <= 6);
                self.octave = found.or(self.octave);
                found.is_some()
            }
            "transpose" | "t" => {
                let found = number(value).filter(|n| n.abs() <= 120);
                self.transpose = found.or(self.transpose);
                found.is_some()
            }
            "stafflines" => {
                let found = value.parse().ok().filter(|n| *n <= 20);
                self.lines = found.or(self.lines);
                found.is_some()
            }
            // How the staff is drawn.
            "stem" | "up" | "down" | "gstem" | "gstems" | "stems" | "dyn" | "lyrics" | "lyric" | "gch"
            | "staffscale" | "scale" | "style" | "map" | "cue" => true,
            _ => return false,
        };
        if !known {
            self.unclear.push(word.chars().take(60).collect());
        }
        true
    }
}

fn number(text: &str) -> Option<i32> {
    text.strip_prefix('+').unwrap_or(text).parse().ok()
}

/// A pitch by letter and octave marks, as steps above C0.
fn pitch(text: &str) -> Option<i32> {
    let letter = text.chars().next()?;
    let step = Step::from_letter(letter)?;
    let mut octave = if letter.is_ascii_lowercase() { 5 } else { 4 };
    for mark in text.get(1..)?.chars() {
        match mark {
            ',' => octave -= 1,
            '\'' => octave += 1,
            _ => return None,
        }
        if !(-2..=12).contains(&octave) {
            return None;
        }
    }
    Some(octave * 7 + step.index())
}

/// A clef by name, line and octave sign: `treble`, `bass3`, `alto+8`, `G2`.
pub(super) fn clef(text: &str) -> Option<Clef> {
    let (name, octave_change) =
        if let Some(name) = text.strip_suffix("+8").or_else(|| text.strip_suffix("^8")) {
            (name, 1)
        } else if let Some(name) = text.strip_suffix("-8").or_else(|| text.strip_suffix("_8")) {
            (name, -1)
        } else if let Some(name) = text.strip_suffix("+15") {
            (name, 2)
        } else if let Some(name) = text.strip_suffix("-15") {
            (name, -2)
        } else {
            (text, 0)
        };
    let line = name.chars().last().and_then(|c| c.to_digit(10));
    let name = name.trim_end_matches(|c: char| c.is_ascii_digit());
    let (sign, usual) = match name {
        "G" => (ClefSign::G, 2),
        "F" => (ClefSign::F, 4),
        "C" => (ClefSign::C, 3),
        "P" => (ClefSign::Percussion, 0),
        _ => match name.to_ascii_lowercase().as_str() {
            "treble" | "violin" => (ClefSign::G, 2),
            "bass" => (ClefSign::F, 4),
            "baritone" => (ClefSign::F, 3),
            "alto" | "viola" => (ClefSign::C, 3),
            "tenor" => (ClefSign::C, 4),
            "mezzosoprano" => (ClefSign::C, 2),
            "soprano" => (ClefSign::C, 1),
            "perc" | "percussion" | "drum" => (ClefSign::Percussion, 0),
            "none" => (ClefSign::None, 0),
            _ => return None,
        },
    };
    let line = line.filter(|_| usual > 0).map_or(Some(usual), |line| {
        i8::try_from(line).ok().filter(|line| (1..=5).contains(line))
    })?;
    Some(Clef {
        sign,
        line,
        octave_change,
    })
}

/// What `middle=` makes of a clef: another line for it, or the octaves by which the notes are to be read otherwise.
/// Source: ABC 2.1, 4.6: "the pitch indicates what note is displayed on the 3rd line of the staff".
pub(super) fn with_middle(clef: Clef, middle: i32) -> (Clef, i8) {
    let reference = match clef.sign {
        ClefSign::G => 32,
        ClefSign::F => 24,
        ClefSign::C => 28,
        // Without a pitch of its own, the middle line of the treble staff.
        _ => return (clef, octaves(34 - middle).unwrap_or(0)),
    };
    let middle_of = |line: i8| reference + 2 * (3 - i32::from(line));
    // The clef as it is, read in another octave.
    if let Some(octave) = octaves(middle_of(clef.line) - middle) {
        return (clef, octave);
    }
    for line in 1..=5 {
        if let Some(octave) = octaves(middle_of(line) - middle) {
            return (Clef { line, ..clef }, octave);
        }
    }
    (clef, 0)
}

fn octaves(steps: i32) -> Option<i8> {
    if steps % 7 == 0 {
        i8::try_from(steps / 7).ok()
    } else {
        None
    }
}

/// A transposition by so many semitones, spelled in the usual way, whole octaves apart as in MusicXML.
pub(super) fn transposition(semitones: i32) -> Transposition {
    const STEPS: [i32; 12] = [0, 1, 1, 2, 2, 3, 3, 4, 5, 5, 6, 6];
    let within = semitones % 12;
    let steps = usize::try_from(within.abs())
        .ok()
        .and_then(|at| STEPS.get(at))
        .copied()
        .unwrap_or(0);
    Transposition {
        diatonic: steps * within.signum(),
        chromatic: Rational::whole(i64::from(within)),
        octaves: semitones / 12,
        doubled: false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: ABC 2.1, 4.6, the seven clefs.
    #[test]
    fn clefs_by_name_line_and_octave() {
        let said = |text: &str| clef(text).map(|c| c.name());
        for (text, name) in [
            ("treble", "treble"),
            ("bass", "bass"),
            ("bass3", "baritone"),
            ("tenor", "tenor"),
            ("alto", "alto"),
            ("alto2", "mezzo-soprano"),
            ("alto1", "soprano"),
            ("perc", "percussion"),
            ("none", "none"),
            ("treble-8", "treble (8 below)"),
            ("bass+8", "bass (8 above)"),
            ("G2", "treble"),
        ] {
            assert_eq!(said(text).as_deref(), Some(name), "{text}");
        }
        assert_eq!(clef("mozart"), None);
        assert_eq!(clef("treble9"), None);
    }

    #[test]
    fn words_of_the_staff() {
        let mut words = StaffWords::default();
        for word in ["clef=bass", "m=d", "octave=-1", "t=-2", "stafflines=4", "stem=up"] {
            assert!(words.take(word), "{word}");
        }
        assert!(!words.take("swing"));
        assert!(words.take("octave=high"));
        assert_eq!(
            (words.octave, words.transpose, words.lines),
            (Some(-1), Some(-2), Some(4))
        );
        assert_eq!(words.unclear, ["octave=high"]);
    }

    /// Source: ABC 2.1, 4.6: `K:bass middle=d` saves the commas; the tenor clef is the alto clef with `A,` in the middle.
    #[test]
    fn the_note_on_the_middle_line() {
        let middle = |name: &str, note: &str| {
            let (clef, octaves) = with_middle(clef(name).expect(name), pitch(note).expect(note));
            (clef.name(), octaves)
        };
        assert_eq!(middle("bass", "d"), ("bass".to_owned(), -2));
        assert_eq!(middle("bass", "D,"), ("bass".to_owned(), 0));
        assert_eq!(middle("alto", "A,"), ("tenor".to_owned(), 0));
        assert_eq!(middle("treble", "B"), ("treble".to_owned(), 0));
    }

    #[test]
    fn transpositions_are_spelled_in_the_usual_way() {
        let said = |n| {
            let t = transposition(n);
            (t.diatonic, t.chromatic.num(), t.octaves)
        };
        assert_eq!(said(-2), (-1, -2, 0));
        assert_eq!(said(-9), (-5, -9, 0));
        assert_eq!(said(-14), (-1, -2, -1));
        assert_eq!(said(12), (0, 0, 1));
    }
}
