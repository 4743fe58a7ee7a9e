//! The interactive page on 127.0.0.1: routes, and what every request has to get past. The only floor that
//! opens a socket. Nothing is written, nothing is read from disk after the start, nothing leaves the machine.
//!
//! A request must name this address as its host, and as its origin if it has one, else 403: another page in the
//! same browser cannot ask. No other origin is ever allowed. Bodies of at most 64 KiB (413), read within 5 s
//! (408); a panic is answered with 500. Connections are in `connections`. Checked in tests/page/hostile.rs.

pub mod assets;
mod connections;
pub mod lesson_file;

use std::net::{Ipv4Addr, SocketAddrV4, TcpListener};
use std::sync::Arc;
use std::time::Duration;

use axum::Router;
use axum::body::Bytes;
use axum::extract::rejection::QueryRejection;
use axum::extract::{Query, Request, State};
use axum::http::{HeaderMap, HeaderValue, Method, StatusCode, header};
use axum::middleware::{Next, from_fn_with_state};
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use serde::Deserialize;
use serde_json::json;
use tokio::sync::Semaphore;
use tower_http::catch_panic::CatchPanicLayer;
use tower_http::limit::RequestBodyLimitLayer;
use tower_http::timeout::TimeoutLayer;

use crate::error::SimError;
use crate::report::{self, page_data};
use crate::study::Shelf;

/// Largest body of a request, bytes.
const LARGEST_BODY: usize = 64 * 1024;
/// Time a request may take to be read and answered.
const DEADLINE: Duration = Duration::from_secs(5);
/// Frames of a film.
pub const FRAMES: usize = 400;
/// Questions that are computed at the same time; each uses all cores.
const AT_ONCE: usize = 2;

/// Scripts and styles come from this address only, and none stand in the document.
const CONTENT_POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; \
    connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'";

/// A page that is bound to its port and not yet served.
pub struct Page {
    listener: TcpListener,
    port: u16,
}

struct Shared {
    shelf: Shelf,
    start: String,
    computing: Semaphore,
}

/// What is asked: a scenario, and what each leg changes, as `KEY=VALUE,…`.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Ask {
    scenario: String,
    legs: Vec<String>,
}

/// Whose sheet is asked for, as `KEY=VALUE,…`; nothing for the base.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct AskSheet {
    #[serde(default)]
    leg: String,
}

impl Page {
    /// Binds to the loopback address; port 0 is any free one.
    ///
    /// # Errors
    /// The port is in use, or may not be used.
    pub fn bind(port: u16) -> Result<Self, SimError> {
        let listener = TcpListener::bind(SocketAddrV4::new(Ipv4Addr::LOCALHOST, port)).map_err(|e| {
            let why = if e.kind() == std::io::ErrorKind::AddrInUse {
                "is in use; give another --port, or --port 0 for any free one".to_owned()
            } else {
                format!("cannot be used: {e}")
            };
            SimError::Usage(format!("port {port} on 127.0.0.1 {why}"))
        })?;
        let port = listener.local_addr().map_err(|e| failed(&e))?.port();
        Ok(Self { listener, port })
    }

    /// Its address.
    #[must_use]
    pub fn url(&self) -> String {
        format!("http://127.0.0.1:{}/", self.port)
    }

    /// Serves until the process ends.
    ///
    /// # Errors
    /// The run time cannot be started; a shelf that is wrong in itself.
    pub fn serve(self, shelf: Shelf) -> Result<(), SimError> {
        let routes = routes(shelf)?;
        self.serve_routes(routes)
    }

    /// Serves these routes behind the guard.
    ///
    /// # Errors
    /// The run time cannot be started.
    pub fn serve_routes(self, routes: Router) -> Result<(), SimError> {
        let app = guarded(routes, self.port);
        self.listener.set_nonblocking(true).map_err(|e| failed(&e))?;
        let runtime =
            tokio::runtime::Builder::new_multi_thread().enable_all().build().map_err(|e| failed(&e))?;
        runtime.block_on(async move {
            let listener = tokio::net::TcpListener::from_std(self.listener).map_err(|e| failed(&e))?;
            connections::serve(listener, app).await;
            Ok(())
        })
    }
}

fn failed(e: &std::io::Error) -> SimError {
    SimError::Usage(format!("the page cannot be served: {e}"))
}

/// All there is to ask for.
fn routes(shelf: Shelf) -> Result<Router, SimError> {
    let start = page_data::start(&shelf)?.to_string();
    let shared = Arc::new(Shared { shelf, start, computing: Semaphore::new(AT_ONCE) });
    Ok(Router::new()
        .route("/", get(|| async { typed("text/html; charset=utf-8", assets::DOCUMENT.to_owned()) }))
        .route(
            "/start.json",
            get(|State(s): State<Arc<Shared>>| async move { json_text(StatusCode::OK, s.start.clone()) }),
        )
        .route("/answer", post(answer))
        .route("/sheet", get(sheet))
        .fallback(file)
        .with_state(shared))
}

