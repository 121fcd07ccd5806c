//! Which water goes to which outlet, and the water surface of every branch.
//!
//! Between two outlets the flow parts where the water stands equally deep on both sides. The divide is counted in
//! flow, not in length: so a point inflow can part too, and a stretch without inflow has its divide on its ridge.
//!
//! An outlet too small for what arrives stands so high that the rest passes on along the run: then the flow "to the left"
//! of the span beyond it is negative (or more than the span's inflow, towards the other side).

use super::branch::Branch;
use super::compose::{self, Surface};
use super::error::RunError;
use super::input::{Outlet, Run};
use super::layout::Place;
use super::sweep;
use super::terms::{Channel, Follow};
use crate::compute::water::roots;
use crate::compute::water::section::{OpenSection, Prismatic};

/// A branch with its water surface.
#[derive(Debug, Clone)]
pub(super) struct SolvedBranch {
    pub(super) branch: Branch,
    pub(super) surface: Surface,
    /// Index of the outlet it drains to.
    pub(super) outlet: usize,
    /// Depth at the closed end or divide, m.
    pub(super) upper_depth: f64,
    /// Depth the outlet asks for, m; 0 for a free fall.
    pub(super) outlet_depth: f64,
}

/// A divide between two outlets.
#[derive(Debug, Clone, Copy)]
pub(super) struct Divide {
    pub(super) station: f64,
    pub(super) depth_left: f64,
    pub(super) depth_right: f64,
}

/// The whole run.
#[derive(Debug, Clone)]
pub(super) struct Solution {
    /// From start to finish.
    pub(super) branches: Vec<SolvedBranch>,
    pub(super) divides: Vec<Divide>,
    /// Outlets that flow passes, and how much does, m³/s.
    pub(super) passed: Vec<(usize, f64)>,
    /// Flow to each outlet, m³/s.
    pub(super) outflows: Vec<f64>,
    pub(super) channel: ChannelOf,
}

/// The run's section, gravity and friction, to make a [`Channel`] from.
#[derive(Debug, Clone, Copy)]
pub(super) struct ChannelOf {
    section: OpenSection,
    gravity: f64,
    n_squared: f64,
    follow: Follow,
}

impl ChannelOf {
    fn new(run: &Run, follow: Follow) -> Self {
        let input = run.input();
        Self {
            section: input.section,
            gravity: input.settings.gravity,
            n_squared: input.manning_n * input.manning_n,
            follow,
        }
    }

    fn over<'a, S>(&self, section: &'a S) -> Channel<'a, S> {
        Channel::new(section, self.gravity, self.n_squared, self.follow)
    }

    pub(super) fn get(&self) -> Channel<'_, OpenSection> {
        self.over(&self.section)
    }
}

/// Times all divides are gone over before they must have settled.
const ROUNDS: usize = 60;

/// Solves a run.
pub(super) fn solve(run: &Run, follow: Follow) -> Result<Solution, RunError> {
    let owner = ChannelOf::new(run, follow);
    // One copy of the flow computation per shape is worth its size: the shape is asked at every stage.
    match owner.section {
        OpenSection::Rectangle(ref section) => Solver::new(run, &owner, section).solve(),
        OpenSection::UShape(ref section) => Solver::new(run, &owner, section).solve(),
        OpenSection::Trapezoid(ref section) => Solver::new(run, &owner, section).solve(),
    }
}

struct Solver<'a, S> {
    run: &'a Run,
    owner: ChannelOf,
    channel: Channel<'a, S>,
    outlets: &'a [Outlet],
    /// Inflow between each outlet and the next, m³/s.
    between: Vec<f64>,
    /// Of that, what goes to the outlet on the left.
    to_left: Vec<f64>,
    from_start: f64,
    from_finish: f64,
}

impl<'a, S: Prismatic> Solver<'a, S> {
    fn new(run: &'a Run, owner: &ChannelOf, section: &'a S) -> Self {
        let layout = &run.layout;
        let input = run.input();
        let first = layout.outlets.first().copied().unwrap_or(0);
        let last = layout.outlets.last().copied().unwrap_or(0);
        let between: Vec<f64> = pairs(&layout.outlets).map(|(a, b)| layout.inflow_between(a, b)).collect();
        let start_inflow = if first > 0 { layout.node(0).inflow } else { 0.0 };
        let finish = layout.last_node();
        let finish_inflow = if last < finish { layout.node(finish).inflow } else { 0.0 };
        Self {
            run,
            owner: *owner,
            channel: owner.over(section),
            outlets: &input.outlets,
            to_left: between.iter().map(|inflow| 0.5 * inflow).collect(),
            between,
            from_start: input.entering_at_start_m3_per_s + start_inflow + layout.inflow_between(0, first),
            from_finish: input.entering_at_finish_m3_per_s
                + finish_inflow
                + layout.inflow_between(last, finish),
        }
    }

