//! What finished jobs teach: estimate against actual over many, and proposed rates in a draft price book.

use super::acceptance::accepted;
use super::papers::json_text;
use super::{apart, book, missing, new_id, rains};
use crate::app::AppState;
use crate::compute::answers::BookUsed;
use crate::compute::drainage::shelf::RainShelf;
use crate::compute::job_record::draft::with_rates;
use crate::compute::job_record::many::{Finished, GroupBy, ManyComparison, many};
use crate::compute::job_record::proposals::{Earlier, Found, Grounds, Past, RateProposals, proposals};
use crate::compute::pipeline;
use crate::domain::book::VersionState;
use crate::http::auth::{Caller, may};
use crate::http::extract::{OptionalBody, Params, Together};
use crate::http::problem::{self, Problem};
use crate::http::reply::{self, Asked, Opened, Reply};
use crate::http::timestamp::{Timestamp, timestamp};
use crate::store::actuals::ProposalRow;
use crate::wire::notes::SiteNotes;
use crate::wire::records::ProposalIn;
use crate::wire::{At, Faults};
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::Response;
use serde::Serialize;
use serde_json::value::RawValue;
use utoipa::ToSchema;

/// Most finished jobs looked at in one request, the newest first.
const MOST_JOBS: i64 = 1_000;

/// Finished jobs as they were looked at.
struct LookedAt {
    jobs: Vec<Finished>,
    /// Jobs that cannot be reckoned, with their reason.
    left_out: Vec<String>,
    more_jobs: bool,
    /// Notes and rain of the job that is asked for.
    past: Option<(SiteNotes, RainShelf)>,
}

/// Finished jobs, their hours by `version` of the price book, or by that of their own estimate; with what `past` is reckoned from.
async fn finished(state: &AppState, version: Option<&str>, past: Option<&str>) -> Result<LookedAt, Problem> {
    let mut out = LookedAt { jobs: Vec::new(), left_out: Vec::new(), more_jobs: false, past: None };
    let mut ids = state.inner.store.finished_jobs(MOST_JOBS + 1).await?;
    out.more_jobs = ids.len() as i64 > MOST_JOBS;
    ids.truncate(MOST_JOBS as usize);
    // The same answer in whatever order jobs were recorded.
    ids.sort();
    for id in ids {
        let Some(job) = accepted(state, &id).await? else { continue };
        if job.actuals.finished_on.is_none() {
            continue;
        }
        let (book, _) = book(state, Some(version.unwrap_or(&job.book_version))).await?;
        let rains = rains(state, Some(&job.notes)).await?;
        let reckoned = apart(state, move || {
            let hours = pipeline::hours_for(&job.notes, &book, &job.actuals, true, &rains);
            (hours, (job.actuals, job.ends), (job.notes, rains))
        });
        match reckoned.await? {
            (Ok(hours), (actuals, ends), from) => {
                if past == Some(id.as_str()) {
                    out.past = Some(from);
                }
                out.jobs.push(Finished { job: id, actuals, ends, hours });
            }
            (Err(faults), ..) => {
                out.left_out.push(format!("{id}: this price book cannot reckon it any more ({faults})"));
            }
        }
    }
    Ok(out)
}

/// What lines are grouped by.
///
/// # Errors
/// Every word that is none, and every one that stands there twice.
fn grouping(params: &Params) -> Result<Vec<GroupBy>, Problem> {
    const WORDS: [&str; 6] = ["job", "task", "method", "soil", "crew", "season"];
    let mut by = Vec::new();
    let mut all = Ok(());
    for word in params.get("by").unwrap_or("task").split(',').map(str::trim) {
        let (code, rule) = match GroupBy::from_word(word) {
            Some(key) if !by.contains(&key) => {
                by.push(key);
                continue;
            }
            Some(_) => ("duplicate", "each word once"),
            None => ("unknown_value", "one or several of the words, separated by commas"),
        };
        let fault = Problem::parameter("by", Some(word), code, rule, &WORDS);
        all = (all, Err::<(), _>(fault)).together().map(|_| ());
    }
    all.map(|()| by)
}

