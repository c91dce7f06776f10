//! How fast is this phrase, table by table?
//!
//! The row of the whole phrase where a table has one ("allegro moderato"); else the row of the tempo word, or of its
//! Italian equal; then half of that row where other words push it (rules below, common practice, from memory).

use super::{TempoRow, TempoTable, tables};
use crate::analysis::{Piece, Sense};
use crate::compose::{Link, Unit};
use crate::dictionary::{Entry, Modifier, Part};
use crate::inflect::Shade;
use crate::kind::Kind;
use crate::reading::understood;
use crate::words;

/// A tempo range by one table.
#[derive(Clone, Debug, PartialEq)]
pub struct TableRange {
    /// The table's name.
    pub table: &'static str,
    /// Where the table was published.
    pub source: &'static str,
    /// The beat that its numbers count.
    pub beat: &'static str,
    /// The row that was read.
    pub term: &'static str,
    /// Slowest, in beats per minute; none when the row is open below.
    pub low: Option<f64>,
    /// Fastest, in beats per minute; none when the row is open above.
    pub high: Option<f64>,
    /// The table says "about".
    pub approximate: bool,
    /// How the range was reached, in words: "as printed", "faster half: molto (common practice)".
    pub rule: String,
}

/// The tempo words from slow to fast; those in the middle are pushed neither way by "very".
const ORDER: [&str; 21] = [
    "larghissimo",
    "grave",
    "largo",
    "lentissimo",
    "lento",
    "larghetto",
    "adagio",
    "adagietto",
    "tranquillo",
    "andante",
    "andantino",
    "maestoso",
    "moderato",
    "allegretto",
    "animato",
    "allegro",
    "allegrissimo",
    "vivace",
    "vivacissimo",
    "presto",
    "prestissimo",
];
const FIRST_MIDDLE: usize = 9;
const LAST_MIDDLE: usize = 12;

/// Words without a row of their own that push a tempo, by custom.
const PUSHES: [(&str, Half); 12] = [
    ("con moto", Half::Faster),
    ("with motion", Half::Faster),
    ("with movement", Half::Faster),
    ("mosso", Half::Faster),
    ("agitato", Half::Faster),
    ("bewegt", Half::Faster),
    ("vivacità", Half::Faster),
    ("sostenuto", Half::Slower),
    ("pesante", Half::Slower),
    ("getragen", Half::Slower),
    ("maestoso", Half::Slower),
    ("tranquillo", Half::Slower),
];

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Half {
    Slower,
    Faster,
}

/// The range of a tempo marking by every table that has it; empty when the text holds no tempo of its own
/// ("più mosso" only compares).
///
/// ```
/// let ranges = terms::tempo::ranges("Allegro con fuoco");
/// let band = ranges.iter().find(|range| range.table == "French band site").unwrap();
/// assert_eq!((band.low, band.high), (Some(116.0), Some(150.0)));
/// ```
pub fn ranges(text: &str) -> Vec<TableRange> {
    let (pieces, units) = understood(text);
    let Some(marking) = marking(text, &pieces, &units) else {
        return Vec::new();
    };
    tables()
        .iter()
        .filter_map(|table| by_table(table, &marking))
        .collect()
}

/// What a text says about its tempo.
struct Marking {
    entry: Entry,
    shade: Shade,
    /// Spellings of the phrase that a table may list as one row, longest first.
    phrases: Vec<String>,
    /// Which half of the row, and the words that say so.
    push: Option<(Half, String)>,
}

fn marking(text: &str, pieces: &[Piece], units: &[Unit]) -> Option<Marking> {
    let heads: Vec<(usize, Entry, Shade)> = units
        .iter()
        .enumerate()
        .filter_map(|(i, unit)| head(unit, pieces).map(|(e, s)| (i, e, s)))
        .collect();
    let own = |kind: Kind| {
        heads
            .iter()
            .position(|(i, e, _)| e.kind == kind && speaks(&units[*i], e))
    };
    let at = own(Kind::Tempo)
        .or_else(|| own(Kind::Character))
        .or_else(|| own(Kind::Articulation))?;
    let &(place, entry, shade) = heads.get(at)?;
    let unit = units.get(place)?;
    let next = heads.get(at + 1).filter(|(i, ..)| {
        units
            .get(*i)
            .is_some_and(|next| next.link == Link::None && next.before.iter().all(|m| m.part == Part::Almost))
            || quasi(units.get(*i))
    });
    let push = modifier_push(&entry, shade, unit)
        .or_else(|| orphan_push(&entry, units, place))
        .or_else(|| neighbour_push(&entry, next.map(|(_, e, _)| e)))
        .or_else(|| word_push(&entry, pieces));
    Some(Marking {
        entry,
        shade,
        phrases: phrases(text, pieces, units, place),
        push,
    })
}

