//! The plan with crews and machines limited: serial schedule generation.
//!
//! Tasks are placed one after the other, each at the earliest working minute at which its predecessors are
//! done and its people and machines are free for its whole length. Among the tasks whose predecessors are
//! placed, the next is the one with the least late start of the unlimited plan, then the least total float,
//! then the one listed first. What has begun goes on first.

use std::collections::BTreeSet;

use super::{
    critical::Unlimited,
    network::{Kind, Lines, Manning, Network, Node, Span},
    profile::Profile,
};
use crate::compute::calendar::{CalendarError, Moment};

/// The rule, as it is told to the reader of a plan.
pub(crate) const PRIORITY_RULE: &str = "tasks are placed one by one at the earliest time their people and machines are free: \
begun work first, then least late start, then least total float, then the order of the list; tasks of a hired machine follow each \
other where that keeps it on site for less and moves no pour, wait, milestone or finish to a later day";

/// Places nodes one by one; keeps its memory between runs.
#[derive(Debug, Clone, Default)]
pub(crate) struct Leveller {
    profiles: Vec<Profile>,
    /// Chosen crew of each node.
    pub(crate) crews: Vec<Option<usize>>,
    /// Nodes whose people or machines a node had to wait for; empty unless explaining.
    pub(crate) waited_for: Vec<Vec<usize>>,
    /// Resource, end and node of every booking; empty unless explaining.
    booked: Vec<(usize, i64, usize)>,
}

impl Leveller {
    /// Places every node in the given order (predecessors first) and returns the finish of the plan.
    ///
    /// `explain` also records whom each node waited for.
    pub(crate) fn place_all(
        &mut self,
        network: &Network,
        lines: &mut Lines<'_>,
        minutes: &[i64],
        order: &[usize],
        spans: &mut [Span],
        explain: bool,
    ) -> Result<Moment, CalendarError> {
        self.profiles.resize(network.limits.len(), Profile::default());
        self.profiles.iter_mut().for_each(Profile::clear);
        self.crews.clear();
        self.crews.resize(network.nodes.len(), None);
        self.waited_for.clear();
        self.booked.clear();
        if explain {
            self.waited_for.resize(network.nodes.len(), Vec::new());
        }
        let mut finish = Moment(i64::MIN);
        for &index in order {
            let (Some(node), Some(&length)) = (network.nodes.get(index), minutes.get(index)) else {
                continue;
            };
            let arrival = network.arrival(lines, node, spans)?;
            let mut span = network.run(lines, node, length, arrival)?;
            if node.is_work() {
                span = self.place(network, lines, node, index, length, span)?;
            }
            finish = finish.max(span.finish);
            if let Some(slot) = spans.get_mut(index) {
                *slot = span;
            }
        }
        Ok(finish)
    }

    fn place(
        &mut self,
        network: &Network,
        lines: &mut Lines<'_>,
        node: &Node,
        index: usize,
        length: i64,
        free: Span,
    ) -> Result<Span, CalendarError> {
        let wished = lines.crew.worked(free.start)?;
        let mut best: Option<(i64, &Manning)> = None;
        for manning in &node.mannings {
            let from = self.earliest(network, lines, node, manning, wished, length)?;
            if best.is_none_or(|(other, _)| from < other) {
                best = Some((from, manning));
            }
            if from == wished {
                break;
            }
        }
        let Some((from, manning)) = best else {
            return Ok(free);
        };
        if !self.waited_for.is_empty() && from > wished {
            let mut blockers = self.ending_at(manning, from);
            blockers.sort_unstable();
            blockers.dedup();
            if let Some(slot) = self.waited_for.get_mut(index) {
                *slot = blockers;
            }
        }
        let explain = !self.waited_for.is_empty();
        for &(resource, amount) in &manning.demands {
            if let Some(profile) = self.profiles.get_mut(resource) {
                profile.book(from, from + length, amount);
            }
            if explain {
                self.booked.push((resource, from + length, index));
            }
        }
        if let Some(slot) = self.crews.get_mut(index) {
            *slot = manning.crew;
        }
        if from == wished {
            return Ok(free);
        }
        Ok(Span {
            arrival: free.arrival,
            start: lines.crew.start_at(from)?,
            finish: lines.crew.finish_at(from + length)?,
        })
    }

