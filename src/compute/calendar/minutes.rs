//! Working time in whole minutes.

use super::CalendarError;

/// Working time, in whole minutes: the unit in which plans are exact.
///
/// Hours come in as decimal numbers (`f64`) and are rounded **up** to the whole minute once, in
/// [`WorkMinutes::from_hours`]; from there on every sum is exact.
///
/// # Example
/// ```
/// use rillcast::compute::calendar::WorkMinutes;
/// assert_eq!(WorkMinutes::from_hours(7.5)?.minutes(), 450);
/// assert_eq!(WorkMinutes::from_hours(0.1)?.minutes(), 6);
/// assert_eq!(WorkMinutes::from_hours(1.001)?.minutes(), 61);
/// assert!(WorkMinutes::from_hours(f64::NAN).is_err());
/// # Ok::<(), rillcast::compute::calendar::CalendarError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct WorkMinutes(u32);

/// Greatest number of hours one piece of work may last: ten years of 8-hour days, far above any drainage job;
/// it keeps every later sum inside its integer.
pub const MOST_HOURS: f64 = 20_000.0;

/// A part of a minute below this is taken for noise of binary fractions, not for work.
const MINUTE_NOISE: f64 = 1e-6;

impl WorkMinutes {
    /// No time at all.
    pub const ZERO: WorkMinutes = WorkMinutes(0);

    /// Whole minutes as they are.
    pub const fn new(minutes: u32) -> Self {
        WorkMinutes(minutes)
    }

    /// Hours rounded up to the whole minute (a millionth of a minute is noise and dropped).
    ///
    /// # Errors
    /// [`CalendarError::Hours`] unless `hours` is a number from 0 to [`MOST_HOURS`].
    pub fn from_hours(hours: f64) -> Result<Self, CalendarError> {
        if !(0.0..=MOST_HOURS).contains(&hours) {
            return Err(CalendarError::Hours {
                field: "hours".into(),
                value: hours,
                min: 0.0,
                max: MOST_HOURS,
            });
        }
        Ok(WorkMinutes((hours * 60.0 - MINUTE_NOISE).ceil().max(0.0) as u32))
    }

    /// The number of minutes.
    pub const fn minutes(self) -> u32 {
        self.0
    }

    /// The time in hours.
    pub fn hours(self) -> f64 {
        f64::from(self.0) / 60.0
    }
}
