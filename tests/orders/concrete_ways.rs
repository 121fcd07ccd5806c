//! The way of concrete that is marked cheapest against whole estimates with each way asked for.

use crate::estimate::{book, number};
use rillcast::compute::pipeline;
use rillcast::domain::book::{BookRef, PriceBook};
use rillcast::domain::demo::rains;
use rillcast::wire::read_document;
use rust_decimal::Decimal;
use serde_json::{Value, json};

/// Hours of a trade and purchase tax are rounded once over the whole job, for a way by itself: some half cents of two ways.
fn cents() -> Decimal {
    Decimal::new(6, 2)
}

fn run(length: &str) -> Value {
    json!({
        "runs": [{
            "id": "a", "channel_system": "channel-4-light", "crossing": "feet", "legs": [{"length": length}],
            "outlets": [{"kind": "end", "id": "a-o", "at": "finish"}]
        }]
    })
}

fn estimate(book: &PriceBook, notes: &Value, way: Option<&str>) -> Value {
    let mut notes = notes.clone();
    if let Some(way) = way {
        notes["options"] = json!({"concrete_way": way});
    }
    let notes = read_document(notes.to_string().as_bytes()).unwrap_or_else(|e| panic!("{e}"));
    let used = BookRef { version_id: "pbv_x".to_owned(), name: "Demo".to_owned(), number: 1 };
    let made = pipeline::estimate(&notes, book, &used, &rains().unwrap()).unwrap_or_else(|e| panic!("{e}"));
    serde_json::to_value(made).unwrap()
}

fn direct(estimate: &Value) -> Decimal {
    number(&estimate["summary"]["direct_cost"])
}

/// Every way's cost in the comparison differs from the others as the whole estimates do; the cheapest is the cheapest.
#[track_caller]
fn compared_as_charged(book: &PriceBook, notes: &Value) {
    let free = estimate(book, notes, None);
    let ways: Vec<(String, Decimal, Decimal)> = free["concrete"]["ways"]
        .as_array()
        .unwrap()
        .iter()
        .map(|w| {
            let code = w["code"].as_str().unwrap();
            (code.to_owned(), number(&w["all_in"]), direct(&estimate(book, notes, Some(code))))
        })
        .collect();
    let (_, first, charged) = &ways[0];
    for (code, all_in, by_estimate) in &ways {
        let apart = (all_in - first) - (by_estimate - charged);
        assert!(apart.abs() <= cents(), "{code} {apart} apart: {ways:?} {notes}");
        // Day by day each may have a way of its own, which is no dearer than one way on all.
        assert!(direct(&free) <= by_estimate + cents(), "{code}: {} {ways:?} {notes}", direct(&free));
    }
}

#[test]
fn the_cheapest_way_makes_the_cheapest_estimate() {
    let book = book(|_| {});
    for difficulty in ["normal", "hard"] {
        for feet in 6..=40 {
            let mut notes = run(&format!("{feet} ft"));
            notes["difficulty"] = json!(difficulty);
            compared_as_charged(&book, &notes);
        }
        for tenths in (18..=122).step_by(8) {
            let mut notes = run(&format!("{}.{} m", tenths / 10, tenths % 10));
            notes["unit_system"] = json!("metric");
            notes["difficulty"] = json!(difficulty);
            notes["weather"] = json!("wet");
            compared_as_charged(&book, &notes);
        }
    }
}

