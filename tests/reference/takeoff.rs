//! Quantities of small layouts that can be reckoned by hand. Source of every case: geometry and the rule of the trade named with
//! it, common practice, no source.

use rillcast::compute::pipeline;
use rillcast::domain::book::{BookRef, PriceBook};
use rillcast::domain::demo::{BOOK, rains};
use rillcast::wire::read_document;
use serde_json::{Value, json};

/// The estimate of one straight run of 20 ft, changed, and of these lines.
fn estimate(lines: Value, change: impl FnOnce(&mut Value)) -> Value {
    let mut run = json!({"id": "a", "legs": [{"length": "20 ft"}], "channel_system": "channel-4-light",
        "crossing": "feet", "surface_level": "10 ft", "surface": {"kind": "bare_soil"},
        "outlets": [{"kind": "end", "id": "a-o", "at": "finish"}]});
    change(&mut run);
    let notes = rillcast::wire::read_value(&json!({"runs": [run], "drain_lines": lines})).unwrap();
    let book = PriceBook::check(read_document(BOOK.as_bytes()).unwrap()).unwrap();
    let used = BookRef { version_id: "v".to_owned(), name: "demo".to_owned(), number: 1 };
    serde_json::to_value(pipeline::estimate(&notes, &book, &used, &rains().unwrap()).unwrap()).unwrap()
}

fn value(quantity: &Value) -> f64 {
    quantity["value"].as_str().unwrap().parse().unwrap()
}

/// The quantities of this name of a line.
fn of_line<'v>(estimate: &'v Value, line: &str, name: &str) -> Vec<&'v Value> {
    let lines = estimate["layout"]["drain_lines"].as_array().unwrap();
    let line = lines.iter().find(|l| l["line"] == line).unwrap();
    line["quantities"].as_array().unwrap().iter().filter(|q| q["name"] == name).collect()
}

/// What enters a line further down sets its upper end where nothing enters there.
#[test]
fn a_line_fed_by_a_branch_alone_starts_where_the_branch_arrives() {
    let ground = |to: &str| json!([{"at": "0 ft", "level": "10 ft"}, {"at": to, "level": "10 ft"}]);
    let main = json!({"id": "main", "from": [], "pipe": "pipe-6", "legs": [{"length": "60 ft"}], "ground": ground("60 ft"),
        "fall_pct": "1", "ends": {"kind": "discharges", "to": "swale"}});
    let branch = json!({"id": "br", "from": [{"outlet": "a-o"}], "pipe": "pipe-4", "legs": [{"length": "20 ft"}],
        "ground": ground("20 ft"), "ends": {"kind": "joins", "line": "main", "at": "30 ft"}});
    for lines in [json!([main, branch]), json!([branch, main])] {
        let estimate = estimate(lines, |_| {});
        let lines = estimate["layout"]["drain_lines"].as_array().unwrap();
        let dug = |id: &str| lines.iter().find(|l| l["line"] == id).unwrap()["dig_table"].as_array().unwrap();
        let arrives = value(&dug("br").last().unwrap()["invert"]);
        assert_eq!(value(&dug("main")[0]["invert"]), arrives, "{estimate:#}");
        assert!((9.3..9.7).contains(&arrives), "{arrives}");
        let checks = estimate["checks"].as_array().unwrap();
        let enters =
            checks.iter().find(|c| c["name"] == "enters_above_invert" && c["subject"] == "line main");
        assert_eq!(enters.unwrap()["outcome"], "pass");
        let basis = of_line(&estimate, "main", "fall")[0]["basis"].as_str().unwrap();
        assert!(basis.contains("at the upper end as the lowest that enters further down arrives"), "{basis}");
    }
}

