//! Which mode proper is it? Dorian, mixolydian and the rest, told from plain major and minor by the notes that differ.

use super::material::Material;
use super::signature::Witness;
use super::tonality::{Scale, Tonality};

/// A note that the signature does not ask for must be this many times as long in sum as its rival before it names a
/// mode (our choice: a raised sixth or seventh that comes now and then leaves a piece in minor).
const CLEARLY: f64 = 3.0;
/// And have at least this share of the part's time; where the signature asks for it, a third of that.
const SHARE: f64 = 0.03;

/// The mode proper of a part whose tonic and third are known, and why.
#[must_use]
pub fn scale(material: &Material, witness: &Witness, key: Tonality) -> (Scale, Option<String>) {
    let total = material.all.total();
    if total <= 0.0 {
        return (plain(key), None);
    }
    let time = |above: i32| material.all.at(key.fifths + above) / total;
    let name = |above: i32| super::tonality::note_name(key.fifths + above);
    let off = if witness.believed {
        witness.first - key.signature()
    } else {
        0
    };
    // Does the note that marks a mode outweigh its rival? `asked` is how far off the mode's signature is.
    let marked = |this: i32, rival: i32, asked: i32| {
        if off == asked {
            time(this) >= SHARE / 3.0 && time(this) > time(rival)
        } else {
            time(this) >= SHARE && time(this) > CLEARLY * time(rival)
        }
    };
    if !key.minor {
        return if marked(-2, 5, -1) {
            (
                Scale::Mixolydian,
                Some(format!("its seventh is {}, not {}", name(-2), name(5))),
            )
        } else if marked(6, -1, 1) {
            (
                Scale::Lydian,
                Some(format!("its fourth is {}, not {}", name(6), name(-1))),
            )
        } else {
            (Scale::Major, None)
        };
    }
    if marked(-5, 2, -1) {
        let why = format!(
            "its second is {}, a semitone above the final, not {}",
            name(-5),
            name(2)
        );
        return (Scale::Phrygian, Some(why));
    }
    // A raised leading note that matters makes it plain minor, whatever the sixth.
    if time(5) * 2.0 > time(-2) {
        return (Scale::Minor, None);
    }
    if marked(3, -4, 1) {
        let why = format!(
            "its sixth is {}, not {}, and its seventh mostly stays {}",
            name(3),
            name(-4),
            name(-2)
        );
        return (Scale::Dorian, Some(why));
    }
    if time(-2) >= SHARE && time(5) <= 0.0 && whole_step_cadences(material, key) >= 2 {
        let why = format!("its seventh {} goes to the final and is never raised", name(-2));
        return (Scale::Aeolian, Some(why));
    }
    (Scale::Minor, None)
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
