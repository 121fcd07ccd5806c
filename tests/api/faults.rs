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

/// Whoever writes text where an object is taken learns what the object has, as whoever misspells a member does.
#[tokio::test]
async fn what_is_no_object_is_told_with_what_is_taken() {
    let app = TestApp::start().await;
    let run = json!({"id": "a", "legs": [{"length": "24 ft"}], "channel_system": "channel-4-light", "crossing": "feet",
        "surface": "asphalt 3 in", "outlets": ["right end"]});
    let body = json!({"notes": {"runs": [run], "schedule": "march"}});
    let problem = app.post("/v1/calculators/estimate", &body).await.problem(422, "validation-failed");
    let of = |problem: &Value, pointer: &str| {
        let mut errors = problem["errors"].as_array().unwrap().iter();
        let error =
            errors.find(|e| e["pointer"] == pointer).unwrap_or_else(|| panic!("{pointer}: {problem}"));
        assert_eq!(error["code"], "wrong_type", "{error}");
        (text(error, "detail"), error["allowed"].clone())
    };
    let surface = of(&problem, "#/notes/runs/0/surface");
    assert_eq!(
        surface,
        ("expected an object with `kind`, `thickness`, found text".to_owned(), json!(["kind", "thickness"]))
    );
    let (detail, kinds) = of(&problem, "#/notes/runs/0/outlets/0");
    let expected =
        "expected an object whose `kind` is one of those allowed, such as {\"kind\": \"end\", …}, found text";
    assert_eq!(detail, expected);
    let kinds = kinds.as_array().unwrap();
    assert!(kinds.len() > 1 && kinds[0] == "end", "{kinds:?}");
    // Many members are listed, and some of them named.
    let (detail, members) = of(&problem, "#/notes/schedule");
    let members = members.as_array().unwrap();
    assert!(members.len() > 3, "{members:?}");
    let named: Vec<String> = members[..3].iter().map(|m| format!("`{}`", m.as_str().unwrap())).collect();
    assert_eq!(detail, format!("expected an object with members such as {}, found text", named.join(", ")));
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
    for (error, right) in problem["errors"].as_array().unwrap().iter().zip(["a-out", "pipe-4"]) {
        assert!(error["allowed"].as_array().unwrap().contains(&json!(right)), "{error}");
    }

    notes["runs"][0]["channel_system"] = json!("no-such-system");
    notes["runs"][0]["legs"] = json!([{"length": "24 ft"}, {"length": "3 ft"}]);
    let answer = app.post("/v1/calculators/estimate", &json!({"notes": notes})).await;
    assert_eq!(
        answer.pointers(),
        [
            "#/notes/drain_lines/0/from/0/outlet",
            "#/notes/drain_lines/0/pipe",
            "#/notes/extras/0/item",
            "#/notes/runs/0/channel_system",
            "#/notes/runs/0/legs/1/meets",
        ]
    );
}

/// Notes that name something the book does not have wherever a code can stand.
fn notes_of_unknown_codes() -> Value {
    let mut notes = crate::records::short_notes();
    notes["runs"][0]["setting_detail"] = json!("no-such-detail");
    notes["runs"][0]["grate"] = json!("no-such-grate");
    let mut other = notes["runs"][0].clone();
    other["id"] = json!("b");
    other["channel_system"] = json!("channel-4-lite");
    other["outlets"][0]["id"] = json!("b-out");
    notes["runs"].as_array_mut().unwrap().push(other);
    notes["drain_lines"] = json!([{"id": "main", "from": [{"outlet": "a-out"}], "pipe": "pipe-44",
        "legs": [{"length": "10 ft"}], "depth": "1 ft", "ends": {"kind": "discharges", "to": "swale"}}]);
    notes["extras"] = json!([{"item": "no-such-item", "quantity": "1"}]);
    notes["yard_offcuts"] = json!([{"item": "hanger", "length": "2 ft"}]);
    notes["options"] = json!({"concrete_way": "by-hand", "markup_scheme": "generous",
        "methods": [{"task": "dig_run", "method": "spoon"}]});
    notes["schedule"] = json!({"start": "2027-03-01", "calendar": "moon", "crews": ["crew-1", "crew-99"]});
    notes["pricing"] = json!({"place": "nowhere",
        "optional": [{"code": "o", "name": "Spares", "extras": [{"item": "none", "quantity": "1"}]}],
        "alternates": [{"code": "x", "name": "Other", "concrete_way": "by-hand", "systems": [{"channel_system": "none"}]}]});
    notes
}

