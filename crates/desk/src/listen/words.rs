//! What do her words mean? Tempi, bars, beats and tonics as they are said.

use crate::DeskError;
use notation::{BarIndex, Id, Piece, Quarters, Rational, Step};
use performance::play::PlayTempo;
use sound::DroneTonic;
use survey::{Context, Survey};

pub(super) fn wrong(what: &str, advice: &str) -> DeskError {
    DeskError::Player {
        what: what.to_owned(),
        advice: advice.to_owned(),
    }
}

/// `60` felt beats a minute, or `80%` of what is written.
pub(super) fn tempo(asked: Option<&str>, beat: Option<Quarters>) -> Result<PlayTempo, DeskError> {
    let Some(asked) = asked else {
        return Ok(PlayTempo::Written);
    };
    let advice = "give beats a minute from 10 to 400 (--tempo 60), or hundredths of what is marked from 10 to 400 (--tempo 80%)";
    let said = asked.trim();
    let (number, percent) = said
        .strip_suffix('%')
        .map_or((said, false), |number| (number.trim(), true));
    let number = number.rsplit('=').next().unwrap_or(number).trim();
    let value = Rational::parse(number)
        .filter(|value| *value >= Rational::whole(10) && *value <= Rational::whole(400))
        .ok_or_else(|| wrong(&format!("“{asked}” is no tempo"), advice))?;
    Ok(if percent {
        PlayTempo::Percent(value)
    } else {
        PlayTempo::Starts {
            note: beat.unwrap_or(Rational::ONE),
            per_minute: value,
        }
    })
}

/// `5-12`, `5–12` or `5`, by the printed numbers.
pub(super) fn bars(piece: &Piece, asked: &str) -> Result<(BarIndex, BarIndex), DeskError> {
    let labelled = |label: &str| {
        let label = label.trim();
        (0..piece.bars.len())
            .map(BarIndex::from_usize)
            .find(|bar| piece.label(*bar) == label)
            .ok_or_else(|| {
                wrong(
                    &format!("there is no bar {label}"),
                    "give the printed numbers, for example --bars 5-12",
                )
            })
    };
    // A label may itself hold a hyphen: the whole first.
    if let Ok(bar) = labelled(asked) {
        return Ok((bar, bar));
    }
    let (from, to) = asked.split_once(['-', '–']).ok_or_else(|| {
        wrong(
            &format!("there is no bar {}", asked.trim()),
            "give the printed numbers, for example --bars 5-12",
        )
    })?;
    let (from, to) = (labelled(from)?, labelled(to)?);
    if from > to {
        return Err(wrong(
            &format!("bars {asked} end before they begin"),
            "give the first bar first",
        ));
    }
    Ok((from, to))
}

/// `12:3`: the event that begins at beat 3 of bar 12.
pub(super) fn event_at(piece: &Piece, ctx: &Context, survey: &Survey, asked: &str) -> Result<Id, DeskError> {
    let form = "give a bar and a beat, for example 12:3, or 12:2.5 for the second half of beat 2";
    let (bar, beat) = asked.split_once(':').unwrap_or((asked, "1"));
    let (bar, _) = bars(piece, bar)?;
    let beat: f64 = beat
        .trim()
        .parse()
        .map_err(|_| wrong(&format!("“{asked}” is no place"), form))?;
    let grids = survey.metre.as_ref().map_or(&[][..], |metre| &metre.grids);
    let beat_of = |offset| grids.get(bar.get()).map_or(0.0, |grid| grid.said_beat(offset));
    ctx.line
        .iter()
        .filter_map(|note| ctx.event(note))
        .find(|event| event.place.bar == bar && (beat_of(event.place.offset) - beat).abs() < 0.01)
        .map(|event| event.id)
        .ok_or_else(|| wrong(&format!("no note begins at {asked}"), form))
}

/// `tonic`, `follow`, or a note's name as it sounds.
pub(super) fn tonic(asked: &str) -> Result<DroneTonic, DeskError> {
    let said = asked.trim();
    match said.to_ascii_lowercase().as_str() {
        "" | "tonic" => return Ok(DroneTonic::First),
        "follow" => return Ok(DroneTonic::Follows),
        _ => {}
    }
    let unknown = || {
        wrong(
            &format!("“{asked}” is no drone"),
            "say tonic, follow, or a note as it sounds: C, Bb, F#",
        )
    };
    let mut letters = said.chars();
    let step = letters
        .next()
        .and_then(|letter| Step::from_letter(letter.to_ascii_uppercase()))
        .ok_or_else(unknown)?;
    let alter = match letters.as_str() {
        "" => 0,
        "b" | "♭" => -1,
        "#" | "♯" => 1,
        _ => return Err(unknown()),
    };
    Ok(DroneTonic::Given(Rational::whole(
        i64::from(step.semitones()) + alter,
    )))
}
