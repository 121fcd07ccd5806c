//! The downstream sweep: fast flow from each control, until the slow water below throws it back.
//!
//! Fast flow holds as long as its specific force is the greater one; where the subcritical surface below has as
//! much, a hydraulic jump joins the two. Along a channel the force of the slow water gains on that of the fast,
//! so there is one such place at most.

use super::branch::Branch;
use super::error::RunError;
use super::march::{March, Side, Stop};
use super::segment::Segment;
use super::sweep::{ControlKind, Gap, Sweep};
use super::terms::Channel;
use crate::compute::water::roots;
use crate::compute::water::section::Prismatic;

/// A stretch of the final water surface: part of a segment, read in the direction of the flow.
#[derive(Debug, Clone, Copy)]
pub(super) struct Strip {
    pub(super) segment: Segment,
    /// Parameter of the segment at the upstream end of the strip.
    pub(super) from: f64,
    /// Parameter at the downstream end.
    pub(super) to: f64,
    pub(super) supercritical: bool,
}

impl Strip {
    pub(super) fn start(&self) -> (f64, f64) {
        (self.segment.x(self.from), self.segment.y(self.from))
    }

    pub(super) fn end(&self) -> (f64, f64) {
        (self.segment.x(self.to), self.segment.y(self.to))
    }

    /// Whether it begins just where another ended, in the same reach and at the same depth.
    pub(super) fn goes_on_from(&self, above: &Strip) -> bool {
        above.segment.reach == self.segment.reach && above.end() == self.start()
    }

    /// Station and depth at a share of the strip's parameter.
    pub(super) fn at(&self, share: f64) -> (f64, f64) {
        let t = self.from + share * (self.to - self.from);
        (self.segment.x(t), self.segment.y(t))
    }

    /// How fast station and depth grow with the share of the strip's parameter.
    pub(super) fn rates_at(&self, share: f64) -> (f64, f64) {
        let span = self.to - self.from;
        let t = self.from + share * span;
        (span * self.segment.x_rate(t), span * self.segment.y_rate(t))
    }

    /// Depth at a station of the branch inside the strip.
    pub(super) fn depth_at(&self, x: f64) -> f64 {
        let (low, high) = if self.from < self.to { (self.from, self.to) } else { (self.to, self.from) };
        self.segment.y(self.segment.parameter_at(x).clamp(low, high))
    }
}

/// A hydraulic jump in a branch.
#[derive(Debug, Clone, Copy)]
pub(super) struct BranchJump {
    pub(super) reach: usize,
    pub(super) station: f64,
    pub(super) before: f64,
    pub(super) after: f64,
}

/// A control in force: where it is, the depth of the flow that leaves it, and its kind.
#[derive(Debug, Clone, Copy)]
pub(super) struct BranchControl {
    pub(super) reach: usize,
    pub(super) station: f64,
    pub(super) depth: f64,
    pub(super) kind: ControlKind,
}

/// The final water surface of a branch.
#[derive(Debug, Clone, Default)]
pub(super) struct Surface {
    /// Downstream.
    pub(super) strips: Vec<Strip>,
    /// Controls in force.
    pub(super) controls: Vec<BranchControl>,
    pub(super) jumps: Vec<BranchJump>,
}

/// What comes next, going downstream.
enum Next {
    /// Slow water from a parameter of a segment of the sweep.
    Slow(usize, f64),
    /// Fast flow from a gap of the sweep.
    Fast(usize),
    /// The outlet.
    Outlet,
}

/// Joins the subcritical sweep with the fast flow in its gaps.
pub(super) fn surface<S: Prismatic>(
    channel: Channel<'_, S>,
    branch: &Branch,
    sweep: &Sweep,
) -> Result<Surface, RunError> {
    let mut composer = Composer { channel, branch, sweep, surface: Surface::default() };
    composer.surface.strips.reserve(sweep.segments.len() + 32);
    let mut next = match (sweep.segments.len(), sweep.gaps.last()) {
        (count, Some(gap)) if gap.below == count => Next::Fast(sweep.gaps.len() - 1),
        (0, _) => Next::Outlet,
        (count, _) => Next::Slow(count - 1, 1.0),
    };
    loop {
        next = match next {
            Next::Slow(segment, from) => composer.slow(segment, from),
            Next::Fast(gap) => match sweep.gaps.get(gap) {
                Some(gap) => composer.fast(gap)?,
                None => Next::Outlet,
            },
            Next::Outlet => return Ok(composer.surface),
        };
    }
}

