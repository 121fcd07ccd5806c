//! Margins that are taken side by side.

use super::{faults_with, with};
use serde_json::{Value, json};

/// A change that makes the first scheme one of these margins.
fn margins(overhead: &str, profit: &str, compounding: &str, own: &Value) -> impl Fn(&mut Value) {
    let margin = |pct: &str| json!({"pct": pct, "as_kind": "margin"});
    let (overhead, profit) = (margin(overhead), margin(profit));
    let (compounding, own) = (json!(compounding), own.clone());
    move |book| {
        let scheme = &mut book["markup_schemes"][0];
        scheme["overhead"] = overhead.clone();
        scheme["contingency"] = json!({"pct": "60", "as_kind": "markup"});
        scheme["profit"] = profit.clone();
        scheme["compounding"] = compounding.clone();
        scheme["by_category"] = own.clone();
    }
}

#[test]
fn together_they_leave_something_of_the_price() {
    let none = json!([]);
    assert_eq!(with(margins("50", "49.99", "additive", &none)), []);
    assert_eq!(with(margins("50", "50", "compound", &none)), [], "one upon the other they never reach it");
    let reached = margins("50", "50", "additive", &none);
    assert_eq!(with(&reached), [("#/markup_schemes/0".to_owned(), "out_of_range")]);
    let told = faults_with(&reached).list()[0].detail.clone();
    assert!(told.ends_with("together less than 100 %, not 50 % + 50 % = 100 %"), "{told}");
    // One that is too much by itself is told alone.
    let alone = with(margins("100", "50", "additive", &none));
    assert_eq!(alone, [("#/markup_schemes/0/overhead/pct".to_owned(), "out_of_range")]);
}

#[test]
fn with_the_rates_of_a_category_as_well() {
    let own = |pct: &str| json!([{"category": "labor", "contingency": {"pct": pct, "as_kind": "margin"}}]);
    assert_eq!(with(margins("40", "40", "additive", &own("19.99"))), []);
    let place = "#/markup_schemes/0/by_category/0".to_owned();
    assert_eq!(with(margins("40", "40", "additive", &own("20"))), [(place, "out_of_range")]);
}
