//! A service over a temporary file, and requests to it.

use axum::Router;
use axum::body::Body;
use axum::http::{HeaderMap, HeaderName, HeaderValue, Method, Request, StatusCode};
use rillcast::app::AppState;
use rillcast::config::Config;
use rillcast::http::auth::{Scope, create_key};
use rillcast::http::problem::KINDS;
use serde_json::Value;
use std::sync::Arc;
use tempfile::TempDir;
use tower::ServiceExt as _;

/// The service with the demo book and job in it.
pub(crate) struct TestApp {
    pub(crate) state: AppState,
    pub(crate) router: Router,
    /// A key with every scope.
    pub(crate) key: String,
    /// The demo job.
    pub(crate) job: String,
    directory: Arc<TempDir>,
}

fn config(directory: &TempDir) -> Config {
    // Sweeps ask more than 600 times a minute; the quota has a test of its own.
    Config {
        database: directory.path().join("test.sqlite"),
        requests_per_minute: 1_000_000,
        ..Config::default()
    }
}

impl TestApp {
    pub(crate) async fn start() -> Self {
        Self::start_with(|_| {}).await
    }

    pub(crate) async fn start_with(change: impl FnOnce(&mut Config)) -> Self {
        Self::start_serving(change, Router::new()).await
    }

    /// With further routes.
    pub(crate) async fn start_serving(change: impl FnOnce(&mut Config), more: Router<AppState>) -> Self {
        let directory = Arc::new(tempfile::tempdir().unwrap());
        let mut config = config(&directory);
        change(&mut config);
        let state = AppState::open(config).await.unwrap();
        let loaded = rillcast::demo::load(&state).await.unwrap();
        let router = rillcast::http::router_with(state.clone(), more);
        Self { state, router, key: loaded.key, job: loaded.job, directory }
    }

    /// The same file opened anew, as after an orderly restart.
    pub(crate) async fn restart(self) -> Self {
        self.state.inner.store.close().await;
        self.restart_dropping(()).await
    }

    /// The same file opened anew without closing it first, as after a crash; `unfinished` goes down with the rest.
    pub(crate) async fn restart_dropping<T>(self, unfinished: T) -> Self {
        let Self { state, router, key, job, directory } = self;
        drop(router);
        drop(state);
        drop(unfinished);
        let state = AppState::open(config(&directory)).await.unwrap();
        let router = rillcast::http::router(state.clone());
        Self { state, router, key, job, directory }
    }

    pub(crate) async fn key_with(&self, scopes: &[Scope]) -> String {
        create_key(&self.state.inner.store, "test", scopes, false).await.unwrap()
    }

    pub(crate) async fn get(&self, path: &str) -> Answer {
        self.send(Ask::get(path).key(&self.key)).await
    }

    pub(crate) async fn post(&self, path: &str, body: &Value) -> Answer {
        self.send(Ask::post(path).key(&self.key).json(body)).await
    }

    /// A merge patch under the given tag.
    pub(crate) async fn patch(&self, path: &str, if_match: &str, body: &Value) -> Answer {
        self.send(Ask::patch(path, body).key(&self.key).header("if-match", if_match)).await
    }

    /// A POST without body under the given tag.
    pub(crate) async fn act(&self, path: &str, if_match: &str) -> Answer {
        self.send(Ask::post(path).key(&self.key).header("if-match", if_match)).await
    }

    pub(crate) async fn send(&self, ask: Ask) -> Answer {
        send(self.router.clone(), ask).await
    }

    /// All records of a list, through its pages.
    pub(crate) async fn all(&self, path: &str) -> Vec<Value> {
        let joint = if path.contains('?') { '&' } else { '?' };
        let mut out = Vec::new();
        let mut next = format!("{path}{joint}limit=200");
        loop {
            let page = self.get(&next).await.ok(200).json();
            out.extend(page["items"].as_array().unwrap().iter().cloned());
            match page["next_cursor"].as_str() {
                Some(cursor) => next = format!("{path}{joint}limit=200&cursor={cursor}"),
                None => return out,
            }
        }
    }

