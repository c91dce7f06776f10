//! Is everything there that was asked, and nothing beyond? The written page is surveyed as any other; what the composer meant
//! is not believed.

use super::bounds::{Altered, Bounds, Source, breathes};
use super::figure::{Figure, Figures};
use super::key::Key;
use super::like::load_of;
use super::marks::Sign;
use super::measure::Measure;
use load::levels::Page;
use load::{Player, Study, Wishes};
use notation::{Piece, Pitch};
use survey::{Context, Options, Question, Survey};

/// One feature that was asked, and what the survey found.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Feature {
    /// `key`, `metre`, `length`, `range`, `rhythms`, `leaps`, `accidentals`, `tempo`, `articulation`, `dynamics`, `changes`,
    /// `table`, `player`.
    pub name: &'static str,
    /// What was asked, in words.
    pub asked: String,
    /// What the survey found, in words.
    pub found: String,
    /// Whether the one is the other.
    pub fits: bool,
}

/// A page as surveyed.
#[derive(Debug)]
pub(super) struct Checked {
    pub(super) features: Vec<Feature>,
    /// Bits in a quarter note's time.
    pub(super) load: f64,
    pub(super) study: Study,
}

impl Checked {
    pub(super) fn fits(&self) -> bool {
        self.features.iter().all(|feature| feature.fits)
    }
}

/// What this very piece was to be.
#[derive(Clone, Debug)]
pub(super) struct Meant<'a> {
    pub(super) bounds: &'a Bounds,
    pub(super) player: &'a Player,
    pub(super) key: Key,
    pub(super) measure: &'a Measure,
    pub(super) bars: usize,
    pub(super) pickup: bool,
    pub(super) bpm: u16,
    pub(super) high: Pitch,
}

/// Surveys and studies a page and holds it against what was asked. `None` if there is nothing to survey.
pub(super) fn check(piece: &Piece, meant: &Meant) -> Option<Checked> {
    let options = Options {
        tongue: Some(meant.player.tongue.burst),
        ..Options::default()
    };
    let survey = survey::survey(piece, 0, &Question::ALL, &options)?;
    let ctx = Context::new(piece, 0)?;
    let page = Page::of(&survey, piece.bars.len());
    let mut features = vec![
        key(&survey, meant),
        metre(&survey, meant),
        length(piece, &survey, meant),
        range(&page, meant),
        rhythms(&survey, &page, meant),
        leaps(&page, meant),
        accidentals(&survey, meant),
        tempo(&page, meant),
        articulation(&page, meant),
        dynamics(&page, &survey, meant),
        changes(piece, &survey, &page),
    ];
    if let Source::Level(_, level) = meant.bounds.source {
        features.push(table(level.judge(&page), meant));
    }
    // The study is the dearer half: a page that has failed already needs none.
    if !features.iter().all(|feature| feature.fits) {
        return Some(Checked {
            features,
            load: 0.0,
            study: empty(meant.player),
        });
    }
    let study = load::study(&ctx, &survey, meant.player, &Wishes::default());
    features.push(playable(&survey, &study, meant.player));
    Some(Checked {
        load: load_of(piece, &study),
        features,
        study,
    })
}

/// What there is to read in a quarter note's time, in bits: a quick look before the whole survey and study, by the same model.
pub(super) fn to_read(piece: &Piece) -> Option<f64> {
    let survey = survey::survey(piece, 0, &[Question::Key, Question::Metre], &Options::default())?;
    let ctx = Context::new(piece, 0)?;
    let hints = load::reading::Hints {
        regions: survey.key.as_ref().map_or(&[], |key| &key.regions),
        metre: survey.metre.as_ref(),
    };
    let answer = load::reading::reading_load(&ctx, &hints);
    let total: f64 = answer.shares.iter().map(|placed| placed.share.amount).sum();
    let quarters: f64 = piece.bars.iter().map(|bar| bar.length.to_f64()).sum();
    Some(total / quarters.max(1.0))
}

