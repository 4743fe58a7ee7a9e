//! The interactive page on 127.0.0.1: its routes, behind a guard. The only floor that opens a socket. It writes
//! nothing, reads nothing from disk after the start and sends nothing off the machine.
//!
//! A request must name this address as its host, and as its origin if it has one, else 403: another page in the
//! same browser cannot ask. Links, images and forms name no origin; where the browser marks such a request as coming
//! from elsewhere, it may only open the page itself. Bodies have at most 64 KiB (413) and 5 s to arrive (408).
//! Computing has a deadline (503), after which it stops. A measured table comes with its question and is kept nowhere.
//! Sheets and ranked steps have a short queue and threads of their own, so that no answer waits for them. A panic is answered with 500. The guard is in `guard`, connections in `connections`. Checked in
//! tests/page/security.rs.

pub mod assets;
pub mod built_engine;
mod connections;
mod guard;
pub mod lesson_file;
mod measured;
pub mod questions;
mod response;

use std::net::{Ipv4Addr, SocketAddrV4, TcpListener};
use std::sync::Arc;
use std::time::{Duration, Instant};

use axum::Router;
use axum::body::Bytes;
use axum::extract::rejection::QueryRejection;
use axum::extract::{Query, Request, State};
use axum::http::{HeaderMap, HeaderValue, StatusCode, Uri, header};
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use serde::Deserialize;
use tokio::sync::Semaphore;

use self::connections::MOST_CONNECTIONS;
use self::questions::{Answers, Question};
use self::response::{HTML, json_text, no_sheet, refusal, typed};
use crate::error::SimError;
use crate::report::{self, page_data};
use crate::teaching::model_set::ModelSet;
use crate::words::{LANGUAGES, Words, first_language};

/// Questions that are computed at the same time; each uses all cores.
const AT_ONCE: usize = 2;
/// Sheets that are computed at the same time.
const SHEETS_AT_ONCE: usize = 1;
/// Sheets that are computed or wait; they hold their connections.
const MOST_SHEETS: usize = 8;

/// The page, bound to its port and not yet served.
pub struct Page {
    listener: TcpListener,
    port: u16,
}

struct Shared {
    answers: Answers,
    few_runs: Queue,
    many_runs: Queue,
    /// Time for waiting in a queue and computing together.
    deadline: Duration,
    /// A sheet needs thousands of runs; on the common threads the few runs of an answer would wait for them.
    many_threads: rayon::ThreadPool,
}

/// What may be asked for, and what is computed, at the same time.
#[derive(Clone)]
struct Queue {
    asked: Arc<Semaphore>,
    computed: Arc<Semaphore>,
}

impl Queue {
    fn new(asked: usize, computed: usize) -> Self {
        Self { asked: Arc::new(Semaphore::new(asked)), computed: Arc::new(Semaphore::new(computed)) }
    }
}

/// The language of a document.
#[derive(Debug, Deserialize)]
struct AskLanguage {
    #[serde(default = "first_language")]
    lang: String,
}

