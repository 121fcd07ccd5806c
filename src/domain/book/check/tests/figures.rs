//! Figures that would be reckoned with wrongly: each is told where it stands, with what was sent and a rule.

use super::{faults_with, with};
use serde_json::{Value, json};

type Change = fn(&mut Value);

/// The one fault of each change: where, which, what was sent, words of its rule.
fn told(cases: &[(Change, &str, &str, &str, &str)]) {
    for (change, pointer, code, value, words) in cases {
        let faults = faults_with(change);
        let [fault] = faults.list() else { panic!("{pointer}: {faults}") };
        assert_eq!((fault.pointer.as_str(), fault.code), (*pointer, *code), "{fault:?}");
        assert_eq!(fault.value.as_deref().unwrap_or_default(), *value, "{fault:?}");
        assert!(fault.detail.contains(words), "{words}: {fault:?}");
    }
}

#[test]
fn what_a_label_says_follows_every_part_of_a_pound() {
    // twice 0.08175 ft3 by its label
    let bag = |weight: &str, bag_yield: &str| {
        with(|b| {
            let way = &mut b["concrete_ways"][1];
            (way["bag_weight"], way["bag_yield"]) = (json!(weight), json!(bag_yield));
        })
    };
    assert_eq!(bag("10.9 lb", "0.1634 ft3"), []);
    assert_eq!(bag("10.9 lb", "0.1636 ft3"), [("#/concrete_ways/1/bag_yield".to_owned(), "implausible")]);
}

#[test]
fn what_a_bag_yields_is_told_in_the_units_of_the_office() {
    let told = |system: &str, weight: &str| {
        let faults = faults_with(|b| {
            b["unit_system"] = json!(system);
            let way = &mut b["concrete_ways"][1];
            (way["bag_weight"], way["bag_yield"]) = (json!(weight), json!("12.5 m3"));
        });
        let [fault] = faults.list() else { panic!("{faults}") };
        fault.detail.clone()
    };
    // 25 kg x 0.4682 l
    let metric = "a bag of 25 kg yields about 11.7 l (0.47 l for each kg), and at most twice that";
    assert_eq!(told("metric", "25 kg"), metric);
    let us = "a bag of 60 lb yields about 0.45 ft3 (0.15 ft3 for each 20 lb), and at most twice that";
    assert_eq!(told("us", "60 lb"), us);
}

#[test]
fn a_board_is_an_inch_wide_in_either_system() {
    let wide = |width: &str| with(|b| b["forms"]["board_width"] = json!(width));
    assert_eq!(wide("25 mm"), []);
    assert_eq!(wide("1 in"), []);
    assert_eq!(wide("24.9 mm"), [("#/forms/board_width".to_owned(), "out_of_range")]);
}

#[test]
fn hire_and_pallets_cost_something() {
    let rule = "costs more than nothing";
    told(&[
        (
            |b| b["equipment"][0]["half_day"] = json!("0.00"),
            "#/equipment/0/half_day",
            "out_of_range",
            "0.00",
            rule,
        ),
        (|b| b["equipment"][2]["day"] = json!("0"), "#/equipment/2/day", "out_of_range", "0.00", rule),
        (|b| b["equipment"][3]["week"] = json!("0.00"), "#/equipment/3/week", "out_of_range", "0.00", rule),
        (
            |b| b["equipment"][3]["four_weeks"] = json!("0.00"),
            "#/equipment/3/four_weeks",
            "out_of_range",
            "0.00",
            rule,
        ),
        (
            |b| b["concrete_ways"][1]["pallet_price"] = json!("0.00"),
            "#/concrete_ways/1/pallet_price",
            "out_of_range",
            "0.00",
            rule,
        ),
    ]);
    // for a machine of its own the office states no hire
    assert_eq!(with(|b| b["equipment"][1]["day"] = json!("0.00")), []);
}

#[test]
fn what_is_weighed_has_a_density() {
    let both = "\"2400 kg/m3\" or \"150 lb/ft3\"; a mass alone is that of a cubic foot";
    told(&[
        (
            |b| b["soils"][1]["weight_per_ft3"] = json!("0 lb"),
            "#/soils/1/weight_per_ft3",
            "out_of_range",
            "0 lb",
            both,
        ),
        (
            |b| b["surfaces"][0]["weight_per_ft3"] = json!("2400 kg"),
            "#/surfaces/0/weight_per_ft3",
            "out_of_range",
            "2400 kg",
            "this is 84755.2 kg/m3: a mass alone is the weight of ONE CUBIC FOOT. If 2400 kg is what a cubic metre weighs, write \"2400 kg/m3\"; a cubic foot of that weighs 68 kg",
        ),
        (
            |b| b["concrete_rules"]["weight_per_ft3"] = json!("0 kg/m3"),
            "#/concrete_rules/weight_per_ft3",
            "out_of_range",
            "0 kg_per_m3",
            both,
        ),
        (
            |b| b["line_rules"]["fill_weight_per_ft3"] = json!("299.9 kg/m3"),
            "#/line_rules/fill_weight_per_ft3",
            "out_of_range",
            "299.9 kg_per_m3",
            both,
        ),
    ]);
    for density in ["2400 kg/m3", "150 lb/ft3", "68 kg", "300 kg_per_m3", "4000 kg/m3"] {
        assert_eq!(with(|b| b["concrete_rules"]["weight_per_ft3"] = json!(density)), [], "{density}");
    }
}

