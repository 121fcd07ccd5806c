//! Systems and pipes that notes leave open, and those that are suggested: only what can be built in and carries what crosses.

use crate::job::{DEMO, book, checked, estimated, failed};
use proptest::prelude::*;
use proptest::test_runner::RngSeed;
use rillcast::compute::drainage::answer::{Chosen, WaterAnswer};
use serde_json::{Value, json};

/// A run with what it gets of 5.5 in of rain an hour on so many square feet.
fn notes(run: &Value, square_feet: u32) -> Value {
    json!({"runs": [run],
        "storm": {"return_period_years": 10, "rain": {"kind": "intensity", "intensity": "5.5 in_per_hr"}},
        "catchments": [{"id": "c", "surfaces": [{"cover": "concrete", "area": format!("{square_feet} ft2")}],
            "reaches": [{"run": "a"}]}]})
}

fn run(legs: &Value, more: &Value) -> Value {
    let mut run = json!({"id": "a", "legs": legs, "crossing": "feet",
        "outlets": [{"kind": "end", "id": "o", "leg": 1, "at": "finish"}]});
    run.as_object_mut().unwrap().extend(more.as_object().unwrap().clone());
    run
}

fn passed_over(chosen: &Chosen) -> Vec<(&str, String)> {
    chosen.passed_over.iter().map(|p| (p.code.as_str(), p.reasons.join("; "))).collect()
}

fn water(answer: Option<&WaterAnswer>) -> &WaterAnswer {
    answer.unwrap()
}

/// A tee with more water than any system with a tee carries: the system with built-in fall has none.
#[test]
fn a_suggestion_that_cannot_be_built_in_fails_nothing() {
    let legs =
        json!([{"length": "40 ft"}, {"length": "20 ft", "meets": {"kind": "tee", "leg": 1, "at": "20 ft"}}]);
    let named = run(&legs, &json!({"channel_system": "channel-4-light"}));
    for square_feet in [2_600, 9_000] {
        let answer = estimated(&notes(&named, square_feet), &DEMO);
        assert!(!failed(&answer.checks, "run_freeboard").is_empty());
        let [suggested] = water(answer.water.as_ref()).suggested.as_slice() else { panic!("one suggestion") };
        assert_eq!(suggested.code, "channel-6-u");
        let told = passed_over(suggested);
        assert_eq!(
            told.iter().map(|t| t.0).collect::<Vec<_>>(),
            ["channel-4-light", "channel-6-u", "channel-8-fall"]
        );
        assert!(told[2].1.contains("has no tee"), "{told:?}");
        assert!(suggested.because.starts_with("none that may be taken does"), "{}", suggested.because);
    }
}

#[test]
fn when_nothing_that_fits_carries_the_water_the_last_that_fits_is_shown() {
    let tee =
        json!([{"length": "40 ft"}, {"length": "20 ft", "meets": {"kind": "tee", "leg": 1, "at": "20 ft"}}]);
    let straight = json!([{"length": "40 ft"}]);
    for (run, last) in [
        (run(&tee, &json!({"channel_systems": ["channel-4-light", "channel-6-u"]})), "channel-6-u"),
        (run(&tee, &json!({})), "channel-6-u"),
        (run(&straight, &json!({"grate": "grate-4-ductile"})), "channel-4-light"),
    ] {
        let answer = estimated(&notes(&run, 9_000), &DEMO);
        let [chosen] = water(answer.water.as_ref()).chosen.as_slice() else { panic!("one choice") };
        assert_eq!(chosen.code, last);
        assert!(chosen.because.starts_with("none that may be taken does"), "{}", chosen.because);
        assert!(!failed(&answer.checks, "run_freeboard").is_empty());
    }
}

