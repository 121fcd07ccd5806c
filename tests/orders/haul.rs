//! Haul through the layout: loads, trips, tipping fees, soil kept. Published cases of loads and soil factors stand with the
//! reference cases.

use proptest::prelude::*;
use rillcast::compute::haul::{by_volume_and_weight, drive_seconds};
use rillcast::compute::pipeline;
use rillcast::domain::book::{BookRef, PriceBook};
use rillcast::domain::demo::{BOOK, NOTES, rains};
use rillcast::units::quantity::Mass;
use rillcast::units::{Unit, Volume};
use rust_decimal::Decimal;
use serde_json::{Value, json};
use std::cmp::Ordering;

fn book(change: impl FnOnce(&mut Value)) -> PriceBook {
    let mut book: Value = serde_json::from_str(BOOK).unwrap();
    change(&mut book);
    PriceBook::check(rillcast::wire::read_value(&book).unwrap()).unwrap_or_else(|e| panic!("{e}"))
}

fn layout(book: &PriceBook, haul: Value) -> Value {
    let mut notes: Value = serde_json::from_str(NOTES).unwrap();
    notes["haul"] = haul;
    layout_of(book, notes)
}

fn layout_of(book: &PriceBook, notes: Value) -> Value {
    let request = rillcast::wire::read_value(&json!({"notes": notes})).unwrap();
    let used = BookRef { version_id: "pbv_x".to_owned(), name: "Demo".to_owned(), number: 1 };
    let answer = pipeline::layout(&request, book, &used, &rains().unwrap()).unwrap_or_else(|e| panic!("{e}"));
    serde_json::to_value(&answer).unwrap()
}

#[track_caller]
fn line<'a>(answer: &'a Value, name: &str) -> &'a Value {
    let lines = answer["layout"]["earth"]["quantities"].as_array().unwrap();
    lines.iter().find(|q| q["name"] == name).unwrap_or_else(|| panic!("no {name}: {lines:#?}"))
}

#[track_caller]
fn figure(answer: &Value, name: &str) -> Decimal {
    line(answer, name)["quantity"]["value"].as_str().unwrap().parse().unwrap()
}

fn bought(answer: &Value, item: &str) -> Option<Value> {
    answer["materials"].as_array().unwrap().iter().find(|m| m["code"] == item).cloned()
}

#[test]
fn soil_kept_on_site_is_not_hauled() {
    let book = book(|_| ());
    let all = layout(&book, json!({}));
    let soil = |a: &Value| figure(a, "spoil_loose");
    let kept = layout(&book, json!({"spoil_kept": "1 yd3"}));
    // The clay of the demo bulks 1.43 (US Army FM 5-434 table 1-1, read second-hand): a bank yard kept is 1.43 loose.
    assert_eq!(soil(&all) - soil(&kept), Decimal::new(143, 2));
    assert_eq!(figure(&kept, "spoil_kept"), Decimal::ONE);
    assert!(line(&kept, "spoil_loose")["basis"].as_str().unwrap().contains(" - 1 yd3 kept) x 1.43"));
    let tipped = |a: &Value| -> Decimal {
        bought(a, "tip-soil").map_or(Decimal::ZERO, |m| m["cost"].as_str().unwrap().parse().unwrap())
    };
    assert!(tipped(&kept) < tipped(&all));
    assert!(figure(&kept, "export_weight") < figure(&all, "export_weight"));
    // All of it: no soil, no fee; the rubble goes all the same.
    let none = layout(&book, json!({"keep_all_spoil": true}));
    assert_eq!((soil(&none), tipped(&none)), (Decimal::ZERO, Decimal::ZERO));
    assert!(figure(&none, "haul_loads") > Decimal::ZERO);
    // More than there is: all of it, and it is said.
    let more = layout(&book, json!({"spoil_kept": "900 yd3"}));
    assert_eq!(soil(&more), Decimal::ZERO);
    let check = more["checks"].as_array().unwrap().iter().find(|c| c["name"] == "spoil_kept").unwrap();
    assert_eq!(check["outcome"], "warn");
}

