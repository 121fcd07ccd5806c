//! Pipe that comes in several lengths: lines are made up of what costs least, and every part of an estimate speaks of the same pieces.

use crate::estimate::{book, estimate, number};
use rillcast::compute::second_look::{self, Beside};
use rillcast::domain::book::PriceBook;
use rillcast::domain::book::difference::books;
use rillcast::wire::book::BookDoc;
use rillcast::wire::read_value;
use rust_decimal::Decimal;
use serde_json::{Value, json};

const LONG: &str = "pipe-4-sewer-10ft";
const SHORT: &str = "pipe-4-sewer-5ft";

/// The item of the shorter length, at a price, and the length itself in the book.
fn in_two_lengths(b: &mut Value, price: &str) {
    b["items"]
        .as_array_mut()
        .unwrap()
        .push(json!({"code": SHORT, "name": "Drain pipe, 4 in smooth plastic, 5 ft",
        "category": "material", "unit": "each", "price": price}));
    b["pipes"][0]["further_stock"] = json!([{"item": SHORT, "length": "5 ft"}]);
}

/// The demo's garden path with its line alone, so long.
fn line_of(length: &'static str) -> impl FnOnce(&mut Value) {
    move |notes| {
        notes["runs"] = json!([notes["runs"][1]]);
        let mut line = notes["drain_lines"][1].clone();
        line["legs"] = json!([{"length": length}]);
        line["ends"] = json!({"kind": "discharges", "to": "swale"});
        notes["drain_lines"] = json!([line]);
        for gone in ["storm", "catchments"] {
            notes.as_object_mut().unwrap().remove(gone);
        }
    }
}

/// How many of an item an estimate buys.
fn bought(estimate: &Value, item: &str) -> Decimal {
    let lines = estimate["cost_lines"].as_array().unwrap().iter();
    lines.filter(|l| l["code"] == item).map(|l| number(&l["quantity"]["value"])).sum()
}

fn pipe_list(estimate: &Value) -> &Value {
    let lists = estimate["layout"]["cut_lists"].as_array().unwrap();
    lists.iter().find(|l| l["part"] == "pipe").unwrap()
}

fn doc(change: impl FnOnce(&mut Value)) -> BookDoc {
    let mut document: Value = serde_json::from_str(rillcast::domain::demo::BOOK).unwrap();
    change(&mut document);
    read_value(&document).unwrap()
}

/// A longer pipe that the book lists and the line may not be made of hides nothing that hangs clear: the shortest one counts.
#[test]
fn a_further_length_hides_no_overhang() {
    let falls = |notes: &mut Value| {
        line_of("30 ft")(notes);
        let line = &mut notes["drain_lines"][0];
        line["ground"] = json!([{"at": "0 ft", "level": "-3 in"}, {"at": "5 ft", "level": "-3 in"}, {"at": "30 ft", "level": "-90 in"}]);
        line["ends"] = json!({"kind": "discharges", "to": "daylight", "invert_level": "-24 in"});
        line.as_object_mut().unwrap().remove("fall_pct");
    };
    let cover = |estimate: &Value| {
        let checks = estimate["checks"].as_array().unwrap();
        checks
            .iter()
            .find(|c| c["name"] == "cover")
            .map(|c| (c["outcome"].clone(), c["reason"].clone()))
            .unwrap()
    };
    let alone = cover(&estimate(&book(|_| {}), falls));
    assert_eq!(alone.0, "fail", "{}", alone.1);
    let listed = book(|b| {
        let item = json!({"code": "pipe-4-sewer-20ft", "name": "Drain pipe, 4 in smooth plastic, 20 ft", "category": "material",
            "unit": "each", "price": "900.00"});
        b["items"].as_array_mut().unwrap().push(item);
        b["pipes"][0]["further_stock"] = json!([{"item": "pipe-4-sewer-20ft", "length": "20 ft"}]);
    });
    assert_eq!(cover(&estimate(&listed, falls)), alone);
}

/// 14 ft are two lengths of 10 ft, 49.00, or one of 10 ft and one of 5 ft, 37.50; the joint between them is the same.
#[test]
fn a_line_takes_the_cheapest_mix_of_lengths() {
    let one = estimate(&book(|_| {}), line_of("14 ft"));
    assert_eq!((bought(&one, LONG), bought(&one, SHORT)), (Decimal::TWO, Decimal::ZERO));
    let both = estimate(&book(|b| in_two_lengths(b, "13.00")), line_of("14 ft"));
    assert_eq!((bought(&both, LONG), bought(&both, SHORT)), (Decimal::ONE, Decimal::ONE));
    let sheet = pipe_list(&both)["sheet"].as_array().unwrap();
    let stock: Vec<&str> = sheet.iter().map(|row| row["stock"].as_str().unwrap()).collect();
    assert!(stock.contains(&LONG) && stock.contains(&SHORT), "{stock:?}");
    // at more than the longer one nobody takes the shorter
    let dear = estimate(&book(|b| in_two_lengths(b, "25.00")), line_of("14 ft"));
    assert_eq!((bought(&dear, LONG), bought(&dear, SHORT)), (Decimal::TWO, Decimal::ZERO));
    // what is bought where it is offered is in the plan of purchases too, and weighed at its price there
    let offered = book(|b| {
        in_two_lengths(b, "25.00");
        let offer = json!({"supplier": "millbrook", "item": SHORT, "order_code": "M-099", "pack": "1", "price": "13.00"});
        b["offers"].as_array_mut().unwrap().push(offer);
    });
    let offered = estimate(&offered, line_of("14 ft"));
    assert_eq!((bought(&offered, LONG), bought(&offered, SHORT)), (Decimal::ONE, Decimal::ONE));
    let plan = offered["purchases"]["orders"].to_string();
    assert!(plan.contains("M-099"), "{plan}");
}

