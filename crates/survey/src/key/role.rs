//! Which voice of the music is it? A second violin may end on the third or fifth, a bass ends on the tonic.

use crate::context::Context;
use notation::Part;

/// Where a part stands in the texture.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum Role {
    /// It stands alone, as far as the file and its name tell.
    #[default]
    Alone,
    /// The top voice.
    Upper,
    /// Between top and bottom.
    Inner,
    /// The bottom voice.
    Bass,
    /// One player's part by its name, its place unknown.
    Player,
}

/// The role of a part: from its place among the other parts where there are any, else from its name.
#[must_use]
pub fn role(ctx: &Context<'_>) -> Role {
    among_parts(ctx).unwrap_or_else(|| by_name(&ctx.part.name))
}

/// Ranks the parts by mean key number; `None` where this part is the only one with pitches.
fn among_parts(ctx: &Context<'_>) -> Option<Role> {
    let own = height(ctx.part)?;
    let (mut above, mut below) = (0, 0);
    for (i, part) in ctx.piece.parts.iter().enumerate() {
        if i == ctx.part_index {
            continue;
        }
        let Some(other) = height(part) else { continue };
        if other > own || (other == own && i < ctx.part_index) {
            above += 1;
        } else {
            below += 1;
        }
    }
    match (above, below) {
        (0, 0) => None,
        (0, _) => Some(Role::Upper),
        (_, 0) => Some(Role::Bass),
        _ => Some(Role::Inner),
    }
}

/// Mean sounding key number of a part's notes, each counted once.
fn height(part: &Part) -> Option<f64> {
    let (mut sum, mut count) = (0.0, 0.0);
    for pitch in part.events.iter().filter_map(notation::Event::top_pitch) {
        sum += f64::from(pitch.key_number());
        count += 1.0;
    }
    let transposition = part
        .transposition_at(notation::Place::default())
        .semitones()
        .to_f64();
    (count > 0.0).then(|| sum / count + transposition)
}

/// What a printed name says, where it says anything.
#[must_use]
pub fn by_name(name: &str) -> Role {
    const INNER: [&str; 12] = [
        "alto", "altus", "tenor", "viola", "bratsche", "mezzo", "quintus", "2nd", "second", "seconda",
        "secondo", "zweite",
    ];
    const BASS: [&str; 11] = [
        "bass",
        "cello",
        "violoncell",
        "contrabass",
        "continuo",
        "fagott",
        "bassoon",
        "tuba",
        "basso",
        "bassus",
        "violone",
    ];
    const UPPER: [&str; 9] = [
        "soprano", "cantus", "sopran", "superius", "canto", "1st", "first", "primo", "prima",
    ];
    const PLAYERS: [&str; 26] = [
        "flute",
        "piccolo",
        "oboe",
        "clarinet",
        "bassoon",
        "sax",
        "horn",
        "trumpet",
        "cornet",
        "trombone",
        "euphonium",
        "baritone",
        "tuba",
        "violin",
        "viola",
        "cello",
        "bass",
        "flöte",
        "klarinette",
        "fagott",
        "flauto",
        "oboi",
        "clarinetto",
        "corno",
        "tromba",
        "hautbois",
    ];
    let name = name.to_lowercase();
    let words: Vec<&str> = name
        .split(|c: char| !c.is_alphanumeric())
        .filter(|word| !word.is_empty())
        .collect();
    let has = |list: &[&str]| {
        words
            .iter()
            .any(|word| list.iter().any(|known| word.starts_with(known)))
    };
    // An alto saxophone or a tenor trombone names an instrument's size, not a voice.
    let sized = ["sax", "flute", "trombone", "recorder", "clarinet", "horn", "drum"]
        .iter()
        .any(|i| name.contains(i));
    if words.iter().any(|word| matches!(*word, "ii" | "iii" | "2" | "3")) || (has(&INNER) && !sized) {
        Role::Inner
    } else if has(&BASS) && !sized {
        Role::Bass
    } else if has(&UPPER) || words.contains(&"i") {
        Role::Upper
    } else if PLAYERS.iter().any(|player| name.contains(player)) {
        Role::Player
    } else {
        Role::Alone
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_tell_the_voice() {
        for (name, role) in [
            ("Violin I", Role::Upper),
            ("Violin II", Role::Inner),
            ("Viola", Role::Inner),
            ("Violoncello", Role::Bass),
            ("Cello", Role::Bass),
            ("Bassus", Role::Bass),
            ("Bass clarinet", Role::Player),
            ("Alto saxophone", Role::Player),
            ("Clarinet 2", Role::Inner),
            ("Oboe", Role::Player),
            ("Melody", Role::Alone),
        ] {
            assert_eq!(by_name(name), role, "{name}");
        }
    }
}