struct Composer<'a, S> {
    channel: Channel<'a, S>,
    branch: &'a Branch,
    sweep: &'a Sweep,
    surface: Surface,
}

impl<S: Prismatic> Composer<'_, S> {
    /// Takes over the slow surface down to the next gap or the outlet.
    fn slow(&mut self, segment: usize, from: f64) -> Next {
        let gaps_below = self.sweep.gaps.iter().filter(|gap| gap.below <= segment).count();
        let last =
            gaps_below.checked_sub(1).and_then(|gap| self.sweep.gaps.get(gap)).map_or(0, |gap| gap.below);
        let mut start = from;
        for piece in self.sweep.segments.get(last..=segment).unwrap_or_default().iter().rev() {
            self.surface.strips.push(Strip { segment: *piece, from: start, to: 0.0, supercritical: false });
            start = 1.0;
        }
        gaps_below.checked_sub(1).map_or(Next::Outlet, Next::Fast)
    }

    /// Follows the fast flow from a control down to its jump or the outlet.
    fn fast(&mut self, gap: &Gap) -> Result<Next, RunError> {
        let Gap { reach, station, depth, kind, .. } = *gap;
        self.surface.controls.push(BranchControl { reach, station, depth, kind });
        let (mut x, mut y) = (gap.station, gap.depth);
        let mut index = gap.reach;
        while let Some(reach) = self.branch.reaches.get(index) {
            let slow = Slow {
                channel: self.channel,
                branch: self.branch,
                segments: self.sweep.segments.get(..gap.below).unwrap_or_default(),
            };
            let mut landing = None;
            let strips = &mut self.surface.strips;
            let mut observe = |segment: Segment| {
                let reached = slow.jump_in(&segment);
                let to = reached.map_or(1.0, |t| t);
                strips.push(Strip { segment, from: 0.0, to, supercritical: true });
                landing = reached.map(|t| (segment.x(t), segment.y(t)));
                reached.is_some()
            };
            let stop = March::new(self.channel, reach, index, Side::Supercritical).run(x, y, &mut observe);
            let stop = stop.map_err(|error| self.branch.placed(error, index))?;
            if let Some((station, before)) = landing {
                return self.land(gap, index, station, before);
            }
            match stop {
                Stop::End(depth) => y = depth,
                Stop::Halted => break,
                Stop::Critical(station) => return self.meet(gap, index, station),
            }
            x = 0.0;
            index += 1;
            let Some(joint) = self.branch.joints.get(index) else {
                break;
            };
            match joint.downstream(&self.channel, reach.end_flow(), y) {
                Some(below) => {
                    if slow.excess(index, x, below).is_some_and(|excess| excess < 0.0) {
                        return self.land(gap, index, x, below);
                    }
                    y = below;
                }
                None => return self.land(gap, index, x, y),
            }
        }
        Ok(Next::Outlet)
    }

    /// The fast flow rose to critical depth, where the bed turns too flat for it: there the slow surface below ends too,
    /// and one passes smoothly into the other. Rounding can leave a sliver between them.
    fn meet(&mut self, gap: &Gap, reach: usize, station: f64) -> Result<Next, RunError> {
        let segments = self.sweep.segments.get(..gap.below).unwrap_or_default();
        let before = self.surface.strips.last().map_or(0.0, |strip| strip.end().1);
        let at = upstream_of(segments, self.branch, reach, station);
        // The slow surface may end a rounding above as well as below.
        let near = 1e-9 * self.branch.reaches.get(reach).map_or(0.0, |reach| reach.length_m);
        let ends_here = |s: &&Segment| s.reach == reach && (s.x(1.0) - station).abs() <= near;
        let next = segments.get(at).filter(ends_here).map(|_| at).or(at.checked_sub(1));
        if let Some(next) = next
            && let Some(segment) = segments.get(next)
            && segment.reach == reach
        {
            let (x, after) = (segment.x(1.0), segment.y(1.0));
            if (after - before).abs() <= 0.02 * after {
                if x <= station {
                    return Ok(Next::Slow(next, segment.parameter_at(station)));
                }
                let sliver = Segment::straight_cubic(reach, station, x, [before, after - before, 0.0, 0.0]);
                self.surface.strips.push(Strip { segment: sliver, from: 0.0, to: 1.0, supercritical: false });
                return Ok(Next::Slow(next, 1.0));
            }
        }
        Err(RunError::NoContinuation {
            station_m: self.branch.run_station(reach, station),
            what: "fast flow rose to critical depth without slow water to meet it",
        })
    }

    /// The fast flow meets slow water at a station, or starts anew from a control at a joint.
    fn land(&mut self, gap: &Gap, reach: usize, station: f64, before: f64) -> Result<Next, RunError> {
        let segments = self.sweep.segments.get(..gap.below).unwrap_or_default();
        if let Some(at) = covering(segments, self.branch, reach, station)
            && let Some(segment) = segments.get(at)
        {
            let t = segment.parameter_at(station);
            let after = segment.y(t);
            if (after - before).abs() > 1e-6 * after {
                self.surface.jumps.push(BranchJump { reach, station, before, after });
            }
            return Ok(Next::Slow(at, t));
        }
        let here = |gap: &Gap| gap.reach == reach && (gap.station - station).abs() <= 1e-9;
        match self.sweep.gaps.iter().position(here) {
            Some(next) => {
                let after = self.sweep.gaps.get(next).map_or(before, |gap| gap.depth);
                self.surface.jumps.push(BranchJump { reach, station, before, after });
                Ok(Next::Fast(next))
            }
            None => Err(RunError::NoContinuation {
                station_m: self.branch.run_station(reach, station),
                what: "fast flow choked without slow water to meet it",
            }),
        }
    }
}

