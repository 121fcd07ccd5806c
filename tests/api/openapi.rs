//! The document: the committed file is the served one, complete, consistent, and its examples work.

use crate::app::{Ask, TestApp, text};
use crate::document::{Operation, as_sent, document, open_operations, operations};
use crate::records::Records;
use axum::http::Method;
use serde_json::{Value, json};
use std::collections::BTreeSet;

#[tokio::test]
async fn the_committed_file_is_the_served_document() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/openapi/rillcast.json");
    let committed = std::fs::read_to_string(path).unwrap_or_default();
    assert!(
        committed == rillcast::http::openapi::text(),
        "openapi/rillcast.json is out of date: run `cargo run -q -- openapi > openapi/rillcast.json`"
    );
    let app = TestApp::start().await;
    let served = app.send(Ask::get("/openapi.json")).await.ok(200);
    assert_eq!(served.text(), committed);
}

#[test]
fn operation_ids_are_unique_lower_camel_verbs_with_nouns() {
    let mut seen = BTreeSet::new();
    for operation in operations() {
        let id = &operation.id;
        assert!(seen.insert(id.clone()), "{id} twice");
        assert!(id.chars().all(|c| c.is_ascii_alphanumeric()), "{id}");
        assert!(id.starts_with(|c: char| c.is_ascii_lowercase()), "{id}");
        assert!(id.chars().any(|c| c.is_ascii_uppercase()), "{id} is one word");
    }
}

#[test]
fn every_operation_is_described_tagged_answered_and_secured() {
    let document = document();
    assert!(text(&document, "openapi").starts_with("3.1"));
    let tags: BTreeSet<String> =
        document["tags"].as_array().unwrap().iter().map(|t| text(t, "name")).collect();
    for tag in document["tags"].as_array().unwrap() {
        assert!(!text(tag, "description").is_empty());
    }
    let open = open_operations().into_iter().flat_map(|o| o.value["tags"].as_array().unwrap().clone());
    let mut used: BTreeSet<String> = open.map(|tag| tag.as_str().unwrap().to_owned()).collect();
    for operation in operations() {
        let (id, value) = (&operation.id, &operation.value);
        assert!(text(value, "summary").len() > 5, "{id}");
        assert!(text(value, "description").len() > 10, "{id}");
        let own: Vec<String> =
            value["tags"].as_array().unwrap().iter().map(|t| t.as_str().unwrap().to_owned()).collect();
        assert_eq!(own.len(), 1, "{id}");
        assert!(tags.contains(&own[0]), "{id}: tag {} is not declared", own[0]);
        used.extend(own);
        let responses = value["responses"].as_object().unwrap();
        assert!(responses.keys().any(|k| k.starts_with('2')), "{id}");
        for range in ["4XX", "5XX"] {
            let schema = &responses[range]["content"]["application/problem+json"]["schema"]["$ref"];
            assert_eq!(schema, "#/components/schemas/ProblemOut", "{id} {range}");
        }
        for (status, response) in responses {
            assert!(!text(response, "description").is_empty(), "{id} {status}");
            if status.starts_with('2') {
                assert!(response["content"][operation.answers_in()]["schema"].is_object(), "{id} {status}");
            }
        }
        let security = value["security"].as_array().unwrap();
        assert!(security[0]["api_key"].is_array(), "{id}");
        let more: &[Value] = match id.as_str() {
            "getPlanCalendar" => &[json!({"api_key_as_password": ["plans:read"]})],
            _ => &[],
        };
        assert_eq!(security[1..], *more, "{id}");
        let mut names = BTreeSet::new();
        for parameter in value["parameters"].as_array().into_iter().flatten() {
            let name = text(parameter, "name");
            assert!(names.insert(name.clone()), "{id}: {name} twice");
            assert!(!text(parameter, "description").is_empty(), "{id}: {name}");
            if parameter["in"] == "path" {
                assert_eq!(parameter["required"], Value::Bool(true), "{id}: {name}");
                assert!(operation.path.contains(&format!("{{{name}}}")), "{id}: {name}");
            }
        }
        for part in operation.path.split('/').filter(|p| p.starts_with('{')) {
            assert!(names.contains(part.trim_matches(['{', '}'])), "{id}: {part} is not described");
        }
        if operation.media().is_some() {
            let required = value["requestBody"]["required"] == Value::Bool(true);
            assert_eq!(required, !operation.body_optional(), "{id}: whether the body may be left out");
            assert!(operation.example().is_some(), "{id} has no example");
        }
        let body = value.get("requestBody").is_some();
        assert!(!body || operation.method != Method::GET, "{id}");
    }
    assert_eq!(used, tags, "a declared tag is not used");
    let schemes = document["components"]["securitySchemes"].as_object().unwrap();
    assert_eq!(schemes["api_key"]["scheme"], "bearer");
    assert_eq!(schemes["api_key_as_password"]["scheme"], "basic");
    assert_eq!(schemes.len(), 2);
}

