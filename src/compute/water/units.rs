//! Exact factors between the units the published formulas and tables use and SI.
//!
//! Source: the definitions in NIST SP 811 (2008), Appendix B: inch 0.0254 m, US gallon 231 in³.

/// Metres in an inch (exact).
pub const METRES_PER_INCH: f64 = 0.0254;
/// Metres in a foot (exact).
pub const METRES_PER_FOOT: f64 = 0.3048;
/// Square metres in a square foot (exact).
pub const SQUARE_METRES_PER_SQUARE_FOOT: f64 = 0.092_903_04;
/// Square metres in an acre of 43 560 ft² (exact for the international foot).
pub const SQUARE_METRES_PER_ACRE: f64 = 4_046.856_422_4;
/// Cubic metres in a cubic foot (exact).
pub const CUBIC_METRES_PER_CUBIC_FOOT: f64 = 0.028_316_846_592;
/// Cubic metres in a US gallon (exact).
pub const CUBIC_METRES_PER_GALLON: f64 = 0.003_785_411_784;

/// Flow in cubic feet per second as m³/s.
#[must_use]
pub fn m3_per_s_from_cfs(flow_cfs: f64) -> f64 {
    flow_cfs * CUBIC_METRES_PER_CUBIC_FOOT
}

/// Flow in m³/s as cubic feet per second.
#[must_use]
pub fn cfs_from_m3_per_s(flow_m3_per_s: f64) -> f64 {
    flow_m3_per_s / CUBIC_METRES_PER_CUBIC_FOOT
}

/// Flow in US gallons per minute as m³/s.
#[must_use]
pub fn m3_per_s_from_gpm(flow_gpm: f64) -> f64 {
    flow_gpm * CUBIC_METRES_PER_GALLON / 60.0
}

/// Flow in m³/s as US gallons per minute.
#[must_use]
pub fn gpm_from_m3_per_s(flow_m3_per_s: f64) -> f64 {
    flow_m3_per_s * 60.0 / CUBIC_METRES_PER_GALLON
}

/// Rainfall intensity in mm/h as m/s.
#[must_use]
pub fn m_per_s_from_mm_per_h(intensity_mm_per_h: f64) -> f64 {
    intensity_mm_per_h / 3.6e6
}

/// Rainfall intensity in in/h as mm/h.
#[must_use]
pub fn mm_per_h_from_in_per_h(intensity_in_per_h: f64) -> f64 {
    intensity_in_per_h * 25.4
}
