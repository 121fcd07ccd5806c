//! Settings that something would be chosen by wrongly: classes, gaps, methods, falls, offers.

use super::{faults_with, remove, with};
use crate::wire::Fault;
use serde_json::{Value, json};

/// The one fault of a change.
fn fault(change: impl Fn(&mut Value)) -> Fault {
    let faults = faults_with(change);
    let [fault] = faults.list() else { panic!("{faults}") };
    fault.clone()
}

#[test]
fn what_bears_feet_only_is_no_class_for_wheels() {
    for (name, class, least) in [("en_1433", "A15", "B125"), ("asme_a112_6_3", "light_duty", "medium_duty")] {
        let found = fault(|b| b["use_classes"][1][name] = json!(class));
        assert_eq!((found.pointer, found.code), (format!("#/use_classes/1/{name}"), "class_for_feet"));
        assert_eq!(found.value.as_deref(), Some(class));
        assert_eq!(found.allowed.first().map(String::as_str), Some(least), "{:?}", found.allowed);
    }
    assert_eq!(with(|b| b["use_classes"][1]["asme_a112_6_3"] = json!("medium_duty")), []);
    // a class of the other standard is that and nothing more
    for (name, class) in [("en_1433", "light_duty"), ("asme_a112_6_3", "A15")] {
        let found = fault(|b| b["use_classes"][1][name] = json!(class));
        assert_eq!((found.pointer, found.code), (format!("#/use_classes/1/{name}"), "contradiction"));
    }
}

/// A use calls for a class by every standard that a grate of the book is rated by, and by no other.
#[test]
fn a_class_of_a_standard_that_rates_no_grate_may_be_left_out() {
    const ASME: [&str; 2] = ["light_duty", "heavy_duty"];
    fn without(book: &mut Value, member: &str) {
        for i in 0..2 {
            remove(&mut book["use_classes"][i], member);
        }
    }
    fn rated_by_asme(book: &mut Value) {
        for system in book["channel_systems"].as_array_mut().into_iter().flatten() {
            for grate in system["grates"].as_array_mut().into_iter().flatten() {
                grate["load_class"] = json!("heavy_duty");
            }
        }
    }
    let places = |member: &str| [0, 1].map(|i| (format!("#/use_classes/{i}/{member}"), "required"));
    // the grates of the demo book are rated by EN 1433
    assert_eq!(with(|b| without(b, "asme_a112_6_3")), []);
    assert_eq!(with(|b| without(b, "en_1433")), places("en_1433"));
    let by_asme = |b: &mut Value| {
        rated_by_asme(b);
        without(b, "en_1433");
    };
    assert_eq!(with(by_asme), []);
    let found = with(|b| {
        rated_by_asme(b);
        without(b, "asme_a112_6_3");
    });
    assert_eq!(found, places("asme_a112_6_3"));
    let found = with(|b| {
        without(b, "en_1433");
        without(b, "asme_a112_6_3");
    });
    assert_eq!(found, places("en_1433"));
    let found = fault(|b| {
        rated_by_asme(b);
        b["channel_systems"][1]["grates"][0]["load_class"] = json!("C250");
        without(b, "en_1433");
        b["use_classes"][0]["en_1433"] = json!("A15");
    });
    assert_eq!(found.pointer, "#/use_classes/1/en_1433");
    assert!(
        found.detail.contains("is rated by EN 1433: say which of its classes `wheels` calls for"),
        "{found:?}"
    );
    // what is there is compared
    let found = fault(|b| {
        by_asme(b);
        b["use_classes"][0]["asme_a112_6_3"] = json!(ASME[1]);
        b["use_classes"][1]["asme_a112_6_3"] = json!("medium_duty");
    });
    assert_eq!((found.pointer.as_str(), found.code), ("#/use_classes/1/asme_a112_6_3", "contradiction"));
}

