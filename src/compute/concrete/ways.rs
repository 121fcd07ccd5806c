//! What one way to get concrete orders and costs.

use super::{WayOrder, increments};
use crate::compute::hire;
use crate::compute::labor::{crew_seconds, hour_with_burden, person_hours};
use crate::domain::book::PriceBook;
use crate::domain::lines::CostLine;
use crate::domain::words::{Category, Task};
use crate::units::decimal::{Plain, plain, trimmed};
use crate::units::exact::div_round;
use crate::units::quantity::Span;
use crate::units::show::Show;
use crate::units::{Amount, Factor, Percent, Price, Quantity, Unit, Volume};
use crate::wire::Code;
use crate::wire::book::Item;
use crate::wire::book::concrete::{ConcreteWay, ShortLoad};
use rust_decimal::Decimal;

/// More loads or trips than this are no order for one job.
pub(super) const MOST_LOADS: usize = 10_000;

/// Reckons one way; `None` when the volume cannot be reckoned exactly.
pub(super) fn reckon(
    way: &ConcreteWay,
    net: Volume,
    waste: Percent,
    book: &PriceBook,
    show: Show,
) -> Option<WayOrder> {
    match way {
        ConcreteWay::ReadyMix { .. } => ready_mix(way, net, waste, book, show),
        ConcreteWay::Bags { .. } => bags(way, net, waste, book, show),
        ConcreteWay::Trailer { .. } => trailer(way, net, waste, book, show),
    }
}

