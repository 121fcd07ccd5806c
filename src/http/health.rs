//! Health and the documentation of problems. No key needed.

use super::problem::{self, KINDS, Problem};
use super::reply;
use crate::app::AppState;
use crate::store::StoreError;
use axum::extract::{Path, State};
use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use std::sync::atomic::Ordering;
use std::time::Duration;

/// The process is up. Touches nothing.
pub async fn live() -> Response {
    plain("live")
}

/// The database answers and takes writes, its schema is current, and the service is not stopping.
pub async fn ready(State(state): State<AppState>) -> Result<Response, Problem> {
    let not_ready = |why: &str| Problem::new(problem::OVERLOADED, why).header(header::RETRY_AFTER, "2");
    if state.inner.draining.load(Ordering::SeqCst) {
        return Err(not_ready("the service is stopping"));
    }
    let asked = async {
        state.inner.store.ping().await?;
        let is_current = state.inner.store.is_current().await?;
        state.inner.store.writable().await?;
        Ok::<bool, StoreError>(is_current)
    };
    match tokio::time::timeout(Duration::from_secs(1), asked).await {
        Ok(Ok(true)) => Ok(plain("ready")),
        Ok(Ok(false)) => Err(not_ready("the database schema is not that of this build")),
        Ok(Err(StoreError::Full(_))) => {
            Err(not_ready("the disk of the database is full: nothing can be written"))
        }
        Ok(Err(StoreError::Disk(_))) => Err(not_ready("the disk of the database fails")),
        Ok(Err(_)) | Err(_) => Err(not_ready("the database does not answer")),
    }
}

fn plain(status: &str) -> Response {
    let mut response = reply::raw(StatusCode::OK, format!("{{\"status\":\"{status}\"}}").into_bytes());
    response.headers_mut().insert(header::CACHE_CONTROL, HeaderValue::from_static("no-store"));
    response
}

/// Every kind of problem.
pub async fn problems() -> Response {
    let items: Vec<serde_json::Value> = KINDS.iter().map(describe).collect();
    match reply::json(StatusCode::OK, &serde_json::json!({"items": items})) {
        Ok(response) => response,
        Err(problem) => problem.into_response(),
    }
}

/// One kind of problem.
pub async fn problem(Path(slug): Path<String>) -> Result<Response, Problem> {
    let kind = KINDS.iter().find(|k| k.slug == slug).ok_or_else(|| {
        Problem::new(problem::NOT_FOUND, "there is no problem of this name; /problems lists them")
    })?;
    reply::json(StatusCode::OK, &describe(kind))
}

fn describe(kind: &problem::Kind) -> serde_json::Value {
    serde_json::json!({
        "type": format!("/problems/{}", kind.slug), "title": kind.title, "status": kind.status, "help": kind.help
    })
}
