//! Needs of an estimate add up exactly before they are rounded up to what is sold.

use crate::estimate::{book, estimate, number};
use rust_decimal::Decimal;
use serde_json::{Value, json};

/// Three runs of one leg for wheels, whose recess strip is as long as they are.
fn three_runs(book: &rillcast::domain::book::PriceBook, each: &str) -> Value {
    estimate(book, |notes| {
        let run = |id: &str| {
            json!({"id": id, "legs": [{"length": each}], "channel_system": "channel-4-light", "crossing": "wheels",
                "outlets": [{"kind": "end", "id": format!("{id}-out"), "at": "finish"}]})
        };
        let runs = ["a", "b", "c"].map(run);
        *notes = json!({"runs": runs});
    })
}

fn strip(estimate: &Value) -> &Value {
    let lines = estimate["cost_lines"].as_array().unwrap();
    lines.iter().find(|l| l["code"] == "recess-strip").unwrap_or_else(|| panic!("{lines:#?}"))
}

/// Thirds of a foot are no decimals, but three of them are a foot: the strip is sold by 10 ft at 0.38 a foot.
#[test]
fn thirds_of_a_foot_that_make_whole_packs_buy_no_pack_more() {
    let plain = book(|book| {
        for gone in ["offers", "suppliers"] {
            book[gone] = json!([]);
        }
        for item in book["items"].as_array_mut().unwrap() {
            item.as_object_mut().unwrap().remove("supplier");
        }
    });
    for (each, feet, cost) in
        [("3 ft 4 in", 10, "3.80"), ("13 ft 4 in", 40, "15.20"), ("3 ft 4 1/64 in", 20, "7.60")]
    {
        let estimate = three_runs(&plain, each);
        let line = strip(&estimate);
        assert_eq!(
            (number(&line["quantity"]), line["cost"].as_str()),
            (Decimal::from(feet), Some(cost)),
            "{line}"
        );
        let rounded_up = line["basis"].as_str().unwrap().contains("rounded up to a multiple of 10");
        assert_eq!(rounded_up, each.contains('/'), "{line}");
    }
    // four packs of 10 ft cost less than one of 50 ft
    let offered = three_runs(&book(|_| {}), "13 ft 4 in");
    assert_eq!(
        (number(&strip(&offered)["quantity"]), &strip(&offered)["cost"]),
        (Decimal::from(4), &json!("15.20"))
    );
}
