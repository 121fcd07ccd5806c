//! What lies just at the end of the usual is usual.

use super::{looks, silent, told};
use serde_json::{Value, json};

/// Of 4 ft of stock 2 ft are half.
#[test]
fn a_least_piece_of_just_half_the_stock_is_usual() {
    silent(&[|b| b["channel_systems"][1]["least_piece"] = json!("2 ft")]);
    told(&[(
        |b| b["channel_systems"][1]["least_piece"] = json!("2 1/8 ft"),
        "#/channel_systems/1/least_piece",
        "half",
    )]);
}

#[test]
fn a_factor_of_depth_may_stay_as_it_was() {
    silent(&[|b| b["labor_rules"]["depth"][1]["factor"] = json!("1.15")]);
    told(&[(
        |b| b["labor_rules"]["depth"][1]["factor"] = json!("1.14"),
        "#/labor_rules/depth/1/factor",
        "1.15",
    )]);
}

/// 1000 hours at 30.00.
#[test]
fn a_least_charge_of_just_so_many_hours_is_usual() {
    let charge = |sum: &str| {
        looks(|b| {
            for trade in b["trades"].as_array_mut().unwrap() {
                trade["wage"] = json!("30.00");
            }
            b["markup_schemes"][0]["least_charge"] = json!(sum);
        })
    };
    assert_eq!(charge("30000.00"), []);
    let found = charge("30000.01");
    assert!(found.len() == 1 && found[0].0 == "#/markup_schemes/0/least_charge", "{found:?}");
}

/// The book begins on 2 March 2026.
#[test]
fn an_offer_holds_on_its_last_day() {
    let until = |day: &str| {
        looks(|b: &mut Value| {
            for offer in b["offers"].as_array_mut().unwrap() {
                offer["valid_until"] = json!(day);
            }
        })
    };
    assert_eq!(until("2026-03-02"), []);
    assert!(until("2026-03-01").iter().any(|(_, detail)| detail.contains("have ended")));
}
