//! Which piece does a seed give? Candidates one after another until one holds all that was asked; sets that rise.

use super::bounds::{Altered, Bounds, Refusal, breathes};
use super::chance::Chance;
use super::figure::{Figure, Figures};
use super::key::Key;
use super::line::Rules;
use super::marks::{Manner, marks};
use super::measure::Measure;
use super::rhythm::{Palette, draw_cells};
use super::speed;
use super::title::title;
use super::tune::{Sketch, compose};
use super::verify::{Feature, Meant, check, to_read};
use super::write::{Page, write};
use load::{Player, Study};
use notation::{Piece, Pitch};
use std::collections::BTreeMap;

/// A reading piece, verified.
#[derive(Debug)]
pub struct Reading {
    /// The page.
    pub piece: Piece,
    /// Its title.
    pub title: String,
    /// The seed that gives it again, with the same wishes.
    pub seed: u64,
    /// Its number in a set and how many the set has; `None` for a piece by itself.
    pub in_set: Option<(usize, usize)>,
    /// The key.
    pub key: Key,
    /// The metre.
    pub measure: Measure,
    /// Bars, a pickup not counted.
    pub bars: usize,
    /// Tempo word.
    pub words: &'static str,
    /// Felt beats a minute.
    pub bpm: u16,
    /// What was asked and what the survey found; all fit.
    pub features: Vec<Feature>,
    /// What there is to read in a quarter note's time, in bits.
    pub load: f64,
    /// The study for the player.
    pub study: Study,
    /// How many candidates were looked at.
    pub tries: usize,
}

/// The most pieces in one set.
pub const MOST_IN_A_SET: usize = 30;
/// So many candidates, then we say what stands in the way.
const TRIES: usize = 320;
/// After so many candidates, key, metre, range and tempo are drawn anew.
const TRIES_A_PLAN: usize = 20;
/// After so many candidates, one with too much or too little to read is looked at too, and of so many the nearest taken.
const ON_THE_BAND: usize = 160;
const OFF_THE_BAND: usize = 8;

/// The piece of a seed.
///
/// # Errors
/// If nothing that was searched holds all that was asked: says what failed most.
pub fn reading(bounds: &Bounds, player: &Player, seed: u64) -> Result<Reading, Refusal> {
    one(bounds, player, seed, 0.5, &[])
}

/// Different pieces, one for each number from 1 on, rising in what there is to read.
///
/// # Errors
/// As [`reading`], or if more are asked than a set holds.
pub fn set(bounds: &Bounds, player: &Player, seed: u64, count: usize) -> Result<Vec<Reading>, Refusal> {
    if count > MOST_IN_A_SET {
        return Err(Refusal::new(
            format!("{count} pieces at once are too many"),
            format!("ask for at most {MOST_IN_A_SET}, and with another --seed for more"),
        ));
    }
    let mut pieces: Vec<Reading> = Vec::new();
    for number in 0..count {
        let along = if count > 1 { share(number, count - 1) } else { 0.5 };
        let titles: Vec<String> = pieces.iter().map(|piece| piece.title.clone()).collect();
        let own = seed.wrapping_add(u64::try_from(number).unwrap_or(0).wrapping_mul(0x1_0000_0001));
        pieces.push(one(bounds, player, own, along, &titles)?);
    }
    pieces.sort_by(|a, b| a.load.total_cmp(&b.load));
    for (index, piece) in pieces.iter_mut().enumerate().filter(|_| count > 1) {
        piece.seed = seed;
        piece.in_set = Some((index + 1, count));
    }
    Ok(pieces)
}

fn share(part: usize, of: usize) -> f64 {
    let float = |number: usize| f64::from(u32::try_from(number).unwrap_or(u32::MAX));
    float(part) / float(of.max(1))
}

