//! The items of a price book as a CSV price list, out and in.

use super::book_days::usual_base;
use super::versions::{VersionOut, row};
use super::{missing, new_id};
use crate::app::AppState;
use crate::documents::price_list::{offers, read, report, write};
use crate::http::auth::{Caller, may};
use crate::http::extract::{CsvBody, HEADED, Params, Together, etag};
use crate::http::problem::{self, Problem};
use crate::http::reply::{self, Asked, Opened, Reply};
use crate::store::price_books::VersionRow;
use crate::units::Percent;
use crate::wire::book::BookDoc;
use crate::wire::query::MissingItems;
use crate::wire::{List, read_document};
use axum::extract::{Path, State};
use axum::http::{HeaderMap, StatusCode};
use axum::response::Response;
use report::PriceListReport;
use serde::Serialize;
use utoipa::ToSchema;

/// How far a price may move, either way, without being confirmed, when the request names nothing.
const USUAL_GUARD: Percent = Percent::whole(25);

/// Export the price list
///
/// The items of a version as CSV (RFC 4180, UTF-8, a header line). A text that a spreadsheet would run as a formula gets
/// a `'` in front; reading the list takes it off again. An exported list imported unchanged changes nothing, with a byte order mark
/// or without.
#[utoipa::path(get, path = "/v1/price-book-versions/{id}/items.csv", tag = "price books", operation_id = "exportPriceList",
    params(("id" = String, Path, description = "Id of the version, `pbv_…`."),
        ("byte_order_mark" = Option<bool>, Query, description = "Begin the file with a byte order mark: spreadsheets that are opened by a double click read it as UTF-8 only then."),
        ("If-None-Match" = Option<String>, Header, description = "304 when the ETag is still this.")),
    responses((status = 200, description = "The list.", body = String, content_type = "text/csv",
        headers(("ETag" = String, description = "Changes with the version.")),
        example = json!("code,name,category,unit,price,currency,increment,supplier\r\nchannel-4-light-4ft,\"Channel, 4 in light, 4 ft\",material,each,27.40,USD,,\r\n")),
        (status = 304, description = "Not modified.")))]
pub async fn export_price_list(
    State(state): State<AppState>,
    _: Caller<may::PriceBooksRead>,
    Path(id): Path<String>,
    headers: HeaderMap,
    params: Params,
) -> Result<Response, Problem> {
    let marked = params.only_byte_order_mark()?;
    let row = row(&state, &id).await?;
    // The marked file is another sequence of bytes: it has a tag of its own, which no write takes.
    let of = if marked { format!("{}-marked", row.id) } else { row.id.clone() };
    let tag = etag(&of, row.row_version);
    if let Some(response) = reply::unchanged(&headers, &tag) {
        return Ok(response);
    }
    let doc: BookDoc =
        read_document(row.document.as_bytes()).map_err(|e| Problem::internal(e.to_string()))?;
    let name = reply::file_of("price-list", &row.name, &format!("{}-{}", row.book_id, row.number));
    Ok(reply::tagged(reply::csv_file(&name, marked, write(&doc)), &tag))
}

/// What an import did.
#[derive(Debug, Serialize, ToSchema)]
pub struct ImportOut {
    /// The version the list was read against.
    pub base_version_id: String,
    /// What the list changes.
    pub report: PriceListReport,
    /// What to look at: drafts of the book newer than the version that the list was read against, where none was named; offers with
    /// prices of their own for items whose price moves.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub warnings: Vec<String>,
    /// The new draft; absent when nothing changes or nothing was written.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub version: Option<VersionOut>,
}

