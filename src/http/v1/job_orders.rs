//! Purchase orders and cutting sheets of stored estimates, as JSON and CSV.

use super::actuals::records;
use super::contracts;
use super::papers::job_fact;
use super::{book, missing, stored_notes};
use crate::app::AppState;
use crate::compute::contract::fold::Contract;
use crate::compute::job_record::JobActuals;
use crate::compute::job_record::costs::{Placeable, order_costs, purchase_taxes};
use crate::documents::job_orders::additions::Additions;
use crate::documents::job_orders::cutting_sheet::{self, CuttingSheet, cutting_sheet};
use crate::documents::job_orders::purchase_orders::{self, PlacedOrder, PurchaseOrders, purchase_orders};
use crate::documents::job_orders::{DocumentError, Revision};
use crate::documents::print;
use crate::domain::order_number::OrderNumber;
use crate::http::auth::{Caller, may};
use crate::http::extract::Params;
use crate::http::negotiate::{Form, json_or_csv};
use crate::http::problem::{self, Problem};
use crate::http::reply;
use crate::store::estimates::EstimateRow;
use crate::wire::contract::facts::JobFact;
use axum::extract::{Path, State};
use axum::http::{HeaderMap, HeaderValue, StatusCode, header};
use axum::response::Response;

pub(super) async fn row(state: &AppState, id: &str) -> Result<EstimateRow, Problem> {
    state.inner.store.estimate(id).await?.ok_or_else(|| missing("estimate"))
}

pub(super) fn refused(error: DocumentError) -> Problem {
    match error {
        DocumentError::TooOld(_) => Problem::new(problem::NOT_FOUND, error.to_string()),
        DocumentError::Unreadable(_) => Problem::internal(error.to_string()),
    }
}

pub(super) fn revision<'e>(row: &'e EstimateRow, job: &'e JobFact) -> Revision<'e> {
    Revision { job, id: &row.id, number: row.revision, answer: &row.answer, notes: &row.notes }
}

/// A job as it stands.
pub(super) async fn job_of(state: &AppState, id: &str) -> Result<JobFact, Problem> {
    let job = state.inner.store.job(id).await?;
    job_fact(&job.ok_or_else(|| Problem::internal("an estimate without its job"))?)
}

/// How the revision of an estimate stands beside the others of its job. What a contract stands on goes before the mark that its quote
/// set, since change orders move it.
pub(super) async fn stands(
    state: &AppState,
    row: &EstimateRow,
    contract: Option<&Contract>,
) -> Result<print::Revision, Problem> {
    let store = &state.inner.store;
    let agreed = match (contract, store.acceptance(&row.job_id).await?) {
        (Some(contract), _) => Some(contract.standing.revision.get()),
        (None, Some(mark)) => store.estimate(&mark.estimate_id).await?.map(|estimate| estimate.revision),
        (None, None) => None,
    };
    let newest =
        store.estimates(&row.job_id, None, 1).await?.first().map_or(row.revision, |last| last.revision);
    Ok(print::Revision { own: row.revision, agreed, newest })
}

/// The answer depends on what the request accepts; caches must know.
fn varied(mut response: Response) -> Response {
    response.headers_mut().insert(header::VARY, HeaderValue::from_static("accept"));
    response
}

/// What a file of a revision is called: files of two jobs, saved into one folder, must not take each other's place.
pub(super) fn file_name(what: &str, row: &EstimateRow) -> String {
    format!("{what}-{}-{}", row.job_id, row.revision)
}

fn orders_csv((orders, row): &(PurchaseOrders, EstimateRow), marked: bool) -> Response {
    reply::csv_file(&file_name("purchase-orders", row), marked, purchase_orders::csv(orders))
}

fn sheet_csv(sheet: &CuttingSheet, row: &EstimateRow, marked: bool) -> Result<Response, Problem> {
    let bytes = cutting_sheet::csv(sheet).map_err(refused)?;
    Ok(reply::csv_file(&file_name("cutting-sheet", row), marked, bytes))
}

/// The purchase orders of an estimate; `contract` is that of its job.
pub(super) async fn orders_of(
    state: &AppState,
    row: &EstimateRow,
    contract: Option<&Contract>,
) -> Result<PurchaseOrders, Problem> {
    let (book, _) = book(state, Some(&row.price_book_version_id)).await?;
    let additions = additions(state, contract).await?;
    let job = job_of(state, &row.job_id).await?;
    purchase_orders(revision(row, &job), additions.taken_with(&row.id), &book).map_err(refused)
}

