//! Everything that is wrong with a query is told at once: names and values, each with what was sent.

use crate::app::{TestApp, text};
use crate::document::{Operation, operations};
use crate::records::Records;
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// A value that each parameter with a type of its own refuses.
const WRONG: &[(&str, &str)] = &[
    ("accepted", "yes"),
    ("all_books", "yes"),
    ("base", "pbv_none"),
    ("bound", "middle"),
    ("by", "weekday"),
    ("byte_order_mark", "yes"),
    ("code", "No Code"),
    ("confirm_large_changes", "maybe"),
    ("cursor", "x"),
    ("customer", ""),
    ("detail", "everything"),
    ("duration", "15"),
    ("estimate", "est_none"),
    ("external_id", ""),
    ("external_system", ""),
    ("from", "pbv_none"),
    ("largest_move_pct", "-1"),
    ("limit", "0"),
    ("missing", "drop"),
    ("name", ""),
    ("number", ""),
    ("on", "2027-02-30"),
    ("q", ""),
    ("return_period_years", "3"),
    ("site", ""),
    ("state", "lost"),
    ("sort", "title"),
    ("updated_since", "yesterday"),
    ("validate_only", "yes"),
];
/// What names something that is there or not, or is a quantity, of which a schema can say little.
const NAMES: &[&str] = &["base", "cursor", "duration", "estimate", "from"];
/// Any text will do.
const FREE: &[&str] = &["object"];

fn parameters(operation: &Operation) -> Vec<String> {
    let all = operation.value["parameters"].as_array().into_iter().flatten();
    all.filter(|p| p["in"] == "query").map(|p| text(p, "name")).collect()
}

/// Whether the schema of a parameter, or of the words it lists, forbids anything.
fn is_closed(schema: &Value) -> bool {
    let schema = schema.get("items").unwrap_or(schema);
    let says = ["enum", "pattern", "format", "minLength", "minimum"].iter().any(|k| schema.get(k).is_some());
    says || schema["type"] == "boolean"
}

fn query(pairs: &[(String, String)]) -> String {
    let encoded = |t: &str| t.replace(' ', "%20");
    pairs.iter().map(|(n, v)| format!("{n}={}", encoded(v))).collect::<Vec<_>>().join("&")
}

#[tokio::test]
async fn wrong_values_are_told_together_with_wrong_names() {
    let app = TestApp::start().await;
    let records = Records::make(&app).await;
    let wrong: BTreeMap<&str, &str> = WRONG.iter().copied().collect();
    let mut tried = 0;
    for operation in operations() {
        let id = &operation.id;
        let names = parameters(&operation);
        let mut sent: Vec<(String, String)> = Vec::new();
        for name in names.iter().filter(|n| !FREE.contains(&n.as_str())) {
            let value = wrong.get(name.as_str()).unwrap_or_else(|| panic!("{id}: no wrong value of {name}"));
            sent.push((name.clone(), (*value).to_owned()));
        }
        tried += usize::from(sent.len() > 1);
        let mut ask = operation.working(&records).key(&app.key);
        let path = ask.path.split('?').next().unwrap().to_owned();
        let mut all = vec![("no_such".to_owned(), "secret".to_owned())];
        all.extend(sent.clone());
        ask.path = format!("{path}?{}", query(&all));
        let problem = app.send(ask).await.problem(400, "bad-query");
        let errors = problem["errors"].as_array().unwrap();
        let told: BTreeMap<String, &Value> = errors.iter().map(|e| (text(e, "parameter"), e)).collect();
        assert_eq!(told.len(), errors.len(), "{id}: {problem}");
        let expected: Vec<&str> = {
            let mut list: Vec<&str> = all.iter().map(|(n, _)| n.as_str()).collect();
            list.sort_unstable();
            list
        };
        assert_eq!(told.keys().collect::<Vec<_>>(), expected, "{id}: {problem}");
        assert_eq!(told["no_such"].get("value"), None, "what nobody knows is not shown again");
        let allowed = told["no_such"]["allowed"].as_array().into_iter().flatten();
        let mut allowed: Vec<&str> = allowed.map(|a| a.as_str().unwrap()).collect();
        allowed.sort_unstable();
        let mut known: Vec<&str> = names.iter().map(String::as_str).collect();
        known.sort_unstable();
        assert_eq!(allowed, known, "{id}: the parameters that the document lists");
        for (name, value) in &sent {
            let mut parameters = operation.value["parameters"].as_array().unwrap().iter();
            let schema = &parameters.find(|p| p["in"] == "query" && p["name"] == **name).unwrap()["schema"];
            assert!(
                NAMES.contains(&name.as_str()) || is_closed(schema),
                "{id} {name}: {schema} takes any text"
            );
            assert_eq!(text(told[name], "value"), *value, "{id} {name}");
            assert!(text(told[name], "detail").len() > 10, "{id} {name}");
        }
    }
    assert!(tried >= 8, "only {tried} operations with several typed parameters");
}

