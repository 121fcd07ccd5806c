//! Kept plans of stored estimates: versions that keep ids and raise sequence numbers.

mod out;

pub use self::out::{PlanRecord, PlanVersionOut, PlanVersionPage};
use self::out::{out, version_out};
use super::{apart, book, missing, new_id, rains, stored_notes, with_link};
use crate::app::{AppState, LoadedBook};
use crate::compute::drainage::shelf::RainShelf;
use crate::compute::job_plan::kept;
use crate::compute::job_plan::report::{self, Carried};
use crate::compute::pipeline;
use crate::compute::plan::issued::{Changes, IssuedPlan};
use crate::http::auth::{Caller, may};
use crate::http::extract::{Body, OptionalBody, Params, etag};
use crate::http::page::{Cursor, cut, limit_and_cursor};
use crate::http::problem::{self, Problem};
use crate::http::reply::{self, Asked, Opened, Reply, Session};
use crate::store::estimates::EstimateRow;
use crate::store::plans::{NewPlanVersion, PlanRow};
use crate::wire::day::Day;
use crate::wire::notes::SiteNotes;
use crate::wire::planning::{PlanInputs, ProgressReport, TaskProgress};
use crate::wire::{List, read_document};
use axum::extract::{OriginalUri, Path, State};
use axum::http::{HeaderMap, StatusCode};
use axum::response::Response;
use serde::Serialize;

/// Everything a plan of a stored estimate is made from.
struct Made {
    estimate: EstimateRow,
    notes: SiteNotes,
    book: LoadedBook,
    rains: RainShelf,
}

async fn made_from(state: &AppState, estimate: &str) -> Result<Made, Problem> {
    let row = state.inner.store.estimate(estimate).await?.ok_or_else(|| missing("estimate"))?;
    let notes = stored_notes(&row.notes)?;
    let book = book(state, Some(&row.price_book_version_id)).await?;
    let rains = rains(state, Some(&notes)).await?;
    Ok(Made { estimate: row, notes, book, rains })
}

fn text<T: Serialize>(value: &T) -> Result<String, Problem> {
    serde_json::to_string(value).map_err(|e| Problem::internal(e.to_string()))
}

/// The next state of a plan, computed before the transaction opens: other writes go on meanwhile.
async fn next(
    state: &AppState,
    before: Option<PlanRow>,
    made: Made,
    inputs: PlanInputs,
    carried: Carried,
) -> Result<NewPlanVersion, Problem> {
    apart(state, move || after(before.as_ref(), &made, &inputs, &carried)).await?
}

/// The state after another: ids stay, sequence numbers rise where days or standing changed.
fn after(
    before: Option<&PlanRow>,
    made: &Made,
    inputs: &PlanInputs,
    carried: &Carried,
) -> Result<NewPlanVersion, Problem> {
    let (mut answer, plan) =
        pipeline::plan(&made.notes, inputs, carried, &made.book.0, &made.book.1, &made.rains)
            // the notes are those of the estimate: nothing of them was sent
            .map_err(|f| f.moved("#/notes/schedule/crews", "#").moved("#/notes/schedule", "#"))?;
    let (issued, changes) = match before {
        None => (IssuedPlan::first(&plan), Changes::default()),
        Some(row) => {
            kept::read(&row.issued).ok_or_else(|| Problem::internal("stored plan: issued"))?.revise(&plan)
        }
    };
    answer.number(&issued);
    Ok(NewPlanVersion {
        plan_id: before.map_or_else(|| new_id("plan"), |r| r.plan_id.clone()),
        job_id: made.estimate.job_id.clone(),
        number: before.map_or(1, |r| r.number + 1),
        version: i64::from(issued.version),
        estimate_id: made.estimate.id.clone(),
        inputs: text(inputs)?,
        answer: text(&answer)?,
        issued: kept::write(&issued),
        changes: text(&kept::changes(&changes))?,
    })
}

