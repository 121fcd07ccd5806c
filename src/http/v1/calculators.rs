//! Stateless calculators: read, compute, answer. Nothing is stored.

use super::book_days::retired;
use super::{answered, book, rains};
use crate::app::AppState;
use crate::compute::answers::{ConcreteAnswer, Estimate, FlowAnswer, LaborAnswer, LayoutAnswer};
use crate::compute::effort::{self, is_long};
use crate::compute::{order_concrete, pipeline};
use crate::http::auth::{Caller, may};
use crate::http::extract::{BY_BOOK, Body, Params};
use crate::http::problem::Problem;
use crate::wire::calc::{ConcreteRequest, EstimateRequest, FlowRequest, LaborRequest, LayoutRequest};
use axum::extract::State;
use axum::response::Response;
use serde::Serialize;
use utoipa::ToSchema;

/// An estimate that nobody keeps.
#[derive(Debug, Serialize, ToSchema)]
pub struct CalculatedEstimate {
    /// The estimate.
    #[serde(flatten)]
    pub estimate: Estimate,
    /// What to look at of the version that was named.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub warnings: Vec<String>,
}

/// Lay out quantities
///
/// Channel, grates, fittings, trench, surround, slab, spoil, pipe: for whole site notes, or for one straight run by its
/// length alone.
#[utoipa::path(post, path = "/v1/calculators/layout-quantities", tag = "calculators",
    operation_id = "calculateLayoutQuantities", request_body(content = LayoutRequest, example = json!({"length": "41 ft 6 in"})),
    responses((status = 200, description = "The quantities with their working.", body = LayoutAnswer)))]
pub async fn calculate_layout_quantities(
    State(state): State<AppState>,
    _: Caller<may::Calculate>,
    params: Params,
    Body { document, .. }: Body<LayoutRequest, BY_BOOK>,
) -> Result<Response, Problem> {
    params.only(&[])?;
    let (book, used) = book(&state, document.price_book_version.as_ref().map(|v| v.as_str())).await?;
    let rains = rains(&state, document.notes.as_deref()).await?;
    let long = is_long(document.notes.as_deref(), 0, &book);
    answered(&state, long, 40, move || pipeline::layout(&document, &book, &used, &rains)).await
}

/// Order concrete
///
/// Every way of the price book compared, rounded up exactly to the supplier's increment: for site notes, pours by day, a net
/// volume, or bare dimensions. What is poured on one day is ordered together, beside each pour alone and all at once; with the
/// truck sequence and its time limit, what can be done about a short last truck, the weather of a pour day and, where
/// `break_even_up_to` asks for it, from which volume on which way is the cheapest.
#[utoipa::path(post, path = "/v1/calculators/concrete-order", tag = "calculators",
    operation_id = "calculateConcreteOrder", request_body(content = ConcreteRequest, example = json!({"volume": "2.1 yd3"})),
    responses((status = 200, description = "The order.", body = ConcreteAnswer)))]
pub async fn calculate_concrete_order(
    State(state): State<AppState>,
    _: Caller<may::Calculate>,
    params: Params,
    Body { document, .. }: Body<ConcreteRequest, BY_BOOK>,
) -> Result<Response, Problem> {
    params.only(&[])?;
    let (book, used) = book(&state, document.price_book_version.as_ref().map(|v| v.as_str())).await?;
    let rains = rains(&state, document.notes.as_deref()).await?;
    let searched = document.break_even_up_to.map_or(0, |_| effort::BREAK_EVEN);
    let beside = effort::POUR * document.pours.len() + searched;
    let long = is_long(document.notes.as_deref(), beside, &book);
    answered(&state, long, 8, move || order_concrete::concrete(&document, &book, &used, &rains)).await
}

/// Reckon labor hours
///
/// Hours by task and trade with cost and burden: for site notes, or for quantities given outright.
#[utoipa::path(post, path = "/v1/calculators/labor-hours", tag = "calculators", operation_id = "calculateLaborHours",
    request_body(content = LaborRequest,
        example = json!({"quantities": [{"measure": "run_excavation", "quantity": "3.2 yd3"}], "soil": "clay"})),
    responses((status = 200, description = "The hours.", body = LaborAnswer)))]
