//! Which water goes to which outlet ([`super::divides`]), and the water surface of every branch.
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
use super::sweep::{self, Sweep};
use super::terms::{Channel, Follow};
use super::together::Parting;
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

impl SolvedBranch {
    /// Depth of the water behind what joins at the upper end, m: no strip of the surface reaches it. `None` where nothing
    /// joins there.
    pub(super) fn behind_joining(&self) -> Option<f64> {
        self.branch.joints.first().filter(|joint| joint.inflow > 0.0).map(|_| self.upper_depth)
    }
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
    pub(super) parting: Parting,
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

/// Solves a run.
pub(super) fn solve(run: &Run, follow: Follow, hint: Option<&Parting>) -> Result<Solution, RunError> {
    let owner = ChannelOf::new(run, follow);
    // One copy of the flow computation per shape is worth its size: the shape is asked at every stage.
    match owner.section {
        OpenSection::Rectangle(ref section) => Solver::new(run, &owner, section, hint).solve(),
        OpenSection::UShape(ref section) => Solver::new(run, &owner, section, hint).solve(),
        OpenSection::Trapezoid(ref section) => Solver::new(run, &owner, section, hint).solve(),
    }
}

/// A sweep with the depth at the outlet it began with.
type Known = (f64, Sweep);

/// What a divide was last tried with.
#[derive(Debug, Clone)]
struct Swept {
    flow: f64,
    outlet_depths: (f64, f64),
    sweeps: (Sweep, Sweep),
}

pub(super) struct Solver<'a, S> {
    pub(super) run: &'a Run,
    owner: ChannelOf,
    pub(super) channel: Channel<'a, S>,
    pub(super) outlets: &'a [Outlet],
    /// Inflow between each outlet and the next, m³/s.
    between: Vec<f64>,
    /// Of that, what goes to the outlet on the left.
    pub(super) to_left: Vec<f64>,
    from_start: f64,
    from_finish: f64,
    /// How fast the water at an outlet falls that gives water while divides are searched, m per m³/s.
    pub(super) falls_by: f64,
    /// The last trial of every span, as closely followed as the answer.
    swept: Vec<Option<Swept>>,
    /// Where the flow parted in a run that differs little.
    pub(super) hint: Option<&'a Parting>,
    /// Where it parts in this one.
    pub(super) parting: Parting,
}

