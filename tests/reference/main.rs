//! The computation against published cases. Each case carries its source and whether it was read, computed or from memory.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs, reason = "tests")]

mod construction;

use rillcast::compute::concrete::increments;
use rillcast::compute::hire::cheapest;
use rillcast::compute::pricing::added;
use rillcast::compute::takeoff::earth::{by_volume_and_weight, weigh};
use rillcast::compute::takeoff::line::least_width;
use rillcast::compute::takeoff::profile::{area_to, prismoid};
use rillcast::domain::book::PriceBook;
use rillcast::units::money::{share_out, tax_rounding};
use rillcast::units::quantity::Mass;
use rillcast::units::{Amount, Factor, Length, Percent, Volume};
use rillcast::wire::book::pricing::RateKind;
use serde_json::Value;

fn cases(file: &str) -> Vec<Value> {
    let list: Vec<Value> =
        serde_json::from_str(&std::fs::read_to_string(format!("tests/reference/cases/{file}.json")).unwrap())
            .unwrap();
    for case in &list {
        for member in ["source", "source_basis"] {
            assert!(case[member].as_str().is_some_and(|t| !t.is_empty()), "{} has no {member}", case["id"]);
        }
    }
    list
}

fn case(list: &[Value], id: &str) -> Value {
    list.iter().find(|c| c["id"] == id).unwrap_or_else(|| panic!("no case {id}")).clone()
}

fn f(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("{value} is no number"))
}

fn feet(value: f64) -> Length {
    Length::from_nm((value * 304_800_000.0).round() as i64)
}

fn cubic_feet(value: f64) -> Volume {
    Volume::from_nm3((value * 1e6).round() as i128 * 28_316_846_592_000_000_000_000_000 / 1_000_000)
}

fn in_cubic_feet(volume: Volume) -> f64 {
    volume.nm3() as f64 / 28_316_846_592_000_000_000_000_000.0
}

#[track_caller]
fn near(got: f64, want: f64, tolerance: f64) {
    assert!((got - want).abs() <= tolerance * want.abs().max(1e-12), "{got} instead of {want}");
}

fn book() -> PriceBook {
    PriceBook::check(rillcast::wire::read_document(rillcast::domain::demo::BOOK.as_bytes()).unwrap()).unwrap()
}

#[test]
fn concrete_orders() {
    let list = cases("orders");
    let yard = cubic_feet(27.0);
    // NAVEDTRA 14070: parts add up to 527.40 ft³; with 10 % an order of 21.50, 21.50 or 22 yd³.
    let net = cubic_feet(f(&case(&list, "con-ea-volume")["expected"]["total_cf"]));
    let round = case(&list, "con-order-round");
    for (step, want) in round["inputs"]["increments_cy"]
        .as_array()
        .unwrap()
        .iter()
        .zip(round["expected"]["order_cy"].as_array().unwrap())
    {
        let increment = Volume::from_nm3((f(step) * 4.0) as i128 * yard.nm3() / 4);
        near(increments(net, Percent::whole(10), increment).unwrap() as f64 * f(step), f(want), 1e-9);
    }
    let quarter = Volume::from_nm3(yard.nm3() / 4);
    let trap = case(&list, "con-order-float-trap");
    let net = Length::feet(25) * Length::inches(36, 1) * Length::inches(9, 1);
    let order = increments(net, Percent::whole(8), quarter).unwrap() as f64 / 4.0;
    near(order, f(&trap["expected"]["order_cy"]), 1e-12);
    let exact =
        increments(Volume::from_nm3(quarter.nm3() * 21), Percent::ZERO, quarter).unwrap() as f64 / 4.0;
    near(exact, f(&case(&list, "con-order-exact-multiple")["expected"]["order_cy"]), 1e-12);
    let bags = case(&list, "con-bags-count");
    for (yield_name, bags_name) in [("yield_60lb_cf", "bags_60lb"), ("yield_80lb_cf", "bags_80lb")] {
        let each = cubic_feet(f(&bags["inputs"][yield_name]));
        let count = increments(cubic_feet(f(&bags["inputs"]["need_cf"])), Percent::ZERO, each).unwrap();
        assert_eq!(count, bags["expected"][bags_name].as_i64().unwrap());
    }
    for size in ["40lb", "50lb", "60lb", "80lb", "90lb"] {
        let bag = case(&list, &format!("con-bag-{size}"));
        let count = increments(yard, Percent::ZERO, cubic_feet(f(&bag["expected"]["yield_cf"]))).unwrap();
        near(count as f64, f(&bag["expected"]["bags_per_cy"]), 1e-9);
    }
    near(
        weigh(yard, Mass::pounds(150)).base() as f64 / 45_359_237.0,
        f(&case(&list, "con-weight")["expected"]["lb"]),
        1e-9,
    );
}

