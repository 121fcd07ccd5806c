//! Every range on both sides of its ends, what is told beside levels, and whole notes that have nothing to tell.

#![expect(clippy::unwrap_used, reason = "a test that cannot read the demo must stop")]

use super::{MOST, beside, checks, of_concrete};
use crate::domain::book::PriceBook;
use crate::domain::demo::{BOOK, NOTES};
use crate::domain::lines::Outcome;
use crate::units::show::Show;
use crate::units::{Percent, UnitSystem};
use crate::wire::notes::SiteNotes;
use crate::wire::read_value;
use serde_json::{Value, json};

/// A job of a run and a line with one change: at a pointer, a value.
fn job(pointer: &str, value: &Value) -> Value {
    let mut notes = json!({
        "runs": [{"id": "r", "legs": [{"length": "8 m"}, {"length": "4 m", "meets": {"kind": "tee", "leg": 1, "at": "3 m"}}],
            "channel_system": "channel-6-u", "crossing": "wheels", "surface": {"kind": "concrete_slab", "thickness": "14 cm"},
            "outlets": [{"kind": "bottom", "id": "o", "at": "7 m"}]}],
        "drain_lines": [{"id": "l", "from": [{"outlet": "o"}], "pipe": "pipe-6", "legs": [{"length": "9 m"}, {"length": "6 m"}],
            "depth": "85 cm", "ends": {"kind": "discharges", "to": "swale"}}],
        "storm": {"rain": {"kind": "intensity", "intensity": "100 mm_per_hr"}},
        "catchments": [{"id": "c", "surfaces": [{"cover": "asphalt", "area": "85 m2"}], "reaches": [{"run": "r", "leg": 1}]}],
        "inflows": [{"id": "i", "run": "r", "at": "1 m", "flow": "0.5 l_per_s"}]
    });
    let (parent, name) = pointer.rsplit_once('/').unwrap();
    notes.pointer_mut(parent).unwrap()[name] = value.clone();
    notes
}

fn told_in(notes: &Value, system: UnitSystem) -> Vec<(String, String)> {
    let notes: SiteNotes = read_value(notes).unwrap();
    let found = checks(&notes, Show(system));
    let told = |c: crate::domain::lines::Check| {
        assert_eq!((c.name, c.outcome), ("noted_figure", Outcome::Warn));
        (c.subject, c.reason)
    };
    found.into_iter().map(told).collect()
}

/// What is told where a change is read in metres.
fn told(pointer: &str, value: &Value) -> Vec<(String, String)> {
    told_in(&job(pointer, value), UnitSystem::Metric)
}

/// Of each figure: where it stands, what is just within its range at both ends, and what is just without.
fn both_sides(cases: &[(&str, &[&str], &[&str])]) {
    for (pointer, within, without) in cases {
        for text in *within {
            assert_eq!(told(pointer, &json!(text)), [], "{pointer}: {text}");
        }
        for text in *without {
            let found = told(pointer, &json!(text));
            assert_eq!(found.len(), 1, "{pointer}: {text}: {found:?}");
        }
    }
}

