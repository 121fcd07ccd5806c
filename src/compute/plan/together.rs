//! The order of placing, with the tasks of one hired machine after each other where nothing is later for it.
//!
//! By the priority rule alone a machine that several parts of a job need comes and goes: between two of its tasks stands
//! whatever has the less float. Here further orders are tried, in which the tasks of such machines follow each other as they
//! become ready; one is taken only where the machines are on site for fewer days, or from first to last use of a day for fewer
//! hours, and the finish and every pour, wait and milestone keep their days.

use std::collections::{BTreeMap, BTreeSet};

use super::{
    critical::Unlimited,
    level::{Leveller, priority_order},
    network::{Kind, Lines, Network, Node, Span},
};
use crate::compute::calendar::{CalendarError, Moment, timeline::DAY};

/// The order in which the nodes of a network are placed.
pub(super) fn placing_order(
    network: &Network,
    lines: &mut Lines<'_>,
    unlimited: &Unlimited,
) -> Result<Vec<usize>, CalendarError> {
    let base = priority_order(network, unlimited, &BTreeSet::new());
    let shared: Vec<usize> =
        network.hired.iter().copied().filter(|r| uses(network, *r).nth(1).is_some()).collect();
    if shared.is_empty() {
        return Ok(base);
    }
    let minutes: Vec<i64> = network.nodes.iter().map(|n| n.minutes).collect();
    let placed = |order: &[usize], lines: &mut Lines<'_>| -> Result<Placed, CalendarError> {
        let mut spans = network.blank();
        let finish = Leveller::default().place_all(network, lines, &minutes, order, &mut spans, false)?;
        let on_site = on_site(network, lines, &shared, &spans)?;
        Ok(Placed { finish, spans, on_site })
    };
    let first = placed(&base, lines)?;
    let (mut best, mut on_site, mut kept) = (base, first.on_site, BTreeSet::new());
    // all of them, else one after the other
    let all: BTreeSet<usize> = shared.iter().copied().collect();
    let one_by_one = shared.iter().map(|r| BTreeSet::from([*r]));
    for more in std::iter::once(all.clone()).chain(one_by_one) {
        if kept == all {
            break;
        }
        let together: BTreeSet<usize> = kept.union(&more).copied().collect();
        let order = priority_order(network, unlimited, &together);
        if order == best {
            continue;
        }
        let tried = placed(&order, lines)?;
        if tried.on_site < on_site && tried.keeps_the_days_of(&first, network) {
            (best, on_site, kept) = (order, tried.on_site, together);
        }
    }
    Ok(best)
}

/// Work with a machine, by its place.
fn uses(network: &Network, machine: usize) -> impl Iterator<Item = usize> {
    let with = move |node: &Node| node.is_work() && node.uses(machine);
    network.nodes.iter().enumerate().filter(move |(_, n)| with(n)).map(|(i, _)| i)
}

/// A network placed in one order.
struct Placed {
    finish: Moment,
    spans: Vec<Span>,
    /// Days of the machines on site, and minutes from the first to the last use of each.
    on_site: (usize, i64),
}

impl Placed {
    /// Whether nothing that has a day of its own ends later than in another order.
    fn keeps_the_days_of(&self, other: &Placed, network: &Network) -> bool {
        let dated = |node: &Node| !matches!(node.kind, Kind::Work { one_day: false } | Kind::Fixed { .. });
        let each = network.nodes.iter().zip(&self.spans).zip(&other.spans);
        self.finish <= other.finish
            && each.filter(|((n, _), _)| dated(n)).all(|((_, s), o)| s.finish.day() <= o.finish.day())
    }
}

fn on_site(
    network: &Network,
    lines: &mut Lines<'_>,
    machines: &[usize],
    spans: &[Span],
) -> Result<(usize, i64), CalendarError> {
    let (mut days, mut minutes) = (0, 0);
    for &machine in machines {
        let mut used: BTreeMap<i64, (i64, i64)> = BTreeMap::new();
        for span in uses(network, machine).filter_map(|i| spans.get(i)) {
            for day in span.start.day()..=span.finish.day() {
                let from = (span.start.0 - day * DAY).max(0);
                let to = (span.finish.0 - day * DAY).min(lines.crew.capacity(day)?);
                if to > from {
                    let slot = used.entry(day).or_insert((from, to));
                    *slot = (slot.0.min(from), slot.1.max(to));
                }
            }
        }
        days += used.len();
        minutes += used.values().map(|(from, to)| to - from).sum::<i64>();
    }
    Ok((days, minutes))
}
