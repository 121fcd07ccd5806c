//! What every request passes: id and log, concurrency limit, deadline, fixed headers; the quota of a key; the answer to a panic
//! that [`super::router`] catches.

use super::problem::{self, Cause, Problem};
use crate::app::AppState;
use crate::compute::wanted::Wanted;
use axum::extract::rejection::RawPathParamsRejection;
use axum::extract::{MatchedPath, RawPathParams, Request, State};
use axum::http::{HeaderName, HeaderValue, Method, Version, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use std::cell::Cell;
use std::future::Future;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, OnceLock};
use std::time::Instant;

/// What is known of the request being answered, wherever it is answered.
struct Answering {
    id: String,
    /// Id of the key, once it has been checked.
    key: Arc<OnceLock<String>>,
    /// What it waits for, where that is not its own work.
    waits: Cell<Option<Wait>>,
    /// Dropped with the request, answered or given up: then nobody waits for what is computed for it.
    waiting: Waiting,
}

/// Whoever waits for the answer; when it is dropped, nobody does any more.
#[derive(Default)]
struct Waiting(Arc<AtomicBool>);

impl Drop for Waiting {
    fn drop(&mut self) {
        self.0.store(true, Ordering::Relaxed);
    }
}

/// What a request can wait for while nothing of it is done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Wait {
    /// A place to compute in.
    Place,
    /// Its body, which the client has not sent.
    Body,
}

tokio::task_local! {
    static ANSWERING: Answering;
}

/// Id of the request being answered.
pub fn current_request_id() -> String {
    ANSWERING.try_with(|a| a.id.clone()).unwrap_or_else(|_| "none".to_owned())
}

/// Tells the log whose request it is.
pub(super) fn asked_by(key_id: &str) {
    // Outside a request there is no log of it either.
    let _ = ANSWERING.try_with(|a| a.key.set(key_id.to_owned()));
}

/// Whether the client of the request being answered still waits; outside a request it always does.
pub(super) fn wanted() -> Wanted {
    let over = ANSWERING.try_with(|a| Arc::clone(&a.waiting.0));
    over.map_or_else(
        |_| Wanted::default(),
        |over| Wanted::while_waiting(move || !over.load(Ordering::Relaxed)),
    )
}

/// Waits for a place among the computations; a deadline that passes meanwhile tells that the service is busy.
pub(super) async fn waiting_for_a_place<T>(place: impl Future<Output = T>) -> T {
    waiting(Wait::Place, place).await
}

/// Waits for the body of the request; a deadline that passes meanwhile tells that the client is slow.
pub(super) async fn waiting_for_the_body<T>(body: impl Future<Output = T>) -> T {
    waiting(Wait::Body, body).await
}

async fn waiting<T>(what: Wait, until: impl Future<Output = T>) -> T {
    // Outside a request there is no deadline either.
    let waits = |now: Option<Wait>| ANSWERING.try_with(|a| a.waits.set(now)).unwrap_or_default();
    waits(Some(what));
    let come = until.await;
    waits(None);
    come
}

/// Takes the trace id of a valid `traceparent`, else makes one.
fn request_id(request: &Request) -> String {
    let given = request.headers().get("traceparent").and_then(|v| v.to_str().ok()).and_then(|text| {
        let mut parts = text.split('-');
        let (version, trace, parent, flags) = (parts.next()?, parts.next()?, parts.next()?, parts.next()?);
        let hex = |t: &str, n: usize| {
            t.len() == n && t.bytes().all(|b| b.is_ascii_digit() || (b'a'..=b'f').contains(&b))
        };
        let named = |t: &str, n: usize| hex(t, n) && t.bytes().any(|b| b != b'0');
        // Versions to come may say more after the flags; this one does not.
        let ends = version != "00" || parts.next().is_none();
        let sound =
            hex(version, 2) && version != "ff" && named(trace, 32) && named(parent, 16) && hex(flags, 2);
        (sound && ends).then(|| trace.to_owned())
    });
    given.unwrap_or_else(fresh_id)
}

/// An id of our own.
pub(super) fn fresh_id() -> String {
    format!("{:032x}", rand::random::<u128>())
}