#[test]
fn lengths_are_told_just_beyond_their_ranges() {
    both_sides(&[
        ("/runs/0/legs/0/length", &["50 mm", "0 m", "1.9 km"], &["49 mm", "1.91 km"]),
        ("/runs/0/legs/1/meets/at", &["25 mm", "1900 m"], &["24 mm", "1910 m"]),
        ("/runs/0/outlets/0/at", &["0 m", "25 mm", "1.9 km"], &["24 mm", "1.91 km"]),
        ("/runs/0/surface/thickness", &["25 mm", "1.1 m"], &["24 mm", "1.11 m"]),
        ("/runs/0/over_cut", &["0 mm", "6.3 mm", "1.9 m"], &["6.2 mm", "1.91 m"]),
        ("/runs/0/relief_cuts", &["0 m", "50 mm", "1.9 km"], &["49 mm", "1.91 km"]),
        ("/drain_lines/0/legs/1/length", &["0 m", "50 mm", "1.9 km"], &["49 mm", "1.91 km"]),
        ("/drain_lines/0/from/0/at", &["0 m", "25 mm"], &["24 mm"]),
        ("/drain_lines/0/depth", &["10 cm", "9.2 m"], &["99 mm", "9.21 m"]),
        ("/drain_lines/0/trench_width", &["76 mm", "4.9 m"], &["75 mm", "4.91 m"]),
        ("/inflows/0/at", &["0 m", "25 mm"], &["24 mm"]),
        ("/catchments/0/reaches/0/from", &["0 m", "25 mm"], &["24 mm"]),
        ("/catchments/0/reaches/0/to", &["25 mm"], &["24 mm"]),
        ("/catchments/0/reaches/0/at", &["0 m", "25 mm"], &["24 mm"]),
    ]);
    for (kind, within, without) in [
        ("asphalt", ["9.5 mm", "610 mm"], ["9 mm", "611 mm"]),
        ("pavers", ["9.5 mm", "410 mm"], ["9 mm", "411 mm"]),
        ("gravel", ["9.5 mm", "1.6 m"], ["9 mm", "1.61 m"]),
    ] {
        let top = |text: &str| json!({"kind": kind, "thickness": text});
        for place in ["/runs/0/surface", "/drain_lines/0/legs/0/surface"] {
            for text in within {
                assert_eq!(told(place, &top(text)), [], "{kind}: {text}");
            }
            for text in without {
                assert_eq!(told(place, &top(text)).len(), 1, "{kind}: {text}");
            }
        }
    }
    assert_eq!(told("/runs/0/surface", &json!({"kind": "bare_soil"})), []);
    let offcuts = |length: &str| told("/yard_offcuts", &json!([{"item": "x", "length": length}]));
    assert_eq!((offcuts("50 mm"), offcuts("16 m")), (vec![], vec![]));
    assert_eq!((offcuts("49 mm").len(), offcuts("16.1 m").len()), (1, 1));
    // joins, and ground levels
    let joined = |at: &str| told("/drain_lines/0/ends", &json!({"kind": "joins", "line": "l", "at": at}));
    assert_eq!((joined("25 mm"), joined("24 mm").len()), (vec![], 1));
    let ground = |at: &str| {
        let mut notes =
            job("/drain_lines/0/ground", &json!([{"at": "0 m", "level": "0 m"}, {"at": at, "level": "0 m"}]));
        notes["drain_lines"][0].as_object_mut().unwrap().remove("depth");
        told_in(&notes, UnitSystem::Metric)
    };
    assert_eq!((ground("25 mm"), ground("24 mm").len()), (vec![], 1));
}

#[test]
fn falls_shares_and_factors_are_told_just_beyond_their_ranges() {
    both_sides(&[
        (
            "/runs/0/legs/0/fall_pct",
            &["0", "0.05", "-0.05", "25", "-25"],
            &["0.0499", "-0.0499", "25.0001", "-25.0001"],
        ),
        ("/drain_lines/0/fall_pct", &["0", "0.05", "10"], &["0.0499", "10.0001"]),
        ("/drain_lines/0/side_slope", &["0", "0.05", "5"], &["0.049", "5.01"]),
        ("/catchments/0/surfaces/0/coefficient", &["0", "0.02", "1"], &["0.019"]),
        ("/catchments/0/surfaces/0/area", &["1 ft2", "809370 m2"], &["0.091 m2", "820000 m2"]),
        (
            "/inflows/0/flow",
            &["0 l_per_s", "0.003 l_per_s", "300 l_per_s"],
            &["0.0029 l_per_s", "301 l_per_s"],
        ),
        (
            "/storm/rain/intensity",
            &["0 mm_per_hr", "5 mm_per_hr", "610 mm_per_hr"],
            &["4.9 mm_per_hr", "611 mm_per_hr"],
        ),
    ]);
    let options = |member: &str, value: &str| told("/options", &json!({ member: value })).len();
    for (within, without) in [("0", "0.9999"), ("1", "80.0001"), ("80", "1000")] {
        assert_eq!(
            (options("waste_pct", within), options("waste_pct", without)),
            (0, 1),
            "{within} {without}"
        );
    }
    for (within, without) in [("0 min", "1 min"), ("2 min", "1.9 min"), ("10 hr", "10.1 hr")] {
        assert_eq!((options("travel", within), options("travel", without)), (0, 1), "{within} {without}");
    }
    let discount = |pct: &str| {
        let pricing = json!({"discounts": [{"kind": "percent", "name": "regular", "pct": pct}]});
        told("/pricing", &pricing).len()
    };
    assert_eq!((discount("0.5"), discount("100"), discount("0")), (0, 0, 0));
    assert_eq!(discount("0.49"), 1);
    let haul = |member: &str, value: &str| told("/haul", &json!({ member: value })).len();
    for (member, within, without) in [
        ("distance", "18 m", "17 m"),
        ("distance", "650 km", "651 km"),
        ("distance", "0 km", "0.001 km"),
        ("speed", "3.2 km_per_hr", "3.1 km_per_hr"),
        ("speed", "130 km_per_hr", "131 km_per_hr"),
        ("spoil_kept", "0 m3", "5 l"),
        ("spoil_kept", "7.1 l", "6.9 l"),
    ] {
        assert_eq!((haul(member, within), haul(member, without)), (0, 1), "{member}: {within} {without}");
    }
}

