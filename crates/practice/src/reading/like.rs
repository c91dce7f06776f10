//! What does a given piece hold, so that a new one can be like it? Read from its survey and study, nothing from the file itself.

use super::bounds::{
    Altered, BARS, Bounds, DYNAMICS, Refusal, Source, bows, breathes, range_of, unreachable,
};
use super::figure::{Figure, Figures};
use super::key::Key;
use super::marks::Sign;
use super::measure::Measure;
use super::speed;
use load::Study;
use load::levels::Page;
use notation::Piece;
use survey::Survey;

/// Figures that stand in at least one of so many bars are the piece's own and must be there.
const OWN: usize = 8;
/// The longest reading piece made after a model, in bars.
const LONGEST: usize = 32;

/// The bounds of pieces like this one. `survey` and `study` must be whole ones of the same part.
///
/// # Errors
/// If the piece has no notes, or is in no metre that is composed in.
pub fn of_piece(piece: &Piece, survey: &Survey, study: &Study) -> Result<Bounds, Refusal> {
    let page = Page::of(survey, piece.bars.len());
    let (Some((lowest, highest)), Some(key)) = (page.range, &survey.key) else {
        return Err(Refusal::new(
            "the piece has no notes",
            "choose another as the model",
        ));
    };
    let mut remarks = Vec::new();
    let minor = key.mode == "minor";
    let tonic = Key::of(key.tonic, minor);
    let tonic = tonic.ok_or_else(|| {
        Refusal::new(
            "the key of the piece has more than seven sharps or flats",
            "ask for a key with --key and a level with --level instead",
        )
    })?;
    let measure = metre(survey, &mut remarks)?;
    let (figures, must) = figures(survey, &page, &measure, &mut remarks);
    let (low, high) = range_of(&study.player);
    let low = if lowest.key_number() > low.key_number() {
        lowest
    } else {
        low
    };
    let high = if highest.key_number() < high.key_number() {
        highest
    } else {
        high
    };
    let altered = altered(survey, &page, tonic);
    let bars = length(survey, piece, &mut remarks);
    let signs: Vec<Sign> = Sign::ALL
        .into_iter()
        .filter(|sign| page.articulation.iter().any(|mark| mark == sign.word()))
        .collect();
    let others: Vec<&str> = page
        .articulation
        .iter()
        .map(String::as_str)
        .filter(|mark| Sign::from_name(mark).is_none())
        .collect();
    if !others.is_empty() {
        remarks.push(format!("its {} are left out", others.join(", ")));
    }
    if survey
        .ornaments
        .as_ref()
        .is_some_and(|found| !found.ornaments.is_empty())
    {
        remarks.push("its ornaments are left out".to_owned());
    }
    let dynamics = survey.dynamics.as_ref();
    let levels: Vec<&'static str> = DYNAMICS
        .into_iter()
        .filter(|level| page.dynamics.iter().any(|mark| mark == level))
        .collect();
    let tempo = tempo(
        study,
        speed::fastest(&measure, figures, &study.player),
        &mut remarks,
    );
    let load = load_of(piece, study);
    let span = highest.key_number() - lowest.key_number();
    let own = Bounds {
        source: Source::Model,
        named: "the model".to_owned(),
        keys: vec![tonic],
        metres: vec![measure],
        low,
        high,
        span,
        reach: false,
        from_tonic: false,
        figures,
        must,
        leap: page.leap.unwrap_or(2).clamp(4, 12),
        altered,
        tempo,
        tempo_said: page.tempo.is_some(),
        bars: vec![bars],
        hairpins: dynamics.is_some_and(|found| !found.hairpins.is_empty()) && !levels.is_empty(),
        dynamics: levels,
        must_signs: signs.clone(),
        signs,
        pickup: Some(
            survey
                .metre
                .as_ref()
                .is_some_and(|metre| metre.anacrusis.is_some()),
        ),
        repeated_pairs: false,
        steps: 1.0,
        density: density(piece, survey),
        load: Some((load * 0.8, load * 1.25)),
        avoid: unreachable(&study.player),
        remarks,
    };
    debug_assert!(breathes(&study.player) || bows(&study.player) || study.player.instrument.is_some());
    own.with(&super::bounds::Wished::default())
}

/// The metre of most bars.
fn metre(survey: &Survey, remarks: &mut Vec<String>) -> Result<Measure, Refusal> {
    let metres = survey.metre.as_ref().map_or(&[][..], |metre| &metre.metres);
    let bars = |stretch: &survey::metre::MetreStretch| stretch.to.0.saturating_sub(stretch.from.0) + 1;
    let mut counted: Vec<(u32, u16, u16)> = Vec::new();
    for stretch in metres {
        let found = counted
            .iter_mut()
            .find(|(_, beats, beat_type)| (*beats, *beat_type) == (stretch.beats, stretch.beat_type));
        match found {
            Some((count, ..)) => *count += bars(stretch),
            None => counted.push((bars(stretch), stretch.beats, stretch.beat_type)),
        }
    }
    let longest = counted.iter().max_by_key(|(count, ..)| *count);
    let (_, beats, beat_type) = longest.copied().ok_or_else(|| {
        Refusal::new(
            "the piece has no time signature",
            "ask for a metre with --metre and a level with --level",
        )
    })?;
    if counted.len() > 1 {
        remarks.push(format!(
            "of its metres {beats}/{beat_type}, that of most bars, is taken"
        ));
    }
    Measure::new(beats, beat_type).ok_or_else(|| {
        Refusal::new(
            format!("nothing is composed in {beats}/{beat_type}"),
            format!(
                "there are {}: ask with --level and --metre",
                Measure::known().join(", ")
            ),
        )
    })
}