/// By which rules a list is read.
fn rules(asked: &Asked) -> Result<report::Rules, Problem> {
    let params = asked.params();
    let largest_move_pct = match params.get("largest_move_pct") {
        None => Ok(USUAL_GUARD),
        Some(text) => crate::units::decimal_text::plain_decimal(text, 4)
            .filter(|n| *n <= 10_000_000)
            .map(Percent::from_millionths)
            .ok_or_else(|| params.fault("largest_move_pct", "decimal", "a percentage from 0 to 1000", &[])),
    };
    let (largest_move_pct, confirmed, missing) = asked.check_query_with(
        &["base", "missing", "largest_move_pct", "confirm_large_changes"],
        (
            largest_move_pct,
            params.flag("confirm_large_changes"),
            params.one_of("missing", "keep or remove", MissingItems::Keep),
        ),
    )?;
    Ok(report::Rules { largest_move_pct, confirmed, remove_missing: missing == MissingItems::Remove })
}

/// The version that a list is read against.
async fn base(state: &AppState, book: &str, params: &Params) -> Result<VersionRow, Problem> {
    let store = &state.inner.store;
    store.book(book).await?.ok_or_else(|| missing("price book"))?;
    match params.get("base") {
        Some(base) => store.version(base).await?.filter(|v| v.book_id == book).ok_or_else(|| {
            params.fault("base", "unknown_version", "this book has no version of this id", &[])
        }),
        None => usual_base(state, book).await,
    }
}

/// A word on drafts newer than the version that a list is read against by itself: what they change is not in what is made of it.
async fn passed_over(state: &AppState, base: &VersionRow) -> Result<Vec<String>, Problem> {
    let drafts = state.inner.store.drafts(&base.book_id, base.number).await?;
    let mut named: Vec<String> = drafts.iter().take(10).map(|d| format!("version {}", d.number)).collect();
    if drafts.len() > named.len() {
        named.push(format!("{} more", drafts.len() - named.len()));
    }
    let (are, each, one) = match drafts.len() {
        0 => return Ok(Vec::new()),
        1 => ("is a draft", "it", "it"),
        _ => ("are drafts", "each", "one of them"),
    };
    Ok(vec![format!(
        "the list was read against version {}; {} {are} newer than that, and what {each} changes is not taken into account: name {one} \
         as `base` to go on from there",
        base.number,
        named.join(", ")
    )])
}

/// Import a price list
///
/// Reads a CSV list against the version of the book that holds today, else the one published last, else the newest draft, or against
/// the one named (`base_version_id` says which), and makes a new draft from it. Where none is named, `warnings` tell of newer drafts of the
/// book: a list imported just before made one. Columns are
/// named by the header in any order: `code` and `price` are needed, the others (`name`, `category`, `unit`, `currency`,
/// `increment`, `supplier`) for new items; a column that is not there keeps what the version has. All or nothing: every
/// fault of every row is listed and nothing is written. Send it with `validate_only=true` first: that answers the report
/// alone, with the faults in it. Prices that move further than `largest_move_pct` must be confirmed. Where the unit of an item
/// changes, prices are compared by the unit before; a unit of another kind must always be confirmed, and so must offers of the
/// item that name no unit of their own. A list moves the items' own prices: offers with prices of their own, by which items are
/// bought, stay as they are and are named (`offers_with_prices`). Rows that change more than their price are named, up to 200 of
/// them, and counted.
#[utoipa::path(post, path = "/v1/price-books/{id}/imports", tag = "price books", operation_id = "importPriceList",
    request_body(content = String, content_type = "text/csv", description = "UTF-8, a header line, commas, decimal points, CRLF or LF.",
        example = json!("code,price\r\nchannel-4-light-4ft,28.50\r\n")),
    params(("id" = String, Path, description = "Id of the book, `pb_…`."),
        ("base" = Option<String>, Query, description = "Id of the version of this book to read the list against; when left out the one that holds today, else the one published last, else the newest draft."),
        ("missing" = inline(Option<MissingItems>), Query, description = "What happens to items that the list does not name; `keep` when left out."),
        ("largest_move_pct" = Option<String>, Query, description = "How far a price may move, in percent either way, without being confirmed; 25 when left out.", example = "25", pattern = "^(1000(\\.0{1,4})?|[0-9]{1,3}(\\.[0-9]{1,4})?)$"),
        ("confirm_large_changes" = Option<bool>, Query, description = "Take prices that move by more than `largest_move_pct`, are by a unit of another kind, or leave offers without a unit; without it they are faults of their rows."),
        ("validate_only" = Option<bool>, Query, description = "Answer the report, write nothing."),
        ("Idempotency-Key" = Option<String>, Header, description = "Repeats of the same request are answered from the first.")),
    responses((status = 200, description = "The report: nothing changes, or `validate_only`.", body = ImportOut),
        (status = 201, description = "The new draft.", body = ImportOut,
            headers(("Location" = String, description = "Path of the draft."), ("ETag" = String, description = "For `If-Match`.")))))]
