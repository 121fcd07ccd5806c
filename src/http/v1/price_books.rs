//! Price books.

use super::book_days::usual_base;
use super::versions::{VersionOut, VersionPage};
use super::{missing, new_id, page_type, with_link};
use crate::app::AppState;
use crate::http::auth::{Caller, may};
use crate::http::extract::{ALONE, Body, OptionalBody, Params, WHOLE_BOOK, etag};
use crate::http::page::{Cursor, cut, limit_and_cursor};
use crate::http::problem::Problem;
use crate::http::reply::{self, Asked, Opened, Reply};
use crate::http::timestamp::{Timestamp, timestamp};
use crate::store::price_books::BookRow;
use crate::wire::book::BookDoc;
use crate::wire::{At, Faults, Label};
use crate::wire_object;
use axum::extract::{OriginalUri, Path, State};
use axum::http::StatusCode;
use axum::response::Response;
use serde::Serialize;
use utoipa::ToSchema;

wire_object! {
    /// A new price book with its first draft.
    pub struct NewPriceBook {
        /// What the office calls it; the document's name when left out.
        pub name: Option<Label>,
        /// The whole document.
        pub document: BookDoc,
    }
}

wire_object! {
    /// A new draft version.
    pub struct NewVersion {
        /// The whole document; when left out a copy of the version that holds today, else of the one published last, else of the newest
        /// draft.
        pub document: Option<Box<BookDoc>>,
        /// The version of this book to copy instead; not with `document`. A draft beside a version that was ever published, and what was
        /// retired beside what was not, are copied by name only.
        pub copy_of: Option<Label>,
    }
}

/// A price book.
#[derive(Debug, Serialize, ToSchema)]
pub struct PriceBookOut {
    /// Id, `pb_…`.
    pub id: String,
    /// Name.
    pub name: String,
    /// When it was made.
    pub created_at: Timestamp,
    /// Its newest versions, newest first, without documents, at most twenty; `GET /v1/price-books/{id}/versions` lists all.
    pub versions: Vec<VersionOut>,
}

page_type! {
    /// A page of price books.
    PriceBookPage of PriceBookOut
}

/// Create a price book
///
/// Makes the book and its first draft from a whole document. A draft may be incomplete; publishing checks it. A book has no ETag;
/// what is done with its draft under `If-Match` takes that of the draft, as `GET /v1/price-book-versions/{id}` answers it.
#[utoipa::path(post, path = "/v1/price-books", tag = "price books", operation_id = "createPriceBook",
    request_body(content = NewPriceBook, example = json!({"document": {"name": "Spring prices", "currency": "USD", "unit_system": "us",
        "items": [{"code": "channel-4-light-4ft", "name": "Channel, 4 in light, 4 ft", "category": "material", "unit": "each", "price": "27.40"}],
        "trades": [{"code": "laborer", "name": "Laborer", "wage": "24.75", "burden_pct": "38"}]}})),
    params(("validate_only" = Option<bool>, Query, description = "Check everything, write nothing."),
        ("Idempotency-Key" = Option<String>, Header, description = "Repeats of the same request are answered from the first.")),
    responses((status = 201, description = "The book with its draft.", body = PriceBookOut,
        headers(("Location" = String, description = "Path of the book.")))))]
pub async fn create_price_book(
    State(state): State<AppState>,
    caller: Caller<may::PriceBooksWrite>,
    asked: Asked,
    Body { document, bytes }: Body<NewPriceBook, ALONE, WHOLE_BOOK>,
) -> Result<Response, Problem> {
    asked.check_query()?;
    let NewPriceBook { name, document } = document;
    let name = name.unwrap_or_else(|| document.name.clone());
    let text = serde_json::to_string(&document).map_err(|e| Problem::internal(e.to_string()))?;
    let mut session = match asked.open(&state, &caller, &bytes).await? {
        Opened::Replay(response) => return Ok(response),
        Opened::Fresh(session) => session,
    };
    let (id, version_id) = (new_id("pb"), new_id("pbv"));
    session.write.put_book(&id, name.as_str()).await?;
    session.write.put_version(&version_id, &id, &text).await?;
    let version = session.write.version(&version_id).await?.ok_or_else(|| missing("price-book version"))?;
    let created_at = timestamp(version.created_at);
    let out = PriceBookOut {
        id: id.clone(),
        name: name.as_str().to_owned(),
        created_at,
        versions: vec![VersionOut::from(version)],
    };
    // The tag of the draft would not be one of what stands at this path.
    session.finish(Reply::added(&out)?.at(format!("/v1/price-books/{id}"))).await
}

async fn with_versions(state: &AppState, row: BookRow) -> Result<PriceBookOut, Problem> {
    let BookRow { id, name, created_at, updated_at: _ } = row;
    let versions =
        state.inner.store.versions(&id, None, 20).await?.into_iter().map(VersionOut::from).collect();
    Ok(PriceBookOut { id, name, created_at: timestamp(created_at), versions })
}

/// List price books
///
/// Oldest first, each with its newest twenty versions.
#[utoipa::path(get, path = "/v1/price-books", tag = "price books", operation_id = "listPriceBooks",
    params(("limit" = Option<i64>, Query, description = "1 to 200; 50 when left out.", minimum = 1, maximum = 200),
        ("cursor" = Option<String>, Query, description = "`next_cursor` of the page before.")),
    responses((status = 200, description = "A page.", body = PriceBookPage)))]
