//! What cannot be computed, and what is unusual, is told in the words and units of the job.

use crate::job::{checked, failed};
use rillcast::compute::answers::FlowAnswer;
use rillcast::domain::lines::{Check, Outcome};
use serde_json::{Value, json};

/// A straight run of 40 ft whose outlet drains into a line.
fn notes(area: &str) -> Value {
    json!({
        "runs": [{"id": "a", "legs": [{"length": "40 ft"}], "channel_system": "channel-6-u", "crossing": "feet",
            "outlets": [{"kind": "end", "id": "o", "at": "finish"}]}],
        "drain_lines": [{"id": "main", "from": [{"outlet": "o"}], "pipe": "pipe-4", "legs": [{"length": "30 ft"}],
            "depth": "4 ft", "ends": {"kind": "discharges", "to": "swale"}}],
        "storm": {"rain": {"kind": "intensity", "intensity": "4 in_per_hr"}},
        "catchments": [{"id": "yard", "surfaces": [{"cover": "concrete", "area": area}], "reaches": [{"run": "a"}]}]})
}

fn answered(notes: &Value) -> FlowAnswer {
    checked(notes).unwrap_or_else(|faults| panic!("{faults:?}"))
}

/// No member of the computing core and no unit of its own in a job in feet.
fn in_words(checks: &[Check]) {
    for check in checks {
        for raw in ["_m ", "_m:", "[", "m3/s", " m ", " m:", " m;", "-0 "] {
            assert!(!check.reason.contains(raw), "{raw:?} in {}", check.reason);
        }
    }
}

#[test]
fn water_that_backs_up_too_far_to_be_computed_is_told_in_feet_at_its_outlet() {
    let answer = answered(&notes("100000 yd2"));
    in_words(&answer.checks);
    let [told] = failed(&answer.checks, "run_water")[..] else { panic!("one reason") };
    assert!(told.starts_with("the water depth behind outlet o is "), "{told}");
    assert!(
        told.ends_with(" ft, and water is computed from 0 in to 656.168 ft (depth above the bed)"),
        "{told}"
    );
    // So much water that the formulas of the pipe do not take it.
    let mut flood = notes("100000 yd2");
    flood["storm"]["rain"]["intensity"] = json!("70 in_per_hr");
    flood["catchments"][0]["surfaces"][0]["area"] = json!("900000 yd2");
    in_words(&answered(&flood).checks);
}

#[test]
fn a_stretch_of_pipe_too_short_to_be_computed_is_told_with_its_line() {
    let mut short = notes("1000 ft2");
    short["runs"][0]["outlets"] =
        json!([{"kind": "end", "id": "o", "at": "finish"}, {"kind": "end", "id": "p", "at": "start"}]);
    short["drain_lines"][0]["from"] = json!([{"outlet": "o"}, {"outlet": "p", "at": "1/64 in"}]);
    let answer = answered(&short);
    let [told] = failed(&answer.checks, "line_water")[..] else { panic!("one reason") };
    assert_eq!(
        told,
        "the grade line cannot be followed: the leg length of line main from 0 ft to 0.001 ft is 0.02 in, and \
         water is computed from 0.04 in to 16404.199 ft (a leg is at least a millimetre long)"
    );
}

#[test]
fn a_steep_bed_is_told_in_percent() {
    let mut steep = notes("100 ft2");
    steep["runs"][0]["legs"][0]["fall_pct"] = json!("50");
    let answer = answered(&steep);
    let warnings = &answer.water.runs[0].chains[0].surface.as_ref().unwrap().warnings;
    let told = warnings.iter().find(|w| w.kind == "steep_bed").unwrap();
    assert_eq!(
        told.text,
        "the bed falls 50 %; above 10 % the equations, made for small slopes, are off by more than one per cent"
    );
}

/// A pipe of 3.975 in at 0.5 % runs 1.996 ft/s full (Manning, n 0.010): less than the 2 ft/s that carry grit away, and told so.
#[test]
fn a_velocity_is_told_apart_from_its_limit() {
    let mut flat = notes("1000 ft2");
    flat["drain_lines"][0]["fall_pct"] = json!("0.5");
    let answer = answered(&flat);
    let told = answer.checks.iter().find(|c| c.name == "line_capacity").unwrap();
    let words = "flowing full it runs 1.996 ft_per_s, slower than the 2 ft_per_s that carry grit away";
    assert!(told.reason.contains(words), "{}", told.reason);
}