    /// How many jobs, books, versions of every book, estimates of every job and audit entries there are.
    pub(crate) async fn counts(&self) -> [usize; 5] {
        let jobs = self.all("/v1/jobs").await;
        let books = self.all("/v1/price-books").await;
        let mut counts = [jobs.len(), books.len(), 0, 0, self.all("/v1/audit").await.len()];
        for book in &books {
            counts[2] += self.all(&format!("/v1/price-books/{}/versions", text(book, "id"))).await.len();
        }
        for job in &jobs {
            counts[3] += self.all(&format!("/v1/jobs/{}/estimates", text(job, "id"))).await.len();
        }
        counts
    }
}

pub(crate) async fn send(router: Router, ask: Ask) -> Answer {
    let line = format!("{} {}", ask.method, ask.path);
    let response = router.oneshot(ask.request()).await.unwrap();
    let (parts, body) = response.into_parts();
    let bytes = axum::body::to_bytes(body, usize::MAX).await.unwrap().to_vec();
    Answer { line, status: parts.status, headers: parts.headers, bytes }
}

/// Pointer and code of every fault of a problem.
#[track_caller]
pub(crate) fn faults_in(problem: &Value) -> Vec<(String, String)> {
    problem["errors"].as_array().unwrap().iter().map(|e| (text(e, "pointer"), text(e, "code"))).collect()
}

/// A fault alone.
pub(crate) fn fault(pointer: &str, code: &str) -> Vec<(String, String)> {
    vec![(pointer.to_owned(), code.to_owned())]
}

/// A member that must be a string.
#[track_caller]
pub(crate) fn text(value: &Value, member: &str) -> String {
    match value[member].as_str() {
        Some(text) => text.to_owned(),
        None => panic!("no text `{member}` in {value}"),
    }
}

/// A request to send.
#[derive(Clone)]
pub(crate) struct Ask {
    pub(crate) method: Method,
    pub(crate) path: String,
    pub(crate) headers: HeaderMap,
    pub(crate) body: Vec<u8>,
    chunked: bool,
}

impl Ask {
    pub(crate) fn new(method: Method, path: &str) -> Self {
        Self { method, path: path.to_owned(), headers: HeaderMap::new(), body: Vec::new(), chunked: false }
    }

    pub(crate) fn get(path: &str) -> Self {
        Self::new(Method::GET, path)
    }

    pub(crate) fn post(path: &str) -> Self {
        Self::new(Method::POST, path)
    }

    pub(crate) fn patch(path: &str, body: &Value) -> Self {
        Self::new(Method::PATCH, path).typed("application/merge-patch+json", body.to_string())
    }

    pub(crate) fn header(mut self, name: &str, value: &str) -> Self {
        self.headers
            .insert(HeaderName::try_from(name).unwrap(), HeaderValue::from_bytes(value.as_bytes()).unwrap());
        self
    }

    /// A further line of a header that may be there already.
    pub(crate) fn line(mut self, name: &str, value: &str) -> Self {
        let value = HeaderValue::from_bytes(value.as_bytes()).unwrap();
        self.headers.append(HeaderName::try_from(name).unwrap(), value);
        self
    }

    pub(crate) fn key(self, key: &str) -> Self {
        self.header("authorization", &format!("Bearer {key}"))
    }

    pub(crate) fn json(self, body: &Value) -> Self {
        self.typed("application/json", body.to_string())
    }

    pub(crate) fn typed(mut self, media: &str, body: impl Into<Vec<u8>>) -> Self {
        self.body = body.into();
        self.header("content-type", media)
    }

    /// Sent in pieces, without `Content-Length`.
    pub(crate) fn chunked(mut self) -> Self {
        self.chunked = true;
        self
    }

    fn request(self) -> Request<Body> {
        let mut request = Request::builder().method(self.method).uri(&self.path).body(Body::empty()).unwrap();
        *request.headers_mut() = self.headers;
        request.headers_mut().insert("host", HeaderValue::from_static("localhost"));
        if self.chunked {
            let pieces: Vec<Result<Vec<u8>, std::io::Error>> =
                self.body.chunks(64 * 1024).map(|c| Ok(c.to_vec())).collect();
            *request.body_mut() = Body::from_stream(tokio_stream::iter(pieces));
        } else {
            if !self.body.is_empty() {
                let length = HeaderValue::from(self.body.len());
                request.headers_mut().insert("content-length", length);
            }
            *request.body_mut() = Body::from(self.body);
        }
        request
    }
}

