//! Trucks from the plant.

use super::super::{Setting, WayOrder};
use super::{charge, hours_of, in_unit, item_of, minutes, mixed, rounded_up, split};
use crate::domain::lines::CostLine;
use crate::units::show::{counted, told};
use crate::units::{Amount, Percent, Price, Quantity, Volume};
use crate::wire::book::concrete::{ConcreteWay, ShortLoad};
use rust_decimal::Decimal;

/// Trucks for a net volume.
pub(super) fn reckon(
    way: &ConcreteWay,
    net: Volume,
    waste: Percent,
    setting: &Setting<'_>,
) -> Option<WayOrder> {
    let ConcreteWay::ReadyMix { increment, least_order, .. } = way else { return None };
    let unit = item_of(way, setting.book)?.unit;
    let (count, basis) = rounded_up(net, waste, *increment, *least_order, unit, setting)?;
    of_order(way, count, basis, setting)
}

/// Trucks for an order of so many increments: each full and a last with what is left, or all alike where that costs less.
pub(in crate::compute::concrete) fn of_order(
    way: &ConcreteWay,
    count: i64,
    basis: String,
    setting: &Setting<'_>,
) -> Option<WayOrder> {
    let ConcreteWay::ReadyMix { increment, truck_capacity, .. } = way else { return None };
    let filled = split(*increment * count, *truck_capacity)?;
    let alike = alike(count, filled.len(), *increment, *truck_capacity);
    let filled = by_loads(way, count, basis.clone(), filled, setting)?;
    let Some(alike) = alike.and_then(|loads| by_loads(way, count, basis, loads, setting)) else {
        return Some(filled);
    };
    let saved = filled.all_in - alike.all_in;
    if saved <= Amount::ZERO {
        return Some(filled);
    }
    Some(said(alike, &filled, saved, setting))
}

/// The same trucks with loads that differ by no more than an increment, the larger first; `None` where one would be too full, or
/// they are so anyway.
fn alike(count: i64, trucks: usize, increment: Volume, capacity: Volume) -> Option<Vec<Volume>> {
    let trucks = i64::try_from(trucks).ok().filter(|t| *t > 1)?;
    let (each, more) = (count / trucks, count % trucks);
    let loads: Vec<Volume> = (0..trucks).map(|t| increment * (each + i64::from(t < more))).collect();
    (loads.iter().all(|l| *l <= capacity && l.nm3() > 0)).then_some(loads)
}

/// The order says how it is loaded and why.
fn said(mut alike: WayOrder, filled: &WayOrder, saved: Amount, setting: &Setting<'_>) -> WayOrder {
    let sizes = |order: &WayOrder| {
        let mut words: Vec<String> = Vec::new();
        for same in order.load_sizes.chunk_by(|a, b| a == b) {
            words.extend(same.first().map(|size| told!(setting.working, "{} x {size}", same.len())));
        }
        words.join(" + ")
    };
    let why = told!(
        setting.working,
        "; sent as {}, which costs {saved} less than {}",
        sizes(&alike),
        sizes(filled)
    );
    if let Some(line) = alike.lines.first_mut() {
        line.basis.push_str(&why);
    }
    alike
}

/// An order of so many increments in such loads.
fn by_loads(
    way: &ConcreteWay,
    count: i64,
    basis: String,
    loads: Vec<Volume>,
    setting: &Setting<'_>,
) -> Option<WayOrder> {
    let Setting { book, show, working, .. } = *setting;
    let ConcreteWay::ReadyMix {
        code,
        name: _,
        item: _,
        increment,
        least_order: _,
        short_load,
        truck_capacity,
        delivery_per_load,
        free_unloading,
        waiting_per_hour,
        unloading_per_unit,
        batching: _,
        travel: _,
    } = way
    else {
        return None;
    };
    let item = item_of(way, book)?;
    let unit = item.unit;
    let volume = *increment * count;
    let number = in_unit(volume, unit);
    let mut lines = vec![mixed(item, number, "concrete.order", basis, book)];
    let mut warnings = Vec::new();
    let load_count = loads.len() as i64;
    if let Some(each) = delivery_per_load {
        lines.push(charge(
            code,
            "Delivery",
            item.category,
            *each,
            load_count,
            "concrete.delivery",
            told!(
                working,
                "{} of up to {}",
                counted(load_count, "load"),
                Quantity::volume(*truck_capacity, unit)
            ),
        ));
    }
    if let Some(rule) = short_load {
        let (ShortLoad::Flat { below, .. } | ShortLoad::PerMissing { below, .. }) = rule;
        for (i, load) in loads.iter().enumerate().filter(|(_, l)| *l < below) {
            let size = Quantity::volume(*load, unit);
            let limit = Quantity::volume(*below, unit);
            if load_count > 1 {
                let which = if i + 1 == loads.len() { "the last load" } else { "a load" };
                warnings.push(told!(
                    working,
                    "{which} of {size} is short of {limit}: order a little more or fill up with bags"
                ));
            }
            match rule {
                ShortLoad::Flat { charge: each, .. } => lines.push(charge(
                    code,
                    "Short load",
                    item.category,
                    *each,
                    1,
                    "concrete.short_load",
                    told!(working, "a load of {size} is below {limit}"),
                )),
                ShortLoad::PerMissing { charge: each, .. } => {
                    let missing = in_unit(*below - *load, unit);
                    let price = Price::from_millionths(each.minor() * 10_000);
                    lines.push(CostLine {
                        code: code.as_str().to_owned(),
                        description: "Short load".to_owned(),
                        category: item.category,
                        quantity: Quantity::decimal(missing, unit, 6),
                        unit_price: price,
                        cost: price.times(missing),
                        rule: "concrete.short_load",
                        basis: told!(working, "{limit} less the load of {size}"),
                    });
                }
            }
        }
    }
    if let (Some(per_hour), Some(per_unit)) = (waiting_per_hour, unloading_per_unit) {
        let free = free_unloading.map_or(0, |s| s.seconds());
        let mut late = 0;
        for load in &loads {
            let takes = in_unit(*load, unit) * Decimal::from(per_unit.seconds());
            late += (i64::try_from(takes.ceil().mantissa()).unwrap_or(0) - free).max(0);
        }
        if late > 0 {
            let hours = hours_of(late);
            let price = Price::from_millionths(per_hour.minor() * 10_000);
            lines.push(CostLine {
                code: code.as_str().to_owned(),
                description: "Waiting".to_owned(),
                category: item.category,
                quantity: hours,
                unit_price: price,
                cost: price.times(hours.value()),
                rule: "concrete.waiting",
                basis: told!(
                    working,
                    "unloading takes {} min a {unit}, {} min a load are free",
                    minutes(per_unit.seconds()),
                    minutes(free)
                ),
            });
        }
    }
    Some(WayOrder {
        loads: load_count,
        load_sizes: loads.iter().map(|l| Quantity::volume(*l, unit)).collect(),
        warnings,
        trucked: loads,
        ..WayOrder::of(way, Quantity::decimal(number, unit, 6), volume, lines, show)
    })
}
