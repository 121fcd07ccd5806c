//! What a price-book version changes against another one, and the jobs it was used for.

use super::book_days::followed;
use super::versions::row;
use super::{apart, page_type, stored_notes, with_link};
use crate::app::AppState;
use crate::compute::answers::Estimate;
use crate::compute::drainage::shelf::RainShelf;
use crate::compute::pipeline;
use crate::compute::repricing::{EstimateDifference, Priced, difference};
use crate::domain::book::difference::{BookDifference, books};
use crate::domain::book::{BookRef, PriceBook, VersionState};
use crate::http::auth::{Caller, may};
use crate::http::extract::{Params, Together};
use crate::http::page::{Cursor, cut, limit_and_cursor};
use crate::http::problem::{FieldError, Problem, field_error};
use crate::http::reply;
use crate::http::timestamp::{Timestamp, timestamp};
use crate::store::book_life::VersionJobRow;
use crate::store::estimates::EstimateRow;
use crate::store::price_books::VersionRow;
use crate::wire::book::BookDoc;
use crate::wire::notes::SiteNotes;
use crate::wire::{Faults, read_document};
use axum::extract::{OriginalUri, Path, State};
use axum::http::StatusCode;
use axum::response::Response;
use serde::Serialize;
use utoipa::ToSchema;

/// Which version.
#[derive(Debug, Serialize, ToSchema)]
pub struct VersionNamed {
    /// Id, `pbv_…`.
    pub id: String,
    /// Number within its book.
    pub number: i64,
    /// Where it stands.
    #[schema(value_type = VersionState)]
    pub state: String,
}

impl From<&VersionRow> for VersionNamed {
    fn from(row: &VersionRow) -> Self {
        Self { id: row.id.clone(), number: row.number, state: row.state.clone() }
    }
}

/// What a change of price book does to one estimate.
#[derive(Debug, Serialize, ToSchema)]
pub struct VersionEffect {
    /// The revision whose site notes were computed under both versions.
    pub estimate_id: String,
    /// Figures and lines before and after; absent when the notes cannot be computed under one of the versions.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub difference: Option<EstimateDifference>,
    /// Why the notes cannot be computed under the earlier version.
    pub errors_before: Vec<FieldError>,
    /// Why the notes cannot be computed under the later version.
    pub errors_after: Vec<FieldError>,
}

/// What differs between two versions.
#[derive(Debug, Serialize, ToSchema)]
pub struct VersionDifference {
    /// The earlier version.
    pub from: VersionNamed,
    /// The later version.
    pub to: VersionNamed,
    /// The entries that differ.
    pub difference: BookDifference,
    /// The effect on the chosen estimate; absent when none was chosen.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub effect: Option<VersionEffect>,
}

fn stored_doc(row: &VersionRow) -> Result<BookDoc, Problem> {
    read_document(row.document.as_bytes()).map_err(|e| Problem::internal(e.to_string()))
}

pub(super) fn errors(faults: &Faults) -> Vec<FieldError> {
    faults.list().iter().map(field_error).collect()
}

pub(super) fn compared(estimate: &Estimate) -> Result<Priced, Problem> {
    let value = serde_json::to_value(estimate).map_err(|e| Problem::internal(e.to_string()))?;
    Priced::read(&value).ok_or_else(|| Problem::internal("an estimate cannot be compared"))
}

/// Notes under a version that may be a draft, or have been one when it was retired. The faults are those of the book, else those of the notes under it.
fn under(notes: &SiteNotes, row: &VersionRow, doc: BookDoc, rains: &RainShelf) -> Result<Estimate, Faults> {
    let book = if row.published_at.is_none() { PriceBook::check(doc)? } else { PriceBook::published(doc) };
    let used = BookRef { version_id: row.id.clone(), name: row.name.clone(), number: row.number };
    pipeline::estimate(notes, &book, &used, rains)
}

/// The version that another one is compared with: where none is named the one that it was made from, else the one that it follows.
async fn earlier(state: &AppState, to: &VersionRow, params: &Params) -> Result<VersionRow, Problem> {
    let store = &state.inner.store;
    let id = match params.get("from").or(to.made_from.as_deref()) {
        Some(id) => id.to_owned(),
        None => {
            let before = followed(to, store.ever_published(&to.book_id).await?, state.today());
            let rule =
                "this version was made from no other one, and its book has none before it: name another one";
            match before {
                Some(before) => before.id,
                // Of a book that was never published: the draft before.
                None => {
                    let earlier = store.versions(&to.book_id, Some(to.number), 1).await?.into_iter().next();
                    earlier.ok_or_else(|| params.fault("from", "required", rule, &[]))?.id
                }
            }
        }
    };
    store.version(&id).await?.ok_or_else(|| {
        params.fault("from", "unknown_version", "there is no price-book version of this id", &[])
    })
}

/// The estimate to show the effect on, if one is named.
async fn chosen(state: &AppState, params: &Params) -> Result<Option<EstimateRow>, Problem> {
    let Some(id) = params.get("estimate") else { return Ok(None) };
    let found = state.inner.store.estimate(id).await?;
    let told = || params.fault("estimate", "unknown_estimate", "there is no estimate of this id", &[]);
    found.map(Some).ok_or_else(told)
}