/// Writes a state behind the one it was computed from, and answers with it. States never change, so its number names that one.
async fn write(
    session: &mut Session,
    new: &NewPlanVersion,
    there: Option<&PlanRow>,
) -> Result<PlanRecord, Problem> {
    let as_read = match there {
        None => new.number == 1,
        Some(row) => (row.plan_id.as_str(), row.number + 1) == (new.plan_id.as_str(), new.number),
    };
    if !as_read {
        return Err(Problem::new(problem::CONFLICT, "the plan got another state meanwhile: ask again"));
    }
    session.write.put_plan_version(new).await?;
    let row = session.write.plan(&new.plan_id).await?.ok_or_else(|| missing("plan"))?;
    out(row)
}

/// Plan an estimate
///
/// Makes the plan of the job, or its next state when there is one: its id, the ids of its tasks and what was asked and reported
/// stay, sequence numbers rise where days change. Whoever plans beside others says what is to be there: `If-None-Match: *` makes a
/// first plan alone, `If-Match` goes on from the state that was read; without them it goes on from whatever is there.
#[utoipa::path(post, path = "/v1/estimates/{id}/plan", tag = "plans", operation_id = "createPlan",
    request_body(content = PlanInputs, description = "May be left out when the notes name a day, or the plan before.", example = json!({"start": "2027-03-02"})),
    params(("id" = String, Path, description = "Id of the estimate, `est_…`."),
        ("If-Match" = Option<String>, Header, description = "ETag of the plan of the job, or `*` for any: 412 when it is another by now, or there is none. May be left out."),
        ("If-None-Match" = Option<String>, Header, description = "`*`: 412 when the job has a plan already. An ETag: 412 when the plan is still this."),
        ("validate_only" = Option<bool>, Query, description = "Plan everything, write nothing."),
        ("Idempotency-Key" = Option<String>, Header, description = "Repeats of the same request are answered from the first.")),
    responses((status = 201, description = "The plan.", body = PlanRecord,
        headers(("Location" = String, description = "Path of the plan."), ("ETag" = String, description = "For `If-Match`.")))))]
pub async fn create_plan(
    State(state): State<AppState>,
    caller: Caller<may::PlansWrite>,
    Path(id): Path<String>,
    asked: Asked,
    OptionalBody { document, bytes }: OptionalBody<PlanInputs>,
) -> Result<Response, Problem> {
    asked.check_query()?;
    if let Some(response) = asked.replay(&state, &caller, &bytes).await? {
        return Ok(response);
    }
    let made = made_from(&state, &id).await?;
    let store = &state.inner.store;
    let before = match store.plan_of_job(&made.estimate.job_id).await? {
        Some(plan) => store.plan(&plan).await?,
        None => None,
    };
    let allowed = |row: &Option<PlanRow>| {
        asked.preconditions().check_sent(row.as_ref().map(|r| (r.plan_id.as_str(), r.number)))
    };
    allowed(&before)?;
    let (inputs, carried) = match &before {
        Some(row) => with_what_stood(document, row)?,
        None => (document, Carried::default()),
    };
    let new = next(&state, before, made, inputs, carried).await?;
    let mut session = match asked.open(&state, &caller, &bytes).await? {
        Opened::Replay(response) => return Ok(response),
        Opened::Fresh(session) => session,
    };
    let there = session.write.plan_of_job(&new.job_id).await?;
    allowed(&there)?;
    let record = write(&mut session, &new, there.as_ref()).await?;
    let reply =
        Reply::created(format!("/v1/plans/{}", new.plan_id), etag(&new.plan_id, new.number), &record)?;
    session.finish(reply).await
}

fn inputs_of(row: &PlanRow) -> Result<PlanInputs, Problem> {
    read_document(row.inputs.as_bytes()).map_err(|e| Problem::internal(e.to_string()))
}

fn list_of(progress: Vec<TaskProgress>) -> Result<List<TaskProgress, 0, 2000>, Problem> {
    List::new(progress)
        .ok_or_else(|| Problem::new(problem::STATE_CONFLICT, "a plan keeps reports of at most 2000 tasks"))
}

