//! Friction of uniform turbulent flow, and when Manning's formula stops being true.

use super::roots::cube_root;
use super::warning::Warning;

/// Mean velocity of uniform flow in an open channel or a pipe (Manning).
///
/// # Formula
/// `V = (1/n) R^(2/3) S^(1/2)`
/// # Units
/// `hydraulic_radius_m` m, `slope` m/m, `n` s/m^(1/3), result m/s
/// # Valid for
/// turbulent, fully rough, uniform flow; see [`validity`]
/// # Source
/// Manning's formula as in Cengel and Cimbala, Fluid Mechanics; the worked example (R 0.2859 m, S 0.005236,
/// n 0.03) is the one the open library fluids 1.3.1 checks itself against (read)
/// # Example
/// ```
/// use rillcast::compute::water::manning;
/// let v = manning::velocity_m_per_s(0.2859, 0.005236, 0.03);
/// assert!((v - 1.0467781958).abs() < 1e-9);
/// ```
#[must_use]
pub fn velocity_m_per_s(hydraulic_radius_m: f64, slope: f64, n: f64) -> f64 {
    hydraulic_radius_m.powf(2.0 / 3.0) * slope.max(0.0).sqrt() / n
}

/// Slope of the energy line that friction needs (Manning).
///
/// # Formula
/// `Sf = n² V² (1/R)^(4/3)`
/// # Units
/// `n_squared` the square of Manning's n, s²/m^(2/3); `velocity_m_per_s` m/s; `per_radius` one over the hydraulic
/// radius, 1/m: a march has it without a division; result m/m
/// # Valid for
/// turbulent, fully rough flow, gradually varied; see [`validity`]
/// # Source
/// Chow, Open-Channel Hydraulics (1959), ch. 5 and 8 (from memory)
/// # Example
/// ```
/// use rillcast::compute::water::manning;
/// // the inverse of the velocity example: 1.0467781958 m/s needs the slope 0.005236
/// let sf = manning::friction_slope(0.03 * 0.03, 1.0467781958, 1.0 / 0.2859);
/// assert!((sf - 0.005236).abs() < 1e-9);
/// ```
#[inline]
#[must_use]
pub fn friction_slope(n_squared: f64, velocity_m_per_s: f64, per_radius: f64) -> f64 {
    n_squared * velocity_m_per_s * velocity_m_per_s * four_thirds(per_radius)
}

/// `x^(4/3)`: how friction goes with the hydraulic radius. Where the slope itself is not asked for, as in its derivatives.
#[inline]
pub(super) fn four_thirds(x: f64) -> f64 {
    x * cube_root(x)
}

/// Kinematic viscosity of water at 20 °C, m²/s (common handbook value, from memory).
pub const WATER_VISCOSITY_M2_PER_S: f64 = 1.0e-6;

/// Says whether the flow is turbulent enough for Manning's formula.
///
/// # Formula
/// `Re = 4 R V / nu`, turbulent above 2 000 (from 500 in terms of `R V / nu`)
/// # Units
/// `velocity_m_per_s` m/s, `hydraulic_radius_m` m
/// # Valid for
/// water near 20 °C; cold water is up to 1.8 times as viscous
/// # Source
/// Chow, Open-Channel Hydraulics (1959), art. 1-3: laminar below R V / nu = 500 (from memory)
/// # Example
/// ```
/// use rillcast::compute::water::manning;
/// assert!(manning::validity(0.5, 0.03, 2.0).is_none());
/// assert!(manning::validity(0.01, 0.001, 2.0).is_some());
/// ```
#[must_use]
pub fn validity(velocity_m_per_s: f64, hydraulic_radius_m: f64, station_m: f64) -> Option<Warning> {
    let reynolds = 4.0 * hydraulic_radius_m * velocity_m_per_s / WATER_VISCOSITY_M2_PER_S;
    (velocity_m_per_s > 0.0 && reynolds < 2_000.0).then_some(Warning::NotTurbulent { station_m, reynolds })
}