/// A rest in the yard of the shorter length serves as one of the longer does.
#[test]
fn an_offcut_of_either_length_is_used() {
    let by = |item: &'static str| {
        let book = book(|b| in_two_lengths(b, "13.00"));
        estimate(&book, move |notes| {
            line_of("14 ft")(notes);
            notes["yard_offcuts"] = json!([{"item": item, "length": "4 ft"}]);
        })
    };
    for item in [LONG, SHORT] {
        let with = by(item);
        assert_eq!((bought(&with, LONG), bought(&with, SHORT)), (Decimal::ONE, Decimal::ZERO), "{item}");
    }
}

/// A book that does not use it is written, and answers, as before.
#[test]
fn a_book_with_one_length_stays_as_it_was() {
    let written = serde_json::to_value(doc(|_| {})).unwrap();
    assert!(written["pipes"].as_array().unwrap().iter().all(|pipe| pipe.get("further_stock").is_none()));
    let empty = book(|b| b["pipes"][0]["further_stock"] = json!([]));
    assert_eq!(estimate(&empty, |_| {}), estimate(&book(|_| {}), |_| {}));
}

#[test]
fn a_further_length_is_checked_looked_at_and_compared() {
    let (before, after) = (doc(|_| {}), doc(|b| in_two_lengths(b, "13.00")));
    let difference = serde_json::to_value(books(&before, &after)).unwrap().to_string();
    assert!(difference.contains("further_stock"), "{difference}");
    let looks = |document: &BookDoc| {
        let day = jiff::civil::date(2026, 3, 2);
        let found = second_look::of(document, Beside { day, before: None });
        found.into_iter().map(|l| l.pointer).collect::<Vec<_>>()
    };
    assert_eq!(looks(&after), [""; 0]);
    let long = |b: &mut Value| {
        in_two_lengths(b, "13.00");
        b["pipes"][0]["further_stock"][0]["length"] = json!("5 in");
    };
    assert!(looks(&doc(long)).contains(&"#/pipes/0/further_stock/0/length".to_owned()));
    let price = looks(&doc(|b| in_two_lengths(b, "1300")));
    assert!(price.iter().any(|pointer| pointer.starts_with("#/items/")), "{price:?}");
    let faults = |change: fn(&mut Value)| {
        let document = doc(|b| {
            in_two_lengths(b, "13.00");
            change(b);
        });
        let faults = PriceBook::check(document).unwrap_err();
        faults.list().iter().map(|f| (f.pointer.clone(), f.code)).collect::<Vec<_>>()
    };
    for (change, pointer, code) in [
        (
            (|b| b["pipes"][0]["further_stock"][0]["length"] = json!("10 ft")) as fn(&mut Value),
            "#/pipes/0/further_stock/0/length",
            "duplicate",
        ),
        (
            |b| b["pipes"][0]["further_stock"][0]["item"] = json!("no-such"),
            "#/pipes/0/further_stock/0/item",
            "unknown_code",
        ),
        (
            |b| b["pipes"][0]["further_stock"][0]["item"] = json!(LONG),
            "#/pipes/0/further_stock/0/item",
            "contradiction",
        ),
        (
            |b| b["pipes"][0]["further_stock"][0]["length"] = json!("0 ft"),
            "#/pipes/0/further_stock/0/length",
            "out_of_range",
        ),
        (|b| b["cutting"]["least_piece"] = json!("11 ft"), "#/cutting/least_piece", "stock_too_short"),
    ] {
        let found = faults(change);
        assert!(found.contains(&(pointer.to_owned(), code)), "{pointer}: {found:?}");
    }
    // one length that is long enough will do
    let short = faults_of_least("6 ft");
    assert!(short.is_empty(), "{short:?}");
}

/// Faults of a least piece that the shorter length is too short for.
fn faults_of_least(least: &str) -> Vec<String> {
    let document = doc(|b| {
        in_two_lengths(b, "13.00");
        b["cutting"]["least_piece"] = json!(least);
    });
    let faults = PriceBook::check(document).err();
    faults.iter().flat_map(|f| f.list()).map(|f| f.detail.clone()).filter(|d| d.contains("pipe-4")).collect()
}