#[test]
fn hours_of_a_measure_are_counted_once_in_a_soil() {
    told(&[
        (
            |b| {
                let twice = b["labor"][0]["rates"][0].clone();
                b["labor"][0]["rates"] = json!([twice, twice]);
            },
            "#/labor/0/rates/1/measure",
            "duplicate",
            "visits",
            "hours add up",
        ),
        (
            |b| b["labor"][7]["rates"][3]["soils"] = json!(["rock", "clay"]),
            "#/labor/7/rates/3/soils/1",
            "duplicate",
            "clay",
            "a rate for `clay` already",
        ),
    ]);
    // one for a soil goes before one for all soils
    assert_eq!(with(|b| b["labor"][7]["rates"][3]["soils"] = json!([])), []);
}

#[test]
fn an_item_is_one_thing() {
    told(&[
        (
            |b| b["channel_systems"][0]["stock"][1]["item"] = json!("channel-4-light-8ft"),
            "#/channel_systems/0/stock/1/item",
            "contradiction",
            "channel-4-light-8ft",
            "at `#/channel_systems/0/stock/0/item` this item is 8 ft long",
        ),
        (
            |b| b["channel_systems"][0]["grates"][1]["item"] = json!("grate-4-plastic"),
            "#/channel_systems/0/grates/1/item",
            "contradiction",
            "grate-4-plastic",
            "a grate of class A15",
        ),
        (
            |b| b["pipes"][1]["item"] = b["pipes"][0]["item"].clone(),
            "#/pipes/1/item",
            "contradiction",
            "pipe-4-sewer-10ft",
            "pipe of 4.215 in outside",
        ),
    ]);
    // two systems may share a grate
    assert_eq!(with(|b| b["channel_systems"][1]["grates"][0]["item"] = json!("grate-4-ductile")), []);
}

#[test]
fn a_recess_strip_is_bought_by_length() {
    let found = with(|b| {
        let items = b["items"].as_array_mut().into_iter().flatten();
        for item in items.filter(|i| i["code"] == "recess-strip") {
            item["unit"] = json!("each");
        }
    });
    let places = [1, 2].map(|i| (format!("#/setting_details/{i}/recess_strip"), "unit_does_not_fit"));
    assert_eq!(found, places);
}

#[test]
fn settings_for_cutting_leave_stock_to_cut() {
    let faults = faults_with(|b| b["cutting"]["longest_setting"] = json!("3 ft 6 in"));
    let found: Vec<_> = faults.list().iter().map(|f| (f.pointer.as_str(), f.code)).collect();
    assert_eq!(found, [("#/cutting/longest_setting", "stock_too_long"); 2], "{faults}");
    assert!(faults.list()[0].detail.contains("`channel-4-light`"));
    let faults = faults_with(|b| b["cutting"]["least_piece"] = json!("11 ft"));
    assert!(
        faults.list().iter().all(|f| f.pointer == "#/cutting/least_piece" && f.code == "stock_too_short")
    );
    assert!(faults.to_string().contains("`pipe-4-sewer-10ft` is only 10 ft long"), "{faults}");
}

