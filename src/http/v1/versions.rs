//! Versions of price books: drafts that are edited, published ones that never change.

use super::book_days::followed;
use super::{missing, page_type};
use crate::app::AppState;
use crate::compute::second_look::{self, Beside, SecondLook};
use crate::domain::book::{PriceBook, VersionState};
use crate::http::auth::{Caller, may};
use crate::http::extract::{Params, Patch, WHOLE_BOOK, etag, patched};
use crate::http::problem::{self, FieldError, Problem, field_error};
use crate::http::reply::{self, Asked, Opened, Reply, Session};
use crate::http::timestamp::{Timestamp, timestamp};
use crate::store::price_books::VersionRow;
use crate::wire::book::BookDoc;
use crate::wire::changes::changes;
use crate::wire::day::Day;
use crate::wire::read_document;
use axum::extract::{Path, State};
use axum::http::{HeaderMap, StatusCode};
use axum::response::Response;
use serde::Serialize;
use utoipa::ToSchema;

/// Facts of a version.
#[derive(Debug, Serialize, ToSchema)]
pub struct VersionOut {
    /// Id, `pbv_…`.
    pub id: String,
    /// Book, `pb_…`.
    pub price_book_id: String,
    /// Name of the book.
    pub name: String,
    /// Number within the book, from 1.
    pub number: i64,
    /// Where it stands.
    #[schema(value_type = VersionState)]
    pub state: String,
    /// Row version, as in the ETag.
    pub version: i64,
    /// When it was made.
    pub created_at: Timestamp,
    /// When it last changed.
    pub updated_at: Timestamp,
    /// When it was published.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub published_at: Option<Timestamp>,
    /// When it was retired.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub retired_at: Option<Timestamp>,
    /// First day for which it holds; absent when it holds wherever no dated version of the book does.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false, format = Date, example = "2027-03-01")]
    pub effective_from: Option<String>,
    /// The day after the last for which it holds; absent when it holds for ever.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false, format = Date, example = "2027-06-01")]
    pub effective_to: Option<String>,
    /// Id of the version that it was made from, as a copy, by a price list or with proposed rates; absent when its document was sent.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub made_from: Option<String>,
}

page_type! {
    /// A page of versions.
    VersionPage of VersionOut
}

impl From<VersionRow> for VersionOut {
    fn from(row: VersionRow) -> Self {
        let VersionRow {
            id,
            book_id,
            name,
            number,
            state,
            document: _,
            row_version,
            created_at,
            updated_at,
            published_at,
            retired_at,
            effective_from,
            effective_to,
            made_from,
        } = row;
        Self {
            id,
            price_book_id: book_id,
            name,
            number,
            state,
            version: row_version,
            created_at: timestamp(created_at),
            updated_at: timestamp(updated_at),
            published_at: published_at.map(timestamp),
            retired_at: retired_at.map(timestamp),
            effective_from,
            effective_to,
            made_from,
        }
    }
}

/// A version that was just retired.
#[derive(Debug, Serialize, ToSchema)]
pub struct VersionTold {
    /// Its facts.
    #[serde(flatten)]
    pub version: VersionOut,
    /// What to look at; told once, and not kept.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub warnings: Vec<String>,
}

/// What a check of a draft says.
#[derive(Debug, Serialize, ToSchema)]
pub struct CheckReport {
    /// Whether the version may be published.
    pub publishable: bool,
    /// Everything that stops it, with pointers into the document.
    pub errors: Vec<FieldError>,
    /// What stops nothing but should be looked at again: figures far from what is usual, each with its place, what stands there,
    /// what is usual and who says so.
    pub second_looks: Vec<SecondLook>,
}

/// A version that has been published.
#[derive(Debug, Serialize, ToSchema)]
pub struct PublishedOut {
    /// Its facts.
    #[serde(flatten)]
    pub version: VersionOut,
    /// What to look at of its days; told once, and not kept.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub warnings: Vec<String>,
    /// What stopped nothing but should be looked at again, as its check tells it.
    pub second_looks: Vec<SecondLook>,
}

