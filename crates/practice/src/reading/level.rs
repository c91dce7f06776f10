//! What does a level of a published table ask, for this player? What the table leaves open is filled in by our own steps.

use super::bounds::{Altered, Bounds, Refusal, Source, Usual, breathes, range_of, unreachable};
use super::figure::{Figure, Figures};
use super::key::Key;
use super::marks::Sign;
use super::measure::Measure;
use instruments::{Experience, Instrument};
use load::Player;
use load::levels::{Keys, Level, Modes, Table, tables};
use notation::Pitch;

/// How far each level is on our own steps from 1 to 8, by which what its table doesn't say is filled in. House judgement, from
/// what each table says of rhythm, range and keys; rising in each table.
const STEPS: &[(&str, &[u8])] = &[
    ("Missouri solo matrix", &[4, 6, 8]),
    ("Missouri band sight-reading", &[4, 5]),
    ("Texas orchestra sight-reading", &[2, 3, 4, 5, 6, 7]),
    ("band publisher's grades", &[1, 2, 4, 6]),
    ("string orchestra publisher's grades", &[4, 6, 8]),
    ("retailer's general scale", &[1, 3, 4, 6, 8]),
    ("flute association's criteria", &[2, 4]),
    ("flute studio's levels", &[3, 6]),
    ("Georgia chromatic ranges", &[5, 8]),
    ("string publisher's half grades", &[1, 2, 3, 5]),
    ("string orchestra steps", &[1, 2, 4]),
    ("violin sight-reading by grades", &[1, 2, 4]),
    ("flute teacher's first level", &[2]),
    ("Florida middle-school reading, class MD", &[1]),
    ("Maine district honours reading", &[5]),
];

/// Our own step of a level: by its place among the levels for the instrument.
fn step(table: &Table, place: usize) -> u8 {
    let known = STEPS.iter().find(|(name, _)| *name == table.name);
    let steps = known.map_or(&[2_u8, 4, 6, 8][..], |(_, steps)| steps);
    steps.get(place).or(steps.last()).copied().unwrap_or(4)
}

/// A level by table and name: `missouri band:class 1`, `retailer:2`. Parts of names are enough where only one fits.
///
/// # Errors
/// If nothing or several fit; the message names what there is.
pub fn find(
    asked: &str,
    instrument: Option<&Instrument>,
) -> Result<(&'static Table, &'static Level), Refusal> {
    let (table_name, level_name) = asked.split_once(':').unwrap_or((asked, ""));
    let table = one_of(tables(), table_name, |table| table.name).map_err(|names| {
        Refusal::new(
            match names.len() {
                0 => format!("no level table is called “{}”", table_name.trim()),
                _ => format!(
                    "“{}” fits several tables: {}",
                    table_name.trim(),
                    names.join(", ")
                ),
            },
            "foreread reading --list shows the tables and their levels",
        )
    })?;
    let levels: Vec<&'static Level> = table.levels_for(instrument).collect();
    let for_whom = |table: &Table| {
        let mut whom: Vec<&str> = table
            .levels
            .iter()
            .flat_map(|level| level.instruments)
            .copied()
            .collect();
        whom.dedup();
        whom.join(", ")
    };
    if levels.is_empty() {
        return Err(Refusal::new(
            format!(
                "{} has no level for {}",
                table.name,
                instrument.map_or("an instrument not named", |instrument| instrument.name)
            ),
            format!("it is for {}: name one with --for", for_whom(table)),
        ));
    }
    let level = one_of(&levels, level_name, |level| level.name).map_err(|_| {
        let names: Vec<&str> = levels.iter().map(|level| level.name).collect();
        Refusal::new(
            format!("{} has no level “{}”", table.name, level_name.trim()),
            format!("there are {}", names.join(", ")),
        )
    })?;
    Ok((table, level))
}

