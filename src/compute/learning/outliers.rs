//! Flags on lines that stand far off. A flag removes nothing: a person may, with a reason.

/// Upper quartile of a normal spread, in deviations: what the median deviation is of one.
pub(super) const QUARTILE: f64 = 0.6745;

/// Fewest values that have a middle and a spread about it.
const FEWEST: usize = 3;

/// How far each value stands from the rest.
///
/// # Formula
/// from `least` values on, of which there must be three, `score = 0.6745 (y - median) / MAD`, the MAD not below `floor`; with fewer
/// values `score = y / prior_sd`
/// # Units
/// `y` the logarithm of actual over estimated; scores dimensionless, in deviations
/// # Valid for
/// values that spread about one middle; a score beyond 3.5 is worth a look
/// # Source
/// modified z-score, Iglewicz and Hoaglin 1993 (from memory); the rule for few values is common practice, no
/// source
/// # Example
/// ```
/// use rillcast::compute::learning::outliers::{self, scores};
/// let scores = scores(&[0.0, 0.1, -0.1, 0.05, 1.5], 0.32, 0.02, 5);
/// assert!(scores[4] > 3.5 && scores[1] < 3.5);
/// // two have no middle of their own, whatever is asked for
/// assert_eq!(outliers::scores(&[0.5, -0.5], 0.25, 0.02, 2), [2.0, -2.0]);
/// ```
pub fn scores(values: &[f64], prior_sd: f64, floor: f64, least: usize) -> Vec<f64> {
    if values.len() < least.max(FEWEST) {
        return values.iter().map(|y| y / prior_sd).collect();
    }
    let middle = median(values);
    let spread = median(&values.iter().map(|y| (y - middle).abs()).collect::<Vec<_>>()).max(floor);
    values.iter().map(|y| QUARTILE * (y - middle) / spread).collect()
}

fn median(values: &[f64]) -> f64 {
    let mut sorted = values.to_vec();
    sorted.sort_unstable_by(f64::total_cmp);
    crate::compute::risk::summary::quantile(&sorted, 0.5)
}
