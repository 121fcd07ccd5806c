//! A book beside the version before.

use super::{Change, item};
use crate::compute::second_look::{Beside, of};
use crate::domain::demo::BOOK;
use jiff::civil::date;
use serde_json::{Value, json};

#[test]
fn what_did_not_change_with_the_version_before_is_told() {
    let book = |change: Change| {
        let mut book: Value = serde_json::from_str(BOOK).unwrap();
        change(&mut book);
        crate::wire::read_value::<crate::wire::book::BookDoc>(&book).unwrap()
    };
    let before = book(|_| ());
    let looks = |change: Change| {
        let beside = Beside { day: date(2026, 3, 2), before: Some(&before) };
        let found = of(&book(change), beside);
        found.into_iter().map(|l| (l.pointer, l.value, l.usual)).collect::<Vec<_>>()
    };
    assert_eq!(looks(|_| ()), []);
    let told =
        |pointer: &str, value: &str, usual: &str| [(pointer.to_owned(), value.to_owned(), usual.to_owned())];
    let found = looks(|b| item(b, "tip-soil")["unit"] = json!("ft3"));
    // 13.50 a cubic foot is 364.50 a cubic yard
    assert_eq!(found, told("#/items/65/unit", "13.50 by the ft3", "6.75 to 27.00"));
    let found = looks(|b| item(b, "tip-soil")["unit"] = json!("short_ton"));
    assert_eq!(found, told("#/items/65/unit", "13.50 by the short_ton", "by the yd3"));
    let found = looks(|b| {
        let tip = item(b, "tip-soil");
        (tip["unit"], tip["price"]) = (json!("ft3"), json!("0.50"));
    });
    assert_eq!(found, []);
    // nothing is compared with what was free, and what is free now is told once
    let free = book(|b| item(b, "tip-soil")["price"] = json!("0"));
    let beside = Beside { day: date(2026, 3, 2), before: Some(&free) };
    let dear = book(|b| {
        let tip = item(b, "tip-soil");
        (tip["unit"], tip["price"]) = (json!("ft3"), json!("0.52"));
    });
    assert_eq!(of(&dear, beside), []);
    let found = looks(|b| {
        let tip = item(b, "tip-soil");
        (tip["unit"], tip["price"]) = (json!("ft3"), json!("0"));
    });
    assert_eq!(found.iter().map(|(at, ..)| at.as_str()).collect::<Vec<_>>(), ["#/items/65/price"]);
    let found = looks(|b| b["currency"] = json!("CAD"));
    assert_eq!(found, told("#/currency", "CAD", "USD, or other prices"));
    let dearer: Change = |b| {
        b["currency"] = json!("CAD");
        for item in b["items"].as_array_mut().unwrap() {
            let price: rust_decimal::Decimal = item["price"].as_str().unwrap().parse().unwrap();
            item["price"] = json!((price * rust_decimal::Decimal::TWO).to_string());
        }
        // offers that name a price follow
        b["offers"] = json!([]);
    };
    assert_eq!(looks(dearer), []);
}
