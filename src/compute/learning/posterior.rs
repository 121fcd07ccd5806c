//! The textbook forms of learning from few data.

use thiserror::Error;

/// A number that a form cannot take.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[error("{field}: {value} is not allowed; give {allowed}")]
pub struct PosteriorError {
    /// Which number.
    pub field: &'static str,
    /// As given.
    pub value: f64,
    /// What is allowed.
    pub allowed: &'static str,
}

fn positive(field: &'static str, value: f64) -> Result<f64, PosteriorError> {
    if value > 0.0 && value.is_finite() {
        return Ok(value);
    }
    Err(PosteriorError { field, value, allowed: "a number above 0" })
}

fn not_negative(field: &'static str, value: f64) -> Result<f64, PosteriorError> {
    if value >= 0.0 && value.is_finite() {
        return Ok(value);
    }
    Err(PosteriorError { field, value, allowed: "a number of 0 or more" })
}

fn finite(field: &'static str, value: f64) -> Result<f64, PosteriorError> {
    if value.is_finite() {
        Ok(value)
    } else {
        Err(PosteriorError { field, value, allowed: "a finite number" })
    }
}

/// A normal posterior.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NormalPosterior {
    /// Its mean.
    pub mean: f64,
    /// Its deviation.
    pub sd: f64,
    /// Weight of the data's mean in it; the rest is the prior's.
    pub weight_on_data: f64,
}

/// Normal data of known spread, normal prior of the mean.
///
/// # Formula
/// `w = (n/s^2) / (n/s^2 + 1/tau^2)`; `mean = w ybar + (1 - w) m0`; `sd = (n/s^2 + 1/tau^2)^(-1/2)`
/// # Units
/// those of the data; `n` may be a fraction (faded jobs)
/// # Valid for
/// `s > 0`, `tau > 0`, `n >= 0`
/// # Source
/// normal-normal precision weighting (formula read in the CRAN glmbayes vignette, ch. 2); example computed:
/// prior 1.5 +- 0.3, four jobs at 1.9, job spread 0.4
/// # Example
/// ```
/// use rillcast::compute::learning::posterior::normal_normal;
/// let p = normal_normal(1.5, 0.3, 4.0, 1.9, 0.4)?;
/// assert!((p.mean - 1.776_923_076_923_076_6).abs() < 1e-12);
/// assert!((p.sd - 0.166_410_058_867_568_74).abs() < 1e-12);
/// # Ok::<(), rillcast::compute::learning::posterior::PosteriorError>(())
/// ```
/// # Errors
/// [`PosteriorError`] for a spread that is not positive, or data that are no numbers.
pub fn normal_normal(
    prior_mean: f64,
    tau: f64,
    n: f64,
    data_mean: f64,
    s: f64,
) -> Result<NormalPosterior, PosteriorError> {
    let of_data = not_negative("n", n)? / positive("s", s).map(|s| s * s)?;
    let of_prior = 1.0 / positive("tau", tau).map(|t| t * t)?;
    let weight = of_data / (of_data + of_prior);
    let mean = weight * finite("data_mean", data_mean)? + (1.0 - weight) * finite("prior_mean", prior_mean)?;
    Ok(NormalPosterior { mean, sd: 1.0 / (of_data + of_prior).sqrt(), weight_on_data: weight })
}

/// The same with the prior stated as a number of jobs.
///
/// # Formula
/// `mean = (n xbar + M m0) / (n + M)`; weight on data `n / (n + M)`
/// # Units
/// those of the data; `n`, `M` in jobs
/// # Valid for
/// `n >= 0`, `M > 0`
/// # Source
/// prior as pseudo-observations (read); example computed
/// # Example
/// ```
/// use rillcast::compute::learning::posterior::pseudo_jobs;
/// let (mean, weight) = pseudo_jobs(3.0, 1.5, 4.0, 1.9)?;
/// assert!((mean - 1.728_571_428_571_428_4).abs() < 1e-12);
/// assert!((weight - 0.571_428_571_428_571_4).abs() < 1e-12);
/// # Ok::<(), rillcast::compute::learning::posterior::PosteriorError>(())
/// ```
/// # Errors
/// [`PosteriorError`].
pub fn pseudo_jobs(
    prior_jobs: f64,
    prior_mean: f64,
    n: f64,
    data_mean: f64,
) -> Result<(f64, f64), PosteriorError> {
    let (jobs, n) = (positive("prior_jobs", prior_jobs)?, not_negative("n", n)?);
    let sum = n * finite("data_mean", data_mean)? + jobs * finite("prior_mean", prior_mean)?;
    Ok((sum / (n + jobs), n / (n + jobs)))
}

/// A gamma distribution of a rate: `shape` units seen in `exposure`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GammaRate {
    /// Units seen (shape).
    pub shape: f64,
    /// Exposure in which they were seen (rate parameter), such as hours.
    pub exposure: f64,
}