pub(crate) fn walk(value: &Value, at: &str, visit: &mut impl FnMut(&str, &Value)) {
    visit(at, value);
    match value {
        Value::Object(members) => {
            for (name, member) in members {
                walk(member, &format!("{at}/{}", name.replace('~', "~0").replace('/', "~1")), visit);
            }
        }
        Value::Array(list) => {
            for (i, element) in list.iter().enumerate() {
                walk(element, &format!("{at}/{i}"), visit);
            }
        }
        _ => {}
    }
}

#[test]
fn every_reference_resolves_and_every_schema_is_used() {
    let document = document();
    let mut used = BTreeSet::new();
    walk(&document, "", &mut |at, value| {
        if let Some(reference) = value.get("$ref").and_then(Value::as_str) {
            let pointer = reference.strip_prefix('#').unwrap_or_else(|| panic!("{at}: {reference}"));
            assert!(document.pointer(pointer).is_some(), "{at}: {reference} leads nowhere");
            used.insert(reference.to_owned());
        }
        if at.ends_with("/discriminator/mapping") {
            for target in value.as_object().unwrap().values() {
                let target = target.as_str().unwrap();
                assert!(document.pointer(target.strip_prefix('#').unwrap()).is_some(), "{at}: {target}");
            }
        }
    });
    for name in document["components"]["schemas"].as_object().unwrap().keys() {
        assert!(used.contains(&format!("#/components/schemas/{name}")), "the schema {name} is not used");
    }
}

#[test]
fn every_member_is_described_and_nothing_is_null() {
    let document = document();
    walk(&document["components"]["schemas"], "", &mut |at, value| {
        let Some(properties) = value.get("properties").and_then(Value::as_object) else { return };
        for required in value["required"].as_array().into_iter().flatten() {
            assert!(
                properties.contains_key(required.as_str().unwrap()),
                "{at}: {required} is required but unknown"
            );
        }
        for (name, property) in properties {
            let told = property["description"].as_str().unwrap_or_default();
            assert!(!told.is_empty(), "{at}/{name} is not described");
            // Absent members are left out, never null; but a patch deletes by it.
            if at.ends_with("Patch") {
                continue;
            }
            let shape = property["type"].to_string() + &property["oneOf"].to_string();
            assert!(!shape.contains("\"null\""), "{at}/{name} may be null: {property}");
        }
    });
}

#[tokio::test]
async fn the_documented_paths_are_the_routed_ones() {
    let app = TestApp::start().await;
    let records = Records::make(&app).await;
    for operation in operations() {
        // A body that is refused late enough to show that the route is there.
        let ask = Ask::new(operation.method.clone(), &operation.path_for(&records)).key(&app.key);
        let answer = app.send(ask).await;
        if answer.status == 404 || answer.status == 405 {
            panic!("{} is documented but not routed: {}", operation.id, answer.text());
        }
        // The path below it is not routed, unless it is a documented path with an id.
        let beside = format!(
            "{}/zzz",
            operation.path.replace("{id}", "x").replace("{code}", "x").replace("{place}", "1")
        );
        let answer = app.send(Ask::new(operation.method.clone(), &beside).key(&app.key)).await;
        let documented = beside.matches('/').count() == 3
            && ["id", "code"]
                .iter()
                .any(|name| operations().iter().any(|o| o.path == format!("{}/{{{name}}}", operation.path)));
        if documented {
            assert!(!answer.status.is_success(), "{beside}");
        } else {
            answer.problem(404, "not-found");
        }
    }
}

/// A body that is read has an example; it is of the shape the document gives, and it is accepted.
#[tokio::test]
async fn every_body_has_an_example_that_fits_its_shape_and_is_accepted() {
    let document = document();
    let app = TestApp::start().await;
    let records = Records::make(&app).await;
    let reads = operations().into_iter().filter(|o| o.value.get("requestBody").is_some());
    for operation in reads {
        let example = operation.example();
        let mut example = example.unwrap_or_else(|| panic!("{} has no example", operation.id));
        if operation.reads_json() {
            let content = &operation.value["requestBody"]["content"][operation.media().unwrap()];
            let wrong = against(&document, &content["schema"], &example);
            assert!(wrong.is_empty(), "{}: {wrong:#?}", operation.id);
        }
        if operation.id == "createQuote" {
            // The example cannot know the id of an estimate.
            example["estimate_id"] = Value::String(records.estimate.clone());
        }
        let media = operation.media().unwrap();
        let ask = operation.working(&records).typed(&media, as_sent(&example)).key(&app.key);
        let answer = app.send(ask).await;
        assert!(answer.status.is_success(), "{}: {}", operation.id, answer.text());
    }
}

