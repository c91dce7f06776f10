//! How are the rarer signs written? By the standard's name, their texts taken apart into its elements.
//!
//! The counterpart of what the reader makes of them; a sign of another name, or with a text that the element can't hold,
//! becomes an `other-direction` with a finding.

use super::note::alter_text;
use super::part::PartWriter;
use super::values::{EFFECT, GLASS, MEMBRANE, METAL, PITCHED, STAFF_DIVIDES, WOOD, is_name_token};
use notation::{Direction, DirectionKind, Pitch};

impl<'p> PartWriter<'p, '_> {
    /// Name and text of a sign by its index among the directions.
    pub(super) fn sign(&self, index: usize) -> Option<(usize, &'p str, &'p str)> {
        match &self.part.directions.get(index)?.kind {
            DirectionKind::Sign { name, text } => Some((index, name, text)),
            _ => None,
        }
    }

    /// Signs that are no directions in MusicXML; true if it was one.
    pub(super) fn beside(&mut self, index: usize, direction: &Direction, name: &str, text: &str) -> bool {
        match name {
            "harmony" => self.harmony(direction, text),
            "figured-bass" => self.figured_bass(direction, text),
            "instrument-change" => {
                let at = self.instruments.iter().position(|known| known == text);
                let id = super::instrument_id(self.part.id, at.map_or(0, |at| at + 1));
                self.out.open("sound");
                self.out.tag("instrument-change").attr("id", id).empty();
                self.out.close("sound");
            }
            _ => return false,
        }
        let staff_lost = direction.staff.is_some() && name != "harmony";
        if staff_lost || direction.voice.is_some() || direction.side.is_some() && name == "instrument-change"
        {
            self.lost_direction(index, format!("the staff, voice or side of the sign “{name}”"));
        }
        true
    }

    /// What stands in the `direction-type`.
    pub(super) fn direction_sign(&mut self, index: usize, direction: &Direction, name: &str, text: &str) {
        let id = direction.id;
        let done = match name {
            "damp" | "damp-all" | "eyeglasses" if text.is_empty() => {
                self.out.tag(name).attr("id", id).empty();
                true
            }
            "string-mute" if matches!(text, "on" | "off") => {
                self.out.tag(name).attr("type", text).attr("id", id).empty();
                true
            }
            "staff-divide" if STAFF_DIVIDES.contains(&text) => {
                self.out.tag(name).attr("type", text).attr("id", id).empty();
                true
            }
            "symbol" if is_name_token(text) => {
                self.out.tag(name).attr("id", id).text(text);
                true
            }
            "harp-pedals" => self.harp_pedals(direction, text),
            "scordatura" => self.scordatura(direction, text),
            "accordion-registration" => self.accordion(direction, text),
            "percussion" => {
                self.percussion(direction, text);
                true
            }
            "metronome" => self.spelled_metronome(direction, text),
            "other-direction" => {
                self.out
                    .tag(name)
                    .printed(direction.printed)
                    .attr("id", id)
                    .text(text);
                true
            }
            _ => false,
        };
        if !done {
            let said = if text.is_empty() {
                name.to_owned()
            } else {
                format!("{name}: {text}")
            };
            self.out
                .tag("other-direction")
                .printed(direction.printed)
                .attr("id", id)
                .text(&said);
            self.lost_direction(index, format!("the sign “{said}” was written as words"));
        }
    }

    /// `C# D Eb`: a pedal for each letter.
    fn harp_pedals(&mut self, direction: &Direction, text: &str) -> bool {
        let pedals: Option<Vec<Pitch>> = text
            .split(' ')
            .map(|name| Pitch::parse(&format!("{name}0")))
            .collect();
        let Some(pedals) = pedals else { return false };
        self.out.tag("harp-pedals").attr("id", direction.id).open();
        for pedal in pedals {
            self.out.open("pedal-tuning");
            self.out.leaf("pedal-step", pedal.step.letter());
            self.out.leaf("pedal-alter", pedal.alter);
            self.out.close("pedal-tuning");
        }
        self.out.close("harp-pedals");
        true
    }

    /// `1: E5, 4: Ab3`: strings and what they are tuned to.
    fn scordatura(&mut self, direction: &Direction, text: &str) -> bool {
        let string = |part: &str| {
            let (number, pitch) = part.split_once(": ")?;
            let number: u32 = number.parse().ok().filter(|n| *n > 0)?;
            Some((number, Pitch::parse(pitch)?))
        };
        let strings: Option<Vec<(u32, Pitch)>> = text.split(", ").map(string).collect();
        let Some(strings) = strings else { return false };
        self.out.tag("scordatura").attr("id", direction.id).open();
        for (number, pitch) in strings {
            self.out.tag("accord").attr("string", number).open();
            self.tuning(pitch);
            self.out.close("accord");
        }
        self.out.close("scordatura");
        true
    }

    /// `accordion-high 2 accordion-low`: the dots in each field.
    fn accordion(&mut self, direction: &Direction, text: &str) -> bool {
        let mut rest = text.split(' ').filter(|word| !word.is_empty()).peekable();
        let high = rest.next_if_eq(&"accordion-high").is_some();
        let middle = rest.next_if(|word| matches!(*word, "1" | "2" | "3"));
        let low = rest.next_if_eq(&"accordion-low").is_some();
        if rest.next().is_some() {
            return false;
        }
        self.out
            .tag("accordion-registration")
            .attr("id", direction.id)
            .open();
        if high {
            self.out.empty("accordion-high");
        }
        if let Some(middle) = middle {
            self.out.leaf("accordion-middle", middle);
        }
        if low {
            self.out.empty("accordion-low");
        }
        self.out.close("accordion-registration");
        true
    }

    fn percussion(&mut self, direction: &Direction, text: &str) {
        const KINDS: [(&str, &[&str]); 6] = [
            ("glass", GLASS),
            ("metal", METAL),
            ("wood", WOOD),
            ("pitched", PITCHED),
            ("membrane", MEMBRANE),
            ("effect", EFFECT),
        ];
        self.out.tag("percussion").attr("id", direction.id).open();
        match KINDS.iter().find(|(_, values)| values.contains(&text)) {
            Some((kind, _)) => self.out.leaf(kind, text),
            None if text == "timpani" => self.out.empty("timpani"),
            None => self.out.leaf("other-percussion", text),
        }
        self.out.close("percussion");
    }

    /// A chord name: root, kind, bass; what can't be taken apart stands as it is.
    fn harmony(&mut self, direction: &Direction, text: &str) {
        self.out
            .tag("harmony")
            .maybe("placement", super::notations::placement(direction.side))
            .printed(direction.printed)
            .attr("id", direction.id)
            .open();
        match Chord::parse(text) {
            Some(chord) => {
                self.letter("root", chord.root);
                // The printed form says all; what kind of chord it is, a program may guess from it.
                let (kind, printed) = kind_of(chord.kind);
                self.out
                    .tag("kind")
                    .maybe("text", printed.then_some(chord.kind))
                    .text(kind);
                if let Some(inversion) = chord.inversion {
                    self.out.leaf("inversion", inversion);
                }
                if let Some(bass) = chord.bass {
                    self.letter("bass", bass);
                }
            }
            None => {
                self.out.leaf("function", text);
                self.out.tag("kind").attr("text", "").text("none");
            }
        }
        if let Some(staff) = direction.staff {
            self.out.leaf("staff", staff);
        }
        self.out.close("harmony");
    }

    fn letter(&mut self, name: &str, pitch: Pitch) {
        self.out.open(name);
        self.out.leaf(&format!("{name}-step"), pitch.step.letter());
        if let Some(alter) = alter_text(pitch.alter) {
            self.out.leaf(&format!("{name}-alter"), alter);
        }
        self.out.close(name);
    }

    /// Figures from top to bottom, each as its text.
    fn figured_bass(&mut self, direction: &Direction, text: &str) {
        self.out
            .tag("figured-bass")
            .maybe("placement", super::notations::placement(direction.side))
            .printed(direction.printed)
            .attr("id", direction.id)
            .open();
        for figure in text.split(' ') {
            let (prefix, rest) = accidental_before(figure);
            let (number, suffix) = accidental_after(rest);
            self.out.open("figure");
            if let Some(prefix) = prefix {
                self.out.leaf("prefix", prefix);
            }
            if !number.is_empty() || prefix.is_none() && suffix.is_none() {
                self.out.leaf("figure-number", number);
            }
            if let Some(suffix) = suffix {
                self.out.leaf("suffix", suffix);
            }
            self.out.close("figure");
        }
        self.out.close("figured-bass");
    }
}

