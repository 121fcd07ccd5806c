//! Man-days and durations by the method of the naval construction force.

use thiserror::Error;

/// A number out of its range.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[error("{field}: {value} is not allowed; give a number {allowed}")]
pub struct ManDayError {
    /// Which number.
    pub field: &'static str,
    /// As given.
    pub value: f64,
    /// What is allowed.
    pub allowed: &'static str,
}

/// Hours of a man-day.
pub const HOURS_PER_MAN_DAY: f64 = 8.0;
/// The efficiency, in per cent, at which the published man-hours hold.
pub const AVERAGE_EFFICIENCY: f64 = 67.0;

const POSITIVE: &str = "above 0 and at most 1e9";

fn positive(field: &'static str, value: f64) -> Result<f64, ManDayError> {
    if value > 0.0 && value <= 1e9 { Ok(value) } else { Err(ManDayError { field, value, allowed: POSITIVE }) }
}

/// Man-days of an activity.
///
/// # Formula
/// `man-days = quantity / unit x man-hours per unit / 8 x delay factor`
/// # Units
/// quantity and unit alike, man-hours; result man-days of 8 hours
/// # Valid for
/// positive numbers
/// # Source
/// NAVEDTRA 14045 p. 2-27 (read): 16,000 sf at 33 man-hours per 1,000 sf are 66 man-days
/// # Example
/// ```
/// use rillcast::compute::plan::man_days::man_days;
/// assert_eq!(man_days(16_000.0, 1_000.0, 33.0, 1.0)?, 66.0);
/// # Ok::<(), rillcast::compute::plan::man_days::ManDayError>(())
/// ```
/// # Errors
/// [`ManDayError`] for a number that is not positive.
pub fn man_days(
    quantity: f64,
    unit: f64,
    man_hours_per_unit: f64,
    delay_factor: f64,
) -> Result<f64, ManDayError> {
    let units = positive("quantity", quantity)? / positive("unit", unit)?;
    let hours = units * positive("man_hours_per_unit", man_hours_per_unit)?;
    Ok(hours / HOURS_PER_MAN_DAY * positive("delay_factor", delay_factor)?)
}

/// Delay factor from production efficiency.
///
/// # Formula
/// `delay factor = 67 / efficiency`
/// # Units
/// efficiency in per cent; result dimensionless
/// # Valid for
/// efficiencies from 25 to 100 per cent, the range of the method's table
/// # Source
/// Seabee practice (from memory; that 67 per cent is the average was read in NAVEDTRA 14045)
/// # Example
/// ```
/// use rillcast::compute::plan::man_days::delay_factor;
/// assert!((delay_factor(63.0)? - 1.063_492_063_492_063_5).abs() < 1e-12);
/// # Ok::<(), rillcast::compute::plan::man_days::ManDayError>(())
/// ```
/// # Errors
/// [`ManDayError`] outside 25 to 100 per cent.
pub fn delay_factor(efficiency_percent: f64) -> Result<f64, ManDayError> {
    Ok(AVERAGE_EFFICIENCY / efficiency("efficiency_percent", efficiency_percent)?)
}

/// Production efficiency from its elements.
///
/// # Formula
/// mean of the elements
/// # Units
/// per cent
/// # Valid for
/// elements from 25 to 100 per cent each; the method's table has eight
/// # Source
/// NAVEDTRA 14045 Table 2-4 (read)
/// # Example
/// ```
/// use rillcast::compute::plan::man_days::efficiency_mean;
/// assert_eq!(efficiency_mean(&[60.0, 70.0, 65.0, 55.0, 75.0, 60.0, 70.0, 49.0])?, 63.0);
/// # Ok::<(), rillcast::compute::plan::man_days::ManDayError>(())
/// ```
/// # Errors
/// [`ManDayError`] without elements, or with one outside 25 to 100 per cent.
pub fn efficiency_mean(elements_percent: &[f64]) -> Result<f64, ManDayError> {
    if elements_percent.is_empty() {
        return Err(ManDayError { field: "elements", value: 0.0, allowed: "of elements of at least 1" });
    }
    let mut sum = 0.0;
    for element in elements_percent {
        sum += efficiency("elements", *element)?;
    }
    Ok(sum / elements_percent.len() as f64)
}

fn efficiency(field: &'static str, value: f64) -> Result<f64, ManDayError> {
    if (25.0..=100.0).contains(&value) {
        return Ok(value);
    }
    Err(ManDayError { field, value, allowed: "from 25 to 100 per cent" })
}

