//! Estimate revisions: made once, never changed, recomputable to the same bytes.

mod as_read;

use self::as_read::{AsRead, other_currency};
use super::book_days::retired;
use super::{book, book_of_job, estimated, missing, new_id, page_type, stored_notes, with_link};
use crate::app::AppState;
use crate::compute::ENGINE;
use crate::compute::answers::Estimate;
use crate::compute::customer_view::{CustomerView, Detail, view};
use crate::domain::lines::Outcome;
use crate::http::auth::{Caller, may};
use crate::http::extract::{BY_BOOK, OptionalBody, Params, etag};
use crate::http::page::{Cursor, cut, limit_and_cursor};
use crate::http::problem::{self, Problem};
use crate::http::reply::{self, Asked, Opened, Reply, Session};
use crate::http::timestamp::{Timestamp, timestamp};
use crate::store::estimates::{EstimateRow, NewEstimate};
use crate::units::Amount;
use crate::wire::Label;
use crate::wire::notes::SiteNotes;
use crate::wire_object;
use axum::extract::{OriginalUri, Path, State};
use axum::http::{HeaderMap, HeaderValue, StatusCode, header};
use axum::response::Response;
use serde::Serialize;
use std::sync::Arc;
use utoipa::ToSchema;

/// Stored estimates longer than this, in bytes, take more than a millisecond or two to read: the demo job's has 100,000.
const LONG_ANSWER: usize = 400_000;

wire_object! {
    /// What to estimate.
    pub struct NewEstimateIn {
        /// Price-book version; when left out the one of the book of the job's last revision that holds today, for a job without revisions
        /// the current one of all books.
        pub price_book_version: Option<Label>,
        /// Site notes; those of the job when left out.
        pub notes: Option<Box<SiteNotes>>,
    }
}

/// Facts of a revision.
#[derive(Debug, Serialize, ToSchema)]
pub struct EstimateFacts {
    /// Id, `est_…`.
    pub id: String,
    /// Job, `job_…`.
    pub job_id: String,
    /// Revision, from 1.
    pub revision: i64,
    /// Price-book version it was priced from.
    pub price_book_version_id: String,
    /// Engine it was computed with.
    pub engine: String,
    /// Price with tax.
    pub total: Amount,
    /// Worst outcome of its checks.
    #[schema(value_type = Outcome)]
    pub outcome: String,
    /// When it was made.
    pub created_at: Timestamp,
    /// Key that made it.
    pub created_by: String,
}

/// A revision with the whole estimate.
#[derive(Debug, Serialize, ToSchema)]
pub struct EstimateOut {
    /// Its facts.
    #[serde(flatten)]
    pub facts: EstimateFacts,
    /// The estimate, byte for byte as it was made.
    #[schema(value_type = Estimate)]
    pub estimate: Box<serde_json::value::RawValue>,
    /// What to look at: beside the revision before, or of the version that was named; told when a revision is made, and not kept.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub warnings: Vec<String>,
}

/// What a revision was computed from.
#[derive(Debug, Serialize, ToSchema)]
pub struct EstimateInputs {
    /// Price-book version.
    pub price_book_version_id: String,
    /// Engine version.
    pub engine: String,
    /// Site notes.
    #[schema(value_type = SiteNotes)]
    pub notes: Box<serde_json::value::RawValue>,
}

/// Whether a recomputation gives the same bytes.
#[derive(Debug, Serialize, ToSchema)]
pub struct Recomputed {
    /// Whether every byte is the same.
    pub same: bool,
    /// Engine the revision was computed with.
    pub stored_engine: String,
    /// Engine of this service.
    pub engine: String,
    /// Price with tax, stored.
    pub stored_total: Amount,
    /// Price with tax, recomputed.
    pub total: Amount,
}

page_type! {
    /// A page of revisions, newest first.
    EstimatePage of EstimateFacts
}

impl From<&EstimateRow> for EstimateFacts {
    fn from(row: &EstimateRow) -> Self {
        let EstimateRow {
            id,
            job_id,
            revision,
            price_book_version_id,
            engine,
            notes: _,
            answer: _,
            total_minor,
            outcome,
            created_at,
            created_by,
        } = row;
        Self {
            id: id.clone(),
            job_id: job_id.clone(),
            revision: *revision,
            price_book_version_id: price_book_version_id.clone(),
            engine: engine.clone(),
            total: Amount::from_minor(*total_minor),
            outcome: outcome.clone(),
            created_at: timestamp(*created_at),
            created_by: created_by.clone(),
        }
    }
}

