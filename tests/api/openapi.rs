//! The document is the reviewed file, complete, and true.

use crate::app::{TestApp, operations};
use serde_json::Value;
use std::collections::BTreeSet;

fn document() -> Value {
    serde_json::to_value(rillcast::http::openapi::build()).unwrap()
}

#[test]
fn the_file_is_what_the_service_serves() {
    let file = std::fs::read_to_string("openapi/rillcast.json").unwrap();
    assert!(
        file == rillcast::http::openapi::text(),
        "the document has changed: run `cargo run -q -- openapi > openapi/rillcast.json` and review the difference"
    );
}

#[tokio::test]
async fn it_is_served_without_a_key() {
    let app = TestApp::new().await;
    let request = axum::http::Request::get("/openapi.json").body(axum::body::Body::empty()).unwrap();
    assert_eq!(app.send(request).await.expect(200).text, rillcast::http::openapi::text());
}

#[test]
fn every_operation_is_complete() {
    let document = document();
    let tags: BTreeSet<&str> =
        document["tags"].as_array().unwrap().iter().map(|t| t["name"].as_str().unwrap()).collect();
    let mut ids = BTreeSet::new();
    for (path, item) in document["paths"].as_object().unwrap() {
        assert!(path.starts_with("/v1/"), "{path}");
        for operation in item.as_object().unwrap().values() {
            let id = operation["operationId"].as_str().unwrap();
            assert!(ids.insert(id.to_owned()), "{id} twice");
            assert!(
                id.chars().all(|c| c.is_ascii_alphanumeric()) && id.starts_with(char::is_lowercase),
                "{id}"
            );
            for member in ["summary", "description"] {
                assert!(operation[member].as_str().is_some_and(|t| t.len() > 5), "{id}: {member}");
            }
            assert!(tags.contains(operation["tags"][0].as_str().unwrap()), "{id}");
            let responses = operation["responses"].as_object().unwrap();
            assert!(responses.keys().any(|k| k.starts_with('2')), "{id}");
            for range in ["4XX", "5XX"] {
                assert!(responses[range]["content"]["application/problem+json"].is_object(), "{id}");
            }
            assert!(operation["security"].is_array(), "{id}");
            for parameter in operation["parameters"].as_array().unwrap_or(&Vec::new()) {
                assert!(parameter["description"].is_string(), "{id}: {parameter}");
            }
        }
    }
}

#[test]
fn every_reference_resolves() {
    let document = document();
    fn walk(value: &Value, document: &Value) {
        match value {
            Value::Object(members) => {
                if let Some(Value::String(reference)) = members.get("$ref") {
                    assert!(document.pointer(reference.trim_start_matches('#')).is_some(), "{reference}");
                }
                members.values().for_each(|v| walk(v, document));
            }
            Value::Array(list) => list.iter().for_each(|v| walk(v, document)),
            _ => {}
        }
    }
    walk(&document, &document);
}

#[tokio::test]
async fn every_documented_path_is_routed_and_its_example_accepted() {
    let app = TestApp::new().await;
    let document = document();
    for (method, template, operation) in operations() {
        let path = app.path(&template).await;
        let answer = app.send(app.request(&method, &path).body(axum::body::Body::empty()).unwrap()).await;
        assert!(![404, 405].contains(&answer.status.as_u16()), "{operation}: {}", answer.text);
        let item = &document["paths"][&template][method.to_lowercase()];
        for (media, content) in item["requestBody"]["content"].as_object().unwrap_or(&serde_json::Map::new())
        {
            let Some(example) = content.get("example") else { continue };
            let path = if operation == "editPriceBookDocument" {
                let books = app.get("/v1/price-books").await.json();
                let book = books["items"][0]["id"].as_str().unwrap();
                let draft =
                    app.post_empty(&format!("/v1/price-books/{book}/versions"), &[]).await.expect(201).json();
                template.replace("{id}", draft["id"].as_str().unwrap())
            } else {
                path.clone()
            };
            let request = app.request(&method, &path).header("content-type", media).header("if-match", "*");
            let answer = app.send(request.body(axum::body::Body::from(example.to_string())).unwrap()).await;
            assert!(answer.status.is_success(), "{operation}: {}", answer.text);
        }
    }
}
