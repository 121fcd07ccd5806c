use crate::compute::water::STANDARD_GRAVITY;
use crate::compute::water::bounds::{self, RangeFaults};
use crate::compute::water::manning;
use crate::compute::water::roots;
use crate::compute::water::section::{Circle, Prismatic, conveyance_m3_per_s, critical_depth_m};
use crate::compute::water::warning::Warning;
use crate::units::factors::METRES_PER_FOOT;

/// Greatest flow of a partly full pipe over its full flow, near 0.938 of the bore (Chow 1959, art. 6-4, from memory; the
/// digits computed). It is never used to choose a pipe: the least disturbance fills the pipe and loses it.
pub const GREATEST_FLOW_RATIO: f64 = 1.075_71;

/// Flow of a pipe that just fills (Manning).
///
/// # Formula
/// `Q = (1/n) (π D²/4) (D/4)^(2/3) S^(1/2)`
/// # Units
/// `bore_m` m, inside and not nominal, `slope` m/m, `n` s/m^(1/3), result m³/s
/// # Valid for
/// turbulent uniform flow
/// # Source
/// Manning's formula for a full circle; example computed: 4 in bore, 1 %, n 0.011: 100.949 gpm
/// # Example
/// ```
/// use rillcast::{compute::water::pipe::full_flow_m3_per_s, units::Unit};
/// let q = full_flow_m3_per_s(0.1016, 0.01, 0.011);
/// assert!((q / Unit::GalUsPerMin.si_rate() / 100.949 - 1.0).abs() < 1e-4);
/// ```
#[must_use]
pub fn full_flow_m3_per_s(bore_m: f64, slope: f64, n: f64) -> f64 {
    full_velocity_m_per_s(bore_m, slope, n) * 0.25 * std::f64::consts::PI * bore_m * bore_m
}

/// Velocity of a pipe that just fills (Manning).
///
/// # Formula
/// `V = (1/n) (D/4)^(2/3) S^(1/2)`
/// # Units
/// `bore_m` m, `slope` m/m, `n` s/m^(1/3), result m/s
/// # Valid for
/// turbulent uniform flow
/// # Source
/// Manning's formula for a full circle; example computed: 4 in bore, 1 %, n 0.011: 2.57734 ft/s
/// # Example
/// ```
/// use rillcast::compute::water::pipe::full_velocity_m_per_s;
/// assert!((full_velocity_m_per_s(0.1016, 0.01, 0.011) / 0.3048 / 2.57734 - 1.0).abs() < 1e-4);
/// ```
#[must_use]
pub fn full_velocity_m_per_s(bore_m: f64, slope: f64, n: f64) -> f64 {
    manning::velocity_m_per_s(0.25 * bore_m, slope, n)
}

/// Slope that a full pipe needs for a flow.
///
/// # Formula
/// `S = (n Q / (A R^(2/3)))²`
/// # Units
/// `flow_m3_per_s` m³/s, `bore_m` m, `n` s/m^(1/3), result m/m
/// # Valid for
/// turbulent flow; the friction slope of a pipe under pressure too
/// # Source
/// Manning's formula solved for the slope; example: 3 ft/s in 12 in at n 0.013, 0.0044 (read in a drainage manual's table)
/// # Example
/// ```
/// use rillcast::compute::water::pipe::slope_for_full_flow;
/// let flow = 3.0 * 0.3048 * 0.25 * std::f64::consts::PI * 0.3048f64.powi(2);
/// assert!((slope_for_full_flow(flow, 0.3048, 0.013) / 0.0044 - 1.0).abs() < 0.03);
/// ```
#[must_use]
pub fn slope_for_full_flow(flow_m3_per_s: f64, bore_m: f64, n: f64) -> f64 {
    let at_one = full_flow_m3_per_s(bore_m, 1.0, n);
    (flow_m3_per_s / at_one).powi(2)
}