#[test]
fn earth_and_trenches() {
    let list = cases("earth");
    let book = book();
    for (id, soil) in [
        ("ew-conv-sand_gravel", rillcast::domain::words::Soil::SandGravel),
        ("ew-conv-common_earth_loam", rillcast::domain::words::Soil::CommonEarth),
        ("ew-conv-clay", rillcast::domain::words::Soil::Clay),
        ("ew-conv-rock_blasted", rillcast::domain::words::Soil::Rock),
    ] {
        let expected = &case(&list, id)["expected"];
        let facts = book.soil(soil).unwrap();
        near(in_cubic_feet(facts.bank_to_loose.of(cubic_feet(100.0))), f(&expected["loose_cy"]), 1e-6);
        near(
            in_cubic_feet(facts.bank_to_compacted.of(cubic_feet(100.0))),
            f(&expected["compacted_cy"]),
            1e-6,
        );
    }
    let haul = case(&list, "ew-haul-ex9-2");
    let loads = by_volume_and_weight(
        cubic_feet(27.0 * f(&haul["expected"]["loose_cy"])),
        Mass::pounds(0),
        cubic_feet(27.0 * f(&haul["inputs"]["truck_lcy"])),
        Mass::pounds(1),
    );
    assert_eq!(loads.0, haul["expected"]["loads"].as_i64().unwrap());
    for case in list.iter().filter(|c| c["id"].as_str().unwrap().starts_with("ew-waring")) {
        let i = &case["inputs"];
        let depth = feet(f(&i["depth_ft"]));
        let v = prismoid(feet(f(&i["length_ft"])), depth, depth, feet(f(&i["width_in"]) / 12.0), 0);
        near(in_cubic_feet(v), f(&case["expected"]["cf"]), 1e-9);
    }
    for id in ["ew-trench-vertical", "ew-trench-correction"] {
        let case = case(&list, id);
        let i = &case["inputs"];
        let name = |a: &str, b: &str| if i[a].is_null() { f(&i[b]) } else { f(&i[a]) };
        let v = prismoid(
            feet(f(&i["length_ft"])),
            feet(f(&i["depth1_ft"])),
            feet(f(&i["depth2_ft"])),
            feet(name("width_ft", "bottom_width_ft")),
            (i["side_slope_h_per_v"].as_f64().unwrap_or(0.0) * 1e6) as i64,
        );
        let expected = &case["expected"];
        near(
            in_cubic_feet(v),
            f(if expected["cf"].is_null() { &expected["prismoidal_cf"] } else { &expected["cf"] }),
            1e-9,
        );
    }
    let sloped = case(&list, "ew-trench-sloped-typeC");
    let area = area_to(Length::feet(6), Length::feet(2), 1_500_000);
    near(area.nm2() as f64 / 304_800_000.0_f64.powi(2), f(&sloped["expected"]["area_sf"]), 1e-9);
    for case in list.iter().filter(|c| c["id"].as_str().unwrap().starts_with("pipe-trench")) {
        let inch = |n| Length::inches(n, 1);
        let od = feet(f(&case["inputs"]["od_in"]) / 12.0);
        let width = least_width(od, inch(16), Factor::from_millionths(1_250_000), inch(12));
        near(width.nm() as f64 / 25_400_000.0, f(&case["expected"]["width_in"]), 1e-7);
    }
    for (id, per) in [("rem-slab", 150), ("rem-asphalt", 145)] {
        let case = case(&list, id);
        let pounds =
            weigh(cubic_feet(f(&case["expected"]["cf"])), Mass::pounds(per)).base() as f64 / 45_359_237.0;
        near(pounds, f(&case["expected"]["lb"]), 1e-9);
    }
}

