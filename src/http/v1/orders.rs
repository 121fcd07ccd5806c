//! Order calculators: cut list, purchase plan, hire plan. Nothing is stored.

use super::{answered, book, rains};
use crate::app::AppState;
use crate::compute::effort::{self, is_long};
use crate::compute::orders::{self, CutListAnswer, HireAnswer, PurchaseAnswer};
use crate::http::auth::{Caller, may};
use crate::http::extract::{BY_BOOK, Body, Params};
use crate::http::problem::Problem;
use crate::wire::orders::{CutListRequest, HireRequest, PurchaseRequest};
use axum::extract::State;
use axum::response::Response;

/// Plan a cut list
///
/// What is cut from each stock length, in order, and where each piece goes, for the least stock, joints and cuts; with a
/// lower bound and whether the plan is proved to be the cheapest. For site notes, or for legs from stock given outright.
#[utoipa::path(post, path = "/v1/calculators/cut-list", tag = "calculators", operation_id = "calculateCutList",
    request_body(content = CutListRequest, example = json!({
        "legs": [{"id": "north", "length": "1.5 m"}, {"id": "south", "length": "1.5 m"}],
        "stock": [{"id": "metre", "length": "1 m", "price": "60.00"}]})),
    responses((status = 200, description = "The cut lists.", body = CutListAnswer)))]
pub async fn calculate_cut_list(
    State(state): State<AppState>,
    _: Caller<may::Calculate>,
    params: Params,
    Body { document, .. }: Body<CutListRequest, BY_BOOK>,
) -> Result<Response, Problem> {
    params.only(&[])?;
    let (book, used) = book(&state, document.price_book_version.as_ref().map(|v| v.as_str())).await?;
    let rains = rains(&state, document.notes.as_deref()).await?;
    answered(&state, true, 8, move || orders::cut_list(&document, &book, &used, &rains)).await
}

/// Plan purchases
///
/// The cheapest choice of suppliers and packs with price breaks, least orders and deliveries, beside what one supplier alone
/// would cost. For site notes, or for needs given outright.
#[utoipa::path(post, path = "/v1/calculators/purchase-plan", tag = "calculators",
    operation_id = "calculatePurchasePlan", request_body(content = PurchaseRequest,
        example = json!({"needs": [{"item": "grate-screw", "quantity": "130"}]})),
    responses((status = 200, description = "The plan.", body = PurchaseAnswer)))]
pub async fn calculate_purchase_plan(
    State(state): State<AppState>,
    _: Caller<may::Calculate>,
    params: Params,
    Body { document, .. }: Body<PurchaseRequest, BY_BOOK>,
) -> Result<Response, Problem> {
    params.only(&[])?;
    let (book, used) = book(&state, document.price_book_version.as_ref().map(|v| v.as_str())).await?;
    let rains = rains(&state, document.notes.as_deref()).await?;
    answered(&state, true, 8, move || orders::purchase_plan(&document, &book, &used, &rains)).await
}

/// Plan hire
///
/// The cheapest mix of hire periods, whether to hold a machine through a gap or return it, and hire against owning. For the
/// machines of site notes, or for one machine. Notes that name a day have their machines on site by the plan; without a day each
/// comes for the hours of its tasks.
#[utoipa::path(post, path = "/v1/calculators/hire-plan", tag = "calculators", operation_id = "calculateHirePlan",
    request_body(content = HireRequest,
        example = json!({"rates": {"day": "100.00", "week": "300.00", "four_weeks": "800.00"}, "half_days": 18})),
    responses((status = 200, description = "The plan.", body = HireAnswer)))]
pub async fn calculate_hire_plan(
    State(state): State<AppState>,
    _: Caller<may::Calculate>,
    params: Params,
    Body { document, .. }: Body<HireRequest, BY_BOOK>,
) -> Result<Response, Problem> {
    params.only(&[])?;
    let (book, used) = book(&state, document.price_book_version.as_ref().map(|v| v.as_str())).await?;
    let rains = rains(&state, document.notes.as_deref()).await?;
    let long = is_long(document.notes.as_deref(), effort::STRETCH * document.stretches.len(), &book);
    answered(&state, long, 2, move || orders::hire_plan(&document, &book, &used, &rains)).await
}