fn feature(name: &'static str, asked: impl Into<String>, found: impl Into<String>, fits: bool) -> Feature {
    Feature {
        name,
        asked: asked.into(),
        found: found.into(),
        fits,
    }
}

fn key(survey: &Survey, meant: &Meant) -> Feature {
    let found = survey.key.as_ref().and_then(|key| {
        let one = key.signatures.len() == 1;
        let signature = key.signatures.first().and_then(|region| region.signature.fifths);
        Key::of(key.tonic, key.mode == "minor").filter(|found| one && signature == Some(found.fifths))
    });
    let said = found.map_or_else(|| "no clear key".to_owned(), Key::name);
    feature("key", meant.key.name(), said, found == Some(meant.key))
}

fn metre(survey: &Survey, meant: &Meant) -> Feature {
    let stretches = survey.metre.as_ref().map_or(&[][..], |metre| &metre.metres);
    let uneven = survey.metre.as_ref().map_or(0, |metre| metre.uneven.len());
    let names: Vec<String> = stretches
        .iter()
        .map(|stretch| format!("{}/{}", stretch.beats, stretch.beat_type))
        .collect();
    let fits = names == [meant.measure.name()] && uneven == 0;
    let bars = if uneven == 0 {
        "every bar full".to_owned()
    } else {
        format!("{uneven} bars don't add up")
    };
    feature(
        "metre",
        meant.measure.name(),
        format!("{}, {bars}", names.join(", ")),
        fits,
    )
}

fn length(piece: &Piece, survey: &Survey, meant: &Meant) -> Feature {
    let pickup = survey
        .metre
        .as_ref()
        .is_some_and(|metre| metre.anacrusis.is_some());
    let bars = piece.bars.len() - usize::from(pickup);
    let said =
        |bars: usize, pickup: bool| format!("{bars} bars{}", if pickup { " and a pickup" } else { "" });
    feature(
        "length",
        said(meant.bars, meant.pickup),
        said(bars, pickup),
        bars == meant.bars && pickup == meant.pickup,
    )
}

fn range(page: &Page, meant: &Meant) -> Feature {
    let (low, high) = (meant.bounds.low, meant.bounds.high);
    let asked = format!(
        "{} to {}{}",
        low.sign(),
        high.sign(),
        if meant.bounds.span < high.key_number() - low.key_number() {
            format!(", {} semitones of it", meant.bounds.span)
        } else {
            String::new()
        }
    );
    let Some((lowest, highest)) = page.range else {
        return feature("range", asked, "no notes", false);
    };
    let inside = lowest.key_number() >= low.key_number()
        && highest.key_number() <= high.key_number()
        && highest.key_number() - lowest.key_number() <= meant.bounds.span;
    // A wished highest note is reached, or the scale's next below.
    let reached = !meant.bounds.reach || highest.diatonic() + 2 >= meant.high.diatonic();
    feature(
        "range",
        asked,
        format!("{} to {}", lowest.sign(), highest.sign()),
        inside && reached,
    )
}

/// The figures on the page, by the survey; the second names what we never compose.
pub(super) fn figures_of(survey: &Survey, page: &Page, compound: bool) -> (Figures, Vec<String>) {
    let mut figures = Figures::PLAIN;
    let mut beyond = Vec::new();
    let Some(rhythm) = &survey.rhythm else {
        return (figures, beyond);
    };
    for value in &rhythm.values {
        let figure = match value.name.as_str() {
            "whole" | "half" | "quarter" | "dotted half" | "dotted whole" => None,
            "eighth" | "dotted quarter" if compound => None,
            "eighth" => Some(Figure::Eighths),
            "dotted quarter" => Some(Figure::DottedQuarters),
            "sixteenth" => Some(Figure::Sixteenths),
            "dotted eighth" => Some(Figure::DottedEighths),
            "triplet eighth" => Some(Figure::Triplets),
            other => {
                beyond.push(format!("{other} notes"));
                None
            }
        };
        figures = figure.map_or(figures, |figure| figures.with(figure));
    }
    if page.syncopated_bars > 0 {
        figures = figures.with(Figure::Syncopation);
    }
    if !rhythm.ties.is_empty() {
        beyond.push("ties".to_owned());
    }
    (figures, beyond)
}

