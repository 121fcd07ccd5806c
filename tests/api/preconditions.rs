//! What the document says of `If-None-Match`, `If-Match` and `ETag` is what the service does, operation by operation.

use crate::app::TestApp;
use crate::document::{Operation, operations};
use crate::records::Records;
use axum::http::Method;
use serde_json::Value;

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
        assert!(!operation.takes_header("If-None-Match"), "{id}");
        let stale = |mut ask: crate::app::Ask| {
            ask.headers.remove("if-match");
            ask.header("if-match", "\"x\", W/\"y\"")
        };
        let bare = |mut ask: crate::app::Ask| {
            ask.headers.remove("if-match");
            ask
        };
        let told = operation.value["responses"]["4XX"]["description"].as_str().unwrap();
        if operation.takes_header("If-Match") {
            guarded += 1;
            let mut parameters = operation.value["parameters"].as_array().unwrap().iter();
            let parameter = parameters.find(|p| p["name"] == "If-Match").unwrap();
            assert_eq!(parameter["required"], Value::Bool(true), "{id}");
            assert!(told.contains("412 ") && told.contains("428 "), "{id}: {told}");
            operation.answer_to(&shared, &papers, stale).await.problem(412, "version-conflict");
            operation.answer_to(&shared, &papers, bare).await.problem(428, "version-needed");
            for sent in ["abc", "", "\"x\", abc", "W/abc", "*, \"x\"", "\"x"] {
                let malformed = |mut ask: crate::app::Ask| {
                    ask.headers.remove("if-match");
                    ask.header("if-match", sent)
                };
                let problem =
                    operation.answer_to(&shared, &papers, malformed).await.problem(400, "bad-header");
                assert!(problem["detail"].as_str().unwrap().contains("in its quotes"), "{id}: {problem}");
            }
            let weak = |mut ask: crate::app::Ask| {
                ask.headers.remove("if-match");
                ask.header("if-match", "W/\"x\"")
            };
            let problem = operation.answer_to(&shared, &papers, weak).await.problem(412, "version-conflict");
            assert!(problem["detail"].as_str().unwrap().contains("weak"), "{id}: {problem}");
        } else {
            assert!(!told.contains("412 ") && !told.contains("428 "), "{id}: {told}");
            let answer = operation.answer_to(&shared, &papers, stale).await;
            assert!(answer.status.is_success(), "{id}: {}", answer.text());
        }
    }
    assert!(guarded >= 15, "only {guarded} operations with If-Match");
}
