//! What cut lists weigh their stock at: what is paid for it.

use crate::estimate::{book, estimate, number};
use proptest::prelude::*;
use rillcast::domain::book::PriceBook;
use rust_decimal::Decimal;
use serde_json::{Value, json};

/// The demo's garden path with its drain line alone.
fn path_alone(notes: &mut Value) {
    notes["runs"] = json!([notes["runs"][1]]);
    let mut line = notes["drain_lines"][1].clone();
    line["ends"] = json!({"kind": "discharges", "to": "swale", "invert_level": "-1 ft 6 in"});
    line.as_object_mut().unwrap().remove("fall_pct");
    notes["drain_lines"] = json!([line]);
    for gone in ["storm", "catchments"] {
        notes.as_object_mut().unwrap().remove(gone);
    }
}

/// The demo's book with these offers behind its own; nobody asks for bringing anything.
fn with_offers(offers: &[Value]) -> PriceBook {
    book(|b| {
        for supplier in b["suppliers"].as_array_mut().unwrap() {
            supplier.as_object_mut().unwrap().remove("delivery");
        }
        b["offers"].as_array_mut().unwrap().extend(offers.iter().cloned());
    })
}

const STOCK: [&str; 5] =
    ["channel-4-light-4ft", "channel-4-light-8ft", "grate-4-plastic", "pipe-4-sewer-10ft", "form-board-2x8"];

/// What the stock costs as it is bought, with the joints and the cuts it takes.
fn stock_and_work(estimate: &Value) -> Decimal {
    let lines = estimate["cost_lines"].as_array().unwrap().iter();
    let stock: Decimal =
        lines.filter(|l| STOCK.iter().any(|s| l["code"] == *s)).map(|l| number(&l["cost"])).sum();
    let lists = estimate["layout"]["cut_lists"].as_array().unwrap().iter();
    let work: Decimal = lists.map(|l| number(&l["joint_cost"]) + number(&l["cut_cost"])).sum();
    stock + work
}

fn list<'v>(estimate: &'v Value, part: &str) -> &'v Value {
    let lists = estimate["layout"]["cut_lists"].as_array().unwrap();
    lists.iter().find(|l| l["part"] == part).unwrap()
}

/// A hundred at fifteen each are no price for five.
#[test]
fn a_pack_that_is_too_large_sets_no_price() {
    let large = json!({"supplier": "fen-lane", "item": "channel-4-light-4ft", "order_code": "bulk", "pack": "100",
        "price": "1500.00"});
    let without = estimate(&book(|_| {}), path_alone);
    let with = estimate(&book(|b| b["offers"].as_array_mut().unwrap().push(large)), path_alone);
    assert_eq!(with["price"]["total"], without["price"]["total"]);
    let (before, after) = (list(&without, "channel"), list(&with, "channel"));
    assert_eq!(after["sheet"], before["sheet"]);
    let basis = before["basis"].as_str().unwrap();
    assert!(basis.contains(", 27.40 for `channel-4-light-4ft` from millbrook: M-001"), "{basis}");
}

/// An offer that has lapsed on the day of the order, or comes too late, sets no price either.
#[test]
fn an_offer_that_cannot_be_used_sets_no_price() {
    let dated = |extra: Option<Value>| {
        let book = book(|b| b["offers"].as_array_mut().unwrap().extend(extra));
        estimate(&book, |notes| {
            path_alone(notes);
            notes["options"] = json!({"order_on": "2026-05-04", "needed_by": "2026-05-18"});
        })
    };
    let without = dated(None);
    let cheap = |member: &str, value: Value| {
        let mut offer = json!({"supplier": "fen-lane", "item": "channel-4-light-4ft", "order_code": "old", "price": "5.00"});
        offer[member] = value;
        dated(Some(offer))
    };
    for with in [cheap("valid_until", json!("2026-05-03")), cheap("lead_days", json!(15))] {
        assert_eq!(list(&with, "channel"), list(&without, "channel"));
    }
    for usable in [cheap("lead_days", json!(14)), cheap("valid_until", json!("2026-05-04"))] {
        assert_ne!(list(&usable, "channel")["sheet"], list(&without, "channel")["sheet"]);
    }
}

/// Where the plan pays another price than it was weighed at, it says what the stock comes to.
#[test]
fn a_list_says_what_its_stock_comes_to_in_packs() {
    let fives = json!({"supplier": "fen-lane", "item": "form-board-2x8", "order_code": "fives", "pack": "5",
        "price": "40.00"});
    let found = estimate(&with_offers(&[fives]), path_alone);
    let boards = list(&found, "form_board");
    let bought: Decimal = found["cost_lines"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|l| l["code"] == "form-board-2x8")
        .map(|l| number(&l["cost"]))
        .sum();
    assert_ne!(number(&boards["stock_cost"]), bought, "{boards}");
    let note = format!("the stock costs {bought}");
    assert!(
        boards["notes"].as_array().unwrap().iter().any(|n| n.as_str().unwrap().ends_with(&note)),
        "{boards}"
    );
}

fn offer() -> impl Strategy<Value = Value> {
    let packs = prop::sample::select(vec![0, 1, 2, 3, 5, 10, 100]);
    let step = prop::option::of((2_i64..8, 40_i64..100));
    (0_usize..STOCK.len(), packs, 25_i64..140, 1_i64..4, step, 0_usize..3).prop_map(
        |(item, pack, percent, least, step, supplier)| {
            let each = [2_740, 5_380, 1_375, 2_565, 1_720][item];
            let price = Decimal::new(each * percent * i64::max(pack, 1), 4).round_dp(2);
            let breaks: Vec<Value> = step
                .iter()
                .map(|(packs, less)| {
                    let price = (price * Decimal::new(*less, 2)).round_dp(2);
                    json!({"packs": packs, "price": price.to_string()})
                })
                .collect();
            let supplier = ["millbrook", "fen-lane", "harrow-stone"][supplier];
            let mut offer = json!({"supplier": supplier, "item": STOCK[item], "price": price.to_string(),
                "least_packs": least, "breaks": breaks});
            if pack > 0 {
                offer["pack"] = json!(pack.to_string());
            }
            offer
        },
    )
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 120, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn one_more_offer_makes_the_stock_no_dearer(mut offers in prop::collection::vec(offer(), 1..6), length in 60_i64..420) {
        for (n, offer) in offers.iter_mut().enumerate() {
            offer["order_code"] = json!(format!("more {n}"));
            // on terms of its own, since one supplier has one price on the same
            offer["lead_days"] = json!(20 + n);
        }
        let notes = |notes: &mut Value| {
            path_alone(notes);
            notes["runs"][0]["legs"] = json!([{"length": format!("{length} in")}]);
            notes["runs"][0]["outlets"] = json!([{"kind": "end", "id": "path-out", "at": "finish"}]);
        };
        let mut before = stock_and_work(&estimate(&with_offers(&[]), notes));
        for count in 1..=offers.len() {
            let after = stock_and_work(&estimate(&with_offers(&offers[..count]), notes));
            // the work of each list is shown in whole cents
            prop_assert!(after <= before + Decimal::new(5, 2), "{} after {}: {:#?}", after, before, &offers[..count]);
            before = after;
        }
    }
}
