//! The spread of one task's hours.

/// How far actual hours may lie from the estimate, as a ratio `actual / estimated` whose logarithm is normal:
///
/// `ln ratio = median_log + job_sd Z_job + rate_sd Z_rate + own_sd Z_own`
///
/// `Z_job` is one draw for the whole job (crew, site, season; its deviation stands with the request),
/// `Z_rate` one draw for all tasks that share a rate (the rate itself is known only so well), `Z_own` one
/// draw for the task. What tasks share does not average out over a job: leaving it out makes totals look
/// surer than they are.
#[derive(Debug, Clone, PartialEq)]
pub struct Spread {
    /// Logarithm of the median ratio; 0 when the estimate is the median.
    pub median_log: f64,
    /// Deviation of the task's own part.
    pub own_sd: f64,
    /// Rate shared with other tasks, and the deviation of what is not known about it.
    pub rate: Option<(String, f64)>,
}

impl Spread {
    /// No spread: the hours are what they are.
    pub fn none() -> Self {
        Spread { median_log: 0.0, own_sd: 0.0, rate: None }
    }

    /// A spread of the task's own alone.
    pub fn own(own_sd: f64) -> Self {
        Spread { median_log: 0.0, own_sd, rate: None }
    }
}
