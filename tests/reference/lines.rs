//! Drain lines: deep parts of a trench, ground that a depth makes up, where lines end. Geometry worked by hand.

use crate::support::{book, used};
use rillcast::compute::answers::Estimate;
use rillcast::compute::pipeline;
use rillcast::domain::demo::{NOTES, rains};
use rillcast::domain::lines::{Check, Outcome};
use rillcast::domain::words::Task;
use rillcast::wire::read_value;
use serde_json::{Value, json};

pub(crate) fn estimate(notes: &Value) -> Estimate {
    let notes = read_value(notes).unwrap_or_else(|e| panic!("{e}"));
    pipeline::estimate(&notes, &book(), &used(), &rains().unwrap()).unwrap_or_else(|e| panic!("{e}"))
}

pub(crate) fn run(id: &str) -> Value {
    json!({"id": id, "legs": [{"length": "5 m"}], "channel_system": "channel-4-light", "crossing": "feet",
        "outlets": [{"kind": "end", "id": format!("{id}-out"), "at": "finish"}]})
}

fn line(id: &str, from: &Value, rest: &Value) -> Value {
    let mut line = json!({"id": id, "from": from, "pipe": "pipe-4", "fall_pct": "2",
        "ends": {"kind": "discharges", "to": "daylight"}});
    for (member, value) in rest.as_object().unwrap() {
        line[member] = value.clone();
    }
    line
}

pub(crate) fn checked<'e>(estimate: &'e Estimate, name: &str, subject: &str) -> Option<&'e Check> {
    estimate.checks.iter().find(|c| c.name == name && c.subject == subject)
}

fn float(value: &rillcast::units::Quantity) -> f64 {
    f64::try_from(value.value()).unwrap()
}

/// One line runs into a hill to more than 5 ft deep, another stays shallow. The dig tables summed in thin slices say how much is
/// how deep: upright sides, bare soil, depth linear between stations.
#[test]
fn digging_takes_longer_where_it_is_deep_and_only_there() {
    let notes = json!({
        "soil": "clay",
        "unit_system": "us",
        "runs": [run("a"), run("b")],
        "drain_lines": [
            line("hill", &json!([{"outlet": "a-out"}]), &json!({"legs": [{"length": "40 ft"}],
                "ground": [{"at": "0 ft", "level": "0 ft"}, {"at": "30 ft", "level": "0 ft"}, {"at": "40 ft", "level": "5 ft"}]})),
            line("yard", &json!([{"outlet": "b-out"}]), &json!({"legs": [{"length": "60 ft"}],
                "ground": [{"at": "0 ft", "level": "0 ft"}, {"at": "60 ft", "level": "-1 ft"}]}))
        ]
    });
    let made = estimate(&notes);
    // Least width over a pipe of 4.215 in, as ASTM D2321 has it.
    let width = 20.215 / 12.0;
    let mut yards = [0.0; 3];
    for line in &made.layout.drain_lines {
        for pair in line.dig_table.windows(2) {
            let (x1, d1, x2, d2) = (
                float(&pair[0].station),
                float(&pair[0].depth),
                float(&pair[1].station),
                float(&pair[1].depth),
            );
            let slices = 20_000;
            for i in 0..slices {
                let depth = d1 + (d2 - d1) * (f64::from(i) + 0.5) / f64::from(slices);
                let band = usize::from(depth > 3.0) + usize::from(depth > 5.0);
                yards[band] += width * depth * (x2 - x1) / f64::from(slices) / 27.0;
            }
        }
    }
    assert!(yards.iter().all(|y| *y > 0.5), "{yards:?}");
    // Clay by mini-excavator: 1 h of setup, 0.4 h a yard, 1.15 over 3 ft, 1.4 over 5 ft.
    let hours = 1.0 + 0.4 * (yards[0] + 1.15 * yards[1] + 1.4 * yards[2]);
    let task = made.labor.tasks.iter().find(|t| t.task == Task::DigLine).unwrap();
    let net = float(&task.person_hours_net);
    assert!((net - hours).abs() < 0.002, "{net} is not {hours}: {}", task.basis);
    for words in ["x 1 (to 3 ft deep)", "x 1.15 (3 ft to 5 ft deep)", "x 1.4 (5 ft to "] {
        assert!(task.basis.contains(words), "{words}: {}", task.basis);
    }
    // Each line says how much of it is how deep.
    let basis = |index: usize| {
        let found = made.layout.drain_lines[index].quantities.iter().find(|q| q.name == "excavation");
        found.unwrap().basis.clone()
    };
    assert!(basis(0).contains(" where it is 5 ft to "), "{}", basis(0));
    assert!(!basis(1).contains("where it is"), "{}", basis(1));
    let reach = checked(&made, "method_reach", "dig_line").unwrap();
    assert!(reach.reason.ends_with(" (line hill)"), "{}", reach.reason);
    let reach = checked(&made, "method_reach", "dig_run").unwrap();
    assert!(reach.reason.ends_with(" (run a, run b)"), "{}", reach.reason);
}

