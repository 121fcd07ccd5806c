//! Where the flow parts between the outlets of a run.
//!
//! The more of a span's inflow goes to its left outlet, the deeper the water ends there and the shallower on its right:
//! the excess of the depth on the left over that on the right grows with that flow, so one span by itself is bracketed.
//!
//! An outlet that stands higher the more it takes ties the spans on both its sides together. To go over them in turn
//! closes in too slowly where such an outlet is narrow against its neighbours: what one span sends it, the other takes
//! back, and little is gained. So the middle span of those tied together is searched, and for each flow tried there the
//! rest is settled anew, which falls into two parts that know nothing of each other. Every search has one unknown, and
//! its excess still grows with it: more to the left in one span takes from the outlet on its right, lets more go left in
//! the next span, and so on, but never as much as it was itself.
//!
//! Flows are tried beyond what arrives: an outlet may then give water instead of taking it, and falls steeply as it does.
//! Such an outlet may only be a step on the way; where the whole run settles so, its water stands too high, and that is
//! the answer.

use super::error::RunError;
use super::input::Outlet;
use super::solve::{Solver, pairs};
use super::terms::Follow;
use super::together::Tied;
use crate::compute::water::roots;
use crate::compute::water::section::Prismatic;
use std::ops::Range;

/// Trials of a divide before a search is given up, for each way of following the water surface.
const MOST_TRIALS: usize = 50_000;
/// How many times the depth there may be an outlet falls by when it gives as much water as there is: so it never gives
/// more than a small part of that.
const STEEPNESS: f64 = 100.0;
/// Part of the range of flows that is looked at alone where the depths point to it, and times it may be.
const CLOSE_UP: f64 = 0.02;
const MOST_CLOSE_UPS: usize = 3;
/// Times an enclosing range grows fourfold before a search is given up.
const MOST_GROWTH: usize = 40;
/// Flows closer than this are one, as a share of all inflow.
pub(super) const SAME_FLOW: f64 = 1e-9;

