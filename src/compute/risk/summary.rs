//! What the draws come to.

use jiff::civil::Date;

use crate::compute::plan::TaskId;

/// Percentiles, mean and deviation of the draws.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Percentiles {
    /// Tenth percentile.
    pub p10: f64,
    /// Median.
    pub p50: f64,
    /// Eightieth percentile.
    pub p80: f64,
    /// Ninetieth percentile.
    pub p90: f64,
    /// Mean.
    pub mean: f64,
    /// Standard deviation.
    pub sd: f64,
}

impl Percentiles {
    /// Of draws in rising order; all zero without draws.
    pub(crate) fn of(sorted: &[f64]) -> Self {
        let n = sorted.len().max(1) as f64;
        let mean = sorted.iter().sum::<f64>() / n;
        let squares: f64 = sorted.iter().map(|x| (x - mean) * (x - mean)).sum();
        Percentiles {
            p10: quantile(sorted, 0.1),
            p50: quantile(sorted, 0.5),
            p80: quantile(sorted, 0.8),
            p90: quantile(sorted, 0.9),
            mean,
            sd: (squares / (n - 1.0).max(1.0)).sqrt(),
        }
    }
}

/// Quantile of sorted values, linear between neighbours.
///
/// # Formula
/// `h = (n - 1) p`; `x[floor h] + (h - floor h) (x[floor h + 1] - x[floor h])`
/// # Units
/// those of the values
/// # Valid for
/// values in rising order, `0 <= p <= 1`; 0 without values
/// # Source
/// Hyndman and Fan 1996, definition 7 (from memory)
/// # Example
/// ```
/// use rillcast::compute::risk::summary::quantile;
/// assert_eq!(quantile(&[1.0, 2.0, 3.0, 4.0], 0.5), 2.5);
/// assert_eq!(quantile(&[1.0, 2.0, 3.0, 4.0, 5.0], 0.8), 4.2);
/// ```
pub fn quantile(sorted: &[f64], p: f64) -> f64 {
    let last = sorted.len().saturating_sub(1);
    let h = last as f64 * p.clamp(0.0, 1.0);
    let low = h.floor() as usize;
    let at = |i: usize| sorted.get(i.min(last)).copied().unwrap_or(0.0);
    at(low) + (h - h.floor()) * (at(low + 1) - at(low))
}

/// The value that a share of the draws does not exceed: the `ceil(p n)`-th.
pub(crate) fn nearest_rank<T: Copy>(sorted: &[T], p: f64) -> Option<T> {
    // a billionth of a rank is noise of binary fractions
    let rank = (p.clamp(0.0, 1.0) * sorted.len() as f64 - 1e-9).ceil().max(1.0) as usize;
    sorted.get(rank.min(sorted.len()).checked_sub(1)?).copied()
}

/// Percentiles of the finish: the first day by which that share of the draws is done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct FinishPercentiles {
    /// Tenth percentile.
    pub p10: Date,
    /// Median.
    pub p50: Date,
    /// Eightieth percentile.
    pub p80: Date,
    /// Ninetieth percentile.
    pub p90: Date,
}

/// What drives the spread.
#[derive(Debug, Clone, PartialEq)]
pub struct Driver {
    /// The task.
    pub task: TaskId,
    /// Its share of the variance of the hours: covariance with the total over the variance of the total.
    /// Shares add to 1; a task that works against the rest can have a negative one.
    pub of_hours: f64,
    /// Its share of the variance of the cost, in the same way.
    pub of_cost: f64,
    /// Its part in the spread of the finish: squared correlation with the finish, scaled to add to 1. None
    /// without a plan or when the finish never moves.
    pub of_finish: Option<f64>,
}