/// New inputs with what was asked and reported before, unless they say otherwise; and how much of them that is.
fn with_what_stood(mut inputs: PlanInputs, row: &PlanRow) -> Result<(PlanInputs, Carried), Problem> {
    let before = inputs_of(row)?;
    let (progress, mut carried) = report::joined(&before.progress, &inputs.progress);
    inputs.progress = list_of(progress)?;
    inputs.status_date = inputs.status_date.or(before.status_date);
    if inputs.start.is_none() && inputs.finish.is_none() {
        (inputs.start, inputs.finish) = (before.start, before.finish);
    }
    if inputs.not_before.is_none() {
        carried.not_before = before.not_before.as_ref().map_or(0, |days| days.len());
        inputs.not_before = before.not_before;
    }
    Ok((inputs, carried))
}

/// Report progress
///
/// Starts and finishes as they happened; the rest of the plan moves. What was reported before stays unless it is reported
/// again; `not_begun` takes it back. Needs the ETag that was read.
#[utoipa::path(post, path = "/v1/plans/{id}/progress", tag = "plans", operation_id = "reportProgress",
    request_body(content = ProgressReport, example = json!({"status_date": "2027-03-03",
        "progress": [{"task": "call_for_marks", "started_on": "2027-03-02"}]})),
    params(("id" = String, Path, description = "Id of the plan, `plan_…`."),
        ("If-Match" = String, Header, description = "ETag of the plan, or `*`."),
        ("validate_only" = Option<bool>, Query, description = "Plan everything, write nothing."),
        ("Idempotency-Key" = Option<String>, Header, description = "Repeats of the same request are answered from the first.")),
    responses((status = 200, description = "The plan as it stands now.", body = PlanRecord,
        headers(("ETag" = String, description = "For `If-Match`.")))))]
pub async fn report_progress(
    State(state): State<AppState>,
    caller: Caller<may::PlansWrite>,
    Path(id): Path<String>,
    asked: Asked,
    Body { document, bytes }: Body<ProgressReport>,
) -> Result<Response, Problem> {
    asked.check_query()?;
    if let Some(response) = asked.replay(&state, &caller, &bytes).await? {
        return Ok(response);
    }
    let row = state.inner.store.plan(&id).await?.ok_or_else(|| missing("plan"))?;
    asked.preconditions().check(&row.plan_id, row.number)?;
    let made = made_from(&state, &row.estimate_id).await?;
    let before = inputs_of(&row)?;
    let (progress, mut carried) = report::joined(&before.progress, &document.progress);
    carried.not_before = before.not_before.as_ref().map_or(0, |days| days.len());
    let progress = list_of(progress)?;
    // A wished finish alone has become a start once work is reported.
    let planned: serde_json::Value =
        serde_json::from_str(&row.answer).map_err(|e| Problem::internal(e.to_string()))?;
    let start = before.start.or_else(|| planned["start"].as_str().and_then(Day::parse));
    let inputs = PlanInputs { status_date: Some(document.status_date), progress, start, ..before };
    let new = next(&state, Some(row), made, inputs, carried).await?;
    let mut session = match asked.open(&state, &caller, &bytes).await? {
        Opened::Replay(response) => return Ok(response),
        Opened::Fresh(session) => session,
    };
    let there = session.write.plan(&id).await?.ok_or_else(|| missing("plan"))?;
    asked.preconditions().check(&there.plan_id, there.number)?;
    let record = write(&mut session, &new, Some(&there)).await?;
    session.finish(Reply::changed(etag(&new.plan_id, new.number), &record)?).await
}

