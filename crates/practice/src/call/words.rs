//! How do lists say where a cut begins and ends? `pickup to 17 through downbeat of 33`, `4 after C to 2 before D`, `second ending only`.
//!
//! What is said is kept in words; where that is in a piece is found in [`super::find`]. The manner of speaking is common practice.

use notation::Rational;

/// From where through where, both included as lists mean it.
#[derive(Clone, PartialEq, Debug)]
pub struct Range {
    /// As the list says it.
    pub said: String,
    /// Where it begins.
    pub from: Point,
    /// Where it ends.
    pub through: Point,
    /// The last point is not played (`up to 33`).
    pub up_to: bool,
    /// What becomes of repeats.
    pub repeats: Repeats,
}

/// A point of the page as it is said.
#[derive(Clone, PartialEq, Debug)]
pub struct Point {
    /// What it is told by.
    pub by: By,
    /// So many bars after it, or before it (negative).
    pub bars: i32,
    /// `4 after C`: said so; lists differ in whether the bar of the letter counts.
    pub counted_after: bool,
    /// A beat of that bar, from 1.
    pub beat: Option<Rational>,
    /// The notes that lead into it.
    pub pickup: bool,
}

/// What a point is told by.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum By {
    /// The first note.
    Beginning,
    /// The last.
    End,
    /// A printed bar number.
    Bar(String),
    /// A rehearsal letter or number.
    Letter(String),
    /// A number that may be a bar's or a rehearsal mark's.
    Number(String),
    /// The segno.
    Segno,
    /// The coda.
    Coda,
}

/// What becomes of repeats inside a cut.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum Repeats {
    /// Not taken, last endings only; lists mean it so unless they say otherwise (common practice).
    #[default]
    NotTaken,
    /// Taken.
    Taken,
    /// Not taken, by the list's own words (`second ending only`, `no repeats`).
    SaidNotTaken,
}

/// What is not understood, and how to say it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct NotUnderstood {
    /// The words.
    pub words: String,
    /// What to write instead.
    pub advice: &'static str,
}

const ADVICE: &str = "say it like “pickup to 17 through downbeat of 33”, “beat 3 of 12 to the end”, “4 after C through 2 before D”, \
                      “C to D”, “beginning through 16, second ending only” or “last 8 bars”";

fn not_understood(words: &str) -> NotUnderstood {
    NotUnderstood {
        words: words.trim().to_owned(),
        advice: ADVICE,
    }
}

/// Words for repeats, and what they mean.
const REPEATS: [(&str, Repeats); 15] = [
    ("second ending only", Repeats::SaidNotTaken),
    ("2nd ending only", Repeats::SaidNotTaken),
    ("last ending only", Repeats::SaidNotTaken),
    ("take second ending", Repeats::SaidNotTaken),
    ("take 2nd ending", Repeats::SaidNotTaken),
    ("second ending", Repeats::SaidNotTaken),
    ("2nd ending", Repeats::SaidNotTaken),
    ("second time only", Repeats::SaidNotTaken),
    ("without repeats", Repeats::SaidNotTaken),
    ("no repeats", Repeats::SaidNotTaken),
    ("no repeat", Repeats::SaidNotTaken),
    ("with repeats", Repeats::Taken),
    ("with repeat", Repeats::Taken),
    ("take repeats", Repeats::Taken),
    ("take the repeat", Repeats::Taken),
];

impl Range {
    /// Reads what a list says.
    ///
    /// # Errors
    /// The words that are not understood, and how such a thing is said.
    ///
    /// ```
    /// use practice::call::words::{By, Range};
    /// let range = Range::read("pickup to 17 through downbeat of 33").unwrap();
    /// assert!(range.from.pickup);
    /// assert_eq!(range.through.by, By::Number("33".to_owned()));
    /// assert_eq!(range.through.beat, Some(notation::Rational::ONE));
    /// ```
    pub fn read(said: &str) -> Result<Self, NotUnderstood> {
        let mut text = plain(said);
        let mut repeats = Repeats::NotTaken;
        for (words, mean) in REPEATS {
            if let Some(at) = text.find(words) {
                repeats = mean;
                text.replace_range(at..at + words.len(), " ");
                break;
            }
        }
        let text = tidy(&text);
        let text = text.strip_prefix("from ").unwrap_or(&text);
        let (from, through, up_to) = ends(text)?;
        Ok(Self {
            said: said.trim().to_owned(),
            from,
            through,
            up_to,
            repeats,
        })
    }
}

