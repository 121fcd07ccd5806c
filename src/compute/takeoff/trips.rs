//! How long the trips to the tip take, and who pays the driver.

use super::check;
use super::collect::Collect;
use crate::compute::haul::{Trip, drive_seconds};
use crate::compute::needs::Need;
use crate::domain::layout::Layout;
use crate::domain::lines::{Check, Outcome};
use crate::domain::words::Task;
use crate::units::decimal::trimmed;
use crate::units::quantity::Span;
use crate::units::show::{counted, worded};
use crate::units::{Distance, Quantity, Speed, Unit, UnitSystem};
use crate::wire::book::ground::HaulRule;
use rust_decimal::Decimal;

/// The round trip and what all trips take, where book or notes say how far the tip is and how fast the truck. Gives back the hours
/// of drivers that no item of the haul pays.
pub(super) fn trips<'a>(loads: i64, haul: &'a HaulRule, collect: &mut Collect<'_, 'a>) -> Option<Span> {
    let (layout, book) = (collect.layout, collect.book);
    let distance = layout.haul.and_then(|n| n.distance).or(haul.distance);
    let speed = layout.haul.and_then(|n| n.speed).or(haul.speed);
    let none = Span::from_seconds(0);
    let (loading, tipping) = (haul.loading.unwrap_or(none), haul.tipping.unwrap_or(none));
    let trucks = haul.trucks.map_or(1, |t| t.get());
    let driving = distance.zip(speed).and_then(|(d, s)| drive_seconds(d, s)).map(Span::from_seconds);
    let timed = driving.and_then(|d| Some((d, Trip::of(loads, trucks, loading, d, tipping)?)));
    let Some((driving, trip)) = timed else {
        collect.checks.extend(not_timed(loads, haul, layout, distance, speed));
        return None;
    };
    let minutes = |s: Span| Quantity::of_base(i128::from(s.seconds()), Unit::Min, 2);
    let hours = |s: Span| Quantity::of_base(i128::from(s.seconds()), Unit::Hr, 6);
    let (road, mean) = road_words(distance, speed, layout.show.0);
    let one = worded!(
        "{} loading + {} on the road (2 x {road} at {mean}) + {} tipping",
        minutes(loading),
        minutes(driving),
        minutes(tipping)
    );
    collect.quantity("haul_round_trip", minutes(trip.one), "earth.trip", one);
    let basis = worded!("{} of {}", counted(loads, "trip"), minutes(trip.one));
    let paid_by_the_hour = haul.truck_hour_item.as_ref().inspect(|item| {
        let unit = book.item(item).map_or(Unit::Hr, |i| i.unit);
        let day = book.doc().labor_rules.as_ref().map(|r| r.day);
        match in_unit_of(trip.all, unit, day) {
            Some((units, words)) => {
                collect.need(item, Need::Units(units), "earth.trip", format_args!("{basis}{words}"));
            }
            None => collect.checks.push(check(
                "item_can_be_bought",
                item.as_str(),
                Outcome::Fail,
                worded!("priced by `{unit}`, which the hours of the trucks cannot be reckoned in"),
            )),
        }
    });
    let by_load = haul.haul_item.as_ref();
    let driver = match paid_by_the_hour.or(by_load) {
        Some(item) => worded!("; truck and driver are paid in `{item}`"),
        None => {
            worded!("; no item pays truck and driver: the hours of `{}` must hold the driver", Task::Haul)
        }
    };
    collect.quantity("haul_truck_hours", hours(trip.all), "earth.trip", worded!("{basis}{driver}"));
    let shared = worded!(
        "{} shared among {}, {} each",
        counted(loads, "trip"),
        counted(trucks, "truck"),
        minutes(trip.one)
    );
    collect.quantity("haul_elapsed", hours(trip.elapsed), "earth.trip", shared);
    (paid_by_the_hour.or(by_load).is_none() && trip.all.seconds() > 0).then_some(trip.all)
}

/// Why the trips have no time, where someone counts on it: notes that say a part of it, or trucks paid by their time.
fn not_timed(
    loads: i64,
    haul: &HaulRule,
    layout: &Layout<'_>,
    distance: Option<Distance>,
    speed: Option<Speed>,
) -> Option<Check> {
    let asked = layout.haul.is_some_and(|n| n.distance.is_some() || n.speed.is_some());
    let unpaid = haul.truck_hour_item.as_ref().filter(|_| loads > 0);
    if !asked && unpaid.is_none() {
        return None;
    }
    let lacks = match (distance, speed) {
        (None, None) => {
            "neither the notes nor the price book say how far the tip is and how fast the truck drives"
        }
        (None, Some(_)) => "neither the notes nor the price book say how far the tip is",
        (Some(_), None) => "neither the notes nor the price book say how fast the truck drives",
        (Some(_), Some(_)) => "the trips take longer than can be reckoned",
    };
    let cost = unpaid.map_or_else(String::new, |item| {
        worded!(", and `{item}` charges nothing for {}", counted(loads, "load"))
    });
    Some(check("haul_trip", "earth", Outcome::Warn, worded!("{lacks}: the trips are not timed{cost}")))
}

/// A time in the unit an item is priced by, rounded up to a millionth, and how that came about; a day is a working day. `None`
/// where the unit is none of time, or nobody says how long a day is.
fn in_unit_of(time: Span, unit: Unit, day: Option<Span>) -> Option<(Decimal, String)> {
    let hours = Quantity::of_base(i128::from(time.seconds()), Unit::Hr, 6);
    let (seconds, words) = match unit {
        Unit::Hr => return Some((hours.value(), String::new())),
        Unit::Min => (60, worded!(" = {hours}")),
        Unit::Day => {
            let day = day.filter(|d| d.seconds() > 0)?;
            let long = Quantity::of_base(i128::from(day.seconds()), Unit::Hr, 6);
            (day.seconds(), worded!(" = {hours}, by working days of {long}"))
        }
        _ => return None,
    };
    let scaled = i128::from(time.seconds()) * 1_000_000;
    let units = scaled / i128::from(seconds) + i128::from(scaled % i128::from(seconds) > 0);
    Some((trimmed(units, 6)?, words))
}

/// Distance and speed in words.
fn road_words(distance: Option<Distance>, speed: Option<Speed>, system: UnitSystem) -> (Quantity, Quantity) {
    let (far, fast) = match system {
        UnitSystem::Us => (Unit::Mi, Unit::MiPerHr),
        UnitSystem::Metric => (Unit::Km, Unit::KmPerHr),
    };
    (
        Quantity::of_base(distance.map_or(0, |d| i128::from(d.nm())), far, 2),
        Quantity::of_base(speed.map_or(0, |s| i128::from(s.nm_per_h())), fast, 2),
    )
}
