//! What the document says of `If-None-Match`, `If-Match` and `ETag` is what the service does, operation by operation.

use crate::app::{Ask, TestApp, text};
use crate::document::{Operation, document, operations};
use crate::openapi::against;
use crate::records::Records;
use axum::http::Method;
use serde_json::{Value, json};

fn declares_tag(operation: &Operation, status: &str) -> bool {
    operation.value["responses"][status]["headers"].get("ETag").is_some()
}

#[tokio::test]
async fn what_is_read_under_its_tag_is_declared_and_nothing_else_is() {
    let shared = TestApp::start().await;
    let papers = Records::make(&shared).await;
    let mut tagged = 0;
    for operation in operations().into_iter().filter(|o| o.method == Method::GET) {
        let id = &operation.id;
        let declared = operation.takes_header("If-None-Match");
        assert_eq!(operation.value["responses"].get("304").is_some(), declared, "{id}: 304");
        assert_eq!(declares_tag(&operation, "200"), declared, "{id}: ETag with 200");
        assert_eq!(declares_tag(&operation, "304"), declared, "{id}: ETag with 304");
        let app = &shared;
        let ask = || operation.working(&papers).key(&app.key);
        let first = app.send(ask()).await.ok(200);
        let Some(tag) = first.headers.get("etag").map(|t| t.to_str().unwrap().to_owned()) else {
            assert!(!declared, "{id}: no ETag");
            for sent in ["*", "\"x\""] {
                app.send(ask().header("if-none-match", sent)).await.ok(200);
            }
            continue;
        };
        assert!(declared, "{id}: has an ETag that is not declared");
        tagged += 1;
        for sent in [tag.as_str(), "*", &format!("W/{tag}"), &format!("\"x\", {tag}")] {
            let answer = app.send(ask().header("if-none-match", sent)).await.ok(304);
            assert_eq!((answer.etag(), answer.bytes.len()), (tag.clone(), 0), "{id} {sent}");
        }
        let other = app.send(ask().header("if-none-match", "\"x\"")).await.ok(200);
        assert_eq!(other.bytes, first.bytes, "{id}");
        // Several lines are one list.
        let lines = ask().line("if-none-match", "\"x\", \"y\"").line("if-none-match", &tag);
        app.send(lines).await.ok(304);
        let lines = ask().line("if-none-match", "\"x\"").line("if-none-match", "\"y\u{e9}\"");
        app.send(lines).await.ok(200);
    }
    assert!(tagged >= 15, "only {tagged} operations with an ETag");
}

#[tokio::test]
async fn what_is_written_under_a_tag_is_declared_and_nothing_else_is() {
    let shared = TestApp::start().await;
    let papers = Records::make(&shared).await;
    let mut guarded = 0;
    for operation in operations().into_iter().filter(|o| o.method != Method::GET) {
        let id = &operation.id;
        let under = |sent: &'static str| {
            move |mut ask: Ask| {
                ask.headers.remove("if-match");
                if sent.is_empty() { ask } else { ask.header("if-match", sent) }
            }
        };
        let told = operation.value["responses"]["4XX"]["description"].as_str().unwrap();
        if operation.takes_header("If-Match") {
            guarded += 1;
            let needed = operation.needs_header("If-Match");
            // Where something is made or made again, the other header says which of the two is meant.
            assert_eq!(operation.takes_header("If-None-Match"), !needed, "{id}");
            assert_eq!((told.contains("412 "), told.contains("428 ")), (true, needed), "{id}: {told}");
            // What is told of a header is told where that header is listed.
            assert_eq!(told.contains("`If-None-Match`"), !needed, "{id}: {told}");
            operation
                .answer_to(&shared, &papers, under("\"x\", W/\"y\""))
                .await
                .problem(412, "version-conflict");
            let bare = operation.answer_to(&shared, &papers, under("")).await;
            if needed {
                bare.problem(428, "version-needed");
            } else {
                assert!(bare.status.is_success(), "{id}: {}", bare.text());
            }
            for sent in ["abc", " ", "\"x\", abc", "W/abc", "*, \"x\"", "\"x"] {
                let problem =
                    operation.answer_to(&shared, &papers, under(sent)).await.problem(400, "bad-header");
                let error = &problem["errors"][0];
                assert_eq!((&error["header"], &error["code"]), (&json!("If-Match"), &json!("header_form")));
                assert!(error["detail"].as_str().unwrap().contains("in its quotes"), "{id}: {problem}");
            }
            let weak = operation.answer_to(&shared, &papers, under("W/\"x\"")).await;
            let problem = weak.problem(412, "version-conflict");
            assert!(problem["detail"].as_str().unwrap().contains("weak"), "{id}: {problem}");
            // A header that names what must not be there is not passed over where it matters.
            let met = |ask: Ask| under("*")(ask).header("if-none-match", "*");
            operation.answer_to(&shared, &papers, met).await.problem(412, "tag-matches");
            let both = |ask: Ask| under("abc")(ask).header("if-none-match", "xyz");
            let problem = operation.answer_to(&shared, &papers, both).await.problem(400, "bad-header");
            let errors = problem["errors"].as_array().unwrap();
            let headers: Vec<&Value> = errors.iter().map(|e| &e["header"]).collect();
            assert_eq!(headers, ["If-Match", "If-None-Match"], "{id}: {problem}");
        } else {
            assert!(!operation.takes_header("If-None-Match"), "{id}");
            assert!(!told.contains("412 ") && !told.contains("428 "), "{id}: {told}");
            let answer = operation.answer_to(&shared, &papers, under("\"x\", W/\"y\"")).await;
            assert!(answer.status.is_success(), "{id}: {}", answer.text());
        }
    }
    assert!(guarded >= 15, "only {guarded} operations with If-Match");
}