/// The one whose name is asked for: the name itself, a name that ends with it as a word, or the only one that holds it.
fn one_of<'a, T>(
    all: &'a [T],
    asked: &str,
    name: impl Fn(&T) -> &'static str,
) -> Result<&'a T, Vec<&'static str>> {
    let fold = |text: &str| {
        text.trim()
            .to_lowercase()
            .replace('½', "1/2")
            .replace(['’', '\''], "")
            .replace('–', "-")
    };
    let wanted = fold(asked);
    let said = |item: &T| fold(name(item));
    if let Some(found) = all.iter().find(|item| said(item) == wanted) {
        return Ok(found);
    }
    if wanted.is_empty() {
        return match all {
            [only] => Ok(only),
            _ => Err(all.iter().map(&name).collect()),
        };
    }
    let last = |item: &&T| {
        said(item)
            .split_whitespace()
            .next_back()
            .is_some_and(|word| word == wanted)
    };
    let by_word: Vec<&T> = all.iter().filter(last).collect();
    if let [only] = by_word.as_slice() {
        return Ok(only);
    }
    let words: Vec<&str> = wanted.split_whitespace().collect();
    let holding: Vec<&T> = all
        .iter()
        .filter(|item| words.iter().all(|word| said(item).contains(word)))
        .collect();
    match holding.as_slice() {
        [only] => Ok(only),
        several => Err(several.iter().map(|item| name(item)).collect()),
    }
}

/// A player of whom nothing is known but the instrument: of the experience that the level asks.
#[must_use]
pub fn usual_player(
    table: &'static Table,
    level: &'static Level,
    instrument: Option<&'static Instrument>,
) -> Player {
    let place = place_of(table, level, instrument);
    let experience = match step(table, place) {
        0..=3 => Experience::Student,
        4..=6 => Experience::Intermediate,
        _ => Experience::Professional,
    };
    Player::usual(instrument, experience)
}

fn place_of(table: &Table, level: &Level, instrument: Option<&Instrument>) -> usize {
    table
        .levels_for(instrument)
        .position(|one| one == level)
        .unwrap_or(0)
}

/// The bounds of a level for a player.
///
/// # Errors
/// If the player's range and the level's leave no room.
pub fn of_level(table: &'static Table, level: &'static Level, player: &Player) -> Result<Bounds, Refusal> {
    let place = place_of(table, level, player.instrument);
    let usual = Usual::at(step(table, place));
    let named = format!("{}, {}", table.name, level.name);
    let (low, high) = range(level, player, &named)?;
    let figures = level.rhythms.map_or(usual.figures, |rhythms| {
        let mut figures = Figures::PLAIN.with(Figure::Rests);
        let eighths = rhythms.to_a_quarter >= 2;
        let sixteenths = rhythms.to_a_quarter >= 4;
        for (there, figure) in [
            (eighths, Figure::Eighths),
            (sixteenths, Figure::Sixteenths),
            (rhythms.dotted_quarter && eighths, Figure::DottedQuarters),
            (rhythms.dotted_eighth && sixteenths, Figure::DottedEighths),
            (rhythms.triplets, Figure::Triplets),
            (rhythms.syncopation && eighths, Figure::Syncopation),
        ] {
            if there {
                figures = figures.with(figure);
            }
        }
        figures
    });
    let plain_start = usual.figures == Figures::PLAIN;
    let altered = match level.accidentals {
        Some(false) => Altered::None,
        Some(true) => Altered::Chromatic,
        None => usual.altered,
    };
    let keys = keys(level, player, &usual, altered);
    let metres: Vec<Measure> = if level.metres.is_empty() {
        ["2/4", "3/4", "4/4", "6/8"]
            .iter()
            .take(if step(table, place) >= 4 { 4 } else { 3 })
            .copied()
            .collect()
    } else {
        level.metres.to_vec()
    }
    .into_iter()
    .filter_map(Measure::parse)
    .collect();
    let tempo = level.tempo.map_or(usual.tempo, |(slow, fast)| {
        (whole(slow).max(usual.tempo.0), whole(fast))
    });
    let six_notes = level.span == Some(9);
    let bounds = Bounds {
        source: Source::Level(table, level),
        named,
        keys,
        metres,
        low,
        high,
        span: level.span.unwrap_or(usual.span),
        reach: false,
        from_tonic: six_notes,
        figures: if plain_start {
            figures.without(Figure::Rests)
        } else {
            figures
        },
        must: Figures::PLAIN,
        leap: level.leap.map_or(usual.leap, |leap| leap.min(usual.leap)),
        altered,
        tempo: (tempo.0.min(tempo.1), tempo.1),
        tempo_said: level.tempo.is_some(),
        bars: level.bars.map_or_else(
            || usual.bars.to_vec(),
            |(fewest, most)| bars_between(fewest, most),
        ),
        dynamics: level.dynamics.map_or_else(
            || usual.dynamics.to_vec(),
            |levels| {
                super::bounds::DYNAMICS
                    .into_iter()
                    .filter(|mark| {
                        levels.contains(mark) && (usual.dynamics.contains(mark) || levels.len() <= 3)
                    })
                    .collect()
            },
        ),
        hairpins: usual.hairpins && level.dynamics != Some(&[]),
        signs: level.articulation.map_or_else(
            || usual.signs.to_vec(),
            |signs| signs.iter().filter_map(|sign| Sign::from_name(sign)).collect(),
        ),
        must_signs: Vec::new(),
        pickup: if level.bars.is_some() || step(table, place) <= 1 {
            Some(false)
        } else {
            None
        },
        // Source: FBA class MD: "only two repeated eighths; mostly stepwise".
        repeated_pairs: table.name.starts_with("Florida"),
        steps: usual.steps,
        density: usual.density,
        load: Some(usual.band()),
        avoid: unreachable(player),
        remarks: Vec::new(),
    };
    bounds.with(&super::bounds::Wished::default())
}