/// `along`: 0 for the easiest of a set, 1 for the hardest.
fn one(
    bounds: &Bounds,
    player: &Player,
    seed: u64,
    along: f64,
    titles: &[String],
) -> Result<Reading, Refusal> {
    let mut failed: BTreeMap<&'static str, (usize, Feature)> = BTreeMap::new();
    let mut lost = 0;
    let mut drift = 0.0_f64;
    let mut near: Option<(f64, Reading)> = None;
    let mut off = 0;
    let mut first = Chance::of_try(seed, 0);
    let title = loop {
        let drawn = title(&mut first);
        if !titles.contains(&drawn) {
            break drawn;
        }
    };
    let mut current: Option<Plan> = None;
    for attempt in 1..=TRIES {
        let part = u64::try_from(attempt).unwrap_or(u64::MAX);
        let mut chance = Chance::of_try(seed, part);
        if attempt % TRIES_A_PLAN == 1 {
            current = Some(plan(bounds, player, along, &mut chance)?);
        }
        let Some(plan) = &current else { break };
        let mut sketch = plan.sketch.clone();
        sketch.palette.density = (sketch.palette.density + drift.clamp(-1.0, 1.5)).clamp(0.4, 4.0);
        let Some(tune) = compose(&sketch, &mut chance) else {
            lost += 1;
            continue;
        };
        let marks = marks(&sketch.measure, &tune, &plan.manner, &mut chance);
        let page = Page {
            title: &title,
            instrument: player.instrument,
            signature: plan.sketch.key.signature(),
            measure: &sketch.measure,
            bars: sketch.bars,
            words: plan.words,
            bpm: plan.bpm,
        };
        let piece = write(&page, &tune, &marks);
        let off_band = |load: f64| plan.load.filter(|(least, most)| !(least..=most).contains(&&load));
        if let Some(load) = plan.load.and_then(|_| to_read(&piece))
            && let Some((least, most)) = off_band(load)
        {
            // More notes where there was too little to read, fewer where too much.
            drift += 0.08 * (f64::midpoint(least, most) - load);
            lost += 1;
            if attempt <= ON_THE_BAND {
                continue;
            }
        }
        let meant = Meant {
            bounds,
            player,
            key: sketch.key,
            measure: &sketch.measure,
            bars: sketch.bars,
            pickup: sketch.pickup && tune.pickup > 0,
            bpm: plan.bpm,
            high: sketch.high,
        };
        let Some(checked) = check(&piece, &meant) else {
            lost += 1;
            continue;
        };
        if !checked.fits() {
            for feature in checked.features.into_iter().filter(|feature| !feature.fits) {
                failed.entry(feature.name).or_insert((0, feature)).0 += 1;
            }
            continue;
        }
        let load = checked.load;
        let found = Reading {
            piece,
            title: title.clone(),
            seed,
            in_set: None,
            key: sketch.key,
            measure: sketch.measure,
            bars: sketch.bars,
            words: plan.words,
            bpm: plan.bpm,
            features: checked.features,
            load,
            study: checked.study,
            tries: attempt,
        };
        let Some((least, most)) = off_band(load) else {
            return Ok(found);
        };
        let distance = (load - f64::midpoint(least, most)).abs();
        if near.as_ref().is_none_or(|(nearest, _)| distance < *nearest) {
            near = Some((distance, found));
        }
        off += 1;
        if off >= OFF_THE_BAND {
            break;
        }
    }
    if let Some((_, nearest)) = near {
        return Ok(nearest);
    }
    let worst = failed.into_values().max_by_key(|(count, _)| *count);
    Err(match worst {
        Some((count, feature)) if count > lost / 4 => Refusal::new(
            format!(
                "no piece was found that keeps {} as asked ({}); the last had {}",
                feature.name, feature.asked, feature.found
            ),
            "give that wish more room, or try another --seed",
        ),
        _ => Refusal::new(
            "no line was found that keeps every rule within these wishes",
            "give more range, more bars or wider leaps, or try another --seed",
        ),
    })
}

/// All that is chosen before the first note.
struct Plan {
    sketch: Sketch,
    manner: Manner,
    words: &'static str,
    bpm: u16,
    load: Option<(f64, f64)>,
}

fn plan(bounds: &Bounds, player: &Player, along: f64, chance: &mut Chance) -> Result<Plan, Refusal> {
    let none = |what: &str| {
        Refusal::new(
            format!("there is no {what} to choose from"),
            "ask for less at once",
        )
    };
    let key = chance.pick(&bounds.keys).ok_or_else(|| none("key"))?;
    let measure = bounds
        .metres
        .get(chance.below(bounds.metres.len()))
        .cloned()
        .ok_or_else(|| none("metre"))?;
    let bars = bars(bounds, &measure, chance).ok_or_else(|| none("length"))?;
    let pickup = bounds.pickup.unwrap_or_else(|| chance.percent(35)) && !measure.uneven();
    let figures = palette(bounds, &measure, player, chance);
    let bpm = speed::tempo(bounds, &measure, figures, player, chance)?;
    let (low, high) = window(bounds, key, chance).ok_or_else(|| none("range"))?;
    let (least, most) = bounds.density;
    let density = least + (most - least) * if along == 0.5 { chance.unit() } else { along };
    let load = bounds.load.map(|(least, most)| {
        // Where a half note is the beat, quarter notes go by twice as fast.
        let beat = if measure.beat_type == 2 && bounds.fixed() {
            0.8
        } else {
            1.0
        };
        let (least, most) = (least * beat, most * beat);
        // A set goes from the lower to the upper end, with room around each step.
        let (width, middle) = (most - least, least + (most - least) * along);
        if along == 0.5 {
            (least, most)
        } else {
            (middle - 0.2 * width, middle + 0.2 * width)
        }
    });
    let manner = Manner {
        signs: bounds.signs.clone(),
        must: bounds.must_signs.clone(),
        dynamics: bounds.dynamics.clone(),
        hairpins: bounds.hairpins,
        breath: breathes(player).then(|| speed::ticks_of_breath(player, &measure, bpm)),
        slow: bpm < 72,
    };
    Ok(Plan {
        sketch: Sketch {
            key,
            bars,
            pickup,
            palette: Palette {
                cells: draw_cells(&measure, figures, CELLS, chance),
                figures,
                density,
                breathes: breathes(player),
            },
            must: bounds.must,
            low,
            high,
            avoid: bounds.avoid.clone(),
            chromatic: bounds.altered == Altered::Chromatic && chance.percent(60),
            rules: Rules {
                leap: bounds.leap,
                // Some pieces run by step, others sing in broken chords.
                steps: bounds.steps * (0.65 + 0.5 * chance.unit()),
                repeated_pairs: bounds.repeated_pairs,
                chance: 1.5,
                leaning: bounds.altered == Altered::Chromatic,
            },
            measure,
        },
        manner,
        words: speed::word(bpm),
        bpm,
        load,
    })
}

