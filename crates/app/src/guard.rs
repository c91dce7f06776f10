//! Who may ask? Only this machine's own pages: the name asked for, the page that asks, and its secret are looked at first.
//!
//! A page of some other site open in the same browser can send requests to this machine, too, or give its own name this
//! machine's address. So: the `Host` must be this machine's own name with our port; an `Origin`, where the browser sends
//! one, must be ours; whatever changes something must show a secret that stands only on our pages; and the browser is told to
//! run nothing, load nothing and send nothing but what is ours.
//! Sources: Fetch Metadata Request Headers and Content Security Policy Level 3 (W3C); the cross-site request forgery and DNS
//! rebinding chapters of OWASP's cheat sheets (from memory).

use crate::lan::Asker;
use crate::state::App;
use axum::extract::{Request, State};
use axum::http::{HeaderMap, HeaderName, HeaderValue, Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use std::sync::Arc;
use std::time::Duration;

/// The header in which a page shows its secret.
pub(crate) const SECRET_HEADER: &str = "x-foreread-secret";

/// What a page may do: our own scripts, styles, fonts, pictures and sounds; no inline code, no frames, nothing from elsewhere.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; font-src 'self'; \
connect-src 'self'; media-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'";

/// What a page may use of the machine.
const PERMISSIONS: &str = "permissions-policy";

/// Headers of every answer.
const ALWAYS: [(&str, &str); 7] = [
    ("content-security-policy", POLICY),
    ("x-content-type-options", "nosniff"),
    ("x-frame-options", "DENY"),
    // Not `no-referrer`: with that a browser says of a form on our own page that it comes from nowhere (`Origin: null`).
    // Source: Fetch (WHATWG), section 3.2, "append a request `Origin` header".
    ("referrer-policy", "same-origin"),
    ("cross-origin-resource-policy", "same-origin"),
    ("cross-origin-opener-policy", "same-origin"),
    (
        PERMISSIONS,
        "camera=(), geolocation=(), microphone=(), usb=(), payment=()",
    ),
];

/// Looks at each request before any route does, and sets the headers of each answer.
pub(crate) async fn guard(State(app): State<Arc<App>>, mut request: Request, next: Next) -> Response {
    request.extensions_mut().insert(Asker::TEACHER);
    dressed(match refused(&app, request.method(), request.headers()) {
        Some(why) => (StatusCode::FORBIDDEN, why).into_response(),
        None => bounded(request, next).await,
    })
}

/// The answer of a route, which no request makes large or long.
pub(crate) async fn bounded(request: Request, next: Next) -> Response {
    if too_large(request.headers()) {
        let why = "that is more than a notated piece ever is";
        return (StatusCode::PAYLOAD_TOO_LARGE, why).into_response();
    }
    match tokio::time::timeout(LONGEST, next.run(request)).await {
        Ok(answer) => answer,
        Err(_) => (StatusCode::REQUEST_TIMEOUT, "that took too long and was given up").into_response(),
    }
}

/// An answer with what every answer says to the browser.
pub(crate) fn dressed(mut answer: Response) -> Response {
    let headers = answer.headers_mut();
    // A screen that may use the microphone has said so itself.
    let may_listen = headers.get(PERMISSIONS).cloned();
    for (name, value) in ALWAYS {
        headers.insert(HeaderName::from_static(name), HeaderValue::from_static(value));
    }
    if let Some(may_listen) = may_listen {
        headers.insert(HeaderName::from_static(PERMISSIONS), may_listen);
    }
    headers
        .entry(header::CACHE_CONTROL)
        .or_insert(HeaderValue::from_static("no-store"));
    answer
}

/// How long a request may take to come and to be answered.
const LONGEST: Duration = Duration::from_secs(180);

/// Whether more is announced than is ever taken: refused before it comes.
fn too_large(headers: &HeaderMap) -> bool {
    let length = headers
        .get(header::CONTENT_LENGTH)
        .and_then(|length| length.to_str().ok()?.parse::<u64>().ok());
    length.is_some_and(|length| length > desk::MOST_BYTES)
}

/// Why a request is not answered, if it is not.
fn refused(app: &App, method: &Method, headers: &HeaderMap) -> Option<&'static str> {
    let said = |name: &str| headers.get(name).map(|value| value.to_str().unwrap_or("?"));
    if headers.get_all(header::HOST).iter().count() != 1
        || !said("host").is_some_and(|host| is_ours(host, app.port))
    {
        return Some("this address is not the app's: open the one that it printed when it was started");
    }
    if let Some(origin) = said("origin")
        && !origin
            .strip_prefix("http://")
            .is_some_and(|host| is_ours(host, app.port))
    {
        return Some("another page has asked; only the app's own pages may");
    }
    let looks = *method == Method::GET || *method == Method::HEAD;
    if let Some(site) = said("sec-fetch-site")
        && !matches!(site, "same-origin" | "none")
        && !(looks
            && said("sec-fetch-mode") == Some("navigate")
            && said("sec-fetch-dest") == Some("document"))
    {
        return Some("another page has asked; only the app's own pages may");
    }
    if !looks && !said(SECRET_HEADER).is_some_and(|secret| same(secret, &app.secret)) {
        return Some("the page is from before the app was started again: load it anew");
    }
    None
}

/// This machine's own names, with our port.
fn is_ours(host: &str, port: u16) -> bool {
    let name = host.strip_suffix(&format!(":{port}"));
    matches!(name, Some("127.0.0.1" | "localhost" | "[::1]"))
}

/// Compares without telling by its time how much was right.
pub(crate) fn same(one: &str, other: &str) -> bool {
    one.len() == other.len()
        && one
            .bytes()
            .zip(other.bytes())
            .fold(0, |all, (a, b)| all | (a ^ b))
            == 0
}

#[cfg(test)]
mod tests {
    use super::{is_ours, same};

    #[test]
    fn only_this_machines_names_with_our_port_are_ours() {
        for host in ["127.0.0.1:7432", "localhost:7432", "[::1]:7432"] {
            assert!(is_ours(host, 7432), "{host}");
        }
        for host in [
            "127.0.0.1",
            "127.0.0.1:80",
            "localhost:74321",
            "evil.example:7432",
            "127.0.0.1.evil.example:7432",
            "127.0.0.1:7432:7432",
            "",
        ] {
            assert!(!is_ours(host, 7432), "{host}");
        }
    }

    #[test]
    fn a_secret_is_the_whole_secret() {
        assert!(same("abc", "abc"));
        assert!(!same("abc", "abd") && !same("abc", "ab") && !same("", "abc"));
    }
}