pub(super) async fn row(state: &AppState, id: &str) -> Result<VersionRow, Problem> {
    state.inner.store.version(id).await?.ok_or_else(|| missing("price-book version"))
}

/// Get a version
///
/// Its facts; the document has a path of its own.
#[utoipa::path(get, path = "/v1/price-book-versions/{id}", tag = "price books", operation_id = "getPriceBookVersion",
    params(("id" = String, Path, description = "Id of the version, `pbv_…`."),
        ("If-None-Match" = Option<String>, Header, description = "304 when the ETag is still this.")),
    responses((status = 200, description = "The version.", body = VersionOut,
        headers(("ETag" = String, description = "For `If-Match`."))), (status = 304, description = "Not modified.")))]
pub async fn get_price_book_version(
    State(state): State<AppState>,
    _: Caller<may::PriceBooksRead>,
    Path(id): Path<String>,
    headers: HeaderMap,
    params: Params,
) -> Result<Response, Problem> {
    params.only(&[])?;
    let row = row(&state, &id).await?;
    reply::record(&headers, &etag(&row.id, row.row_version), &VersionOut::from(row))
}

/// Get the document of a version
///
/// The whole price book as one JSON document. It says what was sent, though a quantity may be written otherwise: `3 7/8 in` comes
/// back as 3.875 in, 6 in as 0.5 ft, and times are kept to the second. Sent again, it changes nothing.
#[utoipa::path(get, path = "/v1/price-book-versions/{id}/document", tag = "price books", operation_id = "getPriceBookDocument",
    params(("id" = String, Path, description = "Id of the version, `pbv_…`."),
        ("If-None-Match" = Option<String>, Header, description = "304 when the ETag is still this.")),
    responses((status = 200, description = "The document.", body = BookDoc,
        headers(("ETag" = String, description = "For `If-Match`."))), (status = 304, description = "Not modified.")))]
pub async fn get_price_book_document(
    State(state): State<AppState>,
    _: Caller<may::PriceBooksRead>,
    Path(id): Path<String>,
    headers: HeaderMap,
    params: Params,
) -> Result<Response, Problem> {
    params.only(&[])?;
    let row = row(&state, &id).await?;
    let document: serde_json::Value =
        serde_json::from_str(&row.document).map_err(|e| Problem::internal(e.to_string()))?;
    reply::record(&headers, &etag(&row.id, row.row_version), &document)
}

/// Edit the document of a draft
///
/// A merge patch (RFC 7396): members sent replace those there, null deletes, lists are replaced whole. One that changes nothing is
/// answered with the draft as it is, under the ETag it has.
#[utoipa::path(patch, path = "/v1/price-book-versions/{id}/document", tag = "price books",
    operation_id = "editPriceBookDocument",
    request_body(content = BookDoc, content_type = "application/merge-patch+json", example = json!({"note": "Prices of March"})),
    params(("id" = String, Path, description = "Id of the version, `pbv_…`."),
        ("If-Match" = String, Header, description = "ETag of the version, or `*`."),
        ("validate_only" = Option<bool>, Query, description = "Check everything, write nothing."),
        ("Idempotency-Key" = Option<String>, Header, description = "Repeats of the same request are answered from the first.")),
    responses((status = 200, description = "The draft.", body = VersionOut,
        headers(("ETag" = String, description = "For `If-Match`.")))))]
