//! Jobs priced anew from another version: one, or the open ones in batches.

use super::book_changes::{compared, errors};
use super::contracts::accepted_quote;
use super::estimates::{EstimateFacts, new_revision, tag};
use super::versions::{allowed, row};
use super::{book, book_of_job, estimated, missing, stored_notes};
use crate::app::{AppState, LoadedBook};
use crate::compute::ENGINE;
use crate::compute::answers::Estimate;
use crate::compute::repricing::{EstimateDifference, Priced, difference};
use crate::domain::book::VersionState;
use crate::http::auth::{Caller, may};
use crate::http::extract::OptionalBody;
use crate::http::page::{Cursor, cut, limit_within};
use crate::http::problem::{self, FieldError, Problem};
use crate::http::reply::{Asked, Opened, Reply, Session};
use crate::store::actuals::AcceptanceRow;
use crate::store::book_life::PricedRow;
use crate::store::papers::PaperRow;
use crate::units::Amount;
use crate::wire::{Faults, Label};
use crate::{wire_enum, wire_object};
use axum::extract::{Path, State};
use axum::response::Response;
use serde::Serialize;
use std::sync::Arc;
use utoipa::ToSchema;

/// Most jobs priced anew by one request.
const MOST_JOBS: i64 = 50;
/// Jobs priced anew by one request that names no limit.
const USUAL_JOBS: i64 = 20;

wire_object! {
    /// From which price book a job is priced anew.
    pub struct RepriceIn {
        /// Price-book version; when left out the one of the book of the job's last revision that holds today.
        pub price_book_version: Option<Label>,
    }
}

wire_enum! {
    /// What came of pricing a job anew.
    pub enum RepriceOutcome {
        /// a new revision was made
        Repriced = "repriced",
        /// its last revision was made from this version by this engine already
        AlreadyPriced = "already_priced",
        /// the customer accepted it, by a quote or by the mark: its price changes by a change order only
        Accepted = "accepted",
        /// it got another revision meanwhile; ask again
        ChangedMeanwhile = "changed_meanwhile",
        /// its notes cannot be computed from this version; the errors say why
        Refused = "refused",
    }
}

/// A job priced anew.
#[derive(Debug, Serialize, ToSchema)]
pub struct RepricedJob {
    /// Job, `job_…`.
    pub job_id: String,
    /// Its title.
    pub title: String,
    /// What came of it.
    pub outcome: RepriceOutcome,
    /// The revision whose site notes were taken: the last one of the job.
    pub from_revision: i64,
    /// Price-book version of that revision.
    pub from_version_id: String,
    /// The new revision; absent when none was made.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub estimate: Option<EstimateFacts>,
    /// The new revision against the one before; absent when none was made.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub difference: Option<EstimateDifference>,
    /// Why the notes cannot be computed, with pointers into them.
    pub errors: Vec<FieldError>,
}

/// A batch of jobs priced anew.
#[derive(Debug, Serialize, ToSchema)]
pub struct RepricePage {
    /// Price-book version they were priced from.
    pub price_book_version_id: String,
    /// The jobs of this batch.
    pub items: Vec<RepricedJob>,
    /// How many got a new revision.
    pub repriced: usize,
    /// How many were refused.
    pub refused: usize,
    /// How many open jobs are passed over, in all batches together, because their last revision was made from another book; none with
    /// `all_books=true`.
    pub of_other_books: i64,
    /// Sum of the new revisions' totals less the ones before.
    pub difference: Amount,
    /// Sends the next batch as `cursor`; absent on the last one.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub next_cursor: Option<String>,
}

/// A job as computed, before anything is written.
struct Computed {
    row: PricedRow,
    estimate: Option<(Box<Estimate>, EstimateDifference)>,
    outcome: RepriceOutcome,
    errors: Vec<FieldError>,
}

/// Whether the customer accepted a job, by the mark or by a quote. Asked before computing, which spares the work, and again in
/// the transaction, for a yes that came meanwhile.
fn agreed(mark: Option<&AcceptanceRow>, papers: &[PaperRow]) -> bool {
    mark.is_some() || accepted_quote(papers).is_some()
}