/// Two uses are compared by the standard that the book has classes of.
#[test]
fn uses_are_compared_by_the_standard_of_the_book() {
    use crate::domain::book::PriceBook;
    use crate::domain::words::{Crossing, LoadClass};
    let mut book: Value = serde_json::from_str(crate::domain::demo::BOOK).unwrap_or_default();
    let serves = |book: &Value| {
        let doc = crate::wire::read_value(book).unwrap_or_else(|e| panic!("{e}"));
        let book = PriceBook::published(doc);
        let classes = [LoadClass::A15, LoadClass::Light].map(|c| book.least_class(Crossing::Feet, c));
        (
            book.serves(Crossing::Wheels, Crossing::Feet),
            book.serves(Crossing::Feet, Crossing::Wheels),
            classes,
        )
    };
    let both = [Some(LoadClass::A15), Some(LoadClass::Light)];
    assert_eq!(serves(&book), (Some(true), Some(false), both));
    for i in 0..2 {
        remove(&mut book["use_classes"][i], "en_1433");
    }
    assert_eq!(serves(&book), (Some(true), Some(false), [None, Some(LoadClass::Light)]));
}

#[test]
fn a_gap_between_grates_is_small_beside_them() {
    let found = fault(|b| b["setting_details"][1]["hot_grate_gap"] = json!("8 in"));
    assert_eq!(found.pointer, "#/setting_details/1/hot_grate_gap");
    assert_eq!((found.code, found.value.as_deref()), ("out_of_range", Some("8 in")));
    assert!(found.detail.contains("a quarter of the shortest grate, 4.921 in"), "{}", found.detail);
    assert_eq!(with(|b| b["setting_details"][1]["hot_grate_gap"] = json!("125 mm")), []);
}

#[test]
fn of_several_methods_one_is_usual() {
    let found = fault(|b| remove(&mut b["labor"][2], "usual"));
    assert_eq!((found.pointer.as_str(), found.code), ("#/labor/2/usual", "required"));
    assert!(found.detail.contains("`saw_cut` has 2 methods"), "{}", found.detail);
    let none = with(|b| {
        for rate in b["labor"].as_array_mut().into_iter().flatten() {
            rate["usual"] = json!(false);
        }
    });
    let places = [2, 4, 6, 8].map(|i| (format!("#/labor/{i}/usual"), "required"));
    assert_eq!(none, places, "a task of one method has no choice");
}

#[test]
fn every_pipe_has_a_least_fall() {
    let falls = |falls: Value| move |b: &mut Value| b["line_rules"]["least_falls"] = falls.clone();
    let found = fault(falls(json!([{"bore_up_to": "5 in", "least_pct": "2"}])));
    assert_eq!(found.pointer, "#/line_rules/least_falls/0/bore_up_to");
    assert_eq!((found.code, found.value.as_deref()), ("missing_band", Some("5 in")));
    assert!(found.detail.contains("`pipe-8` has a bore of 7.92 in"), "{}", found.detail);
    assert_eq!(with(falls(json!([{"bore_up_to": "7.92 in", "least_pct": "2"}]))), []);
}

#[test]
fn no_offer_is_free() {
    type Change = fn(&mut Value);
    let cases: [(Change, &str); 3] = [
        (|b| b["offers"][3]["price"] = json!("0"), "#/offers/3/price"),
        (|b| b["offers"][2]["breaks"][0]["price"] = json!("0"), "#/offers/2/breaks/0/price"),
        // taken from the item
        (|b| b["items"][0]["price"] = json!("0"), "#/offers/0/price"),
    ];
    for (change, pointer) in cases {
        let found = fault(change);
        assert_eq!((found.pointer.as_str(), found.code), (pointer, "out_of_range"));
        assert!(found.detail.contains("before every other"), "{}", found.detail);
    }
    // what is taken from stock is offered by nobody
    let stock = with(|b| {
        for item in b["items"].as_array_mut().into_iter().flatten().filter(|i| i["code"] == "saw-blade") {
            item["price"] = json!("0");
        }
    });
    assert_eq!(stock, []);
}