    /// Each step moves to the end of a booked stretch or to a later day, so it ends.
    fn earliest(
        &self,
        network: &Network,
        lines: &mut Lines<'_>,
        node: &Node,
        manning: &Manning,
        wished: i64,
        length: i64,
    ) -> Result<i64, CalendarError> {
        let one_day = matches!(node.kind, Kind::Work { one_day: true });
        let mut from = wished;
        'again: loop {
            if one_day {
                from = lines.crew.fit_in_one_day(from, length.min(network.longest_day))?;
            }
            for &(resource, amount) in &manning.demands {
                let (Some(profile), Some(&limit)) =
                    (self.profiles.get(resource), network.limits.get(resource))
                else {
                    continue;
                };
                if let Some(later) = profile.blocked_until(from, length, amount, limit) {
                    from = later;
                    continue 'again;
                }
            }
            return Ok(from);
        }
    }

    fn ending_at(&self, manning: &Manning, moment: i64) -> Vec<usize> {
        let demanded = |resource: usize| manning.demands.iter().any(|(r, _)| *r == resource);
        let ending = self.booked.iter().filter(|(resource, end, _)| *end == moment && demanded(*resource));
        ending.map(|(.., node)| *node).collect()
    }
}

/// The order in which the nodes of a network are placed.
pub(crate) fn network_order(network: &Network, lines: &mut Lines<'_>) -> Result<Vec<usize>, CalendarError> {
    let unlimited = super::critical::unlimited(network, lines)?;
    super::together::placing_order(network, lines, &unlimited)
}

/// The order in which nodes are placed by the priority rule; after a task of one of the machines that are kept `together` come
/// its other tasks that are ready.
pub(super) fn priority_order(
    network: &Network,
    unlimited: &Unlimited,
    together: &BTreeSet<usize>,
) -> Vec<usize> {
    let key = |index: usize| {
        let begun = network.nodes.get(index).is_some_and(|n| n.is_fixed() || n.began.is_some());
        let late = unlimited.late.get(index).map_or(i64::MAX, |s| s.start.0);
        let float = unlimited.total_float.get(index).copied().unwrap_or(i64::MAX);
        (!begun, late, float, index)
    };
    let shares = |index: usize, machines: &[usize]| {
        network.nodes.get(index).is_some_and(|n| n.is_work() && machines.iter().any(|m| n.uses(*m)))
    };
    let mut open = vec![0_usize; network.nodes.len()];
    for next in network.nodes.iter().flat_map(|n| &n.successors) {
        if let Some(count) = open.get_mut(*next) {
            *count += 1;
        }
    }
    let mut ready: BTreeSet<(bool, i64, i64, usize)> =
        open.iter().enumerate().filter(|(_, n)| **n == 0).map(|(i, _)| key(i)).collect();
    let mut order = Vec::with_capacity(open.len());
    let mut machines: Vec<usize> = Vec::new();
    while let Some(&first) = ready.first() {
        let goes_on = |(.., index): &&(bool, i64, i64, usize)| shares(*index, &machines);
        let next = if first.0 && !machines.is_empty() { ready.iter().find(goes_on).copied() } else { None };
        let next = next.unwrap_or(first);
        ready.remove(&next);
        let (.., index) = next;
        order.push(index);
        let Some(node) = network.nodes.get(index) else {
            continue;
        };
        machines.clear();
        machines.extend(together.iter().filter(|m| node.is_work() && node.uses(**m)));
        for &next in &node.successors {
            if let Some(left) = open.get_mut(next) {
                *left = left.saturating_sub(1);
                if *left == 0 {
                    ready.insert(key(next));
                }
            }
        }
    }
    order
}
