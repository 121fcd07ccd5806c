//! The upstream sweep: the subcritical water surface from the outlet to the upper end.
//!
//! Where it falls to critical depth it cannot go on; the sweep then finds the control section upstream that the
//! fast flow there comes from, leaves the gap between the two open, and goes on upstream from the control.

use super::branch::Branch;
use super::control;
use super::error::RunError;
use super::march::{March, Side, Stop};
use super::segment::Segment;
use super::terms::{Channel, Reach};
use crate::compute::water::section::Prismatic;

/// Kind of a section that controls the flow.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ControlKind {
    /// Inside a stretch, where inflow and friction balance the bed slope at critical depth.
    Interior,
    /// Where the bed steepens.
    SlopeBreak,
    /// Where a point inflow joins.
    PointInflow,
    /// At a corner.
    Corner,
    /// At the upper end of the run.
    Entry,
}

/// A stretch without a subcritical surface, from a control section down to where the surface below ends.
#[derive(Debug, Clone, Copy)]
pub(super) struct Gap {
    /// Reach in which the fast flow starts.
    pub(super) reach: usize,
    /// Station of the control, and the depth of the fast flow that starts there.
    pub(super) station: f64,
    pub(super) depth: f64,
    pub(super) kind: ControlKind,
    /// Segments `..below` lie downstream of the gap.
    pub(super) below: usize,
}

/// The subcritical surface of a branch.
#[derive(Debug, Clone, Default)]
pub(super) struct Sweep {
    /// From the outlet upstream.
    pub(super) segments: Vec<Segment>,
    /// From the outlet upstream.
    pub(super) gaps: Vec<Gap>,
    /// Depth at the upper end, m.
    pub(super) upper_depth: f64,
}

/// Sweeps a branch upstream from the depth at its outlet; a depth below critical means critical.
pub(super) fn upstream<S: Prismatic>(
    channel: Channel<'_, S>,
    branch: &Branch,
    outlet_depth: f64,
) -> Result<Sweep, RunError> {
    let mut sweep = Sweep { segments: Vec::with_capacity(64), ..Sweep::default() };
    let mut depth = outlet_depth;
    let mut at = branch.reaches.len();
    while let Some(index) = at.checked_sub(1) {
        let Some(reach) = branch.reaches.get(index) else {
            break;
        };
        if reach.is_still() {
            depth = still(&mut sweep.segments, index, reach, depth);
        } else {
            let stop = slow_reach(channel, reach, index, depth, reach.length_m, &mut sweep)
                .map_err(|error| branch.placed(error, index))?;
            match stop {
                Stop::End(reached) => depth = reached,
                Stop::Critical(station) => {
                    // The control may lie in this reach or further up; go on from there.
                    (at, depth) = past_controls(channel, branch, (index, station), &mut sweep)?;
                    continue;
                }
                Stop::Halted => {}
            }
        }
        depth = through_joint(channel, branch, index, depth);
        at = index;
    }
    sweep.upper_depth = depth;
    Ok(sweep)
}

/// Marches up one reach; a start at or below critical depth on a bed steep enough ends at once.
fn slow_reach<S: Prismatic>(
    channel: Channel<'_, S>,
    reach: &Reach,
    index: usize,
    depth: f64,
    from: f64,
    sweep: &mut Sweep,
) -> Result<Stop, RunError> {
    let critical = channel.critical_depth(reach.flow_at(from));
    let mut depth = depth;
    if depth <= critical * (1.0 + 1e-12) {
        depth = critical;
        let at = channel.terms(reach, from, critical);
        let degenerate = reach.lateral <= 0.0 && at.numerator.abs() <= 1e-9 * at.reference;
        if at.numerator >= 0.0 && !degenerate {
            return Ok(Stop::Critical(from));
        }
    }
    March::new(channel, reach, index, Side::Subcritical).run(from, depth, &mut |segment| {
        sweep.segments.push(segment);
        false
    })
}

fn through_joint<S: Prismatic>(channel: Channel<'_, S>, branch: &Branch, index: usize, depth: f64) -> f64 {
    branch.joints.get(index).map_or(depth, |joint| joint.upstream(&channel, branch.flow_above(index), depth))
}

