//! Exact factors to SI for what is reckoned in `f64`; lengths and volumes of a job go by [`Unit::factor`](super::Unit::factor).
//!
//! Source: NIST SP 811 (2008), appendix B (read): 1 in = 25.4 mm, 1 lb = 0.453 592 37 kg, 1 US gallon = 231 in³.

/// Millimetres in an inch.
pub const MILLIMETRES_PER_INCH: f64 = 25.4;
/// Metres in an inch.
pub const METRES_PER_INCH: f64 = 0.0254;
/// Metres in a foot.
pub const METRES_PER_FOOT: f64 = 0.3048;
/// Metres in a yard.
pub const METRES_PER_YARD: f64 = 0.9144;
/// Square metres in a square foot.
pub const SQUARE_METRES_PER_SQUARE_FOOT: f64 = 0.092_903_04;
/// Cubic metres in a cubic foot.
pub const CUBIC_METRES_PER_CUBIC_FOOT: f64 = 0.028_316_846_592;
/// Cubic metres in a US gallon.
pub const CUBIC_METRES_PER_GALLON: f64 = 0.003_785_411_784;
/// Kilograms in a pound.
pub const KILOGRAMS_PER_POUND: f64 = 0.453_592_37;