/// What is tipped at two fees is often not taken in one load: common practice, no source.
#[test]
fn kinds_tipped_at_other_fees_are_counted_apart_in_words() {
    let words = |book: &PriceBook, haul: Value| {
        let answer = layout(book, haul);
        (figure(&answer, "haul_loads"), line(&answer, "haul_loads")["basis"].as_str().unwrap().to_owned())
    };
    let apart =
        "kinds that are tipped at other fees make 4 apart: ask the tip whether it takes them in one load";
    let (loads, basis) = words(&book(|_| ()), json!({}));
    assert!(loads == Decimal::from(3) && basis.ends_with(apart), "{loads}: {basis}");
    let (_, basis) = words(&book(|_| ()), json!({"keep_all_spoil": true}));
    assert!(!basis.contains("apart"), "one kind alone: {basis}");
    let one_fee = book(|b| {
        let fee = b["haul"]["soil_disposal_item"].clone();
        b["surfaces"].as_array_mut().unwrap().iter_mut().for_each(|s| s["disposal_item"] = fee.clone());
    });
    assert!(!words(&one_fee, json!({})).1.contains("apart"));
}

#[test]
fn whichever_of_volume_and_weight_needs_more_loads_decides() {
    let heavy = layout(&book(|b| b["haul"]["truck_payload"] = json!("2000 lb")), json!({}));
    let bulky = layout(&book(|b| b["haul"]["truck_volume"] = json!("0.5 yd3")), json!({}));
    let words = |a: &Value| line(a, "haul_loads")["basis"].as_str().unwrap().to_owned();
    assert!(words(&heavy).contains("weight decides") && words(&bulky).contains("volume decides"));
    // A short ton a truck: as many loads as short tons begun.
    assert_eq!(figure(&heavy, "haul_loads"), figure(&heavy, "export_weight").ceil());
}

/// Where both need as many loads neither decides, and nothing needs none.
#[test]
fn loads_that_volume_and_weight_share_are_told_as_such() {
    let words = |answer: &Value| line(answer, "haul_loads")["basis"].as_str().unwrap().to_owned();
    let roomy = book(|b| {
        b["haul"]["truck_volume"] = json!("20 yd3");
        b["haul"]["truck_payload"] = json!("40000 lb");
    });
    let tie = layout(&roomy, json!({}));
    assert_eq!(figure(&tie, "haul_loads"), Decimal::ONE);
    assert!(words(&tie).contains("at 20 short_ton a truck: both come to 1 load"), "{}", words(&tie));
    let bare = json!({"runs": [{"id": "r", "legs": [{"length": "10 ft"}], "channel_system": "channel-6-u", "crossing": "feet",
        "outlets": [{"kind": "end", "id": "o", "at": "finish"}]}], "haul": {"keep_all_spoil": true}});
    let none = layout_of(&roomy, bare);
    assert_eq!(figure(&none, "haul_loads"), Decimal::ZERO);
    assert!(words(&none).ends_with(": nothing is hauled"), "{}", words(&none));
}

#[test]
fn trips_take_their_time_and_are_paid_by_the_hour() {
    let timed = book(|b| {
        for (member, value) in [
            ("distance", json!("6 mi")),
            ("speed", json!("24 mi_per_hr")),
            ("loading", json!("12 min")),
            ("tipping", json!("6 min")),
            ("trucks", json!(2)),
            ("truck_hour_item", json!("truck-hour")),
            ("truck_payload", json!("2000 lb")),
        ] {
            b["haul"][member] = value;
        }
        b["items"]
            .as_array_mut()
            .unwrap()
            .push(json!({"code": "truck-hour", "name": "Truck and driver", "category": "disposal",
            "unit": "hr", "price": "95.00", "increment": "0"}));
    });
    let answer = layout(&timed, json!({}));
    let loads = figure(&answer, "haul_loads");
    // 12 miles at 24 are 30 min; with 12 and 6 a trip is 48 min.
    assert_eq!(figure(&answer, "haul_round_trip"), Decimal::from(48));
    let hours = (loads * Decimal::new(8, 1)).round_dp(4);
    assert_eq!(figure(&answer, "haul_truck_hours"), hours);
    let rounds = (loads / Decimal::from(2)).ceil();
    assert_eq!(figure(&answer, "haul_elapsed"), rounds * Decimal::new(8, 1));
    let paid: Decimal = bought(&answer, "truck-hour").unwrap()["cost"].as_str().unwrap().parse().unwrap();
    assert_eq!(paid, hours * Decimal::from(95));
    let words = line(&answer, "haul_round_trip")["basis"].as_str().unwrap().to_owned();
    assert_eq!(words, "12 min loading + 30 min on the road (2 x 6 mi at 24 mi_per_hr) + 6 min tipping");
    // The notes know the road of this job.
    let far = layout(&timed, json!({"distance": "12 mi"}));
    assert_eq!(figure(&far, "haul_round_trip"), Decimal::from(78));
    let slow = layout(&timed, json!({"speed": "12 mi_per_hr"}));
    assert_eq!(figure(&slow, "haul_round_trip"), Decimal::from(78));
    // Without a distance nothing is said of time.
    let silent = layout(&book(|_| ()), json!({}));
    assert!(
        silent["layout"]["earth"]["quantities"]
            .as_array()
            .unwrap()
            .iter()
            .all(|q| q["name"] != "haul_round_trip")
    );
}

