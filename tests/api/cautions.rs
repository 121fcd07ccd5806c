//! Cautions: each is raised where the quantity that causes it appears, and at the figure that it names.

use crate::unusual_notes::estimate_by;
use rillcast::domain::lines::Caution;
use serde_json::{Value, json};

/// A run over which people walk, with such legs, and a line of 20 ft, 2 ft deep, both with what else is said of them.
fn job(legs: &Value, run: &Value, line: &Value) -> Value {
    let with = |mut part: Value, more: &Value| {
        for (member, value) in more.as_object().unwrap() {
            part[member] = value.clone();
        }
        part
    };
    let run = with(
        json!({"id": "a", "legs": legs, "channel_system": "channel-6-u", "crossing": "feet",
            "outlets": [{"kind": "end", "id": "a-o", "at": "finish"}]}),
        run,
    );
    let line = with(
        json!({"id": "l", "from": [{"outlet": "a-o"}], "pipe": "pipe-6", "legs": [{"length": "20 ft"}], "depth": "2 ft",
            "fall_pct": "1", "ends": {"kind": "discharges", "to": "swale"}}),
        line,
    );
    json!({"runs": [run], "drain_lines": [line]})
}

fn cautions(book: impl FnOnce(&mut Value), notes: Value) -> Vec<Caution> {
    estimate_by(book, |own| *own = notes).cautions
}

/// A metric job is warned at the metric figure of the text, which lies a little before that in feet.
#[test]
fn depths_warn_at_the_figure_they_name() {
    let by_depth = ["way_out", "cave_in", "engineered_protection"];
    let cases = [
        ("us", "3 ft 11 in", 0),
        ("us", "1.2 m", 0),
        ("us", "4 ft", 1),
        ("us", "4 ft 11 in", 1),
        ("us", "5 ft", 2),
        ("us", "20 ft", 2),
        ("us", "20 ft 1 in", 3),
        ("metric", "1.199 m", 0),
        ("metric", "1.2 m", 1),
        ("metric", "1.499 m", 1),
        ("metric", "1.5 m", 2),
        ("metric", "6 m", 2),
        ("metric", "6.001 m", 3),
    ];
    for (system, depth, raised) in cases {
        let mut notes = job(&json!([{"length": "10 ft"}]), &json!({}), &json!({"depth": depth}));
        notes["unit_system"] = json!(system);
        let told = cautions(|_| {}, notes);
        let names: Vec<&str> = told.iter().map(|c| c.name).filter(|n| by_depth.contains(n)).collect();
        assert_eq!(names, by_depth[..raised], "{system}, {depth}");
    }
}
