//! Slips of the hand in site notes: told as checks that warn, by every calculator that takes notes; jobs that are unusual but real
//! have nothing to tell.

use crate::app::{Ask, TestApp, text};
use serde_json::{Value, json};

/// A drive of 4.80 m in metres with a drain line of 14 m.
fn drive() -> Value {
    json!({
        "unit_system": "metric",
        "runs": [{"id": "drive", "legs": [{"length": "4.80 m"}], "channel_system": "channel-6-u", "crossing": "wheels",
            "surface": {"kind": "concrete_slab", "thickness": "14 cm"}, "over_cut": "5 cm",
            "outlets": [{"kind": "end", "id": "out", "at": "finish"}]}],
        "drain_lines": [{"id": "main", "from": [{"outlet": "out"}], "pipe": "pipe-6", "legs": [{"length": "7.4 m", "bend": 45}, {"length": "6.2 m"}],
            "depth": "85 cm", "fall_pct": "1.5", "ends": {"kind": "discharges", "to": "dry_well"}}]
    })
}

/// The same with changes at pointers.
fn with(changes: &[(&str, Value)]) -> Value {
    let mut notes = drive();
    for (pointer, value) in changes {
        let (parent, name) = pointer.rsplit_once('/').unwrap();
        notes.pointer_mut(parent).unwrap()[name] = value.clone();
    }
    notes
}

/// Subject and reason of what is told of the figures, each of which warns.
fn told(answer: &Value) -> Vec<(String, String)> {
    let checks = answer["checks"].as_array().into_iter().flatten().filter(|c| c["name"] == "noted_figure");
    checks
        .map(|c| {
            assert_eq!(c["outcome"], "warn", "{c}");
            (text(c, "subject"), text(c, "reason"))
        })
        .collect()
}

async fn calculated(app: &TestApp, calculator: &str, body: &Value) -> Value {
    app.post(&format!("/v1/calculators/{calculator}"), body).await.ok(200).json()
}

#[tokio::test]
async fn three_notes_with_slips_are_told_by_every_calculator() {
    let app = TestApp::start().await;
    let slab =
        with(&[("/runs/0/surface/thickness", json!("0.14 mm")), ("/options", json!({"waste_pct": "0.1"}))]);
    let mille =
        with(&[("/drain_lines/0/fall_pct", json!("15")), ("/drain_lines/0/depth", json!("1.200 mm"))]);
    let metres =
        with(&[("/runs/0/surface/thickness", json!("14 m")), ("/haul", json!({"distance": "9.5 m"}))]);
    let job = |reason: &'static str| ("job", reason);
    for (notes, expected) in [
        (&slab, [("run drive", "\"140 mm\""), job("\"10\"")]),
        (
            &mille,
            [
                ("line main", "1.200 mm is read as 1.2 mm, and 1200 mm is written"),
                ("line main", "15 mm in a metre are 1.5 %"),
            ],
        ),
        (&metres, [("run drive", "\"140 mm\""), job("\"9.5 km\"")]),
    ] {
        let body = json!({"notes": notes, "start": "2027-03-01"});
        for calculator in [
            "estimate",
            "layout-quantities",
            "labor-hours",
            "concrete-order",
            "purchase-plan",
            "cut-list",
            "plan",
        ] {
            let body = if calculator == "plan" { body.clone() } else { json!({"notes": notes}) };
            let found = told(&calculated(&app, calculator, &body).await);
            assert_eq!(found.len(), 2, "{calculator}: {found:?}");
            for ((subject, reason), (of, words)) in found.iter().zip(expected) {
                assert!(
                    subject == of && reason.contains(words),
                    "{calculator}: {subject}: {reason}: {words}"
                );
            }
        }
    }
    // the short form has a surface as well, and a flow check only what it needs
    let short = json!({"length": "4.8 m", "surface": {"kind": "concrete_slab", "thickness": "140 cm"}, "unit_system": "metric"});
    assert_eq!(told(&calculated(&app, "layout-quantities", &short).await).len(), 1);
    let flow = with(&[
        ("/storm", json!({"rain": {"kind": "intensity", "intensity": "4 mm_per_hr"}})),
        (
            "/catchments",
            json!([{"id": "yard", "surfaces": [{"cover": "asphalt", "area": "85 m2"}], "reaches": [{"run": "drive"}]}]),
        ),
    ]);
    let found = told(&calculated(&app, "flow-check", &json!({"notes": flow})).await);
    assert!(found.len() == 1 && found[0].1.contains("\"4 in_per_hr\""), "{found:?}");
    // what a concrete request says beside its notes
    let beside = json!({"volume": "2 m3", "waste_pct": "1000", "unit_system": "metric"});
    let found = told(&calculated(&app, "concrete-order", &beside).await);
    assert!(found.len() == 1 && found[0].1.contains("`waste_pct` was read as 1000 %"), "{found:?}");
}

#[tokio::test]
async fn a_job_with_a_slip_is_estimated_and_says_so() {
    let app = TestApp::start().await;
    let right = calculated(&app, "estimate", &json!({"notes": drive()})).await;
    let wrong = with(&[("/runs/0/surface/thickness", json!("0.14 mm"))]);
    let wrong = calculated(&app, "estimate", &json!({"notes": wrong})).await;
    assert_eq!((told(&right), told(&wrong).len()), (vec![], 1));
    assert_ne!(right["summary"]["total"], wrong["summary"]["total"]);
    // it stops nothing
    assert_eq!(right["summary"]["failed"], wrong["summary"]["failed"]);
}

