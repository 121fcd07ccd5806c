//! What was estimated, and what it took.

use jiff::civil::Date;

use crate::compute::plan::ids::label;

label!(
    /// A rate of the price book.
    RateId,
    "rate id"
);
label!(
    /// A class of rates that tend to be off together, such as digging.
    ClassId,
    "class id"
);
label!(
    /// A job.
    JobId,
    "job id"
);

/// One line of one finished job: hours by estimate and in fact.
#[derive(Debug, Clone, PartialEq)]
pub struct Observation {
    /// The job.
    pub job: JobId,
    /// The day the job was finished.
    pub finished_on: Date,
    /// The rate it tells about.
    pub rate: RateId,
    /// Hours the **present** book gives for the quantity that was **done**. Hours estimated with an older
    /// rate, or for another quantity, are to be estimated anew, or the rate is blamed for what the quantity
    /// did. They are those that the rate itself gives: where they were rounded up to be paid, the rate would be blamed for
    /// the rounding.
    pub estimated_hours: f64,
    /// Hours it took.
    pub actual_hours: f64,
    /// A person's word to leave it out.
    pub excluded: Option<Exclusion>,
}

impl Observation {
    /// Actual over estimated hours.
    pub fn ratio(&self) -> f64 {
        self.actual_hours / self.estimated_hours
    }
}

/// A person's word to leave an observation out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Exclusion {
    /// Who said so.
    pub by: String,
    /// Why.
    pub reason: String,
}
