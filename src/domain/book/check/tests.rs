//! Each kind of fault, found where it is in the demo book with one change.

#![expect(clippy::panic, reason = "a test that cannot read the demo must stop")]

use crate::domain::book::PriceBook;
use crate::domain::demo::BOOK;
use crate::wire::Faults;
use serde_json::{Value, json};

mod choices;
mod figures;
mod margins;
mod rates;

/// Publishing faults of the demo book with one change, as pointer and code.
fn with(change: impl Fn(&mut Value)) -> Vec<(String, &'static str)> {
    faults_with(change).list().iter().map(|f| (f.pointer.clone(), f.code)).collect()
}

/// Publishing faults of the demo book with one change.
fn faults_with(change: impl Fn(&mut Value)) -> Faults {
    let mut book: Value = serde_json::from_str(BOOK).unwrap_or_else(|e| panic!("{e}"));
    change(&mut book);
    let doc = crate::wire::read_value(&book).unwrap_or_else(|e| panic!("{e}"));
    PriceBook::check(doc).err().unwrap_or_default()
}

fn drop_task(book: &mut Value, task: &str) {
    if let Some(labor) = book["labor"].as_array_mut() {
        labor.retain(|r| r["task"] != task);
    }
}

fn remove(book: &mut Value, name: &str) {
    if let Some(members) = book.as_object_mut() {
        members.remove(name);
    }
}

#[test]
fn the_demo_book_may_be_published() {
    assert_eq!(with(|_| ()), []);
}

