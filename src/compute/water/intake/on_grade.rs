//! Water that runs along a gutter past a grate or slot: what is caught and what goes on.

use crate::compute::water::units::{CUBIC_METRES_PER_CUBIC_FOOT, METRES_PER_FOOT};

/// Constant of the gutter equation for a spread in feet and a flow in m³/s (0.56 for ft³/s).
const GUTTER: f64 = 0.56 * CUBIC_METRES_PER_CUBIC_FOOT;

/// Flow in a gutter of even cross slope.
///
/// # Formula
/// `Q = 0.56/n Sx^1.67 SL^0.5 T^2.67` in feet; the manual's metric constant, 0.376, is 0.6 % less
/// # Units
/// `spread_m` m of wet width, slopes m/m, `n` s/m^(1/3), result m³/s
/// # Valid for
/// a triangular gutter, much wider than deep
/// # Source
/// FHWA HEC-22 (2009), eq. 4-2; example 4-1 part 2: 8.2 ft at n 0.016, Sx 0.02, SL 0.01 carry 1.4 ft³/s (from memory)
/// # Example
/// ```
/// use rillcast::compute::water::intake::gutter_flow_m3_per_s;
/// let q = gutter_flow_m3_per_s(8.2 * 0.3048, 0.016, 0.02, 0.01);
/// assert!((q / 0.028316846592 - 1.4).abs() < 0.007);
/// ```
#[must_use]
pub fn gutter_flow_m3_per_s(spread_m: f64, n: f64, cross_slope: f64, slope: f64) -> f64 {
    GUTTER / n * cross_slope.powf(1.67) * slope.sqrt() * (spread_m / METRES_PER_FOOT).powf(2.67)
}

/// Wet width of a gutter of even cross slope.
///
/// # Formula
/// `T = (Q n / (0.56 Sx^1.67 SL^0.5))^(1/2.67)` in feet
/// # Units
/// `flow_m3_per_s` m³/s, slopes m/m, `n` s/m^(1/3), result m
/// # Valid for
/// as [`gutter_flow_m3_per_s`]
/// # Source
/// FHWA HEC-22 (2009), example 4-1 part 1: 1.8 ft³/s spread 9.0 ft (from memory)
/// # Example
/// ```
/// use rillcast::compute::water::intake::gutter_spread_m;
/// let t = gutter_spread_m(1.8 * 0.028316846592, 0.016, 0.02, 0.01);
/// assert!((t / 0.3048 - 9.0).abs() < 0.045);
/// ```
#[must_use]
pub fn gutter_spread_m(flow_m3_per_s: f64, n: f64, cross_slope: f64, slope: f64) -> f64 {
    METRES_PER_FOOT * (flow_m3_per_s * n / (GUTTER * cross_slope.powf(1.67) * slope.sqrt())).powf(1.0 / 2.67)
}

/// Length of slot that catches the whole gutter flow.
///
/// # Formula
/// `LT = 0.817 Q^0.42 SL^0.3 (1/(n Sx))^0.6`
/// # Units
/// `flow_m3_per_s` m³/s, slopes m/m, result m
/// # Valid for
/// slots at least 45 mm wide
/// # Source
/// FHWA HEC-22 (2009), eq. 4-22, metric; example 4-9 part 1: 0.05 m³/s, 7.29 m (from memory)
/// # Example
/// ```
/// use rillcast::compute::water::intake::slotted_length_for_all_m;
/// assert!((slotted_length_for_all_m(0.05, 0.016, 0.02, 0.01) - 7.29).abs() < 0.08);
/// ```
#[must_use]
pub fn slotted_length_for_all_m(flow_m3_per_s: f64, n: f64, cross_slope: f64, slope: f64) -> f64 {
    0.817 * flow_m3_per_s.powf(0.42) * slope.powf(0.3) * (1.0 / (n * cross_slope)).powf(0.6)
}

