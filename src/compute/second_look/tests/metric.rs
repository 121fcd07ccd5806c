//! Books that measure in metres.

use super::{Change, looks};
use serde_json::json;

/// Ranges end at feet and inches; beside them metric offices have round figures of their own.
#[test]
fn round_metric_figures_beside_the_ends_are_usual() {
    let metric = |change: Change| {
        looks(|b| {
            b["unit_system"] = json!("metric");
            change(b);
        })
    };
    let usual: &[Change] = &[
        |b| b["setting_details"][1]["side"] = json!("50 mm"),
        |b| b["forms"]["board_width"] = json!("50 mm"),
        |b| b["concrete_rules"]["one_lift"] = json!("50 mm"),
        |b| b["hangers"]["spacing"] = json!("300 mm"),
        |b| b["line_rules"]["dig_table_interval"] = json!("300 mm"),
        |b| b["line_rules"]["width_plus"] = json!("100 mm"),
        |b| b["setting_details"][2]["reinforcement"]["lap"] = json!("100 mm"),
        |b| b["water_rules"] = json!({"longest_sheet_flow": "3 m"}),
        |b| b["concrete_ways"][0]["truck_capacity"] = json!("14 m3"),
        |b| b["hangers"]["holds"] = json!("18 kg"),
        |b| b["haul"]["speed"] = json!("8 km_per_hr"),
    ];
    for change in usual {
        assert_eq!(metric(*change), []);
    }
    let told: &[(Change, &str)] = &[
        (|b| b["setting_details"][1]["side"] = json!("45 mm"), "usually none or 50 mm to 610 mm"),
        (|b| b["hangers"]["spacing"] = json!("290 mm"), "usually 300 mm to 3.1 m"),
        (|b| b["water_rules"] = json!({"longest_sheet_flow": "2.9 m"}), "usually 3 m to 92 m"),
        (|b| b["haul"]["speed"] = json!("130 km_per_hr"), "usually 8 km_per_hr to 120 km_per_hr"),
    ];
    for (change, words) in told {
        let found = metric(*change);
        assert!(found.len() == 1 && found[0].1.contains(words), "{words}: {found:?}");
    }
    // an office in feet keeps its own
    let feet = looks(|b| b["setting_details"][1]["side"] = json!("50 mm"));
    assert!(feet.len() == 1 && feet[0].1.contains("usually none or 2 in to 2 ft"), "{feet:?}");
}
