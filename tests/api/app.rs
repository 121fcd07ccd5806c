//! The service with the demo loaded, driven in process.

use axum::Router;
use axum::body::Body;
use axum::http::{HeaderMap, Method, Request, StatusCode, header};
use rillcast::app::AppState;
use rillcast::config::Config;
use rillcast::http::auth::{Scope, create_key};
use serde_json::Value;
use std::path::Path;
use tower::ServiceExt as _;

pub(crate) struct TestApp {
    pub(crate) state: AppState,
    pub(crate) router: Router,
    pub(crate) key: String,
    pub(crate) job: String,
    pub(crate) folder: tempfile::TempDir,
}

#[derive(Debug)]
pub(crate) struct Answer {
    pub(crate) status: StatusCode,
    pub(crate) headers: HeaderMap,
    pub(crate) text: String,
}

impl Answer {
    pub(crate) fn json(&self) -> Value {
        serde_json::from_str(&self.text).unwrap_or_else(|e| panic!("{e}: {}", self.text))
    }

    pub(crate) fn header(&self, name: &str) -> &str {
        self.headers.get(name).unwrap_or_else(|| panic!("no {name} in {:?}", self.headers)).to_str().unwrap()
    }

    #[track_caller]
    pub(crate) fn expect(self, status: u16) -> Answer {
        assert_eq!(self.status.as_u16(), status, "{}", self.text);
        self
    }

    /// The answer is a problem of this status and keeps the inside inside.
    #[track_caller]
    pub(crate) fn problem(self, status: u16) -> Answer {
        let answer = self.expect(status);
        assert_eq!(answer.header("content-type"), "application/problem+json");
        let body = answer.json();
        assert_eq!(body["status"], status);
        let slug = body["type"].as_str().unwrap().strip_prefix("/problems/").unwrap().to_owned();
        assert!(rillcast::http::problem::KINDS.iter().any(|k| k.slug == slug), "{slug}");
        assert!(body["instance"].as_str().unwrap().starts_with("/requests/"));
        assert!(!body["detail"].as_str().unwrap().is_empty());
        for inside in ["src/", ".rs", "SELECT", "panicked", "sqlx"] {
            assert!(!answer.text.contains(inside), "{inside} in {}", answer.text);
        }
        match status {
            401 => assert!(answer.header("www-authenticate").starts_with("Bearer")),
            405 => assert!(!answer.header("allow").is_empty()),
            415 => assert!(!answer.header("accept").is_empty()),
            429 | 503 => assert!(answer.header("retry-after").parse::<u64>().is_ok()),
            _ => {}
        }
        answer
    }
}

pub(crate) fn config(folder: &Path) -> Config {
    Config { database: folder.join("test.sqlite"), requests_per_minute: 0, ..Config::default() }
}

impl TestApp {
    pub(crate) async fn new() -> TestApp {
        Self::with(|_| (), Router::new()).await
    }

    pub(crate) async fn with(change: impl FnOnce(&mut Config), more: Router<AppState>) -> TestApp {
        let folder = tempfile::tempdir().unwrap();
        let mut config = config(folder.path());
        change(&mut config);
        let state = AppState::open(config).await.unwrap();
        let loaded = rillcast::demo::load(&state).await.unwrap();
        let router = rillcast::http::router_with(state.clone(), more);
        TestApp { state, router, key: loaded.key, job: loaded.job, folder }
    }

    pub(crate) async fn key(&self, scopes: &[Scope]) -> String {
        create_key(&self.state.inner.store, "test", scopes, false).await.unwrap()
    }

    pub(crate) async fn send(&self, request: Request<Body>) -> Answer {
        let response = self.router.clone().oneshot(request).await.unwrap();
        let (parts, body) = response.into_parts();
        let bytes = axum::body::to_bytes(body, usize::MAX).await.unwrap();
        Answer {
            status: parts.status,
            headers: parts.headers,
            text: String::from_utf8(bytes.to_vec()).unwrap(),
        }
    }

    pub(crate) fn request(&self, method: &str, path: &str) -> axum::http::request::Builder {
        Request::builder()
            .method(Method::from_bytes(method.as_bytes()).unwrap())
            .uri(path)
            .header(header::AUTHORIZATION, format!("Bearer {}", self.key))
    }

    pub(crate) async fn get(&self, path: &str) -> Answer {
        self.send(self.request("GET", path).body(Body::empty()).unwrap()).await
    }

    pub(crate) async fn post(&self, path: &str, body: &Value) -> Answer {
        self.post_with(path, body, &[]).await
    }

    pub(crate) async fn post_with(&self, path: &str, body: &Value, headers: &[(&str, &str)]) -> Answer {
        let mut request = self.request("POST", path).header("content-type", "application/json");
        for (name, value) in headers {
            request = request.header(*name, *value);
        }
        self.send(request.body(Body::from(body.to_string())).unwrap()).await
    }

    pub(crate) async fn post_empty(&self, path: &str, headers: &[(&str, &str)]) -> Answer {
        let mut request = self.request("POST", path);
        for (name, value) in headers {
            request = request.header(*name, *value);
        }
        self.send(request.body(Body::empty()).unwrap()).await
    }

    pub(crate) async fn patch(&self, path: &str, body: &Value, headers: &[(&str, &str)]) -> Answer {
        let mut request = self.request("PATCH", path).header("content-type", "application/merge-patch+json");
        for (name, value) in headers {
            request = request.header(*name, *value);
        }
        self.send(request.body(Body::from(body.to_string())).unwrap()).await
    }

    /// Ids of every kind of record, for paths.
    pub(crate) async fn path(&self, template: &str) -> String {
        if template.starts_with("/v1/jobs") {
            return template.replace("{id}", &self.job);
        }
        let books = self.get("/v1/price-books").await.json();
        if template.starts_with("/v1/price-books") {
            return template.replace("{id}", books["items"][0]["id"].as_str().unwrap());
        }
        if template.starts_with("/v1/price-book-versions") {
            return template.replace("{id}", books["items"][0]["versions"][0]["id"].as_str().unwrap());
        }
        if template.starts_with("/v1/estimates") {
            let made =
                self.post_empty(&format!("/v1/jobs/{}/estimates", self.job), &[]).await.expect(201).json();
            return template.replace("{id}", made["id"].as_str().unwrap());
        }
        template.to_owned()
    }
}

/// Every operation of the document: method, path template, operation id.
pub(crate) fn operations() -> Vec<(String, String, String)> {
    let document: Value = serde_json::to_value(rillcast::http::openapi::build()).unwrap();
    let mut out = Vec::new();
    for (path, item) in document["paths"].as_object().unwrap() {
        for (method, operation) in item.as_object().unwrap() {
            out.push((
                method.to_uppercase(),
                path.clone(),
                operation["operationId"].as_str().unwrap().to_owned(),
            ));
        }
    }
    out
}
