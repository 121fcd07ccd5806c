//! How long water takes along each kind of path.

use crate::units::factors::{METRES_PER_FOOT, METRES_PER_INCH, MILLIMETRES_PER_INCH};

/// Which published constant the kinematic wave formula takes; they differ by 0.3 per cent.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum KinematicConstant {
    /// 0.933 with feet and inches per hour.
    #[default]
    Us,
    /// 6.92 with metres and millimetres per hour.
    Si,
}

/// Travel time of a thin sheet of water over a plane (kinematic wave).
///
/// # Formula
/// `t = 0.933 i^-0.4 (n L / S^0.5)^0.6` (min, in/h, ft), or `t = 6.92 i^-0.4 (n L / S^0.5)^0.6` (min, mm/h, m)
/// # Units
/// `n` s/m^(1/3), `length_m` m, `slope` m/m, `intensity_mm_per_h` mm/h, result min
/// # Valid for
/// sheet flow, up to about 30 m (100 ft) before it gathers
/// # Source
/// FHWA HEC-22 (2009), eq. 3-3 (from memory); the examples are computed with each constant
/// # Example
/// ```
/// use rillcast::compute::water::runoff::{KinematicConstant, kinematic_wave_minutes};
/// let us = kinematic_wave_minutes(0.011, 30.48, 0.02, 152.4, KinematicConstant::Us);
/// assert!((us - 1.56008).abs() < 1e-5);
/// let si = kinematic_wave_minutes(0.011, 30.48, 0.02, 152.4, KinematicConstant::Si);
/// assert!((si - 1.55542).abs() < 1e-5);
/// ```
#[must_use]
pub fn kinematic_wave_minutes(
    n: f64,
    length_m: f64,
    slope: f64,
    intensity_mm_per_h: f64,
    constant: KinematicConstant,
) -> f64 {
    let (factor, length, intensity) = match constant {
        KinematicConstant::Us => {
            (0.933, length_m / METRES_PER_FOOT, intensity_mm_per_h / MILLIMETRES_PER_INCH)
        }
        KinematicConstant::Si => (6.92, length_m, intensity_mm_per_h),
    };
    factor * intensity.powf(-0.4) * (n * length / slope.sqrt()).powf(0.6)
}

/// Travel time over a plane by the formula of the Federal Aviation Administration.
///
/// # Formula
/// `t = 1.8 (1.1 - C) L^0.5 / S^(1/3)` (min, ft, per cent)
/// # Units
/// `coefficient` without unit, `length_m` m, `slope` m/m, result min
/// # Valid for
/// overland flow of airfields and lots, up to about 150 m
/// # Source
/// FAA AC 150/5320 (from memory); example: City of Roswell technical handbook 3.1.4.7, 50 ft of lawn, 10 min (read in
/// a page quoting it)
/// # Example
/// ```
/// use rillcast::compute::water::runoff::faa_minutes;
/// assert!((faa_minutes(0.1, 50.0 * 0.3048, 0.02) - 10.0).abs() < 0.15);
/// ```
#[must_use]
pub fn faa_minutes(coefficient: f64, length_m: f64, slope: f64) -> f64 {
    1.8 * (1.1 - coefficient) * (length_m / METRES_PER_FOOT).sqrt() / (100.0 * slope).cbrt()
}

/// Velocity of shallow gathered flow.
///
/// # Formula
/// `V = K S^0.5`
/// # Units
/// `factor_fps` ft/s for a slope of one (as tables give it), `slope` m/m, result m/s
/// # Valid for
/// flow gathered in rills and swales, up to about 0.1 m deep
/// # Source
/// USDA NRCS NEH-630, ch. 15, table 15-3 (read); example: SCS TR-55 (1986), example 3-1, unpaved, 1.6 ft/s (from memory)
/// # Example
/// ```
/// use rillcast::compute::water::runoff::shallow_flow_velocity_m_per_s;
/// assert!((shallow_flow_velocity_m_per_s(16.135, 0.01) / 0.3048 - 1.6).abs() < 0.02);
/// ```
#[must_use]
pub fn shallow_flow_velocity_m_per_s(factor_fps: f64, slope: f64) -> f64 {
    factor_fps * METRES_PER_FOOT * slope.sqrt()
}