/// A battered trench is opened as wide as it is at the deepest point under each surface, not as at the deepest of the line:
/// 4 in pipe, 20.215 in wide at the bottom, sides 1 to 1.
#[test]
fn a_surface_is_cut_as_wide_as_the_trench_is_under_it() {
    let line = json!([{"id": "d", "from": [{"outlet": "a-o"}], "pipe": "pipe-4", "side_slope": "1", "fall_pct": "1",
        "legs": [{"length": "40 ft", "surface": {"kind": "asphalt", "thickness": "3 in"}}, {"length": "40 ft"}],
        "ground": [{"at": "0 ft", "level": "6 in"}, {"at": "40 ft", "level": "6 in"}, {"at": "80 ft", "level": "6 ft"}],
        "ends": {"kind": "discharges", "to": "swale"}}]);
    let estimate = estimate(line, |run| run["surface_level"] = json!("0 ft"));
    let dug = estimate["layout"]["drain_lines"][0]["dig_table"].as_array().unwrap();
    let deep =
        dug.iter().filter(|s| value(&s["station"]) <= 40.0).map(|s| value(&s["depth"])).fold(0.0, f64::max);
    assert!((1.6..1.7).contains(&deep), "{deep}");
    // 2 in of over-cut on each side
    let wide = (20.215 + 2.0 * 2.0) / 12.0 + 2.0 * deep;
    let saw = of_line(&estimate, "d", "saw_cut");
    assert!((value(&saw[0]["quantity"]) - 2.0 * (40.0 + wide)).abs() < 0.01, "{saw:#?} {wide}");
    let lifted = of_line(&estimate, "d", "asphalt_removed");
    assert!((value(&lifted[0]["quantity"]) * 27.0 - 40.0 * wide * 0.25).abs() < 0.3, "{lifted:#?}");
    let basis = lifted[0]["basis"].as_str().unwrap();
    assert!(
        basis.contains(" + 2 x 1 x ") && basis.contains(" at its deepest there + 2 x 2 in over-cut"),
        "{basis}"
    );
    // The trench below it holds no more of the asphalt than is lifted.
    let dug = of_line(&estimate, "d", "excavation")[0]["basis"].as_str().unwrap();
    let less = dug.split(" less ").nth(1).unwrap().split(' ').next().unwrap().parse::<f64>().unwrap();
    assert!(less > 0.0 && less < value(&lifted[0]["quantity"]), "{dug}");
}

/// A line of these legs.
fn in_legs(legs: Value, total: &str) -> Value {
    let ground = json!([{"at": "0 ft", "level": "10 ft"}, {"at": total, "level": "10 ft"}]);
    let line = json!([{"id": "d", "from": [{"outlet": "a-o"}], "pipe": "pipe-4", "legs": legs, "ground": ground,
        "ends": {"kind": "discharges", "to": "swale"}}]);
    estimate(line, |_| {})
}

/// A pipe runs on where a leg ends without a turn: 30 ft of 10 ft pipes are three, with two joints, in however many legs.
#[test]
fn splitting_a_leg_where_nothing_turns_orders_the_same_pipe() {
    let legs = |n: usize, each: &str| Value::from(vec![json!({"length": each}); n]);
    for legs in [legs(1, "30 ft"), legs(2, "15 ft"), legs(6, "5 ft"), legs(15, "2 ft")] {
        let estimate = in_legs(legs, "30 ft");
        assert_eq!(value(&of_line(&estimate, "d", "pipe_pieces")[0]["quantity"]), 3.0);
        let joints = of_line(&estimate, "d", "pipe_joints")[0]["basis"].as_str().unwrap();
        assert!(joints.starts_with("2 pipe to pipe"), "{joints}");
        let lists = estimate["layout"]["cut_lists"].as_array().unwrap();
        let list = lists.iter().find(|l| l["part"] == "pipe").unwrap();
        assert_eq!((list["stock_pieces"].as_i64(), list["joints"].as_i64()), (Some(3), Some(2)));
    }
    // Where it turns, or a fitting takes the place of a joint, it ends.
    let turned =
        in_legs(json!([{"length": "15 ft"}, {"length": "5 ft", "bend": 45}, {"length": "10 ft"}]), "30 ft");
    let lists = turned["layout"]["cut_lists"].as_array().unwrap();
    let legs = lists.iter().find(|l| l["part"] == "pipe").unwrap()["legs"].as_array().unwrap();
    let names: Vec<&str> = legs.iter().map(|l| l["leg"].as_str().unwrap()).collect();
    assert_eq!(names, ["line d, legs 1 to 2", "line d, leg 3"]);
    let basis = of_line(&turned, "d", "pipe_pieces")[0]["basis"].as_str().unwrap();
    assert!(basis.starts_with("30 ft in 3 legs, laid through as 2, by the cut list"), "{basis}");
    let entered = estimate(
        json!([{"id": "d", "from": [{"outlet": "a-o", "at": "15 ft"}], "pipe": "pipe-4", "depth": "2 ft",
            "legs": [{"length": "15 ft"}, {"length": "15 ft"}], "ends": {"kind": "discharges", "to": "swale"}}]),
        |_| {},
    );
    assert_eq!(value(&of_line(&entered, "d", "pipe_pieces")[0]["quantity"]), 4.0);
}

