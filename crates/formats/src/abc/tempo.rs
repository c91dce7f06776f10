//! What does a `Q:` field say? Words, a metronome mark, or both, in today's forms and the older ones.
//!
//! Source: ABC 2.1, sections 3.1.8 (tempo) and 10.1 (outdated forms: `Q:120`, `Q:C=120`, `Q:C3=120`).

use super::metre::fraction;
use notation::{DirectionKind, Metronome, MetronomeValue, NoteValue, Quarters, Rational};

/// A tempo as it is printed.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub(super) struct Tempo {
    /// Words and marks in order.
    pub said: Vec<DirectionKind>,
    /// An older form was used.
    pub outdated: bool,
    /// What could not be read.
    pub unclear: Option<String>,
}

/// Reads the value of a `Q:` field; `unit` is the length of a plain letter.
pub(super) fn tempo(text: &str, unit: Quarters) -> Tempo {
    let mut tempo = Tempo::default();
    let mut numbers = String::new();
    for (index, part) in text.split('"').enumerate() {
        if index % 2 == 1 {
            flush(&mut numbers, unit, &mut tempo);
            let words = super::text::plain(part.trim());
            if !words.is_empty() {
                tempo.said.push(DirectionKind::Words(words));
            }
        } else {
            numbers.push_str(part);
        }
    }
    flush(&mut numbers, unit, &mut tempo);
    tempo
}

fn flush(numbers: &mut String, unit: Quarters, tempo: &mut Tempo) {
    let text = std::mem::take(numbers);
    let text = text.trim();
    if text.is_empty() {
        return;
    }
    match mark(text, unit) {
        Some((kind, outdated)) => {
            tempo.said.push(kind);
            tempo.outdated |= outdated;
        }
        // Words without their quotation marks.
        None if text.chars().any(char::is_alphabetic) => {
            tempo.said.push(DirectionKind::Words(super::text::plain(text)))
        }
        None => tempo.unclear = Some(text.chars().take(60).collect()),
    }
}

fn mark(text: &str, unit: Quarters) -> Option<(DirectionKind, bool)> {
    let (beats, value, outdated) = match text.split_once('=') {
        None => (unit, text, true),
        Some((beat, value)) => {
            let beat = beat.trim();
            match beat.strip_prefix(['C', 'c']) {
                Some(times) => {
                    let times = if times.trim().is_empty() {
                        Rational::ONE
                    } else {
                        fraction(times.trim())?
                    };
                    (unit * times, value, true)
                }
                None => (sum(beat)?, value, false),
            }
        }
    };
    let value = value.trim();
    let number = value.starts_with(|c: char| c.is_ascii_digit());
    let about = value.starts_with("ca") || value.starts_with('~');
    if !number && !about {
        return None;
    }
    if !value.contains(|c: char| c.is_ascii_digit()) {
        return None;
    }
    let value: String = value.chars().take(40).collect();
    let kind = match value_of(beats) {
        Some((beat, dots)) => DirectionKind::Metronome(Metronome {
            beat,
            dots,
            value: MetronomeValue::PerMinute(value),
            parentheses: false,
        }),
        // A beat that no single note shows.
        None => DirectionKind::Sign {
            name: "metronome".to_owned(),
            text: format!(
                "{} = {value}",
                text.split_once('=').map_or("", |(beat, _)| beat.trim())
            ),
        },
    };
    Some((kind, outdated))
}

/// Several beats in one are added up: `1/4 3/8`.
fn sum(text: &str) -> Option<Quarters> {
    let mut total = Quarters::ZERO;
    for part in text.split_whitespace().take(16) {
        total += fraction(part)? * Quarters::whole(4);
    }
    total.is_positive().then_some(total)
}

/// The note with a length and its dots, if a single one has it.
pub(super) fn value_of(length: Quarters) -> Option<(NoteValue, u8)> {
    // With n dots a value is (2^(n+1) − 1) / 2^n of itself: the numerator of the length says how many dots.
    let num = length.num();
    let odd = if length.is_positive() {
        num >> num.trailing_zeros()
    } else {
        0
    };
    let dots: u8 = match odd {
        1 => 0,
        3 => 1,
        7 => 2,
        15 => 3,
        31 => 4,
        _ => return None,
    };
    let base = length / (Rational::whole(2) - Rational::new(1, 1 << dots));
    NoteValue::ALL
        .into_iter()
        .find(|value| value.quarters() == base)
        .map(|value| (value, dots))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(text: &str) -> Vec<String> {
        let say = |kind: &DirectionKind| match kind {
            DirectionKind::Words(words) => format!("“{words}”"),
            DirectionKind::Metronome(m) => match &m.value {
                MetronomeValue::PerMinute(n) => {
                    format!("{}{} {n}", m.beat.name(), ".".repeat(usize::from(m.dots)))
                }
                MetronomeValue::Equals(..) => "equals".to_owned(),
            },
            DirectionKind::Sign { name, text } => format!("{name} {text}"),
            _ => "other".to_owned(),
        };
        tempo(text, Rational::new(1, 2)).said.iter().map(say).collect()
    }

    /// Source: ABC 2.1, 3.1.8 and 10.1.
    #[test]
    fn tempos_of_every_form() {
        assert_eq!(said("1/4=120"), ["quarter 120"]);
        assert_eq!(said("3/8=50 \"Slowly\""), ["quarter. 50", "“Slowly”"]);
        assert_eq!(said("\"Allegro\" 1/2=60"), ["“Allegro”", "half 60"]);
        assert_eq!(said("\"Andante\""), ["“Andante”"]);
        assert_eq!(said("1/4 3/8 1/4 3/8=40"), ["metronome 1/4 3/8 1/4 3/8 = 40"]);
        assert_eq!(said("120"), ["eighth 120"]);
        assert_eq!(said("C=100"), ["eighth 100"]);
        assert_eq!(said("C3=40"), ["quarter. 40"]);
        assert_eq!(said("1/4=96-104"), ["quarter 96-104"]);
        assert_eq!(said("1/4=ca. 60"), ["quarter ca. 60"]);
        assert_eq!(said("Fast"), ["“Fast”"]);
        assert!(tempo("120", Rational::ONE).outdated);
        assert_eq!(tempo("=/", Rational::ONE).unclear.as_deref(), Some("=/"));
        assert_eq!(said(""), Vec::<String>::new());
    }

    #[test]
    fn lengths_as_notes() {
        let of = |num, den| value_of(Rational::new(num, den)).map(|(value, dots)| (value.name(), dots));
        assert_eq!(of(1, 1), Some(("quarter", 0)));
        assert_eq!(of(3, 2), Some(("quarter", 1)));
        assert_eq!(of(7, 4), Some(("quarter", 2)));
        assert_eq!(of(6, 1), Some(("whole", 1)));
        assert_eq!(of(5, 2), None);
        assert_eq!(of(1, 3), None);
        assert_eq!(of(0, 1), None);
    }
}
