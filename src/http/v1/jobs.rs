//! Jobs: customer, site, site notes, references of other systems.

use super::papers::json_text;
use super::{missing, new_id, page_type};
use crate::app::AppState;
use crate::http::auth::{Caller, may};
use crate::http::extract::{Body, Params, Patch, etag, patched};
use crate::http::problem::{self, Problem};
use crate::http::reply::{self, Asked, Opened, Reply};
use crate::http::timestamp::{Timestamp, timestamp};
use crate::store::StoreError;
use crate::store::jobs::{JobFields, JobRow};
use crate::wire::changes::changes;
use crate::wire::day::Day;
use crate::wire::notes::{Customer, Site, SiteNotes};
use crate::wire::scalar::Flag;
use crate::wire::{At, Faults, Label, List};
use crate::wire_object;
use axum::extract::{Path, State};
use axum::http::HeaderMap;
use axum::response::Response;
use serde::Serialize;
use utoipa::ToSchema;

wire_object! {
    /// How another system calls this job.
    pub struct ExternalRef {
        /// The other system, for example `accounting`.
        pub system: Label,
        /// Its id there.
        pub id: Label,
    }
}

wire_object! {
    /// A job as it is written.
    pub struct JobIn {
        /// What the office calls it; the title of the notes, or customer and address, when left out.
        pub title: Option<Label>,
        /// Who it is for; that of the notes when left out.
        pub customer: Option<Customer>,
        /// Where it is; that of the notes when left out.
        pub site: Option<Site>,
        /// The notes of the site walk.
        pub notes: Option<Box<SiteNotes>>,
        /// How other systems call it. An id of a system names one job: no two jobs have the same.
        pub external_refs: List<ExternalRef, 0, 20>,
        /// Whether the job is closed; a closed job is left alone when open jobs are priced anew.
        pub closed: Flag,
    }
}

/// A job.
#[derive(Debug, Serialize, ToSchema)]
pub struct JobOut {
    /// Id, `job_…`.
    pub id: String,
    /// Title.
    pub title: String,
    /// Who it is for.
    #[schema(value_type = Customer)]
    pub customer: serde_json::Value,
    /// Where it is.
    #[schema(value_type = Site)]
    pub site: serde_json::Value,
    /// The notes of the site walk. Lists leave them out.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<SiteNotes>, nullable = false)]
    pub notes: Option<serde_json::Value>,
    /// How other systems call it.
    #[schema(value_type = Vec<ExternalRef>)]
    pub external_refs: serde_json::Value,
    /// Row version, as in the ETag.
    pub version: i64,
    /// When it was made.
    pub created_at: Timestamp,
    /// When it last changed: it was written, had a new estimate or was accepted. Its papers, plan and records have times of their
    /// own.
    pub updated_at: Timestamp,
    /// When it was closed; absent while it is open.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub closed_at: Option<Timestamp>,
    /// Day of its acceptance, by a quote or by a mark; absent until then.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<Day>, nullable = false)]
    pub accepted_on: Option<String>,
    /// Estimate that was accepted, `est_…`; absent until then.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub accepted_estimate_id: Option<String>,
}

page_type! {
    /// A page of jobs, without their notes.
    JobPage of JobOut
}

pub(super) fn out(row: JobRow, with_notes: bool) -> Result<JobOut, Problem> {
    let JobRow {
        id,
        title,
        customer,
        site,
        notes,
        external_refs,
        row_version,
        created_at,
        updated_at,
        closed_at,
        accepted_on,
        accepted_estimate_id,
    } = row;
    let read = |text: &str| {
        serde_json::from_str::<serde_json::Value>(text)
            .map_err(|e| Problem::internal(format!("stored job: {e}")))
    };
    Ok(JobOut {
        id,
        title,
        customer: read(&customer)?,
        site: read(&site)?,
        notes: notes.filter(|_| with_notes).map(|n| read(&n)).transpose()?,
        external_refs: read(&external_refs)?,
        version: row_version,
        created_at: timestamp(created_at),
        updated_at: timestamp(updated_at),
        closed_at: closed_at.map(timestamp),
        accepted_on,
        accepted_estimate_id,
    })
}

