//! Version 1 of the API.
//!
//! | file | subject |
//! |---|---|
//! | [`calculators`], [`orders`], [`plan_calculators`] | calculators: nothing is stored |
//! | [`rules`] | the rules that answers name |
//! | [`price_books`], [`versions`] | price books and the documents of their versions |
//! | [`book_life`], `book_days` | published for days, in effect, retired |
//! | [`book_changes`], [`repricing`] | what a version changes; jobs priced anew from another one |
//! | [`price_lists`] | the items of a price book as CSV, out and in |
//! | [`rain_tables`] | rain tables |
//! | [`jobs`], [`job_list`] | jobs, and the list of them |
//! | [`estimates`] | estimate revisions |
//! | [`job_orders`], [`order_files`] | purchase orders and cutting sheets; purchase orders as they leave |
//! | [`papers`], `paper_moves`, [`paper_lists`] | what papers have in common; how a move on one begins; papers of all jobs |
//! | [`quotes`], [`quote_moves`] | quotes, and what becomes of them |
//! | [`change_orders`], [`change_order_moves`] | change orders, and what becomes of them |
//! | `contracts` | the contract of a job as its papers tell it |
//! | [`invoices`], [`credit_notes`] | invoices with their voids; what is given back |
//! | [`payments`], `reports` | payments; how what the accounting system reports is recorded |
//! | [`ledger`] | the job on one page, its costs, its invoices as rows |
//! | [`prints`] | papers and sheets as pages |
//! | [`plans`], [`plan_calendar`] | kept plans, and their calendar files |
//! | [`acceptance`], [`actuals`] | the mark of acceptance; what happened on accepted jobs |
//! | [`learning`] | what finished jobs teach, and proposed rates |
//! | [`audit`] | the audit trail |

pub mod acceptance;
pub mod actuals;
pub mod audit;
pub mod book_changes;
mod book_days;
pub mod book_life;
pub mod calculators;
pub mod change_order_moves;
pub mod change_orders;
mod contracts;
pub mod credit_notes;
pub mod estimates;
pub mod invoices;
pub mod job_list;
pub mod job_orders;
pub mod jobs;
pub mod learning;
pub mod ledger;
pub mod order_files;
pub mod orders;
pub mod paper_lists;
mod paper_moves;
pub mod papers;
pub mod payments;
pub mod plan_calculators;
pub mod plan_calendar;
pub mod plans;
pub mod price_books;
pub mod price_lists;
pub mod prints;
pub mod quote_moves;
pub mod quotes;
pub mod rain_tables;
mod reports;
pub mod repricing;
pub mod rules;
pub mod versions;

use self::book_days::in_effect;
use super::problem::{self, Problem};
use super::{layers, reply};
use crate::app::{AppState, BookError, LoadedBook};
use crate::compute::answers::Estimate;
use crate::compute::drainage::shelf::{RainShelf, named_by};
use crate::compute::pipeline;
use crate::wire::notes::SiteNotes;
use crate::wire::{Code, Faults, read_document};
use axum::response::Response;
use serde::Serialize;
use std::sync::{Arc, Mutex, PoisonError};

/// A fresh id: a prefix and 26 characters that sort by time, those of one millisecond in the order in which they were asked for.
pub(crate) fn new_id(prefix: &str) -> String {
    static LAST: Mutex<ulid::Generator> = Mutex::new(ulid::Generator::new());
    let next = LAST.lock().unwrap_or_else(PoisonError::into_inner).generate();
    // More than a millisecond has ids for come in any order.
    format!("{prefix}_{}", next.unwrap_or_else(|_| ulid::Ulid::new()).to_string().to_ascii_lowercase())
}

/// The book a request is computed from.
pub(crate) async fn book(state: &AppState, version: Option<&str>) -> Result<LoadedBook, Problem> {
    state.book(version).await.map_err(|error| match error {
        BookError::Unknown => unknown_version("there is no price-book version of this id"),
        BookError::NotPublished => {
            unknown_version("this version is a draft: publish it before it is computed from")
        }
        BookError::Withdrawn => unknown_version(
            "this version was retired as a draft: publish a copy of it before it is computed from",
        ),
        BookError::NoneCurrent => {
            Problem::new(problem::NO_BOOK, "no price book is published yet; publish one or name a version")
        }
        BookError::Store(error) => error.into(),
    })
}

/// The book that a job is priced from: the version named, else that of the book of its last revision which holds today, else, for a job
/// without revisions, the current one. Another book, perhaps in another currency, is never taken by itself.
pub(crate) async fn book_of_job(
    state: &AppState,
    named: Option<&str>,
    last: Option<&str>,
) -> Result<LoadedBook, Problem> {
    let (None, Some(last)) = (named, last) else { return book(state, named).await };
    // The current version of all books holds today in its own book as well.
    if let Ok((current, used)) = state.book(None).await
        && used.version_id == last
    {
        return Ok((current, used));
    }
    let store = &state.inner.store;
    let row = store.version(last).await?.ok_or_else(|| Problem::internal("an estimate without its book"))?;
    let versions = store.published_versions(&row.book_id).await?;
    match in_effect(&versions, state.today()) {
        Some(version) => book(state, Some(&version.id)).await,
        None => Err(Problem::new(
            problem::NO_BOOK,
            format!(
                "the job's last revision is priced from `{}`, of which no version holds today: publish one or name a version",
                row.name
            ),
        )),
    }
}

