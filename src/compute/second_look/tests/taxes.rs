//! Taxes of a district or a city on top of that of a state.

use super::looks;
use serde_json::{Value, json};

#[test]
fn a_small_tax_is_usual_beside_another_on_the_same() {
    let taxes = |b: &mut Value, rates: [&str; 2], of: &str| {
        b["taxes"] = Value::from_iter(["first", "second"].into_iter().zip(rates).map(|(code, rate)| {
            json!({"code": code, "name": "Tax", "rate_pct": rate, "categories": ["material"],
                "due_on": "purchase", "rounding": "per_document"})
        }));
        b["taxes"][1]["categories"] = json!([of]);
    };
    let told_at = |found: Vec<(String, String)>| found.into_iter().map(|(at, _)| at).collect::<Vec<_>>();
    let found = looks(|b| taxes(b, ["0.0625", "0.25"], "material"));
    assert_eq!(told_at(found), ["#/taxes/0/rate_pct", "#/taxes/1/rate_pct"]);
    let found = looks(|b| taxes(b, ["6.25", "0.02"], "material"));
    assert_eq!(told_at(found), ["#/taxes/1/rate_pct"]);
    let found = looks(|b| taxes(b, ["6.25", "0.25"], "hire"));
    assert_eq!(told_at(found), ["#/taxes/1/rate_pct"]);
    let found = looks(|b| {
        taxes(b, ["6.25", "0.25"], "material");
        (b["taxes"][0]["places"], b["taxes"][1]["places"]) = (json!(["north"]), json!(["south"]));
    });
    assert_eq!(told_at(found), ["#/taxes/1/rate_pct"]);
    for added in ["0.25", "0.1", "0.05"] {
        assert_eq!(looks(|b| taxes(b, ["6.25", added], "material")), []);
    }
}