/// A book whose trips take 48 min, one truck-load at a time.
fn timed(change: impl FnOnce(&mut Value)) -> PriceBook {
    book(|b| {
        for (member, value) in [
            ("distance", json!("6 mi")),
            ("speed", json!("24 mi_per_hr")),
            ("loading", json!("12 min")),
            ("tipping", json!("6 min")),
            ("truck_hour_item", json!("truck-time")),
            ("truck_payload", json!("2000 lb")),
        ] {
            b["haul"][member] = value;
        }
        b["items"].as_array_mut().unwrap().push(json!({"code": "truck-time", "name": "Truck and driver",
            "category": "disposal", "unit": "hr", "price": "95.00", "increment": "0"}));
        change(b);
    })
}

#[test]
fn trucks_are_paid_in_the_unit_of_their_item() {
    let priced = |unit: &'static str| {
        layout(
            &timed(|b| b["items"].as_array_mut().unwrap().last_mut().unwrap()["unit"] = json!(unit)),
            json!({}),
        )
    };
    let answer = priced("hr");
    let hours = figure(&answer, "haul_truck_hours");
    let charged = |answer: &Value| -> (Decimal, String) {
        let line = bought(answer, "truck-time").unwrap();
        let units = line["quantity"]["value"].as_str().unwrap().parse().unwrap();
        (units, line["basis"].as_str().unwrap().to_owned())
    };
    assert_eq!(charged(&answer).0, hours);
    let (minutes, words) = charged(&priced("min"));
    assert_eq!(minutes, hours * Decimal::from(60));
    assert!(words.ends_with(&format!(" of 48 min = {} hr", hours.normalize())), "{words}");
    // A truck by the day is one for a working day: 8 h by the labor rules of the demo book.
    let (days, words) = charged(&priced("day"));
    assert_eq!(days, (hours / Decimal::from(8)).round_dp(6).normalize());
    assert!(words.ends_with(&format!(" = {} hr, by working days of 8 hr", hours.normalize())), "{words}");
    // By days of 7 h the quotient does not end: a part of a millionth is one.
    let book = timed(|b| {
        b["items"].as_array_mut().unwrap().last_mut().unwrap()["unit"] = json!("day");
        b["labor_rules"]["day"] = json!("7 hr");
    });
    let days = hours / Decimal::from(7);
    let cut = days.trunc_with_scale(6);
    assert!(cut < days, "{days} ends");
    assert_eq!(charged(&layout(&book, json!({}))).0, cut + Decimal::new(1, 6));
}

/// 2 x 6 mi at 7 mi an hour take 6171.43 s: a second that is begun is driven.
#[test]
fn a_road_takes_whole_seconds() {
    let (road, mean) = (json!("6 mi"), json!("7 mi_per_hr"));
    let seconds =
        drive_seconds(rillcast::wire::read_value(&road).unwrap(), rillcast::wire::read_value(&mean).unwrap());
    assert_eq!(seconds, Some(6_172));
}

