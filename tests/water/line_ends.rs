//! What enters a drain line at its lower end leaves with the line's own water and flows in none of its pipe.

use crate::job::{checked, failed};
use rillcast::compute::answers::FlowAnswer;
use serde_json::{Value, json};

/// Runs `a`, `b` and `c` with outlets of the same names, each with 50 gal/min.
fn notes(lines: &Value) -> Value {
    let run = |id: &str| {
        json!({"id": id, "legs": [{"length": "10 ft"}], "channel_system": "channel-4-light", "crossing": "feet",
            "outlets": [{"kind": "end", "id": format!("{id}-out"), "at": "finish"}]})
    };
    let inflow = |id: &str| json!({"id": id, "run": id, "at": "9 ft", "flow": "50 gal_us_per_min"});
    let (runs, inflows) = (["a", "b", "c"].map(run), ["a", "b", "c"].map(inflow));
    json!({"runs": runs, "inflows": inflows, "drain_lines": lines,
        "storm": {"rain": {"kind": "intensity", "intensity": "5 in_per_hr"}}})
}

fn line(id: &str, from: &Value, length: &str, ends: &Value) -> Value {
    json!({"id": id, "from": from, "pipe": "pipe-6", "legs": [{"length": length}], "depth": "4 ft", "fall_pct": "1.3", "ends": ends})
}

fn answered(lines: &Value) -> FlowAnswer {
    checked(&notes(lines)).unwrap_or_else(|faults| panic!("{faults:?}"))
}

/// Flow of each stretch of a line, gal/min.
fn flows(answer: &FlowAnswer, line: &str) -> Vec<String> {
    let line = answer.water.drain_lines.iter().find(|l| l.line == line).unwrap();
    assert_eq!(line.refused, None);
    line.stretches.iter().map(|s| s.flow.to_string()).collect()
}

fn basis<'a>(answer: &'a FlowAnswer, line: &str) -> &'a str {
    &answer.water.drain_lines.iter().find(|l| l.line == line).unwrap().stretches.last().unwrap().basis
}

#[test]
fn an_outlet_at_the_lower_end_loads_no_pipe_of_the_line() {
    let swale = json!({"kind": "discharges", "to": "swale"});
    let from = json!([{"outlet": "a-out"}, {"outlet": "b-out", "at": "40 ft"}]);
    let answer = answered(&json!([line("main", &from, "40 ft", &swale)]));
    assert_eq!(flows(&answer, "main"), ["50 gal_us_per_min"]);
    let told = basis(&answer, "main");
    assert!(
        told.ends_with(
            "; 50 gal_us_per_min more enter at its lower end, so that 100 gal_us_per_min leave there"
        ),
        "{told}"
    );
    // An inch above the end it flows through that inch.
    let from = json!([{"outlet": "a-out"}, {"outlet": "b-out", "at": "39 ft 11 in"}]);
    let answer = answered(&json!([line("main", &from, "40 ft", &swale)]));
    assert_eq!(flows(&answer, "main"), ["50 gal_us_per_min", "100 gal_us_per_min"]);
}

#[test]
fn a_branch_may_join_at_the_very_end_of_a_line() {
    let lines = json!([
        line(
            "main",
            &json!([{"outlet": "a-out"}]),
            "40 ft",
            &json!({"kind": "discharges", "to": "swale", "water_level": "0 ft"})
        ),
        line(
            "branch",
            &json!([{"outlet": "b-out"}]),
            "20 ft",
            &json!({"kind": "joins", "line": "main", "at": "40 ft"})
        ),
        line(
            "twig",
            &json!([{"outlet": "c-out"}]),
            "10 ft",
            &json!({"kind": "joins", "line": "branch", "at": "20 ft"})
        )
    ]);
    let answer = answered(&lines);
    assert_eq!(failed(&answer.checks, "line_water"), [""; 0]);
    assert_eq!(failed(&answer.checks, "enters_above_invert"), [""; 0]);
    for line in ["main", "branch", "twig"] {
        assert_eq!(flows(&answer, line), ["50 gal_us_per_min"]);
    }
    assert!(
        basis(&answer, "main")
            .contains("100 gal_us_per_min more enter at its lower end, so that 150 gal_us_per_min leave")
    );
    assert!(
        basis(&answer, "branch")
            .contains("50 gal_us_per_min more enter at its lower end, so that 100 gal_us_per_min leave")
    );
    assert!(!basis(&answer, "twig").contains("more enter"));
    // The water at the discharge stands behind all of them, but for the little that is lost at the junctions.
    for line in &answer.water.drain_lines {
        let level: f64 = line.stretches[0].grade_lower.value().to_string().parse().unwrap();
        assert!((0.0..0.01).contains(&level), "{} {level}", line.line);
    }
}

#[test]
fn what_leaves_at_the_lower_end_flows_on_where_the_line_joins() {
    let lines = json!([
        line("main", &json!([{"outlet": "a-out"}]), "60 ft", &json!({"kind": "discharges", "to": "swale"})),
        line(
            "branch",
            &json!([{"outlet": "b-out"}, {"outlet": "c-out", "at": "20 ft"}]),
            "20 ft",
            &json!({"kind": "joins", "line": "main", "at": "30 ft"})
        )
    ]);
    let answer = answered(&lines);
    assert_eq!(flows(&answer, "branch"), ["50 gal_us_per_min"]);
    assert_eq!(flows(&answer, "main"), ["50 gal_us_per_min", "150 gal_us_per_min"]);
}

#[test]
fn a_branch_that_ends_too_low_is_told_in_words() {
    let mut lines = json!([
        line("main", &json!([{"outlet": "a-out"}]), "40 ft", &json!({"kind": "discharges", "to": "swale"})),
        line(
            "branch",
            &json!([{"outlet": "b-out"}]),
            "20 ft",
            &json!({"kind": "joins", "line": "main", "at": "40 ft"})
        )
    ]);
    lines[1]["fall_pct"] = json!("5");
    let answer = answered(&lines);
    let told = failed(&answer.checks, "line_water");
    // 20 ft at 5 % fall 1 ft, 40 ft at 1.3 % fall 0.52 ft, both from 4 3/4 in below the surface.
    assert_eq!(told.len(), 1);
    assert!(
        told[0].contains(
            "line branch ends at -1.396 ft, lower than the invert of line main it joins, -0.916 ft"
        ),
        "{told:?}"
    );
    assert_eq!(failed(&answer.checks, "enters_above_invert").len(), 1);
    assert_eq!(flows(&answer, "main"), ["50 gal_us_per_min"]);
}

/// A pipe that stands out of a slope at its end lets its water out there, not through the ground: the grade line is held against the
/// ground up to where the pipe leaves it. In a sewer it has no end in the open.
#[test]
fn no_water_comes_out_of_a_pipe_that_has_left_the_ground() {
    let failures = |to: &str| {
        let mut line = line(
            "main",
            &json!([{"outlet": "a-out"}]),
            "40 ft",
            &json!({"kind": "discharges", "to": to, "invert_level": "-24 in"}),
        );
        let line_of = line.as_object_mut().unwrap();
        line_of.remove("depth");
        line_of.remove("fall_pct");
        line["ground"] = json!([{"at": "0 ft", "level": "12 in"}, {"at": "35 ft", "level": "0 in"}, {"at": "40 ft", "level": "-36 in"}]);
        failed(&answered(&json!([line])).checks, "line_capacity").len()
    };
    assert_eq!(["daylight", "swale", "street", "pond", "storm_sewer"].map(failures), [0, 0, 0, 0, 1]);
}