/// Finds the last control at or above a station where the bed is steep enough.
fn find_control<S: Prismatic>(
    channel: Channel<'_, S>,
    branch: &Branch,
    from_index: usize,
    from: f64,
    below: usize,
) -> Gap {
    let mut index = from_index;
    let mut limit = from;
    while let Some(reach) = branch.reaches.get(index) {
        let slack = (limit + 1e-9 * reach.length_m).min(reach.length_m);
        if let Some((station, depth)) = control::last_inside(&channel, reach, slack) {
            return Gap { reach: index, station, depth, kind: ControlKind::Interior, below };
        }
        let depth = channel.critical_depth(reach.flow);
        let gap = |kind| Gap { reach: index, station: 0.0, depth, kind, below };
        let joint = branch.joints.get(index).copied().unwrap_or_default();
        if joint.inflow > 0.0 {
            return gap(ControlKind::PointInflow);
        }
        let Some(above) = index.checked_sub(1).and_then(|above| branch.reaches.get(above)) else {
            return gap(ControlKind::Entry);
        };
        if joint.corner_loss > 0.0 {
            return gap(ControlKind::Corner);
        }
        if channel.critical_numerator(above, above.length_m, depth) < 0.0 {
            return gap(ControlKind::SlopeBreak);
        }
        index -= 1;
        limit = above.length_m;
    }
    Gap {
        reach: 0,
        station: 0.0,
        depth: channel.critical_depth(branch.carried),
        kind: ControlKind::Entry,
        below,
    }
}

/// Finds the control above a place where the slow surface ended, and follows the slow surface above it through the
/// joint at the upper end of its reach; again, should that end inside the reach too. Gives the index below which the
/// sweep goes on, and the depth there.
fn past_controls<S: Prismatic>(
    channel: Channel<'_, S>,
    branch: &Branch,
    ended: (usize, f64),
    sweep: &mut Sweep,
) -> Result<(usize, f64), RunError> {
    let (mut index, mut station) = ended;
    loop {
        let gap = find_control(channel, branch, index, station, sweep.segments.len());
        sweep.gaps.push(gap);
        let mut depth = gap.depth;
        if gap.kind == ControlKind::Interior
            && let Some(reach) = branch.reaches.get(gap.reach)
        {
            let march = March::new(channel, reach, gap.reach, Side::Subcritical);
            let stop = march.run(gap.station, gap.depth, &mut |segment| {
                sweep.segments.push(segment);
                false
            });
            let stop = stop.map_err(|error| branch.placed(error, gap.reach))?;
            match stop {
                Stop::End(reached) => depth = reached,
                Stop::Critical(end) if gap.reach < index || end < station - 1e-9 * reach.length_m => {
                    (index, station) = (gap.reach, end);
                    continue;
                }
                Stop::Critical(_) | Stop::Halted => {
                    return Err(RunError::NoContinuation {
                        station_m: branch.run_station(gap.reach, gap.station),
                        what: "slow flow above a control",
                    });
                }
            }
        }
        return Ok((gap.reach, through_joint(channel, branch, gap.reach, depth)));
    }
}

/// Water that stands still: its surface is level; where the bed rises above it the channel is dry.
fn still(segments: &mut Vec<Segment>, index: usize, reach: &Reach, below: f64) -> f64 {
    let length = reach.length_m;
    let above = below - reach.slope * length;
    if below <= 0.0 {
        segments.push(Segment::straight_cubic(index, length, 0.0, [0.0; 4]));
        0.0
    } else if above >= 0.0 {
        let line = [below, above - below, 0.0, 0.0];
        segments.push(Segment::straight_cubic(index, length, 0.0, line));
        above
    } else {
        let edge = length - below / reach.slope;
        segments.push(Segment::straight_cubic(index, length, edge, [below, -below, 0.0, 0.0]));
        segments.push(Segment::straight_cubic(index, edge, 0.0, [0.0; 4]));
        0.0
    }
}