impl<'a, S: Prismatic> Solver<'a, S> {
    fn new(run: &'a Run, owner: &ChannelOf, section: &'a S, hint: Option<&'a Parting>) -> Self {
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
            from_start: input.entering_at_start_m3_per_s + start_inflow + layout.inflow_between(0, first),
            from_finish: input.entering_at_finish_m3_per_s
                + finish_inflow
                + layout.inflow_between(last, finish),
            falls_by: 0.0,
            hint,
            swept: vec![None; between.len()],
            parting: Parting::new(between.len()),
            between,
        }
    }

    /// Flow to an outlet without what comes from the span on one side of it.
    pub(super) fn outflow_without(&self, outlet: usize, left_span: bool, right_span: bool) -> f64 {
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
        let depth = self.outlets.get(outlet).map_or(0.0, |outlet| outlet.depth_m(flow, self.channel.gravity));
        depth + self.falls_by * flow.min(0.0)
    }

    /// Depth at a place on both sides when the span sends `flow` to its left outlet.
    pub(super) fn depths_at_divide(
        &mut self,
        span: usize,
        nodes: (usize, usize),
        flow: f64,
        follow: Follow,
    ) -> Result<(f64, f64), RunError> {
        let left_total = self.outflow_without(span, true, false) + flow;
        let inflow = self.inflow_of(span);
        let right_total = self.outflow_without(span + 1, false, true) + inflow - flow;
        let (left, right) = self.sides(nodes, inflow, flow);
        let channel = Channel { follow, ..self.channel };
        let outlet_depths = (self.outlet_depth(span, left_total), self.outlet_depth(span + 1, right_total));
        let sweeps = (
            sweep::upstream(channel, &left, outlet_depths.0)?,
            sweep::upstream(channel, &right, outlet_depths.1)?,
        );
        let depths = (sweeps.0.upper_depth, sweeps.1.upper_depth);
        if follow == self.channel.follow
            && let Some(place) = self.swept.get_mut(span)
        {
            *place = Some(Swept { flow, outlet_depths, sweeps });
        }
        Ok(depths)
    }

    /// The sweeps of both branches of a span, where they were last made for the same flow.
    fn swept(&mut self, span: usize, flow: f64) -> (Option<Known>, Option<Known>) {
        match self.swept.get_mut(span).and_then(Option::take).filter(|swept| swept.flow == flow) {
            Some(Swept { outlet_depths: (left, right), sweeps, .. }) => {
                (Some((left, sweeps.0)), Some((right, sweeps.1)))
            }
            None => (None, None),
        }
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

    /// Inflow of a span, m³/s.
    pub(super) fn inflow_of(&self, span: usize) -> f64 {
        self.between.get(span).copied().unwrap_or(0.0)
    }

    /// All that arrives at the left outlet of a span and left of it, m³/s.
    pub(super) fn arriving_left_of(&self, span: usize) -> f64 {
        let own: f64 = self.own_inflows().take(span + 1).sum();
        self.from_start + self.between.iter().take(span).sum::<f64>() + own
    }

    /// All that arrives at the right outlet of a span and right of it, m³/s.
    pub(super) fn arriving_right_of(&self, span: usize) -> f64 {
        let own: f64 = self.own_inflows().skip(span + 1).sum();
        self.from_finish + self.between.iter().skip(span + 1).sum::<f64>() + own
    }

    /// All inflow of the run, m³/s.
    pub(super) fn all_inflow(&self) -> f64 {
        let own: f64 = self.own_inflows().sum();
        self.from_start + self.from_finish + self.between.iter().sum::<f64>() + own
    }

    /// What joins right at each outlet, m³/s.
    fn own_inflows(&self) -> impl Iterator<Item = f64> + '_ {
        self.run.layout.outlets.iter().map(|node| self.run.layout.node(*node).inflow)
    }

    fn solve(mut self) -> Result<Solution, RunError> {
        self.settle()?;
        let layout = &self.run.layout;
        let input = self.run.input();
        let outflows: Vec<f64> =
            (0..self.outlets.len()).map(|outlet| self.outflow_without(outlet, true, true).max(0.0)).collect();
        let mut solution = Solution {
            branches: Vec::new(),
            divides: Vec::new(),
            passed: Vec::new(),
            outflows,
            parting: std::mem::take(&mut self.parting),
            channel: self.owner,
        };
        let last = layout.outlets.len().saturating_sub(1);
        for (outlet, &node) in layout.outlets.iter().enumerate() {
            if outlet == 0 && node > 0 {
                let place = Place::At { node: 0, to_left: 0.0, to_right: layout.node(0).inflow };
                let branch = layout.rightward(place, node, input.entering_at_start_m3_per_s);
                self.add(&mut solution, branch, outlet, None)?;
            }
            if outlet < last
                && let (Some(&next), Some(&flow)) = (layout.outlets.get(outlet + 1), self.to_left.get(outlet))
            {
                let inflow = self.inflow_of(outlet);
                let (left, right) = self.sides((node, next), inflow, flow);
                let station = right.origin_m;
                let (left_sweep, right_sweep) = self.swept(outlet, flow);
                if !left.reaches.is_empty() {
                    self.add(&mut solution, left, outlet, left_sweep)?;
                }
                let depth_left = solution.branches.last().map_or(0.0, |b| b.upper_depth);
                if !right.reaches.is_empty() {
                    self.add(&mut solution, right, outlet + 1, right_sweep)?;
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
                self.add(&mut solution, branch, outlet, None)?;
            }
        }
        Ok(solution)
    }

    fn add(
        &self,
        solution: &mut Solution,
        branch: Branch,
        outlet: usize,
        known: Option<Known>,
    ) -> Result<(), RunError> {
        let flow = solution.outflows.get(outlet).copied().unwrap_or(0.0);
        let outlet_depth = self.outlet_depth(outlet, flow);
        let sweep = match known {
            // The flow is summed in another order here.
            Some((depth, sweep)) if (depth - outlet_depth).abs() <= 1e-14 * outlet_depth => sweep,
            _ => sweep::upstream(self.channel, &branch, outlet_depth)?,
        };
        let surface = compose::surface(self.channel, &branch, &sweep)?;
        let upper_depth = sweep.upper_depth;
        solution.branches.push(SolvedBranch { branch, surface, outlet, upper_depth, outlet_depth });
        Ok(())
    }
}

pub(super) fn pairs(nodes: &[usize]) -> impl Iterator<Item = (usize, usize)> + '_ {
    nodes.iter().copied().zip(nodes.iter().copied().skip(1))
}