#[tokio::test]
async fn codes_that_the_book_lacks_are_told_beside_faults_of_form() {
    let app = TestApp::start().await;
    let unknown = |answer: &Value| -> Vec<Value> {
        let all = answer["errors"].as_array().unwrap().iter();
        let mut list: Vec<Value> = all.filter(|e| e["code"] == "unknown_code").cloned().collect();
        list.sort_by_key(|e| text(e, "pointer"));
        list
    };
    let well_formed = json!({"notes": notes_of_unknown_codes()});
    let mut faulty = well_formed.clone();
    faulty["notes"]["runs"][0]["legs"][0]["length"] = json!(24);
    faulty["notes"]["climat"] = json!("hot");
    let job = format!("/v1/jobs/{}/estimates", app.job);
    for path in ["/v1/calculators/layout-quantities", "/v1/calculators/estimate", &job] {
        let by_book = app.post(path, &well_formed).await.problem(422, "validation-failed");
        let both = app.post(path, &faulty).await.problem(422, "validation-failed");
        assert_eq!(unknown(&by_book).len(), 16, "{by_book}");
        assert_eq!(unknown(&both), unknown(&by_book), "{path}");
        assert_eq!(both["errors"].as_array().unwrap().len(), 16 + 2, "{both}");
    }
    // Wherever notes can be sent, the pointers lead to what is at fault.
    for path in [
        "layout-quantities",
        "concrete-order",
        "labor-hours",
        "estimate",
        "cut-list",
        "purchase-plan",
        "plan",
        "risk",
    ] {
        let path = format!("/v1/calculators/{path}");
        for body in [&well_formed, &faulty] {
            for pointer in app.post(&path, body).await.pointers() {
                assert!(pointer.starts_with("#/notes/") && resolves(body, &pointer), "{path}: {pointer}");
            }
        }
    }
    // In the short form the run is the request itself.
    let short = json!({"length": "3 in", "channel_system": "none", "surface": {"kind": "concrete_slab"}});
    let answer = app.post("/v1/calculators/layout-quantities", &short).await;
    assert_eq!(answer.pointers(), ["#/channel_system", "#/surface/thickness"]);
    let short = json!({"length": "24 ft", "channel_system": "none"});
    assert_eq!(app.post("/v1/calculators/layout-quantities", &short).await.pointers(), ["#/channel_system"]);
    // A name that is nearly right is offered.
    let by_book = app.post("/v1/calculators/estimate", &well_formed).await.problem(422, "validation-failed");
    assert!(by_book.to_string().contains("no pipe of this code; did you mean `pipe-4`?"), "{by_book}");
}

#[tokio::test]
async fn what_a_chosen_option_names_is_told_where_the_option_stands() {
    let app = TestApp::start().await;
    let mut notes = crate::records::short_notes();
    notes["pricing"] = json!({"chosen": ["x", "o"],
        "optional": [{"code": "o", "name": "Spares", "extras": [{"item": "none", "quantity": "1"}]}],
        "alternates": [{"code": "x", "name": "Other", "concrete_way": "by-hand", "systems": [
            {"channel_system": "none"}, {"channel_system": "channel-6-u", "grate": "grate-4-plastic"}]}]});
    let sent = app.post("/v1/calculators/estimate", &json!({"notes": notes})).await;
    assert_eq!(
        sent.pointers(),
        [
            "#/notes/pricing/alternates/0/concrete_way",
            "#/notes/pricing/alternates/0/systems/0/channel_system",
            "#/notes/pricing/alternates/0/systems/1/grate",
            "#/notes/pricing/optional/0/extras/0/item",
        ]
    );
}

/// The demo's notes with a wrong name wherever they name something of their own.
fn notes_of_wrong_names() -> Value {
    let mut notes: Value = serde_json::from_str(rillcast::domain::demo::NOTES).unwrap();
    notes["drain_lines"][0]["from"][0]["outlet"] = json!("drive-ou");
    notes["drain_lines"][1]["ends"]["line"] = json!("moin");
    let again = notes["drain_lines"][0].clone();
    notes["drain_lines"].as_array_mut().unwrap().push(again);
    notes["catchments"][0]["reaches"][0]["run"] = json!("nowhere");
    notes["catchments"][1]["id"] = notes["catchments"][0]["id"].clone();
    notes["inflows"] = json!([{"id": "hose", "run": "nowhere", "at": "1 ft", "flow": "5 gal_us_per_min"}]);
    notes["pricing"] = json!({"chosen": ["q"],
        "optional": [{"code": "o", "name": "Spares", "extras": [{"item": "channel-4-light-4ft", "quantity": "1"}]}],
        "alternates": [{"code": "o", "name": "Other", "systems": [{"run": "nowhere", "channel_system": "channel-6-u"}]}]});
    notes
}

const WRONG_NAMES: [&str; 10] = [
    "#/notes/catchments/0/reaches/0/run",
    "#/notes/catchments/1/id",
    "#/notes/drain_lines/0/from/0/outlet",
    "#/notes/drain_lines/1/ends/line",
    "#/notes/drain_lines/2/from/0/outlet",
    "#/notes/drain_lines/2/id",
    "#/notes/inflows/0/run",
    "#/notes/pricing/alternates/0/code",
    "#/notes/pricing/alternates/0/systems/0/run",
    "#/notes/pricing/chosen/0",
];