async fn stored_orders(state: &AppState, id: &str) -> Result<(PurchaseOrders, EstimateRow), Problem> {
    let row = row(state, id).await?;
    let contract = contracts::contract(&state.inner.store.papers(&row.job_id).await?)?.map(|(_, c)| c);
    let mut orders = orders_of(state, &row, contract.as_ref()).await?;
    orders.placed = placed(state, &row, contract.as_ref()).await?;
    Ok((orders, row))
}

/// What has been recorded as placed for the job of an estimate.
async fn placed(
    state: &AppState,
    row: &EstimateRow,
    contract: Option<&Contract>,
) -> Result<Vec<PlacedOrder>, Problem> {
    let actuals = JobActuals::of(&records(&state.inner.store.actuals(&row.job_id, None, i64::MAX).await?)?);
    if actuals.orders.is_empty() {
        return Ok(Vec::new());
    }
    let numbers = actuals.orders.keys().map(String::as_str);
    let known = placeable(state, &row.job_id, &row.id, contract, numbers).await?;
    let placed = order_costs(&actuals, &known).into_iter().map(|order| PlacedOrder {
        supplier: Some(order.supplier).filter(|s| !s.is_empty()),
        number: order.number,
        on: order.on,
        total: order.cost,
        confirmed: order.confirmed,
    });
    Ok(placed.collect())
}

/// Additions that the customer took, by the optional lines of the estimate that was quoted.
async fn additions(state: &AppState, contract: Option<&Contract>) -> Result<Additions, Problem> {
    let Some(contract) = contract.filter(|c| c.taken().next().is_some()) else {
        return Ok(Additions::default());
    };
    let quoted = state.inner.store.estimate(contract.quote.estimate.estimate_id.as_str()).await?;
    let quoted = quoted.ok_or_else(|| Problem::internal("a quote without its estimate"))?;
    Ok(Additions::of(contract, &stored_notes(&quoted.notes)?))
}

/// Purchase orders that can be placed: of the accepted estimate, and of the job's other estimates that `numbers` name.
/// Estimates older than purchase plans have none.
pub(super) async fn placeable(
    state: &AppState,
    job: &str,
    accepted: &str,
    contract: Option<&Contract>,
    numbers: impl Iterator<Item = &str>,
) -> Result<Vec<Placeable>, Problem> {
    let mut estimates = vec![accepted];
    for id in numbers.filter_map(OrderNumber::estimate_of) {
        if !estimates.contains(&id) {
            estimates.push(id);
        }
    }
    let job_fact = job_of(state, job).await?;
    let additions = additions(state, contract).await?;
    let mut list = Vec::new();
    for id in estimates {
        let Some(row) = state.inner.store.estimate(id).await?.filter(|e| e.job_id == job) else { continue };
        let (book, _) = book(state, Some(&row.price_book_version_id)).await?;
        match purchase_orders(revision(&row, &job_fact), additions.taken_with(&row.id), &book) {
            Ok(orders) => {
                let taxes = purchase_taxes(&row.answer, &book);
                let currency = orders.currency;
                let ordered = orders.orders.into_iter().filter(|o| o.ordered);
                list.extend(ordered.map(|o| Placeable {
                    by_category: o.by_category(),
                    items: o.lines.iter().map(|l| l.item.clone()).collect(),
                    number: o.number,
                    supplier: o.supplier,
                    currency: currency.clone(),
                    taxes: taxes.clone(),
                }));
            }
            Err(DocumentError::TooOld(_)) => {}
            Err(error) => return Err(refused(error)),
        }
    }
    Ok(list)
}

/// Read the purchase orders
///
/// One order for each supplier, with codes, packs, quantities, prices, where to deliver and when it is needed; made from the
/// estimate as it was stored. Materials bought at the price of the book stand under their usual supplier. Material of the
/// additions that the customer took with the quote is ordered with the estimates that the contract stands on: by the items of
/// the optional line, else as one piece of what the addition is called, under `any supplier`. Each estimate buys the whole job; what has
/// been recorded as placed for the job, from whichever estimate, stands beside as `placed`. With `Accept: text/csv` as CSV,
/// the same bytes as `…/purchase-orders.csv`.
#[utoipa::path(get, path = "/v1/estimates/{id}/purchase-orders", tag = "estimates", operation_id = "getPurchaseOrders",
    params(("id" = String, Path, description = "Id of the estimate, `est_…`.")),
    responses((status = 200, description = "The orders.", content((PurchaseOrders = "application/json"),
        (String = "text/csv")))))]