#[tokio::test]
async fn a_change_of_what_the_client_has_already_is_refused() {
    let app = TestApp::start().await;
    let path = format!("/v1/jobs/{}", app.job);
    let tag = app.get(&path).await.ok(200).etag();
    let patch = |other: &str| {
        let ask = Ask::patch(&path, &json!({"title": "Changed"})).key(&app.key);
        app.send(ask.header("if-match", &tag).header("if-none-match", other))
    };
    for named in [tag.clone(), format!("W/{tag}"), format!("\"x\", {tag}"), "*".to_owned()] {
        let problem = patch(&named).await.problem(412, "tag-matches");
        assert!(text(&problem, "detail").contains(&tag), "{problem}");
    }
    assert_eq!(app.get(&path).await.ok(200).etag(), tag, "nothing was written");
    patch("\"x\"").await.ok(200);
}

#[tokio::test]
async fn a_plan_is_made_first_or_made_again_as_its_planner_meant() {
    let app = TestApp::start().await;
    let estimate = app.post(&format!("/v1/jobs/{}/estimates", app.job), &json!({})).await.ok(201).json();
    let path = format!("/v1/estimates/{}/plan", text(&estimate, "id"));
    let plan = |start: &str, name: &'static str, sent: &str| {
        app.send(Ask::post(&path).key(&app.key).json(&json!({"start": start})).header(name, sent))
    };
    // There is none that could be meant.
    for sent in ["*", "\"plan_x.1\""] {
        plan("2027-03-02", "if-match", sent).await.problem(412, "version-conflict");
    }
    let first = plan("2027-03-02", "if-none-match", "*").await.ok(201);
    plan("2027-04-01", "if-none-match", "*").await.problem(412, "tag-matches");
    plan("2027-04-01", "if-none-match", &first.etag()).await.problem(412, "tag-matches");
    // Two planners read the same state: the second is told.
    let moved = plan("2027-04-01", "if-match", &first.etag()).await.ok(201);
    plan("2027-05-03", "if-match", &first.etag()).await.problem(412, "version-conflict");
    let read = app.get(&moved.header("location")).await.ok(200);
    assert_eq!((read.etag(), read.json()["inputs"]["start"].clone()), (moved.etag(), json!("2027-04-01")));
    // Whoever says nothing goes on from what is there.
    app.post(&path, &json!({"start": "2027-06-01"})).await.ok(201);
}

/// What a header may say, the document says as the service does; one that is left out is not null.
#[tokio::test]
async fn what_a_precondition_looks_like_is_in_the_document() {
    let (app, document) = (TestApp::start().await, document());
    let mut seen = std::collections::BTreeSet::new();
    for operation in operations() {
        for parameter in operation.value["parameters"].as_array().into_iter().flatten() {
            let name = text(parameter, "name");
            let shape = &parameter["schema"];
            assert!(!shape.to_string().contains("\"null\""), "{} {name}: {shape}", operation.id);
            if operation.method != Method::GET && ["If-Match", "If-None-Match"].contains(&name.as_str()) {
                seen.insert(shape.to_string());
            }
        }
    }
    let seen: Vec<Value> = seen.iter().map(|shape| serde_json::from_str(shape).unwrap()).collect();
    let [shape] = seen.as_slice() else { panic!("one shape of all preconditions, not {seen:#?}") };
    let job = format!("/v1/jobs/{}", app.job);
    for (sent, is_one) in [
        ("*", true),
        ("\"job_1.1\"", true),
        ("W/\"job_1.1\"", true),
        ("\"\"", true),
        ("\"a,b\" , W/\"c\"", true),
        (", \"a\",,\t\"b\" ,", true),
        ("", false),
        (" ", false),
        (",", false),
        ("job_1.1", false),
        ("\"job 1\"", false),
        ("\"a\" \"b\"", false),
        ("\"a\", b", false),
        ("*, \"a\"", false),
        ("\"a", false),
        ("w/\"a\"", false),
    ] {
        assert_eq!(against(&document, shape, &json!(sent)).is_empty(), is_one, "{sent:?}");
        let answer = app.send(Ask::patch(&job, &json!({})).header("if-match", sent).key(&app.key)).await;
        assert_eq!(answer.status.as_u16() != 400, is_one, "{sent:?}: {}", answer.text());
    }
}
