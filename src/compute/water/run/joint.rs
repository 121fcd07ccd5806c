//! What happens to the depth where reaches meet: a point inflow, a corner, or a change of slope.

use super::terms::Channel;
use crate::compute::water::roots;
use crate::compute::water::section::Prismatic;

/// What stands between one reach and the next one downstream. The corner comes first, then the inflow.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Joint {
    /// Flow that joins here without velocity along the channel, m³/s.
    pub(super) inflow: f64,
    /// Head lost at a corner, in velocity heads of the arriving flow.
    pub(super) corner_loss: f64,
}

impl Joint {
    /// Subcritical depth just upstream from the depth just downstream.
    pub(super) fn upstream<S: Prismatic>(
        &self,
        channel: &Channel<'_, S>,
        flow_above: f64,
        below: f64,
    ) -> f64 {
        let mut depth = below;
        if self.inflow > 0.0 {
            depth = before_inflow(channel, flow_above, flow_above + self.inflow, depth);
        }
        if self.corner_loss > 0.0 && flow_above > 0.0 {
            depth = before_corner(channel, flow_above, self.corner_loss, depth);
        }
        depth
    }

    /// Supercritical depth just downstream from the depth just upstream; `None` where the flow chokes.
    pub(super) fn downstream<S: Prismatic>(
        &self,
        channel: &Channel<'_, S>,
        flow_above: f64,
        above: f64,
    ) -> Option<f64> {
        let mut depth = above;
        if self.corner_loss > 0.0 {
            depth = after_corner(channel, flow_above, self.corner_loss, depth)?;
        }
        if self.inflow > 0.0 {
            depth = after_inflow(channel, flow_above, flow_above + self.inflow, depth)?;
        }
        Some(depth)
    }
}

/// Grows an upper bracket by doubling until `f` turns positive there.
fn above(f: &impl Fn(f64) -> f64, low: f64) -> (f64, f64) {
    let mut high = low;
    for _ in 0..200 {
        high *= 1.25;
        let value = f(high);
        if value >= 0.0 {
            return (high, value);
        }
    }
    (high, f(high))
}

/// The specific force is the same on both sides of a point inflow.
fn before_inflow<S: Prismatic>(
    channel: &Channel<'_, S>,
    flow_above: f64,
    flow_below: f64,
    below: f64,
) -> f64 {
    let force = channel.force(flow_below, below);
    let f = |depth: f64| channel.force(flow_above, depth) - force;
    let at_low = f(below);
    if at_low >= 0.0 {
        return below;
    }
    roots::bracketed_plain(f, (below, at_low), above(&f, below), 1e-15 * below)
}

fn after_inflow<S: Prismatic>(
    channel: &Channel<'_, S>,
    flow_above: f64,
    flow_below: f64,
    above: f64,
) -> Option<f64> {
    let force = channel.force(flow_above, above);
    let f = |depth: f64| channel.force(flow_below, depth) - force;
    let critical = channel.critical_depth(flow_below);
    let at_critical = f(critical);
    if at_critical > 0.0 {
        return None;
    }
    let at_above = f(above);
    if at_above <= 0.0 {
        return Some(above);
    }
    Some(roots::bracketed_plain(f, (above, at_above), (critical, at_critical), 1e-15 * critical))
}

/// Depth plus the velocity head left after the corner took its share.
fn head_after<S: Prismatic>(channel: &Channel<'_, S>, flow: f64, loss: f64, depth: f64) -> f64 {
    let velocity = flow / channel.section.area_m2(depth);
    depth + (1.0 - loss) * velocity * velocity / (2.0 * channel.gravity)
}

fn before_corner<S: Prismatic>(channel: &Channel<'_, S>, flow: f64, loss: f64, below: f64) -> f64 {
    let energy = head_after(channel, flow, 0.0, below);
    let f = |depth: f64| head_after(channel, flow, loss, depth) - energy;
    let at_low = f(below);
    if at_low >= 0.0 {
        return below;
    }
    roots::bracketed_plain(f, (below, at_low), above(&f, below), 1e-15 * below)
}

fn after_corner<S: Prismatic>(channel: &Channel<'_, S>, flow: f64, loss: f64, above: f64) -> Option<f64> {
    let energy = head_after(channel, flow, loss, above);
    let f = |depth: f64| head_after(channel, flow, 0.0, depth) - energy;
    let critical = channel.critical_depth(flow);
    let at_critical = f(critical);
    if at_critical > 0.0 {
        return None;
    }
    let at_above = f(above);
    if at_above <= 0.0 {
        return Some(above);
    }
    Some(roots::bracketed_plain(f, (above, at_above), (critical, at_critical), 1e-15 * critical))
}