/// The middle leg of a U is too short for the corners of a wider system.
#[test]
fn a_leg_too_short_for_the_fittings_of_what_is_suggested_fails_nothing() {
    let legs = json!([{"length": "20 ft"}, {"length": "15 in", "meets": {"kind": "corner"}},
        {"length": "20 ft", "meets": {"kind": "corner"}}]);
    let mut run = run(&legs, &json!({"channel_system": "channel-6-u"}));
    run["outlets"] = json!([{"kind": "end", "id": "o", "at": "finish"}]);
    let answer = estimated(&notes(&run, 9_000), &DEMO);
    let [suggested] = water(answer.water.as_ref()).suggested.as_slice() else { panic!("one suggestion") };
    let told = passed_over(suggested);
    assert!(
        told.iter().any(|(code, why)| *code == "channel-8-fall" && why.contains("use up more length")),
        "{told:?}"
    );
    assert_ne!(suggested.code, "channel-8-fall");
}

/// 1000 ft² overtop the narrowest system; the next has a grate too weak for wheels, the one after carries both.
#[test]
fn a_system_with_too_weak_a_grate_is_passed_over_wherever_it_comes_in_the_order() {
    let weak = book(|doc| {
        for system in doc["channel_systems"].as_array_mut().unwrap() {
            for grate in system["grates"].as_array_mut().unwrap() {
                if grate["item"] == "grate-6-cast" {
                    grate["load_class"] = json!("A15");
                }
            }
        }
    });
    let open = run(&json!([{"length": "40 ft"}]), &json!({"crossing": "wheels"}));
    let answer = estimated(&notes(&open, 1_000), &weak);
    let [chosen] = water(answer.water.as_ref()).chosen.as_slice() else { panic!("one choice") };
    assert_eq!(chosen.code, "channel-8-fall", "{chosen:?}");
    let told = passed_over(chosen);
    assert!(
        told.contains(&("channel-6-u", "its strongest grate is A15, too weak for `wheels`".to_owned())),
        "{told:?}"
    );
    assert_eq!(failed(&answer.checks, "load_class"), [""; 0]);
    assert_eq!(failed(&answer.checks, "run_freeboard"), [""; 0]);
    // Nor is it suggested.
    let mut named = open;
    named["channel_system"] = json!("channel-4-light");
    let answer = estimated(&notes(&named, 1_000), &weak);
    assert_eq!(water(answer.water.as_ref()).suggested[0].code, "channel-8-fall");
}

/// Where no grate at all is strong enough, the run is still reckoned, and fails by its load class.
#[test]
fn where_every_grate_is_too_weak_the_check_says_so() {
    let open = run(&json!([{"length": "40 ft"}]), &json!({"crossing": "F900", "setting_detail": "wheels"}));
    let answer = estimated(&notes(&open, 100), &DEMO);
    let [chosen] = water(answer.water.as_ref()).chosen.as_slice() else { panic!("one choice") };
    assert!(chosen.because.starts_with("none that may be taken does"), "{}", chosen.because);
    assert_eq!(chosen.passed_over.len(), 3);
    assert_eq!(failed(&answer.checks, "load_class").len(), 1);
}

#[test]
fn where_no_system_can_be_built_in_each_says_why() {
    let tee =
        json!([{"length": "40 ft"}, {"length": "20 ft", "meets": {"kind": "tee", "leg": 1, "at": "20 ft"}}]);
    let of = |more: Value| checked(&notes(&run(&tee, &more), 100)).unwrap_err();
    let [fault] = &of(json!({"channel_systems": ["channel-8-fall"]}))[..] else { panic!("one fault") };
    assert_eq!((fault.code, fault.pointer.as_str()), ("no_system_fits", "#/notes/runs/0/channel_systems"));
    assert!(fault.detail.contains("`channel-8-fall`: this channel system has no tee"), "{}", fault.detail);
    // A grate that no system takes is told at the grate, with what there is.
    let [fault] = &of(json!({"grate": "grate-4-ductil"}))[..] else { panic!("one fault") };
    assert_eq!((fault.code, fault.pointer.as_str()), ("unknown_code", "#/notes/runs/0/grate"));
    assert!(fault.detail.contains("did you mean `grate-4-ductile`?"), "{}", fault.detail);
    assert!(fault.allowed.contains(&"grate-6-cast".to_owned()), "{:?}", fault.allowed);
    // With a name that is not known among the systems, that one may be the one that fits.
    let told = of(json!({"channel_systems": ["channel-8-fall", "channel-4-lite"]}));
    assert_eq!(told.iter().map(|f| f.code).collect::<Vec<_>>(), ["unknown_code"]);
}

