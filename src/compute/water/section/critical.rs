use super::Prismatic;
use crate::compute::water::roots;

/// Depth at which a flow has the least specific energy: its Froude number is one.
///
/// # Formula
/// `Q² T = g A³`, solved for the depth; rectangle `y_c = (Q² / (g b²))^(1/3)`
/// # Units
/// `flow_m3_per_s` m³/s, `gravity` m/s², result m; no flow has no depth
/// # Valid for
/// small slopes and hydrostatic pressure
/// # Source
/// Chow, Open-Channel Hydraulics (1959), ch. 4 (from memory). Example: 10 m wide,
/// 50 m³/s, 1.37 m (a textbook's problem, no source)
/// # Example
/// ```
/// use rillcast::compute::water::section::{critical_depth_m, Rectangle};
/// let depth = critical_depth_m(&Rectangle::new(10.0)?, 50.0, 9.81);
/// assert!((depth - 1.366).abs() < 5e-4);
/// # Ok::<(), rillcast::compute::water::bounds::RangeFault>(())
/// ```
#[must_use]
pub fn critical_depth_m<S: Prismatic + ?Sized>(section: &S, flow_m3_per_s: f64, gravity: f64) -> f64 {
    if flow_m3_per_s.is_nan() || flow_m3_per_s <= 0.0 {
        return 0.0;
    }
    let target = flow_m3_per_s * flow_m3_per_s / gravity;
    let width = section.nominal_width_m();
    let guess = (target / (width * width)).cbrt();
    // A guess above the crown of a closed section would have no surface.
    let guess = if section.geometry(guess).top_width_m > 0.0 { guess } else { 0.9 * width };
    roots::power_law(
        |depth| {
            let at = section.geometry(depth);
            if at.top_width_m.is_nan() || at.top_width_m <= 0.0 {
                return (f64::MAX, 1.0);
            }
            let value = (at.area_m2 * at.area_m2 * at.area_m2 / (at.top_width_m * target)).ln();
            let rate = depth * (3.0 * at.top_width_m / at.area_m2 - at.top_width_rate / at.top_width_m);
            (value, rate)
        },
        guess,
    )
}

/// Flow that is critical at a depth.
///
/// # Formula
/// `Q = sqrt(g A³ / T)`
/// # Units
/// `depth_m` m, `gravity` m/s², result m³/s
/// # Valid for
/// small slopes and hydrostatic pressure
/// # Source
/// as [`critical_depth_m`]; example: Hicks, Civil Engineering Formulas, p. 326, `Q = 4.01 z D^2.5` in feet for
/// a triangle with g = 32.16 (read)
/// # Example
/// ```
/// use rillcast::compute::water::section::{critical_flow_m3_per_s, Trapezoid};
/// let flow = critical_flow_m3_per_s(&Trapezoid::new(0.0, 1.0)?, 0.3048, 32.16 * 0.3048);
/// assert!((flow / 0.028316846592 - 4.01).abs() < 1e-3);
/// # Ok::<(), rillcast::compute::water::bounds::RangeFault>(())
/// ```
#[must_use]
pub fn critical_flow_m3_per_s<S: Prismatic + ?Sized>(section: &S, depth_m: f64, gravity: f64) -> f64 {
    if depth_m.is_nan() || depth_m <= 0.0 {
        return 0.0;
    }
    let at = section.geometry(depth_m);
    (gravity * at.area_m2 * at.area_m2 * at.area_m2 / at.top_width_m).sqrt()
}