#[test]
fn one_offer_has_one_price() {
    let also = |more: Value| {
        move |b: &mut Value| {
            let mut offer = b["offers"][3].clone();
            offer["order_code"] = json!("FL-903");
            for (name, value) in more.as_object().into_iter().flatten() {
                offer[name] = value.clone();
            }
            if let Some(offers) = b["offers"].as_array_mut() {
                offers.insert(4, offer);
            }
        }
    };
    let found = fault(also(json!({"price": "3.80"})));
    assert_eq!((found.pointer.as_str(), found.code), ("#/offers/4/price", "contradiction"));
    assert_eq!(found.value.as_deref(), Some("3.80"));
    assert!(found.detail.contains("`FL-003` at 3.97"), "{}", found.detail);
    for other in [
        json!({}),
        json!({"price": "3.80", "lead_days": 9}),
        json!({"price": "38.00", "pack": "10"}),
        json!({"price": "3.80", "least_packs": 50}),
        json!({"price": "3.80", "valid_until": "2027-03-31"}),
    ] {
        assert_eq!(with(also(other.clone())), [], "{other}");
    }
    // said in other words
    for same in [json!({"price": "3.80", "pack": "1"}), json!({"price": "3.80", "least_packs": 1})] {
        let found = fault(also(same.clone()));
        assert_eq!((found.pointer.as_str(), found.code), ("#/offers/4/price", "contradiction"), "{same}");
    }
    // where the item is sold by halves, whole ones are another pack
    let halves = with(|b| {
        let items = b["items"].as_array_mut().into_iter().flatten();
        items.filter(|i| i["code"] == "coupling-4-light").for_each(|i| i["increment"] = json!("0.5"));
        also(json!({"price": "3.80", "pack": "1"}))(b);
    });
    assert_eq!(halves, []);
}

/// The whole ladder of prices tells whether one of two offers would never be taken.
#[test]
fn offers_that_differ_in_their_breaks_are_compared_break_by_break() {
    // the item costs 3.85, at Millbrook 3.62 from ten on
    let beside = |more: Value| {
        move |b: &mut Value| {
            let mut offer = b["offers"][2].clone();
            offer["order_code"] = json!("M-903");
            for (name, value) in more.as_object().into_iter().flatten() {
                offer[name] = value.clone();
            }
            if let Some(offers) = b["offers"].as_array_mut() {
                offers.insert(3, offer);
            }
        }
    };
    let found = fault(beside(json!({"breaks": [{"packs": 10, "price": "3.00"}]})));
    assert_eq!((found.pointer.as_str(), found.code), ("#/offers/3/breaks/0/price", "contradiction"));
    assert_eq!(found.value.as_deref(), Some("3.00"));
    assert!(found.detail.contains("`M-003` at 3.62 from 10 on"), "{}", found.detail);
    let found = fault(beside(json!({"price": "3.60", "breaks": []})));
    assert_eq!(found.pointer, "#/offers/3/price");
    assert!(found.detail.contains("`M-003` at 3.85,"), "{}", found.detail);
    for other in [
        json!({}),
        // lower for a few, dearer for many
        json!({"price": "3.80", "breaks": []}),
        json!({"price": "3.80", "breaks": [{"packs": 10, "price": "3.70"}]}),
        // another break, not another price
        json!({"breaks": []}),
        json!({"breaks": [{"packs": 20, "price": "3.50"}]}),
    ] {
        assert_eq!(with(beside(other.clone())), [], "{other}");
    }
    // a least order beyond the break is sold by its price
    let tens =
        |price: &str| json!({"least_packs": 10, "price": "3.80", "breaks": [{"packs": 10, "price": price}]});
    let both = |b: &mut Value| {
        beside(tens("3.62"))(b);
        b["offers"][2]["least_packs"] = json!(10);
    };
    assert_eq!(with(both), []);
}