fn rhythms(survey: &Survey, page: &Page, meant: &Meant) -> Feature {
    let compound = meant.measure.compound();
    let (found, beyond) = figures_of(survey, page, compound || meant.measure.uneven());
    let bounds = meant.bounds;
    let mut allowed = bounds.figures;
    // Eighths after a dotted quarter, sixteenths after a dotted eighth belong to the figure.
    if allowed.has(Figure::DottedEighths) {
        allowed = allowed.with(Figure::Sixteenths);
    }
    let plain = |figure: Figure| compound && matches!(figure, Figure::Eighths | Figure::DottedQuarters);
    let missing: Vec<&str> = bounds
        .must
        .iter()
        .filter(|figure| !found.has(*figure) && !plain(*figure) && *figure != Figure::Rests)
        .map(Figure::words)
        .collect();
    let fits = found.within(allowed) && missing.is_empty() && beyond.is_empty();
    let words = |figures: Figures| rhythm_words(figures, meant.measure);
    let mut said = words(found);
    if !beyond.is_empty() {
        said = format!("{said}, {}", beyond.join(", "));
    }
    if !missing.is_empty() {
        said = format!("{said}; no {}", missing.join(", "));
    }
    let asked = if bounds.must == Figures::PLAIN {
        format!("at most {}", words(allowed))
    } else {
        format!("{}; at most {}", words(bounds.must), words(allowed))
    };
    feature("rhythms", asked, said, fits)
}

/// Figures in words; what makes up a compound beat is there anyway.
fn rhythm_words(figures: Figures, measure: &Measure) -> String {
    if !measure.compound() {
        return figures.words();
    }
    let more = figures.without(Figure::Eighths).without(Figure::DottedQuarters);
    let plain = "dotted quarters, quarters and eighths";
    if more == Figures::PLAIN {
        plain.to_owned()
    } else {
        format!("{plain}, {}", more.words())
    }
}

fn leaps(page: &Page, meant: &Meant) -> Feature {
    let most = meant.bounds.leap;
    let found = page.leap.unwrap_or(0);
    let said = if found == 0 {
        "steps and thirds".to_owned()
    } else {
        format!("the largest has {found} semitones")
    };
    feature("leaps", format!("at most {most} semitones"), said, found <= most)
}

fn accidentals(survey: &Survey, meant: &Meant) -> Feature {
    let ledger = survey.accidentals.as_ref().map_or(&[][..], |found| &found.ledger);
    let tonic = meant.key.tonic().0.index();
    let allowed = |pitch: Pitch, signature: notation::Alter| {
        let degree = (pitch.step.index() - tonic).rem_euclid(7);
        let raised = pitch.alter == signature + notation::Rational::ONE;
        let of_minor = meant.key.minor && (degree == 5 || degree == 6) && raised;
        let chromatic = degree == 3 && raised && meant.bounds.altered == Altered::Chromatic;
        of_minor && meant.bounds.altered >= Altered::Minor || chromatic
    };
    let fits = ledger.iter().all(|entry| allowed(entry.written, entry.signature));
    let mut names: Vec<String> = ledger.iter().map(|entry| entry.written.class_sign()).collect();
    names.sort();
    names.dedup();
    let asked = match (meant.bounds.altered, meant.key.minor) {
        (Altered::None, _) | (Altered::Minor, false) => "none",
        (Altered::Minor, true) => "sixth and seventh of minor",
        (Altered::Chromatic, false) => "a raised fourth before the dominant at most",
        (Altered::Chromatic, true) => "sixth and seventh of minor, a raised fourth at most",
    };
    let found = if names.is_empty() {
        "none".to_owned()
    } else {
        names.join(", ")
    };
    feature("accidentals", asked, found, fits)
}