fn figures(survey: &Survey, page: &Page, measure: &Measure, remarks: &mut Vec<String>) -> (Figures, Figures) {
    let Some(rhythm) = &survey.rhythm else {
        return (Figures::PLAIN, Figures::PLAIN);
    };
    let all = page.bars.max(1);
    let mut figures = Figures::PLAIN;
    let mut must = Figures::PLAIN;
    let mut put = |figure: Figure, bars: usize| {
        if bars > 0 {
            figures = figures.with(figure);
            if bars * OWN >= all {
                must = must.with(figure);
            }
        }
    };
    for value in &rhythm.values {
        let plain = value.tuplets.is_empty();
        let named = value.name.as_str();
        match named {
            "eighth" if plain => put(Figure::Eighths, value.bars),
            "sixteenth" if plain => put(Figure::Sixteenths, value.bars),
            "dotted quarter" if !measure.compound() => put(Figure::DottedQuarters, value.bars),
            "dotted eighth" => put(Figure::DottedEighths, value.bars),
            "triplet eighth" => put(Figure::Triplets, value.bars),
            "whole" | "half" | "quarter" | "dotted half" | "dotted whole" | "dotted quarter" | "breve" => {}
            other => remarks.push(format!("its {other} notes are left out")),
        }
    }
    let syncopated = rhythm.syncopation.iter().filter(|bar| bar.strict > 0).count();
    put(Figure::Syncopation, syncopated);
    put(Figure::Rests, rhythm.rests_on_beats.len());
    if figures.has(Figure::DottedQuarters) {
        figures = figures.with(Figure::Eighths);
    }
    if figures.has(Figure::DottedEighths) {
        figures = figures.with(Figure::Sixteenths);
    }
    let possible = |must: Figures| super::bounds::can_have(measure, figures, must);
    for figure in must.iter().collect::<Vec<_>>() {
        if !possible(Figures::PLAIN.with(figure)) || figure == Figure::Rests {
            must = must.without(figure);
        }
    }
    if !page.tuplets {
        figures = figures.without(Figure::Triplets);
    }
    (figures, must)
}

/// What of its altered notes can be met again: those of minor, and a raised fourth where there are others.
fn altered(survey: &Survey, page: &Page, key: Key) -> Altered {
    if page.altered == 0 {
        return if key.minor { Altered::Minor } else { Altered::None };
    }
    let others = survey.accidentals.as_ref().is_some_and(|found| {
        found.ledger.iter().any(|entry| {
            let degree = (entry.written.step.index() - key.tonic().0.index()).rem_euclid(7);
            !(key.minor && (degree == 5 || degree == 6))
        })
    });
    if others {
        Altered::Chromatic
    } else {
        Altered::Minor
    }
}

fn length(survey: &Survey, piece: &Piece, remarks: &mut Vec<String>) -> usize {
    let pickup = usize::from(
        survey
            .metre
            .as_ref()
            .is_some_and(|metre| metre.anacrusis.is_some()),
    );
    let bars = piece.bars.len().saturating_sub(pickup);
    if bars > LONGEST {
        remarks.push(format!(
            "it has {bars} bars; {LONGEST} are composed, ask for others with --bars"
        ));
    }
    bars.clamp(BARS.0 + 2, LONGEST)
}

/// About the tempo to climb to; slower where her tongue would be at its limit at first sight.
fn tempo(study: &Study, fastest: f64, remarks: &mut Vec<String>) -> (u16, u16) {
    let goal = study.goal.as_ref().map(|goal| goal.bpm);
    let wanted = goal.unwrap_or(84.0).clamp(36.0, 200.0);
    let marks = terms::tempo::METRONOME_MARKS;
    let near = if wanted > fastest {
        let slower = terms::tempo::floor(fastest);
        remarks.push(format!(
            "its tempo is taken down to {slower}, for a tongue of {:.1} notes a second",
            study.player.tongue.burst
        ));
        slower
    } else {
        terms::tempo::nearest(wanted)
    };
    let at = marks.iter().position(|mark| *mark == near).unwrap_or(0);
    (marks[at.saturating_sub(1)], near)
}

/// What there is to read in a quarter note's time, in bits.
pub(super) fn load_of(piece: &Piece, study: &Study) -> f64 {
    let total: f64 = study.bars.iter().map(|bar| bar.reading.total()).sum();
    let quarters: f64 = piece.bars.iter().map(|bar| bar.length.to_f64()).sum();
    total / quarters.max(1.0)
}

fn density(piece: &Piece, survey: &Survey) -> (f64, f64) {
    let quarters: f64 = piece.bars.iter().map(|bar| bar.length.to_f64()).sum();
    let notes = u32::try_from(survey.notes).unwrap_or(u32::MAX);
    let density = f64::from(notes) / quarters.max(1.0);
    (density * 0.9, density * 1.1)
}
