//! Cautions: each is raised where the quantity that causes it appears, and at the figure that it names.

use crate::app::TestApp;
use crate::unusual_notes::estimate_by;
use rillcast::domain::lines::Caution;
use serde_json::{Value, json};

/// A run over which people walk, with such legs, and a line of 20 ft, 2 ft deep, both with what else is said of them.
fn job(legs: &Value, run: &Value, line: &Value) -> Value {
    let with = |mut part: Value, more: &Value| {
        for (member, value) in more.as_object().unwrap() {
            part[member] = value.clone();
        }
        part
    };
    let run = with(
        json!({"id": "a", "legs": legs, "channel_system": "channel-6-u", "crossing": "feet",
            "outlets": [{"kind": "end", "id": "a-o", "at": "finish"}]}),
        run,
    );
    let line = with(
        json!({"id": "l", "from": [{"outlet": "a-o"}], "pipe": "pipe-6", "legs": [{"length": "20 ft"}], "depth": "2 ft",
            "fall_pct": "1", "ends": {"kind": "discharges", "to": "swale"}}),
        line,
    );
    json!({"runs": [run], "drain_lines": [line]})
}

fn cautions(book: impl FnOnce(&mut Value), notes: Value) -> Vec<Caution> {
    estimate_by(book, |own| *own = notes).cautions
}

fn named<'c>(cautions: &'c [Caution], name: &str) -> Option<&'c Caution> {
    cautions.iter().find(|c| c.name == name)
}

/// A metric job is warned at the metric figure of the text, which lies a little before that in feet.
#[test]
fn depths_warn_at_the_figure_they_name() {
    let by_depth = ["way_out", "cave_in", "engineered_protection"];
    let cases = [
        ("us", "3 ft 11 in", 0),
        ("us", "1.2 m", 0),
        ("us", "4 ft", 1),
        ("us", "4 ft 11 in", 1),
        ("us", "5 ft", 2),
        ("us", "20 ft", 2),
        ("us", "20 ft 1 in", 3),
        ("metric", "1.199 m", 0),
        ("metric", "1.2 m", 1),
        ("metric", "1.499 m", 1),
        ("metric", "1.5 m", 2),
        ("metric", "6 m", 2),
        ("metric", "6.001 m", 3),
    ];
    for (system, depth, raised) in cases {
        let mut notes = job(&json!([{"length": "10 ft"}]), &json!({}), &json!({"depth": depth}));
        notes["unit_system"] = json!(system);
        let told = cautions(|_| {}, notes);
        let names: Vec<&str> = told.iter().map(|c| c.name).filter(|n| by_depth.contains(n)).collect();
        assert_eq!(names, by_depth[..raised], "{system}, {depth}");
    }
}

/// Names of the cautions of an answer.
fn names(answer: &Value) -> Vec<&str> {
    let list = answer["cautions"].as_array().unwrap_or_else(|| panic!("no cautions: {answer}"));
    list.iter().map(|c| c["name"].as_str().unwrap()).collect()
}

#[tokio::test]
async fn the_concrete_calculator_warns_of_wet_concrete_whatever_it_is_asked_by() {
    let app = TestApp::start().await;
    for (body, by) in [
        (json!({"volume": "2 yd3"}), "placing 2 yd3"),
        (json!({"length": "27 ft", "width": "1 ft", "depth": "1 ft"}), "placing 1 yd3"),
        (
            json!({"pours": [{"name": "a", "volume": "1 yd3"}, {"name": "b", "volume": "2 yd3", "day": 2}]}),
            "placing 3 yd3",
        ),
    ] {
        let answer = app.post("/v1/calculators/concrete-order", &body).await.ok(200).json();
        assert_eq!(names(&answer), ["wet_concrete"], "{body}");
        assert_eq!(answer["cautions"][0]["raised_by"], by);
    }
    // Notes say it once, whatever the units of the answer.
    let body = json!({"notes": job(&json!([{"length": "10 ft"}]), &json!({"crossing": "wheels"}), &json!({})),
        "unit_system": "metric"});
    let answer = app.post("/v1/calculators/concrete-order", &body).await.ok(200).json();
    assert_eq!(names(&answer).iter().filter(|n| **n == "wet_concrete").count(), 1);
    assert!(!answer["cautions"].to_string().contains("yd3"), "{}", answer["cautions"]);
}

