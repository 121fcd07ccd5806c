//! What a job buys from whom.

use crate::estimate::{book, estimate, number};
use rillcast::domain::book::PriceBook;
use rillcast::domain::demo::BOOK;
use rillcast::wire::read_document;
use rust_decimal::Decimal;
use serde_json::{Value, json};

fn checks<'v>(estimate: &'v Value, name: &str) -> Vec<&'v Value> {
    estimate["checks"].as_array().unwrap().iter().filter(|c| c["name"] == name).collect()
}

#[test]
fn the_estimate_costs_what_the_purchase_plan_says() {
    let estimate = estimate(&book(|_| {}), |_| {});
    let plan = &estimate["purchases"];
    assert_eq!(plan["proven"], true);
    let orders = plan["orders"].as_array().unwrap();
    assert_eq!(orders.iter().map(|o| number(&o["total"])).sum::<Decimal>(), number(&plan["total"]));
    // Each order line stands once among the cost lines at the same cost, and so does each delivery.
    let lines = estimate["cost_lines"].as_array().unwrap();
    for order in orders {
        for line in order["lines"].as_array().unwrap() {
            let found: Vec<&Value> = lines.iter().filter(|l| l["code"] == line["item"]).collect();
            assert_eq!(found.len(), 1, "{line}");
            assert_eq!(found[0]["cost"], line["cost"]);
            let packs = Decimal::from(line["packs"].as_i64().unwrap());
            assert_eq!(packs * number(&line["pack"]) - number(&line["needed"]), number(&line["over"]));
            assert!(number(&line["over"]) >= Decimal::ZERO);
        }
        let delivery = lines
            .iter()
            .filter(|l| l["code"] == order["supplier"])
            .map(|l| number(&l["cost"]))
            .sum::<Decimal>();
        assert_eq!(delivery, number(&order["delivery"]));
    }
    for line in lines {
        let exact = number(&line["quantity"]) * number(&line["unit_price"]);
        assert!((exact - number(&line["cost"])).abs() <= Decimal::new(5, 3), "{line}");
    }
}

#[test]
fn buying_around_beats_one_stop_and_says_by_how_much() {
    let estimate = estimate(&book(|_| {}), |_| {});
    let plan = &estimate["purchases"];
    let all =
        plan["one_stop"].as_array().unwrap().iter().filter(|s| s["missing"].as_array().unwrap().is_empty());
    let cheapest = all.map(|s| number(&s["total"])).min().unwrap();
    assert_eq!(cheapest - number(&plan["total"]), number(&plan["saving_over_one_stop"]));
    assert!(number(&plan["saving_over_one_stop"]) > Decimal::ZERO);
    assert!(plan["orders"].as_array().unwrap().len() > 1);
}

#[test]
fn a_limit_on_suppliers_is_kept_or_named() {
    let book = book(|_| {});
    let one = estimate(&book, |n| n["options"] = json!({"most_suppliers": 1}));
    assert_eq!(one["purchases"]["orders"].as_array().unwrap().len(), 1);
    assert_eq!(number(&one["purchases"]["saving_over_one_stop"]), Decimal::ZERO);
    let split = crate::estimate::book(|b| {
        // Hangers at one place only, screws at another only.
        b["offers"].as_array_mut().unwrap().retain(|o| {
            !(o["item"] == "hanger" && o["supplier"] != "millbrook"
                || o["item"] == "grate-screw" && o["supplier"] != "fen-lane")
        });
    });
    let cannot = estimate(&split, |n| n["options"] = json!({"most_suppliers": 1}));
    assert_eq!(checks(&cannot, "most_suppliers").len(), 1);
    assert!(cannot["purchases"]["orders"].as_array().unwrap().len() > 1);
}

#[test]
fn offers_out_of_date_or_too_late_are_set_aside_with_the_reason() {
    let book = book(|_| {});
    let late =
        estimate(&book, |n| n["options"] = json!({"order_on": "2028-01-03", "needed_by": "2028-01-05"}));
    let aside = late["purchases"]["set_aside"].as_array().unwrap();
    assert!(aside.iter().any(|s| s["why"].as_str().unwrap().contains("expired on 2027-12-31")), "{aside:?}");
    assert!(aside.iter().any(|s| s["why"].as_str().unwrap().contains("needed by 2028-01-05")), "{aside:?}");
    let orders = late["purchases"]["orders"].as_array().unwrap();
    assert_eq!(orders.iter().map(|o| &o["supplier"]).collect::<Vec<_>>(), ["millbrook"]);
    // Nothing at all can be there the same day: the book's price stands, and every item says so.
    let never =
        estimate(&book, |n| n["options"] = json!({"order_on": "2028-01-03", "needed_by": "2028-01-03"}));
    assert!(never.get("purchases").is_none());
    assert!(checks(&never, "offers_in_time").len() > 10);
    // Without a day nothing is checked, and that is said.
    assert_eq!(checks(&estimate(&book, |_| {}), "offers_in_time").len(), 1);
}