impl EstimateFacts {
    /// Facts of a revision just written in a session.
    pub(super) fn of(new: &NewEstimate, revision: i64, session: &Session) -> Self {
        Self {
            id: new.id.clone(),
            job_id: new.job_id.clone(),
            revision,
            price_book_version_id: new.price_book_version_id.clone(),
            engine: new.engine.clone(),
            total: Amount::from_minor(new.total_minor),
            outcome: new.outcome.clone(),
            created_at: timestamp(session.now()),
            created_by: session.write.actor.key_id.clone(),
        }
    }
}

/// What a new revision of a job is written with.
pub(super) fn new_revision(
    job_id: String,
    notes: String,
    estimate: &Estimate,
) -> Result<NewEstimate, Problem> {
    Ok(NewEstimate {
        id: new_id("est"),
        job_id,
        price_book_version_id: estimate.price_book.version_id.clone(),
        engine: ENGINE.to_owned(),
        notes,
        answer: serde_json::to_string(estimate).map_err(|e| Problem::internal(e.to_string()))?,
        total_minor: estimate.summary.total.minor(),
        outcome: estimate.summary.outcome.word().to_owned(),
    })
}

fn whole(row: EstimateRow) -> Result<EstimateOut, Problem> {
    let facts = EstimateFacts::from(&row);
    let estimate = serde_json::value::RawValue::from_string(row.answer)
        .map_err(|e| Problem::internal(format!("stored estimate: {e}")))?;
    Ok(EstimateOut { facts, estimate, warnings: Vec::new() })
}

/// Make an estimate
///
/// A new numbered revision of the job, computed from its notes (or those sent) and the price-book version named. Without one, from
/// the version of the book of the job's last revision that holds today; a job without revisions takes the current version of all
/// books. A version in another currency than the revision before is taken when it is named, with a warning, and so is one that was
/// retired: an estimate asked for by its prices may be owed. The revision never changes afterwards.
#[utoipa::path(post, path = "/v1/jobs/{id}/estimates", tag = "estimates", operation_id = "createEstimate",
    request_body(content = NewEstimateIn, description = "May be left out.", example = json!({})),
    params(("id" = String, Path, description = "Id of the job, `job_…`."),
        ("validate_only" = Option<bool>, Query, description = "Compute everything, write nothing."),
        ("Idempotency-Key" = Option<String>, Header, description = "Repeats of the same request are answered from the first.")),
    responses((status = 201, description = "The revision.", body = EstimateOut,
        headers(("Location" = String, description = "Path of the revision."), ("ETag" = String, description = "Never changes.")))))]
