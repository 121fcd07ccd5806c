//! Jobs: customer, site, site notes, references of other systems.

use super::papers::json_text;
use super::{missing, new_id, page_type, with_link};
use crate::app::AppState;
use crate::http::auth::{Caller, may};
use crate::http::extract::{Body, Params, Patch, Together, etag, patched};
use crate::http::page::{Cursor, cut, limit};
use crate::http::problem::{self, Problem};
use crate::http::reply::{self, Asked, Opened, Reply};
use crate::http::timestamp::{Timestamp, timestamp};
use crate::store::StoreError;
use crate::store::jobs::{JobFields, JobFilter, JobRow, JobSort};
use crate::wire::changes::changes;
use crate::wire::day::Day;
use crate::wire::notes::{Customer, Site, SiteNotes};
use crate::wire::query::JobOrder;
use crate::wire::scalar::Flag;
use crate::wire::{At, Faults, Label, List};
use crate::wire_object;
use axum::extract::{OriginalUri, Path, State};
use axum::http::{HeaderMap, StatusCode};
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

fn out(row: JobRow, with_notes: bool) -> Result<JobOut, Problem> {
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

/// What the query of the list asks for: filter, order, limit, the list that cursors are bound to, and where to go on.
fn job_query(
    params: &Params,
    secret: &str,
) -> Result<(JobFilter, JobSort, i64, String, Option<Cursor>), Problem> {
    let text = |name: &str| match params.get(name) {
        Some(t) if t.is_empty() || t.chars().count() > 200 || t.contains(char::is_control) => {
            Err(params.fault(name, "out_of_range", "1 to 200 characters on one line", &[]))
        }
        other => Ok(other.map(ToOwned::to_owned)),
    };
    let named = (text("q"), text("customer"), text("site")).together();
    let called = match (text("external_id"), text("external_system")) {
        (Ok(None), Ok(Some(_))) => {
            let rule = "only beside `external_id`, which it belongs to";
            Err(params.fault("external_system", "needs_another", rule, &[]))
        }
        called => called.together(),
    };
    let filter = (named, called, params.instant("updated_since"), params.choice("accepted")).together().map(
        |((text, customer, site), (external_id, external_system), updated_since, accepted)| JobFilter {
            text,
            customer,
            site,
            updated_since,
            accepted,
            external_id,
            external_system,
        },
    );
    let sort = params.one_of("sort", "this order is not offered", JobOrder::UpdatedDescending);
    // Which list a cursor belongs to can be said only where filter and order can be read.
    let list = match (&filter, &sort) {
        (Ok(filter), Ok(sort)) => Some(format!("jobs {sort} {filter:?}")),
        _ => None,
    };
    let after = match &list {
        Some(list) => Cursor::read(params, secret, list),
        None => Cursor::formed(params).map(|()| None),
    };
    let (filter, sort, limit, after) = params.all(
        &[
            "q",
            "customer",
            "site",
            "updated_since",
            "accepted",
            "external_id",
            "external_system",
            "sort",
            "limit",
            "cursor",
        ],
        (filter, sort, limit(params), after),
    )?;
    let sort = match sort {
        JobOrder::Updated => JobSort::Updated,
        JobOrder::UpdatedDescending => JobSort::UpdatedDesc,
        JobOrder::Created => JobSort::Created,
        JobOrder::CreatedDescending => JobSort::CreatedDesc,
    };
    Ok((filter, sort, limit, list.unwrap_or_default(), after))
}

/// List jobs
///
/// Filter by text, customer, site, last change, acceptance or what another system calls a job; newest change first unless sorted
/// otherwise. Whoever wants every job once,
/// while others edit, sorts by `created_at`: a job that is changed moves in an order by `updated_at`, and may be passed over or
/// met again.
#[utoipa::path(get, path = "/v1/jobs", tag = "jobs", operation_id = "listJobs",
    params(("q" = Option<String>, Query, description = "Text in title, customer or site address.", min_length = 1, max_length = 200),
        ("customer" = Option<String>, Query, description = "Text in the customer's name.", min_length = 1, max_length = 200),
        ("site" = Option<String>, Query, description = "Text in the site address.", min_length = 1, max_length = 200),
        ("updated_since" = Option<String>, Query, description = "Changed at or after this instant, RFC 3339; a `+` is sent as `%2B`.", format = DateTime),
        ("accepted" = Option<bool>, Query, description = "`true`: only jobs that were accepted; `false`: only the others."),
        ("external_id" = Option<String>, Query, description = "Exactly what another system calls it, as in its `external_refs`.", min_length = 1, max_length = 200),
        ("external_system" = Option<String>, Query, description = "The system that `external_id` is from; any where left out. Only beside `external_id`.", min_length = 1, max_length = 200),
        ("sort" = inline(Option<JobOrder>), Query, description = "In which order; `-updated_at` when left out."),
        ("limit" = Option<i64>, Query, description = "1 to 200; 50 when left out.", minimum = 1, maximum = 200),
        ("cursor" = Option<String>, Query, description = "`next_cursor` of the page before.")),
    responses((status = 200, description = "A page.", body = JobPage)))]
pub async fn list_jobs(
    State(state): State<AppState>,
    _: Caller<may::JobsRead>,
    OriginalUri(uri): OriginalUri,
    params: Params,
) -> Result<Response, Problem> {
    let (filter, sort, limit, list, after) = job_query(&params, &state.inner.cursor_secret)?;
    let secret = &state.inner.cursor_secret;
    let mut rows = state
        .inner
        .store
        .jobs(&filter, sort, after.as_ref().map(|c| (c.key, c.id.as_str())), limit + 1)
        .await?;
    let by_update = matches!(sort, JobSort::Updated | JobSort::UpdatedDesc);
    let next_cursor = cut(&mut rows, limit, secret, &list, |r| Cursor {
        key: if by_update { r.updated_at } else { r.created_at },
        id: r.id.clone(),
    });
    let items = rows.into_iter().map(|r| out(r, false)).collect::<Result<_, _>>()?;
    let page = JobPage { items, next_cursor };
    Ok(with_link(reply::json(StatusCode::OK, &page)?, &uri, page.next_cursor.as_deref()))
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
/// answered with the job as it is, under the ETag it has.
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