/// A text that follows a pattern has an example: pages make one up from the pattern, which says nothing to anyone.
#[test]
fn every_text_of_a_pattern_has_an_example() {
    let mut seen = 0;
    walk(&document()["components"]["schemas"], "", &mut |at, value| {
        if value.get("pattern").is_some_and(Value::is_string) {
            seen += 1;
            assert!(value["examples"].as_array().is_some_and(|e| !e.is_empty()), "{at} has no example");
        }
    });
    assert!(seen > 10, "only {seen} patterns");
}

/// What a shape gives as an example of itself is one.
#[test]
fn every_example_of_a_shape_fits_it() {
    let document = document();
    let mut tried = 0;
    for (name, shape) in document["components"]["schemas"].as_object().unwrap() {
        let schema = json!({"$ref": format!("#/components/schemas/{name}")});
        for example in shape["examples"].as_array().into_iter().flatten() {
            tried += 1;
            let wrong = against(&document, &schema, example);
            assert!(wrong.is_empty(), "{name}: {example} {wrong:#?}");
        }
    }
    assert!(tried > 20, "only {tried} examples");
}

#[tokio::test]
async fn a_body_may_be_left_out_exactly_where_the_document_says_so() {
    let app = TestApp::start().await;
    let records = Records::make(&app).await;
    for operation in operations().into_iter().filter(|o| o.media().is_some()) {
        let mut ask = operation.working(&records).key(&app.key);
        ask.body.clear();
        ask.headers.remove("content-type");
        let answer = app.send(ask).await;
        if operation.value["requestBody"]["required"] == Value::Bool(true) {
            answer.problem(415, "wrong-media-type");
        } else {
            assert!(answer.status.is_success(), "{}: {}", operation.id, answer.text());
        }
    }
}

/// Every member of every answer is described, and every required one is there.
#[tokio::test]
async fn answers_have_the_shape_the_document_gives() {
    let document = document();
    let shared = TestApp::start().await;
    let papers = Records::make(&shared).await;
    for operation in operations() {
        let answer = operation.answer(&shared, &papers).await;
        let responses = operation.value["responses"].as_object().unwrap();
        let status = answer.status.as_u16().to_string();
        let response =
            responses.get(&status).unwrap_or_else(|| panic!("{}: {status} is not documented", operation.id));
        // Only pages that have a next one and repeats carry these: tests of paging and of repeats look for them. What is served
        // as JSON too is no file then. That nothing else is sent, `headers` looks for.
        let varied = response["content"].as_object().is_some_and(|c| c.len() > 1);
        let sometimes = ["Link", "Idempotency-Replayed", if varied { "Content-Disposition" } else { "Link" }];
        let declared = response["headers"].as_object().into_iter().flatten().map(|(name, _)| name);
        for header in declared.filter(|name| !sometimes.contains(&name.as_str())) {
            assert!(answer.headers.contains_key(header), "{}: no {header}", operation.id);
        }
        let media = operation.answers_in();
        assert!(answer.header("content-type").starts_with(media), "{}", operation.id);
        if media != "application/json" {
            continue;
        }
        let schema = &response["content"]["application/json"]["schema"];
        let mut wrong = Vec::new();
        fits(&document, schema, &answer.json(), "#", &mut wrong);
        wrong.extend(against(&document, schema, &answer.json()));
        assert!(wrong.is_empty(), "{}: {:#?}", operation.id, &wrong[..wrong.len().min(20)]);
    }
}

/// What a general-purpose JSON Schema validator says of a value: patterns, formats, lengths and bounds too.
pub(crate) fn against(document: &Value, schema: &Value, value: &Value) -> Vec<String> {
    let root = serde_json::json!({"$schema": "https://json-schema.org/draft/2020-12/schema",
        "components": document["components"], "allOf": [schema]});
    let validator = jsonschema::options().should_validate_formats(true).build(&root).unwrap();
    validator.iter_errors(value).map(|e| format!("{}: {e}", e.instance_path())).collect()
}