    /// Flow to an outlet without what comes from the span on one side of it.
    fn outflow_without(&self, outlet: usize, left_span: bool, right_span: bool) -> f64 {
        let layout = &self.run.layout;
        let own = layout.outlets.get(outlet).map_or(0.0, |node| layout.node(*node).inflow);
        let from_left = match outlet.checked_sub(1) {
            None => self.from_start,
            Some(span) if left_span => {
                self.between.get(span).zip(self.to_left.get(span)).map_or(0.0, |(w, l)| w - l)
            }
            Some(_) => 0.0,
        };
        let from_right = match self.to_left.get(outlet) {
            None => self.from_finish,
            Some(flow) if right_span => *flow,
            Some(_) => 0.0,
        };
        own + from_left + from_right
    }

    fn outlet_depth(&self, outlet: usize, flow: f64) -> f64 {
        self.outlets.get(outlet).map_or(0.0, |outlet| outlet.depth_m(flow, self.channel.gravity))
    }

    /// Depth at a place on both sides when the span sends `flow` to its left outlet.
    fn depths_at_divide(
        &self,
        span: usize,
        nodes: (usize, usize),
        flow: f64,
        follow: Follow,
    ) -> Result<(f64, f64), RunError> {
        let left_total = self.outflow_without(span, true, false) + flow;
        let inflow = self.between.get(span).copied().unwrap_or(0.0);
        let right_total = self.outflow_without(span + 1, false, true) + inflow - flow;
        let (left, right) = self.sides(nodes, inflow, flow);
        let channel = Channel { follow, ..self.channel };
        let left = sweep::upstream(channel, &left, self.outlet_depth(span, left_total))?;
        let right = sweep::upstream(channel, &right, self.outlet_depth(span + 1, right_total))?;
        Ok((left.upper_depth, right.upper_depth))
    }

    /// Both branches of a span; one of them is empty where flow passes an outlet.
    fn sides(&self, nodes: (usize, usize), inflow: f64, to_left: f64) -> (Branch, Branch) {
        let layout = &self.run.layout;
        let place = layout.place_of(nodes.0, nodes.1, to_left.clamp(0.0, inflow));
        if to_left < 0.0 {
            let at = Place::At { node: nodes.0, to_left: 0.0, to_right: 0.0 };
            (layout.leftward(at, nodes.0, 0.0), layout.rightward(at, nodes.1, -to_left))
        } else if to_left > inflow {
            let at = Place::At { node: nodes.1, to_left: 0.0, to_right: 0.0 };
            (layout.leftward(at, nodes.0, to_left - inflow), layout.rightward(at, nodes.1, 0.0))
        } else {
            (layout.leftward(place, nodes.0, 0.0), layout.rightward(place, nodes.1, 0.0))
        }
    }

    /// Finds the flow to the left outlet of one span with everything else as it stands.
    fn settle_span(&self, span: usize, nodes: (usize, usize)) -> Result<f64, RunError> {
        let total = self.between.get(span).copied().unwrap_or(0.0);
        let excess_by = |flow: f64, follow: Follow| {
            self.depths_at_divide(span, nodes, flow, follow).map(|(left, right)| left - right)
        };
        let excess = |flow: f64| excess_by(flow, self.channel.follow);
        // A divide on a dry ridge is settled by the inflow alone.
        for gap in self.run.layout.gaps_between(nodes.0, nodes.1) {
            if excess(gap)? == 0.0 {
                return Ok(gap);
            }
        }
        let (mut least, mut most) = (0.0, total);
        let (mut low, mut high) = (excess(least)?, excess(most)?);
        // An outlet that stands too high for what arrives lets the rest pass, down to nothing taken at all.
        if low > 0.0 {
            (most, high) = (least, low);
            least = -self.outflow_without(span, true, false);
            low = excess(least)?;
        } else if high < 0.0 {
            (least, low) = (most, high);
            most = total + self.outflow_without(span + 1, false, true);
            high = excess(most)?;
        }
        if low > 0.0 || high < 0.0 {
            let layout = &self.run.layout;
            let (left, right) = (layout.node(nodes.0).x, layout.node(nodes.1).x);
            let (station_m, other_station_m, excess_m) =
                if low > 0.0 { (left, right, low) } else { (right, left, -high) };
            return Err(RunError::OutletFeedsRun { station_m, other_station_m, excess_m });
        }
        let range = most - least;
        roots::rough_then_fine(
            |flow, fine| excess_by(flow, if fine { self.channel.follow } else { Follow::COARSE }),
            (least, low),
            (most, high),
            roots::Closeness {
                rough: 1e-5 * range,
                slope_step: 1e-3 * range,
                near: 1e-9 * range,
                fine: 1e-12 * range,
            },
        )
    }