#[test]
fn goods_that_the_plan_needs_before_they_are_ordered_for_are_warned_of() {
    let book = book(|_| {});
    let with = |needed_by: Option<&str>| {
        estimate(&book, |n| {
            n["schedule"] = json!({"start": "2027-03-02"});
            n["options"] = json!({"order_on": "2027-03-02"});
            if let Some(day) = needed_by {
                n["options"]["needed_by"] = json!(day);
            }
        })
    };
    let usual = with(None);
    assert_eq!(usual["purchases"]["needed_by"], "2027-04-01");
    let found = checks(&usual, "goods_before_the_plan");
    assert_eq!(found.len(), 1);
    assert_eq!((&found[0]["outcome"], &found[0]["subject"]), (&json!("warn"), &json!("purchase")));
    let reason = found[0]["reason"].as_str().unwrap();
    let day = reason.strip_prefix("the plan needs goods on ").unwrap().split(' ').next().unwrap();
    assert!(("2027-03-02".."2027-04-01").contains(&day), "{reason}");
    // Ordered for that day, nothing is left to say; a day later it is said again.
    assert_eq!(checks(&with(Some(day)), "goods_before_the_plan").len(), 0);
    let next = day.parse::<jiff::civil::Date>().unwrap().tomorrow().unwrap().to_string();
    assert_eq!(checks(&with(Some(&next)), "goods_before_the_plan").len(), 1);
}

#[test]
fn a_book_without_suppliers_buys_at_its_own_prices() {
    let bare = book(|b| {
        b.as_object_mut().unwrap().remove("suppliers");
        b.as_object_mut().unwrap().remove("offers");
    });
    let estimate = estimate(&bare, |_| {});
    assert!(estimate.get("purchases").is_none());
    let line =
        estimate["cost_lines"].as_array().unwrap().iter().find(|l| l["code"] == "grate-screw").unwrap();
    // 0.42 each, in whole 25s
    assert_eq!(number(&line["unit_price"]), Decimal::new(42, 2));
    assert!((number(&line["quantity"]) % Decimal::from(25)).is_zero());
}

/// Seventeen grates: a box of ten and seven single ones.
#[test]
fn a_box_and_single_grates_stand_as_two_lines() {
    let both =
        json!({"supplier": "fen-lane", "item": "grate-6-cast", "order_code": "single", "price": "58.70"});
    let estimate = estimate(&book(|b| b["offers"].as_array_mut().unwrap().push(both)), |_| {});
    let lines: Vec<&Value> =
        estimate["cost_lines"].as_array().unwrap().iter().filter(|l| l["code"] == "grate-6-cast").collect();
    let orders = estimate["purchases"]["orders"].as_array().unwrap();
    let ordered: Vec<&Value> = orders
        .iter()
        .flat_map(|o| o["lines"].as_array().unwrap())
        .filter(|l| l["item"] == "grate-6-cast")
        .collect();
    assert_eq!((lines.len(), ordered.len()), (2, 2), "{lines:?}");
    assert_eq!(number(&ordered[0]["needed"]) + number(&ordered[1]["needed"]), Decimal::from(17));
    assert_eq!((&lines[0]["cost"], &lines[1]["cost"]), (&json!("516.56"), &json!("410.90")));
    let basis = lines[1]["basis"].as_str().unwrap();
    assert!(basis.ends_with("7 of 17 each x 58.70 = 410.90 from fen-lane: single"), "{basis}");
}