/// What a wished confidence costs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Contingency {
    /// The wished confidence.
    pub confidence: f64,
    /// Hours at that confidence.
    pub hours: f64,
    /// Hours above the estimate; 0 when the estimate is already that sure.
    pub extra_hours: f64,
    /// Cost at that confidence.
    pub cost: f64,
    /// Cost above the estimate; 0 when the estimate is already that sure.
    pub extra_cost: f64,
    /// The same as a share of the estimated cost; 0 when that is 0.
    pub extra_cost_share: f64,
    /// Finish at that confidence.
    pub finish: Option<Date>,
    /// How sure the estimated hours are.
    pub confidence_of_estimated_hours: f64,
    /// How sure the estimated cost is.
    pub confidence_of_estimated_cost: f64,
}

/// Running means and covariances of each task with the totals (Welford 1962, from memory).
#[derive(Debug, Clone)]
pub(crate) struct Moments {
    n: f64,
    mean: Vec<f64>,
    square: Vec<f64>,
    totals: [f64; 3],
    total_squares: [f64; 3],
    with: [Vec<f64>; 3],
}

impl Moments {
    pub(crate) fn new(tasks: usize) -> Self {
        let zeros = || vec![0.0; tasks];
        Moments {
            n: 0.0,
            mean: zeros(),
            square: zeros(),
            totals: [0.0; 3],
            total_squares: [0.0; 3],
            with: [zeros(), zeros(), zeros()],
        }
    }

    /// Adds one draw: a value per task, and the totals (hours, cost, finish).
    pub(crate) fn add(&mut self, values: &[f64], totals: [f64; 3]) {
        self.n += 1.0;
        for ((mean, square), total) in self.totals.iter_mut().zip(&mut self.total_squares).zip(totals) {
            let before = total - *mean;
            *mean += before / self.n;
            *square += before * (total - *mean);
        }
        let [hours, cost, finish] = &mut self.with;
        let off = [0, 1, 2]
            .map(|i| totals.get(i).copied().unwrap_or(0.0) - self.totals.get(i).copied().unwrap_or(0.0));
        let per_task = self.mean.iter_mut().zip(&mut self.square).zip(hours).zip(cost).zip(finish);
        for (((((mean, square), hours), cost), finish), value) in per_task.zip(values) {
            let before = value - *mean;
            *mean += before / self.n;
            *square += before * (value - *mean);
            *hours += before * off[0];
            *cost += before * off[1];
            *finish += before * off[2];
        }
    }

    /// Shares of the variance of a total, by task, when each task adds `weight x value` to it.
    pub(crate) fn shares(&self, total: usize, weights: &[f64]) -> Vec<f64> {
        let variance = self.total_squares.get(total).copied().unwrap_or(0.0);
        let with = self.with.get(total).map(Vec::as_slice).unwrap_or_default();
        let share = |(c, w): (&f64, &f64)| if variance > 0.0 { c * w / variance } else { 0.0 };
        with.iter().zip(weights).map(share).collect()
    }

    /// Squared correlation of each task with a total, scaled to add to 1; `None` when nothing moves.
    pub(crate) fn pulls(&self, total: usize) -> Option<Vec<f64>> {
        let variance = self.total_squares.get(total).copied().filter(|v| *v > 0.0)?;
        let squared = |(c, s): (&f64, &f64)| if *s > 0.0 { c * c / (s * variance) } else { 0.0 };
        let raw: Vec<f64> = self.with.get(total)?.iter().zip(&self.square).map(squared).collect();
        let sum: f64 = raw.iter().sum();
        (sum > 0.0).then(|| raw.iter().map(|r| r / sum).collect())
    }
}

#[cfg(test)]
mod tests {
    use super::Percentiles;

    /// Draws are a sample: 1 and 3 spread by the square root of (1 + 1) / (2 - 1).
    #[test]
    fn the_spread_of_draws_is_that_of_a_sample() {
        assert_eq!(Percentiles::of(&[1.0, 3.0]).sd, 2.0_f64.sqrt());
        assert_eq!(Percentiles::of(&[5.0]).sd, 0.0);
    }
}
