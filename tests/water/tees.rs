//! Which way water passes a tee: towards the side that has outlets.

use crate::job::{checked, failed};
use rillcast::compute::answers::FlowAnswer;
use serde_json::{Value, json};

/// A run with 1000 ft² of concrete in 4 in of rain an hour: 39.48 gal/min spread along all its legs.
fn answered(legs: &Value, outlets: &Value, reaches: &Value) -> FlowAnswer {
    let notes = json!({
        "runs": [{"id": "a", "legs": legs, "channel_system": "channel-6-u", "crossing": "feet", "outlets": outlets}],
        "storm": {"rain": {"kind": "intensity", "intensity": "4 in_per_hr"}},
        "catchments": [{"id": "yard", "surfaces": [{"cover": "concrete", "area": "1000 ft2"}], "reaches": reaches}]});
    checked(&notes).unwrap_or_else(|faults| panic!("{faults:?}"))
}

fn tee(length: &str, leg: u8, at: &str) -> Value {
    json!({"length": length, "meets": {"kind": "tee", "leg": leg, "at": at}})
}

/// Per chain: the ways out with their flow, gal/min.
fn ways(answer: &FlowAnswer) -> Vec<Vec<(String, f64)>> {
    let chains = answer.water.runs[0].chains.iter();
    chains
        .map(|chain| {
            assert_eq!(chain.refused, None);
            let outlets = &chain.surface.as_ref().unwrap().outlets;
            outlets.iter().map(|o| (o.outlet.clone(), o.flow.value().to_string().parse().unwrap())).collect()
        })
        .collect()
}

/// Depth at a station of a chain, inches: the greater where two rows have it.
fn depth(answer: &FlowAnswer, chain: usize, station: &str) -> f64 {
    let rows = &answer.water.runs[0].chains[chain].surface.as_ref().unwrap().profile.rows;
    let rows = serde_json::to_value(rows).unwrap();
    let at = rows.as_array().unwrap().iter().filter(|row| row[0] == station);
    at.map(|row| row[2].as_str().unwrap().parse().unwrap()).fold(0.0, f64::max)
}

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() < 0.02
}

#[test]
fn water_leaves_by_the_branch_where_only_the_branch_has_an_outlet() {
    let legs = json!([{"length": "40 ft"}, tee("20 ft", 1, "25 ft")]);
    let answer = answered(
        &legs,
        &json!([{"kind": "end", "id": "o", "leg": 2, "at": "finish"}]),
        &json!([{"run": "a"}]),
    );
    assert_eq!(failed(&answer.checks, "run_water"), [""; 0]);
    let ways = ways(&answer);
    let all = 0.95 * 4.0 / 12.0 * 1000.0 * 1728.0 / 231.0 / 60.0;
    // 40 of 60 ft of channel lie before the tee.
    assert_eq!((ways[0].len(), ways[1].len()), (1, 1));
    assert!(ways[0][0].0 == "tee" && near(ways[0][0].1, all * 40.0 / 60.0), "{ways:?}");
    assert!(ways[1][0].0 == "o" && near(ways[1][0].1, all), "{ways:?}");
    // It stands no lower before the tee than behind it.
    assert!(depth(&answer, 1, "0") > 0.0);
    let warnings = &answer.water.runs[0].chains[0].surface.as_ref().unwrap().warnings;
    let kept = warnings.iter().find(|w| w.kind == "level_kept").unwrap();
    assert!(
        kept.text.contains(" leave the water behind the tee at the level it has in this storm"),
        "{}",
        kept.text
    );
    assert!(depth(&answer, 0, "25") >= depth(&answer, 1, "0") - 0.011);
}

/// A branch of a branch, with a closed one beside it: all water finds the one outlet.
#[test]
fn water_finds_the_only_outlet_through_several_tees() {
    let legs = json!([{"length": "30 ft"}, tee("20 ft", 1, "10 ft"), tee("15 ft", 2, "12 ft"), tee("8 ft", 1, "20 ft")]);
    let answer = answered(
        &legs,
        &json!([{"kind": "end", "id": "o", "leg": 3, "at": "finish"}]),
        &json!([{"run": "a"}]),
    );
    let ways = ways(&answer);
    let all = 0.95 * 4.0 / 12.0 * 1000.0 * 1728.0 / 231.0 / 60.0;
    for (chain, name, feet) in [(3, "tee", 8.0), (0, "tee", 38.0), (1, "tee", 58.0), (2, "o", 73.0)] {
        assert_eq!(ways[chain].len(), 1);
        assert!(ways[chain][0].0 == name && near(ways[chain][0].1, all * feet / 73.0), "{chain} {ways:?}");
    }
    let inflow: f64 = answer.water.runs[0].chains[2].inflow.value().to_string().parse().unwrap();
    assert!(near(inflow, all), "{inflow}");
}

#[test]
fn with_an_outlet_on_the_main_legs_a_branch_flows_into_them() {
    let legs = json!([{"length": "40 ft"}, tee("20 ft", 1, "25 ft")]);
    let both = json!([{"kind": "end", "id": "o", "leg": 1, "at": "finish"}, {"kind": "end", "id": "p", "leg": 2, "at": "finish"}]);
    let ways = ways(&answered(&legs, &both, &json!([{"run": "a", "leg": 2}])));
    assert_eq!(ways[1].iter().map(|w| w.0.as_str()).collect::<Vec<_>>(), ["tee", "p"]);
    assert!(near(ways[0][0].1, ways[1][0].1), "{ways:?}");
}

