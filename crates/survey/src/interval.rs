//! How far is it from one note to the next? Intervals by name.

use notation::Pitch;

const NUMBERS: [&str; 7] = ["unison", "second", "third", "fourth", "fifth", "sixth", "seventh"];
const MAJOR: [i64; 7] = [0, 2, 4, 5, 7, 9, 11];

/// The interval between two pitches by its name (`minor sixth`, `octave and a major third`), whatever its direction.
pub(crate) fn interval_name(from: Pitch, to: Pitch) -> String {
    let (low, high) = if from <= to { (from, to) } else { (to, from) };
    let steps = i64::from(high.diatonic()) - i64::from(low.diatonic());
    let semitones = high.semitones() - low.semitones();
    if steps < 0 || !semitones.is_whole() {
        return format!("{semitones} semitones");
    }
    let octaves = steps / 7;
    let simple = usize::try_from(steps % 7).unwrap_or(0);
    let Some((number, major)) = NUMBERS.get(simple).zip(MAJOR.get(simple)) else {
        return format!("{semitones} semitones");
    };
    let quality = quality(simple, semitones.num() - 12 * octaves - major);
    let Some(quality) = quality else {
        return format!("{semitones} semitones");
    };
    match (octaves, simple) {
        (0, 0) if quality == "perfect" => "unison".to_owned(),
        (1, 0) if quality == "perfect" => "octave".to_owned(),
        (n, 0) if quality == "perfect" => format!("{n} octaves"),
        (0, _) => format!("{quality} {number}"),
        (1, 0) => format!("{quality} octave"),
        (1, _) => format!("octave and {} {quality} {number}", article(quality)),
        (n, _) => format!("{n} octaves and {} {quality} {number}", article(quality)),
    }
}

fn article(quality: &str) -> &'static str {
    if quality.starts_with('a') { "an" } else { "a" }
}

fn quality(simple: usize, off: i64) -> Option<&'static str> {
    let perfect = matches!(simple, 0 | 3 | 4);
    Some(match (perfect, off) {
        (true, 0) => "perfect",
        (false, 0) => "major",
        (false, -1) => "minor",
        (true, -1) | (false, -2) => "diminished",
        (_, 1) => "augmented",
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: any theory primer (common practice).
    #[test]
    fn intervals_have_their_names() {
        let name = |a: &str, b: &str| interval_name(Pitch::parse(a).expect(a), Pitch::parse(b).expect(b));
        assert_eq!(name("C4", "E4"), "major third");
        assert_eq!(name("A4", "F4"), "major third");
        assert_eq!(name("B3", "F4"), "diminished fifth");
        assert_eq!(name("F4", "B4"), "augmented fourth");
        assert_eq!(name("G2", "G3"), "octave");
        assert_eq!(name("C4", "E5"), "octave and a major third");
        assert_eq!(name("C4", "F#5"), "octave and an augmented fourth");
        assert_eq!(name("C2", "C4"), "2 octaves");
        assert_eq!(name("Eb4", "F#4"), "augmented second");
        assert_eq!(name("C4", "C#4"), "augmented unison");
    }
}