/// A volume as a number of a unit, to six decimals.
fn in_unit(volume: Volume, unit: Unit) -> Decimal {
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

/// Hours to four decimals, as the hours of the tasks.
fn hours_of(seconds: i64) -> Quantity {
    Quantity::of_base(i128::from(seconds), Unit::Hr, 4)
}

/// Minutes for the working, to two decimals.
fn minutes(seconds: i64) -> Plain {
    plain(Decimal::from(seconds) / Decimal::from(60), 2)
}

/// Hire of the machines of the usual way of mixing, for the time the crew mixes.
fn mixer_hire(mixing: Decimal, book: &PriceBook) -> Amount {
    let (Some(rate), Some(rules)) = (book.labor(Task::MixConcrete, None), &book.doc().labor_rules) else {
        return Amount::ZERO;
    };
    let people = rate.crew.iter().map(|c| c.count.get()).sum();
    let setup = rate.setup.map_or(Decimal::ZERO, Span::hours);
    let seconds = crew_seconds(person_hours(setup, mixing, Factor::ONE, Factor::ONE), people, rules.step);
    let half_days = hire::half_days(seconds, rules.day);
    rate.equipment
        .iter()
        .filter_map(|code| book.equipment(code))
        .filter(|m| !m.owned.0)
        .map(|m| hire::cheapest(half_days, m.half_day, m.day, m.week, m.four_weeks).cost)
        .sum()
}

fn rounded_basis(net: Volume, waste: Percent, count: i64, step: &str, show: Show) -> String {
    let with = waste.on_top().of(net);
    format!("{} x (1 + {waste}) = {}, rounded up to {count} x {step}", show.volume(net), show.volume(with))
}

fn ready_mix(
    way: &ConcreteWay,
    net: Volume,
    waste: Percent,
    book: &PriceBook,
    show: Show,
) -> Option<WayOrder> {
    let ConcreteWay::ReadyMix {
        code,
        name,
        item: _,
        increment,
        least_order,
        short_load,
        truck_capacity,
        delivery_per_load,
        free_unloading,
        waiting_per_hour,
        unloading_per_unit,
    } = way
    else {
        return None;
    };
    let item = item_of(way, book)?;
    let unit = item.unit;
    let steps = increments(net, waste, *increment)?;
    let least_steps = increments(*least_order, Percent::ZERO, *increment)?;
    let count = steps.max(least_steps);
    let volume = *increment * count;
    let number = in_unit(volume, unit);
    let mut basis = rounded_basis(net, waste, steps, &Quantity::volume(*increment, unit).to_string(), show);
    if count > steps {
        basis.push_str(&format!("; the least order is {}", Quantity::volume(*least_order, unit)));
    }
    let mut lines = vec![line(item, item.category, number, unit, item.price, "concrete.order", basis)];
    let mut warnings = Vec::new();
    let loads = split(volume, *truck_capacity)?;
    let load_count = loads.len() as i64;
    if let Some(each) = delivery_per_load {
        lines.push(charge(
            code,
            "Delivery",
            item.category,
            *each,
            load_count,
            "concrete.delivery",
            format!("{load_count} load(s) of up to {}", Quantity::volume(*truck_capacity, unit)),
        ));
    }
    if let Some(rule) = short_load {
        let (ShortLoad::Flat { below, .. } | ShortLoad::PerMissing { below, .. }) = rule;
        for load in loads.iter().filter(|l| *l < below) {
            let size = Quantity::volume(*load, unit);
            let limit = Quantity::volume(*below, unit);
            if load_count > 1 {
                warnings.push(format!(
                    "the last load of {size} is short of {limit}: order a little more or fill up with bags"
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
                    format!("a load of {size} is below {limit}"),
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
                        basis: format!("{limit} less the load of {size}"),
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
                basis: format!(
                    "unloading takes {} min a {unit}, {} min a load are free",
                    minutes(per_unit.seconds()),
                    minutes(free)
                ),
            });
        }
    }
    let all_in = lines.iter().map(|l| l.cost).sum();
    Some(WayOrder {
        code: code.as_str().to_owned(),
        name: name.as_str().to_owned(),
        cheapest: false,
        order: Quantity::decimal(number, unit, 6),
        volume_ordered: show.volume(volume),
        loads: load_count,
        load_sizes: loads.iter().map(|l| Quantity::volume(*l, unit)).collect(),
        extra_hours: Quantity::new(0, 0, Unit::Hr),
        extra_trade: None,
        extra_labor_cost: Amount::ZERO,
        extra_hire_cost: Amount::ZERO,
        lines,
        all_in,
        warnings,
        volume,
        bags: 0,
    })
}

/// Full trucks and what is left; `None` beyond [`MOST_LOADS`].
fn split(volume: Volume, capacity: Volume) -> Option<Vec<Volume>> {
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

fn bags(way: &ConcreteWay, net: Volume, waste: Percent, book: &PriceBook, show: Show) -> Option<WayOrder> {
    let ConcreteWay::Bags {
        code,
        name,
        item: _,
        bag_weight: _,
        bag_yield,
        bags_per_pallet,
        mixing_per_bag,
        trade,
    } = way
    else {
        return None;
    };
    let item = item_of(way, book)?;
    let count = increments(net, waste, *bag_yield)?;
    let volume = *bag_yield * count;
    let unit = if show.volume_unit() == Unit::Yd3 { Unit::Ft3 } else { Unit::L };
    let basis =
        rounded_basis(net, waste, count, &format!("{} a bag", Quantity::volume(*bag_yield, unit)), show);
    let lines =
        vec![line(item, item.category, Decimal::from(count), item.unit, item.price, "concrete.bags", basis)];
    let hours = hours_of(mixing_per_bag.seconds().saturating_mul(count));
    let (_, labor) = labor_cost(trade, hours, book);
    let hire = mixer_hire(hours.value(), book);
    let all_in = lines.iter().map(|l| l.cost).sum::<Amount>() + labor + hire;
    let pallets = bags_per_pallet.map_or(0, |p| (count + p.get() - 1) / p.get());
    let mut warnings = Vec::new();
    if let Some(rules) = &book.doc().concrete_rules {
        let limit = rules.time_limit.hours();
        let people = (hours.value() / limit.max(Decimal::new(1, 2))).ceil();
        if people > Decimal::ONE {
            warnings.push(format!(
                "mixing takes {} person-hours; the mix is to be placed within {} h of mixing, so pour in parts or let \
                 {people} mix at once",
                plain(hours.value(), 1),
                plain(limit, 2)
            ));
        }
    }
    Some(WayOrder {
        code: code.as_str().to_owned(),
        name: name.as_str().to_owned(),
        cheapest: false,
        order: Quantity::decimal(Decimal::from(count), item.unit, 6),
        volume_ordered: show.volume(volume),
        loads: pallets,
        load_sizes: Vec::new(),
        extra_hours: hours,
        extra_trade: Some(trade.as_str().to_owned()),
        extra_labor_cost: labor,
        extra_hire_cost: hire,
        lines,
        all_in,
        warnings,
        volume,
        bags: count,
    })
}

fn trailer(way: &ConcreteWay, net: Volume, waste: Percent, book: &PriceBook, show: Show) -> Option<WayOrder> {
    let ConcreteWay::Trailer { code, name, item: _, increment, capacity, hire_per_trip, trip_time, trade } =
        way
    else {
        return None;
    };
    let item = item_of(way, book)?;
    let count = increments(net, waste, *increment)?;
    let volume = *increment * count;
    let trips = split(volume, *capacity)?;
    let trip_count = trips.len() as i64;
    let number = in_unit(volume, item.unit);
    let basis = rounded_basis(net, waste, count, &Quantity::volume(*increment, item.unit).to_string(), show);
    let hours = hours_of(trip_time.seconds().saturating_mul(trip_count));
    let (price, labor) = labor_cost(trade, hours, book);
    let mut lines = vec![
        line(item, item.category, number, item.unit, item.price, "concrete.trips", basis),
        charge(
            code,
            "Trailer hire",
            Category::Hire,
            *hire_per_trip,
            trip_count,
            "concrete.hire",
            format!("{trip_count} trip(s) of up to {}", Quantity::volume(*capacity, item.unit)),
        ),
    ];
    // Fetching is no task of the plan, so its hours are a line of their own.
    lines.push(CostLine {
        code: trade.as_str().to_owned(),
        description: "Fetching and returning the trailer".to_owned(),
        category: Category::Labor,
        quantity: hours,
        unit_price: price,
        cost: labor,
        rule: "concrete.labor",
        basis: format!(
            "{trip_count} trip(s) of {} min at the wage with burden",
            minutes(trip_time.seconds())
        ),
    });
    let all_in = lines.iter().map(|l| l.cost).sum::<Amount>();
    Some(WayOrder {
        code: code.as_str().to_owned(),
        name: name.as_str().to_owned(),
        cheapest: false,
        order: Quantity::decimal(number, item.unit, 6),
        volume_ordered: show.volume(volume),
        loads: trip_count,
        load_sizes: trips.iter().map(|l| Quantity::volume(*l, item.unit)).collect(),
        extra_hours: hours,
        extra_trade: Some(trade.as_str().to_owned()),
        extra_labor_cost: labor,
        extra_hire_cost: Amount::ZERO,
        lines,
        all_in,
        warnings: Vec::new(),
        volume,
        bags: 0,
    })
}