/// Small letters but for single letters that name a mark; one kind of dash; signs that say nothing as spaces.
fn plain(said: &str) -> String {
    let dashes = said.replace(['–', '—', '‑', '−'], "-");
    let spaced: String = dashes
        .chars()
        .filter(|c| !matches!(c, '"' | '“' | '”' | '‘' | '’' | '\'' | '[' | ']' | '(' | ')'))
        .map(|c| {
            if matches!(c, ';' | '\n' | '\t' | '\r') {
                ' '
            } else {
                c
            }
        })
        .collect();
    spaced.to_lowercase()
}

fn tidy(text: &str) -> String {
    let words: Vec<&str> = text.split_whitespace().collect();
    words.join(" ").trim_matches([',', '.', ' ']).to_owned()
}

/// Pickups hold a "to" of their own, which must not be taken for the one between two points.
const PICKUPS: [&str; 14] = [
    "the pickups to ",
    "the pickup to ",
    "pickups to ",
    "pickup to ",
    "pick-ups to ",
    "pick-up to ",
    "pickups into ",
    "pickup into ",
    "pick up to ",
    "the upbeat to ",
    "upbeats to ",
    "upbeat to ",
    "upbeat into ",
    "anacrusis to ",
];
const PICKUP: &str = "pickup@ ";

fn ends(text: &str) -> Result<(Point, Point, bool), NotUnderstood> {
    let whole = |by| Point {
        by,
        bars: 0,
        counted_after: false,
        beat: None,
        pickup: false,
    };
    if text.is_empty()
        || matches!(
            text,
            "all" | "complete" | "the whole piece" | "entire piece" | "whole piece"
        )
    {
        return Ok((whole(By::Beginning), whole(By::End), false));
    }
    if let Some(bars) = first_or_last(text) {
        let (last, count) = bars?;
        let mut point = whole(if last { By::End } else { By::Beginning });
        point.bars = if last { 1 - count } else { count - 1 };
        return Ok(if last {
            (point, whole(By::End), false)
        } else {
            (whole(By::Beginning), point, false)
        });
    }
    let mut marked = text.to_owned();
    for words in PICKUPS {
        marked = marked.replace(words, PICKUP);
    }
    const SEPARATORS: [(&str, bool); 9] = [
        (" up to but not including ", true),
        (" up to, but not including, ", true),
        (" up to ", true),
        (" through ", false),
        (" thru ", false),
        (" until ", false),
        (" till ", false),
        (" to ", false),
        (" - ", false),
    ];
    for (separator, up_to) in SEPARATORS {
        if let Some((from, through)) = marked.split_once(separator) {
            return Ok((point(from)?, point(through)?, up_to));
        }
    }
    // `17-33`: a hyphen between numbers or letters without spaces.
    if let Some((from, through)) = marked.split_once('-')
        && let (Ok(from), Ok(through)) = (point(from), point(through))
    {
        return Ok((from, through, false));
    }
    // One bar alone.
    let only = point(&marked)?;
    if only.pickup {
        return Err(not_understood(text));
    }
    Ok((only.clone(), only, false))
}

/// `first 16 bars`, `last 8 measures`: whether the last, and how many.
fn first_or_last(text: &str) -> Option<Result<(bool, i32), NotUnderstood>> {
    let text = text.strip_prefix("the ").unwrap_or(text);
    let (last, rest) = match (text.strip_prefix("first "), text.strip_prefix("last ")) {
        (Some(rest), _) => (false, rest),
        (_, Some(rest)) => (true, rest),
        _ => return None,
    };
    let number = rest.split_whitespace().next()?;
    let rest = rest.strip_prefix(number)?.trim();
    if !matches!(rest, "bars" | "measures" | "bar" | "measure") {
        return None;
    }
    let count = cardinal(number).filter(|count| (1..=9999).contains(count));
    Some(
        count
            .map(|count| (last, count))
            .ok_or_else(|| not_understood(text)),
    )
}

fn cardinal(word: &str) -> Option<i32> {
    const WORDS: [&str; 12] = [
        "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve",
    ];
    let spelled = WORDS.iter().position(|known| *known == word);
    spelled
        .and_then(|at| i32::try_from(at + 1).ok())
        .or_else(|| word.parse().ok())
}

fn ordinal(word: &str) -> Option<i64> {
    const WORDS: [&str; 9] = [
        "first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth",
    ];
    if word == "last" {
        return None;
    }
    let spelled = WORDS.iter().position(|known| *known == word);
    let spelled = spelled.and_then(|at| i64::try_from(at + 1).ok());
    spelled.or_else(|| {
        let digits = word.trim_end_matches(|c: char| c.is_ascii_alphabetic());
        let ending = word.get(digits.len()..)?;
        matches!(ending, "st" | "nd" | "rd" | "th").then(|| digits.parse().ok())?
    })
}