/// Outermost: gives the request its id, sheds load, sets the deadline, logs one event.
pub async fn outer(State(state): State<AppState>, request: Request, next: Next) -> Response {
    let event = Event::of(&state, &request);
    let answering = Answering {
        id: event.id.clone(),
        key: Arc::clone(&event.key_id),
        waits: Cell::new(None),
        waiting: Waiting::default(),
    };
    let response = ANSWERING
        .scope(answering, async {
            // A busy service is alive: whoever watches it must not restart it for being busy.
            let watched = matches!(event.route.as_str(), "/livez" | "/readyz");
            if !names_its_host(&request) {
                let detail = "a request of HTTP/1.1 names its host, once (RFC 9112, section 3.2)";
                return Problem::new(problem::NOT_HTTP, detail).into_response();
            }
            let permit = state.inner.concurrency.try_acquire();
            if permit.is_err() && !watched {
                return Problem::new(problem::OVERLOADED, "too many requests at once")
                    .header(header::RETRY_AFTER, "1")
                    .into_response();
            }
            match tokio::time::timeout(state.inner.config.deadline, next.run(request)).await {
                Ok(response) => response,
                Err(_) => past_the_deadline(ANSWERING.with(|a| a.waits.get())).into_response(),
            }
        })
        .await;
    let response = fixed_headers(response);
    event.answered(&response);
    response
}

/// The deadline has passed while the request waited for this, or for its own work.
fn past_the_deadline(waits: Option<Wait>) -> Problem {
    match waits {
        Some(Wait::Place) => {
            let detail = "the deadline passed while long computations of other requests were running";
            Problem::new(problem::OVERLOADED, detail).header(header::RETRY_AFTER, "5")
        }
        Some(Wait::Body) => {
            let detail = "the deadline passed before the whole body had come; the connection is closed";
            Problem::new(problem::BODY_TOO_SLOW, detail).header(header::CONNECTION, "close")
        }
        None => Problem::new(problem::DEADLINE, "the deadline passed before the answer was ready")
            .header(header::RETRY_AFTER, "5"),
    }
}

fn names_its_host(request: &Request) -> bool {
    let mut hosts = request.headers().get_all(header::HOST).iter();
    match (hosts.next(), hosts.next()) {
        (Some(_), None) => true,
        (None, _) => request.version() != Version::HTTP_11,
        (Some(_), Some(_)) => false,
    }
}

/// The one event of a request: told when it is answered, or when nobody waits for its answer any more. What it should write may have
/// been written then all the same, so it must be in the log.
struct Event {
    state: AppState,
    id: String,
    method: Method,
    route: String,
    key_id: Arc<OnceLock<String>>,
    started: Instant,
    told: bool,
}

impl Event {
    fn of(state: &AppState, request: &Request) -> Self {
        let route = request.extensions().get::<MatchedPath>();
        Self {
            state: state.clone(),
            id: request_id(request),
            method: request.method().clone(),
            route: route.map_or("unmatched".to_owned(), |p| p.as_str().to_owned()),
            key_id: Arc::default(),
            started: Instant::now(),
            told: false,
        }
    }

    fn elapsed_us(&self) -> u64 {
        u64::try_from(self.started.elapsed().as_micros()).unwrap_or(u64::MAX)
    }

    fn key_id(&self) -> &str {
        self.key_id.get().map_or("", String::as_str)
    }

    fn answered(mut self, response: &Response) {
        self.told = true;
        let (elapsed_us, key_id) = (self.elapsed_us(), self.key_id());
        let Self { id, method, route, .. } = &self;
        let status = response.status().as_u16();
        match response.extensions().get::<Cause>() {
            Some(cause) => {
                tracing::error!(request_id = %id, %method, route, status, elapsed_us, key_id, cause = %cause.0, "request failed");
            }
            None => {
                tracing::info!(request_id = %id, %method, route, status, elapsed_us, key_id, "request answered")
            }
        }
    }
}

impl Drop for Event {
    fn drop(&mut self) {
        if self.told {
            return;
        }
        let (elapsed_us, key_id) = (self.elapsed_us(), self.key_id());
        let Self { id, method, route, .. } = &*self;
        if self.state.inner.draining.load(Ordering::SeqCst) {
            tracing::warn!(request_id = %id, %method, route, elapsed_us, key_id, "request cut off while stopping");
        } else {
            tracing::info!(request_id = %id, %method, route, elapsed_us, key_id, "request given up by its client");
        }
    }
}

