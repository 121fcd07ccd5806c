//! Early and late dates without limits on crews and machines: the critical path.

use super::network::{Lines, Network, Span};
use crate::compute::calendar::{CalendarError, Moment};

/// The network's dates when crews and machines never run out.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Unlimited {
    pub(crate) early: Vec<Span>,
    pub(crate) late: Vec<Span>,
    /// Working minutes by which the start can slip without moving the finish of the plan.
    pub(crate) total_float: Vec<i64>,
    /// Working minutes by which the start can slip without moving the start of any successor.
    pub(crate) free_float: Vec<i64>,
    pub(crate) critical: Vec<bool>,
    pub(crate) finish: Moment,
}

/// Forward pass: every node as early as its predecessors allow.
pub(crate) fn early_pass(
    network: &Network,
    lines: &mut Lines<'_>,
    minutes: &[i64],
    spans: &mut [Span],
) -> Result<Moment, CalendarError> {
    let mut finish = Moment(i64::MIN);
    for &index in &network.order {
        let (Some(node), Some(length)) = (network.nodes.get(index), minutes.get(index)) else {
            continue;
        };
        let arrival = network.arrival(lines, node, spans)?;
        let span = network.run(lines, node, *length, arrival)?;
        finish = finish.max(span.finish);
        if let Some(slot) = spans.get_mut(index) {
            *slot = span;
        }
    }
    Ok(finish)
}

/// Both passes, floats and the critical tasks.
pub(crate) fn unlimited(network: &Network, lines: &mut Lines<'_>) -> Result<Unlimited, CalendarError> {
    let minutes: Vec<i64> = network.nodes.iter().map(|n| n.minutes).collect();
    let mut early = network.blank();
    let finish = early_pass(network, lines, &minutes, &mut early)?;
    let count = network.nodes.len();
    let mut late = early.clone();
    let mut total_float = vec![0; count];
    let mut free_float = vec![0; count];
    for &index in network.order.iter().rev() {
        let (Some(node), Some(&span)) = (network.nodes.get(index), early.get(index)) else {
            continue;
        };
        if node.is_fixed() {
            continue;
        }
        let mut must_finish = finish;
        let mut may_finish = finish;
        for &next in &node.successors {
            let (Some(successor), Some(next_early), Some(next_late)) =
                (network.nodes.get(next), early.get(next).copied(), late.get(next).copied())
            else {
                continue;
            };
            if successor.is_fixed() {
                continue;
            }
            for link in successor.predecessors.iter().filter(|p| p.node == index) {
                let latest = last_where(span.finish, must_finish.min(next_late.arrival), |x| {
                    Ok(link.gap.after(lines, x)? <= next_late.arrival)
                })?;
                must_finish = must_finish.min(latest);
                let latest = last_where(span.finish, may_finish, |x| {
                    let arrival = link.gap.after(lines, x)?.max(next_early.arrival);
                    Ok(network.run(lines, successor, successor.minutes, arrival)?.start <= next_early.start)
                })?;
                may_finish = may_finish.min(latest);
            }
        }
        let arrival = last_where(span.arrival, must_finish, |x| {
            Ok(network.run(lines, node, node.minutes, x)?.finish <= must_finish)
        })?;
        let latest = network.run(lines, node, node.minutes, arrival)?;
        let float = lines.crew.worked(latest.start)? - lines.crew.worked(span.start)?;
        // both floats are slips of the start: a wait may start later and end on the same day
        let arrival = last_where(span.arrival, may_finish, |x| {
            Ok(network.run(lines, node, node.minutes, x)?.finish <= may_finish)
        })?;
        let free = network.run(lines, node, node.minutes, arrival)?;
        let free = lines.crew.worked(free.start)? - lines.crew.worked(span.start)?;
        put(&mut total_float, index, float);
        put(&mut free_float, index, free.min(float));
        put(&mut late, index, latest);
    }
    // the end of a cure takes what is left of a day or of a weekend into the float: what can slip by more than a day
    // holds nothing
    let mut critical = driving(network, lines, &early, finish)?;
    for ((flag, float), node) in critical.iter_mut().zip(&total_float).zip(&network.nodes) {
        *flag = !node.is_fixed() && (*float == 0 || *flag && *float <= network.longest_day);
    }
    Ok(Unlimited { early, late, total_float, free_float, critical, finish })
}

/// Nodes on a chain of predecessors that leads, without slack between, to the end of the plan.
fn driving(
    network: &Network,
    lines: &mut Lines<'_>,
    early: &[Span],
    finish: Moment,
) -> Result<Vec<bool>, CalendarError> {
    let mut flags: Vec<bool> = early.iter().map(|s| s.finish == finish).collect();
    for &index in network.order.iter().rev() {
        let (Some(true), Some(node), Some(span)) =
            (flags.get(index), network.nodes.get(index), early.get(index))
        else {
            continue;
        };
        for link in &node.predecessors {
            let Some(before) = early.get(link.node) else {
                continue;
            };
            if link.gap.after(lines, before.finish)? == span.arrival {
                put(&mut flags, link.node, true);
            }
        }
    }
    Ok(flags)
}

/// The last moment from `low` to `high` for which a rule holds that, once broken, stays broken. It holds at
/// `low`.
fn last_where(
    low: Moment,
    high: Moment,
    mut holds: impl FnMut(Moment) -> Result<bool, CalendarError>,
) -> Result<Moment, CalendarError> {
    if high <= low || holds(high)? {
        return Ok(high.max(low));
    }
    let (mut good, mut bad) = (low.0, high.0);
    while bad - good > 1 {
        let middle = good + (bad - good) / 2;
        if holds(Moment(middle))? {
            good = middle;
        } else {
            bad = middle;
        }
    }
    Ok(Moment(good))
}

fn put<T>(values: &mut [T], index: usize, value: T) {
    if let Some(slot) = values.get_mut(index) {
        *slot = value;
    }
}

#[cfg(test)]
mod tests;