/// Each line is at least as wide as what enters it, also where a line above had to be widened.
#[test]
fn a_pipe_below_one_that_was_widened_is_as_wide() {
    let notes = json!({
        "runs": [
            {"id": "a", "legs": [{"length": "20 ft"}], "channel_system": "channel-4-light", "crossing": "feet",
             "outlets": [{"kind": "end", "id": "o", "at": "finish"}]}],
        "drain_lines": [
            {"id": "branch", "from": [{"outlet": "o"}], "legs": [{"length": "20 ft"}], "depth": "4 ft", "fall_pct": "1",
             "ends": {"kind": "joins", "line": "main", "at": "0 ft"}},
            {"id": "main", "from": [], "legs": [{"length": "20 ft"}], "depth": "4 ft", "fall_pct": "8",
             "ends": {"kind": "discharges", "to": "swale"}}],
        "storm": {"rain": {"kind": "intensity", "intensity": "5.5 in_per_hr"}},
        "catchments": [],
        "inflows": [{"id": "pump", "run": "a", "at": "19 ft", "flow": "140 gal_us_per_min"}]});
    let answer = checked(&notes).unwrap();
    let pipes: Vec<&str> = answer.water.drain_lines.iter().map(|l| l.pipe.as_str()).collect();
    assert_eq!(pipes, ["pipe-6", "pipe-6"]);
    let main = answer.water.chosen.iter().find(|c| c.subject == "line main").unwrap();
    let told = passed_over(main);
    assert!(
        told.iter().any(|(_, why)| why.contains("narrower than the 5.915 in") && why.contains("line branch")),
        "{told:?}"
    );
}

/// Legs with corners and tees, many of them too short for the fittings of some system, any of the ways to name systems.
fn runs() -> impl Strategy<Value = Value> {
    let leg = (6_i64..40, 0..3_u8, prop::bool::ANY);
    let system = prop_oneof![
        Just(json!({})),
        Just(json!({"channel_system": "channel-4-light"})),
        Just(json!({"channel_system": "channel-6-u"})),
        Just(json!({"channel_systems": ["channel-4-light", "channel-6-u"]})),
        Just(json!({"channel_systems": ["channel-8-fall", "channel-4-light"]})),
        Just(json!({"grate": "grate-4-ductile"})),
        Just(json!({"grate": "grate-6-cast"})),
    ];
    let crossing = prop_oneof![Just("feet"), Just("wheels"), Just("C250")];
    (20_i64..200, prop::collection::vec(leg, 0..4), system, crossing).prop_map(
        |(first, legs, system, crossing)| {
            let mut list = vec![json!({"length": format!("{first} in")})];
            for (length, meets, long) in legs {
                let meets = match meets {
                    0 => json!({"kind": "tee", "leg": 1, "at": format!("{} in", first / 2)}),
                    _ => json!({"kind": "corner"}),
                };
                let length = if long { length * 4 } else { length };
                list.push(json!({"length": format!("{length} in"), "meets": meets}));
            }
            let mut run = run(&json!(list), &system);
            run["outlets"] = json!([{"kind": "end", "id": "o", "leg": 1, "at": "start"}]);
            run["crossing"] = json!(crossing);
            run
        },
    )
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 48, failure_persistence: None, rng_seed: RngSeed::Fixed(11), ..ProptestConfig::default()
    })]

    /// However much water comes: what can be answered for a little can be answered for much.
    #[test]
    fn more_water_makes_no_fault(run in runs()) {
        if checked(&notes(&run, 20)).is_ok() {
            for square_feet in [2_000, 20_000] {
                let answer = checked(&notes(&run, square_feet));
                prop_assert!(answer.is_ok(), "{square_feet} ft2 on {run}: {:?}", answer.err());
            }
        }
    }
}