pub async fn edit_price_book_document(
    State(state): State<AppState>,
    caller: Caller<may::PriceBooksWrite>,
    Path(id): Path<String>,
    asked: Asked,
    Patch { value, bytes }: Patch<WHOLE_BOOK>,
) -> Result<Response, Problem> {
    asked.check_query()?;
    let mut session = match asked.open(&state, &caller, &bytes).await? {
        Opened::Replay(response) => return Ok(response),
        Opened::Fresh(session) => session,
    };
    let row = session.write.version(&id).await?.ok_or_else(|| missing("price-book version"))?;
    asked.preconditions().check(&row.id, row.row_version)?;
    allowed(&row, VersionState::Draft, "edited")?;
    let before: serde_json::Value =
        serde_json::from_str(&row.document).map_err(|e| Problem::internal(e.to_string()))?;
    let document: BookDoc = patched(&before, &value)?;
    let after = serde_json::to_value(&document).map_err(|e| Problem::internal(e.to_string()))?;
    if before != after {
        let text = serde_json::to_string(&document).map_err(|e| Problem::internal(e.to_string()))?;
        session.write.edit_version(&id, row.row_version, &text, changes(&before, &after)).await?;
    }
    answered(session, &id, |version| version).await
}

/// Where a stored version stands.
pub(super) fn state_of(row: &VersionRow) -> Result<VersionState, Problem> {
    VersionState::from_word(&row.state).ok_or_else(|| Problem::internal("stored version in no state"))
}

/// The version must be in a state for the action; the refusal names what is allowed.
pub(super) fn allowed(row: &VersionRow, needed: VersionState, action: &str) -> Result<(), Problem> {
    let told = state_of(row)?.allows(needed, action);
    told.map_err(|detail| Problem::new(problem::STATE_CONFLICT, detail))
}

/// The answer of a version that was written: its facts as they stand now, with what is said beside them.
pub(super) async fn answered<T: Serialize>(
    mut session: Box<Session>,
    id: &str,
    with: impl FnOnce(VersionOut) -> T,
) -> Result<Response, Problem> {
    let row = session.write.version(id).await?.ok_or_else(|| missing("price-book version"))?;
    let tag = etag(&row.id, row.row_version);
    session.finish(Reply::changed(tag, &with(row.into()))?).await
}

/// The document of a version that a later one is looked at beside. One of before that cannot be read any more is passed over: it stops
/// nothing.
pub(super) fn document_before(before: Option<VersionRow>) -> Option<BookDoc> {
    read_document(before?.document.as_bytes()).ok()
}

/// Check a version
///
/// Everything that would stop it from being published, without publishing it, and what should be looked at again, beside the version
/// that holds on the day too, or the one published last where none does.
#[utoipa::path(post, path = "/v1/price-book-versions/{id}/check", tag = "price books",
    operation_id = "checkPriceBookVersion",
    params(("id" = String, Path, description = "Id of the version, `pbv_…`."),
        ("on" = Option<String>, Query, description = "The day from which the version would hold, as `2027-03-01`: offers that end before it are told. Its own first day when left out, today where it has none.", format = Date, example = "2027-03-01")),
    responses((status = 200, description = "The report.", body = CheckReport)))]
pub async fn check_price_book_version(
    State(state): State<AppState>,
    _: Caller<may::PriceBooksRead>,
    Path(id): Path<String>,
    params: Params,
) -> Result<Response, Problem> {
    let (day,) = params.all(&["on"], (params.day("on"),))?;
    let row = row(&state, &id).await?;
    let document: BookDoc =
        read_document(row.document.as_bytes()).map_err(|e| Problem::internal(e.to_string()))?;
    let own = || row.effective_from.as_deref().and_then(Day::parse);
    let day = day.or_else(own).map_or_else(|| state.today(), Day::date);
    let store = &state.inner.store;
    let before = match followed(&row, store.ever_published(&row.book_id).await?, day) {
        Some(before) => document_before(store.version(&before.id).await?),
        None => None,
    };
    let second_looks = second_look::of(&document, Beside { day, before: before.as_ref() });
    let errors: Vec<FieldError> = match PriceBook::check(document) {
        Ok(_) => Vec::new(),
        Err(faults) => faults.list().iter().map(field_error).collect(),
    };
    reply::json(StatusCode::OK, &CheckReport { publishable: errors.is_empty(), errors, second_looks })
}
