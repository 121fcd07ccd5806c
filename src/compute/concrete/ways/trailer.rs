//! Concrete by the trip: a trailer fetched by the crew, or a truck that mixes on site.

use super::super::{Setting, WayOrder};
use super::{charge, hours_of, in_unit, item_of, labor_cost, minutes, mixed, rounded_up, split};
use crate::domain::lines::CostLine;
use crate::domain::words::Category;
use crate::units::show::{counted, told};
use crate::units::{Amount, Percent, Quantity, Volume};
use crate::wire::book::concrete::ConcreteWay;

/// A trailer for a net volume.
pub(super) fn reckon(
    way: &ConcreteWay,
    net: Volume,
    waste: Percent,
    setting: &Setting<'_>,
) -> Option<WayOrder> {
    let Setting { book, show, working, .. } = *setting;
    let ConcreteWay::Trailer {
        code,
        name: _,
        item: _,
        increment,
        capacity,
        hire_per_trip,
        trip_time,
        trade,
        least_order,
        people,
    } = way
    else {
        return None;
    };
    let item = item_of(way, book)?;
    let least = least_order.unwrap_or(Volume::ZERO);
    let (count, basis) = rounded_up(net, waste, *increment, least, item.unit, setting)?;
    let volume = *increment * count;
    let trips = split(volume, *capacity)?;
    let trip_count = trips.len() as i64;
    let number = in_unit(volume, item.unit);
    let people = people.map_or(1, |p| p.get());
    let hours = hours_of(trip_time.seconds().saturating_mul(trip_count).saturating_mul(people));
    let (price, labor) = labor_cost(trade, hours, book);
    let mut lines = vec![mixed(item, number, "concrete.trips", basis, book)];
    // What comes by itself is neither hired nor fetched.
    if *hire_per_trip > Amount::ZERO {
        lines.push(charge(
            code,
            "Hire by the trip",
            Category::Hire,
            *hire_per_trip,
            trip_count,
            "concrete.hire",
            told!(
                working,
                "{} of up to {}",
                counted(trip_count, "trip"),
                Quantity::volume(*capacity, item.unit)
            ),
        ));
    }
    let fetched = trip_time.seconds() > 0;
    // Fetching is no task of the plan, so its hours are a line of their own.
    if fetched {
        lines.push(CostLine {
            code: trade.as_str().to_owned(),
            description: "Fetching and returning".to_owned(),
            category: Category::Labor,
            quantity: hours,
            unit_price: price,
            cost: labor,
            rule: "concrete.labor",
            basis: told!(
                working,
                "{} of {} min{} at the wage with burden",
                counted(trip_count, "trip"),
                minutes(trip_time.seconds()),
                if people > 1 { told!(working, " x {people} people") } else { String::new() }
            ),
        });
    }
    Some(WayOrder {
        loads: trip_count,
        load_sizes: trips.iter().map(|l| Quantity::volume(*l, item.unit)).collect(),
        extra_hours: hours,
        extra_trade: fetched.then(|| trade.as_str().to_owned()),
        extra_labor_cost: labor,
        ..WayOrder::of(way, Quantity::decimal(number, item.unit, 6), volume, lines, show)
    })
}