/// Man-day equivalent of a workday.
///
/// # Formula
/// `ME = (workday - lunch - travel - breaks) / 8`
/// # Units
/// hours; result man-days of 8 hours per workday
/// # Valid for
/// workdays up to 24 hours that leave time to work
/// # Source
/// NAVEDTRA 14045 and 14233 (read); the 10-hour example's hours are inferred
/// # Example
/// ```
/// use rillcast::compute::plan::man_days::man_day_equivalent;
/// assert_eq!(man_day_equivalent(9.0, 0.0, 0.0, 0.0)?, 1.125);
/// assert_eq!(man_day_equivalent(10.0, 1.0, 1.0, 0.5)?, 0.9375);
/// # Ok::<(), rillcast::compute::plan::man_days::ManDayError>(())
/// ```
/// # Errors
/// [`ManDayError`] for negative hours, or when nothing of the day is left.
pub fn man_day_equivalent(workday: f64, lunch: f64, travel: f64, breaks: f64) -> Result<f64, ManDayError> {
    for (field, value) in [("workday", workday), ("lunch", lunch), ("travel", travel), ("breaks", breaks)] {
        if !(0.0..=24.0).contains(&value) {
            return Err(ManDayError { field, value, allowed: "from 0 to 24 hours" });
        }
    }
    let left = workday - lunch - travel - breaks;
    if left <= 0.0 {
        return Err(ManDayError { field: "workday", value: left, allowed: "of hours left to work above 0" });
    }
    Ok(left / HOURS_PER_MAN_DAY)
}

/// Duration of an activity in workdays.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Duration {
    /// As it comes out.
    pub exact_days: f64,
    /// Rounded up to whole workdays.
    pub workdays: u32,
}

/// Duration of an activity.
///
/// # Formula
/// `duration = man-days / crew / availability factor / man-day equivalent`, rounded up to whole workdays
/// # Units
/// man-days, people; result workdays
/// # Valid for
/// availability above 0 and at most 1
/// # Source
/// NAVEDTRA 14045 p. 2-29 (read): 70 man-days, crew of 12, 0.75, 0.9375 give 8.3, so 9 workdays
/// # Example
/// ```
/// use rillcast::compute::plan::man_days::duration;
/// let days = duration(70.0, 12, 0.75, 0.9375)?;
/// assert_eq!(days.workdays, 9);
/// assert!((days.exact_days - 8.296).abs() < 0.001);
/// # Ok::<(), rillcast::compute::plan::man_days::ManDayError>(())
/// ```
/// # Errors
/// [`ManDayError`] for numbers out of range or a duration above 36,525 workdays.
pub fn duration(
    man_days: f64,
    crew: u32,
    availability: f64,
    man_day_equivalent: f64,
) -> Result<Duration, ManDayError> {
    if !(availability > 0.0 && availability <= 1.0) {
        let allowed = "above 0 and at most 1";
        return Err(ManDayError { field: "availability", value: availability, allowed });
    }
    let exact_days = positive("man_days", man_days)?
        / positive("crew", f64::from(crew))?
        / availability
        / positive("man_day_equivalent", man_day_equivalent)?;
    if exact_days > 36_525.0 {
        return Err(ManDayError {
            field: "duration",
            value: exact_days,
            allowed: "of workdays up to 36,525",
        });
    }
    // a billionth of a day is noise of binary fractions
    Ok(Duration { exact_days, workdays: (exact_days - 1e-9).ceil().max(1.0) as u32 })
}

/// What a crew can do in a time.
///
/// # Formula
/// `man-day capability = direct labor x workdays x man-day equivalent x availability factor`
/// # Units
/// people, workdays; result man-days
/// # Valid for
/// positive numbers; availability at most 1 (0.75 for a main body, 0.85 for a detail)
/// # Source
/// NAVEDTRA 14233 (read); the example's numbers are ours
/// # Example
/// ```
/// use rillcast::compute::plan::man_days::man_day_capability;
/// assert_eq!(man_day_capability(10, 20, 1.125, 0.85)?, 191.25);
/// # Ok::<(), rillcast::compute::plan::man_days::ManDayError>(())
/// ```
/// # Errors
/// [`ManDayError`] for a number that is not positive.
pub fn man_day_capability(
    people: u32,
    workdays: u32,
    man_day_equivalent: f64,
    availability: f64,
) -> Result<f64, ManDayError> {
    if !(availability > 0.0 && availability <= 1.0) {
        let allowed = "above 0 and at most 1";
        return Err(ManDayError { field: "availability", value: availability, allowed });
    }
    Ok(f64::from(people)
        * f64::from(workdays)
        * positive("man_day_equivalent", man_day_equivalent)?
        * availability)
}
