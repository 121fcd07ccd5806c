//! What is typed in another unit, another scale or another count.

use super::{Change, looks, silent, told};
use serde_json::{Value, json};

/// The looks at the demo book of an office that measures in metres.
fn metric(change: Change) -> Vec<(String, String)> {
    looks(|b: &mut Value| {
        b["unit_system"] = json!("metric");
        change(b);
    })
}

fn told_metric(cases: &[(Change, &str, &str)]) {
    for (change, pointer, words) in cases {
        let found = metric(*change);
        let is_told = matches!(found.as_slice(), [(at, detail)] if at == pointer && detail.contains(words));
        assert!(is_told, "{pointer}: {words}: {found:?}");
    }
}

#[test]
fn no_concrete_is_sold_by_the_glass() {
    told_metric(&[
        (
            |b| b["concrete_ways"][0]["increment"] = json!("0.25 l"),
            "#/concrete_ways/0/increment",
            "the step of an order is 0.25 l here, usually 1.5 l to 2.3 m3",
        ),
        (|b| b["concrete_ways"][3]["increment"] = json!("1 l"), "#/concrete_ways/3/increment", "is 1 l here"),
    ]);
    told(&[(
        |b| b["concrete_ways"][0]["increment"] = json!("0.25 gal_us"),
        "#/concrete_ways/0/increment",
        "usually 0.002 yd3 to 3 yd3",
    )]);
    for step in ["10 l", "0.05 m3", "0.25 m3", "1 m3"] {
        for way in [0, 3] {
            let found = looks(|b| b["concrete_ways"][way]["increment"] = json!(step));
            assert_eq!(found, [], "{step}");
        }
    }
    silent(&[
        |b| b["concrete_ways"][3]["increment"] = json!("0.1 ft3"),
        |b| b["concrete_ways"][0]["increment"] = json!("1/4 yd3"),
    ]);
}

#[test]
fn a_temperature_of_the_other_scale_is_told() {
    told_metric(&[
        (
            |b| b["concrete_rules"]["cold_below"] = json!("5 deg_f"),
            "#/concrete_rules/cold_below",
            "cold weather begins below 5 deg_f here, which is -15 deg_c, usually -5 deg_c to 15 deg_c",
        ),
        (
            |b| b["concrete_rules"]["cold_below"] = json!("40 deg_c"),
            "#/concrete_rules/cold_below",
            "40 deg_c",
        ),
        (
            |b| b["concrete_rules"]["hot_above"] = json!("30 deg_f"),
            "#/concrete_rules/hot_above",
            "concrete is hot above 30 deg_f here, which is -1.1 deg_c",
        ),
    ]);
    told(&[(
        |b| b["concrete_rules"]["hot_above"] = json!("95 deg_c"),
        "#/concrete_rules/hot_above",
        "95 deg_c here, which is 203 deg_f, usually 68 deg_f to 113 deg_f",
    )]);
    for (name, usual) in [
        ("cold_below", ["40 deg_f", "5 deg_c", "0 deg_c", "50 deg_f", "-5 deg_c", "15 deg_c"]),
        ("hot_above", ["95 deg_f", "90 deg_f", "30 deg_c", "32 deg_c", "25 deg_c", "45 deg_c"]),
    ] {
        for usual in usual {
            assert_eq!(looks(|b| b["concrete_rules"][name] = json!(usual)), [], "{name} {usual}");
        }
    }
}

#[test]
fn a_bar_in_millimetres_is_no_bar_of_that_number() {
    const AT: &str = "#/setting_details/2/reinforcement/bar_number";
    told_metric(&[
        (
            |b| b["setting_details"][2]["reinforcement"]["bar_number"] = json!(10),
            AT,
            "eighths of an inch, so these are some 32 mm thick; a bar of 10 mm is nearest to number 3",
        ),
        (
            |b| b["setting_details"][2]["reinforcement"]["bar_number"] = json!(8),
            AT,
            "a bar of 8 mm is nearest to number 3",
        ),
    ]);
    told(&[(
        |b| b["setting_details"][2]["reinforcement"]["bar_number"] = json!(10),
        AT,
        "usually 3 to 8: numbers count eighths of an inch, so these are some 1 1/4 in thick",
    )]);
    for number in 3..=6 {
        let found = looks(|b| b["setting_details"][2]["reinforcement"]["bar_number"] = json!(number));
        assert_eq!(found, [], "{number}");
        let found = looks(|b| {
            b["unit_system"] = json!("metric");
            b["setting_details"][2]["reinforcement"]["bar_number"] = json!(number);
        });
        assert_eq!(found, [], "{number}");
    }
}
