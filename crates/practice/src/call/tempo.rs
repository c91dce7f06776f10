//! Which tempo does a list ask for? `♩ = 96–104`, `quarter = 96`, `dotted quarter 60-66`.

use notation::{Quarters, Rational};

/// A tempo asked for.
#[derive(Clone, PartialEq, Debug)]
pub struct Asked {
    /// The note that is counted, in quarter notes; `None` for the felt beat.
    pub note: Option<Quarters>,
    /// The slowest, a minute.
    pub slowest: Rational,
    /// The fastest, a minute.
    pub fastest: Rational,
}

/// What notes are called in lists, the longer names first.
const NOTES: [(&str, (i64, i64)); 22] = [
    ("dotted quarter", (3, 2)),
    ("dotted half", (3, 1)),
    ("dotted eighth", (3, 4)),
    ("dotted crotchet", (3, 2)),
    ("dotted minim", (3, 1)),
    ("dotted quaver", (3, 4)),
    ("sixteenth", (1, 4)),
    ("semiquaver", (1, 4)),
    ("semibreve", (4, 1)),
    ("quarter", (1, 1)),
    ("crotchet", (1, 1)),
    ("eighth", (1, 2)),
    ("quaver", (1, 2)),
    ("half", (2, 1)),
    ("minim", (2, 1)),
    ("whole", (4, 1)),
    ("𝅘𝅥𝅮", (1, 2)),
    ("♩.", (3, 2)),
    ("♩", (1, 1)),
    ("♪.", (3, 4)),
    ("♪", (1, 2)),
    ("𝅗𝅥", (2, 1)),
];
/// The same as single letters: `q = 96`, `q. = 60`.
const LETTERS: [(char, (i64, i64)); 4] = [('w', (4, 1)), ('h', (2, 1)), ('q', (1, 1)), ('e', (1, 2))];

impl Asked {
    /// Reads what a list says; `None` if there is no tempo in it that anybody plays.
    ///
    /// ```
    /// use practice::call::tempo::Asked;
    /// let asked = Asked::read("dotted quarter = 60-66").unwrap();
    /// assert_eq!(asked.in_words(), "♩. = 60–66");
    /// assert_eq!(Asked::read("q=96").unwrap().in_words(), "♩ = 96");
    /// assert_eq!(Asked::read("fast"), None);
    /// ```
    #[must_use]
    pub fn read(text: &str) -> Option<Self> {
        let text = text.trim().to_lowercase();
        let (note, rest) = note(&text);
        let numbers: Vec<Rational> = rest
            .split(|c: char| !(c.is_ascii_digit() || c == '.'))
            .map(|number| number.trim_matches('.'))
            .filter(|number| !number.is_empty())
            .map(Rational::parse)
            .collect::<Option<_>>()?;
        let (one, other) = match numbers.as_slice() {
            [one] => (*one, *one),
            [one, other] => (*one, *other),
            _ => return None,
        };
        let played = |tempo: Rational| tempo >= Rational::whole(10) && tempo <= Rational::whole(400);
        (played(one) && played(other)).then(|| Self {
            note,
            slowest: one.min(other),
            fastest: one.max(other),
        })
    }

    /// `♩ = 96–104`.
    #[must_use]
    pub fn in_words(&self) -> String {
        let numbers = if self.slowest == self.fastest {
            number(self.slowest)
        } else {
            format!("{}–{}", number(self.slowest), number(self.fastest))
        };
        match self.note {
            Some(note) => format!("{} = {numbers}", sign(note)),
            None => format!("{numbers} beats a minute"),
        }
    }
}

fn number(value: Rational) -> String {
    if value.den() == 1 {
        value.num().to_string()
    } else {
        format!("{:.1}", value.to_f64())
    }
}

fn sign(note: Quarters) -> &'static str {
    match (note.num(), note.den()) {
        (4, 1) => "𝅝",
        (3, 1) => "𝅗𝅥.",
        (2, 1) => "𝅗𝅥",
        (3, 2) => "♩.",
        (3, 4) => "♪.",
        (1, 2) => "♪",
        (1, 4) => "sixteenth",
        _ => "♩",
    }
}

/// The note at the start of a text, and what follows it.
fn note(text: &str) -> (Option<Quarters>, &str) {
    for (name, (num, den)) in NOTES {
        if let Some(rest) = text.strip_prefix(name) {
            let rest = rest.trim_start_matches(" note").trim_start();
            return (Some(Quarters::new(num, den)), rest);
        }
    }
    let mut letters = text.chars();
    let first = letters.next();
    for (letter, (num, den)) in LETTERS {
        let rest = letters.as_str();
        let value = Quarters::new(num, den);
        if first == Some(letter) && !rest.starts_with(char::is_alphabetic) {
            return match rest.strip_prefix('.') {
                Some(rest) => (Some(value * Quarters::new(3, 2)), rest),
                None => (Some(value), rest),
            };
        }
    }
    (None, text)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_tempo_is_read_as_lists_write_it() {
        let read = |text: &str| Asked::read(text).map(|asked| asked.in_words());
        assert_eq!(read("♩ = 96–104").as_deref(), Some("♩ = 96–104"));
        assert_eq!(read("Quarter note = 104-96").as_deref(), Some("♩ = 96–104"));
        assert_eq!(read("q. = 60").as_deref(), Some("♩. = 60"));
        assert_eq!(read("half=72 to 76").as_deref(), Some("𝅗𝅥 = 72–76"));
        assert_eq!(read("eighth = 92").as_deref(), Some("♪ = 92"));
        assert_eq!(read("100-108").as_deref(), Some("100–108 beats a minute"));
        assert_eq!(read(""), None);
        assert_eq!(read("q = 5"), None);
        assert_eq!(read("q = 60-70-80"), None);
    }
}