fn whole(number: f64) -> u16 {
    // Tempi are whole numbers in every table.
    let mut whole = 0;
    while f64::from(whole) + 0.5 < number && whole < 400 {
        whole += 1;
    }
    whole
}

/// Multiples of four where there are some, else all.
fn bars_between(fewest: usize, most: usize) -> Vec<usize> {
    let fours: Vec<usize> = (fewest..=most).filter(|bars| bars % 4 == 0).take(2).collect();
    if fours.is_empty() {
        (fewest..=most).collect()
    } else {
        fours
    }
}

fn range(level: &Level, player: &Player, named: &str) -> Result<(Pitch, Pitch), Refusal> {
    let (mut low, mut high) = range_of(player);
    if let Some((from, to)) = level.range
        && let (Some(from), Some(to)) = (Pitch::parse(from), Pitch::parse(to))
    {
        let hers = (low, high);
        if from.key_number() > low.key_number() {
            low = from;
        }
        if to.key_number() < high.key_number() {
            high = to;
        }
        if high.key_number() - low.key_number() < 7 {
            return Err(Refusal::new(
                format!(
                    "the player's range, {} to {}, leaves no room in that of {named}, {} to {}",
                    hers.0.sign(),
                    hers.1.sign(),
                    from.sign(),
                    to.sign()
                ),
                "choose another level or another player",
            ));
        }
    }
    Ok((low, high))
}

fn keys(level: &Level, player: &Player, usual: &Usual, altered: Altered) -> Vec<Key> {
    // A part for B♭ clarinet stands two sharps above what sounds.
    let shift = player.instrument.map_or(0, |instrument| {
        let steps = instrument
            .transposition()
            .sounding(Pitch::new(notation::Step::C, 0, 4));
        -steps.fifths()
    });
    let minors = altered > Altered::None;
    let mut keys = Vec::new();
    let mut add = |concert: bool, fifths: i8, minor: bool| {
        let written = i32::from(fifths) + if concert { shift } else { 0 };
        if let Ok(fifths) = i8::try_from(written)
            && fifths.abs() <= 7
            && (minors || !minor)
        {
            keys.push(Key { fifths, minor });
        }
    };
    let both = |fifths: i8, concert: bool, add: &mut dyn FnMut(bool, i8, bool)| {
        for minor in [false, true] {
            let allowed = match level.modes {
                Modes::Both => true,
                Modes::Major => !minor,
                Modes::Listed { major, minor: minors } => {
                    if minor {
                        minors.contains(&fifths)
                    } else {
                        major.contains(&fifths)
                    }
                }
            };
            if allowed {
                add(concert, fifths, minor);
            }
        }
    };
    match level.keys {
        Keys::Concert(list) => list.iter().for_each(|fifths| both(*fifths, true, &mut add)),
        Keys::Upto { flats, sharps } => (-flats..=sharps).for_each(|fifths| both(fifths, false, &mut add)),
        // Where no key is named, those that are usual at this step, as written.
        Keys::Unsaid | Keys::Any => {
            (-usual.sharps..=usual.sharps).for_each(|fifths| both(fifths, false, &mut add))
        }
    }
    keys
}

