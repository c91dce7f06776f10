//! What does the folder know of a piece? Its survey for a usual player of its instrument, put into the columns that are searched.

use crate::error::AppError;
use crate::folder::features;
use crate::hers::keys;
use crate::pieces;
use crate::state::App;
use desk::{Asked, Shown, StudyAsked};
use std::collections::BTreeSet;
use store::{Level, PieceRow, Summary};
use survey::Options;
use survey::key::ToldKey;

/// Which survey a summary was made by; another one makes it again.
pub(crate) const MADE_BY: &str = concat!(env!("CARGO_PKG_VERSION"), "-1");

/// The summary, from what is kept or made now.
///
/// # Errors
/// If the file can't be read or understood, or what is kept can't be reached.
pub(crate) fn of(app: &App, row: &PieceRow) -> Result<Summary, AppError> {
    let keys = keys(&app.store.choices(row.id, None)?);
    // A key that the teacher named is another survey.
    let made_by = match keys.as_slice() {
        [] => MADE_BY.to_owned(),
        keys => format!("{MADE_BY} {keys:?}"),
    };
    if let Some(known) = app
        .store
        .summary(row.id)?
        .filter(|known| known.made_by == made_by)
    {
        return Ok(known);
    }
    let made = Summary {
        made_by,
        ..make(app, row, keys)?
    };
    app.store.set_summary(row.id, row.version, &made)?;
    Ok(made)
}

fn make(app: &App, row: &PieceRow, keys: Vec<ToldKey>) -> Result<Summary, AppError> {
    let opened = pieces::open(app, row)?;
    let asked = Asked {
        part: row.part.clone(),
        study: StudyAsked {
            for_anybody: true,
            ..StudyAsked::default()
        },
        options: Options {
            keys,
            ..Options::default()
        },
        ..Asked::default()
    };
    let shown = desk::survey_piece(&opened, &asked)?;
    let people = &opened.piece.credits.people;
    let composer = people
        .iter()
        .find(|(role, _)| role.eq_ignore_ascii_case("composer"));
    Ok(Summary {
        composer: composer.map(|(_, name)| name.trim().replace('\n', " ")),
        bars: i64::try_from(opened.piece.bars.len()).ok(),
        document: "{}".to_owned(),
        ..surveyed(&shown)
    })
}

fn surveyed(shown: &Shown) -> Summary {
    let survey = &shown.survey;
    let instrument = survey.instrument.as_ref().map(|found| found.instrument);
    let range = survey.range.as_ref();
    let ends =
        range.and_then(|range| Some((range.lowest.as_ref()?.written, range.highest.as_ref()?.written)));
    let tempo = survey.tempo.as_ref();
    let study = shown.study.as_ref();
    let mut metres: Vec<String> = Vec::new();
    for stretch in survey.metre.iter().flat_map(|metre| &metre.metres) {
        if !stretch.symbol.is_empty() && !metres.contains(&stretch.symbol) {
            metres.push(stretch.symbol.clone());
        }
    }
    let fifths = |sharps: bool| {
        let signatures = survey.key.iter().flat_map(|key| &key.signatures);
        let each = signatures
            .filter_map(|region| region.signature.fifths)
            .map(i64::from);
        each.map(|fifths| if sharps { fifths } else { -fifths })
            .max()
            .map(|most| most.max(0))
    };
    Summary {
        instrument: instrument.map(|instrument| instrument.id.to_owned()),
        instrument_name: instrument.map(|instrument| instrument.name.to_owned()),
        key_name: survey.key.as_ref().filter(|key| key.certainty > 0.0).map(|key| {
            format!(
                "{} {}",
                notation::Pitch::new(key.tonic.0, key.tonic.1, 4).class_sign(),
                key.mode
            )
        }),
        most_flats: fifths(false),
        most_sharps: fifths(true),
        metres,
        lowest: ends.map(|(low, _)| low.to_string()),
        highest: ends.map(|(_, high)| high.to_string()),
        lowest_key: ends.map(|(low, _)| i64::from(low.key_number())),
        highest_key: ends.map(|(_, high)| i64::from(high.key_number())),
        seconds: tempo
            .and_then(|tempo| tempo.playing_time.as_ref())
            .map(|time| time.longest_secs),
        load: study.and_then(load_of),
        levels: study.map_or_else(Vec::new, levels),
        features: study.map_or_else(Vec::new, |study| features::of(survey, study)),
        ..Summary::default()
    }
}

/// The share of bars in which there is much or very much to read.
fn load_of(study: &load::Study) -> Option<f64> {
    let with: Vec<u8> = study
        .bars
        .iter()
        .map(load::BarLoad::to_read)
        .filter(|read| *read > 0)
        .collect();
    let much = with.iter().filter(|read| **read >= 3).count();
    let (much, all) = (u32::try_from(much).ok()?, u32::try_from(with.len()).ok()?);
    (all > 0).then(|| f64::from(much) / f64::from(all))
}

fn levels(study: &load::Study) -> Vec<Level> {
    let mut seen = BTreeSet::new();
    let mut levels = Vec::new();
    for standing in study
        .levels
        .iter()
        .filter(|standing| seen.insert(standing.table.name))
    {
        let rank = standing
            .table
            .levels
            .iter()
            .position(|level| level.name == standing.level.name);
        levels.push(Level {
            table: standing.table.name.to_owned(),
            level: if standing.fits {
                standing.level.name.to_owned()
            } else {
                format!("beyond {}", standing.level.name)
            },
            rank: rank
                .and_then(|rank| u32::try_from(rank).ok())
                .map_or(0.0, f64::from),
        });
    }
    levels
}
