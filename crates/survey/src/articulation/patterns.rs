//! How are groups of equal notes slurred and tongued? "Slur two, tongue two" and its kin, beat by beat.

use super::attacks::{Attack, Sounded};
use super::meaning::Separate;
use crate::Context;
use notation::{BarIndex, Id, Metre, Place, Quarters, Rational};

/// How many patterns are named.
const SHOWN: usize = 8;

/// One way of slurring a group of equal notes.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct SlurPattern {
    /// Letter by letter at its first place: `S` a slur begins, `s` slurred to, `t` separate.
    pub letters: String,
    /// In words: `slur two, tongue two`.
    pub name: String,
    /// True for a mixture of slurred and separate notes: what fingers and tongue must agree on.
    pub mixed: bool,
    /// Length of each note, in quarter notes.
    pub value: Quarters,
    /// How often.
    pub count: usize,
    /// Where first.
    pub first: (Place, Id),
    /// The bars, each once.
    pub bars: Vec<BarIndex>,
}

/// Patterns over one beat (three equal notes or more) or over two beats (two equal notes to the beat).
pub(super) fn patterns(ctx: &Context, voices: &[Vec<Sounded>], separate: Separate) -> Vec<SlurPattern> {
    let mut found: Vec<SlurPattern> = Vec::new();
    for notes in voices {
        let mut index = 0;
        while let Some(note) = notes.get(index) {
            let Some(size) = group_at(ctx, notes, index) else {
                index += 1;
                continue;
            };
            let letters: String = (index..index + size).filter_map(|i| letter(notes, i)).collect();
            let here = (note.event.place, note.event.id);
            let value = note.event.duration;
            let name = name(&letters, separate);
            match found.iter_mut().find(|p| p.name == name && p.value == value) {
                Some(known) => {
                    known.count += 1;
                    if known.bars.last() != Some(&here.0.bar) {
                        known.bars.push(here.0.bar);
                    }
                }
                None => found.push(SlurPattern {
                    name,
                    mixed: letters.contains('t') && letters.contains('s'),
                    letters,
                    value,
                    count: 1,
                    first: here,
                    bars: vec![here.0.bar],
                }),
            }
            index += size;
        }
    }
    found.sort_by_key(|pattern| (std::cmp::Reverse(pattern.count), pattern.first.0));
    found.truncate(SHOWN);
    found
}

/// How many notes from `index` on make a full group: equal, in a row, in one bar, at the start of the group's beat.
fn group_at(ctx: &Context, notes: &[Sounded], index: usize) -> Option<usize> {
    let first = notes.get(index)?;
    let value = first.event.duration;
    let beat = ctx.part.metre_at(first.event.place).and_then(beat)?;
    if !value.is_positive() {
        return None;
    }
    let per_beat = beat / value;
    let (group, size) = if per_beat.is_whole() && per_beat >= Rational::whole(3) {
        (beat, per_beat)
    } else if per_beat == Rational::whole(2) {
        (beat + beat, Rational::whole(4))
    } else {
        return None;
    };
    let size = usize::try_from(size.num()).ok().filter(|n| *n <= 16)?;
    if !first.event.place.offset.modulo(group).is_zero() {
        return None;
    }
    let mut end = first.onset;
    for note in notes.get(index..index + size)? {
        let fits = note.event.duration == value
            && note.onset == end
            && note.event.place.bar == first.event.place.bar
            && note.attack != Attack::Tied;
        if !fits {
            return None;
        }
        end = note.onset + value;
    }
    Some(size)
}

/// The beat that a reader counts: a dotted note in compound time, else the lower number's note.
fn beat(metre: &Metre) -> Option<Quarters> {
    let (beats, beat_type) = metre.simple()?;
    let unit = Rational::new(4, i64::from(beat_type));
    let compound =
        beats % 3 == 0 && (beats > 3 && beat_type >= 8 || beat_type >= 16 || beats == 3 && beat_type == 8);
    (!unit.is_overflow()).then_some(if compound { unit * Rational::whole(3) } else { unit })
}

