//! Output per hour, hours per unit, and their units.
//!
//! Tables state labor as cubic metres per person-hour or hours per cubic metre. A rate here is always **hours per
//! unit**; these functions turn the others into it. A value that is no positive number gives `None`.

use crate::units::factors::METRES_PER_YARD;

/// Cubic metres in a cubic yard.
pub const M3_PER_YD3: f64 = METRES_PER_YARD * METRES_PER_YARD * METRES_PER_YARD;

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
