//! Purchase orders of stored estimates as they leave.

use super::actuals::records;
use super::contracts;
use super::job_orders::{job_of, orders_of, refused, row, stands};
use super::{book, missing, papers};
use crate::app::AppState;
use crate::compute::job_record::JobActuals;
use crate::documents::job_orders::order_file::{Buyer, OrderFault, order_paper};
use crate::documents::print::Revision;
use crate::documents::ubl::order::{OrderPaper, order};
use crate::domain::order_number::OrderNumber;
use crate::http::auth::{Caller, may};
use crate::http::extract::Params;
use crate::http::problem::{self, Problem};
use crate::http::reply;
use crate::store::estimates::EstimateRow;
use crate::wire::contract::inputs::QuoteInputs;
use crate::wire::day::Day;
use axum::extract::{Path, State};
use axum::response::Response;

/// The day the order was recorded as placed, else the day at the office on which its estimate was stored.
async fn day_of(state: &AppState, row: &EstimateRow, place: usize) -> Result<Day, Problem> {
    let records = records(&state.inner.store.actuals(&row.job_id, None, i64::MAX).await?)?;
    let number = OrderNumber { estimate: &row.id, place }.to_string();
    if let Some(placed) = JobActuals::of(&records).orders.get(&number) {
        return Ok(placed.on);
    }
    let stored = jiff::Timestamp::from_millisecond(row.created_at).ok();
    let day = stored.and_then(|instant| Day::of(state.day_at(instant)));
    day.ok_or_else(|| Problem::internal("stored estimate: its day"))
}

/// The order of an estimate at a place, from 1, as the paper that leaves, and how its revision stands.
pub(super) async fn paper_of(
    state: &AppState,
    id: &str,
    place: &str,
) -> Result<(OrderPaper, Revision), Problem> {
    let row = row(state, id).await?;
    let place: usize = place.parse().map_err(|_| missing("purchase order"))?;
    let (book, _) = book(state, Some(&row.price_book_version_id)).await?;
    let rows = state.inner.store.papers(&row.job_id).await?;
    let contract = contracts::contract(&rows)?;
    let orders = orders_of(state, &row, contract.as_ref().map(|(_, c)| c)).await?;
    let quote = contracts::speaking(&rows).ok_or_else(|| {
        Problem::new(
            problem::STATE_CONFLICT,
            "nothing says yet who the office is that orders: draft a quote on the job with its `seller`",
        )
    })?;
    let said: QuoteInputs = papers::stored(&quote.inputs)?;
    let on = day_of(state, &row, place).await?;
    let job = job_of(state, &row.job_id).await?.title.to_string();
    let (tax_scheme, job_id) = (said.tax_scheme(), row.job_id.clone());
    let buyer = Buyer { tax_scheme, office: said.terms.seller, job_id, job, on };
    let stands = stands(state, &row, contract.as_ref().map(|(_, c)| c)).await?;
    let paper = order_paper(&orders, place, &book, buyer).map_err(|fault| match fault {
        OrderFault::NoSuchOrder(_) => Problem::new(problem::NOT_FOUND, fault.to_string()),
        OrderFault::Nobody { .. } | OrderFault::OwnStock(_) => {
            Problem::new(problem::STATE_CONFLICT, fault.to_string())
        }
        OrderFault::Unreadable(error) => refused(error),
    })?;
    Ok((paper, stands))
}

/// Get a purchase order as UBL
///
/// A UBL 2.1 `Order` of one of the estimate's purchase orders, dated the day it was recorded as placed (`POST
/// /v1/jobs/{id}/actuals`, kind `order`), before that the day at the office (`RILLCAST_TIME_ZONE`) on which the
/// estimate was stored. The office that buys is the `seller` of the job's quote: the accepted one, else the last one written. What is known of the supplier stands
/// in the price book. Packs are written out in the item's unit, with the price of as much as one pack holds.
#[utoipa::path(get, path = "/v1/estimates/{id}/purchase-orders/{place}/ubl", tag = "estimates",
    operation_id = "getPurchaseOrderUbl",
    extensions(("x-refuses" = json!([409]))),
    params(("id" = String, Path, description = "Id of the estimate, `est_…`."),
        ("place" = String, Path, description = "Place of the order in the list, from 1: the last part of its number.")),
    responses((status = 200, description = "The file.", body = String, content_type = "application/xml")))]
pub async fn get_purchase_order_ubl(
    State(state): State<AppState>,
    _: Caller<may::EstimatesRead>,
    Path((id, place)): Path<(String, String)>,
    params: Params,
) -> Result<Response, Problem> {
    params.only(&[])?;
    let (paper, _) = paper_of(&state, &id, &place).await?;
    let bytes = order(&paper).map_err(|e| Problem::internal(e.to_string()))?;
    let name = reply::file_of("purchase-order", &paper.supplier.name, &paper.number);
    Ok(papers::xml_file(&name, bytes))
}