async fn compute(state: &AppState, row: PricedRow, loaded: &LoadedBook) -> Result<Computed, Problem> {
    let (book, used) = loaded;
    let none = |row, outcome, errors| Ok(Computed { row, estimate: None, outcome, errors });
    let store = &state.inner.store;
    if agreed(store.acceptance(&row.job_id).await?.as_ref(), &store.papers(&row.job_id).await?) {
        return none(row, RepriceOutcome::Accepted, Vec::new());
    }
    if row.price_book_version_id == used.version_id && row.engine == ENGINE {
        return none(row, RepriceOutcome::AlreadyPriced, Vec::new());
    }
    let notes = Arc::new(stored_notes(&row.notes)?);
    let rains = super::rains(state, Some(&notes)).await?;
    let estimate = match estimated(state, &notes, loaded, rains).await? {
        Ok(estimate) => estimate,
        Err(faults) => return none(row, RepriceOutcome::Refused, errors(&faults)),
    };
    let stored: serde_json::Value =
        serde_json::from_str(&row.answer).map_err(|e| Problem::internal(e.to_string()))?;
    let before =
        Priced::read(&stored).ok_or_else(|| Problem::internal("a stored estimate cannot be compared"))?;
    let currency = stored.get("currency").and_then(|c| c.as_str()).unwrap_or_default();
    if currency != book.currency().word() {
        let mut faults = Faults::new();
        let detail = format!("the last revision is in {currency}, this version is in {}", book.currency());
        faults.add(&crate::wire::At::ROOT, "currency", detail).allow([currency]);
        return none(row, RepriceOutcome::Refused, errors(&faults));
    }
    let found = difference(&before, &compared(&estimate)?);
    Ok(Computed {
        row,
        estimate: Some((Box::new(estimate), found)),
        outcome: RepriceOutcome::Repriced,
        errors: Vec::new(),
    })
}

async fn write(session: &mut Session, computed: Computed) -> Result<RepricedJob, Problem> {
    let Computed { row, estimate, outcome, errors } = computed;
    let PricedRow { job_id, title, id: from, revision, price_book_version_id, engine: _, notes, answer: _ } =
        row;
    let mut out = RepricedJob {
        job_id: job_id.clone(),
        title,
        outcome,
        from_revision: revision,
        from_version_id: price_book_version_id,
        estimate: None,
        difference: None,
        errors,
    };
    let Some((estimate, found)) = estimate else { return Ok(out) };
    if agreed(session.write.acceptance(&job_id).await?.as_ref(), &session.write.papers(&job_id).await?) {
        out.outcome = RepriceOutcome::Accepted;
        return Ok(out);
    }
    if session.write.last_revision(&job_id).await? != revision {
        out.outcome = RepriceOutcome::ChangedMeanwhile;
        return Ok(out);
    }
    let new = new_revision(job_id, notes, &estimate)?;
    let row = session.write.put_estimate(&new).await?;
    let facts = EstimateFacts::of(&new, row, session);
    let detail = serde_json::json!({"from": from, "before": found.before.total, "after": found.after.total});
    session.write.audit("estimate.reprice", &new.id, detail).await?;
    out.estimate = (!session.is_dry_run()).then_some(facts);
    out.difference = Some(found);
    Ok(out)
}

fn accepted() -> Problem {
    Problem::new(
        problem::STATE_CONFLICT,
        "the customer accepted this job and its price is agreed: a new estimate and, where there is a quote, a change order \
         change it (`POST /v1/jobs/{id}/change-orders`)",
    )
}

/// Price a job anew
///
/// A new revision from the site notes of the job's last one and another price book, with the difference shown. A job whose
/// last revision was made from this version already is left as it is; one that the customer accepted is refused. Without a version, the
/// one of the book of its last revision that holds today.
#[utoipa::path(post, path = "/v1/jobs/{id}/reprice", tag = "estimates", operation_id = "repriceJob",
    request_body(content = RepriceIn, description = "May be left out.", example = json!({})),
    params(("id" = String, Path, description = "Id of the job, `job_…`."),
        ("validate_only" = Option<bool>, Query, description = "Compute everything, write nothing."),
        ("Idempotency-Key" = Option<String>, Header, description = "Repeats of the same request are answered from the first.")),
    responses((status = 200, description = "No new revision was needed.", body = RepricedJob),
        (status = 201, description = "The new revision.", body = RepricedJob,
            headers(("Location" = String, description = "Path of the revision."),
                ("ETag" = String, description = "Of the revision; never changes.")))))]
pub async fn reprice_job(
    State(state): State<AppState>,
    caller: Caller<may::EstimatesWrite>,
    Path(id): Path<String>,
    asked: Asked,
    OptionalBody { document, bytes }: OptionalBody<RepriceIn>,
) -> Result<Response, Problem> {
    asked.check_query()?;
    if let Some(response) = asked.replay(&state, &caller, &bytes).await? {
        return Ok(response);
    }
    let job = state.inner.store.job(&id).await?.ok_or_else(|| missing("job"))?;
    if job.closed_at.is_some() {
        return Err(Problem::new(
            problem::STATE_CONFLICT,
            "this job is closed and is not priced anew: open it with a PATCH of `closed: false`",
        ));
    }
    let last = state.inner.store.job_priced(&id).await?.ok_or_else(|| {
        Problem::new(problem::STATE_CONFLICT, "this job has no estimate to price anew: make one first")
    })?;
    let named = document.price_book_version.as_ref().map(|v| v.as_str());
    let loaded = book_of_job(&state, named, Some(&last.price_book_version_id)).await?;
    let computed = compute(&state, last, &loaded).await?;
    if computed.outcome == RepriceOutcome::Accepted {
        return Err(accepted());
    }
    if computed.outcome == RepriceOutcome::Refused {
        let mut again = Faults::new();
        for error in &computed.errors {
            again.add(
                &crate::wire::At::ROOT,
                "cannot_be_priced",
                format!("{}: {}", error.pointer.as_deref().unwrap_or("#"), error.detail),
            );
        }
        return Err(Problem::with_faults(
            problem::VALIDATION_FAILED,
            "the notes of the last revision cannot be computed from this version; the places are in the notes",
            &again,
        ));
    }
    let mut session = match asked.open(&state, &caller, &bytes).await? {
        Opened::Replay(response) => return Ok(response),
        Opened::Fresh(session) => session,
    };
    let done = write(&mut session, computed).await?;
    let reply = match &done.estimate {
        Some(facts) => Reply::created(format!("/v1/estimates/{}", facts.id), tag(&facts.id), &done)?,
        None if done.outcome == RepriceOutcome::Accepted => return Err(accepted()),
        None if done.outcome == RepriceOutcome::ChangedMeanwhile => {
            return Err(Problem::new(problem::CONFLICT, "the job got another revision meanwhile: ask again"));
        }
        None => Reply::answered(&done)?,
    };
    session.finish(reply).await
}

