//! Which mode proper is it? Dorian, mixolydian and the rest, told from plain major and minor by the notes that differ.

use super::material::Material;
use super::tonality::{Scale, Tonality};

/// A note must be this many times as long in sum as its rival before it names a mode (our choice: a leading note
/// that comes now and then at cadences leaves a piece in minor, as it does in the chorales).
const CLEARLY: f64 = 3.0;
/// And have at least this share of the part's time.
const SHARE: f64 = 0.01;

/// The mode proper of a part whose tonic and third are known, and why.
#[must_use]
pub fn scale(material: &Material, key: Tonality) -> (Scale, Option<String>) {
    let total = material.all.total();
    if total <= 0.0 {
        return (plain(key), None);
    }
    let time = |above: i32| material.all.at(key.fifths + above) / total;
    let clear = |this: f64, rival: f64| this >= SHARE && this > CLEARLY * rival;
    let name = |above: i32| super::tonality::note_name(key.fifths + above);
    if key.minor {
        if clear(time(-5), time(2)) {
            return (
                Scale::Phrygian,
                Some(format!(
                    "its second is {}, a semitone above the final, not {}",
                    name(-5),
                    name(2)
                )),
            );
        }
        // A raised leading note that matters makes it plain minor, whatever the sixth.
        if time(5) * 2.0 > time(-2) {
            return (Scale::Minor, None);
        }
        if clear(time(3), time(-4)) {
            return (
                Scale::Dorian,
                Some(format!(
                    "its sixth is {}, not {}, and its seventh {} is not raised",
                    name(3),
                    name(-4),
                    name(-2)
                )),
            );
        }
        if time(-2) >= SHARE && time(5) <= 0.0 && whole_step_cadences(material, key) >= 2 {
            return (
                Scale::Aeolian,
                Some(format!(
                    "its seventh {} goes to the final and is never raised",
                    name(-2)
                )),
            );
        }
        return (Scale::Minor, None);
    }
    if clear(time(-2), time(5)) {
        return (
            Scale::Mixolydian,
            Some(format!("its seventh is {}, not {}", name(-2), name(5))),
        );
    }
    if clear(time(6), time(-1)) {
        return (
            Scale::Lydian,
            Some(format!("its fourth is {}, not {}", name(6), name(-1))),
        );
    }
    (Scale::Major, None)
}

const fn plain(key: Tonality) -> Scale {
    if key.minor { Scale::Minor } else { Scale::Major }
}

/// How often the natural seventh rises to the final at the end of a phrase or of the piece.
fn whole_step_cadences(material: &Material, key: Tonality) -> usize {
    let line = &material.line;
    let closes = |i: usize| i == material.last || line[i].ending > 0.0;
    (1..line.len())
        .filter(|i| closes(*i) && line[*i].fifths == key.fifths && line[i - 1].fifths == key.fifths - 2)
        .count()
}