pub async fn create_estimate(
    State(state): State<AppState>,
    caller: Caller<may::EstimatesWrite>,
    Path(id): Path<String>,
    asked: Asked,
    OptionalBody { document, bytes }: OptionalBody<NewEstimateIn, BY_BOOK>,
) -> Result<Response, Problem> {
    asked.check_query()?;
    if let Some(response) = asked.replay(&state, &caller, &bytes).await? {
        return Ok(response);
    }
    let NewEstimateIn { price_book_version, notes } = document;
    let job = state.inner.store.job(&id).await?.ok_or_else(|| missing("job"))?;
    let sent = notes.is_some();
    let last = state.inner.store.estimates(&id, None, 1).await?.into_iter().next();
    let as_read = AsRead {
        notes: job.notes.filter(|_| !sent),
        last: last.map(|row| row.price_book_version_id),
        is_named: price_book_version.is_some(),
    };
    let notes: Arc<SiteNotes> = Arc::new(match (notes, &as_read.notes) {
        (Some(notes), _) => *notes,
        (None, Some(text)) => stored_notes(text)?,
        (None, None) => {
            return Err(Problem::new(
                problem::STATE_CONFLICT,
                "the job has no site notes yet: send them here as `notes`, or PATCH the job",
            ));
        }
    });
    // Everything is computed before the transaction opens.
    let last = as_read.last.as_deref();
    let loaded = book_of_job(&state, price_book_version.as_ref().map(|v| v.as_str()), last).await?;
    let mut warnings = other_currency(&state, last, &loaded).await?;
    let of_retired = match &price_book_version {
        Some(named) => retired(&state, named.as_str()).await?,
        None => None,
    };
    let rains = super::rains(&state, Some(&notes)).await?;
    let estimate = estimated(&state, &notes, &loaded, rains)
        .await?
        .map_err(|f| if sent { f.under("notes") } else { f })?;
    let notes = serde_json::to_string(&*notes).map_err(|e| Problem::internal(e.to_string()))?;
    let new = new_revision(id, notes, &estimate)?;
    let mut session = match asked.open(&state, &caller, &bytes).await? {
        Opened::Replay(response) => return Ok(response),
        Opened::Fresh(session) => session,
    };
    if as_read.last_as_written(&mut session, &new.job_id, &loaded.1.version_id).await? != as_read.last {
        // It spoke of a revision that is no longer the one before.
        warnings.clear();
    }
    warnings.extend(of_retired);
    let revision = session.write.put_estimate(&new).await?;
    let facts = EstimateFacts::of(&new, revision, &session);
    let estimate = serde_json::value::RawValue::from_string(new.answer)
        .map_err(|e| Problem::internal(format!("new estimate: {e}")))?;
    let out = EstimateOut { facts, estimate, warnings };
    let reply = Reply::created(format!("/v1/estimates/{}", new.id), tag(&new.id), &out)?;
    session.finish(reply).await
}

/// The ETag of a revision: none ever has a second version.
pub(super) fn tag(id: &str) -> String {
    etag(id, 1)
}

/// List estimates
///
/// Revisions of one job, newest first, without their content.
#[utoipa::path(get, path = "/v1/jobs/{id}/estimates", tag = "estimates", operation_id = "listEstimates",
    params(("id" = String, Path, description = "Id of the job, `job_…`."),
        ("limit" = Option<i64>, Query, description = "1 to 200; 50 when left out.", minimum = 1, maximum = 200),
        ("cursor" = Option<String>, Query, description = "`next_cursor` of the page before.")),
    responses((status = 200, description = "A page.", body = EstimatePage)))]
pub async fn list_estimates(
    State(state): State<AppState>,
    _: Caller<may::EstimatesRead>,
    Path(id): Path<String>,
    OriginalUri(uri): OriginalUri,
    params: Params,
) -> Result<Response, Problem> {
    let list = format!("estimates {id}");
    let secret = &state.inner.cursor_secret;
    let (limit, after) = limit_and_cursor(&params, secret, &list)?;
    state.inner.store.job(&id).await?.ok_or_else(|| missing("job"))?;
    let mut rows = state.inner.store.estimates(&id, after.map(|c| c.key), limit + 1).await?;
    let next_cursor = cut(&mut rows, limit, secret, &list, |r| Cursor { key: r.revision, id: String::new() });
    let page = EstimatePage { items: rows.iter().map(EstimateFacts::from).collect(), next_cursor };
    Ok(with_link(reply::json(StatusCode::OK, &page)?, &uri, page.next_cursor.as_deref()))
}

async fn row(state: &AppState, id: &str) -> Result<EstimateRow, Problem> {
    state.inner.store.estimate(id).await?.ok_or_else(|| missing("estimate"))
}

/// Get an estimate
///
/// The same bytes for ever.
#[utoipa::path(get, path = "/v1/estimates/{id}", tag = "estimates", operation_id = "getEstimate",
    params(("id" = String, Path, description = "Id of the estimate, `est_…`."),
        ("If-None-Match" = Option<String>, Header, description = "304 when the ETag is still this.")),
    responses((status = 200, description = "The revision.", body = EstimateOut,
        headers(("ETag" = String, description = "Never changes."))), (status = 304, description = "Not modified.")))]
pub async fn get_estimate(
    State(state): State<AppState>,
    _: Caller<may::EstimatesRead>,
    Path(id): Path<String>,
    headers: HeaderMap,
    params: Params,
) -> Result<Response, Problem> {
    params.only(&[])?;
    let row = row(&state, &id).await?;
    reply::record(&headers, &tag(&id), &whole(row)?)
}