/// Kinds of rhythm in one piece, where none must be there.
const KINDS: usize = 4;
/// Cells for a kind of beat in one piece: more would not come back.
const CELLS: usize = 5;
/// Quarter notes that a piece of free length lasts at most.
const LONG: f64 = 56.0;

/// How many bars: in long bars fewer, where there is a choice.
fn bars(bounds: &Bounds, measure: &Measure, chance: &mut Chance) -> Option<usize> {
    let quarters = super::measure::quarters(measure.length()).to_f64();
    let short: Vec<usize> = bounds
        .bars
        .iter()
        .copied()
        .filter(|bars| share(*bars, 1) * quarters <= LONG)
        .collect();
    let free = if bounds.fixed_length() { None } else { Some(8) };
    match short.as_slice() {
        [] if bounds.bars.len() == 1 || free.is_none() => chance.pick(&bounds.bars),
        [] => free,
        some => chance.pick(some),
    }
}

/// The rhythms of one piece: all that must be there, two or three others, those that the table has last more often.
fn palette(bounds: &Bounds, measure: &Measure, player: &Player, chance: &mut Chance) -> Figures {
    let slowest = if bounds.tempo_said || measure.beat_type == 4 {
        bounds.tempo.0
    } else {
        speed::slower(bounds.tempo.0)
    };
    let too_fast = |figures: Figures| f64::from(slowest) > speed::fastest(measure, figures, player);
    let mut figures = bounds.must;
    if bounds.must != Figures::PLAIN {
        return bounds.figures;
    }
    let mut offered: Vec<Figure> = bounds.figures.iter().collect();
    if offered.contains(&Figure::Eighths) {
        figures = figures.with(Figure::Eighths);
    }
    offered.reverse();
    for (place, figure) in offered.iter().enumerate() {
        // Too many kinds at once are a catalogue, not a tune.
        if figures.iter().count() >= KINDS {
            break;
        }
        // The latest of the list are what this level is about.
        let late = place < 3;
        if chance.percent(if late { 60 } else { 50 }) {
            figures = figures.with(*figure);
        }
    }
    if figures.has(Figure::DottedEighths) {
        figures = figures.with(Figure::Sixteenths);
    }
    for dropped in [Figure::DottedEighths, Figure::Sixteenths, Figure::Triplets] {
        if too_fast(figures) {
            figures = figures.without(dropped);
        }
    }
    figures
}

/// The stretch of the range that one piece uses.
fn window(bounds: &Bounds, key: Key, chance: &mut Chance) -> Option<(Pitch, Pitch)> {
    let all = super::key::tones(key, bounds.low, bounds.high, false);
    let plain: Vec<_> = all.iter().filter(|tone| !tone.raised).collect();
    let fits = |low: &&&super::key::Tone| {
        let room = plain.last().map_or(0, |top| top.number - low.number);
        room >= bounds
            .span
            .min(bounds.high.key_number() - bounds.low.key_number() - 3)
            && (!bounds.from_tonic || low.degree == 0)
    };
    let lows: Vec<_> = plain.iter().filter(fits).collect();
    // The middle of the range is the most comfortable; two draws lean to it.
    let at = (chance.below(lows.len()) + chance.below(lows.len())).div_ceil(2);
    let low = if bounds.reach || lows.is_empty() {
        // As high as wished; the lowest as far down as the span allows.
        let top = plain.last()?.number;
        plain.iter().find(|tone| top - tone.number <= bounds.span)?
    } else {
        lows.get(at.min(lows.len() - 1))?
    };
    let top = plain
        .iter()
        .rev()
        .find(|tone| tone.number - low.number <= bounds.span)?;
    Some((low.pitch, top.pitch))
}