pub async fn get_purchase_orders(
    State(state): State<AppState>,
    _: Caller<may::EstimatesRead>,
    Path(id): Path<String>,
    params: Params,
    headers: HeaderMap,
) -> Result<Response, Problem> {
    params.only(&[])?;
    let form = json_or_csv(&headers)?;
    let orders = stored_orders(&state, &id).await?;
    Ok(varied(match form {
        Form::Json => reply::json(StatusCode::OK, &orders.0)?,
        Form::Csv => orders_csv(&orders, false),
    }))
}

/// Export the purchase orders
///
/// As CSV (RFC 4180, UTF-8, a header line): a row for each line of each order. `ordered` is `false` on those whose
/// supplier is `own stock`: their cost is charged by wear, and nothing of it is ordered. A text that a spreadsheet would run as a formula gets a `'` in front.
#[utoipa::path(get, path = "/v1/estimates/{id}/purchase-orders.csv", tag = "estimates",
    operation_id = "exportPurchaseOrders", params(("id" = String, Path, description = "Id of the estimate, `est_…`."),
        ("byte_order_mark" = Option<bool>, Query, description = "Begin the file with a byte order mark: spreadsheets that are opened by a double click read it as UTF-8 only then.")),
    responses((status = 200, description = "The orders.", body = String, content_type = "text/csv",
        example = json!("order,supplier,contact,order_code,item,description,count,pack,pack_unit,price,cost,currency,order_by,needed_by,deliver_to,access,job,ordered\r\n"))))]
pub async fn export_purchase_orders(
    State(state): State<AppState>,
    _: Caller<may::EstimatesRead>,
    Path(id): Path<String>,
    params: Params,
) -> Result<Response, Problem> {
    let marked = params.only_byte_order_mark()?;
    Ok(orders_csv(&stored_orders(&state, &id).await?, marked))
}

/// Read the cutting sheet
///
/// For the crew at the saw: what is cut from each stock piece, in order, and the leg and station each piece goes to; from the
/// estimate as it was stored. With `Accept: text/csv` as CSV, the same bytes as `…/cutting-sheet.csv`.
#[utoipa::path(get, path = "/v1/estimates/{id}/cutting-sheet", tag = "estimates", operation_id = "getCuttingSheet",
    params(("id" = String, Path, description = "Id of the estimate, `est_…`.")),
    responses((status = 200, description = "The sheet.", content((CuttingSheet = "application/json"),
        (String = "text/csv")))))]
pub async fn get_cutting_sheet(
    State(state): State<AppState>,
    _: Caller<may::EstimatesRead>,
    Path(id): Path<String>,
    params: Params,
    headers: HeaderMap,
) -> Result<Response, Problem> {
    params.only(&[])?;
    let form = json_or_csv(&headers)?;
    let row = row(&state, &id).await?;
    let sheet = cutting_sheet(revision(&row, &job_of(&state, &row.job_id).await?)).map_err(refused)?;
    Ok(varied(match form {
        Form::Json => reply::json(StatusCode::OK, &sheet)?,
        Form::Csv => sheet_csv(&sheet, &row, false)?,
    }))
}

/// Export the cutting sheet
///
/// As CSV (RFC 4180, UTF-8, a header line): a row for each piece, in cutting order. Stock pieces that go whole onto one leg, one after
/// the other, are one row with their `count`. A text that a spreadsheet would run as a formula gets a `'` in front.
#[utoipa::path(get, path = "/v1/estimates/{id}/cutting-sheet.csv", tag = "estimates",
    operation_id = "exportCuttingSheet", params(("id" = String, Path, description = "Id of the estimate, `est_…`."),
        ("byte_order_mark" = Option<bool>, Query, description = "Begin the file with a byte order mark: spreadsheets that are opened by a double click read it as UTF-8 only then.")),
    responses((status = 200, description = "The sheet.", body = String, content_type = "text/csv",
        example = json!("part,code,stock_piece,count,stock,source,stock_length,piece,mark,length,leg,from,to,unit,left_over\r\n"))))]
pub async fn export_cutting_sheet(
    State(state): State<AppState>,
    _: Caller<may::EstimatesRead>,
    Path(id): Path<String>,
    params: Params,
) -> Result<Response, Problem> {
    let marked = params.only_byte_order_mark()?;
    let row = row(&state, &id).await?;
    let sheet = cutting_sheet(revision(&row, &job_of(&state, &row.job_id).await?)).map_err(refused)?;
    sheet_csv(&sheet, &row, marked)
}