#[test]
fn ways_of_water_and_formulas_are_told_just_beyond_their_ranges() {
    let way = |part: &Value| told("/catchments/0/path", &json!([part])).len();
    let sheet = |length: &str, fall: &str, n: &str| {
        way(&json!({"kind": "sheet", "length": length, "fall_pct": fall, "roughness": n}))
    };
    assert_eq!((sheet("100 mm", "0.05", "0.008"), sheet("3 km", "100", "0.8")), (0, 0));
    assert_eq!((sheet("99 mm", "2", "0.011"), sheet("20 m", "0.0499", "0.011")), (1, 1));
    assert_eq!((sheet("20 m", "100.1", "0.011"), sheet("20 m", "2", "0.0079")), (1, 1));
    let overland = |fall: &str, c: &str| {
        way(&json!({"kind": "overland", "length": "60 m", "fall_pct": fall, "coefficient": c}))
    };
    assert_eq!((overland("0.01", "0.02"), overland("0.0099", "0.5"), overland("1", "0.019")), (0, 1, 1));
    let shallow = |factor: &str| {
        way(&json!({"kind": "shallow", "length": "60 m", "fall_pct": "1", "velocity_factor": factor}))
    };
    assert_eq!((shallow("1"), shallow("60"), shallow("0.99"), shallow("60.1")), (0, 0, 1, 1));
    // a / (10 + b)^c: 1262.9 / 20^0.9 = 85.2, of inches an hour as of millimetres
    let formula = |a: &str, unit: &str| {
        told("/storm/rain", &json!({"kind": "formula", "a": a, "b": "10", "c": "0.9", "unit": unit}))
    };
    assert_eq!(formula("1262.9", "mm_per_hr"), []);
    let inches = formula("1262.9", "in_per_hr");
    assert_eq!(inches.len(), 1, "{inches:?}");
    assert!(inches[0].1.contains("by the formula of the storm was read as 2164"), "{inches:?}");
    assert!(inches[0].1.ends_with("; look at its `unit` and its constants"), "{inches:?}");
    assert_eq!(formula("49.7", "in_per_hr"), []);
    assert_eq!(formula("49.7", "mm_per_hr").len(), 1);
}

#[test]
fn the_day_of_a_pour_is_told_just_beyond_its_ranges() {
    let weather = |member: &str, value: &str| {
        let mut day =
            json!({"air": "20 deg_c", "concrete": "18 deg_c", "humidity_pct": "50", "wind": "10 km_per_hr"});
        day[member] = json!(value);
        told("/concrete", &json!({"weather": [day]}))
    };
    for (member, within, without) in [
        ("air", "-40 deg_c", "-40.1 deg_c"),
        ("air", "122 deg_f", "50.1 deg_c"),
        ("coldest", "-40 deg_f", "-41 deg_f"),
        ("concrete", "14 deg_f", "13.9 deg_f"),
        ("concrete", "50 deg_c", "122.1 deg_f"),
        ("humidity_pct", "2", "1.9"),
        ("wind", "130 km_per_hr", "131 km_per_hr"),
        ("wind", "0 km_per_hr", "200 km_per_hr"),
    ] {
        assert_eq!(weather(member, within), [], "{member}: {within}");
        assert_eq!(weather(member, without).len(), 1, "{member}: {without}");
    }
    let words = &weather("air", "85 deg_c")[0].1;
    assert!(words.contains("if 85 deg_f was meant, that is written \"85 deg_f\""), "{words}");
    let words = &weather("concrete", "12 deg_f")[0].1;
    assert!(words.contains("was read as -11.1 deg_c, too cold"), "{words}");
    assert!(words.contains("\"12 deg_c\""), "{words}");
    let travel = |text: &str| told("/concrete", &json!({"plant_travel": text}));
    assert_eq!((travel("0 min"), travel("1 min"), travel("6 hr")), (vec![], vec![], vec![]));
    assert_eq!(travel("0.9 min").len(), 1);
    let words = &travel("25 hr")[0].1;
    assert!(words.contains("too long for the way from the plant") && words.contains("\"25 min\""), "{words}");
    // the same, and the waste, where a request says it beside notes or without any
    let concrete = read_value(&json!({"plant_travel": "25 hr"})).unwrap();
    let metric = Show(UnitSystem::Metric);
    assert_eq!(of_concrete(Some(Percent::whole(1000)), Some(&concrete), metric).len(), 2);
    assert_eq!(of_concrete(Some(Percent::whole(10)), None, metric), []);
}

