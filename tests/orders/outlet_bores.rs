//! Bottom outlets against the sections they go through.

use crate::estimate::{book, estimate};
use serde_json::{Value, json};

/// The warnings of outlets in a run of 20 ft of sections of 4 ft, whose outlets have a bore of 5 7/8 in.
fn warnings(outlets: &Value, legs: &Value) -> Vec<String> {
    let found = estimate(&book(|_| {}), |notes| {
        notes["runs"] = json!([{"id": "yard", "legs": legs, "channel_system": "channel-6-u", "crossing": "wheels",
            "outlets": outlets}]);
        for gone in ["storm", "catchments", "drain_lines"] {
            notes.as_object_mut().unwrap().remove(gone);
        }
    });
    let checks = found["checks"].as_array().unwrap().iter().filter(|c| c["name"] == "outlet_bore");
    checks.map(|c| format!("{}: {}", c["subject"].as_str().unwrap(), c["reason"].as_str().unwrap())).collect()
}

fn at(places: &[&str]) -> Value {
    let outlets = places.iter().enumerate();
    outlets.map(|(n, at)| json!({"kind": "bottom", "id": format!("q{n}"), "at": at})).collect()
}

#[test]
fn a_bore_over_a_joint_past_an_end_or_into_another_is_told() {
    let straight = json!([{"length": "20 ft"}]);
    let told = |places: &[&str]| warnings(&at(places), &straight);
    assert_eq!(told(&["10 ft"]), [] as [&str; 0]);
    // 2 15/16 in on either side: it just clears the joint at 8 ft
    assert_eq!(told(&["8 ft 2 15/16 in"]), [] as [&str; 0]);
    assert_eq!(
        told(&["8 ft 2 7/8 in"]),
        [
            "outlet q0: at 8 ft 2 7/8 in of leg 1 the bore of 5 7/8 in lies over the joint of two sections at 8 ft: move the \
             outlet, or set the sections so that no joint falls there"
        ]
    );
    // 5 7/8 in from middle to middle: the two just touch
    assert_eq!(told(&["10 ft", "10 ft 5 7/8 in"]), [] as [&str; 0]);
    for end in ["0 ft", "1 in", "19 ft 10 in"] {
        let found = told(&[end]);
        assert!(found.len() == 1 && found[0].contains("past the end of the leg"), "{end}: {found:?}");
    }
    let two = told(&["10 ft", "10 ft 3 in"]);
    assert!(
        two.len() == 1 && two[0].starts_with("outlet q1") && two[0].contains("that of outlet q0"),
        "{two:?}"
    );
}

#[test]
fn a_bore_in_a_corner_is_told_in_the_leg_where_it_lies() {
    let bent = json!([{"length": "10 ft"}, {"length": "10 ft", "meets": {"kind": "corner"}}]);
    let found = warnings(&at(&["9 ft 11 in"]), &bent);
    assert!(found.len() == 1 && found[0].contains("of leg 1"), "{found:?}");
}