/// Velocity factor of shallow gathered flow from its depth and roughness.
///
/// # Formula
/// `K = (1.486/n) d^(2/3)` (ft/s, ft)
/// # Units
/// `depth_m` m, `n` s/m^(1/3), result ft/s
/// # Valid for
/// wide shallow flow
/// # Source
/// USDA NRCS NEH-630, ch. 15, table 15-3: pavement, 0.2 ft, n 0.025, 20.328 (read; one copy prints 20.238)
/// # Example
/// ```
/// use rillcast::compute::water::runoff::upland_velocity_factor_fps;
/// assert!((upland_velocity_factor_fps(0.2 * 0.3048, 0.025) - 20.328).abs() < 4e-3);
/// ```
#[must_use]
pub fn upland_velocity_factor_fps(depth_m: f64, n: f64) -> f64 {
    1.486 / n * (depth_m / METRES_PER_FOOT).powf(2.0 / 3.0)
}

/// Time to travel a length.
///
/// # Formula
/// `t = L / (60 V)`
/// # Units
/// `length_m` m, `velocity_m_per_s` m/s, result min
/// # Valid for
/// steady velocity
/// # Source
/// definition; example: City of Roswell technical handbook 3.1.4.7, 2250 ft at 3.1 ft/s, 12.1 min (read in a page)
/// # Example
/// ```
/// use rillcast::compute::water::runoff::travel_minutes;
/// assert!((travel_minutes(2250.0 * 0.3048, 3.1 * 0.3048) - 12.1).abs() < 0.01);
/// ```
#[must_use]
pub fn travel_minutes(length_m: f64, velocity_m_per_s: f64) -> f64 {
    length_m / (60.0 * velocity_m_per_s)
}

/// Time of concentration of a small rural basin (Kirpich).
///
/// # Formula
/// `t = 0.0078 L^0.77 S^-0.385` (min, ft)
/// # Units
/// `length_m` m, `slope` m/m, result min
/// # Valid for
/// basins of about 0.5 to 45 ha with well-defined channels
/// # Source
/// Kirpich (1940); example: TxDOT Hydraulic Design Manual (2016) p. 4-40, 4780 ft at 0.0095, 32 min (read)
/// # Example
/// ```
/// use rillcast::compute::water::runoff::kirpich_minutes;
/// assert!((kirpich_minutes(4780.0 * 0.3048, 0.0095) - 32.0).abs() < 0.3);
/// ```
#[must_use]
pub fn kirpich_minutes(length_m: f64, slope: f64) -> f64 {
    0.0078 * (length_m / METRES_PER_FOOT).powf(0.77) * slope.powf(-0.385)
}

/// Travel time of sheet flow from the two-year daily rain.
///
/// # Formula
/// `t = 0.007 (n L)^0.8 / (P2^0.5 S^0.4)` (h, ft, in)
/// # Units
/// `n` s/m^(1/3), `length_m` m, `two_year_day_mm` mm, `slope` m/m, result min
/// # Valid for
/// sheet flow up to 30 m (100 ft)
/// # Source
/// USDA SCS TR-55 (1986), eq. 3-3 and example 3-1, 0.30 h (from memory)
/// # Example
/// ```
/// use rillcast::compute::water::runoff::sheet_flow_minutes;
/// assert!((sheet_flow_minutes(0.24, 30.48, 3.6 * 25.4, 0.01) / 60.0 - 0.30).abs() < 0.006);
/// ```
#[must_use]
pub fn sheet_flow_minutes(n: f64, length_m: f64, two_year_day_mm: f64, slope: f64) -> f64 {
    let rain_in = two_year_day_mm / (1000.0 * METRES_PER_INCH);
    60.0 * 0.007 * (n * length_m / METRES_PER_FOOT).powf(0.8) / (rain_in.sqrt() * slope.powf(0.4))
}