/// An answer, with checks that name the request when they fail.
pub(crate) struct Answer {
    pub(crate) line: String,
    pub(crate) status: StatusCode,
    pub(crate) headers: HeaderMap,
    pub(crate) bytes: Vec<u8>,
}

impl Answer {
    pub(crate) fn text(&self) -> String {
        String::from_utf8_lossy(&self.bytes).into_owned()
    }

    #[track_caller]
    pub(crate) fn json(&self) -> Value {
        serde_json::from_slice(&self.bytes).unwrap_or_else(|e| panic!("{}: {e}: {}", self.line, self.text()))
    }

    #[track_caller]
    pub(crate) fn ok(self, status: u16) -> Self {
        assert_eq!(self.status.as_u16(), status, "{}: {}", self.line, self.text());
        self
    }

    #[track_caller]
    pub(crate) fn header(&self, name: &str) -> String {
        match self.headers.get(name) {
            Some(value) => value.to_str().unwrap().to_owned(),
            None => panic!("{}: no header {name} on {}", self.line, self.status),
        }
    }

    #[track_caller]
    pub(crate) fn etag(&self) -> String {
        self.header("etag")
    }

    /// A well-formed problem of one kind.
    #[track_caller]
    pub(crate) fn problem(self, status: u16, slug: &str) -> Value {
        let body = self.any_problem();
        assert_eq!(
            (body["status"].as_u64(), body["type"].as_str()),
            (Some(u64::from(status)), Some(format!("/problems/{slug}").as_str())),
            "{}: {body}",
            self.line
        );
        body
    }

    /// What every answer that is no success must be.
    #[track_caller]
    pub(crate) fn any_problem(&self) -> Value {
        let line = &self.line;
        let status = self.status.as_u16();
        assert!(status >= 400, "{line}: expected a refusal, got {status}: {}", self.text());
        assert_eq!(
            self.header("content-type"),
            "application/problem+json",
            "{line} {status}: {}",
            self.text()
        );
        let body = self.json();
        assert_eq!(body["status"].as_u64(), Some(u64::from(status)), "{line}: {body}");
        let kind = text(&body, "type");
        let known = KINDS.iter().find(|k| format!("/problems/{}", k.slug) == kind);
        let known = known.unwrap_or_else(|| panic!("{line}: {kind} is not listed at /problems"));
        assert_eq!((known.status, known.title), (status, body["title"].as_str().unwrap()), "{line}");
        assert!(!text(&body, "detail").is_empty(), "{line}");
        let instance = text(&body, "instance");
        let id = instance.strip_prefix("/requests/").unwrap_or_else(|| panic!("{line}: instance {instance}"));
        assert!(id.len() == 32 && id.bytes().all(|b| b.is_ascii_hexdigit()), "{line}: instance {instance}");
        for leak in ["src/", ".rs", "SELECT", "INSERT", "panicked", "sqlx", "serde"] {
            assert!(!self.text().contains(leak), "{line}: `{leak}` in {body}");
        }
        match status {
            401 => {
                assert!(self.header("www-authenticate").starts_with("Bearer realm=\"rillcast\""), "{line}")
            }
            403 => assert!(self.header("www-authenticate").contains("insufficient_scope"), "{line}"),
            405 => assert!(!self.header("allow").is_empty(), "{line}"),
            415 => assert!(!self.header("accept").is_empty(), "{line}"),
            429 | 503 => assert!(self.header("retry-after").parse::<u32>().unwrap() > 0, "{line}"),
            _ => {}
        }
        body
    }

    /// Pointers of the faults, sorted.
    #[track_caller]
    pub(crate) fn pointers(self) -> Vec<String> {
        let body = self.problem(422, "validation-failed");
        let mut list: Vec<String> =
            body["errors"].as_array().unwrap().iter().map(|e| text(e, "pointer")).collect();
        list.sort();
        list
    }
}