fn tempo(page: &Page, meant: &Meant) -> Feature {
    let found = page.tempo;
    let fits = found.is_some_and(|(low, high)| {
        (low - f64::from(meant.bpm)).abs() < 0.5 && (high - f64::from(meant.bpm)).abs() < 0.5
    });
    let said = found.map_or_else(
        || "none marked".to_owned(),
        |(low, _)| format!("{low:.0} beats a minute"),
    );
    feature("tempo", format!("{} beats a minute", meant.bpm), said, fits)
}

fn articulation(page: &Page, meant: &Meant) -> Feature {
    let bounds = meant.bounds;
    let allowed = |mark: &String| bounds.signs.iter().any(|sign| sign.word() == mark);
    let missing: Vec<&str> = bounds
        .must_signs
        .iter()
        .map(|sign| sign.word())
        .filter(|word| !page.articulation.iter().any(|mark| mark == word))
        .collect();
    let fits = page.articulation.iter().all(allowed) && missing.is_empty();
    let words = |signs: &[Sign]| {
        let words: Vec<&str> = signs.iter().map(|sign| sign.word()).collect();
        if words.is_empty() {
            "none".to_owned()
        } else {
            words.join(", ")
        }
    };
    let found = if page.articulation.is_empty() {
        "none".to_owned()
    } else {
        page.articulation.join(", ")
    };
    let asked = if bounds.must_signs.is_empty() && !bounds.signs.is_empty() {
        format!("at most {}", words(&bounds.signs))
    } else {
        words(&bounds.signs)
    };
    feature("articulation", asked, found, fits)
}

fn dynamics(page: &Page, survey: &Survey, meant: &Meant) -> Feature {
    let bounds = meant.bounds;
    let hairpins = survey.dynamics.as_ref().map_or(0, |found| found.hairpins.len());
    let inside = page
        .dynamics
        .iter()
        .all(|mark| bounds.dynamics.contains(&mark.as_str()));
    let there = bounds.dynamics.is_empty() == page.dynamics.is_empty();
    let contradicts = survey
        .dynamics
        .as_ref()
        .is_some_and(|found| found.hairpins.iter().any(|hairpin| hairpin.contradicts));
    let words = |marks: &[String], pins: bool| {
        let mut words = marks.join(", ");
        if words.is_empty() {
            words = "none".to_owned();
        }
        if pins {
            format!("{words} and hairpins")
        } else {
            words
        }
    };
    let asked: Vec<String> = bounds.dynamics.iter().map(|mark| (*mark).to_owned()).collect();
    let at_most = if asked.len() > 1 { "at most " } else { "" };
    feature(
        "dynamics",
        format!("{at_most}{}", words(&asked, bounds.hairpins)),
        words(&page.dynamics, hairpins > 0),
        inside && there && !contradicts && (bounds.hairpins || hairpins == 0),
    )
}

/// No change of key, metre, clef or tempo, no repeats, ornaments or grace notes: one line read straight through.
fn changes(piece: &Piece, survey: &Survey, page: &Page) -> Feature {
    let mut found = Vec::new();
    let part = piece.parts.first();
    let count = |many: usize, what: &str, found: &mut Vec<String>| {
        if many > 0 {
            found.push(format!("{many} {what}"));
        }
    };
    count(
        page.signatures.len().saturating_sub(1),
        "changes of key",
        &mut found,
    );
    count(
        page.metres.len().saturating_sub(1),
        "changes of metre",
        &mut found,
    );
    count(
        part.map_or(0, |part| part.clefs.len().saturating_sub(1)),
        "changes of clef",
        &mut found,
    );
    count(
        survey.tempo.as_ref().map_or(0, |tempo| tempo.changes.len()),
        "changes of tempo",
        &mut found,
    );
    count(
        survey.ornaments.as_ref().map_or(0, |found| found.ornaments.len()),
        "ornaments",
        &mut found,
    );
    let events = part.map_or(&[][..], |part| &part.events);
    count(
        events.iter().filter(|event| event.is_grace()).count(),
        "grace notes",
        &mut found,
    );
    count(
        piece.barlines.iter().filter(|line| line.repeat.is_some()).count(),
        "repeats",
        &mut found,
    );
    let fits = found.is_empty();
    let said = if fits { "none".to_owned() } else { found.join(", ") };
    feature(
        "changes",
        "of key, metre, clef or tempo none; no repeats, no ornaments",
        said,
        fits,
    )
}

