//! Each look where it is told, with one change to the demo book; the demo book itself has none.

#![expect(clippy::unwrap_used, reason = "a test that cannot read the demo must stop")]

mod before;
mod hours;
mod limits;
mod metric;
mod place;
mod slips;
mod taxes;

use super::{Beside, of};
use crate::domain::demo::BOOK;
use jiff::civil::date;
use serde_json::{Value, json};

type Change = fn(&mut Value);

/// The looks at the demo book with one change, as pointer and detail.
fn looks(change: impl Fn(&mut Value)) -> Vec<(String, String)> {
    let mut book: Value = serde_json::from_str(BOOK).unwrap();
    change(&mut book);
    let beside = Beside { day: date(2026, 3, 2), before: None };
    let found = of(&crate::wire::read_value(&book).unwrap(), beside);
    found.into_iter().map(|l| (l.pointer, l.detail)).collect()
}

/// Each change is told once, at the pointer, with the words.
fn told(cases: &[(Change, &str, &str)]) {
    let mut wrong = Vec::new();
    for (change, pointer, words) in cases {
        let found = looks(change);
        let [(at, detail)] = found.as_slice() else {
            wrong.push(format!("{pointer}: {found:?}"));
            continue;
        };
        if at != pointer || !detail.contains(words) {
            wrong.push(format!("{pointer}: {words}: {found:?}"));
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

/// None of the changes is worth a look.
fn silent(cases: &[Change]) {
    for change in cases {
        assert_eq!(looks(change), []);
    }
}

/// The items with a code.
fn item<'v>(book: &'v mut Value, code: &str) -> &'v mut Value {
    book["items"].as_array_mut().unwrap().iter_mut().find(|i| i["code"] == code).unwrap()
}

#[test]
fn the_demo_book_has_nothing_to_look_at() {
    assert_eq!(looks(|_| ()), []);
}

/// Money in another currency, figures in the other system: only what lies beside each other is compared.
#[test]
fn neither_has_a_book_in_pesos_and_metres() {
    fn dearer(value: &mut Value) {
        const MONEY: &[&str] = &[
            "price",
            "wage",
            "half_day",
            "day",
            "week",
            "four_weeks",
            "transport",
            "resale",
            "upkeep_per_day",
            "delivery",
            "free_delivery_from",
            "charge",
            "delivery_per_load",
            "waiting_per_hour",
            "hire_per_trip",
            "least_charge",
            "round_to",
        ];
        match value {
            Value::Array(list) => list.iter_mut().for_each(dearer),
            Value::Object(members) => {
                for (name, member) in members {
                    let sum = member.as_str().filter(|_| MONEY.contains(&name.as_str()));
                    match sum.and_then(|t| t.parse::<rust_decimal::Decimal>().ok()) {
                        Some(sum) => *member = json!((sum * rust_decimal::Decimal::from(18)).to_string()),
                        None => dearer(member),
                    }
                }
            }
            _ => {}
        }
    }
    let found = looks(|b| {
        dearer(b);
        b["currency"] = json!("MXN");
        b["unit_system"] = json!("metric");
    });
    assert_eq!(found, []);
    // as the offices of other countries write them
    let found = looks(|b| {
        b["unit_system"] = json!("metric");
        b["concrete_ways"][1]["bag_weight"] = json!("25 kg");
        b["concrete_ways"][1]["bag_yield"] = json!("12 l");
        b["haul"]["truck_volume"] = json!("5 m3");
        b["haul"]["truck_payload"] = json!("9 t");
        b["taxes"][0]["rate_pct"] = json!("27");
        b["concrete_rules"]["weight_per_ft3"] = json!("2400 kg/m3");
        b["hangers"]["spacing"] = json!("1.2 m");
        b["channel_systems"][0]["kerf"] = json!("3 mm");
        b["labor_rules"]["day"] = json!("7.5 hr");
    });
    assert_eq!(found, []);
}

#[test]
fn percentages_written_as_fractions_are_told() {
    let fraction = "is written \"";
    told(&[
        (|b| b["concrete_rules"]["waste_pct"] = json!("0.1"), "#/concrete_rules/waste_pct", fraction),
        (|b| b["trades"][1]["burden_pct"] = json!("0.38"), "#/trades/1/burden_pct", "38 % is written \"38\""),
        (
            |b| b["markup_schemes"][0]["overhead"]["pct"] = json!("0.12"),
            "#/markup_schemes/0/overhead/pct",
            fraction,
        ),
        (
            |b| b["markup_schemes"][0]["contingency"]["pct"] = json!("0.05"),
            "#/markup_schemes/0/contingency/pct",
            fraction,
        ),
        (
            |b| b["markup_schemes"][1]["profit"]["pct"] = json!("0.15"),
            "#/markup_schemes/1/profit/pct",
            fraction,
        ),
        (
            |b| {
                b["markup_schemes"][0]["by_category"] =
                    json!([{"category": "hire", "profit": {"pct": "0.2", "as_kind": "markup"}}])
            },
            "#/markup_schemes/0/by_category/0/profit/pct",
            fraction,
        ),
        (|b| b["taxes"][0]["rate_pct"] = json!("0.0625"), "#/taxes/0/rate_pct", "6.25 % is written \"6.25\""),
        (|b| b["plan_rules"]["spread"]["task_pct"] = json!("0.2"), "#/plan_rules/spread/task_pct", fraction),
        (|b| b["plan_rules"]["job_spread_pct"] = json!("0.15"), "#/plan_rules/job_spread_pct", fraction),
        (|b| b["water_rules"] = json!({"clogged_pct": "0.5"}), "#/water_rules/clogged_pct", fraction),
        (|b| b["line_rules"]["usual_fall_pct"] = json!("0.01"), "#/line_rules/usual_fall_pct", fraction),
    ]);
    // nothing is a word of its own: burden within the wage, a price without overhead
    silent(&[
        |b| b["trades"][1]["burden_pct"] = json!("0"),
        |b| b["markup_schemes"][0]["overhead"]["pct"] = json!("0"),
        |b| b["taxes"][0]["rate_pct"] = json!("0.5"),
        |b| b["concrete_rules"]["waste_pct"] = json!("5"),
    ]);
}

#[test]
fn figures_of_earth_and_lines_beyond_the_usual_are_told() {
    told(&[
        (|b| b["soils"][2]["bank_to_loose"] = json!("143"), "#/soils/2/bank_to_loose", "FM 5-434"),
        (|b| b["soils"][1]["bank_to_loose"] = json!("5"), "#/soils/1/bank_to_loose", "1.05 to 1.5"),
        (|b| b["soils"][0]["bank_to_compacted"] = json!("0.095"), "#/soils/0/bank_to_compacted", "FM 5-434"),
        (|b| b["soils"][0]["weight_per_ft3"] = json!("240 lb"), "#/soils/0/weight_per_ft3", "lb_per_ft3"),
        (|b| b["surfaces"][1]["bulking"] = json!("15"), "#/surfaces/1/bulking", "1 to 2"),
        (|b| b["haul"]["truck_payload"] = json!("14 lb"), "#/haul/truck_payload", "14 lb"),
        (|b| b["haul"]["truck_volume"] = json!("6 ft3"), "#/haul/truck_volume", "yd3"),
        (|b| b["haul"]["speed"] = json!("200 mi_per_hr"), "#/haul/speed", "mi_per_hr"),
        (
            |b| b["line_rules"]["fill_loose_to_compacted"] = json!("115"),
            "#/line_rules/fill_loose_to_compacted",
            "115",
        ),
        (|b| b["line_rules"]["width_times"] = json!("125"), "#/line_rules/width_times", "ASTM D2321"),
        (|b| b["line_rules"]["width_plus"] = json!("16 ft"), "#/line_rules/width_plus", "16 ft"),
        (|b| b["line_rules"]["bedding"] = json!("4 ft"), "#/line_rules/bedding", "up to 2 ft"),
        (|b| b["line_rules"]["least_cover"] = json!("12 ft"), "#/line_rules/least_cover", "12 ft"),
        (
            |b| b["line_rules"]["least_falls"][1]["least_pct"] = json!("20"),
            "#/line_rules/least_falls/1/least_pct",
            "20 %",
        ),
        (|b| b["over_cut"] = json!("2 yd"), "#/over_cut", "6 ft"),
    ]);
}

#[test]
fn figures_of_concrete_beyond_the_usual_are_told() {
    told(&[
        (|b| b["concrete_rules"]["waste_pct"] = json!("200"), "#/concrete_rules/waste_pct", "3 % to 30 %"),
        (|b| b["concrete_rules"]["cure_days_wheels"] = json!(0), "#/concrete_rules/cure_days_wheels", "UFGS"),
        (|b| b["concrete_rules"]["time_limit"] = json!("90 hr"), "#/concrete_rules/time_limit", "90 hr"),
        (
            |b| b["concrete_rules"]["weight_per_ft3"] = json!("60 lb"),
            "#/concrete_rules/weight_per_ft3",
            "lb_per_ft3",
        ),
        (
            |b| b["concrete_ways"][1]["bag_yield"] = json!("0.045 ft3"),
            "#/concrete_ways/1/bag_yield",
            "0.45 ft3",
        ),
        (
            |b| b["concrete_ways"][1]["bag_yield"] = json!("0.60 ft3"),
            "#/concrete_ways/1/bag_yield",
            "0.45 ft3",
        ),
        (
            |b| b["concrete_ways"][2]["mixing_per_bag"] = json!("3.6 hr"),
            "#/concrete_ways/2/mixing_per_bag",
            "3.6 hr",
        ),
        (
            |b| b["concrete_ways"][0]["truck_capacity"] = json!("100 yd3"),
            "#/concrete_ways/0/truck_capacity",
            "100 yd3",
        ),
        (
            |b| b["concrete_ways"][0]["unloading_per_unit"] = json!("10 hr"),
            "#/concrete_ways/0/unloading_per_unit",
            "10 hr",
        ),
        (
            |b| b["concrete_ways"][3]["hire_per_trip"] = json!("0.00"),
            "#/concrete_ways/3/hire_per_trip",
            "lent with the concrete",
        ),
        // a cubic foot at the price of a cubic yard
        (|b| item(b, "ready-mix-4000")["unit"] = json!("ft3"), "#/items/52/price", "concrete"),
    ]);
    silent(&[
        |b| b["concrete_ways"][2]["bag_yield"] = json!("0.66 ft3"),
        |b| b["concrete_ways"][3]["capacity"] = json!("9 yd3"),
    ]);
}

#[test]
fn figures_of_labor_beyond_the_usual_are_told() {
    told(&[
        (|b| b["trades"][3]["wage"] = json!("2475"), "#/trades/3/wage", "other trades"),
        (|b| b["trades"][3]["wage"] = json!("0"), "#/trades/3/wage", "costs nothing"),
        (|b| b["labor_rules"]["depth"][1]["factor"] = json!("1.1"), "#/labor_rules/depth/1/factor", "1.15"),
        (
            |b| b["labor_rules"]["difficulty"][2]["factor"] = json!("0.8"),
            "#/labor_rules/difficulty/2/factor",
            "`normal`",
        ),
        (
            |b| b["labor_rules"]["difficulty"][0]["factor"] = json!("0.09"),
            "#/labor_rules/difficulty/0/factor",
            "0.09",
        ),
        (
            |b| b["labor_rules"]["weather"][1]["factor"] = json!("120"),
            "#/labor_rules/weather/1/factor",
            "120",
        ),
        (|b| b["labor_rules"]["day"] = json!("20 hr"), "#/labor_rules/day", "20 hr"),
        (
            |b| b["labor_rules"]["overtime"]["multiplier"] = json!("1.05"),
            "#/labor_rules/overtime/multiplier",
            "1.05",
        ),
    ]);
}

#[test]
fn slab_and_asphalt_are_compared_with_their_own() {
    told(&[
        (
            |b| b["labor"][4]["rates"][0]["hours"] = json!("1.6"),
            "#/labor/4/rates/0/hours",
            "2.41 to 4.5 h/yd3",
        ),
        (|b| b["labor"][4]["rates"][1]["hours"] = json!("0.2"), "#/labor/4/rates/1/hours", "asphalt"),
        (
            |b| b["labor"][6]["rates"][0]["hours"] = json!("0.05"),
            "#/labor/6/rates/0/hours",
            "1.16 to 4.16 h/yd3",
        ),
    ]);
    silent(&[
        |b| b["labor"][4]["rates"][0]["hours"] = json!("4.4"),
        |b| b["labor"][4]["rates"][1]["hours"] = json!("1.2"),
    ]);
}

#[test]
fn sums_beyond_the_usual_are_told() {
    told(&[
        (
            |b| b["markup_schemes"][0]["profit"]["pct"] = json!("99.9"),
            "#/markup_schemes/0/profit/pct",
            "on the price",
        ),
        (|b| b["markup_schemes"][0]["round_to"] = json!("500000"), "#/markup_schemes/0/round_to", "wage"),
        (
            |b| b["markup_schemes"][0]["least_charge"] = json!("1800000"),
            "#/markup_schemes/0/least_charge",
            "wage",
        ),
        (|b| b["equipment"][4]["week"] = json!("169.00"), "#/equipment/4/week", "195.00"),
        (|b| b["equipment"][0]["four_weeks"] = json!("470.00"), "#/equipment/0/four_weeks", "480.00"),
        (|b| b["equipment"][4]["week"] = json!("6900.00"), "#/equipment/4/week", "1365.00"),
        (|b| b["equipment"][5]["half_day"] = json!("520.00"), "#/equipment/5/day", "520.00"),
    ]);
}

#[test]
fn prices_far_from_their_like_are_told() {
    told(&[
        // not offered by anybody else, and its offers take the price from it
        (|b| item(b, "channel-4-light-4ft")["price"] = json!("27400"), "#/items/0/price", "channel"),
        (|b| item(b, "saw-blade")["price"] = json!("0"), "#/items/61/price", "in stock"),
        (|b| b["offers"][3]["price"] = json!("397"), "#/offers/3/price", "3.85"),
        (|b| b["offers"][3]["price"] = json!("0.0397"), "#/offers/3/price", "3.85"),
        (|b| b["offers"][2]["breaks"][0]["price"] = json!("0.0362"), "#/offers/2/breaks/0/price", "3.85"),
        (|b| b["offers"][0]["least_packs"] = json!(1000), "#/offers/0/least_packs", "27400.00"),
    ]);
    // a thousand screws are no great order
    silent(&[|b| b["offers"][40]["least_packs"] = json!(100)]);
}

#[test]
fn settings_beyond_the_usual_are_told() {
    told(&[
        (
            |b| b["setting_details"][0]["hot_grate_gap"] = json!("1 in"),
            "#/setting_details/0/hot_grate_gap",
            "1/2 in",
        ),
        (|b| b["setting_details"][1]["side"] = json!("4 ft"), "#/setting_details/1/side", "4 ft"),
        (|b| b["setting_details"][1]["recess"] = json!("4 in"), "#/setting_details/1/recess", "4 in"),
        (|b| b["hangers"]["spacing"] = json!("40 ft"), "#/hangers/spacing", "40 ft"),
        (|b| b["hangers"]["holds"] = json!("25 lb"), "#/hangers/holds", "25 lb"),
        (|b| b["channel_systems"][0]["kerf"] = json!("3 ft"), "#/channel_systems/0/kerf", "3 ft"),
        (|b| b["cutting"]["kerf"] = json!("11 ft"), "#/cutting/kerf", "11 ft"),
        (
            |b| b["channel_systems"][0]["least_piece"] = json!("6 ft"),
            "#/channel_systems/0/least_piece",
            "half",
        ),
        (|b| b["forms"]["board_width"] = json!("7 1/4 ft"), "#/forms/board_width", "7 ft 3 in"),
        (
            |b| b["channel_systems"][0]["screw"] = json!("channel-4-light-4ft"),
            "#/channel_systems/0/screw",
            "`#/channel_systems/0/stock/1/item`",
        ),
        (
            |b| b["pipes"][0]["bends"][1]["item"] = json!("pipe-4-sewer-10ft"),
            "#/pipes/0/bends/1/item",
            "`#/pipes/0/item`",
        ),
        (
            |b| {
                let item = b["pipes"][0]["item"].clone();
                b["pipes"][0]["reducing_branches"] = json!([{"pipe": b["pipes"][0]["code"], "item": item}]);
            },
            "#/pipes/0/reducing_branches/0/item",
            "`#/pipes/0/item`",
        ),
    ]);
    // bars driven as stakes hold channel too
    silent(&[|b| b["hangers"]["item"] = json!("bar-4-20ft")]);
    let metric = looks(|b| {
        b["unit_system"] = json!("metric");
        b["channel_systems"][0]["kerf"] = json!("90 mm");
    });
    assert!(metric.len() == 1 && metric[0].1.contains("up to 13 mm"), "{metric:?}");
}

#[test]
fn of_many_looks_a_hundred_are_listed() {
    let found = looks(|b| {
        for offer in b["offers"].as_array_mut().unwrap() {
            offer["price"] = json!("9999");
        }
    });
    let (rest, listed) = found.split_last().unwrap();
    assert_eq!((listed.len(), rest.0.as_str()), (100, "#"));
    assert!(rest.1.contains("more are not listed"), "{rest:?}");
}
