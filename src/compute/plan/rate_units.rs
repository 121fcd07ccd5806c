//! Output per hour, hours per unit, and their units.
//!
//! Tables state labor as cubic metres per person-hour, days per cubic metre, or minutes per cubic yard. A
//! rate here is always **hours per unit**; these functions turn the others into it. A value that is no
//! positive number gives `None`.

/// Cubic metres in a cubic yard, exact: 0.9144 cubed.
pub const M3_PER_YD3: f64 = 0.9144 * 0.9144 * 0.9144;
/// Square metres in a square foot, exact: 0.3048 squared.
pub const M2_PER_FT2: f64 = 0.3048 * 0.3048;
/// Kilograms in a pound, exact.
pub const KG_PER_LB: f64 = 0.453_592_37;
/// Pounds in a short ton, exact.
pub const LB_PER_SHORT_TON: f64 = 2000.0;

fn positive(value: f64) -> Option<f64> {
    (value.is_finite() && value > 0.0).then_some(value)
}

/// Hours per unit from output per hour, and the other way round.
///
/// # Formula
/// `hours per unit = 1 / (units per hour)`
/// # Units
/// hours per unit of the output
/// # Valid for
/// outputs above 0
/// # Source
/// definition; example: 40 minutes per cubic yard is 1.5 cubic yards per hour (Ogden and Cleveland, c. 1912,
/// read)
/// # Example
/// ```
/// use rillcast::compute::plan::rate_units::reciprocal;
/// assert_eq!(reciprocal(40.0 / 60.0), Some(1.5));
/// assert_eq!(reciprocal(0.0), None);
/// ```
pub fn reciprocal(rate: f64) -> Option<f64> {
    positive(rate).and_then(|r| positive(1.0 / r))
}

/// Hours per cubic yard from hours per cubic metre.
///
/// # Formula
/// `h/yd3 = h/m3 x 0.9144^3`
/// # Units
/// hours per cubic metre in, hours per cubic yard out
/// # Valid for
/// rates above 0
/// # Source
/// definition of the yard (0.9144 m exactly); example: 3.15 h/m3 for a plain slab (Guild of Project Controls
/// table, read)
/// # Example
/// ```
/// use rillcast::compute::plan::rate_units::per_yd3_from_per_m3;
/// let rate = per_yd3_from_per_m3(3.15);
/// assert!(rate.is_some_and(|r| (r - 2.408_347_802_649_6).abs() < 1e-12));
/// ```
pub fn per_yd3_from_per_m3(per_m3: f64) -> Option<f64> {
    positive(per_m3).map(|r| r * M3_PER_YD3)
}

/// Hours per square foot from hours per square metre.
///
/// # Formula
/// `h/ft2 = h/m2 x 0.3048^2`
/// # Units
/// hours per square metre in, hours per square foot out
/// # Valid for
/// rates above 0
/// # Source
/// definition of the foot (0.3048 m exactly)
/// # Example
/// ```
/// use rillcast::compute::plan::rate_units::per_ft2_from_per_m2;
/// let rate = per_ft2_from_per_m2(24.0 / 7.0);
/// assert!(rate.is_some_and(|r| (r - 0.318_524_708_571_420_3).abs() < 1e-12));
/// ```
pub fn per_ft2_from_per_m2(per_m2: f64) -> Option<f64> {
    positive(per_m2).map(|r| r * M2_PER_FT2)
}

/// Hours per pound from hours per kilogram.
///
/// # Formula
/// `h/lb = h/kg x 0.45359237`
/// # Units
/// hours per kilogram in, hours per pound out
/// # Valid for
/// rates above 0
/// # Source
/// definition of the pound
/// # Example
/// ```
/// use rillcast::compute::plan::rate_units::per_lb_from_per_kg;
/// let rate = per_lb_from_per_kg(16.0 / 100.0);
/// assert!(rate.is_some_and(|r| (r - 0.072_574_779_2).abs() < 1e-12));
/// ```
pub fn per_lb_from_per_kg(per_kg: f64) -> Option<f64> {
    positive(per_kg).map(|r| r * KG_PER_LB)
}

/// Hours per unit from person-days for a quantity.
///
/// # Formula
/// `h/unit = days x hours per day / quantity`
/// # Units
/// person-days, hours per day, units; result person-hours per unit
/// # Valid for
/// positive numbers
/// # Source
/// definition; example: 23 labour-days per 10 m3 of plain concrete broken by hand (open labour table, read)
/// # Example
/// ```
/// use rillcast::compute::plan::rate_units::from_days;
/// assert_eq!(from_days(23.0, 8.0, 10.0), Some(18.4));
/// ```
pub fn from_days(days: f64, hours_per_day: f64, quantity: f64) -> Option<f64> {
    Some(positive(days)? * positive(hours_per_day)? / positive(quantity)?)
}

/// Hours per unit from the cost of a unit and of an hour.
///
/// # Formula
/// `h/unit = cost per unit / cost per hour`
/// # Units
/// one currency; result hours per unit
/// # Valid for
/// positive numbers
/// # Source
/// definition; example: 15 cents a cubic yard at 20 cents an hour (Ogden and Cleveland, c. 1912, read)
/// # Example
/// ```
/// use rillcast::compute::plan::rate_units::from_cost;
/// assert_eq!(from_cost(15.0, 20.0), Some(0.75));
/// ```
pub fn from_cost(per_unit: f64, per_hour: f64) -> Option<f64> {
    Some(positive(per_unit)? / positive(per_hour)?)
}

/// Person-days for a number of person-hours, and output per person-day.
///
/// # Formula
/// `days = hours / hours per day`; `output per day = quantity / days`
/// # Units
/// hours, units; result days and units per day
/// # Valid for
/// positive numbers
/// # Source
/// NAVEDTRA 14045 ch. 4 (read): 1,125 blocks at 160 man-hours are 20 man-days, 56.25 blocks a day
/// # Example
/// ```
/// use rillcast::compute::plan::rate_units::days_and_daily_output;
/// assert_eq!(days_and_daily_output(160.0, 8.0, 1125.0), Some((20.0, 56.25)));
/// ```
pub fn days_and_daily_output(hours: f64, hours_per_day: f64, quantity: f64) -> Option<(f64, f64)> {
    let days = positive(hours)? / positive(hours_per_day)?;
    Some((days, positive(quantity)? / days))
}
