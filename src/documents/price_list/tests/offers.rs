//! Offers beside the items that a list moves.

use super::{RULES, demo, read};
use crate::documents::price_list::offers::{MOST_OFFERS, to_look_at};
use crate::wire::List;
use serde_json::{Value, json};

#[test]
fn offers_with_prices_of_their_own_are_named_where_the_price_of_their_item_moves() {
    // Couplings have an offer with a lower price from ten on, and one with a price; the channel has one that follows its own price.
    let list = "code,price\ncoupling-4-light,4.20\nchannel-4-light-4ft,28.50\ncap-4-light,4.60\n";
    let (report, _) = read(list.as_bytes(), &demo(), RULES);
    assert!(report.importable && report.errors.is_empty(), "nothing is wrong: {:?}", report.errors);
    assert_eq!((report.updated, report.items_with_offers, report.offers_truncated), (2, 1, false));
    let told = serde_json::to_value(&report).unwrap();
    assert_eq!(
        told["offers_with_prices"],
        json!([
            {"pointer": "#/offers/2", "supplier": "millbrook", "order_code": "M-003", "item": "coupling-4-light", "breaks": 1},
            {"pointer": "#/offers/3", "supplier": "fen-lane", "order_code": "FL-003", "item": "coupling-4-light", "price": "3.97",
                "breaks": 0},
        ])
    );
    let words = to_look_at(&report.offers_with_prices, report.items_with_offers).unwrap();
    assert!(words.starts_with("the price of `coupling-4-light` moves, but offers for it have"), "{words}");
    // Nothing is said where no price moves: of the same price, of another name.
    let list = "code,price,name\ncoupling-4-light,3.85,Coupling\n";
    let (report, _) = read(list.as_bytes(), &demo(), RULES);
    assert_eq!((report.updated, report.items_with_offers), (1, 0));
    assert_eq!((report.offers_with_prices.len(), to_look_at(&report.offers_with_prices, 0)), (0, None));
}

#[test]
fn packs_units_and_last_days_are_told_with_the_price() {
    let mut doc: Value = serde_json::from_str(crate::domain::demo::BOOK).unwrap();
    let offer = &mut doc["offers"][3];
    for (name, value) in [("pack", json!("10")), ("unit", json!("each")), ("price", json!("38.00"))] {
        offer[name] = value;
    }
    offer["valid_until"] = json!("2026-12-31");
    let (report, _) =
        read(b"code,price\ncoupling-4-light,4.20\n", &crate::wire::read_value(&doc).unwrap(), RULES);
    let told = serde_json::to_value(&report).unwrap();
    let offer = &told["offers_with_prices"][1];
    assert_eq!(
        ["pack", "unit", "price", "valid_until"].map(|name| &offer[name]),
        [&json!("10"), &json!("each"), &json!("38.00"), &json!("2026-12-31")]
    );
}

#[test]
fn of_many_such_offers_the_first_are_listed_and_the_items_counted() {
    let mut doc = demo();
    let first = doc.offers.iter().find(|o| o.price.is_some()).unwrap().clone();
    let offers: Vec<_> = (0..=MOST_OFFERS).map(|_| first.clone()).collect();
    doc.offers = List::new(offers).unwrap();
    let list = format!("code,price\n{},4.20\n", first.item);
    let (report, _) = read(list.as_bytes(), &doc, RULES);
    assert_eq!(report.offers_with_prices.len(), MOST_OFFERS);
    assert_eq!((report.items_with_offers, report.offers_truncated), (1, true));
}
