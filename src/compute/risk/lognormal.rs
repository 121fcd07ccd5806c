//! A ratio whose logarithm is normal.

use statrs::distribution::{ContinuousCDF, Normal};

/// Quantile of the standard normal distribution; `None` unless `0 < p < 1`.
///
/// # Formula
/// `z` with `Phi(z) = p`
/// # Units
/// dimensionless
/// # Valid for
/// `0 < p < 1`
/// # Source
/// definition, computed by a statistics library; 0.80 gives 0.8416 (any normal table)
/// # Example
/// ```
/// use rillcast::compute::risk::lognormal::normal_quantile;
/// assert!(normal_quantile(0.8).is_some_and(|z| (z - 0.841_621_233_572_914_3).abs() < 1e-9));
/// assert_eq!(normal_quantile(1.0), None);
/// ```
pub fn normal_quantile(p: f64) -> Option<f64> {
    (p > 0.0 && p < 1.0).then(|| Normal::standard().inverse_cdf(p))
}

/// Mean of a log-normal ratio: what to use for cost.
///
/// # Formula
/// `exp(mu + s^2 / 2)`
/// # Units
/// `mu`, `s` of the natural logarithm; result a ratio
/// # Valid for
/// `s >= 0`
/// # Source
/// log-normal distribution (from memory); example computed: ratios 1.10, 0.95, 1.25, 1.40 with s 0.25, tau
/// 0.20
/// # Example
/// ```
/// use rillcast::compute::risk::lognormal::mean_ratio;
/// let sd = (0.25_f64.powi(2) + 0.105_999_788_000_636_f64.powi(2)).sqrt();
/// assert!((mean_ratio(0.108_518_233_411_630_93, sd) - 1.156_486_131_624_699_3).abs() < 1e-12);
/// ```
pub fn mean_ratio(mu: f64, s: f64) -> f64 {
    libm::exp(mu + s * s / 2.0)
}

/// Percentile of a log-normal ratio; `None` unless `0 < p < 1`.
///
/// # Formula
/// `exp(mu + z_p s)`
/// # Units
/// `mu`, `s` of the natural logarithm; result a ratio
/// # Valid for
/// `s >= 0`, `0 < p < 1`
/// # Source
/// log-normal distribution (from memory); example computed: ratios 1.10, 0.95, 1.25, 1.40 with s 0.25, tau
/// 0.20
/// # Example
/// ```
/// use rillcast::compute::risk::lognormal::quantile_ratio;
/// let sd = (0.25_f64.powi(2) + 0.105_999_788_000_636_f64.powi(2)).sqrt();
/// let p80 = quantile_ratio(0.108_518_233_411_630_93, sd, 0.8);
/// assert!(p80.is_some_and(|r| (r - 1.400_816_298_353_764_2).abs() < 1e-9));
/// ```
pub fn quantile_ratio(mu: f64, s: f64, p: f64) -> Option<f64> {
    Some(libm::exp(mu + normal_quantile(p)? * s))
}
