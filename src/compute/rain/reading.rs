//! What a rain table says of a duration, in the units it was written in, with the working.

use super::error::RainError;
use super::frequency::Frequency;
use super::table::{Around, RainTable, intensity_from_depth_mm_per_h, share_between};
use crate::units::factors::MILLIMETRES_PER_INCH;
use crate::units::{Quantity, Unit};

/// Rain of a duration.
#[derive(Debug, Clone, PartialEq)]
pub struct RainReading {
    /// The duration.
    pub duration: Quantity,
    /// Depth that falls in it.
    pub depth: Quantity,
    /// Mean intensity over it.
    pub intensity: Quantity,
    /// The working.
    pub basis: String,
}

impl RainTable {
    /// Whether the table covers a duration.
    ///
    /// # Errors
    /// [`RainError::DurationOutsideTable`].
    pub fn covers(&self, duration_minutes: f64) -> Result<(), RainError> {
        match self.frequencies().first() {
            Some(any) => self.depth_mm(duration_minutes, *any).map(|_| ()),
            None => Ok(()),
        }
    }

    /// The table's own frequency of so many whole years.
    #[must_use]
    pub fn frequency_of(&self, years: i64) -> Option<Frequency> {
        self.frequencies().iter().copied().find(|f| (f.years() - years as f64).abs() < 1e-9)
    }

    /// Depth, intensity and working for a duration and a frequency; in inches where the table was written in them.
    ///
    /// # Errors
    /// As [`Self::depth_mm`].
    pub fn reading(
        &self,
        duration_minutes: f64,
        frequency: Frequency,
        in_inches: bool,
    ) -> Result<RainReading, RainError> {
        let (size, deep, hard, places) = if in_inches {
            (MILLIMETRES_PER_INCH, Unit::In, Unit::InPerHr, 3)
        } else {
            (1.0, Unit::Mm, Unit::MmPerHr, 2)
        };
        let depth_of = |mm: f64| Quantity::computed(mm / size, deep, places);
        let shown = |minutes: f64| Quantity::computed(minutes, Unit::Min, 3);
        let figure = |minutes: f64| Quantity::computed(minutes, Unit::Each, 3);
        let depth_mm = self.depth_mm(duration_minutes, frequency)?;
        let intensity = intensity_from_depth_mm_per_h(depth_mm, duration_minutes);
        let (duration, depth, bound) = (shown(duration_minutes), depth_of(depth_mm), self.bound().appended());
        let own = self.durations_minutes().iter().any(|d| (d - duration_minutes).abs() < 1e-9);
        let basis = match self.around(duration_minutes, frequency)? {
            Around::Between(shorter, longer) if !own => {
                let share = share_between(shorter, longer, duration_minutes);
                let (from, to) = (shown(shorter.minutes), shown(longer.minutes));
                let (p0, p1) = (depth_of(shorter.depth_mm), depth_of(longer.depth_mm));
                let (t, t0, t1) = (figure(duration_minutes), figure(shorter.minutes), figure(longer.minutes));
                format!(
                    "{frequency}{bound}; {p0} in {from} and {p1} in {to} are of the table; ln({t}/{t0}) / ln({t1}/{t0}) = \
                     {share:.4}, so {p0} x ({p1} / {p0})^{share:.4} = {depth}"
                )
            }
            _ => format!("{frequency}{bound}, a duration of the table: {depth} in {duration}"),
        };
        let intensity = Quantity::computed(intensity / size, hard, places);
        Ok(RainReading { duration, depth, intensity, basis })
    }
}