#[tokio::test]
async fn names_that_the_notes_lack_are_told_beside_faults_of_form() {
    let app = TestApp::start().await;
    let named = |problem: &Value| -> Vec<Value> {
        let all = problem["errors"].as_array().unwrap().iter();
        let mut list: Vec<Value> =
            all.filter(|e| WRONG_NAMES.contains(&text(e, "pointer").as_str())).cloned().collect();
        list.sort_by_key(|e| text(e, "pointer"));
        list
    };
    let well_formed = json!({"notes": notes_of_wrong_names()});
    let mut faulty = well_formed.clone();
    faulty["notes"]["runs"][0]["legs"][0]["length"] = json!(24);
    let of_notes = app.post("/v1/calculators/estimate", &well_formed).await.problem(422, "validation-failed");
    let both = app.post("/v1/calculators/estimate", &faulty).await.problem(422, "validation-failed");
    assert_eq!(named(&of_notes).len(), WRONG_NAMES.len(), "{of_notes}");
    assert_eq!(named(&both), named(&of_notes));
    assert_eq!(both["errors"].as_array().unwrap().len(), WRONG_NAMES.len() + 1, "{both}");
    let outlet = &named(&both)[2];
    assert_eq!(text(outlet, "detail"), "no outlet has this name; did you mean `drive-out`?");
    assert_eq!(outlet["allowed"], json!(["drive-out", "path-out"]));

    // Where the name that is looked for may be among what cannot be read, nothing is called unknown.
    let unread = |change: &dyn Fn(&mut Value)| {
        let mut notes: Value = serde_json::from_str(rillcast::domain::demo::NOTES).unwrap();
        change(&mut notes);
        json!({"notes": notes})
    };
    for (body, pointers) in [
        (unread(&|n| n["runs"][0]["outlets"][0]["id"] = json!(7)), vec!["#/notes/runs/0/outlets/0/id"]),
        (
            unread(&|n| {
                let run = n["runs"][0].as_object_mut().unwrap();
                let outlets = run.remove("outlets").unwrap();
                run.insert("outlet".to_owned(), outlets);
            }),
            vec!["#/notes/runs/0/outlet"],
        ),
        (unread(&|n| n["drain_lines"][0]["id"] = json!("")), vec!["#/notes/drain_lines/0/id"]),
        (unread(&|n| n["runs"][1] = json!("path")), vec!["#/notes/runs/1"]),
        (
            unread(&|n| {
                n.as_object_mut().unwrap().remove("runs");
            }),
            vec!["#/notes/runs"],
        ),
    ] {
        assert_eq!(app.post("/v1/calculators/estimate", &body).await.pointers(), pointers, "{body}");
    }
}

#[tokio::test]
async fn faults_that_do_not_hang_on_the_system_are_told_beside_an_unknown_one() {
    let app = TestApp::start().await;
    let mut notes: Value = serde_json::from_str(rillcast::domain::demo::NOTES).unwrap();
    notes["runs"][0]["channel_system"] = json!("none");
    notes["runs"][0]["outlets"][0]["at"] = json!("900 ft");
    notes["drain_lines"][0]["from"][0]["outlet"] = json!("none");
    // both lines join each other
    notes["drain_lines"][0]["ends"] = json!({"kind": "joins", "line": "path-branch", "at": "1 ft"});
    let answer = app.post("/v1/calculators/estimate", &json!({"notes": notes})).await;
    assert_eq!(
        answer.pointers(),
        [
            "#/notes/drain_lines/0/ends",
            "#/notes/drain_lines/0/from/0/outlet",
            "#/notes/drain_lines/1/ends",
            "#/notes/runs/0/channel_system",
            "#/notes/runs/0/outlets/0/at",
        ]
    );
}