    fn settle(&mut self) -> Result<(), RunError> {
        let spans: Vec<(usize, usize)> = pairs(&self.run.layout.outlets).collect();
        let coupled = spans.len() > 1 && self.outlets.iter().any(Outlet::depends_on_flow);
        let rounds = if coupled { ROUNDS } else { 1 };
        let scale: f64 = self.between.iter().sum::<f64>().max(f64::MIN_POSITIVE);
        let mut moved = 0.0;
        let mut where_moved = 0.0;
        for _ in 0..rounds {
            moved = 0.0;
            for (span, nodes) in spans.iter().enumerate() {
                let flow = self.settle_span(span, *nodes)?;
                if let Some(old) = self.to_left.get_mut(span) {
                    if (flow - *old).abs() > moved {
                        moved = (flow - *old).abs();
                        where_moved =
                            self.run.layout.station_of(self.run.layout.place_of(nodes.0, nodes.1, flow));
                    }
                    *old = flow;
                }
            }
            if moved <= 1e-11 * scale {
                return Ok(());
            }
        }
        if coupled && moved > 1e-7 * scale {
            return Err(RunError::DivideUnsettled { station_m: where_moved });
        }
        Ok(())
    }

    fn solve(mut self) -> Result<Solution, RunError> {
        self.settle()?;
        let layout = &self.run.layout;
        let input = self.run.input();
        let outflows: Vec<f64> =
            (0..self.outlets.len()).map(|outlet| self.outflow_without(outlet, true, true)).collect();
        let mut solution = Solution {
            branches: Vec::new(),
            divides: Vec::new(),
            passed: Vec::new(),
            outflows,
            channel: self.owner,
        };
        let last = layout.outlets.len().saturating_sub(1);
        for (outlet, &node) in layout.outlets.iter().enumerate() {
            if outlet == 0 && node > 0 {
                let place = Place::At { node: 0, to_left: 0.0, to_right: layout.node(0).inflow };
                let branch = layout.rightward(place, node, input.entering_at_start_m3_per_s);
                self.add(&mut solution, branch, outlet)?;
            }
            if outlet < last
                && let (Some(&next), Some(&flow)) = (layout.outlets.get(outlet + 1), self.to_left.get(outlet))
            {
                let inflow = self.between.get(outlet).copied().unwrap_or(0.0);
                let (left, right) = self.sides((node, next), inflow, flow);
                let station = right.origin_m;
                if !left.reaches.is_empty() {
                    self.add(&mut solution, left, outlet)?;
                }
                let depth_left = solution.branches.last().map_or(0.0, |b| b.upper_depth);
                if !right.reaches.is_empty() {
                    self.add(&mut solution, right, outlet + 1)?;
                }
                let depth_right = solution.branches.last().map_or(0.0, |b| b.upper_depth);
                if flow < 0.0 {
                    solution.passed.push((outlet, -flow));
                } else if flow > inflow {
                    solution.passed.push((outlet + 1, flow - inflow));
                } else if station > layout.node(node).x && station < layout.node(next).x {
                    solution.divides.push(Divide { station, depth_left, depth_right });
                }
            }
            if outlet == last && node < layout.last_node() {
                let finish = layout.last_node();
                let place = Place::At { node: finish, to_left: layout.node(finish).inflow, to_right: 0.0 };
                let branch = layout.leftward(place, node, input.entering_at_finish_m3_per_s);
                self.add(&mut solution, branch, outlet)?;
            }
        }
        Ok(solution)
    }

    fn add(&self, solution: &mut Solution, branch: Branch, outlet: usize) -> Result<(), RunError> {
        let flow = solution.outflows.get(outlet).copied().unwrap_or(0.0);
        let outlet_depth = self.outlet_depth(outlet, flow);
        let sweep = sweep::upstream(self.channel, &branch, outlet_depth)?;
        let surface = compose::surface(self.channel, &branch, &sweep)?;
        let upper_depth = sweep.upper_depth;
        solution.branches.push(SolvedBranch { branch, surface, outlet, upper_depth, outlet_depth });
        Ok(())
    }
}

fn pairs(nodes: &[usize]) -> impl Iterator<Item = (usize, usize)> + '_ {
    nodes.iter().copied().zip(nodes.iter().copied().skip(1))
}
