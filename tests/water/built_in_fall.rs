//! How long a run may be whose sections have fall built in: a longer one is deeper at its outlet, as far as the fall reaches.

use crate::job::checked;
use serde_json::{Value, json};

/// A run of the system with fall built in, with so many square feet of concrete a foot under 3 in of rain an hour.
fn surface(feet: f64, square_feet: f64, outlets: &Value) -> Value {
    let notes = json!({
        "runs": [{"id": "a", "legs": [{"length": format!("{feet:.3} ft")}], "channel_system": "channel-8-fall",
            "crossing": "feet", "outlets": outlets}],
        "storm": {"return_period_years": 10, "rain": {"kind": "intensity", "intensity": "3 in_per_hr"}},
        "catchments": [{"id": "c", "surfaces": [{"cover": "concrete", "area": format!("{:.3} ft2", feet * square_feet)}],
            "reaches": [{"run": "a"}]}]});
    let answer = checked(&notes).unwrap_or_else(|faults| panic!("{faults:?}"));
    serde_json::to_value(answer).unwrap()["water"]["runs"][0]["chains"][0]["surface"].clone()
}

fn number(value: &Value) -> f64 {
    value["value"].as_str().unwrap().parse().unwrap()
}

/// No source: the run of that length, described as such, is the check.
#[test]
fn the_longest_run_just_keeps_its_room_when_it_is_described_by_itself() {
    let end = json!([{"kind": "end", "id": "o", "at": "finish"}]);
    let both = json!([{"kind": "end", "id": "o", "at": "start"}, {"kind": "end", "id": "p", "at": "finish"}]);
    for (feet, square_feet, outlets) in [
        (60.0, 150.0, &end),
        (15.0, 150.0, &end),
        // Longer than the fall reaches, 150 mm at 0.5 %.
        (60.0, 40.0, &end),
        (150.0, 60.0, &end),
        (60.0, 150.0, &both),
    ] {
        let told = surface(feet, square_feet, outlets)["longest"].clone();
        assert_eq!(told["relation"], "just_fits", "{feet} ft, {square_feet} ft2: {told}");
        let longest = number(&told["length"]);
        let room = |feet: f64| number(&surface(feet, square_feet, outlets)["least_freeboard"]["value"]);
        // Half an inch is asked for.
        let (there, beyond) = (room(longest), room(1.02 * longest));
        assert!((there - 0.5).abs() < 0.011, "{feet} ft, {square_feet} ft2: {there} at {longest} ft");
        assert!(beyond < 0.5, "{feet} ft, {square_feet} ft2: {beyond} beyond {longest} ft");
    }
}

/// The fall reaches 30 m: what is left of such a run is no leg of its own.
#[test]
fn a_run_a_hair_longer_than_its_fall_reaches_is_computed() {
    let end = json!([{"kind": "end", "id": "o", "at": "finish"}]);
    // 30.0005 m, in feet to the third place.
    let (there, beyond) = (surface(98.425, 60.0, &end), surface(98.427, 60.0, &end));
    let room = |surface: &Value| number(&surface["least_freeboard"]["value"]);
    assert!((room(&there) - room(&beyond)).abs() < 0.011, "{there} {beyond}");
}
