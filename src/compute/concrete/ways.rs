//! What one way to get concrete orders and costs.
//!
//! | file | subject |
//! |---|---|
//! | `ready_mix` | trucks from the plant: increment, least order, delivery, short load, waiting |
//! | `bags` | bags mixed on site: pallets, delivery |
//! | `trailer` | a trailer fetched by the crew |

pub(super) mod bags;
pub(super) mod ready_mix;
mod trailer;

use super::{Setting, WayOrder, at_least_order, increments};
use crate::compute::labor::hour_with_burden;
use crate::domain::book::PriceBook;
use crate::domain::lines::CostLine;
use crate::domain::words::Category;
use crate::units::decimal::{Plain, plain, trimmed};
use crate::units::exact::div_round;
use crate::units::show::{told, worded};
use crate::units::{Amount, Percent, Price, Quantity, Unit, Volume};
use crate::wire::Code;
use crate::wire::book::Item;
use crate::wire::book::concrete::ConcreteWay;
use rust_decimal::Decimal;
use std::fmt::Display;

/// More loads or trips than this are no order for one job.
pub(super) const MOST_LOADS: usize = 10_000;

/// Reckons one way by its lines alone; `None` when the volume cannot be reckoned exactly.
pub(super) fn reckon(
    way: &ConcreteWay,
    net: Volume,
    waste: Percent,
    setting: &Setting<'_>,
) -> Option<WayOrder> {
    match way {
        ConcreteWay::ReadyMix { .. } => ready_mix::reckon(way, net, waste, setting),
        ConcreteWay::Bags { .. } => bags::reckon(way, net, waste, setting),
        ConcreteWay::Trailer { .. } => trailer::reckon(way, net, waste, setting),
    }
}

/// The largest net volume that a way can be reckoned for.
pub(super) struct Most {
    /// Down to a hundredth of the unit, so that it goes as it is told.
    pub(super) net: Volume,
    /// Whether the loads are what ends it, and not the exact numbers.
    pub(super) by_loads: bool,
}

impl Most {
    pub(super) fn of(way: &ConcreteWay, waste: Percent, unit: Unit) -> Self {
        let (above, below) = waste.on_top().reduced();
        let exact = (i128::MAX / above).min(Volume::LARGEST.nm3());
        let by_loads = match way {
            ConcreteWay::ReadyMix { increment, truck_capacity: capacity, .. }
            | ConcreteWay::Trailer { increment, capacity, .. } => {
                let step = increment.nm3().max(1);
                let carried = capacity.nm3().saturating_mul(MOST_LOADS as i128) / step * step;
                carried.saturating_mul(below) / above
            }
            ConcreteWay::Bags { .. } => i128::MAX,
        };
        let hundredth = unit.factor().unwrap_or(100) / 100;
        let net = exact.min(by_loads) / hundredth * hundredth;
        Self { net: Volume::from_nm3(net), by_loads: by_loads < exact }
    }
}

/// A volume as a number of a unit, to six decimals.
pub(super) fn in_unit(volume: Volume, unit: Unit) -> Decimal {
    let factor = unit.factor().unwrap_or(1);
    let scaled = div_round(volume.nm3().saturating_mul(1_000_000), factor);
    trimmed(scaled, 6).unwrap_or_default()
}

fn item_of<'b>(way: &ConcreteWay, book: &'b PriceBook) -> Option<&'b Item> {
    book.item(way.item())
}

fn line(
    item: &Item,
    category: Category,
    number: Decimal,
    unit: Unit,
    price: Price,
    rule: &'static str,
    basis: String,
) -> CostLine {
    CostLine {
        code: item.code.as_str().to_owned(),
        description: item.name.as_str().to_owned(),
        category,
        quantity: Quantity::decimal(number, unit, 6),
        unit_price: price,
        cost: price.times(number),
        rule,
        basis,
    }
}

/// The line of concrete as mixed at a plant, with the mix that the book orders.
fn mixed(item: &Item, number: Decimal, rule: &'static str, basis: String, book: &PriceBook) -> CostLine {
    let mut line = line(item, item.category, number, item.unit, item.price, rule, basis);
    if let Some(mix) = book.doc().concrete_rules.as_ref().and_then(|r| r.mix.as_ref()) {
        line.description = worded!("{}; mix: {mix}", line.description);
    }
    line
}

fn charge(
    code: &Code,
    what: &str,
    category: Category,
    each: Amount,
    times: i64,
    rule: &'static str,
    basis: String,
) -> CostLine {
    CostLine {
        code: code.as_str().to_owned(),
        description: what.to_owned(),
        category,
        quantity: Quantity::pieces(times),
        unit_price: Price::from_millionths(each.minor() * 10_000),
        cost: Amount::from_minor(each.minor().saturating_mul(times)),
        rule,
        basis,
    }
}

/// Wage with burden for a time of one trade: the price of an hour, and the cost rounded once.
fn labor_cost(trade: &Code, hours: Quantity, book: &PriceBook) -> (Price, Amount) {
    let price = book.trade(trade).map_or(Price::from_millionths(0), hour_with_burden);
    (price, price.times(hours.value()))
}

/// Hours to six decimals, as the hours of the tasks.
fn hours_of(seconds: i64) -> Quantity {
    Quantity::of_base(i128::from(seconds), Unit::Hr, 6)
}

/// Minutes for the working, to two decimals.
pub(super) fn minutes(seconds: i64) -> Plain {
    plain(Decimal::from(seconds) / Decimal::from(60), 2)
}

fn rounded_basis(
    net: Volume,
    waste: Percent,
    count: i64,
    step: impl Display,
    setting: &Setting<'_>,
) -> String {
    let Setting { show, working, .. } = *setting;
    let with = waste.on_top().of(net);
    told!(
        working,
        "{} x (1 + {waste}) = {}, rounded up to {count} x {step}",
        show.volume(net),
        show.volume(with)
    )
}

/// Increments ordered for a net volume with waste, no fewer than the least order, and how that came about.
fn rounded_up(
    net: Volume,
    waste: Percent,
    increment: Volume,
    least: Volume,
    unit: Unit,
    setting: &Setting<'_>,
) -> Option<(i64, String)> {
    let needed = increments(net, waste, increment)?;
    let count = at_least_order(needed, least, increment)?;
    let mut basis = rounded_basis(net, waste, needed, Quantity::volume(increment, unit), setting);
    if count > needed {
        basis.push_str(&told!(setting.working, "; the least order is {}", Quantity::volume(least, unit)));
    }
    Some((count, basis))
}

/// Full trucks and what is left; `None` beyond [`MOST_LOADS`].
pub(super) fn split(volume: Volume, capacity: Volume) -> Option<Vec<Volume>> {
    if capacity.nm3() <= 0 {
        return None;
    }
    let mut loads = Vec::new();
    let mut left = volume;
    while left.nm3() > 0 {
        if loads.len() == MOST_LOADS {
            return None;
        }
        let load = if left > capacity { capacity } else { left };
        loads.push(load);
        left = left - load;
    }
    Some(loads)
}

/// What a net volume takes with waste, rounded up to the cubic nanometre; `None` beyond 128 bits.
pub(super) fn with_waste_up(net: Volume, waste: Percent) -> Option<Volume> {
    let (above, below) = waste.on_top().reduced();
    let product = net.nm3().checked_mul(above)?;
    Some(Volume::from_nm3(product / below + i128::from(product % below > 0)))
}
