//! What is seen of it? At the machine: devices, and a code for a new one; at the device: where the code is typed.

use super::guard::COOKIE;
use super::pairing::Tried;
use crate::error::AppError;
use crate::screen::{Screen, page};
use crate::state::App;
use axum::Json;
use axum::extract::{Form, Path, State};
use axum::http::{StatusCode, header};
use axum::response::{Html, IntoResponse, Redirect, Response};
use maud::{Markup, html};
use qrcode::{Color, EcLevel, QrCode};
use serde::Deserialize;
use std::sync::Arc;
use std::time::Instant;
use store::{DeviceId, DeviceRow, PlayerId, PlayerRow};

/// So many days is a device let in before it is paired again.
const DAYS: i64 = 90;

/// Devices that were let in, and the way to let one in; seen at the machine itself only.
///
/// # Errors
/// If the home can't be read.
pub(crate) async fn devices(State(app): State<Arc<App>>) -> Result<Html<String>, AppError> {
    let (devices, players) = app
        .aside(|app| Ok((app.store.devices()?, app.store.players(false)?)))
        .await?;
    let body = match &app.lan {
        None => html! {
            section class="slip" {
                h1 { "Other devices" }
                p { "Other devices in the house can look in if the app is started with " code { "foreread --lan" } "." }
                p { "Each is let in by a code of its own. A player's device then reaches that player's things and no others." }
            }
        },
        Some(lan) => html! {
            section class="devices" {
                h1 { "Other devices" }
                p { "A device must be in the same house network. It shows a warning once, since the certificate was made on this machine; its "
                    "fingerprint there must be this one:" }
                p class="fingerprint" { (lan.fingerprint) }
                form id="let-in" {
                    label for="whose" { "Let a device in for" }
                    select id="whose" name="whose" {
                        option value="" { "the teacher (everything)" }
                        @for player in &players { option value=(player.id.0) { (player.name) } }
                    }
                    button type="submit" { "Make a code" }
                }
                div id="code" aria-live="polite" {}
                (table(&devices, &players))
            }
        },
    };
    Ok(Html(
        shown(&app, "Other devices", "devices", Some("devices.js"), body).into_string(),
    ))
}