fn quasi(unit: Option<&Unit>) -> bool {
    unit.is_some_and(|unit| unit.before.iter().any(|small| small.part == Part::Almost))
}

fn head(unit: &Unit, pieces: &[Piece]) -> Option<(Entry, Shade)> {
    match pieces.get(unit.head?)?.sense {
        Sense::Term { entry, shade, .. } => Some((entry, shade)),
        _ => None,
    }
}

/// A unit states a speed when its word has a row and nothing compares or denies it.
fn speaks(unit: &Unit, entry: &Entry) -> bool {
    entry.pace().is_some()
        && !unit.before.iter().chain(&unit.after).any(|small| {
            matches!(small.part, Part::More | Part::Less | Part::Not | Part::Without)
                || matches!(small.before, "more and more" | "less and less")
        })
}

/// The unit as written, and with its neighbour, folded: "molto allegro", "allegro moderato".
fn phrases(text: &str, pieces: &[Piece], units: &[Unit], place: usize) -> Vec<String> {
    let span = |from: usize, to: usize| {
        let start = pieces.get(units.get(from)?.first)?.range.start;
        let end = pieces.get(units.get(to)?.last)?.range.end;
        let words: Vec<String> = words::tokens(text.get(start..end)?)
            .into_iter()
            .map(|token| token.fold)
            .collect();
        Some(words.join(" "))
    };
    let both = units
        .get(place + 1)
        .filter(|next| next.link == Link::None)
        .and_then(|_| span(place, place + 1));
    [both, span(place, place)].into_iter().flatten().collect()
}

fn rank(pace: &str) -> Option<usize> {
    ORDER.iter().position(|name| *name == pace)
}

/// Away from the middle, or toward it.
fn half(entry: &Entry, away: bool) -> Option<Half> {
    let rank = rank(entry.pace()?)?;
    match rank {
        ..FIRST_MIDDLE => Some(if away { Half::Slower } else { Half::Faster }),
        FIRST_MIDDLE..=LAST_MIDDLE => None,
        _ => Some(if away { Half::Faster } else { Half::Slower }),
    }
}

/// Common practice: molto, assai, sehr push away from moderate; poco, non troppo, quasi toward it.
fn modifier_push(entry: &Entry, shade: Shade, unit: &Unit) -> Option<(Half, String)> {
    let by = |small: &Modifier| {
        if small.before == "moderately" {
            let middle = rank("moderato")?;
            let own = rank(entry.pace()?)?;
            let half = if own > middle { Half::Slower } else { Half::Faster };
            return (own != middle).then(|| (half, "moderato".to_owned()));
        }
        let away = match (small.part, small.before) {
            (Part::Degree, "very" | "extremely") => true,
            (Part::Degree, "slightly" | "a little" | "rather" | "fairly" | "somewhat" | "lightly") => false,
            (Part::NotMuch | Part::Almost, _) => false,
            _ => return None,
        };
        Some((half(entry, away)?, small.word.to_owned()))
    };
    let shaded = match shade {
        Shade::Extremely => half(entry, true).map(|half| (half, "the ending -issimo".to_owned())),
        Shade::Slightly => half(entry, false).map(|half| (half, "the ending -etto or -ino".to_owned())),
        _ => None,
    };
    shaded.or_else(|| unit.before.iter().chain(&unit.after).find_map(by))
}

/// "ma non troppo" stands as a unit without a head, behind the word it limits.
fn orphan_push(entry: &Entry, units: &[Unit], place: usize) -> Option<(Half, String)> {
    let next = units.get(place + 1).filter(|next| next.head.is_none())?;
    let limit = next.before.iter().find(|small| small.part == Part::NotMuch)?;
    Some((half(entry, false)?, limit.word.to_owned()))
}

/// Common practice: a second tempo word draws the first toward it ("Allegro moderato", "Andante quasi Allegretto").
fn neighbour_push(entry: &Entry, next: Option<&Entry>) -> Option<(Half, String)> {
    let next = next?;
    let (own, other) = (rank(entry.pace()?)?, rank(next.pace()?)?);
    let half = match other.cmp(&own) {
        std::cmp::Ordering::Less => Half::Slower,
        std::cmp::Ordering::Greater => Half::Faster,
        std::cmp::Ordering::Equal => return None,
    };
    Some((half, next.term.to_owned()))
}