pub async fn calculate_labor_hours(
    State(state): State<AppState>,
    _: Caller<may::Calculate>,
    params: Params,
    Body { document, .. }: Body<LaborRequest, BY_BOOK>,
) -> Result<Response, Problem> {
    params.only(&[])?;
    let (book, used) = book(&state, document.price_book_version.as_ref().map(|v| v.as_str())).await?;
    let rains = rains(&state, document.notes.as_deref()).await?;
    let long = is_long(document.notes.as_deref(), 0, &book);
    answered(&state, long, 4, move || pipeline::labor(&document, &book, &used, &rains)).await
}

/// Check the flow
///
/// Will the channels, their grates and outlets, and the drain lines carry the storm: how much water comes, how deep it stands
/// along each run, what room is left under the grate, and whether outlet and pipe carry it away with the fall there is. Where
/// the notes name no channel system or no pipe, the first that carries it is chosen and the answer says why those before it
/// do not. Local rules govern the design storm and the discharge.
#[utoipa::path(post, path = "/v1/calculators/flow-check", tag = "calculators", operation_id = "calculateFlowCheck",
    request_body(content = FlowRequest, example = json!({"notes": {
        "runs": [{"id": "a", "legs": [{"length": "40 ft", "fall_pct": "0.5"}], "crossing": "feet",
            "outlets": [{"kind": "end", "id": "a-out", "at": "finish"}]}],
        "storm": {"rain": {"kind": "intensity", "intensity": "4 in_per_hr"}},
        "catchments": [{"id": "patio", "surfaces": [{"cover": "concrete", "area": "600 ft2"}], "reaches": [{"run": "a"}]}]}})),
    responses((status = 200, description = "The water, with checks.", body = FlowAnswer)))]
pub async fn calculate_flow_check(
    State(state): State<AppState>,
    _: Caller<may::Calculate>,
    params: Params,
    Body { document, .. }: Body<FlowRequest, BY_BOOK>,
) -> Result<Response, Problem> {
    params.only(&[])?;
    let (book, used) = book(&state, document.price_book_version.as_ref().map(|v| v.as_str())).await?;
    let rains = rains(&state, Some(&document.notes)).await?;
    let long = is_long(Some(&document.notes), 0, &book);
    answered(&state, long, 16, move || pipeline::flow(&document, &book, &used, &rains)).await
}

/// Estimate a job
///
/// The whole estimate of site notes, priced, with checks, cautions and working. A version that was retired is taken when it is named,
/// with a warning. Nothing is stored: `POST /v1/jobs/{id}/estimates` keeps a revision.
#[utoipa::path(post, path = "/v1/calculators/estimate", tag = "calculators", operation_id = "calculateEstimate",
    request_body(content = EstimateRequest, example = json!({"notes": {"runs": [{"id": "a", "legs": [{"length": "24 ft"}],
        "channel_system": "channel-4-light", "crossing": "feet", "outlets": [{"kind": "end", "id": "a-out", "at": "finish"}]}]}})),
    responses((status = 200, description = "The estimate.", body = CalculatedEstimate)))]
pub async fn calculate_estimate(
    State(state): State<AppState>,
    _: Caller<may::Calculate>,
    params: Params,
    Body { document, .. }: Body<EstimateRequest, BY_BOOK>,
) -> Result<Response, Problem> {
    params.only(&[])?;
    let EstimateRequest { price_book_version, notes } = document;
    let named = price_book_version.as_ref().map(|v| v.as_str());
    let (book, used) = book(&state, named).await?;
    let mut warnings = Vec::new();
    if let Some(named) = named {
        warnings.extend(retired(&state, named).await?);
    }
    let rains = rains(&state, Some(&notes)).await?;
    let long = is_long(Some(&notes), 0, &book);
    let estimate = move || {
        let estimate = pipeline::estimate(&notes, &book, &used, &rains).map_err(|f| f.under("notes"))?;
        Ok(CalculatedEstimate { estimate, warnings })
    };
    answered(&state, long, 112, estimate).await
}