pub async fn list_price_books(
    State(state): State<AppState>,
    _: Caller<may::PriceBooksRead>,
    OriginalUri(uri): OriginalUri,
    params: Params,
) -> Result<Response, Problem> {
    let secret = &state.inner.cursor_secret;
    let (limit, after) = limit_and_cursor(&params, secret, "price-books")?;
    let mut rows = state.inner.store.books(after.as_ref().map(|c| (c.key, c.id.as_str())), limit + 1).await?;
    let next_cursor =
        cut(&mut rows, limit, secret, "price-books", |r| Cursor { key: r.created_at, id: r.id.clone() });
    let mut items = Vec::with_capacity(rows.len());
    for row in rows {
        items.push(with_versions(&state, row).await?);
    }
    let page = PriceBookPage { items, next_cursor };
    Ok(with_link(reply::json(StatusCode::OK, &page)?, &uri, page.next_cursor.as_deref()))
}

/// Get a price book
///
/// With its newest twenty versions.
#[utoipa::path(get, path = "/v1/price-books/{id}", tag = "price books", operation_id = "getPriceBook",
    params(("id" = String, Path, description = "Id of the book, `pb_…`.")),
    responses((status = 200, description = "The book.", body = PriceBookOut)))]
pub async fn get_price_book(
    State(state): State<AppState>,
    _: Caller<may::PriceBooksRead>,
    Path(id): Path<String>,
    params: Params,
) -> Result<Response, Problem> {
    params.only(&[])?;
    let row = state.inner.store.book(&id).await?.ok_or_else(|| missing("price book"))?;
    reply::json(StatusCode::OK, &with_versions(&state, row).await?)
}

/// Create a draft version
///
/// A copy of the version that holds today (else of the one published last, else of the last one made) or of the one named in
/// `copy_of`, or a whole new document. `made_from` says which was copied.
#[utoipa::path(post, path = "/v1/price-books/{id}/versions", tag = "price books", operation_id = "createPriceBookVersion",
    request_body(content = NewVersion, description = "May be left out.", example = json!({})),
    params(("id" = String, Path, description = "Id of the book, `pb_…`."),
        ("validate_only" = Option<bool>, Query, description = "Check everything, write nothing."),
        ("Idempotency-Key" = Option<String>, Header, description = "Repeats of the same request are answered from the first.")),
    responses((status = 201, description = "The draft.", body = VersionOut,
        headers(("Location" = String, description = "Path of the version."), ("ETag" = String, description = "For `If-Match`.")))))]
pub async fn create_price_book_version(
    State(state): State<AppState>,
    caller: Caller<may::PriceBooksWrite>,
    Path(id): Path<String>,
    asked: Asked,
    OptionalBody { document, bytes }: OptionalBody<NewVersion, ALONE, WHOLE_BOOK>,
) -> Result<Response, Problem> {
    asked.check_query()?;
    state.inner.store.book(&id).await?.ok_or_else(|| missing("price book"))?;
    let copy_at = At::ROOT.member("copy_of");
    let (text, made_from) = match (document.document, document.copy_of) {
        (Some(_), Some(_)) => {
            let mut faults = Faults::new();
            faults
                .add(&copy_at, "one_of", "send `document` or `copy_of`, not both")
                .allow(["document", "copy_of"]);
            return Err(faults.into());
        }
        (Some(doc), None) => {
            (serde_json::to_string(&doc).map_err(|e| Problem::internal(e.to_string()))?, None)
        }
        (None, Some(copied)) => {
            let row = state.inner.store.version(copied.as_str()).await?.filter(|v| v.book_id == id);
            let Some(row) = row else {
                let mut faults = Faults::new();
                faults.value(
                    &copy_at,
                    "unknown_version",
                    copied.as_str(),
                    "this book has no version of this id",
                );
                return Err(faults.into());
            };
            (row.document, Some(row.id))
        }
        (None, None) => {
            let row = usual_base(&state, &id).await?;
            (row.document, Some(row.id))
        }
    };
    let mut session = match asked.open(&state, &caller, &bytes).await? {
        Opened::Replay(response) => return Ok(response),
        Opened::Fresh(session) => session,
    };
    let version_id = new_id("pbv");
    session.write.put_version_from(&version_id, &id, &text, made_from.as_deref()).await?;
    let row = session.write.version(&version_id).await?.ok_or_else(|| missing("price-book version"))?;
    let reply = Reply::created(
        format!("/v1/price-book-versions/{version_id}"),
        etag(&version_id, row.row_version),
        &VersionOut::from(row),
    )?;
    session.finish(reply).await
}

/// List versions
///
/// Of one book, newest first, without their documents.
#[utoipa::path(get, path = "/v1/price-books/{id}/versions", tag = "price books", operation_id = "listPriceBookVersions",
    params(("id" = String, Path, description = "Id of the book, `pb_…`."),
        ("limit" = Option<i64>, Query, description = "1 to 200; 50 when left out.", minimum = 1, maximum = 200),
        ("cursor" = Option<String>, Query, description = "`next_cursor` of the page before.")),
    responses((status = 200, description = "A page.", body = VersionPage)))]
pub async fn list_price_book_versions(
    State(state): State<AppState>,
    _: Caller<may::PriceBooksRead>,
    Path(id): Path<String>,
    OriginalUri(uri): OriginalUri,
    params: Params,
) -> Result<Response, Problem> {
    let secret = &state.inner.cursor_secret;
    let list = format!("versions {id}");
    let (limit, after) = limit_and_cursor(&params, secret, &list)?;
    state.inner.store.book(&id).await?.ok_or_else(|| missing("price book"))?;
    let mut rows = state.inner.store.versions(&id, after.map(|c| c.key), limit + 1).await?;
    let next_cursor = cut(&mut rows, limit, secret, &list, |r| Cursor { key: r.number, id: String::new() });
    let page = VersionPage { items: rows.into_iter().map(VersionOut::from).collect(), next_cursor };
    Ok(with_link(reply::json(StatusCode::OK, &page)?, &uri, page.next_cursor.as_deref()))
}