/// The leg of a sheet as `KEY=VALUE,…`; empty for the base.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct AskSheet {
    #[serde(default)]
    leg: String,
    #[serde(default = "first_language")]
    lang: String,
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

    /// Serves until the process ends. An answer that takes longer than `deadline` is stopped.
    ///
    /// # Errors
    /// The run time cannot be started; a model set that is wrong in itself.
    pub fn serve(self, models: ModelSet, deadline: Duration) -> Result<(), SimError> {
        let routes = routes(models, deadline)?;
        self.serve_routes(routes)
    }

    /// Serves these routes behind the guard.
    ///
    /// # Errors
    /// The run time cannot be started.
    pub fn serve_routes(self, routes: Router) -> Result<(), SimError> {
        let app = guard::guarded(routes, self.port);
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

/// All routes.
fn routes(models: ModelSet, deadline: Duration) -> Result<Router, SimError> {
    page_data::start(&models, Words::of(LANGUAGES[0].0)?)?;
    let many_threads = rayon::ThreadPoolBuilder::new()
        .build()
        .map_err(|e| SimError::Usage(format!("the page cannot be served: {e}")))?;
    let shared = Arc::new(Shared {
        answers: Answers::of(models)?,
        few_runs: Queue::new(MOST_CONNECTIONS, AT_ONCE),
        many_runs: Queue::new(MOST_SHEETS, SHEETS_AT_ONCE),
        deadline,
        many_threads,
    });
    Ok(Router::new()
        .route("/", get(document))
        .route("/start.json", get(beginning))
        .route("/answer", post(question))
        .route("/result", post(question))
        .route("/curve", post(question))
        .route("/next", post(question))
        .route("/sheet", get(sheet))
        .fallback(file)
        .with_state(shared))
}

/// The page in a language.
async fn document(Query(AskLanguage { lang }): Query<AskLanguage>) -> Response {
    match Words::of(&lang) {
        Ok(words) => typed(HTML, words.document(assets::DOCUMENT)),
        Err(e) => (StatusCode::BAD_REQUEST, format!("{e}\n")).into_response(),
    }
}

/// Everything that the page needs before its first question.
async fn beginning(
    State(s): State<Arc<Shared>>,
    Query(AskLanguage { lang }): Query<AskLanguage>,
) -> Response {
    match Words::of(&lang).and_then(|w| Ok(w.answer(page_data::start(&s.answers.models, w)?))) {
        Ok(start) => json_text(StatusCode::OK, start.to_string()),
        Err(e) => refusal(StatusCode::BAD_REQUEST, &e.to_string()),
    }
}

/// A file of the page, or 404.
async fn file(request: Request) -> Response {
    match (request.method().as_str(), assets::asset(request.uri().path())) {
        ("GET" | "HEAD", Some(a)) => typed(a.media, a.text.to_owned()),
        (_, Some(_)) => (StatusCode::METHOD_NOT_ALLOWED, "this is only read\n").into_response(),
        _ => (StatusCode::NOT_FOUND, "no such page\n").into_response(),
    }
}

/// Reads a question and answers it, in a queue: ranked steps need as many runs as a sheet, and so wait in that one.
async fn question(State(shared): State<Arc<Shared>>, uri: Uri, headers: HeaderMap, body: Bytes) -> Response {
    let media = headers.get(header::CONTENT_TYPE).and_then(|v| v.to_str().ok()).unwrap_or_default();
    if !media.split(';').next().is_some_and(|m| m.trim().eq_ignore_ascii_case("application/json")) {
        return refusal(
            StatusCode::UNSUPPORTED_MEDIA_TYPE,
            "a question is JSON: content-type application/json",
        );
    }
    let question = match Question::read(uri.path().trim_start_matches('/'), &body) {
        Ok(question) => question,
        Err(why) => return refusal(StatusCode::BAD_REQUEST, &why),
    };
    let own = Arc::clone(&shared);
    let many = matches!(question, Question::Next(_));
    let queue = if many { &shared.many_runs } else { &shared.few_runs };
    let work = move |deadline| {
        let work = || own.answers.until(deadline).to(&question);
        if many { own.many_threads.install(work) } else { work() }
    };
    match computed(queue, shared.deadline, work).await {
        Ok(text) => json_text(StatusCode::OK, text),
        Err((status, why)) => refusal(status, &why),
    }
}

/// The printable sheet of one leg. A person opens it in the browser, so an error is a page as well.
async fn sheet(
    State(shared): State<Arc<Shared>>,
    asked: Result<Query<AskSheet>, QueryRejection>,
) -> Response {
    let english = match Words::of(LANGUAGES[0].0) {
        Ok(words) => words,
        Err(e) => return (StatusCode::INTERNAL_SERVER_ERROR, e.to_string()).into_response(),
    };
    let Ok(Query(AskSheet { leg, lang })) = asked else {
        return no_sheet(StatusCode::BAD_REQUEST, "a sheet is asked for with ?leg=KEY=VALUE,…", english);
    };
    let words = match Words::of(&lang) {
        Ok(words) => words,
        Err(e) => return no_sheet(StatusCode::BAD_REQUEST, &e.to_string(), english),
    };
    let own = Arc::clone(&shared);
    let page = computed(&shared.many_runs, shared.deadline, move |deadline| {
        let made_by = words.filled("sheet.made_by_page", &[("leg", &leg)]);
        let models = own.answers.models.until(deadline);
        let sheet = own.many_threads.install(|| models.sheet(&leg)).map_err(|e| match e {
            SimError::Stopped => e,
            e => words.error(&e),
        })?;
        report::sheet::html(&sheet, &made_by, words)
    });
    match page.await {
        Ok(page) => {
            let policy = format!(
                "{}; base-uri 'none'; form-action 'none'; frame-ancestors 'none'",
                report::sheet::policy()
            );
            let mut response = typed(HTML, page);
            if let Ok(policy) = HeaderValue::from_str(&policy) {
                response.headers_mut().insert(header::CONTENT_SECURITY_POLICY, policy);
            }
            response
        }
        Err((status, why)) => no_sheet(status, &words.said(&why), words),
    }
}

/// Waits for a place in the queue and computes, both within the deadline. The work keeps its place until it has ended;
/// it is told the instant at which nobody waits for the result any more, and stops there.
async fn computed(
    queue: &Queue,
    deadline: Duration,
    work: impl FnOnce(Instant) -> Result<String, SimError> + Send + 'static,
) -> Result<String, (StatusCode, String)> {
    let late =
        |why: &str| Err((StatusCode::SERVICE_UNAVAILABLE, format!("{why}: too much is asked at once")));
    let Ok(_asked) = queue.asked.try_acquire() else { return late("others wait already") };
    let end = Instant::now() + deadline;
    let placed = async {
        let place = Arc::clone(&queue.computed).acquire_owned().await;
        // a panic in there is an error of this request only
        tokio::task::spawn_blocking(move || {
            let done = work(end);
            drop(place);
            done
        })
        .await
    };
    match tokio::time::timeout(deadline, placed).await {
        Ok(Ok(Ok(text))) => Ok(text),
        Ok(Ok(Err(SimError::Stopped))) | Err(_) => {
            late(&format!("this was not computed within {} s", deadline.as_secs()))
        }
        Ok(Ok(Err(e))) => Err((StatusCode::UNPROCESSABLE_ENTITY, e.to_string())),
        Ok(Err(_)) => Err((StatusCode::INTERNAL_SERVER_ERROR, "this could not be computed".into())),
    }
}