#[test]
fn money() {
    let list = cases("money");
    for case in &list {
        let id = case["id"].as_str().unwrap();
        let (i, e) = (&case["inputs"], &case["expected"]);
        if id.starts_with("pr-margin-") {
            let cost = Amount::from_minor((f(&i["cost"]) * 100.0) as i64);
            let price = cost
                + added(cost, Percent::from_millionths((f(&i["margin"]) * 1e6) as i64), RateKind::Margin);
            near(price.minor() as f64 / 100.0, f(&e["price"]), 1e-5);
        } else if let Some(raw) = i["raw_tax"].as_str() {
            assert_eq!(tax_rounding(raw.parse().unwrap()).to_string(), e["tax"].as_str().unwrap(), "{id}");
        } else if id.starts_with("pr-rent-") {
            let minor = |n: &str| Amount::from_minor(i[n].as_i64().unwrap() * 100);
            let days = i["days"].as_i64().unwrap();
            let mix = cheapest(days * 2, None, minor("day"), Some(minor("week")), Some(minor("month28")));
            assert_eq!(mix.cost.minor(), e["charge"].as_i64().unwrap() * 100, "{id}");
        }
    }
    let seven: Vec<i64> = share_out(Amount::from_minor(7), &[50, 30, 20]).iter().map(|a| a.minor()).collect();
    assert_eq!(serde_json::json!(seven), case(&list, "pr-lr-7")["expected"]["alloc"]);
    let cents: Vec<i64> =
        share_out(Amount::from_minor(10_000), &[1, 1, 1]).iter().map(|a| a.minor()).collect();
    assert_eq!(serde_json::json!(cents), case(&list, "pr-lr-cents-3")["expected"]["alloc_cents"]);
}

#[test]
fn hand_rates_lie_within_the_published_bands() {
    let list = cases("labor");
    let published: Vec<f64> = list
        .iter()
        .filter(|c| c["id"].as_str().unwrap().starts_with("lab-handdig"))
        .map(|c| f(&c["expected"]["mh_per_cy"]))
        .collect();
    let (least, most) =
        (published.iter().copied().fold(9.0, f64::min), published.iter().copied().fold(0.0, f64::max));
    let book = book();
    let rate = book.labor(rillcast::domain::words::Task::DigRun, None).unwrap();
    assert_eq!(rate.method.as_str(), "hand");
    for unit_rate in &rate.rates {
        let hours = unit_rate.hours.millionths() as f64 / 1e6;
        assert!((least - 0.01..=most).contains(&hours), "{hours} outside {least} to {most}");
    }
}

/// Surround, recess and gap of the demo book: common practice, no source.
#[test]
fn common_practice_surround() {
    let book = book();
    let detail = |crossing| book.detail_for(crossing).unwrap();
    let wheels = detail(rillcast::domain::words::Crossing::Wheels);
    let feet = detail(rillcast::domain::words::Crossing::Feet);
    let inch = |n, d| Length::inches(n, d);
    assert_eq!(
        (wheels.side, wheels.base, wheels.end, wheels.recess),
        (inch(4, 1), inch(4, 1), inch(4, 1), inch(1, 8))
    );
    assert_eq!(
        (feet.side, feet.base, feet.end, feet.recess),
        (inch(4, 1), Length::ZERO, inch(4, 1), Length::ZERO)
    );
    assert_eq!(wheels.hot_grate_gap, Some(inch(1, 8)));
}