#[test]
fn the_water_surface_says_the_section_and_its_balance_in_words() {
    let answer = answered(&notes("1000 ft2"));
    let basis = &answer.water.runs[0].chains[0].surface.as_ref().unwrap().basis;
    assert!(basis.contains("semicircular bottom and upright walls, 6 in wide inside; "), "{basis}");
    assert!(!basis.contains("0e0"), "{basis}");
}

#[test]
fn a_grate_that_is_an_orifice_is_said_to_be_one() {
    let answer = answered(&notes("300000 ft2"));
    let [told] = failed(&answer.checks, "grate_intake")[..] else { panic!("one reason") };
    assert!(told.contains("; as an orifice (weir 1.66"), "{told}");
    let answer = answered(&notes("5000 ft2"));
    let told = answer.checks.iter().find(|c| c.name == "grate_intake").unwrap();
    assert!(told.reason.contains("; as a weir (weir 1.66"), "{}", told.reason);
}

/// A stretch is measured along one leg: on a run of several the leg is named.
#[test]
fn a_stretch_without_its_leg_is_refused_where_there_are_several() {
    let mut job = notes("1000 ft2");
    for stretch in [json!({"from": "2 ft"}), json!({"to": "8 ft"}), json!({"from": "2 ft", "to": "8 ft"})] {
        job["runs"][0]["legs"] = json!([{"length": "40 ft"}]);
        job["catchments"][0]["reaches"] = json!([{"run": "a"}]);
        job["catchments"][0]["reaches"][0]
            .as_object_mut()
            .unwrap()
            .extend(stretch.as_object().unwrap().clone());
        answered(&job);
        job["runs"][0]["legs"] =
            json!([{"length": "40 ft"}, {"length": "20 ft", "meets": {"kind": "corner"}}]);
        let [fault] = &checked(&job).unwrap_err()[..] else { panic!("one fault") };
        assert_eq!((fault.code, fault.pointer.as_str()), ("required", "#/notes/catchments/0/reaches/0/leg"));
        assert!(fault.detail.contains("say which, 1 to 2"), "{}", fault.detail);
        job["catchments"][0]["reaches"][0]["leg"] = json!(2);
        answered(&job);
    }
    // One place stays on the first leg, and a stretch that ends too far is told also while the system is open.
    job["catchments"][0]["reaches"] =
        json!([{"run": "a", "at": "2 ft"}, {"run": "a", "leg": 2, "to": "21 ft"}]);
    job["runs"][0].as_object_mut().unwrap().remove("channel_system");
    job["drain_lines"][0]["pipe"] = json!("none");
    let told = checked(&job).unwrap_err();
    let told: Vec<&str> = told.iter().map(|f| f.pointer.as_str()).collect();
    assert_eq!(told, ["#/notes/drain_lines/0/pipe", "#/notes/catchments/0/reaches/1/to"]);
}

/// A run that no catchment names would pass with no water in it: it is warned of, and only while that is so.
#[test]
fn a_run_that_no_catchment_reaches_is_named() {
    let told = |job: &Value| -> Vec<(String, Outcome, String)> {
        let answer = answered(job);
        let of = answer.checks.iter().filter(|c| c.name == "run_reached");
        of.map(|c| (c.subject.clone(), c.outcome, c.reason.clone())).collect()
    };
    let mut job = notes("1000 ft2");
    assert_eq!(told(&job), []);
    let mut forgotten = job["runs"][0].clone();
    forgotten["id"] = json!("b");
    forgotten["outlets"][0]["id"] = json!("p");
    job["runs"].as_array_mut().unwrap().push(forgotten);
    job["drain_lines"][0]["from"] = json!([{"outlet": "o"}, {"outlet": "p"}]);
    let reason = "no catchment reaches run `b` and nothing flows in by itself: no water of the storm is checked in it. Name it in \
                  `reaches` of the catchments whose water it takes, or in an entry of `inflows`";
    assert_eq!(told(&job), [("run b".to_owned(), Outcome::Warn, reason.to_owned())]);
    assert_eq!(answered(&job).water.runs[1].outcome, Outcome::Warn);

    let mut shared = job.clone();
    shared["catchments"][0]["reaches"] = json!([{"run": "a"}, {"run": "b", "at": "3 ft"}]);
    assert_eq!(told(&shared), []);
    // What flows in by itself is water, and where there is no catchment none was forgotten.
    job["inflows"] = json!([{"id": "hose", "run": "b", "at": "1 ft", "flow": "5 gal_us_per_min"}]);
    assert_eq!(told(&job), []);
    job["inflows"][0]["run"] = json!("a");
    assert_eq!(told(&job).len(), 1);
    job.as_object_mut().unwrap().remove("catchments");
    assert_eq!(told(&job), []);
}
