//! What is answered: the page, its stream of states, its steps. Everything else is "not found", the same for all.

use super::ask::{Answer, Asked, Numbered, Permission};
use super::assets::asset;
use super::guard::Guard;
use super::limits::Limits;
use super::line::Line;
use super::token::Token;
use super::viewers::{Seat, Viewers};
use axum::body::{Body, Bytes};
use axum::extract::{DefaultBodyLimit, Extension, Path, Request, State};
use axum::http::{HeaderName, HeaderValue, StatusCode, header};
use axum::middleware::{Next, from_fn_with_state};
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::{get, post};
use axum::{Router, http};
use futures::stream;
use std::collections::VecDeque;
use std::convert::Infallible;
use std::net::IpAddr;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};
use tokio::sync::{Semaphore, mpsc, oneshot, watch};

/// Longest body of a request, bytes.
const LONGEST_BODY: usize = 4_096;
/// A body must have come by then.
const BODY_TIME: Duration = Duration::from_secs(5);
/// Answers kept for pages that ask the same again.
const ANSWERS_KEPT: usize = 64;
/// Wrong tokens that wait for their answer at once; more get none.
const WAITING: usize = 8;

/// What every request is answered from.
pub(super) struct Desk {
    pub(super) token: Token,
    pub(super) guard: Guard,
    pub(super) permission: Permission,
    pub(super) limits: Mutex<Limits>,
    pub(super) waiting: Semaphore,
    pub(super) viewers: Arc<Viewers>,
    pub(super) frames: watch::Receiver<Bytes>,
    pub(super) asked: mpsc::Sender<Asked>,
    /// Locked over a whole step: one at a time, and the same one only once.
    pub(super) answered: tokio::sync::Mutex<VecDeque<(String, Answer)>>,
}

impl Desk {
    pub(super) const fn most_waiting() -> usize {
        WAITING
    }

