//! Where a march begins or ends at a point that has no slope of its own: a control that it leaves, a node that it runs into.

use super::super::error::RunError;
use super::super::segment::Segment;
use super::super::singular;
use super::super::terms::Terms;
use super::{ABSOLUTE, DEFECT_WEIGHT, March, Stop};
use crate::compute::water::section::Prismatic;

/// Share of the way over which flow, depth or reach change by themselves that is first gone away from a control, and the least.
const LEAVING: f64 = 0.01;
const LEAST_LEAVING: f64 = 1e-7;
/// How close to critical, and to a slope of its own there, a surface is when a node is looked for ahead of it; and after how many
/// steps it is again.
const NEAR: f64 = 0.05;
const STEPS_BETWEEN: usize = 4;

/// Both terms vanish, as far as rounding lets one tell.
pub(super) fn is_singular(at: &Terms) -> bool {
    at.denominator.abs() < 1e-9 && at.numerator.abs() <= 1e-9 * at.reference
}

impl<S: Prismatic> March<'_, S> {
    /// First stretch away from a control, and the terms at its far end. Where the two slopes of the control are nearly one, a long
    /// stretch may lead to the surface on the other side of critical depth: a shorter one tells them apart.
    pub(super) fn leave(&self, x: f64, y: f64, at: &Terms) -> Result<(Segment, Terms), RunError> {
        let mut share = LEAVING;
        while share >= LEAST_LEAVING {
            let first = singular::leave(&self.channel, self.reach, self.index, (x, y), self.end, at, share);
            let there = self.channel.terms(self.reach, first.x(1.0), first.y(1.0));
            if self.side.holds(there.denominator) {
                return Ok((first, there));
            }
            share *= 0.1;
        }
        Err(RunError::NoContinuation { station_m: x, what: "a control that is not left on either side" })
    }

    /// Hands a piece on to `observe`; the march ends there when that says so, or when it runs into a node.
    pub(super) fn hand_on(
        &mut self,
        segment: Segment,
        (x, y): (f64, f64),
        at: &Terms,
        observe: &mut impl FnMut(Segment) -> bool,
    ) -> Option<Stop> {
        if observe(segment) {
            return Some(Stop::Halted);
        }
        if let Some(node) = self.reach_node(x, y, at) {
            return Some(if observe(node) { Stop::Halted } else { Stop::Critical(node.x(1.0)) });
        }
        is_singular(at).then_some(Stop::Critical(x))
    }

    /// The last piece of a surface that runs into a node, where steps would only close in on it without end; `None` where there is no
    /// node, or the piece does not yet follow the surface as closely as a step has to.
    fn reach_node(&mut self, x: f64, y: f64, at: &Terms) -> Option<Segment> {
        let is_near = at.denominator.abs() <= NEAR && at.numerator.abs() <= NEAR * at.reference;
        if !is_near || self.steps < self.look_from {
            return None;
        }
        self.look_from = self.steps + STEPS_BETWEEN;
        let toward = self.side.direction();
        let (station, depth, slope) = singular::node_ahead(&self.channel, self.reach, (x, y), toward, at)?;
        let h = station - x;
        let (rise, start, end) = (depth - y, h * at.slope(), h * slope);
        let cubic = [y, start, 3.0 * rise - 2.0 * start - end, start + end - 2.0 * rise];
        let segment = Segment::straight_cubic(self.index, x, station, cubic);
        let allowed = ABSOLUTE + self.channel.follow.0 * y.max(depth);
        let follows = |t: f64| {
            let there = self.slope(x + t * h, segment.y(t))?;
            Some(DEFECT_WEIGHT * (segment.y_rate(t) - h * there).abs() <= allowed)
        };
        (follows(0.25)? && follows(0.5)? && follows(0.75)?).then_some(segment)
    }
}