#[tokio::test]
async fn where_a_slip_makes_notes_impossible_the_fault_names_it() {
    let app = TestApp::start().await;
    let corner = json!([{"length": "4 m"}, {"length": "4.800 mm", "meets": {"kind": "corner"}}]);
    let notes = with(&[("/runs/0/legs", corner)]);
    for calculator in ["estimate", "layout-quantities"] {
        let ask =
            Ask::post(&format!("/v1/calculators/{calculator}")).json(&json!({"notes": notes})).key(&app.key);
        let problem = app.send(ask).await.problem(422, "validation-failed");
        let detail = text(&problem["errors"][0], "detail");
        assert!(
            detail.contains("look at run drive again: the length of leg 2 was read as 4.8 mm"),
            "{problem}"
        );
        assert!(detail.contains("4800 mm is written \"4800 mm\""), "{problem}");
    }
}

/// Thin and thick, short and long, flat and steep, cold and hot: all of it has been built.
#[tokio::test]
async fn unusual_jobs_have_nothing_to_tell() {
    let app = TestApp::start().await;
    let line = |more: Value| {
        let mut line = drive()["drain_lines"][0].clone();
        for (name, value) in more.as_object().unwrap() {
            if value.is_null() {
                line.as_object_mut().unwrap().remove(name);
            } else {
                line[name] = value.clone();
            }
        }
        json!([line])
    };
    let hillside = line(
        json!({"depth": null, "fall_pct": "22", "ground": [{"at": "0 m", "level": "612.40 m"}, {"at": "13.6 m", "level": "609.30 m"}]}),
    );
    let by_invert = line(json!({"depth": null, "fall_pct": null, "ground": [{"at": "0 m", "level": "0 m"}],
        "ends": {"kind": "discharges", "to": "storm_sewer", "invert_level": "-4.85 m", "water_level": "-3 m"}}));
    let deep = line(json!({"depth": "7.5 m", "trench_width": "3.2 m", "side_slope": "1.5"}));
    let short = line(json!({"legs": [{"length": "12 cm", "bend": 90}, {"length": "3 m"}], "fall_pct": "10"}));
    let feet = json!({"runs": [{"id": "path", "legs": [{"length": "3 ft"}], "channel_system": "channel-4-light", "crossing": "feet",
            "surface": {"kind": "concrete_slab", "thickness": "1 1/2 in"}, "over_cut": "1/2 in",
            "outlets": [{"kind": "bottom", "id": "out", "at": "1 ft"}], "surface_level": "-14 in"}],
        "drain_lines": [{"id": "main", "from": [{"outlet": "out"}], "pipe": "pipe-4", "legs": [{"length": "11 in"}, {"length": "90 ft"}],
            "depth": "18 in", "fall_pct": "0.5", "side_slope": "0.25", "ends": {"kind": "discharges", "to": "daylight"}}],
        "storm": {"rain": {"kind": "intensity", "intensity": "11 in_per_hr"}},
        "catchments": [{"id": "roof", "surfaces": [{"cover": "lawn_sandy_flat", "area": "40 ft2", "coefficient": "0.05"}], "reaches": [{"run": "path", "at": "2 in"}],
            "path": [{"kind": "sheet", "length": "3 ft", "fall_pct": "50", "roughness": "0.01"}]}],
        "inflows": [{"id": "hose", "run": "path", "at": "1 ft", "flow": "0.1 gal_us_per_min"}],
        "haul": {"distance": "180 mi", "speed": "62 mi_per_hr", "spoil_kept": "3 ft3"},
        "options": {"waste_pct": "45", "travel": "6 hr"}});
    for notes in [
        with(&[]),
        with(&[("/runs/0/surface_level", json!("612.40 m")), ("/drain_lines", hillside)]),
        with(&[("/drain_lines", by_invert)]),
        with(&[("/drain_lines", deep)]),
        with(&[("/drain_lines", short)]),
        with(&[
            ("/runs/0/surface", json!({"kind": "asphalt", "thickness": "42 cm"})),
            ("/runs/0/legs", json!([{"length": "320 m", "fall_pct": "-0.1"}])),
        ]),
        with(&[
            ("/runs/0/surface", json!({"kind": "pavers", "thickness": "2 cm"})),
            ("/runs/0/over_cut", json!("1.2 m")),
            ("/runs/0/legs", json!([{"length": "30 cm", "fall_pct": "18"}])),
        ]),
        with(&[
            ("/runs/0/surface/thickness", json!("90 cm")),
            (
                "/concrete",
                json!({"plant_travel": "3 hr", "weather": [
            {"air": "-28 deg_c", "coldest": "-38 deg_c", "concrete": "6 deg_c", "humidity_pct": "98", "wind": "70 km_per_hr"}]}),
            ),
        ]),
        with(&[
            (
                "/concrete",
                json!({"weather": [
            {"air": "118 deg_f", "concrete": "104 deg_f", "humidity_pct": "4", "wind": "0 km_per_hr", "sun": true}]}),
            ),
            ("/options", json!({"waste_pct": "0", "travel": "0 min"})),
            ("/pricing", json!({"discounts": [{"kind": "percent", "name": "warranty", "pct": "100"}]})),
        ]),
        feet,
    ] {
        let answer = calculated(&app, "estimate", &json!({"notes": notes})).await;
        assert_eq!(told(&answer), [], "{notes}");
    }
}