/// One point.
fn point(text: &str) -> Result<Point, NotUnderstood> {
    let text = tidy(text);
    let wrong = || not_understood(&text);
    let mut rest = text.as_str();
    let pickup = rest.starts_with(PICKUP.trim_end());
    if pickup {
        rest = rest.get(PICKUP.trim_end().len()..).unwrap_or("").trim_start();
    }
    rest = rest.strip_prefix("the ").unwrap_or(rest);
    let (beat, rest) = beat(rest).map_err(|()| wrong())?;
    let rest = tidy(&rest);
    let rest = rest.strip_prefix("the ").unwrap_or(&rest);
    let rest = rest.strip_prefix("end of ").unwrap_or(rest);
    let (bars, counted_after, rest) = away(rest);
    let by = by(rest).ok_or_else(wrong)?;
    if by == By::End && bars > 0 || by == By::Beginning && bars < 0 {
        return Err(wrong());
    }
    Ok(Point {
        by,
        bars,
        counted_after,
        beat,
        pickup,
    })
}

/// A beat, and the bar that is left: `downbeat of 33`, `beat 3 of 12`, `third beat of 12`, `12 beat 3`, `12:3`.
fn beat(text: &str) -> Result<(Option<Rational>, String), ()> {
    let number = |text: &str| {
        Rational::parse(text.trim())
            .filter(|beat| *beat >= Rational::ONE && *beat <= Rational::whole(64))
            .ok_or(())
    };
    for words in ["downbeat of ", "down-beat of ", "down beat of ", "first note of "] {
        if let Some(bar) = text.strip_prefix(words) {
            return Ok((Some(Rational::ONE), bar.to_owned()));
        }
    }
    if let Some(rest) = text.strip_prefix("beat ") {
        let (beat, bar) = rest
            .split_once(" of ")
            .or_else(|| rest.split_once(" in "))
            .ok_or(())?;
        return Ok((Some(number(beat)?), bar.to_owned()));
    }
    if let Some((nth, bar)) = text.split_once(" beat of ") {
        let beat = ordinal(nth.trim()).ok_or(())?;
        return Ok((Some(Rational::whole(beat)), bar.to_owned()));
    }
    if let Some((bar, beat)) = text.split_once(" beat ") {
        return Ok((Some(number(beat)?), bar.trim_end_matches(',').to_owned()));
    }
    if let Some((bar, beat)) = text.split_once(':') {
        return Ok((Some(number(beat)?), bar.to_owned()));
    }
    Ok((None, text.to_owned()))
}

/// `4 after C`, `4 bars before D`, `fourth bar of C`: how many bars away, whether "after" was said, and from what.
fn away(text: &str) -> (i32, bool, &str) {
    for (word, sign) in [(" after ", 1), (" before ", -1)] {
        if let Some((count, from)) = text.split_once(word) {
            let count = count
                .trim()
                .trim_end_matches("measures")
                .trim_end_matches("measure")
                .trim_end_matches("bars")
                .trim_end_matches("bar")
                .trim();
            if let Some(count) = cardinal(count).filter(|count| (0..=9999).contains(count)) {
                return (sign * count, sign > 0, from.trim());
            }
        }
    }
    for word in [" bar of ", " measure of "] {
        if let Some((nth, from)) = text.split_once(word)
            && let Some(nth) = ordinal(nth.trim()).and_then(|nth| i32::try_from(nth).ok())
        {
            return (nth - 1, false, from.trim());
        }
    }
    (0, false, text)
}

fn by(text: &str) -> Option<By> {
    let text = text.trim().trim_end_matches(['.', ',']);
    let text = text.strip_prefix("the ").unwrap_or(text);
    match text {
        "beginning" | "start" | "top" | "opening" => return Some(By::Beginning),
        "end" | "last bar" | "last measure" | "final bar" | "fine" => return Some(By::End),
        "segno" | "sign" => return Some(By::Segno),
        "coda" => return Some(By::Coda),
        _ => {}
    }
    for word in [
        "measures ",
        "measure ",
        "bars ",
        "bar ",
        "mm. ",
        "mm.",
        "mm ",
        "m. ",
        "m.",
        "m ",
    ] {
        if let Some(label) = text
            .strip_prefix(word)
            .map(str::trim)
            .filter(|label| is_label(label))
        {
            return Some(By::Bar(label.to_owned()));
        }
    }
    for word in [
        "rehearsal mark ",
        "rehearsal letter ",
        "rehearsal number ",
        "rehearsal ",
        "letter ",
        "figure ",
        "number ",
    ] {
        if let Some(label) = text
            .strip_prefix(word)
            .map(str::trim)
            .filter(|label| is_label(label))
        {
            return Some(By::Letter(label.to_uppercase()));
        }
    }
    if !is_label(text) {
        return None;
    }
    Some(if text.starts_with(|c: char| c.is_ascii_digit()) {
        By::Number(text.to_owned())
    } else {
        By::Letter(text.to_uppercase())
    })
}

