//! Waste, cure, and the ways to get concrete.

use super::earth::density;
use super::{Looks, PRACTICE, Usual, YARD, hundredths, minutes, yards};
use crate::domain::book::label_yield;
use crate::units::quantity::{Mass, Quantity, Span, UnitSystem};
use crate::units::show::worded;
use crate::units::{Amount, Factor, Length, Percent, Temperature, Unit, Volume};
use crate::wire::At;
use crate::wire::book::concrete::{ConcreteRules, ConcreteWay};

const WASTE: Usual<Percent> = Usual {
    what: "the waste of concrete",
    least: Percent::whole(3),
    most: Percent::whole(30),
    source: "NAVEDTRA 14070 takes 10 % (read); the range about it is common practice",
};
const CURE: Usual<i64> = Usual {
    what: "the cure before wheels, in days,",
    least: 1,
    most: 28,
    source: "UFGS 03301A has 7 to 14 days (read); the range about them is common practice",
};
const CURE_FEET: Usual<i64> =
    Usual { what: "the cure before people, in days,", least: 0, most: 14, source: PRACTICE };
const TIME_LIMIT: Usual<Span> = Usual {
    what: "the time to place concrete",
    least: minutes(30),
    most: minutes(240),
    source: "90 minutes were fixed until ASTM C94-21 (read); the range about them is common practice",
};
const LIFT: Usual<Length> =
    Usual { what: "one lift", least: Length::inches(2, 1), most: Length::feet(3), source: PRACTICE };
const EVAPORATION: Usual<Factor> = Usual {
    what: "the limit of evaporation",
    least: hundredths(20),
    most: hundredths(200),
    source: "UFGS 03300N has 1 kg/m2 an hour (read); the range about it is common practice",
};
/// Densities of fresh concrete in kg/m³, light and heavy aggregate included.
const CONCRETE: (i64, i64) = (1360, 3050);

/// Concrete that is metered is sold by the tenth of a cubic foot, or by ten litres.
const STEP: Usual<Volume> = Usual {
    what: "the step of an order",
    least: Volume::from_nm3(YARD.nm3() / 500),
    most: yards(3),
    source: PRACTICE,
};
/// What counts as cold and as hot, in °C.
const COLD: (i64, i64) = (-5, 15);
const HOT: (i64, i64) = (20, 45);
const COLD_SOURCE: &str = "UFGS 03300N has 40 deg_f (read); the range about it is common practice";
const HOT_SOURCE: &str = "95 deg_f is from memory; the range about it is common practice";
const LEAST_ORDER: Usual<Volume> =
    Usual { what: "the least order", least: Volume::ZERO, most: yards(12), source: PRACTICE };
const TRUCK: Usual<Volume> =
    Usual { what: "what a truck brings", least: YARD, most: yards(18), source: PRACTICE };
const TRAILER: Usual<Volume> = Usual {
    what: "what a trip brings",
    least: Volume::from_nm3(YARD.nm3() / 10),
    most: yards(14),
    source: PRACTICE,
};
const PLACING: Usual<Span> =
    Usual { what: "placing one unit", least: minutes(1), most: minutes(90), source: PRACTICE };
const WAIT: Usual<Span> =
    Usual { what: "time at the plant or the site", least: minutes(0), most: minutes(240), source: PRACTICE };
const TRIP: Usual<Span> =
    Usual { what: "a trip with the trailer", least: minutes(0), most: minutes(600), source: PRACTICE };
const MIXING: Usual<Span> =
    Usual { what: "mixing a bag", least: Span::from_seconds(30), most: minutes(30), source: PRACTICE };

/// Where the yield of a label comes from.
const LABEL: &str = "label values are 0.15 ft3 for each 20 lb (ASTM C387, from memory); the range about them is common practice";

pub(super) fn look(looks: &mut Looks<'_>) {
    let book = looks.book;
    let root = At::ROOT;
    if let Some(rules) = &book.concrete_rules {
        rule(looks, rules, &root.member("concrete_rules"));
    }
    let list = root.member("concrete_ways");
    for (i, way) in book.concrete_ways.iter().enumerate() {
        one_way(looks, way, &list.element(i));
    }
}

