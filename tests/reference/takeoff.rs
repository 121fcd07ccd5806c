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

/// A battered trench is opened as wide as it is at the deepest point under each surface, not as at the deepest of the line:
/// 4 in pipe, 20.215 in wide at the bottom, sides 1 to 1.
#[test]
fn a_surface_is_cut_as_wide_as_the_trench_is_under_it() {
    let line = json!([{"id": "d", "from": [{"outlet": "a-o"}], "pipe": "pipe-4", "side_slope": "1", "fall_pct": "1",
        "legs": [{"length": "40 ft", "surface": {"kind": "asphalt", "thickness": "3 in"}}, {"length": "40 ft"}],
        "ground": [{"at": "0 ft", "level": "6 in"}, {"at": "40 ft", "level": "6 in"}, {"at": "80 ft", "level": "6 ft"}],
        "ends": {"kind": "discharges", "to": "swale"}}]);
    let estimate = estimate(line, |run| run["surface_level"] = json!("0 ft"));
    let dug = estimate["layout"]["drain_lines"][0]["dig_table"].as_array().unwrap();
    let deep =
        dug.iter().filter(|s| value(&s["station"]) <= 40.0).map(|s| value(&s["depth"])).fold(0.0, f64::max);
    assert!((1.6..1.7).contains(&deep), "{deep}");
    // 2 in of over-cut on each side
    let wide = (20.215 + 2.0 * 2.0) / 12.0 + 2.0 * deep;
    let saw = of_line(&estimate, "d", "saw_cut");
    assert!((value(&saw[0]["quantity"]) - 2.0 * (40.0 + wide)).abs() < 0.01, "{saw:#?} {wide}");
    let lifted = of_line(&estimate, "d", "asphalt_removed");
    assert!((value(&lifted[0]["quantity"]) * 27.0 - 40.0 * wide * 0.25).abs() < 0.3, "{lifted:#?}");
    let basis = lifted[0]["basis"].as_str().unwrap();
    assert!(
        basis.contains(" + 2 x 1 x ") && basis.contains(" at its deepest there + 2 x 2 in over-cut"),
        "{basis}"
    );
    // The trench below it holds no more of the asphalt than is lifted.
    let dug = of_line(&estimate, "d", "excavation")[0]["basis"].as_str().unwrap();
    let less = dug.split(" less ").nth(1).unwrap().split(' ').next().unwrap().parse::<f64>().unwrap();
    assert!(less > 0.0 && less < value(&lifted[0]["quantity"]), "{dug}");
}