#[test]
fn each_fault_is_found_where_it_is() {
    type Change = fn(&mut Value);
    let cases: &[(Change, &str, &str)] = &[
        (|b| b["items"][69]["code"] = b["items"][0]["code"].clone(), "#/items/69/code", "duplicate_code"),
        (|b| remove(&mut b["channel_systems"][0], "end_cap"), "#/channel_systems/0/end_cap", "required"),
        (|b| b["channel_systems"][0]["grates"] = json!([]), "#/channel_systems/0/grates", "required"),
        (
            |b| remove(&mut b["channel_systems"][1]["grates"][0], "load_class"),
            "#/channel_systems/1/grates/0/load_class",
            "required",
        ),
        (
            |b| {
                remove(&mut b["channel_systems"][0], "end_outlet");
                remove(&mut b["channel_systems"][0], "bottom_outlet");
            },
            "#/channel_systems/0/end_outlet",
            "no_outlet_fitting",
        ),
        (
            |b| b["channel_systems"][0]["section"]["inside_width"] = json!("6 in"),
            "#/channel_systems/0/section/inside_width",
            "contradiction",
        ),
        (
            |b| b["channel_systems"][0]["section"]["roughness"] = json!("0.1"),
            "#/channel_systems/0/section/roughness",
            "out_of_range",
        ),
        (
            |b| remove(&mut b["channel_systems"][2]["section"], "overall_height_deep_end"),
            "#/channel_systems/2/section/built_in_fall_pct",
            "contradiction",
        ),
        (
            |b| b["channel_systems"][0]["least_piece"] = json!("9 ft"),
            "#/channel_systems/0/least_piece",
            "stock_too_short",
        ),
        (
            |b| b["setting_details"][1]["base"] = json!("0 in"),
            "#/setting_details/1/base",
            "base_under_wheels",
        ),
        (
            |b| b["use_classes"][0]["en_1433"] = json!("light_duty"),
            "#/use_classes/0/en_1433",
            "contradiction",
        ),
        (|b| b["pipes"][0]["inside_diameter"] = json!("5 in"), "#/pipes/0/inside_diameter", "contradiction"),
        (|b| b["hangers"]["item"] = json!("no-such"), "#/hangers/item", "unknown_code"),
        (
            |b| b["line_rules"]["bedding_item"] = json!("hanger"),
            "#/line_rules/bedding_item",
            "unit_does_not_fit",
        ),
        (|b| remove(b, "haul"), "#/haul", "required"),
        (|b| remove(b, "line_rules"), "#/line_rules", "required"),
        (
            |b| b["concrete_ways"][1]["bag_yield"] = json!("4.5 ft3"),
            "#/concrete_ways/1/bag_yield",
            "implausible",
        ),
        (|b| b["concrete_ways"][1]["trade"] = json!("mason"), "#/concrete_ways/1/trade", "unknown_code"),
        (|b| b["labor"][0]["rates"][0]["unit"] = json!("yd3"), "#/labor/0/rates/0/unit", "unit_does_not_fit"),
        (|b| b["labor"][2]["equipment"] = json!(["no-such"]), "#/labor/2/equipment/0", "unknown_code"),
        (
            |b| b["markup_schemes"][0]["profit"]["pct"] = json!("100"),
            "#/markup_schemes/0/profit/pct",
            "out_of_range",
        ),
        (|b| b["markup_schemes"] = json!([]), "#/markup_schemes", "required"),
        (|b| b["consumables"][0]["coverage"] = json!("0"), "#/consumables/0/coverage", "out_of_range"),
        (|b| b["soils"] = json!([b["soils"][0], b["soils"][1], b["soils"][2]]), "#/soils", "missing_soil"),
        // Codes.
        (
            |b| b["channel_systems"][1]["code"] = b["channel_systems"][0]["code"].clone(),
            "#/channel_systems/1/code",
            "duplicate_code",
        ),
        (
            |b| b["concrete_ways"][2]["code"] = b["concrete_ways"][1]["code"].clone(),
            "#/concrete_ways/2/code",
            "duplicate_code",
        ),
        (|b| b["labor"][3]["method"] = b["labor"][2]["method"].clone(), "#/labor/3/method", "duplicate_code"),
        (|b| b["labor"][3]["usual"] = json!(true), "#/labor/3/usual", "contradiction"),
        (|b| b["labor"][0]["crew"][0]["trade"] = json!("mason"), "#/labor/0/crew/0/trade", "unknown_code"),
        (|b| b["pipes"][0]["bends"][0]["item"] = json!("no-such"), "#/pipes/0/bends/0/item", "unknown_code"),
        // Units of items.
        (|b| b["concrete_ways"][0]["item"] = json!("bag-60"), "#/concrete_ways/0/item", "unit_does_not_fit"),
        (
            |b| b["concrete_ways"][1]["item"] = json!("ready-mix-4000"),
            "#/concrete_ways/1/item",
            "unit_does_not_fit",
        ),
        (|b| b["pipes"][0]["item"] = json!("recess-strip"), "#/pipes/0/item", "unit_does_not_fit"),
        (
            |b| b["consumables"][0]["item"] = json!("recess-strip"),
            "#/consumables/0/item",
            "unit_does_not_fit",
        ),
        (
            |b| b["haul"]["soil_disposal_item"] = json!("recess-strip"),
            "#/haul/soil_disposal_item",
            "unit_does_not_fit",
        ),
        (
            |b| b["setting_details"][2]["reinforcement"]["item"] = json!("bedding-stone"),
            "#/setting_details/2/reinforcement/item",
            "unit_does_not_fit",
        ),
        (
            |b| b["consumables"][2]["coverage_unit"] = json!("each"),
            "#/consumables/2/coverage_unit",
            "unit_does_not_fit",
        ),
        // Geometry.
        (
            |b| b["channel_systems"][0]["section"]["water_depth"] = json!("5 in"),
            "#/channel_systems/0/section/water_depth",
            "contradiction",
        ),
        (
            |b| b["channel_systems"][2]["section"]["water_depth_deep_end"] = json!("320 mm"),
            "#/channel_systems/2/section/water_depth_deep_end",
            "contradiction",
        ),
        (
            |b| remove(&mut b["channel_systems"][2]["section"], "built_in_fall_pct"),
            "#/channel_systems/2/section/overall_height_deep_end",
            "contradiction",
        ),
        (|b| remove(&mut b["channel_systems"][1], "screw"), "#/channel_systems/1/screw", "required"),
        (
            |b| b["setting_details"][2]["reinforcement"]["lap"] = json!("20 ft"),
            "#/setting_details/2/reinforcement/lap",
            "contradiction",
        ),
        (
            |b| b["setting_details"][0]["crossings"] = json!(["A15", "light_duty"]),
            "#/setting_details",
            "missing_detail",
        ),
        (
            |b| b["setting_details"][2]["crossings"] = json!(["C250", "wheels"]),
            "#/setting_details/2/crossings/1",
            "contradiction",
        ),
        (|b| b["use_classes"] = json!([b["use_classes"][0]]), "#/use_classes", "missing_class"),
        (
            |b| b["use_classes"][1]["asme_a112_6_3"] = json!("B125"),
            "#/use_classes/1/asme_a112_6_3",
            "contradiction",
        ),
        // What a book must have.
        (|b| remove(b, "hangers"), "#/hangers", "required"),
        (|b| remove(b, "forms"), "#/forms", "required"),
        (|b| remove(b, "concrete_rules"), "#/concrete_rules", "required"),
        (|b| remove(b, "labor_rules"), "#/labor_rules", "required"),
        (|b| b["concrete_ways"] = json!([]), "#/concrete_ways", "required"),
        (
            |b| b["surfaces"] = json!([b["surfaces"][0], b["surfaces"][1], b["surfaces"][2]]),
            "#/surfaces",
            "missing_surface",
        ),
        (|b| drop_task(b, "clear_up"), "#/labor", "missing_rate"),
        (|b| drop_task(b, "mix_concrete"), "#/labor", "missing_rate"),
        (|b| drop_task(b, "lay_pipe"), "#/labor", "missing_rate"),
        (|b| b["labor"][14]["rates"] = json!([b["labor"][14]["rates"][0]]), "#/labor", "missing_rate"),
        // Ground and haul.
        (
            |b| {
                b["soils"] =
                    json!([b["soils"][0], b["soils"][1], b["soils"][2], b["soils"][3], b["soils"][0]])
            },
            "#/soils/4/soil",
            "duplicate",
        ),
        (|b| b["soils"][0]["bank_to_loose"] = json!("0.9"), "#/soils/0/bank_to_loose", "out_of_range"),
        (|b| b["surfaces"][0]["bulking"] = json!("0.5"), "#/surfaces/0/bulking", "out_of_range"),
        (|b| b["haul"]["truck_payload"] = json!("0 lb"), "#/haul/truck_payload", "out_of_range"),
        (
            |b| b["line_rules"]["least_falls"][1]["bore_up_to"] = json!("2 in"),
            "#/line_rules/least_falls/1",
            "not_ascending",
        ),
        // Concrete.
        (
            |b| b["concrete_ways"][0]["increment"] = json!("0 yd3"),
            "#/concrete_ways/0/increment",
            "out_of_range",
        ),
        (
            |b| b["concrete_ways"][3]["capacity"] = json!("0.1 yd3"),
            "#/concrete_ways/3/capacity",
            "contradiction",
        ),
        (
            |b| b["concrete_ways"][0]["short_load"]["below"] = json!("11 yd3"),
            "#/concrete_ways/0/short_load/below",
            "contradiction",
        ),
        (
            |b| remove(&mut b["concrete_ways"][0], "unloading_per_unit"),
            "#/concrete_ways/0/unloading_per_unit",
            "required",
        ),
        // Work.
        (|b| b["labor"][6]["not_in"] = json!([]), "#/labor/6/rates", "missing_soil"),
        (|b| b["labor"][0]["rates"][0]["hours"] = json!("0"), "#/labor/0/rates/0/hours", "out_of_range"),
        (|b| b["labor"][6]["greatest_depth"] = json!("0 ft"), "#/labor/6/greatest_depth", "out_of_range"),
        (|b| b["labor_rules"]["day"] = json!("25 hr"), "#/labor_rules/day", "out_of_range"),
        (|b| b["labor_rules"]["step"] = json!("9 hr"), "#/labor_rules/step", "contradiction"),
        (
            |b| b["labor_rules"]["difficulty"][0]["factor"] = json!("0"),
            "#/labor_rules/difficulty/0/factor",
            "out_of_range",
        ),
        (
            |b| b["labor_rules"]["difficulty"][1]["difficulty"] = json!("easy"),
            "#/labor_rules/difficulty/1/difficulty",
            "duplicate",
        ),
        (
            |b| b["labor_rules"]["depth"][1]["factor"] = json!("0"),
            "#/labor_rules/depth/1/factor",
            "out_of_range",
        ),
        (
            |b| b["labor_rules"]["depth"][1]["deeper_than"] = json!("36 in"),
            "#/labor_rules/depth/1/deeper_than",
            "duplicate",
        ),
        (|b| b["consumables"][2]["times"] = json!("0"), "#/consumables/2/times", "out_of_range"),
        (|b| b["load_out"][6]["method"] = json!("laser"), "#/load_out/6/method", "unknown_code"),
        (|b| b["load_out"][0]["method"] = json!("hand"), "#/load_out/0/task", "required"),
        (
            |b| b["channel_systems"][0]["stock"][1]["length"] = json!("96 in"),
            "#/channel_systems/0/stock/1/length",
            "duplicate",
        ),
        (
            |b| b["channel_systems"][0]["grates"][0]["least_piece"] = json!("3 ft"),
            "#/channel_systems/0/grates/0/least_piece",
            "stock_too_short",
        ),
        (
            |b| b["channel_systems"][2]["section"]["water_depth_deep_end"] = json!("120 mm"),
            "#/channel_systems/2/section/water_depth_deep_end",
            "contradiction",
        ),
        (
            |b| b["use_classes"] = json!([b["use_classes"][0], b["use_classes"][1], b["use_classes"][0]]),
            "#/use_classes/2/crossing",
            "duplicate",
        ),
        (
            |b| {
                b["use_classes"] = json!([b["use_classes"][0], b["use_classes"][1],
                {"crossing": "D400", "en_1433": "D400", "asme_a112_6_3": "special_duty"}])
            },
            "#/use_classes/2/crossing",
            "not_a_use",
        ),
        (|b| b["pipes"][0]["bends"][1]["degrees"] = json!(45), "#/pipes/0/bends/1/degrees", "duplicate"),
        (
            |b| b["taxes"][0]["categories"] = json!(["material", "material"]),
            "#/taxes/0/categories/1",
            "duplicate",
        ),
    ];
    for (change, pointer, code) in cases {
        assert_eq!(with(change), [((*pointer).to_owned(), *code)], "{pointer}");
    }
}

