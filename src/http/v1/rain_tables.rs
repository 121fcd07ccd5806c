//! Rain tables: stored once, read by every storm that names them.

use super::{missing, page_type, with_link};
use crate::app::AppState;
use crate::compute::rain::{RainError, RainReading, read_point_file};
use crate::compute::rain_tables::{Named, imported, table};
use crate::http::auth::{Caller, may};
use crate::http::extract::{Body, CsvBody, Params, Together, etag};
use crate::http::page::{Cursor, cut, limit_and_cursor};
use crate::http::problem::{self, Problem};
use crate::http::reply::{self, Asked, Opened, Reply};
use crate::http::timestamp::{Timestamp, timestamp};
use crate::store::rain_tables::RainRow;
use crate::units::{Quantity, grammar};
use crate::wire::query::RainBound;
use crate::wire::rain::RainTableDoc;
use crate::wire::{Code, Label, read_document};
use axum::extract::{OriginalUri, Path, State};
use axum::http::{HeaderMap, StatusCode};
use axum::response::Response;
use serde::Serialize;
use utoipa::ToSchema;

/// A stored rain table.
#[derive(Debug, Serialize, ToSchema)]
pub struct RainTableOut {
    /// The table.
    pub table: RainTableDoc,
    /// When it was stored.
    pub created_at: Timestamp,
    /// Key that stored it.
    pub created_by: String,
}

/// A rain table without its values.
#[derive(Debug, Serialize, ToSchema)]
pub struct RainTableSummary {
    /// Code by which storms name it.
    pub code: String,
    /// Name.
    pub name: String,
    /// When it was stored.
    pub created_at: Timestamp,
}

page_type! {
    /// A page of rain tables.
    RainTablePage of RainTableSummary
}

fn out(row: RainRow) -> Result<RainTableOut, Problem> {
    let RainRow { code: _, name: _, document, created_at, created_by } = row;
    let table = read_document(document.as_bytes()).map_err(|e| Problem::internal(e.to_string()))?;
    Ok(RainTableOut { table, created_at: timestamp(created_at), created_by })
}

async fn store(
    state: &AppState,
    caller: &Caller<may::RainTablesWrite>,
    asked: &Asked,
    body: &[u8],
    doc: &RainTableDoc,
    source_text: Option<&str>,
) -> Result<Response, Problem> {
    let text = serde_json::to_string(doc).map_err(|e| Problem::internal(e.to_string()))?;
    let mut session = match asked.open(state, caller, body).await? {
        Opened::Replay(response) => return Ok(response),
        Opened::Fresh(session) => session,
    };
    let code = doc.code.as_str();
    if let Some(row) = session.write.rain_table(code).await? {
        if row.document != text {
            return Err(Problem::new(
                problem::CONFLICT,
                format!(
                    "there is another rain table `{code}` already, and tables never change: give this one another code"
                ),
            ));
        }
        let reply = Reply::changed(etag(code, 1), &out(row)?)?;
        return session.finish(reply).await;
    }
    session.write.put_rain_table(code, doc.name.as_str(), &text, source_text).await?;
    let row = session.write.rain_table(code).await?.ok_or_else(|| missing("rain table"))?;
    let reply = Reply::created(format!("/v1/rain-tables/{code}"), etag(code, 1), &out(row)?)?;
    session.finish(reply).await
}

/// Store a rain table
///
/// Depth or mean intensity by duration and return period. Between its durations a value is read straight on logarithmic axes.
/// A table never changes, so that an estimate made with it can be computed again: another table gets another code.
#[utoipa::path(post, path = "/v1/rain-tables", tag = "rain tables", operation_id = "createRainTable",
    request_body(content = RainTableDoc, example = json!({"code": "millbrook", "name": "Millbrook", "source": "our own gauge, 1990 to 2020",
        "series": "partial_duration", "values": "depth_in", "return_periods": [2, 10], "rows": [
            {"duration": "5 min", "values": ["0.41", "0.58"]}, {"duration": "60 min", "values": ["1.32", "1.94"]}]})),
    params(("validate_only" = Option<bool>, Query, description = "Check everything, write nothing."),
        ("Idempotency-Key" = Option<String>, Header, description = "Repeats of the same request are answered from the first.")),
    responses((status = 200, description = "The same table was there already.", body = RainTableOut,
            headers(("ETag" = String, description = "Of the table; absent with `validate_only`."))),
        (status = 201, description = "The stored table.", body = RainTableOut,
        headers(("Location" = String, description = "Path of the table."), ("ETag" = String, description = "Of the table; it never changes.")))))]
