//! The rules that lines name.

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
    /// The rules, by name.
    pub items: Vec<Rule>,
}

/// List the rules
///
/// What each `rule` on a line means: its formula and where it comes from.
#[utoipa::path(get, path = "/v1/rules", tag = "calculators", operation_id = "listRules",
    responses((status = 200, description = "Every rule.", body = RuleList)))]
pub async fn list_rules(_: Caller<may::Calculate>, params: Params) -> Result<Response, Problem> {
    params.only(&[])?;
    reply::json(StatusCode::OK, &RuleList { items: ALL.to_vec() })
}
