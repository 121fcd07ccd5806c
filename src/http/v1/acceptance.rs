//! The mark that a job was accepted, and an accepted job as others need it.

use super::actuals::{last_day, records};
use super::contracts;
use super::{missing, stored_notes};
use crate::app::AppState;
use crate::compute::job_record::JobActuals;
use crate::compute::job_record::actuals::estimated_methods;
use crate::compute::job_record::entries::{EndRecord, ends};
use crate::http::auth::{Caller, may};
use crate::http::extract::{Body, Params};
use crate::http::problem::{self, Problem};
use crate::http::reply::{self, Asked, Opened, Reply};
use crate::http::timestamp::{Timestamp, timestamp};
use crate::store::actuals::AcceptanceRow;
use crate::wire::day::Day;
use crate::wire::notes::SiteNotes;
use crate::wire::records::AcceptanceIn;
use crate::wire::{At, Faults};
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::Response;
use serde::Serialize;
use utoipa::ToSchema;

/// The mark that a job was accepted.
#[derive(Debug, Serialize, ToSchema)]
pub struct AcceptanceOut {
    /// Job, `job_…`.
    pub job_id: String,
    /// Estimate that was accepted, `est_…`.
    pub estimate_id: String,
    /// The day.
    #[schema(format = Date)]
    pub accepted_on: String,
    /// Who set it: `mark` for the mark by hand, else the id of the accepted quote, `quo_…`.
    pub source: String,
    /// When it was set.
    pub created_at: Timestamp,
    /// Key that set it.
    pub created_by: String,
}

impl From<AcceptanceRow> for AcceptanceOut {
    fn from(row: AcceptanceRow) -> Self {
        let AcceptanceRow { job_id, estimate_id, accepted_on, source, created_at, created_by } = row;
        Self { job_id, estimate_id, accepted_on, source, created_at: timestamp(created_at), created_by }
    }
}

/// Nothing can be recorded of a job that is not accepted, nor compared.
pub(super) fn not_accepted() -> Problem {
    Problem::new(
        problem::STATE_CONFLICT,
        "the job is not accepted: accept its quote, or mark it with `POST /v1/jobs/{id}/acceptance`, before recording what \
         happens on it",
    )
}

/// The mark that is there, where the one asked for is wholly the same; else what of it is another. `named` where the request names
/// the estimate itself.
fn held(row: AcceptanceRow, estimate: &str, named: bool, on: Day) -> Result<AcceptanceRow, Problem> {
    let (mut faults, root) = (Faults::new(), At::ROOT);
    if row.estimate_id != estimate {
        let at = root.member("estimate_id");
        let newest = if named { "" } else { "; left out, it is the newest of the job" };
        let detail = format!("the job is accepted on {}{newest}", row.estimate_id);
        faults
            .value(if named { &at } else { &root }, "accepted_already", estimate, detail)
            .allow([&row.estimate_id]);
    }
    let on = on.to_string();
    if row.accepted_on != on {
        let detail = format!("the job is accepted on the day {}", row.accepted_on);
        faults.value(&root.member("accepted_on"), "accepted_already", &on, detail).allow([&row.accepted_on]);
    }
    if faults.is_empty() {
        return Ok(row);
    }
    let detail = format!(
        "the job is accepted already, on {} and the day {}: a mark stays as it was set",
        row.estimate_id, row.accepted_on
    );
    Err(Problem::with_faults(problem::STATE_CONFLICT, detail, &faults))
}

/// Mark a job as accepted
///
/// On one of its estimates, the newest when left out. From then on what happens on it can be recorded, and its price is not
/// made anew in bulk. The same mark again, of the same estimate and day, changes nothing and is answered with the mark that is there; one
/// of another estimate or of another day is refused with 409, and the errors name which of the two it is. An accepted quote marks its
/// job itself and takes the place of a mark set by hand.
#[utoipa::path(post, path = "/v1/jobs/{id}/acceptance", tag = "actuals", operation_id = "acceptJob",
    request_body(content = AcceptanceIn, example = json!({"accepted_on": "2026-03-02"})),
    params(("id" = String, Path, description = "Id of the job, `job_…`."),
        ("validate_only" = Option<bool>, Query, description = "Check everything, write nothing."),
        ("Idempotency-Key" = Option<String>, Header, description = "Repeats of the same request are answered from the first.")),
    responses((status = 201, description = "The mark.", body = AcceptanceOut,
            headers(("Location" = String, description = "Path of the mark."))),
        (status = 200, description = "The mark that was there.", body = AcceptanceOut,
            headers(("Location" = String, description = "Path of the mark; absent with `validate_only`.")))))]
