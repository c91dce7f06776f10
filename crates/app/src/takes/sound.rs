//! How does the recording get to the browser? As it was kept.

use super::held::rows;
use crate::error::AppError;
use crate::state::App;
use axum::extract::{Path, State};
use axum::http::header;
use axum::response::{IntoResponse, Response};
use std::sync::Arc;

/// The recording of a take.
pub(crate) async fn recorded(State(app): State<Arc<App>>, Path(id): Path<i64>) -> Result<Response, AppError> {
    app.aside(move |app| {
        let (take, _) = rows(app, id)?;
        let bytes = app.store.file(&take.file)?;
        Ok(([(header::CONTENT_TYPE, kind(&bytes))], bytes).into_response())
    })
    .await
}

/// What it is, by how it begins: a name may say anything.
/// Sources: RFC 9639 (FLAC), RFC 3533 (Ogg), the RIFF and ISO base media containers, ID3v2 (from memory).
fn kind(bytes: &[u8]) -> &'static str {
    let at = |from: usize, sign: &[u8]| bytes.get(from..from + sign.len()) == Some(sign);
    if at(0, b"RIFF") && at(8, b"WAVE") {
        "audio/wav"
    } else if at(0, b"fLaC") {
        "audio/flac"
    } else if at(0, b"OggS") {
        "audio/ogg"
    } else if at(4, b"ftyp") {
        "audio/mp4"
    } else if at(0, b"FORM") {
        "audio/aiff"
    } else {
        "audio/mpeg"
    }
}

#[cfg(test)]
mod tests {
    use super::kind;

    #[test]
    fn a_sound_is_known_by_how_it_begins() {
        assert_eq!(kind(b"RIFF\x24\0\0\0WAVEfmt "), "audio/wav");
        assert_eq!(kind(b"fLaC\0"), "audio/flac");
        assert_eq!(kind(b"OggS\0"), "audio/ogg");
        assert_eq!(kind(b"\0\0\0\x20ftypM4A "), "audio/mp4");
        assert_eq!(kind(b"ID3\x04"), "audio/mpeg");
        assert_eq!(kind(b""), "audio/mpeg");
    }
}