#[test]
fn figures_of_one_thing_fit_each_other() {
    told(&[
        (
            |b| b["soils"][0]["bank_to_compacted"] = json!("1.2"),
            "#/soils/0/bank_to_compacted",
            "contradiction",
            "1.2",
            "at most 1.11",
        ),
        (
            |b| b["soils"][0]["bank_to_compacted"] = json!("0"),
            "#/soils/0/bank_to_compacted",
            "out_of_range",
            "0",
            "more than 0",
        ),
        (
            |b| b["soils"][0]["bank_to_loose"] = json!("0.99"),
            "#/soils/0/bank_to_loose",
            "out_of_range",
            "0.99",
            "at least 1",
        ),
        (
            |b| b["channel_systems"][1]["section"]["water_depth"] = json!("2 1/2 in"),
            "#/channel_systems/1/section/water_depth",
            "contradiction",
            "2 1/2 in",
            "half the inside width",
        ),
        (
            |b| b["channel_systems"][0]["section"]["water_depth"] = json!("0 in"),
            "#/channel_systems/0/section/water_depth",
            "out_of_range",
            "",
            "more than 0",
        ),
        (
            |b| b["channel_systems"][0]["grates"][0]["open_area"] = json!("500 in2"),
            "#/channel_systems/0/grates/0/open_area",
            "contradiction",
            "3.472 ft2",
            "less than the grate itself, 0.813 ft2",
        ),
        (
            |b| b["concrete_rules"]["time_limit_hot"] = json!("100 min"),
            "#/concrete_rules/time_limit_hot",
            "contradiction",
            "100 min",
            "at most the time limit, 1.5 hr",
        ),
        (
            |b| b["labor_rules"]["overtime"]["double_multiplier"] = json!("1.4"),
            "#/labor_rules/overtime/double_multiplier",
            "contradiction",
            "1.4",
            "at least the overtime rate, 1.5",
        ),
        (
            |b| b["use_classes"][0]["en_1433"] = json!("C250"),
            "#/use_classes/1/en_1433",
            "contradiction",
            "B125",
            "no lower class than feet, `C250`",
        ),
        (
            |b| b["setting_details"][0]["crossings"] = json!(["feet", "feet"]),
            "#/setting_details/0/crossings/1",
            "duplicate",
            "",
            "`feet` is listed already",
        ),
        (
            |b| b["suppliers"][0]["country"] = json!("Atlantis"),
            "#/suppliers/0/country",
            "country",
            "Atlantis",
            "two capital letters",
        ),
    ]);
    assert_eq!(with(|b| b["suppliers"][0]["country"] = json!("DE")), []);
    assert_eq!(with(|b| b["channel_systems"][1]["section"]["water_depth"] = json!("3 in")), []);
}

#[test]
fn work_needs_no_more_people_than_a_crew_has() {
    told(&[(
        |b| b["labor"][5]["crew"][0]["count"] = json!(3),
        "#/labor/5/crew",
        "crew_lacks_trade",
        "3 laborer",
        "no crew of `plan_rules.crews` has these people",
    )]);
    // without crews one is made that suffices
    let without = |b: &mut Value| {
        b["labor"][5]["crew"][0]["count"] = json!(3);
        b["plan_rules"]["crews"] = json!([]);
    };
    assert_eq!(with(without), []);
}

#[test]
fn hours_of_a_calendar_are_told_by_their_day() {
    told(&[
        (
            |b| b["plan_rules"]["calendars"][0]["week"]["monday"] = json!("25 hr"),
            "#/plan_rules/calendars/0/week/monday",
            "out_of_range",
            "25 hr",
            "at most 23.5",
        ),
        (
            |b| b["plan_rules"]["calendars"][0]["open"] = json!([{"on": "2026-04-11", "hours": "24 hr"}]),
            "#/plan_rules/calendars/0/open/0/hours",
            "out_of_range",
            "24 hr",
            "23.5 hours",
        ),
        (
            |b| b["plan_rules"]["calendars"][0]["open"] = json!([{"on": "2026-12-28", "hours": "4 hr"}]),
            "#/plan_rules/calendars/0/open/0/on",
            "contradiction",
            "2026-12-28",
            "`closed/0`",
        ),
        (
            |b| b["labor_rules"]["overtime"]["weekly_limit"] = json!("169 hr"),
            "#/labor_rules/overtime/weekly_limit",
            "out_of_range",
            "169",
            "0 to 168 hours",
        ),
    ]);
}

#[test]
fn travel_may_take_the_whole_of_a_day() {
    assert_eq!(with(|b| b["labor_rules"]["travel"] = json!("24 hr")), []);
    let beyond = with(|b| b["labor_rules"]["travel"] = json!("24.01 hr"));
    assert_eq!(beyond, [("#/labor_rules/travel".to_owned(), "out_of_range")]);
}

/// A board costs 9.80: five of them in a pack without a price of its own come to 49.00.
#[test]
fn a_break_is_held_against_what_the_whole_pack_costs() {
    let with_break = |price: &str| {
        with(|b| {
            if let Some(board) =
                b["items"].as_array_mut().and_then(|i| i.iter_mut().find(|i| i["code"] == "form-board-2x8"))
            {
                board["price"] = json!("9.80");
            }
            if let Some(offers) = b["offers"].as_array_mut() {
                offers.retain(|o| o["item"] != "form-board-2x8");
                offers.insert(0, json!({"supplier": "fen-lane", "item": "form-board-2x8", "order_code": "fives", "pack": "5",
                    "breaks": [{"packs": 2, "price": price}]}));
            }
        })
    };
    assert_eq!(with_break("48.50"), []);
    let dearer: Vec<String> = with_break("49.50").into_iter().map(|(pointer, _)| pointer).collect();
    assert_eq!(dearer, ["#/offers/0/breaks/0/price"]);
}