/// Share of the gutter flow that a slot catches.
///
/// # Formula
/// `E = 1 - (1 - L/LT)^1.8`
/// # Units
/// both lengths in m, result a share
/// # Valid for
/// as [`slotted_length_for_all_m`]; all of it from `LT` on
/// # Source
/// FHWA HEC-22 (2009), eq. 4-23; example 4-9 part 1: 3.0 of 7.29 m catch 0.61 (from memory)
/// # Example
/// ```
/// use rillcast::compute::water::intake::slotted_efficiency;
/// assert!((slotted_efficiency(3.0, 7.29) - 0.61).abs() < 0.008);
/// ```
#[must_use]
pub fn slotted_efficiency(length_m: f64, length_for_all_m: f64) -> f64 {
    let left = 1.0 - (length_m / length_for_all_m).clamp(0.0, 1.0);
    1.0 - left.powf(1.8)
}

/// A grate across part of a gutter's flow.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GrateOnGrade {
    /// Width across the flow, m.
    pub width_m: f64,
    /// Length along the flow, m.
    pub length_m: f64,
    /// Velocity above which water splashes over, m/s; from the grate's own test.
    pub splash_over_m_per_s: f64,
}

/// What a grate on grade catches.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OnGradeInterception {
    /// Share of the flow in front of the grate.
    pub frontal_share: f64,
    /// Share of the frontal flow that is caught.
    pub frontal_caught: f64,
    /// Share of the side flow that is caught.
    pub side_caught: f64,
    /// Share of the whole flow that is caught.
    pub efficiency: f64,
}

/// What a grate in a gutter catches of the flow along it.
///
/// # Formula
/// `Eo = 1 - (1 - W/T)^2.67`, `Rf = 1 - 0.295 (V - Vo)`, `Rs = 1/(1 + 0.0828 V^1.8/(Sx L^2.3))`,
/// `E = Rf Eo + Rs (1 - Eo)`
/// # Units
/// `spread_m` m, `velocity_m_per_s` m/s, `cross_slope` m/m; the factors are those for feet, 0.09 and 0.15, converted
/// exactly (0.2953 and 0.0828)
/// # Valid for
/// a gutter of even cross slope; `Rf` between 0 and 1
/// # Source
/// FHWA HEC-22 and TxDOT Hydraulic Design Manual, eq. 10-22 to 10-28 (coefficients read, forms from memory); the
/// example is computed
/// # Example
/// ```
/// use rillcast::compute::water::intake::{GrateOnGrade, grate_on_grade};
/// let ft = 0.3048;
/// let grate = GrateOnGrade { width_m: 1.5 * ft, length_m: 2.0 * ft, splash_over_m_per_s: 4.0 * ft };
/// let caught = grate_on_grade(&grate, 9.03 * ft, 2.2 * ft, 0.02);
/// assert!((caught.efficiency - 0.468706).abs() < 1e-5);
/// ```
#[must_use]
pub fn grate_on_grade(
    grate: &GrateOnGrade,
    spread_m: f64,
    velocity_m_per_s: f64,
    cross_slope: f64,
) -> OnGradeInterception {
    let frontal_share = 1.0 - (1.0 - (grate.width_m / spread_m).clamp(0.0, 1.0)).powf(2.67);
    let too_fast_fps = (velocity_m_per_s - grate.splash_over_m_per_s).max(0.0) / METRES_PER_FOOT;
    let frontal_caught = (1.0 - 0.09 * too_fast_fps).clamp(0.0, 1.0);
    let (velocity_fps, length_ft) = (velocity_m_per_s / METRES_PER_FOOT, grate.length_m / METRES_PER_FOOT);
    let side_caught = 1.0 / (1.0 + 0.15 * velocity_fps.powf(1.8) / (cross_slope * length_ft.powf(2.3)));
    let efficiency = frontal_caught * frontal_share + side_caught * (1.0 - frontal_share);
    OnGradeInterception { frontal_share, frontal_caught, side_caught, efficiency }
}
