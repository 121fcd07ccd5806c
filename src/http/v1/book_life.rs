//! The life of price-book versions: published for days, in effect, retired; no overlap, no gap unseen.

use super::book_days::{
    asked_period, followed, gaps, in_effect, list, make_room, on_no_day, period_of, refuse_gap, taken_over,
};
use super::missing;
use super::versions::{PublishedOut, VersionOut, VersionTold, allowed, answered, document_before, state_of};
use crate::app::AppState;
use crate::compute::second_look::{self, Beside};
use crate::domain::book::periods::Period;
use crate::domain::book::{PriceBook, VersionState};
use crate::http::auth::{Caller, may};
use crate::http::extract::{OptionalBody, Params};
use crate::http::problem::{self, Problem};
use crate::http::reply::{self, Asked, Opened};
use crate::wire::book::BookDoc;
use crate::wire::day::Day;
use crate::wire::read_document;
use crate::wire::scalar::Flag;
use crate::wire_object;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::Response;
use serde::Serialize;
use utoipa::ToSchema;

wire_object! {
    /// The days for which a version is published.
    pub struct PublishIn {
        /// First day; when left out, the version holds wherever no dated version of the book does.
        pub effective_from: Option<Day>,
        /// The day after the last; for ever when left out.
        pub effective_to: Option<Day>,
        /// Lets a version that holds when this one begins end on that day.
        pub ends_previous: Flag,
        /// Accepts that days are left for which no version holds.
        pub allow_gap: Flag,
    }
}

wire_object! {
    /// How a version is retired.
    pub struct RetireIn {
        /// Accepts that days are left for which no version holds.
        pub allow_gap: Flag,
    }
}

/// Days, from `from` on up to but not including `to`.
#[derive(Debug, Serialize, ToSchema)]
pub struct DaysOut {
    /// First day.
    #[schema(format = Date, example = "2027-03-01")]
    pub from: String,
    /// The day after the last; absent for ever.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false, format = Date, example = "2027-06-01")]
    pub to: Option<String>,
}

/// Which version of a book holds when.
#[derive(Debug, Serialize, ToSchema)]
pub struct TimelineOut {
    /// Book, `pb_…`.
    pub price_book_id: String,
    /// Which day it is at the office.
    #[schema(format = Date, example = "2027-03-01")]
    pub today: String,
    /// Id of the version that holds today; absent when none does.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub in_effect: Option<String>,
    /// Dated published versions, in order of their days.
    pub dated: Vec<VersionOut>,
    /// Undated published versions, last published first; the first one holds wherever no dated one does.
    pub undated: Vec<VersionOut>,
    /// Days from today on for which no version holds.
    pub gaps: Vec<DaysOut>,
}

impl From<&Period> for DaysOut {
    fn from(period: &Period) -> Self {
        Self { from: period.from().to_string(), to: period.to().map(|d| d.to_string()) }
    }
}

/// Publish a version
///
/// Checks the whole document and freezes it for ever. With `effective_from` it holds for those days: days that another
/// version has are refused with the days that are free, and days left without a version must be accepted with
/// `allow_gap`: those from today on, and those gone by that the version ended by this one had. Without it, it holds wherever no
/// dated version does, the one published last first. Where it holds on no day for the dated ones, and where an undated version
/// takes days over from the one that ends, `warnings` tell.
///
/// What stops the document from being published is told with pointers into the document, as
/// `POST /v1/price-book-versions/{id}/check` tells it: `#/items/3/price` is a member of the document,
/// `#/effective_from` one of this request. What stops nothing but should be looked at again is answered with the version.
#[utoipa::path(post, path = "/v1/price-book-versions/{id}/publish", tag = "price books",
    operation_id = "publishPriceBookVersion",
    request_body(content = PublishIn, description = "May be left out.", example = json!({"effective_from": "2026-01-01"})),
    params(("id" = String, Path, description = "Id of the version, `pbv_…`."),
        ("If-Match" = String, Header, description = "ETag of the version, or `*`."),
        ("validate_only" = Option<bool>, Query, description = "Check everything, write nothing."),
        ("Idempotency-Key" = Option<String>, Header, description = "Repeats of the same request are answered from the first.")),
    responses((status = 200, description = "The published version.", body = PublishedOut,
        headers(("ETag" = String, description = "For `If-Match`.")))))]