pub async fn accept_job(
    State(state): State<AppState>,
    caller: Caller<may::JobsWrite>,
    Path(id): Path<String>,
    asked: Asked,
    Body { document, bytes }: Body<AcceptanceIn>,
) -> Result<Response, Problem> {
    asked.check_query()?;
    if let Some(response) = asked.replay(&state, &caller, &bytes).await? {
        return Ok(response);
    }
    let AcceptanceIn { estimate_id, accepted_on } = document;
    state.inner.store.job(&id).await?.ok_or_else(|| missing("job"))?;
    let mut faults = Faults::new();
    let root = At::ROOT;
    // A mark stays as it was set, for a day to come too where it once could be: sent again it is that mark.
    let mark = state.inner.store.acceptance(&id).await?;
    let is_its_day = mark.is_some_and(|mark| mark.accepted_on == accepted_on.to_string());
    if !is_its_day && let Some(told) = last_day(&state)?.to_come(accepted_on) {
        faults.value(&root.member("accepted_on"), "in_the_future", &accepted_on.to_string(), told);
    }
    let estimate = match &estimate_id {
        Some(wanted) => {
            let row = state.inner.store.estimate(wanted.as_str()).await?.filter(|e| e.job_id == id);
            if row.is_none() {
                faults.value(
                    &root.member("estimate_id"),
                    "unknown_estimate",
                    wanted.as_str(),
                    "this job has no estimate of this id",
                );
            }
            row.map(|e| e.id)
        }
        None => state.inner.store.estimates(&id, None, 1).await?.into_iter().next().map(|e| e.id),
    };
    if !faults.is_empty() {
        return Err(faults.into());
    }
    let Some(estimate) = estimate else {
        return Err(Problem::new(problem::STATE_CONFLICT, "the job has no estimate yet: make one first"));
    };
    let mut session = match asked.open(&state, &caller, &bytes).await? {
        Opened::Replay(response) => return Ok(response),
        Opened::Fresh(session) => session,
    };
    let (row, status) = match session.write.acceptance(&id).await? {
        Some(row) => (held(row, &estimate, estimate_id.is_some(), accepted_on)?, StatusCode::OK),
        None => {
            session.write.set_acceptance(&id, &estimate, &accepted_on.to_string(), "mark", None).await?;
            let row = session.write.acceptance(&id).await?.ok_or_else(|| missing("acceptance"))?;
            (row, StatusCode::CREATED)
        }
    };
    let body = serde_json::to_vec(&AcceptanceOut::from(row)).map_err(|e| Problem::internal(e.to_string()))?;
    let location = Some(format!("/v1/jobs/{id}/acceptance"));
    session.finish(Reply { status, location, etag: None, body }).await
}

/// Get the acceptance of a job
///
/// On which estimate it was accepted, and when.
#[utoipa::path(get, path = "/v1/jobs/{id}/acceptance", tag = "actuals", operation_id = "getAcceptance",
    params(("id" = String, Path, description = "Id of the job, `job_…`.")),
    responses((status = 200, description = "The mark.", body = AcceptanceOut)))]
pub async fn get_acceptance(
    State(state): State<AppState>,
    _: Caller<may::JobsRead>,
    Path(id): Path<String>,
    params: Params,
) -> Result<Response, Problem> {
    params.only(&[])?;
    let row = state.inner.store.acceptance(&id).await?.ok_or_else(|| missing("acceptance of a job"))?;
    reply::json(StatusCode::OK, &AcceptanceOut::from(row))
}

/// A job with everything that its comparison needs.
pub(super) struct Accepted {
    /// The estimate that is measured against: the revision that the contract stands on, or the one a mark names.
    pub(super) estimate_id: String,
    pub(super) notes: SiteNotes,
    pub(super) actuals: JobActuals,
    pub(super) ends: Vec<EndRecord>,
    /// The price book of that estimate.
    pub(super) book_version: String,
    /// The price book of the estimate that was accepted first, whose wages price recorded hours.
    pub(super) wage_book_version: String,
}

/// Loads an accepted job; `None` when it is not accepted.
pub(super) async fn accepted(state: &AppState, job: &str) -> Result<Option<Accepted>, Problem> {
    let store = &state.inner.store;
    let Some(acceptance) = store.acceptance(job).await? else { return Ok(None) };
    let first = store.estimate(&acceptance.estimate_id).await?.ok_or_else(|| missing("estimate"))?;
    let wage_book_version = first.price_book_version_id.clone();
    // Work that a change order added was promised by its revision: hours held against the one before would make a job that grew
    // look slow.
    let contract = contracts::contract(&store.papers(job).await?)?;
    let estimate = match contract.map(|(_, contract)| contract.standing.estimate_id) {
        Some(id) if id.as_str() != first.id => {
            store.estimate(id.as_str()).await?.ok_or_else(|| missing("estimate"))?
        }
        _ => first,
    };
    let notes = stored_notes(&estimate.notes)?;
    let rows = store.actuals(job, None, i64::MAX).await?;
    let records = records(&rows)?;
    let told: Vec<_> = rows.iter().map(|row| row.recorded_at).zip(&records).collect();
    let estimated_by = estimated_methods(&estimate.answer);
    Ok(Some(Accepted {
        estimate_id: estimate.id,
        notes,
        actuals: JobActuals { estimated_by, ..JobActuals::of(&records) },
        ends: ends(&told),
        book_version: estimate.price_book_version_id,
        wage_book_version,
    }))
}
