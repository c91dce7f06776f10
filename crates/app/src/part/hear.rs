//! What is heard, and where is the place on the page meanwhile? A sound file, and the way of the pencil over the paper.

use crate::error::AppError;
use crate::lan::Asker;
use crate::part::notes::system_of;
use crate::part::view::Wanted;
use crate::prepared::{Prepared, prepared};
use crate::recent::Recent;
use crate::state::App;
use crate::workshop::Urgency;
use axum::Json;
use axum::extract::{Path, Query, State};
use axum::http::header;
use axum::response::{IntoResponse, Response};
use desk::{ClickAsked, ListenAsked, Only, SoundForm, Voice};
use maud::{Markup, html};
use notation::{BarIndex, Id};
use performance::play::Performance;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::sync::Arc;
use survey::metre::BeatUnit;

/// What is to be heard.
#[derive(Clone, Debug, Default, Deserialize, Serialize)]
#[serde(default, deny_unknown_fields)]
pub(crate) struct Hear {
    /// First and last bar, by their place in the piece.
    bars: Option<(u32, u32)>,
    /// Felt beats a minute, or so many hundredths of what is marked (`80%`).
    tempo: Option<String>,
    /// A click on the beats.
    click: bool,
    /// Bars of count-in.
    count_in: u8,
    /// A drone: `tonic` or `follow`.
    drone: Option<String>,
    /// One ornament alone, plain and then as it is played, at `BAR:BEAT`.
    ornament: Option<String>,
}

/// A sound, and the way over the page.
#[derive(Debug, Serialize)]
pub(crate) struct HeardAt {
    /// Where the sound is fetched.
    sound: String,
    /// How long it lasts.
    seconds: f64,
    /// When the music begins after the count-in, in seconds.
    begins: f64,
    /// Each step of the pencil: when (in seconds), on which page, in which line, how far from the left edge in millimetres.
    steps: Vec<(f64, usize, usize, f64)>,
    /// Each bar: when it begins (in seconds), and which.
    bars: Vec<(f64, u32)>,
    /// What to know of the volume; empty for short sounds.
    caution: &'static str,
}

/// The last sounds that were made.
pub(crate) type Sounds = Recent<String, [u8], 6>;

/// The longest sound that is made for the browser, in seconds.
const LONGEST: f64 = 1_800.0;

/// Makes a sound and says where to fetch it.
pub(crate) async fn sound(
    State(app): State<Arc<App>>,
    asker: Asker,
    Path(id): Path<i64>,
    Query(wanted): Query<Wanted>,
    Json(hear): Json<Hear>,
) -> Result<Json<HeardAt>, AppError> {
    let part = prepared(&app, id, wanted.choices(asker), Urgency::Awaited).await?;
    app.aside(move |app| make(app, &part, &hear).map(Json)).await
}

/// A sound that was made.
pub(crate) async fn sound_file(
    State(app): State<Arc<App>>,
    Path(key): Path<String>,
) -> Result<Response, AppError> {
    let bytes = app.sounds.get(key.as_str()).ok_or(AppError::NotFound)?;
    Ok(([(header::CONTENT_TYPE, "audio/wav")], bytes.to_vec()).into_response())
}

fn make(app: &App, part: &Prepared, hear: &Hear) -> Result<HeardAt, AppError> {
    let heard = desk::listen(&part.opened, &asked(part, hear))?;
    if heard.seconds() > LONGEST {
        return Err(AppError::Asked(
            "that lasts more than half an hour — choose fewer bars, or a quicker tempo".to_owned(),
        ));
    }
    let key = key(part, hear);
    if app.sounds.get(key.as_str()).is_none() {
        app.sounds
            .put(key.clone(), desk::to_bytes(&heard, SoundForm::Wav)?.into());
    }
    let played = heard.performances.first();
    Ok(HeardAt {
        sound: format!("/sound/{key}"),
        seconds: heard.seconds(),
        begins: played.map_or(0.0, begins),
        steps: played.map_or_else(Vec::new, |played| steps(part, played)),
        bars: played.map_or_else(Vec::new, bars),
        caution: desk::reminder(heard.seconds(), false).map_or("", |reminder| reminder.words),
    })
}

fn asked(part: &Prepared, hear: &Hear) -> ListenAsked {
    ListenAsked {
        asked: part.asked.clone(),
        tempo: hear.tempo.clone().filter(|tempo| !tempo.trim().is_empty()),
        bars_at: hear
            .bars
            .map(|(one, other)| (BarIndex(one.min(other)), BarIndex(one.max(other)))),
        count_in: u32::from(hear.count_in.min(4)),
        click: hear.click.then(ClickAsked::default),
        drone: hear.drone.clone().filter(|drone| !drone.is_empty()),
        only: hear.ornament.clone().map_or(Only::Music, Only::Ornament),
        voice: Voice::Installed,
        ..ListenAsked::default()
    }
}

/// The same request has the same sound.
fn key(part: &Prepared, hear: &Hear) -> String {
    let said = format!("{}\n{:?}\n{hear:?}", part.row.file, part.asked);
    let hash = Sha256::digest(said.as_bytes());
    hash.iter().take(16).map(|byte| format!("{byte:02x}")).collect()
}

fn begins(played: &Performance) -> f64 {
    let first = played.slots.iter().find(|slot| !slot.count_in);
    first.map_or(0.0, |slot| played.clock.begins(slot.start))
}

