//! The layers that every request passes: what browsers may do with our pages, and whose posts we take.

use axum::Router;
use axum::extract::Request;
use axum::http::{HeaderMap, HeaderName, HeaderValue, Method, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use tower_http::set_header::SetResponseHeaderLayer;

use super::Failed;

const POLICY: &str = "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self' data:; font-src 'self'; \
                      connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'";

/// Headers that hold a browser to what our pages need. `no-referrer` would make browsers send `Origin: null`, which
/// the same-site guard must refuse.
pub fn headers<S: Clone + Send + Sync + 'static>(router: Router<S>) -> Router<S> {
    let all = [
        (header::CONTENT_SECURITY_POLICY, POLICY),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (header::REFERRER_POLICY, "same-origin"),
        (HeaderName::from_static("cross-origin-opener-policy"), "same-origin"),
        (HeaderName::from_static("permissions-policy"), "camera=(), geolocation=(), microphone=()"),
    ];
    all.into_iter().fold(router, |router, (name, value)| {
        router.layer(SetResponseHeaderLayer::if_not_present(name, HeaderValue::from_static(value)))
    })
}

/// The one address that devices write to. They have no page of ours and no session: each proves itself by a token of its
/// own in a header that no browser adds by itself, so no other site can write there in somebody's name.
pub const BY_TOKEN: &str = "/loggers/samples";

/// Takes a write only from one of our own pages, or with a token of its own.
pub async fn same_site(request: Request, next: Next) -> Response {
    let reads = matches!(*request.method(), Method::GET | Method::HEAD | Method::OPTIONS);
    if reads || request.uri().path() == BY_TOKEN || comes_from_us(request.headers()) {
        next.run(request).await
    } else {
        Failed::Elsewhere.into_response()
    }
}

/// `Sec-Fetch-Site: same-origin`, or where a browser on plain http sends none, `Origin` with the host of `Host`.
/// Neither: no.
fn comes_from_us(headers: &HeaderMap) -> bool {
    let text = |name: &str| headers.get(name).and_then(|value| value.to_str().ok());
    if let Some(site) = text("sec-fetch-site") {
        return site == "same-origin";
    }
    let origin = text("origin").and_then(|origin| origin.split_once("://")).map(|(_, host)| host);
    origin.is_some() && origin == text("host")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn headers(pairs: &[(&'static str, &'static str)]) -> HeaderMap {
        pairs
            .iter()
            .map(|(name, value)| (HeaderName::from_static(name), HeaderValue::from_static(value)))
            .collect()
    }

    #[test]
    fn a_post_from_our_own_page_is_taken() {
        assert!(comes_from_us(&headers(&[("sec-fetch-site", "same-origin")])));
        assert!(comes_from_us(&headers(&[
            ("origin", "http://book.local:7180"),
            ("host", "book.local:7180")
        ])));
    }

    #[test]
    fn a_post_from_another_site_is_refused() {
        assert!(!comes_from_us(&headers(&[("sec-fetch-site", "cross-site"), ("host", "book.local")])));
        assert!(!comes_from_us(&headers(&[("sec-fetch-site", "same-site"), ("host", "book.local")])));
        assert!(!comes_from_us(&headers(&[("origin", "https://elsewhere.example"), ("host", "book.local")])));
    }

    #[test]
    fn a_post_that_does_not_say_where_it_comes_from_is_refused() {
        assert!(!comes_from_us(&headers(&[("host", "book.local")])));
        assert!(!comes_from_us(&headers(&[("origin", "null"), ("host", "book.local")])));
    }
}
