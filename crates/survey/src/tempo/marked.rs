//! What does the page say about speed? Tempo words and metronome marks in order, before anybody knows the beat.
//!
//! In a score the tempo often stands over the top part alone: marks of the other parts are read too, where the part
//! has none at that place. Playback hints are kept apart: they are not printed.

use crate::Context;
use crate::metre::BeatUnit;
use notation::{Direction, DirectionKind, Id, Metronome, MetronomeValue, NoteValue, Place, Rational};
use std::collections::BTreeMap;
use terms::tempo::{TableRange, TempoChange};

/// Everything on the page that sets or changes the speed, in order of place.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Marked {
    /// Words and metronome marks.
    pub marks: Vec<TempoMark>,
    /// Playback hints of the source: place and quarter notes a minute. Not printed, so never proof.
    pub hints: Vec<(Place, f64)>,
}

/// What is printed about speed at one place.
#[derive(Clone, PartialEq, Debug)]
pub struct TempoMark {
    /// Where.
    pub place: Place,
    /// The element that says it (the words before the metronome mark).
    pub element: Id,
    /// The part's name, if it is printed in another part only.
    pub printed_in: Option<String>,
    /// The words, if they set or change a tempo.
    pub words: Option<String>,
    /// True if the words are a tempo first of all (Andante), not a manner of playing that tables happen to list.
    pub is_tempo: bool,
    /// The speed of the words by every table that lists them, in beats a minute; empty if they only change the speed.
    pub ranges: Vec<TableRange>,
    /// Changes of speed that the words ask for.
    pub changes: Vec<TempoChange>,
    /// The metronome mark as printed.
    pub metronome: Option<MetronomeMark>,
    /// One note as long as another was (♩ = ♪): the old one and the new one.
    pub equals: Option<(BeatUnit, BeatUnit)>,
    /// How many beats to count in a bar, where the words say so ("in 2").
    pub count_in: Option<u16>,
}

/// A metronome mark with a number.
#[derive(Clone, PartialEq, Debug)]
pub struct MetronomeMark {
    /// The note that is counted, as printed.
    pub unit: BeatUnit,
    /// Slowest, in such notes a minute.
    pub low: f64,
    /// Fastest, in such notes a minute.
    pub high: f64,
    /// The number as printed.
    pub text: String,
    /// Printed in parentheses: a suggestion.
    pub parentheses: bool,
}

/// How fast a tempo word is, by the middle of the tables that list it.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub enum Pace {
    /// Under 76 beats a minute (Largo, Adagio), where the metronome-box scale changes to Andante.
    Slow,
    /// Under 108 (Andante, Moderato).
    Moderate,
    /// Under 152 (Allegro, Vivace).
    Fast,
    /// 152 and over (Presto).
    VeryFast,
}

impl TempoMark {
    /// True if it sets a speed of its own: a metronome mark, or tempo words that a table lists. A manner of playing
    /// ("largamente") is too little to change the tempo of a piece, though it may open one.
    #[must_use]
    pub fn sets(&self) -> bool {
        self.metronome.is_some() || self.is_tempo && !self.ranges.is_empty()
    }

    /// The middle of the tables' ranges in beats a minute: the median of their middles; `None` without words.
    #[must_use]
    pub fn middle(&self) -> Option<f64> {
        let mut middles: Vec<f64> = self.spans().map(|(low, high)| f64::midpoint(low, high)).collect();
        middles.sort_by(f64::total_cmp);
        middles.get(middles.len() / 2).copied()
    }

    /// The tables' ranges in beats a minute; single values stand in for a range only where no table gives one.
    pub(crate) fn spans(&self) -> impl Iterator<Item = (f64, f64)> + '_ {
        let closed = |range: &TableRange| match (range.low, range.high) {
            (Some(low), Some(high)) => Some((low, high)),
            (Some(one), None) | (None, Some(one)) => Some((one, one)),
            (None, None) => None,
        };
        let wide = self.ranges.iter().any(|range| range.low != range.high);
        self.ranges
            .iter()
            .filter(move |range| !wide || range.low != range.high)
            .filter_map(closed)
    }

    /// How fast the words are.
    #[must_use]
    pub fn pace(&self) -> Option<Pace> {
        self.middle().map(|beats| match beats {
            beats if beats < 76.0 => Pace::Slow,
            beats if beats < 108.0 => Pace::Moderate,
            beats if beats < 152.0 => Pace::Fast,
            _ => Pace::VeryFast,
        })
    }

    /// Quarter notes a minute by the metronome mark, slowest and fastest.
    #[must_use]
    pub fn quarters_a_minute(&self) -> Option<(f64, f64)> {
        let mark = self.metronome.as_ref()?;
        let quarters = mark.unit.quarters().to_f64();
        Some((mark.low * quarters, mark.high * quarters))
    }
}

impl Marked {
    /// The last mark that sets a speed at or before a place.
    #[must_use]
    pub fn at(&self, place: Place) -> Option<&TempoMark> {
        let until = self.marks.partition_point(|mark| mark.place <= place);
        self.marks
            .get(..until)?
            .iter()
            .rev()
            .find(|mark| mark.sets() || mark.count_in.is_some())
    }
}