/// Compare estimate and actual over many jobs
///
/// Over finished jobs, grouped by task, method, soil, crew, season or job, each group with whether it has enough data to act
/// on. Hours are reckoned by the price book of each job's estimate, the revision that its contract stands on, by the methods as
/// done.
#[utoipa::path(get, path = "/v1/comparison", tag = "actuals", operation_id = "compareJobs",
    params(("by" = inline(Option<Vec<GroupBy>>), Query, style = Form, explode = false, description = "What lines are grouped by; several with commas between them, or each as a parameter of its own; `task` when left out.")),
    responses((status = 200, description = "The groups.", body = ManyComparison)))]
pub async fn compare_jobs(
    State(state): State<AppState>,
    _: Caller<may::ActualsRead>,
    params: Params,
) -> Result<Response, Problem> {
    let params = params.listing("by");
    let (by,) = params.all(&["by"], (grouping(&params),))?;
    let LookedAt { jobs, left_out, more_jobs, past: _ } = finished(&state, None, None).await?;
    apart(&state, move || reply::json(StatusCode::OK, &many(&jobs, &by, more_jobs, left_out))).await?
}

/// A set of proposed rates, kept with its evidence.
#[derive(Debug, Serialize, ToSchema)]
pub struct ProposalRecord {
    /// Id, `prop_…`.
    pub id: String,
    /// Book, `pb_…`.
    pub price_book_id: String,
    /// The draft with the taken rates, `pbv_…`; absent when no rate was taken.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub draft_version_id: Option<String>,
    /// When it was made.
    pub created_at: Timestamp,
    /// Key that made it.
    pub created_by: String,
    /// The rates with their evidence.
    #[schema(value_type = RateProposals)]
    pub proposals: Box<RawValue>,
}

/// The version whose rates are judged: one of this book.
async fn version(state: &AppState, book_id: &str, wanted: Option<&str>) -> Result<String, Problem> {
    let store = &state.inner.store;
    match wanted {
        Some(id) => match store.version(id).await?.filter(|v| v.book_id == book_id) {
            Some(row) => Ok(row.id),
            None => {
                let mut faults = Faults::new();
                faults.value(
                    &At::ROOT.member("price_book_version"),
                    "unknown_version",
                    id,
                    "this book has no version of this id",
                );
                Err(faults.into())
            }
        },
        None => {
            let versions = store.versions(book_id, None, 10_000).await?;
            let published = versions.into_iter().filter(|v| v.state == VersionState::Published.word());
            published.max_by_key(|v| (v.published_at, v.number)).map(|v| v.id).ok_or_else(|| {
                Problem::new(
                    problem::NO_BOOK,
                    "this book has no published version whose rates could be judged",
                )
            })
        }
    }
}

/// Proposals of old for a book whose rates went into a draft.
async fn earlier(state: &AppState, book_id: &str) -> Result<Vec<Earlier>, Problem> {
    let store = &state.inner.store;
    let kept = store.proposals(book_id).await?;
    if kept.is_empty() {
        return Ok(Vec::new());
    }
    let versions = store.versions(book_id, None, i64::MAX).await?;
    let version = |id: &str| {
        let row = versions.iter().find(|v| v.id == id)?;
        Some((row.number, row.published_at.is_some()))
    };
    let read = |row: &ProposalRow| {
        Earlier::read(&row.document, row.created_at, version).map_err(unreadable).transpose()
    };
    kept.iter().filter_map(read).collect()
}

fn unreadable(error: serde_json::Error) -> Problem {
    Problem::internal(format!("stored proposals: {error}"))
}

/// Propose rates
///
/// What finished jobs teach about the rates of this book, shrunk from class to task, old jobs fading. The taken rates go into
/// a new draft of the book with old, new and evidence kept beside it; nothing else changes. With `validate_only` nothing is
/// kept. Outliers are flagged and left out only by a person's word in `leave_out`. Hours that moved a rate which was taken before
/// move it no more: of such lines `left_out` says since which version they are in the rates. New hours weigh against them: a rate
/// that holds hours is taken to be as well known as its spread in the book says, less by its age, and learns apart from its class.
#[utoipa::path(post, path = "/v1/price-books/{id}/rate-proposals", tag = "price books", operation_id = "proposeRates",
    request_body(content = ProposalIn, description = "May be left out.", example = json!({"take": "all", "number": "median"})),
    params(("id" = String, Path, description = "Id of the book, `pb_…`."),
        ("validate_only" = Option<bool>, Query, description = "Propose everything, keep nothing."),
        ("Idempotency-Key" = Option<String>, Header, description = "Repeats of the same request are answered from the first.")),
    responses((status = 201, description = "The proposals.", body = ProposalRecord,
        headers(("Location" = String, description = "Path of the proposals.")))))]