    fn limits(&self) -> MutexGuard<'_, Limits> {
        self.limits.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// The routes behind the guard.
pub(super) fn router(desk: Arc<Desk>) -> Router {
    Router::new()
        .route(
            "/{token}",
            get(|Path(token): Path<String>| async move { Redirect::permanent(&format!("{token}/")) }),
        )
        .route("/{token}/", get(|| async { file("") }))
        .route("/{token}/events", get(events))
        .route("/{token}/step", post(step))
        .route(
            "/{token}/{file}",
            get(|Path((_, name)): Path<(String, String)>| async move { file(&name) }),
        )
        .layer(DefaultBodyLimit::max(LONGEST_BODY))
        .layer(from_fn_with_state(Arc::clone(&desk), admit))
        .with_state(desk)
}

/// Rate, own address, token; then the headers that every answer has.
async fn admit(State(desk): State<Arc<Desk>>, request: Request, next: Next) -> Response {
    let mut response = match judge(&desk, &request) {
        Ok(()) => next.run(request).await,
        Err(Refusal::Now(status)) => status.into_response(),
        Err(Refusal::Guess(ip)) => guessed(&desk, ip).await.into_response(),
    };
    if response.status() == StatusCode::METHOD_NOT_ALLOWED {
        response = StatusCode::NOT_FOUND.into_response();
    }
    let headers = response.headers_mut();
    for (name, value) in HEADERS {
        headers.insert(HeaderName::from_static(name), HeaderValue::from_static(value));
    }
    response
}

/// Nothing from elsewhere, nothing to elsewhere, nothing kept.
const HEADERS: &[(&str, &str)] = &[
    (
        "content-security-policy",
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; base-uri 'none'; \
         form-action 'none'; frame-ancestors 'none'",
    ),
    ("referrer-policy", "no-referrer"),
    ("x-content-type-options", "nosniff"),
    ("cache-control", "no-store"),
    ("cross-origin-resource-policy", "same-origin"),
    ("cross-origin-opener-policy", "same-origin"),
    (
        "permissions-policy",
        "camera=(), microphone=(), geolocation=(), screen-wake-lock=(self), accelerometer=(self), \
         gyroscope=(self), magnetometer=(self)",
    ),
];

/// Why a request is not answered.
enum Refusal {
    /// At once.
    Now(StatusCode),
    /// After a while: the token is wrong.
    Guess(IpAddr),
}

fn judge(desk: &Desk, request: &Request) -> Result<(), Refusal> {
    let line = request.extensions().get::<Arc<Line>>();
    let ip = line.map(|l| l.ip).ok_or(Refusal::Now(StatusCode::NOT_FOUND))?;
    if !desk.limits().allows(ip, Instant::now()) {
        return Err(Refusal::Now(StatusCode::TOO_MANY_REQUESTS));
    }
    if !desk.guard.accepts(request.method(), request.headers()) {
        return Err(Refusal::Now(StatusCode::NOT_FOUND));
    }
    let offered = request.uri().path().split('/').nth(1).unwrap_or_default();
    if desk.token.matches(offered) {
        Ok(())
    } else {
        Err(Refusal::Guess(ip))
    }
}

/// The answer to a wrong token, late.
async fn guessed(desk: &Desk, ip: IpAddr) -> StatusCode {
    let Ok(_place) = desk.waiting.try_acquire() else {
        return StatusCode::TOO_MANY_REQUESTS;
    };
    let wait = desk.limits().wrong(ip, Instant::now());
    tokio::time::sleep(wait).await;
    StatusCode::NOT_FOUND
}

fn file(name: &str) -> Response {
    match asset(name) {
        Some(asset) => ([(header::CONTENT_TYPE, asset.kind)], asset.text).into_response(),
        None => StatusCode::NOT_FOUND.into_response(),
    }
}

/// The states as server-sent events. A slow viewer skips states, it does not queue them.
async fn events(State(desk): State<Arc<Desk>>, Extension(line): Extension<Arc<Line>>) -> Response {
    let Some(seat) = desk.viewers.admit(line.ip, Instant::now()) else {
        return (StatusCode::SERVICE_UNAVAILABLE, "too many pages are open").into_response();
    };
    let mut frames = desk.frames.clone();
    frames.mark_changed();
    let frames = stream::unfold((frames, seat, line), next_frame);
    let kind = [(header::CONTENT_TYPE, "text/event-stream")];
    (kind, Body::from_stream(frames)).into_response()
}

type Watching = (watch::Receiver<Bytes>, Seat, Arc<Line>);

async fn next_frame((mut frames, seat, line): Watching) -> Option<(Result<Bytes, Infallible>, Watching)> {
    line.waits();
    frames.changed().await.ok()?;
    let frame = frames.borrow_and_update().clone();
    line.took(Instant::now());
    Some((Ok(frame), (frames, seat, line)))
}

/// A step: checked here, carried out by the owner of the session, answered in words.
async fn step(State(desk): State<Arc<Desk>>, request: Request) -> Response {
    let json = HeaderValue::from_static("application/json");
    if request.headers().get(header::CONTENT_TYPE) != Some(&json) {
        return StatusCode::UNSUPPORTED_MEDIA_TYPE.into_response();
    }
    let body = axum::body::to_bytes(request.into_body(), LONGEST_BODY);
    let Ok(Ok(body)) = tokio::time::timeout(BODY_TIME, body).await else {
        return StatusCode::PAYLOAD_TOO_LARGE.into_response();
    };
    let Ok(Numbered { id, ask }) = serde_json::from_slice(&body) else {
        return StatusCode::BAD_REQUEST.into_response();
    };
    if let Err(why) = ask.check(desk.permission) {
        return (StatusCode::FORBIDDEN, why).into_response();
    }
    let mut answered = desk.answered.lock().await;
    if let Some((_, answer)) = answered.iter().find(|(known, _)| *known == id) {
        return said(answer);
    }
    let (answer, reply) = oneshot::channel();
    let Ok(()) = desk.asked.send(Asked { ask, answer }).await else {
        return StatusCode::GONE.into_response();
    };
    let Ok(answer) = reply.await else {
        return StatusCode::GONE.into_response();
    };
    let response = said(&answer);
    answered.push_back((id, answer));
    if answered.len() > ANSWERS_KEPT {
        answered.pop_front();
    }
    response
}

fn said(answer: &Answer) -> Response {
    let kind = [(header::CONTENT_TYPE, "text/plain; charset=utf-8")];
    match answer {
        Ok(text) => (kind, text.clone()).into_response(),
        Err(why) => (http::StatusCode::CONFLICT, kind, why.clone()).into_response(),
    }
}