#[test]
fn what_was_meant_is_named_with_how_it_is_written() {
    for (pointer, text, words) in [
        (
            "/runs/0/surface/thickness",
            "0.14 mm",
            "the thickness of the concrete slab was read as 0.14 mm, too little for a slab (25 mm to 1.1 m; common practice, no \
             source); if 140 mm was meant, that is written \"140 mm\"",
        ),
        ("/runs/0/surface/thickness", "14 m", "too much for a slab"),
        ("/runs/0/surface/thickness", "14 m", "written \"140 mm\""),
        ("/runs/0/surface/thickness", "140 cm", "written \"140 mm\""),
        (
            "/runs/0/legs/0/length",
            "4.800 mm",
            "the length of leg 1 was read as 4.8 mm, too little for a leg of a run (50 mm to 1900 m; common practice, no source); if \
             4.8 m was meant, that is written \"4.8 m\"; a point does not part thousands: 4.800 mm is read as 4.8 mm, and 4800 mm is \
             written \"4800 mm\"",
        ),
        ("/drain_lines/0/depth", "1.200 mm", "1200 mm is written \"1200 mm\""),
        ("/drain_lines/0/depth", "85 mm", "written \"850 mm\""),
        ("/drain_lines/0/depth", "85 m", "written \"850 mm\""),
        ("/drain_lines/0/trench_width", "60 mm", "written \"600 mm\""),
        (
            "/runs/0/over_cut",
            "5 mm",
            "(none or 6.3 mm to 1.9 m; common practice, no source); if 50 mm was meant",
        ),
        ("/drain_lines/0/fall_pct", "15", "15 mm in a metre are 1.5 %, written \"1.5\""),
        ("/drain_lines/0/fall_pct", "150", "written \"1.5\""),
        ("/drain_lines/0/fall_pct", "0.015", "if 1.5 % was meant, that is written \"1.5\""),
        ("/runs/0/legs/0/fall_pct", "0.02", "written \"2\""),
        ("/storm/rain/intensity", "4 mm_per_hr", "if 4 in_per_hr was meant, that is written \"4 in_per_hr\""),
        ("/storm/rain/intensity", "70 in_per_hr", "if 70 mm_per_hr was meant"),
        ("/catchments/0/surfaces/0/area", "85 cm2", "written \"85 m2\""),
        ("/drain_lines/0/side_slope", "45", "45° being 1"),
    ] {
        let found = told(pointer, &json!(text));
        assert!(found.len() == 1 && found[0].1.contains(words), "{pointer}: {text}: {found:?}");
    }
    let waste = |pct: &str| told("/options", &json!({ "waste_pct": pct }))[0].1.clone();
    assert!(waste("0.1").contains("if 10 % was meant, that is written \"10\""), "{}", waste("0.1"));
    assert!(waste("1000").contains("if 10 % was meant"), "{}", waste("1000"));
    // thousands are told where they may have been written: not of a slab of 14 m, nor of what is inches
    let slab = told("/runs/0/surface/thickness", &json!("14 mm"));
    assert!(slab.len() == 1 && !slab[0].1.contains("thousands"), "{slab:?}");
    let inches = told("/runs/0/legs/0/length", &json!("1 1/2 in"));
    assert!(inches.len() == 1 && !inches[0].1.contains("thousands"), "{inches:?}");
    // nor of what is whole centimetres
    let short = told("/runs/0/legs/0/length", &json!("4 cm"));
    assert!(short.len() == 1 && !short[0].1.contains("thousands"), "{short:?}");
    // what is in metres is not taken for inches in an office that has these, and no figure is shown as nothing
    for (text, read, meant) in [
        ("5 mm", "read as 5 mm", "if 2 in was meant"),
        ("0.01 mm", "read as 0.01 mm", ""),
        ("0.14 in", "read as 0.14 in", ""),
    ] {
        let found = told_in(&job("/runs/0/surface/thickness", &json!(text)), UnitSystem::Us);
        assert!(found.len() == 1 && found[0].1.contains(read), "{text}: {found:?}");
        assert!(meant.is_empty() || !found[0].1.contains("2.362"), "{text}: {found:?}");
    }
    let fall = told_in(&job("/drain_lines/0/fall_pct", &json!("15")), UnitSystem::Us);
    assert!(fall[0].1.contains("if 1.5 % was meant, that is written \"1.5\""), "{fall:?}");
    // in feet and inches
    let us = told_in(&job("/runs/0/surface/thickness", &json!("4 ft")), UnitSystem::Us);
    assert!(
        us.len() == 1 && us[0].1.contains("read as 4 ft, too much for a slab (1 in to 3 ft 4 in;"),
        "{us:?}"
    );
    assert!(us[0].1.contains("if 4 in was meant, that is written \"4 in\""), "{us:?}");
}

