//! Which files does the browser get beside the pages? Scripts, styles and fonts, carried inside the program.

use crate::error::AppError;
use axum::extract::Path;
use axum::http::header;
use axum::response::{IntoResponse, Response};

/// A file by its name.
struct Asset {
    name: &'static str,
    kind: &'static str,
    bytes: &'static [u8],
}

const CSS: &str = "text/css; charset=utf-8";
const JS: &str = "text/javascript; charset=utf-8";

macro_rules! asset {
    ($name:literal, $kind:expr) => {
        Asset {
            name: $name,
            kind: $kind,
            bytes: include_bytes!(concat!("../assets/", $name)),
        }
    };
}

const ASSETS: &[Asset] = &[
    asset!("devices.css", CSS),
    asset!("devices.js", JS),
    asset!("pair.js", JS),
    asset!("house.css", CSS),
    asset!("part.css", CSS),
    asset!("folder.css", CSS),
    asset!("today.css", CSS),
    asset!("studio.css", CSS),
    asset!("look.css", CSS),
    asset!("mending.css", CSS),
    asset!("mending.js", JS),
    asset!("takes.css", CSS),
    asset!("takes.js", JS),
    asset!("take.js", JS),
    asset!("tape.js", JS),
    asset!("house.js", JS),
    asset!("today.js", JS),
    asset!("studio.js", JS),
    asset!("part.js", JS),
    asset!("folder.js", JS),
    asset!("look.js", JS),
    asset!("seen.js", JS),
    asset!("paper.js", JS),
    asset!("margin.js", JS),
    asset!("listen.js", JS),
    asset!("pencil.js", JS),
    asset!("stand.js", JS),
];

/// A script or a style sheet.
pub(crate) async fn asset(Path(name): Path<String>) -> Result<Response, AppError> {
    let found = ASSETS
        .iter()
        .find(|asset| asset.name == name)
        .ok_or(AppError::NotFound)?;
    Ok(([(header::CONTENT_TYPE, found.kind)], found.bytes).into_response())
}

/// A font, by its place in [`fonts::WEB`].
pub(crate) async fn font(Path(name): Path<String>) -> Result<Response, AppError> {
    let number = name
        .strip_suffix(".woff2")
        .and_then(|number| number.parse::<usize>().ok());
    let found = number
        .and_then(|number| fonts::WEB.get(number))
        .ok_or(AppError::NotFound)?;
    let kept = "public, max-age=86400, immutable";
    Ok((
        [
            (header::CONTENT_TYPE, "font/woff2"),
            (header::CACHE_CONTROL, kept),
        ],
        found.woff2,
    )
        .into_response())
}

/// The rules by which pages find the fonts.
pub(crate) async fn font_rules() -> Response {
    let rules: String = fonts::WEB.iter().enumerate().map(rule).collect();
    ([(header::CONTENT_TYPE, CSS)], rules).into_response()
}

fn rule((number, font): (usize, &fonts::WebFont)) -> String {
    format!(
        "@font-face{{font-family:'{}';font-weight:{};font-style:{};font-display:block;src:url(/fonts/{number}.woff2) format('woff2')}}\n",
        font.family,
        if font.bold { "bold" } else { "normal" },
        if font.italic { "italic" } else { "normal" },
    )
}
