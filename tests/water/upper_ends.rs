//! Water that joins where a run begins to flow (at a closed end, or where it parts) raises what stands behind it.

use crate::cases::Checked;
use crate::job::{DEMO, checked, estimated, failed};
use rillcast::compute::water::run::{Leg, Outlet, PointInflow, Run, RunInput};
use rillcast::compute::water::section::Rectangle;
use serde_json::{Value, json};

const GRAVITY: f64 = 9.806_65;

fn number(value: &Value) -> f64 {
    value["value"].as_str().unwrap().parse().unwrap()
}

/// A level run with one leader that brings so much, gal/min.
fn notes(length: &str, outlets: &Value, at: &str, flow: &str) -> Value {
    json!({"runs": [{"id": "r", "legs": [{"length": length}], "channel_system": "channel-4-light", "crossing": "feet",
            "outlets": outlets}],
        "storm": {"return_period_years": 10, "rain": {"kind": "intensity", "intensity": "3 in_per_hr"}},
        "inflows": [{"id": "leader", "run": "r", "leg": 1, "at": at, "flow": format!("{flow} gal_us_per_min")}]})
}

fn surface(notes: &Value) -> Value {
    let answer = checked(notes).unwrap_or_else(|faults| panic!("{faults:?}"));
    serde_json::to_value(answer).unwrap()["water"]["runs"][0]["chains"][0]["surface"].clone()
}

fn depths_at(surface: &Value, station: &str) -> Vec<f64> {
    let rows = surface["profile"]["rows"].as_array().unwrap().iter().filter(|row| row[0] == station);
    rows.map(|row| row[2].as_str().unwrap().parse().unwrap()).collect()
}

/// By hand: the water behind a leader stands still, so that half the width times its depth squared is what pressure and flow of the
/// water below it come to, `b y^2 / 2 + Q^2 / (g b y)`.
#[test]
fn the_water_behind_a_leader_at_a_closed_end_stands_as_high_as_its_momentum_asks() -> Checked {
    let (width, deep, flow) = (0.1, 0.09, 2.2e-3);
    let leg = Leg {
        length_m: 4.0,
        surface_fall: 0.0,
        depth_start_m: deep,
        depth_end_m: deep,
        corner_loss_at_end: 0.0,
    };
    let mut input = RunInput::simple(Rectangle::new(width)?.into(), 0.011, leg, 0.0);
    input.lateral.clear();
    input.points = vec![PointInflow { station_m: 0.0, flow_m3_per_s: flow }];
    input.outlets = vec![Outlet::free(4.0)];
    for (end, input) in [(0.0, input.clone()), (4.0, input.reversed())] {
        let run = Run::new(input.clone())?;
        let profile = run.profile()?;
        let here: Vec<_> = profile.stations.iter().filter(|s| s.station_m == end).collect();
        let (still, flowing) = if end == 0.0 { (here[0], here[1]) } else { (here[1], here[0]) };
        assert_eq!((here.len(), still.flow_m3_per_s.abs(), flowing.flow_m3_per_s.abs()), (2, 0.0, flow));
        let below = flowing.depth_m;
        let by_hand = (below * below + 2.0 * flow * flow / (GRAVITY * width * width * below)).sqrt();
        assert!(by_hand > 1.05 * below, "{by_hand} {below}");
        assert!((still.depth_m - by_hand).abs() < 1e-9, "{} {by_hand}", still.depth_m);
        let (deepest, least) = (profile.greatest_depth, profile.least_freeboard);
        assert_eq!((deepest.station_m, deepest.value), (end, still.depth_m));
        assert_eq!((least.station_m, least.value), (end, deep - still.depth_m));
        assert_eq!(profile.greatest_fill.value, still.depth_m / deep);
        assert_eq!(run.least_freeboard()?, least);
        assert!(profile.residuals.momentum < 1e-6, "{:?}", profile.residuals);
        // The most flow leaves no room there either.
        let factor = 1.0 / run.limits()?.share_of_capacity.ok_or("flow")?;
        let most = Run::new(input.with_flow_times(factor))?.profile()?;
        let fullest = most.stations.iter().map(|s| s.depth_m).fold(0.0, f64::max);
        assert!((fullest - deep).abs() < 1e-6, "{fullest}");
    }
    Ok(())
}

#[test]
fn a_leader_at_the_very_end_is_judged_as_one_a_hair_from_it() {
    let end = json!([{"kind": "end", "id": "o", "at": "finish"}]);
    let of = |at: &str| notes("12 ft", &end, at, "35");
    let (there, beside) = (surface(&of("0 ft")), surface(&of("1/16 in")));
    for figure in ["greatest_depth", "least_freeboard"] {
        let (a, b) = (number(&there[figure]["value"]), number(&beside[figure]["value"]));
        assert!((a - b).abs() < 0.011, "{figure} {a} {b}");
        assert_eq!(there[figure]["station"]["value"], "0");
    }
    let (a, b) = (number(&there["most_flow"]), number(&beside["most_flow"]));
    assert!((a / b - 1.0).abs() < 0.002, "{a} {b}");
    let (a, b) = (number(&there["longest"]["length"]), number(&beside["longest"]["length"]));
    assert!((a / b - 1.0).abs() < 0.005, "{a} {b}");
    let failures = |at: &str| failed(&checked(&of(at)).unwrap().checks, "run_freeboard").len();
    assert_eq!((failures("0 ft"), failures("1/16 in")), (1, 1));
    // Nor is it chosen.
    let mut open = of("0 ft");
    open["runs"][0].as_object_mut().unwrap().remove("channel_system");
    let chosen = &estimated(&open, &DEMO).water.unwrap().chosen[0];
    assert_eq!(
        (chosen.code.as_str(), chosen.passed_over[0].code.as_str()),
        ("channel-6-u", "channel-4-light")
    );
}

#[test]
fn where_a_leader_parts_to_both_sides_the_water_between_is_the_deepest() {
    let both = json!([{"kind": "end", "id": "o", "at": "start"}, {"kind": "end", "id": "p", "at": "finish"}]);
    let surface = surface(&notes("20 ft", &both, "10 ft", "74"));
    let parts = &surface["divides"][0];
    assert_eq!(parts["station"]["value"], "10");
    assert_eq!(surface["greatest_depth"], *parts);
    assert_eq!(surface["least_freeboard"]["station"]["value"], "10");
    let [left, between, right] = depths_at(&surface, "10")[..] else { panic!("three rows") };
    assert!(between == number(&parts["value"]) && left < between - 0.1 && left == right, "{left} {between}");
}