/// Bore that a full pipe needs for a flow.
///
/// # Formula
/// `D = (n Q 4^(5/3) / (π S^(1/2)))^(3/8)`
/// # Units
/// `flow_m3_per_s` m³/s, `slope` m/m, `n` s/m^(1/3), result m
/// # Valid for
/// turbulent uniform flow
/// # Source
/// Manning's formula solved for the bore; example: FHWA HEC-22 (2009), example 7-1, 1.69 ft (from memory)
/// # Example
/// ```
/// use rillcast::compute::water::pipe::required_bore_m;
/// let d = required_bore_m(17.6 * 0.028316846592, 0.015, 0.013);
/// assert!((d / 0.3048 - 1.69).abs() < 0.004);
/// ```
#[must_use]
pub fn required_bore_m(flow_m3_per_s: f64, slope: f64, n: f64) -> f64 {
    (n * flow_m3_per_s * 4.0_f64.powf(5.0 / 3.0) / (std::f64::consts::PI * slope.sqrt())).powf(0.375)
}

/// Area, hydraulic radius, velocity and flow of a partly full pipe over those of the full pipe.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PartFull {
    /// Area ratio.
    pub area: f64,
    /// Hydraulic radius ratio.
    pub hydraulic_radius: f64,
    /// Velocity ratio.
    pub velocity: f64,
    /// Flow ratio.
    pub flow: f64,
}

/// Ratios of a partly full pipe (the hydraulic elements chart, with the same n at every depth).
///
/// # Formula
/// `theta = 2 acos(1 - 2y/D)`, `A/Af = (theta - sin theta)/2π`, `R/Rf = 1 - sin theta/theta`, `V/Vf = (R/Rf)^(2/3)`
/// # Units
/// `fill` depth over bore, 0 to 1; results without unit
/// # Valid for
/// uniform flow, n the same at every depth
/// # Source
/// Chow, Open-Channel Hydraulics (1959), art. 6-4 (from memory): 1.0757 of the full flow at 0.938
/// # Example
/// ```
/// use rillcast::compute::water::pipe::part_full_ratios;
/// assert!((part_full_ratios(0.93818).flow - 1.07571).abs() < 1e-5);
/// assert!((part_full_ratios(0.5).flow - 0.5).abs() < 1e-12);
/// ```
#[must_use]
pub fn part_full_ratios(fill: f64) -> PartFull {
    let theta = 2.0 * (1.0 - 2.0 * fill.clamp(0.0, 1.0)).acos();
    if theta <= 0.0 {
        return PartFull { area: 0.0, hydraulic_radius: 0.0, velocity: 0.0, flow: 0.0 };
    }
    let area = (theta - theta.sin()) / (2.0 * std::f64::consts::PI);
    let hydraulic_radius = 1.0 - theta.sin() / theta;
    let velocity = hydraulic_radius.powf(2.0 / 3.0);
    PartFull { area, hydraulic_radius, velocity, flow: area * velocity }
}

/// Depth of uniform flow in a partly full pipe; `None` when the flow is more than the full bore carries.
///
/// # Formula
/// Manning's formula solved for the depth, on the branch below 0.82 of the bore where the flow is that of the full bore
/// # Units
/// `flow_m3_per_s` m³/s, `slope` m/m, `n` s/m^(1/3), result m
/// # Valid for
/// turbulent uniform flow
/// # Source
/// example computed: 4 in bore, 1 %, n 0.011, 60 gpm: 2.22005 in
/// # Example
/// ```
/// use rillcast::{compute::water::{pipe::depth_for_flow_m, section::Circle}, units::Unit};
/// let depth = depth_for_flow_m(&Circle::new(0.1016)?, 60.0 * Unit::GalUsPerMin.si_rate(), 0.01, 0.011);
/// assert!(depth.is_some_and(|depth| (depth / 0.0254 - 2.22005).abs() < 2e-4));
/// # Ok::<(), rillcast::compute::water::bounds::RangeFault>(())
/// ```
#[must_use]
pub fn depth_for_flow_m(pipe: &Circle, flow_m3_per_s: f64, slope: f64, n: f64) -> Option<f64> {
    if flow_m3_per_s <= 0.0 {
        return Some(0.0);
    }
    let bore = pipe.bore_m();
    let full = full_flow_m3_per_s(bore, slope, n);
    if flow_m3_per_s.is_nan() || flow_m3_per_s > full || slope <= 0.0 {
        return None;
    }
    let root = slope.sqrt();
    let excess = |depth: f64| conveyance_m3_per_s(pipe, depth, n) * root - flow_m3_per_s;
    let high = 0.82 * bore;
    let low = 1e-9 * bore;
    if excess(low) >= 0.0 {
        return Some(low);
    }
    Some(roots::bracketed_plain(excess, (low, excess(low)), (high, excess(high)), 1e-15 * bore))
}