/// Compare two versions
///
/// Entry by entry, items with how far their prices moved; against the version that it was made from, else the one that holds today or was published
/// last before it, or another one. The order of a list is told where it decides: that of schemes, ways to get concrete, channel systems and pipes, and of the rates of a task none of
/// which is the usual one. With
/// an estimate chosen, its site notes are computed under both versions and the effect is shown line by line. Drafts can be
/// compared too. Nothing is written.
#[utoipa::path(get, path = "/v1/price-book-versions/{id}/difference", tag = "price books",
    operation_id = "comparePriceBookVersions",
    params(("id" = String, Path, description = "Id of the later version, `pbv_…`."),
        ("from" = Option<String>, Query, description = "Id of the earlier version; when left out the one it was made from, else the one of its book that holds today, else the one published last, each published before it."),
        ("estimate" = Option<String>, Query, description = "Id of an estimate revision, `est_…`, to show the effect on; the key needs the scope `estimates:read` too.")),
    responses((status = 200, description = "The difference.", body = VersionDifference)))]
pub async fn compare_price_book_versions(
    State(state): State<AppState>,
    _: Caller<may::PriceBooksRead>,
    reads_estimates: Result<Caller<may::EstimatesRead>, Problem>,
    Path(id): Path<String>,
    params: Params,
) -> Result<Response, Problem> {
    let names = params.only(&["from", "estimate"]);
    if params.get("estimate").is_some() {
        reads_estimates?;
    }
    let to = match row(&state, &id).await {
        Ok(to) => to,
        Err(problem) => return Err(names.err().unwrap_or(problem)),
    };
    let (from, estimate) = (earlier(&state, &to, &params).await, chosen(&state, &params).await);
    let ((), from, estimate) = (names, from, estimate).together()?;
    let shown = match estimate {
        None => None,
        Some(estimate) => {
            let notes = stored_notes(&estimate.notes)?;
            let rains = super::rains(&state, Some(&notes)).await?;
            Some((estimate.id, notes, rains))
        }
    };
    // Two whole books are read and checked, whatever the size of the notes.
    apart(&state, move || {
        let (before, after) = (stored_doc(&from)?, stored_doc(&to)?);
        let found = books(&before, &after);
        let effect = match shown {
            None => None,
            Some(_) if before.currency != after.currency => {
                let detail = format!("{} and {} cannot be compared", before.currency, after.currency);
                return Err(params.fault("estimate", "currency", detail, &[]));
            }
            Some((estimate_id, notes, rains)) => {
                let (old, new) = (under(&notes, &from, before, &rains), under(&notes, &to, after, &rains));
                let both = match (&old, &new) {
                    (Ok(old), Ok(new)) => Some(difference(&compared(old)?, &compared(new)?)),
                    _ => None,
                };
                Some(VersionEffect {
                    estimate_id,
                    difference: both,
                    errors_before: old.as_ref().err().map(errors).unwrap_or_default(),
                    errors_after: new.as_ref().err().map(errors).unwrap_or_default(),
                })
            }
        };
        let out = VersionDifference { from: (&from).into(), to: (&to).into(), difference: found, effect };
        reply::json(StatusCode::OK, &out)
    })
    .await?
}

/// A job that was priced from a version.
#[derive(Debug, Serialize, ToSchema)]
pub struct VersionJob {
    /// Job, `job_…`.
    pub job_id: String,
    /// Its title.
    pub title: String,
    /// How many of its revisions were made from the version.
    pub revisions: i64,
    /// The last of them.
    pub last_revision: i64,
    /// Whether that is the last revision of the job.
    pub is_newest: bool,
    /// When the job was closed; absent while it is open.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub closed_at: Option<Timestamp>,
}

page_type! {
    /// A page of jobs that were priced from a version.
    VersionJobPage of VersionJob
}

/// List the jobs of a version
///
/// Jobs with at least one estimate made from it, in order of their ids.
#[utoipa::path(get, path = "/v1/price-book-versions/{id}/jobs", tag = "price books",
    operation_id = "listPriceBookVersionJobs",
    params(("id" = String, Path, description = "Id of the version, `pbv_…`."),
        ("limit" = Option<i64>, Query, description = "1 to 200; 50 when left out.", minimum = 1, maximum = 200),
        ("cursor" = Option<String>, Query, description = "`next_cursor` of the page before.")),
    responses((status = 200, description = "A page.", body = VersionJobPage)))]
pub async fn list_price_book_version_jobs(
    State(state): State<AppState>,
    _: Caller<may::JobsRead>,
    Path(id): Path<String>,
    OriginalUri(uri): OriginalUri,
    params: Params,
) -> Result<Response, Problem> {
    let list = format!("version jobs {id}");
    let secret = &state.inner.cursor_secret;
    let (limit, after) = limit_and_cursor(&params, secret, &list)?;
    row(&state, &id).await?;
    let mut rows =
        state.inner.store.version_jobs(&id, after.as_ref().map(|c| c.id.as_str()), limit + 1).await?;
    let next_cursor = cut(&mut rows, limit, secret, &list, |r| Cursor { key: 0, id: r.id.clone() });
    let items = rows
        .into_iter()
        .map(|r| {
            let VersionJobRow { id, title, closed_at, revisions, last_revision, newest_revision } = r;
            VersionJob {
                job_id: id,
                title,
                revisions,
                last_revision,
                is_newest: last_revision == newest_revision,
                closed_at: closed_at.map(timestamp),
            }
        })
        .collect();
    let page = VersionJobPage { items, next_cursor };
    Ok(with_link(reply::json(StatusCode::OK, &page)?, &uri, page.next_cursor.as_deref()))
}