/// Signs at figures, the longer first.
const AT_FIGURES: [(&str, &str); 6] = [
    ("##", "double-sharp"),
    ("bb", "flat-flat"),
    ("#", "sharp"),
    ("b", "flat"),
    ("n", "natural"),
    ("+", "cross"),
];

fn accidental_before(figure: &str) -> (Option<&'static str>, &str) {
    AT_FIGURES
        .iter()
        .find_map(|(sign, name)| Some((Some(*name), figure.strip_prefix(sign)?)))
        .unwrap_or((None, figure))
}

fn accidental_after(figure: &str) -> (&str, Option<&'static str>) {
    AT_FIGURES
        .iter()
        .find_map(|(sign, name)| Some((figure.strip_suffix(sign)?, Some(*name))))
        .unwrap_or((figure, None))
}

/// A chord name taken apart.
struct Chord<'t> {
    root: Pitch,
    kind: &'t str,
    inversion: Option<u32>,
    bass: Option<Pitch>,
}

impl<'t> Chord<'t> {
    fn parse(text: &'t str) -> Option<Self> {
        // Blanks at the ends of an attribute's value would be lost; several chords in one stay together.
        if text.contains('|') {
            return None;
        }
        let (root, rest) = letter_of(text)?;
        let slashed = rest.rsplit_once('/').and_then(|(kind, bass)| {
            let (pitch, after) = letter_of(bass)?;
            after.is_empty().then_some((kind, pitch))
        });
        let (kind, bass) = slashed.map_or((rest, None), |(kind, bass)| (kind, Some(bass)));
        let inverted = kind
            .split_once(" inversion ")
            .and_then(|(kind, n)| Some((kind, n.parse().ok()?)));
        let (kind, inversion) = inverted.map_or((kind, None), |(kind, n)| (kind, Some(n)));
        (kind.trim() == kind).then_some(Self {
            root,
            kind,
            inversion,
            bass,
        })
    }
}