fn rule(looks: &mut Looks<'_>, rules: &ConcreteRules, at: &At<'_>) {
    looks.figure(&at.member("waste_pct"), rules.waste_pct, &WASTE);
    looks.figure(&at.member("cure_days_wheels"), rules.cure_days_wheels.get(), &CURE);
    looks.figure(&at.member("cure_days_feet"), rules.cure_days_feet.get(), &CURE_FEET);
    looks.figure(&at.member("time_limit"), rules.time_limit, &TIME_LIMIT);
    looks.given(&at.member("one_lift"), rules.one_lift, &LIFT);
    looks.given(&at.member("evaporation_limit"), rules.evaporation_limit, &EVAPORATION);
    density(looks, &at.member("weight_per_ft3"), rules.weight_per_ft3, CONCRETE);
    warmth(
        looks,
        &at.member("cold_below"),
        rules.cold_below,
        ("cold weather begins below", COLD, COLD_SOURCE),
    );
    warmth(looks, &at.member("hot_above"), rules.hot_above, ("concrete is hot above", HOT, HOT_SOURCE));
}

/// A temperature beyond two in °C; those of the other scale are what is typed.
fn warmth(
    looks: &mut Looks<'_>,
    at: &At<'_>,
    given: Option<Temperature>,
    (what, (least, most), source): (&str, (i64, i64), &'static str),
) {
    let Some(given) = given.filter(|t| !(least as f64..=most as f64).contains(&t.celsius())) else { return };
    let system = looks.book.unit_system;
    let shown = |t: Temperature| t.shown(system).to_string();
    let end = |celsius| shown(Temperature::whole_celsius(celsius));
    let usual = worded!("{} to {}", end(least), end(most));
    let value = given.written().to_string();
    let here = shown(given);
    let that_is = if here == value { String::new() } else { worded!(", which is {here}") };
    let detail = worded!("{what} {value} here{that_is}, usually {usual} ({source})");
    looks.note(at, detail, value, usual, source);
}

fn one_way(looks: &mut Looks<'_>, way: &ConcreteWay, at: &At<'_>) {
    match way {
        ConcreteWay::ReadyMix {
            increment,
            least_order,
            truck_capacity,
            free_unloading,
            unloading_per_unit,
            batching,
            travel,
            ..
        } => {
            looks.figure(&at.member("increment"), *increment, &STEP);
            looks.figure(&at.member("least_order"), *least_order, &LEAST_ORDER);
            looks.figure(&at.member("truck_capacity"), *truck_capacity, &TRUCK);
            looks.given(&at.member("unloading_per_unit"), *unloading_per_unit, &PLACING);
            for (name, time) in
                [("free_unloading", free_unloading), ("batching", batching), ("travel", travel)]
            {
                looks.given(&at.member(name), *time, &WAIT);
            }
        }
        ConcreteWay::Bags { bag_weight, bag_yield, mixing_per_bag, .. } => {
            yields(looks, *bag_weight, *bag_yield, &at.member("bag_yield"));
            looks.figure(&at.member("mixing_per_bag"), *mixing_per_bag, &MIXING);
        }
        ConcreteWay::Trailer { increment, capacity, hire_per_trip, trip_time, .. } => {
            looks.figure(&at.member("increment"), *increment, &STEP);
            looks.figure(&at.member("capacity"), *capacity, &TRAILER);
            looks.figure(&at.member("trip_time"), *trip_time, &TRIP);
            free(looks, *hire_per_trip, &at.member("hire_per_trip"));
        }
    }
}

/// A trailer may be lent for nothing; more often its hire was forgotten.
fn free(looks: &mut Looks<'_>, hire: Amount, at: &At<'_>) {
    if hire == Amount::ZERO {
        let detail = "the trailer costs no hire; right where it is lent with the concrete".to_owned();
        looks.note(at, detail, hire.to_string(), "more than nothing".to_owned(), PRACTICE);
    }
}

/// A bag that yields less than three quarters of its label, or more than a quarter beyond it.
fn yields(looks: &mut Looks<'_>, weight: Mass, bag_yield: Volume, at: &At<'_>) {
    let label = label_yield(weight);
    let (least, most) = (label.nm3() * 3 / 4, label.nm3() * 5 / 4);
    if (least..=most).contains(&bag_yield.nm3()) {
        return;
    }
    let unit = if looks.book.unit_system == UnitSystem::Us { Unit::Ft3 } else { Unit::L };
    let shown = |nm3: i128| Quantity::of_base(nm3, unit, 3);
    let value = shown(bag_yield.nm3()).to_string();
    let usual = worded!("{} to {}", shown(least), shown(most));
    let detail = worded!(
        "a bag of this weight yields {value} here, {} by its label, usually {usual} ({LABEL})",
        shown(label.nm3())
    );
    looks.note(at, detail, value, usual, LABEL);
}
