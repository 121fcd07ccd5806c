//! Plans and risk of site notes. Nothing is stored.

use super::{answered, book, rains};
use crate::app::AppState;
use crate::compute::job_plan::PlanAnswer;
use crate::compute::job_plan::report::Carried;
use crate::compute::job_plan::risk::RiskAnswer;
use crate::compute::pipeline;
use crate::http::auth::{Caller, may};
use crate::http::extract::{BY_BOOK, Body, Params};
use crate::http::problem::Problem;
use crate::wire::planning::{PlanInputs, PlanRequest, RiskRequestBody};
use axum::extract::State;
use axum::response::Response;

/// Plan a job
///
/// Tasks with predecessors made from the layout, waits, crews and machines as the price book has them, for a start or a
/// wished finish. Nothing is stored: `POST /v1/estimates/{id}/plan` keeps one.
#[utoipa::path(post, path = "/v1/calculators/plan", tag = "calculators", operation_id = "calculatePlan",
    request_body(content = PlanRequest, example = json!({"start": "2027-03-01", "notes": {"runs": [{"id": "a",
        "legs": [{"length": "24 ft"}], "channel_system": "channel-4-light", "crossing": "feet",
        "outlets": [{"kind": "end", "id": "a-out", "at": "finish"}]}]}})),
    responses((status = 200, description = "The plan.", body = PlanAnswer)))]
pub async fn calculate_plan(
    State(state): State<AppState>,
    _: Caller<may::Calculate>,
    params: Params,
    Body { document, .. }: Body<PlanRequest, BY_BOOK>,
) -> Result<Response, Problem> {
    params.only(&[])?;
    let PlanRequest { price_book_version, notes, start, finish, not_before } = document;
    let (book, used) = book(&state, price_book_version.as_ref().map(|v| v.as_str())).await?;
    let inputs = PlanInputs { start, finish, not_before: Some(not_before), ..pipeline::no_inputs() };
    let rains = rains(&state, Some(&notes)).await?;
    let plan = move || pipeline::plan(&notes, &inputs, &Carried::default(), &book, &used, &rains);
    answered(&state, true, 64, move || plan().map(|(answer, _)| answer)).await
}

/// Reckon how sure an estimate is
///
/// Hours, cost and finish drawn again and again from the spread of the rates: percentiles, what drives the spread, and the
/// contingency that buys a wished confidence. The same seed gives the same answer.
#[utoipa::path(post, path = "/v1/calculators/risk", tag = "calculators", operation_id = "calculateRisk",
    request_body(content = RiskRequestBody, example = json!({"start": "2027-03-01", "draws": 1000, "seed": 7, "confidence_pct": "80",
        "notes": {"runs": [{"id": "a", "legs": [{"length": "24 ft"}], "channel_system": "channel-4-light", "crossing": "feet",
        "outlets": [{"kind": "end", "id": "a-out", "at": "finish"}]}]}})),
    responses((status = 200, description = "Percentiles, drivers and contingency.", body = RiskAnswer)))]
pub async fn calculate_risk(
    State(state): State<AppState>,
    _: Caller<may::Calculate>,
    params: Params,
    Body { document, .. }: Body<RiskRequestBody, BY_BOOK>,
) -> Result<Response, Problem> {
    params.only(&[])?;
    let (book, used) = book(&state, document.price_book_version.as_ref().map(|v| v.as_str())).await?;
    let rains = rains(&state, Some(&document.notes)).await?;
    answered(&state, true, 8, move || pipeline::risk(&document, &book, &used, &rains)).await
}