/// What every answer says, whatever it is.
pub(super) const FIXED: [(HeaderName, &str); 3] = [
    (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
    (header::X_FRAME_OPTIONS, "DENY"),
    (header::REFERRER_POLICY, "no-referrer"),
];

fn fixed_headers(mut response: Response) -> Response {
    let headers = response.headers_mut();
    for (name, value) in FIXED {
        headers.insert(name, HeaderValue::from_static(value));
    }
    if !headers.contains_key(header::CACHE_CONTROL) {
        headers.insert(header::CACHE_CONTROL, HeaderValue::from_static("private, no-cache"));
    }
    response
}

/// The answer to a panic: clean outside, told in the log.
pub fn panicked(panic: Box<dyn std::any::Any + Send + 'static>) -> Response {
    let text = panic
        .downcast_ref::<String>()
        .cloned()
        .or_else(|| panic.downcast_ref::<&str>().map(|s| (*s).to_owned()))
        .unwrap_or_else(|| "panic".to_owned());
    Problem::internal(format!("panic: {text}")).into_response()
}

/// In front of an operation without a body: what is sent all the same would be lost without a word. `{}` says nothing.
pub async fn without_body(request: Request, next: Next) -> Response {
    let (parts, body) = request.into_parts();
    let said = match waiting_for_the_body(axum::body::to_bytes(body, 64)).await {
        Ok(bytes) => !matches!(bytes.trim_ascii(), b"" | b"{}"),
        Err(_) => true,
    };
    if said {
        let detail = "this operation reads no body; what can be asked for is asked for by query parameters";
        return Problem::new(problem::NO_BODY_HERE, detail).into_response();
    }
    next.run(Request::from_parts(parts, axum::body::Body::empty())).await
}

/// Nothing at this path.
pub async fn not_found() -> Problem {
    Problem::new(problem::NOT_FOUND, "no route of this service has this path; /docs lists them all")
}

/// A path whose parts are no UTF-8 names nothing, like any other that nothing has.
pub async fn readable_path(
    parts: Result<RawPathParams, RawPathParamsRejection>,
    request: Request,
    next: Next,
) -> Response {
    match parts {
        Err(RawPathParamsRejection::InvalidUtf8InPathParam(_)) => {
            Problem::new(problem::NOT_FOUND, "the path is not UTF-8 text, so nothing can have it")
                .into_response()
        }
        _ => next.run(request).await,
    }
}

/// Right path, wrong method; axum adds `Allow`.
pub async fn wrong_method() -> Problem {
    Problem::new(problem::WRONG_METHOD, "this path exists, but not for this method")
}

/// Counts the requests of a key: a bucket that refills evenly over a minute.
#[derive(Debug, Default)]
pub struct Quota {
    buckets: std::sync::Mutex<std::collections::HashMap<String, (f64, Instant)>>,
}

impl Quota {
    /// Takes one request of `per_minute`, if there is one.
    pub fn take(&self, key: &str, per_minute: u32, now: Instant) -> Taken {
        let quota = f64::from(per_minute);
        let mut buckets = self.buckets.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
        if buckets.len() > 10_000 {
            buckets.retain(|_, (_, at)| now.duration_since(*at).as_secs() < 60);
        }
        let (left, at) = buckets.entry(key.to_owned()).or_insert((quota, now));
        *left = (*left + now.duration_since(*at).as_secs_f64() * quota / 60.0).min(quota);
        *at = now;
        let granted = *left >= 1.0;
        if granted {
            *left -= 1.0;
        }
        Taken { granted, left: *left as u32, wait: ((1.0 - left.fract()) * 60.0 / quota).ceil() as u64 }
    }
}

/// Whether a request was within the quota, and what the key may ask then.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Taken {
    /// Whether there was one to take.
    pub granted: bool,
    /// Requests left.
    pub left: u32,
    /// Seconds until there is one more, rounded up.
    pub wait: u64,
}

impl Taken {
    /// The headers that tell it.
    pub fn headers(self, per_minute: u32) -> [(HeaderName, String); 2] {
        let Taken { granted: _, left, wait } = self;
        [
            (RATE_POLICY, format!("\"perkey\";q={per_minute};w=60")),
            (RATE, format!("\"perkey\";r={left};t={wait}")),
        ]
    }
}

/// Name of the policy header.
const RATE_POLICY: HeaderName = HeaderName::from_static("ratelimit-policy");
/// Name of the remaining-quota header.
const RATE: HeaderName = HeaderName::from_static("ratelimit");

#[cfg(test)]
mod tests {
    use super::*;
    use std::time::Duration;

    #[test]
    fn a_key_is_told_when_it_may_ask_once_more() {
        let (quota, start) = (Quota::default(), Instant::now());
        let at = |seconds: u64| quota.take("a", 5, start + Duration::from_secs(seconds));
        for left in [4, 3, 2, 1, 0] {
            assert_eq!(at(0), Taken { granted: true, left, wait: 12 });
        }
        assert_eq!(at(0), Taken { granted: false, left: 0, wait: 12 });
        assert_eq!(at(5), Taken { granted: false, left: 0, wait: 7 });
        assert_eq!(at(12), Taken { granted: true, left: 0, wait: 12 });
        assert_eq!(at(33), Taken { granted: true, left: 0, wait: 3 });
        assert_eq!(at(300), Taken { granted: true, left: 4, wait: 12 });
        assert_eq!(quota.take("b", 600, start), Taken { granted: true, left: 599, wait: 1 });
    }
}