pub async fn create_rain_table(
    State(state): State<AppState>,
    caller: Caller<may::RainTablesWrite>,
    asked: Asked,
    Body { document, bytes }: Body<RainTableDoc>,
) -> Result<Response, Problem> {
    asked.check_query()?;
    table(&document)?;
    store(&state, &caller, &asked, &bytes, &document, None).await
}

/// Import a rain table
///
/// Reads the point file of the NOAA Atlas 14 precipitation frequency data server exactly as it is served, or as a spreadsheet
/// saved it again: depth or intensity, inches or millimetres, partial-duration or annual-maximum series, with or without the
/// tables of the confidence bounds. The file is kept beside the table.
#[utoipa::path(post, path = "/v1/rain-table-imports", tag = "rain tables", operation_id = "importRainTable",
    request_body(content = String, content_type = "text/csv", description = "The file as it was served, UTF-8.",
        example = json!(crate::domain::demo::RAIN_FILE)),
    params(("code" = String, Query, description = "The office's own code for the table.", min_length = 1, max_length = 64, pattern = "^[a-z0-9][a-z0-9._-]*$", example = "millbrook-north"),
        ("name" = Option<String>, Query, description = "What it is called; the place in the file, and the bound, when left out.", min_length = 1, max_length = 200),
        ("bound" = inline(Option<RainBound>), Query, description = "Which table of the file: the estimates themselves or one of their confidence bounds; `mean` when left out."),
        ("validate_only" = Option<bool>, Query, description = "Check everything, write nothing."),
        ("Idempotency-Key" = Option<String>, Header, description = "Repeats of the same request are answered from the first.")),
    responses((status = 200, description = "The same table was there already.", body = RainTableOut,
            headers(("ETag" = String, description = "Of the table; absent with `validate_only`."))),
        (status = 201, description = "The stored table.", body = RainTableOut,
        headers(("Location" = String, description = "Path of the table."), ("ETag" = String, description = "Of the table; it never changes.")))))]
pub async fn import_rain_table(
    State(state): State<AppState>,
    caller: Caller<may::RainTablesWrite>,
    asked: Asked,
    CsvBody { bytes }: CsvBody,
) -> Result<Response, Problem> {
    let params = asked.params();
    let code = params.required("code", "give the table a code, as `code=millbrook-north`").and_then(|text| {
        let rule = "1 to 64 lower-case letters, digits, `-`, `_`, `.`";
        Code::new(text).ok_or_else(|| params.fault("code", "text_rule", rule, &[]))
    });
    let no_label = || params.fault("name", "text_rule", "1 to 200 characters on one line", &[]);
    let name = params.get("name").map(|text| Label::new(text).ok_or_else(no_label)).transpose();
    let bound = params.one_of("bound", "one of the words", RainBound::Mean);
    let (code, name, bound) = asked.check_query_with(&["code", "name", "bound"], (code, name, bound))?;
    let text = std::str::from_utf8(&bytes).map_err(|_| {
        Problem::new(problem::NOT_A_RAIN_FILE, "the file is not UTF-8 text: save it as served")
    })?;
    let file = read_point_file(text).map_err(|e| unreadable(&e))?;
    let chosen = match bound {
        RainBound::Upper => file.upper.as_ref(),
        RainBound::Lower => file.lower.as_ref(),
        RainBound::Mean => Some(&file.mean),
    };
    let Some(chosen) = chosen else {
        let rule = "the file holds the estimates without this bound";
        return Err(params.fault("bound", "not_in_file", rule, &["mean"]));
    };
    let doc = imported(&file, chosen, Named { code, name }).map_err(|e| unreadable(&e))?;
    table(&doc).map_err(|f| Problem::new(problem::NOT_A_RAIN_FILE, f.to_string()))?;
    store(&state, &caller, &asked, &bytes, &doc, Some(text)).await
}

fn unreadable(error: &RainError) -> Problem {
    Problem::new(problem::NOT_A_RAIN_FILE, error.to_string())
}

/// List rain tables
///
/// Oldest first, without their values.
#[utoipa::path(get, path = "/v1/rain-tables", tag = "rain tables", operation_id = "listRainTables",
    params(("limit" = Option<i64>, Query, description = "1 to 200; 50 when left out.", minimum = 1, maximum = 200),
        ("cursor" = Option<String>, Query, description = "`next_cursor` of the page before.")),
    responses((status = 200, description = "A page.", body = RainTablePage)))]
