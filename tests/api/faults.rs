//! Every fault of a body at once, each with a pointer that leads to it.

use crate::app::{Ask, TestApp, text};
use serde_json::{Value, json};

/// The member or, when it is missing, the object that lacks it is there in the document sent.
fn resolves(document: &Value, pointer: &str) -> bool {
    let Some(path) = pointer.strip_prefix('#') else { return false };
    if document.pointer(path).is_some() {
        return true;
    }
    path.rsplit_once('/').is_some_and(|(parent, _)| document.pointer(parent).is_some_and(Value::is_object))
}

#[tokio::test]
async fn five_planted_faults_give_exactly_five_pointers() {
    let app = TestApp::start().await;
    let body = json!({
        "notes": {
            "title": "",
            "climat": "hot",
            "runs": [
                {"id": "a", "legs": [{"length": 24}], "channel_system": "channel-4-light", "crossing": "trains",
                 "outlets": [{"kind": "end", "id": "a-out", "at": "finish"}]},
                {"id": "b", "legs": [{"length": "9 ft"}], "channel_system": "channel-4-light",
                 "crossing": "feet", "outlets": [{"kind": "sideways", "id": "b-out", "at": "1 ft"}]}
            ]
        }
    });
    let answer = app.post("/v1/calculators/estimate", &body).await;
    let problem = answer.json();
    assert_eq!(
        answer.pointers(),
        [
            "#/notes/climat",
            "#/notes/runs/0/crossing",
            "#/notes/runs/0/legs/0/length",
            "#/notes/runs/1/outlets/0/kind",
            "#/notes/title",
        ]
    );
    assert_eq!(text(&problem, "detail"), "5 problems found");
    for error in problem["errors"].as_array().unwrap() {
        let pointer = text(error, "pointer");
        assert!(resolves(&body, &pointer), "{pointer} leads nowhere");
        assert!(!text(error, "code").is_empty() && !text(error, "detail").is_empty());
    }
    // A fault of a choice names the choices; a bare number is answered with the accepted forms.
    let error = |pointer: &str| {
        problem["errors"].as_array().unwrap().iter().find(|e| e["pointer"] == pointer).unwrap().clone()
    };
    let crossing = error("#/notes/runs/0/crossing");
    assert!(crossing["allowed"].as_array().unwrap().contains(&json!("wheels")), "{crossing}");
    assert_eq!(text(&crossing, "value"), "trains");
    assert!(error("#/notes/runs/0/legs/0/length").to_string().contains(" ft"));
}

#[tokio::test]
async fn faults_of_the_layout_against_the_book_come_together_too() {
    let app = TestApp::start().await;
    let line = |pipe: &str| {
        json!([{"id": "main", "from": [{"outlet": "no-such-outlet"}], "pipe": pipe,
            "legs": [{"length": "10 ft"}], "depth": "1 ft", "ends": {"kind": "discharges", "to": "swale"}}])
    };
    let mut notes = crate::records::short_notes();
    notes["drain_lines"] = line("no-such-pipe");
    notes["extras"] = json!([{"item": "no-such-item", "quantity": "1"}]);
    let answer = app.post("/v1/calculators/estimate", &json!({"notes": notes})).await;
    let problem = answer.json();
    assert_eq!(
        answer.pointers(),
        ["#/notes/drain_lines/0/from/0/outlet", "#/notes/drain_lines/0/pipe", "#/notes/extras/0/item"]
    );
    // The names that would have been right are told.
    for (error, right) in problem["errors"].as_array().unwrap().iter().zip(["pipe-4", "a-out"]) {
        assert!(error["allowed"].as_array().unwrap().contains(&json!(right)), "{error}");
    }

    notes["runs"][0]["channel_system"] = json!("no-such-system");
    notes["runs"][0]["legs"] = json!([{"length": "24 ft"}, {"length": "3 ft"}]);
    let answer = app.post("/v1/calculators/estimate", &json!({"notes": notes})).await;
    assert_eq!(
        answer.pointers(),
        [
            "#/notes/drain_lines/0/pipe",
            "#/notes/extras/0/item",
            "#/notes/runs/0/channel_system",
            "#/notes/runs/0/legs/1/meets",
        ]
    );
}

#[tokio::test]
async fn pointers_escape_what_json_pointers_escape() {
    let app = TestApp::start().await;
    let body = json!({"volume": "2 yd3", "a/b~c d": 1});
    let answer = app.post("/v1/calculators/concrete-order", &body).await;
    // RFC 6901 sections 3 and 6 (from memory): `~` as `~0`, `/` as `~1`, then percent-encoding.
    assert_eq!(answer.pointers(), ["#/a~1b~0c%20d"]);
}

#[tokio::test]
async fn a_flood_of_faults_is_capped_and_said_to_be() {
    let app = TestApp::start().await;
    let mut body = serde_json::Map::new();
    for i in 0..250 {
        body.insert(format!("wrong_{i}"), json!(1));
    }
    let problem = app.post("/v1/jobs", &Value::Object(body)).await.problem(422, "validation-failed");
    assert_eq!(problem["errors"].as_array().unwrap().len(), 100);
    assert_eq!(problem["errors_truncated"], json!(true));
}

#[tokio::test]
async fn bare_numbers_absurd_numbers_and_wrong_dimensions_are_refused() {
    let app = TestApp::start().await;
    for length in [
        json!(41.5),
        json!("41.5"),
        json!("41 lb"),
        json!("2 yd3"),
        json!({"value": "41.5"}),
        json!({"value": 41.5, "unit": "ft"}),
        json!({"value": "41.5", "unit": "parsec"}),
        json!("-3 ft"),
        json!("1e9 ft"),
        json!("99999999999999999999999999999999 ft"),
        json!("NaN ft"),
        json!("1/0 in"),
        json!(null),
    ] {
        let answer = app.post("/v1/calculators/layout-quantities", &json!({"length": length})).await;
        let pointers = answer.pointers();
        assert!(pointers.len() == 1 && pointers[0].starts_with("#/length"), "{length} gives {pointers:?}");
    }
}

#[tokio::test]
async fn a_malformed_idempotency_key_is_named() {
    let app = TestApp::start().await;
    for key in ["short", "", &"x".repeat(65), "has space in it", "ümlautümlaut"] {
        let ask =
            Ask::post("/v1/jobs").key(&app.key).json(&crate::records::job(1)).header("idempotency-key", key);
        let problem = app.send(ask).await.problem(400, "bad-header");
        assert_eq!(text(&problem["errors"][0], "header"), "Idempotency-Key");
    }
    assert_eq!(app.counts().await[0], 1, "only the demo job");
}