/// The slow surface downstream of a gap.
struct Slow<'a, S> {
    channel: Channel<'a, S>,
    branch: &'a Branch,
    segments: &'a [Segment],
}

impl<S: Prismatic> Slow<'_, S> {
    /// Specific force of the fast flow above that of the slow water at the same station; `None` where there is no
    /// slow water.
    fn excess(&self, reach: usize, x: f64, fast_depth: f64) -> Option<f64> {
        let slow_depth = {
            let segment = self.segments.get(covering(self.segments, self.branch, reach, x)?)?;
            segment.y(segment.parameter_at(x))
        };
        let flow = self.branch.reaches.get(reach)?.flow_at(x);
        Some(self.channel.force(flow, fast_depth) - self.channel.force(flow, slow_depth))
    }

    /// Parameter of a fast segment at which the slow water has as much force.
    fn jump_in(&self, segment: &Segment) -> Option<f64> {
        let excess = |t: f64| self.excess(segment.reach, segment.x(t), segment.y(t));
        let end = excess(1.0)?;
        if end > 0.0 {
            return None;
        }
        // Where there is no slow water the fast flow prevails.
        let start = excess(0.0).unwrap_or(f64::MAX);
        if start <= 0.0 {
            return Some(0.0);
        }
        let t =
            roots::bracketed_plain(|t| excess(t).unwrap_or(1.0), (0.0, start.min(1.0)), (1.0, end), 1e-13);
        // On the side where slow water exists.
        Some(if excess(t).is_some() { t } else { (t + 1e-9).min(1.0) })
    }
}

/// Index of the slow segment over a station; segments run from the outlet upstream.
fn covering(segments: &[Segment], branch: &Branch, reach: usize, x: f64) -> Option<usize> {
    let at = upstream_of(segments, branch, reach, x);
    let segment = segments.get(at)?;
    (segment.reach == reach && x <= segment.x(0.0)).then_some(at)
}

/// Index of the first segment, going upstream, whose upstream end lies at or above a station.
fn upstream_of(segments: &[Segment], branch: &Branch, reach: usize, x: f64) -> usize {
    // The last segment of a reach may end a rounding short of its start.
    let slack = 1e-11 * branch.reaches.get(reach).map_or(0.0, |reach| reach.length_m);
    segments.partition_point(|s| s.reach > reach || (s.reach == reach && s.x(1.0) > x + slack))
}
