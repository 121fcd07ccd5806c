//! What the crew does for an order and what tax falls on it: the hours of mixing and placing by the rates, the factors and the
//! rounding that the labor stage takes, the hire that follows from them. So a comparison of ways is one of whole estimates.

use super::{Setting, WayOrder, ways};
use crate::compute::labor::{self, Conditions, Reckoned, hour_with_burden};
use crate::compute::{machines, pricing};
use crate::domain::book::PriceBook;
use crate::domain::measures::Measures;
use crate::domain::words::{Category, Measure, Task};
use crate::units::decimal::{Plain, plain};
use crate::units::quantity::Span;
use crate::units::show::{LINE, Working, counted};
use crate::units::{Amount, Percent, Price, Volume};
use crate::wire::book::concrete::ConcreteWay;
use smallvec::SmallVec;
use std::fmt::Write as _;

/// Reckons one way with everything that comes with it; `None` when the volume cannot be reckoned exactly.
pub(super) fn reckon(
    way: &ConcreteWay,
    net: Volume,
    waste: Percent,
    setting: &Setting<'_>,
) -> Option<WayOrder> {
    let bare = ways::reckon(way, net, waste, setting)?;
    Some(worked(bare, setting))
}

/// An order of lines alone with mixing, placing and purchase tax added.
pub(super) fn worked(mut order: WayOrder, setting: &Setting<'_>) -> WayOrder {
    let Setting { book, site, show, working } = *setting;
    let conditions = site.map_or(Conditions::PLAIN, |s| s.conditions);
    let mut measures = Measures::default();
    measures.add_volume(Measure::ConcreteOrdered, order.volume);
    measures.add_count(Measure::BagsMixed, order.bags);
    let mut tasks: SmallVec<[Reckoned<'_>; 2]> = SmallVec::new();
    let mut costs: SmallVec<[(Category, Amount); 8]> =
        order.lines.iter().map(|l| (l.category, l.cost)).collect();
    let mut basis = String::new();
    for (task, name) in [(Task::MixConcrete, "mixing: "), (Task::Pour, "placing: ")] {
        let before = basis.len();
        if working.is_written() {
            basis.reserve(3 * LINE);
            basis.push_str(if tasks.is_empty() { "" } else { "; " });
            basis.push_str(name);
        }
        let text = working.is_written().then_some(&mut basis);
        let Some(hours) = labor::hours_of(task, &measures, &conditions, book, text, show) else {
            basis.truncate(before);
            continue;
        };
        let cost = wages(&hours, book, working, &mut basis);
        costs.push((Category::Labor, cost));
        if task == Task::MixConcrete {
            order.extra_hours = hours.person_hours();
            order.extra_trade = Some(trades(&hours));
            order.extra_labor_cost = cost;
        } else {
            order.placing_hours = hours.person_hours();
            order.placing_cost = cost;
        }
        tasks.push(hours);
    }
    for (machine, half_days, cost) in machines::hire_of(&tasks, book) {
        let mixes =
            |t: &Reckoned<'_>| t.rate.task == Task::MixConcrete && t.rate.equipment.contains(&machine.code);
        let place =
            if tasks.iter().any(mixes) { &mut order.extra_hire_cost } else { &mut order.placing_cost };
        *place += cost;
        costs.push((Category::Hire, cost));
        if working.is_written() {
            let _ = write!(basis, "; {} for {}: {cost}", machine.name, counted(half_days, "half day"));
        }
    }
    if !tasks.is_empty() && site.is_none() && working.is_written() {
        basis.push_str("; plain conditions: a normal place, no weather, the usual methods");
    }
    let tax = pricing::purchase_tax_on(&costs, site.and_then(|s| s.place), &book.doc().taxes);
    if tax != Amount::ZERO && working.is_written() {
        let _ = write!(basis, "{}purchase tax: {tax}", if basis.is_empty() { "" } else { "; " });
    }
    order.purchase_tax = tax;
    order.all_in = costs.iter().map(|(_, cost)| *cost).sum::<Amount>() + tax;
    order.work_basis = basis;
    order
}

/// What the crew of a task is paid, written behind its hours.
fn wages(task: &Reckoned<'_>, book: &PriceBook, working: Working, basis: &mut String) -> Amount {
    let mut cost = Amount::ZERO;
    let each = plain(Span::from_seconds(task.seconds).hours(), 6);
    for (i, member) in task.rate.crew.iter().enumerate() {
        let price = book.trade(&member.trade).map_or(Price::from_millionths(0), hour_with_burden);
        let count = member.count.get();
        cost += price.times(labor::shown(task.seconds.saturating_mul(count)).value());
        if working.is_written() {
            basis.push_str(if i == 0 { ": " } else { " + " });
            Plain::Small(count, 0).put(basis);
            basis.push(' ');
            basis.push_str(member.trade.as_str());
            basis.push_str(" x ");
            each.put(basis);
            basis.push_str(" h x ");
            price.put(basis);
        }
    }
    if working.is_written() {
        basis.push_str(" = ");
        cost.put(basis);
    }
    cost
}

fn trades(task: &Reckoned<'_>) -> String {
    task.rate.crew.iter().map(|c| c.trade.as_str()).collect::<SmallVec<[&str; 4]>>().join(", ")
}