/// Reads words and metronome marks; the part's own first, then those of the other parts at other places.
#[must_use]
pub fn marked(ctx: &Context) -> Marked {
    let mut reader = Reader::default();
    for direction in &ctx.part.directions {
        reader.read(direction, None);
    }
    for (index, part) in ctx.piece.parts.iter().enumerate() {
        if index == ctx.part_index {
            continue;
        }
        for direction in &part.directions {
            if !reader.marks.contains_key(&direction.place) || reader.is_foreign(direction.place, &part.name)
            {
                reader.read(direction, Some(&part.name));
            }
        }
    }
    let hints = ctx.piece.sound_hints.iter().filter_map(|hint| {
        let speed: f64 = hint.get("tempo")?.trim().parse().ok()?;
        (speed.is_finite() && speed > 0.0).then_some((hint.place, speed))
    });
    let mut hints: Vec<(Place, f64)> = hints.collect();
    hints.sort_by_key(|hint| hint.0);
    hints.dedup_by_key(|hint| hint.0);
    Marked {
        marks: reader.marks.into_values().collect(),
        hints,
    }
}

#[derive(Default)]
struct Reader {
    marks: BTreeMap<Place, TempoMark>,
    /// Words are often the same from part to part: each text is understood once.
    known: BTreeMap<String, Option<Words>>,
}

#[derive(Clone)]
struct Words {
    ranges: Vec<TableRange>,
    is_tempo: bool,
    changes: Vec<TempoChange>,
    metronome: Option<MetronomeMark>,
    count_in: Option<u16>,
}

impl Reader {
    fn is_foreign(&self, place: Place, part: &str) -> bool {
        self.marks
            .get(&place)
            .is_some_and(|mark| mark.printed_in.as_deref() == Some(part))
    }

    fn read(&mut self, direction: &Direction, part: Option<&str>) {
        match &direction.kind {
            DirectionKind::Words(text) => self.words(direction, text, part),
            DirectionKind::Metronome(metronome) if direction.printed => {
                self.metronome(direction, metronome, part)
            }
            _ => {}
        }
    }

    fn words(&mut self, direction: &Direction, text: &str, part: Option<&str>) {
        if !self.known.contains_key(text) {
            self.known.insert(text.to_owned(), understand(text));
        }
        let Some(Some(words)) = self.known.get(text).cloned() else {
            return;
        };
        let mark = self.mark(direction, part);
        match &mut mark.words {
            Some(already) => {
                already.push(' ');
                already.push_str(text.trim());
            }
            None => {
                mark.words = Some(text.trim().to_owned());
                mark.element = direction.id;
            }
        }
        mark.is_tempo |= words.is_tempo;
        if mark.ranges.is_empty() {
            mark.ranges = words.ranges;
        }
        mark.changes.extend(words.changes);
        mark.metronome = mark.metronome.take().or(words.metronome);
        mark.count_in = mark.count_in.or(words.count_in);
    }

    fn metronome(&mut self, direction: &Direction, metronome: &Metronome, part: Option<&str>) {
        let unit = BeatUnit {
            value: metronome.beat,
            dots: metronome.dots,
        };
        match &metronome.value {
            MetronomeValue::Equals(value, dots) => {
                self.mark(direction, part).equals = Some((
                    unit,
                    BeatUnit {
                        value: *value,
                        dots: *dots,
                    },
                ));
            }
            MetronomeValue::PerMinute(text) => {
                let Some((low, high)) = metronome.value.range() else {
                    return;
                };
                self.mark(direction, part).metronome = Some(MetronomeMark {
                    unit,
                    low: low.to_f64(),
                    high: high.to_f64(),
                    text: text.clone(),
                    parentheses: metronome.parentheses,
                });
            }
        }
    }

    fn mark(&mut self, direction: &Direction, part: Option<&str>) -> &mut TempoMark {
        self.marks.entry(direction.place).or_insert_with(|| TempoMark {
            place: direction.place,
            element: direction.id,
            printed_in: part.map(str::to_owned),
            words: None,
            is_tempo: false,
            ranges: Vec::new(),
            changes: Vec::new(),
            metronome: None,
            equals: None,
            count_in: None,
        })
    }
}

/// Tempo words that inside a piece mostly say how to play, not how fast. Common practice.
const MANNERS: [&str; 1] = ["largamente"];

fn is_tempo(text: &str) -> bool {
    let reading = terms::read(text);
    let of_tempo = |word: &&terms::WordReading| word.kind == terms::Kind::Tempo;
    let mut tempos = reading.words.iter().filter(of_tempo);
    reading.kind == Some(terms::Kind::Tempo) && tempos.any(|word| !MANNERS.contains(&word.lemma.as_str()))
}

/// What words say about speed; `None` if nothing.
fn understand(text: &str) -> Option<Words> {
    let words = Words {
        is_tempo: is_tempo(text),
        ranges: terms::tempo::ranges(text),
        changes: terms::tempo::changes(text),
        metronome: written_equation(text),
        count_in: count_in(text),
    };
    let says = !words.ranges.is_empty()
        || !words.changes.is_empty()
        || words.metronome.is_some()
        || words.count_in.is_some()
        || words.is_tempo;
    says.then_some(words)
}

