//! One-line calls, and the same job in either unit system.

use crate::app::TestApp;
use serde_json::{Value, json};

#[tokio::test]
async fn one_line_calls_answer() {
    let app = TestApp::start().await;
    let order =
        app.post("/v1/calculators/concrete-order", &json!({"volume": "2.1 yd3"})).await.ok(200).json();
    assert_eq!(order["concrete"]["ways"][0]["order"], json!({"value": "2.5", "unit": "yd3"}));
    // Exactly 2.25 yd³ with waste must not become 2.50.
    let exact = json!({"length": "25 ft", "width": "36 in", "depth": "9 in", "waste_pct": "8", "concrete_way": "ready-mix"});
    let order = app.post("/v1/calculators/concrete-order", &exact).await.ok(200).json();
    let way =
        order["concrete"]["ways"].as_array().unwrap().iter().find(|w| w["code"] == "ready-mix").unwrap();
    assert_eq!(way["order"], json!({"value": "2.25", "unit": "yd3"}));
    let layout =
        app.post("/v1/calculators/layout-quantities", &json!({"length": "41 ft 6 in"})).await.ok(200).json();
    assert_eq!(
        layout["layout"]["runs"][0]["quantities"][0]["quantity"],
        json!({"value": "41.5", "unit": "ft"})
    );
    let hours = json!({"quantities": [{"measure": "run_excavation", "quantity": "3.2 yd3"}], "soil": "clay"});
    let labor = app.post("/v1/calculators/labor-hours", &hours).await.ok(200).json();
    assert_eq!(labor["labor"]["tasks"][0]["person_hours_net"]["value"], "5.312");
    for (path, body) in [
        ("concrete-order", json!({})),
        ("concrete-order", json!({"volume": "1 yd3", "length": "1 ft"})),
        ("concrete-order", json!({"length": "1 ft"})),
        ("concrete-order", json!({"volume": "1 yd3", "concrete_way": "pump"})),
        ("layout-quantities", json!({})),
        ("layout-quantities", json!({"length": "0 ft"})),
        ("labor-hours", json!({})),
        ("labor-hours", json!({"quantities": [{"measure": "run_excavation", "quantity": "3 ft"}]})),
        (
            "labor-hours",
            json!({"quantities": [{"measure": "saw_cut_face", "quantity": "3 ft2"}], "methods": [{"task": "saw_cut", "method": "axe"}]}),
        ),
    ] {
        app.post(&format!("/v1/calculators/{path}"), &body).await.problem(422, "validation-failed");
    }
}

#[tokio::test]
async fn too_much_concrete_is_told_at_the_member_that_is_too_large() {
    let app = TestApp::start().await;
    let path = "/v1/calculators/concrete-order";
    // The demo's trailer holds 1.5 yd3, so 10000 trips bring 15000 yd3: 13636.3636 with 10 % on top.
    let rule = |net: &str| {
        format!(
            "{net} with 10 % waste takes more than 10000 loads by `trailer`: at most 13636.36 yd3 before waste"
        )
    };
    let most = json!(["at most 13636.36 yd3"]);
    let largest = "130795.0619 yd3";
    let pours = |volumes: &[&str]| {
        let pours = volumes.iter().map(|v| json!({"name": "slab", "volume": v}));
        json!({"pours": pours.collect::<Vec<_>>()})
    };
    let dimensions = |depth: &str| json!({"length": "3000 ft", "width": "100 ft", "depth": depth});
    for (body, pointer, value, detail, allowed) in [
        (json!({"volume": "20000 yd3"}), "#/volume", Some("20000 yd3"), rule("20000 yd3"), most.clone()),
        (
            pours(&["9 yd3", "13637 yd3"]),
            "#/pours/1/volume",
            Some("13637 yd3"),
            rule("13637 yd3"),
            most.clone(),
        ),
        // Neither is too much by itself.
        (pours(&["13000 yd3", "700 yd3"]), "#/pours", None, rule("13700 yd3"), most.clone()),
        (
            pours(&["100000 yd3", "40000 yd3"]),
            "#/pours",
            None,
            "the pours together are 140000 yd3, beyond 100,000 m³".to_owned(),
            json!([format!("pours of at most {largest} together")]),
        ),
        // Any of the three may be the one that is wrong.
        (dimensions("2 ft 3 in"), "#", None, rule("25000 yd3"), most.clone()),
        (
            dimensions("27 ft"),
            "#",
            None,
            "3000 ft x 100 ft x 27 ft is 300000 yd3, beyond 100,000 m³".to_owned(),
            json!([format!("length x width x depth of at most {largest}")]),
        ),
    ] {
        let told = app.post(path, &body).await.problem(422, "validation-failed");
        let mut expected =
            json!([{"pointer": pointer, "code": "out_of_range", "detail": detail, "allowed": allowed}]);
        if let Some(value) = value {
            expected[0]["value"] = json!(value);
        }
        assert_eq!(told["errors"], expected, "{body}");
    }
    app.post(path, &json!({"volume": "13636.36 yd3"})).await.ok(200);
}