/// Get the inputs of an estimate
///
/// Everything it was computed from.
#[utoipa::path(get, path = "/v1/estimates/{id}/inputs", tag = "estimates", operation_id = "getEstimateInputs",
    params(("id" = String, Path, description = "Id of the estimate, `est_…`.")),
    responses((status = 200, description = "The inputs.", body = EstimateInputs)))]
pub async fn get_estimate_inputs(
    State(state): State<AppState>,
    _: Caller<may::EstimatesRead>,
    Path(id): Path<String>,
    params: Params,
) -> Result<Response, Problem> {
    params.only(&[])?;
    let row = row(&state, &id).await?;
    let notes = serde_json::value::RawValue::from_string(row.notes)
        .map_err(|e| Problem::internal(format!("stored notes: {e}")))?;
    let inputs =
        EstimateInputs { price_book_version_id: row.price_book_version_id, engine: row.engine, notes };
    let mut response = reply::json(StatusCode::OK, &inputs)?;
    response.headers_mut().insert(header::CACHE_CONTROL, HeaderValue::from_static("private, no-cache"));
    Ok(response)
}

/// Get what the customer sees
///
/// A view of the stored estimate: costs, rates, wages and hours are hidden, the price is the stored one. What is split is
/// split by largest remainder, so that every column foots.
#[utoipa::path(get, path = "/v1/estimates/{id}/customer-view", tag = "estimates", operation_id = "getCustomerView",
    params(("id" = String, Path, description = "Id of the estimate, `est_…`."),
        ("detail" = inline(Option<Detail>), Query, description = "How much of what makes up the price; `categories` when left out."),
        ("If-None-Match" = Option<String>, Header, description = "304 when the ETag is still this.")),
    responses((status = 200, description = "The view.", body = CustomerView,
        headers(("ETag" = String, description = "Never changes."))), (status = 304, description = "Not modified.")))]
pub async fn get_customer_view(
    State(state): State<AppState>,
    _: Caller<may::EstimatesRead>,
    Path(id): Path<String>,
    headers: HeaderMap,
    params: Params,
) -> Result<Response, Problem> {
    let detail = params.one_of("detail", "how much the customer sees", Detail::Categories);
    let (detail,) = params.all(&["detail"], (detail,))?;
    let row = row(&state, &id).await?;
    let long = row.answer.len() > LONG_ANSWER;
    let seen = super::apart_where(&state, long, move || {
        let estimate: serde_json::Value =
            serde_json::from_str(&row.answer).map_err(|e| Problem::internal(e.to_string()))?;
        view(&estimate, detail).ok_or_else(|| Problem::internal("a stored estimate has not the shape of one"))
    })
    .await??;
    reply::record(&headers, &format!("\"{id}.{detail}\""), &seen)
}

/// Recompute an estimate
///
/// From its stored inputs and price-book version; says whether every byte is the same. Nothing is written.
#[utoipa::path(post, path = "/v1/estimates/{id}/recompute", tag = "estimates", operation_id = "recomputeEstimate",
    extensions(("x-refuses" = json!([422]))),
    params(("id" = String, Path, description = "Id of the estimate, `est_…`.")),
    responses((status = 200, description = "The comparison.", body = Recomputed)))]
pub async fn recompute_estimate(
    State(state): State<AppState>,
    _: Caller<may::EstimatesRead>,
    Path(id): Path<String>,
    params: Params,
) -> Result<Response, Problem> {
    params.only(&[])?;
    let row = row(&state, &id).await?;
    let notes = Arc::new(stored_notes(&row.notes)?);
    let loaded = book(&state, Some(&row.price_book_version_id)).await?;
    let rains = super::rains(&state, Some(&notes)).await?;
    let estimate = estimated(&state, &notes, &loaded, rains).await??;
    let text = serde_json::to_string(&estimate).map_err(|e| Problem::internal(e.to_string()))?;
    let out = Recomputed {
        same: text == row.answer,
        stored_engine: row.engine,
        engine: ENGINE.to_owned(),
        stored_total: Amount::from_minor(row.total_minor),
        total: estimate.summary.total,
    };
    reply::json(StatusCode::OK, &out)
}