fn table(criteria: Vec<load::levels::Criterion>, meant: &Meant) -> Feature {
    let beyond: Vec<String> = criteria
        .iter()
        .filter(|criterion| criterion.fits == Some(false))
        .map(|criterion| format!("{}: {}", criterion.name, criterion.why))
        .collect();
    let named: Vec<&str> = criteria.iter().map(|criterion| criterion.name).collect();
    let fits = beyond.is_empty();
    let found = if fits {
        format!("kept in all that the table names: {}", named.join(", "))
    } else {
        beyond.join("; ")
    };
    feature("table", meant.bounds.named.clone(), found, fits)
}

/// Range, breath, tongue and fingerings of the player.
fn playable(survey: &Survey, study: &Study, player: &Player) -> Feature {
    let mut against = Vec::new();
    if study
        .hand
        .iter()
        .any(|placed| placed.share.kind == "outside-range")
    {
        against.push("a note outside her range".to_owned());
    }
    let longest = study.breath.bars.iter().flatten().copied().fold(0.0, f64::max);
    if breathes(player) && longest > player.breath.seconds {
        against.push(format!("{longest:.0} seconds without a breath"));
    }
    let tongued = survey
        .tempo
        .as_ref()
        .and_then(|tempo| tempo.speed_at_mark.as_ref())
        .map_or(0.0, |speed| speed.tongued_a_second.1);
    if player
        .instrument
        .is_none_or(|instrument| instrument.family.is_wind())
        && tongued > player.tongue.burst
    {
        against.push(format!("{tongued:.1} tongued notes a second"));
    }
    let gaps: Vec<String> = study
        .fingering
        .gaps
        .iter()
        .map(|gap| gap.written.sign())
        .collect();
    let barred = study.fingering.notes.iter().find(|chosen| {
        player
            .out_of_reach
            .iter()
            .any(|(pitch, name)| *pitch == chosen.written && chosen.fingering.is_called(name))
    });
    if let Some(chosen) = barred {
        against.push(format!(
            "the fingering of {} is out of her reach",
            chosen.written.sign()
        ));
    }
    let fits = against.is_empty();
    let mut found = Vec::new();
    if breathes(player) {
        found.push(format!(
            "longest breath {longest:.0} of {:.0} seconds",
            player.breath.seconds
        ));
    }
    if tongued > 0.0 {
        found.push(format!(
            "tongue {tongued:.1} of {:.1} notes a second",
            player.tongue.burst
        ));
    }
    // A gap of our chart is no fault of the note: it lies in her range.
    if study.fingering.chart.is_some() && !gaps.is_empty() {
        found.push(format!("our chart has no fingering for {}", gaps.join(", ")));
    } else if study.fingering.chart.is_some() {
        found.push("every note has a fingering".to_owned());
    }
    let found = match (fits, found.is_empty()) {
        (false, _) => against.join("; "),
        (true, true) => "within her range".to_owned(),
        (true, false) => format!("within her range; {}", found.join("; ")),
    };
    feature("player", "playable by her", found, fits)
}

fn empty(player: &Player) -> Study {
    Study {
        player: player.clone(),
        grids: Vec::new(),
        phrases: survey::phrases::PhrasesAnswer::default(),
        alike: load::alike::AlikeAnswer::default(),
        reading: load::reading::ReadingAnswer::default(),
        hand: Vec::new(),
        fingering: load::fingers::FingeringAnswer::default(),
        breath: load::breath::BreathAnswer::default(),
        bars: Vec::new(),
        first: None,
        goal: None,
        ladder: None,
        spots: Vec::new(),
        levels: Vec::new(),
        findings: Vec::new(),
    }
}