#[tokio::test]
async fn what_needs_no_key_is_documented_as_it_answers() {
    let (document, app) = (document(), TestApp::start().await);
    let mut ids = BTreeSet::new();
    for operation in open_operations() {
        let value = &operation.value;
        assert_eq!(value["security"], json!([{}]), "{}", operation.id);
        let responses = value["responses"].as_object().unwrap();
        let path = |slug: &str| operation.path.replace("{slug}", slug);
        let answer = app.send(Ask::get(&path("not-found"))).await.ok(200);
        let schema = |status: &str, media: &str| responses[status]["content"][media]["schema"].clone();
        let mut wrong = Vec::new();
        fits(&document, &schema("200", "application/json"), &answer.json(), "#", &mut wrong);
        wrong.extend(against(&document, &schema("200", "application/json"), &answer.json()));
        if responses.contains_key("404") {
            let problem = app.send(Ask::get(&path("none"))).await.problem(404, "not-found");
            wrong.extend(against(&document, &schema("404", "application/problem+json"), &problem));
        }
        assert!(wrong.is_empty(), "{}: {wrong:#?}", operation.id);
        ids.insert(operation.id);
    }
    assert_eq!(ids, ["getLiveness", "getProblem", "getReadiness", "listProblems"].map(str::to_owned).into());
    app.state.inner.draining.store(true, std::sync::atomic::Ordering::SeqCst);
    let stopping = app.send(Ask::get("/readyz")).await;
    assert!(stopping.headers.contains_key("retry-after"));
    stopping.problem(503, "overloaded");
}

/// The validator sees what the walk of members does not.
#[test]
fn patterns_formats_and_bounds_are_looked_at() {
    let document = document();
    let wrong = |name: &str, value: Value| {
        let schema = serde_json::json!({"$ref": format!("#/components/schemas/{name}")});
        against(&document, &schema, &value).len()
    };
    assert_eq!(wrong("Amount", Value::from("12.50")), 0);
    assert_eq!(wrong("Amount", Value::from("12.505")), 1);
    assert_eq!(wrong("Timestamp", Value::from("2026-03-09T14:03:27.118Z")), 0);
    assert_eq!(wrong("Timestamp", Value::from("2026-03-09")), 1);
}

/// What nobody can see is no text, by the document as by the service.
#[test]
fn a_text_shows_something() {
    let document = document();
    let schema = json!({"$ref": "#/components/schemas/Label"});
    for invisible in ["\u{200b}", "\u{2060}\u{feff}", "\u{ad}", " \u{200d} ", "\u{2800}", "\u{3164}\u{fe0f}"]
    {
        assert_eq!(against(&document, &schema, &json!(invisible)).len(), 1, "{invisible:?}");
        assert!(rillcast::wire::Label::new(invisible).is_none(), "{invisible:?}");
        assert!(rillcast::wire::Note::new(&format!("{invisible}\n")).is_none(), "{invisible:?}");
    }
    for seen in ["a\u{200b}", "\u{2764}\u{fe0f}", "Mill\u{ad}lane", ".", "\u{5b57}"] {
        assert!(against(&document, &schema, &json!(seen)).is_empty(), "{seen:?}");
        assert!(rillcast::wire::Label::new(seen).is_some(), "{seen:?}");
    }
    let lines = json!({"$ref": "#/components/schemas/Note"});
    for (text, is_one) in [
        (" \u{200b}\n\t ", false),
        ("Bell\u{7}", false),
        ("a\u{b}b", false),
        ("", false),
        ("Ring.\r\n\tPark in the street.\n", true),
        ("\n.", true),
    ] {
        assert_eq!(against(&document, &lines, &json!(text)).is_empty(), is_one, "{text:?}");
        assert_eq!(rillcast::wire::Note::new(text).is_some(), is_one, "{text:?}");
    }
}

