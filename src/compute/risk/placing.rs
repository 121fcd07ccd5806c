//! The plan, placed anew for each draw.

use std::collections::BTreeMap;

use super::request::{RiskError, RiskRequest};
use crate::compute::{
    calendar::{CalendarError, Moment},
    plan::{Anchor, Leveller, Lines, Network, PlanRequest, Span, TaskId, compile, network_order},
};

/// The plan, ready to be placed again and again.
pub(super) struct Placing<'a> {
    network: Network,
    pub(super) lines: Lines<'a>,
    order: Vec<usize>,
    leveller: Leveller,
    spans: Vec<Span>,
    minutes: Vec<i64>,
    /// Node of each uncertain task.
    nodes: Vec<usize>,
}

impl<'a> Placing<'a> {
    pub(super) fn of(plan: &'a PlanRequest, request: &RiskRequest<'_>) -> Result<Self, Vec<RiskError>> {
        let start = match plan.anchor {
            Anchor::Start(start) | Anchor::StartAndWish { start, .. } => start,
            Anchor::Finish(_) => return Err(vec![RiskError::NeedsStart]),
        };
        let (network, mut lines) = compile(plan, start).map_err(|e| vec![e.into()])?;
        let by_id: BTreeMap<&TaskId, usize> =
            plan.tasks.iter().enumerate().map(|(i, t)| (&t.id, i)).collect();
        let mut nodes = Vec::with_capacity(request.tasks.len());
        let mut faults = Vec::new();
        for (index, task) in request.tasks.iter().enumerate() {
            match by_id.get(&task.id) {
                Some(node) => nodes.push(*node),
                None => faults.push(RiskError::NotInPlan { index, task: task.id.clone() }),
            }
        }
        if !faults.is_empty() {
            return Err(faults);
        }
        let order = network_order(&network, &mut lines).map_err(|e| vec![e.into()])?;
        Ok(Placing {
            spans: network.blank(),
            minutes: network.nodes.iter().map(|n| n.minutes).collect(),
            leveller: Leveller::default(),
            network,
            lines,
            order,
            nodes,
        })
    }

    pub(super) fn is_done(&self, task: usize) -> bool {
        self.nodes.get(task).and_then(|n| self.network.nodes.get(*n)).is_some_and(|n| n.is_fixed())
    }

    /// The finish when each uncertain task takes its factor of its time, rounded up to the minute.
    pub(super) fn finish(&mut self, factors: &[f64]) -> Result<Moment, CalendarError> {
        for (node, factor) in self.nodes.iter().zip(factors) {
            let planned = self.network.nodes.get(*node).filter(|n| n.is_work()).map(|n| n.minutes);
            if let (Some(planned), Some(slot)) = (planned, self.minutes.get_mut(*node)) {
                *slot = ((planned as f64 * factor).ceil().min(MOST_DRAWN_MINUTES) as i64).max(1);
            }
        }
        let Placing { network, lines, order, leveller, spans, minutes, .. } = self;
        leveller.place_all(network, lines, minutes, order, spans, false)
    }
}

/// A drawn task longer than this leaves the calendar anyway: a hundred years of minutes.
const MOST_DRAWN_MINUTES: f64 = 52_596_000.0;
