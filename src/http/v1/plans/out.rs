//! Kept plans and their states as they are answered.

use crate::compute::job_plan::PlanAnswer;
use crate::compute::job_plan::kept::{self, ChangeOut, WithdrawnOut};
use crate::http::problem::Problem;
use crate::http::timestamp::{Timestamp, timestamp};
use crate::http::v1::page_type;
use crate::store::plans::PlanRow;
use crate::wire::planning::PlanInputs;
use serde::Serialize;
use serde_json::value::RawValue;
use utoipa::ToSchema;

/// A kept plan.
#[derive(Debug, Serialize, ToSchema)]
pub struct PlanRecord {
    /// Id, `plan_…`: one plan for the life of the job.
    pub id: String,
    /// Job, `job_…`.
    pub job_id: String,
    /// Estimate it was made from, `est_…`.
    pub estimate_id: String,
    /// Number of the plan among the versions of this job's plan: rises when the days or the standing of anything changed. It is not the
    /// number in the ETag, which rises with every write.
    pub version: i64,
    /// What was asked and reported.
    #[schema(value_type = PlanInputs)]
    pub inputs: Box<RawValue>,
    /// What changed against the state before.
    #[schema(value_type = Vec<ChangeOut>)]
    pub changes: Box<RawValue>,
    /// What was in the plan once and is no more.
    pub withdrawn: Vec<WithdrawnOut>,
    /// When this state was made.
    pub created_at: Timestamp,
    /// Key that made it.
    pub created_by: String,
    /// The plan.
    #[schema(value_type = PlanAnswer)]
    pub plan: Box<RawValue>,
}

/// Facts of a state of a plan.
#[derive(Debug, Serialize, ToSchema)]
pub struct PlanVersionOut {
    /// Running number of the state, from 1.
    pub number: i64,
    /// Version as handed out.
    pub version: i64,
    /// Estimate it was made from, `est_…`.
    pub estimate_id: String,
    /// What was asked and reported.
    #[schema(value_type = PlanInputs)]
    pub inputs: Box<RawValue>,
    /// What changed against the state before.
    #[schema(value_type = Vec<ChangeOut>)]
    pub changes: Box<RawValue>,
    /// When it was made.
    pub created_at: Timestamp,
    /// Key that made it.
    pub created_by: String,
}

page_type! {
    /// A page of the states of a plan, newest first.
    PlanVersionPage of PlanVersionOut
}

fn raw(text: String) -> Result<Box<RawValue>, Problem> {
    RawValue::from_string(text).map_err(|e| Problem::internal(format!("stored plan: {e}")))
}

/// The newest state of a plan.
pub(super) fn out(row: PlanRow) -> Result<PlanRecord, Problem> {
    let PlanRow {
        plan_id,
        job_id,
        number: _,
        version,
        estimate_id,
        inputs,
        answer,
        issued,
        changes,
        created_at,
        created_by,
    } = row;
    let issued = kept::read(&issued).ok_or_else(|| Problem::internal("stored plan: issued"))?;
    Ok(PlanRecord {
        id: plan_id,
        job_id,
        estimate_id,
        version,
        inputs: raw(inputs)?,
        changes: raw(changes)?,
        withdrawn: kept::withdrawn(&issued),
        created_at: timestamp(created_at),
        created_by,
        plan: raw(answer)?,
    })
}

/// Facts of a state. Lists of them read neither the plan nor what was issued.
pub(super) fn version_out(row: PlanRow) -> Result<PlanVersionOut, Problem> {
    let PlanRow {
        plan_id: _,
        job_id: _,
        number,
        version,
        estimate_id,
        inputs,
        answer: _,
        issued: _,
        changes,
        created_at,
        created_by,
    } = row;
    let (inputs, changes) = (raw(inputs)?, raw(changes)?);
    Ok(PlanVersionOut {
        number,
        version,
        estimate_id,
        inputs,
        changes,
        created_at: timestamp(created_at),
        created_by,
    })
}