#[test]
fn where_water_would_part_to_several_branches_the_check_says_how_to_describe_it() {
    let legs = json!([{"length": "40 ft"}, tee("20 ft", 1, "10 ft"), tee("20 ft", 1, "30 ft")]);
    let outlets = json!([{"kind": "end", "id": "o", "leg": 2, "at": "finish"}, {"kind": "end", "id": "p", "leg": 3, "at": "finish"}]);
    let answer = answered(&legs, &outlets, &json!([{"run": "a"}]));
    let told = failed(&answer.checks, "run_water");
    assert_eq!(told.len(), 1);
    assert!(
        told[0].starts_with("leg 1 has no outlet, and several branches that have one begin there"),
        "{told:?}"
    );
    assert!(told[0].contains("describe each branch as a run of its own"), "{told:?}");
    let refused = &answer.water.runs[0].chains[0];
    assert_eq!(refused.refused.as_deref(), Some(told[0]));
    // 40 of 80 ft: what reaches it is told though its water is not computed.
    let reaches: f64 = refused.inflow.value().to_string().parse().unwrap();
    assert!(near(reaches, 0.5 * 0.95 * 4.0 / 12.0 * 1000.0 * 1728.0 / 231.0 / 60.0), "{reaches}");
}

#[test]
fn where_the_main_legs_would_feed_a_branch_with_an_outlet_the_check_speaks_of_the_tee() {
    let legs = json!([{"length": "40 ft"}, tee("20 ft", 1, "25 ft")]);
    let both = json!([{"kind": "end", "id": "o", "leg": 1, "at": "finish"}, {"kind": "end", "id": "p", "leg": 2, "at": "finish"}]);
    let reaches =
        json!([{"run": "a", "leg": 1, "share_pct": "99"}, {"run": "a", "leg": 2, "share_pct": "1"}]);
    let answer = answered(&legs, &both, &reaches);
    let told = failed(&answer.checks, "run_water");
    assert_eq!(told.len(), 1);
    assert!(told[0].starts_with("the water at the tee that leg 2 meets stands "), "{told:?}");
    assert!(told[0].contains("describe the branch as a run of its own"), "{told:?}");
}

/// The same channel told two ways: 29 gal/min go 4 ft along a leg, and 9 ft 6 in from a tee to the outlet. Where the main legs let
/// their water into the branch, they stand as high as a branch does that joins them.
#[test]
fn a_tee_costs_the_same_head_whichever_side_is_the_branch() {
    let surfaces = |legs: Value, outlet_leg: u8, inflow: (u8, &str)| {
        let notes = json!({
            "runs": [{"id": "a", "legs": legs, "channel_system": "channel-4-light", "crossing": "feet",
                "outlets": [{"kind": "end", "id": "o", "leg": outlet_leg, "at": "finish"}]}],
            "storm": {"rain": {"kind": "intensity", "intensity": "4 in_per_hr"}},
            "inflows": [{"id": "hose", "run": "a", "leg": inflow.0, "at": inflow.1, "flow": "29 gal_us_per_min"}]});
        let answer = checked(&notes).unwrap_or_else(|faults| panic!("{faults:?}"));
        let answer = serde_json::to_value(answer).unwrap();
        let chains = answer["water"]["runs"][0]["chains"].as_array().unwrap().iter();
        let of = |chain: &Value, figure: &str| -> f64 {
            chain["surface"][figure]["value"]["value"].as_str().unwrap().parse().unwrap()
        };
        chains.map(|c| (of(c, "greatest_depth"), of(c, "least_freeboard"))).collect::<Vec<_>>()
    };
    let branch_joins = surfaces(json!([{"length": "10 ft"}, tee("5 ft", 1, "6 in")]), 1, (2, "4 ft"));
    let branch_takes =
        surfaces(json!([{"length": "5 ft"}, tee("9 ft 6 in", 1, "4 ft 6 in")]), 2, (1, "6 in"));
    // The leg that brings the water, and the one with the outlet.
    for (joins, takes) in [(branch_joins[1], branch_takes[0]), (branch_joins[0], branch_takes[1])] {
        assert!(
            (joins.0 - takes.0).abs() < 0.011 && (joins.1 - takes.1).abs() < 0.011,
            "{joins:?} {takes:?}"
        );
    }
}

/// Stations count along the legs that flow on into each other: where a tee makes several of them, a check says along which.
#[test]
fn the_checks_of_a_run_with_a_tee_say_which_legs_they_speak_of() {
    let out = json!([{"kind": "end", "id": "o", "leg": 2, "at": "finish"}]);
    let corner = json!({"length": "5 ft", "meets": {"kind": "corner"}});
    let legs = json!([{"length": "40 ft"}, corner, tee("20 ft", 1, "25 ft")]);
    let answer = answered(&legs, &out, &json!([{"run": "a"}]));
    let told: Vec<(&str, &str)> = answer
        .checks
        .iter()
        .filter(|c| c.name == "run_freeboard")
        .map(|c| (c.subject.as_str(), c.reason.split(": ").next().unwrap()))
        .collect();
    assert_eq!(told, [("run a", "legs 1 to 2"), ("run a", "leg 3")]);
    let straight = answered(
        &json!([{"length": "40 ft"}]),
        &json!([{"kind": "end", "id": "o", "at": "finish"}]),
        &json!([{"run": "a"}]),
    );
    let alone = straight.checks.iter().find(|c| c.name == "run_freeboard").unwrap();
    assert!(alone.reason.starts_with("carries ") || alone.reason.starts_with("overtops "), "{alone:?}");
}