#[test]
fn machines_methods_and_taxes_of_the_place_are_compared_as_charged() {
    let book = book(|b| {
        for machine in b["equipment"].as_array_mut().unwrap() {
            if machine["code"] == "drum-mixer" {
                machine["transport"] = json!("35.00");
            }
        }
        let labor = b["labor"].as_array_mut().unwrap();
        let mut by_hand = labor.iter().find(|r| r["task"] == "mix_concrete").unwrap().clone();
        by_hand["method"] = json!("trough");
        by_hand["usual"] = json!(false);
        by_hand["rates"][0]["hours"] = json!("0.2");
        by_hand["equipment"] = json!([]);
        labor.push(by_hand);
        let pour = labor.iter_mut().find(|r| r["task"] == "pour").unwrap();
        pour["equipment"] = json!(["drum-mixer"]);
        b["taxes"][0]["categories"] = json!(["material", "hire"]);
        b["taxes"][0]["places"] = json!(["north"]);
    });
    for feet in [6, 14, 23, 31, 40] {
        for (method, place) in [(None, None), (Some("trough"), None), (None, Some("north"))] {
            let mut notes = run(&format!("{feet} ft"));
            if let Some(place) = place {
                notes["pricing"] = json!({"place": place});
            }
            match method {
                Some(method) => {
                    // The way is asked for beside the method.
                    notes["options"] = json!({"methods": [{"task": "mix_concrete", "method": method}]});
                    compared_beside(&book, &notes);
                }
                None => compared_as_charged(&book, &notes),
            }
        }
    }
}

/// As [`compared_as_charged`], where the notes have options of their own.
fn compared_beside(book: &PriceBook, notes: &Value) {
    let free = estimate(book, notes, None);
    let chosen = direct(&free);
    for way in free["concrete"]["ways"].as_array().unwrap() {
        let mut asked = notes.clone();
        asked["options"]["concrete_way"] = way["code"].clone();
        let other = direct(&estimate(book, &asked, None));
        assert!(chosen <= other + cents(), "{}: {chosen} {other} {notes}", way["code"]);
    }
}

#[test]
fn several_pour_days_are_set_up_and_hired_for_on_each() {
    let book = book(|_| {});
    for (length, days) in
        [("30 ft", json!([1, 2, 3])), ("12 ft", json!([1, 2])), ("40 ft", json!([2, 5, 6, 9]))]
    {
        let mut notes = run(length);
        notes["runs"][0]["pour_days"] = days.clone();
        compared_as_charged(&book, &notes);
        let by_bags = estimate(&book, &notes, Some("bags-80"));
        let way =
            by_bags["concrete"]["ways"].as_array().unwrap().iter().find(|w| w["code"] == "bags-80").unwrap();
        let tasks = by_bags["labor"]["tasks"].as_array().unwrap();
        let task = |name: &str| tasks.iter().find(|t| t["task"] == name).unwrap();
        assert_eq!(task("mix_concrete")["person_hours"], way["extra_hours"]);
        assert_eq!(task("pour")["person_hours"], way["placing_hours"]);
        let setups = task("mix_concrete")["basis"].as_str().unwrap().matches("setup 0.5 h").count();
        assert_eq!(setups, days.as_array().unwrap().len(), "{}", task("mix_concrete")["basis"]);
        let hire: Decimal = by_bags["cost_lines"]
            .as_array()
            .unwrap()
            .iter()
            .filter(|l| l["code"] == "drum-mixer")
            .map(|l| number(&l["cost"]))
            .sum();
        assert_eq!(hire, number(&way["extra_hire_cost"]));
        assert_eq!(hire, Decimal::from(52 * setups));
    }
}

#[test]
fn the_working_of_a_way_gives_its_hours_by_hand() {
    let mut notes = run("14 ft");
    notes["difficulty"] = json!("hard");
    let made = estimate(&book(|_| {}), &notes, None);
    let ways = made["concrete"]["ways"].as_array().unwrap();
    let bags = ways.iter().find(|w| w["code"] == "bags-80").unwrap();
    let text = bags["work_basis"].as_str().unwrap();
    assert!(
        text.starts_with(
            "mixing: setup 0.5 h + 8 bags_mixed x 0.06 h x 1.25 (hard place) = 1.1 person-hours; crew of 2: 0.75 \
             crew-hours after rounding up to 0.25 h: 2 laborer x 0.75 h x 34.155 = 51.23; placing: "
        ),
        "{text}"
    );
    assert!(text.contains("; Drum mixer for 1 half day: 52.00; purchase tax: "), "{text}");
    assert_eq!(bags["extra_labor_cost"], "51.23");
}