/// Price open jobs anew
///
/// One batch of the open jobs whose last estimate was made from a version of the same book, in order of their ids: each gets a
/// new revision from the site notes of that estimate and this version, with the difference shown. `all_books=true` takes every
/// open job that has an estimate, from whichever book; without it `of_other_books` says how many of other books are passed over. Jobs priced from it already are left as they are, so a
/// batch may be asked for again; so are jobs that a customer accepted, each listed as such. Jobs whose notes cannot be
/// computed from it are listed with the reasons; the others go on. The batch is written as a whole; go on with `next_cursor`
/// until there is none.
#[utoipa::path(post, path = "/v1/price-book-versions/{id}/reprice", tag = "estimates", operation_id = "repriceOpenJobs",
    params(("id" = String, Path, description = "Id of the published version, `pbv_…`."),
        ("all_books" = Option<bool>, Query, description = "Also the jobs that were priced from other books; false when left out."),
        ("limit" = Option<i64>, Query, description = "1 to 50 jobs; 20 when left out.", minimum = 1, maximum = 50),
        ("cursor" = Option<String>, Query, description = "`next_cursor` of the batch before."),
        ("validate_only" = Option<bool>, Query, description = "Compute everything, write nothing."),
        ("Idempotency-Key" = Option<String>, Header, description = "Repeats of the same request are answered from the first.")),
    responses((status = 200, description = "The batch.", body = RepricePage)))]
pub async fn reprice_open_jobs(
    State(state): State<AppState>,
    caller: Caller<may::EstimatesWrite>,
    Path(id): Path<String>,
    asked: Asked,
) -> Result<Response, Problem> {
    let params = asked.params();
    let all_books = params.flag("all_books");
    // The next batch is of the same jobs.
    let list = format!("reprice {id}{}", if matches!(all_books, Ok(true)) { " all books" } else { "" });
    let secret = &state.inner.cursor_secret;
    let (all_books, limit, after) = asked.check_query_with(
        &["all_books", "limit", "cursor"],
        (all_books, limit_within(params, USUAL_JOBS, MOST_JOBS), Cursor::read(params, secret, &list)),
    )?;
    if let Some(response) = asked.replay(&state, &caller, b"").await? {
        return Ok(response);
    }
    let version = row(&state, &id).await?;
    allowed(&version, VersionState::Published, "used to price jobs anew")?;
    let loaded = book(&state, Some(&id)).await?;
    let of_book = (!all_books).then_some(version.book_id.as_str());
    let after = after.as_ref().map(|c| c.id.as_str());
    let mut rows = state.inner.store.open_jobs_priced(of_book, after, limit + 1).await?;
    let of_other_books = match of_book {
        Some(book) => state.inner.store.open_jobs_of_other_books(book).await?,
        None => 0,
    };
    let next_cursor = cut(&mut rows, limit, secret, &list, |r| Cursor { key: 0, id: r.job_id.clone() });
    let mut computed = Vec::with_capacity(rows.len());
    for row in rows {
        computed.push(compute(&state, row, &loaded).await?);
    }
    let mut session = match asked.open(&state, &caller, b"").await? {
        Opened::Replay(response) => return Ok(response),
        Opened::Fresh(session) => session,
    };
    let mut items = Vec::with_capacity(computed.len());
    for job in computed {
        items.push(write(&mut session, job).await?);
    }
    let counted = |outcome| items.iter().filter(|i| i.outcome == outcome).count();
    let out = RepricePage {
        price_book_version_id: id,
        repriced: counted(RepriceOutcome::Repriced),
        refused: counted(RepriceOutcome::Refused),
        of_other_books,
        difference: items.iter().filter_map(|i| i.difference.as_ref()).map(|d| d.difference.total).sum(),
        items,
        next_cursor,
    };
    session.finish(Reply::answered(&out)?).await
}