/// A line of 15 m below ground at two levels, its upper end and its lower, or dug at one depth; the run above it.
fn line(ground: Option<[&str; 2]>, run: Option<&str>, more: &Value) -> Vec<(String, String)> {
    let mut notes = job("/title", &json!("levels"));
    if let Some([upper, lower]) = ground {
        let line = notes["drain_lines"][0].as_object_mut().unwrap();
        line.remove("depth");
        line.insert(
            "ground".to_owned(),
            json!([{"at": "0 m", "level": upper}, {"at": "15 m", "level": lower}]),
        );
    }
    if let Some(level) = run {
        notes["runs"][0]["surface_level"] = json!(level);
    }
    for (member, value) in more.as_object().unwrap() {
        notes["drain_lines"][0][member] = value.clone();
    }
    told_in(&notes, UnitSystem::Metric)
}

#[test]
fn a_steep_fall_is_told_where_no_level_bears_it_out() {
    let fall = |pct: &str, ends: &Value, ground| line(ground, None, &json!({"fall_pct": pct, "ends": ends}));
    let open = json!({"kind": "discharges", "to": "swale"});
    let at = |level: &str| json!({"kind": "discharges", "to": "swale", "invert_level": level});
    let joins = json!({"kind": "joins", "line": "l", "at": "2 m"});
    assert_eq!(fall("15", &open, None).len(), 1);
    assert_eq!(fall("15", &open, Some(["0 m", "0 m"])).len(), 1);
    // 15 % of 15 m are 2.25 m: ground that falls 1.7 m shows them but for two feet, 1.6 m do not
    assert_eq!(fall("15", &open, Some(["0 m", "-1.7 m"])), []);
    assert_eq!(fall("15", &open, Some(["0 m", "-1.6 m"])).len(), 1);
    assert_eq!(fall("15", &at("-2 m"), Some(["0 m", "0 m"])), []);
    // into another line a branch drops up to six feet
    assert_eq!(fall("12", &joins, None), []);
    assert_eq!(fall("13", &joins, None).len(), 1);
    // a hillside at 45° is the steepest
    assert_eq!(fall("100", &open, Some(["0 m", "-15 m"])), []);
    assert_eq!(fall("101", &open, Some(["0 m", "-15 m"])).len(), 1);
    let words = &fall("15", &open, None)[0];
    assert_eq!(words.0, "line l");
    assert!(
        words.1.contains("too steep for a drain that no level in the notes shows to lie so"),
        "{words:?}"
    );
}