#[tokio::test]
async fn codes_of_a_bare_request_are_told_beside_faults_of_form() {
    let app = TestApp::start().await;
    for (path, body, pointers) in [
        (
            "cut-list",
            json!({"legs": [{"id": "a", "length": 10}], "channel_system": "none"}),
            ["#/channel_system", "#/legs/0/length"],
        ),
        ("concrete-order", json!({"volume": 2, "concrete_way": "none"}), ["#/concrete_way", "#/volume"]),
        ("hire-plan", json!({"half_days": "2", "machine": "none"}), ["#/half_days", "#/machine"]),
        (
            "labor-hours",
            json!({"methods": [{"task": "dig_run", "method": "none"}], "soil": "cheese"}),
            ["#/methods/0/method", "#/soil"],
        ),
    ] {
        assert_eq!(app.post(&format!("/v1/calculators/{path}"), &body).await.pointers(), pointers, "{path}");
    }
    // Which version is meant is itself at fault: only the form is told.
    let body = json!({"volume": 2, "concrete_way": "none", "price_book_version": "pbv_none"});
    assert_eq!(app.post("/v1/calculators/concrete-order", &body).await.pointers(), ["#/volume"]);
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
        body.insert(format!("wrong_{i:03}"), json!(1));
    }
    let problem = app.post("/v1/jobs", &Value::Object(body)).await.problem(422, "validation-failed");
    let told: Vec<String> =
        problem["errors"].as_array().unwrap().iter().map(|e| text(e, "pointer")).collect();
    assert_eq!(told, (0..100).map(|i| format!("#/wrong_{i:03}")).collect::<Vec<_>>());
    assert_eq!(problem["errors_truncated"], json!(true));
    assert_eq!(text(&problem, "detail"), "more than 100 problems found; these are the first");
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
async fn a_quantity_of_any_kind_is_refused_like_any_other() {
    let app = TestApp::start().await;
    let asked = async |quantity: Value| {
        let body = json!({"quantities": [{"measure": "run_excavation", "quantity": quantity}]});
        let problem = app.post("/v1/calculators/labor-hours", &body).await.problem(422, "validation-failed");
        let errors = problem["errors"].as_array().unwrap();
        assert_eq!(errors.len(), 1, "{problem}");
        (
            text(&errors[0], "pointer").replace("#/quantities/0/quantity", ""),
            text(&errors[0], "code"),
            errors[0].clone(),
        )
    };
    for (quantity, pointer, code) in [
        (json!({"value": "1", "unit": "yd3", "x": 1}), "/x", "unknown_member"),
        (json!({"value": "-4", "unit": "yd3"}), "/value", "negative"),
        (json!({"value": "1e2", "unit": "yd3"}), "/value", "number_form"),
        (json!({"value": "1", "unit": "parsec"}), "/unit", "unknown_value"),
        (json!({"value": "1", "unit": "deg_f"}), "/unit", "unit_dimension"),
        (json!({"value": "1"}), "/unit", "required"),
        (json!("-1 yd3"), "", "negative"),
        (json!("1 parsec"), "", "unit_unknown"),
        (json!("1"), "", "unit_required"),
        (json!(1), "", "unit_required"),
        (json!("3 ft"), "", "unit_dimension"),
    ] {
        let (at, found, error) = asked(quantity.clone()).await;
        assert_eq!((at.as_str(), found.as_str()), (pointer, code), "{quantity}: {error}");
    }
    // What is allowed is of the kind that was meant.
    let (.., error) = asked(json!("-1 yd3")).await;
    assert!(error["allowed"].as_array().unwrap().contains(&json!("yd3")), "{error}");
    for quantity in [json!("1 yd3"), json!({"value": "27", "unit": "ft3"}), json!("0.76 m3")] {
        let body = json!({"quantities": [{"measure": "run_excavation", "quantity": quantity}]});
        app.post("/v1/calculators/labor-hours", &body).await.ok(200);
    }
}

#[tokio::test]
async fn what_a_search_cannot_take_is_at_fault_where_it_was_sent() {
    let app = TestApp::start().await;
    for (path, body, pointer) in [
        (
            "cut-list",
            json!({"legs": [{"id": "a", "length": "9 ft"}, {"id": "b", "length": "0 ft"}], "channel_system": "channel-4-light"}),
            "#/legs/1/length",
        ),
        (
            "purchase-plan",
            json!({"needs": [{"item": "grate-screw", "quantity": "5"}, {"item": "hanger", "quantity": "0"}]}),
            "#/needs/1/quantity",
        ),
    ] {
        let answer = app.post(&format!("/v1/calculators/{path}"), &body).await;
        assert_eq!(answer.pointers(), [pointer], "{body}");
    }
    // A job takes more than a thousand screws.
    let many = json!({"needs": [{"item": "grate-screw", "quantity": "2500"}]});
    app.post("/v1/calculators/purchase-plan", &many).await.ok(200);
}

#[tokio::test]
async fn every_fault_of_a_query_is_told_and_no_search_takes_a_nul() {
    let app = TestApp::start().await;
    let problem = app.get("/v1/jobs?foo=1&limit=3&limit=4&bar=2").await.problem(400, "bad-query");
    let errors = problem["errors"].as_array().unwrap().iter();
    let named: Vec<String> = errors.map(|e| text(e, "parameter")).collect();
    assert_eq!(named, ["foo", "limit", "bar"]);
    for query in ["q=%00", "customer=%00", "q=%ff"] {
        let problem = app.get(&format!("/v1/jobs?{query}")).await.problem(400, "bad-query");
        assert_eq!(text(&problem["errors"][0], "code"), "text_rule", "{query}");
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
