//! How does a player come in, change and leave? A form becomes her file, the same that the command line reads.

use crate::error::AppError;
use crate::state::App;
use crate::studio::form::{self, Go, TEXT};
use crate::today::Practice;
use axum::Json;
use axum::extract::{Path, State};
use desk::PlayerAsked;
use maud::{Markup, html};
use serde::Deserialize;
use std::sync::Arc;
use store::{PlayerFingering, PlayerId, PlayerProfile, PlayerRange, PlayerRow};

/// Levels in a teacher's words, as the desk knows them.
const LEVELS: [&str; 7] = [
    "beginner",
    "elementary",
    "lower intermediate",
    "intermediate",
    "upper intermediate",
    "advanced",
    "professional",
];

/// A player as she is filled in.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub(crate) struct Filled {
    name: String,
    instrument: String,
    level: String,
    low: String,
    high: String,
    breath: String,
    tongue: String,
    sustained: String,
    multiple: bool,
    prefers: String,
    out_of_reach: String,
    notes: String,
    large_print: bool,
}

/// The fields, filled with what is known.
pub(crate) fn fields(row: Option<&PlayerRow>) -> Markup {
    let profile = row.and_then(|row| row.profile().ok()).unwrap_or_default();
    let said = |words: &Option<String>| words.clone().unwrap_or_default();
    let number = |number: Option<f64>| number.map_or_else(String::new, |number| number.to_string());
    let range = profile.range.clone().unwrap_or_default();
    let mut levels: Vec<(String, String)> = vec![(String::new(), "not said".to_owned())];
    let level = said(&profile.level);
    levels.extend(
        LEVELS
            .iter()
            .map(|level| ((*level).to_owned(), (*level).to_owned())),
    );
    if !level.is_empty() && !LEVELS.contains(&level.as_str()) {
        levels.push((level.clone(), level.clone()));
    }
    html! {
        div class="fields" {
            (form::line("Name", "name", &said(&profile.name), ""))
            (form::line_from("Instrument", "instrument", &said(&profile.instrument), "instruments"))
            (form::choice("Level", "level", &levels, &level))
            (form::line("Lowest comfortable note", "low", &range.low, "Bb3, middle C is C4"))
            (form::line("Highest comfortable note", "high", &range.high, "A5, as written"))
            (form::line("Breath: a long tone, seconds", "breath", &number(profile.breath_seconds), "14"))
            (form::line("Tongue: single, notes a second", "tongue", &number(profile.tongue_per_second), "6"))
            (form::line("The same, kept up", "sustained", &number(profile.tongue_sustained_per_second), ""))
        }
        p { (form::tick("Double or triple tongues", "multiple", profile.multiple_tongue)) (form::tick("Reads large print", "large_print", row.is_some_and(|row| row.large_print))) }
        div class="fields" {
            (form::lines("Fingerings always taken, one a line (F#3: thumb)", "prefers", &fingerings(&profile.prefers), 2))
            (form::lines("Fingerings out of reach, one a line", "out_of_reach", &fingerings(&profile.out_of_reach), 2))
        }
        (form::lines("Your notes, which no player sees", "notes", row.map_or("", |row| &row.notes), 3))
    }
}

/// The instruments that are known, to be proposed.
pub(crate) fn instruments() -> Markup {
    html! { datalist id="instruments" { @for instrument in instruments::all() { option value=(instrument.name) {} } } }
}

fn fingerings(all: &[PlayerFingering]) -> String {
    let lines: Vec<String> = all
        .iter()
        .map(|one| format!("{}: {}", one.note, one.fingering))
        .collect();
    lines.join("\n")
}

fn read_fingerings(text: &str) -> Result<Vec<PlayerFingering>, AppError> {
    text.lines()
        .filter(|line| !line.trim().is_empty())
        .map(|line| {
            let (note, fingering) = line.split_once(':').ok_or_else(|| {
                AppError::Asked(format!(
                    "“{}” is no fingering — write the note, a colon, and its name: F#3: thumb",
                    line.trim()
                ))
            })?;
            Ok(PlayerFingering {
                note: note.trim().to_owned(),
                fingering: fingering.trim().to_owned(),
            })
        })
        .collect()
}

impl Filled {
    /// The file that this makes of an earlier one; whatever the form doesn't ask for stays.
    fn profile(&self, before: PlayerProfile) -> Result<PlayerProfile, AppError> {
        let said = |words: &str| Some(words.trim().to_owned()).filter(|words| !words.is_empty());
        let range = match (said(&self.low), said(&self.high)) {
            (Some(low), Some(high)) => Some(PlayerRange { low, high }),
            (None, None) => None,
            _ => {
                return Err(AppError::Asked(
                    "a range has two ends — write the lowest and the highest note".to_owned(),
                ));
            }
        };
        Ok(PlayerProfile {
            name: Some(form::name(&self.name, "the name")?),
            instrument: said(&form::text(&self.instrument, form::NAME, "the instrument")?),
            level: said(&self.level),
            range,
            breath_seconds: form::number(&self.breath, "breath")?,
            tongue_per_second: form::number(&self.tongue, "tongue")?,
            tongue_sustained_per_second: form::number(&self.sustained, "tongue kept up")?,
            multiple_tongue: self.multiple,
            prefers: read_fingerings(&self.prefers)?,
            out_of_reach: read_fingerings(&self.out_of_reach)?,
            ..before
        })
    }
}

/// The file, looked at by whoever reads it later.
fn file(profile: &PlayerProfile) -> Result<String, AppError> {
    let text = profile.to_toml()?;
    let asked = PlayerAsked {
        text: Some(text.clone()),
        ..PlayerAsked::default()
    };
    asked.player(None).map_err(|error| {
        // The file is ours, not hers: its name and line say nothing to her.
        let words = error.to_string();
        let plain = words.strip_prefix("player.toml, line 1: ").unwrap_or(&words);
        AppError::Asked(plain.to_owned())
    })?;
    Ok(text)
}

