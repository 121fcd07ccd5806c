//! What is simulated, what comes out, and what can be wrong.

use std::collections::BTreeSet;

use thiserror::Error;

use super::{
    spread::Spread,
    summary::{Contingency, Driver, FinishPercentiles, Percentiles},
};
use crate::compute::{
    calendar::CalendarError,
    plan::{PlanErrors, PlanRequest, TaskId},
};

/// A task whose hours are uncertain.
#[derive(Debug, Clone, PartialEq)]
pub struct RiskTask {
    /// The task; in the plan too, where there is one.
    pub id: TaskId,
    /// Estimated crew-hours.
    pub crew_hours: f64,
    /// How far the actual hours may lie from that.
    pub spread: Spread,
    /// Cost of a crew-hour.
    pub cost_per_crew_hour: f64,
}

/// A simulation to be run.
#[derive(Debug, Clone, PartialEq)]
pub struct RiskRequest<'a> {
    /// The uncertain tasks. Tasks of the plan that are not among them keep their hours.
    pub tasks: Vec<RiskTask>,
    /// Deviation of what all tasks of the job share.
    pub job_sd: f64,
    /// Cost that does not depend on hours.
    pub fixed_cost: f64,
    /// The plan whose finish is asked for, anchored at a start.
    pub plan: Option<&'a PlanRequest>,
    /// How many draws.
    pub draws: u32,
    /// The seed; the same seed gives the same result.
    pub seed: u64,
    /// The confidence for which the contingency is asked.
    pub confidence: f64,
}

/// What the simulation found.
#[derive(Debug, Clone, PartialEq)]
pub struct RiskResult {
    /// How many draws.
    pub draws: u32,
    /// Of which seed.
    pub seed: u64,
    /// Estimated crew-hours, without spread.
    pub estimated_hours: f64,
    /// Estimated cost, without spread.
    pub estimated_cost: f64,
    /// Crew-hours of all tasks.
    pub hours: Percentiles,
    /// Cost, the fixed part included.
    pub cost: Percentiles,
    /// Finish, where there is a plan.
    pub finish: Option<FinishPercentiles>,
    /// What drives the spread, the largest share of the hours first.
    pub drivers: Vec<Driver>,
    /// What the wished confidence costs.
    pub contingency: Contingency,
    /// How it was found, in words.
    pub basis: String,
}

/// A fault in a simulation request.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum RiskError {
    /// A number out of its range.
    #[error("{field}: {value} is not allowed; give {allowed}")]
    Number {
        /// Where it stands.
        field: String,
        /// As given.
        value: f64,
        /// What is allowed.
        allowed: String,
    },
    /// Nothing to draw.
    #[error("tasks: none given; give at least one")]
    NoTasks,
    /// The same task twice.
    #[error("tasks[{index}]: `{task}` is already listed; give each task once")]
    Twice {
        /// Where it stands.
        index: usize,
        /// The task.
        task: TaskId,
    },
    /// A task the plan does not know.
    #[error("tasks[{index}]: the plan has no task `{task}`; give tasks of the plan, or no plan")]
    NotInPlan {
        /// Where it stands.
        index: usize,
        /// The task.
        task: TaskId,
    },
    /// More work than one run may take.
    #[error("draws x tasks: {given} is above {most}; ask for fewer draws")]
    TooMuch {
        /// Draws times tasks.
        given: u64,
        /// Most allowed.
        most: u64,
    },
    /// A plan without a start.
    #[error(
        "plan.anchor: the finish is simulated from a start; anchor the plan at the start it came out with"
    )]
    NeedsStart,
    /// A fault of the plan.
    #[error(transparent)]
    Plan(#[from] PlanErrors),
    /// A draw ran out of the calendar.
    #[error(transparent)]
    Calendar(#[from] CalendarError),
}

/// Fewest and most draws.
pub const DRAWS: std::ops::RangeInclusive<u32> = 100..=1_000_000;
/// Most draws times tasks: bounds the time of one run by a count, not by a clock.
pub const MOST_DRAWS_TIMES_TASKS: u64 = 30_000_000;
/// Largest deviation of a logarithm that is taken for a spread.
pub const MOST_SD: f64 = 2.0;
/// Furthest median: three deviations of the largest kind put a mean `exp(3 x 2^2 / 2)` above its median.
pub const MOST_MEDIAN_LOG: f64 = 7.0;

/// Checks a request, naming every fault at once.
pub(super) fn check(request: &RiskRequest<'_>) -> Result<(), Vec<RiskError>> {
    let mut faults = Vec::new();
    let mut number = |field: String, value: f64, low: f64, high: f64| {
        if !(low..=high).contains(&value) {
            faults.push(RiskError::Number {
                field,
                value,
                allowed: format!("a number from {low} to {high}"),
            });
        }
    };
    number("draws".into(), f64::from(request.draws), f64::from(*DRAWS.start()), f64::from(*DRAWS.end()));
    number("job_sd".into(), request.job_sd, 0.0, MOST_SD);
    number("fixed_cost".into(), request.fixed_cost, 0.0, 1e12);
    number("confidence".into(), request.confidence, 0.01, 0.99);
    for (index, task) in request.tasks.iter().enumerate() {
        let at = format!("tasks[{index}] `{}`", task.id);
        number(format!("{at}.crew_hours"), task.crew_hours, 0.0, 20_000.0);
        number(format!("{at}.cost_per_crew_hour"), task.cost_per_crew_hour, 0.0, 1e6);
        number(format!("{at}.spread.own_sd"), task.spread.own_sd, 0.0, MOST_SD);
        number(format!("{at}.spread.median_log"), task.spread.median_log, -MOST_MEDIAN_LOG, MOST_MEDIAN_LOG);
        if let Some((_, sd)) = &task.spread.rate {
            number(format!("{at}.spread.rate"), *sd, 0.0, MOST_SD);
        }
    }
    if request.tasks.is_empty() {
        faults.push(RiskError::NoTasks);
    }
    let mut seen = BTreeSet::new();
    for (index, task) in request.tasks.iter().enumerate() {
        if !seen.insert(&task.id) {
            faults.push(RiskError::Twice { index, task: task.id.clone() });
        }
    }
    let planned = request.plan.map_or(0, |p| p.tasks.len());
    let given = u64::from(request.draws) * request.tasks.len().max(planned) as u64;
    if given > MOST_DRAWS_TIMES_TASKS {
        faults.push(RiskError::TooMuch { given, most: MOST_DRAWS_TIMES_TASKS });
    }
    if faults.is_empty() { Ok(()) } else { Err(faults) }
}
