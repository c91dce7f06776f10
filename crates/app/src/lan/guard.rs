//! Who may ask from another device? A device that was paired, by its session; from our own address and our own pages; a player's device
//! only for what is that player's.
//!
//! Beside what `crate::guard` says of pages of others: the session is a cookie that no script reads, that is sent over TLS to this host
//! alone and never with what another site asks. Source: RFC 6265bis, sections 4.1.2.7 and 4.1.3 (SameSite, the prefix `__Host-`).

use super::asker::Asker;
use super::reach;
use crate::error::Said;
use crate::guard::{SECRET_HEADER, bounded, dressed, same};
use crate::state::App;
use axum::extract::{Request, State};
use axum::http::{HeaderMap, Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Redirect, Response};
use std::sync::Arc;
use store::DeviceRow;

/// The session's cookie.
pub(crate) const COOKIE: &str = "__Host-foreread";

/// What may be asked by a device that is not paired yet.
fn is_open(path: &str) -> bool {
    let file = path
        .strip_prefix("/assets/")
        .or_else(|| path.strip_prefix("/fonts/"));
    path == "/pair"
        || path == "/fonts.css"
        || path == "/icon.svg"
        || file.is_some_and(|name| !name.contains('/'))
}

/// Looks at each request before any route does, and sets the headers of each answer.
pub(crate) async fn guard(State(app): State<Arc<App>>, request: Request, next: Next) -> Response {
    dressed(answer(&app, request, next).await)
}

async fn answer(app: &Arc<App>, mut request: Request, next: Next) -> Response {
    let (method, uri) = (request.method().clone(), request.uri().clone());
    let path = uri.path().to_owned();
    if let Some(why) = refused(app, &method, request.headers()) {
        return (StatusCode::FORBIDDEN, why).into_response();
    }
    if is_open(&path) {
        return bounded(request, next).await;
    }
    let looks = method == Method::GET || method == Method::HEAD;
    let said = session(request.headers());
    let asked = (method.clone(), uri);
    let known = app
        .aside(move |app| {
            let Some(secret) = said else { return Ok(None) };
            let Some(device) = app.store.session(&secret)? else {
                return Ok(None);
            };
            let may = match device.player {
                Some(player) => reach::may(app, player, &asked.0, &asked.1)?,
                // Letting devices in and shutting them out is done at the machine itself.
                None => !asked.1.path().starts_with("/devices"),
            };
            app.store.seen(device.id)?;
            Ok(Some((device, may)))
        })
        .await;
    let (device, may): (DeviceRow, bool) = match known {
        Ok(Some(known)) => known,
        Ok(None) if looks => return Redirect::to("/pair").into_response(),
        Ok(None) => return (StatusCode::FORBIDDEN, "this device is not paired any more").into_response(),
        Err(error) => return error.into_response(),
    };
    if !may {
        return match device.player {
            Some(player) if looks && matches!(path.as_str(), "/" | "/today") => {
                Redirect::to(&reach::beginning(player)).into_response()
            }
            _ => for_asker(
                crate::AppError::NotFound.into_response(),
                Asker::at_device_of(device.player),
            ),
        };
    }
    let shown = request
        .headers()
        .get(SECRET_HEADER)
        .and_then(|secret| secret.to_str().ok());
    if !looks && !shown.is_some_and(|secret| same(secret, &app.secret)) {
        let why = "the page is from before the app was started again: load it anew";
        return (StatusCode::FORBIDDEN, why).into_response();
    }
    let asker = Asker::at_device_of(device.player);
    request.extensions_mut().insert(asker);
    for_asker(bounded(request, next).await, asker)
}

/// A mistake is said with the ways that are open to whoever asked.
fn for_asker(answer: Response, asker: Asker) -> Response {
    match answer.extensions().get::<Said>() {
        Some(said) if asker.player().is_some() => said.page(answer.status(), asker),
        _ => answer,
    }
}

/// Why a request is not for us, or not from our pages.
fn refused(app: &App, method: &Method, headers: &HeaderMap) -> Option<&'static str> {
    let said = |name: &str| headers.get(name).map(|value| value.to_str().unwrap_or("?"));
    let lan = app.lan.as_ref()?;
    if headers.get_all(header::HOST).iter().count() != 1
        || !said("host").is_some_and(|host| lan.is_ours(host))
    {
        return Some("this address is not the app's: open one that it printed when it was started");
    }
    let others = Some("another page has asked; only the app's own pages may");
    if let Some(origin) = said("origin")
        && !origin
            .strip_prefix("https://")
            .is_some_and(|host| lan.is_ours(host))
    {
        return others;
    }
    let looks = *method == Method::GET || *method == Method::HEAD;
    if let Some(site) = said("sec-fetch-site")
        && !matches!(site, "same-origin" | "none")
        && !(looks
            && said("sec-fetch-mode") == Some("navigate")
            && said("sec-fetch-dest") == Some("document"))
    {
        return others;
    }
    // Browsers always say where a form that changes something stands.
    (!looks && said("origin").is_none()).then_some("the request does not say which page it comes from")
}

/// The session's secret, if the device sends one: 32 bytes in hexadecimal digits.
fn session(headers: &HeaderMap) -> Option<Vec<u8>> {
    let cookies = headers.get_all(header::COOKIE);
    let mut found = cookies
        .iter()
        .filter_map(|value| value.to_str().ok())
        .flat_map(|value| value.split(';'))
        .filter_map(|pair| pair.trim().split_once('='))
        .filter(|(name, _)| *name == COOKIE)
        .map(|(_, value)| value);
    let value = found.next()?;
    // Two of the name are no browser's doing.
    (found.next().is_none() && value.len() == 64 && value.bytes().all(|byte| byte.is_ascii_hexdigit()))
        .then(|| value.as_bytes().to_vec())
}

#[cfg(test)]
mod tests {
    use super::{is_open, session};
    use axum::http::{HeaderMap, HeaderValue, header};

    #[test]
    fn what_is_open_is_no_ones_music() {
        for path in [
            "/pair",
            "/assets/house.css",
            "/fonts/3.woff2",
            "/fonts.css",
            "/icon.svg",
        ] {
            assert!(is_open(path), "{path}");
        }
        for path in [
            "/",
            "/pair/",
            "/pairs",
            "/assets/../part/1",
            "/assets/",
            "/part/1",
            "/sound/x",
            "/fonts/a/b",
        ] {
            assert_eq!(is_open(path), path == "/assets/", "{path}");
        }
    }

    #[test]
    fn one_whole_session_is_read_and_nothing_else() {
        let with = |cookies: &[&'static str]| {
            let mut headers = HeaderMap::new();
            for cookie in cookies {
                headers.append(header::COOKIE, HeaderValue::from_static(cookie));
            }
            session(&headers)
        };
        const GOOD: &str = "__Host-foreread=00112233445566778899aabbccddeeff00112233445566778899aabbccddeeff";
        const BESIDE: &str =
            "a=b; __Host-foreread=00112233445566778899aabbccddeeff00112233445566778899aabbccddeeff; c";
        assert_eq!(with(&[GOOD]).map(|secret| secret.len()), Some(64));
        assert!(with(&[BESIDE]).is_some());
        assert!(with(&[GOOD, GOOD]).is_none());
        assert!(with(&["__Host-foreread=", "x=y"]).is_none() && with(&["__Host-foreread=zz"]).is_none());
        assert!(with(&[]).is_none());
    }
}