/// What is written, with the defaults filled in from the notes.
fn fields(job: &JobIn) -> Result<JobFields, Problem> {
    let JobIn { title, customer, site, notes, external_refs, closed } = job;
    let customer = customer.as_ref().or_else(|| notes.as_ref().and_then(|n| n.customer.as_ref()));
    let site = site.as_ref().or_else(|| notes.as_ref().and_then(|n| n.site.as_ref()));
    let mut faults = Faults::new();
    let root = At::ROOT;
    if customer.is_none() {
        faults.add(
            &root.member("customer"),
            "required",
            "a job has a customer: name one here or in the notes",
        );
    }
    if site.is_none() {
        faults.add(&root.member("site"), "required", "a job has a site: name one here or in the notes");
    }
    let mut seen = std::collections::HashSet::new();
    let refs_at = root.member("external_refs");
    for (i, reference) in external_refs.iter().enumerate() {
        if !seen.insert((&reference.system, &reference.id)) {
            faults.add(&refs_at.element(i), "duplicate", "this reference is listed twice");
        }
    }
    let (Some(customer), Some(site)) = (customer, site) else { return Err(faults.into()) };
    if !faults.is_empty() {
        return Err(faults.into());
    }
    let title = title
        .as_ref()
        .or_else(|| notes.as_ref().and_then(|n| n.title.as_ref()))
        .map_or_else(|| format!("{}, {}", customer.name, site.address), ToString::to_string);
    Ok(JobFields {
        title,
        customer_name: customer.name.to_string(),
        customer: json_text(customer)?,
        site_address: site.address.to_string(),
        site: json_text(site)?,
        notes: notes.as_ref().map(|n| json_text(n.as_ref())).transpose()?,
        refs: external_refs.iter().map(|r| (r.system.to_string(), r.id.to_string())).collect(),
        external_refs: json_text(&external_refs.to_vec())?,
        closed: closed.0,
    })
}

/// Every reference that belongs to another job says which.
async fn taken(error: StoreError, state: &AppState, id: &str, refs: &[(String, String)]) -> Problem {
    if !matches!(error, StoreError::Conflict) {
        return error.into();
    }
    let (mut faults, root) = (Faults::new(), At::ROOT);
    let list = root.member("external_refs");
    for (place, (system, external)) in refs.iter().enumerate() {
        match state.inner.store.job_called(system, external).await {
            Ok(Some(other)) if other != id => {
                let detail = format!("`{external}` of `{system}` belongs to the job `{other}` already");
                faults.value(&list.element(place), "reference_taken", external, detail);
            }
            Ok(_) => {}
            Err(error) => return error.into(),
        }
    }
    if faults.is_empty() {
        // It was given back meanwhile.
        faults.add(&list, "reference_taken", "one of these belonged to another job just now: send it again");
    }
    Problem::with_faults(
        problem::CONFLICT,
        format!("other jobs are called so in `external_refs`: {faults}"),
        &faults,
    )
}

/// Create a job
///
/// With its customer, site and, if at hand, the notes of the site walk.
#[utoipa::path(post, path = "/v1/jobs", tag = "jobs", operation_id = "createJob",
    request_body(content = JobIn, example = json!({"customer": {"name": "Example Household"}, "site": {"address": "14 Alder Bend"}})),
    params(("validate_only" = Option<bool>, Query, description = "Check everything, write nothing."),
        ("Idempotency-Key" = Option<String>, Header, description = "Repeats of the same request are answered from the first.")),
    responses((status = 201, description = "The job.", body = JobOut,
        headers(("Location" = String, description = "Path of the job."), ("ETag" = String, description = "For `If-Match`.")))))]
pub async fn create_job(
    State(state): State<AppState>,
    caller: Caller<may::JobsWrite>,
    asked: Asked,
    Body { document, bytes }: Body<JobIn>,
) -> Result<Response, Problem> {
    asked.check_query()?;
    let fields = fields(&document)?;
    let mut session = match asked.open(&state, &caller, &bytes).await? {
        Opened::Replay(response) => return Ok(response),
        Opened::Fresh(session) => session,
    };
    let id = new_id("job");
    if let Err(error) = session.write.put_job(&id, &fields).await {
        return Err(taken(error, &state, &id, &fields.refs).await);
    }
    let row = session.write.job(&id).await?.ok_or_else(|| missing("job"))?;
    let tag = etag(&row.id, row.row_version);
    let reply = Reply::created(format!("/v1/jobs/{id}"), tag, &out(row, true)?)?;
    session.finish(reply).await
}
/// Get a job
///
/// With its site notes.
#[utoipa::path(get, path = "/v1/jobs/{id}", tag = "jobs", operation_id = "getJob",
    params(("id" = String, Path, description = "Id of the job, `job_…`."),
        ("If-None-Match" = Option<String>, Header, description = "304 when the ETag is still this.")),
    responses((status = 200, description = "The job.", body = JobOut,
        headers(("ETag" = String, description = "For `If-Match`."))), (status = 304, description = "Not modified.")))]
