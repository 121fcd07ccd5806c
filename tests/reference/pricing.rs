//! Prices and price lists against Python's decimal and csv modules.

use rillcast::compute::pricing::build_up_with;
use rillcast::compute::pricing::terms::Terms;
use rillcast::documents::price_list::read::read;
use rillcast::documents::price_list::report::Rules;
use rillcast::documents::price_list::write;
use rillcast::domain::lines::CostLine;
use rillcast::domain::words::Category;
use rillcast::units::{Amount, Currency, Percent, Price, Quantity};
use rillcast::wire::List;
use rillcast::wire::book::BookDoc;
use rillcast::wire::book::pricing::{MarkupScheme, Tax};
use rillcast::wire::notes::PricingNotes;
use rillcast::wire::{Wire, read_value};
use serde_json::{Value, json};

fn wire<T: Wire>(value: &Value) -> T {
    read_value(value).unwrap_or_else(|e| panic!("{e}: {value}"))
}

fn lines(case: &Value) -> Vec<CostLine> {
    let list = case["lines"].as_array().expect("lines");
    list.iter()
        .map(|l| {
            let cost = Amount::line(l["cost"].as_str().expect("a cost").parse().expect("a decimal"));
            CostLine {
                code: "x".to_owned(),
                description: "x".to_owned(),
                category: Category::from_word(l["category"].as_str().expect("a word")).expect("a category"),
                quantity: Quantity::pieces(1),
                unit_price: Price::from_millionths(cost.minor() * 10_000),
                cost,
                rule: "extra",
                basis: String::new(),
            }
        })
        .collect()
}

#[test]
fn build_ups_agree_with_an_independent_computation() {
    let cases: Vec<Value> = serde_json::from_str(include_str!("cases/pricing.json")).expect("cases");
    assert!(cases.len() >= 40);
    let mut discounted = 0;
    for case in &cases {
        let scheme: MarkupScheme = wire(&case["scheme"]);
        let tax: Tax = wire(&case["tax"]);
        let notes: PricingNotes = wire(&json!({"discounts": case["discounts"]}));
        discounted += notes.discounts.len();
        let terms = Terms::of(Some(&notes));
        let built = build_up_with(&lines(case), &scheme, &[tax], Currency::Usd, &terms, &mut Vec::new());
        let parts: serde_json::Map<String, Value> = built
            .by_category
            .iter()
            .filter(|c| c.cost != Amount::ZERO)
            .map(|c| (c.category.word().to_owned(), json!(c.price.to_string())))
            .collect();
        let got = json!({
            "direct_cost": built.direct_cost, "price_before_tax": built.price_before_tax, "tax": built.sale_tax,
            "total": built.total, "by_category": parts
        });
        assert_eq!(got, case["expected"], "{}", case["id"]);
    }
    assert!(discounted > 20, "{discounted}");
}

/// The list that Python's csv module writes is, byte for byte, the one written here, and reads into the same items.
#[test]
fn a_price_list_agrees_with_an_independent_writer() {
    let file = include_bytes!("cases/price_list.csv");
    let mut doc: BookDoc =
        rillcast::wire::read_document(rillcast::domain::demo::BOOK.as_bytes()).expect("the demo book");
    doc.items = List::default();
    let rules = Rules { largest_move_pct: Percent::whole(25), confirmed: false, remove_missing: false };
    let (report, items) = read(file, &doc, rules);
    assert_eq!(report.errors, Vec::new());
    assert_eq!(report.created, 10);
    let names: Vec<&str> = items.iter().map(|i| i.name.as_str()).collect();
    assert_eq!(names[3..8], ["=1+1", "-5 deg elbow", "'quoted'", "''=2", "\u{ff1d}x"]);
    assert_eq!(names[2], "Grate, 1/2\" bars, \"heavy\"");
    doc.items = List::new(items).expect("items");
    assert_eq!(String::from_utf8(write(&doc)).expect("text"), std::str::from_utf8(file).expect("text"));
}