/// The bounds that are usual for a player, where neither a level nor a model is given.
///
/// # Errors
/// If her range leaves no room.
pub fn of_player(player: &Player) -> Result<Bounds, Refusal> {
    let usual = Usual::at(Usual::for_player(player.experience));
    let (low, high) = range_of(player);
    let named = format!(
        "what is usual for {}",
        match player.experience {
            Experience::Student => "a student",
            Experience::Intermediate => "an intermediate player",
            Experience::Professional => "a professional",
        }
    );
    let keys = (-usual.sharps..=usual.sharps)
        .flat_map(|fifths| [Key::major(fifths), Key::minor(fifths)])
        .collect();
    let bounds = Bounds {
        source: Source::Player,
        named,
        keys,
        metres: ["2/4", "3/4", "4/4", "6/8"]
            .into_iter()
            .filter_map(Measure::parse)
            .collect(),
        low,
        high,
        span: usual.span,
        reach: false,
        from_tonic: false,
        figures: usual.figures,
        must: Figures::PLAIN,
        leap: usual.leap,
        altered: usual.altered,
        tempo: usual.tempo,
        tempo_said: false,
        bars: usual.bars.to_vec(),
        dynamics: usual.dynamics.to_vec(),
        hairpins: usual.hairpins,
        signs: usual.signs.to_vec(),
        must_signs: Vec::new(),
        pickup: None,
        repeated_pairs: false,
        steps: usual.steps,
        density: usual.density,
        load: Some(usual.band()),
        avoid: unreachable(player),
        remarks: Vec::new(),
    };
    debug_assert!(breathes(player) || player.instrument.is_some());
    bounds.with(&super::bounds::Wished::default())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn levels_are_found_as_a_teacher_says_them() {
        let clarinet = instruments::by_id("clarinet-bb");
        let found = |asked: &str| find(asked, clarinet).map(|(table, level)| (table.name, level.name));
        assert_eq!(
            found("missouri band:1"),
            Ok(("Missouri band sight-reading", "class 1"))
        );
        assert_eq!(
            found("Missouri solo: class B"),
            Ok(("Missouri solo matrix", "class B"))
        );
        assert_eq!(
            found("retailer:level 3"),
            Ok(("retailer's general scale", "level 3"))
        );
        assert_eq!(
            found("band publisher:½"),
            Ok(("band publisher's grades", "grade ½"))
        );
        assert!(found("missouri:1").is_err(), "two tables");
        assert!(found("retailer:9").is_err());
        assert!(found("texas:I").is_err(), "for strings");
    }

    /// Source: MSHSAA band sight-reading: concert F, B♭, E♭ and relative minors; a B♭ clarinet writes G, C, F.
    #[test]
    fn concert_keys_are_written_for_the_instrument() {
        let clarinet = instruments::by_id("clarinet-bb");
        let (table, level) = find("missouri band:1", clarinet).expect("level");
        let bounds = of_level(table, level, &usual_player(table, level, clarinet)).expect("bounds");
        let names: Vec<String> = bounds.keys.iter().map(|key| key.name()).collect();
        assert_eq!(
            names,
            ["G major", "E minor", "C major", "A minor", "F major", "D minor"]
        );
        assert_eq!(bounds.span, 16, "an octave and a third");
    }

    #[test]
    fn our_steps_rise_in_each_table() {
        for (name, steps) in STEPS {
            assert!(tables().iter().any(|table| table.name == *name), "{name}");
            assert!(steps.windows(2).all(|pair| pair[0] < pair[1]), "{name}");
        }
    }
}