#[tokio::test]
async fn the_concrete_calculator_heeds_the_way_and_the_waste_of_the_notes() {
    let app = TestApp::start().await;
    let mut notes: Value = serde_json::from_str(rillcast::domain::demo::NOTES).unwrap();
    for chosen in ["ready-mix", "bags-60"] {
        notes["options"]["concrete_way"] = json!(chosen);
        let answer =
            app.post("/v1/calculators/concrete-order", &json!({"notes": notes})).await.ok(200).json();
        assert_eq!(answer["concrete"]["chosen"], chosen);
        // The request itself goes before its notes.
        let other = json!({"notes": notes, "concrete_way": "ready-mix"});
        let answer = app.post("/v1/calculators/concrete-order", &other).await.ok(200).json();
        assert_eq!(answer["concrete"]["chosen"], "ready-mix");
    }
}

#[tokio::test]
async fn form_boards_tell_their_board_feet() {
    let app = TestApp::start().await;
    let notes: Value = serde_json::from_str(rillcast::domain::demo::NOTES).unwrap();
    let answer = app.post("/v1/calculators/estimate", &json!({"notes": notes})).await.ok(200).json();
    let lines = answer["cost_lines"].as_array().unwrap();
    let boards = lines.iter().find(|l| l["code"] == "form-board-2x8").unwrap();
    let count: i64 = boards["quantity"]["value"].as_str().unwrap().parse().unwrap();
    // The trade's definition (read in several open pages): 2 in x 8 in x 12 ft / 12 is 16 board feet a board.
    let told = format!("{count} x 2 in x 8 in (nominal) x 12 ft / 12 = {} board feet", 16 * count);
    assert!(boards["basis"].as_str().unwrap().contains(&told), "{boards}");
    // A book that gives no nominal section tells none, half a section is a fault.
    let book = |change: fn(&mut Value)| {
        let mut book: Value = serde_json::from_str(rillcast::domain::demo::BOOK).unwrap();
        change(&mut book["forms"]);
        rillcast::domain::book::PriceBook::check(rillcast::wire::read_value(&book).unwrap())
    };
    assert!(book(|f| drop(f.as_object_mut().unwrap().remove("nominal_width"))).is_err());
    assert!(book(|f| f["nominal_width"] = json!("0 in")).is_err());
    assert!(
        book(|f| {
            f.as_object_mut().unwrap().remove("nominal_width");
            f.as_object_mut().unwrap().remove("nominal_thickness");
        })
        .is_ok()
    );
}

/// The demo job with its lengths written in millimetres.
fn in_metric(value: &Value) -> Value {
    use rillcast::units::Dimension;
    match value {
        Value::String(text) => {
            let (sign, size) = text.strip_prefix('-').map_or(("", text.as_str()), |t| ("-", t));
            match rillcast::units::grammar::parse(size, Dimension::Length) {
                Ok((nm, _)) if nm % 100_000 == 0 => {
                    json!(format!("{sign}{}.{} mm", nm / 1_000_000, nm / 100_000 % 10))
                }
                _ => value.clone(),
            }
        }
        Value::Array(list) => list.iter().map(in_metric).collect(),
        Value::Object(members) => members.iter().map(|(k, v)| (k.clone(), in_metric(v))).collect(),
        other => other.clone(),
    }
}

#[tokio::test]
async fn the_same_job_in_metric_gives_the_same_orders() {
    let app = TestApp::start().await;
    let us: Value = serde_json::from_str(rillcast::domain::demo::NOTES).unwrap();
    let mut metric = in_metric(&us);
    assert_ne!(metric, us);
    metric["unit_system"] = json!("metric");
    let a = app.post("/v1/calculators/estimate", &json!({"notes": us})).await.ok(200).json();
    let b = app.post("/v1/calculators/estimate", &json!({"notes": metric})).await.ok(200).json();
    let orders = |e: &Value| -> Vec<(Value, Value, Value)> {
        e["cost_lines"]
            .as_array()
            .unwrap()
            .iter()
            .map(|l| (l["code"].clone(), l["quantity"].clone(), l["cost"].clone()))
            .collect()
    };
    assert_eq!(orders(&a), orders(&b));
    assert_eq!(a["price"], b["price"]);
    assert_eq!(b["layout"]["runs"][0]["quantities"][0]["quantity"]["unit"], "m");
}

#[tokio::test]
async fn what_is_used_up_is_worked_in_the_units_of_the_job_and_of_the_pack() {
    let app = TestApp::start().await;
    let path = "/v1/calculators/layout-quantities";
    let metric = json!({"length": "12.6 m", "unit_system": "metric"});
    let metric = app.post(path, &metric).await.ok(200).json().to_string();
    // 12.6 m / 0.3048 = 41.3386 ft (NIST SP 811: one foot is 0.3048 m exactly)
    assert!(metric.contains("grate_length: 12.6 m = 41.3386 ft, x 2 times, 180 ft a pack"), "{metric}");
    let us = app.post(path, &json!({"length": "42 ft"})).await.ok(200).json().to_string();
    assert!(us.contains("grate_length: 42 ft x 2 times, 180 ft a pack"), "{us}");
}