fn word_push(entry: &Entry, pieces: &[Piece]) -> Option<(Half, String)> {
    pieces.iter().find_map(|piece| match &piece.sense {
        Sense::Term { entry: other, .. } if other.term != entry.term => PUSHES
            .iter()
            .find(|(term, _)| *term == other.term)
            .map(|(term, half)| (*half, (*term).to_owned())),
        _ => None,
    })
}

fn by_table(table: &TempoTable, marking: &Marking) -> Option<TableRange> {
    let find = |name: &str| table.rows.iter().find(|row| row.names.contains(&name));
    let found =
        |row: &TempoRow, push: Option<&(Half, String)>, rule: &str| Some(range(table, row, push, rule));
    for phrase in &marking.phrases {
        if let Some(row) = find(phrase) {
            let alone = folded(marking.entry.term) == *phrase;
            return found(row, marking.push.as_ref().filter(|_| alone), "as printed");
        }
    }
    let push = marking.push.as_ref();
    let own = folded(marking.entry.term);
    if let Some(row) = find(&own) {
        return found(
            row,
            push,
            if marking.shade == Shade::Plain {
                "as printed"
            } else {
                "by its plain form"
            },
        );
    }
    let pace = marking.entry.pace()?;
    if let Some(row) = find(pace) {
        return found(row, push, &format!("read as {pace}"));
    }
    // A superlative that the table lacks: the faster or slower half of the plain word.
    let (plain, half) = SUPERLATIVES
        .iter()
        .find(|(name, ..)| *name == pace)
        .map(|(_, plain, half)| (plain, half))?;
    let row = find(plain)?;
    found(row, Some(&(*half, pace.to_owned())), &format!("read as {plain}"))
}

/// Superlatives and the plain words they heighten.
const SUPERLATIVES: [(&str, &str, Half); 5] = [
    ("larghissimo", "largo", Half::Slower),
    ("lentissimo", "lento", Half::Slower),
    ("allegrissimo", "allegro", Half::Faster),
    ("vivacissimo", "vivace", Half::Faster),
    ("prestissimo", "presto", Half::Faster),
];

fn folded(term: &str) -> String {
    let words: Vec<String> = words::tokens(term).into_iter().map(|token| token.fold).collect();
    words.join(" ")
}