/// A new player.
pub(crate) async fn add(
    State(app): State<Arc<App>>,
    Json(filled): Json<Filled>,
) -> Result<Json<Go>, AppError> {
    app.aside(move |app| {
        let notes = form::text(&filled.notes, TEXT, "the notes")?;
        let row = app
            .store
            .add_player(&file(&filled.profile(PlayerProfile::default())?)?)?;
        let row = app.store.change_player(&PlayerRow {
            notes,
            large_print: filled.large_print,
            ..row
        })?;
        Ok(Go::to(format!("/studio/player/{}", row.id)))
    })
    .await
}

/// A player changed.
pub(crate) async fn change(
    State(app): State<Arc<App>>,
    Path(player): Path<i64>,
    Json(filled): Json<Filled>,
) -> Result<Json<Go>, AppError> {
    app.aside(move |app| {
        let row = app.store.player(PlayerId(player))?;
        let before = row.profile()?;
        let after = filled.profile(before.clone())?;
        // A file that somebody wrote by hand stays as it is, with its own remarks, while nothing of it changes.
        let file = if after == before {
            row.file.clone()
        } else {
            file(&after)?
        };
        app.store.change_player(&PlayerRow {
            file,
            notes: form::text(&filled.notes, TEXT, "the notes")?,
            large_print: filled.large_print,
            ..row
        })?;
        Ok(Go::to(format!("/studio/player/{player}")))
    })
    .await
}

/// Whether a player is put away.
#[derive(Debug, Deserialize)]
pub(crate) struct Away {
    away: bool,
}

/// Puts a player away, with the record; or brings her back.
pub(crate) async fn away(
    State(app): State<Arc<App>>,
    Path(player): Path<i64>,
    Json(away): Json<Away>,
) -> Result<Json<Go>, AppError> {
    app.aside(move |app| {
        let row = app.store.player(PlayerId(player))?;
        let put_away = away.away.then(|| app.today().to_string());
        app.store.change_player(&PlayerRow { put_away, ..row })?;
        Ok(Go::to(if away.away {
            "/studio".to_owned()
        } else {
            format!("/studio/player/{player}")
        }))
    })
    .await
}

/// When she practises.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(crate) struct When {
    minutes: String,
    off: String,
    at: String,
}

/// Keeps when a player practises.
pub(crate) async fn practice(
    State(app): State<Arc<App>>,
    Path(player): Path<i64>,
    Json(when): Json<When>,
) -> Result<Json<Go>, AppError> {
    app.aside(move |app| {
        app.store.player(PlayerId(player))?;
        let minutes = when
            .minutes
            .trim()
            .parse::<u32>()
            .ok()
            .filter(|minutes| (1..=practice::plan::MOST_MINUTES).contains(minutes));
        let minutes = minutes.ok_or_else(|| {
            AppError::Asked(format!(
                "“{}” minutes a day can't be — write a number from 1 to 600",
                when.minutes.trim()
            ))
        })?;
        let practice = Practice {
            minutes,
            off: form::text(&when.off, form::NAME, "days off")?,
            at: form::text(&when.at, 5, "the time of day")?,
        };
        desk::free_days(&practice.off)
            .and_then(|_| desk::time_of_day(&practice.at))
            .map_err(|error| {
                AppError::Asked(
                    error
                        .to_string()
                        .replace("--off: ", "days off: ")
                        .replace("--at: ", ""),
                )
            })?;
        practice.keep(app, PlayerId(player))?;
        Ok(Go::to(format!("/studio/player/{player}")))
    })
    .await
}

#[cfg(test)]
mod tests {
    use super::*;

    fn filled() -> Filled {
        Filled {
            name: "Ada <b>".to_owned(),
            instrument: "Flute".to_owned(),
            low: "C4".to_owned(),
            high: "A6".to_owned(),
            breath: "11,5".to_owned(),
            ..Filled::default()
        }
    }

    #[test]
    fn what_is_filled_in_becomes_a_players_file_and_back() {
        let profile = filled().profile(PlayerProfile::default()).unwrap();
        let text = file(&profile).unwrap();
        assert_eq!(PlayerProfile::parse(&text).unwrap(), profile);
        assert_eq!(profile.breath_seconds, Some(11.5));
    }

    #[test]
    fn what_can_t_be_is_said_in_a_musicians_words() {
        let said = |change: &dyn Fn(&mut Filled)| {
            let mut one = filled();
            change(&mut one);
            one.profile(PlayerProfile::default())
                .and_then(|profile| file(&profile))
                .unwrap_err()
                .to_string()
        };
        assert!(said(&|one| one.high.clear()).contains("two ends"));
        assert!(said(&|one| one.low = "H9".to_owned()).contains("“H9” is no note"));
        assert!(said(&|one| one.instrument = "Kazoo-o-phone".to_owned()).contains("Kazoo-o-phone"));
        assert!(said(&|one| one.breath = "999".to_owned()).contains("breath"));
        assert!(said(&|one| one.name = "  ".to_owned()).contains("name"));
        assert!(said(&|one| one.prefers = "thumb".to_owned()).contains("no fingering"));
    }

    #[test]
    fn what_the_form_does_not_ask_for_stays() {
        let before = PlayerProfile {
            notes: Some("kept".to_owned()),
            ..PlayerProfile::default()
        };
        assert_eq!(filled().profile(before).unwrap().notes.as_deref(), Some("kept"));
    }
}