#[test]
fn levels_that_no_pipe_joins_are_told() {
    let at = |level: &str| json!({"ends": {"kind": "discharges", "to": "swale", "invert_level": level}});
    let flat = Some(["0 m", "-0.2 m"]);
    // a depth written as a level
    assert_eq!(line(flat, None, &at("0 m")), []);
    let depth = line(flat, None, &at("65 cm"));
    assert!(depth.len() == 1 && depth[0].1.contains("is a level and not a depth"), "{depth:?}");
    assert!(depth[0].1.contains("650 mm below the surface is written \"-850 mm\""), "{depth:?}");
    // the same under a run, where the line has one depth
    assert_eq!((line(None, None, &at("-0.9 m")), line(None, None, &at("0.9 m")).len()), (vec![], 1));
    // metres for millimetres: deeper than the line is long and a trench is deep, 0.2 m + 15 m + 9.144 m
    assert_eq!(line(flat, None, &at("-24.3 m")), []);
    let deep = line(flat, None, &at("-24.4 m"));
    assert!(deep.len() == 1 && deep[0].1.contains("look at unit and point"), "{deep:?}");
    // ground against the sea, the run against nothing
    let sea = Some(["430.15 m", "429.8 m"]);
    assert_eq!(line(sea, Some("430.15 m"), &at("429.2 m")), []);
    let datum = line(sea, None, &at("429.2 m"));
    assert!(datum.len() == 1 && datum[0].1.contains("against one datum"), "{datum:?}");
    // 50 ft and the length of the line: 30.24 m above the ground, as of a run on a deck, and no more
    assert_eq!(line(flat, Some("30.2 m"), &json!({})), []);
    assert_eq!(line(flat, Some("30.3 m"), &json!({})).len(), 1);
    // a step of the ground by more than its way and a trench: 15 m + 9.144 m
    assert_eq!(line(Some(["0 m", "-24.1 m"]), None, &json!({})), []);
    let step = line(Some(["0 m", "-24.2 m"]), None, &json!({}));
    assert!(step.len() == 1 && step[0].1.contains("24.2 m lower"), "{step:?}");
    // water at the discharge far from the pipe
    let water = |level: &str| {
        line(
            flat,
            None,
            &json!({"ends": {"kind": "discharges", "to": "pond", "invert_level": "-1 m", "water_level": level}}),
        )
    };
    assert_eq!((water("14.2 m"), water("14.3 m").len()), (vec![], 1));
    let unknown = |level: &str| {
        line(flat, None, &json!({"ends": {"kind": "discharges", "to": "pond", "water_level": level}})).len()
    };
    assert_eq!((unknown("15 m"), unknown("15.1 m")), (0, 1));
}

#[test]
fn the_demo_has_nothing_to_tell() {
    let demo: Value = serde_json::from_str(NOTES).unwrap();
    assert_eq!(told_in(&demo, UnitSystem::Us), []);
    let notes: SiteNotes = read_value(&demo).unwrap();
    // where there is nothing, nothing is kept
    assert_eq!(checks(&notes, Show(UnitSystem::Us)).capacity(), 0);
}

#[test]
fn of_many_slips_twenty_are_listed() {
    let legs: Vec<Value> = (0..50).map(|_| json!({"length": "4.8 mm"})).collect();
    let found = told("/runs/0/legs", &json!(legs));
    assert_eq!(found.len(), MOST + 1);
    assert_eq!(
        found[MOST],
        ("job".to_owned(), "30 more figures are not listed: look at these first".to_owned())
    );
}

#[test]
fn faults_of_measures_name_the_slip_beside_them() {
    let book = PriceBook::check(read_value(&serde_json::from_str(BOOK).unwrap()).unwrap()).unwrap();
    let faults_of = |notes: &Value| {
        let notes: SiteNotes = read_value(notes).unwrap();
        let faults = crate::domain::layout::resolve::resolve(&notes, &book).unwrap_err();
        let before: Vec<String> = faults.list().iter().map(|f| f.detail.clone()).collect();
        let after: Vec<String> =
            beside(faults, &notes, &book).list().iter().map(|f| f.detail.clone()).collect();
        (before, after)
    };
    let mut notes = job("/runs/0/legs/0/length", &json!("8.000 mm"));
    notes["runs"][0]["legs"].as_array_mut().unwrap().pop();
    let (before, after) = faults_of(&notes);
    assert_eq!(before.len(), after.len());
    let told =
        after.iter().filter(|d| d.contains("; look at run r again: the length of leg 1 was read as")).count();
    assert_eq!(told, 1, "{after:?}");
    // a slip of a run is not told at what is amiss elsewhere
    let mut offcut = job("/runs/0/surface/thickness", &json!("14 m"));
    offcut["yard_offcuts"] = json!([{"item": "channel-6-u-4ft", "length": "9 ft"}]);
    let (before, after) = faults_of(&offcut);
    assert!(!before.is_empty());
    assert_eq!(before, after);
    // what has nothing to do with measures stays as it is
    let mut unknown = job("/runs/0/channel_system", &json!("channel-7"));
    unknown["runs"][0]["surface"]["thickness"] = json!("14 m");
    let (before, after) = faults_of(&unknown);
    assert_eq!(before, after);
}