pub async fn propose_rates(
    State(state): State<AppState>,
    caller: Caller<may::PriceBooksWrite>,
    Path(id): Path<String>,
    asked: Asked,
    OptionalBody { document, bytes }: OptionalBody<ProposalIn>,
) -> Result<Response, Problem> {
    asked.check_query()?;
    if let Some(response) = asked.replay(&state, &caller, &bytes).await? {
        return Ok(response);
    }
    state.inner.store.book(&id).await?.ok_or_else(|| missing("price book"))?;
    let version = version(&state, &id, document.price_book_version.as_ref().map(|v| v.as_str())).await?;
    let (judged, used) = book(&state, Some(&version)).await?;
    let as_of = document.as_of.map_or_else(|| state.today(), |day| day.date());
    let past = document.effect_on_job.as_ref().map(|id| id.as_str());
    let LookedAt { jobs, left_out, more_jobs, past } = finished(&state, Some(&version), past).await?;
    if jobs.is_empty() {
        return Err(Problem::new(
            problem::STATE_CONFLICT,
            "there is nothing to learn from: no finished job that this price book can reckon",
        ));
    }
    let used = BookUsed::from(used.as_ref());
    let doc = judged.doc().clone();
    let earlier = earlier(&state, &id).await?;
    let propose = move || {
        let past = past.as_ref().map(|(notes, rains)| Past { notes, rains });
        let grounds = Grounds { as_of, book: &judged, used, earlier: &earlier, left_out, more_jobs, past };
        proposals(&jobs, &document, grounds)
    };
    let found: Found = apart(&state, propose).await??;
    let shown = json_text(&found.proposals)?;
    let mut session = match asked.open(&state, &caller, &bytes).await? {
        Opened::Replay(response) => return Ok(response),
        Opened::Fresh(session) => session,
    };
    let draft = if found.taken.is_empty() { None } else { Some(new_id("pbv")) };
    if let Some(draft) = &draft {
        let text = json_text(&with_rates(&doc, &found))?;
        session.write.put_version_from(draft, &id, &text, Some(&version)).await?;
    }
    let proposal_id = new_id("prop");
    let kept = format!(
        "{{\"draft_version_id\":{},\"learned_from\":{},\"proposals\":{shown}}}",
        json_text(&draft)?,
        json_text(&found.learned_from)?
    );
    session.write.put_proposal(&proposal_id, &id, &kept).await?;
    let record = ProposalRecord {
        id: proposal_id.clone(),
        price_book_id: id,
        // What is not kept has no draft.
        draft_version_id: draft.filter(|_| !session.is_dry_run()),
        created_at: timestamp(session.now()),
        created_by: caller.key_id.clone(),
        proposals: RawValue::from_string(shown).map_err(|e| Problem::internal(e.to_string()))?,
    };
    let body = serde_json::to_vec(&record).map_err(|e| Problem::internal(e.to_string()))?;
    let location = Some(format!("/v1/rate-proposals/{proposal_id}"));
    session.finish(Reply { status: StatusCode::CREATED, location, etag: None, body }).await
}

/// Get proposed rates
///
/// With old, new and evidence, as they were proposed.
#[utoipa::path(get, path = "/v1/rate-proposals/{id}", tag = "price books", operation_id = "getRateProposal",
    params(("id" = String, Path, description = "Id of the proposals, `prop_…`.")),
    responses((status = 200, description = "The proposals.", body = ProposalRecord)))]
pub async fn get_rate_proposal(
    State(state): State<AppState>,
    _: Caller<may::PriceBooksRead>,
    Path(id): Path<String>,
    params: Params,
) -> Result<Response, Problem> {
    params.only(&[])?;
    let row = state.inner.store.proposal(&id).await?.ok_or_else(|| missing("set of proposed rates"))?;
    #[derive(serde::Deserialize)]
    struct Kept {
        draft_version_id: Option<String>,
        proposals: Box<RawValue>,
    }
    let ProposalRow { id, book_id, document, created_at, created_by } = row;
    let Kept { draft_version_id, proposals } = serde_json::from_str(&document).map_err(unreadable)?;
    let created_at = timestamp(created_at);
    let record =
        ProposalRecord { id, price_book_id: book_id, draft_version_id, created_at, created_by, proposals };
    reply::json(StatusCode::OK, &record)
}