/// A letter with its sharps or flats, and what follows.
fn letter_of(text: &str) -> Option<(Pitch, &str)> {
    let signs = text.get(1..)?;
    let length = signs.len() - signs.trim_start_matches('#').len();
    let length = if length > 0 {
        length
    } else {
        signs.len() - signs.trim_start_matches('b').len()
    };
    let (name, rest) = (text.get(..=length)?, signs.get(length..)?);
    text.starts_with(|c: char| ('A'..='G').contains(&c))
        .then_some(())?;
    Some((Pitch::parse(&format!("{name}0"))?, rest))
}

/// The kind of chord that a short form names, and whether that form must be said beside it.
fn kind_of(text: &str) -> (&'static str, bool) {
    let kind = match text {
        "" => "major",
        "m" => "minor",
        "+" => "augmented",
        "dim" => "diminished",
        "7" => "dominant",
        "maj7" => "major-seventh",
        "m7" => "minor-seventh",
        "dim7" => "diminished-seventh",
        "+7" => "augmented-seventh",
        "m7b5" => "half-diminished",
        "m(maj7)" => "major-minor",
        "6" => "major-sixth",
        "m6" => "minor-sixth",
        "9" => "dominant-ninth",
        "maj9" => "major-ninth",
        "m9" => "minor-ninth",
        "11" => "dominant-11th",
        "maj11" => "major-11th",
        "m11" => "minor-11th",
        "13" => "dominant-13th",
        "maj13" => "major-13th",
        "m13" => "minor-13th",
        "sus2" => "suspended-second",
        "sus4" => "suspended-fourth",
        "5" => "power",
        // Other short forms on printed pages, said as they stand: common practice.
        "mi" | "min" | "-" => return ("minor", true),
        "mi7" | "min7" | "-7" => return ("minor-seventh", true),
        "ma7" | "M7" | "Δ" | "Δ7" | "j7" => return ("major-seventh", true),
        "maj" | "M" | "ma" => return ("major", true),
        "aug" | "+5" => return ("augmented", true),
        "o" | "°" => return ("diminished", true),
        "o7" | "°7" => return ("diminished-seventh", true),
        "ø" | "ø7" | "mi7b5" | "min7b5" => return ("half-diminished", true),
        "sus" => return ("suspended-fourth", true),
        _ => return ("other", true),
    };
    (kind, false)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn chord_names_are_taken_apart() {
        let said = |text: &str| {
            Chord::parse(text).map(|c| {
                (
                    c.root.class_name(),
                    c.kind.to_owned(),
                    c.bass.map(Pitch::class_name),
                )
            })
        };
        let chord = |root: &str, kind: &str, bass: Option<&str>| {
            Some((root.to_owned(), kind.to_owned(), bass.map(str::to_owned)))
        };
        assert_eq!(said("Bbmaj7/D"), chord("Bb", "maj7", Some("D")));
        assert_eq!(said("F#m7b5"), chord("F#", "m7b5", None));
        assert_eq!(said("C6/9"), chord("C", "6/9", None));
        assert_eq!(Chord::parse("F# inversion 2").and_then(|c| c.inversion), Some(2));
        assert_eq!(said("N.C."), None);
        assert_eq!(said("V7"), None);
    }
}
