//! What do her words mean? Tempi, bars, beats and tonics as they are said.

use crate::DeskError;
use notation::{BarIndex, Event, Id, Piece, Quarters, Rational, Step};
use performance::ornament::{Begin, Choice, Period};
use performance::play::PlayTempo;
use sound::DroneTonic;
use std::collections::BTreeMap;
use survey::{Context, Survey};

pub(crate) fn wrong(what: &str, advice: &str) -> DeskError {
    DeskError::Player {
        what: what.to_owned(),
        advice: advice.to_owned(),
    }
}

/// `60` felt beats a minute, or `80%` of what is written.
pub(crate) fn tempo(asked: Option<&str>, beat: Option<Quarters>) -> Result<PlayTempo, DeskError> {
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
pub(crate) fn bars(piece: &Piece, asked: &str) -> Result<(BarIndex, BarIndex), DeskError> {
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
pub(crate) fn event_at(piece: &Piece, ctx: &Context, survey: &Survey, asked: &str) -> Result<Id, DeskError> {
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

pub(crate) fn no_choice(text: &str) -> DeskError {
    wrong(
        &format!("“{text}” chooses nothing"),
        "give a place and what is chosen there, for example 12:3=long",
    )
}

/// `12:3=long`: what the teacher has chosen, by the event.
pub(crate) fn choices(
    piece: &Piece,
    ctx: &Context,
    survey: &Survey,
    asked: &[String],
) -> Result<BTreeMap<Id, Choice>, DeskError> {
    let mut chosen = BTreeMap::new();
    for text in asked {
        let (at, words) = text.split_once('=').ok_or_else(|| no_choice(text))?;
        let event = event_at(piece, ctx, survey, at)?;
        chosen.insert(carrier(ctx, event), choice(words)?);
    }
    Ok(chosen)
}

/// The event that a choice at a note belongs to: the first of the grace notes before it, if it has any, else the note.
fn carrier(ctx: &Context, event: Id) -> Id {
    let events = &ctx.part.events;
    let Some(at) = events.iter().position(|one| one.id == event) else {
        return event;
    };
    let same =
        |one: &&Event| one.is_grace() && one.voice == events[at].voice && one.place == events[at].place;
    events[..at]
        .iter()
        .rev()
        .take_while(same)
        .last()
        .map_or(event, |first| first.id)
}

fn choice(words: &str) -> Result<Choice, DeskError> {
    let mut choice = Choice::default();
    for word in words.split(',').map(str::trim) {
        match word.to_ascii_lowercase().as_str() {
            "long" => choice.long = Some(true),
            "short" => choice.long = Some(false),
            "before" => choice.before_the_beat = Some(true),
            "on" => choice.before_the_beat = Some(false),
            "upper" => choice.from = Some(Begin::Upper),
            "main" => choice.from = Some(Begin::Main),
            "ending" => choice.termination = Some(true),
            "no-ending" => choice.termination = Some(false),
            "plain" => choice.plain = true,
            other => {
                choice.period = Some(Period::from_word(other).ok_or_else(|| {
                    wrong(
                        &format!("“{word}” is nothing that can be chosen for an ornament"),
                        "there are long, short, before, on (grace notes); upper, main, ending, no-ending (trills); plain; \
                         baroque, classical, modern",
                    )
                })?);
            }
        }
    }
    Ok(choice)
}

/// `tonic`, `follow`, or a note's name as it sounds.
pub(crate) fn tonic(asked: &str) -> Result<DroneTonic, DeskError> {
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

#[cfg(test)]
mod tests {
    use super::{bars, choice, tempo, tonic};
    use notation::{Rational, sketch};
    use performance::play::PlayTempo;
    use sound::DroneTonic;

    #[test]
    fn a_tempo_is_beats_or_hundredths() {
        let whole = Rational::whole;
        assert_eq!(tempo(Some("80%"), None).unwrap(), PlayTempo::Percent(whole(80)));
        let beat = Some(Rational::new(3, 2));
        let starts = PlayTempo::Starts {
            note: Rational::new(3, 2),
            per_minute: whole(60),
        };
        assert_eq!(tempo(Some("60"), beat).unwrap(), starts);
        assert_eq!(tempo(Some("♩. = 60"), beat).unwrap(), starts);
        for wrong in ["", "fast", "0", "5%", "-3", "1000"] {
            assert!(tempo(Some(wrong), None).is_err(), "{wrong}");
        }
    }

    #[test]
    fn bars_are_named_as_they_are_printed() {
        let piece = sketch("metre:2/4 C5/h | D5/h | E5/h |").unwrap();
        let said = |text: &str| bars(&piece, text).map(|(from, to)| (from.0, to.0)).ok();
        assert_eq!(
            (said("2-3"), said("2–3"), said(" 1 ")),
            (Some((1, 2)), Some((1, 2)), Some((0, 0)))
        );
        assert_eq!(
            (said("3-2"), said("9"), said("1-9"), said("")),
            (None, None, None, None)
        );
    }

    #[test]
    fn a_drone_is_a_tonic_or_a_note() {
        assert_eq!(tonic("tonic").unwrap(), DroneTonic::First);
        assert_eq!(tonic("Follow").unwrap(), DroneTonic::Follows);
        assert_eq!(tonic("Bb").unwrap(), DroneTonic::Given(Rational::whole(10)));
        assert!(tonic("H").is_err() && tonic("Bbb").is_err());
    }

    #[test]
    fn a_choice_is_words_that_the_trade_has() {
        let chosen = choice("long, before").unwrap();
        assert_eq!((chosen.long, chosen.before_the_beat), (Some(true), Some(true)));
        assert!(choice("baroque").unwrap().period.is_some());
        assert!(choice("loud").unwrap_err().to_string().contains("no-ending"));
    }
}
