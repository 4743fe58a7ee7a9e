//! The guard in front of every route. It checks host, origin and what the browser says about the sender (403), then
//! that the body is small (413) and arrives in time (408); it sets the headers of every answer.

use std::time::Duration;

use axum::Router;
use axum::body::{Body, Bytes};
use axum::extract::{DefaultBodyLimit, FromRequest, Request, State};
use axum::http::{HeaderMap, HeaderValue, Method, StatusCode, header};
use axum::middleware::{Next, from_fn, from_fn_with_state};
use axum::response::{IntoResponse, Response};
use tower_http::catch_panic::CatchPanicLayer;

use super::response::refusal;

/// Largest body of a request, bytes.
const LARGEST_BODY: usize = 64 * 1024;
/// Time for a body to arrive; the time for the head is in `connections`.
const BODY_DEADLINE: Duration = Duration::from_secs(5);

/// Scripts and styles come only from this address; none are inline.
const CONTENT_POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; \
    connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'";

/// The routes behind the guard; the last layer is the outermost.
pub(super) fn guarded(routes: Router, port: u16) -> Router {
    routes
        .layer(from_fn(whole))
        .layer(DefaultBodyLimit::max(LARGEST_BODY))
        .layer(from_fn_with_state(port, guard))
        .layer(CatchPanicLayer::new())
}

/// Reads the whole body before the route runs.
async fn whole(request: Request, next: Next) -> Response {
    let (parts, body) = request.into_parts();
    // the limit is in the extensions
    let mut reading = Request::new(body);
    *reading.extensions_mut() = parts.extensions.clone();
    match tokio::time::timeout(BODY_DEADLINE, Bytes::from_request(reading, &())).await {
        Ok(Ok(bytes)) => next.run(Request::from_parts(parts, Body::from(bytes))).await,
        Ok(Err(e)) if e.status() == StatusCode::PAYLOAD_TOO_LARGE => {
            refusal(e.status(), &format!("a question has at most {} KiB", LARGEST_BODY / 1024))
        }
        Ok(Err(e)) => refusal(e.status(), &e.body_text()),
        Err(_) => refusal(StatusCode::REQUEST_TIMEOUT, "the question did not come in time"),
    }
}

/// Checks the sender, then sets the headers of the answer.
async fn guard(State(port): State<u16>, request: Request, next: Next) -> Response {
    let questions = request.method() == Method::POST;
    let mut response = if is_own(&request, port) && !comes_from_elsewhere(&request) {
        next.run(request).await
    } else {
        (StatusCode::FORBIDDEN, "this page answers only to its own address\n").into_response()
    };
    let refused = response.status().is_client_error() || response.status().is_server_error();
    let headers = response.headers_mut();
    // a sheet has a stricter policy of its own
    headers.entry(header::CONTENT_SECURITY_POLICY).or_insert(HeaderValue::from_static(CONTENT_POLICY));
    for (name, value) in [
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (header::REFERRER_POLICY, "no-referrer"),
        (header::CACHE_CONTROL, "no-store"),
    ] {
        headers.insert(name, HeaderValue::from_static(value));
    }
    // A browser keeps up to six connections a page open, which helps only the questions. After a refusal the rest of
    // the request may still be missing, so that connection is closed as well.
    if !questions || refused {
        headers.insert(header::CONNECTION, HeaderValue::from_static("close"));
    }
    headers.insert("cross-origin-resource-policy", HeaderValue::from_static("same-origin"));
    headers.insert("cross-origin-opener-policy", HeaderValue::from_static("same-origin"));
    response
}

/// Sent by this page or by hand, not by another page: exactly one host, this one; an origin only if it is this one.
fn is_own(request: &Request, port: u16) -> bool {
    let addresses = [format!("127.0.0.1:{port}"), format!("localhost:{port}")];
    let own = |text: &str| addresses.iter().any(|a| a == text);
    let headers: &HeaderMap = request.headers();
    let mut hosts = headers.get_all(header::HOST).iter();
    let one_host = match (hosts.next(), hosts.next()) {
        (Some(host), None) => host.to_str().is_ok_and(own),
        _ => false,
    };
    let authority = request.uri().authority().is_none_or(|a| own(a.as_str()));
    let from_here = |o: &HeaderValue| o.to_str().is_ok_and(|o| o.strip_prefix("http://").is_some_and(own));
    one_host && authority && headers.get_all(header::ORIGIN).iter().all(from_here)
}

/// A link, an image or a script in another page names no origin, but the browser says where it comes from
/// (Fetch Metadata Request Headers, W3C). A link may open the page itself: that computes nothing.
fn comes_from_elsewhere(request: &Request) -> bool {
    let headers = request.headers();
    let all = |name: &str, allowed: &[&str]| {
        headers.get_all(name).iter().all(|v| v.to_str().is_ok_and(|v| allowed.contains(&v)))
    };
    let opens_the_page = request.method() == Method::GET
        && request.uri().path() == "/"
        && headers.contains_key("sec-fetch-mode")
        && headers.contains_key("sec-fetch-dest")
        && all("sec-fetch-mode", &["navigate"])
        && all("sec-fetch-dest", &["document"]);
    !all("sec-fetch-site", &["same-origin", "none"]) && !opens_the_page
}