/// Every line that a method does not reach the bottom of is named with its depth.
#[test]
fn lines_beyond_the_reach_of_a_method_are_named() {
    let deep =
        |level: &str| json!({"legs": [{"length": "20 ft"}], "ground": [{"at": "0 ft", "level": level}]});
    let made = estimate(&json!({
        "unit_system": "us",
        "runs": [run("a"), run("b"), run("c")],
        "drain_lines": [
            line("one", &json!([{"outlet": "a-out"}]), &deep("3 ft")),
            line("two", &json!([{"outlet": "b-out"}]), &deep("4 ft")),
            line("three", &json!([{"outlet": "c-out"}]), &deep("0 ft"))
        ],
        "options": {"methods": [{"task": "dig_line", "method": "trencher"}]}
    }));
    let check = checked(&made, "method_reach", "dig_line").unwrap();
    assert_eq!(check.outcome, Outcome::Fail);
    assert!(
        check.reason.contains("(line one: ") && check.reason.contains(", line two: "),
        "{}",
        check.reason
    );
    assert!(!check.reason.contains("three"), "{}", check.reason);
}

/// Two runs at level 0, their outlets at the upper end and at 38 m of a line that falls by 2 %: one depth cannot follow the ground.
#[test]
fn a_depth_that_makes_up_ground_is_held_against_the_surface() {
    let with = |depth: &str, from: Value| {
        estimate(&json!({
            "unit_system": "metric",
            "runs": [run("a"), run("b")],
            "drain_lines": [
                line("l", &from, &json!({"legs": [{"length": "40 m"}], "depth": depth})),
                line("other", &json!([{"outlet": "b-out"}]), &json!({"legs": [{"length": "2 m"}], "depth": depth}))
            ]
        }))
    };
    let both = json!([{"outlet": "a-out"}, {"outlet": "b-out", "at": "38 m"}]);
    let made = estimate(&json!({
        "unit_system": "metric",
        "runs": [run("a"), run("b")],
        "drain_lines": [line("l", &both, &json!({"legs": [{"length": "40 m"}], "depth": "60 cm"}))]
    }));
    let table = &made.layout.drain_lines[0].dig_table;
    let (ground, invert) = (float(&table[0].ground), float(&table[0].invert));
    assert!(ground > 0.3, "{ground}");
    let check = checked(&made, "ground_by_depth", "line l").unwrap();
    assert_eq!(check.outcome, Outcome::Warn);
    for words in
        ["`a-out` is at 0 mm", "`b-out` is at 0 mm", "at 38 m the ground would be at ", "give ground levels"]
    {
        assert!(check.reason.contains(words), "{words}: {}", check.reason);
    }
    // The cover is that under the surface: from it down to the top of a pipe whose wall is (4.215 - 4) / 2 in at most.
    let cover = checked(&made, "cover", "line l").unwrap();
    assert_eq!(cover.outcome, Outcome::Warn, "{}", cover.reason);
    assert!(cover.reason.starts_with("at 0 mm the cover is "), "{}", cover.reason);
    assert!(-invert < 0.3, "{invert}");
    // A depth that is that of the outlet is no matter.
    let fits = format!("{:.4} m", 0.6 - ground);
    let alone = with(&fits, json!([{"outlet": "a-out"}]));
    assert!(checked(&alone, "ground_by_depth", "line l").is_none());
}