fn letter(notes: &[Sounded], index: usize) -> Option<char> {
    let note = notes.get(index)?;
    let slurs_on = notes
        .get(index + 1)
        .is_some_and(|next| next.attack == Attack::Slurred && next.onset == note.onset + note.event.duration);
    Some(match note.attack {
        Attack::Slurred => 's',
        _ if slurs_on => 'S',
        _ => 't',
    })
}

/// The pattern in words.
fn name(letters: &str, separate: Separate) -> String {
    if !letters.contains(['s', 'S']) {
        return format!("all {}", separate.done());
    }
    let trimmed = letters.trim_start_matches('s');
    let carried = letters.len() - trimmed.len();
    // Split before each attack, then count.
    let mut parts: Vec<(bool, usize)> = Vec::new();
    for letter in trimmed.chars() {
        match (letter, parts.last_mut()) {
            ('s', Some((true, n))) => *n += 1,
            ('t', Some((false, n))) => *n += 1,
            ('t', _) => parts.push((false, 1)),
            _ => parts.push((true, 1)),
        }
    }
    if parts.is_empty() || carried == 0 && parts.len() == 1 {
        return "all slurred".to_owned();
    }
    if carried == 0
        && let Some((true, n)) = parts.first().copied()
        && parts.iter().all(|part| *part == (true, n))
    {
        return format!("slurred in {}s", number(n));
    }
    let mut said: Vec<String> = Vec::new();
    if carried > 0 {
        said.push(format!("slur {} over from before", number(carried)));
    }
    said.extend(parts.iter().map(|(slurred, n)| {
        let verb = if *slurred { "slur" } else { separate.verb() };
        // A slur of one is the start of the next group's.
        if *slurred && *n == 1 {
            "slur on from the last".to_owned()
        } else {
            format!("{verb} {}", number(*n))
        }
    }));
    said.join(", ")
}

fn number(n: usize) -> String {
    let words = [
        "", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve",
    ];
    words
        .get(n)
        .map_or_else(|| n.to_string(), |word| (*word).to_owned())
}

#[cfg(test)]
mod tests {
    use crate::articulation::tests::ask;

    fn names(text: &str) -> Vec<(String, usize)> {
        ask(text, "Clarinet in Bb")
            .patterns
            .into_iter()
            .map(|p| (p.name, p.count))
            .collect()
    }

    #[test]
    fn slur_two_tongue_two() {
        let beat = "( C4/s D4/s ) E4/s F4/s";
        assert_eq!(
            names(&format!(
                "metre:2/4 {beat} {beat} | {beat} ( G4/s F4/s E4/s D4/s ) |"
            )),
            [
                ("slur two, tongue two".to_owned(), 3),
                ("all slurred".to_owned(), 1)
            ]
        );
    }

    #[test]
    fn eighths_are_grouped_by_two_beats_and_six_eight_by_threes() {
        assert_eq!(
            names("metre:4/4 C4/e D4/e ( E4/e F4/e ) ( C4/e D4/e ) ( E4/e F4/e ) |"),
            [
                ("tongue two, slur two".to_owned(), 1),
                ("slurred in twos".to_owned(), 1)
            ]
        );
        assert_eq!(
            names("metre:6/8 ( C4/e D4/e E4/e ) C4/e ( D4/e E4/e ) |"),
            [
                ("all slurred".to_owned(), 1),
                ("tongue one, slur two".to_owned(), 1)
            ]
        );
    }

    #[test]
    fn slurs_over_the_beat() {
        assert_eq!(
            names("metre:2/4 C4/s ( D4/s E4/s ) ( F4/s G4/s ) ( F4/s E4/s ) D4/s |"),
            [
                ("tongue one, slur two, slur on from the last".to_owned(), 1),
                ("slur one over from before, slur two, tongue one".to_owned(), 1)
            ]
        );
    }

    #[test]
    fn strings_bow_instead() {
        let found = ask("metre:2/4 ( C4/s D4/s ) E4/s F4/s C4/q |", "Violin");
        assert_eq!(found.patterns[0].name, "slur two, bow two");
    }
}
