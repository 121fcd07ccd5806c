//! Three-point estimates.

use statrs::distribution::{ContinuousCDF, Normal};
use thiserror::Error;

/// Optimistic, most likely, pessimistic.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ThreePoint {
    optimistic: f64,
    likely: f64,
    pessimistic: f64,
}

/// Numbers that are no three-point estimate.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum ThreePointError {
    /// Out of order.
    #[error(
        "{optimistic}, {likely}, {pessimistic}: give 0 or more, and optimistic <= most likely <= pessimistic"
    )]
    Order {
        /// As given.
        optimistic: f64,
        /// As given.
        likely: f64,
        /// As given.
        pessimistic: f64,
    },
    /// A due time that is no number.
    #[error("due: {0} is no number")]
    Due(f64),
}

impl ThreePoint {
    /// Checks the order.
    ///
    /// # Errors
    /// [`ThreePointError::Order`].
    pub fn new(optimistic: f64, likely: f64, pessimistic: f64) -> Result<Self, ThreePointError> {
        if 0.0 <= optimistic && optimistic <= likely && likely <= pessimistic && pessimistic.is_finite() {
            return Ok(ThreePoint { optimistic, likely, pessimistic });
        }
        Err(ThreePointError::Order { optimistic, likely, pessimistic })
    }

    /// Expected time.
    ///
    /// # Formula
    /// `te = (o + 4 m + p) / 6`
    /// # Units
    /// those of the estimates
    /// # Valid for
    /// a beta-like spread between o and p
    /// # Source
    /// PERT (from memory); example 5, 8, 14 (a web PERT example, read)
    /// # Example
    /// ```
    /// use rillcast::compute::plan::three_point::ThreePoint;
    /// assert_eq!(ThreePoint::new(5.0, 8.0, 14.0)?.expected(), 8.5);
    /// # Ok::<(), rillcast::compute::plan::three_point::ThreePointError>(())
    /// ```
    pub fn expected(&self) -> f64 {
        (self.optimistic + 4.0 * self.likely + self.pessimistic) / 6.0
    }

    /// Standard deviation.
    ///
    /// # Formula
    /// `sigma = (p - o) / 6`
    /// # Units
    /// those of the estimates
    /// # Valid for
    /// as [`expected`](Self::expected)
    /// # Source
    /// PERT (from memory); example 5, 8, 14 (a web PERT example, read)
    /// # Example
    /// ```
    /// use rillcast::compute::plan::three_point::ThreePoint;
    /// assert_eq!(ThreePoint::new(5.0, 8.0, 14.0)?.sigma(), 1.5);
    /// # Ok::<(), rillcast::compute::plan::three_point::ThreePointError>(())
    /// ```
    pub fn sigma(&self) -> f64 {
        (self.pessimistic - self.optimistic) / 6.0
    }
}

/// Expected time and deviation of tasks one after the other.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Chain {
    /// Sum of the expected times.
    pub expected: f64,
    /// Root of the sum of the squared deviations.
    pub sigma: f64,
}

/// Adds up a chain of independent tasks.
///
/// # Formula
/// `te = sum te_i`; `sigma = sqrt(sum sigma_i^2)`
/// # Units
/// those of the estimates
/// # Valid for
/// tasks one after the other, independent of each other: where a crew is slow on all of them the true spread
/// is larger
/// # Source
/// PERT (from memory)
/// # Example
/// ```
/// use rillcast::compute::plan::three_point::{ThreePoint, chain};
/// let a = ThreePoint::new(5.0, 8.0, 14.0)?;
/// let two = chain(&[a, a]);
/// assert_eq!(two.expected, 17.0);
/// assert!((two.sigma - 4.5_f64.sqrt()).abs() < 1e-12);
/// # Ok::<(), rillcast::compute::plan::three_point::ThreePointError>(())
/// ```
pub fn chain(tasks: &[ThreePoint]) -> Chain {
    Chain {
        expected: tasks.iter().map(ThreePoint::expected).sum(),
        sigma: tasks.iter().map(|t| t.sigma() * t.sigma()).sum::<f64>().sqrt(),
    }
}

/// How likely a chain is done by a due time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OnTime {
    /// Deviations between the expected and the due time.
    pub z: f64,
    /// Probability of being done by then.
    pub probability: f64,
}

/// Probability that a chain is done by `due`.
///
/// # Formula
/// `z = (due - te) / sigma`; `P = Phi(z)`; without spread 1 from the expected time on, else 0
/// # Units
/// those of the estimates
/// # Valid for
/// chains of several tasks, where the normal curve is a fair stand-in
/// # Source
/// PERT with the normal approximation (from memory); example computed
/// # Example
/// ```
/// use rillcast::compute::plan::three_point::{Chain, on_time};
/// let chain = Chain { expected: 17.833_333_333_333_332, sigma: 1.691_481_927_515_369_9 };
/// let by_day_20 = on_time(chain, 20.0)?;
/// assert!((by_day_20.probability - 0.899_890_532_377_883_4).abs() < 1e-9);
/// # Ok::<(), rillcast::compute::plan::three_point::ThreePointError>(())
/// ```
/// # Errors
/// [`ThreePointError::Due`] unless `due` is a number.
pub fn on_time(chain: Chain, due: f64) -> Result<OnTime, ThreePointError> {
    if !due.is_finite() {
        return Err(ThreePointError::Due(due));
    }
    let z = (due - chain.expected) / chain.sigma;
    if !z.is_finite() {
        let (z, probability) =
            if due >= chain.expected { (f64::INFINITY, 1.0) } else { (f64::NEG_INFINITY, 0.0) };
        return Ok(OnTime { z, probability });
    }
    Ok(OnTime { z, probability: Normal::standard().cdf(z) })
}