#[test]
fn each_outfall_has_its_own_caution_and_stands_with_its_line() {
    let mut texts = std::collections::BTreeSet::new();
    let words = ["daylight", "storm_sewer", "existing_pipe", "street", "swale", "dry_well", "pond"];
    for to in words {
        let mut notes: Value = serde_json::from_str(NOTES).unwrap();
        notes["drain_lines"][0]["ends"]["to"] = json!(to);
        let made = estimate(&notes);
        let answer = serde_json::to_value(&made.layout.drain_lines).unwrap();
        assert_eq!(answer[0]["discharges_to"], to);
        assert!(answer[1].get("discharges_to").is_none(), "{}", answer[1]);
        let found: Vec<_> = made.cautions.iter().filter(|c| c.name == "outfall").collect();
        assert_eq!(found.len(), 1, "{to}");
        assert!(found[0].raised_by.starts_with("line main ends at "), "{}", found[0].raised_by);
        texts.insert(found[0].text.clone());
    }
    assert_eq!(texts.len(), words.len());
}

#[test]
fn cautions_speak_the_units_of_the_job() {
    let cautions = |system: &str| {
        let mut notes: Value = serde_json::from_str(NOTES).unwrap();
        notes["unit_system"] = json!(system);
        notes["drain_lines"][0]["ground"] = json!([{"at": "0 ft", "level": "6 ft"}]);
        let made = estimate(&notes);
        made.cautions.into_iter().map(|c| (c.name, format!("{} [{}]", c.text, c.source))).collect::<Vec<_>>()
    };
    let told = |list: &[(&'static str, String)], name: &str| {
        list.iter().find(|c| c.0 == name).unwrap_or_else(|| panic!("no {name}")).1.clone()
    };
    let (us, metric) = (cautions("us"), cautions("metric"));
    assert!(told(&us, "spoil_set_back").contains("at least 2 ft back"));
    assert!(told(&metric, "spoil_set_back").contains("at least 0.6 m back"));
    assert!(
        told(&us, "silica").contains("the table of the silica regulation")
            && told(&us, "silica").contains("29 CFR")
    );
    assert!(!told(&metric, "silica").contains("CFR") && !told(&metric, "silica").contains("able 1"));
    for name in ["way_out", "cave_in", "spoil_set_back"] {
        assert!(!told(&metric, name).contains(" ft"), "{}", told(&metric, name));
    }
}

#[test]
fn an_orifice_is_an_orifice() {
    let mut notes: Value = serde_json::from_str(NOTES).unwrap();
    notes["catchments"][0]["surfaces"][0]["area"] = json!("600000 ft2");
    let made = estimate(&notes);
    let check = checked(&made, "grate_intake", "run drive").unwrap();
    assert!(check.reason.contains("as an orifice (weir"), "{}", check.reason);
}

/// What a line of `pipe-4` of these legs (feet, turn at the lower end) says of this: value, basis.
fn fitting(legs: &[(i64, i64)], name: &str) -> Option<(String, String)> {
    let leg = |(length, bend): &(i64, i64)| {
        let mut leg = json!({"length": format!("{length} ft")});
        if *bend > 0 {
            leg["bend"] = json!(bend);
        }
        leg
    };
    let legs: Vec<Value> = legs.iter().map(leg).collect();
    let line = line("l", &json!([{"outlet": "a-out"}]), &json!({"legs": legs, "depth": "2 ft"}));
    let made = estimate(&json!({"unit_system": "us", "runs": [run("a")], "drain_lines": [line]}));
    let found = made.layout.drain_lines[0].quantities.iter().find(|q| q.name == name);
    found.map(|q| (q.quantity.value().to_string(), q.basis.to_string()))
}

/// What makes a surface good over a leg names the leg once.
#[test]
fn a_surface_made_good_names_its_leg_once() {
    let asphalt = json!({"kind": "asphalt", "thickness": "4 in"});
    let line = line(
        "yard",
        &json!([{"outlet": "a-out"}]),
        &json!({"depth": "2 ft", "legs": [{"length": "20 ft"}, {"length": "10 ft", "surface": asphalt}]}),
    );
    let made = estimate(&json!({"unit_system": "us", "runs": [run("a")], "drain_lines": [line]}));
    let patch = made.cost_lines.iter().find(|l| l.code == "asphalt-patch").expect("asphalt");
    assert!(patch.basis.starts_with("line yard: leg 2: 10 ft x "), "{}", patch.basis);
    assert_eq!(patch.basis.matches("leg 2").count(), 1, "{}", patch.basis);
}

/// The book has bends of 45 and 22 degrees; a clean-out stands every 100 ft and where the line has turned more than 135 degrees
/// since the last: 45 and 67 at 40 ft and 115 ft with a clean-out at 100 ft between, then 67 + 90 at 150 ft, then 100 ft on.
#[test]
fn bends_and_clean_outs_say_where_they_are() {
    let legs = [(40, 45), (75, 67), (35, 90), (130, 0)];
    let told = |count: &str, basis: &str| Some((count.to_owned(), basis.to_owned()));
    assert_eq!(
        fitting(&legs, "bends"),
        told("5", "45° after leg 1: 45°; 67° after leg 2: 45° + 22°; 90° after leg 3: 45° + 45°")
    );
    assert_eq!(fitting(&[(20, 0)], "bends"), told("0", "no leg turns at its lower end"));
    assert_eq!(
        fitting(&legs, "clean_outs"),
        told(
            "3",
            "one for more than 135° of turn in all and one at least every 100 ft: at 100 ft, 150 ft, 250 ft"
        )
    );
    assert_eq!(fitting(&[(100, 0)], "clean_outs"), None);
    let (count, basis) = fitting(&[(1001, 0)], "clean_outs").unwrap();
    assert_eq!(count, "10");
    assert!(basis.ends_with("700 ft, 800 ft and 2 more"), "{basis}");
}

/// A turn back by 135 degrees takes three of 45; one of 180 would take four, and 30 cannot be made of 45 and 22.
#[test]
fn three_bends_make_a_turn_that_two_do_not() {
    let turned = |degrees: i64| fitting(&[(20, degrees), (20, 0)], "bends").unwrap();
    assert_eq!(turned(135), ("3".to_owned(), "135° after leg 1: 45° + 45° + 45°".to_owned()));
    assert_eq!(turned(90).0, "2");
    for degrees in [180, 30] {
        assert_eq!(turned(degrees), ("0".to_owned(), format!("{degrees}° after leg 1: no bends make it")));
    }
}

/// A trench that reaches to the middle of its pipe holds half of it: 40 ft long, 20.215 in wide, 4 in of bedding and 2.1075 in beside a
/// pipe of 4.215 in. By hand 40 ft x (20.215 x 2.1075 - pi 4.215² / 8) in² = 9.8963 ft³ beside it, 0.3665 yd³; half the pipe is
/// 1.938 ft³, 0.0718 yd³.
#[test]
fn a_trench_shallower_than_its_pipe_holds_the_part_of_it_within() {
    let line = line(
        "l",
        &json!([{"outlet": "a-out"}]),
        &json!({"legs": [{"length": "40 ft"}], "depth": "6.1075 in"}),
    );
    let made = estimate(&json!({"unit_system": "us", "runs": [run("a")], "drain_lines": [line]}));
    let found = |name: &str| made.layout.drain_lines[0].quantities.iter().find(|q| q.name == name).unwrap();
    let zone = found("zone_fill");
    assert!((float(&zone.quantity) - 0.3665).abs() < 2e-4, "{}", zone.quantity);
    assert!(
        zone.basis.contains("less the pipe, 0.0718 yd3 of it in the trench and 0.0718 yd3 above"),
        "{}",
        zone.basis
    );
    let backfill = found("backfill");
    assert!(backfill.basis.contains("+ pipe 0.0718 yd3 + zone fill"), "{}", backfill.basis);
    assert_eq!(float(&backfill.quantity), 0.0);
}