/// What enters ends a stretch wherever it enters, at a later end of a leg as at the first.
/// `source_basis`: common practice, no source.
#[test]
fn a_branch_at_any_end_of_a_leg_parts_the_pipe() {
    for (at, through) in [("10 ft", "laid through as 2"), ("20 ft", "laid through as 2")] {
        let legs = json!([{"length": "10 ft"}, {"length": "10 ft"}, {"length": "10 ft"}]);
        let main = json!({"id": "d", "from": [{"outlet": "a-o"}], "pipe": "pipe-4", "legs": legs, "depth": "2 ft",
            "fall_pct": "1", "ends": {"kind": "discharges", "to": "swale"}});
        let branch = json!({"id": "b", "from": [{"outlet": "b-o"}], "pipe": "pipe-4", "legs": [{"length": "10 ft"}],
            "depth": "1 ft", "ends": {"kind": "joins", "line": "d", "at": at}});
        let estimate = estimate(json!([main, branch]), |run| {
            let second = json!({"kind": "end", "id": "b-o", "at": "start"});
            run["outlets"].as_array_mut().unwrap().push(second);
        });
        let basis = of_line(&estimate, "d", "pipe_pieces")[0]["basis"].as_str().unwrap();
        assert!(basis.contains(through), "{at}: {basis}");
    }
}

/// A slab over legs in line is one closed cut, 2 (length + width), not sawn across where a leg ends; another surface is another
/// cut.
#[test]
fn a_slab_over_legs_in_line_is_sawn_around_once() {
    let slab = json!({"kind": "concrete_slab", "thickness": "4 in"});
    let asphalt = json!({"kind": "asphalt", "thickness": "4 in"});
    let sawn = |legs: Value| -> Vec<String> {
        let estimate = in_legs(legs, "40 ft");
        let all = of_line(&estimate, "d", "saw_cut");
        all.iter().map(|q| q["quantity"]["value"].as_str().unwrap().to_owned()).collect()
    };
    let whole = sawn(json!([{"length": "40 ft", "surface": slab}]));
    let halves = sawn(json!([{"length": "20 ft", "surface": slab}, {"length": "20 ft", "surface": slab}]));
    assert_eq!(whole, halves);
    let mixed = sawn(json!([{"length": "20 ft", "surface": slab}, {"length": "20 ft", "surface": asphalt}]));
    assert_eq!(mixed.len(), 2);
}

/// A run with a tee has three open ends: the trench is one end thickness longer for each, the cut one over-cut, and each end has
/// its form. 20 ft and 10 ft, 4 in beyond each end, 6 in of over-cut.
#[test]
fn a_run_with_a_tee_is_cut_and_formed_at_three_ends() {
    let of_run = |surface: Value| -> Value {
        estimate(
            json!([{"id": "d", "from": [{"outlet": "a-o"}], "pipe": "pipe-4", "legs": [{"length": "20 ft"}],
            "depth": "2 ft", "ends": {"kind": "discharges", "to": "swale"}}]),
            |run| {
                run["legs"] = json!([{"length": "20 ft"}, {"length": "10 ft", "meets": {"kind": "tee", "leg": 1, "at": "9 ft"}}]);
                run["outlets"][0]["leg"] = json!(1);
                run["surface"] = surface;
                run["over_cut"] = json!("6 in");
            },
        )
    };
    let basis = |estimate: &Value, name: &str| -> String {
        let all = estimate["layout"]["runs"][0]["quantities"].as_array().unwrap();
        all.iter().find(|q| q["name"] == name).unwrap()["basis"].as_str().unwrap().to_owned()
    };
    let slab = of_run(json!({"kind": "concrete_slab", "thickness": "4 in"}));
    let trench = basis(&slab, "trench_volume");
    assert!(trench.starts_with("(30 ft + 3 x 4 in end - 1 x half of "), "{trench}");
    // Three ends go 4 in and 6 in beyond, and half of the cut of 24 7/8 in is shared: 30 ft + 3 x 10 in - 12 7/16 in.
    let saw = basis(&slab, "saw_cut");
    assert!(saw.starts_with("2 x (31 ft 5 9/16 in + "), "{saw}");

    let bare = of_run(json!({"kind": "bare_soil"}));
    let forms = basis(&bare, "form_pieces");
    assert!(forms.contains(" less at the tees, and 3 ends of "), "{forms}");
    let lists = bare["layout"]["cut_lists"].as_array().unwrap();
    let boards = lists.iter().find(|l| l["part"] == "form_board").unwrap();
    let legs = boards["legs"].as_array().unwrap();
    let row: Vec<&Value> = legs.iter().filter(|l| l["leg"].as_str().unwrap().ends_with("row 1")).collect();
    assert_eq!(row.len(), 5);
    // What is formed is what the boards stand along: both sides of 31 ft less half the width of the trench, three ends, and the
    // side that the tee opens left out.
    let (along, wide) = (row.iter().map(|l| value(&l["length"])).sum::<f64>(), value(&row[4]["length"]));
    assert!((along - (2.0 * (31.0 - wide / 2.0) + 2.0 * wide)).abs() < 0.01, "{along}");
}