pub async fn publish_price_book_version(
    State(state): State<AppState>,
    caller: Caller<may::PriceBooksWrite>,
    Path(id): Path<String>,
    asked: Asked,
    OptionalBody { document: body, bytes }: OptionalBody<PublishIn>,
) -> Result<Response, Problem> {
    asked.check_query()?;
    let period = asked_period(&body)?;
    let mut session = match asked.open(&state, &caller, &bytes).await? {
        Opened::Replay(response) => return Ok(response),
        Opened::Fresh(session) => session,
    };
    let row = session.write.version(&id).await?.ok_or_else(|| missing("price-book version"))?;
    asked.preconditions().check(&row.id, row.row_version)?;
    allowed(&row, VersionState::Draft, "published")?;
    let document: BookDoc =
        read_document(row.document.as_bytes()).map_err(|e| Problem::internal(e.to_string()))?;
    let day = body.effective_from.map_or_else(|| state.today(), Day::date);
    let before = match followed(&row, session.write.ever_published(&row.book_id).await?, day) {
        Some(before) => document_before(session.write.version(&before.id).await?),
        None => None,
    };
    let second_looks = second_look::of(&document, Beside { day, before: before.as_ref() });
    PriceBook::check(document)?;
    let warnings = match period {
        Some(period) => make_room(&mut session, &row, period, &body, state.today()).await?,
        None => on_no_day(&row, &session.write.published_versions(&row.book_id).await?, state.today()),
    };
    let (from, to) = (body.effective_from.map(|d| d.to_string()), body.effective_to.map(|d| d.to_string()));
    session.write.publish_version_for(&id, row.row_version, from.as_deref(), to.as_deref()).await?;
    let response = answered(session, &id, |version| PublishedOut { version, warnings, second_looks }).await?;
    state.forget_current();
    Ok(response)
}

/// Retire a version
///
/// It is no longer taken by itself on any day; estimates made from it keep naming it. Days from today on that are left
/// without a version must be accepted with `allow_gap`: also where the only version, or the last undated one, goes. Where an
/// undated version takes its days over, `warnings` tell which, and that a version ended by this one still ends. A draft that is not
/// wanted any more is withdrawn by it, for good: it is never published.
#[utoipa::path(post, path = "/v1/price-book-versions/{id}/retire", tag = "price books",
    operation_id = "retirePriceBookVersion",
    request_body(content = RetireIn, description = "May be left out.", example = json!({"allow_gap": true})),
    params(("id" = String, Path, description = "Id of the version, `pbv_…`."),
        ("If-Match" = String, Header, description = "ETag of the version, or `*`."),
        ("validate_only" = Option<bool>, Query, description = "Check everything, write nothing."),
        ("Idempotency-Key" = Option<String>, Header, description = "Repeats of the same request are answered from the first.")),
    responses((status = 200, description = "The retired version.", body = VersionTold,
        headers(("ETag" = String, description = "For `If-Match`.")))))]