fn bars(played: &Performance) -> Vec<(f64, u32)> {
    let slots = played.slots.iter().filter(|slot| !slot.count_in);
    slots
        .map(|slot| (played.clock.begins(slot.start), slot.played.bar.0))
        .collect()
}

/// The pencil goes from note to note; into a bar that begins in silence, too.
fn steps(part: &Prepared, played: &Performance) -> Vec<(f64, usize, usize, f64)> {
    let places = &part.copy.laid.places.of;
    let middle = |id: Id, bar: BarIndex| {
        let spots = places.get(&id)?;
        // What reaches over several lines is heard where its bar is.
        let system = system_of(part, bar);
        let spot = spots
            .iter()
            .find(|spot| Some(spot.system) == system)
            .or_else(|| spots.first())?;
        Some((spot.page, spot.system, spot.rect_mm.x + spot.rect_mm.w / 2.0))
    };
    let notes = played.notes.iter().filter_map(|note| {
        let (page, system, x) = middle(note.event, note.place.bar)?;
        Some((played.clock.begins(note.onset), page, system, x))
    });
    let bars = played
        .slots
        .iter()
        .filter(|slot| !slot.count_in)
        .filter_map(|slot| {
            let bar = part.copy.piece.bars.get(slot.played.bar.get())?;
            let spot = places.get(&bar.id)?.first()?;
            let into = if slot.played.from.is_zero() {
                AFTER_BAR_LINE_MM
            } else {
                spot.rect_mm.w / 2.0
            };
            Some((
                played.clock.begins(slot.start),
                spot.page,
                spot.system,
                spot.rect_mm.x + into,
            ))
        });
    let mut steps: Vec<(f64, usize, usize, f64)> = bars.chain(notes).collect();
    // A note on the bar's first moment is nearer than the bar line: it comes later in the list and stays.
    steps.sort_by(|one, other| one.0.total_cmp(&other.0));
    steps.reverse();
    steps.dedup_by(|next, kept| (next.0 - kept.0).abs() < 1e-6);
    steps.reverse();
    for step in &mut steps {
        step.0 = (step.0 * 1e4).round() / 1e4;
        step.3 = (step.3 * 100.0).round() / 100.0;
    }
    steps
}

/// Where a bar without a note at its beginning is entered, in millimetres after its line.
const AFTER_BAR_LINE_MM: f64 = 2.0;

/// Tempi for the strip, in felt beats a minute.
struct Tempi {
    beat: BeatUnit,
    marked: Option<f64>,
    first: Option<(f64, f64)>,
}

impl Tempi {
    fn of(part: &Prepared) -> Self {
        let survey = &part.copy.shown.survey;
        let grids = survey.metre.as_ref().map_or(&[][..], |metre| &metre.grids);
        let beat = grids
            .iter()
            .find_map(|grid| grid.unit)
            .unwrap_or(BeatUnit::QUARTER);
        let on_beat = |unit: BeatUnit, bpm: f64| bpm * unit.quarters().to_f64() / beat.quarters().to_f64();
        let study = part.copy.shown.study.as_ref();
        let goal = study.and_then(|study| study.goal.as_ref());
        let first = study.and_then(|study| study.first.as_ref());
        Self {
            beat,
            marked: goal.map(|goal| on_beat(goal.beat, goal.bpm)),
            first: first.map(|first| {
                let of = |bpm: u16| on_beat(first.beat, f64::from(bpm));
                (of(first.range.low), of(first.range.high))
            }),
        }
    }
}

/// The sign of the beat by which the tempo is said: `♩`.
pub(crate) fn beat(part: &Prepared) -> String {
    Tempi::of(part).beat.sign().to_string()
}

/// The strip at the foot: play, tempo, what goes round, click, drone.
pub(crate) fn strip(part: &Prepared) -> Markup {
    let tempi = Tempi::of(part);
    let sign = tempi.beat.sign();
    let now = tempi.marked.or(tempi.first.map(|(_, high)| high));
    html! {
        section class="strip" aria-label="Listen" {
            button type="button" class="play" aria-pressed="false" { "Play" }
            div class="tempo" {
                label { (sign) " = " input type="number" name="tempo" min="10" max="400" step="1" inputmode="numeric"
                    value=[now.map(|now| format!("{now:.0}"))] aria-label={ "Tempo, " (tempi.beat.name()) " beats a minute" }; }
                @if let Some((low, high)) = tempi.first {
                    button type="button" class="take-tempo" data-tempo=(format!("{low:.0}")) { "first reading " (format!("{low:.0}")) @if high > low { "–" (format!("{high:.0}")) } }
                }
                @if let Some(marked) = tempi.marked {
                    button type="button" class="take-tempo" data-tempo=(format!("{marked:.0}")) { "as marked " (format!("{marked:.0}")) }
                }
            }
            div class="round" {
                span class="round-said" { "the whole part" }
                button type="button" class="whole" hidden { "whole part again" }
            }
            div class="beside" {
                label { input type="checkbox" name="click"; " click" }
                label { input type="checkbox" name="count-in" checked; " count-in" }
                label { "drone " select name="drone" {
                    option value="" { "none" }
                    option value="tonic" { "on the tonic" }
                    option value="follow" { "with the keys" }
                } }
            }
            p class="caution" hidden {}
        }
    }
}