pub async fn get_job(
    State(state): State<AppState>,
    _: Caller<may::JobsRead>,
    Path(id): Path<String>,
    headers: HeaderMap,
    params: Params,
) -> Result<Response, Problem> {
    params.only(&[])?;
    let row = state.inner.store.job(&id).await?.ok_or_else(|| missing("job"))?;
    let tag = etag(&row.id, row.row_version);
    reply::record(&headers, &tag, &out(row, true)?)
}

/// A job as it can be written, from what is stored of it: customer, site and references are JSON.
fn as_written(
    title: &str,
    [customer, site, external_refs]: [&str; 3],
    notes: Option<&str>,
    closed: bool,
) -> Result<serde_json::Value, Problem> {
    let read = |text: &str| -> Result<serde_json::Value, Problem> {
        serde_json::from_str(text).map_err(|e| Problem::internal(format!("stored job: {e}")))
    };
    let mut document = serde_json::json!({"title": title, "customer": read(customer)?, "site": read(site)?,
        "external_refs": read(external_refs)?, "closed": closed});
    if let Some(notes) = notes {
        document["notes"] = read(notes)?;
    }
    Ok(document)
}

/// Edit a job
///
/// A merge patch (RFC 7396): members sent replace those there, null deletes, lists are replaced whole. One that changes nothing is
/// answered with the job as it is, under the ETag it has. What was issued stays as it is; papers that are made afterwards have customer,
/// site and title as they are then, invoices and change orders under a contract as well.
#[utoipa::path(patch, path = "/v1/jobs/{id}", tag = "jobs", operation_id = "editJob",
    request_body(content = JobIn, content_type = "application/merge-patch+json", example = json!({"title": "Drive and path"})),
    params(("id" = String, Path, description = "Id of the job, `job_…`."),
        ("If-Match" = String, Header, description = "ETag of the job, or `*`."),
        ("validate_only" = Option<bool>, Query, description = "Check everything, write nothing."),
        ("Idempotency-Key" = Option<String>, Header, description = "Repeats of the same request are answered from the first.")),
    responses((status = 200, description = "The job.", body = JobOut,
        headers(("ETag" = String, description = "For `If-Match`.")))))]
pub async fn edit_job(
    State(state): State<AppState>,
    caller: Caller<may::JobsWrite>,
    Path(id): Path<String>,
    asked: Asked,
    Patch { value, bytes }: Patch,
) -> Result<Response, Problem> {
    asked.check_query()?;
    let mut session = match asked.open(&state, &caller, &bytes).await? {
        Opened::Replay(response) => return Ok(response),
        Opened::Fresh(session) => session,
    };
    let row = session.write.job(&id).await?.ok_or_else(|| missing("job"))?;
    let row_version = row.row_version;
    asked.preconditions().check(&row.id, row_version)?;
    let before = as_written(
        &row.title,
        [&row.customer, &row.site, &row.external_refs],
        row.notes.as_deref(),
        row.closed_at.is_some(),
    )?;
    let job: JobIn = patched(&before, &value)?;
    let fields = fields(&job)?;
    let after = as_written(
        &fields.title,
        [&fields.customer, &fields.site, &fields.external_refs],
        fields.notes.as_deref(),
        fields.closed,
    )?;
    // Whoever follows changes is not told of what is as it was.
    if before != after
        && let Err(error) = session.write.edit_job(&id, row_version, &fields, changes(&before, &after)).await
    {
        return Err(taken(error, &state, &id, &fields.refs).await);
    }
    let row = session.write.job(&id).await?.ok_or_else(|| missing("job"))?;
    let reply = Reply::changed(etag(&row.id, row.row_version), &out(row, true)?)?;
    session.finish(reply).await
}