/// Get a plan
///
/// Its newest state: tasks with stable ids, predecessors, hours, dates, sequence numbers.
#[utoipa::path(get, path = "/v1/plans/{id}", tag = "plans", operation_id = "getPlan",
    params(("id" = String, Path, description = "Id of the plan, `plan_…`."),
        ("If-None-Match" = Option<String>, Header, description = "304 when the ETag is still this.")),
    responses((status = 200, description = "The plan.", body = PlanRecord,
        headers(("ETag" = String, description = "For `If-Match`."))), (status = 304, description = "Not modified.")))]
pub async fn get_plan(
    State(state): State<AppState>,
    _: Caller<may::PlansRead>,
    Path(id): Path<String>,
    headers: HeaderMap,
    params: Params,
) -> Result<Response, Problem> {
    params.only(&[])?;
    let row = state.inner.store.plan(&id).await?.ok_or_else(|| missing("plan"))?;
    let tag = etag(&row.plan_id, row.number);
    reply::record(&headers, &tag, &out(row)?)
}

/// Why there is no plan of a job.
async fn no_plan(state: &AppState, job: &str) -> Result<Problem, Problem> {
    Ok(match state.inner.store.job(job).await? {
        None => missing("job"),
        Some(_) => Problem::new(
            problem::NOT_FOUND,
            "this job has no plan yet: `POST /v1/estimates/{id}/plan` on one of its estimates makes its first",
        ),
    })
}

/// Get the plan of a job
///
/// As `GET /v1/plans/{id}`, for those who know the job alone.
#[utoipa::path(get, path = "/v1/jobs/{id}/plan", tag = "plans", operation_id = "getJobPlan",
    params(("id" = String, Path, description = "Id of the job, `job_…`."),
        ("If-None-Match" = Option<String>, Header, description = "304 when the ETag is still this.")),
    responses((status = 200, description = "The plan.", body = PlanRecord,
        headers(("ETag" = String, description = "For `If-Match`."))), (status = 304, description = "Not modified.")))]
pub async fn get_job_plan(
    State(state): State<AppState>,
    _: Caller<may::PlansRead>,
    Path(id): Path<String>,
    headers: HeaderMap,
    params: Params,
) -> Result<Response, Problem> {
    params.only(&[])?;
    let Some(plan) = state.inner.store.plan_of_job(&id).await? else {
        return Err(no_plan(&state, &id).await?);
    };
    let row = state.inner.store.plan(&plan).await?.ok_or_else(|| missing("plan"))?;
    let tag = etag(&row.plan_id, row.number);
    reply::record(&headers, &tag, &out(row)?)
}

/// List the states of a plan
///
/// Newest first, with what each changed.
#[utoipa::path(get, path = "/v1/plans/{id}/versions", tag = "plans", operation_id = "listPlanVersions",
    params(("id" = String, Path, description = "Id of the plan, `plan_…`."),
        ("limit" = Option<i64>, Query, description = "1 to 200; 50 when left out.", minimum = 1, maximum = 200),
        ("cursor" = Option<String>, Query, description = "`next_cursor` of the page before.")),
    responses((status = 200, description = "A page.", body = PlanVersionPage)))]
pub async fn list_plan_versions(
    State(state): State<AppState>,
    _: Caller<may::PlansRead>,
    Path(id): Path<String>,
    OriginalUri(uri): OriginalUri,
    params: Params,
) -> Result<Response, Problem> {
    let secret = &state.inner.cursor_secret;
    let list = format!("plan versions {id}");
    let (limit, after) = limit_and_cursor(&params, secret, &list)?;
    state.inner.store.plan(&id).await?.ok_or_else(|| missing("plan"))?;
    let mut rows = state.inner.store.plan_versions(&id, after.map(|c| c.key), limit + 1).await?;
    let next_cursor = cut(&mut rows, limit, secret, &list, |r| Cursor { key: r.number, id: String::new() });
    let items = rows.into_iter().map(version_out).collect::<Result<_, Problem>>()?;
    let page = PlanVersionPage { items, next_cursor };
    Ok(with_link(reply::json(StatusCode::OK, &page)?, &uri, page.next_cursor.as_deref()))
}