#[test]
fn all_faults_come_at_once() {
    let found = with(|b| {
        remove(b, "haul");
        remove(b, "forms");
        b["markup_schemes"] = json!([]);
        b["taxes"] = json!([b["taxes"][0], b["taxes"][0]]);
    });
    assert_eq!(found.len(), 4, "{found:?}");
}

#[test]
fn a_book_without_pipes_needs_no_rates_of_pipe_work() {
    let found = with(|b| {
        remove(b, "pipes");
        remove(b, "line_rules");
        for task in ["dig_line", "lay_pipe", "connect", "backfill"] {
            drop_task(b, task);
        }
    });
    assert_eq!(found, []);
}

#[test]
fn every_fault_says_how_to_mend_it() {
    let mut book: Value = serde_json::from_str(BOOK).unwrap_or_else(|e| panic!("{e}"));
    for name in ["hangers", "forms", "haul", "concrete_rules", "labor_rules", "line_rules"] {
        remove(&mut book, name);
    }
    for name in ["soils", "surfaces", "labor", "concrete_ways", "markup_schemes", "use_classes"] {
        book[name] = json!([]);
    }
    let doc = crate::wire::read_value(&book).unwrap_or_else(|e| panic!("{e}"));
    let faults = super::faults(&doc);
    assert!(faults.len() > 30);
    for fault in faults.list() {
        assert!(fault.detail.len() > 15 && fault.pointer.starts_with("#/"), "{fault:?}");
    }
}

