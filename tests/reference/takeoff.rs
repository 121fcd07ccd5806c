//! Quantities of small layouts that can be reckoned by hand. Source of every case: geometry and the rule of the trade named with
//! it, common practice, no source.

use rillcast::compute::pipeline;
use rillcast::domain::book::{BookRef, PriceBook};
use rillcast::domain::demo::{BOOK, rains};
use rillcast::wire::read_document;
use serde_json::{Value, json};

/// The estimate of one straight run of 20 ft, changed, and of these lines.
fn estimate(lines: Value, change: impl FnOnce(&mut Value)) -> Value {
    let mut run = json!({"id": "a", "legs": [{"length": "20 ft"}], "channel_system": "channel-4-light",
        "crossing": "feet", "surface_level": "10 ft", "surface": {"kind": "bare_soil"},
        "outlets": [{"kind": "end", "id": "a-o", "at": "finish"}]});
    change(&mut run);
    let notes = rillcast::wire::read_value(&json!({"runs": [run], "drain_lines": lines})).unwrap();
    let book = PriceBook::check(read_document(BOOK.as_bytes()).unwrap()).unwrap();
    let used = BookRef { version_id: "v".to_owned(), name: "demo".to_owned(), number: 1 };
    serde_json::to_value(pipeline::estimate(&notes, &book, &used, &rains().unwrap()).unwrap()).unwrap()
}

fn value(quantity: &Value) -> f64 {
    quantity["value"].as_str().unwrap().parse().unwrap()
}

/// The quantities of this name of a line.
fn of_line<'v>(estimate: &'v Value, line: &str, name: &str) -> Vec<&'v Value> {
    let lines = estimate["layout"]["drain_lines"].as_array().unwrap();
    let line = lines.iter().find(|l| l["line"] == line).unwrap();
    line["quantities"].as_array().unwrap().iter().filter(|q| q["name"] == name).collect()
}

/// What enters a line further down sets its upper end where nothing enters there.
#[test]
fn a_line_fed_by_a_branch_alone_starts_where_the_branch_arrives() {
    let ground = |to: &str| json!([{"at": "0 ft", "level": "10 ft"}, {"at": to, "level": "10 ft"}]);
    let main = json!({"id": "main", "from": [], "pipe": "pipe-6", "legs": [{"length": "60 ft"}], "ground": ground("60 ft"),
        "fall_pct": "1", "ends": {"kind": "discharges", "to": "swale"}});
    let branch = json!({"id": "br", "from": [{"outlet": "a-o"}], "pipe": "pipe-4", "legs": [{"length": "20 ft"}],
        "ground": ground("20 ft"), "ends": {"kind": "joins", "line": "main", "at": "30 ft"}});
    for lines in [json!([main, branch]), json!([branch, main])] {
        let estimate = estimate(lines, |_| {});
        let lines = estimate["layout"]["drain_lines"].as_array().unwrap();
        let dug = |id: &str| lines.iter().find(|l| l["line"] == id).unwrap()["dig_table"].as_array().unwrap();
        let arrives = value(&dug("br").last().unwrap()["invert"]);
        assert_eq!(value(&dug("main")[0]["invert"]), arrives, "{estimate:#}");
        assert!((9.3..9.7).contains(&arrives), "{arrives}");
        let checks = estimate["checks"].as_array().unwrap();
        let enters =
            checks.iter().find(|c| c["name"] == "enters_above_invert" && c["subject"] == "line main");
        assert_eq!(enters.unwrap()["outcome"], "pass");
        let basis = of_line(&estimate, "main", "fall")[0]["basis"].as_str().unwrap();
        assert!(basis.contains("at the upper end as the lowest that enters further down arrives"), "{basis}");
    }
}
