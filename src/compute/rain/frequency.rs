use std::fmt;

/// How rare a rain is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Frequency {
    /// Average recurrence interval in years, of a partial-duration series.
    RecurrenceYears(f64),
    /// Yearly chance of one in so many years, of an annual-maximum series.
    OneIn(f64),
}

impl Frequency {
    /// The number it is known by.
    #[must_use]
    pub fn years(self) -> f64 {
        match self {
            Self::RecurrenceYears(years) | Self::OneIn(years) => years,
        }
    }

    /// Whether both name the same column.
    #[must_use]
    pub fn is_same(self, other: Self) -> bool {
        let kind = matches!(
            (self, other),
            (Self::RecurrenceYears(_), Self::RecurrenceYears(_)) | (Self::OneIn(_), Self::OneIn(_))
        );
        kind && (self.years() - other.years()).abs() <= 1e-9 * self.years()
    }
}

impl fmt::Display for Frequency {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::RecurrenceYears(years) => write!(f, "{years}-year recurrence"),
            Self::OneIn(years) => write!(f, "yearly chance of 1/{years}"),
        }
    }
}

/// Chance that a rain of a recurrence interval is exceeded in a year.
///
/// # Formula
/// `AEP = 1 - exp(-1/ARI)`
/// # Units
/// `recurrence_years` years, result a share
/// # Valid for
/// exceedances that come at random (Poisson)
/// # Source
/// Langbein (1949) (from memory); example computed
/// # Example
/// ```
/// use rillcast::compute::rain::yearly_chance;
/// assert!((yearly_chance(10.0) - 0.0951626).abs() < 1e-6);
/// ```
#[must_use]
pub fn yearly_chance(recurrence_years: f64) -> f64 {
    -(-1.0 / recurrence_years).exp_m1()
}