/// What an offer without a pack sells comes in multiples of its item's increment, at the price of a unit.
#[test]
fn an_offer_without_a_pack_sells_by_the_increment() {
    let offered = |item: &str, increment: &str, price: &str, more: Value| {
        let mut offer =
            json!({"supplier": "millbrook", "item": item, "order_code": "by the unit", "price": price});
        offer.as_object_mut().unwrap().extend(more.as_object().unwrap().clone());
        let estimate = estimate(
            &book(|b| {
                let offers = b["offers"].as_array_mut().unwrap();
                offers.retain(|o| o["item"] != item);
                offers.push(offer);
                let items = b["items"].as_array_mut().unwrap();
                items.iter_mut().find(|i| i["code"] == item).unwrap()["increment"] = json!(increment);
            }),
            |_| {},
        );
        let line =
            estimate["cost_lines"].as_array().unwrap().iter().find(|l| l["code"] == item).unwrap().clone();
        let order =
            estimate["purchases"]["orders"].as_array().unwrap().iter().find(|o| o["supplier"] == "millbrook");
        let order =
            order.unwrap()["lines"].as_array().unwrap().iter().find(|l| l["item"] == item).unwrap().clone();
        (line, order)
    };
    let nothing = || json!({});
    // 0.09 of a blade, charged by its wear
    let (blade, order) = offered("saw-blade", "0.01", "180.00", nothing());
    assert_eq!(
        (&blade["quantity"], &blade["unit_price"]),
        (&json!({"value": "0.09", "unit": "each"}), &json!("180.00"))
    );
    assert_eq!(
        (&blade["cost"], &order["packs"], &order["pack"]["value"]),
        (&json!("16.20"), &json!(9), &json!("0.01"))
    );
    // strip in whole tens of feet
    let (strip, order) = offered("recess-strip", "10", "0.40", nothing());
    let needed = number(&order["needed"]);
    let tens = (needed / Decimal::TEN).ceil() * Decimal::TEN;
    assert_ne!(needed, tens);
    assert_eq!((number(&strip["quantity"]), number(&strip["unit_price"])), (tens, Decimal::new(40, 2)));
    // breaks and least orders count units: fifty feet are five tens
    let (strip, order) = offered(
        "recess-strip",
        "10",
        "0.40",
        json!({"breaks": [{"packs": 30, "price": "0.20"}], "least_packs": 105}),
    );
    assert_eq!((number(&strip["quantity"]), &order["packs"]), (Decimal::from(110), &json!(11)));
    assert_eq!(number(&strip["unit_price"]), Decimal::new(20, 2));
    // any amount
    let (strip, order) = offered("recess-strip", "0", "0.40", nothing());
    assert_eq!((number(&strip["quantity"]), number(&order["over"])), (needed, Decimal::ZERO));
}

#[test]
fn faults_of_suppliers_and_offers_are_named_at_once() {
    let mut doc: Value = serde_json::from_str(BOOK).unwrap();
    let offers = doc["offers"].as_array_mut().unwrap();
    let twin = offers[0].clone();
    offers.push(twin);
    offers[1]["supplier"] = json!("nobody");
    offers[2]["item"] = json!("no-such-item");
    offers[3]["unit"] = json!("ft");
    offers[4]["breaks"] = json!([{"packs": 5, "price": "1.00"}, {"packs": 4, "price": "2.00"}]);
    offers[5]["pack"] = json!("0");
    let faults = PriceBook::check(read_document(doc.to_string().as_bytes()).unwrap()).unwrap_err();
    let text = format!("{faults:?}");
    for part in [
        "/offers/1/supplier",
        "/offers/2/item",
        "/offers/3/unit",
        "/offers/4/breaks/1/packs",
        "/offers/4/breaks/1/price",
        "/offers/5/pack",
        "order_code",
    ] {
        assert!(text.contains(part), "{part}: {text}");
    }
}

/// An order goes out before the first of its offers lapses, and in time for what takes the longest.
#[test]
fn an_order_goes_out_before_its_first_offer_lapses() {
    let by = |first: &'static str, rest: &'static str| -> Vec<Value> {
        let book = book(|b| {
            for (i, offer) in b["offers"].as_array_mut().unwrap().iter_mut().enumerate() {
                offer["valid_until"] = json!(if i % 2 == 0 { first } else { rest });
                offer["lead_days"] = json!(if i % 3 == 0 { 5 } else { 2 });
            }
        });
        let made = estimate(&book, |n| {
            n["options"] = json!({"order_on": "2027-03-02", "needed_by": "2027-04-01"});
        });
        let orders = made["purchases"]["orders"].as_array().unwrap().iter();
        let of_many = orders.filter(|o| o["lines"].as_array().unwrap().len() > 6);
        of_many.map(|o| o["order_by"].clone()).collect()
    };
    for (first, rest) in [("2027-03-10", "2027-03-20"), ("2027-03-20", "2027-03-10")] {
        let days = by(first, rest);
        assert!(!days.is_empty() && days.iter().all(|d| d == "2027-03-10"), "{days:?}");
    }
    // five days before the first of April
    let days = by("2027-12-31", "2027-12-31");
    assert!(!days.is_empty() && days.iter().all(|d| d == "2027-03-27"), "{days:?}");
}