#[tokio::test]
async fn what_must_be_sent_and_is_not_is_told_as_missing() {
    let app = TestApp::start().await;
    let records = Records::bare(&app).await;
    let mut tried = 0;
    for operation in operations() {
        let all = operation.value["parameters"].as_array().into_iter().flatten();
        let needed = all.filter(|p| p["in"] == "query" && p["required"] == Value::Bool(true));
        let mut needed: Vec<String> = needed.map(|p| text(p, "name")).collect();
        if needed.is_empty() {
            continue;
        }
        tried += 1;
        let mut ask = operation.working(&records).key(&app.key);
        ask.path = ask.path.split('?').next().unwrap().to_owned();
        let problem = app.send(ask).await.problem(400, "bad-query");
        let errors = problem["errors"].as_array().unwrap();
        let mut told: Vec<String> = errors.iter().map(|e| text(e, "parameter")).collect();
        told.sort();
        needed.sort();
        assert_eq!(told, needed, "{}", operation.id);
        assert!(errors.iter().all(|e| e["code"] == "required" && e.get("value").is_none()), "{problem}");
    }
    assert!(tried >= 2, "only {tried} operations with a parameter that is needed");
}

#[tokio::test]
async fn the_words_that_are_allowed_are_listed() {
    let app = TestApp::start().await;
    let problem = app.get("/v1/jobs?sort=name&limit=500&updated_since=now&cursor=%21").await;
    let problem = problem.problem(400, "bad-query");
    assert_eq!(text(&problem, "detail"), "4 faults of query parameters found");
    let errors = problem["errors"].as_array().unwrap();
    let of = |name: &str| errors.iter().find(|e| e["parameter"] == name).unwrap();
    assert_eq!(of("sort")["allowed"], json!(["-updated_at", "updated_at", "-created_at", "created_at"]));
    assert_eq!(of("limit")["detail"], "a whole number from 1 to 200");
    assert_eq!(of("updated_since")["value"], "now");
    assert_eq!(of("cursor")["code"], "cursor_mismatch");
    // Which list a cursor belongs to hangs on the order: it is not judged by a list that nobody asked for.
    for _ in 0..2 {
        crate::records::make_job(&app, &crate::records::job(1)).await;
    }
    let cursor = text(&app.get("/v1/jobs?limit=1").await.ok(200).json(), "next_cursor");
    let problem = app.get(&format!("/v1/jobs?sort=name&cursor={cursor}")).await.problem(400, "bad-query");
    let errors = problem["errors"].as_array().unwrap();
    assert_eq!(errors.iter().map(|e| text(e, "parameter")).collect::<Vec<_>>(), ["sort"]);
    // Each wrong word of a list by itself.
    let problem = app.get("/v1/comparison?by=task,weekday,task,colour").await.problem(400, "bad-query");
    let errors = problem["errors"].as_array().unwrap();
    let told: Vec<(String, String)> = errors.iter().map(|e| (text(e, "value"), text(e, "code"))).collect();
    let told: Vec<(&str, &str)> = told.iter().map(|(v, c)| (v.as_str(), c.as_str())).collect();
    assert_eq!(told, [("weekday", "unknown_value"), ("task", "duplicate"), ("colour", "unknown_value")]);
    let problem = app.get("/v1/invoices?state=paid,lost,%20paid,").await.problem(400, "bad-query");
    let errors = problem["errors"].as_array().unwrap();
    let told: Vec<(String, String)> = errors.iter().map(|e| (text(e, "value"), text(e, "code"))).collect();
    let told: Vec<(&str, &str)> = told.iter().map(|(v, c)| (v.as_str(), c.as_str())).collect();
    assert_eq!(told, [("lost", "unknown_value"), ("paid", "duplicate"), ("", "unknown_value")]);
}