#[test]
fn faults_of_calendars_crews_and_waits_are_found_where_they_are() {
    type Change = fn(&mut Value);
    let rules = "#/plan_rules";
    let cases: &[(Change, &str, &str)] = &[
        (|b| b["plan_rules"]["calendars"][0]["week"] = json!({}), "/calendars/0/week", "no_workday"),
        (
            |b| b["plan_rules"]["calendars"][0]["week"]["monday"] = json!("25 hr"),
            "/calendars/0/week/monday",
            "out_of_range",
        ),
        (|b| b["plan_rules"]["calendars"][1]["code"] = json!("crews"), "/calendars/1/code", "duplicate_code"),
        (
            |b| b["plan_rules"]["calendars"][0]["closed"][0]["to"] = json!("2026-12-01"),
            "/calendars/0/closed/0/to",
            "contradiction",
        ),
        (
            |b| b["plan_rules"]["calendars"][0]["open"] = json!([{"on": "2026-12-28", "hours": "4 hr"}]),
            "/calendars/0/open/0/on",
            "contradiction",
        ),
        (|b| b["plan_rules"]["notice_calendar"] = json!("moon"), "/notice_calendar", "unknown_code"),
        (
            |b| b["plan_rules"]["crews"][0]["people"][0]["trade"] = json!("diver"),
            "/crews/0/people/0/trade",
            "unknown_code",
        ),
        (
            |b| b["plan_rules"]["crews"][1]["people"][1]["trade"] = json!("installer"),
            "/crews/1/people/1/trade",
            "duplicate",
        ),
        (
            |b| b["plan_rules"]["machines"] = json!([{"machine": "crane", "count": 1}]),
            "/machines/0/machine",
            "unknown_code",
        ),
        (
            // 0.85 x 4800/4000 is above 1: the curve never gets there.
            |b| b["plan_rules"]["waits"]["strength"] = json!({"mix_psi": 4000, "wheels_psi": 4800}),
            "/waits/strength",
            "out_of_range",
        ),
        (|b| b["plan_rules"]["spread"]["task_pct"] = json!("300"), "/spread/task_pct", "out_of_range"),
        (|b| b["plan_rules"]["spread"]["median_ratio"] = json!("0"), "/spread/median_ratio", "out_of_range"),
    ];
    for (change, pointer, code) in cases {
        let pointer = format!("{rules}{pointer}");
        let found = with(change);
        assert!(found.contains(&(pointer.clone(), *code)), "{pointer} {code}: {found:?}");
    }
    let rules = "#/labor_rules";
    let cases: &[(Change, &str, &str)] = &[
        (|b| b["labor_rules"]["weather"][1]["weather"] = json!("fair"), "/weather/1/weather", "duplicate"),
        (|b| b["labor_rules"]["weather"][1]["factor"] = json!("0"), "/weather/1/factor", "out_of_range"),
        (
            |b| b["labor_rules"]["overtime"]["multiplier"] = json!("0.5"),
            "/overtime/multiplier",
            "out_of_range",
        ),
        (
            |b| b["labor_rules"]["overtime"]["daily_limit"] = json!("30 hr"),
            "/overtime/daily_limit",
            "out_of_range",
        ),
        (|b| b["labor_rules"]["travel"] = json!("25 hr"), "/travel", "out_of_range"),
    ];
    for (change, pointer, code) in cases {
        let pointer = format!("{rules}{pointer}");
        let found = with(change);
        assert!(found.contains(&(pointer.clone(), *code)), "{pointer} {code}: {found:?}");
    }
}

#[test]
fn a_book_written_before_plans_still_reads() {
    let found = with(|b| {
        remove(b, "plan_rules");
        for member in ["weather", "overtime"] {
            remove(&mut b["labor_rules"], member);
        }
    });
    assert_eq!(found, []);
}