fn range(table: &TempoTable, row: &TempoRow, push: Option<&(Half, String)>, rule: &str) -> TableRange {
    let (mut low, mut high) = (row.low.map(f64::from), row.high.map(f64::from));
    let mut rule = rule.to_owned();
    if let (Some((half, words)), Some(bottom), Some(top)) = (push, low, high)
        && bottom < top
    {
        let middle = f64::midpoint(bottom, top);
        match half {
            Half::Faster => low = Some(middle),
            Half::Slower => high = Some(middle),
        }
        let name = if *half == Half::Faster { "faster" } else { "slower" };
        rule = format!("{rule}; {name} half for {words} (common practice)");
    }
    TableRange {
        table: table.name,
        source: table.source,
        beat: table.beat,
        term: row.names.first().copied().unwrap_or_default(),
        low,
        high,
        approximate: row.approximate,
        rule,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn by(text: &str, table: &str) -> Option<(Option<f64>, Option<f64>)> {
        ranges(text)
            .into_iter()
            .find(|range| range.table == table)
            .map(|range| (range.low, range.high))
    }

    fn check(text: &str, table: &str, low: f64, high: f64) {
        assert_eq!(
            by(text, table),
            Some((Some(low), Some(high))),
            "{text} in {table}"
        );
    }

    /// Source: musique-harmonie.fr.
    #[test]
    fn french_band_site() {
        check("Grave", "French band site", 40.0, 45.0);
        check("Andante", "French band site", 60.0, 90.0);
        check("Allegro", "French band site", 116.0, 150.0);
        check("Presto", "French band site", 144.0, 200.0);
        assert_eq!(by("Prestissimo", "French band site"), Some((Some(184.0), None)));
    }

    /// Source: Portuguese encyclopaedia article on tempo.
    #[test]
    fn portuguese_encyclopaedia() {
        check("Andante", "Portuguese encyclopaedia", 73.0, 80.0);
        check("Moderato", "Portuguese encyclopaedia", 96.0, 104.0);
        assert_eq!(by("Lento", "Portuguese encyclopaedia"), None);
    }

    /// Source: older English encyclopaedia list (two web copies).
    #[test]
    fn older_english_list() {
        check("Lento", "older English list", 40.0, 45.0);
        check("Largo", "older English list", 45.0, 50.0);
        check("Allegretto", "older English list", 98.0, 109.0);
    }

    /// Source: coronastrings; the same values stand on the metronome box.
    #[test]
    fn string_shop_and_metronome_box_agree() {
        for term in ["Adagio", "Andante", "Moderato", "Allegro", "Presto"] {
            assert_eq!(
                by(term, "string-shop handbook"),
                by(term, "metronome-box scale"),
                "{term}"
            );
        }
        check("Allegro", "metronome-box scale", 120.0, 168.0);
    }

    /// Source: thoughtco.com, multilingual tempo commands.
    #[test]
    fn three_languages() {
        check("Langsam", "three-language table", 52.0, 68.0);
        check("Très vite", "three-language table", 168.0, 168.0);
        check("Sehr schnell", "three-language table", 140.0, 200.0);
        check("Assez vite", "three-language table", 100.0, 128.0);
        check("Modéré", "three-language table", 88.0, 112.0);
        check("Äußerst schnell", "three-language table", 188.0, 220.0);
        assert_eq!(
            by("Sehr langsam", "three-language table"),
            Some((None, Some(48.0)))
        );
    }

    /// Source: music21 10.5.1, `tempo.defaultTempoValues`.
    #[test]
    fn music21_defaults() {
        for (text, speed) in [
            ("Allegro moderato", 128.0),
            ("Molto allegro", 144.0),
            ("Molto Adagio", 40.0),
            ("Langsam", 56.0),
            ("Slow", 56.0),
            ("Andante moderato", 83.0),
            ("Maestoso", 88.0),
            ("Largamente", 32.0),
            ("très vite", 144.0),
            ("Vivace", 160.0),
        ] {
            check(text, "music21 defaults", speed, speed);
        }
    }

    /// The rules are marked common practice; the rows are those of musique-harmonie.fr and the metronome box.
    #[test]
    fn other_words_choose_half_of_a_row() {
        check("Allegro moderato", "metronome-box scale", 120.0, 144.0);
        check("Molto allegro", "metronome-box scale", 144.0, 168.0);
        check("Allegro assai", "metronome-box scale", 144.0, 168.0);
        check("Allegro ma non troppo", "French band site", 116.0, 133.0);
        check("Allegro non troppo", "French band site", 116.0, 133.0);
        check("Adagio ma non troppo", "metronome-box scale", 71.0, 76.0);
        check("Adagio molto", "metronome-box scale", 66.0, 71.0);
        check("Andante con moto", "metronome-box scale", 92.0, 108.0);
        check(
            "Andante con moto, quasi Allegretto",
            "French band site",
            75.0,
            90.0,
        );
        check("Andante sostenuto", "French band site", 60.0, 75.0);
        check("Allegro vivace", "French band site", 133.0, 150.0);
        check("Allegro con fuoco", "French band site", 116.0, 150.0);
        check("Poco allegro", "French band site", 116.0, 133.0);
        check("Un poco adagio", "French band site", 62.5, 70.0);
        check("Sehr langsam", "French band site", 52.0, 58.5);
    }

    #[test]
    fn equals_in_other_languages_and_misspellings() {
        check("Lebhaft", "French band site", 126.0, 170.0);
        check("Mässig", "French band site", 80.0, 105.0);
        check("Lent", "French band site", 52.0, 65.0);
        check("Allegreto", "French band site", 100.0, 120.0);
        check("Fast", "French band site", 116.0, 150.0);
        let rule = ranges("Lebhaft")
            .into_iter()
            .find(|range| range.table == "French band site")
            .unwrap()
            .rule;
        assert_eq!(rule, "read as vivace");
    }

    #[test]
    fn what_states_no_speed_has_no_range() {
        for text in [
            "più mosso",
            "dolce",
            "Etwas bewegter",
            "un peu plus lent",
            "meno allegro",
            "rit.",
            "",
            "Waltz",
            "nicht schnell",
        ] {
            assert_eq!(ranges(text), Vec::new(), "{text}");
        }
    }

    #[test]
    fn at_least_two_tables_know_each_common_tempo() {
        for text in [
            "Largo",
            "Adagio",
            "Andante",
            "Moderato",
            "Allegretto",
            "Allegro",
            "Vivace",
            "Presto",
            "Lento",
            "Grave",
        ] {
            assert!(ranges(text).len() >= 4, "{text}");
        }
    }

    #[test]
    fn every_pace_named_in_the_dictionary_is_in_the_order() {
        for entry in crate::entries() {
            if let Some(pace) = entry.pace() {
                assert!(rank(pace).is_some(), "{}: {pace}", entry.term);
            }
        }
    }

    #[test]
    fn rows_are_sane() {
        for table in tables() {
            for row in table.rows {
                assert!(row.low.is_some() || row.high.is_some());
                assert!(
                    row.low.zip(row.high).is_none_or(|(low, high)| low <= high),
                    "{row:?}"
                );
            }
        }
    }
}