#[tokio::test]
async fn the_labor_calculator_warns_of_the_work_it_reckons() {
    let app = TestApp::start().await;
    let ask = async |quantities: &[(&str, &str)], depth: Option<&str>| {
        let list = quantities.iter().map(|(m, q)| json!({"measure": m, "quantity": q}));
        let mut body = json!({"quantities": list.collect::<Vec<_>>()});
        if let Some(depth) = depth {
            body["depth"] = json!(depth);
        }
        app.post("/v1/calculators/labor-hours", &body).await.ok(200).json()
    };
    for (measure, quantity, by) in [
        ("saw_cut_face", "20 ft2", "20 ft2 of sawn face"),
        ("slab_removed", "1 yd3", "1 yd3 of slab broken out"),
        ("asphalt_removed", "1 yd3", "1 yd3 of asphalt broken out"),
    ] {
        let answer = ask(&[(measure, quantity)], None).await;
        assert_eq!(names(&answer), ["silica"], "{measure}");
        assert_eq!(answer["cautions"][0]["raised_by"], by);
    }
    for (measure, quantity, by) in
        [("concrete_ordered", "2 yd3", "placing 2 yd3"), ("bags_mixed", "40 each", "mixing 40 bags")]
    {
        let answer = ask(&[(measure, quantity)], None).await;
        assert_eq!(names(&answer), ["wet_concrete"], "{measure}");
        assert_eq!(answer["cautions"][0]["raised_by"], by);
    }
    let deep = ask(&[("line_excavation", "4 yd3")], Some("5 ft")).await;
    assert_eq!(names(&deep), ["utilities", "way_out", "cave_in", "spoil_set_back"]);
    assert_eq!(deep["cautions"][0]["raised_by"], "digging 4 yd3 for drain lines");
    assert_eq!(names(&ask(&[("grates", "4 each")], None).await), Vec::<&str>::new());
    // By notes it says what the quantities of the same notes say.
    let notes = json!({"notes": serde_json::from_str::<Value>(rillcast::domain::demo::NOTES).unwrap()});
    let [labor, layout] = ["labor-hours", "layout-quantities"].map(|c| format!("/v1/calculators/{c}"));
    let labor = app.post(&labor, &notes).await.ok(200).json();
    let layout = app.post(&layout, &notes).await.ok(200).json();
    assert!(names(&labor).contains(&"silica"));
    assert_eq!(labor["cautions"], layout["cautions"]);
}

/// Asphalt is driven on, whatever crosses the run.
#[test]
fn a_trench_across_asphalt_is_an_entrance() {
    let across = |surface: &Value| {
        let legs = json!([{"length": "20 ft", "surface": surface}]);
        cautions(|_| {}, job(&json!([{"length": "10 ft"}]), &json!({}), &json!({"legs": legs})))
    };
    let asphalt = across(&json!({"kind": "asphalt", "thickness": "3 in"}));
    let entrance = named(&asphalt, "entrance").expect("a caution");
    assert_eq!(entrance.raised_by, "line l across asphalt");
    assert!(entrance.text.contains("before the trench is filled and paved"), "{}", entrance.text);
    for other in [json!({"kind": "gravel", "thickness": "4 in"}), json!({"kind": "bare_soil"})] {
        assert!(named(&across(&other), "entrance").is_none(), "{other}");
    }
    let wheels =
        cautions(|_| {}, job(&json!([{"length": "10 ft"}]), &json!({"crossing": "wheels"}), &json!({})));
    let entrance = named(&wheels, "entrance").expect("a caution");
    assert_eq!(entrance.raised_by, "a drain that wheels cross");
    assert!(entrance.text.ends_with("no wheels before the concrete has cured."), "{}", entrance.text);
}

/// Electricity and gas lie under any paving at a pool or a garage, not under slabs alone.
#[test]
fn services_under_paving_are_told() {
    let under = |surface: &Value| {
        let told =
            cautions(|_| {}, job(&json!([{"length": "10 ft"}]), &json!({"surface": surface}), &json!({})));
        let text =
            named(&told, "buried_services_under_paving").map(|c| format!("{}: {}", c.raised_by, c.text));
        (named(&told, "buried_services_in_slab").is_some(), text)
    };
    for (kind, by) in [("asphalt", "taking up asphalt: "), ("pavers", "taking up pavers: ")] {
        let (slab, text) = under(&json!({"kind": kind, "thickness": "3 in"}));
        let text = text.unwrap_or_else(|| panic!("no caution for {kind}"));
        assert!(!slab && text.starts_with(by), "{text}");
        assert!(text.contains("Electrical lines, gas"), "{text}");
    }
    assert_eq!(under(&json!({"kind": "concrete_slab", "thickness": "4 in"})), (true, None));
    assert_eq!(under(&json!({"kind": "gravel", "thickness": "4 in"})), (false, None));
}

/// What is lifted is what is assembled and set at once, not the run.
#[test]
fn lifting_goes_by_what_is_set_at_once() {
    let raised = |longest: Option<&str>, legs: &[&str]| {
        let legs: Vec<Value> = legs
            .iter()
            .enumerate()
            .map(|(i, length)| match i {
                0 => json!({"length": length}),
                _ => json!({"length": length, "meets": {"kind": "corner"}}),
            })
            .collect();
        let book = |book: &mut Value| match longest {
            Some(longest) => book["cutting"]["longest_setting"] = json!(longest),
            None => drop(book["cutting"].as_object_mut().unwrap().remove("longest_setting")),
        };
        let told = cautions(book, job(&json!(legs), &json!({}), &json!({})));
        named(&told, "lifting").map(|c| c.raised_by.clone())
    };
    // The outlet takes up 4 in.
    assert_eq!(raised(None, &["20 ft"]).unwrap(), "19 ft 8 in of channel set at once");
    assert_eq!(raised(Some("12 ft"), &["20 ft"]).unwrap(), "12 ft of channel set at once");
    assert_eq!(raised(Some("4 ft"), &["20 ft"]), None);
    assert_eq!(raised(None, &["4 ft", "4 ft", "5 ft"]), None);
}