/// A number with perhaps a letter (`12a`), or one or two letters.
fn is_label(text: &str) -> bool {
    let digits = text.trim_start_matches(|c: char| c.is_ascii_digit());
    let letters = digits.chars().all(char::is_alphabetic) && digits.chars().count() <= 2;
    !text.is_empty() && text.len() <= 8 && letters
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(said: &str) -> (Point, Point, bool, Repeats) {
        let range = Range::read(said).unwrap_or_else(|wrong| panic!("{said}: {wrong:?}"));
        (range.from, range.through, range.up_to, range.repeats)
    }

    fn number(text: &str) -> By {
        By::Number(text.to_owned())
    }

    fn letter(text: &str) -> By {
        By::Letter(text.to_owned())
    }

    #[test]
    fn lists_are_understood_as_they_speak() {
        let (from, through, up_to, repeats) = read("Pickup to 17 through downbeat of 33");
        assert!(from.pickup && from.by == number("17") && from.beat.is_none());
        assert!(through.by == number("33") && through.beat == Some(Rational::ONE) && !up_to);
        assert_eq!(repeats, Repeats::NotTaken);

        let (from, through, ..) = read("4 after C to the end");
        assert!(from.by == letter("C") && from.bars == 4 && from.counted_after);
        assert_eq!(through.by, By::End);

        let (from, through, ..) = read("four bars before letter D – 2 after E");
        assert_eq!((from.by, from.bars), (letter("D"), -4));
        assert_eq!((through.by, through.bars), (letter("E"), 2));

        let (from, through, _, repeats) = read("mm. 17–33, second ending only");
        assert_eq!((from.by, through.by), (By::Bar("17".to_owned()), number("33")));
        assert_eq!(repeats, Repeats::SaidNotTaken);

        let (from, through, ..) = read("beat 3 of 12 through the third beat of bar 16");
        assert_eq!((from.by, from.beat), (number("12"), Some(Rational::whole(3))));
        assert_eq!(
            (through.by, through.beat),
            (By::Bar("16".to_owned()), Some(Rational::whole(3)))
        );

        let (from, through, up_to, _) = read("beginning up to B");
        assert_eq!((from.by, through.by, up_to), (By::Beginning, letter("B"), true));

        let (from, through, ..) = read("last 8 bars");
        assert_eq!((from.by, from.bars, through.by), (By::End, -7, By::End));
        let (from, through, ..) = read("the first sixteen measures".replace("sixteen", "16").as_str());
        assert_eq!(
            (from.by, through.by, through.bars),
            (By::Beginning, By::Beginning, 15)
        );

        let (from, through, _, repeats) = read("12:2.5-14, with repeats");
        assert_eq!((from.beat, through.by), (Rational::parse("2.5"), number("14")));
        assert_eq!(repeats, Repeats::Taken);

        let (from, ..) = read("fourth bar of C through D");
        assert_eq!((from.by, from.bars, from.counted_after), (letter("C"), 3, false));
        let (from, through, ..) = read("17");
        assert_eq!(from, through);
        assert_eq!(read("all").1.by, By::End);
        let (from, through, ..) = read("the pickups into 9 thru 4a".replace("into", "to").as_str());
        assert!(from.pickup && through.by == number("4a"));
    }

    #[test]
    fn what_is_not_understood_is_named() {
        for said in [
            "the loud bit",
            "17 through",
            "beat x of 12 to 14",
            "pickup to 17",
            "3 after the end to 4",
            "beat 0 of 2 to 3",
        ] {
            let wrong = Range::read(said).expect_err(said);
            assert!(!wrong.advice.is_empty(), "{said}: {wrong:?}");
        }
    }

    proptest::proptest! {
        #[test]
        fn any_words_are_read_or_refused(said in "\\PC{0,60}") {
            let _ = Range::read(&said);
        }

        #[test]
        fn numbers_come_back(from in 1u32..500, more in 0u32..500) {
            let range = Range::read(&format!("{from} through {}", from + more)).expect("understood");
            proptest::prop_assert_eq!(range.from.by, By::Number(from.to_string()));
            proptest::prop_assert_eq!(range.through.by, By::Number((from + more).to_string()));
        }
    }
}
