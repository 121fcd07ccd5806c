use super::Prismatic;
use crate::compute::water::roots;

/// Flow that the section carries at a depth for a slope of one (Manning).
///
/// # Formula
/// `K = A R^(2/3) / n`
/// # Units
/// `depth_m` m, `n` s/m^(1/3), result m³/s; the uniform flow on a slope `S` is `K sqrt(S)`
/// # Valid for
/// turbulent, fully rough, uniform flow
/// # Source
/// Chow, Open-Channel Hydraulics (1959), ch. 6 (from memory). Example: half-full pipe of Mott and Untener,
/// Applied Fluid Mechanics 7e, example 14.2 (read)
/// # Example
/// ```
/// use rillcast::compute::water::section::{conveyance_m3_per_s, Circle};
/// let flow = conveyance_m3_per_s(&Circle::new(0.2)?, 0.1, 0.013) * 0.001f64.sqrt();
/// assert!((flow - 0.005185889).abs() < 5e-8);
/// # Ok::<(), rillcast::compute::water::bounds::RangeFault>(())
/// ```
#[must_use]
pub fn conveyance_m3_per_s<S: Prismatic + ?Sized>(section: &S, depth_m: f64, n: f64) -> f64 {
    if depth_m.is_nan() || depth_m <= 0.0 {
        return 0.0;
    }
    let at = section.geometry(depth_m);
    at.area_m2 * at.hydraulic_radius_m().powf(2.0 / 3.0) / n
}

/// Depth of uniform flow: where friction takes just what the slope gives.
///
/// # Formula
/// `Q = (1/n) A R^(2/3) S^(1/2)`, solved for the depth
/// # Units
/// `flow_m3_per_s` m³/s, `slope` m/m above zero, `n` s/m^(1/3) above zero, result m; `None` where no uniform
/// flow exists (level or adverse bed, no friction)
/// # Valid for
/// open sections; for a pipe see [`crate::compute::water::pipe::depth_for_flow_m`]
/// # Source
/// as [`conveyance_m3_per_s`]; example: Mott and Untener, Applied Fluid Mechanics 7e, example 14.4 (read)
/// # Example
/// ```
/// use rillcast::compute::water::section::{normal_depth_m, Rectangle};
/// let depth = normal_depth_m(&Rectangle::new(1.757740229914727)?, 5.75, 0.012, 0.017);
/// assert!(depth.is_some_and(|depth| (depth - 0.8784136).abs() < 5e-5));
/// # Ok::<(), rillcast::compute::water::bounds::RangeFault>(())
/// ```
#[must_use]
pub fn normal_depth_m<S: Prismatic + ?Sized>(
    section: &S,
    flow_m3_per_s: f64,
    slope: f64,
    n: f64,
) -> Option<f64> {
    if flow_m3_per_s == 0.0 {
        return Some(0.0);
    }
    let positive = flow_m3_per_s > 0.0 && slope > 0.0 && n > 0.0;
    if !positive {
        return None;
    }
    let target = flow_m3_per_s * n / slope.sqrt();
    let width = section.nominal_width_m();
    let guess = (target / width).powf(0.6);
    Some(roots::power_law(
        |depth| {
            let at = section.geometry(depth);
            let value = at.area_m2 * at.hydraulic_radius_m().powf(2.0 / 3.0) / target;
            let rate = depth
                * (5.0 / 3.0 * at.top_width_m / at.area_m2
                    - 2.0 / 3.0 * at.wetted_perimeter_rate / at.wetted_perimeter_m);
            (value.ln(), rate)
        },
        guess,
    ))
}