impl<S: Prismatic> Solver<'_, S> {
    /// Finds the flow to the left outlet of every span.
    pub(super) fn settle(&mut self) -> Result<(), RunError> {
        let spans: Vec<(usize, usize)> = pairs(&self.run.layout.outlets).collect();
        let all = self.all_inflow();
        let mut first = 0;
        for (span, nodes) in spans.iter().enumerate() {
            let next = span + 1;
            // Where nothing flows, nothing is tied.
            let tied = next < spans.len() && self.outlets.get(next).is_some_and(Outlet::depends_on_flow);
            if tied && all > 0.0 {
                continue;
            }
            let group = first..next;
            if group.len() > 1 {
                self.falls_by = self.steepness(all);
            }
            let found = all > 0.0 && Tied::new(self, group.clone(), &spans, all).settle();
            if !found && first == span {
                let flow = self.settle_span(span, *nodes)?;
                self.set(span, flow);
            } else if !found {
                self.settle_group(group.clone(), &spans)?;
            }
            if group.len() > 1 {
                self.still(group, all);
            }
            first = next;
        }
        if spans.len() > 1 { self.none_feeds(&spans) } else { Ok(()) }
    }

    pub(super) fn set(&mut self, span: usize, flow: f64) {
        if let Some(old) = self.to_left.get_mut(span) {
            *old = flow;
        }
    }

    /// Finds the flow to the left outlet of one span by itself.
    fn settle_span(&mut self, span: usize, nodes: (usize, usize)) -> Result<f64, RunError> {
        let layout = &self.run.layout;
        let total = self.inflow_of(span);
        let (arriving_left, arriving_right) = (self.arriving_left_of(span), self.arriving_right_of(span));
        let finest = self.channel.follow;
        let mut excess_by = |flow: f64, follow: Follow| {
            self.depths_at_divide(span, nodes, flow, follow).map(|(left, right)| left - right)
        };
        let mut excess = |flow: f64| excess_by(flow, finest);
        // A divide on a dry ridge is settled by the inflow alone.
        for gap in layout.gaps_between(nodes.0, nodes.1) {
            if excess(gap)? == 0.0 {
                return Ok(gap);
            }
        }
        let (mut least, mut most) = (0.0, total);
        let (mut low, mut high) = (excess(least)?, excess(most)?);
        // An outlet that stands too high for what arrives lets the rest pass, down to nothing taken at all.
        if low > 0.0 {
            (most, high) = (least, low);
            least = -arriving_left;
            low = excess(least)?;
        } else if high < 0.0 {
            (least, low) = (most, high);
            most = total + arriving_right;
            high = excess(most)?;
        }
        if low > 0.0 || high < 0.0 {
            let (left, right) = (layout.node(nodes.0).x, layout.node(nodes.1).x);
            let (station_m, other_station_m, excess_m) =
                if low > 0.0 { (left, right, low) } else { (right, left, -high) };
            return Err(RunError::OutletFeedsRun { station_m, other_station_m, excess_m });
        }
        // Where the depths differ far less with one flow than with the other, the flow parts near the end that it tells: then
        // how closely to look is a share of the little that goes there.
        for _ in 0..MOST_CLOSE_UPS {
            let by = CLOSE_UP * (most - least);
            let inner = if -low < CLOSE_UP * high {
                least + by
            } else if high < CLOSE_UP * -low {
                most - by
            } else {
                break;
            };
            let value = excess(inner)?;
            if value > 0.0 {
                (most, high) = (inner, value);
            } else {
                (least, low) = (inner, value);
            }
        }
        let range = most - least;
        roots::rough_then_fine(
            |flow, fine| excess_by(flow, if fine { finest } else { Follow::COARSE }),
            (least, low),
            (most, high),
            roots::Closeness {
                rough: 1e-5 * range,
                slope_step: 1e-3 * range,
                near: if finest == Follow::COARSE { 1e-6 } else { 1e-9 } * range,
                fine: 1e-12 * range,
            },
        )
    }

    /// Finds the flows of spans that are tied together by the outlets between them.
    fn settle_group(&mut self, group: Range<usize>, spans: &[(usize, usize)]) -> Result<(), RunError> {
        let fine = self.channel.follow;
        let all = self.all_inflow();
        for span in group.clone() {
            self.set(span, 0.5 * self.inflow_of(span));
        }
        let mut search = Search {
            spans,
            all,
            follow: Follow::COARSE,
            known: vec![None; spans.len()],
            trials: 0,
            solver: self,
        };
        if fine != Follow::COARSE {
            // It shows where to look; if it fails, the fine search looks everywhere.
            if search.settle(group.clone()).is_err() {
                search.known.fill(None);
            }
            search.follow = fine;
            search.trials = 0;
        }
        search.settle(group)
    }

    /// How fast the water at an outlet falls that gives water.
    fn steepness(&self, all: f64) -> f64 {
        let deepest = self.outlets.iter().filter_map(|outlet| outlet.tailwater_depth_m).fold(0.0, f64::max);
        STEEPNESS * (deepest + self.channel.critical_depth(all)) / all
    }

    /// What is found within rounding of nothing passing is nothing passing.
    fn still(&mut self, group: Range<usize>, all: f64) {
        for span in group {
            let (flow, inflow) = (self.to_left.get(span).copied().unwrap_or(0.0), self.inflow_of(span));
            let still = |to: f64| (flow - to).abs() <= SAME_FLOW * all;
            self.set(
                span,
                if still(0.0) {
                    0.0
                } else if still(inflow) {
                    inflow
                } else {
                    flow
                },
            );
        }
    }

    /// Refuses a run that settles with an outlet that gives water.
    fn none_feeds(&mut self, spans: &[(usize, usize)]) -> Result<(), RunError> {
        let all = self.all_inflow();
        for (outlet, node) in self.run.layout.outlets.iter().enumerate() {
            let given = -self.outflow_without(outlet, true, true);
            if given <= SAME_FLOW * all {
                continue;
            }
            let flow = |span: usize| self.to_left.get(span).copied().unwrap_or(0.0);
            let rightward = spans.get(outlet).map_or(0.0, |_| -flow(outlet));
            let leftward = outlet.checked_sub(1).map_or(0.0, |span| flow(span) - self.inflow_of(span));
            // How much too high it stands for the neighbour it feeds more, were it to give nothing.
            let (span, other, without) = if rightward >= leftward {
                (outlet, outlet + 1, flow(outlet) + given)
            } else {
                (outlet - 1, outlet - 1, flow(outlet - 1) - given)
            };
            let nodes = spans.get(span).copied().unwrap_or((*node, *node));
            let (left, right) = self.depths_at_divide(span, nodes, without, self.channel.follow)?;
            let layout = &self.run.layout;
            return Err(RunError::OutletFeedsRun {
                station_m: layout.node(*node).x,
                other_station_m: layout.outlets.get(other).map_or(0.0, |node| layout.node(*node).x),
                excess_m: (left - right).abs(),
            });
        }
        Ok(())
    }
}

/// A flow that settled a span, and how fast the excess grows there, where that is known.
#[derive(Debug, Clone, Copy)]
struct Known {
    flow: f64,
    slope: Option<f64>,
}

/// The search in spans that are tied together.
struct Search<'s, 'a, S> {
    solver: &'s mut Solver<'a, S>,
    /// Nodes of the outlets of every span.
    spans: &'s [(usize, usize)],
    /// All inflow of the run, m³/s.
    all: f64,
    follow: Follow,
    /// Where each span settled last.
    known: Vec<Option<Known>>,
    trials: usize,
}