/// Limits a pipe is judged by.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PipeSettings {
    /// Least velocity flowing full that keeps the pipe clean, m/s; 2 ft/s (Ten States Standards, from memory).
    pub least_full_velocity_m_per_s: f64,
    /// Greatest velocity, m/s; 10 ft/s (common practice, from memory).
    pub greatest_velocity_m_per_s: f64,
    /// Gravity, m/s².
    pub gravity: f64,
}

impl Default for PipeSettings {
    fn default() -> Self {
        Self {
            least_full_velocity_m_per_s: 2.0 * METRES_PER_FOOT,
            greatest_velocity_m_per_s: 10.0 * METRES_PER_FOOT,
            gravity: STANDARD_GRAVITY,
        }
    }
}

/// A pipe under a flow.
#[derive(Debug, Clone, PartialEq)]
pub struct PipeCheck {
    /// Flow of the full bore, m³/s.
    pub full_flow_m3_per_s: f64,
    /// Velocity of the full bore, m/s.
    pub full_velocity_m_per_s: f64,
    /// Design flow over full flow.
    pub share_of_full: f64,
    /// Depth of uniform flow, m; `None` when the pipe is too small for its slope.
    pub depth_m: Option<f64>,
    /// Velocity at that depth, or of the flow through the full bore, m/s.
    pub velocity_m_per_s: f64,
    /// Critical depth, m; the bore when the flow has none below the crown.
    pub critical_depth_m: f64,
    /// Slope at which the full bore would just carry the flow, m/m.
    pub slope_needed: f64,
    /// Whether the full bore carries the flow.
    pub carries: bool,
    /// Velocities outside the limits.
    pub warnings: Vec<Warning>,
}

/// Judges a pipe under a flow.
///
/// # Errors
/// Every number out of its bound.
pub fn check_pipe(
    bore_m: f64,
    slope: f64,
    n: f64,
    flow_m3_per_s: f64,
    settings: &PipeSettings,
) -> Result<PipeCheck, RangeFaults> {
    let mut faults = RangeFaults::default();
    faults.check(&bounds::BORE, "bore_m", bore_m);
    faults.check(&bounds::FLOW_SLOPE, "slope", slope);
    faults.check(&bounds::Bound { min: 1e-3, ..bounds::MANNING_N }, "n", n);
    faults.check(&bounds::FLOW, "flow_m3_per_s", flow_m3_per_s);
    faults.into_result()?;
    let pipe = Circle::new(bore_m)?;
    let full_flow = full_flow_m3_per_s(bore_m, slope, n);
    let full_velocity = full_velocity_m_per_s(bore_m, slope, n);
    let depth_m = depth_for_flow_m(&pipe, flow_m3_per_s, slope, n);
    let velocity = match depth_m {
        Some(depth) if depth > 0.0 => flow_m3_per_s / pipe.area_m2(depth),
        Some(_) => 0.0,
        None => flow_m3_per_s / pipe.full_area_m2(),
    };
    let mut warnings = Vec::new();
    if full_velocity < settings.least_full_velocity_m_per_s {
        warnings.push(Warning::TooSlow {
            velocity_m_per_s: full_velocity,
            limit_m_per_s: settings.least_full_velocity_m_per_s,
        });
    }
    if velocity > settings.greatest_velocity_m_per_s {
        warnings.push(Warning::TooFast {
            velocity_m_per_s: velocity,
            limit_m_per_s: settings.greatest_velocity_m_per_s,
        });
    }
    Ok(PipeCheck {
        full_flow_m3_per_s: full_flow,
        full_velocity_m_per_s: full_velocity,
        share_of_full: flow_m3_per_s / full_flow,
        depth_m,
        velocity_m_per_s: velocity,
        critical_depth_m: critical_depth_m(&pipe, flow_m3_per_s, settings.gravity).min(bore_m),
        slope_needed: slope_for_full_flow(flow_m3_per_s, bore_m, n),
        carries: flow_m3_per_s <= full_flow,
        warnings,
    })
}