/// A metronome mark typed as words: `♩ = 96`, `(♩. = 60)`, with the note signs of Unicode or of SMuFL.
/// Source: SMuFL 1.4, metronome marks (U+ECA0 to U+ECB7); Unicode, musical symbols.
fn written_equation(text: &str) -> Option<MetronomeMark> {
    let (before, after) = text.split_once('=')?;
    let before = before.trim_end();
    let undotted = before.trim_end_matches(['.', '\u{ECB7}', '\u{E1E7}', ' ']);
    let dots = before.chars().count() - undotted.chars().count();
    let value = match undotted.chars().last()? {
        '♩' | '\u{1D15F}' | '\u{ECA5}' | '\u{E1D5}' => NoteValue::Quarter,
        '♪' | '\u{1D160}' | '\u{ECA7}' | '\u{E1D7}' => NoteValue::Eighth,
        '\u{1D15E}' | '\u{ECA3}' | '\u{E1D3}' => NoteValue::Half,
        _ => return None,
    };
    let number: String = after.trim().trim_end_matches([')', ']']).to_owned();
    let (low, high) = MetronomeValue::PerMinute(number.clone()).range()?;
    Some(MetronomeMark {
        unit: BeatUnit {
            value,
            dots: u8::try_from(dots.min(2)).unwrap_or(0),
        },
        low: low.to_f64(),
        high: high.to_f64(),
        text: number,
        parentheses: text.trim_end().ends_with(')'),
    })
}

/// "in 2", "in four", "alla breve": how many beats to count in a bar.
fn count_in(text: &str) -> Option<u16> {
    const NUMBERS: [&str; 12] = [
        "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve",
    ];
    let lower = text.to_lowercase();
    if lower.contains("alla breve") {
        return Some(2);
    }
    let words: Vec<&str> = lower
        .split(|c: char| !c.is_alphanumeric())
        .filter(|word| !word.is_empty())
        .collect();
    let [.., "in", last] = words.as_slice() else {
        return None;
    };
    let named = NUMBERS
        .iter()
        .position(|number| number == last)
        .and_then(|at| u16::try_from(at + 1).ok());
    named
        .or_else(|| last.parse().ok())
        .filter(|count| (1..=12).contains(count))
}

/// A speed given in one note, said in another: so many `to` a minute.
#[must_use]
pub fn convert(per_minute: f64, from: Rational, to: Rational) -> f64 {
    if to.is_positive() {
        per_minute * (from / to).to_f64()
    } else {
        per_minute
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use notation::sketch;

    fn of(text: &str) -> Marked {
        let piece = sketch(text).unwrap();
        marked(&Context::new(&piece, 0).unwrap())
    }

    #[test]
    fn words_and_metronome_at_one_place_are_one_mark() {
        let found = of("metre:6/8 \"Allegro\" mm:q.=100 C5/q. C5/q. | \"rit.\" C5/h. | \"dolce\" C5/h. |");
        assert_eq!(found.marks.len(), 2);
        let first = &found.marks[0];
        assert_eq!(first.words.as_deref(), Some("Allegro"));
        assert_eq!(first.quarters_a_minute(), Some((150.0, 150.0)));
        assert_eq!(first.pace(), Some(Pace::Fast));
        assert!(!found.marks[1].sets());
    }

    #[test]
    fn typed_equations_and_counts_are_read() {
        let mark = |text: &str| written_equation(text).map(|m| (m.unit.sign(), m.low, m.high));
        assert_eq!(mark("Allegro (♩ = 120)"), Some(("♩".to_owned(), 120.0, 120.0)));
        assert_eq!(mark("♩. = 60-66"), Some(("♩.".to_owned(), 60.0, 66.0)));
        assert_eq!(mark("a = b"), None);
        assert_eq!(
            (
                count_in("in 2"),
                count_in("Presto (in one)"),
                count_in("Alla breve")
            ),
            (Some(2), Some(1), Some(2))
        );
        assert_eq!(
            (count_in("in tempo"), count_in("in C"), count_in("3 in")),
            (None, None, None)
        );
    }

    #[test]
    fn the_paces_of_common_words() {
        let pace = |word: &str| of(&format!("\"{word}\" C5/q")).marks[0].pace();
        assert_eq!(pace("Adagio"), Some(Pace::Slow));
        assert_eq!(pace("Andante"), Some(Pace::Moderate));
        assert_eq!(pace("Allegro"), Some(Pace::Fast));
        assert_eq!(pace("Presto"), Some(Pace::VeryFast));
    }

    #[test]
    fn a_mark_over_another_part_counts_too() {
        let mut piece = sketch("\"Largo\" C5/w |").unwrap();
        let mut other = sketch("C4/w |").unwrap().parts.remove(0);
        other.name = "Second".to_owned();
        piece.parts.push(other);
        let found = marked(&Context::new(&piece, 1).unwrap());
        assert_eq!(found.marks[0].printed_in.as_deref(), Some("Sketch"));
    }
}
