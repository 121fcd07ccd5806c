//! Health and the documentation of problems. No key needed.

use super::problem::{self, KINDS, Problem, ProblemOut};
use super::reply;
use crate::app::AppState;
use crate::store::StoreError;
use axum::extract::{Path, State};
use axum::http::{HeaderValue, StatusCode, header};
use axum::response::Response;
use serde::Serialize;
use std::sync::atomic::Ordering;
use std::time::Duration;
use utoipa::ToSchema;

/// How the service is.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct HealthOut {
    /// What was asked for and holds.
    pub status: Health,
}

/// What can be asked of the service's health.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum Health {
    /// The process answers.
    Live,
    /// It can do its work.
    Ready,
}

/// One kind of problem.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct ProblemKindOut {
    /// The `type` of problems of this kind, and the path of this description.
    #[serde(rename = "type")]
    pub kind: String,
    /// The `title` of problems of this kind.
    pub title: &'static str,
    /// HTTP status.
    pub status: u16,
    /// What to do about it.
    pub help: &'static str,
}

/// Every kind of problem.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct ProblemKindsOut {
    /// The kinds, by subject.
    pub items: Vec<ProblemKindOut>,
}

/// Tell that the process is up
///
/// Touches nothing, and is answered also when the service has too much to do: for whoever starts a hung process anew.
#[utoipa::path(get, path = "/livez", operation_id = "getLiveness", tag = "service", security(()),
    responses((status = 200, description = "It is up.", body = HealthOut)))]
pub async fn live() -> Result<Response, Problem> {
    told(Health::Live)
}

/// Tell whether the service can do its work
///
/// It can when its database answers and takes writes, the schema is that of this build, and it is not stopping: for whoever
/// sends it requests.
#[utoipa::path(get, path = "/readyz", operation_id = "getReadiness", tag = "service", security(()),
    responses(
        (status = 200, description = "It can.", body = HealthOut),
        (status = 503, description = "It cannot; the detail says why, `Retry-After` when to ask again.", body = ProblemOut,
            content_type = "application/problem+json", headers(("Retry-After" = String, description = "Seconds.")))))]
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
        Ok(Ok(true)) => told(Health::Ready),
        Ok(Ok(false)) => Err(not_ready("the database schema is not that of this build")),
        Ok(Err(StoreError::Full(_))) => {
            Err(not_ready("the disk of the database is full: nothing can be written"))
        }
        Ok(Err(StoreError::Disk(_))) => Err(not_ready("the disk of the database fails")),
        Ok(Err(_)) | Err(_) => Err(not_ready("the database does not answer")),
    }
}

fn told(status: Health) -> Result<Response, Problem> {
    let mut response = reply::json(StatusCode::OK, &HealthOut { status })?;
    response.headers_mut().insert(header::CACHE_CONTROL, HeaderValue::from_static("no-store"));
    Ok(response)
}

/// List every kind of problem
///
/// What the service refuses with, and what to do about each.
#[utoipa::path(get, path = "/problems", operation_id = "listProblems", tag = "service", security(()),
    responses((status = 200, description = "The kinds.", body = ProblemKindsOut)))]
pub async fn problems() -> Result<Response, Problem> {
    reply::json(StatusCode::OK, &ProblemKindsOut { items: KINDS.iter().map(describe).collect() })
}

/// Describe one kind of problem
///
/// The `type` of a problem is the path of this description.
#[utoipa::path(get, path = "/problems/{slug}", operation_id = "getProblem", tag = "service", security(()),
    params(("slug" = String, Path, description = "Last part of the `type`.", example = "validation-failed")),
    responses(
        (status = 200, description = "The kind.", body = ProblemKindOut),
        (status = 404, description = "There is no problem of this name.", body = ProblemOut,
            content_type = "application/problem+json")))]
pub async fn problem(Path(slug): Path<String>) -> Result<Response, Problem> {
    let kind = KINDS.iter().find(|k| k.slug == slug).ok_or_else(|| {
        Problem::new(problem::NOT_FOUND, "there is no problem of this name; /problems lists them")
    })?;
    reply::json(StatusCode::OK, &describe(kind))
}

fn describe(kind: &problem::Kind) -> ProblemKindOut {
    let problem::Kind { slug, status, title, help } = *kind;
    ProblemKindOut { kind: format!("/problems/{slug}"), title, status, help }
}