pub async fn list_rain_tables(
    State(state): State<AppState>,
    _: Caller<may::RainTablesRead>,
    OriginalUri(uri): OriginalUri,
    params: Params,
) -> Result<Response, Problem> {
    let secret = &state.inner.cursor_secret;
    let (limit, after) = limit_and_cursor(&params, secret, "rain-tables")?;
    let mut rows =
        state.inner.store.rain_tables(after.as_ref().map(|c| (c.key, c.id.as_str())), limit + 1).await?;
    let next_cursor =
        cut(&mut rows, limit, secret, "rain-tables", |r| Cursor { key: r.created_at, id: r.code.clone() });
    let items = rows
        .into_iter()
        .map(|r| RainTableSummary { code: r.code, name: r.name, created_at: timestamp(r.created_at) })
        .collect();
    let page = RainTablePage { items, next_cursor };
    Ok(with_link(reply::json(StatusCode::OK, &page)?, &uri, page.next_cursor.as_deref()))
}

/// Get a rain table
///
/// The whole document, as it was stored.
#[utoipa::path(get, path = "/v1/rain-tables/{code}", tag = "rain tables", operation_id = "getRainTable",
    params(("code" = String, Path, description = "Code of the table."),
        ("If-None-Match" = Option<String>, Header, description = "304 when the ETag is still this.")),
    responses((status = 200, description = "The table.", body = RainTableOut,
        headers(("ETag" = String, description = "Of the table; it never changes."))),
        (status = 304, description = "Not modified.")))]
pub async fn get_rain_table(
    State(state): State<AppState>,
    _: Caller<may::RainTablesRead>,
    Path(code): Path<String>,
    headers: HeaderMap,
    params: Params,
) -> Result<Response, Problem> {
    params.only(&[])?;
    let row = state.inner.store.rain_table(&code).await?.ok_or_else(|| missing("rain table"))?;
    let tag = etag(&row.code, 1);
    reply::record(&headers, &tag, &out(row)?)
}

/// Rain of a duration.
#[derive(Debug, Serialize, ToSchema)]
pub struct RainIntensityOut {
    /// Code of the table.
    pub table: String,
    /// Return period in years.
    pub return_period_years: i64,
    /// Duration.
    pub duration: Quantity,
    /// Depth that falls in it.
    pub depth: Quantity,
    /// Mean intensity over it.
    pub intensity: Quantity,
    /// The working.
    pub basis: String,
}

fn outside(params: &Params, error: &RainError) -> Problem {
    params.fault("duration", "duration_outside_rain_table", error.to_string(), &[])
}

/// Read a rain table
///
/// Depth and intensity of a duration and return period: the table's own value, or between two durations straight on
/// logarithmic axes. A return period that the table does not have and a duration outside it are refused.
#[utoipa::path(get, path = "/v1/rain-tables/{code}/intensity", tag = "rain tables", operation_id = "readRainTable",
    params(("code" = String, Path, description = "Code of the table."),
        ("duration" = String, Query, description = "Duration with its unit.", example = "15 min"),
        ("return_period_years" = i64, Query, description = "Return period, one that the table has.", example = 10)),
    responses((status = 200, description = "The rain.", body = RainIntensityOut)))]
pub async fn read_rain_table(
    State(state): State<AppState>,
    _: Caller<may::RainTablesRead>,
    Path(code): Path<String>,
    params: Params,
) -> Result<Response, Problem> {
    let names = params.only(&["duration", "return_period_years"]);
    let Some(row) = state.inner.store.rain_table(&code).await? else {
        return Err(names.err().unwrap_or_else(|| missing("rain table")));
    };
    let doc = out(row)?.table;
    let rain = table(&doc).map_err(|f| Problem::internal(f.to_string()))?;
    let years = params.required("return_period_years", "name a return period that the table has");
    let period = years.and_then(|text| {
        let years = text.parse::<i64>().ok();
        years.zip(years.and_then(|years| rain.frequency_of(years))).ok_or_else(|| {
            let have: Vec<String> = rain.frequencies().iter().map(|f| f.years().to_string()).collect();
            let have: Vec<&str> = have.iter().map(String::as_str).collect();
            let rule = "a return period that the table has";
            params.fault("return_period_years", "not_in_rain_table", rule, &have)
        })
    });
    let minutes =
        params.required("duration", "name a duration with its unit, as `15 min`").and_then(|text| {
            grammar::seconds(text).map(|seconds| seconds / 60.0).map_err(|_| {
                params.fault("duration", "unit_required", "a duration with its unit", &["15 min", "1 hr"])
            })
        });
    // Whether a duration lies within the table does not hang on the return period.
    let minutes =
        minutes.and_then(|minutes| rain.covers(minutes).map(|()| minutes).map_err(|e| outside(&params, &e)));
    let ((), (years, frequency), minutes) = (names, period, minutes).together()?;
    let RainReading { duration, depth, intensity, basis } =
        rain.reading(minutes, frequency, doc.values.in_inches()).map_err(|e| outside(&params, &e))?;
    let return_period_years = years;
    let read = RainIntensityOut { table: code, return_period_years, duration, depth, intensity, basis };
    reply::json(StatusCode::OK, &read)
}