/// What every request has to get past, the outermost last.
fn guarded(routes: Router, port: u16) -> Router {
    routes
        .layer(RequestBodyLimitLayer::new(LARGEST_BODY))
        .layer(TimeoutLayer::with_status_code(StatusCode::REQUEST_TIMEOUT, DEADLINE))
        .layer(from_fn_with_state(port, guard))
        .layer(CatchPanicLayer::new())
}

/// Host and origin, then the headers of every answer.
async fn guard(State(port): State<u16>, request: Request, next: Next) -> Response {
    let questions = request.method() == Method::POST;
    let mut response = if is_own(&request, port) {
        next.run(request).await
    } else {
        (StatusCode::FORBIDDEN, "this page answers only to its own address\n").into_response()
    };
    let headers = response.headers_mut();
    // a sheet brings a policy of its own, which allows less
    headers.entry(header::CONTENT_SECURITY_POLICY).or_insert(HeaderValue::from_static(CONTENT_POLICY));
    for (name, value) in [
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (header::REFERRER_POLICY, "no-referrer"),
        (header::CACHE_CONTROL, "no-store"),
    ] {
        headers.insert(name, HeaderValue::from_static(value));
    }
    // A browser keeps what it can, six connections a page; only the questions gain from that.
    if !questions {
        headers.insert(header::CONNECTION, HeaderValue::from_static("close"));
    }
    headers.insert("cross-origin-resource-policy", HeaderValue::from_static("same-origin"));
    headers.insert("cross-origin-opener-policy", HeaderValue::from_static("same-origin"));
    response
}

/// Asked by this page or by hand, not by another page: exactly one host, this one; an origin only if it is this one.
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

/// A file of the page, or 404.
async fn file(request: Request) -> Response {
    match (request.method().as_str(), assets::asset(request.uri().path())) {
        ("GET" | "HEAD", Some(a)) => typed(a.media, a.text.to_owned()),
        (_, Some(_)) => StatusCode::METHOD_NOT_ALLOWED.into_response(),
        _ => (StatusCode::NOT_FOUND, "no such page\n").into_response(),
    }
}

async fn answer(State(shared): State<Arc<Shared>>, headers: HeaderMap, body: Bytes) -> Response {
    let media = headers.get(header::CONTENT_TYPE).and_then(|v| v.to_str().ok()).unwrap_or_default();
    if media.split(';').next().map(str::trim) != Some("application/json") {
        return refusal(
            StatusCode::UNSUPPORTED_MEDIA_TYPE,
            "a question is JSON: content-type application/json",
        );
    }
    let ask: Ask = match serde_json::from_slice(&body) {
        Ok(ask) => ask,
        Err(e) => return refusal(StatusCode::BAD_REQUEST, &format!("not a question: {e}")),
    };
    let Ok(_permit) = shared.computing.acquire().await else {
        return StatusCode::SERVICE_UNAVAILABLE.into_response();
    };
    let own = Arc::clone(&shared);
    // a panic in there is an error of this request only
    let computed = tokio::task::spawn_blocking(move || {
        own.shelf.answer(&ask.scenario, &ask.legs, FRAMES).map(|a| page_data::answer(&a).to_string())
    });
    match computed.await {
        Ok(Ok(text)) => json_text(StatusCode::OK, text),
        Ok(Err(e)) => refusal(StatusCode::UNPROCESSABLE_ENTITY, &e.to_string()),
        Err(_) => refusal(StatusCode::INTERNAL_SERVER_ERROR, "this question could not be answered"),
    }
}

/// The printable sheet of one leg.
async fn sheet(
    State(shared): State<Arc<Shared>>,
    asked: Result<Query<AskSheet>, QueryRejection>,
) -> Response {
    let Ok(Query(AskSheet { leg })) = asked else {
        return refusal(StatusCode::BAD_REQUEST, "a sheet is asked for with ?leg=KEY=VALUE,…");
    };
    let Ok(_permit) = shared.computing.acquire().await else {
        return StatusCode::SERVICE_UNAVAILABLE.into_response();
    };
    let own = Arc::clone(&shared);
    let computed = tokio::task::spawn_blocking(move || {
        let made_by = format!("kneedamp serve, then the sheet of \"{leg}\"");
        report::sheet::html(&own.shelf.sheet(&leg)?, &made_by)
    });
    match computed.await {
        Ok(Ok(page)) => {
            let policy = format!(
                "{}; base-uri 'none'; form-action 'none'; frame-ancestors 'none'",
                report::sheet::policy()
            );
            let mut response = typed("text/html; charset=utf-8", page);
            if let Ok(policy) = HeaderValue::from_str(&policy) {
                response.headers_mut().insert(header::CONTENT_SECURITY_POLICY, policy);
            }
            response
        }
        Ok(Err(e)) => refusal(StatusCode::UNPROCESSABLE_ENTITY, &e.to_string()),
        Err(_) => refusal(StatusCode::INTERNAL_SERVER_ERROR, "this sheet could not be made"),
    }
}

fn refusal(status: StatusCode, why: &str) -> Response {
    json_text(status, json!({ "error": why }).to_string())
}

fn json_text(status: StatusCode, text: String) -> Response {
    (status, typed("application/json", text)).into_response()
}

fn typed(media: &'static str, text: String) -> Response {
    ([(header::CONTENT_TYPE, media)], text).into_response()
}