/// Programs send a list with commas or as a parameter for each of it.
#[tokio::test]
async fn a_list_may_be_sent_in_parts() {
    let app = TestApp::start().await;
    let _ = Records::make(&app).await;
    for (parts, whole) in [
        ("/v1/quotes?state=accepted&state=draft,issued", "/v1/quotes?state=accepted,draft,issued"),
        (
            "/v1/invoices?state=paid&sort=updated_at&state=issued",
            "/v1/invoices?sort=updated_at&state=paid,issued",
        ),
        ("/v1/comparison?by=task&by=soil", "/v1/comparison?by=task,soil"),
    ] {
        let [parts, whole] = [app.get(parts).await.ok(200), app.get(whole).await.ok(200)];
        assert_eq!(parts.text(), whole.text());
        assert!(parts.text().len() > 40, "{}", parts.text());
    }
    // From page to page as well.
    let first = app.get("/v1/quotes?state=accepted&limit=1&state=issued&state=draft&state=superseded").await;
    let link = first.ok(200).header("link");
    let next = link.trim_start_matches('<').split('>').next().unwrap();
    assert!(next.contains("state=accepted") && next.contains("state=superseded"), "{next}");
    app.get(next).await.ok(200);
    // What else is sent twice is still refused, and each word of a list once.
    for (path, told) in [
        ("/v1/quotes?limit=1&limit=1", [("limit", "1", "duplicate")].as_slice()),
        (
            "/v1/quotes?state=lost&state=draft&state=draft",
            &[("state", "lost", "unknown_value"), ("state", "draft", "duplicate")],
        ),
        ("/v1/comparison?by=task&by=task", &[("by", "task", "duplicate")]),
    ] {
        let problem = app.get(path).await.problem(400, "bad-query");
        let errors = problem["errors"].as_array().unwrap();
        let found: Vec<[String; 3]> =
            errors.iter().map(|e| ["parameter", "value", "code"].map(|member| text(e, member))).collect();
        let told: Vec<[String; 3]> =
            told.iter().map(|(p, v, c)| [p, v, c].map(|t| (*t).to_owned())).collect();
        assert_eq!(found, told, "{path}");
    }
}

#[tokio::test]
async fn a_query_without_end_is_answered_with_the_first_of_its_faults() {
    let app = TestApp::start().await;
    let query = |count: usize| (0..count).map(|n| format!("a{n}=1")).collect::<Vec<_>>().join("&");
    for (sent, told) in [(100, "100 faults"), (101, "more than 100 faults"), (3000, "more than 100 faults")] {
        let problem = app.get(&format!("/v1/jobs?{}", query(sent))).await.problem(400, "bad-query");
        assert_eq!(text(&problem, "detail"), format!("{told} of query parameters found"));
        assert_eq!(problem["errors"].as_array().unwrap().len(), 100);
        assert_eq!(problem.get("errors_truncated"), (sent > 100).then_some(&Value::Bool(true)));
    }
}