pub(crate) fn fits(document: &Value, schema: &Value, value: &Value, at: &str, wrong: &mut Vec<String>) {
    if let Some(reference) = schema["$ref"].as_str() {
        return fits(document, document.pointer(&reference[1..]).unwrap(), value, at, wrong);
    }
    if let Some(all) = schema["allOf"].as_array() {
        // Members of the parts add up; each part alone would call the others' members unknown.
        let mut merged = serde_json::Map::new();
        let mut properties = serde_json::Map::new();
        let mut required = Vec::new();
        for part in all {
            let part = match part["$ref"].as_str() {
                Some(reference) => document.pointer(&reference[1..]).unwrap(),
                None => part,
            };
            properties.extend(part["properties"].as_object().cloned().unwrap_or_default());
            required.extend(part["required"].as_array().cloned().unwrap_or_default());
        }
        merged.insert("type".to_owned(), Value::from("object"));
        merged.insert("properties".to_owned(), Value::Object(properties));
        merged.insert("required".to_owned(), Value::Array(required));
        return fits(document, &Value::Object(merged), value, at, wrong);
    }
    if let Some(one) = schema["oneOf"].as_array().or_else(|| schema["anyOf"].as_array()) {
        let fitting = one.iter().filter(|s| {
            let mut inner = Vec::new();
            fits(document, s, value, at, &mut inner);
            inner.is_empty()
        });
        if fitting.count() == 0 {
            wrong.push(format!("{at}: none of the alternatives fits {value}"));
        }
        return;
    }
    if let Some(allowed) = schema["enum"].as_array()
        && !allowed.contains(value)
    {
        wrong.push(format!("{at}: {value} is not among {allowed:?}"));
    }
    match schema["type"].as_str() {
        Some("object") => {
            let Some(members) = value.as_object() else {
                return wrong.push(format!("{at}: {value} is no object"));
            };
            let Some(properties) = schema["properties"].as_object() else { return };
            for required in schema["required"].as_array().into_iter().flatten() {
                if !members.contains_key(required.as_str().unwrap()) {
                    wrong.push(format!("{at}: {required} is missing"));
                }
            }
            for (name, member) in members {
                match properties.get(name) {
                    Some(property) => fits(document, property, member, &format!("{at}/{name}"), wrong),
                    None => wrong.push(format!("{at}: {name} is not described")),
                }
            }
        }
        Some("array") => match value.as_array() {
            Some(list) => {
                for (i, element) in list.iter().enumerate() {
                    fits(document, &schema["items"], element, &format!("{at}/{i}"), wrong);
                }
            }
            None => wrong.push(format!("{at}: {value} is no list")),
        },
        Some("string") if !value.is_string() => wrong.push(format!("{at}: {value} is no text")),
        Some("integer") if !value.is_i64() && !value.is_u64() => {
            wrong.push(format!("{at}: {value} is no integer"))
        }
        Some("number") if !value.is_number() => wrong.push(format!("{at}: {value} is no number")),
        Some("boolean") if !value.is_boolean() => wrong.push(format!("{at}: {value} is no truth value")),
        _ => {}
    }
}

#[test]
fn what_is_read_may_refuse_as_well_and_the_document_says_so() {
    let refuses = |operation: &Operation, status: &str| {
        let told = text(&operation.value["responses"]["4XX"], "description");
        told.contains(&format!("; {status} ")) || told.contains(&format!(": {status} "))
    };
    let reads: Vec<Operation> = operations()
        .into_iter()
        .filter(|o| o.media().is_none() && !o.takes_header("Idempotency-Key") && !o.takes_header("If-Match"))
        .collect();
    let with = |status: &str| -> BTreeSet<String> {
        reads.iter().filter(|o| refuses(o, status)).map(|o| o.id.clone()).collect()
    };
    let of = |ids: &[&str]| ids.iter().map(ToString::to_string).collect::<BTreeSet<_>>();
    // A paper as another version made it is not written as a file; stored notes and papers are computed anew.
    let files = [
        "getQuoteUbl",
        "getChangeOrderUbl",
        "getInvoiceUbl",
        "getCreditNoteUbl",
        "printQuote",
        "printChangeOrder",
        "printInvoice",
        "printCreditNote",
        "getInvoiceRows",
        "compareJob",
    ];
    let anew = [
        "recomputeEstimate",
        "recomputeQuote",
        "recomputeChangeOrder",
        "recomputeInvoice",
        "recomputeCreditNote",
    ];
    assert_eq!(with("409"), of(&[&files[..], &["getPurchaseOrderUbl", "printPurchaseOrder"]].concat()));
    assert_eq!(with("422"), of(&[&files[..], &anew[..]].concat()));
    assert!(!rillcast::http::openapi::text().contains("x-refuses"), "said in words alone");
}

/// Whether it is read or only looked at, a body that does not come is waited for.
#[test]
fn what_waits_for_a_body_says_that_it_may_not_come_in_time() {
    let mut without = 0;
    for operation in operations() {
        let waits = operation.media().is_some() || operation.method == Method::POST;
        without += usize::from(waits && operation.media().is_none());
        let told = text(&operation.value["responses"]["4XX"], "description");
        assert_eq!(told.contains("408 "), waits, "{}: {told}", operation.id);
    }
    assert!(without >= 5, "only {without} take no body");
}
