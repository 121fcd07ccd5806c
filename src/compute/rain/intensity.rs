use super::error::{RainError, figure};
use super::frequency::Frequency;
use super::table::RainTable;
use crate::units::factors::MILLIMETRES_PER_INCH;

/// Constants of the intensity formula, with minutes and millimetres per hour.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct IntensityFormula {
    a: f64,
    b_minutes: f64,
    c: f64,
}

impl IntensityFormula {
    /// A formula `i = a / (t + b)^c` that gives mm/h for minutes.
    ///
    /// # Errors
    /// When `a` or `c` is not above zero or `b` is negative.
    pub fn new(a: f64, b_minutes: f64, c: f64) -> Result<Self, RainError> {
        for (what, value, good, rule) in [
            ("a", a, a > 0.0, "a number above 0"),
            ("b", b_minutes, b_minutes >= 0.0, "minutes, 0 or more"),
            ("c", c, c > 0.0 && c <= 3.0, "a number above 0 up to 3"),
        ] {
            if !(value.is_finite() && good) {
                return Err(RainError::BadNumber {
                    what: format!("constant {what} of the intensity formula"),
                    value: value.to_string(),
                    rule: rule.to_owned(),
                });
            }
        }
        Ok(Self { a, b_minutes, c })
    }

    /// The same formula from constants that give inches per hour.
    ///
    /// # Errors
    /// As [`Self::new`].
    pub fn from_inches(a: f64, b_minutes: f64, c: f64) -> Result<Self, RainError> {
        Self::new(a * MILLIMETRES_PER_INCH, b_minutes, c)
    }

    /// Constants `a` (mm/h), `b` (min), `c`.
    #[must_use]
    pub fn constants(&self) -> (f64, f64, f64) {
        (self.a, self.b_minutes, self.c)
    }
}

/// Intensity of rain of a duration.
///
/// # Formula
/// `i = a / (t + b)^c`
/// # Units
/// `duration_minutes` min, result mm/h with constants for mm/h
/// # Valid for
/// the durations its constants were fitted to
/// # Source
/// the usual three-constant form (FHWA HEC-22, from memory); example: fitted to NOAA Atlas 14, Champaign IL, 10 years,
/// 5 to 60 min (data read, fit computed)
/// # Example
/// ```
/// use rillcast::compute::rain::{IntensityFormula, formula_intensity};
/// let formula = IntensityFormula::from_inches(49.721, 7.2021, 0.7433)?;
/// assert!((formula_intensity(&formula, 5.0) / 25.4 - 7.7444).abs() < 0.002);
/// # Ok::<(), rillcast::compute::rain::RainError>(())
/// ```
#[must_use]
pub fn formula_intensity(formula: &IntensityFormula, duration_minutes: f64) -> f64 {
    formula.a / (duration_minutes + formula.b_minutes).powf(formula.c)
}

/// Where the intensity comes from.
#[derive(Debug, Clone, PartialEq)]
pub enum Rain {
    /// Given, mm/h, whatever the duration.
    Given(f64),
    /// A formula of the duration.
    Formula(IntensityFormula),
    /// A table, at one frequency.
    Table(RainTable, Frequency),
}

impl Rain {
    /// Rain of a given intensity.
    ///
    /// # Errors
    /// When it is not a number from 0 to 2000 mm/h.
    pub fn given(intensity_mm_per_h: f64) -> Result<Self, RainError> {
        if intensity_mm_per_h.is_finite() && (0.0..=2_000.0).contains(&intensity_mm_per_h) {
            return Ok(Self::Given(intensity_mm_per_h));
        }
        Err(RainError::BadNumber {
            what: "the rainfall intensity".to_owned(),
            value: figure(intensity_mm_per_h),
            rule: "from 0 to 2000 mm/h".to_owned(),
        })
    }

    /// Shortest duration it has an intensity for, min; `None` where there is none.
    #[must_use]
    pub fn least_minutes(&self) -> Option<f64> {
        match self {
            Self::Given(_) | Self::Formula(_) => None,
            Self::Table(table, _) => table.durations_minutes().first().copied(),
        }
    }

    /// Intensity for a duration, mm/h.
    ///
    /// # Errors
    /// A duration outside the table, a frequency it does not have, a duration that is no time.
    pub fn intensity_mm_per_h(&self, duration_minutes: f64) -> Result<f64, RainError> {
        if !(duration_minutes.is_finite() && duration_minutes > 0.0) {
            return Err(RainError::BadNumber {
                what: "the duration".to_owned(),
                value: duration_minutes.to_string(),
                rule: "minutes, more than 0".to_owned(),
            });
        }
        match self {
            Self::Given(intensity) => Ok(*intensity),
            Self::Formula(formula) => Ok(formula_intensity(formula, duration_minutes)),
            Self::Table(table, frequency) => table.intensity_mm_per_h(duration_minutes, *frequency),
        }
    }
}