pub async fn retire_price_book_version(
    State(state): State<AppState>,
    caller: Caller<may::PriceBooksWrite>,
    Path(id): Path<String>,
    asked: Asked,
    OptionalBody { document: body, bytes }: OptionalBody<RetireIn>,
) -> Result<Response, Problem> {
    asked.check_query()?;
    let mut session = match asked.open(&state, &caller, &bytes).await? {
        Opened::Replay(response) => return Ok(response),
        Opened::Fresh(session) => session,
    };
    let row = session.write.version(&id).await?.ok_or_else(|| missing("price-book version"))?;
    asked.preconditions().check(&row.id, row.row_version)?;
    if state_of(&row)? == VersionState::Draft {
        session.write.retire_version(&id, row.row_version).await?;
        return answered(session, &id, |version| VersionTold { version, warnings: Vec::new() }).await;
    }
    allowed(&row, VersionState::Published, "retired")?;
    let mut others = session.write.published_versions(&row.book_id).await?;
    let first_undated = others.iter().find(|o| o.effective_from.is_none()).is_some_and(|o| o.id == row.id);
    others.retain(|o| o.id != row.id);
    let left: Vec<Period> = gaps(&others, state.today())
        .into_iter()
        .filter(|g| period_of(&row).is_none_or(|p| g.overlaps(&p)))
        .collect();
    refuse_gap(&left, body.allow_gap, "allow_gap")?;
    let warnings = taken_over((&row, first_undated), &others, state.today());
    session.write.retire_version(&id, row.row_version).await?;
    let response = answered(session, &id, |version| VersionTold { version, warnings }).await?;
    state.forget_current();
    Ok(response)
}

/// Get the timeline of a price book
///
/// Which version holds on which days, which one holds today, and the days from today on for which none does.
#[utoipa::path(get, path = "/v1/price-books/{id}/timeline", tag = "price books", operation_id = "getPriceBookTimeline",
    params(("id" = String, Path, description = "Id of the book, `pb_…`.")),
    responses((status = 200, description = "The timeline.", body = TimelineOut)))]
pub async fn get_price_book_timeline(
    State(state): State<AppState>,
    _: Caller<may::PriceBooksRead>,
    Path(id): Path<String>,
    params: Params,
) -> Result<Response, Problem> {
    params.only(&[])?;
    state.inner.store.book(&id).await?.ok_or_else(|| missing("price book"))?;
    let rows = state.inner.store.published_versions(&id).await?;
    let today = state.today();
    let gaps = gaps(&rows, today).iter().map(DaysOut::from).collect();
    let in_effect = in_effect(&rows, today).map(|r| r.id.clone());
    let (dated, undated): (Vec<_>, Vec<_>) = rows.into_iter().partition(|r| r.effective_from.is_some());
    let out = TimelineOut {
        price_book_id: id,
        today: today.to_string(),
        in_effect,
        dated: dated.into_iter().map(VersionOut::from).collect(),
        undated: undated.into_iter().map(VersionOut::from).collect(),
        gaps,
    };
    reply::json(StatusCode::OK, &out)
}

/// Get the version in effect
///
/// The version of the book that holds on a day. 404 `no-price-in-effect` when none does.
#[utoipa::path(get, path = "/v1/price-books/{id}/in-effect", tag = "price books",
    operation_id = "getPriceBookVersionInEffect",
    params(("id" = String, Path, description = "Id of the book, `pb_…`."),
        ("on" = Option<String>, Query, description = "The day, as `2027-03-01`; today when left out.", format = Date, example = "2027-03-01")),
    responses((status = 200, description = "The version.", body = VersionOut)))]
pub async fn get_price_book_version_in_effect(
    State(state): State<AppState>,
    _: Caller<may::PriceBooksRead>,
    Path(id): Path<String>,
    params: Params,
) -> Result<Response, Problem> {
    let (day,) = params.all(&["on"], (params.day("on"),))?;
    let day = day.map_or_else(|| state.today(), Day::date);
    state.inner.store.book(&id).await?.ok_or_else(|| missing("price book"))?;
    let rows = state.inner.store.published_versions(&id).await?;
    match in_effect(&rows, day) {
        Some(row) => reply::json(StatusCode::OK, &VersionOut::from(row.clone())),
        None => {
            let held: Vec<Period> = rows.iter().filter_map(period_of).collect();
            let held = if held.is_empty() { "none".to_owned() } else { list(&held).join("; ") };
            Err(Problem::new(
                problem::NO_PRICE,
                format!("no version of this book holds on {day}; versions hold from: {held}"),
            ))
        }
    }
}