/// Notes as they are kept.
pub(crate) fn stored_notes(text: &str) -> Result<SiteNotes, Problem> {
    read_document(text.as_bytes()).map_err(|e| Problem::internal(format!("stored notes: {e}")))
}

/// A computation that may take its time, on a thread of its own: other requests go on meanwhile, and the deadline holds. So many
/// run at once as the machine has cores for; a further one waits within its deadline. A place is free again when its computation has
/// ended: where a storm makes it long, soon after nobody waits for it any more ([`wanted`](crate::compute::wanted)).
pub(crate) async fn apart<T: Send + 'static>(
    state: &AppState,
    work: impl FnOnce() -> T + Send + 'static,
) -> Result<T, Problem> {
    let computing = Arc::clone(&state.inner.computing);
    let place = layers::waiting_for_a_place(computing.acquire_owned())
        .await
        .map_err(|e| Problem::internal(e.to_string()))?;
    let work = move || {
        let _place = place;
        work()
    };
    tokio::task::spawn_blocking(work).await.map_err(|e| Problem::internal(e.to_string()))
}

/// As [`apart`] where the work may be long ([`is_long`](crate::compute::effort::is_long)); at once elsewhere, where a change of
/// threads would cost more than it saves.
pub(crate) async fn apart_where<T: Send + 'static>(
    state: &AppState,
    long: bool,
    work: impl FnOnce() -> T + Send + 'static,
) -> Result<T, Problem> {
    if long { apart(state, work).await } else { Ok(work()) }
}

/// The answer of a calculator, most of which take up to `kib` KiB: computed and written by [`apart_where`].
pub(crate) async fn answered<T: Serialize>(
    state: &AppState,
    long: bool,
    kib: usize,
    work: impl FnOnce() -> Result<T, Faults> + Send + 'static,
) -> Result<Response, Problem> {
    apart_where(state, long, move || reply::computed(&work()?, kib)).await?
}

/// The estimate of notes that is kept or compared, on a thread of its own.
pub(crate) async fn estimated(
    state: &AppState,
    notes: &Arc<SiteNotes>,
    (book, used): &LoadedBook,
    rains: RainShelf,
) -> Result<Result<Estimate, Faults>, Problem> {
    let (notes, book, used) = (Arc::clone(notes), Arc::clone(book), Arc::clone(used));
    apart(state, move || pipeline::estimate(&notes, &book, &used, &rains)).await
}

/// The rain tables that notes name; a stateless calculator without notes needs none.
pub(crate) async fn rains(state: &AppState, notes: Option<&SiteNotes>) -> Result<RainShelf, Problem> {
    shelf(state, notes.and_then(named_by)).await
}

/// The rain table of a code, if one is named.
pub(crate) async fn shelf(state: &AppState, code: Option<&Code>) -> Result<RainShelf, Problem> {
    let empty = RainShelf { wanted: layers::wanted(), ..RainShelf::default() };
    let Some(code) = code else { return Ok(empty) };
    if let Some(table) = state.rain_table(code).await? {
        return Ok(RainShelf { tables: vec![(code.clone(), table)], ..empty });
    }
    let known = state.inner.store.rain_tables(None, 50).await?;
    Ok(RainShelf { known: known.iter().filter_map(|r| Code::new(&r.code)).collect(), ..empty })
}

fn unknown_version(detail: &str) -> Problem {
    let mut faults = crate::wire::Faults::new();
    faults.add(&crate::wire::At::ROOT.member("price_book_version"), "unknown_version", detail);
    Problem::faults(faults)
}

/// Nothing of this id, or not for this key.
pub(crate) fn missing(what: &str) -> Problem {
    Problem::new(problem::NOT_FOUND, format!("there is no {what} of this id"))
}

macro_rules! page_type {
    ($(#[doc = $doc:literal])+ $name:ident of $item:ty) => {
        $(#[doc = $doc])+
        #[derive(Debug, serde::Serialize, utoipa::ToSchema)]
        pub struct $name {
            /// The records of this page.
            pub items: Vec<$item>,
            /// Sends the next page as `cursor`; absent on the last page.
            #[serde(skip_serializing_if = "Option::is_none")]
            #[schema(nullable = false)]
            pub next_cursor: Option<String>,
        }
    };
}
pub(crate) use page_type;

/// The `Link` header of a page, for curl; the body's cursor is the contract.
pub(crate) fn with_link(mut response: Response, uri: &axum::http::Uri, next: Option<&str>) -> Response {
    if let Some(next) = next {
        let kept: Vec<&str> = uri
            .query()
            .unwrap_or("")
            .split('&')
            .filter(|p| !p.is_empty() && !p.starts_with("cursor="))
            .collect();
        let mut query = kept.join("&");
        if !query.is_empty() {
            query.push('&');
        }
        if let Ok(value) =
            axum::http::HeaderValue::from_str(&format!("<{}?{query}cursor={next}>; rel=\"next\"", uri.path()))
        {
            response.headers_mut().insert(axum::http::header::LINK, value);
        }
    }
    response
}