/// From 24 in below the ground 4 in of fall are left over 50 ft, 0.6667 %: less than the 1 % of a bore of 6 in.
#[test]
fn a_pipe_that_calls_for_more_fall_than_the_levels_leave_is_passed_over() {
    let notes = |ends: Value| {
        json!({
            "runs": [{"id": "a", "legs": [{"length": "20 ft"}], "channel_system": "channel-6-u", "crossing": "feet",
                "outlets": [{"kind": "bottom", "id": "o", "at": "19 ft"}]}],
            "drain_lines": [{"id": "l", "from": [{"outlet": "o"}], "legs": [{"length": "50 ft"}],
                "ground": [{"at": "0 ft", "level": "0 in"}], "ends": ends}],
            "storm": {"return_period_years": 10, "rain": {"kind": "intensity", "intensity": "3 in_per_hr"}},
            "inflows": [{"id": "hose", "run": "a", "at": "1 ft", "flow": "40 gal_us_per_min"}]})
    };
    let flat_rule = book(|doc| doc["line_rules"]["usual_fall_pct"] = json!("0.6"));
    for (ends, book, falls) in [
        (json!({"kind": "discharges", "to": "swale", "invert_level": "-24 in"}), &*DEMO, "0.6667 %"),
        // No level is known: it is laid at the usual fall of the office.
        (json!({"kind": "discharges", "to": "swale"}), &flat_rule, "0.6 %"),
    ] {
        let answer = estimated(&notes(ends), book);
        let [chosen] = water(answer.water.as_ref()).chosen.as_slice() else { panic!("one choice") };
        assert_eq!(chosen.code, "pipe-8", "{chosen:?}");
        let told = passed_over(chosen);
        let (code, why) = told.last().unwrap();
        assert_eq!(*code, "pipe-6");
        assert!(why.contains(&format!("laid at {falls}, but a bore of ")), "{why}");
        for name in ["least_fall", "fall_available", "line_capacity"] {
            assert_eq!(failed(&answer.checks, name), [""; 0]);
        }
    }
}

/// A run of 18 in is too short for the least piece of 2 ft of one system, and is 14 in of the other beside its outlet, which takes
/// pieces of 1 ft: what the cut list cannot make is not chosen, unless there is nothing else.
#[test]
fn a_system_whose_stock_cannot_make_up_a_leg_is_passed_over() {
    let book = book(|doc| {
        let systems = doc["channel_systems"].as_array_mut().unwrap();
        let light = systems.iter_mut().find(|s| s["code"] == "channel-4-light").unwrap();
        light["least_piece"] = json!("2 ft");
    });
    let of = |systems: &[&str]| {
        let run = run(&json!([{"length": "18 in"}]), &json!({"channel_systems": systems}));
        let answer = estimated(&notes(&run, 20), &book);
        let [chosen] = water(answer.water.as_ref()).chosen.as_slice() else { panic!("one choice") };
        (
            chosen.code.clone(),
            passed_over(chosen).into_iter().map(|p| p.1).collect::<Vec<_>>(),
            failed(&answer.checks, "least_piece").len(),
        )
    };
    let (code, why, failures) = of(&["channel-4-light", "channel-6-u"]);
    assert_eq!((code.as_str(), failures), ("channel-6-u", 0));
    assert_eq!(
        why,
        [
            "leg 1: channel of 1 ft 6 in is shorter than the least piece of 2 ft: move a fitting or change a leg"
        ]
    );
    let (code, why, failures) = of(&["channel-4-light"]);
    assert_eq!((code.as_str(), why.len(), failures), ("channel-4-light", 1, 1));
}