impl<S: Prismatic> Search<'_, '_, S> {
    /// Settles spans with all others as they stand.
    fn settle(&mut self, part: Range<usize>) -> Result<(), RunError> {
        if part.is_empty() {
            return Ok(());
        }
        let span = part.start + part.len() / 2;
        let found = match self.known.get(span).copied().flatten() {
            Some(Known { flow, slope: Some(slope) }) => self.along(&part, span, flow, slope)?,
            _ => None,
        };
        let known = match found {
            Some(known) => known,
            None => self.enclosed(&part, span)?,
        };
        if let Some(place) = self.known.get_mut(span) {
            *place = Some(known);
        }
        self.solver.set(span, known.flow);
        self.settle(part.start..span)?;
        self.settle(span + 1..part.end)
    }

    /// Excess of the depth on the left of a span that sends a flow to its left outlet, the rest of its part settled.
    fn excess(&mut self, part: &Range<usize>, span: usize, flow: f64) -> Result<f64, RunError> {
        self.trials += 1;
        let nodes = self.spans.get(span).copied().unwrap_or((0, 0));
        if self.trials > MOST_TRIALS {
            let station_m = self.solver.run.layout.node(nodes.0).x;
            return Err(RunError::DivideUnsettled { station_m });
        }
        self.solver.set(span, flow);
        self.settle(part.start..span)?;
        self.settle(span + 1..part.end)?;
        let (left, right) = self.solver.depths_at_divide(span, nodes, flow, self.follow)?;
        Ok(left - right)
    }

    fn closeness(&self) -> f64 {
        self.all * if self.follow == Follow::COARSE { 1e-5 } else { SAME_FLOW }
    }

    /// Goes from where the span settled last along the slope of the excess; `None` where that does not close in.
    fn along(
        &mut self,
        part: &Range<usize>,
        span: usize,
        flow: f64,
        slope: f64,
    ) -> Result<Option<Known>, RunError> {
        let from = roots::Along {
            place: flow,
            slope,
            range: (f64::NEG_INFINITY, f64::INFINITY),
            telling: 1e-6 * self.all,
            near: self.closeness(),
        };
        let found = roots::near(|flow| self.excess(part, span, flow), from)?;
        Ok(found.map(|(flow, slope)| Known { flow, slope: Some(slope) }))
    }

    /// Encloses the flow that settles a span, from where it settled last or from the middle of its inflow, and closes in.
    fn enclosed(&mut self, part: &Range<usize>, span: usize) -> Result<Known, RunError> {
        let inflow = self.solver.inflow_of(span);
        // A divide on a dry ridge is settled by the inflow alone.
        let nodes = self.spans.get(span).copied().unwrap_or((0, 0));
        for gap in self.solver.run.layout.gaps_between(nodes.0, nodes.1) {
            if self.excess(part, span, gap)? == 0.0 {
                return Ok(Known { flow: gap, slope: None });
            }
        }
        let (mut flow, mut step) = match self.known.get(span).copied().flatten() {
            Some(known) => (known.flow, 1e-4 * self.all),
            None if inflow > 0.0 => (0.5 * inflow, 0.5 * inflow),
            None => (0.0, 0.25 * self.all),
        };
        let mut value = self.excess(part, span, flow)?;
        let mut tried = vec![(flow, value)];
        let enclosed = loop {
            if value == 0.0 {
                break ((flow, value), (flow, value));
            }
            let next = if value < 0.0 { flow + step } else { flow - step };
            let beyond = self.excess(part, span, next)?;
            tried.push((next, beyond));
            if (beyond > 0.0) != (value > 0.0) {
                break ((flow, value), (next, beyond));
            }
            (flow, value) = (next, beyond);
            step *= 4.0;
            // The water on the far side of a divide grows with the flow sent there, so that this ends before.
            if tried.len() > MOST_GROWTH {
                return Err(RunError::DivideUnsettled { station_m: self.solver.run.layout.node(nodes.0).x });
            }
        };
        let close = self.all * if self.follow == Follow::COARSE { 1e-6 } else { 1e-12 };
        let flow = roots::bracketed(
            |flow| {
                let excess = self.excess(part, span, flow)?;
                tried.push((flow, excess));
                Ok::<f64, RunError>(excess)
            },
            enclosed.0,
            enclosed.1,
            close,
        )?;
        // From the nearest trial that is not too near.
        let away = |tried: &(f64, f64)| (tried.0 - flow).abs();
        let beside = tried
            .iter()
            .filter(|tried| away(tried) >= 1e-6 * self.all)
            .min_by(|a, b| away(a).total_cmp(&away(b)));
        let slope = beside.map(|(at, excess)| excess / (at - flow)).filter(|slope| *slope > 0.0);
        Ok(Known { flow, slope })
    }
}