impl GammaRate {
    /// Checks a prior.
    ///
    /// # Errors
    /// [`PosteriorError`] unless both are positive.
    pub fn new(shape: f64, exposure: f64) -> Result<Self, PosteriorError> {
        Ok(GammaRate { shape: positive("shape", shape)?, exposure: positive("exposure", exposure)? })
    }

    /// What more data make of it.
    ///
    /// # Formula
    /// `Gamma(a, b)` with `x` units in exposure `T` becomes `Gamma(a + x, b + T)`
    /// # Units
    /// `x` units (counts or amounts), `T` exposure as in the prior
    /// # Valid for
    /// counts, or amounts that grow evenly with exposure
    /// # Source
    /// gamma with exposure (read, G. D'Agostini); gamma-Poisson example of Bayes Rules! ch. 5 (read):
    /// Gamma(10, 2) and 6, 2, 2, 1
    /// # Example
    /// ```
    /// use rillcast::compute::learning::posterior::GammaRate;
    /// let rate = GammaRate::new(20.0, 40.0)?.update(12.0, 30.0)?;
    /// assert_eq!((rate.shape, rate.exposure), (32.0, 70.0));
    /// assert!((rate.mean() - 0.457_142_857_142_857_13).abs() < 1e-15);
    /// let counts = GammaRate::new(10.0, 2.0)?.update(11.0, 4.0)?;
    /// assert_eq!((counts.shape, counts.exposure, counts.mean()), (21.0, 6.0, 3.5));
    /// # Ok::<(), rillcast::compute::learning::posterior::PosteriorError>(())
    /// ```
    /// # Errors
    /// [`PosteriorError`] for negative data.
    pub fn update(self, units: f64, exposure: f64) -> Result<Self, PosteriorError> {
        Ok(GammaRate {
            shape: self.shape + not_negative("units", units)?,
            exposure: self.exposure + not_negative("exposure", exposure)?,
        })
    }

    /// Mean rate.
    ///
    /// # Formula
    /// `a / b`
    /// # Units
    /// units per exposure
    /// # Valid for
    /// any gamma rate
    /// # Source
    /// gamma distribution (from memory)
    /// # Example
    /// ```
    /// # use rillcast::compute::learning::posterior::GammaRate;
    /// assert_eq!(GammaRate::new(21.0, 6.0)?.mean(), 3.5);
    /// # Ok::<(), rillcast::compute::learning::posterior::PosteriorError>(())
    /// ```
    pub fn mean(&self) -> f64 {
        self.shape / self.exposure
    }

    /// Deviation of the rate.
    ///
    /// # Formula
    /// `sqrt(a) / b`
    /// # Units
    /// units per exposure
    /// # Valid for
    /// any gamma rate
    /// # Source
    /// gamma distribution (from memory)
    /// # Example
    /// ```
    /// # use rillcast::compute::learning::posterior::GammaRate;
    /// let sd = GammaRate::new(32.0, 70.0)?.sd();
    /// assert!((sd - 0.080_812_203_564_176_87).abs() < 1e-15);
    /// # Ok::<(), rillcast::compute::learning::posterior::PosteriorError>(())
    /// ```
    pub fn sd(&self) -> f64 {
        self.shape.sqrt() / self.exposure
    }
}

/// Credibility of a task's own mean against its class.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Credibility {
    /// Weight of the own mean.
    pub z: f64,
    /// Weighted mean of own and class.
    pub estimate: f64,
}

/// Credibility by Buhlmann.
///
/// # Formula
/// `K = within variance / between variance`; `Z = n / (n + K)`; `estimate = Z own + (1 - Z) class`
/// # Units
/// those of the means; `n` in jobs
/// # Valid for
/// variances above 0, `n >= 0`; equal to the normal-normal posterior mean with `s^2` and `tau^2` as the
/// variances
/// # Source
/// Buhlmann 1967 (from memory); example computed
/// # Example
/// ```
/// use rillcast::compute::learning::posterior::buhlmann;
/// let c = buhlmann(4.0, 0.0625, 0.04, 0.0, 0.150_908_168_338_049_26)?;
/// assert!((c.z - 0.719_101_123_595_505_6).abs() < 1e-12);
/// assert!((c.estimate - 0.108_518_233_411_630_93).abs() < 1e-12);
/// # Ok::<(), rillcast::compute::learning::posterior::PosteriorError>(())
/// ```
/// # Errors
/// [`PosteriorError`].
pub fn buhlmann(
    n: f64,
    within_variance: f64,
    between_variance: f64,
    class_mean: f64,
    own_mean: f64,
) -> Result<Credibility, PosteriorError> {
    let k = positive("within_variance", within_variance)? / positive("between_variance", between_variance)?;
    let n = not_negative("n", n)?;
    let z = n / (n + k);
    let estimate = z * finite("own_mean", own_mean)? + (1.0 - z) * finite("class_mean", class_mean)?;
    Ok(Credibility { z, estimate })
}
