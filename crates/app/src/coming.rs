//! How does a page come whose music is still being engraved? Its head at once, so that styles and letters are fetched meanwhile; the rest in
//! the same answer, as soon as it is made.

use axum::body::{Body, Bytes};
use axum::http::header;
use axum::response::{IntoResponse, Response};
use futures_core::Stream;
use std::convert::Infallible;
use std::future::Future;
use std::pin::Pin;
use std::task::{Context, Poll, ready};

/// A page in two pieces.
pub(crate) fn in_two(beginning: String, rest: impl Future<Output = String> + Send + 'static) -> Response {
    let coming = Coming {
        beginning: Some(beginning),
        rest: Some(Box::pin(rest)),
    };
    let kind = [(header::CONTENT_TYPE, "text/html; charset=utf-8")];
    (kind, Body::from_stream(coming)).into_response()
}

struct Coming {
    beginning: Option<String>,
    rest: Option<Pin<Box<dyn Future<Output = String> + Send>>>,
}

impl Stream for Coming {
    type Item = Result<Bytes, Infallible>;

    fn poll_next(mut self: Pin<&mut Self>, cx: &mut Context) -> Poll<Option<Self::Item>> {
        if let Some(beginning) = self.beginning.take() {
            return Poll::Ready(Some(Ok(beginning.into())));
        }
        let Some(rest) = self.rest.as_mut() else {
            return Poll::Ready(None);
        };
        let made = ready!(rest.as_mut().poll(cx));
        self.rest = None;
        Poll::Ready(Some(Ok(made.into())))
    }
}

#[cfg(test)]
mod tests {
    use super::in_two;

    #[test]
    fn both_pieces_come_in_their_order() {
        let runtime = tokio::runtime::Builder::new_current_thread().build().unwrap();
        let page = runtime.block_on(async {
            let answer = in_two("<p>first".to_owned(), async { "then</p>".to_owned() });
            axum::body::to_bytes(answer.into_body(), 1_000).await.unwrap()
        });
        assert_eq!(&page[..], b"<p>firstthen</p>");
    }
}