fn table(devices: &[DeviceRow], players: &[PlayerRow]) -> Markup {
    let whose = |device: &DeviceRow| match device.player {
        None => "the teacher".to_owned(),
        Some(id) => players
            .iter()
            .find(|player| player.id == id)
            .map_or_else(|| "a player put away".to_owned(), |player| player.name.clone()),
    };
    let day = |moment: &str| moment.get(..10).unwrap_or(moment).to_owned();
    html! {
        @if devices.is_empty() {
            p { "No device has been let in yet." }
        } @else {
            table {
                caption { "Devices that were let in" }
                thead { tr { th scope="col" { "Device" } th scope="col" { "Whose" } th scope="col" { "Let in" } th scope="col" { "Last seen" } th { span class="unseen" { "Shut out" } } } }
                tbody {
                    @for device in devices {
                        tr {
                            th scope="row" { (device.name) }
                            td { (whose(device)) }
                            td { (day(&device.paired)) }
                            td { (device.last_seen.as_deref().map_or_else(|| "never".to_owned(), day)) }
                            td {
                                @if device.ended.is_some() { "shut out" }
                                @else { button type="button" data-shut-out=(device.id.0) { "Shut out" } }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// Who a device is to be for.
#[derive(Debug, Deserialize)]
pub(crate) struct Whose {
    player: Option<i64>,
}

/// A code for a device, with the square that its camera reads.
///
/// # Errors
/// If the app was started without `--lan`, or the player is gone.
pub(crate) async fn offer(
    State(app): State<Arc<App>>,
    Json(whose): Json<Whose>,
) -> Result<Html<String>, AppError> {
    let urls = app.lan.as_ref().ok_or(AppError::NotFound)?.urls();
    let player = whose.player.map(PlayerId);
    let name = app
        .aside(move |app| player.map(|id| Ok(app.store.player(id)?.name)).transpose())
        .await?;
    let code = app.offers.offer(player, Instant::now())?;
    let (first, last) = code.split_at(4);
    let made = html! {
        p { "For " strong { (name.as_deref().unwrap_or("the teacher")) } ", good once and for five minutes:" }
        p class="code" { (first) " " (last) }
        @if let Some(url) = urls.first() { (square(&format!("{url}pair#{code}"))) }
        p { "Open " @for (n, url) in urls.iter().enumerate() { @if n > 0 { " or " } code { (url) } } " on the device and type the code, or point its camera at the square." }
    };
    Ok(Html(made.into_string()))
}

/// The square for cameras (ISO/IEC 18004), one path of unit squares.
fn square(text: &str) -> Markup {
    let Ok(made) = QrCode::with_error_correction_level(text.as_bytes(), EcLevel::M) else {
        return html! {};
    };
    let width = made.width();
    let dark = made.to_colors();
    let path: String = (0..dark.len())
        .filter(|at| dark.get(*at) == Some(&Color::Dark))
        .map(|at| format!("M{} {}h1v1h-1z", at % width + 4, at / width + 4))
        .collect();
    let side = width + 8;
    html! {
        svg class="square" xmlns="http://www.w3.org/2000/svg" viewBox={ "0 0 " (side) " " (side) } role="img" aria-label="The address and the code, for a camera" {
            rect class="light" width=(side) height=(side) {}
            path class="dark" d=(path) {}
        }
    }
}

/// Shuts a device out.
///
/// # Errors
/// If it is gone.
pub(crate) async fn shut_out(
    State(app): State<Arc<App>>,
    Path(id): Path<i64>,
) -> Result<StatusCode, AppError> {
    app.aside(move |app| Ok(app.store.end_device(DeviceId(id))?))
        .await?;
    Ok(StatusCode::NO_CONTENT)
}

/// Where the code is typed.
pub(crate) async fn pair_page(State(app): State<Arc<App>>) -> Html<String> {
    Html(asking(&app, "").into_string())
}

fn asking(app: &App, mistake: &str) -> Markup {
    let body = html! {
        section class="slip" {
            h1 { "Let this device in" }
            p { "At the machine where Foreread runs, choose “Other devices” and make a code." }
            @if !mistake.is_empty() { p class="doing" role="alert" { (mistake) } }
            form method="post" action="/pair" {
                p { label for="code" { "The code" } " "
                    input type="text" id="code" name="code" autocomplete="off" autocapitalize="characters" spellcheck="false" maxlength="20" required autofocus; }
                p { label for="name" { "What this device is called" } " "
                    input type="text" id="name" name="name" maxlength="60" placeholder="tablet on the stand"; }
                button type="submit" { "Let it in" }
            }
        }
    };
    shown(app, "Let this device in", "pair", Some("pair.js"), body)
}

/// What is typed at a device.
#[derive(Debug, Deserialize)]
pub(crate) struct Typed {
    code: String,
    #[serde(default)]
    name: String,
}

/// Lets the device in if the code is right.
///
/// # Errors
/// If the home can't be written.
pub(crate) async fn pair(
    State(app): State<Arc<App>>,
    Form(typed): Form<Typed>,
) -> Result<Response, AppError> {
    let player = match app.offers.take(&typed.code, Instant::now()) {
        Tried::Right(player) => player,
        Tried::Wrong => {
            return Ok(no(
                &app,
                "That is not the code. Look at it once more; after five tries a new one is needed.",
            ));
        }
        Tried::NoneGood => {
            return Ok(no(
                &app,
                "No code is good now. Make a new one at the machine where Foreread runs.",
            ));
        }
    };
    let mut bytes = [0_u8; 32];
    getrandom::fill(&mut bytes).map_err(|error| AppError::Random(error.to_string()))?;
    let secret: String = bytes.iter().map(|byte| format!("{byte:02x}")).collect();
    let kept = secret.clone();
    let called: String = typed.name.trim().chars().take(60).collect();
    app.aside(move |app| {
        let name = if called.is_empty() {
            "a device"
        } else {
            called.as_str()
        };
        let device = app.store.add_device(name, player)?;
        let until = chrono::Utc::now() + chrono::Duration::days(DAYS);
        Ok(app
            .store
            .begin_session(device.id, kept.as_bytes(), &until.to_rfc3339())?)
    })
    .await?;
    let cookie = format!(
        "{COOKIE}={secret}; Path=/; Secure; HttpOnly; SameSite=Strict; Max-Age={}",
        DAYS * 24 * 60 * 60
    );
    Ok(([(header::SET_COOKIE, cookie)], Redirect::to("/")).into_response())
}

fn no(app: &App, why: &str) -> Response {
    (StatusCode::FORBIDDEN, Html(asking(app, why).into_string())).into_response()
}

fn shown(app: &App, title: &str, class: &'static str, script: Option<&'static str>, body: Markup) -> Markup {
    page(&Screen {
        title,
        secret: if class == "pair" { "" } else { &app.secret },
        class,
        styles: &["devices.css"],
        script,
        line: html! {},
        body,
    })
}
