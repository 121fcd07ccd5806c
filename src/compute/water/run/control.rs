//! Where inside a branch the flow can turn from slow to fast: the control sections.
//!
//! At critical depth the numerator of the water-surface slope is negative where the bed is too flat for the
//! inflow and friction, positive where it is steep enough. A control stands where it turns from negative to
//! positive along the flow: smoothly inside a reach, or at a joint between two.

use super::terms::{Channel, Reach};
use crate::compute::water::manning::four_thirds;
use crate::compute::water::roots;
use crate::compute::water::section::{Prismatic, critical_flow_m3_per_s};

/// Slope that a bed needs for its flow to pass at critical depth, as a function of that depth:
/// `Sf + 2Qq/(gA²)` with `Q² = g A³ / T`.
pub(super) fn slope_needed<S: Prismatic>(channel: &Channel<'_, S>, lateral: f64, critical_depth: f64) -> f64 {
    let at = channel.section.geometry(critical_depth);
    let radius = at.hydraulic_radius_m();
    let friction = channel.n_squared * channel.gravity * at.area_m2 / at.top_width_m / four_thirds(radius);
    friction + 2.0 * lateral / (channel.gravity * at.area_m2 * at.top_width_m).sqrt()
}

/// Last control section inside a reach upstream of `limit`, where the bed is steep enough: station and critical
/// depth there. `None` when the reach is steep enough up to its start.
pub(super) fn last_inside<S: Prismatic>(
    channel: &Channel<'_, S>,
    reach: &Reach,
    limit: f64,
) -> Option<(f64, f64)> {
    if reach.lateral <= 0.0 {
        return None;
    }
    let top = channel.critical_depth(reach.flow_at(limit));
    let bottom = channel.critical_depth(reach.flow);
    let excess = |depth: f64| slope_needed(channel, reach.lateral, depth) - reach.slope;
    let (mut high, mut high_value) = (top, excess(top));
    if high_value >= 0.0 {
        // At the limit itself, within rounding: a control if the bed is too flat just upstream, but not if it is steep
        // enough there (that is where it turns too flat again).
        let above = (top * (1.0 - 1e-4)).max(bottom);
        let above_value = excess(above);
        if above_value >= 0.0 || above <= bottom {
            return Some((limit, top));
        }
        (high, high_value) = (above, above_value);
    }
    // The slope needed grows without limit as the flow vanishes, so the search ends.
    for _ in 0..4_000 {
        let low = (0.9 * high).max(bottom);
        if low <= f64::MIN_POSITIVE {
            break;
        }
        let low_value = excess(low);
        if low_value >= 0.0 {
            let depth = roots::bracketed_plain(excess, (low, low_value), (high, high_value), 1e-15 * high);
            let flow = critical_flow_m3_per_s(channel.section, depth, channel.gravity);
            let station = (flow - reach.flow) / reach.lateral;
            return Some((station.clamp(0.0, limit), depth));
        }
        if low <= bottom {
            return None;
        }
        (high, high_value) = (low, low_value);
    }
    None
}