pub async fn import_price_list(
    State(state): State<AppState>,
    caller: Caller<may::PriceBooksWrite>,
    Path(id): Path<String>,
    asked: Asked,
    CsvBody { bytes }: CsvBody<HEADED>,
) -> Result<Response, Problem> {
    let params = asked.params();
    let rules = rules(&asked);
    if rules.is_ok()
        && let Some(response) = asked.replay(&state, &caller, &bytes).await?
    {
        return Ok(response);
    }
    let (rules, base) = (rules, base(&state, &id, params).await).together()?;
    let mut doc: BookDoc =
        read_document(base.document.as_bytes()).map_err(|e| Problem::internal(e.to_string()))?;
    let (report, items) = read::read(&bytes, &doc, rules);
    let changes = doc.items.iter().as_slice() != items.as_slice();
    let mut warnings = match params.get("base") {
        None => passed_over(&state, &base).await?,
        Some(_) => Vec::new(),
    };
    warnings.extend(offers::to_look_at(&report.offers_with_prices, report.items_with_offers));
    let mut out = ImportOut { base_version_id: base.id, report, warnings, version: None };
    if params.validate_only()? {
        return reply::json(StatusCode::OK, &out);
    }
    if !out.report.importable {
        let only_moves = out.report.errors.iter().all(|e| e.code == "large_move");
        let (kind, what) = if only_moves {
            (problem::LARGE_MOVES, "large price moves")
        } else {
            (problem::VALIDATION_FAILED, "problems")
        };
        let count = out.report.errors.len();
        let more = if out.report.errors_truncated { "more than " } else { "" };
        return Err(Problem::rows(
            kind,
            format!("{what} found: {more}{count}; nothing was taken in"),
            &out.report.errors,
            out.report.errors_truncated,
        ));
    }
    doc.items = List::new(items).ok_or_else(|| Problem::internal("more items than a price book holds"))?;
    let text = serde_json::to_string(&doc).map_err(|e| Problem::internal(e.to_string()))?;
    let mut session = match asked.open(&state, &caller, &bytes).await? {
        Opened::Replay(response) => return Ok(response),
        Opened::Fresh(session) => session,
    };
    if !changes {
        return session.finish(Reply::answered(&out)?).await;
    }
    let version_id = new_id("pbv");
    session.write.put_version_from(&version_id, &id, &text, Some(&out.base_version_id)).await?;
    let PriceListReport { created, updated, unchanged, ref missing, missing_removed, .. } = out.report;
    let detail = serde_json::json!({"base": out.base_version_id, "created": created, "updated": updated,
        "unchanged": unchanged, "removed": if missing_removed { missing.len() } else { 0 }});
    session.write.audit("price_book_version.import", &version_id, detail).await?;
    let version = session
        .write
        .version(&version_id)
        .await?
        .ok_or_else(|| Problem::internal("a version just made is not there"))?;
    let tag = etag(&version.id, version.row_version);
    out.version = Some(VersionOut::from(version));
    session.finish(Reply::created(format!("/v1/price-book-versions/{version_id}"), tag, &out)?).await
}