#[test]
fn trucks_paid_by_the_hour_without_a_road_are_said_to_cost_nothing() {
    let warned = |answer: &Value| -> Vec<String> {
        let checks = answer["checks"].as_array().unwrap().iter();
        let found = checks.filter(|c| c["name"] == "haul_trip" && c["outcome"] == "warn");
        found.map(|c| c["reason"].as_str().unwrap().to_owned()).collect()
    };
    let without = |member: &'static str| {
        timed(move |b| {
            b["haul"].as_object_mut().unwrap().remove(member);
        })
    };
    assert!(warned(&layout(&timed(|_| ()), json!({}))).is_empty());
    let far = warned(&layout(&without("distance"), json!({})));
    let loads = figure(&layout(&timed(|_| ()), json!({})), "haul_loads");
    assert_eq!(
        far,
        [format!(
            "neither the notes nor the price book say how far the tip is: the trips are not timed, and `truck-time` charges \
             nothing for {loads} loads"
        )]
    );
    assert!(warned(&layout(&without("speed"), json!({})))[0].contains("how fast the truck drives"));
    // The notes know the road of this job.
    assert!(warned(&layout(&without("distance"), json!({"distance": "3 mi"}))).is_empty());
    // By the load nothing is lacking.
    assert!(warned(&layout(&book(|_| ()), json!({}))).is_empty());
}

#[test]
fn the_driver_is_paid_somewhere_or_it_is_said() {
    let driver = |remove: &'static [&'static str], hours: &'static str| {
        let book = timed(move |b| {
            for member in remove {
                b["haul"].as_object_mut().unwrap().remove(*member);
            }
            let labor = b["labor"].as_array_mut().unwrap();
            let haul = labor.iter_mut().find(|l| l["task"] == "haul").unwrap();
            haul["rates"][0]["hours"] = json!(hours);
        });
        let estimate = crate::estimate::estimate(&book, |_| {});
        let check = estimate["checks"].as_array().unwrap().iter().find(|c| c["name"] == "haul_driver");
        let words = line(&estimate, "haul_truck_hours")["basis"].as_str().unwrap().to_owned();
        (words, check.map(|c| (c["outcome"].clone(), c["reason"].as_str().unwrap().to_owned())))
    };
    let (words, check) = driver(&[], "0.5");
    assert!(words.ends_with("; truck and driver are paid in `truck-time`"), "{words}");
    assert!(check.is_none());
    let (words, check) = driver(&["truck_hour_item"], "0.5");
    assert!(words.ends_with("; truck and driver are paid in `haul-load`"), "{words}");
    assert!(check.is_none());
    let (words, check) = driver(&["truck_hour_item", "haul_item"], "0.1");
    assert!(words.contains("the hours of `haul` must hold the driver"), "{words}");
    let (outcome, reason) = check.unwrap();
    assert_eq!(outcome, "warn");
    assert!(reason.contains(" of driving are in no cost"), "{reason}");
    let (_, check) = driver(&["truck_hour_item", "haul_item"], "2");
    assert_eq!(check.unwrap().0, "pass");
}

#[test]
fn a_book_says_what_is_wrong_with_its_haul() {
    let refused = |change: fn(&mut Value)| {
        let mut book: Value = serde_json::from_str(BOOK).unwrap();
        change(&mut book["haul"]);
        let faults = PriceBook::check(rillcast::wire::read_value(&book).unwrap()).unwrap_err();
        faults.list().iter().map(|f| f.pointer.clone()).collect::<Vec<_>>()
    };
    assert_eq!(refused(|h| h["speed"] = json!("0 mi_per_hr")), ["#/haul/speed"]);
    assert_eq!(refused(|h| h["truck_hour_item"] = json!("haul-load")), ["#/haul/truck_hour_item"]);
}

proptest! {
    #[test]
    fn loads_are_enough_and_one_fewer_is_not(loose in 1_i128..10_000, truck in 1_i128..60, pounds in 1_i64..900_000, payload in 1_000_i64..40_000) {
        let tenth = Unit::Yd3.factor().unwrap() / 10;
        let (volume, holds) = (Volume::from_nm3(loose * tenth), Volume::from_nm3(truck * tenth));
        let (loads, by_weight) = by_volume_and_weight(volume, Mass::pounds(pounds), holds, Mass::pounds(payload));
        let fits = |n: i64| i128::from(n) * truck >= loose && n * payload >= pounds;
        prop_assert!(fits(loads) && !fits(loads - 1));
        // With one load fewer only what decides would be left lying.
        let (bulk_fits, weight_fits) = (i128::from(loads - 1) * truck >= loose, (loads - 1) * payload >= pounds);
        prop_assert_eq!((bulk_fits, weight_fits), match by_weight {
            Ordering::Greater => (true, false),
            Ordering::Less => (false, true),
            Ordering::Equal => (false, false),
        });
    }
}