/// Froude number of a flow: below one is subcritical, above one supercritical.
///
/// # Formula
/// `Fr = sqrt(Q² T / (g A³))`
/// # Units
/// `flow_m3_per_s` m³/s, `depth_m` m, `gravity` m/s², result without unit; 0 without flow
/// # Valid for
/// small slopes and hydrostatic pressure
/// # Source
/// Chow, Open-Channel Hydraulics (1959), ch. 3 (from memory). Example: Mott and Untener, Applied Fluid
/// Mechanics 7e, example 14.2 (read)
/// # Example
/// ```
/// use rillcast::compute::water::section::{froude, Circle};
/// let fr = froude(&Circle::new(0.2)?, 0.005185889, 0.1, 9.80665);
/// assert!((fr - 0.376182).abs() < 5e-5);
/// # Ok::<(), rillcast::compute::water::bounds::RangeFault>(())
/// ```
#[must_use]
pub fn froude<S: Prismatic + ?Sized>(section: &S, flow_m3_per_s: f64, depth_m: f64, gravity: f64) -> f64 {
    if flow_m3_per_s <= 0.0 || depth_m <= 0.0 {
        return 0.0;
    }
    let at = section.geometry(depth_m);
    let velocity = flow_m3_per_s / at.area_m2;
    (velocity * velocity * at.top_width_m / (gravity * at.area_m2)).sqrt()
}

/// Specific force (momentum function): it is the same on both sides of a hydraulic jump, and grows along a
/// channel only by the weight of water down the slope less friction.
///
/// # Formula
/// `M = Q² / (g A) + A ȳ`
/// # Units
/// `flow_m3_per_s` m³/s, `depth_m` m, `gravity` m/s², result m³
/// # Valid for
/// small slopes, hydrostatic pressure, even velocity over the section
/// # Source
/// Chow, Open-Channel Hydraulics (1959), art. 3-7 (from memory)
/// # Example
/// ```
/// use rillcast::compute::water::section::{specific_force_m3, Rectangle};
/// // both depths of a jump in a rectangle, y2 = y1/2 (sqrt(1 + 8 Fr²) - 1): 0.1 m at Fr 3 jumps to 0.377 m
/// let (section, g) = (Rectangle::new(1.0)?, 9.81);
/// let flow = 3.0 * (g * 0.1f64.powi(3)).sqrt();
/// let after = 0.05 * (73f64.sqrt() - 1.0);
/// let lost = specific_force_m3(&section, flow, 0.1, g) - specific_force_m3(&section, flow, after, g);
/// assert!(lost.abs() < 1e-15);
/// # Ok::<(), rillcast::compute::water::bounds::RangeFault>(())
/// ```
#[must_use]
pub fn specific_force_m3<S: Prismatic + ?Sized>(
    section: &S,
    flow_m3_per_s: f64,
    depth_m: f64,
    gravity: f64,
) -> f64 {
    if depth_m <= 0.0 {
        return 0.0;
    }
    flow_m3_per_s * flow_m3_per_s / (gravity * section.area_m2(depth_m)) + section.first_moment_m3(depth_m)
}

/// Energy of the flow above the bed.
///
/// # Formula
/// `E = y + Q² / (2 g A²)`
/// # Units
/// `flow_m3_per_s` m³/s, `depth_m` m, `gravity` m/s², result m
/// # Valid for
/// small slopes, hydrostatic pressure, even velocity over the section
/// # Source
/// Chow, Open-Channel Hydraulics (1959), ch. 3 (from memory)
/// # Example
/// ```
/// use rillcast::compute::water::section::{specific_energy_m, Rectangle};
/// // a rectangle at critical depth has 1.5 times that depth
/// let flow = (9.81f64 * 0.2f64.powi(3)).sqrt();
/// assert!((specific_energy_m(&Rectangle::new(1.0)?, flow, 0.2, 9.81) - 0.3).abs() < 1e-15);
/// # Ok::<(), rillcast::compute::water::bounds::RangeFault>(())
/// ```
#[must_use]
pub fn specific_energy_m<S: Prismatic + ?Sized>(
    section: &S,
    flow_m3_per_s: f64,
    depth_m: f64,
    gravity: f64,
) -> f64 {
    if depth_m <= 0.0 {
        return 0.0;
    }
    let velocity = flow_m3_per_s / section.area_m2(depth_m);
    depth_m + velocity * velocity / (2.0 * gravity)
}
