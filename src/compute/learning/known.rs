//! Rates that were learned before: where they stand, and how well they are known.

use jiff::civil::Date;

use super::settings::{LearnSettings, age_weight};
use crate::compute::calendar::count::calendar_days_between;

/// Least deviation of a rate that is taken for true: the least of a book's.
const LEAST_SD: f64 = 0.001;

/// A rate of the book that was learned before: it holds lines, and stands where they left it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Known {
    /// Lines that it holds.
    pub lines: usize,
    /// Where its median was left: logarithm over the rate of the book. 0 unless the rate is the mean.
    pub median_log: f64,
    /// The deviation that was left.
    pub sd: f64,
    /// The day as of which that was.
    pub as_of: Date,
}

/// What is taken of a rate that was learned before, ahead of any new line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Start {
    pub(crate) mean: f64,
    pub(crate) variance: f64,
}

impl Known {
    pub(crate) fn start(&self, as_of: Date, settings: &LearnSettings) -> Start {
        let weight = age_weight(calendar_days_between(self.as_of, as_of), settings.half_life_days);
        Start { mean: self.median_log, variance: known_variance(self.sd, settings.tau, weight) }
    }

    /// Each number out of its range: name, value, what is allowed.
    pub(crate) fn faults(&self) -> Vec<(&'static str, f64, &'static str)> {
        let checks =
            [("median_log", self.median_log, -30.0, 30.0, "-30 to 30"), ("sd", self.sd, 0.0, 2.0, "0 to 2")];
        let out = |(_, value, low, high, _): &(_, f64, f64, f64, _)| !(*low..=*high).contains(value);
        checks.into_iter().filter(out).map(|(name, value, _, _, allowed)| (name, value, allowed)).collect()
    }
}

/// Variance of a rate that was learned before. What its lines told fades as they would if they were counted anew, down to what is
/// known of any rate of the book.
///
/// # Formula
/// `1 / v = 1 / tau^2 + w (1 / sd^2 - 1 / tau^2)`, `w` by [`age_weight`] since it was learned
/// # Units
/// deviations of a logarithm; result its variance
/// # Valid for
/// `sd` of 0.001 or more, smaller counts as that; above `tau` it counts as `tau`
/// # Source
/// normal-normal precision weighting as in `learn`, every line of old at the same weight
/// # Example
/// ```
/// use rillcast::compute::learning::known::known_variance;
/// assert!((known_variance(0.10, 0.20, 1.0) - 0.01).abs() < 1e-15);
/// // half of what was learned is left: 25 + 75 / 2 = 62.5
/// assert!((known_variance(0.10, 0.20, 0.5) - 0.016).abs() < 1e-15);
/// assert!((known_variance(0.10, 0.20, 0.0) - 0.04).abs() < 1e-15);
/// ```
pub fn known_variance(sd: f64, tau: f64, weight: f64) -> f64 {
    let of_book = 1.0 / (tau * tau);
    let sd = sd.max(LEAST_SD);
    1.0 / (of_book + weight * (1.0 / (sd * sd) - of_book).max(0.0))
}
