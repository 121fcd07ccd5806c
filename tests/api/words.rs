//! One of a thing is one thing in every text of an answer.

use crate::unusual_notes::estimate_by;
use serde_json::{Value, json};

fn texts(value: &Value, out: &mut Vec<String>) {
    match value {
        Value::String(text) => out.push(text.clone()),
        Value::Array(list) => list.iter().for_each(|v| texts(v, out)),
        Value::Object(members) => members.values().for_each(|v| texts(v, out)),
        _ => {}
    }
}

/// `1 things` in a text; verbs after a number that names something are none.
fn one_of_many(text: &str) -> Option<String> {
    let words: Vec<&str> = text.split(|c: char| !c.is_alphanumeric() && !".-_".contains(c)).collect();
    words.windows(2).find_map(|pair| match pair {
        ["1", thing]
            if thing.ends_with('s')
                && !thing.ends_with("ss")
                && thing.chars().all(|c| c.is_ascii_lowercase() || "-_".contains(c))
                && !["names", "is", "was", "has", "lbs"].contains(thing) =>
        {
            Some(format!("1 {thing}"))
        }
        _ => None,
    })
}

fn clean(name: &str, value: &Value) {
    let mut all = Vec::new();
    texts(value, &mut all);
    for text in all {
        assert_eq!(one_of_many(&text), None, "{name}: {text}");
    }
}

#[test]
fn reviewed_answers_have_no_one_of_many() {
    let directory = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/api/answers");
    let mut read = 0;
    for entry in std::fs::read_dir(directory).unwrap() {
        let path = entry.unwrap().path();
        let text = std::fs::read_to_string(&path).unwrap();
        let Ok(value) = serde_json::from_str(&text) else { continue };
        clean(&path.display().to_string(), &value);
        read += 1;
    }
    assert!(read >= 80, "only {read} answers");
}

#[test]
fn a_run_with_one_of_everything_is_told_in_the_singular() {
    let one = estimate_by(
        |book| {
            for detail in book["setting_details"].as_array_mut().unwrap() {
                detail["reinforcement"] = json!({"item": "bar-4-20ft", "bar_number": 4, "bars": 1, "bar_length": "20 ft",
                    "lap": "1 ft 8 in"});
            }
            book["concrete_rules"]["cure_days_feet"] = json!(1);
            book["concrete_rules"]["cure_days_wheels"] = json!(1);
        },
        |notes| notes["schedule"] = json!({"start": "2026-12-07", "finish": "2026-12-24"}),
    );
    let value = serde_json::to_value(&one).unwrap();
    let all = value.to_string();
    assert!(all.contains("1 bar No. 4 x ") && all.contains(" + 1 lap x 1 ft 8 in"), "one bar of two pieces");
    clean("one of everything", &value);
}
