//! The rules that answers name.

use crate::compute::rules::{ALL, Rule};
use crate::http::auth::{Caller, may};
use crate::http::extract::Params;
use crate::http::problem::Problem;
use crate::http::reply;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Serialize;
use utoipa::ToSchema;

/// Every rule.
#[derive(Debug, Serialize, ToSchema)]
pub struct RuleList {
    /// The rules: of lines, of figures, of checks.
    pub items: Vec<Rule>,
}

/// List the rules
///
/// What each `rule` of a line, of water, of a task of a plan, of learned rates means, and what each check by its `name`: formula and
/// where it comes from. Where the formula has a number that the price book sets, the number is the usual one.
#[utoipa::path(get, path = "/v1/rules", tag = "calculators", operation_id = "listRules",
    responses((status = 200, description = "Every rule.", body = RuleList)))]
pub async fn list_rules(_: Caller<may::Calculate>, params: Params) -> Result<Response, Problem> {
    params.only(&[])?;
    reply::json(StatusCode::OK, &RuleList { items: ALL.to_vec() })
}
